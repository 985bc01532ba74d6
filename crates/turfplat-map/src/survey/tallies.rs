//! What is kept of each property while a map is looked over, and no longer.

use std::collections::HashMap;
use std::io;

use crate::kind::Kind;
use crate::property_map::{Corners, PropertyRef, RoundBox};
use crate::runs::Counts;
use crate::shelf::Shelf;

/// How many features of each kind a property has so far, and the box round all of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Tally {
    pub(super) counts: Counts,
    pub(super) around: RoundBox,
}

/// The tallies of all properties. Few have more than 254 features of one kind, so a byte for each kind
/// is mostly enough.
#[derive(Default)]
pub(super) struct Tallies {
    /// By property: four kinds a word, all bytes [`Tallies::MANY`] of one that has too many; the box.
    tallies: Shelf<8>,
    many: HashMap<PropertyRef, Counts>,
    /// The one that was asked for last: most features go on with their property.
    at_hand: Option<(PropertyRef, Tally)>,
}

const EMPTY: Tally = Tally { counts: [0; Kind::ALL.len()], around: RoundBox::EMPTY };

impl Tallies {
    const MANY: u32 = u8::MAX as u32;

    /// The tally of a property, to be changed.
    pub(super) fn of(&mut self, property: PropertyRef) -> io::Result<&mut Tally> {
        if self.at_hand.is_none_or(|(known, _)| known != property) {
            self.put_down()?;
            while self.tallies.count() <= property.0 as usize {
                let empty = self.words(property, &EMPTY);
                self.tallies.push(empty)?;
            }
            self.at_hand = Some((property, self.get(property)?));
        }
        let (_, tally) = self.at_hand.get_or_insert((property, EMPTY));
        Ok(tally)
    }

    /// The box round all features of a property.
    pub(super) fn around(&self, property: PropertyRef) -> io::Result<Option<Corners>> {
        match &self.at_hand {
            Some((known, tally)) if *known == property => Ok(tally.around.corners()),
            _ => Ok(self.get(property)?.around.corners()),
        }
    }

    /// The boxes round the features of each property that has any, nobody first.
    pub(super) fn each(
        &mut self,
    ) -> io::Result<impl Iterator<Item = io::Result<(PropertyRef, Corners)>>> {
        self.put_down()?;
        let each = self.tallies.each().zip(0..);
        Ok(each.filter_map(|(words, number)| {
            let around = words.map(|words| box_of(words).corners());
            around.map(|around| Some((PropertyRef(number), around?))).transpose()
        }))
    }

    fn put_down(&mut self) -> io::Result<()> {
        let Some((property, tally)) = self.at_hand.take() else { return Ok(()) };
        let words = self.words(property, &tally);
        self.tallies.set(property.0 as usize, words)
    }

    fn get(&self, property: PropertyRef) -> io::Result<Tally> {
        let Some(words) = self.tallies.get(property.0 as usize)? else { return Ok(EMPTY) };
        let [a, b, c, d, ..] = words;
        let mut counts = Counts::default();
        let bytes = [a, b, c, d].map(u32::to_le_bytes);
        for (count, byte) in counts.iter_mut().zip(bytes.as_flattened()) {
            *count = u32::from(*byte);
        }
        if counts[0] == Tallies::MANY {
            counts = self.many.get(&property).copied().unwrap_or_default();
        }
        Ok(Tally { counts, around: box_of(words) })
    }

    fn words(&mut self, property: PropertyRef, tally: &Tally) -> [u32; 8] {
        let mut bytes = [u8::MAX; 16];
        if tally.counts.iter().all(|count| *count < Tallies::MANY) {
            for (byte, count) in bytes.iter_mut().zip(tally.counts) {
                *byte = count as u8;
            }
        } else {
            self.many.insert(property, tally.counts);
        }
        let (words, _) = bytes.as_chunks::<4>();
        let word = |place: usize| words.get(place).map_or(0, |it| u32::from_le_bytes(*it));
        let ([west, south], [east, north]) = (tally.around.low, tally.around.high);
        let [west, south, east, north] = [west, south, east, north].map(f32::to_bits);
        [word(0), word(1), word(2), word(3), west, south, east, north]
    }
}

fn box_of([.., west, south, east, north]: [u32; 8]) -> RoundBox {
    let corner = |x, y| [f32::from_bits(x), f32::from_bits(y)];
    RoundBox { low: corner(west, south), high: corner(east, north) }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // A test may.

    use geo_types::Coord;

    use super::*;

    #[test]
    fn tallies_are_kept_however_many_there_are() {
        let mut tallies = Tallies::default();
        let corner = |it: u32| Coord { x: f64::from(it), y: 1.0 };
        // More than stand in memory, one after the other and then again from the last.
        const MANY: u32 = 100_000;
        for number in (0..MANY).chain((0..MANY).rev()) {
            let tally = tallies.of(PropertyRef(number)).unwrap();
            tally.counts[number as usize % Kind::ALL.len()] += 200;
            tally.around.include((corner(number), corner(number + 1)));
        }
        for number in [0, 1, 70_000, MANY - 1] {
            let tally = *tallies.of(PropertyRef(number)).unwrap();
            let mut counts = Counts::default();
            counts[number as usize % Kind::ALL.len()] = 400;
            assert_eq!(tally.counts, counts, "{number}");
            let around = (corner(number), corner(number + 1));
            assert_eq!(tallies.around(PropertyRef(number)).unwrap(), Some(around));
        }
        assert_eq!(tallies.of(PropertyRef(MANY + 5)).unwrap().counts, Counts::default());
        assert_eq!(tallies.each().unwrap().count(), MANY as usize);
    }
}
