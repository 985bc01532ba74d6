//! Why a rate is asked whether it can be meant. Published rates themselves contain slips
//! of a hundred times (29 for 0.29 kg/ha, mL/m² for mL/acre), a rate per acre read as
//! per 1,000 sq ft is 43.56 times too much, and a pound of nitrogen written as a pound of a
//! 5-1-1 is a twentieth. So a rate far from all that is in print is refused, with the reading
//! that would make sense.

use turfplat_units::{AmountUnit, AreaUnit, Of, Rate, RateUnit, WrittenRate, significant};

use crate::convert::{in_words, usual_unit};
use crate::counted::Counted;
use crate::error::DoseError;
use crate::product::Product;
use crate::provenance::Basis;
use crate::published::PublishedRate;
use crate::species::Species;

/// How many times the highest published rate is still taken as meant.
/// A choice of this tool: above every spread between labels, below every slip of a unit.
pub(crate) const TIMES_THE_HIGHEST: f64 = 5.0;

/// Below this part of the lowest published rate nothing is meant any more. A choice of this tool:
/// greens are fed a tenth of a lawn's nitrogen at once, and a slip of the point is a hundredth.
const PART_OF_THE_LOWEST: f64 = 1.0 / 20.0;

/// Below this part of the lowest published rate a slip of the unit that explains it is believed.
const PART_THAT_A_SLIP_EXPLAINS: f64 = 1.0 / 5.0;

/// Rounding of a conversion there and back; a rate written as the cap itself is no excess.
const ROUNDING: f64 = 1.0 + 1e-9;

impl Product {
    /// Refuses a rate of nothing, above a cap for one application or for the year, above five times
    /// the highest in print, below a twentieth of the lowest, below a fifth of it where a slip of
    /// the unit explains it, and beyond what products of its class and form are put down at.
    pub(crate) fn check_rate(
        &self,
        rate: Rate,
        written: Option<&WrittenRate>,
    ) -> Result<(), DoseError> {
        let product = || self.id.clone();
        let text = || match written {
            Some(written) => in_words(written),
            None => rate.print(usual_unit(rate)),
        };
        if rate.times(0.0) == rate {
            return Err(DoseError::ZeroRate { product: product() });
        }
        let at_once = self.limits.per_application().map(|limit| ("at once", limit));
        let in_a_year = self.limits.per_year().map(|limit| ("in a year", limit));
        for (when, limit) in at_once.chain(in_a_year) {
            let times = match Counted::by(limit, self).filter(|_| limit.of.is_some()) {
                // What cannot be counted is refused zone by zone.
                Some(counted) => {
                    let much = counted.in_product(self, rate).ok();
                    let one = counted.unit_of(&limit.rate).ok();
                    much.zip(one).map(|(much, one)| much / (one * limit.rate.value))
                }
                None => rate.over(self.rate_of_product(&limit.rate)?),
            };
            if times.is_some_and(|times| times > ROUNDING) {
                return Err(DoseError::AboveMaximum {
                    product: product(),
                    rate: text(),
                    limit: format!("{when}, {}", limit.text),
                    source_text: limit.provenance.to_string(),
                });
            }
        }
        self.check_strength()?;
        match self.rate_is_right {
            Some(_) => Ok(()),
            None => self.check_usual(rate, written),
        }
    }

    /// What is a choice of this tool, and lifted where the user says why the rate is right.
    fn check_usual(&self, rate: Rate, written: Option<&WrittenRate>) -> Result<(), DoseError> {
        let text = || match written {
            Some(written) => in_words(written),
            None => rate.print(usual_unit(rate)),
        };
        self.check_against_print(rate, written, &text, &self.in_print())?;
        self.check_bounds(rate, written)
    }

    /// Refuses a rate that other grasses bear and this one does not: as [`Product::rate_of`], held to
    /// what is in print for `species` alone.
    pub(crate) fn check_on_grass(&self, species: &Species, rate: Rate) -> Result<(), DoseError> {
        match self.rate_is_right {
            Some(_) => Ok(()),
            None => self.check_usual_on_grass(species, rate),
        }
    }

    fn check_usual_on_grass(&self, species: &Species, rate: Rate) -> Result<(), DoseError> {
        let text = || rate.print(usual_unit(rate));
        self.check_against_print(rate, None, &text, &self.in_print_for(species))
    }

