//! Why a label is placed by its own shape.
//!
//! The common pole of inaccessibility finds the roundest room, but a label is wide: in a
//! strip along a wall it would sit in the one round corner, set small. So distance is
//! measured by boxes of the label's proportions: a point's room is the factor by which a
//! box centred on it can grow before it meets an edge or another label. That is a distance
//! in a norm, so the search by cells (Garcia-Castellanos and Lombardo 2007; Agafonkin 2016)
//! stays exact, and what it finds is the very largest label, not one near it.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use geo::Coord;

use crate::shape::{Bounds, Shape};

/// Cells looked at before the best so far is taken; enough for 1 % in every shape tried.
const MOST_CELLS: usize = 900;

/// Where a label may stand: on all of `on`, on none of `off`, in no box of `taken`, within `frame`.
pub(crate) struct Ground<'a> {
    pub(crate) on: &'a Shape,
    pub(crate) off: &'a [&'a Shape],
    pub(crate) taken: &'a [Bounds],
    pub(crate) frame: Bounds,
}

/// A place for a label.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pole {
    pub(crate) at: Coord,
    /// By how much the box asked for could grow here; below 1 it does not fit.
    pub(crate) room: f64,
}

struct Cell {
    at: Coord,
    half: f64,
    promise: f64,
}

impl PartialEq for Cell {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Cell {}
impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Cell {
    fn cmp(&self, other: &Self) -> Ordering {
        self.promise.total_cmp(&other.promise)
    }
}

/// Ground seen in units of half the label's width and height.
struct Scaled {
    on: Vec<(Coord, Coord)>,
    off: Vec<Vec<(Coord, Coord)>>,
    taken: Vec<Bounds>,
    frame: Bounds,
}

impl Ground<'_> {
    /// The best place for a box of `width` × `height`. Room beyond `enough` counts no more;
    /// among places with enough, the one nearest the middle is taken.
    pub(crate) fn pole(&self, width: f64, height: f64, enough: f64) -> Option<Pole> {
        let half = Coord { x: (width / 2.0).max(1e-6), y: (height / 2.0).max(1e-6) };
        let shrink = |c: Coord| Coord { x: c.x / half.x, y: c.y / half.y };
        let shrink_box = |b: Bounds| Bounds {
            x0: b.x0 / half.x,
            y0: b.y0 / half.y,
            x1: b.x1 / half.x,
            y1: b.y1 / half.y,
        };
        let edges = |shape: &Shape| shape.edges().map(|(a, b)| (shrink(a), shrink(b))).collect();
        let visible = self.on.bounds.common(self.frame);
        if visible.width() <= 0.0 || visible.height() <= 0.0 {
            return None;
        }
        let scaled = Scaled {
            on: edges(self.on),
            off: self.off.iter().filter(|s| s.bounds.overlaps(visible)).map(|s| edges(s)).collect(),
            taken: self
                .taken
                .iter()
                .filter(|b| b.overlaps(visible.grown(width)))
                .map(|&b| shrink_box(b))
                .collect(),
            frame: shrink_box(self.frame),
        };
        let best = scaled.search(shrink_box(visible), enough)?;
        Some(Pole { at: Coord { x: best.at.x * half.x, y: best.at.y * half.y }, room: best.room })
    }
}

impl Scaled {
    fn search(&self, area: Bounds, enough: f64) -> Option<Pole> {
        let middle = area.centre();
        let longest = area.width().max(area.height());
        // A pull to the middle, too weak to cost a label more than a twentieth of its size.
        let pull = 0.05 * enough / longest.max(1.0);
        let worth = |at: Coord, room: f64| room.min(enough) - pull * chebyshev(at, middle);
        let half = (area.width().min(area.height()) / 2.0).max(longest / 32.0).max(1e-9);

        let mut cells = BinaryHeap::new();
        let mut best: Option<(f64, Pole)> = None;
        let mut look = |at: Coord, half: f64, cells: &mut BinaryHeap<Cell>| {
            let room = self.room(at);
            let value = worth(at, room);
            if room > 0.0 && best.is_none_or(|(old, _)| value > old) {
                best = Some((value, Pole { at, room }));
            }
            let promise =
                (room + half).min(enough) - pull * (chebyshev(at, middle) - half).max(0.0);
            if best.is_none_or(|(old, _)| promise > old + 0.01) && room + half > 0.0 {
                cells.push(Cell { at, half, promise });
            }
            best
        };
        look(middle, 0.0, &mut cells);
        let columns = ((area.width() / (2.0 * half)).ceil() as usize).max(1);
        let rows = ((area.height() / (2.0 * half)).ceil() as usize).max(1);
        for column in 0..columns {
            for row in 0..rows {
                let x = area.x0 + half * (2 * column + 1) as f64;
                let y = area.y0 + half * (2 * row + 1) as f64;
                look(Coord { x, y }, half, &mut cells);
            }
        }
        let mut looked = 0;
        let mut found = None;
        while let Some(cell) = cells.pop() {
            looked += 1;
            if looked > MOST_CELLS || found.is_some_and(|(old, _)| cell.promise <= old + 0.01) {
                break;
            }
            let half = cell.half / 2.0;
            for (sx, sy) in [(-half, -half), (half, -half), (-half, half), (half, half)] {
                found = look(Coord { x: cell.at.x + sx, y: cell.at.y + sy }, half, &mut cells);
            }
        }
        best.map(|(_, pole)| pole)
    }

