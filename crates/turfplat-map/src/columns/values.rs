//! What the columns of a map hold, for a person who has to say what it means here. Kept by file:
//! what says most of a file of ponds may say nothing of a file of lots.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use serde_json::{Map, Value};

use super::{in_words, quoted, same};
use crate::attribute_names::{Known, READ};
use crate::kind::Kind;

/// The values of a map's columns, for a person who has to say what they mean.
#[derive(Clone, Debug, Default)]
pub struct Values {
    files: Vec<OfFile>,
}

/// Values in small letters: how each is written first, and how many features have it.
type Counted = BTreeMap<String, (String, u64)>;

/// The values of one file's columns.
#[derive(Clone, Debug, Default)]
struct OfFile {
    name: String,
    features: u64,
    /// By column, in the order of their names.
    columns: BTreeMap<String, Counted>,
}

/// A column whose values may be kinds.
struct Candidate<'v> {
    column: &'v str,
    /// The files that have it.
    files: Vec<&'v str>,
    values: Counted,
}

/// A column with more values than this says what each feature is called, not what it is.
const MOST_VALUES: usize = 60;
/// So many columns of a file are offered; the others are named.
const MOST_OFFERED: usize = 8;

/// Parts of the names of columns that hold people: their values are not even listed. `first` alone
/// is what programs write before a name when they merge features: `FIRST_TYPE`.
const PERSONAL: [&str; 19] = [
    "owner",
    "owne",
    "own_",
    "contact",
    "phone",
    "mail",
    "addr",
    "street",
    "person",
    "first_n",
    "firstn",
    "first name",
    "last_n",
    "lastn",
    "last name",
    "surname",
    "buyer",
    "tenant",
    "applicant",
];

/// Parts of the names of columns that mostly say what something is.
const TELLING: [&str; 12] = [
    "kind", "type", "class", "layer", "code", "cover", "folder", "categ", "use", "surface", "feat",
    "desc",
];

/// True of a column that may say what features are: neither people, nor what is read anyway, nor a number of
/// the row or whoever wrote it.
fn may_say_what(column: &str) -> bool {
    const OF_ROWS: [&str; 11] = [
        "id",
        "fid",
        "gid",
        "oid",
        "ogc_fid",
        "objectid",
        "osm_id",
        "@id",
        "left_as_area",
        "editor",
        "user",
    ];
    let plain = column.to_lowercase();
    let is_read = !matches!(plain.as_str(), "kind" | "name") && READ.contains(&plain.as_str());
    !is_personal(column) && !is_read && !OF_ROWS.contains(&plain.as_str())
}

/// True of a column that by its name holds people.
pub(crate) fn is_personal(column: &str) -> bool {
    let column = column.to_lowercase();
    matches!(column.as_str(), "first" | "last") || PERSONAL.iter().any(|part| column.contains(part))
}

impl Values {
    /// Begins with the features of a file.
    pub(crate) fn begin(&mut self, file: &str) {
        self.files.push(OfFile { name: file.to_owned(), ..OfFile::default() });
    }

    pub(crate) fn add(&mut self, row: &Map<String, Value>) {
        if self.files.is_empty() {
            self.begin("");
        }
        if let Some(file) = self.files.last_mut() {
            file.add(row);
        }
    }

    /// Columns whose values may be kinds, each with its values and how many features have them, file
    /// by file, the likeliest of each first.
    pub fn likely(&self) -> Vec<(&str, Vec<(String, u64)>)> {
        let candidates = self.candidates().into_iter();
        candidates.map(|candidate| (candidate.column, sorted(candidate.values))).collect()
    }

