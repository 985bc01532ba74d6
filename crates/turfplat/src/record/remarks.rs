//! What should be seen of a record beside the plan that it was made of, and a record as JSON.
//!
//! * `id`, `follows`, `why`, `replaced_by`, `state` (`draft`, `complete`, `taken back`), `missing` (`field`,
//!   `key`, `of`, `asked_by`), `written` (UTC), `keep_until`, `seal_sha256`.
//! * `record`: the document as it is kept. Amounts are `written` as somebody wrote them, with `milliliters` or
//!   `grams`; ground has `square_meters`. `planned` is beside what was told, which is null where nobody told it.
//! * `products` (`amount`, `area_m2`, `rate`, `planned_rate`, `off`: 0.05 is 5 % more than planned) and `spray`:
//!   what it comes to, null where a part is not told; `remarks`.

use serde_json::{Value, json};
use turfplat_ledger::{Kept, OnZone, Record, State, Sum};
use turfplat_units::{Amount, AreaUnit, Rate, UnitSystem, WrittenRate, significant};

use crate::json as document;
use crate::json::product_amount;
use crate::print::Print;
use crate::record::lies::{lies, overlaps, record_sums, sprayed};
use crate::record::sheet::percent;

/// How far an actual rate may be off the plan's: common practice, no source.
const TRADE: f64 = 0.05;

/// What of it is off the plan by more than the trade allows, and what is above a limit at once that the
/// plan held to.
pub(crate) fn remarks(record: &Record, print: Print) -> Vec<String> {
    let mut remarks = Vec::new();
    let mut off = |what: &str, sum: &Sum, print: &dyn Fn(Rate) -> String| {
        let (Some(off), Some(rate), Some(planned)) = (sum.off(), sum.rate(), sum.planned_rate())
        else {
            return;
        };
        if off.abs() > TRADE {
            remarks.push(format!(
                "{what}: {} put down, {} planned: {}, and the trade takes ±5 % (common practice, no source)",
                print(rate),
                print(planned),
                percent(off)
            ));
        }
    };
    // Over all zones a mean hides what lies on one of them.
    let zones = lies(record).unwrap_or_default();
    let mut by_zone = Vec::new();
    for lies in zones.iter().filter(|lies| !lies.as_planned) {
        let Some(planned) = planned_rate(record, &lies.zone, &lies.product) else { continue };
        // Too much is told of where it is thickest, too little of the whole: each with its own figure.
        let thickest = (lies.rate, " where it is thickest");
        let mean = Rate::of(lies.amount, lies.area).map(|mean| (mean, " on the whole"));
        let figures = [Some(thickest), mean].into_iter().flatten();
        let off = figures.filter_map(|(rate, of)| Some((rate, of, rate.over(planned)? - 1.0)));
        let off: Vec<_> = off.collect();
        let too_much = off.iter().find(|(.., off)| *off > TRADE);
        let too_little = || off.iter().rev().find(|(.., off)| *off < -TRADE);
        if let Some((rate, of, off)) = too_much.or_else(too_little) {
            by_zone.push(format!(
                "{} on {}: {} put down{of}, {} planned: {}, and the trade takes ±5 % (common practice, no source)",
                lies.product,
                lies.zone,
                print.product_rate(*rate),
                print.product_rate(planned),
                percent(*off)
            ));
        }
    }
    if by_zone.is_empty() {
        for (id, sum) in record_sums(record) {
            off(&id, &sum, &|rate| print.product_rate(rate));
        }
    }
    let spray = sprayed(record);
    off("spray volume (calibrate, or plan with what went out)", &spray, &|rate| {
        print.spray_rate(rate)
    });
    remarks.splice(0..0, by_zone);
    let gone_over = overlaps(record).into_iter().map(|it| {
        format!(
            "{}: {} told in all, and {} of it are treated by the plan: some was gone over again; what was put down is counted on the {}",
            it.zone,
            it.told.print(print.0),
            it.treated.print(print.0),
            it.treated.print(print.0)
        )
    });
    remarks.splice(0..0, gone_over);
    remarks.extend(above_limits(record, &zones));
    remarks
}

