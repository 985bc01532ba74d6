//! Why the text is split before it is understood: a county's file must not stand in memory,
//! pieces can be read by several threads, and one bad feature must not hide the others.
//!
//! Splitting looks at quotes and braces alone, so it costs next to nothing beside reading the
//! numbers between them. Where a piece does not end as it should, it is looked at closely: a
//! feature that is no JSON ends where the next one starts, and the rest is read all the same.

use std::sync::Arc;

use memchr::{memchr_iter, memchr3, memmem, memrchr};
use serde::de::IgnoredAny;
use serde_json::Value;

use crate::bytes::Bytes;
use crate::error::ReadError;

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
    /// What `features` is, if it is there: an array or something else.
    pub(crate) features_is_array: Option<bool>,
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

const SIZES: Sizes = Sizes { block: 1 << 20, batch: 2 << 20, long: 1 << 20 };

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
        if key == "features" && self.top.features_is_array.is_none() {
            self.top.features_is_array = Some(is_array);
            if is_array {
                self.at += 1;
                self.state = State::Elements { comma: false };
                return Ok(());
            }
        }
        let start = self.at;
        let end = self.value_end()?;
        self.at = end;
        self.state = State::Members { comma: true };
        if end - start <= SHORT_MEMBER {
            self.check_text(start, end)?;
            let value: Value = serde_json::from_slice(&self.window[start..end])
                .map_err(|error| self.syntax_in(start, &error))?;
            match key.as_str() {
                "type" => self.top.kind = Some(value),
                "crs" if !value.is_null() => self.top.crs = Some(value),
                _ => {}
            }
        }
        Ok(())
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
        let mut scan = Scan { at: start, depth: 0, in_string: false };
        let mut looked_at_closely = self.sizes.long;
        loop {
            match scan.run(&self.window) {
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
            if self.window.len() - start > looked_at_closely {
                looked_at_closely = 2 * (self.window.len() - start);
                let so_far = serde_json::from_slice::<IgnoredAny>(&self.window[start..]);
                if so_far.is_err_and(|error| !error.is_eof()) {
                    return self.end_of_broken(start);
                }
            }
            if !self.refill()? {
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
        match serde_json::from_slice::<IgnoredAny>(&self.window[start..]) {
            Err(error) if error.is_eof() => Err(self.cut_off()),
            // A minus sign alone is no number, but there the file ends.
            Err(error)
                if start + length_to(&self.window[start..], error.line(), error.column()) + 1
                    >= self.window.len() =>
            {
                Err(self.cut_off())
            }
            Err(error) if error.to_string().starts_with("trailing characters") => {
                // A whole feature, and then something that is neither a comma nor the end.
                self.at = start + length_to(&self.window[start..], error.line(), error.column());
                Err(self.syntax(self.at, "expected `,` or `]`"))
            }
            Ok(_) => Err(self.cut_off()),
            Err(_) => {
                self.state = State::End;
                Ok(self.window.len())
            }
        }
    }

    /// The end of the JSON value at hand, whatever it is; its brackets alone are looked at.
    fn value_end(&mut self) -> Result<usize, ReadError> {
        let start = self.at;
        loop {
            if let Some(end) = value_end(&self.window, start) {
                return Ok(end);
            }
            if !self.refill()? {
                return Err(self.cut_off());
            }
        }
    }

    /// The next byte that is no blank, with `at` on it; `None` at the end of the file.
    fn peek(&mut self) -> Result<Option<u8>, ReadError> {
        loop {
            while let Some(&byte) = self.window.get(self.at) {
                if !matches!(byte, b' ' | b'\n' | b'\r' | b'\t') {
                    return Ok(Some(byte));
                }
                self.at += 1;
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
fn length_to(text: &[u8], line: usize, column: usize) -> usize {
    let start = match line {
        0 | 1 => 0,
        _ => memchr_iter(b'\n', text).nth(line - 2).map_or(0, |newline| newline + 1),
    };
    (start + column.saturating_sub(1)).min(text.len())
}

/// Where a scan for the end of an object stands.
struct Scan {
    at: usize,
    depth: usize,
    in_string: bool,
}

enum Found {
    End(usize),
    /// A string runs over the end of its line, which JSON does not allow: a quote is missing or
    /// one too many.
    Broken,
    More,
}

impl Scan {
    fn run(&mut self, window: &[u8]) -> Found {
        loop {
            let rest = window.get(self.at..).unwrap_or_default();
            let looked_for = if self.in_string {
                memchr3(b'"', b'\\', b'\n', rest)
            } else {
                memchr3(b'"', b'{', b'}', rest)
            };
            let Some(found) = looked_for else {
                self.at = window.len();
                return Found::More;
            };
            let at = self.at + found;
            match window[at] {
                b'"' => self.in_string = !self.in_string,
                b'{' => self.depth += 1,
                b'}' => {
                    self.depth = self.depth.saturating_sub(1);
                    if self.depth == 0 {
                        return Found::End(at + 1);
                    }
                }
                b'\n' => return Found::Broken,
                // A backslash takes the next character with it.
                _ if at + 1 < window.len() => self.at = at + 1,
                _ => {
                    self.at = at;
                    return Found::More;
                }
            }
            self.at = self.at.max(at) + 1;
        }
    }
}

/// The end of the JSON value that starts at `start`; `None` if the text ends before it. Brackets
/// are counted, whatever their kind, and strings passed over; nothing else is checked.
pub(crate) fn value_end(text: &[u8], start: usize) -> Option<usize> {
    let mut at = start;
    let mut depth = 0_usize;
    loop {
        match *text.get(at)? {
            b'"' => {
                at = string_end(text, at)?;
                if depth == 0 {
                    return Some(at);
                }
                continue;
            }
            b'{' | b'[' => depth += 1,
            b'}' | b']' => {
                if depth <= 1 {
                    // Beside a value: it was a bare word.
                    return Some(if depth == 1 { at + 1 } else { at });
                }
                depth -= 1;
            }
            b',' | b':' | b' ' | b'\n' | b'\r' | b'\t' if depth == 0 => return Some(at),
            _ => {}
        }
        at += 1;
    }
}

fn string_end(text: &[u8], start: usize) -> Option<usize> {
    let mut at = start + 1;
    loop {
        at += memchr::memchr2(b'"', b'\\', text.get(at..)?)?;
        if text[at] == b'"' {
            return Some(at + 1);
        }
        at += 2;
    }
}

/// The place of the comma before the next `{"type": "Feature"`, from `from` on.
pub(crate) fn next_feature(text: &[u8], from: usize) -> Option<usize> {
    let is_blank = |byte: &u8| matches!(byte, b' ' | b'\n' | b'\r' | b'\t');
    memmem::find_iter(&text[from.min(text.len())..], b"\"Feature\"").find_map(|found| {
        let mut before = &text[from..from + found];
        for word in [&b":"[..], b"\"type\"", b"{"] {
            before = before.trim_ascii_end().strip_suffix(word)?;
        }
        while let Some((last, rest)) = before.split_last()
            && is_blank(last)
        {
            before = rest;
        }
        before.strip_suffix(b",").map(|before| from + before.len())
    })
}

/// The objects that stand in `text` with nothing but commas between them, its first on `line`.
pub(crate) fn pieces(text: &[u8], line: usize) -> impl Iterator<Item = Piece> {
    let (mut at, mut line) = (0, line);
    std::iter::from_fn(move || {
        let start = at + memchr::memchr(b'{', text.get(at..)?)?;
        line += memchr_iter(b'\n', &text[at..start]).count();
        let mut scan = Scan { at: start, depth: 0, in_string: false };
        let Found::End(end) = scan.run(text) else { return None };
        at = end;
        let piece = Piece { start, end, line, column: 1 };
        line += memchr_iter(b'\n', &text[start..end]).count();
        Some(piece)
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Every piece with its place, and how the file ended.
    fn split(text: &str, sizes: Sizes) -> (Vec<(String, usize, usize)>, Result<(), ReadError>) {
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
