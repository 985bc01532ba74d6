//! What a crew tells, from a form (TOML) or one word at a time, laid over a record: over the plan's
//! untold one, a draft, or one that is corrected. What is not told is left as it stood.

use std::collections::BTreeMap;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{ToSpan, ZonedDateTime};
use serde::Deserialize;
use turfplat_ledger::{Customer, FieldList, Load, Product, Record, Temperature, Wind};

use crate::job_file;
use crate::record::amounts::{check_loads, product_of};
use crate::record::error::RecordError;
use crate::record::moment::{is_after_today, is_of_day, moment, zone};
use crate::wind::WindFrom;

/// Force 12 of the Beaufort scale begins at 32.7 m/s (WMO-No. 8, Guide to Instruments and Methods of
/// Observation, part I, ch. 5; from memory).
const HURRICANE: f64 = 32.7;

/// What may be told of the wind's direction where there is none.
const NO_DIRECTION: [&str; 5] = ["calm", "none", "variable", "still", "light and variable"];

/// A day's work that ends in the small hours lasts no longer; what would is a slip.
const NIGHT_HOURS: f64 = 12.0;

/// What happened, in words; `""` and what is left out are not told.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
#[allow(missing_docs)] // The form of `turfplat record new` says it beside each.
pub struct Happened {
    pub property: Option<String>,
    pub application: Option<String>,
    #[serde(deserialize_with = "date_text")]
    pub date: Option<String>,
    pub timezone: Option<String>,
    pub started: Option<String>,
    pub ended: Option<String>,
    /// Ids or names of places whose lists of fields are held to.
    pub states: Option<Vec<String>>,
    pub hired: Option<bool>,
    pub site: Option<String>,
    pub location: Option<String>,
    pub customer: Option<String>,
    pub customer_address: Option<String>,
    pub applicator: Option<String>,
    pub license: Option<String>,
    pub uncertified: Option<String>,
    pub company: Option<String>,
    pub company_address: Option<String>,
    pub purpose: Option<String>,
    pub method: Option<String>,
    pub temperature: Option<String>,
    pub wind: Option<String>,
    pub wind_from: Option<String>,
    pub incidents: Option<String>,
    pub note: Option<String>,
    /// False of a form whose amounts are still the plan's.
    pub checked: Option<bool>,
    /// All amounts and areas that are not told were as planned.
    pub as_planned: bool,
    pub product: Vec<HappenedProduct>,
    pub load: Vec<HappenedLoad>,
    /// By product, or `""` for the only one: how much in all, where the plan has one batch.
    #[serde(skip)]
    pub amounts: Vec<(String, String)>,
    /// By zone, or `""` for the only one: how much of it in all, where the plan has one batch.
    #[serde(skip)]
    pub areas: Vec<(String, String)>,
    /// Water in all, likewise.
    #[serde(skip)]
    pub water: Option<String>,
}

/// What is told of a product.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
#[allow(missing_docs)] // As above.
pub struct HappenedProduct {
    pub product: String,
    pub name: Option<String>,
    pub registration: Option<String>,
    pub lots: Vec<String>,
}

/// What is told of a load.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
#[allow(missing_docs)] // As above.
pub struct HappenedLoad {
    pub batch: Option<u32>,
    pub load: Option<u32>,
    pub started: Option<String>,
    pub ended: Option<String>,
    pub water: Option<String>,
    pub spray_volume: Option<String>,
    pub amounts: BTreeMap<String, String>,
    pub areas: BTreeMap<String, String>,
    /// Line of the form at which it begins.
    #[serde(skip)]
    pub line: Option<usize>,
}

/// Where the blocks of a form begin.
#[derive(Deserialize)]
struct Blocks {
    #[serde(default)]
    load: Vec<toml::Spanned<serde::de::IgnoredAny>>,
}

fn date_text<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Option<String>, D::Error> {
    Option::<job_file::Date>::deserialize(from).map(|date| date.map(job_file::Date::into_text))
}

/// What is told by a text; nothing of an empty one.
pub(super) fn given(text: &Option<String>) -> Option<&str> {
    text.as_deref().map(str::trim).filter(|text| !text.is_empty())
}

