//! The label's own range in a product file: a choice inside it, refused outside, asked for where
//! nobody chose.

use std::collections::BTreeMap;

use turfplat_dose::{ChosenProduct, Product, RateChoice, dose, find_species};

use crate::world::{backpack, chosen, of, rate, square_feet, zone};

fn ranged() -> Product {
    Product::from_toml(
        "id = \"ranged\"\nname = \"ranged\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
         formulation = \"SL\"\nlabel_checked = \"2026-05-02\"\n\
         rates = [\n\
         { species = \"tall-fescue\", rate = [\"0.3 fl oz/1000 sq ft\", \"0.5 fl oz/1000 sq ft\"], basis = \"label\" },\n\
         { species = \"zoysiagrass\", rate = \"0.25 fl oz/1000 sq ft\", basis = \"label\" },\n]\n",
    )
    .unwrap()
}

fn planned(species: &str, product: ChosenProduct) -> Result<f64, String> {
    let lawn = zone("lawn", species, square_feet(1_000.0));
    let dose = dose(&[lawn], &[product], &backpack("3 gal", "1 gal/M"));
    let dose = dose.map_err(|error| error.to_string())?;
    match dose.skipped.first() {
        Some(skipped) => Err(format!("{}; {}", skipped.reason, skipped.advice)),
        None => Ok(of(dose.totals[0], "1 fl oz")),
    }
}

#[test]
fn both_ends_and_all_between_may_be_chosen() {
    for ounces in [0.3, 0.4, 0.5] {
        let text = format!("{ounces} fl oz/1000 sq ft");
        let total = planned("tall-fescue", chosen(ranged(), &text)).unwrap();
        assert!((total - ounces).abs() < 1e-12, "{text}");
    }
    // The upper end in another unit: 0.5 × 43.56 fl oz/A.
    assert!(planned("tall-fescue", chosen(ranged(), "21.78 fl oz/A")).is_ok());
}

#[test]
fn outside_of_it_is_refused_with_the_range() {
    for (text, outside) in [("0.6 fl oz/M", "above"), ("0.2 fl oz/M", "below")] {
        let told = planned("tall-fescue", chosen(ranged(), text)).unwrap_err();
        let amount = text.trim_end_matches(" fl oz/M");
        assert_eq!(
            told,
            format!(
                "rate {amount} fl oz/1000 sq ft of ranged for tall fescue is {outside} the label's \
                 0.3 to 0.5 fl oz/1000 sq ft; write one that the label allows"
            )
        );
    }
    // A single figure is a most: less is lawful (7 U.S.C. 136(ee)).
    assert!(planned("zoysiagrass", chosen(ranged(), "0.2 fl oz/M")).is_ok());
    let above = planned("zoysiagrass", chosen(ranged(), "0.3 fl oz/M")).unwrap_err();
    assert!(above.ends_with("0.25 fl oz/1000 sq ft; write one that the label allows"), "{above}");
    let fescue = find_species("tall-fescue").unwrap();
    assert!(ranged().check_label_rate(fescue, rate("0.6 fl oz/M")).is_err());
}

#[test]
fn a_range_without_a_choice_is_asked_for() {
    let at_label = || ChosenProduct::at_its_label_rates(ranged()).unwrap();
    assert_eq!(
        planned("tall-fescue", at_label()).unwrap_err(),
        "ranged: the label gives 0.3 to 0.5 fl oz/1000 sq ft for tall fescue, and no figure is \
         chosen; write one inside it, such as rates.tall-fescue = \"0.4 fl oz/1000 sq ft\""
    );
    // A single figure needs no choice, and other grasses of the label are not asked about.
    assert!((planned("zoysiagrass", at_label()).unwrap() - 0.25).abs() < 1e-12);
}

