//! What no product can hold and nothing is put down at, where nothing is in print.

use turfplat_dose::{Product, dose, doubt_spray_volume, find_product, products};

use crate::world::{
    backpack, chosen, fertilizer, grass, plain, rate, regulator, square_feet, written, zone,
};

fn refusal(product: &Product, text: &str) -> String {
    product.rate_of(&written(text)).unwrap_err().to_string()
}

fn weed_killer(content: &str) -> Product {
    let file = format!(
        "id = \"weeds\"\nname = \"weeds\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
         [[active_ingredients]]\nname = \"something\"\ncontent = {content:?}\n"
    );
    Product::from_toml(&file).unwrap()
}

#[test]
fn a_content_that_no_product_can_have_doses_nothing() {
    for impossible in ["100 lb/gal", "16 lb/gal"] {
        for rate in ["0.17 lb a.i./A", "0.5 fl oz/1000 sq ft"] {
            let told = refusal(&weed_killer(impossible), rate);
            assert!(
                told.contains("active_ingredients[0].content") && told.contains(impossible),
                "{told}"
            );
        }
    }
    // A hundredth of the content would be a hundredfold of product: 0.17 lb ÷ 0.01 lb/gal = 17 gal/A.
    let thin = refusal(&weed_killer("0.01 lb/gal"), "0.17 lb a.i./A");
    assert!(
        thin.contains("active_ingredients[0].content") && thin.contains("0.02 lb/gal"),
        "{thin}"
    );
    assert!(weed_killer("0.01 lb/gal").rate_of(&written("0.5 fl oz/M")).is_ok());
    // 0.17 ÷ 0.03 × 128 ÷ 43.56 = 16.65; four times the rate is beyond the bound.
    let thin = refusal(&weed_killer("0.03 lb/gal"), "0.68 lb a.i./A");
    assert!(
        thin.contains("(66.6 fl oz/1000 sq ft of product)") && thin.contains("64 fl oz"),
        "{thin}"
    );
    let doubts = weed_killer("0.01 lb/gal").doubts("2026-11-01").join("\n");
    assert!(doubts.contains("0.01 lb/gal is less than 0.02 lb/gal"), "{doubts}");
    assert!(weed_killer("1 lb/gal").rate_of(&written("0.17 lb a.i./A")).is_ok());
}

#[test]
fn a_reason_lifts_the_bounds_of_this_tool_and_no_limit_of_the_label() {
    let reason = || Some("page 3: 80 fl oz/1000 sq ft on moss".to_owned());
    let sure = Product { rate_is_right: reason(), ..weed_killer("1 lb/gal") };
    let told = refusal(&weed_killer("1 lb/gal"), "80 fl oz/1000 sq ft");
    assert!(told.contains("a bound of this tool") && told.contains("rate_is_right"), "{told}");
    let rate = sure.rate_of(&written("80 fl oz/1000 sq ft")).unwrap();
    assert!(sure.lifted_doubt(&[], rate).unwrap().contains("64 fl oz/1000 sq ft"));
    // Where nothing is lifted, nothing is said.
    let usual = sure.rate_of(&written("1 fl oz/1000 sq ft")).unwrap();
    assert_eq!(sure.lifted_doubt(&[], usual), None);
    assert_eq!(weed_killer("1 lb/gal").lifted_doubt(&[], rate), None);
    // Nor does a reason make something of nothing, or of a content that cannot be.
    assert!(sure.rate_of(&written("0 fl oz/M")).is_err());
    let thick = Product { rate_is_right: reason(), ..weed_killer("100 lb/gal") };
    assert!(thick.rate_of(&written("0.5 fl oz/M")).is_err());
    let print = Product { rate_is_right: reason(), ..crate::world::regulator() };
    let told = refusal(&crate::world::regulator(), "25 fl oz/1000 sq ft");
    assert!(told.contains("rate_is_right"), "{told}");
    assert!(print.rate_of(&written("25 fl oz/1000 sq ft")).is_ok());
    // The label's own maximum stands.
    let capped = Product::from_toml(
        "id = \"capped\"\nname = \"capped\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
         formulation = \"SL\"\n[limits.max_per_application]\nlimit = \"1 fl oz/1000 sq ft\"\n",
    )
    .unwrap();
    let capped = Product { rate_is_right: reason(), ..capped };
    assert!(refusal(&capped, "80 fl oz/1000 sq ft").contains("above the most allowed"));
}

