//! Limits held to zone by zone: at once, in a year, between two treatments, of a place.

use proptest::prelude::*;
use turfplat_dose::{
    Checked, ChosenProduct, Day, Dose, Equipment, LimitVerdict, Occasion, Product, Put, RateChoice,
    ZoneToTreat, dose_on, left_of_year,
};
use turfplat_units::{Amount, AmountUnit, Rate};

use crate::world::{backpack, chosen, fertilizer, rate, spreader, square_feet, written, zone};

pub(crate) fn day(text: &str) -> Day {
    Day::read(text).unwrap()
}

/// One pound of an active ingredient in a gallon, with limits of its label.
pub(crate) fn capped(id: &str, active: &str, limits: &str) -> Product {
    let text = format!(
        "id = {id:?}\nname = {id:?}\nclass = \"growth regulator\"\nform = \"liquid\"\nformulation = \"EC\"\n\
         [[active_ingredients]]\nname = {active:?}\ncontent = \"1 lb/gal\"\n[limits]\n{limits}"
    );
    Product::from_toml(&text).unwrap_or_else(|error| panic!("{error}"))
}

pub(crate) const YEAR: &str =
    "max_per_year = { limit = \"2 fl oz/1000 sq ft\", source = \"label\" }\n";

pub(crate) fn lawn() -> Vec<ZoneToTreat> {
    vec![zone("Lawn", "tall-fescue", square_feet(5000.0))]
}

pub(crate) fn put<'a>(day_: &str, product: &'a Product, text: &str) -> Put<'a> {
    let rate = product.rate_put_down(&written(text)).unwrap();
    Put { day: Some(day(day_)), product, rate, what: "[[history]] 1".into() }
}

pub(crate) fn on<'a>(day_: &str, earlier: Vec<Put<'a>>) -> Occasion<'a> {
    Occasion {
        day: Some(day(day_)),
        has_history: true,
        earlier: vec![earlier],
        ..Occasion::default()
    }
}

pub(crate) fn knapsack() -> Equipment {
    backpack("4 gal", "1 gal/M")
}

pub(crate) fn row<'d>(dose: &'d Dose, limit: &str) -> &'d Checked {
    dose.limits.iter().find(|row| row.limit == limit).unwrap_or_else(|| panic!("no row {limit}"))
}

pub(crate) fn refusal(dose: &Dose) -> &str {
    assert!(dose.zones.is_empty(), "something is dosed");
    assert!(dose.skipped[0].refused);
    &dose.skipped[0].reason
}

#[test]
fn what_went_on_before_counts_towards_the_year() {
    let product = capped("own", "x", YEAR);
    let mix = [chosen(product.clone(), "0.5 fl oz/M")];
    let earlier = |text: &str| vec![put("2026-04-01", &product, text)];
    let at_the_limit =
        dose_on(&on("2026-06-08", earlier("1.5 fl oz/M")), &lawn(), &mix, &knapsack());
    let at_the_limit = at_the_limit.unwrap();
    let year = row(&at_the_limit, "max_per_year");
    assert_eq!(year.verdict, LimitVerdict::Kept);
    assert_eq!(year.asked.as_ref().unwrap().to_string(), "2 fl oz/1000 sq ft");
    assert_eq!(year.allowed.as_ref().unwrap().to_string(), "2 fl oz/1000 sq ft");
    assert_eq!(year.remark.as_deref(), Some("12 months from 2026-04-01"));
    assert_eq!(row(&at_the_limit, "max_per_application").verdict, LimitVerdict::NotStated);
    assert_eq!(row(&at_the_limit, "max_per_application").allowed, None);

    let over =
        dose_on(&on("2026-06-08", earlier("1.6 fl oz/M")), &lawn(), &mix, &knapsack()).unwrap();
    assert_eq!(
        refusal(&over),
        "own: 2.1 fl oz/1000 sq ft (0.5 now, 1.6 besides) in 12 months from 2026-04-01 is more than the \
         most allowed in a year, 2 fl oz/1000 sq ft (label); at most 0.4 fl oz/1000 sq ft may still go on"
    );
    // A year and a day later it is forgotten.
    let later =
        dose_on(&on("2027-04-01", earlier("1.6 fl oz/M")), &lawn(), &mix, &knapsack()).unwrap();
    assert_eq!(later.zones.len(), 1);
}

