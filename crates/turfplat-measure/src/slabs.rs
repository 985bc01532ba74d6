//! Why this sweep cannot fail.
//!
//! The plane is cut into level slabs at every end of an edge and every crossing. Inside a
//! slab edges do not change sides, so walking from west to east over the edges, ordered at
//! mid-height, and keeping one winding number for each set tells for every strip of ground
//! between two edges which sets cover it. Areas are integrals of x over y, exact for
//! segments and arcs.
//!
//! Areas of degenerate input need no tolerance. Edges that coincide have no ground between them, so
//! their order cannot matter. A crossing that rounding puts a few units in the last place
//! off, or misses because two edges only graze, leaves them on the wrong sides by no more
//! than that rounding, and the ground between them is as small. Every strip belongs to
//! exactly one owner, so the account closes whatever happens.

use crate::edge::Edge;

/// A level slab of the plane in which no edge starts, ends or changes sides.
pub(crate) struct Slab {
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) middle: f64,
}

/// Visits every slab from south to north, with the indices of the edges that run through it from
/// west to east. `edges` are in order of their lower ends, `heights` in order and each once.
pub(crate) fn each_slab(
    edges: &[Edge],
    heights: &[f64],
    mut visit: impl FnMut(&Slab, &[(f64, usize)]),
) {
    let mut open: Vec<(f64, usize)> = Vec::new();
    let mut next = 0;
    for ends in heights.windows(2) {
        let (low, high) = (ends[0], ends[1]);
        let slab = Slab { low, high, middle: low + (high - low) / 2.0 };
        open.retain(|&(_, edge)| edges[edge].high > low);
        while next < edges.len() && edges[next].low <= low {
            if edges[next].high > low {
                open.push((0.0, next));
            }
            next += 1;
        }
        for (x, edge) in &mut open {
            *x = edges[*edge].x_at(slab.middle);
        }
        // Nearly sorted from the slab below, which the standard sort is quick at. Edges that
        // coincide keep the order in which they stood.
        open.sort_by(|a, b| a.0.total_cmp(&b.0));
        visit(&slab, &open);
    }
}

/// Every height at which an edge starts, ends or may cross another, once, in order. Crossings
/// west of `west` are left out: there only the winding counts, and no crossing changes that.
pub(crate) fn heights(edges: &[Edge], west: f64) -> Vec<f64> {
    let mut heights: Vec<f64> = edges.iter().flat_map(|edge| [edge.low, edge.high]).collect();
    let mut open: Vec<usize> = Vec::new();
    for (place, edge) in edges.iter().enumerate().filter(|(_, edge)| edge.east >= west) {
        open.retain(|&other| edges[other].high > edge.low);
        for &other in &open {
            let other = &edges[other];
            if other.west <= edge.east && edge.west <= other.east {
                edge.crossings(other, &mut heights);
            }
        }
        open.push(place);
    }
    heights.sort_unstable_by(f64::total_cmp);
    heights.dedup();
    heights
}
