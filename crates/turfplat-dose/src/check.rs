//! Why every limit is shown with its verdict, also where it holds: whoever reads "0.45 of at most 0.5" sees how near
//! the edge they are, and a limit that nobody gave is not taken for one that holds.

use turfplat_units::{Of, Rate, RateUnit, WrittenRate};

use crate::calibrate::{Step, put};
use crate::caps::nitrogen_caps;
use crate::chosen::ChosenProduct;
use crate::plausible::TIMES_THE_HIGHEST;
use crate::product::{Product, RateLimit};

/// A limit held against what a job asks for. Further limits are further rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// What is limited and by whom, such as `most product at once, by the label`.
    pub what: String,
    /// Asked for as a share of what is allowed, worked out by hand.
    pub step: Step,
    /// The same as a ratio: 1 is at the limit.
    pub share: f64,
    /// Whether it holds.
    pub holds: bool,
}

/// Rounding of a conversion there and back; a rate at the limit itself holds.
const ROUNDING: f64 = 1.0 + 1e-9;

impl Check {
    fn of(
        what: String,
        (rate, limit): (Rate, Rate),
        unit: RateUnit,
        most: f64,
        source: String,
    ) -> Option<Check> {
        let share = rate.over(limit)? / most;
        let told = |rate: Rate| rate.in_unit(unit).map(put);
        let times = if most == 1.0 { String::new() } else { format!("{} × ", put(most)) };
        let holds = share <= ROUNDING;
        let step = Step {
            formula: format!(
                "percent of the limit = 100 × rate ÷ {}",
                if most == 1.0 { "limit".to_owned() } else { format!("({times}highest in print)") }
            )
            .into(),
            numbers: match most == 1.0 {
                true => format!("100 × {} ÷ {}", told(rate)?, told(limit)?),
                false => format!("100 × {} ÷ ({times}{})", told(rate)?, told(limit)?),
            },
            result: format!("{} %", put(100.0 * share)),
            source: source.into(),
        };
        Some(Check { what, step, share, holds })
    }
}

impl ChosenProduct {
    /// A rate of this product against everything that limits it at once or alone exceeds a year:
    /// the product file's limits, the nitrogen that the law of these places allows, and five times
    /// the highest rate in print. `unit` is what they are told in.
    pub fn checks(&self, rate: Rate, jurisdictions: &[String], unit: RateUnit) -> Vec<Check> {
        let product = &self.product;
        let limits = &product.limits;
        let of_label = |limit: &RateLimit, when: &str| {
            let most = product.rate_of_product(&limit.rate).ok()?;
            let what = format!("most {} {when}: {}", counted(&limit.rate), limit.text);
            Check::of(what, (rate, most), unit, 1.0, limit.provenance.to_string())
        };
        let at_once = limits.per_application().filter_map(|limit| of_label(limit, "at once"));
        let in_a_year =
            limits.per_year().filter_map(|limit| of_label(limit, "in a year, by this trip alone"));
        let of_law = self.nitrogen_checks(rate, jurisdictions);
        at_once.chain(in_a_year).chain(of_law).chain(product.print_check(rate, unit)).collect()
    }

    /// Where the soluble share is not given, all of the nitrogen counts as soluble, as
    /// [`ChosenProduct::over_nitrogen_caps`] counts it.
    fn nitrogen_checks(&self, rate: Rate, jurisdictions: &[String]) -> Vec<Check> {
        let Some(analysis) = self.product.analysis.filter(|analysis| analysis.n > 0.0) else {
            return Vec::new();
        };
        let soluble = analysis.n * analysis.soluble_n_share.unwrap_or(1.0);
        let caps = nitrogen_caps().iter().filter(|cap| jurisdictions.contains(&cap.jurisdiction));
        let limits = caps.flat_map(|cap| {
            let of_total = (cap, &cap.total, analysis.n, "nitrogen");
            let of_soluble =
                cap.soluble.as_ref().map(|limit| (cap, limit, soluble, "quickly soluble nitrogen"));
            [Some(of_total), of_soluble].into_iter().flatten()
        });
        let check =
            |(cap, limit, content, what): (&crate::caps::NitrogenCap, &WrittenRate, f64, &str)| {
                let allowed = limit.rate().ok()?;
                let what = format!("most {what} at once in {}", cap.jurisdiction_name);
                Check::of(
                    what,
                    (rate.times(content), allowed),
                    limit.unit,
                    1.0,
                    cap.provenance.to_string(),
                )
            };
        limits.filter_map(check).collect()
    }
}

impl Product {
    /// Whether a rate can be meant: no more than five times the highest in print.
    fn print_check(&self, rate: Rate, unit: RateUnit) -> Option<Check> {
        let (highest, published) = self.highest_in_print()?;
        let text = published.text.as_deref().unwrap_or_default();
        let what = format!(
            "can be meant: at most {} times the highest in print, {text} for {}",
            put(TIMES_THE_HIGHEST),
            published.printed_species
        );
        let source = format!(
            "{} times: a choice of this tool; {}: {}",
            put(TIMES_THE_HIGHEST),
            published.basis,
            published.provenance
        );
        Check::of(what, (rate, highest), unit, TIMES_THE_HIGHEST, source)
    }
}

fn counted(rate: &WrittenRate) -> &'static str {
    match rate.of {
        Of::Product => "product",
        Of::ActiveIngredient => "active ingredient",
        Of::Nutrient(name) => name,
    }
}