#[test]
fn a_calendar_year_begins_in_january_where_the_label_says_so() {
    let calendar = capped("own", "x", &format!("{YEAR}year = \"calendar year\"\n"));
    let any = capped("own", "x", YEAR);
    for (product, dosed) in [(calendar, 1), (any, 0)] {
        let earlier = vec![put("2025-11-01", &product, "1.9 fl oz/M")];
        let mix = [chosen(product.clone(), "0.5 fl oz/M")];
        let dose = dose_on(&on("2026-03-01", earlier), &lawn(), &mix, &knapsack()).unwrap();
        assert_eq!(dose.zones.len(), dosed, "{:?}", row(&dose, "max_per_year"));
    }
}

#[test]
fn an_active_ingredient_counts_whatever_product_it_comes_in() {
    // 1 lb/gal: 128 fl oz are a pound, so 0.5 lb a.i./A are 64 fl oz/A, 1.469 fl oz/1000 sq ft.
    let cap = "max_active_per_year = { limit = \"0.5 lb a.i./A\", source = \"label\" }\n";
    let product = capped("own", "trinexapac-ethyl", cap);
    let other = capped("other", "Trinexapac Ethyl", "");
    let another = capped("another", "paclobutrazol", "");
    let mix = [chosen(product.clone(), "1 fl oz/M")];
    for (earlier, dosed) in [(&other, 0), (&another, 1)] {
        let earlier = vec![put("2026-05-01", earlier, "0.5 fl oz/M")];
        let dose = dose_on(&on("2026-06-08", earlier), &lawn(), &mix, &knapsack()).unwrap();
        assert_eq!(dose.zones.len(), dosed);
    }
    // The label of what lies there already holds for the same active ingredient from another.
    let mix = [chosen(other, "1 fl oz/M")];
    let earlier = vec![put("2026-05-01", &product, "0.5 fl oz/M")];
    let dose = dose_on(&on("2026-06-08", earlier), &lawn(), &mix, &knapsack()).unwrap();
    assert!(
        refusal(&dose).starts_with("own: 0.51 lb a.i./A of trinexapac-ethyl"),
        "{}",
        refusal(&dose)
    );
}

#[test]
fn partners_of_a_mix_add_up_at_once() {
    let cap = "max_active_per_application = { limit = \"0.5 lb a.i./A\", source = \"label\" }\n";
    let mix = [
        chosen(capped("own", "x", cap), "1 fl oz/M"),
        chosen(capped("other", "x", ""), "0.5 fl oz/M"),
    ];
    let dose = dose_on(&Occasion::default(), &lawn(), &mix, &knapsack()).unwrap();
    assert!(
        refusal(&dose).contains("in one mix is more than the most allowed at once, 0.5 lb a.i./A")
    );
}

#[test]
fn what_cannot_be_counted_is_refused_and_not_taken_for_nothing() {
    let cap = "max_active_per_year = { limit = \"0.5 lb a.i./A\", source = \"label\" }\n";
    let product = capped("own", "x", cap);
    let unknown = Product::from_toml(
        "id = \"unknown\"\nname = \"u\"\nform = \"liquid\"\n[[active_ingredients]]\nname = \"x\"\n",
    )
    .unwrap();
    let mix = [chosen(product, "0.5 fl oz/M")];
    let earlier = vec![put("2026-05-01", &unknown, "0.1 fl oz/M")];
    let dose = dose_on(&on("2026-06-08", earlier), &lawn(), &mix, &knapsack()).unwrap();
    assert!(
        refusal(&dose).contains("how much x is in unknown is not given; add content to its file"),
        "{}",
        refusal(&dose)
    );
    assert_eq!(row(&dose, "max_active_per_year").verdict, LimitVerdict::NotChecked);
}

#[test]
fn the_shortest_interval_is_kept_from_the_last_treatment() {
    let cap = "min_interval = { limit = \"28 days\", source = \"label\" }\n";
    let product = capped("own", "x", cap);
    let alike = capped("other", "x", "");
    let mix = [chosen(product.clone(), "0.5 fl oz/M")];
    let earlier = || {
        vec![put("2026-04-20", &product, "0.5 fl oz/M"), put("2026-05-20", &alike, "0.5 fl oz/M")]
    };
    let dose = dose_on(&on("2026-06-08", earlier()), &lawn(), &mix, &knapsack()).unwrap();
    assert_eq!(
        refusal(&dose),
        "own: treated on 2026-05-20 ([[history]] 1), 19 days apart; its label asks for 28 days \
         between treatments (label): not before 2026-06-17"
    );
    let dose = dose_on(&on("2026-06-17", earlier()), &lawn(), &mix, &knapsack()).unwrap();
    let interval = row(&dose, "min_interval");
    assert_eq!(interval.verdict, LimitVerdict::Kept);
    assert_eq!(interval.asked.as_ref().unwrap().to_string(), "28 days");

    // Without a history nobody knows; with one of other products, nothing stands against it.
    let unknown = dose_on(&Occasion::default(), &lawn(), &mix, &knapsack()).unwrap();
    assert_eq!(row(&unknown, "min_interval").verdict, LimitVerdict::NotChecked);
    let untouched = dose_on(&on("2026-06-08", Vec::new()), &lawn(), &mix, &knapsack()).unwrap();
    assert_eq!(row(&untouched, "min_interval").verdict, LimitVerdict::Kept);
}

