//! A table of one's own: a column `date`, and temperatures whose unit stands in their column's name.
//! No unit is guessed from the size of the numbers: 30 is a warm day in one and a frost in the other.

use std::io::Read;

use csv::{ReaderBuilder, StringRecord};
use jiff::civil::Date;
use turfplat_units::nearest;

use super::dropped::DropReason;
use super::error::DailyError;
use super::ghcn::not_a_table;
use super::read::{DailyOptions, cells, day, delimiter};
use super::series::{Reading, SoilPart, Value, What};
use super::temperature::Temperature;

/// A year for days that have none, as normals are written (`05-02`); it has a 29 February.
const NO_YEAR: i16 = 2000;

#[derive(Clone, Copy)]
enum Unit {
    Fahrenheit,
    Celsius,
}

struct Column {
    place: usize,
    /// Of its station's flags, as in a station file whose columns were renamed.
    flags: Option<usize>,
    name: String,
    what: What,
    unit: Unit,
}

pub(super) fn folded(name: &str) -> String {
    name.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_ascii_lowercase()
}

/// Which temperature a column holds, and the rest of its name, which should be the unit.
fn temperature_of(name: &str) -> Option<(What, String)> {
    let folded = folded(name);
    let words = [
        ("tmax", What::Most),
        ("tmin", What::Least),
        ("high", What::Most),
        ("low", What::Least),
        ("soil", What::Soil(name.to_owned(), SoilPart::Mean)),
    ];
    words.into_iter().find_map(|(word, what)| {
        let rest = folded.strip_prefix(word)?;
        let is_unit = rest.is_empty() || unit_of(rest).is_some();
        is_unit.then(|| (what, rest.to_owned()))
    })
}

/// A unit as it stands behind a name, folded: `tmax_f`, `TMAX (Degrees Fahrenheit)`.
fn unit_of(folded: &str) -> Option<Unit> {
    match folded.strip_prefix("degrees").or(folded.strip_prefix("deg")).unwrap_or(folded) {
        "f" | "fahrenheit" => Some(Unit::Fahrenheit),
        "c" | "celsius" => Some(Unit::Celsius),
        _ => None,
    }
}

pub(super) fn read(
    file: &str,
    text: impl Read,
    head: &str,
    options: &DailyOptions<'_>,
    reading: &mut Reading,
) -> Result<Option<String>, DailyError> {
    let names: Vec<&str> = cells(head).collect();
    let on = names.iter().position(|name| folded(name) == "date");
    let on = on.ok_or_else(|| no_column(file, "date", &names))?;
    let columns = columns(file, &names)?;
    let of_station = names.iter().position(|name| folded(name) == "station");
    let comma_is_a_point = delimiter(head) != b',';
    let mut table =
        ReaderBuilder::new().delimiter(delimiter(head)).flexible(true).from_reader(text);
    let mut stations = super::ghcn::Stations::new(options.station);
    let mut found = false;
    let mut row = StringRecord::new();
    while table.read_record(&mut row).map_err(|error| not_a_table(file, &error))? {
        let line = row.position().map_or(0, csv::Position::line) + reading.before;
        let cell = |place: usize| row.get(place).unwrap_or("").trim();
        if row.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        if of_station.is_some_and(|place| !stations.counts(cell(place))) {
            continue;
        }
        found = true;
        let of_any_year = day_of_any_year(cell(on));
        reading.without_year |= of_any_year.is_some();
        let Some(day) = day(cell(on)).or(of_any_year) else {
            if looks_like_another_order(cell(on)) {
                let text = cell(on).to_owned();
                return Err(DailyError::DayOrMonth { file: file.to_owned(), line, text });
            }
            reading.drop(line, None, "date", cell(on), DropReason::NoDay);
            continue;
        };
        for Column { place, flags, name, what, unit } in &columns {
            let text = cell(*place);
            if text.is_empty() || text == "-9999" {
                continue;
            }
            let quality = flags.and_then(|flags| cell(flags).split(',').nth(1)).unwrap_or("");
            if !quality.trim().is_empty() {
                let flag = DropReason::QualityFlag(quality.trim().to_owned());
                reading.drop(line, Some(day), name, text, flag);
                continue;
            }
            let number = text.replace('−', "-");
            let number = if comma_is_a_point { number.replace(',', ".") } else { number };
            let read = number.parse().ok().and_then(|degrees| match unit {
                Unit::Fahrenheit => Temperature::from_fahrenheit(degrees),
                Unit::Celsius => Temperature::from_celsius(degrees),
            });
            let Some(temperature) = read else {
                reading.drop(line, Some(day), name, text, DropReason::NoNumber);
                continue;
            };
            let (column, text) = (name.clone(), text.to_owned());
            reading.add(Value { line, day, what: what.clone(), column, text, temperature });
        }
    }
    match of_station {
        Some(_) => stations.settled(file, found),
        None => Ok(None),
    }
}

fn columns(file: &str, names: &[&str]) -> Result<Vec<Column>, DailyError> {
    let mut columns: Vec<Column> = Vec::new();
    for (place, name) in names.iter().enumerate() {
        let Some((what, unit)) = temperature_of(name) else { continue };
        let Some(unit) = unit_of(&unit) else {
            return Err(DailyError::NoUnit {
                file: file.to_owned(),
                column: (*name).to_owned(),
                with_f: format!("{}_f", name.to_lowercase()),
                with_c: format!("{}_c", name.to_lowercase()),
            });
        };
        if let Some(first) = columns.iter().find(|it| it.what == what) {
            return Err(DailyError::TwoColumns {
                file: file.to_owned(),
                first: first.name.clone(),
                second: (*name).to_owned(),
            });
        }
        let flags = names.get(place + 1).filter(|it| folded(it).ends_with("attributes"));
        let flags = flags.map(|_| place + 1);
        columns.push(Column { place, flags, name: (*name).to_owned(), what, unit });
    }
    let has = |what: &What| columns.iter().any(|it| it.what == *what);
    let has_soil = columns.iter().any(|it| matches!(it.what, What::Soil(..)));
    for (what, column) in [(What::Most, "tmax_f"), (What::Least, "tmin_f")] {
        let other = [What::Most, What::Least].iter().any(has);
        if !has(&what) && (other || !has_soil) {
            return Err(no_column(file, column, names));
        }
    }
    Ok(columns)
}

fn no_column(file: &str, column: &'static str, names: &[&str]) -> DailyError {
    // What was understood already is no slip for something else.
    let unknown = names.iter().copied().filter(|name| temperature_of(name).is_none());
    let near = nearest(column, unknown);
    let meant = near.map_or_else(String::new, |near| format!("; is it {near:?}?"));
    DailyError::NoColumn { file: file.to_owned(), column, known: names.join(", "), meant }
}

/// A day as `05-02`, of a file of normals.
fn day_of_any_year(text: &str) -> Option<Date> {
    let (month, date) = text.split_once(['-', '/'])?;
    let digits = |text: &str| text.len() == 2 && text.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(month) || !digits(date) {
        return None;
    }
    Date::new(NO_YEAR, month.parse().ok()?, date.parse().ok()?).ok()
}

/// True of `5/2/2026` and `02.05.2026`.
fn looks_like_another_order(text: &str) -> bool {
    let parts: Vec<&str> = text.split(['/', '.', '-']).collect();
    let digits = |part: &&str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    parts.len() == 3 && parts.iter().all(digits)
}
