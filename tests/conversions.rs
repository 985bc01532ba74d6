//! Every map of `maps/`, written by GDAL in every format and system while the test runs: each gives
//! the areas that GEOS found for the map, and those of the file it was written from.
//!
//! Held to GEOS as everywhere ([`Expected::tolerance`]), and to the map itself more tightly: what is
//! lost on the way is a corner's place, by the last decimal that is written and by PROJ's way there
//! and back. Edges that move by so much take so much of their length, so an area is off by no more
//! than √2 times that times the outline ([`Format::off`]). No datum shifts: PROJ takes NAD 83 and ETRS 89
//! for WGS 84 (EPSG transformations 1188 and 1149), there as back.

#![cfg(feature = "proj")]
#![allow(clippy::unwrap_used)] // A test may.

use std::f64::consts::SQRT_2;
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use turfplat::{Columns, CoordinateSystem, Measured, PlatZone, ReadError, open_map, read_map};
use turfplat_tests::{Expected, gdal, maps, measured};

/// A map as it stands in `maps/`.
struct Map {
    /// Of the figures.
    name: &'static str,
    /// Each layer that is written apart: its name, the file that it comes from, and which of that
    /// file's features are of it.
    layers: &'static [(&'static str, &'static str, &'static str)],
    /// Where it lies.
    systems: [&'static str; 6],
}

const AREAS: &str = "OGR_GEOMETRY='POLYGON'";
const LINES: &str = "OGR_GEOMETRY='LINESTRING'";
const POINTS: &str = "OGR_GEOMETRY='POINT'";

/// Degrees of WGS 84 and of ETRS 89, UTM zones of both, meters of web maps, and LAEA Europe, which
/// names north first.
const BERLIN: [&str; 6] =
    ["EPSG:4326", "EPSG:4258", "EPSG:32633", "EPSG:25833", "EPSG:3857", "EPSG:3035"];
/// Degrees of WGS 84 and of NAD 83, UTM 16N, meters of web maps, and Wisconsin South in US survey
/// feet and in meters.
const WISCONSIN: [&str; 6] =
    ["EPSG:4326", "EPSG:4269", "EPSG:32616", "EPSG:3857", "EPSG:2289", "EPSG:32154"];

/// What GDAL writes, and what is lost with it.
struct Format {
    driver: &'static str,
    options: &'static [&'static str],
    /// The file; with `*`, a file for each layer.
    to: &'static str,
    systems: Systems,
    /// By how much a coordinate may come back elsewhere, in m.
    off: f64,
    /// What the format has no room for, so that it is given beside the file or not at all.
    cannot: &'static str,
}

#[derive(PartialEq)]
enum Systems {
    /// The file says in which it is.
    Any,
    /// In any, but the user must say in which.
    Untold,
    /// Degrees on WGS 84 alone.
    Degrees,
}

/// Fifteen digits of meters or degrees, or all bits, and PROJ's way there and back.
const ALL_DIGITS: f64 = 1e-6;
/// Half of the ninth decimal of a degree.
const NINE_DECIMALS: f64 = 0.5e-9 * 111_320.0;
/// Half of the seventh, which GDAL writes by RFC 7946 unless told otherwise.
const SEVEN_DECIMALS: f64 = 0.5e-7 * 111_320.0;
const TWELVE: &str = "COORDINATE_PRECISION=12";

