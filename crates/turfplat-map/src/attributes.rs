use std::borrow::Cow;

use serde_json::Value;
use turfplat_units::Length;

use crate::columns::is_personal;
use crate::error::MapError;
use crate::feature::{Condition, FeatureRef};
use crate::feature_text::{Answer, Attribute};
use crate::kind::Kind;

/// Names that must not be passed over where they are nearly right, and what was meant.
const SAFETY: [(&str, &str); 6] = [
    ("setback", "setback_ft or setback_m"),
    ("vegstrip", "veg_strip_ft"),
    ("condition", "condition"),
    ("species", "species"),
    ("kind", "kind"),
    ("property", "property"),
];

/// The names of all properties that are read.
pub(crate) const READ: [&str; 17] = [
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
    "drawn_ft",
    "drawn_m",
    "grade_pct",
];

/// Says of a shape on a tape sheet that only its area is known.
pub(crate) const LEFT_AS_AREA: &str = "left_as_area";

/// True of a property that is read, or of a name so near one that passing it over matters.
pub(crate) fn is_read(name: &str) -> bool {
    let plain: String = name.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
    READ.contains(&name) || SAFETY.iter().any(|(known, _)| plain.starts_with(known))
}

/// The property that a column of a table is read as, whatever the case of its name; some tables
/// cut names after `longest` letters, and of two that such a start could be the first is meant:
/// `veg_strip_` of dBASE is `veg_strip_ft`, as which too narrow a strip is read and never too wide.
pub(crate) fn read_as(column: &str, longest: usize) -> Option<&'static str> {
    let name = column.trim().to_ascii_lowercase();
    let whole = READ.into_iter().find(|known| *known == name);
    let is_cut = name.len() == longest;
    whole.or_else(|| READ.into_iter().find(|known| is_cut && known.starts_with(&name)))
}

/// Names of a feature's properties that are not read.
#[derive(Default)]
pub(crate) struct Misnamed {
    /// Those that must not be passed over.
    pub(crate) errors: Vec<MapError>,
    /// Those of which a word is enough.
    pub(crate) remarks: Vec<String>,
    /// Those that hold people.
    pub(crate) personal: Vec<Box<str>>,
}

/// The properties of one feature, asked by name; nothing else of a file is carried on, so
/// that owners' names in a parcel file stay there.
pub(crate) struct Attributes<'a> {
    at: &'a FeatureRef,
    properties: &'a [Attribute<'a>],
}

impl<'a> Attributes<'a> {
    pub(crate) fn new(at: &'a FeatureRef, properties: &'a [Attribute<'a>]) -> Attributes<'a> {
        Attributes { at, properties }
    }

    /// A property that is there and not null.
    fn get(&self, name: &str) -> Option<&'a Answer<'a>> {
        // Of two under one name JSON readers take the last.
        let named = self.properties.iter().rfind(|(known, _)| known == name);
        named.map(|(_, answer)| answer).filter(|answer| !answer.is_null())
    }

    pub(crate) fn text(&self, name: &'static str) -> Result<Option<String>, MapError> {
        match self.get(name) {
            None => Ok(None),
            Some(answer @ (Answer::Text(_) | Answer::Other(Value::Number(_)))) => {
                Ok(answer.text().map(Cow::into_owned))
            }
            Some(answer) => Err(self.bad(name, answer, "a text")),
        }
    }

    /// Names that are nearly those that are read: a finding, or a refusal where passing them
    /// over could put product where none belongs.
    pub(crate) fn misnamed(&self) -> Misnamed {
        const OTHER: [(&str, &str); 7] = [
            ("drawn", "drawn_ft or drawn_m"),
            ("grade", "grade_pct"),
            ("gradepct", "grade_pct"),
            ("width", "width_ft or width_m"),
            ("radius", "radius_ft or radius_m"),
            ("priority", "priority"),
            ("name", "name"),
        ];
        let mut found = Misnamed::default();
        for (name, value) in self
            .properties
            .iter()
            .filter(|(name, value)| !READ.contains(&name.as_ref()) && !value.is_null())
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
            if let Some((_, meant)) = SAFETY.iter().find(|(known, _)| is(known)) {
                found.errors.push(MapError::Misnamed {
                    at: self.at.clone(),
                    property: name.to_string(),
                    meant,
                });
            } else if let Some((_, meant)) =
                OTHER.iter().find(|(known, _)| plain == *known || base == *known)
            {
                let value = value.shortened();
                found
                    .remarks
                    .push(format!("property {name:?} ({value}) is not read; write {meant}"));
            } else if is_personal(name) {
                found.personal.push(name.as_ref().into());
            }
        }
        found
    }

    pub(crate) fn kind(&self) -> Result<Kind, MapError> {
        match self.get("kind") {
            None => Err(MapError::NoKind { at: self.at.clone() }),
            Some(value) => {
                let kind = value.text().unwrap_or_else(|| value.shortened().into());
                let unknown =
                    |()| MapError::UnknownKind { at: self.at.clone(), kind: kind.to_string() };
                kind.parse().map_err(unknown)
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
        let texts: Vec<&str> = match self.get("species") {
            None => Vec::new(),
            Some(Answer::Text(text)) => vec![text],
            Some(whole @ Answer::Other(Value::Array(values))) => {
                let texts = values.iter().map(Value::as_str);
                texts.collect::<Option<_>>().ok_or_else(|| self.bad("species", whole, WANTED))?
            }
            Some(other) => return Err(self.bad("species", other, WANTED)),
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
            Answer::Other(Value::Number(number)) => number.as_f64(),
            Answer::Text(text) if text.trim().is_empty() => return Ok(None),
            Answer::Text(text) => text.trim().parse().ok(),
            Answer::Other(_) => None,
        };
        match number.filter(|number| number.is_finite()) {
            Some(number) => Ok(Some(number)),
            None => Err(self.bad(name, value, wanted)),
        }
    }

    /// True of a shape of which only the area is known.
    pub(crate) fn is_left_as_area(&self) -> bool {
        self.get(LEFT_AS_AREA) == Some(&Answer::Other(Value::Bool(true)))
    }

    /// The slope of turf in per cent; nothing where it is level.
    pub(crate) fn grade(&self) -> Result<Option<f64>, MapError> {
        const NAME: &str = "grade_pct";
        const WANTED: &str = "the slope in per cent, from 0 to 200";
        match self.number(NAME, WANTED)? {
            Some(grade) if !(0.0..=200.0).contains(&grade) => {
                let answer = self.get(NAME).unwrap_or(&Answer::Other(Value::Null));
                Err(self.bad(NAME, answer, WANTED))
            }
            grade => Ok(grade.filter(|grade| *grade > 0.0)),
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
            None => Err(self.bad(
                property,
                self.get(property).unwrap_or(&Answer::Other(Value::Null)),
                WANTED,
            )),
        }
    }

    fn bad(&self, property: &'static str, value: &Answer<'_>, wanted: &'static str) -> MapError {
        MapError::BadValue { at: self.at.clone(), property, value: value.shortened(), wanted }
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
