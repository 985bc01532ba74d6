//! Why a posting rule is a row: a state says how large a sign is, how high it stands, how long people keep
//! off and, some of them, how many signs there are. What a row leaves empty nobody has found, and nothing is
//! put in its place: a number of signs comes only from a distance that stands in the rule.

use std::sync::LazyLock;

use serde::Deserialize;
use turfplat_units::Length;

use crate::error::DoseError;
use crate::label::Hours;
use crate::names::{close, folded};
use crate::provenance::Provenance;

/// What a state asks of notices on treated turf, as in `data/posting-rules.csv`.
#[derive(Clone, Debug, PartialEq)]
pub struct PostingRule {
    /// The state's two letters, as `NY`.
    pub state: String,
    /// The state in words.
    pub state_name: String,
    /// How large a sign is, and what else is said of it, in short words.
    pub sign: Option<String>,
    /// How high it stands.
    pub height: Option<String>,
    /// How long people keep off; `None` where the row does not say.
    pub keep_off: Option<KeepOff>,
    /// How long the sign stands, or when it is taken away.
    pub sign_stands: Option<String>,
    /// At most so far from one sign to the next; `None` where no number follows from the rule.
    pub spacing: Option<Length>,
    /// Where signs stand.
    pub placed: Option<String>,
    /// Who says so.
    pub provenance: Provenance,
}

/// How long people keep off treated turf.
#[derive(Clone, Debug, PartialEq)]
pub enum KeepOff {
    /// So long from the end of the treatment.
    Hours(Hours),
    /// Until the day after the treatment begins.
    NextDay,
    /// What no clock can tell, such as `until dry`.
    Words(String),
}

impl KeepOff {
    pub(crate) fn read(text: &str) -> Option<KeepOff> {
        let text = text.trim();
        match text {
            "" => None,
            "next day" => Some(KeepOff::NextDay),
            _ => {
                Some(Hours::read(text).map_or_else(|| KeepOff::Words(text.into()), KeepOff::Hours))
            }
        }
    }
}

impl std::fmt::Display for KeepOff {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            KeepOff::Hours(hours) => hours.fmt(f),
            KeepOff::NextDay => f.write_str("until the next day"),
            KeepOff::Words(words) => f.write_str(words),
        }
    }
}

#[derive(Deserialize)]
struct Row {
    state: String,
    state_name: String,
    sign: Option<String>,
    height: Option<String>,
    keep_off: String,
    sign_stands: Option<String>,
    spacing: Option<String>,
    placed: Option<String>,
    source: String,
    status: String,
    read: String,
}

impl Row {
    fn rule(self) -> Option<PostingRule> {
        Some(PostingRule {
            state: self.state,
            state_name: self.state_name,
            sign: self.sign,
            height: self.height,
            keep_off: KeepOff::read(&self.keep_off),
            sign_stands: self.sign_stands,
            // A spacing that is there and cannot be read loses the row, not the spacing.
            spacing: match self.spacing {
                None => None,
                Some(text) => Some(text.parse().ok().filter(|it| *it > Length::ZERO)?),
            },
            placed: self.placed,
            provenance: Provenance {
                source: Some(self.source),
                status: Some(self.status.parse().ok()?),
                read: Some(self.read),
            },
        })
    }
}

const POSTING_CSV: &str = include_str!("../../../data/posting-rules.csv");

static RULES: LazyLock<Vec<PostingRule>> = LazyLock::new(|| {
    // A row that cannot be read would be missing; a test counts them.
    csv::Reader::from_reader(POSTING_CSV.as_bytes())
        .deserialize()
        .filter_map(|row: Result<Row, csv::Error>| row.ok()?.rule())
        .collect()
});

/// The posting rules known here, in the order of the table.
pub fn posting_rules() -> &'static [PostingRule] {
    &RULES
}

/// The posting rule of a state, by its letters or its name.
///
/// # Errors
///
/// [`DoseError::NoPostingRule`] with all states that are known.
pub fn find_posting_rule(state: &str) -> Result<&'static PostingRule, DoseError> {
    let wanted = folded(state);
    let is_it =
        |rule: &&PostingRule| folded(&rule.state) == wanted || folded(&rule.state_name) == wanted;
    posting_rules().iter().find(is_it).ok_or_else(|| {
        let known = posting_rules().iter().map(|it| format!("{} ({})", it.state, it.state_name));
        DoseError::NoPostingRule {
            text: state.trim().to_owned(),
            close: close(state, posting_rules().iter().map(|it| it.state_name.as_str())),
            known: known.collect::<Vec<_>>().join(", "),
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_row_of_the_table_is_lost_and_no_value_of_it() {
        assert_eq!(posting_rules().len(), POSTING_CSV.trim_end().lines().count() - 1);
        let of = |state: &str| find_posting_rule(state).expect("a known state");
        // What the rows are after: ECL 33-1003 and 6 NYCRR 325.40; 415 ILCS 65/3; ATCP 29.56.
        let ny = of("new york");
        assert_eq!(ny.spacing, Length::from_feet(50.0));
        assert_eq!(ny.keep_off, Hours::read("24 h").map(KeepOff::Hours));
        assert_eq!(of("IL").keep_off, Some(KeepOff::Words("until dry".into())));
        assert_eq!((&of("wi").keep_off, of("wi").spacing), (&None, None));
        assert_eq!(of("GA").keep_off, Some(KeepOff::NextDay));
        assert_eq!(of("GA").placed.as_deref(), Some("primary entries"));
        assert_eq!(of("IN").placed, None);
    }

    #[test]
    fn a_state_without_a_row_is_refused_with_those_that_have_one() {
        let said = find_posting_rule("Indianna").expect_err("no such state").to_string();
        assert!(said.contains("did you mean \"Indiana\"?"), "{said}");
        let said = find_posting_rule("Maine").expect_err("no row").to_string();
        assert!(said.contains("\"Maine\"") && said.contains("NY (New York)"), "{said}");
        assert!(said.contains("read the rule of the place"), "{said}");
    }
}
