//! Why the file has types of its own: here a misspelt key is caught by name and line,
//! before any text is taken for a quantity.

use std::collections::BTreeMap;

use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct File {
    pub(crate) id: String,
    pub(crate) name: String,
    pub(crate) class: String,
    pub(crate) form: String,
    pub(crate) formulation: String,
    #[serde(default)]
    pub(crate) active_ingredients: Vec<IngredientEntry>,
    pub(crate) density: Option<String>,
    pub(crate) analysis: Option<AnalysisEntry>,
    #[serde(default)]
    pub(crate) rates: Vec<RateEntry>,
    #[serde(default)]
    pub(crate) limits: LimitsEntry,
    #[serde(default)]
    pub(crate) setbacks: BTreeMap<String, String>,
    #[serde(default)]
    pub(crate) unfit: Vec<UnfitEntry>,
    #[serde(default)]
    pub(crate) cautions: Vec<CautionEntry>,
    pub(crate) label_checked: Option<String>,
    pub(crate) source: Option<String>,
    pub(crate) status: Option<String>,
    pub(crate) read: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct IngredientEntry {
    pub(crate) name: String,
    pub(crate) content: Option<String>,
}

#[derive(Deserialize)]
#[serde(untagged, expecting = "expected a percentage, such as \"46 %\" or 46")]
pub(crate) enum Percent {
    Number(f64),
    Text(String),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct AnalysisEntry {
    pub(crate) n: Percent,
    pub(crate) p2o5: Percent,
    pub(crate) k2o: Percent,
    pub(crate) soluble_n_share: Option<Percent>,
}

#[derive(Deserialize)]
#[serde(untagged, expecting = "expected a name or a list of names in quotes")]
pub(crate) enum OneOrMore {
    One(String),
    More(Vec<String>),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RateEntry {
    pub(crate) species: OneOrMore,
    pub(crate) rate: Option<String>,
    pub(crate) basis: String,
    pub(crate) r#use: Option<String>,
    pub(crate) interval: Option<String>,
    pub(crate) source: Option<String>,
    pub(crate) status: Option<String>,
    pub(crate) read: Option<String>,
    pub(crate) note: Option<String>,
}

#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct LimitsEntry {
    pub(crate) max_per_application: Option<LimitEntry>,
    pub(crate) max_per_year: Option<LimitEntry>,
    pub(crate) min_interval: Option<LimitEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct LimitEntry {
    pub(crate) limit: String,
    pub(crate) source: Option<String>,
    pub(crate) status: Option<String>,
    pub(crate) read: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct UnfitEntry {
    pub(crate) condition: String,
    pub(crate) because: String,
    pub(crate) basis: String,
    pub(crate) source: Option<String>,
    pub(crate) status: Option<String>,
    pub(crate) read: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CautionEntry {
    pub(crate) text: String,
    pub(crate) source: Option<String>,
    pub(crate) status: Option<String>,
    pub(crate) read: Option<String>,
}
