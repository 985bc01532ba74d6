//! A spray map opens in its place: GDAL is asked for the colour of its picture where the map says
//! that a house has its edges, and for the way from the picture's plane to degrees.

#![cfg(feature = "proj")]
#![allow(clippy::unwrap_used)] // A test may.

use std::fs;
use std::path::Path;

use geo::Coord;
use serde_json::Value;
use turfplat::sheet::{Page, png, sheets};
use turfplat::units::UnitSystem;
use turfplat::{
    Bytes, CoordinateSystem, Job, MapSource, PlanOptions, Planned, in_place, plan, read_map,
    spray_map,
};
use turfplat_tests::gdal;

fn demo() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demo")
}

/// The outer ring of a feature of the demo's map, in degrees, its first corner not repeated.
fn ring_of(name: &str) -> Vec<Coord<f64>> {
    let map: Value =
        serde_json::from_str(&fs::read_to_string(demo().join("map.geojson")).unwrap()).unwrap();
    let features = map["features"].as_array().unwrap();
    let feature = features.iter().find(|it| it["properties"]["name"] == name).unwrap();
    let ring = feature["geometry"]["coordinates"][0].as_array().unwrap();
    let corner = |c: &Value| Coord { x: c[0].as_f64().unwrap(), y: c[1].as_f64().unwrap() };
    ring[1..].iter().map(corner).collect()
}

fn numbers(text: &[u8]) -> Vec<f64> {
    let text = String::from_utf8_lossy(text);
    text.split_whitespace().map(|number| number.parse().unwrap()).collect()
}

#[test]
fn a_house_lies_in_the_picture_where_it_lies_on_earth() {
    let bytes = Bytes::open(&demo().join("map.geojson")).unwrap();
    let source = MapSource::geojson("map.geojson", bytes, CoordinateSystem::AsTheFileSays);
    let map = read_map(&[source]).unwrap();
    let job = fs::read_to_string(demo().join("job.toml")).unwrap();
    let job = Job::read("job.toml", &job, &|product| fs::read_to_string(demo().join(product)));
    let job = job.unwrap();
    let Planned { plans, .. } = plan(&map, &job, &PlanOptions::default()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    // Of a screen's picture the dots are larger, and so is the line round the house.
    for (page, units, inwards) in
        [(Page::Letter, UnitSystem::Us, 0.06), (Page::Screen, UnitSystem::Metric, 0.15)]
    {
        let drawn = spray_map(&plans[0], &plans[0].applications[0], None, units);
        let sheet = sheets(&drawn, page).remove(0);
        let picture = folder.path().join("map.png");
        let place = in_place(&plans[0], sheet.placement.expect("a map lies somewhere"));
        fs::write(&picture, png(&sheet.svg, page).unwrap()).unwrap();
        fs::write(picture.with_extension("pgw"), &place.world_file).unwrap();
        fs::write(picture.with_extension("prj"), place.prj.unwrap()).unwrap();
        fs::write(picture.with_extension("png.aux.xml"), place.aux.unwrap()).unwrap();

        let picture = picture.to_str().unwrap();
        let colour = |c: Coord<f64>| {
            let (x, y) = (format!("{:.12}", c.x), format!("{:.12}", c.y));
            let said =
                gdal("gdallocationinfo", &["-valonly", "-wgs84", picture, x.as_str(), y.as_str()]);
            numbers(&said)
        };
        let house = ring_of("House");
        let middle = house.iter().fold(Coord::zero(), |sum, c| sum + *c) / house.len() as f64;
        for (index, from) in house.iter().enumerate() {
            let to = house[(index + 1) % house.len()];
            // A third along, where no other line meets the edge.
            let edge = *from + (to - *from) / 3.0;
            // A line of a point, at 1:600 a decimeter to each side; inside of it the house is grey.
            let dark = colour(edge);
            assert!(dark.iter().all(|v| *v < 110.0), "{page:?} {edge:?}: {dark:?}");
            let inside = colour(edge + (middle - edge) * inwards);
            assert_eq!(inside, [201.0; 3], "{page:?}, within {edge:?}");
        }

        // The plane as it stands in the file is the plane that was measured on.
        let prj = format!("{}", Path::new(picture).with_extension("prj").display());
        for metres in [(0.0, 0.0), (55.0, -80.0), (-300.0, 410.0)] {
            let ours = plans[0].plane().lift(Coord { x: metres.0, y: metres.1 });
            let wkt = fs::read_to_string(&prj).unwrap();
            let points = folder.path().join("at.csv");
            fs::write(&points, format!("x,y\n{},{}\n", metres.0, metres.1)).unwrap();
            let said = gdal(
                "ogr2ogr",
                &[
                    "-f",
                    "CSV",
                    "/vsistdout/",
                    points.to_str().unwrap(),
                    "-oo",
                    "X_POSSIBLE_NAMES=x",
                    "-oo",
                    "Y_POSSIBLE_NAMES=y",
                    "-s_srs",
                    wkt.as_str(),
                    "-t_srs",
                    "OGC:CRS84",
                    "-lco",
                    "GEOMETRY=AS_XY",
                    "-select",
                    "",
                ],
            );
            let said = String::from_utf8_lossy(&said).into_owned();
            let theirs = numbers(said.lines().nth(1).unwrap().replace(',', " ").as_bytes());
            // 1e-8 degrees are a millimetre.
            assert!((theirs[0] - ours.x).abs() < 1e-8, "{theirs:?} {ours:?}");
            assert!((theirs[1] - ours.y).abs() < 1e-8, "{theirs:?} {ours:?}");
        }
    }
}
