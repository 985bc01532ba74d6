//! `turfplat plan MAP… --job JOB`: doses, batches and loads, and all the files of a plan.

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};

use comfy_table::Cell;
use turfplat::dose::{Batch, Cover, Load, Purchase, Step, litre_jar, quart_jar};
use turfplat::sheet::{Page, png, svg};
use turfplat::units::{Amount, Area, Length, UnitSystem, decimal};
use turfplat::{
    ApplicationPlan, Finding, MapShape, PlanOptions, Print, PropertyMap, PropertyPlan, Refusal,
    Shopping, TreatedZone, feature_collection, plan_each, plan_json, property_plan_json,
    purchase_json, spray_map,
};

use crate::answer::{Answer, Form, PROPERTIES, after_properties, indented};
use crate::input::{
    MapArgs, Units, check_unchanged, date, distance, is_of_several, read_job, refuse_job_on,
    tell_refusal, today_if_counted,
};
use crate::progress::Progress;
use crate::{Output, Verdict, buy, files, label, limits, table};

/// Work out doses, batches and loads for a job, and write its files
///
/// With --out DIR: plan.json and plan.csv, and for each application spray-map.png, spray-map.svg
/// and zones.geojson (the treated shapes in WGS 84; of a map on a plane in its meters). With several properties one folder each,
/// and summary.csv.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat plan examples/demo/map.geojson \\\n    --job examples/demo/job.toml --out plan --date 2026-06-08"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    /// Job file: products, label rates, equipment, setbacks
    #[arg(long, value_name = "JOB")]
    job: PathBuf,

    /// Folder for the files of the plan
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,

    /// Date to print on maps, as 2026-06-08, and to count the job's history up to
    /// [default: a line to fill in, and today]
    #[arg(long, value_name = "DATE", value_parser = date)]
    date: Option<String>,

    /// Leave out turf beyond the lot line
    #[arg(long)]
    within_parcel: bool,

    /// How far off drawn corners may be where the map does not say so, such as 1ft (standard deviation)
    #[arg(long, value_name = "DIST", value_parser = distance)]
    drawn: Option<Length>,

    /// Units of amounts
    #[arg(long, value_enum, default_value_t)]
    units: Units,

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

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let map = args.map.read()?;
    let Some(job) = read_job(&args.job, output)? else { return Ok(Verdict::Refused) };
    let options = PlanOptions {
        within_parcel: args.within_parcel,
        date: args.date.clone().or_else(|| today_if_counted(&job)),
        property: None,
        drawn_to: args.drawn,
    };
    let units: UnitSystem = args.units.into();
    let folders = args.out.as_deref().map(|folder| Folders::of(&map, folder));
    let look = |plan: PropertyPlan<'_>| -> anyhow::Result<Piece> {
        let refusal = plan.refusal();
        // Where a limit stops all of it, nothing is written.
        let written = refusal.is_none() || plan.doses_anything();
        let summary = match folders.as_ref().filter(|_| written) {
            None => String::new(),
            Some(folders) => folders.write(&plan, args.date.as_deref(), units)?,
        };
        let text = match args.format {
            Format::Table => as_table(&plan, units),
            Format::Json => indented(&property_plan_json(&plan, units)),
            Format::Csv => records(&plan, units)?,
        };
        let tell = matches!(args.format, Format::Table);
        let findings = if tell { plan.findings } else { Vec::new() };
        let undosed = plan.applications.iter().map(undosed).collect();
        Ok(Piece { text, summary, findings, purchases: plan.purchases, refusal, written, undosed })
    };
    let csv_header = csv_text(|writer| Ok(writer.write_record(COLUMNS)?))?;
    let form = match args.format {
        Format::Table => Form::PLAIN,
        Format::Json => PROPERTIES,
        Format::Csv => Form { head: &csv_header, ..Form::PLAIN },
    };
    let mut answer = Some(Answer::new(form, None, output.out));
    let mut findings = table::Findings::default();
    let mut refused: Vec<Refusal> = Vec::new();
    let mut summary = csv_text(|writer| Ok(writer.write_record(SUMMARY_COLUMNS)?))?;
    let mut progress = Progress::new("planning", map.properties().len() as u64, false);
    let (mut done, mut planned) = (0, 0);
    let mut shopping = Shopping::default();
    // By application: why it doses nothing on the first property; `None` once it doses something.
    let mut nothing: BTreeMap<String, Option<String>> = BTreeMap::new();
    let result = plan_each(&map, &job, &options, look, |result| -> anyhow::Result<()> {
        done += 1;
        progress.at(done);
        match result {
            Ok(piece) => {
                let piece = piece?;
                planned += usize::from(piece.written);
                if let Some(refusal) = piece.refusal {
                    tell_refusal(&refusal, output.remarks)?;
                    refused.push(refusal);
                }
                for (application, reason) in piece.undosed {
                    let known = nothing.entry(application).or_insert_with(|| reason.clone());
                    if reason.is_none() {
                        *known = None;
                    }
                }
                summary.push_str(&piece.summary);
                shopping.add(&piece.purchases);
                findings.add(piece.findings);
                answer = answer.take().map(|answer| answer.add(&piece.text)).transpose()?;
            }
            Err(refusal) => {
                tell_refusal(&refusal, output.remarks)?;
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
    if let Some(folders) = folders.filter(|_| planned > 0) {
        summary.push_str(&refused_records(&refused)?);
        folders.finish(&summary)?;
        writeln!(output.remarks, "wrote the plan to {}", folders.folder.display())?;
    }
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
            writeln!(
                output.remarks,
                "refused: application {application:?} doses nothing on any zone ({reason})"
            )?;
        }
    }
    let all_dosed = nothing.values().all(Option::is_none);
    Ok(if refused.is_empty() && planned > 0 && all_dosed {
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
    text: String,
    summary: String,
    findings: Vec<Finding>,
    purchases: Vec<Purchase>,
    refusal: Option<Refusal>,
    written: bool,
    /// Of each application its name, and why it doses nothing here.
    undosed: Vec<(String, Option<String>)>,
}

/// An application that puts nothing down on a property, with the first reason.
fn undosed(application: &ApplicationPlan<'_>) -> (String, Option<String>) {
    let first =
        application.skipped.first().filter(|it| application.zones.is_empty() && !it.refused);
    let reason = first.map(|skipped| format!("{}: {}", skipped.zone, skipped.reason));
    (application.name.to_owned(), reason)
}

/// Where plans are written: one folder a property where the map has several, refused ones counted.
struct Folders<'a> {
    folder: &'a Path,
    /// By id; empty where the map is one property.
    names: HashMap<&'a str, String>,
}

impl<'a> Folders<'a> {
    const SUMMARY: &'static str = "summary.csv";

    fn of(map: &'a PropertyMap, folder: &'a Path) -> Folders<'a> {
        let mut names = HashMap::new();
        if is_of_several(map) {
            let ids: Vec<&str> = map.properties().iter().filter_map(|it| map.id(*it)).collect();
            // The summary's own name is not to be had for a property.
            let all = std::iter::once(Self::SUMMARY).chain(ids.iter().copied());
            names = ids.iter().copied().zip(files::safe_names(all).split_off(1)).collect();
        }
        Folders { folder, names }
    }

    /// Writes the files of one property; its lines of the summary.
    fn write(
        &self,
        plan: &PropertyPlan<'_>,
        date: Option<&str>,
        units: UnitSystem,
    ) -> anyhow::Result<String> {
        let Some(name) = self.names.get(plan.property.as_str()) else {
            files::write_together(self.folder, files_of(plan, date, units)?)?;
            return Ok(String::new());
        };
        files::write_together(&self.folder.join(name), files_of(plan, date, units)?)?;
        summary_records(plan, name, units)
    }

    fn finish(&self, summary: &str) -> anyhow::Result<()> {
        if self.names.is_empty() {
            return Ok(());
        }
        files::write(&self.folder.join(Self::SUMMARY), summary.as_bytes())
    }
}

/// The files of one property by name, all drawn before any is written.
fn files_of(
    plan: &PropertyPlan<'_>,
    date: Option<&str>,
    units: UnitSystem,
) -> anyhow::Result<Vec<(String, Vec<u8>)>> {
    let mut written: Vec<(String, Vec<u8>)> = Vec::new();
    let document = plan_json(std::slice::from_ref(plan), units);
    written.push(("plan.json".to_owned(), format!("{document:#}\n").into_bytes()));
    let header = csv_text(|writer| Ok(writer.write_record(COLUMNS)?))?;
    written.push(("plan.csv".to_owned(), (header + &records(plan, units)?).into_bytes()));
    let names = files::safe_names(plan.applications.iter().map(|application| application.name));
    for (application, name) in plan.applications.iter().zip(names) {
        let suffix = if plan.applications.len() > 1 { format!("-{name}") } else { String::new() };
        let text = svg(&spray_map(plan, application, date, units), Page::Letter);
        written.push((format!("spray-map{suffix}.png"), png(&text, Page::Letter)?));
        written.push((format!("spray-map{suffix}.svg"), text.into_bytes()));
        let zones = zones_geojson(plan, application);
        written.push((format!("zones{suffix}.geojson"), zones.into_bytes()));
    }
    Ok(written)
}

fn zones_geojson(plan: &PropertyPlan<'_>, application: &ApplicationPlan<'_>) -> String {
    let shapes = application.zones.iter().map(|zone| {
        let species: Vec<&str> = zone.species.iter().map(|species| species.id.as_str()).collect();
        let properties = [
            ("kind", "turf".into()),
            ("property", plan.property.clone().into()),
            ("application", application.name.into()),
            ("name", zone.zone.clone().into()),
            ("species", species.join(", ").into()),
            ("treated_area_m2", zone.treated.square_metres().into()),
            ("batch", zone.batch.into()),
        ];
        MapShape {
            polygons: plan.outline(application, zone).lifted(plan.plane()),
            properties: properties
                .map(|(name, value): (&str, serde_json::Value)| (name.to_owned(), value))
                .into_iter()
                .collect(),
        }
    });
    feature_collection(shapes.collect())
}

fn spray(print: Print, volume: Option<Amount>) -> String {
    volume.map_or_else(|| "–".to_owned(), |volume| print.spray(volume))
}

fn as_table(plan: &PropertyPlan<'_>, units: UnitSystem) -> String {
    let mut text = format!("{}\n", plan.property);
    text.push_str(&limits::history(plan, units));
    for application in &plan.applications {
        text.push_str(&application_table(application, units));
    }
    text.push_str(&buy::of_property(plan, units));
    text.push_str("\nCautions\n");
    for caution in &plan.cautions {
        text.push_str(&format!("  • {caution}\n"));
    }
    text
}

fn application_table(application: &ApplicationPlan<'_>, units: UnitSystem) -> String {
    let print = Print(units);
    let products: Vec<&str> =
        application.products.iter().map(|product| product.name.as_str()).collect();
    let mut text = format!(
        "\nApplication {}{}: {} by {} ({})\n",
        application.name,
        application.day.map_or_else(String::new, |day| format!(", {day}")),
        products.join(" + "),
        application.equipment.name,
        application.equipment.kind
    );
    let treated_header = format!("treated, {}", table::area_unit(units));
    let header = ["zone", "species", &treated_header, "batch", "rate", "product", "spray"];
    let mut zones = table::new(header);
    for zone in &application.zones {
        let species: Vec<&str> =
            zone.species.iter().map(|species| species.common_name.as_str()).collect();
        let rates: Vec<String> =
            zone.products.iter().map(|dosed| print.product_rate(dosed.rate)).collect();
        let amounts: Vec<String> =
            zone.products.iter().map(|dosed| print.product(dosed.amount)).collect();
        zones.add_row(vec![
            Cell::new(&zone.zone),
            Cell::new(species.join(" + ")),
            table::number(treated_cell(zone, units)),
            table::number(zone.batch),
            table::number(rates.join("\n")),
            table::number(amounts.join("\n")),
            table::number(spray(print, zone.spray_volume)),
        ]);
    }
    let treated: Area = application.zones.iter().map(|zone| zone.treated).sum();
    let totals: Vec<String> =
        application.totals.iter().map(|total| print.product(*total)).collect();
    zones.add_row(vec![
        Cell::new("total"),
        Cell::new(""),
        table::number(table::area(treated, units)),
        Cell::new(""),
        Cell::new(""),
        table::number(totals.join("\n")),
        table::number(spray(print, application.spray_volume)),
    ]);
    text.push_str(&format!("{}\n", zones.trim_fmt()));
    let mut notes = Footnotes::default();
    for batch in &application.batches {
        text.push_str(&batch_table(application, batch, units, &mut notes));
    }
    for unmarked in application.without_mark() {
        text.push_str(&format!("{unmarked}.\n"));
    }
    text.push_str(&after_batches(&application.batches, units, notes));
    text.push_str(&label::told(application, units));
    for skipped in application.skipped.iter().filter(|skipped| !skipped.refused) {
        text.push_str(&format!(
            "Not treated: {}: {}.\n  {}.\n",
            skipped.zone, skipped.reason, skipped.advice
        ));
    }
    text.push_str(&limits::refused(application));
    text.push_str(&limits::told(application));
    let mut kept: Vec<String> = Vec::new();
    for setback in application.kept().flat_map(|(_, setbacks)| setbacks) {
        let mut distance = setback.distance.print(units);
        if setback.position > Length::ZERO {
            distance.push_str(&format!(" + {} for its position", setback.position.print(units)));
        }
        let line =
            format!("  {distance} from {} {:?}: {}", setback.to, setback.feature, setback.rule);
        if !kept.contains(&line) {
            kept.push(line);
        }
    }
    if !kept.is_empty() {
        text.push_str(&format!("Setbacks kept\n{}\n", kept.join("\n")));
    }
    if !application.without_setback.is_empty() {
        text.push_str(&format!(
            "No setback is kept from: {}.\n",
            application.without_setback.join(", ")
        ));
    }
    text
}

/// The treated area, and below it what the drawing may do to the dose.
fn treated_cell(zone: &TreatedZone, units: UnitSystem) -> String {
    let area = table::area(zone.treated, units);
    match zone.dose_error() {
        None => area,
        Some(error) => format!("{area}\n±\u{a0}{}\u{a0}% as drawn", decimal(100.0 * error, 1)),
    }
}

fn batch_table(
    application: &ApplicationPlan<'_>,
    batch: &Batch,
    units: UnitSystem,
    notes: &mut Footnotes,
) -> String {
    let print = Print(units);
    // A hopper takes no water.
    let is_wet = application.spray_volume.is_some();
    let wet: &[&str] = if is_wet { &["fill to", "water"] } else { &[] };
    let header = ["load"].into_iter().chain(wet.iter().copied()).chain(["measure out", "covers"]);
    let mut loads = table::new(header);
    for load in &batch.loads {
        let mut row = vec![table::number(load.number)];
        if is_wet {
            row.push(table::number(spray(print, load.mixed_spray())));
            row.push(table::number(spray(print, load.mixed_water())));
        }
        row.push(table::number(measured(application, load, print)));
        let covers: Vec<String> = load.covers.iter().map(|cover| covered(cover, units)).collect();
        row.push(Cell::new(covers.join(", ")));
        loads.add_row(row);
    }
    let mut text =
        format!("Batch {}: {}\n{}\n", batch.number, batch.zones.join(", "), loads.trim_fmt());
    if let Some(dead) = &batch.dead_volume {
        text.push_str(&format!(
            "The first load is mixed with {} more, which stays in hose and sump and covers nothing.\n",
            print.spray(dead.spray_volume)
        ));
    }
    text.push_str(&mixing_table(application, batch, units, notes));
    text
}

/// The ground of one load, and what of the zone is left where the load ends in it.
fn covered(cover: &Cover, units: UnitSystem) -> String {
    let text = format!("{}: {}", cover.zone, cover.area.print(units));
    match cover.left > Area::ZERO {
        true => format!("{text} ({} left)", cover.left.print(units)),
        false => text,
    }
}

/// How to mix and try in a jar; nothing for a spreader.
fn mixing_table(
    application: &ApplicationPlan<'_>,
    batch: &Batch,
    units: UnitSystem,
    notes: &mut Footnotes,
) -> String {
    let fills = batch.mixing(&application.products);
    let Some(first) = fills.first() else { return String::new() };
    let names: Vec<String> = fills.iter().map(|fill| loads_in_words(&fill.loads)).collect();
    let header = ["step", "how to mix"].into_iter().chain(names.iter().map(String::as_str));
    let mut rows = table::new(header);
    for (place, step) in first.steps.iter().enumerate() {
        let amounts = fills.iter().map(|fill| {
            table::number(
                fill.steps.get(place).map(|step| step_amount(step, units)).unwrap_or_default(),
            )
        });
        let what = format!("{} {}", step.what, notes.mark(step));
        let head = [table::number(step.number), Cell::new(what)];
        rows.add_row(head.into_iter().chain(amounts).collect::<Vec<_>>());
    }
    let mut text = format!("{}\n", rows.trim_fmt());
    let jar = match units {
        UnitSystem::Us => quart_jar(),
        UnitSystem::Metric => litre_jar(),
    };
    // One product in water needs no trial.
    if let Some(test) =
        batch.jar_test(&application.products, jar).filter(|_| application.products.len() > 1)
    {
        text.push_str(&format!("Jar test, for {}\n", test.jar.print(Print(units).spray_unit())));
        text.push_str(&listed(&test.steps, units, notes));
    }
    text
}

/// What is done with a rest and with rinsings, and where all that is said of mixing comes from; once
/// for all batches.
fn after_batches(batches: &[Batch], units: UnitSystem, mut notes: Footnotes) -> String {
    let mut text = String::new();
    let mut told: Vec<&Step> = Vec::new();
    for step in batches.iter().flat_map(|batch| &batch.rinsing) {
        if !told.iter().any(|known| known.what == step.what && known.otherwise == step.otherwise) {
            told.push(step);
        }
    }
    if !told.is_empty() {
        text.push_str("Rest and rinsing\n");
        text.push_str(&listed(told, units, &mut notes));
    }
    for (number, note) in notes.0.iter().enumerate() {
        text.push_str(&format!("  [{}] {note}\n", number + 1));
    }
    text
}

/// Sources, each told once and referred to by number.
#[derive(Default)]
struct Footnotes(Vec<String>);

impl Footnotes {
    fn mark(&mut self, step: &Step) -> String {
        let note = sources(step);
        let known = self.0.iter().position(|it| *it == note);
        let place = known.unwrap_or_else(|| {
            self.0.push(note);
            self.0.len() - 1
        });
        format!("[{}]", place + 1)
    }
}

fn listed<'s>(
    steps: impl IntoIterator<Item = &'s Step>,
    units: UnitSystem,
    notes: &mut Footnotes,
) -> String {
    let line = |step: &Step| {
        let amount = step_amount(step, units);
        let amount = if amount.is_empty() { amount } else { format!(": {amount}") };
        format!("  {}. {}{amount} {}\n", step.number, step.what, notes.mark(step))
    };
    steps.into_iter().map(line).collect()
}

