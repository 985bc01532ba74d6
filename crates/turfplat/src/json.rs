//! Why the documents are built here and not in the command: other programs rely on their
//! keys, and the page and the command must print the same. Full precision; units stand in
//! the key or beside the value.
//!
//! * `limits` of each application: `zone`, `product`, `limit`, `name`, `of`, `asked`, `allowed`, `by`,
//!   `source`, `verdict` (`kept`, `exceeded`, `above advice`, `not stated`, `not checked`), `remark`,
//!   `refusal`; beside `history` and `refused` of each property.
//! * `jurisdiction`, `hired` and `made_from` (`what`, `file`, `sha256`) of each property; of its history
//!   `history` is a place in the job and `record` a number in the ledger.
//! * `label` of each application: `product`, `name`, `registration`; `said` (`key`, `what`, `text`, `source`); `counts` (what limits count of it, as a product file has it); `not_given`
//!   (`key`, `what`).
//! * `products` of a load are its share of the ground (`amount` exact; `measure` at a mark
//!   and in the unit of the cup or scale, as are products in `mixing` and `jar_test`). Where a
//!   dead volume is mixed with it, `first_fill` beside them is what goes into the tank and is measured.

use serde_json::{Value, json};
use turfplat_dose::{
    Batch, Checked, DeadVolume, Equipment, Figure, Fill, FillSteps, Load, LoadProduct, Product,
    Step, litre_jar, quart_jar,
};
use turfplat_measure::Plane;
use turfplat_units::{Amount, AmountUnit, Area, AreaUnit, Rate, Speed, UnitSystem};

use crate::buying::buy_json;
use crate::finding::Finding;
use crate::history::LaidTreatment;
use crate::plan::{ApplicationPlan, AppliedSetback, KeptFor, PropertyPlan, TreatedZone};
use crate::plat::{Loss, Plat, PlatZone};
use crate::print::Print;
use crate::walking_json::passes;

/// The document of `measure`.
pub fn measure_json(plats: &[Plat]) -> Value {
    json!({ "properties": plats.iter().map(plat_json).collect::<Vec<_>>() })
}

/// One property of it.
pub fn plat_json(plat: &Plat) -> Value {
    let centre = plat.centre();
    json!({
        "property": plat.property,
        "crs": if centre.is_some() { "EPSG:4326" } else { "plane" },
        "centre": centre.map(|centre| [centre.x, centre.y]),
        "zones": plat.zones.iter().map(zone).collect::<Vec<_>>(),
        "gross_area_m2": plat.gross().square_metres(),
        "net_area_m2": plat.net().square_metres(),
        "without_setback": plat.without_setback.iter().map(|unkept| json!({ "kind": unkept.kind.name(), "feature": unkept.feature })).collect::<Vec<_>>(),
        "findings": findings(&plat.findings),
    })
}

fn zone(zone: &PlatZone) -> Value {
    json!({
        "name": zone.name,
        "species": zone.species,
        "gross_area_m2": zone.gross.square_metres(),
        "net_area_m2": zone.net.square_metres(),
        "net_area_sd_m2": zone.drawn_error.map(|error| error.independent.square_metres()),
        "net_area_shift_m2": zone.drawn_error.map(|error| error.together.square_metres()),
        "net_surface_area_m2": zone.surface.map(Area::square_metres),
        "perimeter_m": zone.perimeter.metres(),
        "lost": losses(&zone.lost),
    })
}

fn losses(lost: &[Loss]) -> Value {
    lost.iter()
        .map(|loss| json!({ "to": loss.to.to_string(), "area_m2": loss.area.square_metres() }))
        .collect()
}

fn findings(findings: &[Finding]) -> Value {
    findings.iter().map(finding).collect()
}

pub(crate) fn finding(finding: &Finding) -> Value {
    json!({ "code": finding.code, "feature": finding.feature, "message": finding.message, "area_m2": finding.area_m2 })
}

