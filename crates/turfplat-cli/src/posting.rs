//! `turfplat posting MAP… --job JOB`: what stands on the signs, how many there are, and how long people
//! keep off.

use anyhow::bail;
use turfplat::dose::{Day, PostingRule, find_posting_rule, posting_rules};
use turfplat::units::UnitSystem;
use turfplat::{
    Job, PlanOptions, Posting, PostingOptions, PropertyPlan, Refusal, plan_each, posting,
    posting_json,
};

use crate::answer::{Answer, Form, PROPERTIES, after_properties, indented};
use crate::input::{
    MapArgs, check_unchanged, date, is_of_several, not_for_property, refuse_job_on, tell_refusal,
    today_if_counted,
};
use crate::job_args::{GroundArgs, JobFile};
use crate::{Output, Verdict, table};

/// Say what is posted: the words of the notice, how many signs, and how long people keep off
///
/// By the posting rule of the state, property by property and application by application. The number of
/// signs follows from a distance in the rule and the outer edge of each piece that is treated; where the
/// rule gives none there is no number. Of the state's time and the product file's the longer governs.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat posting examples/demo/map.geojson --job examples/demo/job.toml \\\n    --state NY --date 2026-06-08 --time 10:30"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    #[command(flatten)]
    job: JobFile,

    /// Application to post, by its name in the job [default: all]
    #[arg(long, value_name = "NAME")]
    application: Option<String>,

    /// Property to post, by its id on the map [default: all]
    #[arg(long, value_name = "ID")]
    property: Option<String>,

    /// State whose rule it is, by its letters or name [default: the jurisdiction of the job's [site]]
    #[arg(long, value_name = "STATE")]
    state: Option<String>,

    /// Day of the treatment, as 2026-06-08 [default: the application's own, or a blank]
    #[arg(long, value_name = "DATE", value_parser = date)]
    date: Option<String>,

    /// When the treatment ends, as 10:30: until when people keep off is counted from it
    #[arg(long, value_name = "TIME", value_parser = time)]
    time: Option<String>,

    /// Who treats, for the notice [default: a blank]
    #[arg(long, value_name = "NAME")]
    business: Option<String>,

    /// How whoever treats is reached [default: a blank]
    #[arg(long, value_name = "TEXT")]
    contact: Option<String>,

    /// Whose turf it is [default: a blank]
    #[arg(long, value_name = "NAME")]
    customer: Option<String>,

    #[command(flatten)]
    ground: GroundArgs,

    /// Form of the answer
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Clone, Copy, Default, clap::ValueEnum)]
enum Format {
    #[default]
    Table,
    Json,
}

/// A time as 10:30.
fn time(text: &str) -> Result<String, String> {
    let day = Day::read("2026-01-01").ok_or("no day")?;
    let read = turfplat::dose::Moment::read(day, text);
    read.map(|_| text.to_owned()).ok_or_else(|| "write it as 10:30, from 00:00 to 23:59".to_owned())
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let map = args.map.read()?;
    let Some(job) = args.job.read(output)? else { return Ok(Verdict::Refused) };
    let rule = match rule(args, &job)? {
        Ok(rule) => rule,
        Err(reason) => {
            writeln!(output.remarks, "refused: {reason}")?;
            return Ok(Verdict::Refused);
        }
    };
    let wanted: Vec<&str> = match &args.application {
        None => job.applications.iter().map(|it| it.name.as_str()).collect(),
        name => vec![&job.application(name.as_deref())?.name],
    };
    let undated =
        job.applications.iter().any(|it| wanted.contains(&it.name.as_str()) && it.day.is_none());
    if args.time.is_some() && args.date.is_none() && undated {
        bail!(
            "--time is of a day; add --date, or date = \"…\" to the applications of {}",
            job.file
        );
    }
    if args.customer.is_some() && args.property.is_none() && is_of_several(&map) {
        bail!("--customer is of one property; choose it with --property ID");
    }
    let options = PlanOptions {
        within_parcel: args.ground.within_parcel,
        date: args.date.clone().or_else(|| today_if_counted(&job)),
        property: args.property.clone(),
        ..PlanOptions::default()
    };
    let asked = PostingOptions {
        rule,
        day: args.date.as_deref().and_then(Day::read),
        time: args.time.as_deref(),
        business: args.business.as_deref(),
        contact: args.contact.as_deref(),
        customer: args.customer.as_deref(),
    };
    let units: UnitSystem = args.ground.units();
    let look = |plan: PropertyPlan<'_>| looked(&plan, &job, &wanted, &asked, args.format, units);
    let form = match args.format {
        Format::Table => Form::PLAIN,
        Format::Json => PROPERTIES,
    };
    let mut answer = Some(Answer::new(form, None, output.out));
    let mut refused: Vec<Refusal> = Vec::new();
    let (mut posted, mut not_for_it) = (0, None);
    let result = plan_each(&map, &job, &options, look, |result| -> anyhow::Result<()> {
        let looked = match result {
            Ok(looked) => looked,
            Err(refusal) => {
                // Of what else is on the map nothing was asked.
                if args.property.is_none() || refusal.property == args.property {
                    tell_refusal(&refusal, output.remarks)?;
                    refused.push(refusal);
                }
                return Ok(());
            }
        };
        for refusal in looked.refused {
            tell_refusal(&refusal, output.remarks)?;
            refused.push(refusal);
        }
        not_for_it = not_for_it.take().or(looked.not_for_it);
        for text in looked.texts {
            posted += 1;
            answer = answer.take().map(|answer| answer.add(&text)).transpose()?;
        }
        Ok(())
    });
    check_unchanged(&map)?;
    if let Err(error) = result {
        drop(answer);
        refuse_job_on(&map, error.downcast()?, output)?;
        return Ok(Verdict::Refused);
    }
    let more = match args.format {
        Format::Json => after_properties(&refused, None),
        Format::Table => String::new(),
    };
    answer.map_or(Ok(()), |answer| answer.finish(&more))?;
    match (posted, not_for_it, &args.property) {
        (0, Some(reason), _) if refused.is_empty() => bail!("{reason}"),
        (0, None, Some(id)) if refused.is_empty() => {
            bail!("no property {id:?} has turf on the map")
        }
        _ => {}
    }
    Ok(if refused.is_empty() && posted > 0 { Verdict::Done } else { Verdict::Refused })
}

