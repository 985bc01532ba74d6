//! Ground that nobody would draw, and much of it: an answer or a refusal, soon, and never a panic.

#![allow(clippy::unwrap_used)] // A test may.

mod common;

use std::time::Instant;

use common::*;
use geo::{LineString, MultiPolygon, Polygon};
use proptest::prelude::*;
use turfplat_passes::{Manner, PassesError, walk};

#[test]
fn what_cannot_be_meant_is_refused_with_its_place() {
    let lawn = ground(&rectangle(0.0, 0.0, 20.0, 10.0), &[]);
    assert_eq!(walk(&lawn, &plain(0.0)).unwrap_err(), PassesError::NoSwath);
    let manner = Manner { direction: Some(f64::NAN), ..plain(1.0) };
    assert_eq!(walk(&lawn, &manner).unwrap_err(), PassesError::NoDirection);
    for bad in [f64::NAN, f64::INFINITY, 1e300] {
        let lawn =
            ground(&rectangle(0.0, 0.0, 20.0, 10.0), &[vec![(1.0, 1.0), (2.0, bad), (2.0, 2.0)]]);
        let place = PassesError::NotFinite { polygon: 0, ring: 1, corner: 1 };
        assert_eq!(walk(&lawn, &plain(1.0)).unwrap_err(), place);
    }
}

#[test]
fn a_swath_of_a_centimeter_on_forty_hectares_is_refused() {
    let lawn = ground(&rectangle(0.0, 0.0, 800.0, 500.0), &[]);
    for edge_first in [false, true] {
        let refused = walk(&lawn, &Manner { edge_first, ..plain(0.01) }).unwrap_err();
        assert!(
            matches!(refused, PassesError::TooManyPasses { passes: 30_000.., .. }),
            "{refused}"
        );
        assert!(refused.to_string().contains("check the swath's unit"), "{refused}");
    }
    assert!(walk(&lawn, &plain(1e-9)).is_err());
}

#[test]
fn empty_ground_and_ground_without_area_have_no_passes() {
    let point = vec![(1.0, 1.0); 4];
    let line = vec![(0.0, 0.0), (5.0, 0.0), (9.0, 0.0)];
    let sliver = vec![(0.0, 0.0), (50.0, 0.0), (50.0, 1e-7)];
    for lawn in [
        MultiPolygon(vec![]),
        MultiPolygon(vec![Polygon::new(LineString(vec![]), vec![])]),
        ground(&point, &[]),
        ground(&line, &[]),
        ground(&sliver, std::slice::from_ref(&point)),
    ] {
        for edge_first in [false, true] {
            let one = walk(&lawn, &Manner { edge_first, crossed: true, ..plain(2.0) }).unwrap();
            assert_eq!(one.passes, vec![], "{lawn:?}");
        }
    }
}

#[test]
fn repeated_corners_and_rings_wound_either_way_change_nothing() {
    let shell = rectangle(0.0, 0.0, 20.0, 10.0);
    let plainly = walk(&ground(&shell, &[rectangle(5.0, 5.0, 3.0, 2.0)]), &plain(2.0)).unwrap();
    let mut twice: Points = shell.iter().flat_map(|&corner| [corner, corner]).collect();
    twice.reverse();
    let other = walk(&ground(&twice, &[rectangle(5.0, 5.0, 3.0, 2.0)]), &plain(2.0)).unwrap();
    assert_eq!(plainly.passes.len(), other.passes.len());
    assert!((plainly.ground.square_metres() - other.ground.square_metres()).abs() < 1e-6);
}

#[test]
fn a_shore_of_twenty_thousand_corners_is_walked_in_good_time() {
    let radius =
        |corner: usize| 60.0 + 8.0 * (corner as f64 * 0.003).sin() + 0.05 * (corner % 7) as f64;
    let shore: Points = (0..20_000)
        .map(|corner| {
            let (sin, cos) = (std::f64::consts::TAU * corner as f64 / 20_000.0).sin_cos();
            (150.0 + radius(corner) * cos, 100.0 + radius(corner) * sin)
        })
        .collect();
    let lawn = ground(&rectangle(0.0, 0.0, 300.0, 200.0), &[shore]);
    for edge_first in [false, true] {
        let start = Instant::now();
        let one = walk(&lawn, &Manner { edge_first, ..plain(3.0) }).unwrap();
        eprintln!("shore: {:?}, {} passes", start.elapsed(), one.passes.len());
        assert!(start.elapsed().as_secs() < 60);
        assert!(one.uncovered_share() < 0.002, "{}", one.uncovered_share());
        assert!(share_covered(&lawn, &one, 3.0, false) > 0.995);
    }
}

