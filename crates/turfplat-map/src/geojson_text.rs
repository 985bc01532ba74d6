//! Why the text is split before it is understood: one bad feature must not hide the others,
//! and a message must name the feature, so each is read alone from its own piece of the text.

use std::sync::Arc;

use geojson::GeometryValue;
use serde::Deserialize;
use serde_json::value::RawValue;
use serde_json::{Map, Value};

use crate::error::{MapError, ReadError};
use crate::feature::FeatureRef;

/// A feature as it stands in the file.
pub(crate) struct Drawn {
    pub(crate) at: FeatureRef,
    pub(crate) properties: Map<String, Value>,
    /// `None` is a null geometry.
    pub(crate) geometry: Result<Option<GeometryValue>, MapError>,
}

/// A file's features and the coordinate system that it names.
pub(crate) struct Text {
    pub(crate) features: Vec<Result<Drawn, MapError>>,
    pub(crate) crs: Option<String>,
}

#[derive(Deserialize)]
struct Top<'a> {
    #[serde(rename = "type")]
    kind: Option<Value>,
    #[serde(borrow)]
    features: Option<&'a RawValue>,
    crs: Option<Value>,
}

#[derive(Deserialize)]
struct RawFeature<'a> {
    #[serde(rename = "type")]
    kind: Option<Value>,
    id: Option<Value>,
    properties: Option<Value>,
    #[serde(borrow)]
    geometry: Option<&'a RawValue>,
}

/// Splits GeoJSON text into features (RFC 7946 §3): a collection, one feature, or a bare geometry.
pub(crate) fn split(file: &Arc<str>, text: &str) -> Result<Text, ReadError> {
    let whole: &RawValue = serde_json::from_str(text).map_err(|error| not_json(file, &error))?;
    let not_geojson = |found: String| ReadError::NotGeoJson { file: file.to_string(), found };
    if !whole.get().starts_with('{') {
        return Err(not_geojson(format!(
            "it starts with {:?}",
            whole.get().chars().next().unwrap_or(' ')
        )));
    }
    let top: Top<'_> =
        serde_json::from_str(whole.get()).map_err(|error| not_geojson(error.to_string()))?;
    let kind = match &top.kind {
        Some(Value::String(kind)) => kind.as_str(),
        Some(other) => return Err(not_geojson(format!(r#"its "type" is {other}"#))),
        None => return Err(not_geojson(r#"it has no "type""#.into())),
    };
    let crs = match &top.crs {
        None | Some(Value::Null) => None,
        Some(crs) => Some(crs_name(crs).ok_or_else(|| {
            not_geojson(format!(
                r#"its "crs" is {}, which names no system; write "EPSG:n", or leave it out"#,
                shortened(crs)
            ))
        })?),
    };
    let place = |index| FeatureRef { file: Arc::clone(file), index, label: None };
    let features = match kind {
        "FeatureCollection" => {
            let Some(features) = top.features else {
                return Err(not_geojson(r#"it has no "features""#.into()));
            };
            let pieces: Vec<&RawValue> = serde_json::from_str(features.get())
                .map_err(|_| not_geojson(r#"its "features" is not an array"#.into()))?;
            pieces
                .into_iter()
                .enumerate()
                .map(|(index, piece)| feature(place(index), piece))
                .collect()
        }
        "Feature" => vec![feature(place(0), whole)],
        "Point" | "MultiPoint" | "LineString" | "MultiLineString" | "Polygon" | "MultiPolygon"
        | "GeometryCollection" => {
            // A bare geometry cannot say what it is; a lawn is what people trace.
            let properties = Map::from_iter([("kind".to_owned(), Value::from("turf"))]);
            vec![Ok(Drawn {
                at: place(0),
                properties,
                geometry: geometry(&place(0), whole).map(Some),
            })]
        }
        other => return Err(not_geojson(format!(r#"its "type" is {other:?}"#))),
    };
    Ok(Text { features, crs })
}

fn not_json(file: &Arc<str>, error: &serde_json::Error) -> ReadError {
    let (file, line, column) = (file.to_string(), error.line(), error.column());
    if error.is_eof() {
        return ReadError::CutOff { file, line, column };
    }
    // serde_json repeats the place at the end of its text; ours stands in front.
    let reason = error.to_string();
    let reason = reason.split(" at line ").next().unwrap_or_default().to_owned();
    ReadError::NotJson { file, line, column, reason }
}

fn feature(mut at: FeatureRef, piece: &RawValue) -> Result<Drawn, MapError> {
    let raw: RawFeature<'_> = match serde_json::from_str(piece.get()) {
        Ok(raw) => raw,
        Err(error) => return Err(MapError::NotAFeature { at, reason: error.to_string() }),
    };
    let properties = match raw.properties {
        Some(Value::Object(properties)) => properties,
        None => Map::new(),
        Some(other) => {
            return Err(MapError::NotAFeature {
                at,
                reason: format!(r#"its "properties" is {}"#, shortened(&other)),
            });
        }
    };
    at.label =
        properties.get("name").and_then(text_of).or_else(|| raw.id.as_ref().and_then(text_of));
    match raw.kind {
        Some(Value::String(kind)) if kind == "Feature" => {}
        Some(other) => {
            return Err(MapError::NotAFeature {
                at,
                reason: format!(r#"its "type" is {}"#, shortened(&other)),
            });
        }
        None => return Err(MapError::NotAFeature { at, reason: r#"it has no "type""#.into() }),
    }
    let geometry = raw.geometry.map(|piece| geometry(&at, piece)).transpose();
    Ok(Drawn { at, properties, geometry })
}

fn geometry(at: &FeatureRef, piece: &RawValue) -> Result<GeometryValue, MapError> {
    serde_json::from_str(piece.get()).map_err(|error| {
        let reason = error.to_string();
        let reason = reason.split(" at line ").next().unwrap_or_default().to_owned();
        MapError::BadGeometry { at: at.clone(), reason }
    })
}

/// A string or a number as text, trimmed; `None` of anything else and of nothing.
pub(crate) fn text_of(value: &Value) -> Option<String> {
    let text = match value {
        // Line breaks and the like would reach terminals and file names.
        Value::String(text) => text.replace(char::is_control, " ").trim().to_owned(),
        Value::Number(number) => number.to_string(),
        _ => return None,
    };
    (!text.is_empty()).then_some(text)
}

/// A value short enough to stand in a message.
pub(crate) fn shortened(value: &Value) -> String {
    let text = value.to_string();
    if text.chars().count() <= 40 {
        text
    } else {
        text.chars().take(37).chain("…".chars()).collect()
    }
}

/// The name in a `crs` member of the 2008 GeoJSON specification, such as `urn:ogc:def:crs:EPSG::25833`.
fn crs_name(crs: &Value) -> Option<String> {
    match crs {
        Value::String(name) => Some(name.clone()),
        Value::Object(_) => crs.get("properties")?.get("name").and_then(text_of),
        _ => None,
    }
}
