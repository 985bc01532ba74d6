//! One map in every format and system: the areas that an outside engine found for it. And layers
//! that are written, opened by GDAL.

#![allow(clippy::unwrap_used)] // A test may.

use std::path::Path;

use serde_json::Value;
use turfplat::{
    Columns, CoordinateSystem, MapTable, PropertyMap, export_layers, geojson_layers, geopackage,
    kml, open_map, read_map, shapefile,
};
use turfplat_tests::{Expected, flat_area, gdal, maps, measured};

fn map_of(files: &[&str], crs: &CoordinateSystem) -> PropertyMap {
    let sources = files
        .iter()
        .flat_map(|file| open_map(&maps().join(file), crs, &Columns::default()).unwrap());
    read_map(&sources.collect::<Vec<_>>()).unwrap()
}

/// Holds a map to what an outside engine says of it.
#[track_caller]
fn hold(files: &[&str], expected: &str) {
    let measured = measured(&map_of(files, &CoordinateSystem::AsTheFileSays));
    assert_eq!(measured.refusals, [], "{files:?}");
    let zones: Vec<_> = measured.plats.iter().flat_map(|plat| &plat.zones).collect();
    let wanted = Expected::of(expected);
    assert_eq!(zones.len(), wanted.len(), "{files:?}");
    for wanted in wanted {
        let zone = zones.iter().find(|zone| zone.name == wanted.name).unwrap();
        wanted.hold(zone, &files);
    }
}

#[test]
fn every_format_gives_the_expected_areas() {
    let lot = "prop_h_single_lot";
    hold(&["prop_h_single_lot.geojson"], lot);
    hold(&["prop_h_single_lot.kml"], lot);
    hold(&["single_lot/lot.kmz"], lot);
    hold(&["single_lot/lines.geojsonl"], lot);
    hold(&["single_lot/sequence.geojsons"], lot);
    hold(&["single_lot/wkt.csv"], lot);
    hold(&["single_lot/without-well.geojson", "single_lot/wells.csv"], lot);
    hold(&["single_lot/without-well.geojson", "single_lot/wells.gpx"], lot);
}

#[cfg(feature = "proj")]
#[test]
fn every_system_gives_the_expected_areas() {
    let lot = "prop_h_single_lot";
    hold(&["prop_h_single_lot_utm16.gpkg"], lot);
    hold(&["single_lot/crs-member.geojson"], lot);
    hold(&["single_lot/layers-3857.gpkg"], lot);
    hold(&["prop_a_neukolln_25833.gpkg"], "prop_a_neukolln");
    let state_plane = "sp_2289_single_lot";
    hold(
        &[
            "sp_2289_single_lot_poly.shp",
            "sp_2289_single_lot_line.zip",
            "sp_2289_single_lot_point.shp",
        ],
        state_plane,
    );
    hold(
        &[
            "sp_2289_single_lot_poly.zip",
            "sp_2289_single_lot_line.zip",
            "sp_2289_single_lot_point.shp",
        ],
        state_plane,
    );
    let lots = "sp_2289_fox_crossing";
    hold(
        &[
            "sp_2289_fox_crossing_poly.shp",
            "sp_2289_fox_crossing_line.zip",
            "sp_2289_fox_crossing_point.shp",
        ],
        lots,
    );
}

/// Files of different datums are told, and their hazards kept away from by as much more.
#[cfg(feature = "proj")]
#[test]
fn where_datums_meet_distances_are_wider() {
    let alone = map_of(
        &["sp_2289_single_lot_poly.shp", "sp_2289_single_lot_point.shp"],
        &CoordinateSystem::AsTheFileSays,
    );
    let met = map_of(
        &["sp_2289_single_lot_poly.shp", "single_lot/wells.csv"],
        &CoordinateSystem::AsTheFileSays,
    );
    let lost = |map: &PropertyMap| -> f64 {
        let zones = measured(map).plats.remove(0).zones;
        zones.iter().map(|zone| zone.gross.square_metres() - zone.net.square_metres()).sum()
    };
    let (alone, met) = (lost(&alone), lost(&met));
    // PROJ's own word: NAD 83 comes to WGS 84 to within 4 m.
    assert!(met > alone + 50.0, "{alone} {met}");
    assert!(
        met_notes(&map_of(
            &["sp_2289_single_lot_poly.shp", "single_lot/wells.csv"],
            &CoordinateSystem::AsTheFileSays,
        ))
        .contains("4 m wider")
    );
}

fn met_notes(map: &PropertyMap) -> String {
    map.notes().iter().map(|note| note.message.as_str()).collect()
}

/// The codes of what is noted of files as a whole.
fn noted(files: &[(&str, &str)], columns: &Columns) -> Vec<&'static str> {
    let folder = tempfile::tempdir().unwrap();
    let crs = CoordinateSystem::AsTheFileSays;
    let sources = files.iter().flat_map(|(name, text)| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        open_map(&path, &crs, columns).unwrap()
    });
    let map = read_map(&sources.collect::<Vec<_>>()).unwrap();
    map.notes().iter().map(|note| note.code).collect()
}

