#![allow(clippy::unwrap_used)] // A test may.

use geo_types::{Geometry, MultiPolygon, Point, line_string, polygon};
use serde_json::{Value, json};

use super::kml;
use crate::bytes::Bytes;
use crate::columns::Columns;
use crate::formats::kml::layer;
use crate::write::{Column, Form, Holds, Row, Table};

fn column(name: &'static str, holds: Holds) -> Column {
    Column { name, holds }
}

fn table(columns: &[Column], rows: Vec<Row>) -> Table {
    Table { name: "zones", form: Form::Polygons, columns: columns.to_vec(), rows }
}

fn written(name: &str, tables: &[Table]) -> String {
    String::from_utf8(kml(name, tables).unwrap()).unwrap()
}

/// What our own reader finds in it.
fn read_back(text: &str) -> Vec<Value> {
    let layer = layer("out.kml", &Bytes::from(text.as_bytes().to_vec()), &Columns::all()).unwrap();
    let mut told = Vec::new();
    layer.bytes.read(0, layer.bytes.length(), &mut told).unwrap();
    let told: Value = serde_json::from_slice(&told).unwrap();
    let mut features = told["features"].as_array().unwrap().clone();
    for feature in &mut features {
        feature["properties"].as_object_mut().unwrap().remove("folder");
    }
    features
}

/// A lawn with a bed cut out, wound the wrong way round, and a second lawn.
fn lawns() -> MultiPolygon<f64> {
    let first = polygon!(
        exterior: [(x: -88.0, y: 44.0), (x: -88.0, y: 44.001), (x: -87.999, y: 44.001), (x: -87.999, y: 44.0), (x: -88.0, y: 44.0)],
        interiors: [[(x: -87.9998, y: 44.0002), (x: -87.9996, y: 44.0002), (x: -87.9996, y: 44.0004), (x: -87.9998, y: 44.0002)]],
    );
    let second =
        polygon![(x: -87.9, y: 44.0), (x: -87.899, y: 44.0), (x: -87.899, y: 44.001_000_000_01)];
    MultiPolygon(vec![first, second])
}

#[test]
fn what_is_written_is_read_back() {
    let columns =
        [column("zone", Holds::Text), column("kind", Holds::Text), column("net_m2", Holds::Number)];
    let values = vec![json!("Front <lawn> & \"side\""), json!("turf"), json!(1_234.567_890_123_4)];
    let zones = table(&columns, vec![Row { shape: lawns().into(), values }]);
    let point = Row {
        shape: Point::new(-88.5, 44.25).into(),
        values: vec![json!("Well"), Value::Null, json!(3)],
    };
    let points = Table { name: "points", form: Form::Points, rows: vec![point], ..zones.clone() };
    let text = written("12 Elm St. & yard", &[zones, points]);

    let found = read_back(&text);
    assert_eq!(
        found[0]["properties"],
        json!({"zone":"Front <lawn> & \"side\"","kind":"turf","net_m2":"1234.5678901234","name":"Front <lawn> & \"side\""})
    );
    assert_eq!(found[1]["properties"], json!({"zone":"Well","net_m2":"3","name":"Well"}));
    assert_eq!(found[1]["geometry"], json!({"type":"Point","coordinates":[-88.5,44.25]}));
    // Counter-clockwise outside, clockwise inside.
    assert_eq!(
        found[0]["geometry"]["geometries"],
        json!([
            {"type":"Polygon","coordinates":[
                [[-88.0,44.0],[-87.999,44.0],[-87.999,44.001],[-88.0,44.001],[-88.0,44.0]],
                [[-87.9998,44.0002],[-87.9996,44.0004],[-87.9996,44.0002],[-87.9998,44.0002]]]},
            {"type":"Polygon","coordinates":[[[-87.9,44.0],[-87.899,44.0],[-87.899,44.00100000001],[-87.9,44.0]]]},
        ])
    );
    assert!(text.contains("<name>12 Elm St. &amp; yard</name>"), "{text}");
    assert!(text.contains(
        "<coordinates>-87.9,44 -87.899,44 -87.899,44.00100000001 -87.9,44</coordinates>"
    ));
}

#[test]
fn a_name_is_the_label_and_no_second_attribute() {
    let columns = [column("kind", Holds::Text), column("name", Holds::Text)];
    let values = vec![json!("turf"), json!("Front")];
    let text = written("a", &[table(&columns, vec![Row { shape: lawns().into(), values }])]);
    assert_eq!(text.matches("Front").count(), 1);
    assert_eq!(read_back(&text)[0]["properties"], json!({"kind":"turf","name":"Front"}));
}

#[test]
fn numbers_have_no_zeros_that_say_nothing() {
    for (number, expected) in [
        (0.0, "0"),
        (-0.0, "0"),
        (-1e-13, "0"),
        (100.0, "100"),
        (-88.5, "-88.5"),
        (44.123_456_789_012_34, "44.12345678901"),
        (1e-11, "0.00000000001"),
    ] {
        assert_eq!(super::degrees(number), expected);
    }
}

#[test]
fn what_xml_cannot_hold_is_a_blank() {
    let columns = [column("name", Holds::Text)];
    let row =
        Row { shape: lawns().into(), values: vec![json!("Front\u{0}\u{1b}[31m\u{ffff}lawn")] };
    let text = written("a\u{8}b", &[table(&columns, vec![row])]);
    assert_eq!(read_back(&text)[0]["properties"], json!({"name":"Front  [31m lawn"}));
}

#[test]
fn what_is_no_polygon_is_refused_with_its_row() {
    let refusal = |shape: Geometry<f64>| {
        let good = Row { shape: lawns().into(), values: Vec::new() };
        let rows = vec![good, Row { shape, values: Vec::new() }];
        kml("a", &[table(&[], rows)]).unwrap_err().to_string()
    };
    assert_eq!(
        refusal(line_string![(x: 0.0, y: 0.0), (x: 1.0, y: 1.0)].into()),
        "zones row 2: cannot be written: it is neither polygons nor a point"
    );
    assert_eq!(
        refusal(Point::new(f64::NAN, 0.0).into()),
        "zones row 2: cannot be written: a coordinate is infinite or not a number"
    );
}

#[test]
fn nothing_at_all_is_a_file_too() {
    let empty = Row { shape: MultiPolygon::<f64>(Vec::new()).into(), values: Vec::new() };
    let text = written("a", &[table(&[], vec![empty])]);
    assert_eq!(read_back(&text)[0]["geometry"], Value::Null);
    assert!(read_back(&written("a", &[])).is_empty());
}
