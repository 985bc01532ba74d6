//! What stands in the rows and messages of limits, and which treatments a limit speaks of.

use turfplat_dose::{
    ChosenProduct, Dose, Equipment, LimitBy, LimitVerdict, Occasion, Product, Put, dose_on,
};

use crate::limits::{YEAR, capped, feed, knapsack, lawn, on, put, refusal, row, twenty};
use crate::world::{amount, backpack, chosen, fertilizer, of, plain, spreader, square_feet, zone};

fn on_the_lawn(occasion: &Occasion<'_>, mix: &[ChosenProduct]) -> Dose {
    dose_on(occasion, &lawn(), mix, &knapsack()).unwrap()
}

fn fed(mix: &[Product], place: &str) -> Dose {
    let places = [place.to_owned()];
    let occasion = Occasion { places: &places, ..Occasion::default() };
    let mix: Vec<_> = mix.iter().map(|product| chosen(product.clone(), "0.5 lb/M")).collect();
    dose_on(&occasion, &lawn(), &mix, &spreader(None)).unwrap()
}

#[test]
fn the_words_of_limits() {
    let by = [LimitBy::Label, LimitBy::Place, LimitBy::Species].map(LimitBy::word);
    assert_eq!(by, ["label", "place", "species"]);
    use LimitVerdict::{AboveAdvice, Exceeded, Kept, NotChecked, NotStated};
    let verdicts = [Kept, Exceeded, AboveAdvice, NotStated, NotChecked].map(LimitVerdict::word);
    assert_eq!(verdicts, ["kept", "exceeded", "above advice", "not stated", "not checked"]);
}

#[test]
fn a_limit_on_what_a_product_does_not_hold_is_missed_on_no_label() {
    let not_stated = |dose: &Dose| -> Vec<&'static str> {
        let rows = dose
            .limits
            .iter()
            .filter(|row| row.by == LimitBy::Label && row.verdict == LimitVerdict::NotStated);
        rows.map(|row| row.limit).collect()
    };
    let regulator =
        on_the_lawn(&Occasion::default(), &[chosen(capped("own", "x", ""), "1 fl oz/M")]);
    assert_eq!(
        not_stated(&regulator),
        [
            "max_per_application",
            "max_active_per_application",
            "max_per_year",
            "max_active_per_year",
            "min_interval",
            "spray_volume"
        ]
    );
    assert!(regulator.limits.iter().all(|row| row.source == "label"));
    assert_eq!(
        not_stated(&fed(&[fertilizer("20-0-5")], "illinois")),
        [
            "max_per_application",
            "max_nitrogen_per_application",
            "max_per_year",
            "max_nitrogen_per_year",
            "min_interval"
        ]
    );
    assert_eq!(
        not_stated(&fed(&[fertilizer("0-0-50")], "illinois")),
        ["max_per_application", "max_per_year", "min_interval"]
    );
}

#[test]
fn without_a_history_it_is_said_that_only_the_plan_is_counted() {
    let mix = [chosen(capped("own", "x", YEAR), "1 fl oz/M")];
    let dose = on_the_lawn(&Occasion::default(), &mix);
    assert_eq!(
        row(&dose, "max_per_year").remark.as_deref(),
        Some("this plan; no [[history]] is given, so only this plan is counted")
    );
}

#[test]
fn a_product_without_a_content_counts_towards_its_own_limit() {
    let text = "id = \"own\"\nname = \"own\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
                formulation = \"SL\"\n[limits]\n";
    let product = Product::from_toml(&format!("{text}{YEAR}")).unwrap();
    let mix = [chosen(product.clone(), "0.5 fl oz/M")];
    let earlier = || vec![put("2026-04-01", &product, "1.6 fl oz/M")];
    assert!(refusal(&on_the_lawn(&on("2026-06-08", earlier()), &mix)).contains("2.1 fl oz"));
}

#[test]
fn another_product_counts_by_its_active_ingredient() {
    // 2 lb/gal to 1 lb/gal: 0.8 fl oz of it are as much as 1.6 fl oz of the product.
    let product = capped("own", "x", YEAR);
    let strong = Product::from_toml(
        "id = \"strong\"\nname = \"s\"\nclass = \"growth regulator\"\nform = \"liquid\"\n\
         formulation = \"EC\"\n[[active_ingredients]]\nname = \"x\"\ncontent = \"2 lb/gal\"\n",
    )
    .unwrap();
    let mix = [chosen(product, "0.5 fl oz/M")];
    let dose =
        on_the_lawn(&on("2026-06-08", vec![put("2026-04-01", &strong, "0.7 fl oz/M")]), &mix);
    let asked = row(&dose, "max_per_year").asked.as_ref().unwrap().value;
    assert!((asked - 1.9).abs() < 1e-9, "{asked}");
    let dose =
        on_the_lawn(&on("2026-06-08", vec![put("2026-04-01", &strong, "0.8 fl oz/M")]), &mix);
    assert!(refusal(&dose).contains("2.1 fl oz"));
}

