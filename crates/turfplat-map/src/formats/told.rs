//! Why other formats are told as GeoJSON: a map is read twice and never held, and what is read
//! again must be found by its place. So the features of a shapefile or a KML file are written down
//! once in the form that the rest of this crate reads, in memory or, beyond some megabytes, in a
//! file that goes when it is closed: one for each of the file's own, in its order, on its own line.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::{self, BufWriter, Write};

use geo_types::Geometry;
use geojson::{GeometryValue, Position};
use serde_json::{Map, Value};

use crate::attribute_names::Known;
use crate::bytes::Bytes;
use crate::columns::Columns;
use crate::feature::Counted;
use crate::kind::Kind;

/// In what the coordinates of a layer are, as far as its file says.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Says {
    /// GeoJSON: longitude and latitude on WGS 84, unless its `crs` member says another.
    GeoJson,
    /// Longitude and latitude on WGS 84, by the format's own rule.
    LongitudeLatitude,
    /// A code such as `EPSG:2289`, or well-known text, ESRI's or OGC's.
    System(String),
    /// Nothing: it must be asked.
    Nothing,
    /// Metres on a plane of its own.
    PlaneMetres,
}

/// One table of features of a file in another format, told as GeoJSON.
#[derive(Debug)]
pub(crate) struct Layer {
    /// The file, and of a file with several layers the layer: `lots.gpkg (turf)`.
    pub(crate) name: String,
    pub(crate) bytes: Bytes,
    pub(crate) says: Says,
    /// By what its features are counted in messages.
    pub(crate) counted: Counted,
    /// True of a file that has lines.
    pub(crate) has_lines: bool,
    /// Columns that were not carried over.
    pub(crate) left_out: Vec<String>,
    /// What was passed over, as a kinds file says: by value how many features.
    pub(crate) skipped: BTreeMap<String, u64>,
    /// What should be seen of single features, each by its place from 0, or of the whole: a code and what
    /// to say.
    pub(crate) remarks: Vec<(Option<usize>, &'static str, String)>,
    /// By the number that stands with a feature the kind that its file or folder is called by; `None`
    /// where others in it say themselves what they are.
    pub(crate) called: Vec<Option<Kind>>,
    /// The columns or properties that it has, where some are asked for, as far as they were seen.
    pub(crate) columns: BTreeSet<String>,
}

/// What a record of a file is drawn as.
pub(crate) enum Drawing<'g> {
    /// This.
    Shape(&'g Geometry<f64>),
    /// Nothing.
    Nothing,
    /// What the file marks as deleted: no feature at all, but those after it keep their numbers.
    Deleted,
    /// Something that cannot be read, and why: the feature will be refused with these words.
    Unreadable(String),
}

/// Stands for a record that is no feature here. Only in what was told: in a GeoJSON file it is refused.
pub(crate) const PASSED_OVER: &str = "{}";

/// A name that stands for a kind: of a file, a layer, a folder.
struct Naming {
    /// What bears the name, in words, such as `the name of the file`.
    what: String,
    kind: Kind,
    /// How many features it would speak for.
    nameless: u64,
    /// True where another feature says itself what it is.
    is_mixed: bool,
}

/// A [`Naming`] by its number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Called(usize);

/// Writes features down; one for each record of the file, or the numbers in messages are wrong.
pub(crate) struct Told<'c> {
    columns: &'c Columns,
    skipped: BTreeMap<String, u64>,
    names: BTreeSet<String>,
    namings: Vec<Naming>,
    /// What the next features are called by.
    called: Option<Called>,
    /// What the whole file is called by.
    file: Option<Called>,
    out: Spool,
    /// The line that is being written, from 1.
    line: usize,
    is_empty: bool,
}

/// Bytes written down in memory or, beyond some megabytes, in a file that goes when it is closed.
pub(crate) enum Spool {
    Memory(Vec<u8>),
    File(BufWriter<File>),
}

/// More than this is kept in a file.
const KEPT_IN_MEMORY: usize = 4 << 20;

