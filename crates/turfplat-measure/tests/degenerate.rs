//! Shapes that touch, coincide, or have next to no width: each worked by hand.

#![allow(clippy::unwrap_used)] // A test may.

use std::f64::consts::PI;

use geo::{Coord, LineString, Polygon};
use turfplat_measure::{Account, Drawn, Plane, Reach, Repair, Sets, Shape, Taker, account};
use turfplat_units::Length;

fn laid(polygons: &[Polygon<f64>], points: &[Coord<f64>], radius: f64) -> (Shape, Vec<Repair>) {
    let radius = Length::from_metres(radius).unwrap();
    let drawn =
        Drawn { points, lines: &[], polygons, width: Length::ZERO, radius, error: Length::ZERO };
    Shape::lay(&drawn, &Plane::already_flat(Coord { x: 0.0, y: 0.0 })).unwrap()
}

fn ring(points: &[(f64, f64)]) -> LineString<f64> {
    LineString::from(points.to_vec())
}

fn polygon(points: &[(f64, f64)]) -> Shape {
    laid(&[Polygon::new(ring(points), vec![])], &[], 0.0).0
}

fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Shape {
    polygon(&[(x, y), (x + width, y), (x + width, y + height), (x, y + height)])
}

fn disc(x: f64, y: f64, radius: f64) -> Shape {
    laid(&[], &[Coord { x, y }], radius).0
}

/// Takers in the order of their causes, each with what it reaches beyond itself in metres.
fn less(zone: &Shape, takers: &[(&Shape, f64)]) -> Account {
    let by = |metres: f64| Length::from_metres(metres).unwrap();
    let reaches: Vec<Reach<'_>> =
        takers.iter().map(|&(shape, grown)| Reach::of(shape, by(grown))).collect();
    let takers: Vec<Taker<'_>> = reaches
        .iter()
        .enumerate()
        .map(|(cause, reach)| Taker { cause, sets: Sets::ALL, reach })
        .collect();
    account(zone, &takers, takers.len(), None).unwrap()
}

/// In m² and m: rounding of sums of a few thousand m².
const ROUNDING: f64 = 1e-9;

#[track_caller]
fn expect(what: &str, ours: &Account, net: f64, lost: &[f64], perimeter: f64) {
    let near = |a: f64, b: f64| (a - b).abs() <= ROUNDING;
    let taken: Vec<f64> = ours.lost.iter().map(|area| area.square_metres()).collect();
    assert!(near(ours.net.square_metres(), net), "{what}: net {:?} ≠ {net}", ours.net);
    assert!(
        taken.len() == lost.len() && taken.iter().zip(lost).all(|(a, b)| near(*a, *b)),
        "{what}: lost {taken:?} ≠ {lost:?}"
    );
    assert!(
        (ours.perimeter.metres() - perimeter).abs() <= 1e-6,
        "{what}: perimeter {:?} ≠ {perimeter}",
        ours.perimeter
    );
}

#[test]
fn a_zone_that_is_taken_by_its_equal_is_gone() {
    let rough = polygon(&[(0.0, 0.0), (7.3, 1.1), (9.0, 6.2), (4.1, 9.7), (-1.3, 4.4)]);
    let gross = less(&rough, &[]).gross.square_metres();
    expect("a rough one", &less(&rough, &[(&rough, 0.0)]), 0.0, &[gross], 0.0);
    expect("twice", &less(&rough, &[(&rough, 0.0), (&rough, 0.0)]), 0.0, &[gross, 0.0], 0.0);
    let round = disc(3.0, 4.0, 5.0);
    expect("a round one", &less(&round, &[(&round, 0.0)]), 0.0, &[25.0 * PI], 0.0);
    // The same outline, with more corners along it.
    let lawn = rectangle(0.0, 0.0, 12.0, 9.0);
    let same = [(0.0, 0.0), (4.0, 0.0), (12.0, 0.0), (12.0, 3.0), (12.0, 9.0), (5.0, 9.0)];
    let same = polygon(&[&same[..], &[(0.0, 9.0), (0.0, 7.0)]].concat());
    expect("with more corners", &less(&lawn, &[(&same, 0.0)]), 0.0, &[108.0], 0.0);
}

