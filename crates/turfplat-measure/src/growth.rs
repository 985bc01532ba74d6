//! Why a setback is a closed curve of straight and circular stretches.
//!
//! The ground within a distance of a shape is the shape, a rectangle along each edge and a
//! sector at each corner, all wound alike. Where two of them share a side, the sides cancel,
//! and what is left is one closed curve for each ring: its winding number is above zero
//! exactly where any of the pieces lies. So neither a union nor a circle cut into chords is
//! needed to know the area; the curve may cross itself as it likes.

use geo::{Coord, LineString};

use crate::kernel::{Growth, Kernel};
use crate::shape::{Part, Shape};

/// A closed curve; ground is inside where the winding number of all loops of a shape is above zero.
#[derive(Clone, Debug)]
pub(crate) struct Loop {
    pub(crate) start: Coord<f64>,
    pub(crate) stretches: Vec<Stretch>,
}

/// The numbers of the two drawn corners from whose side a stretch keeps its distance; twice the same
/// where it keeps it from a corner. Corners of a shape are numbered as [`corners_of`] lists them.
pub(crate) type Source = [u32; 2];

/// One stretch of a loop, from where the last one ended.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Stretch {
    Line {
        to: Coord<f64>,
        source: Source,
    },
    /// Counter-clockwise round `centre` by `turn` radians, at most a full turn.
    Arc {
        centre: Coord<f64>,
        radius: f64,
        turn: f64,
        to: Coord<f64>,
        source: Source,
    },
}

/// A grown shape in bands along its outlines and the solids inside: together they cover what
/// [`loops`] do. Long outlines come in spans that overlap, each of which crosses itself a little only.
pub(crate) struct Spans {
    pub(crate) bands: Vec<Loop>,
    pub(crate) solids: Vec<Loop>,
}

/// A grown shape in [`Spans`].
pub(crate) fn spans(shape: &Shape, growth: Growth) -> Spans {
    let mut bands = Vec::new();
    let mut solids = Vec::new();
    let mut first = 0;
    for part in &shape.parts {
        match part {
            Part::Polygon(polygon) => {
                for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
                    let corners = corners(ring);
                    let number = |corner: usize| first + (corner % corners.len()) as u32;
                    add_band(&around(&ring.0), 0.0, growth, number, &mut bands);
                    solids.extend(ring_loop(corners, Kernel::NOTHING, None, number));
                    first += corners.len() as u32;
                }
            }
            Part::Strip { spine, half_width } if is_closed(spine) => {
                let number = |corner: usize| first + (corner % (spine.len() - 1)) as u32;
                add_band(&around(spine), *half_width, growth, number, &mut bands);
                first += corner_count(part);
            }
            Part::Strip { spine, half_width } => {
                add_band(spine, *half_width, growth, |corner| first + corner as u32, &mut bands);
                bands.extend(joins_near_ends(spine, *half_width, growth, first));
                first += corner_count(part);
            }
            Part::Disc { centre, radius } => {
                bands.extend(circle(*centre, *radius, growth, first));
                first += 1;
            }
        }
    }
    Spans { bands, solids }
}

/// A closed line with its second corner once more at the end, so that its first lies inside a span.
fn around(closed: &[Coord<f64>]) -> Vec<Coord<f64>> {
    closed.iter().chain(closed.get(1)).copied().collect()
}

/// The ground along a line, in spans. Each ends one corner into the next, so that every corner
/// lies inside one of them and gets its sector.
fn add_band(
    spine: &[Coord<f64>],
    half_width: f64,
    growth: Growth,
    number: impl Fn(usize) -> u32,
    bands: &mut Vec<Loop>,
) {
    for start in (0..spine.len().saturating_sub(1)).step_by(SPAN) {
        let end = spine.len().min(start + SPAN + 2);
        let span = &spine[start..end];
        let far = span.len() - 1;
        let ends = Ends { far, half_width, growth };
        let number = |corner: usize| number(start + along(corner, far));
        let kernel = Kernel::of(half_width, growth);
        bands.extend(ring_loop(&there_and_back(span), kernel, Some(&ends), number));
    }
}

/// The place along a line of a corner of the way there and back.
fn along(corner: usize, far: usize) -> usize {
    if corner <= far { corner } else { 2 * far - corner }
}

fn there_and_back(spine: &[Coord<f64>]) -> Vec<Coord<f64>> {
    let back = spine[1..spine.len() - 1].iter().rev();
    spine.iter().chain(back).copied().collect()
}

/// How many sides of a long outline make a span: by measurement, for sides of centimetres.
const SPAN: usize = 6;

