//! The table beside the shapes, in the dBASE III form that shapefiles use (ESRI Shapefile
//! Technical Description, 1998, p. 25), with the field types that later programs added.

use std::collections::HashSet;
use std::io::{self, BufReader, Read};

use serde_json::{Map, Value};

use super::InFile;
use super::encoding::Encoding;
use crate::attribute_names::{is_read, read_as};
use crate::bytes::{Bytes, Stream};
use crate::columns::Columns;
use crate::error::ReadError;

/// Of the file, and of each column.
const HEADER_LENGTH: usize = 32;
/// Names of columns are cut here.
const LONGEST_NAME: usize = 10;
/// What stands behind the last column.
const TERMINATOR: u8 = 0x0d;

/// A table, row by row.
pub(super) struct Table<'b> {
    dbf: BufReader<Stream<'b>>,
    /// How many rows there are.
    pub(super) count: u32,
    read: u32,
    row: Vec<u8>,
    columns: Vec<Column>,
    encoding: Encoding,
    /// Columns that were not carried over.
    pub(super) left_out: Vec<String>,
}

/// One row of a table.
pub(super) enum Row {
    /// One that is marked as deleted; its shape is still in the `.shp`.
    Deleted,
    Values(Map<String, Value>),
}

/// A column that is carried over.
struct Column {
    /// The property that it becomes.
    name: String,
    holds: Holds,
    /// Where it stands in a row.
    start: usize,
    length: usize,
}

/// What is read of a column; the letters are those of the format.
#[derive(Clone, Copy, PartialEq)]
enum Holds {
    /// `C`
    Text,
    /// `N` and `F`: written out in digits.
    Number,
    /// `L`
    Truth,
    /// `D`
    Date,
    /// `I`: four bytes.
    Integer,
    /// `B` of eight bytes.
    Double,
    /// `Y`: eight bytes, in ten thousandths.
    Currency,
}

/// The header of a table.
struct Header {
    version: u8,
    rows: u32,
    length: usize,
    row_length: usize,
    driver: u8,
}

impl<'b> Table<'b> {
    pub(super) fn open(
        file: InFile<'b>,
        dbf: &'b Bytes,
        encoding: impl Fn(u8) -> Encoding,
        columns: &Columns,
    ) -> Result<Table<'b>, ReadError> {
        let mut reader = BufReader::with_capacity(1 << 16, dbf.stream());
        let header = Header::read(file, &mut reader, dbf.length())?;
        let encoding = encoding(header.driver);
        let mut fields = vec![0; header.length - HEADER_LENGTH];
        reader.read_exact(&mut fields).map_err(|error| file.unread(&error))?;
        let mut table = Table {
            dbf: reader,
            count: header.rows,
            read: 0,
            row: vec![0; header.row_length],
            columns: Vec::new(),
            encoding,
            left_out: Vec::new(),
        };
        table.choose(file, &header, &fields, columns)?;
        Ok(table)
    }

    /// The columns that are carried over.
    pub(super) fn carried(&self) -> impl Iterator<Item = &str> {
        self.columns.iter().map(|column| column.name.as_str())
    }

    /// True if a column is carried over under this name.
    pub(super) fn has(&self, name: &str) -> bool {
        self.columns.iter().any(|column| column.name == name)
    }

    /// Chooses the columns to carry over.
    fn choose(
        &mut self,
        file: InFile<'_>,
        header: &Header,
        fields: &[u8],
        columns: &Columns,
    ) -> Result<(), ReadError> {
        let fields = fields
            .chunks_exact(HEADER_LENGTH)
            .take_while(|field| field.first() != Some(&TERMINATOR));
        let fields: Vec<Field> = fields.map(|field| Field::of(field, self.encoding)).collect();
        let wide = fields.iter().map(|field| field.wide_length).sum::<usize>() + 1;
        let is_wide = wide == header.row_length;
        let mut names = HashSet::new();
        // The first byte marks deleted rows.
        let mut start = 1;
        for field in fields {
            let length = if is_wide { field.wide_length } else { field.length };
            let end = start + length;
            if end > header.row_length {
                return Err(file.bad(format!(
                    "the columns of its .dbf take more than the {} bytes that it claims for a row; export the shapefile again",
                    header.row_length
                )));
            }
            let known = read_as(&field.name, LONGEST_NAME);
            let is_wanted = known.is_some() || is_read(&field.name);
            match field.holds(header, length) {
                Some(holds) if is_wanted || columns.keeps(&field.name) => {
                    let name = free_name(known, &field.name, &mut names);
                    self.columns.push(Column { name, holds, start, length });
                }
                None if is_wanted => {
                    return Err(file.bad(format!(
                        "column {} of its .dbf is of type {:?}, which is not read; make it a text or a number",
                        field.name, char::from(field.letter)
                    )));
                }
                _ => self.left_out.push(field.name),
            }
            start = end;
        }
        Ok(())
    }

    /// The next row; `None` after the last.
    pub(super) fn next(&mut self) -> io::Result<Option<Row>> {
        if self.read == self.count {
            return Ok(None);
        }
        self.read += 1;
        self.dbf.read_exact(&mut self.row)?;
        if self.row.first() == Some(&b'*') {
            return Ok(Some(Row::Deleted));
        }
        let value = |column: &Column| {
            let bytes =
                self.row.get(column.start..column.start + column.length).unwrap_or_default();
            (column.name.clone(), column.holds.value(bytes, self.encoding))
        };
        Ok(Some(Row::Values(self.columns.iter().map(value).collect())))
    }
}

