//! Rates of part of a product, ounces, and rates that cannot be meant.

use turfplat_dose::{Analysis, Product, cautions, find_product, plan_rate_unit};
use turfplat_units::UnitSystem::{self, Metric, Us};
use turfplat_units::WrittenAmount;

use crate::world::{amount, fertilizer, grass, of, plain, rate, rate_of, regulator, written};

fn refusal(product: &Product, text: &str) -> String {
    product.rate_of(&written(text)).unwrap_err().to_string()
}

#[test]
fn rates_of_active_ingredient_agree_with_the_figures_in_print() {
    #[rustfmt::skip]
    let table = [
        // a.i., fl oz/1000 sq ft of a 1 lb/gal liquid as printed, half its last digit, source
        ("0.104 kg a.i./ha",  0.27, 5e-3, "Totten, Toler, McCarty 2006 (exact 0.2727)"),
        ("0.096 kg a.i./ha",  0.25, 5e-3, "Brosnan et al. 2010 (exact 0.2517)"),
        ("0.29 kg a.i./ha",   0.76, 5e-3, "Gardner & Wherley 2005"),
        ("1 lb a.i./A",       128.0 / 43.56, 1e-12, "worked by hand: 1 gal = 128 fl oz on 43.56 × 1000 sq ft"),
    ];
    for (text, printed, tolerance, source) in table {
        // The last row is above all that is in print, so the conversion alone is asked.
        let product = Product { rates: Vec::new(), ..regulator() };
        let ours = rate_of(product.rate_of(&written(text)).unwrap(), "1 fl oz/1000 sq ft");
        assert!((ours - printed).abs() <= tolerance, "{text}: {ours} ≠ {printed}, {source}");
    }
}

#[test]
fn a_bare_ounce_is_weight_only_where_nothing_else_can_be_meant() {
    let urea = find_product("urea-46-0-0").unwrap();
    let pounds = rate_of(urea.rate_of(&written("16 oz/1000 sq ft")).unwrap(), "1 lb/1000 sq ft");
    assert!((pounds - 1.0).abs() < 1e-12);
    assert_eq!(
        refusal(&regulator(), "0.25 oz/1000 sq ft"),
        "rate \"0.25 oz/1000 sq ft\" of trinexapac-ethyl-1-ec: \"oz\" of a liquid may mean \
         0.25 fl oz/1000 sq ft (volume) or 0.25 oz wt/1000 sq ft (weight); write the one that \
         the label means"
    );
}

#[test]
fn a_liquid_by_weight_needs_its_density() {
    let liquid = plain("liquid", "liquid");
    assert_eq!(
        refusal(&liquid, "9 lb/A"),
        "rate \"9 lb/A\" of liquid: a liquid is measured by volume, and its density is not \
         given; add density to the product file, such as \"9.1 lb/gal\", or write the rate by volume"
    );
    let feed = Product::from_toml(
        "id = \"feed\"\nname = \"feed\"\nclass = \"fertilizer\"\nform = \"liquid\"\n\
         formulation = \"liquid fertilizer\"\ndensity = \"10 lb/gal\"\n\
         [analysis]\nn = \"20 %\"\np2o5 = 0\nk2o = 0\n",
    )
    .unwrap();
    // Worked by hand: 1 lb N is 5 lb of product is half a gallon.
    let gallons = rate_of(feed.rate_of(&written("1 lb N/M")).unwrap(), "1 gal/1000 sq ft");
    assert!((gallons - 0.5).abs() < 1e-12);
}