impl Told<'_> {
    pub(crate) fn new(columns: &Columns) -> Told<'_> {
        let start = br#"{"type":"FeatureCollection","features":["#.to_vec();
        Told {
            columns,
            skipped: BTreeMap::new(),
            names: BTreeSet::new(),
            namings: Vec::new(),
            called: None,
            file: None,
            out: Spool::Memory(start),
            line: 1,
            is_empty: true,
        }
    }

    /// Notes columns that the file has, be they filled or not.
    pub(crate) fn know<'n>(&mut self, columns: impl IntoIterator<Item = &'n str>) {
        const MOST_KNOWN: usize = 500;
        for column in columns {
            if self.names.len() < MOST_KNOWN && !self.names.contains(column) {
                self.names.insert(column.to_owned());
            }
        }
    }

    /// Fills in what a row does not say and its file could have said, where that means something.
    fn fill_in(&self, row: &mut Map<String, Value>) {
        let asked = self.columns.with_a_word_for_nothing().chain(self.columns.of_own_kinds());
        for column in asked {
            let is_there = |name: &String| name.trim().eq_ignore_ascii_case(column.trim());
            if self.names.iter().any(is_there) && !row.keys().any(is_there) {
                row.insert(column.to_owned(), Value::Null);
            }
        }
    }

    /// Notes what the file is called by; its features without a kind are of that one, unless others
    /// say themselves what they are.
    pub(crate) fn call_file(&mut self, kind: Option<Kind>) {
        self.file = kind.map(|kind| self.naming(kind, "the name of the file".to_owned()));
        self.called = self.file;
    }

    /// A name that stands for a kind, of `what` in words.
    pub(crate) fn naming(&mut self, kind: Kind, what: String) -> Called {
        self.namings.push(Naming { what, kind, nameless: 0, is_mixed: false });
        Called(self.namings.len() - 1)
    }

    /// What the whole file is called by.
    pub(crate) fn of_file(&self) -> Option<Called> {
        self.file
    }

    /// Says what the next features are called by.
    pub(crate) fn call(&mut self, called: Option<Called>) {
        self.called = called;
    }

    /// Marks a feature that does not say what it is with the name that may; counts those that do.
    fn mark(&mut self, properties: &mut Map<String, Value>) {
        // A file that writes it itself does not know what it stands for.
        properties.remove(Known::Called.name());
        let is_kind = |(name, value): (&String, &Value)| {
            name.eq_ignore_ascii_case(Known::Kind.name()) && !value.is_null()
        };
        let says_itself = properties.iter().any(is_kind);
        if let Some(Called(number)) = self.called.filter(|_| !says_itself) {
            properties.insert(Known::Called.name().to_owned(), number.into());
            self.namings[number].nameless += 1;
        }
        let speaks = self.called.filter(|_| says_itself).into_iter();
        // In a file with folders for kinds, what is in none of them is of no kind.
        let is_in_folder = says_itself || self.called.is_some() && self.called != self.file;
        for Called(number) in speaks.chain(self.file.filter(|_| is_in_folder)) {
            self.namings[number].is_mixed = true;
        }
    }

    /// Tells one feature, which stands on `line` of its file (from 1, never falling) or, where the
    /// file has no lines, anywhere. Of what stands in its row only what is asked for is told.
    ///
    /// # Errors
    ///
    /// What of the temporary file cannot be written.
    pub(crate) fn feature(
        &mut self,
        line: Option<usize>,
        drawing: Drawing<'_>,
        row: Map<String, Value>,
    ) -> io::Result<()> {
        let geometry = match drawing {
            Drawing::Shape(shape) => {
                let mut geometry = geojson::Geometry::from(shape);
                wind(&mut geometry.value);
                geometry.to_string()
            }
            Drawing::Nothing => "null".to_owned(),
            Drawing::Deleted => return self.passed_over(line),
            Drawing::Unreadable(reason) => {
                format!(r#"{{"unreadable":{}}}"#, Value::from(reason))
            }
        };
        self.feature_of_text(line, &geometry, row)
    }

    /// Tells one feature whose geometry is GeoJSON text.
    ///
    /// # Errors
    ///
    /// As [`Told::feature`].
    pub(crate) fn feature_of_text(
        &mut self,
        line: Option<usize>,
        geometry: &str,
        row: Map<String, Value>,
    ) -> io::Result<()> {
        let mut row = row;
        if !self.columns.is_plain() {
            self.know(row.keys().map(String::as_str));
            self.fill_in(&mut row);
        }
        let mut properties = match self.columns.settle(row, self.called.is_some()) {
            Ok(properties) => properties,
            Err(value) => {
                self.skip(value);
                return self.passed_over(line);
            }
        };
        if !self.namings.is_empty() {
            self.mark(&mut properties);
        }
        let properties = serde_json::to_string(&properties)?;
        self.begin(line)?;
        for part in
            [r#"{"type":"Feature","properties":"#, &properties, r#","geometry":"#, geometry, "}"]
        {
            self.out.write(part.as_bytes())?;
        }
        Ok(())
    }

    /// Tells a feature as its file has it, be it as broken as it may.
    ///
    /// # Errors
    ///
    /// As [`Told::feature`].
    pub(crate) fn as_it_is(&mut self, line: usize, text: &[u8]) -> io::Result<()> {
        self.begin(Some(line))?;
        // A broken feature is not one to be passed over.
        self.out.write(if text == PASSED_OVER.as_bytes() { b"{ }" } else { text })?;
        // The line of the next may be its last.
        self.line += memchr::memchr_iter(b'\n', text).count();
        Ok(())
    }

    fn skip(&mut self, value: String) {
        const MOST_LISTED: usize = 40;
        let is_known = self.skipped.contains_key(&value);
        let value =
            if is_known || self.skipped.len() < MOST_LISTED { value } else { "others".to_owned() };
        *self.skipped.entry(value).or_default() += 1;
    }

    fn passed_over(&mut self, line: Option<usize>) -> io::Result<()> {
        self.begin(line)?;
        self.out.write(PASSED_OVER.as_bytes())
    }

    /// Goes to the line on which the next feature stands.
    fn begin(&mut self, line: Option<usize>) -> io::Result<()> {
        if !std::mem::take(&mut self.is_empty) {
            self.out.write(b",")?;
        }
        // Not in one go: a file may have a million empty lines.
        let line = line.unwrap_or(self.line + 1).max(self.line);
        while self.line < line {
            let some = (line - self.line).min(NEWLINES.len());
            self.out.write(&NEWLINES[..some])?;
            self.line += some;
        }
        Ok(())
    }

    /// What was told, as a layer without findings but those on its name.
    ///
    /// # Errors
    ///
    /// What of the temporary file cannot be written.
    pub(crate) fn layer(
        mut self,
        name: &str,
        says: Says,
        counted: Counted,
        has_lines: bool,
    ) -> io::Result<Layer> {
        let (name, skipped) = (name.to_owned(), std::mem::take(&mut self.skipped));
        let namings = std::mem::take(&mut self.namings);
        let (left_out, columns) = (Vec::new(), std::mem::take(&mut self.names));
        let bytes = self.finish()?;
        let remarks = namings.iter().filter_map(Naming::remark).collect();
        let called =
            namings.iter().map(|naming| Some(naming.kind).filter(|_| !naming.is_mixed)).collect();
        Ok(Layer {
            name,
            bytes,
            says,
            counted,
            has_lines,
            left_out,
            skipped,
            remarks,
            called,
            columns,
        })
    }

    /// What was told.
    ///
    /// # Errors
    ///
    /// What of the temporary file cannot be written.
    fn finish(mut self) -> io::Result<Bytes> {
        self.out.write(b"]}")?;
        self.out.finish()
    }
}

impl Naming {
    /// What to say where it spoke for features.
    fn remark(&self) -> Option<(Option<usize>, &'static str, String)> {
        let Naming { what, kind, nameless, is_mixed } = self;
        let features = match nameless {
            0 => return None,
            1 => "the one feature in it was taken for".to_owned(),
            many => format!("its {many} features were all taken for"),
        };
        let message = format!(
            "no feature says what it is, so {features} {kind}, by {what}; if one is something else, give each its own kind"
        );
        (!is_mixed).then_some((None, "kind-from-name", message))
    }
}

impl Spool {
    pub(crate) fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        match self {
            Spool::File(file) => file.write_all(bytes),
            Spool::Memory(memory) => {
                memory.extend_from_slice(bytes);
                if memory.len() > KEPT_IN_MEMORY {
                    let mut file = BufWriter::with_capacity(1 << 16, tempfile::tempfile()?);
                    file.write_all(memory)?;
                    *self = Spool::File(file);
                }
                Ok(())
            }
        }
    }

    pub(crate) fn finish(self) -> io::Result<Bytes> {
        match self {
            Spool::Memory(bytes) => Ok(bytes.into()),
            Spool::File(file) => {
                let file = file.into_inner().map_err(io::IntoInnerError::into_error)?;
                Bytes::of_file(file)
            }
        }
    }
}

