//! Why a product file can be asked for question by question: a label is folded paper in small
//! print, and a rate copied under the wrong key is an overdose. Each answer is checked by the
//! reader of product files itself, so that there is no second opinion on what is right.

use toml::{Table, Value};

use crate::error::DoseError;
use crate::product::Product;

/// A product file with a comment and an example for every key; only id, name and form are set.
pub const TEMPLATE: &str = include_str!("../../../data/product-template.toml");

/// What to ask the label.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Question {
    /// Where the answer goes, such as `limits.max_per_year.limit`; `rates.*.rate` is asked for
    /// one rate after the other.
    pub key: &'static str,
    /// The question.
    pub ask: &'static str,
    /// An answer with its unit.
    pub example: &'static str,
    /// Whether a product file needs it.
    pub needed: bool,
}

const fn needed(key: &'static str, ask: &'static str, example: &'static str) -> Question {
    Question { key, ask, example, needed: true }
}

const fn ask(key: &'static str, ask: &'static str, example: &'static str) -> Question {
    Question { key, ask, example, needed: false }
}

/// All questions, in the order of a label. Those of one group (`rates.*.…`) stand together and
/// are asked again until the first of them is left empty.
pub const QUESTIONS: &[Question] = &[
    needed("id", "Id for jobs (small letters, digits, hyphens)", "my-regulator-1-ec"),
    needed("name", "Name in print", "my regulator 1 lb/gal EC"),
    needed("form", "Form: liquid, dry soluble or granule", "liquid"),
    ask(
        "class",
        "What it is for: growth regulator, herbicide, insecticide, fungicide, fertilizer",
        "herbicide",
    ),
    ask("formulation", "Formulation in the label's short name", "EC"),
    ask("epa_registration", "EPA Reg. No.", "12345-678"),
    ask(
        "label_checked",
        "Day on which you read this label (without it no rate is dosed)",
        "2026-05-02",
    ),
    ask("active_ingredients.*.name", "Active ingredient (one, then the next)", "trinexapac-ethyl"),
    ask("active_ingredients.*.content", "Its content: lb/gal, g/L or %", "1 lb/gal"),
    ask("density", "Weight of a volume of the product", "9.1 lb/gal"),
    ask("analysis", "Analysis N-P2O5-K2O", "24-2-12"),
    ask("analysis.soluble_n_share", "Share of the nitrogen that is quickly soluble", "70 %"),
    ask("rates.*.species", "Label rate: grass (one, then the next)", "tall-fescue"),
    ask("rates.*.use", "Where", "lawn"),
    ask("rates.*.mowing_height", "For which height of cut, one or a range", "0.5 in to 1 in"),
    ask("rates.*.rate", "Rate, one or a range", "0.3 fl oz/1000 sq ft to 0.5 fl oz/1000 sq ft"),
    ask("spray_volume", "Spray volume, one or a range", "1 gal/1000 sq ft to 2 gal/1000 sq ft"),
    ask("limits.max_per_application.limit", "Most product at once", "0.8 fl oz/1000 sq ft"),
    ask(
        "limits.max_active_per_application.limit",
        "Most active ingredient at once",
        "0.5 lb a.i./A",
    ),
    ask(
        "limits.max_nitrogen_per_application.limit",
        "Most nitrogen at once",
        "0.9 lb N/1000 sq ft",
    ),
    ask("limits.max_per_year.limit", "Most product in a year", "5 fl oz/1000 sq ft"),
    ask("limits.max_active_per_year.limit", "Most active ingredient in a year", "1.5 lb a.i./A"),
    ask("limits.max_nitrogen_per_year.limit", "Most nitrogen in a year", "4 lb N/1000 sq ft"),
    ask("limits.min_interval.limit", "Shortest interval, in days", "28 days"),
    ask("rain_free", "Time without rain after it, in hours", "6 h"),
    ask("temperature.at_least", "Not when cooler than", "50 F"),
    ask("temperature.at_most", "Not when hotter than", "85 F"),
    ask("wind.at_least", "Not in less wind than", "3 mph"),
    ask("wind.at_most", "Not in more wind than", "10 mph"),
    ask("wind.gust_at_most", "Not in gusts above", "15 mph"),
    ask("unfit", "Not on turf that is thin, stressed, dormant, new, greening", "stressed; dormant"),
    ask("watering_in", "Watering in, in the label's words", "0.5 in within 24 hours"),
    ask("setbacks.water", "Setback from water, all round", "25 ft"),
    ask("setbacks.well", "Setback from wells, all round", "50 ft"),
    ask("setbacks.drain", "Setback from storm inlets, all round", "10 ft"),
    ask("drift_buffers.water", "Drift buffer to water, downwind only", "25 ft"),
    ask("signal_word", "Signal word: danger, warning, caution, none required", "caution"),
    ask("ppe", "What to wear, parted by semicolons", "long sleeves; gloves; eye protection"),
    ask("reentry", "When people may go back, in the label's words", "when the spray has dried"),
    ask("containers.*.size", "Size that it is sold in (one, then the next)", "1 qt"),
    ask("containers.*.price", "Its price", "$39.95"),
];

