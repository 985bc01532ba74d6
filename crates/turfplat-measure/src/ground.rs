//! Outlines to draw and to export, from `geo`: on the safe side by millimetres.

use geo::{Area, Coord, LineString, MapCoords, MultiPolygon, Polygon};
use turfplat_units::Length;

use crate::cut::cut_ring;
use crate::growth::{Loop, Stretch, loops};
use crate::kernel::Growth;
use crate::overlay::{common, less, wound};
use crate::plane::Plane;
use crate::reach::{Reach, Taker, boundary_of, is_to_be_cleared};
use crate::shape::Shape;
use crate::trace::{Passed, traced};

/// A drawn setback contains the true one and exceeds it by no more than this, at any distance.
pub const OUTLINE_TOLERANCE_METRES: f64 = 0.005;

/// What corners are moved by the overlay's grid and by writing them to a file, in metres: the
/// grid is a 2⁻²⁹th of the extent, so this holds for anything below 5 km across. What is taken
/// from a zone is clipped to its surroundings first: a river is longer than that.
const GRID: f64 = 1e-5;

/// Chords stay this far within the tolerance, so that the grid cannot carry them beyond it.
const CHORD_TOLERANCE: f64 = OUTLINE_TOLERANCE_METRES - 4.0 * GRID;

/// An outline to draw or to export, in metres on a plane: simple polygons, shells
/// counter-clockwise. Not for doses: those come from [`crate::account`].
#[derive(Clone, Debug, PartialEq)]
pub struct Ground(MultiPolygon<f64>);

impl Ground {
    /// The polygons.
    pub fn polygons(&self) -> &MultiPolygon<f64> {
        &self.0
    }

    /// The area that the outline encloses, in square metres.
    pub fn square_metres(&self) -> f64 {
        self.0.unsigned_area()
    }

    /// All of several outlines as one: what touches or overlaps becomes one piece.
    pub fn joined<'g>(grounds: impl IntoIterator<Item = &'g Ground>) -> Ground {
        let all = grounds.into_iter().flat_map(|ground| ground.0.iter().cloned());
        // Shells are wound one way and holes the other, so a hole stays one unless another fills it.
        Ground(wound(&MultiPolygon(all.collect())))
    }

    /// The polygons in degrees.
    pub fn lifted(&self, plane: &Plane) -> MultiPolygon<f64> {
        self.0.map_coords(|place| plane.lift(place))
    }
}

/// The outline of a grown shape: never short of it, and at most [`OUTLINE_TOLERANCE_METRES`] beyond.
/// Without growth, the shape as it is.
pub fn grown_outline(shape: &Shape, growth: impl Into<Growth>) -> Ground {
    let rings = MultiPolygon(outward_rings(shape, growth.into()));
    Ground(wound(&rings))
}

