//! What of a plan's document a record is made of. It is read back from the file: between plan and record
//! lie a day's work and perhaps another machine.

use jiff::civil::Date;
use serde::Deserialize;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use turfplat_ledger::{
    Applicator, Done, FieldList, Ground, Load, Product, Put, Quantity, Record, Weather,
};
use turfplat_units::{Amount, Area, UnitSystem, WrittenAmount, at_most, nearest};

use crate::made_from::hex;
use crate::print::Print;
use crate::record::error::RecordError;

/// A plan as its file holds it.
#[derive(Debug)]
pub struct FinishedPlan {
    document: Document,
    /// SHA-256 of the file.
    checksum: String,
}

#[derive(Debug, Deserialize)]
struct Document {
    properties: Vec<Property>,
}

#[derive(Debug, Deserialize)]
struct Property {
    property: String,
    #[serde(default)]
    jurisdiction: Vec<String>,
    #[serde(default)]
    hired: Option<bool>,
    #[serde(default)]
    made_from: Value,
    #[serde(default)]
    zones: Vec<Drawn>,
    applications: Vec<Application>,
}

/// A zone as it is drawn.
#[derive(Debug, Deserialize)]
struct Drawn {
    name: String,
    gross_area_m2: f64,
    net_area_m2: f64,
    #[serde(default)]
    net_surface_area_m2: Option<f64>,
}

impl Drawn {
    /// Its ground, on slopes more than the map shows.
    fn ground(&self) -> f64 {
        let steeper = self.net_surface_area_m2.map_or(1.0, |it| it / self.net_area_m2);
        self.gross_area_m2 * if steeper.is_finite() { steeper.max(1.0) } else { 1.0 }
    }
}

#[derive(Debug, Deserialize)]
struct Application {
    name: String,
    date: Option<String>,
    products: Vec<String>,
    equipment: String,
    #[serde(default)]
    equipment_kind: Option<String>,
    zones: Vec<Zone>,
    #[serde(default)]
    label: Vec<Label>,
    #[serde(default)]
    limits: Vec<Value>,
    batches: Vec<Batch>,
}

#[derive(Debug, Deserialize)]
struct Label {
    product: String,
    #[serde(default)]
    name: Option<String>,
    #[serde(default)]
    registration: Option<String>,
    #[serde(default)]
    counts: Value,
}

#[derive(Debug, Deserialize)]
struct Zone {
    zone: String,
    treated_area_m2: f64,
    products: Vec<Dosed>,
}

#[derive(Debug, Deserialize)]
struct Dosed {
    product: String,
    rate: Value,
    amount: Figure,
}

#[derive(Debug, Deserialize)]
struct Batch {
    batch: u32,
    loads: Vec<PlannedLoad>,
}

#[derive(Debug, Deserialize)]
struct PlannedLoad {
    load: u32,
    spray_volume: Option<Figure>,
    products: Vec<PlannedPut>,
    covers: Vec<Cover>,
}

#[derive(Debug, Deserialize)]
struct PlannedPut {
    product: String,
    measure: Figure,
}

#[derive(Debug, Deserialize)]
struct Cover {
    zone: String,
    area_m2: f64,
}

#[derive(Debug, Deserialize)]
struct Figure {
    value: f64,
    unit: String,
}

impl Figure {
    fn amount(&self) -> Option<Amount> {
        // `format!` of a number is read again to the last bit.
        let written: WrittenAmount = format!("{} {}", self.value, self.unit).parse().ok()?;
        written.amount().ok()
    }

    /// A mark of the cup or scale in its own unit.
    fn as_marked(&self) -> String {
        format!("{} {}", at_most(self.value, 4), self.unit)
    }

    fn is_metric(&self) -> bool {
        matches!(self.unit.as_str(), "mL" | "L" | "g" | "kg" | "t")
    }
}

impl FinishedPlan {
    /// Reads `plan.json`.
    ///
    /// # Errors
    ///
    /// [`RecordError::NotAPlan`] with the place.
    pub fn read(file: &str, text: &str) -> Result<FinishedPlan, RecordError> {
        let document: Document = serde_json::from_str(text).map_err(|error| {
            RecordError::NotAPlan { file: file.to_owned(), reason: error.to_string() }
        })?;
        Ok(FinishedPlan { document, checksum: hex(&Sha256::digest(text.as_bytes())) })
    }

    /// The work of one application on one property; without names the only one.
    ///
    /// # Errors
    ///
    /// None of that name, or several, with those that there are.
    pub fn work(
        &self,
        property: Option<&str>,
        application: Option<&str>,
    ) -> Result<PlannedWork<'_>, RecordError> {
        let all = &self.document.properties;
        let ids = || all.iter().map(|it| it.property.as_str());
        let property = match (property, &all[..]) {
            (None, [only]) => only,
            (None, _) => {
                let known = ids().collect::<Vec<_>>().join(", ");
                return Err(RecordError::SeveralProperties { known });
            }
            (Some(id), _) => all.iter().find(|it| it.property == id).ok_or_else(|| {
                RecordError::NoProperty { name: id.to_owned(), hint: meant(id, ids()) }
            })?,
        };
        let all = &property.applications;
        let names = || all.iter().map(|it| it.name.as_str());
        let application = match (application, &all[..]) {
            (None, [only]) => only,
            (None, _) => {
                let known = names().collect::<Vec<_>>().join(", ");
                return Err(RecordError::SeveralApplications { known });
            }
            (Some(name), _) => {
                let wanted = name.to_lowercase();
                let found = all.iter().find(|it| it.name.to_lowercase() == wanted);
                found.ok_or_else(|| RecordError::NoApplication {
                    name: name.to_owned(),
                    hint: meant(name, names()),
                })?
            }
        };
        if application.zones.is_empty() {
            let (name, property) = (application.name.clone(), property.property.clone());
            return Err(RecordError::Nothing { name, property });
        }
        Ok(PlannedWork { plan: self, property, application })
    }
}