/// A granular fertilizer with 20 % N, of which a share is soluble.
pub(crate) fn twenty(soluble: Option<&str>) -> Product {
    let mut product = fertilizer("20-0-5");
    if let (Some(analysis), Some(share)) = (&mut product.analysis, soluble) {
        analysis.soluble_n_share = Some(share.parse().unwrap());
    }
    product
}

pub(crate) fn feed(product: &Product, text: &str, place: &str) -> Dose {
    let places = [place.to_owned()];
    let occasion = Occasion { places: &places, ..Occasion::default() };
    dose_on(&occasion, &lawn(), &[chosen(product.clone(), text)], &spreader(None)).unwrap()
}

#[test]
fn the_law_of_the_place_on_nitrogen() {
    // Md. Code Agric. 6-224: at most 0.9 lb N at once, of it 0.7 lb soluble, on 1,000 sq ft.
    for (soluble, text, dosed) in [
        (Some("0.7"), "0.9 lb N/M", true),
        (Some("0.7"), "0.91 lb N/M", false),
        (Some("0.8"), "0.9 lb N/M", false),
        (Some("1"), "0.7 lb N/M", true),
        (None, "0.7 lb N/M", true),
        (None, "0.71 lb N/M", false),
    ] {
        let dose = feed(&twenty(soluble), text, "maryland");
        assert_eq!(dose.zones.len() == 1, dosed, "{soluble:?} {text}: {:?}", dose.skipped);
    }
    // P.L. 2010 c.112: at most 0.9 lb N, at least 20 % of it slow release.
    for (soluble, text, dosed) in [
        (Some("0.8"), "0.9 lb N/M", true),
        (Some("0.81"), "0.9 lb N/M", false),
        (Some("0.5"), "0.91 lb N/M", false),
        (None, "0.5 lb N/M", false),
    ] {
        let dose = feed(&twenty(soluble), text, "new-jersey");
        assert_eq!(dose.zones.len() == 1, dosed, "{soluble:?} {text}: {:?}", dose.skipped);
    }
    let illinois = feed(&twenty(None), "0.9 lb N/M", "illinois");
    let unknown = row(&illinois, "place_max_nitrogen_per_application");
    assert_eq!((unknown.verdict, &unknown.allowed), (LimitVerdict::NotStated, &None));
}

