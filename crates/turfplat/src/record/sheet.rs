//! What is shown of a record, as finished texts: screen and paper print the same.

use serde::Serialize;
use serde_json::Value;
use turfplat_ledger::{Applies, FieldList, Kept, Record, State};
use turfplat_units::{UnitSystem, decimal};

use crate::print::Print;
use crate::record::lies::{lies, record_sums, sprayed};
use crate::record::remarks::{planned_rate, remarks};

/// A record as it is shown.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct RecordSheet {
    pub record: i64,
    pub property: String,
    pub application: String,
    pub date: String,
    pub state: &'static str,
    /// Why it does not stand today, if it does not.
    pub replaced: Option<String>,
    pub written: String,
    pub keep_until: String,
    pub seal: String,
    /// What is told, with what it is called.
    pub facts: Vec<(&'static str, String)>,
    pub products: Vec<SheetProduct>,
    pub zones: Vec<SheetZone>,
    pub loads: Vec<SheetLoad>,
    /// Spray volume as it was and as planned; nothing of dry spreading.
    pub spray: Option<String>,
    /// What should be seen: too much, too little, above a limit.
    pub remarks: Vec<String>,
    /// What is asked for and open, and by whom.
    pub missing: Vec<String>,
    /// The same for whoever inspects it, without what to type.
    pub open: Vec<String>,
    /// Lists that it is held to, with how long they have it kept and where they stand.
    pub lists: Vec<String>,
    /// What it follows, the newest first.
    pub trail: Vec<TrailLine>,
    /// Files that the plan was made of, with checksums.
    pub made_from: Vec<String>,
    pub cautions: Vec<String>,
}

/// A product of it.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct SheetProduct {
    pub id: String,
    pub name: String,
    pub registration: String,
    pub lots: String,
    pub amount: String,
    pub area: String,
    pub rate: String,
    pub planned_rate: String,
    pub off: String,
}

/// What lies on a zone.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct SheetZone {
    pub zone: String,
    pub product: String,
    pub area: String,
    pub amount: String,
    pub rate: String,
    pub planned_rate: String,
}

/// A load of it.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct SheetLoad {
    pub load: String,
    pub time: String,
    pub spray: String,
    pub products: Vec<String>,
    pub ground: Vec<String>,
}

/// A record that another follows.
#[derive(Clone, Debug, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct TrailLine {
    pub record: i64,
    pub state: &'static str,
    pub written: String,
    /// Why the next one was written.
    pub why: String,
}

const NOT_GIVEN: &str = "not given";

/// What is shown of the first of `trail`, which the others were before it; no record of an empty one.
pub fn record_sheet(trail: &[Kept], units: UnitSystem) -> Option<RecordSheet> {
    let kept = trail.first()?;
    let record = &kept.record;
    let print = Print(units);
    // What was never applied lies nowhere.
    let is_taken_back = kept.state == State::TakenBack;
    let zones = if is_taken_back { Vec::new() } else { lies(record).unwrap_or_default() };
    let replaced = match (kept.state, kept.replaced_by) {
        (_, Some(by)) => Some(format!("Does not stand: replaced by record {by}")),
        (State::TakenBack, None) => {
            let why = kept.why.as_deref().unwrap_or(NOT_GIVEN);
            Some(format!("Taken back, nothing was applied: {why}"))
        }
        _ => None,
    };
    let sums = record_sums(record);
    let put_down = |told: Option<String>| match is_taken_back {
        true => "nothing".to_owned(),
        false => or_not(told.as_deref()),
    };
    let products = record.products.iter().zip(&sums).map(|(product, (_, sum))| SheetProduct {
        id: product.id.clone(),
        name: product.name.clone().unwrap_or_else(|| product.id.clone()),
        registration: or_not(product.registration.as_deref()),
        lots: or_not((!product.lots.is_empty()).then(|| product.lots.join(", ")).as_deref()),
        amount: put_down(sum.amount.map(|it| print.product(it))),
        area: put_down(sum.area.map(|it| it.print(units))),
        rate: put_down(sum.rate().map(|it| print.product_rate(it))),
        planned_rate: or_not(sum.planned_rate().map(|it| print.product_rate(it)).as_deref()),
        off: put_down(sum.off().map(percent)),
    });
    let one = |zone: &turfplat_ledger::OnZone| {
        let planned = if zone.as_planned { " (as planned, not told)" } else { "" };
        SheetZone {
            zone: zone.zone.clone(),
            product: zone.product.clone(),
            area: zone.area.print(units),
            amount: format!("{}{planned}", print.product(zone.amount)),
            rate: print.product_rate(zone.rate),
            planned_rate: or_not(
                planned_rate(record, &zone.zone, &zone.product)
                    .map(|it| print.product_rate(it))
                    .as_deref(),
            ),
        }
    };
    let before = trail.windows(2).filter_map(|two| {
        let [next, old] = two else { return None };
        Some(TrailLine {
            record: old.id,
            state: old.state.word(),
            written: to_the_second(old.written),
            why: next.why.clone().unwrap_or_default(),
        })
    });
    Some(RecordSheet {
        record: kept.id,
        property: record.property.clone(),
        application: record.application.clone(),
        date: record.date.to_string(),
        state: kept.state.word(),
        replaced,
        written: to_the_second(kept.written),
        keep_until: kept.keep_until.to_string(),
        seal: kept.seal.clone(),
        facts: facts(record),
        products: products.collect(),
        zones: zones.iter().map(one).collect(),
        loads: if is_taken_back { Vec::new() } else { loads(record, print) },
        spray: spray_line(record, print).filter(|_| !is_taken_back),
        remarks: if is_taken_back { Vec::new() } else { remarks(record, print) },
        missing: kept.missing().iter().map(told_missing).collect(),
        open: kept.missing().iter().map(told_open).collect(),
        lists: lists(record),
        trail: before.collect(),
        made_from: made_from(record),
        cautions: vec![
            "What a record must hold and how long it is kept is the law of the place; ask there. The label is the law of the use.".to_owned(),
            "A record holds people's names: show it only to whom the law gives a right to it.".to_owned(),
        ],
    })
}

