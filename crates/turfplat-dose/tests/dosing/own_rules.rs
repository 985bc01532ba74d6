//! Rules of the user's own, in a job or in a table.

use turfplat_dose::{
    Circumstances, Product, RuleSet, RuleText, check_jurisdictions, governing, mixing_distance,
};

use crate::world::{fertilizer, regulator};

fn town() -> RuleText {
    RuleText {
        id: "town-pond".into(),
        kind: "water".into(),
        base: "40 ft".into(),
        source: Some("Town code 12-4".into()),
        measured_from: Some("top of bank".into()),
        ..RuleText::default()
    }
}

fn with(text: RuleText) -> RuleSet {
    let mut rules = RuleSet::default();
    rules.add(text).unwrap();
    rules
}

fn governs(rules: &RuleSet, product: &Product, places: &[&str]) -> (f64, String) {
    let places: Vec<String> = places.iter().map(|place| (*place).to_owned()).collect();
    let setback = governing(&Circumstances {
        kind: "water",
        products: &[product],
        rules,
        jurisdictions: &places,
        reduces: &[],
        hired: Some(false),
        veg_strip: None,
        own: None,
        job: None,
        command: None,
    })
    .unwrap();
    (setback.distance.feet().round(), setback.rule)
}

#[test]
fn a_rule_of_ones_own_speaks_like_any_other() {
    let (feet, rule) = governs(&with(town()), &regulator(), &["maine"]);
    assert_eq!(
        (feet, rule.as_str()),
        (40.0, "your own rule, Town code 12-4 (town-pond): 40 ft, measured from: top of bank")
    );
    let drawn = RuleText { measured_from: None, ..town() };
    assert_eq!(
        governs(&with(drawn), &regulator(), &["maine"]).1,
        "your own rule, Town code 12-4 (town-pond): 40 ft"
    );
    // The law is stricter than a town that asks for less.
    let less = RuleText { base: "10 ft".into(), ..town() };
    let (feet, rule) = governs(&with(less.clone()), &regulator(), &["maine"]);
    assert!(feet == 25.0 && rule.contains("me-pest-water"), "{rule}");
    // Nothing else speaks: then the town does, and no default.
    assert_eq!(governs(&with(less), &regulator(), &[]).0, 10.0);
    // Of fertilizer only.
    let feed = RuleText { products: Some("fertilizer".into()), ..town() };
    assert_eq!(governs(&with(feed.clone()), &regulator(), &["maine"]).0, 25.0);
    assert_eq!(governs(&with(feed), &fertilizer("24-2-12"), &["maine"]).0, 40.0);
}

#[test]
fn a_rule_of_a_place_speaks_where_that_place_is_chosen() {
    let rules = with(RuleText { jurisdiction: Some("Old Town".into()), ..town() });
    assert_eq!(check_jurisdictions(&["old town".into()], &rules), Ok(vec!["old-town".to_owned()]));
    assert!(check_jurisdictions(&["old town".into()], &RuleSet::default()).is_err());
    assert_eq!(governs(&rules, &regulator(), &["old-town"]).0, 40.0);
    assert_eq!(governs(&rules, &regulator(), &["maine"]).0, 25.0);
}

#[test]
fn a_place_of_the_table_is_meant_by_its_id_or_its_name_and_blanks_are_left_out() {
    for text in ["florida-model", "Florida (model ordinance)"] {
        let rules = with(RuleText { jurisdiction: Some(text.into()), ..town() });
        let own = &rules.own()[0];
        assert_eq!(own.jurisdiction, "florida-model");
        assert_eq!(own.jurisdiction_name, "Florida (model ordinance)");
    }
    let blank = || Some(" ".to_owned());
    let rules = with(RuleText {
        jurisdiction: blank(),
        reduced: blank(),
        waived_behind: blank(),
        conditions: Some(String::new()),
        source: Some(String::new()),
        read: Some(String::new()),
        ..town()
    });
    let own = &rules.own()[0];
    assert!(own.is_anywhere());
    assert_eq!((own.reduced, own.waived_behind), (None, None));
    assert_eq!(
        (&own.conditions, &own.provenance.source, &own.provenance.read),
        (&None, &None, &None)
    );
    let told = with(RuleText {
        conditions: Some("below the dam".into()),
        read: Some("2026-11".into()),
        ..town()
    });
    let own = &told.own()[0];
    assert_eq!(own.conditions.as_deref(), Some("below the dam"));
    assert_eq!(own.provenance.source.as_deref(), Some("Town code 12-4"));
    assert_eq!(own.provenance.read.as_deref(), Some("2026-11"));
    // Words that mean no place are none.
    for word in ["own", "default", "label-of-mine"] {
        let taken = RuleText { jurisdiction: Some(word.into()), ..town() };
        assert!(RuleSet::default().add(taken).is_err(), "{word}");
    }
}

