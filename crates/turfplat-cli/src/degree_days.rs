//! `turfplat degree-days --weather FILE`: warmth counted by day, and when a sum of it is reached.

use anyhow::bail;
use comfy_table::Cell;
use serde_json::{Value, json};
use turfplat::dose::{find_species, species_names};
use turfplat::timing::{
    DailySeries, DailySources, Date, DegreeDays, HeatCount, HeatModel, Reached, Temperature,
    count_heat,
};
use turfplat::units::decimal;

use crate::heat_models::{model_json, models_json, models_records, models_table};
use crate::ledger::RecordedDays;
use crate::rows::csv_text;
use crate::temperatures::{TemperatureArgs, Temperatures, day};
use crate::{Output, Verdict, table};

/// Count degree-days since a treatment, and say when a model's sum is reached
///
/// A day adds (most + least) / 2 − base, and nothing where that is below nothing. Days that nobody knows
/// are told and never made up: beyond one the day on which the sum is reached is unknown. No model in
/// print is for a home lawn; there the label's interval holds.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat degree-days --model bentgrass-green --since 2026-05-11 \\\n    --weather examples/demo/invented-temperatures.csv"
)]
pub(crate) struct Args {
    #[command(flatten)]
    temperatures: TemperatureArgs,

    /// List the models and where they hold
    #[arg(long)]
    models: bool,

    /// A model by its id
    #[arg(long, value_name = "ID", conflicts_with_all = ["base", "threshold"])]
    model: Option<String>,

    /// The temperature above which warmth counts, such as 0C or 50F
    #[arg(long, value_name = "TEMP", requires = "threshold", allow_hyphen_values = true)]
    base: Option<String>,

    /// The sum that is waited for, such as 200C or 360F; without a unit in that of --base
    #[arg(long, value_name = "SUM", requires = "base")]
    threshold: Option<String>,

    /// The day of a treatment; the day after it is the first that counts. May be given several times
    #[arg(long, value_name = "DATE", value_parser = day)]
    since: Vec<Date>,

    #[command(flatten)]
    records: RecordedDays,

    /// The last day to look at, beyond the day on which the sum is reached [default: the last of the
    /// files; where normals are given, the day of the sum if that is later, or a year on]
    #[arg(long, value_name = "DATE", value_parser = day)]
    until: Option<Date>,

    /// The grass, to be told whether the model is for it
    #[arg(long, value_name = "NAME")]
    species: Option<String>,

    /// Form of the answer
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Clone, Copy, Default, clap::ValueEnum)]
enum Format {
    #[default]
    Table,
    Json,
    Csv,
}

/// What is counted, and up to which sum.
struct Wanted<'m> {
    base: Temperature,
    sum: DegreeDays,
    model: Option<&'m HeatModel>,
    /// What to mind of it.
    warnings: Vec<String>,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    if args.models {
        let models = args.temperatures.models(output.remarks)?;
        let text = match args.format {
            Format::Table => models_table(&models),
            Format::Json => format!("{:#}\n", Value::from(models_json(&models))),
            Format::Csv => models_records(&models)?,
        };
        output.out.write_all(text.as_bytes())?;
        return Ok(Verdict::Done);
    }
    let mut since = args.since.clone();
    since.extend(args.records.days()?);
    since.sort();
    since.dedup();
    if since.is_empty() {
        bail!("give the day of a treatment, such as --since 2026-05-01, or --ledger FILE");
    }
    let Some(temperatures) = args.temperatures.read(false, output.remarks)? else {
        return Ok(Verdict::Refused);
    };
    if temperatures.sources().is_empty() {
        bail!("give temperatures by day: --weather FILE, and perhaps --forecast or --normals");
    }
    let wanted = args.wanted(&temperatures)?;
    let sources = temperatures.sources();
    if let Some(until) = args.until
        && let Some(since) = since.iter().find(|since| until <= **since)
    {
        writeln!(
            output.remarks,
            "refused: --until {until} is not after --since {since}, and the day after a treatment is the first that counts; correct the one or the other"
        )?;
        return Ok(Verdict::Refused);
    }
    let counts: Vec<(Date, HeatCount)> = since
        .iter()
        .map(|&since| {
            let first = since.tomorrow().unwrap_or(since);
            (since, args.count(&wanted, &sources, first))
        })
        .collect();
    for (since, count) in &counts {
        if let Some(end) = sources.ends().filter(|end| *end < count.first) {
            writeln!(
                output.remarks,
                "note temperatures: they end on {end}, before the first day that counts after {since}, {}; give a file that goes on",
                count.first
            )?;
        }
        if let Some(leap) = count.leap_days.first() {
            writeln!(
                output.remarks,
                "note normals: they have no {leap}; their 28 February stands for it"
            )?;
        }
    }
    let text = match args.format {
        Format::Table => as_table(&wanted, &counts, &sources),
        Format::Json => format!("{:#}\n", as_json(&wanted, &counts, &sources)),
        Format::Csv => records(&counts)?,
    };
    output.out.write_all(text.as_bytes())?;
    if !matches!(args.format, Format::Table) {
        for warning in &wanted.warnings {
            writeln!(output.remarks, "note model: {warning}")?;
        }
    }
    Ok(Verdict::Done)
}

