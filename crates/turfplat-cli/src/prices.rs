//! `turfplat prices new`, `check`: what your work costs, as a file.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use turfplat::Job;
use turfplat::dose::products;
use turfplat::price::{PriceError, PriceList, TEMPLATE};

use crate::input::{date, read_job};
use crate::reference::today;
use crate::{Output, Verdict, files};

/// Begin or check a price list: what your work costs
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat prices check examples/demo/prices.toml")]
pub(crate) struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Write a price list to fill in, with a word on every key; its figures are invented
    #[command(after_help = "Example:\n  turfplat prices new my-prices.toml")]
    New {
        /// File to write; it must not be there yet [default: the answer on standard output]
        file: Option<PathBuf>,
    },
    /// Read a price list, say what is wrong with it, and how it counts
    #[command(
        after_help = "Example:\n  turfplat prices check examples/demo/prices.toml --job examples/demo/job.toml"
    )]
    Check {
        /// Price list (TOML)
        file: PathBuf,

        /// A job: also which service is for which of its applications
        #[arg(long, value_name = "JOB")]
        job: Option<PathBuf>,

        /// Day of the quotes, as 2026-06-08: whether the day for paying ahead fits it [default: today]
        #[arg(long, value_name = "DATE", value_parser = date)]
        date: Option<String>,
    },
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    match &args.what {
        What::New { file } => new(file.as_deref(), output),
        What::Check { file, job, date } => check(file, job.as_deref(), date.as_deref(), output),
    }
}

fn new(file: Option<&Path>, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let Some(file) = file else {
        output.out.write_all(TEMPLATE.as_bytes())?;
        return Ok(Verdict::Done);
    };
    if fs::symlink_metadata(file).is_ok() && !files::is_device(file) {
        bail!("{} is there already; name a new file", file.display());
    }
    files::write(file, TEMPLATE.as_bytes())?;
    writeln!(output.remarks, "wrote {0}; check it: turfplat prices check {0}", file.display())?;
    Ok(Verdict::Done)
}

/// Reads a price list; `None` where it is refused, which has been said then.
pub(crate) fn read(path: &Path, output: &mut Output<'_>) -> anyhow::Result<Option<PriceList>> {
    let name = path.display().to_string();
    let text = fs::read_to_string(path).with_context(|| format!("cannot read {name}"))?;
    match PriceList::read(&name, &text) {
        Ok(list) => Ok(Some(list)),
        Err(error @ PriceError::NotAList { .. }) => bail!("{error}"),
        Err(error) => {
            writeln!(output.remarks, "refused: {error}")?;
            Ok(None)
        }
    }
}

/// What services name and nothing is called, in the catalogue or in the job.
pub(crate) fn unmatched(list: &PriceList, job: Option<&Job>) -> Vec<PriceError> {
    let known: Vec<&str> = products().iter().map(|product| product.id.as_str()).collect();
    let of_job = job.map(|job| {
        let applications = &job.applications;
        let names: Vec<&str> = applications.iter().map(|it| it.name.as_str()).collect();
        let products = applications.iter().flat_map(|it| &it.products);
        let ids: Vec<&str> = products.map(|chosen| chosen.product.id.as_str()).collect();
        (names, ids)
    });
    list.unmatched(&known, of_job.as_ref().map(|(names, ids)| (names.as_slice(), ids.as_slice())))
}

fn check(
    file: &Path,
    job: Option<&Path>,
    day: Option<&str>,
    output: &mut Output<'_>,
) -> anyhow::Result<Verdict> {
    let Some(list) = read(file, output)? else { return Ok(Verdict::Refused) };
    let currency = list.currency;
    writeln!(output.out, "{}, prices in {currency} per {}", file.display(), list.per.name())?;
    for service in &list.services {
        writeln!(output.out, "{}", list.describe(service))?;
    }
    for said in list.how_it_is_counted() {
        writeln!(output.out, "  {said}")?;
    }
    let mut verdict = Verdict::Done;
    if let Err(error) = list.on(&day.map_or_else(today, str::to_owned)) {
        writeln!(output.remarks, "refused: {error}")?;
        verdict = Verdict::Refused;
    }
    let Some(job) = job else {
        for found in unmatched(&list, None) {
            writeln!(
                output.remarks,
                "note: {found} (one of your own product files is known with --job)"
            )?;
        }
        return Ok(verdict);
    };
    let Some(job) = read_job(job, output)? else { return Ok(Verdict::Refused) };
    for found in unmatched(&list, Some(&job)) {
        writeln!(output.remarks, "note: {found}")?;
    }
    for application in &job.applications {
        let products: Vec<&str> =
            application.products.iter().map(|chosen| chosen.product.id.as_str()).collect();
        match list.service_of(&application.name, &products) {
            Some(service) => writeln!(
                output.out,
                "application {:?} of the job: service {:?}",
                application.name, service.name
            )?,
            None => {
                writeln!(
                    output.remarks,
                    "refused: application {0:?} has no service in {1}; add a [[service]] with applications = [{0:?}]",
                    application.name, list.file
                )?;
                verdict = Verdict::Refused;
            }
        }
    }
    Ok(verdict)
}
