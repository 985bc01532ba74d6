#![allow(clippy::unwrap_used)] // A test may.

use geo_types::Coord;
use proptest::prelude::*;
use serde_json::{Value, json};

use super::layer;
use super::walk::Walk;
use crate::bytes::Bytes;
use crate::columns::Columns;
use crate::crs::CoordinateSystem;
use crate::error::ReadError;
use crate::feature::Counted;
use crate::formats::told::{Layer, Says};
use crate::survey::{Source, read};

fn layer_of(text: impl Into<Vec<u8>>) -> Result<Layer, ReadError> {
    layer("walk.gpx", &Bytes::from(text.into()), &Columns::default())
}

fn features(text: impl Into<Vec<u8>>) -> Vec<Value> {
    let layer = layer_of(text).unwrap();
    let mut text = Vec::new();
    layer.bytes.read(0, layer.bytes.length(), &mut text).unwrap();
    let told: Value = serde_json::from_slice(&text).unwrap();
    told["features"].as_array().unwrap().clone()
}

/// What a feature says itself.
fn said(feature: &Value) -> Value {
    let mut said = feature["properties"].clone();
    said.as_object_mut().unwrap().remove("@cure");
    said
}

fn gpx(inside: &str) -> String {
    format!(
        r#"<?xml version="1.0"?><gpx version="1.1" creator="hand" xmlns="http://www.topografix.com/GPX/1/1">{inside}</gpx>"#
    )
}

/// Points of a way, in metres east and north of a place at 44° N.
fn points(name: &str, metres: &[(f64, f64)]) -> String {
    let point = |(x, y): &(f64, f64)| {
        let Coord { x, y } = degrees(*x, *y);
        format!(
            r#"<{name} lat="{y}" lon="{x}"><ele>200</ele><time>2026-05-01T10:00:00Z</time></{name}>"#
        )
    };
    metres.iter().map(point).collect()
}

fn degrees(x: f64, y: f64) -> Coord<f64> {
    Coord { x: -88.0 + x / (111_200.0 * 44_f64.to_radians().cos()), y: 44.0 + y / 111_200.0 }
}

const BED: [(f64, f64); 5] = [(0.0, 0.0), (9.0, 0.0), (9.0, 6.0), (0.0, 6.0), (0.5, 1.0)];
const PATH: [(f64, f64); 3] = [(20.0, 0.0), (50.0, 0.0), (50.0, 40.0)];

fn form(feature: &Value) -> &str {
    feature["geometry"]["type"].as_str().unwrap_or("none")
}

