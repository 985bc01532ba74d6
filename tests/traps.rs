//! Maps that are wrong in a way that no single feature shows, and other programs' maps as they come.
//! `README.md` beside this lists every trap that is known and the test that shows it.

#![allow(clippy::unwrap_used)] // A test may.

use std::path::Path;

use serde_json::{Value, json};
use turfplat::{
    Columns, CoordinateSystem, Finding, MeasureOptions, Measured, PropertyMap, for_each_note,
    measure, open_map, read_map, refusals,
};

/// Reads files, each a name and its text, as one map.
fn map_of(files: &[(&str, String)], crs: &CoordinateSystem, columns: &Columns) -> PropertyMap {
    let folder = tempfile::tempdir().unwrap();
    let sources = files.iter().flat_map(|(name, text)| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        open_map(&path, crs, columns).unwrap()
    });
    read_map(&sources.collect::<Vec<_>>()).unwrap()
}

fn plain(files: &[(&str, String)]) -> PropertyMap {
    map_of(files, &CoordinateSystem::AsTheFileSays, &Columns::default())
}

fn reasons(map: &PropertyMap) -> Vec<String> {
    refusals(map).into_iter().flat_map(|refusal| refusal.reasons).collect()
}

fn measured(map: &PropertyMap) -> Measured {
    measure(map, &MeasureOptions::default())
}

/// All findings of a map, of whole files and of each property.
fn findings(map: &PropertyMap) -> Vec<Finding> {
    let mut found = Vec::new();
    for_each_note(map, |_, finding| found.push(finding)).unwrap();
    for plat in measured(map).plats {
        found.extend(plat.findings);
    }
    found
}

fn collection(features: &[Value]) -> String {
    json!({ "type": "FeatureCollection", "features": features }).to_string()
}

fn feature(properties: Value, kind: &str, coordinates: Value) -> Value {
    json!({
        "type": "Feature", "properties": properties,
        "geometry": { "type": kind, "coordinates": coordinates },
    })
}

/// A square of a thousandth of a degree with its south-west corner there, the first number first.
fn square(properties: Value, first: f64, second: f64) -> Value {
    let corners = [[0.0, 0.0], [0.001, 0.0], [0.001, 0.001], [0.0, 0.001], [0.0, 0.0]];
    let ring: Vec<[f64; 2]> = corners.iter().map(|[a, b]| [first + a, second + b]).collect();
    feature(properties, "Polygon", json!([ring]))
}

#[test]
fn two_files_that_lie_together_once_one_is_swapped_are_refused_once() {
    let lots = collection(&[
        square(json!({"kind": "turf", "name": "Lawn"}), 13.4, 52.5),
        square(json!({"kind": "bed"}), 13.4, 52.5),
    ]);
    let wells: String = (0..40)
        .map(|n| format!("52.50{n:02},13.4{n:02}\n"))
        .fold("longitude,latitude\n".to_owned(), |text, row| text + &row);
    let map = plain(&[("lots.geojson", lots), ("wells.csv", wells)]);
    let reasons = reasons(&map);
    assert_eq!(reasons.len(), 1, "{reasons:?}");
    for part in ["wells.csv: lies at 13.42° N 52.50° E, and", "lots.geojson at 52.50° N 13.40° E"]
    {
        assert!(reasons[0].contains(part), "{reasons:?}");
    }
    assert!(reasons[0].ends_with("put longitude first in the one that is wrong"), "{reasons:?}");
}

#[test]
fn files_of_several_properties_are_held_to_each_other_too() {
    let of = |property: &str, first, second| {
        let turf = json!({"kind": "turf", "name": "Lawn", "property": property});
        collection(&[square(turf, first, second)])
    };
    let map = plain(&[("a.geojson", of("A", -3.7, 40.4)), ("b.geojson", of("B", 40.41, -3.71))]);
    assert!(reasons(&map)[0].contains("b.geojson: lies at 3.71° S 40.41° E"), "{map:?}");
    // Two customers far from each other are no slip.
    let map = plain(&[("a.geojson", of("A", -3.7, 40.4)), ("b.geojson", of("B", 2.3, 48.8))]);
    assert_eq!(reasons(&map), [""; 0]);
    assert_eq!(measured(&map).plats.len(), 2);
}

