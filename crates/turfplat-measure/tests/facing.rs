//! Ground kept on one side of a shape: half-discs instead of discs, exact in the numbers.

#![allow(clippy::unwrap_used)] // A test may.

use geo::{Area as _, Coord, LineString, Polygon, unary_union};
use proptest::prelude::*;
use turfplat_measure::{
    Drawn, Growth, OUTLINE_TOLERANCE_METRES, Plane, Reach, Sets, Shape, Taker, account,
    grown_outline, net_outline,
};
use turfplat_units::Length;

fn metres(value: f64) -> Length {
    Length::from_metres(value).unwrap()
}

fn laid(
    polygons: &[Polygon<f64>],
    points: &[Coord<f64>],
    lines: &[LineString<f64>],
    width: f64,
    radius: f64,
) -> Shape {
    let drawn = Drawn {
        points,
        lines,
        polygons,
        width: metres(width),
        radius: metres(radius),
        error: Length::ZERO,
    };
    Shape::lay(&drawn, &Plane::already_flat(Coord { x: 0.0, y: 0.0 })).unwrap().0
}

fn polygon(points: &[(f64, f64)]) -> Shape {
    laid(&[Polygon::new(LineString::from(points.to_vec()), vec![])], &[], &[], 0.0, 0.0)
}

/// Everything near, to take from.
fn field() -> Shape {
    polygon(&[(-200.0, -200.0), (200.0, -200.0), (200.0, 200.0), (-200.0, 200.0)])
}

fn taken(shape: &Shape, growth: Growth) -> f64 {
    let reach = Reach::of(shape, growth);
    let takers = [Taker { cause: 0, sets: Sets::ALL, reach: &reach }];
    account(&field(), &takers, 1, None).unwrap().lost[0].square_metres()
}

/// The way to an azimuth, from north by east.
fn way(azimuth: f64) -> (f64, f64) {
    azimuth.to_radians().sin_cos()
}

/// How far the half-disc of radius `by` towards `azimuth` reaches along a unit vector.
fn support(by: f64, azimuth: f64, (nx, ny): (f64, f64)) -> f64 {
    let (east, north) = way(azimuth);
    let (along, across) = (nx * east + ny * north, nx * north - ny * east);
    if along >= 0.0 { by } else { by * across.abs() }
}

#[test]
fn shapes_whose_sum_with_a_half_disc_is_known() {
    let pi = std::f64::consts::PI;
    let dot = laid(&[], &[Coord { x: 3.0, y: 4.0 }], &[], 0.0, 0.0);
    let disc = laid(&[], &[Coord { x: 3.0, y: 4.0 }], &[], 0.0, 2.0);
    let square = polygon(&[(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)]);
    let side = laid(&[], &[], &[LineString::from(vec![(0.0, 0.0), (20.0, 0.0)])], 0.0, 0.0);
    let strip = laid(&[], &[], &[LineString::from(vec![(0.0, 0.0), (20.0, 0.0)])], 4.0, 0.0);
    // Of convex K and S the sum has the area |K| + 2 V(K, S) + |S| (Schneider, Convex Bodies, ch. 5, from
    // memory): of a disc 2 V is its radius times the outline of S, of a polygon the sum of its sides times
    // how far S reaches along their normals.
    let half = pi * 50.0;
    #[rustfmt::skip]
    let table = [
        ("a well", &dot, 37.0, half),
        ("a round pond", &disc, 200.0, 4.0 * pi + 2.0 * (10.0 * pi + 20.0) + half),
        // North, and 10 m to both sides of it from west to east.
        ("a square, wind from north", &square, 0.0, 400.0 + 20.0 * (10.0 + 10.0 + 10.0) + half),
        // Both windward sides are kept in full, the lee ones as far as the half-disc leans over them.
        ("a square, wind across it", &square, 45.0, 400.0 + 20.0 * (20.0 + 20.0 / 2.0_f64.sqrt()) + half),
        ("a fence, wind across it", &side, 0.0, 20.0 * 10.0 + half),
        ("a fence, wind along it", &side, 90.0, 20.0 * 20.0 + half),
        ("a ditch, wind across it", &strip, 180.0, 80.0 + 20.0 * 10.0 + 4.0 * 20.0 + half),
    ];
    for (what, shape, azimuth, known) in table {
        let ours = taken(shape, Growth::towards(metres(10.0), azimuth));
        assert!((ours - known).abs() < 1e-6, "{what}: {ours} ≠ {known}");
    }
}