/// The outline of what is left of a zone; errs towards less turf by the tolerance of setbacks.
pub fn net_outline(zone: &Shape, takers: &[Taker<'_>], lot: Option<&Shape>) -> Ground {
    let turf = MultiPolygon(rings(zone, Length::ZERO.into(), Chords::Inside));
    let mut taken = Vec::new();
    if let Some(reach) = zone.bounds(0.0) {
        for taker in takers.iter().filter(|taker| taker.reach.touches(&reach)) {
            let Reach { shape, growth, rings, .. } = taker.reach;
            let rings = rings.get_or_init(|| outward_rings(shape, *growth)).iter();
            taken.extend(rings.filter_map(|ring| {
                cut_ring(ring.exterior(), &reach.grown(CLIP_MARGIN))
                    .map(|ring| Polygon::new(ring, vec![]))
            }));
        }
    }
    // All rings of a side are wound alike, so by the non-zero rule overlaps count once.
    let mut left = less(&turf, &MultiPolygon(taken));
    if let Some(lot) = lot {
        let lot = MultiPolygon(rings(lot, Length::ZERO.into(), Chords::Inside));
        left = common(&left, &lot);
    }
    Ground(left)
}

/// So far beyond a zone a ring of what is taken is cut off, in metres.
const CLIP_MARGIN: f64 = 1.0;

fn outward_rings(shape: &Shape, growth: Growth) -> Vec<Polygon<f64>> {
    // Grown a hair more, so that neither the overlay's grid nor rounding in a file falls short.
    let growth = growth.farther(2.0 * GRID);
    if is_to_be_cleared(shape, growth) {
        let edges = boundary_of(shape, growth).edges;
        return traced(&edges).iter().map(|ring| Polygon::new(outside(ring), vec![])).collect();
    }
    rings(shape, growth, Chords::Outside)
}

/// The ring with chords outside its arcs.
fn outside(ring: &[Passed<'_>]) -> LineString<f64> {
    let mut corners = Vec::new();
    for passed in ring {
        let (from, to) = (passed.from(), passed.to());
        corners.push(from);
        // The disc lies to the left of its arc; else the piece is rounding, and as good as straight.
        if let Some((centre, radius)) = passed.edge.circle()
            && passed.edge.is_eastern() == passed.goes_up
        {
            let angle = |place: Coord<f64>| (place.y - centre.y).atan2(place.x - centre.x);
            let turn = (angle(to) - angle(from)).rem_euclid(std::f64::consts::TAU);
            add_chords(&mut corners, Chords::Outside, centre, radius, turn);
        }
        corners.push(to);
    }
    LineString(corners)
}

#[derive(Clone, Copy)]
enum Chords {
    Inside,
    Outside,
}

fn rings(shape: &Shape, growth: Growth, chords: Chords) -> Vec<Polygon<f64>> {
    loops(shape, growth)
        .iter()
        .map(|outline| Polygon::new(chorded(outline, chords), vec![]))
        .collect()
}

/// The loop with arcs as chords: outside ones touch the arc at their middles, so their corners
/// stand at radius / cos(half a step); inside ones have their corners on it.
fn chorded(outline: &Loop, chords: Chords) -> LineString<f64> {
    let mut corners = vec![outline.start];
    for stretch in &outline.stretches {
        match *stretch {
            Stretch::Line { to, .. } => corners.push(to),
            Stretch::Arc { centre, radius, turn, to, .. } => {
                add_chords(&mut corners, chords, centre, radius, turn);
                corners.push(to);
            }
        }
    }
    LineString(corners)
}

/// Adds the corners between the ends of a counter-clockwise arc that starts at the last of `corners`.
fn add_chords(
    corners: &mut Vec<Coord<f64>>,
    chords: Chords,
    centre: Coord<f64>,
    radius: f64,
    turn: f64,
) {
    let Some(&from) = corners.last() else { return };
    let half_step = (radius / (radius + CHORD_TOLERANCE)).acos();
    // At most 2π / 1e-5 even for a radius of a planet; a small whole number.
    let steps = (turn / (2.0 * half_step)).ceil().clamp(1.0, 100_000.0) as usize;
    let half_step = turn / steps as f64 / 2.0;
    let begin = (from.y - centre.y).atan2(from.x - centre.x);
    let at = |angle: f64, radius: f64| Coord {
        x: centre.x + radius * angle.cos(),
        y: centre.y + radius * angle.sin(),
    };
    match chords {
        Chords::Outside => {
            corners.extend((0..steps).map(|step| {
                at(begin + half_step * (2 * step + 1) as f64, radius / half_step.cos())
            }))
        }
        Chords::Inside => {
            corners.extend((1..steps).map(|step| at(begin + half_step * (2 * step) as f64, radius)))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(corners: &[(f64, f64)]) -> LineString<f64> {
        LineString::from(corners.to_vec())
    }

    fn square(x: f64, y: f64, side: f64) -> [(f64, f64); 5] {
        [(x, y), (x + side, y), (x + side, y + side), (x, y + side), (x, y)]
    }

    #[test]
    fn what_touches_is_one_piece_and_a_hole_stays_one_unless_it_is_filled() {
        let whole = |x: f64, y: f64, side: f64| {
            Ground(MultiPolygon(vec![Polygon::new(ring(&square(x, y, side)), vec![])]))
        };
        let mut hole = square(3.0, 3.0, 4.0);
        hole.reverse();
        let holed = Polygon::new(ring(&square(0.0, 0.0, 10.0)), vec![ring(&hole)]);
        let holed = Ground(MultiPolygon(vec![holed]));
        // Worked by hand: 100 − 16; beside it 100 that touch; 9 apart.
        let joined = Ground::joined([&holed, &whole(10.0, 0.0, 10.0), &whole(30.0, 0.0, 3.0)]);
        assert_eq!(joined.polygons().0.len(), 2);
        assert!((joined.square_metres() - 193.0).abs() < 1e-6, "{}", joined.square_metres());
        let filled = Ground::joined([&holed, &whole(3.0, 3.0, 4.0)]);
        assert!((filled.square_metres() - 100.0).abs() < 1e-6, "{}", filled.square_metres());
    }
}