#[test]
fn a_share_by_weight_of_a_liquid_counts_by_its_density() {
    // 10 lb/gal and 20 %: a gallon holds 2 lb, so 64 fl oz/A put down 1 lb a.i./A, and
    // 64/43.56 = 1.4692 fl oz/1000 sq ft are the most; by weight 0.1 lb are 1.28 fl oz.
    let product = |limit: &str| {
        Product::from_toml(&format!(
            "id = \"own\"\nname = \"own\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
             formulation = \"SC\"\ndensity = \"10 lb/gal\"\n[[active_ingredients]]\n\
             name = \"x\"\ncontent = \"20 %\"\n[limits]\n{limit}\n"
        ))
        .unwrap()
    };
    for (limit, most) in [
        (
            "max_active_per_application = { limit = \"1 lb a.i./A\", source = \"label\" }",
            64.0 / 43.56,
        ),
        ("max_per_application = { limit = \"0.1 lb/1000 sq ft\", source = \"label\" }", 1.28),
    ] {
        // In two halves: a rate that is above by itself is refused before.
        for (times, dosed) in [(0.999, 1), (1.001, 0)] {
            let half = format!("{} fl oz/M", most * times / 2.0);
            let other = Product { id: "other".into(), ..product("") };
            let mix = [chosen(product(limit), &half), chosen(other, &half)];
            let dose = on_the_lawn(&Occasion::default(), &mix);
            assert_eq!(dose.zones.len(), dosed, "{limit} {times}: {:?}", dose.skipped);
        }
    }
}

#[test]
fn a_weed_killer_without_an_analysis_feeds_nothing_and_a_fertilizer_is_asked() {
    let weeds = fed(&[plain("weeds", "granule")], "maryland");
    assert_eq!(weeds.zones.len(), 1);
    assert!(weeds.limits.iter().all(|row| row.by == LimitBy::Label));
    let mut unknown = fertilizer("20-0-5");
    unknown.analysis = None;
    let unknown = fed(&[unknown], "maryland");
    assert!(refusal(&unknown).contains("the analysis of grade-20-0-5 is not given"));
}

#[test]
fn labels_of_others_speak_only_of_what_goes_on() {
    let cap = "max_active_per_year = { limit = \"0.1 lb a.i./A\", source = \"label\" }\n";
    let another = capped("another", "paclobutrazol", cap);
    let mix = [chosen(capped("own", "x", ""), "1 fl oz/M")];
    let dose = on_the_lawn(&on("2026-06-08", vec![put("2026-05-01", &another, "1 fl oz/M")]), &mix);
    assert_eq!(dose.zones.len(), 1);
    assert!(dose.limits.iter().all(|row| row.product == "own"), "{:?}", dose.limits);
}

#[test]
fn the_interval_holds_between_products_that_act_alike() {
    let cap = "min_interval = { limit = \"28 days\", source = \"label\" }\n";
    let mix = [chosen(capped("own", "x", cap), "0.5 fl oz/M")];
    let another = capped("another", "y", "");
    let dose = on_the_lawn(&on("2026-06-08", vec![put("2026-06-01", &another, "1 fl oz/M")]), &mix);
    assert_eq!(dose.zones.len(), 1);
    // The same product counts though nothing is said of its ingredients.
    let text = format!(
        "id = \"own\"\nname = \"own\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
         formulation = \"SL\"\n[limits]\n{cap}"
    );
    let bare = Product::from_toml(&text).unwrap();
    let mix = [chosen(bare.clone(), "0.5 fl oz/M")];
    let dose = on_the_lawn(&on("2026-06-08", vec![put("2026-06-01", &bare, "1 fl oz/M")]), &mix);
    assert!(refusal(&dose).contains("7 days apart"));
}

