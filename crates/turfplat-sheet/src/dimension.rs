//! How far ground is held back, drawn as a survey draws a distance: a line from edge to edge,
//! with a head at both ends.

use geo::Coord;

use crate::canvas::{Canvas, number, push_segment};
use crate::label::Wording;
use crate::map::{Strip, Wind};
use crate::motif::STRIP_INK;
use crate::place::{Placed, Placer, Says};
use crate::scale::View;
use crate::shape::{Bounds, Shape, is_usable};

/// Length of a head, in points.
const HEAD: f64 = 4.2;
/// Half its width.
const HALF: f64 = 1.3;
/// Half the stroke across each end.
const ACROSS: f64 = 3.0;

/// Shorter lines would be all heads, in points.
const SHORTEST: f64 = 13.0;
/// So much of the line is seen beside its words.
const SEEN: f64 = 11.0;
/// Points between places that are tried.
const STEP: f64 = 4.0;
/// Length of a link of the chain that keeps words off a line.
const LINK: f64 = 3.0;
/// More places are not tried.
const MOST: usize = 400;

/// From where a strip is measured, on the page.
pub(crate) struct Held {
    /// Rings, lines and points.
    edge: Vec<Vec<Coord>>,
    /// How far, in points.
    length: f64,
    /// Towards the wind that the strip is kept for.
    upwind: Option<Coord>,
}

impl Held {
    pub(crate) fn new(strip: &Strip, view: View) -> Held {
        let line = |line: &geo::LineString<f64>| -> Vec<Coord> {
            line.coords().copied().filter(is_usable).map(|c| view.to_page(c)).collect()
        };
        let upwind = match strip.wind {
            Some(Wind::From { degrees, .. }) if degrees.is_finite() => {
                let (sin, cos) = degrees.to_radians().sin_cos();
                Some(Coord { x: sin, y: -cos })
            }
            _ => None,
        };
        let edge = strip.edge.iter().map(line).collect();
        Held { edge, length: strip.metres * view.per_metre, upwind }
    }

    /// The point of the edge that is nearest to `p`.
    fn nearest(&self, p: Coord) -> Option<Coord> {
        let on_segment = |(a, b): (Coord, Coord)| {
            let (d, to) = (b - a, p - a);
            let along = (d.x * to.x + d.y * to.y) / (d.x * d.x + d.y * d.y).max(1e-12);
            a + d * along.clamp(0.0, 1.0)
        };
        let segments = self.edge.iter().flat_map(|line| {
            // A lone point is a line from itself to itself.
            let ends = line.iter().skip(1).chain(line.first().filter(|_| line.len() == 1));
            line.iter().copied().zip(ends.copied())
        });
        let far = |q: &Coord| (q.x - p.x).hypot(q.y - p.y);
        segments.map(on_segment).min_by(|a, b| far(a).total_cmp(&far(b)))
    }
}

