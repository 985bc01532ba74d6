//! Ids of properties, and which runs are whose, in few bytes each: a county has a million.

use std::hash::{BuildHasher, RandomState};

use hashbrown::HashTable;

use crate::error::ReadError;
use crate::property_map::PropertyRef;
use crate::runs::Runs;

/// Ids of properties, numbered from 1 as they come: one text of all of them, each after its length.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ids {
    text: Vec<u8>,
    /// Where every [`Ids::TOGETHER`]th of them starts.
    starts: Vec<u64>,
    count: u32,
}

/// The numbers of ids, by the ids: needed only while they are given.
#[derive(Debug, Default)]
pub(crate) struct Numbers {
    table: HashTable<u32>,
    hashes: RandomState,
}

impl Ids {
    /// From so many of them one is looked for, by their lengths.
    const TOGETHER: u32 = 16;

    fn add(&mut self, id: &str) -> u32 {
        if self.count.is_multiple_of(Ids::TOGETHER) {
            self.starts.push(self.text.len() as u64);
        }
        // Seven bits a byte, the lowest first; all but the last byte have the eighth.
        let mut length = id.len();
        while length >= 0x80 {
            self.text.push(length as u8 | 0x80);
            length >>= 7;
        }
        self.text.push(length as u8);
        self.text.extend_from_slice(id.as_bytes());
        self.count += 1;
        self.count
    }

    fn bytes(&self, number: u32) -> Option<&[u8]> {
        let place = number.checked_sub(1).filter(|place| *place < self.count)?;
        let start = *self.starts.get((place / Ids::TOGETHER) as usize)?;
        let mut rest = self.text.get(usize::try_from(start).ok()?..)?;
        for _ in 0..place % Ids::TOGETHER {
            let (length, after) = length_of(rest)?;
            rest = after.get(length..)?;
        }
        let (length, after) = length_of(rest)?;
        after.get(..length)
    }

    pub(crate) fn name(&self, property: PropertyRef) -> Option<&str> {
        self.bytes(property.0).and_then(|bytes| std::str::from_utf8(bytes).ok())
    }

    /// How many there are.
    pub(crate) fn count(&self) -> usize {
        self.count as usize
    }

    /// How many bytes of memory they take.
    #[cfg(test)]
    pub(crate) fn in_memory(&self) -> usize {
        self.text.len() + 8 * self.starts.len()
    }
}

/// The length that a text starts with, and what comes after it.
fn length_of(text: &[u8]) -> Option<(usize, &[u8])> {
    let (mut length, mut bits) = (0, 0);
    for (place, byte) in text.iter().enumerate() {
        length |= usize::from(byte & 0x7f) << bits;
        if byte & 0x80 == 0 {
            return Some((length, text.get(place + 1..)?));
        }
        bits += 7;
    }
    None
}

impl Numbers {
    /// The number of an id, which is added to `ids` if it is a new one.
    pub(crate) fn number(&mut self, ids: &mut Ids, id: Option<&str>) -> PropertyRef {
        let Some(id) = id else { return PropertyRef::NOBODY };
        if let Some(known) = self.known(ids, id) {
            return known;
        }
        let number = ids.add(id);
        let Numbers { table, hashes } = self;
        let hash_of = |number: &u32| hashes.hash_one(ids.bytes(*number).unwrap_or_default());
        table.insert_unique(hashes.hash_one(id.as_bytes()), number, hash_of);
        PropertyRef(number)
    }

    pub(crate) fn known(&self, ids: &Ids, id: &str) -> Option<PropertyRef> {
        let is_it = |number: &u32| ids.bytes(*number) == Some(id.as_bytes());
        self.table.find(self.hashes.hash_one(id.as_bytes()), is_it).copied().map(PropertyRef)
    }

    /// How many bytes of memory they take.
    #[cfg(test)]
    pub(crate) fn in_memory(&self) -> usize {
        self.table.allocation_size()
    }
}

