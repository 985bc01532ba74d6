//! Why published rates stand in tables of their own: a trial reports what one active
//! ingredient did on one grass, whoever sells it. So the tables go by active ingredient
//! and content, or by nutrient, and every product that matches shows the same figures.

use std::fmt;
use std::sync::LazyLock;

use serde::Deserialize;
use turfplat_units::WrittenRate;

use crate::names::folded;
use crate::product::Product;
use crate::provenance::{Basis, Provenance};
use crate::species::{Species, find_species, listed};
use crate::strength::Content;

/// A rate in print, or the remark that none was found.
#[derive(Clone, Debug, PartialEq)]
pub struct PublishedRate {
    /// The grasses that it is for.
    pub species: Vec<&'static Species>,
    /// The grass as the source names it.
    pub printed_species: String,
    /// Where on the property, such as `lawn` or `putting green`.
    pub site: Option<String>,
    /// The rate; `None` of a gap.
    pub rate: Option<WrittenRate>,
    /// The upper end where the source gives a range; `rate` is then the lower.
    pub highest: Option<WrittenRate>,
    /// The height of cut that it is for, as written.
    pub mowing_height: Option<String>,
    /// The rate as written.
    pub text: Option<String>,
    /// How often, in the source's words.
    pub interval: Option<String>,
    /// What it rests on.
    pub basis: Basis,
    /// Who says so.
    pub provenance: Provenance,
    /// What else to know.
    pub note: Option<String>,
}

impl fmt::Display for PublishedRate {
    /// `0.76 fl oz/1000 sq ft, lawn, 6 weeks (research: Gardner & Wherley, …)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.text.as_deref().unwrap_or("no rate found"))?;
        if let Some(site) = &self.site {
            write!(f, ", {site}")?;
        }
        if let Some(height) = &self.mowing_height {
            write!(f, ", cut at {height}")?;
        }
        if let Some(interval) = &self.interval {
            write!(f, ", {interval}")?;
        }
        write!(f, " ({}: {})", self.basis, self.provenance)?;
        match &self.note {
            Some(note) => write!(f, " [{note}]"),
            None => Ok(()),
        }
    }
}

#[derive(Deserialize)]
struct RegulatorRow {
    active_ingredient: String,
    content: String,
    printed_species: String,
    species: String,
    r#use: String,
    rate: String,
    interval: String,
    basis: String,
    source: String,
    status: String,
    read: String,
    note: String,
}

#[derive(Deserialize)]
struct NitrogenRow {
    printed_species: String,
    species: String,
    rate: String,
    lb_n_per_1000_sq_ft_per_year: String,
    r#where: String,
    basis: String,
    source: String,
    status: String,
    read: String,
}

pub(crate) const REGULATORS_CSV: &str = include_str!("../../../data/growth-regulator-rates.csv");
pub(crate) const NITROGEN_CSV: &str = include_str!("../../../data/nitrogen-by-species.csv");

struct Regulator {
    active_ingredient: String,
    content: Option<Content>,
    rate: PublishedRate,
}

static REGULATORS: LazyLock<Vec<Regulator>> = LazyLock::new(|| {
    rows(REGULATORS_CSV)
        .filter_map(|row: RegulatorRow| {
            Some(Regulator {
                content: Content::read(&row.content),
                active_ingredient: row.active_ingredient,
                rate: PublishedRate {
                    species: grasses(&row.species)?,
                    printed_species: row.printed_species,
                    site: given(row.r#use),
                    rate: row.rate.parse().ok(),
                    highest: None,
                    mowing_height: None,
                    text: given(row.rate),
                    interval: given(row.interval),
                    basis: row.basis.parse().ok()?,
                    provenance: Provenance {
                        source: given(row.source),
                        status: Some(row.status.parse().ok()?),
                        read: given(row.read),
                    },
                    note: given(row.note),
                },
            })
        })
        .collect()
});

static NITROGEN: LazyLock<Vec<PublishedRate>> = LazyLock::new(|| {
    rows(NITROGEN_CSV)
        .filter_map(|row: NitrogenRow| {
            Some(PublishedRate {
                species: grasses(&row.species)?,
                printed_species: row.printed_species,
                site: given(row.r#where),
                rate: row.rate.parse().ok(),
                highest: None,
                mowing_height: None,
                text: given(row.rate),
                interval: given(row.lb_n_per_1000_sq_ft_per_year)
                    .map(|pounds| format!("{pounds} lb N/1000 sq ft a year")),
                basis: row.basis.parse().ok()?,
                provenance: Provenance {
                    source: given(row.source),
                    status: Some(row.status.parse().ok()?),
                    read: given(row.read),
                },
                note: None,
            })
        })
        .collect()
});

// A row that cannot be read would be missing; a test counts them.
fn rows<T: serde::de::DeserializeOwned>(text: &'static str) -> impl Iterator<Item = T> {
    csv::Reader::from_reader(text.as_bytes())
        .into_deserialize()
        .filter_map(|row: Result<T, csv::Error>| row.ok())
}

fn grasses(text: &str) -> Option<Vec<&'static Species>> {
    listed(text).iter().map(|name| find_species(name).ok()).collect()
}

fn given(text: String) -> Option<String> {
    (!text.trim().is_empty()).then_some(text)
}

/// Nitrogen at once and in a year for one grass, region by region; none where nothing is in
/// print here.
pub fn nitrogen_for(species: &Species) -> impl Iterator<Item = &'static PublishedRate> {
    NITROGEN.iter().filter(|rate| rate.species.iter().any(|of| of.id == species.id))
}

