use jiff::civil::Date;

use super::days::DegreeDays;
use super::sources::{DailySources, Origin};
use crate::daily::Temperature;
use crate::daily::days_between;

/// Warmth counted day by day.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatCount {
    /// The first day that counts.
    pub first: Date,
    /// The last day that was looked at.
    pub last: Date,
    /// What the days that are known add up to: at least so much where some are missing.
    pub sum: DegreeDays,
    /// Every day that is known.
    pub days: Vec<DayCount>,
    /// The days that nobody knows.
    pub missing: Vec<Date>,
    /// The 29 Februaries that its normals lack, so that their 28th was counted.
    pub leap_days: Vec<Date>,
    /// When the sum that was asked for is reached.
    pub reached: Reached,
}

/// One day of a count.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayCount {
    /// The day.
    pub day: Date,
    /// Halfway between its least and its most.
    pub mean: Temperature,
    /// What it adds.
    pub adds: DegreeDays,
    /// The sum with it.
    pub sum: DegreeDays,
    /// Who says what its temperatures are.
    pub origin: Origin,
}

/// When a sum of degree-days is reached.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reached {
    /// On this day, every day before it being known; `by` is the least sure of what was counted.
    On {
        /// The day.
        day: Date,
        /// The least sure origin among the days.
        by: Origin,
    },
    /// Unknown: this day is the first that nobody knows.
    Unknown {
        /// The first missing day.
        missing: Date,
        /// The day on which the known days alone reach it, if they do: on it at the latest.
        at_the_latest: Option<Date>,
    },
    /// Not up to the last day; so much is left.
    NotYet {
        /// What is left.
        left: DegreeDays,
    },
}

/// Counts warmth above `base` from `first` on up to `last`, beyond the day on which `wanted` is reached.
///
/// * Sum: Σ max(0, (most + least) / 2 − base).
/// * A missing day adds nothing, so the sum is at least what it says, and the day on which `wanted` is
///   reached is not known beyond it.
pub fn count_heat(
    sources: &DailySources<'_>,
    base: Temperature,
    wanted: DegreeDays,
    first: Date,
    last: Date,
) -> HeatCount {
    let mut count = HeatCount {
        first,
        last: first,
        sum: DegreeDays::ZERO,
        days: Vec::new(),
        missing: Vec::new(),
        leap_days: Vec::new(),
        reached: Reached::NotYet { left: wanted },
    };
    let mut reached = None;
    for day in days_between(first, last) {
        count.last = day;
        let Some((mean, origin)) = sources.mean_on(day) else {
            count.missing.push(day);
            continue;
        };
        let adds = DegreeDays::of_day(mean, base);
        count.sum = count.sum + adds;
        if sources.stands_in(day, origin) {
            count.leap_days.push(day);
        }
        count.days.push(DayCount { day, mean, adds, sum: count.sum, origin });
        // Tenths of degrees do not add up exactly in binary; what is the sum but for it is the sum.
        const ROUNDING: f64 = 1e-9;
        if count.sum.celsius_days() >= wanted.celsius_days() - ROUNDING {
            reached = reached.or_else(|| {
                // What is missing later puts no doubt on it.
                let missing = count.missing.first().copied();
                Some(match missing {
                    Some(missing) => Reached::Unknown { missing, at_the_latest: Some(day) },
                    None => {
                        let least_sure = count.days.iter().map(|day| day.origin).max();
                        Reached::On { day, by: least_sure.unwrap_or(Origin::Normals) }
                    }
                })
            });
        }
    }
    count.reached = reached.unwrap_or_else(|| match count.missing.first() {
        Some(missing) => Reached::Unknown { missing: *missing, at_the_latest: None },
        None => Reached::NotYet { left: wanted.less(count.sum) },
    });
    count
}

impl Reached {
    /// The day on which it is reached, or on which it is at the latest.
    pub fn day(&self) -> Option<Date> {
        match self {
            Self::On { day, .. } => Some(*day),
            Self::Unknown { at_the_latest, .. } => *at_the_latest,
            Self::NotYet { .. } => None,
        }
    }
}
