//! The line half a swath inside the outline: the centers of discs in the ground that touch it.
//!
//! Shrinking the outline by an overlay would lose what is narrower than a swath. A disc that touches
//! the outline at a point, lies in the ground and is as large as half a swath or as the ground
//! allows has its center on the lap where there is room and on the middle line where there is none.
//! From one center to the next lies in the ground where the discs reach each other.

use geo::Coord;

use crate::edges::{Edge, Edges, SMOOTH_TURN};
use crate::kept::Kept;
use crate::plane::{cross, dot, foot, left, length, unit};

/// Ground narrower than this part of a swath is left.
pub(crate) const NARROWEST: f64 = 0.1;
/// Discs narrower than this part of the swath make a middle line.
const MIDDLE: f64 = 0.95;
/// A middle line shorter than this many swaths is a corner.
const LONG: f64 = 3.0;
/// From sample to sample along the outline, in half swaths.
const SPACING: f64 = 0.8;
/// Discs reach each other where their centers are no farther apart than this part of the larger's radius.
const REACH: f64 = 0.9 * SMOOTH_TURN;
/// Edges shorter than this have one sample, in half swaths.
const FINE: f64 = 0.1;
/// A path is drawn with as few corners as keep it within this of itself, in half swaths.
const STRAIGHT: f64 = 0.008;

#[derive(Clone, Copy, Debug)]
pub(crate) struct Sample {
    pub(crate) q: Coord<f64>,
    normal: Coord<f64>,
    pub(crate) center: Coord<f64>,
    pub(crate) radius: f64,
    pub(crate) arc: f64,
}

pub(crate) struct Lap {
    /// For each ring, in its order.
    pub(crate) rings: Vec<Vec<Sample>>,
    pub(crate) lengths: Vec<f64>,
    half: f64,
}

impl Lap {
    /// The lap of what `edges` enclose for half a swath of `half` metres.
    pub(crate) fn of(edges: &Edges, half: f64) -> Lap {
        let mut lap = Lap { rings: Vec::new(), lengths: Vec::new(), half };
        for ring in edges.all.chunk_by(|one, next| one.ring == next.ring) {
            let long = ring.last().map_or(0.0, |edge| edge.arc + length(edge.b - edge.a));
            // A ring without edges left no gap in the count: its number is that of its first edge.
            let number = ring.first().map_or(0, |edge| edge.ring);
            while lap.rings.len() < number {
                lap.rings.push(Vec::new());
                lap.lengths.push(0.0);
            }
            lap.rings.push(sampled(edges, ring, half));
            lap.lengths.push(long);
        }
        lap
    }

    /// All of it.
    pub(crate) fn whole(&self) -> Vec<Vec<bool>> {
        self.rings.iter().map(|ring| vec![true; ring.len()]).collect()
    }

    /// What runs along the middle of narrow ground for longer than a corner does.
    pub(crate) fn narrow(&self) -> Vec<Vec<bool>> {
        let is_narrow =
            |sample: &Sample| (NARROWEST * self.half..MIDDLE * self.half).contains(&sample.radius);
        let mut all = Vec::new();
        for ring in &self.rings {
            let count = ring.len();
            let mut marks = vec![false; count];
            let begin = ring.iter().position(|sample| !is_narrow(sample));
            let (mut run, mut long): (Vec<usize>, f64) = (Vec::new(), 0.0);
            for index in (0..count).map(|step| (begin.unwrap_or(0) + step) % count) {
                if is_narrow(&ring[index]) {
                    long += run.last().map_or(0.0, |&last: &usize| {
                        length(ring[index].center - ring[last].center)
                    });
                    run.push(index);
                    if long >= LONG * 2.0 * self.half {
                        run.iter().for_each(|&index| marks[index] = true);
                    }
                } else {
                    run.clear();
                    long = 0.0;
                }
            }
            all.push(marks);
        }
        all
    }

