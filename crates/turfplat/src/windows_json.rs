//! `windows --format json`, one document for one application on one property.
//!
//! * `property`, `application`, `products` (ids), `place` (longitude and latitude in degrees, or null).
//! * `forecast`: `file`; `issued` (a time, or null); `place`; `clock` (by which hours are told);
//!   `wind_height_m`, above ground.
//! * `needs_h` and `needs_from` (`asked` or `walking`), null where nobody knows.
//! * `limits`: `rule`, `limit` (in words, with its unit), `by`, `source`, `weight`.
//! * `hours`, in their order: `start`, `end` (ISO 8601 with the local offset); what is given, or null:
//!   `wind_least_m_s`, `wind_most_m_s`, `wind_from`, `gust_m_s`, `gust_in_part` (of several rows
//!   in the hour some give none), `temperature_c` (the warmest), `coolest_c`, `dew_point_c`,
//!   `humidity`, `driest` (the lowest humidity) and `rain_chance` (shares from 0 to 1), `rain_mm`; `verdict` (`fit`, `not fit`,
//!   `unknown`); `rules`: `rule`, `verdict` (also `advisory`), `binds`, `words`, `margin` (from 0 at the
//!   limit to 1, or null).
//! * `windows`, the best first: `start`, `end`, `hours` (how many), `length_h`, `best` (`start`, `end`),
//!   `fitness` (`margin` less a quarter for each remark on an hour in the mean), `minded` (hours of the
//!   best part with a remark), `margin` (how far it is inside the nearest limit, or null), `long_enough` (or null), `nearest` (the rule in
//!   words whose limit is nearest in the best part, or null), `remarks`.
//! * `notes`, `cautions`.

use jiff::ZonedDateTime;
use serde_json::{Value, json};
use turfplat_season::{By, Hour, JudgedHour};
use turfplat_units::Time;

use crate::windows::SprayWindows;

/// The document of `turfplat windows --format json`.
pub fn windows_json(found: &SprayWindows<'_>) -> Value {
    let place = |place: Option<(f64, f64)>| place.map(|(east, north)| json!([east, north]));
    let limits = found.limits.asked(found.units).into_iter().map(|asked| {
        let source = match &asked.by {
            By::Default(source) | By::OwnDefault(source) => Some(source.clone()),
            By::Label(_) | By::Job => None,
        };
        json!({
            "rule": asked.rule,
            "limit": asked.limit,
            "by": asked.by.to_string(),
            "source": source,
            "weight": asked.weight.to_string(),
        })
    });
    let hours =
        found.forecast.hours.iter().zip(&found.hours).map(|(hour, judged)| hour_json(hour, judged));
    let needs = found.needs;
    json!({
        "property": found.property,
        "application": found.application,
        "products": found.products.iter().map(|product| &product.id).collect::<Vec<_>>(),
        "place": place(found.place),
        "forecast": {
            "file": found.forecast.file,
            "issued": found.forecast.issued.map(|at| at.to_string()),
            "place": place(found.forecast.place),
            "clock": found.forecast.clock.to_string(),
            "wind_height_m": 10,
        },
        "needs_h": needs.map(|needs| needs.time.seconds() / Time::SECONDS_PER_HOUR),
        "needs_from": needs.map(|needs| if needs.is_walking { "walking" } else { "asked" }),
        "limits": limits.collect::<Vec<_>>(),
        "hours": hours.collect::<Vec<_>>(),
        "windows": found.told().iter().map(|told| json!({
            "start": stamp(told.start),
            "end": stamp(told.end),
            "hours": told.window.hours.len(),
            "length_h": told.window.length,
            "best": { "start": stamp(told.best.0), "end": stamp(told.best.1) },
            "fitness": told.window.fitness,
            "minded": told.window.minded,
            "margin": told.window.margin,
            "long_enough": told.window.is_long_enough,
            "nearest": told.nearest,
            "remarks": told.remarks,
        })).collect::<Vec<_>>(),
        "notes": found.notes,
        "cautions": found.cautions,
    })
}

fn hour_json(hour: &Hour, judged: &JudgedHour) -> Value {
    let rules = judged.rules.iter().map(|it| {
        json!({
            "rule": it.rule.to_string(),
            "verdict": it.verdict.to_string(),
            "binds": it.binds,
            "words": it.words,
            "margin": it.margin,
        })
    });
    json!({
        "start": stamp(&hour.start),
        "end": stamp(&hour.end),
        "wind_least_m_s": hour.wind.map(|wind| wind.least.metres_per_second()),
        "wind_most_m_s": hour.wind.map(|wind| wind.most.metres_per_second()),
        "wind_from": hour.wind_from,
        "gust_m_s": hour.gust.map(|gust| gust.metres_per_second()),
        "gust_in_part": hour.is_gust_in_part,
        "temperature_c": hour.temperature.map(|it| it.degrees()),
        "coolest_c": hour.coolest.map(|it| it.degrees()),
        "dew_point_c": hour.dew_point.map(|it| it.degrees()),
        "humidity": hour.humidity,
        "driest": hour.driest,
        "rain_chance": hour.rain_chance,
        "rain_mm": hour.rain.map(|rain| rain.metres() * 1000.0),
        "verdict": judged.verdict.to_string(),
        "rules": rules.collect::<Vec<_>>(),
    })
}

/// `2026-06-08T06:00-04:00`.
fn stamp(at: &ZonedDateTime) -> String {
    at.strftime("%Y-%m-%dT%H:%M%:z").to_string()
}
