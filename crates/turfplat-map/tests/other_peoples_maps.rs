//! Maps that say what their features are in words of their own, or do not say it at all.

#![allow(clippy::unwrap_used)] // A test may.

use turfplat_map::{Columns, CoordinateSystem, Kind, PropertyMap, of_stream, read};

fn map_of(files: &[(&str, &str)], columns: &Columns) -> PropertyMap {
    let open = |(name, text): &(&str, &str)| {
        of_stream(name, &mut text.as_bytes(), &CoordinateSystem::AsTheFileSays, columns).unwrap()
    };
    let sources: Vec<_> = files.iter().flat_map(open).collect();
    read(&sources).unwrap()
}

/// What is noted of the files, as `code: message`, without what is beside the point.
fn notes(map: &PropertyMap) -> Vec<String> {
    let notes = map.notes().iter().filter(|note| note.code != "columns-left-out");
    notes.map(|note| format!("{} {}: {}", note.at, note.code, note.message)).collect()
}

fn refusals(map: &PropertyMap) -> Vec<String> {
    map.problems().iter().map(|problem| problem.error.to_string()).collect()
}

fn kinds(map: &PropertyMap) -> Vec<Kind> {
    let of = |property| map.read_property(property).unwrap().features;
    map.everybody().flat_map(of).map(|feature| feature.kind).collect()
}

/// A square of some 30 feet, the more to the east the higher its number.
fn square(number: u32) -> String {
    let west = -88.43 + f64::from(number) * 0.0002;
    let east = west + 0.0001;
    format!("[[{west},44.24],[{east},44.24],[{east},44.2401],[{west},44.2401],[{west},44.24]]")
}

fn geojson(properties: &[&str]) -> String {
    let feature = |(number, said): (u32, &&str)| {
        let square = square(number);
        format!(
            r#"{{"type":"Feature","properties":{{{said}}},"geometry":{{"type":"Polygon","coordinates":[{square}]}}}}"#
        )
    };
    let features: Vec<String> = (0..).zip(properties).map(feature).collect();
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(",\n"))
}

fn placemark(number: u32, data: &str) -> String {
    let corners = square(number).replace("],[", " ").replace(['[', ']'], "");
    format!(
        "<Placemark><name>P{number}</name><ExtendedData>{data}</ExtendedData><Polygon><outerBoundaryIs><LinearRing><coordinates>{corners}</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>"
    )
}

fn kml(inside: &str) -> String {
    format!("<kml><Document><name>map</name>{inside}</Document></kml>")
}

#[test]
fn the_name_of_a_file_is_its_kind_and_is_told() {
    let all = geojson(&[r#""name":"Front""#, r#""name":"Back""#]);
    let placemarks = kml(&format!("{}{}", placemark(0, ""), placemark(1, "")));
    for (name, text) in [("turf.geojson", &all), ("Turf.kml", &placemarks)] {
        let map = map_of(&[(name, text)], &Columns::default());
        assert_eq!(kinds(&map), [Kind::Turf, Kind::Turf], "{name}");
        let wanted = format!(
            "{name} kind-from-name: no feature says what it is, so its 2 features were all taken for turf, by the name of the file; if one is something else, give each its own kind"
        );
        assert_eq!(notes(&map), [wanted]);
    }
}

#[test]
fn a_name_speaks_for_nothing_beside_features_that_say_what_they_are() {
    let mixed = geojson(&[r#""kind":"turf""#, r#""name":"Septic tank""#, r#""KIND":"well""#]);
    let map = map_of(&[("turf.geojson", &mixed)], &Columns::default());
    assert_eq!(notes(&map), [""; 0]);
    assert_eq!(refusals(&map).len(), 1);
    assert!(
        refusals(&map)[0].starts_with(r#"turf.geojson features[1] ("Septic tank"), line 2: add a"#),
        "{:?}",
        refusals(&map)
    );
    // Whoever writes the mark that is kept with such features has said nothing by it.
    let forged = geojson(&[r#""kind":"turf""#, r#""@called":0"#]);
    for name in ["turf.geojson", "lots.geojson"] {
        assert_eq!(refusals(&map_of(&[(name, &forged)], &Columns::default())).len(), 1, "{name}");
    }
}

#[test]
fn a_folder_speaks_for_what_is_in_it_alone() {
    let kind = "<Data name='kind'><value>water</value></Data>";
    let folder = |name: &str, inside: &str| format!("<Folder><name>{name}</name>{inside}</Folder>");
    let map = |text: String| map_of(&[("turf.kml", &kml(&text))], &Columns::default());

    let all = map(folder("Beds", &placemark(0, "")) + &folder("Lawn", &placemark(1, kind)));
    assert_eq!(kinds(&all), [Kind::Bed, Kind::Water]);
    assert!(notes(&all)[0].contains("kind-from-name: no feature says what it is, so the one"));
    assert!(notes(&all)[0].contains(r#"taken for bed, by the name of the folder "Beds";"#));

    let mixed = map(folder("Turf lawn", &placemark(0, "")));
    assert_eq!(refusals(&mixed).len(), 1, "another folder than the file's name");
    let mixed = map(folder("Beds", &(placemark(0, "") + &placemark(1, kind))));
    assert_eq!(refusals(&mixed).len(), 1, "a pond says what it is");
    let mixed = map(folder("Beds", &placemark(0, "")) + &placemark(1, ""));
    assert_eq!(refusals(&mixed).len(), 1, "the file has folders for kinds");
    let same = map(folder("turf", &placemark(0, "")) + &placemark(1, ""));
    assert_eq!(kinds(&same), [Kind::Turf, Kind::Turf]);
}

#[test]
fn a_folder_can_be_asked_for_what_is_in_it() {
    let folder = |name: &str, inside: &str| format!("<Folder><name>{name}</name>{inside}</Folder>");
    let text = kml(&(folder("Lawns", &placemark(0, "")) + &folder("Hives", &placemark(1, ""))));
    let kinds_file = "[kind.folder]\nLawns = \"turf\"\nHives = \"apiary\"";
    let columns = Columns::read("kinds.toml", kinds_file).unwrap();
    assert_eq!(kinds(&map_of(&[("map.kml", &text)], &columns)), [Kind::Turf, Kind::Apiary]);
}
