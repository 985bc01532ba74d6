//! GeoJSON in lines: text sequences (RFC 8142), each text after a record separator, and lines of
//! one text each, as streams and logs of features are kept. Both are copied, text by text, into one
//! FeatureCollection each of whose features stands on its own line, which is then read as any other.
//!
//! A text that is no JSON, because the writer stopped or the disk was full, must not take those
//! after it along (RFC 8142 §2.2, RFC 7464 §2.3): of it, so much is copied as is JSON and then a
//! mistake, so that the reader names its line and column and goes on.

use std::io::{self, BufRead, BufReader, Read};

use serde::Deserialize;
use serde::de::IgnoredAny;
use serde_json::Value;
use serde_json::value::RawValue;

use super::told::{Layer, Says, Spool};
use crate::bytes::Bytes;
use crate::error::ReadError;
use crate::feature::Counted;
use crate::splitter::length_to;

/// Stands before each text (RFC 8142 §2.1).
const SEPARATOR: u8 = 0x1e;
/// No text is longer: a feature of some million corners.
const LONGEST: usize = 64 << 20;
const BYTE_ORDER_MARK: &[u8] = b"\xef\xbb\xbf";

/// True if a file that starts so is GeoJSON in lines: it starts with a record separator, or with a
/// line that is a whole feature and after it another line that starts with a brace. More than one
/// line of the file should be there to be looked at.
pub(crate) fn is_sequence(start: &[u8]) -> bool {
    let start = start.strip_prefix(BYTE_ORDER_MARK).unwrap_or(start).trim_ascii_start();
    if start.first() == Some(&SEPARATOR) {
        return true;
    }
    let Some(end) = memchr::memchr(b'\n', start) else { return false };
    let (first, rest) = start.split_at(end);
    let is_feature = matches!(text_of(first), Text::Feature);
    is_feature && rest.trim_ascii_start().first() == Some(&b'{')
}

/// Reads GeoJSON in lines.
///
/// # Errors
///
/// [`ReadError::Format`] for a text that cannot be one of several.
pub(crate) fn layer(name: &str, bytes: &Bytes) -> Result<Layer, ReadError> {
    let bytes = copy(bytes).map_err(|error| match error {
        Stop::Reason(reason) => ReadError::Format { file: name.to_owned(), reason },
        Stop::Io(error) => ReadError::NotRead { file: name.to_owned(), reason: error.to_string() },
    })?;
    Ok(Layer {
        name: name.to_owned(),
        bytes,
        says: Says::GeoJson,
        counted: Counted::Items,
        has_lines: true,
        left_out: Vec::new(),
        skipped: Default::default(),
        remarks: Vec::new(),
        called: Vec::new(),
        columns: Default::default(),
    })
}

/// Why the whole file cannot be read.
enum Stop {
    Reason(String),
    Io(io::Error),
}

impl From<io::Error> for Stop {
    fn from(error: io::Error) -> Stop {
        Stop::Io(error)
    }
}

/// All texts as one FeatureCollection.
fn copy(bytes: &Bytes) -> Result<Bytes, Stop> {
    let mut stream = BufReader::with_capacity(1 << 16, bytes.stream());
    if stream.fill_buf()?.starts_with(BYTE_ORDER_MARK) {
        stream.consume(BYTE_ORDER_MARK.len());
    }
    let is_separated = stream.fill_buf()?.trim_ascii_start().first() == Some(&SEPARATOR);
    let end = if is_separated { SEPARATOR } else { b'\n' };
    let mut collection = Collection::new()?;
    let mut text = Vec::new();
    loop {
        text.clear();
        let read = stream.by_ref().take(LONGEST as u64 + 1).read_until(end, &mut text)?;
        if read > LONGEST {
            return Err(Stop::Reason(format!(
                "line {}: a text of more than 64 MB; if the file is one FeatureCollection, name it .geojson",
                collection.here()
            )));
        }
        if read == 0 {
            return Ok(collection.finish()?);
        }
        // A separator becomes the comma before its text, or a blank.
        let is_ended = text.pop_if(|last| *last == end).is_some();
        collection.add(&text)?;
        if is_ended && !is_separated {
            collection.blanks.push(b'\n');
        }
    }
}

