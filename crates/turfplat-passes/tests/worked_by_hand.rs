//! Lawns whose passes can be counted on a sheet of paper.

#![allow(clippy::unwrap_used)] // A test may.

mod common;

use common::*;
use geo::MultiPolygon;
use turfplat_passes::{Kind, Manner, Walk, walk};
use turfplat_units::{Speed, Time};

fn near(what: &str, ours: f64, by_hand: f64, tolerance: f64) {
    assert!((ours - by_hand).abs() <= tolerance, "{what}: {ours} ≠ {by_hand}");
}

fn count(walk: &Walk, kind: Kind) -> usize {
    walk.passes.iter().filter(|pass| pass.kind == kind).count()
}

#[test]
fn rectangles_take_as_many_passes_as_swaths_lie_across_them() {
    #[rustfmt::skip]
    let table = [
        // ft by ft, swath in ft, passes, ft walked, worked by hand
        (100.0, 50.0, 10.0, 5,  500.0, "50/10 passes of 100 ft"),
        (100.0, 52.0, 10.0, 6,  600.0, "52/10 is more than 5"),
        (50.0, 100.0, 10.0, 5,  500.0, "the same turned"),
        (100.0, 9.0,  10.0, 1,  100.0, "narrower than the swath: along the middle"),
        (30.0,  30.0, 7.0,  5,  150.0, "30/7 is more than 4"),
        (8.0,   6.0,  10.0, 1,  6.0,   "wider than the lawn: once, the shorter way"),
    ];
    for (wide, tall, swath, passes, walked, why) in table {
        let lawn = ground(&feet(&rectangle(20.0, -30.0, wide, tall)), &[]);
        let walk = walk(&lawn, &plain(swath * FOOT)).unwrap();
        assert_eq!(walk.passes.len(), passes, "{wide} × {tall}: {why}");
        near(why, walk.treated().feet(), walked, 1e-6);
        near(why, walk.uncovered_share(), 0.0, 1e-6);
        check(&lawn, &walk, swath * FOOT).unwrap();
    }
}

#[test]
fn a_lawn_of_five_swaths_is_walked_there_and_back_without_overlap() {
    let lawn = ground(&feet(&rectangle(0.0, 0.0, 100.0, 50.0)), &[]);
    let walk = walk(&lawn, &plain(10.0 * FOOT)).unwrap();
    assert_eq!(walk.turns(), 4);
    near("idle ft", walk.idle().feet(), 40.0, 1e-6);
    near("overlap", walk.overlap_share(), 0.0, 1e-6);
    for pass in &walk.passes {
        near("sq ft", pass.covers.square_feet(), 1000.0, 1e-3);
        assert_eq!(pass.kind, Kind::Across);
    }
    for pair in walk.passes.windows(2) {
        assert!((pair[0].path[1].x - pair[1].path[0].x).abs() < 1e-9, "{pair:?}");
    }
    // 540 ft at 3 mph (4.4 ft/s) and four turns of 5 s.
    let time =
        walk.time("3 mph".parse::<Speed>().unwrap(), "5 s".parse::<Time>().unwrap()).unwrap();
    near("seconds", time.seconds(), 540.0 / 4.4 + 20.0, 1e-6);
    assert_eq!(walk.time(Speed::default(), Time::default()), None);
}

#[test]
fn what_overlaps_is_shared_by_all_passes() {
    let lawn = ground(&feet(&rectangle(0.0, 0.0, 100.0, 52.0)), &[]);
    let walk = walk(&lawn, &plain(10.0 * FOOT)).unwrap();
    // Six bands of 52/6 ft: swaths reach 0.667 ft beyond on each side, 5 seams of 1.333 ft.
    near("overlap", walk.overlap_share(), 5.0 * (10.0 - 52.0 / 6.0) / 52.0, 1e-6);
}

#[test]
fn an_l_and_a_u_need_no_more_than_their_arms() {
    // 60 × 20 and on it 20 × 40, swath 10: upright 2 of 60 and 4 of 20, or level 2 of 60 and 4 of 20.
    let l = [(0.0, 0.0), (60.0, 0.0), (60.0, 20.0), (20.0, 20.0), (20.0, 60.0), (0.0, 60.0)];
    let lawn = ground(&l, &[]);
    let one = walk(&lawn, &plain(10.0)).unwrap();
    assert_eq!(one.passes.len(), 6);
    near("m", one.treated().metres(), 200.0, 1e-6);
    check(&lawn, &one, 10.0).unwrap();
    // 30 × 30 with a slot of 10 × 20 from above, swath 5: upright 6, level 2 + 4 × 2.
    let u = [
        (0.0, 0.0),
        (30.0, 0.0),
        (30.0, 30.0),
        (20.0, 30.0),
        (20.0, 10.0),
        (10.0, 10.0),
        (10.0, 30.0),
        (0.0, 30.0),
    ];
    let lawn = ground(&u, &[]);
    let one = walk(&lawn, &plain(5.0)).unwrap();
    assert_eq!(one.passes.len(), 6);
    near("m", one.treated().metres(), 4.0 * 30.0 + 2.0 * 10.0, 1e-6);
    check(&lawn, &one, 5.0).unwrap();
}