#[test]
fn a_wind_across_two_sides_keeps_the_full_distance_from_both() {
    // A lawn south and west of a pond's corner, wind from the south-west: drift goes to both sides of the pond.
    let pond = polygon(&[(0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0)]);
    for azimuth in [190.0, 225.0, 260.0] {
        let reach = Reach::of(&pond, Growth::towards(metres(10.0), azimuth));
        let takers = [Taker { cause: 0, sets: Sets::ALL, reach: &reach }];
        let lost = |corners: &[(f64, f64)]| {
            let lost = account(&polygon(corners), &takers, 1, None).unwrap().lost[0];
            lost.square_metres()
        };
        let south = lost(&[(14.0, -20.0), (16.0, -20.0), (16.0, 0.0), (14.0, 0.0)]);
        let west = lost(&[(-20.0, 14.0), (0.0, 14.0), (0.0, 16.0), (-20.0, 16.0)]);
        assert!((south - 20.0).abs() < 1e-9 && (west - 20.0).abs() < 1e-9, "{south}, {west}");
    }
}

fn ring(size: f64) -> impl Strategy<Value = LineString<f64>> {
    let corner = prop_oneof![
        (-size..size, -size..size),
        (-6..6_i32, -6..6_i32)
            .prop_map(move |(x, y)| (f64::from(x) * size / 6.0, f64::from(y) * size / 6.0)),
    ];
    prop::collection::vec(corner, 3..12).prop_map(LineString::from)
}

