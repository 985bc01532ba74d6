//! One feature as one line of GeoJSON.

use std::fmt::Write;

use crate::lot::{Feature, Lot, Shape};
use crate::ring::Ring;

/// Appends a feature to `line`; returns how many positions it has.
pub(crate) fn feature(line: &mut String, lot: &Lot, feature: &Feature, decimals: usize) -> usize {
    let mut add = |text: std::fmt::Arguments<'_>| {
        // A string takes all that is written to it.
        let _ = line.write_fmt(text);
    };
    add(format_args!(
        r#"{{"type":"Feature","properties":{{"property":"P{:06}","kind":"{}""#,
        lot.property(),
        feature.kind
    ));
    if let Some(zone) = feature.zone {
        add(format_args!(r#","name":"Zone {zone}""#));
    }
    let mut positions = 0;
    let mut position = |line: &mut String, point: [f64; 2]| {
        let [longitude, latitude] = lot.degrees(point);
        positions += 1;
        let _ = write!(line, "[{longitude:.decimals$},{latitude:.decimals$}]");
    };
    match &feature.shape {
        Shape::Point(point) => {
            line.push_str(r#"},"geometry":{"type":"Point","coordinates":"#);
            position(line, *point);
        }
        Shape::Polygon(rings) => {
            line.push_str(r#"},"geometry":{"type":"Polygon","coordinates":["#);
            for (index, ring) in rings.iter().enumerate() {
                line.push_str(if index == 0 { "[" } else { ",[" });
                for (index, point) in closed(ring).enumerate() {
                    if index > 0 {
                        line.push(',');
                    }
                    position(line, point);
                }
                line.push(']');
            }
            line.push(']');
        }
    }
    line.push_str("}}");
    positions
}

/// The corners of a ring, the first once more at the end (RFC 7946 §3.1.6).
fn closed(ring: &Ring) -> impl Iterator<Item = [f64; 2]> {
    ring.iter().chain(ring.first()).copied()
}
