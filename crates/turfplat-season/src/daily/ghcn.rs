//! GHCN-Daily as CSV. NCEI hands it out in two layouts: a line for each value (files of a year or of a
//! station), and a line for each day with a column for each element. Both give temperatures in tenths
//! of a degree Celsius and mark a value that failed a check with a letter, its quality flag.
//!
//! Source: NOAA NCEI, readme of GHCN-Daily version 3 and of its by_year and by_station files.

use std::io::Read;

use csv::{ByteRecord, ReaderBuilder, StringRecord};
use jiff::civil::Date;

use super::dropped::DropReason;
use super::error::DailyError;
use super::read::{DailyOptions, cells, compact_day, day};
use super::series::{Reading, SoilPart, Value, What};
use super::temperature::Temperature;

/// What stands for a missing value in all layouts.
const MISSING: &str = "-9999";

/// So many stations are named in a message.
const NAMED: usize = 5;

/// The station whose lines count: the one that was asked for, else the only one.
pub(super) struct Stations<'a> {
    wanted: Option<&'a str>,
    /// The first few, to name them.
    seen: Vec<String>,
    more: bool,
}

impl<'a> Stations<'a> {
    pub(super) fn new(wanted: Option<&'a str>) -> Stations<'a> {
        Stations { wanted, seen: Vec::new(), more: false }
    }

    /// True of a line that counts.
    pub(super) fn counts(&mut self, id: &str) -> bool {
        if self.seen.last().is_none_or(|last| last != id) && !self.seen.iter().any(|it| it == id) {
            match self.seen.len() {
                0..NAMED => self.seen.push(id.to_owned()),
                _ => self.more = true,
            }
        }
        match self.wanted {
            Some(wanted) => wanted.eq_ignore_ascii_case(id),
            None => self.seen.first().is_some_and(|first| first == id),
        }
    }

    /// Its id, once all lines were seen.
    pub(super) fn settled(self, file: &str, found: bool) -> Result<Option<String>, DailyError> {
        let file = file.to_owned();
        let more = if self.more { ", …" } else { "" };
        let known = format!("{}{more}", self.seen.join(", "));
        match self.wanted {
            Some(wanted) if found => Ok(Some(wanted.to_owned())),
            Some(wanted) => {
                Err(DailyError::NoSuchStation { file, station: wanted.to_owned(), known })
            }
            None if self.seen.len() > 1 => Err(DailyError::SeveralStations { file, known }),
            None => Ok(self.seen.into_iter().next()),
        }
    }
}

/// Which temperature an element is; `None` of rain, snow and wind.
pub(super) fn element(name: &str) -> Option<What> {
    match name {
        "TMAX" => Some(What::Most),
        "TMIN" => Some(What::Least),
        _ => {
            let (part, code) = match name.split_at_checked(2)? {
                ("SN", code) => (SoilPart::Least, code),
                ("SX", code) => (SoilPart::Most, code),
                _ => return None,
            };
            // SNOW and SNWD are snow; soil has two digits, cover and depth.
            let is_code = code.len() == 2 && code.bytes().all(|byte| byte.is_ascii_digit());
            is_code.then(|| What::Soil(code.to_owned(), part))
        }
    }
}

/// A value of tenths of a degree as it stands in a file; `None` where nothing stands there.
pub(super) struct Tenths<'t> {
    pub(super) line: u64,
    pub(super) day: Date,
    pub(super) element: &'t str,
    pub(super) what: What,
    pub(super) text: &'t str,
    pub(super) quality: &'t str,
}

impl Tenths<'_> {
    /// Takes the value in, or says why not; `Err` of what is no whole number.
    pub(super) fn add(self, reading: &mut Reading) -> Result<(), ()> {
        let Tenths { line, day, element, what, text, quality } = self;
        let text = text.trim();
        if text.is_empty() || text == MISSING {
            return Ok(());
        }
        let quality = quality.trim();
        if !quality.is_empty() {
            let flag = DropReason::QualityFlag(quality.to_owned());
            reading.drop(line, Some(day), element, text, flag);
            return Ok(());
        }
        let Ok(tenths) = text.parse::<i32>() else {
            if text.parse::<f64>().is_ok() {
                return Err(());
            }
            reading.drop(line, Some(day), element, text, DropReason::NoNumber);
            return Ok(());
        };
        if let Some(temperature) = Temperature::from_celsius(f64::from(tenths) / 10.0) {
            let (column, text) = (element.to_owned(), text.to_owned());
            reading.add(Value { line, day, what, column, text, temperature });
        }
        Ok(())
    }
}

