#![allow(clippy::unwrap_used)] // A test may.

use geo_types::{Geometry, MultiPolygon, Point, polygon};
use proptest::prelude::*;
use serde_json::json;

use super::*;
use crate::columns::Columns;
use crate::formats::shapefile::{Parts, layer};
use crate::write::Row;

const NAME: Column = Column { name: "zone", holds: Holds::Text };
const AREA: Column = Column { name: "area_m2", holds: Holds::Number };

fn table(form: Form, columns: &[Column], rows: Vec<(Geometry<f64>, Vec<Value>)>) -> Table {
    let rows = rows.into_iter().map(|(shape, values)| Row { shape, values }).collect();
    Table { name: "zones", form, columns: columns.to_vec(), rows }
}

/// What our own reader makes of it.
fn read_back(table: &Table) -> Vec<Value> {
    let written = shapefile(table).unwrap();
    let parts = Parts {
        shp: written.shp.into(),
        shx: Some(written.shx.into()),
        dbf: Some(written.dbf.into()),
        prj: Some(written.prj),
        cpg: Some(written.cpg),
    };
    let layer = layer("zones.shp", parts, &Columns::all()).unwrap();
    let mut text = Vec::new();
    layer.bytes.read(0, layer.bytes.length(), &mut text).unwrap();
    let mut json: Value = serde_json::from_slice(&text).unwrap();
    json["features"].as_array_mut().unwrap().drain(..).collect()
}

/// Two lots, the first with a bed; every ring runs as RFC 7946 asks.
fn lots() -> Geometry<f64> {
    Geometry::MultiPolygon(MultiPolygon(vec![
        polygon!(exterior: [(x: 0., y: 0.), (x: 4., y: 0.), (x: 4., y: 4.), (x: 0., y: 4.)],
                 interiors: [[(x: 1., y: 1.), (x: 1., y: 2.), (x: 2., y: 2.)]]),
        polygon![(x: 9., y: 0.), (x: 10., y: 0.), (x: 10., y: 1.)],
    ]))
}

fn point(x: f64, y: f64) -> Geometry<f64> {
    Geometry::Point(Point::new(x, y))
}

#[test]
fn shells_run_clockwise_and_holes_the_other_way() {
    let written = shapefile(&table(Form::Polygons, &[NAME], vec![(lots(), vec![json!("A")])]));
    // Read by the crate `shapefile`, which tells shells from holes by the way that they run.
    let mut reader =
        ::shapefile::ShapeReader::new(std::io::Cursor::new(written.unwrap().shp)).unwrap();
    let shapes: Vec<::shapefile::Polygon> =
        reader.iter_shapes_as::<::shapefile::Polygon>().collect::<Result<_, _>>().unwrap();
    let places = |ring: &::shapefile::PolygonRing<::shapefile::Point>| {
        let places: Vec<(f64, f64)> = ring.points().iter().map(|it| (it.x, it.y)).collect();
        (matches!(ring, ::shapefile::PolygonRing::Outer(_)), places)
    };
    let rings: Vec<_> = shapes[0].rings().iter().map(places).collect();
    let shell = vec![(0., 0.), (0., 4.), (4., 4.), (4., 0.), (0., 0.)];
    let hole = vec![(1., 1.), (2., 2.), (1., 2.), (1., 1.)];
    let second = vec![(9., 0.), (10., 1.), (10., 0.), (9., 0.)];
    assert_eq!(rings, [(true, shell), (false, hole), (true, second)]);
}

#[test]
fn headers_say_length_kind_and_box() {
    let parts = shapefile(&table(Form::Polygons, &[NAME], vec![(lots(), vec![])])).unwrap();
    assert_eq!(parts.shp[24..28], (parts.shp.len() as i32 / 2).to_be_bytes());
    assert_eq!(parts.shx[24..28], (parts.shx.len() as i32 / 2).to_be_bytes());
    assert_eq!(parts.shp[32..36], 5_i32.to_le_bytes());
    let corners: Vec<u8> = [0.0_f64, 0., 10., 4.].into_iter().flat_map(f64::to_le_bytes).collect();
    assert_eq!(parts.shp[36..68], corners);
    assert_eq!(parts.cpg, b"UTF-8");
    assert!(parts.prj.starts_with(b"GEOGCS[\"GCS_WGS_1984\""));
}

