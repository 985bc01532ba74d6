//! Whose every strip of ground is: the zone's, a cause's, or nobody's.

use crate::edge::Edge;
use crate::slabs::{Slab, each_slab, heights};

/// Whose the ground between two edges is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Owner {
    /// Not of the zone.
    Nobody,
    /// What is left to treat.
    Net,
    /// The set that takes it.
    Taken(usize),
}

/// What the sweep adds up, in metres and square metres.
#[derive(Clone, Debug)]
pub(crate) struct Tally {
    pub(crate) net: f64,
    pub(crate) perimeter: f64,
    /// By set; that of the zone itself stays 0.
    pub(crate) taken: Vec<f64>,
}

/// A strip of net ground in one slab.
struct Strip {
    west: usize,
    east: usize,
}

/// Ground narrower than this at mid-height is an edge met twice, in metres; it counts as area
/// (of next to nothing) but has no outline of its own.
const NO_WIDTH: f64 = 1e-9;

/// Walks over `edges` of the zone (set 0) and of the sets 1 to `sets − 1`, which take in that
/// order. `outside_takes` is a set that takes where it is *not*: the lot line.
pub(crate) fn sweep(edges: &mut Vec<Edge>, sets: usize, outside_takes: Option<usize>) -> Tally {
    let mut tally = Tally { net: 0.0, perimeter: 0.0, taken: vec![0.0; sets] };
    let Some(frame) = Frame::of(edges) else { return tally };
    edges.retain(|edge| edge.high > frame.low && edge.low < frame.high && edge.west <= frame.east);
    edges.sort_by(|a, b| a.low.total_cmp(&b.low));
    let mut heights = heights(edges, frame.west);
    heights.retain(|&height| height >= frame.low && height <= frame.high);

    let mut windings = vec![0_i32; sets];
    let mut strips: Vec<Strip> = Vec::new();
    let mut top_before: Vec<(f64, f64)> = Vec::new();
    each_slab(edges, &heights, |&Slab { low, high, middle }, open| {
        windings.fill(0);
        strips.clear();
        let mut owner = Owner::Nobody;
        let mut since = 0;
        for &(_, edge) in open {
            let crossed = &edges[edge];
            windings[crossed.set] += crossed.winding;
            let now = owner_of(&windings, outside_takes);
            if now == owner {
                continue;
            }
            settle(&mut tally, edges, owner, since, edge, low, high);
            if owner == Owner::Net {
                add_strip(&mut strips, edges, since, edge, middle);
            }
            (owner, since) = (now, edge);
        }
        // Corners that are level but for rounding make a slab with no height and no order of its
        // own; the outline goes on from the slab below it.
        if high - low <= NO_WIDTH {
            return;
        }
        let bottom: Vec<(f64, f64)> = ends(&strips, edges, low);
        tally.perimeter += uncommon_length(&top_before, &bottom);
        for strip in &strips {
            tally.perimeter +=
                edges[strip.west].length(low, high) + edges[strip.east].length(low, high);
        }
        top_before = ends(&strips, edges, high);
    });
    tally.perimeter += uncommon_length(&top_before, &[]);
    tally
}

/// The box of the zone: nothing beyond it matters, but edges to its west, which must still be wound.
struct Frame {
    low: f64,
    high: f64,
    west: f64,
    east: f64,
}

impl Frame {
    fn of(edges: &[Edge]) -> Option<Frame> {
        edges.iter().filter(|edge| edge.set == 0).fold(None, |frame: Option<Frame>, edge| {
            let frame = frame.unwrap_or(Frame {
                low: edge.low,
                high: edge.high,
                west: edge.west,
                east: edge.east,
            });
            Some(Frame {
                low: frame.low.min(edge.low),
                high: frame.high.max(edge.high),
                west: frame.west.min(edge.west),
                east: frame.east.max(edge.east),
            })
        })
    }
}

fn owner_of(windings: &[i32], outside_takes: Option<usize>) -> Owner {
    if windings[0] <= 0 {
        return Owner::Nobody;
    }
    let taker =
        (1..windings.len()).find(|&set| (windings[set] > 0) != (outside_takes == Some(set)));
    taker.map_or(Owner::Net, Owner::Taken)
}

fn settle(
    tally: &mut Tally,
    edges: &[Edge],
    owner: Owner,
    west: usize,
    east: usize,
    low: f64,
    high: f64,
) {
    let area = || edges[east].integral(low, high) - edges[west].integral(low, high);
    match owner {
        Owner::Nobody => {}
        Owner::Net => tally.net += area(),
        Owner::Taken(set) => tally.taken[set] += area(),
    }
}

fn add_strip(strips: &mut Vec<Strip>, edges: &[Edge], west: usize, east: usize, middle: f64) {
    let x = |edge: usize| edges[edge].x_at(middle);
    if x(east) - x(west) <= NO_WIDTH {
        return;
    }
    match strips.last_mut() {
        // Two zones' parts that share an edge, or a keep-out of no width: one strip.
        Some(last) if x(west) - x(last.east) <= NO_WIDTH => last.east = east,
        _ => strips.push(Strip { west, east }),
    }
}

fn ends(strips: &[Strip], edges: &[Edge], height: f64) -> Vec<(f64, f64)> {
    strips
        .iter()
        .map(|strip| (edges[strip.west].x_at(height), edges[strip.east].x_at(height)))
        .collect()
}

/// The length that belongs to one of two rows of intervals and not to the other: level outline.
fn uncommon_length(below: &[(f64, f64)], above: &[(f64, f64)]) -> f64 {
    let length =
        |row: &[(f64, f64)]| row.iter().map(|(west, east)| (east - west).max(0.0)).sum::<f64>();
    let mut common = 0.0;
    let (mut i, mut j) = (0, 0);
    while i < below.len() && j < above.len() {
        let ((a, b), (c, d)) = (below[i], above[j]);
        common += (b.min(d) - a.max(c)).max(0.0);
        if b < d { i += 1 } else { j += 1 }
    }
    (length(below) + length(above) - 2.0 * common).max(0.0)
}