fn sources(step: &Step) -> String {
    match &step.otherwise {
        None => step.source.clone(),
        Some(otherwise) => format!("{}; but: {otherwise}", step.source),
    }
}

fn step_amount(step: &Step, units: UnitSystem) -> String {
    let print = Print(units);
    match (step.amount, &step.product) {
        (None, _) => String::new(),
        (Some(amount), Some(_)) => print.product(amount),
        (Some(amount), None) => print.spray(amount),
    }
}

/// `load 1`, `loads 2 to 4`.
fn loads_in_words(loads: &[usize]) -> String {
    match loads {
        [] => String::new(),
        [one] => format!("load {one}"),
        [first, .., last] if last - first + 1 == loads.len() => format!("loads {first} to {last}"),
        some => {
            let numbers: Vec<String> = some.iter().map(usize::to_string).collect();
            format!("loads {}", numbers.join(", "))
        }
    }
}

fn measured(application: &ApplicationPlan<'_>, load: &Load, print: Print) -> String {
    let products =
        load.mixed_products().iter().zip(&application.products).map(|(amount, product)| {
            let name = if application.products.len() > 1 {
                format!(" {}", product.name)
            } else {
                String::new()
            };
            format!(
                "{}{name}{}",
                print.product(amount.measured),
                print.measuring_error(amount.error)
            )
        });
    products.collect::<Vec<_>>().join("\n")
}

