//! Why an area comes with an error: corners are clicked on a picture, and none of them lies where
//! it is drawn. How far that moves the net area is told to first order, from the outline alone.
//!
//! Where outline moves outward, ground is won in proportion to its length. A side moves with the
//! two corners between which it was drawn, more with the nearer; so does the edge of a setback,
//! which keeps its distance from that side. An arc moves with its corner, a disc with its middle.

use geo::Coord;
use turfplat_units::{Area, Length};

use crate::chains::Chains;
use crate::edge::Edge;
use crate::growth::corners_of;
use crate::kernel::Growth;
use crate::reach::{Taker, boundary_of};
use crate::shape::Shape;
use crate::slabs::{Frame, Open, Slab, Slabs, Surveyor};
use crate::sweep::Sides;

/// How far off the net area of a zone may be because corners were not drawn where they lie; each
/// feature has its own error, [`crate::Drawn::error`]. Both are standard deviations; corners clicked
/// one by one err by the first, a hand that always keeps outside of a hedge by the second.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DrawnError {
    /// If every corner is off by itself, east and north.
    pub independent: Area,
    /// If all edges of what is left are off the same way, outward or inward.
    pub together: Area,
}

/// How far the net area of a zone may be off, given how well its outline was drawn.
///
/// * Takers are taken as given, whatever their sets.
/// * To first order in the errors, which is all for errors that are small beside sides and
///   setbacks. The turning of a strip's flat ends is left out.
/// * Where outlines of two features coincide, the one that bounds what is left counts.
/// * Source: propagation of variance (Ghilani, Adjustment Computations, from memory); for a lone
///   polygon it is the surveyor's var(A) = s²/4 · Σ |p(i+1) − p(i−1)|².
pub fn drawn_error(zone: &Shape, takers: &[Taker<'_>], lot: Option<&Shape>) -> DrawnError {
    let mut drawn = Corners::default();
    let mut sides = Sides::default();
    drawn.add(zone, Length::ZERO.into(), Group::Zone, &mut sides);
    let Some(frame) = Frame::around(&sides.chains) else { return DrawnError::default() };
    sides.frame = frame;
    for taker in takers.iter().filter(|taker| taker.reach.is_near(zone)) {
        drawn.add(taker.reach.shape, taker.reach.growth, Group::Taken, &mut sides);
    }
    if let Some(lot) = lot {
        drawn.add(lot, Length::ZERO.into(), Group::Lot, &mut sides);
    }
    let chains = &sides.chains;
    let turned = (0..chains.chains().len() as u32).map(|chain| (0, 0.0, chains.lowest(chain)));
    let mut outline = Outline {
        has_lot: lot.is_some(),
        turned: turned.collect(),
        pulls: vec![Coord { x: 0.0, y: 0.0 }; drawn.corners.len()],
        together: 0.0,
        drawn: &drawn,
    };
    Slabs::default().each(chains, &sides.frame, &mut outline);
    let pulls = outline.pulls.iter().zip(&drawn.corners);
    let variance: f64 =
        pulls.map(|(pull, (_, error))| error * error * (pull.x * pull.x + pull.y * pull.y)).sum();
    let area = |square_metres| Area::from_square_metres(square_metres).unwrap_or_default();
    DrawnError { independent: area(variance.sqrt()), together: area(outline.together) }
}

/// What an edge bounds.
#[derive(Clone, Copy)]
enum Group {
    Taken,
    Lot,
    Zone,
}

/// All drawn corners, each once, also of a shape that takes ground in several ways.
#[derive(Default)]
struct Corners<'a> {
    shapes: Vec<(&'a Shape, u32)>,
    /// Where it is, and its error in metres.
    corners: Vec<(Coord<f64>, f64)>,
}

impl<'a> Corners<'a> {
    fn add(&mut self, shape: &'a Shape, growth: Growth, group: Group, sides: &mut Sides) {
        // Level edges have no place in a sweep. Turned by one radian, hardly anything is level that
        // a hand has drawn.
        let turned = shape.turned(1.0);
        let known = self.shapes.iter().find(|(known, _)| std::ptr::eq(*known, shape)).copied();
        let first = known.map_or_else(|| self.number(shape, &turned), |(_, first)| first);
        let mut boundary = boundary_of(&turned, growth.turned(1.0));
        for edge in &mut boundary.edges {
            edge.source = edge.source.map(|corner| first + corner);
        }
        sides.add_boundary(&boundary, group as u32);
    }

    fn number(&mut self, shape: &'a Shape, turned: &Shape) -> u32 {
        let first = self.corners.len() as u32;
        let error = shape.error.metres();
        self.corners.extend(corners_of(turned).into_iter().map(|corner| (corner, error)));
        self.shapes.push((shape, first));
        first
    }
}

/// The outline of what is left, added up.
struct Outline<'a> {
    has_lot: bool,
    /// Of each chain, 1 where the ground is left east of it, −1 where west, 0 where it is no
    /// outline; since which height, and its edge there or below.
    turned: Vec<(i16, f64, u32)>,
    /// By corner, the gradient of the net area, in metres.
    pulls: Vec<Coord<f64>>,
    together: f64,
    drawn: &'a Corners<'a>,
}

impl Outline<'_> {
    fn add(&mut self, edge: &Edge, low: f64, high: f64, turns: i16) {
        let (bottom, top) =
            (Coord { x: edge.x_at(low), y: low }, Coord { x: edge.x_at(high), y: high });
        // The normal towards what is not left, as long as the piece.
        let along = (top - bottom) * f64::from(-turns);
        let outward = Coord { x: along.y, y: -along.x };
        let [a, b] = edge.source.map(|corner| corner as usize);
        let ((from, error), (to, _)) = (self.drawn.corners[a], self.drawn.corners[b]);
        let side = to - from;
        let square = side.x * side.x + side.y * side.y;
        // How near to the second corner the middle of the piece is.
        let share = if square > 0.0 {
            let middle = (bottom + top) / 2.0 - from;
            (middle.x * side.x + middle.y * side.y) / square
        } else {
            0.0
        };
        self.pulls[a] = self.pulls[a] + outward * (1.0 - share);
        self.pulls[b] = self.pulls[b] + outward * share;
        self.together += error * edge.integral_and_length(low, high, 0.0).1;
    }
}

impl Surveyor for Outline<'_> {
    fn slab(&mut self, chains: &Chains, slab: &Slab, open: &[Open]) {
        let mut windings = [0; 3];
        let mut was_left = false;
        for at in open {
            windings[at.group as usize] += i32::from(at.winding);
            let is_in = |group: Group| windings[group as usize] > 0;
            let is_left =
                is_in(Group::Zone) && !is_in(Group::Taken) && (!self.has_lot || is_in(Group::Lot));
            let mut turns = 0;
            if at.joined.is_none() {
                turns = i16::from(is_left) - i16::from(was_left);
                was_left = is_left;
            }
            if turns != self.turned[at.chain as usize].0 {
                self.ended(chains, at.chain, slab.low);
                let turned = &mut self.turned[at.chain as usize];
                (turned.0, turned.1) = (turns, slab.low);
            }
        }
    }

    fn ended(&mut self, chains: &Chains, chain: u32, height: f64) {
        let (turns, since, mut from) = self.turned[chain as usize];
        if turns != 0 {
            chains.each_between(chain, &mut from, since, height, |edge, low, high| {
                self.add(edge, low, high, turns);
            });
            self.turned[chain as usize].2 = from;
        }
    }
}
