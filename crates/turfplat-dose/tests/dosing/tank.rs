//! Dead volume, equal loads, nearest marks, and where on the ground a load ends.

use turfplat_dose::{ChosenProduct, Equipment, LoadPlan, Product, dose};

use crate::world::{
    amount, backpack, chosen, of, plain, rate_of, regulator, spreader, square_feet, written, zone,
};

fn close(ours: f64, by_hand: f64) {
    assert!((ours - by_hand).abs() <= 1e-9, "{ours} ≠ {by_hand}");
}

/// A liquid whose label allows at most 1 fl oz/1000 sq ft at once.
fn capped() -> Product {
    let text = "id = \"capped\"\nname = \"capped\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
                formulation = \"SL\"\n[limits.max_per_application]\n\
                limit = \"1 fl oz/1000 sq ft\"\nsource = \"label\"\n";
    Product::from_toml(text).unwrap()
}

fn with_dead_volume() -> Equipment {
    Equipment { dead_volume: Some(amount("0.5 gal")), ..backpack("3 gal", "1 gal/1000 sq ft") }
}

#[test]
fn the_dead_volume_is_mixed_once_and_covers_nothing() {
    // Worked by hand: 5,000 sq ft take 5 gal; a load sprays 3 − 0.5 = 2.5 gal, so there are two.
    // The first fill is 3 gal with 1.5 fl oz, of which 0.25 fl oz stay in hose and sump.
    let lawn = [zone("lawn", "tall-fescue", square_feet(5_000.0))];
    let product = || [chosen(regulator(), "0.5 fl oz/1000 sq ft")];
    let dose_ = dose(&lawn, &product(), &with_dead_volume()).unwrap();
    let batch = &dose_.batches[0];
    assert_eq!(batch.loads.len(), 2);
    close(of(batch.loads[0].spray_volume.unwrap(), "1 gal"), 2.5);
    close(of(batch.loads[0].mixed_spray().unwrap(), "1 gal"), 3.0);
    // 3 gal is 384 fl oz, less 1.5 fl oz of product; the second load has 2.5 gal, 320 fl oz.
    close(of(batch.loads[0].mixed_water().unwrap(), "1 fl oz"), 382.5);
    close(of(batch.loads[1].mixed_water().unwrap(), "1 fl oz"), 318.75);
    assert_eq!([batch.loads[0].number, batch.loads[1].number], [1, 2]);
    close(of(batch.loads[0].mixed_products()[0].exact, "1 fl oz"), 1.5);
    close(of(batch.loads[1].mixed_products()[0].exact, "1 fl oz"), 1.25);
    assert_eq!(batch.loads[1].first_fill, None);
    let dead = batch.dead_volume.as_ref().unwrap();
    close(of(dead.spray_volume, "1 gal"), 0.5);
    close(of(dead.products[0], "1 fl oz"), 0.25);
    close(of(dead.water, "1 fl oz"), 63.75);
    // Totals go on turf.
    close(of(dose_.totals[0], "1 fl oz"), 2.5);
    close(of(dose_.spray_volume.unwrap(), "1 gal"), 5.0);
}

#[test]
fn loads_that_are_mixed_alike_share_their_steps() {
    // 7,500 sq ft at 1 gal and 0.5 fl oz a 1,000 sq ft: loads of 3, 3 and 1.5 gal, which take 1.5,
    // 1.5 and 0.75 fl oz. A quart of 3 gal is 1/12 of them.
    let lawn = [zone("lawn", "tall-fescue", square_feet(7_500.0))];
    let knapsack = backpack("3 gal", "1 gal/1000 sq ft");
    let product = regulator();
    let dose = dose(&lawn, &[chosen(product.clone(), "0.5 fl oz/M")], &knapsack).unwrap();
    let fills = dose.batches[0].mixing(&[&product]);
    let loads: Vec<&[usize]> = fills.iter().map(|fill| fill.loads.as_slice()).collect();
    assert_eq!(loads, [&[1, 2][..], &[3]]);
    let ounces = |steps: &[turfplat_dose::Step]| {
        let step = steps.iter().find(|step| step.product.is_some()).unwrap();
        of(step.amount.unwrap(), "1 fl oz")
    };
    close(ounces(&fills[0].steps), 1.5);
    close(ounces(&fills[1].steps), 0.75);
    let jar = dose.batches[0].jar_test(&[&product], turfplat_dose::quart_jar()).unwrap();
    close(ounces(&jar.steps), 0.125);
    close(of(turfplat_dose::litre_jar(), "1 mL"), 1_000.0);
    // A spreader mixes nothing.
    let granules = [chosen(plain("granule", "granule"), "5 lb/M")];
    let spread = turfplat_dose::dose(&lawn, &granules, &spreader(None)).unwrap();
    assert!(spread.batches[0].mixing(&[&granules[0].product]).is_empty());
}

