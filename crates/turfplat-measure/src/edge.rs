//! Boundaries cut into pieces that run from south to north without turning back: segments and
//! exact circular arcs, each with one x for each y.

use std::f64::consts::{FRAC_PI_2, PI};

use geo::Coord;

use crate::growth::{Loop, Source, Stretch};

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
    pub(crate) winding: i16,
    /// The corners with which it moves.
    pub(crate) source: Source,
}

#[derive(Clone, Copy, Debug)]
enum Curve {
    /// From its lower end; `top` is the x of the upper one, which rounding of the slope may miss.
    Line { bottom: Coord<f64>, slope: f64, top: f64 },
    /// `side` is 1 for the eastern half of the circle, −1 for the western.
    Arc { centre: Coord<f64>, radius: f64, side: f64 },
}

/// Where nobody will ask.
const NO_SOURCE: Source = [u32::MAX; 2];

/// What is no higher than this, in metres, is level: it bounds an outline but next to no area,
/// and where along it others cross it is beyond 64-bit arithmetic.
pub(crate) const LEVEL: f64 = 1e-9;

/// Nearer than this, in metres, two edges may be together but for rounding.
pub(crate) const CLOSE: f64 = 1e-7;

/// Closed curves as edges.
#[derive(Clone, Debug, Default)]
pub(crate) struct Boundary {
    pub(crate) edges: Vec<Edge>,
    /// The heights of level stretches, from and to.
    pub(crate) levels: Vec<(f64, f64)>,
}

impl Boundary {
    /// Adds the edges of a closed curve.
    pub(crate) fn add(&mut self, outline: &Loop) {
        let mut from = outline.start;
        for stretch in &outline.stretches {
            match *stretch {
                Stretch::Line { to, source } => {
                    self.add_line(from, to, source);
                    from = to;
                }
                Stretch::Arc { centre, radius, turn, to, source } => {
                    self.add_arc((from, to), centre, radius, turn, source);
                    from = to;
                }
            }
        }
    }

    fn add_line(&mut self, from: Coord<f64>, to: Coord<f64>, source: Source) {
        if (from.y - to.y).abs() <= LEVEL {
            self.levels.push((from.y.min(to.y), from.y.max(to.y)));
        }
        self.edges.extend(Edge::line(from, to).map(|edge| Edge { source, ..edge }));
    }

    /// Cuts a counter-clockwise arc at its top and bottom: each piece then has one x for each y.
    fn add_arc(
        &mut self,
        (from, to): (Coord<f64>, Coord<f64>),
        centre: Coord<f64>,
        radius: f64,
        turn: f64,
        source: Source,
    ) {
        let begin = (from.y - centre.y).atan2(from.x - centre.x);
        let end = begin + turn;
        // Quarter-turn heights π/2 + kπ strictly between the two ends.
        let mut cut = ((begin - FRAC_PI_2) / PI).floor() * PI + PI + FRAC_PI_2;
        let (mut angle, mut place) = (begin, from);
        loop {
            // Also where the turn is no number.
            let last = end.partial_cmp(&cut) != Some(std::cmp::Ordering::Greater);
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
                let reach = centre.x + side * radius;
                // Only a piece that passes the middle height bulges out to it.
                let bulges = low <= centre.y && high >= centre.y;
                let reach = if bulges { reach } else { place.x };
                self.edges.push(Edge {
                    low,
                    high,
                    west: place.x.min(next.x).min(reach),
                    east: place.x.max(next.x).max(reach),
                    curve: Curve::Arc { centre, radius, side },
                    winding,
                    source,
                });
            }
            if last {
                return;
            }
            (angle, place) = (next_angle, next);
            cut += PI;
        }
    }
}

impl Edge {
    /// The edge along a side; `None` along a level one, which bounds no height: the edges at its
    /// ends say all.
    #[inline]
    pub(crate) fn line(from: Coord<f64>, to: Coord<f64>) -> Option<Edge> {
        let (bottom, top, winding) = match from.y.partial_cmp(&to.y)? {
            std::cmp::Ordering::Less => (from, to, -1),
            std::cmp::Ordering::Greater => (to, from, 1),
            std::cmp::Ordering::Equal => return None,
        };
        let slope = (top.x - bottom.x) / (top.y - bottom.y);
        let (west, east) = if bottom.x < top.x { (bottom.x, top.x) } else { (top.x, bottom.x) };
        Some(Edge {
            low: bottom.y,
            high: top.y,
            west,
            east,
            // Steeper than a double can say means as good as level: upright is as good.
            curve: Curve::Line {
                bottom,
                slope: if slope.is_finite() { slope } else { 0.0 },
                top: top.x,
            },
            winding,
            source: NO_SOURCE,
        })
    }

    /// Centre and radius of an arc.
    pub(crate) fn circle(&self) -> Option<(Coord<f64>, f64)> {
        match self.curve {
            Curve::Line { .. } => None,
            Curve::Arc { centre, radius, .. } => Some((centre, radius)),
        }
    }

    /// True if the ground inside its circle lies to the left when it is passed upwards.
    pub(crate) fn is_eastern(&self) -> bool {
        matches!(self.curve, Curve::Arc { side, .. } if side > 0.0)
    }

    #[inline]
    pub(crate) fn is_straight(&self) -> bool {
        matches!(self.curve, Curve::Line { .. })
    }

    /// An upright edge at `x` that winds as this one does: where only the winding counts.
    pub(crate) fn upright(&self, x: f64, low: f64, high: f64) -> Edge {
        let bottom = Coord { x, y: low };
        let curve = Curve::Line { bottom, slope: 0.0, top: x };
        Edge { low, high, west: x, east: x, curve, ..*self }
    }

