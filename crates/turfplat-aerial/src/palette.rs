//! Palettes, which the library for TIFF knows and does not unpack: it unpacks grays of the same
//! form. So it is handed the file with another word for what the values mean, and we look the
//! colors up.

use std::io::{self, Read, Seek, SeekFrom};

/// Directories of one file that are looked through.
const MOST_DIRECTORIES: usize = 64;
/// Entries of one directory.
const MOST_ENTRIES: u64 = 4096;
const PHOTOMETRIC: u16 = 262;
const PALETTE: u16 = 3;
/// "Black is zero", as TIFF calls plain gray.
const GRAY: u16 = 1;

/// A TIFF in which palettes are called gray.
#[derive(Debug)]
pub(crate) struct AsGray<R> {
    inner: R,
    at: u64,
    /// Where the words stand, with the bytes to read there, and in which directory, from 0.
    words: Vec<(u64, [u8; 2], usize)>,
}

impl<R: Read + Seek> AsGray<R> {
    /// Looks for palettes; what is no TIFF is handed on as it is.
    pub(crate) fn new(mut inner: R) -> io::Result<AsGray<R>> {
        let words = palettes(&mut inner).unwrap_or_default();
        inner.seek(SeekFrom::Start(0))?;
        Ok(AsGray { inner, at: 0, words })
    }

    /// True if the picture of a directory has a palette.
    pub(crate) fn has_palette(&self, directory: usize) -> bool {
        self.words.iter().any(|(.., of)| *of == directory)
    }
}

/// Numbers of a TIFF, in its own order of bytes.
struct Numbers<'r, R> {
    inner: &'r mut R,
    is_little: bool,
}

impl<R: Read + Seek> Numbers<'_, R> {
    fn read(&mut self, at: u64, length: usize) -> io::Result<u64> {
        let mut bytes = [0; 8];
        self.inner.seek(SeekFrom::Start(at))?;
        let (used, _) = bytes.split_at_mut(length.min(8));
        self.inner.read_exact(used)?;
        let add = |sum: u64, byte: &u8| sum << 8 | u64::from(*byte);
        Ok(if self.is_little { used.iter().rev().fold(0, add) } else { used.iter().fold(0, add) })
    }
}

/// The places of the word for a palette. Source: TIFF 6.0 (1992), sect. 2; BigTIFF (2007).
fn palettes<R: Read + Seek>(inner: &mut R) -> io::Result<Vec<(u64, [u8; 2], usize)>> {
    let mut order = [0; 2];
    inner.read_exact(&mut order)?;
    let is_little = &order == b"II";
    let mut file = Numbers { inner, is_little };
    let is_big = file.read(2, 2)? == 43;
    // Bytes of an offset, of the count of entries, of one entry, and where its value stands.
    let (offset, count, entry, value) = if is_big { (8, 8, 20, 12) } else { (4, 2, 12, 8) };
    let mut next = file.read(if is_big { 8 } else { 4 }, offset)?;
    let mut words = Vec::new();
    for directory in 0..MOST_DIRECTORIES {
        if next == 0 {
            break;
        }
        let entries = file.read(next, count)?;
        if entries > MOST_ENTRIES {
            break;
        }
        for index in 0..entries {
            let Some(at) = next.checked_add(count as u64 + index * entry) else { return Ok(words) };
            let is_it = file.read(at, 2)? == u64::from(PHOTOMETRIC);
            if is_it && file.read(at + value, 2)? == u64::from(PALETTE) {
                let word = if is_little { GRAY.to_le_bytes() } else { GRAY.to_be_bytes() };
                words.push((at + value, word, directory));
            }
        }
        let Some(end) = next.checked_add(count as u64 + entries * entry) else { break };
        next = file.read(end, offset)?;
    }
    Ok(words)
}

impl<R: Read> Read for AsGray<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let read = self.inner.read(buffer)?;
        for (at, word, _) in &self.words {
            for (place, byte) in (*at..).zip(word) {
                let index =
                    place.checked_sub(self.at).and_then(|index| usize::try_from(index).ok());
                if let Some(found) = index.filter(|&it| it < read).and_then(|it| buffer.get_mut(it))
                {
                    *found = *byte;
                }
            }
        }
        self.at += read as u64;
        Ok(read)
    }
}

impl<R: Seek> Seek for AsGray<R> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.at = self.inner.seek(to)?;
        Ok(self.at)
    }
}
