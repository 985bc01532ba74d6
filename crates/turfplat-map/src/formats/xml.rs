//! Why XML is walked element by element instead of read into a tree: a county's KML file is
//! hundreds of megabytes, and one that was made to do harm unfolds into any size. So nothing of a
//! file is held but the element at hand, elements nest only so deep, texts are only so long, no
//! entities are taken from the file, and a file that stops in the middle is refused as cut off.
//! Source: XML 1.0, 5th edition (W3C 2008).

use std::io;

use quick_xml::errors::IllFormedError;
use quick_xml::escape::resolve_xml_entity;
use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::{Reader, XmlVersion};

use crate::bytes::Bytes;
use crate::error::ReadError;
use crate::formats::decoded::{Decoded, Place, Slip, Unreadable};

/// An XML file, walked from its outermost element inwards. Whoever is handed a [`Tag`] walks its
/// element to the end: by [`Xml::child`] until there is none, by [`Xml::text`] or by [`Xml::skip`].
pub(crate) struct Xml<'b> {
    file: String,
    /// What it should be, such as `KML`.
    format: &'static str,
    reader: Reader<Decoded<'b>>,
    buffer: Vec<u8>,
    /// How many elements are open.
    depth: usize,
    had_root: bool,
    /// Where the piece at hand starts.
    place: Place,
}

/// The start of an element.
pub(crate) struct Tag {
    start: BytesStart<'static>,
    /// The line on which it starts, from 1.
    pub(crate) line: usize,
}

impl Tag {
    /// Its name without a prefix: files of one format use several, or none.
    pub(crate) fn name(&self) -> &str {
        self.start.name().local_name().into_inner()
    }

    /// True of two elements whose names have the same prefix, or none.
    pub(crate) fn is_kin_of(&self, other: &Tag) -> bool {
        self.start.name().prefix() == other.start.name().prefix()
    }
}

/// Elements nest no deeper.
const DEEPEST: usize = 200;
/// No text, tag or comment is longer: about four million corners.
pub(crate) const LONGEST: usize = 128 << 20;
/// A buffer larger than this is not kept.
const LARGEST_BUFFER: usize = 1 << 20;

/// A piece of a file.
enum Piece {
    Start(Tag),
    End,
    /// Text, a comment and the like.
    Other,
    EndOfFile,
}

/// Text being put together.
struct Gathered {
    text: String,
    longest: usize,
}

