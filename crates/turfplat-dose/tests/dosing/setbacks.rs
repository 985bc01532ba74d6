//! Worked circumstances: who speaks, who governs.

use turfplat_dose::{
    Circumstances, Product, Reduction, RuleSet, Setback, check_jurisdictions, find_product,
    governing, mixing_distance,
};
use turfplat_units::Length;

use crate::world::{fertilizer, regulator};

fn feet(value: f64) -> Length {
    Length::from_feet(value).unwrap()
}

/// The rules of the table alone.
fn table() -> &'static RuleSet {
    static TABLE: std::sync::LazyLock<RuleSet> = std::sync::LazyLock::new(RuleSet::default);
    &TABLE
}

fn near<'a>(kind: &'a str, products: &'a [&'a Product], places: &'a [String]) -> Circumstances<'a> {
    Circumstances {
        kind,
        products,
        rules: table(),
        jurisdictions: places,
        reduces: &[],
        hired: Some(false),
        veg_strip: None,
        own: None,
        job: None,
        command: None,
    }
}

fn places(ids: &[&str]) -> Vec<String> {
    ids.iter().map(|id| (*id).to_owned()).collect()
}

fn governs(setback: &Setback, distance: f64, rule: &str) {
    // From where it is measured stands behind, in the rule's own words.
    let asked = setback.rule.split(", measured from: ").next();
    assert_eq!(asked, Some(rule));
    assert!((setback.distance.feet() - distance).abs() < 1e-9, "{setback:?}");
}

#[test]
fn a_default_speaks_only_where_nothing_else_does() {
    let regulator = regulator();
    let products = [&regulator];
    let maine = places(&["maine"]);

    let alone = governing(&near("water", &products, &[])).unwrap();
    governs(&alone, 25.0, "default of this tool, none chosen (default-water-pesticide): 25 ft");
    assert!(alone.is_default);
    // A default is this tool's own, measured from the edge that is drawn.
    assert!(alone.rule.ends_with("(default-water-pesticide): 25 ft"), "{}", alone.rule);

    let law = governing(&near("water", &products, &maine)).unwrap();
    governs(&law, 25.0, "Maine 01-026 CMR ch. 29 s.6 (me-pest-water): 25 ft");
    assert!(!law.is_default);
    assert!(law.rule.ends_with(": 25 ft, measured from: mean high water mark"), "{}", law.rule);

    let job = governing(&Circumstances { job: Some(feet(5.0)), ..near("water", &products, &[]) });
    governs(&job.unwrap(), 5.0, "the job's own distance: 5 ft");

    assert!(governing(&near("building", &products, &maine)).is_none());
    let mapped = Circumstances { own: Some(feet(3.0)), ..near("building", &products, &maine) };
    governs(&governing(&mapped).unwrap(), 3.0, "the feature's own distance: 3 ft");
}

#[test]
fn the_largest_governs_and_all_are_named() {
    let regulator = regulator();
    let products = [&regulator];
    let maine = places(&["Maine"]);
    let many = Circumstances {
        own: Some(feet(10.0)),
        job: Some(feet(30.0)),
        command: Some(feet(40.0)),
        ..near("water", &products, &maine)
    };
    let setback = governing(&many).unwrap();
    governs(&setback, 40.0, "the distance on the command line: 40 ft");
    assert!(setback.own_is_smaller);
    let spoken: Vec<f64> = setback.spoken.iter().map(|one| one.distance.feet().round()).collect();
    assert_eq!(spoken, [40.0, 30.0, 25.0, 10.0]);

    // As much as what governs is no less than it.
    let equal = governing(&Circumstances { own: Some(feet(40.0)), ..many }).unwrap();
    assert!(!equal.own_is_smaller);

    let own = governing(&Circumstances { own: Some(feet(60.0)), ..many }).unwrap();
    governs(&own, 60.0, "the feature's own distance: 60 ft");
    assert!(!own.own_is_smaller);
}

#[test]
fn a_place_is_meant_by_its_id_or_by_its_name() {
    for text in ["florida-model", "Florida (model ordinance)", "FLORIDA MODEL"] {
        let ids = check_jurisdictions(&places(&[text]), table()).unwrap();
        assert_eq!(ids, ["florida-model"]);
    }
}

#[test]
fn a_growth_regulator_is_a_pesticide_and_a_fertilizer_is_not() {
    let urea = find_product("urea-46-0-0").unwrap();
    let maine = places(&["maine"]);
    let products = [urea];
    let setback = governing(&near("water", &products, &maine)).unwrap();
    governs(&setback, 20.0, "default of this tool, none chosen (default-water-fertilizer): 20 ft");
}

#[test]
fn a_reduction_counts_only_where_the_equipment_declares_it() {
    let feed = fertilizer("24-2-12");
    let products = [&feed];
    let maryland = places(&["maryland"]);
    let plain = near("water", &products, &maryland);
    governs(
        &governing(&plain).unwrap(),
        15.0,
        "Maryland Md. Code Agric. 8-803.5(d) (md-fert): 15 ft",
    );
    let drop = Circumstances { reduces: &[Reduction::DropSpreader], ..plain };
    governs(
        &governing(&drop).unwrap(),
        10.0,
        "Maryland Md. Code Agric. 8-803.5(d) (md-fert): 10 ft, reduced from 15 ft by drop spreader",
    );
    // Maryland asks for a rotary spreader with a deflector, not for any deflector.
    let deflector = Circumstances { reduces: &[Reduction::Deflector], ..plain };
    assert!((governing(&deflector).unwrap().distance.feet() - 15.0).abs() < 1e-9);
}

