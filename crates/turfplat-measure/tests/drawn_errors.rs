//! How far off an area may be: against the surveyor's formula, against drawing it many times.

#![allow(clippy::unwrap_used)] // A test may.

use std::f64::consts::TAU;

use geo::{Coord, LineString, Polygon};
use turfplat_measure::{Drawn, DrawnError, Plane, Reach, Sets, Shape, Taker, account, drawn_error};
use turfplat_units::Length;

fn metres(value: f64) -> Length {
    Length::from_metres(value).unwrap()
}

fn lay(drawn: &Drawn<'_>) -> Shape {
    Shape::lay(drawn, &Plane::already_flat(Coord { x: 0.0, y: 0.0 })).unwrap().0
}

fn nothing(error: f64) -> Drawn<'static> {
    Drawn {
        points: &[],
        lines: &[],
        polygons: &[],
        width: Length::ZERO,
        radius: Length::ZERO,
        error: metres(error),
    }
}

fn polygon(corners: &[(f64, f64)], error: f64) -> Shape {
    let ring = Polygon::new(LineString::from(corners.to_vec()), vec![]);
    lay(&Drawn { polygons: &[ring], ..nothing(error) })
}

fn disc(x: f64, y: f64, radius: f64, error: f64) -> Shape {
    lay(&Drawn { points: &[Coord { x, y }], radius: metres(radius), ..nothing(error) })
}

fn line(corners: &[(f64, f64)], width: f64, error: f64) -> Shape {
    let line = LineString::from(corners.to_vec());
    lay(&Drawn { lines: &[line], width: metres(width), ..nothing(error) })
}

fn square_metres(of: DrawnError) -> (f64, f64) {
    (of.independent.square_metres(), of.together.square_metres())
}

/// var(A) = s²/4 · Σ |p(i+1) − p(i−1)|², the variance of the shoelace formula propagated from
/// corners that are off by s east and north each (Ghilani, Adjustment Computations, chapter on
/// error propagation in traverse and area computations; from memory).
#[test]
fn a_lone_polygon_has_the_surveyors_error() {
    let outlines: [&[(f64, f64)]; 3] = [
        &[(0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0)],
        &[(0.0, 0.0), (12.0, -3.0), (20.0, 4.0), (11.0, 5.0), (14.0, 15.0), (3.0, 11.0)],
        &[(0.0, 0.0), (40.0, 1.0), (5.0, 30.0)],
    ];
    for corners in outlines {
        let count = corners.len();
        let sum: f64 = (0..count)
            .map(|i| (corners[(i + 1) % count], corners[(i + count - 1) % count]))
            .map(|(next, before)| (next.0 - before.0).powi(2) + (next.1 - before.1).powi(2))
            .sum();
        let surveyors = (0.3_f64.powi(2) / 4.0 * sum).sqrt();
        let (ours, _) = square_metres(drawn_error(&polygon(corners, 0.3), &[], None));
        assert!((ours - surveyors).abs() < 1e-9, "{corners:?}: {ours} ≠ {surveyors}");
    }
}

/// A side as long as L between corners that are off by s: each pulls with half of L.
#[test]
fn worked_by_hand() {
    let lawn = polygon(&[(0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0)], 0.0);
    // A bed from one long side of the lawn to the other: only its short sides, 30 m of lawn each,
    // bound what is left.
    let bed = polygon(&[(10.0, -5.0), (20.0, -5.0), (20.0, 35.0), (10.0, 35.0)], 0.2);
    let exact = |reach: &Reach<'_>| {
        square_metres(drawn_error(&lawn, &[Taker { cause: 0, sets: Sets::ALL, reach }], None))
    };
    let (independent, together) = exact(&Reach::of(&bed, Length::ZERO));
    assert!((independent - 0.2 * (4.0 * 15.0_f64.powi(2)).sqrt()).abs() < 1e-9, "{independent}");
    assert!((together - 0.2 * 60.0).abs() < 1e-9, "{together}");
    // A setback keeps its distance: the same pulls.
    let kept = exact(&Reach::of(&bed, metres(2.0))).0;
    assert!((kept - independent).abs() < 1e-9, "{kept}");
    // A well inside moves its whole disc: nothing is won, but all round together.
    let well = disc(20.0, 15.0, 0.0, 0.2);
    let (independent, together) = exact(&Reach::of(&well, metres(5.0)));
    assert!(independent < 1e-9 && (together - 0.2 * TAU * 5.0).abs() < 1e-9, "{together}");
    // One half of it: a chord of 10 m is won or lost as the middle moves along the lawn's edge's
    // normal; nothing as it moves along the edge.
    let well = disc(20.0, 0.0, 0.0, 0.2);
    let (independent, _) = exact(&Reach::of(&well, metres(5.0)));
    assert!((independent - 0.2 * 10.0).abs() < 1e-9, "{independent}");
    // Drawn without an error there is none.
    assert_eq!(drawn_error(&lawn, &[], None), DrawnError::default());
}