impl Args {
    /// Warmth from `first` on, up to the last day to look at.
    fn count(&self, wanted: &Wanted<'_>, sources: &DailySources<'_>, first: Date) -> HeatCount {
        let up_to = |last: Date| count_heat(sources, wanted.base, wanted.sum, first, last);
        if let Some(last) = self.until.or(sources.ends()) {
            return up_to(last.max(first));
        }
        // Normals never end: what is usual beyond the sum tells nobody anything.
        let count = up_to(first.saturating_add(a_year()));
        match count.reached.day().max(sources.told_until().filter(|last| *last >= first)) {
            Some(last) if count.reached.day().is_some() => up_to(last),
            _ => count,
        }
    }

    fn wanted<'m>(&self, temperatures: &'m Temperatures) -> anyhow::Result<Wanted<'m>> {
        let stand = self.species.as_deref().map(grasses).transpose()?;
        if let Some(id) = &self.model {
            let model = temperatures.model(id)?;
            let Some(base) = model.base else { bail!("model {id:?} has no base temperature") };
            let warnings = warnings(model, stand.as_deref());
            return Ok(Wanted { base, sum: model.threshold, model: Some(model), warnings });
        }
        let (Some(base), Some(threshold)) = (&self.base, &self.threshold) else {
            bail!(
                "say what is waited for: --model ID (turfplat degree-days --models lists them), or --base 0C --threshold 200"
            );
        };
        let unit = base.trim().chars().next_back().unwrap_or_default();
        let Some(of_base) = Temperature::read(base) else {
            bail!("--base {base:?} is no temperature; write it like 0C or 50F");
        };
        let sum = DegreeDays::read(threshold)
            .or_else(|| DegreeDays::read(&format!("{threshold}{unit}")))
            .filter(|sum| *sum > DegreeDays::ZERO);
        let Some(sum) = sum else {
            bail!("--threshold {threshold:?} is no sum of degree-days; write it like 200C or 360F");
        };
        let warnings = vec![
            "base and threshold are your own; no model in print is for a home lawn: the label's interval holds"
                .to_owned(),
        ];
        Ok(Wanted { base: of_base, sum, model: None, warnings })
    }
}

/// A year, over which normals are looked at where nobody says how far.
fn a_year() -> jiff::Span {
    jiff::Span::new().days(366)
}

/// Ids of the grasses of a stand.
fn grasses(text: &str) -> anyhow::Result<Vec<&'static str>> {
    let each = species_names(text).into_iter().map(|name| Ok(find_species(name)?.id.as_str()));
    each.collect()
}

