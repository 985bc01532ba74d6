//! Labels that stand away from their ground, each on a line that crosses no other.

use geo::Coord;

use crate::place::Placer;
use crate::shape::Bounds;
use crate::symbol;

impl Placer<'_> {
    /// The best free box around `anchor`, and where the line from there meets it. With
    /// `clear`, no treated ground of another zone is covered.
    pub(crate) fn led(
        &self,
        anchor: Coord,
        (width, height): (f64, f64),
        zone: Option<usize>,
        clear: bool,
    ) -> Option<(Bounds, Coord)> {
        const DISTANCES: [f64; 9] = [9.0, 14.0, 20.0, 28.0, 38.0, 52.0, 70.0, 95.0, 125.0];
        const DIRECTIONS: usize = 20;
        let frame = self.scene.frame.grown(-1.5);
        let mut best: Option<(f64, Bounds, Coord)> = None;
        for distance in DISTANCES {
            if best.is_some_and(|(cost, ..)| cost <= distance) {
                break;
            }
            for direction in 0..DIRECTIONS {
                let (sin, cos) =
                    (std::f64::consts::TAU * direction as f64 / DIRECTIONS as f64).sin_cos();
                let centre = Coord {
                    x: anchor.x + cos * (distance + width / 2.0),
                    y: anchor.y + sin * (distance + height / 2.0),
                };
                let bounds = Bounds::around(centre, width, height);
                let to = bounds.nearest(anchor);
                if !frame.holds(bounds) || self.is_blocked(bounds, anchor, to) {
                    continue;
                }
                let mut cost = distance;
                for (index, shape) in self.scene.zones.iter().enumerate() {
                    let Some(shape) = shape else { continue };
                    if shape.bounds.overlaps(bounds) && shape.touches(bounds) {
                        if Some(index) == zone {
                            cost += 16.0;
                        } else if clear {
                            cost = f64::INFINITY;
                            break;
                        } else {
                            cost += 40.0;
                        }
                    }
                    if Some(index) != zone && shape.contains(to) {
                        cost += 8.0;
                    }
                }
                for shape in self.scene.features.iter().chain(&self.scene.strips).flatten() {
                    if cost.is_finite() && shape.touches(bounds) {
                        cost += 10.0;
                    }
                }
                if cost.is_finite() && best.is_none_or(|(old, ..)| cost < old) {
                    best = Some((cost, bounds, to));
                }
            }
        }
        best.map(|(_, bounds, to)| (bounds, to))
    }

    /// A free box that touches the symbol at `at`, best one that no edge of the ground runs through.
    pub(crate) fn beside(&self, at: Coord, (width, height): (f64, f64)) -> Option<Bounds> {
        const SPOTS: [(f64, f64); 8] = [
            (1.0, 0.0),
            (-1.0, 0.0),
            (0.0, -1.0),
            (0.0, 1.0),
            (1.0, -0.9),
            (-1.0, -0.9),
            (1.0, 0.9),
            (-1.0, 0.9),
        ];
        let reach = symbol::REACH + 2.1;
        let (dx, dy) = (reach + width / 2.0, reach + height / 2.0);
        let frame = self.scene.frame.grown(-1.5);
        SPOTS
            .map(|(x, y)| {
                Bounds::around(Coord { x: at.x + x * dx, y: at.y + y * dy }, width, height)
            })
            .into_iter()
            .filter(|&b| frame.holds(b) && !self.is_blocked(b, b.centre(), b.centre()))
            .min_by_key(|&b| {
                let ground = self.scene.zones.iter().chain(&self.scene.features).flatten();
                ground.filter(|shape| shape.touches(b) && !shape.covers(b)).count()
            })
    }

    fn is_blocked(&self, bounds: Bounds, anchor: Coord, to: Coord) -> bool {
        let spaced = bounds.grown(1.0);
        self.taken
            .iter()
            .any(|&b| b.overlaps(spaced) || (!b.contains(anchor) && b.is_crossed_by(anchor, to)))
            || self
                .leaders
                .iter()
                .any(|&(a, b)| spaced.is_crossed_by(a, b) || cross(a, b, anchor, to))
    }
}

pub(crate) fn cross(a: Coord, b: Coord, c: Coord, d: Coord) -> bool {
    let side = |p: Coord, q: Coord, r: Coord| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}
