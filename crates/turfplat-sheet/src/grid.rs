//! Why the frame counts: whoever stands on the ground finds a place again by feet or metres
//! from a corner of the lot, with a tape, and the same numbers stand on every sheet.

use geo::Coord;
use turfplat_units::UnitSystem;

use crate::canvas::{Anchor, Canvas, GREY, INK, Type, number, push_segment};
use crate::map::SprayMap;
use crate::scale::{View, metres_in};
use crate::shape::{Bounds, is_usable};

/// Thickness of the ruler round the map, in points.
const THICK: f64 = 3.0;
/// Size of its numbers.
const SIZE: f64 = 5.6;
/// Least distance between numbers.
const APART: f64 = 60.0;
/// No number stands nearer to a corner of the frame.
const CORNER: f64 = 16.0;
/// Length of a tick.
const TICK: f64 = 4.0;

/// The local grid: lengths east and north of a corner of the lot.
pub(crate) struct Grid {
    origin: Coord,
    /// One block of the ruler, in metres.
    step: f64,
    /// Every so many blocks have a number.
    every: i64,
    units: UnitSystem,
    /// Size of its numbers, in points.
    size: f64,
}

/// A line of the grid where it meets the frame.
struct Line {
    at: f64,
    text: String,
}

impl Grid {
    pub(crate) fn new(map: &SprayMap, view: View) -> Grid {
        let step = view.frame_step(map.units);
        let wanted = APART / (step * view.per_metre);
        let every = [1, 2, 5, 10].into_iter().find(|&n| n as f64 >= wanted).unwrap_or(20);
        Grid { origin: origin(map), step, every, units: map.units, size: SIZE }
    }

    /// With numbers no smaller than that, in points.
    pub(crate) fn no_smaller(self, size: f64) -> Grid {
        Grid { size: self.size.max(size), ..self }
    }

    /// One block of the ruler, in metres.
    pub(crate) fn step(&self) -> f64 {
        self.step
    }

    /// Where it counts from, on the page.
    pub(crate) fn zero(&self, view: View) -> Coord {
        view.to_page(self.origin)
    }

    /// Numbered lines that run up the page, by their x; and those across, by their y.
    fn lines(&self, view: View, inner: Bounds) -> (Vec<Line>, Vec<Line>) {
        let zero = self.zero(view);
        let gap = self.step * self.every as f64 * view.per_metre;
        let decimals = usize::from(self.step < metres_in(self.units));
        let line = |k: i64, at: f64| {
            let value = (k * self.every) as f64 * self.step / metres_in(self.units);
            let text = turfplat_units::decimal(value, decimals).replace('-', "\u{2212}");
            Line { at, text }
        };
        let within = |from: f64, to: f64| (from / gap).ceil() as i64..=(to / gap).floor() as i64;
        let (left, right) = (inner.x0 + CORNER - zero.x, inner.x1 - CORNER - zero.x);
        let up = within(left, right).map(|k| line(k, zero.x + k as f64 * gap)).collect();
        let (low, high) = (zero.y - inner.y1 + CORNER, zero.y - inner.y0 - CORNER);
        let across = within(low, high).map(|k| line(k, zero.y - k as f64 * gap)).collect();
        (up, across)
    }

    /// Boxes of all numbers, which no label may cover.
    pub(crate) fn reserved(&self, view: View, inner: Bounds) -> Vec<Bounds> {
        let (up, across) = self.lines(view, inner);
        let width = |line: &Line| crate::font::width(&line.text, self.size, false) + 4.0;
        let high = self.size + 2.4;
        let foot = up.iter().map(|line| Bounds::new(line.at, inner.y1 - high, width(line), high));
        let side = across
            .iter()
            .map(|line| Bounds::new(inner.x0, line.at - high, width(line), high + 1.0));
        foot.chain(side).collect()
    }