#[test]
fn what_a_product_file_leaves_out_is_asked_for() {
    for (product, text, message) in [
        (
            plain("dry", "dry soluble"),
            "2 lb a.i./A",
            "rate \"2 lb a.i./A\" of dry: its content of active ingredient is not given; add \
             content to the product file or write the rate of product",
        ),
        (
            plain("dry", "dry soluble"),
            "1 lb N/M",
            "rate \"1 lb N/1000 sq ft\" of dry: its analysis is not given; add [analysis] to the \
             product file or write the rate of product",
        ),
        (
            fertilizer("0-0-22"),
            "1 lb N/M",
            "rate \"1 lb N/1000 sq ft\" of grade-0-0-22: there is no N in 0-0-22; choose another \
             product or write the rate of product",
        ),
        (
            fertilizer("24-2-12"),
            "3 cups/M",
            "rate \"3 cup/1000 sq ft\" of grade-24-2-12: a granule product is weighed; write the \
             rate in lb, oz wt, g or kg",
        ),
        (
            regulator(),
            "1 fl oz a.i./A",
            "rate \"1 fl oz a.i./A\" of trinexapac-ethyl-1-ec: an active ingredient or nutrient \
             is counted by weight; write it in lb, oz wt, g or kg, or write the rate of product",
        ),
        (
            regulator(),
            "0 fl oz/M",
            "rate of trinexapac-ethyl-1-ec is zero; leave the product or the species out instead",
        ),
    ] {
        assert_eq!(refusal(&product, text), message);
    }
}

#[test]
fn a_rate_that_cannot_be_meant_is_answered_with_the_likely_slip() {
    // Five times the highest in print is still taken as meant.
    assert!(regulator().rate_of(&written("3.8 fl oz/1000 sq ft")).is_ok());
    let above = refusal(&regulator(), "3.9 fl oz/1000 sq ft");
    assert!(above.contains("is 5.1 times the highest published"), "{above}");
    for (text, message) in [
        (
            "29 kg a.i./ha",
            "rate 29 kg a.i./ha of trinexapac-ethyl-1-ec is 100 times the highest published, \
             0.76 fl oz/1000 sq ft for tall fescue (Gardner & Wherley, HortTechnology 2005); \
             perhaps 0.29 kg a.i./ha (the point two places off, a factor of 100) was meant: \
             check the label and write the rate with its unit; if the label does allow it, say where in rate_is_right",
        ),
        (
            "11 fl oz/1000 sq ft",
            "rate 11 fl oz/1000 sq ft of trinexapac-ethyl-1-ec is 14 times the highest \
             published, 0.76 fl oz/1000 sq ft for tall fescue (Gardner & Wherley, HortTechnology \
             2005); perhaps 11 fl oz/A (per acre) or 11 mL/1000 sq ft (another measure) was \
             meant: check the label and write the rate with its unit; if the label does allow it, say where in rate_is_right",
        ),
    ] {
        assert_eq!(refusal(&regulator(), text), message);
    }
    let acre = refusal(&regulator(), "325 mL/m2");
    assert!(acre.contains("perhaps 325 mL/A (per acre)"), "{acre}");
    let nitrogen = refusal(find_product("urea-46-0-0").unwrap(), "43 lb N/M");
    assert!(nitrogen.contains("perhaps 43 lb N/A (per acre)"), "{nitrogen}");
}

#[test]
fn a_rate_above_the_cap_of_the_label_is_refused() {
    let text = "id = \"capped\"\nname = \"capped\"\nclass = \"fertilizer\"\nform = \"granule\"\n\
                formulation = \"granule\"\n[analysis]\nn = 46\np2o5 = 0\nk2o = 0\n\
                [limits.max_per_application]\nlimit = \"0.9 lb N/1000 sq ft\"\n\
                source = \"Md. Code Agric. 6-224\"\n";
    let product = Product::from_toml(text).unwrap();
    assert!(product.rate_of(&written("0.9 lb N/M")).is_ok());
    assert_eq!(
        refusal(&product, "2 lb/M"),
        "rate 2 lb/1000 sq ft of capped is above the most allowed at once, 0.9 lb N/1000 sq ft \
         (Md. Code Agric. 6-224); lower the rate"
    );
}

