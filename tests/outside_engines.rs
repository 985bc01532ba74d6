//! Real maps against GEOS, and the plane against PROJ.

#![allow(clippy::unwrap_used)] // A test may.

use std::fs;
use std::path::Path;

use serde_json::Value;
use turfplat::units::Length;
use turfplat::{CoordinateSystem, Kind, MapSource, MeasureOptions, PropertyMap, measure, read_map};

fn read(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("maps").join(name);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn map_of(text: &str) -> PropertyMap {
    let source = MapSource::geojson(
        "map.geojson",
        text.as_bytes().to_vec(),
        CoordinateSystem::AsTheFileSays,
    );
    read_map(&[source]).unwrap()
}

fn water_25_well_50() -> MeasureOptions<'static> {
    let feet = |feet| Length::from_feet(feet).unwrap();
    MeasureOptions {
        setbacks: [(Kind::Water, feet(25.0)), (Kind::Well, feet(50.0))].into(),
        ..MeasureOptions::default()
    }
}

/// 1e-5 of gross for GEOS's 256 segments a quarter circle, and 0.02 m² for the smallest zones.
fn tolerance(gross: f64) -> f64 {
    1e-5 * gross + 0.02
}

const MAPS: [(&str, usize); 3] =
    [("prop_a_neukolln", 15), ("prop_h_single_lot", 2), ("prop_c2_fox_crossing_lots", 106)];

/// GEOS 3.14 by shapely on an equal-area plane; see `maps/LICENCES.md`.
#[test]
fn real_maps_have_the_net_areas_that_geos_gives() {
    for (name, count) in MAPS {
        let map = map_of(&read(&format!("{name}.geojson")));
        let plats = measure(&map, &water_25_well_50()).plats;
        assert_eq!(plats.len(), 1, "{name}");
        let expected: Value =
            serde_json::from_str(&read(&format!("{name}.expected.json"))).unwrap();
        let zones = expected["zones"].as_array().unwrap();
        assert_eq!((zones.len(), plats[0].zones.len()), (count, count), "{name}");
        for expected in zones {
            let wanted = expected["name"].as_str().unwrap();
            let zone = plats[0].zones.iter().find(|zone| zone.name == wanted).unwrap();
            let (gross, net) =
                (expected["gross_m2"].as_f64().unwrap(), expected["net_m2"].as_f64().unwrap());
            // Without arcs the two differ by GEOS's rounding and the place of the plane alone.
            assert!(
                (zone.gross.square_metres() - gross).abs() < 1e-8 * gross + 1e-6,
                "{name} {wanted}: gross {:?}",
                zone.gross
            );
            let ours = zone.net.square_metres();
            assert!((ours - net).abs() <= tolerance(gross), "{name} {wanted}: net {ours} ≠ {net}");
        }
    }
}

/// A lot that is a customer of its own measures what it did as a zone of the neighbourhood:
/// houses, ponds and wells count whoever's they are.
#[test]
fn lots_measure_the_same_as_properties_of_their_own() {
    let text = read("prop_c2_fox_crossing_lots.geojson");
    let together = map_of(&text);
    let together = measure(&together, &water_25_well_50()).plats;
    let mut collection: Value = serde_json::from_str(&text).unwrap();
    for feature in collection["features"].as_array_mut().unwrap() {
        if feature["properties"]["kind"] == "turf" {
            feature["properties"]["property"] = feature["properties"]["osm_id"].clone();
        }
    }
    let apart = map_of(&collection.to_string());
    let apart = measure(&apart, &water_25_well_50()).plats;
    assert_eq!(apart.len(), 106);
    for plat in &apart {
        let [zone] = &plat.zones[..] else {
            panic!("{}: {} zones", plat.property, plat.zones.len())
        };
        let same = together[0].zones.iter().find(|other| other.name == zone.name).unwrap();
        // Each stands on a plane of its own, a few hundred metres apart: 1 part in 10⁸ of shape,
        // which arcs of setbacks feel, and rounding.
        let gross = same.gross.square_metres();
        assert!(
            (zone.gross.square_metres() - gross).abs() < 1e-9 * gross + 1e-6,
            "{}",
            plat.property
        );
        let (ours, theirs) = (zone.net.square_metres(), same.net.square_metres());
        assert!((ours - theirs).abs() < 1e-6 * gross, "{}: {ours} ≠ {theirs}", plat.property);
    }
}