#[test]
fn an_interval_is_known_too_short_whatever_else_has_no_date() {
    let cap = "min_interval = { limit = \"28 days\", source = \"label\" }\n";
    let product = capped("own", "x", cap);
    let mix = [chosen(product.clone(), "0.5 fl oz/M")];
    let undated =
        || Put { day: None, what: "undated".into(), ..put("2026-01-01", &product, "1 fl oz/M") };
    for (earlier, verdict) in [
        ("2026-05-12", LimitVerdict::Exceeded), // 27 days before 8 June
        ("2026-05-11", LimitVerdict::NotChecked), // 28 days: the other may have been nearer
        ("2026-05-01", LimitVerdict::NotChecked),
    ] {
        let earlier = vec![undated(), put(earlier, &product, "0.5 fl oz/M")];
        let dose = on_the_lawn(&on("2026-06-08", earlier), &mix);
        let interval = row(&dose, "min_interval");
        assert_eq!(interval.verdict, verdict, "{:?}", interval.remark);
        if verdict == LimitVerdict::NotChecked {
            let remark = interval.remark.as_deref();
            assert_eq!(remark, Some("undated has a date, and this has none, or the other way"));
        }
    }
    // Two trips of a plan without dates are on one day.
    let occasion = Occasion { earlier: vec![vec![undated()]], ..Occasion::default() };
    let dose = on_the_lawn(&occasion, &mix);
    assert!(
        refusal(&dose).contains("treated on the same day (undated), 0 days apart"),
        "{}",
        refusal(&dose)
    );
    assert!(refusal(&dose).ends_with("give each application its date"));
}

#[test]
fn a_sum_just_above_a_limit_is_printed_until_it_differs() {
    let product = capped("own", "x", YEAR);
    let mix = [chosen(product.clone(), "0.5 fl oz/M")];
    let dose =
        on_the_lawn(&on("2026-06-08", vec![put("2026-04-01", &product, "1.5004 fl oz/M")]), &mix);
    assert!(refusal(&dose).starts_with("own: 2.0004 fl oz/1000 sq ft (0.5 now, 1.5 besides)"));
    // What exceeds the year alone has nothing besides.
    let other = chosen(capped("other", "x", ""), "1.5 fl oz/M");
    let alone = on_the_lawn(&on("2026-06-08", vec![]), &[chosen(product, "1 fl oz/M"), other]);
    assert_eq!(
        refusal(&alone),
        "own: 2.5 fl oz/1000 sq ft in 12 months from 2026-06-08 is more than the most allowed in a \
         year, 2 fl oz/1000 sq ft (label); at most 2 fl oz/1000 sq ft may still go on"
    );
}

/// Measured to 1/4 fl oz on 2,000 sq ft.
fn measured(occasion: &Occasion<'_>, mix: &[ChosenProduct]) -> Vec<f64> {
    let knapsack =
        Equipment { smallest_measure: Some(amount("0.25 fl oz")), ..backpack("3 gal", "1 gal/M") };
    let lawn = [zone("Lawn", "tall-fescue", square_feet(2_000.0))];
    let dose = dose_on(occasion, &lawn, mix, &knapsack).unwrap();
    let load = &dose.batches[0].loads[0];
    load.products.iter().map(|product| of(product.measured, "1 fl oz")).collect()
}

#[test]
fn a_mark_above_the_exact_amount_leaves_the_year_what_is_to_come() {
    // 1.4 fl oz lie nearest to 1.5, which is 0.75 fl oz/M of the 2 allowed in a year.
    let product = capped("own", "x", YEAR);
    let mix = [chosen(product.clone(), "0.7 fl oz/M")];
    for (later, by_hand) in [("1.2 fl oz/M", 1.5), ("1.25 fl oz/M", 1.5), ("1.29 fl oz/M", 1.25)] {
        let later = vec![vec![put("2026-07-01", &product, later)]];
        let occasion = Occasion { later, ..on("2026-06-08", vec![]) };
        assert!((measured(&occasion, &mix)[0] - by_hand).abs() < 1e-9, "{by_hand}");
    }
}

#[test]
fn a_limit_gives_no_room_to_a_partner_that_it_does_not_count() {
    let cap = "max_active_per_year = { limit = \"2 lb a.i./A\", source = \"label\" }\n";
    let mix = [
        chosen(capped("own", "x", cap), "0.7 fl oz/M"),
        chosen(capped("other", "y", ""), "0.7 fl oz/M"),
    ];
    let measured = measured(&on("2026-06-08", vec![]), &mix);
    assert!((measured[0] - 1.5).abs() < 1e-9 && (measured[1] - 1.25).abs() < 1e-9, "{measured:?}");
}

