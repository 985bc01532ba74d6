//! Why one corner is held to all the others: a wrong digit moves one corner of a lawn by a
//! kilometer or by a hundred meters, and the area grows by a spike that no later step can tell from
//! ground. Side lengths alone do not show it: a lot may be long, a river longer. What no drawn
//! shape has is one single corner, both of whose sides are several times longer than all the rest
//! is across: the far end of a long lot, of a flag lot's pole or of a river has two corners, and a
//! tip that is traced has more of them on its way.

use geo::Coord;
use turfplat_map::Feature;

use crate::drawing::{Extent, Trace, length};
use crate::finding::Finding;

/// Both sides of the corner so many times as long as all others are across: a slip, wherever it leads.
const FAR: f64 = 4.0;
/// So many times where one of its two numbers alone is off, as by a wrong digit, and something else
/// of the property is there to compare with.
const NEAR: f64 = 1.5;
/// With fewer others there is no outline without it.
const OTHERS: usize = 3;
/// A slip of a digit that is smaller does not stand out, in meters.
const SHORTEST: f64 = 20.0;

/// A corner that is far from all others of its ring or line.
struct Stray {
    /// Its number, from 1, as the file counts.
    number: usize,
    place: Coord<f64>,
    /// Its shorter side, in meters, and how far the others are across.
    side: f64,
    across: f64,
    /// What the ring covers with it and without, in square meters.
    with: f64,
    without: f64,
}

/// The corner of a ring or line of which one number is likely wrong; `others` are the features of
/// its property.
pub(crate) fn stray_corner(
    feature: &Feature,
    trace: &Trace<'_>,
    on_plane: bool,
    others: &[&Feature],
) -> Option<Finding> {
    let &Trace { places, is_ring, scale, .. } = trace;
    let stray = stray(trace)?;
    // Where something else of the property has a corner out there too, so has the ground.
    let elsewhere = others.iter().filter(|other| other.at.order() != feature.at.order());
    let mut company = elsewhere.flat_map(|other| other.outline.coordinates()).peekable();
    let has_company = company.peek().is_some();
    if company.any(|place| length(place, stray.place, scale) < stray.side / 2.0) {
        return None;
    }
    let is_far = stray.side >= FAR * stray.across;
    let is_slip = is_far || has_company && is_ring && stray.is_off_in_one(places, scale);
    if !is_slip {
        return None;
    }
    let Stray { number, place, side, across, with, without } = stray;
    let at = if on_plane {
        format!("x {:.2} m, y {:.2} m", place.x, place.y)
    } else {
        format!("longitude {:.6}, latitude {:.6}", place.x, place.y)
    };
    let covers = match is_ring && with > 0.0 {
        true => format!(
            "; without it the outline covers {:.0} % of what it does now",
            100.0 * without / with
        ),
        false => String::new(),
    };
    let message = format!(
        "corner {number} ({at}) lies {side:.0} m from the next, and all others lie within {across:.0} m of each other{covers}; is a digit of it wrong?"
    );
    Some(Finding::of(feature, "stray-corner", message, (with - without).abs()))
}

impl Stray {
    /// True if the corner would be among the others but for one of its two numbers.
    fn is_off_in_one(&self, places: &[Coord<f64>], scale: Coord<f64>) -> bool {
        let others = || places.iter().filter(|place| **place != self.place);
        let is_among = |axis: &dyn Fn(&Coord<f64>) -> f64, scale: f64| {
            let (low, high) =
                others().map(axis).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| {
                    (low.min(it), high.max(it))
                });
            let margin = self.across / 4.0 / scale;
            (low - margin..=high + margin).contains(&axis(&self.place))
        };
        is_among(&|place| place.x, scale.x) || is_among(&|place| place.y, scale.y)
    }
}

/// The corner that both of its neighbors are far from, if there is one.
fn stray(trace: &Trace<'_>) -> Option<Stray> {
    let &Trace { places, is_ring, extent, scale } = trace;
    let Extent { low, high } = extent;
    let across = extent.across(scale);
    // The others are no farther across than its shorter side by NEAR, so it has two sides that are
    // more than half as long as all is across; most outlines have none such.
    // Every corner of a county passes here: no roots.
    let half = across * across / 4.0;
    let is_long = |side: &[Coord<f64>]| {
        let (x, y) = ((side[0].x - side[1].x) * scale.x, (side[0].y - side[1].y) * scale.y);
        x * x + y * y > half
    };
    if across < SHORTEST || places.windows(2).filter(|side| is_long(side)).nth(1).is_none() {
        return None;
    }
    // Each corner once, with the place at which the file first has it.
    let mut corners: Vec<(usize, Coord<f64>)> = Vec::with_capacity(places.len());
    for (place, corner) in places.iter().enumerate() {
        if corners.last().is_none_or(|(_, last)| last != corner) {
            corners.push((place, *corner));
        }
    }
    if is_ring
        && corners.len() > 1
        && corners.first().map(|it| it.1) == corners.last().map(|it| it.1)
    {
        corners.pop();
    }
    let count = corners.len();
    if count <= OTHERS {
        return None;
    }
    let extremes = [low.x, high.x];
    let is_extreme =
        |place: Coord<f64>| extremes.contains(&place.x) || place.y == low.y || place.y == high.y;
    let inner = if is_ring { 0..count } else { 1..count - 1 };
    inner.filter(|&at| is_extreme(corners[at].1)).find_map(|at| {
        let (index, place) = corners[at];
        let [before, after] = [(at + count - 1) % count, (at + 1) % count].map(|it| corners[it].1);
        let side = length(place, before, scale).min(length(place, after, scale));
        let others = corners.iter().map(|(_, other)| other);
        let across = Extent::of(others.filter(|other| **other != place))?.across(scale);
        if side < SHORTEST || side < NEAR * across {
            return None;
        }
        let flat = |skipped: Option<usize>| {
            let kept = corners.iter().enumerate().filter(|(it, _)| Some(*it) != skipped);
            let flat = kept.map(|(_, (_, it))| Coord {
                x: (it.x - place.x) * scale.x,
                y: (it.y - place.y) * scale.y,
            });
            area(&flat.collect::<Vec<_>>())
        };
        let (with, without) = if is_ring { (flat(None), flat(Some(at))) } else { (0.0, 0.0) };
        Some(Stray { number: index + 1, place, side, across, with, without })
    })
}