impl Happened {
    /// Reads a form.
    ///
    /// # Errors
    ///
    /// [`RecordError::NotAForm`] with the line.
    pub fn read(file: &str, text: &str) -> Result<Happened, RecordError> {
        let unread = |error: toml::de::Error| RecordError::NotAForm {
            file: file.to_owned(),
            reason: error.to_string().trim_end().to_owned(),
        };
        let mut form: Happened = toml::from_str(text).map_err(unread)?;
        let blocks: Blocks = toml::from_str(text).map_err(unread)?;
        for (load, block) in form.load.iter_mut().zip(&blocks.load) {
            let before = text.get(..block.span().start).unwrap_or("");
            load.line = Some(before.matches('\n').count() + 1);
        }
        Ok(form)
    }

    /// The day that it tells, by date or by the time at which it began.
    ///
    /// # Errors
    ///
    /// A text that is no day.
    pub fn day(&self) -> Result<Option<Date>, RecordError> {
        if let Some(text) = given(&self.date) {
            let unread =
                |_| RecordError::key("date", format!("{text:?} is no day; write it as 2026-06-08"));
            return text.parse().map(Some).map_err(unread);
        }
        let zone = self.zone()?;
        let told = given(&self.started).or(given(&self.ended));
        Ok(told.and_then(|text| moment(text, None, zone.as_ref()).ok()).map(|at| at.date()))
    }

    fn zone(&self) -> Result<Option<TimeZone>, RecordError> {
        let zone = given(&self.timezone).map(zone).transpose();
        zone.map_err(|problem| RecordError::key("timezone", problem))
    }

    /// Lays it over `record`, up to the moment `now`.
    ///
    /// # Errors
    ///
    /// The first key that cannot be read, or that speaks of a product, zone or load that is not there.
    pub fn lay_over(&self, record: &mut Record, now: &ZonedDateTime) -> Result<(), RecordError> {
        if self.checked == Some(false) {
            return Err(RecordError::NotChecked);
        }
        self.is_about(record)?;
        // A zone that is not told anew is that of the times which stand there.
        let known = record.started.as_ref().or(record.ended.as_ref());
        let zone = self.zone()?.or_else(|| known.map(|at| at.time_zone().clone()));
        if let Some(date) = self.day()? {
            record.date = date;
        }
        let time = |key: &str, text: &Option<String>, place: &mut Option<ZonedDateTime>| {
            let Some(text) = given(text) else { return Ok::<(), RecordError>(()) };
            let at = moment(text, Some(record.date), zone.as_ref());
            let at = at.map_err(|problem| RecordError::key(key, problem))?;
            *place = Some(at);
            Ok(())
        };
        let (mut started, mut ended) = (record.started.clone(), record.ended.clone());
        time("started", &self.started, &mut started)?;
        time("ended", &self.ended, &mut ended)?;
        over_midnight(&self.ended, started.as_ref(), &mut ended);
        let mut told_of: BTreeMap<usize, usize> = BTreeMap::new();
        for (number, told) in self.load.iter().enumerate() {
            let place = self.load_of(record, told)?;
            if let Some(first) = told_of.insert(place, number) {
                let [first, second] = [first, number].map(|at| match self.load[at].line {
                    Some(line) => format!("line {line}"),
                    None => format!("block {}", at + 1),
                });
                let problem = format!("is told twice, at {first} and at {second}; keep one");
                return Err(RecordError::key(load_name(&record.loads[place]), problem));
            }
            let load = &mut record.loads[place];
            let key = |part: &str| format!("load {}, {part}", place + 1);
            time(&key("started"), &told.started, &mut load.started)?;
            over_midnight(&told.started, started.as_ref(), &mut load.started);
            time(&key("ended"), &told.ended, &mut load.ended)?;
            let begun = load.started.clone().or_else(|| started.clone());
            over_midnight(&told.ended, begun.as_ref(), &mut load.ended);
        }
        (record.started, record.ended) = (started, ended);
        // What is told of the loads tells of the whole.
        let first = record.loads.iter().filter_map(|load| load.started.clone()).min();
        let last = record.loads.iter().filter_map(|load| load.ended.clone()).max();
        record.started = record.started.take().or(first);
        record.ended = record.ended.take().or(last);
        check_times(record, zone.as_ref(), now)?;
        self.lay_words(record)?;
        self.lay_products(record)?;
        self.lay_amounts(record)?;
        check_loads(record)
    }

