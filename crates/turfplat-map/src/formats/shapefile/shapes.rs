//! The records of a `.shp` and the shapes in them. Source: ESRI Shapefile Technical Description
//! (July 1998): headers p. 3 to 5, shapes p. 5 to 22, index p. 23.

use std::io::{self, BufReader, Read};

use geo_types::{Coord, Geometry, LineString, MultiLineString, MultiPoint, Point};

use super::InFile;
use super::rings::polygons;
use crate::bytes::{Bytes, Stream};
use crate::error::ReadError;

/// Of the main file and of its index.
const HEADER_LENGTH: u64 = 100;
const FILE_CODE: i32 = 9994;
/// A record longer than this, two million corners, is not read: several stand in memory at once,
/// some times larger than in the file.
const LONGEST_RECORD: u64 = 32 << 20;

/// One record of a `.shp`.
pub(super) enum Record<'r> {
    /// What follows its header.
    Content(&'r [u8]),
    /// One of so many bytes that it was passed over.
    TooLong(u64),
}

/// The records of a `.shp` in the order of their numbers.
pub(super) struct Records<'b> {
    file: InFile<'b>,
    shp: BufReader<Stream<'b>>,
    /// Where the records end.
    end: u64,
    /// Where the next one starts.
    at: u64,
    index: Option<Index<'b>>,
    /// How many were read.
    count: u64,
    /// So many bytes there are that no record has taken yet.
    left: u64,
    content: Vec<u8>,
}

impl<'b> Records<'b> {
    pub(super) fn open(
        file: InFile<'b>,
        shp: &'b Bytes,
        shx: Option<&'b Bytes>,
    ) -> Result<Records<'b>, ReadError> {
        let mut reader = BufReader::with_capacity(1 << 16, shp.stream());
        let end = header(file, ".shp", &mut reader, shp.length())?;
        let index = shx.map(|shx| Index::open(file, shx)).transpose()?;
        Ok(Records {
            file,
            shp: reader,
            end,
            at: HEADER_LENGTH,
            index,
            count: 0,
            left: end - HEADER_LENGTH,
            content: Vec::new(),
        })
    }

    /// The next record; `None` after the last.
    pub(super) fn next(&mut self) -> Result<Option<Record<'_>>, ReadError> {
        let (file, number) = (self.file, self.count + 1);
        let Some((start, indexed)) = self.next_start()? else { return Ok(None) };
        self.count = number;
        if start == 0 {
            // How an index marks a record that is gone.
            return Ok(Some(Record::Content(&[])));
        }
        // Only where records are not in order is there anything to pass over.
        let by = i64::try_from(start).unwrap_or(i64::MAX) - self.at as i64;
        self.shp.seek_relative(by).map_err(|error| file.unread(&error))?;
        let mut header = [0; 8];
        self.shp.read_exact(&mut header).map_err(|error| file.unread(&error))?;
        let content = 2 * u64::from(big_endian(&header, 4));
        let end = start + 8 + content;
        if end > self.end || content + 8 > self.left {
            return Err(file.bad(format!(
                "record {number} of its .shp claims {content} bytes where there are {}; it seems cut off or damaged: copy or export the shapefile again",
                self.end.saturating_sub(start + 8).min(self.left.saturating_sub(8))
            )));
        }
        // Some writers count the record's own header too.
        if indexed.is_some_and(|indexed| indexed != content && indexed != content + 8) {
            return Err(file.bad(format!(
                "its .shx and .shp do not agree on record {number}; export the shapefile again"
            )));
        }
        self.at = end;
        self.left -= 8 + content;
        if content > LONGEST_RECORD {
            self.shp.seek_relative(content as i64).map_err(|error| file.unread(&error))?;
            return Ok(Some(Record::TooLong(content)));
        }
        self.content.resize(content as usize, 0);
        self.shp.read_exact(&mut self.content).map_err(|error| file.unread(&error))?;
        Ok(Some(Record::Content(&self.content)))
    }

    /// Where the next record starts, and how long the index says its content is.
    fn next_start(&mut self) -> Result<Option<(u64, Option<u64>)>, ReadError> {
        let Some(index) = &mut self.index else {
            return Ok((self.at + 8 <= self.end).then_some((self.at, None)));
        };
        let Some((start, length)) = index.next().map_err(|error| self.file.unread(&error))? else {
            return Ok(None);
        };
        if start != 0 && !(HEADER_LENGTH..self.end.saturating_sub(7)).contains(&start) {
            let number = self.count + 1;
            return Err(self.file.bad(format!(
                "record {number} starts by its .shx at byte {start}, where its .shp has none; they do not belong together: export the shapefile again"
            )));
        }
        Ok(Some((start, Some(length))))
    }
}

