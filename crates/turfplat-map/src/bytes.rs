//! Why a map file is not simply read into memory: a county's is a quarter of a gigabyte, and
//! twice: once to find what stands where, once to measure property by property.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

/// The bytes of a map file, read piece by piece from any thread.
#[derive(Clone, Debug)]
pub struct Bytes(Place);

#[derive(Clone, Debug)]
enum Place {
    Memory(Arc<[u8]>),
    File { file: Arc<File>, length: u64, written: Option<SystemTime> },
}

impl Bytes {
    /// More than this of a stream is kept in a file that goes when it is closed.
    const KEPT_IN_MEMORY: u64 = 8 << 20;

    /// No stream is longer: a county is a quarter of a gigabyte, and a disk that is full stops more
    /// than this program.
    const LONGEST_STREAM: u64 = 4 << 30;

    /// The bytes of a file, which stays open.
    ///
    /// # Errors
    ///
    /// What of the file cannot be read.
    pub fn open(path: &Path) -> io::Result<Bytes> {
        let mut file = File::open(path)?;
        let about = file.metadata()?;
        if about.is_dir() {
            return Err(io::ErrorKind::IsADirectory.into());
        }
        if !about.is_file() {
            // A pipe can be read but once.
            return Bytes::of_stream(&mut file);
        }
        let (length, written) = (about.len(), about.modified().ok());
        Ok(Bytes(Place::File { file: Arc::new(file), length, written }))
    }

    /// The bytes of a stream, such as standard input, to its end.
    ///
    /// # Errors
    ///
    /// What of the stream cannot be read or, where it is long, not be kept.
    pub fn of_stream(stream: &mut impl Read) -> io::Result<Bytes> {
        Bytes::of_stream_within(stream, Bytes::LONGEST_STREAM)
    }

    fn of_stream_within(stream: &mut impl Read, most: u64) -> io::Result<Bytes> {
        let mut start = Vec::new();
        stream.by_ref().take(Bytes::KEPT_IN_MEMORY).read_to_end(&mut start)?;
        if (start.len() as u64) < Bytes::KEPT_IN_MEMORY {
            return Ok(start.into());
        }
        if start.iter().all(|byte| *byte == 0) {
            // It may never end, and is nothing.
            return Err(io::Error::new(io::ErrorKind::InvalidData, "nothing but zeros"));
        }
        let mut file = tempfile::tempfile()?;
        let rest = stream.take(most.saturating_sub(Bytes::KEPT_IN_MEMORY).saturating_add(1));
        let length = io::copy(&mut start.as_slice().chain(rest), &mut file)?;
        if length > most {
            let reason = format!(
                "a stream of more than {} GB, which may never end; save it in a file and name the file",
                most >> 30
            );
            return Err(io::Error::new(io::ErrorKind::InvalidData, reason));
        }
        Ok(Bytes(Place::File { file: Arc::new(file), length, written: None }))
    }

    /// The bytes of a file that nobody else writes to.
    pub(crate) fn of_file(file: File) -> io::Result<Bytes> {
        let length = file.metadata()?.len();
        Ok(Bytes(Place::File { file: Arc::new(file), length, written: None }))
    }

    /// All of them as a stream that can be wound back.
    pub(crate) fn stream(&self) -> Stream<'_> {
        Stream { bytes: self, at: 0 }
    }

    /// How many there are.
    pub fn length(&self) -> u64 {
        match &self.0 {
            Place::Memory(bytes) => bytes.len() as u64,
            Place::File { length, .. } => *length,
        }
    }

    /// True of a file that was written to since it was opened.
    pub(crate) fn has_changed(&self) -> bool {
        let Place::File { file, length, written: Some(written) } = &self.0 else { return false };
        let now = file.metadata().and_then(|now| Ok((now.len(), now.modified()?)));
        now.is_ok_and(|now| now != (*length, *written))
    }

    /// Adds the bytes from `start` to `end`, which are there, to `buffer`.
    pub(crate) fn read(&self, start: u64, end: u64, buffer: &mut Vec<u8>) -> io::Result<()> {
        let so_far = buffer.len();
        buffer.resize(so_far + (end - start) as usize, 0);
        self.read_into(start, &mut buffer[so_far..])
    }

    /// Fills `buffer` with the bytes from `start` on, which are there.
    fn read_into(&self, start: u64, buffer: &mut [u8]) -> io::Result<()> {
        match &self.0 {
            Place::Memory(bytes) => {
                // What is in memory is counted by `usize`.
                buffer.copy_from_slice(&bytes[start as usize..][..buffer.len()]);
                Ok(())
            }
            Place::File { file, .. } => read_exactly_at(file, buffer, start),
        }
    }
}

/// Bytes read one after the other, unbuffered.
#[derive(Debug)]
pub(crate) struct Stream<'b> {
    bytes: &'b Bytes,
    at: u64,
}

impl Read for Stream<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let left = self.bytes.length().saturating_sub(self.at);
        if left == 0 {
            // It may have been wound beyond the end.
            return Ok(0);
        }
        // No longer than the buffer.
        let some = left.min(buffer.len() as u64) as usize;
        self.bytes.read_into(self.at, &mut buffer[..some])?;
        self.at += some as u64;
        Ok(some)
    }
}

impl Seek for Stream<'_> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let place = match to {
            SeekFrom::Start(place) => Some(place),
            SeekFrom::End(by) => self.bytes.length().checked_add_signed(by),
            SeekFrom::Current(by) => self.at.checked_add_signed(by),
        };
        self.at = place.ok_or(io::ErrorKind::InvalidInput)?;
        Ok(self.at)
    }
}

impl From<Vec<u8>> for Bytes {
    fn from(bytes: Vec<u8>) -> Bytes {
        Bytes(Place::Memory(bytes.into()))
    }
}

#[cfg(unix)]
pub(crate) fn read_exactly_at(file: &File, buffer: &mut [u8], start: u64) -> io::Result<()> {
    std::os::unix::fs::FileExt::read_exact_at(file, buffer, start)
}

#[cfg(windows)]
pub(crate) fn read_exactly_at(
    file: &File,
    mut buffer: &mut [u8],
    mut start: u64,
) -> io::Result<()> {
    while !buffer.is_empty() {
        match std::os::windows::fs::FileExt::seek_read(file, buffer, start)? {
            0 => return Err(io::ErrorKind::UnexpectedEof.into()),
            count => (buffer, start) = (&mut buffer[count..], start + count as u64),
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // A test may.

    use super::*;

    #[test]
    fn a_stream_that_never_ends_is_given_up() {
        let most = Bytes::KEPT_IN_MEMORY + 100;
        let all = Bytes::of_stream_within(&mut io::repeat(b'x').take(most), most).unwrap();
        assert_eq!(all.length(), most);
        let error = Bytes::of_stream_within(&mut io::repeat(b'x'), most).unwrap_err().to_string();
        assert!(error.contains("save it in a file and name the file"), "{error}");
    }

    #[test]
    fn beyond_the_end_there_is_nothing() {
        let bytes = Bytes::from(vec![1, 2, 3]);
        let mut stream = bytes.stream();
        stream.seek(SeekFrom::Start(9)).unwrap();
        assert_eq!(stream.read(&mut [0; 4]).unwrap(), 0);
        stream.seek(SeekFrom::End(-1)).unwrap();
        assert_eq!(stream.read(&mut [0; 4]).unwrap(), 1);
    }
}