#[test]
fn every_cap_of_the_label_is_held_to() {
    let product = |cap: &str, limit: &str| {
        let text = format!(
            "id = \"capped\"\nname = \"capped\"\nform = \"liquid\"\nformulation = \"SL\"\n\
             [[active_ingredients]]\nname = \"x\"\ncontent = \"4 lb/gal\"\n\
             [limits]\n{cap} = {{ limit = \"{limit}\", source = \"label\" }}\n"
        );
        Product::from_toml(&text).unwrap()
    };
    // A gallon holds 4 lb, so a quart an acre is a pound of it.
    for (cap, limit, when) in [
        ("max_per_application", "32 fl oz/A", "at once"),
        ("max_active_per_application", "1 lb a.i./A", "at once"),
        ("max_per_year", "32 fl oz/A", "in a year"),
        ("max_active_per_year", "1 lb a.i./A", "in a year"),
    ] {
        let product = product(cap, limit);
        assert!(product.rate_of(&written("32 fl oz/A")).is_ok(), "{cap}");
        let refused = refusal(&product, "33 fl oz/A");
        assert!(refused.contains(&format!("most allowed {when}, {limit} (label)")), "{refused}");
    }
}

#[test]
fn a_rate_far_too_low_is_answered_with_the_likely_slip() {
    let urea = find_product("urea-46-0-0").unwrap();
    let five = fertilizer("5-1-1");
    for (product, text, slip) in [
        (&regulator(), "0.25 fl oz/A", "perhaps 0.25 fl oz/1000 sq ft (per 1000 sq ft)"),
        (&regulator(), "0.0025 fl oz/1000 sq ft", "perhaps 0.25 fl oz/1000 sq ft (the point two"),
        (&regulator(), "7 mL/A", "perhaps 7 mL/1000 sq ft (per 1000 sq ft)"),
        // 0.25 fl oz/1000 sq ft are 7.393 mL on 92.903 m2: 0.0796 mL/m2.
        (&regulator(), "0.08 mL/100 m2", "perhaps 0.08 mL/m2 (per m2)"),
        (urea, "1 lb N/A", "perhaps 1 lb N/1000 sq ft (per 1000 sq ft)"),
        // A pound of a 5-1-1 is a twentieth of a pound of nitrogen.
        (&five, "1 lb/1000 sq ft", "perhaps 1 lb N/1000 sq ft (of nitrogen, not of product)"),
    ] {
        let told = refusal(product, text);
        assert!(told.contains("of the lowest published"), "{told}");
        assert!(told.contains(slip), "{told}");
    }
    // Greens are fed a tenth of a pound at once, and a moved point is not taken for granted there.
    assert!(urea.rate_of(&written("0.1 lb N/1000 sq ft")).is_ok());
    assert!(regulator().rate_of(&written("0.05 fl oz/1000 sq ft")).is_ok());
}

#[test]
fn product_for_a_part_and_a_part_for_product_are_told_apart() {
    // Product written as nitrogen: 20 lb of a 5-1-1 are a pound of nitrogen.
    let told = refusal(&fertilizer("5-1-1"), "20 lb N/1000 sq ft");
    assert!(told.contains("perhaps 20 lb/1000 sq ft (of product, not of a part)"), "{told}");
    // Active ingredient written as product, of a liquid without density.
    let told = refusal(&regulator(), "0.29 kg/ha");
    assert!(
        told.contains("perhaps 0.29 kg a.i./ha (of active ingredient, not of product) was meant"),
        "{told}"
    );
}

#[test]
fn a_rate_of_any_nutrient_is_product_by_its_share() {
    #[rustfmt::skip]
    let table = [
        // worked by hand: 1 lb of the nutrient over its share of a 10-20-5
        ("1 lb N/M", 10.0), ("1 lb P2O5/M", 5.0), ("1 lb K2O/M", 20.0),
    ];
    for (text, pounds) in table {
        // Without rates in print, so that the conversion alone is asked.
        let product = Product { rates: Vec::new(), ..fertilizer("10-20-5") };
        let ours = rate_of(product.rate_put_down(&written(text)).unwrap(), "1 lb/1000 sq ft");
        assert!((ours - pounds).abs() < 1e-12, "{text}: {ours}");
    }
}

