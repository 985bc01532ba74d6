//! The hourly forecast of the U.S. National Weather Service, `gridpoints/{office}/{x},{y}/forecast/hourly`.
//!
//! Its interface is in motion: temperature and wind are numbers and texts ("72", "5 to 10 mph") or, with
//! its feature flags, objects with a `unitCode`. Both are read. Source: the service's published OpenAPI
//! description, schemas `GridpointHourlyForecast`, its period and `QuantitativeValue`.

use jiff::fmt::temporal::Pieces;
use jiff::tz::Offset;
use jiff::{SignedDuration, Timestamp};
use serde_json::{Map, Value};
use turfplat_units::Speed;

use super::cells::{self, Read, Values};
use super::celsius::Celsius;
use super::clock::Clock;
use super::error::ForecastError;
use super::notes::Notes;
use super::settle::Found;
use super::{Forecast, SpeedRange};

pub(super) fn read(file: &str, text: &str, clock: Clock) -> Result<Forecast, ForecastError> {
    let whole: Value = serde_json::from_str(text).map_err(|error| {
        let (line, column) = (error.line(), error.column());
        let reason = error.to_string();
        let reason = reason.split(" at line ").next().unwrap_or_default().to_owned();
        ForecastError::NotJson { file: file.to_owned(), line, column, reason }
    })?;
    // GeoJSON keeps all under "properties", JSON-LD, which the service gives out too, at the top.
    let properties = whole.get("properties").unwrap_or(&whole);
    let Some(periods) = properties.get("periods").and_then(Value::as_array) else {
        let file = file.to_owned();
        let is_grid =
            properties.get("temperature").is_some_and(|layer| layer.get("values").is_some());
        return Err(if is_grid {
            ForecastError::RawGrid { file }
        } else {
            ForecastError::NoPeriods { file }
        });
    };
    let us = properties.get("units").and_then(Value::as_str) != Some("si");
    let issued = ["updateTime", "generatedAt"]
        .into_iter()
        .find_map(|key| properties.get(key).and_then(Value::as_str)?.parse::<Timestamp>().ok());
    let mut found = Found {
        file: file.to_owned(),
        clock,
        issued,
        place: middle(whole.get("geometry")),
        notes: Notes::default(),
    };
    let mut hours = Vec::new();
    for (place, period) in periods.iter().enumerate() {
        let at = format!("periods[{place}]");
        let Some(period) = period.as_object() else {
            found.notes.alike("no object", format!("{at}: no object; it is left out"));
            continue;
        };
        match times(period) {
            Err(reason) => {
                found.notes.alike("time", format!("{at}.{reason}; the hour is left out"));
            }
            Ok((start, end)) => {
                let length = end.0.duration_since(start.0);
                if length >= SignedDuration::from_hours(2) {
                    let hours = length.as_hours();
                    return Err(ForecastError::LongPeriods { file: file.to_owned(), hours });
                }
                if found.clock == Clock::OfFile && start.2 {
                    return Err(ForecastError::InUtc { file: file.to_owned(), at });
                }
                let values = Period { at: &at, period, us, notes: &mut found.notes }.values();
                hours.push(Read { at, start: start.0, offset: start.1, end_offset: end.1, values });
            }
        }
    }
    found.settle(hours)
}

/// A moment, the offset that stands beside it, and whether it is told in UTC by a `Z`.
type Moment = (Timestamp, Offset, bool);

fn times(period: &Map<String, Value>) -> Result<(Moment, Moment), String> {
    let start = moment(period, "startTime")?;
    let end = match period.get("endTime") {
        Some(_) => moment(period, "endTime")?,
        None => (
            start.0.saturating_add(SignedDuration::from_hours(1)).unwrap_or(start.0),
            start.1,
            start.2,
        ),
    };
    if end.0 <= start.0 {
        return Err("endTime is not after startTime".to_owned());
    }
    Ok((start, end))
}

fn moment(period: &Map<String, Value>, key: &str) -> Result<Moment, String> {
    let text = period.get(key).and_then(Value::as_str);
    let text = text.ok_or_else(|| format!("{key} is missing"))?;
    let write =
        || format!("{key}: {text:?} is no time with an offset, such as 2026-06-08T06:00:00-04:00");
    let at: Timestamp = text.parse().map_err(|_| write())?;
    let offset = Pieces::parse(text).ok().and_then(|pieces| pieces.to_numeric_offset());
    let in_utc = text.trim_end().ends_with(['Z', 'z']);
    Ok((at, offset.ok_or_else(write)?, in_utc))
}

/// The middle of the grid cell: the mean of its corners, which is near enough for a cell of 2.5 km.
fn middle(geometry: Option<&Value>) -> Option<(f64, f64)> {
    let ring = geometry?.get("coordinates")?.get(0)?.as_array()?;
    let corner = |corner: &Value| Some((corner.get(0)?.as_f64()?, corner.get(1)?.as_f64()?));
    // The last corner repeats the first.
    let corners: Vec<(f64, f64)> = ring.iter().skip(1).filter_map(corner).collect();
    let count = corners.len() as f64;
    let (east, north) = corners.into_iter().reduce(|a, b| (a.0 + b.0, a.1 + b.1))?;
    Some((east / count, north / count))
}

