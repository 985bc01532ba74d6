//! From hours as a file gives them to a clock without holes.

use std::collections::BTreeMap;

use jiff::{SignedDuration, Timestamp, ZonedDateTime};
use turfplat_units::decimal;

use super::cells::{Read, Values};
use super::clock::Clock;
use super::error::ForecastError;
use super::moisture::{dew_point, relative_humidity};
use super::notes::Notes;
use super::several::{cover, step, worst};
use super::{Forecast, Hour};

/// What hourly forecasts reach at most; common practice, no source.
const MOST_DAYS: i64 = 16;

const HOUR: SignedDuration = SignedDuration::from_hours(1);

/// Dew point and humidity in whole figures agree within this, in degrees Celsius; a choice of this tool.
const DEW_AGREES: f64 = 2.0;
/// A dew point above the air by no more than this is rounding (1 °F), in degrees Celsius.
const DEW_ROUNDING: f64 = 0.6;
/// A gust below the wind by no more than this is rounding (1 mph), in meters per second.
const GUST_ROUNDING: f64 = 0.45;

/// What a reader found beside the hours.
pub(super) struct Found {
    pub(super) file: String,
    pub(super) clock: Clock,
    pub(super) issued: Option<Timestamp>,
    pub(super) place: Option<(f64, f64)>,
    pub(super) notes: Notes,
}

/// Where the hours begin, and what stands in them.
struct Grid {
    first: Timestamp,
    /// How long a row stands for.
    step: SignedDuration,
    /// There are rows between full hours.
    is_finer: bool,
}

impl Grid {
    /// Rows an hour apart begin the hours, whatever minute that is; else full hours of the clock do.
    fn of(sorted: &[Read], first: &Read, clock: &Clock) -> Grid {
        let is_whole =
            |row: &Read| row.start.duration_since(first.start).as_secs() % HOUR.as_secs() == 0;
        if sorted.iter().all(is_whole) {
            return Grid { first: first.start, step: HOUR, is_finer: false };
        }
        let told = clock.shows(first.start, first.offset);
        let since = i64::from(told.minute()) * 60 + i64::from(told.second());
        let since = SignedDuration::from_secs(since);
        let first = first.start.saturating_sub(since).unwrap_or(first.start);
        Grid { first, step: step(sorted), is_finer: true }
    }

    fn place(&self, at: Timestamp) -> i64 {
        at.duration_since(self.first).as_secs() / HOUR.as_secs()
    }

    fn start(&self, place: i64) -> Timestamp {
        self.first.saturating_add(SignedDuration::from_hours(place)).unwrap_or(self.first)
    }
}

impl Found {
    /// Puts the hours in order and fills what is between them with hours of which nothing is given. Of
    /// several rows in an hour the worst counts.
    pub(super) fn settle(mut self, mut read: Vec<Read>) -> Result<Forecast, ForecastError> {
        read.sort_by_key(|hour| hour.start);
        let (Some(first), Some(last)) = (read.first(), read.last()) else {
            let first = self.notes.told().into_iter().next();
            return Err(ForecastError::NoHour { file: self.file, first });
        };
        let grid = Grid::of(&read, first, &self.clock);
        let end = grid.place(last.start);
        if end >= MOST_DAYS * 24 {
            let told = |hour: &Read| self.clock.shows(hour.start, hour.offset).date().to_string();
            let (first, last, days) = (told(first), told(last), MOST_DAYS);
            return Err(ForecastError::TooLong { file: self.file, first, last, days });
        }
        let mut rows: BTreeMap<i64, Vec<&Read>> = BTreeMap::new();
        for row in &read {
            let place = grid.place(row.start);
            rows.entry(place).or_default().push(row);
            // A row from half past stands for the first half of the next hour, too.
            let until = row.start.saturating_add(grid.step).unwrap_or(row.start);
            if grid.is_finer && place < end && until > grid.start(place + 1) {
                rows.entry(place + 1).or_default().push(row);
            }
        }
        let mut hours = Vec::new();
        let mut before = first;
        let mut in_part: Vec<&str> = Vec::new();
        for place in 0..=end {
            let (start, until) = (grid.start(place), grid.start(place + 1));
            let of_hour = rows.get(&place).map(Vec::as_slice).unwrap_or_default();
            if of_hour.is_empty() && rows.contains_key(&(place - 1)) {
                let skipped = (place..=end).take_while(|it| !rows.contains_key(it)).count();
                let word = if skipped == 1 { "hour is" } else { "hours are" };
                self.notes.alike(
                    "skipped",
                    format!(
                        "{skipped} {word} missing after {}; nothing is known of them",
                        before.at
                    ),
                );
            }
            // An hour that the file skips is told by the clock of the one before it.
            let offset = of_hour.first().map_or(before.end_offset, |row| row.offset);
            before = of_hour.last().copied().unwrap_or(before);
            let start_told = self.clock.shows(start, offset);
            let end_told = self.clock.shows(until, before.end_offset);
            let nothing = || Hour::silent(start_told.clone(), end_told.clone());
            let doubled = of_hour.windows(2).find(|pair| pair[0].start == pair[1].start);
            hours.push(if let Some(pair) = doubled {
                self.notes.alike(
                    "doubled",
                    format!(
                        "{}: the hour of {} stands here again; neither is used: keep one",
                        pair[1].at, pair[0].at
                    ),
                );
                nothing()
            } else if of_hour.is_empty() {
                nothing()
            } else if grid.is_finer && !cover(of_hour, start, grid.step) {
                in_part.push(&before.at);
                nothing()
            } else {
                let notes = &mut self.notes;
                let part = |row: &&Read| {
                    Hour::of(&row.at, &row.values, start_told.clone(), end_told.clone(), notes)
                };
                worst(&of_hour.iter().map(part).collect::<Vec<_>>()).unwrap_or_else(nothing)
            });
        }
        if grid.is_finer {
            let apart = if grid.step == HOUR {
                "rows begin at several minutes".to_owned()
            } else {
                format!("rows stand {} min apart", grid.step.as_mins().max(1))
            };
            self.notes.push(format!(
                "{apart}: of those in an hour the strongest wind and gust, the highest chance of rain, \
                 all rain together and both ends of the temperature count"
            ));
        }
        if let Some(first) = in_part.first() {
            let (count, word) = match in_part.len() {
                1 => (1, "hour has"),
                count => (count, "hours have"),
            };
            self.notes.push(format!(
                "{count} {word} rows for a part only, first at {first}; nothing is taken for known of them"
            ));
        }
        let Found { file, clock, issued, place, notes } = self;
        let earlier = Vec::new();
        Ok(Forecast { file, hours, earlier, issued, place, clock, notes: notes.told() })
    }
}

