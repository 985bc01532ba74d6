//! Why a label's own range binds: the user copied it from the label, and a rate outside of it is a
//! slip or against the law. Less than a single figure is lawful use (7 U.S.C. 136(ee): "at any
//! dosage ... less than that specified on the labeling"); a range says how little still works, so
//! both of its ends hold. Which figure inside it is meant depends on mowing, season and grower, and
//! nobody guesses it.

use turfplat_units::{Rate, significant};

use crate::convert::usual_unit;
use crate::error::DoseError;
use crate::label_use::differ;
use crate::names::either;
use crate::product::{Product, ProductClass};
use crate::published::PublishedRate;
use crate::species::Species;

/// Rounding of a conversion there and back; a rate written as an end is inside.
const ROUNDING: f64 = 1e-9;

fn higher(a: (Rate, String), b: (Rate, String)) -> (Rate, String) {
    if b.0.over(a.0).is_some_and(|times| times > 1.0) { b } else { a }
}

fn lower(a: (Rate, String), b: (Rate, String)) -> (Rate, String) {
    if b.0.over(a.0).is_some_and(|times| times < 1.0) { b } else { a }
}

/// One of the label's rates for a grass, as rates of product.
struct LabelRate<'a> {
    lowest: Rate,
    /// The upper end of a range.
    highest: Option<Rate>,
    published: &'a PublishedRate,
}

impl LabelRate<'_> {
    fn is_above(&self, rate: Rate) -> bool {
        let over = rate.over(self.highest.unwrap_or(self.lowest));
        over.is_some_and(|times| times > 1.0 + ROUNDING)
    }

    fn is_below(&self, rate: Rate) -> bool {
        let over = rate.over(self.lowest);
        self.highest.is_some() && over.is_some_and(|times| times < 1.0 - ROUNDING)
    }

    /// `0.3 to 0.5 fl oz/1000 sq ft (lawn)`.
    fn text(&self) -> String {
        let text = self.published.text.as_deref().unwrap_or_default();
        let height = self.published.mowing_height.as_ref().map(|it| format!("cut at {it}"));
        let place: Vec<String> = self.published.site.clone().into_iter().chain(height).collect();
        match place.as_slice() {
            [] => text.to_owned(),
            some => format!("{text} ({})", some.join(", ")),
        }
    }
}

