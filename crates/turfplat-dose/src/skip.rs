//! Why a zone is skipped rather than guessed at, and what its reader is told: the reason,
//! and what is in print for that grass, so that the label can be read with the figures in
//! mind. The figures are never dosed.

use turfplat_units::{Area, Rate};

use crate::chosen::{ChosenProduct, RateChoice};
use crate::error::DoseError;
use crate::limit::Checked;
use crate::names::did_you_mean;
use crate::product::Product;
use crate::species::{Species, find_species};
use crate::zone::ZoneToTreat;

/// A zone that gets nothing, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Skipped {
    /// Its place in the list of zones, from 0.
    pub index: usize,
    /// Its name.
    pub zone: String,
    /// Why it gets nothing.
    pub reason: String,
    /// What to do about it, and what is published.
    pub advice: String,
    /// True where a limit would be exceeded: then the job is refused for this zone.
    pub refused: bool,
    /// True where all that is missing is a rate that somebody read on the label: the zone is to be
    /// treated, and can be priced by its area before that.
    pub awaits_label: bool,
}

impl Skipped {
    /// A zone on which a limit would be exceeded; `None` where all are kept.
    pub(crate) fn refused(
        index: usize,
        zone: &ZoneToTreat,
        checked: &[Checked],
    ) -> Option<Skipped> {
        let reasons: Vec<&str> = checked.iter().filter_map(Checked::refusal).collect();
        (!reasons.is_empty()).then(|| Skipped {
            index,
            zone: zone.name.clone(),
            reason: reasons.join("; "),
            advice: "nothing is dosed here: change what the limit speaks of and plan again".into(),
            refused: true,
            awaits_label: false,
        })
    }

    /// A zone whose grass gets far more or less than all that is in print for it; `None` where all
    /// rates can be meant on it.
    pub(crate) fn unusual(
        index: usize,
        zone: &ZoneToTreat,
        mix: &[(&Product, Rate)],
    ) -> Option<Skipped> {
        let on_zone = |(product, rate): &(&Product, Rate)| {
            zone.species.iter().find_map(|species| product.check_on_grass(species, *rate).err())
        };
        let reason = mix.iter().find_map(on_zone)?.to_string();
        let advice = "nothing is dosed here: give the grass its own rate and plan again".into();
        let zone = zone.name.clone();
        Some(Skipped { index, zone, reason, advice, refused: true, awaits_label: false })
    }
}

/// Why `zone` gets none of `products`; `None` where it is treated.
///
/// # Errors
///
/// A rate outside of the label's for a grass of the zone, or none where the label gives a range.
pub(crate) fn skip(
    index: usize,
    zone: &ZoneToTreat,
    products: &[ChosenProduct],
) -> Result<Option<Skipped>, DoseError> {
    let skipped = |reason: String, advice: String| {
        let zone = zone.name.clone();
        let (refused, awaits_label) = (false, false);
        Ok(Some(Skipped { index, zone, reason, advice, refused, awaits_label }))
    };
    let awaits_label = |reason: String, advice: String| {
        let skipped = skipped(reason, advice);
        skipped.map(|it| it.map(|it| Skipped { awaits_label: true, ..it }))
    };
    if zone.area <= Area::ZERO {
        return skipped(
            "nothing left to treat".into(),
            "what is kept out and its setbacks take the whole zone; leave it untreated".into(),
        );
    }
    if let Some(name) = zone.unlisted_species.first() {
        let near = match find_species(name) {
            Err(DoseError::AmbiguousSpecies { ids, .. }) => ids,
            Err(DoseError::UnknownSpecies { close, .. }) => close,
            _ => Vec::new(),
        };
        let meant = did_you_mean(&near, "");
        let meant = if meant.is_empty() { meant } else { format!("; {meant}") };
        let advice = "write an id or name from the species list; several of a mixed stand are parted \
                      by commas";
        return skipped(format!("species {name:?} is not listed{meant}"), advice.into());
    }
    if zone.species.is_empty() {
        return skipped(
            "its species is not given".into(),
            "say on the map or in the job which grass grows here: the rate depends on it".into(),
        );
    }
    for chosen in products {
        let unfit = chosen.product.unfit.iter().find(|unfit| unfit.condition == zone.condition);
        if let Some(unfit) = unfit {
            return skipped(
                format!("turf is {}, which is unfit for {}", zone.condition, chosen.product.name),
                format!("{} ({}: {})", unfit.because, unfit.basis, unfit.provenance),
            );
        }
    }
    for chosen in products {
        let name = &chosen.product.name;
        let advice = || published(&chosen.product, &zone.species);
        if chosen.label_checked.is_none() {
            let reason = format!("{name}: no label-checked rate; only a label doses");
            return awaits_label(reason, advice());
        }
        let stand = if zone.species.len() > 1 { ", so the mixed stand gets none" } else { "" };
        let not_on_label = |species: &&&Species| {
            matches!(chosen.rates, RateChoice::One(_)) && chosen.product.label_leaves_out(species)
        };
        if let Some(species) = zone.species.iter().find(not_on_label) {
            return skipped(
                format!("{name}: its label has no rate for {}{stand}", species.common_name),
                format!(
                    "if your label lists this grass, add it to [[rates]] of the product file, or write rates.{} in the job",
                    species.id
                ),
            );
        }
        let without = zone.species.iter().find(|species| chosen.rates.of(species).is_none());
        if let Some(species) = without {
            if let Some(question) = chosen.product.ask_in_range(species) {
                return Err(question);
            }
            return skipped(
                format!("{name}: no label-checked rate for {}{stand}", species.common_name),
                advice(),
            );
        }
        for species in &zone.species {
            if let Some(rate) = chosen.rates.of(species) {
                chosen.product.check_label_rate(species, rate)?;
            }
        }
    }
    Ok(None)
}

/// What is in print of `product` for each of `species`, and what to do with it.
fn published(product: &Product, species: &[&'static Species]) -> String {
    let mut sentences: Vec<String> = species
        .iter()
        .map(|species| {
            let found: Vec<String> =
                product.published_for(species).map(ToString::to_string).collect();
            let name = &species.common_name;
            if found.is_empty() {
                format!("nothing published is known here for {name}")
            } else {
                format!("published for {name}: {}", found.join("; "))
            }
        })
        .collect();
    sentences.push(
        "take the rate for this grass from your label and add label_checked with the date".into(),
    );
    sentences.join("; ")
}
