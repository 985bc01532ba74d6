//! The order of mixing, the jar test, and their laws.

use proptest::prelude::*;
use turfplat_dose::{Product, jar_test, mixing_steps, quart_jar};
use turfplat_units::Amount;

use crate::world::{amount, of};

/// Every formulation that goes into a tank, and the form it has.
const CLASSES: [(&str, &str); 22] = [
    ("WSP", "dry soluble"),
    ("SG", "dry soluble"),
    ("WDG", "dry soluble"),
    ("WP", "dry soluble"),
    ("water conditioner", "liquid"),
    ("CS", "liquid"),
    ("EW", "liquid"),
    ("F", "liquid"),
    ("SC", "liquid"),
    ("SE", "liquid"),
    ("ME", "liquid"),
    ("drift agent", "liquid"),
    ("EC", "liquid"),
    ("OD", "liquid"),
    ("S", "liquid"),
    ("SL", "liquid"),
    ("COC", "liquid"),
    ("MSO", "liquid"),
    ("NIS", "liquid"),
    ("liquid fertilizer", "liquid"),
    ("SP", "dry soluble"),
    ("granule", "dry soluble"),
];

fn product(id: &str, formulation: &str, form: &str) -> Product {
    let text = format!(
        "id = {id:?}\nname = {id:?}\nclass = \"adjuvant\"\nform = {form:?}\n\
         formulation = {formulation:?}\n"
    );
    Product::from_toml(&text).unwrap()
}

fn order(formulations: &[&str]) -> Vec<String> {
    let products: Vec<(Product, Amount)> = formulations
        .iter()
        .enumerate()
        .map(|(place, class)| {
            let (_, form) =
                CLASSES.iter().find(|(known, _)| known == class).unwrap_or(&("", "liquid"));
            let dose = amount(if *form == "liquid" { "1 fl oz" } else { "1 oz wt" });
            (product(&format!("{place}"), class, form), dose)
        })
        .collect();
    let given: Vec<(&Product, Amount)> = products.iter().map(|(one, dose)| (one, *dose)).collect();
    mixing_steps(&given, amount("3 gal")).into_iter().filter_map(|step| step.product).collect()
}

#[test]
fn products_go_in_by_class_and_within_a_class_as_the_job_has_them() {
    assert_eq!(order(&["NIS", "EC", "SC", "WP"]), ["3", "2", "1", "0"]);
    assert_eq!(order(&["SL", "EC", "WDG", "SG"]), ["2", "3", "0", "1"]);
    assert_eq!(
        order(&["liquid fertilizer", "drift agent", "water conditioner", "WSP"]),
        ["3", "2", "1", "0"]
    );
}

#[test]
fn a_defoamer_goes_in_after_the_rest_of_the_water() {
    let (defoamer, ec) = (product("d", "defoamer", "liquid"), product("e", "EC", "liquid"));
    let steps =
        mixing_steps(&[(&defoamer, amount("1 mL")), (&ec, amount("1 mL"))], amount("1 gal"));
    assert_eq!(steps.last().unwrap().product.as_deref(), Some("d"));
}

#[test]
fn half_of_the_water_is_first_and_the_rest_last() {
    let ec = product("ec", "EC", "liquid");
    let steps = mixing_steps(&[(&ec, amount("3.84 fl oz"))], amount("3 gal"));
    // Worked by hand: 1.5 gal, then 3.84 fl oz = 0.03 gal, then 1.47 gal.
    let gallons: Vec<f64> =
        steps.iter().filter_map(|step| step.amount).map(|amount| of(amount, "1 gal")).collect();
    for (ours, by_hand) in gallons.iter().zip([1.5, 0.03, 1.47]) {
        assert!((ours - by_hand).abs() < 1e-9, "{gallons:?}");
    }
    assert!(steps.iter().all(|step| !step.source.is_empty()));
    assert!(steps.iter().enumerate().all(|(place, step)| step.number == place + 1));
}

#[test]
fn a_step_on_which_sources_disagree_says_so() {
    for (class, who) in [
        ("ME", "North Dakota"),
        ("EW", "North Dakota"),
        ("CS", "South Dakota"),
        ("EC", "South Dakota"),
        ("drift agent", "South Dakota"),
        ("water conditioner", "South Dakota"),
    ] {
        let one = product("one", class, "liquid");
        let steps = mixing_steps(&[(&one, amount("1 mL"))], amount("1 gal"));
        let step = steps.iter().find(|step| step.product.is_some()).unwrap();
        let otherwise = step.otherwise.clone().unwrap_or_default();
        assert!(otherwise.contains(who), "{class}: {otherwise}");
    }
}