fn warnings(model: &HeatModel, stand: Option<&[&str]>) -> Vec<String> {
    let grasses = model.species.join(", ");
    let mut warnings = vec![match stand {
        Some(stand) if !model.is_for(stand) => format!(
            "it is for {grasses} ({}) and not for {}: what it says there is a guess; the label's interval holds",
            model.site,
            stand.join(", ")
        ),
        _ => format!(
            "it holds for {grasses} ({}) alone; elsewhere the label's interval holds",
            model.site
        ),
    }];
    warnings.push("no model shortens the label's interval".to_owned());
    if !model.note.is_empty() {
        warnings.push(model.note.clone());
    }
    warnings
}

/// When it is reached, in words.
fn reached(count: &HeatCount, sum: DegreeDays) -> String {
    match count.reached {
        Reached::On { day, by } => format!("{sum} are reached on {day} ({})", by.word()),
        Reached::Unknown { missing, at_the_latest } => {
            let latest = at_the_latest.map_or_else(String::new, |day| {
                format!("; on {day} at the latest, by the days that are known")
            });
            format!(
                "the day on which {sum} are reached is unknown, for {missing} is missing{latest}"
            )
        }
        Reached::NotYet { left } => {
            format!("{sum} are not reached up to {}; {left} are wanting", count.last)
        }
    }
}

fn as_table(
    wanted: &Wanted<'_>,
    counts: &[(Date, HeatCount)],
    sources: &DailySources<'_>,
) -> String {
    let fills =
        sources.measured.is_some() && (sources.forecast.is_some() || sources.normals.is_some());
    let mut text = format!("Warmth above {}\n", wanted.base);
    if let Some(model) = wanted.model {
        text.push_str(&format!(
            "Model {}: {} ({}, {}; {})\n",
            model.id, model.predicts, model.active_ingredient, model.site, model.source
        ));
    }
    for warning in &wanted.warnings {
        text.push_str(&format!("  • {warning}\n"));
    }
    for (since, count) in counts {
        text.push_str(&format!("\nSince the treatment of {since}\n"));
        let mut rows = table::new(["day", "mean °F", "adds °F", "sum °F", "sum °C", "from", ""]);
        for day in &count.days {
            rows.add_row(vec![
                Cell::new(day.day),
                table::number(decimal_of(day.mean.fahrenheit())),
                table::number(decimal(day.adds.fahrenheit_days(), 1)),
                table::number(decimal(day.sum.fahrenheit_days(), 1)),
                table::number(decimal(day.sum.celsius_days(), 1)),
                Cell::new(day.origin.word()),
                Cell::new(mark(count, day.day).unwrap_or_default()),
            ]);
        }
        text.push_str(&format!("{}\n", rows.trim_fmt()));
        let least = if count.missing.is_empty() { "" } else { "at least " };
        text.push_str(&format!(
            "{} of {} days known, {least}{} up to {}\n",
            count.days.len(),
            count.days.len() + count.missing.len(),
            count.sum,
            count.last
        ));
        if !count.missing.is_empty() {
            text.push_str(&format!(
                "Missing: {}{}\n",
                stretches(&count.missing),
                if fills {
                    "; no forecast or normals stand for a day among the measured ones"
                } else {
                    ""
                }
            ));
        }
        text.push_str(&format!("In all: {}.\n", reached(count, wanted.sum)));
    }
    text
}

/// What to say of the day on which the sum is reached.
fn mark(count: &HeatCount, day: Date) -> Option<&'static str> {
    match count.reached {
        _ if count.reached.day() != Some(day) => None,
        Reached::On { .. } => Some("reached"),
        _ => Some("reached at the latest"),
    }
}

fn decimal_of(degrees: f64) -> String {
    let text = decimal(degrees.abs(), 1);
    if degrees < 0.0 && text != "0.0" { format!("-{text}") } else { text }
}

