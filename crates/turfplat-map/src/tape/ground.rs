//! Outlines on the sheet's plane: metres, corners one after the other, the last one not repeated.

use std::f64::consts::{PI, TAU};

use geo_types::{Coord, Geometry, LineString, MultiPolygon, Point, Polygon};

use super::bearing::sine_and_cosine;

/// What a shape is drawn as.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Outline {
    /// Parts that do not touch, each a ring.
    Rings(Vec<Vec<Coord<f64>>>),
    /// A disc, which the engine measures exactly, or a bare point.
    Disc { centre: Coord<f64>, radius: Option<f64> },
    /// A strip along a line, or the line alone.
    Strip { path: Vec<Coord<f64>>, width: Option<f64> },
}

/// The geometry of an outline, and the property that goes with it.
type ToldOutline = (Geometry<f64>, Option<(&'static str, f64)>);

impl Outline {
    /// The rectangle from the origin to (`length`, `width`).
    pub(super) fn rectangle(length: f64, width: f64) -> Outline {
        Outline::Rings(vec![rectangle(0.0, length, width)])
    }

    pub(super) fn told(self) -> ToldOutline {
        let polygon = |ring: Vec<Coord<f64>>| Polygon::new(LineString(ring), Vec::new());
        match self {
            Outline::Rings(mut rings) if rings.len() == 1 => {
                (polygon(rings.swap_remove(0)).into(), None)
            }
            Outline::Rings(rings) => {
                (MultiPolygon(rings.into_iter().map(polygon).collect()).into(), None)
            }
            Outline::Disc { centre, radius } => {
                (Point(centre).into(), radius.map(|radius| ("radius_m", radius)))
            }
            Outline::Strip { path, width } => {
                (LineString(path).into(), width.map(|width| ("width_m", width)))
            }
        }
    }

    /// Each coordinate put where `place` says.
    pub(super) fn moved(mut self, place: impl Fn(Coord<f64>) -> Coord<f64>) -> Outline {
        let each = match &mut self {
            Outline::Rings(rings) => rings.iter_mut().flatten().collect(),
            Outline::Disc { centre, .. } => vec![centre],
            Outline::Strip { path, .. } => path.iter_mut().collect::<Vec<_>>(),
        };
        each.into_iter().for_each(|coordinate| *coordinate = place(*coordinate));
        self
    }

    /// South-west and north-east of all that it covers.
    pub(super) fn corners(&self) -> Corners {
        let (places, beyond): (Vec<Coord<f64>>, f64) = match self {
            Outline::Rings(rings) => (rings.concat(), 0.0),
            Outline::Disc { centre, radius } => (vec![*centre], radius.unwrap_or_default()),
            Outline::Strip { path, width } => (path.clone(), width.unwrap_or_default() / 2.0),
        };
        let box_of = places.iter().map(|place| (*place, *place)).reduce(around);
        let (low, high) = box_of.unwrap_or_default();
        let beyond = Coord { x: beyond, y: beyond };
        (low - beyond, high + beyond)
    }

    pub(super) fn into_rings(self) -> Vec<Vec<Coord<f64>>> {
        match self {
            Outline::Rings(rings) => rings,
            Outline::Disc { .. } | Outline::Strip { .. } => Vec::new(),
        }
    }
}

/// South-west and north-east of a box.
pub(super) type Corners = (Coord<f64>, Coord<f64>);

/// The box round two.
pub(super) fn around((low, high): Corners, (min, max): Corners) -> Corners {
    (
        Coord { x: low.x.min(min.x), y: low.y.min(min.y) },
        Coord { x: high.x.max(max.x), y: high.y.max(max.y) },
    )
}

/// A rectangle between two places on the base line.
pub(super) fn rectangle(from: f64, to: f64, width: f64) -> Vec<Coord<f64>> {
    let corner = |x, y| Coord { x, y };
    vec![corner(from, 0.0), corner(to, 0.0), corner(to, width), corner(from, width)]
}

/// How a polygon stands for what is round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Round {
    /// It holds the same area, and lies within 7 millionths of the half axis of the true edge.
    SameArea,
    /// It contains it, for what a distance is kept from: never short, 10 millionths wide at most.
    Containing,
}

/// An ellipse round the origin, by its half axes.
pub(super) fn round(half: Coord<f64>, how: Round) -> Vec<Coord<f64>> {
    const SIDES: usize = 720;
    let step = TAU / SIDES as f64;
    let grown = match how {
        // An inscribed n-gon holds n/2 sin(2π/n) of r²; the ellipse is that disc, stretched.
        Round::SameArea => (PI / (SIDES as f64 / 2.0 * step.sin())).sqrt(),
        Round::Containing => 1.0 / (step / 2.0).cos(),
    };
    let corner = |number: usize| {
        let (sine, cosine) = sine_and_cosine(number as f64 * 360.0 / SIDES as f64);
        Coord { x: half.x * grown * cosine, y: half.y * grown * sine }
    };
    (0..SIDES).map(corner).collect()
}

/// Twice the area of a ring is the sum of its corners' cross products; signed, positive where it
/// runs counter-clockwise. Taken from its first corner, so that no digits are lost far from zero.
pub(super) fn area(ring: &[Coord<f64>]) -> f64 {
    let origin = ring.first().copied().unwrap_or_default();
    let from_origin = ring.iter().map(|place| *place - origin);
    let next = from_origin.clone().skip(1);
    from_origin.zip(next).map(|(a, b)| a.x * b.y - a.y * b.x).sum::<f64>() / 2.0
}

/// Clockwise by degrees, as compasses turn.
pub(super) fn turned(place: Coord<f64>, (sine, cosine): (f64, f64)) -> Coord<f64> {
    Coord { x: place.x * cosine + place.y * sine, y: place.y * cosine - place.x * sine }
}
