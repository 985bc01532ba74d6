//! A season as a job whose applications have their days, so that `plan` makes loads, maps and work orders
//! of each. The user's own text goes on in it: equipment, places, history, notes.

use anyhow::Context;
use toml_edit::{ArrayOfTables, DocumentMut, InlineTable, Item, Table, Value};
use turfplat::units::UnitSystem;
use turfplat::{Print, PropertySeason, Round, RoundZone};

use crate::season_records::meant;

/// The job of `text`, each of the season's rounds an application with its date and zones.
pub(crate) fn as_job(text: &str, season: &PropertySeason) -> anyhow::Result<String> {
    let mut job: DocumentMut =
        text.trim_start_matches('\u{feff}').parse().context("is not TOML")?;
    let all = job.remove("application").and_then(|item| item.into_array_of_tables().ok());
    let all = all.context("has no [[application]]")?;
    job.remove("season");
    let mut dated = ArrayOfTables::new();
    for table in all.iter().filter(|table| table.contains_key("date")) {
        dated.push(table.clone());
    }
    for round in &season.rounds {
        let named = |table: &&Table| {
            table.get("name").and_then(Item::as_str) == Some(round.application.as_str())
        };
        let Some(table) = all.iter().find(named).filter(|it| !it.contains_key("date")) else {
            continue;
        };
        let at_their_rate: Vec<&RoundZone> =
            round.zones.iter().filter(|zone| zone.lowered.is_none()).collect();
        if !at_their_rate.is_empty() {
            let name = format!("{}, {}", round.application, round.day);
            dated.push(copy(table, &name, round, &at_their_rate));
        }
        for zone in round.zones.iter().filter(|zone| zone.lowered.is_some()) {
            let name = format!("{}, {}, {}", round.application, round.day, zone.zone);
            let mut lowered = copy(table, &name, round, &[zone]);
            lower(&mut lowered, season, round, zone);
            dated.push(lowered);
        }
    }
    job.insert("application", Item::ArrayOfTables(dated));
    // Tables are written by their places: those of a copy would stand where the first one stood.
    let mut place = 0;
    renumber(&mut job, &mut place);
    Ok(job.to_string())
}

/// An application with its own name, day and zones, and no season.
fn copy(table: &Table, name: &str, round: &Round, zones: &[&RoundZone]) -> Table {
    let mut copy = table.clone();
    copy.decor_mut().set_prefix("\n");
    copy.remove("season");
    copy.insert("name", Item::Value(name.into()));
    copy.insert("date", Item::Value(round.day.to_string().into()));
    let names = zones.iter().map(|zone| Value::from(zone.zone.as_str()));
    copy.insert("zones", Item::Value(Value::Array(names.collect())));
    if let Some(products) = copy.remove("product")
        && let Ok(products) = products.into_array_of_tables()
    {
        copy.insert("product", Item::ArrayOfTables(products));
    }
    copy
}

/// Writes the rates that a limit left for one zone, for each of its grasses.
fn lower(table: &mut Table, season: &PropertySeason, round: &Round, zone: &RoundZone) {
    let course = season
        .courses
        .iter()
        .find(|it| it.application == round.application && it.zone == zone.zone);
    let species = course.map(|course| course.species.as_slice()).unwrap_or_default();
    let products = table.get_mut("product").and_then(Item::as_array_of_tables_mut);
    let amounts = zone.rates.iter().zip(&zone.amounts);
    let print = Print(UnitSystem::Us);
    for (product, (rate, amount)) in products.into_iter().flat_map(|it| it.iter_mut()).zip(amounts)
    {
        let unit = print.rate_unit(print.product_unit(*amount));
        let Some(value) = rate.in_unit(unit).map(meant) else { continue };
        let mut rates = InlineTable::new();
        for grass in species {
            rates.insert(grass, format!("{value} {unit}").into());
        }
        product.remove("rate");
        product.insert("rates", Item::Value(Value::InlineTable(rates)));
    }
}

/// Puts every table behind the one before it.
fn renumber(table: &mut Table, place: &mut isize) {
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(table) => {
                *place += 1;
                table.set_position(Some(*place));
                renumber(table, place);
            }
            Item::ArrayOfTables(tables) => {
                for table in tables.iter_mut() {
                    *place += 1;
                    table.set_position(Some(*place));
                    renumber(table, place);
                }
            }
            Item::None | Item::Value(_) => {}
        }
    }
}