#[test]
fn the_refusal_of_a_place_says_what_it_counted() {
    let reason = |soluble| refusal(&feed(&twenty(soluble), "0.8 lb N/M", "maryland")).to_owned();
    assert_eq!(
        reason(None),
        "grade-20-0-5: 0.8 lb/1000 sq ft of quickly soluble nitrogen (its share is not given, so all \
         counts) is more than the 0.7 lb/1000 sq ft that Maryland allows at once \
         (Md. Code Agric. 6-224); lower the rate"
    );
    assert_eq!(
        reason(Some("0.9")),
        "grade-20-0-5: 0.72 lb/1000 sq ft of quickly soluble nitrogen is more than the 0.7 lb/1000 sq ft \
         that Maryland allows at once (Md. Code Agric. 6-224); lower the rate"
    );
    let total = refusal(&feed(&twenty(Some("0.5")), "1 lb N/M", "maryland")).to_owned();
    assert!(
        total.starts_with("grade-20-0-5: 1 lb/1000 sq ft of nitrogen is more than the 0.9 lb"),
        "{total}"
    );
    // Potash has no nitrogen whose share could be missing, and feeds none.
    let places = ["maryland".to_owned()];
    let occasion = Occasion { places: &places, ..Occasion::default() };
    let mix = [chosen(twenty(Some("0.9")), "0.8 lb N/M"), chosen(fertilizer("0-0-50"), "1 lb/M")];
    let dose = dose_on(&occasion, &lawn(), &mix, &spreader(None)).unwrap();
    assert_eq!(refusal(&dose), reason(Some("0.9")));
}

#[test]
fn the_slow_release_share_is_asked_of_what_holds_nitrogen() {
    let mut fast = twenty(Some("0.81"));
    let dose = fed(&[fast.clone()], "new-jersey");
    assert_eq!(
        refusal(&dose),
        "grade-20-0-5: 19 % of its nitrogen is slow release, and New Jersey asks for at least \
         20 % (P.L. 2010 c.112 summary); take a slower product"
    );
    let share = row(&dose, "place_min_slow_release_share");
    assert_eq!(share.allowed.as_ref().unwrap().to_string(), "20 %");
    assert_eq!(share.asked.as_ref().unwrap().to_string(), "19 %");
    fast.analysis.as_mut().unwrap().soluble_n_share = Some(0.5);
    let dose = fed(&[fast, fertilizer("0-0-50")], "new-jersey");
    assert_eq!(dose.zones.len(), 1, "{:?}", dose.skipped);
}

#[test]
fn a_place_without_a_row_is_named_by_its_name() {
    let dose = fed(&[twenty(None), fertilizer("0-0-50")], "illinois");
    let nitrogen = row(&dose, "place_max_nitrogen_per_application");
    assert_eq!(nitrogen.name, "nitrogen at once, Illinois");
    assert_eq!(nitrogen.product, "grade-20-0-5");
}

#[test]
fn advice_that_is_in_print_for_other_places_only_is_told() {
    let advice = |species: &str, place: &str| {
        let places = [place.to_owned()];
        let occasion = Occasion { places: &places, ..Occasion::default() };
        let zones = [zone("Lawn", species, square_feet(1_000.0))];
        let mix = [chosen(twenty(Some("0.5")), "0.5 lb N/M")];
        let dose = dose_on(&occasion, &zones, &mix, &spreader(None)).unwrap();
        let rows = dose.limits.iter().filter(|row| row.by == LimitBy::Species);
        rows.map(|row| (row.verdict, row.remark.clone().unwrap_or_default())).collect::<Vec<_>>()
    };
    let elsewhere = advice("bahiagrass", "maryland");
    assert_eq!(elsewhere.len(), 1);
    assert_eq!(elsewhere[0].0, LimitVerdict::NotChecked);
    assert!(elsewhere[0].1.starts_with("it is in print for "), "{elsewhere:?}");
    // In print here too: what other places print is not told.
    let both = advice("tall-fescue", "illinois");
    assert!(both.iter().all(|(verdict, _)| *verdict == LimitVerdict::Kept), "{both:?}");
    let here = advice("bahiagrass", "central-florida");
    assert!(here.iter().all(|(verdict, _)| *verdict == LimitVerdict::Kept), "{here:?}");
}

