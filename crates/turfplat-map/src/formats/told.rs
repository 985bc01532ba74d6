//! Why other formats are told as GeoJSON: a map is read twice and never held, and what is read
//! again must be found by its place. So the features of a shapefile or a KML file are written down
//! once in the form that the rest of this crate reads, in memory or, beyond some megabytes, in a
//! file that goes when it is closed: one for each of the file's own, in its order, on its own line.

use std::fs::File;
use std::io::{self, BufWriter, Write};

use geo_types::Geometry;
use serde_json::{Map, Value};

use crate::bytes::Bytes;
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
}

/// What a record of a file is drawn as.
pub(crate) enum Drawing<'g> {
    /// This.
    Shape(&'g Geometry<f64>),
    /// Nothing.
    Nothing,
    /// Something that cannot be read, and why: the feature will be refused with these words.
    Unreadable(String),
}

/// Writes features down; one for each record of the file, or the numbers in messages are wrong.
pub(crate) struct Told {
    out: Out,
    /// The line that is being written, from 1.
    line: usize,
    is_empty: bool,
}

enum Out {
    Memory(Vec<u8>),
    File(BufWriter<File>),
}

/// More than this is kept in a file.
const KEPT_IN_MEMORY: usize = 4 << 20;

impl Told {
    pub(crate) fn new() -> Told {
        let start = br#"{"type":"FeatureCollection","features":["#.to_vec();
        Told { out: Out::Memory(start), line: 1, is_empty: true }
    }

    /// Tells one feature, which stands on `line` of its file (from 1, never falling) or, where the
    /// file has no lines, anywhere.
    ///
    /// # Errors
    ///
    /// What of the temporary file cannot be written.
    pub(crate) fn feature(
        &mut self,
        line: Option<usize>,
        drawing: Drawing<'_>,
        properties: &Map<String, Value>,
    ) -> io::Result<()> {
        let geometry = match drawing {
            Drawing::Shape(shape) => geojson::Geometry::from(shape).to_string(),
            Drawing::Nothing => "null".to_owned(),
            Drawing::Unreadable(reason) => {
                format!(r#"{{"unreadable":{}}}"#, Value::from(reason))
            }
        };
        let properties = serde_json::to_string(properties)?;
        if !std::mem::take(&mut self.is_empty) {
            self.write(b",")?;
        }
        // Not in one go: a file may have a million empty lines.
        let line = line.unwrap_or(self.line + 1).max(self.line);
        while self.line < line {
            let some = (line - self.line).min(NEWLINES.len());
            self.write(&NEWLINES[..some])?;
            self.line += some;
        }
        let text =
            format!(r#"{{"type":"Feature","properties":{properties},"geometry":{geometry}}}"#);
        self.write(text.as_bytes())
    }

    /// What was told.
    ///
    /// # Errors
    ///
    /// What of the temporary file cannot be written.
    pub(crate) fn finish(mut self) -> io::Result<Bytes> {
        self.write(b"]}")?;
        match self.out {
            Out::Memory(bytes) => Ok(bytes.into()),
            Out::File(file) => {
                let file = file.into_inner().map_err(io::IntoInnerError::into_error)?;
                Bytes::of_file(file)
            }
        }
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        match &mut self.out {
            Out::File(file) => file.write_all(bytes),
            Out::Memory(memory) => {
                memory.extend_from_slice(bytes);
                if memory.len() > KEPT_IN_MEMORY {
                    let mut file = BufWriter::with_capacity(1 << 16, tempfile::tempfile()?);
                    file.write_all(memory)?;
                    self.out = Out::File(file);
                }
                Ok(())
            }
        }
    }
}

const NEWLINES: [u8; 256] = [b'\n'; 256];
