use std::str::FromStr;

use crate::number::{UnitError, leading_number, significant};

/// A span of time, stored in seconds; never negative, never infinite.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Time(f64);

impl Time {
    /// Seconds in one minute: exact. Source: SI Brochure, 9th ed., table 8; NIST SP 811, table 6.
    pub const SECONDS_PER_MINUTE: f64 = 60.0;

    /// Seconds in one hour: exact. Source: SI Brochure, 9th ed., table 8; NIST SP 811, table 6.
    pub const SECONDS_PER_HOUR: f64 = 3600.0;

    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_seconds(value: f64) -> Option<Time> {
        (value.is_finite() && value >= 0.0).then_some(Time(value))
    }

    /// The time in seconds.
    pub fn seconds(self) -> f64 {
        self.0
    }

    /// `51 s`, at least three digits.
    pub fn print(self) -> String {
        format!("{} s", significant(self.0, 3))
    }
}

impl FromStr for Time {
    type Err = UnitError;

    /// Reads `51 s`, `1.5 min` or `1 min 15 s`.
    fn from_str(text: &str) -> Result<Time, UnitError> {
        let mut seconds = 0.0;
        let mut rest = text.trim();
        // Each unit once, from large to small, so that `15 s 1 min` is no time.
        let mut smallest = f64::INFINITY;
        while smallest == f64::INFINITY || !rest.is_empty() {
            let (value, after) = leading_number(rest)?;
            let end = after.find(|c: char| !c.is_alphabetic() && c != '.').unwrap_or(after.len());
            let (name, left) = after.split_at(end);
            if name.is_empty() {
                return Err(UnitError::NoUnit(text.trim().into(), "51 s"));
            }
            let each = seconds_in(name).filter(|each| *each < smallest);
            let each =
                each.ok_or_else(|| UnitError::UnknownUnit(after.into(), "s, min, h, 1 min 15 s"))?;
            (seconds, smallest, rest) = (seconds + value * each, each, left.trim_start());
        }
        Time::from_seconds(seconds).ok_or_else(|| UnitError::OutOfRange(text.into()))
    }
}

/// Seconds in the unit of that name.
pub(crate) fn seconds_in(name: &str) -> Option<f64> {
    let lower = name.to_lowercase();
    NAMES.iter().find(|(known, _)| *known == lower).map(|(_, seconds)| *seconds)
}

/// All names that are read, in small letters, with their size in seconds.
const NAMES: [(&str, f64); 18] = [
    ("s", 1.0),
    ("s.", 1.0),
    ("sec", 1.0),
    ("sec.", 1.0),
    ("secs", 1.0),
    ("second", 1.0),
    ("seconds", 1.0),
    ("min", Time::SECONDS_PER_MINUTE),
    ("min.", Time::SECONDS_PER_MINUTE),
    ("mins", Time::SECONDS_PER_MINUTE),
    ("minute", Time::SECONDS_PER_MINUTE),
    ("minutes", Time::SECONDS_PER_MINUTE),
    ("h", Time::SECONDS_PER_HOUR),
    ("h.", Time::SECONDS_PER_HOUR),
    ("hr", Time::SECONDS_PER_HOUR),
    ("hr.", Time::SECONDS_PER_HOUR),
    ("hour", Time::SECONDS_PER_HOUR),
    ("hours", Time::SECONDS_PER_HOUR),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_agree_with_published_tables() {
        #[rustfmt::skip]
        let table = [
            ("1 s",          1.0,    "SI"),
            ("1 min",        60.0,   "SI Brochure, 9th ed., table 8"),
            ("1 h",          3600.0, "SI Brochure, 9th ed., table 8"),
            ("1 min 15 s",   75.0,   "worked by hand: 60 + 15"),
            ("1.25 minutes", 75.0,   "worked by hand: 1.25 × 60"),
        ];
        for (text, published, source) in table {
            assert_eq!(text.parse::<Time>().unwrap().seconds(), published, "{text}: {source}");
        }
        for (name, seconds) in NAMES {
            let row = ["1 s", "1 min", "1 h"].iter().zip([1.0, 60.0, 3600.0]);
            let row = row.into_iter().find(|(_, published)| *published == seconds);
            assert!(row.is_some(), "{name} has no row");
            assert_eq!(format!("1 {name}").parse::<Time>().unwrap().seconds(), seconds, "{name}");
        }
        for text in ["51", "51 m", "15 s 1 min", "3 s 3 s", "", "1 min 15"] {
            assert!(text.parse::<Time>().is_err(), "{text}");
        }
    }
}
