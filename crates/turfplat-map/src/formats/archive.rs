//! Why archives are opened here: maps travel zipped, a shapefile because it is five files, a KMZ by
//! its own rule. Nothing of an archive is trusted: what it unpacks to is counted while it is
//! unpacked and never by what it claims, and nothing is written under a name from it, so `../../x`
//! is only a name in a message. Source: PKWARE APPNOTE 6.3; KMZ: OGC 12-007r2, annex C.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::io::{self, BufReader, Read, Seek, SeekFrom};
use std::rc::Rc;

use zip::result::ZipError;
use zip::{CompressionMethod, ZipArchive};

use super::kml::ONLY_LINKS;
use super::shapefile;
use super::strangers;
use super::told::{Layer, Says};
use crate::bytes::{Bytes, Stream};
use crate::columns::Columns;
use crate::crs::CoordinateSystem;
use crate::error::ReadError;
use crate::feature::Counted;

/// What an archive may unpack to, all its maps together.
const MOST_BYTES: u64 = 2 << 30;
/// Beyond [`UNASKED`], maps unpack to no more than so many times the archive, and if they do they are
/// one thing over and over. KML and GeoJSON come to 4 to 20 times, with a table of HTML for each
/// feature to 80. A `.dbf` is left out of this: its columns are padded with blanks, 130 to 900 times.
const MOST_TIMES: u64 = 100;
/// So much may be unpacked of however small an archive.
const UNASKED: u64 = 16 << 20;
/// How many files it may hold.
const MOST_ENTRIES: usize = 10_000;
/// So much of an archive is read for its list of files, which would otherwise be held in memory
/// whatever its length: a kilobyte and more for each.
const LONGEST_LIST: u64 = 16 << 20;
/// What a `.prj` or a `.cpg` may unpack to: both are a line of text.
const LONGEST_TEXT: u64 = 1 << 20;

/// Reads a KML file by its name in messages and its bytes.
pub(crate) type KmlReader<'f> = &'f dyn Fn(&str, &Bytes) -> Result<Layer, ReadError>;

/// Reads the maps in a `.zip` or `.kmz`: shapefiles, KML or GeoJSON, in any folder, in the order of
/// their names. Columns as in [`shapefile::layer_of_kinds`]; KML is handed to `kml`.
///
/// # Errors
///
/// [`ReadError`] where it is no archive, holds no map or more than one sort of map, is locked or
/// unpacks to too much, and of the first map in it that cannot be read.
pub(crate) fn layers(
    name: &str,
    bytes: &Bytes,
    columns: &Columns,
    kml: KmlReader<'_>,
) -> Result<Vec<Layer>, ReadError> {
    let mut archive = Archive::open(name, bytes, MOST_ENTRIES, MOST_BYTES)?;
    let mut layers = archive.maps(columns, kml)?;
    let remark = archive.passed_over();
    if let Some(first) = layers.first_mut() {
        first.remarks.extend(remark.map(|message| (None, "files-not-read", message)));
    }
    Ok(layers)
}

impl Archive<'_> {
    /// Every map that is read.
    fn maps(&mut self, columns: &Columns, kml: KmlReader<'_>) -> Result<Vec<Layer>, ReadError> {
        match self.sort()? {
            Sort::Shapefiles => self.shapefiles(columns),
            Sort::Kml => {
                let main = self.kml_names();
                let others: Vec<String> =
                    self.ending_in(&["kml"]).into_iter().filter(|it| !main.contains(it)).collect();
                match self.each(main, kml) {
                    // What it links to lies beside it.
                    Err(ReadError::Format { reason, .. })
                        if reason.contains(ONLY_LINKS) && !others.is_empty() =>
                    {
                        self.each(others, kml)
                    }
                    read => read,
                }
            }
            Sort::GeoJson => self.each(self.ending_in(&["geojson", "json"]), &|name, bytes| {
                let told = match columns.is_plain() && columns.kind_of_file(name).is_none() {
                    true => None,
                    false => super::geojson::layer(
                        name,
                        bytes,
                        columns,
                        &CoordinateSystem::AsTheFileSays,
                    )?,
                };
                Ok(told.unwrap_or_else(|| geojson(name, bytes)))
            }),
        }
    }

    /// What to say of maps that were not read: a pond in one of them would be sprayed.
    fn passed_over(&self) -> Option<String> {
        const MOST_NAMED: usize = 20;
        let left = self.ending_in(&["kml"]);
        let is_kml = !left.is_empty();
        let left = left.into_iter().filter_map(|key| self.entries.get(&key));
        let all: Vec<&str> =
            left.map(|entry| &entry.path).chain(&self.not_read).map(String::as_str).collect();
        let more = all.len().saturating_sub(MOST_NAMED);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        let named = all.get(..MOST_NAMED).unwrap_or(&all).join(", ");
        let zipped =
            if is_kml { ", or zip all that count in one .zip without a doc.kml" } else { "" };
        (!all.is_empty()).then(|| {
            format!("not read: {named}{more}; name each file that counts by itself{zipped}")
        })
    }
}