impl Hour {
    /// An hour of which nothing is given.
    fn silent(start: ZonedDateTime, end: ZonedDateTime) -> Hour {
        Hour {
            start,
            end,
            temperature: None,
            coolest: None,
            dew_point: None,
            humidity: None,
            driest: None,
            wind: None,
            wind_from: None,
            gust: None,
            is_gust_in_part: false,
            rain_chance: None,
            rain: None,
        }
    }

    /// Of figures that contradict each other the wetter and the stronger count.
    fn of(
        at: &str,
        values: &Values,
        start: ZonedDateTime,
        end: ZonedDateTime,
        notes: &mut Notes,
    ) -> Hour {
        let (temperature, given, share) = (values.temperature, values.dew_point, values.humidity);
        let by_share = temperature.zip(share).and_then(|(t, share)| dew_point(t, share));
        let by_dew = temperature.zip(given).map(|(t, dew)| relative_humidity(t, dew));
        let (mut dew, mut humidity) = (given.or(by_share), share.or(by_dew));
        let mut driest = humidity;
        if let (Some(t), Some(one)) = (temperature, given)
            && one.degrees() > t.degrees() + DEW_ROUNDING
        {
            notes.alike(
                "dew above air",
                format!(
                    "{at}: dew point {one} is above the air, {t}; it is taken for full of water"
                ),
            );
            humidity = Some(1.0);
        } else if let (Some(one), Some(other), Some(share), Some(by_dew)) =
            (given, by_share, share, by_dew)
            && (one.degrees() - other.degrees()).abs() > DEW_AGREES
        {
            notes.alike(
                "dew and humidity",
                format!(
                    "{at}: dew point {one} and humidity {} % contradict each other, for at that dew \
                     point it would be {} %; the wetter counts",
                    decimal(share * 100.0, 0),
                    decimal(by_dew * 100.0, 0)
                ),
            );
            dew = Some(if one >= other { one } else { other });
            humidity = Some(share.max(by_dew));
            driest = Some(share.min(by_dew));
        }
        let mut gust = values.gust;
        if let (Some(given), Some(wind)) = (values.gust, values.wind)
            && given < wind.most
        {
            let apart = wind.most.metres_per_second() - given.metres_per_second();
            if apart > GUST_ROUNDING {
                notes.alike(
                    "gust below wind",
                    format!("{at}: gusts are below the wind; the wind counts for both"),
                );
            }
            gust = Some(wind.most);
        }
        Hour {
            temperature,
            coolest: temperature,
            dew_point: dew,
            humidity,
            driest,
            wind: values.wind,
            wind_from: values.wind_from.clone(),
            gust,
            rain_chance: values.rain_chance,
            rain: values.rain,
            ..Hour::silent(start, end)
        }
    }
}