#[test]
fn a_wide_enough_vegetated_strip_waives_the_rule_that_says_so() {
    let feed = fertilizer("24-2-12");
    let products = [&feed];
    let new_york = places(&["new-york"]);
    let strip = |width| Circumstances {
        veg_strip: Some(feet(width)),
        ..near("water", &products, &new_york)
    };
    governs(&governing(&strip(9.0)).unwrap(), 20.0, "New York ECL 17-2103(3)(c) (ny-fert): 20 ft");
    let waived = governing(&strip(10.0)).unwrap();
    governs(
        &waived,
        0.0,
        "New York ECL 17-2103(3)(c) (ny-fert): 0 ft, waived from 20 ft behind a vegetated strip \
         of 10 ft",
    );
    assert!(!waived.is_default);
    // What the strip does not waive still governs.
    let job = Circumstances { job: Some(feet(12.0)), ..strip(10.0) };
    governs(&governing(&job).unwrap(), 12.0, "the job's own distance: 12 ft");
}

#[test]
fn a_rule_for_hire_binds_only_hired_work_and_phosphorus_only_phosphorus() {
    let feed = fertilizer("24-2-12");
    let products = [&feed];
    let illinois = places(&["illinois"]);
    let hired = Circumstances { hired: Some(true), ..near("water", &products, &illinois) };
    governs(&governing(&hired).unwrap(), 15.0, "Illinois 415 ILCS 65/5a (il-fert): 15 ft");
    let own_lawn = governing(&near("water", &products, &illinois)).unwrap();
    assert!(own_lawn.is_default);
    // Not said: the stricter of both. A drawn distance of 5 ft silences the default.
    let unsaid = |own| Circumstances { hired: None, own, ..near("water", &products, &illinois) };
    let kept = governing(&unsaid(Some(feet(5.0)))).unwrap();
    assert!((kept.distance.feet() - 15.0).abs() < 1e-9);
    assert!(kept.rule.starts_with("Illinois 415 ILCS 65/5a (il-fert): 15 ft"), "{}", kept.rule);
    let said = "; hired is not said, so it is kept as for hire: write hired = false in [site] if \
                you treat your own lawn";
    assert!(kept.rule.ends_with(said), "{}", kept.rule);
    assert_eq!(kept.spoken[0].name, kept.rule);
    // With nothing drawn the default is larger, and the law is heard behind it.
    let default = governing(&unsaid(None)).unwrap();
    assert_eq!((default.distance, &default.rule), (own_lawn.distance, &own_lawn.rule));
    assert!(default.spoken.iter().any(|one| one.name.contains("il-fert")));

    let urea = find_product("urea-46-0-0").unwrap();
    let no_phosphorus = [urea];
    let hired = Circumstances { hired: Some(true), ..near("water", &no_phosphorus, &illinois) };
    assert!(governing(&hired).unwrap().is_default);
}

#[test]
fn a_label_speaks_wherever_its_product_is_used_and_memory_is_marked() {
    let text = "id = \"atrazine-4-l\"\nname = \"atrazine 4 lb/gal\"\nclass = \"herbicide\"\n\
                form = \"liquid\"\nformulation = \"F\"\n[[active_ingredients]]\n\
                name = \"atrazine\"\ncontent = \"4 lb/gal\"\n[setbacks]\nwell = \"60 ft\"\n";
    let atrazine = Product::from_toml(text).unwrap();
    let products = [&atrazine];
    let maine = places(&["maine"]);
    governs(
        &governing(&near("water", &products, &maine)).unwrap(),
        200.0,
        "label (atrazine) label language (atrazine-lake; from memory: check it): 200 ft",
    );
    governs(
        &governing(&near("well", &products, &[])).unwrap(),
        60.0,
        "the label of atrazine 4 lb/gal: 60 ft",
    );
    governs(
        &governing(&near("drain", &products, &[])).unwrap(),
        66.0,
        "label (atrazine) EPA 735-B-93-004 (atrazine-runoff): 66 ft",
    );
}

#[test]
fn rules_for_mixing_bind_the_mix_site_alone() {
    let regulator = regulator();
    let products = [&regulator];
    let minnesota = places(&["minnesota", "california"]);
    let lawn = governing(&near("well", &products, &minnesota)).unwrap();
    governs(&lawn, 50.0, "default of this tool, none chosen (default-well): 50 ft");
    let (distance, rule) = mixing_distance("well", &minnesota, Some(false), table()).unwrap();
    assert_eq!((distance.feet().round(), rule.id.as_str()), (150.0, "mn-mix-well"));
    assert!(mixing_distance("well", &places(&["maine"]), Some(false), table()).is_none());
}

#[test]
fn an_unknown_place_is_answered_with_those_known() {
    assert_eq!(
        check_jurisdictions(&places(&["Maine", "neptune beach fl"]), table()),
        Ok(places(&["maine", "neptune-beach-fl"]))
    );
    assert_eq!(
        check_jurisdictions(&places(&["main"]), table()).unwrap_err().to_string(),
        "\"main\" is not a place whose rules are known here; did you mean \"maine\"? known are: \
         maryland, new-york, new-jersey, michigan, illinois, pennsylvania, florida-model, \
         neptune-beach-fl, maine, new-hampshire, california, minnesota, \
         central-florida, virginia"
    );
}
