//! Product files that users bring, good and not.

use turfplat_dose::{Basis, ChosenProduct, Product, dose};

use crate::world::{backpack, of, square_feet, zone};

const GOOD: &str = r#"
id = "my-regulator"
name = "my regulator"
class = "growth regulator"
form = "liquid"
formulation = "ME"
label_checked = "2026-05-02"

[[active_ingredients]]
name = "trinexapac-ethyl"
content = "1 lb/gal"

[[rates]]
species = ["tall fescue", "kentucky-bluegrass"]
rate = "0.5 fl oz/1000 sq ft"
basis = "label"

[limits.min_interval]
limit = "28 days"
source = "label"

[setbacks]
water = "25 ft"
"#;

fn with(from: &str, to: &str) -> String {
    let text = GOOD.replacen(from, to, 1);
    assert_ne!(text, GOOD, "{from}");
    Product::from_toml(&text).unwrap_err().to_string()
}

#[test]
fn a_label_in_a_file_doses_and_shows_the_research_beside() {
    let product = Product::from_toml(GOOD).unwrap();
    assert_eq!(product.density, None);
    assert_eq!(product.limits.max_per_year, None);
    assert_eq!(product.limits.min_interval.as_ref().map(|interval| interval.days), Some(28));
    assert!(product.rates.iter().any(|rate| rate.basis == Basis::Research));

    let chosen = ChosenProduct::at_its_label_rates(product).unwrap();
    let zones = [
        zone("front", "tall-fescue", square_feet(2_000.0)),
        zone("back", "zoysiagrass", square_feet(2_000.0)),
    ];
    let dose = dose(&zones, &[chosen], &backpack("3 gal", "1 gal/M")).unwrap();
    assert!((of(dose.totals[0], "1 fl oz") - 1.0).abs() < 1e-12);
    assert_eq!(dose.skipped[0].zone, "back");
}

#[test]
fn a_limit_without_a_source_and_a_bare_date_are_read() {
    let text = GOOD
        .replace(
            "[limits.min_interval]\nlimit = \"28 days\"\nsource = \"label\"\n",
            "[limits]\nmin_interval = \"28 days\"\nmax_per_year = \"5 fl oz/1000 sq ft\"\n",
        )
        .replace("\"2026-05-02\"", "2026-05-02");
    let product = Product::from_toml(&text).unwrap();
    let interval = product.limits.min_interval.as_ref().unwrap();
    assert_eq!((interval.days, &interval.provenance.source), (28, &None));
    assert_eq!(product.limits.max_per_year.as_ref().unwrap().text, "5 fl oz/1000 sq ft");
    assert_eq!(product.label_checked.as_deref(), Some("2026-05-02"));
    let number = text.replace("\"28 days\"", "28");
    let told = Product::from_toml(&number).unwrap_err().to_string();
    assert!(told.contains("expected a limit in quotes with its unit"), "{told}");
    let misspelt = text.replace("\"28 days\"", "{ limt = \"28 days\" }");
    let told = Product::from_toml(&misspelt).unwrap_err().to_string();
    assert!(told.contains("did you mean \"limit\"?"), "{told}");
}

#[test]
fn an_interval_says_its_unit() {
    for (written, days) in [("28 days", 28), ("4 weeks", 28), ("1 week", 7), ("1 day", 1)] {
        let product = Product::from_toml(&GOOD.replace("28 days", written)).unwrap();
        assert_eq!(product.limits.min_interval.unwrap().days, days, "{written}");
    }
    for refused in ["28", "1.5 weeks", "days", "4294967295 weeks", "4 months"] {
        let told = Product::from_toml(&GOOD.replace("28 days", refused)).unwrap_err().to_string();
        assert!(told.contains("write whole days, such as \"28 days\""), "{refused}: {told}");
    }
}