/// Turns rings as RFC 7946 has them: outlines counterclockwise, holes clockwise. Other formats have
/// other rules, or none.
fn wind(geometry: &mut GeometryValue) {
    match geometry {
        GeometryValue::Polygon { coordinates } => wind_rings(coordinates),
        GeometryValue::MultiPolygon { coordinates } => {
            coordinates.iter_mut().for_each(|rings| wind_rings(rings));
        }
        GeometryValue::GeometryCollection { geometries } => {
            geometries.iter_mut().for_each(|geometry| wind(&mut geometry.value));
        }
        _ => {}
    }
}

fn wind_rings(rings: &mut [Vec<Position>]) {
    for (place, ring) in rings.iter_mut().enumerate() {
        let Some(start) = ring.first().map(|place| [place[0], place[1]]) else { continue };
        // From the first corner, so that far from the origin no digits are lost.
        let twice_area: f64 = ring
            .windows(2)
            .map(|side| {
                let [a, b] = [&side[0], &side[1]].map(|it| [it[0] - start[0], it[1] - start[1]]);
                a[0] * b[1] - b[0] * a[1]
            })
            .sum();
        if (twice_area < 0.0) == (place == 0) && twice_area != 0.0 {
            ring.reverse();
        }
    }
}

const NEWLINES: [u8; 256] = [b'\n'; 256];