#[test]
fn a_rate_far_from_its_class_and_form_is_refused_with_the_likely_reading() {
    #[rustfmt::skip]
    let table = [
        ("pendimethalin-3-3-ec", "25 mL/m2", "perhaps 25 mL/100 m2 was meant"),
        ("prodiamine-65-wdg", "2.3 lb/1000 sq ft", "perhaps 2.3 lb/A was meant"),
        ("calcitic-lime", "300 lb/1000 sq ft", "perhaps 300 lb/A was meant"),
        ("mefluidide-2-s", "32 fl oz/1000 sq ft", "perhaps 32 fl oz/A was meant"),
    ];
    for (id, rate, reading) in table {
        let told = refusal(find_product(id).unwrap(), rate);
        assert!(told.contains(reading) && told.contains("a bound of this tool"), "{id}: {told}");
    }
    // Of no class, no content and no analysis at all.
    assert!(refusal(&plain("bag", "granule"), "300 lb/1000 sq ft").contains("above 50 lb"));
    for (id, rate) in [("calcitic-lime", "50 lb/1000 sq ft"), ("prodiamine-65-wdg", "2.3 lb/A")] {
        assert!(find_product(id).unwrap().rate_of(&written(rate)).is_ok(), "{id} {rate}");
    }
}

/// The bounds are above whatever is in print for a product shipped, and its contents can be.
#[test]
fn nothing_shipped_is_beyond_the_bounds() {
    let mut asked = 0;
    for product in products() {
        assert_eq!(product.check_strength(), Ok(()), "{}", product.id);
        for rate in product.rates.iter().filter_map(|published| published.rate.as_ref()) {
            if let Err(error) = product.rate_of(rate) {
                assert!(!error.to_string().contains("a bound of this tool"), "{error}");
            }
            asked += 1;
        }
    }
    assert!(asked > 50, "{asked}");
}

#[test]
fn a_spray_volume_per_acre_is_not_one_per_thousand_square_feet() {
    let doubt = |text: &str| doubt_spray_volume(written(text).rate().unwrap());
    assert!(doubt("40 gal/1000 sq ft").unwrap().contains("perhaps 40 gal/A was meant"));
    assert!(doubt("1 gal/A").unwrap().contains("perhaps 1 gal/1000 sq ft was meant"));
    // A gallon caught on a square foot is no calibration, and no slip of a unit either.
    assert!(!doubt("1 gal/sq ft").unwrap().contains("perhaps"));
    for fine in ["5 gal/A", "40 gal/A", "10 gal/1000 sq ft", "400 L/ha"] {
        assert_eq!(doubt(fine), None, "{fine}");
    }
}

#[test]
fn a_bare_share_is_asked_back() {
    let feed = |n: &str, share: &str| {
        Product::from_toml(&format!(
            "id = \"feed\"\nname = \"feed\"\nform = \"granule\"\n\
             [analysis]\nn = {n}\np2o5 = 0\nk2o = 0\nsoluble_n_share = {share}\n"
        ))
    };
    let told = feed("25", "0.7").unwrap_err().to_string();
    assert!(told.contains("soluble_n_share") && told.contains("\"0.7 %\" or \"70 %\""), "{told}");
    let told = feed("0.25", "70").unwrap_err().to_string();
    assert!(told.contains("analysis.n") && told.contains("\"0.25 %\" or \"25 %\""), "{told}");
    assert!((feed("\"0.25 %\"", "0").unwrap().analysis.unwrap().n - 0.0025).abs() < 1e-12);
    assert!((feed("1", "100").unwrap().analysis.unwrap().n - 0.01).abs() < 1e-12);
}