/// A form feed is a blank of text files and none of JSON (RFC 8259, 2).
fn json_blank(byte: &u8) -> u8 {
    if *byte == b'\x0c' { b' ' } else { *byte }
}

/// The FeatureCollection that is being written.
struct Collection {
    out: Spool,
    is_empty: bool,
    /// The line of the file that is being copied, from 1.
    line: usize,
    /// Blanks that stand before the next text.
    blanks: Vec<u8>,
}

impl Collection {
    fn new() -> io::Result<Collection> {
        let mut out = Spool::Memory(Vec::new());
        out.write(br#"{"type":"FeatureCollection","features":["#)?;
        Ok(Collection { out, is_empty: true, line: 1, blanks: Vec::new() })
    }

    fn finish(mut self) -> io::Result<Bytes> {
        self.out.write(&self.blanks)?;
        self.out.write(b"]}")?;
        self.out.finish()
    }

    /// Adds one text of the file.
    fn add(&mut self, text: &[u8]) -> Result<(), Stop> {
        let start = text.len() - text.trim_ascii_start().len();
        let (before, text) = text.split_at(start);
        let (text, after) = text.split_at(text.trim_ascii_end().len());
        self.blanks.extend(before.iter().map(json_blank));
        if !text.is_empty() {
            self.add_trimmed(text)?;
        }
        self.blanks.extend(after.iter().map(json_blank));
        // A file may be all blanks.
        if self.blanks.len() > 1 << 16 {
            self.write_blanks()?;
        }
        Ok(())
    }

    /// The line of the file on which the next text starts.
    fn here(&self) -> usize {
        self.line + newlines(&self.blanks)
    }

    fn write_blanks(&mut self) -> io::Result<()> {
        self.line += newlines(&self.blanks);
        self.out.write(&self.blanks)?;
        self.blanks.clear();
        Ok(())
    }

    /// Writes an element of the collection, its comma on the line before where there is one.
    fn element(&mut self, parts: &[&[u8]]) -> io::Result<()> {
        if !std::mem::take(&mut self.is_empty) {
            self.out.write(b",")?;
        }
        self.write_blanks()?;
        for part in parts {
            self.line += newlines(part);
            self.out.write(part)?;
        }
        Ok(())
    }

    fn add_trimmed(&mut self, text: &[u8]) -> Result<(), Stop> {
        match text_of(text) {
            Text::Feature | Text::Other => self.element(&[text])?,
            Text::Geometry => {
                let start = br#"{"type":"Feature","properties":null,"geometry":"#;
                self.element(&[start, text, b"}"])?;
            }
            Text::Collection { has_crs: true, .. } => {
                return Err(Stop::Reason(format!(
                    "line {}: a FeatureCollection with a \"crs\" of its own; save it as a GeoJSON file",
                    self.here()
                )));
            }
            Text::Collection { features, .. } => self.add_features(text, &features)?,
            Text::Broken(at) => {
                let mistaken = broken(text, at);
                self.element(&[&mistaken])?;
                // What follows keeps its line.
                let lost = newlines(text).saturating_sub(newlines(&mistaken));
                self.blanks.resize(self.blanks.len() + lost, b'\n');
            }
        }
        Ok(())
    }

    /// Adds the features of a collection, each on its line.
    fn add_features(&mut self, text: &[u8], features: &[&RawValue]) -> io::Result<()> {
        let mut passed = 0;
        for feature in features {
            let feature = feature.get().as_bytes();
            let start = (feature.as_ptr() as usize).saturating_sub(text.as_ptr() as usize);
            let between = newlines(text.get(passed..start).unwrap_or_default());
            self.blanks.resize(self.blanks.len() + between, b'\n');
            self.element(&[feature])?;
            passed = start + feature.len();
        }
        let after = newlines(text.get(passed..).unwrap_or_default());
        self.blanks.resize(self.blanks.len() + after, b'\n');
        Ok(())
    }
}

fn newlines(text: &[u8]) -> usize {
    memchr::memchr_iter(b'\n', text).count()
}

/// What one text is.
enum Text<'t> {
    Feature,
    Geometry,
    Collection {
        features: Vec<&'t RawValue>,
        has_crs: bool,
    },
    /// JSON, but nothing of a map.
    Other,
    /// No JSON from this byte on.
    Broken(usize),
}

