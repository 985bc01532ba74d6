//! Why text is decoded before it is parsed: a name in windows-1252 that is read as UTF-8 becomes
//! another name, and a zone's species is found by its name. So bytes are turned into UTF-8 here,
//! piece by piece, for whatever format, and what is not in the encoding that the file declares (XML)
//! or seems to have (`code_page.rs`, tables) is refused, never replaced.

use std::io::{self, BufRead, BufReader, Read};

use encoding_rs::{Decoder, DecoderResult, Encoding, UTF_8, UTF_16BE, UTF_16LE};
use quick_xml::Reader;
use quick_xml::events::Event;

use crate::bytes::{Bytes, Stream};

/// The text of a file as UTF-8 without its mark, read piece by piece, with the place reached in it.
pub(crate) struct Decoded<'b> {
    raw: BufReader<Stream<'b>>,
    decoder: Decoder,
    text: Vec<u8>,
    /// What of `text` is decoded and not yet taken.
    start: usize,
    end: usize,
    is_at_end: bool,
    /// True of a text whose reader knows by itself where it must end.
    may_be_cut: bool,
    place: Place,
    /// So many bytes more may be taken.
    allowed: usize,
    slip: Option<Slip>,
}

/// A place in a text, both from 1; columns count bytes of UTF-8.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Place {
    pub(crate) line: usize,
    pub(crate) column: usize,
}

/// Why text is not read on, where it is not the system that says so.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub(crate) enum Slip {
    /// Bytes that are not of the encoding.
    #[error("some letters are in another encoding; save it in UTF-8")]
    NotEncoded,
    /// More than was allowed.
    #[error("more than is read at once")]
    TooLong,
}

/// Why a text cannot be read at all.
pub(crate) enum Unreadable {
    System(io::Error),
    /// Its encoding, in words.
    Encoding(String),
}

/// So much is decoded at once.
const AT_ONCE: usize = 1 << 16;
/// An XML declaration stands within this, or is no declaration.
const HEAD: usize = 1024;

impl<'b> Decoded<'b> {
    /// The text of an XML file, in the encoding that it declares.
    pub(crate) fn of_xml(bytes: &'b Bytes) -> Result<Decoded<'b>, Unreadable> {
        let mut head = Vec::new();
        bytes.stream().take(HEAD as u64).read_to_end(&mut head).map_err(Unreadable::System)?;
        let (encoding, mark) = encoding_of(&head).map_err(Unreadable::Encoding)?;
        let mut raw = BufReader::with_capacity(AT_ONCE, bytes.stream());
        raw.fill_buf().map_err(Unreadable::System)?;
        raw.consume(mark);
        Ok(Decoded::with(raw, encoding.new_decoder_without_bom_handling(), true))
    }

    /// The text of a file whose encoding is known.
    pub(crate) fn of(bytes: &'b Bytes, encoding: &'static Encoding) -> Decoded<'b> {
        let raw = BufReader::with_capacity(AT_ONCE, bytes.stream());
        Decoded::with(raw, encoding.new_decoder_with_bom_removal(), false)
    }

    fn with(raw: BufReader<Stream<'b>>, decoder: Decoder, may_be_cut: bool) -> Decoded<'b> {
        Decoded {
            raw,
            decoder,
            text: vec![0; AT_ONCE],
            start: 0,
            end: 0,
            is_at_end: false,
            may_be_cut,
            place: Place { line: 1, column: 1 },
            allowed: usize::MAX,
            slip: None,
        }
    }

    /// The place of what is taken next.
    pub(crate) fn place(&self) -> Place {
        self.place
    }

    /// From now on lets so many bytes be taken.
    pub(crate) fn allow(&mut self, bytes: usize) {
        self.allowed = bytes;
    }

    /// Why reading stopped.
    pub(crate) fn slip(&self) -> Option<Slip> {
        self.slip
    }

    pub(crate) fn encoding(&self) -> &'static Encoding {
        self.decoder.encoding()
    }

    /// True where nothing is left to be taken.
    pub(crate) fn is_at_end(&self) -> bool {
        self.is_at_end && self.start == self.end
    }