    /// Largest factor for a box of half-width 1 at `at`; negative where not even a point may stand.
    fn room(&self, at: Coord) -> f64 {
        let f = self.frame;
        let mut room = (at.x - f.x0).min(f.x1 - at.x).min(at.y - f.y0).min(f.y1 - at.y);
        for b in &self.taken {
            let (dx, dy) = ((b.x0 - at.x).max(at.x - b.x1), (b.y0 - at.y).max(at.y - b.y1));
            room = room.min(dx.max(dy));
        }
        room = room.min(signed(&self.on, at));
        for off in &self.off {
            room = room.min(-signed(off, at));
        }
        room
    }
}

/// Distance to the nearest edge, positive within.
fn signed(edges: &[(Coord, Coord)], at: Coord) -> f64 {
    let mut inside = false;
    let mut nearest = f64::INFINITY;
    for &(a, b) in edges {
        let (a, b) = (a - at, b - at);
        if (a.y > 0.0) != (b.y > 0.0) && 0.0 < (a.x - b.x) * a.y / (b.y - a.y) + a.x {
            inside = !inside;
        }
        // An edge whose box is farther than the nearest so far needs no closer look.
        let (low, high) = (a.x.min(b.x), a.x.max(b.x));
        let (top, bottom) = (a.y.min(b.y), a.y.max(b.y));
        if low.max(-high).max(top).max(-bottom) < nearest {
            nearest = nearest.min(to_segment(a, b));
        }
    }
    if inside { nearest } else { -nearest }
}

/// Distance from the origin to a line, in the norm that has boxes for circles.
fn to_segment(a: Coord, b: Coord) -> f64 {
    let d = b - a;
    let at = |t: f64| {
        let t = t.clamp(0.0, 1.0);
        (a.x + t * d.x).abs().max((a.y + t * d.y).abs())
    };
    // The larger of |x| and |y| bends only where x = ±y or one of them is zero.
    [(-a.x, d.x), (-a.y, d.y), (a.y - a.x, d.x - d.y), (-a.y - a.x, d.x + d.y)]
        .into_iter()
        .filter(|&(_, slope)| slope != 0.0)
        .map(|(rest, slope)| at(rest / slope))
        .fold(at(0.0).min(at(1.0)), f64::min)
}

fn chebyshev(a: Coord, b: Coord) -> f64 {
    (a.x - b.x).abs().max((a.y - b.y).abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(corners: &[(f64, f64)]) -> Shape {
        Shape::from_rings(vec![corners.iter().copied().map(Coord::from).collect()]).unwrap()
    }

    fn pole(on: &Shape, taken: &[Bounds], width: f64, height: f64) -> Pole {
        let frame = Bounds::new(-1e3, -1e3, 2e3, 2e3);
        Ground { on, off: &[], taken, frame }.pole(width, height, 9.0).unwrap()
    }

    #[test]
    fn the_largest_box_is_found() {
        #[rustfmt::skip]
        let table = [
            // shape, box, room worked by hand
            ("40 × 10, box 4 × 1: the whole", ring(&[(0., 0.), (40., 0.), (40., 10.), (0., 10.)]), (4., 1.), 10.0),
            ("20 × 10, box 4 × 1: width rules", ring(&[(0., 0.), (20., 0.), (20., 10.), (0., 10.)]), (4., 1.), 5.0),
            ("L with arms of 10: the lower arm is 40 long", ring(&[(0., 0.), (40., 0.), (40., 10.), (10., 10.), (10., 40.), (0., 40.)]), (20., 5.), 2.0),
            ("right triangle 30 × 30, square box: side 15", ring(&[(0., 0.), (30., 0.), (0., 30.)]), (5., 5.), 3.0),
        ];
        for (what, shape, (width, height), by_hand) in table {
            let found = pole(&shape, &[], width, height);
            let (w, h) = (found.room * width, found.room * height);
            assert!((found.room - by_hand).abs() < 0.1, "{what}: {found:?}");
            assert!(shape.covers(Bounds::around(found.at, w * 0.99, h * 0.99)), "{what}");
        }
    }

    #[test]
    fn a_taken_box_is_kept_clear() {
        let lawn = ring(&[(0., 0.), (40., 0.), (40., 10.), (0., 10.)]);
        let taken = Bounds::new(15.0, 0.0, 10.0, 10.0);
        let found = pole(&lawn, &[taken], 8.0, 2.0);
        assert!(!Bounds::around(found.at, 8.0, 2.0).overlaps(taken), "{found:?}");
        assert!((found.room - 15.0 / 8.0).abs() < 0.1, "{found:?}");
    }
}