/// The members of an object that say what it is.
#[derive(Deserialize)]
struct Members<'t> {
    #[serde(rename = "type")]
    kind: Option<Value>,
    #[serde(borrow)]
    features: Option<Vec<&'t RawValue>>,
    crs: Option<IgnoredAny>,
}

fn text_of(text: &[u8]) -> Text<'_> {
    let (valid, is_text) = match std::str::from_utf8(text) {
        Ok(valid) => (valid, true),
        Err(error) => {
            let valid = text.get(..error.valid_up_to()).unwrap_or_default();
            (std::str::from_utf8(valid).unwrap_or_default(), false)
        }
    };
    if let Err(error) = serde_json::from_str::<IgnoredAny>(valid) {
        return Text::Broken(length_to(valid.as_bytes(), error.line(), error.column()));
    }
    if !is_text {
        return Text::Broken(valid.len());
    }
    if !valid.trim_start().starts_with('{') {
        return Text::Other;
    }
    let Ok(Members { kind, features, crs }) = serde_json::from_str(valid) else {
        return Text::Other;
    };
    match (kind.as_ref().and_then(Value::as_str), features) {
        (Some("Feature"), _) => Text::Feature,
        (Some("FeatureCollection"), Some(features)) => {
            Text::Collection { features, has_crs: crs.is_some() }
        }
        (
            Some(
                "Point" | "MultiPoint" | "LineString" | "MultiLineString" | "Polygon"
                | "MultiPolygon" | "GeometryCollection",
            ),
            _,
        ) => Text::Geometry,
        _ => Text::Other,
    }
}

/// A text that is no JSON from a byte on, ended there by a mistake and closed, so that whoever looks
/// at its brackets alone finds its end and whoever reads it stops at that byte.
fn broken(text: &[u8], at: usize) -> Vec<u8> {
    let mut closing = Vec::new();
    let (mut in_string, mut end) = (false, 0);
    let mut bytes = text.iter().take(at).enumerate();
    while let Some((place, byte)) = bytes.next() {
        match (in_string, byte) {
            (true, b'\\') => match bytes.next() {
                Some((place, _)) => {
                    end = place + 1;
                    continue;
                }
                None => break,
            },
            // A string does not run over the end of its line.
            (true, b'\n') => break,
            (_, b'"') => in_string = !in_string,
            (false, b'{') => closing.push(b'}'),
            (false, b'[') => closing.push(b']'),
            (false, b'}' | b']') => drop(closing.pop()),
            _ => {}
        }
        end = place + 1;
    }
    let kept = text.get(..end).unwrap_or_default();
    let mut mistaken = String::from_utf8_lossy(kept).into_owned().into_bytes();
    if in_string {
        mistaken.push(b'"');
    }
    if closing.is_empty() {
        // Nothing was begun, or a whole value stands before: the place alone is kept.
        mistaken = b"{".to_vec();
        let passed = kept.iter().skip(1);
        mistaken.extend(passed.map(|byte| if *byte == b'\n' { b'\n' } else { b' ' }));
        closing.push(b'}');
    }
    mistaken.push(b'!');
    mistaken.extend(closing.iter().rev());
    mistaken
}

#[cfg(test)]
mod tests;