#[test]
fn a_hole_is_not_crossed_at_every_pass() {
    // 40 × 40 less 20 × 20 in the middle, swath 4: 10 rows, of which those at 10, 14 … 26 m are parted.
    let lawn = ground(&rectangle(0.0, 0.0, 40.0, 40.0), &[rectangle(10.0, 10.0, 20.0, 20.0)]);
    let one = walk(&lawn, &plain(4.0)).unwrap();
    check(&lawn, &one, 4.0).unwrap();
    assert_eq!(count(&one, Kind::Across), 15);
    // Crossing the hole at each of its rows would be 20 m idle, four or five times.
    let mut longest: Vec<f64> = one
        .passes
        .windows(2)
        .map(|pair| pair[1].path[0] - *pair[0].path.last().unwrap())
        .map(|idle| idle.x.hypot(idle.y))
        .collect();
    longest.sort_by(f64::total_cmp);
    let far = longest.iter().filter(|idle| **idle > 8.0).count();
    assert!(far <= 3, "{longest:?}");
    // Row by row it would be five times 20 m across the hole and nine times 4 m to the next row.
    assert!(one.idle().metres() < 0.75 * (5.0 * 20.0 + 9.0 * 4.0), "{}", one.idle().metres());
}

#[test]
fn slanted_ends_are_taken_up_by_a_pass_along_them() {
    let trapezoid = [(0.0, 0.0), (60.0, 0.0), (40.0, 24.0), (0.0, 24.0)];
    let lawn = ground(&trapezoid, &[]);
    let one = walk(&lawn, &plain(4.0)).unwrap();
    check(&lawn, &one, 4.0).unwrap();
    assert_eq!(count(&one, Kind::Across), 6);
    assert_eq!(count(&one, Kind::Edge), 1, "{:?}", one.passes);
}

#[test]
fn a_disc_is_covered_to_its_rim() {
    let lawn = ground(&disc(3.0, 4.0, 12.0, 90), &[]);
    for edge_first in [false, true] {
        let one = walk(&lawn, &Manner { edge_first, ..plain(3.0) }).unwrap();
        check(&lawn, &one, 3.0).unwrap();
        if edge_first {
            // A lap of radius 10.5 m, and within it 18 m to fill: six passes.
            near("lap", length(&one.passes[0].path), 10.5 * std::f64::consts::TAU, 0.3);
            assert_eq!((count(&one, Kind::Edge), count(&one, Kind::Across)), (1, 6));
        } else {
            assert_eq!(count(&one, Kind::Across), 8);
        }
    }
}

fn length(path: &[geo::Coord<f64>]) -> f64 {
    path.windows(2).map(|pair| (pair[1] - pair[0]).x.hypot((pair[1] - pair[0]).y)).sum()
}

#[test]
fn a_lap_goes_round_and_the_rest_begins_and_ends_in_it() {
    let lawn = ground(&feet(&rectangle(0.0, 0.0, 100.0, 50.0)), &[]);
    let one = walk(&lawn, &Manner { edge_first: true, ..plain(10.0 * FOOT) }).unwrap();
    check(&lawn, &one, 10.0 * FOOT).unwrap();
    // Within the lap 80 × 30 ft are left: three passes from one side of the lap to the other, 90 ft.
    assert_eq!((count(&one, Kind::Edge), count(&one, Kind::Across)), (1, 3));
    for pass in one.passes.iter().filter(|pass| pass.kind == Kind::Across) {
        near("ft", length(&pass.path) / FOOT, 90.0, 0.5);
    }
    // 90 × 40 ft round, and into each corner and back until it is within the swath: 5 (√2 − 1) ft.
    let lap = 2.0 * (90.0 + 40.0) + 8.0 * 5.0 * (2_f64.sqrt() - 1.0);
    near("ft", length(&one.passes[0].path) / FOOT, lap, 6.0);
}

