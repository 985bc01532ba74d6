use turfplat_season::CalendarEvent;
use turfplat_units::UnitSystem;

use super::program::{PropertySeason, Round};
use crate::print::Print;

/// The rounds of a season as days of a calendar.
pub fn season_events(season: &PropertySeason, units: UnitSystem) -> Vec<CalendarEvent> {
    let one = |round: &Round| {
        let zones: Vec<&str> = round.zones.iter().map(|zone| zone.zone.as_str()).collect();
        // What it is about stays when the season is reckoned anew: the first zone's own count.
        let first = round.zones.first();
        let number = first.map_or(0, |zone| zone.number);
        let about = vec![
            season.property.clone(),
            round.application.clone(),
            first.map_or("", |zone| &zone.zone).to_owned(),
            number.to_string(),
        ];
        CalendarEvent {
            about,
            day: round.day,
            summary: format!(
                "{}: {} ({})",
                round.application,
                round.product_names.join(" + "),
                zones.join(", ")
            ),
            description: description(season, round, units),
            location: season.property.clone(),
        }
    };
    season.rounds.iter().map(one).collect()
}

fn description(season: &PropertySeason, round: &Round, units: UnitSystem) -> String {
    let print = Print(units);
    let mut lines = Vec::new();
    for zone in &round.zones {
        let rates = zone.rates.iter().zip(&zone.amounts).zip(&round.product_names);
        let rates = rates.map(|((rate, amount), name)| {
            format!("{} {name} ({})", print.product_rate(*rate), print.product(*amount))
        });
        lines.push(format!(
            "{}, {}: {}",
            zone.zone,
            zone.area.print(units),
            rates.collect::<Vec<_>>().join(" + ")
        ));
        lines.push(format!("  {}", zone.because));
        lines.extend(zone.lowered.iter().map(|why| format!("  {why}")));
        lines.extend(zone.estimate.iter().map(|says| format!("  {says}")));
    }
    let totals = round.totals.iter().zip(&round.product_names);
    let totals = totals.map(|(total, name)| format!("{} {name}", print.product(*total)));
    lines.push(format!("In all: {}", totals.collect::<Vec<_>>().join(" + ")));
    lines.extend(round.water.map(|water| format!("Water: {}", print.spray(water))));
    lines.extend(season.cautions.iter().cloned());
    lines.join("\n")
}
