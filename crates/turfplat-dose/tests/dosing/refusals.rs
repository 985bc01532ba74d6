//! Equipment and products that do not go together, with the messages.

use std::collections::BTreeMap;

use turfplat_dose::{ChosenProduct, Equipment, Product, ProductClass, RateChoice, dose};

use crate::world::{
    acres, amount, backpack, chosen, plain, rate, regulator, spreader, square_feet, zone,
};

fn refusal(products: &[ChosenProduct], equipment: &Equipment) -> String {
    let lawn = zone("lawn", "tall-fescue", square_feet(1_000.0));
    dose(&[lawn], products, equipment).unwrap_err().to_string()
}

#[test]
fn equipment_that_cannot_do_it_is_told_so() {
    let knapsack = || backpack("3 gal", "1 gal/1000 sq ft");
    let liquid = || [chosen(plain("liquid", "liquid"), "1 fl oz/M")];
    let granule = || [chosen(plain("granule", "granule"), "5 lb/M")];
    for (products, equipment, message) in [
        (
            liquid(),
            Equipment { tank: None, ..knapsack() },
            "equipment knapsack: its tank is not given; add one, such as tank = \"3 gal\"",
        ),
        (
            liquid(),
            Equipment { tank: Some(amount("0 gal")), ..knapsack() },
            "equipment knapsack: its tank holds nothing; write what it holds, such as \"3 gal\"",
        ),
        (
            liquid(),
            Equipment { tank: Some(amount("3 lb")), ..knapsack() },
            "equipment knapsack: the tank of a backpack is not measured like 3 lb; write it like \
             \"3 gal\"",
        ),
        (
            granule(),
            spreader(Some("3 gal")),
            "equipment spreader: the tank of a spreader is not measured like 3 gal; write it \
             like \"50 lb\"",
        ),
        (
            liquid(),
            Equipment { spray_volume: None, ..knapsack() },
            "equipment knapsack: its spray volume is not given; add what calibration gave, such \
             as spray_volume = \"1.2 gal/1000 sq ft\"",
        ),
        (
            liquid(),
            Equipment { spray_volume: Some(rate("0 gal/M")), ..knapsack() },
            "equipment knapsack: its spray volume is nothing; add what calibration gave, such as \
             spray_volume = \"1.2 gal/1000 sq ft\"",
        ),
        (
            liquid(),
            Equipment { spray_volume: Some(rate("1 lb/M")), ..knapsack() },
            "equipment knapsack: its spray volume is a weight; add what calibration gave, such as \
             spray_volume = \"1.2 gal/1000 sq ft\"",
        ),
        (
            granule(),
            Equipment { spray_volume: Some(rate("1 gal/M")), ..spreader(None) },
            "equipment spreader: a spreader sprays nothing; leave spray_volume out",
        ),
        (
            liquid(),
            spreader(None),
            "equipment spreader: a spreader does not put down a liquid product like liquid; use \
             a backpack, hand-gun or boom",
        ),
        (
            [chosen(plain("powder", "dry soluble"), "1 oz wt/M")],
            spreader(None),
            "equipment spreader: a spreader does not put down a dry soluble product like powder; \
             use a backpack, hand-gun or boom, or a granule of it",
        ),
        (
            granule(),
            knapsack(),
            "equipment knapsack: a backpack does not put down a granule product like granule; \
             use a spreader, or a product file with form = \"dry soluble\" if its label allows \
             dissolving it",
        ),
        (
            liquid(),
            Equipment { smallest_measure: Some(amount("0 mL")), ..knapsack() },
            "equipment knapsack: the smallest measure is nothing; write the smallest mark, such \
             as \"0.25 fl oz\", or leave it out",
        ),
    ] {
        assert_eq!(refusal(&products, &equipment), message);
    }
}

#[test]
fn products_that_cannot_be_meant_are_told_so() {
    let knapsack = backpack("3 gal", "1 gal/1000 sq ft");
    let liquid = || chosen(plain("liquid", "liquid"), "1 fl oz/M");
    let by_name = BTreeMap::from([("tall fescue".to_owned(), rate("1 fl oz/M"))]);
    let far_too_much = rate("29 fl oz/1000 sq ft");
    for (products, message) in [
        (vec![], "no product is given; add one to the application"),
        (
            vec![liquid(), liquid()],
            "product liquid is given twice in one application; keep one of the two",
        ),
        (
            vec![ChosenProduct { label_checked: Some("yes".into()), ..liquid() }],
            "product liquid: label_checked \"yes\" is not a date; write it like \"2026-05-02\"",
        ),
        (
            vec![ChosenProduct { rates: RateChoice::One(rate("1 lb/M")), ..liquid() }],
            "rate 1 lb/1000 sq ft of liquid does not fit a liquid product; give liquids by \
             volume and dry products by weight",
        ),
        (
            vec![ChosenProduct { rates: RateChoice::BySpecies(by_name), ..liquid() }],
            "product liquid, rates: \"tall fescue\" is a name; write the id \"tall-fescue\"",
        ),
        (
            vec![chosen(
                Product { class: Some(ProductClass::Fertilizer), ..plain("liquid", "liquid") },
                "200 fl oz/M",
            )],
            "batch 1: the products alone come to 1.56 gal (5.91 L), more than the spray \
             volume of 1 gal (3.79 L); raise the spray volume or check the rates",
        ),
    ] {
        assert_eq!(refusal(&products, &knapsack), message);
    }
    // A rate that did not come by way of the product is asked all the same.
    let regulator = ChosenProduct {
        rates: RateChoice::One(far_too_much),
        ..chosen(regulator(), "0.25 fl oz/M")
    };
    let message = refusal(&[regulator], &knapsack);
    assert!(message.contains("is 38 times the highest published"), "{message}");
    assert!(message.contains("perhaps 29 fl oz/A (per acre)"), "{message}");
}

#[test]
fn a_tank_by_the_wrong_unit_is_noticed() {
    let lawn = zone("lawn", "tall-fescue", acres(10.0));
    let product = chosen(plain("liquid", "liquid"), "1 fl oz/M");
    assert_eq!(
        dose(&[lawn], &[product], &backpack("3 mL", "1 gal/M")).unwrap_err().to_string(),
        "batch 1: 436 gal (1,649 L) in a tank of 0.101 fl oz (3 mL) would be 549,642 loads; check the unit of the \
         tank and the areas"
    );
}

#[test]
fn ten_thousand_loads_are_the_most() {
    // 1,000 gal from a tank of 0.1 gal are 10,000 loads; 100 sq ft more are one load too many.
    let loads = |area: f64| {
        let lawn = zone("lawn", "tall-fescue", square_feet(area));
        let product = chosen(plain("liquid", "liquid"), "1 fl oz/M");
        dose(&[lawn], &[product], &backpack("0.1 gal", "1 gal/M"))
            .map(|dose| dose.batches[0].loads.len())
    };
    assert_eq!(loads(1e6), Ok(10_000));
    assert!(loads(1e6 + 100.0).unwrap_err().to_string().contains("would be 10,0"));
}
