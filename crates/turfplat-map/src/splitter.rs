//! Why the text is split before it is understood: a county's file must not stand in memory,
//! pieces can be read by several threads, and one bad feature must not hide the others.
//!
//! Splitting looks at quotes and braces alone, so it costs next to nothing beside reading the
//! numbers between them. Where a piece does not end as it should, it is looked at closely: a
//! feature that is no JSON ends where the next one starts, and the rest is read all the same.

use std::sync::Arc;

use memchr::{memchr_iter, memrchr};
use serde::de::IgnoredAny;
use serde_json::Value;

use crate::bytes::Bytes;
use crate::error::ReadError;
use crate::scan::{Found, Scan, ValueScan, is_cut_off, next_feature};

/// A piece of a batch: one element of `features`, by its place in the batch's bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Piece {
    pub(crate) start: usize,
    pub(crate) end: usize,
    /// Where it starts in the file, as editors count: both from 1, columns in bytes.
    pub(crate) line: usize,
    pub(crate) column: usize,
}

impl Piece {
    /// The rest of it, from a later place in `bytes` on.
    pub(crate) fn from(self, start: usize, bytes: &[u8]) -> Piece {
        let passed = &bytes[self.start..start];
        let line = self.line + memchr_iter(b'\n', passed).count();
        let column = match memrchr(b'\n', passed) {
            None => self.column + passed.len(),
            Some(newline) => passed.len() - newline,
        };
        Piece { start, line, column, ..self }
    }
}

/// Pieces that stand together.
#[derive(Debug, Default)]
pub(crate) struct Batch {
    pub(crate) bytes: Vec<u8>,
    /// Where `bytes` start in the file.
    pub(crate) offset: u64,
    pub(crate) pieces: Vec<Piece>,
}

/// What a file says of itself beside its features.
#[derive(Debug, Default)]
pub(crate) struct Top {
    /// The value of `type`.
    pub(crate) kind: Option<Value>,
    pub(crate) crs: Option<Value>,
    /// The box that it says is round its features, whatever that is.
    pub(crate) bbox: Option<Value>,
    /// What `features` is, if it is there: an array or something else.
    pub(crate) features_is_array: Option<bool>,
    /// True where the last feature is no JSON: what follows it is not known.
    pub(crate) is_broken_off: bool,
}

/// Splits a file that is one JSON object into the elements of its `features`, wherever they stand.
pub(crate) struct Splitter<'b> {
    file: Arc<str>,
    source: &'b Bytes,
    window: Vec<u8>,
    /// Where the window starts in the file.
    offset: u64,
    /// How far the window has been looked at.
    at: usize,
    /// Newlines have been counted up to here, in the window.
    counted: usize,
    line: usize,
    /// Where the line starts in the file.
    line_start: u64,
    state: State,
    top: Top,
    sizes: Sizes,
}

/// How much is done at once, in bytes.
#[derive(Clone, Copy, Debug)]
struct Sizes {
    /// So much of the file is read.
    block: u64,
    /// A batch ends when its pieces have as many together.
    batch: usize,
    /// A piece longer than this is looked at closely before more of the file is read for it.
    long: usize,
}

const SIZES: Sizes = Sizes { block: 1 << 20, batch: 2 << 20, long: 1 << 14 };

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    Start,
    /// Between the members of the top object; a comma is needed before the next.
    Members {
        comma: bool,
    },
    /// Between the elements of `features`; a comma is needed before the next.
    Elements {
        comma: bool,
    },
    End,
}

/// No file has more blanks in a row; they would stand in memory.
const MOST_BLANKS: usize = 32 << 20;

/// A value beside the features that is no longer than this is checked; a longer one is passed over.
const SHORT_MEMBER: usize = 1 << 20;

