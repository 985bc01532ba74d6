//! What happened, as flags.

use std::path::{Path, PathBuf};

use anyhow::Context;
use turfplat::ledger::Record;
use turfplat::{Happened, HappenedProduct, RecordError};

use crate::input::date;

/// What happened: a form, and single words that outrank it.
#[derive(clap::Args)]
pub(crate) struct Told {
    /// Form that says what happened, with a block for each load (`record new` writes one)
    #[arg(long, value_name = "FILE")]
    happened: Option<PathBuf>,

    /// Amounts and areas that nothing else tells were as planned
    #[arg(long)]
    as_planned: bool,

    /// How much of a product was put down in all, as "2.4 fl oz", or of several NAME=AMOUNT
    #[arg(long = "amount", value_name = "[PRODUCT=]AMOUNT")]
    amounts: Vec<String>,

    /// How much of a zone was done, as "4800 sq ft", or of several ZONE=AREA
    #[arg(long = "area", value_name = "[ZONE=]AREA")]
    areas: Vec<String>,

    /// How much water went out in all, as "9.2 gal"
    #[arg(long, value_name = "VOLUME")]
    water: Option<String>,

    /// Lot number of a product, of several NAME=LOT
    #[arg(long = "lot", value_name = "[PRODUCT=]LOT")]
    lots: Vec<String>,

    /// Registration number of a product ("none" of what has none), of several NAME=NUMBER
    #[arg(long = "registration", value_name = "[PRODUCT=]NUMBER")]
    registrations: Vec<String>,

    /// Name of a product on its label, of several NAME=TEXT
    #[arg(long = "name", value_name = "[PRODUCT=]TEXT")]
    names: Vec<String>,

    /// Day on which it was done [default: the plan's]
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub(crate) date: Option<String>,

    /// Time zone of the times, such as America/Chicago
    #[arg(long, value_name = "ZONE")]
    timezone: Option<String>,

    /// When it began, as 07:40 or 2026-06-08T07:40-05:00
    #[arg(long, value_name = "TIME")]
    started: Option<String>,

    /// When it was completed
    #[arg(long, value_name = "TIME")]
    ended: Option<String>,

    /// Place whose list of fields is held to, such as minnesota; may be given several times
    /// [default: the job's]
    #[arg(long = "state", value_name = "PLACE")]
    states: Vec<String>,

    /// Whether it was work for hire [default: as the job says]
    #[arg(long, value_name = "yes|no", value_parser = yes_or_no)]
    hired: Option<bool>,

    /// Name of the certified applicator
    #[arg(long, value_name = "NAME")]
    applicator: Option<String>,

    /// Number of license or certificate
    #[arg(long, value_name = "NUMBER")]
    license: Option<String>,

    /// Who applied under supervision, or none
    #[arg(long, value_name = "NAME")]
    uncertified: Option<String>,

    /// Name of the company
    #[arg(long, value_name = "NAME")]
    company: Option<String>,

    /// Address of the company
    #[arg(long, value_name = "TEXT")]
    company_address: Option<String>,

    /// Name of the customer; kept only where a list asks for it
    #[arg(long, value_name = "NAME")]
    customer: Option<String>,

    /// Address of the customer; kept only where a list asks for it
    #[arg(long, value_name = "TEXT")]
    customer_address: Option<String>,

    /// Where it is: an address, or how it is found
    #[arg(long, value_name = "TEXT")]
    location: Option<String>,

    /// What was treated
    #[arg(long, value_name = "TEXT")]
    site: Option<String>,

    /// Target pest or purpose
    #[arg(long, value_name = "TEXT")]
    purpose: Option<String>,

    /// Method or equipment
    #[arg(long, value_name = "TEXT")]
    method: Option<String>,

    /// Temperature of the air, as "72 F"
    #[arg(long, value_name = "TEMP", allow_hyphen_values = true)]
    temperature: Option<String>,

    /// Wind speed, as "5 mph"
    #[arg(long, value_name = "SPEED")]
    wind: Option<String>,

    /// Where the wind came from, such as SW
    #[arg(long, value_name = "TEXT")]
    wind_from: Option<String>,

    /// What went wrong, or none
    #[arg(long, value_name = "TEXT")]
    incidents: Option<String>,

    /// A remark
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
}

fn yes_or_no(text: &str) -> Result<bool, String> {
    match text {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err("write yes or no".to_owned()),
    }
}