/// Where each record of a `.shp` starts.
struct Index<'b> {
    shx: BufReader<Stream<'b>>,
    left: u64,
}

impl<'b> Index<'b> {
    fn open(file: InFile<'b>, shx: &'b Bytes) -> Result<Index<'b>, ReadError> {
        let mut reader = BufReader::new(shx.stream());
        let end = header(file, ".shx", &mut reader, shx.length())?;
        Ok(Index { shx: reader, left: (end - HEADER_LENGTH) / 8 })
    }

    /// Place and length of the next record, in bytes.
    fn next(&mut self) -> io::Result<Option<(u64, u64)>> {
        if self.left == 0 {
            return Ok(None);
        }
        self.left -= 1;
        let mut entry = [0; 8];
        self.shx.read_exact(&mut entry)?;
        let bytes = |at| 2 * u64::from(big_endian(&entry, at));
        Ok(Some((bytes(0), bytes(4))))
    }
}

/// Reads a file header; where the file ends by it.
fn header(
    file: InFile<'_>,
    part: &str,
    reader: &mut impl Read,
    length: u64,
) -> Result<u64, ReadError> {
    if length < HEADER_LENGTH {
        return Err(file.bad(format!(
            "not a shapefile: its {part} has {length} bytes, fewer than the header's 100; copy or export it again"
        )));
    }
    let mut header = [0; HEADER_LENGTH as usize];
    reader.read_exact(&mut header).map_err(|error| file.unread(&error))?;
    let code = big_endian(&header, 0);
    if code != FILE_CODE as u32 {
        return Err(file.bad(format!(
            "not a shapefile: its {part} starts with {code:#010x} and not with the number {FILE_CODE}; export it again as a shapefile"
        )));
    }
    let end = 2 * u64::from(big_endian(&header, 24));
    if end < HEADER_LENGTH {
        return Err(file.bad(format!(
            "the header of its {part} claims {end} bytes in all, fewer than its own 100; it was not written to its end: export the shapefile again"
        )));
    }
    if end > length {
        return Err(file.bad(format!(
            "its {part} is cut off: it has {length} bytes of the {end} that its header claims; copy or export the shapefile again"
        )));
    }
    Ok(end)
}

/// The shape in a record, without heights and measures; `None` of a null shape.
///
/// # Errors
///
/// Why it cannot be read, and the cure.
pub(super) fn shape(content: &[u8]) -> Result<Option<Geometry<f64>>, String> {
    if content.is_empty() {
        return Ok(None);
    }
    let mut numbers = Numbers(content);
    // Plain, with heights and with measures, which stand behind all that is read here.
    let shape = match numbers.integer()? {
        0 => None,
        1 | 11 | 21 => Some(Geometry::Point(Point(numbers.corner()?))),
        3 | 13 | 23 => lines(numbers.parts()?),
        5 | 15 | 25 => {
            let polygons = polygons(numbers.parts()?)?;
            (!polygons.0.is_empty()).then_some(Geometry::MultiPolygon(polygons))
        }
        8 | 18 | 28 => numbers.points()?,
        31 => {
            return Err(
                "it is a multipatch, a surface in space; export its outline as a polygon".into()
            );
        }
        other => {
            return Err(format!(
                "its shape type {other} is not known; export it as a point, a line or a polygon"
            ));
        }
    };
    Ok(shape)
}

