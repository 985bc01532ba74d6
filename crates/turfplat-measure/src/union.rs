//! Why a grown shape is cleared before it is taken from zones: a pond of a thousand corners
//! has a thousand sectors and rectangles, nearly all of them inside one another. Every zone
//! would walk over all their crossings again. Cleared once, the bounds between what lies in
//! reach and what does not remain, a few dozen pieces of the very same segments and arcs.

use crate::chains::{Chains, turn_up};
use crate::edge::{Boundary, Edge};
use crate::growth::Loop;
use crate::slabs::{Frame, Open, Slab, Slabs, Surveyor};
use crate::trace::traced;

/// The boundary of the union of `bands`, each of which winds nothing backwards, and of what the
/// loops of `solids` wind round together.
pub(crate) fn union_of(bands: &[Loop], solids: &[Loop]) -> Boundary {
    let mut slabs = Slabs::default();
    let mut levels = Vec::new();
    let mut edges_of = |loops: &[Loop]| {
        let mut boundary = Boundary::default();
        loops.iter().for_each(|outline| boundary.add(outline));
        levels.append(&mut boundary.levels);
        turn_up(&mut boundary.edges);
        boundary.edges
    };
    let mut parts: Vec<Vec<Edge>> =
        bands.chunks(1).map(|band| cleared(&edges_of(band), &mut slabs)).collect();
    // Two and two, so that what lies inside is dropped before it meets many others.
    while parts.len() > 1 {
        let mut pairs = parts.into_iter();
        parts = Vec::new();
        while let Some(mut first) = pairs.next() {
            if let Some(second) = pairs.next() {
                first.extend(second);
                first = cleared(&first, &mut slabs);
            }
            parts.push(first);
        }
    }
    let mut all = parts.pop().unwrap_or_default();
    // A hole alone winds backwards; beside its shell it takes away what lies in no band.
    all.extend(edges_of(solids));
    levels.sort_by(|a, b| a.0.total_cmp(&b.0));
    levels.dedup();
    Boundary { edges: cleared(&all, &mut slabs), levels }
}

/// The pieces of `edges` at which the winding number turns from nothing to something or back.
fn cleared(edges: &[Edge], slabs: &mut Slabs) -> Vec<Edge> {
    let mut chains = Chains::default();
    edges.iter().for_each(|&edge| chains.push(edge, 0, 0));
    let turned = (0..chains.chains().len() as u32).map(|chain| (0, 0.0, chains.lowest(chain)));
    let mut clearing = Clearing { turned: turned.collect(), pieces: Vec::new() };
    slabs.each(&chains, &Frame::EVERYWHERE, &mut clearing);
    // In the order in which they follow each other, so that they come in long chains next time.
    let rings = traced(&clearing.pieces);
    let mut pieces: Vec<Edge> = rings.iter().flatten().map(|passed| *passed.edge).collect();
    turn_up(&mut pieces);
    pieces
}

struct Clearing {
    /// Of each chain, how the number turns at it, since which height, and its edge there or below.
    turned: Vec<(i16, f64, u32)>,
    pieces: Vec<Edge>,
}

impl Surveyor for Clearing {
    fn slab(&mut self, chains: &Chains, slab: &Slab, open: &[Open]) {
        let mut winding = 0;
        for at in open {
            let before = winding;
            winding += i32::from(at.winding);
            let turns = i16::from(winding > 0) - i16::from(before > 0);
            if turns != self.turned[at.chain as usize].0 {
                self.ended(chains, at.chain, slab.low);
                let turned = &mut self.turned[at.chain as usize];
                (turned.0, turned.1) = (turns, slab.low);
            }
        }
    }