    /// The paths through the marked samples, but not where `kept` covers the ground already.
    pub(crate) fn paths(
        &self,
        edges: &Edges,
        marks: &[Vec<bool>],
        kept: &mut Kept,
    ) -> Vec<Vec<Coord<f64>>> {
        let mut paths = Vec::new();
        for (number, ring) in self.rings.iter().enumerate() {
            let count = ring.len();
            let Some(marks) = marks.get(number).filter(|marks| marks.contains(&true)) else {
                continue;
            };
            let can = |index: usize| marks[index] && ring[index].radius >= NARROWEST * self.half;
            let begin = (0..count).find(|&index| {
                !can(index) || !self.joined(&ring[(index + count - 1) % count], &ring[index])
            });
            let (mut path, mut last): (Vec<Coord<f64>>, Option<usize>) = (Vec::new(), None);
            let mut broken = begin.is_some();
            for index in (0..count).map(|step| (begin.unwrap_or(0) + step) % count) {
                let sample = &ring[index];
                let wanted =
                    can(index) && !kept.covers(sample.q, number, sample.arc, self.lengths[number]);
                let follows = wanted && last.is_some_and(|last| self.joined(&ring[last], sample));
                if !follows && !path.is_empty() && (wanted || last.is_none()) {
                    broken = true;
                    self.finish(edges, std::mem::take(&mut path), false, &mut paths);
                }
                if !wanted {
                    // A notch too narrow to walk is passed by, if what follows still joins.
                    let is_notch = marks[index] && sample.radius < NARROWEST * self.half;
                    if !is_notch {
                        (last, broken) = (None, true);
                    }
                    continue;
                }
                if let Some(last) = last.filter(|_| follows) {
                    kept.add(ring[last].center, sample.center, number, sample.arc);
                }
                path.push(sample.center);
                last = Some(index);
            }
            if !broken && let Some(&first) = path.first() {
                path.push(first);
            }
            self.finish(edges, path, !broken, &mut paths);
        }
        paths
    }

    fn joined(&self, one: &Sample, next: &Sample) -> bool {
        length(next.center - one.center) <= REACH * one.radius.max(next.radius)
    }

    /// Draws a path with fewer corners, and lets one with ends run on to the outline.
    fn finish(
        &self,
        edges: &Edges,
        path: Vec<Coord<f64>>,
        closed: bool,
        paths: &mut Vec<Vec<Coord<f64>>>,
    ) {
        let mut path = straightened(&path, STRAIGHT * self.half);
        if path.len() < 2 {
            return;
        }
        if !closed {
            for _ in 0..2 {
                path.reverse();
                let end = path.len() - 1;
                let Some(ahead) = unit(path[end] - path[end - 1]) else { continue };
                let free = edges.free_ahead(path[end], ahead, self.half) - 1e-6;
                if free > 0.0 {
                    path[end] = path[end] + ahead * free;
                }
            }
        }
        paths.push(path);
    }
}

fn sampled(edges: &Edges, ring: &[Edge], half: f64) -> Vec<Sample> {
    let count = ring.len();
    let along =
        |index: usize| unit(ring[index].b - ring[index].a).unwrap_or(Coord { x: 1.0, y: 0.0 });
    let turn = |index: usize| {
        let (before, after) = (along((index + count - 1) % count), along(index % count));
        cross(before, after).atan2(dot(before, after))
    };
    let sample = |q: Coord<f64>, normal: Coord<f64>, arc: f64| {
        let radius = edges.inscribed(q, normal, half);
        Sample { q, normal, center: q + normal * radius, radius, arc }
    };
    let is_sharp = |turn: f64| turn > 0.0 && turn.cos() < SMOOTH_TURN;
    let mut samples = Vec::new();
    for (index, edge) in ring.iter().enumerate() {
        let (begin, end) = (turn(index), turn(index + 1));
        let normal = left(along(index));
        let before = left(along((index + count - 1) % count));
        if begin < -1e-6 {
            let fine = length(edge.b - edge.a) < FINE * half && begin > -0.1;
            let steps = if fine { 0 } else { (-begin / 0.35).ceil() as usize };
            for step in 0..steps {
                let part = step as f64 / steps as f64;
                let (sin, cos) = (begin * part).sin_cos();
                let fan = Coord {
                    x: cos * before.x - sin * before.y,
                    y: sin * before.x + cos * before.y,
                };
                samples.push(sample(edge.a, fan, edge.arc));
            }
        } else if begin > 1e-6 && !is_sharp(begin) {
            samples.extend(unit(before + normal).map(|middle| sample(edge.a, middle, edge.arc)));
        }
        // At a corner of a curve the lap's own corner stands before the edge's end.
        let off =
            |turn: f64| if turn > 0.0 && !is_sharp(turn) { half * (turn / 2.0).tan() } else { 0.0 };
        let long = length(edge.b - edge.a);
        let (from, to) = (off(begin), long - off(end));
        if to < from {
            continue;
        }
        let place = |at: f64| sample(edge.a + along(index) * at, normal, edge.arc + at);
        // Into a sharp corner just so far that the corner itself is within the swath.
        let (from, to) = (
            if is_sharp(begin) { into(edge.a, 0.0, long, half, &place) } else { from },
            if is_sharp(end) { into(edge.b, long, 0.0, half, &place) } else { to },
        );
        if to < from {
            continue;
        }
        if to - from < FINE * half {
            samples.push(place((from + to) / 2.0));
            continue;
        }
        let mut stops = vec![from, to];
        // Where the lap itself has its corner.
        for (turn, at) in
            [(begin, 0.0), (end, long)].into_iter().filter(|(turn, _)| is_sharp(*turn))
        {
            let off = half * (turn / 2.0).tan();
            stops.push(if at == 0.0 { off } else { long - off });
        }
        stops.retain(|stop| (from..=to).contains(stop));
        stops.sort_by(f64::total_cmp);
        samples.push(place(from));
        for pair in stops.windows(2) {
            let steps = ((pair[1] - pair[0]) / (SPACING * half)).ceil() as usize;
            for step in 1..=steps {
                samples.push(place(pair[0] + (pair[1] - pair[0]) * step as f64 / steps as f64));
            }
        }
    }
    refined(edges, &samples, half)
}

