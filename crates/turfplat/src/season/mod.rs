//! A season's treatments, dated and counted. Whether a limit of a year is kept hangs on every treatment
//! before, on each zone for itself; so a season is no list of dates times a dose. It is walked day by
//! day, each treatment dosed as a plan doses it, with all that lies on the ground by then.

mod apart;
mod attempt;
mod course;
mod events;
mod json;
mod lying;
mod program;
mod terms;
mod walk;

pub use course::{Course, DroppedRound};
pub use events::season_events;
pub use json::season_json;
pub use program::{NotPlanned, PropertySeason, Round, RoundZone, SeasonOptions, season_each};
pub(crate) use terms::{AT_LIMIT, SeasonTerms};

use turfplat_dose::Day;
use turfplat_season::Date;

/// A day of the calendar as the season's crate counts them.
pub(crate) fn date(day: Day) -> Option<Date> {
    day.to_string().parse().ok()
}

/// The same day as labels' years count them.
pub(crate) fn day(date: Date) -> Option<Day> {
    Day::read(&date.to_string())
}