    /// What is offered of each file; a column that several have stands with the first.
    fn candidates(&self) -> Vec<Candidate<'_>> {
        let mut candidates: Vec<Candidate<'_>> = Vec::new();
        for file in &self.files {
            for column in file.likely().into_iter().take(MOST_OFFERED) {
                let values = file.columns[column].clone();
                match candidates.iter_mut().find(|known| same(known.column, column)) {
                    Some(known) => known.add(&file.name, values),
                    None => {
                        candidates.push(Candidate { column, files: vec![&file.name], values });
                    }
                }
            }
        }
        candidates
    }

    /// A kinds file to be filled in: the values of the likeliest columns of each file, with a guess
    /// where the value is a kind's own word. What other columns there are is named.
    pub fn draft(&self) -> String {
        let mut text = String::from(
            "# What the values of this map's columns are here: a kind, or \"skip\". Fill in the empty ones.\n\
             # Of several columns the first that says something counts: take out those that do not say what a\n\
             # feature is. \"*\" is any other value, and \"\" is none.\n\
             # Kinds: ",
        );
        text.push_str(&Kind::ALL.map(Kind::name).join(", "));
        text.push('\n');
        let candidates = self.candidates();
        for Candidate { column, files, values } in &candidates {
            let files: Vec<String> = files.iter().map(|file| on_one_line(file)).collect();
            let files = files.join(", ");
            let files = if files.is_empty() { files } else { format!("# of {files}\n") };
            text.push_str(&format!("\n{files}[kind.{}]\n", quoted(column)));
            for (value, count) in sorted(values.clone()) {
                let guess = Kind::named(&value).map_or("", Kind::name);
                text.push_str(&format!("{} = {guess:?}  # {count}\n", quoted(&value)));
            }
        }
        for file in &self.files {
            let is_offered =
                |column: &&String| candidates.iter().any(|known| same(known.column, column));
            let others: Vec<String> = file
                .columns
                .keys()
                .filter(|column| !is_offered(column))
                .map(|column| on_one_line(column))
                .collect();
            if !others.is_empty() {
                let name = on_one_line(&file.name);
                text.push_str(&format!("\n# Other columns of {name}: {}\n", others.join(", ")));
            }
        }
        text
    }
}

impl OfFile {
    fn add(&mut self, row: &Map<String, Value>) {
        self.features += 1;
        // What was written while the file was told starts so.
        let is_own = |column: &str| column.starts_with('@') && Known::of(column).is_some();
        let columns = row.iter().filter(|(column, _)| may_say_what(column) && !is_own(column));
        for (column, value) in columns {
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

    /// The columns that may say what features are, the likeliest first: those that are called so,
    /// then those that most features have. What something is called stands last, and where all have
    /// names of their own it is offered only for want of another.
    fn likely(&self) -> Vec<&str> {
        // On one lot everything may have a word of its own; in a county that is a number of a kind.
        let is_likely = |values: &Counted| {
            let all_differ = values.len() as u64 == self.features;
            values.len() <= MOST_VALUES && (!all_differ || self.features <= 30)
        };
        let of = |column: &str| column.eq_ignore_ascii_case("name");
        let likely = self.columns.iter().filter(|(_, values)| is_likely(values));
        let mut likely: Vec<(&str, &Counted)> =
            likely.map(|(column, values)| (column.as_str(), values)).collect();
        likely.sort_by_key(|(column, values)| {
            let told: u64 = values.values().map(|(_, count)| count).sum();
            // A number seldom says what something is, unless its column is called so.
            let is_number = |(value, _): &(String, u64)| value.parse::<f64>().is_ok();
            let lower = column.to_lowercase();
            let is_telling = TELLING.iter().any(|part| lower.contains(part));
            let is_same = values.len() == 1;
            let says_little = is_same || values.values().all(is_number);
            (of(column), !is_telling, says_little, Reverse(told), values.len())
        });
        // A number that nobody calls a code is no kind, where there is something better.
        let is_word = |(column, values): &(&str, &Counted)| {
            let lower = column.to_lowercase();
            TELLING.iter().any(|part| lower.contains(part))
                || !values.values().all(|(value, _)| value.parse::<f64>().is_ok())
        };
        let (words, numbers): (Vec<_>, Vec<_>) = likely.into_iter().partition(is_word);
        let has_better = words.iter().any(|(column, _)| !of(column));
        let offered = words.into_iter().filter(|(column, _)| !(has_better && of(column)));
        let numbers = numbers.into_iter().filter(|_| !has_better);
        let mut columns: Vec<&str> = offered.chain(numbers).map(|(column, _)| column).collect();
        columns.sort_by_key(|column| of(column));
        columns
    }
}

impl<'v> Candidate<'v> {
    fn add(&mut self, file: &'v str, values: Counted) {
        self.files.push(file);
        for (key, (value, count)) in values {
            self.values.entry(key).or_insert_with(|| (value, 0)).1 += count;
        }
    }
}

/// The most frequent first.
fn sorted(values: Counted) -> Vec<(String, u64)> {
    let mut values: Vec<(String, u64)> = values.into_values().collect();
    values.sort_by_key(|(_, count)| Reverse(*count));
    values
}

fn on_one_line(name: &str) -> String {
    name.replace(char::is_control, " ")
}