fn geojson(name: &str, bytes: &Bytes) -> Layer {
    Layer {
        name: name.to_owned(),
        bytes: bytes.clone(),
        says: Says::GeoJson,
        counted: Counted::Features,
        has_lines: true,
        left_out: Vec::new(),
        skipped: Default::default(),
        remarks: Vec::new(),
        called: Vec::new(),
        columns: Default::default(),
    }
}

/// What an archive is a map by.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Sort {
    Shapefiles,
    Kml,
    GeoJson,
}

/// An archive of which nothing is unpacked yet.
struct Archive<'b> {
    name: &'b str,
    zip: ZipArchive<Metered<'b>>,
    /// The files that may be of a map, by their paths in lower case.
    entries: BTreeMap<String, Entry>,
    /// The paths of some of the others, for messages.
    others: Vec<String>,
    /// The paths of maps that are not read here.
    not_read: Vec<String>,
    /// So many bytes may still be unpacked.
    left: u64,
    /// So many of what is not a table of blanks.
    left_dense: u64,
}

struct Entry {
    /// As the archive has it.
    path: String,
    /// Its place in the archive.
    place: usize,
}

/// The endings of what is unpacked.
const WANTED: [&str; 8] = ["shp", "shx", "dbf", "prj", "cpg", "kml", "geojson", "json"];
/// The endings of maps that are read, but not in an archive.
const MAPS: [&str; 9] =
    ["csv", "tsv", "gpx", "gpkg", "kmz", "zip", "geojsonl", "geojsons", "ndjson"];

