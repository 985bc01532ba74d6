//! Runs worked cases that are written as data; `README.md` beside this package says how.

mod case;
mod expect;

pub use case::{Case, cases};
