//! `turfplat`: from a property map to treated areas, doses and a spray map.

mod aerial;
mod answer;
mod buy;
mod calibrate;
mod check;
mod convert;
mod day;
mod degree_days;
mod explain;
mod export;
mod files;
mod further_sheets;
mod heat_models;
mod input;
mod job;
mod job_args;
mod job_edit;
mod kept_files;
mod label;
mod ledger;
mod letters;
mod limits;
mod measure;
mod one_plan;
mod own_files;
mod paper;
mod passes;
mod plan;
mod plan_files;
mod plan_records;
mod plan_table;
mod posting;
mod prices;
mod product;
mod progress;
mod quote;
mod quote_records;
mod quote_table;
mod record;
mod record_rows;
mod record_table;
mod record_told;
mod reference;
mod rows;
mod season;
mod season_job;
mod season_records;
mod season_table;
mod sheet;
mod table;
mod temperatures;
mod wind;
mod windows;
mod work_order;

use std::io::{self, Write};
use std::path::Path;
use std::process::ExitCode;
use std::time::SystemTime;

use clap::{Parser, Subcommand};

/// From a property map to treated areas, doses, loads and a spray map.
///
/// Reads turf, beds, buildings, water and wells from GeoJSON, takes out what is not turf and the
/// strips beside water and round wells, and works out how much of a product each zone takes.
/// The product's label is the law and outranks every number here.
#[derive(Parser)]
#[command(
    name = "turfplat",
    version,
    after_help = "Example:\n  turfplat plan examples/demo/map.geojson \\\n    --job examples/demo/job.toml --out plan"
)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    Measure(measure::Args),
    Plan(plan::Args),
    Explain(explain::Args),
    Day(day::Args),
    Season(season::Args),
    DegreeDays(degree_days::Args),
    Sheet(sheet::Args),
    WorkOrder(work_order::Args),
    Posting(posting::Args),
    Windows(windows::Args),
    Check(check::Args),
    Species(reference::SpeciesArgs),
    Products(reference::ProductsArgs),
    Product(product::Args),
    Job(job::Args),
    Quote(quote::Args),
    Prices(prices::Args),
    // Far larger than the others.
    Record(Box<record::Args>),
    Rules(reference::RulesArgs),
    Convert(convert::Args),
    Calibrate(calibrate::Args),
}

/// How a command ended, where it did end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Verdict {
    Done,
    /// At least one property or application could not be done.
    Refused,
}

/// Where answers and remarks go.
struct Output<'a> {
    out: &'a mut dyn Write,
    remarks: &'a mut dyn Write,
}

impl Command {
    /// The one file that it was asked to write.
    fn file(&self) -> Option<&Path> {
        match self {
            Command::Measure(args) => args.output.as_deref(),
            Command::Day(args) => args.output.as_deref(),
            Command::Sheet(args) => Some(&args.output),
            Command::WorkOrder(args) => args.output.as_deref(),
            _ => None,
        }
    }
}

fn main() -> ExitCode {
    let started = SystemTime::now();
    let cli = Cli::parse();
    let (mut out, mut remarks) = (io::BufWriter::new(io::stdout().lock()), io::stderr());
    let result = {
        let mut output = Output { out: &mut out, remarks: &mut remarks };
        match &cli.command {
            Command::Measure(args) => measure::run(args, &mut output),
            Command::Plan(args) => plan::run(args, &mut output),
            Command::Explain(args) => explain::run(args, &mut output),
            Command::Day(args) => day::run(args, &mut output),
            Command::Season(args) => season::run(args, &mut output),
            Command::DegreeDays(args) => degree_days::run(args, &mut output),
            Command::Sheet(args) => sheet::run(args, &mut output),
            Command::WorkOrder(args) => work_order::run(args, &mut output),
            Command::Posting(args) => posting::run(args, &mut output),
            Command::Windows(args) => windows::run(args, &mut output),
            Command::Check(args) => check::run(args, &mut output),
            Command::Species(args) => reference::species(args, &mut output),
            Command::Products(args) => reference::products(args, &mut output),
            Command::Product(args) => product::run(args, &mut output),
            Command::Job(args) => job::run(args, &mut output),
            Command::Quote(args) => quote::run(args, &mut output),
            Command::Prices(args) => prices::run(args, &mut output),
            Command::Record(args) => record::run(args, &mut output),
            Command::Rules(args) => reference::rules(args, &mut output),
            Command::Convert(args) => convert::run(args, &mut output),
            Command::Calibrate(args) => calibrate::run(args, &mut output),
        }
    };
    let result = result.and_then(|verdict| {
        if let Verdict::Refused = verdict {
            kept_files::tell_old(cli.command.file(), started, &mut remarks)?;
        }
        letters::tell(&mut remarks)?;
        Ok(verdict)
    });
    match result.and_then(|verdict| out.flush().map(|()| verdict).map_err(Into::into)) {
        Ok(Verdict::Done) => ExitCode::SUCCESS,
        Ok(Verdict::Refused) => ExitCode::from(1),
        // Whoever reads `turfplat … | head` has seen enough.
        Err(error) if is_closed_pipe(&error) => ExitCode::SUCCESS,
        Err(error) => {
            // Nowhere is left to tell of a failure to tell.
            let _ = writeln!(remarks, "error: {error:#}");
            ExitCode::from(2)
        }
    }
}

fn is_closed_pipe(error: &anyhow::Error) -> bool {
    error.chain().any(|cause| {
        cause
            .downcast_ref::<io::Error>()
            .is_some_and(|error| error.kind() == io::ErrorKind::BrokenPipe)
    })
}