    fn decode_more(&mut self) -> io::Result<()> {
        let raw = self.raw.fill_buf()?;
        let is_last = raw.is_empty();
        let (result, read, written) =
            self.decoder.decode_to_utf8_without_replacement(raw, &mut self.text, is_last);
        self.raw.consume(read);
        (self.start, self.end) = (0, written);
        match result {
            DecoderResult::InputEmpty => self.is_at_end = is_last,
            DecoderResult::OutputFull => {}
            DecoderResult::Malformed(..) => {
                // A file that is cut off may be cut in the middle of a letter.
                self.is_at_end = is_last && self.may_be_cut;
                self.slip = Some(Slip::NotEncoded);
            }
        }
        Ok(())
    }
}

impl Read for Decoded<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let mut text = self.fill_buf()?;
        let count = text.read(buffer)?;
        self.consume(count);
        Ok(count)
    }
}

impl BufRead for Decoded<'_> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        while self.start == self.end && !self.is_at_end {
            if let Some(slip) = self.slip {
                return Err(io::Error::new(io::ErrorKind::InvalidData, slip));
            }
            self.decode_more()?;
        }
        if self.allowed == 0 && self.start < self.end {
            self.slip = Some(Slip::TooLong);
            return Err(io::Error::new(io::ErrorKind::InvalidData, Slip::TooLong));
        }
        Ok(self.text.get(self.start..self.end).unwrap_or_default())
    }

    fn consume(&mut self, count: usize) {
        let until = self.end.min(self.start + count);
        let taken = self.text.get(self.start..until).unwrap_or_default();
        self.place.line += memchr::memchr_iter(b'\n', taken).count();
        match memchr::memrchr(b'\n', taken) {
            Some(last) => self.place.column = taken.len() - last,
            None => self.place.column += taken.len(),
        }
        self.allowed = self.allowed.saturating_sub(taken.len());
        self.start = until;
    }
}

/// The encoding of a text that begins with `head`, and how long its byte order mark is.
/// Source: XML 1.0, 5th edition, §4.3.3 and appendix F.
fn encoding_of(head: &[u8]) -> Result<(&'static Encoding, usize), String> {
    match head {
        [0xFF, 0xFE, 0, 0, ..]
        | [0, 0, 0xFE, 0xFF, ..]
        | [b'<', 0, 0, 0, ..]
        | [0, 0, 0, b'<', ..] => {
            Err("is written in UTF-32, which is not read; save it as UTF-8".into())
        }
        [0xEF, 0xBB, 0xBF, ..] => Ok((UTF_8, 3)),
        [0xFF, 0xFE, ..] => Ok((UTF_16LE, 2)),
        [0xFE, 0xFF, ..] => Ok((UTF_16BE, 2)),
        [b'<', 0, ..] => Ok((UTF_16LE, 0)),
        [0, b'<', ..] => Ok((UTF_16BE, 0)),
        _ => match declared(head) {
            Some(label) => Ok((encoding_called(&label)?, 0)),
            None => Ok((UTF_8, 0)),
        },
    }
}

/// The encoding that an XML declaration names (§2.8), which is ASCII itself.
fn declared(head: &[u8]) -> Option<String> {
    let mut reader = Reader::from_reader(head.trim_ascii_start());
    match reader.read_event_into(&mut Vec::new()) {
        Ok(Event::Decl(declaration)) => {
            declaration.encoding()?.ok().map(|label| label.into_owned())
        }
        _ => None,
    }
}

fn encoding_called(label: &str) -> Result<&'static Encoding, String> {
    // ISO-8859-1 is taken as windows-1252, as browsers do (WHATWG Encoding Standard §4.2): they
    // differ in control characters only, which no map has. ASCII would be too; but bytes beyond
    // it, which should not be there, are far likelier UTF-8.
    let is_ascii =
        ["ascii", "us-ascii"].iter().any(|ascii| ascii.eq_ignore_ascii_case(label.trim()));
    match Encoding::for_label_no_replacement(label.as_bytes()) {
        _ if is_ascii => Ok(UTF_8),
        // It can be read, so it is not: some programs write so of text that they save as UTF-8.
        Some(encoding) if encoding == UTF_16LE || encoding == UTF_16BE => Ok(UTF_8),
        Some(encoding) => Ok(encoding),
        None => {
            let label: String = label.chars().take(40).collect();
            Err(format!("declares the encoding {label:?}, which is not known; save it as UTF-8"))
        }
    }
}
