//! Other people's tables: a county calls a lawn `LAWN AREA` in a column `LAYER`, and nobody will
//! retype ten thousand rows. A kinds file says what its words mean here; everything that is not
//! asked for stays in the file, owners' names first of all.

mod kinds_file;
#[cfg(test)]
mod tests;
mod values;

use std::borrow::Cow;
use std::collections::{BTreeSet, HashMap};

use serde_json::{Map, Value};
use turfplat_units::{Length, is_near, letters_apart};

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
    from: From,
}

/// Who wrote a rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum From {
    /// Whoever gave the command, in `--kind-from`.
    Command,
    /// A kinds file of theirs.
    File,
    /// The kinds file of this name that is built in.
    BuiltIn(&'static str),
}

#[derive(Clone, Debug, PartialEq)]
enum Source {
    /// The same for every feature.
    Always(Value),
    /// What stands in a column.
    Column(String),
    /// What a column's values mean, by the value in lower case; `*` is any other. The column `*` is
    /// any feature, whatever it says; the value "" is none at all.
    Values { column: String, means: HashMap<String, Meaning> },
}

/// What a value means.
#[derive(Clone, Debug, PartialEq)]
struct Meaning {
    /// The value as the kinds file writes it.
    spelled: String,
    value: Value,
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
        let (name, text) = match name {
            "openstreetmap" => ("openstreetmap", OPENSTREETMAP),
            "nhd" => ("nhd", HYDROGRAPHY),
            _ => return None,
        };
        let mut columns = Columns::read(name, text).ok()?;
        columns.rules.iter_mut().for_each(|rule| rule.from = From::BuiltIn(name));
        Some(columns)
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
                rules.push(Rule { property, source, from: From::File });
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
            let from = From::Command;
            self.rules.insert(0, Rule { property: "kind", source, from });
        }
        self
    }

    /// The same, and what another kinds file says where this one says nothing.
    #[must_use]
    pub fn followed_by(mut self, other: Columns) -> Columns {
        self.rules.extend(other.rules);
        self
    }

    /// The kind that a file is called by, such as `wells.csv` or `beds.shp`. Where a kinds file speaks,
    /// what it does not list is nothing.
    pub(crate) fn kind_of_file(&self, name: &str) -> Option<Kind> {
        let says_kinds = self.all || self.rules.iter().any(|rule| rule.property == "kind");
        Kind::named(stem(name)).filter(|_| !says_kinds)
    }

    /// True where features are known by the name of their file or by a rule for any feature.
    pub(crate) fn can_do_without_a_table(&self, name: &str) -> bool {
        let says_kind = |row: Map<String, Value>| row.contains_key("kind");
        let is_known = || self.settle(Map::new(), false).is_ok_and(says_kind);
        self.all || self.kind_of_file(name).is_some() || is_known()
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
        for rule in &self.rules {
            let says = is_called && rule.property == "kind"
                || settled.contains_key(rule.property)
                || row.iter().any(|(name, value)| same(name, rule.property) && !value.is_null());
            if let (false, Some((column, value))) = (says, rule.source.of_nothing(&row)) {
                if rule.property == "kind" {
                    by = format!("no {column}");
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

    /// Of a row without a kind: the first value that could have one, and what to write for it. Where
    /// there is none, that.
    fn unlisted(&self, row: &Map<String, Value>) -> Option<String> {
        let kinds = || self.rules.iter().filter(|rule| rule.property == "kind");
        let is_blank = |value: &str| value.is_empty() || value == "null";
        let said = |rule: &Rule| {
            let Source::Values { column, means } = &rule.source else { return None };
            let (_, value) = row.iter().find(|(name, _)| same(name, column))?;
            let value = in_words(value).trim().to_owned();
            (!is_blank(&value)).then(|| {
                // One that is there is still to be filled in.
                let known = means.get(&value.to_lowercase());
                let key = known.map_or(value.as_str(), |known| &known.spelled);
                rule.what_to_write(&format!("{column} {}", quoted(&value)), key, known.is_some())
            })
        };
        let nothing = |rule: &Rule| {
            let Source::Values { column, .. } = &rule.source else { return None };
            let is_of_own = matches!(rule.from, From::File) && column != ANY;
            let is_there = is_of_own && row.keys().any(|name| same(name, column));
            is_there.then(|| rule.what_to_write(&format!("an empty {column}"), "", false))
        };
        kinds().find_map(said).or_else(|| kinds().find_map(nothing))
    }

    /// The columns that are asked for, with who asks.
    fn asked(&self) -> impl Iterator<Item = (&str, From)> {
        let asked = self.rules.iter().filter_map(|rule| Some((rule.source.column()?, rule.from)));
        asked.filter(|(column, _)| *column != ANY)
    }

    /// True if a column is one that a rule names.
    pub(crate) fn asks_for(&self, name: &str) -> bool {
        self.asked().any(|(column, _)| same(column, name))
    }

    /// The columns in which something stands for no value at all.
    pub(crate) fn with_a_word_for_nothing(&self) -> impl Iterator<Item = &str> {
        let has_word = |rule: &&Rule| matches!(&rule.source, Source::Values { means, .. } if means.contains_key(""));
        self.rules.iter().filter(has_word).filter_map(|rule| rule.source.column())
    }

    /// The columns of kinds of somebody's own kinds file: a feature without any is told which it lacks.
    pub(crate) fn of_own_kinds(&self) -> impl Iterator<Item = &str> {
        let is_own = |rule: &&Rule| rule.property == "kind" && rule.from == From::File;
        self.rules.iter().filter(is_own).filter_map(|rule| rule.source.column())
    }

    /// Holds the columns that are asked for to those that the maps have.
    ///
    /// # Errors
    ///
    /// [`ColumnsError::NoColumn`] of one of `--kind-from` that no map has, and of one of a kinds file that
    /// no map has while there is another of nearly that name.
    pub fn check_against(&self, maps: &[crate::Source]) -> Result<(), ColumnsError> {
        let names = || maps.iter().flat_map(crate::Source::columns);
        let is_there = |column: &str| names().any(|name| same(name, column));
        for (column, from) in self.asked().filter(|(column, _)| !is_there(column)) {
            let lower = column.trim().to_lowercase();
            let others = names().filter(|name| !self.asks_for(name) && !is_read(name));
            let apart = |name: &str| letters_apart(&lower, &name.trim().to_lowercase());
            let near = others.clone().min_by_key(|name| apart(name));
            let near = near.filter(|name| is_near(apart(name), &lower)).map(str::to_owned);
            let is_refused = match from {
                From::Command => true,
                From::File => near.is_some(),
                From::BuiltIn(_) => false,
            };
            if is_refused {
                let known = listed(others);
                return Err(ColumnsError::NoColumn { column: column.to_owned(), near, known });
            }
        }
        let kinds = self.rules.iter().filter(|rule| rule.property == "kind");
        let columns: Vec<&str> = kinds.filter_map(|rule| rule.source.column()).collect();
        let is_of_file =
            self.rules.iter().any(|rule| rule.property == "kind" && rule.from == From::File);
        let is_known = columns.iter().any(|column| *column == ANY || is_there(column))
            || is_there("kind")
            || maps.iter().any(crate::Source::has_kinds_by_name)
            || names().next().is_none();
        if is_of_file && !is_known {
            let columns = columns.into_iter().map(str::to_owned).collect();
            let known = listed(names().filter(|name| !is_read(name)));
            return Err(ColumnsError::NoColumns { columns, known });
        }
        Ok(())
    }
}

impl Rule {
    /// What to write into the kinds file for a value of its column.
    fn what_to_write(&self, said: &str, key: &str, is_there: bool) -> String {
        let column = self.source.column().unwrap_or_default();
        let is_plain = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
        let table = if column.chars().all(is_plain) { column.to_owned() } else { quoted(column) };
        let line = format!("{} = \"turf\" (or another kind, or \"skip\")", quoted(key));
        match (self.from, is_there) {
            (From::BuiltIn(name), _) => format!(
                "{said} has no kind in {name}, which is built in; write a kinds file of your own with {line} below [kind.{table}], and give both: --kinds FILE --kinds {name}"
            ),
            (_, true) => format!(
                "{said} is not filled in in the kinds file; let its line below [kind.{table}] be {line}"
            ),
            (_, false) => {
                format!("{said} has no kind in the kinds file; write {line} below [kind.{table}]")
            }
        }
    }
}

impl Source {
    /// Of a row with nothing in its column, which it names, what that means.
    fn of_nothing(&self, row: &Map<String, Value>) -> Option<(&str, Value)> {
        let Source::Values { column, means } = self else { return None };
        let meaning = means.get("").filter(|meaning| meaning.value != "")?;
        let (_, value) = row.iter().find(|(name, _)| same(name, column))?;
        let is_nothing = value.is_null() || value.as_str().is_some_and(|it| it.trim().is_empty());
        is_nothing.then(|| (column.as_str(), meaning.value.clone()))
    }

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
            let is_blank = |value: &Value| value.as_str().is_some_and(|it| it.trim().is_empty());
            Some(value).filter(|value| !value.is_null() && !is_blank(value))
        };
        match self {
            Source::Always(value) => Some(value.clone()),
            Source::Column(column) => cell(column).cloned(),
            Source::Values { column, means } if column == ANY => {
                means.get(ANY).map(|meaning| meaning.value.clone())
            }
            Source::Values { column, means } => {
                let value = in_words(cell(column)?).trim().to_lowercase();
                match means.get(&value) {
                    // One that is still to be filled in: nobody knows, and no other column is asked.
                    Some(meaning) if meaning.value == "" => Some(Value::Null),
                    listed => listed.or_else(|| means.get(ANY)).map(|it| it.value.clone()),
                }
            }
        }
    }
}

/// The names of columns in a message: once each, and nobody's of people.
fn listed<'n>(names: impl Iterator<Item = &'n str>) -> Vec<String> {
    const MOST_NAMED: usize = 20;
    let names: BTreeSet<&str> = names.filter(|name| !is_personal(name)).collect();
    names.into_iter().take(MOST_NAMED).map(str::to_owned).collect()
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
