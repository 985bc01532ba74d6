//! The options that commands share: one wording and one meaning for each, whichever command is asked.

use std::path::PathBuf;

use turfplat::units::UnitSystem;
use turfplat::{Job, PlanOptions};

use crate::Output;
use crate::input::{Units, date, read_job, today_if_counted};
use crate::ledger::LedgerArg;

/// What is done, and what has been done.
#[derive(clap::Args)]
pub(crate) struct JobFile {
    /// Job file: products, label rates, equipment, setbacks
    #[arg(id = "job", long = "job", value_name = "JOB")]
    pub(crate) path: PathBuf,

    #[command(flatten)]
    ledger: LedgerArg,
}

impl JobFile {
    /// The job, with the records of the ledger in its history; `None` of one that is refused, which is told.
    pub(crate) fn read(&self, output: &mut Output<'_>) -> anyhow::Result<Option<Job>> {
        read_job(&self.path, output)?.map(|job| self.ledger.lay_on(job)).transpose()
    }
}

/// What is done, on which day, and how it is told.
#[derive(clap::Args)]
pub(crate) struct JobArgs {
    #[command(flatten)]
    pub(crate) file: JobFile,

    /// Date to print, as 2026-06-08, and to count the job's history up to
    /// [default: a line to fill in, and today]
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub(crate) date: Option<String>,

    #[command(flatten)]
    pub(crate) ground: GroundArgs,
}

/// Which ground counts, and the units that it is told in.
#[derive(clap::Args)]
pub(crate) struct GroundArgs {
    /// Leave out turf beyond the lot line
    #[arg(long)]
    pub(crate) within_parcel: bool,

    /// Units in print
    #[arg(long, value_enum, default_value_t)]
    units: Units,
}

/// Form of an answer that is also rows for a spreadsheet.
#[derive(Clone, Copy, Default, clap::ValueEnum)]
pub(crate) enum Format {
    #[default]
    Table,
    Json,
    Csv,
}

impl JobArgs {
    /// What to plan with; a job with a history is counted up to today where no date is given.
    pub(crate) fn options(&self, job: &Job) -> PlanOptions {
        PlanOptions {
            within_parcel: self.ground.within_parcel,
            date: self.date.clone().or_else(|| today_if_counted(job)),
            ..PlanOptions::default()
        }
    }

    pub(crate) fn units(&self) -> UnitSystem {
        self.ground.units()
    }
}

impl GroundArgs {
    pub(crate) fn units(&self) -> UnitSystem {
        self.units.into()
    }
}
