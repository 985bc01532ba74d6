//! The outline's edges in a grid, so that what is near a place is found without asking all.

use geo::{Coord, Polygon};

use crate::plane::{cross, distance_to, dot, foot, left, length, unit};

/// An edge of the outline; the ground lies to its left.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    pub(crate) a: Coord<f64>,
    pub(crate) b: Coord<f64>,
    pub(crate) ring: usize,
    /// Metres along the ring from its first corner to `a`.
    pub(crate) arc: f64,
}

/// By how much of its radius a disc along the edge may be nearer to other edges than to its own:
/// so the many corners of a curve are no corners.
const SMOOTH: f64 = 0.02;

/// The cosine of the sharpest turn that counts as part of a curve.
pub(crate) const SMOOTH_TURN: f64 = 1.0 - SMOOTH;

pub(crate) struct Edges {
    pub(crate) all: Vec<Edge>,
    low: Coord<f64>,
    cell: f64,
    columns: usize,
    rows: usize,
    /// Where the edges of each cell begin in `held`.
    begins: Vec<u32>,
    held: Vec<u32>,
}

/// No grid has more cells than this, however long and thin what it holds.
const MOST_CELLS: f64 = 500_000.0;

impl Edges {
    /// Rings are open or closed; repeated corners are passed over. `reach` is how far is asked, in metres.
    pub(crate) fn of(polygon: &Polygon<f64>, reach: f64) -> Edges {
        let mut all = Vec::new();
        let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
        for (ring, line) in rings.enumerate() {
            let mut arc = 0.0;
            for pair in line.lines() {
                let (a, b) = (pair.start, pair.end);
                if a != b {
                    all.push(Edge { a, b, ring, arc });
                    arc += length(b - a);
                }
            }
        }
        let corners = || all.iter().map(|edge| edge.a);
        let fold = |start: f64, pick: fn(f64, f64) -> f64, of: fn(Coord<f64>) -> f64| {
            corners().map(of).fold(start, pick)
        };
        let low = Coord {
            x: fold(f64::INFINITY, f64::min, |p| p.x),
            y: fold(f64::INFINITY, f64::min, |p| p.y),
        };
        let high = Coord {
            x: fold(f64::NEG_INFINITY, f64::max, |p| p.x),
            y: fold(f64::NEG_INFINITY, f64::max, |p| p.y),
        };
        let (wide, tall) = ((high.x - low.x).max(0.0), (high.y - low.y).max(0.0));
        let mut cell = reach.max(1e-6);
        while ((wide / cell).ceil() + 1.0) * ((tall / cell).ceil() + 1.0) > MOST_CELLS {
            cell *= 1.5;
        }
        let columns = (wide / cell).ceil() as usize + 1;
        let rows = (tall / cell).ceil() as usize + 1;
        let mut grid =
            Edges { all, low, cell, columns, rows, begins: Vec::new(), held: Vec::new() };
        grid.fill();
        grid
    }

    fn fill(&mut self) {
        let mut begins = vec![0_u32; self.columns * self.rows + 1];
        for edge in &self.all {
            self.cells_of(edge, |cell| begins[cell + 1] += 1);
        }
        for index in 1..begins.len() {
            begins[index] += begins[index - 1];
        }
        let mut next = begins.clone();
        let mut held = vec![0_u32; begins.last().copied().unwrap_or(0) as usize];
        for (index, edge) in self.all.iter().enumerate() {
            self.cells_of(edge, |cell| {
                held[next[cell] as usize] = index as u32;
                next[cell] += 1;
            });
        }
        (self.begins, self.held) = (begins, held);
    }

    fn column(&self, x: f64) -> usize {
        // A negative number saturates to the first.
        (((x - self.low.x) / self.cell) as usize).min(self.columns - 1)
    }

    fn row(&self, y: f64) -> usize {
        (((y - self.low.y) / self.cell) as usize).min(self.rows - 1)
    }

