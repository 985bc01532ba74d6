//! Other people's tables: a county calls a lawn `LAWN AREA` in a column `LAYER`, and nobody will
//! retype ten thousand rows. A kinds file says what its words mean here; everything that is not
//! asked for stays in the file, owners' names first of all.

mod kinds_file;
#[cfg(test)]
mod tests;
mod values;

use std::borrow::Cow;
use std::collections::HashMap;

use serde_json::{Map, Value};
use turfplat_units::Length;

use crate::attribute_names::{Known, READ, in_any_case, is_read};
use crate::kind::Kind;
pub use kinds_file::ColumnsError;
use kinds_file::sources;
pub use values::Values;
pub(crate) use values::is_personal;

/// Which columns of a table are read, and as what.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Columns {
    rules: Vec<Rule>,
    /// True where every column is kept, to see what there is.
    all: bool,
}

/// Where one property of a feature comes from.
#[derive(Clone, Debug, PartialEq)]
struct Rule {
    /// A name that is read, such as `kind`.
    property: &'static str,
    source: Source,
}

#[derive(Clone, Debug, PartialEq)]
enum Source {
    /// The same for every feature.
    Always(Value),
    /// What stands in a column.
    Column(String),
    /// What a column's values mean, by the value in lower case; `*` is any other. The column `*` is
    /// any feature, whatever it says.
    Values { column: String, means: HashMap<String, Value> },
}

/// A feature of this kind is passed over.
const SKIP: &str = "skip";
/// Stands for any value that is not listed.
const ANY: &str = "*";

/// A kinds file for the tags of OpenStreetMap.
const OPENSTREETMAP: &str = include_str!("../../../data/kinds/openstreetmap.toml");
/// A kinds file for the National Hydrography Dataset.
const HYDROGRAPHY: &str = include_str!("../../../data/kinds/nhd.toml");

impl Columns {
    /// The names of the kinds files that are built in.
    pub const BUILT_IN: [&str; 2] = ["openstreetmap", "nhd"];

    /// A kinds file that is built in, by its name.
    pub fn built_in(name: &str) -> Option<Columns> {
        let text = match name {
            "openstreetmap" => OPENSTREETMAP,
            "nhd" => HYDROGRAPHY,
            _ => return None,
        };
        Columns::read(name, text).ok()
    }

    /// Reads a kinds file (TOML).
    ///
    /// # Errors
    ///
    /// [`ColumnsError`] with the file's name and the place.
    pub fn read(file: &str, text: &str) -> Result<Columns, ColumnsError> {
        let not_toml = |error: toml::de::Error| {
            let line = error.span().map(|span| text[..span.start.min(text.len())].lines().count());
            let place = line.map_or_else(String::new, |line| format!("line {}: ", line.max(1)));
            let reason = format!("{place}not TOML: {}", error.message());
            ColumnsError::NotToml { file: file.to_owned(), reason }
        };
        let table: toml::Table = text.parse().map_err(not_toml)?;
        let mut rules = Vec::new();
        for (name, source) in &table {
            let property = READ.iter().copied().find(|known| known == name).ok_or_else(|| {
                ColumnsError::UnknownProperty { file: file.to_owned(), property: name.clone() }
            })?;
            for source in sources(file, property, source)? {
                rules.push(Rule { property, source });
            }
        }
        Ok(Columns { rules, all: false })
    }

    /// The same, with the kind from a column whose values are kinds already, unless a table says what
    /// they mean.
    #[must_use]
    pub fn with_kind_from(mut self, column: &str) -> Columns {
        let is_told = |rule: &Rule| matches!(&rule.source, Source::Values { column: known, .. } if same(known, column));
        if !self.rules.iter().any(|rule| rule.property == "kind" && is_told(rule)) {
            let source = Source::Column(column.to_owned());
            self.rules.insert(0, Rule { property: "kind", source });
        }
        self
    }

    /// The kind that a file is called by, such as `wells.csv` or `beds.shp`. Where a kinds file speaks,
    /// what it does not list is nothing.
    pub(crate) fn kind_of_file(&self, name: &str) -> Option<Kind> {
        let says_kinds = self.all || self.rules.iter().any(|rule| rule.property == "kind");
        Kind::named(stem(name)).filter(|_| !says_kinds)
    }

    /// Every column as it is, to see what there is.
    pub fn all() -> Columns {
        Columns { rules: Vec::new(), all: true }
    }

    /// True if nothing but the properties of a map is read.
    pub fn is_plain(&self) -> bool {
        self.rules.is_empty() && !self.all
    }

    /// True if a column is to be carried over.
    pub(crate) fn keeps(&self, name: &str) -> bool {
        self.all || is_read(name) || self.rules.iter().any(|rule| rule.source.is_of(name))
    }

