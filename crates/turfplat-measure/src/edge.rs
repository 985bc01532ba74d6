//! Boundaries cut into pieces that run from south to north without turning back: segments and
//! exact circular arcs, each with one x for each y.

use std::f64::consts::{FRAC_PI_2, PI};

use geo::Coord;

use crate::growth::{Loop, Stretch};

/// A piece of a boundary that runs from one height to another without turning back.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    /// Where it starts and ends, south to north; `low < high`.
    pub(crate) low: f64,
    pub(crate) high: f64,
    /// Its westernmost and easternmost reach.
    pub(crate) west: f64,
    pub(crate) east: f64,
    curve: Curve,
    /// What crossing it eastwards adds to the winding number.
    pub(crate) winding: i32,
    /// Which set it bounds.
    pub(crate) set: usize,
}

#[derive(Clone, Copy, Debug)]
enum Curve {
    Line {
        bottom: Coord<f64>,
        top: Coord<f64>,
    },
    /// `side` is 1 for the eastern half of the circle, −1 for the western.
    Arc {
        centre: Coord<f64>,
        radius: f64,
        side: f64,
    },
}

impl Edge {
    /// Adds the edges of a closed curve that bounds `set`.
    pub(crate) fn of_loop(outline: &Loop, set: usize, edges: &mut Vec<Edge>) {
        let mut from = outline.start;
        for stretch in &outline.stretches {
            match *stretch {
                Stretch::Line { to } => {
                    edges.extend(Edge::line(from, to, set));
                    from = to;
                }
                Stretch::Arc { centre, radius, turn, to } => {
                    Edge::arc(from, to, centre, radius, turn, set, edges);
                    from = to;
                }
            }
        }
    }

    fn line(from: Coord<f64>, to: Coord<f64>, set: usize) -> Option<Edge> {
        // A level edge bounds no height: the edges at its ends say all.
        let (bottom, top, winding) = match from.y.partial_cmp(&to.y)? {
            std::cmp::Ordering::Less => (from, to, -1),
            std::cmp::Ordering::Greater => (to, from, 1),
            std::cmp::Ordering::Equal => return None,
        };
        Some(Edge {
            low: bottom.y,
            high: top.y,
            west: bottom.x.min(top.x),
            east: bottom.x.max(top.x),
            curve: Curve::Line { bottom, top },
            winding,
            set,
        })
    }

    /// Cuts a counter-clockwise arc at its top and bottom: each piece then has one x for each y.
    fn arc(
        from: Coord<f64>,
        to: Coord<f64>,
        centre: Coord<f64>,
        radius: f64,
        turn: f64,
        set: usize,
        edges: &mut Vec<Edge>,
    ) {
        let begin = (from.y - centre.y).atan2(from.x - centre.x);
        let end = begin + turn;
        // Quarter-turn heights π/2 + kπ strictly between the two ends.
        let mut cut = ((begin - FRAC_PI_2) / PI).floor() * PI + PI + FRAC_PI_2;
        let (mut angle, mut place) = (begin, from);
        loop {
            let last = cut >= end;
            let next_angle = if last { end } else { cut };
            let next = if last {
                to
            } else {
                Coord { x: centre.x, y: centre.y + radius * cut.sin().signum() }
            };
            let side = ((angle + next_angle) / 2.0).cos().signum();
            let (low, high, winding) =
                if side > 0.0 { (place.y, next.y, -1) } else { (next.y, place.y, 1) };
            // A piece thinner than rounding may come out upside down; it bounds nothing.
            if low < high {
                let reach = if side > 0.0 { centre.x + radius } else { centre.x - radius };
                edges.push(Edge {
                    low,
                    high,
                    west: place.x.min(next.x).min(reach),
                    east: place.x.max(next.x).max(reach),
                    curve: Curve::Arc { centre, radius, side },
                    winding,
                    set,
                });
            }
            if last {
                return;
            }
            (angle, place) = (next_angle, next);
            cut += PI;
        }
    }

    /// The same edge as a bound of another set.
    pub(crate) fn of_set(self, set: usize) -> Edge {
        Edge { set, ..self }
    }

