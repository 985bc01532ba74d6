//! What to buy: whole containers for all that is measured out, and money to the cent.

use proptest::prelude::*;
use turfplat_dose::{
    Container, ContainerText, Equipment, Form, Need, Product, Purchase, containers, dose,
};

use crate::world::{amount, backpack, chosen, of, plain, square_feet, zone};

fn sold(form: Form, texts: &[(&str, Option<&str>)]) -> Vec<Container> {
    let texts = texts.iter().map(|(size, price)| ContainerText {
        size: (*size).to_owned(),
        price: price.map(str::to_owned),
    });
    containers("it", form, texts).unwrap()
}

fn need(text: &str) -> Need {
    let total = amount(text);
    Need { total, dead: total.times(0.0) }
}

fn counts(purchase: &Purchase) -> Vec<(String, u64)> {
    let each = purchase.containers.iter();
    each.map(|one| (one.container.size.print(one.container.unit), one.count)).collect()
}

#[test]
fn bags_of_the_published_worksheet() {
    // F4 of the published mixes: 7,056.72 lb in bags of 50 lb are 142 bags; worked by hand:
    // 142 × 50 − 7,056.72 = 43.28 lb left over, 142 × 21.95 = 3,116.90.
    let bags = sold(Form::Granule, &[("50 lb", Some("21.95"))]);
    let purchase = Purchase::of(&plain("it", "granule"), &bags, need("7056.72 lb"));
    assert_eq!(counts(&purchase), [("50 lb".to_owned(), 142)]);
    assert!((of(purchase.left_over.unwrap(), "1 lb") - 43.28).abs() < 1e-9);
    assert_eq!(purchase.cost.as_ref().unwrap().to_string(), "3,116.90");
    // At 0.9 lb N/1000 sq ft 3.6 lb of it go on 1,000 sq ft: 3.6/7100 of the bill.
    assert_eq!(purchase.cost_of(amount("3.6 lb")).unwrap().to_string(), "1.58");
}

#[test]
fn whole_containers_and_not_one_too_many() {
    let quarts = sold(Form::Liquid, &[("1 qt", None)]);
    let buy = |text: &str| Purchase::of(&plain("it", "liquid"), &quarts, need(text));
    assert_eq!(counts(&buy("32 fl oz")), [("1 qt".to_owned(), 1)]);
    assert_eq!(counts(&buy("32.01 fl oz")), [("1 qt".to_owned(), 2)]);
    assert_eq!(counts(&buy("0.1 mL")), [("1 qt".to_owned(), 1)]);
    // Ten times a tenth of a quart is a quart, whatever the sum of the parts rounds to.
    let tenths = (0..10).fold(amount("0 qt"), |sum, _| sum.plus(amount("0.1 qt")).unwrap());
    let purchase = Purchase::of(
        &plain("it", "liquid"),
        &quarts,
        Need { total: tenths, dead: tenths.times(0.0) },
    );
    assert_eq!(counts(&purchase), [("1 qt".to_owned(), 1)]);
    assert_eq!(purchase.cost, None);
}

#[test]
fn the_cheapest_that_hold_enough_or_the_least_left_over() {
    let liquid = plain("it", "liquid");
    let priced = [("1 qt", Some("$40")), ("1 gal", Some("$130"))];
    // Worked by hand: 5 qt are 1 gal + 1 qt for 170, which beats 5 × 40 = 200 and 2 × 130 = 260;
    // 3.5 qt are 1 gal for 130, which beats 4 × 40 = 160.
    let buy = |text: &str| Purchase::of(&liquid, &sold(Form::Liquid, &priced), need(text));
    assert_eq!(counts(&buy("5 qt")), [("1 qt".to_owned(), 1), ("1 gal".to_owned(), 1)]);
    assert_eq!(buy("5 qt").cost.unwrap().to_string(), "$170.00");
    assert_eq!(counts(&buy("3.5 qt")), [("1 gal".to_owned(), 1)]);
    // Without prices: 3.5 qt leave less over in four quarts or in a gallon, and a gallon is fewer.
    let unpriced = sold(Form::Liquid, &[("1 qt", None), ("1 gal", None)]);
    assert_eq!(
        counts(&Purchase::of(&liquid, &unpriced, need("3.5 qt"))),
        [("1 gal".to_owned(), 1)]
    );
    assert_eq!(counts(&Purchase::of(&liquid, &unpriced, need("2.5 qt"))), [("1 qt".to_owned(), 3)]);
    // Nothing is bought of a product that says not what it is sold in.
    let none = Purchase::of(&liquid, &[], need("5 qt"));
    assert!(none.containers.is_empty() && none.bought.is_none() && none.left_over.is_none());
}

