//! Other people's tables: a county calls a lawn `LAWN AREA` in a column `LAYER`, and nobody will
//! retype ten thousand rows. A kinds file says what its words mean here; everything that is not
//! asked for stays in the file, owners' names first of all.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};

use serde_json::{Map, Value};
use turfplat_units::Length;

use crate::attribute_names::{Known, READ, in_any_case, is_read};
use crate::kind::Kind;

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

/// Why a kinds file cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum ColumnsError {
    /// Not TOML.
    #[error("{file}: {reason}")]
    NotToml { file: String, reason: String },

    /// A property that is not read.
    #[error("{file}: {property:?} is no property of a map; use one of: {}", READ.join(", "))]
    UnknownProperty { file: String, property: String },

    /// A kind that there is not.
    #[error("{file}: {column} {value:?} is to be {kind:?}, which is no kind; use \"skip\" or one of: {}", Kind::ALL.map(Kind::name).join(", "))]
    UnknownKind { file: String, column: String, value: String, kind: String },

    /// Two spellings of one value, which are told apart by nobody.
    #[error(
        "{file}: {column} {value:?} stands there twice, in other letters, with another meaning; keep one"
    )]
    Contradiction { file: String, column: String, value: String },

    /// Something else than a column, a table of values or a constant.
    #[error(
        "{file}: {property} must be a column's name, a number for every feature, or tables such as [{property}.COLUMN] with value = meaning"
    )]
    NoSource { file: String, property: String },
}

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

    /// The same for a file without a column of kinds, which is called by one, such as `wells.csv` or
    /// `beds.shp`. Where a kinds file speaks, what it does not list is nothing.
    pub(crate) fn for_file(&self, name: &str) -> Columns {
        let mut columns = self.clone();
        // Of one in an archive the name is `lots.zip (beds.shp)`.
        let file = name.trim_end_matches(')').rsplit(['/', '\\', '(']).next().unwrap_or(name);
        let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
        let says_kinds = columns.all || columns.rules.iter().any(|rule| rule.property == "kind");
        if let (Some(kind), false) = (Kind::named(stem), says_kinds) {
            let means = HashMap::from([(ANY.to_owned(), Value::from(kind.name()))]);
            let source = Source::Values { column: ANY.to_owned(), means };
            columns.rules.push(Rule { property: "kind", source });
        }
        columns
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
    /// value.
    pub(crate) fn settle(&self, mut row: Map<String, Value>) -> Result<Map<String, Value>, String> {
        if self.all || self.rules.is_empty() {
            return Ok(row);
        }
        let mut by = String::new();
        let mut settled = Map::new();
        for rule in &self.rules {
            // What holds for any feature holds for those that say nothing themselves.
            let says =
                || row.iter().any(|(name, value)| same(name, rule.property) && !value.is_null());
            let is_settled = settled.contains_key(rule.property);
            if !is_settled
                && (!rule.source.is_of(ANY) || !says())
                && let Some(value) = rule.source.value(&row)
            {
                if rule.property == "kind" {
                    by = rule.source.in_words(&row);
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
                || (is_read(name) && !is_asked(name) && !is_settled(name))
        });
        row.extend(settled);
        Ok(row)
    }
}

impl Columns {
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
    fn is_of(&self, name: &str) -> bool {
        match self {
            Source::Always(_) => false,
            Source::Column(column) | Source::Values { column, .. } => same(column, name),
        }
    }

    /// The column and its value in a row.
    fn in_words(&self, row: &Map<String, Value>) -> String {
        match self {
            Source::Column(column) | Source::Values { column, .. } if column != ANY => {
                let cell = row.iter().find(|(name, _)| same(name, column)).map(|(_, value)| value);
                format!("{column} {}", in_words(cell.unwrap_or(&Value::Null)))
            }
            _ => "no column that is listed".to_owned(),
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

/// What a kinds file says of one property.
fn sources(
    file: &str,
    property: &'static str,
    said: &toml::Value,
) -> Result<Vec<Source>, ColumnsError> {
    let no_source =
        || ColumnsError::NoSource { file: file.to_owned(), property: property.to_owned() };
    match said {
        toml::Value::String(column) => Ok(vec![Source::Column(column.clone())]),
        toml::Value::Integer(number) => Ok(vec![Source::Always((*number).into())]),
        toml::Value::Float(number) => Ok(vec![Source::Always((*number).into())]),
        toml::Value::Table(columns) => columns
            .iter()
            .map(|(column, values)| {
                let values = values.as_table().ok_or_else(no_source)?;
                let mut means = HashMap::new();
                for (value, meaning) in values {
                    let meaning = meaning_of(meaning).ok_or_else(no_source)?;
                    check_kind(file, property, column, value, &meaning)?;
                    let known = means.insert(value.trim().to_lowercase(), meaning.clone());
                    if known.is_some_and(|known| known != meaning) {
                        let (file, column) = (file.to_owned(), column.clone());
                        let value = value.clone();
                        return Err(ColumnsError::Contradiction { file, column, value });
                    }
                }
                Ok(Source::Values { column: column.clone(), means })
            })
            .collect(),
        _ => Err(no_source()),
    }
}

fn meaning_of(said: &toml::Value) -> Option<Value> {
    match said {
        toml::Value::String(text) => Some(text.as_str().into()),
        toml::Value::Integer(number) => Some((*number).into()),
        toml::Value::Float(number) => Some((*number).into()),
        _ => None,
    }
}

fn check_kind(
    file: &str,
    property: &str,
    column: &str,
    value: &str,
    meaning: &Value,
) -> Result<(), ColumnsError> {
    let kind = meaning.as_str().unwrap_or_default();
    // A value that is still to be filled in is as good as not listed: the feature will be refused.
    if property != "kind" || kind == SKIP || kind.is_empty() || kind.parse::<Kind>().is_ok() {
        return Ok(());
    }
    Err(ColumnsError::UnknownKind {
        file: file.to_owned(),
        column: column.to_owned(),
        value: value.to_owned(),
        kind: kind.to_owned(),
    })
}

/// The values of a table's columns, for a person who has to say what they mean.
#[derive(Clone, Debug, Default)]
pub struct Values {
    /// By column, in the order of their names, and by value in small letters: how it is written first,
    /// and how many features have it.
    columns: BTreeMap<String, BTreeMap<String, (String, u64)>>,
    features: u64,
}

/// A column with more values than this says what each feature is called, not what it is.
const MOST_VALUES: usize = 60;

/// Parts of the names of columns that hold people: their values are not even listed.
const PERSONAL: [&str; 14] = [
    "owner",
    "own_",
    "contact",
    "phone",
    "mail",
    "addr",
    "street",
    "person",
    "first",
    "last",
    "surname",
    "buyer",
    "tenant",
    "applicant",
];

/// True of a column that may say what features are: neither people, nor what is read anyway, nor a number of
/// the row.
fn may_say_what(column: &str) -> bool {
    const NUMBERS: [&str; 9] =
        ["id", "fid", "gid", "oid", "ogc_fid", "objectid", "osm_id", "@id", "left_as_area"];
    let plain = column.to_lowercase();
    let is_read = plain != "kind" && READ.contains(&plain.as_str());
    !is_personal(column) && !is_read && !NUMBERS.contains(&plain.as_str())
}

/// True of a column that by its name holds people.
pub(crate) fn is_personal(column: &str) -> bool {
    let column = column.to_lowercase();
    PERSONAL.iter().any(|part| column.contains(part))
}

impl Values {
    pub(crate) fn add(&mut self, row: &Map<String, Value>) {
        self.features += 1;
        for (column, value) in row.iter().filter(|(column, _)| may_say_what(column)) {
            let value = in_words(value).trim().to_owned();
            if value.is_empty() || value == "null" {
                continue;
            }
            let values = self.columns.entry(column.clone()).or_default();
            // One beyond the limit tells that there are more.
            let key = value.to_lowercase();
            if values.len() <= MOST_VALUES || values.contains_key(&key) {
                values.entry(key).or_insert_with(|| (value, 0)).1 += 1;
            }
        }
    }

    /// Columns whose values may be kinds, each with its values and how many features have them, the
    /// likeliest first: those that most features have.
    pub fn likely(&self) -> Vec<(&str, Vec<(&str, u64)>)> {
        // On one lot everything may have a word of its own; in a county that is a number of a kind.
        let is_likely = |values: &&BTreeMap<String, (String, u64)>| {
            let all_differ = values.len() as u64 == self.features;
            values.len() <= MOST_VALUES && (!all_differ || self.features <= 30)
        };
        let mut likely: Vec<_> = self
            .columns
            .iter()
            .filter(|(_, values)| is_likely(values))
            .map(|(column, values)| {
                let mut values: Vec<_> =
                    values.values().map(|(value, count)| (value.as_str(), *count)).collect();
                values.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
                (column.as_str(), values)
            })
            .collect();
        likely.sort_by_key(|(_, values)| {
            let told: u64 = values.iter().map(|(_, count)| count).sum();
            // What is the same everywhere, or a number, seldom says what something is.
            let is_number = |(value, _): &(&str, u64)| value.parse::<f64>().is_ok();
            let says_little = values.len() == 1 || values.iter().all(is_number);
            (says_little, std::cmp::Reverse(told), values.len())
        });
        likely
    }

    /// A kinds file to be filled in: every value of the likeliest columns, with a guess where the
    /// value is a kind's own word.
    pub fn draft(&self) -> String {
        let mut text = String::from(
            "# What the values of this map's columns are here: a kind, or \"skip\". Fill in the empty ones.\n\
             # Of several columns the first that says something counts; \"*\" is any other value.\n\
             # Kinds: ",
        );
        text.push_str(&Kind::ALL.map(Kind::name).join(", "));
        text.push('\n');
        for (column, values) in self.likely().into_iter().take(4) {
            text.push_str(&format!("\n[kind.{}]\n", quoted(column)));
            for (value, count) in values {
                let guess = Kind::named(value).map_or("", Kind::name);
                text.push_str(&format!("{} = {guess:?}  # {count}\n", quoted(value)));
            }
        }
        text
    }
}

fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn settled(columns: &Columns, row: Value) -> Option<Value> {
        let Value::Object(row) = row else { panic!("no row") };
        columns.settle(row).ok().map(Value::Object)
    }

    #[test]
    fn a_kinds_file_says_what_words_mean() {
        let text = r#"
            name = "LABEL"
            radius_ft = 300
            [kind.LAYER]
            "Lawn area" = "turf"
            Pond = "water"
            Tree = "skip"
            [kind.CODE]
            7 = "bed"
            "*" = "keepout"
            [species.GRASS]
            TTTF = "tall-fescue"
        "#;
        let columns = Columns::read("kinds.toml", text).unwrap();
        let row = json!({"layer": " LAWN AREA", "Label": "Front", "grass": "tttf", "OWNER": "x", "width_ft": 3});
        let wanted = json!({"width_ft": 3, "name": "Front", "radius_ft": 300, "kind": "turf", "species": "tall-fescue"});
        assert_eq!(settled(&columns, row), Some(wanted));
        assert_eq!(settled(&columns, json!({"LAYER": "tree"})), None);
        // The first column that says something counts.
        let of = |row| settled(&columns, row).unwrap()["kind"].clone();
        assert_eq!(of(json!({"LAYER": "?", "CODE": 7.0})), "bed");
        assert_eq!(of(json!({"LAYER": "", "CODE": 8})), "keepout");
        assert!(columns.keeps("layer") && columns.keeps("width_ft") && !columns.keeps("OWNER"));
    }

    #[test]
    fn a_file_is_called_by_a_kind_unless_a_kinds_file_speaks() {
        let plain = Columns::default();
        let kind = |columns: &Columns, row| settled(columns, row).unwrap()["kind"].clone();
        for name in ["a/wells.csv", "lots.zip (Wells.SHP)", "well.gpx"] {
            assert_eq!(kind(&plain.for_file(name), json!({})), "well", "{name}");
        }
        assert!(plain.for_file("lots.shp").is_plain());
        let kinds = Columns::read("kinds.toml", "[kind.LAYER]\nLawn = \"turf\"").unwrap();
        let pond = settled(&kinds.for_file("turf.shp"), json!({"LAYER": "Pond"})).unwrap();
        assert_eq!(pond.get("kind"), None);
    }

    #[test]
    fn a_value_that_is_not_listed_says_what_to_write() {
        let text = r#"
            [kind.LAYER]
            Pond = "water"
            Trees = ""
            [kind."Land use"]
            7 = "bed"
        "#;
        let columns = Columns::read("kinds.toml", text).unwrap();
        let said = |row| settled(&columns, row).unwrap()["@unlisted"].clone();
        assert_eq!(
            said(json!({"layer": "LAWN AREA 2"})),
            r#"LAYER "LAWN AREA 2" has no kind in the kinds file; write "lawn area 2" = "turf" (or another kind, or "skip") below [kind.LAYER]"#
        );
        assert_eq!(
            said(json!({"LAYER": "", "land use": 8.0})),
            r#"Land use "8" has no kind in the kinds file; write "8" = "turf" (or another kind, or "skip") below [kind."Land use"]"#
        );
        assert!(said(json!({"LAYER": "Trees"})).as_str().unwrap().contains(r#"write "trees" = "#));
        for row in [
            json!({"LAYER": "pond"}),
            json!({"LAYER": null}),
            json!({"LAYER": "?", "kind": "turf"}),
        ] {
            assert_eq!(settled(&columns, row.clone()).unwrap().get("@unlisted"), None, "{row}");
        }
    }

    #[test]
    fn a_bad_kinds_file_is_refused_with_a_place() {
        for (text, wanted) in [
            ("kind = ", "line 1: not TOML"),
            ("\n\n[kind.A]\nx = \"lawn\"", r#"A "x" is to be "lawn", which is no kind"#),
            ("colour = \"A\"", "\"colour\" is no property of a map"),
            ("kind = true", "kind must be a column's name"),
            ("[kind]\nA = \"turf\"", "kind must be a column's name"),
            ("[kind.A]\nPond = \"water\"\nPOND = \"skip\"", r#"A "POND" stands there twice"#),
        ] {
            let error = Columns::read("kinds.toml", text).unwrap_err().to_string();
            assert!(error.starts_with("kinds.toml: ") && error.contains(wanted), "{error}");
        }
    }

    #[test]
    fn what_is_built_in_can_be_read() {
        for name in Columns::BUILT_IN {
            assert!(!Columns::built_in(name).unwrap().is_plain(), "{name}");
        }
        let osm = Columns::built_in("openstreetmap").unwrap();
        let turf = settled(&osm, json!({"kind": "turf"}));
        assert_eq!(turf, Some(json!({"kind": "turf", "size_unknown": 1})));
        let kind = |row| settled(&osm, row).map(|row| row["kind"].clone());
        assert_eq!(
            kind(json!({"building": "garage", "landuse": "grass"})),
            Some("building".into())
        );
        assert_eq!(kind(json!({"natural": "water", "water": "pond"})), Some("water".into()));
        assert_eq!(kind(json!({"landuse": "residential"})), None);
        let path = settled(&osm, json!({"highway": "footway", "width": "1.5 m"}));
        assert_eq!(path, Some(json!({"width_m": 1.5, "kind": "hardscape", "size_unknown": 1})));
        assert_eq!(kind(json!({"highway": "crossing"})), None);
        // Of several tags the kind counts that most is kept away from.
        for (row, wanted) in [
            (json!({"leisure": "playground", "surface": "tartan"}), Some("play")),
            (json!({"leisure": "playground", "sport": "basketball"}), Some("play")),
            (json!({"leisure": "playground", "building": "no"}), Some("play")),
            (json!({"leisure": "playground", "landuse": "grass"}), Some("play")),
            (json!({"leisure": "pitch", "surface": "artificial_turf"}), Some("hardscape")),
            (json!({"leisure": "pitch", "sport": "tennis"}), Some("keepout")),
            (json!({"leisure": "pitch", "surface": "grass"}), Some("turf")),
            (json!({"leisure": "park", "landuse": "allotments"}), Some("garden")),
            (json!({"leisure": "garden", "landuse": "orchard"}), Some("garden")),
            (json!({"leisure": "garden", "landuse": "grass"}), Some("bed")),
            (json!({"natural": "grassland", "landuse": "orchard"}), Some("garden")),
            (json!({"natural": "scrub", "landuse": "reservoir"}), Some("water")),
            (json!({"surface": "clay", "landuse": "basin"}), Some("water")),
            (json!({"landuse": "grass", "golf": "water_hazard"}), Some("water")),
            (json!({"leisure": "pitch", "golf": "bunker"}), Some("keepout")),
            (json!({"building": "no", "natural": "water"}), Some("water")),
            (json!({"landuse": "grass", "man_made": "water_well"}), Some("well")),
            (json!({"building": "yes", "man_made": "beehive"}), Some("apiary")),
            (json!({"natural": "wood", "man_made": "beehive"}), Some("apiary")),
            (json!({"highway": "crossing", "manhole": "drain"}), Some("drain")),
            (json!({"surface": "acrylic", "manhole": "drain"}), Some("drain")),
            (json!({"building": "entrance"}), None),
            (json!({"leisure": "park"}), None),
        ] {
            assert_eq!(kind(row.clone()), wanted.map(Value::from), "{row}");
        }
        let nhd = Columns::built_in("nhd").unwrap();
        let named = settled(&nhd, json!({"FCODE": 39004, "GNIS_Name": "Mud Lake", "name": "x"}));
        assert_eq!(named, Some(json!({"kind": "water", "name": "Mud Lake"})));
        let nameless = settled(&nhd, json!({"FCODE": 39004, "gnis_name": null}));
        assert_eq!(nameless, Some(json!({"kind": "water"})));
        let kind = |row| settled(&nhd, row).map(|row| row["kind"].clone());
        // A line that stands for the middle of a lake is no bank.
        assert_eq!(kind(json!({"FCODE": 55800, "FTYPE": 558})), None);
        assert_eq!(kind(json!({"FCode": 46006, "FType": 460})), Some("water".into()));
        assert_eq!(kind(json!({"FCode": "46006"})), Some("water".into()));
    }

    #[test]
    fn a_draft_lists_what_there_is_and_nobody() {
        let mut values = Values::default();
        for number in 0..100 {
            let row = json!({"LAYER": if number % 3 == 0 { "Beds" } else { "LAWN" }, "OWNER1": "A", "PIN": number, "note": null});
            values.add(row.as_object().unwrap());
        }
        let draft = values.draft();
        assert!(
            draft.contains("[kind.\"LAYER\"]\n\"LAWN\" = \"\"  # 66\n\"Beds\" = \"bed\"  # 34\n"),
            "{draft}"
        );
        assert!(!draft.contains("OWNER") && !draft.contains("PIN"), "{draft}");
        assert!(Columns::read("draft", &draft).is_ok(), "{draft}");
    }
}