/// One hour of the list, and where to note what of it cannot be used.
struct Period<'a> {
    at: &'a str,
    period: &'a Map<String, Value>,
    us: bool,
    notes: &'a mut Notes,
}

impl Period<'_> {
    fn values(&mut self) -> Values {
        let unit = self.period.get("temperatureUnit").and_then(Value::as_str);
        let degrees = unit.unwrap_or(if self.us { "F" } else { "C" }).to_owned();
        let temperature = |value: &Value| temperature(value, &degrees);
        Values {
            temperature: self.value("temperature", temperature),
            dew_point: self.value("dewpoint", temperature),
            humidity: self.value("relativeHumidity", |value| cells::humidity(percent(value)?)),
            wind: self.value("windSpeed", wind),
            wind_from: self.value("windDirection", direction),
            gust: self.value("windGust", |value| wind(value).map(|gust| gust.most)),
            rain_chance: self
                .value("probabilityOfPrecipitation", |value| cells::share(percent(value)?)),
            rain: None,
        }
    }

    /// The value of a key; `None` where nothing is given, or it cannot be used and is noted.
    fn value<T>(&mut self, key: &str, read: impl Fn(&Value) -> Result<T, String>) -> Option<T> {
        let value = self.period.get(key).filter(|value| is_given(value))?;
        match read(value) {
            Ok(value) => Some(value),
            Err(reason) => {
                let told: String = value.to_string().chars().take(80).collect();
                let whole = format!("{}.{key}", self.at);
                self.notes.cell(self.at, &whole, key, &told, &reason);
                None
            }
        }
    }
}

/// `null`, an empty text and an object whose values are all null say nothing.
fn is_given(value: &Value) -> bool {
    match value {
        Value::Null => false,
        Value::String(text) => !text.trim().is_empty(),
        Value::Object(object) => ["value", "minValue", "maxValue"]
            .into_iter()
            .any(|key| object.get(key).is_some_and(|it| !it.is_null())),
        _ => true,
    }
}

/// The number of an object with its unit, without the prefix of the unit's name.
fn quantity<'a>(value: &'a Value, key: &str) -> Option<(f64, &'a str)> {
    let unit = value.get("unitCode").and_then(Value::as_str).unwrap_or_default();
    let unit = unit.rsplit(':').next().unwrap_or_default();
    Some((value.get(key)?.as_f64()?, unit))
}

fn temperature(value: &Value, degrees: &str) -> Result<Celsius, String> {
    let (number, unit) = match value.as_f64() {
        Some(number) => (number, degrees),
        None => quantity(value, "value").ok_or("neither a number nor an object with a value")?,
    };
    cells::temperature(match unit {
        "F" | "degF" => Celsius::from_fahrenheit(number),
        "C" | "degC" => Celsius::new(number),
        "K" => Celsius::new(number - 273.15),
        _ => return Err(format!("in {unit:?}, which is no unit of temperature known here")),
    })
}

fn percent(value: &Value) -> Result<f64, String> {
    if let Some(number) = value.as_f64() {
        return Ok(number);
    }
    match quantity(value, "value") {
        Some((number, "percent" | "")) => Ok(number),
        Some((_, unit)) => Err(format!("in {unit:?}, where percent are expected")),
        None => Err("neither a number nor an object with a value".to_owned()),
    }
}

fn wind(value: &Value) -> Result<SpeedRange, String> {
    if let Some(text) = value.as_str() {
        let (least, most) = cells::ends(text);
        let unit = most.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
        let read = |text: &str| cells::speed(text.parse().ok());
        let most_read = read(most)?;
        // The unit stands behind the second number, or behind both.
        let bare = least.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
        let least = if bare { read(&format!("{least}{unit}"))? } else { read(least)? };
        return Ok(cells::range(least, most_read));
    }
    let one = |key| -> Result<Option<Speed>, String> {
        quantity(value, key).map(|(number, unit)| cells::speed(speed(number, unit)?)).transpose()
    };
    let (value, least, most) = (one("value")?, one("minValue")?, one("maxValue")?);
    match (least.or(value), most.or(value)) {
        (Some(least), Some(most)) => Ok(cells::range(least, most)),
        // Of a range with one end the other is not known.
        _ => Err("a wind of which one end is missing".to_owned()),
    }
}

/// `None` of a speed below nothing.
fn speed(number: f64, unit: &str) -> Result<Option<Speed>, String> {
    let each = match unit {
        "km_h-1" => 1.0 / 3.6,
        "m_s-1" => 1.0,
        "mi_h-1" => Speed::METRES_PER_SECOND_PER_MPH,
        // Exact: a nautical mile of 1852 m in an hour (NIST SP 811, B.8).
        "kt" | "kn" | "knot" => 1852.0 / 3600.0,
        _ => return Err(format!("in {unit:?}, which is no unit of speed known here")),
    };
    Ok(Speed::from_metres_per_second(number * each))
}

fn direction(value: &Value) -> Result<String, String> {
    if let Some(text) = value.as_str() {
        return cells::direction(text);
    }
    let (degrees, _) = quantity(value, "value").ok_or("no direction")?;
    cells::direction(&format!("{degrees:.0}"))
}
