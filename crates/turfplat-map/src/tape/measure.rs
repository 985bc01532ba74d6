//! Lengths, areas and turns as people write them down beside a tape.

use turfplat_units::{Area, Length, UnitError};

use super::Reason;
use super::fields::shortened;
use super::given::Given;

/// The unit of bare numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Unit {
    pub(super) name: &'static str,
    metres: f64,
}

/// No side of a lawn is longer, in metres.
const LONGEST: f64 = 100_000.0;
const BOUNDS: &str = "give a length from 0 to 100 km";

impl Unit {
    /// NIST Handbook 44 (2023 on), Appendix C: exact multiples of the foot.
    const ALL: [(Unit, [&'static str; 4]); 5] = [
        (Unit::of("ft", Length::METRES_PER_FOOT), ["ft", "foot", "feet", "'"]),
        (Unit::of("in", Length::METRES_PER_FOOT / 12.0), ["in", "inch", "inches", "\""]),
        (Unit::of("yd", Length::METRES_PER_FOOT * 3.0), ["yd", "yard", "yards", "yds"]),
        (Unit::of("m", 1.0), ["m", "meter", "meters", "metres"]),
        (Unit::of("cm", 0.01), ["cm", "centimeter", "centimeters", "centimetres"]),
    ];

    const fn of(name: &'static str, metres: f64) -> Unit {
        Unit { name, metres }
    }

    pub(super) fn named(given: &Given) -> Result<Unit, Reason> {
        let name = given.text().map(|text| text.trim().to_lowercase());
        let named = |(_, names): &&(Unit, [&str; 4])| {
            name.as_deref().is_some_and(|name| names.contains(&name.trim_end_matches('.')))
        };
        let known = Unit::ALL.iter().find(named).map(|(unit, _)| *unit);
        known.ok_or_else(|| {
            format!(
                "is {}, which is not known; use \"ft\", \"in\", \"yd\", \"m\" or \"cm\"",
                given.shown()
            )
        })
    }
}

/// A length in metres, not below 0.
pub(super) fn length(given: &Given, unit: Option<Unit>) -> Result<f64, Reason> {
    let metres = match (given, unit) {
        (Given::Number(number), _) if !number.is_finite() || *number < 0.0 => {
            return Err(format!("is {number}; {BOUNDS}"));
        }
        (Given::Number(number), Some(unit)) => number * unit.metres,
        (Given::Number(number), None) => return Err(no_unit(&number.to_string())),
        (Given::Text(text), _) => length_of(text, unit)?,
        (other, _) => {
            return Err(format!(r#"is {}; give a length such as "25 ft""#, other.shown()));
        }
    };
    match metres {
        metres if metres <= LONGEST => Ok(metres),
        _ => Err(format!("is {}; {BOUNDS}", given.shown())),
    }
}

pub(super) fn not_zero(metres: f64) -> Result<f64, Reason> {
    if metres > 0.0 { Ok(metres) } else { Err(format!("is 0; {BOUNDS}, and not 0")) }
}

/// A length to either side in metres: below 0 it is to the left, west or south.
pub(super) fn signed_length(given: &Given, unit: Option<Unit>) -> Result<f64, Reason> {
    let opposite = match given {
        Given::Number(number) if *number < 0.0 => Some(Given::Number(-number)),
        Given::Text(text) => {
            text.trim_start().strip_prefix(['-', '−']).map(|rest| Given::Text(rest.to_owned()))
        }
        _ => None,
    };
    match opposite {
        Some(opposite) => length(&opposite, unit).map(|metres| -metres),
        None => length(given, unit),
    }
}

/// How a sheet in TOML says the unit of all its numbers.
pub(super) const FOR_ALL: &str = r#"unit = "ft" for all numbers"#;

fn no_unit(number: &str) -> Reason {
    format!(r#"is {number} without a unit; write "{number} ft", or {FOR_ALL}"#)
}

/// `7.5 m`, `25 ft`, `12 ft 6 in`, `12'6"`, `12'-6 1/2"`, or a number in `unit`.
fn length_of(text: &str, unit: Option<Unit>) -> Result<f64, Reason> {
    let plain = shortened(text.trim())
        .to_lowercase()
        .replace(['’', '′', '‘'], "'")
        .replace(['”', '″', '“'], "\"")
        .replace("''", "\"");
    if let Some((feet, inches)) = feet_and_inches(&plain) {
        return Ok(metres(&format!("{feet} ft"))? + inches_beside_feet(inches)?);
    }
    match plain.parse::<Length>() {
        Ok(length) => Ok(length.metres()),
        Err(UnitError::NoUnit(number, _)) => match unit {
            Some(unit) => metres(&format!("{number} {}", unit.name)),
            None => Err(no_unit(&number)),
        },
        Err(error) => Err(format!(": {error}")),
    }
}

/// The two parts round a foot's sign, if something stands after it.
fn feet_and_inches(text: &str) -> Option<(&str, &str)> {
    ["'", "feet", "foot", "ft.", "ft"].into_iter().find_map(|sign| {
        let (feet, inches) = text.split_once(sign)?;
        let inches = inches.trim_start_matches([' ', '-', '–', ',']);
        (!inches.is_empty() && inches != ".").then_some((feet, inches))
    })
}

fn inches_beside_feet(text: &str) -> Result<f64, Reason> {
    let in_inches = ["in", "\""].iter().any(|sign| text.contains(sign));
    let metres = metres(text)?;
    if in_inches && metres < Length::METRES_PER_FOOT {
        return Ok(metres);
    }
    Err(format!(
        r#"has {text:?} after its feet; write less than 12 in there, such as "12 ft 6 in""#
    ))
}

fn metres(text: &str) -> Result<f64, Reason> {
    text.parse::<Length>().map(Length::metres).map_err(|error| format!(": {error}"))
}

/// An area in square metres, above 0.
pub(super) fn area(given: &Given, unit: Option<Unit>) -> Result<f64, Reason> {
    const CURE: &str = r#"give an area such as "4,857.5 sq ft", "0.25 acre" or "450 m2""#;
    let area = match (given, unit) {
        (Given::Number(number), Some(unit)) => {
            Area::from_square_metres(number * unit.metres * unit.metres)
        }
        (Given::Text(text), unit) => area_of(text, unit),
        _ => None,
    };
    // The largest square with a side that is allowed.
    let plausible = |area: &f64| *area > 0.0 && *area <= LONGEST * LONGEST;
    let area = area.map(Area::square_metres).filter(plausible);
    area.ok_or_else(|| format!("area is {}; {CURE}", given.shown()))
}

fn area_of(text: &str, unit: Option<Unit>) -> Option<Area> {
    let text = shortened(text.trim()).to_lowercase();
    let end = text.find(|c: char| !matches!(c, '0'..='9' | ',' | '.' | ' ')).unwrap_or(text.len());
    let (number, name) = text.split_at(end);
    // Read as metres for the sake of its rules on commas.
    let number = format!("{} m", number.trim()).parse::<Length>().ok()?.metres();
    match name.trim().trim_end_matches('.') {
        "" => unit.and_then(|unit| Area::from_square_metres(number * unit.metres * unit.metres)),
        "sq ft" | "sq. ft" | "sqft" | "ft2" | "ft²" | "square feet" | "sf" => {
            Area::from_square_feet(number)
        }
        "sq yd" | "yd2" | "yd²" | "square yards" => Area::from_square_feet(number * 9.0),
        "a" | "ac" | "acre" | "acres" => Area::from_acres(number),
        "sq m" | "m2" | "m²" | "square meters" | "square metres" => {
            Area::from_square_metres(number)
        }
        "ha" | "hectare" | "hectares" => Area::from_square_metres(number * 10_000.0),
        _ => None,
    }
}

/// Degrees clockwise, from −360 to 360.
pub(super) fn turn(given: &Given) -> Result<f64, Reason> {
    let degrees = match given {
        Given::Number(number) => Some(*number),
        Given::Text(text) => text.trim().trim_end_matches(['°', 'º']).trim_end().parse().ok(),
        _ => None,
    };
    degrees
        .filter(|degrees: &f64| degrees.abs() <= 360.0)
        .ok_or_else(|| format!("is {}; give degrees clockwise, from -360 to 360", given.shown()))
}
