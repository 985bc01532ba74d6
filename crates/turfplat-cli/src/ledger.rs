//! The ledger of records as commands open it.

use std::path::{Path, PathBuf};

use turfplat::Job;
use turfplat::ledger::{Ledger, LedgerError, Query};

/// The records that count as history.
#[derive(Clone, clap::Args)]
pub(crate) struct LedgerArg {
    /// Ledger whose records count as history: for limits, intervals and what a year leaves
    #[arg(long, value_name = "FILE")]
    ledger: Option<PathBuf>,
}

impl LedgerArg {
    /// The job with the records of the ledger, where one is given, in its history.
    pub(crate) fn lay_on(&self, job: Job) -> anyhow::Result<Job> {
        let Some(path) = &self.ledger else { return Ok(job) };
        let records = open_whole(path)?.find(&Query::default())?;
        Ok(job.with_ledger(&path.display().to_string(), &records))
    }
}

/// A ledger that is there.
pub(crate) fn open(path: &Path) -> anyhow::Result<Ledger> {
    Ok(Ledger::open(path)?)
}

/// A ledger that is there, every seal of which holds: what was altered is neither counted nor handed on.
pub(crate) fn open_whole(path: &Path) -> anyhow::Result<Ledger> {
    let ledger = open(path)?;
    match ledger.check()?.problems.into_iter().next() {
        None => Ok(ledger),
        Some(what) => Err(LedgerError::Altered { file: path.to_owned(), what }.into()),
    }
}