#[test]
fn what_places_advise_in_a_year_is_told_and_binds_nobody() {
    #[rustfmt::skip]
    let table = [
        // species, place, most lb N/1000 sq ft in a year, at once; data/nitrogen-by-species.csv
        ("fine-fescue",        "illinois",        3.0, 1.0, "Univ. of Illinois Extension 1995"),
        ("tall-fescue",        "illinois",        4.0, 1.0, "Univ. of Illinois Extension 1995"),
        ("perennial-ryegrass", "illinois",        4.0, 1.0, "Univ. of Illinois Extension 1995"),
        ("kentucky-bluegrass", "illinois",        4.0, 1.0, "Univ. of Illinois Extension 1995"),
        ("buffalograss",       "illinois",        3.0, 1.0, "Univ. of Illinois Extension 1995"),
        ("creeping-bentgrass", "illinois",        6.0, 1.0, "Univ. of Illinois Extension 1995"),
        ("zoysiagrass",        "illinois",        4.0, 1.0, "Univ. of Illinois Extension 1995"),
        ("bahiagrass",         "central-florida", 4.0, 1.0, "UF/IFAS p.53"),
        ("bermudagrass-common","central-florida", 6.0, 1.0, "UF/IFAS p.53"),
        ("centipedegrass",     "central-florida", 3.0, 1.0, "UF/IFAS p.53"),
        ("st-augustinegrass",  "central-florida", 5.0, 1.0, "UF/IFAS p.53"),
        ("zoysiagrass",        "central-florida", 6.0, 1.0, "UF/IFAS p.53"),
        ("tall-fescue",        "virginia",        3.5, 0.9, "Virginia DCR lawn fertilizer table"),
        ("bermudagrass-hybrid","virginia",        4.0, 1.0, "Virginia DCR lawn fertilizer table"),
        ("zoysiagrass",        "virginia",        2.0, 1.0, "Virginia DCR lawn fertilizer table"),
    ];
    let product = twenty(Some("0.5"));
    for (species, place, most, at_once, source) in table {
        let places = turfplat_dose::check_jurisdictions(
            &[place.to_owned()],
            &turfplat_dose::RuleSet::default(),
        )
        .unwrap();
        let zones = [zone("Lawn", species, square_feet(5000.0))];
        for (earlier, verdict) in
            [(most - 0.5, LimitVerdict::Kept), (most - 0.4, LimitVerdict::AboveAdvice)]
        {
            let earlier = vec![put("2026-04-01", &product, &format!("{earlier} lb N/M"))];
            let occasion = Occasion { places: &places, ..on("2026-06-08", earlier) };
            let mix = [chosen(product.clone(), "0.5 lb N/M")];
            let dose = dose_on(&occasion, &zones, &mix, &spreader(None)).unwrap();
            let year = row(&dose, "species_nitrogen_per_year");
            assert_eq!(year.allowed.as_ref().unwrap().value, most, "{species}, {place}: {source}");
            assert_eq!(year.verdict, verdict, "{species}, {place}: {source}");
            assert_eq!(dose.zones.len(), 1);
            let once = row(&dose, "species_nitrogen_per_application");
            assert_eq!(once.allowed.as_ref().unwrap().value, at_once, "{species}: {source}");
        }
    }
}

/// T1 of published mixes: 3.6 pt/A on 25 A; F4: 0.9 lb N/1000 sq ft from 25 % N. A cap at the
/// published rate lets it through, and nothing above it.
#[test]
fn published_rates_as_caps() {
    let product = |limit: &str| {
        capped("own", "x", &format!("max_per_year = {{ limit = {limit:?}, source = \"label\" }}\n"))
    };
    // 3.6 pt/A are 1.3223140496 fl oz/1000 sq ft (Gerken, Oklahoma State-OKC, 2013).
    let twice = product("7.2 pt/A");
    let mix = [chosen(twice.clone(), "1.3223140496 fl oz/M")];
    let earlier = vec![put("2026-05-01", &twice, "3.6 pt/A")];
    let dose = dose_on(&on("2026-06-08", earlier), &lawn(), &mix, &knapsack()).unwrap();
    assert_eq!(dose.zones.len(), 1, "{:?}", dose.skipped);
    let mix = [chosen(twice.clone(), "1.3224 fl oz/M")];
    let earlier = vec![put("2026-05-01", &twice, "3.6 pt/A")];
    let dose = dose_on(&on("2026-06-08", earlier), &lawn(), &mix, &knapsack()).unwrap();
    assert!(refusal(&dose).contains("7.2 pt/A"), "{}", refusal(&dose));
    // 25 % N at 0.9 lb N is 3.6 lb of product (Turfgrass mathematics review worksheet).
    let places = ["new-jersey".to_owned()];
    let occasion = Occasion { places: &places, ..Occasion::default() };
    for (text, dosed) in [("3.6 lb/M", 1), ("3.601 lb/M", 0)] {
        let mut product = fertilizer("25-0-5");
        product.analysis.as_mut().unwrap().soluble_n_share = Some(0.5);
        let dose = dose_on(&occasion, &lawn(), &[chosen(product, text)], &spreader(None)).unwrap();
        assert_eq!(dose.zones.len(), dosed, "{text}: {:?}", dose.skipped);
    }
}

fn millilitres(rate: Rate) -> f64 {
    match rate.on(square_feet(1000.0)) {
        Amount::Volume(volume) => volume.millilitres(),
        Amount::Mass(mass) => mass.grams(),
    }
}

