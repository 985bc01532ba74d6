//! `turfplat sheet MAP… --job JOB -o FILE`: the spray map of one application.

use std::path::PathBuf;

use anyhow::{Context, bail};
use turfplat::sheet::{Page, png, svg};
use turfplat::{PlanOptions, Planned, plan, spray_map};

use crate::aerial::{AerialArgs, Beneath};
use crate::input::{
    MapArgs, Units, date, is_of_several, read_job, refuse_job_on, tell_refusal, today_if_counted,
};
use crate::passes::PassArgs;
use crate::{Output, Verdict, files};

/// Draw the spray map of one application, as PNG or SVG
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat sheet examples/demo/map.geojson \\\n    --job examples/demo/job.toml --date 2026-06-08 -o june.png"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    /// Job file
    #[arg(long, value_name = "JOB")]
    job: PathBuf,

    /// Application to draw, by its name in the job [default: the only one]
    #[arg(long, value_name = "NAME")]
    application: Option<String>,

    /// Property to draw, by its id on the map [default: the only one]
    #[arg(long, value_name = "ID")]
    property: Option<String>,

    /// Date to print, as 2026-06-08 [default: a line to fill in]
    #[arg(long, value_name = "DATE", value_parser = date)]
    date: Option<String>,

    /// Paper, or a picture for a screen
    #[arg(long, value_enum, default_value_t)]
    page: PageName,

    #[command(flatten)]
    aerial: AerialArgs,

    /// Leave out turf beyond the lot line
    #[arg(long)]
    within_parcel: bool,

    #[command(flatten)]
    walk: PassArgs,

    /// Units in print
    #[arg(long, value_enum, default_value_t)]
    units: Units,

    /// File to write; its ending, .png or .svg, says what
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
}

#[derive(Clone, Copy, Default, clap::ValueEnum)]
enum PageName {
    /// US Letter at 300 dpi
    #[default]
    Letter,
    /// ISO A4 at 300 dpi
    A4,
    /// A picture for a screen
    Screen,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    args.map.check_target(&args.output)?;
    let ending = args.output.extension().and_then(|ending| ending.to_str()).map(str::to_lowercase);
    let as_png = match ending.as_deref() {
        Some("png") => true,
        Some("svg") => false,
        _ => bail!("{}: end the file name with .png or .svg", args.output.display()),
    };
    let aerial = args.aerial.open()?;
    let map = args.map.read()?;
    let Some(job) = read_job(&args.job, output)? else { return Ok(Verdict::Refused) };
    args.walk.check(&job)?;
    if args.property.is_none() && is_of_several(&map) {
        bail!(
            "the map has several properties; choose one with --property ID, or draw all with turfplat plan --out DIR"
        );
    }
    let options = PlanOptions {
        within_parcel: args.within_parcel,
        date: args.date.clone().or_else(|| today_if_counted(&job)),
        property: args.property.clone(),
        edge_first: args.walk.edge_first,
        ..PlanOptions::default()
    };
    let Planned { plans, refusals } = match plan(&map, &job, &options) {
        Ok(planned) => planned,
        Err(error) => {
            refuse_job_on(&map, error, output)?;
            return Ok(Verdict::Refused);
        }
    };
    for refusal in &refusals {
        tell_refusal(refusal, output.remarks)?;
    }
    let plan = match (&args.property, &plans[..]) {
        (_, [plan, ..]) => plan,
        (Some(id), []) if refusals.is_empty() => bail!("no property {id:?} has turf on the map"),
        (_, []) => return Ok(Verdict::Refused),
    };
    let names = || {
        plan.applications.iter().map(|application| application.name).collect::<Vec<_>>().join(", ")
    };
    let application = match (&args.application, &plan.applications[..]) {
        (None, [only]) => only,
        (None, _) => {
            bail!("the job has several applications; choose one with --application: {}", names())
        }
        (Some(name), applications) => {
            let found =
                applications.iter().find(|application| application.name.eq_ignore_ascii_case(name));
            found.with_context(|| {
                format!("no application {name:?} for this property; there is: {}", names())
            })?
        }
    };
    if application.zones.is_empty() && application.skipped.iter().any(|zone| zone.refused) {
        // A map of nothing would look like one of a job well done.
        return Ok(Verdict::Refused);
    }
    let page = match args.page {
        PageName::Letter => Page::Letter,
        PageName::A4 => Page::A4,
        PageName::Screen => Page::Screen,
    };
    let mut map = spray_map(plan, application, args.date.as_deref(), args.units.into());
    map.trail.shows_passes = args.walk.passes;
    if let Some(aerial) = &aerial {
        match aerial.beneath(plan, &mut map, page)? {
            Beneath::All => {}
            Beneath::Part(remark) => writeln!(output.remarks, "remark: {remark}")?,
            Beneath::Nothing(reason) => {
                writeln!(output.remarks, "refused: {reason}")?;
                return Ok(Verdict::Refused);
            }
        }
    }
    let text = svg(&map, page);
    if as_png {
        files::write(&args.output, &png(&text, page)?)?;
    } else {
        files::write(&args.output, text.as_bytes())?;
    }
    writeln!(output.remarks, "wrote {}", args.output.display())?;
    let drawn_alone = refusals.is_empty() || args.property.is_some();
    Ok(if drawn_alone && plan.refused.is_empty() { Verdict::Done } else { Verdict::Refused })
}
