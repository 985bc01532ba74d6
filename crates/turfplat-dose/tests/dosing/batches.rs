//! Batches, loads, measuring, and which ground a load covers.

use std::collections::BTreeMap;

use turfplat_dose::{ChosenProduct, RateChoice, dose};

use crate::world::{
    amount, backpack, chosen, of, plain, rate, regulator, spreader, square_feet, zone,
};

fn two_grasses() -> ChosenProduct {
    let rates = BTreeMap::from([
        ("bermudagrass-hybrid".to_owned(), rate("0.25 fl oz/1000 sq ft")),
        ("tall-fescue".to_owned(), rate("0.75 fl oz/1000 sq ft")),
    ]);
    ChosenProduct { rates: RateChoice::BySpecies(rates), ..chosen(regulator(), "0.25 fl oz/M") }
}

#[test]
fn no_load_covers_two_strengths() {
    // Three gallons would cover all of it: one fill, three times too strong for the bermudagrass.
    let zones = [
        zone("front", "bermudagrass-hybrid", square_feet(1_000.0)),
        zone("side", "tall-fescue", square_feet(500.0)),
        zone("back", "bermudagrass-hybrid", square_feet(1_000.0)),
    ];
    let dose = dose(&zones, &[two_grasses()], &backpack("3 gal", "1 gal/1000 sq ft")).unwrap();
    let batch_of: Vec<usize> = dose.zones.iter().map(|zone| zone.batch).collect();
    assert_eq!(batch_of, [1, 2, 1]);
    assert_eq!(dose.batches[0].zones, ["front", "back"]);
    assert_eq!(dose.batches[1].zones, ["side"]);
    for batch in &dose.batches {
        for load in &batch.loads {
            for cover in &load.covers {
                assert!(batch.zones.contains(&cover.zone), "load covers {}", cover.zone);
            }
        }
    }
}

#[test]
fn the_same_rate_written_two_ways_is_one_strength() {
    let rates = BTreeMap::from([
        ("bermudagrass-hybrid".to_owned(), rate("0.25 fl oz/1000 sq ft")),
        ("tall-fescue".to_owned(), rate("10.89 fl oz/A")),
    ]);
    let product = ChosenProduct { rates: RateChoice::BySpecies(rates), ..two_grasses() };
    let zones = [
        zone("front", "bermudagrass-hybrid", square_feet(1_000.0)),
        zone("back", "tall-fescue", square_feet(500.0)),
    ];
    let dose = dose(&zones, &[product], &backpack("3 gal", "1 gal/1000 sq ft")).unwrap();
    assert_eq!(dose.batches.len(), 1);
}

#[test]
fn a_mixed_stand_takes_the_lowest_rate_of_its_grasses() {
    let zones = [zone("front", "tall-fescue, bermudagrass-hybrid", square_feet(1_000.0))];
    let dose = dose(&zones, &[two_grasses()], &backpack("3 gal", "1 gal/1000 sq ft")).unwrap();
    assert!((of(dose.totals[0], "1 fl oz") - 0.25).abs() < 1e-12);
}

#[test]
fn full_tanks_and_a_last_one_in_walking_order() {
    let zones = [
        zone("front", "tall-fescue", square_feet(2_500.0)),
        zone("back", "tall-fescue", square_feet(5_000.0)),
    ];
    let product = chosen(regulator(), "0.5 fl oz/1000 sq ft");
    let dose = dose(&zones, &[product], &backpack("3 gal", "1 gal/1000 sq ft")).unwrap();
    let loads = &dose.batches[0].loads;

    let gallons: Vec<f64> =
        loads.iter().map(|load| of(load.spray_volume.unwrap(), "1 gal")).collect();
    for (ours, by_hand) in gallons.iter().zip([3.0, 3.0, 1.5]) {
        assert!((ours - by_hand).abs() < 1e-9, "{gallons:?}");
    }
    // Worked by hand: 3 gal is 384 fl oz, less 1.5 fl oz of product.
    assert!((of(loads[0].water.unwrap(), "1 fl oz") - 382.5).abs() < 1e-6);

    let covers: Vec<(&str, f64)> = loads
        .iter()
        .flat_map(|load| &load.covers)
        .map(|cover| (cover.zone.as_str(), cover.area.square_feet().round()))
        .collect();
    assert_eq!(covers, [("front", 2_500.0), ("back", 500.0), ("back", 3_000.0), ("back", 1_500.0)]);
}

#[test]
fn an_area_of_whole_tanks_has_no_last_sip() {
    // 0.3 gal/1000 sq ft on 10,000 sq ft is 3 gal but for rounding.
    let zones = [zone("front", "tall-fescue", square_feet(10_000.0))];
    let product = chosen(regulator(), "0.5 fl oz/1000 sq ft");
    let dose = dose(&zones, &[product], &backpack("0.1 gal", "0.3 gal/1000 sq ft")).unwrap();
    assert_eq!(dose.batches[0].loads.len(), 30);
    assert!(dose.batches[0].loads.iter().all(|load| load.covers.len() == 1));
}

