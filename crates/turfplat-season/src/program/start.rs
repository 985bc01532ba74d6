use std::fmt;

use jiff::ToSpan;
use jiff::civil::Date;

use crate::daily::{Temperature, days_between};
use crate::degree_days::{DailySources, DegreeDays, Origin, Reached, count_heat};

/// When a season begins: on a day, or when turf is taken to be green by figures that somebody gives.
/// None of the figures is known here: nothing in print says them for a lawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Start {
    /// On a day.
    On(Date),
    /// Once the soil was so warm for so many days one after the other.
    Soil {
        /// At least so warm.
        at_least: Temperature,
        /// So many days one after the other.
        days: u32,
        /// The first day that counts.
        since: Date,
    },
    /// Once so much warmth was counted.
    DegreeDays {
        /// The sum.
        sum: DegreeDays,
        /// The temperature above which warmth counts.
        base: Temperature,
        /// The first day that counts.
        since: Date,
    },
}

/// The first day of a season, and what it rests on.
#[derive(Clone, Debug, PartialEq)]
pub struct StartFound {
    /// The day.
    pub day: Date,
    /// The least sure of what was counted; `None` of a day that was given.
    pub by: Option<Origin>,
    /// What should be known of it, such as days that are missing before.
    pub note: Option<String>,
}

/// Why the first day of a season is not known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StartUnknown {
    /// No temperatures are given.
    NoTemperatures,
    /// No soil temperature is given.
    NoSoil,
    /// This day is missing.
    Missing(Date),
    /// The temperatures end before the first day that counts.
    EndBefore {
        /// Their last day.
        end: Date,
        /// The first day that counts.
        since: Date,
    },
    /// It is not so warm up to the last day that was looked at.
    NotReached(Date),
}

impl fmt::Display for StartUnknown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoTemperatures => f.write_str(
                "green-up is asked of temperatures, and none are given; give --weather FILE, or a first day (from)",
            ),
            Self::NoSoil => f.write_str(
                "green-up is asked of the soil, and the temperatures given have none of it; give a file with a soil temperature, or a first day (from)",
            ),
            Self::Missing(day) => write!(
                f,
                "the day of green-up is not known, for {day} is missing; give measured temperatures (--weather) that know it, or a first day (from); no forecast or normals stand for a day among the measured ones"
            ),
            Self::EndBefore { end, since } => write!(
                f,
                "green-up is counted from {since} on, and the temperatures end before, on {end}; give --weather, --forecast or --normals that go on, or a first day (from)"
            ),
            Self::NotReached(day) => write!(
                f,
                "green-up is not reached up to {day}; give --forecast or --normals that go on, or a first day (from)"
            ),
        }
    }
}

impl Start {
    /// The day on which a season that ends on `last` begins.
    ///
    /// # Errors
    ///
    /// [`StartUnknown`]: what is missing.
    pub fn day(&self, sources: &DailySources<'_>, last: Date) -> Result<StartFound, StartUnknown> {
        match *self {
            Start::On(day) => Ok(StartFound { day, by: None, note: None }),
            _ if sources.is_empty() => Err(StartUnknown::NoTemperatures),
            Start::DegreeDays { since, .. } | Start::Soil { since, .. }
                if sources.ends().is_some_and(|end| end < since) =>
            {
                let end = sources.ends().unwrap_or(since);
                Err(StartUnknown::EndBefore { end, since })
            }
            Start::DegreeDays { sum, base, since } => {
                let end = sources.ends().map_or(last, |end| end.min(last));
                let count = count_heat(sources, base, sum, since, end);
                match count.reached {
                    Reached::On { day, by } => {
                        let leap = count.leap_days.iter().find(|leap| **leap <= day);
                        let note = leap.copied().map(no_leap_day);
                        Ok(StartFound { day, by: Some(by), note })
                    }
                    Reached::Unknown { missing, .. } => Err(StartUnknown::Missing(missing)),
                    Reached::NotYet { .. } => Err(StartUnknown::NotReached(end)),
                }
            }
            Start::Soil { at_least, days, since } => soil(sources, at_least, days, since, last),
        }
    }
}

fn no_leap_day(leap: Date) -> String {
    format!("the normals have no {leap}; their 28 February stands for it")
}

/// The last day of the first run of days so warm. A day that is missing ends a run, for it may have
/// been cold; and the turf may have been green before it, which is said.
fn soil(
    sources: &DailySources<'_>,
    at_least: Temperature,
    days: u32,
    since: Date,
    last: Date,
) -> Result<StartFound, StartUnknown> {
    let end = sources.ends().map_or(last, |end| end.min(last));
    let (mut run, mut by) = (0, Origin::Measured);
    let (mut missing, mut leap): (Option<Date>, Option<Date>) = (None, None);
    let mut any = false;
    for day in days_between(since, end) {
        let Some((soil, origin)) = sources.soil_on(day) else {
            missing = missing.or(Some(day));
            run = 0;
            continue;
        };
        any = true;
        leap = leap.or_else(|| sources.stands_in(day, origin).then_some(day));
        if soil < at_least {
            run = 0;
            continue;
        }
        by = if run == 0 { origin } else { by.max(origin) };
        run += 1;
        if run >= days.max(1) {
            let begun = day.saturating_sub(i64::from(run - 1).days());
            let before = missing.filter(|missing| *missing < begun);
            let before = before.map(|missing| {
                format!("soil temperatures are missing from {missing} on: it may have been warm enough before")
            });
            let note = [before, leap.map(no_leap_day)].into_iter().flatten().collect::<Vec<_>>();
            let note = (!note.is_empty()).then(|| note.join("; "));
            return Ok(StartFound { day, by: Some(by), note });
        }
    }
    Err(match (any, missing) {
        (false, _) => StartUnknown::NoSoil,
        (true, Some(missing)) => StartUnknown::Missing(missing),
        (true, None) => StartUnknown::NotReached(end),
    })
}
