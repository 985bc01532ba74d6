//! `turfplat job new`, `check`, `schema`: what is to be done, as a file.

use std::fs;
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use turfplat::units::UnitSystem;
use turfplat::{Job, JobDraft, PlanOptions, PropertyMap, PropertyPlan, job_schema, plan_each};

use crate::input::{MapArgs, Units, check_unchanged, date, tell_refusal, today_if_counted};
use crate::{Output, Verdict, files, job_edit, reference};

/// Begin, check or describe a job file: what goes on which turf
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat job new --map examples/demo/map.geojson --out june.toml"
)]
pub(crate) struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    New(NewArgs),
    Check(CheckArgs),
    /// Print the JSON Schema of job files, for editors
    #[command(after_help = "Example:\n  turfplat job schema")]
    Schema,
}

/// Ask what is to be done and write a job file; without a terminal, write one to fill in
///
/// With a map its zones are listed with their areas and grasses. What is not known is left blank,
/// and said. `plan` reads the file as it is and treats what is filled in.
#[derive(clap::Args)]
#[command(
    mut_arg("maps", |maps| {
        maps.required(false)
            .long("map")
            .num_args(1)
            .help("Property map whose zones are listed; may be given several times")
    }),
    after_help = "Example:\n  turfplat job new --map examples/demo/map.geojson --out june.toml"
)]
struct NewArgs {
    #[command(flatten)]
    map: MapArgs,

    /// File to write; it must not be there yet [default: the answer on standard output]
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,

    /// Units of the areas
    #[arg(long, value_enum, default_value_t)]
    units: Units,
}

/// Read a job file and say what is wrong with it, without planning
///
/// With maps: also whether the zones that it names are on them, and what of a plan would be refused.
#[derive(clap::Args)]
#[command(
    mut_arg("maps", |maps| {
        maps.required(false).help("Property maps whose zones the job names")
    }),
    after_help = "Example:\n  turfplat job check examples/demo/job.toml examples/demo/map.geojson"
)]
struct CheckArgs {
    /// Job file (TOML)
    #[arg(value_name = "JOB")]
    job: PathBuf,

    #[command(flatten)]
    map: MapArgs,

    /// Day of the plan, as 2026-06-08, to which history and intervals are counted [default: today]
    #[arg(long, value_name = "DATE", value_parser = date)]
    date: Option<String>,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    match &args.what {
        What::New(args) => new(args, output),
        What::Check(args) => check(args, output),
        What::Schema => {
            output.out.write_all(job_schema().as_bytes())?;
            Ok(Verdict::Done)
        }
    }
}

fn new(args: &NewArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let file = args.out.as_deref();
    // Before all the questions, not after.
    if let Some(file) = file
        && fs::symlink_metadata(file).is_ok()
        && !files::is_device(file)
    {
        bail!("{} is there already; name a new file", file.display());
    }
    let units: UnitSystem = args.units.into();
    let mut draft = JobDraft::blank();
    let mut verdict = Verdict::Done;
    if args.map.is_given() {
        let map = args.map.read()?;
        for refusal in turfplat::refusals(&map) {
            tell_refusal(&refusal, output.remarks)?;
            verdict = Verdict::Refused;
        }
        draft = JobDraft::of_map(&map, units);
        check_unchanged(&map)?;
    }
    // A map on standard input leaves no terminal to answer from.
    if io::stdin().is_terminal() && !args.map.is_stream() {
        let folder = file.and_then(Path::parent).unwrap_or(Path::new("")).to_owned();
        let load = move |product: &str| fs::read_to_string(folder.join(product));
        ask(&mut draft, &mut io::stdin().lock(), output.remarks, &load)?;
    }
    let text = draft.to_toml();
    match file {
        None => output.out.write_all(text.as_bytes())?,
        Some(file) => {
            files::write(file, text.as_bytes())?;
            writeln!(output.remarks, "wrote {}", file.display())?;
        }
    }
    let left = draft.left();
    if !left.is_empty() {
        writeln!(output.remarks, "left to fill in before anything is dosed:")?;
        for key in left {
            writeln!(output.remarks, "  {key}")?;
        }
    }
    Ok(verdict)
}

/// Asks each question until its answer can be read or is left empty.
fn ask(
    draft: &mut JobDraft,
    answers: &mut dyn BufRead,
    to: &mut dyn Write,
    load: &dyn Fn(&str) -> io::Result<String>,
) -> anyhow::Result<()> {
    while let Some(question) = draft.next_question() {
        write!(to, "{}", question.prompt())?;
        to.flush()?;
        let mut line = String::new();
        if answers.read_line(&mut line).context("cannot read the answer")? == 0 {
            bail!("the answers end before the last question; nothing was written");
        }
        if let Err(error) = draft.answer(&question, &line, load) {
            writeln!(to, "  {error}")?;
        }
    }
    Ok(())
}

