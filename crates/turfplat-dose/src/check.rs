//! Why a limit is shown with its arithmetic, also where it is kept: whoever reads "90 % of the limit"
//! sees how near the edge they are.

use turfplat_units::{Rate, RateUnit};

use crate::calibrate::{Step, put};
use crate::limit::Checked;
use crate::plausible::TIMES_THE_HIGHEST;
use crate::product::Product;
use crate::species::Species;

impl Checked {
    /// What is asked for as a share of what is allowed, worked by hand; `None` where one of the two
    /// is not known.
    pub fn step(&self) -> Option<Step> {
        let (asked, allowed) = self.asked.as_ref().zip(self.allowed.as_ref())?;
        let limit = if self.is_a_least() { "least" } else { "limit" };
        (allowed.value > 0.0).then(|| Step {
            formula: format!("percent of the {limit} = 100 × asked ÷ {limit}, in {}", allowed.unit)
                .into(),
            numbers: format!("100 × {} ÷ {}", put(asked.value), put(allowed.value)),
            result: format!("{} %", put(100.0 * asked.value / allowed.value)),
            source: self.source.clone().into(),
        })
    }

    /// True of what must be reached, not kept below: days of an interval, a share of slow release, spray.
    pub fn is_a_least(&self) -> bool {
        match self.limit {
            "min_interval" | "place_min_slow_release_share" => true,
            // It has two ends; the least is meant unless the most is exceeded.
            "spray_volume" => self.name != "most spray volume",
            _ => false,
        }
    }
}

impl Product {
    /// Whether a rate can be meant, in words and worked by hand: no more than five times the highest
    /// in print for the grass, or for any where none is for this. `None` where nothing is in print.
    /// `unit` is what it is told in.
    pub fn plausible(
        &self,
        species: &Species,
        rate: Rate,
        unit: RateUnit,
    ) -> Option<(String, Step)> {
        let (highest, published) = self.highest_in_print(species)?;
        let share = rate.over(highest)? / TIMES_THE_HIGHEST;
        let told = |rate: Rate| rate.in_unit(unit).map(put);
        let times = put(TIMES_THE_HIGHEST);
        let text = published.text.as_deref().unwrap_or_default();
        let is_of_grass = published.species.iter().any(|of| of.id == species.id);
        let only = match is_of_grass {
            true => String::new(),
            false => format!(" (none is in print for {})", species.common_name),
        };
        let what = format!(
            "can be meant: at most {times} times the highest in print, {text} for {}{only}",
            published.printed_species
        );
        let step = Step {
            formula: format!("percent of the limit = 100 × rate ÷ ({times} × highest in print)")
                .into(),
            numbers: format!("100 × {} ÷ ({times} × {})", told(rate)?, told(highest)?),
            result: format!("{} %", put(100.0 * share)),
            source: format!(
                "{times} times: a choice of this tool; {}: {}",
                published.basis, published.provenance
            )
            .into(),
        };
        Some((what, step))
    }
}
