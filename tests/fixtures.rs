//! What other libraries test themselves with (`fixtures/LICENCES.md`): every file is read as GDAL reads
//! it (as many features, the same corners, the same areas) or refused with words that stand here.

#![allow(clippy::unwrap_used)] // A test may.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use turfplat::{Columns, CoordinateSystem, MapSource, PropertyMap, open_map, read_map};
use turfplat_tests::{flat_area, gdal};

/// What comes of a file.
enum Comes {
    /// The features of these layers of GDAL's, all of them if none is named. Whether GDAL gives
    /// polygons: it takes no way walked round for one.
    Read { features: usize, layers: &'static [&'static str], is_by_area: bool },
    /// So many features can be used, and of the others this is said, each time.
    Partly { features: usize, said: &'static [&'static str] },
    /// This is said of the file.
    Refused(&'static str),
}
use Comes::{Partly, Read, Refused};

const WAYS: &[&str] = &["waypoints", "routes", "tracks"];
const fn ways(features: usize) -> Comes {
    Read { features, layers: WAYS, is_by_area: false }
}
const fn read(features: usize) -> Comes {
    Read { features, layers: &[], is_by_area: true }
}
const CURVES: &str = "has curves or is a mesh; convert to plain polygons and export it again";
const A_PART: &str = "a part of a shapefile; name the .shp, with the others beside it";

#[rustfmt::skip]
const FILES: [(&str, Comes); 38] = [
    ("geojson/geometry_collection.geojson", read(1)),
    ("geojson/good-feature-with-id.geojson", read(1)),
    ("geojson/good-feature-with-string-id.geojson", read(1)),
    ("geojson/good-feature.geojson", read(1)),
    ("geojson/good-featurecollection-bbox.geojson", read(2)),
    ("geojson/good-featurecollection-bbox3d.geojson", read(2)),
    ("geojson/good-featurecollection-extensions.geojson", read(3)),
    ("geojson/good-featurecollection.geojson", read(3)),
    ("geojson/good-geometrycollection.geojson", read(1)),
    ("geojson/good-linestring.geojson", read(1)),
    ("geojson/good-multilinestring.geojson", read(1)),
    ("geojson/good-multipoint.geojson", read(1)),
    ("geojson/good-point-3d.geojson", read(1)),
    ("geojson/good-point.geojson", read(1)),
    ("geojson/good-polygon.geojson", read(1)),
    ("geojson/multipolygon.geojson", read(1)),
    ("geojson/nullgeometry.geojson", read(0)),
    ("gpx/badcharacter.xml", Refused("XML, but neither KML nor GPX; export the map as KML or GeoJSON")),
    ("gpx/caltopo-export.gpx", ways(2)),
    ("gpx/ecology-trail-and-lovers-lane-loop.gpx", ways(1)),
    ("gpx/empty_name_tag.gpx", ways(0)),
    ("gpx/viking_with_route_extensions.gpx", ways(2)),
    ("gpx/wikipedia_example.gpx", ways(1)),
    ("gpx/with_accuracy.gpx", ways(1)),
    // GDAL refuses these two as well: KML has a root.
    ("kml/polygon.kml", Refused("not KML: its outermost element is <Polygon>; export it again")),
    ("kml/polygon.kmz", Refused("polygon.kml): not KML: its outermost element is <Polygon>; export it again")),
    ("kml/style-merging.kml", read(3)),
    ("pyogrio/curve.gpkg", Partly { features: 1, said: &[CURVES] }),
    ("pyogrio/curvepolygon.gpkg", Partly { features: 1, said: &[CURVES] }),
    ("pyogrio/line_zm.gpkg", read(1)),
    ("pyogrio/list_field_values_file.parquet", Refused("GeoParquet; save it as GeoPackage or GeoJSON")),
    ("pyogrio/multisurface.gpkg", Partly { features: 1, said: &[CURVES] }),
    ("pyogrio/naturalearth_lowres.dbf", Refused(A_PART)),
    ("pyogrio/naturalearth_lowres.prj", Refused(A_PART)),
    ("pyogrio/naturalearth_lowres.shp", Partly { features: 177, said: &["(\"Antarctica\"): (-48.66061601418252, -78.04701873159873) lies in or near Antarctica"] }),
    ("pyogrio/naturalearth_lowres.shx", Refused(A_PART)),
    ("pyogrio/sample.osm.pbf", Refused("raw OpenStreetMap data; export it as GeoJSON")),
    ("pyogrio/test_gpkg_nulls.gpkg", read(4)),
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures")
}

/// The file with everything in it to be kept off, as common ground, which may lie anywhere; and a lawn
/// of somebody's.
fn map_of(path: &Path) -> Result<PropertyMap, turfplat::ReadError> {
    let kinds = "name = \"name\"\nwidth_m = 1\nradius_m = 1\n[kind.\"*\"]\n\"*\" = \"keepout\"\n";
    let columns = Columns::read("kinds.toml", kinds).unwrap();
    let crs = CoordinateSystem::AsTheFileSays;
    let lawn = r#"{"type":"Feature","properties":{"kind":"turf","property":"A"},"geometry":{"type":"Polygon","coordinates":[[[9,9],[9.001,9],[9.001,9.001],[9,9]]]}}"#;
    let lawn = MapSource::geojson("lawn.geojson", lawn.as_bytes().to_vec(), crs.clone());
    let mut sources = open_map(path, &crs, &columns)?;
    sources.push(lawn);
    read_map(&sources)
}

/// Corners, each once, and the area within; in degrees. Who draws nothing is no feature.
#[derive(Default)]
struct Drawn {
    features: usize,
    corners: BTreeSet<[i64; 2]>,
    area: f64,
}

