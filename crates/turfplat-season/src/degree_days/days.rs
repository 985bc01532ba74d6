use std::fmt;
use std::iter::Sum;
use std::ops::Add;

use turfplat_units::decimal;

use crate::daily::Temperature;

/// A sum of warmth above a base, stored in degrees Celsius times days.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct DegreeDays(f64);

impl DegreeDays {
    /// Nothing yet.
    pub const ZERO: DegreeDays = DegreeDays(0.0);

    /// Degrees of Fahrenheit in one of Celsius, between two temperatures: exact.
    const FAHRENHEIT_IN_ONE: f64 = 1.8;

    /// Returns `None` if `sum` is negative, infinite or not a number.
    pub fn from_celsius_days(sum: f64) -> Option<DegreeDays> {
        (sum.is_finite() && sum >= 0.0).then_some(DegreeDays(sum))
    }

    /// As [`DegreeDays::from_celsius_days`], in degrees Fahrenheit times days.
    pub fn from_fahrenheit_days(sum: f64) -> Option<DegreeDays> {
        DegreeDays::from_celsius_days(sum / DegreeDays::FAHRENHEIT_IN_ONE)
    }

    /// What one day adds: its mean above the base, and nothing where it is below.
    /// Source: McMaster & Wilhelm (1997), Agric. For. Meteorol. 87:291–300, method 1.
    pub fn of_day(mean: Temperature, base: Temperature) -> DegreeDays {
        DegreeDays((mean.celsius() - base.celsius()).max(0.0))
    }

    /// Reads `200 C` or `360 F`, the degrees of which it is the sum; `None` without a unit.
    pub fn read(text: &str) -> Option<DegreeDays> {
        let text = text.trim();
        let unit = text.chars().next_back()?;
        let number = text[..text.len() - unit.len_utf8()].trim_end_matches(['°', ' ']).trim();
        let number: f64 = number.parse().ok()?;
        match unit.to_ascii_uppercase() {
            'F' => DegreeDays::from_fahrenheit_days(number),
            'C' => DegreeDays::from_celsius_days(number),
            _ => None,
        }
    }

    /// In degrees Celsius times days.
    pub fn celsius_days(self) -> f64 {
        self.0
    }

    /// In degrees Fahrenheit times days.
    pub fn fahrenheit_days(self) -> f64 {
        self.0 * DegreeDays::FAHRENHEIT_IN_ONE
    }

    /// What is left of it after `other`; nothing where that is more.
    pub fn less(self, other: DegreeDays) -> DegreeDays {
        DegreeDays((self.0 - other.0).max(0.0))
    }
}

impl Add for DegreeDays {
    type Output = DegreeDays;

    fn add(self, other: DegreeDays) -> DegreeDays {
        DegreeDays(self.0 + other.0)
    }
}

impl Sum for DegreeDays {
    fn sum<I: Iterator<Item = DegreeDays>>(all: I) -> DegreeDays {
        all.fold(DegreeDays::ZERO, Add::add)
    }
}

impl fmt::Display for DegreeDays {
    /// `200.0 °C days (360.0 °F days)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (celsius, fahrenheit) = (decimal(self.0, 1), decimal(self.fahrenheit_days(), 1));
        write!(f, "{celsius} °C days ({fahrenheit} °F days)")
    }
}