#[test]
fn common_ground_that_is_swapped_is_said_to_be() {
    let lots = ["A", "B"].map(|property| {
        square(json!({"kind": "turf", "name": "Lawn", "property": property}), 13.4, 52.5)
    });
    let well = feature(json!({"kind": "well"}), "Point", json!([52.5, 13.4]));
    let near = feature(json!({"kind": "well"}), "Point", json!([13.4, 52.5]));
    let features = lots.into_iter().chain([near, well]).collect::<Vec<_>>();
    let found = findings(&plain(&[("lots.geojson", collection(&features))]));
    let far = found.iter().find(|finding| finding.code == "far-away").unwrap();
    assert!(far.message.contains("swapped it would be near: put longitude first"), "{far:?}");
}

/// A system that is used in one part of the world knows that swapped numbers are elsewhere.
#[cfg(feature = "proj")]
#[test]
fn a_system_of_europe_knows_swapped_numbers() {
    let lot = collection(&[square(json!({"kind": "turf", "name": "Lawn"}), 52.5, 13.4)]);
    let crs = CoordinateSystem::Code("EPSG:4258".into());
    let map = map_of(&[("lot.geojson", lot)], &crs, &Columns::default());
    let reasons = reasons(&map);
    assert!(reasons[0].contains("with latitude and longitude swapped it lies where it should"));
}

/// Rings of a naive conversion of a shapefile run clockwise: nothing is wrong where right angles say so.
#[test]
fn rings_of_a_shapefile_are_no_swap() {
    let turn = 0.5_f64;
    let (east, north) = (1.0 / (111_200.0 * 52.5_f64.to_radians().cos()), 1.0 / 111_200.0);
    let place = |x: f64, y: f64| {
        let (x, y) = (x * turn.cos() - y * turn.sin(), x * turn.sin() + y * turn.cos());
        [13.4 + x * east, 52.5 + y * north]
    };
    let lots: Vec<Value> = (0..12)
        .map(|n| {
            let x = f64::from(n) * 40.0;
            let shell = [(0.0, 0.0), (0.0, 30.0), (30.0, 30.0), (30.0, 0.0), (0.0, 0.0)];
            let hole = [(10.0, 10.0), (20.0, 10.0), (20.0, 20.0), (10.0, 20.0), (10.0, 10.0)];
            let ring = |ring: [(f64, f64); 5]| ring.map(|(a, b)| place(x + a, b)).to_vec();
            let turf = json!({"kind": "turf", "name": format!("Lawn {n}")});
            feature(turf, "Polygon", json!([ring(shell), ring(hole)]))
        })
        .collect();
    let map = plain(&[("lots.geojson", collection(&lots))]);
    assert_eq!(reasons(&map), [""; 0]);
    let codes: Vec<&str> = findings(&map).iter().map(|finding| finding.code).collect();
    assert!(codes.contains(&"winding") && !codes.contains(&"latitude-first"), "{codes:?}");
}

/// The real maps of Europe are as they should be; with their numbers swapped that is seen.
#[test]
fn a_real_map_of_berlin_knows_which_number_stands_first() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("maps/prop_a_neukolln.geojson");
    let text = std::fs::read_to_string(path).unwrap();
    let codes = |map: &PropertyMap| -> Vec<&'static str> {
        findings(map).iter().map(|finding| finding.code).collect()
    };
    let right = plain(&[("berlin.geojson", text.clone())]);
    assert!(reasons(&right).is_empty() && !codes(&right).contains(&"latitude-first"));
    let mut swapped: Value = serde_json::from_str(&text).unwrap();
    swap(&mut swapped["features"]);
    let swapped = plain(&[("berlin.geojson", swapped.to_string())]);
    let is_refused =
        reasons(&swapped).iter().any(|reason| reason.contains("latitude stands first"));
    assert!(is_refused || codes(&swapped).contains(&"latitude-first"), "{:?}", codes(&swapped));
}