#[test]
fn edges_may_coincide() {
    // Leaning, so that the shared edges are neither level nor upright: (4, 3) and (−3, 4) are at
    // right angles and 5 long.
    let slab = |from: f64, to: f64| {
        polygon(&[
            (4.0 * from, 3.0 * from),
            (4.0 * to, 3.0 * to),
            (4.0 * to - 3.0, 3.0 * to + 4.0),
            (4.0 * from - 3.0, 3.0 * from + 4.0),
        ])
    };
    let lawn = slab(0.0, 6.0);
    // 150 m², 70 m round; the beds lie edge to edge, the second also under the third.
    let (first, second, third) = (slab(0.0, 2.0), slab(2.0, 4.0), slab(3.0, 4.0));
    let ours = less(&lawn, &[(&first, 0.0), (&second, 0.0), (&third, 0.0)]);
    expect("beds side by side", &ours, 50.0, &[50.0, 50.0, 0.0], 30.0);
    let ours = less(&lawn, &[(&third, 0.0), (&second, 0.0)]);
    expect("one inside the other", &ours, 100.0, &[25.0, 25.0], 60.0);
    let beside = slab(6.0, 9.0);
    expect("a neighbor that only touches", &less(&lawn, &[(&beside, 0.0)]), 150.0, &[0.0], 70.0);
    assert_eq!(less(&lawn, &[(&beside, 0.0)]).lost[0].square_metres(), 0.0, "not even a hair");
}

#[test]
fn touching_arcs() {
    let lawn = rectangle(-50.0, -40.0, 100.0, 80.0);
    for turn in [0.0_f64, 0.3, PI / 4.0, PI / 2.0, 2.0, 3.9] {
        let (sin, cos) = turn.sin_cos();
        // Two discs tangent externally: nothing shared.
        let (a, b) = (disc(0.0, 0.0, 7.0), disc(10.0 * cos, 10.0 * sin, 3.0));
        let ours = less(&lawn, &[(&a, 0.0), (&b, 0.0)]);
        let taken = [49.0 * PI, 9.0 * PI];
        expect("apart", &ours, 8000.0 - 58.0 * PI, &taken, 360.0 + 20.0 * PI);
        // Tangent internally: the smaller adds nothing, or takes first.
        let inside = disc(4.0 * cos, 4.0 * sin, 3.0);
        let ours = less(&lawn, &[(&a, 0.0), (&inside, 0.0)]);
        expect("inside", &ours, 8000.0 - 49.0 * PI, &[49.0 * PI, 0.0], 360.0 + 14.0 * PI);
        let ours = less(&lawn, &[(&inside, 0.0), (&a, 0.0)]);
        expect("first", &ours, 8000.0 - 49.0 * PI, &[9.0 * PI, 40.0 * PI], 360.0 + 14.0 * PI);
    }
}

#[test]
fn a_disc_that_touches_a_line() {
    for turn in [0.0_f64, 0.3, PI / 4.0, PI / 2.0, 2.0, 3.9] {
        let (sin, cos) = turn.sin_cos();
        let turned = |(x, y): (f64, f64)| (x * cos - y * sin, x * sin + y * cos);
        let lawn = polygon(&[(-20.0, 0.0), (20.0, 0.0), (20.0, 30.0), (-20.0, 30.0)].map(turned));
        let well = |x: f64, y: f64| {
            let (x, y) = turned((x, y));
            disc(x, y, 0.0)
        };
        let inside = less(&lawn, &[(&well(1.0, 6.0), 6.0)]);
        eprintln!("{turn} {inside:?}");
        expect("from inside", &inside, 1200.0 - 36.0 * PI, &[36.0 * PI], 140.0 + 12.0 * PI);
        let outside = less(&lawn, &[(&well(1.0, -6.0), 6.0)]);
        expect("from outside", &outside, 1200.0, &[0.0], 140.0);
    }
}

