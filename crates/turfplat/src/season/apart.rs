//! How far apart treatments are: what labels and the job ask for, and what a model of degree-days says.

use turfplat_dose::{ChosenProduct, Species};
use turfplat_season::{Date, HeatModel, Origin, Reached, count_heat};

use super::course::Reckoning;
use crate::job::Application;

/// True of a model that follows an active ingredient of the application.
pub(super) fn is_about(model: &HeatModel, application: &Application) -> bool {
    application.products.iter().any(|it| it.product.has_active(&model.active_ingredient))
}

/// How many days lie between two treatments: what the job says, never less than the labels'.
pub(super) fn interval(
    products: &[ChosenProduct],
    of_job: Option<u32>,
) -> Result<(u32, String, Option<String>), String> {
    let labels = products.iter().filter_map(|it| {
        let interval = it.product.limits.min_interval.as_ref()?;
        Some((interval.days, &it.product.id, &interval.provenance))
    });
    let label = labels.max_by_key(|(days, ..)| *days);
    let told = |(days, id, provenance): (u32, &String, &turfplat_dose::Provenance)| {
        (days, format!("label of {id}: {provenance}"))
    };
    match (of_job, label) {
        (Some(days), Some(label)) if label.0 > days => {
            let (least, by) = told(label);
            let note = format!(
                "the job asks for {days} days between treatments and the label for {least} at least; the label's were taken"
            );
            Ok((least, by, Some(note)))
        }
        (Some(days), label) => {
            let note = label.is_none().then(|| {
                "the product file gives no shortest interval: read on the label whether the job's is long enough".to_owned()
            });
            Ok((days, "the job".to_owned(), note))
        }
        (None, Some(label)) => {
            let (days, by) = told(label);
            Ok((days, by, None))
        }
        (None, None) => Err(
            "no interval is given; take it from your label: interval = \"28 days\" in [season] of the job, or limits.min_interval of the product file".to_owned(),
        ),
    }
}

/// What a model says of the next treatment.
pub(super) struct Says {
    pub(super) day: Option<Date>,
    pub(super) is_for_this_grass: bool,
    pub(super) text: String,
}

impl Says {
    pub(super) fn of(
        model: &HeatModel,
        stand: &[&Species],
        treated: Date,
        last: Date,
        reckoning: &Reckoning<'_>,
    ) -> Says {
        let ids: Vec<&str> = stand.iter().map(|species| species.id.as_str()).collect();
        let is_for_this_grass = model.is_for(&ids);
        let sources = &reckoning.temperatures;
        let id = &model.id;
        let whose = if is_for_this_grass {
            format!("; it holds for {} alone", model.site)
        } else {
            format!(
                "; it is for {} ({}) and not for this grass, so the interval holds",
                model.species.join(", "),
                model.site
            )
        };
        let unknown = |why: String| Says {
            day: None,
            is_for_this_grass,
            text: format!("model {id}: the day is not known, {why}; the interval holds"),
        };
        let Some(base) = model.base else {
            return unknown("for its base temperature was not found".to_owned());
        };
        let Some(first) = treated.tomorrow().ok().filter(|_| !sources.is_empty()) else {
            return unknown("for no temperatures are given".to_owned());
        };
        let end = sources.ends().map_or(last, |end| end.min(last));
        let count = count_heat(sources, base, model.threshold, first, end);
        let reached = |day: Date, by: Origin| {
            let leap = count.leap_days.iter().find(|leap| **leap <= day);
            let leap = leap.map_or_else(String::new, |leap| {
                format!(", with 28 February for {leap}, which the normals lack")
            });
            Says {
                day: Some(day),
                is_for_this_grass,
                text: format!(
                    "model {id}: {} after {treated} are reached on {day} ({}{leap}){whose}",
                    model.threshold,
                    by.word()
                ),
            }
        };
        match count.reached {
            Reached::On { day, by } => reached(day, by),
            Reached::Unknown { missing, .. } => unknown(format!("for {missing} is missing")),
            Reached::NotYet { .. } if end < first => {
                unknown(format!("for the temperatures end on {end}, before {first}"))
            }
            Reached::NotYet { .. } if end < last => {
                unknown(format!("for the temperatures end on {end}, {} after {treated}", count.sum))
            }
            // Not before the season ends: then the model lets no further treatment come.
            Reached::NotYet { left } => Says {
                day: last.tomorrow().ok(),
                is_for_this_grass,
                text: format!("model {id}: {left} are still wanting on {last}{whose}"),
            },
        }
    }
}
