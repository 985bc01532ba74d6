//! Why other formats are told as GeoJSON: a map is read twice and never held, and what is read
//! again must be found by its place. So the features of a shapefile or a KML file are written down
//! once in the form that the rest of this crate reads, in memory or, beyond some megabytes, in a
//! file that goes when it is closed: one for each of the file's own, in its order, on its own line.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, BufWriter, Write};

use geo_types::Geometry;
use geojson::{GeometryValue, Position};
use serde_json::{Map, Value};

use crate::bytes::Bytes;
use crate::columns::Columns;
use crate::feature::Counted;

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

/// Writes features down; one for each record of the file, or the numbers in messages are wrong.
pub(crate) struct Told<'c> {
    columns: &'c Columns,
    skipped: BTreeMap<String, u64>,
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
            out: Spool::Memory(start),
            line: 1,
            is_empty: true,
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
        let properties = match self.columns.settle(row) {
            Ok(properties) => properties,
            Err(value) => {
                self.skip(value);
                return self.passed_over(line);
            }
        };
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

    /// What was told, as a layer without findings.
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
        let bytes = self.finish()?;
        let (left_out, remarks) = (Vec::new(), Vec::new());
        Ok(Layer { name, bytes, says, counted, has_lines, left_out, skipped, remarks })
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