#[test]
fn five_thousand_beds_are_walked_round_in_good_time() {
    let beds: Vec<Points> = (0..5_000)
        .map(|bed| {
            let (column, row) = (bed % 100, bed / 100);
            disc(2.0 + 3.93 * f64::from(column), 2.3 + 3.9 * f64::from(row), 0.8, 8)
        })
        .collect();
    let lawn = ground(&rectangle(0.0, 0.0, 400.0, 200.0), &beds);
    let start = Instant::now();
    let one = walk(&lawn, &plain(2.0)).unwrap();
    eprintln!("beds: {:?}, {} passes", start.elapsed(), one.passes.len());
    assert!(start.elapsed().as_secs() < 60);
    // Wedges of a hand's breadth between rows and five thousand beds.
    assert!(one.uncovered_share() < 0.004, "{}", one.uncovered_share());
    assert!(share_covered(&lawn, &one, 2.0, false) > 0.995);
}

/// What a usual lot takes: five zones, three hundred corners in all. In release:
/// `cargo test --release -p turfplat-passes --test hard_ground -- --ignored --nocapture usual_lot`.
#[test]
#[ignore = "measures; means something in a release build only"]
fn a_usual_lot_takes_less_than_five_milliseconds() {
    let zones: Vec<MultiPolygon<f64>> = (0..5_u32)
        .map(|zone| {
            let wide = 18.0 + f64::from(zone);
            // A rectangle with a rounded corner, two round beds and a walk.
            let mut shell = vec![(0.0, 0.0), (wide, 0.0), (wide, 10.0)];
            shell.extend(disc(wide - 3.0, 11.0, 3.0, 80).into_iter().take(20));
            shell.push((0.0, 14.0));
            ground(
                &shell,
                &[disc(5.0, 5.0, 1.2, 16), disc(9.0, 9.0, 1.5, 16), rectangle(12.0, 2.0, 1.0, 6.0)],
            )
        })
        .collect();
    let mut medians = Vec::new();
    for edge_first in [false, true] {
        let manner = Manner { edge_first, ..plain(1.5) };
        let mut times = Vec::new();
        for _ in 0..21 {
            let start = Instant::now();
            for zone in &zones {
                walk(zone, &manner).unwrap();
            }
            times.push(start.elapsed());
        }
        times.sort();
        eprintln!("usual lot, edge first {edge_first}: {:?}", times[10]);
        medians.push(times[10].as_secs_f64());
    }
    assert!(medians[0] < 0.005 && medians[1] < 0.015, "{medians:?}");
}

/// Two scribbles with the same two scribbled holes, of which the overlay makes 441 square metres and
/// its strips 411: neither is right, so it is refused.
#[test]
fn what_does_not_add_up_is_refused() {
    let shells = [
        vec![
            (18.06308698658579, 28.199052595368006),
            (21.5741324645944, 11.220038674983535),
            (29.683978698676928, 0.0),
            (21.772512918045134, 15.636849846027717),
        ],
        vec![
            (0.0, 0.0),
            (15.90042623576518, 21.71193420623067),
            (19.87879854123025, 2.6736955090279153),
        ],
    ];
    let holes = [
        vec![
            (14.918223505714495, 18.013912823150132),
            (21.607020883864532, 3.312498730482355),
            (7.774411100583004, 16.40739302767419),
            (27.878463564382102, 25.661097513145886),
            (0.0, 21.82232953673886),
        ],
        vec![
            (26.66117809245964, 26.39953868464215),
            (20.086868937523324, 6.520583483300326),
            (11.886214131680696, 27.29072809699059),
            (0.0, 4.800722113965247),
            (22.828598949465665, 6.344309557296926),
        ],
    ];
    let polygons = shells.iter().flat_map(|shell| ground(shell, &holes).0).collect();
    let refused = walk(&MultiPolygon(polygons), &plain(0.3)).unwrap_err();
    assert_eq!(refused, PassesError::Tangled);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(64) })]

    /// Scribbles of any kind are walked or refused, and no path leaves what they wind round.
    #[test]
    fn scribbles_are_walked_or_refused(
        shells in prop::collection::vec(prop::collection::vec((0.0..30.0, 0.0..30.0), 0..14), 1..4),
        holes in prop::collection::vec(prop::collection::vec((0.0..30.0, 0.0..30.0), 0..9), 0..3),
        swath in 0.3..40.0, edge_first: bool, crossed: bool,
    ) {
        let polygons = shells.iter().flat_map(|shell| ground(shell, &holes).0).collect();
        let one = walk(&MultiPolygon(polygons), &Manner { edge_first, crossed, ..plain(swath) });
        if let Ok(one) = one {
            let all: f64 = one.passes.iter().map(|pass| pass.covers.square_metres()).sum::<f64>()
                + one.left.iter().map(|left| left.area.square_metres()).sum::<f64>();
            let ground = one.ground.square_metres() * if crossed { 2.0 } else { 1.0 };
            prop_assert!((all - ground).abs() < 1e-3 + 1e-4 * ground, "{all} {ground}");
            one.load_ends(&[one.ground, one.ground]).unwrap();
        }
    }
}
