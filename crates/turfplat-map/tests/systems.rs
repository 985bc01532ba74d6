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