#[test]
fn what_stays_in_the_hose_is_bought_too() {
    // Worked by hand: 5,000 sq ft at 0.5 fl oz/1000 sq ft are 2.5 fl oz; 0.5 gal in the hose hold
    // 0.25 fl oz more.
    let lawn = [zone("lawn", "tall-fescue", square_feet(5_000.0))];
    let knapsack =
        Equipment { dead_volume: Some(amount("0.5 gal")), ..backpack("3 gal", "1 gal/M") };
    let dose = dose(&lawn, &[chosen(plain("it", "liquid"), "0.5 fl oz/M")], &knapsack).unwrap();
    let need = Need::of_batches(&dose.batches, 0).unwrap();
    assert!((of(need.total, "1 fl oz") - 2.75).abs() < 1e-9);
    assert!((of(need.dead, "1 fl oz") - 0.25).abs() < 1e-9);
    let half_pints = sold(Form::Liquid, &[("2.5 fl oz", Some("9"))]);
    let purchase = Purchase::of(&plain("it", "liquid"), &half_pints, need);
    assert_eq!(counts(&purchase), [("2.5 fl oz".to_owned(), 2)]);
}

#[test]
fn what_is_measured_up_to_a_mark_is_bought() {
    let capped = Product::from_toml(
        "id = \"capped\"\nname = \"capped\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
         [limits.max_per_application]\nlimit = \"1 fl oz/1000 sq ft\"\n",
    )
    .unwrap();
    let lawn = [zone("lawn", "tall-fescue", square_feet(2_000.0))];
    let cup =
        Equipment { smallest_measure: Some(amount("0.25 fl oz")), ..backpack("3 gal", "1 gal/M") };
    // Worked by hand: 1.4 fl oz exactly, 1.5 at the nearest mark.
    let dose_ = dose(&lawn, &[chosen(capped, "0.7 fl oz/M")], &cup).unwrap();
    let need = Need::of_batches(&dose_.batches, 0).unwrap();
    assert!((of(need.total, "1 fl oz") - 1.5).abs() < 1e-9);
}

#[test]
fn containers_that_cannot_be_are_told_so() {
    let wrong = |form, size: &str, price: Option<&str>| {
        let text = ContainerText { size: size.into(), price: price.map(str::to_owned) };
        containers("it", form, [text]).unwrap_err().to_string()
    };
    let told = wrong(Form::Liquid, "50 lb", None);
    assert!(told.contains("write a volume, such as \"1 gal\""), "{told}");
    let told = wrong(Form::Granule, "1 gal", None);
    assert!(told.contains("write a weight, such as \"50 lb\""), "{told}");
    assert!(wrong(Form::Liquid, "0 gal", None).contains("containers[0].size"));
    assert!(wrong(Form::Liquid, "32 oz", None).contains("fl oz"));
    let told = wrong(Form::Liquid, "1 gal", Some("39,95"));
    assert_eq!(
        told,
        "product it, containers[0].price: \"39,95\" is not read here; write money with a point, \
         such as \"39.95\" or \"$39.95\""
    );
    let two = [("1 gal", Some("$3")), ("1 qt", Some("1 EUR"))]
        .map(|(size, price)| ContainerText { size: size.into(), price: price.map(str::to_owned) });
    assert!(containers("it", Form::Liquid, two).unwrap_err().to_string().contains("one currency"));
    // A bag in ounces can only be weighed.
    assert_eq!(
        counts(&Purchase::of(
            &plain("it", "granule"),
            &sold(Form::Granule, &[("8 oz", None)]),
            need("1 lb"),
        )),
        [("8 oz wt".to_owned(), 2)]
    );
    let float = Product::from_toml(
        "id = \"it\"\nname = \"it\"\nform = \"liquid\"\ncontainers = [{ size = \"1 gal\", price = 39.95 }]\n",
    );
    assert!(float.unwrap_err().to_string().contains("a price in quotes, such as \"39.95\""));
}