impl<'b> Xml<'b> {
    pub(crate) fn open(
        file: &str,
        format: &'static str,
        bytes: &'b Bytes,
    ) -> Result<Xml<'b>, ReadError> {
        let decoded = Decoded::of_xml(bytes).map_err(|why| match why {
            Unreadable::System(error) => not_read(file, &error),
            Unreadable::Encoding(reason) => ReadError::Format { file: file.to_owned(), reason },
        })?;
        let mut reader = Reader::from_reader(decoded);
        reader.config_mut().expand_empty_elements = true;
        Ok(Xml {
            file: file.to_owned(),
            format,
            reader,
            buffer: Vec::new(),
            depth: 0,
            had_root: false,
            place: Place { line: 1, column: 1 },
        })
    }

    /// The outermost element.
    pub(crate) fn root(&mut self) -> Result<Tag, ReadError> {
        loop {
            match self.piece(None)? {
                Piece::Start(tag) => return Ok(tag),
                Piece::End | Piece::Other => {}
                Piece::EndOfFile => return Err(self.another("it is empty")),
            }
        }
    }

    /// The next element inside the one at hand; `None` at its end.
    pub(crate) fn child(&mut self) -> Result<Option<Tag>, ReadError> {
        loop {
            match self.piece(None)? {
                Piece::Start(tag) => return Ok(Some(tag)),
                Piece::End | Piece::EndOfFile => return Ok(None),
                Piece::Other => {}
            }
        }
    }

    /// The text of the element at hand, also of elements inside it, to its end; longer than
    /// `longest` bytes it is refused.
    pub(crate) fn text(&mut self, longest: usize) -> Result<String, ReadError> {
        let mut gathered = Gathered { text: String::new(), longest };
        self.walk(Some(&mut gathered))?;
        Ok(gathered.text)
    }

    /// Passes over the element at hand.
    pub(crate) fn skip(&mut self) -> Result<(), ReadError> {
        self.walk(None)
    }

    /// Passes over the rest of the file, in which there may be comments only.
    pub(crate) fn finish(&mut self) -> Result<(), ReadError> {
        while !matches!(self.piece(None)?, Piece::EndOfFile) {}
        Ok(())
    }

    /// What an element says of itself under a name, whatever its prefix.
    pub(crate) fn attribute(&self, tag: &Tag, name: &str) -> Result<Option<String>, ReadError> {
        // Looking for two of one name would take the square of the time.
        for attribute in tag.start.attributes().with_checks(false) {
            let attribute = attribute.map_err(|error| self.not_xml(tag.line, error))?;
            if attribute.key.local_name().as_ref() == name {
                let value = attribute.normalized_value(XmlVersion::Implicit1_0);
                let value = value.map_err(|error| self.not_xml(tag.line, error))?;
                return Ok(Some(value.into_owned()));
            }
        }
        Ok(None)
    }

    /// The refusal of a file that is XML, but of another format.
    pub(crate) fn of_another_format(&self, root: &Tag) -> ReadError {
        self.another(&format!("its outermost element is <{}>", shortened(root.name())))
    }

    fn another(&self, found: &str) -> ReadError {
        let reason = format!("not {}: {found}; export it again", self.format);
        ReadError::Format { file: self.file.clone(), reason }
    }

    /// The refusal of what stands on a line.
    pub(crate) fn refusal(&self, line: usize, reason: &str) -> ReadError {
        ReadError::Format { file: self.file.clone(), reason: format!("line {line}: {reason}") }
    }

    fn not_xml(&self, line: usize, reason: impl ToString) -> ReadError {
        // The parser's own words may hold a name of any length.
        let reason: String = reason.to_string().chars().take(200).collect();
        self.refusal(line, &format!("not XML: {reason}; correct it there"))
    }

    fn walk(&mut self, mut gathered: Option<&mut Gathered>) -> Result<(), ReadError> {
        let inside = self.depth;
        while self.depth >= inside && self.depth > 0 {
            self.piece(gathered.as_deref_mut())?;
        }
        Ok(())
    }

    fn piece(&mut self, gathered: Option<&mut Gathered>) -> Result<Piece, ReadError> {
        if self.buffer.capacity() > LARGEST_BUFFER {
            self.buffer = Vec::new();
        }
        self.buffer.clear();
        self.reader.get_mut().allow(LONGEST);
        self.place = self.reader.get_ref().place();
        let line = self.place.line;
        let event = match self.reader.read_event_into(&mut self.buffer) {
            Ok(event) => event,
            Err(error) => return Err(self.stopped(error)),
        };
        let text = match event {
            Event::Start(start) | Event::Empty(start) => {
                let start = start.into_owned();
                return self.start(Tag { start, line });
            }
            Event::End(_) => {
                self.depth = self.depth.saturating_sub(1);
                return Ok(Piece::End);
            }
            Event::Eof if self.depth > 0 => return Err(self.cut_off()),
            Event::Eof => return Ok(Piece::EndOfFile),
            Event::Decl(_) | Event::PI(_) | Event::Comment(_) => return Ok(Piece::Other),
            Event::DocType(_) => {
                return Err(self.refusal(
                    line,
                    "has a DOCTYPE, which no map needs and which can make a file unfold without end; take it out",
                ));
            }
            Event::GeneralRef(reference) => match character(&reference) {
                Some(character) => character.to_string().into(),
                None => {
                    let name = shortened(&reference);
                    return Err(self.refusal(
                        line,
                        &format!("&{name}; is no character that XML knows; write the character itself, or its number"),
                    ));
                }
            },
            Event::Text(text) => text.xml10_content(),
            Event::CData(text) => text.xml10_content(),
        };
        if self.depth == 0 && !text.trim().is_empty() {
            let found = shortened(text.trim());
            let blanks = text.len() - text.trim_start().len();
            let line = line + text.bytes().take(blanks).filter(|byte| *byte == b'\n').count();
            return Err(match self.had_root {
                false => self.another(&format!("it starts with {found:?}")),
                true => self.not_xml(line, format!("{found:?} after its outermost element")),
            });
        }
        if let Some(gathered) = gathered {
            if gathered.text.len() + text.len() > gathered.longest {
                let longest = gathered.longest >> 10;
                return Err(
                    self.refusal(line, &format!("a text of more than {longest} KB; shorten it"))
                );
            }
            gathered.text.push_str(&text);
        }
        Ok(Piece::Other)
    }

    fn start(&mut self, tag: Tag) -> Result<Piece, ReadError> {
        if self.depth == 0 && self.had_root {
            return Err(self.not_xml(
                tag.line,
                format!("<{}> after its outermost element", shortened(tag.name())),
            ));
        }
        if self.depth == DEEPEST {
            return Err(self.refusal(
                tag.line,
                &format!("elements inside elements, more than {DEEPEST} deep; take some out"),
            ));
        }
        self.had_root = true;
        self.depth += 1;
        Ok(Piece::Start(tag))
    }

    /// The refusal of a file that cannot be read on.
    fn stopped(&self, error: quick_xml::Error) -> ReadError {
        let source = self.reader.get_ref();
        let line = self.place.line;
        match (source.slip(), error) {
            (Some(Slip::TooLong), _) => {
                let reason = format!("a text or tag of more than {} MB; take it out", LONGEST >> 20);
                self.refusal(line, &reason)
            }
            (_, quick_xml::Error::Syntax(_) | quick_xml::Error::IllFormed(IllFormedError::UnclosedReference))
                if source.is_at_end() =>
            {
                self.cut_off()
            }
            (Some(Slip::NotEncoded), _) => self.refusal(
                source.place().line,
                &format!(
                    "bytes that are no {} text; save it as UTF-8, or correct the encoding in its first line",
                    source.encoding().name()
                ),
            ),
            (None, quick_xml::Error::Io(error)) => not_read(&self.file, &error),
            (None, quick_xml::Error::IllFormed(error)) => self.not_xml(line, in_words(error)),
            (None, other) => self.not_xml(line, other),
        }
    }

    fn cut_off(&self) -> ReadError {
        let Place { line, column } = self.reader.get_ref().place();
        ReadError::CutOff { file: self.file.clone(), line, column }
    }
}