/// Days of two years, rates, and which of two products.
fn any_history() -> impl Strategy<Value = Vec<(u32, f64, bool)>> {
    prop::collection::vec((0_u32..700, 0.05..0.9, any::<bool>()), 0..8)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever went on before and however it is measured out, no twelve months get more of the
    /// active ingredient than the label states, unless they had too much already.
    #[test]
    fn nothing_exceeds_the_year(
        history in any_history(), ounces in 0.1..1.5, area in 200.0..9000.0, mark in 0.5..9.0, later in 0.001..0.6_f64,
    ) {
        let product = capped("own", "x", &format!("{YEAR}max_per_application = {{ limit = \"1.6 fl oz/1000 sq ft\" }}\n"));
        let other = capped("other", "x", "");
        let start = day("2025-01-01");
        let today = day("2026-12-02");
        let of = |second: bool| if second { &other } else { &product };
        let puts: Vec<Put<'_>> = history.iter().map(|(days, ounces, second)| {
            let day = start.plus_days(*days).to_string();
            put(&day, of(*second), &format!("{ounces} fl oz/M"))
        }).collect();
        let to_come = vec![put("2026-12-02", &product, &format!("{} fl oz/M", later))];
        let occasion = Occasion { later: vec![to_come.clone()], ..on("2026-12-02", puts.clone()) };
        let mix = [chosen(product.clone(), &format!("{ounces} fl oz/M"))];
        let zones = [zone("Lawn", "tall-fescue", square_feet(area))];
        let knapsack = Equipment { smallest_measure: AmountUnit::Millilitre.of(mark), ..knapsack() };
        let Ok(dose) = dose_on(&occasion, &zones, &mix, &knapsack) else { return Ok(()) };
        let limit = millilitres(rate("2 fl oz/1000 sq ft"));
        let before: f64 = puts.iter().filter(|put| today.days_since(put.day.unwrap()) < 365).map(|put| millilitres(put.rate)).sum();
        let asked = before + millilitres(rate(&format!("{ounces} fl oz/M")));
        match dose.zones.first() {
            None => prop_assert!(asked > limit * (1.0 - 1e-9), "{asked} of {limit} is refused"),
            Some(dosed) => {
                prop_assert!(asked <= limit * (1.0 + 1e-8));
                let measured = before + millilitres(dose.at_most_on(dosed)[0]);
                prop_assert!(measured <= limit * (1.0 + 1e-8), "{measured} of {limit} is measured");
                // A mark above the exact amount never takes what the plan still needs.
                let later = millilitres(to_come[0].rate);
                if millilitres(dose.at_most_on(dosed)[0]) > millilitres(dosed.products[0].rate) * (1.0 + 1e-9) {
                    prop_assert!(measured + later <= limit * (1.0 + 1e-8));
                }
            }
        }
    }

    /// In whatever order the history stands, and in however many parts, a year gets the same.
    #[test]
    fn order_and_parts_of_the_history_change_no_total(
        (history, shuffled) in any_history().prop_flat_map(|history| (Just(history.clone()), Just(history).prop_shuffle())),
        parts in 1..4_u32,
    ) {
        let product = capped("own", "x", YEAR);
        let other = capped("other", "x", "");
        let puts = |history: &[(u32, f64, bool)], parts: u32| -> Vec<Put<'_>> {
            let each = history.iter().flat_map(|one| std::iter::repeat_n(one, parts as usize));
            each.map(|(days, ounces, second)| {
                let day = day("2025-01-01").plus_days(*days).to_string();
                let of = if *second { &other } else { &product };
                put(&day, of, &format!("{} fl oz/M", ounces / f64::from(parts)))
            }).collect()
        };
        let mix = [chosen(product.clone(), "0.2 fl oz/M")];
        let asked = |earlier| {
            let dose = dose_on(&on("2026-12-02", earlier), &lawn(), &mix, &knapsack()).unwrap();
            row(&dose, "max_per_year").asked.clone().unwrap().value
        };
        let one = asked(puts(&history, 1));
        prop_assert!((one - asked(puts(&shuffled, 1))).abs() <= 1e-9);
        prop_assert!((one - asked(puts(&history, parts))).abs() <= 1e-9);
    }

    /// Nitrogen at once never exceeds the law, in whatever products it comes.
    #[test]
    fn nitrogen_at_once_never_exceeds_the_law(pounds in prop::array::uniform2(0.05..0.8_f64), soluble in prop::array::uniform2(0.0..1.0_f64)) {
        let product = |place: usize| {
            let mut product = fertilizer(["20-0-5", "30-0-5"][place]);
            product.analysis.as_mut().unwrap().soluble_n_share = Some(soluble[place]);
            product
        };
        let mix: Vec<ChosenProduct> = (0..2).map(|place| chosen(product(place), &format!("{} lb N/M", pounds[place]))).collect();
        let places = ["maryland".to_owned()];
        let occasion = Occasion { places: &places, ..Occasion::default() };
        let dose = dose_on(&occasion, &lawn(), &mix, &spreader(None)).unwrap();
        let total = pounds[0] + pounds[1];
        let quick = pounds[0] * soluble[0] + pounds[1] * soluble[1];
        prop_assert_eq!(dose.zones.len() == 1, total <= 0.9 * (1.0 + 1e-9) && quick <= 0.7 * (1.0 + 1e-9));
        prop_assert!(mix.iter().all(|chosen| matches!(chosen.rates, RateChoice::One(_))));
    }
}

