use std::str::FromStr;

use crate::UnitSystem;
use crate::amount::Mass;
use crate::length::Length;
use crate::number::{UnitError, leading_number, significant};

/// A pressure above that of the air, as a gauge at the nozzle shows it, stored in pascals;
/// never negative, never infinite.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Pressure(f64);

impl Pressure {
    /// Standard gravity, metres per second squared: exact, by definition.
    /// Source: NIST SP 811 (2008), Appendix B.8.
    pub const STANDARD_GRAVITY: f64 = 9.806_65;

    /// Pascals in one bar: exact. Source: NIST SP 811 (2008), Appendix B.8.
    pub const PASCALS_PER_BAR: f64 = 100_000.0;

    /// Pascals in one pound-force per square inch: the pound and the inch are exact, so this
    /// is 6 894.757 293 168… to the last bit.
    /// Source: NIST SP 811 (2008), Appendix B.8, where 6.894 757 E+03 is its rounding.
    pub fn pascals_per_psi() -> f64 {
        let inch = Length::METRES_PER_FOOT / 12.0;
        Mass::GRAMS_PER_POUND / 1000.0 * Self::STANDARD_GRAVITY / (inch * inch)
    }

    /// All names that are read, in small letters, with their size in pascals.
    fn names() -> [(&'static str, f64); 8] {
        let psi = Self::pascals_per_psi();
        [
            ("psi", psi),
            ("psig", psi),
            ("lb/in2", psi),
            ("lb/sq in", psi),
            ("bar", Self::PASCALS_PER_BAR),
            ("bars", Self::PASCALS_PER_BAR),
            ("kpa", 1000.0),
            ("pa", 1.0),
        ]
    }

    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_pascals(value: f64) -> Option<Pressure> {
        (value.is_finite() && value >= 0.0).then_some(Pressure(value))
    }

    /// The pressure in pascals.
    pub fn pascals(self) -> f64 {
        self.0
    }

    /// The pressure in pounds per square inch.
    pub fn psi(self) -> f64 {
        self.0 / Self::pascals_per_psi()
    }

    /// The pressure in bars.
    pub fn bar(self) -> f64 {
        self.0 / Self::PASCALS_PER_BAR
    }

    /// `40 psi` or `2.76 bar`, at least three digits.
    pub fn print(self, units: UnitSystem) -> String {
        match units {
            UnitSystem::Us => format!("{} psi", significant(self.psi(), 3)),
            UnitSystem::Metric => format!("{} bar", significant(self.bar(), 3)),
        }
    }
}

impl FromStr for Pressure {
    type Err = UnitError;

    /// Reads `40 psi`, `2.8 bar`, `280 kPa`.
    fn from_str(text: &str) -> Result<Pressure, UnitError> {
        let (value, unit) = leading_number(text)?;
        if unit.is_empty() {
            return Err(UnitError::NoUnit(text.trim().into(), "40 psi"));
        }
        let lower = unit.to_lowercase();
        let known = Self::names().into_iter().find(|(name, _)| *name == lower);
        let (_, each) =
            known.ok_or_else(|| UnitError::UnknownUnit(unit.into(), "psi, bar, kPa, Pa"))?;
        Pressure::from_pascals(value * each).ok_or_else(|| UnitError::OutOfRange(text.into()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pressures_agree_with_published_tables() {
        #[rustfmt::skip]
        let table = [
            // text, pascals, half of the last digit printed, and where it is published
            ("1 psi", 6_894.757_293_168, 5e-10, "0.45359237 × 9.80665 / 0.0254² (NIST SP 811 App. B.8)"),
            ("1 psi", 6_894.757,         5e-4,  "6.894 757 E+03 (NIST SP 811 App. B.8)"),
            ("1 bar", 100_000.0,         1e-9,  "1.0 E+05, exact (NIST SP 811 App. B.8)"),
            ("1 kPa", 1000.0,            1e-9,  "SI"),
            ("1 Pa",  1.0,               1e-12, "SI"),
        ];
        for (text, published, half_a_digit, source) in table {
            let ours = text.parse::<Pressure>().unwrap().pascals();
            assert!((ours - published).abs() <= half_a_digit, "{text}: {ours}: {source}");
        }
        for (name, _) in Pressure::names() {
            let ours = format!("1 {name}").parse::<Pressure>().unwrap().pascals();
            let row = table.iter().any(|(_, published, half, _)| (ours - published).abs() <= *half);
            assert!(row, "{name} has no row");
        }
        assert!("40".parse::<Pressure>().is_err());
        assert!("40 mmHg".parse::<Pressure>().is_err());
    }
}