/// The refusal of a file that the system does not hand out, or that cannot be kept.
pub(crate) fn not_read(file: &str, error: &io::Error) -> ReadError {
    ReadError::NotRead { file: file.to_owned(), reason: error.to_string() }
}

/// The character that a reference stands for, if it is one that every XML file knows (§4.1, §4.6).
fn character(reference: &BytesRef<'_>) -> Option<char> {
    match reference.resolve_char_ref() {
        Ok(Some(character)) => Some(character),
        Ok(None) => resolve_xml_entity(reference)?.chars().next(),
        Err(_) => None,
    }
}

fn in_words(error: IllFormedError) -> String {
    match error {
        IllFormedError::MismatchedEndTag { expected, found } => {
            format!("</{}> stands where </{}> is due", shortened(&found), shortened(&expected))
        }
        IllFormedError::UnmatchedEndTag(found) => format!("</{}> ends nothing", shortened(&found)),
        IllFormedError::UnclosedReference => r#"a bare "&", which is written &amp;"#.into(),
        other => other.to_string(),
    }
}

/// Enough of a text to be found again.
pub(crate) fn shortened(text: &str) -> String {
    let mut letters = text.chars();
    let mut start: String = letters.by_ref().take(40).collect();
    if letters.next().is_some() {
        start.push('…');
    }
    start
}
