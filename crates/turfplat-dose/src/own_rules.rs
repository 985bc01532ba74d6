//! Why a user's own rules stand beside those of the table: a town, a lake association or a label
//! keeps distances that nobody listed here, and laws change after the day on which they were read. So
//! a row of one's own speaks like any other, and one that bears the id of a row of the table takes
//! its place.

use serde::Deserialize;
use turfplat_units::{Length, UnitSystem};

use crate::equipment::Reduction;
use crate::error::DoseError;
use crate::names::{close, folded};
use crate::provenance::Provenance;
use crate::published::advising_places;
use crate::rules::{Activity, Binds, DEFAULT, LABEL, ProductScope, Rule, SETBACK_KINDS, rules};
use crate::species::listed;

/// The place of a row that binds wherever its user works.
const ANYWHERE: &str = "own";

/// The rules that bear on a job: those of the table, and the user's own.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RuleSet {
    own: Vec<Rule>,
}

/// A setback rule as its user writes it.
#[derive(Clone, Debug, Default)]
#[allow(missing_docs)] // As in `Rule`; the keys of jobs and the columns of tables bear these names.
pub struct RuleText {
    pub id: String,
    pub jurisdiction: Option<String>,
    pub kind: String,
    pub activity: Option<String>,
    pub products: Option<String>,
    pub base: String,
    pub reduced: Option<String>,
    pub reduced_by: Vec<String>,
    pub waived_behind: Option<String>,
    pub binds: Option<String>,
    pub measured_from: Option<String>,
    pub conditions: Option<String>,
    pub source: Option<String>,
    pub read: Option<String>,
}

impl RuleSet {
    /// Adds a rule of the user's.
    ///
    /// # Errors
    ///
    /// [`DoseError::RuleValue`] with the key and what to write, [`DoseError::RuleTwice`].
    pub fn add(&mut self, text: RuleText) -> Result<(), DoseError> {
        let rule = text.rule()?;
        if self.own.iter().any(|own| folded(&own.id) == folded(&rule.id)) {
            return Err(DoseError::RuleTwice { rule: rule.id });
        }
        self.own.push(rule);
        Ok(())
    }

    /// Adds the rows of a table with the columns of `data/setback-rules.csv`, of which `id`, `kind`
    /// and `base_ft` are needed.
    ///
    /// # Errors
    ///
    /// [`DoseError::RuleTable`] with the line, and as [`RuleSet::add`].
    pub fn add_table(&mut self, text: &str) -> Result<(), DoseError> {
        let told = |error: csv::Error| DoseError::RuleTable {
            line: error.position().map_or(1, csv::Position::line),
            reason: match error.kind() {
                csv::ErrorKind::UnequalLengths { expected_len, len, .. } => format!(
                    "{len} cells, and the header has {expected_len}; put cells with commas in quotes"
                ),
                csv::ErrorKind::Deserialize { err, .. } => err.kind().to_string(),
                _ => error.to_string(),
            },
        };
        let mut reader =
            csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
        let header = reader.headers().map_err(told)?.clone();
        for needed in ["id", "kind", "base_ft"] {
            if !header.iter().any(|name| name == needed) {
                let reason =
                    format!("no column {needed:?}; the columns are: {}", COLUMNS.join(", "));
                return Err(DoseError::RuleTable { line: 1, reason });
            }
        }
        if let Some(unknown) = header.iter().find(|name| !COLUMNS.contains(name)) {
            let near = close(unknown, COLUMNS);
            let reason = match near.first() {
                Some(near) => format!("unknown column {unknown:?}; did you mean {near:?}?"),
                None => {
                    format!("unknown column {unknown:?}; the columns are: {}", COLUMNS.join(", "))
                }
            };
            return Err(DoseError::RuleTable { line: 1, reason });
        }
        for row in reader.deserialize() {
            let row: OwnRow = row.map_err(told)?;
            self.add(row.text())?;
        }
        Ok(())
    }

