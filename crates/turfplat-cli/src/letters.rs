//! Letters that the fonts of sheets and papers lack. They are printed as □, and whoever prints should
//! hear of it once a run, however many papers bear the name: so they are gathered where papers are
//! drawn, on any thread, and told at the end.

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::sync::{Mutex, PoisonError};

#[cfg(feature = "pdf")]
use serde_json::Value;
use turfplat::sheet::{SprayMap, lacking, texts};

/// Texts of this run, each with the letters that are printed as □.
static LACKING: Mutex<BTreeMap<String, String>> = Mutex::new(BTreeMap::new());

/// More texts are counted.
const MOST_TOLD: usize = 8;
/// More are not kept: a county may be named in another script throughout.
const MOST_KEPT: usize = 2_000;

/// Takes note of what a map prints.
pub(crate) fn note(map: &SprayMap) {
    texts(map).iter().for_each(|text| note_text(text));
}

/// Takes note of every text of a document that is set on paper.
#[cfg(feature = "pdf")]
pub(crate) fn note_all(document: &Value) {
    match document {
        Value::String(text) => note_text(text),
        Value::Array(items) => items.iter().for_each(note_all),
        Value::Object(members) => members.values().for_each(note_all),
        _ => {}
    }
}

/// Takes note of a text that is printed, such as a name that stands there in sentences alone.
pub(crate) fn note_text(text: &str) {
    let letters = lacking(text);
    if letters.is_empty() {
        return;
    }
    let mut known = LACKING.lock().unwrap_or_else(PoisonError::into_inner);
    if known.len() < MOST_KEPT {
        known.insert(text.to_owned(), letters);
    }
}

/// Says what was noted: names rather than the sentences that they stand in.
pub(crate) fn tell(remarks: &mut dyn Write) -> io::Result<()> {
    let known = std::mem::take(&mut *LACKING.lock().unwrap_or_else(PoisonError::into_inner));
    let told = names(&known);
    for (text, letters) in told.iter().take(MOST_TOLD) {
        let letters: Vec<String> = letters.chars().map(String::from).collect();
        writeln!(
            remarks,
            "remark: {text:?}: the fonts of sheets and papers have no {}: printed as □; write it in Latin \
             letters to have it read there (JSON and CSV keep it as it is)",
            letters.join(", ")
        )?;
    }
    if told.len() > MOST_TOLD {
        writeln!(remarks, "remark: {} more texts have such letters", told.len() - MOST_TOLD)?;
    }
    Ok(())
}

/// Those texts within which no other of them stands, shortest first.
fn names(known: &BTreeMap<String, String>) -> Vec<(&str, &str)> {
    let mut all: Vec<(&str, &str)> =
        known.iter().map(|(text, letters)| (text.as_str(), letters.as_str())).collect();
    all.sort_by_key(|(text, _)| text.chars().count());
    let mut kept: Vec<(&str, &str)> = Vec::new();
    for (text, letters) in all {
        if !kept.iter().any(|(name, _)| text.contains(name)) {
            kept.push((text, letters));
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_told_and_not_the_sentences_that_it_stands_in() {
        let known: BTreeMap<String, String> =
            ["load 1; covers 草坪: 12 sq ft", "草坪", "Garten 庭"]
                .map(|text| (text.to_owned(), lacking(text)))
                .into();
        assert_eq!(names(&known), [("草坪", "草坪"), ("Garten 庭", "庭")]);
    }
}