    /// Turns what stands in a table into the properties of a feature; of one to be passed over, by what
    /// value. `is_called` is true of a feature whose layer's or folder's name stands for a kind.
    pub(crate) fn settle(
        &self,
        mut row: Map<String, Value>,
        is_called: bool,
    ) -> Result<Map<String, Value>, String> {
        if self.all || self.rules.is_empty() {
            return Ok(row);
        }
        let mut by = String::new();
        let mut settled = Map::new();
        for rule in &self.rules {
            // What holds for any feature holds for those that say nothing themselves.
            let says = || {
                is_called && rule.property == "kind"
                    || row.iter().any(|(name, value)| same(name, rule.property) && !value.is_null())
            };
            let is_settled = settled.contains_key(rule.property);
            if !is_settled
                && (!rule.source.is_of(ANY) || !says())
                && let Some(value) = rule.source.value(&row)
            {
                if rule.property == "kind" {
                    by = self.in_words(&rule.source, &row);
                }
                settled.insert(rule.property.to_owned(), measured(rule.property, value));
            }
        }
        if settled.get("kind").and_then(Value::as_str) == Some(SKIP) {
            return Err(by);
        }
        let kind = settled.get("kind").or_else(|| row.get("kind"));
        if kind.is_none_or(Value::is_null)
            && let Some(said) = self.unlisted(&row)
        {
            settled.insert(Known::Unlisted.name().to_owned(), said.into());
        }
        // What a rule has read is not read once more under a name that is nearly right.
        let is_asked = |name: &str| self.rules.iter().any(|rule| rule.source.is_of(name));
        let is_settled = |name: &str| in_any_case(name).is_some_and(|it| settled.contains_key(it));
        row.retain(|name, _| {
            READ.contains(&name.as_str())
                || name == Known::Incomplete.name()
                || name == Known::Cure.name()
                || (is_read(name) && !is_asked(name) && !is_settled(name))
        });
        row.extend(settled);
        Ok(row)
    }
}

impl Columns {
    /// By which column and value a row has its kind. Of one that has it for want of another, what
    /// stands in the first column that could have said more.
    fn in_words(&self, source: &Source, row: &Map<String, Value>) -> String {
        let said = |column: &str| {
            let (name, value) = row.iter().find(|(name, _)| same(name, column))?;
            let value = in_words(value);
            let value = value.trim();
            (!value.is_empty() && value != "null").then(|| format!("{name}={value}"))
        };
        let own = source.column().filter(|column| *column != ANY);
        let kinds = self.rules.iter().filter(|rule| rule.property == "kind");
        let mut columns = own.into_iter().chain(kinds.filter_map(|rule| rule.source.column()));
        columns.find_map(said).unwrap_or_else(|| "no column that is listed".to_owned())
    }

    /// Of a row without a kind: the first value that could have one, and what to write for it.
    fn unlisted(&self, row: &Map<String, Value>) -> Option<String> {
        let kinds = self.rules.iter().filter(|rule| rule.property == "kind");
        kinds.map(|rule| &rule.source).find_map(|source| {
            let Source::Values { column, .. } = source else { return None };
            let (_, value) = row.iter().find(|(name, _)| same(name, column))?;
            let value = in_words(value);
            let value = value.trim();
            if value.is_empty() || value == "null" {
                return None;
            }
            let (said, key) = (quoted(value), quoted(&value.to_lowercase()));
            let is_plain = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
            let table = if column.chars().all(is_plain) { column.clone() } else { quoted(column) };
            Some(format!(
                "{column} {said} has no kind in the kinds file; write {key} = \"turf\" (or another kind, or \"skip\") below [kind.{table}]"
            ))
        })
    }
}

impl Source {
    fn column(&self) -> Option<&str> {
        match self {
            Source::Always(_) => None,
            Source::Column(column) | Source::Values { column, .. } => Some(column),
        }
    }

    fn is_of(&self, name: &str) -> bool {
        match self {
            Source::Always(_) => false,
            Source::Column(column) | Source::Values { column, .. } => same(column, name),
        }
    }

    fn value(&self, row: &Map<String, Value>) -> Option<Value> {
        let cell = |column: &str| {
            let (_, value) = row.iter().find(|(name, _)| same(name, column))?;
            Some(value).filter(|value| !value.is_null() && *value != "")
        };
        match self {
            Source::Always(value) => Some(value.clone()),
            Source::Column(column) => cell(column).cloned(),
            Source::Values { column, means } if column == ANY => means.get(ANY).cloned(),
            Source::Values { column, means } => {
                let value = in_words(cell(column)?).trim().to_lowercase();
                match means.get(&value) {
                    // One that is still to be filled in: nobody knows, and no other column is asked.
                    Some(meaning) if *meaning == "" => Some(Value::Null),
                    listed => listed.or_else(|| means.get(ANY)).cloned(),
                }
            }
        }
    }
}

/// A length with a unit, as people write widths, in the unit of its property.
fn measured(property: &str, value: Value) -> Value {
    let text = value.as_str().filter(|text| text.trim().parse::<f64>().is_err());
    let length = text.and_then(|text| text.parse::<Length>().ok());
    match (length, property.ends_with("_m"), property.ends_with("_ft")) {
        (Some(length), true, _) => length.metres().into(),
        (Some(length), _, true) => length.feet().into(),
        _ => value,
    }
}

/// What a file is called without folders and ending; of one in an archive the name is
/// `lots.zip (beds.shp)`.
pub(crate) fn stem(name: &str) -> &str {
    let file = name.trim_end_matches(')').rsplit(['/', '\\', '(']).next().unwrap_or(name);
    file.rsplit_once('.').map_or(file, |(stem, _)| stem)
}

/// Column names are compared as people write them.
fn same(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}

/// A cell as a person would write it: 390 and not 390.0.
fn in_words(value: &Value) -> Cow<'_, str> {
    match value {
        Value::String(text) => text.as_str().into(),
        Value::Number(number) => match number.as_f64() {
            Some(whole) if whole.fract() == 0.0 && whole.abs() < 1e15 => {
                format!("{whole:.0}").into()
            }
            _ => number.to_string().into(),
        },
        other => other.to_string().into(),
    }
}

fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}
