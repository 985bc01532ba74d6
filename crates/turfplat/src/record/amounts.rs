//! Amounts and ground as they are told, load by load or of all together.

use std::collections::BTreeMap;

use turfplat_ledger::{Done, Ground, Load, Put, Quantity, Record};
use turfplat_units::{Amount, AmountUnit, Area, UnitError, UnitSystem, WrittenAmount};

use crate::record::error::RecordError;
use crate::record::happened::{Happened, HappenedLoad, given};
use crate::record::lies::drawn;
use crate::record::planned::meant;

/// By how much ground may measure more on foot than it is drawn: common practice, no source.
const DRAWN: f64 = 0.01;

impl Happened {
    pub(super) fn lay_amounts(&self, record: &mut Record) -> Result<(), RecordError> {
        for told in &self.load {
            let place = self.load_of(record, told)?;
            lay_load(record, place, told)?;
        }
        if !self.amounts.is_empty() || !self.areas.is_empty() || self.water.is_some() {
            gather(record)?;
            let only = |id: &str, ids: Vec<&str>, key: &str| match (id, &ids[..]) {
                ("", [only]) => Ok((*only).to_owned()),
                ("", _) => {
                    let problem = format!("say of which, as NAME=…: {}", ids.join(", "));
                    Err(RecordError::key(key, problem))
                }
                (id, _) => Ok(id.to_owned()),
            };
            let mut whole = HappenedLoad { water: self.water.clone(), ..HappenedLoad::default() };
            for (id, amount) in &self.amounts {
                let ids = record.products.iter().map(|it| it.id.as_str()).collect();
                let id = only(id, ids, "amount")?;
                if let Some(first) = whole.amounts.insert(id.clone(), amount.clone()) {
                    return Err(twice(&format!("amount of {id}"), &first, amount));
                }
            }
            for (zone, area) in &self.areas {
                let zones = record.loads[0].done.iter().map(|it| it.zone.as_str()).collect();
                let zone = only(zone, zones, "area")?;
                if let Some(first) = whole.areas.insert(zone.clone(), area.clone()) {
                    return Err(twice(&format!("area of {zone}"), &first, area));
                }
            }
            lay_load(record, 0, &whole)?;
        }
        if self.as_planned {
            for load in &mut record.loads {
                for put in &mut load.products {
                    put.amount = put.amount.take().or_else(|| put.planned.clone());
                }
                for done in &mut load.done {
                    done.area = done.area.take().or_else(|| done.planned.clone());
                }
                let untold = load.water.is_none() && load.spray_volume.is_none();
                if untold {
                    load.spray_volume = load.planned_spray_volume.clone();
                }
            }
        }
        Ok(())
    }
}

fn twice(key: &str, first: &str, second: &str) -> RecordError {
    let problem = format!("is told twice, as {first:?} and as {second:?}; keep one");
    RecordError::key(key, problem)
}

/// Refuses what cannot be: a product on no ground, and more sprayed than water and products come to.
pub(super) fn check_loads(record: &Record) -> Result<(), RecordError> {
    for (place, load) in record.loads.iter().enumerate() {
        let key = |part: &str| match record.loads.len() {
            1 => part.to_owned(),
            _ => format!("load {}, {part}", place + 1),
        };
        let areas = load
            .done
            .iter()
            .map(|done| done.area.as_ref().or(done.planned.as_ref()).and_then(Ground::area));
        let ground: Option<Area> =
            areas.collect::<Option<Vec<Area>>>().map(|it| it.into_iter().sum());
        let is_nowhere = ground.is_some_and(|ground| ground == Area::ZERO);
        for put in &load.products {
            let told = put.amount.as_ref().or(put.planned.as_ref());
            let is_some = |it: &&Quantity| it.amount().is_some_and(|it| it != it.times(0.0));
            let Some(told) = told.filter(is_some).filter(|_| is_nowhere) else { continue };
            let problem = format!(
                "no ground is told for {told} of {}; say on how much it went, or that 0 of it went out",
                put.product
            );
            return Err(RecordError::key(key("areas"), problem));
        }
        check_spray(load).map_err(|problem| RecordError::key(key("spray_volume"), problem))?;
    }
    Ok(())
}