/// Same map, same numbers, whatever the number of threads.
#[test]
fn numbers_are_the_same_for_any_thread_count() {
    let map = map_of(&read("prop_c2_fox_crossing_lots.geojson"));
    let areas = |threads: usize| -> Vec<u64> {
        let pool = rayon_pool(threads);
        pool.install(|| {
            measure(&map, &water_25_well_50()).plats[0]
                .zones
                .iter()
                .map(|zone| zone.net.square_metres().to_bits())
                .collect()
        })
    };
    assert_eq!(areas(1), areas(3));
}

fn rayon_pool(threads: usize) -> rayon::ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap()
}

/// PROJ 9.6's `laea` on the same ellipsoid.
/// The overlay cases that the crate i_overlay ships: A as turf and B as bed leave |A − B|.
#[test]
fn published_overlays_come_out_as_published() {
    let cases: Value = serde_json::from_str(&read("published_overlays.json")).unwrap();
    let cases = cases.as_array().unwrap();
    assert!(cases.len() > 60, "{}", cases.len());
    for case in cases {
        let outlines = |paths: &Value| -> Value {
            let rings = paths.as_array().unwrap().iter().map(|path| {
                let mut ring = path.as_array().unwrap().clone();
                ring.push(ring[0].clone());
                serde_json::json!([ring])
            });
            rings.collect()
        };
        let feature = |kind: &str, paths: &Value| serde_json::json!({ "type": "Feature", "properties": { "kind": kind }, "geometry": { "type": "MultiPolygon", "coordinates": outlines(paths) } });
        let features = [feature("turf", &case["a"]), feature("bed", &case["b"])];
        let map = serde_json::json!({ "type": "FeatureCollection", "features": features });
        let source = MapSource::geojson(
            "map.geojson",
            map.to_string().into_bytes(),
            CoordinateSystem::PLANE_METRES,
        );
        let map = read_map(&[source]).unwrap();
        let measured = measure(&map, &MeasureOptions::default());
        let plat = &measured.plats[0];
        let (net, gross) = (plat.net().square_metres(), plat.gross().square_metres());
        let published = case["difference"].as_f64().unwrap();
        assert!((net - published).abs() <= 1e-9 * gross, "{}: {net} ≠ {published}", case["case"]);
    }
}

#[cfg(feature = "proj")]
mod against_proj {
    use geo::Coord;
    use proptest::prelude::*;
    use serde_json::Value;
    use turfplat::{CoordinateSystem, MapSource, MeasureOptions, measure, read_map};
    use turfplat_measure::{Ellipsoid, Plane};

    use super::{MAPS, read};

    /// Published check of 2009: at latitude 41.402634 Web Mercator's areas must be taken times
    /// 0.56262101 on a sphere. On the ellipsoid the factor is M N cos² φ / a² (Snyder 1987, eqs.
    /// 4-18 and 4-20), 0.12 % more: so reproject, and never divide by a cosine.
    /// The coordinates of a map as PROJ lays them on the plane that GEOS was given.
    fn laid(value: &mut Value, proj: &proj::Proj) {
        let Value::Array(values) = value else { return };
        match (values.first(), values.get(1)) {
            (Some(Value::Number(x)), Some(Value::Number(y))) => {
                let place = (x.as_f64().unwrap(), y.as_f64().unwrap());
                let (east, north) = proj.convert(place).unwrap();
                *value = serde_json::json!([east, north]);
            }
            _ => values.iter_mut().for_each(|value| laid(value, proj)),
        }
    }

