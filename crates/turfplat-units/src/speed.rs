use std::str::FromStr;

use crate::UnitSystem;
use crate::length::Length;
use crate::number::{UnitError, leading_number, significant};
use crate::time::Time;

/// How fast a sprayer moves over the ground, stored in metres per second; never negative,
/// never infinite.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Speed(f64);

impl Speed {
    /// Metres per second in one mile per hour: exact, 5,280 ft of 0.3048 m in 3,600 s.
    /// Source: NIST SP 811 (2008), Appendix B.8.
    pub const METRES_PER_SECOND_PER_MPH: f64 = 0.447_04;

    /// All names that are read, in small letters, with their size in metres per second.
    const NAMES: [(&'static str, f64); 20] = [
        ("mph", Self::METRES_PER_SECOND_PER_MPH),
        ("mi/h", Self::METRES_PER_SECOND_PER_MPH),
        ("mile/h", Self::METRES_PER_SECOND_PER_MPH),
        ("miles/h", Self::METRES_PER_SECOND_PER_MPH),
        ("miles per hour", Self::METRES_PER_SECOND_PER_MPH),
        ("km/h", 1.0 / 3.6),
        ("kmh", 1.0 / 3.6),
        ("kph", 1.0 / 3.6),
        ("km/hr", 1.0 / 3.6),
        ("kilometers per hour", 1.0 / 3.6),
        ("ft/min", Length::METRES_PER_FOOT / Time::SECONDS_PER_MINUTE),
        ("fpm", Length::METRES_PER_FOOT / Time::SECONDS_PER_MINUTE),
        ("feet per minute", Length::METRES_PER_FOOT / Time::SECONDS_PER_MINUTE),
        ("ft/s", Length::METRES_PER_FOOT),
        ("ft/sec", Length::METRES_PER_FOOT),
        ("feet per second", Length::METRES_PER_FOOT),
        ("m/min", 1.0 / Time::SECONDS_PER_MINUTE),
        ("m/s", 1.0),
        ("m/sec", 1.0),
        ("meters per second", 1.0),
    ];

    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_metres_per_second(value: f64) -> Option<Speed> {
        (value.is_finite() && value >= 0.0).then_some(Speed(value))
    }

    /// So far in so long; `None` if that took no time.
    pub fn of(distance: Length, time: Time) -> Option<Speed> {
        Self::from_metres_per_second(distance.metres() / time.seconds())
    }

    /// The speed in metres per second.
    pub fn metres_per_second(self) -> f64 {
        self.0
    }

    /// The speed in miles per hour.
    pub fn mph(self) -> f64 {
        self.0 / Self::METRES_PER_SECOND_PER_MPH
    }

    /// The speed in kilometres per hour: 3.6 to the metre per second, exact.
    pub fn kilometres_per_hour(self) -> f64 {
        self.0 * 3.6
    }

    /// `3 mph` or `4.83 km/h`, at least three digits.
    pub fn print(self, units: UnitSystem) -> String {
        match units {
            UnitSystem::Us => format!("{} mph", significant(self.mph(), 3)),
            UnitSystem::Metric => format!("{} km/h", significant(self.kilometres_per_hour(), 3)),
        }
    }
}

impl FromStr for Speed {
    type Err = UnitError;

    /// Reads `3 mph`, `4.8 km/h`, `88 ft/min`, `1.3 m/s`.
    fn from_str(text: &str) -> Result<Speed, UnitError> {
        let (value, unit) = leading_number(text)?;
        if unit.is_empty() {
            return Err(UnitError::NoUnit(text.trim().into(), "3 mph"));
        }
        let lower = unit.to_lowercase();
        let known = Self::NAMES.iter().find(|(name, _)| *name == lower);
        let (_, each) = known.ok_or_else(|| {
            UnitError::UnknownUnit(unit.into(), "mph, km/h, ft/min, ft/s, m/min, m/s")
        })?;
        Speed::from_metres_per_second(value * each)
            .ok_or_else(|| UnitError::OutOfRange(text.into()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn speeds_agree_with_published_tables() {
        #[rustfmt::skip]
        let table = [
            // text, metres per second, and where it is published
            ("1 mph",      0.447_04,            "0.44704 m/s, exact (NIST SP 811 App. B.8)"),
            ("1 km/h",     0.277_777_777_777_8, "1/3.6 (NIST SP 811 App. B.8: 2.777 778 E-01)"),
            ("1 ft/min",   0.005_08,            "0.00508 m/s, exact (NIST SP 811 App. B.8)"),
            ("1 ft/s",     0.3048,              "0.3048 m/s, exact (NIST SP 811 App. B.8)"),
            ("60 m/min",   1.0,                 "worked by hand: 60/60"),
            ("1 m/s",      1.0,                 "SI"),
            ("88 ft/min",  0.447_04,            "1 mph is 88 ft/min: 5280/60"),
        ];
        for (text, published, source) in table {
            let ours = text.parse::<Speed>().unwrap().metres_per_second();
            assert!((ours - published).abs() <= 1e-13, "{text}: {ours} ≠ {published}, {source}");
        }
        for (name, _) in Speed::NAMES {
            let ours = format!("1 {name}").parse::<Speed>().unwrap().metres_per_second();
            let row = table.iter().any(|(text, published, _)| {
                text.split_once(' ').is_some_and(|(count, _)| {
                    (ours * count.parse::<f64>().unwrap() - published).abs() <= 1e-13
                })
            });
            assert!(row, "{name} has no row");
        }
        assert!("3".parse::<Speed>().is_err());
        assert!("3 knots".parse::<Speed>().is_err());
        assert_eq!(Speed::of(Length::ZERO, Time::default()), None);
    }
}
