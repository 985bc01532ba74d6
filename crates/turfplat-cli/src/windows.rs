//! `turfplat windows MAP… --job JOB --forecast FILE`: the hours of a forecast that are fit to spray.

use std::fs;
use std::io::{self, Read};
use std::path::PathBuf;

use anyhow::{Context, bail};
use comfy_table::Cell;
use jiff::Timestamp;
use turfplat::sheet::{Page, png, strip_svg};
use turfplat::timing::{By, Celsius, Forecast, Rule};
use turfplat::units::{Speed, Time, UnitSystem, significant};
use turfplat::{
    PlanOptions, SprayWindows, WindowsError, spray_windows, strip_chart, window_span, windows_json,
};

use crate::input::{MapArgs, is_of_several, today_if_counted};
use crate::job_args::{Format, GroundArgs, JobFile};
use crate::one_plan::{OnePlan, one_application, one_plan};
use crate::rows::csv_text;
use crate::{Output, Verdict, files, table};

/// Tell which hours of a forecast are fit to spray in, and why the others are not
///
/// Every hour is held to the wind, gusts, rain and temperature limits of the labels of the mix, to those
/// of the job's [weather] and, where these say nothing, to defaults with a source each; and to daylight
/// and inversion hours by the sun of the property's place and day. What the forecast does not give is
/// "unknown", never "fit". Forecast wind is that of 10 m above ground: measure it where you spray.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  turfplat windows examples/demo/map.geojson \\\n    --job examples/demo/job.toml --forecast examples/demo/forecast.json --needs 1.5h\n  turfplat windows map.geojson --job june.toml --forecast hours.csv \\\n    --tz America/New_York -o june.png"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    #[command(flatten)]
    job: JobFile,

    /// Hourly forecast: what the National Weather Service answers to gridpoints/…/forecast/hourly
    /// (JSON), or a table (CSV) with a column "time"; - is standard input
    #[arg(long, value_name = "FILE")]
    forecast: PathBuf,

    /// Application, by its name in the job [default: the only one]
    #[arg(long, value_name = "NAME")]
    application: Option<String>,

    /// Property, by its id on the map [default: the only one]
    #[arg(long, value_name = "ID")]
    property: Option<String>,

    /// How long the work takes, such as 1.5h or "1 h 30 min" [default: the way over the passes]
    #[arg(long, value_name = "TIME", value_parser = time)]
    needs: Option<Time>,

    /// The property's time zone, such as America/New_York [default: as the forecast writes its times]
    #[arg(long, value_name = "ZONE")]
    tz: Option<String>,

    /// Leave out the hours that are over then, such as 2026-06-09T06:00-04:00 [default: now, or nothing
    /// of a forecast that is past]
    #[arg(long, value_name = "TIME", value_parser = moment)]
    from: Option<Timestamp>,

    /// Form of the answer
    #[arg(long, value_enum, default_value_t)]
    format: Format,

    #[command(flatten)]
    ground: GroundArgs,

    /// Draw a strip chart, too; the ending, .png or .svg, says what
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

/// A time of some length, for the command line.
fn time(text: &str) -> Result<Time, String> {
    let time: Time = text.parse().map_err(|error: turfplat::units::UnitError| error.to_string())?;
    if time.seconds() > 0.0 { Ok(time) } else { Err("no work takes no time".to_owned()) }
}

