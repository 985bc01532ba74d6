//! `turfplat day MAP… --job JOB`: loads, stops and what to carry for a list of properties.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use comfy_table::Cell;
use turfplat::dose::{Batch, Load};
use turfplat::units::UnitSystem;
use turfplat::{DayError, DaySheet, PlanOptions, Print, Stop, day_json, day_sheet, to_watch};

use crate::input::{
    MapArgs, Units, check_unchanged, date, read_job, refuse_job_on, tell_refusal, today_if_counted,
};
use crate::rows::csv_text;
use crate::{Output, Verdict, buy, label, table};

/// Work out a day: the loads that serve a list of properties, and one line a stop
///
/// All stops are treated from one tank, in their order, so loads run from stop to stop. What each
/// zone takes is what `turfplat plan` says of it.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  turfplat day examples/demo/map.geojson \\\n    --job examples/demo/job.toml --date 2026-06-08\n  turfplat day town.geojson --job june.toml --stops monday.txt"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    /// Job file
    #[arg(long, value_name = "JOB")]
    job: PathBuf,

    /// Application of the day, by its name in the job [default: the only one]
    #[arg(long, value_name = "NAME")]
    application: Option<String>,

    /// The properties in the order of the day: a text file with an id a line ("# " begins a
    /// remark), or a table (.csv) with a column "property" [default: all, in the order of the map]
    #[arg(long, value_name = "FILE")]
    stops: Option<PathBuf>,

    /// Date to print, as 2026-06-08, and to count the job's history up to [default: none, and today]
    #[arg(long, value_name = "DATE", value_parser = date)]
    date: Option<String>,

    /// Leave out turf beyond the lot line
    #[arg(long)]
    within_parcel: bool,

    /// Units of amounts
    #[arg(long, value_enum, default_value_t)]
    units: Units,

    /// Form of the answer; csv has one line a stop
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

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let stops = args.stops.as_deref().map(read_stops).transpose()?.unwrap_or_default();
    let map = args.map.read()?;
    let Some(job) = read_job(&args.job, output)? else { return Ok(Verdict::Refused) };
    let options = PlanOptions {
        within_parcel: args.within_parcel,
        date: args.date.clone().or_else(|| today_if_counted(&job)),
        ..PlanOptions::default()
    };
    let sheet = match day_sheet(&map, &job, &options, args.application.as_deref(), &stops) {
        Ok(sheet) => sheet,
        Err(DayError::Job(error)) => {
            refuse_job_on(&map, *error, output)?;
            return Ok(Verdict::Refused);
        }
        Err(error) => return Err(error.into()),
    };
    check_unchanged(&map)?;
    for refusal in &sheet.refusals {
        tell_refusal(refusal, output.remarks)?;
    }
    let units: UnitSystem = args.units.into();
    let text = match args.format {
        Format::Table => as_table(&sheet, args.date.as_deref(), units),
        Format::Json => {
            let document = day_json(&sheet, args.date.as_deref(), units);
            format!("{}\n", serde_json::to_string_pretty(&document)?)
        }
        Format::Csv => records(&sheet, units)?,
    };
    output.out.write_all(text.as_bytes())?;
    if matches!(args.format, Format::Table) {
        let mut findings = table::Findings::default();
        findings.add(sheet.findings.iter().map(|(_, finding)| finding.clone()));
        findings.tell(units, output.remarks)?;
    }
    for stop in &sheet.stops {
        for reason in &stop.refused {
            let Stop { number, property, .. } = stop;
            writeln!(output.remarks, "refused: stop {number}, {property}: {reason}")?;
        }
    }
    let is_done = sheet.is_whole() && !sheet.zones.is_empty();
    Ok(if is_done { Verdict::Done } else { Verdict::Refused })
}

/// The ids of a list of stops.
fn read_stops(path: &Path) -> anyhow::Result<Vec<String>> {
    let name = path.display();
    let text = fs::read_to_string(path).with_context(|| format!("cannot read {name}"))?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let is_table = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
    let stops = if is_table { stops_of_table(path, text)? } else { stops_of_lines(text) };
    if stops.is_empty() {
        bail!("{name}: names no property; write one id a line");
    }
    Ok(stops)
}

/// One id a line; a line that begins with "# " is a remark, and an id may begin with "#".
fn stops_of_lines(text: &str) -> Vec<String> {
    let lines = text.lines().map(str::trim);
    lines
        .filter(|line| !line.is_empty() && *line != "#" && !line.starts_with("# "))
        .map(str::to_owned)
        .collect()
}

