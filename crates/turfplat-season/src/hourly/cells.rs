//! What is read of one hour before it has its place on the clock, and which values no weather has: a
//! `-9999` for "missing", a share where percent are asked for, a wind in the wrong unit.

use jiff::Timestamp;
use jiff::tz::Offset;
use turfplat_units::{Length, Speed};

use super::SpeedRange;
use super::celsius::Celsius;

/// One hour as the file gives it.
#[derive(Clone, Debug)]
pub(super) struct Read {
    /// Where it stands, such as `line 4` or `periods[3]`.
    pub(super) at: String,
    pub(super) start: Timestamp,
    pub(super) offset: Offset,
    pub(super) end_offset: Offset,
    pub(super) values: Values,
}

/// What is given of one hour.
#[derive(Clone, Debug, Default)]
pub(super) struct Values {
    pub(super) temperature: Option<Celsius>,
    pub(super) dew_point: Option<Celsius>,
    pub(super) humidity: Option<f64>,
    pub(super) wind: Option<SpeedRange>,
    pub(super) wind_from: Option<String>,
    pub(super) gust: Option<Speed>,
    pub(super) rain_chance: Option<f64>,
    pub(super) rain: Option<Length>,
}

/// Hotter and colder than any air that was ever measured near the ground is −90 and 60 °C.
pub(super) fn temperature(degrees: Option<Celsius>) -> Result<Celsius, String> {
    let known = degrees.filter(|it| (-90.0..=60.0).contains(&it.degrees()));
    known.ok_or_else(|| "no temperature of air; correct it, or leave it empty".to_owned())
}

/// A wind of more than 120 m/s blows nowhere near the ground.
pub(super) fn speed(speed: Option<Speed>) -> Result<Speed, String> {
    let known = speed.filter(|speed| speed.metres_per_second() <= 120.0);
    known.ok_or_else(|| "no speed of wind; correct it, or leave it empty".to_owned())
}

/// From percent to a share. Whoever writes 0.3 may mean 30 %: it is not taken for a third of one.
pub(super) fn share(percent: f64) -> Result<f64, String> {
    if !(0.0..=100.0).contains(&percent) {
        return Err("no percentage from 0 to 100; correct it, or leave it empty".to_owned());
    }
    if percent > 0.0 && percent < 1.0 {
        return Err(
            "less than 1 %, and may be a share of one; write percent, such as 30".to_owned()
        );
    }
    Ok(percent / 100.0)
}

/// As [`share`]; air without any moisture is a missing value.
pub(super) fn humidity(percent: f64) -> Result<f64, String> {
    if percent == 0.0 {
        return Err("no humidity that air has; correct it, or leave it empty".to_owned());
    }
    share(percent)
}

/// More than half a meter in an hour fell nowhere yet.
pub(super) fn depth(rain: Option<Length>) -> Result<Length, String> {
    let known = rain.filter(|rain| rain.metres() <= 0.5);
    known.ok_or_else(|| "no rain of one hour; correct it, or leave it empty".to_owned())
}

/// From the least to the most, which may stand the other way round.
pub(super) fn range(one: Speed, other: Speed) -> SpeedRange {
    let (least, most) = if one <= other { (one, other) } else { (other, one) };
    SpeedRange { least, most }
}

/// `5`, `5 to 10` or `5-10`: the ends as they are written.
pub(super) fn ends(text: &str) -> (&str, &str) {
    let parted = [" to ", "–", "-"].into_iter().find_map(|word| text.trim().split_once(word));
    // A sign before a number parts nothing.
    match parted.filter(|(least, _)| !least.trim().is_empty()) {
        Some((least, most)) => (least.trim(), most.trim()),
        None => (text.trim(), text.trim()),
    }
}

/// Names of where the wind comes from, 22.5° each from north.
const POINTS: [&str; 16] = [
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW",
    "NNW",
];

/// `NW`, `315`, `315°`, `variable` or `calm`.
pub(super) fn direction(text: &str) -> Result<String, String> {
    let text = text.trim();
    let upper = text.to_uppercase();
    if POINTS.contains(&upper.as_str()) || ["VARIABLE", "VRB", "CALM"].contains(&upper.as_str()) {
        return Ok(text.to_owned());
    }
    let degrees: Option<f64> = text.trim_end_matches(['°', ' ']).parse().ok();
    let known = degrees.filter(|degrees| (0.0..=360.0).contains(degrees));
    let told = known.map(|degrees| format!("{degrees:.0}°"));
    told.ok_or_else(|| "no direction of the wind; write it like NW or 315".to_owned())
}

/// The number of a cell that may write its column's unit behind it; that of another column is none.
pub(super) fn without_unit<'a>(text: &'a str, unit: &str) -> &'a str {
    let words: &[&str] = match unit {
        "mph" => &["mph", "mi/h"],
        "kmh" => &["km/h", "kmh", "kph"],
        "ms" => &["m/s", "ms"],
        "kn" => &["kn", "kt", "kts", "knots"],
        "f" => &["f", "°f"],
        "c" => &["c", "°c"],
        "pct" => &["%"],
        "in" => &["in", "\""],
        "mm" => &["mm"],
        _ => &[],
    };
    let text = text.trim();
    let number = text.trim_end_matches(|c: char| !c.is_ascii_digit() && c != '.');
    let written = text[number.len()..].trim().to_lowercase();
    if words.contains(&written.as_str()) { number } else { text }
}
