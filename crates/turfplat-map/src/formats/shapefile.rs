//! Why a shapefile is read here and not by a crate: it is a set of files that must agree, made by
//! programs that disagree. The crates for it stop at the first record that they cannot read, reserve
//! what a damaged file claims, pass over deleted rows so that the shapes after them get a neighbor's
//! attributes, and give a hole to whatever shell stands before it. The format itself is small: ESRI
//! Shapefile Technical Description (July 1998), and the table of dBASE III beside it.

mod encoding;
mod rings;
mod shapes;
mod table;
#[cfg(test)]
mod tests;

use std::io;

use serde_json::Map;

use crate::bytes::Bytes;
use crate::columns::Columns;
use crate::error::ReadError;
use crate::feature::Counted;
use crate::formats::told::{Drawing, Layer, Says, Told};
use encoding::Encoding;
use shapes::{Record, Records, shape};
use table::{Row, Table};

/// The files of one shapefile.
pub(crate) struct Parts {
    /// The shapes.
    pub(crate) shp: Bytes,
    /// Where in `shp` each shape starts. After an edit in place this cannot be told without it.
    pub(crate) shx: Option<Bytes>,
    /// The attributes.
    pub(crate) dbf: Option<Bytes>,
    /// The coordinate system, as well-known text.
    pub(crate) prj: Option<Vec<u8>>,
    /// The name of the encoding of `dbf`.
    pub(crate) cpg: Option<Vec<u8>>,
}

/// Said of shapes of which nothing says what they are.
const NO_TABLE: &str = "its .dbf is missing, which says what each of its shapes is; put it beside the .shp, or, if all in it is of one kind, name the files for it, such as turf.shp";

/// Reads a shapefile as [`layer`] does, and refuses shapes of which nothing can say what they are: once,
/// and not one by one.
///
/// # Errors
///
/// As [`layer`], and [`ReadError::Format`] of such a file.
pub(crate) fn layer_of_kinds(
    name: &str,
    parts: Parts,
    columns: &Columns,
) -> Result<Layer, ReadError> {
    if parts.dbf.is_none() && !columns.can_do_without_a_table(name) {
        // What is no shapefile at all is refused for that.
        layer(name, parts, columns)?;
        return Err(InFile(name).bad(NO_TABLE.into()));
    }
    layer(name, parts, columns)
}

/// Reads a shapefile; of its columns those that are asked for.
///
/// # Errors
///
/// [`ReadError`] where its files are no shapefile, are cut off or do not belong together. A shape
/// that cannot be read is told as such and does not stop the reading.
pub(crate) fn layer(name: &str, parts: Parts, columns: &Columns) -> Result<Layer, ReadError> {
    let file = InFile(name);
    let encoding = |driver| Encoding::of(parts.cpg.as_deref(), driver);
    let table = parts.dbf.as_ref().map(|dbf| Table::open(file, dbf, encoding, columns));
    let mut table = table.transpose()?;
    let mut records = Records::open(file, &parts.shp, parts.shx.as_ref())?;
    // A blank in a column of kinds is no kind.
    let has_kinds = table.as_ref().is_some_and(|table| table.has("kind"));
    let mut told = Told::new(columns);
    told.know(table.iter().flat_map(Table::carried));
    told.call_file(columns.kind_of_file(name).filter(|_| !has_kinds));
    let mut shapes = 0;
    while let Some(record) = records.next()? {
        shapes += 1;
        let row = match &mut table {
            None => Row::Values(Map::new()),
            Some(table) => match table.next().map_err(|error| file.unread(&error))? {
                Some(row) => row,
                // Counted on, so that both numbers can be told.
                None => continue,
            },
        };
        tell(&mut told, record, row).map_err(|error| file.unread(&error))?;
    }
    if let Some(table) = table.as_ref().filter(|table| u64::from(table.count) != shapes) {
        let rows = table.count;
        return Err(file.bad(format!(
            "its .shp has {shapes} shapes and its .dbf {rows} rows, so they do not belong together; export the shapefile again"
        )));
    }
    let says = says(parts.prj.as_deref());
    let layer = told.layer(name, says, Counted::Records, false);
    let layer = layer.map_err(|error| file.unread(&error))?;
    let no_table =
        "the .dbf of its file is missing, which says what its shapes are; put it beside the .shp";
    let remarks =
        if table.is_none() { vec![(Some(0), "no-table", no_table.to_owned())] } else { Vec::new() };
    let remarks = remarks.into_iter().chain(layer.remarks).collect();
    let left_out = table.map(|table| table.left_out).unwrap_or_default();
    Ok(Layer { left_out, remarks, ..layer })
}

fn tell(told: &mut Told<'_>, record: Record<'_>, row: Row) -> io::Result<()> {
    let properties = match row {
        Row::Deleted => return told.feature(None, Drawing::Deleted, Map::new()),
        Row::Values(properties) => properties,
    };
    let shape = match record {
        Record::Content(content) => shape(content),
        Record::TooLong(length) => Err(format!(
            "it takes {length} bytes, more than is read at once; split it into parts of their own"
        )),
    };
    match &shape {
        Ok(Some(shape)) => told.feature(None, Drawing::Shape(shape), properties),
        Ok(None) => told.feature(None, Drawing::Nothing, properties),
        Err(reason) => told.feature(None, Drawing::Unreadable(reason.clone()), properties),
    }
}

fn says(prj: Option<&[u8]>) -> Says {
    let text = String::from_utf8_lossy(prj.unwrap_or_default());
    let text = text.trim_matches(|c: char| c.is_whitespace() || matches!(c, '\u{feff}' | '\0'));
    if text.is_empty() { Says::Nothing } else { Says::System(text.to_owned()) }
}

/// A file that cannot be read, by the name that it has in messages.
#[derive(Clone, Copy)]
struct InFile<'n>(&'n str);

impl InFile<'_> {
    fn bad(self, reason: String) -> ReadError {
        ReadError::Format { file: self.0.to_owned(), reason }
    }

    fn unread(self, error: &io::Error) -> ReadError {
        ReadError::NotRead { file: self.0.to_owned(), reason: error.to_string() }
    }
}
