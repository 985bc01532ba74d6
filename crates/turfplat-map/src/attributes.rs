use serde_json::{Map, Value};
use turfplat_units::Length;

use crate::error::MapError;
use crate::feature::{Condition, FeatureRef};
use crate::geojson_text::{shortened, text_of};
use crate::kind::Kind;

/// The properties of one feature, asked by name; nothing else of a file is carried on, so
/// that owners' names in a parcel file stay there.
pub(crate) struct Attributes<'a> {
    at: &'a FeatureRef,
    properties: &'a Map<String, Value>,
}

impl<'a> Attributes<'a> {
    pub(crate) fn new(at: &'a FeatureRef, properties: &'a Map<String, Value>) -> Attributes<'a> {
        Attributes { at, properties }
    }

    /// A property that is there and not null.
    fn get(&self, name: &str) -> Option<&'a Value> {
        self.properties.get(name).filter(|value| !value.is_null())
    }

    pub(crate) fn text(&self, name: &str) -> Option<String> {
        self.get(name).and_then(text_of)
    }

    pub(crate) fn kind(&self) -> Result<Kind, MapError> {
        match self.get("kind") {
            None => Err(MapError::NoKind { at: self.at.clone() }),
            Some(value) => {
                let kind = text_of(value).unwrap_or_else(|| shortened(value));
                kind.parse().map_err(|()| MapError::UnknownKind { at: self.at.clone(), kind })
            }
        }
    }

    pub(crate) fn condition(&self) -> Result<Condition, MapError> {
        let Some(condition) = self.text("condition") else { return Ok(Condition::Good) };
        let known =
            Condition::ALL.into_iter().find(|known| known.name().eq_ignore_ascii_case(&condition));
        known.ok_or_else(|| MapError::UnknownCondition { at: self.at.clone(), condition })
    }

    /// Comma-separated text, or an array of texts.
    pub(crate) fn species(&self) -> Vec<String> {
        let texts: Vec<String> = match self.get("species") {
            Some(Value::Array(values)) => values.iter().filter_map(text_of).collect(),
            Some(value) => text_of(value).into_iter().collect(),
            None => Vec::new(),
        };
        texts
            .iter()
            .flat_map(|text| text.split(','))
            .map(str::trim)
            .filter(|name| !name.is_empty())
            .map(str::to_owned)
            .collect()
    }

    /// A number, also one written as text.
    pub(crate) fn number(
        &self,
        name: &'static str,
        wanted: &'static str,
    ) -> Result<Option<f64>, MapError> {
        let Some(value) = self.get(name) else { return Ok(None) };
        let number = match value {
            Value::Number(number) => number.as_f64(),
            Value::String(text) if text.trim().is_empty() => return Ok(None),
            Value::String(text) => text.trim().parse().ok(),
            _ => None,
        };
        match number.filter(|number| number.is_finite()) {
            Some(number) => Ok(Some(number)),
            None => Err(self.bad(name, value, wanted)),
        }
    }

    /// `name_ft` or `name_m`, above zero.
    pub(crate) fn length(&self, names: [&'static str; 3]) -> Result<Option<Length>, MapError> {
        const WANTED: &str = "a number above 0 and below 10 km, without a unit";
        let [name, in_feet, in_metres] = names;
        let feet = self.number(in_feet, WANTED)?;
        let metres = self.number(in_metres, WANTED)?;
        let (property, length) = match (feet, metres) {
            (Some(_), Some(_)) => return Err(MapError::BothUnits { at: self.at.clone(), name }),
            (Some(feet), None) => (in_feet, Length::from_feet(feet)),
            (None, Some(metres)) => (in_metres, Length::from_metres(metres)),
            (None, None) => return Ok(None),
        };
        match length.filter(|length| length.metres() > 0.0 && length.metres() < 10_000.0) {
            Some(length) => Ok(Some(length)),
            None => Err(self.bad(property, self.get(property).unwrap_or(&Value::Null), WANTED)),
        }
    }

    fn bad(&self, property: &'static str, value: &Value, wanted: &'static str) -> MapError {
        MapError::BadValue { at: self.at.clone(), property, value: shortened(value), wanted }
    }
}
