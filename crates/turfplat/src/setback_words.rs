//! Why the words for a distance that is kept stand in one place: plan, order, day and map must not tell one in two ways.

use turfplat_units::{Length, UnitSystem};

use crate::plan::{AppliedSetback, KeptFor};

/// `50 ft`, or `50 ft + 3 ft` where what the position may be off is kept on top.
pub(crate) fn distance_and_position(
    distance: Length,
    position: Length,
    units: UnitSystem,
) -> String {
    let text = distance.print(units);
    match position > Length::ZERO {
        true => format!("{text} + {}", position.print(units)),
        false => text,
    }
}

impl AppliedSetback {
    /// `50 ft + 3 ft for its position`: where there is room to say what is added.
    pub fn distance_in_words(&self, units: UnitSystem) -> String {
        let text = distance_and_position(self.distance, self.position, units);
        let why = if self.position > Length::ZERO { " for its position" } else { "" };
        format!("{text}{why}{}", self.for_the_wind())
    }

    /// `50 ft + 3 ft`: where the rest is told beside it.
    pub(crate) fn distance_in_short(&self, units: UnitSystem) -> String {
        let text = distance_and_position(self.distance, self.position, units);
        format!("{text}{}", self.for_the_wind())
    }

    /// On which side it is kept, where that is not all round.
    fn for_the_wind(&self) -> String {
        match self.what {
            KeptFor::Always => String::new(),
            KeptFor::Wind(Some(from)) => format!(" ({} side, for the wind)", from.point()),
            KeptFor::Wind(None) => " (all sides, for a light wind)".to_owned(),
        }
    }
}

/// `25 ft from water "Pond" and "Brook"; 50 ft + 3 ft from well "House well"`: what to watch on a
/// property, one distance after the other.
pub fn to_watch(setbacks: &[AppliedSetback], units: UnitSystem) -> String {
    let mut texts: Vec<(String, Vec<String>)> = Vec::new();
    for setback in setbacks {
        let distance = distance_and_position(setback.distance, setback.position, units);
        let default = if setback.is_default { " (default of this tool)" } else { "" };
        let text = format!("{distance}{} from {}{default}", setback.for_the_wind(), setback.to);
        let name = format!("{:?}", setback.feature);
        match texts.iter_mut().find(|(known, _)| *known == text) {
            Some((_, names)) if names.contains(&name) => {}
            Some((_, names)) => names.push(name),
            None => texts.push((text, vec![name])),
        }
    }
    // Of a long row of wells the first few say where to look; the map shows all.
    const MOST: usize = 3;
    let one = |(text, names): (String, Vec<String>)| match names.get(MOST..) {
        Some(more @ [_, ..]) => {
            format!("{text} {} and {} more", names[..MOST].join(", "), more.len())
        }
        _ => format!("{text} {}", names.join(", ")),
    };
    texts.into_iter().map(one).collect::<Vec<_>>().join("; ")
}