/// A moment, for the command line.
fn moment(text: &str) -> Result<Timestamp, String> {
    text.parse().map_err(|_| {
        "write the time with its offset from UTC, such as 2026-06-09T06:00-04:00".to_owned()
    })
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let as_png = args.output.as_deref().map(is_png).transpose()?;
    let mut kept = args.map.kept();
    kept.add_map(&args.forecast);
    kept.check(args.output.clone())?;
    let name = args.forecast.display().to_string();
    let bytes = if name == "-" {
        if args.map.is_stream() {
            bail!("map and forecast cannot both come from standard input; name a file for one");
        }
        let mut bytes = Vec::new();
        io::stdin().lock().read_to_end(&mut bytes).context("cannot read standard input")?;
        bytes
    } else {
        fs::read(&args.forecast).with_context(|| format!("cannot read {name}"))?
    };
    let forecast = Forecast::read(&name, &bytes, args.tz.as_deref())?;
    let forecast = match args.from {
        Some(from) => {
            forecast.since(from).with_context(|| format!("{name}: no hour is after {from}"))?
        }
        // Of a forecast that is past all is told, for whoever looks back.
        None => forecast.clone().since(Timestamp::now()).unwrap_or(forecast),
    };
    let map = args.map.read()?;
    let Some(job) = args.job.read(output)? else { return Ok(Verdict::Refused) };
    let asked = args.application.as_deref().map(|name| job.application(Some(name)));
    let asked = asked.transpose()?.map(|application| application.name.as_str());
    if args.property.is_none() && is_of_several(&map) {
        bail!("the map has several properties; choose one with --property ID");
    }
    let options = PlanOptions {
        within_parcel: args.ground.within_parcel,
        date: today_if_counted(&job),
        property: args.property.clone(),
        ..PlanOptions::default()
    };
    let Some(OnePlan { plan, others_refused }) = one_plan(&map, &job, &options, output)? else {
        return Ok(Verdict::Refused);
    };
    let plan = &plan;
    let application = one_application(plan, asked)?;
    let units = args.ground.units();
    let found = match spray_windows(plan, application, &job, &forecast, args.needs, units) {
        Ok(found) => found,
        Err(error @ WindowsError::Sun(_)) => return Err(error.into()),
        Err(error) => {
            writeln!(output.remarks, "refused: {error}")?;
            return Ok(Verdict::Refused);
        }
    };
    if let (Some(path), Some(as_png)) = (&args.output, as_png) {
        let svg = strip_svg(&strip_chart(&found));
        if as_png {
            files::write(path, &png(&svg, Page::Screen)?)?;
        } else {
            files::write(path, svg.as_bytes())?;
        }
        writeln!(output.remarks, "wrote {}", path.display())?;
    }
    tell_age(&forecast, output)?;
    if found.needs.is_none() {
        writeln!(
            output.remarks,
            "remark: nobody said how long the work takes; --needs says so, or a swath and a speed of the equipment"
        )?;
    }
    for note in &found.notes {
        writeln!(output.remarks, "note: {note}")?;
    }
    match args.format {
        Format::Json => writeln!(output.out, "{:#}", windows_json(&found))?,
        Format::Csv => output.out.write_all(rows(&found, units)?.as_bytes())?,
        Format::Table => tell(&found, units, output)?,
    }
    Ok(if others_refused { Verdict::Refused } else { Verdict::Done })
}

/// A forecast of yesterday says little of today.
fn tell_age(forecast: &Forecast, output: &mut Output<'_>) -> anyhow::Result<()> {
    const OLD_HOURS: i64 = 12;
    let now = Timestamp::now();
    let is_past = forecast.hours.last().is_some_and(|hour| hour.end.timestamp() <= now);
    let age = forecast.issued.map(|issued| now.duration_since(issued).as_hours());
    if is_past {
        writeln!(output.remarks, "remark: all hours of the forecast are past")?;
    } else if let Some(age) = age.filter(|age| *age >= OLD_HOURS) {
        writeln!(output.remarks, "remark: the forecast was made {age} h ago; get a new one")?;
    }
    Ok(())
}

fn is_png(path: &std::path::Path) -> anyhow::Result<bool> {
    match path.extension().and_then(|it| it.to_str()).map(str::to_lowercase).as_deref() {
        Some("png") => Ok(true),
        Some("svg") => Ok(false),
        _ => bail!("{}: end the file name with .png or .svg", path.display()),
    }
}

