//! One treatment of one zone, held to all limits before anything is filled: whether it can be done as
//! it is, later, at a lower rate, or not at all.

use std::collections::BTreeMap;

use turfplat_dose::{
    Checked, ChosenProduct, Dose, Equipment, LimitBy, Occasion, ProductClass, RateChoice,
    ZoneToTreat, dose_on, left_of_year,
};
use turfplat_units::UnitSystem;

use crate::print::Print;

/// What can be done with a treatment.
pub(super) enum Attempt {
    /// It is done as it is.
    AtItsRate,
    /// It is done with these products, at less than their rates, for this reason.
    Lowered(Vec<ChosenProduct>, String),
    /// It must wait so many days more, for this reason.
    Later(u32, String),
    /// A year's limit leaves no room for it.
    Dropped(String),
    /// It is not done on any day; with what to do about it, and whether something must be changed.
    Never { reason: String, advice: String, refused: bool },
}

/// Less of a rate than this is nothing: what is left but for rounding.
const NOTHING: f64 = 1e-6;

/// Tries a treatment on one zone, the only one of `occasion`.
pub(super) fn attempt(
    occasion: &Occasion<'_>,
    zone: &ZoneToTreat,
    products: &[ChosenProduct],
    equipment: &Equipment,
    drops_at_limit: bool,
    units: UnitSystem,
) -> Attempt {
    // What one zone alone is too little to measure is measured out with the others.
    let equipment =
        Equipment { smallest_measure: None, smallest_weight: None, ..equipment.clone() };
    let never = |reason: String| Attempt::Never { reason, advice: String::new(), refused: true };
    let dose = match dose_on(occasion, std::slice::from_ref(zone), products, &equipment) {
        Ok(dose) => dose,
        Err(error) => return never(error.to_string()),
    };
    let Some(skipped) = dose.skipped.first() else { return Attempt::AtItsRate };
    if !skipped.refused {
        let (reason, advice) = (skipped.reason.clone(), skipped.advice.clone());
        return Attempt::Never { reason, advice, refused: false };
    }
    if let Some(days) = days_short(&dose) {
        return Attempt::Later(days, skipped.reason.clone());
    }
    let refusals = || dose.limits.iter().filter(|it| it.refusal().is_some());
    if refusals().next().is_none() || !refusals().all(is_of_year) {
        return never(skipped.reason.clone());
    }
    let left = left_of_year(occasion, 0, zone, products);
    let nothing_left = left.iter().flatten().any(|times| *times <= NOTHING);
    if drops_at_limit || nothing_left {
        return Attempt::Dropped(skipped.reason.clone());
    }
    match lowered(zone, products, &left, Print(units)) {
        Err(why) => Attempt::Dropped(format!("{}; {why}", skipped.reason)),
        Ok((products, told)) => {
            match dose_on(occasion, std::slice::from_ref(zone), &products, &equipment) {
                Ok(dose) if dose.skipped.is_empty() => Attempt::Lowered(products, told),
                Ok(dose) => {
                    let why = dose.skipped.first().map_or("", |skipped| &skipped.reason);
                    Attempt::Dropped(format!("{}; lowered: {why}", skipped.reason))
                }
                Err(error) => Attempt::Dropped(format!("{}; lowered: {error}", skipped.reason)),
            }
        }
    }
}

/// True of a limit of a year.
fn is_of_year(checked: &Checked) -> bool {
    checked.limit.ends_with("_per_year") && checked.by != LimitBy::Species
}

/// By how many days a treatment is too soon after another.
fn days_short(dose: &Dose) -> Option<u32> {
    let intervals = dose.limits.iter().filter(|it| it.limit == "min_interval");
    let short = intervals.filter(|it| it.refusal().is_some()).filter_map(|it| {
        let (asked, allowed) = (it.asked.as_ref()?.value, it.allowed.as_ref()?.value);
        // Whole days on both sides.
        Some((allowed - asked).ceil().max(1.0) as u32)
    });
    short.max()
}

/// The products at what the limits of a year leave of their rates on a zone, and what was done.
fn lowered(
    zone: &ZoneToTreat,
    products: &[ChosenProduct],
    left: &[Option<f64>],
    print: Print,
) -> Result<(Vec<ChosenProduct>, String), String> {
    let printed = |rate| print.product_rate(rate).replace(" m2", " m²");
    let mut told = Vec::new();
    let mut all = Vec::new();
    for (chosen, left) in products.iter().zip(left) {
        let product = &chosen.product;
        let times = left.unwrap_or(1.0);
        let Some(rate) = chosen.rate_on(&zone.species).filter(|_| times < 1.0) else {
            all.push(chosen.clone());
            continue;
        };
        // A hair less, so that rounding makes no excess of it.
        let lower = rate.times(times * (1.0 - 1e-12));
        match product.least_known(&zone.species) {
            Some((least, who)) => {
                if lower.over(least).is_none_or(|share| share < 1.0 - 1e-9) {
                    return Err(format!(
                        "what is left, {} of {}, is below the least that is known to work, {} ({who})",
                        printed(lower),
                        product.id,
                        printed(least)
                    ));
                }
            }
            // Less nitrogen feeds less; of what must work at a rate nobody says how little does.
            None if product.class == Some(ProductClass::Fertilizer) => {}
            None => {
                return Err(format!(
                    "what is left, {} of {}, is less than its rate, and no least rate is known",
                    printed(lower),
                    product.id
                ));
            }
        }
        told.push(format!(
            "{} instead of {} of {}: that is what its yearly limit leaves",
            printed(lower),
            printed(rate),
            product.id
        ));
        let rates: BTreeMap<_, _> =
            zone.species.iter().map(|species| (species.id.clone(), lower)).collect();
        all.push(ChosenProduct { rates: RateChoice::BySpecies(rates), ..chosen.clone() });
    }
    Ok((all, told.join("; ")))
}
