//! Why rates are read apart from the rest of a product file: a row is a range, a grass or several,
//! a use and a height of cut, and two rows must not contradict each other unseen.

use turfplat_units::{Length, UnitError, WrittenRate};

use crate::error::DoseError;
use crate::label_use::differ;
use crate::names::folded;
use crate::product_file::At;
use crate::product_toml::{OneOrMore, RateEntry};
use crate::provenance::Basis;
use crate::published::PublishedRate;
use crate::species::find_species;

/// Rates of the lowest and the highest.
pub(crate) struct RateRange {
    pub(crate) lowest: WrittenRate,
    pub(crate) highest: Option<WrittenRate>,
    pub(crate) text: String,
}

impl At<'_> {
    /// One rate, or the lowest and the highest.
    pub(crate) fn range(&self, key: &str, rates: OneOrMore) -> Result<RateRange, DoseError> {
        let texts = rates.all();
        let read = |text: &str| self.rate(key.to_owned(), text);
        match texts.as_slice() {
            [only] => {
                if let (Err(UnitError::Range(_)), Some(list)) =
                    (only.parse::<WrittenRate>(), as_list(only))
                {
                    return Err(self.value(key.to_owned(), only, format!("a range as {list}")));
                }
                Ok(RateRange { lowest: read(only)?, highest: None, text: only.clone() })
            }
            [low, high] => {
                let (lowest, highest) = (read(low)?, read(high)?);
                if !rises(&lowest, &highest) {
                    let text = format!("{low} to {high}");
                    let write = "the lowest rate, then the highest, both of one kind of unit";
                    return Err(self.value(key.to_owned(), &text, write));
                }
                let text = between(low, high);
                Ok(RateRange { lowest, highest: Some(highest), text })
            }
            several => {
                let write = "one figure, or the lowest and the highest";
                Err(self.value(key.to_owned(), &several.join(", "), write))
            }
        }
    }

    /// Refuses two label rates for one grass under two names: neither name says that they are one.
    pub(crate) fn one_name_a_grass(&self, rates: &[PublishedRate]) -> Result<(), DoseError> {
        for (place, later) in rates.iter().enumerate().filter(|(_, it)| it.basis == Basis::Label) {
            let same = |earlier: &&PublishedRate| {
                let shared = earlier.species.iter().any(|one| later.species.contains(one));
                earlier.basis == Basis::Label
                    && shared
                    && folded(&earlier.printed_species) != folded(&later.printed_species)
                    && earlier.species.len() == 1
                    && later.species.len() == 1
                    && !differ(earlier, later)
                    && earlier.text != later.text
            };
            if let Some(earlier) = rates[..place].iter().find(same) {
                let write = format!(
                    "one rate for it: it is {:?} of an earlier row, which says {}",
                    earlier.printed_species,
                    earlier.text.as_deref().unwrap_or_default()
                );
                let key = format!("rates[{place}].species");
                return Err(self.value(key, &later.printed_species, write));
            }
        }
        Ok(())
    }

    fn heights(&self, key: &str, heights: OneOrMore) -> Result<String, DoseError> {
        let texts = heights.all();
        let lengths: Vec<Length> =
            texts.iter().map(|text| self.length(key.to_owned(), text)).collect::<Result<_, _>>()?;
        match (texts.as_slice(), lengths.as_slice()) {
            ([only], _) => Ok(only.clone()),
            ([low, high], [least, most]) if least.metres() < most.metres() => {
                Ok(format!("{low} to {high}"))
            }
            _ => {
                let write = "one height, such as \"0.5 in\", or the lowest and the highest";
                Err(self.value(key.to_owned(), &texts.join(", "), write))
            }
        }
    }

    pub(crate) fn published(
        &self,
        place: usize,
        entry: RateEntry,
    ) -> Result<PublishedRate, DoseError> {
        let key = |field: &str| format!("rates[{place}].{field}");
        let names = entry.species.all();
        let species = names
            .iter()
            .map(|name| {
                find_species(name).map_err(|reason| DoseError::ProductSpecies {
                    product: self.product.to_owned(),
                    key: key("species"),
                    reason: Box::new(reason),
                })
            })
            .collect::<Result<_, _>>()?;
        let basis: Basis = self.one_of(key("basis"), &entry.basis, Basis::KNOWN)?;
        let range = entry.rate.map(|rate| self.range(&key("rate"), rate)).transpose()?;
        if range.is_none() != (basis == Basis::Gap) {
            let write = "a rate, and basis \"gap\" only where none was found";
            let text = range.map_or_else(String::new, |range| range.text);
            return Err(self.value(key("rate"), &text, write));
        }
        let mowing_height = entry
            .mowing_height
            .map(|heights| self.heights(&key("mowing_height"), heights))
            .transpose()?;
        Ok(PublishedRate {
            species,
            printed_species: names.join(", "),
            site: entry.r#use,
            text: range.as_ref().map(|range| range.text.clone()),
            highest: range.as_ref().and_then(|range| range.highest.clone()),
            rate: range.map(|range| range.lowest),
            mowing_height,
            interval: entry.interval,
            basis,
            provenance: self.provenance(&key(""), (entry.source, entry.status, entry.read))?,
            note: entry.note,
        })
    }
}

/// `["0.3 fl oz/A", "0.5 fl oz/A"]` of `0.3-0.5 fl oz/A`, with the unit at both ends.
fn as_list(text: &str) -> Option<String> {
    let (low, high) = ["–", " to ", "-"].into_iter().find_map(|to| text.split_once(to))?;
    let (low, high) = (low.trim(), high.trim());
    let unit =
        high.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '/'));
    let low = match low.parse::<WrittenRate>() {
        Ok(_) => low.to_owned(),
        Err(_) => format!("{low} {}", unit.trim()),
    };
    let both = [low, high.to_owned()];
    let read = both.iter().all(|text| text.parse::<WrittenRate>().is_ok());
    read.then(|| format!("[{:?}, {:?}]", both[0], both[1]))
}

/// True of two rates of one kind of which the second is the higher.
fn rises(low: &WrittenRate, high: &WrittenRate) -> bool {
    // "oz" is weight in both or in neither, so for the comparison it may be taken as weight.
    let rates = low.rate_by_weight().ok().zip(high.rate_by_weight().ok());
    low.of == high.of
        && rates.and_then(|(low, high)| high.over(low)).is_some_and(|times| times > 1.0)
}

/// `0.2 to 0.4 fl oz/1000 sq ft`, the unit once where it is the same.
fn between(low: &str, high: &str) -> String {
    let (low, high) = (low.trim(), high.trim());
    match (low.split_once(' '), high.split_once(' ')) {
        (Some((number, unit)), Some((_, other))) if unit == other => format!("{number} to {high}"),
        _ => format!("{low} to {high}"),
    }
}
