//! Why records of the ledger are a history of the job and nothing beside it: caps and intervals are held
//! to in one place. What was told twice, in the job and in the ledger, counts twice, which is seen in the
//! plan; a draft counts too, for what lies on the ground lies there.

use std::collections::BTreeSet;

use turfplat_dose::{Day, Product, find_product};
use turfplat_ledger::{Kept, State, on_zones};
use turfplat_units::{Amount, AmountUnit, Rate, WrittenAmount};

use crate::finding::Finding;
use crate::history::{PutDown, ToldBy, Treatment};
use crate::job::Job;
use crate::record::meant;

/// The ledger whose records stand in a job's history.
#[derive(Clone, Debug)]
pub struct FromLedger {
    /// The file's name, for messages.
    pub file: String,
    properties: BTreeSet<String>,
    /// By property: what should be seen of its records.
    findings: Vec<(String, Finding)>,
    /// By property: why a record of it cannot be counted.
    unusable: Vec<(String, String)>,
}

impl Job {
    /// The job with the records of a ledger in its history: of `records` those that stand today.
    ///
    /// A record that cannot be counted stops its property, not the others: nobody knows what lies there.
    #[must_use]
    pub fn with_ledger(mut self, file: &str, records: &[Kept]) -> Job {
        let mut ledger = FromLedger {
            file: file.to_owned(),
            properties: BTreeSet::new(),
            findings: Vec::new(),
            unusable: Vec::new(),
        };
        let standing = |kept: &&Kept| kept.replaced_by.is_none() && kept.state != State::TakenBack;
        for kept in records.iter().filter(standing) {
            let property = &kept.record.property;
            ledger.properties.insert(property.clone());
            match self.treatments(kept) {
                Ok((treatments, assumed)) => {
                    self.history.extend(treatments);
                    ledger.findings.extend(
                        seen(kept, assumed, file).into_iter().map(|it| (property.clone(), it)),
                    );
                }
                Err(reason) => {
                    let reason = format!("{file}, record {}: {reason}", kept.id);
                    ledger.unusable.push((property.clone(), reason));
                }
            }
        }
        self.ledger = Some(ledger);
        self
    }

    /// True if anybody told what went on before: else there may have been something.
    pub fn is_told_of_before(&self) -> bool {
        !self.history.is_empty() || self.ledger.is_some()
    }

    /// A record as treatments, one for each product on each zone, and whether some of it is the plan's.
    fn treatments(&self, kept: &Kept) -> Result<(Vec<Treatment>, bool), String> {
        let record = &kept.record;
        let zones = on_zones(record).map_err(|untold| {
            format!(
                "does not say {}, nor did its plan (load {}); complete or correct it",
                untold.what, untold.load
            )
        })?;
        let day = Day::read(&record.date.to_string())
            .ok_or_else(|| format!("{} is no day that can be counted from", record.date))?;
        let mut assumed = false;
        let treatment = |lies: turfplat_ledger::OnZone| {
            let product = self.product_of_record(&lies.product)?;
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
                property: Some(record.property.clone()),
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

    /// The product of that id as the job has it, else as it is known here.
    fn product_of_record(&self, id: &str) -> Result<Product, String> {
        let of_applications = self.applications.iter().flat_map(|it| &it.products);
        let own = of_applications.map(|chosen| &chosen.product);
        let told = self.history.iter().map(|treatment| &treatment.product);
        if let Some(product) = own.clone().chain(told).find(|product| product.id == id) {
            return Ok(product.clone());
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
        let of_it = |id: &String| id == property;
        let mut findings: Vec<Finding> =
            self.findings.iter().filter(|(id, _)| of_it(id)).map(|(_, it)| it.clone()).collect();
        if !self.properties.contains(property) {
            let known = self.properties.iter().map(String::as_str);
            let others = match self.properties.is_empty() {
                true => "it is empty".to_owned(),
                false => meant(property, known.take(20).collect::<Vec<_>>().into_iter()),
            };
            findings.push(Finding {
                code: "no-record",
                feature: self.file.clone(),
                message: format!(
                    "holds no record of {property:?} ({others}); nothing of it counts"
                ),
                area_m2: 0.0,
            });
        }
        let unusable = self.unusable.iter().filter(|(id, _)| of_it(id)).map(|(_, it)| it.clone());
        (findings, unusable.collect())
    }
}