impl Placer<'_> {
    /// Dimension lines of a strip that can be seen whole, best first: those that end on treated
    /// ground, then those towards it, level or upright rather than slanting.
    fn lines(&self, index: usize, on: &Shape, off: &[&Shape]) -> Vec<(Coord, Coord)> {
        let Some(held) = self.scene.held.get(index).filter(|held| held.length >= SHORTEST) else {
            return Vec::new();
        };
        let frame = self.scene.frame.grown(-3.0);
        let turf = self.scene.zones.iter().flatten().map(|zone| zone.bounds);
        let middle = turf.reduce(Bounds::union).map_or(frame.centre(), Bounds::centre);
        let mut lines: Vec<(i64, Coord, Coord)> = Vec::new();
        let outer = on.edges().flat_map(|(a, b)| {
            let count = ((b.x - a.x).hypot(b.y - a.y) / STEP).ceil().clamp(1.0, 200.0);
            (0..count as u32).map(move |step| a + (b - a) * (f64::from(step) / count))
        });
        for p in outer.filter(|p| frame.contains(*p)) {
            if lines.len() >= MOST {
                break;
            }
            let Some(from) = held.nearest(p).filter(|from| frame.contains(*from)) else { continue };
            let way = p - from;
            let length = way.x.hypot(way.y);
            // Elsewhere the strip ends for another reason: it was cut, or another takes over.
            if (length - held.length).abs() > 0.01 * held.length + 0.6 {
                continue;
            }
            let to = from + way * (held.length / length);
            let is_seen = |share: f64| {
                let at = from + way * share;
                on.contains(at) && !off.iter().any(|shape| shape.contains(at))
            };
            if ![0.15, 0.3, 0.45, 0.6, 0.75, 0.9].into_iter().all(is_seen) {
                continue;
            }
            let at_turf = self.scene.zones.iter().flatten().any(|zone| zone.is_near(to, 1.2));
            let slant = way.x.abs().min(way.y.abs()) / length;
            // A foot's length on the far side of a brook says nothing to who stands on the lawn.
            let off = to - middle;
            let far = off.x.hypot(off.y) / frame.width().max(frame.height());
            // For a wind it is shown where the strip faces it.
            let away = held.upwind.map_or(0.0, |to| 1.0 - (to.x * way.x + to.y * way.y) / length);
            let cost =
                i64::from(!at_turf) * 1_000 + (far * 200.0 + slant * 100.0 + away * 400.0) as i64;
            lines.push((cost, from, to));
        }
        lines.sort_by_key(|(cost, ..)| *cost);
        lines.into_iter().map(|(_, from, to)| (from, to)).collect()
    }

    /// Puts a dimension line with its words across the middle; whether there was room.
    pub(crate) fn dimensioned(
        &mut self,
        index: usize,
        on: &Shape,
        off: &[&Shape],
        wordings: &[Wording],
    ) -> bool {
        let lines = self.lines(index, on, off);
        let (small, large) = self.sized(0.85, 0.85);
        let sizes = [large, f64::midpoint(small, large), small];
        for size in sizes {
            for wording in wordings {
                let (width, height) = wording.size(size);
                for &(from, to) in &lines {
                    let bounds = Bounds::around((from + to) / 2.0, width, height);
                    if self.seen_beside(bounds, from, to) < SEEN
                        || !self.scene.frame.holds(bounds)
                        || !on.covers(bounds)
                        || off.iter().any(|shape| shape.touches(bounds))
                        || self.is_taken(bounds, from, to)
                    {
                        continue;
                    }
                    let says = Says::Words(wording.clone());
                    self.put(Placed {
                        bounds,
                        size,
                        says,
                        turned: false,
                        leader: None,
                        zone: None,
                    });
                    self.keep(from, to);
                    return true;
                }
            }
        }
        false
    }

    /// Puts a dimension line without words, if there is room.
    pub(crate) fn dimension(&mut self, index: usize, on: &Shape, off: &[&Shape]) {
        let lines = self.lines(index, on, off);
        let nothing = |from: Coord| Bounds::around(from, 0.0, 0.0);
        let free = lines.into_iter().find(|&(from, to)| !self.is_taken(nothing(from), from, to));
        if let Some((from, to)) = free {
            self.keep(from, to);
        }
    }

    fn keep(&mut self, from: Coord, to: Coord) {
        self.leaders.push((from, to));
        self.dimensions.push((from, to));
        // Words set on their ground keep clear of boxes, so the line becomes a chain of them.
        let way = to - from;
        let count = (way.x.hypot(way.y) / LINK).ceil().clamp(1.0, 400.0);
        self.taken.extend((0..count as u32).map(|link| {
            let at = from + way * ((f64::from(link) + 0.5) / count);
            Bounds::around(at, (way.x / count).abs().max(0.4), (way.y / count).abs().max(0.4))
        }));
    }

    /// Length of the line outside of the words in its middle.
    fn seen_beside(&self, words: Bounds, from: Coord, to: Coord) -> f64 {
        let way = to - from;
        let length = way.x.hypot(way.y);
        let reach = |side: f64, along: f64| side / along.abs().max(1e-9);
        let hidden = reach(words.width(), way.x).min(reach(words.height(), way.y)).min(1.0);
        length * (1.0 - hidden)
    }

    /// Whether the words or the line would lie on something that is already there. The sign of
    /// what it is measured from may be in the way.
    fn is_taken(&self, words: Bounds, from: Coord, to: Coord) -> bool {
        let spaced = words.grown(1.0);
        let is_its_sign = |taken: &Bounds| {
            let off = taken.centre() - from;
            off.x.hypot(off.y) < 0.5
        };
        self.taken.iter().any(|taken| {
            taken.overlaps(spaced) || (!is_its_sign(taken) && taken.is_crossed_by(from, to))
        }) || self
            .leaders
            .iter()
            .any(|&(a, b)| spaced.is_crossed_by(a, b) || crate::lead::cross(a, b, from, to))
    }
}

/// Draws a dimension line.
pub(crate) fn draw(canvas: &mut Canvas, from: Coord, to: Coord) {
    let along = to - from;
    let length = along.x.hypot(along.y);
    if length <= 0.0 {
        return;
    }
    let along = along / length;
    let side = Coord { x: -along.y, y: along.x };
    let mut lines = String::new();
    push_segment(&mut lines, from, to);
    let mut heads = String::new();
    for (end, inwards) in [(from, along), (to, along * -1.0)] {
        push_segment(&mut lines, end + side * ACROSS, end - side * ACROSS);
        let foot = end + inwards * HEAD.min(length / 2.0);
        for (step, at) in ['M', 'L', 'L'].iter().zip([end, foot + side * HALF, foot - side * HALF])
        {
            heads.push_str(&format!("{step}{} {}", number(at.x), number(at.y)));
        }
        heads.push('Z');
    }
    canvas.path(&lines, r##"stroke="#fff" stroke-width="2.4""##);
    canvas
        .path(&lines, &format!(r#"stroke="{STRIP_INK}" stroke-width=".8" data-dimension="line""#));
    canvas.path(&heads, &format!(r#"fill="{STRIP_INK}""#));
}
