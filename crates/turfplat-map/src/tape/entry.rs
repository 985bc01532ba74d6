//! One shape of a sheet: what it is, how it was measured, where it is; or why it cannot be used.

use geo_types::Coord;
use serde_json::{Map, Value};

use super::Reason;
use super::bearing::sine_and_cosine;
use super::fields::{Fields, shortened};
use super::figure::{Edge, Figure, Use, figures, nearest, no_figure};
use super::given::Given;
use super::ground::{Outline, turned};
use super::measure::{self, Unit};
use crate::kind::Kind;

/// What a map feature may have and a measured shape too.
pub(super) const PROPERTIES: [&str; 13] = [
    "kind",
    "name",
    "species",
    "condition",
    "property",
    "priority",
    "setback_ft",
    "setback_m",
    "veg_strip_ft",
    "veg_strip_m",
    "drawn_ft",
    "drawn_m",
    "grade_pct",
];

/// What says where it is.
const WHERE: [&str; 2] = ["at", "within"];

/// How to place a shape, for messages.
pub(super) const PLACE_IT: &str = "give it at = { east = …, north = … }";

/// One shape of a sheet.
#[derive(Debug)]
pub(super) struct Entry {
    pub(super) line: usize,
    /// What goes on to the map as it is.
    pub(super) properties: Map<String, Value>,
    pub(super) kind: Option<Kind>,
    pub(super) name: Option<String>,
    pub(super) property: Option<String>,
    /// The zone that it is to be taken out of.
    pub(super) within: Option<String>,
    /// `None` of a blank row.
    pub(super) measured: Result<Option<Measured>, Reason>,
}

/// What was measured, and where it is if that is known.
#[derive(Debug)]
pub(super) struct Measured {
    /// To be added up; one at least, and but one where they are placed.
    pub(super) figures: Vec<Figure>,
    pub(super) place: Option<Place>,
    /// True of what a distance is kept from.
    pub(super) keeps_away: bool,
}

/// Where the origin of a figure is put, and how it is turned.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    at: Coord<f64>,
    /// Sine and cosine of the turn.
    turn: (f64, f64),
}

impl Place {
    fn of(fields: &Fields<'_>) -> Result<Place, Reason> {
        fields.only(&["east", "north", "turn"])?;
        let read = |name| fields.signed(name)?.ok_or_else(|| fields.missing(name));
        let at = Coord { x: read("east")?, y: read("north")? };
        let turn = fields.get("turn").map_or(Ok(0.0), measure::turn);
        let turn = turn.map_err(|reason| fields.at("turn", &reason))?;
        Ok(Place { at, turn: sine_and_cosine(turn) })
    }

    /// An outline round the origin, put here.
    pub(super) fn put(&self, outline: Outline) -> Outline {
        outline.moved(|place| turned(place, self.turn) + self.at)
    }
}

impl Measured {
    pub(super) fn area(&self) -> f64 {
        self.figures.iter().map(|figure| figure.area).sum()
    }
}

impl Entry {
    /// The shape of what stands in a sheet, bare numbers in `unit`.
    pub(super) fn of(line: usize, given: &[(String, Given)], unit: Option<Unit>) -> Entry {
        let find =
            |name: &str| given.iter().find(|(known, _)| known == name).map(|(_, given)| given);
        let text = |name| find(name).and_then(text_of);
        let passed = given.iter().filter(|(name, _)| PROPERTIES.contains(&name.as_str()));
        let mut entry = Entry {
            line,
            properties: passed.map(|(name, given)| (name.clone(), given.json())).collect(),
            kind: text("kind").and_then(|kind| kind.parse().ok()),
            name: text("name"),
            property: text("property"),
            within: text("within"),
            measured: Ok(None),
        };
        if !given.is_empty() {
            entry.measured = entry.measure(given, unit).map(Some);
        }
        entry
    }

    /// An entry that cannot be read at all.
    pub(super) fn refused(self, reason: Reason) -> Entry {
        Entry { measured: Err(reason), ..self }
    }

