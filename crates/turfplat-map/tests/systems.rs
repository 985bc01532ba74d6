//! Coordinate systems by name and by well-known text, held to what other programs publish.

#![cfg(feature = "proj")]
#![allow(clippy::unwrap_used)] // A test may.

use turfplat_map::{CoordinateSystem, PropertyMap, ReadError, Scope, Source, read};

/// A map of one square lawn with a corner at each place; read as `crs` says.
fn map_of(places: &[(f64, f64)], crs: &str) -> Result<PropertyMap, ReadError> {
    let features: Vec<String> = places
        .iter()
        .enumerate()
        .map(|(number, (x, y))| {
            format!(
                r#"{{"type":"Feature","properties":{{"kind":"turf","property":"{number}"}},"geometry":{{"type":"Polygon","coordinates":[[[{x},{y}],[{},{y}],[{x},{}],[{x},{y}]]]}}}}"#,
                x + 10.0,
                y + 10.0
            )
        })
        .collect();
    let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","));
    read(&[Source::geojson("map.geojson", text.into_bytes(), CoordinateSystem::Code(crs.into()))])
}

/// A file of squares and points of one property, read as `crs` says.
fn file(name: &str, kind: &str, places: &[(f64, f64)], crs: Option<&str>) -> Source {
    let features: Vec<String> = places
        .iter()
        .enumerate()
        .map(|(number, (x, y))| {
            let geometry = match kind {
                "turf" => {
                    let (e, n) = (x + 10.0, y + 10.0);
                    format!(r#""Polygon","coordinates":[[[{x},{y}],[{e},{y}],[{x},{n}],[{x},{y}]]]"#)
                }
                _ => format!(r#""Point","coordinates":[{x},{y}]"#),
            };
            format!(
                r#"{{"type":"Feature","properties":{{"kind":"{kind}","name":"{kind} {number}"}},"geometry":{{"type":{geometry}}}}}"#
            )
        })
        .collect();
    let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","));
    let crs = crs.map_or(CoordinateSystem::AsTheFileSays, |crs| CoordinateSystem::Code(crs.into()));
    Source::geojson(name, text.into_bytes(), crs)
}

/// Zones of a grid look alike in their numbers; whoever knows the place sees where they lie.
#[test]
fn where_each_file_lies_is_told_by_the_system_that_was_named() {
    let place = [(419_800.0, 4_872_400.0)];
    for (crs, wanted) in [
        ("EPSG:26916", "map.geojson (EPSG:26916) lies at 44.00° N 88.00° W"),
        ("EPSG:26915", "map.geojson (EPSG:26915) lies at 44.00° N 94.00° W"),
    ] {
        let map = map_of(&place, crs).unwrap();
        assert_eq!(map.places().collect::<Vec<_>>(), [wanted]);
    }
    let mut plane = file("lots.geojson", "turf", &place, None);
    plane.crs = CoordinateSystem::PLANE_METRES;
    assert_eq!(read(&[plane]).unwrap().places().count(), 0);
}

/// The file whose system was named is asked about, however few features the other has.
#[test]
fn of_files_that_lie_apart_the_one_whose_system_was_named_is_asked_about() {
    // 44° N 88° W in zone 16 of UTM, which is near 94° W in zone 15.
    let (lots, wells) = ([(419_800.0, 4_872_400.0), (419_900.0, 4_872_400.0)], [(-88.0, 44.0)]);
    let wells_of_zone = |count: usize| -> Vec<(f64, f64)> {
        (0..count).map(|number| (419_850.0 + number as f64, 4_872_420.0)).collect()
    };
    let said = |files: &[Source]| refusal(&read(files).unwrap());
    let right = |name| file(name, "turf", &lots, Some("EPSG:26916"));
    assert_eq!(said(&[right("lots.geojson"), file("wells.geojson", "well", &wells, None)]), "");
    // One well and two lots, and the other way round.
    let wrong = "lots.geojson: by --crs EPSG:26915 it lies at 44.00° N 94.00° W, 480 km from wells.geojson, which lies at 44.00° N 88.00° W; name the system that it is in with --crs lots.geojson=EPSG:n";
    let lot = file("lots.geojson", "turf", &lots, Some("EPSG:26915"));
    let few = file("wells.geojson", "well", &wells, None);
    let many = file("wells.geojson", "well", &[wells[0]; 5], None);
    assert_eq!(said(&[lot.clone(), few]), wrong);
    assert_eq!(said(&[lot, many]), wrong);
    // Where both were named, nobody knows which.
    let other = file("wells.geojson", "well", &wells_of_zone(3), Some("EPSG:26915"));
    let both = said(&[right("lots.geojson"), other]);
    for part in [
        "wells.geojson: by --crs EPSG:26915 it lies at 44.00° N 94.00° W, 480 km from",
        "lots.geojson, which lies at 44.00° N 88.00° W by --crs EPSG:26916; one of the two",
    ] {
        assert!(both.contains(part), "{both}");
    }
}

