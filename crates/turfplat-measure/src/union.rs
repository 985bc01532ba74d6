//! Why a grown shape is cleared before it is taken from zones: a pond of a thousand corners
//! has a thousand sectors and rectangles, nearly all of them inside one another. Every zone
//! would walk over all their crossings again. Cleared once, the bounds between what lies in
//! reach and what does not remain, a few dozen pieces of the very same segments and arcs.

use crate::edge::Edge;
use crate::growth::Loop;
use crate::slabs::{Slab, each_slab, heights};

/// Loops that are cleared together at first; then two and two.
const AT_ONCE: usize = 4;

/// The edges of the union of `bands`, each of which winds nothing backwards, and of what the
/// loops of `solids` wind round together.
pub(crate) fn union_of(bands: &[Loop], solids: &[Loop]) -> Vec<Edge> {
    let edges_of = |loops: &[Loop]| {
        let mut edges = Vec::new();
        loops.iter().for_each(|outline| Edge::of_loop(outline, 0, &mut edges));
        edges
    };
    let mut parts: Vec<Vec<Edge>> =
        bands.chunks(AT_ONCE).map(|some| cleared(edges_of(some))).collect();
    while parts.len() > 1 {
        let mut pairs = parts.into_iter();
        parts = Vec::new();
        while let Some(mut first) = pairs.next() {
            if let Some(second) = pairs.next() {
                first.extend(second);
                first = cleared(first);
            }
            parts.push(first);
        }
    }
    let mut all = parts.pop().unwrap_or_default();
    // A hole alone winds backwards; beside its shell it takes away what lies in no band.
    all.extend(edges_of(solids));
    cleared(all)
}

/// The pieces of `edges` at which the winding number turns from nothing to something or back.
fn cleared(mut edges: Vec<Edge>) -> Vec<Edge> {
    edges.sort_by(|a, b| a.low.total_cmp(&b.low));
    let heights = heights(&edges, f64::NEG_INFINITY);
    let mut pieces: Vec<(usize, f64, f64, i32)> = Vec::new();
    // Of each edge the piece that was added last: where it goes on, it grows.
    let mut last: Vec<Option<usize>> = vec![None; edges.len()];
    each_slab(&edges, &heights, |&Slab { low, high, .. }, open| {
        let mut winding = 0;
        for &(_, edge) in open {
            let before = winding;
            winding += edges[edge].winding;
            let turns = i32::from(winding > 0) - i32::from(before > 0);
            if turns == 0 {
                continue;
            }
            match last[edge].map(|piece| &mut pieces[piece]) {
                Some((_, _, end, turned)) if *end == low && *turned == turns => *end = high,
                _ => {
                    last[edge] = Some(pieces.len());
                    pieces.push((edge, low, high, turns));
                }
            }
        }
    });
    pieces.into_iter().map(|(edge, low, high, turns)| edges[edge].piece(low, high, turns)).collect()
}

#[cfg(test)]
mod tests {
    use geo::{Coord, LineString, Polygon};
    use proptest::prelude::*;
    use turfplat_units::Length;

    use super::*;
    use crate::growth::{Spans, loops, spans};
    use crate::plane::Plane;
    use crate::shape::{Drawn, Shape};
    use crate::sweep::sweep;

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

    fn area(mut edges: Vec<Edge>) -> f64 {
        let square = [(-90.0, -90.0), (90.0, -90.0), (90.0, 90.0), (-90.0, 90.0), (-90.0, -90.0)];
        let frame = Shape::lay(
            &drawn(&[Polygon::new(LineString::from(square.to_vec()), vec![])], &[], 0.0),
            &flat(),
        )
        .0;
        loops(&frame, 0.0).iter().for_each(|outline| Edge::of_loop(outline, 0, &mut edges));
        sweep(&mut edges, 2, None).taken[1]
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
        Drawn { points: &[], lines, polygons, width, radius: Length::ZERO }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, cases: 24, ..ProptestConfig::default() })]

        /// Cleared or not, the ground in reach is the same.
        #[test]
        fn clearing_changes_no_ground(
            shell in prop_oneof![ring(), rough()], hole in prop_oneof![ring(), rough()], line in prop_oneof![ring(), rough()],
            width in prop_oneof![Just(0.0), 0.2..4.0_f64], closed in any::<bool>(), by in 0.1..25.0_f64,
        ) {
            let mut line = line;
            if closed {
                line.close();
            }
            let shape = Shape::lay(&drawn(&[Polygon::new(shell, vec![hole])], &[line], width), &flat()).0;
            let mut plain = Vec::new();
            loops(&shape, by).iter().for_each(|outline| Edge::of_loop(outline, 1, &mut plain));
            let Spans { bands, solids } = spans(&shape, by);
            let cleared: Vec<Edge> = union_of(&bands, &solids).into_iter().map(|edge| edge.of_set(1)).collect();
            let (plain, cleared) = (area(plain), area(cleared));
            prop_assert!((plain - cleared).abs() <= 1e-9 * plain.max(1.0), "{} ≠ {}", plain, cleared);
        }
    }
}
