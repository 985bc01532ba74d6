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