/// The corners of a shape as drawn and repaired, in the order of their numbers.
pub(crate) fn corners_of(shape: &Shape) -> Vec<Coord<f64>> {
    let mut all = Vec::new();
    for part in &shape.parts {
        match part {
            Part::Polygon(polygon) => {
                let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
                rings.for_each(|ring| all.extend(corners(ring)));
            }
            // The last corner of a closed line is its first.
            Part::Strip { spine, .. } => all.extend(&spine[..corner_count(part) as usize]),
            Part::Disc { centre, .. } => all.push(*centre),
        }
    }
    all
}

/// How many corners a part has.
pub(crate) fn corner_count(part: &Part) -> u32 {
    let count = match part {
        Part::Polygon(polygon) => {
            let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
            rings.map(|ring| corners(ring).len()).sum()
        }
        Part::Strip { spine, .. } => spine.len() - usize::from(is_closed(spine)),
        Part::Disc { .. } => 1,
    };
    count as u32
}

/// The loops of a grown shape.
pub(crate) fn loops(shape: &Shape, growth: Growth) -> Vec<Loop> {
    let mut loops = Vec::new();
    let mut first = 0;
    for part in &shape.parts {
        add_loops(part, growth, first, &mut loops);
        first += corner_count(part);
    }
    loops
}

/// Adds the loops of a grown part; its corners are numbered from `first`.
pub(crate) fn add_loops(part: &Part, growth: Growth, first: u32, loops: &mut Vec<Loop>) {
    match part {
        Part::Polygon(polygon) => {
            let mut first = first;
            let kernel = Kernel::of(0.0, growth);
            for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
                let corners = corners(ring);
                loops.extend(ring_loop(corners, kernel, None, |corner| first + corner as u32));
                first += corners.len() as u32;
            }
        }
        Part::Disc { centre, radius } => loops.extend(circle(*centre, *radius, growth, first)),
        Part::Strip { spine, half_width } => {
            if !Kernel::of(*half_width, growth).is_nothing() {
                add_strip(spine, *half_width, growth, first, loops);
            }
        }
    }
}

/// The corners of a closed ring, the last one not repeated.
fn corners(ring: &LineString<f64>) -> &[Coord<f64>] {
    ring.0.split_last().map_or(&[], |(_, corners)| corners)
}

fn circle(centre: Coord<f64>, radius: f64, growth: Growth, number: u32) -> Option<Loop> {
    Kernel::of(radius, growth).alone(centre, [number, number])
}

/// True of a line that comes back to its start by another way: it has no ends.
pub(crate) fn is_closed(spine: &[Coord<f64>]) -> bool {
    matches!(spine, [first, second, .., before, last] if first == last && second != before)
}

fn add_strip(
    spine: &[Coord<f64>],
    half_width: f64,
    growth: Growth,
    first: u32,
    loops: &mut Vec<Loop>,
) {
    let kernel = Kernel::of(half_width, growth);
    if is_closed(spine) {
        // A line that comes back to its start has no ends: one loop outside, one inside.
        let ring = &spine[..spine.len() - 1];
        let reversed: Vec<Coord<f64>> = ring.iter().rev().copied().collect();
        let last = first + ring.len() as u32 - 1;
        loops.extend(ring_loop(ring, kernel, None, |corner| first + corner as u32));
        loops.extend(ring_loop(&reversed, kernel, None, |corner| last - corner as u32));
        return;
    }
    // There along one side and back along the other.
    let far = spine.len() - 1;
    let ends = Ends { far, half_width, growth };
    let number = |corner: usize| first + along(corner, far) as u32;
    loops.extend(ring_loop(&there_and_back(spine), kernel, Some(&ends), number));
    loops.extend(joins_near_ends(spine, half_width, growth, first));
}

/// A round join is a whole disc. Sectors outside the corners make it one, but for what reaches
/// beyond the flat end of a side that is shorter than the strip is wide.
fn joins_near_ends(spine: &[Coord<f64>], half_width: f64, growth: Growth, first: u32) -> Vec<Loop> {
    let [start, joins @ .., end] = spine else { return Vec::new() };
    let near = |join: &Coord<f64>, end: &Coord<f64>| {
        (join.x - end.x).hypot(join.y - end.y) < 2.0 * half_width
    };
    let joins = joins.iter().zip(first + 1..);
    let joins = joins.filter(|(join, _)| near(join, start) || near(join, end));
    joins.filter_map(|(&join, number)| circle(join, half_width, growth, number)).collect()
}

/// The ends of a strip: corner 0 and corner `far` of its ring.
struct Ends {
    far: usize,
    half_width: f64,
    growth: Growth,
}

/// Sides that run back over each other to within this angle, in radians, make a spike.
const SPIKE_SINE: f64 = 1e-9;