/// A name that no column before has; the property that it is read as, if that is free.
fn free_name(known: Option<&str>, name: &str, taken: &mut HashSet<String>) -> String {
    let known = known.into_iter().chain([name]).find(|name| !taken.contains(*name));
    let mut free = known.unwrap_or(name).to_owned();
    while taken.contains(&free) {
        free.push('_');
    }
    taken.insert(free.clone());
    free
}

impl Header {
    fn read(file: InFile<'_>, reader: &mut impl Read, length: u64) -> Result<Header, ReadError> {
        let mut bytes = [0; HEADER_LENGTH];
        if length <= HEADER_LENGTH as u64 {
            return Err(file.bad(format!(
                "its .dbf has {length} bytes, fewer than the header of a dBASE table; copy or export the shapefile again"
            )));
        }
        reader.read_exact(&mut bytes).map_err(|error| file.unread(&error))?;
        let two = |at: usize| bytes.get(at..).and_then(<[u8]>::first_chunk).copied();
        let header = Header {
            version: bytes[0],
            rows: u32::from_le_bytes([bytes[4], bytes[5], bytes[6], bytes[7]]),
            length: two(8).map(u16::from_le_bytes).unwrap_or_default().into(),
            row_length: two(10).map(u16::from_le_bytes).unwrap_or_default().into(),
            driver: bytes[29],
        };
        header.check(file, length)?;
        Ok(header)
    }

    /// Refuses what claims more than is there.
    fn check(&self, file: InFile<'_>, length: u64) -> Result<(), ReadError> {
        // dBASE III and IV have 3 in the lowest bits; later makers took 0x30 to 0x32 and 0xf5.
        let is_known = self.version & 7 == 3 || matches!(self.version, 0x30..=0x32 | 0xf5);
        let start = self.length as u64;
        if !is_known || self.length <= HEADER_LENGTH || start > length || self.row_length == 0 {
            return Err(file.bad(format!(
                "its .dbf is no dBASE III table: it starts with {:#04x} and claims a header of {start} bytes and rows of {}; export the shapefile again",
                self.version, self.row_length
            )));
        }
        let (rows, room) = (self.rows, (length - start) / self.row_length as u64);
        if u64::from(rows) > room {
            return Err(file.bad(format!(
                "its .dbf is cut off: its header claims {rows} rows and there is room for {room}; copy or export the shapefile again"
            )));
        }
        Ok(())
    }
}

/// A column as the header of its table describes it.
struct Field {
    name: String,
    letter: u8,
    length: usize,
    /// Its length by the writers that keep the upper byte of a long text's where others keep the
    /// number of decimals.
    wide_length: usize,
}