/// Swaps every position.
fn swap(value: &mut Value) {
    match value {
        Value::Array(values) if values.iter().all(Value::is_number) && values.len() >= 2 => {
            values.swap(0, 1);
        }
        Value::Array(values) => values.iter_mut().for_each(swap),
        Value::Object(members) => {
            if let Some(geometry) = members.get_mut("geometry") {
                swap(&mut geometry["coordinates"]);
            }
        }
        _ => {}
    }
}

/// The real maps, on which nobody's corner is a kilometer off.
#[test]
fn real_maps_have_no_stray_corners() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("maps");
    let mut looked_at = 0;
    for name in ["prop_a_neukolln", "prop_c2_fox_crossing_lots", "prop_h_single_lot"] {
        let text = std::fs::read_to_string(folder.join(format!("{name}.geojson"))).unwrap();
        let map = plain(&[("map.geojson", text)]);
        looked_at += map.feature_count();
        let stray = findings(&map);
        let stray: Vec<_> = stray.iter().filter(|it| it.code == "stray-corner").collect();
        assert!(stray.is_empty(), "{name}: {stray:?}");
    }
    assert!(looked_at > 100, "{looked_at}");
}

/// Nor do they, in any system, ask about units or hazards that nobody has mistaken.
#[cfg(feature = "proj")]
#[test]
fn real_maps_are_not_asked_about_units_or_far_hazards() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("maps");
    let mut looked_at = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let extension = path.extension().and_then(|it| it.to_str()).unwrap_or_default();
        let is_map = matches!(extension, "geojson" | "kml" | "gpkg" | "shp" | "zip");
        if !is_map {
            continue;
        }
        let source = open_map(&path, &CoordinateSystem::AsTheFileSays, &Columns::default());
        let map = read_map(&source.unwrap()).unwrap();
        let asked = ["feet-as-meters", "meters-as-feet", "far-hazard", "other-system"];
        let found = findings(&map).into_iter().filter(|it| asked.contains(&it.code));
        let found: Vec<_> = found.collect();
        assert!(found.is_empty(), "{}: {found:?}", path.display());
        looked_at += 1;
    }
    assert!(looked_at > 10, "{looked_at}");
}

/// EPSG:2289 in feet, said to be meters of a plane: no state plane zone in meters has such numbers.
#[cfg(feature = "proj")]
#[test]
fn feet_of_the_state_plane_called_meters_are_told() {
    let lot = |size: f64| {
        let corners = [[0.0, 0.0], [size, 0.0], [size, size], [0.0, size], [0.0, 0.0]];
        let ring = corners.map(|[x, y]| [2_512_000.0 + x, 389_000.0 + y]);
        let turf = json!({"kind": "turf", "name": "Lawn"});
        collection(&[feature(turf, "Polygon", json!([ring]))])
    };
    let code = |text: String, crs: CoordinateSystem| {
        let map = map_of(&[("lot.geojson", text)], &crs, &Columns::default());
        let found = findings(&map);
        found.into_iter().find(|finding| finding.code == "feet-as-meters")
    };
    let told = code(lot(120.0), CoordinateSystem::PLANE_METRES).unwrap();
    for part in ["(2512060, 389060)", "EPSG:2289 Wisconsin South,", "--plane ft"] {
        assert!(told.message.contains(part), "{told:?}");
    }
    assert_eq!(code(lot(120.0), CoordinateSystem::PLANE_FEET), None);
    // Counted from a corner of the lot they may be either.
    let small = lot(120.0).replace("2512", "12").replace("389", "9");
    assert_eq!(code(small, CoordinateSystem::PLANE_METRES), None);
}

