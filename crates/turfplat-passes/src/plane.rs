//! Turning the plane, so that passes run along x.

use geo::{Coord, MapCoords, MultiPolygon};

/// A turn about the origin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Turn {
    sin: f64,
    cos: f64,
}

impl Turn {
    /// Counter-clockwise, in radians.
    pub(crate) fn by(angle: f64) -> Turn {
        let (sin, cos) = angle.sin_cos();
        Turn { sin, cos }
    }

    pub(crate) fn back(self) -> Turn {
        Turn { sin: -self.sin, cos: self.cos }
    }

    pub(crate) fn place(self, Coord { x, y }: Coord<f64>) -> Coord<f64> {
        Coord { x: self.cos * x - self.sin * y, y: self.sin * x + self.cos * y }
    }

    pub(crate) fn polygons(self, polygons: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        polygons.map_coords(|place| self.place(place))
    }

    pub(crate) fn path(self, path: &[Coord<f64>]) -> Vec<Coord<f64>> {
        path.iter().map(|&place| self.place(place)).collect()
    }
}

pub(crate) fn dot(one: Coord<f64>, other: Coord<f64>) -> f64 {
    one.x * other.x + one.y * other.y
}

pub(crate) fn cross(one: Coord<f64>, other: Coord<f64>) -> f64 {
    one.x * other.y - one.y * other.x
}

pub(crate) fn length(of: Coord<f64>) -> f64 {
    // Coordinates are far from where a square overflows, and this is many times faster than `hypot`.
    dot(of, of).sqrt()
}

/// The direction of a vector; `None` of one without length.
pub(crate) fn unit(of: Coord<f64>) -> Option<Coord<f64>> {
    let long = length(of);
    (long > 0.0 && long.is_finite()).then(|| of / long)
}

/// To the left of a direction.
pub(crate) fn left(of: Coord<f64>) -> Coord<f64> {
    Coord { x: -of.y, y: of.x }
}

/// How far `place` lies from the segment.
pub(crate) fn distance_to(place: Coord<f64>, a: Coord<f64>, b: Coord<f64>) -> f64 {
    length(place - foot(place, a, b))
}

/// The point of the segment that is nearest to `place`.
pub(crate) fn foot(place: Coord<f64>, a: Coord<f64>, b: Coord<f64>) -> Coord<f64> {
    let along = b - a;
    let squared = dot(along, along);
    if squared <= 0.0 {
        return a;
    }
    a + along * (dot(place - a, along) / squared).clamp(0.0, 1.0)
}

pub(crate) fn path_length(path: &[Coord<f64>]) -> f64 {
    path.windows(2).map(|pair| length(pair[1] - pair[0])).sum()
}
