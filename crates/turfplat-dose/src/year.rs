//! Why a year is any twelve months unless the label says otherwise: labels write "per year",
//! "annually" and "in 12 months", and mean by it either the calendar's or any. Every calendar
//! year is twelve months, so what fits into any twelve fits into it too, and nobody who reads
//! the label the other way has put down too much.

use crate::date::Day;
use crate::product::words;

/// What a label means by a year.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LabelYear {
    /// Any twelve months, and so every calendar year too: the stricter reading, where nothing is
    /// said.
    #[default]
    TwelveMonths,
    /// From January to December.
    Calendar,
    /// A growing season. It is shorter than a year and begins nowhere at once, so it is counted
    /// as any twelve months.
    Season,
}

words!(LabelYear, "12 months, calendar year, season",
    TwelveMonths => "12 months",
    Calendar => "calendar year",
    Season => "season",
);

/// The most of a year that holds a day.
pub(crate) struct Fullest {
    /// What else lies in it.
    pub(crate) others: f64,
    /// In words, such as `12 months from 2026-04-01` or `2026`.
    pub(crate) name: String,
}

impl LabelYear {
    /// The year that holds `day` and the most of `others`. What has no day lies in every year;
    /// without `day` every year is asked.
    pub(crate) fn fullest(self, day: Option<Day>, others: &[(Option<Day>, f64)]) -> Fullest {
        let undated: f64 =
            others.iter().filter(|(day, _)| day.is_none()).map(|(_, much)| much).sum();
        let dated: Vec<(Day, f64)> =
            others.iter().filter_map(|(day, much)| Some(((*day)?, *much))).collect();
        let mut starts: Vec<Day> = dated.iter().map(|(day, _)| *day).chain(day).collect();
        starts.sort_unstable();
        starts.dedup();
        let holds = |start: Day, other: Day| match self {
            LabelYear::Calendar => other.year() == start.year(),
            _ => start <= other && other < start.a_year_later(),
        };
        let mut fullest: Option<(f64, Day)> = None;
        for start in starts {
            if day.is_some_and(|day| !holds(start, day)) {
                continue;
            }
            let inside = dated.iter().filter(|(other, _)| holds(start, *other));
            let sum: f64 = inside.map(|(_, much)| much).sum();
            if fullest.is_none_or(|(most, _)| sum > most) {
                fullest = Some((sum, start));
            }
        }
        match fullest {
            None => Fullest { others: undated, name: "this plan".to_owned() },
            Some((sum, start)) => Fullest {
                others: undated + sum,
                name: match self {
                    LabelYear::Calendar => start.year().to_string(),
                    _ => format!("12 months from {start}"),
                },
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_year_is_any_twelve_months_unless_the_label_says_the_calendars() {
        let day = |text: &str| Day::read(text).unwrap();
        let others = [
            (Some(day("2025-06-08")), 4.0),
            (Some(day("2025-06-09")), 2.0),
            (Some(day("2025-11-01")), 1.0),
            (Some(day("2026-04-01")), 8.0),
            (None, 0.5),
        ];
        let on = Some(day("2026-06-08"));
        // From 9 June 2025 to 8 June 2026 it is a year less a day: the 8th is in no year with it.
        let any = LabelYear::TwelveMonths.fullest(on, &others);
        assert_eq!((any.others, any.name.as_str()), (11.5, "12 months from 2025-06-09"));
        let calendar = LabelYear::Calendar.fullest(on, &others);
        assert_eq!((calendar.others, calendar.name.as_str()), (8.5, "2026"));
        assert_eq!(LabelYear::Season.fullest(on, &others).others, any.others);
        let nothing = LabelYear::Calendar.fullest(None, &[(None, 3.0)]);
        assert_eq!((nothing.others, nothing.name.as_str()), (3.0, "this plan"));
        // What comes later counts too: twelve months may begin before it and end after it.
        let later = [(Some(day("2026-12-01")), 2.0), (Some(day("2027-06-08")), 9.0)];
        assert_eq!(LabelYear::TwelveMonths.fullest(on, &later).others, 2.0);
        // The fullest governs wherever it begins; of equals the first is named.
        for (later, most, from) in [(9.0, 9.0, "2026-06-08"), (2.0, 2.0, "2025-07-01")] {
            let both = [(Some(day("2025-07-01")), 2.0), (Some(day("2026-12-01")), later)];
            let year = LabelYear::TwelveMonths.fullest(on, &both);
            assert_eq!((year.others, year.name), (most, format!("12 months from {from}")));
        }
    }
}
