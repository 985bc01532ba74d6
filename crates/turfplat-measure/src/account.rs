//! Where every square metre of a zone went.

use turfplat_units::{Area, Length};

use crate::edge::Edge;
use crate::growth::loops;
use crate::shape::Shape;
use crate::sweep::sweep;

/// Something that takes ground from a zone.
#[derive(Clone, Copy, Debug)]
pub struct Taker<'a> {
    /// Its cause, from 0: causes take in this order, each only of what is left.
    pub cause: usize,
    /// Its shape.
    pub shape: &'a Shape,
    /// How far around the shape it reaches.
    pub grown: Length,
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
    let mut add = |shape: &Shape, by: f64, set: usize| {
        loops(shape, by).iter().for_each(|outline| Edge::of_loop(outline, set, &mut edges));
    };
    add(zone, 0.0, 0);
    if let Some(reach) = zone.bounds(0.0) {
        for taker in takers {
            let by = taker.grown.metres();
            if taker.cause < causes
                && taker.shape.bounds(by).is_some_and(|bounds| bounds.touches(&reach))
            {
                add(taker.shape, by, taker.cause + 1);
            }
        }
    }
    if let Some(lot) = lot {
        add(lot, 0.0, causes + 1);
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
