use std::borrow::Cow;

use serde_json::Value;
use turfplat_units::Length;

use crate::attribute_names::{COUNT, Known, Meant, READ, in_any_case};
use crate::columns::is_personal;
use crate::error::MapError;
use crate::feature::{Condition, FeatureRef};
use crate::feature_text::{Answer, Attribute};
use crate::kind::Kind;

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
    /// What the feature says of every property that is read.
    said: [Option<&'a Answer<'a>>; COUNT],
    /// True where some name is none of those that are read, as it stands.
    has_others: bool,
}

impl<'a> Attributes<'a> {
    /// Takes a property under its name, or under its name in other letters where the first says
    /// nothing.
    pub(crate) fn new(at: &'a FeatureRef, properties: &'a [Attribute<'a>]) -> Attributes<'a> {
        let mut said = [None; COUNT];
        let mut has_others = false;
        for (name, answer) in properties {
            match Known::of(name) {
                // Of two under one name JSON readers take the last.
                Some(known) => said[known as usize] = Some(answer).filter(|it| !it.is_null()),
                None => has_others = true,
            }
        }
        if has_others {
            for (name, answer) in properties.iter().filter(|(_, it)| it.says_something()) {
                let other = || Known::of(name).is_none().then(|| Known::in_any_case(name))?;
                if let Some(known) = other() {
                    let said = &mut said[known as usize];
                    if said.is_none_or(|it| !it.says_something()) {
                        *said = Some(answer);
                    }
                }
            }
        }
        Attributes { at, properties, said, has_others }
    }

    /// What is said of a property.
    fn get(&self, known: Known) -> Option<&'a Answer<'a>> {
        self.said[known as usize]
    }

    /// Spellings of the name of one property that say different things.
    fn two_spellings(&self) -> Vec<MapError> {
        let mut found = Vec::new();
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

    pub(crate) fn text(&self, known: Known) -> Result<Option<String>, MapError> {
        match self.get(known) {
            None => Ok(None),
            Some(answer @ (Answer::Text(_) | Answer::Other(Value::Number(_)))) => {
                Ok(answer.text().map(Cow::into_owned))
            }
            Some(answer) => Err(self.bad(known, answer, "a text")),
        }
    }

    /// Names that are nearly those that are read: a finding, or a refusal where passing them
    /// over could put product where none belongs.
    pub(crate) fn misnamed(&self) -> Misnamed {
        let mut found = Misnamed::default();
        if !self.has_others {
            return found;
        }
        let mut is_in_other_letters = false;
        let others = self.properties.iter().filter(|(name, _)| Known::of(name).is_none());
        for (name, value) in others.filter(|(_, value)| !value.is_null()) {
            if in_any_case(name).is_some() {
                is_in_other_letters = true;
                continue;
            }
            match Meant::by(name) {
                Some(Meant::Refused(meant)) => found.errors.push(MapError::Misnamed {
                    at: self.at.clone(),
                    property: name.to_string(),
                    meant,
                }),
                Some(Meant::Remarked(meant)) => {
                    let value = value.shortened();
                    let remark = format!("property {name:?} ({value}) is not read; write {meant}");
                    found.remarks.push(remark);
                }
                None if is_personal(name) => found.personal.push(name.as_ref().into()),
                None => {}
            }
        }
        if is_in_other_letters {
            found.errors.extend(self.two_spellings());
        }
        found
    }

    /// What it is; where it does not say so, what its file or folder is `called` by.
    pub(crate) fn kind(&self, called: &[Option<Kind>]) -> Result<Kind, MapError> {
        match self.get(Known::Kind) {
            None => {
                let at = self.at.clone();
                let said = self.get(Known::Unlisted).and_then(Answer::text);
                match (said, self.called(called)) {
                    (Some(said), _) => Err(MapError::UnlistedKind { at, said: said.into_owned() }),
                    (None, Some(kind)) => Ok(kind),
                    (None, None) => Err(MapError::no_kind(at)),
                }
            }
            Some(value) if !value.says_something() => Err(MapError::no_kind(self.at.clone())),
            Some(value) => {
                let kind = value.text().unwrap_or_else(|| value.shortened().into());
                let unknown =
                    |()| MapError::UnknownKind { at: self.at.clone(), kind: kind.to_string() };
                kind.parse().map_err(unknown)
            }
        }
    }

    /// What can be done about it in its format, if it lacks a size.
    pub(crate) fn cure(&self) -> Option<Box<str>> {
        self.get(Known::Cure).and_then(Answer::text).map(|cure| cure.into())
    }

    fn called(&self, called: &[Option<Kind>]) -> Option<Kind> {
        let Some(Answer::Other(Value::Number(number))) = self.get(Known::Called) else {
            return None;
        };
        *called.get(usize::try_from(number.as_u64()?).ok()?)?
    }

    /// `None` where the file says none, which is taken for good.
    pub(crate) fn condition(&self) -> Result<Option<Condition>, MapError> {
        let Some(condition) = self.text(Known::Condition)? else { return Ok(None) };
        let known =
            Condition::ALL.into_iter().find(|known| known.name().eq_ignore_ascii_case(&condition));
        known.map(Some).ok_or_else(|| MapError::UnknownCondition { at: self.at.clone(), condition })
    }

    /// Comma-separated text, or an array of texts.
    pub(crate) fn species(&self) -> Result<Vec<String>, MapError> {
        const WANTED: &str = "a text, or an array of texts";
        let texts: Vec<&str> = match self.get(Known::Species) {
            None => Vec::new(),
            Some(Answer::Text(text)) => vec![text],
            Some(whole @ Answer::Other(Value::Array(values))) => {
                let texts = values.iter().map(Value::as_str);
                texts
                    .collect::<Option<_>>()
                    .ok_or_else(|| self.bad(Known::Species, whole, WANTED))?
            }
            Some(other) => return Err(self.bad(Known::Species, other, WANTED)),
        };
        let names = texts.iter().flat_map(|text| text.split(',')).map(str::trim);
        Ok(names.filter(|name| !name.is_empty()).map(str::to_owned).collect())
    }

    /// A number, also one written as text.
    pub(crate) fn number(
        &self,
        known: Known,
        wanted: &'static str,
    ) -> Result<Option<f64>, MapError> {
        let Some(value) = self.get(known) else { return Ok(None) };
        let number = match value {
            Answer::Other(Value::Number(number)) => number.as_f64(),
            Answer::Text(text) if text.trim().is_empty() => return Ok(None),
            Answer::Text(text) => text.trim().parse().ok(),
            Answer::Other(_) => None,
        };
        match number.filter(|number| number.is_finite()) {
            Some(number) => Ok(Some(number)),
            None => Err(self.bad(known, value, wanted)),
        }
    }

    /// True of a shape of which only the area is known.
    pub(crate) fn is_left_as_area(&self) -> bool {
        self.get(Known::LeftAsArea) == Some(&Answer::Other(Value::Bool(true)))
    }

    /// True of a feature whose file says that parts of it are missing.
    pub(crate) fn is_incomplete(&self) -> bool {
        self.get(Known::Incomplete).is_some_and(|answer| match answer {
            Answer::Other(Value::Bool(said)) => *said,
            other => {
                other.text().is_some_and(|text| text != "no" && text != "false" && text != "0")
            }
        })
    }

    /// True where a width or a radius is given.
    pub(crate) fn has_size(&self) -> bool {
        let sizes = [Known::WidthFt, Known::WidthM, Known::RadiusFt, Known::RadiusM];
        sizes.into_iter().any(|size| self.get(size).is_some_and(Answer::says_something))
    }

    /// True of a line or a point of which it is said that nobody knows its width or radius.
    pub(crate) fn is_of_unknown_size(&self) -> Result<bool, MapError> {
        let Some(answer) = self.get(Known::SizeUnknown) else { return Ok(false) };
        let said = match answer {
            Answer::Other(Value::Bool(said)) => return Ok(*said),
            other => other.text().map(|text| text.to_lowercase()),
        };
        match said.as_deref() {
            None if !answer.says_something() => Ok(false),
            Some("yes" | "true" | "1") => Ok(true),
            Some("no" | "false" | "0") => Ok(false),
            _ => Err(self.bad(Known::SizeUnknown, answer, "yes or no")),
        }
    }

    /// The slope of turf in per cent; nothing where it is level.
    pub(crate) fn grade(&self) -> Result<Option<f64>, MapError> {
        const WANTED: &str = "the slope in per cent, from 0 to 200";
        match self.number(Known::GradePct, WANTED)? {
            Some(grade) if !(0.0..=200.0).contains(&grade) => {
                let answer = self.get(Known::GradePct).unwrap_or(&Answer::Other(Value::Null));
                Err(self.bad(Known::GradePct, answer, WANTED))
            }
            grade => Ok(grade.filter(|grade| *grade > 0.0)),
        }
    }

    /// In feet or in meters; nothing where it is 0. `name` is the name without the unit.
    pub(crate) fn length(
        &self,
        name: &'static str,
        [in_feet, in_metres]: [Known; 2],
    ) -> Result<Option<Length>, MapError> {
        const WANTED: &str = "a number from 0 to 10 km, without a unit";
        let feet = self.number(in_feet, WANTED)?;
        let metres = self.number(in_metres, WANTED)?;
        let (known, length) = match (feet, metres) {
            (Some(_), Some(_)) => return Err(MapError::BothUnits { at: self.at.clone(), name }),
            (Some(feet), None) => (in_feet, Length::from_feet(feet)),
            (None, Some(metres)) => (in_metres, Length::from_metres(metres)),
            (None, None) => return Ok(None),
        };
        match length.filter(|length| length.metres() < 10_000.0) {
            // Attribute tables write 0 for none.
            Some(length) if length == Length::ZERO => Ok(None),
            Some(length) => Ok(Some(length)),
            None => {
                let answer = self.get(known).unwrap_or(&Answer::Other(Value::Null));
                Err(self.bad(known, answer, WANTED))
            }
        }
    }

    fn bad(&self, known: Known, value: &Answer<'_>, wanted: &'static str) -> MapError {
        let property = known.name();
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
        (attributes.misnamed(), attributes.text(Known::Kind).unwrap())
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