/// What was sprayed is water and what is liquid in it, within the trade's ±5 % (common practice, no source).
fn check_spray(load: &Load) -> Result<(), String> {
    let volumes = load.spray_volume.as_ref().zip(load.water.as_ref());
    let Some((told_spray, told_water)) = volumes else { return Ok(()) };
    let (Some(sprayed), Some(water)) = (told_spray.amount(), told_water.amount()) else {
        return Ok(());
    };
    let mut whole = water;
    for put in &load.products {
        let told = put.amount.as_ref().or(put.planned.as_ref()).and_then(Quantity::amount);
        // What is weighed adds no volume that anybody measures.
        whole = told.and_then(|it| whole.plus(it)).unwrap_or(whole);
    }
    let is_below = water.over(sprayed).is_some_and(|times| times > 1.0 + 1e-9);
    let is_above = sprayed.over(whole).is_some_and(|times| times > 1.05);
    match is_below || is_above {
        true => Err(format!(
            "says {told_spray}, and water {told_water}: what was sprayed is water and products together; leave one out, or correct it"
        )),
        false => Ok(()),
    }
}

/// The place of a product in the record.
pub(super) fn product_of(record: &Record, id: &str, key: &str) -> Result<usize, RecordError> {
    let found = record.products.iter().position(|product| product.id == id.trim());
    found.ok_or_else(|| {
        let known = record.products.iter().map(|product| product.id.as_str());
        RecordError::key(key, format!("{id:?} was not in the mix; {}", meant(id, known)))
    })
}

/// Makes one load of all, of which nobody tells apart what went into which: only where all were of one
/// strength, since else nobody would know what lies on which zone.
pub(super) fn gather(record: &mut Record) -> Result<(), RecordError> {
    if record.loads.len() <= 1 {
        return Ok(());
    }
    let batch = record.loads[0].batch;
    if record.loads.iter().any(|load| load.batch != batch) {
        let problem = "the loads were of several strengths; tell of each load in the form that `turfplat record new` writes";
        return Err(RecordError::key("amount", problem));
    }
    let loads = std::mem::take(&mut record.loads);
    let of_all = |told: &dyn Fn(&Load) -> Option<Quantity>| sum(loads.iter().map(told));
    let mut whole = Load {
        started: loads.iter().filter_map(|load| load.started.clone()).min(),
        ended: loads.iter().filter_map(|load| load.ended.clone()).max(),
        water: of_all(&|load| load.water.clone()),
        planned_spray_volume: of_all(&|load| load.planned_spray_volume.clone()),
        ..Load::default()
    };
    if whole.water.is_none() {
        whole.spray_volume = of_all(&|load| load.spray_volume.clone());
    }
    for product in &record.products {
        let held = || {
            let puts = loads.iter().flat_map(|load| &load.products);
            puts.filter(|put| put.product == product.id)
        };
        if held().next().is_some() {
            whole.products.push(Put {
                product: product.id.clone(),
                amount: sum(held().map(|put| put.amount.clone())),
                planned: sum(held().map(|put| put.planned.clone())),
            });
        }
    }
    for done in loads.iter().flat_map(|load| &load.done) {
        if whole.done.iter().any(|it| it.zone == done.zone) {
            continue;
        }
        let grounds = || loads.iter().flat_map(|load| &load.done).filter(|it| it.zone == done.zone);
        whole.done.push(Done {
            zone: done.zone.clone(),
            area: ground(grounds().map(|it| it.area.clone())),
            planned: ground(grounds().map(|it| it.planned.clone())),
        });
    }
    record.loads = vec![whole];
    Ok(())
}

/// All together, as `1.25 fl oz + 1.25 fl oz`; of what is not told in part nothing.
fn sum(parts: impl Iterator<Item = Option<Quantity>>) -> Option<Quantity> {
    let parts = parts.collect::<Option<Vec<Quantity>>>()?;
    let amounts = parts.iter().map(Quantity::amount).collect::<Option<Vec<Amount>>>()?;
    let (first, others) = amounts.split_first()?;
    let whole = others.iter().try_fold(*first, |sum, amount| sum.plus(*amount))?;
    let written: Vec<&str> = parts.iter().map(|part| part.written.as_str()).collect();
    Some(Quantity::new(written.join(" + "), whole))
}

