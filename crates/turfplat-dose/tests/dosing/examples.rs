//! Published worked examples: the printed value to its own last digit, the exact value to
//! the digits given. Where the source rounds on the way, the row takes the same step.

use turfplat_dose::{Product, dose};

use crate::world::{
    acres, amount, backpack, chosen, fertilizer, of, plain, rate, rate_of, spreader, square_feet,
    written, zone,
};

/// What, ours, as printed, half of its last digit, exact, where it is published.
type Row = (&'static str, f64, f64, f64, f64, &'static str);

fn check(table: &[Row]) {
    for (what, ours, printed, half_a_digit, exact, source) in table {
        assert!((ours - printed).abs() <= *half_a_digit, "{what}: {ours} ≠ {printed}, {source}");
        // The exact column carries ten decimals.
        let rounding = 5e-11_f64.max(1e-12 * exact);
        assert!((ours - exact).abs() <= rounding, "{what}: {ours} ≠ {exact} exactly, {source}");
    }
}

fn of_product(product: &Product, text: &str, unit: &str) -> f64 {
    rate_of(product.rate_of(&written(text)).unwrap(), unit)
}

#[test]
fn sprays_agree_with_published_examples() {
    let liquid = || plain("liquid", "liquid");
    let powder = Product::from_toml(
        "id = \"wp-80\"\nname = \"80 WP\"\nclass = \"herbicide\"\nform = \"dry soluble\"\n\
         formulation = \"WP\"\n[[active_ingredients]]\nname = \"a.i.\"\ncontent = \"80 %\"\n",
    )
    .unwrap();

    let t1 = dose(
        &[zone("lawn", "tall-fescue", acres(25.0))],
        &[chosen(liquid(), "3.6 pt/A")],
        &backpack("100 gal", "40 gal/A"),
    )
    .unwrap();
    let t3 = dose(
        &[zone("lawn", "tall-fescue", square_feet(10_500.0))],
        &[chosen(liquid(), "1.5 fl oz/1000 sq ft")],
        &backpack("10 gal", "1 gal/1000 sq ft"),
    )
    .unwrap();
    let t5 = dose(
        &[zone("lawn", "tall-fescue", acres(3.5))],
        &[chosen(plain("dry", "dry soluble"), "3 lb/A")],
        &backpack("10 gal", "15 gal/A"),
    )
    .unwrap();
    let t9 = dose(
        &[zone("lawn", "bermudagrass-hybrid", square_feet(9_000.0))],
        &[chosen(liquid(), "0.25 fl oz/1000 sq ft")],
        &backpack("4 gal", "1 gal/1000 sq ft"),
    )
    .unwrap();
    let tankful = &t9.batches[0].loads[0];

    #[rustfmt::skip]
    let table = [
        ("T1 carrier, gal/1000 sq ft",   rate_of(rate("40 gal/A"), "1 gal/1000 sq ft"),          0.92,   5e-3, 0.918_273_645_5, "Gerken, Oklahoma State-OKC, Calibrating application equipment, 2013"),
        ("T1 rate, fl oz/1000 sq ft",    rate_of(rate("3.6 pt/A"), "1 fl oz/1000 sq ft"),        1.3,    5e-2, 1.322_314_049_6, "Gerken, Oklahoma State-OKC, Calibrating application equipment, 2013"),
        ("T1 product, gal",              of(t1.totals[0], "1 gal"),                              11.25,  5e-3, 11.25,           "Gerken, Oklahoma State-OKC, Calibrating application equipment, 2013"),
        ("T3 product, fl oz",            of(t3.totals[0], "1 fl oz"),                            15.75,  5e-3, 15.75,           "NJ core-exam practice item"),
        ("T5 spray, gal",                of(t5.spray_volume.unwrap(), "1 gal"),                  52.5,   5e-2, 52.5,            "Agriculture reference tutorial"),
        ("T5 water, gal (dry product)",  of(t5.water.unwrap(), "1 gal"),                         52.5,   5e-2, 52.5,            "Agriculture reference tutorial"),
        ("T5 product, lb",               of(t5.totals[0], "1 lb"),                               10.5,   5e-2, 10.5,            "Agriculture reference tutorial"),
        ("T6 product, lb/A",             of_product(&powder, "2 lb a.i./A", "1 lb/A"),           2.5,    5e-2, 2.5,             "Agriculture reference tutorial"),
        ("T9 sq ft of a tank",           tankful.covers[0].area.square_feet(),                   4_000.0, 0.5, 4_000.0,         "common practice, no source"),
        ("T9 product of a tank, fl oz",  of(tankful.products[0].exact, "1 fl oz"),               1.0,    0.5,  1.0,             "common practice, no source"),
    ];
    check(&table);
}

