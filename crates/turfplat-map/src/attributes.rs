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

    pub(crate) fn text(&self, name: &'static str) -> Result<Option<String>, MapError> {
        match self.get(name) {
            None => Ok(None),
            Some(value @ (Value::String(_) | Value::Number(_))) => Ok(text_of(value)),
            Some(value) => Err(self.bad(name, value, "a text")),
        }
    }

    /// Names that are nearly those that are read: a finding, or a refusal where passing them
    /// over could put product where none belongs.
    pub(crate) fn misnamed(&self) -> (Vec<MapError>, Vec<String>) {
        const SAFETY: [(&str, &str); 6] = [
            ("setback", "setback_ft or setback_m"),
            ("vegstrip", "veg_strip_ft"),
            ("condition", "condition"),
            ("species", "species"),
            ("kind", "kind"),
            ("property", "property"),
        ];
        const READ: [&str; 14] = [
            "kind",
            "name",
            "species",
            "condition",
            "property",
            "priority",
            "width_ft",
            "width_m",
            "radius_ft",
            "radius_m",
            "setback_ft",
            "setback_m",
            "veg_strip_ft",
            "veg_strip_m",
        ];
        const OTHER: [(&str, &str); 4] = [
            ("width", "width_ft or width_m"),
            ("radius", "radius_ft or radius_m"),
            ("priority", "priority"),
            ("name", "name"),
        ];
        let mut errors = Vec::new();
        let mut remarks = Vec::new();
        for (name, value) in self
            .properties
            .iter()
            .filter(|(name, value)| !value.is_null() && !READ.contains(&name.as_str()))
        {
            let plain: String =
                name.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
            let base = ["ft", "feet", "m"]
                .iter()
                .find_map(|unit| plain.strip_suffix(unit))
                .unwrap_or(&plain);
            let is = |known: &str| {
                plain == known
                    || base == known
                    || (plain.len() > 4 && one_slip_apart(&plain, known))
            };
            if matches!(name.as_str(), "grade_pct" | "drawn_ft" | "drawn_m") {
                remarks.push(format!("property {name:?} is not worked with yet; areas are taken as drawn and on the level"));
            } else if let Some((_, meant)) = SAFETY.iter().find(|(known, _)| is(known)) {
                errors.push(MapError::Misnamed {
                    at: self.at.clone(),
                    property: name.clone(),
                    meant,
                });
            } else if let Some((_, meant)) =
                OTHER.iter().find(|(known, _)| plain == *known || base == *known)
            {
                let value = shortened(value);
                remarks.push(format!("property {name:?} ({value}) is not read; write {meant}"));
            }
        }
        (errors, remarks)
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
        let Some(condition) = self.text("condition")? else { return Ok(Condition::Good) };
        let known =
            Condition::ALL.into_iter().find(|known| known.name().eq_ignore_ascii_case(&condition));
        known.ok_or_else(|| MapError::UnknownCondition { at: self.at.clone(), condition })
    }

    /// Comma-separated text, or an array of texts.
    pub(crate) fn species(&self) -> Result<Vec<String>, MapError> {
        const WANTED: &str = "a text, or an array of texts";
        let texts: Vec<String> = match self.get("species") {
            None => Vec::new(),
            Some(whole @ Value::Array(values)) => {
                let texts = values.iter().map(|value| value.as_str().map(str::to_owned));
                texts.collect::<Option<_>>().ok_or_else(|| self.bad("species", whole, WANTED))?
            }
            Some(value) => vec![
                value
                    .as_str()
                    .map(str::to_owned)
                    .ok_or_else(|| self.bad("species", value, WANTED))?,
            ],
        };
        let names = texts.iter().flat_map(|text| text.split(',')).map(str::trim);
        Ok(names.filter(|name| !name.is_empty()).map(str::to_owned).collect())
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

    /// `name_ft` or `name_m`; nothing where it is 0.
    pub(crate) fn length(&self, names: [&'static str; 3]) -> Result<Option<Length>, MapError> {
        const WANTED: &str = "a number from 0 to 10 km, without a unit";
        let [name, in_feet, in_metres] = names;
        let feet = self.number(in_feet, WANTED)?;
        let metres = self.number(in_metres, WANTED)?;
        let (property, length) = match (feet, metres) {
            (Some(_), Some(_)) => return Err(MapError::BothUnits { at: self.at.clone(), name }),
            (Some(feet), None) => (in_feet, Length::from_feet(feet)),
            (None, Some(metres)) => (in_metres, Length::from_metres(metres)),
            (None, None) => return Ok(None),
        };
        match length.filter(|length| length.metres() < 10_000.0) {
            // Attribute tables write 0 for none.
            Some(length) if length == Length::ZERO => Ok(None),
            Some(length) => Ok(Some(length)),
            None => Err(self.bad(property, self.get(property).unwrap_or(&Value::Null), WANTED)),
        }
    }

    fn bad(&self, property: &'static str, value: &Value, wanted: &'static str) -> MapError {
        MapError::BadValue { at: self.at.clone(), property, value: shortened(value), wanted }
    }
}

/// True if one letter too many, too few, other, or two swapped make the difference.
fn one_slip_apart(a: &str, b: &str) -> bool {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let same_start = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let (a, b) = (&a[same_start..], &b[same_start..]);
    match (a.len() as i64 - b.len() as i64, a, b) {
        (0, [], []) => true,
        (0, [x, y, rest_a @ ..], [v, w, rest_b @ ..]) => {
            (rest_a == rest_b && x == w && y == v) || a[1..] == b[1..]
        }
        (0, [_], [_]) => true,
        (1, [_, rest @ ..], _) => rest == b,
        (-1, _, [_, rest @ ..]) => a == rest,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_pen_are_one_letter() {
        for (a, b, expected) in [
            ("condition", "conditon", true),
            ("setback", "setbakc", true),
            ("species", "speces", true),
            ("kind", "kindd", true),
            ("property", "prpoerty", true),
            ("species", "species", true),
            ("name", "lane", false),
            ("property", "properties", false),
        ] {
            assert_eq!(one_slip_apart(a, b), expected, "{a} {b}");
        }
    }
}
