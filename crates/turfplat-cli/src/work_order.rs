//! `turfplat work-order MAP… --job JOB -o FILE`: the paper that a crew carries, as PDF.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use anyhow::{Context, anyhow, bail};
use turfplat::units::Length;
use turfplat::{ApplicationPlan, Job, PlanOptions, PropertyPlan, Refusal, plan_each};

use crate::aerial::{AerialArgs, Pictured};
use crate::input::{
    MapArgs, check_unchanged, distance, is_of_several, not_for_property, refuse_job_on,
    tell_refusal,
};
use crate::job_args::JobArgs;
use crate::own_files::{self, OrderNames};
use crate::paper::{self, OrderPaper, PageName};
use crate::passes::PassArgs;
use crate::progress::Progress;
use crate::wind::WindArgs;
use crate::{Output, Verdict, files};

/// Write the work order of an application as PDF: map, doses, loads, mixing, distances, blanks
///
/// One page for a house where that can be read. PDF/A-2b, tagged, the same bytes every time. Needs
/// a turfplat built with the feature pdf: cargo install --path crates/turfplat-cli --features pdf
#[derive(clap::Args)]
#[command(
    mut_arg("date", |date| {
        date.help(
            "Date to print, as 2026-06-08, and to count the job's history up to \
             [default: the application's or a line to fill in, and today]",
        )
    }),
    after_help = "Example:\n  turfplat work-order examples/demo/map.geojson \\\n    --job examples/demo/job.toml --date 2026-06-08 -o june.pdf"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    #[command(flatten)]
    job: JobArgs,

    /// Application to order, by its name in the job [default: the only one; with --out all]
    #[arg(long, value_name = "NAME")]
    application: Option<String>,

    /// Property to work on, by its id on the map [default: the only one; with --out all]
    #[arg(long, value_name = "ID")]
    property: Option<String>,

    /// Paper
    #[arg(long, value_enum, default_value_t)]
    page: PageName,

    #[command(flatten)]
    aerial: AerialArgs,

    /// How far off drawn corners may be where the map does not say so, such as 1ft (standard deviation)
    #[arg(long, value_name = "DIST", value_parser = distance)]
    drawn: Option<Length>,

    #[command(flatten)]
    walk: PassArgs,

    #[command(flatten)]
    wind: WindArgs,

    /// File to write, ending in .pdf
    #[arg(short, long, value_name = "FILE", required_unless_present = "out")]
    pub(crate) output: Option<PathBuf>,

    /// Folder for one file of each property and application
    #[arg(long, value_name = "DIR", conflicts_with = "output")]
    out: Option<PathBuf>,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    paper::check_built_in()?;
    if let Some(file) = &args.output {
        let mut kept = args.map.kept();
        args.aerial.keep(&mut kept);
        kept.check([file.clone()])?;
        paper::check_name(file)?;
    }
    let aerial = args.aerial.open()?;
    let map = args.map.read()?;
    let Some(job) = args.job.file.read(output)? else { return Ok(Verdict::Refused) };
    if args.output.is_some() && args.property.is_none() && is_of_several(&map) {
        bail!(
            "the map has several properties; choose one with --property ID, or write all with --out DIR"
        );
    }
    let wanted = wanted(&job, args)?;
    args.walk.check(&job)?;
    let options = PlanOptions {
        property: args.property.clone(),
        drawn_to: args.drawn,
        edge_first: args.walk.edge_first,
        wind: args.wind.wind(),
        ..args.job.options(&job)
    };
    let setting = OrderPaper {
        date: args.job.date.as_deref(),
        units: args.job.units(),
        page: args.page,
        passes: args.walk.passes,
        aerial: aerial.as_ref(),
    };
    let look = |plan: PropertyPlan<'_>| -> anyhow::Result<Orders> {
        let of_it = plan.applications.iter().filter(|it| wanted.contains(&it.name));
        let mut orders = Orders {
            property: plan.property.clone(),
            refusal: plan.refusal(),
            papers: Vec::new(),
            undosed: Vec::new(),
            not_for_it: None,
            pictured: Pictured::default(),
        };
        if !plan.applications.iter().any(|it| wanted.contains(&it.name)) {
            let its: Vec<&str> = plan.applications.iter().map(|it| it.name).collect();
            orders.not_for_it = Some(not_for_property(&plan.property, &wanted, &its));
        }
        for application in of_it {
            if application.zones.is_empty() {
                orders.undosed.push(nothing_to_do(application));
                continue;
            }
            let (paper, pictured) = paper::work_order(&setting, &plan, application)?;
            if args.output.is_some() && pictured.is_of_nothing() {
                // Whoever names a picture wants to see it.
                orders.pictured = pictured;
                continue;
            }
            // The applications of a property share its turf.
            orders.pictured = pictured;
            orders.papers.push((application.name.to_owned(), paper));
        }
        Ok(orders)
    };
    let names = OrderNames::of(&map, &wanted);
    let mut progress = Progress::new("setting", map.properties().len() as u64, false);
    let (mut done, mut written, mut refused) = (0, 0, false);
    let mut not_for_it = None;
    let mut pictured = Pictured::default();
    let mut seen: Vec<String> = Vec::new();
    let mut in_folder: HashSet<String> = HashSet::new();
    let result = plan_each(&map, &job, &options, look, |result| -> anyhow::Result<()> {
        done += 1;
        progress.at(done);
        let orders = match result {
            Ok(orders) => orders?,
            Err(refusal) => {
                // Of what else is on the map nothing was asked.
                let is_asked_for = args.property.is_none() || refusal.property == args.property;
                refused |= is_asked_for;
                seen.extend(is_asked_for.then(|| refusal.property.clone().unwrap_or_default()));
                return tell_refusal(&refusal, output.remarks);
            }
        };
        seen.push(orders.property.clone());
        if let Some(refusal) = &orders.refusal {
            refused = true;
            tell_refusal(refusal, output.remarks)?;
        }
        for reason in &orders.undosed {
            refused = true;
            let property = Some(orders.property.clone());
            tell_refusal(&Refusal { property, reasons: vec![reason.clone()] }, output.remarks)?;
        }
        not_for_it = not_for_it.take().or(orders.not_for_it);
        pictured.add(orders.pictured);
        for (application, paper) in orders.papers {
            let place = match (&args.output, &args.out) {
                (Some(file), _) => file.clone(),
                (None, folder) => {
                    let folder = folder.as_deref().unwrap_or(Path::new("."));
                    std::fs::create_dir_all(folder)
                        .with_context(|| format!("cannot make {}", folder.display()))?;
                    let name = names.file(&orders.property, &application);
                    let name = name.unwrap_or_else(|| "work-order.pdf".to_owned());
                    in_folder.insert(name.clone());
                    folder.join(name)
                }
            };
            files::write(&place, &paper)?;
            written += 1;
        }
        Ok(())
    });
    drop(progress);
    check_unchanged(&map)?;
    if let Err(error) = result {
        refuse_job_on(&map, error.downcast()?, output)?;
        return Ok(Verdict::Refused);
    }
    if let Some(folder) = &args.out {
        let mut forgotten = Vec::new();
        for property in seen {
            let all = wanted.iter().filter_map(|application| names.file(&property, application));
            let old: Vec<String> = all.filter(|name| !in_folder.contains(name)).collect();
            if own_files::forget(folder, old.iter().map(String::as_str))? {
                forgotten.push(property);
            }
        }
        own_files::tell_forgotten(&forgotten, output.remarks)?;
    }
    refused |= pictured.tell(output.remarks)?;
    match (written, not_for_it, &args.property) {
        (0, Some(reason), _) if !refused => bail!(reason),
        (0, None, Some(id)) if !refused => bail!("no property {id:?} has turf on the map"),
        (0, ..) => return Ok(Verdict::Refused),
        _ => {}
    }
    let place = args.output.as_ref().or(args.out.as_ref()).map(|place| place.display());
    let place = place.map_or_else(String::new, |place| format!(" to {place}"));
    let plural = if written == 1 { "" } else { "s" };
    writeln!(output.remarks, "wrote {written} work order{plural}{place}")?;
    Ok(if refused { Verdict::Refused } else { Verdict::Done })
}

/// What came of one property.
struct Orders {
    property: String,
    refusal: Option<Refusal>,
    /// By the application's name.
    papers: Vec<(String, Vec<u8>)>,
    undosed: Vec<String>,
    /// What a picture beneath its maps shows of it.
    pictured: Pictured,
    /// Why nothing that is asked for is for it.
    not_for_it: Option<String>,
}

/// An order to do nothing is none.
fn nothing_to_do(application: &ApplicationPlan<'_>) -> String {
    let first = application.skipped.first();
    let why = first.map_or_else(String::new, |it| format!(" ({}: {})", it.zone, it.reason));
    format!("application {:?} doses nothing on any zone{why}", application.name)
}

/// The applications that are asked for.
fn wanted<'j>(job: &'j Job, args: &Args) -> anyhow::Result<Vec<&'j str>> {
    match &args.application {
        None if args.output.is_some() => {
            let only = job.application(None);
            let only = only.map_err(|error| anyhow!("{error}; or write all with --out DIR"))?;
            Ok(vec![&only.name])
        }
        None => Ok(job.applications.iter().map(|it| it.name.as_str()).collect()),
        name => Ok(vec![&job.application(name.as_deref())?.name]),
    }
}