/// The rule that is asked for, else that of the job's place; or why there is none here.
fn rule(args: &Args, job: &Job) -> anyhow::Result<Result<&'static PostingRule, String>> {
    if let Some(state) = &args.state {
        return Ok(find_posting_rule(state).map_err(|error| format!("--state: {error}")));
    }
    if let Some(rule) = job.posting_rule() {
        return Ok(Ok(rule));
    }
    let of_places: Vec<_> =
        job.jurisdictions.iter().map(|place| find_posting_rule(place)).collect();
    if of_places.iter().filter(|it| it.is_ok()).count() > 1 {
        bail!(
            "{}: [site] names several states with a rule on posting; choose one with --state",
            job.file
        );
    }
    match of_places.into_iter().find_map(Result::err) {
        Some(error) => Ok(Err(format!("{}: jurisdiction of [site]: {error}", job.file))),
        None => {
            let known: Vec<&str> = posting_rules().iter().map(|it| it.state.as_str()).collect();
            bail!(
                "{} says no place; add --state, one of {}, or jurisdiction = \"…\" under [site]",
                job.file,
                known.join(", ")
            )
        }
    }
}

/// What came of one property.
struct Looked {
    texts: Vec<String>,
    refused: Vec<Refusal>,
    /// Why nothing that is asked for is for it.
    not_for_it: Option<String>,
}

fn looked(
    plan: &PropertyPlan<'_>,
    job: &Job,
    wanted: &[&str],
    asked: &PostingOptions<'_>,
    format: Format,
    units: UnitSystem,
) -> Looked {
    let mut looked = Looked {
        texts: Vec::new(),
        refused: plan.refusal().into_iter().collect(),
        not_for_it: None,
    };
    let of_it = || plan.applications.iter().filter(|it| wanted.contains(&it.name));
    if of_it().next().is_none() {
        let its: Vec<&str> = plan.applications.iter().map(|it| it.name).collect();
        looked.not_for_it = Some(not_for_property(&plan.property, wanted, &its));
    }
    for application in of_it() {
        match posting(plan, application, job, asked) {
            Some(posting) => looked.texts.push(match format {
                Format::Table => as_table(&posting, units),
                Format::Json => indented(&posting_json(&posting)),
            }),
            None => {
                let first = application.skipped.first();
                let why =
                    first.map_or_else(String::new, |it| format!(" ({}: {})", it.zone, it.reason));
                let reason = format!(
                    "application {:?} treats nothing, so there is nothing to post{why}",
                    application.name
                );
                let property = Some(plan.property.clone());
                looked.refused.push(Refusal { property, reasons: vec![reason] });
            }
        }
    }
    looked
}

/// Where a blank is filled in.
const BLANK: &str = "____________________";

fn as_table(posting: &Posting<'_>, units: UnitSystem) -> String {
    let Posting { rule, markers, keep_off, .. } = posting;
    let mut text = format!(
        "Posting {} for {}, {} ({})\n\nOn each sign\n",
        posting.application, posting.property, rule.state_name, rule.provenance
    );
    for line in &posting.notice {
        let words = line.text.as_deref().unwrap_or(BLANK);
        text.push_str(&format!("  {}: {words}\n", line.what));
    }
    text.push_str("\nThe sign\n");
    let parts = [
        ("sign", &rule.sign),
        ("height", &rule.height),
        ("stands", &rule.sign_stands),
        ("placed", &rule.placed),
    ];
    for (what, said) in parts {
        text.push_str(&format!("  {what}: {}\n", said.as_deref().unwrap_or("not in the table")));
    }
    let count = markers.count.map_or_else(|| "no number".to_owned(), |count| count.to_string());
    text.push_str(&format!("\nHow many: {count}\n  {}\n", markers.how));
    let mut rows = table::new(["piece", "zones", "treated", "outer edge", "signs"]);
    for (place, piece) in markers.pieces.iter().enumerate() {
        rows.add_row(vec![
            table::number(place + 1),
            comfy_table::Cell::new(piece.zones.join(", ")),
            table::number(piece.area.print(units)),
            table::number(piece.perimeter.print(units)),
            table::number(piece.markers.map_or_else(|| "?".to_owned(), |it| it.to_string())),
        ]);
    }
    text.push_str(&format!("{}\n", rows.trim_fmt()));
    let words = keep_off.words();
    text.push_str(&format!("\nKeep off: {}\n", words.as_deref().unwrap_or("not given")));
    for (place, said) in keep_off.said.iter().enumerate() {
        let governs = if keep_off.governs == Some(place) { " (governs)" } else { "" };
        let until = said.until.map_or_else(String::new, |until| format!(", until {until}"));
        text.push_str(&format!("  {}: {}{until}{governs}\n", said.by, said.time));
    }
    for (title, lines) in [("Notes", &posting.notes), ("Cautions", &posting.cautions)] {
        text.push_str(&format!("\n{title}\n"));
        for line in lines {
            text.push_str(&format!("  • {line}\n"));
        }
    }
    text.push('\n');
    // A name of a map may hold what a screen takes for a command.
    text.chars().map(|c| if c.is_control() && c != '\n' { ' ' } else { c }).collect()
}
