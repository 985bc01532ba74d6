//! What stands in a job file, word for word; [`crate::job`] makes sense of it.

use std::collections::BTreeMap;

use serde::Deserialize;

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct JobFile {
    #[serde(default)]
    pub(crate) site: SiteTable,
    #[serde(default)]
    pub(crate) setbacks: BTreeMap<String, String>,
    #[serde(default)]
    pub(crate) equipment: BTreeMap<String, EquipmentTable>,
    #[serde(default)]
    pub(crate) application: Vec<ApplicationTable>,
    /// The user's own setback rules.
    #[serde(default)]
    pub(crate) rule: Vec<RuleTable>,
    /// By product id: what it is sold in, instead of what its file says.
    #[serde(default)]
    pub(crate) buy: BTreeMap<String, BuyTable>,
    /// What has been put down already, each treatment once; counted towards yearly limits and
    /// intervals.
    #[serde(default)]
    pub(crate) history: Vec<HistoryTable>,
}

/// A row of one's own beside those of the table of setback rules.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RuleTable {
    pub(crate) id: String,
    pub(crate) jurisdiction: Option<String>,
    pub(crate) kind: String,
    pub(crate) activity: Option<String>,
    pub(crate) products: Option<String>,
    /// A distance with its unit, as the two below.
    pub(crate) base: String,
    pub(crate) reduced: Option<String>,
    #[serde(default)]
    pub(crate) reduced_by: Words,
    pub(crate) waived_behind: Option<String>,
    pub(crate) binds: Option<String>,
    pub(crate) measured_from: Option<String>,
    pub(crate) conditions: Option<String>,
    pub(crate) source: Option<String>,
    pub(crate) read: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct BuyTable {
    pub(crate) containers: Vec<ContainerTable>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ContainerTable {
    pub(crate) size: String,
    pub(crate) price: Option<Price>,
}

/// Money is counted in decimals; a bare 39.95 of TOML would be a binary fraction.
#[derive(Debug, Deserialize)]
#[serde(untagged, expecting = "expected a price in quotes, such as \"39.95\"")]
pub(crate) enum Price {
    Whole(u32),
    Text(String),
}

impl Price {
    pub(crate) fn into_text(self) -> String {
        match self {
            Price::Whole(whole) => whole.to_string(),
            Price::Text(text) => text,
        }
    }
}

/// One treatment of the past: a product, and its rate or how much of it went on in all.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct HistoryTable {
    /// The day, such as "2026-05-02"; not after the day of the plan.
    pub(crate) date: Date,
    /// Id from `turfplat products`, or path of a product file.
    pub(crate) product: String,
    /// How much product went on all of its zones together, such as "12 fl oz"; or give rate.
    pub(crate) amount: Option<String>,
    /// How much went on an area, such as "0.5 fl oz/1000 sq ft"; or give amount.
    pub(crate) rate: Option<String>,
    /// The ground that the amount went on, such as "4800 sq ft"; without it what is treated of
    /// these zones today.
    pub(crate) area: Option<String>,
    /// The zone that it went on; or give zones. Without both every zone.
    pub(crate) zone: Option<Words>,
    /// The zones that it went on.
    pub(crate) zones: Option<Words>,
    /// A remark for people.
    pub(crate) note: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SiteTable {
    /// Name of the property, for titles, where the map gives none.
    pub(crate) name: Option<String>,
    pub(crate) default_species: Option<Words>,
    #[serde(default)]
    pub(crate) jurisdiction: Words,
    #[serde(default)]
    pub(crate) hired: bool,
    /// Path of a table of setback rules of one's own.
    pub(crate) rules: Option<String>,
    #[serde(default)]
    pub(crate) species: BTreeMap<String, Words>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct EquipmentTable {
    pub(crate) kind: String,
    pub(crate) tank: Option<String>,
    pub(crate) spray_volume: Option<String>,
    pub(crate) smallest_measure: Option<String>,
    pub(crate) dead_volume: Option<String>,
    pub(crate) plan: Option<String>,
    #[serde(default)]
    pub(crate) reduces: Words,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ApplicationTable {
    pub(crate) name: String,
    pub(crate) equipment: String,
    /// The day on which it is done, such as "2026-06-08"; without it the day of the plan.
    pub(crate) date: Option<Date>,
    pub(crate) zones: Option<Words>,
    /// These two where the application has it otherwise than its equipment.
    pub(crate) dead_volume: Option<String>,
    pub(crate) plan: Option<String>,
    #[serde(default)]
    pub(crate) product: Vec<ProductTable>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ProductTable {
    pub(crate) product: String,
    pub(crate) rate: Option<String>,
    pub(crate) rates: Option<BTreeMap<String, String>>,
    pub(crate) label_checked: Option<Date>,
}

/// One text, or several in an array.
#[derive(Debug, Deserialize)]
#[serde(untagged)]
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

    /// Also parted at commas, as a mixed stand is written.
    pub(crate) fn parted(self) -> Vec<String> {
        let words = self.into_vec();
        let parts = words.iter().flat_map(|word| word.split(','));
        parts.map(|part| part.trim().to_owned()).filter(|part| !part.is_empty()).collect()
    }
}

/// A date as text or as TOML's own date.
#[derive(Debug, Deserialize)]
#[serde(untagged)]
pub(crate) enum Date {
    Text(String),
    Date(toml::value::Datetime),
}

impl Date {
    pub(crate) fn into_text(self) -> String {
        match self {
            Date::Text(text) => text,
            Date::Date(date) => date.to_string(),
        }
    }
}