#[test]
fn a_row_of_the_table_is_replaced_by_one_of_its_id() {
    let rules = with(RuleText {
        id: "me-pest-water".into(),
        base: "30 ft".into(),
        source: Some("ch. 29 as amended".into()),
        ..town()
    });
    assert_eq!(rules.all().filter(|rule| rule.id == "me-pest-water").count(), 1);
    let (feet, rule) = governs(&rules, &regulator(), &["maine"]);
    assert!(
        feet == 30.0
            && rule.starts_with("your own rule instead of Maine's 25 ft, ch. 29 as amended"),
        "{rule}"
    );
    // It stays a rule of its place.
    assert!(governs(&rules, &regulator(), &["ohio"]).1.contains("default"));
}

#[test]
fn a_rule_for_mixing_binds_the_mix_site_alone() {
    let rules = with(RuleText { activity: Some("mix".into()), ..town() });
    assert!(governs(&rules, &regulator(), &[]).1.contains("default"));
    let (distance, rule) = mixing_distance("water", &[], Some(false), &rules).unwrap();
    assert_eq!((distance.feet().round(), rule.id.as_str()), (40.0, "town-pond"));
    let hired =
        with(RuleText { activity: Some("mix".into()), binds: Some("hired".into()), ..town() });
    assert!(mixing_distance("water", &[], Some(false), &hired).is_none());
    assert!(mixing_distance("water", &[], Some(true), &hired).is_some());
}

#[test]
fn a_table_of_rules_is_read_with_the_columns_of_ours() {
    let mut rules = RuleSet::default();
    rules
        .add_table(
            "id,kind,base_ft,reduced_ft,reduced_by,products,jurisdiction\n\
             lake-a,water,75,30,drop spreader; deflector,fertilizer,\n\
             lake-b,well,60,,,,Old Town\n",
        )
        .unwrap();
    assert_eq!(rules.own().len(), 2);
    assert_eq!(governs(&rules, &fertilizer("24-2-12"), &[]).0, 75.0);
    // Our own table is one.
    let ours = include_str!("../../../../data/setback-rules.csv")
        .replace("default,default,", "elsewhere,elsewhere,");
    let ours = ours.lines().filter(|line| !line.contains(",label-")).collect::<Vec<_>>().join("\n");
    RuleSet::default().add_table(&ours).unwrap();
}

#[test]
fn what_cannot_be_a_rule_is_told_so() {
    for (text, message) in [
        (RuleText { id: String::new(), ..town() }, "rule without id, id:"),
        (
            RuleText { kind: "pond".into(), ..town() },
            "kind: \"pond\" is not read here; write one of: water",
        ),
        (
            RuleText { base: "40".into(), ..town() },
            "base: \"40\" is not read here; write a distance, such as \"30 ft\"",
        ),
        (RuleText { reduced: Some("10 ft".into()), ..town() }, "both reduced and reduced_by"),
        (
            RuleText { reduced: Some("40 ft".into()), reduced_by: vec!["guard".into()], ..town() },
            "less than the base",
        ),
        (
            RuleText { reduced: Some("4 ft".into()), reduced_by: vec!["a wall".into()], ..town() },
            "\"a wall\" is not read here; write one of: drop spreader",
        ),
        (RuleText { binds: Some("nobody".into()), ..town() }, "write everyone or hired"),
        (RuleText { activity: Some("spray".into()), ..town() }, "write apply or mix"),
        (
            RuleText { products: Some("weeds".into()), ..town() },
            "fertilizer, phosphorus, pesticide",
        ),
        (RuleText { jurisdiction: Some("default".into()), ..town() }, "the name of a place"),
    ] {
        let told = RuleSet::default().add(text).unwrap_err().to_string();
        assert!(told.contains(message), "{told}");
    }
    let mut twice = with(town());
    assert!(twice.add(town()).unwrap_err().to_string().contains("already"));
    for (table, message) in [
        ("id,kind\nx,water\n", "line 1: no column \"base_ft\""),
        ("id,kind,base_ft,reduced_fet\nx,water,3,1\n", "did you mean \"reduced_ft\"?"),
        ("id,kind,base_ft\nx,water\n", "line 2: 2 cells, and the header has 3"),
        ("id,kind,base_ft\nx,water,far\n", "rule x, base: \"far ft\""),
        ("id,id,kind,base_ft\nx,y,water,3\n", "line 2: duplicate field `id`"),
        ("", "line 1: no column"),
    ] {
        let told = RuleSet::default().add_table(table).unwrap_err().to_string();
        assert!(told.contains(message), "{table:?}: {told}");
    }
}
