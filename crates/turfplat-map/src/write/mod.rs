//! Finished shapes back into map formats.

mod geojson;
mod geopackage;
mod kml;
mod shapefile;

use geo_types::Geometry;
use serde_json::Value;

pub use geojson::{Shape, feature_collection, feature_text, geojson_layers, geojson_rows};
pub use geopackage::geopackage;
pub use kml::kml;
pub use shapefile::{ShapefileParts, shapefile};

/// Finished shapes of one sort, to be written as one layer, in degrees of WGS 84.
#[derive(Clone, Debug)]
pub struct Table {
    /// The name of the layer.
    pub name: &'static str,
    /// What all its shapes are.
    pub form: Form,
    /// What is written beside each shape.
    pub columns: Vec<Column>,
    /// The shapes.
    pub rows: Vec<Row>,
}

/// What the shapes of a layer are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Polygons with holes, several parts to one row.
    Polygons,
    /// One point to a row.
    Points,
}

/// A column of a layer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// At most ten ASCII letters, digits and underscores: dBASE holds no more.
    pub name: &'static str,
    /// What it holds.
    pub holds: Holds,
}

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    /// Text.
    Text,
    /// A number of full precision.
    Number,
}

/// One shape, and a value or null for each column.
#[derive(Clone, Debug)]
pub struct Row {
    /// The shape: a `MultiPolygon` or a `Point`.
    pub shape: Geometry<f64>,
    /// As many as there are columns.
    pub values: Vec<Value>,
}

/// Why finished shapes cannot be written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum WriteError {
    /// What the system says.
    #[error("cannot write it: {0}")]
    Io(#[from] std::io::Error),

    /// A shape that the format cannot hold; rows count from 1.
    #[error("{table} row {row}: cannot be written: {reason}")]
    Shape { table: &'static str, row: usize, reason: &'static str },

    /// The database that a GeoPackage is.
    #[error("cannot write it: {0}; is there room, and is it no file of another program?")]
    Sqlite(#[from] rusqlite::Error),

    /// A shapefile counts its bytes in 31 bits of words, a row's in 16 bits.
    #[error("more than a shapefile has room for; write a GeoPackage or GeoJSON instead")]
    TooLarge,
}
