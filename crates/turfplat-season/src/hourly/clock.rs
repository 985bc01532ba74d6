use std::fmt;

use jiff::Timestamp;
use jiff::ZonedDateTime;
use jiff::tz::{Offset, TimeZone};
use turfplat_units::nearest;

use super::error::ForecastError;

/// Which clock the hours of a forecast are told by.
#[derive(Clone, Debug, PartialEq)]
pub enum Clock {
    /// That of a time zone with its changes to and from daylight saving time.
    Zone(TimeZone),
    /// The offsets that the file itself writes beside its times.
    OfFile,
}

impl Clock {
    /// The clock of the zone of that name; without a name that of the file.
    ///
    /// # Errors
    ///
    /// [`ForecastError::UnknownZone`], with what may have been meant.
    pub fn of(zone: Option<&str>) -> Result<Clock, ForecastError> {
        let Some(name) = zone.map(str::trim) else { return Ok(Clock::OfFile) };
        TimeZone::get(name).map(Clock::Zone).map_err(|_| {
            let known: Vec<String> =
                jiff::tz::db().available().map(|known| known.to_string()).collect();
            let meant = nearest(name, known.iter().map(String::as_str)).map(str::to_owned);
            ForecastError::UnknownZone { name: name.to_owned(), meant }
        })
    }

    /// That moment as the clock shows it; `offset` is what the file writes beside it.
    pub(super) fn shows(&self, at: Timestamp, offset: Offset) -> ZonedDateTime {
        match self {
            Clock::Zone(zone) => at.to_zoned_datetime(zone.clone()),
            Clock::OfFile => at.to_zoned_datetime(TimeZone::fixed(offset)),
        }
    }
}

impl fmt::Display for Clock {
    /// `America/New_York`, or `as the forecast writes it`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Clock::Zone(zone) => f.write_str(zone.iana_name().unwrap_or("UTC")),
            Clock::OfFile => f.write_str("as the forecast writes it"),
        }
    }
}
