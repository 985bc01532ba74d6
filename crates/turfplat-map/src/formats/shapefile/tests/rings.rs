//! Which rings are shells, and whose the holes are.

use super::*;

#[test]
fn rings_by_the_book_are_shells_and_their_holes() {
    let rings = [square(0.0, 0.0, 10.0, true), square(2.0, 2.0, 3.0, false)];
    assert_eq!(areas(&rings), [[100.0, 9.0]]);
}

#[test]
fn rings_that_all_run_the_wrong_way_come_out_right() {
    let rings = [
        square(0.0, 0.0, 10.0, false),
        square(20.0, 0.0, 8.0, false),
        square(2.0, 2.0, 3.0, true),
        square(22.0, 2.0, 2.0, true),
    ];
    assert_eq!(areas(&rings), [[100.0, 9.0], [64.0, 4.0]]);
}

#[test]
fn holes_after_all_shells_go_to_their_own() {
    let rings = [
        square(0.0, 0.0, 10.0, true),
        square(20.0, 0.0, 8.0, true),
        square(22.0, 2.0, 2.0, false),
        square(2.0, 2.0, 3.0, false),
    ];
    assert_eq!(areas(&rings), [[100.0, 9.0], [64.0, 4.0]]);
}

#[test]
fn a_hole_may_stand_before_its_shell() {
    let rings = [square(2.0, 2.0, 3.0, false), square(0.0, 0.0, 10.0, true)];
    assert_eq!(areas(&rings), [[100.0, 9.0]]);
}

#[test]
fn an_island_in_a_hole_is_a_polygon_of_its_own() {
    let rings = [
        square(0.0, 0.0, 10.0, true),
        square(1.0, 1.0, 8.0, false),
        square(2.0, 2.0, 6.0, true),
        square(3.0, 3.0, 4.0, false),
    ];
    assert_eq!(areas(&rings), [[100.0, 64.0], [36.0, 16.0]]);
}

#[test]
fn parts_beside_each_other_are_shells_whichever_way_they_run() {
    // They touch along an edge, and the box of the first holds all of the last.
    let ell =
        vec![(0.0, 0.0), (0.0, 9.0), (3.0, 9.0), (3.0, 3.0), (9.0, 3.0), (9.0, 0.0), (0.0, 0.0)];
    let rings = [ell, square(9.0, 0.0, 3.0, false), square(4.0, 4.0, 2.0, false)];
    assert_eq!(areas(&rings), [[45.0], [9.0], [4.0]]);
}

#[test]
fn a_hole_that_touches_its_shell_is_a_hole() {
    // Along the whole western edge, at a corner, and at none but corners.
    let at_edge = square(0.0, 2.0, 3.0, false);
    let at_corner = vec![(10.0, 10.0), (8.0, 9.0), (9.0, 8.0), (10.0, 10.0)];
    let diamond = vec![(5.0, 0.0), (6.0, 1.0), (5.0, 2.0), (4.0, 1.0), (5.0, 0.0)];
    let shell = vec![(0.0, 0.0), (0.0, 10.0), (10.0, 10.0), (10.0, 0.0), (5.0, 0.0), (0.0, 0.0)];
    let rings = [shell, at_edge, at_corner, diamond];
    assert_eq!(areas(&rings), [[100.0, 9.0, 1.5, 2.0]]);
}

#[test]
fn a_ring_in_a_ring_of_the_same_direction_has_two_readings_and_is_refused() {
    for way in [true, false] {
        let rings = [square(0.0, 0.0, 10.0, way), square(2.0, 2.0, 3.0, way)];
        assert_eq!(
            unreadable(polygon(&rings)),
            "its ring 2 lies in its ring 1 and runs the same way round, so it may be a hole or a part of its own; turn it round if it is a hole, else take it out"
        );
    }
    // A hole in a hole as well.
    let rings =
        [square(0.0, 0.0, 10.0, true), square(1.0, 1.0, 8.0, false), square(2.0, 2.0, 2.0, false)];
    assert!(unreadable(polygon(&rings)).contains("ring 3 lies in its ring 2"));
}

#[test]
fn rings_of_a_plane_far_from_the_origin_keep_their_direction() {
    // US feet, state plane: 1 ft squares at 2.4 million feet.
    let (x, y) = (2_438_712.25, 559_112.75);
    let rings = [square(x, y, 1.0, true), square(x + 0.25, y + 0.25, 0.125, false)];
    let geometry = geometry(polygon(&rings));
    assert_eq!(geometry["coordinates"][0].as_array().unwrap().len(), 2);
}

#[test]
fn tens_of_thousands_of_rings_are_grouped_at_once() {
    let mut rings = vec![square(-1.0, -1.0, 2000.0, true)];
    for row in 0..200 {
        for column in 0..200 {
            rings.push(square(f64::from(row) * 4.0, f64::from(column) * 4.0, 1.0, false));
        }
    }
    assert_eq!(areas(&rings)[0].len(), 40_001);
}

#[test]
fn rings_in_rings_in_rings_end_in_bounded_time() {
    let nested = |count: u32| -> Vec<Ring> {
        let ring = |n: u32| {
            square(f64::from(n), f64::from(n), f64::from(2 * (count - n)), n.is_multiple_of(2))
        };
        (0..count).map(ring).collect()
    };
    // So many do no harm, more are refused.
    assert_eq!(areas(&nested(300)).len(), 150);
    assert!(unreadable(polygon(&nested(20_000))).contains("split it into several features"));
}

#[test]
fn rings_that_hold_no_area_do_no_harm() {
    let line = vec![(2.0, 2.0), (4.0, 4.0), (2.0, 2.0)];
    assert_eq!(areas(&[square(0.0, 0.0, 10.0, true), line.clone()]), [[100.0, 0.0]]);
    assert_eq!(areas(&[line]), [[0.0]]);
    let twice = [square(0.0, 0.0, 10.0, true), square(0.0, 0.0, 10.0, false)];
    assert_eq!(areas(&twice), [[100.0, 100.0]]);
}
