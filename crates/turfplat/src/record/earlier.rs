//! What a ledger's other records make of a new one: work that was done too soon, or too much of a year, lies on
//! the ground all the same, so it is said and never refused.

use jiff::civil::Date;
use serde_json::Value;
use turfplat_ledger::{Kept, OnZone, Record, State};
use turfplat_units::{Of, Rate, UnitSystem, WrittenRate};

use crate::print::Print;
use crate::record::lies::lies;

/// The label's interval and its most product in a year, as the plan of `kept` states them, held to what `others`
/// tell of the same product on the same zones. Active ingredient and nutrients are the plan's to count
/// (`plan --ledger`).
pub fn beside_others(kept: &Kept, others: &[Kept], units: UnitSystem) -> Vec<String> {
    let record = &kept.record;
    let stands = |it: &&Kept| {
        it.id != kept.id
            && it.replaced_by.is_none()
            && it.state != State::TakenBack
            && it.record.property == record.property
    };
    let others: Vec<&Kept> = others.iter().filter(stands).collect();
    let mut told = Vec::new();
    for lies_here in lies(record).unwrap_or_default() {
        let of_others: Vec<(&Kept, OnZone)> = (others.iter())
            .flat_map(|it| lies(&it.record).unwrap_or_default().into_iter().map(|on| (*it, on)))
            .filter(|(_, on)| on.zone == lies_here.zone && on.product == lies_here.product)
            .collect();
        told.extend(too_soon(record, &lies_here, &of_others));
        told.extend(too_much(record, &lies_here, &of_others, Print(units)));
    }
    told
}

fn allowed<'r>(record: &'r Record, on: &OnZone, limit: &str) -> Option<&'r Value> {
    let limits = record.plan.as_ref()?["limits"].as_array()?;
    let is_it = |it: &&Value| {
        let products = it["product"].as_str().unwrap_or_default();
        it["limit"] == limit
            && it["zone"] == on.zone.as_str()
            && products.split(" + ").any(|product| product == on.product)
    };
    limits.iter().find(is_it).map(|it| &it["allowed"])
}

/// Days from the one to the other, whichever was first.
fn days_apart(a: Date, b: Date) -> Option<i64> {
    Some(i64::from(a.until(b).ok()?.get_days()).abs())
}

fn too_soon(record: &Record, on: &OnZone, others: &[(&Kept, OnZone)]) -> Option<String> {
    let least = allowed(record, on, "min_interval")?["value"].as_f64()?;
    let days = |it: &Kept| days_apart(record.date, it.record.date).filter(|days| *days > 0);
    let nearest = others.iter().filter_map(|(it, _)| Some((days(it)?, *it))).min_by_key(|it| it.0);
    let (days, other) = nearest?;
    // Days of a label: far below what a double holds exactly.
    ((days as f64) < least).then(|| {
        format!(
            "{} on {}: {days} days from record {} ({}), and its label asks for {least} at least",
            on.product, on.zone, other.id, other.record.date
        )
    })
}

fn too_much(
    record: &Record,
    on: &OnZone,
    others: &[(&Kept, OnZone)],
    print: Print,
) -> Option<String> {
    let most = allowed(record, on, "max_per_year")?;
    let text = format!("{} {}", most["value"].as_f64()?, most["unit"].as_str()?);
    let most: WrittenRate = text.parse().ok()?;
    if most.of != Of::Product {
        return None;
    }
    let most: Rate = most.rate().ok()?;
    let of_year = others.iter().filter(|(it, _)| {
        it.record.date <= record.date
            && days_apart(it.record.date, record.date).is_some_and(|days| days < 365)
    });
    let mut times = on.rate.over(most)?;
    let mut ids: Vec<String> = Vec::new();
    for (other, there) in of_year {
        times += there.rate.over(most)?;
        ids.push(other.id.to_string());
    }
    (times > 1.0 + 1e-9 && !ids.is_empty()).then(|| {
        format!(
            "{} on {}: with records {} of the 365 days up to it {} where it is thickest, and its label gives {} as the most in a year (read what it calls a year)",
            on.product,
            on.zone,
            ids.join(", "),
            print.product_rate(most.times(times)),
            print.product_rate(most)
        )
    })
}
