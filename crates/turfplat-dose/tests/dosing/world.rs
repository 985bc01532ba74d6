//! The products, zones and equipment that the tests share.

use turfplat_dose::{
    ChosenProduct, Condition, Equipment, EquipmentKind, LoadPlan, Product, RateChoice, Species,
    ZoneToTreat, find_product, find_species,
};
use turfplat_units::{Amount, Area, Rate, WrittenAmount, WrittenRate};

pub(crate) fn written(text: &str) -> WrittenRate {
    text.parse().unwrap_or_else(|error| panic!("{text}: {error}"))
}

pub(crate) fn rate(text: &str) -> Rate {
    written(text).rate().unwrap()
}

pub(crate) fn amount(text: &str) -> Amount {
    text.parse::<WrittenAmount>().unwrap().amount().unwrap()
}

pub(crate) fn square_feet(value: f64) -> Area {
    Area::from_square_feet(value).unwrap()
}

pub(crate) fn acres(value: f64) -> Area {
    Area::from_acres(value).unwrap()
}

/// How much of `unit` (such as `1 gal`) an amount is.
pub(crate) fn of(amount_: Amount, unit: &str) -> f64 {
    amount_.over(amount(unit)).unwrap()
}

/// How much of `unit` (such as `1 lb/1000 sq ft`) a rate is.
pub(crate) fn rate_of(rate_: Rate, unit: &str) -> f64 {
    rate_.over(rate(unit)).unwrap()
}

pub(crate) fn regulator() -> Product {
    find_product("trinexapac-ethyl-1-ec").unwrap().clone()
}

pub(crate) fn grass(name: &str) -> &'static Species {
    find_species(name).unwrap()
}

/// A product of which nothing is published, so that any rate may be meant.
pub(crate) fn plain(id: &str, form: &str) -> Product {
    let formulation = match form {
        "liquid" => "SL",
        "dry soluble" => "WDG",
        _ => "granule",
    };
    let text = format!(
        "id = {id:?}\nname = {id:?}\nclass = \"herbicide\"\nform = {form:?}\n\
         formulation = {formulation:?}\n"
    );
    Product::from_toml(&text).unwrap()
}

/// A granular fertilizer of the grade `n-p-k`.
pub(crate) fn fertilizer(grade: &str) -> Product {
    let [n, p, k] = grade.split('-').collect::<Vec<_>>()[..] else { panic!("{grade}") };
    let text = format!(
        "id = \"grade-{grade}\"\nname = {grade:?}\nclass = \"fertilizer\"\nform = \"granule\"\n\
         formulation = \"granule\"\n[analysis]\nn = {n}\np2o5 = {p}\nk2o = \"{k} %\"\n"
    );
    Product::from_toml(&text).unwrap()
}

/// At one rate on every grass, from a label read on a day.
pub(crate) fn chosen(product: Product, text: &str) -> ChosenProduct {
    let rate = product.rate_of(&written(text)).unwrap();
    let label_checked = Some("2026-05-02".to_owned());
    ChosenProduct { product, rates: RateChoice::One(rate), label_checked }
}

pub(crate) fn zone(name: &str, species: &str, area: Area) -> ZoneToTreat {
    ZoneToTreat {
        name: name.to_owned(),
        area,
        species: species.split(", ").map(|name| find_species(name).unwrap()).collect(),
        unlisted_species: Vec::new(),
        condition: Condition::Good,
    }
}

pub(crate) fn backpack(tank: &str, spray_volume: &str) -> Equipment {
    Equipment {
        name: "knapsack".into(),
        kind: EquipmentKind::Backpack,
        tank: Some(amount(tank)),
        spray_volume: Some(rate(spray_volume)),
        smallest_measure: None,
        smallest_weight: None,
        marked_in: Vec::new(),
        dead_volume: None,
        load_plan: LoadPlan::Full,
        reduces: Vec::new(),
        speed: None,
        setting: None,
    }
}

pub(crate) fn spreader(hopper: Option<&str>) -> Equipment {
    Equipment {
        name: "spreader".into(),
        kind: EquipmentKind::Spreader,
        tank: hopper.map(amount),
        spray_volume: None,
        smallest_measure: None,
        smallest_weight: None,
        marked_in: Vec::new(),
        dead_volume: None,
        load_plan: LoadPlan::Full,
        reduces: Vec::new(),
        speed: None,
        setting: None,
    }
}
