//! What is cut off a long shape, and what is taken as one of a crowd, changes no area.

#![allow(clippy::unwrap_used)] // A test may.

use geo::{Coord, LineString, Polygon};
use proptest::prelude::*;
use turfplat_measure::{Account, Drawn, Plane, Reach, Sets, Shape, Taker, account};
use turfplat_units::Length;

fn metres(value: f64) -> Length {
    Length::from_metres(value).unwrap()
}

fn shape(points: &[Coord<f64>], lines: &[LineString<f64>], polygons: &[Polygon<f64>]) -> Shape {
    let (width, radius) = (metres(1.5), Length::ZERO);
    let drawn = Drawn { points, lines, polygons, width, radius, error: Length::ZERO };
    Shape::lay(&drawn, &Plane::already_flat(Coord { x: 0.0, y: 0.0 })).unwrap().0
}

fn lawn(x: f64, y: f64) -> Shape {
    let corners = [(0.0, 0.0), (25.0, 2.0), (22.0, 30.0), (10.0, 18.0), (-3.0, 28.0)];
    let ring = corners.iter().map(|(east, north)| (x + east, y + north)).collect();
    shape(&[], &[], &[Polygon::new(ring, vec![])])
}

fn measured(zone: &Shape, reaches: &[Reach<'_>]) -> Account {
    let takers: Vec<Taker<'_>> =
        reaches.iter().map(|reach| Taker { cause: 0, sets: Sets::ALL, reach }).collect();
    account(zone, &takers, 1, None).unwrap()
}

/// A shore that wanders east, with as many corners as there are offsets.
fn shore(north: f64, wobble: &[f64]) -> Vec<Coord<f64>> {
    let corner = |(place, off): (usize, &f64)| Coord {
        x: place as f64 * 2.5 - 500.0 + off,
        y: north + 6.0 * (place as f64 / 9.0).sin() + off,
    };
    wobble.iter().enumerate().map(corner).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 48, ..ProptestConfig::default() })]

    /// A river or a path as long as a county takes from a lawn what its near part takes.
    #[test]
    fn what_is_far_away_may_be_cut_off(
        wobble in prop::collection::vec(-1.0..1.0_f64, 400), x in -450.0..450.0_f64, y in -20.0..30.0_f64,
        by in prop_oneof![Just(0.0), 0.5..12.0_f64], is_river in any::<bool>(),
    ) {
        let south = shore(0.0, &wobble);
        let long = if is_river {
            let north = shore(20.0, &wobble).into_iter().rev();
            let island = shore(8.0, &wobble[150..250]).into_iter().map(|c| Coord { x: c.x + 375.0, ..c });
            let island: Vec<Coord<f64>> = island.clone().chain(island.rev().map(|c| Coord { y: c.y + 4.0, ..c })).collect();
            shape(&[], &[], &[Polygon::new(LineString(south.into_iter().chain(north).collect()), vec![LineString(island)])])
        } else {
            shape(&[], &[LineString(south)], &[])
        };
        let zone = lawn(x, y);
        let whole = measured(&zone, &[Reach::of(&long, metres(by))]);
        let near = long.clone().near(&[&zone], metres(by + 1.0));
        let cut = measured(&zone, &[Reach::of(&near, metres(by))]);
        let (whole, cut) = (whole.net.square_metres(), cut.net.square_metres());
        prop_assert!((whole - cut).abs() <= 1e-9 * 700.0, "{} ≠ {}", whole, cut);
        // What is new runs along the sides of the box, no nearer than that.
        let nearest = long.distance_to(&zone).unwrap().min(by + 1.0);
        prop_assert!(near.distance_to(&zone).is_none_or(|apart| apart >= nearest - 1e-9));
    }

    /// Wells and ponds that lie thick over each other take together what they take one by one.
    #[test]
    fn a_crowd_takes_what_its_members_take(
        places in prop::collection::vec((-30.0..40.0_f64, -30.0..40.0_f64, 0.5..3.0_f64, any::<bool>()), 30..120), by in 4.0..15.0_f64,
    ) {
        let members: Vec<Shape> = places
            .iter()
            .map(|&(x, y, size, is_well)| {
                if is_well {
                    return shape(&[Coord { x, y }], &[], &[]);
                }
                let corner = |turn: u32| {
                    let (sin, cos) = (f64::from(turn) / 7.0 * std::f64::consts::TAU).sin_cos();
                    Coord { x: x + size * cos, y: y + size * sin * (1.0 + f64::from(turn % 2)) }
                };
                shape(&[], &[], &[Polygon::new((0..7).map(corner).collect(), vec![])])
            })
            .collect();
        let zone = lawn(0.0, 0.0);
        let alone: Vec<Reach<'_>> = members.iter().map(|it| Reach::of(it, metres(by))).collect();
        let alone = measured(&zone, &alone).net.square_metres();
        let members: Vec<&Shape> = members.iter().collect();
        if let Some(crowd) = Shape::crowd(&members, metres(by)) {
            let together = measured(&zone, &[Reach::of(&crowd, metres(by))]).net.square_metres();
            prop_assert!((alone - together).abs() <= 1e-9 * 700.0, "{} ≠ {}", alone, together);
        }
    }
}
