//! Why `geo`'s overlay is called here and nowhere else: it may hand back a hole wound like its
//! shell, and once in some hundred thousand scribbles it panics where a hole has lost its shell on
//! the grid. Turned a little, the same shapes fall on the grid in another way. As in
//! `turfplat-measure`, which this crate must not know, but here what stays tangled is an error.

use std::panic::{AssertUnwindSafe, catch_unwind};

use geo::algorithm::bool_ops::{FillRule, OpType};
use geo::orient::Direction;
use geo::{BooleanOps, MultiPolygon, Orient};

use crate::error::PassesError;
use crate::plane::Turn;

pub(crate) fn no_polygons() -> MultiPolygon<f64> {
    MultiPolygon(Vec::new())
}

/// What rings wind round, as simple polygons.
pub(crate) fn wound(rings: &MultiPolygon<f64>) -> Result<MultiPolygon<f64>, PassesError> {
    overlay(rings, &no_polygons(), OpType::Union)
}

/// What lies in one and not in the other; the rings of each are wound alike.
pub(crate) fn less(
    one: &MultiPolygon<f64>,
    other: &MultiPolygon<f64>,
) -> Result<MultiPolygon<f64>, PassesError> {
    overlay(one, other, OpType::Difference)
}

/// What lies in both; the rings of each are wound alike.
pub(crate) fn common(
    one: &MultiPolygon<f64>,
    other: &MultiPolygon<f64>,
) -> Result<MultiPolygon<f64>, PassesError> {
    overlay(one, other, OpType::Intersection)
}

/// Radians by which shapes are turned for one more try.
const TURNS: [f64; 5] = [0.0, 0.1, 0.27, 0.53, 0.71];

fn overlay(
    one: &MultiPolygon<f64>,
    other: &MultiPolygon<f64>,
    operation: OpType,
) -> Result<MultiPolygon<f64>, PassesError> {
    for angle in TURNS {
        let tried = catch_unwind(AssertUnwindSafe(|| {
            if angle == 0.0 {
                return one.boolean_op_with_fill_rule(other, operation, FillRule::NonZero);
            }
            let turn = Turn::by(angle);
            let (one, other) = (turn.polygons(one), turn.polygons(other));
            turn.back().polygons(&one.boolean_op_with_fill_rule(
                &other,
                operation,
                FillRule::NonZero,
            ))
        }));
        if let Ok(result) = tried {
            return Ok(result.orient(Direction::Default));
        }
    }
    Err(PassesError::Tangled)
}
