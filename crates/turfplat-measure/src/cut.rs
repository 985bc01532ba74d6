//! Why a river is cut off before it is taken from a lawn: it passes a thousand lawns, and each of
//! them has to do with a few of its tens of thousands of corners.

use geo::{Coord, LineString, Polygon};
use turfplat_units::Length;

use crate::growth::corner_count;
use crate::shape::{Bounds, Part, Shape};

/// Shapes of fewer corners are left as they are.
const MANY_CORNERS: u32 = 256;

impl Shape {
    /// What of the shape lies within a distance of the box round `others`. What is farther away
    /// may be cut off, or run along the sides of the box grown by that distance; what is nearer
    /// stays as it is to the last bit.
    #[must_use]
    pub fn near(self, others: &[&Shape], within: Length) -> Shape {
        let few = self.parts.iter().map(corner_count).sum::<u32>() <= MANY_CORNERS;
        let boxes = others.iter().filter_map(|shape| shape.bounds(within.metres()));
        let Some(to) = boxes.reduce(Bounds::with).filter(|_| !few) else { return self };
        let parts = self.parts.iter().flat_map(|part| part.cut(&to));
        self.with_parts(parts.collect())
    }
}

impl Part {
    fn cut(&self, to: &Bounds) -> Vec<Part> {
        match self {
            Part::Disc { .. } => vec![self.clone()],
            Part::Polygon(polygon) => {
                let Some(shell) = cut_ring(polygon.exterior(), to) else { return Vec::new() };
                let holes = polygon.interiors().iter().filter_map(|hole| cut_ring(hole, to));
                vec![Part::Polygon(Polygon::new(shell, holes.collect()))]
            }
            // Whole sides, so that none ends within the box that did not end there before.
            Part::Strip { spine, half_width } => {
                let to = to.grown(half_width * std::f64::consts::SQRT_2);
                let reaches = |side: &[Coord<f64>]| Bounds::round(side[0], side[1]).touches(&to);
                let mut runs: Vec<Vec<Coord<f64>>> = Vec::new();
                let mut goes_on = false;
                for side in spine.windows(2) {
                    if reaches(side) {
                        match runs.last_mut().filter(|_| goes_on) {
                            Some(run) => run.push(side[1]),
                            None => runs.push(side.to_vec()),
                        }
                    }
                    goes_on = reaches(side);
                }
                runs.into_iter().filter_map(|run| Part::along(run, *half_width)).collect()
            }
        }
    }
}

/// The ring cut off at the sides of a box (Sutherland & Hodgman 1974). What lies beyond a side is
/// drawn along it, which changes no winding number inside; `None` if nothing reaches the box.
pub(crate) fn cut_ring(ring: &LineString<f64>, to: &Bounds) -> Option<LineString<f64>> {
    let corners = &ring.0;
    let inside = |place: &Coord<f64>| {
        (to.min.x..=to.max.x).contains(&place.x) && (to.min.y..=to.max.y).contains(&place.y)
    };
    if corners.iter().all(inside) {
        return Some(ring.clone());
    }
    let mut corners = corners[1..].to_vec();
    // How far a place lies beyond each side, negative inside.
    let sides: [&dyn Fn(Coord<f64>) -> f64; 4] =
        [&|c| to.min.x - c.x, &|c| c.x - to.max.x, &|c| to.min.y - c.y, &|c| c.y - to.max.y];
    for beyond in sides {
        let mut kept = Vec::with_capacity(corners.len() + 4);
        for (place, &corner) in corners.iter().enumerate() {
            let before = corners[(place + corners.len() - 1) % corners.len()];
            let (was, is) = (beyond(before), beyond(corner));
            if (was > 0.0) != (is > 0.0) {
                kept.push(before + (corner - before) * (was / (was - is)));
            }
            if is <= 0.0 {
                kept.push(corner);
            }
        }
        corners = kept;
    }
    corners.dedup();
    (corners.len() > 2).then(|| {
        let mut ring = LineString(corners);
        ring.close();
        ring
    })
}
