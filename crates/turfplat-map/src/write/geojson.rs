use geo_types::MultiPolygon;
use geojson::{Feature, FeatureCollection, GeometryValue};
use serde_json::{Map, Value};

/// A finished shape to be written, in degrees of WGS 84 or in metres of the caller's plane.
pub struct Shape {
    /// Its polygons.
    pub polygons: MultiPolygon<f64>,
    /// What to write beside it.
    pub properties: Map<String, Value>,
}

/// Shapes as the text of a GeoJSON FeatureCollection (RFC 7946).
pub fn feature_collection(shapes: Vec<Shape>) -> String {
    let features: Vec<String> = shapes.into_iter().map(feature_text).collect();
    let text =
        format!("{{\"type\":\"FeatureCollection\",\"features\":[\n{}\n]}}\n", features.join(",\n"));
    debug_assert!(text.parse::<FeatureCollection>().is_ok());
    text
}

/// A shape as the text of one GeoJSON feature: rings wound as the RFC asks, coordinates rounded
/// to 1e-11 degrees (a micrometre), finer than any tolerance here.
pub fn feature_text(shape: Shape) -> String {
    let coordinates = shape.polygons.0.iter().map(|polygon| {
        let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
        rings
            .map(|ring| {
                ring.0
                    .iter()
                    .map(|c| geojson::Position::from([rounded(c.x), rounded(c.y)]))
                    .collect()
            })
            .collect()
    });
    let feature = Feature {
        geometry: Some(geojson::Geometry::new(GeometryValue::MultiPolygon {
            coordinates: coordinates.collect(),
        })),
        properties: Some(shape.properties),
        ..Feature::default()
    };
    feature.to_string()
}

fn rounded(degrees: f64) -> f64 {
    (degrees * 1e11).round() / 1e11
}