#[test]
fn the_spray_volume_is_one_that_the_label_asks_for() {
    let product = |volume: &str| {
        let text = format!(
            "id = \"own\"\nname = \"own\"\nclass = \"herbicide\"\nform = \"liquid\"\n{volume}\n"
        );
        Product::from_toml(&text).unwrap_or_else(|error| panic!("{error}"))
    };
    let range = "spray_volume = [\"2 gal/1000 sq ft\", \"4 gal/1000 sq ft\"]";
    use LimitVerdict::{Exceeded, Kept, NotStated};
    #[rustfmt::skip]
    let table = [
        // label, equipment, verdict, allowed; one figure is the least, "in at least"
        (range, "1 gal/M", Exceeded, Some("2 gal/1000 sq ft")),
        (range, "2 gal/M", Kept, Some("2 gal/1000 sq ft")),
        (range, "3 gal/M", Kept, Some("2 gal/1000 sq ft")),
        (range, "4 gal/M", Kept, Some("2 gal/1000 sq ft")),
        (range, "5 gal/M", Exceeded, Some("4 gal/1000 sq ft")),
        // 1 gal/1000 sq ft is 43.56 gal/A.
        ("spray_volume = \"44 gal/A\"", "1 gal/M", Exceeded, Some("44 gal/A")),
        ("spray_volume = \"43.56 gal/A\"", "1 gal/M", Kept, Some("43.6 gal/A")),
        ("spray_volume = \"20 gal/A\"", "1 gal/M", Kept, Some("20 gal/A")),
        ("", "1 gal/M", NotStated, None),
    ];
    for (label, equipment, verdict, allowed) in table {
        let mix = [chosen(product(label), "0.5 fl oz/M")];
        let sprayer = backpack("4 gal", equipment);
        let dose = dose_on(&Occasion::default(), &lawn(), &mix, &sprayer).unwrap();
        let row = row(&dose, "spray_volume");
        assert_eq!(row.verdict, verdict, "{label} {equipment}");
        let told = row.allowed.as_ref().map(ToString::to_string);
        assert_eq!(told.as_deref(), allowed, "{label} {equipment}");
        assert_eq!(dose.zones.is_empty(), verdict == Exceeded, "{label} {equipment}");
        assert_eq!(row.is_a_least(), row.name != "most spray volume");
    }
    let mix = [chosen(product(range), "0.5 fl oz/M")];
    let dose = dose_on(&Occasion::default(), &lawn(), &mix, &backpack("4 gal", "5 gal/M")).unwrap();
    assert!(
        refusal(&dose).contains(
            "5 gal/1000 sq ft of spray, above the most that its label asks for, 4 gal/1000 sq ft"
        ),
        "{}",
        refusal(&dose)
    );
}

#[test]
fn what_goes_on_one_day_is_at_once() {
    let cap = "max_per_application = { limit = \"0.8 fl oz/1000 sq ft\", source = \"label\" }\n";
    let product = capped("own", "x", cap);
    let other = capped("other", "x", "");
    for earlier in [&product, &other] {
        for (day_, dosed) in [("2026-06-08", 0), ("2026-06-07", 1)] {
            let mix = [chosen(product.clone(), "0.5 fl oz/M")];
            let earlier = vec![put(day_, earlier, "0.5 fl oz/M")];
            let dose = dose_on(&on("2026-06-08", earlier), &lawn(), &mix, &knapsack()).unwrap();
            assert_eq!(dose.zones.len(), dosed, "{day_}: {:?}", dose.skipped);
        }
    }
    // The label of what lies there since the morning holds for what comes in the afternoon.
    let mix = [chosen(other.clone(), "0.5 fl oz/M")];
    let earlier = || vec![put("2026-06-08", &product, "0.5 fl oz/M")];
    let dose = dose_on(&on("2026-06-08", earlier()), &lawn(), &mix, &knapsack()).unwrap();
    assert_eq!(
        refusal(&dose),
        "own: 1 fl oz/1000 sq ft (0.5 now, 0.5 on the same day: [[history]] 1) is more than the most \
         allowed at once, 0.8 fl oz/1000 sq ft (label); give it on another day, or lower the rates"
    );
    // Trips of a plan without days are on one day.
    let undated = Put { day: None, ..put("2026-06-08", &product, "0.5 fl oz/M") };
    let occasion = Occasion { earlier: vec![vec![undated]], ..Occasion::default() };
    let dose = dose_on(&occasion, &lawn(), &mix, &knapsack()).unwrap();
    assert!(refusal(&dose).contains("another day"), "{}", refusal(&dose));
    // And no mark above the exact amount is taken for the morning that the afternoon needs.
    let mix = [chosen(product.clone(), "0.4 fl oz/M")];
    let cup = Equipment { smallest_measure: written_amount("0.75 fl oz"), ..knapsack() };
    let mut occasion = on("2026-06-08", Vec::new());
    occasion.later = vec![vec![put("2026-06-08", &product, "0.4 fl oz/M")]];
    let dose = dose_on(&occasion, &lawn(), &mix, &cup).unwrap();
    let most = dose.at_most_on(&dose.zones[0])[0];
    assert!(most.over(dose.zones[0].products[0].rate).unwrap() <= 1.0 + 1e-9);
}

