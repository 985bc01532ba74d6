//! The day's sheet as a document for other programs: stops and loads in the order of the day, units
//! in the key or beside the value, full precision.

use serde_json::{Value, json};
use turfplat_dose::Load;
use turfplat_units::{Amount, UnitSystem};

use crate::buying::purchase_json;
use crate::day_sheet::{DaySheet, Stop, StopZone};
use crate::json::{Cup, finding, label, load_products, product_amount, setbacks, spray};

/// The document of `day`.
pub fn day_json(sheet: &DaySheet<'_>, date: Option<&str>, units: UnitSystem) -> Value {
    json!({
        "application": sheet.application,
        "date": date,
        "products": sheet.products.iter().map(|product| product.id.as_str()).collect::<Vec<_>>(),
        "equipment": sheet.equipment.name,
        "treated_area_m2": sheet.treated().square_metres(),
        "stops": sheet.stops.iter().map(|one| stop(sheet, one, units)).collect::<Vec<_>>(),
        "loads": sheet.loads().map(|(number, batch, one)| load(sheet, number, batch.number, one, units)).collect::<Vec<_>>(),
        "label": sheet.products.iter().map(|product| label(product, units)).collect::<Vec<_>>(),
        "carry": sheet.carried.iter().map(|one| purchase_json(one, units)).collect::<Vec<_>>(),
        "findings": sheet.findings.iter().map(|(stop, one)| {
            let mut value = finding(one);
            value["stop"] = (*stop).into();
            value
        }).collect::<Vec<_>>(),
        "refused": sheet.refusals.iter().flat_map(|refusal| &refusal.reasons).collect::<Vec<_>>(),
        "uncounted": sheet.uncounted,
        "cautions": sheet.cautions,
    })
}

fn amounts(sheet: &DaySheet<'_>, amounts: &[Amount], units: UnitSystem) -> Vec<Value> {
    let both = sheet.products.iter().zip(amounts);
    both.map(|(product, amount)| {
        json!({ "product": product.id, "amount": product_amount(*amount, units) })
    })
    .collect()
}

fn stop(sheet: &DaySheet<'_>, stop: &Stop, units: UnitSystem) -> Value {
    let zones = sheet.zones.iter().filter(|zone| zone.stop == stop.number);
    let zone = |zone: &StopZone| {
        json!({
            "zone": zone.zone,
            "treated_area_m2": zone.treated.square_metres(),
            "batch": zone.batch,
            "products": amounts(sheet, &zone.amounts, units),
        })
    };
    let skipped =
        stop.skipped.iter().map(|(zone, reason)| json!({ "zone": zone, "reason": reason }));
    json!({
        "stop": stop.number,
        "property": stop.property,
        "treated_area_m2": stop.treated.square_metres(),
        "products": amounts(sheet, &stop.amounts, units),
        "spray_volume": spray(stop.spray_volume, units),
        "loads": sheet.loads_of(stop),
        "zones": zones.map(zone).collect::<Vec<_>>(),
        "setbacks": setbacks(&stop.setbacks),
        "without_setback": stop.without_setback,
        "skipped": skipped.collect::<Vec<_>>(),
        "refused": stop.refused,
    })
}

fn load(
    sheet: &DaySheet<'_>,
    number: usize,
    batch: usize,
    load: &Load,
    units: UnitSystem,
) -> Value {
    let covers = load.covers.iter().filter_map(|cover| {
        let zone = sheet.zones.get(cover.index)?;
        Some(json!({
            "stop": zone.stop,
            "zone": zone.zone,
            "area_m2": cover.area.square_metres(),
            "left_m2": cover.left.square_metres(),
        }))
    });
    json!({
        "load": number,
        "batch": batch,
        "fill_to": spray(load.mixed_spray(), units),
        "water": spray(load.mixed_water(), units),
        "products": load_products(load.mixed_products(), Cup { units, with: sheet.equipment }),
        "covers": covers.collect::<Vec<_>>(),
    })
}
