//! Where every square metre of a zone went.

use std::sync::OnceLock;

use turfplat_units::{Area, Length};

use crate::edge::Edge;
use crate::growth::{Spans, corner_count, loops, spans};
use crate::shape::{Bounds, Shape};
use crate::sweep::sweep;
use crate::union::union_of;

/// The ground within a distance of a shape, ready to be taken from any number of zones.
#[derive(Debug)]
pub struct Reach<'a> {
    pub(crate) shape: &'a Shape,
    pub(crate) by: Length,
    /// Worked out when a zone asks first, and once.
    edges: OnceLock<Vec<Edge>>,
}

/// Shapes with more corners than this are cleared of what lies inside their own reach.
const MANY_CORNERS: usize = 64;

impl<'a> Reach<'a> {
    /// The ground within `by` of `shape`, which itself belongs to it.
    pub fn of(shape: &'a Shape, by: Length) -> Reach<'a> {
        Reach { shape, by, edges: OnceLock::new() }
    }

    fn edges(&self) -> &[Edge] {
        self.edges.get_or_init(|| {
            let by = self.by.metres();
            if by > 0.0 && corner_count(self.shape) > MANY_CORNERS {
                let Spans { bands, solids } = spans(self.shape, by);
                return union_of(&bands, &solids);
            }
            let mut edges = Vec::new();
            loops(self.shape, by).iter().for_each(|outline| Edge::of_loop(outline, 0, &mut edges));
            edges
        })
    }

    pub(crate) fn touches(&self, bounds: &Bounds) -> bool {
        self.shape.bounds(self.by.metres()).is_some_and(|reach| reach.touches(bounds))
    }
}

/// Something that takes ground from a zone.
#[derive(Clone, Copy, Debug)]
pub struct Taker<'a> {
    /// Its cause, from 0: causes take in this order, each only of what is left.
    pub cause: usize,
    /// The ground that it takes.
    pub reach: &'a Reach<'a>,
}

/// Where the ground of a zone went; gross = net + the sum of what was lost.
#[derive(Clone, Debug, PartialEq)]
pub struct Account {
    /// As drawn.
    pub gross: Area,
    /// What is left.
    pub net: Area,
    /// By cause, in the order of causes; 0 where a cause took nothing.
    pub lost: Vec<Area>,
    /// Lost beyond the lot line, where that was asked for.
    pub beyond_lot: Area,
    /// Length of the outline of what is left, holes included.
    pub perimeter: Length,
}

/// A share of a zone too small to be anything but rounding.
const RESIDUE: f64 = 1e-9;

/// Accounts for every square metre of a zone.
///
/// * Setbacks reach exactly as far as told, round corners included.
/// * `causes` is how many causes there are; those of `takers` are below it.
/// * `lot`: what lies outside it is lost too, after all causes.
/// * Accuracy: rounding of 64-bit arithmetic; no grid, no approximated arcs.
pub fn account(zone: &Shape, takers: &[Taker<'_>], causes: usize, lot: Option<&Shape>) -> Account {
    let mut edges = Vec::new();
    let outline_of = |shape: &Shape, set: usize, edges: &mut Vec<Edge>| {
        loops(shape, 0.0).iter().for_each(|outline| Edge::of_loop(outline, set, edges));
    };
    outline_of(zone, 0, &mut edges);
    if let Some(bounds) = zone.bounds(0.0) {
        for taker in
            takers.iter().filter(|taker| taker.cause < causes && taker.reach.touches(&bounds))
        {
            edges.extend(taker.reach.edges().iter().map(|edge| edge.of_set(taker.cause + 1)));
        }
    }
    if let Some(lot) = lot {
        outline_of(lot, causes + 1, &mut edges);
    }
    let tally = sweep(&mut edges, causes + 2, lot.map(|_| causes + 1));
    // Rounding may leave a hair on either side of zero.
    let area =
        |square_metres: f64| Area::from_square_metres(square_metres.max(0.0)).unwrap_or_default();
    let mut taken = tally.taken;
    let mut net = tally.net;
    let gross = net + taken.iter().sum::<f64>();
    // What is left of a zone that is covered is rounding and not lawn: nobody can dose it.
    if net < RESIDUE * gross
        && let Some(last) = taken.iter_mut().rfind(|taken| **taken > 0.0)
    {
        *last += net;
        net = 0.0;
    }
    let lost: Vec<Area> = taken[1..=causes].iter().map(|&taken| area(taken)).collect();
    let beyond_lot = area(taken[causes + 1]);
    let net = area(net);
    Account {
        gross: net + lost.iter().copied().sum() + beyond_lot,
        net,
        lost,
        beyond_lot,
        perimeter: Length::from_metres(tally.perimeter).unwrap_or_default(),
    }
}