#[test]
fn slivers() {
    let lawn = rectangle(0.0, 0.0, 100.0, 50.0);
    for width in [1e-3, 1e-6, 1e-9, 1e-12] {
        let sliver = polygon(&[(10.0, 10.0), (90.0, 40.0), (10.0, 10.0 + width)]);
        let taken = 40.0 * width;
        let ours = less(&lawn, &[(&sliver, 0.0)]);
        let net = ours.net.square_metres();
        assert!((net - (5000.0 - taken)).abs() <= ROUNDING, "{width}: {net}");
        // Set back, it is as good as a line, and the two sides' strips count once.
        let ours = less(&lawn, &[(&sliver, 2.0)]).lost[0].square_metres();
        let length = 80.0_f64.hypot(30.0);
        let exact = 4.0 * length + 4.0 * PI;
        assert!((ours - exact).abs() <= 1e-6 + 200.0 * width, "{width}: {ours} ≠ {exact}");
    }
    // A lawn that is a sliver itself.
    let thread = polygon(&[(0.0, 0.0), (80.0, 60.0), (80.0, 60.0 + 1e-6)]);
    assert!((less(&thread, &[]).net.square_metres() - 4e-5).abs() <= 1e-12);
}

#[test]
fn a_hole_that_equals_its_shell_leaves_nothing() {
    let shell = ring(&[(0.0, 0.0), (7.3, 1.1), (9.0, 6.2), (4.1, 9.7), (-1.3, 4.4)]);
    let (shape, repairs) = laid(&[Polygon::new(shell.clone(), vec![shell])], &[], 0.0);
    assert!(repairs.iter().any(|repair| repair.code == "hole-takes-all"), "{repairs:?}");
    expect("no ground", &less(&shape, &[]), 0.0, &[], 0.0);
    // As something to keep away from it is still there.
    let lawn = rectangle(-20.0, -20.0, 50.0, 50.0);
    assert!(less(&lawn, &[(&shape, 1.0)]).lost[0].square_metres() > 30.0);
}

#[test]
fn corners_one_unit_in_the_last_place_apart() {
    let (x, y) = (12.3_f64, 45.6_f64);
    for (dx, dy) in [(1, 0), (0, 1), (1, 1), (-1, 0), (0, -1), (-1, 1)] {
        let step = |value: f64, by: i32| match by {
            1 => value.next_up(),
            -1 => value.next_down(),
            _ => value,
        };
        let (x2, y2) = (step(x, dx), step(y, dy));
        let lawn = polygon(&[(0.0, 0.0), (40.0, 3.0), (x, y), (x2, y2), (-5.0, 30.0)]);
        let plain = polygon(&[(0.0, 0.0), (40.0, 3.0), (x, y), (-5.0, 30.0)]);
        let gross = less(&plain, &[]).gross.square_metres();
        let doubled = less(&lawn, &[(&plain, 0.0)]);
        // Such a corner may be repaired, on a grid that is coarser than that by far.
        assert!((doubled.gross.square_metres() - gross).abs() <= 1e-5, "{doubled:?}");
        assert!(doubled.net.square_metres() <= 1e-5, "{doubled:?}");
        // A bed along the lawn's edge, but for one unit in the last place.
        let bed = polygon(&[(0.0, 0.0), (40.0, 3.0), (x2, y2)]);
        let area = less(&bed, &[]).gross.square_metres();
        let ours = less(&plain, &[(&bed, 0.0)]);
        let around = ours.perimeter.metres();
        expect("a bed", &ours, gross - area, &[area], around);
        let sides = x.hypot(y) + (x + 5.0).hypot(y - 30.0) + 5.0_f64.hypot(30.0);
        assert!((around - sides).abs() <= 1e-6, "{around} ≠ {sides}");
    }
}