#[test]
fn a_dead_volume_that_cannot_be_is_told_so() {
    let lawn = [zone("lawn", "tall-fescue", square_feet(5_000.0))];
    let liquid = || [chosen(plain("liquid", "liquid"), "1 fl oz/M")];
    let granule = || [chosen(plain("granule", "granule"), "5 lb/M")];
    let with = |dead: &str, equipment: Equipment| Equipment {
        dead_volume: Some(amount(dead)),
        ..equipment
    };
    for (products, equipment, message) in [
        (
            liquid(),
            with("3 gal", with_dead_volume()),
            "equipment knapsack: its dead volume of 3 gal leaves nothing to spray of a tank of \
             3 gal; measure what stays when the pump draws air",
        ),
        (
            liquid(),
            with("1 lb", with_dead_volume()),
            "equipment knapsack: its dead volume is a weight; write it like \"0.1 gal\"",
        ),
        (
            granule(),
            with("1 lb", spreader(Some("50 lb"))),
            "equipment spreader: its dead volume cannot be: a spreader has no hose or sump; \
             leave dead_volume out",
        ),
    ] {
        assert_eq!(dose(&lawn, &products, &equipment).unwrap_err().to_string(), message);
    }
}

#[test]
fn equal_loads_are_the_fewest_and_all_alike() {
    let lawn = [zone("lawn", "tall-fescue", square_feet(7_000.0))];
    let product = || [chosen(regulator(), "0.5 fl oz/1000 sq ft")];
    let equal = Equipment { load_plan: LoadPlan::Equal, ..backpack("3 gal", "1 gal/M") };
    let dose_ = dose(&lawn, &product(), &equal).unwrap();
    let loads = &dose_.batches[0].loads;
    // Worked by hand: 7 gal in a 3 gal tank are three loads, of 7/3 gal and 7/6 fl oz each.
    assert_eq!(loads.len(), 3);
    for load in loads {
        close(of(load.spray_volume.unwrap(), "1 gal"), 7.0 / 3.0);
        close(of(load.products[0].exact, "1 fl oz"), 7.0 / 6.0);
    }
}

#[test]
fn a_last_load_of_another_strength_makes_all_loads_equal_unless_all_are_within_5_percent() {
    // Measured to 1/4 fl oz and rounded down, from 3 gal tanks at 1 gal/1000 sq ft. By hand, what
    // measuring does to a full load, to the last one, and to each of two equal ones:
    #[rustfmt::skip]
    let table = [
        // rate, sq ft, gallons of the loads
        ("0.25 fl oz/M",  4_500.0, vec![2.25, 2.25]),   // 0, -33 %, -11 %: the last is the worst by far
        ("0.275 fl oz/M", 4_004.5, vec![3.0, 1.0045]),  // -9.1, -9.5, -9.2 %: one strength within 1 %
        ("0.25 fl oz/M",  5_105.0, vec![3.0, 2.105]),   // 0, -5, -22 %: within the trade's ±5 % beats one strength
        ("0.25 fl oz/M",  5_110.0, vec![1.022; 5]),     // 0, -5.1, -22 %: beyond it; of 3, 4, 5 equal ones -41, -22, -2.2 %
    ];
    for (rate, area, gallons) in table {
        let knapsack = Equipment {
            smallest_measure: Some(amount("0.25 fl oz")),
            ..backpack("3 gal", "1 gal/M")
        };
        let lawn = [zone("lawn", "tall-fescue", square_feet(area))];
        let dose = dose(&lawn, &[chosen(plain("liquid", "liquid"), rate)], &knapsack).unwrap();
        let loads = &dose.batches[0].loads;
        assert_eq!(loads.len(), gallons.len(), "{rate} on {area}");
        for (load, by_hand) in loads.iter().zip(gallons) {
            close(of(load.spray_volume.unwrap(), "1 gal"), by_hand);
        }
    }
}

