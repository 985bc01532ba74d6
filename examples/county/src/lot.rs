//! What stands on one lot.
//!
//! A lot is first planned, which takes a dozen draws, and each of its features then drawn from
//! draws of its own. So any feature of any lot can be had without the ones before it, and a county
//! is written in any order without being held.

use std::f64::consts::{PI, TAU};

use crate::chance::Chance;
use crate::place::Place;
use crate::ring::{Frame, Ring, rectangle, rotated, sin_cos, wavy};

/// The setbacks for which the extra hazards are placed within reach, in metres: 25 ft and 100 ft.
const POND_REACH: f64 = 25.0 * 0.3048;
const WELL_REACH: f64 = 100.0 * 0.3048;

/// How much of a strip the zone in it may fill: it stays short of the lines on either side by more
/// than the last decimal of a degree.
const FILL: f64 = 0.97;

/// A lot, its middle in the middle, its depth up; turned as a whole when it is laid on the globe.
pub(crate) struct Lot {
    seed: u64,
    property: u64,
    corners: usize,
    place: Place,
    turn: (f64, f64),
    width: f64,
    depth: f64,
    zones: usize,
    parts: Vec<Part>,
}

/// One feature to be drawn.
#[derive(Clone, Copy)]
enum Part {
    Zone(usize),
    House,
    Garage,
    Drive,
    Bed,
    Pond,
    Well,
    PondBeyond,
    WellBeyond,
}

/// A feature as drawn, in metres of its lot.
pub(crate) struct Feature {
    pub(crate) kind: &'static str,
    pub(crate) zone: Option<usize>,
    pub(crate) shape: Shape,
}

pub(crate) enum Shape {
    Point([f64; 2]),
    Polygon(Vec<Ring>),
}

impl Lot {
    pub(crate) fn plan(seed: u64, property: u64, corners: usize, hazards: usize) -> Lot {
        let mut chance = Chance::keyed([seed, property, 0]);
        // From 500 to 10,000 m², as many lots between 500 and 1,000 as between 5,000 and 10,000.
        let area = libm::exp(chance.between(libm::log(500.0), libm::log(10_000.0)));
        let depth_by_width = chance.between(1.1, 2.2);
        let width = (area / depth_by_width).sqrt();
        let turn = sin_cos(chance.between(0.0, TAU));
        let zones = chance.count(3..=6);
        let mut parts: Vec<Part> = (0..zones).map(Part::Zone).collect();
        parts.extend([Part::House, Part::Garage, Part::Drive]);
        parts.extend([Part::Bed].repeat(chance.count(3..=8)));
        parts.extend(chance.happens(0.5).then_some(Part::Pond));
        parts.extend([Part::Well].repeat(chance.count(0..=2)));
        parts.extend([Part::PondBeyond, Part::WellBeyond].into_iter().cycle().take(hazards));
        Lot {
            seed,
            property,
            corners,
            place: Place::of(seed, property),
            turn,
            width,
            depth: width * depth_by_width,
            zones,
            parts,
        }
    }

    pub(crate) fn property(&self) -> u64 {
        self.property
    }

    pub(crate) fn features(&self) -> usize {
        self.parts.len()
    }

    /// The feature at `index`, and what is left of its draws.
    pub(crate) fn feature(&self, index: usize) -> Option<(Feature, Chance)> {
        let part = *self.parts.get(index)?;
        let mut chance = Chance::keyed([self.seed, self.property, index as u64 + 1]);
        let (kind, shape) = self.draw(part, &mut chance);
        let zone = if let Part::Zone(number) = part { Some(number + 1) } else { None };
        Some((Feature { kind, zone, shape }, chance))
    }

    fn draw(&self, part: Part, chance: &mut Chance) -> (&'static str, Shape) {
        let (width, depth) = (self.width, self.depth);
        let outline = |ring: Ring| Shape::Polygon(vec![ring]);
        match part {
            Part::Zone(number) => ("turf", Shape::Polygon(self.zone(number, chance))),
            Part::House => {
                let half = [chance.between(0.15, 0.25) * width, chance.between(0.07, 0.14) * depth];
                let turn = chance.between(-0.05, 0.05);
                let frame = Frame { middle: [0.0, 0.0], half, turn };
                ("building", outline(rectangle(frame, self.corners)))
            }
            Part::Garage => {
                let middle = [0.3 * width, 0.3 * depth];
                let half = [0.075 * width, 0.04 * depth];
                let turn = chance.between(-0.2, 0.2);
                ("building", outline(rectangle(Frame { middle, half, turn }, self.corners)))
            }
            Part::Drive => {
                let middle = [chance.between(-0.3, 0.3) * width, -0.3 * depth];
                let half = [chance.between(1.5, 3.0), 0.225 * depth];
                let turn = chance.between(-0.03, 0.03);
                ("hardscape", outline(rectangle(Frame { middle, half, turn }, self.corners)))
            }
            Part::Bed => {
                let middle = self.somewhere(0.45, chance);
                let size = chance.between(1.0, (0.08 * width).max(1.5));
                let half = [size * chance.between(0.6, 1.8), size];
                let frame = Frame { middle, half, turn: chance.between(0.0, PI) };
                let corners = chance.count(10..=25) * self.corners;
                ("bed", outline(wavy(chance, frame, corners, 0.15)))
            }
            Part::Pond => {
                let middle = [chance.between(-0.4, 0.4) * width, chance.between(0.2, 0.5) * depth];
                ("water", outline(self.pond(middle, 1.0 + 0.06 * width, chance)))
            }
            Part::Well => ("well", Shape::Point(self.somewhere(0.6, chance))),
            Part::PondBeyond => {
                let size = chance.between(1.0, 3.0);
                // Not nearer than it is wide, so that it stays off the lot.
                let middle = self.beyond([1.1 * size, POND_REACH], chance);
                ("water", outline(self.pond(middle, size, chance)))
            }
            Part::WellBeyond => ("well", Shape::Point(self.beyond([0.0, WELL_REACH], chance))),
        }
    }

