#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

mod laws;
mod lengths;
mod places;
mod published;
mod refusals;
mod rows;

use std::f64::consts::PI;
use std::time::Instant;

use proptest::prelude::*;
use serde_json::Value;

use super::fields::of;
use super::{layer, layer_of_csv};
use crate::crs::CoordinateSystem;
use crate::error::ReadError;
use crate::formats::told::Layer;
use crate::property_map::PropertyMap;
use crate::survey::{Source, read};

const SQUARE_FOOT: f64 = 0.092_903_04;

/// The features that a layer tells.
fn features(layer: &Layer) -> Vec<Value> {
    let mut bytes = Vec::new();
    layer.bytes.read(0, layer.bytes.length(), &mut bytes).unwrap();
    let told: Value = serde_json::from_slice(&bytes).unwrap();
    told["features"].as_array().unwrap().clone()
}

fn sheet(text: &str) -> Layer {
    layer("lawn.toml", text).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

fn map_of(layer: Layer) -> PropertyMap {
    read(&[Source::told(layer, CoordinateSystem::PLANE_METRES)]).unwrap()
}

/// What is wrong with a sheet, as the map says it.
fn problems(text: &str) -> Vec<String> {
    map_of(sheet(text)).problems().iter().map(|problem| problem.error.to_string()).collect()
}

fn only_problem(text: &str) -> String {
    let problems = problems(text);
    assert_eq!(problems.len(), 1, "{problems:#?}\n{text}");
    problems.into_iter().next().unwrap()
}

fn pairs(ring: &Value) -> Vec<(f64, f64)> {
    let pair = |pair: &Value| (pair[0].as_f64().unwrap(), pair[1].as_f64().unwrap());
    ring.as_array().unwrap().iter().map(pair).collect()
}

/// Square metres of a told feature, summed here anew and from its own corner.
fn area(feature: &Value) -> f64 {
    let shoelace = |ring: &Value| {
        let ring = pairs(ring);
        let (x, y) = ring[0];
        let cross = |pair: &[(f64, f64)]| {
            (pair[0].0 - x) * (pair[1].1 - y) - (pair[1].0 - x) * (pair[0].1 - y)
        };
        ring.windows(2).map(cross).sum::<f64>().abs() / 2.0
    };
    let (geometry, properties) = (&feature["geometry"], &feature["properties"]);
    let coordinates = &geometry["coordinates"];
    match geometry["type"].as_str() {
        Some("Polygon") => shoelace(&coordinates[0]),
        Some("MultiPolygon") => {
            coordinates.as_array().unwrap().iter().map(|polygon| shoelace(&polygon[0])).sum()
        }
        Some("Point") => PI * properties["radius_m"].as_f64().unwrap_or(0.0).powi(2),
        Some("LineString") => {
            let path = pairs(coordinates);
            let length = |pair: &[(f64, f64)]| (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1);
            path.windows(2).map(length).sum::<f64>() * properties["width_m"].as_f64().unwrap()
        }
        other => panic!("{other:?} {feature}"),
    }
}

fn area_of(figure: &str) -> f64 {
    area(&features(&sheet(&format!("unit = \"ft\"\n[[shape]]\nkind = \"turf\"\n{figure}")))[0])
}

fn square_feet(figure: &str) -> f64 {
    area_of(figure) / SQUARE_FOOT
}

/// Nothing but rounding is left: figures are exact, curves are drawn to hold their area.
fn assert_close(ours: f64, published: f64, what: &str) {
    assert!((ours - published).abs() <= 1e-9 * published, "{what}: {ours} ≠ {published}");
}