/// The document of `plan`.
pub fn plan_json(plans: &[PropertyPlan<'_>], units: UnitSystem) -> Value {
    json!({ "properties": plans.iter().map(|plan| property_plan_json(plan, units)).collect::<Vec<_>>() })
}

/// One property of it.
pub fn property_plan_json(plan: &PropertyPlan<'_>, units: UnitSystem) -> Value {
    json!({
        "property": plan.property,
        "jurisdiction": plan.places,
        "hired": plan.hired,
        "made_from": plan.made_from,
        "zones": plan.zones.iter().map(zone).collect::<Vec<_>>(),
        "applications": plan.applications.iter().map(|one| application(one, plan.plane(), units)).collect::<Vec<_>>(),
        "buy": buy_json(plan, units),
        "history": plan.history.iter().map(|one| treatment(one, units)).collect::<Vec<_>>(),
        "refused": plan.refused,
        "findings": findings(&plan.findings),
        "cautions": plan.cautions,
    })
}

/// What has been put down already, and how much of it lies on the ground.
fn treatment(laid: &LaidTreatment<'_>, units: UnitSystem) -> Value {
    let on_an_acre = laid.rate.on(AreaUnit::Acre.area());
    json!({
        "history": laid.treatment.told_by.place_in_job(),
        "record": laid.treatment.told_by.record(),
        "date": laid.treatment.day.to_string(),
        "product": laid.treatment.product.id,
        "zones": laid.zone_names,
        "rate": rate(laid.rate, Print(units).product_unit(on_an_acre), units),
        "assumed_area_m2": laid.assumed_area.map(Area::square_metres),
        "note": laid.treatment.note,
    })
}

/// A limit as it was held to: `asked` and `allowed` in the limit's own unit.
pub(crate) fn limit(checked: &Checked) -> Value {
    let figure = |figure: &Option<Figure>| {
        figure.as_ref().map(|figure| json!({ "value": figure.value, "unit": figure.unit }))
    };
    json!({
        "zone": checked.zone,
        "product": checked.product,
        "limit": checked.limit,
        "name": checked.name,
        "of": checked.of,
        "asked": figure(&checked.asked),
        "allowed": figure(&checked.allowed),
        "by": checked.by.word(),
        "source": checked.source,
        "verdict": checked.verdict.word(),
        "remark": checked.remark,
        "refusal": checked.refusal(),
    })
}

fn application(plan: &ApplicationPlan<'_>, plane: &Plane, units: UnitSystem) -> Value {
    let ids: Vec<&str> = plan.products.iter().map(|product| product.id.as_str()).collect();
    let totals = ids
        .iter()
        .zip(&plan.totals)
        .map(|(id, total)| json!({ "product": id, "amount": product_amount(*total, units) }));
    let skipped = plan.skipped.iter().map(|skipped| json!({ "zone": skipped.zone, "reason": skipped.reason, "advice": skipped.advice, "refused": skipped.refused, "lost": losses(&skipped.lost), "setbacks": setbacks(&skipped.setbacks) }));
    json!({
        "name": plan.name,
        "date": plan.day.map(|day| day.to_string()),
        "products": ids,
        "equipment": plan.equipment.name,
        "equipment_kind": plan.equipment.kind.word(),
        "equipment_speed_m_per_s": plan.equipment.speed.map(Speed::metres_per_second),
        "equipment_setting": plan.equipment.setting,
        "zones": plan.zones.iter().map(|zone| treated(zone, units)).collect::<Vec<_>>(),
        "skipped": skipped.collect::<Vec<_>>(),
        "label": plan.products.iter().map(|product| label(product, units)).collect::<Vec<_>>(),
        "limits": plan.limits.iter().map(limit).collect::<Vec<_>>(),
        "totals": totals.collect::<Vec<_>>(),
        "spray_volume": spray(plan.spray_volume, units),
        "water": spray(plan.water, units),
        "batches": plan.batches.iter().map(|one| batch(one, &plan.products, Cup { units, with: plan.equipment })).collect::<Vec<_>>(),
        "passes": passes(plan, plane),
        "without_setback": plan.without_setback,
        "wind": plan.wind.map(|wind| json!({ "from_degrees": wind.from.degrees(), "speed_m_per_s": wind.speed.metres_per_second(), "kept_on_all_sides": wind.is_light() })),
    })
}

/// What the product file says of the day on which the product is put down, and what it leaves open.
pub(crate) fn label(product: &Product, units: UnitSystem) -> Value {
    let card = product.label_card(units);
    let said = card.said.iter().map(|line| {
        json!({ "key": line.key, "what": line.what, "text": line.text, "source": line.source })
    });
    let not_given = card.not_given.iter().map(|(key, what)| json!({ "key": key, "what": what }));
    json!({
        "product": card.product,
        "name": product.name,
        "registration": product.label.epa_registration,
        "said": said.collect::<Vec<_>>(),
        "not_given": not_given.collect::<Vec<_>>(),
        "counts": crate::record::counted(product),
    })
}

fn treated(zone: &TreatedZone, units: UnitSystem) -> Value {
    let products = zone.products.iter().map(|dosed| {
        json!({
            "product": dosed.product,
            "rate": rate(dosed.rate, Print(units).product_unit(dosed.amount), units),
            "rate_basis": "label",
            "amount": product_amount(dosed.amount, units),
        })
    });
    json!({
        "zone": zone.zone,
        "species": zone.species.iter().map(|species| species.id.as_str()).collect::<Vec<_>>(),
        "treated_area_m2": zone.treated.square_metres(),
        "treated_area_sd_m2": zone.drawn_error.map(|error| error.independent.square_metres()),
        "treated_area_shift_m2": zone.drawn_error.map(|error| error.together.square_metres()),
        "dose_error": zone.dose_error(),
        "lost": losses(&zone.lost),
        "batch": zone.batch,
        "spray_volume": spray(zone.spray_volume, units),
        "products": products.collect::<Vec<_>>(),
        "setbacks": setbacks(&zone.setbacks),
    })
}

pub(crate) fn setbacks(setbacks: &[AppliedSetback]) -> Value {
    let setback = |setback: &AppliedSetback| {
        json!({
            "to": setback.to.name(),
            "feature": setback.feature,
            "distance_m": setback.distance.metres(),
            "position_error_m": setback.position.metres(),
            "rule": setback.rule,
            "is_default": setback.is_default,
            "kept": match setback.what { KeptFor::Always => "always", KeptFor::Wind(_) => "for the wind" },
            "wind_from_degrees": match setback.what { KeptFor::Wind(Some(from)) => Some(from.degrees()), _ => None },
        })
    };
    setbacks.iter().map(setback).collect()
}

fn batch(batch: &Batch, products: &[&Product], cup: Cup<'_>) -> Value {
    let units = cup.units;
    let jar = match units {
        UnitSystem::Us => quart_jar(),
        UnitSystem::Metric => litre_jar(),
    };
    let jar_test = batch.jar_test(products, jar).map(|test| {
        let steps: Vec<Value> = test.steps.iter().map(|one| step(one, cup)).collect();
        json!({ "jar": product_amount(test.jar, units), "steps": steps })
    });
    json!({
        "batch": batch.number,
        "zones": batch.zones,
        "loads": batch.loads.iter().map(|one| load(one, cup)).collect::<Vec<_>>(),
        "dead_volume": batch.dead_volume.as_ref().map(|dead| dead_volume(dead, products, units)),
        "mixing": mixing(&batch.mixing(products), cup),
        "jar_test": jar_test,
        "rinsing": batch.rinsing.iter().map(|one| step(one, cup)).collect::<Vec<_>>(),
    })
}

fn dead_volume(dead: &DeadVolume, products: &[&Product], units: UnitSystem) -> Value {
    let products = products
        .iter()
        .zip(&dead.products)
        .map(|(product, amount)| json!({ "product": product.id, "amount": product_amount(*amount, units) }));
    json!({
        "spray_volume": spray(Some(dead.spray_volume), units),
        "water": spray(Some(dead.water), units),
        "products": products.collect::<Vec<_>>(),
    })
}

/// The steps with the amounts of the fill that most loads have, and beside them those of every fill.
fn mixing(fills: &[FillSteps], cup: Cup<'_>) -> Vec<Value> {
    // Of fills that are as common as each other the first: a full one before the last.
    let usual = fills
        .iter()
        .reduce(|usual, fill| if fill.loads.len() > usual.loads.len() { fill } else { usual });
    let steps = usual.into_iter().flat_map(|usual| usual.steps.iter().enumerate());
    let with_fills = steps.map(|(place, one)| {
        let of_fills = fills.iter().map(|fill| {
            let amount = fill.steps.get(place).and_then(|step| step_amount(step, cup));
            json!({ "loads": fill.loads, "amount": amount })
        });
        let mut value = step(one, cup);
        value["amounts"] = of_fills.collect();
        value
    });
    with_fills.collect()
}

fn step(step: &Step, cup: Cup<'_>) -> Value {
    json!({
        "step": step.number,
        "what": step.what,
        "product": step.product,
        "amount": step_amount(step, cup),
        "source": step.source,
        "otherwise": step.otherwise,
    })
}

fn step_amount(step: &Step, cup: Cup<'_>) -> Option<Value> {
    let amount = step.amount?;
    Some(match step.product {
        Some(_) => cup.measured(amount),
        None => spray(Some(amount), cup.units),
    })
}

fn load(load: &Load, cup: Cup<'_>) -> Value {
    let units = cup.units;
    let covers = load
        .covers
        .iter()
        .map(|cover| json!({ "zone": cover.zone, "area_m2": cover.area.square_metres(), "left_m2": cover.left.square_metres() }));
    json!({
        "load": load.number,
        "spray_volume": spray(load.spray_volume, units),
        "water": spray(load.water, units),
        "products": load_products(&load.products, cup),
        "first_fill": load.first_fill.as_ref().map(|fill| first_fill(fill, cup)),
        "covers": covers.collect::<Vec<_>>(),
    })
}

fn first_fill(fill: &Fill, cup: Cup<'_>) -> Value {
    json!({
        "spray_volume": spray(Some(fill.spray_volume), cup.units),
        "water": spray(Some(fill.water), cup.units),
        "products": load_products(&fill.products, cup),
    })
}

pub(crate) fn load_products(products: &[LoadProduct], cup: Cup<'_>) -> Vec<Value> {
    let one = |product: &LoadProduct| {
        json!({
            "product": product.product,
            "amount": product_amount(product.exact, cup.units),
            "measure": cup.measured(product.measured),
            "rate_error": product.error,
        })
    };
    products.iter().map(one).collect()
}

/// In which units amounts are told: those of the answer, and of what is measured out those that
/// stand on the cup or scale.
#[derive(Clone, Copy)]
pub(crate) struct Cup<'e> {
    pub(crate) units: UnitSystem,
    pub(crate) with: &'e Equipment,
}

impl Cup<'_> {
    fn measured(self, amount: Amount) -> Value {
        let own = self.with.unit_for(amount);
        let unit = own.unwrap_or_else(|| Print(self.units).product_unit(amount));
        json!({ "value": amount.in_unit(unit), "unit": unit.name() })
    }
}

pub(crate) fn product_amount(amount: Amount, units: UnitSystem) -> Value {
    let unit = Print(units).product_unit(amount);
    json!({ "value": amount.in_unit(unit), "unit": unit.name() })
}

pub(crate) fn spray(volume: Option<Amount>, units: UnitSystem) -> Value {
    let unit = Print(units).spray_unit();
    volume
        .map_or(Value::Null, |volume| json!({ "value": volume.in_unit(unit), "unit": unit.name() }))
}

pub(crate) fn rate(rate: Rate, amount: AmountUnit, units: UnitSystem) -> Value {
    let unit = Print(units).rate_unit(amount);
    json!({ "value": rate.in_unit(unit), "unit": unit.to_string() })
}
