//! Why the encoding of a table is looked for in all of it: spreadsheets save what they call CSV in UTF-8, in
//! UTF-16 or in the code page of Windows, and say which by a mark at the start or not at all. What
//! is valid UTF-8 is that, since text in a code page hardly ever is by chance; what mixes both is
//! refused, since one half of its names would come out as others.

use std::io::{self, BufRead, BufReader};

use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};

use crate::bytes::Bytes;

/// The encoding of a text.
///
/// # Errors
///
/// What it is instead of text.
pub(super) fn encoding(bytes: &Bytes) -> Result<&'static Encoding, String> {
    let mut start = Vec::new();
    let not_read = |error: io::Error| format!("cannot be read: {error}");
    bytes.read(0, bytes.length().min(3), &mut start).map_err(not_read)?;
    if let Some((encoding, _)) = Encoding::for_bom(&start)
        && encoding != UTF_8
    {
        return Ok(encoding);
    }
    let mut stream = BufReader::with_capacity(1 << 16, bytes.stream());
    let mut look = Look { line: 1, ..Look::default() };
    let mut carried: Vec<u8> = Vec::new();
    loop {
        let some = stream.fill_buf().map_err(not_read)?;
        let (length, is_last) = (some.len(), some.is_empty());
        carried.extend_from_slice(some);
        let seen = look.at(&carried, is_last);
        carried.drain(..seen);
        stream.consume(length);
        if is_last {
            break;
        }
    }
    look.encoding()
}

/// What was seen of a text so far.
#[derive(Default)]
struct Look {
    line: usize,
    has_nul: bool,
    /// True where several bytes make one character of UTF-8.
    has_utf8: bool,
    /// The line of the first byte that is no UTF-8.
    not_utf8: Option<usize>,
    /// The line of the first byte that is no Windows-1252 either.
    not_1252: Option<usize>,
}

impl Look {
    /// Looks at bytes; how many of them were seen. A character may be cut in two at their end.
    fn at(&mut self, bytes: &[u8], is_last: bool) -> usize {
        let mut rest = bytes;
        loop {
            let (valid, error) = match std::str::from_utf8(rest) {
                Ok(_) => (rest, None),
                Err(error) => (rest.get(..error.valid_up_to()).unwrap_or(rest), Some(error)),
            };
            self.has_nul |= valid.contains(&0);
            self.has_utf8 |= !valid.is_ascii();
            self.line += memchr::memchr_iter(b'\n', valid).count();
            rest = rest.get(valid.len()..).unwrap_or_default();
            let Some(error) = error else { break };
            let wrong = match error.error_len() {
                Some(length) => length,
                None if is_last => rest.len(),
                None => break,
            };
            self.not_utf8.get_or_insert(self.line);
            let (bad, after) = rest.split_at(wrong.min(rest.len()));
            if bad.iter().any(|byte| matches!(byte, 0x81 | 0x8d | 0x8f | 0x90 | 0x9d)) {
                self.not_1252.get_or_insert(self.line);
            }
            rest = after;
        }
        bytes.len() - rest.len()
    }

    fn encoding(&self) -> Result<&'static Encoding, String> {
        const CURE: &str = "save it as CSV in UTF-8";
        match (self.not_utf8, self.not_1252) {
            _ if self.has_nul => Err(format!("no text: it holds zero bytes; {CURE}")),
            (None, _) => Ok(UTF_8),
            (Some(line), _) if self.has_utf8 => Err(format!(
                "line {line}: letters there are not UTF-8 and those elsewhere are; {CURE}"
            )),
            (Some(_), Some(line)) => {
                Err(format!("line {line}: letters in an unknown encoding; {CURE}"))
            }
            (Some(_), None) => Ok(WINDOWS_1252),
        }
    }
}
