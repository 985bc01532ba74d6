#![allow(clippy::unwrap_used)] // A test may.

use super::*;
use crate::property_map::RunRef;
use crate::shelf::HEAD;

/// One feature of each of many properties, then the next of each: no two that stand together.
fn scattered(properties: usize) -> PropertyMap {
    let mut text = String::from(r#"{"type":"FeatureCollection","features":["#);
    for (place, kind) in ["turf", "water", "turf"].into_iter().enumerate() {
        for property in 0..properties {
            let (west, south) = ((property % 250) as f64 / 1e3, (property / 250) as f64 / 1e3);
            let (west, south) = (west - 88.0, south + 44.0 + place as f64 / 4e3);
            let (east, north) = (west + 1e-4, south + 1e-4);
            let comma = if text.ends_with('[') { "" } else { ",\n" };
            text.push_str(&format!(
                r#"{comma}{{"type":"Feature","properties":{{"property":"P{property:06}","kind":"{kind}"}},"geometry":{{"type":"Polygon","coordinates":[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{south}]]]}}}}"#
            ));
        }
    }
    text.push_str("]}");
    read(&[Source::geojson("lots", text.into_bytes(), CoordinateSystem::AsTheFileSays)]).unwrap()
}

/// However long a map is, its runs take no more memory, and the rest few bytes a property and a run.
#[test]
fn a_long_map_takes_little_memory() {
    const MANY: usize = 20_000;
    let map = scattered(MANY);
    assert!(map.problems().is_empty(), "{:?}", map.problems().first());
    assert_eq!((map.runs.count(), map.feature_count()), (3 * MANY, 3 * MANY));
    // More of them than stand in memory.
    assert!(map.runs.count() * 4 * 14 > HEAD);
    assert!(map.runs.in_memory() < 2 * HEAD, "{}", map.runs.in_memory());
    let each = map.ids.in_memory() + map.runs_by_property.in_memory() + 4 * map.with_turf.len();
    // Of a property its id of 7 letters, its length, half a byte, and two numbers; of a run one.
    let most = MANY * (7 + 1 + 1 + 4 + 4) + map.runs.count() * 4;
    assert!(each <= most + 64, "{each} bytes, {most} at most");
}

/// What lies in the temporary file is the same as what stands in memory.
#[test]
fn runs_beyond_what_stands_in_memory_are_read_like_the_others() {
    const MANY: usize = 20_000;
    let map = scattered(MANY);
    for number in [0, 7_777, MANY - 1] {
        let property = map.properties()[number];
        assert_eq!(map.id(property), Some(format!("P{number:06}").as_str()));
        let features = map.read_property(property).unwrap().features;
        let names: Vec<&str> = features.iter().map(|it| it.name.as_str()).collect();
        assert_eq!(names, ["turf 1", "water 1", "turf 2"]);
        let places: Vec<usize> = features.iter().map(|it| it.at.index).collect();
        assert_eq!(places, [number, MANY + number, 2 * MANY + number]);
        let runs: Vec<RunRef> = map.runs_of(property).collect();
        assert_eq!(map.read_run(runs[2]).unwrap().features[0].name, "turf 2");
        assert!(map.around_of(runs[0]).unwrap().is_none());
        let pond = map.around_of(runs[1]).unwrap().unwrap();
        assert_eq!((pond.property, pond.run), (property, runs[1]));
    }
    let around: Result<Vec<_>, _> = map.around().collect();
    assert_eq!(around.unwrap().len(), MANY);
    assert_eq!(map.runs_in(0).len(), 3 * MANY);
}
