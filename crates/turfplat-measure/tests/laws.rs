//! Laws of the trade that hold for any map, drawn well or badly.

#![allow(clippy::unwrap_used)] // A test may.

use geo::{Coord, LineString, Polygon};
use proptest::prelude::*;
use turfplat_measure::{
    Account, Drawn, Lot, Plane, Reach, Repair, Sets, Shape, Taker, account, accounts, net_outline,
};
use turfplat_units::{Area, Length};

/// In m²: sums of a few hundred trapezoids of a few thousand m².
const ROUNDING: f64 = 1e-8;
/// In m per m of outline: corners moved by the overlay's grid when an outline was repaired.
const GRID: f64 = 2e-6;

fn metres(value: f64) -> Length {
    Length::from_metres(value).unwrap()
}

type Points = Vec<(f64, f64)>;

/// What a feature may be drawn as.
#[derive(Clone, Debug)]
enum Sketch {
    Polygons(Vec<(Points, Vec<Points>)>),
    Line(Points, f64),
    Point(f64, f64, f64),
}

fn lay(
    sketch: &Sketch,
    change: impl Fn((f64, f64)) -> (f64, f64),
    reverse: bool,
) -> (Shape, Vec<Repair>) {
    let ring = |points: &Points| {
        let mut points: Vec<Coord<f64>> =
            points.iter().map(|&p| change(p)).map(|(x, y)| Coord { x, y }).collect();
        if reverse {
            points.reverse();
        }
        LineString(points)
    };
    let empty = Drawn {
        points: &[],
        lines: &[],
        polygons: &[],
        width: Length::ZERO,
        radius: Length::ZERO,
        error: Length::ZERO,
    };
    let plane = Plane::already_flat(Coord { x: 0.0, y: 0.0 });
    match sketch {
        Sketch::Polygons(parts) => {
            let polygons: Vec<Polygon<f64>> = parts
                .iter()
                .map(|(shell, holes)| Polygon::new(ring(shell), holes.iter().map(ring).collect()))
                .collect();
            Shape::lay(&Drawn { polygons: &polygons, ..empty }, &plane).unwrap()
        }
        Sketch::Line(points, width) => {
            Shape::lay(&Drawn { lines: &[ring(points)], width: metres(*width), ..empty }, &plane)
                .unwrap()
        }
        Sketch::Point(x, y, radius) => {
            let (x, y) = change((*x, *y));
            Shape::lay(
                &Drawn { points: &[Coord { x, y }], radius: metres(*radius), ..empty },
                &plane,
            )
            .unwrap()
        }
    }
}

fn as_drawn(sketch: &Sketch) -> Shape {
    lay(sketch, |p| p, false).0
}

/// Corners anywhere: outlines that cross themselves, run either way, repeat corners, enclose nothing.
fn scribble() -> impl Strategy<Value = Points> {
    let corner = prop_oneof![
        4 => (-40.0..40.0_f64, -40.0..40.0_f64),
        // Whole metres, so that corners and edges of different features coincide.
        2 => (-8..8_i32, -8..8_i32).prop_map(|(x, y)| (f64::from(x) * 5.0, f64::from(y) * 5.0)),
    ];
    prop::collection::vec(corner, 1..9)
}

/// An outline as a careful hand draws it.
fn lawn() -> impl Strategy<Value = Points> {
    (-25.0..25.0_f64, -25.0..25.0_f64, 2.0..25.0_f64, 3..20_u32, 0.0..0.5_f64, 0.0..6.2_f64)
        .prop_map(|(x, y, size, corners, wobble, turn)| {
            (0..corners)
                .map(|i| {
                    let angle = f64::from(i) / f64::from(corners) * std::f64::consts::TAU + turn;
                    let r = size * (1.0 + wobble * (3.0 * angle).sin());
                    (x + r * angle.cos(), y + r * angle.sin())
                })
                .collect()
        })
}

