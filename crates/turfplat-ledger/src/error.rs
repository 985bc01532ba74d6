use std::path::PathBuf;

/// Why a ledger cannot be opened, or does not take what it was handed, and what to do.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum LedgerError {
    /// Reading makes no ledger.
    #[error("{}: no ledger is there; `turfplat record add --ledger` begins one", .0.display())]
    NotThere(PathBuf),

    /// No database at all.
    #[error("{}: not a ledger but some other file; name another with --ledger", .0.display())]
    NoDatabase(PathBuf),

    /// A database of another program.
    #[error("{}: a database of another program, not a ledger; name another file with --ledger", .0.display())]
    Foreign(PathBuf),

    /// Written by a later release.
    #[error("{}: written by a later turfplat (form {found}; this one knows up to {known}); bring turfplat up to date", file.display())]
    Later { file: PathBuf, found: i64, known: i64 },

    /// What keeps records from being changed is not as it was written.
    #[error("{}: {what}; somebody changed how it is kept: go back to a backup, and keep this file for whoever looks into it", file.display())]
    Altered { file: PathBuf, what: String },

    /// Pages cannot be read.
    #[error("{}: damaged ({reason}); go back to a backup, and keep this file", file.display())]
    Damaged { file: PathBuf, reason: String },

    /// Another process holds it.
    #[error("{}: another program has been writing to it for {seconds} seconds; nothing was recorded: try again", file.display())]
    Busy { file: PathBuf, seconds: u64 },

    /// The place takes no writing.
    #[error("{}: cannot be written ({reason}); nothing was kept there", file.display())]
    NotWritable { file: PathBuf, reason: String },

    /// The place does not let it be read.
    #[error("{}: cannot be opened to be read ({reason}); see who may read it, and where a write broke off or its form is of an earlier release, copy it to a place that can be written", file.display())]
    NotReadable { file: PathBuf, reason: String },

    /// Whatever else SQLite says.
    #[error("{}: {reason}", file.display())]
    Sqlite { file: PathBuf, reason: String },

    /// There is no such record.
    #[error("no record {0}; `turfplat record find` lists them")]
    NoRecord(i64),

    /// It was completed or corrected already.
    #[error("record {id} was replaced by record {by}; name that one")]
    Replaced { id: i64, by: i64 },

    /// Only a draft is completed.
    #[error("record {0} is complete; use `turfplat record correct` and say why")]
    NotADraft(i64),

    /// A correction without its reason is no evidence.
    #[error("record {0}: say why it is corrected")]
    NoReason(i64),

    /// A record that was taken back stays so.
    #[error("record {0} was taken back; add a new one")]
    TakenBack(i64),

    /// A correction is of the same property.
    #[error("record {id} is of property {was:?}, not {given:?}; take it back and add a new one")]
    OtherProperty { id: i64, was: String, given: String },

    /// A list of fields nobody has.
    #[error("no list of record fields is called {name:?}; {hint}")]
    NoPlace { name: String, hint: String },

    /// A name, date or line that cannot be kept.
    #[error("{what}: {problem}")]
    CannotKeep { what: String, problem: String },

    /// A backup overwrites nothing.
    #[error("{}: a file of that name is there; name a new one", .0.display())]
    IsThere(PathBuf),
}

impl LedgerError {
    /// True of what says that the file cannot be read or is none, rather than that a record is refused.
    pub fn is_of_the_file(&self) -> bool {
        !matches!(
            self,
            LedgerError::NoRecord(_)
                | LedgerError::Replaced { .. }
                | LedgerError::NotADraft(_)
                | LedgerError::NoReason(_)
                | LedgerError::TakenBack(_)
                | LedgerError::OtherProperty { .. }
                | LedgerError::NoPlace { .. }
                | LedgerError::CannotKeep { .. }
        )
    }
}