/// The curve round a ring as far to its right as the kernel reaches, with its boundary outside the corners.
fn ring_loop(
    corners: &[Coord<f64>],
    kernel: Kernel,
    ends: Option<&Ends>,
    number: impl Fn(usize) -> u32,
) -> Option<Loop> {
    let count = corners.len();
    if count < 2 {
        return None;
    }
    let direction = |i: usize| {
        let side = corners[if i + 1 == count { 0 } else { i + 1 }] - corners[i];
        let length = side.x.hypot(side.y);
        (side / length, length)
    };
    // To the right of a side lies the outside of a counter-clockwise ring.
    let right = |u: Coord<f64>| Coord { x: u.y, y: -u.x };
    let (mut u, mut length) = direction(0);
    let start = corners[0] + kernel.support(right(u));
    let mut stretches = Vec::with_capacity(2 * count);
    for i in 0..count {
        let corner = if i + 1 == count { 0 } else { i + 1 };
        let p = corners[corner];
        let source = [number(i), number(corner)];
        let at_corner = [source[1], source[1]];
        let (v, next_length) = direction(corner);
        let shorter = length.min(next_length);
        let meeting =
            kernel.radius().and_then(|offset| inner_corner(p, u, v, offset, shorter, corner));
        if let Some(to) = meeting {
            stretches.push(Stretch::Line { to, source });
            (u, length) = (v, next_length);
            continue;
        }
        stretches.push(Stretch::Line { to: p + kernel.support(right(u)), source });
        if !kernel.is_nothing() {
            let sine = u.x * v.y - u.y * v.x;
            let cosine = u.x * v.x + u.y * v.y;
            match ends.filter(|ends| corner == 0 || corner == ends.far) {
                Some(ends) => end_of_strip(p, u, ends, at_corner, &mut stretches),
                // The kernel round a corner always belongs to the grown shape, so a walk too many does
                // no harm. One too few does: at a spike the sine is 0 but for rounding, of either sign.
                None if sine > 0.0 || (cosine < 0.0 && sine > -SPIKE_SINE) => {
                    let turn = sine.atan2(cosine).rem_euclid(std::f64::consts::TAU);
                    kernel.walk(p, [right(u), right(v)], turn, at_corner, &mut stretches);
                }
                // The two rectangles overlap here; the curve goes through the corner, so that
                // the overlap is wound twice and nothing is wound backwards.
                None => {
                    let to = p + kernel.support(right(v));
                    stretches.extend([p, to].map(|to| Stretch::Line { to, source: at_corner }));
                }
            }
        }
        (u, length) = (v, next_length);
    }
    Some(Loop { start, stretches })
}

/// Where the offsets of two sides meet inside the bend between them; `None` where they do not.
///
/// The curve may turn there. What it no longer winds round, a kite with the ends of both offset
/// sides for corners, lies in the rectangles along both sides: the end of one offset lies beside
/// the other side, by the sine of the bend along it and the cosine across it. A place so left out
/// at several corners lies in the rectangles along all their sides, and those are at least one
/// more than the corners, unless it is left out at every corner of the ring: so the first corner,
/// which comes last, keeps its overlap.
fn inner_corner(
    p: Coord<f64>,
    u: Coord<f64>,
    v: Coord<f64>,
    offset: f64,
    shorter: f64,
    corner: usize,
) -> Option<Coord<f64>> {
    let (sine, cosine) = (u.x * v.y - u.y * v.x, u.x * v.x + u.y * v.y);
    if corner == 0 || sine >= 0.0 || cosine < 0.0 || offset == 0.0 || offset * -sine > shorter {
        return None;
    }
    // From the end of the offset side back to the meeting: offset × tan of half the bend.
    let back = offset * -sine / (1.0 + cosine);
    Some(p + Coord { x: u.y, y: -u.x } * offset - u * back)
}

/// Round the end of a strip at `p`, arriving along `u`: a strip ends flat, what is kept from it goes round
/// both corners.
fn end_of_strip(
    p: Coord<f64>,
    u: Coord<f64>,
    ends: &Ends,
    source: Source,
    stretches: &mut Vec<Stretch>,
) {
    let right = Coord { x: u.y, y: -u.x };
    let half_width = ends.half_width;
    let kernel = Kernel::of(0.0, ends.growth);
    let (near, far) = (p + right * half_width, p - right * half_width);
    if kernel.is_nothing() {
        stretches.push(Stretch::Line { to: far, source });
    } else if half_width == 0.0 {
        kernel.walk(p, [right, -right], std::f64::consts::PI, source, stretches);
    } else {
        let quarter = std::f64::consts::FRAC_PI_2;
        kernel.walk(near, [right, u], quarter, source, stretches);
        stretches.push(Stretch::Line { to: far + kernel.support(u), source });
        kernel.walk(far, [u, -right], quarter, source, stretches);
    }
}