#[test]
fn spreading_agrees_with_published_examples() {
    let spread = |grade: &str, rate: &str, area| {
        let lawn = zone("lawn", "kentucky-bluegrass", area);
        dose(&[lawn], &[chosen(fertilizer(grade), rate)], &spreader(None)).unwrap()
    };
    let pounds = |dose: &turfplat_dose::Dose| of(dose.totals[0], "1 lb");

    let f1 = spread("28-3-6", "1.0 lb N/1000 sq ft", square_feet(6_000.0));
    // The source goes on with its rounded 3.57 lb.
    let f1_rounded = spread("28-3-6", "3.57 lb/1000 sq ft", square_feet(6_000.0));
    let f3 = spread("24-2-12", "1 lb N/1000 sq ft", square_feet(4_550.0));
    let f4 = spread("25-0-0", "0.9 lb N/1000 sq ft", acres(45.0));
    let bags = f4.totals[0].over(amount("50 lb")).unwrap();

    #[rustfmt::skip]
    let table = [
        ("F1 lb/1000 sq ft",        of_product(&fertilizer("28-3-6"), "1.0 lb N/1000 sq ft", "1 lb/1000 sq ft"), 3.57,  5e-3, 3.571_428_571_4,  "Univ. of Nebraska, Lawn fertilizer calculations"),
        ("F1 lb",                   pounds(&f1),          21.43, 5e-3, 21.428_571_428_6, "Univ. of Nebraska, Lawn fertilizer calculations (exact column)"),
        ("F1 lb from rounded 3.57", pounds(&f1_rounded),  21.42, 5e-3, 21.42,            "Univ. of Nebraska, Lawn fertilizer calculations (as printed)"),
        ("F3 lb",                   pounds(&f3),          18.96, 5e-3, 18.958_333_333_3, "Univ. of Maryland Extension, Bay-Wise calculation example"),
        ("F4 lb/1000 sq ft",        of_product(&fertilizer("25-0-0"), "0.9 lb N/1000 sq ft", "1 lb/1000 sq ft"), 3.6,   5e-2, 3.6,              "Turfgrass mathematics review worksheet for certified turfgrass professional testing"),
        ("F4 lb",                   pounds(&f4),          7_056.72, 5e-3, 7_056.72,      "Turfgrass mathematics review worksheet for certified turfgrass professional testing"),
        ("F4 bags of 50 lb",        bags,                 141.134_4, 5e-5, 141.134_4,    "Turfgrass mathematics review worksheet for certified turfgrass professional testing"),
        ("F4 bags bought",          bags.ceil(),          142.0, 0.0,  142.0,            "Turfgrass mathematics review worksheet for certified turfgrass professional testing"),
        ("F6 lb/1000 sq ft",        of_product(&fertilizer("0-0-22"), "2 lb K2O/1000 sq ft", "1 lb/1000 sq ft"), 9.1,   5e-2, 9.090_909_090_9,  "Schlossberg (Penn State), Pennsylvania Turfgrass, Fall 2022"),
        ("G1 lb/1000 sq ft",        of_product(&fertilizer("20-5-10"), "1 lb N/1000 sq ft", "1 lb/1000 sq ft"),  5.0,   5e-3, 5.0,              "UMass Extension, Rotary spreader calibration procedures"),
    ];
    check(&table);
    assert_eq!(f1.spray_volume, None);
    assert_eq!(f1.water, None);
}
