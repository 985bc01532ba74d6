//! From hours as a file gives them to a clock without holes.

use jiff::{SignedDuration, Timestamp};

use super::cells::{Read, Values};
use super::clock::Clock;
use super::error::ForecastError;
use super::moisture::{dew_point, relative_humidity};
use super::{Forecast, Hour};

/// What hourly forecasts reach at most; common practice, no source.
const MOST_DAYS: i64 = 16;

const HOUR: SignedDuration = SignedDuration::from_hours(1);

/// What a reader found beside the hours.
pub(super) struct Found {
    pub(super) file: String,
    pub(super) clock: Clock,
    pub(super) issued: Option<Timestamp>,
    pub(super) place: Option<(f64, f64)>,
    pub(super) notes: Vec<String>,
}

impl Found {
    /// Puts the hours in order and fills what is between them with hours of which nothing is given.
    pub(super) fn settle(mut self, mut read: Vec<Read>) -> Result<Forecast, ForecastError> {
        read.sort_by_key(|hour| hour.start);
        let (Some(first), Some(last)) = (read.first().cloned(), read.last()) else {
            let first = self.notes.into_iter().next();
            return Err(ForecastError::NoHour { file: self.file, first });
        };
        if last.start.duration_since(first.start).as_hours() >= MOST_DAYS * 24 {
            let told = |hour: &Read| self.clock.shows(hour.start, hour.offset).date().to_string();
            let (first, last, days) = (told(&first), told(last), MOST_DAYS);
            return Err(ForecastError::TooLong { file: self.file, first, last, days });
        }
        let mut hours: Vec<Hour> = Vec::new();
        let mut before: Option<Read> = None;
        for hour in read {
            let since = hour.start.duration_since(first.start);
            if since.as_secs() % HOUR.as_secs() != 0 {
                self.notes.push(format!(
                    "{}: begins {} min after the hours before it; it is left out: give one row an hour",
                    hour.at,
                    since.as_mins() % 60
                ));
                continue;
            }
            if let Some(earlier) = before.as_ref().filter(|earlier| earlier.start == hour.start) {
                self.notes.push(format!(
                    "{}: the hour of {} stands here again; neither is used: keep one",
                    hour.at, earlier.at
                ));
                if let Some(doubled) = hours.last_mut() {
                    let (start, end) = (doubled.start.clone(), doubled.end.clone());
                    *doubled = Hour::of(Values::default(), start, end);
                }
                continue;
            }
            self.fill(&mut hours, before.as_ref(), hour.start);
            let start = self.clock.shows(hour.start, hour.offset);
            let end = self
                .clock
                .shows(hour.start.saturating_add(HOUR).unwrap_or(hour.start), hour.end_offset);
            hours.push(Hour::of(hour.values.clone(), start, end));
            before = Some(hour);
        }
        let Found { file, clock, issued, place, notes } = self;
        Ok(Forecast { file, hours, issued, place, clock, notes })
    }

    /// Hours that the file skips, of which nothing is given.
    fn fill(&mut self, hours: &mut Vec<Hour>, before: Option<&Read>, next: Timestamp) {
        let Some(before) = before else { return };
        let mut at = before.start.saturating_add(HOUR).unwrap_or(next);
        let skipped = next.duration_since(at).as_hours();
        if skipped > 0 {
            let word = if skipped == 1 { "hour is" } else { "hours are" };
            self.notes.push(format!(
                "{skipped} {word} missing after {}; nothing is known of them",
                before.at
            ));
        }
        while at < next {
            let end = at.saturating_add(HOUR).unwrap_or(next);
            let (start, end) =
                (self.clock.shows(at, before.end_offset), self.clock.shows(end, before.end_offset));
            hours.push(Hour::of(Values::default(), start, end));
            at = end_of(hours).unwrap_or(next);
        }
    }
}

fn end_of(hours: &[Hour]) -> Option<Timestamp> {
    hours.last().map(|hour| hour.end.timestamp())
}

impl Hour {
    fn of(values: Values, start: jiff::ZonedDateTime, end: jiff::ZonedDateTime) -> Hour {
        let Values { temperature, dew_point: given, humidity, .. } = values;
        let worked_out = || temperature.zip(humidity).and_then(|(t, share)| dew_point(t, share));
        let share = || temperature.zip(given).map(|(t, dew)| relative_humidity(t, dew));
        Hour {
            start,
            end,
            temperature,
            dew_point: given.or_else(worked_out),
            humidity: humidity.or_else(share),
            wind: values.wind,
            wind_from: values.wind_from,
            gust: values.gust,
            rain_chance: values.rain_chance,
            rain: values.rain,
        }
    }
}
