use std::fmt;

use jiff::{ToSpan, civil};

/// A day of the calendar, written `2026-05-02`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(civil::Date);

impl Day {
    /// Reads `2026-05-02`; `None` of anything else and of days that do not exist.
    pub fn read(text: &str) -> Option<Day> {
        let bytes = text.as_bytes();
        let shaped = bytes.len() == 10
            && bytes.iter().enumerate().all(|(at, byte)| match at {
                4 | 7 => *byte == b'-',
                _ => byte.is_ascii_digit(),
            });
        let day = text.parse::<civil::Date>().ok().filter(|day| shaped && day.year() > 0)?;
        Some(Day(day))
    }

    pub(crate) fn date(self) -> civil::Date {
        self.0
    }

    /// The year that it lies in.
    pub fn year(self) -> i16 {
        self.0.year()
    }

    /// Whole days from `earlier` to this one; below zero where `earlier` is the later.
    pub fn days_since(self, earlier: Day) -> i64 {
        self.0.duration_since(earlier.0).as_hours() / 24
    }

    /// So many days later; the last day of the year 9999 where that is beyond it.
    pub fn plus_days(self, days: u32) -> Day {
        // More days than there are in the calendar, and fewer than a span may hold.
        Day(self.0.saturating_add(i64::from(days.min(4_000_000)).days()))
    }

    /// The same day of the next year; of 29 February the first of March.
    pub(crate) fn a_year_later(self) -> Day {
        let later = self.0.saturating_add(1.year());
        Day(if later.day() < self.0.day() { later.saturating_add(1.day()) } else { later })
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// True of a day of the calendar written `2026-05-02`.
pub fn is_date(text: &str) -> bool {
    Day::read(text).is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        Day::read(text).unwrap()
    }

    #[test]
    fn a_date_is_a_day_of_the_calendar() {
        for good in ["2026-05-02", "2024-02-29"] {
            assert_eq!(day(good).to_string(), good);
        }
        for bad in [
            "2026-02-29",
            "2026-13-01",
            "2026-5-2",
            "yes",
            "",
            "2026-05-00",
            "02.05.2026",
            "0000-01-01",
            "20260502",
            "2026-05-02T10:00",
            "２０２６-05-02",
        ] {
            assert!(!is_date(bad), "{bad}");
        }
    }

    #[test]
    fn days_are_counted_over_months_and_leap_years() {
        // Worked by hand: 29 days of May after the 2nd, and 8 of June; 2024 has a 29 February.
        assert_eq!(day("2026-06-08").days_since(day("2026-05-02")), 37);
        assert_eq!(day("2024-03-01").days_since(day("2024-02-28")), 2);
        assert_eq!(day("2026-05-02").days_since(day("2026-06-08")), -37);
        assert_eq!(day("2026-05-20").plus_days(28), day("2026-06-17"));
        assert_eq!(day("2024-02-29").a_year_later(), day("2025-03-01"));
        assert_eq!(day("2025-06-08").a_year_later(), day("2026-06-08"));
        assert_eq!(day("9999-12-01").plus_days(u32::MAX), day("9999-12-31"));
    }
}
