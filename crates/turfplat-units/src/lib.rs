//! Why a quantity is a type here.
//!
//! A map comes in metres, a label in fluid ounces, a setback in feet and a tank in
//! gallons. A bare number invites the slip that every spray record fears: an ounce of
//! weight taken for an ounce of volume, a survey foot for a foot. So each quantity is
//! a type of its own, stored in one unit, and its constants are exact and carry their
//! source. A general units library was measured and set aside: its acre is off by
//! 4 parts in a million, and to it a rate of liquid is a length.
//!
//! Nonsense does not compile:
//!
//! ```compile_fail
//! use turfplat_units::{Area, Length};
//! let nonsense = Area::from_acres(1.0).unwrap() + Length::from_feet(1.0).unwrap();
//! ```

mod amount;
mod area;
mod flow;
mod length;
mod number;
mod pressure;
mod rate;
mod speed;
mod time;
mod words;

pub use amount::{Amount, AmountUnit, Mass, Volume, WrittenAmount};
pub use area::{Area, AreaUnit};
pub use flow::Flow;
pub use length::Length;
pub use number::{UnitError, at_most, decimal, significant};
pub use pressure::Pressure;
pub use rate::{Of, Rate, RateUnit, WrittenRate};
pub use speed::Speed;
pub use time::Time;
pub use words::{is_near, letters_apart, nearest};

/// In which units answers are printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum UnitSystem {
    /// US customary: feet, square feet, fluid ounces, pounds, gallons.
    #[default]
    Us,
    /// Metric: metres, square metres, millilitres, kilograms, litres.
    Metric,
}