#[test]
fn an_amount_that_was_measured_out_is_one_of_the_products_form() {
    let liquid = || plain("liquid", "liquid");
    let weighed = Product::from_toml(
        "id = \"weighed\"\nname = \"weighed\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
         formulation = \"SL\"\ndensity = \"10 lb/gal\"\n",
    )
    .unwrap();
    let granule = || plain("granule", "granule");
    #[rustfmt::skip]
    let table = [
        // product, measured out, worked by hand
        (liquid(),        "12 fl oz", Ok(("1 fl oz", 12.0))),
        (weighed.clone(), "5 lb",     Ok(("1 gal", 0.5))),      // at 10 lb/gal
        (granule(),       "5 lb",     Ok(("1 lb", 5.0))),
        (granule(),       "32 oz",    Ok(("1 lb", 2.0))),       // of a dry product a weight
        (liquid(),        "5 lb",     Err("its density is not given")),
        (weighed,         "12 oz",    Err("may be a volume or a weight")),
        (granule(),       "1 gal",    Err("a dry product is weighed")),
    ];
    for (product, text, by_hand) in table {
        let amount = product.amount_of(&text.parse::<WrittenAmount>().unwrap());
        match by_hand {
            Ok((unit, by_hand)) => assert!((of(amount.unwrap(), unit) - by_hand).abs() < 1e-12),
            Err(why) => {
                let told = amount.unwrap_err().to_string();
                assert!(told.contains(why), "{text}: {told}");
            }
        }
    }
}

/// Numbers and result of a step.
type Shown = (&'static str, &'static str);

