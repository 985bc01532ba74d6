//! Why temperatures are read by day and never mended: a sum of degree-days looks as sure over a day
//! that somebody filled in as over one that was measured. So what a file lacks stays lacking, what a
//! station's own checks have marked is left out, and both are listed, value by value.

mod dly;
mod dropped;
mod error;
mod ghcn;
mod plain;
mod read;
mod series;
mod temperature;

pub use dropped::{DropReason, Dropped};
pub use error::DailyError;
pub use read::{DailyOptions, read_daily};
pub(crate) use series::days_between;
pub use series::{DailySeries, DayTemperatures};
pub use temperature::Temperature;

#[cfg(test)]
mod tests;