    fn measure(&self, given: &[(String, Given)], unit: Option<Unit>) -> Result<Measured, Reason> {
        only_known(given)?;
        let find =
            |name: &str| given.iter().find(|(known, _)| known == name).map(|(_, given)| given);
        let place = match find("at") {
            None => None,
            Some(Given::Table(given)) => Some(Place::of(&Fields { of: "at", given, unit })?),
            Some(other) => return Err(format!("at is {}; {PLACE_IT}", other.shown())),
        };
        let keeps_away = self.keeps_away(given);
        let figures = figures(given, unit, Use { keeps_away })?;
        let measured = Measured { figures, place, keeps_away };
        self.makes_sense(&measured)?;
        match measured.place {
            Some(_) => self.can_be_placed(&measured)?,
            None => self.can_stay_loose(&measured)?,
        }
        Ok(measured)
    }

    /// True of a kind that work keeps a distance from, and of what asks for one itself.
    fn keeps_away(&self, given: &[(String, Given)]) -> bool {
        let asks = |name: &str| {
            given
                .iter()
                .any(|(known, given)| known.starts_with(name) && *given != Given::Number(0.0))
        };
        self.kind.is_some_and(|kind| kind.is_hazard() || kind.keeps_a_distance() && asks("setback"))
    }

    /// A point or a line without a size means something of few kinds only.
    fn makes_sense(&self, measured: &Measured) -> Result<(), Reason> {
        if measured.figures.is_empty() {
            return Err(no_figure());
        }
        let Some(kind) = self.kind else { return Ok(()) };
        for figure in &measured.figures {
            match &figure.outline {
                Outline::Disc { radius: None, .. }
                    if !measured.keeps_away && kind != Kind::MixSite =>
                {
                    return Err(format!(
                        "is a bare point, and a {kind} is more; give point = {{ radius = … }}"
                    ));
                }
                Outline::Strip { width: None, .. } if kind != Kind::Water => {
                    return Err(format!(
                        "line has no width, and a {kind} has one; give line = {{ …, width = … }}"
                    ));
                }
                _ => {}
            }
        }
        Ok(())
    }

    fn can_be_placed(&self, measured: &Measured) -> Result<(), Reason> {
        if self.within.is_some() {
            return Err("has a place and a zone that it lies within; keep at where its place was measured, or within where only its size was".into());
        }
        let [figure] = measured.figures.as_slice() else {
            return Err(
                "has several figures and one place; make each a shape of its own, with its own at"
                    .into(),
            );
        };
        match figure.edge {
            Edge::Unknown { cure } => Err(format!(
                "is placed, but where its edge runs was not measured; {cure}, or take out at"
            )),
            Edge::Stretched { cure, .. } if measured.keeps_away => Err(format!(
                "is kept away from, so its edge must stand where it was measured; {cure}"
            )),
            _ => Ok(()),
        }
    }

    fn can_stay_loose(&self, measured: &Measured) -> Result<(), Reason> {
        let Some(kind) = self.kind else {
            return Err(format!(
                "has no place and no kind that is known, so it may be what is kept away from; say its kind, or {PLACE_IT}"
            ));
        };
        if measured.keeps_away || matches!(kind, Kind::MixSite | Kind::Parcel) {
            return Err(format!(
                "is a {kind} without a place, so no distance from it is known; {PLACE_IT}, or leave it out of the sheet and keep clear of it yourself"
            ));
        }
        if measured.figures.iter().any(|figure| figure.area == 0.0) {
            return Err(format!("has no area without a place; {PLACE_IT}"));
        }
        match (kind, &self.within) {
            (Kind::Turf, Some(_)) => Err("is turf within a zone: two zones cannot lie in one place; give both at, or measure them apart".into()),
            (Kind::Turf, None) | (_, Some(_)) => Ok(()),
            (_, None) => Err(format!("says of no zone that it is taken out of it; give within = \"zone\", or {PLACE_IT}")),
        }
    }
}

/// A text or a number as text, as features have them.
fn text_of(given: &Given) -> Option<String> {
    let text = match given {
        Given::Text(text) => text.replace(char::is_control, " ").trim().to_owned(),
        Given::Number(_) => given.json().to_string(),
        _ => return None,
    };
    (!text.is_empty()).then_some(text)
}

fn only_known(given: &[(String, Given)]) -> Result<(), Reason> {
    let others: Vec<&'static str> = PROPERTIES.into_iter().chain(WHERE).collect();
    let is_known =
        |name: &str| others.contains(&name) || super::figure::names().any(|known| known == name);
    let Some((name, _)) = given.iter().find(|(name, _)| !is_known(name)) else { return Ok(()) };
    let cure = nearest(name, &others).unwrap_or_else(|| "take it out".to_owned());
    Err(format!("{:?} is not known here; {cure}", shortened(name)))
}
