//! What the columns of a map hold, for a person who has to say what it means here.

use std::collections::BTreeMap;

use serde_json::{Map, Value};

use super::{in_words, quoted};
use crate::attribute_names::{Known, READ};
use crate::kind::Kind;

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
        // What was written while the file was told starts so.
        let is_own = |column: &str| column.starts_with('@') && Known::of(column).is_some();
        let row = row.iter().filter(|(column, _)| !is_own(column));
        for (column, value) in row.filter(|(column, _)| may_say_what(column)) {
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