fn stops_of_table(path: &Path, text: &str) -> anyhow::Result<Vec<String>> {
    let name = path.display();
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
    let header = reader.headers().with_context(|| format!("{name}: not a table"))?.clone();
    let column = header.iter().position(|column| column.eq_ignore_ascii_case("property"));
    let column = column.with_context(|| {
        let known: Vec<&str> = header.iter().collect();
        format!("{name}: has no column \"property\" (there is: {})", known.join(", "))
    })?;
    let mut stops = Vec::new();
    for row in reader.records() {
        let row = row.with_context(|| format!("{name}: not a table"))?;
        let id = row.get(column).unwrap_or_default();
        if id.is_empty() {
            let line = row.position().map_or(0, csv::Position::line);
            bail!("{name}: line {line}: names no property; write its id, or take the line out");
        }
        stops.push(id.to_owned());
    }
    Ok(stops)
}

fn as_table(sheet: &DaySheet<'_>, date: Option<&str>, units: UnitSystem) -> String {
    let print = Print(units);
    let products: Vec<&str> = sheet.products.iter().map(|product| product.name.as_str()).collect();
    let stops = sheet.stops.len();
    let mut text = format!(
        "Day sheet {}{}: {} by {} ({})\n{stops} {}, {} to treat\n",
        sheet.application,
        date.map_or_else(String::new, |date| format!(", {date}")),
        products.join(" + "),
        sheet.equipment.name,
        print.worked_with(sheet.equipment),
        if stops == 1 { "stop" } else { "stops" },
        sheet.treated().print(units),
    );
    text.push_str(&buy::list("To carry", &sheet.carried, units));
    text.push_str(&format!("\nLoads, in the order of the day\n{}", loads_table(sheet, units)));
    text.push_str(&format!("\nStops\n{}", stops_table(sheet, units)));
    for stop in &sheet.stops {
        let Stop { number, property, .. } = stop;
        for (zone, reason) in &stop.skipped {
            text.push_str(&format!("Not treated: stop {number}, {property}, {zone}: {reason}.\n"));
        }
        if !stop.without_setback.is_empty() {
            text.push_str(&format!(
                "No setback is kept at stop {number}, {property}, from: {}.\n",
                stop.without_setback.join(", ")
            ));
        }
        for reason in &stop.refused {
            text.push_str(&format!("Refused: stop {number}, {property}: {reason}.\n"));
        }
    }
    text.push_str(&label::of_products(&sheet.products, units));
    text.push_str("\nCautions\n");
    for caution in &sheet.cautions {
        text.push_str(&format!("  • {caution}\n"));
    }
    text
}

fn loads_table(sheet: &DaySheet<'_>, units: UnitSystem) -> String {
    let print = Print(units);
    let is_wet = sheet
        .batches
        .iter()
        .any(|batch| batch.loads.iter().any(|load| load.spray_volume.is_some()));
    let several = sheet.batches.len() > 1;
    let mut header = vec!["load"];
    header.extend(several.then_some("mix"));
    header.extend(is_wet.then_some(["fill to", "water"]).into_iter().flatten());
    header.extend(["measure out", "serves"]);
    let mut rows = table::new(header);
    for (number, batch, load) in sheet.loads() {
        let mut row = vec![table::number(number)];
        row.extend(several.then(|| table::number(batch.number)));
        if is_wet {
            let printed = |volume: Option<_>| volume.map_or_else(String::new, |it| print.spray(it));
            row.push(table::number(printed(load.mixed_spray())));
            row.push(table::number(printed(load.mixed_water())));
        }
        row.push(table::number(measured(sheet, load, print)));
        row.push(Cell::new(served(sheet, load, units)));
        rows.add_row(row);
    }
    let mut text = format!("{}{}\n", strengths(sheet, print), rows.trim_fmt());
    if several {
        text.push_str(
            "A new mix is another strength: the tank is sprayed out, and rinsed as the label says, before it.\n",
        );
    }
    for batch in &sheet.batches {
        let Some(dead) = &batch.dead_volume else { continue };
        text.push_str(&format!(
            "The first load of mix {} is mixed with {} more, which stays in hose and sump and covers nothing.\n",
            batch.number,
            print.spray(dead.spray_volume)
        ));
    }
    text
}

/// `stop 1, Front lawn: 17,911 sq ft`, a line each.
fn served(sheet: &DaySheet<'_>, load: &Load, units: UnitSystem) -> String {
    let lines = sheet
        .served(load)
        .map(|(zone, area)| format!("stop {}, {}: {}", zone.stop, zone.zone, area.print(units)));
    lines.collect::<Vec<_>>().join("\n")
}

