//! Where values end: found by their quotes and brackets alone, whatever stands between them.

use crate::splitter::{Piece, length_to};
use memchr::{memchr, memchr_iter, memchr2, memchr3, memmem};

/// Where a scan for the end of an object stands.
pub(crate) struct Scan {
    at: usize,
    depth: usize,
    in_string: bool,
}

pub(crate) enum Found {
    End(usize),
    /// A string runs over the end of its line, which JSON does not allow: a quote is missing or
    /// one too many.
    Broken,
    More,
}

impl Scan {
    pub(crate) fn at(start: usize) -> Scan {
        Scan { at: start, depth: 0, in_string: false }
    }

    /// Goes on to the end of the object, or of the text.
    pub(crate) fn run(&mut self, window: &[u8]) -> Found {
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

/// The end of the JSON value that starts at `start`; `None` if the text ends before it.
pub(crate) fn value_end(text: &[u8], start: usize) -> Option<usize> {
    ValueScan::at(start).run(text)
}

/// Where a scan for the end of a value stands. Brackets are counted, whatever their kind, and
/// strings passed over; nothing else is checked.
pub(crate) struct ValueScan {
    pub(crate) at: usize,
    depth: usize,
    in_string: bool,
}

impl ValueScan {
    pub(crate) fn at(start: usize) -> ValueScan {
        ValueScan { at: start, depth: 0, in_string: false }
    }

    /// Goes on to the end of the value; `None` if the text ends before it.
    pub(crate) fn run(&mut self, text: &[u8]) -> Option<usize> {
        loop {
            if self.in_string {
                let Some(found) = memchr2(b'"', b'\\', text.get(self.at..)?) else {
                    self.at = text.len();
                    return None;
                };
                let at = self.at + found;
                if text[at] == b'\\' {
                    // It takes the next character with it, which may not be there yet.
                    self.at = at;
                    text.get(at + 1)?;
                    self.at = at + 2;
                    continue;
                }
                (self.at, self.in_string) = (at + 1, false);
                if self.depth == 0 {
                    return Some(self.at);
                }
                continue;
            }
            match *text.get(self.at)? {
                b'"' => self.in_string = true,
                b'{' | b'[' => self.depth += 1,
                // Beside a value: it was a bare word.
                b'}' | b']' if self.depth == 0 => return Some(self.at),
                b'}' | b']' => {
                    self.depth -= 1;
                    if self.depth == 0 {
                        return Some(self.at + 1);
                    }
                }
                b',' | b':' | b' ' | b'\n' | b'\r' | b'\t' if self.depth == 0 => {
                    return Some(self.at);
                }
                _ => {}
            }
            self.at += 1;
        }
    }
}

/// True of an error that more text might cure: it lies at the end of what there is. serde_json
/// does not call it so where the text ends in a number, as in `-` or `1.`.
pub(crate) fn is_cut_off(error: &serde_json::Error, text: &[u8]) -> bool {
    error.is_eof() || length_to(text, error.line(), error.column()) + 1 >= text.len()
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
        let start = at + memchr(b'{', text.get(at..)?)?;
        line += memchr_iter(b'\n', &text[at..start]).count();
        let mut scan = Scan::at(start);
        let Found::End(end) = scan.run(text) else { return None };
        at = end;
        let piece = Piece { start, end, line, column: 1 };
        line += memchr_iter(b'\n', &text[start..end]).count();
        Some(piece)
    })
}
