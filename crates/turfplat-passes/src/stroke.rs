//! The ground that a path covers: a rectangle for each stretch, square at the path's ends, and a
//! round piece where it turns.
//!
//! A ring for each rectangle would do, but a hundred of them that all but coincide take an overlay
//! ten times as long as one ring that goes along the path's right side and back on its left.

use std::f64::consts::PI;

use geo::{Coord, LineString, MultiPolygon, Polygon};

use crate::plane::{cross, dot, left, length, unit};

/// A chord of a round piece spans at most this, in radians; it falls short by 1 part in 500.
const STEP: f64 = 0.13;
/// So many stretches make a ring, so that what lies beside one of them need not look at all.
const STRETCHES: usize = 16;

struct Stretch {
    from: Coord<f64>,
    to: Coord<f64>,
    along: Coord<f64>,
    long: f64,
}

/// Rings that wind round every place under the swath once or more, and round no other: to be filled
/// by the non-zero rule.
pub(crate) fn stroke(path: &[Coord<f64>], half: f64) -> MultiPolygon<f64> {
    let stretch = |pair: &[Coord<f64>]| {
        let along = unit(pair[1] - pair[0])?;
        Some(Stretch { from: pair[0], to: pair[1], along, long: length(pair[1] - pair[0]) })
    };
    let stretches: Vec<Stretch> = path.windows(2).filter_map(stretch).collect();
    let mut rings = Vec::new();
    for run in stretches.chunks(STRETCHES) {
        let mut corners = side(run, half, 1.0);
        corners.extend(side(run, half, -1.0).into_iter().rev());
        rings.push(closed(corners));
        let about = run.windows(2).filter(|pair| turn(&pair[0], &pair[1]).abs() > ABOUT);
        rings.extend(about.map(|pair| round(&pair[0], &pair[1], half)));
    }
    let mut joints: Vec<(&Stretch, &Stretch)> = stretches
        .windows(2)
        .skip(STRETCHES - 1)
        .step_by(STRETCHES)
        .map(|two| (&two[0], &two[1]))
        .collect();
    if path.len() > 3 && path.first() == path.last() {
        joints.extend(stretches.last().zip(stretches.first()));
    }
    joints.retain(|(before, after)| turn(before, after).abs() > 1e-9);
    rings.extend(joints.into_iter().map(|(before, after)| round(before, after, half)));
    MultiPolygon(rings)
}

/// Turned about: both of the swath's ends sweep, and between them a whole disc.
const ABOUT: f64 = PI - 1e-6;

fn turn(before: &Stretch, after: &Stretch) -> f64 {
    cross(before.along, after.along).atan2(dot(before.along, after.along))
}

fn closed(mut corners: Vec<Coord<f64>>) -> Polygon<f64> {
    corners.extend(corners.first().copied());
    Polygon::new(LineString(corners), vec![])
}

/// The swath's right end (`hand` 1) or left end (-1) along a run.
fn side(run: &[Stretch], half: f64, hand: f64) -> Vec<Coord<f64>> {
    let off = |stretch: &Stretch| -left(stretch.along) * (half * hand);
    let mut corners = Vec::with_capacity(2 * run.len() + 2);
    corners.extend(run.first().map(|first| first.from + off(first)));
    for pair in run.windows(2) {
        let (before, after) = (&pair[0], &pair[1]);
        let (at, turn) = (after.from, turn(before, after) * hand);
        let short = half * (turn.abs() / 2.0).tan();
        if turn > 0.0 && turn < ABOUT {
            corners.extend(arc(at, off(before), turn * hand));
        } else if let (true, Some(middle)) =
            (2.0 * short <= before.long.min(after.long), unit(off(before) + off(after)))
        {
            corners.push(at + middle * (half / (turn / 2.0).cos()));
        } else {
            // By way of the corner itself, so that each rectangle is wound round for itself.
            corners.extend([at + off(before), at, at + off(after)]);
        }
    }
    corners.extend(run.last().map(|last| last.to + off(last)));
    corners
}

/// From `at + from` round `at` by `turn`, both ends included.
fn arc(at: Coord<f64>, from: Coord<f64>, turn: f64) -> impl Iterator<Item = Coord<f64>> {
    let steps = (turn.abs() / STEP).ceil().max(1.0) as usize;
    (0..=steps).map(move |step| {
        let (sin, cos) = (turn * step as f64 / steps as f64).sin_cos();
        at + Coord { x: cos * from.x - sin * from.y, y: sin * from.x + cos * from.y }
    })
}

/// What the swath's outer end sweeps over from one stretch to the next.
fn round(before: &Stretch, after: &Stretch, half: f64) -> Polygon<f64> {
    let turn = turn(before, after);
    let at = after.from;
    let (from, sweep) = if turn.abs() > ABOUT {
        (left(before.along), 2.0 * PI)
    } else if turn > 0.0 {
        (-left(before.along), turn)
    } else {
        (left(after.along), -turn)
    };
    closed(std::iter::once(at).chain(arc(at, from * half, sweep)).collect())
}

#[cfg(test)]
mod tests {
    use geo::Area;

    use super::*;
    use crate::overlay::wound;

    fn covered(path: &[(f64, f64)]) -> f64 {
        let path: Vec<Coord<f64>> = path.iter().map(|&(x, y)| Coord { x, y }).collect();
        wound(&stroke(&path, 1.0)).unwrap().unsigned_area()
    }

    #[test]
    fn strokes_cover_what_is_worked_out_by_hand() {
        let quarter = PI / 4.0;
        for (path, area, why) in [
            (vec![(0.0, 0.0), (10.0, 0.0)], 20.0, "10 × 2"),
            (vec![(0.0, 0.0), (10.0, 0.0), (20.0, 0.0)], 40.0, "20 × 2"),
            (
                vec![(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)],
                39.0 + quarter,
                "two of 20, less the square that they share, and a quarter disc",
            ),
            (vec![(0.0, 0.0), (10.0, 0.0), (10.0, -10.0)], 39.0 + quarter, "the same to the right"),
            (vec![(0.0, 0.0), (10.0, 0.0), (5.0, 0.0)], 20.0 + PI / 2.0, "10 × 2 and half a disc"),
            (
                vec![(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0), (0.0, 0.0)],
                144.0 - 64.0 - 4.0 + PI,
                "12 × 12 less 8 × 8, with round corners",
            ),
        ] {
            let ours = covered(&path);
            assert!((ours - area).abs() < 0.01, "{ours} ≠ {area}: {why}");
        }
        // Round a circle of radius 10 in 100 stretches: a ring from 9 to 11 m.
        for hand in [1.0, -1.0] {
            let ring: Vec<(f64, f64)> = (0..=100)
                .map(|step| (hand * PI * f64::from(step % 100) / 50.0).sin_cos())
                .map(|(sin, cos)| (10.0 * cos, 10.0 * sin))
                .collect();
            let ours = covered(&ring);
            assert!((ours - 40.0 * PI).abs() < 0.2, "{ours}");
        }
    }
}
