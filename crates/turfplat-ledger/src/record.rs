use jiff::ZonedDateTime;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::quantity::{Ground, Quantity, Temperature, Wind};

/// What one application put on one property. Whatever nobody told is `None`, never nothing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Record {
    /// Id of the property.
    pub property: String,
    /// Name of the application, such as `June`.
    pub application: String,
    /// The day, where it was done.
    pub date: Date,
    /// When the work began.
    pub started: Option<ZonedDateTime>,
    /// When it was completed.
    pub ended: Option<ZonedDateTime>,
    /// Ids of the places whose lists of fields were chosen, such as `minnesota`.
    pub places: Vec<String>,
    /// Whether it was work for hire.
    pub hired: Option<bool>,
    /// What the ground is: the site of a record, such as `turf`.
    pub site: Option<String>,
    /// Where it is: an address or a description by which it is found.
    pub location: Option<String>,
    /// For whom; kept only where a list asks for it.
    pub customer: Option<Customer>,
    /// Who answers for it.
    pub applicator: Applicator,
    /// Against or for what.
    pub purpose: Option<String>,
    /// By which equipment.
    pub method: Option<String>,
    /// The weather as it was met.
    pub weather: Weather,
    /// What went wrong; `none` where nothing did.
    pub incidents: Option<String>,
    /// What was used.
    pub products: Vec<Product>,
    /// One of each tank or hopper fill, or one for all.
    pub loads: Vec<Load>,
    /// A remark for people.
    pub note: Option<String>,
    /// What the plan had said, frozen; opaque here.
    pub plan: Option<Value>,
}

/// For whom.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // The field names say it.
pub struct Customer {
    pub name: Option<String>,
    pub address: Option<String>,
}

/// Who did it, and for which business.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Applicator {
    /// Name of the certified applicator who applied or supervised.
    pub name: Option<String>,
    /// Number of license or certificate.
    pub license: Option<String>,
    /// Who applied under supervision; `none` where nobody did.
    pub uncertified: Option<String>,
    /// Name of the business.
    pub company: Option<String>,
    /// Its address.
    pub company_address: Option<String>,
}

/// The weather as it was met.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // The field names say it.
pub struct Weather {
    pub temperature: Option<Temperature>,
    pub wind: Option<Wind>,
    /// Where it comes from, such as `SW`.
    pub wind_from: Option<String>,
}

/// A product that was used.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Product {
    /// Its id in plan and job.
    pub id: String,
    /// Its name on the label.
    pub name: Option<String>,
    /// Its registration number; `none` of what needs none, such as a fertilizer.
    pub registration: Option<String>,
    /// Lot numbers of the containers.
    pub lots: Vec<String>,
}

/// One fill of a tank or a hopper.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Load {
    /// Batch of the plan, from 1.
    pub batch: Option<u32>,
    /// Its number in the batch, from 1.
    pub load: Option<u32>,
    /// When it was begun.
    pub started: Option<ZonedDateTime>,
    /// When it was empty.
    pub ended: Option<ZonedDateTime>,
    /// Water that went in.
    pub water: Option<Quantity>,
    /// All that went out, where it was measured; else water and what is liquid in it.
    pub spray_volume: Option<Quantity>,
    /// How much of it the plan had meant.
    #[serde(default)]
    pub planned_spray_volume: Option<Quantity>,
    /// What went in.
    pub products: Vec<Put>,
    /// What was done with it.
    pub done: Vec<Done>,
}

/// A product as it went into a load.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Put {
    /// Its id.
    pub product: String,
    /// How much was put down; `None` where nobody told.
    pub amount: Option<Quantity>,
    /// How much the plan had meant.
    pub planned: Option<Quantity>,
}

/// Ground that a load was put on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Done {
    /// Name of the zone.
    pub zone: String,
    /// How much of it; `None` where nobody told.
    pub area: Option<Ground>,
    /// How much of it the plan had meant.
    pub planned: Option<Ground>,
}

#[cfg(test)]
pub(crate) mod tests {
    use turfplat_units::{Amount, Area, Volume};

    use super::*;

    /// An invented application, complete for Minnesota.
    pub(crate) fn record() -> Record {
        let volume =
            |ml: f64| Amount::Volume(Volume::from_millilitres(ml).expect("an amount of the test"));
        let some = |text: &str| Some(text.to_owned());
        let ended = "2026-06-08T09:10:00-05:00[America/Chicago]".parse().expect("a time");
        let ground = Area::from_square_feet(4000.0).expect("an area");
        Record {
            property: "14-alder-lane".to_owned(),
            application: "June".to_owned(),
            date: "2026-06-08".parse().expect("a day"),
            started: None,
            ended: Some(ended),
            places: vec!["minnesota".to_owned()],
            hired: Some(true),
            site: some("turf"),
            location: some("14 Alder Lane, lawns on all sides of the house"),
            customer: Some(Customer { name: some("A. Sample"), address: some("14 Alder Lane") }),
            applicator: Applicator {
                name: some("B. Example"),
                license: some("X-0001"),
                uncertified: some("none"),
                company: some("Example Turf"),
                company_address: some("1 Sample Road"),
            },
            purpose: None,
            method: some("backpack"),
            weather: Weather {
                temperature: Temperature::read("68 F"),
                wind: Wind::read("5 mph").ok(),
                wind_from: some("SW"),
            },
            incidents: None,
            products: vec![Product {
                id: "trinexapac-ethyl-1-ec".to_owned(),
                name: some("trinexapac-ethyl 1 EC"),
                registration: some("00000-000"),
                lots: vec!["L1".to_owned()],
            }],
            loads: vec![Load {
                batch: Some(1),
                load: Some(1),
                water: Some(Quantity::new("4 gal", volume(4.0 * 3_785.411_784))),
                products: vec![Put {
                    product: "trinexapac-ethyl-1-ec".to_owned(),
                    amount: Some(Quantity::new("2 fl oz", volume(59.147_059_125))),
                    planned: None,
                }],
                done: vec![Done {
                    zone: "Front lawn".to_owned(),
                    area: Some(Ground::new("4,000 sq ft", ground)),
                    planned: None,
                }],
                ..Load::default()
            }],
            note: None,
            plan: None,
        }
    }
}