#[test]
fn a_file_that_cannot_be_read_says_what_to_change() {
    for (from, to, message) in [
        (
            "form = \"liquid\"",
            "from = \"liquid\"",
            "product file, line 5: unknown key \"from\"; did you mean \"form\"?",
        ),
        ("id = \"my-regulator\"\n", "", "product file, line 1: missing field `id`"),
        (
            "\"my-regulator\"",
            "\"My Regulator\"",
            "product My Regulator, id: \"My Regulator\" is not read here; write small letters, \
             digits and hyphens, such as \"urea-46-0-0\"",
        ),
        (
            "\"growth regulator\"",
            "\"regulator\"",
            "product my-regulator, class: \"regulator\" is not read here; write one of: growth \
             regulator, herbicide, insecticide, fungicide, fertilizer, adjuvant",
        ),
        (
            "form = \"liquid\"",
            "form = \"granule\"",
            "product my-regulator, form: \"granule\" is not read here; write \"liquid\", or \
             another formulation than ME",
        ),
        (
            "\"1 lb/gal\"",
            "\"1 gal/lb\"",
            "product my-regulator, active_ingredients[0].content: \"1 gal/lb\" is not read here; \
             write a content, such as \"1 lb/gal\", \"3.8 lb a.e./gal\" or \"46 %\"",
        ),
        (
            "0.5 fl oz/1000 sq ft",
            "0.5 fl oz",
            "product my-regulator, rates[0].rate: \"0.5 fl oz\" says no area; add one, such as \
             \"/1000 sq ft\", \"/A\" or \"/ha\"",
        ),
        (
            "tall fescue",
            "fescue",
            "product my-regulator, rates[0].species: \"fescue\" may be tall-fescue or \
             fine-fescue; write the one that grows here",
        ),
        (
            "label_checked = \"2026-05-02\"\n",
            "",
            "product my-regulator: its rates are from a label, but nothing says when it was \
             read; add label_checked = \"YYYY-MM-DD\"",
        ),
        (
            "2026-05-02",
            "2 May",
            "product my-regulator, label_checked: \"2 May\" is not read here; write a date, such \
             as \"2026-05-02\"",
        ),
        (
            "water = \"25 ft\"",
            "pond = \"25 ft\"",
            "product my-regulator, setbacks: \"pond\" is not read here; write one of: water, \
             well, drain, garden, play, apiary, building, hardscape, bed, keepout, veg-strip",
        ),
        (
            "25 ft",
            "25",
            "product my-regulator, setbacks.water: \"25\" has no unit; add one, such as \"25 ft\"",
        ),
        (
            "28 days",
            "a month",
            "product my-regulator, limits.min_interval.limit: \"a month\" is not read here; \
             write whole days, such as \"28 days\"",
        ),
    ] {
        assert_eq!(with(from, to), message);
    }
}

#[test]
fn a_label_rate_with_a_slip_is_refused_where_it_stands() {
    let message = with("0.5 fl oz/1000 sq ft", "50 fl oz/1000 sq ft");
    assert!(message.starts_with("product my-regulator, rates[0].rate: rate 50 fl oz"), "{message}");
    assert!(message.contains("times the highest published"), "{message}");
}

#[test]
fn nutrients_are_a_percentage() {
    let file = |n: &str| {
        format!(
            "id = \"feed\"\nname = \"feed\"\nclass = \"fertilizer\"\nform = \"granule\"\n\
             formulation = \"granule\"\n[analysis]\nn = {n}\np2o5 = 0\nk2o = 0\n"
        )
    };
    for good in ["46", "46.0", "\"46 %\"", "\"46%\"", "\"46 percent\""] {
        let analysis = Product::from_toml(&file(good)).unwrap().analysis.unwrap();
        assert!((analysis.n - 0.46).abs() < 1e-12, "{good}");
    }
    assert_eq!(
        Product::from_toml(&file("146")).unwrap_err().to_string(),
        "product feed, analysis.n: \"146\" is not read here; write a percentage, such as \"46 %\""
    );
    assert_eq!(
        Product::from_toml(&file("true")).unwrap_err().to_string(),
        "product file, line 7: expected a percentage, such as \"46 %\" or 46"
    );
}

#[test]
fn an_unknown_key_is_told_with_its_line_and_the_nearest_wherever_it_stands() {
    for (from, to, message) in [
        ("content = ", "contnet = ", "line 11: unknown key \"contnet\"; did you mean \"content\"?"),
        ("rate = ", "rat = ", "line 15: unknown key \"rat\"; did you mean \"rate\"?"),
        (
            "[limits.min_interval]",
            "[limits.min_intervall]",
            "line 18: unknown key \"min_intervall\"; did you mean \"min_interval\"?",
        ),
        (
            "water = ",
            "[temperature]\nat_mots = ",
            "unknown key \"at_mots\"; did you mean \"at_most\"?",
        ),
        ("formulation = ", "rainfree = \"6 h\"\nformulation = ", "did you mean \"rain_free\"?"),
        (
            "label_checked = ",
            "zzz = 1\nlabel_checked = ",
            "unknown key \"zzz\"; known here are: id, ",
        ),
    ] {
        let told = with(from, to);
        assert!(told.contains(message), "{told}");
    }
    let twice = with("form = \"liquid\"", "form = \"liquid\"\nform = \"granule\"");
    assert!(twice.starts_with("product file, line 6: "), "{twice}");
}

const BARE: &str = "id = \"bare\"\nname = \"bare\"\nform = \"liquid\"\n";