/// `Mix 1: 0.45 fl oz/1000 sq ft in 1 gal/1000 sq ft`, a line each: what tells one strength from another.
fn strengths(sheet: &DaySheet<'_>, print: Print) -> String {
    let several = sheet.products.len() > 1;
    let one = |batch: &Batch| {
        let zone = sheet.zones.iter().find(|zone| zone.batch == batch.number);
        let rates = zone.into_iter().flat_map(|zone| zone.rates.iter().zip(&sheet.products));
        let rates = rates.map(|(rate, product)| match several {
            true => format!("{} {}", print.product_rate(*rate), product.name),
            false => print.product_rate(*rate),
        });
        let volume = sheet.equipment.spray_volume.map(|rate| print.spray_rate(rate));
        let volume = volume.map_or_else(String::new, |volume| format!(" in {volume}"));
        let rates = rates.collect::<Vec<_>>().join(" + ");
        format!("Mix {}: {rates}{volume}\n", batch.number)
    };
    sheet.batches.iter().map(one).collect()
}

fn measured(sheet: &DaySheet<'_>, load: &Load, print: Print) -> String {
    let several = sheet.products.len() > 1;
    let one = load.mixed_products().iter().zip(&sheet.products).map(|(amount, product)| {
        let name = if several { format!(" {}", product.name) } else { String::new() };
        let error = print.measuring_error(amount.error);
        format!("{}{name}{error}", print.to_measure(amount.measured, sheet.equipment))
    });
    one.collect::<Vec<_>>().join("\n")
}

fn stops_table(sheet: &DaySheet<'_>, units: UnitSystem) -> String {
    let print = Print(units);
    let is_wet = sheet.stops.iter().any(|stop| stop.spray_volume.is_some());
    let mut header = vec!["stop", "property", "treated", "product"];
    header.extend(is_wet.then_some("spray"));
    header.extend(["loads", "watch"]);
    let mut rows = table::ruled(header);
    for stop in &sheet.stops {
        let amounts: Vec<String> =
            stop.amounts.iter().map(|amount| print.product(*amount)).collect();
        let mut row = vec![
            table::number(stop.number),
            Cell::new(&stop.property),
            table::number(match (stop.amounts.is_empty(), stop.refused.is_empty()) {
                (false, _) => stop.treated.print(units),
                (true, true) => "nothing".to_owned(),
                (true, false) => "refused".to_owned(),
            }),
            table::number(amounts.join("\n")),
        ];
        if is_wet {
            let spray = stop.spray_volume.map_or_else(String::new, |it| print.spray(it));
            row.push(table::number(spray));
        }
        row.push(table::number(in_words(&sheet.loads_of(stop))));
        row.push(Cell::new(to_watch(&stop.setbacks, units)));
        rows.add_row(row);
    }
    format!("{}\n", rows.trim_fmt())
}

/// `1`, `1, 2`, `3 to 5`.
fn in_words(loads: &[usize]) -> String {
    match loads {
        [first, _, .., last] if last - first + 1 == loads.len() => format!("{first} to {last}"),
        some => some.iter().map(usize::to_string).collect::<Vec<_>>().join(", "),
    }
}

const COLUMNS: [&str; 12] = [
    "stop",
    "property",
    "treated_area_m2",
    "treated_sq_ft",
    "products",
    "amounts",
    "amount_units",
    "spray_volume",
    "spray_unit",
    "loads",
    "watch",
    "not_done",
];

/// One line a stop; of a mix the products' figures stand in one order, with "; " between them.
fn records(sheet: &DaySheet<'_>, units: UnitSystem) -> anyhow::Result<String> {
    let print = Print(units);
    let number = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
    csv_text(|writer| {
        writer.write_record(COLUMNS)?;
        for stop in &sheet.stops {
            let in_units = || stop.amounts.iter().map(|it| (it, print.product_unit(*it)));
            let amounts: Vec<String> =
                in_units().map(|(amount, unit)| number(amount.in_unit(unit))).collect();
            let names: Vec<&str> = in_units().map(|(_, unit)| unit.name()).collect();
            let ids = sheet.products.iter().take(stop.amounts.len());
            let ids: Vec<&str> = ids.map(|product| product.id.as_str()).collect();
            let spray = stop.spray_volume.and_then(|volume| volume.in_unit(print.spray_unit()));
            let skipped = stop.skipped.iter().map(|(zone, reason)| format!("{zone}: {reason}"));
            let not_done: Vec<String> = skipped.chain(stop.refused.iter().cloned()).collect();
            let loads: Vec<String> = sheet.loads_of(stop).iter().map(usize::to_string).collect();
            writer.write_record([
                stop.number.to_string().as_str(),
                &stop.property,
                &stop.treated.square_metres().to_string(),
                &stop.treated.square_feet().to_string(),
                &ids.join("; "),
                &amounts.join("; "),
                &names.join("; "),
                &number(spray),
                spray.map_or("", |_| print.spray_unit().name()),
                &loads.join(" "),
                &to_watch(&stop.setbacks, units),
                &not_done.join("; "),
            ])?;
        }
        Ok(())
    })
}
