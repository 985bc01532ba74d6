//! How much a cup may put down: never more than the label gives the strictest grass of a stand.

use std::collections::BTreeMap;

use proptest::prelude::*;
use turfplat_dose::{ChosenProduct, Dose, Equipment, LoadPlan, Product, RateChoice, dose};

use crate::world::{amount, backpack, of, rate, square_feet, zone};

/// At most 0.8 fl oz/1000 sq ft at once, whatever grass; `rates` are the label's rows.
fn capped(rates: &str) -> Product {
    Product::from_toml(&format!(
        "id = \"capped\"\nname = \"capped\"\nclass = \"growth regulator\"\nform = \"liquid\"\n\
         formulation = \"EC\"\nlabel_checked = \"2026-05-02\"\nrates = [{rates}]\n\
         [limits.max_per_application]\nlimit = \"0.8 fl oz/1000 sq ft\"\nsource = \"label\"\n"
    ))
    .unwrap()
}

fn by_grass(product: Product, rates: &[(&str, f64)]) -> ChosenProduct {
    let rate_of = |&(grass, ounces): &(&str, f64)| {
        (grass.to_owned(), rate(&format!("{ounces} fl oz/1000 sq ft")))
    };
    let rates: BTreeMap<_, _> = rates.iter().map(rate_of).collect();
    let label_checked = Some("2026-05-02".to_owned());
    ChosenProduct { product, rates: RateChoice::BySpecies(rates), label_checked }
}

fn with_mark(mark: f64, tank: f64, load_plan: LoadPlan) -> Equipment {
    Equipment {
        smallest_measure: Some(amount(&format!("{mark} fl oz"))),
        load_plan,
        ..backpack(&format!("{tank} gal"), "1 gal/1000 sq ft")
    }
}

fn measured(dose: &Dose) -> Vec<f64> {
    let loads = dose.batches.iter().flat_map(|batch| &batch.loads);
    loads.map(|load| of(load.products[0].measured, "1 fl oz")).collect()
}

#[test]
fn a_checked_rate_of_a_grass_is_not_measured_above_itself() {
    // By hand: 3,000 sq ft at 0.3 take 0.9 fl oz; the nearest mark of 0.25 is 1 fl oz, 11 % more
    // than the label that was read gives the grass, so 0.75 is poured.
    let knapsack = with_mark(0.25, 4.0, LoadPlan::Full);
    for grasses in ["tall-fescue", "tall-fescue, kentucky-bluegrass"] {
        let lawn = [zone("Front", grasses, square_feet(3_000.0))];
        let rates = [("tall-fescue", 0.3), ("kentucky-bluegrass", 0.6)];
        let dose = dose(&lawn, &[by_grass(capped(""), &rates)], &knapsack).unwrap();
        assert!((measured(&dose)[0] - 0.75).abs() < 1e-9, "{grasses}: {:?}", measured(&dose));
    }
}

#[test]
fn the_top_of_the_label_s_range_is_the_most() {
    // By hand: 3,000 sq ft at 0.3 take 0.9 fl oz. A range up to 0.5 allows 1.5, so the nearest
    // mark of 0.25, 1 fl oz, is taken; one up to 0.32 allows 0.96, so 0.75 is.
    let knapsack = with_mark(0.25, 4.0, LoadPlan::Full);
    for (top, poured) in [("0.5", 1.0), ("0.32", 0.75)] {
        let row = format!(
            "{{ species = \"tall-fescue\", rate = [\"0.2 fl oz/M\", \"{top} fl oz/M\"], basis = \"label\" }}"
        );
        let lawn = [zone("Front", "tall-fescue", square_feet(3_000.0))];
        let product = by_grass(capped(&row), &[("tall-fescue", 0.3)]);
        let dose = dose(&lawn, &[product], &knapsack).unwrap();
        assert!((measured(&dose)[0] - poured).abs() < 1e-9, "{top}: {:?}", measured(&dose));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever the marks, the ground and the split: no load is above the strictest grass's label.
    #[test]
    fn no_load_is_measured_above_the_ceiling(
        area in 500.0..30_000.0_f64,
        mark in prop_oneof![Just(0.05), Just(0.1), Just(0.25), Just(0.5), 0.01..0.5_f64],
        tank in 2.0..25.0_f64,
        (fescue, bluegrass) in (0.2..0.7_f64, 0.2..0.7_f64),
        over in prop_oneof![Just(None), (1.0..1.5_f64).prop_map(Some)],
        is_equal in any::<bool>(),
    ) {
        // With a range in the file its top is the ceiling of that grass, else the checked rate is.
        let top = over.map(|times| fescue * times);
        let rows = top.map_or_else(String::new, |top| format!(
            "{{ species = \"tall-fescue\", rate = [\"0.1 fl oz/M\", \"{top} fl oz/M\"], basis = \"label\" }}"
        ));
        let ceiling = top.unwrap_or(fescue).min(bluegrass).min(0.8);
        let plan = if is_equal { LoadPlan::Equal } else { LoadPlan::Full };
        let lawn = [zone("Front", "tall-fescue, kentucky-bluegrass", square_feet(area))];
        let rates = [("tall-fescue", fescue), ("kentucky-bluegrass", bluegrass)];
        let product = by_grass(capped(&rows), &rates);
        // What no cup can measure is refused, which is not above anything.
        if let Ok(dose) = dose(&lawn, &[product], &with_mark(mark, tank, plan)) {
            for load in dose.batches.iter().flat_map(|batch| &batch.loads) {
                let spray = of(load.spray_volume.unwrap(), "1 gal");
                let poured = of(load.products[0].measured, "1 fl oz");
                prop_assert!(poured <= ceiling * spray * (1.0 + 1e-6), "{poured} on {spray}");
            }
        }
    }
}