    /// The user's own.
    pub fn own(&self) -> &[Rule] {
        &self.own
    }

    /// All that bear on the job: of the table those that no own rule replaces, then the own.
    pub fn all(&self) -> impl Iterator<Item = &Rule> {
        let replaced = |rule: &&Rule| self.own.iter().any(|own| own.id == rule.id);
        rules().iter().filter(move |rule| !replaced(rule)).chain(&self.own)
    }

    /// Ids and names of the places whose rules can be chosen.
    pub fn places(&self) -> Vec<(&str, &str)> {
        let mut places: Vec<(&str, &str)> = Vec::new();
        let of_places =
            |rule: &&Rule| !rule.is_default() && !rule.is_label() && !rule.is_anywhere();
        for rule in self.all().filter(of_places) {
            if places.iter().all(|(id, _)| *id != rule.jurisdiction) {
                places.push((&rule.jurisdiction, &rule.jurisdiction_name));
            }
        }
        // Some places only advise, and have no rule on distance here.
        for (id, name) in advising_places() {
            if places.iter().all(|(known, _)| *known != id) {
                places.push((id, name));
            }
        }
        places
    }
}

impl Rule {
    /// True of a user's own rule that names no place: it speaks in every job that has it.
    pub fn is_anywhere(&self) -> bool {
        self.jurisdiction == ANYWHERE
    }
}

impl RuleText {
    fn rule(self) -> Result<Rule, DoseError> {
        let id = self.id.trim().to_owned();
        let wrong = |key, text: &str, write: String| DoseError::RuleValue {
            rule: if id.is_empty() { "without id".to_owned() } else { id.clone() },
            key,
            text: text.to_owned(),
            write,
        };
        if id.is_empty() {
            return Err(wrong("id", "", "a name of its own, such as \"town-pond\"".into()));
        }
        let length = |key, text: &str| {
            text.parse::<Length>().map_err(|error| {
                wrong(key, text, format!("a distance, such as \"30 ft\" ({error})"))
            })
        };
        let optional = |key, text: &Option<String>| match text {
            Some(text) if !text.trim().is_empty() => length(key, text).map(Some),
            _ => Ok(None),
        };
        if !SETBACK_KINDS.contains(&self.kind.as_str()) {
            return Err(wrong("kind", &self.kind, format!("one of: {}", SETBACK_KINDS.join(", "))));
        }
        let activity = match self.activity.as_deref().map(str::trim) {
            None | Some("" | "apply") => Activity::Apply,
            Some("mix") => Activity::Mix,
            Some(other) => return Err(wrong("activity", other, "apply or mix".into())),
        };
        let binds = match self.binds.as_deref().map(str::trim) {
            None | Some("" | "everyone") => Binds::Everyone,
            Some("hired") => Binds::Hired,
            Some(other) => return Err(wrong("binds", other, "everyone or hired".into())),
        };
        let scope = self.products.as_deref().map(str::trim).filter(|text| !text.is_empty());
        let products = match scope {
            None => ProductScope::Any,
            Some(text) => ProductScope::read(text).ok_or_else(|| {
                let write = "any, fertilizer, phosphorus, pesticide or active:NAME";
                wrong("products", text, write.into())
            })?,
        };
        let base = length("base", &self.base)?;
        let reduced = optional("reduced", &self.reduced)?;
        let reduced_by = self
            .reduced_by
            .iter()
            .map(|means| {
                let write = || format!("one of: {}", Reduction::KNOWN);
                means.parse().map_err(|()| wrong("reduced_by", means, write()))
            })
            .collect::<Result<Vec<Reduction>, _>>()?;
        if reduced.is_some() == reduced_by.is_empty() {
            let write = "both reduced and reduced_by, or neither: how far, and with what equipment";
            let text = self.reduced.as_deref().unwrap_or("").to_owned();
            return Err(wrong("reduced", &text, write.into()));
        }
        if reduced.is_some_and(|reduced| reduced >= base) {
            let text = self.reduced.unwrap_or_default();
            return Err(wrong("reduced", &text, format!("less than the base of {}", self.base)));
        }
        let waived_behind = optional("waived_behind", &self.waived_behind)?;
        let of_table = rules().iter().find(|rule| rule.id == id);
        let (jurisdiction, jurisdiction_name) = match (self.jurisdiction, of_table) {
            (Some(text), _) if !text.trim().is_empty() => place(&text).ok_or_else(|| {
                wrong("jurisdiction", &text, "the name of a place, or leave it out".into())
            })?,
            // A row of the table that is replaced stays where it is.
            (_, Some(rule)) => (rule.jurisdiction.clone(), rule.jurisdiction_name.clone()),
            (_, None) => (ANYWHERE.to_owned(), "your own rule".to_owned()),
        };
        let instead_of = of_table.map(|rule| {
            let whose = match () {
                () if rule.is_default() => "this tool's default of".to_owned(),
                () if rule.is_label() => "the label's".to_owned(),
                () => format!("{}'s", rule.jurisdiction_name),
            };
            format!("{whose} {}", rule.base.print(UnitSystem::Us))
        });
        Ok(Rule {
            is_own: true,
            instead_of,
            id,
            jurisdiction,
            jurisdiction_name,
            kind: self.kind,
            activity,
            products,
            base,
            reduced,
            reduced_by,
            waived_behind,
            binds,
            measured_from: self.measured_from.unwrap_or_default(),
            conditions: self.conditions.filter(|text| !text.is_empty()),
            provenance: Provenance {
                source: self.source.filter(|text| !text.is_empty()),
                status: None,
                read: self.read.filter(|text| !text.is_empty()),
            },
        })
    }
}

