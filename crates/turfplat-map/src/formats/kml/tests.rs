#![allow(clippy::unwrap_used)] // A test may.

use std::time::{Duration, Instant};

use geo_types::{Coord, Polygon};
use proptest::prelude::*;
use serde_json::{Value, json};

use super::layer;
use crate::bytes::Bytes;
use crate::columns::Columns;
use crate::crs::CoordinateSystem;
use crate::error::ReadError;
use crate::feature::{Counted, Feature};
use crate::formats::told::{Layer, Says};
use crate::property_map::PropertyMap;
use crate::survey::{Source, read};

const RING: &str = "-88.0,44.0,0 -87.999,44.0,0 -87.999,44.001,0 -88.0,44.0,0";

fn layer_of(text: impl Into<Vec<u8>>) -> Result<Layer, ReadError> {
    layer("lot.kml", &Bytes::from(text.into()), &Columns::default())
}

/// What was told, as JSON.
fn told(layer: &Layer) -> Value {
    let mut text = Vec::new();
    layer.bytes.read(0, layer.bytes.length(), &mut text).unwrap();
    serde_json::from_slice(&text).unwrap()
}

fn features(text: impl Into<Vec<u8>>) -> Vec<Value> {
    told(&layer_of(text).unwrap())["features"].as_array().unwrap().clone()
}

fn map_of(text: impl Into<Vec<u8>>) -> PropertyMap {
    let source = Source::told(layer_of(text).unwrap(), CoordinateSystem::AsTheFileSays);
    read(&[source]).unwrap()
}

fn all(map: &PropertyMap) -> Vec<Feature> {
    map.properties().iter().flat_map(|it| map.read_property(*it).unwrap().features).collect()
}

fn kml(inside: &str) -> String {
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>{inside}</Document></kml>"#
    )
}

fn placemark(inside: &str) -> String {
    kml(&format!("<Placemark>{inside}</Placemark>"))
}

fn polygon() -> String {
    format!(
        "<Polygon><outerBoundaryIs><LinearRing><coordinates>{RING}</coordinates></LinearRing></outerBoundaryIs></Polygon>"
    )
}

fn lawn() -> String {
    let kind = r#"<ExtendedData><Data name="kind"><value>turf</value></Data></ExtendedData>"#;
    placemark(&format!("<name>Front</name>{kind}{}", polygon()))
}

/// The refusal of a text, in words.
fn refusal(text: impl Into<Vec<u8>>) -> String {
    layer_of(text).unwrap_err().to_string()
}

/// The reason for which a Placemark's geometry is refused.
fn unreadable(inside: &str) -> String {
    let features = features(placemark(inside));
    features[0]["geometry"]["unreadable"].as_str().unwrap_or_default().to_owned()
}

fn shape(inside: &str) -> Value {
    features(placemark(inside))[0]["geometry"].clone()
}

