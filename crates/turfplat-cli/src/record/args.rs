//! The words of `turfplat record`.

use std::path::PathBuf;

use jiff::civil::Date;

use crate::input::{Units, date};
use crate::paper::PageName;
use crate::record_told::Told;

/// Keep records of what was applied: add, complete, correct, find, export
///
/// A ledger is one SQLite file. Records are added and never changed: what was wrong is corrected by a new
/// record that points to the old one. Each is on the disk before its number is told.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat plan examples/demo/map.geojson --job examples/demo/job.toml --out plan --date 2026-06-08\n  turfplat record new plan/plan.json -o happened.toml    # fill it in\n  turfplat record add plan/plan.json --happened happened.toml --ledger records.sqlite\n  turfplat record find --ledger records.sqlite"
)]
pub(crate) struct Args {
    #[command(subcommand)]
    pub(super) what: What,
}

#[derive(clap::Subcommand)]
pub(super) enum What {
    New(NewArgs),
    Add(AddArgs),
    Complete(CompleteArgs),
    Correct(CorrectArgs),
    Find(FindArgs),
    Show(ShowArgs),
    Export(ExportArgs),
    Check(CheckArgs),
    Fields(FieldsArgs),
    Backup(BackupArgs),
}

/// Of which plan, property and application.
#[derive(clap::Args)]
pub(super) struct Of {
    /// The plan's file, plan.json
    #[arg(value_name = "PLAN")]
    pub(super) plan: PathBuf,

    /// Property, by its id in the plan [default: the only one]
    #[arg(long, value_name = "ID")]
    pub(super) property: Option<String>,

    /// Application, by its name in the plan [default: the only one]
    #[arg(long, value_name = "NAME")]
    pub(super) application: Option<String>,
}

/// Write a form for what happened, with a block for each load
///
/// Its amounts and areas are the plan's until somebody changes them; `checked = true` says that they were
/// looked over, and without it the form is refused.
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat record new plan/plan.json -o happened.toml")]
pub(super) struct NewArgs {
    #[command(flatten)]
    pub(super) of: Of,

    /// Day on which it was done [default: the plan's]
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub(super) date: Option<String>,

    /// Time zone of the times [default: this machine's]
    #[arg(long, value_name = "ZONE")]
    pub(super) timezone: Option<String>,

    /// File to write; it must not be there yet [default: standard output]
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: Option<PathBuf>,
}

/// Add a record of a finished plan and of what happened
///
/// What the lists of fields of the state and the federal ones ask for, and is not told, is listed; the record
/// is kept as a draft then.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  turfplat record add plan/plan.json --happened happened.toml --ledger records.sqlite\n  turfplat record add plan/plan.json --ledger records.sqlite --as-planned --timezone America/New_York \\\n    --started 07:40 --ended 09:10 --applicator \"B. Example\" --license X-0001 --lot L1 \\\n    --temperature \"68 F\" --wind \"5 mph\" --wind-from SW --location \"14 Alder Lane\""
)]
pub(super) struct AddArgs {
    #[command(flatten)]
    pub(super) of: Of,

    #[command(flatten)]
    pub(super) ledger: LedgerFile,

    #[command(flatten)]
    pub(super) told: Told,

    /// Units of remarks
    #[arg(long, value_enum, default_value_t)]
    pub(super) units: Units,
}

#[derive(clap::Args)]
pub(super) struct LedgerFile {
    /// The ledger; `record add` begins one where none is
    #[arg(long = "ledger", value_name = "FILE")]
    pub(super) path: PathBuf,
}

/// Fill in what a draft left open: a new record that points to it
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat record complete 3 --ledger records.sqlite --license X-0001 --wind \"5 mph\""
)]
pub(super) struct CompleteArgs {
    /// Number of the draft
    #[arg(value_name = "RECORD")]
    pub(super) id: i64,

    #[command(flatten)]
    pub(super) ledger: LedgerFile,

    #[command(flatten)]
    pub(super) told: Told,

    /// Units of remarks
    #[arg(long, value_enum, default_value_t)]
    pub(super) units: Units,
}

/// Say what was wrong in a record, and why: a new record that points to it
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  turfplat record correct 3 --ledger records.sqlite --why \"cup was read wrong\" --amount \"2.6 fl oz\"\n  turfplat record correct 4 --ledger records.sqlite --why \"written twice\" --take-back"
)]
pub(super) struct CorrectArgs {
    /// Number of the record
    #[arg(value_name = "RECORD")]
    pub(super) id: i64,