/// The rate that the plan of a record gave a product on a zone.
pub(crate) fn planned_rate(record: &Record, zone: &str, product: &str) -> Option<Rate> {
    let zones = record.plan.as_ref()?["zones"].as_array()?;
    let products = zones.iter().find(|it| it["zone"] == zone)?["products"].as_array()?;
    let rate = &products.iter().find(|it| it["product"] == product)?["rate"];
    let text = format!("{} {}", rate["value"].as_f64()?, rate["unit"].as_str()?);
    text.parse::<WrittenRate>().ok()?.rate().ok()
}

/// The limits at once, in the plan's own figures: a limit counts what goes on, so it grows as the rate does.
fn above_limits(record: &Record, zones: &[OnZone]) -> Vec<String> {
    let Some(plan) = &record.plan else { return Vec::new() };
    let mut told = Vec::new();
    for limit in plan["limits"].as_array().into_iter().flatten() {
        let is_at_once = limit["limit"].as_str().is_some_and(|it| it.ends_with("_per_application"));
        let figures = limit["asked"]["value"].as_f64().zip(limit["allowed"]["value"].as_f64());
        let names = limit["zone"].as_str().zip(limit["product"].as_str());
        let (true, Some((asked, allowed)), Some((zone, products))) = (is_at_once, figures, names)
        else {
            continue;
        };
        // Of a mix the one that went on thickest: the limit counts them together.
        let times = products.split(" + ").filter_map(|product| {
            let lies = zones.iter().find(|it| it.zone == zone && it.product == product)?;
            lies.rate.over(planned_rate(record, zone, product)?)
        });
        let Some(times) = times.reduce(f64::max) else { continue };
        if asked * times > allowed * (1.0 + 1e-9) {
            told.push(format!(
                "above the {} on {zone}: {} {} put down where it is thickest, {} allowed ({})",
                limit["name"].as_str().unwrap_or("limit"),
                significant(asked * times, 3),
                limit["asked"]["unit"].as_str().unwrap_or(""),
                significant(allowed, 3),
                limit["source"].as_str().unwrap_or("source not given"),
            ));
        }
    }
    told
}

/// A record as JSON: as it is kept, with what it comes to. Amounts in the units of `units`, the document as
/// it was written.
pub fn record_json(kept: &Kept, units: UnitSystem) -> Value {
    let print = Print(units);
    let amount = |it: Option<Amount>| it.map(|it| product_amount(it, units));
    let rate = |it: Option<Rate>| {
        it.map(|it| {
            let unit = print.product_unit(it.on(AreaUnit::Acre.area()));
            document::rate(it, unit, units)
        })
    };
    let sums = record_sums(&kept.record).into_iter().map(|(product, sum)| {
        json!({
            "product": product,
            "amount": amount(sum.amount),
            "area_m2": sum.area.map(|it| it.square_metres()),
            "rate": rate(sum.rate()),
            "planned_rate": rate(sum.planned_rate()),
            "off": sum.off(),
        })
    });
    let sprayed = sprayed(&kept.record);
    let missing = kept.missing().into_iter().map(|it| {
        json!({ "field": it.field.name(), "key": it.field.key(), "of": it.of, "asked_by": it.asked_by })
    });
    json!({
        "id": kept.id,
        "follows": kept.follows,
        "why": kept.why,
        "replaced_by": kept.replaced_by,
        "state": kept.state.word(),
        "missing": missing.collect::<Vec<_>>(),
        "written": kept.written.to_string(),
        "keep_until": kept.keep_until.to_string(),
        "seal_sha256": kept.seal,
        "record": serde_json::to_value(&kept.record).unwrap_or(Value::Null),
        "products": sums.collect::<Vec<_>>(),
        "spray": {
            "volume": document::spray(sprayed.amount, units),
            "off": sprayed.off(),
        },
        "remarks": match kept.state {
            State::TakenBack => Vec::new(),
            State::Draft | State::Complete => remarks(&kept.record, print),
        },
    })
}