/// The least cost over all counts up to what one size alone needs, tried one by one, and of
/// equals the fewest containers.
fn least_by_trying(sizes: &[(f64, u64)], need: f64) -> (u64, u64) {
    match sizes {
        [] => {
            if need <= 0.0 {
                (0, 0)
            } else {
                (u64::MAX, u64::MAX)
            }
        }
        [(size, price), rest @ ..] => {
            let most = (need / size).ceil().max(0.0) as u64;
            (0..=most)
                .map(|n| {
                    let (cost, count) = least_by_trying(rest, need - n as f64 * size);
                    (cost.saturating_add(n * price), count.saturating_add(n))
                })
                .min()
                .unwrap()
        }
    }
}

#[test]
fn of_lists_at_one_price_the_fewest_containers_are_taken() {
    // 8 fl oz: 6 + 1 + 1 is found before 4 + 4, and leaves no more over.
    let sizes = sold(Form::Liquid, &[("6 fl oz", None), ("4 fl oz", None), ("1 fl oz", None)]);
    let purchase = Purchase::of(&plain("it", "liquid"), &sizes, need("8 fl oz"));
    assert_eq!(counts(&purchase), [("4 fl oz".to_owned(), 2)]);
}

#[test]
fn what_two_applications_need_is_added_up() {
    let one = Need { total: amount("3 fl oz"), dead: amount("1 fl oz") };
    let both = one.plus(need("2 fl oz")).unwrap();
    assert!((of(both.total, "1 fl oz") - 5.0).abs() < 1e-12);
    assert!((of(both.dead, "1 fl oz") - 1.0).abs() < 1e-12);
    assert_eq!(one.plus(need("2 lb")), None);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// What is bought holds what is needed, no container could be left out, and nothing is cheaper.
    #[test]
    fn enough_is_bought_and_no_cheaper_list_holds_it(
        sizes in prop::collection::vec((1_u32..40, 1_u64..200), 1..4), need_ in 1_u32..300,
        by_size: bool,
    ) {
        // At one price a fluid ounce many lists cost the same.
        let priced = |(size, price)| (size, if by_size { u64::from(size) } else { price });
        let sizes: Vec<(u32, u64)> = sizes.into_iter().map(priced).collect();
        let texts: Vec<(String, String)> =
            sizes.iter().map(|(size, price)| (format!("{size} fl oz"), price.to_string())).collect();
        let texts: Vec<(&str, Option<&str>)> =
            texts.iter().map(|(size, price)| (size.as_str(), Some(price.as_str()))).collect();
        let purchase = Purchase::of(
            &plain("it", "liquid"),
            &sold(Form::Liquid, &texts),
            need(&format!("{need_} fl oz")),
        );
        let bought = of(purchase.bought.unwrap(), "1 fl oz");
        prop_assert!(bought >= f64::from(need_) - 1e-6);
        let left = of(purchase.left_over.unwrap(), "1 fl oz");
        prop_assert!((bought - left - f64::from(need_)).abs() < 1e-6);
        for one in &purchase.containers {
            prop_assert!(bought - of(one.container.size, "1 fl oz") < f64::from(need_) - 1e-6);
        }
        let sizes: Vec<(f64, u64)> = sizes.iter().map(|(size, price)| (f64::from(*size), *price)).collect();
        let least = least_by_trying(&sizes, f64::from(need_));
        let (least, fewest) = least;
        prop_assert_eq!(purchase.cost.unwrap().to_string().replace(',', ""), format!("{least}.00"));
        prop_assert_eq!(purchase.containers.iter().map(|one| one.count).sum::<u64>(), fewest);
    }
}
