//! Why the label's own words stand in a block: rain, wind, clothes and re-entry bind on the day, and
//! general cautions must not be read in their place.

use turfplat::ApplicationPlan;
use turfplat::dose::{LabelCard, Product};
use turfplat::units::UnitSystem;

/// What the product files say and leave open, product by product.
pub(crate) fn told(application: &ApplicationPlan<'_>, units: UnitSystem) -> String {
    of_products(&application.products, units)
}

/// What the product files say of the day, and what they leave open.
pub(crate) fn of_products(products: &[&Product], units: UnitSystem) -> String {
    let cards = products.iter().map(|product| product.label_card(units));
    cards.map(|card| block(&card)).collect()
}

fn block(card: &LabelCard) -> String {
    let mut text = String::new();
    if !card.said.is_empty() {
        text.push_str(&format!("From the label of {}\n", card.name));
    }
    for line in &card.said {
        text.push_str(&format!("  {} ({})\n", line.sentence(), line.source));
    }
    if !card.not_given.is_empty() {
        text.push_str(&format!(
            "Not in the product file of {}; read the label: {}.\n",
            card.name,
            open(card)
        ));
    }
    text
}

fn open(card: &LabelCard) -> String {
    card.not_given.iter().map(|(_, what)| *what).collect::<Vec<_>>().join("; ")
}

/// All of it in one cell.
pub(crate) fn in_a_cell(product: &Product, units: UnitSystem) -> String {
    let card = product.label_card(units);
    let mut parts: Vec<String> = card.said.iter().map(|line| line.sentence()).collect();
    if !card.not_given.is_empty() {
        parts.push(format!("not in the product file: {}", open(&card)));
    }
    parts.join(" | ")
}