#[rustfmt::skip]
const FORMATS: [Format; 13] = [
    Format { driver: "GeoJSON", options: &["-lco", "RFC7946=YES", "-lco", TWELVE], to: "rfc7946.geojson", systems: Systems::Degrees, off: ALL_DIGITS,
        cannot: "any system but degrees on WGS 84" },
    Format { driver: "GeoJSON", options: &["-lco", "RFC7946=YES"], to: "short.geojson", systems: Systems::Degrees, off: SEVEN_DECIMALS,
        cannot: "places nearer than a centimeter, as it is commonly written" },
    Format { driver: "GeoJSON", options: &[], to: "crs.geojson", systems: Systems::Any, off: ALL_DIGITS,
        cannot: "a system without a code" },
    Format { driver: "GeoJSONSeq", options: &["-lco", TWELVE], to: "lines.geojsonl", systems: Systems::Degrees, off: ALL_DIGITS,
        cannot: "any system but degrees on WGS 84" },
    Format { driver: "GeoJSONSeq", options: &["-lco", "RS=YES", "-lco", TWELVE], to: "sequence.geojsons", systems: Systems::Degrees, off: ALL_DIGITS,
        cannot: "any system but degrees on WGS 84" },
    Format { driver: "ESRI Shapefile", options: &[], to: "parts/*.shp", systems: Systems::Any, off: ALL_DIGITS,
        cannot: "areas, lines and points in one file; names of columns beyond 10 letters, texts beyond 254" },
    Format { driver: "ESRI Shapefile", options: &[], to: "parts.shp.zip", systems: Systems::Any, off: ALL_DIGITS,
        cannot: "as shapefiles, but as many of them as there are in one file" },
    Format { driver: "KML", options: &[], to: "plain.kml", systems: Systems::Degrees, off: ALL_DIGITS,
        cannot: "any system but degrees on WGS 84" },
    Format { driver: "LIBKML", options: &[], to: "folders.kml", systems: Systems::Degrees, off: ALL_DIGITS,
        cannot: "any system but degrees on WGS 84" },
    Format { driver: "LIBKML", options: &[], to: "linked.kmz", systems: Systems::Degrees, off: ALL_DIGITS,
        cannot: "any system but degrees on WGS 84" },
    Format { driver: "GPKG", options: &["-nln", "one", "-nlt", "GEOMETRY"], to: "one.gpkg", systems: Systems::Any, off: ALL_DIGITS,
        cannot: "nothing of a map" },
    Format { driver: "GPKG", options: &[], to: "layers.gpkg", systems: Systems::Any, off: ALL_DIGITS,
        cannot: "nothing of a map" },
    Format { driver: "CSV", options: &["-lco", "GEOMETRY=AS_WKT"], to: "table.csv", systems: Systems::Untold, off: ALL_DIGITS,
        cannot: "its system: --crs says it" },
];

/// All features of a map in one layer.
const TOGETHER: &str = "together";

impl Format {
    /// True where each form of geometry stands in a layer of its own.
    fn is_apart(&self) -> bool {
        matches!(
            self.to,
            "parts/*.shp" | "parts.shp.zip" | "folders.kml" | "linked.kmz" | "layers.gpkg"
        )
    }
}

impl Map {
    fn layer_names(&self) -> Vec<&'static str> {
        self.layers.iter().map(|(layer, ..)| *layer).collect()
    }

    /// The map's own files, each once.
    fn files(&self) -> Vec<PathBuf> {
        let mut files: Vec<PathBuf> =
            self.layers.iter().map(|(_, file, _)| maps().join(file)).collect();
        files.dedup();
        files
    }

    /// Writes a GeoPackage from which all else is written: a layer for each form of geometry, and
    /// all of it [`TOGETHER`]. It keeps every bit of a coordinate.
    fn gathered(&self, folder: &Path) -> PathBuf {
        let to = folder.join("gathered.gpkg");
        for (layer, file, which) in self.layers {
            let from = maps().join(file);
            let from = match from.extension().is_some_and(|ending| ending == "zip") {
                true => format!("/vsizip/{}", from.display()),
                false => from.display().to_string(),
            };
            let form = match *layer {
                "areas" => "POLYGON",
                "lines" => "LINESTRING",
                _ => "POINT",
            };
            for (layer, form) in [(*layer, form), (TOGETHER, "GEOMETRY")] {
                let update = ["-update", "-append"];
                let update = if to.exists() { &update[..] } else { &["-f", "GPKG"] };
                let named = [to.to_str().unwrap(), &from, "-nln", layer, "-nlt", form];
                gdal("ogr2ogr", &[update, &named, &["-where", which]].concat());
            }
        }
        to
    }

    /// Writes it as `format` and gives the files.
    fn written(&self, from: &Path, format: &Format, system: &str, folder: &Path) -> Vec<PathBuf> {
        let (place, is_folder) = match format.to.split_once("/*") {
            Some((folder, _)) => (folder, true),
            None => (format.to, false),
        };
        let to = folder.join(place);
        let ends = [to.to_str().unwrap(), from.to_str().unwrap()];
        let layers = if format.is_apart() { self.layer_names() } else { vec![TOGETHER] };
        let system = ["-t_srs", system];
        let how = [&["-f", format.driver], &system[..], format.options].concat();
        gdal("ogr2ogr", &[&how[..], &ends, &layers].concat());
        match is_folder {
            true => layers.iter().map(|layer| to.join(format!("{layer}.shp"))).collect(),
            false => vec![to],
        }
    }
}

