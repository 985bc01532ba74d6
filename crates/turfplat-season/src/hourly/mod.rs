//! Why a forecast is settled hour by hour before a rule looks at it: services write wind as "5 to 10
//! mph", leave a gust out or send `null`, and an hour that the file skips must not look like a calm
//! and dry one. Here each of these becomes a value or "not given", on a clock without holes.

mod cells;
mod celsius;
mod clock;
mod error;
mod moisture;
mod notes;
mod nws;
mod settle;
mod several;
mod table;

pub use celsius::Celsius;
pub use clock::Clock;
pub use error::ForecastError;
pub use moisture::{dew_point, relative_humidity, wet_bulb};

use jiff::{Timestamp, ZonedDateTime};
use turfplat_units::{Length, Speed, UnitSystem, significant};

/// The forecast of consecutive hours at one place.
#[derive(Clone, Debug)]
pub struct Forecast {
    /// The file's name, for messages.
    pub file: String,
    /// At least one; each begins where the one before it ends.
    pub hours: Vec<Hour>,
    /// The hours before these that are over, in their order: rain in them still lies on the leaf.
    pub earlier: Vec<Hour>,
    /// When it was made; `None` where the file does not say.
    pub issued: Option<Timestamp>,
    /// Longitude and latitude of the middle of the ground that it is for, in degrees; `None` where the
    /// file does not say.
    pub place: Option<(f64, f64)>,
    /// Which clock its hours are told by.
    pub clock: Clock,
    /// What of the file could not be used, with its place and the cure: its value is not given. Notes of
    /// one kind are told once, with their number.
    pub notes: Vec<String>,
}

/// One hour of a forecast; what is `None` is not given, or could not be used.
#[derive(Clone, Debug)]
pub struct Hour {
    /// When it begins, by the local clock; later than the full hour where a part of it is over.
    pub start: ZonedDateTime,
    /// When it ends, by the local clock: where clocks are set in between, it is not one o'clock later.
    pub end: ZonedDateTime,
    /// Of the air; the warmest where the file has several rows in the hour.
    pub temperature: Option<Celsius>,
    /// The coolest of several rows; with one row that of the air.
    pub coolest: Option<Celsius>,
    /// Of the air, at its highest; worked out from the humidity where only that is given.
    pub dew_point: Option<Celsius>,
    /// Relative humidity as a share from 0 to 1, at its highest; worked out from the dew point where
    /// only that is given.
    pub humidity: Option<f64>,
    /// The lowest relative humidity of several rows, or of figures that contradict each other.
    pub driest: Option<f64>,
    /// The mean wind, 10 m above ground in a public forecast.
    pub wind: Option<SpeedRange>,
    /// Where it comes from, as the file writes it, such as `NW`.
    pub wind_from: Option<String>,
    /// The strongest gust.
    pub gust: Option<Speed>,
    /// Some of several rows give gusts, and others do not.
    pub is_gust_in_part: bool,
    /// How likely it rains or snows, as a share from 0 to 1.
    pub rain_chance: Option<f64>,
    /// How much rain or melted snow, as depth.
    pub rain: Option<Length>,
}

/// One speed, or from the least to the most, as a forecast writes `5 to 10 mph`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpeedRange {
    /// At least; a floor is held to it.
    pub least: Speed,
    /// At most; a ceiling is held to it.
    pub most: Speed,
}

impl SpeedRange {
    /// `5 to 10 mph`, or `5 mph` where both are one.
    pub fn print(self, units: UnitSystem) -> String {
        let most = self.most.print(units);
        if self.least == self.most {
            return most;
        }
        let least = match units {
            UnitSystem::Us => self.least.mph(),
            UnitSystem::Metric => self.least.kilometres_per_hour(),
        };
        format!("{} to {most}", significant(least, 3))
    }
}

impl Forecast {
    /// The largest file that is read: a week of hours takes a tenth of a megabyte.
    const MOST_BYTES: usize = 20_000_000;

    /// Reads an hourly forecast: the JSON of the U.S. National Weather Service's
    /// `gridpoints/…/forecast/hourly`, or a table (CSV) with a column `time`.
    ///
    /// * `zone`: name of the property's time zone (IANA), such as `America/New_York`. Without it hours
    ///   are told by the offsets that the file itself writes.
    /// * Out: consecutive hours; one that the file skips is there, with nothing given.
    ///
    /// # Errors
    ///
    /// [`ForecastError`] for a file that is no hourly forecast, or none of whose hours can be read. A
    /// value that cannot be used is not given, and stands among the notes.
    pub fn read(file: &str, bytes: &[u8], zone: Option<&str>) -> Result<Forecast, ForecastError> {
        let clock = Clock::of(zone)?;
        let file = file.to_owned();
        if bytes.len() > Forecast::MOST_BYTES {
            return Err(ForecastError::TooLarge { file });
        }
        let text = std::str::from_utf8(bytes).map_err(|error| {
            let before = bytes.iter().take(error.valid_up_to());
            let line = before.filter(|byte| **byte == b'\n').count() + 1;
            ForecastError::NotUtf8 { file: file.clone(), line }
        })?;
        let text = text.trim_start_matches('\u{feff}');
        if text.trim_start().starts_with(['{', '[']) {
            nws::read(&file, text, clock)
        } else {
            table::read(&file, text, clock)
        }
    }

    /// What is not over at that moment, which begins an hour of its own where it is in the middle of
    /// one, to the minute; `None` where all is over. What is over is kept beside it.
    pub fn since(mut self, from: Timestamp) -> Option<Forecast> {
        let seconds = from.as_second() + i64::from(from.subsec_nanosecond() > 0);
        let minute = (seconds + 59).div_euclid(60) * 60;
        let from = Timestamp::from_second(minute).unwrap_or(from);
        let over = self.hours.iter().take_while(|hour| hour.end.timestamp() <= from).count();
        self.earlier.extend(self.hours.drain(..over));
        let first = self.hours.first_mut()?;
        if first.start.timestamp() < from {
            first.start = from.to_zoned_datetime(first.start.time_zone().clone());
        }
        Some(self)
    }
}