/// `did you mean "June"?`, or what there is.
pub(crate) fn meant<'k>(word: &str, known: impl Iterator<Item = &'k str> + Clone) -> String {
    match nearest(word, known.clone()) {
        Some(near) => format!("did you mean {near:?}?"),
        None => format!("there is: {}", known.collect::<Vec<_>>().join(", ")),
    }
}

/// What one application means to put on one property.
#[derive(Debug)]
pub struct PlannedWork<'p> {
    plan: &'p FinishedPlan,
    property: &'p Property,
    application: &'p Application,
}

impl PlannedWork<'_> {
    /// In which units the plan was written.
    pub(crate) fn units(&self) -> UnitSystem {
        let amounts = self.application.zones.iter().flat_map(|zone| &zone.products);
        match amounts.clone().any(|dosed| dosed.amount.is_metric()) {
            true => UnitSystem::Metric,
            false => UnitSystem::Us,
        }
    }

    /// The day that the plan gives it.
    pub fn day(&self) -> Option<Date> {
        self.application.date.as_deref().and_then(|text| text.parse().ok())
    }

    /// Places of the job of which no list of record fields is known here.
    pub fn places_without_list(&self) -> Vec<&str> {
        let places = self.property.jurisdiction.iter().map(String::as_str);
        places.filter(|place| FieldList::of_jurisdiction(place).is_none()).collect()
    }

    /// The record before anybody told what happened: all that is the crew's to tell is open.
    pub fn untold(&self, date: Date) -> Record {
        let PlannedWork { property, application, .. } = self;
        let print = Print(self.units());
        let product = |id: &String| {
            let label = application.label.iter().find(|label| label.product == *id);
            Product {
                id: id.clone(),
                name: label.and_then(|it| it.name.clone()),
                registration: label.and_then(|it| it.registration.clone()),
                lots: Vec::new(),
            }
        };
        let amount = |figure: &Figure| figure.amount();
        let loads = application.batches.iter().flat_map(|batch| {
            batch.loads.iter().map(|load| Load {
                batch: Some(batch.batch),
                load: Some(load.load),
                planned_spray_volume: (load.spray_volume.as_ref().and_then(amount))
                    .map(|it| Quantity::new(print.spray(it), it)),
                products: (load.products.iter())
                    .map(|put| Put {
                        product: put.product.clone(),
                        amount: None,
                        planned: amount(&put.measure)
                            .map(|it| Quantity::new(put.measure.as_marked(), it)),
                    })
                    .collect(),
                done: (load.covers.iter())
                    .map(|cover| Done {
                        zone: cover.zone.clone(),
                        area: None,
                        planned: Area::from_square_metres(cover.area_m2)
                            .map(|it| Ground::new(it.print(print.0), it)),
                    })
                    .collect(),
                ..Load::default()
            })
        });
        let mut places: Vec<String> = Vec::new();
        for id in property.jurisdiction.iter().filter_map(|id| FieldList::of_jurisdiction(id)) {
            if places.iter().all(|known| known != id) {
                places.push(id.to_owned());
            }
        }
        let method = match &application.equipment_kind {
            Some(kind) => format!("{kind} ({})", application.equipment),
            None => application.equipment.clone(),
        };
        Record {
            property: property.property.clone(),
            application: application.name.clone(),
            date,
            started: None,
            ended: None,
            places,
            hired: property.hired,
            site: Some("turf".to_owned()),
            location: None,
            customer: None,
            applicator: Applicator::default(),
            purpose: None,
            method: Some(method),
            weather: Weather::default(),
            incidents: None,
            products: application.products.iter().map(product).collect(),
            loads: loads.collect(),
            note: None,
            plan: Some(self.frozen()),
        }
    }

    /// What is kept of the plan: what it meant for each zone, the limits it held to, and what it was made of.
    fn frozen(&self) -> Value {
        let PlannedWork { plan, property, application } = self;
        let zones = application.zones.iter().map(|zone| {
            let products = zone.products.iter().map(|dosed| {
                json!({
                    "product": dosed.product,
                    "rate": dosed.rate,
                    "amount": { "value": dosed.amount.value, "unit": dosed.amount.unit },
                })
            });
            let drawn = property.zones.iter().find(|it| it.name == zone.zone).map(Drawn::ground);
            json!({
                "zone": zone.zone,
                "treated_area_m2": zone.treated_area_m2,
                "drawn_area_m2": drawn,
                "products": products.collect::<Vec<_>>(),
            })
        });
        let counts = application.label.iter().map(|it| &it.counts).filter(|it| !it.is_null());
        // What nobody stated can be held to nothing.
        let is_stated = |limit: &&Value| !limit["allowed"].is_null();
        json!({
            "plan_sha256": plan.checksum,
            "made_from": property.made_from,
            "equipment": application.equipment,
            "products": counts.collect::<Vec<_>>(),
            "zones": zones.collect::<Vec<_>>(),
            "limits": application.limits.iter().filter(is_stated).collect::<Vec<_>>(),
        })
    }
}
