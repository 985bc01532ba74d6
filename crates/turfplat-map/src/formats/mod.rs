//! Map files in formats other than GeoJSON: each is told once as GeoJSON features, see [`told`].
//! Which format a file is of is seen by its first bytes, and by its name only where they do not say.

mod archive;
mod carried;
mod code_page;
mod decoded;
pub(crate) mod geojson;
pub(crate) mod geopackage;
mod gpx;
pub(crate) mod kml;
mod parts;
mod sequence;
pub(crate) mod shapefile;
mod shapes;
mod strangers;
mod table;
pub(crate) mod told;
mod untrusted;
mod wkb;
mod wkt;
mod xml;

use std::ffi::OsString;
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use crate::bytes::Bytes;
use crate::columns::Columns;
use crate::crs::CoordinateSystem;
use crate::error::ReadError;
use crate::formats::told::Layer;
use crate::survey::Source;

/// Opens a map file of any format that is read; a file of several layers is several sources.
///
/// GeoJSON (RFC 7946, also with the `crs` member of 2008), GeoJSON text sequences (RFC 8142) and one
/// feature a line, shapefiles with what belongs to them, one or several in a zip archive, KML, KMZ,
/// GPX, GeoPackage, tables (CSV) with a column of well-known text or of longitude and latitude, and
/// tape sheets (TOML, or CSV with a column `figure`).
///
/// # Errors
///
/// [`ReadError`] for a file that cannot be read or is of no known format, with what it seems to be.
pub fn open(
    path: &Path,
    crs: &CoordinateSystem,
    columns: &Columns,
) -> Result<Vec<Source>, ReadError> {
    let name = path.display().to_string();
    if path.is_dir() {
        let is_database = path.extension().is_some_and(|it| it.eq_ignore_ascii_case("gdb"));
        let advice = match is_database {
            true => strangers::FILE_GEODATABASE,
            false => "it is a folder; name the files in it",
        };
        return Err(not_read(&name, advice));
    }
    let bytes = Bytes::open(path).map_err(|error| not_read(&name, error))?;
    layers(&name, Some(path), bytes, crs, columns)
}

/// Reads a map of any format but a shapefile from a stream, such as standard input.
///
/// # Errors
///
/// As [`open`].
pub fn of_stream(
    name: &str,
    stream: &mut impl Read,
    crs: &CoordinateSystem,
    columns: &Columns,
) -> Result<Vec<Source>, ReadError> {
    let bytes = Bytes::of_stream(stream).map_err(|error| not_read(name, error))?;
    layers(name, None, bytes, crs, columns)
}

fn not_read(name: &str, reason: impl ToString) -> ReadError {
    ReadError::NotRead { file: name.to_owned(), reason: reason.to_string() }
}

/// What a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Format {
    GeoJson,
    Sequence,
    Shapefile,
    Archive,
    Kml,
    Gpx,
    GeoPackage,
    Table,
    Tape,
    TapeTable,
    /// Something else, and what to do with it.
    Other(&'static str),
}

/// So much of a file is looked at to tell what it is.
const START: u64 = 1 << 20;

fn layers(
    name: &str,
    path: Option<&Path>,
    bytes: Bytes,
    crs: &CoordinateSystem,
    columns: &Columns,
) -> Result<Vec<Source>, ReadError> {
    let mut start = Vec::new();
    let length = bytes.length().min(START);
    bytes.read(0, length, &mut start).map_err(|error| not_read(name, error))?;
    let one = |layer: Layer| vec![Source::told(layer, crs.clone())];
    let several = |layers: Vec<Layer>| -> Vec<Source> {
        layers.into_iter().map(|layer| Source::told(layer, crs.clone())).collect()
    };
    match format_of(&start, Path::new(name)) {
        Format::GeoJson if columns.is_plain() && columns.kind_of_file(name).is_none() => {
            Ok(vec![Source::geojson(name, bytes, crs.clone())])
        }
        Format::GeoJson => match geojson::layer(name, &bytes, columns, crs)? {
            Some(layer) => Ok(one(layer)),
            None => Ok(vec![Source::geojson(name, bytes, crs.clone())]),
        },
        Format::Sequence => {
            let layer = sequence::layer(name, &bytes)?;
            match columns.is_plain() && columns.kind_of_file(name).is_none() {
                true => Ok(one(layer)),
                false => match geojson::layer(name, &layer.bytes, columns, crs)? {
                    Some(told) => Ok(one(told)),
                    None => Ok(one(layer)),
                },
            }
        }
        Format::Shapefile => {
            let parts = match path {
                Some(path) => parts_beside(path, bytes).map_err(|error| not_read(name, error))?,
                None => shapefile::Parts { shp: bytes, shx: None, dbf: None, prj: None, cpg: None },
            };
            shapefile::layer_of_kinds(name, parts, columns).map(one)
        }
        Format::Archive => {
            let kml = |name: &str, bytes: &Bytes| kml::layer(name, bytes, columns);
            archive::layers(name, &bytes, columns, &kml).map(several)
        }
        Format::Kml => kml::layer(name, &bytes, columns).map(one),
        Format::Gpx => gpx::layer(name, &bytes, columns).map(one),
        Format::GeoPackage => geopackage::layers(name, path, &bytes, columns).map(several),
        Format::Table => table::layer(name, &bytes, columns).map(one),
        Format::Tape => crate::tape::layer(name, &text_of(name, &bytes)?).map(one),
        Format::TapeTable => crate::tape::layer_of_csv(name, &text_of(name, &bytes)?).map(one),
        Format::Other(advice) => {
            Err(ReadError::Format { file: name.to_owned(), reason: advice.to_owned() })
        }
    }
}

