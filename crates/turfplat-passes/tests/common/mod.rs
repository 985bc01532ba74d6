//! Ground to walk on, and what a walk covers, found point by point without any of the crate's polygons.

#![allow(dead_code, unreachable_pub, missing_docs, clippy::unwrap_used)] // Each test file takes what it needs.

use geo::{Area as _, Coord, LineString, MultiPolygon, Polygon};
use turfplat_passes::{Manner, Walk};
use turfplat_units::{Area, Length};

pub type Points = Vec<(f64, f64)>;

pub const FOOT: f64 = 0.3048;

pub fn ring(points: &[(f64, f64)]) -> LineString<f64> {
    LineString(points.iter().chain(points.first()).map(|&(x, y)| Coord { x, y }).collect())
}

pub fn ground(shell: &[(f64, f64)], holes: &[Points]) -> MultiPolygon<f64> {
    MultiPolygon(vec![Polygon::new(ring(shell), holes.iter().map(|hole| ring(hole)).collect())])
}

pub fn rectangle(x: f64, y: f64, wide: f64, tall: f64) -> Points {
    vec![(x, y), (x + wide, y), (x + wide, y + tall), (x, y + tall)]
}

pub fn disc(x: f64, y: f64, radius: f64, corners: usize) -> Points {
    let angle = |corner: usize| std::f64::consts::TAU * corner as f64 / corners as f64;
    (0..corners).map(|c| (x + radius * angle(c).cos(), y + radius * angle(c).sin())).collect()
}

pub fn feet(points: &[(f64, f64)]) -> Points {
    points.iter().map(|(x, y)| (x * FOOT, y * FOOT)).collect()
}

pub fn metres(value: f64) -> Length {
    Length::from_metres(value).unwrap()
}

pub fn square_metres(value: f64) -> Area {
    Area::from_square_metres(value).unwrap()
}

pub fn plain(swath: f64) -> Manner {
    Manner { swath: metres(swath), ..Manner::default() }
}

pub fn rings(ground: &MultiPolygon<f64>) -> Vec<&LineString<f64>> {
    ground.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors())).collect()
}

/// By counting sides to the right.
pub fn holds(ground: &MultiPolygon<f64>, at: Coord<f64>) -> bool {
    let mut inside = false;
    for line in rings(ground).iter().flat_map(|ring| ring.lines()) {
        let (a, b) = (line.start, line.end);
        if (a.y > at.y) != (b.y > at.y) && at.x < a.x + (b.x - a.x) * (at.y - a.y) / (b.y - a.y) {
            inside = !inside;
        }
    }
    inside
}

fn off(at: Coord<f64>, a: Coord<f64>, b: Coord<f64>) -> f64 {
    let (along, to) = (b - a, at - a);
    let squared = along.x * along.x + along.y * along.y;
    let part = if squared > 0.0 { (along.x * to.x + along.y * to.y) / squared } else { 0.0 };
    let rest = to - along * part.clamp(0.0, 1.0);
    rest.x.hypot(rest.y)
}

/// How far a place lies from the outline.
pub fn to_outline(ground: &MultiPolygon<f64>, at: Coord<f64>) -> f64 {
    let lines = rings(ground).into_iter().flat_map(|ring| ring.lines());
    lines.map(|line| off(at, line.start, line.end)).fold(f64::INFINITY, f64::min)
}

/// Is a place under the swath: beside a stretch, or near a turn; a swath's own ends are square.
fn under(path: &[Coord<f64>], at: Coord<f64>, half: f64) -> bool {
    let beside = path.windows(2).any(|pair| {
        let (along, to) = (pair[1] - pair[0], at - pair[0]);
        let long = along.x.hypot(along.y);
        let (ahead, side) =
            ((along.x * to.x + along.y * to.y) / long, (along.x * to.y - along.y * to.x) / long);
        long > 0.0 && (-1e-6..=long + 1e-6).contains(&ahead) && side.abs() <= half + 1e-6
    });
    let closed = path.first() == path.last();
    let turns = if closed { path } else { &path[1..path.len() - 1] };
    beside || turns.iter().any(|&turn| (at - turn).x.hypot((at - turn).y) <= half + 1e-6)
}

