//! CSV (RFC 4180) and what spreadsheets make of it: separated by commas, semicolons or tabs, in
//! whatever encoding, each row one feature. Where it lies is said by
//!
//! - one column `wkt`, `geom`, `geometry`, `the_geom` or `wkt_geom` of well-known text, or of
//!   well-known binary in hexadecimal digits as databases write it; or
//! - two columns, `longitude` and `latitude` (also `lon`, `long`, `lng`; `lat`) in degrees, `easting`
//!   and `northing`, or `x` and `y`, of which nobody but the user knows in what they are.
//!
//! The first of these that is there is read. A row is record 1, 2, … below the line of names.

use std::io::{self, BufRead, BufReader, Read};

use csv_core::ReadRecordResult;
use geo_types::{Geometry, Point};
use serde_json::Map;

use super::carried::TableColumns;
use super::code_page::encoding;
use super::decoded::Decoded;
use super::parts;
use super::told::{Drawing, Layer, Says, Told};
use super::{wkb, wkt};
use crate::bytes::Bytes;
use crate::columns::Columns;
use crate::error::ReadError;
use crate::feature::Counted;

/// Reads a table of text. `columns` says which columns to carry besides those that are read.
///
/// # Errors
///
/// [`ReadError::Format`] if it is no text, says of no column where its rows lie, or has rows that
/// are longer or shorter than its line of names.
pub(crate) fn layer(name: &str, bytes: &Bytes, columns: &Columns) -> Result<Layer, ReadError> {
    let failed = |reason| ReadError::Format { file: name.to_owned(), reason };
    let mut rows = Rows::open(bytes).map_err(failed)?;
    rows.tell(name, columns).map_err(failed)
}

/// No row is longer: four million corners.
const LONGEST_ROW: usize = 64 << 20;
/// No table has more columns.
const MOST_FIELDS: usize = 10_000;
/// Read after the end, as a row of its own. Where it becomes part of another, a quote is open.
const END: &[u8] = b"\x02";
/// The line of names is looked for in so much of the start.
const START: usize = 1 << 16;

/// The rows of a table. They are read by the core of `csv`, since what stands on top of it says of
/// a row after empty lines that it starts on the first of these.
struct Rows<R> {
    text: BufReader<R>,
    core: csv_core::Reader,
    delimiter: u8,
    /// The fields of the row at hand, one after the other, and where each ends.
    fields: Vec<u8>,
    ends: Vec<usize>,
    /// How many fields there are.
    length: usize,
    /// Where the row at hand starts, from 1, and where the next one does at the earliest.
    line: usize,
    next_line: usize,
}

impl<'b> Rows<Box<dyn Read + 'b>> {
    fn open(bytes: &'b Bytes) -> Result<Self, String> {
        let encoding = encoding(bytes)?;
        let start = start_of(Decoded::of(bytes, encoding)).map_err(|error| error.to_string())?;
        let end = io::Cursor::new([b"\n", END, b"\n"].concat());
        let text: Box<dyn Read + 'b> = Box::new(Decoded::of(bytes, encoding).chain(end));
        Ok(Rows::new(text, delimiter(&start)))
    }
}

impl<R: Read> Rows<R> {
    fn new(text: R, delimiter: u8) -> Rows<R> {
        Rows {
            text: BufReader::with_capacity(1 << 16, text),
            core: csv_core::ReaderBuilder::new().delimiter(delimiter).build(),
            delimiter,
            fields: vec![0; 1 << 12],
            ends: vec![0; 1 << 6],
            length: 0,
            line: 1,
            next_line: 1,
        }
    }

    /// Goes to the next row; false at the end.
    fn next(&mut self) -> Result<bool, String> {
        if !self.record()? {
            return Ok(false);
        }
        let is_end = |field: &[u8]| field.trim_ascii_end().ends_with(END);
        match self.length.checked_sub(1).map(|last| self.bytes(last)) {
            Some(END) if self.length == 1 => match self.record()? {
                false => Ok(false),
                true => Err(format!("line {}: a control character; take it out", self.line)),
            },
            Some(last) if is_end(last) => Err(format!(
                "line {}: a quote is opened there and not closed; close it or take it out",
                self.line
            )),
            _ => Ok(true),
        }
    }