#[test]
fn a_zone_gets_at_most_what_its_own_loads_are_measured_to() {
    // 0.7 fl oz/M to 0.03 fl oz: 2,000 sq ft take 1.4, measured 1.41 in the first load, which is
    // 0.705 fl oz/M; 1,750 sq ft take 1.225, measured 1.23 in the second: 0.7 × 1.23/1.225.
    let knapsack =
        Equipment { smallest_measure: Some(amount("0.03 fl oz")), ..backpack("2 gal", "1 gal/M") };
    let zones = [
        zone("front", "tall-fescue", square_feet(2_000.0)),
        zone("back", "tall-fescue", square_feet(1_750.0)),
    ];
    let dose = dose(&zones, &[chosen(capped(), "0.7 fl oz/M")], &knapsack).unwrap();
    let most: Vec<f64> =
        dose.zones.iter().map(|zone| rate_of(dose.at_most_on(zone)[0], "1 fl oz/M")).collect();
    close(most[0], 0.705);
    close(most[1], 0.7 * 1.23 / 1.225);
}

#[test]
fn a_hopper_is_filled_alike_by_weight() {
    let lawn = [zone("lawn", "tall-fescue", square_feet(12_000.0))];
    let product = [chosen(plain("granule", "granule"), "5 lb/1000 sq ft")];
    let equal = Equipment { load_plan: LoadPlan::Equal, ..spreader(Some("40 lb")) };
    let dose_ = dose(&lawn, &product, &equal).unwrap();
    let pounds: Vec<f64> =
        dose_.batches[0].loads.iter().map(|load| of(load.products[0].exact, "1 lb")).collect();
    assert_eq!(pounds.len(), 2);
    pounds.iter().for_each(|&load| close(load, 30.0));
    assert!(dose_.batches[0].rinsing.is_empty());
}

#[test]
fn a_load_says_what_of_its_zone_is_left() {
    let zones = [
        zone("front", "tall-fescue", square_feet(2_500.0)),
        zone("back", "tall-fescue", square_feet(5_000.0)),
    ];
    let product = [chosen(regulator(), "0.5 fl oz/1000 sq ft")];
    let dose = dose(&zones, &product, &backpack("3 gal", "1 gal/1000 sq ft")).unwrap();
    let left: Vec<(&str, f64)> = dose.batches[0]
        .loads
        .iter()
        .flat_map(|load| &load.covers)
        .map(|cover| (cover.zone.as_str(), cover.left.square_feet().round()))
        .collect();
    assert_eq!(left, [("front", 0.0), ("back", 4_500.0), ("back", 1_500.0), ("back", 0.0)]);
}

fn measured(product: ChosenProduct) -> f64 {
    let knapsack =
        Equipment { smallest_measure: Some(amount("0.25 fl oz")), ..backpack("3 gal", "1 gal/M") };
    let lawn = [zone("lawn", "tall-fescue", square_feet(2_000.0))];
    let dose = dose(&lawn, &[product], &knapsack).unwrap();
    of(dose.batches[0].loads[0].products[0].measured, "1 fl oz")
}

#[test]
fn the_nearest_mark_is_taken_only_below_the_labels_maximum() {
    #[rustfmt::skip]
    let table = [
        // rate, exact on 2,000 sq ft, measured to 0.25 fl oz; worked by hand
        ("0.7 fl oz/1000 sq ft",  1.4,  1.5),  // nearest is above the exact and below the maximum of 2.0
        ("0.55 fl oz/1000 sq ft", 1.1,  1.0),  // nearest is below
        ("0.95 fl oz/1000 sq ft", 1.9,  2.0),  // nearest is the maximum itself
        ("1 fl oz/1000 sq ft",    2.0,  2.0),  // at the maximum, on a mark
    ];
    for (rate, exact, by_hand) in table {
        let ours = measured(chosen(capped(), rate));
        assert!((ours - by_hand).abs() < 1e-9, "{rate} ({exact} fl oz): {ours} ≠ {by_hand}");
    }
    // Without a maximum that is known the rate itself is taken for it.
    close(measured(chosen(plain("liquid", "liquid"), "0.7 fl oz/1000 sq ft")), 1.25);
}

#[test]
fn at_the_maximum_no_mark_above_the_exact_is_taken() {
    // 1 fl oz/1000 sq ft is the label's maximum: 1.9 fl oz on 1,900 sq ft, nearest mark 2.0.
    let knapsack =
        Equipment { smallest_measure: Some(amount("0.25 fl oz")), ..backpack("3 gal", "1 gal/M") };
    let lawn = [zone("lawn", "tall-fescue", square_feet(1_900.0))];
    let product = [chosen(capped(), "1 fl oz/1000 sq ft")];
    let dose = dose(&lawn, &product, &knapsack).unwrap();
    close(of(dose.batches[0].loads[0].products[0].measured, "1 fl oz"), 1.75);
}