fn lines(parts: Vec<Vec<Coord<f64>>>) -> Option<Geometry<f64>> {
    let lines: Vec<LineString<f64>> = parts.into_iter().map(LineString).collect();
    (!lines.is_empty()).then_some(Geometry::MultiLineString(MultiLineString(lines)))
}

/// The numbers of a record that are not read yet, the least byte of each first.
struct Numbers<'r>(&'r [u8]);

impl Numbers<'_> {
    fn bytes<const LENGTH: usize>(&mut self) -> Result<[u8; LENGTH], String> {
        let (bytes, rest) =
            self.0.split_first_chunk().ok_or("its record is too short; export it again")?;
        self.0 = rest;
        Ok(*bytes)
    }

    fn integer(&mut self) -> Result<i32, String> {
        self.bytes().map(i32::from_le_bytes)
    }

    /// A count of things that take `each` bytes, and that are there.
    fn count(&mut self, what: &str, each: usize) -> Result<usize, String> {
        let claimed = self.integer()?;
        let count = usize::try_from(claimed).ok().filter(|count| *count <= self.0.len() / each);
        count.ok_or_else(|| {
            format!("it claims {claimed} {what} and has no room for them; export it again")
        })
    }

    fn corner(&mut self) -> Result<Coord<f64>, String> {
        let x = self.bytes().map(f64::from_le_bytes)?;
        let y = self.bytes().map(f64::from_le_bytes)?;
        if !x.is_finite() || !y.is_finite() {
            return Err("a coordinate is infinite or not a number; draw it again".into());
        }
        Ok(Coord { x, y })
    }

    fn corners(&mut self, count: usize) -> Result<Vec<Coord<f64>>, String> {
        (0..count).map(|_| self.corner()).collect()
    }

    /// The box round a shape, which is not needed.
    fn skip_box(&mut self) -> Result<(), String> {
        self.bytes::<32>().map(drop)
    }

    fn points(&mut self) -> Result<Option<Geometry<f64>>, String> {
        self.skip_box()?;
        let count = self.count("points", 16)?;
        let points: Vec<Point<f64>> = self.corners(count)?.into_iter().map(Point).collect();
        Ok((count > 0).then_some(Geometry::MultiPoint(MultiPoint(points))))
    }

    /// Lines or rings, those without corners left out.
    fn parts(&mut self) -> Result<Vec<Vec<Coord<f64>>>, String> {
        const DAMAGED: &str = "its list of parts is damaged; export it again";
        self.skip_box()?;
        let parts = self.count("parts", 4)?;
        let corners = usize::try_from(self.integer()?).map_err(|_| DAMAGED)?;
        let starts: Vec<i32> = (0..parts).map(|_| self.integer()).collect::<Result<_, _>>()?;
        if corners > self.0.len() / 16 {
            return Err(format!(
                "it claims {corners} corners and has no room for them; export it again"
            ));
        }
        let starts = starts.into_iter().map(|start| usize::try_from(start).unwrap_or(usize::MAX));
        let mut bounds: Vec<usize> = starts.collect();
        bounds.push(corners);
        let is_whole = bounds.first() == Some(&0) || corners == 0;
        if !is_whole || !bounds.is_sorted() {
            return Err(DAMAGED.into());
        }
        let lengths = bounds.iter().zip(bounds.iter().skip(1)).map(|(start, end)| end - start);
        let lengths: Vec<usize> = lengths.filter(|length| *length > 0).collect();
        lengths.into_iter().map(|length| self.corners(length)).collect()
    }
}

/// The whole number without sign that stands at `at`, its greatest byte first; 0 past the end.
fn big_endian(bytes: &[u8], at: usize) -> u32 {
    let number = bytes.get(at..).and_then(<[u8]>::first_chunk);
    number.copied().map(u32::from_be_bytes).unwrap_or_default()
}
