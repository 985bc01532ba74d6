//! Why `geo`'s overlay is called here and nowhere else: it fills by even-odd unless told, it may
//! hand back a hole wound like its shell, and once in some hundred thousand scribbles it panics
//! where a hole has lost its shell on the grid. Turned a little, the same shapes fall on the grid
//! in another way.

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};

use geo::algorithm::bool_ops::{FillRule, OpType};
use geo::orient::Direction;
use geo::{Area, BooleanOps, Coord, MapCoords, MultiPolygon, Orient};

pub(crate) fn no_polygons() -> MultiPolygon<f64> {
    MultiPolygon(Vec::new())
}

/// What rings wind round, as simple polygons.
pub(crate) fn wound(rings: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    overlay(rings, &no_polygons(), OpType::Union, FillRule::NonZero)
}

/// What lies in one and not in the other; the rings of each are wound alike.
pub(crate) fn less(one: &MultiPolygon<f64>, other: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    overlay(one, other, OpType::Difference, FillRule::NonZero)
}

/// What lies in both; the rings of each are wound alike.
pub(crate) fn common(one: &MultiPolygon<f64>, other: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    overlay(one, other, OpType::Intersection, FillRule::NonZero)
}

/// The area of what every other ring fills.
pub(crate) fn even_odd_area(rings: &MultiPolygon<f64>) -> f64 {
    overlay(rings, &no_polygons(), OpType::Union, FillRule::EvenOdd).unsigned_area()
}

/// Radians by which shapes are turned for one more try.
const TURNS: [f64; 3] = [0.0, 0.1, 0.27];

fn overlay(
    one: &MultiPolygon<f64>,
    other: &MultiPolygon<f64>,
    operation: OpType,
    rule: FillRule,
) -> MultiPolygon<f64> {
    let mut panic = None;
    for turn in TURNS {
        let tried = catch_unwind(AssertUnwindSafe(|| {
            if turn == 0.0 {
                return one.boolean_op_with_fill_rule(other, operation, rule);
            }
            let (one, other) = (turned(one, turn), turned(other, turn));
            turned(&one.boolean_op_with_fill_rule(&other, operation, rule), -turn)
        }));
        match tried {
            Ok(result) => return result.orient(Direction::Default),
            Err(payload) => panic = Some(payload),
        }
    }
    panic.map_or_else(no_polygons, |payload| resume_unwind(payload))
}

fn turned(polygons: &MultiPolygon<f64>, turn: f64) -> MultiPolygon<f64> {
    let (sin, cos) = turn.sin_cos();
    polygons.map_coords(|Coord { x, y }| Coord { x: cos * x - sin * y, y: sin * x + cos * y })
}

#[cfg(test)]
mod tests {
    use geo::{LineString, Polygon};

    use super::*;

    #[test]
    fn a_turn_there_and_back_changes_no_area() {
        let square = |x: f64| {
            let ring = [(x, 0.0), (x + 10.0, 0.0), (x + 10.0, 10.0), (x, 10.0), (x, 0.0)];
            MultiPolygon(vec![Polygon::new(LineString::from(ring.to_vec()), vec![])])
        };
        let plain = less(&square(0.0), &square(4.0)).unsigned_area();
        assert!((plain - 40.0).abs() < 1e-6, "{plain}");
        for turn in TURNS {
            let back =
                turned(&less(&turned(&square(0.0), turn), &turned(&square(4.0), turn)), -turn);
            assert!((back.unsigned_area() - plain).abs() < 1e-6, "{turn}");
        }
    }
}
