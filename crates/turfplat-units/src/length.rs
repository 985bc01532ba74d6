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

    /// All names that are read, in small letters, with their size in metres: exact multiples of the
    /// foot (NIST Handbook 44, Appendix C) and of the metre.
    const NAMES: [(&'static str, f64); 21] = [
        ("ft", Self::METRES_PER_FOOT),
        ("ft.", Self::METRES_PER_FOOT),
        ("foot", Self::METRES_PER_FOOT),
        ("feet", Self::METRES_PER_FOOT),
        ("'", Self::METRES_PER_FOOT),
        ("in", Self::METRES_PER_FOOT / 12.0),
        ("in.", Self::METRES_PER_FOOT / 12.0),
        ("inch", Self::METRES_PER_FOOT / 12.0),
        ("inches", Self::METRES_PER_FOOT / 12.0),
        ("\"", Self::METRES_PER_FOOT / 12.0),
        ("yd", Self::METRES_PER_FOOT * 3.0),
        ("yd.", Self::METRES_PER_FOOT * 3.0),
        ("yard", Self::METRES_PER_FOOT * 3.0),
        ("yards", Self::METRES_PER_FOOT * 3.0),
        ("m", 1.0),
        ("metre", 1.0),
        ("metres", 1.0),
        ("meter", 1.0),
        ("meters", 1.0),
        ("cm", 0.01),
        ("mm", 0.001),
    ];

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
        if unit.is_empty() {
            return Err(UnitError::NoUnit(text.trim().into(), "25 ft"));
        }
        let lower = unit.to_lowercase();
        let known = Self::NAMES.iter().find(|(name, _)| *name == lower);
        let (_, metres_per_unit) =
            known.ok_or_else(|| UnitError::UnknownUnit(unit.into(), "ft, in, yd, m, cm, mm"))?;
        Length::from_metres(value * metres_per_unit)
            .ok_or_else(|| UnitError::OutOfRange(text.into()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_of_a_length_agrees_with_published_tables() {
        #[rustfmt::skip]
        let table = [
            // names, metres, and where it is published
            ("ft ft. foot feet '",          0.3048, "exact (NIST HB 44 App. C; 85 FR 62698)"),
            ("in in. inch inches \"",       0.0254, "exact (NIST HB 44 App. C)"),
            ("yd yd. yard yards",           0.9144, "exact (NIST HB 44 App. C)"),
            ("m metre metres meter meters", 1.0,    "SI"),
            ("cm",                          0.01,   "SI Brochure, 9th ed., table 7"),
            ("mm",                          0.001,  "SI Brochure, 9th ed., table 7"),
        ];
        for (name, _) in Length::NAMES {
            let row = table.iter().find(|(names, ..)| names.split(' ').any(|one| one == name));
            let (_, published, source) = row.unwrap_or_else(|| panic!("{name} has no row"));
            let ours = format!("1 {name}").parse::<Length>().unwrap().metres();
            let rounding = 4.0 * f64::EPSILON * published;
            assert!((ours - published).abs() <= rounding, "{name}: {ours} ≠ {published}, {source}");
        }
    }

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