#[test]
fn only_id_name_and_form_are_needed_and_the_rest_is_not_given() {
    let product = Product::from_toml(BARE).unwrap();
    for fact in product.facts().iter().filter(|fact| fact.key != "form") {
        assert_eq!(fact.text(), "not given", "{}", fact.key);
    }
    // Without a class no rule on distance may be lost.
    assert!(product.is_pesticide() && product.is_fertilizer() && product.has_phosphorus());
}

#[test]
fn all_that_a_label_says_is_read() {
    let text = format!(
        "{BARE}class = \"herbicide\"\nlabel_checked = \"2026-05-02\"\ndensity = \"9.1 lb/gal\"\n\
         rates = [{{ species = \"tall-fescue\", use = \"fairway\", mowing_height = \"0.5 in\", \
         rate = [\"0.2 fl oz/1000 sq ft\", \"0.4 fl oz/1000 sq ft\"], basis = \"label\" }}]\n\
         spray_volume = [\"1 gal/1000 sq ft\", \"2 gal/1000 sq ft\"]\nrain_free = \"6 h\"\n\
         containers = [{{ size = \"1 qt\", price = \"$39.95\" }}, {{ size = \"1 gal\" }}]\n\
         epa_registration = \"12345-678\"\nsignal_word = \"CAUTION\"\nppe = [\"gloves\"]\n\
         reentry = \"when dry\"\nwatering_in = \"none\"\n[temperature]\nat_most = \"85 F\"\n\
         [drift_buffers]\nwater = \"50 ft\"\n\
         [sources.density]\nsource = \"safety data sheet\"\nbasis = \"label\"\n"
    );
    let product = Product::from_toml(&text).unwrap();
    let given = |key: &str| {
        let facts = product.facts();
        facts.iter().find(|fact| fact.key == key).unwrap().text().to_owned()
    };
    assert_eq!(given("rates"), "tall-fescue (fairway, cut at 0.5 in): 0.2 to 0.4 fl oz/1000 sq ft");
    assert_eq!(given("spray_volume"), "1 to 2 gal/1000 sq ft");
    assert_eq!(given("temperature.at_most"), "85 °F (29 °C)");
    assert_eq!(given("temperature.at_least"), "not given");
    assert_eq!(given("containers"), "1 qt at $39.95; 1 gal");
    assert_eq!(given("signal_word"), "caution");
    let from = product.source_of("density").provenance.source;
    assert_eq!(from.as_deref(), Some("safety data sheet"));
    // A drift buffer holds downwind only and is no setback.
    assert!(product.setbacks.is_empty());
    assert_eq!(given("drift_buffers"), "water 50 ft");
}

#[test]
fn what_a_label_cannot_say_is_refused_with_the_key() {
    for (more, message) in [
        (
            "spray_volume = [\"2 gal/1000 sq ft\", \"1 gal/1000 sq ft\"]",
            "spray_volume: \"2 gal/1000 sq ft to 1 gal/1000 sq ft\" is not read here; write the lowest",
        ),
        (
            "spray_volume = \"2 lb/1000 sq ft\"",
            "spray_volume: \"2 lb/1000 sq ft\" is not read here",
        ),
        ("rain_free = \"6\"", "rain_free: \"6\" is not read here; write hours, such as \"6 h\""),
        ("temperature = { at_most = \"85\" }", "temperature.at_most: \"85\" is not read here"),
        ("wind = { at_most = \"10\" }", "wind.at_most: \"10\" is not read here; write a speed"),
        (
            "wind = { at_least = \"10 mph\", at_most = \"10 km/h\" }",
            "wind.at_most: \"10 km/h\" is not read here; write a stronger wind than at_least",
        ),
        (
            "temperature = { at_least = \"85 F\", at_most = \"20 C\" }",
            "temperature.at_most: \"20 C\" is not read here; write a higher temperature than at_least",
        ),
        ("epa_registration = \"none\"", "write the numbers behind \"EPA Reg. No.\""),
        ("signal_word = \"poison\"", "write one of: danger, warning, caution, none required"),
        (
            "[limits.max_nitrogen_per_year]\nlimit = \"4 lb/1000 sq ft\"",
            "limits.max_nitrogen_per_year.limit: \"4 lb/1000 sq ft\" is not read here; write it of nitrogen",
        ),
        (
            "[limits.max_active_per_year]\nlimit = \"4 lb N/1000 sq ft\"",
            "write it of active ingredient, such as \"0.5 lb a.i./A\"",
        ),
        (
            "[sources.densty]\nsource = \"x\"",
            "sources: \"densty\" is not read here; write \"density\"",
        ),
    ] {
        let message_given = Product::from_toml(&format!("{BARE}{more}\n")).unwrap_err().to_string();
        assert!(message_given.contains(message), "{message_given}");
    }
}