    fn cells_of(&self, edge: &Edge, mut each: impl FnMut(usize)) {
        let (bottom, top) = if edge.a.y <= edge.b.y { (edge.a, edge.b) } else { (edge.b, edge.a) };
        let (first, last) = (self.row(bottom.y), self.row(top.y));
        for row in first..=last {
            let x_at = |y: f64| {
                let part = (y - bottom.y) / (top.y - bottom.y);
                if part.is_finite() {
                    bottom.x + (top.x - bottom.x) * part.clamp(0.0, 1.0)
                } else {
                    bottom.x
                }
            };
            let (mut from, mut to) = (bottom.x, top.x);
            if first != last {
                from = x_at(self.low.y + row as f64 * self.cell);
                to = x_at(self.low.y + (row + 1) as f64 * self.cell);
            }
            let hair = 1e-9 * self.cell;
            for column in self.column(from.min(to) - hair)..=self.column(from.max(to) + hair) {
                each(row * self.columns + column);
            }
        }
    }

    /// Calls `each` for every edge in reach of the box, for some more than once.
    pub(crate) fn near(&self, low: Coord<f64>, high: Coord<f64>, mut each: impl FnMut(&Edge)) {
        for row in self.row(low.y)..=self.row(high.y) {
            let cells =
                row * self.columns + self.column(low.x)..=row * self.columns + self.column(high.x);
            for cell in cells {
                for &index in &self.held[self.begins[cell] as usize..self.begins[cell + 1] as usize]
                {
                    each(&self.all[index as usize]);
                }
            }
        }
    }

    /// The radius of the largest disc that touches the outline at `q`, lies along `normal` from it
    /// and in the ground, at most `cap`; all in metres.
    pub(crate) fn inscribed(&self, q: Coord<f64>, normal: Coord<f64>, cap: f64) -> f64 {
        let mut radius = cap;
        let around = Coord { x: cap, y: cap };
        let middle = q + normal * cap;
        let curve = 1.0 - SMOOTH_TURN * SMOOTH_TURN;
        self.near(middle - around, middle + around, |edge| {
            let Some(along) = unit(edge.b - edge.a) else { return };
            let inner = left(along);
            let off = dot(inner, q - edge.a);
            let closing = SMOOTH_TURN - dot(inner, normal);
            if closing > 0.0 && off > -1e-9 {
                let limit = off.max(0.0) / closing;
                let at = dot(q + normal * limit - edge.a, along);
                if limit < radius && at >= -1e-9 && at <= length(edge.b - edge.a) + 1e-9 {
                    radius = limit;
                }
            }
            for corner in [edge.a, edge.b] {
                let to = corner - q;
                let (ahead, squared) = (dot(normal, to), dot(to, to));
                let root = ahead * ahead - curve * squared;
                if ahead > 0.0 && root >= 0.0 && squared > 1e-18 {
                    // The smaller root, written so that nothing cancels.
                    radius = radius.min(squared / (ahead + root.sqrt()));
                }
            }
        });
        radius
    }

    /// Ring and metres along it of the outline's point nearest to `place`, if there is one within `reach`.
    pub(crate) fn nearest(&self, place: Coord<f64>, reach: f64) -> Option<(usize, f64)> {
        let around = Coord { x: reach, y: reach };
        let mut best: Option<(f64, usize, f64)> = None;
        self.near(place - around, place + around, |edge| {
            let at = foot(place, edge.a, edge.b);
            let off = length(place - at);
            if off <= reach && best.is_none_or(|(least, ..)| off < least) {
                best = Some((off, edge.ring, edge.arc + length(at - edge.a)));
            }
        });
        best.map(|(_, ring, arc)| (ring, arc))
    }

    /// How far one may go from a place in the ground before the outline, at most `most` metres.
    pub(crate) fn free_ahead(&self, from: Coord<f64>, ahead: Coord<f64>, most: f64) -> f64 {
        let to = from + ahead * most;
        let low = Coord { x: from.x.min(to.x), y: from.y.min(to.y) };
        let high = Coord { x: from.x.max(to.x), y: from.y.max(to.y) };
        let mut free = most;
        self.near(low, high, |edge| {
            let along = edge.b - edge.a;
            let across = cross(ahead, along);
            if across == 0.0 {
                // Along the edge itself: no farther than its nearer end.
                if distance_to(edge.a, from, to) < 1e-9 || distance_to(edge.b, from, to) < 1e-9 {
                    let reach = dot(edge.a - from, ahead).min(dot(edge.b - from, ahead));
                    free = free.min(reach.max(0.0));
                }
                return;
            }
            let far = cross(edge.a - from, along) / across;
            let at = cross(edge.a - from, ahead) / across;
            if far >= -1e-9 && (-1e-9..=1.0 + 1e-9).contains(&at) {
                free = free.min(far.max(0.0));
            }
        });
        free
    }
}
