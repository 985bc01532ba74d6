//! `turfplat explain MAP… --job JOB ZONE PRODUCT`: how one dose comes about, step by step.

use anyhow::bail;
use turfplat::units::Length;
use turfplat::{
    ExplainError, ExplainWhat, Explained, ExplainedStep, Explanation, PlanOptions, Print, explain,
};

use crate::input::{
    MapArgs, check_unchanged, distance, is_of_several, refuse_job_on, tell_refusal,
};
use crate::job_args::JobArgs;
use crate::wind::WindArgs;
use crate::{Output, Verdict};

/// Show every step from the map to one zone's dose of one product, with formulas and sources
///
/// The numbers are those of `plan` with the same map, job and options. Where a zone is skipped or
/// the property refused, the steps end where it stops, with why and what to do.
#[derive(clap::Args)]
#[command(
    mut_arg("maps", |maps| {
        maps.value_name("MAP… ZONE PRODUCT")
            .help("Property maps as in plan; then the zone, and the product by its id, name or a part of one")
            .long_help("Property maps as in plan; then the zone, and the product by its id, name or a part of one")
    }),
    mut_arg("date", |date| date.help("Date of the plan, as 2026-06-08: no label is checked after it")),
    override_usage = "turfplat explain [OPTIONS] --job <JOB> <MAP>... <ZONE> <PRODUCT>",
    after_help = "Example:\n  turfplat explain examples/demo/map.geojson --job examples/demo/job.toml \\\n    \"Front lawn\" trinexapac"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    #[command(flatten)]
    wind: WindArgs,

    #[command(flatten)]
    job: JobArgs,

    /// Application to explain, by its name in the job [default: the only one]
    #[arg(long, value_name = "NAME")]
    application: Option<String>,

    /// Property of the zone, by its id on the map [default: the only one]
    #[arg(long, value_name = "ID")]
    property: Option<String>,

    /// How far off drawn corners may be where the map does not say so, such as 1ft (standard deviation)
    #[arg(long, value_name = "DIST", value_parser = distance)]
    drawn: Option<Length>,

    /// Form of the answer
    #[arg(long, value_enum, default_value_t)]
    format: Format,

    /// The same as --format json
    #[arg(long)]
    json: bool,
}

#[derive(Clone, Copy, Default, clap::ValueEnum)]
enum Format {
    #[default]
    Text,
    Json,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let (maps, [zone, product]) = args.map.without_last_two()?;
    let map = maps.read()?;
    let Some(job) = args.job.file.read(output)? else { return Ok(Verdict::Refused) };
    if args.property.is_none() && is_of_several(&map) {
        bail!("the map has several properties; choose one with --property ID");
    }
    let options = PlanOptions {
        within_parcel: args.job.ground.within_parcel,
        date: args.job.date.clone(),
        property: args.property.clone(),
        wind: args.wind.wind(),
        drawn_to: args.drawn,
        ..PlanOptions::default()
    };
    let what = ExplainWhat {
        zone: &zone,
        product: &product,
        application: args.application.as_deref(),
        units: args.job.units(),
    };
    let explained = match explain(&map, &job, &options, &what) {
        Ok(explained) => explained,
        Err(ExplainError::Job(error)) => {
            refuse_job_on(&map, error, output)?;
            return Ok(Verdict::Refused);
        }
        Err(error) => return Err(error.into()),
    };
    check_unchanged(&map)?;
    let explanation = match explained {
        Explained::Told(explanation) => explanation,
        Explained::Refused(refusals) => {
            for refusal in &refusals {
                tell_refusal(refusal, output.remarks)?;
            }
            return Ok(Verdict::Refused);
        }
    };
    if args.json || matches!(args.format, Format::Json) {
        writeln!(output.out, "{:#}", explanation.json())?;
    } else {
        output.out.write_all(as_text(&explanation).as_bytes())?;
    }
    let is_refusal = explanation.stopped.as_ref().is_some_and(|stopped| stopped.is_refusal);
    Ok(if is_refusal { Verdict::Refused } else { Verdict::Done })
}

/// Lines are broken here: what is longer is hard to follow by lamplight.
const WIDTH: usize = 96;

fn as_text(explanation: &Explanation) -> String {
    let print = Print(explanation.units);
    let head = match (explanation.amount, explanation.spray_volume) {
        (Some(amount), Some(spray)) => format!(
            "{}: {} of {} in {} of spray",
            explanation.zone,
            print.product(amount),
            explanation.product_name,
            print.spray(spray)
        ),
        (Some(amount), None) => {
            format!(
                "{}: {} of {}",
                explanation.zone,
                print.product(amount),
                explanation.product_name
            )
        }
        (None, _) => format!("{}: no {}", explanation.zone, explanation.product_name),
    };
    let mut text = format!(
        "{head}\n{}, application {}, by {}\n",
        explanation.property, explanation.application, explanation.equipment
    );
    if let Some(stopped) = &explanation.stopped {
        // First what matters: nothing goes down here.
        for reason in &stopped.reasons {
            wrap(&mut text, if stopped.is_refusal { "Refused: " } else { "Not treated: " }, reason);
        }
        if let Some(cure) = &stopped.cure {
            wrap(&mut text, "What to do: ", cure);
        }
    }
    let mut notes: Vec<&str> = Vec::new();
    let mut number = 0;
    for part in &explanation.parts {
        text.push_str(&format!("\n{}\n", part.title.to_uppercase()));
        for step in &part.steps {
            number += 1;
            tell(step, number, &mut notes, &mut text);
        }
    }
    if explanation.stopped.is_some() {
        text.push_str(&format!("\nHere it stops, after step {number}.\n"));
    }
    text.push_str("\nSOURCES\n");
    for (place, note) in notes.iter().enumerate() {
        wrap(&mut text, &format!("{:>4} ", format!("[{}]", place + 1)), note);
    }
    text
}

fn tell<'e>(step: &'e ExplainedStep, number: usize, notes: &mut Vec<&'e str>, text: &mut String) {
    wrap(text, &format!("{number:>3}. "), &step.what);
    for said in &step.said {
        let mark = said.source.as_deref().map_or_else(String::new, |it| mark(notes, it));
        wrap(text, "     · ", &format!("{}{mark}", said.text));
    }
    if let Some(worked) = &step.worked {
        let (result, way) = worked.formula.split_once(" = ").unwrap_or(("", &worked.formula));
        wrap(text, "       ", &format!("{result} = {way}"));
        wrap(text, "         = ", &worked.numbers);
        wrap(text, "         = ", &format!("{}{}", worked.result, mark(notes, &worked.source)));
    }
}

/// ` [2]`: each source is told once and referred to by number.
fn mark<'e>(notes: &mut Vec<&'e str>, source: &'e str) -> String {
    let known = notes.iter().position(|it| *it == source);
    let place = known.unwrap_or_else(|| {
        notes.push(source);
        notes.len() - 1
    });
    format!(" [{}]", place + 1)
}

/// Adds prose behind a head, its further lines set in by as much.
fn wrap(text: &mut String, head: &str, prose: &str) {
    let indent = head.chars().count();
    text.push_str(head);
    let mut width = indent;
    for (place, word) in prose.split(' ').enumerate() {
        let length = word.chars().count();
        if place > 0 && width + 1 + length > WIDTH {
            text.push('\n');
            text.push_str(&" ".repeat(indent));
            width = indent;
        } else if place > 0 {
            text.push(' ');
            width += 1;
        }
        text.push_str(word);
        width += length;
    }
    text.push('\n');
}