fn check(args: &CheckArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let name = args.job.display();
    let text = fs::read_to_string(&args.job).with_context(|| format!("cannot read {name}"))?;
    let folder = args.job.parent().unwrap_or(Path::new("")).to_owned();
    let load = move |product: &str| fs::read_to_string(folder.join(product));
    let checked = Job::read(&name.to_string(), &text, &load).and_then(|job| {
        job.check_date(Some(&reference::today()))?;
        job.check_doses()?;
        Ok(job)
    });
    let map = args.map.is_given().then(|| args.map.read()).transpose()?;
    let checked = match (checked, &map) {
        (Ok(job), Some(map)) => job.check_map(map).map(|()| job),
        (checked, _) => checked,
    };
    let job = match checked {
        Ok(job) => job,
        Err(error) if error.is_unreadable() => return Err(error.into()),
        Err(error) => {
            let line = error.key().and_then(|key| job_edit::line_of(&text, &key));
            let line = line.map_or_else(String::new, |line| format!("line {line}: "));
            writeln!(output.remarks, "refused: {line}{error}")?;
            return Ok(Verdict::Refused);
        }
    };
    for application in &job.applications {
        let zones =
            application.zones.as_ref().map_or_else(|| "every zone".to_owned(), |it| it.join(", "));
        let equipment = &application.equipment;
        writeln!(
            output.out,
            "{}: {zones}, by {} ({})",
            application.name, equipment.name, equipment.kind
        )?;
        for chosen in &application.products {
            let label = match &chosen.label_checked {
                Some(day) => format!("label checked {day}"),
                None => "no label_checked: nothing of it is dosed".to_owned(),
            };
            writeln!(output.out, "  {} ({}): {label}", chosen.product.name, chosen.product.id)?;
        }
    }
    match map {
        None => Ok(Verdict::Done),
        Some(map) => check_plan(&map, &job, args.date.clone(), output),
    }
}

/// Says what a plan of the job on the map would be refused for.
fn check_plan(
    map: &PropertyMap,
    job: &Job,
    date: Option<String>,
    output: &mut Output<'_>,
) -> anyhow::Result<Verdict> {
    let today = today_if_counted(job).filter(|_| date.is_none());
    if let Some(today) = &today {
        writeln!(output.remarks, "counted up to today, {today}; another day with --date")?;
    }
    let options = PlanOptions { date: date.or(today), ..PlanOptions::default() };
    let mut verdict = Verdict::Done;
    let look = |plan: PropertyPlan<'_>| plan.refusal();
    plan_each(map, job, &options, look, |result| -> anyhow::Result<()> {
        let refusal = match result {
            Ok(refusal) => refusal,
            Err(refusal) => Some(refusal),
        };
        if let Some(refusal) = refusal {
            tell_refusal(&refusal, output.remarks)?;
            verdict = Verdict::Refused;
        }
        Ok(())
    })?;
    check_unchanged(map)?;
    Ok(verdict)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn answered(lines: &[&str], more: usize) -> (anyhow::Result<()>, JobDraft, String) {
        let answers = lines.join("\n") + &"\n".repeat(more);
        let (mut draft, mut told) = (JobDraft::blank(), Vec::new());
        let load = |_: &str| Err(io::ErrorKind::NotFound.into());
        let done = ask(&mut draft, &mut answers.as_bytes(), &mut told, &load);
        (done, draft, String::from_utf8(told).unwrap())
    }

    #[test]
    fn a_wrong_answer_is_asked_again_with_what_to_write() {
        let (done, draft, told) =
            answered(&["fescue", "tall-fescue", "", "", "", "4", "4 gal"], 40);
        done.unwrap();
        assert!(told.contains("\"fescue\" may be tall-fescue or fine-fescue"), "{told}");
        assert!(told.contains("equipment.sprayer.tank: \"4\" has no unit"), "{told}");
        assert!(draft.to_toml().contains("\ntank = \"4 gal\"\n"), "{}", draft.to_toml());
    }

    #[test]
    fn answers_that_end_too_early_write_nothing() {
        let (done, _, _) = answered(&["tall-fescue"], 1);
        assert!(done.unwrap_err().to_string().contains("nothing was written"));
    }
}