#[test]
fn a_map_in_kml_is_the_same_map_as_in_geojson() {
    let folder = env!("CARGO_MANIFEST_DIR");
    let text = std::fs::read(format!("{folder}/tests/data/prop_h_single_lot.kml")).unwrap();
    let geojson = format!("{folder}/../../tests/maps/prop_h_single_lot.geojson");
    let geojson = Bytes::open(geojson.as_ref()).unwrap();
    let geojson = Source::geojson("lot.geojson", geojson, CoordinateSystem::AsTheFileSays);
    let (ours, theirs) = (map_of(text), read(&[geojson]).unwrap());
    assert!(ours.problems().is_empty(), "{:?}", ours.problems());

    let (ours, theirs) = (all(&ours), all(&theirs));
    assert_eq!(ours.len(), 9);
    let facts = |it: &Feature| (it.kind, it.name.clone(), it.property.clone(), it.outline.clone());
    let facts = |it: &[Feature]| it.iter().map(facts).collect::<Vec<_>>();
    assert_eq!(facts(&ours), facts(&theirs));
    assert_eq!(format!("{:#}", ours[0].at), r#"lot.kml Placemark 1 ("Front lawn"), line 10"#);
    assert_eq!(format!("{:#}", ours[1].at), r#"lot.kml Placemark 2 ("Back lawn"), line 32"#);
}

#[test]
fn a_layer_says_what_it_is_and_what_it_left_out() {
    let attributes = r#"<description>Jane Doe</description><phoneNumber>tel:1</phoneNumber>
        <ExtendedData><Data name="owner"><value>Jane Doe</value></Data>
        <SchemaData><SimpleData name="parcel_no">12</SimpleData></SchemaData></ExtendedData>"#;
    let text = kml(&format!(
        "<NetworkLink><Link><href>more.kml</href></Link></NetworkLink><Placemark>{attributes}{}</Placemark>",
        polygon()
    ));
    let columns = Columns::read("kinds.toml", r#"name = "parcel_no""#).unwrap();
    let layer = layer("lot.kml", &text.into_bytes().into(), &columns).unwrap();
    assert_eq!(layer.says, Says::LongitudeLatitude);
    assert_eq!(layer.counted, Counted::Placemarks);
    assert!(layer.has_lines);
    assert_eq!(layer.left_out, ["description", "phoneNumber", "owner"]);
    assert_eq!(layer.remarks[0].1, "files-not-read");
    let told = told(&layer);
    assert_eq!(told["features"][0]["properties"], json!({ "name": "12" }));
    assert!(!told.to_string().contains("Jane"));
}

#[test]
fn placemarks_are_found_in_any_namespace_and_however_deep() {
    let inside = format!(
        "<Document><Folder><Folder><Placemark>{}</Placemark></Folder></Folder></Document><Placemark/>",
        polygon()
    );
    for root in [
        r#"<kml>"#,
        r#"<kml xmlns="http://www.opengis.net/kml/2.2">"#,
        r#"<kml xmlns="http://www.opengis.net/kml/2.3" version="2.3">"#,
        r#"<kml xmlns="http://earth.google.com/kml/2.0">"#,
        r#"<kml xmlns="http://earth.google.com/kml/2.1">"#,
        r#"<kml xmlns="http://earth.google.com/kml/2.2">"#,
    ] {
        let found = features(format!("{root}{inside}</kml>"));
        assert_eq!(found.len(), 2, "{root}");
        assert_eq!(found[0]["geometry"]["type"], "Polygon", "{root}");
        assert_eq!(found[1]["geometry"], Value::Null, "{root}");
    }
    for prefix in ["kml", "ns0"] {
        let inside = inside.replace("</", "<\u{1}").replace('<', &format!("<{prefix}:"));
        let inside = inside.replace(&format!("<{prefix}:\u{1}"), &format!("</{prefix}:"));
        let text = format!(
            r#"<{prefix}:kml xmlns:{prefix}="http://www.opengis.net/kml/2.2">{inside}</{prefix}:kml>"#
        );
        assert_eq!(features(text).len(), 2, "{prefix}");
    }
    assert_eq!(features("<Placemark/>").len(), 1);
    assert_eq!(features("<Document><Placemark/><Placemark/></Document>").len(), 2);
}

#[test]
fn every_geometry_is_told_and_altitudes_are_dropped() {
    #[rustfmt::skip]
    let table = [
        ("<Point><coordinates>-88.5,44.25,230</coordinates></Point>",
         json!({"type":"Point","coordinates":[-88.5,44.25]})),
        ("<LineString><coordinates>1,2 3,4,5\n\t6,7</coordinates></LineString>",
         json!({"type":"LineString","coordinates":[[1.0,2.0],[3.0,4.0],[6.0,7.0]]})),
        // Alone, an outline that nobody filled.
        ("<LinearRing><coordinates>0,0 1,0 1,1</coordinates></LinearRing>",
         json!({"type":"Polygon","coordinates":[[[0.0,0.0],[1.0,0.0],[1.0,1.0],[0.0,0.0]]]})),
        ("<Polygon><extrude>1</extrude><outerBoundaryIs><LinearRing><coordinates>0,0 9,0 9,9 0,0</coordinates></LinearRing></outerBoundaryIs>\
          <innerBoundaryIs><LinearRing><coordinates>5,1 6,1 6,2 5,1</coordinates></LinearRing></innerBoundaryIs>\
          <innerBoundaryIs><LinearRing><coordinates>7,1 8,1 8,2 7,1</coordinates></LinearRing></innerBoundaryIs></Polygon>",
         json!({"type":"Polygon","coordinates":[[[0.0,0.0],[9.0,0.0],[9.0,9.0],[0.0,0.0]],
                [[5.0,1.0],[6.0,2.0],[6.0,1.0],[5.0,1.0]],[[7.0,1.0],[8.0,2.0],[8.0,1.0],[7.0,1.0]]]})),
        ("<MultiGeometry><Point><coordinates>1,2</coordinates></Point><MultiGeometry><Model/>\
          <LineString><coordinates>1,2 3,4</coordinates></LineString></MultiGeometry></MultiGeometry>",
         json!({"type":"GeometryCollection","geometries":[{"type":"Point","coordinates":[1.0,2.0]},
                {"type":"LineString","coordinates":[[1.0,2.0],[3.0,4.0]]}]})),
        ("<gx:Track><when>2026-05-01</when><gx:coord>1 2 3</gx:coord><gx:coord/><gx:coord>4 5</gx:coord></gx:Track>",
         json!({"type":"LineString","coordinates":[[1.0,2.0],[4.0,5.0]]})),
        ("<gx:MultiTrack><gx:interpolate>0</gx:interpolate><gx:Track><gx:coord>1 2 3</gx:coord><gx:coord>4 5 6</gx:coord></gx:Track></gx:MultiTrack>",
         json!({"type":"LineString","coordinates":[[1.0,2.0],[4.0,5.0]]})),
        ("<Model><Location><longitude>1</longitude></Location></Model><Region/><LookAt/>", Value::Null),
        ("<MultiGeometry/>", Value::Null),
        ("<LineString><coordinates> </coordinates></LineString>", Value::Null),
    ];
    for (inside, expected) in table {
        assert_eq!(shape(inside), expected, "{inside}");
    }
}

#[test]
fn only_features_are_placemarks() {
    let text = kml(
        "<GroundOverlay><Placemark/></GroundOverlay><ScreenOverlay/><Style><Placemark/></Style>",
    );
    assert!(features(text).is_empty());
}

#[test]
fn blanks_beside_commas_are_read_and_anything_doubtful_is_refused() {
    let line = |text: &str| format!("<LineString><coordinates>{text}</coordinates></LineString>");
    for text in [
        "1,2 3,4",
        " 1,2,0\n3,4,0\n",
        "1, 2 3, 4",
        "1, 2, 0 3, 4, 0",
        "1 ,2 ,0\r\n3 ,4 ,0",
        "1,2\u{a0}3,4",
        "1.0,2e0,NaN +3,4,",
        "1,<!-- a -->2 <![CDATA[3,4]]>",
        "1&#44;2&#x20;3,4",
    ] {
        let places = json!([[1.0, 2.0], [3.0, 4.0]]);
        assert_eq!(shape(&line(text))["coordinates"], places, "{text}");
    }
    for (text, quoted) in [
        ("1,2 3", "\"3\""),
        ("1 2 3 4", "\"1 2 3 4\""),
        ("1,2, 3,4", "\"1,2, 3,4\""),
        ("1,2,\n3,4,\n", "\"1,2,\\n3,4,\""),
        ("1,2,0,3,4,0", "\"1,2,0,3,4,0\""),
        ("1;2 3;4", "\"1;2 3;4\""),
        ("1,44°N", "\"1,44°N\""),
        ("−88.1,44", "\"−88.1,44\""),
        ("inf,2", "\"inf,2\""),
        ("1,NaN", "\"1,NaN\""),
        ("1,1e999", "\"1,1e999\""),
        (",2", "\",2\""),
    ] {
        let reason = unreadable(&line(text));
        assert!(reason.starts_with(quoted), "{text}: {reason}");
        assert!(reason.contains("write longitude,latitude for each corner"), "{reason}");
    }
}

#[test]
fn a_drawing_that_is_not_whole_is_refused() {
    let ring = |place: &str| {
        format!("<{place}><LinearRing><coordinates>{RING}</coordinates></LinearRing></{place}>")
    };
    let (outer, inner) = (ring("outerBoundaryIs"), ring("innerBoundaryIs"));
    let empty = "<outerBoundaryIs><LinearRing><coordinates/></LinearRing></outerBoundaryIs>";
    for (inside, reason) in [
        (format!("<Polygon>{inner}</Polygon>"), "no outerBoundaryIs"),
        (format!("<Polygon>{empty}{inner}</Polygon>"), "holes"),
        (format!("<Polygon>{outer}{outer}</Polygon>"), "more than one outer"),
        ("<Polygon/>".into(), "no outerBoundaryIs"),
        ("<Point><coordinates>1,2 3,4</coordinates></Point>".into(), "more than one place"),
        (
            "<Point><coordinates>1,2</coordinates><coordinates>1,2</coordinates></Point>".into(),
            "twice",
        ),
        ("<gx:Track><gx:coord>1</gx:coord></gx:Track>".into(), "track"),
        // One part that cannot be read is a hole in the map.
        (format!("<MultiGeometry>{}<Polygon/></MultiGeometry>", polygon()), "no outerBoundaryIs"),
    ] {
        let found = unreadable(&inside);
        assert!(found.contains(reason), "{inside}: {found}");
    }
    let map = map_of(placemark("<name>Pond</name><Polygon/>"));
    let problem = map.problems()[0].error.to_string();
    assert_eq!(
        problem,
        r#"lot.kml Placemark 1 ("Pond"), line 1: geometry cannot be read: a Polygon has no outerBoundaryIs with a LinearRing; draw its outline"#
    );
}

#[test]
fn attributes_are_read_whatever_their_case_and_form() {
    let inside = format!(
        r##"<name> Front &amp; side </name><ExtendedData xmlns:lot="http://example.org">
        <Data name="Kind"><displayName>what</displayName><value><![CDATA[turf]]></value></Data>
        <Data name="WIDTH_FT"><value> 3 </value></Data>
        <Data name="condition"><value/></Data>
        <SchemaData schemaUrl="#lot"><SimpleData name='Species'>tall&#x2d;fescue</SimpleData></SchemaData>
        <lot:Property>12 Elm St.</lot:Property>
        </ExtendedData>{}"##,
        polygon()
    );
    let expected = json!({"kind":"turf","width_ft":"3","species":"tall-fescue","property":"12 Elm St.","name":"Front & side"});
    assert_eq!(features(placemark(&inside))[0]["properties"], expected);
}

#[test]
fn a_name_that_is_nearly_one_is_carried_on_to_be_refused() {
    let inside =
        r#"<ExtendedData><Data name="Setback (ft)"><value>50</value></Data></ExtendedData>"#;
    assert_eq!(features(placemark(inside))[0]["properties"], json!({ "Setback (ft)": "50" }));
}

#[test]
fn a_number_with_markup_inside_is_not_shortened() {
    let inside =
        "<ExtendedData><Data name='setback_ft'><value>2<b>5</b></value></Data></ExtendedData>";
    assert_eq!(features(placemark(inside))[0]["properties"], json!({ "setback_ft": "25" }));
}

#[test]
fn the_name_in_extended_data_outranks_the_label() {
    let data = |name: &str| {
        format!("<ExtendedData><Data name='Name'><value>{name}</value></Data></ExtendedData>")
    };
    for (inside, expected) in [
        (format!("<name>Untitled Polygon</name>{}", data("Front")), json!({"name":"Front"})),
        (format!("{}<name>Label</name>", data(" ")), json!({"name":"Label"})),
        // Another vocabulary's name is not the Placemark's.
        ("<x:name xmlns:x='http://example.org'>Jane Doe</x:name>".into(), json!({})),
        ("<author><name>Jane Doe</name></author>".into(), json!({})),
    ] {
        assert_eq!(features(placemark(&inside))[0]["properties"], expected, "{inside}");
    }
}

#[test]
fn a_folder_named_as_a_kind_stands_for_it_and_for_nothing_else() {
    let spot = "<Placemark/>";
    let kinds = |text: String| -> Vec<Value> {
        let layer = layer_of(text).unwrap();
        let called = |number: u64| Value::from(layer.called[number as usize].unwrap().name());
        let kind = |it: &Value| match it["properties"]["@called"].as_u64() {
            Some(number) => called(number),
            None => it["properties"]["kind"].clone(),
        };
        told(&layer)["features"].as_array().unwrap().iter().map(kind).collect()
    };
    let folder = |name: &str, inside: &str| format!("<Folder><name>{name}</name>{inside}</Folder>");
    for (name, expected) in [
        (" Turf ", json!("turf")),
        ("BEDS", json!("bed")),
        ("Wells", json!("well")),
        ("buildings", json!("building")),
        ("apiaries", json!("apiary")),
        ("veg-strips", json!("veg-strip")),
        ("Flower beds", Value::Null),
        ("turf 2025", Value::Null),
        ("grass", Value::Null),
        ("s", Value::Null),
    ] {
        assert_eq!(kinds(kml(&folder(name, spot))), [expected], "{name}");
    }
    // Only the nearest that has a name counts.
    assert_eq!(kinds(kml(&folder("Beds", &folder("Front", spot)))), [Value::Null]);
    assert_eq!(kinds(kml(&folder("Beds", &format!("<Folder>{spot}</Folder>")))), [json!("bed")]);
    assert_eq!(
        kinds(kml(&format!("{}{spot}", folder("Beds", &folder("Wells", spot))))),
        [json!("well"), Value::Null]
    );
    // A Document is named after its file, and a Placemark knows best.
    assert_eq!(kinds(kml(&format!("<name>Turf</name>{spot}"))), [Value::Null]);
    assert_eq!(kinds(kml(&folder("Turf", &format!("<Document>{spot}</Document>")))), [Value::Null]);
    let own = r#"<Placemark><ExtendedData><Data name="kind"><value>pond</value></Data></ExtendedData></Placemark>"#;
    assert_eq!(kinds(kml(&folder("Turf", own))), [json!("pond")]);
}

#[test]
fn lines_are_those_of_the_tags() {
    let text = "<kml>\n<!-- a\n\n --><Placemark\n  id='1'>\n<name>a\nb</name></Placemark>\r\n<Placemark/><Placemark/>\n\n<Placemark>\n</Placemark></kml>\n";
    let layer = layer_of(text).unwrap();
    let mut told = Vec::new();
    layer.bytes.read(0, layer.bytes.length(), &mut told).unwrap();
    let told = String::from_utf8(told).unwrap();
    let lines: Vec<usize> = (1..)
        .zip(told.split('\n'))
        .flat_map(|(line, text)| text.matches(r#""Feature""#).map(move |_| line))
        .collect();
    assert_eq!(lines, [4, 8, 8, 10]);
}

#[test]
fn a_file_made_to_unfold_is_refused() {
    let bomb = r#"<?xml version="1.0"?>
<!DOCTYPE lolz [<!ENTITY lol "lol"><!ENTITY lol2 "&lol;&lol;&lol;">]>
<kml><Placemark><name>&lol2;</name></Placemark></kml>"#;
    assert_eq!(
        refusal(bomb),
        "lot.kml: line 2: has a DOCTYPE, which no map needs and which can make a file unfold without end; take it out"
    );
    let reason =
        "line 1: &nbsp; is no character that XML knows; write the character itself, or its number";
    assert!(refusal(placemark("<name>a&nbsp;b</name>")).contains(reason));
    assert!(
        refusal(placemark("<ExtendedData><Data name='&nbsp;'/></ExtendedData>")).contains("line 1")
    );
}

#[test]
fn depth_is_limited() {
    let nest = |name: &str, deep: usize| {
        format!("{}{}", format!("<{name}>").repeat(deep), format!("</{name}>").repeat(deep))
    };
    for name in ["Folder", "MultiGeometry", "b"] {
        let text = |deep| match name {
            "Folder" => kml(&nest(name, deep)),
            _ => placemark(&nest(name, deep)),
        };
        assert!(layer_of(text(150)).is_ok(), "{name}");
        assert!(refusal(text(100_000)).contains("more than 200 deep"), "{name}");
    }
}

#[test]
fn a_file_that_is_cut_off_is_refused_with_its_line() {
    let text = "<kml>\n<Placemark>\n<name>Front</name>\n</Placemark>\n</kml>";
    for end in 1..text.len() {
        let Err(error) = layer_of(&text[..end]) else { panic!("{}", &text[..end]) };
        let ReadError::CutOff { line, .. } = error else { panic!("{error}: {}", &text[..end]) };
        assert_eq!(line, text[..end].matches('\n').count() + 1, "{}", &text[..end]);
    }
    assert_eq!(
        refusal("<kml>\n<Placemark><name>Fro"),
        "lot.kml: ends too soon at line 2, column 21; it seems cut off: copy or export it again"
    );
    // In the middle of a letter, of a comment, of a character's number.
    for end in [&b"<kml>\n<name>\xC3"[..], b"<kml>\n<!-- a", b"<kml>\n<![CDATA[ a", b"<kml>\na&#1"]
    {
        assert!(matches!(layer_of(end), Err(ReadError::CutOff { line: 2, .. })));
    }
}

#[test]
fn what_is_no_kml_says_what_was_found() {
    for (text, reason) in [
        ("", "lot.kml: not KML: it is empty; export it again"),
        (" \n", "lot.kml: not KML: it is empty; export it again"),
        ("{\"type\":1}", r#"lot.kml: not KML: it starts with "{\"type\":1}"; export it again"#),
        ("<gpx></gpx>", "lot.kml: not KML: its outermost element is <gpx>; export it again"),
        (
            "<kml>\n<Placemark>\n</Folder></kml>",
            "lot.kml: line 3: not XML: </Folder> stands where </Placemark> is due; correct it there",
        ),
        (
            "<kml>\n<name>Smith & Sons</name></kml>",
            r#"lot.kml: line 2: not XML: a bare "&", which is written &amp;; correct it there"#,
        ),
        (
            "<kml/>\n<kml/>",
            "lot.kml: line 2: not XML: <kml> after its outermost element; correct it there",
        ),
        (
            "<kml/>\n\nmore",
            r#"lot.kml: line 3: not XML: "more" after its outermost element; correct it there"#,
        ),
        (
            "<kml><Folder><NetworkLink/></Folder></kml>",
            "lot.kml: has no Placemark, only links to other files (NetworkLink); open it, and save the places that it shows",
        ),
    ] {
        assert_eq!(refusal(text), reason, "{text}");
    }
    assert!(features("<kml/>").is_empty());
}

#[test]
fn names_are_read_in_the_encoding_of_the_file_or_refused() {
    let name = |bytes: &[u8]| features(bytes)[0]["properties"]["name"].clone();
    let text = |encoding: &str| {
        format!(
            "<?xml version='1.0' encoding='{encoding}'?>\n<kml><Placemark><name>Blüte – 草</name></Placemark></kml>"
        )
    };
    let latin = |encoding: &str, umlaut: &[u8]| {
        let text = text(encoding).replace(" – 草", "");
        let (before, after) = text.split_once('ü').unwrap();
        [before.as_bytes(), umlaut, after.as_bytes()].concat()
    };
    let wide = |text: &str, little: bool| -> Vec<u8> {
        let bytes = |unit: u16| if little { unit.to_le_bytes() } else { unit.to_be_bytes() };
        text.encode_utf16().flat_map(bytes).collect()
    };
    let marked = |text: &str| format!("\u{feff}{text}");
    for bytes in [
        text("UTF-8").into_bytes(),
        marked(&text("UTF-8")).into_bytes(),
        // The mark outranks the declaration.
        marked(&text("windows-1252")).into_bytes(),
        // Written to a file as UTF-8, whatever it says.
        text("utf-16").into_bytes(),
        wide(&marked(&text("UTF-16")), true),
        wide(&marked(&text("UTF-16")), false),
        wide(&text("UTF-16"), true),
        wide(&text("UTF-16"), false),
    ] {
        assert_eq!(name(&bytes), "Blüte – 草");
    }
    for encoding in ["ISO-8859-1", "iso-8859-15", "windows-1252"] {
        assert_eq!(name(&latin(encoding, b"\xFC")), "Blüte", "{encoding}");
    }
    assert_eq!(name(&latin("IBM866", b"\xF1")), "Blёte");

    let undeclared = latin("UTF-8", b"\xFC");
    assert_eq!(
        refusal(undeclared),
        "lot.kml: line 2: bytes that are no UTF-8 text; save it as UTF-8, or correct the encoding in its first line"
    );
    assert!(refusal(latin("us-ascii", b"\xFC")).contains("line 2: bytes that are no UTF-8 text"));
    let unknown = refusal(text("EBCDIC-CP-US"));
    assert_eq!(
        unknown,
        r#"lot.kml: declares the encoding "EBCDIC-CP-US", which is not known; save it as UTF-8"#
    );
    let four = text("UTF-32")
        .chars()
        .flat_map(|letter| u32::from(letter).to_le_bytes())
        .collect::<Vec<u8>>();
    assert!(refusal(four).contains("UTF-32"));
}

#[test]
fn lines_are_counted_in_letters_of_two_bytes_too() {
    let text = "\u{feff}<kml>\n\n<Placemark>\n</kml>";
    let bytes: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert!(refusal(bytes).contains("line 4: not XML: </kml> stands where </Placemark>"));
}

#[test]
fn texts_are_only_so_long() {
    let long = "x".repeat(70_000);
    let reason = "line 1: a text of more than 64 KB; shorten it";
    assert!(refusal(placemark(&format!("<name>{long}</name>"))).contains(reason));
    // What is left out may be long.
    assert!(layer_of(placemark(&format!("<description>{long}</description>"))).is_ok());
    let corners = "1,2 ".repeat(4_000_001);
    let reason =
        unreadable(&format!("<LineString><coordinates>{corners}</coordinates></LineString>"));
    assert_eq!(reason, "it has more than 4000000 corners; draw it in parts");
}

#[test]
fn a_tag_with_very_many_attributes_takes_no_square_of_the_time() {
    let attributes: String = (0..300_000).map(|number| format!(" a{number}='1'")).collect();
    let start = Instant::now();
    let inside = format!(
        "<ExtendedData><Data{attributes} name='kind'><value>turf</value></Data></ExtendedData>"
    );
    assert_eq!(features(placemark(&inside))[0]["properties"], json!({ "kind": "turf" }));
    assert!(start.elapsed() < Duration::from_secs(20));
}

#[test]
fn a_large_file_streams() {
    let one = format!("<Placemark><name>Front</name>{}</Placemark>\n", polygon());
    let text = format!("<kml>\n{}</kml>", one.repeat(50_000));
    let layer = layer_of(text).unwrap();
    let map = read(&[Source::told(layer, CoordinateSystem::AsTheFileSays)]).unwrap();
    assert_eq!(map.problems().len(), 50_000);
    let last = map.problems().last().unwrap().error.place().unwrap().clone();
    assert_eq!(format!("{last:#}"), r#"lot.kml Placemark 50000 ("Front"), line 50001"#);
}

#[test]
fn a_lawn_is_read_to_the_end() {
    let map = map_of(lawn());
    assert!(map.problems().is_empty(), "{:?}", map.problems());
    let features = all(&map);
    let corner = |x, y| Coord { x, y };
    let ring = vec![
        corner(-88.0, 44.0),
        corner(-87.999, 44.0),
        corner(-87.999, 44.001),
        corner(-88.0, 44.0),
    ];
    assert_eq!(features[0].outline.polygons, [Polygon::new(ring.into(), Vec::new())]);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..Default::default() })]

    /// Whatever bytes are changed and wherever it is cut, a file is read or refused.
    #[test]
    fn a_damaged_file_is_read_or_refused(
        changes in proptest::collection::vec((any::<prop::sample::Index>(), damage()), 0..6),
        cut in any::<prop::sample::Index>(),
        is_cut in any::<bool>(),
    ) {
        let mut bytes = everything().into_bytes();
        for (place, damage) in changes {
            let place = place.index(bytes.len());
            bytes.splice(place..place + 1, damage);
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

fn damage() -> impl Strategy<Value = Vec<u8>> {
    prop_oneof![
        any::<u8>().prop_map(|byte| vec![byte]),
        proptest::sample::select(&b"<>&;/!?[]-'\" ,.e\n\0\xff"[..]).prop_map(|byte| vec![byte]),
        Just(Vec::new()),
        proptest::sample::select(
            &[
                "<!--",
                "-->",
                "<![CDATA[",
                "]]>",
                "<?",
                "?>",
                "&#0;",
                "&#xD800;",
                "<a>",
                "</a>",
                "<a/>",
                "<!DOCTYPE a>",
                "<Placemark>",
                "</Folder>"
            ][..]
        )
        .prop_map(|text| text.as_bytes().to_vec()),
    ]
}

/// A file with all that is read.
fn everything() -> String {
    let data = r##"<ExtendedData><Data name="kind"><value>turf</value></Data><SchemaData schemaUrl="#a"><SimpleData name="species">tall&#45;fescue</SimpleData></SchemaData></ExtendedData>"##;
    let shapes = format!(
        "<MultiGeometry><Point><coordinates>1,2,3</coordinates></Point><LineString><coordinates>1,2 3, 4</coordinates></LineString>{}<gx:Track><gx:coord>1 2 3</gx:coord></gx:Track></MultiGeometry>",
        polygon()
    );
    kml(&format!(
        "<!-- note --><Folder><name>Beds</name>\n<Placemark id='1'><name><![CDATA[a]]> &amp; b</name>{data}{shapes}</Placemark>\n<Placemark><description>x</description>{}</Placemark></Folder>",
        polygon()
    ))
}
