//! How warmth is counted, and up to when. A growth regulator wears off with warmth, not with days; a
//! published sum of degree-days says when, for the grass and the cut that it was found on and for no
//! other. Home lawns have none.

mod count;
mod days;
mod model;
mod sources;

pub use count::{DayCount, HeatCount, Reached, count_heat};
pub use days::DegreeDays;
pub use model::{HeatModel, ModelError, heat_models, read_heat_models};
pub use sources::{DailySources, Origin};

#[cfg(test)]
mod laws;
#[cfg(test)]
mod tests;
