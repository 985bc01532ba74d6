//! Spray windows as a strip chart: what is drawn comes from the very verdicts that the table tells.

use turfplat_season::{Hour, JudgedHour, Rule, Verdict, wet_bulb};
use turfplat_sheet::{StripCell, StripChart, StripHour, StripLook, StripRow, StripWindow};
use turfplat_units::{UnitSystem, decimal, significant};

use crate::windows::{SprayWindows, ToldWindow};

/// The chart of one application's hours.
pub fn strip_chart(found: &SprayWindows<'_>) -> StripChart {
    let hours = found.forecast.hours.iter().zip(&found.hours);
    let columns = hours.clone().map(|(hour, judged)| StripHour {
        day: hour.start.strftime("%a %Y-%m-%d").to_string(),
        clock: column_clock(hour, &found.forecast.hours),
        is_dark: judged
            .rules
            .iter()
            .any(|it| it.rule == Rule::Daylight && it.verdict == Verdict::NotFit),
    });
    let all = StripRow {
        name: "all rules".to_owned(),
        asked: "fit where none that binds says no".to_owned(),
        cells: found.hours.iter().map(whole).collect(),
    };
    let row = |rule: Rule| StripRow {
        name: name(rule, found.units),
        asked: found.limits.in_short(rule, found.units),
        cells: hours.clone().map(|(hour, judged)| cell(rule, hour, judged, found.units)).collect(),
    };
    let told = found.told();
    let columns: Vec<StripHour> = columns.collect();
    let clocks: Vec<&str> =
        columns.iter().map(|it| it.clock.as_str()).filter(|clock| clock.len() > 2).collect();
    let twice = (!clocks.is_empty()).then(|| {
        let clocks = clocks.join(", ");
        format!("clocks are set back, and an hour comes twice; its hours from UTC stand behind it: {clocks}")
    });
    StripChart {
        title: title(found),
        about: about(found),
        hours: columns,
        rows: std::iter::once(all).chain(Rule::ALL.into_iter().map(row)).collect(),
        windows: told.iter().map(window).collect(),
        notes: found
            .notes
            .iter()
            .take(MOST_NOTES)
            .cloned()
            .chain(more_notes(found.notes.len()))
            .chain(twice)
            .chain(found.cautions.iter().map(|caution| (*caution).to_owned()))
            .collect(),
    }
}

/// `14`, or `01-4` and `01-5` where clocks are set back and the hour comes twice.
fn column_clock(hour: &Hour, all: &[Hour]) -> String {
    let clock = hour.start.strftime("%H").to_string();
    let again = |other: &&Hour| {
        other.start.date() == hour.start.date() && other.start.hour() == hour.start.hour()
    };
    if all.iter().filter(again).count() < 2 {
        return clock;
    }
    let minutes = hour.start.offset().seconds() / 60;
    let part = match minutes.abs() % 60 {
        0 => String::new(),
        part => format!(":{part:02}"),
    };
    let sign = if minutes < 0 { '-' } else { '+' };
    format!("{clock}{sign}{}{part}", minutes.abs() / 60)
}

/// With the unit of its figures.
fn name(rule: Rule, units: UnitSystem) -> String {
    let us = units == UnitSystem::Us;
    let unit = match rule {
        Rule::Wind | Rule::Gusts => Some(if us { "mph" } else { "km/h" }),
        Rule::Temperature => Some(if us { "°F" } else { "°C" }),
        Rule::DryAhead => Some("%"),
        Rule::DeltaT => Some("°C"),
        Rule::Inversion | Rule::DryLeaf | Rule::Daylight => None,
    };
    unit.map_or_else(|| rule.to_string(), |unit| format!("{rule}, {unit}"))
}

/// A broken file may have a note for each of its hours.
const MOST_NOTES: usize = 8;

fn more_notes(count: usize) -> Option<String> {
    (count > MOST_NOTES)
        .then(|| format!("{} more notes on the forecast's file", count - MOST_NOTES))
}

fn title(found: &SprayWindows<'_>) -> String {
    let products: Vec<&str> = found.products.iter().map(|product| product.name.as_str()).collect();
    let whose = match found.property {
        "" => String::new(),
        property => format!(", {property}"),
    };
    format!("Hours to spray: {}, {}{whose}", found.application, products.join(" + "))
}

