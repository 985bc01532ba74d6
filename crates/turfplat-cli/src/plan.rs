//! `turfplat plan MAP… --job JOB`: doses, batches and loads, and all the files of a plan.

use std::collections::BTreeMap;
use std::path::PathBuf;

use anyhow::bail;
use turfplat::dose::Purchase;
use turfplat::units::{Length, UnitSystem};
use turfplat::{
    ApplicationPlan, Finding, PlanOptions, PropertyPlan, Refusal, Shopping, plan_each,
    property_plan_json, purchase_json,
};

use crate::aerial::{AerialArgs, Pictured};
use crate::answer::{Answer, Form, PROPERTIES, after_properties, indented};
use crate::input::{MapArgs, check_unchanged, checksum, distance, refuse_job_on, tell_refusal};
use crate::job_args::{Format, JobArgs};
use crate::own_files;
use crate::passes::PassArgs;
use crate::plan_files::{Drawing, Folders};
use crate::plan_records::{COLUMNS, SUMMARY_COLUMNS, records, refused_records, why_undosed};
use crate::plan_table::as_table;
use crate::progress::Progress;
use crate::rows::csv_text;
use crate::wind::WindArgs;
use crate::{Output, Verdict, buy, paper, table};

/// Work out doses, batches and loads for a job, and write its files
///
/// With --out DIR: plan.json and plan.csv, and for each application spray-map.png, spray-map.svg,
/// what lets other map programs open the picture in its place (.pgw, .prj, .png.aux.xml; of a map
/// on a plane of its own no system), more sheets (spray-map.sheet-2 …) where one is too small,
/// and zones.geojson (the treated shapes in WGS 84; of a map on a plane in its meters); where the job
/// gives a swath also passes.geojson (the way over them and where loads run out); with --pdf also
/// work-order.pdf. With several properties one folder each,
/// and summary.csv.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat plan examples/demo/map.geojson \\\n    --job examples/demo/job.toml --out plan --date 2026-06-08"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    #[command(flatten)]
    job: JobArgs,

    /// Folder for the files of the plan
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,

    /// Write a work order (PDF) for each application too
    #[arg(long, requires = "out")]
    pdf: bool,

    #[command(flatten)]
    aerial: AerialArgs,

    /// How far off drawn corners may be where the map does not say so, such as 1ft (standard deviation)
    #[arg(long, value_name = "DIST", value_parser = distance)]
    drawn: Option<Length>,

    #[command(flatten)]
    walk: PassArgs,

    #[command(flatten)]
    wind: WindArgs,

    /// Form of the answer
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let aerial = args.aerial.open()?;
    if aerial.is_some() && args.out.is_none() {
        bail!("--aerial is drawn beneath maps; say where they are to be written with --out DIR");
    }
    if args.pdf {
        paper::check_built_in()?;
    }
    let map = args.map.read()?;
    let Some(job) = args.job.file.read(output)? else { return Ok(Verdict::Refused) };
    args.walk.check(&job)?;
    if args.walk.passes && args.out.is_none() {
        bail!("--passes draws on the maps of a plan; add --out DIR");
    }
    let options = PlanOptions {
        drawn_to: args.drawn,
        edge_first: args.walk.edge_first,
        wind: args.wind.wind(),
        // For the record that is made of its files.
        made_from: if args.out.is_some() {
            let mut made_from = args.map.made_from()?;
            made_from.push(checksum("job", &args.job.file.path)?);
            made_from
        } else {
            Vec::new()
        },
        ..args.job.options(&job)
    };
    let units: UnitSystem = args.job.units();
    let drawing = Drawing {
        date: args.job.date.as_deref(),
        units,
        passes: args.walk.passes,
        aerial: aerial.as_ref(),
        orders: args.pdf,
    };
    let mut kept = args.map.kept();
    args.aerial.keep(&mut kept);
    let folders = args.out.as_deref().map(|folder| Folders::of(&map, folder, kept));
    let is_several = folders.as_ref().is_some_and(|folders| !folders.names.is_empty());
    let look = |plan: PropertyPlan<'_>| -> anyhow::Result<Piece> {
        let refusal = plan.refusal();
        let remark = match args.format {
            Format::Table => refusal.as_ref().map(|refusal| beside_table(refusal, &plan)),
            Format::Json | Format::Csv => refusal.clone(),
        };
        // Where a limit stops all of it, nothing is written.
        let written = refusal.is_none() || plan.doses_anything();
        let (summary, pictured) = match folders.as_ref().filter(|_| written) {
            None => Default::default(),
            Some(folders) => folders.write(&plan, &drawing)?,
        };
        let text = match args.format {
            Format::Table => as_table(&plan, units),
            Format::Json => indented(&property_plan_json(&plan, units)),
            Format::Csv => records(&plan, units)?,
        };
        let tell = matches!(args.format, Format::Table);
        let findings = if tell { plan.findings } else { Vec::new() };
        let undosed = plan.applications.iter().map(undosed).collect();
        Ok(Piece {
            property: plan.property.clone(),
            text,
            summary,
            findings,
            purchases: plan.purchases,
            refusal,
            remark,
            // Of the only property: whoever names a picture wants to see it.
            written: written && (is_several || !pictured.is_of_nothing()),
            stopped: (!written).then_some(plan.property),
            undosed,
            pictured,
        })
    };
    let csv_header = csv_text(|writer| writer.write_record(COLUMNS))?;
    let form = match args.format {
        Format::Table => Form::PLAIN,
        Format::Json => PROPERTIES,
        Format::Csv => Form { head: &csv_header, ..Form::PLAIN },
    };
    let mut answer = Some(Answer::new(form, None, output.out));
    let mut findings = table::Findings::default();
    let mut refused: Vec<Refusal> = Vec::new();
    let mut unplanned: Vec<Option<String>> = Vec::new();
    let mut summary = csv_text(|writer| writer.write_record(SUMMARY_COLUMNS))?;
    let mut progress = Progress::new("planning", map.properties().len() as u64, false);
    let (mut done, mut planned) = (0, 0);
    let mut pictured = Pictured::default();
    let mut shopping = Shopping::default();
    // By application: why it doses nothing on the first property; `None` once it doses something.
    let mut nothing: BTreeMap<String, Option<String>> = BTreeMap::new();
    // Property, application and reason.
    let mut undosed_there: Vec<(String, String, String)> = Vec::new();
    let result = plan_each(&map, &job, &options, look, |result| -> anyhow::Result<()> {
        done += 1;
        progress.at(done);
        match result {
            Ok(piece) => {
                let piece = piece?;
                planned += usize::from(piece.written);
                if let Some(remark) = piece.remark {
                    tell_refusal(&remark, output.remarks)?;
                }
                refused.extend(piece.refusal);
                unplanned.extend(piece.stopped.map(Some));
                for (application, reason) in piece.undosed {
                    if let Some(reason) = &reason {
                        let there = (piece.property.clone(), application.clone(), reason.clone());
                        undosed_there.push(there);
                    }
                    let known = nothing.entry(application).or_insert_with(|| reason.clone());
                    if reason.is_none() {
                        *known = None;
                    }
                }
                summary.push_str(&piece.summary);
                pictured.add(piece.pictured);
                shopping.add(&piece.purchases);
                findings.add(piece.findings);
                answer = answer.take().map(|answer| answer.add(&piece.text)).transpose()?;
            }
            Err(refusal) => {
                tell_refusal(&refusal, output.remarks)?;
                unplanned.push(refusal.property.clone());
                refused.push(refusal);
            }
        }
        Ok(())
    });
    drop(progress);
    check_unchanged(&map)?;
    if let Err(error) = result {
        drop(answer);
        refuse_job_on(&map, error.downcast()?, output)?;
        return Ok(Verdict::Refused);
    }
    if let Some(folders) = folders {
        let mut forgotten = Vec::new();
        for property in unplanned {
            if folders.forget(property.as_deref())? {
                forgotten.push(property.unwrap_or_default());
            }
        }
        // A summary of plans that are gone would be no better than they.
        if planned > 0 || !forgotten.is_empty() {
            summary.push_str(&refused_records(&refused)?);
            folders.finish(&summary)?;
        }
        if planned > 0 {
            writeln!(output.remarks, "wrote the plan to {}", folders.folder.display())?;
        }
        own_files::tell_forgotten(&forgotten, output.remarks)?;
        if is_several {
            own_files::tell_of_others(folders.folder, &folders.names, output.remarks)?;
        }
    }
    let none_pictured = pictured.tell(output.remarks)?;
    findings.tell(units, output.remarks)?;
    let bought = if planned > 1 { shopping.list(&job) } else { Vec::new() };
    let title = format!("To buy for all {planned} properties");
    let more = match args.format {
        Format::Json => after_properties(&refused, bought_json(&bought, units).as_ref()),
        Format::Table => buy::list(&title, &bought, units),
        Format::Csv => String::new(),
    };
    answer.map_or(Ok(()), |answer| answer.finish(&more))?;
    for (application, reason) in &nothing {
        if let Some(reason) = reason {
            let why = match args.format {
                Format::Table => format!("; {SAID_IN_PLAN}"),
                Format::Json | Format::Csv => format!(" ({reason})"),
            };
            writeln!(
                output.remarks,
                "refused: application {application:?} doses nothing on any zone{why}"
            )?;
        }
    }
    for (property, application, reason) in &undosed_there {
        // Of what is dosed nowhere one line says it.
        if nothing.get(application).is_some_and(Option::is_none) {
            let reasons =
                vec![format!("application {application:?} doses nothing on any zone ({reason})")];
            tell_refusal(&Refusal { property: Some(property.clone()), reasons }, output.remarks)?;
        }
    }
    let all_dosed = undosed_there.is_empty();
    Ok(if refused.is_empty() && planned > 0 && all_dosed && !none_pictured {
        Verdict::Done
    } else {
        Verdict::Refused
    })
}