#[test]
fn a_step_says_what_goes_in_and_who_says_so() {
    // data/mixing-order.csv: packets are step 1, other liquids step 6, both of one source.
    let source = "Pease, Christians, Thoms (Iowa State), SportsField Management May/June 2021";
    let ec = product("ec", "EC", "liquid");
    let load = [(&ec, amount("1 mL"))];
    let steps = mixing_steps(&load, amount("1 gal"));
    let step = steps.iter().find(|step| step.product.is_some()).unwrap();
    assert_eq!(step.what, "add ec (EC), keep agitating");
    assert_eq!(step.source, source);
    assert_eq!(steps[0].source, "Country Guide (W-A-L-E-S); common practice");
    let jar = jar_test(&load, amount("1 gal"), quart_jar()).unwrap();
    let sources: Vec<&str> = jar.steps.iter().map(|step| step.source.as_str()).collect();
    assert_eq!(jar.steps[1].what, "add ec (EC), close and shake");
    assert_eq!(sources[1..3], [source, "Utah State IPM, Using a jar test, 2012"]);
    assert!(jar.steps[0].otherwise.as_ref().unwrap().contains("1 pt spray water"));
}

#[test]
fn a_class_that_no_source_places_asks_the_label() {
    for class in ["SP", "granule"] {
        let one = product("one", class, "dry soluble");
        let steps = mixing_steps(&[(&one, amount("1 g"))], amount("1 gal"));
        let step = steps.iter().find(|step| step.product.is_some()).unwrap();
        assert!(step.otherwise.clone().unwrap().contains("ask the label"), "{class}");
        assert_eq!(step.source, "common practice, no source");
    }
}

#[test]
fn a_jar_is_as_strong_as_the_load() {
    let (ec, wp) = (product("ec", "EC", "liquid"), product("wp", "WP", "dry soluble"));
    let load = [(&ec, amount("1.28 fl oz")), (&wp, amount("1 lb"))];
    let test = jar_test(&load, amount("10 gal"), quart_jar()).unwrap();
    // Worked by hand: a quart is 1/40 of 10 gal: 0.4 oz wt, then 0.032 fl oz.
    let of_product = |id: &str| {
        test.steps.iter().find(|step| step.product.as_deref() == Some(id)).unwrap().amount.unwrap()
    };
    assert!((of(of_product("wp"), "1 oz wt") - 0.4).abs() < 1e-9);
    assert!((of(of_product("ec"), "1 fl oz") - 0.032).abs() < 1e-9);
    let order: Vec<&str> = test.steps.iter().filter_map(|step| step.product.as_deref()).collect();
    assert_eq!(order, ["wp", "ec"]);
}

#[test]
fn nothing_liquid_or_to_be_dissolved_has_no_jar_test() {
    let granule = product("granule", "granule", "granule");
    assert_eq!(
        jar_test(&[(&granule, amount("5 lb"))], amount("40 lb"), quart_jar())
            .unwrap_err()
            .to_string(),
        "nothing to try in a jar: granule are spread dry; leave the jar test out, or give a \
         product that is liquid or dissolved"
    );
    assert!(mixing_steps(&[(&granule, amount("5 lb"))], amount("40 lb")).is_empty());
    // Nor beside a tank, nor in a jar that is weighed.
    assert!(jar_test(&[(&granule, amount("5 lb"))], amount("10 gal"), quart_jar()).is_err());
    let ec = product("ec", "EC", "liquid");
    assert!(jar_test(&[(&ec, amount("1 lb"))], amount("40 lb"), amount("1 lb")).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// What is poured fills the tank to its mark, every product goes in once, and in whatever
    /// order the job names them, classes go in alike.
    #[test]
    fn the_steps_fill_the_tank(
        (picked, shuffled) in prop::collection::vec((0..CLASSES.len(), 0.1..50.0), 1..6)
            .prop_flat_map(|picked| (Just(picked.clone()), Just(picked).prop_shuffle())),
    ) {
        let classes = |picked: &[(usize, f64)]| {
            let products: Vec<(Product, Amount)> = picked
                .iter()
                .enumerate()
                .map(|(place, (class, value))| {
                    let (formulation, form) = CLASSES[*class];
                    let unit = amount(if form == "liquid" { "1 fl oz" } else { "1 oz wt" });
                    (product(&format!("{place}"), formulation, form), unit.times(*value))
                })
                .collect();
            let given: Vec<_> = products.iter().map(|(one, dose)| (one, *dose)).collect();
            let steps = mixing_steps(&given, amount("3 gal"));
            let filled: f64 = steps.iter().filter_map(|step| step.amount?.over(amount("1 gal"))).sum();
            let ids: Vec<usize> =
                steps.iter().filter_map(|step| step.product.as_ref()?.parse().ok()).collect();
            (filled, ids.len(), ids.into_iter().map(|id| place_of(picked[id].0)).collect::<Vec<_>>())
        };
        let (filled, count, order) = classes(&picked);
        prop_assert!((filled - 3.0).abs() <= 1e-9, "{filled} gal");
        prop_assert_eq!(count, picked.len());
        prop_assert!(order.is_sorted());
        prop_assert_eq!(classes(&shuffled).2, order);
    }
}

/// The step at which a class goes in, by `data/mixing-order.csv`.
fn place_of(class: usize) -> usize {
    match class {
        0 => 1,
        1..=3 | 20.. => 2,
        4 => 3,
        5..=10 => 4,
        11 => 5,
        12..=15 => 6,
        16..=18 => 7,
        _ => 8,
    }
}