fn rectangle() -> impl Strategy<Value = Points> {
    (-8..8_i32, -8..8_i32, 1..8_i32, 1..8_i32).prop_map(|(x, y, width, height)| {
        let (x, y, w, h) = (
            f64::from(x) * 5.0,
            f64::from(y) * 5.0,
            f64::from(width) * 5.0,
            f64::from(height) * 5.0,
        );
        vec![(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
    })
}

fn outline() -> impl Strategy<Value = Points> {
    prop_oneof![lawn(), rectangle(), scribble()]
}

fn polygons() -> impl Strategy<Value = Sketch> {
    prop::collection::vec((outline(), prop::collection::vec(outline(), 0..3)), 1..3)
        .prop_map(Sketch::Polygons)
}

fn feature() -> impl Strategy<Value = Sketch> {
    prop_oneof![
        3 => polygons(),
        1 => (scribble(), prop_oneof![Just(0.0), 0.5..6.0_f64]).prop_map(|(points, width)| Sketch::Line(points, width)),
        1 => (-40.0..40.0_f64, -40.0..40.0_f64, prop_oneof![Just(0.0), 0.5..6.0_f64]).prop_map(|(x, y, r)| Sketch::Point(x, y, r)),
    ]
}

/// A zone, and features each with a cause and a setback.
#[derive(Clone, Debug)]
struct Site {
    zone: Sketch,
    takers: Vec<(Sketch, usize, f64)>,
}

const CAUSES: usize = 4;

fn any_site() -> impl Strategy<Value = Site> {
    let growth = prop_oneof![Just(0.0), Just(5.0), 0.1..20.0_f64];
    (polygons(), prop::collection::vec((feature(), 0..CAUSES, growth), 0..6))
        .prop_map(|(zone, takers)| Site { zone, takers })
}

/// Any of six sets, and as often all of them, as houses take, or one, as a strip does.
fn sets() -> impl Strategy<Value = u64> {
    prop_oneof![0..64_u64, Just(63), (0..6_u64).prop_map(|set| 1 << set)]
}

fn reaches(takers: &[(Shape, usize, f64)]) -> Vec<(Reach<'_>, usize)> {
    takers.iter().map(|(shape, cause, grown)| (Reach::of(shape, metres(*grown)), *cause)).collect()
}

fn taking<'a>(reaches: &'a [(Reach<'a>, usize)]) -> Vec<Taker<'a>> {
    reaches.iter().map(|(reach, cause)| Taker { cause: *cause, sets: Sets::ALL, reach }).collect()
}

fn measure_shapes(zone: &Shape, takers: &[(Shape, usize, f64)]) -> Account {
    let reaches = reaches(takers);
    let takers = taking(&reaches);
    account(zone, &takers, CAUSES, None).unwrap()
}

fn measure(site: &Site) -> Account {
    let takers: Vec<_> = site
        .takers
        .iter()
        .map(|(sketch, cause, grown)| (as_drawn(sketch), *cause, *grown))
        .collect();
    measure_shapes(&as_drawn(&site.zone), &takers)
}

fn net(site: &Site) -> f64 {
    measure(site).net.square_metres()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Every square metre is somewhere, and none is there twice.
    #[test]
    fn the_account_closes(site in any_site()) {
        let account = measure(&site);
        let gross = account.gross.square_metres();
        let alone = measure_shapes(&as_drawn(&site.zone), &[]).gross.square_metres();
        prop_assert!(account.net.square_metres() <= gross + ROUNDING);
        prop_assert!((gross - alone).abs() <= ROUNDING, "{} ≠ {}", gross, alone);
    }

    /// Digging a bed never makes lawn, and digging it again changes nothing.
    #[test]
    fn a_bed_only_takes_away_and_only_once(mut site in any_site(), bed in feature()) {
        let before = net(&site);
        site.takers.push((bed.clone(), 1, 0.0));
        let once = net(&site);
        site.takers.push((bed, 2, 0.0));
        prop_assert!(once <= before + ROUNDING);
        prop_assert!((net(&site) - once).abs() <= ROUNDING);
    }

    /// A wider setback never treats more.
    #[test]
    fn a_wider_setback_never_treats_more(mut site in any_site(), hazard in feature(), near in 0.0..10.0_f64, farther in 0.0..10.0_f64) {
        site.takers.push((hazard.clone(), 3, near));
        let narrow = net(&site);
        site.takers.push((hazard, 3, near + farther));
        let both = net(&site);
        site.takers.remove(site.takers.len() - 2);
        prop_assert!(net(&site) <= narrow + ROUNDING);
        prop_assert!((net(&site) - both).abs() <= ROUNDING, "the wider holds the narrower");
    }

    /// The order of features in a file, and the way a ring runs, change nothing.
    #[test]
    fn order_and_winding_do_not_matter(site in any_site()) {
        let before = measure(&site);
        let mut takers: Vec<_> = site.takers.iter().map(|(sketch, cause, grown)| (lay(sketch, |p| p, true).0, *cause, *grown)).collect();
        takers.reverse();
        let after = measure_shapes(&lay(&site.zone, |p| p, true).0, &takers);
        let allowed = 400.0 * GRID;
        prop_assert!((before.net.square_metres() - after.net.square_metres()).abs() <= allowed);
        for (a, b) in before.lost.iter().zip(&after.lost) {
            prop_assert!((a.square_metres() - b.square_metres()).abs() <= allowed);
        }
    }

    /// Turned and moved, the lawn has the same area.
    #[test]
    fn north_does_not_matter(mut site in any_site(), turn in 0.0..std::f64::consts::TAU, east in -100.0..100.0_f64) {
        // A hole that runs along its outline leaves nothing there, or after rounding a thread; what
        // is set back from a thread is no question of north.
        for (sketch, _, grown) in &mut site.takers {
            if matches!(sketch, Sketch::Polygons(parts) if parts.iter().any(|(_, holes)| !holes.is_empty())) {
                *grown = 0.0;
            }
        }
        let (sin, cos) = turn.sin_cos();
        let moved = |(x, y): (f64, f64)| (cos * x - sin * y + east, sin * x + cos * y);
        let takers: Vec<_> = site.takers.iter().map(|(sketch, cause, grown)| (lay(sketch, moved, false).0, *cause, *grown)).collect();
        let after = measure_shapes(&lay(&site.zone, moved, false).0, &takers);
        let (a, b) = (net(&site), after.net.square_metres());
        prop_assert!((a - b).abs() <= 1000.0 * GRID, "{} ≠ {}", a, b);
    }

    /// The outline to draw agrees with the area to dose: never more, and less by no more than
    /// the tolerance of setbacks along its edge.
    #[test]
    fn outline_and_area_agree(site in any_site()) {
        let zone = as_drawn(&site.zone);
        let shapes: Vec<_> = site.takers.iter().map(|(sketch, cause, grown)| (as_drawn(sketch), *cause, *grown)).collect();
        let reaches = reaches(&shapes);
        let takers = taking(&reaches);
        let account = account(&zone, &takers, CAUSES, None).unwrap();
        let drawn = net_outline(&zone, &takers, None).square_metres();
        let edge = account.perimeter.metres();
        let exact = account.net.square_metres();
        prop_assert!(drawn <= exact + (edge + 100.0) * GRID, "drawn {} exceeds {}", drawn, exact);
        // Thin rests narrower than the tolerance may vanish altogether: along both their sides.
        prop_assert!(drawn >= exact - (edge + 100.0) * 0.0051, "drawn {} falls short of {}, edge {}", drawn, exact, edge);
    }

    /// Several sets of setbacks in one go give what each gives alone.
    #[test]
    fn many_sets_at_once_are_each_what_they_are_alone(
        site in any_site(), lot in outline(), some in prop::collection::vec(sets(), 6), lot_counts in sets(),
    ) {
        const SETS: usize = 6;
        let sets_of = |bits: u64| (0..SETS).filter(|set| bits >> set & 1 == 1).fold(Sets::NONE, Sets::with);
        let (zone, repairs) = lay(&site.zone, |p| p, false);
        let lot_shape = as_drawn(&Sketch::Polygons(vec![(lot, vec![])]));
        let shapes: Vec<_> = site.takers.iter().map(|(sketch, cause, grown)| (as_drawn(sketch), *cause, *grown)).collect();
        let reaches = reaches(&shapes);
        let takers: Vec<Taker<'_>> =
            taking(&reaches).into_iter().zip(&some).map(|(taker, bits)| Taker { sets: sets_of(*bits), ..taker }).collect();
        let lot = Lot { shape: &lot_shape, sets: sets_of(lot_counts) };
        let together = accounts(&zone, &takers, CAUSES, SETS, Some(lot)).unwrap();
        prop_assert_eq!(together.len(), SETS);
        for (set, ours) in together.iter().enumerate() {
            let of_set: Vec<Taker<'_>> = takers.iter().copied().filter(|taker| taker.sets.contains(set)).collect();
            let alone = account(&zone, &of_set, CAUSES, lot.sets.contains(set).then_some(lot.shape)).unwrap();
            let close = |a: Area, b: Area| (a.square_metres() - b.square_metres()).abs() <= ROUNDING;
            prop_assert!(close(ours.net, alone.net) && close(ours.gross, alone.gross) && close(ours.beyond_lot, alone.beyond_lot), "{:?} ≠ {:?}", ours, alone);
            prop_assert!(ours.lost.iter().zip(&alone.lost).all(|(a, b)| close(*a, *b)), "{:?} ≠ {:?}", ours, alone);
            // Repair may leave a spike that is a nanometer wide, and how much of it is as good as none
            // depends on the slabs.
            if !repairs.is_empty() {
                continue;
            }
            // A curve of radius r is nearer than 1 nm to a line that it touches over √(2 r · 1 nm) to either
            // side, and there are so many slabs as all sets together have.
            prop_assert!((ours.perimeter.metres() - alone.perimeter.metres()).abs() <= 1e-3, "{:?} ≠ {:?}", ours, alone);
        }
    }

    /// A pen that crosses itself loses nothing: the outline covers what it winds round.
    #[test]
    fn crossing_outlines_cover_what_they_wind_round(shell in scribble()) {
        let shape = as_drawn(&Sketch::Polygons(vec![(shell.clone(), vec![])]));
        // Place by place on a lattice, but for places that a hair's breadth decides.
        let zone = &shape;
        for i in 0..40 {
            for j in 0..40 {
                let (x, y) = (-39.87 + 2.0 * f64::from(i), -39.79 + 2.0 * f64::from(j));
                if near_outline(&shell, x, y) {
                    continue;
                }
                let patch = as_drawn(&Sketch::Point(x, y, 1e-4));
                let covered = measure_shapes(&patch, &[(zone.clone(), 0, 0.0)]).lost[0].square_metres() > 0.0;
                prop_assert_eq!(covered, winding_number(&shell, x, y) != 0, "at {}, {}", x, y);
            }
        }
    }

    /// Ground is taken by a setback exactly where it lies nearer than the distance.
    #[test]
    fn a_setback_takes_what_is_near_and_nothing_else(hazard in feature(), grown in 0.5..20.0_f64, x in -60.0..60.0_f64, y in -60.0..60.0_f64) {
        let shape = as_drawn(&hazard);
        let patch = as_drawn(&Sketch::Point(x, y, 1e-3));
        let place = as_drawn(&Sketch::Point(x, y, 0.0));
        let Some(distance) = place.distance_to(&shape) else { return Ok(()) };
        // On the very edge the patch is cut, and a repaired outline is off by its grid.
        if (distance - grown).abs() > 2e-3 {
            let account = measure_shapes(&patch, &[(shape, 0, grown)]);
            let taken = account.lost[0].square_metres() > 0.5 * account.gross.square_metres();
            prop_assert_eq!(taken, distance < grown, "{} m off, {} m kept", distance, grown);
        }
    }

    /// The perimeter is that of the outline that is drawn.
    #[test]
    fn the_perimeter_is_the_outlines_length(shell in prop_oneof![lawn(), rectangle()], bed in lawn()) {
        use geo::{Euclidean, Length as _};
        let (zone, bed) = (as_drawn(&Sketch::Polygons(vec![(shell, vec![])])), as_drawn(&Sketch::Polygons(vec![(bed, vec![])])));
        let reach = Reach::of(&bed, Length::ZERO);
        let takers = [Taker { cause: 0, sets: Sets::ALL, reach: &reach }];
        let ours = account(&zone, &takers, 1, None).unwrap().perimeter.metres();
        let drawn: f64 = net_outline(&zone, &takers, None)
            .polygons()
            .iter()
            .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
            .map(|ring| Euclidean.length(ring))
            .sum();
        prop_assert!((ours - drawn).abs() < 1e-3, "{} ≠ {}", ours, drawn);
    }
}

/// True within a millimetre of an edge.
fn near_outline(ring: &Points, x: f64, y: f64) -> bool {
    (0..ring.len()).any(|i| {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        let (run, rise) = (b.0 - a.0, b.1 - a.1);
        let along = (((x - a.0) * run + (y - a.1) * rise) / (run * run + rise * rise).max(1e-12))
            .clamp(0.0, 1.0);
        (x - a.0 - along * run).hypot(y - a.1 - along * rise) < 1e-3
    })
}

fn winding_number(ring: &Points, x: f64, y: f64) -> i32 {
    let mut winding = 0;
    for (i, a) in ring.iter().enumerate() {
        let b = ring[(i + 1) % ring.len()];
        let side = (b.0 - a.0) * (y - a.1) - (x - a.0) * (b.1 - a.1);
        if a.1 <= y && b.1 > y && side > 0.0 {
            winding += 1;
        } else if a.1 > y && b.1 <= y && side < 0.0 {
            winding -= 1;
        }
    }
    winding
}
