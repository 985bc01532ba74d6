//! A plain table of hours, as people write it or a station's program gives it out. Each column says its
//! unit in its name, for a bare `wind` of 8 may be miles or meters.

use std::collections::HashMap;

use jiff::civil::DateTime;
use jiff::fmt::temporal::Pieces;
use jiff::tz::{AmbiguousOffset, Offset};
use turfplat_units::{Length, Speed, nearest};

use super::cells::{self, Read, Values};
use super::celsius::Celsius;
use super::clock::Clock;
use super::error::ForecastError;
use super::notes::Notes;
use super::settle::Found;
use super::{Forecast, SpeedRange};

/// What is read, and what each column holds.
const COLUMNS: [(&str, Holds); 18] = [
    ("time", Holds::Time),
    ("temperature_f", Holds::Temperature),
    ("temperature_c", Holds::Temperature),
    ("dew_point_f", Holds::DewPoint),
    ("dew_point_c", Holds::DewPoint),
    ("humidity_pct", Holds::Humidity),
    ("wind_mph", Holds::Wind),
    ("wind_kmh", Holds::Wind),
    ("wind_ms", Holds::Wind),
    ("wind_kn", Holds::Wind),
    ("gust_mph", Holds::Gust),
    ("gust_kmh", Holds::Gust),
    ("gust_ms", Holds::Gust),
    ("gust_kn", Holds::Gust),
    ("rain_chance_pct", Holds::RainChance),
    ("rain_in", Holds::Rain),
    ("rain_mm", Holds::Rain),
    ("wind_from", Holds::WindFrom),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Holds {
    Time,
    Temperature,
    DewPoint,
    Humidity,
    Wind,
    Gust,
    RainChance,
    Rain,
    WindFrom,
}

/// A column of the file: its place, its name in small letters, and what it holds.
struct Column {
    place: usize,
    name: &'static str,
    holds: Holds,
}

pub(super) fn read(file: &str, text: &str, clock: Clock) -> Result<Forecast, ForecastError> {
    // The first line of an EnergyPlus weather file. Source: its data dictionary.
    if text.trim_start().starts_with("LOCATION,") {
        return Err(ForecastError::TypicalYear { file: file.to_owned() });
    }
    let table = |error: csv::Error| ForecastError::NotATable {
        file: file.to_owned(),
        reason: error.to_string(),
    };
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let header = reader.headers().map_err(table)?.clone();
    let mut found =
        Found { file: file.to_owned(), clock, issued: None, place: None, notes: Notes::default() };
    let columns = columns(file, &header, &mut found.notes)?;
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(table)?;
        let line = record.position().map_or(0, csv::Position::line);
        let cell = |place: usize| record.get(place).unwrap_or_default().trim();
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let at = format!("line {line}");
        if record.len() > header.len() {
            found.notes.alike("cells", format!(
                "{at}: {} cells under {} columns; the hour is left out: put a cell that has a comma in quotes",
                record.len(),
                header.len()
            ));
            continue;
        }
        let time = columns.iter().find(|column| column.holds == Holds::Time);
        let time = time.map_or("", |column| cell(column.place)).to_owned();
        let mut values = Values::default();
        for column in columns.iter().filter(|column| column.holds != Holds::Time) {
            let text = cell(column.place);
            if !text.is_empty()
                && let Err(reason) = column.read(text, &mut values)
            {
                let told: String = text.chars().take(40).collect();
                let whole = format!("{at}, {}", column.name);
                found.notes.cell(&at, &whole, column.name, &format!("{told:?}"), &reason);
            }
        }
        rows.push((at, time, values));
    }
    let hours = placed(&mut found, rows)?;
    found.settle(hours)
}

fn columns(
    file: &str,
    header: &csv::StringRecord,
    notes: &mut Notes,
) -> Result<Vec<Column>, ForecastError> {
    let names = || COLUMNS.iter().map(|(name, _)| *name);
    let refuse = |column: &str, cure: String| ForecastError::Column {
        file: file.to_owned(),
        column: column.chars().take(40).collect(),
        cure,
    };
    let mut columns: Vec<Column> = Vec::new();
    for (place, written) in header.iter().enumerate() {
        let written = written.trim();
        let lower = written.to_lowercase();
        if let Some((name, holds)) = COLUMNS.iter().find(|(name, _)| *name == lower) {
            if let Some(other) = columns.iter().find(|column| column.holds == *holds) {
                return Err(refuse(written, format!("{:?} is there too; keep one", other.name)));
            }
            columns.push(Column { place, name, holds: *holds });
            continue;
        }
        // A name that leaves the unit out, such as "wind".
        let units: Vec<&str> = names()
            .filter(|name| name.rsplit_once('_').is_some_and(|(stem, _)| stem == lower))
            .collect();
        if !units.is_empty() {
            return Err(refuse(
                written,
                format!("its unit is not said; name it {}", units.join(" or ")),
            ));
        }
        if let Some(meant) = nearest(&lower, names()) {
            return Err(refuse(written, format!("not known; {meant:?} may be meant: rename it")));
        }
        if !written.is_empty() {
            let told: String = written.chars().take(40).collect();
            notes.push(format!("line 1: column {told:?} is not read"));
        }
    }
    if columns.iter().any(|column| column.holds == Holds::Time) {
        return Ok(columns);
    }
    let parted = header.len() == 1 && header.get(0).is_some_and(|first| first.contains(';'));
    Err(ForecastError::NoTime {
        file: file.to_owned(),
        meant: if parted {
            "; the columns seem to be parted by semicolons, and commas are read".to_owned()
        } else {
            String::new()
        },
        known: names().collect::<Vec<_>>().join(", "),
    })
}

