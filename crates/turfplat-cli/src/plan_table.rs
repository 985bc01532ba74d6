//! The plan as a person reads it in a terminal: zones, loads, mixing, limits, setbacks.

use comfy_table::Cell;
use turfplat::dose::{Batch, Cover, Load, Step, caution_for_the_crew, litre_jar, quart_jar};
use turfplat::units::{Amount, Area, UnitSystem, decimal};
use turfplat::{ApplicationPlan, Print, PropertyPlan, TreatedZone, rest_and_rinsing};

use crate::{buy, label, limits, passes, table};

fn spray(print: Print, volume: Option<Amount>) -> String {
    volume.map_or_else(|| "–".to_owned(), |volume| print.spray(volume))
}

pub(crate) fn as_table(plan: &PropertyPlan<'_>, units: UnitSystem) -> String {
    let mut text = format!("{}\n", plan.property);
    text.push_str(&limits::history(plan, units));
    for application in &plan.applications {
        text.push_str(&application_table(application, units));
    }
    text.push_str(&buy::of_property(plan, units));
    text.push_str("\nCautions\n");
    for caution in &plan.cautions {
        text.push_str(&format!("  • {}\n", caution_for_the_crew(caution)));
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
        print.worked_with(application.equipment)
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
    text.push_str(&after_batches(application, units, notes));
    text.push_str(&passes::told(application, units));
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
        let distance = setback.distance_in_words(units);
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
    let names: Vec<String> = fills.iter().map(|fill| Print::loads(&fill.loads)).collect();
    let header = ["step", "how to mix"].into_iter().chain(names.iter().map(String::as_str));
    let mut rows = table::new(header);
    for (place, step) in first.steps.iter().enumerate() {
        let amounts = fills.iter().map(|fill| {
            let step = fill.steps.get(place);
            let amount = step.map(|step| Print(units).step(step, application.equipment));
            table::number(amount.unwrap_or_default())
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
fn after_batches(
    application: &ApplicationPlan<'_>,
    units: UnitSystem,
    mut notes: Footnotes,
) -> String {
    let mut text = String::new();
    let told = rest_and_rinsing(&application.batches, "batch");
    if !told.is_empty() {
        text.push_str("Rest and rinsing\n");
        text.push_str(&listed(&told, units, &mut notes));
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

/// Steps of a jar test, or of rinsing, which have no amounts.
fn listed<'s>(
    steps: impl IntoIterator<Item = &'s Step>,
    units: UnitSystem,
    notes: &mut Footnotes,
) -> String {
    let line = |step: &Step| {
        let amount = Print(units).step_in_jar(step);
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
                print.to_measure(amount.measured, application.equipment),
                print.measuring_error(amount.error)
            )
        });
    products.collect::<Vec<_>>().join("\n")
}
