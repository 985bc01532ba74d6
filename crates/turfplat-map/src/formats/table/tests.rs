#![allow(clippy::unwrap_used)]

use proptest::prelude::*;
use serde_json::{Value, json};

use super::*;
use crate::CoordinateSystem;
use crate::survey::{Source, read};

fn of(text: impl AsRef<[u8]>) -> Result<Layer, ReadError> {
    layer("lots.csv", &text.as_ref().to_vec().into(), &kinds())
}

fn refusal(text: impl AsRef<[u8]>) -> String {
    of(text).unwrap_err().to_string()
}

fn features(layer: &Layer) -> Vec<Value> {
    let mut text = Vec::new();
    layer.bytes.read(0, layer.bytes.length(), &mut text).unwrap();
    serde_json::from_slice::<Value>(&text).unwrap()["features"].as_array().unwrap().clone()
}

/// The column `class` holds names.
fn kinds() -> Columns {
    Columns::read("kinds.toml", r#"name = "class""#).unwrap()
}

/// The geometries: coordinates of a point, null, or the reason against it.
fn places(text: impl AsRef<[u8]>) -> Vec<Value> {
    let of = |feature: &Value| {
        let geometry = &feature["geometry"];
        let known = ["unreadable", "coordinates"].iter().find_map(|member| geometry.get(member));
        known.cloned().unwrap_or_default()
    };
    features(&self::of(text).unwrap()).iter().map(of).collect()
}

#[test]
fn a_table_of_places_is_a_layer() {
    let layer = of("Kind,Owner,Longitude,LAT,class\nwell,Smith,-93.25,44.95,7\n").unwrap();
    assert_eq!((layer.says.clone(), layer.counted), (Says::LongitudeLatitude, Counted::Records));
    assert_eq!(layer.left_out, ["Owner"]);
    let geometry = json!({"type": "Point", "coordinates": [-93.25, 44.95]});
    let properties = json!({"kind": "well", "name": "7"});
    assert_eq!(
        features(&layer),
        [json!({"type": "Feature", "properties": properties, "geometry": geometry})]
    );
}

#[test]
fn delimiters_are_those_of_the_names() {
    for text in [
        "kind;lon;lat\nwell;-93,25;44,95\n",
        "kind\tlon\tlat\nwell\t-93.25\t44.95\n",
        "sep=;\nkind;lon;lat\r\nwell;-93.25;44.95\r\n",
        "\"kind\",\"a;b;c;d;e\",\"lon\",\"lat\"\nwell,x,-93.25,44.95",
        "\u{feff}lat,lon\n44.95,-93.25\n",
        "\n\nlat,lon\n44.95,-93.25\n",
        "lat,lon\r44.95,-93.25\r",
    ] {
        assert_eq!(places(text), [json!([-93.25, 44.95])], "{text:?}");
    }
}

#[test]
fn decimal_commas_stand_only_between_semicolons() {
    let text = "kind;lon;lat;setback_ft;name\nwell;-93,25;44,95;2,5;3,5\n";
    let properties = &features(&of(text).unwrap())[0]["properties"];
    assert_eq!(*properties, json!({"kind": "well", "setback_ft": "2.5", "name": "3,5"}));
    let reason = "its longitude is \"-93,25\"; write it with a decimal point";
    assert_eq!(places("lon,lat\n\"-93,25\",\"44,95\"\n"), [json!(reason)]);
    assert_eq!(places("lon\tlat\n-93,25\t44,95\n"), [json!(reason)]);
    assert_eq!(
        places("x;y\n1.304.812,5;1\n"),
        [json!("its easting is \"1.304.812,5\"; write it with a decimal point")]
    );
}

#[test]
fn letters_come_out_as_they_were() {
    let name = |text: &[u8]| features(&of(text).unwrap())[0]["properties"]["name"].clone();
    assert_eq!(name("name,x,y\nÖstlich – €,1,2\n".as_bytes()), "Östlich – €");
    assert_eq!(name(b"name,x,y\n\xd6stlich \x96 \x80,1,2\n"), "Östlich – €");
    let wide: Vec<u8> =
        "\u{feff}name\tx\ty\nÖstlich\t1\t2\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert_eq!(name(&wide), "Östlich");
    // One half in each would come out wrong in either.
    assert_eq!(
        refusal([b"name,x,y\nM\xfcller,1,2\n".as_slice(), "Östlich,1,2\n".as_bytes()].concat()),
        "lots.csv: line 2: letters there are not UTF-8 and those elsewhere are; save it as CSV in UTF-8"
    );
    assert!(
        refusal(b"name,x,y\n\x81\x90,1,2\n").contains("line 2: letters in an unknown encoding")
    );
    assert!(refusal(b"PK\x03\x04\0\0\0").contains("no text: it holds zero bytes"));
    let odd = [wide.as_slice(), &[0, 0xd8, 1]].concat();
    assert!(refusal(odd).contains("in another encoding"));
}

#[test]
fn letters_cut_by_the_end_of_a_block_are_whole() {
    for shift in 0..4 {
        let text = format!("name,x,y\n{}{},1,2\n", "a".repeat(shift), "é€😀".repeat(30_000));
        let layer = of(&text).unwrap();
        assert!(
            features(&layer)[0]["properties"]["name"].as_str().unwrap().ends_with("é€😀"),
            "{shift}"
        );
    }
}

#[test]
fn lines_are_those_of_the_file() {
    let text = "kind,x,y,name\n\nwell,1,2,\"two\nlines\"\n\n\nwell,3,bad,\nwell,5,6,\n";
    let layer = of(text).unwrap();
    let map = read(&[Source::told(layer, CoordinateSystem::PLANE_METRES)]).unwrap();
    let problem = map.problems()[0].error.to_string();
    assert_eq!(
        problem,
        "lots.csv record 2, line 7: geometry cannot be read: its northing is \"bad\"; write a plain number such as 304812.5"
    );
}

#[test]
fn rows_that_are_not_as_long_as_the_names_are_refused() {
    assert_eq!(
        refusal("kind,x,y\nwell,1,2\n\nwell,1,2,3\n"),
        "lots.csv: line 4: has 4 fields and the line of names has 3; put fields with commas in quotes"
    );
    assert!(refusal("kind;x;y\nwell;1\n").contains("has 2 fields"));
    assert!(refusal("wkt\nPOINT (1 2)\nPOLYGON ((0 0, 1 1))\n").contains("line 3: has 2 fields"));
}

#[test]
fn a_quote_that_is_not_closed_swallows_no_rows() {
    let text = "x,y,name\n1,2,\"Back lawn\n3,4,pond\n5,6,well\n";
    assert_eq!(
        refusal(text),
        "lots.csv: line 2: a quote is opened there and not closed; close it or take it out"
    );
    assert!(refusal("x,y,\"name\n1,2,3\n").contains("line 1: a quote is opened"));
    // One in the middle of a field is a letter, and one that is closed may run over lines.
    assert_eq!(places("x,y,name\n1,2,3/4\" valve\n3,4,\"a\nb\"").len(), 2);
    assert!(
        refusal("x\n\u{2}\n").contains("control character")
            || refusal("x\n\u{2}\n").contains("none named")
    );
}

#[test]
fn a_row_without_an_end_is_given_up() {
    let text = format!("x,y,name\n1,2,\"{}", "a".repeat(65 << 20));
    assert_eq!(
        refusal(text),
        "lots.csv: line 2: a row of more than 64 MB starts there; is a quote not closed?"
    );
}

#[test]
fn a_row_of_commas_takes_no_room() {
    let text = format!("x,y\n1,2\n{}", ",".repeat(20_000_000));
    assert!(refusal(text).contains("line 3: has more than 10000 fields"));
}

#[test]
fn what_says_where_is_found_or_asked_for() {
    for (names, place) in [
        ("wkt,lon,lat", Place::Text(0)),
        ("The_Geom,x,y", Place::Text(0)),
        ("x,y,LNG,Latitude", Place::Degrees(2, 3)),
        ("northing,Easting,x,y", Place::Plane(1, 0)),
        ("Y,X,lat", Place::Plane(1, 0)),
    ] {
        assert_eq!(Place::among(&names.split(',').collect::<Vec<_>>()), Ok(place), "{names}");
    }
    assert_eq!(of("x,y\n1,2\n").unwrap().says, Says::Nothing);
    assert!(
        refusal("lat,name\n1,2\n")
            .contains("has a column of latitude but none named longitude; add it")
    );
    assert!(refusal("lat,latitude,lon\n1,2,3\n").contains("\"lat\" and \"latitude\"; leave one"));
    assert!(refusal("kind,kind,x,y\n1,2,3,4\n").contains("two columns \"kind\""));
    assert_eq!(
        refusal("address,owner\n1,2\n"),
        "lots.csv: none of its columns says where its rows lie (address, owner); name them longitude and latitude, easting and northing, or wkt"
    );
    assert!(refusal("").contains("is empty; expected a line of names"));
    assert!(refusal("\n\n").contains("is empty"));
    assert!(refusal("sep=,\n").contains("is empty"));
    assert!(features(&of("x,y\n").unwrap()).is_empty());
}

#[test]
fn cells_may_be_empty_both_or_neither() {
    assert_eq!(
        places("kind,lon,lat\nbed, ,\nbed,1,\nbed,,2\n"),
        [
            Value::Null,
            json!("it has a longitude but no latitude; fill in both"),
            json!("it has a latitude but no longitude; fill in both"),
        ]
    );
}

#[test]
fn text_geometries_are_read_and_their_system_with_them() {
    let says = |text: &str| of(text).unwrap().says;
    let text = "wkt\n\"SRID=26916;POINT (1 2)\"\n\"\"\nPOINT EMPTY\n\"SRID=26915;POINT (3 4)\"\nPOINT (5 6)\n";
    assert_eq!(says(text), Says::System("EPSG:26916".into()));
    assert_eq!(
        places(text),
        [
            json!([1.0, 2.0]),
            // An empty line in quotes is a row of one empty field.
            Value::Null,
            Value::Null,
            json!(
                "its SRID is 26915 and that of the rows before 26916; bring all rows to one system"
            ),
            json!(
                "its SRID is none and that of the rows before 26916; bring all rows to one system"
            ),
        ]
    );
    assert_eq!(says("wkt\nSRID=0;POINT (1 2)\nPOINT (1 2)\n"), Says::Nothing);
    assert_eq!(says("wkt,lon,lat\nPOINT (1 2),3,4\n"), Says::Nothing);
    let binary = "geom\n0101000020E6100000000000000000F03F0000000000000040\n01\n";
    assert_eq!(says(binary), Says::System("EPSG:4326".into()));
    assert_eq!(places(binary), [json!([1.0, 2.0]), json!("it ends too soon; export it again")]);
    let reason = "its text ends where `(` should be; it seems cut off";
    assert_eq!(places("geometry\npolygon\n"), [json!(reason)]);
    let nested = format!("wkt\n{}\n", "GEOMETRYCOLLECTION(".repeat(200_000));
    assert!(places(nested)[0].as_str().unwrap().contains("more than 32 deep"));
}

#[test]
fn degrees_are_read_as_people_write_them() {
    for (text, axis, expected) in [
        ("44.25", Axis::Latitude, 44.25),
        ("+44.25", Axis::Latitude, 44.25),
        ("\u{2212}93.5", Axis::Longitude, -93.5),
        ("4.425e1", Axis::Latitude, 44.25),
        ("44°15'N", Axis::Latitude, 44.25),
        ("44°15'36\"N", Axis::Latitude, 44.26),
        ("44° 15′ 36.0″ S", Axis::Latitude, -44.26),
        ("N44°15.6'", Axis::Latitude, 44.26),
        ("-93°15'00''", Axis::Longitude, -93.25),
        ("W 93 15 00", Axis::Longitude, -93.25),
        ("93 15 00 w", Axis::Longitude, -93.25),
        ("44.25N", Axis::Latitude, 44.25),
        ("44.25°", Axis::Latitude, 44.25),
        ("44º15’N", Axis::Latitude, 44.25),
    ] {
        let read = coordinate(text, Some(axis));
        assert!(
            read.as_ref().is_ok_and(|read| (read - expected).abs() < 1e-12),
            "{text}: {read:?}"
        );
    }
    for (text, axis) in [
        ("44°15'30\"E", Axis::Latitude),
        ("44°15'30\"O", Axis::Longitude),
        ("44°75'N", Axis::Latitude),
        ("44.5°15'N", Axis::Latitude),
        ("-44°15'N", Axis::Latitude),
        ("44 15 30", Axis::Latitude),
        ("44°15'30\"12N", Axis::Latitude),
        ("°", Axis::Latitude),
        ("N", Axis::Latitude),
        ("nan", Axis::Latitude),
        ("inf", Axis::Latitude),
        ("1e999", Axis::Latitude),
        ("0x10", Axis::Latitude),
        ("44.25 deg", Axis::Latitude),
    ] {
        let error = coordinate(text, Some(axis)).unwrap_err();
        assert!(
            error.ends_with("write degrees as a plain number such as -93.25"),
            "{text}: {error}"
        );
    }
    assert!(coordinate("44°15'N", None).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Damaged and cut anywhere it is read or refused.
    #[test]
    fn damage_is_no_disaster(changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..8), cut in any::<prop::sample::Index>()) {
        let text = "kind;name;geom\nwell;\"Östlich\nam Teich\";SRID=26916;POINT (1 2)\nbed;3/4\";\"POLYGON ((0 0, 9 0, 9 9, 0 0), (1 1, 2 1, 2 2, 1 1))\"\n";
        let mut bytes = text.as_bytes().to_vec();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        bytes.truncate(cut.index(text.len() + 1));
        let _ = of(bytes);
    }

    #[test]
    fn any_coordinate_is_read_or_refused(text in "[NSEW0-9°'\"., +\\-éº−′″]{0,14}") {
        let _ = coordinate(&text, Some(Axis::Latitude));
    }
}

/// What stands against each row, by itself and beside rows as they should be.
#[test]
fn a_row_that_is_no_place_is_told_from_a_file_in_another_system() {
    let said = |rows: &str| {
        let text = format!("kind,name,lat,lon\n{rows}");
        let layer = layer("wells.csv", &text.into_bytes().into(), &Columns::default()).unwrap();
        let map = read(&[Source::told(layer, CoordinateSystem::AsTheFileSays)]).unwrap();
        let said = map.problems().iter().map(|problem| problem.error.to_string());
        said.filter(|it| !it.contains("no feature of kind")).collect::<Vec<_>>()
    };
    let good = "well,V,44.24,-88.43\n";
    for (row, wanted) in [
        ("well,W,-9999,-9999\n", "stand for a place that nobody knows"),
        (
            "well,W,441425.62,-882546.4\n",
            "run together: if they are, write (-88.4295556, 44.2404500)",
        ),
    ] {
        for rows in [row.to_owned(), format!("{good}{row}{good}")] {
            let said = said(&rows);
            assert!(said.len() == 1 && said[0].contains(wanted), "{said:?}");
        }
    }
    let one = said(&format!("{good}well,W,44.24,-884.3\n"));
    assert!(one.len() == 1 && one[0].contains("record 2 (\"W\"), line 3: (-884.3, 44.24) are not degrees, and the rest of the file is"), "{one:?}");
    // Where all rows are so, it is the system, which takes PROJ to name.
    let all = said("well,V,820882.5,2379540.2\nwell,W,820900.5,2379600.2\n");
    let told =
        if cfg!(feature = "proj") { "state plane system would put them" } else { "no degrees" };
    assert!(all.iter().any(|it| it.contains(told)), "{all:?}");
}