impl Product {
    fn label_rates_of(&self, species: &Species) -> Vec<LabelRate<'_>> {
        let of_species = |rate: &PublishedRate| rate.species.iter().any(|of| of.id == species.id);
        let mut found = Vec::new();
        for published in self.label_rates() {
            let Some(lowest) = &published.rate else { continue };
            let lowest = self.rate_of_product(lowest).ok();
            let highest = published.highest.as_ref().and_then(|it| self.rate_of_product(it).ok());
            if let Some(lowest) = lowest.filter(|_| of_species(published)) {
                found.push(LabelRate { lowest, highest, published });
            }
        }
        found
    }

    /// Whether the product file gives label rates, and none for `species`.
    pub(crate) fn label_leaves_out(&self, species: &Species) -> bool {
        self.label_rates().next().is_some() && self.label_rates_of(species).is_empty()
    }

    /// Asks that a rate of product for one grass lies within what the label in the product file
    /// gives for it; where the file gives none, nothing is asked.
    ///
    /// # Errors
    ///
    /// [`DoseError::OutsideLabel`] with the label's figures; [`DoseError::ChooseUse`] where the label
    /// allows it for one use or height of cut and not for another, and nobody chose.
    pub fn check_label_rate(&self, species: &Species, rate: Rate) -> Result<(), DoseError> {
        let label = self.label_rates_of(species);
        let admits = |one: &LabelRate<'_>| !one.is_above(rate) && !one.is_below(rate);
        if label.iter().all(admits) {
            return Ok(());
        }
        if label.iter().any(admits) {
            // One use allows it and another does not: somebody must say which is meant.
            return self.ask_use(species, &label).map_or(Ok(()), Err);
        }
        let outside = if label.iter().all(|one| one.is_above(rate)) {
            "above"
        } else if label.iter().all(|one| one.is_below(rate)) {
            // Less than the label is lawful (7 U.S.C. 136(ee)); whoever wants it says why.
            if self.rate_is_right.is_some() {
                return Ok(());
            }
            "below"
        } else {
            "outside"
        };
        Err(DoseError::OutsideLabel {
            product: self.id.clone(),
            rate: rate.print(usual_unit(rate)),
            species: species.common_name.clone(),
            how: format!(
                "{outside} the label's {}",
                either(&label.iter().map(LabelRate::text).collect::<Vec<_>>())
            ),
        })
    }

    /// The most that the label gives `species` at once where `rate` is chosen, with the row that says
    /// so: of several that admit it the one with the lowest top, for nobody says which is meant;
    /// `None` where none does.
    pub(crate) fn label_top(
        &self,
        species: &Species,
        rate: Rate,
    ) -> Option<(Rate, &PublishedRate)> {
        let label = self.label_rates_of(species).into_iter();
        let admitting = label.filter(|one| !one.is_above(rate) && !one.is_below(rate));
        let tops = admitting.map(|one| (one.highest.unwrap_or(one.lowest), one.published));
        tops.min_by(|(a, _), (b, _)| a.over(*b).unwrap_or(1.0).total_cmp(&1.0))
    }

    /// The least rate that is known to do its work on a stand of these grasses, and who says so: the
    /// lower end of the label's ranges, else the lowest in print; of several grasses the highest of
    /// theirs. Of a fertilizer print says what is usual and not the least: less feeds less. `None` where
    /// nothing is known of one of them.
    pub fn least_known(&self, stand: &[&Species]) -> Option<(Rate, String)> {
        let each = stand.iter().map(|species| {
            let label = self.label_rates_of(species);
            let ranges = label.iter().filter(|one| one.highest.is_some());
            let of_label =
                ranges.map(|one| (one.lowest, format!("the label gives {}", one.text())));
            let in_print = || {
                if self.class == Some(ProductClass::Fertilizer) {
                    return None;
                }
                let rates = self.in_print_for(species).into_iter();
                rates.map(|(rate, published)| (rate, published.to_string())).reduce(lower)
            };
            of_label.reduce(higher).or_else(in_print)
        });
        each.collect::<Option<Vec<_>>>()?.into_iter().reduce(higher)
    }

    /// The question to ask where the label gives rates by use, or a range, for `species`; `None`
    /// where it does not.
    pub(crate) fn ask_in_range(&self, species: &Species) -> Option<DoseError> {
        let label = self.label_rates_of(species);
        if let Some(question) = self.ask_use(species, &label) {
            return Some(question);
        }
        let range = label.iter().find(|one| one.highest.is_some())?;
        // The middle, only to show how it is written.
        let unit = range.published.rate.as_ref()?.unit;
        let ends = [range.lowest.in_unit(unit), range.highest?.in_unit(unit)];
        let such_as = match ends {
            [Some(low), Some(high)] => format!("{} {unit}", significant((low + high) / 2.0, 2)),
            _ => range.lowest.print(usual_unit(range.lowest)),
        };
        Some(DoseError::ChooseInRange {
            product: self.id.clone(),
            label: either(&label.iter().map(LabelRate::text).collect::<Vec<_>>()),
            species: species.common_name.clone(),
            such_as: format!("rates.{} = {such_as:?}", species.id),
        })
    }

    /// The question to ask where rates for different uses or heights of cut differ.
    fn ask_use(&self, species: &Species, label: &[LabelRate<'_>]) -> Option<DoseError> {
        let [first, others @ ..] = label else { return None };
        let same =
            |a: Rate, b: Rate| a.over(b).is_some_and(|times| (times - 1.0).abs() <= ROUNDING);
        let other_rate = |other: &&LabelRate<'_>| {
            let ends = first.highest.zip(other.highest);
            !same(first.lowest, other.lowest)
                || first.highest.is_some() != other.highest.is_some()
                || ends.is_some_and(|(a, b)| !same(a, b))
        };
        let other = others
            .iter()
            .filter(other_rate)
            .find(|other| differ(first.published, other.published))?;
        // What tells the two apart, and not what was chosen already.
        let by_use = first.published.site != other.published.site;
        let such_as = |rate: &PublishedRate| {
            let site = rate.site.as_ref().map(|site| format!("use = {site:?}"));
            site.filter(|_| by_use).or_else(|| {
                let height = rate.mowing_height.as_deref()?.split(" to ").next()?;
                Some(format!("mowing_height = {height:?}"))
            })
        };
        Some(DoseError::ChooseUse {
            product: self.id.clone(),
            label: either(&label.iter().map(LabelRate::text).collect::<Vec<_>>()),
            species: species.common_name.clone(),
            such_as: such_as(other.published).or_else(|| such_as(first.published))?,
        })
    }
}