/// Lines of `ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME`, with that header or without.
pub(super) fn read_rows(
    file: &str,
    text: impl Read,
    options: &DailyOptions<'_>,
    reading: &mut Reading,
) -> Result<Option<String>, DailyError> {
    let mut table = ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text);
    let mut stations = Stations::new(options.station);
    let mut found = false;
    let mut row = ByteRecord::new();
    while table.read_byte_record(&mut row).map_err(|error| not_a_table(file, &error))? {
        let line = row.position().map_or(0, csv::Position::line);
        let cell = |place: usize| {
            row.get(place).and_then(|cell| std::str::from_utf8(cell).ok()).unwrap_or("").trim()
        };
        let [id, on, name] = [cell(0), cell(1), cell(2)];
        if line == 1 && name.eq_ignore_ascii_case("ELEMENT") || id.is_empty() && row.len() <= 1 {
            continue;
        }
        if !stations.counts(id) {
            continue;
        }
        found = true;
        let Some(what) = element(name) else { continue };
        let Some(day) = compact_day(on) else {
            reading.drop(line, None, name, on, DropReason::NoDay);
            continue;
        };
        let (text, quality) = (cell(3), cell(5));
        let tenths = Tenths { line, day, element: name, what, text, quality };
        tenths.add(reading).map_err(|()| not_tenths(file, line, name, text))?;
    }
    stations.settled(file, found)
}

/// A line for each day, with a column for each element and one for its flags beside it.
pub(super) fn read_columns(
    file: &str,
    text: impl Read,
    head: &str,
    options: &DailyOptions<'_>,
    reading: &mut Reading,
) -> Result<Option<String>, DailyError> {
    let names: Vec<String> = cells(head).map(str::to_ascii_uppercase).collect();
    let column = |name: &str| names.iter().position(|it| it == name);
    let (Some(station), Some(on)) = (column("STATION"), column("DATE")) else {
        return Err(DailyError::UnknownLayout { file: file.to_owned(), line: 1 });
    };
    // Of an order by form the name stands second; there the unit was chosen, and is not told.
    if column("NAME").is_some_and(|name| name == station + 1) || column("LATITUDE").is_none() {
        return Err(DailyError::OrderedByForm { file: file.to_owned() });
    }
    let elements: Vec<(usize, Option<usize>, &str, What)> = (names.iter().enumerate())
        .filter_map(|(place, name)| {
            let what = element(name)?;
            let flags = names.get(place + 1).filter(|it| **it == format!("{name}_ATTRIBUTES"));
            Some((place, flags.map(|_| place + 1), name.as_str(), what))
        })
        .collect();
    let mut table = ReaderBuilder::new().flexible(true).from_reader(text);
    let mut stations = Stations::new(options.station);
    let mut found = false;
    let mut row = StringRecord::new();
    while table.read_record(&mut row).map_err(|error| not_a_table(file, &error))? {
        let line = row.position().map_or(0, csv::Position::line);
        let cell = |place: usize| row.get(place).unwrap_or("").trim();
        if !stations.counts(cell(station)) {
            continue;
        }
        found = true;
        let Some(day) = day(cell(on)) else {
            reading.drop(line, None, "DATE", cell(on), DropReason::NoDay);
            continue;
        };
        for (place, flags, name, what) in &elements {
            // The flags are M, Q, S and perhaps a time, in one cell.
            let quality = flags.and_then(|flags| cell(flags).split(',').nth(1)).unwrap_or("");
            let text = cell(*place);
            let tenths = Tenths { line, day, element: name, what: what.clone(), text, quality };
            tenths.add(reading).map_err(|()| not_tenths(file, line, name, text))?;
        }
    }
    stations.settled(file, found)
}

pub(super) fn not_a_table(file: &str, error: &csv::Error) -> DailyError {
    DailyError::NotATable { file: file.to_owned(), reason: error.to_string() }
}

fn not_tenths(file: &str, line: u64, column: &str, text: &str) -> DailyError {
    let (file, column, text) = (file.to_owned(), column.to_owned(), text.to_owned());
    DailyError::NotTenths { file, line, column, text }
}
