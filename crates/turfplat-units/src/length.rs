use std::ops::Add;
use std::str::FromStr;

use crate::UnitSystem;
use crate::number::{UnitError, leading_number, significant};

/// A horizontal distance, stored in metres; never negative, never infinite.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Length(f64);

impl Length {
    /// Metres in one foot: exact. The US survey foot (1200/3937 m) is another unit, in old
    /// state-plane files only, and is not meant here.
    /// Source: NIST and NOAA, 85 FR 62698 (5 October 2020), in force since 2023.
    pub const METRES_PER_FOOT: f64 = 0.3048;

    /// No distance at all.
    pub const ZERO: Length = Length(0.0);

    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_metres(value: f64) -> Option<Length> {
        (value.is_finite() && value >= 0.0).then_some(Length(value))
    }

    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_feet(value: f64) -> Option<Length> {
        Self::from_metres(value * Self::METRES_PER_FOOT)
    }

    /// The distance in metres.
    pub fn metres(self) -> f64 {
        self.0
    }

    /// The distance in international feet.
    pub fn feet(self) -> f64 {
        self.0 / Self::METRES_PER_FOOT
    }

    /// The distance in inches, twelve to the foot: exact.
    /// Source: NIST Handbook 44, Appendix C.
    pub fn inches(self) -> f64 {
        self.feet() * 12.0
    }

    /// The longer of the two.
    pub fn max(self, other: Length) -> Length {
        Length(self.0.max(other.0))
    }

    /// `25 ft` or `7.62 m`, to a tenth of a unit at most where that is exact enough to act on.
    pub fn print(self, units: UnitSystem) -> String {
        match units {
            UnitSystem::Us => format!("{} ft", significant(round_to(self.feet(), 0.01), 3)),
            UnitSystem::Metric => format!("{} m", significant(round_to(self.0, 0.01), 3)),
        }
    }
}

fn round_to(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

impl Add for Length {
    type Output = Length;

    fn add(self, other: Length) -> Length {
        Length(self.0 + other.0)
    }
}

impl FromStr for Length {
    type Err = UnitError;

    /// Reads a distance with its unit: `25ft`, `7.5 m`, `30 feet`, `18 in`, `5 yd`, `1 ft 6 in` is not read.
    fn from_str(text: &str) -> Result<Length, UnitError> {
        let (value, unit) = leading_number(text)?;
        // Exact multiples of the foot (NIST Handbook 44, Appendix C).
        let metres_per_unit = match unit.to_lowercase().as_str() {
            "" => return Err(UnitError::NoUnit(text.trim().into(), "25 ft")),
            "ft" | "ft." | "foot" | "feet" | "'" => Self::METRES_PER_FOOT,
            "in" | "in." | "inch" | "inches" | "\"" => Self::METRES_PER_FOOT / 12.0,
            "yd" | "yd." | "yard" | "yards" => Self::METRES_PER_FOOT * 3.0,
            "m" | "metre" | "metres" | "meter" | "meters" => 1.0,
            "cm" => 0.01,
            "mm" => 0.001,
            _ => return Err(UnitError::UnknownUnit(unit.into(), "ft, in, yd, m, cm")),
        };
        Length::from_metres(value * metres_per_unit)
            .ok_or_else(|| UnitError::OutOfRange(text.into()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_as_people_write_them() {
        for (text, metres) in [
            ("25ft", 7.62),
            ("7.5m", 7.5),
            ("30 feet", 9.144),
            ("18 in", 0.4572),
            ("5 yd", 4.572),
            ("1/2 ft", 0.1524),
        ] {
            assert!((text.parse::<Length>().unwrap().metres() - metres).abs() < 1e-12, "{text}");
        }
        assert_eq!("25".parse::<Length>(), Err(UnitError::NoUnit("25".into(), "25 ft")));
        assert!("25 rods".parse::<Length>().is_err());
    }

    #[test]
    fn distances_are_printed_without_noise() {
        assert_eq!("25 ft".parse::<Length>().unwrap().print(UnitSystem::Us), "25 ft");
        assert_eq!("150 ft".parse::<Length>().unwrap().print(UnitSystem::Us), "150 ft");
        assert_eq!("25 ft".parse::<Length>().unwrap().print(UnitSystem::Metric), "7.62 m");
    }
}
