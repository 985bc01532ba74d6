//! Why fields are asked by name and the rest refused: a `lenght` that was passed over would leave
//! a bed out of the sum, and nobody would see it.

use turfplat_units::{is_near, letters_apart};

use super::Reason;
use super::given::Given;
use super::measure::{self, Unit};

/// The measures of one figure or place.
#[derive(Clone, Copy)]
pub(super) struct Fields<'g> {
    /// What they are of, for messages.
    pub(super) of: &'static str,
    pub(super) given: &'g [(String, Given)],
    pub(super) unit: Option<Unit>,
}

impl<'g> Fields<'g> {
    pub(super) fn get(&self, name: &str) -> Option<&'g Given> {
        self.given.iter().find(|(known, _)| known == name).map(|(_, given)| given)
    }

    /// Refuses what is not one of `known`.
    pub(super) fn only(&self, known: &[&str]) -> Result<(), Reason> {
        let Some((name, _)) = self.given.iter().find(|(name, _)| !known.contains(&name.as_str()))
        else {
            return Ok(());
        };
        let cure = meant(name, known).unwrap_or_else(|| format!("it takes {}", known.join(", ")));
        Err(format!("{} has {:?}, which it does not take; {cure}", self.of, shortened(name)))
    }

    /// A length above 0, in metres.
    pub(super) fn length(&self, name: &'static str) -> Result<Option<f64>, Reason> {
        let read = |given| measure::length(given, self.unit).and_then(measure::not_zero);
        self.get(name).map(read).transpose().map_err(|reason| self.at(name, &reason))
    }

    /// A length above 0 that must be there, in metres.
    pub(super) fn needed(&self, name: &'static str) -> Result<f64, Reason> {
        self.length(name)?.ok_or_else(|| self.missing(name))
    }

    /// A length to either side, in metres.
    pub(super) fn signed(&self, name: &'static str) -> Result<Option<f64>, Reason> {
        let read = |given| measure::signed_length(given, self.unit);
        self.get(name).map(read).transpose().map_err(|reason| self.at(name, &reason))
    }

    /// Lengths in their order, none below 0, in metres.
    pub(super) fn lengths(&self, name: &'static str) -> Result<Vec<f64>, Reason> {
        let read = |(given, place): (&Given, usize)| {
            measure::length(given, self.unit)
                .map_err(|reason| self.at(name, &of(&format!("number {place}"), &reason)))
        };
        self.list(name)?.iter().zip(1..).map(read).collect()
    }

    pub(super) fn list(&self, name: &'static str) -> Result<&'g [Given], Reason> {
        match self.get(name) {
            Some(Given::List(list)) => Ok(list),
            Some(other) => {
                Err(self.at(name, &format!("is {}; give a list in brackets", other.shown())))
            }
            None => Err(self.missing(name)),
        }
    }

    /// One of two or three words that must be there.
    pub(super) fn rule<R: Copy>(&self, rules: &[(&str, R)]) -> Result<R, Reason> {
        let names: Vec<String> = rules.iter().map(|(name, _)| format!("{name:?}")).collect();
        let names = names.join(", ");
        let Some(given) = self.get("rule") else {
            return Err(format!(
                "{} names no rule; published ones differ: give one of {names}",
                self.of
            ));
        };
        let known = rules.iter().find(|(name, _)| given.text().map(str::trim) == Some(name));
        known.map(|(_, rule)| *rule).ok_or_else(|| {
            self.at(
                "rule",
                &format!("is {}, which is not known; use one of {names}", given.shown()),
            )
        })
    }

    pub(super) fn missing(&self, name: &str) -> Reason {
        format!("{} has no {name}; give it", self.of)
    }

    pub(super) fn at(&self, name: &str, reason: &str) -> Reason {
        format!("{} {}", self.of, of(name, reason))
    }
}

/// `length is 0; give more` or `length: give more`.
pub(super) fn of(name: &str, reason: &str) -> Reason {
    let space = if reason.starts_with(':') { "" } else { " " };
    format!("{name}{space}{reason}")
}

/// `did you mean "length"?`, if one of `known` is near.
pub(super) fn meant(name: &str, known: &[&str]) -> Option<String> {
    let name = plain(name);
    let slips = |known: &str| letters_apart(&name, &plain(known));
    let near = known.iter().filter(|known| is_near(slips(known), known));
    let nearest = near.min_by_key(|known| slips(known))?;
    Some(format!("did you mean {nearest:?}?"))
}

/// A name in small letters and without what parts its words.
fn plain(name: &str) -> String {
    /// No name is longer, and no more of one is compared.
    const LONGEST: usize = 24;
    let letters = name.chars().flat_map(char::to_lowercase).filter(|c| c.is_alphanumeric());
    letters.take(LONGEST).collect()
}

/// A text without what would upset a terminal, and cut where it is long.
pub(super) fn shortened(text: &str) -> String {
    const LONGEST: usize = 60;
    let plain = text.chars().map(|c| if c.is_control() { ' ' } else { c });
    match text.chars().nth(LONGEST) {
        None => plain.collect(),
        Some(_) => plain.take(LONGEST - 1).chain("…".chars()).collect(),
    }
}