#[test]
fn the_way_from_a_written_rate_to_the_container_is_shown_step_by_step() {
    let nist = "NIST Handbook 44, Appendix C";
    let liquid = |class: &str, rest: &str| {
        Product::from_toml(&format!(
            "id = \"weighed\"\nname = \"weighed\"\nclass = {class:?}\nform = \"liquid\"\n\
             formulation = \"SL\"\ndensity = \"10 lb/gal\"\n{rest}"
        ))
        .unwrap()
    };
    let weighed = liquid("herbicide", "");
    let feed = liquid("fertilizer", "[analysis]\nn = \"20 %\"\np2o5 = 0\nk2o = 0\n");
    let urea = find_product("urea-46-0-0").unwrap();
    let regulator = regulator();
    // Each step was gone over by hand: 1 lb/gal are 0.119826 kg/L, 10 lb/gal 1.19826 kg/L.
    #[rustfmt::skip]
    let table: [(&Product, &str, UnitSystem, &[Shown]); 11] = [
        (&regulator, "0.25 lb a.i./A", Us, &[
            ("0.25 × 1,000 ÷ 43,560", "0.00573921 lb a.i./1000 sq ft"),
            ("0.00573921 ÷ 1 × 128", "0.734619 fl oz/1000 sq ft"),
        ]),
        (&regulator, "0.29 kg a.i./ha", Metric, &[
            ("0.29 × 100 ÷ 10,000", "0.0029 kg a.i./100 m2"),
            ("0.0029 ÷ 0.119826 × 1,000", "24.2017 mL/100 m2"),
        ]),
        (&regulator, "0.29 kg a.i./ha", Us, &[
            ("0.29 × 1,000 × 92.90304 ÷ 453.59237 ÷ 10,000", "0.00593967 lb a.i./1000 sq ft"),
            ("0.00593967 ÷ 1 × 128", "0.760278 fl oz/1000 sq ft"),
        ]),
        (&regulator, "1 pt/A", Us, &[("1 × 16 × 1,000 ÷ 43,560", "0.367309 fl oz/1000 sq ft")]),
        (&regulator, "8 mL/100 m2", Us, &[
            ("8 × 92.90304 ÷ 29.5735295625 ÷ 100", "0.251314 fl oz/1000 sq ft"),
        ]),
        (&regulator, "8 mL/100 m2", Metric, &[]),
        (urea, "1 lb N/1000 sq ft", Us, &[("1 ÷ 0.46", "2.17391 lb/1000 sq ft")]),
        (urea, "46 kg N/ha", Metric, &[
            ("46 × 100 ÷ 10,000", "0.46 kg N/100 m2"),
            ("0.46 ÷ 0.46", "1 kg/100 m2"),
        ]),
        (urea, "32 oz/1000 sq ft", Us, &[("32 ÷ 16", "2 lb/1000 sq ft")]),
        (&weighed, "9 lb/A", Us, &[
            ("9 × 1,000 ÷ 43,560", "0.206612 lb/1000 sq ft"),
            ("0.206612 ÷ 10 × 128", "2.64463 fl oz/1000 sq ft"),
        ]),
        (&feed, "1 lb N/1000 sq ft", Us, &[
            ("1 ÷ 0.2", "5 lb/1000 sq ft"),
            ("5 ÷ 10 × 128", "64 fl oz/1000 sq ft"),
        ]),
    ];
    for (product, text, units, by_hand) in table {
        let worked = product.worked_rate(&written(text), units).unwrap();
        let ours: Vec<(&str, &str)> =
            worked.steps.iter().map(|step| (step.numbers.as_str(), step.result.as_str())).collect();
        assert_eq!(ours, by_hand, "{text}");
        assert_eq!(worked.value, product.rate_of(&written(text)).unwrap());
    }
    let sources = |product: &Product, text: &str, units| -> Vec<String> {
        let steps = product.worked_rate(&written(text), units).unwrap().steps;
        steps.iter().map(|step| step.source.to_string()).collect()
    };
    let acre = format!("43,560 sq ft an acre, exact ({nist})");
    let foot = format!("1 ft is 0.3048 m and 1 acre 43,560 sq ft, exact ({nist})");
    let gallon = format!("128 fl oz a gallon, exact ({nist})");
    let content = "the content of active ingredient in the product file";
    let active = "0.29 kg a.i./ha";
    assert_eq!(sources(&regulator, "1 pt/A", Us), [format!("{gallon}; {acre}")]);
    assert_eq!(
        sources(&regulator, active, Us),
        [format!("1 lb is 453.59237 g, exact ({nist}); {foot}"), format!("{content}; {gallon}")]
    );
    assert_eq!(
        sources(&regulator, active, Metric),
        ["10,000 m² a hectare, exact (SI)", &format!("{content}; 1,000 mL a liter, exact (SI)")]
    );
    assert_eq!(
        sources(&regulator, "8 mL/100 m2", Us),
        [format!("1 gal is 3,785.411784 mL, 1 fl oz 29.5735295625 mL, exact ({nist}); {foot}")]
    );
    let dry = Product::from_toml(
        "id = \"dry\"\nname = \"dry\"\nclass = \"herbicide\"\nform = \"dry soluble\"\n\
         formulation = \"WDG\"\n[[active_ingredients]]\nname = \"x\"\ncontent = \"50 %\"\n",
    )
    .unwrap();
    assert_eq!(sources(&dry, "0.1 lb a.i./M", Us), [content]);
    assert_eq!(sources(urea, "32 oz/M", Us), [format!("16 oz a pound, exact ({nist})")]);
    assert_eq!(
        sources(&feed, "1 lb N/M", Us),
        [
            "the guaranteed analysis: percent of the product's weight",
            &format!("the density in the product file; {gallon}")
        ]
    );
}

#[test]
fn whether_a_rate_can_be_meant_is_shown_in_percent() {
    // 0.76 fl oz/1000 sq ft is the highest in print; five times that are 3.8, and 1.9 half of it.
    let unit = plan_rate_unit(amount("1 fl oz"), Us);
    let (what, step) =
        regulator().plausible(grass("tall-fescue"), rate("1.9 fl oz/M"), unit).unwrap();
    assert!(what.starts_with("can be meant: at most 5 times the highest in print, "), "{what}");
    assert!(step.numbers.starts_with("100 × 1.9 ÷ (5 × 0.76"), "{}", step.numbers);
    assert!(step.result.starts_with("49.9") || step.result.starts_with("50"), "{}", step.result);
    // 0.37 is the highest for hybrid bermudagrass; of buffalograss none is in print.
    let hybrid = grass("bermudagrass-hybrid");
    let (what, step) = regulator().plausible(hybrid, rate("0.37 fl oz/M"), unit).unwrap();
    assert!(what.ends_with("0.37 fl oz/1000 sq ft for bermudagrass (mixed cultivars)"), "{what}");
    assert!(step.result.starts_with("20") || step.result.starts_with("19.9"), "{}", step.result);
    let (what, _) =
        regulator().plausible(grass("buffalograss"), rate("0.37 fl oz/M"), unit).unwrap();
    assert!(what.ends_with("for tall fescue (none is in print for buffalograss)"), "{what}");
    let none = plain("liquid", "liquid");
    assert!(none.plausible(grass("tall-fescue"), rate("1 fl oz/M"), unit).is_none());
}

