//! Why calibration shows its steps.
//!
//! A label's rate is per area, but a sprayer knows only flow and speed, and a spreader only
//! the size of a hole. What links the two is measured by this person with this equipment,
//! with a bucket and a stopwatch, and one slip there falsifies every dose after it. So no
//! function here gives a bare number: each gives the formula, the numbers put in, the result
//! and where the formula stands, to be gone over by hand. The tempting shortcut is the rounded
//! constant on the card in the truck: 136 for 136.36 is a quarter of a percent on every load.

mod error;
mod pressure;
mod sprayer;
mod spreader;
mod walk;

use std::borrow::Cow;

use turfplat_units::{AmountUnit, AreaUnit, Rate, RateUnit, UnitSystem, significant};

pub use error::CalibrateError;
pub use pressure::{flow_at_pressure, pressure_for_flow};
pub use sprayer::{
    Catch, FlowOf, WidthOf, boom_flow, boom_speed, boom_volume, boom_width, catch_course,
    catch_volume, extent, in_a_tank, tank_covers, used_on_area,
};
pub use spreader::{
    SpreaderCheck, SpreaderSetting, check_spreader, half_rate, setting_for, spread_rate,
};
pub use walk::{speed_walked, time_for_speed};

/// One step of a calculation, to be gone over by hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// The formula in words and units.
    pub formula: Cow<'static, str>,
    /// The formula with the numbers put in.
    pub numbers: String,
    /// What it comes to, with its unit.
    pub result: String,
    /// Where the formula stands, and what of it is exact.
    pub source: Cow<'static, str>,
}

/// A result, how it was come by, and what to mind.
#[derive(Clone, Debug, PartialEq)]
pub struct Worked<T> {
    /// The result, not rounded.
    pub value: T,
    /// In the order in which a person would do them.
    pub steps: Vec<Step>,
    /// What to mind, each a sentence with its source.
    pub remarks: Vec<String>,
}

impl<T> Worked<T> {
    fn new(value: T, step: Step) -> Worked<T> {
        Worked { value, steps: vec![step], remarks: Vec::new() }
    }
}

/// The units that a spray volume is told in: `gal/1000 sq ft` and `gal/A`, or `L/100 m2` and `L/ha`.
pub fn spray_volume_units(units: UnitSystem) -> [RateUnit; 2] {
    let unit = |amount, area| RateUnit { amount, area };
    match units {
        UnitSystem::Us => [
            unit(AmountUnit::Gallon, AreaUnit::ThousandSquareFeet),
            unit(AmountUnit::Gallon, AreaUnit::Acre),
        ],
        UnitSystem::Metric => [
            unit(AmountUnit::Litre, AreaUnit::HundredSquareMetres),
            unit(AmountUnit::Litre, AreaUnit::Hectare),
        ],
    }
}

/// The unit that a spreader's rate is told in: `lb/1000 sq ft` or `kg/100 m2`.
pub fn spread_rate_unit(units: UnitSystem) -> RateUnit {
    match units {
        UnitSystem::Us => {
            RateUnit { amount: AmountUnit::Pound, area: AreaUnit::ThousandSquareFeet }
        }
        UnitSystem::Metric => {
            RateUnit { amount: AmountUnit::Kilogram, area: AreaUnit::HundredSquareMetres }
        }
    }
}

/// A number put in, with digits enough to go over it by hand.
pub(crate) fn put(value: f64) -> String {
    significant(value, 6)
}

/// A rate as the result of a step, in all of `units`.
fn told(rate: Rate, units: &[RateUnit]) -> String {
    let one = |unit: &RateUnit| format!("{} {unit}", put(rate.in_unit(*unit).unwrap_or(0.0)));
    units.iter().map(one).collect::<Vec<_>>().join(" = ")
}

/// Refuses nothing where something is divided by or measured.
fn some(what: &'static str, value: f64) -> Result<(), CalibrateError> {
    if value > 0.0 { Ok(()) } else { Err(CalibrateError::Nothing { what }) }
}
