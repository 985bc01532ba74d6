//! Parallel passes: in which direction, how many, from where to where.

use geo::{Area, ConvexHull, Coord, MultiPolygon, Polygon};

use crate::edges::Edges;
use crate::plane::{Turn, length};

/// Directions nearer to each other than this are one, in radians; of few sides each is tried.
const ALIKE: f64 = 1.0 * std::f64::consts::PI / 180.0;
const FEW: usize = 200;
/// Besides those of sides, in radians, so that a curved outline is not left to chance.
const STEP: f64 = 5.0 * std::f64::consts::PI / 180.0;

/// Bands of equal width over the whole height of the ground, along x.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rows {
    pub(crate) low: f64,
    pub(crate) step: f64,
    pub(crate) count: usize,
}

impl Rows {
    /// As few bands as swaths of `swath` metres cover; `None` of no ground.
    pub(crate) fn over(heights: impl Iterator<Item = f64>, swath: f64) -> Option<Rows> {
        let (low, high) = heights
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| (low.min(y), high.max(y)));
        if low > high {
            return None;
        }
        // A millionth of a swath more is rounding, not a pass.
        let count = ((high - low) / swath - 1e-6).ceil().max(1.0) as usize;
        Some(Rows { low, step: (high - low) / count as f64, count })
    }

    pub(crate) fn middle(&self, row: usize) -> f64 {
        self.low + (row as f64 + 0.5) * self.step
    }

    /// A hair off the middle, so that sides drawn there do not hang on rounding.
    fn beside_middle(&self, row: usize) -> f64 {
        self.middle(row) + 1e-7 * self.step
    }

    /// The rows whose middles lie between two heights.
    fn between(&self, one: f64, other: f64) -> std::ops::Range<usize> {
        let at = |y: f64| {
            let at = (y - self.low) / self.step - (0.5 + 1e-7);
            if at.is_finite() { at.ceil().clamp(0.0, self.count as f64) as usize } else { 0 }
        };
        at(one.min(other))..at(one.max(other))
    }

    /// From where to where each row's middle lies in the ground, in order.
    pub(crate) fn stretches(&self, ground: &MultiPolygon<f64>) -> Vec<(usize, f64, f64)> {
        let mut crossings = Vec::new();
        each_side(ground, |a, b| {
            for row in self.between(a.y, b.y) {
                let part = (self.beside_middle(row) - a.y) / (b.y - a.y);
                crossings.push((row, a.x + (b.x - a.x) * part.clamp(0.0, 1.0)));
            }
        });
        crossings.sort_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)));
        let pairs = crossings.chunks_exact(2).filter(|pair| pair[0].0 == pair[1].0);
        pairs
            .map(|pair| (pair[0].0, pair[0].1, pair[1].1))
            .filter(|(_, from, to)| to - from > 1e-3)
            .collect()
    }

    /// The parts of `stretches` that are no nearer to the outline than `half`, in order.
    pub(crate) fn inside(
        &self,
        stretches: &[(usize, f64, f64)],
        edges: &Edges,
        half: f64,
    ) -> Vec<(usize, f64, f64)> {
        let mut barred = Vec::new();
        for edge in &edges.all {
            let (low, high) = (edge.a.y.min(edge.b.y) - half, edge.a.y.max(edge.b.y) + half);
            for row in self.between(low, high) {
                let (from, to) = within(edge.a, edge.b, half, self.middle(row));
                if from < to {
                    barred.push((row, from, to));
                }
            }
        }
        barred.sort_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)));
        let mut free = Vec::new();
        for &(row, from, to) in stretches {
            let begin = barred.partition_point(|bar| bar.0 < row);
            let mut at = from;
            for &(_, low, high) in barred[begin..].iter().take_while(|bar| bar.0 == row) {
                if low > at && at < to {
                    free.push((row, at, low.min(to)));
                }
                at = at.max(high);
            }
            free.push((row, at, to));
        }
        free.retain(|(_, from, to)| to - from > 1e-3);
        free
    }
}

/// From where to where the line at height `y` is within `half` of a side.
fn within(a: Coord<f64>, b: Coord<f64>, half: f64, y: f64) -> (f64, f64) {
    let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut reach = |x: f64| (from, to) = (from.min(x), to.max(x));
    for end in [a, b] {
        let squared = half * half - (y - end.y) * (y - end.y);
        if squared >= 0.0 {
            reach(end.x - squared.sqrt());
            reach(end.x + squared.sqrt());
        }
    }
    let long = length(b - a);
    let side = Coord { x: -(b.y - a.y), y: b.x - a.x } * (half / long);
    for side in [side, -side] {
        let part = (y - a.y - side.y) / (b.y - a.y);
        if (0.0..=1.0).contains(&part) {
            reach(a.x + side.x + (b.x - a.x) * part);
        }
    }
    (from, to)
}

