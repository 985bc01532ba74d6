//! Every row of the table of published mixes, `tests/data/mix-examples.csv`: the printed value to
//! its own last digit, the exact one to the digits given. A row that nobody works out fails.

use turfplat_dose::{Dose, Product, dose};

use crate::world::{
    acres, amount, backpack, chosen, fertilizer, of, plain, rate, rate_of, spreader, square_feet,
    written, zone,
};

const TABLE: &str = include_str!("../data/mix-examples.csv");

#[derive(Debug)]
struct Ours {
    printed: Vec<f64>,
    exact: Vec<f64>,
}

/// Most sources print what they work out.
fn alike(values: Vec<f64>) -> Ours {
    Ours { printed: values.clone(), exact: values }
}

fn sprayed(
    ground: turfplat_units::Area,
    product: Product,
    text: &str,
    tank: &str,
    water: &str,
) -> Dose {
    let lawn = zone("lawn", "bermudagrass-hybrid", ground);
    dose(&[lawn], &[chosen(product, text)], &backpack(tank, water)).unwrap()
}

fn spread(grade: &str, text: &str, ground: turfplat_units::Area) -> f64 {
    let lawn = zone("lawn", "kentucky-bluegrass", ground);
    let dose = dose(&[lawn], &[chosen(fertilizer(grade), text)], &spreader(None)).unwrap();
    of(dose.totals[0], "1 lb")
}

fn per_thousand(product: &Product, text: &str) -> f64 {
    rate_of(product.rate_of(&written(text)).unwrap(), "1 lb/1000 sq ft")
}

fn ours(id: &str) -> Ours {
    let liquid = || plain("liquid", "liquid");
    match id {
        "T1" => {
            let dose = sprayed(acres(25.0), liquid(), "3.6 pt/A", "100 gal", "40 gal/A");
            alike(vec![
                rate_of(rate("40 gal/A"), "1 gal/1000 sq ft"),
                rate_of(dose.zones[0].products[0].rate, "1 fl oz/1000 sq ft"),
                of(dose.totals[0], "1 gal"),
            ])
        }
        "T3" => {
            let ground = square_feet(10_500.0);
            let dose = sprayed(ground, liquid(), "1.5 fl oz/1000 sq ft", "10 gal", "1 gal/M");
            alike(vec![of(dose.totals[0], "1 fl oz")])
        }
        "T5" => {
            let dry = plain("dry", "dry soluble");
            let dose = sprayed(acres(3.5), dry, "3 lb/A", "10 gal", "15 gal/A");
            alike(vec![of(dose.spray_volume.unwrap(), "1 gal"), of(dose.totals[0], "1 lb")])
        }
        "T6" => {
            let text = "id = \"wp-80\"\nname = \"80 WP\"\nclass = \"herbicide\"\n\
                        form = \"dry soluble\"\nformulation = \"WP\"\n\
                        [[active_ingredients]]\nname = \"a.i.\"\ncontent = \"80 %\"\n";
            let powder = Product::from_toml(text).unwrap();
            alike(vec![rate_of(powder.rate_of(&written("2 lb a.i./A")).unwrap(), "1 lb/A")])
        }
        "T9" => {
            let ground = square_feet(9_000.0);
            let dose = sprayed(ground, liquid(), "0.25 fl oz/1000 sq ft", "4 gal", "1 gal/M");
            let load = &dose.batches[0].loads[0];
            alike(vec![load.covers[0].area.square_feet(), of(load.products[0].exact, "1 fl oz")])
        }
        "F1" => {
            let rate = per_thousand(&fertilizer("28-3-6"), "1.0 lb N/1000 sq ft");
            let pounds = |text: &str| spread("28-3-6", text, square_feet(6_000.0));
            Ours {
                // The source goes on with its rounded 3.57 lb.
                printed: vec![rate, pounds("3.57 lb/1000 sq ft")],
                exact: vec![rate, pounds("1.0 lb N/1000 sq ft")],
            }
        }
        "F3" => alike(vec![spread("24-2-12", "1 lb N/1000 sq ft", square_feet(4_550.0))]),
        "F4" => {
            let rate = per_thousand(&fertilizer("25-0-0"), "0.9 lb N/1000 sq ft");
            let pounds = spread("25-0-0", "0.9 lb N/1000 sq ft", acres(45.0));
            let bags = amount("1 lb").times(pounds).over(amount("50 lb")).unwrap();
            Ours { printed: vec![rate, bags.ceil()], exact: vec![rate, pounds, bags] }
        }
        "F6" => alike(vec![per_thousand(&fertilizer("0-0-22"), "2 lb K2O/1000 sq ft")]),
        other => panic!("row {other} is new: say here how it is worked out"),
    }
}

/// The first number of each part, and half of its last digit.
fn figures(column: &str) -> Vec<(f64, f64)> {
    let figure = |part: &str| {
        let number = part.split_whitespace().next().unwrap();
        let decimals = number.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        (number.parse().unwrap(), 0.5 * 10_f64.powi(-i32::try_from(decimals).unwrap()))
    };
    column.split(';').map(figure).collect()
}

#[test]
fn every_published_mix_comes_out_as_printed_and_exactly() {
    let mut rows = 0;
    for record in csv::Reader::from_reader(TABLE.as_bytes()).records() {
        let record = record.unwrap();
        let (id, source) = (&record[0], &record[4]);
        let ours = ours(id);
        let (printed, exact) = (figures(&record[2]), figures(&record[3]));
        assert_eq!((printed.len(), exact.len()), (ours.printed.len(), ours.exact.len()), "{id}");
        for ((printed, half_a_digit), ours) in printed.iter().zip(&ours.printed) {
            let off = (ours - printed).abs();
            assert!(off <= half_a_digit * 1.000_001, "{id}: {ours} ≠ {printed}, {source}");
        }
        for ((exact, half_a_digit), ours) in exact.iter().zip(&ours.exact) {
            // Ten decimals are rounded there; fewer are exact.
            let rounding = half_a_digit.min(5.1e-11).max(1e-12 * exact);
            assert!((ours - exact).abs() <= rounding, "{id}: {ours} ≠ {exact} exactly, {source}");
        }
        rows += 1;
    }
    assert_eq!(rows, 9);
}