    /// Reads one record, past the empty lines before it.
    fn record(&mut self) -> Result<bool, String> {
        let not_read = |line: usize, error: io::Error| format!("line {line}: {error}");
        loop {
            let some = self.text.fill_buf().map_err(|error| not_read(self.next_line, error))?;
            let blanks = some.iter().take_while(|byte| matches!(byte, b'\n' | b'\r')).count();
            let is_all = !some.is_empty() && blanks == some.len();
            self.next_line += memchr::memchr_iter(b'\n', &some[..blanks]).count();
            self.text.consume(blanks);
            if !is_all {
                break;
            }
        }
        self.line = self.next_line;
        let (mut filled, mut ended) = (0, 0);
        loop {
            let some = self.text.fill_buf().map_err(|error| not_read(self.line, error))?;
            let (result, read, written, ends) =
                self.core.read_record(some, &mut self.fields[filled..], &mut self.ends[ended..]);
            self.next_line += memchr::memchr_iter(b'\n', &some[..read]).count();
            self.text.consume(read);
            (filled, ended) = (filled + written, ended + ends);
            match result {
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull if filled >= LONGEST_ROW => {
                    return Err(format!(
                        "line {}: a row of more than 64 MB starts there; is a quote not closed?",
                        self.line
                    ));
                }
                ReadRecordResult::OutputEndsFull if ended >= MOST_FIELDS => {
                    return Err(format!(
                        "line {}: has more than {MOST_FIELDS} fields; take out what is not needed",
                        self.line
                    ));
                }
                ReadRecordResult::OutputFull => self.fields.resize(2 * self.fields.len(), 0),
                ReadRecordResult::OutputEndsFull => self.ends.resize(2 * self.ends.len(), 0),
                ReadRecordResult::Record => {
                    self.length = ended;
                    return Ok(true);
                }
                ReadRecordResult::End => return Ok(false),
            }
        }
    }

    /// A field of the row at hand.
    fn bytes(&self, column: usize) -> &[u8] {
        let start = column.checked_sub(1).and_then(|before| self.ends.get(before)).copied();
        let end = self.ends.get(column).filter(|_| column < self.length).copied();
        self.fields.get(start.unwrap_or(0)..end.unwrap_or(0)).unwrap_or_default()
    }

    /// A field of the row at hand without blanks around it. What was decoded is text.
    fn cell(&self, column: usize) -> &str {
        std::str::from_utf8(self.bytes(column)).unwrap_or_default().trim()
    }

    /// Tells every row.
    fn tell(&mut self, name: &str, columns: &Columns) -> Result<Layer, String> {
        const EMPTY: &str = "is empty; expected a line of names and a row for each feature";
        if !self.next()? {
            return Err(EMPTY.into());
        }
        if self.cell(0).to_ascii_lowercase().starts_with("sep=") && !self.next()? {
            return Err(EMPTY.into());
        }
        let names: Vec<String> = (0..self.length).map(|place| self.cell(place).into()).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let place = Place::among(&names)?;
        let carried = TableColumns::of(&names, &place.columns(), columns)?;
        let mut systems = Systems::default();
        // A blank in a column of kinds is no kind.
        let mut told = Told::new(columns);
        told.know(names.iter().copied());
        told.call_file(columns.kind_of_file(name).filter(|_| !carried.has("kind")));
        while self.next()? {
            if self.length != names.len() {
                return Err(format!(
                    "line {}: has {} fields and the line of names has {}; put fields with {} in quotes",
                    self.line,
                    self.length,
                    names.len(),
                    self.delimiter_name()
                ));
            }
            let geometry = self.geometry(place, &mut systems);
            let drawing = match &geometry {
                Ok(Some(geometry)) => Drawing::Shape(geometry),
                Ok(None) => Drawing::Nothing,
                Err(reason) => Drawing::Unreadable(reason.clone()),
            };
            let properties = self.properties(&carried);
            let told = told.feature(Some(self.line), drawing, properties);
            told.map_err(|error| format!("cannot be kept while it is read: {error}"))?;
        }
        let says = match (place, systems.first.flatten()) {
            (Place::Degrees(..), _) => Says::LongitudeLatitude,
            (Place::Text(_), Some(srid)) => Says::System(format!("EPSG:{srid}")),
            _ => Says::Nothing,
        };
        let layer = told.layer(name, says, Counted::Records, true);
        let layer = layer.map_err(|error| format!("cannot be kept while it is read: {error}"))?;
        Ok(Layer { left_out: carried.left_out, ..layer })
    }

