use geo_types::{Geometry, MultiPolygon};
use geojson::{Feature, FeatureCollection, GeometryValue};
use serde_json::{Map, Value};

use crate::write::Table;

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

/// Layers as the text of one FeatureCollection; the member `layer` of each feature's properties says
/// which it is of.
pub fn geojson_layers(tables: &[Table]) -> String {
    let features = tables.iter().filter(|table| !table.rows.is_empty()).map(geojson_rows);
    let features: Vec<String> = features.collect();
    format!("{{\"type\":\"FeatureCollection\",\"features\":[\n{}\n]}}\n", features.join(",\n"))
}

/// The rows of a layer as the text of features of such a collection, with commas between them: what of
/// a county is written layer by layer need not be held.
pub fn geojson_rows(table: &Table) -> String {
    let features = table.rows.iter().map(|row| {
        let named = table.columns.iter().zip(&row.values);
        let mut properties = Map::new();
        properties.insert("layer".to_owned(), table.name.into());
        properties.extend(named.map(|(column, value)| (column.name.to_owned(), value.clone())));
        let geometry = match &row.shape {
            Geometry::MultiPolygon(polygons) => geometry_of(polygons),
            other => geojson::Geometry::from(other),
        };
        text_of(geometry, properties)
    });
    features.collect::<Vec<_>>().join(",\n")
}

/// A shape as the text of one GeoJSON feature: rings wound as the RFC asks, coordinates rounded
/// to 1e-11 degrees (a micrometre), finer than any tolerance here.
pub fn feature_text(shape: Shape) -> String {
    text_of(geometry_of(&shape.polygons), shape.properties)
}

fn geometry_of(polygons: &MultiPolygon<f64>) -> geojson::Geometry {
    let coordinates = polygons.0.iter().map(|polygon| {
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
    geojson::Geometry::new(GeometryValue::MultiPolygon { coordinates: coordinates.collect() })
}

fn text_of(geometry: geojson::Geometry, properties: Map<String, Value>) -> String {
    let (geometry, properties) = (Some(geometry), Some(properties));
    Feature { geometry, properties, ..Feature::default() }.to_string()
}

fn rounded(degrees: f64) -> f64 {
    (degrees * 1e11).round() / 1e11
}