impl<'b> Archive<'b> {
    fn open(
        name: &'b str,
        bytes: &'b Bytes,
        most_entries: usize,
        most_bytes: u64,
    ) -> Result<Archive<'b>, ReadError> {
        let left = Rc::new(Cell::new(LONGEST_LIST));
        let reader = BufReader::new(bytes.stream());
        let zip = ZipArchive::new(Metered { reader, left: Rc::clone(&left) });
        let is_too_long = match &zip {
            Ok(zip) => zip.len() > most_entries,
            Err(_) => left.get() == 0,
        };
        if is_too_long {
            return Err(bad(
                name,
                format!("holds more than {most_entries} files; zip the maps alone"),
            ));
        }
        let zip = zip.map_err(|error| bad(name, not_whole(&error)))?;
        left.set(u64::MAX);
        if zip.has_duplicate_names() {
            let reason = "holds two files of one name; unpack it and zip again those that count";
            return Err(bad(name, reason.to_owned()));
        }
        let (entries, others, not_read) = (BTreeMap::new(), Vec::new(), Vec::new());
        let left_dense = bytes.length().saturating_mul(MOST_TIMES).max(UNASKED);
        let mut archive =
            Archive { name, zip, entries, others, not_read, left: most_bytes, left_dense };
        for place in 0..archive.zip.len() {
            archive.add(place)?;
        }
        Ok(archive)
    }

    /// Notes a file, unless it is hidden.
    fn add(&mut self, place: usize) -> Result<(), ReadError> {
        let file = self.zip.by_index_data(place).map_err(|error| self.bad(not_whole(&error)))?;
        let path = match file.name() {
            Ok(path) => path.into_owned(),
            Err(_) => String::from_utf8_lossy(file.name_raw()).into_owned(),
        };
        let (is_locked, method) = (file.encrypted(), file.compression());
        let path: String =
            path.replace('\\', "/").chars().filter(|c| !c.is_control()).take(300).collect();
        if path.ends_with('/') || is_hidden(&path) {
            return Ok(());
        }
        let key = path.to_lowercase();
        if !WANTED.contains(&parted(&key).1) {
            if MAPS.contains(&parted(&key).1) {
                self.not_read.push(path.clone());
            }
            if self.others.len() < 3 {
                self.others.push(path);
            }
            return Ok(());
        }
        if is_locked {
            return Err(self.bad(format!(
                "{path} in it is locked with a password; unpack it and zip it again without one"
            )));
        }
        if !matches!(method, CompressionMethod::Stored | CompressionMethod::Deflated) {
            return Err(self.bad(format!(
                "{path} in it is packed by a method that is not read ({method:?}); unpack it and zip it again by the usual one, deflate"
            )));
        }
        match self.entries.insert(key, Entry { path, place }) {
            None => Ok(()),
            // The one system's two files are the other's one.
            Some(Entry { path, .. }) => Err(self.bad(format!(
                "holds {path} twice, in small letters and in capitals; unpack it and zip again the one that counts"
            ))),
        }
    }

    /// What its maps are.
    fn sort(&self) -> Result<Sort, ReadError> {
        let first = |ending: &str| self.ending_in(&[ending]).into_iter().next();
        let sorts = [
            (Sort::Shapefiles, first("shp")),
            (Sort::Kml, first("kml")),
            (Sort::GeoJson, first("geojson")),
        ];
        let found: Vec<(Sort, String)> =
            sorts.into_iter().filter_map(|(sort, path)| Some((sort, path?))).collect();
        match found.as_slice() {
            [(sort, _)] => Ok(*sort),
            [(_, one), (_, other), ..] => Err(self.bad(format!(
                "holds both {one} and {other}; zip each sort of map by itself, so that none is left out"
            ))),
            // Beside other maps it would describe them.
            [] if first("json").is_some() => Ok(Sort::GeoJson),
            [] => {
                let found = self.entries.values().map(|entry| &entry.path).chain(&self.others);
                if let Some(advice) = found.clone().find_map(|path| strangers::advice_on_packed(path)) {
                    return Err(self.bad(advice.to_owned()));
                }
                let found: Vec<&str> = found.take(3).map(String::as_str).collect();
                let found = if found.is_empty() { "nothing".into() } else { found.join(", ") };
                Err(self.bad(format!(
                    "holds no map but {found}; expected a shapefile (.shp, .shx, .dbf, .prj), a .kml or a .geojson"
                )))
            }
        }
    }

    /// The keys of all files that end so, in their order.
    fn ending_in(&self, endings: &[&str]) -> Vec<String> {
        self.entries.keys().filter(|key| endings.contains(&parted(key).1)).cloned().collect()
    }

    /// The KML files that count: of a KMZ one, the others of which it names itself.
    fn kml_names(&self) -> Vec<String> {
        let all = self.ending_in(&["kml"]);
        let main = match all.iter().find(|key| *key == "doc.kml") {
            None if self.name.to_lowercase().ends_with(".kmz") => {
                let in_root = all.iter().filter(|key| !key.contains('/'));
                // By the rule the first in the archive, whatever its name.
                in_root.min_by_key(|key| self.entries.get(*key).map(|entry| entry.place))
            }
            main => main,
        };
        main.cloned().map_or(all, |main| vec![main])
    }

    /// Reads each file as a layer of its own.
    fn each(
        &mut self,
        keys: Vec<String>,
        read: &dyn Fn(&str, &Bytes) -> Result<Layer, ReadError>,
    ) -> Result<Vec<Layer>, ReadError> {
        let mut layers = Vec::new();
        for key in keys {
            let Some(entry) = self.entries.remove(&key) else { continue };
            let name = self.layer_name(&entry.path);
            let bytes = self.unpacked(entry, u64::MAX)?;
            layers.push(read(&name, &bytes)?);
        }
        Ok(layers)
    }

    fn shapefiles(&mut self, columns: &Columns) -> Result<Vec<Layer>, ReadError> {
        let mut layers = Vec::new();
        for key in self.ending_in(&["shp"]) {
            let Some(entry) = self.entries.remove(&key) else { continue };
            let name = self.layer_name(&entry.path);
            let stem = parted(&key).0;
            let parts = shapefile::Parts {
                shp: self.unpacked(entry, u64::MAX)?,
                shx: self.part(stem, "shx", u64::MAX)?,
                dbf: self.part(stem, "dbf", u64::MAX)?,
                prj: self.text(stem, "prj")?,
                cpg: self.text(stem, "cpg")?,
            };
            layers.push(shapefile::layer_of_kinds(&name, parts, columns)?);
        }
        Ok(layers)
    }

    /// The file that belongs to a shapefile, unpacked up to `most` bytes.
    fn part(&mut self, stem: &str, ending: &str, most: u64) -> Result<Option<Bytes>, ReadError> {
        let entry = self.entries.remove(&format!("{stem}.{ending}"));
        entry.map(|entry| self.unpacked(entry, most)).transpose()
    }

    fn text(&mut self, stem: &str, ending: &str) -> Result<Option<Vec<u8>>, ReadError> {
        // One byte more shows that there is more.
        let Some(bytes) = self.part(stem, ending, LONGEST_TEXT + 1)? else { return Ok(None) };
        if bytes.length() > LONGEST_TEXT {
            return Err(self.bad(format!(
                "{stem}.{ending} in it has more than {LONGEST_TEXT} bytes, too many for a line of text; export the shapefile again"
            )));
        }
        let mut text = Vec::new();
        let read = bytes.stream().read_to_end(&mut text);
        read.map_err(|error| self.unread(error.to_string()))?;
        Ok(Some(text))
    }

    /// A file's first `most` bytes, as long as there may be more.
    fn unpacked(&mut self, entry: Entry, most: u64) -> Result<Bytes, ReadError> {
        let Entry { path, place } = entry;
        let is_padded = parted(&path.to_lowercase()).1 == "dbf";
        let left = if is_padded { self.left } else { self.left.min(self.left_dense) };
        let file = self.zip.by_index(place).map_err(io::Error::from);
        // One byte more shows that there is more.
        let most = most.min(left.saturating_add(1));
        let bytes = file.and_then(|file| Bytes::of_stream(&mut file.take(most)));
        let bytes = bytes.map_err(|error| self.damaged(&path, &error.to_string()))?;
        if !is_padded {
            match self.left_dense.checked_sub(bytes.length()) {
                Some(left) => self.left_dense = left,
                None => {
                    return Err(self.bad(format!(
                        "unpacks to more than {MOST_TIMES} times its own size, where {path} was cut short: it holds the same thing over and over, and no map does; export it again, or unpack it, look at it and name the files that count"
                    )));
                }
            }
        }
        match self.left.checked_sub(bytes.length()) {
            Some(left) => self.left = left,
            None => {
                return Err(self.bad(format!(
                    "unpacks to more than {} MB, where {path} was cut short; zip fewer maps at once",
                    MOST_BYTES >> 20
                )));
            }
        }
        Ok(bytes)
    }

    fn layer_name(&self, path: &str) -> String {
        format!("{} ({path})", self.name)
    }

    fn bad(&self, reason: String) -> ReadError {
        bad(self.name, reason)
    }

    fn damaged(&self, path: &str, reason: &str) -> ReadError {
        self.bad(format!("{path} in it cannot be unpacked ({reason}); copy or download it again"))
    }

    fn unread(&self, reason: String) -> ReadError {
        ReadError::NotRead { file: self.name.to_owned(), reason }
    }
}