    fn delimiter_name(&self) -> &'static str {
        match self.delimiter {
            b';' => "semicolons",
            b'\t' => "tabs",
            _ => "commas",
        }
    }

    /// What is carried of a row, as text; empty cells say nothing.
    fn properties(&self, columns: &TableColumns) -> Map<String, serde_json::Value> {
        let cells = columns.carried.iter().map(|(place, name)| (name, self.cell(*place)));
        let filled = cells.filter(|(_, cell)| !cell.is_empty());
        filled.map(|(name, cell)| (name.clone(), self.number_or_text(name, cell).into())).collect()
    }

    /// A measure with a decimal point, where it has a decimal comma.
    fn number_or_text(&self, name: &str, cell: &str) -> String {
        let is_measure = name.ends_with("_ft") || name.ends_with("_m") || name == "grade_pct";
        let pointed = self.pointed(cell);
        if is_measure && pointed.parse::<f64>().is_ok() { pointed } else { cell.to_owned() }
    }

    /// A number with a point where it has a comma, which only stands where commas separate nothing.
    fn pointed(&self, cell: &str) -> String {
        let has_one_comma = cell.matches(',').count() == 1 && !cell.contains('.');
        match self.delimiter {
            b';' if has_one_comma => cell.replace(',', "."),
            _ => cell.to_owned(),
        }
    }

    fn geometry(
        &self,
        place: Place,
        systems: &mut Systems,
    ) -> Result<Option<Geometry<f64>>, String> {
        let ((x, y), [x_name, y_name]) = match place {
            Place::Text(column) => return text(self.cell(column), systems),
            Place::Degrees(x, y) => ((x, y), ["longitude", "latitude"]),
            Place::Plane(x, y) => ((x, y), ["easting", "northing"]),
        };
        let number = |column: usize, axis: Axis, name: &str| {
            let cell = self.pointed(self.cell(column));
            let axis = matches!(place, Place::Degrees(..)).then_some(axis);
            coordinate(&cell, axis).map_err(|reason| format!("its {name} {reason}"))
        };
        match (self.cell(x).is_empty(), self.cell(y).is_empty()) {
            (true, true) => Ok(None),
            (true, false) => Err(format!("it has a {y_name} but no {x_name}; fill in both")),
            (false, true) => Err(format!("it has a {x_name} but no {y_name}; fill in both")),
            (false, false) => {
                let x = number(x, Axis::Longitude, x_name)?;
                let y = number(y, Axis::Latitude, y_name)?;
                Ok(Some(Geometry::Point(Point(parts::place(x, y)?))))
            }
        }
    }
}

/// The first bytes of a text.
fn start_of(mut text: impl Read) -> io::Result<Vec<u8>> {
    let mut start = vec![0; START];
    let mut length = 0;
    // A decoder cannot write half a character.
    while let Some(rest) = start.get_mut(length..).filter(|rest| rest.len() >= 4) {
        match text.read(rest)? {
            0 => break,
            read => length += read,
        }
    }
    start.truncate(length);
    Ok(start)
}

/// Where the rows of a table say where they lie.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Place {
    /// A column of well-known text.
    Text(usize),
    /// Columns of longitude and latitude.
    Degrees(usize, usize),
    /// Columns of easting and northing.
    Plane(usize, usize),
}

impl Place {
    fn among(names: &[&str]) -> Result<Place, String> {
        const TEXT: &[&str] = &["wkt", "geom", "geometry", "the_geom", "wkt_geom"];
        const LONGITUDE: &[&str] = &["longitude", "lon", "long", "lng"];
        const LATITUDE: &[&str] = &["latitude", "lat"];
        if let Some(text) = one_of(names, TEXT)? {
            return Ok(Place::Text(text));
        }
        let mut halves = Vec::new();
        for (x_names, y_names, place) in [
            (LONGITUDE, LATITUDE, Place::Degrees as fn(usize, usize) -> Place),
            (&["easting"], &["northing"], Place::Plane),
            (&["x"], &["y"], Place::Plane),
        ] {
            match (one_of(names, x_names)?, one_of(names, y_names)?) {
                (Some(x), Some(y)) => return Ok(place(x, y)),
                (Some(_), None) => halves.push((x_names, y_names)),
                (None, Some(_)) => halves.push((y_names, x_names)),
                (None, None) => {}
            }
        }
        if let Some(([has, ..], [lacks, ..])) = halves.first() {
            return Err(format!("has a column of {has} but none named {lacks}; add it"));
        }
        const OF_A_TAPE: [&str; 10] = [
            "length", "width", "base", "height", "radius", "diameter", "area", "shape", "figure",
            "within",
        ];
        let is_tape = |name: &&str| OF_A_TAPE.iter().any(|known| known.eq_ignore_ascii_case(name));
        // A width alone may be that of a path.
        let tape = match names.iter().filter(|name| is_tape(name)).count() {
            0 | 1 => "",
            _ => {
                "; or, of a tape sheet, add a column figure that says which measures a row has: rectangle, triangle, trapezoid, circle, ellipse, line, point or area"
            }
        };
        let names = names.join(", ");
        let start: String = names.chars().take(80).collect();
        let more = if start.len() < names.len() { "…" } else { "" };
        Err(format!(
            "none of its columns says where its rows lie ({start}{more}); name them longitude and latitude, easting and northing, or wkt{tape}"
        ))
    }

