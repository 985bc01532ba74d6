//! A season as JSON: full precision, units beside the values.

use serde_json::{Value, json};
use turfplat_units::{Amount, UnitSystem};

use super::course::Course;
use super::program::{PropertySeason, Round};
use crate::buying::purchase_json;
use crate::print::Print;

/// The season of one property.
pub fn season_json(season: &PropertySeason, units: UnitSystem) -> Value {
    let print = Print(units);
    let rounds: Vec<Value> = season.rounds.iter().map(|round| round_json(round, print)).collect();
    let limits = season.year_limits.iter().map(|checked| {
        let figure = |figure: &Option<turfplat_dose::Figure>| {
            figure.as_ref().map(|it| json!({ "value": it.value, "unit": it.unit }))
        };
        json!({
            "zone": checked.zone,
            "product": checked.product,
            "limit": checked.limit,
            "of": checked.of,
            "asked": figure(&checked.asked),
            "allowed": figure(&checked.allowed),
            "counted": checked.remark,
            "verdict": checked.verdict.word(),
            "source": checked.source,
        })
    });
    let not_planned = season.not_planned.iter().map(|it| {
        json!({
            "application": it.application,
            "zone": it.zone,
            "reason": it.reason,
            "advice": it.advice,
            "refused": it.refused,
        })
    });
    let findings = season.findings.iter().map(|it| {
        json!({ "code": it.code, "feature": it.feature, "message": it.message, "area_m2": it.area_m2 })
    });
    json!({
        "property": season.property,
        "rounds": rounds,
        "zones": season.courses.iter().map(course_json).collect::<Vec<_>>(),
        "not_planned": not_planned.collect::<Vec<_>>(),
        "year_limits": limits.collect::<Vec<_>>(),
        "buy": season.purchases.iter().map(|one| purchase_json(one, units)).collect::<Vec<_>>(),
        "water": season.water.map(|water| spray(water, print)),
        "findings": findings.collect::<Vec<_>>(),
        "cautions": season.cautions,
    })
}

fn round_json(round: &Round, print: Print) -> Value {
    let product = |amount: Amount| {
        let unit = print.product_unit(amount);
        json!({ "value": amount.in_unit(unit), "unit": unit.name() })
    };
    let zones = round.zones.iter().map(|zone| {
        let products = round.products.iter().zip(&zone.rates).zip(&zone.amounts);
        let products = products.map(|((id, rate), amount)| {
            let unit = print.rate_unit(print.product_unit(*amount));
            json!({
                "product": id,
                "rate": { "value": rate.in_unit(unit), "unit": unit.to_string() },
                "amount": product(*amount),
            })
        });
        json!({
            "zone": zone.zone,
            "number": zone.number,
            "area_m2": zone.area.square_metres(),
            "products": products.collect::<Vec<_>>(),
            "because": zone.because,
            "lowered": zone.lowered,
            "model_estimate": zone.estimate,
        })
    });
    let totals = round.products.iter().zip(&round.totals);
    json!({
        "date": round.day.to_string(),
        "application": round.application,
        "equipment": round.equipment,
        "loads": round.loads,
        "zones": zones.collect::<Vec<_>>(),
        "totals": totals
            .map(|(id, total)| json!({ "product": id, "amount": product(*total) }))
            .collect::<Vec<_>>(),
        "water": round.water.map(|water| spray(water, print)),
    })
}

fn spray(amount: Amount, print: Print) -> Value {
    json!({ "value": amount.in_unit(print.spray_unit()), "unit": print.spray_unit().name() })
}

fn course_json(course: &Course) -> Value {
    let dropped =
        course.dropped.iter().map(|it| json!({ "date": it.day.to_string(), "reason": it.reason }));
    json!({
        "application": course.application,
        "zone": course.zone,
        "species": course.species,
        "interval_days": course.interval_days,
        "interval_by": course.interval_by,
        "treatments": course.treatments,
        "left_out": dropped.collect::<Vec<_>>(),
        "notes": course.notes,
    })
}
