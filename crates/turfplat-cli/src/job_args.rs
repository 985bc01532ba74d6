//! The options that commands share: one wording and one meaning for each, whichever command is asked.

use std::path::PathBuf;

use turfplat::units::UnitSystem;
use turfplat::{Job, PlanOptions};

use crate::input::{Units, date, today_if_counted};

/// What is done, on which day, and how it is told.
#[derive(clap::Args)]
pub(crate) struct JobArgs {
    /// Job file: products, label rates, equipment, setbacks
    #[arg(id = "job", long = "job", value_name = "JOB")]
    pub(crate) file: PathBuf,

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