impl Question {
    /// `Density, such as "9.1 lb/gal"` on one line, with what an empty answer means.
    pub fn prompt(&self) -> String {
        let empty = if self.needed { "needed" } else { "empty: not given" };
        format!("{}, such as \"{}\" ({empty}): ", self.ask, self.example)
    }

    /// The group that is asked for again and again, such as `rates`, and the key in it.
    pub fn group(&self) -> Option<(&'static str, &'static str)> {
        self.key.split_once(".*.")
    }
}

/// A product file in the making.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Draft(Table);

impl Draft {
    /// Takes an answer that the reader of product files takes, and leaves the draft as it was
    /// otherwise. An entry of a group is begun by the answer to its first question.
    ///
    /// # Errors
    ///
    /// What must be changed in the answer.
    pub fn answer(&mut self, question: &Question, text: &str) -> Result<(), DoseError> {
        let mut tried = self.clone();
        tried.put(question, text.trim());
        Product::from_toml(&tried.readable())?;
        *self = tried;
        Ok(())
    }

    /// True if an answer to `question` could be used: of a rate there is none without a day on
    /// which the label was read, of a soluble share none without an analysis.
    pub fn wants(&self, question: &Question) -> bool {
        match question.key {
            "analysis.soluble_n_share" => self.0.contains_key("analysis"),
            key if key.starts_with("rates.") => self.0.contains_key("label_checked"),
            _ => true,
        }
    }

    /// Takes out entries that were begun and not given their rate.
    pub fn drop_unfinished(&mut self) {
        if let Some(Value::Array(rates)) = self.0.get_mut("rates") {
            rates.retain(|rate| rate.get("rate").is_some());
        }
    }

    /// The product file.
    ///
    /// # Errors
    ///
    /// What is still missing.
    pub fn to_toml(&self) -> Result<String, DoseError> {
        let text = self.0.to_string();
        Product::from_toml(&text)?;
        Ok(text)
    }

    /// As far as it goes, with what a product file needs and was not asked yet.
    fn readable(&self) -> String {
        let mut table = Table::new();
        for (key, value) in [("id", "draft"), ("name", "draft"), ("form", "liquid")] {
            table.insert(key.into(), value.into());
        }
        table.extend(self.0.clone());
        table.to_string()
    }

    fn put(&mut self, question: &Question, text: &str) {
        match (question.group(), question.key) {
            (Some((group, key)), _) => self.put_in_group(question, group, key, text),
            (None, "analysis") => {
                let mut parts = text.split('-').map(str::trim);
                let mut analysis = Table::new();
                for nutrient in ["n", "p2o5", "k2o"] {
                    let share = format!("{} %", parts.next().unwrap_or_default());
                    analysis.insert(nutrient.into(), share.into());
                }
                if let Some(more) = parts.next() {
                    // Four numbers are no analysis: the reader is to say so.
                    analysis.insert("k2o".into(), format!("{text} ({more})").into());
                }
                self.0.insert("analysis".into(), analysis.into());
            }
            (None, "ppe") => {
                self.0.insert("ppe".into(), parts(text).into());
            }
            (None, "unfit") => {
                let states = parts(text).into_iter().map(|condition| {
                    let mut entry = Table::new();
                    let from = [("because", "the label says so"), ("basis", "label")];
                    entry.insert("condition".into(), condition.into());
                    entry.extend(from.map(|(key, value)| (key.to_owned(), Value::from(value))));
                    entry
                });
                self.0.insert("unfit".into(), Value::Array(states.map(Value::from).collect()));
            }
            (None, "spray_volume") => {
                self.0.insert("spray_volume".into(), one_or_range(text));
            }
            (None, key) => put_at(&mut self.0, key, text.into()),
        }
    }