    /// A zone in its own strip across the lot, and now and then a hole in it for a tree.
    fn zone(&self, number: usize, chance: &mut Chance) -> Vec<Ring> {
        let strip = self.depth / self.zones as f64;
        let aside = chance.between(-0.015, 0.015) * self.width;
        let frame = Frame {
            middle: [aside, (number as f64 + 0.5) * strip - 0.5 * self.depth],
            half: [0.5 * FILL * self.width, 0.5 * FILL * strip],
            turn: 0.0,
        };
        let corners = chance.count(30..=80) * self.corners;
        let mut rings = vec![wavy(chance, frame, corners, 0.06)];
        if chance.happens(0.15) {
            let narrow = self.width.min(strip);
            // So far from the middle at most that the tree stays well within the turf.
            let mut off = || chance.between(-0.15, 0.15) * narrow;
            let tree = Frame {
                middle: [frame.middle[0] + off(), frame.middle[1] + off()],
                half: [0.08 * narrow; 2],
                turn: 0.0,
            };
            let mut hole = wavy(chance, tree, 12 * self.corners, 0.05);
            hole.reverse();
            rings.push(hole);
        }
        rings
    }

    fn pond(&self, middle: [f64; 2], size: f64, chance: &mut Chance) -> Ring {
        let frame = Frame { middle, half: [size, 0.7 * size], turn: chance.between(0.0, PI) };
        let corners = chance.count(16..=39) * self.corners;
        wavy(chance, frame, corners, 0.12)
    }

    /// A spot at most `share` of the lot's width and depth from its middle.
    fn somewhere(&self, share: f64, chance: &mut Chance) -> [f64; 2] {
        [self.width, self.depth].map(|length| chance.between(-share, share) * length)
    }

    /// A spot off the lot, as far from its line as said.
    fn beyond(&self, [nearest, farthest]: [f64; 2], chance: &mut Chance) -> [f64; 2] {
        let out = chance.between(nearest, farthest);
        let along = chance.between(-0.5, 0.5);
        let [right, up] = [0.5 * self.width + out, 0.5 * self.depth + out];
        match chance.count(0..=3) {
            0 => [right, along * self.depth],
            1 => [along * self.width, up],
            2 => [-right, along * self.depth],
            _ => [along * self.width, -up],
        }
    }

    /// Longitude and latitude of a point of the lot.
    pub(crate) fn degrees(&self, point: [f64; 2]) -> [f64; 2] {
        self.place.degrees(rotated(point, self.turn))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_hazards_are_off_the_lot_and_within_reach_of_it() {
        for property in 0..20 {
            let plain = Lot::plan(1, property, 1, 0);
            let lot = Lot::plan(1, property, 1, 40);
            assert_eq!(lot.features(), plain.features() + 40);
            // How far a point is from the lot's line, 0 on the lot.
            let off = |[x, y]: [f64; 2]| {
                let [across, along] = [x.abs() - lot.width / 2.0, y.abs() - lot.depth / 2.0];
                across.max(0.0).hypot(along.max(0.0))
            };
            let (mut ponds, mut wells) = (0, 0);
            for index in plain.features()..lot.features() {
                let (feature, _) = lot.feature(index).unwrap();
                match feature.shape {
                    Shape::Point(well) => {
                        wells += 1;
                        assert!(off(well) <= WELL_REACH);
                    }
                    Shape::Polygon(rings) => {
                        ponds += 1;
                        let nearest = rings[0].iter().map(|&corner| off(corner));
                        let nearest = nearest.fold(f64::INFINITY, f64::min);
                        assert!(nearest > 0.0 && nearest < POND_REACH);
                    }
                }
            }
            assert_eq!((ponds, wells), (20, 20));
        }
    }
}