/// A lot of that size with a building, both square, `north` of a place in zone 16 of UTM.
fn built_lot(property: &str, lot: f64, building: f64, north: f64) -> [Value; 2] {
    let square = |side: f64, kind: &str| {
        let corners = [[0.0, 0.0], [side, 0.0], [side, side], [0.0, side], [0.0, 0.0]];
        let ring = corners.map(|[x, y]| [385_000.0 + x, 4_899_000.0 + north + y]);
        let properties = json!({"kind": kind, "name": kind, "property": property});
        feature(properties, "Polygon", json!([ring]))
    };
    [square(lot, "turf"), square(building, "building")]
}

/// Feet of a whole map called meters of zone 16; and one school among its houses.
#[cfg(feature = "proj")]
#[test]
fn a_unit_is_asked_about_where_most_properties_of_a_map_do() {
    let told = |buildings: &[f64]| {
        let lots = buildings.iter().enumerate().flat_map(|(number, building)| {
            built_lot(&format!("P{number}"), 60.0, *building, 1000.0 * number as f64)
        });
        let text = collection(&lots.collect::<Vec<_>>());
        let crs = CoordinateSystem::Code("EPSG:32616".into());
        let found = findings(&map_of(&[("lots.geojson", text)], &crs, &Columns::default()));
        found.iter().filter(|finding| finding.code == "feet-as-meters").count()
    };
    // Houses of 40 ft and of 12 m a side, a school of 40 m.
    assert_eq!(told(&[40.0, 42.0, 38.0]), 3);
    assert_eq!(told(&[12.0, 11.0, 40.0, 13.0]), 0);
    assert_eq!(told(&[40.0]), 1);
}

/// A register of a county is one word, however many wells it has; a pond that was drawn is another.
#[test]
fn far_hazards_are_told_once_for_each_file() {
    let lawn = || collection(&[square(json!({"kind": "turf"}), -88.0, 44.0)]);
    let well = |number: usize| {
        let place = [-87.9 + 1e-4 * number as f64, 44.0];
        feature(json!({"kind": "well"}), "Point", json!(place))
    };
    let wells = |count: usize| collection(&(0..count).map(well).collect::<Vec<_>>());
    let pond = collection(&[square(json!({"kind": "water"}), -88.0, 44.01)]);
    let told = |files: &[(&str, String)]| {
        let found = findings(&plain(files)).into_iter().filter(|it| it.code == "far-hazard");
        found.map(|it| it.message).collect::<Vec<_>>()
    };
    let map = [("lawn.geojson", lawn()), ("wells.geojson", wells(1000)), ("pond.geojson", pond)];
    let said = told(&map);
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].contains("and 999 other hazards of its file"), "{said:?}");
    assert!(said[1].starts_with("water lies 3"), "{said:?}");
    assert!(
        told(&[("lawn.geojson", lawn()), ("wells.geojson", wells(1))])[0]
            .contains("a digit of its place")
    );
}

/// Web Mercator called a plane. Source: on WGS 84 lengths at 40° grow by 1.30360 and 1.30876, worked
/// from the radii of curvature of the ellipsoid; 1 / cos² would be 1.7041.
#[cfg(feature = "proj")]
#[test]
fn web_mercator_is_undone_by_its_own_formulas() {
    let north = 4_865_942.28; // 40° N, EPSG:3857
    let corners = [[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0], [0.0, 0.0]];
    let ring = corners.map(|[x, y]| [-9_000_000.0 + x, north + y]);
    let lot = collection(&[feature(json!({"kind": "turf"}), "Polygon", json!([ring]))]);
    let area = |crs: CoordinateSystem| {
        let map = map_of(&[("lot.geojson", lot.clone())], &crs, &Columns::default());
        measured(&map).plats.remove(0).gross().square_metres()
    };
    let grown =
        area(CoordinateSystem::PLANE_METRES) / area(CoordinateSystem::Code("EPSG:3857".into()));
    assert!((grown - 1.7061).abs() < 2e-4, "{grown}");
}

