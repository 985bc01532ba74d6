//! Why reading and settling are one room.
//!
//! A map drawn by hand leaves much open: a ring not closed, a well without a name, a width
//! in feet here and in metres there. If later rooms had to ask again what a feature means,
//! each would guess in its own way. So a [`PropertyMap`] holds settled features only, every
//! problem is collected with its place in the file, and no other crate knows a file format.

mod attribute_names;
mod attributes;
mod bytes;
#[cfg(feature = "proj")]
mod codes;
mod columns;
mod crs;
mod error;
mod feature;
mod feature_text;
mod formats;
mod ids;
mod kind;
mod odd;
mod outline;
mod property_map;
mod reading;
mod runs;
mod said;
mod scan;
mod settle;
mod shelf;
mod slips;
mod splitter;
mod survey;
mod swapped;
mod system;
mod tape;
mod to_system;
mod walk;
mod write;

pub use bytes::Bytes;
pub use columns::{Columns, ColumnsError, Values};
pub use crs::CoordinateSystem;
pub use error::{
    FarCorner, FilesApart, MapError, Note, Odd, Problem, ReadError, Scope, Turned, Unused,
};
pub use feature::{Condition, Feature, FeatureRef, Outline};
pub use formats::geojson::values_of;
pub use formats::{of_stream, open};
pub use kind::Kind;
pub use property_map::{
    Around, Corners, Counting, Group, PropertyMap, PropertyRef, RoundBox, RunRef,
};
pub use survey::{Source, read, read_watched};
pub use to_system::{ToSystem, UnknownSystem};
pub use write::{
    Column, Form, Holds, Row, Shape, ShapefileParts, Table, WriteError, feature_collection,
    feature_text, geojson_layers, geojson_rows, geopackage, kml, shapefile,
};