#[test]
fn ground_narrower_than_the_swath_is_passed_once_along_its_middle() {
    // A strip of 1.2 m round a pool of 5 m radius, swath 1.5 m.
    let lawn = ground(&disc(0.0, 0.0, 6.2, 120), &[disc(0.0, 0.0, 5.0, 120)]);
    let one = walk(&lawn, &plain(1.5)).unwrap();
    check(&lawn, &one, 1.5).unwrap();
    assert_eq!(one.passes.len(), 1, "{:?}", one.passes.iter().map(|p| p.kind).collect::<Vec<_>>());
    assert_eq!(one.passes[0].kind, Kind::Middle);
    near("m", one.treated().metres(), 5.6 * std::f64::consts::TAU, 0.3);
}

#[test]
fn ground_of_less_than_a_tenth_of_a_swath_is_left_and_said() {
    let mut lawn = ground(&rectangle(0.0, 0.0, 20.0, 10.0), &[]);
    lawn.0.extend(ground(&rectangle(0.0, 20.0, 20.0, 0.1), &[]).0);
    let one = walk(&lawn, &plain(2.0)).unwrap();
    assert_eq!(one.passes.len(), 5);
    assert_eq!(one.left.len(), 1);
    assert_eq!(one.left[0].why, turfplat_passes::Why::TooNarrow);
    near("m²", one.left[0].area.square_metres(), 2.0, 1e-6);
}

#[test]
fn pieces_are_walked_one_after_the_other() {
    let mut lawn = ground(&rectangle(0.0, 0.0, 20.0, 10.0), &[]);
    lawn.0.extend(ground(&rectangle(100.0, 0.0, 10.0, 20.0), &[]).0);
    lawn.0.extend(ground(&rectangle(30.0, 0.0, 20.0, 10.0), &[]).0);
    let one = walk(&lawn, &plain(2.0)).unwrap();
    assert_eq!(one.passes.len(), 15);
    assert!(one.passes.is_sorted_by_key(|pass| pass.piece));
    check(&lawn, &one, 2.0).unwrap();
}

#[test]
fn a_spreader_goes_twice_at_right_angles() {
    let lawn = ground(&feet(&rectangle(0.0, 0.0, 100.0, 50.0)), &[]);
    let one = walk(&lawn, &Manner { crossed: true, ..plain(10.0 * FOOT) }).unwrap();
    check(&lawn, &one, 10.0 * FOOT).unwrap();
    assert_eq!((count(&one, Kind::Across), count(&one, Kind::Second)), (5, 10));
    near("ft", one.treated().feet(), 1000.0, 1e-6);
    // A hopper for half of the ground: at half the rate the first direction takes it.
    let half = square_metres(2500.0 * FOOT * FOOT);
    let ends = one.load_ends(&[half, half]).unwrap();
    assert_eq!(ends.len(), 2);
    assert!(ends[0].pass == 5 && ends[0].along.feet() < 1e-3 || ends[0].pass == 4, "{:?}", ends[0]);
    assert_eq!(ends[1].pass, 14);
}

#[test]
fn a_load_ends_where_it_has_covered_its_ground() {
    let lawn = ground(&feet(&rectangle(0.0, 0.0, 100.0, 50.0)), &[]);
    let one = walk(&lawn, &plain(10.0 * FOOT)).unwrap();
    // 1,000 sq ft a pass: 2,300 end 30 ft into the third, 1,700 more at the end of the fourth.
    let loads =
        [2300.0, 1650.0, 1050.0].map(|square_feet| square_metres(square_feet * FOOT * FOOT));
    let ends = one.load_ends(&loads).unwrap();
    let places: Vec<(usize, f64)> = ends.iter().map(|end| (end.pass, end.along.feet())).collect();
    for ((pass, along), (pass_by_hand, along_by_hand)) in
        places.into_iter().zip([(2, 30.0), (3, 95.0), (4, 100.0)])
    {
        assert_eq!(pass, pass_by_hand);
        near("ft", along, along_by_hand, 1e-4);
    }
    let start = one.passes[2].path[0];
    near("ft", (ends[0].at.x - start.x).abs() / FOOT, 30.0, 1e-4);
    near("m²", ends[2].over.square_metres(), 0.0, 1e-3);
    // Loads for more than there is end with the walk.
    let end = one.load_ends(&[square_metres(10_000.0)]).unwrap()[0];
    near("m²", end.over.square_metres(), 10_000.0 - 5000.0 * FOOT * FOOT, 1e-3);
    assert_eq!(Walk::default().load_ends(&loads).unwrap(), vec![]);
    assert_eq!(walk(&MultiPolygon(vec![]), &plain(1.0)).unwrap().passes, vec![]);
}
