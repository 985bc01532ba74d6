//! Why a setback rule is a row and not a number: a state keeps 15 ft from water for
//! fertilizer, 10 with a drop spreader, nothing behind a vegetated strip, and only for
//! hired work. What a machine can weigh stands in columns; the rest ("where runoff cannot
//! reach the wellhead") stays text to be read, and never makes a setback smaller.

use std::sync::LazyLock;

use serde::Deserialize;
use turfplat_units::Length;

use crate::equipment::Reduction;
use crate::names::folded;
use crate::product::Product;
use crate::provenance::{Provenance, Status};
use crate::species::listed;

/// The kinds of feature that a setback may be kept from.
pub(crate) const SETBACK_KINDS: [&str; 11] = [
    "water",
    "well",
    "drain",
    "garden",
    "play",
    "apiary",
    "building",
    "hardscape",
    "bed",
    "keepout",
    "veg-strip",
];

/// A setback that a law, a label or this tool asks for, as in `data/setback-rules.csv`.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    /// Its name in the table, such as `me-pest-water`.
    pub id: String,
    /// The id of the place, such as `maine`; `label-…` of a label, `default` of this tool.
    pub jurisdiction: String,
    /// The place in words.
    pub jurisdiction_name: String,
    /// The kind of feature, such as `water`.
    pub kind: String,
    /// What must keep away.
    pub activity: Activity,
    /// Of which products.
    pub products: ProductScope,
    /// How far.
    pub base: Length,
    /// How far with one of the means of `reduced_by`.
    pub reduced: Option<Length>,
    /// Means that reduce it.
    pub reduced_by: Vec<Reduction>,
    /// A natural vegetated strip at least this wide waives it.
    pub waived_behind: Option<Length>,
    /// Who must keep it.
    pub binds: Binds,
    /// From where, in the rule's words.
    pub measured_from: String,
    /// Conditions that are not weighed here and must be read.
    pub conditions: Option<String>,
    /// Who says so.
    pub provenance: Provenance,
    /// True of a rule of the user's.
    pub is_own: bool,
    /// Of a rule of the user's that bears the id of a row of the table: what it stands instead of,
    /// such as `Maryland's 15 ft`.
    pub instead_of: Option<String>,
}

/// What must keep its distance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Activity {
    /// Putting the product down.
    Apply,
    /// Mixing, loading and filling: binds the mix-site, never the lawn.
    Mix,
}

/// Who must keep it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Binds {
    /// Everybody.
    Everyone,
    /// Whoever works for hire.
    Hired,
}

/// Which products a rule speaks of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ProductScope {
    /// Every product.
    Any,
    /// Fertilizers.
    Fertilizer,
    /// What holds phosphorus.
    Phosphorus,
    /// Pesticides in the sense of the law, growth regulators among them.
    Pesticide,
    /// Products with this active ingredient.
    Active(String),
}

impl ProductScope {
    pub(crate) fn read(text: &str) -> Option<ProductScope> {
        Some(match text {
            "any" => Self::Any,
            "fertilizer" => Self::Fertilizer,
            "phosphorus" => Self::Phosphorus,
            "pesticide" => Self::Pesticide,
            _ => Self::Active(text.strip_prefix("active:")?.to_owned()),
        })
    }

    /// Whether it speaks of `product`.
    pub fn covers(&self, product: &Product) -> bool {
        match self {
            Self::Any => true,
            Self::Fertilizer => product.is_fertilizer(),
            Self::Phosphorus => product.has_phosphorus(),
            Self::Pesticide => product.is_pesticide(),
            Self::Active(name) => {
                product.active_ingredients.iter().any(|one| folded(&one.name) == folded(name))
            }
        }
    }
}

impl std::fmt::Display for ProductScope {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Any => f.write_str("any product"),
            Self::Fertilizer => f.write_str("fertilizer"),
            Self::Phosphorus => f.write_str("fertilizer with phosphorus"),
            Self::Pesticide => f.write_str("pesticide or growth regulator"),
            Self::Active(name) => f.write_str(name),
        }
    }
}

impl Rule {
    /// True of a distance that this tool chose.
    pub fn is_default(&self) -> bool {
        self.jurisdiction == DEFAULT
    }