impl Column {
    fn read(&self, text: &str, values: &mut Values) -> Result<(), String> {
        let unit = self.name.rsplit('_').next().unwrap_or_default();
        let number = |text: &str| {
            cells::without_unit(text, unit).parse::<f64>().ok().filter(|it| it.is_finite())
        };
        let one = || number(text).ok_or_else(|| "no number; write it like 12.5".to_owned());
        let degrees = || -> Result<Celsius, String> {
            let degrees = one()?;
            cells::temperature(if unit == "f" {
                Celsius::from_fahrenheit(degrees)
            } else {
                Celsius::new(degrees)
            })
        };
        let speed = |text: &str| {
            let each = match unit {
                "mph" => Speed::METRES_PER_SECOND_PER_MPH,
                "kmh" => 1.0 / 3.6,
                // Exact: a nautical mile of 1852 m in an hour (NIST SP 811, B.8).
                "kn" => 1852.0 / 3600.0,
                _ => 1.0,
            };
            cells::speed(number(text).and_then(|it| Speed::from_metres_per_second(it * each)))
        };
        let range = || -> Result<SpeedRange, String> {
            let calm = text.eq_ignore_ascii_case("calm");
            let (least, most) = if calm { ("0", "0") } else { cells::ends(text) };
            Ok(cells::range(speed(least)?, speed(most)?))
        };
        match self.holds {
            Holds::Time => {}
            Holds::Temperature => values.temperature = Some(degrees()?),
            Holds::DewPoint => values.dew_point = Some(degrees()?),
            Holds::Humidity => values.humidity = Some(cells::humidity(one()?)?),
            Holds::Wind => values.wind = Some(range()?),
            Holds::Gust => values.gust = Some(range()?.most),
            Holds::RainChance => values.rain_chance = Some(cells::share(one()?)?),
            Holds::Rain => {
                let each = if unit == "in" { Length::METRES_PER_FOOT / 12.0 } else { 0.001 };
                values.rain = Some(cells::depth(Length::from_metres(one()? * each))?);
            }
            Holds::WindFrom => values.wind_from = Some(cells::direction(text)?),
        }
        Ok(())
    }
}

/// Gives each row its moment. Where clocks are set back an hour is told twice: its first row is the
/// earlier; one row alone may be either, and is left out.
fn placed(
    found: &mut Found,
    rows: Vec<(String, String, Values)>,
) -> Result<Vec<Read>, ForecastError> {
    let mut times: HashMap<DateTime, usize> = HashMap::new();
    let read: Vec<Option<Written>> = rows.iter().map(|(_, text, _)| Written::read(text)).collect();
    for written in read.iter().flatten().filter(|written| written.offset.is_none()) {
        *times.entry(written.at).or_default() += 1;
    }
    let mut seen: HashMap<DateTime, usize> = HashMap::new();
    let mut hours = Vec::new();
    for ((at, text, values), written) in rows.into_iter().zip(read) {
        let Some(written) = written else {
            found.notes.alike("time", format!(
                "{at}, time: {text:?} is no time; write it like 2026-06-08T06:00-04:00; the hour is left out"
            ));
            continue;
        };
        let start = match (written.offset, &found.clock) {
            (Some(_), Clock::OfFile) if written.in_utc => {
                return Err(ForecastError::InUtc { file: found.file.clone(), at });
            }
            (Some(offset), _) => offset.to_timestamp(written.at).ok(),
            (None, Clock::OfFile) => {
                return Err(ForecastError::NoOffset { file: found.file.clone(), at, text });
            }
            (None, Clock::Zone(zone)) => {
                let moment = zone.to_ambiguous_timestamp(written.at);
                match moment.offset() {
                    AmbiguousOffset::Unambiguous { .. } => moment.earlier().ok(),
                    AmbiguousOffset::Gap { .. } => {
                        found.notes.alike("forward", format!(
                            "{at}, time: clocks are set forward over {text}, which does not come; the hour is left out: correct it"
                        ));
                        continue;
                    }
                    AmbiguousOffset::Fold { .. } => {
                        let turn = seen.entry(written.at).or_default();
                        *turn += 1;
                        match (times.get(&written.at), *turn) {
                            (Some(2), 1) => moment.earlier().ok(),
                            (Some(2), 2) => moment.later().ok(),
                            _ => {
                                found.notes.alike("twice", format!(
                                    "{at}, time: {text} comes twice that day; the hour is left out: write the offset, such as {text}-04:00"
                                ));
                                continue;
                            }
                        }
                    }
                }
            }
        };
        let Some(start) = start else {
            found.notes.alike(
                "calendar",
                format!("{at}, time: {text:?} is beyond the calendar; the hour is left out"),
            );
            continue;
        };
        let offset = written.offset.unwrap_or(Offset::UTC);
        hours.push(Read { at, start, offset, end_offset: offset, values });
    }
    Ok(hours)
}

/// A time as it stands in a cell.
struct Written {
    at: DateTime,
    offset: Option<Offset>,
    in_utc: bool,
}

impl Written {
    fn read(text: &str) -> Option<Written> {
        let pieces = Pieces::parse(text).ok()?;
        let in_utc = text.trim_end().ends_with(['Z', 'z']);
        Some(Written {
            at: pieces.date().to_datetime(pieces.time()?),
            offset: pieces.to_numeric_offset(),
            in_utc,
        })
    }
}