const COLUMNS: [&str; 17] = [
    "property",
    "application",
    "zone",
    "species",
    "status",
    "treated_area_m2",
    "treated_sq_ft",
    "batch",
    "product",
    "rate",
    "rate_unit",
    "amount",
    "amount_unit",
    "spray_volume",
    "spray_unit",
    "reason",
    "label",
];

/// One line a zone and product, and one a zone that is skipped.
fn records(plan: &PropertyPlan<'_>, units: UnitSystem) -> anyhow::Result<String> {
    csv_text(|writer| {
        for application in &plan.applications {
            for zone in &application.zones {
                zone_records(plan, application, zone, Print(units), writer)?;
            }
            for skipped in &application.skipped {
                let mut record = [""; COLUMNS.len()];
                let status = if skipped.refused { "refused" } else { "skipped" };
                (record[0], record[1], record[2], record[4], record[15]) =
                    (&plan.property, application.name, &skipped.zone, status, &skipped.reason);
                writer.write_record(record)?;
            }
        }
        Ok(())
    })
}

fn zone_records(
    plan: &PropertyPlan<'_>,
    application: &ApplicationPlan<'_>,
    zone: &TreatedZone,
    print: Print,
    writer: &mut csv::Writer<Vec<u8>>,
) -> anyhow::Result<()> {
    let species: Vec<&str> = zone.species.iter().map(|species| species.id.as_str()).collect();
    for (dosed, product) in zone.products.iter().zip(&application.products) {
        let unit = print.product_unit(dosed.amount);
        let rate_unit = print.rate_unit(unit);
        let number = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
        let spray = zone.spray_volume.and_then(|volume| volume.in_unit(print.spray_unit()));
        let spray_unit = spray.map_or("", |_| print.spray_unit().name());
        writer.write_record([
            plan.property.as_str(),
            application.name,
            &zone.zone,
            &species.join(", "),
            "treated",
            &zone.treated.square_metres().to_string(),
            &zone.treated.square_feet().to_string(),
            &zone.batch.to_string(),
            &dosed.product,
            &number(dosed.rate.in_unit(rate_unit)),
            &rate_unit.to_string(),
            &number(dosed.amount.in_unit(unit)),
            unit.name(),
            &number(spray),
            spray_unit,
            "",
            &label::in_a_cell(product, print.0),
        ])?;
    }
    Ok(())
}

