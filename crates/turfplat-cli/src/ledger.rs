//! The ledger of records as commands open it.

use std::path::{Path, PathBuf};

use turfplat::Job;
use turfplat::ledger::{Ledger, Query};

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
        let records = open(path)?.find(&Query::default())?;
        Ok(job.with_ledger(&path.display().to_string(), &records))
    }
}

/// A ledger that is there.
pub(crate) fn open(path: &Path) -> anyhow::Result<Ledger> {
    Ok(Ledger::open(path)?)
}