#[test]
fn a_grass_that_the_label_leaves_out_gets_none() {
    let told = planned("kentucky-bluegrass", chosen(ranged(), "0.3 fl oz/M")).unwrap_err();
    assert!(told.starts_with("ranged: its label has no rate for Kentucky bluegrass; "), "{told}");
    let stand = planned("zoysiagrass, kentucky-bluegrass", chosen(ranged(), "0.2 fl oz/M"));
    assert!(stand.unwrap_err().contains("so the mixed stand gets none"));
    // By its name the user says that the label lists it.
    let rates = BTreeMap::from([("kentucky-bluegrass".to_owned(), rate("0.3 fl oz/M"))]);
    let named =
        ChosenProduct { rates: RateChoice::BySpecies(rates), ..chosen(ranged(), "0.3 fl oz/M") };
    assert!(planned("kentucky-bluegrass", named).is_ok());
}

#[test]
fn of_two_label_rates_for_one_grass_the_lower_is_taken() {
    for rates in [["0.4", "0.3"], ["0.3", "0.4"]] {
        let [first, second] = rates.map(|ounces| {
            format!(
                "{{ species = \"tall-fescue\", rate = \"{ounces} fl oz/M\", basis = \"label\" }}"
            )
        });
        let product = Product::from_toml(&format!(
            "id = \"two\"\nname = \"two\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
             formulation = \"SL\"\nlabel_checked = \"2026-05-02\"\nrates = [{first}, {second}]\n"
        ))
        .unwrap();
        let doubts = product.doubts("2026-11-01").join("\n");
        assert!(doubts.contains("no use or mowing_height tells them apart"), "{doubts}");
        let at_label = ChosenProduct::at_its_label_rates(product).unwrap();
        let RateChoice::BySpecies(rates) = at_label.rates else { panic!("one rate") };
        let ounces = rates["tall-fescue"].over(rate("1 fl oz/M")).unwrap();
        assert!((ounces - 0.3).abs() < 1e-12, "{ounces}");
    }
}

#[test]
fn rows_for_uses_that_differ_are_no_slip() {
    assert!(!by_use().doubts("2026-11-01").join("\n").contains("tells them apart"));
}

fn by_use() -> Product {
    Product::from_toml(
        "id = \"by-use\"\nname = \"by use\"\nclass = \"growth regulator\"\nform = \"liquid\"\n\
         label_checked = \"2026-05-02\"\nrates = [\n\
         { species = \"zoysiagrass\", rate = \"0.3 fl oz/1000 sq ft\", use = \"fairway\", mowing_height = [\"0.4 in\", \"0.6 in\"], basis = \"label\" },\n\
         { species = \"zoysiagrass\", rate = \"0.6 fl oz/1000 sq ft\", use = \"lawn\", basis = \"label\" },\n\
         { species = \"tall-fescue\", rate = \"0.5 fl oz/1000 sq ft\", use = \"lawn\", basis = \"label\" },\n]\n",
    )
    .unwrap()
}

#[test]
fn rates_by_use_are_asked_for_and_chosen_by_use_or_height() {
    let at = |product: Product| ChosenProduct::at_its_label_rates(product).unwrap();
    assert_eq!(
        planned("zoysiagrass", at(by_use())).unwrap_err(),
        "by-use: the label gives 0.3 fl oz/1000 sq ft (fairway, cut at 0.4 in to 0.6 in) or \
         0.6 fl oz/1000 sq ft (lawn) for zoysiagrass, and nobody says which is meant; write \
         use = \"lawn\" beside the product in the job"
    );
    // One row only: nothing to choose.
    assert!((planned("tall-fescue", at(by_use())).unwrap() - 0.5).abs() < 1e-12);
    let used = |site: &str| at(by_use().for_use(Some(site), None).unwrap());
    assert!((planned("zoysiagrass", used("Lawn")).unwrap() - 0.6).abs() < 1e-12);
    assert!((planned("zoysiagrass", used("fairways")).unwrap() - 0.3).abs() < 1e-12);
    assert!(planned("tall-fescue", used("fairway")).unwrap_err().contains("rate for tall fescue"));
    // The height leaves the row of the lawn in, which says none; both together are one row.
    let cut = |site, height: &str| by_use().for_use(site, Some(height.parse().unwrap()));
    assert!(planned("zoysiagrass", at(cut(None, "0.5 in").unwrap())).is_err());
    let both = at(cut(Some("fairway"), "0.6 in").unwrap());
    assert!((planned("zoysiagrass", both).unwrap() - 0.3).abs() < 1e-12);

    let told = by_use().for_use(Some("fairwy"), None).unwrap_err().to_string();
    assert!(told.contains("did you mean \"fairway\"?"), "{told}");
    let told = by_use().for_use(Some("roof"), None).unwrap_err().to_string();
    assert!(told.ends_with("write one of: fairway, lawn"), "{told}");
    let told = cut(None, "2 in").unwrap_err().to_string();
    assert!(told.ends_with("write one of: 0.4 in to 0.6 in"), "{told}");
    let told = ranged().for_use(Some("lawn"), None).unwrap_err().to_string();
    assert!(told.ends_with("name none; leave use out"), "{told}");
}