/// What a ring without its closing corner covers, if it does not cross itself.
fn area(corners: &[Coord<f64>]) -> f64 {
    let next = corners.iter().cycle().skip(1);
    let doubled: f64 = corners.iter().zip(next).map(|(a, b)| a.x * b.y - a.y * b.x).sum();
    doubled.abs() / 2.0
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use proptest::prelude::*;

    use super::*;

    const METERS: Coord<f64> = Coord { x: 1.0, y: 1.0 };

    fn ring(places: &[(f64, f64)]) -> Vec<Coord<f64>> {
        let mut ring: Vec<Coord<f64>> = places.iter().map(|&(x, y)| Coord { x, y }).collect();
        ring.push(ring[0]);
        ring
    }

    fn stray(places: &[Coord<f64>], is_ring: bool, scale: Coord<f64>) -> Option<Stray> {
        let extent = Extent::of(places)?;
        super::stray(&Trace { places, is_ring, extent, scale })
    }

    #[test]
    fn a_corner_of_a_lot_that_is_far_off_is_seen_with_its_area() {
        // A lot of 40 m by 30 m whose third corner lies 1000 m too far north.
        let lot = ring(&[(0.0, 0.0), (40.0, 0.0), (40.0, 1030.0), (0.0, 30.0)]);
        let seen = stray(&lot, true, METERS).unwrap();
        assert_eq!((seen.number, seen.across), (3, 50.0));
        // Worked by hand: without it a triangle of 40 × 30 / 2; with it 40 × (0 + 1030 + 30) / 2 …
        assert!((seen.without - 600.0).abs() < 1e-9 && (seen.with - 21_200.0).abs() < 1e-9);
    }

    #[test]
    fn shapes_that_people_draw_have_none() {
        for (what, shape) in [
            ("a long lot", &[(0.0, 0.0), (400.0, 0.0), (400.0, 10.0), (0.0, 10.0)][..]),
            (
                "a flag lot",
                &[(0.0, 0.0), (5.0, 0.0), (5.0, 120.0), (40.0, 120.0), (40.0, 160.0), (0.0, 160.0)],
            ),
            ("an L", &[(0.0, 0.0), (60.0, 0.0), (60.0, 9.0), (9.0, 9.0), (9.0, 60.0), (0.0, 60.0)]),
            ("a triangle", &[(0.0, 0.0), (0.0, 6.0), (90.0, 3.0)]),
            (
                "a wedge between two roads",
                &[(0.0, 0.0), (0.0, 12.0), (30.0, 9.0), (60.0, 6.0), (30.0, 3.0)],
            ),
            (
                "a river with a tip",
                &[
                    (0.0, 0.0),
                    (200.0, 30.0),
                    (420.0, 10.0),
                    (600.0, 22.0),
                    (420.0, 25.0),
                    (200.0, 45.0),
                    (0.0, 14.0),
                ],
            ),
        ] {
            assert!(stray(&ring(shape), true, METERS).is_none(), "{what}");
        }
        // A walk there and back with one corner at its end is as long as it is across.
        let walk = [(0.0, 0.0), (50.0, 0.0), (90.0, 2.0), (50.0, 4.0), (0.0, 4.0)];
        let walk: Vec<Coord<f64>> = walk.iter().map(|&(x, y)| Coord { x, y }).collect();
        assert!(stray(&walk, false, METERS).is_none());
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..Default::default() })]

        /// A lot with one corner a kilometer off has one stray corner, that one, and without it
        /// covers what it covered without that corner before.
        #[test]
        fn the_corner_that_was_moved_is_the_one_that_is_named(
            radii in proptest::collection::vec(15.0..40.0_f64, 4..12),
            moved in 0_usize..12,
            north in proptest::bool::ANY,
            turn in 0.0..6.2_f64,
        ) {
            let count = radii.len();
            let moved = moved % count;
            let place = |at: usize| {
                let angle = turn + std::f64::consts::TAU * at as f64 / count as f64;
                (radii[at] * angle.cos(), radii[at] * angle.sin())
            };
            let mut shape: Vec<(f64, f64)> = (0..count).map(place).collect();
            prop_assert!(stray(&ring(&shape), true, METERS).is_none());
            let mut others = shape.clone();
            others.remove(moved);
            let (x, y) = &mut shape[moved];
            if north { *y += 1113.2 } else { *x -= 1113.2 }
            let seen = stray(&ring(&shape), true, METERS).unwrap();
            prop_assert_eq!(seen.number, moved + 1);
            let others: Vec<Coord<f64>> =
                others.into_iter().map(|(x, y)| Coord { x, y }).collect();
            prop_assert!((seen.without - area(&others)).abs() < 1e-6);
            prop_assert!(seen.side >= FAR * seen.across);
        }
    }
}
