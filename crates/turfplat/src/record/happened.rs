//! What a crew tells, from a form (TOML) or one word at a time, laid over a record: over the plan's
//! untold one, a draft, or one that is corrected. What is not told is left as it stood.

use std::collections::BTreeMap;

use jiff::ZonedDateTime;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::Deserialize;
use turfplat_ledger::{Customer, FieldList, Load, Product, Record, Temperature, Wind};

use crate::job_file;
use crate::record::amounts::product_of;
use crate::record::error::RecordError;
use crate::record::moment::{is_after_today, moment, zone};

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
        toml::from_str(text).map_err(|error: toml::de::Error| RecordError::NotAForm {
            file: file.to_owned(),
            reason: error.to_string().trim_end().to_owned(),
        })
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
            let Some(text) = given(text) else { return Ok(()) };
            let at = moment(text, Some(record.date), zone.as_ref());
            let at = at.map_err(|problem| RecordError::key(key, problem))?;
            if at > *now {
                return Err(RecordError::key(key, format!("{text:?} is still to come")));
            }
            *place = Some(at);
            Ok(())
        };
        let (mut started, mut ended) = (record.started.clone(), record.ended.clone());
        time("started", &self.started, &mut started)?;
        time("ended", &self.ended, &mut ended)?;
        for told in &self.load {
            let place = self.load_of(record, told)?;
            let load = &mut record.loads[place];
            let key = |part: &str| format!("load {}, {part}", place + 1);
            time(&key("started"), &told.started, &mut load.started)?;
            time(&key("ended"), &told.ended, &mut load.ended)?;
        }
        (record.started, record.ended) = (started, ended);
        // What is told of the loads tells of the whole.
        let first = record.loads.iter().filter_map(|load| load.started.clone()).min();
        let last = record.loads.iter().filter_map(|load| load.ended.clone()).max();
        record.started = record.started.take().or(first);
        record.ended = record.ended.take().or(last);
        self.check_times(record, now)?;
        self.lay_words(record)?;
        self.lay_products(record)?;
        self.lay_amounts(record)
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

    fn check_times(&self, record: &Record, now: &ZonedDateTime) -> Result<(), RecordError> {
        if is_after_today(record.date, now) {
            let problem = format!("{} is still to come; a record is of what was done", record.date);
            return Err(RecordError::key("date", problem));
        }
        if let Some(started) = record.started.as_ref().filter(|it| it.date() != record.date) {
            let problem =
                format!("is on {}, and date says {}; change one", started.date(), record.date);
            return Err(RecordError::key("started", problem));
        }
        for (place, load) in record.loads.iter().enumerate() {
            if let (Some(started), Some(ended)) = (&load.started, &load.ended)
                && ended < started
            {
                let key = format!("load {}, ended", place + 1);
                return Err(RecordError::key(key, "lies before started"));
            }
        }
        Ok(())
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
        over(&self.wind_from, &mut record.weather.wind_from);
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
            record.weather.wind = Some(read);
        }
        Ok(())
    }

    fn lay_products(&self, record: &mut Record) -> Result<(), RecordError> {
        for told in &self.product {
            let place = product_of(record, &told.product, "product")?;
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
                let name = |load: &Load| match (load.batch, load.load) {
                    (Some(batch), Some(load)) => format!("batch {batch} load {load}"),
                    _ => "one, without numbers".to_owned(),
                };
                let known: Vec<String> = record.loads.iter().map(name).collect();
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
