//! Shapes of very many corners: as right as small ones, and in well under a second.

#![allow(clippy::unwrap_used)] // A test may.

use std::f64::consts::TAU;
use std::time::{Duration, Instant};

use geo::{Coord, LineString, Polygon};
use turfplat_measure::{
    Drawn, Plane, Reach, Repair, Sets, Shape, Taker, Tangled, account, grown_outline, net_outline,
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
    try_lay(&drawn).unwrap()
}

fn try_lay(drawn: &Drawn<'_>) -> Result<(Shape, Vec<Repair>), Tangled> {
    Shape::lay(drawn, &Plane::already_flat(Coord { x: 0.0, y: 0.0 }))
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
        let exact = account(&lawn, &takers, 1, None).unwrap();
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

/// Corners anywhere in a square, the same ones every time.
fn scribble(corners: u32) -> LineString<f64> {
    let mut state = 1_u64;
    let mut next = || {
        // Knuth's MMIX constants; the upper bits are as good as random.
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from((state >> 40) as u32) / f64::from(1_u32 << 24) * 200.0
    };
    (0..corners).map(|_| (next(), next())).collect::<Vec<_>>().into()
}

/// A shore whose every so manieth corner was clicked out of turn: the pen crosses itself there.
fn slipping(corners: u32, every: usize) -> LineString<f64> {
    let mut shore = lake(0.0, 0.0, 100.0, corners, 0.1);
    (every..shore.0.len()).step_by(every).for_each(|place| shore.0.swap(place - 1, place));
    shore
}

const NOTHING: Drawn<'static> = Drawn {
    points: &[],
    lines: &[],
    polygons: &[],
    width: Length::ZERO,
    radius: Length::ZERO,
    error: Length::ZERO,
};

#[test]
fn a_scribble_is_given_up_in_time() {
    let all_of_it = scribble(20_000);
    let half_a_foot = Length::from_feet(0.5).unwrap();
    let lines = [all_of_it.clone()];
    let alone = [Polygon::new(all_of_it.clone(), vec![])];
    let shore = lake(100.0, 100.0, 200.0, 2_000, 0.05);
    let hole = [Polygon::new(shore.clone(), vec![all_of_it])];
    let upright = comb(1_000, 0.0);
    let level: LineString<f64> = upright.0.iter().map(|&Coord { x, y }| (y, x)).collect();
    let crossed = [Polygon::new(upright, vec![]), Polygon::new(level, vec![])];
    for (what, drawn) in [
        ("an outline", Drawn { polygons: &alone, ..NOTHING }),
        ("a hole", Drawn { polygons: &hole, ..NOTHING }),
        ("a line", Drawn { lines: &lines, width: half_a_foot, ..NOTHING }),
        ("two combs across each other", Drawn { polygons: &crossed, ..NOTHING }),
    ] {
        let start = Instant::now();
        let found = try_lay(&drawn).map(|_| ());
        let took = start.elapsed();
        assert!(found.is_err_and(|tangled| tangled.crossings > 2_000), "{what}");
        assert!(took < WELL_UNDER_A_SECOND, "{what}: {took:?}");
    }
}

/// Each of the two is as it should be; only together they are a weave.
#[test]
fn a_lawn_that_is_a_weave_is_given_up() {
    let upright = comb(200, 0.0);
    let level: LineString<f64> =
        upright.0.iter().map(|&Coord { x, y }| (y * 0.2, x * 5.0)).collect();
    let ((lawn, _), (bed, _)) = (lay(upright, vec![]), lay(level, vec![]));
    let reach = Reach::of(&bed, Length::ZERO);
    let takers = [Taker { cause: 0, sets: Sets::ALL, reach: &reach }];
    let found = account(&lawn, &takers, 1, None);
    assert!(found.is_err_and(|tangled| tangled.crossings > 20_000));
    assert!(account(&lawn, &[], 1, None).is_ok());
}

#[test]
fn a_pen_that_slips_or_goes_round_twice_is_no_scribble() {
    let twice = |shore: LineString<f64>| -> LineString<f64> {
        shore.0.iter().chain(&shore.0[1..]).copied().collect()
    };
    let shore = lake(0.0, 0.0, 100.0, 20_000, 0.1);
    let there_and_back: LineString<f64> =
        shore.0.iter().chain(shore.0.iter().rev()).copied().collect();
    let area = |shore: LineString<f64>| account(&lay(shore, vec![]).0, &[], 0, None).unwrap().gross;
    let true_area = area(shore.clone()).square_metres();
    for (what, outline) in [
        ("five hundred slips", slipping(20_000, 40)),
        ("round twice", twice(shore.clone())),
        ("round twice, a hand's breadth off", {
            let again = lake(0.1, 0.05, 100.0, 20_000, 0.1);
            shore.0.iter().chain(&again.0).copied().collect()
        }),
    ] {
        let (found, repairs) = lay(outline, vec![]);
        assert!(repairs.iter().any(|it| it.code == "crossed-outline"), "{what}: {repairs:?}");
        let found = account(&found, &[], 0, None).unwrap().gross.square_metres();
        assert!((found / true_area - 1.0).abs() < 2e-3, "{what}: {found} for {true_area}");
    }
    assert!(try_lay(&Drawn { lines: &[there_and_back], ..NOTHING }).is_ok());
    // A thousand lots of one owner, side by side.
    let lot = |place: u32| {
        let (x, y) = (f64::from(place % 40) * 20.0, f64::from(place / 40) * 30.0);
        let ring = vec![(x, y), (x + 20.0, y), (x + 20.0, y + 30.0), (x, y + 30.0)];
        Polygon::new(ring.into(), vec![])
    };
    let lots: Vec<Polygon<f64>> = (0..1_000).map(lot).collect();
    assert!(try_lay(&Drawn { polygons: &lots, ..NOTHING }).is_ok());
}