#[test]
fn waypoints_routes_and_tracks_are_told_in_order() {
    let segment = |metres: &[(f64, f64)]| format!("<trkseg>{}</trkseg>", points("trkpt", metres));
    let text = gpx(&format!(
        "<metadata><author><name>Jane Doe</name></author></metadata>
<wpt lat='44.5' lon='-88.25'><ele>200</ele><name>Well</name><type>Well</type><sym>Flag</sym></wpt>
<rte><name>Fence</name><type>hike</type>{}</rte>
<trk><name>Bed</name><type>bed</type>{}</trk>
<trk>{}{}</trk>
<trk>{}{}</trk><rte/><trk><trkseg/></trk>",
        points("rtept", &PATH),
        segment(&BED),
        segment(&BED),
        segment(&BED),
        segment(&BED),
        segment(&PATH),
    ));
    let found = features(text.clone());
    let forms: Vec<&str> = found.iter().map(form).collect();
    assert_eq!(
        forms,
        [
            "Point",
            "LineString",
            "Polygon",
            "GeometryCollection",
            "GeometryCollection",
            "none",
            "none"
        ]
    );
    assert_eq!(found[0]["geometry"]["coordinates"], json!([-88.25, 44.5]));
    assert_eq!(said(&found[0]), json!({"name":"Well","kind":"well"}));
    assert_eq!(said(&found[1]), json!({"name":"Fence"}));
    assert_eq!(found[2]["geometry"]["coordinates"][0].as_array().unwrap().len(), 6);
    let parts = |feature: &Value| -> Vec<String> {
        let parts = feature["geometry"]["geometries"].as_array().unwrap();
        parts.iter().map(|part| part["type"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(parts(&found[3]), ["Polygon", "Polygon"]);
    assert_eq!(parts(&found[4]), ["Polygon", "LineString"]);

    let layer = layer_of(text).unwrap();
    assert_eq!((&layer.says, layer.counted), (&Says::LongitudeLatitude, Counted::Items));
    assert!(layer.has_lines);
    let map = read(&[Source::told(layer, CoordinateSystem::AsTheFileSays)]).unwrap();
    let problems: Vec<String> = map.problems().iter().map(|it| it.error.to_string()).collect();
    assert!(
        problems[0].starts_with(r#"walk.gpx item 2 ("Fence"), line 3: add a "kind""#),
        "{problems:?}"
    );
    assert!(problems[1].starts_with("walk.gpx item 4, line 5: "), "{problems:?}");
}

fn is_outline(places: &[Coord<f64>]) -> bool {
    Walk::of(places).is_some_and(|walk| walk.is_outline())
}

#[test]
fn a_way_that_comes_back_is_an_outline_and_no_other_is() {
    let drawn = |metres: &[(f64, f64)]| {
        let places: Vec<Coord<f64>> = metres.iter().map(|(x, y)| degrees(*x, *y)).collect();
        is_outline(&places)
    };
    let lot = |gap: f64| [(0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0), (0.0, gap)];
    #[rustfmt::skip]
    let table = [
        ("a bed, ends 1.1 m apart",            drawn(&BED), true),
        ("closed to the point",                drawn(&lot(0.0)), true),
        ("ends 9.9 m apart",                   drawn(&lot(9.9)), true),
        ("ends 10.1 m apart",                  drawn(&lot(10.1)), false),
        ("a path",                             drawn(&PATH), false),
        ("there and back",                     drawn(&[(0.0, 0.0), (40.0, 0.0), (80.0, 5.0), (40.0, 0.0), (0.0, 0.0)]), false),
        ("there and 0.3 m beside it back",     drawn(&[(0.0, 0.0), (40.0, 0.0), (40.0, 0.3), (0.0, 0.3)]), false),
        ("there and 2 m beside it back",       drawn(&[(0.0, 0.0), (40.0, 0.0), (40.0, 2.0), (0.0, 2.0)]), true),
        ("a hedge shorter than 10 m",          drawn(&[(0.0, 0.0), (4.0, 1.0), (8.0, 0.0)]), false),
        ("three sides of a small bed",         drawn(&[(0.0, 0.0), (6.0, 0.0), (6.0, 6.0), (0.0, 6.0)]), false),
        ("a bed of 1.5 m",                     drawn(&[(0.0, 0.0), (1.5, 0.0), (1.5, 1.5), (0.0, 1.5), (0.0, 0.0)]), true),
        ("one place",                          drawn(&[(0.0, 0.0)]), false),
        ("the same place twice",               drawn(&[(0.0, 0.0), (0.0, 0.0)]), false),
        ("nothing",                            drawn(&[]), false),
    ];
    for (what, found, expected) in table {
        assert_eq!(found, expected, "{what}");
    }
    // At the poles and with any numbers nothing is divided by zero.
    assert!(!is_outline(&[Coord { x: 0.0, y: 90.0 }, Coord { x: 1e300, y: -1e300 }]));
}

#[test]
fn attributes_stand_in_extensions_and_people_are_left_out() {
    let text = gpx(
        "<wpt lat='44' lon='-88'><name>Label</name><desc>Jane Doe</desc><cmt>x</cmt><type>well</type>
        <extensions><ogr:KIND>water</ogr:KIND><Radius_ft> 3 </Radius_ft><name/><owner>Jane Doe</owner>
        <vendor:more><kind>bed</kind></vendor:more></extensions></wpt>",
    );
    let found = features(text.clone());
    assert_eq!(said(&found[0]), json!({"kind":"water","radius_ft":"3","name":"Label"}));
    assert_eq!(layer_of(text).unwrap().left_out, ["desc", "cmt", "owner", "more"]);
    let named = gpx(
        "<wpt lat='44' lon='-88'><name>001</name><extensions><name>Well</name></extensions></wpt>",
    );
    assert_eq!(said(&features(named)[0]), json!({ "name": "Well" }));
    // As GPX 1.0 has them, of another vocabulary.
    let cache = gpx("<wpt lat='44' lon='-88'><x:name>Jane</x:name><x:type>turf</x:type></wpt>");
    assert_eq!(said(&features(cache)[0]), json!({}));
}

#[test]
fn places_that_are_no_places_are_refused() {
    for (inside, reason) in [
        ("<wpt lat='44'/>", "lon of the wpt on line 1 is missing; give degrees as a number"),
        (
            "<wpt lat='44,5' lon='-88'/>",
            r#"lat of the wpt on line 1 is "44,5"; give degrees as a number"#,
        ),
        (
            "<wpt lat='NaN' lon='-88'/>",
            r#"lat of the wpt on line 1 is "NaN"; give degrees as a number"#,
        ),
        (
            "<trk><trkseg><trkpt lat='1' lon='2'/>\n<trkpt lat='1' lon=''/></trkseg></trk>",
            r#"lon of the trkpt on line 2 is ""; give degrees as a number"#,
        ),
    ] {
        assert_eq!(features(gpx(inside))[0]["geometry"]["unreadable"], reason, "{inside}");
    }
}

#[test]
fn what_is_no_gpx_says_what_was_found() {
    let refusal = |text: &str| layer_of(text).unwrap_err().to_string();
    assert_eq!(
        refusal("<kml/>"),
        "walk.gpx: not GPX: its outermost element is <kml>; export it again"
    );
    assert_eq!(
        refusal("<gpx>\n<wpt lat='1' lon='2'"),
        "walk.gpx: ends too soon at line 2, column 21; it seems cut off: copy or export it again"
    );
    assert!(
        refusal("<gpx>\n<wpt lat=1 lon='2'/></gpx>").starts_with("walk.gpx: line 2: not XML: ")
    );
    assert!(features("<gpx/>").is_empty());
}

#[test]
fn every_prefix_and_version_is_read() {
    for text in [
        "<gpx xmlns='http://www.topografix.com/GPX/1/0' version='1.0'><wpt lat='1' lon='2'><name>a</name></wpt></gpx>",
        "<g:gpx xmlns:g='http://www.topografix.com/GPX/1/1'><g:wpt lat='1' lon='2'><g:name>a</g:name></g:wpt></g:gpx>",
        "<gpx><wpt lon=\"2\" lat=\"1\"><name>a</name></wpt></gpx>",
    ] {
        let found = features(text);
        assert_eq!(found[0]["geometry"]["coordinates"], json!([2.0, 1.0]), "{text}");
        assert_eq!(said(&found[0]), json!({ "name": "a" }), "{text}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..Default::default() })]

    /// Whatever bytes are changed and wherever it is cut, a file is read or refused.
    #[test]
    fn a_damaged_file_is_read_or_refused(
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..6),
        cut in any::<prop::sample::Index>(),
        is_cut in any::<bool>(),
    ) {
        let segment = format!("<trkseg>{}</trkseg>", points("trkpt", &BED));
        let text = gpx(&format!(
            "<wpt lat='44.5' lon='-88.25'><name>Well</name><type>well</type></wpt><trk>{segment}<extensions><kind>bed</kind></extensions></trk>"
        ));
        let mut bytes = text.into_bytes();
        for (place, byte) in changes {
            let place = place.index(bytes.len());
            bytes[place] = byte;
        }
        if is_cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        if let Ok(layer) = layer_of(bytes) {
            let source = Source::told(layer, CoordinateSystem::AsTheFileSays);
            prop_assert!(read(&[source]).is_ok());
        }
    }
}
