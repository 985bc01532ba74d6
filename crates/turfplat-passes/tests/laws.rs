//! Laws that hold of every walk over every lawn.

#![allow(clippy::unwrap_used)] // A test may.

mod common;

use common::*;
use geo::{Area as _, BooleanOps, MapCoords, MultiPolygon};
use proptest::prelude::*;
use turfplat_passes::{Kind, Manner, walk};

/// Shells as people draw them: rectangles put together, or corners round a middle; swaths of 1 to 6 m.
fn shell() -> impl Strategy<Value = MultiPolygon<f64>> {
    let rectangles = prop::collection::vec(
        (0.0..40.0, 0.0..40.0, 4.0..40.0, 4.0..40.0)
            .prop_map(|(x, y, wide, tall)| ground(&rectangle(x, y, wide, tall), &[])),
        1..4,
    )
    .prop_map(|all| all.into_iter().reduce(|one, next| one.union(&next)).unwrap());
    let round = prop::collection::vec(6.0..30.0, 3..14).prop_map(|radii| {
        let count = radii.len() as f64;
        let corner = |(index, radius): (usize, f64)| {
            let (sin, cos) = (std::f64::consts::TAU * index as f64 / count).sin_cos();
            (20.0 + radius * cos, 20.0 + radius * sin)
        };
        let corners: Points = radii.into_iter().enumerate().map(corner).collect();
        ground(&corners, &[])
    });
    prop_oneof![rectangles, round]
}

fn hole() -> impl Strategy<Value = MultiPolygon<f64>> {
    prop_oneof![
        (0.0..60.0, 0.0..60.0, 0.5..15.0, 0.5..15.0)
            .prop_map(|(x, y, wide, tall)| ground(&rectangle(x, y, wide, tall), &[])),
        (0.0..60.0, 0.0..60.0, 0.5..8.0, 5_usize..40)
            .prop_map(|(x, y, radius, corners)| ground(&disc(x, y, radius, corners), &[])),
    ]
}

fn lawn() -> impl Strategy<Value = MultiPolygon<f64>> {
    (shell(), prop::collection::vec(hole(), 0..5), 0.0..3.2)
        .prop_map(|(shell, holes, angle): (_, _, f64)| {
            let left = holes.iter().fold(shell, |left, hole| left.difference(hole));
            turned(&left, angle)
        })
        .prop_filter("some ground", |lawn| lawn.unsigned_area() > 20.0)
}

fn turned(ground: &MultiPolygon<f64>, angle: f64) -> MultiPolygon<f64> {
    let (sin, cos) = angle.sin_cos();
    ground.map_coords(|at| geo::Coord { x: cos * at.x - sin * at.y, y: sin * at.x + cos * at.y })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(96) })]

    /// All is covered, no path leaves the ground, and what is newly covered and what is left is all there is.
    #[test]
    fn a_walk_covers_its_ground_and_stays_on_it(
        lawn in lawn(), swath in 1.0..6.0, edge_first: bool, crossed: bool,
    ) {
        let manner = Manner { edge_first, crossed, ..plain(swath) };
        let one = walk(&lawn, &manner).unwrap();
        prop_assert_eq!(check(&lawn, &one, swath), Ok(()));
    }

    /// No direction of 36 needs fewer parallel passes than the one chosen.
    #[test]
    fn no_other_direction_needs_fewer_passes(lawn in lawn(), swath in 1.0..6.0) {
        // Piece by piece, since each has its own direction; where middle lines of narrow ground are
        // walked first, the rest is what the direction is chosen for.
        for piece in &lawn {
            let piece = MultiPolygon(vec![piece.clone()]);
            let across = |direction| {
                let one = walk(&piece, &Manner { direction, ..plain(swath) }).unwrap();
                let has_middle = one.passes.iter().any(|pass| pass.kind == Kind::Middle);
                let across = one.passes.iter().filter(|pass| pass.kind == Kind::Across).count();
                if has_middle { usize::MAX } else { across }
            };
            let chosen = across(None);
            if chosen == usize::MAX {
                continue;
            }
            for step in 0..36 {
                let other = across(Some(f64::from(step) * std::f64::consts::PI / 36.0));
                prop_assert!(chosen <= other, "{} > {} at {}°", chosen, other, step * 5);
            }
        }
    }

    /// Turn the lawn, and its passes turn with it: by fives of degrees, since every fifth direction is tried.
    #[test]
    fn turned_ground_is_walked_the_same_way(lawn in lawn(), swath in 1.0..6.0, fives in 1..36) {
        let one = walk(&lawn, &plain(swath)).unwrap();
        let angle = f64::from(fives) * std::f64::consts::PI / 36.0;
        let other = walk(&turned(&lawn, angle), &plain(swath)).unwrap();
        let count = |walk: &turfplat_passes::Walk| {
            walk.passes.iter().filter(|pass| pass.kind == Kind::Across).count()
        };
        // Ground as wide as a whole number of swaths may need one more by a rounding.
        prop_assert!(count(&one).abs_diff(count(&other)) <= 1);
    }

    /// Each load covers what it is for: what lies before its end, counted pass by pass.
    #[test]
    fn loads_end_in_order_and_within_their_passes(
        lawn in lawn(), swath in 1.0..6.0, parts in prop::collection::vec(0.01..1.0, 1..6),
    ) {
        let one = walk(&lawn, &plain(swath)).unwrap();
        let total: f64 = one.passes.iter().map(|pass| pass.covers.square_metres()).sum();
        let sum: f64 = parts.iter().sum();
        let loads: Vec<_> = parts.iter().map(|part| square_metres(part / sum * total)).collect();
        let ends = one.load_ends(&loads).unwrap();
        prop_assert_eq!(ends.len(), loads.len());
        let mut target = 0.0;
        for (end, load) in ends.iter().zip(&loads) {
            target += load.square_metres();
            let before: f64 = one.passes[..end.pass].iter().map(|p| p.covers.square_metres()).sum();
            let with = before + one.passes[end.pass].covers.square_metres();
            prop_assert!(before <= target + 1e-6 && target <= with + 1e-6 * total);
            prop_assert!(to_path(&one.passes[end.pass].path, end.at) < 1e-6);
        }
    }
}

fn to_path(path: &[geo::Coord<f64>], at: geo::Coord<f64>) -> f64 {
    let line = geo::LineString(path.to_vec());
    use geo::{Distance, Euclidean, Point};
    Euclidean.distance(&Point(at), &line)
}

#[test]
fn the_same_walk_on_any_thread() {
    let lawn = ground(&disc(0.0, 0.0, 20.0, 60), &[rectangle(-5.0, -5.0, 7.0, 9.0)]);
    let alone = walk(&lawn, &plain(1.5)).unwrap().passes;
    let threads: Vec<_> = (0..4)
        .map(|_| {
            let lawn = lawn.clone();
            std::thread::spawn(move || walk(&lawn, &plain(1.5)).unwrap().passes)
        })
        .collect();
    for thread in threads {
        assert_eq!(thread.join().unwrap(), alone);
    }
}