fn to_the_second(at: jiff::Timestamp) -> String {
    at.strftime("%Y-%m-%d %H:%M:%S UTC").to_string()
}

fn or_not(text: Option<&str>) -> String {
    text.unwrap_or(NOT_GIVEN).to_owned()
}

pub(crate) fn percent(off: f64) -> String {
    let percent = decimal(100.0 * off.abs(), 1);
    match off {
        _ if percent == "0.0" => "as planned".to_owned(),
        off if off > 0.0 => format!("{percent} % more"),
        _ => format!("{percent} % less"),
    }
}

fn of_which(missing: &turfplat_ledger::Missing) -> String {
    match missing.of.is_empty() {
        true => String::new(),
        false => format!(" of {}", missing.of.join(", ")),
    }
}

fn told_open(missing: &turfplat_ledger::Missing) -> String {
    let asked_by = missing.asked_by.join(", ");
    format!("{}{} (asked for by {asked_by})", missing.field.words(), of_which(missing))
}

fn told_missing(missing: &turfplat_ledger::Missing) -> String {
    let of = of_which(missing);
    let keys = missing.field.key().split(" and ");
    let flags: Vec<String> = keys.map(|key| format!("--{}", key.replace('_', "-"))).collect();
    format!(
        "{}{of}: give {} in the form, or {} (asked for by {})",
        missing.field.words(),
        missing.field.key(),
        flags.join(" and "),
        missing.asked_by.join(", ")
    )
}

fn facts(record: &Record) -> Vec<(&'static str, String)> {
    let time = |at: &Option<jiff::ZonedDateTime>| {
        let at = at.as_ref()?;
        Some(at.strftime("%Y-%m-%d %H:%M %Z").to_string())
    };
    let customer = record.customer.as_ref();
    let rows = [
        ("started", time(&record.started)),
        ("ended", time(&record.ended)),
        ("location", record.location.clone()),
        ("site", record.site.clone()),
        ("for hire", record.hired.map(|it| if it { "yes" } else { "no" }.to_owned())),
        ("customer", customer.and_then(|it| it.name.clone())),
        ("customer's address", customer.and_then(|it| it.address.clone())),
        ("applicator", record.applicator.name.clone()),
        ("license", record.applicator.license.clone()),
        ("applied under supervision", record.applicator.uncertified.clone()),
        ("company", record.applicator.company.clone()),
        ("company's address", record.applicator.company_address.clone()),
        ("purpose", record.purpose.clone()),
        ("method", record.method.clone()),
        ("temperature", record.weather.temperature.as_ref().map(|it| it.written.clone())),
        ("wind", record.weather.wind.as_ref().map(|it| it.written.clone())),
        ("wind from", record.weather.wind_from.clone()),
        ("incidents", record.incidents.clone()),
        ("note", record.note.clone()),
    ];
    rows.into_iter().filter_map(|(what, text)| Some((what, text?))).collect()
}