#[test]
fn a_label_rate_of_the_product_file_is_a_maximum() {
    let text = "id = \"own\"\nname = \"own\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
                formulation = \"SL\"\nlabel_checked = \"2026-05-02\"\n\
                [limits.max_per_application]\nlimit = \"2 fl oz/1000 sq ft\"\n\
                [[rates]]\nspecies = \"tall-fescue\"\nrate = \"0.7 fl oz/1000 sq ft\"\n\
                basis = \"label\"\n";
    let own = Product::from_toml(text).unwrap();
    assert!(own.rate_of(&written("0.7 fl oz/1000 sq ft")).is_ok());
    close(measured(ChosenProduct::at_its_label_rates(own).unwrap()), 1.25);
}

#[test]
fn rinsings_are_held_to_the_labels_maximum() {
    let lawn = [zone("lawn", "tall-fescue", square_feet(5_000.0))];
    let rinsing = |product: ChosenProduct| {
        let dose = dose(&lawn, &[product], &with_dead_volume()).unwrap();
        dose.batches[0].rinsing.last().unwrap().clone()
    };
    // Worked by hand: 0.5 gal over ground that took 5 gal is 10 % more.
    let within = rinsing(chosen(capped(), "0.9 fl oz/1000 sq ft"));
    assert!(within.what.contains("raise the rate by 10.0 %"), "{}", within.what);
    let at = rinsing(chosen(capped(), "0.95 fl oz/1000 sq ft"));
    assert!(at.what.contains("keep ground of this label untreated"), "{}", at.what);
    // Without a dead volume the room is told: 1 fl oz/M over 0.8 is a quarter more.
    let untold = |text: &str| {
        let knapsack = backpack("3 gal", "1 gal/M");
        let dose = dose(&lawn, &[chosen(capped(), text)], &knapsack).unwrap();
        dose.batches[0].rinsing.last().unwrap().clone()
    };
    assert!(untold("0.8 fl oz/M").what.contains("may raise the rate by 25.0 % at most"));
    assert!(untold("1 fl oz/M").what.contains("keep ground of this label untreated"));
    let unknown = rinsing(chosen(plain("liquid", "liquid"), "1 fl oz/M"));
    assert!(unknown.otherwise.unwrap().contains("ask the label"));
    for step in &dose(&lawn, &[chosen(capped(), "1 fl oz/M")], &with_dead_volume()).unwrap().batches
        [0]
    .rinsing
    {
        assert!(!step.source.is_empty(), "{}", step.what);
        assert!(!step.what.contains("spray it out"));
    }
}

#[test]
fn the_dead_volume_makes_no_load_stronger_than_another() {
    // 6,000 sq ft at 1 gal/1000 sq ft from a tank of 4 gal less 0.2 gal of dead volume: equal loads
    // of 3 gal with 1.32 fl oz, the first mixed to 3.2 gal with 1.408 fl oz. To marks of 0.5 fl oz
    // and never above the rate these would be 1 (−29 %) and 1 (−24 %); equal fills of 3.1 gal with
    // 1.364 fl oz are alike. Worked by hand.
    let lawn = [zone("lawn", "tall-fescue", square_feet(6_000.0))];
    let product = [chosen(plain("liquid", "liquid"), "0.44 fl oz/1000 sq ft")];
    let knapsack = Equipment {
        dead_volume: Some(amount("0.2 gal")),
        smallest_measure: Some(amount("0.5 fl oz")),
        ..backpack("4 gal", "1 gal/1000 sq ft")
    };
    let dose_ = dose(&lawn, &product, &knapsack).unwrap();
    let loads = &dose_.batches[0].loads;
    assert_eq!(loads.len(), 2);
    for load in loads {
        close(of(load.mixed_spray().unwrap(), "1 gal"), 3.1);
        close(of(load.mixed_products()[0].exact, "1 fl oz"), 1.364);
        close(of(load.mixed_products()[0].measured, "1 fl oz"), 1.0);
    }
    close(loads[0].covers[0].area.square_feet(), 2_900.0);
    close(loads[1].covers[0].area.square_feet(), 3_100.0);
}

#[test]
fn words_of_equipment_are_read_as_they_are_written() {
    for (plan, word) in [(LoadPlan::Full, "full"), (LoadPlan::Equal, "equal")] {
        assert_eq!((plan.word(), word.parse()), (word, Ok(plan)));
    }
    assert_eq!("half".parse::<LoadPlan>(), Err(()));
    let kinds = ["backpack", "hand-gun", "boom", "spreader"];
    for word in kinds {
        assert_eq!(word.parse::<turfplat_dose::EquipmentKind>().unwrap().to_string(), word);
    }
}