impl Drawn {
    /// Both print fewer digits than they hold.
    fn corner(&mut self, x: f64, y: f64) {
        self.corners.insert([x, y].map(|degrees| (degrees * 1e9).round() as i64));
    }

    /// The corners of GeoJSON's coordinates, however deep they lie.
    fn corners_of(&mut self, geometry: &Value) {
        for part in geometry["geometries"].as_array().into_iter().flatten() {
            self.corners_of(part);
        }
        let mut open = vec![&geometry["coordinates"]];
        while let Some(values) = open.pop().and_then(Value::as_array) {
            match (values.first().and_then(Value::as_f64), values.get(1).and_then(Value::as_f64)) {
                (Some(x), Some(y)) => self.corner(x, y),
                _ => open.extend(values),
            }
        }
    }

    fn by_gdal(path: &Path, layers: &[&str]) -> Drawn {
        let mut drawn = Drawn::default();
        for layer in layers.iter().map(Some).chain(layers.is_empty().then_some(None)) {
            let how = ["-f", "GeoJSON", "/vsistdout/", path.to_str().unwrap()];
            let digits = ["-lco", "COORDINATE_PRECISION=15"];
            let layer = layer.map_or(&[][..], std::slice::from_ref);
            let text = gdal("ogr2ogr", &[&how[..], layer, &digits].concat());
            let read: Value = serde_json::from_slice(&text).unwrap();
            for feature in read["features"].as_array().unwrap() {
                let mut one = Drawn::default();
                one.corners_of(&feature["geometry"]);
                drawn.features += usize::from(!one.corners.is_empty());
                drawn.corners.append(&mut one.corners);
                drawn.area += flat_area(&feature["geometry"]);
            }
        }
        drawn
    }

    fn by_us(map: &PropertyMap) -> Drawn {
        let mut drawn = Drawn::default();
        for property in map.everybody() {
            let group = map.read_property(property).unwrap();
            let found = group.features.iter().filter(|it| it.at.file() != "lawn.geojson");
            for feature in found.filter(|it| !it.outline.is_empty()) {
                drawn.features += 1;
                feature.outline.coordinates().for_each(|place| drawn.corner(place.x, place.y));
                for polygon in &feature.outline.polygons {
                    let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
                    let ring = |ring: &geo::LineString| -> Value {
                        ring.coords().map(|place| json!([place.x, place.y])).collect()
                    };
                    let rings: Value = rings.map(ring).collect();
                    drawn.area += flat_area(&json!({ "type": "Polygon", "coordinates": rings }));
                }
            }
        }
        drawn
    }
}

#[test]
fn what_others_test_with_is_read_as_gdal_reads_it_or_refused() {
    for (file, comes) in &FILES {
        let path = folder().join(file);
        let read = map_of(&path);
        let said = match &read {
            Ok(map) => map.problems().iter().map(|problem| problem.error.to_string()).collect(),
            Err(error) => vec![error.to_string()],
        };
        for said in &said {
            assert!(said.starts_with(path.to_str().unwrap()), "{file}: {said}");
        }
        match (comes, &read) {
            (Read { features, layers, is_by_area }, Ok(map)) => {
                assert_eq!(said, [""; 0], "{file}");
                let (ours, theirs) = (Drawn::by_us(map), Drawn::by_gdal(&path, layers));
                assert_eq!((ours.features, theirs.features), (*features, *features), "{file}");
                assert_eq!(ours.corners, theirs.corners, "{file}");
                let off = (ours.area - theirs.area).abs();
                assert!(!is_by_area || off <= 1e-9 * theirs.area, "{file}: {off}");
            }
            // The lawn is one of them.
            (Partly { features, said: wanted }, Ok(map)) => {
                assert_eq!(map.feature_count(), *features, "{file}: {said:?}");
                assert_eq!(said.len(), wanted.len(), "{file}: {said:?}");
                for (said, wanted) in said.iter().zip(*wanted) {
                    assert!(said.contains(wanted), "{file}: {said}");
                }
            }
            (Refused(wanted), Err(_)) => assert!(said[0].contains(wanted), "{file}: {}", said[0]),
            (_, _) => panic!("{file}: {said:?}"),
        }
    }
}

/// Of the countries of the world all but one are used, each as GDAL draws it.
#[test]
fn a_shapefile_of_the_world_has_the_corners_that_gdal_finds() {
    let path = folder().join("pyogrio/naturalearth_lowres.shp");
    let ours = Drawn::by_us(&map_of(&path).unwrap());
    let folder = tempfile::tempdir().unwrap();
    let rest = folder.path().join("rest.gpkg");
    let ends = [rest.to_str().unwrap(), path.to_str().unwrap()];
    gdal("ogr2ogr", &[&ends[..], &["-nlt", "GEOMETRY", "-where", "name <> 'Antarctica'"]].concat());
    let theirs = Drawn::by_gdal(&rest, &[]);
    assert_eq!((ours.features, theirs.features), (176, 176));
    assert_eq!(ours.corners, theirs.corners);
    assert!((ours.area - theirs.area).abs() <= 1e-9 * theirs.area);
}

/// A file that is put beside them is not forgotten.
#[test]
fn every_file_has_its_row() {
    let mut found = BTreeSet::new();
    for library in std::fs::read_dir(folder()).unwrap().map(Result::unwrap) {
        if !library.file_type().unwrap().is_dir() {
            continue;
        }
        for file in std::fs::read_dir(library.path()).unwrap() {
            let path = file.unwrap().path();
            found.insert(path.strip_prefix(folder()).unwrap().to_str().unwrap().to_owned());
        }
    }
    found.remove("pyogrio/naturalearth_lowres.cpg");
    let told: BTreeSet<String> = FILES.iter().map(|(file, _)| (*file).to_owned()).collect();
    assert_eq!(found, told);
}
