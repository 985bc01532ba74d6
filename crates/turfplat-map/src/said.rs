//! What a file and the user say of the system its numbers are in, and whether they say the same: of
//! two neighboring zones either puts a lawn somewhere, and the wrong one leaves no trace in the areas.

use std::sync::Arc;

use geo_types::Coord;
use serde_json::Value;

use crate::crs::{CoordinateSystem, Frame, place_by};
use crate::error::ReadError;
use crate::formats::told::Says;
use crate::property_map::Corners;
use crate::slips::kilometres_apart;
use crate::splitter::Top;
use crate::system::in_words;

/// The name in a `crs` member of the 2008 GeoJSON specification, such as `urn:ogc:def:crs:EPSG::25833`.
/// One that names nothing is passed over where the user says in what the file is.
pub(crate) fn crs_name(
    top: &Top,
    file: &Arc<str>,
    asked: &CoordinateSystem,
) -> Result<Option<String>, ReadError> {
    let Some(crs) = &top.crs else { return Ok(None) };
    let name = match crs {
        Value::String(name) => Some(name.as_str()),
        Value::Object(_) => crs.pointer("/properties/name").and_then(Value::as_str),
        _ => None,
    };
    match name.map(str::trim).filter(|name| !name.is_empty()) {
        Some(name) => Ok(Some(name.to_owned())),
        None if *asked != CoordinateSystem::AsTheFileSays => Ok(None),
        None => {
            let crs: String = crs.to_string().chars().take(80).collect();
            let reason = format!(
                r#"its "crs" is {crs}, which names no system in a way that is read; name the system with --crs EPSG:n, or write "EPSG:n" there"#
            );
            Err(ReadError::Format { file: file.to_string(), reason })
        }
    }
}

/// Who says in what a file is.
pub(crate) fn who_says(says: &Says, asked: &CoordinateSystem, file: &str) -> &'static str {
    if *asked != CoordinateSystem::AsTheFileSays {
        return "--crs";
    }
    match says {
        Says::GeoJson => "its crs member",
        Says::System(_) if file.trim_end_matches(')').ends_with(".shp") => "its .prj",
        _ => "the file",
    }
}

/// What to say, with its code, of a file that says another system than the user did. `around` is where
/// it lies by the user's, in degrees.
pub(crate) fn contradiction(
    says: &Says,
    named: Option<&str>,
    asked: &CoordinateSystem,
    (file, frame): (&str, &Frame),
    around: Option<Corners>,
) -> Option<(&'static str, String)> {
    /// Nearer than this, in kilometers, one place is told in two ways.
    const SAME: f64 = 0.001;
    let named = named?;
    let by_file = Frame::choose(&CoordinateSystem::AsTheFileSays, Some(named)).ok()?;
    let who = who_says(says, &CoordinateSystem::AsTheFileSays, file);
    let name = by_file.system().map_or("longitude and latitude", |system| &system.name);
    if let CoordinateSystem::Plane { metres_per_unit } = asked {
        let unit = by_file.system()?.metres_per_unit?;
        let message = format!(
            "--plane {} was taken; {who} says {name}, whose unit is {unit:.7} m: leave out --plane if that is right",
            if *metres_per_unit == 1.0 { "m" } else { "ft" }
        );
        return ((unit / metres_per_unit - 1.0).abs() > 1e-5).then_some(("other-system", message));
    }
    let CoordinateSystem::Code(code) = asked else { return None };
    let (low, high) = around?;
    let here = (low + high) / 2.0;
    let there = place_by(&by_file, frame, here).filter(is_place);
    let kilometres = there.map(|there| kilometres_apart((here, here), (there, there)));
    if kilometres.is_some_and(|kilometres| kilometres < SAME) {
        return None;
    }
    let away = match (there, kilometres) {
        (Some(there), Some(far)) if far < 1.0 => {
            format!("by which it lies at {}, {:.0} m away", in_words(there), far * 1000.0)
        }
        (Some(there), Some(far)) => {
            format!("by which it lies at {}, {far:.0} km away", in_words(there))
        }
        _ => "in which its numbers are no place".to_owned(),
    };
    let message = format!(
        "--crs {} was taken; {who} says {name}, {away}: leave out --crs if that is right",
        code.chars().take(80).collect::<String>()
    );
    Some(("other-system", message))
}

fn is_place(place: &Coord<f64>) -> bool {
    place.x.abs() <= 180.0 && place.y.abs() <= 90.0
}