/// A path and the box that its swath may reach.
type Boxed<'p> = (&'p [Coord<f64>], Coord<f64>, Coord<f64>);

/// The share of some ten thousand places in the ground that lie under a swath.
pub fn share_covered(ground: &MultiPolygon<f64>, walk: &Walk, swath: f64, second: bool) -> f64 {
    let corners = || rings(ground).into_iter().flat_map(|ring| ring.0.iter());
    let (mut low, mut high) = (*corners().next().unwrap(), *corners().next().unwrap());
    for at in corners() {
        low = Coord { x: low.x.min(at.x), y: low.y.min(at.y) };
        high = Coord { x: high.x.max(at.x), y: high.y.max(at.y) };
    }
    let boxes: Vec<Boxed<'_>> = walk
        .passes
        .iter()
        .filter(|pass| (pass.kind == turfplat_passes::Kind::Second) == second)
        .map(|pass| {
            let fold = |f: fn(f64, f64) -> f64, of: fn(&Coord<f64>) -> f64| {
                pass.path.iter().map(of).reduce(f).unwrap()
            };
            let from =
                Coord { x: fold(f64::min, |p| p.x) - swath, y: fold(f64::min, |p| p.y) - swath };
            let to =
                Coord { x: fold(f64::max, |p| p.x) + swath, y: fold(f64::max, |p| p.y) + swath };
            (pass.path.as_slice(), from, to)
        })
        .collect();
    let step = ((high.x - low.x) * (high.y - low.y) / 20_000.0).sqrt();
    let (mut all, mut covered) = (0, 0);
    let mut y = low.y + 0.37 * step;
    while y < high.y {
        let mut x = low.x + 0.41 * step;
        while x < high.x {
            let at = Coord { x, y };
            if holds(ground, at) {
                all += 1;
                let is_near = |(_, from, to): &&Boxed<'_>| {
                    from.x <= at.x && at.x <= to.x && from.y <= at.y && at.y <= to.y
                };
                covered +=
                    usize::from(boxes.iter().filter(is_near).any(|b| under(b.0, at, swath / 2.0)));
            }
            x += step;
        }
        y += step;
    }
    f64::from(covered as u32) / f64::from((all as u32).max(1))
}

/// How far, in metres, any path gets out of the ground, looked at every few centimetres.
pub fn strays(ground: &MultiPolygon<f64>, walk: &Walk) -> f64 {
    let mut worst: f64 = 0.0;
    for pair in walk.passes.iter().flat_map(|pass| pass.path.windows(2)) {
        let along = pair[1] - pair[0];
        let steps = (along.x.hypot(along.y) / 0.11).ceil().clamp(1.0, 5_000.0) as usize;
        for step in 0..=steps {
            let at = pair[0] + along * (step as f64 / steps as f64);
            if !holds(ground, at) {
                worst = worst.max(to_outline(ground, at));
            }
        }
    }
    worst
}

/// What must hold of every walk.
pub fn check(ground: &MultiPolygon<f64>, walk: &Walk, swath: f64) -> Result<(), String> {
    let gross = ground.unsigned_area();
    for second in [false, true] {
        let of =
            |pass: &&turfplat_passes::Pass| (pass.kind == turfplat_passes::Kind::Second) == second;
        if second && !walk.passes.iter().any(|pass| of(&pass)) {
            continue;
        }
        let share = share_covered(ground, walk, swath, second);
        if share < 0.995 {
            return Err(format!("covers {share} of {gross} m² (second: {second})"));
        }
        let covered: f64 = walk.passes.iter().filter(of).map(|p| p.covers.square_metres()).sum();
        let left = walk.left.iter().filter(|left| left.second == second);
        let left: f64 = left.map(|left| left.area.square_metres()).sum();
        if (covered + left - gross).abs() > 1e-4 + 1e-5 * gross {
            return Err(format!("{covered} + {left} is not {gross} m²"));
        }
    }
    let strays = strays(ground, walk);
    if strays > 1e-3 { Err(format!("strays {strays} m")) } else { Ok(()) }
}