    fn put_in_group(&mut self, question: &Question, group: &str, key: &str, text: &str) {
        let entries = self.0.entry(group).or_insert_with(|| Value::Array(Vec::new()));
        let Value::Array(entries) = entries else { return };
        let first = QUESTIONS.iter().find(|one| one.group().is_some_and(|(of, _)| of == group));
        if first == Some(question) {
            entries.push(Table::new().into());
        }
        let Some(Value::Table(entry)) = entries.last_mut() else { return };
        let value =
            if matches!(key, "rate" | "mowing_height") { one_or_range(text) } else { text.into() };
        entry.insert(key.into(), value);
        if group == "rates" {
            let basis = if entry.contains_key("rate") { "label" } else { "gap" };
            entry.insert("basis".into(), basis.into());
        }
    }
}

fn put_at(table: &mut Table, key: &str, value: Value) {
    match key.split_once('.') {
        None => {
            table.insert(key.into(), value);
        }
        Some((first, rest)) => {
            let inner = table.entry(first).or_insert_with(|| Table::new().into());
            if let Value::Table(inner) = inner {
                put_at(inner, rest, value);
                if rest == "limit" {
                    inner.insert("source".into(), "the label".into());
                }
            }
        }
    }
}

fn parts(text: &str) -> Vec<String> {
    text.split(';').map(str::trim).filter(|part| !part.is_empty()).map(str::to_owned).collect()
}

/// `a to b` as the lowest and the highest.
fn one_or_range(text: &str) -> Value {
    match text.split_once(" to ") {
        Some((low, high)) => {
            let (low, high) = (low.trim(), high.trim());
            // "0.3 to 0.5 fl oz/1000 sq ft": the unit is said once and meant twice.
            let unit = high.split_once(' ').map_or("", |(_, unit)| unit);
            let bare = low.chars().all(|c| c.is_ascii_digit() || "./".contains(c));
            let low = if bare { format!("{low} {unit}") } else { low.to_owned() };
            vec![low, high.to_owned()].into()
        }
        None => text.into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn question(key: &str) -> &'static Question {
        QUESTIONS.iter().find(|question| question.key == key).unwrap()
    }

    #[test]
    fn the_template_is_a_product_file_and_so_is_the_template_filled_in() {
        let bare = Product::from_toml(TEMPLATE).unwrap();
        let given: Vec<&str> = (bare.facts().iter().filter(|fact| fact.given.is_some()))
            .map(|fact| fact.key)
            .collect();
        assert_eq!(given, ["form"]);
        // Examples stand behind a "#" without a space, prose behind one with.
        let filled: String = TEMPLATE
            .lines()
            .map(|line| match line.strip_prefix('#') {
                Some(rest) if !rest.starts_with(' ') => format!("{rest}\n"),
                _ => format!("{line}\n"),
            })
            .collect();
        let filled = Product::from_toml(&filled).unwrap();
        for fact in filled.facts() {
            assert!(fact.given.is_some(), "{} has no example in the template", fact.key);
        }
        assert_eq!(filled.doubts("2026-06-08"), Vec::<String>::new());
    }

    #[test]
    fn the_example_of_every_question_is_taken() {
        let mut draft = Draft::default();
        for question in QUESTIONS {
            assert!(draft.wants(question), "{}", question.key);
            draft.answer(question, question.example).unwrap();
        }
        let product = Product::from_toml(&draft.to_toml().unwrap()).unwrap();
        for fact in product.facts() {
            assert!(fact.given.is_some(), "{} was not taken", fact.key);
        }
        assert_eq!(product.label_rates().count(), 1);
    }

    #[test]
    fn a_wrong_answer_is_told_at_once_and_changes_nothing() {
        let mut draft = Draft::default();
        draft.answer(question("id"), "feed").unwrap();
        let before = draft.clone();
        for (key, text, told) in [
            ("form", "powder", "dry soluble"),
            ("density", "9.1", "9.1 lb/gal"),
            ("rain_free", "6", "6 h"),
            ("temperature.at_most", "85", "85 F"),
            ("wind.at_most", "10", "10 mph"),
            ("analysis", "24-2", "percentage"),
            ("analysis", "24-2-12-1", "percentage"),
            ("limits.max_nitrogen_per_year.limit", "4 lb/1000 sq ft", "lb N/1000 sq ft"),
            ("active_ingredients.*.name", "", ""),
        ] {
            if let Err(error) = draft.answer(question(key), text) {
                assert!(error.to_string().contains(told), "{key} {text}: {error}");
                assert_eq!(draft, before, "{key}");
            } else {
                assert_eq!(key, "active_ingredients.*.name");
                draft = before.clone();
            }
        }
    }

    #[test]
    fn what_a_draft_still_lacks_is_said() {
        assert_eq!(
            Draft::default().to_toml().unwrap_err().to_string(),
            "product file, line 1: missing field `id`"
        );
    }
}
