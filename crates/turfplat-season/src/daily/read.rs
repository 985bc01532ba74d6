//! Which layout a file has is told by its first line, never by its name.

use std::io::{BufRead, Cursor, Read};

use jiff::civil::Date;

use super::error::DailyError;
use super::series::{DailySeries, Reading};
use super::{dly, ghcn, plain};

/// What of a file is meant, where it holds more than one.
#[derive(Clone, Copy, Debug, Default)]
pub struct DailyOptions<'a> {
    /// The id of the station.
    pub station: Option<&'a str>,
    /// Which soil temperature: a column, or the two digits of GHCN-Daily (`12`: grass, 10 cm).
    pub soil: Option<&'a str>,
    /// Whether the soil is asked about at all; then a file with several must say which.
    pub soil_wanted: bool,
}

/// Reads temperatures by day: GHCN-Daily by year or station (with or without a header), GHCN-Daily
/// with a column for each element, `.dly`, or a table of one's own with the columns `date`, `tmin_f`,
/// `tmax_f` (or `_c`), perhaps `soil_f`.
///
/// A line with a title may stand over a table of one's own.
///
/// * Shape: one value a day of least and most; a day of which one is missing has no mean.
/// * Source: NOAA NCEI, readme of GHCN-Daily version 3 and of its by_year and by_station files.
/// * Memory: one station's days; a file of all stations is read through.
///
/// # Errors
///
/// [`DailyError`]: what the file is not, with its line and the cure. Values that do not count are no
/// error; they stand in [`DailySeries::dropped`].
pub fn read_daily(
    file: &str,
    mut text: impl BufRead,
    options: &DailyOptions<'_>,
) -> Result<DailySeries, DailyError> {
    let unreadable = |source| DailyError::Unreadable { file: file.to_owned(), source };
    let mut line = || {
        let mut line = Vec::new();
        text.by_ref().take(LONGEST_LINE).read_until(b'\n', &mut line)?;
        let is_end = line.is_empty();
        let line = String::from_utf8_lossy(&line);
        let line = line.strip_prefix('\u{feff}').unwrap_or(&line).trim_end().to_owned();
        Ok((line, is_end))
    };
    let (mut head, is_end) = line().map_err(unreadable)?;
    if is_end {
        return Err(DailyError::Empty { file: file.to_owned() });
    }
    let name = file.to_owned();
    let mut reading = Reading::default();
    let mut of_head = layout(&head);
    if of_head.is_none() {
        // A title may stand over the table, such as the station's name in one cell.
        let (second, _) = line().map_err(unreadable)?;
        if let Some(Layout::Plain) = layout(&second) {
            (head, of_head, reading.before) = (second, Some(Layout::Plain), 1);
        }
    }
    // The header again, and what follows it.
    let head = head.as_str();
    let again = Cursor::new(head.as_bytes().to_vec()).chain(Cursor::new(b"\n")).chain(text);
    let station = match of_head {
        Some(Layout::TypicalYear) => return Err(DailyError::TypicalYear { file: name }),
        Some(Layout::Json) => return Err(DailyError::Json { file: name }),
        Some(Layout::Dly) => dly::read(file, again, options, &mut reading)?,
        Some(Layout::Rows) => ghcn::read_rows(file, again, options, &mut reading)?,
        Some(Layout::Columns) => ghcn::read_columns(file, again, head, options, &mut reading)?,
        Some(Layout::Plain) => plain::read(file, again, head, options, &mut reading)?,
        None => return Err(DailyError::UnknownLayout { file: name, line: 1 }),
    };
    reading.finish(file, station, options)
}

/// No line of any of the layouts is longer; what is, is none of them.
const LONGEST_LINE: u64 = 1 << 16;

enum Layout {
    Dly,
    Rows,
    Columns,
    Plain,
    TypicalYear,
    Json,
}

fn layout(head: &str) -> Option<Layout> {
    let trimmed = head.trim_start();
    if trimmed.starts_with(['{', '[']) {
        return Some(Layout::Json);
    }
    // The first of an EPW's eight header lines.
    if trimmed.to_ascii_uppercase().starts_with("LOCATION,") {
        return Some(Layout::TypicalYear);
    }
    if dly::is_line(head) {
        return Some(Layout::Dly);
    }
    let fields: Vec<String> = cells(head).map(|it| it.to_ascii_uppercase()).collect();
    let has = |name: &str| fields.iter().any(|field| field == name);
    let is_header = has("ID") && has("ELEMENT") && has("DATA_VALUE");
    let is_row = matches!(fields.as_slice(), [id, day, element, _, ..]
        if !id.is_empty() && compact_day(day).is_some() && element.len() == 4);
    if is_header || is_row {
        return Some(Layout::Rows);
    }
    // Own names with a unit come first: whoever renames the columns of a station file means them.
    let names_a_unit = fields.iter().any(|field| {
        let name = plain::folded(field);
        ["TMAX", "TMIN", "SOIL"].iter().any(|what| {
            name.strip_prefix(&what.to_lowercase()).is_some_and(|unit| matches!(unit, "f" | "c"))
        })
    });
    if has("STATION") && has("DATE") && !names_a_unit && (has("TMAX") || has("TMIN")) {
        return Some(Layout::Columns);
    }
    fields.iter().any(|field| plain::folded(field) == "date").then_some(Layout::Plain)
}

/// The cells of a line of CSV, without its quotes.
pub(super) fn cells(line: &str) -> impl Iterator<Item = &str> {
    let delimiter = delimiter(line);
    line.split(char::from(delimiter)).map(|cell| cell.trim().trim_matches('"').trim())
}

/// What parts the cells of a table with this header.
pub(super) fn delimiter(head: &str) -> u8 {
    let count = |sign: u8| head.bytes().filter(|byte| *byte == sign).count();
    let signs = [b',', b';', b'\t'];
    signs.into_iter().rev().max_by_key(|sign| count(*sign)).unwrap_or(b',')
}

/// A day as `20260502`.
pub(super) fn compact_day(text: &str) -> Option<Date> {
    let digits = text.len() == 8 && text.bytes().all(|byte| byte.is_ascii_digit());
    digits.then(|| parts(&text[..4], &text[4..6], &text[6..])).flatten()
}

/// A day as `2026-05-02`, `2026/05/02` or `20260502`.
pub(super) fn day(text: &str) -> Option<Date> {
    let mut parts_of = text.split(['-', '/']);
    match (parts_of.next(), parts_of.next(), parts_of.next(), parts_of.next()) {
        (Some(year), Some(month), Some(date), None) if year.len() == 4 => parts(year, month, date),
        (Some(_), None, None, None) => compact_day(text),
        _ => None,
    }
}

fn parts(year: &str, month: &str, date: &str) -> Option<Date> {
    let digits =
        |text: &str| (1..=4).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    if ![year, month, date].into_iter().all(digits) {
        return None;
    }
    Date::new(year.parse().ok()?, month.parse().ok()?, date.parse().ok()?).ok()
}