/// Every side of a shape's rings with a half-disc along it, the half-disc as a polygon: inside of it or
/// outside. A union of convex pieces, by another way than ours.
fn by_pieces(shape: &Shape, by: f64, azimuth: f64, is_outside: bool) -> f64 {
    use geo::ConvexHull;
    let steps = 64;
    let step = std::f64::consts::PI / f64::from(steps);
    let (east, north) = way(azimuth);
    let mut fan: Vec<Coord<f64>> =
        vec![Coord { x: -north * by, y: east * by }, Coord { x: north * by, y: -east * by }];
    let radius = if is_outside { by / (step / 2.0).cos() } else { by };
    let turns = (0..=steps).map(|i| f64::from(i) * step - std::f64::consts::FRAC_PI_2);
    let turns: Vec<f64> = if is_outside {
        turns.take(steps as usize).map(|it| it + step / 2.0).collect()
    } else {
        turns.collect()
    };
    fan.extend(turns.into_iter().map(|turn| {
        let (sin, cos) = turn.sin_cos();
        Coord { x: (east * cos - north * sin) * radius, y: (north * cos + east * sin) * radius }
    }));
    let rings = shape.rings().unwrap();
    let mut pieces: Vec<Polygon<f64>> = Vec::new();
    for side in rings.iter().flat_map(|ring| ring.windows(2)) {
        let corners: Vec<Coord<f64>> =
            fan.iter().flat_map(|&at| [side[0] + at, side[1] + at]).collect();
        pieces.push(LineString(corners).convex_hull());
    }
    let solid = grown_outline(shape, Length::ZERO).polygons().clone();
    let grown = unary_union(&pieces);
    unary_union(grown.iter().chain(solid.iter())).unsigned_area()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 64, max_global_rejects: 100_000, ..ProptestConfig::default() })]

    /// The convex hull of random corners: its sum with a half-disc has a known area.
    #[test]
    fn convex_shapes_keep_the_formula(ring in prop::collection::vec((-40.0..40.0_f64, -40.0..40.0_f64), 3..12).prop_map(LineString::from), azimuth in 0.0..360.0_f64, by in 0.5..40.0_f64) {
        use geo::ConvexHull;
        let hull = Polygon::new(ring, vec![]).convex_hull();
        prop_assume!(hull.unsigned_area() > 1.0);
        let sides = hull.exterior().lines().map(|side| {
            let (dx, dy) = (side.dx(), side.dy());
            let length = dx.hypot(dy);
            length * support(by, azimuth, (dy / length, -dx / length))
        });
        let known = hull.unsigned_area() + sides.sum::<f64>() + std::f64::consts::PI * by * by / 2.0;
        let ours = taken(&laid(&[hull], &[], &[], 0.0, 0.0), Growth::towards(metres(by), azimuth));
        prop_assert!((ours - known).abs() < 1e-9 * known, "{ours} ≠ {known}");
    }

    /// Whatever is drawn, a lake with an island too: between the union of pieces inside and that of
    /// pieces outside.
    #[test]
    fn any_shape_is_between_its_pieces(
        shell in ring(30.0),
        island in prop::option::of(0.2..0.9_f64),
        azimuth in 0.0..360.0_f64,
        by in 1.0..25.0_f64,
    ) {
        use geo::{ConvexHull, Scale};
        let drawn = Polygon::new(shell, vec![]);
        let drawn = match island {
            Some(share) => {
                let lake = drawn.convex_hull();
                Polygon::new(lake.exterior().clone(), vec![lake.scale(share).exterior().clone()])
            }
            None => drawn,
        };
        let shape = laid(&[drawn], &[], &[], 0.0, 0.0);
        prop_assume!(shape.rings().is_some_and(|rings| !rings.is_empty()));
        let ours = taken(&shape, Growth::towards(metres(by), azimuth));
        let (inside, outside) = (by_pieces(&shape, by, azimuth, false), by_pieces(&shape, by, azimuth, true));
        let grid = 1e-5 * outside;
        prop_assert!(inside - grid <= ours && ours <= outside + grid, "{inside} ≤ {ours} ≤ {outside}");
    }

    /// Two halves that face each other make the whole, and no half is more than it.
    #[test]
    fn halves_make_the_whole(shell in ring(30.0), line in ring(30.0), width in prop_oneof![Just(0.0), 0.5..6.0_f64], azimuth in 0.0..360.0_f64, by in 1.0..25.0_f64) {
        let shape = laid(&[Polygon::new(shell, vec![])], &[Coord { x: 20.0, y: -30.0 }], &[line], width, 1.5);
        let whole = taken(&shape, metres(by).into());
        let halves = [azimuth, azimuth + 180.0].map(|azimuth| Reach::of(&shape, Growth::towards(metres(by), azimuth)));
        let takers = halves.each_ref().map(|reach| Taker { cause: 0, sets: Sets::ALL, reach });
        let both = account(&field(), &takers, 1, None).unwrap().lost[0].square_metres();
        prop_assert!((both - whole).abs() < 1e-8 * whole.max(1.0), "{both} ≠ {whole}");
        let one = taken(&shape, Growth::towards(metres(by), azimuth));
        prop_assert!(one <= whole * (1.0 + 1e-9));
    }

    /// Drawn outlines contain the true ground and exceed it by the tolerance alone.
    #[test]
    fn outlines_are_outside(shell in ring(30.0), azimuth in 0.0..360.0_f64, by in 1.0..25.0_f64) {
        let shape = laid(&[Polygon::new(shell, vec![])], &[], &[], 0.0, 0.0);
        prop_assume!(!shape.is_empty());
        let growth = Growth::towards(metres(by), azimuth);
        let ours = taken(&shape, growth);
        let drawn = grown_outline(&shape, growth);
        let outline: f64 = drawn.polygons().iter().flat_map(|it| std::iter::once(it.exterior()).chain(it.interiors())).map(|ring| ring.lines().map(|side| side.dx().hypot(side.dy())).sum::<f64>()).sum();
        let most = ours + outline * OUTLINE_TOLERANCE_METRES;
        prop_assert!(drawn.square_metres() >= ours - 1e-4 && drawn.square_metres() <= most + 1e-3, "{} {} {}", ours, drawn.square_metres(), most);
        let reach = Reach::of(&shape, growth);
        let takers = [Taker { cause: 0, sets: Sets::ALL, reach: &reach }];
        let left = net_outline(&field(), &takers, None).square_metres();
        let net = account(&field(), &takers, 1, None).unwrap().net.square_metres();
        prop_assert!(left <= net + 1e-3 && left >= net - outline * OUTLINE_TOLERANCE_METRES - 1.0);
    }
}