fn about(found: &SprayWindows<'_>) -> Vec<String> {
    let issued = match (found.forecast.issued, found.forecast.hours.first()) {
        (Some(at), Some(first)) => {
            let at = at.to_zoned_datetime(first.start.time_zone().clone());
            format!("Forecast made {}", at.strftime("%Y-%m-%d %H:%M"))
        }
        _ => "When the forecast was made is not given".to_owned(),
    };
    let clock = format!("local time {}", found.forecast.clock);
    vec![
        "The label outranks this chart, and the wind where you spray outranks the forecast: it is told for \
         10 m (33 ft) above open ground."
            .to_owned(),
        format!("{issued}; {clock}; {}.", found.summary()),
    ]
}

/// `Tue 2026-06-09 09:00 to 14:00`, with the day again where it is another, and the offsets where
/// clocks are set in between.
pub fn between(start: &jiff::ZonedDateTime, end: &jiff::ZonedDateTime) -> String {
    let same_day = start.date() == end.date();
    let same_clock = start.offset() == end.offset();
    let from =
        start.strftime(if same_clock { "%a %Y-%m-%d %H:%M" } else { "%a %Y-%m-%d %H:%M (%:z)" });
    let to = end.strftime(match (same_day, same_clock) {
        (true, true) => "%H:%M",
        (true, false) => "%H:%M (%:z)",
        (false, true) => "%a %Y-%m-%d %H:%M",
        (false, false) => "%a %Y-%m-%d %H:%M (%:z)",
    });
    format!("{from} to {to}")
}

fn window(told: &ToldWindow<'_>) -> StripWindow {
    let hours = significant(told.window.length, 3);
    let mut words = format!("{}, {hours} h", between(told.start, told.end));
    if told.window.best != told.window.hours {
        words += &format!("; best {}", clock(told.best));
    }
    if told.window.is_long_enough == Some(false) {
        words += "; shorter than the work";
    }
    for remark in told.nearest.into_iter().map(str::to_owned).chain(told.remarks.iter().cloned()) {
        words += &format!("; {remark}");
    }
    StripWindow { hours: told.window.hours.clone(), best: told.window.best.clone(), words }
}

/// `09:00 to 11:00`.
fn clock((start, end): (&jiff::ZonedDateTime, &jiff::ZonedDateTime)) -> String {
    let form = if start.offset() == end.offset() { "%H:%M" } else { "%H:%M (%:z)" };
    format!("{} to {}", start.strftime(form), end.strftime(form))
}

fn look(verdict: Verdict) -> StripLook {
    match verdict {
        Verdict::Fit => StripLook::Fit,
        Verdict::Advisory => StripLook::Advisory,
        Verdict::NotFit => StripLook::NotFit,
        Verdict::Unknown => StripLook::Unknown,
    }
}

/// All rules together; one that is fit with something to mind says so.
fn whole(judged: &JudgedHour) -> StripCell {
    let minded = judged.verdict == Verdict::Fit && judged.remarks().next().is_some();
    let look = if minded { StripLook::Advisory } else { look(judged.verdict) };
    StripCell { look, figure: String::new() }
}

fn cell(rule: Rule, hour: &Hour, judged: &JudgedHour, units: UnitSystem) -> StripCell {
    let verdict = judged.rules.iter().find(|it| it.rule == rule).map(|it| it.verdict);
    let speed = |speed: turfplat_units::Speed| match units {
        UnitSystem::Us => decimal(speed.mph(), 0),
        UnitSystem::Metric => decimal(speed.kilometres_per_hour(), 0),
    };
    let figure = match rule {
        // Of a range the upper end: what it must not pass.
        Rule::Wind => hour.wind.map(|wind| speed(wind.most)),
        Rule::Gusts => hour.gust.map(speed),
        Rule::DryAhead => hour.rain_chance.map(|share| decimal(share * 100.0, 0)),
        Rule::Temperature => hour.temperature.map(|it| match units {
            UnitSystem::Us => decimal(it.fahrenheit(), 0),
            UnitSystem::Metric => decimal(it.degrees(), 0),
        }),
        Rule::DeltaT => hour
            .temperature
            .zip(hour.humidity)
            .and_then(|(t, share)| Some(decimal(t.degrees() - wet_bulb(t, share)?.degrees(), 1))),
        Rule::Inversion | Rule::DryLeaf | Rule::Daylight => None,
    };
    StripCell {
        look: look(verdict.unwrap_or(Verdict::Unknown)),
        figure: figure.unwrap_or_default(),
    }
}