/// `2026-04-02 to 2026-04-05, 2026-04-09`.
fn stretches(days: &[Date]) -> String {
    let mut runs: Vec<(Date, Date)> = Vec::new();
    for &day in days {
        match runs.last_mut() {
            Some((_, last)) if last.tomorrow().is_ok_and(|next| next == day) => *last = day,
            _ => runs.push((day, day)),
        }
    }
    let told = runs.iter().map(|(first, last)| {
        if first == last { first.to_string() } else { format!("{first} to {last}") }
    });
    told.collect::<Vec<_>>().join(", ")
}

pub(crate) fn sum_json(sum: DegreeDays) -> Value {
    json!({ "celsius_days": sum.celsius_days(), "fahrenheit_days": sum.fahrenheit_days() })
}

fn as_json(wanted: &Wanted<'_>, counts: &[(Date, HeatCount)], sources: &DailySources<'_>) -> Value {
    let one = |(since, count): &(Date, HeatCount)| {
        let (status, on, by, latest, left) = match count.reached {
            Reached::On { day, by } => ("reached", Some(day), Some(by.word()), None, None),
            Reached::Unknown { at_the_latest, .. } => ("unknown", None, None, at_the_latest, None),
            Reached::NotYet { left } => ("not yet", None, None, None, Some(left)),
        };
        let days = count.days.iter().map(|day| {
            json!({
                "date": day.day.to_string(),
                "mean_c": day.mean.celsius(),
                "adds": sum_json(day.adds),
                "sum": sum_json(day.sum),
                "from": day.origin.word(),
            })
        });
        json!({
            "since": since.to_string(),
            "first": count.first.to_string(),
            "last": count.last.to_string(),
            "sum": sum_json(count.sum),
            "sum_is_at_least": !count.missing.is_empty(),
            "missing": count.missing.iter().map(Date::to_string).collect::<Vec<_>>(),
            "leap_days_of_28_february":
                count.leap_days.iter().map(Date::to_string).collect::<Vec<_>>(),
            "status": status,
            "reached": on.map(|day| day.to_string()),
            "reached_by": by,
            "at_the_latest": latest.map(|day| day.to_string()),
            "wanting": left.map(sum_json),
            "days": days.collect::<Vec<_>>(),
        })
    };
    let files = [sources.measured, sources.forecast, sources.normals].into_iter().flatten();
    json!({
        "base_c": wanted.base.celsius(),
        "threshold": sum_json(wanted.sum),
        "model": wanted.model.map(model_json),
        "warnings": wanted.warnings,
        "since": counts.iter().map(one).collect::<Vec<_>>(),
        "files": files.map(file_json).collect::<Vec<_>>(),
    })
}

fn file_json(series: &DailySeries) -> Value {
    let dropped = series.dropped.iter().map(|it| {
        json!({
            "line": it.line,
            "date": it.day.map(|day| day.to_string()),
            "what": it.what,
            "value": it.value,
            "reason": it.reason.to_string(),
        })
    });
    json!({
        "file": series.file,
        "station": series.station,
        "days": series.days_known(),
        "dropped": dropped.collect::<Vec<_>>(),
        "missing": series.missing().iter().map(Date::to_string).collect::<Vec<_>>(),
    })
}

fn records(counts: &[(Date, HeatCount)]) -> anyhow::Result<String> {
    csv_text(|rows| {
        rows.write_record([
            "since",
            "date",
            "status",
            "mean_c",
            "adds_c_days",
            "sum_c_days",
            "sum_f_days",
            "from",
        ])?;
        for (since, count) in counts {
            let since = since.to_string();
            for day in &count.days {
                rows.write_record([
                    since.as_str(),
                    &day.day.to_string(),
                    mark(count, day.day).unwrap_or("known"),
                    &day.mean.celsius().to_string(),
                    &day.adds.celsius_days().to_string(),
                    &day.sum.celsius_days().to_string(),
                    &day.sum.fahrenheit_days().to_string(),
                    day.origin.word(),
                ])?;
            }
            for day in &count.missing {
                rows.write_record([
                    since.as_str(),
                    &day.to_string(),
                    "missing",
                    "",
                    "",
                    "",
                    "",
                    "",
                ])?;
            }
        }
        Ok(())
    })
}