impl<'b> Splitter<'b> {
    pub(crate) fn new(file: &Arc<str>, source: &'b Bytes) -> Splitter<'b> {
        Splitter {
            file: Arc::clone(file),
            source,
            window: Vec::new(),
            offset: 0,
            at: 0,
            counted: 0,
            line: 1,
            line_start: 0,
            state: State::Start,
            top: Top::default(),
            sizes: SIZES,
        }
    }

    /// How many bytes of the file have been split.
    pub(crate) fn done(&self) -> u64 {
        self.offset + self.at as u64
    }

    /// What the file says of itself; whole once there are no more batches.
    pub(crate) fn top(&self) -> &Top {
        &self.top
    }

    /// The next pieces, in the vectors of `used`; `None` at the end of the file.
    pub(crate) fn next_batch(&mut self, used: Batch) -> Result<Option<Batch>, ReadError> {
        let Batch { bytes: mut next_window, mut pieces, .. } = used;
        next_window.clear();
        pieces.clear();
        while self.at < self.sizes.batch && self.state != State::End {
            match self.state {
                State::Start => self.start()?,
                State::Members { comma } => self.member(comma)?,
                State::Elements { comma } => {
                    if let Some(piece) = self.element(comma)? {
                        pieces.push(piece);
                    }
                }
                State::End => {}
            }
        }
        if self.state == State::End && pieces.is_empty() {
            return Ok(None);
        }
        next_window.extend_from_slice(&self.window[self.at..]);
        self.count_lines(self.at);
        let bytes = std::mem::replace(&mut self.window, next_window);
        let offset = self.offset;
        self.offset += self.at as u64;
        (self.at, self.counted) = (0, 0);
        Ok(Some(Batch { bytes, offset, pieces }))
    }

    fn start(&mut self) -> Result<(), ReadError> {
        self.refill()?;
        if self.window.starts_with(b"\xef\xbb\xbf") {
            self.at = 3;
        }
        match self.peek()? {
            Some(b'{') => {
                self.at += 1;
                self.state = State::Members { comma: false };
                Ok(())
            }
            Some(other) => {
                self.check_text(self.at, self.window.len().min(self.at + 64))?;
                if matches!(other, b'[' | b'"') {
                    return Err(self.not_geojson(format!("it starts with {:?}", char::from(other))));
                }
                Err(self.syntax(self.at, "expected value"))
            }
            None => Err(self.cut_off()),
        }
    }

    /// One member of the top object, or its end.
    fn member(&mut self, comma: bool) -> Result<(), ReadError> {
        match self.peek()?.ok_or_else(|| self.cut_off())? {
            b'}' => {
                self.at += 1;
                if self.peek()?.is_some() {
                    return Err(self.syntax(self.at, "trailing characters"));
                }
                self.state = State::End;
                return Ok(());
            }
            b',' if comma => {
                self.at += 1;
                self.peek()?;
            }
            _ if comma => return Err(self.syntax(self.at, "expected `,` or `}`")),
            _ => {}
        }
        let key_start = self.at;
        let key_end = self.value_end()?;
        let key: String = serde_json::from_slice(&self.window[key_start..key_end])
            .map_err(|_| self.syntax(key_start, "key must be a string"))?;
        self.at = key_end;
        match self.peek()? {
            Some(b':') => self.at += 1,
            Some(_) => return Err(self.syntax(self.at, "expected `:`")),
            None => return Err(self.cut_off()),
        }
        let is_array = self.peek()? == Some(b'[');
        let is_known = match key.as_str() {
            "type" => self.top.kind.is_some(),
            "crs" => self.top.crs.is_some(),
            "features" => self.top.features_is_array.is_some(),
            _ => false,
        };
        if is_known {
            return Err(self.not_geojson(format!("it has {key:?} twice")));
        }
        if key == "features" {
            self.top.features_is_array = Some(is_array);
            if is_array {
                self.at += 1;
                self.state = State::Elements { comma: false };
                return Ok(());
            }
        }
        self.state = State::Members { comma: true };
        let start = self.at;
        let Some(end) = self.short_value_end()? else { return Ok(()) };
        self.at = end;
        self.check_text(start, end)?;
        let value: Value = serde_json::from_slice(&self.window[start..end])
            .map_err(|error| self.syntax_in(start, &error))?;
        match key.as_str() {
            "type" => self.top.kind = Some(value),
            "crs" if !value.is_null() => self.top.crs = Some(value),
            "bbox" => self.top.bbox = Some(value),
            _ => {}
        }
        Ok(())
    }

    /// The end of the value at hand; `None` of one that is too long to matter, which is passed
    /// over and dropped.
    fn short_value_end(&mut self) -> Result<Option<usize>, ReadError> {
        let mut scan = ValueScan::at(self.at);
        let mut is_long = false;
        loop {
            if let Some(end) = scan.run(&self.window) {
                if is_long {
                    self.at = end;
                }
                return Ok(Some(end).filter(|_| !is_long));
            }
            if is_long || self.window.len() - self.at > SHORT_MEMBER {
                is_long = true;
                self.count_lines(scan.at);
                self.window.drain(..scan.at);
                self.offset += scan.at as u64;
                (self.at, self.counted, scan.at) = (0, 0, 0);
            }
            if !self.refill()? {
                return Err(self.cut_off());
            }
        }
    }

    /// One element of `features`, or the end of the array.
    fn element(&mut self, comma: bool) -> Result<Option<Piece>, ReadError> {
        let mut next = self.peek()?.ok_or_else(|| self.cut_off())?;
        if next == b']' {
            self.at += 1;
            self.state = State::Members { comma: true };
            return Ok(None);
        }
        if comma {
            if next != b',' {
                return Err(self.syntax(self.at, "expected `,` or `]`"));
            }
            self.at += 1;
            next = self.peek()?.ok_or_else(|| self.cut_off())?;
        }
        let start = self.at;
        self.count_lines(start);
        let place = self.offset + start as u64;
        let (line, column) = (self.line, (place - self.line_start) as usize + 1);
        let end = if next == b'{' { self.object_end(start)? } else { self.value_end()? };
        if end == start {
            return Err(self.syntax(start, "expected value"));
        }
        self.at = end;
        self.state = match self.state {
            // The last of a file that does not end as it should.
            State::End => State::End,
            _ => State::Elements { comma: true },
        };
        Ok(Some(Piece { start, end, line, column }))
    }

    /// Where the object that starts at `start` ends. One that is no JSON ends before the next feature.
    fn object_end(&mut self, start: usize) -> Result<usize, ReadError> {
        let mut scan = Scan::at(start);
        let mut long = self.sizes.long;
        loop {
            let so_far = self.window.len().min(start + long);
            match scan.run(&self.window[..so_far]) {
                Found::End(end) => {
                    self.at = end;
                    return match self.peek()? {
                        Some(b',' | b']') => Ok(end),
                        _ => self.end_of_broken(start),
                    };
                }
                Found::Broken => return self.end_of_broken(start),
                Found::More => {}
            }
            if so_far - start >= long {
                // Longer than most: before it swallows what follows, is it JSON so far?
                long *= 2;
                let text = &self.window[start..so_far];
                if serde_json::from_slice::<IgnoredAny>(text).is_err_and(|e| !is_cut_off(&e, text))
                {
                    return self.end_of_broken(start);
                }
            } else if !self.refill()? {
                return self.end_of_broken(start);
            }
        }
    }

    /// Where an object that does not end as it should ends: before the comma before the next
    /// feature. If there is none, with the file; then it must not be one that was merely cut off.
    fn end_of_broken(&mut self, start: usize) -> Result<usize, ReadError> {
        let mut from = start + 1;
        loop {
            if let Some(end) = next_feature(&self.window, from) {
                return Ok(end);
            }
            // What a start may need before the word that it is known by.
            from = self.window.len().saturating_sub(64).max(start + 1);
            if !self.refill()? {
                break;
            }
        }
        let text = &self.window[start..];
        match serde_json::from_slice::<IgnoredAny>(text) {
            Err(error) if is_cut_off(&error, text) => Err(self.cut_off()),
            Err(error) if error.to_string().starts_with("trailing characters") => {
                // A whole feature, and then something that is neither a comma nor the end.
                let at = start + length_to(text, error.line(), error.column());
                Err(self.syntax(at, "expected `,` or `]`"))
            }
            Ok(_) => Err(self.cut_off()),
            Err(_) => {
                self.state = State::End;
                self.top.is_broken_off = true;
                Ok(self.window.len())
            }
        }
    }

    /// The end of the JSON value at hand, whatever it is; its brackets alone are looked at.
    fn value_end(&mut self) -> Result<usize, ReadError> {
        let mut scan = ValueScan::at(self.at);
        loop {
            if let Some(end) = scan.run(&self.window) {
                return Ok(end);
            }
            if !self.refill()? {
                return Err(self.cut_off());
            }
        }
    }

    /// The next byte that is no blank, with `at` on it; `None` at the end of the file.
    fn peek(&mut self) -> Result<Option<u8>, ReadError> {
        let start = self.at;
        loop {
            while let Some(&byte) = self.window.get(self.at) {
                if !matches!(byte, b' ' | b'\n' | b'\r' | b'\t') {
                    return Ok(Some(byte));
                }
                self.at += 1;
            }
            if self.at - start > MOST_BLANKS {
                return Err(self.syntax(start, "more than 32 MB of blanks; nobody wrote that"));
            }
            if !self.refill()? {
                return Ok(None);
            }
        }
    }

    /// Reads on; false at the end of the file.
    fn refill(&mut self) -> Result<bool, ReadError> {
        let from = self.offset + self.window.len() as u64;
        let to = self.source.length().min(from + self.sizes.block);
        self.source.read(from, to, &mut self.window).map_err(|error| ReadError::NotRead {
            file: self.file.to_string(),
            reason: error.to_string(),
        })?;
        Ok(to > from)
    }

    fn count_lines(&mut self, to: usize) {
        (self.line, self.line_start) = self.line_at(to);
        self.counted = to;
    }

    /// The line of a place in the window, not before what was counted, and where that line starts.
    fn line_at(&self, at: usize) -> (usize, u64) {
        let passed = &self.window[self.counted..at];
        match memrchr(b'\n', passed) {
            None => (self.line, self.line_start),
            Some(last) => (
                self.line + memchr_iter(b'\n', passed).count(),
                self.offset + (self.counted + last) as u64 + 1,
            ),
        }
    }

    fn place(&self, at: usize) -> (usize, usize) {
        let (line, line_start) = self.line_at(at);
        (line, (self.offset + at as u64 - line_start) as usize + 1)
    }

    fn check_text(&self, start: usize, end: usize) -> Result<(), ReadError> {
        match std::str::from_utf8(&self.window[start..end]) {
            // A character may be cut in two by the end of what was looked at.
            Err(error) if error.error_len().is_some() => Err(ReadError::NotText {
                file: self.file.to_string(),
                byte: (self.offset as usize) + start + error.valid_up_to(),
            }),
            _ => Ok(()),
        }
    }

    fn syntax(&self, at: usize, reason: &str) -> ReadError {
        let (line, column) = self.place(at);
        let (file, reason) = (self.file.to_string(), reason.to_owned());
        ReadError::NotJson { file, line, column, reason }
    }

    fn syntax_in(&self, start: usize, error: &serde_json::Error) -> ReadError {
        let at = start + length_to(&self.window[start..], error.line(), error.column());
        let reason = error.to_string();
        self.syntax(at, reason.split(" at line ").next().unwrap_or_default())
    }

    fn not_geojson(&self, found: String) -> ReadError {
        ReadError::NotGeoJson { file: self.file.to_string(), found }
    }

    fn cut_off(&self) -> ReadError {
        let (line, column) = self.place(self.window.len());
        ReadError::CutOff { file: self.file.to_string(), line, column }
    }
}

/// How many bytes of `text` lie before a line and column, both from 1.
pub(crate) fn length_to(text: &[u8], line: usize, column: usize) -> usize {
    let start = match line {
        0 | 1 => 0,
        _ => memchr_iter(b'\n', text).nth(line - 2).map_or(0, |newline| newline + 1),
    };
    (start + column.saturating_sub(1)).min(text.len())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// A piece with its line and column.
    type Placed = (String, usize, usize);

    /// Every piece with its place, and how the file ended.
    fn split(text: &str, sizes: Sizes) -> (Vec<Placed>, Result<(), ReadError>) {
        let source = Bytes::from(text.as_bytes().to_vec());
        let mut splitter = Splitter::new(&"map.geojson".into(), &source);
        splitter.sizes = sizes;
        let mut pieces = Vec::new();
        let mut spare = Batch::default();
        loop {
            let batch = match splitter.next_batch(spare) {
                Ok(Some(batch)) => batch,
                Ok(None) => return (pieces, Ok(())),
                Err(error) => return (pieces, Err(error)),
            };
            for piece in &batch.pieces {
                let bytes = &batch.bytes[piece.start..piece.end];
                let text = String::from_utf8_lossy(bytes).into_owned();
                pieces.push((text, piece.line, piece.column));
            }
            spare = batch;
        }
    }

    fn text() -> impl Strategy<Value = String> {
        let token = prop_oneof![
            6 => Just(r#"{"type":"Feature","properties":{"name":"a \"}\" \\"},"geometry":null}"#),
            6 => Just(",\n"),
            2 => Just(","),
            1 => Just("{"), 1 => Just("}"), 1 => Just("\""), 1 => Just("[1,2]"), 1 => Just("]"),
            1 => Just("\n"), 1 => Just("\\"), 1 => Just("7"),
            2 => Just(r#"{"type":"Feature","n":[-1.5,-0.25e-3,true,null,-7]}"#),
        ];
        prop::collection::vec(token, 0..14).prop_map(|tokens| {
            format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, tokens.concat())
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        /// Where the file is cut for reading makes no difference.
        #[test]
        fn pieces_do_not_depend_on_blocks(text in text(), block in 1..40_u64, batch in 1..200_usize, long in 1..200_usize) {
            let (pieces, end) = split(&text, SIZES);
            let (small, small_end) = split(&text, Sizes { block, batch, long });
            // Looked at closely, a piece that is no JSON may be given up sooner.
            if pieces.iter().all(|(piece, ..)| serde_json::from_str::<IgnoredAny>(piece).is_ok()) && end.is_ok() {
                prop_assert_eq!(&small, &pieces);
                prop_assert_eq!(small_end, end);
            }
            // What is JSON is split as serde_json splits it.
            if let Ok(json) = serde_json::from_str::<Value>(&text) {
                let features = json["features"].as_array().unwrap();
                let ours: Vec<Value> = small.iter().map(|(piece, ..)| serde_json::from_str(piece).unwrap()).collect();
                prop_assert_eq!(&ours, features);
            }
        }
    }
}