/// Id and name of the place: one of the table by either, else a new one.
fn place(text: &str) -> Option<(String, String)> {
    let wanted = folded(text);
    let known = rules().iter().filter(|rule| !rule.is_default() && !rule.is_label()).find(|rule| {
        folded(&rule.jurisdiction) == wanted || folded(&rule.jurisdiction_name) == wanted
    });
    if let Some(rule) = known {
        return Some((rule.jurisdiction.clone(), rule.jurisdiction_name.clone()));
    }
    let id: String = text.trim().to_lowercase().split_whitespace().collect::<Vec<_>>().join("-");
    let taken = [DEFAULT, ANYWHERE].contains(&id.as_str()) || id.starts_with(LABEL);
    (!wanted.is_empty() && !taken).then(|| (id, text.trim().to_owned()))
}

const COLUMNS: [&str; 17] = [
    "id",
    "jurisdiction",
    "jurisdiction_name",
    "kind",
    "activity",
    "products",
    "base_ft",
    "reduced_ft",
    "reduced_by",
    "waived_veg_strip_ft",
    "binds",
    "measured_from",
    "conditions",
    "source",
    "read",
    "status",
    "note",
];

#[derive(Deserialize)]
struct OwnRow {
    id: String,
    jurisdiction: Option<String>,
    kind: String,
    activity: Option<String>,
    products: Option<String>,
    base_ft: String,
    reduced_ft: Option<String>,
    reduced_by: Option<String>,
    waived_veg_strip_ft: Option<String>,
    binds: Option<String>,
    measured_from: Option<String>,
    conditions: Option<String>,
    source: Option<String>,
    read: Option<String>,
}

impl OwnRow {
    fn text(self) -> RuleText {
        let feet = |text: String| if text.trim().is_empty() { text } else { format!("{text} ft") };
        RuleText {
            id: self.id,
            jurisdiction: self.jurisdiction,
            kind: self.kind,
            activity: self.activity,
            products: self.products,
            base: feet(self.base_ft),
            reduced: self.reduced_ft.map(feet),
            reduced_by: listed(&self.reduced_by.unwrap_or_default()),
            waived_behind: self.waived_veg_strip_ft.map(feet),
            binds: self.binds,
            measured_from: self.measured_from,
            conditions: self.conditions,
            source: self.source,
            read: self.read,
        }
    }
}