    /// Refuses a form of another property or application: it was filled in for that one.
    fn is_about(&self, record: &Record) -> Result<(), RecordError> {
        let other = |key: &str, told: &Option<String>, meant: &str| match given(told) {
            Some(told) if told != meant => Err(RecordError::key(
                key,
                format!("the form is of {told:?}, the record of {meant:?}"),
            )),
            _ => Ok(()),
        };
        other("property", &self.property, &record.property)?;
        other("application", &self.application, &record.application)
    }

    fn lay_words(&self, record: &mut Record) -> Result<(), RecordError> {
        if let Some(states) = &self.states {
            let places = states.iter().filter(|state| !state.trim().is_empty());
            let places = places.map(|state| FieldList::place(state).map(str::to_owned));
            record.places = places.collect::<Result<_, _>>()?;
        }
        record.hired = self.hired.or(record.hired);
        let over = |told: &Option<String>, place: &mut Option<String>| {
            if let Some(told) = given(told) {
                *place = Some(told.to_owned());
            }
        };
        over(&self.site, &mut record.site);
        over(&self.location, &mut record.location);
        let applicator = &mut record.applicator;
        over(&self.applicator, &mut applicator.name);
        over(&self.license, &mut applicator.license);
        over(&self.uncertified, &mut applicator.uncertified);
        over(&self.company, &mut applicator.company);
        over(&self.company_address, &mut applicator.company_address);
        over(&self.purpose, &mut record.purpose);
        over(&self.method, &mut record.method);
        over(&self.incidents, &mut record.incidents);
        over(&self.note, &mut record.note);
        if let Some(told) = given(&self.wind_from) {
            let is_none = NO_DIRECTION.contains(&told.to_lowercase().as_str());
            if !is_none && let Err(error) = told.parse::<WindFrom>() {
                let problem = format!("{error}; or calm or variable");
                return Err(RecordError::key("wind_from", problem));
            }
            record.weather.wind_from = Some(told.to_owned());
        }
        if given(&self.customer).or(given(&self.customer_address)).is_some() {
            let customer = record.customer.get_or_insert_with(Customer::default);
            over(&self.customer, &mut customer.name);
            over(&self.customer_address, &mut customer.address);
        }
        if let Some(text) = given(&self.temperature) {
            let read = Temperature::read(text).ok_or_else(|| {
                let problem = format!(
                    "{text:?} is no temperature of the air; write it with its unit, as 72 F or 22 C"
                );
                RecordError::key("temperature", problem)
            })?;
            record.weather.temperature = Some(read);
        }
        if let Some(text) = given(&self.wind) {
            let read = Wind::read(text);
            let read = read.map_err(|error| RecordError::key("wind", error.to_string()))?;
            if read.meters_per_second() >= HURRICANE {
                let problem = format!(
                    "{text:?} is a hurricane's, from 73 mph (force 12 of the Beaufort scale); write the wind as it was, with its unit"
                );
                return Err(RecordError::key("wind", problem));
            }
            record.weather.wind = Some(read);
        }
        Ok(())
    }

    fn lay_products(&self, record: &mut Record) -> Result<(), RecordError> {
        let mut told_of: Vec<usize> = Vec::new();
        for told in &self.product {
            let place = product_of(record, &told.product, "product")?;
            if told_of.contains(&place) {
                let problem = format!("{:?} has two blocks; keep one", told.product);
                return Err(RecordError::key("product", problem));
            }
            told_of.push(place);
            let product: &mut Product = &mut record.products[place];
            if let Some(name) = given(&told.name) {
                product.name = Some(name.to_owned());
            }
            if let Some(registration) = given(&told.registration) {
                product.registration = Some(registration.to_owned());
            }
            let lots = told.lots.iter().map(|lot| lot.trim()).filter(|lot| !lot.is_empty());
            let lots: Vec<String> = lots.map(str::to_owned).collect();
            if !lots.is_empty() {
                product.lots = lots;
            }
        }
        Ok(())
    }