#[test]
fn a_rate_of_the_acid_wants_a_content_of_the_acid() {
    let product = |content: &str| {
        let text = format!(
            "id = \"own\"\nname = \"own\"\nform = \"liquid\"\n[[active_ingredients]]\nname = \"2,4-D\"\n\
             content = {content:?}\n"
        );
        turfplat_dose::Product::from_toml(&text).unwrap_or_else(|error| panic!("{error}"))
    };
    // 1.9 lb of 3.8 lb/gal are half a gallon, 64 fl oz; worked by hand.
    for (content, rate) in [
        ("3.8 lb a.e./gal", "1.9 lb a.e./A"),
        ("3.8 lb ae/gal", "1.9 lb ae/A"),
        ("3.8 lb/gal", "1.9 lb a.i./A"),
        ("3.8 lb a.i./gal", "1.9 lb a.i./A"),
    ] {
        let half = product(content).rate_of(&rate.parse().unwrap()).unwrap();
        let by_hand = product(content).rate_of(&"64 fl oz/A".parse().unwrap()).unwrap();
        assert!((half.over(by_hand).unwrap() - 1.0).abs() < 1e-9, "{content}, {rate}");
    }
    for (content, rate, message) in [
        (
            "3.8 lb a.e./gal",
            "1.9 lb a.i./A",
            "product own: the rate 1.9 lb a.i./A counts active ingredient, and the content in its file, \
             3.8 lb a.e./gal, counts acid equivalent; if the rate is of the acid, write a.e. in it; else \
             write it as product",
        ),
        (
            "3.8 lb/gal",
            "1.9 lb a.e./A",
            "product own: the rate 1.9 lb a.e./A counts acid equivalent, and the content in its file, \
             3.8 lb/gal, counts active ingredient; if the label's content is of the acid, write content \
             such as \"3.8 lb a.e./gal\"; else write the rate as product",
        ),
    ] {
        let error = product(content).rate_of(&rate.parse().unwrap()).unwrap_err();
        assert_eq!(error.to_string(), message);
    }
}

#[test]
fn whatever_holds_a_nutrient_is_a_fertilizer_too() {
    let product = |class: &str, analysis: [f64; 3]| {
        let [n, p2o5, k2o] = analysis.map(|percent| percent / 100.0);
        let analysis = Some(Analysis { n, p2o5, k2o, soluble_n_share: None });
        Product { analysis, ..plain(class, "granule") }
    };
    for (analysis, feeds) in [
        ([24.0, 0.0, 0.0], true),
        ([0.0, 20.0, 0.0], true),
        ([0.0, 0.0, 50.0], true),
        ([0.0, 0.0, 0.0], false),
    ] {
        assert_eq!(product("weed-and-feed", analysis).is_fertilizer(), feeds, "{analysis:?}");
    }
    assert!(!plain("weeds", "granule").is_fertilizer());
    assert!(Product { class: None, ..plain("unsaid", "granule") }.is_fertilizer());
    // The law's caution on nitrogen goes with nitrogen alone.
    let told = |analysis| {
        let product = product("weed-and-feed", analysis);
        cautions(&[&product], &["maryland".to_owned()]).iter().any(|text| text.contains("Maryland"))
    };
    assert!(told([24.0, 0.0, 0.0]) && !told([0.0, 0.0, 50.0]));
}
