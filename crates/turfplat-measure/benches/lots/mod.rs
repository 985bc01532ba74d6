//! House lots as a mapping party would draw them, the same ones every time: three to six zones of
//! 30 to 80 corners, beds, a house, a shed, a drive, often a pond, up to two wells.

use std::f64::consts::{PI, TAU};

use geo::{Coord, LineString, Polygon};
use turfplat_measure::{Drawn, Ellipsoid, Plane, Reach, Shape};
use turfplat_units::Length;

/// Steele & Vigna's SplitMix64: enough for shapes, and a few lines.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Dice {
        Dice(seed)
    }

    /// At least `low` and below `high`.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        let unit = ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64;
        low + unit * (high - low)
    }

    /// From `low` up to and without `high`.
    fn whole(&mut self, low: u32, high: u32) -> u32 {
        self.between(f64::from(low), f64::from(high)) as u32
    }
}

/// The kinds in the order in which they take, with what is kept from them, in metres.
const PAVING: usize = 1;
const WATER: usize = 3;
const WELL: usize = 5;
pub(crate) const CAUSES: usize = 6;
const KEPT: [f64; CAUSES] = [0.0, 0.0, 0.0, 7.62, 0.0, 30.48];

/// One drawn thing in degrees: a polygon, or a point where there is no ring.
pub(crate) struct Sketch {
    cause: Option<usize>,
    polygons: Vec<Polygon<f64>>,
    points: Vec<Coord<f64>>,
}

impl Sketch {
    pub(crate) fn drawn(&self) -> Drawn<'_> {
        Drawn {
            points: &self.points,
            lines: &[],
            polygons: &self.polygons,
            width: Length::ZERO,
            radius: Length::ZERO,
            error: Length::ZERO,
        }
    }
}

pub(crate) struct Lot {
    pub(crate) plane: Plane,
    pub(crate) sketches: Vec<Sketch>,
}

/// A lot that is laid and repaired.
pub(crate) struct Laid {
    pub(crate) zones: Vec<Shape>,
    /// With cause and distance in metres.
    pub(crate) others: Vec<(Shape, usize, f64)>,
}

impl Lot {
    /// With `flat`, the coordinates are metres already.
    pub(crate) fn lay(&self, flat: Option<&Plane>) -> Laid {
        let plane = flat.unwrap_or(&self.plane);
        let mut laid = Laid { zones: Vec::new(), others: Vec::new() };
        for sketch in &self.sketches {
            let (shape, _) = Shape::lay(&sketch.drawn(), plane).expect("a lot is no scribble");
            match sketch.cause {
                None => laid.zones.push(shape),
                Some(cause) => laid.others.push((shape, cause, KEPT[cause])),
            }
        }
        laid
    }
}

impl Laid {
    pub(crate) fn reaches(&self) -> (Vec<Reach<'_>>, Vec<(Reach<'_>, usize)>) {
        let zones = self.zones.iter().map(|zone| Reach::of(zone, Length::ZERO)).collect();
        let metres = |by: f64| Length::from_metres(by).unwrap_or(Length::ZERO);
        let others = self
            .others
            .iter()
            .map(|(shape, cause, kept)| (Reach::of(shape, metres(*kept)), *cause))
            .collect();
        (zones, others)
    }
}

struct Round {
    centre: (f64, f64),
    radii: (f64, f64),
    corners: u32,
    wobble: f64,
    turn: f64,
}

/// A ring that fills its rectangle, with a low and a high wave in it.
fn round(dice: &mut Dice, it: &Round) -> Vec<(f64, f64)> {
    let (low, high) = (dice.whole(2, 5), dice.whole(5, 9));
    let (shift, other) = (dice.between(0.0, TAU), dice.between(0.0, TAU));
    let (sin, cos) = it.turn.sin_cos();
    (0..it.corners)
        .map(|i| {
            let t = (f64::from(i) + dice.between(-0.3, 0.3)) / f64::from(it.corners) * TAU;
            let (s, c) = t.sin_cos();
            let wave = 0.6 * (f64::from(low) * t + shift).sin()
                + 0.4 * (f64::from(high) * t + other).sin();
            let r = (c.powi(4) + s.powi(4)).powf(-0.25) * (1.0 + it.wobble * wave);
            let (x, y) = (it.radii.0 * r * c, it.radii.1 * r * s);
            (it.centre.0 + x * cos - y * sin, it.centre.1 + x * sin + y * cos)
        })
        .collect()
}