fn tell(
    found: &SprayWindows<'_>,
    units: UnitSystem,
    output: &mut Output<'_>,
) -> anyhow::Result<()> {
    let out = &mut *output.out;
    let names: Vec<&str> = found.products.iter().map(|product| product.name.as_str()).collect();
    writeln!(out, "Hours to spray: {}, {}", found.application, names.join(" + "))?;
    if let (Some(first), Some(last)) = (found.forecast.hours.first(), found.forecast.hours.last()) {
        let span = window_span(&first.start, &last.end);
        writeln!(out, "{span}, local time {}", found.forecast.clock)?;
    }
    writeln!(out, "{}\n", found.summary())?;
    let told = found.told();
    if !told.is_empty() {
        let mut rows =
            table::ruled(["", "window", "hours", "best part", "nearest limit", "to be minded"]);
        for (told, rank) in told.iter().zip(1..) {
            let whole = told.window.best == told.window.hours;
            let best =
                if whole { "all of it".to_owned() } else { window_span(told.best.0, told.best.1) };
            let short = if told.window.is_long_enough == Some(false) { ", too short" } else { "" };
            rows.add_row([
                table::number(rank),
                Cell::new(window_span(told.start, told.end)),
                table::number(format!("{}{short}", significant(told.window.length, 3))),
                Cell::new(best),
                Cell::new(told.nearest.unwrap_or("-")),
                Cell::new(told.remarks.join("\n")),
            ]);
        }
        writeln!(out, "{rows}\n")?;
    }
    let mut hours = table::new(["hour", "verdict", "why"]);
    let mut day = None;
    for (hour, judged) in found.forecast.hours.iter().zip(&found.hours) {
        let date = hour.start.date();
        if day.replace(date) != Some(date) {
            hours.add_row([Cell::new(hour.start.strftime("%a %Y-%m-%d"))]);
        }
        // What is to be minded says nothing of an hour that is not fit.
        let mut why: Vec<&str> = judged.reasons().map(|it| it.words.as_str()).collect();
        if why.is_empty() {
            why.extend(judged.remarks().map(|it| it.words.as_str()));
        }
        hours.add_row([
            Cell::new(hour.start.strftime("%H:%M %:z")),
            Cell::new(judged.verdict),
            Cell::new(why.join("; ")),
        ]);
    }
    writeln!(out, "{hours}\n")?;
    let mut limits = table::new(["limit", "", "by", "weight", "source"]);
    for asked in found.limits.asked(units) {
        let source = match &asked.by {
            By::Default(source) | By::OwnDefault(source) => source.as_str(),
            By::Label(_) => "the product file",
            By::Job => "[weather] of the job",
        };
        limits.add_row([
            Cell::new(asked.rule),
            Cell::new(&asked.limit),
            Cell::new(&asked.by),
            Cell::new(asked.weight),
            Cell::new(source),
        ]);
    }
    writeln!(out, "{limits}\n")?;
    for caution in &found.cautions {
        writeln!(out, "{caution}")?;
    }
    Ok(())
}

/// One row an hour: what is given of it, the verdict, and one column for each rule. Columns are named as
/// the reader of forecasts names them, by units.
fn rows(found: &SprayWindows<'_>, units: UnitSystem) -> anyhow::Result<String> {
    let us = units == UnitSystem::Us;
    let (speed, degrees, depth) = if us { ("mph", "f", "in") } else { ("kmh", "c", "mm") };
    csv_text(|rows| {
        let given = [
            "start".to_owned(),
            "end".to_owned(),
            format!("wind_least_{speed}"),
            format!("wind_most_{speed}"),
            "wind_from".to_owned(),
            format!("gust_{speed}"),
            format!("temperature_{degrees}"),
            format!("dew_point_{degrees}"),
            "humidity_pct".to_owned(),
            "rain_chance_pct".to_owned(),
            format!("rain_{depth}"),
            "verdict".to_owned(),
            "window".to_owned(),
        ];
        rows.write_record(given.into_iter().chain(Rule::ALL.map(|rule| rule.to_string())))?;
        let figure = |value: Option<f64>| value.map(|it| significant(it, 3).replace(',', ""));
        let speed = |speed: Option<Speed>| {
            figure(speed.map(|it| if us { it.mph() } else { it.kilometres_per_hour() }))
        };
        let degrees = |degrees: Option<Celsius>| {
            figure(degrees.map(|it| if us { it.fahrenheit() } else { it.degrees() }))
        };
        let percent = |share: Option<f64>| figure(share.map(|share| share * 100.0));
        let stamp = |at: &jiff::ZonedDateTime| at.strftime("%Y-%m-%dT%H:%M%:z").to_string();
        for (place, (hour, judged)) in found.forecast.hours.iter().zip(&found.hours).enumerate() {
            let window = found.windows.iter().position(|window| window.hours.contains(&place));
            let given = [
                Some(stamp(&hour.start)),
                Some(stamp(&hour.end)),
                speed(hour.wind.map(|wind| wind.least)),
                speed(hour.wind.map(|wind| wind.most)),
                hour.wind_from.clone(),
                speed(hour.gust),
                degrees(hour.temperature),
                degrees(hour.dew_point),
                percent(hour.humidity),
                percent(hour.rain_chance),
                figure(
                    hour.rain.map(|rain| rain.metres() * if us { 1.0 / 0.0254 } else { 1000.0 }),
                ),
                Some(judged.verdict.to_string()),
                window.map(|rank| (rank + 1).to_string()),
            ];
            let told = judged.rules.iter().map(|it| format!("{}: {}", it.verdict, it.words));
            rows.write_record(given.into_iter().map(Option::unwrap_or_default).chain(told))?;
        }
        Ok(())
    })
}