fn each_side(ground: &MultiPolygon<f64>, mut each: impl FnMut(Coord<f64>, Coord<f64>)) {
    for polygon in ground {
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            ring.lines().for_each(|line| each(line.start, line.end));
        }
    }
}

/// Tangents of half a degree and of 85 degrees: steeper or flatter ends are as good as square.
const SLANTED: (f64, f64) = (0.008_727, 11.43);

/// How much walking a direction asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Toil {
    pub(crate) passes: usize,
    metres: f64,
}

/// Passes and walking if they run along `angle`.
pub(crate) fn toil(sides: &[(Coord<f64>, Coord<f64>)], angle: f64, swath: f64) -> Toil {
    let turn = Turn::by(-angle);
    let sides: Vec<(Coord<f64>, Coord<f64>)> =
        sides.iter().map(|&(a, b)| (turn.place(a), turn.place(b))).collect();
    let Some(rows) = Rows::over(sides.iter().map(|side| side.0.y), swath) else {
        return Toil { passes: 0, metres: 0.0 };
    };
    let (mut crossings, mut metres) = (0, 0.0);
    for (a, b) in &sides {
        for row in rows.between(a.y, b.y) {
            crossings += 1;
            let part = (rows.beside_middle(row) - a.y) / (b.y - a.y);
            let x = a.x + (b.x - a.x) * part;
            // The ground lies to the left of its sides: what goes down begins a stretch.
            metres += if b.y > a.y { x } else { -x };
        }
        // A slanted side asks for a short pass along it.
        let (level, upright) = ((b.x - a.x).abs(), (b.y - a.y).abs());
        if upright > SLANTED.0 * level && upright < SLANTED.1 * level {
            metres += length(*b - *a);
        }
    }
    Toil { passes: crossings / 2, metres }
}

/// The ground's sides, from corner to corner.
pub(crate) fn sides(ground: &MultiPolygon<f64>) -> Vec<(Coord<f64>, Coord<f64>)> {
    let mut sides = Vec::new();
    each_side(ground, |a, b| {
        if a != b {
            sides.push((a, b));
        }
    });
    sides
}

/// The direction that needs the fewest passes, of these that which needs the least walking; in
/// radians from the x axis.
pub(crate) fn best_direction(ground: &MultiPolygon<f64>, swath: f64) -> f64 {
    let sides = sides(ground);
    let mut by_length = sides.clone();
    by_length.extend(ground.convex_hull().exterior().lines().map(|line| (line.start, line.end)));
    by_length.sort_by(|one, other| length(other.1 - other.0).total_cmp(&length(one.1 - one.0)));
    let half_turn = std::f64::consts::PI;
    let alike = if sides.len() > FEW { ALIKE } else { ALIKE / 1000.0 };
    let mut angles: Vec<f64> = Vec::new();
    let add = |angles: &mut Vec<f64>, angle: f64| {
        let is_like = |known: &f64| {
            let apart = (angle - known).rem_euclid(half_turn);
            apart.min(half_turn - apart) < alike
        };
        if !angles.iter().any(is_like) {
            angles.push(angle);
        }
    };
    for (a, b) in by_length {
        add(&mut angles, (b.y - a.y).atan2(b.x - a.x).rem_euclid(half_turn));
    }
    let Some(&longest) = angles.first() else { return 0.0 };
    angles.extend((0..36).map(|step| f64::from(step) * STEP));
    let mut best = (longest, toil(&sides, longest, swath));
    let drawn = angles.len() - 36;
    for (index, &angle) in angles.iter().enumerate().skip(1) {
        let toil = toil(&sides, angle, swath);
        let fewer = toil.passes < best.1.passes;
        // What is as good to a millionth keeps the longer side's direction.
        let less = toil.metres < best.1.metres * (1.0 - 1e-6);
        // Where nothing is gained, ground that is turned is walked as before.
        if fewer || (index < drawn && toil.passes == best.1.passes && less) {
            best = (angle, toil);
        }
    }
    best.0
}

/// Is this more than a remnant of cutting?
pub(crate) fn is_broad(polygon: &Polygon<f64>, swath: f64) -> bool {
    width_of(polygon) > 0.05 * swath
}

/// What a strip of the same area and outline is wide, in metres.
pub(crate) fn width_of(polygon: &Polygon<f64>) -> f64 {
    let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
    let around: f64 =
        rings.flat_map(|ring| ring.lines()).map(|line| length(line.end - line.start)).sum();
    if around > 0.0 { 2.0 * polygon.unsigned_area() / around } else { 0.0 }
}