#[test]
fn a_rate_that_one_use_allows_and_another_does_not_asks_for_the_use() {
    let two_uses = || {
        Product::from_toml(
            "id = \"two-uses\"\nname = \"two uses\"\nclass = \"growth regulator\"\nform = \"liquid\"\n\
             formulation = \"EC\"\nlabel_checked = \"2026-05-02\"\nrates = [\n\
             { species = \"tall-fescue\", use = \"fairway\", rate = [\"0.1 fl oz/M\", \"0.2 fl oz/M\"], basis = \"label\" },\n\
             { species = \"tall-fescue\", use = \"lawn\", rate = [\"0.3 fl oz/M\", \"0.75 fl oz/M\"], basis = \"label\" },\n]\n",
        )
        .unwrap()
    };
    let told = planned("tall-fescue", chosen(two_uses(), "0.4 fl oz/M")).unwrap_err();
    assert!(told.contains("nobody says which is meant; write use = \"lawn\""), "{told}");
    let lawn = two_uses().for_use(Some("lawn"), None).unwrap();
    assert!((planned("tall-fescue", chosen(lawn, "0.4 fl oz/M")).unwrap() - 0.4).abs() < 1e-12);
    let fairway = two_uses().for_use(Some("fairway"), None).unwrap();
    assert!(planned("tall-fescue", chosen(fairway, "0.4 fl oz/M")).unwrap_err().contains("above"));
}

#[test]
fn the_day_of_the_file_covers_a_rate_inside_its_range_and_no_other_grass() {
    let unchecked = || ChosenProduct { label_checked: None, ..chosen(ranged(), "0.4 fl oz/M") };
    assert!(planned("tall-fescue", unchecked()).unwrap_err().contains("no label-checked rate"));
    let covered = unchecked().checked_with_its_file();
    assert!((planned("tall-fescue", covered).unwrap() - 0.4).abs() < 1e-12);
    let above = ChosenProduct { label_checked: None, ..chosen(ranged(), "0.6 fl oz/M") };
    assert!(planned("tall-fescue", above.checked_with_its_file()).unwrap_err().contains("above"));
    // The file's label says nothing of this grass: the job has to say when it was read.
    let rates = BTreeMap::from([("kentucky-bluegrass".to_owned(), rate("0.3 fl oz/M"))]);
    let other = ChosenProduct { rates: RateChoice::BySpecies(rates), ..unchecked() };
    assert_eq!(other.checked_with_its_file().label_checked, None);
}

/// Two uses, of which one is parted by the height of cut, as labels do.
fn by_use_and_height() -> Product {
    Product::from_toml(
        "id = \"both\"\nname = \"both\"\nclass = \"growth regulator\"\nform = \"liquid\"\n\
         label_checked = \"2026-05-02\"\nrates = [\n\
         { species = \"tall-fescue\", rate = \"0.5 fl oz/M\", use = \"lawn\", mowing_height = [\"1 in\", \"2 in\"], basis = \"label\" },\n\
         { species = \"tall-fescue\", rate = \"0.6 fl oz/M\", use = \"lawn\", mowing_height = [\"2 in\", \"4 in\"], basis = \"label\" },\n\
         { species = \"tall-fescue\", rate = \"0.3 fl oz/M\", use = \"fairway\", basis = \"label\" },\n]\n",
    )
    .unwrap()
}

