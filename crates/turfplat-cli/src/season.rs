//! `turfplat season MAP… --job JOB`: the dated treatments of a season, what they take and cost.

use std::path::PathBuf;

use anyhow::Context;
use turfplat::timing::{CalendarEvent, Date, Timestamp, calendar};
use turfplat::units::UnitSystem;
use turfplat::{
    Job, JobError, PropertyMap, PropertySeason, Refusal, SeasonOptions, Shopping, purchase_json,
    season_each, season_events, season_json,
};

use crate::answer::{Answer, Form, PROPERTIES, after_properties, indented};
use crate::files;
use crate::input::{MapArgs, check_unchanged, refuse_job_on, tell_refusal};
use crate::job_args::{GroundArgs, JobFile};
use crate::rows::csv_text;
use crate::season_job::as_job;
use crate::season_records::{COLUMNS, records};
use crate::season_table::as_table;
use crate::temperatures::{TemperatureArgs, Temperatures, day};
use crate::{Output, Verdict, buy, table};

/// Work out the dated treatments of a season, zone by zone, within all limits of a year
///
/// Every application of the job without a date is repeated: from the first day of the job's [season] on,
/// as far apart as your label asks, up to the last day. Each treatment is held to every limit with all
/// that went on before it: where a year's limit leaves less than the rate, the rate is lowered or the
/// treatment left out, and the answer says so. A model of degree-days may put a treatment off and never
/// brings it forward.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat season examples/demo/map.geojson \\\n    --job examples/demo/season.toml"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    #[command(flatten)]
    job: JobFile,

    /// First day of the season, instead of the one that [season] of the job gives all zones
    #[arg(long, value_name = "DATE", value_parser = day)]
    from: Option<Date>,

    /// Last day of the season, instead of the one that [season] of the job gives all zones
    #[arg(long, value_name = "DATE", value_parser = day)]
    until: Option<Date>,

    #[command(flatten)]
    temperatures: TemperatureArgs,

    /// A model of degree-days by its id, instead of the job's (`degree-days --models` lists them)
    #[arg(long, value_name = "ID")]
    model: Option<String>,

    #[command(flatten)]
    ground: GroundArgs,

    /// Form of the answer; ics is iCalendar, for other calendars; job is a job file with the date of each
    /// treatment, of which `plan` makes loads, maps and work orders (keep it beside the job)
    #[arg(long, value_enum, default_value_t)]
    format: Format,

    /// The time that a calendar says it was made at, as 2026-03-01T12:00:00Z [default: now]
    #[arg(long, value_name = "TIME", value_parser = time)]
    stamp: Option<Timestamp>,

    /// File to write instead of the screen
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
}

#[derive(Clone, Copy, Default, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    #[default]
    Table,
    Json,
    Csv,
    Ics,
    Job,
}

fn time(text: &str) -> Result<Timestamp, String> {
    text.parse().map_err(|error| format!("{error}; write it as 2026-03-01T12:00:00Z"))
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    args.check_out()?;
    let Some(job) = args.job.read(output)? else { return Ok(Verdict::Refused) };
    let temperatures = args.temperatures.read(job.asks_for_soil(), output.remarks)?;
    let Some(temperatures) = temperatures else { return Ok(Verdict::Refused) };
    let options = args.options(&temperatures)?;
    let map = args.map.read()?;
    let told = args.tell(&map, &job, &options, output)?;
    let Some(told) = told else { return Ok(Verdict::Refused) };
    if args.format == Format::Ics && !told.events.is_empty() {
        let stamp = args.stamp.unwrap_or_else(Timestamp::now);
        let name = job.name.as_ref().map_or("Season".to_owned(), |name| format!("Season, {name}"));
        let text = calendar(&name, &told.events, stamp);
        match &args.out {
            Some(path) => files::write(path, text.as_bytes())?,
            None => output.out.write_all(text.as_bytes())?,
        }
    }
    if told.rounds == 0 {
        writeln!(output.remarks, "refused: no treatment falls into the season")?;
        for why in &told.why {
            writeln!(output.remarks, "  {why}")?;
        }
    }
    Ok(if told.refused || told.rounds == 0 { Verdict::Refused } else { Verdict::Done })
}

/// What is left of a season once it is told.
struct Told {
    events: Vec<CalendarEvent>,
    rounds: usize,
    /// Of zones that get nothing, a few.
    why: Vec<String>,
    refused: bool,
}

/// So many zones that get nothing are told why.
const TOLD: usize = 5;