/// The shopping list of several properties; nothing of one, which has its own.
fn bought_json(bought: &[Purchase], units: UnitSystem) -> Option<serde_json::Value> {
    let all = || bought.iter().map(|one| purchase_json(one, units)).collect();
    (!bought.is_empty()).then(all)
}

/// What is left of a property's plan once it is printed.
struct Piece {
    property: String,
    text: String,
    summary: String,
    findings: Vec<Finding>,
    purchases: Vec<Purchase>,
    refusal: Option<Refusal>,
    /// The refusal as it is told on standard error.
    remark: Option<Refusal>,
    written: bool,
    /// Its id where a limit stops all of it.
    stopped: Option<String>,
    /// What a picture beneath its maps shows of it.
    pictured: Pictured,
    /// Of each application its name, and why it doses nothing here.
    undosed: Vec<(String, Option<String>)>,
}

/// Instead of a reason that stands in the table.
const SAID_IN_PLAN: &str = "why, the plan says";

/// A refusal as it is told beside the table: what stands there as a zone's reason is not read twice.
fn beside_table(refusal: &Refusal, plan: &PropertyPlan<'_>) -> Refusal {
    let skipped = || plan.applications.iter().flat_map(|application| &application.skipped);
    let told = |reason: &String| {
        let mut known = skipped().filter(|zone| zone.refused && !zone.reason.is_empty());
        match known.find_map(|zone| reason.strip_suffix(&zone.reason)) {
            Some(place) => format!("{place}no dose; {SAID_IN_PLAN}"),
            None => reason.clone(),
        }
    };
    Refusal {
        property: refusal.property.clone(),
        reasons: refusal.reasons.iter().map(told).collect(),
    }
}

/// An application that puts nothing down on a property, with the first reason.
fn undosed(application: &ApplicationPlan<'_>) -> (String, Option<String>) {
    (application.name.to_owned(), why_undosed(application))
}