const SUMMARY_COLUMNS: [&str; 10] = [
    "property",
    "folder",
    "application",
    "treated_area_m2",
    "treated_sq_ft",
    "zones_treated",
    "zones_skipped",
    "products",
    "loads",
    "refused",
];

/// One line an application.
fn summary_records(
    plan: &PropertyPlan<'_>,
    folder: &str,
    units: UnitSystem,
) -> anyhow::Result<String> {
    let print = Print(units);
    csv_text(|writer| {
        for application in &plan.applications {
            let treated: Area = application.zones.iter().map(|zone| zone.treated).sum();
            let products = application
                .products
                .iter()
                .zip(&application.totals)
                .map(|(product, total)| format!("{} {}", print.product(*total), product.id));
            let loads: usize = application.batches.iter().map(|batch| batch.loads.len()).sum();
            writer.write_record([
                plan.property.as_str(),
                folder,
                application.name,
                &treated.square_metres().to_string(),
                &treated.square_feet().to_string(),
                &application.zones.len().to_string(),
                &application.skipped.len().to_string(),
                &products.collect::<Vec<_>>().join("; "),
                &loads.to_string(),
                "",
            ])?;
        }
        Ok(())
    })
}

fn refused_records(refused: &[Refusal]) -> anyhow::Result<String> {
    csv_text(|writer| {
        for refusal in refused {
            let mut record = [const { String::new() }; SUMMARY_COLUMNS.len()];
            record[0] = refusal.property.clone().unwrap_or_default();
            record[9] = refusal.reasons.join("; ");
            writer.write_record(record)?;
        }
        Ok(())
    })
}

fn csv_text(
    write: impl FnOnce(&mut csv::Writer<Vec<u8>>) -> anyhow::Result<()>,
) -> anyhow::Result<String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    write(&mut writer)?;
    Ok(String::from_utf8(writer.into_inner().map_err(|error| error.into_error())?)?)
}