/// What a person gets who exports a block of OpenStreetMap.
#[test]
fn an_export_of_openstreetmap_is_measured() {
    let at = |x: f64, y: f64| json!([-88.43 + x * 1e-5, 44.24 + y * 1e-5]);
    let ring = |x: f64, y: f64, w: f64, h: f64| {
        json!([[at(x, y), at(x + w, y), at(x + w, y + h), at(x, y + h), at(x, y)]])
    };
    let area = |tags: Value, x, y, w, h| feature(tags, "Polygon", ring(x, y, w, h));
    let way = |tags: Value, from: (f64, f64), to: (f64, f64)| {
        feature(tags, "LineString", json!([at(from.0, from.1), at(to.0, to.1)]))
    };
    let node = |tags: Value, x, y| feature(tags, "Point", at(x, y));
    let features = [
        area(json!({"@id": "way/1", "landuse": "grass", "name": "Green"}), 0.0, 0.0, 100.0, 100.0),
        area(json!({"@id": "way/2", "building": "house"}), 10.0, 10.0, 20.0, 20.0),
        area(json!({"@id": "way/3", "natural": "water"}), 60.0, 60.0, 20.0, 20.0),
        area(json!({"@id": "way/4", "leisure": "garden"}), 60.0, 10.0, 10.0, 10.0),
        area(json!({"@id": "way/12", "landuse": "residential"}), -500.0, -500.0, 999.0, 999.0),
        way(json!({"@id": "way/5", "highway": "residential"}), (-50.0, -20.0), (150.0, -20.0)),
        way(json!({"@id": "way/6", "highway": "footway"}), (-5.0, 50.0), (105.0, 50.0)),
        way(
            json!({"@id": "way/7", "highway": "service", "width": "3"}),
            (20.0, -20.0),
            (20.0, 5.0),
        ),
        way(json!({"@id": "way/8", "waterway": "stream"}), (-5.0, 95.0), (105.0, 95.0)),
        way(json!({"@id": "way/9", "barrier": "hedge"}), (5.0, 5.0), (5.0, 95.0)),
        way(json!({"@id": "way/10", "barrier": "fence"}), (0.0, 0.0), (100.0, 0.0)),
        way(json!({"@id": "way/11", "power": "line"}), (0.0, 0.0), (100.0, 100.0)),
        node(json!({"@id": "node/1", "natural": "tree"}), 50.0, 50.0),
        node(json!({"@id": "node/2", "amenity": "parking"}), -20.0, -40.0),
        node(json!({"@id": "node/3", "leisure": "pitch"}), -60.0, -60.0),
        area(
            json!({"@id": "relation/1", "landuse": "grass", "name": "Verge", "@tainted": true}),
            -40.0,
            -40.0,
            10.0,
            10.0,
        ),
    ];
    let osm = Columns::built_in("openstreetmap").unwrap();
    let crs = CoordinateSystem::AsTheFileSays;
    let map = map_of(&[("export.geojson", collection(&features))], &crs, &osm);
    assert_eq!(reasons(&map), [""; 0]);
    let plat = measured(&map).plats.remove(0);
    let zone = plat.zones.iter().find(|zone| zone.name == "Green").unwrap();
    let lost: Vec<String> = zone.lost.iter().map(|loss| loss.to.to_string()).collect();
    assert_eq!(lost, ["building", "hardscape", "water", "bed"]);
    let findings = findings(&map);
    let of = |code: &str| -> Vec<String> {
        let found = findings.iter().filter(|finding| finding.code == code);
        let mut places: Vec<String> = found.map(|finding| finding.feature.clone()).collect();
        places.sort();
        places.dedup();
        places
    };
    // The footway and the hedge meet turf; the street does not. A pitch without a size is no lawn.
    let places = of("no-size");
    assert_eq!(places.len(), 3, "{places:?}");
    for number in [6, 9, 14] {
        assert!(places.iter().any(|it| it.contains(&format!("features[{number}]"))), "{places:?}");
    }
    assert_eq!(of("incomplete").len(), 1, "{findings:?}");
    // The same without the word for it is refused, each line with its cure.
    let text = "width_m = \"width\"\n[kind.highway]\n\"*\" = \"hardscape\"\n[kind.landuse]\ngrass = \"turf\"\n[kind.\"*\"]\n\"*\" = \"skip\"\n";
    let own = Columns::read("kinds.toml", text).unwrap();
    let map = map_of(&[("export.geojson", collection(&features))], &crs, &own);
    let refused = reasons(&map);
    assert_eq!(refused.len(), 2, "{refused:?}");
    assert!(refused.iter().all(|reason| reason.contains("needs width_ft or width_m")));
}