#[test]
fn what_is_left_behind_or_far_away_is_noted() {
    let plain = Columns::default();
    let square = "POLYGON((-88.43 44.24,-88.42 44.24,-88.42 44.25,-88.43 44.24))";
    let lots = format!(
        "kind,property,OWNER,PIN,layer,wkt\nturf,A,Jane,7,x,\"SRID=4326;{square}\"\nturf,B,Joe,8,tree,\"SRID=4326;{square}\"\n"
    );
    assert_eq!(noted(&[("lots.csv", &lots)], &plain), ["personal-columns", "columns-left-out"]);
    let kinds = Columns::read("kinds.toml", "[kind.layer]\nx = \"turf\"\ntree = \"skip\"").unwrap();
    let of_kinds = ["personal-columns", "columns-left-out", "skipped"];
    assert_eq!(noted(&[("lots.csv", &lots)], &kinds), of_kinds);
    let wells = "longitude,latitude\n88.425,44.245\n";
    let with_wells = [("lots.csv", lots.as_str()), ("wells.csv", wells)];
    assert_eq!(
        noted(&with_wells, &plain),
        ["personal-columns", "columns-left-out", "kind-from-name", "far-away"]
    );
}

/// What GDAL finds in a file that was written: of each layer its features' properties and areas.
fn by_gdal(path: &Path, layer: &str) -> Vec<(Value, f64)> {
    let path = path.to_str().unwrap();
    let precision = ["-lco", "COORDINATE_PRECISION=12"];
    let out =
        gdal("ogr2ogr", &[&["-f", "GeoJSON", "/vsistdout/", path, layer], &precision[..]].concat());
    let read: Value = serde_json::from_slice(&out).unwrap();
    let features = read["features"].as_array().unwrap().iter();
    features
        .map(|feature| (feature["properties"].clone(), flat_area(&feature["geometry"])))
        .collect()
}

/// The layers of the single lot.
fn layers() -> [MapTable; 3] {
    let map = map_of(&["prop_h_single_lot.kml"], &CoordinateSystem::AsTheFileSays);
    let mut layers = export_layers();
    measured(&map).plats.iter().for_each(|plat| plat.add_to_layers(&mut layers));
    layers
}

#[test]
fn what_is_written_is_opened_by_gdal_with_the_same_areas() {
    let layers = layers();
    assert_eq!(layers.each_ref().map(|layer| layer.rows.len()), [2, 3, 1]);
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    std::fs::write(at("net.geojson"), geojson_layers(&layers)).unwrap();
    let ours: Value = serde_json::from_str(&geojson_layers(&layers)).unwrap();
    geopackage(&layers, &at("net.gpkg")).unwrap();
    std::fs::write(at("net.kml"), kml("net", &layers).unwrap()).unwrap();
    for layer in &layers {
        let parts = shapefile(layer).unwrap();
        let write = |ending: &str, bytes: &[u8]| {
            std::fs::write(at(&format!("{}.{ending}", layer.name)), bytes).unwrap();
        };
        write("shp", &parts.shp);
        write("shx", &parts.shx);
        write("dbf", &parts.dbf);
        write("prj", &parts.prj);
        write("cpg", &parts.cpg);
    }
    let mut compared = 0;
    for layer in &layers {
        let features = ours["features"].as_array().unwrap().iter();
        let ours: Vec<&Value> =
            features.filter(|feature| feature["properties"]["layer"] == layer.name).collect();
        let shp = format!("{}.shp", layer.name);
        for (file, name) in [("net.gpkg", layer.name), ("net.kml", layer.name), (&shp, layer.name)]
        {
            let theirs = by_gdal(&at(file), name);
            assert_eq!(theirs.len(), ours.len(), "{file} {name}");
            for (ours, (properties, area)) in ours.iter().zip(theirs) {
                let wanted = flat_area(&ours["geometry"]);
                assert!((area - wanted).abs() <= 1e-7 * wanted, "{file} {name}: {area} ≠ {wanted}");
                for (column, value) in ours["properties"].as_object().unwrap() {
                    if column == "layer" || value == "" {
                        continue;
                    }
                    // KML keeps `name` as an element of its own, which GDAL capitalizes.
                    let told = properties.get(column).filter(|it| !it.is_null());
                    let told = told.or_else(|| properties.get("Name")).unwrap_or(&Value::Null);
                    let is_same = match (value.as_f64(), told.as_f64()) {
                        (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * a.abs(),
                        _ => told.as_str() == value.as_str(),
                    };
                    assert!(is_same, "{file} {name} {column}: {told} ≠ {value}");
                    compared += 1;
                }
            }
        }
    }
    assert!(compared > 60, "{compared}");
}