#[test]
fn a_rate_that_one_grass_bears_is_refused_on_another() {
    // 0.76 fl oz/1000 sq ft is in print for tall fescue, 0.37 at most for hybrid bermudagrass; 2.5 is
    // within five times the one, 3.8, and beyond five times the other, 1.85.
    let zones = [
        zone("Front", "tall-fescue", square_feet(1_000.0)),
        zone("Back", "bermudagrass-hybrid", square_feet(1_000.0)),
        zone("Side", "tall-fescue, bermudagrass-hybrid", square_feet(1_000.0)),
        // Nothing is in print for it, so all other grasses speak.
        zone("Strip", "buffalograss", square_feet(1_000.0)),
    ];
    let backpack = backpack("3 gal", "1 gal/M");
    let told = dose(&zones, &[chosen(regulator(), "2.5 fl oz/M")], &backpack).unwrap();
    let dosed: Vec<&str> = told.zones.iter().map(|zone| zone.zone.as_str()).collect();
    assert_eq!(dosed, ["Front", "Strip"]);
    let refused: Vec<(&str, bool)> =
        told.skipped.iter().map(|it| (it.zone.as_str(), it.refused)).collect();
    assert_eq!(refused, [("Back", true), ("Side", true)]);
    let reason = &told.skipped[0].reason;
    assert!(
        reason.starts_with(
            "rate 2.5 fl oz/1000 sq ft of trinexapac-ethyl-1-ec is 6.8 times the highest published, \
             0.37 fl oz/1000 sq ft for bermudagrass (mixed cultivars)"
        ),
        "{reason}"
    );
    assert!(reason.contains("perhaps 0.25 fl oz/1000 sq ft"), "{reason}");

    let at_five_times = chosen(regulator(), "1.85 fl oz/M");
    assert_eq!(dose(&zones, &[at_five_times], &backpack).unwrap().zones.len(), 4);

    let sure = Product { rate_is_right: Some("page 2".to_owned()), ..regulator() };
    assert!(sure.lifted_doubt(&[grass("tall-fescue")], rate("2.5 fl oz/M")).is_none());
    let doubt = sure.lifted_doubt(&[grass("bermudagrass-hybrid")], rate("2.5 fl oz/M")).unwrap();
    assert!(doubt.contains("6.8 times the highest"), "{doubt}");
    assert_eq!(dose(&zones, &[chosen(sure, "2.5 fl oz/M")], &backpack).unwrap().zones.len(), 4);
}

#[test]
fn less_than_any_product_of_its_form_is_put_down_at_is_a_slip() {
    // 0.3 ÷ 43.56 = 0.0069 fl oz/1000 sq ft.
    let liquid = refusal(&plain("liquid", "liquid"), "0.3 fl oz/A");
    assert!(
        liquid
            .contains("below 0.01 fl oz/1000 sq ft of any liquid herbicide (a bound of this tool)"),
        "{liquid}"
    );
    assert!(liquid.contains("perhaps 0.3 fl oz/1000 sq ft was meant"), "{liquid}");
    let powder = refusal(&plain("powder", "dry soluble"), "0.05 oz/A");
    assert!(powder.contains("below 0.0001 lb/1000 sq ft"), "{powder}");
    let granule = refusal(&plain("granule", "granule"), "0.4 lb/A");
    assert!(granule.contains("below 0.01 lb/1000 sq ft"), "{granule}");
    assert!(granule.contains("perhaps 0.4 lb/1000 sq ft was meant"), "{granule}");
    for (form, text) in [
        // The smallest that labels ask for (from memory) pass.
        ("liquid", "0.66 fl oz/A"),
        ("dry soluble", "0.25 oz/A"),
        ("granule", "1 lb/A"),
    ] {
        assert!(plain("low", form).rate_of(&written(text)).is_ok(), "{text}");
    }
    let sure = Product { rate_is_right: Some("page 2".into()), ..plain("liquid", "liquid") };
    assert!(sure.rate_of(&written("0.3 fl oz/A")).is_ok());
}

#[test]
fn a_feed_without_nitrogen_may_lie_thicker_than_one_with_it() {
    // Limestone and gypsum go on by the hundredweight, a feed of 2 % nitrogen by fifty pounds.
    assert!(fertilizer("0-0-50").rate_of(&written("140 lb/M")).is_ok());
    let told = refusal(&fertilizer("2-0-0"), "120 lb/M");
    assert!(told.contains("above 100 lb/1000 sq ft"), "{told}");
    assert!(fertilizer("0-0-50").rate_of(&written("160 lb/M")).is_err());
}