/// A form as a file tells it.
pub(crate) fn read_form(path: &Path) -> anyhow::Result<Happened> {
    let name = path.display().to_string();
    let text = std::fs::read_to_string(path).with_context(|| format!("cannot read {name}"))?;
    Ok(Happened::read(&name, &text)?)
}

impl Told {
    /// What the form tells, if one is given.
    pub(crate) fn form(&self) -> anyhow::Result<Option<Happened>> {
        self.happened.as_deref().map(read_form).transpose()
    }

    /// What the flags tell of a record.
    pub(crate) fn flags(&self, record: &Record) -> Result<Happened, RecordError> {
        let ids: Vec<&str> = record.products.iter().map(|product| product.id.as_str()).collect();
        let mut products: Vec<HappenedProduct> = Vec::new();
        let mut tell = |key: &str, texts: &[String], put: &dyn Fn(&mut HappenedProduct, String)| {
            for text in texts {
                let (id, value) = match named(text, &ids) {
                    ("", value) => match ids[..] {
                        [only] => (only, value),
                        _ => {
                            let problem = format!("say of which, as NAME=…: {}", ids.join(", "));
                            return Err(RecordError::Key { key: key.to_owned(), problem });
                        }
                    },
                    found => found,
                };
                let at = products.iter().position(|it| it.product == id).unwrap_or_else(|| {
                    products.push(HappenedProduct { product: id.to_owned(), ..Default::default() });
                    products.len() - 1
                });
                put(&mut products[at], value.to_owned());
            }
            Ok(())
        };
        tell("lot", &self.lots, &|it, lot| it.lots.push(lot))?;
        tell("registration", &self.registrations, &|it, text| it.registration = Some(text))?;
        tell("name", &self.names, &|it, text| it.name = Some(text))?;
        let zones: Vec<&str> = record
            .loads
            .iter()
            .flat_map(|load| &load.done)
            .map(|done| done.zone.as_str())
            .collect();
        let pairs = |texts: &[String], known: &[&str]| {
            let pair = |text: &String| {
                let (name, value) = named(text, known);
                (name.to_owned(), value.to_owned())
            };
            texts.iter().map(pair).collect()
        };
        Ok(Happened {
            date: self.date.clone(),
            timezone: self.timezone.clone(),
            started: self.started.clone(),
            ended: self.ended.clone(),
            states: (!self.states.is_empty()).then(|| self.states.clone()),
            hired: self.hired,
            site: self.site.clone(),
            location: self.location.clone(),
            customer: self.customer.clone(),
            customer_address: self.customer_address.clone(),
            applicator: self.applicator.clone(),
            license: self.license.clone(),
            uncertified: self.uncertified.clone(),
            company: self.company.clone(),
            company_address: self.company_address.clone(),
            purpose: self.purpose.clone(),
            method: self.method.clone(),
            temperature: self.temperature.clone(),
            wind: self.wind.clone(),
            wind_from: self.wind_from.clone(),
            incidents: self.incidents.clone(),
            note: self.note.clone(),
            as_planned: self.as_planned,
            product: products,
            amounts: pairs(&self.amounts, &ids),
            areas: pairs(&self.areas, &zones),
            water: self.water.clone(),
            ..Happened::default()
        })
    }
}

/// Name and value of `NAME=VALUE`; of a name that is known, which may have such a sign itself, the longest
/// such. A sign at the beginning names nothing: the value begins with it.
fn named<'t>(text: &'t str, known: &[&str]) -> (&'t str, &'t str) {
    let of_known = known.iter().filter_map(|name| {
        let rest = text.strip_prefix(name)?.strip_prefix('=')?;
        Some((&text[..name.len()], rest))
    });
    let longest = of_known.max_by_key(|(name, _)| name.len());
    let by_sign = || text.split_once('=').filter(|(name, _)| !name.is_empty());
    longest.or_else(by_sign).unwrap_or(("", text))
}

#[cfg(test)]
mod tests {
    use super::named;

    #[test]
    fn a_sign_in_a_name_or_a_value_is_no_end_of_it() {
        let known = ["urea", "a=b", "=c"];
        for (text, name, value) in [
            ("L1", "", "L1"),
            ("urea=L1", "urea", "L1"),
            ("urea==1+1", "urea", "=1+1"),
            ("=1+1", "", "=1+1"),
            ("a=b=L1", "a=b", "L1"),
            ("=c=L1", "=c", "L1"),
            ("urae=L1", "urae", "L1"),
        ] {
            assert_eq!(named(text, &known), (name, value), "{text}");
        }
    }
}