/// A levee, an airfield and a pivot's quarter have long sides; a corner in the wrong place has two that
/// lead there and back.
#[test]
fn a_long_side_is_asked_about_only_where_it_leads_to_one_corner() {
    let found = |kind: &str, corners: &[[f64; 2]]| -> Vec<&'static str> {
        let mut properties = json!({"kind": "turf", "name": "Lawn"});
        let coordinates = match kind {
            "Polygon" => {
                let ring: Vec<[f64; 2]> = [corners, &corners[..1]].concat();
                json!([ring])
            }
            _ => {
                properties["kind"] = json!("hardscape");
                properties["width_ft"] = json!(6);
                json!(corners)
            }
        };
        let it = feature(properties, kind, coordinates);
        let lawn = feature(
            json!({"kind": "turf", "name": "B"}),
            "Polygon",
            json!([[[0, 0], [9, 0], [9, 9], [0, 0]]]),
        );
        let text = collection(&if kind == "Polygon" { vec![it] } else { vec![lawn, it] });
        let map =
            map_of(&[("lots.geojson", text)], &CoordinateSystem::PLANE_METRES, &Columns::default());
        let codes = findings(&map).into_iter().map(|finding| finding.code);
        codes.filter(|code| *code == "vertex-spacing").collect()
    };
    let arc = |radius: f64, degrees: i32| -> Vec<[f64; 2]> {
        let turn = |degree: i32| f64::from(degree).to_radians().sin_cos();
        (0..=degrees / 3)
            .map(|step| turn(3 * step))
            .map(|(y, x)| [radius * x, radius * y])
            .collect()
    };
    let levee = [[0.0, 0.0], [3000.0, 0.0], [3000.0, 10.0], [0.0, 10.0]];
    let airfield = [[0.0, 0.0], [1800.0, 0.0], [1800.0, 1500.0], [0.0, 1500.0]];
    let triangle = [[0.0, 0.0], [1500.0, 0.0], [700.0, 1300.0]];
    let quarter = [vec![[0.0, 0.0]], arc(1500.0, 90)].concat();
    for quiet in [&levee[..], &airfield, &triangle, &quarter, &arc(1500.0, 180)] {
        assert!(found("Polygon", quiet).is_empty(), "{quiet:?}");
    }
    let runway = [[0.0, 0.0], [1500.0, 0.0]];
    let road = [[0.0, 0.0], [1500.0, 0.0], [1500.0, 900.0]];
    for quiet in [&runway[..], &road] {
        assert!(found("LineString", quiet).is_empty(), "{quiet:?}");
    }
    // The fourth corner of 500 by 400 m has 1700 for 400; the last of a path 4500 for 100.
    let slip = [[0.0, 0.0], [500.0, 0.0], [500.0, 200.0], [500.0, 400.0], [0.0, 1700.0]];
    assert_eq!(found("Polygon", &slip), ["vertex-spacing"]);
    let path = [[0.0, 0.0], [50.0, 0.0], [4500.0, 0.0]];
    assert_eq!(found("LineString", &path).len(), 1);
}
