use std::fmt;
use std::str::FromStr;

use turfplat_units::Area;

use crate::species::Species;

/// A zone as the dose sees it: how much of which grass, in what state.
#[derive(Clone, Debug, PartialEq)]
pub struct ZoneToTreat {
    /// Its name on the map.
    pub name: String,
    /// What is left to treat after everything that is kept out.
    pub area: Area,
    /// Its grasses; several in a mixed stand.
    pub species: Vec<&'static Species>,
    /// What the map calls its grass, where that is not in the species list.
    pub unlisted_species: Vec<String>,
    /// The state of the turf.
    pub condition: Condition,
}

/// The state of the turf of a zone.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[allow(missing_docs)] // The trade's words say it.
pub enum Condition {
    #[default]
    Good,
    Thin,
    Stressed,
    Dormant,
    New,
    Greening,
}

impl Condition {
    /// The words that are read.
    pub const KNOWN: &'static str = "good, thin, stressed, dormant, new, greening";

    /// The word as maps write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Thin => "thin",
            Self::Stressed => "stressed",
            Self::Dormant => "dormant",
            Self::New => "new",
            Self::Greening => "greening",
        }
    }
}

impl fmt::Display for Condition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl FromStr for Condition {
    type Err = ();

    /// The error says nothing more: the caller knows the place and [`Condition::KNOWN`].
    fn from_str(text: &str) -> Result<Condition, ()> {
        use Condition::{Dormant, Good, Greening, New, Stressed, Thin};
        [Good, Thin, Stressed, Dormant, New, Greening]
            .into_iter()
            .find(|condition| condition.word().eq_ignore_ascii_case(text.trim()))
            .ok_or(())
    }
}
