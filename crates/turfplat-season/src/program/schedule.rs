use jiff::ToSpan;
use jiff::civil::Date;

/// The days of a season on which treatments may fall.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Window {
    first: Date,
    last: Date,
    /// First and last day of each, in the order of days.
    pauses: Vec<(Date, Date)>,
}

/// Why days make no season.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum WindowError {
    #[error("ends on {last}, before it begins on {first}; correct the one or the other")]
    EndsBefore { first: Date, last: Date },

    /// So long no plan of treatments holds.
    #[error("runs from {first} to {last}, longer than {years} years; plan a season at a time")]
    TooLong { first: Date, last: Date, years: i16 },

    #[error(
        "has a pause that ends on {last}, before it begins on {first}; correct the one or the other"
    )]
    PauseEndsBefore { first: Date, last: Date },
}

impl Window {
    /// More than any label speaks of.
    const MOST_YEARS: i16 = 3;

    /// The days from `first` to `last`, both included, but for those of the pauses, whose ends are
    /// days of them.
    ///
    /// # Errors
    ///
    /// [`WindowError`] for ends in the wrong order, and for more than three years.
    pub fn new(first: Date, last: Date, pauses: &[(Date, Date)]) -> Result<Window, WindowError> {
        if last < first {
            return Err(WindowError::EndsBefore { first, last });
        }
        let years = Window::MOST_YEARS;
        if last > first.saturating_add(years.years()) {
            return Err(WindowError::TooLong { first, last, years });
        }
        if let Some((first, last)) = pauses.iter().copied().find(|(first, last)| last < first) {
            return Err(WindowError::PauseEndsBefore { first, last });
        }
        let mut pauses = pauses.to_vec();
        pauses.sort_unstable();
        Ok(Window { first, last, pauses })
    }

    /// Its last day.
    pub fn last(&self) -> Date {
        self.last
    }

    /// Its first day, pauses left out of account.
    pub fn first(&self) -> Date {
        self.first
    }

    /// The first of its days on or after `day`; `None` where none is left.
    pub fn on_or_after(&self, day: Date) -> Option<Date> {
        let mut day = day.max(self.first);
        for (from, to) in &self.pauses {
            if (*from..=*to).contains(&day) {
                day = to.saturating_add(1.day());
            }
        }
        (day <= self.last).then_some(day)
    }
}

/// The day of the next treatment, and why it is not sooner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Next {
    /// The day.
    pub day: Date,
    /// What it waits for.
    pub because: NextBecause,
}

/// What the next treatment waits for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NextBecause {
    /// The interval between two treatments.
    Interval,
    /// The warmth of a model, which comes later.
    Model,
    /// The end of a pause.
    Pause,
}

/// The next treatment after one on `last`: no sooner than `least_days` after it, no sooner than
/// `model_day`, and on a day of the season; `None` where the season ends before.
pub fn next_day(
    window: &Window,
    last: Date,
    least_days: u32,
    model_day: Option<Date>,
) -> Option<Next> {
    // No label's interval is longer than the calendar.
    let least = last.saturating_add(i64::from(least_days.min(100_000)).days());
    // A second treatment on one day would be one treatment.
    let least = least.max(last.saturating_add(1.day()));
    let (due, because) = match model_day.filter(|day| *day > least) {
        Some(day) => (day, NextBecause::Model),
        None => (least, NextBecause::Interval),
    };
    let day = window.on_or_after(due)?;
    Some(Next { day, because: if day > due { NextBecause::Pause } else { because } })
}