/// As [`sum`], of ground.
fn ground(parts: impl Iterator<Item = Option<Ground>>) -> Option<Ground> {
    let parts = parts.collect::<Option<Vec<Ground>>>()?;
    let whole = parts.iter().map(Ground::area).collect::<Option<Vec<Area>>>()?;
    let written: Vec<&str> = parts.iter().map(|part| part.written.as_str()).collect();
    Some(Ground::new(written.join(" + "), whole.into_iter().sum()))
}

/// What is told of amounts, water and ground of one load.
fn lay_load(record: &mut Record, place: usize, told: &HappenedLoad) -> Result<(), RecordError> {
    let key = |part: &str| match told.load {
        Some(_) => format!("load {}, {part}", place + 1),
        None => part.to_owned(),
    };
    for (id, text) in &told.amounts {
        let key = key(&format!("amount of {id}"));
        let product = product_of(record, id, &key)?;
        let id = record.products[product].id.clone();
        let load = &mut record.loads[place];
        let at = load.products.iter().position(|put| put.product == id).unwrap_or_else(|| {
            load.products.push(Put { product: id.clone(), amount: None, planned: None });
            load.products.len() - 1
        });
        let put = &mut load.products[at];
        if !text.trim().is_empty() {
            let planned = put.planned.as_ref().and_then(Quantity::amount);
            put.amount = Some(amount(text, planned, &key)?);
        }
    }
    let zones: Vec<String> =
        record.loads.iter().flat_map(|it| &it.done).map(|it| it.zone.clone()).collect();
    let with_room = |zone: &String| Some((zone.clone(), drawn(record, zone)?));
    let most: BTreeMap<String, Area> = zones.iter().filter_map(with_room).collect();
    for (zone, text) in &told.areas {
        let key = key(&format!("area of {zone}"));
        let zone = zone.trim();
        if !zones.iter().any(|known| known == zone) {
            let hint = meant(zone, zones.iter().map(String::as_str));
            return Err(RecordError::key(key, format!("{zone:?} is no zone of the plan; {hint}")));
        }
        let done = &mut record.loads[place].done;
        let at = done.iter().position(|it| it.zone == zone).unwrap_or_else(|| {
            done.push(Done { zone: zone.to_owned(), area: None, planned: None });
            done.len() - 1
        });
        if !text.trim().is_empty() {
            let area: Area = text
                .parse()
                .map_err(|error: UnitError| RecordError::key(key.clone(), error.to_string()))?;
            if let Some(drawn) = most
                .get(zone)
                .filter(|most| area.square_metres() > most.square_metres() * (1.0 + DRAWN))
            {
                let problem = format!(
                    "{text:?} is more than the zone has as it is drawn, {}; correct it, or tell of each load in the form where some was gone over again",
                    drawn.print(UnitSystem::Us)
                );
                return Err(RecordError::key(key, problem));
            }
            done[at].area = Some(Ground::new(text.trim(), area));
        }
    }
    let load = &mut record.loads[place];
    for (part, text, place) in [
        ("water", &told.water, &mut load.water),
        ("spray_volume", &told.spray_volume, &mut load.spray_volume),
    ] {
        let Some(text) = given(text) else { continue };
        let read = amount(text, None, &key(part))?;
        if !matches!(read.amount(), Some(Amount::Volume(_))) {
            let problem = format!("{text:?} is a weight; write a volume, such as 3 gal");
            return Err(RecordError::key(key(part), problem));
        }
        *place = Some(read);
    }
    Ok(())
}

/// An amount as it was written; a bare `oz` is one of weight where the plan weighs the product, and is asked
/// for of a liquid.
fn amount(text: &str, planned: Option<Amount>, key: &str) -> Result<Quantity, RecordError> {
    let unread = |error: UnitError| RecordError::key(key, error.to_string());
    let written: WrittenAmount = text.parse().map_err(unread)?;
    let unit = match (written.unit, planned) {
        (AmountUnit::Ounce, Some(Amount::Mass(_))) => AmountUnit::WeightOunce,
        (unit, _) => unit,
    };
    let amount = WrittenAmount { unit, ..written }.amount().map_err(unread)?;
    if planned.is_some_and(|planned| planned.plus(amount).is_none()) {
        let problem =
            format!("{text:?} is a weight where the plan has a volume, or the other way round");
        return Err(RecordError::key(key, problem));
    }
    Ok(Quantity::new(text.trim(), amount))
}