    /// The place in the record of a load that is told of.
    pub(super) fn load_of(
        &self,
        record: &Record,
        told: &HappenedLoad,
    ) -> Result<usize, RecordError> {
        let same = |load: &&Load| {
            told.load == load.load && (told.batch.is_none() || told.batch == load.batch)
        };
        let mut found = record.loads.iter().enumerate().filter(|(_, load)| same(load));
        match (found.next(), found.next()) {
            (Some((place, _)), None) => Ok(place),
            (Some(_), Some(_)) => {
                Err(RecordError::key("load", "several have this number; give the batch too"))
            }
            (None, _) => {
                let known: Vec<String> = record.loads.iter().map(load_name).collect();
                let number = |it: Option<u32>| it.map_or("?".to_owned(), |it| it.to_string());
                let problem = format!(
                    "there is no batch {} load {}; there is: {}",
                    number(told.batch),
                    number(told.load),
                    known.join(", ")
                );
                Err(RecordError::key("load", problem))
            }
        }
    }
}

/// `batch 1 load 2`.
fn load_name(load: &Load) -> String {
    match (load.batch, load.load) {
        (Some(batch), Some(load)) => format!("batch {batch} load {load}"),
        _ => "one, without numbers".to_owned(),
    }
}

/// Takes an hour that was told without its day for the next day's, where else it would lie before `begun`.
fn over_midnight(
    told: &Option<String>,
    begun: Option<&ZonedDateTime>,
    place: &mut Option<ZonedDateTime>,
) {
    let is_hour = given(told).is_some_and(|text| !is_of_day(text));
    let (Some(begun), Some(at)) = (begun, place.as_ref()) else { return };
    if !is_hour || at >= begun {
        return;
    }
    if let Ok(next) = at.checked_add(1.day())
        && begun.duration_until(&next).as_secs_f64() <= NIGHT_HOURS * 3600.0
    {
        *place = Some(next);
    }
}

fn check_times(
    record: &Record,
    zone: Option<&TimeZone>,
    now: &ZonedDateTime,
) -> Result<(), RecordError> {
    if is_after_today(record.date, zone, now) {
        let problem = format!("{} is still to come; a record is of what was done", record.date);
        return Err(RecordError::key("date", problem));
    }
    if let Some(started) = record.started.as_ref().filter(|it| it.date() != record.date) {
        let problem =
            format!("is on {}, and date says {}; change one", started.date(), record.date);
        return Err(RecordError::key("started", problem));
    }
    let to_come = |key: String, at: &Option<ZonedDateTime>| match at {
        Some(at) if at > now => {
            let problem = format!("{} is still to come", at.strftime("%Y-%m-%d %H:%M %Z"));
            Err(RecordError::key(key, problem))
        }
        _ => Ok(()),
    };
    to_come("started".to_owned(), &record.started)?;
    to_come("ended".to_owned(), &record.ended)?;
    if record.started.as_ref().zip(record.ended.as_ref()).is_some_and(|(from, to)| to < from) {
        return Err(RecordError::key("ended", "lies before started; correct one"));
    }
    for (place, load) in record.loads.iter().enumerate() {
        let key = |part: &str| format!("load {}, {part}", place + 1);
        for (part, at) in [("started", &load.started), ("ended", &load.ended)] {
            to_come(key(part), at)?;
            let Some(at) = at else { continue };
            let is_before = record.started.as_ref().is_some_and(|from| at < from);
            let is_after = record.ended.as_ref().is_some_and(|to| at > to);
            if is_before || is_after {
                let bound =
                    if is_before { "before the job's started" } else { "after the job's ended" };
                let problem = format!("{} lies {bound}; correct one", at.strftime("%H:%M"));
                return Err(RecordError::key(key(part), problem));
            }
        }
        if load.started.as_ref().zip(load.ended.as_ref()).is_some_and(|(from, to)| to < from) {
            return Err(RecordError::key(key("ended"), "lies before started; correct one"));
        }
    }
    Ok(())
}
