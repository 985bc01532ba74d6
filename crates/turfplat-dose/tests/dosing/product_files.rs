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
fn a_file_that_cannot_be_read_says_what_to_change() {
    for (from, to, message) in [
        (
            "form = \"liquid\"",
            "from = \"liquid\"",
            "product file, line 5: unknown field `from`, expected one of `id`, `name`, `class`, \
             `form`, `formulation`, `active_ingredients`, `density`, `analysis`, `rates`, \
             `limits`, `setbacks`, `unfit`, `cautions`, `label_checked`, `source`, `status`, `read`",
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
             regulator, herbicide, insecticide, fungicide, fertilizer",
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
             write a content, such as \"1 lb/gal\" or \"46 %\"",
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