fn measured_as(files: &[PathBuf], crs: &CoordinateSystem) -> Measured {
    let open = |file: &PathBuf| {
        open_map(file, crs, &Columns::default()).unwrap_or_else(|error| panic!("{error}"))
    };
    let sources: Vec<_> = files.iter().flat_map(open).collect();
    let measured = measured(&read_map(&sources).unwrap_or_else(|error| panic!("{error}")));
    assert_eq!(measured.refusals, [], "{files:?}");
    measured
}

fn zones(measured: &Measured) -> Vec<&PlatZone> {
    measured.plats.iter().flat_map(|plat| &plat.zones).collect()
}

/// Holds zones to those of the map's own files and to GEOS, where corners are `off` by so many m.
fn hold(map: &Map, what: &str, off: f64, own: &Measured, found: &Measured) {
    let (own, found) = (zones(own), zones(found));
    let expected = Expected::of(map.name);
    assert_eq!((own.len(), found.len()), (expected.len(), expected.len()), "{what}");
    for expected in expected {
        let of = |zones: &[&PlatZone]| {
            let zone = zones.iter().find(|zone| zone.name == expected.name);
            let zone = zone.unwrap_or_else(|| panic!("{what}: no {}", expected.name));
            [zone.gross, zone.net].map(|area| area.square_metres())
        };
        let edge = own.iter().find(|zone| zone.name == expected.name).unwrap().perimeter.metres();
        // Of no zone of these maps is the outline longer than ten times the root of its area.
        let edges = [10.0 * expected.gross.sqrt(), edge];
        let theirs = [expected.gross, expected.net];
        for (((found, own), theirs), edge) in
            of(&found).into_iter().zip(of(&own)).zip(theirs).zip(edges)
        {
            let moved = SQRT_2 * off * edge + 1e-9 * expected.gross;
            let name = &expected.name;
            assert!((found - own).abs() <= moved, "{what} {name}: {found} ≠ {own} by {moved}");
            let tolerance = expected.tolerance() + moved;
            assert!((found - theirs).abs() <= tolerance, "{what} {name}: {found} ≠ {theirs}, GEOS");
        }
    }
}

/// Holds a map in every format and system to itself and to GEOS.
fn every_format_and_system(map: &Map) {
    let folder = tempfile::tempdir().unwrap();
    let gathered = map.gathered(folder.path());
    let own = measured_as(&map.files(), &CoordinateSystem::AsTheFileSays);
    let ways = FORMATS.iter().flat_map(|format| {
        let systems = map.systems.iter();
        systems
            .filter(|system| format.systems != Systems::Degrees || **system == "EPSG:4326")
            .map(move |system| (format, *system))
    });
    let ways: Vec<(&Format, &str)> = ways.collect();
    assert_eq!(ways.len(), 7 + 6 * 6);
    ways.into_par_iter().for_each(|(format, system)| {
        let what = format!(
            "{} as {} in {system} (it carries not: {})",
            map.name, format.to, format.cannot
        );
        let folder = tempfile::tempdir().unwrap();
        let files = map.written(&gathered, format, system, folder.path());
        let crs = match format.systems {
            Systems::Untold => CoordinateSystem::Code(system.to_owned()),
            _ => CoordinateSystem::AsTheFileSays,
        };
        hold(map, &what, format.off, &own, &measured_as(&files, &crs));
        if format.systems == Systems::Untold
            && !["EPSG:4326", "EPSG:4258", "EPSG:4269"].contains(&system)
        {
            let says = CoordinateSystem::AsTheFileSays;
            let unsaid =
                open_map(&files[0], &says, &Columns::default()).and_then(|it| read_map(&it));
            assert!(matches!(unsaid, Err(ReadError::NoCrs { .. })), "{what}");
        }
    });
    as_walked_round(map, &gathered, &own, folder.path());
}

