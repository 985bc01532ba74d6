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

    /// Every volume in every time: a wrong one of them hides where nobody looked.
    #[test]
    fn every_volume_in_every_time_is_a_flow() {
        #[rustfmt::skip]
        let volumes = [
            // unit, millilitres, and where it is published (NIST SP 811 App. B.8, from memory)
            (AmountUnit::Gallon,     3_785.411_784,     "231 × 2.54³; SP 811: 3.785 412 E-03 m³"),
            (AmountUnit::Quart,      946.352_946,       "1/4 gal; SP 811: 9.463 529 E-04 m³"),
            (AmountUnit::Pint,       473.176_473,       "1/8 gal; SP 811: 4.731 765 E-04 m³"),
            (AmountUnit::Cup,        236.588_236_5,     "1/16 gal; SP 811: 2.365 882 E-04 m³"),
            (AmountUnit::FluidOunce, 29.573_529_562_5,  "1/128 gal; SP 811: 2.957 353 E-05 m³"),
            (AmountUnit::Tablespoon, 14.786_764_781_25, "1/2 fl oz; SP 811: 1.478 676 E-05 m³"),
            (AmountUnit::Teaspoon,   4.928_921_593_75,  "1/6 fl oz; SP 811: 4.928 922 E-06 m³"),
            (AmountUnit::Litre,      1000.0,            "exact; SP 811: 1.0 E-03 m³"),
            (AmountUnit::Millilitre, 1.0,               "exact; SP 811, liter ÷ 1000"),
        ];
        let times = [("s", 60.0), ("min", 1.0), ("h", 1.0 / 60.0)];
        for (name, unit) in AmountUnit::NAMES {
            let is_volume = matches!(unit.of(1.0), Some(Amount::Volume(_)));
            let row = volumes.iter().find(|(of_row, ..)| *of_row == unit);
            assert_eq!(row.is_some(), is_volume, "{name} has no row, or one too many");
            for (time, a_minute) in times {
                let text = format!("1 {name}/{time}");
                let Some((_, published, source)) = row else {
                    assert!(text.parse::<Flow>().is_err(), "{text}");
                    continue;
                };
                let ours = text.parse::<Flow>().unwrap().millilitres_per_minute();
                let published = published * a_minute;
                let rounding = 4.0 * f64::EPSILON * published;
                assert!(
                    (ours - published).abs() <= rounding,
                    "{text}: {ours} ≠ {published}, {source}"
                );
            }
        }
        // The rounding in print of the whole, 6.309 020 E-05 m³/s (NIST SP 811 App. B.8, from memory).
        let gallon = "1 gal/min".parse::<Flow>().unwrap();
        assert!((gallon.millilitres_per_minute() / 60e6 - 6.309_020e-5).abs() < 5e-12);
        assert!((gallon.gallons_per_minute() - 1.0).abs() < 1e-15);
        assert!((gallon.litres_per_minute() - 3.785_411_784).abs() < 1e-14);
    }

    #[test]
    fn what_is_no_flow_is_refused() {
        for text in ["0.4", "0.4 gal", "3 lb/min", "0.4 gal/acre", "1 gal in 0 s", "1 gal/A"] {
            assert!(text.parse::<Flow>().is_err(), "{text}");
        }
        assert!(matches!("40 oz/min".parse::<Flow>(), Err(UnitError::WhichOunce(_))));
    }
}