    /// The frame is a ruler: black and white by turns, one step each, in line with the grid.
    pub(crate) fn frame(&self, canvas: &mut Canvas, view: View, inner: Bounds) {
        let line = format!(r#"fill="none" stroke="{INK}" stroke-width=".5""#);
        canvas.rect(inner.grown(THICK), &line);
        canvas.rect(inner, &line);
        let zero = self.zero(view);
        let gap = self.step * view.per_metre;
        // Parts of a side that are black, from one end to the other.
        let black = |from: f64, to: f64, zero: f64| {
            let first = ((from - zero) / gap).floor() as i64;
            let last = ((to - zero) / gap).floor() as i64;
            (first..=last).filter(|k| k.rem_euclid(2) == 0).filter_map(move |k| {
                let start = zero + k as f64 * gap;
                let (start, end) = (start.max(from), (start + gap).min(to));
                (end - start > 0.01).then_some((start, end - start))
            })
        };
        let mut d = String::new();
        let mut block = |x: f64, y: f64, wide: f64, high: f64| {
            let (x, y, wide, high) = (number(x), number(y), number(wide), number(high));
            d.push_str(&format!("M{x} {y}h{wide}v{high}h-{wide}z"));
        };
        for (x, wide) in black(inner.x0, inner.x1, zero.x) {
            block(x, inner.y1, wide, THICK);
            block(x, inner.y0 - THICK, wide, THICK);
        }
        // Counted upwards, so the blocks begin at the foot.
        for (up, high) in black(-inner.y1, -inner.y0, -zero.y) {
            block(inner.x0 - THICK, -up - high, THICK, high);
            block(inner.x1, -up - high, THICK, high);
        }
        canvas.path(&d, &format!(r#"fill="{INK}""#));
    }

    /// Ticks, numbers and the corner they count from, over the map.
    pub(crate) fn numbers(&self, canvas: &mut Canvas, view: View, inner: Bounds) {
        let (up, across) = self.lines(view, inner);
        let mut ticks = String::new();
        for Line { at, .. } in &up {
            for (edge, way) in [(inner.y0, TICK), (inner.y1, -TICK)] {
                let from = Coord { x: *at, y: edge };
                push_segment(&mut ticks, from, Coord { y: edge + way, ..from });
            }
        }
        for Line { at, .. } in &across {
            for (edge, way) in [(inner.x0, TICK), (inner.x1, -TICK)] {
                let from = Coord { x: edge, y: *at };
                push_segment(&mut ticks, from, Coord { x: edge + way, ..from });
            }
        }
        canvas.path(&ticks, &format!(r#"stroke="{INK}" stroke-width=".6""#));
        let set = Type::new(self.size).ink(GREY).anchor(Anchor::Start).halo();
        let zero = self.zero(view);
        let at_zero = |x: f64, y: f64, text: &str| {
            let size = self.size;
            let words = Bounds::new(x, y - size, crate::font::width(text, size, false), size);
            words.grown(3.0).contains(zero)
        };
        let foot = up.iter().map(|line| (line.at + 1.6, inner.y1 - 2.0, &line.text));
        let side = across.iter().map(|line| (inner.x0 + 1.8, line.at - 1.6, &line.text));
        // A number is not set across the very mark that it is counted from.
        for (x, y, text) in foot.chain(side).filter(|(x, y, text)| !at_zero(*x, *y, text)) {
            canvas.text(x, y, set, text);
        }
        if inner.contains(zero) {
            mark(canvas, zero);
        }
    }
}

/// The corner of the lot, or without a lot of the turf, that lies farthest to the southwest.
fn origin(map: &SprayMap) -> Coord {
    let corners = |shapes: &mut dyn Iterator<Item = &geo::MultiPolygon<f64>>| {
        let all = shapes.flat_map(|shape| shape.iter().flat_map(|p| p.exterior().coords()));
        all.copied().filter(is_usable).min_by(|a, b| (a.x + a.y).total_cmp(&(b.x + b.y)))
    };
    corners(&mut std::iter::once(&map.lot))
        .or_else(|| corners(&mut map.zones.iter().map(|zone| &zone.drawn)))
        .unwrap_or_default()
}

/// The corner from which the numbers of the frame count.
pub(crate) fn mark(canvas: &mut Canvas, at: Coord) {
    let look = format!(r##"fill="#fff" stroke="{INK}" stroke-width="1""##);
    canvas.rect(Bounds::around(at, 4.6, 4.6), &look);
}
