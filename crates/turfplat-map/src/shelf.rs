//! Why a list may lie in a temporary file: what is kept of each stretch of a map grows with the
//! map, and is asked for property by property, mostly in file order. So only its start stands in
//! memory, enough for a county; what comes after is read when it is asked for.

use std::fs::File;
use std::io::{self, Seek, SeekFrom, Write};
use std::sync::Arc;

use crate::bytes::read_exactly_at;

/// A list of records of `N` words each. A clone shares the file: only one of the two may go on
/// writing, and a map that is handed out is not written to.
#[derive(Clone, Debug)]
pub(crate) struct Shelf<const N: usize> {
    /// The first.
    head: Vec<[u32; N]>,
    /// Those between the first and the last, in a file that goes when it is closed.
    file: Option<Arc<File>>,
    in_file: usize,
    /// The last, until they are enough to be written together.
    tail: Vec<[u32; N]>,
    /// So many stand in memory before any goes to the file.
    most: usize,
}

/// So many bytes of a list stand in memory, and so many more before they are written.
pub(crate) const HEAD: usize = 2 << 20;
const TAIL: usize = 1 << 16;

impl<const N: usize> Default for Shelf<N> {
    fn default() -> Shelf<N> {
        Shelf::keeping(HEAD / (4 * N))
    }
}

impl<const N: usize> Shelf<N> {
    /// So many records are written or read at once.
    const AT_ONCE: usize = TAIL / (4 * N);

    /// One that keeps so many records in memory.
    fn keeping(most: usize) -> Shelf<N> {
        Shelf { head: Vec::new(), file: None, in_file: 0, tail: Vec::new(), most }
    }

    pub(crate) fn count(&self) -> usize {
        self.head.len() + self.in_file + self.tail.len()
    }

    pub(crate) fn push(&mut self, record: [u32; N]) -> io::Result<()> {
        if self.head.len() < self.most {
            self.head.push(record);
            return Ok(());
        }
        self.tail.push(record);
        if self.tail.len() == Self::AT_ONCE {
            let tail = std::mem::take(&mut self.tail);
            if self.file.is_none() {
                self.file = Some(Arc::new(tempfile::tempfile()?));
            }
            self.write(self.in_file, &tail)?;
            self.in_file += tail.len();
            self.tail = tail;
            self.tail.clear();
        }
        Ok(())
    }

    /// The record at a place; `None` beyond the last.
    pub(crate) fn get(&self, place: usize) -> io::Result<Option<[u32; N]>> {
        if let Some(record) = self.head.get(place) {
            return Ok(Some(*record));
        }
        let beyond = place - self.head.len();
        if beyond >= self.in_file {
            return Ok(self.tail.get(beyond - self.in_file).copied());
        }
        let mut record = [[0; 4]; N];
        self.read(beyond, &mut record)?;
        Ok(Some(record.map(u32::from_le_bytes)))
    }

    /// Puts another record in the place of one that is there.
    pub(crate) fn set(&mut self, place: usize, record: [u32; N]) -> io::Result<()> {
        if let Some(known) = self.head.get_mut(place) {
            *known = record;
            return Ok(());
        }
        let beyond = place - self.head.len();
        if beyond < self.in_file {
            return self.write(beyond, &[record]);
        }
        if let Some(known) = self.tail.get_mut(beyond - self.in_file) {
            *known = record;
        }
        Ok(())
    }

    /// All of them, from the first on.
    pub(crate) fn each(&self) -> impl Iterator<Item = io::Result<[u32; N]>> {
        let some = |start: usize| {
            let count = (self.in_file - start).min(Self::AT_ONCE);
            let mut records = vec![[[0; 4]; N]; count];
            match self.read(start, records.as_flattened_mut()) {
                Ok(()) => records.into_iter().map(|it| Ok(it.map(u32::from_le_bytes))).collect(),
                Err(error) => vec![Err(error)],
            }
        };
        let in_file = (0..self.in_file).step_by(Self::AT_ONCE).flat_map(some);
        let (head, tail) = (self.head.iter().copied(), self.tail.iter().copied());
        head.map(Ok).chain(in_file).chain(tail.map(Ok))
    }

    /// Fills `words` with what the file has from a record on.
    fn read(&self, record: usize, words: &mut [[u8; 4]]) -> io::Result<()> {
        let Some(file) = &self.file else { return Err(io::ErrorKind::NotFound.into()) };
        read_exactly_at(file, words.as_flattened_mut(), Self::offset(record))
    }

    fn write(&self, record: usize, records: &[[u32; N]]) -> io::Result<()> {
        let Some(file) = &self.file else { return Err(io::ErrorKind::NotFound.into()) };
        let words = records.as_flattened().iter();
        let bytes: Vec<u8> = words.flat_map(|word| word.to_le_bytes()).collect();
        let mut file = file.as_ref();
        file.seek(SeekFrom::Start(Self::offset(record)))?;
        file.write_all(&bytes)
    }

    fn offset(record: usize) -> u64 {
        record as u64 * 4 * N as u64
    }

    /// How many bytes of memory its records take.
    #[cfg(test)]
    pub(crate) fn in_memory(&self) -> usize {
        4 * N * (self.head.len() + self.tail.len())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // A test may.

    use proptest::prelude::*;

    use super::*;

    proptest! {
        #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..Default::default() })]

        /// Wherever a record lies, it is what was put there last.
        #[test]
        fn a_shelf_is_a_list(
            most in 0..6000_usize,
            count in 0..20_000_u32,
            changes in proptest::collection::vec((0..20_000_usize, any::<u32>()), 0..40),
        ) {
            let mut list: Vec<[u32; 3]> = (0..count).map(|it| [it, !it, it / 3]).collect();
            let mut shelf = Shelf::keeping(most);
            list.iter().for_each(|record| shelf.push(*record).unwrap());
            for (place, word) in changes {
                if place < list.len() {
                    list[place][1] = word;
                    shelf.set(place, list[place]).unwrap();
                }
                prop_assert_eq!(shelf.get(place).unwrap(), list.get(place).copied());
            }
            prop_assert_eq!(shelf.count(), list.len());
            let all: Vec<[u32; 3]> = shelf.each().map(Result::unwrap).collect();
            prop_assert_eq!(all, list);
        }
    }

    #[test]
    fn a_long_shelf_takes_no_more_memory_than_a_short_one() {
        let mut shelf = Shelf::<4>::default();
        for number in 0..1_000_000 {
            shelf.push([number; 4]).unwrap();
        }
        assert!(shelf.in_memory() <= HEAD + TAIL, "{}", shelf.in_memory());
        assert_eq!(shelf.get(999_999).unwrap(), Some([999_999; 4]));
    }
}