    /// True of what a label says: it speaks wherever its product is used.
    pub fn is_label(&self) -> bool {
        self.jurisdiction.starts_with(LABEL)
    }

    /// `Maine 01-026 CMR ch. 29 s.6 (me-pest-water)`, marked where it is from memory, or
    /// `your own rule instead of Maryland's 15 ft, no source given (md-fert-water)`.
    pub fn citation(&self) -> String {
        if self.is_own {
            let place = match &self.instead_of {
                Some(instead) => format!(" instead of {instead}"),
                None if self.is_anywhere() => String::new(),
                None => format!(" for {}", self.jurisdiction_name),
            };
            let source = match self.provenance.source.as_deref() {
                Some(source) => format!(", {source}"),
                None => ", no source given".to_owned(),
            };
            return format!("your own rule{place}{source} ({})", self.id);
        }
        let source = self.provenance.source.as_deref().unwrap_or("(source not given)");
        let mark = match self.provenance.status {
            Some(Status::Memory) => "; from memory: check it",
            _ => "",
        };
        // A source that names its place is not told it again.
        let place =
            if source.starts_with(&self.jurisdiction_name) { "" } else { &self.jurisdiction_name };
        format!("{place} {source} ({}{mark})", self.id).trim_start().to_owned()
    }
}

pub(crate) const DEFAULT: &str = "default";
pub(crate) const LABEL: &str = "label-";

#[derive(Deserialize)]
struct Row {
    id: String,
    jurisdiction: String,
    jurisdiction_name: String,
    kind: String,
    activity: Activity,
    products: String,
    base_ft: f64,
    reduced_ft: Option<f64>,
    reduced_by: String,
    waived_veg_strip_ft: Option<f64>,
    binds: Binds,
    measured_from: String,
    conditions: String,
    source: String,
    read: String,
    status: String,
}

impl Row {
    fn rule(self) -> Option<Rule> {
        // A length that is there and cannot be read loses the row, not the length.
        let length = |feet: Option<f64>| match feet {
            None => Some(None),
            Some(feet) => Length::from_feet(feet).map(Some),
        };
        Some(Rule {
            products: ProductScope::read(&self.products)?,
            base: Length::from_feet(self.base_ft)?,
            reduced: length(self.reduced_ft)?,
            reduced_by: listed(&self.reduced_by)
                .iter()
                .map(|means| means.parse().ok())
                .collect::<Option<_>>()?,
            waived_behind: length(self.waived_veg_strip_ft)?,
            conditions: (!self.conditions.is_empty()).then_some(self.conditions),
            provenance: Provenance {
                source: Some(self.source),
                status: Some(self.status.parse().ok()?),
                read: Some(self.read),
            },
            id: self.id,
            jurisdiction: self.jurisdiction,
            jurisdiction_name: self.jurisdiction_name,
            kind: self.kind,
            activity: self.activity,
            binds: self.binds,
            measured_from: self.measured_from,
            is_own: false,
            instead_of: None,
        })
    }
}

pub(crate) const RULES_CSV: &str = include_str!("../../../data/setback-rules.csv");

static RULES: LazyLock<Vec<Rule>> = LazyLock::new(|| {
    // A row that cannot be read would be missing; a test counts them.
    csv::Reader::from_reader(RULES_CSV.as_bytes())
        .deserialize()
        .filter_map(|row: Result<Row, csv::Error>| row.ok()?.rule())
        .collect()
});

/// Every rule known here, in the order of the table: of places, of labels, and the defaults.
pub fn rules() -> &'static [Rule] {
    &RULES
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_row_of_the_table_is_lost() {
        assert_eq!(rules().len(), RULES_CSV.trim_end().lines().count() - 1);
    }

    #[test]
    fn a_rule_is_whole() {
        for rule in rules() {
            assert_eq!(rule.reduced.is_some(), !rule.reduced_by.is_empty(), "{}", rule.id);
            assert!(rule.reduced.is_none_or(|reduced| reduced < rule.base), "{}", rule.id);
            assert!(SETBACK_KINDS.contains(&rule.kind.as_str()), "{}", rule.id);
            assert_eq!(
                rule.is_default(),
                rule.provenance.status == Some(Status::Default),
                "{}",
                rule.id
            );
        }
    }
}
