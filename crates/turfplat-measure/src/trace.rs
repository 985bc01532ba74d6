//! Why cleared edges are traced back to rings: the overlay takes seconds over the loops of a shape
//! with tens of thousands of corners, nearly all of which lies inside. What is left of them when
//! cleared is short, but in pieces, and without its level stretches.

use geo::Coord;

use crate::edge::Edge;

/// An edge in the way in which it is passed with the ground to its left.
pub(crate) struct Passed<'a> {
    pub(crate) edge: &'a Edge,
    pub(crate) goes_up: bool,
}

impl Passed<'_> {
    fn of(edge: &Edge) -> Passed<'_> {
        // The winding number rises where an edge is passed eastwards into the ground: that is its
        // western side, which is passed southwards.
        Passed { edge, goes_up: edge.winding < 0 }
    }

    pub(crate) fn from(&self) -> Coord<f64> {
        self.end(!self.goes_up)
    }

    pub(crate) fn to(&self) -> Coord<f64> {
        self.end(self.goes_up)
    }

    fn end(&self, upper: bool) -> Coord<f64> {
        let y = if upper { self.edge.high } else { self.edge.low };
        Coord { x: self.edge.x_at(y), y }
    }
}

/// The rings of cleared edges: the end of each is joined to the start of one at the same height.
///
/// Along a height, outline runs level between an end and a start, and no two such stretches
/// overlap; so the first end goes to the first start from the west, the second to the second. Of
/// both there are as many, for every row of strips has as many western as eastern sides.
pub(crate) fn traced(edges: &[Edge]) -> Vec<Vec<Passed<'_>>> {
    let mut next = vec![usize::MAX; edges.len()];
    let ends = in_rows(edges, |passed| passed.to());
    let starts = in_rows(edges, |passed| passed.from());
    for (end, start) in ends.into_iter().zip(starts) {
        next[end] = start;
    }
    let mut rings = Vec::new();
    for first in 0..edges.len() {
        let mut ring = Vec::new();
        let mut at = first;
        while next[at] != usize::MAX {
            ring.push(Passed::of(&edges[at]));
            at = std::mem::replace(&mut next[at], usize::MAX);
        }
        if !ring.is_empty() {
            rings.push(ring);
        }
    }
    rings
}

/// The places of the edges in the order of what is asked of them: from the south, then the west.
fn in_rows(edges: &[Edge], of: impl Fn(&Passed<'_>) -> Coord<f64>) -> Vec<usize> {
    let mut places: Vec<(Coord<f64>, usize)> =
        edges.iter().map(|edge| of(&Passed::of(edge))).zip(0..).collect();
    places.sort_by(|(a, _), (b, _)| a.y.total_cmp(&b.y).then(a.x.total_cmp(&b.x)));
    places.into_iter().map(|(_, edge)| edge).collect()
}