    fn ended(&mut self, chains: &Chains, chain: u32, height: f64) {
        let (turns, since, from) = &mut self.turned[chain as usize];
        if *turns != 0 {
            chains.each_between(chain, from, *since, height, |edge, low, high| {
                self.pieces.push(edge.piece(low, high, *turns));
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::OnceLock;

    use geo::{Coord, LineString, Polygon};
    use proptest::prelude::*;
    use turfplat_units::Length;

    use super::*;
    use crate::account::account;
    use crate::growth::{Spans, loops, spans};
    use crate::kernel::Growth;
    use crate::plane::Plane;
    use crate::reach::{Reach, Taker};
    use crate::sets::Sets;
    use crate::shape::{Drawn, Shape};

    fn ring() -> impl Strategy<Value = LineString<f64>> {
        let corner = prop_oneof![
            (-30.0..30.0_f64, -30.0..30.0_f64),
            (-6..6_i32, -6..6_i32).prop_map(|(x, y)| (f64::from(x) * 5.0, f64::from(y) * 5.0)),
        ];
        prop::collection::vec(corner, 3..40).prop_map(LineString::from)
    }

    /// An outline of many corners that a hand might trace round something rough.
    fn rough() -> impl Strategy<Value = LineString<f64>> {
        (prop::collection::vec(0.8..1.2_f64, 12..160), 5.0..25.0_f64).prop_map(|(wobble, size)| {
            let turn =
                |i: usize| (i as f64 / wobble.len() as f64 * std::f64::consts::TAU).sin_cos();
            let corner =
                |(i, r): (usize, &f64)| Coord { x: size * r * turn(i).1, y: size * r * turn(i).0 };
            LineString(wobble.iter().enumerate().map(corner).collect())
        })
    }

    /// What a boundary takes of a square round everything.
    fn area(boundary: Boundary) -> f64 {
        let square = [(-90.0, -90.0), (90.0, -90.0), (90.0, 90.0), (-90.0, 90.0), (-90.0, -90.0)];
        let ring = Polygon::new(LineString::from(square.to_vec()), vec![]);
        let square = Shape::lay(&drawn(&[ring], &[], 0.0), &flat()).unwrap().0;
        let by = Length::from_metres(1.0).unwrap();
        let boundary = OnceLock::from(boundary);
        let reach = Reach { boundary, ..Reach::of(&square, by) };
        let takers = [Taker { cause: 0, sets: Sets::ALL, reach: &reach }];
        account(&square, &takers, 1, None).unwrap().lost[0].square_metres()
    }

    fn flat() -> Plane {
        Plane::already_flat(Coord { x: 0.0, y: 0.0 })
    }

    fn drawn<'a>(
        polygons: &'a [Polygon<f64>],
        lines: &'a [LineString<f64>],
        width: f64,
    ) -> Drawn<'a> {
        let width = Length::from_metres(width).unwrap();
        Drawn { points: &[], lines, polygons, width, radius: Length::ZERO, error: Length::ZERO }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, cases: 24, ..ProptestConfig::default() })]

        /// Cleared or not, the ground in reach is the same.
        #[test]
        fn clearing_changes_no_ground(
            shell in prop_oneof![ring(), rough()], hole in prop_oneof![ring(), rough()], line in prop_oneof![ring(), rough()],
            width in prop_oneof![Just(0.0), 0.2..4.0_f64], closed in any::<bool>(), by in 0.1..25.0_f64,
            aslant in any::<bool>(), azimuth in 0.0..360.0_f64,
        ) {
            let mut line = line;
            if closed {
                line.close();
            }
            let shape = Shape::lay(&drawn(&[Polygon::new(shell, vec![hole])], &[line], width), &flat()).unwrap().0;
            let by = Length::from_metres(by).unwrap();
            let growth = if aslant { Growth::towards(by, azimuth) } else { by.into() };
            let mut plain = Boundary::default();
            loops(&shape, growth).iter().for_each(|outline| plain.add(outline));
            let Spans { bands, solids } = spans(&shape, growth);
            let cleared = union_of(&bands, &solids);
            let (plain, cleared) = (area(plain), area(cleared));
            prop_assert!((plain - cleared).abs() <= 1e-9 * plain.max(1.0), "{} ≠ {}", plain, cleared);
        }
    }
}