    /// The piece of it between two of its heights, crossed with `winding`.
    pub(crate) fn piece(&self, low: f64, high: f64, winding: i32) -> Edge {
        let (a, b) = (self.x_at(low), self.x_at(high));
        let (mut west, mut east) = (a.min(b), a.max(b));
        if let Curve::Arc { centre, radius, side } = self.curve
            && (low..=high).contains(&centre.y)
        {
            (west, east) = (west.min(centre.x + side * radius), east.max(centre.x + side * radius));
        }
        Edge { low, high, west, east, winding, ..*self }
    }

    /// Its x at height `y`.
    pub(crate) fn x_at(&self, y: f64) -> f64 {
        match self.curve {
            Curve::Line { bottom, top } => {
                if y >= top.y {
                    top.x
                } else {
                    bottom.x + (y - bottom.y) / (top.y - bottom.y) * (top.x - bottom.x)
                }
            }
            Curve::Arc { centre, radius, side } => {
                let t = y - centre.y;
                centre.x + side * ((radius - t) * (radius + t)).max(0.0).sqrt()
            }
        }
    }

    /// The integral of x over the heights from `low` to `high`: exact for both curves.
    pub(crate) fn integral(&self, low: f64, high: f64) -> f64 {
        match self.curve {
            Curve::Line { .. } => (self.x_at(low) + self.x_at(high)) / 2.0 * (high - low),
            Curve::Arc { centre, radius, side } => {
                let primitive = |y: f64| {
                    let t = (y - centre.y).clamp(-radius, radius);
                    (t * ((radius - t) * (radius + t)).sqrt()
                        + radius * radius * (t / radius).asin())
                        / 2.0
                };
                centre.x * (high - low) + side * (primitive(high) - primitive(low))
            }
        }
    }

    /// Its length between two heights.
    pub(crate) fn length(&self, low: f64, high: f64) -> f64 {
        match self.curve {
            Curve::Line { .. } => (self.x_at(high) - self.x_at(low)).hypot(high - low),
            Curve::Arc { centre, radius, .. } => {
                let angle = |y: f64| ((y - centre.y) / radius).clamp(-1.0, 1.0).asin();
                radius * (angle(high) - angle(low))
            }
        }
    }

    /// Heights at which this edge and `other` may change sides. One too many does no harm.
    pub(crate) fn crossings(&self, other: &Edge, heights: &mut Vec<f64>) {
        let (low, high) = (self.low.max(other.low), self.high.min(other.high));
        if low >= high {
            return;
        }
        let mut add = |y: f64| {
            if y > low && y < high {
                heights.push(y);
            }
        };
        match (self.curve, other.curve) {
            (Curve::Line { .. }, Curve::Line { .. }) => {
                let (below, above) =
                    (self.x_at(low) - other.x_at(low), self.x_at(high) - other.x_at(high));
                if below * above < 0.0 {
                    add(low + (high - low) * (below / (below - above)));
                }
            }
            (Curve::Line { .. }, Curve::Arc { centre, radius, .. }) => {
                self.line_meets_circle(centre, radius, &mut add)
            }
            (Curve::Arc { centre, radius, .. }, Curve::Line { .. }) => {
                other.line_meets_circle(centre, radius, &mut add)
            }
            (Curve::Arc { centre: c, radius: r, .. }, Curve::Arc { centre: k, radius: s, .. }) => {
                let between = k - c;
                let apart = between.x.hypot(between.y);
                if apart == 0.0 {
                    return;
                }
                let along = ((r - s) * (r + s) + apart * apart) / (2.0 * apart);
                let across = ((r - along) * (r + along)).max(0.0).sqrt();
                let foot = c.y + along * between.y / apart;
                add(foot + across * between.x / apart);
                add(foot - across * between.x / apart);
            }
        }
    }

    fn line_meets_circle(&self, centre: Coord<f64>, radius: f64, add: &mut impl FnMut(f64)) {
        // Along the line from its foot nearest the centre: no slope, so a level line is no worse.
        let Curve::Line { bottom: start, top: end } = self.curve else { return };
        let run = end - start;
        let length = run.x.hypot(run.y);
        let u = run / length;
        let to_centre = centre - start;
        let along = to_centre.x * u.x + to_centre.y * u.y;
        let off = to_centre.x * u.y - to_centre.y * u.x;
        let half_chord = ((radius - off) * (radius + off)).max(0.0).sqrt();
        add(start.y + (along - half_chord) * u.y);
        add(start.y + (along + half_chord) * u.y);
    }
}
