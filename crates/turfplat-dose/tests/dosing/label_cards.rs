//! What the plan repeats of a label, and what it says is missing.

use turfplat_dose::{Product, find_product};
use turfplat_units::UnitSystem;

const STATED: &str = r#"
id = "my-regulator"
name = "my regulator"
class = "growth regulator"
form = "liquid"
rain_free = "6 h"
ppe = ["long sleeves", "waterproof gloves"]
signal_word = "caution"
reentry = "when the spray has dried"
epa_registration = "12345-678"
watering_in = "none within 24 hours"
source = "the label"
[temperature]
at_least = "50 F"
at_most = "85 F"
[wind]
at_least = "3 mph"
at_most = "10 mph"
gust_at_most = "15 mph"
[drift_buffers]
water = "50 ft"
[sources.ppe]
source = "the label, page 3"
"#;

#[test]
fn what_the_product_file_states_is_told_with_its_source() {
    let card = Product::from_toml(STATED).unwrap().label_card(UnitSystem::Us);
    let told: Vec<(String, &str)> =
        card.said.iter().map(|line| (line.sentence(), line.source.as_str())).collect();
    let drift = "drift buffers, downwind: keep 50 ft from water where the wind blows towards it; \
                 this is not a setback, and areas leave it out only where they name the wind of the hour";
    let expected = [
        ("signal word: caution", "the label"),
        ("EPA Reg. No.: 12345-678", "the label"),
        ("what to wear: long sleeves; waterproof gloves", "the label, page 3"),
        ("not when cooler than: 50 °F (10 °C)", "the label"),
        ("not when hotter than: 85 °F (29 °C)", "the label"),
        ("not in less wind than: 3 mph (4.83 km/h)", "the label"),
        ("not in more wind than: 10 mph (16.1 km/h)", "the label"),
        ("not in gusts above: 15 mph (24.1 km/h)", "the label"),
        (drift, "the label"),
        ("time without rain: 6 h", "the label"),
        ("watering in: none within 24 hours", "the label"),
        ("people may go back: when the spray has dried", "the label"),
    ];
    assert_eq!(told, expected.map(|(text, source)| (text.to_owned(), source)));
    assert_eq!(card.not_given, []);
    let metric = Product::from_toml(STATED).unwrap().label_card(UnitSystem::Metric);
    let line = metric.said.iter().find(|line| line.key == "drift_buffers").unwrap();
    assert!(line.text.starts_with("keep 15.2 m from water"), "{}", line.text);
}

#[test]
fn what_is_not_stated_is_named_as_missing() {
    let without = STATED
        .replace("rain_free = \"6 h\"\n", "")
        .replace("[drift_buffers]\nwater = \"50 ft\"\n", "")
        .replace(
            "[wind]\nat_least = \"3 mph\"\nat_most = \"10 mph\"\ngust_at_most = \"15 mph\"\n",
            "",
        );
    let open = |text: &str| -> Vec<&str> {
        let product = Product::from_toml(text).unwrap();
        product.label_card(UnitSystem::Us).not_given.into_iter().map(|(key, _)| key).collect()
    };
    assert_eq!(open(&without), ["rain_free", "wind", "drift_buffers"]);
    let card = find_product("trinexapac-ethyl-1-ec").unwrap().label_card(UnitSystem::Us);
    assert!(card.not_given.contains(&("ppe", "what to wear")), "{card:?}");
    // Of a bag of fertilizer nobody misses a drift buffer.
    let urea = find_product("urea-46-0-0").unwrap().label_card(UnitSystem::Us);
    assert_eq!(urea.not_given, [("ppe", "what to wear")]);
}