#[test]
fn what_can_hardly_be_meant_is_doubted_and_not_refused() {
    for (more, doubt) in [
        ("density = \"91 lb/gal\"", "density: 91 lb/gal"),
        ("spray_volume = \"40 gal/1000 sq ft\"", "look whether the label says per acre"),
        ("rain_free = \"6 days\"", "more than three days"),
        ("temperature = { at_most = \"85 C\" }", "whether F or C is meant"),
        (
            "wind = { at_most = \"10 m/s\", gust_at_most = \"30 m/s\" }",
            "wind.gust_at_most: 67.1 mph is a gale",
        ),
        ("label_checked = \"2027-01-01\"", "is still to come"),
        ("label_checked = \"2020-01-01\"", "labels change"),
        (
            "[[active_ingredients]]\nname = \"x\"\ncontent = \"40 lb/gal\"",
            "more than the product can weigh",
        ),
        ("[[active_ingredients]]\nname = \"x\"\ncontent = \"40 %\"", "its density is not given"),
        (
            "[limits]\nmax_per_application = { limit = \"2 fl oz/M\" }\nmax_per_year = { limit = \"1 fl oz/M\" }",
            "in a year is less than",
        ),
    ] {
        let product = Product::from_toml(&format!("{BARE}{more}\n")).unwrap();
        let doubts = product.doubts("2026-06-08");
        assert!(doubts.len() == 1 && doubts[0].contains(doubt), "{more}: {doubts:?}");
    }
}

fn refused_rates(rows: &str) -> String {
    let file = format!(
        "id = \"it\"\nname = \"it\"\nform = \"liquid\"\nlabel_checked = \"2026-05-02\"\n{rows}"
    );
    Product::from_toml(&file).unwrap_err().to_string()
}

#[test]
fn a_range_in_one_text_is_told_as_the_list_that_is_read() {
    for (text, list) in [
        ("0.3-0.5 fl oz/1000 sq ft", "[\"0.3 fl oz/1000 sq ft\", \"0.5 fl oz/1000 sq ft\"]"),
        ("11 to 22 fl oz/A", "[\"11 fl oz/A\", \"22 fl oz/A\"]"),
    ] {
        let row =
            format!("[[rates]]\nspecies = \"tall-fescue\"\nbasis = \"label\"\nrate = {text:?}");
        let told = refused_rates(&row);
        assert!(told.contains("rates[0].rate") && told.ends_with(list), "{told}");
    }
    let told = refused_rates("spray_volume = \"20-40 gal/A\"");
    assert!(told.ends_with("write a range as [\"20 gal/A\", \"40 gal/A\"]"), "{told}");
}

#[test]
fn one_grass_under_two_names_has_one_rate() {
    let rows = |other: &str| {
        format!(
            "rates = [{{ species = \"tall-fescue\", rate = \"0.5 fl oz/M\", basis = \"label\" }},\n\
             {{ species = \"Festuca arundinacea\", rate = {other:?}, basis = \"label\" }}]"
        )
    };
    let told = refused_rates(&rows("0.3 fl oz/M"));
    assert!(told.contains("rates[1].species") && told.contains("says 0.5 fl oz/M"), "{told}");
    let share = refused_rates(&rows("0.25 % v/v"));
    assert!(share.contains("a share of the spray is not read"), "{share}");
}

#[test]
fn shares_that_come_to_more_than_all_are_doubted() {
    for (second, doubted) in [("40 %", false), ("41 %", true)] {
        let product = Product::from_toml(&format!(
            "id = \"two\"\nname = \"two\"\nclass = \"herbicide\"\nform = \"dry soluble\"\n\
             formulation = \"WDG\"\n[[active_ingredients]]\nname = \"x\"\ncontent = \"60 %\"\n\
             [[active_ingredients]]\nname = \"y\"\ncontent = \"{second}\"\n"
        ))
        .unwrap();
        let doubts = product.doubts("2026-06-08");
        let told = doubts.iter().any(|doubt| doubt.contains("more than 100 % together"));
        assert_eq!(told, doubted, "{second}: {doubts:?}");
    }
}

#[test]
fn an_analysis_of_more_than_all_of_it_is_refused() {
    for (n, p2o5, k2o, read) in
        [(50, 30, 20, true), (50, 30, 21, false), (50, 31, 20, false), (51, 30, 20, false)]
    {
        let product = Product::from_toml(&format!(
            "id = \"sum\"\nname = \"sum\"\nclass = \"fertilizer\"\nform = \"granule\"\n\
             formulation = \"granule\"\n[analysis]\nn = {n}\np2o5 = {p2o5}\nk2o = {k2o}\n"
        ));
        assert_eq!(product.is_ok(), read, "{n}-{p2o5}-{k2o}");
    }
}