fn loads(record: &Record, print: Print) -> Vec<SheetLoad> {
    let clock = |at: &Option<jiff::ZonedDateTime>| {
        at.as_ref().map_or("…".to_owned(), |at| at.strftime("%H:%M").to_string())
    };
    let beside = |actual: Option<&str>, planned: Option<&str>| match (actual, planned) {
        (Some(actual), Some(planned)) if actual != planned => {
            format!("{actual} (planned {planned})")
        }
        (Some(actual), _) => actual.to_owned(),
        (None, Some(planned)) => format!("{NOT_GIVEN} (planned {planned})"),
        (None, None) => NOT_GIVEN.to_owned(),
    };
    let one = |(place, load): (usize, &turfplat_ledger::Load)| SheetLoad {
        load: match (load.batch, load.load) {
            (Some(batch), Some(load)) => format!("{batch}.{load}"),
            _ if record.loads.len() == 1 => "all".to_owned(),
            _ => (place + 1).to_string(),
        },
        time: match (&load.started, &load.ended) {
            (None, None) => String::new(),
            (started, ended) => format!("{} to {}", clock(started), clock(ended)),
        },
        spray: match (&load.water, load.sprayed(), &load.planned_spray_volume) {
            (None, None, None) => String::new(),
            (_, sprayed, planned) => beside(
                sprayed.map(|it| print.spray(it)).as_deref(),
                planned.as_ref().map(|it| it.written.as_str()),
            ),
        },
        products: (load.products.iter())
            .map(|put| {
                let planned = put.planned.as_ref().map(|it| it.written.as_str());
                let actual = put.amount.as_ref().map(|it| it.written.as_str());
                format!("{}: {}", put.product, beside(actual, planned))
            })
            .collect(),
        ground: (load.done.iter())
            .map(|done| {
                let planned = done.planned.as_ref().map(|it| it.written.as_str());
                let actual = done.area.as_ref().map(|it| it.written.as_str());
                format!("{}: {}", done.zone, beside(actual, planned))
            })
            .collect(),
    };
    record.loads.iter().enumerate().map(one).collect()
}

fn spray_line(record: &Record, print: Print) -> Option<String> {
    let sum = sprayed(record);
    let (amount, rate) = (sum.amount?, sum.rate()?);
    let planned = sum.planned_rate().map_or_else(String::new, |planned| {
        let off = sum.off().map_or_else(String::new, |off| format!(": {}", percent(off)));
        format!(", planned {}{off}", print.spray_rate(planned))
    });
    Some(format!("{}, {}{planned}", print.spray(amount), print.spray_rate(rate)))
}

fn lists(record: &Record) -> Vec<String> {
    let lists = FieldList::of(&record.places, record.hired);
    let one = |list: &&FieldList| {
        let years = match list.years_status.as_str() {
            "M" => format!("{} years (from memory: ask there)", list.years_kept),
            _ => format!("{} years", list.years_kept),
        };
        let conditions = list
            .conditions
            .as_ref()
            .filter(|it| !it.is_empty())
            .map_or(String::new(), |it| format!("; {it}"));
        let unsure = match (list.applies, record.hired) {
            (Applies::Hired, None) => "; nobody says whether it was for hire",
            _ => "",
        };
        let until = list.keep_until(record.date);
        format!(
            "{}: kept {years}, until {until}{conditions}{unsure} ({}, read {})",
            list.name, list.source, list.read
        )
    };
    lists.iter().map(one).collect()
}

fn made_from(record: &Record) -> Vec<String> {
    let Some(plan) = &record.plan else { return Vec::new() };
    let file = |value: &Value| {
        let (what, file) = (value["what"].as_str()?, value["file"].as_str()?);
        Some(format!("{what} {file}, SHA-256 {}", value["sha256"].as_str()?))
    };
    let files = plan["made_from"].as_array().into_iter().flatten().filter_map(file);
    let plan = plan["plan_sha256"].as_str().map(|sum| format!("plan.json, SHA-256 {sum}"));
    plan.into_iter().chain(files).collect()
}