/// GPX has no areas, so none with a hole: those stand in a file of their own. The others are tracks that
/// come back to where they started.
fn as_walked_round(map: &Map, gathered: &Path, own: &Measured, folder: &Path) {
    const IS_WHOLE: &str = "ST_NumInteriorRing(geom) = 0";
    let gpx = ["-f", "GPX", "-dsco", "GPX_USE_EXTENSIONS=YES"];
    let (from, degrees) = (gathered.to_str().unwrap(), ["-t_srs", "EPSG:4326"]);
    let (mut files, mut holes) = (Vec::new(), 0);
    for layer in map.layer_names() {
        let to = folder.join(format!("{layer}.gpx"));
        let ends = [to.to_str().unwrap(), from];
        let rings = format!(
            "SELECT ST_ExteriorRing(geom) AS geom, kind, name FROM {layer} WHERE {IS_WHOLE}"
        );
        let tracks = ["-dialect", "SQLite", "-sql", &rings, "-nlt", "LINESTRING"];
        match layer {
            "areas" => {
                let force = ["-lco", "FORCE_GPX_TRACK=YES"];
                gdal("ogr2ogr", &[&gpx[..], &degrees, &ends, &tracks, &force].concat());
            }
            _ => drop(gdal("ogr2ogr", &[&gpx[..], &degrees, &ends, &[layer]].concat())),
        }
        files.push(to);
        if layer == "areas" {
            let to = folder.join("holes.geojson");
            let rest = format!("SELECT geom, kind, name FROM {layer} WHERE NOT {IS_WHOLE}");
            let ends = [to.to_str().unwrap(), from];
            let how = ["-f", "GeoJSON", "-dialect", "SQLite", "-sql", &rest];
            gdal("ogr2ogr", &[&how[..], &degrees, &ends].concat());
            holes = std::fs::read_to_string(&to).unwrap().matches("\"Feature\"").count();
            files.push(to);
        }
    }
    assert!((1..5).contains(&holes), "{holes}");
    let found = measured_as(&files, &CoordinateSystem::AsTheFileSays);
    hold(map, &format!("{} as GPX", map.name), NINE_DECIMALS, own, &found);
}

#[test]
fn lawns_of_berlin() {
    const FILE: &str = "prop_a_neukolln.geojson";
    every_format_and_system(&Map {
        name: "prop_a_neukolln",
        layers: &[("areas", FILE, AREAS), ("points", FILE, POINTS)],
        systems: BERLIN,
    });
}

#[test]
fn lots_of_fox_crossing() {
    const FILE: &str = "prop_c2_fox_crossing_lots.geojson";
    every_format_and_system(&Map {
        name: "prop_c2_fox_crossing_lots",
        layers: &[("areas", FILE, AREAS), ("lines", FILE, LINES), ("points", FILE, POINTS)],
        systems: WISCONSIN,
    });
}

#[test]
fn a_single_lot() {
    const FILE: &str = "prop_h_single_lot.geojson";
    every_format_and_system(&Map {
        name: "prop_h_single_lot",
        layers: &[("areas", FILE, AREAS), ("lines", FILE, LINES), ("points", FILE, POINTS)],
        systems: WISCONSIN,
    });
}

#[test]
fn lots_from_state_plane() {
    every_format_and_system(&Map {
        name: "sp_2289_fox_crossing",
        layers: &[
            ("areas", "sp_2289_fox_crossing_poly.shp", AREAS),
            ("lines", "sp_2289_fox_crossing_line.zip", LINES),
            ("points", "sp_2289_fox_crossing_point.shp", POINTS),
        ],
        systems: WISCONSIN,
    });
}

#[test]
fn a_single_lot_from_state_plane() {
    every_format_and_system(&Map {
        name: "sp_2289_single_lot",
        layers: &[
            ("areas", "sp_2289_single_lot_poly.shp", AREAS),
            ("lines", "sp_2289_single_lot_line.zip", LINES),
            ("points", "sp_2289_single_lot_point.shp", POINTS),
        ],
        systems: WISCONSIN,
    });
}