#[test]
fn what_is_chosen_already_is_not_asked_for_again() {
    let height = |text: &str| Some(text.parse::<turfplat_units::Length>().unwrap());
    let chosen_by = |r#use, height| {
        let product = by_use_and_height().for_use(r#use, height).unwrap();
        let chosen = ChosenProduct::at_its_label_rates(product).unwrap();
        let grass = crate::world::grass("tall-fescue");
        (
            chosen.rates.of(grass).map(|it| it.over(rate("1 fl oz/M")).unwrap()),
            chosen.check_on(grass),
        )
    };
    let (_, asked) = chosen_by(Some("lawn"), None);
    let question = asked.unwrap_err().to_string();
    assert!(question.contains("mowing_height = "), "{question}");
    assert!(!question.contains("use = "), "{question}");
    assert_eq!(chosen_by(Some("lawn"), height("3 in")), (Some(0.6), Ok(())));
    // Both rows speak of 2 in: the lower is lawful by either.
    assert_eq!(chosen_by(Some("lawn"), height("2 in")), (Some(0.5), Ok(())));
}

#[test]
fn less_than_the_labels_range_goes_on_only_with_a_reason() {
    let range = "id = \"low\"\nname = \"low\"\nclass = \"growth regulator\"\nform = \"liquid\"\n\
                 label_checked = \"2026-05-02\"\nrates = [{ species = \"tall-fescue\", \
                 rate = [\"0.3 fl oz/M\", \"0.6 fl oz/M\"], basis = \"label\" }]\n";
    let product = Product::from_toml(range).unwrap();
    let grass = crate::world::grass("tall-fescue");
    assert!(product.check_label_rate(grass, rate("0.25 fl oz/M")).is_err());
    let sure = Product { rate_is_right: Some("half rates, our trial".into()), ..product };
    assert!(sure.check_label_rate(grass, rate("0.25 fl oz/M")).is_ok());
    assert!(sure.check_label_rate(grass, rate("0.65 fl oz/M")).is_err());
}

#[test]
fn a_label_rate_far_from_all_that_is_usual_has_its_reason_in_the_file() {
    let bait = |reason: &str| {
        Product::from_toml(&format!(
            "id = \"weed\"\nname = \"weed\"\nclass = \"herbicide\"\nform = \"granule\"\n\
             label_checked = \"2026-05-02\"\n{reason}rates = [{{ species = \"tall-fescue\", \
             rate = \"60 lb/1000 sq ft\", basis = \"label\" }}]\n"
        ))
    };
    assert!(bait("").unwrap_err().to_string().contains("rate_is_right"));
    let sure = bait("rate_is_right = \"page 2\"\n").unwrap();
    assert_eq!(sure.rate_is_right.as_deref(), Some("page 2"));
}

