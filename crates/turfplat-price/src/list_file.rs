//! What stands in a price list, word for word; [`crate::list`] makes sense of it. Every text carries its
//! place, so that a message can name the line.

use serde::Deserialize;
use toml::Spanned;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ListFile {
    pub(crate) currency: Option<Spanned<String>>,
    pub(crate) per: Option<Spanned<String>>,
    pub(crate) halves: Option<Spanned<String>>,
    pub(crate) total_to: Option<Spanned<Price>>,
    pub(crate) valid_days: Option<Spanned<i64>>,
    pub(crate) minimum_per_visit: Option<Spanned<Price>>,
    #[serde(default)]
    pub(crate) terms: Words,
    #[serde(default)]
    pub(crate) business: BusinessTable,
    pub(crate) travel: Option<Spanned<TravelTable>>,
    pub(crate) labor: Option<LaborTable>,
    pub(crate) prepay: Option<Spanned<PrepayTable>>,
    #[serde(default)]
    pub(crate) tax: Vec<Spanned<TaxTable>>,
    #[serde(default)]
    pub(crate) service: Vec<Spanned<ServiceTable>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, expecting = "a table: [business] on a line, and name = \"…\" below")]
pub(crate) struct BusinessTable {
    pub(crate) name: Option<String>,
    #[serde(default)]
    pub(crate) address: Words,
    #[serde(default)]
    pub(crate) contact: Words,
    pub(crate) license: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table: [travel] on a line, and per_visit = \"8.00\" below"
)]
pub(crate) struct TravelTable {
    pub(crate) per_visit: Option<Spanned<Price>>,
    pub(crate) per_mile: Option<Spanned<Price>>,
    pub(crate) per_km: Option<Spanned<Price>>,
}

#[derive(Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table: [labor] on a line, and per_hour = \"55.00\" below"
)]
pub(crate) struct LaborTable {
    pub(crate) per_hour: Spanned<Price>,
}

#[derive(Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table: [prepay] on a line, and discount = \"5 %\" below"
)]
pub(crate) struct PrepayTable {
    pub(crate) discount: Spanned<Percent>,
    pub(crate) due: Option<Spanned<Day>>,
    pub(crate) due_days: Option<Spanned<i64>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, expecting = "a table: [[tax]] on a line, and name and rate below")]
pub(crate) struct TaxTable {
    pub(crate) name: Spanned<String>,
    pub(crate) rate: Spanned<Percent>,
    pub(crate) on: Option<Names>,
    pub(crate) per: Option<Spanned<String>>,
}

#[derive(Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table: [[service]] on a line, and name and price below"
)]
pub(crate) struct ServiceTable {
    pub(crate) name: Spanned<String>,
    pub(crate) applications: Option<Names>,
    pub(crate) products: Option<Names>,
    pub(crate) basis: Option<Spanned<String>>,
    pub(crate) price: Option<Spanned<Price>>,
    pub(crate) tiers: Option<Spanned<Vec<Spanned<TierTable>>>>,
    pub(crate) tiers_are: Option<Spanned<String>>,
    pub(crate) per_application: Option<Spanned<Price>>,
    pub(crate) product: Option<ProductTable>,
    pub(crate) labor: Option<Spanned<bool>>,
    pub(crate) visits: Option<Spanned<i64>>,
}

#[derive(Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a tier such as { up_to = \"5000 sq ft\", price = \"12.00\" }"
)]
pub(crate) struct TierTable {
    pub(crate) up_to: Option<Spanned<String>>,
    pub(crate) price: Spanned<Price>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, expecting = "a table such as { by = \"share\" }")]
pub(crate) struct ProductTable {
    pub(crate) by: Option<Spanned<String>>,
    pub(crate) margin: Option<Spanned<Percent>>,
}

/// Several texts, each with its place.
pub(crate) type Names = Spanned<Vec<Spanned<String>>>;

/// Money is counted in decimals; a bare 39.95 of TOML would be a binary fraction.
#[derive(Debug, Deserialize)]
#[serde(untagged, expecting = "expected a price in quotes, such as \"12.50\"")]
pub(crate) enum Price {
    Whole(u32),
    Text(String),
}

/// As money: a bare 8.25 would be a binary fraction.
#[derive(Debug, Deserialize)]
#[serde(untagged, expecting = "expected a percentage in quotes, such as \"8.25 %\"")]
pub(crate) enum Percent {
    Text(String),
}

/// A day as text or as TOML's own.
#[derive(Debug, Deserialize)]
#[serde(untagged, expecting = "expected a day in quotes, such as \"2026-05-02\"")]
pub(crate) enum Day {
    Text(String),
    Date(toml::value::Datetime),
}

/// One text, or several in an array.
#[derive(Debug, Deserialize)]
#[serde(untagged, expecting = "expected a text or an array of texts")]
pub(crate) enum Words {
    One(String),
    Several(Vec<String>),
}

impl Default for Words {
    fn default() -> Words {
        Words::Several(Vec::new())
    }
}

impl Words {
    pub(crate) fn into_vec(self) -> Vec<String> {
        match self {
            Words::One(word) => vec![word],
            Words::Several(words) => words,
        }
    }
}

/// The text of a value that may be written in two ways.
pub(crate) trait Written {
    fn written(&self) -> String;
}

impl Written for Price {
    fn written(&self) -> String {
        match self {
            Price::Whole(whole) => whole.to_string(),
            Price::Text(text) => text.clone(),
        }
    }
}

impl Written for Percent {
    fn written(&self) -> String {
        let Percent::Text(text) = self;
        text.clone()
    }
}

impl Written for Day {
    fn written(&self) -> String {
        match self {
            Day::Text(text) => text.clone(),
            Day::Date(day) => day.to_string(),
        }
    }
}
