//! `turfplat day MAP… --job JOB`: loads, stops and what to carry for a list of properties.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use comfy_table::Cell;
use turfplat::units::UnitSystem;
use turfplat::{
    DayError, DayLoad, DayOrder, DaySheet, DayStop, Print, Stop, day_json, day_order, day_sheet,
    to_watch,
};

use crate::input::{MapArgs, check_unchanged, refuse_job_on, tell_refusal};
use crate::job_args::{Format, JobArgs};
use crate::paper::{self, PageName};
use crate::rows::csv_text;
use crate::{Output, Verdict, buy, files, label, letters, table};

/// Work out a day: the loads that serve a list of properties, and one line a stop
///
/// All stops are treated from one tank, in their order, so loads run from stop to stop. What each
/// zone takes is what `turfplat plan` says of it. With -o june.pdf the paper that a crew carries; it
/// needs a turfplat built with the feature pdf.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  turfplat day examples/demo/map.geojson \\\n    --job examples/demo/job.toml --date 2026-06-08\n  turfplat day town.geojson --job june.toml --stops monday.txt\n  turfplat day town.geojson --job june.toml --stops monday.txt -o monday.pdf"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    #[command(flatten)]
    job: JobArgs,

    /// Application of the day, by its name in the job [default: the only one]
    #[arg(long, value_name = "NAME")]
    application: Option<String>,

    /// The properties in the order of the day: a text file with an id a line ("# " begins a
    /// remark), or a table (.csv) with a column "property" [default: all, in the order of the map]
    #[arg(long, value_name = "FILE")]
    stops: Option<PathBuf>,

    /// Form of the answer; csv has one line a stop
    #[arg(long, value_enum, default_value_t, conflicts_with = "output")]
    format: Format,

    /// Write the day sheet as PDF instead, to a file that ends in .pdf
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,

    /// Paper of the PDF
    #[arg(long, value_enum, default_value_t)]
    page: PageName,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    if let Some(file) = &args.output {
        paper::check_built_in()?;
        args.map.kept().check([file.clone()])?;
        paper::check_name(file)?;
    }
    let stops = args.stops.as_deref().map(read_stops).transpose()?.unwrap_or_default();
    let map = args.map.read()?;
    let Some(job) = args.job.file.read(output)? else { return Ok(Verdict::Refused) };
    let options = args.job.options(&job);
    let sheet = match day_sheet(&map, &job, &options, args.application.as_deref(), &stops) {
        Ok(sheet) => sheet,
        Err(DayError::Job(error)) => {
            refuse_job_on(&map, *error, output)?;
            return Ok(Verdict::Refused);
        }
        Err(error) => return Err(error.into()),
    };
    check_unchanged(&map)?;
    for uncounted in &sheet.uncounted {
        writeln!(output.remarks, "note: {uncounted}")?;
    }
    for refusal in &sheet.refusals {
        tell_refusal(refusal, output.remarks)?;
    }
    let units: UnitSystem = args.job.units();
    let date = args.job.date.as_deref();
    match &args.output {
        Some(file) if sheet.zones.is_empty() => {
            writeln!(
                output.remarks,
                "refused: nothing is treated; {} is not written",
                file.display()
            )?;
        }
        Some(file) => {
            sheet.zones.iter().for_each(|zone| letters::note_text(&zone.zone));
            files::write(file, &paper::day_order(&day_order(&sheet, date, units), args.page)?)?;
            writeln!(output.remarks, "wrote the day sheet to {}", file.display())?;
        }
        None => {
            let text = match args.format {
                Format::Table => as_table(&sheet, &day_order(&sheet, date, units), units),
                Format::Json => {
                    let document = day_json(&sheet, date, units);
                    format!("{}\n", serde_json::to_string_pretty(&document)?)
                }
                Format::Csv => records(&sheet, units)?,
            };
            output.out.write_all(text.as_bytes())?;
        }
    }
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
        if stop.undosed {
            let Stop { number, property, skipped, .. } = stop;
            let why =
                skipped.first().map_or_else(String::new, |(zone, why)| format!(" ({zone}: {why})"));
            writeln!(
                output.remarks,
                "refused: stop {number}, {property}: application {:?} doses nothing on any zone{why}",
                sheet.application
            )?;
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

fn as_table(sheet: &DaySheet<'_>, order: &DayOrder, units: UnitSystem) -> String {
    let products: Vec<&str> = order.products.iter().map(|product| product.name.as_str()).collect();
    let stops = order.stops.len();
    let mut text = format!(
        "Day sheet {}{}: {} by {} ({})\n{stops} {}, {} to treat\n",
        order.application,
        order.date.as_ref().map_or_else(String::new, |date| format!(", {date}")),
        products.join(" + "),
        sheet.equipment.name,
        Print(units).worked_with(sheet.equipment),
        if stops == 1 { "stop" } else { "stops" },
        order.treated,
    );
    text.push_str(&buy::list("To carry", &sheet.carried, units));
    text.push_str(&format!("\nLoads, in the order of the day\n{}", loads_table(order)));
    text.push_str(&format!("\nStops\n{}", stops_table(order)));
    for DayStop { number, property, notes, .. } in &order.stops {
        // Findings are told as remarks.
        for (head, note) in notes.iter().filter(|(head, _)| *head != DayStop::MIND) {
            text.push_str(&format!("{head}: stop {number}, {property}: {note}.\n"));
        }
    }
    text.push_str(&label::of_products(&sheet.products, units));
    text.push_str("\nCautions\n");
    for caution in &order.cautions {
        text.push_str(&format!("  • {caution}\n"));
    }
    text
}

fn loads_table(order: &DayOrder) -> String {
    let is_wet = order.loads.iter().any(|load| load.fill_to.is_some());
    let several = order.is_of_several_mixes();
    let mut header = vec!["load"];
    header.extend(several.then_some("mix"));
    header.extend(is_wet.then_some(["fill to", "water"]).into_iter().flatten());
    header.extend(["measure out", "serves"]);
    let mut rows = table::new(header);
    for DayLoad { load, mix, fill_to, water, measure, serves } in &order.loads {
        let mut row = vec![table::number(load)];
        row.extend(several.then(|| table::number(mix)));
        if is_wet {
            row.extend([fill_to, water].map(|it| table::number(it.as_deref().unwrap_or_default())));
        }
        row.push(table::number(measure.join("\n")));
        row.push(Cell::new(serves.join("\n")));
        rows.add_row(row);
    }
    let lines = |texts: &[String]| texts.iter().map(|line| format!("{line}\n")).collect::<String>();
    format!("{}{}\n{}", lines(&order.mixes), rows.trim_fmt(), lines(&order.before_loads))
}

fn stops_table(order: &DayOrder) -> String {
    let is_wet = order.stops.iter().any(|stop| stop.spray.is_some());
    let mut header = vec!["stop", "property", "treated", "product"];
    header.extend(is_wet.then_some("spray"));
    header.extend(["loads", "watch"]);
    let mut rows = table::ruled(header);
    for DayStop { number, property, treated, amounts, spray, loads, watch, .. } in &order.stops {
        let mut row = vec![
            table::number(number),
            Cell::new(property),
            table::number(treated),
            table::number(amounts.join("\n")),
        ];
        row.extend(is_wet.then(|| table::number(spray.as_deref().unwrap_or_default())));
        row.extend([table::number(loads), Cell::new(watch)]);
        rows.add_row(row);
    }
    format!("{}\n", rows.trim_fmt())
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