    /// What would stand against a rate on a stand of these grasses, had the user not said why it is right; `None` where nothing
    /// does, or nobody said so.
    pub fn lifted_doubt(&self, stand: &[&Species], rate: Rate) -> Option<String> {
        self.rate_is_right.as_ref()?;
        let on_grass = |species: &&Species| self.check_usual_on_grass(species, rate);
        let held = self.check_usual(rate, None).and_then(|()| stand.iter().try_for_each(on_grass));
        match held.err()? {
            DoseError::Implausible { rate, times, published, .. } => {
                Some(format!("{rate} is {times} published, {published}"))
            }
            DoseError::BeyondBounds { rate, bound, .. } => {
                Some(format!("{rate} is {bound} (a bound of this tool)"))
            }
            other => Some(other.to_string()),
        }
    }

    fn check_against_print(
        &self,
        rate: Rate,
        written: Option<&WrittenRate>,
        text: &dyn Fn() -> String,
        in_print: &[(Rate, &PublishedRate)],
    ) -> Result<(), DoseError> {
        let product = || self.id.clone();
        let Some((highest, at_most)) = in_print.iter().copied().reduce(higher) else {
            return Ok(());
        };
        let print = |published: &PublishedRate| {
            format!(
                "{} for {} ({})",
                published.text.as_deref().unwrap_or_default(),
                published.printed_species,
                published.provenance
            )
        };
        let times = rate.over(highest).unwrap_or(1.0);
        if times > TIMES_THE_HIGHEST * ROUNDING {
            return Err(DoseError::Implausible {
                product: product(),
                rate: text(),
                times: format!("{} times the highest", significant(times, 2)),
                published: print(at_most),
                slip: self.likely_slip(rate, written, in_print, &|_| true),
            });
        }
        let lowest =
            in_print.iter().copied().reduce(|a, b| if higher(a, b).0 == a.0 { b } else { a });
        let Some((lowest, at_least)) = lowest else { return Ok(()) };
        let part = rate.over(lowest).unwrap_or(1.0);
        // Between the two bounds a low rate may be meant, as on greens, and only a wrong unit is
        // taken for a slip; a moved point is not.
        let of_the_unit = |slip: &str| !slip.starts_with("the point");
        let slip = if part < PART_OF_THE_LOWEST {
            Some(self.likely_slip(rate, written, in_print, &|_| true))
        } else if part < PART_THAT_A_SLIP_EXPLAINS && written.is_some() {
            // Without the words that were written nothing says what they may have slipped from.
            Some(self.likely_slip(rate, written, in_print, &of_the_unit))
                .filter(|slip| !slip.is_empty())
        } else {
            None
        };
        let Some(slip) = slip else { return Ok(()) };
        Err(DoseError::Implausible {
            product: product(),
            rate: text(),
            times: format!("1/{} of the lowest", significant(1.0 / part, 2)),
            published: print(at_least),
            slip,
        })
    }

    /// Words for less than a fifth of all in print, the label's rates among them: a rate on an acre
    /// that was meant for 1,000 sq ft hides a year's share.
    pub(crate) fn doubt_so_little(&self, rate: Rate) -> Option<String> {
        let label = self
            .label_rates()
            .filter_map(|row| Some((self.rate_of_product(row.rate.as_ref()?).ok()?, row)));
        let all = self.in_print().into_iter().chain(label);
        let (lowest, published) = all.reduce(|a, b| if higher(a, b).0 == a.0 { b } else { a })?;
        let part = rate.over(lowest).filter(|part| *part < PART_THAT_A_SLIP_EXPLAINS)?;
        Some(format!(
            "{} of {} is 1/{} of the lowest in print, {} for {}",
            rate.print(usual_unit(rate)),
            self.id,
            significant(1.0 / part, 2),
            published.text.as_deref().unwrap_or_default(),
            published.printed_species
        ))
    }

    /// The highest rate in print, of product: for `species` where one is, else for any grass.
    pub(crate) fn highest_in_print(&self, species: &Species) -> Option<(Rate, &PublishedRate)> {
        let of_grass = self.in_print_for(species).into_iter().reduce(higher);
        of_grass.or_else(|| self.in_print().into_iter().reduce(higher))
    }

    /// Of [`Self::in_print`] what is for one grass.
    pub(crate) fn in_print_for(&self, species: &Species) -> Vec<(Rate, &PublishedRate)> {
        let mut all = self.in_print();
        all.retain(|(_, published)| published.species.iter().any(|of| of.id == species.id));
        all
    }

    /// All rates in print, of product. A label rate that the user typed is no witness for
    /// itself, unless there is no other.
    fn in_print(&self) -> Vec<(Rate, &PublishedRate)> {
        let all = self.rates.iter().flat_map(|published| {
            // Both ends of a range are in print.
            let ends = [&published.rate, &published.highest].into_iter().flatten();
            ends.filter_map(move |written| Some((self.rate_of_product(written).ok()?, published)))
        });
        let (own, others): (Vec<_>, Vec<_>) =
            all.partition(|(_, published)| published.basis == Basis::Label);
        if others.is_empty() { own } else { others }
    }