/// Why zones get nothing though nothing is refused.
fn why_none(season: &PropertySeason) -> impl Iterator<Item = String> {
    season.courses.iter().filter(|course| course.treatments == 0).filter_map(|course| {
        let note = course.notes.iter().find(|note| note.starts_with("no treatment"));
        let left_out = || course.dropped.first().map(|it| &it.reason);
        let why = note.or_else(left_out)?;
        Some(format!("{}, {}: {why}", course.application, course.zone))
    })
}

impl Args {
    /// Nothing that is read is written over.
    fn check_out(&self) -> anyhow::Result<()> {
        let Some(out) = &self.out else { return Ok(()) };
        self.map.kept().check([out.clone()])?;
        let place = files::place_of(out);
        let read = self.temperatures.files().chain([self.job.path.as_path()]);
        for file in read {
            if files::place_of(file) == place {
                anyhow::bail!("-o {} would replace what is read; give another name", out.display());
            }
        }
        Ok(())
    }

    fn options<'t>(&self, temperatures: &'t Temperatures) -> anyhow::Result<SeasonOptions<'t>> {
        Ok(SeasonOptions {
            within_parcel: self.ground.within_parcel,
            from: self.from,
            until: self.until,
            drawn_to: None,
            temperatures: temperatures.sources(),
            model: self.model.as_deref().map(|id| temperatures.model(id)).transpose()?,
            models: &temperatures.models,
            units: self.ground.units(),
        })
    }

    /// Reckons property by property and tells each; `None` where the job is refused.
    fn tell(
        &self,
        map: &PropertyMap,
        job: &Job,
        options: &SeasonOptions<'_>,
        output: &mut Output<'_>,
    ) -> anyhow::Result<Option<Told>> {
        let units: UnitSystem = self.ground.units();
        let csv_header = csv_text(|rows| rows.write_record(COLUMNS))?;
        let form = match self.format {
            Format::Table | Format::Ics | Format::Job => Form::PLAIN,
            Format::Json => PROPERTIES,
            Format::Csv => Form { head: &csv_header, ..Form::PLAIN },
        };
        let mut answer = Some(Answer::new(form, self.out.as_deref(), output.out));
        let mut told = Told { events: Vec::new(), rounds: 0, why: Vec::new(), refused: false };
        let mut findings = table::Findings::default();
        let mut shopping = Shopping::default();
        let mut refused: Vec<Refusal> = Vec::new();
        let mut properties = 0;
        let take = |result: Result<PropertySeason, Refusal>| -> anyhow::Result<()> {
            let season = match result {
                Ok(season) => season,
                Err(refusal) => {
                    tell_refusal(&refusal, output.remarks)?;
                    refused.push(refusal);
                    return Ok(());
                }
            };
            properties += 1;
            told.rounds += season.rounds.len();
            let room = TOLD - told.why.len();
            told.why.extend(why_none(&season).take(room));
            if let Some(refusal) = season.refusal() {
                tell_refusal(&refusal, output.remarks)?;
                refused.push(refusal);
            }
            shopping.add(&season.purchases);
            findings.add(season.findings.iter().cloned());
            let text = match self.format {
                Format::Table => as_table(&season, units),
                Format::Json => indented(&season_json(&season, units)),
                Format::Csv => records(&season, units)?,
                Format::Job if properties > 1 => anyhow::bail!(
                    "a job with dates is of one property, and the map is of several; give a map of one"
                ),
                Format::Job => {
                    let name = self.job.path.display();
                    let text = std::fs::read_to_string(&self.job.path)
                        .with_context(|| format!("cannot read {name}"))?;
                    as_job(&text, &season).with_context(|| format!("{name}"))?
                }
                Format::Ics => {
                    told.events.extend(season_events(&season, units));
                    return Ok(());
                }
            };
            answer = answer.take().map(|answer| answer.add(&text)).transpose()?;
            Ok(())
        };
        let result = season_each(map, job, options, take);
        check_unchanged(map)?;
        if let Err(error) = result {
            drop(answer);
            let error = error.downcast::<JobError>()?;
            refuse_job_on(map, error, output)?;
            return Ok(None);
        }
        if matches!(self.format, Format::Table) {
            findings.tell(units, output.remarks)?;
        }
        let bought = if properties > 1 { shopping.list(job) } else { Vec::new() };
        let more = match self.format {
            Format::Table => {
                buy::list(&format!("To buy for all {properties} properties"), &bought, units)
            }
            Format::Json => {
                let all = bought.iter().map(|one| purchase_json(one, units)).collect();
                let bought: Option<serde_json::Value> = (!bought.is_empty()).then_some(all);
                after_properties(&refused, bought.as_ref())
            }
            Format::Csv | Format::Ics | Format::Job => String::new(),
        };
        answer.map_or(Ok(()), |answer| answer.finish(&more))?;
        told.refused = !refused.is_empty();
        Ok(Some(told))
    }
}
