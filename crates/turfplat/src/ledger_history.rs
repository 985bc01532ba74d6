//! Why records of the ledger are a history of the job and nothing beside it: caps and intervals are held
//! to in one place. What was told twice, in the job and in the ledger, counts twice, which is a
//! finding; a draft counts too, for what lies on the ground lies there.

use std::collections::BTreeMap;

use turfplat_dose::{Day, Product, find_product};
use turfplat_ledger::{Kept, Record, State};
use turfplat_units::{Amount, AmountUnit, Rate, WrittenAmount, nearest};

use crate::finding::Finding;
use crate::history::{PutDown, ToldBy, Treatment};
use crate::job::Job;
use crate::record::{lies, meant, product_of_plan};

/// The ledger whose records stand in a job's history.
#[derive(Clone, Debug)]
pub struct FromLedger {
    /// The file's name, for messages.
    pub file: String,
    /// By property: a county's map asks for one after the other.
    of_properties: BTreeMap<String, OfProperty>,
}

/// What the ledger holds of one property.
#[derive(Clone, Debug, Default)]
struct OfProperty {
    treatments: Vec<Treatment>,
    /// What should be seen of its records.
    findings: Vec<Finding>,
    /// Why some cannot be counted.
    unusable: Vec<String>,
}

impl Job {
    /// The job with the records of a ledger in its history: of `records` those that stand today.
    ///
    /// A record that cannot be counted stops its property, not the others: nobody knows what lies there.
    #[must_use]
    pub fn with_ledger(mut self, file: &str, records: &[Kept]) -> Job {
        let mut of_properties: BTreeMap<String, OfProperty> = BTreeMap::new();
        let standing = |kept: &&Kept| kept.replaced_by.is_none() && kept.state != State::TakenBack;
        for kept in records.iter().filter(standing) {
            let of_it = of_properties.entry(kept.record.property.clone()).or_default();
            match self.treatments(kept) {
                Ok((treatments, assumed)) => {
                    of_it.treatments.extend(treatments);
                    of_it.findings.extend(seen(kept, assumed, file));
                }
                Err(reason) => {
                    of_it.unusable.push(format!("{file}, record {}: {reason}", kept.id));
                }
            }
        }
        self.ledger = Some(FromLedger { file: file.to_owned(), of_properties });
        self
    }

    /// What has been put down on a property already: what the job tells, then what the ledger holds.
    pub fn history_of<'j>(&'j self, property: &str) -> impl Iterator<Item = &'j Treatment> {
        let of_ledger = self.ledger.as_ref().and_then(|it| it.of_properties.get(property));
        self.history.iter().chain(of_ledger.into_iter().flat_map(|it| &it.treatments))
    }

    /// True if anybody told what went on before: else there may have been something.
    pub fn is_told_of_before(&self) -> bool {
        !self.history.is_empty() || self.ledger.is_some()
    }

    /// A record as treatments, one for each product on each zone, and whether some of it is the plan's.
    fn treatments(&self, kept: &Kept) -> Result<(Vec<Treatment>, bool), String> {
        let record = &kept.record;
        let zones = lies(record).map_err(|untold| {
            format!(
                "does not say {}, nor did its plan (load {}); complete or correct it",
                untold.what, untold.load
            )
        })?;
        let day = Day::read(&record.date.to_string())
            .ok_or_else(|| format!("{} is no day that can be counted from", record.date))?;
        let mut assumed = false;
        let treatment = |lies: turfplat_ledger::OnZone| {
            let product = self.product_of_record(record, &lies.product)?;
            assumed |= lies.as_planned;
            // A product file may measure by the other of volume and weight.
            let (value, unit) = match lies.amount {
                Amount::Volume(volume) => (volume.millilitres(), AmountUnit::Millilitre),
                Amount::Mass(mass) => (mass.grams(), AmountUnit::Gram),
            };
            let amount = product.amount_of(&WrittenAmount { value, unit });
            let amount = amount.map_err(|error| format!("{}: {error}", lies.product))?;
            let thicker = Rate::of(lies.amount, lies.area).and_then(|mean| lies.rate.over(mean));
            let rate = Rate::of(amount, lies.area).map(|mean| mean.times(thicker.unwrap_or(1.0)));
            let rate = rate.ok_or_else(|| format!("{} was put on no ground", lies.product))?;
            Ok(Treatment {
                told_by: ToldBy::Record(kept.id),
                day,
                product,
                zones: Some(vec![lies.zone]),
                put_down: PutDown::Counted(rate, amount),
                area: None,
                note: record.note.clone(),
            })
        };
        let treatments = zones.into_iter().map(treatment).collect::<Result<Vec<_>, String>>()?;
        Ok((treatments, assumed))
    }

    /// The product of that id as the job has it, else as the record's plan knew it, else as it is known here.
    fn product_of_record(&self, record: &Record, id: &str) -> Result<Product, String> {
        let of_applications = self.applications.iter().flat_map(|it| &it.products);
        let own = of_applications.map(|chosen| &chosen.product);
        let told = self.history.iter().map(|treatment| &treatment.product);
        if let Some(product) = own.clone().chain(told).find(|product| product.id == id) {
            return Ok(product.clone());
        }
        if let Some(product) = product_of_plan(record.plan.as_ref(), id) {
            return Ok(product);
        }
        if let Ok(product) = find_product(id)
            && product.id == id
        {
            return Ok(product.clone());
        }
        let known = own.map(|product| product.id.as_str());
        Err(format!(
            "{id:?} is no product of the job and none that is known here ({}); what it counts for cannot be told: name its product file in an application of the job",
            meant(id, known)
        ))
    }
}

/// What should be seen of a record that counts.
fn seen(kept: &Kept, assumed: bool, file: &str) -> Option<Finding> {
    let is_draft = kept.state == State::Draft;
    let what = match (is_draft, assumed) {
        (false, false) => return None,
        (true, false) => "is a draft; what it tells lies on the ground and counts",
        (_, true) => {
            "does not tell all amounts and areas; those of its plan count until it is completed"
        }
    };
    Some(Finding {
        code: "record-draft",
        feature: format!("{file} record {}", kept.id),
        message: what.to_owned(),
        area_m2: 0.0,
    })
}

impl FromLedger {
    /// What should be seen of the records of a property, and why some cannot be counted.
    pub(crate) fn about(&self, property: &str) -> (Vec<Finding>, Vec<String>) {
        if let Some(of_it) = self.of_properties.get(property) {
            return (of_it.findings.clone(), of_it.unusable.clone());
        }
        let known = || self.of_properties.keys().map(String::as_str);
        let others = match (nearest(property, known()), known().count()) {
            (_, 0) => "it is empty".to_owned(),
            (Some(near), _) => format!("did you mean {near:?}?"),
            (None, count) => {
                let first: Vec<&str> = known().take(5).collect();
                let more = if count > first.len() { ", …" } else { "" };
                format!("it has {}{more}", first.join(", "))
            }
        };
        let finding = Finding {
            code: "no-record",
            feature: self.file.clone(),
            message: format!("holds no record of {property:?} ({others}); nothing of it counts"),
            area_m2: 0.0,
        };
        (vec![finding], Vec::new())
    }
}
