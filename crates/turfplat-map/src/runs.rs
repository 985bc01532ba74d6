//! What is kept of features that stand together in a file, in few words: where no two features of a
//! property stand together there is one for each feature.

use std::io;

use crate::error::ReadError;
use crate::kind::Kind;
use crate::property_map::{PropertyRef, RoundBox};
use crate::shelf::Shelf;

/// How many features of each kind a property has before a place in the map.
pub(crate) type Counts = [u32; Kind::ALL.len()];

/// Features of one property that stand together in a file.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Run {
    /// From the start of the first to the end of the last, in bytes.
    pub(crate) start: u64,
    pub(crate) length: u32,
    pub(crate) file: u32,
    pub(crate) property: PropertyRef,
    pub(crate) line: u32,
    /// The place of the first in the file's `features`.
    pub(crate) first: u32,
    pub(crate) count: u16,
    /// One bit for each kind that is in it.
    pub(crate) kinds: u16,
    /// Round all that is not turf.
    pub(crate) others: RoundBox,
    /// How far beyond that something may matter by what it says of itself, in metres.
    pub(crate) own_reach: f32,
    /// Where [`Runs`] say what its nameless features are numbered on from.
    pub(crate) earlier: u32,
}

/// All runs of a map, in file order.
#[derive(Clone, Debug, Default)]
pub(crate) struct Runs {
    runs: Shelf<14>,
    /// For each kind in a run how many its property has before it, if it has any.
    earlier: Shelf<1>,
    features: usize,
}

pub(crate) fn bit(kind: Kind) -> u16 {
    1 << (kind as u16)
}

pub(crate) fn unkept(error: io::Error) -> ReadError {
    ReadError::Index { reason: error.to_string() }
}

impl Run {
    fn kinds(&self) -> impl Iterator<Item = Kind> + use<> {
        let kinds = self.kinds;
        Kind::ALL.into_iter().filter(move |kind| kinds & bit(*kind) != 0)
    }

    fn words(&self) -> [u32; 14] {
        let ([west, south], [east, north]) = (self.others.low, self.others.high);
        [
            self.start as u32,
            (self.start >> 32) as u32,
            self.length,
            self.file,
            self.property.0,
            self.line,
            self.first,
            u32::from(self.count) | u32::from(self.kinds) << 16,
            west.to_bits(),
            south.to_bits(),
            east.to_bits(),
            north.to_bits(),
            self.own_reach.to_bits(),
            self.earlier,
        ]
    }

    fn of_words(words: [u32; 14]) -> Run {
        let [low, high, length, file, property, line, first, counts, rest @ ..] = words;
        let [west, south, east, north, own_reach, earlier] = rest;
        let corner = |x, y| [f32::from_bits(x), f32::from_bits(y)];
        Run {
            start: u64::from(low) | u64::from(high) << 32,
            length,
            file,
            property: PropertyRef(property),
            line,
            first,
            count: counts as u16,
            kinds: (counts >> 16) as u16,
            others: RoundBox { low: corner(west, south), high: corner(east, north) },
            own_reach: f32::from_bits(own_reach),
            earlier,
        }
    }
}

impl Runs {
    pub(crate) fn count(&self) -> usize {
        self.runs.count()
    }

    /// How many features are in them.
    pub(crate) fn features(&self) -> usize {
        self.features
    }

    /// Adds a run whose property has so many features of each kind before it.
    pub(crate) fn add(&mut self, mut run: Run, before: &Counts) -> io::Result<()> {
        if run.kinds().any(|kind| before[kind as usize] > 0) {
            run.earlier = self.earlier.count() as u32;
            let mut counts = run.kinds().map(|kind| before[kind as usize]);
            counts.try_for_each(|count| self.earlier.push([count]))?;
        }
        self.features += usize::from(run.count);
        self.runs.push(run.words())
    }

    /// # Errors
    ///
    /// [`ReadError::Index`], also of one that is not there.
    pub(crate) fn get(&self, place: u32) -> Result<Run, ReadError> {
        let words = self.runs.get(place as usize).map_err(unkept)?;
        words.map(Run::of_words).ok_or_else(|| unkept(io::ErrorKind::NotFound.into()))
    }

    pub(crate) fn each(&self) -> impl Iterator<Item = Result<Run, ReadError>> {
        self.runs.each().map(|words| words.map(Run::of_words).map_err(unkept))
    }

    /// How many features of the kinds in a run its property has before it.
    pub(crate) fn earlier_than(&self, run: &Run) -> Result<Counts, ReadError> {
        let mut counts = Counts::default();
        if run.earlier == u32::MAX {
            return Ok(counts);
        }
        for (kind, place) in run.kinds().zip(run.earlier as usize..) {
            let [count] = self.earlier.get(place).map_err(unkept)?.unwrap_or_default();
            counts[kind as usize] = count;
        }
        Ok(counts)
    }

    /// How many bytes of memory they take.
    #[cfg(test)]
    pub(crate) fn in_memory(&self) -> usize {
        self.runs.in_memory() + self.earlier.in_memory()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // A test may.

    use super::*;

    #[test]
    fn a_run_is_kept_as_it_is() {
        let run = Run {
            start: (7 << 32) + 5,
            length: u32::MAX,
            file: 3,
            property: PropertyRef(9),
            line: 12,
            first: 11,
            count: 512,
            kinds: bit(Kind::Parcel) | bit(Kind::Turf),
            others: RoundBox { low: [-88.5, 44.25], high: [-88.25, 44.5] },
            own_reach: 1.5,
            earlier: u32::MAX,
        };
        let empty = Run { others: RoundBox::EMPTY, kinds: 0, ..run.clone() };
        let mut runs = Runs::default();
        let mut before = Counts::default();
        runs.add(run.clone(), &before).unwrap();
        before[Kind::Parcel as usize] = 70_000;
        before[Kind::Well as usize] = 1;
        runs.add(run.clone(), &before).unwrap();
        runs.add(empty.clone(), &before).unwrap();
        assert_eq!(runs.get(0).unwrap(), run);
        let second = runs.get(1).unwrap();
        assert_eq!(second, Run { earlier: 0, ..run });
        // A well is not in it.
        before[Kind::Well as usize] = 0;
        assert_eq!(runs.earlier_than(&second).unwrap(), before);
        assert_eq!(runs.get(2).unwrap(), empty);
        assert!(runs.get(3).is_err());
        assert_eq!((runs.count(), runs.features()), (3, 3 * 512));
    }
}
