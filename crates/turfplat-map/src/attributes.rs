use std::borrow::Cow;

use serde_json::Value;
use turfplat_units::{Length, letters_apart};

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
pub(crate) const READ: [&str; 18] = [
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
    "size_unknown",
];

/// Says of a shape on a tape sheet that only its area is known.
pub(crate) const LEFT_AS_AREA: &str = "left_as_area";

/// The property that a name stands for, whatever its case: programs that went through a shapefile
/// write `KIND`.
pub(crate) fn in_any_case(name: &str) -> Option<&'static str> {
    READ.into_iter().find(|read| read.eq_ignore_ascii_case(name))
}

/// What exports of OpenStreetMap say of a feature parts of which were not downloaded. Source: the
/// OpenStreetMap wiki, from memory.
pub(crate) const INCOMPLETE: &str = "@tainted";

/// True of a property that is read, or of a name so near one that passing it over matters.
pub(crate) fn is_read(name: &str) -> bool {
    let plain: String = name.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
    in_any_case(name).is_some() || SAFETY.iter().any(|(known, _)| plain.starts_with(known))
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
    /// True of most features: then no name can be one of ours in other letters.
    all_small: bool,
}

impl<'a> Attributes<'a> {
    pub(crate) fn new(at: &'a FeatureRef, properties: &'a [Attribute<'a>]) -> Attributes<'a> {
        let is_small = |(name, _): &Attribute<'_>| !name.bytes().any(|it| it.is_ascii_uppercase());
        Attributes { at, properties, all_small: properties.iter().all(is_small) }
    }

    /// A property that is there and says something: under its name, or under its name in other
    /// letters, of which no two say different things or the feature is refused.
    fn get(&self, name: &str) -> Option<&'a Answer<'a>> {
        // Of two under one name JSON readers take the last.
        let named = self.properties.iter().rfind(|(known, _)| known == name);
        let named = named.map(|(_, answer)| answer).filter(|answer| !answer.is_null());
        let in_other_letters = || {
            let answers = self
                .properties
                .iter()
                .filter(|(known, _)| known != name && known.eq_ignore_ascii_case(name));
            answers.map(|(_, answer)| answer).rfind(|answer| answer.says_something())
        };
        match named {
            Some(answer) if answer.says_something() => Some(answer),
            _ if self.all_small => named,
            _ => in_other_letters().or(named),
        }
    }

    /// Spellings of the name of one property that say different things.
    fn two_spellings(&self) -> Vec<MapError> {
        let mut found = Vec::new();
        if self.all_small {
            return found;
        }
        for read in READ {
            let is_it = |(name, answer): &&Attribute<'_>| {
                name.eq_ignore_ascii_case(read) && answer.says_something()
            };
            let mut said = self.properties.iter().filter(is_it);
            let Some((first, says)) = said.next() else { continue };
            // Of two under the very same name the last counts, as ever.
            if let Some((other, differs)) =
                said.find(|(name, answer)| name != first && answer != says)
            {
                let [says, differs] = [says, differs].map(Answer::shortened);
                found.push(MapError::TwoSpellings {
                    at: self.at.clone(),
                    said: format!("{first:?} ({says}) and {other:?} ({differs})"),
                });
            }
        }
        found
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
        let mut is_in_other_letters = false;
        for (name, value) in self
            .properties
            .iter()
            .filter(|(name, value)| !READ.contains(&name.as_ref()) && !value.is_null())
        {
            if in_any_case(name).is_some() {
                is_in_other_letters = true;
                continue;
            }
            let plain: String =
                name.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
            let base = ["ft", "feet", "m"]
                .iter()
                .find_map(|unit| plain.strip_suffix(unit))
                .unwrap_or(&plain);
            let is = |known: &str| {
                plain == known
                    || base == known
                    || (plain.len() > 4
                        && plain.len().abs_diff(known.len()) <= 1
                        && letters_apart(&plain, known) <= 1)
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
        if is_in_other_letters {
            found.errors.extend(self.two_spellings());
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

    /// `None` where the file says none, which is taken for good.
    pub(crate) fn condition(&self) -> Result<Option<Condition>, MapError> {
        let Some(condition) = self.text("condition")? else { return Ok(None) };
        let known =
            Condition::ALL.into_iter().find(|known| known.name().eq_ignore_ascii_case(&condition));
        known.map(Some).ok_or_else(|| MapError::UnknownCondition { at: self.at.clone(), condition })
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

    /// True of a feature whose file says that parts of it are missing.
    pub(crate) fn is_incomplete(&self) -> bool {
        self.get(INCOMPLETE).is_some_and(|answer| match answer {
            Answer::Other(Value::Bool(said)) => *said,
            other => {
                other.text().is_some_and(|text| text != "no" && text != "false" && text != "0")
            }
        })
    }

    /// True where a width or a radius is given.
    pub(crate) fn has_size(&self) -> bool {
        let names = ["width_ft", "width_m", "radius_ft", "radius_m"];
        names.iter().any(|name| self.get(name).is_some_and(Answer::says_something))
    }

    /// True of a line or a point of which it is said that nobody knows its width or radius.
    pub(crate) fn is_of_unknown_size(&self) -> Result<bool, MapError> {
        const NAME: &str = "size_unknown";
        let Some(answer) = self.get(NAME) else { return Ok(false) };
        let said = match answer {
            Answer::Other(Value::Bool(said)) => return Ok(*said),
            other => other.text().map(|text| text.to_lowercase()),
        };
        match said.as_deref() {
            None if !answer.says_something() => Ok(false),
            Some("yes" | "true" | "1") => Ok(true),
            Some("no" | "false" | "0") => Ok(false),
            _ => Err(self.bad(NAME, answer, "yes or no")),
        }
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

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use std::sync::Arc;

    use super::*;

    fn told(properties: &[(&'static str, &'static str)]) -> (Misnamed, Option<String>) {
        let at = FeatureRef::of_file(&Arc::from("lots.geojson"), 0);
        let properties: Vec<Attribute<'_>> = properties
            .iter()
            .map(|(name, value)| ((*name).into(), Answer::Text((*value).into())))
            .collect();
        let attributes = Attributes::new(&at, &properties);
        (attributes.misnamed(), attributes.text("kind").unwrap())
    }

    #[test]
    fn case_does_not_matter_where_one_thing_is_said() {
        for properties in [
            &[("KIND", "turf")][..],
            &[("Kind", "turf"), ("WIDTH_FT", "4")],
            // What says nothing says nothing else.
            &[("Kind", ""), ("kind", "turf")],
            &[("Kind", "turf"), ("kind", "turf")],
        ] {
            let (misnamed, kind) = told(properties);
            assert_eq!(kind.as_deref(), Some("turf"), "{properties:?}");
            assert!(misnamed.errors.is_empty() && misnamed.remarks.is_empty(), "{properties:?}");
        }
    }

    #[test]
    fn two_spellings_that_say_two_things_are_refused() {
        let (misnamed, _) = told(&[("kind", "turf"), ("KIND", "LAWN AREA")]);
        let errors: Vec<String> = misnamed.errors.iter().map(ToString::to_string).collect();
        let wanted = r#"lots.geojson: has both "kind" ("turf") and "KIND" ("LAWN AREA"); keep one"#;
        assert_eq!(errors, [wanted]);
    }

    #[test]
    fn slips_of_the_pen_are_not_passed_over() {
        for (name, is_refused) in
            [("conditon", true), ("kindd", true), ("speces", true), ("lane", false)]
        {
            assert_eq!(told(&[(name, "x")]).0.errors.len() == 1, is_refused, "{name}");
        }
    }
}
