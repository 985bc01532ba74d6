//! Why a crowd is taken as one: a thousand wells within reach of a lawn have a thousand circles,
//! nearly all of them inside one another, and every circle crosses hundreds. As the corners of one
//! shape they are cleared first, neighbor with neighbor, and little is left to be swept.

use turfplat_units::Length;

use crate::shape::{Bounds, Shape};

/// Fewer are no crowd.
const MANY: usize = 24;
/// Nor are those whose boxes would cover the box round them less than so many times.
const THICK: f64 = 3.0;

impl Shape {
    /// All of `shapes` as one, where grown by `by` they lie so thick over each other that clearing
    /// them together pays; `None` where they do not. Neighbors come after each other in it.
    pub fn crowd(shapes: &[&Shape], by: Length) -> Option<Shape> {
        if shapes.len() < MANY {
            return None;
        }
        let by = by.metres();
        let boxes: Vec<Bounds> = shapes.iter().filter_map(|shape| shape.bounds(by)).collect();
        let around = boxes.iter().copied().reduce(Bounds::with)?;
        let area = |of: &Bounds| (of.max.x - of.min.x) * (of.max.y - of.min.y);
        if boxes.iter().map(area).sum::<f64>() < THICK * area(&around) {
            return None;
        }
        let mut placed: Vec<(u64, &Shape)> = shapes
            .iter()
            .filter_map(|&shape| Some((along_the_curve(shape.bounds(by)?, &around), shape)))
            .collect();
        placed.sort_by_key(|(place, _)| *place);
        Shape::together(placed.into_iter().map(|(_, shape)| shape))
    }
}

/// Where on a curve through all of `around` the middle of a box lies: what is near on the curve is
/// near on the ground (Morton 1966).
fn along_the_curve(of: Bounds, around: &Bounds) -> u64 {
    let (width, height) = (around.max.x - around.min.x, around.max.y - around.min.y);
    let share = |from: f64, to: f64, start: f64, length: f64| {
        // Between 0 and 65 535; what is no number is 0.
        (((from + to) / 2.0 - start) / length * 65_535.0) as u64
    };
    let x = share(of.min.x, of.max.x, around.min.x, width);
    let y = share(of.min.y, of.max.y, around.min.y, height);
    (0..16)
        .fold(0, |place, bit| place | (x >> bit & 1) << (2 * bit) | (y >> bit & 1) << (2 * bit + 1))
}
