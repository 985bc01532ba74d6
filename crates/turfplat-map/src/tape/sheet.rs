//! What can be said only of a whole sheet: which zone a shape lies within, whose it is, and which
//! distances nobody knows. On a plane everything has a distance from everything; one that was made
//! up must neither be kept nor passed over.

use std::collections::{BTreeMap, HashMap};

use super::Reason;
use super::entry::{Entry, Measured, PLACE_IT, Place};
use super::fields::{meant, shortened};
use crate::kind::Kind;

/// All shapes of a sheet, by their places in it from 0.
pub(super) struct Sheet {
    pub(super) entries: Vec<Entry>,
    /// The items of each property, in the order in which they come first.
    pub(super) properties: Vec<Vec<usize>>,
    /// By zone, what is to be taken out of it.
    pub(super) inside: BTreeMap<usize, Vec<usize>>,
}

/// Zones by their names.
type Zones = HashMap<String, Vec<usize>>;

impl Sheet {
    pub(super) fn of(entries: Vec<Entry>) -> Sheet {
        let mut sheet = Sheet { entries, properties: Vec::new(), inside: BTreeMap::new() };
        sheet.find_zones();
        sheet.refuse_places_of_nobody();
        sheet.find_properties();
        sheet.refuse_unknown_distances();
        sheet
    }

    /// What was measured of an item, if it can be used so far.
    pub(super) fn shape(&self, item: usize) -> Option<&Measured> {
        self.entries.get(item)?.measured.as_ref().ok()?.as_ref()
    }

    pub(super) fn place(&self, item: usize) -> Option<Place> {
        self.shape(item)?.place
    }

    pub(super) fn is(&self, item: usize, kind: Kind) -> bool {
        self.entries.get(item).is_some_and(|entry| entry.kind == Some(kind))
    }

    pub(super) fn refuse(&mut self, item: usize, reason: Reason) {
        if let Some(entry) = self.entries.get_mut(item) {
            entry.measured = Err(reason);
        }
    }

    /// Finds the zone that each shape lies within; the shape is of its property then.
    fn find_zones(&mut self) {
        let mut zones = Zones::new();
        for (item, entry) in self.entries.iter().enumerate() {
            if let (Some(Kind::Turf), Some(name)) = (entry.kind, &entry.name) {
                zones.entry(name.clone()).or_default().push(item);
            }
        }
        for item in 0..self.entries.len() {
            match self.zone_of(item, &zones) {
                None => {}
                Some(Err(reason)) => self.refuse(item, reason),
                Some(Ok(zone)) => {
                    self.inside.entry(zone).or_default().push(item);
                    self.give_to_owner_of(zone, item);
                }
            }
        }
    }

    /// The zone that a shape lies within, if it can be used and says so.
    fn zone_of(&self, item: usize, zones: &Zones) -> Option<Result<usize, Reason>> {
        self.shape(item)?;
        let entry = self.entries.get(item)?;
        let within = entry.within.as_deref()?;
        let is_its = |zone: &&usize| {
            let owner = self.entries.get(**zone).and_then(|zone| zone.property.as_ref());
            entry.property.is_none() || entry.property.as_ref() == owner
        };
        let mut named = zones.get(within).into_iter().flatten().filter(is_its);
        let shown = shortened(within);
        Some(match (named.next(), named.next()) {
            (Some(zone), None) => Ok(*zone),
            (Some(_), Some(_)) => Err(format!(
                "within {shown:?}: several zones have that name; give each its own, or say of which property this is"
            )),
            (None, _) => {
                let cure = nearest_zone(within, zones);
                Err(format!("within {shown:?}: no zone of its property has that name; {cure}"))
            }
        })
    }

    fn give_to_owner_of(&mut self, zone: usize, item: usize) {
        let Some(owner) = self.entries.get(zone) else { return };
        let (id, told) = (owner.property.clone(), owner.properties.get("property").cloned());
        if let Some(entry) = self.entries.get_mut(item)
            && let (None, Some(told)) = (&entry.property, told)
        {
            entry.properties.insert("property".to_owned(), told);
            entry.property = id;
        }
    }

    /// Where some shape has a property, a place without one is counted from nobody knows which corner.
    fn refuse_places_of_nobody(&mut self) {
        if self.entries.iter().all(|entry| entry.property.is_none()) {
            return;
        }
        for item in 0..self.entries.len() {
            let is_nobodys = self.entries.get(item).is_some_and(|entry| entry.property.is_none());
            // The map refuses turf that is nobody's itself.
            if is_nobodys && self.place(item).is_some() && !self.is(item, Kind::Turf) {
                let reason = "has a place but no property, and at is counted from a corner of each property; say of which it is";
                self.refuse(item, reason.to_owned());
            }
        }
    }

    fn find_properties(&mut self) {
        let mut numbers: HashMap<Option<&str>, usize> = HashMap::new();
        for (item, entry) in self.entries.iter().enumerate() {
            let next = self.properties.len();
            let number = *numbers.entry(entry.property.as_deref()).or_insert(next);
            match self.properties.get_mut(number) {
                Some(items) => items.push(item),
                None => self.properties.push(vec![item]),
            }
        }
    }

    /// Where something is kept away from, or a lot line is drawn, all of the property must be placed.
    fn refuse_unknown_distances(&mut self) {
        for items in self.properties.clone() {
            let Some(binding) = items.iter().copied().find(|item| self.binds(*item)) else {
                continue;
            };
            let kind = self.entries.get(binding).and_then(|entry| entry.kind);
            let reason = format!(
                "is not placed, but item {} ({}) is: how far apart they are is not known; {PLACE_IT}, counted from the same corner",
                binding + 1,
                kind.map_or("of no known kind", Kind::name)
            );
            for item in items {
                if self.shape(item).is_some_and(|measured| measured.place.is_none()) {
                    self.refuse(item, reason.clone());
                }
            }
        }
    }

    fn binds(&self, item: usize) -> bool {
        let keeps_away = self.shape(item).is_some_and(|measured| measured.keeps_away);
        self.place(item).is_some() && (keeps_away || self.is(item, Kind::Parcel))
    }
}

fn nearest_zone(name: &str, zones: &Zones) -> String {
    /// Among more the nearest is not looked for: a sheet may have a slip in each of its rows.
    const ASKED: usize = 100;
    let mut known: Vec<&str> = zones.keys().map(String::as_str).take(ASKED + 1).collect();
    known.sort_unstable();
    let meant = if known.len() > ASKED { None } else { meant(name, &known) };
    meant.unwrap_or_else(|| "write the name of a turf shape of this sheet".to_owned())
}