#[test]
fn nothing_is_null_in_shape_and_attributes() {
    let empty = Geometry::MultiPolygon(MultiPolygon(vec![]));
    let rows = vec![(empty, vec![Value::Null, Value::Null]), (lots(), vec![])];
    let rows = read_back(&table(Form::Polygons, &[NAME, AREA], rows));
    assert_eq!(rows[0]["geometry"], Value::Null);
    for row in &rows {
        assert_eq!(row["properties"], json!({"zone": null, "area_m2": null}));
    }
    assert!(read_back(&table(Form::Points, &[NAME], vec![])).is_empty());
}

#[test]
fn long_texts_are_cut_between_characters() {
    let long = format!("x{}", "é".repeat(200));
    let rows = vec![(point(1., 2.), vec![json!(long)]), (point(1., 2.), vec![json!("Two\nlines")])];
    let rows = read_back(&table(Form::Points, &[NAME], rows));
    assert_eq!(rows[0]["properties"]["zone"], format!("x{}", "é".repeat(126)));
    assert_eq!(rows[1]["properties"]["zone"], "Two lines");
}

#[test]
fn a_shape_of_another_form_is_refused() {
    let refused = |form, shape| {
        shapefile(&table(form, &[NAME], vec![(shape, vec![])])).unwrap_err().to_string()
    };
    let expected = "zones row 1: cannot be written: its shape is not of the layer's form, or a coordinate is not a number";
    assert_eq!(refused(Form::Points, lots()), expected);
    assert_eq!(refused(Form::Polygons, point(1., 2.)), expected);
    assert_eq!(refused(Form::Points, point(f64::NAN, 2.)), expected);
}

#[test]
fn what_the_format_has_no_room_for_is_refused() {
    let columns = [NAME; 300];
    let values = vec![json!("x".repeat(254)); 300];
    let error = shapefile(&table(Form::Points, &columns, vec![(point(1., 2.), values)]));
    assert!(matches!(error, Err(WriteError::TooLarge)));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Numbers come back to the last digit, texts letter by letter.
    #[test]
    fn attributes_come_back(
        numbers in prop::collection::vec(any::<f64>().prop_filter("finite", |it| it.is_finite()), 1..20),
        text in "[a-zA-Z0-9éß€東 ]{0,80}",
        x in -180.0..180.0_f64,
    ) {
        let row = |number: &f64| (point(x, 44.0), vec![json!(text), json!(number)]);
        let rows = table(Form::Points, &[NAME, AREA], numbers.iter().map(row).collect());
        for (row, number) in read_back(&rows).iter().zip(&numbers) {
            let read = &row["properties"]["area_m2"];
            // Beyond 2⁵³ as a text, lest digits of an id are lost.
            let read = read.as_f64().or_else(|| read.as_str()?.parse().ok());
            prop_assert_eq!(read, Some(*number));
            let name = Some(text.trim()).filter(|it| !it.is_empty());
            prop_assert_eq!(row["properties"]["zone"].as_str(), name);
            prop_assert_eq!(row["geometry"]["coordinates"][0].as_f64(), Some(x));
        }
    }
}

/// Writes a shapefile for other programs to read, into the folder that a variable names.
#[test]
fn example() {
    let Ok(folder) = std::env::var("TURFPLAT_SHAPEFILE_EXAMPLE") else { return };
    let rows = vec![
        (lots(), vec![json!("Café 東"), json!(1_234.567_890_123_456)]),
        (Geometry::MultiPolygon(MultiPolygon(vec![])), vec![Value::Null, Value::Null]),
        (lots(), vec![json!("B"), json!(1.25e-300)]),
    ];
    let parts = shapefile(&table(Form::Polygons, &[NAME, AREA], rows)).unwrap();
    for (ending, bytes) in [
        ("shp", parts.shp),
        ("shx", parts.shx),
        ("dbf", parts.dbf),
        ("prj", parts.prj),
        ("cpg", parts.cpg),
    ] {
        std::fs::write(format!("{folder}/zones.{ending}"), bytes).unwrap();
    }
}
