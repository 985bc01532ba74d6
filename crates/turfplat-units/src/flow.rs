use std::str::FromStr;

use crate::UnitSystem;
use crate::amount::{Amount, AmountUnit, Volume, WrittenAmount};
use crate::number::{UnitError, leading_number, significant};
use crate::time::{Time, seconds_in};

/// A volume of liquid in a time, stored in millilitres per minute; never negative, never infinite.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Flow(f64);

impl Flow {
    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_millilitres_per_minute(value: f64) -> Option<Flow> {
        (value.is_finite() && value >= 0.0).then_some(Flow(value))
    }

    /// So much in so long; `None` if that took no time.
    pub fn of(volume: Volume, time: Time) -> Option<Flow> {
        let minutes = time.seconds() / Time::SECONDS_PER_MINUTE;
        Self::from_millilitres_per_minute(volume.millilitres() / minutes)
    }

    /// The flow in millilitres per minute.
    pub fn millilitres_per_minute(self) -> f64 {
        self.0
    }

    /// The flow in US gallons per minute.
    pub fn gallons_per_minute(self) -> f64 {
        self.0 / Volume::MILLILITRES_PER_GALLON
    }

    /// The flow in litres per minute.
    pub fn litres_per_minute(self) -> f64 {
        self.0 / 1000.0
    }

    /// `0.4 gal/min` or `1.51 L/min`, at least three digits.
    pub fn print(self, units: UnitSystem) -> String {
        match units {
            UnitSystem::Us => format!("{} gal/min", significant(self.gallons_per_minute(), 3)),
            UnitSystem::Metric => format!("{} L/min", significant(self.litres_per_minute(), 3)),
        }
    }
}

impl FromStr for Flow {
    type Err = UnitError;

    /// Reads `0.4 gal/min`, `0.4 gpm`, `51 fl oz/min`, `1.3 L per minute`, `40 fl oz in 51 s`.
    fn from_str(text: &str) -> Result<Flow, UnitError> {
        const KNOWN: &str =
            "gal/min, gpm, fl oz/min, L/min, mL/min, or what was caught: 40 fl oz in 51 s";
        let (value, unit) = leading_number(text)?;
        let lower = unit.to_ascii_lowercase();
        let unknown = || UnitError::UnknownUnit(unit.into(), KNOWN);
        let (unit_above, time) = match lower.as_str() {
            "" => return Err(UnitError::NoUnit(text.trim().into(), "0.4 gal/min")),
            "gpm" => ("gal", "min"),
            "gph" => ("gal", "h"),
            "lpm" => ("l", "min"),
            // All others are an amount and a time, which have their own tables.
            // A word parts before a stroke does: `fl oz in 30 s` has none.
            _ => ["/", " per ", " in "]
                .iter()
                .find_map(|parting| lower.split_once(parting))
                .ok_or_else(unknown)?,
        };
        let Some((amount_unit, "")) = AmountUnit::leading(unit_above) else {
            return Err(unknown());
        };
        // `/min` has no number of its own.
        let seconds = match seconds_in(time.trim()) {
            Some(seconds) => seconds,
            None => time.parse::<Time>().map_err(|_| unknown())?.seconds(),
        };
        match (WrittenAmount { value, unit: amount_unit }).amount()? {
            Amount::Volume(volume) => Time::from_seconds(seconds)
                .and_then(|time| Flow::of(volume, time))
                .ok_or_else(|| UnitError::OutOfRange(text.into())),
            Amount::Mass(_) => Err(unknown()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flows_agree_with_published_tables() {
        #[rustfmt::skip]
        let table = [
            // text, millilitres per minute, and where it is published
            ("1 gal/min",        3_785.411_784,    "231 in³ (NIST HB 44 App. C)"),
            ("1 gpm",            3_785.411_784,    "231 in³ (NIST HB 44 App. C)"),
            ("60 gph",           3_785.411_784,    "worked by hand: 60/60"),
            ("1 fl oz/min",      29.573_529_562_5, "1/128 gal (NIST HB 44 App. C)"),
            ("1 L/min",          1000.0,           "SI Brochure, 9th ed., table 8"),
            ("1 lpm",            1000.0,           "SI Brochure, 9th ed., table 8"),
            ("1 mL per second",  60.0,             "worked by hand: 60 s"),
            ("64 fl oz in 30 s", 3_785.411_784,    "worked by hand: half a gallon in half a minute"),
            ("1/2 gal / 30 s",   3_785.411_784,    "worked by hand: half a gallon in half a minute"),
        ];
        for (text, published, source) in table {
            let ours = text.parse::<Flow>().unwrap().millilitres_per_minute();
            let rounding = 4.0 * f64::EPSILON * published;
            assert!((ours - published).abs() <= rounding, "{text}: {ours} ≠ {published}, {source}");
        }
    }

    #[test]
    fn what_is_no_flow_is_refused() {
        for text in ["0.4", "0.4 gal", "3 lb/min", "0.4 gal/acre", "1 gal in 0 s", "1 gal/A"] {
            assert!(text.parse::<Flow>().is_err(), "{text}");
        }
        assert!(matches!("40 oz/min".parse::<Flow>(), Err(UnitError::WhichOunce(_))));
    }
}
