//! What outside engines say of the real maps in `maps/`, and the commands of GDAL.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use turfplat::units::Length;
use turfplat::{Kind, MeasureOptions, Measured, PlatZone, PropertyMap, measure};

/// The folder of the real maps.
pub fn maps() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("maps")
}

/// Measured with the setbacks for which the expected areas were computed.
pub fn measured(map: &PropertyMap) -> Measured {
    let setback = |kind, feet| Some((kind, Length::from_feet(feet)?));
    let setbacks = [setback(Kind::Water, 25.0), setback(Kind::Well, 50.0)];
    let setbacks = setbacks.into_iter().flatten().collect();
    measure(map, &MeasureOptions { setbacks, ..MeasureOptions::default() })
}

/// A zone by GEOS, in m²; see `maps/LICENCES.md`.
#[derive(Debug)]
pub struct Expected {
    /// The zone's name.
    pub name: String,
    /// As drawn.
    pub gross: f64,
    /// Less all that is taken out of it.
    pub net: f64,
}

impl Expected {
    /// All zones of a map, as `maps/NAME.expected.json` has them.
    ///
    /// # Panics
    ///
    /// If there is no such file, or it is of another form.
    pub fn of(name: &str) -> Vec<Expected> {
        let path = maps().join(format!("{name}.expected.json"));
        let text = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path:?}: {error}"));
        let read: Value = serde_json::from_str(&text).unwrap_or_else(|error| panic!("{error}"));
        let zones = read["zones"].as_array().into_iter().flatten().map(|zone| {
            let figure =
                |name: &str| zone[name].as_f64().unwrap_or_else(|| panic!("{path:?}: {name}"));
            let name = zone["name"].as_str().unwrap_or_else(|| panic!("{path:?}: name")).to_owned();
            Expected { name, gross: figure("gross_m2"), net: figure("net_m2") }
        });
        zones.collect()
    }

    /// How far a figure may be off in m²: 1e-5 of gross for GEOS's 256 segments a quarter circle,
    /// and 0.02 m² for the smallest zones.
    pub fn tolerance(&self) -> f64 {
        1e-5 * self.gross + 0.02
    }

    /// Holds a zone to what GEOS says; `what` leads the message.
    ///
    /// # Panics
    ///
    /// If it is farther off than the tolerance.
    #[track_caller]
    pub fn hold(&self, zone: &PlatZone, what: &dyn std::fmt::Debug) {
        for (ours, theirs) in [(zone.gross, self.gross), (zone.net, self.net)] {
            let off = (ours.square_metres() - theirs).abs();
            assert!(off <= self.tolerance(), "{what:?} {}: {ours:?} ≠ {theirs}", self.name);
        }
    }
}

/// Runs a command of GDAL and gives what it prints.
///
/// # Panics
///
/// If it is not there, or says that it failed.
#[track_caller]
pub fn gdal<A: AsRef<OsStr>>(command: &str, arguments: &[A]) -> Vec<u8> {
    let out = Command::new(command).args(arguments).output().unwrap_or_else(|error| {
        panic!("{command}, of the package that scripts/prepare --tests brings: {error}")
    });
    let said = String::from_utf8_lossy(&out.stderr);
    let asked: Vec<_> = arguments.iter().map(AsRef::as_ref).collect();
    assert!(out.status.success(), "{command} {asked:?}: {said}");
    out.stdout
}

/// The area of a GeoJSON geometry in square units of its coordinates, by the shoelace from its first
/// corner; 0 of what is no polygon.
pub fn flat_area(geometry: &Value) -> f64 {
    let ring = |ring: &Value| -> f64 {
        let at = |place: &Value, axis: usize| place[axis].as_f64().unwrap_or(f64::NAN);
        let places = ring.as_array().map_or(&[][..], Vec::as_slice);
        let Some(first) = places.first() else { return 0.0 };
        let [x, y] = [0, 1].map(|axis| at(first, axis));
        let side = |side: &[Value]| {
            let (a, b) = (&side[0], &side[1]);
            (at(a, 0) - x) * (at(b, 1) - y) - (at(b, 0) - x) * (at(a, 1) - y)
        };
        places.windows(2).map(side).sum::<f64>().abs() / 2.0
    };
    let polygon = |rings: &Value| -> f64 {
        let rings: Vec<f64> = rings.as_array().into_iter().flatten().map(ring).collect();
        rings.first().map_or(0.0, |outer| outer - rings[1..].iter().sum::<f64>())
    };
    let coordinates = &geometry["coordinates"];
    match geometry["type"].as_str() {
        Some("Polygon") => polygon(coordinates),
        Some("MultiPolygon") => coordinates.as_array().into_iter().flatten().map(polygon).sum(),
        _ => 0.0,
    }
}
