//! Runs worked cases that are written as data; `README.md` beside this package says how. And what
//! outside engines say of real maps.

mod case;
mod expect;
mod outside;

pub use case::{Case, cases};
pub use outside::{Expected, flat_area, gdal, maps, measured};
