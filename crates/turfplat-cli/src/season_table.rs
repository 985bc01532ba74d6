//! A season as a person reads it: when, where, how much and why, then what was left out, what the year's
//! limits have left, and what to buy.

use comfy_table::Cell;
use turfplat::dose::Checked;
use turfplat::units::UnitSystem;
use turfplat::{Course, NotPlanned, Print, PropertySeason, Round, RoundZone};

use crate::season_records::{MANY, left_out};
use crate::{buy, table};

pub(crate) fn as_table(season: &PropertySeason, units: UnitSystem) -> String {
    let print = Print(units);
    let days = season.rounds.iter().map(|round| round.day);
    let span = match (days.clone().min(), days.max()) {
        (Some(first), Some(last)) => format!(", {first} to {last}"),
        _ => String::new(),
    };
    let trips = season.rounds.len();
    let trips = if trips == 1 { "1 trip".to_owned() } else { format!("{trips} trips") };
    let mut text = format!("Season of {}{span}: {trips}\n", named(&season.property));
    if !season.rounds.is_empty() {
        text.push_str(&rounds(season, print, units));
    }
    text.push_str(&zones(season));
    for it in &season.not_planned {
        text.push_str(&not_planned(it));
    }
    text.push_str(&year_limits(&season.year_limits));
    text.push_str(&buy::list("To buy, for the season", &season.purchases, units));
    if let Some(water) = season.water {
        text.push_str(&format!("Water in all: {}\n", print.spray(water)));
    }
    text.push_str("\nCautions\n");
    for caution in &season.cautions {
        text.push_str(&format!("  • {caution}\n"));
    }
    text.push_str(
        "  • Loads, distances and mixing of each day: turfplat plan, of the job with all dates that --format job writes.\n",
    );
    text
}

fn named(property: &str) -> &str {
    if property.is_empty() { "the property" } else { property }
}

fn rounds(season: &PropertySeason, print: Print, units: UnitSystem) -> String {
    let mut rows =
        table::new(["date", "application", "zone", "treated", "rate", "amount", "why then"]);
    // A footnote for what is long and comes again and again.
    let mut notes: Vec<String> = Vec::new();
    for round in &season.rounds {
        for (place, zone) in round.zones.iter().enumerate() {
            let is_first = place == 0;
            let first = |text: String| if is_first { text } else { String::new() };
            rows.add_row(vec![
                Cell::new(first(round.day.to_string())),
                Cell::new(first(round.application.clone())),
                Cell::new(&zone.zone),
                table::number(zone.area.print(units)),
                table::number(each(round, zone, |place| {
                    print.product_rate(zone.rates[place]).replace(" m2", " m²")
                })),
                table::number(each(round, zone, |place| print.product(zone.amounts[place]))),
                Cell::new(why(zone, &mut notes)),
            ]);
        }
    }
    let mut text = format!("{}\n", rows.trim_fmt());
    for (place, note) in notes.iter().enumerate() {
        text.push_str(&format!("  [{}] {note}\n", place + 1));
    }
    text
}

/// A line for each product; with its id where there are several.
fn each(round: &Round, zone: &RoundZone, print: impl Fn(usize) -> String) -> String {
    let lines =
        (0..zone.rates.len().min(round.products.len())).map(|place| match round.products.len() {
            1 => print(place),
            _ => format!("{} {}", print(place), round.products[place]),
        });
    lines.collect::<Vec<_>>().join("\n")
}

fn why(zone: &RoundZone, notes: &mut Vec<String>) -> String {
    let mut mark = |note: &String| {
        let known = notes.iter().position(|it| it == note);
        let place = known.unwrap_or_else(|| {
            notes.push(note.clone());
            notes.len() - 1
        });
        format!(" [{}]", place + 1)
    };
    let mut text = zone.because.clone();
    if let Some(lowered) = &zone.lowered {
        text.push_str(&format!("; lowered{}", mark(lowered)));
    }
    if let Some(estimate) = &zone.estimate {
        text.push_str(&mark(estimate));
    }
    text
}

/// Each zone's interval, treatments and what it was left without.
fn zones(season: &PropertySeason) -> String {
    let mut text = String::new();
    for course in &season.courses {
        let Course { application, zone, treatments, interval_days, interval_by, .. } = course;
        let interval = interval_days.map_or_else(String::new, |days| {
            format!(", {days} days apart at least ({interval_by})")
        });
        let count = if *treatments == 1 {
            "1 treatment".to_owned()
        } else {
            format!("{treatments} treatments")
        };
        text.push_str(&format!("{application}, {zone}: {count}{interval}\n"));
        for note in &course.notes {
            text.push_str(&format!("  {note}\n"));
        }
        for (reason, days) in left_out(course) {
            let told = if days.len() > MANY {
                format!("{} times, {} to {}", days.len(), days[0], days[days.len() - 1])
            } else {
                format!("on {}", days.join(", "))
            };
            text.push_str(&format!("  left out {told}: {reason}\n"));
        }
    }
    if text.is_empty() { text } else { format!("\nZones\n{text}") }
}

fn not_planned(it: &NotPlanned) -> String {
    let NotPlanned { application, zone, reason, advice, refused } = it;
    let word = if *refused { "Refused" } else { "Not treated" };
    let advice = if advice.is_empty() { String::new() } else { format!("; {advice}") };
    format!("{word}: {application}, {zone}: {reason}{advice}.\n")
}

/// What the year's limits have counted in the end, zones that agree on one line.
fn year_limits(limits: &[Checked]) -> String {
    let mut lines: Vec<(String, Vec<&str>)> = Vec::new();
    for checked in limits {
        let figures = checked.figures().unwrap_or_default();
        let counted = checked.remark.as_ref().map_or_else(String::new, |it| format!("; {it}"));
        let line = format!(
            "{:<12} {} of {} ({}): {figures}{counted} ({})",
            checked.verdict.word(),
            checked.name,
            checked.of,
            checked.product,
            checked.source
        );
        match lines.iter_mut().find(|(known, _)| *known == line) {
            Some((_, zones)) => zones.push(&checked.zone),
            None => lines.push((line, vec![&checked.zone])),
        }
    }
    if lines.is_empty() {
        return String::new();
    }
    let told = lines.iter().map(|(line, zones)| format!("  {line} – {}\n", zones.join(", ")));
    format!("\nLimits of a year, with the last treatment\n{}", told.collect::<String>())
}