fn rectangle(centre: (f64, f64), size: (f64, f64), turn: f64) -> Vec<(f64, f64)> {
    let (sin, cos) = turn.sin_cos();
    [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]
        .map(|(x, y)| (x * size.0, y * size.1))
        .map(|(x, y)| (centre.0 + x * cos - y * sin, centre.1 + x * sin + y * cos))
        .to_vec()
}

/// The lot of this number. With `flat`, in metres instead of degrees.
pub(crate) fn lot(number: u64, flat: bool) -> Lot {
    let dice = &mut Dice::new(number.wrapping_mul(0x5851_f42d_4c95_7f2d) + 1);
    let (latitude, longitude) = (dice.between(25.5, 48.5), dice.between(-123.0, -68.5));
    let area = dice.between(500_f64.ln(), 10_000_f64.ln()).exp();
    let aspect = dice.between(1.1, 2.2);
    let (width, depth) = ((area / aspect).sqrt(), (area * aspect).sqrt());
    let turn = dice.between(0.0, TAU);
    let (sin, cos) = turn.sin_cos();
    let east = 1.0 / (111_320.0 * latitude.to_radians().cos());
    let place = |(x, y): (f64, f64)| {
        let (x, y) = (x * cos - y * sin, x * sin + y * cos);
        if flat {
            Coord { x, y }
        } else {
            Coord { x: longitude + x * east, y: latitude + y / 111_132.0 }
        }
    };
    let ring =
        |points: Vec<(f64, f64)>| -> LineString<f64> { points.into_iter().map(place).collect() };
    let mut sketches = Vec::new();
    let mut add = |cause: Option<usize>, shell: LineString<f64>, holes: Vec<LineString<f64>>| {
        sketches.push(Sketch { cause, polygons: vec![Polygon::new(shell, holes)], points: vec![] });
    };
    let zones = dice.whole(3, 7);
    let height = depth / f64::from(zones);
    for zone in 0..zones {
        let y = -depth / 2.0 + height * (f64::from(zone) + 0.5);
        let x = dice.between(-0.03, 0.03) * width;
        let radii = (width * 0.46, height * 0.46);
        let corners = dice.whole(30, 81);
        let shell = round(dice, &Round { centre: (x, y), radii, corners, wobble: 0.06, turn: 0.0 });
        let mut holes = Vec::new();
        if dice.between(0.0, 1.0) < 0.15 {
            let size = 0.08 * width.min(height);
            let radii = (size, size);
            let mut hole =
                round(dice, &Round { centre: (x, y), radii, corners: 12, wobble: 0.05, turn: 0.0 });
            hole.reverse();
            holes.push(ring(hole));
        }
        add(None, ring(shell), holes);
    }
    let house = (width * dice.between(0.3, 0.5), depth * dice.between(0.15, 0.28));
    let shed = (width * 0.15, depth * 0.08);
    let drive = (dice.between(3.0, 6.0), depth * 0.45);
    let at = (dice.between(-0.3, 0.3) * width, -depth * 0.3);
    for (centre, size, cause) in
        [((0.0, 0.0), house, 2), ((width * 0.3, depth * 0.3), shed, 2), (at, drive, PAVING)]
    {
        add(Some(cause), ring(rectangle(centre, size, dice.between(-0.05, 0.05))), vec![]);
    }
    for _ in 0..dice.whole(3, 9) {
        let size = dice.between(1.0, (0.08 * width).max(1.5));
        let centre = (dice.between(-0.45, 0.45) * width, dice.between(-0.45, 0.45) * depth);
        let radii = (size * dice.between(0.6, 1.8), size);
        let (corners, turn) = (dice.whole(10, 26), dice.between(0.0, PI));
        add(
            Some(0),
            ring(round(dice, &Round { centre, radii, corners, wobble: 0.15, turn })),
            vec![],
        );
    }
    if dice.between(0.0, 1.0) < 0.5 {
        let size = 0.06 * width + 1.0;
        let centre = (dice.between(-0.4, 0.4) * width, dice.between(0.2, 0.5) * depth);
        let (corners, turn) = (dice.whole(16, 40), dice.between(0.0, PI));
        let it = Round { centre, radii: (size, size * 0.7), corners, wobble: 0.12, turn };
        add(Some(WATER), ring(round(dice, &it)), vec![]);
    }
    for _ in 0..dice.whole(0, 3) {
        let at = (dice.between(-0.6, 0.6) * width, dice.between(-0.6, 0.6) * depth);
        sketches.push(Sketch { cause: Some(WELL), polygons: vec![], points: vec![place(at)] });
    }
    let plane = Plane::centred(longitude, latitude, Ellipsoid::WGS84);
    let plane = plane.unwrap_or_else(|| Plane::already_flat(Coord { x: 0.0, y: 0.0 }));
    Lot { plane, sketches }
}
