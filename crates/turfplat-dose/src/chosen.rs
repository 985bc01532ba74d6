use std::collections::BTreeMap;

use turfplat_units::Rate;

use crate::error::DoseError;
use crate::product::Product;
use crate::species::{Species, find_species};

/// A product as an application uses it.
#[derive(Clone, Debug, PartialEq)]
pub struct ChosenProduct {
    /// What comes in the container.
    pub product: Product,
    /// The rate of product, from [`Product::rate_of`].
    pub rates: RateChoice,
    /// The day on which the user took the rate from the label, as `2026-05-02`. Without
    /// it nothing is dosed.
    pub label_checked: Option<String>,
}

/// One rate for all grasses, or one for each.
#[derive(Clone, Debug, PartialEq)]
pub enum RateChoice {
    /// The same rate on every grass.
    One(Rate),
    /// A rate by species id; a grass that is not here gets none.
    BySpecies(BTreeMap<String, Rate>),
}

impl RateChoice {
    /// The rate for one grass, if it has one.
    pub fn of(&self, species: &Species) -> Option<Rate> {
        match self {
            Self::One(rate) => Some(*rate),
            Self::BySpecies(rates) => rates.get(&species.id).copied(),
        }
    }

    pub(crate) fn all(&self) -> Vec<Rate> {
        match self {
            Self::One(rate) => vec![*rate],
            Self::BySpecies(rates) => rates.values().copied().collect(),
        }
    }
}

impl ChosenProduct {
    /// The rate on a stand of these grasses: the lowest of theirs; `None` where none has one.
    pub fn rate_on(&self, stand: &[&Species]) -> Option<Rate> {
        stand.iter().filter_map(|species| self.rates.of(species)).reduce(lower)
    }

    /// Asks that its rate for a grass lies within what the label in the product file gives for it, and
    /// can be meant there; where the file gives a range or rates by use, that one is chosen.
    ///
    /// # Errors
    ///
    /// [`DoseError::OutsideLabel`], [`DoseError::ChooseInRange`], [`DoseError::ChooseUse`],
    /// [`DoseError::Implausible`], with the figures and what to write.
    pub fn check_on(&self, species: &Species) -> Result<(), DoseError> {
        match self.rates.of(species) {
            None => self.product.ask_in_range(species).map_or(Ok(()), Err),
            Some(rate) => {
                self.product.check_label_rate(species, rate)?;
                self.product.check_on_grass(species, rate)
            }
        }
    }

    /// With the day on which the label of the product file was read, where the job names none and
    /// the file has label rates for every grass that the job gives one: each is held to them.
    #[must_use]
    pub fn checked_with_its_file(mut self) -> ChosenProduct {
        let speaks = |id: &String| {
            find_species(id).is_ok_and(|species| !self.product.label_leaves_out(species))
        };
        let has_all = self.product.label_rates().next().is_some()
            && match &self.rates {
                // A grass of which the label does not speak gets nothing.
                RateChoice::One(_) => true,
                RateChoice::BySpecies(rates) => rates.keys().all(speaks),
            };
        if self.label_checked.is_none() && has_all {
            self.label_checked = self.product.label_checked.clone();
        }
        self
    }

    /// The most that a label allows at once on a stand of these grasses, as far as a figure for them
    /// is known: the lowest of theirs. Which figure holds for a grass: the top of the product
    /// file's row that admits its rate, else the rate that the job gives the grass itself, which
    /// somebody read from the label. One rate for every grass is no figure of any: then the limits
    /// of the label alone say more.
    pub(crate) fn most_on(&self, stand: &[&Species]) -> Option<Rate> {
        let of_grass = |species: &&Species| {
            let rate = self.rates.of(species)?;
            let by_grass = matches!(self.rates, RateChoice::BySpecies(_)).then_some(rate);
            self.product.label_top(species, rate).map(|(top, _)| top).or(by_grass)
        };
        stand.iter().filter_map(of_grass).reduce(lower)
    }

    /// A product at the label rates of its own file, on the day that the file says. Of two
    /// label rates for one grass the lower is taken; where the label gives a range, or
    /// rates by use or height of cut, none is, and the dose asks for one.
    ///
    /// # Errors
    ///
    /// As [`Product::rate_of`].
    pub fn at_its_label_rates(product: Product) -> Result<ChosenProduct, DoseError> {
        let mut rates: BTreeMap<String, Rate> = BTreeMap::new();
        for published in product.label_rates() {
            let Some(written) = &published.rate else { continue };
            let rate = product.rate_of(written)?;
            for species in &published.species {
                if product.ask_in_range(species).is_some() {
                    continue;
                }
                let lower = rates
                    .get(&species.id)
                    .is_none_or(|known| rate.over(*known).is_some_and(|times| times < 1.0));
                if lower {
                    rates.insert(species.id.clone(), rate);
                }
            }
        }
        let label_checked = product.label_checked.clone();
        Ok(ChosenProduct { product, rates: RateChoice::BySpecies(rates), label_checked })
    }
}

fn lower(low: Rate, rate: Rate) -> Rate {
    if rate.over(low).is_some_and(|times| times < 1.0) { rate } else { low }
}