/// A tape sheet is written by hand.
const LONGEST_SHEET: u64 = 16 << 20;

fn text_of(name: &str, bytes: &Bytes) -> Result<String, ReadError> {
    if bytes.length() > LONGEST_SHEET {
        return Err(not_read(name, "a tape sheet of more than 16 MB"));
    }
    let mut text = Vec::new();
    bytes.read(0, bytes.length(), &mut text).map_err(|error| not_read(name, error))?;
    let text = match text.strip_prefix(b"\xef\xbb\xbf") {
        Some(text) => text.to_vec(),
        None => text,
    };
    String::from_utf8(text).map_err(|error| ReadError::Format {
        file: name.to_owned(),
        reason: format!(
            "byte {}: not UTF-8 text; save the sheet in UTF-8",
            error.utf8_error().valid_up_to()
        ),
    })
}

/// Endings of files of one feature a line.
const SEQUENCES: [&str; 4] = ["geojsonl", "geojsons", "ndjson", "jsonl"];

fn format_of(start: &[u8], name: &Path) -> Format {
    let extension = name.extension().unwrap_or_default().to_string_lossy().to_lowercase();
    let text = start.strip_prefix(b"\xef\xbb\xbf").unwrap_or(start).trim_ascii_start();
    let starts = |with: &[u8]| start.starts_with(with);
    if let Some(advice) = strangers::advice(start, &extension) {
        return Format::Other(advice);
    }
    match text.first() {
        // An index begins as the shapes do, and claims what is not there.
        _ if starts(b"\x00\x00\x27\x0a") && extension != "shx" => Format::Shapefile,
        _ if starts(b"PK\x03\x04") || starts(b"PK\x05\x06") => Format::Archive,
        _ if starts(b"SQLite format 3\0") => Format::GeoPackage,
        _ if sequence::is_sequence(start) => Format::Sequence,
        _ if starts(b"\xff\xfe") || starts(b"\xfe\xff") => of_xml(start, &extension),
        Some(b'<') => of_xml(start, &extension),
        Some(b'{') if SEQUENCES.contains(&extension.as_str()) => Format::Sequence,
        Some(b'{') => Format::GeoJson,
        Some(b'[') if extension != "toml" && !text.starts_with(b"[[") => Format::GeoJson,
        _ => match extension.as_str() {
            "shp" => Format::Shapefile,
            "gpkg" => Format::GeoPackage,
            "zip" | "kmz" => Format::Archive,
            "kml" => Format::Kml,
            "gpx" => Format::Gpx,
            of_lines if SEQUENCES.contains(&of_lines) => Format::Sequence,
            "toml" => Format::Tape,
            "csv" | "tsv" | "txt" if has_cell(text, &["figure"]) => Format::TapeTable,
            "csv" | "tsv" | "txt" => Format::Table,
            "dbf" | "shx" | "prj" | "cpg" | "sbn" | "sbx" | "qix" => {
                Format::Other("a part of a shapefile; name the .shp, with the others beside it")
            }
            _ if has_cell(text, &["figure"]) => Format::TapeTable,
            _ if has_cell(text, &["wkt", "longitude", "lon", "lng"]) => Format::Table,
            _ if memchr::memmem::find(text, b"[[shape]]").is_some() => Format::Tape,
            _ => Format::GeoJson,
        },
    }
}