    /// `; perhaps 0.29 kg a.i./ha was meant`, where a weight of product is in print as one of a part.
    pub(crate) fn part_meant(&self, written: &WrittenRate) -> String {
        let Ok(rate) = written.rate_by_weight() else { return String::new() };
        let of_a_part = |slip: &str| slip.starts_with("of ");
        let slip = self.likely_slip(rate, Some(written), &self.in_print(), &of_a_part);
        let slip = slip.trim_end_matches(": ");
        if slip.is_empty() { String::new() } else { format!("; {slip}") }
    }

    /// `perhaps 29 fl oz/A or 0.29 fl oz/1000 sq ft was meant: `, as far as such a reading
    /// lies among the rates in print.
    fn likely_slip(
        &self,
        rate: Rate,
        written: Option<&WrittenRate>,
        in_print: &[(Rate, &PublishedRate)],
        believed: &dyn Fn(&str) -> bool,
    ) -> String {
        let unit = usual_unit(rate);
        let shown =
            WrittenRate { value: rate.in_unit(unit).unwrap_or_default(), unit, of: Of::Product };
        let written = written.unwrap_or(&shown);
        let among = |reading: &WrittenRate| {
            let Ok(rate) = self.rate_of_product(reading) else { return false };
            let over = |other: &(Rate, _)| rate.over(other.0);
            // A little beyond either end is still among them.
            in_print.iter().filter_map(over).any(|times| times > 0.9)
                && in_print.iter().filter_map(over).any(|times| times < 1.1)
        };
        let readings: Vec<String> = readings(written)
            .into_iter()
            .filter(|(reading, slip)| believed(slip) && among(reading))
            .map(|(reading, slip)| format!("{} ({slip})", in_words(&reading)))
            .take(3)
            .collect();
        if readings.is_empty() {
            return String::new();
        }
        format!("perhaps {} was meant: ", readings.join(" or "))
    }
}

/// The higher of the two; of equals the first in print.
fn higher<'a>(
    a: (Rate, &'a PublishedRate),
    b: (Rate, &'a PublishedRate),
) -> (Rate, &'a PublishedRate) {
    if b.0.over(a.0).is_some_and(|times| times > ROUNDING) { b } else { a }
}

/// What a rate may have been before the slip: another area, a point moved, another measure.
fn readings(written: &WrittenRate) -> Vec<(WrittenRate, &'static str)> {
    let with = |value: f64, amount: AmountUnit, area: AreaUnit| WrittenRate {
        value,
        unit: RateUnit { amount, area },
        of: written.of.clone(),
    };
    let RateUnit { amount, area } = written.unit;
    let areas = [
        (AreaUnit::Acre, "per acre"),
        (AreaUnit::Hectare, "per hectare"),
        (AreaUnit::ThousandSquareFeet, "per 1000 sq ft"),
        (AreaUnit::HundredSquareMetres, "per 100 m2"),
    ];
    let points = [
        (10.0, "the point one place off"),
        (100.0, "the point two places off, a factor of 100"),
        (1000.0, "the point three places off"),
        (0.1, "the point one place off"),
        (0.01, "the point two places off, a factor of 100"),
        (0.001, "the point three places off"),
    ];
    let parts: &[(Of, &str)] = match written.of {
        Of::Product => &[
            (Of::ActiveIngredient, "of active ingredient, not of product"),
            (Of::Nutrient("N"), "of nitrogen, not of product"),
        ],
        Of::ActiveIngredient | Of::AcidEquivalent | Of::Nutrient(_) => {
            &[(Of::Product, "of product, not of a part")]
        }
    };
    let measures = [AmountUnit::FluidOunce, AmountUnit::Millilitre, AmountUnit::Gram];
    let mut readings = Vec::new();
    for (other, slip) in areas {
        if other != area {
            readings.push((with(written.value, amount, other), slip));
        }
    }
    // Nobody counts ounces on a square meter.
    let metric =
        [AmountUnit::Millilitre, AmountUnit::Litre, AmountUnit::Gram, AmountUnit::Kilogram];
    if metric.contains(&amount) && area != AreaUnit::SquareMetre {
        readings.push((with(written.value, amount, AreaUnit::SquareMetre), "per m2"));
    }
    for (of, slip) in parts {
        readings.push((WrittenRate { of: of.clone(), ..with(written.value, amount, area) }, slip));
    }
    for (factor, slip) in points {
        readings.push((with(written.value / factor, amount, area), slip));
    }
    for other in measures {
        if other != amount {
            readings.push((with(written.value, other, area), "another measure"));
        }
    }
    readings
}
