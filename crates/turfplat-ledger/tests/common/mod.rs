//! Invented records and paths that the tests share.
#![allow(dead_code)] // Each test file uses some of it.

use turfplat_ledger::{Applicator, Done, Ground, Load, Product, Put, Quantity, Record, Weather};
use turfplat_units::{Amount, Area, Mass, Volume};

/// An invented application of `fl_oz` on 4,000 sq ft, with a note to know it by.
pub(crate) fn record(property: &str, date: &str, fl_oz: f64, note: &str) -> Record {
    let volume = Volume::from_millilitres(fl_oz * 29.573_529_562_5).expect("an amount");
    let grams = Mass::from_grams(100.0).expect("an amount");
    let ground = Area::from_square_feet(4000.0).expect("an area");
    let product = |id: &str| Product {
        id: id.to_owned(),
        name: Some(id.replace('-', " ")),
        registration: Some("00000-000".to_owned()),
        lots: Vec::new(),
    };
    let put = |id: &str, amount: Quantity| Put {
        product: id.to_owned(),
        amount: Some(amount),
        planned: None,
    };
    Record {
        property: property.to_owned(),
        application: "June".to_owned(),
        date: date.parse().expect("a day"),
        started: None,
        ended: None,
        places: Vec::new(),
        hired: Some(false),
        site: Some("turf".to_owned()),
        location: Some("14 Alder Lane".to_owned()),
        customer: None,
        applicator: Applicator {
            name: Some("B. Example".to_owned()),
            license: Some("X-0001".to_owned()),
            ..Applicator::default()
        },
        purpose: None,
        method: None,
        weather: Weather::default(),
        incidents: None,
        products: vec![product("growth-regulator"), product("iron")],
        loads: vec![Load {
            products: vec![
                put(
                    "growth-regulator",
                    Quantity::new(format!("{fl_oz} fl oz"), Amount::Volume(volume)),
                ),
                put("iron", Quantity::new("100 g", Amount::Mass(grams))),
            ],
            done: vec![Done {
                zone: "Front lawn".to_owned(),
                area: Some(Ground::new("4,000 sq ft", ground)),
                planned: None,
            }],
            ..Load::default()
        }],
        note: Some(note.to_owned()),
        plan: None,
    }
}