/// KML or GPX, by the first element that is neither a comment nor a declaration.
fn of_xml(start: &[u8], extension: &str) -> Format {
    // Both bytes of a letter in UTF-16 but the one that is null.
    let text: String =
        start.iter().filter(|byte| **byte != 0).map(|byte| char::from(*byte)).collect();
    let root = root_of(&text);
    match (root.rsplit(':').next().unwrap_or(root), extension) {
        ("kml", _) | (_, "kml") => Format::Kml,
        ("gpx", _) | (_, "gpx") => Format::Gpx,
        // Parts of a KML file without its root.
        ("Document" | "Folder" | "Placemark", _) => Format::Kml,
        _ if !text
            .trim_start_matches(|c: char| !c.is_ascii() || c.is_whitespace())
            .starts_with('<') =>
        {
            Format::Other("text in UTF-16; save it in UTF-8")
        }
        (root, _) => Format::Other(strangers::advice_on_xml(root)),
    }
}

/// The name of the first element that is neither a declaration nor in a comment.
fn root_of(text: &str) -> &str {
    let mut rest = text;
    while let Some((_, tag)) = rest.split_once('<') {
        rest = match tag {
            _ if tag.starts_with("!--") => tag.split_once("-->").map_or("", |(_, after)| after),
            _ if tag.starts_with(['?', '!']) => tag,
            _ => return tag.split([' ', '>', '/', '\t', '\r', '\n']).next().unwrap_or(""),
        };
    }
    ""
}

/// True of a table with a column of one of these names.
fn has_cell(text: &[u8], names: &[&str]) -> bool {
    let head = text.split(|byte| *byte == b'\n').find(|line| !line.starts_with(b"#"));
    let head = head.filter(|head| head.len() < 1 << 16).unwrap_or_default();
    let head = String::from_utf8_lossy(head).to_lowercase();
    head.split([',', ';', '\t']).any(|cell| names.contains(&cell.trim().trim_matches('"')))
}

/// What stands beside a `.shp`, in whatever case its names are.
fn parts_beside(path: &Path, shp: Bytes) -> io::Result<shapefile::Parts> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let stem = path.file_stem().unwrap_or_default();
    let names: Vec<OsString> = fs::read_dir(folder.unwrap_or(Path::new(".")))?
        .filter_map(|entry| Some(entry.ok()?.file_name()))
        .collect();
    let beside = |extension: &str| -> Option<PathBuf> {
        let is_it = |name: &&OsString| {
            let name = Path::new(*name);
            name.file_stem() == Some(stem)
                && name.extension().is_some_and(|it| it.eq_ignore_ascii_case(extension))
        };
        let found = names.iter().find(is_it)?;
        Some(path.with_file_name(found))
    };
    let large = |extension| beside(extension).map(|path| Bytes::open(&path)).transpose();
    let small = |extension| beside(extension).map(fs::read).transpose();
    Ok(shapefile::Parts {
        shp,
        shx: large("shx")?,
        dbf: large("dbf")?,
        prj: small("prj")?,
        cpg: small("cpg")?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_known_by_its_bytes_and_then_by_its_name() {
        let of = |bytes: &[u8], name: &str| format_of(bytes, Path::new(name));
        assert_eq!(of(b"\x00\x00\x27\x0a", "x"), Format::Shapefile);
        assert_eq!(of(b"PK\x03\x04", "map.geojson"), Format::Archive);
        assert_eq!(of(b"<?xml version='1.0'?><!-- <gpx> --><kml>", "x"), Format::Kml);
        assert_eq!(of(b"\xff\xfe<\0g\0p\0x\0>\0", "x"), Format::Gpx);
        assert_eq!(of(b"<kml:kml xmlns:kml='x'>", "x"), Format::Kml);
        assert_eq!(of(b"\xef\xbb\xbf\n {\"type\"", "x.csv"), Format::GeoJson);
        assert_eq!(of(b"name,figure\n", "x.csv"), Format::TapeTable);
        assert_eq!(of(b"name,wkt\n", "x.csv"), Format::Table);
        assert_eq!(of(b"[[shape]]\n", "x.toml"), Format::Tape);
        assert!(matches!(of(b"<svg>", "x.svg"), Format::Other(_)));
        assert!(matches!(of(b"\x03abc", "lots.dbf"), Format::Other(_)));
        assert!(matches!(of(b"\x00\x00\x27\x0a", "lots.shx"), Format::Other(_)));
        assert_eq!(of(b"", "x.geojson"), Format::GeoJson);
        assert_eq!(of(b"kind;lon;lat\n", "-"), Format::Table);
        assert_eq!(of(b"unit = \"ft\"\n[[shape]]\n", "-"), Format::Tape);
        assert_eq!(of(b"[[1,2]]", "-"), Format::GeoJson);
    }
}
