//! Why an hour is judged rule by rule: "do not spray today" helps nobody, "gusts 18 mph, at most 15" does.
//! Each rule gives its verdict in words with its numbers, and an hour is fit only where none that binds
//! says no and none that binds lacks what it needs.

mod beside;
mod judge;
mod limits;
mod plausible;
mod rain;
mod rank;
mod settings;
#[cfg(test)]
mod tests;
mod verdict;

pub use judge::judge;
pub use limits::{Asked, By, DryLeaf, Limit, Limits, OwnLimits, ProductLimits};
pub use plausible::Implausible;
pub use rank::{HourWindow, windows};
pub use settings::{Setting, Settings, SettingsError, Weight};
pub use verdict::{Judged, JudgedHour, Rule, Verdict};