/// What stands against the whole map.
fn refusal(map: &PropertyMap) -> String {
    let problems = map.problems().iter().filter(|problem| problem.scope == Scope::Map);
    problems.map(|problem| problem.error.to_string()).collect::<Vec<_>>().join("\n")
}

#[test]
fn a_system_that_puts_the_map_elsewhere_is_refused() {
    // Feet of Wisconsin South taken for the meters of the same zone land in Missouri.
    let place = [(2_160_000.0, 400_000.0)];
    let map = map_of(&place, "EPSG:32054").unwrap();
    assert!(refusal(&map).contains("WGS 84 no better than to 10 m"), "{}", refusal(&map));
    let map = map_of(&place, "EPSG:26954").unwrap();
    assert!(refusal(&map).contains("its middle lies at 37.81° N 91.30° W"), "{}", refusal(&map));
    assert!(refusal(&map).contains("are they feet that were taken for meters"));
    let map = map_of(&place, "EPSG:2289").unwrap();
    assert_eq!(refusal(&map), "");
}

/// What should be seen of a map's files, by its code.
fn said(map: &PropertyMap, code: &str) -> Vec<String> {
    let notes = map.notes().iter().filter(|note| note.code == code);
    notes.map(|note| note.message.clone()).collect()
}

/// One lawn in feet of Wisconsin South, by a file that says `crs`.
fn lawn_that_says(crs: &str, asked: CoordinateSystem) -> Result<PropertyMap, ReadError> {
    let text = format!(
        r#"{{"type":"FeatureCollection","crs":{crs},"features":[{{"type":"Feature","properties":{{"kind":"turf"}},"geometry":{{"type":"Polygon","coordinates":[[[2160000,400000],[2160100,400000],[2160100,400100],[2160000,400000]]]}}}}]}}"#
    );
    read(&[Source::geojson("lots.geojson", text.into_bytes(), asked)])
}

#[test]
fn another_system_than_the_files_own_is_told() {
    let named = |name: &str| serde_json::json!({"type": "name", "properties": {"name": name}});
    let code = |code: &str| CoordinateSystem::Code(code.to_owned());
    let by_code = named("urn:ogc:def:crs:EPSG::2289").to_string();
    let central = lawn_that_says(&by_code, code("EPSG:2288")).unwrap();
    let central = said(&central, "other-system");
    assert!(
        central[0].starts_with(
            "--crs EPSG:2288 was taken; its crs member says EPSG:2289, by which it lies at 43.1"
        ),
        "{central:?}"
    );
    assert!(central[0].ends_with("km away: leave out --crs if that is right"), "{central:?}");
    // The same in two ways of writing.
    const TABLE: &str = include_str!("data/state-plane-esri.csv");
    let mut rows = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(TABLE.as_bytes());
    let row = rows.records().map(Result::unwrap).find(|row| &row[0] == "2289").unwrap();
    for crs in [by_code.clone(), named(&row[5]).to_string()] {
        for asked in ["EPSG:2289", "epsg:2289", &row[5]] {
            let map = lawn_that_says(&crs, code(asked)).unwrap();
            assert_eq!(said(&map, "other-system"), [""; 0], "{crs} {asked}");
        }
    }
    // A plane in the other unit than the file says.
    let meters = lawn_that_says(&by_code, CoordinateSystem::PLANE_METRES).unwrap();
    assert!(said(&meters, "other-system")[0].contains("whose unit is 0.3048006 m"));
    assert_eq!(
        said(&lawn_that_says(&by_code, CoordinateSystem::PLANE_FEET).unwrap(), "other-system"),
        [""; 0]
    );
}

#[test]
fn a_system_named_in_no_way_that_is_read_gives_way_to_the_users() {
    for crs in [
        r#"{"type":"EPSG","properties":{"code":2289}}"#,
        r#"{"type":"link","properties":{"href":"http://example.com/2289","type":"proj4"}}"#,
    ] {
        let refused = lawn_that_says(crs, CoordinateSystem::AsTheFileSays).unwrap_err().to_string();
        assert!(refused.contains("name the system with --crs EPSG:n"), "{refused}");
        let map = lawn_that_says(crs, CoordinateSystem::Code("EPSG:2289".into())).unwrap();
        assert_eq!(refusal(&map), "");
    }
}

#[test]
fn numbers_that_make_no_sense_in_a_system_get_their_own_cure() {
    for (place, crs, wanted) in [
        ((150_000.0, 152_000.0), "EPSG:3857", "in open sea"),
        (
            (4_872_400.0, 419_800.0),
            "EPSG:26916",
            "with easting and northing exchanged it lies where it should",
        ),
        (
            (-88.0, 44.0),
            "EPSG:2289",
            "which --crs says: if they are longitude and latitude, say --crs EPSG:4326 instead",
        ),
    ] {
        let map = map_of(&[place], crs).unwrap();
        assert!(refusal(&map).contains(wanted), "{}", refusal(&map));
    }
    // Web maps of a lawn on land have none of that.
    assert_eq!(refusal(&map_of(&[(-9_843_000.0, 5_503_000.0)], "EPSG:3857").unwrap()), "");
}