fn written_amount(text: &str) -> Option<Amount> {
    Some(crate::world::amount(text))
}

#[test]
fn an_active_ingredient_counts_under_another_name_of_its_salt() {
    // 1 lb/gal: 1 + 0.5 fl oz/1000 sq ft are 0.51 lb/A.
    let cap = "max_active_per_year = { limit = \"0.5 lb a.i./A\", source = \"label\" }\n\
               min_interval = { limit = \"28 days\", source = \"label\" }\n";
    let product = capped("own", "2,4-D dimethylamine salt", cap);
    let mix = |text: &str| [chosen(product.clone(), text)];
    let other = |active: &str| capped("other", active, "");
    let after = |active: &str, day_: &str, text: &str| {
        let other = other(active);
        let occasion = on("2026-06-08", vec![put(day_, &other, "0.5 fl oz/M")]);
        dose_on(&occasion, &lawn(), &mix(text), &knapsack()).unwrap()
    };
    assert!(refusal(&after("2,4-D amine", "2026-05-01", "1 fl oz/M")).contains("0.51 lb a.i./A"));
    assert_eq!(after("2,4-DB", "2026-06-01", "1 fl oz/M").zones.len(), 1);

    // A name that may be the same is asked about, and stops where together it would be too much.
    let asked = "is \"2,4-D new\" the same as \"2,4-D dimethylamine salt\"? write one name in both product files";
    let dose = after("2,4-D new", "2026-05-01", "1 fl oz/M");
    assert_eq!(
        refusal(&dose),
        format!("own: {asked}; counted together they are above the limit of 0.5 lb a.i./A (label)")
    );
    let dose = after("2,4-D new", "2026-05-01", "0.5 fl oz/M");
    assert_eq!(dose.zones.len(), 1, "{:?}", dose.skipped);
    let year = row(&dose, "max_active_per_year");
    assert_eq!((year.verdict, year.remark.as_deref()), (LimitVerdict::NotChecked, Some(asked)));
    assert_eq!(row(&dose, "min_interval").verdict, LimitVerdict::Kept);
    let dose = after("2,4-D new", "2026-06-01", "0.5 fl oz/M");
    assert!(refusal(&dose).ends_with(asked), "{}", refusal(&dose));
    // Two years later nobody asks.
    let dose = after("2,4-D new", "2024-05-01", "1 fl oz/M");
    assert_eq!(row(&dose, "max_active_per_year").verdict, LimitVerdict::Kept);
}