#[test]
fn a_load_that_ends_with_its_zone_leaves_no_sliver() {
    // 3 gal of 0.1 gal each on every zone: 30 loads a zone, and the cuts lie on the edges but for
    // rounding.
    let zones: Vec<_> = (0..7)
        .map(|at| zone(&format!("zone {at}"), "tall-fescue", square_feet(10_000.0)))
        .collect();
    let product = chosen(regulator(), "0.5 fl oz/1000 sq ft");
    let dose = dose(&zones, &[product], &backpack("0.1 gal", "0.3 gal/1000 sq ft")).unwrap();
    let loads = &dose.batches[0].loads;
    assert_eq!(loads.len(), 210);
    for (place, load) in loads.iter().enumerate() {
        let covers: Vec<usize> = load.covers.iter().map(|cover| cover.index).collect();
        assert_eq!(covers, [place / 30], "load {}", load.number);
    }
}

#[test]
fn loads_are_equal_where_the_last_could_not_be_measured() {
    // Worked by hand: 3.1 gal in a 3 gal tank leaves 0.1 gal with 0.025 fl oz, below 1/8 fl oz;
    // two equal loads hold 0.3875 fl oz each, three marks of 1/8 = 0.375 fl oz.
    let mut knapsack = backpack("3 gal", "1 gal/1000 sq ft");
    knapsack.smallest_measure = Some(amount("1/8 fl oz"));
    let zones = [zone("front", "tall-fescue", square_feet(3_100.0))];
    let product = chosen(regulator(), "0.25 fl oz/1000 sq ft");
    let dose = dose(&zones, &[product], &knapsack).unwrap();
    let loads = &dose.batches[0].loads;
    assert_eq!(loads.len(), 2);
    for load in loads {
        assert!((of(load.spray_volume.unwrap(), "1 gal") - 1.55).abs() < 1e-9);
        assert!((of(load.products[0].exact, "1 fl oz") - 0.3875).abs() < 1e-9);
        assert!((of(load.products[0].measured, "1 fl oz") - 0.375).abs() < 1e-9);
        assert!((load.products[0].error - (0.375 / 0.3875 - 1.0)).abs() < 1e-9);
    }
}

#[test]
fn an_amount_on_a_mark_is_measured_as_it_is() {
    let mut knapsack = backpack("4 gal", "1 gal/1000 sq ft");
    knapsack.smallest_measure = Some(amount("0.1 fl oz"));
    let zones = [zone("front", "tall-fescue", square_feet(4_000.0))];
    let product = chosen(regulator(), "0.3 fl oz/1000 sq ft");
    let dose = dose(&zones, &[product], &knapsack).unwrap();
    let product = &dose.batches[0].loads[0].products[0];
    assert!((of(product.measured, "1 fl oz") - 1.2).abs() < 1e-9);
    assert!(product.error.abs() < 1e-9);
}

#[test]
fn every_mark_from_the_smallest_on_can_be_measured_whatever_the_rounding() {
    let mut knapsack = backpack("100 gal", "1 gal/1000 sq ft");
    knapsack.smallest_measure = Some(amount("0.1 fl oz"));
    let zones = [zone("front", "tall-fescue", square_feet(1_000.0))];
    for marks in 1..=60 {
        let amount = f64::from(marks) / 10.0;
        let product = chosen(plain("liquid", "liquid"), &format!("{amount} fl oz/M"));
        let dose = dose(&zones, &[product], &knapsack).unwrap();
        let product = &dose.batches[0].loads[0].products[0];
        assert!((of(product.measured, "1 fl oz") - amount).abs() < 1e-9, "{amount}");
        assert!(product.error.abs() < 1e-9, "{amount}");
    }
}

#[test]
fn below_the_smallest_mark_is_refused_with_a_cure() {
    let mut knapsack = backpack("3 gal", "1 gal/1000 sq ft");
    knapsack.smallest_measure = Some(amount("0.25 fl oz"));
    let product = || [chosen(regulator(), "0.25 fl oz/1000 sq ft")];
    let strip = [zone("strip", "tall-fescue", square_feet(300.0))];
    // Worked by hand: 0.075 fl oz × 29.5735 = 2.218 mL; the mark 0.25 fl oz is 7.393 mL.
    assert_eq!(
        dose(&strip, &product(), &knapsack).unwrap_err().to_string(),
        "batch 1 (strip), load 1 of 1: 0.075 fl oz (2.22 mL) of trinexapac-ethyl-1-ec is below the \
         smallest mark of 0.25 fl oz (7.39 mL); use a finer measure (in mL or g), or treat it with more ground of the \
         same rate"
    );
    knapsack.tank = Some(amount("0.5 gal"));
    let lawn = [zone("lawn", "tall-fescue", square_feet(1_000.0))];
    assert_eq!(
        dose(&lawn, &product(), &knapsack).unwrap_err().to_string(),
        "batch 1 (lawn), load 1 of 2: 0.125 fl oz (3.7 mL) of trinexapac-ethyl-1-ec is below the \
         smallest mark of 0.25 fl oz (7.39 mL); use a finer measure (in mL or g), or fewer loads from a larger tank"
    );
}

