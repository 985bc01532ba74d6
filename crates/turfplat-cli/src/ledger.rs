//! The ledger of records as commands open it.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use anyhow::bail;
use turfplat::Job;
use turfplat::ledger::{Ledger, LedgerError, Query, State};
use turfplat::timing::Date;

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

/// The days on which something was put down, by the records of a ledger.
#[derive(Clone, clap::Args)]
pub(crate) struct RecordedDays {
    /// Ledger whose records give the days of treatments, beside --since or instead of it
    #[arg(long, value_name = "FILE")]
    ledger: Option<PathBuf>,

    /// Property of the records, by its id [default: the only one]
    #[arg(long, value_name = "ID", requires = "ledger")]
    property: Option<String>,

    /// Product that was put down, by its id [default: any]
    #[arg(long, value_name = "ID", requires = "ledger")]
    product: Option<String>,
}

impl RecordedDays {
    /// Each day once; of records that stand, drafts too, for what they tell of lies on the ground.
    pub(crate) fn days(&self) -> anyhow::Result<Vec<Date>> {
        let Some(path) = &self.ledger else { return Ok(Vec::new()) };
        let (property, product) = (self.property.clone(), self.product.clone());
        let query = Query { property, product, ..Query::default() };
        let mut kept = open_whole(path)?.find(&query)?;
        kept.retain(|it| it.state != State::TakenBack);
        let properties: BTreeSet<&str> =
            kept.iter().map(|it| it.record.property.as_str()).collect();
        match properties.len() {
            0 => bail!("{}: no record of that property and product stands there", path.display()),
            1 => {}
            _ => bail!(
                "{}: the records are of several properties; choose one with --property: {}",
                path.display(),
                properties.into_iter().take(8).collect::<Vec<_>>().join(", ")
            ),
        }
        let days: BTreeSet<Date> = kept.iter().map(|it| it.record.date).collect();
        Ok(days.into_iter().collect())
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