/// Two chains run together before they part: which was west where they coincide must not be
/// carried on to where they are apart.
#[test]
fn chains_that_run_together_and_part() {
    let lawn = polygon(&[(0.0, 0.0), (10.0, 0.0), (10.0, 50.0), (12.0, 51.0), (0.0, 60.0)]);
    let bed = polygon(&[(10.0, 0.0), (20.0, 0.0), (20.0, 60.0), (11.0, 60.0), (10.0, 50.0)]);
    // The bed takes what of the lawn's lobe lies beyond its own edge from (10, 50) to (11, 60):
    // the triangle (10, 50), (12, 51) and where that edge meets the lawn's from (12, 51) to (0, 60).
    let (sx, sy) = {
        // (10 + t, 50 + 10 t) on the line 9 x + 12 y = 720.
        let t = (720.0 - 9.0 * 10.0 - 12.0 * 50.0) / (9.0 + 120.0);
        (10.0 + t, 50.0 + 10.0 * t)
    };
    let taken = ((12.0 - 10.0) * (sy - 50.0) - (51.0 - 50.0) * (sx - 10.0)) / 2.0;
    let ours = less(&lawn, &[(&bed, 0.0)]);
    assert!((ours.lost[0].square_metres() - taken).abs() <= ROUNDING, "{ours:?} ≠ {taken}");
}

#[test]
fn whatever_is_finite_is_answered() {
    let values = [0.0, 1e-300, 5e-324, 1.0, 1e15, -1e15, 1e300, -1e300, f64::MAX];
    for a in values {
        for b in values {
            for c in values {
                let odd = polygon(&[(a, b), (b, c), (c, a), (1.0, 2.0)]);
                let lawn = rectangle(0.0, 0.0, 10.0, 10.0);
                let _ = (less(&lawn, &[(&odd, 0.0)]), less(&odd, &[(&lawn, 0.0)]));
                let _ = less(&lawn, &[(&disc(a, b, 1.0), 2.0)]);
            }
        }
    }
}

/// What stands a hair apart where it is nearest is bounded on its own wherever it is not.
#[test]
fn sides_that_come_close_and_part_again() {
    for hair in [1e-10, 3e-10, 1e-9, 1e-8, 0.0, -1e-10] {
        // Nearest the lawn's east side at mid-height between the ends of a bed in the west.
        let (sin, cos) = 0.3_f64.sin_cos();
        let (x, y) = ((5.0 + hair) * cos, (5.0 + hair) * sin);
        let (dx, dy) = (-20.0 * sin, 20.0 * cos);
        let east = [(x - dx, y - dy), (x + dx, y + dy)];
        let west = east.map(|(x, y)| (x - 40.0 * cos, y - 40.0 * sin));
        let lawn = polygon(&[east[0], east[1], west[1], west[0]]);
        let bed = rectangle(-20.0, 5.0 * sin - 1.0, 4.0, 2.0);
        let ours = less(&lawn, &[(&disc(0.0, 0.0, 0.0), 5.0), (&bed, 0.0)]);
        let around = 160.0 + 10.0 * PI + 12.0;
        assert!((ours.perimeter.metres() - around).abs() <= 5e-4, "{hair}: {ours:?} ≠ {around}");
        // A lawn's side that runs up to a bed's, along it, and away.
        let lawn = [(-10.0, -5.0), (0.0, -5.0), (5.0 - hair, 0.0), (5.0 - hair, 8.0)];
        let lawn =
            polygon(&[&lawn[..], &[(4.0, 8.0), (7.0, 9.0), (7.0, 12.0), (-10.0, 12.0)]].concat());
        let bed = rectangle(5.0, -10.0, 5.0, 18.0);
        let around = 10.0 + 50.0_f64.sqrt() + 9.0 + 10.0_f64.sqrt() + 3.0 + 17.0 + 17.0;
        let ours = less(&lawn, &[(&bed, 0.0)]);
        assert!((ours.perimeter.metres() - around).abs() <= 1e-6, "{hair}: {ours:?} ≠ {around}");
    }
}