    fn columns(self) -> Vec<usize> {
        match self {
            Place::Text(text) => vec![text],
            Place::Degrees(x, y) | Place::Plane(x, y) => vec![x, y],
        }
    }
}

/// The one column that has one of these names, in any case.
fn one_of(names: &[&str], wanted: &[&str]) -> Result<Option<usize>, String> {
    let is_wanted = |name: &str| wanted.iter().any(|known| known.eq_ignore_ascii_case(name));
    let mut found = names.iter().enumerate().filter(|(_, name)| is_wanted(name));
    match (found.next(), found.next()) {
        (Some((_, one)), Some((_, other))) => {
            Err(format!("has two columns of one sort, {one:?} and {other:?}; leave one of them"))
        }
        (one, _) => Ok(one.map(|(place, _)| place)),
    }
}

/// What separates the fields of the first line: what its names are best known by, and failing that
/// what is there most often. A spreadsheet may say it on a line of its own, `sep=;`.
fn delimiter(start: &[u8]) -> u8 {
    let text = String::from_utf8_lossy(start);
    let line = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    if let Some(said) = line.to_ascii_lowercase().strip_prefix("sep=") {
        return match said.as_bytes() {
            [b';', ..] => b';',
            [b'\t', ..] => b'\t',
            _ => b',',
        };
    }
    let by = |delimiter: u8| {
        let mut rows = Rows::new(line.as_bytes(), delimiter);
        let length = if rows.record() == Ok(true) { rows.length } else { 0 };
        let names: Vec<&str> = (0..length).map(|place| rows.cell(place)).collect();
        (Place::among(&names).is_ok(), names.len())
    };
    // Of equals the last.
    [b'\t', b';', b','].into_iter().max_by_key(|delimiter| by(*delimiter)).unwrap_or(b',')
}

/// The system that the rows name.
#[derive(Default)]
struct Systems {
    /// What the first row that is drawn says.
    first: Option<Option<u32>>,
}

/// A geometry in well-known text, or in hexadecimal well-known binary.
fn text(cell: &str, systems: &mut Systems) -> Result<Option<Geometry<f64>>, String> {
    if cell.is_empty() {
        return Ok(None);
    }
    let (geometry, srid) = match hexadecimal(cell) {
        Some(bytes) => wkb::geometry(&bytes).map(|read| (read.geometry, read.srid))?,
        None => wkt::geometry(cell).map(|read| (read.geometry, read.srid))?,
    };
    if geometry.is_none() {
        return Ok(None);
    }
    // 0 says that it is not known.
    let srid = srid.filter(|srid| *srid != 0);
    let first = *systems.first.get_or_insert(srid);
    if first == srid {
        return Ok(geometry);
    }
    let name = |srid: Option<u32>| srid.map_or("none".to_owned(), |srid| srid.to_string());
    Err(format!(
        "its SRID is {} and that of the rows before {}; bring all rows to one system",
        name(srid),
        name(first)
    ))
}

/// The bytes that hexadecimal digits are; well-known binary starts with its byte order, 00 or 01.
fn hexadecimal(text: &str) -> Option<Vec<u8>> {
    let digits = text.as_bytes();
    if !matches!(digits, [b'0', b'0' | b'1', ..]) {
        return None;
    }
    let digit = |byte: u8| char::from(byte).to_digit(16).map(|digit| digit as u8);
    let (pairs, rest) = digits.as_chunks();
    let bytes = pairs.iter().map(|[high, low]| Some(digit(*high)? << 4 | digit(*low)?));
    rest.is_empty().then(|| bytes.collect()).flatten()
}

