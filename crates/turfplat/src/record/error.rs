use turfplat_ledger::LedgerError;

/// Why no record can be made, and what to change.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum RecordError {
    /// Not the JSON of a plan.
    #[error("{file}: not a plan: {reason}; `turfplat plan … --out DIR` writes plan.json")]
    NotAPlan { file: String, reason: String },

    /// Not TOML, or keys that a form does not have. The reason shows the line.
    #[error("{file}: not a form of a record: {reason}; `turfplat record new` writes one")]
    NotAForm { file: String, reason: String },

    #[error("no property {name:?} in the plan; {hint}")]
    NoProperty { name: String, hint: String },

    #[error("the plan has several properties; choose one with --property: {known}")]
    SeveralProperties { known: String },

    #[error("no application {name:?} in the plan; {hint}")]
    NoApplication { name: String, hint: String },

    #[error("the plan has several applications; choose one with --application: {known}")]
    SeveralApplications { known: String },

    #[error("application {name:?} puts nothing down on {property:?}; there is nothing to record")]
    Nothing { name: String, property: String },

    #[error("date: say on which day it was done, as 2026-06-08")]
    NoDate,

    /// One key of what happened.
    #[error("{key}: {problem}")]
    Key { key: String, problem: String },

    #[error(
        "checked: says false; look over amounts, areas and times of the form, then write checked = true"
    )]
    NotChecked,

    #[error(
        "{key}: record {id} {was}; what was told is changed by `turfplat record correct {id} --why …`"
    )]
    ToldAlready { id: i64, key: String, was: String },

    #[error(
        "nothing is told that record {0} leaves open; say what was missing (`turfplat record show {0}` lists it)"
    )]
    NothingToFill(i64),

    #[error(transparent)]
    Ledger(#[from] LedgerError),
}

impl RecordError {
    pub(crate) fn key(key: impl Into<String>, problem: impl Into<String>) -> RecordError {
        RecordError::Key { key: key.into(), problem: problem.into() }
    }

    /// True where a file is not what it is taken for, rather than a record refused.
    pub fn is_unreadable(&self) -> bool {
        match self {
            RecordError::NotAPlan { .. } | RecordError::NotAForm { .. } => true,
            RecordError::Ledger(error) => error.is_of_the_file(),
            _ => false,
        }
    }
}
