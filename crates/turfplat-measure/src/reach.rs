//! What takes ground from zones.

use std::sync::OnceLock;

use geo::Polygon;
use turfplat_units::Length;

use crate::chains::turn_up;
use crate::edge::Boundary;
use crate::growth::{Spans, corner_count, loops, spans};
use crate::kernel::Growth;
use crate::sets::Sets;
use crate::shape::{Bounds, Part, Shape};
use crate::union::union_of;

/// The ground within a distance of a shape, ready to be taken from any number of zones.
#[derive(Debug)]
pub struct Reach<'a> {
    pub(crate) shape: &'a Shape,
    pub(crate) growth: Growth,
    /// Worked out when a zone asks first, and once.
    pub(crate) boundary: OnceLock<Boundary>,
    /// The rings to draw, likewise.
    pub(crate) rings: OnceLock<Vec<Polygon<f64>>>,
}

/// True of a shape of so many corners that it is cleared of what lies inside its own reach.
pub(crate) fn is_to_be_cleared(shape: &Shape, growth: Growth) -> bool {
    const MANY_CORNERS: u32 = 64;
    growth.by() > Length::ZERO && shape.parts.iter().map(corner_count).sum::<u32>() > MANY_CORNERS
}

/// The boundary of a grown shape.
pub(crate) fn boundary_of(shape: &Shape, growth: Growth) -> Boundary {
    if is_to_be_cleared(shape, growth) {
        let Spans { bands, solids } = spans(shape, growth);
        return union_of(&bands, &solids);
    }
    let mut boundary = Boundary::default();
    loops(shape, growth).iter().for_each(|outline| boundary.add(outline));
    turn_up(&mut boundary.edges);
    boundary
}

impl<'a> Reach<'a> {
    /// The ground within a distance of `shape`, which itself belongs to it.
    pub fn of(shape: &'a Shape, growth: impl Into<Growth>) -> Reach<'a> {
        Reach { shape, growth: growth.into(), boundary: OnceLock::new(), rings: OnceLock::new() }
    }

    /// The polygons that it is, where it is nothing else: their sides need no working out.
    pub(crate) fn is_plain(&self) -> bool {
        self.growth.by() == Length::ZERO
            && self.shape.parts.iter().all(|part| matches!(part, Part::Polygon(_)))
    }

    pub(crate) fn boundary(&self) -> &Boundary {
        self.boundary.get_or_init(|| boundary_of(self.shape, self.growth))
    }

    /// True of the reach of one point, if all of a zone lies in it.
    pub(crate) fn covers(&self, zone: &Shape) -> bool {
        let [Part::Disc { centre, radius }] = &self.shape.parts[..] else { return false };
        self.growth.is_all_round() && zone.is_within(*centre, radius + self.growth.by().metres())
    }

    /// True if it may take ground from a zone with this box.
    pub(crate) fn touches(&self, bounds: &Bounds) -> bool {
        self.shape.bounds(self.growth.by().metres()).is_some_and(|reach| reach.touches(bounds))
    }

    /// True if it may take ground from a zone.
    pub(crate) fn is_near(&self, zone: &Shape) -> bool {
        zone.bounds(0.0).is_some_and(|bounds| self.touches(&bounds))
            && !zone.is_apart_from(self.shape, self.growth.by().metres())
    }
}

/// Something that takes ground from a zone.
#[derive(Clone, Copy, Debug)]
pub struct Taker<'a> {
    /// Its cause, from 0: causes take in this order, each only of what is left.
    pub cause: usize,
    /// The setback sets in which it takes ground; one reach may serve many.
    pub sets: Sets,
    /// The ground that it takes.
    pub reach: &'a Reach<'a>,
}

/// A lot line: what lies beyond it is lost.
#[derive(Clone, Copy, Debug)]
pub struct Lot<'a> {
    /// The lot.
    pub shape: &'a Shape,
    /// The setback sets in which its line counts.
    pub sets: Sets,
}
