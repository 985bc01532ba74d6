//! To which side ground is kept. A setback reaches all round; what drifts, only with the wind, so that
//! ground is kept on the side from which it blows. What is kept is then the sum of a shape and a half-disc
//! in place of a disc: both are convex, so the boundary of the one is found as that of the other, by how
//! far it reaches along the normal of a side and by a walk over its boundary at a corner.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use geo::Coord;
use turfplat_units::Length;

use crate::growth::{Loop, Source, Stretch};

/// How far ground is kept from a shape, and to which side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Growth {
    by: Length,
    /// A unit vector towards the middle of the half that is kept.
    facing: Option<Coord<f64>>,
}

impl From<Length> for Growth {
    /// All round.
    fn from(by: Length) -> Growth {
        Growth { by, facing: None }
    }
}

impl Growth {
    /// On one side only: what lies within `by` of a place of the shape, in the half of the disc round it
    /// that faces `azimuth`, in degrees from the plane's north by east. Every side of the shape that faces
    /// that way at all, be it aslant, keeps the whole distance.
    pub fn towards(by: Length, azimuth: f64) -> Growth {
        let (x, y) = azimuth.to_radians().sin_cos();
        Growth { by, facing: (by > Length::ZERO).then_some(Coord { x, y }) }
    }

    /// How far.
    pub fn by(self) -> Length {
        self.by
    }

    pub(crate) fn is_all_round(self) -> bool {
        self.facing.is_none()
    }

    /// Farther by so many metres, if it keeps anything at all.
    pub(crate) fn farther(self, metres: f64) -> Growth {
        let by = if self.by > Length::ZERO { self.by.metres() + metres } else { 0.0 };
        Growth { by: Length::from_metres(by).unwrap_or(self.by), ..self }
    }

    /// The same about an origin turned counter-clockwise by radians.
    pub(crate) fn turned(self, turn: f64) -> Growth {
        let (sin, cos) = turn.sin_cos();
        let turned =
            |to: Coord<f64>| Coord { x: to.x * cos - to.y * sin, y: to.x * sin + to.y * cos };
        Growth { facing: self.facing.map(turned), ..self }
    }
}

/// What is added to every place of a bare outline: a disc, or a disc and a half-disc.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Kernel {
    /// The radius of the disc, all round, in metres: half the width of a strip, and the setback.
    round: f64,
    /// The radius of the half-disc beside it, and where it faces.
    half: Option<(f64, Coord<f64>)>,
}

/// Angles nearer than this, in radians, are one but for rounding.
const ROUNDING: f64 = 1e-9;

impl Kernel {
    /// Nothing is added.
    pub(crate) const NOTHING: Kernel = Kernel { round: 0.0, half: None };

    /// Of ground that reaches `radius` metres all round before it is grown.
    pub(crate) fn of(radius: f64, growth: Growth) -> Kernel {
        let by = growth.by.metres();
        match growth.facing {
            None => Kernel { round: radius + by, half: None },
            Some(facing) => Kernel { round: radius, half: Some((by, facing)) },
        }
    }

    /// The radius of a kernel that is a disc.
    pub(crate) fn radius(&self) -> Option<f64> {
        self.half.is_none().then_some(self.round)
    }

    /// True if nothing is added.
    pub(crate) fn is_nothing(&self) -> bool {
        self.round <= 0.0 && self.half.is_none()
    }

    /// The place of the kernel that reaches farthest along a unit vector.
    #[inline]
    pub(crate) fn support(&self, normal: Coord<f64>) -> Coord<f64> {
        let round = normal * self.round;
        let Some((by, facing)) = self.half else { return round };
        round + middle(by, facing, angle(facing, normal)) + on_arc(by, facing, normal)
    }