#[test]
fn a_cup_does_not_weigh() {
    let mut knapsack = backpack("3 gal", "1 gal/1000 sq ft");
    knapsack.smallest_measure = Some(amount("0.25 fl oz"));
    let lawn = [zone("lawn", "tall-fescue", square_feet(1_234.0))];
    let dose = dose(&lawn, &[chosen(plain("dry", "dry soluble"), "1 oz wt/M")], &knapsack).unwrap();
    let product = &dose.batches[0].loads[0].products[0];
    assert_eq!(product.measured, product.exact);
}

#[test]
fn a_scale_beside_the_cup_rounds_what_is_weighed() {
    // Worked by hand: 1.234 oz wt and 0.617 fl oz; the marks 0.1 oz wt and 0.25 fl oz round them
    // down to 1.2 oz wt (−2.755 %) and 0.5 fl oz, for no most is known.
    let mut knapsack = backpack("3 gal", "1 gal/1000 sq ft");
    knapsack.smallest_measure = Some(amount("0.25 fl oz"));
    let mix = || {
        let dry = chosen(plain("dry", "dry soluble"), "1 oz wt/M");
        [chosen(plain("wet", "liquid"), "0.5 fl oz/M"), dry]
    };
    let lawn = [zone("lawn", "tall-fescue", square_feet(1_234.0))];
    let loads = |equipment: &turfplat_dose::Equipment| {
        dose(&lawn, &mix(), equipment).unwrap().batches.swap_remove(0).loads
    };
    let unweighed = &loads(&knapsack)[0].products[1];
    assert_eq!(unweighed.measured, unweighed.exact);
    assert!(knapsack.lacks_mark_for(unweighed.exact));
    knapsack.smallest_weight = Some(amount("0.1 oz wt"));
    let weighed = &loads(&knapsack)[0].products;
    assert!((of(weighed[0].measured, "1 fl oz") - 0.5).abs() < 1e-9);
    assert!((of(weighed[1].measured, "1 oz wt") - 1.2).abs() < 1e-9);
    assert!((weighed[1].error - (1.2 / 1.234 - 1.0)).abs() < 1e-9);
    assert!(!knapsack.lacks_mark_for(weighed[1].exact));
    // A scale alone stands where the cup's mark does.
    knapsack.smallest_weight = None;
    knapsack.smallest_measure = Some(amount("2 oz wt"));
    let too_little = dose(&lawn, &mix(), &knapsack).unwrap_err().to_string();
    assert!(
        too_little
            .contains("1.23 oz wt (35 g) of dry is below the smallest mark of 2 oz wt (56.7 g)"),
        "{too_little}"
    );
}

#[test]
fn a_hopper_is_filled_by_weight() {
    let zones = [
        zone("front", "tall-fescue", square_feet(6_000.0)),
        zone("back", "tall-fescue", square_feet(6_000.0)),
    ];
    let product = chosen(plain("granule", "granule"), "5 lb/1000 sq ft");
    let dose = dose(&zones, &[product], &spreader(Some("40 lb"))).unwrap();
    let loads = &dose.batches[0].loads;
    let pounds: Vec<f64> = loads.iter().map(|load| of(load.products[0].exact, "1 lb")).collect();
    assert!((pounds[0] - 40.0).abs() < 1e-9 && (pounds[1] - 20.0).abs() < 1e-9, "{pounds:?}");
    assert!(loads.iter().all(|load| load.spray_volume.is_none() && load.water.is_none()));
    // Worked by hand: 40 lb at 5 lb/1000 sq ft cover 8,000 sq ft.
    assert_eq!(loads[0].covers[1].area.square_feet().round(), 2_000.0);
}

#[test]
fn nothing_to_treat_is_an_empty_dose_and_no_error() {
    let dose = dose(&[], &[two_grasses()], &backpack("3 gal", "1 gal/M")).unwrap();
    assert_eq!(dose.totals, [amount("0 mL")]);
    assert_eq!(dose.water, Some(amount("0 mL")));
    assert!(dose.batches.is_empty());
}