/// What a place advises for nitrogen on a grass.
#[derive(Debug)]
pub(crate) struct NitrogenAdvice {
    /// The id of the place, as jobs write it.
    pub(crate) place: String,
    /// The place in words.
    pub(crate) place_name: String,
    pub(crate) at_once: WrittenRate,
    /// The upper end of what is advised for a year.
    pub(crate) most_in_a_year: WrittenRate,
    pub(crate) source: String,
    species: Vec<&'static Species>,
}

static ADVICE: LazyLock<Vec<NitrogenAdvice>> = LazyLock::new(|| {
    let advice = |row: NitrogenRow| {
        let at_once: WrittenRate = row.rate.parse().ok()?;
        let (_, most) = row.lb_n_per_1000_sq_ft_per_year.split_once('-')?;
        Some(NitrogenAdvice {
            place: row.r#where.to_lowercase().replace(' ', "-"),
            place_name: row.r#where,
            most_in_a_year: WrittenRate { value: most.parse().ok()?, ..at_once.clone() },
            at_once,
            source: row.source,
            species: grasses(&row.species)?,
        })
    };
    rows(NITROGEN_CSV).filter_map(advice).collect()
});

/// What places advise for nitrogen on one grass in a year.
pub(crate) fn yearly_nitrogen_for(
    species: &Species,
) -> impl Iterator<Item = &'static NitrogenAdvice> {
    ADVICE.iter().filter(|advice| advice.species.iter().any(|of| of.id == species.id))
}

/// The places that advise on nitrogen, by id and name.
pub(crate) fn advising_places() -> impl Iterator<Item = (&'static str, &'static str)> {
    ADVICE.iter().map(|advice| (advice.place.as_str(), advice.place_name.as_str()))
}

/// The rows of the tables that speak of what is in `product`.
pub(crate) fn published_for(product: &Product) -> Vec<PublishedRate> {
    let mut found = Vec::new();
    if let [only] = product.active_ingredients.as_slice() {
        // At another content the same figure would be another rate.
        found.extend(
            REGULATORS
                .iter()
                .filter(|row| folded(&row.active_ingredient) == folded(&only.name))
                .filter(|row| row.content.is_some() && row.content == only.content)
                .map(|row| row.rate.clone()),
        );
    }
    if product.analysis.is_some_and(|analysis| analysis.n > 0.0) {
        found.extend(NITROGEN.iter().cloned());
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_row_of_the_tables_is_lost() {
        assert_eq!(REGULATORS.len(), REGULATORS_CSV.trim_end().lines().count() - 1);
        assert_eq!(NITROGEN.len(), NITROGEN_CSV.trim_end().lines().count() - 1);
        assert_eq!(ADVICE.len(), NITROGEN.len());
    }

    #[test]
    fn a_row_gives_a_rate_unless_it_is_a_gap() {
        for rate in REGULATORS.iter().map(|row| &row.rate).chain(NITROGEN.iter()) {
            assert_eq!(rate.rate.is_none(), rate.basis == Basis::Gap, "{rate}");
            assert!(rate.basis != Basis::Label, "{rate}");
        }
    }

    #[test]
    fn a_rate_prints_with_what_it_rests_on() {
        let tall_fescue = REGULATORS.iter().find(|row| row.rate.printed_species == "tall fescue");
        assert_eq!(
            tall_fescue.unwrap().rate.to_string(),
            "0.76 fl oz/1000 sq ft, lawn, 6 weeks (research: Gardner & Wherley, HortTechnology \
             2005) [0.29 kg a.i./ha; one record prints 29]"
        );
    }
}