/// The common error against moving every edge outward.
#[test]
fn together_is_what_an_offset_wins() {
    let s = 1e-4;
    let net = |zone: &Shape| account(zone, &[], 0, None).unwrap().net.square_metres();
    let square = |by: f64| {
        polygon(&[(-by, -by), (20.0 + by, -by), (20.0 + by, 20.0 + by), (-by, 20.0 + by)], s)
    };
    let (_, together) = square_metres(drawn_error(&square(0.0), &[], None));
    let won = (net(&square(s)) - net(&square(-s))) / 2.0;
    assert!((together - won).abs() < 1e-9, "{together} ≠ {won}");
    let (_, together) = square_metres(drawn_error(&disc(3.0, 1.0, 9.0, s), &[], None));
    let won = (net(&disc(3.0, 1.0, 9.0 + s, s)) - net(&disc(3.0, 1.0, 9.0 - s, s))) / 2.0;
    assert!((together - won).abs() < 1e-9 && (won - TAU * 9.0 * s).abs() < 1e-9, "{together}");
}

/// Steele & Vigna's SplitMix64, and Box & Muller's normal numbers from it.
struct Dice(u64);

impl Dice {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn normal(&mut self, deviation: f64) -> f64 {
        let (radius, turn) = ((-2.0 * (1.0 - self.unit()).ln()).sqrt(), TAU * self.unit());
        deviation * radius * turn.cos()
    }

    fn moved(&mut self, corners: &[(f64, f64)], deviation: f64) -> Vec<(f64, f64)> {
        corners
            .iter()
            .map(|&(x, y)| (x + self.normal(deviation), y + self.normal(deviation)))
            .collect()
    }
}

/// Drawn four thousand times, each time a little off, the net area scatters as it should.
#[test]
fn many_drawings_scatter_as_told() {
    const DRAWINGS: usize = 4000;
    let round = |x: f64, y: f64, radius: f64, corners: u32| -> Vec<(f64, f64)> {
        (0..corners)
            .map(|i| (f64::from(i) / f64::from(corners) * TAU, f64::from(i)))
            .map(|(turn, i)| (radius * (1.0 + 0.15 * i.sin()), turn))
            .map(|(r, turn)| (x + r * turn.cos(), y + r * turn.sin()))
            .collect()
    };
    let (lawn, bed, pond) =
        (round(0.0, 0.0, 30.0, 14), round(18.0, 8.0, 6.0, 9), round(-25.0, 12.0, 5.0, 80));
    let (walk, well) = ([(-30.0, -20.0), (0.0, -8.0), (12.0, -35.0)], [(4.0, 30.0)]);
    let lot = [(-40.0, -22.0), (27.0, -22.0), (27.0, 60.0), (-40.0, 60.0)];
    let errors = [0.05, 0.02, 0.01, 0.03, 0.1, 0.04];
    let measure = |dice: &mut Dice, share: f64| {
        let mut by = |corners: &[(f64, f64)], error: f64| dice.moved(corners, share * error);
        let zone = polygon(&by(&lawn, errors[0]), errors[0]);
        let bed = polygon(&by(&bed, errors[1]), errors[1]);
        let pond = polygon(&by(&pond, errors[2]), errors[2]);
        let walk = line(&by(&walk, errors[3]), 1.5, errors[3]);
        let well = by(&well, errors[4])[0];
        let well = disc(well.0, well.1, 0.0, errors[4]);
        let lot = polygon(&by(&lot, errors[5]), errors[5]);
        let reaches = [
            Reach::of(&bed, Length::ZERO),
            Reach::of(&pond, Length::ZERO),
            Reach::of(&pond, metres(7.62)),
            Reach::of(&walk, Length::ZERO),
            Reach::of(&well, metres(12.0)),
        ];
        let takers = reaches.each_ref().map(|reach| Taker { cause: 0, sets: Sets::ALL, reach });
        let net = account(&zone, &takers, 1, Some(&lot)).unwrap().net.square_metres();
        (net, square_metres(drawn_error(&zone, &takers, Some(&lot))).0)
    };
    let mut dice = Dice(2026);
    let (net, told) = measure(&mut dice, 0.0);
    let mut moved = 0.0;
    for _ in 0..DRAWINGS {
        let off = measure(&mut dice, 1.0).0 - net;
        moved += off * off;
    }
    let scatter = (moved / DRAWINGS as f64).sqrt();
    // Of so many drawings the scatter itself is known to 1/√(2 · 4000), about 1 %.
    assert!((scatter / told - 1.0).abs() < 0.05, "{scatter} m² drawn, {told} m² told");
    assert!(told > 1.0 && net > 500.0, "{told} {net}");
}
