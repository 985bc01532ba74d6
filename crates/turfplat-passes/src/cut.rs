//! Cutting ground to a convex shape by half-planes, without an overlay: rings are wound as before,
//! and where a ring falls apart its parts hang together by stretches of no area.

use geo::{Coord, LineString, MultiPolygon, Polygon};

use crate::plane::{cross, left, unit};

/// What lies within the rectangle about a straight stretch, `half` to each side.
pub(crate) fn cut_to_stretch(
    ground: &MultiPolygon<f64>,
    from: Coord<f64>,
    to: Coord<f64>,
    half: f64,
) -> MultiPolygon<f64> {
    let Some(along) = unit(to - from) else { return MultiPolygon(Vec::new()) };
    let side = left(along) * half;
    cut(ground, &[from - side, to - side, to + side, from + side])
}

/// What lies within the box.
pub(crate) fn cut_to_box(
    ground: &MultiPolygon<f64>,
    low: Coord<f64>,
    high: Coord<f64>,
) -> MultiPolygon<f64> {
    cut(ground, &[low, Coord { x: high.x, y: low.y }, high, Coord { x: low.x, y: high.y }])
}

/// `frame` is convex and counter-clockwise.
fn cut(ground: &MultiPolygon<f64>, frame: &[Coord<f64>; 4]) -> MultiPolygon<f64> {
    let mut left = Vec::new();
    for polygon in ground {
        let Some(shell) = cut_ring(polygon.exterior(), frame) else { continue };
        let holes = polygon.interiors().iter().filter_map(|hole| cut_ring(hole, frame)).collect();
        left.push(Polygon::new(shell, holes));
    }
    MultiPolygon(left)
}

fn cut_ring(ring: &LineString<f64>, frame: &[Coord<f64>; 4]) -> Option<LineString<f64>> {
    let inside =
        |at: Coord<f64>, side: usize| cross(frame[(side + 1) % 4] - frame[side], at - frame[side]);
    // All of it beyond one side is the usual case.
    for side in 0..4 {
        if ring.0.iter().all(|&corner| inside(corner, side) <= 0.0) {
            return None;
        }
    }
    let mut corners = ring.0.clone();
    corners.pop();
    for side in 0..4 {
        let mut kept = Vec::with_capacity(corners.len() + 4);
        for (index, &to) in corners.iter().enumerate() {
            let from = corners[(index + corners.len() - 1) % corners.len()];
            let (off, on) = (inside(from, side), inside(to, side));
            if (off < 0.0 && on > 0.0) || (off > 0.0 && on < 0.0) {
                kept.push(from + (to - from) * (off / (off - on)));
            }
            if on >= 0.0 {
                kept.push(to);
            }
        }
        corners = kept;
    }
    (corners.len() > 2).then(|| {
        corners.push(corners[0]);
        LineString(corners)
    })
}
