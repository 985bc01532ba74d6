//! Outlines as a person draws them, in metres.

use std::f64::consts::TAU;

use crate::chance::Chance;

/// A closed ring; its first corner is not repeated at its end.
pub(crate) type Ring = Vec<[f64; 2]>;

/// Where an outline stands: its middle, half its width and height, and its turn in radians.
#[derive(Clone, Copy)]
pub(crate) struct Frame {
    pub(crate) middle: [f64; 2],
    pub(crate) half: [f64; 2],
    pub(crate) turn: f64,
}

impl Frame {
    /// Of a point in the frame, from -1 to 1 each way, where it is on the lot.
    fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [x, y] = rotated([x * self.half[0], y * self.half[1]], sin_cos(self.turn));
        [self.middle[0] + x, self.middle[1] + y]
    }
}

/// A wavy outline, counter-clockwise, as round a lawn, a bed or a pond.
///
/// It fills its frame and never leaves it, so that outlines in frames side by side cannot overlap.
/// It is seen whole from its middle, so it does not cross itself.
pub(crate) fn wavy(chance: &mut Chance, frame: Frame, corners: usize, waviness: f64) -> Ring {
    let long = (chance.count(2..=4) as f64, chance.between(0.0, TAU));
    let short = (chance.count(5..=8) as f64, chance.between(0.0, TAU));
    let step = TAU / corners as f64;
    (0..corners)
        .map(|corner| {
            // Less than half a step to either side, so that no corner overtakes the next.
            let angle = (corner as f64 + chance.between(-0.3, 0.3)) * step;
            let (sin, cos) = sin_cos(angle);
            // Half way from a circle to its square (the curve x⁴ + y⁴ = 1): lawns fill their lots.
            let (xx, yy) = (cos * cos, sin * sin);
            let squarish = 1.0 / (xx * xx + yy * yy).sqrt().sqrt();
            let wave = 0.6 * libm::sin(long.0 * angle + long.1)
                + 0.4 * libm::sin(short.0 * angle + short.1);
            let radius = squarish * (1.0 + waviness * wave) / (1.0 + waviness);
            frame.place([radius * cos, radius * sin])
        })
        .collect()
}

/// The frame itself, counter-clockwise, with each side in `pieces`.
pub(crate) fn rectangle(frame: Frame, pieces: usize) -> Ring {
    let corners = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
    let sides = corners.into_iter().zip(corners.into_iter().cycle().skip(1));
    sides
        .flat_map(|(from, to)| {
            (0..pieces).map(move |piece| between(from, to, piece as f64 / pieces as f64))
        })
        .map(|point| frame.place(point))
        .collect()
}

pub(crate) fn between(from: [f64; 2], to: [f64; 2], share: f64) -> [f64; 2] {
    [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share]
}

pub(crate) fn rotated([x, y]: [f64; 2], (sin, cos): (f64, f64)) -> [f64; 2] {
    [x * cos - y * sin, x * sin + y * cos]
}

pub(crate) fn sin_cos(angle: f64) -> (f64, f64) {
    (libm::sin(angle), libm::cos(angle))
}