    /// The piece of it between two of its heights, crossed with `winding`.
    pub(crate) fn piece(&self, low: f64, high: f64, winding: i16) -> Edge {
        let (a, b) = (self.x_at(low), self.x_at(high));
        let (mut west, mut east) = (a.min(b), a.max(b));
        let mut curve = self.curve;
        match &mut curve {
            Curve::Line { top, .. } => *top = b,
            Curve::Arc { centre, radius, side } if (low..=high).contains(&centre.y) => {
                let reach = centre.x + *side * *radius;
                (west, east) = (west.min(reach), east.max(reach));
            }
            Curve::Arc { .. } => {}
        }
        Edge { low, high, west, east, curve, winding, ..*self }
    }

    /// Its x at height `y`.
    #[inline]
    pub(crate) fn x_at(&self, y: f64) -> f64 {
        match self.curve {
            Curve::Line { bottom, slope, top } => {
                if y >= self.high {
                    top
                } else {
                    bottom.x + (y - bottom.y) * slope
                }
            }
            Curve::Arc { centre, radius, side } => {
                let t = y - centre.y;
                centre.x + side * ((radius - t) * (radius + t)).max(0.0).sqrt()
            }
        }
    }

    /// The integral of x − `from` over the heights from `low` to `high`, and the length between
    /// them: exact for both curves.
    pub(crate) fn integral_and_length(&self, low: f64, high: f64, from: f64) -> (f64, f64) {
        let height = high - low;
        match self.curve {
            Curve::Line { .. } => {
                let (a, b) = (self.x_at(low), self.x_at(high));
                let run = b - a;
                (((a - from) + (b - from)) / 2.0 * height, (run * run + height * height).sqrt())
            }
            Curve::Arc { centre, radius, side } => {
                // Twice the ground between the arc and the upright through its centre, and the
                // angle: from both sides of its triangle, for near the top a sine alone loses half
                // of its digits.
                let up_to = |y: f64| {
                    let t = (y - centre.y).clamp(-radius, radius);
                    let half_chord = ((radius - t) * (radius + t)).sqrt();
                    let angle = t.atan2(half_chord);
                    (t * half_chord + radius * radius * angle, angle)
                };
                let ((below, start), (above, end)) = (up_to(low), up_to(high));
                let integral = (centre.x - from) * height + side * (above - below) / 2.0;
                (integral, radius * (end - start))
            }
        }
    }

    /// The westernmost and easternmost x between two heights, each with its own x.
    #[inline]
    pub(crate) fn extent(&self, (low, x): (f64, f64), (high, other): (f64, f64)) -> (f64, f64) {
        let (west, east) = if x < other { (x, other) } else { (other, x) };
        match self.curve {
            Curve::Arc { centre, radius, side } if low < centre.y && centre.y < high => {
                let bulge = centre.x + side * radius;
                if side > 0.0 { (west, bulge) } else { (bulge, east) }
            }
            _ => (west, east),
        }
    }

    /// Calls `add` with heights at which this edge and `other` may change sides between two
    /// heights, for each of which it is known how far east of `other` this one is.
    pub(crate) fn crossings(
        &self,
        other: &Edge,
        (low, below): (f64, f64),
        (high, above): (f64, f64),
        add: &mut impl FnMut(f64),
    ) {
        let mut found = false;
        let mut add_between = |y: f64| {
            if y > low && y < high {
                found = true;
                add(y);
            }
        };
        let apart = self.west > other.east + CLOSE || other.west > self.east + CLOSE;
        match (self.curve, other.curve) {
            _ if apart => {}
            (Curve::Line { .. }, Curve::Line { .. }) => {
                if below * above < 0.0 {
                    add_between(low + (high - low) * (below / (below - above)));
                }
            }
            (Curve::Line { .. }, Curve::Arc { centre, radius, .. }) => {
                self.line_meets_circle(centre, radius, &mut add_between)
            }
            (Curve::Arc { centre, radius, .. }, Curve::Line { .. }) => {
                other.line_meets_circle(centre, radius, &mut add_between)
            }
            (Curve::Arc { centre: c, radius: r, .. }, Curve::Arc { centre: k, radius: s, .. }) => {
                let between = k - c;
                let apart = between.x.hypot(between.y);
                if apart > 0.0 {
                    let along = ((r - s) * (r + s) + apart * apart) / (2.0 * apart);
                    let across = ((r - along) * (r + along)).max(0.0).sqrt();
                    let foot = c.y + along * between.y / apart;
                    add_between(foot + across * between.x / apart);
                    add_between(foot - across * between.x / apart);
                }
            }
        }
        // Rounding has carried it beyond the end that it is next to; there is as good.
        if !found && below * above < 0.0 {
            add(if below.abs() < above.abs() { low } else { high });
        }
    }

    fn line_meets_circle(&self, centre: Coord<f64>, radius: f64, add: &mut impl FnMut(f64)) {
        let Curve::Line { bottom, top, .. } = self.curve else { return };
        let (start, end) = (bottom - centre, Coord { x: top, y: self.high } - centre);
        // A side that ends inside at both ends stays inside.
        let within = |place: Coord<f64>| {
            place.x * place.x + place.y * place.y < radius * radius * (1.0 - 1e-12)
        };
        if within(start) && within(end) {
            return;
        }
        // Along the line from its foot nearest the centre: no slope, so a level line is no worse.
        let run = end - start;
        let u = run / run.x.hypot(run.y);
        let along = -(start.x * u.x + start.y * u.y);
        let off = start.x * u.y - start.y * u.x;
        let half_chord = ((radius - off) * (radius + off)).max(0.0).sqrt();
        add(bottom.y + (along - half_chord) * u.y);
        add(bottom.y + (along + half_chord) * u.y);
    }
}