    /// On the very plane that GEOS was given, and where no arcs are: to nine digits.
    #[test]
    fn without_arcs_areas_are_geos_to_nine_digits() {
        let mut compared = 0;
        for (name, _) in MAPS {
            let expected: Value =
                serde_json::from_str(&read(&format!("{name}.expected.json"))).unwrap();
            let plane = expected["projection"].as_str().unwrap().replace("+no_defs", "");
            let pipeline = format!(
                "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step {plane}"
            );
            let proj = proj::Proj::new(&pipeline).unwrap();
            let mut map: Value = serde_json::from_str(&read(&format!("{name}.geojson"))).unwrap();
            for feature in map["features"].as_array_mut().unwrap() {
                laid(&mut feature["geometry"]["coordinates"], &proj);
            }
            let bytes = map.to_string().into_bytes();
            let crs = CoordinateSystem::PLANE_METRES;
            let map = read_map(&[MapSource::geojson("map.geojson", bytes, crs)]).unwrap();
            let plats = measure(&map, &MeasureOptions::default()).plats;
            for expected in expected["zones"].as_array().unwrap() {
                let wanted = expected["name"].as_str().unwrap();
                let zone = plats[0].zones.iter().find(|zone| zone.name == wanted).unwrap();
                let figures = [("gross_m2", zone.gross), ("after_exclusions_m2", zone.net)];
                for (figure, ours) in figures {
                    let theirs = expected[figure].as_f64().unwrap();
                    let off = (ours.square_metres() - theirs).abs();
                    assert!(off <= 1e-9 * theirs, "{name} {wanted} {figure}: {ours:?} ≠ {theirs}");
                    compared += 1;
                }
            }
        }
        assert_eq!(compared, 246);
    }

    #[test]
    fn web_mercator_is_brought_to_true_areas() {
        let (a, f) = (6_378_137.0_f64, 1.0 / 298.257_223_563);
        let latitude = 41.402_634_f64.to_radians();
        let north = a * (std::f64::consts::FRAC_PI_4 + latitude / 2.0).tan().ln();
        let (west, east, south, top) = (-8_000_000.0, -7_999_900.0, north - 50.0, north + 50.0);
        let text = format!(
            r#"{{"type":"Feature","properties":{{"kind":"turf"}},"geometry":{{"type":"Polygon","coordinates":[[[{west},{south}],[{east},{south}],[{east},{top}],[{west},{top}],[{west},{south}]]]}}}}"#
        );
        let crs = CoordinateSystem::Code("EPSG:3857".into());
        let map = read_map(&[MapSource::geojson("map.geojson", text.into_bytes(), crs)]).unwrap();
        let factor =
            measure(&map, &MeasureOptions::default()).plats[0].net().square_metres() / 10_000.0;
        assert!((factor / 0.562_621_01 - 1.0).abs() < 0.002, "{factor}");
        let e2 = f * (2.0 - f);
        let w = 1.0 - e2 * latitude.sin().powi(2);
        let exact = (1.0 - e2) / (w * w) * latitude.cos().powi(2);
        assert!((factor / exact - 1.0).abs() < 1e-6, "{factor} ≠ {exact}");
    }

    proptest! {
        /// Our plane lifted to degrees and laid by PROJ is where it was, to 1e-8 m at the
        /// equator. PROJ goes by an arc sine, whose rounding grows with 1 / cos φ: against forty-digit
        /// arithmetic it is 1.04e-8 m off at 57°, ours 4e-9.
        #[test]
        fn our_plane_is_projs_plane(
            longitude in -180.0..180.0_f64, latitude in -60.0..70.0_f64, east in -300.0..300.0_f64, north in -300.0..300.0_f64,
        ) {
            let definition = format!(
                "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step +proj=laea +lat_0={latitude} +lon_0={longitude} +ellps=WGS84"
            );
            let projected = proj::Proj::new(&definition).unwrap();
            let plane = Plane::centred(longitude, latitude, Ellipsoid::WGS84).unwrap();
            let ours = Coord { x: east, y: north };
            let degrees = plane.lift(ours);
            let (x, y) = projected.convert((degrees.x, degrees.y)).unwrap();
            let off = f64::hypot(x - ours.x, y - ours.y);
            prop_assert!(off < 1e-8 / latitude.to_radians().cos(), "{} m at {}, {}", off, longitude, latitude);
        }
    }
}