#[test]
fn a_product_that_names_no_active_ingredient_is_not_taken_for_nothing() {
    let silent = |class: &str| {
        let text = format!("id = \"silent\"\nname = \"s\"\nform = \"liquid\"\n{class}\n");
        Product::from_toml(&text).unwrap_or_else(|error| panic!("{error}"))
    };
    let cap = "max_active_per_year = { limit = \"0.5 lb a.i./A\", source = \"label\" }\n";
    let product = capped("own", "x", cap);
    for (class, dosed) in [
        ("class = \"herbicide\"", 0),
        ("", 0),
        ("class = \"adjuvant\"", 1),
        ("class = \"fertilizer\"", 1),
    ] {
        let silent = silent(class);
        let mix = [chosen(product.clone(), "0.5 fl oz/M")];
        let earlier = vec![put("2026-06-01", &silent, "0.1 fl oz/M")];
        let dose = dose_on(&on("2026-06-08", earlier), &lawn(), &mix, &knapsack()).unwrap();
        assert_eq!(dose.zones.len(), dosed, "{class}: {:?}", dose.skipped);
        let mix = [chosen(product.clone(), "0.5 fl oz/M"), chosen(silent, "0.1 fl oz/M")];
        let dose = dose_on(&Occasion::default(), &lawn(), &mix, &knapsack()).unwrap();
        assert_eq!(dose.zones.len(), dosed, "{class}: {:?}", dose.skipped);
        if dosed == 0 {
            let cure = "the active ingredients of silent are not given; add [[active_ingredients]]";
            assert!(refusal(&dose).contains(cure), "{}", refusal(&dose));
        }
    }
    // Limits on the product and days between treatments are listed as not checked.
    let limits = format!("{YEAR}min_interval = {{ limit = \"28 days\", source = \"label\" }}\n");
    let product = capped("own", "x", &limits);
    let silent = silent("class = \"herbicide\"");
    let earlier = vec![put("2026-06-01", &silent, "0.1 fl oz/M")];
    let mix = [chosen(product, "0.5 fl oz/M")];
    let dose = dose_on(&on("2026-06-08", earlier), &lawn(), &mix, &knapsack()).unwrap();
    for limit in ["max_per_year", "min_interval"] {
        assert_eq!(row(&dose, limit).verdict, LimitVerdict::NotChecked, "{limit}");
        assert!(row(&dose, limit).remark.as_ref().unwrap().contains("of silent are not given"));
    }
}

#[test]
fn acid_equivalent_and_active_ingredient_are_not_added_up() {
    let two_four_d = |id: &str, content: &str, limits: &str| {
        let text = format!(
            "id = {id:?}\nname = {id:?}\nclass = \"herbicide\"\nform = \"liquid\"\n\
             [[active_ingredients]]\nname = \"2,4-D\"\ncontent = {content:?}\n[limits]\n{limits}"
        );
        Product::from_toml(&text).unwrap_or_else(|error| panic!("{error}"))
    };
    let cap = |of: &str| format!("max_active_per_year = {{ limit = \"2 lb {of}/A\" }}\n");
    for (of, content, content_of_other, dosed) in [
        ("a.e.", "3.8 lb a.e./gal", "3.8 lb a.e./gal", 1),
        ("a.i.", "3.8 lb/gal", "3.8 lb a.e./gal", 0),
        ("a.e.", "3.8 lb a.e./gal", "3.8 lb/gal", 0),
    ] {
        let product = two_four_d("own", content, &cap(of));
        let other = two_four_d("other", content_of_other, "");
        let mix = [chosen(product, "0.5 fl oz/M")];
        let earlier = vec![put("2026-05-01", &other, "0.5 fl oz/M")];
        let dose = dose_on(&on("2026-06-08", earlier), &lawn(), &mix, &knapsack()).unwrap();
        assert_eq!(dose.zones.len(), dosed, "{of} {content}: {:?}", dose.skipped);
        if dosed == 0 {
            assert!(refusal(&dose).contains("write both files alike"), "{}", refusal(&dose));
        }
    }
}

#[test]
fn what_a_year_still_allows_is_told_by_product() {
    let product = capped("own", "x", YEAR);
    let other = capped("free", "y", "");
    let mix = [chosen(product.clone(), "0.5 fl oz/M"), chosen(other, "0.5 fl oz/M")];
    let left = |earlier: &str| {
        let occasion = on("2026-06-08", vec![put("2026-04-01", &product, earlier)]);
        left_of_year(&occasion, 0, &lawn()[0], &mix)
    };
    // By hand: 2 may go on in a year, 1.6 did, and 0.4 is 0.8 times the rate; of the other nobody
    // states a limit.
    let [Some(times), None] = left("1.6 fl oz/M")[..] else { panic!("one is bound, one is not") };
    assert!((times - 0.8).abs() < 1e-9, "{times}");
    let [Some(times), None] = left("2 fl oz/M")[..] else { panic!("one is bound, one is not") };
    assert!(times.abs() < 1e-9, "{times}");
    // What is to come is not kept back.
    let mut occasion = on("2026-06-08", Vec::new());
    occasion.later = vec![vec![put("2026-07-01", &product, "2 fl oz/M")]];
    let [Some(times), None] = left_of_year(&occasion, 0, &lawn()[0], &mix)[..] else {
        panic!("one is bound, one is not")
    };
    assert!((times - 4.0).abs() < 1e-9, "{times}");
}