    #[command(flatten)]
    pub(super) ledger: LedgerFile,

    /// Why
    #[arg(long, value_name = "TEXT")]
    pub(super) why: String,

    /// It was written by mistake: nothing was applied
    #[arg(long)]
    pub(super) take_back: bool,

    #[command(flatten)]
    pub(super) told: Told,

    /// Units of remarks
    #[arg(long, value_enum, default_value_t)]
    pub(super) units: Units,
}

/// What is looked for.
#[derive(clap::Args)]
pub(super) struct Wanted {
    /// Only this property, by its id
    #[arg(long, value_name = "ID")]
    pub(super) property: Option<String>,

    /// Only this product, by its id
    #[arg(long, value_name = "ID")]
    pub(super) product: Option<String>,

    /// Only from this day on
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(super) from: Option<Date>,

    /// Only up to this day
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(super) to: Option<Date>,

    /// Only drafts, complete ones, or those that were taken back
    #[arg(long, value_enum)]
    pub(super) only: Option<StateName>,

    /// Also records that were completed or corrected since
    #[arg(long)]
    pub(super) all: bool,
}

#[derive(Clone, Copy, clap::ValueEnum)]
pub(super) enum StateName {
    Draft,
    Complete,
    TakenBack,
}

fn day(text: &str) -> Result<Date, String> {
    date(text)?.parse().map_err(|error: jiff::Error| error.to_string())
}

/// Find records by property, date and product
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat record find --ledger records.sqlite --property \"14 Alder Lane\" --from 2026-01-01"
)]
pub(super) struct FindArgs {
    #[command(flatten)]
    pub(super) ledger: LedgerFile,

    #[command(flatten)]
    pub(super) wanted: Wanted,

    /// Units of amounts
    #[arg(long, value_enum, default_value_t)]
    pub(super) units: Units,

    /// Form of the answer
    #[arg(long, value_enum, default_value_t)]
    pub(super) format: Format,
}

#[derive(Clone, Copy, Default, clap::ValueEnum)]
pub(super) enum Format {
    #[default]
    Table,
    Json,
    Csv,
}

/// Show all of one record: as it was and as it was planned, what is missing, what it stands instead of
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat record show 3 --ledger records.sqlite")]
pub(super) struct ShowArgs {
    /// Number of the record
    #[arg(value_name = "RECORD")]
    pub(super) id: i64,

    #[command(flatten)]
    pub(super) ledger: LedgerFile,

    /// Units of amounts
    #[arg(long, value_enum, default_value_t)]
    pub(super) units: Units,
}

/// Write records for an inspection: CSV, JSON, or PDF with one sheet a record
///
/// PDF needs a turfplat built with the feature pdf: cargo install --path crates/turfplat-cli --features pdf
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat record export --ledger records.sqlite --from 2026-01-01 --to 2026-12-31 -o 2026.csv"
)]
pub(super) struct ExportArgs {
    #[command(flatten)]
    pub(super) ledger: LedgerFile,

    #[command(flatten)]
    pub(super) wanted: Wanted,

    /// Units of amounts
    #[arg(long, value_enum, default_value_t)]
    pub(super) units: Units,

    /// Paper
    #[arg(long, value_enum, default_value_t)]
    pub(super) page: PageName,

    /// File to write, ending in .csv, .json or .pdf
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: PathBuf,
}

/// Read all of a ledger and say whether it is whole
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat record check --ledger records.sqlite")]
pub(super) struct CheckArgs {
    #[command(flatten)]
    pub(super) ledger: LedgerFile,
}

/// Copy a ledger to a new file, checked, also while others write to it
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat record backup --ledger records.sqlite records-2026-06-08.sqlite"
)]
pub(super) struct BackupArgs {
    #[command(flatten)]
    pub(super) ledger: LedgerFile,

    /// File to write; it must not be there yet
    #[arg(value_name = "FILE")]
    pub(super) to: PathBuf,
}

/// List which fields a record needs in which place, how long it is kept, and where that stands
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat record fields minnesota")]
pub(super) struct FieldsArgs {
    /// Only of this place [default: all that are known]
    #[arg(value_name = "PLACE")]
    pub(super) place: Option<String>,
}