#[test]
fn a_limit_is_shown_in_percent_of_what_is_allowed() {
    let product = capped(
        "own",
        "x",
        &format!("{YEAR}min_interval = {{ limit = \"28 days\", source = \"label\" }}\n"),
    );
    let mix = [chosen(product.clone(), "0.5 fl oz/M")];
    let dose = on_the_lawn(&on("2026-06-08", vec![put("2026-05-04", &product, "1 fl oz/M")]), &mix);
    let year = row(&dose, "max_per_year");
    assert!(!year.is_a_least());
    let step = year.step().unwrap();
    assert_eq!(
        (step.formula.as_ref(), step.numbers.as_str(), step.result.as_str()),
        (
            "percent of the limit = 100 × asked ÷ limit, in fl oz/1000 sq ft",
            "100 × 1.5 ÷ 2",
            "75 %"
        )
    );
    // 35 days where at least 28 are asked for.
    let interval = row(&dose, "min_interval");
    assert!(interval.is_a_least());
    let step = interval.step().unwrap();
    assert_eq!(
        (step.formula.as_ref(), step.numbers.as_str(), step.result.as_str()),
        ("percent of the least = 100 × asked ÷ least, in days", "100 × 35 ÷ 28", "125 %")
    );
    assert!(row(&dose, "max_per_application").step().is_none());
    // Of an interval of no days nothing is a percentage.
    let mut none = interval.clone();
    none.allowed.as_mut().unwrap().value = 0.0;
    assert!(none.step().is_none());
}

#[test]
fn without_a_place_the_law_on_nitrogen_is_told_in_plain_words() {
    let mix = [chosen(twenty(None), "0.8 lb N/M")];
    let dose = dose_on(&Occasion::default(), &lawn(), &mix, &spreader(None)).unwrap();
    let row = dose.limits.iter().find(|row| row.limit == "nitrogen_law").unwrap();
    assert_eq!(row.name, "state and local limits on nitrogen");
    assert_eq!(
        row.remark.as_deref(),
        Some(
            "the job does not say in which state or place the turf lies; add jurisdiction under [site]"
        )
    );
    assert_eq!(row.source, "law of the place");
}

#[test]
fn a_label_caps_each_of_several_active_ingredients() {
    // 2 lb/gal of a and 1 lb/gal of b: a gallon an acre (128/43.56 = 2.938 fl oz/M) puts down 2 and 1 lb.
    let mix = |limits: &str| {
        Product::from_toml(&format!(
            "id = \"two\"\nname = \"two\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
             formulation = \"SL\"\n[[active_ingredients]]\nname = \"a\"\ncontent = \"2 lb a.e./gal\"\n\
             [[active_ingredients]]\nname = \"b\"\ncontent = \"1 lb a.e./gal\"\n[limits]\n{limits}\n"
        ))
    };
    let unnamed = mix("max_active_per_year = \"1.5 lb a.e./A\"").unwrap_err().to_string();
    assert!(
        unnamed.contains("limits.max_active_per_year") && unnamed.contains("of = \"a\""),
        "{unnamed}"
    );
    let unknown = mix("max_active_per_year = { limit = \"1.5 lb a.e./A\", of = \"c\" }");
    assert!(unknown.unwrap_err().to_string().contains("limits.max_active_per_year.of"));

    let both = "max_active_per_application = [{ limit = \"2 lb a.e./A\", of = \"a\" }, \
                { limit = \"0.5 lb a.e./A\", of = \"b\" }]";
    let product = mix(both).unwrap();
    // Half a gallon an acre holds 1 lb of a and 0.5 lb of b.
    let half = format!("{} fl oz/M", 64.0 / 43.56);
    let dose = on_the_lawn(&Occasion::default(), &[chosen(product.clone(), &half)]);
    let rows: Vec<(&str, LimitVerdict, f64)> = (dose.limits.iter())
        .filter(|row| row.limit == "max_active_per_application")
        .map(|row| (row.of.as_str(), row.verdict, row.asked.as_ref().unwrap().value))
        .collect();
    assert_eq!(rows.len(), 2);
    assert!(rows[0].0 == "a" && rows[0].1 == LimitVerdict::Kept && (rows[0].2 - 1.0).abs() < 1e-9);
    assert!(rows[1].0 == "b" && rows[1].1 == LimitVerdict::Kept && (rows[1].2 - 0.5).abs() < 1e-9);
    let more = product.rate_of(&crate::world::written(&format!("{} fl oz/M", 65.0 / 43.56)));
    assert!(more.unwrap_err().to_string().contains("0.5 lb a.e./A"), "b is above its own cap");
}
