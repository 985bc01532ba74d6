//! Why a figure is more than its area: a setback needs an edge. Each figure says how far its
//! outline can be trusted, and one that was never measured cannot be placed beside a pond.

use geo_types::Coord;

use super::Reason;
use super::curves;
use super::fields::{Fields, meant};
use super::given::Given;
use super::ground::{Outline, Round, rectangle, round};
use super::measure::Unit;
use super::{plain, traverse};

/// One measured figure, its first corner or its center at the origin.
#[derive(Clone, Debug)]
pub(super) struct Figure {
    pub(super) outline: Outline,
    /// Square metres by the figure's own rule; of what is only a line or a point, 0.
    pub(super) area: f64,
    pub(super) edge: Edge,
    /// What its owner should know: a code and what to say.
    pub(super) remarks: Vec<(&'static str, String)>,
}

/// How far an outline stands where it was measured.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Edge {
    /// There, or as near as the drawing of curves allows.
    Measured,
    /// Stretched by this factor, and how to measure it true.
    Stretched { by: f64, cure: &'static str },
    /// Nobody knows, and what to give for it.
    Unknown { cure: &'static str },
}

impl Figure {
    pub(super) fn measured(outline: Outline, area: f64) -> Figure {
        Figure { outline, area, edge: Edge::Measured, remarks: Vec::new() }
    }

    /// Its area as rings only, which may stand beside those of other figures: a disc becomes a
    /// polygon of many sides, a strip along a straight line a rectangle.
    pub(super) fn rings(&self) -> Vec<Vec<Coord<f64>>> {
        match &self.outline {
            Outline::Rings(rings) => rings.clone(),
            Outline::Disc { radius, .. } => {
                let radius = radius.unwrap_or_default();
                vec![round(Coord { x: radius, y: radius }, Round::SameArea)]
            }
            Outline::Strip { width, .. } => {
                let width = width.unwrap_or_default();
                vec![rectangle(0.0, self.area / width, width)]
            }
        }
    }

    /// The sides of a figure that is a rectangle.
    pub(super) fn sides(&self) -> Option<(f64, f64)> {
        let Outline::Rings(rings) = &self.outline else { return None };
        let [ring] = rings.as_slice() else { return None };
        let [_, end, Coord { x: length, y: width }, _] = ring.as_slice() else { return None };
        let is_rectangle = end.y == 0.0 && *ring == rectangle(0.0, *length, *width);
        (is_rectangle && self.edge == Edge::Measured).then_some((*length, *width))
    }
}

type Reader = fn(&Fields<'_>, Use) -> Result<Figure, Reason>;

/// What an outline is for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Use {
    /// True of what a distance is kept from: its outline may never fall short.
    pub(super) keeps_away: bool,
}

/// Every figure by its name.
const FIGURES: [(&str, Reader); 10] = [
    ("rectangle", plain::rectangle),
    ("triangle", plain::triangle),
    ("trapezoid", plain::trapezoid),
    ("circle", plain::circle),
    ("ellipse", plain::ellipse),
    ("offsets", curves::offsets),
    ("radii", curves::radii),
    ("traverse", traverse::traverse),
    ("line", plain::line),
    ("point", plain::point),
];

/// The figure whose value is not a table.
const AREA: &str = "area";

/// The names of all figures.
pub(super) fn names() -> impl Iterator<Item = &'static str> {
    FIGURES.iter().map(|(name, _)| *name).chain([AREA])
}

/// The figures of an entry, one after the other.
pub(super) fn figures(
    entry: &[(String, Given)],
    unit: Option<Unit>,
    is_for: Use,
) -> Result<Vec<Figure>, Reason> {
    let mut figures = Vec::new();
    for (name, reader) in FIGURES {
        let Some((_, given)) = entry.iter().find(|(known, _)| known == name) else { continue };
        for given in several(given) {
            let Given::Table(given) = given else {
                return Err(format!(
                    "{name} is {}; give its measures in braces, as in rectangle = {{ length = 60, width = 42 }}",
                    given.shown()
                ));
            };
            figures.push(reader(&Fields { of: name, given, unit }, is_for)?);
        }
    }
    if let Some((_, given)) = entry.iter().find(|(known, _)| known == AREA) {
        figures.extend(
            several(given)
                .iter()
                .map(|given| plain::area(given, unit))
                .collect::<Result<Vec<_>, _>>()?,
        );
    }
    Ok(figures)
}

/// A list of figures, or one.
fn several(given: &Given) -> &[Given] {
    match given {
        Given::List(list) => list,
        one => std::slice::from_ref(one),
    }
}

/// What to do about an entry without a figure.
pub(super) fn no_figure() -> Reason {
    let names: Vec<&str> = names().collect();
    format!("has no figure; give one of {}", names.join(", "))
}

/// The nearest of the names that an entry may have.
pub(super) fn nearest(name: &str, others: &[&'static str]) -> Option<String> {
    let known: Vec<&str> = names().chain(others.iter().copied()).collect();
    meant(name, &known)
}