/// Which letters may stand at a coordinate.
#[derive(Clone, Copy, PartialEq)]
enum Axis {
    Longitude,
    Latitude,
}

/// A coordinate: a number or, on an `axis`, degrees with minutes and seconds (`44°15'30"N`).
fn coordinate(cell: &str, axis: Option<Axis>) -> Result<f64, String> {
    // Typesetting writes a minus of its own.
    let plain = cell.replace('\u{2212}', "-");
    if let Some(number) = number(&plain) {
        return Ok(number);
    }
    let shown = wkt::quoted(cell);
    if let Some(degrees) = axis.and_then(|axis| degrees(&plain, axis)) {
        return Ok(degrees);
    }
    if is_grouped(cell) {
        return Err(format!(
            "is {shown}; write it without commas between its thousands, with a point before decimals"
        ));
    }
    Err(match (cell.matches(',').count(), axis) {
        (1, _) => format!("is {shown}; write it with a decimal point"),
        (_, None) => format!("is {shown}; write a plain number such as 304812.5"),
        (_, Some(_)) => format!("is {shown}; write degrees as a plain number such as -93.25"),
    })
}

/// True of a number with commas after every third digit, such as `385,720.2`.
fn is_grouped(text: &str) -> bool {
    let (whole, decimals) = text.split_once('.').unwrap_or((text, ""));
    let mut groups = whole.trim_start_matches(['-', '+']).split(',');
    let is_digits = |group: &str| group.bytes().all(|byte| byte.is_ascii_digit());
    let first = groups.next().unwrap_or_default();
    let mut others = groups.peekable();
    others.peek().is_some()
        && (1..=3).contains(&first.len())
        && is_digits(first)
        && is_digits(decimals)
        && others.all(|group| group.len() == 3 && is_digits(group))
}

/// A finite number of digits alone.
fn number(text: &str) -> Option<f64> {
    let is_plain = |byte: u8| byte.is_ascii_digit() || b"+-.eE".contains(&byte);
    text.bytes().all(is_plain).then(|| text.parse().ok()).flatten().filter(|n: &f64| n.is_finite())
}

/// Degrees, minutes and seconds; only the last of them has decimals, and a letter stands for a sign.
fn degrees(text: &str, axis: Axis) -> Option<f64> {
    let letters: Vec<char> = text.chars().filter(|c| c.is_alphabetic() && *c != 'º').collect();
    let is_negative = match (letters.as_slice(), axis) {
        ([], _) => text.trim_start().starts_with('-'),
        (['N' | 'n'], Axis::Latitude) | (['E' | 'e'], Axis::Longitude) => false,
        (['S' | 's'], Axis::Latitude) | (['W' | 'w'], Axis::Longitude) => true,
        _ => return None,
    };
    // A letter stands first or last, and beside it no sign.
    let inner = match letters.first() {
        Some(letter) => text.strip_prefix(*letter).or_else(|| text.strip_suffix(*letter))?,
        None => text.strip_prefix(['-', '+']).unwrap_or(text),
    };
    let mut rest = inner.trim();
    let mut parts = Vec::new();
    for marks in [&["°", "º", "˚"][..], &["'", "′", "’"], &["\"", "″", "”", "''", "′′"]]
    {
        let end = rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(rest.len());
        let (digits, after) = rest.split_at(end);
        parts.push(number(digits)?);
        let marked = marks.iter().rev().find_map(|mark| after.trim_start().strip_prefix(mark));
        // Without marks a blank will do, where a letter says that these are degrees.
        let is_apart = !letters.is_empty() && after.starts_with(char::is_whitespace);
        rest = match marked {
            Some(after) => after.trim_start(),
            None if is_apart => after.trim_start(),
            None if after.is_empty() && !letters.is_empty() => after,
            None => return None,
        };
        if rest.is_empty() {
            break;
        }
    }
    let (last, others) = parts.split_last()?;
    let is_whole = others.iter().all(|part| part.fract() == 0.0);
    let is_in_range = parts.iter().skip(1).all(|part| *part < 60.0);
    if !rest.is_empty() || !is_whole || !is_in_range {
        return None;
    }
    let whole: f64 = [1.0, 60.0, 3600.0].iter().zip(others).map(|(unit, part)| part / unit).sum();
    let value = whole + last / [1.0, 60.0, 3600.0].get(others.len())?;
    Some(if is_negative { -value } else { value })
}

#[cfg(test)]
mod tests;
