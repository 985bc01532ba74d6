//! Shapes of very many corners: as right as small ones, and in well under a second.

#![allow(clippy::unwrap_used)] // A test may.

use std::f64::consts::TAU;
use std::time::{Duration, Instant};

use geo::{Coord, LineString, Polygon};
use turfplat_measure::{
    Drawn, Plane, Reach, Repair, Sets, Shape, Taker, account, grown_outline, net_outline,
};
use turfplat_units::Length;

/// A debug build is slower than what a user runs.
const WELL_UNDER_A_SECOND: Duration =
    if cfg!(debug_assertions) { Duration::from_secs(12) } else { Duration::from_millis(600) };

fn lay(shell: LineString<f64>, holes: Vec<LineString<f64>>) -> (Shape, Vec<Repair>) {
    let polygons = [Polygon::new(shell, holes)];
    let drawn = Drawn {
        points: &[],
        lines: &[],
        polygons: &polygons,
        width: Length::ZERO,
        radius: Length::ZERO,
        error: Length::ZERO,
    };
    Shape::lay(&drawn, &Plane::already_flat(Coord { x: 0.0, y: 0.0 }))
}

/// A ring of so many corners that wavers by a share of its radius.
fn lake(x: f64, y: f64, radius: f64, corners: u32, wavers: f64) -> LineString<f64> {
    let corner = |i: u32| {
        let turn = f64::from(i) / f64::from(corners) * TAU;
        let r = radius * (1.0 + wavers * (7.0 * turn).sin() + 0.3 * wavers * (61.0 * turn).sin());
        (x + r * turn.cos(), y + r * turn.sin())
    };
    (0..corners).map(corner).collect::<Vec<_>>().into()
}

/// Teeth on a bar, leaning by `turn`.
fn comb(teeth: u32, turn: f64) -> LineString<f64> {
    let mut corners = vec![(f64::from(teeth) * 0.02, -1.0), (0.0, -1.0)];
    for tooth in 0..teeth {
        let x = f64::from(tooth) * 0.02;
        corners.extend([(x, 0.0), (x + 0.005, 20.0), (x + 0.01, 0.0)]);
    }
    corners.swap(0, 1);
    corners[2..].reverse();
    let (sin, cos) = turn.sin_cos();
    corners
        .into_iter()
        .map(|(x, y)| (x * cos - y * sin, x * sin + y * cos))
        .collect::<Vec<_>>()
        .into()
}

#[test]
fn very_many_corners_are_repaired_in_time() {
    let islands = || -> Vec<LineString<f64>> {
        let island = |i: u32| {
            let (ring, place) = (f64::from(i / 50 + 1), f64::from(i % 50) / 50.0 * TAU);
            lake(ring * 15.0 * place.cos(), ring * 15.0 * place.sin(), 0.5, 20, 0.1)
        };
        (0..500).map(island).collect()
    };
    let crossing = lake(197.0, 0.0, 20.0, 40, 0.1);
    let lakes = [
        ("a ring", lay_timed(lake(0.0, 0.0, 100.0, 20_000, 0.1), vec![]), 0),
        ("a lake of islands", lay_timed(lake(0.0, 0.0, 200.0, 20_000, 0.05), islands()), 0),
        (
            "and one across its shore",
            lay_timed(
                lake(0.0, 0.0, 200.0, 20_000, 0.05),
                islands().into_iter().chain([crossing]).collect(),
            ),
            1,
        ),
        ("a comb", lay_timed(comb(10_000, 0.0), vec![]), 0),
        ("a level comb", lay_timed(comb(10_000, TAU / 4.0), vec![]), 0),
        ("a leaning comb", lay_timed(comb(10_000, 0.7), vec![]), 0),
    ];
    for (what, ((_, repairs), took), crossings) in lakes {
        let found = repairs.iter().filter(|it| it.code == "hole-crossing").count();
        let others = repairs.iter().filter(|it| it.code == "crossed-outline").count();
        assert_eq!((found, others), (crossings, 0), "{what}: {repairs:?}");
        assert!(took < WELL_UNDER_A_SECOND, "{what}: {took:?}");
    }
}

fn lay_timed(
    shell: LineString<f64>,
    holes: Vec<LineString<f64>>,
) -> ((Shape, Vec<Repair>), Duration) {
    let start = Instant::now();
    (lay(shell, holes), start.elapsed())
}

#[test]
fn setbacks_of_very_many_corners_are_drawn_in_time() {
    let by = Length::from_metres(7.62).unwrap();
    let (lawn, _) = lay(
        vec![(-150.0, -150.0), (150.0, -150.0), (150.0, 150.0), (-150.0, 150.0)].into(),
        vec![],
    );
    for (what, corners, wavers) in [
        ("small", 60, 0.1),
        ("of many corners", 200, 0.1),
        ("huge", 20_000, 0.1),
        ("rough", 20_000, 0.3),
    ] {
        let (pond, _) = lay(
            lake(0.0, 0.0, 60.0, corners, wavers),
            vec![lake(5.0, 0.0, 20.0, corners / 2, wavers)],
        );
        let start = Instant::now();
        let outline = grown_outline(&pond, by);
        let took = start.elapsed();
        assert!(took < WELL_UNDER_A_SECOND, "{what}: {took:?}");
        let reach = Reach::of(&pond, by);
        let takers = [Taker { cause: 0, sets: Sets::ALL, reach: &reach }];
        let start = Instant::now();
        let exact = account(&lawn, &takers, 1, None);
        let took = start.elapsed();
        assert!(took < WELL_UNDER_A_SECOND, "{what}: {took:?} to measure");
        let (lost, edge) = (exact.lost[0].square_metres(), exact.perimeter.metres() - 1200.0);
        let drawn = outline.square_metres();
        assert!(drawn >= lost && drawn <= lost + 0.0051 * edge, "{what}: {drawn} for {lost}");
        let left = net_outline(&lawn, &takers, None).square_metres();
        let net = exact.net.square_metres();
        assert!(left <= net && left >= net - 0.0051 * edge, "{what}: {left} for {net}");
    }
}