/// How far along an edge from its end at `near` the disc's center is half a swath from the corner there.
fn into(corner: Coord<f64>, near: f64, far: f64, half: f64, place: &impl Fn(f64) -> Sample) -> f64 {
    let is_inside = |at: f64| length(place(at).center - corner) < 0.999 * half;
    // Steps first: where the ground is narrow the center may come back to the corner farther on.
    let (mut low, mut high) = (near, far);
    let steps = ((far - near).abs() / (SPACING * half)).ceil().clamp(1.0, 1e6) as usize;
    for step in 1..=steps {
        let at = near + (far - near) * step as f64 / steps as f64;
        if !is_inside(at) {
            high = at;
            break;
        }
        low = at;
    }
    for _ in 0..12 {
        let middle = (low + high) / 2.0;
        if is_inside(middle) { low = middle } else { high = middle }
    }
    high
}

/// With samples between those whose discs do not reach each other.
fn refined(edges: &Edges, samples: &[Sample], half: f64) -> Vec<Sample> {
    let mut all = Vec::with_capacity(samples.len());
    for (index, &to) in samples.iter().enumerate() {
        if index > 0 {
            between(edges, samples[index - 1], to, half, 6, &mut all);
        }
        all.push(to);
    }
    all
}

fn between(edges: &Edges, from: Sample, to: Sample, half: f64, depth: u8, all: &mut Vec<Sample>) {
    let apart = length(to.center - from.center);
    let larger = from.radius.max(to.radius);
    // Around a corner that was cut short nothing is wanting: its sides meet.
    let same_side = dot(from.normal, to.normal) > 0.8;
    if depth == 0
        || !same_side
        || to.arc - from.arc < 0.02 * half
        || apart <= REACH * larger
        || larger < NARROWEST * half / 2.0
    {
        return;
    }
    let Some(normal) = unit(from.normal + to.normal) else { return };
    let q = (from.q + to.q) / 2.0;
    let radius = edges.inscribed(q, normal, half);
    let arc = (from.arc + to.arc) / 2.0;
    let middle = Sample { q, normal, center: q + normal * radius, radius, arc };
    between(edges, from, middle, half, depth - 1, all);
    all.push(middle);
    between(edges, middle, to, half, depth - 1, all);
}

/// The path with as few corners as keep every one left out within `tolerance` metres.
fn straightened(path: &[Coord<f64>], tolerance: f64) -> Vec<Coord<f64>> {
    if path.len() < 3 {
        return path.to_vec();
    }
    let mut keep = vec![false; path.len()];
    (keep[0], keep[path.len() - 1]) = (true, true);
    let mut open = vec![(0, path.len() - 1)];
    while let Some((from, to)) = open.pop() {
        let mut worst = (tolerance, None);
        for index in from + 1..to {
            let off = length(path[index] - foot(path[index], path[from], path[to]));
            if off > worst.0 {
                worst = (off, Some(index));
            }
        }
        if let (_, Some(index)) = worst {
            keep[index] = true;
            open.extend([(from, index), (index, to)]);
        }
    }
    let mut kept: Vec<Coord<f64>> =
        path.iter().zip(keep).filter(|(_, keep)| *keep).map(|(&place, _)| place).collect();
    kept.dedup();
    kept
}
