//! Ids of properties, and which runs are whose, in few bytes each: a county has a million.

use std::hash::{BuildHasher, RandomState};

use hashbrown::HashTable;

use crate::property_map::{PropertyRef, Run};

/// Ids of properties, numbered from 1 as they come: one text of all of them, where each ends in
/// it, and a table of their numbers.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ids {
    text: String,
    ends: Vec<usize>,
    numbers: HashTable<u32>,
    hashes: RandomState,
}

impl Ids {
    pub(crate) fn number(&mut self, id: Option<&str>) -> PropertyRef {
        let Some(id) = id else { return PropertyRef::NOBODY };
        if let Some(known) = self.known(id) {
            return known;
        }
        self.text.push_str(id);
        self.ends.push(self.text.len());
        let number = self.ends.len() as u32;
        let Ids { text, ends, numbers, hashes } = self;
        let hash_of = |number: &u32| hashes.hash_one(name(text, ends, *number).unwrap_or_default());
        numbers.insert_unique(hashes.hash_one(id), number, hash_of);
        PropertyRef(number)
    }

    pub(crate) fn known(&self, id: &str) -> Option<PropertyRef> {
        let is_it = |number: &u32| name(&self.text, &self.ends, *number) == Some(id);
        self.numbers.find(self.hashes.hash_one(id), is_it).copied().map(PropertyRef)
    }

    pub(crate) fn name(&self, property: PropertyRef) -> Option<&str> {
        name(&self.text, &self.ends, property.0)
    }

    /// How many there are.
    pub(crate) fn count(&self) -> usize {
        self.ends.len()
    }
}

fn name<'t>(text: &'t str, ends: &[usize], number: u32) -> Option<&'t str> {
    let place = (number as usize).checked_sub(1)?;
    let start = place.checked_sub(1).map_or(0, |before| ends[before]);
    text.get(start..*ends.get(place)?)
}

/// The runs of each property, in file order.
#[derive(Clone, Debug, Default)]
pub(crate) struct RunsByProperty {
    /// By property, where its runs end; they begin where those of the property before end.
    ends: Vec<u32>,
    runs: Vec<u32>,
}

impl RunsByProperty {
    pub(crate) fn of(runs: &[Run], properties: usize) -> RunsByProperty {
        // Where each property's begin, and while they are put in, where its next one goes.
        let mut ends = vec![0; properties];
        runs.iter().for_each(|run| ends[run.property.0 as usize] += 1);
        let mut before = 0;
        for end in &mut ends {
            before += std::mem::replace(end, before);
        }
        let mut sorted = vec![0; runs.len()];
        for (place, run) in (0..).zip(runs) {
            let next = &mut ends[run.property.0 as usize];
            sorted[*next as usize] = place;
            *next += 1;
        }
        RunsByProperty { ends, runs: sorted }
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
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_numbered_as_they_come() {
        let mut ids = Ids::default();
        let each = [Some("b"), None, Some(""), Some("a"), Some("b"), Some("bb")];
        let numbers = each.map(|id| ids.number(id).0);
        assert_eq!(numbers, [1, 0, 2, 3, 1, 4]);
        assert_eq!(ids.name(PropertyRef(2)), Some(""));
        assert_eq!(ids.name(PropertyRef(4)), Some("bb"));
        assert_eq!((ids.name(PropertyRef::NOBODY), ids.name(PropertyRef(5))), (None, None));
        assert_eq!((ids.known("a"), ids.known("ab")), (Some(PropertyRef(3)), None));
        for number in 0..5000 {
            assert_eq!(ids.number(Some(&format!("lot {number}"))), PropertyRef(number + 5));
        }
        assert_eq!(ids.known("lot 4999"), Some(PropertyRef(5004)));
        assert_eq!(ids.count(), 5004);
    }
}