fn not_whole(error: &ZipError) -> String {
    format!("not a whole zip archive ({error}); copy or download it again")
}

/// An archive's bytes, of which no more are handed out than is allowed.
struct Metered<'b> {
    reader: BufReader<Stream<'b>>,
    left: Rc<Cell<u64>>,
}

impl Read for Metered<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = self.reader.read(buffer)?;
        match self.left.get().checked_sub(count as u64) {
            Some(left) => self.left.set(left),
            None => {
                self.left.set(0);
                return Err(io::Error::other("its list of files is too long"));
            }
        }
        Ok(count)
    }
}

impl Seek for Metered<'_> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.reader.seek(to)
    }
}

fn bad(name: &str, reason: String) -> ReadError {
    ReadError::Format { file: name.to_owned(), reason }
}

/// True of what a file manager put there for itself.
fn is_hidden(path: &str) -> bool {
    path.split('/').any(|part| {
        part == "__MACOSX" || part.starts_with('.') && !part.chars().all(|letter| letter == '.')
    })
}

/// A path without its ending, and the ending; of `lots` the ending is empty.
fn parted(path: &str) -> (&str, &str) {
    match path.rsplit_once('.') {
        Some((stem, ending)) if !ending.contains('/') => (stem, ending),
        _ => (path, ""),
    }
}

#[cfg(test)]
mod tests;