    /// Round a corner at `p` from the normal `from` to the normal `to`, counter-clockwise by `turn`: the
    /// boundary of the kernel from the one's support to the other's.
    pub(crate) fn walk(
        &self,
        p: Coord<f64>,
        [from, to]: [Coord<f64>; 2],
        turn: f64,
        source: Source,
        stretches: &mut Vec<Stretch>,
    ) {
        let end = p + self.support(to);
        let Some((by, facing)) = self.half else {
            let (centre, radius) = (p, self.round);
            stretches.push(Stretch::Arc { centre, radius, turn, to: end, source });
            return;
        };
        // From where the half-disc faces, counter-clockwise: along a quarter turn to each side its arc
        // reaches farthest, beyond that one end of its flat side, and at the back both at once.
        let begin = angle(facing, from);
        let last = begin + turn;
        let bends = [-FRAC_PI_2, FRAC_PI_2, PI, PI + FRAC_PI_2, TAU + FRAC_PI_2, TAU + PI];
        let mut at = begin;
        let bends = bends.into_iter().filter(|bend| *bend > begin && *bend < last).chain([last]);
        for bend in bends {
            let halfway = angle_within((at + bend) / 2.0);
            let is_on_arc = halfway.abs() < FRAC_PI_2;
            let radius = self.round + if is_on_arc { by } else { 0.0 };
            let centre = p + middle(by, facing, halfway);
            let to = centre + turned(facing, bend) * radius;
            if radius > 0.0 && bend > at {
                stretches.push(Stretch::Arc { centre, radius, turn: bend - at, to, source });
            } else {
                stretches.push(Stretch::Line { to, source });
            }
            if (angle_within(bend).abs() - PI).abs() < ROUNDING && bend < last {
                let to = p
                    + middle(by, facing, -FRAC_PI_2 - ROUNDING)
                    + turned(facing, bend) * self.round;
                stretches.push(Stretch::Line { to, source });
            }
            at = bend;
        }
        // Where the normal at the end is that of the flat side, rounding says which end of it was meant.
        match stretches.last_mut() {
            Some(Stretch::Line { to, .. } | Stretch::Arc { to, .. })
                if (to.x - end.x).hypot(to.y - end.y) <= ROUNDING * (1.0 + self.round + by) =>
            {
                *to = end;
            }
            _ => stretches.push(Stretch::Line { to: end, source }),
        }
    }

    /// The kernel round one place.
    pub(crate) fn alone(&self, p: Coord<f64>, source: Source) -> Option<Loop> {
        if self.is_nothing() {
            return None;
        }
        let normal = self.half.map_or(Coord { x: 1.0, y: 0.0 }, |(_, facing)| facing);
        let mut stretches = Vec::new();
        self.walk(p, [normal, normal], TAU, source, &mut stretches);
        Some(Loop { start: p + self.support(normal), stretches })
    }
}

/// The angle from where a half-disc faces to a normal, above −π and up to π.
fn angle(facing: Coord<f64>, normal: Coord<f64>) -> f64 {
    let along = facing.x * normal.x + facing.y * normal.y;
    let across = facing.x * normal.y - facing.y * normal.x;
    let angle = across.atan2(along);
    if angle <= -PI { PI } else { angle }
}

fn angle_within(angle: f64) -> f64 {
    let angle = angle.rem_euclid(TAU);
    if angle > PI { angle - TAU } else { angle }
}

/// The centre of the arc that bounds a half-disc, widened by a disc, at an angle from where it faces: its
/// own centre in front, the ends of its flat side behind.
fn middle(by: f64, facing: Coord<f64>, angle: f64) -> Coord<f64> {
    let left = Coord { x: -facing.y, y: facing.x };
    match angle {
        _ if angle.abs() < FRAC_PI_2 => Coord { x: 0.0, y: 0.0 },
        _ if angle > 0.0 => left * by,
        _ => left * -by,
    }
}

/// How far the arc of a half-disc reaches along a normal; nothing where an end of its flat side does.
fn on_arc(by: f64, facing: Coord<f64>, normal: Coord<f64>) -> Coord<f64> {
    if angle(facing, normal).abs() < FRAC_PI_2 { normal * by } else { Coord { x: 0.0, y: 0.0 } }
}

fn turned(facing: Coord<f64>, angle: f64) -> Coord<f64> {
    let (sin, cos) = angle.sin_cos();
    Coord { x: facing.x * cos - facing.y * sin, y: facing.x * sin + facing.y * cos }
}
