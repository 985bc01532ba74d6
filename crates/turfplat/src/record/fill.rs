//! Why a draft is completed by blanks alone: what somebody told is evidence, and whoever finds it wrong says
//! why (`correct`). What is told again in the same sense is no difference.

use serde_json::Value;
use turfplat_ledger::{Load, Record};

use crate::record::amounts::gather;
use crate::record::error::RecordError;

/// `told` laid over the draft `before`, where it fills only what was open; lots are added to those that were
/// told.
///
/// # Errors
///
/// [`RecordError::ToldAlready`] with the first thing that differs; [`RecordError::NothingToFill`].
pub fn filled_in(id: i64, before: &Record, mut told: Record) -> Result<Record, RecordError> {
    for (old, new) in before.products.iter().zip(&mut told.products) {
        let new_lots = std::mem::take(&mut new.lots);
        new.lots.clone_from(&old.lots);
        new.lots.extend(new_lots.into_iter().filter(|lot| !old.lots.contains(lot)));
    }
    let mut stood = before.clone();
    if told.loads.len() < before.loads.len() {
        if let Some(place) = before.loads.iter().position(is_told) {
            let was = "of it alone is told already; tell of each load in a form".to_owned();
            return Err(RecordError::ToldAlready { id, key: format!("load {}", place + 1), was });
        }
        gather(&mut stood)?;
    }
    let as_value = |record: &Record| {
        serde_json::to_value(record).map_err(|error| RecordError::key("record", error.to_string()))
    };
    let (stood, mut told) = (as_value(&stood)?, as_value(&told)?);
    if let Some((key, was)) = fill(&stood, &mut told, "") {
        return Err(RecordError::ToldAlready { id, key, was });
    }
    if told == as_value(before)? {
        return Err(RecordError::NothingToFill(id));
    }
    serde_json::from_value(told).map_err(|error| RecordError::key("record", error.to_string()))
}

/// True of a load of which anybody told something.
fn is_told(load: &Load) -> bool {
    load.started.is_some()
        || load.ended.is_some()
        || load.water.is_some()
        || load.spray_volume.is_some()
        || load.products.iter().any(|put| put.amount.is_some())
        || load.done.iter().any(|done| done.area.is_some())
}

/// Puts what stood in its place again; or what differs from it, with its key.
fn fill(stood: &Value, told: &mut Value, key: &str) -> Option<(String, String)> {
    let within = |part: &str| match key {
        "" => part.to_owned(),
        key => format!("{key}, {part}"),
    };
    match (stood, told) {
        (Value::Null, _) => None,
        (Value::Array(stood), Value::Array(told)) => {
            // Lots and what went into a load may be added at the end; places of nobody are open.
            if told.len() < stood.len() {
                return Some((key.to_owned(), words(&Value::Array(stood.clone()))));
            }
            let is_more_of_a_place =
                key == "places" && !stood.is_empty() && told.len() > stood.len();
            if is_more_of_a_place {
                return Some((key.to_owned(), words(&Value::Array(stood.clone()))));
            }
            let pairs = stood.iter().zip(told).zip(1..);
            pairs.into_iter().find_map(|((old, new), place)| {
                let name = ["id", "product", "zone"].iter().find_map(|name| old[*name].as_str());
                fill(old, new, &within(&name.map_or_else(|| place.to_string(), str::to_owned)))
            })
        }
        (Value::Object(stood), Value::Object(told)) => {
            if stood.contains_key("written") {
                let unlike = stood.iter().find(|(name, value)| {
                    *name != "written" && !is_same(value, told.get(*name).unwrap_or(&Value::Null))
                });
                if unlike.is_some() {
                    return Some((key.to_owned(), words(&stood["written"])));
                }
                told.clone_from(stood);
                return None;
            }
            stood.iter().find_map(|(name, old)| match told.get_mut(name) {
                Some(new) => fill(old, new, &within(name)),
                None => Some((within(name), words(old))),
            })
        }
        (stood, told) => {
            if !is_same(stood, told) && !is_one_instant(stood, told) {
                return Some((key.to_owned(), words(stood)));
            }
            told.clone_from(stood);
            None
        }
    }
}

fn is_same(old: &Value, new: &Value) -> bool {
    match (old.as_f64(), new.as_f64()) {
        (Some(old), Some(new)) => (old - new).abs() <= 1e-9 * old.abs().max(new.abs()),
        _ => old == new,
    }
}

fn is_one_instant(old: &Value, new: &Value) -> bool {
    let instant = |it: &Value| it.as_str()?.parse::<jiff::ZonedDateTime>().ok();
    instant(old).zip(instant(new)).is_some_and(|(old, new)| old.timestamp() == new.timestamp())
}

fn words(value: &Value) -> String {
    match value {
        Value::String(text) => format!("says {text:?}"),
        other => format!("says {other}"),
    }
}