#[test]
fn the_labels_rate_stands_among_the_limits() {
    let with = |rate: &str| {
        Product::from_toml(&format!(
            "id = \"own\"\nname = \"own\"\nclass = \"growth regulator\"\nform = \"liquid\"\n\
             label_checked = \"2026-05-02\"\nrates = [{{ species = \"tall-fescue\", rate = {rate}, \
             basis = \"label\" }}]\n"
        ))
        .unwrap()
    };
    let lawn = [zone("lawn", "tall-fescue", square_feet(1_000.0))];
    let told = |product: Product, rate: &str| {
        let dose = dose(&lawn, &[chosen(product, rate)], &backpack("3 gal", "1 gal/M")).unwrap();
        let row = dose.limits.iter().find(|row| row.limit == "label_rate").unwrap().clone();
        assert_eq!(row.name, "rate for tall fescue");
        (row.figures().unwrap(), row.remark)
    };
    let less = Some("less than the label's one figure, as you chose".to_owned());
    let single = || with("\"0.5 fl oz/M\"");
    assert_eq!(told(single(), "0.4 fl oz/M"), ("0.4 of 0.5 fl oz/1000 sq ft".into(), less.clone()));
    assert_eq!(told(single(), "0.5 fl oz/M"), ("0.5 of 0.5 fl oz/1000 sq ft".into(), None));
    // 21.78 fl oz on 43,560 sq ft are 0.5 on 1,000; half of it is told in the label's unit.
    assert_eq!(
        told(with("\"21.78 fl oz/A\""), "0.25 fl oz/M"),
        ("10.89 of 21.78 fl oz/A".into(), less)
    );
    let (figures, remark) = told(with("[\"0.3 fl oz/M\", \"0.6 fl oz/M\"]"), "0.45 fl oz/M");
    assert_eq!(figures, "0.45 of 0.6 fl oz/1000 sq ft");
    assert_eq!(remark.unwrap(), "the label gives 0.3 to 0.6 fl oz/M");
}

#[test]
fn a_height_that_is_not_on_the_label_is_told_in_inches() {
    // 11 ÷ 2.54 = 4.33; the label goes to 4 in.
    let height = |text: &str| Some(text.parse().unwrap());
    let told = by_use_and_height().for_use(None, height("11 cm")).unwrap_err().to_string();
    assert!(told.contains("\"4.33 in\""), "{told}");
    assert!(by_use_and_height().for_use(None, height("10 cm")).is_ok());
}

#[test]
fn so_little_in_the_past_that_a_unit_may_have_slipped_is_asked_about() {
    let regulator = crate::world::regulator();
    // 0.13 fl oz/1000 sq ft is the lowest in print; a fifth of it is 0.026.
    let told = regulator.doubt_put_down(rate("0.0259 fl oz/M")).unwrap();
    assert!(told.contains("is 1/5 of the lowest in print, 0.13 fl oz/1000 sq ft"), "{told}");
    assert_eq!(regulator.doubt_put_down(rate("0.0261 fl oz/M")), None);
    assert_eq!(regulator.doubt_put_down(rate("0.25 fl oz/M")), None);
    let acre = regulator.doubt_put_down(rate("0.3 fl oz/A")).unwrap();
    assert!(acre.contains("trinexapac-ethyl-1-ec"), "{acre}");
}

#[test]
fn the_least_that_is_known_is_the_labels_lower_end_else_the_lowest_in_print() {
    let least = |product: &Product, stand: &[&str]| {
        let stand: Vec<_> = stand.iter().map(|id| find_species(id).unwrap()).collect();
        let (rate, who) = product.least_known(&stand)?;
        Some((of(rate.on(square_feet(1_000.0)), "1 fl oz"), who))
    };
    let (rate, who) = least(&ranged(), &["tall-fescue"]).unwrap();
    assert!((rate - 0.3).abs() < 1e-9 && who.starts_with("the label gives 0.3 to 0.5"), "{who}");
    // Of a mixed stand the higher of the two, so that it works on both; a single figure of the label
    // is all that is in print here.
    let (rate, _) = least(&ranged(), &["tall-fescue", "zoysiagrass"]).unwrap();
    assert!((rate - 0.3).abs() < 1e-9);
    assert_eq!(least(&ranged(), &["zoysiagrass", "bahiagrass"]), None);
    // growth-regulator-rates.csv: Kentucky bluegrass 0.60 (Lickfeldt et al. 2001), tall fescue 0.76.
    let regulator = turfplat_dose::find_product("trinexapac-ethyl-1-ec").unwrap();
    let (rate, who) = least(regulator, &["kentucky-bluegrass", "tall-fescue"]).unwrap();
    assert!((rate - 0.76).abs() < 1e-9 && who.contains("Gardner & Wherley"), "{rate} {who}");
}