/// The runs of each property, in file order.
#[derive(Clone, Debug, Default)]
pub(crate) struct RunsByProperty {
    /// By property, where its runs end; they begin where those of the property before end.
    ends: Vec<u32>,
    runs: Vec<u32>,
}

impl RunsByProperty {
    /// # Errors
    ///
    /// [`ReadError::Index`].
    pub(crate) fn of(runs: &Runs, properties: usize) -> Result<RunsByProperty, ReadError> {
        // Where each property's begin, and while they are put in, where its next one goes.
        let mut ends = vec![0; properties];
        for run in runs.each() {
            ends[run?.property.0 as usize] += 1;
        }
        let mut before = 0;
        for end in &mut ends {
            before += std::mem::replace(end, before);
        }
        let mut sorted = vec![0; runs.count()];
        for (place, run) in (0..).zip(runs.each()) {
            let next = &mut ends[run?.property.0 as usize];
            sorted[*next as usize] = place;
            *next += 1;
        }
        Ok(RunsByProperty { ends, runs: sorted })
    }

    pub(crate) fn each(&self, property: PropertyRef) -> &[u32] {
        let place = property.0 as usize;
        let Some(&end) = self.ends.get(place) else { return &[] };
        let start = place.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.runs[start as usize..end as usize]
    }

    /// How many properties there are, nobody among them.
    pub(crate) fn properties(&self) -> usize {
        self.ends.len()
    }

    /// How many bytes of memory they take.
    #[cfg(test)]
    pub(crate) fn in_memory(&self) -> usize {
        4 * (self.ends.len() + self.runs.len())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_numbered_as_they_come() {
        let (mut ids, mut numbers) = (Ids::default(), Numbers::default());
        let each = [Some("b"), None, Some(""), Some("a"), Some("b"), Some("bb")];
        let given = each.map(|id| numbers.number(&mut ids, id).0);
        assert_eq!(given, [1, 0, 2, 3, 1, 4]);
        assert_eq!(ids.name(PropertyRef(2)), Some(""));
        assert_eq!(ids.name(PropertyRef(4)), Some("bb"));
        assert_eq!((ids.name(PropertyRef::NOBODY), ids.name(PropertyRef(5))), (None, None));
        assert_eq!(numbers.known(&ids, "a"), Some(PropertyRef(3)));
        assert_eq!(numbers.known(&ids, "ab"), None);
        for number in 0..5000 {
            let id = format!("lot {number}");
            assert_eq!(numbers.number(&mut ids, Some(&id)), PropertyRef(number + 5));
        }
        assert_eq!(numbers.known(&ids, "lot 4999"), Some(PropertyRef(5004)));
        assert_eq!(ids.count(), 5004);
    }

    /// Lengths of one byte, of two and of three.
    #[test]
    fn an_id_may_be_of_any_length() {
        let (mut ids, mut numbers) = (Ids::default(), Numbers::default());
        for length in [0, 1, 127, 128, 129, 16_383, 16_384, 70_000] {
            let id = "é".repeat(length / 2) + &"x".repeat(length % 2);
            let number = numbers.number(&mut ids, Some(&id));
            assert_eq!(ids.name(number), Some(id.as_str()), "{length}");
            assert_eq!(numbers.known(&ids, &id), Some(number), "{length}");
        }
        assert_eq!(ids.count(), 8);
    }

    /// A county has a million: so many bytes each beyond the text, while they are numbered and after.
    #[test]
    fn an_id_takes_few_bytes() {
        const MANY: usize = 100_000;
        let (mut ids, mut numbers) = (Ids::default(), Numbers::default());
        for number in 0..MANY {
            numbers.number(&mut ids, Some(&format!("P{number:06}")));
        }
        assert!(ids.in_memory() <= MANY * (7 + 2), "{}", ids.in_memory());
        // Four bytes and one of its hash, in a table that is half empty at worst.
        assert!(numbers.in_memory() <= MANY * 12, "{}", numbers.in_memory());
    }
}