impl Field {
    fn of(bytes: &[u8], encoding: Encoding) -> Field {
        let byte = |at: usize| bytes.get(at).copied().unwrap_or_default();
        let name = until_zero(bytes.get(..11).unwrap_or_default());
        let name = encoding.text(name, true).trim().to_owned();
        let (letter, length) = (byte(11), usize::from(byte(16)));
        let more = if letter == b'C' { usize::from(byte(17)) << 8 } else { 0 };
        Field { name, letter, length, wide_length: length + more }
    }

    /// What is read of it; `None` of a type that is not.
    fn holds(&self, header: &Header, length: usize) -> Option<Holds> {
        let is_later = matches!(header.version, 0x30..=0x32);
        match (self.letter, length) {
            (b'C', _) => Some(Holds::Text),
            (b'N' | b'F', _) => Some(Holds::Number),
            (b'L', _) => Some(Holds::Truth),
            (b'D', _) => Some(Holds::Date),
            (b'I', 4) => Some(Holds::Integer),
            // Elsewhere the letter stands for the place of a text in another file.
            (b'B', 8) if is_later => Some(Holds::Double),
            (b'Y', 8) => Some(Holds::Currency),
            _ => None,
        }
    }
}

impl Holds {
    fn value(self, bytes: &[u8], encoding: Encoding) -> Value {
        let eight = || bytes.first_chunk::<8>().copied();
        match self {
            Holds::Text => {
                let text = encoding.text(until_zero(bytes), !bytes.ends_with(b" "));
                text_or_null(text.trim())
            }
            Holds::Number => number(&plain(bytes)),
            Holds::Truth => match bytes.first() {
                Some(b'T' | b't' | b'Y' | b'y') => true.into(),
                Some(b'F' | b'f' | b'N' | b'n') => false.into(),
                _ => Value::Null,
            },
            Holds::Date => date(&plain(bytes)),
            Holds::Integer => {
                let four = bytes.first_chunk::<4>().copied();
                four.map(i32::from_le_bytes).map_or(Value::Null, Value::from)
            }
            // `Value` has no infinite numbers and makes them null.
            Holds::Double => eight().map(f64::from_le_bytes).map_or(Value::Null, Value::from),
            Holds::Currency => {
                let amount = eight().map(i64::from_le_bytes);
                amount.map(|amount| amount as f64 / 1e4).map_or(Value::Null, Value::from)
            }
        }
    }
}

/// What stands before the first zero byte, with which some writers fill up.
fn until_zero(bytes: &[u8]) -> &[u8] {
    bytes.split(|byte| *byte == 0).next().unwrap_or_default()
}

fn plain(bytes: &[u8]) -> String {
    String::from_utf8_lossy(until_zero(bytes)).trim().to_owned()
}

fn text_or_null(text: &str) -> Value {
    if text.is_empty() { Value::Null } else { text.into() }
}

/// A number out of its digits. Asterisks stand for one that did not fit, blanks for none. What is
/// no number stays a text, so that a message can show it; also one of more digits than a double
/// holds, which is somebody's id.
fn number(text: &str) -> Value {
    const WHOLE: f64 = 9_007_199_254_740_992.0; // 2⁵³
    if text.starts_with('*') {
        return Value::Null;
    }
    if let Ok(whole) = text.parse::<i64>() {
        return whole.into();
    }
    match text.parse::<f64>() {
        // An id of 17 is 17, though its column has decimals.
        Ok(number) if number.fract() == 0.0 && number.abs() < WHOLE => (number as i64).into(),
        Ok(number) if number.abs() < WHOLE => number.into(),
        _ => text_or_null(text),
    }
}

/// `20260502` as `2026-05-02`.
fn date(text: &str) -> Value {
    let is_none = text.bytes().all(|byte| byte == b'0');
    let is_date = text.len() == 8 && text.bytes().all(|byte| byte.is_ascii_digit());
    match (text.get(..4), text.get(4..6), text.get(6..)) {
        _ if is_none => Value::Null,
        (Some(year), Some(month), Some(day)) if is_date => format!("{year}-{month}-{day}").into(),
        _ => text.into(),
    }
}
