//! Where a property is on the globe, and its metres in degrees.

use crate::chance::Chance;
use crate::ring::sin_cos;

/// Half the longer axis of the WGS 84 ellipsoid, in metres: exact.
/// Source: NGA.STND.0036 (2014).
const SEMI_MAJOR_AXIS: f64 = 6_378_137.0;

/// Source: as above; the flattening is defined by its reciprocal.
const FLATTENING: f64 = 1.0 / 298.257_223_563;

/// The box round the contiguous United States, less its rim, in degrees.
const WEST_EAST: [f64; 2] = [-123.0, -68.5];
const SOUTH_NORTH: [f64; 2] = [25.5, 48.5];

/// The middle of a property, and how long a metre is there.
pub(crate) struct Place {
    middle: [f64; 2],
    degrees_a_metre: [f64; 2],
}

impl Place {
    /// The place of one property among all of a seed.
    ///
    /// Places drawn by chance alone would now and then be neighbours, and a well would reach into
    /// a lot that is not checked with it. The steps of this sequence keep the first n places
    /// apart by about 1/√n of the box: kilometres, for a million of them.
    /// Source: Roberts (2018), "The unreasonable effectiveness of quasirandom sequences", R₂; its
    /// steps are 1/p and 1/p² of the plastic ratio p = 1.324 717 957 244 746.
    pub(crate) fn of(seed: u64, property: u64) -> Place {
        const STEPS: [f64; 2] = [0.754_877_666_246_692_7, 0.569_840_290_998_053_2];
        let mut chance = Chance::keyed([seed, u64::MAX, 0]);
        let [east, north] =
            STEPS.map(|step| (chance.between(0.0, 1.0) + property as f64 * step).fract());
        let within = |[from, to]: [f64; 2], share: f64| from + (to - from) * share;
        Place::at([within(WEST_EAST, east), within(SOUTH_NORTH, north)])
    }

    fn at([longitude, latitude]: [f64; 2]) -> Place {
        let (sin, cos) = sin_cos(latitude.to_radians());
        let eccentricity_squared = FLATTENING * (2.0 - FLATTENING);
        let reduced = 1.0 - eccentricity_squared * sin * sin;
        // Radii of curvature in the prime vertical and in the meridian: Snyder (1987), USGS PP 1395,
        // equations 4-20 and 4-18.
        let across = SEMI_MAJOR_AXIS / reduced.sqrt();
        let along = across * (1.0 - eccentricity_squared) / reduced;
        Place {
            middle: [longitude, latitude],
            degrees_a_metre: [1.0 / (across * cos), 1.0 / along].map(f64::to_degrees),
        }
    }

    /// Longitude and latitude of a point in metres east and north of the middle.
    pub(crate) fn degrees(&self, [east, north]: [f64; 2]) -> [f64; 2] {
        [
            self.middle[0] + east * self.degrees_a_metre[0],
            self.middle[1] + north * self.degrees_a_metre[1],
        ]
    }
}

#[cfg(test)]
mod tests {
    use geo::{Distance, Geodesic, Point};

    use super::*;

    /// Source: geodesics of GeographicLib (Karney 2013).
    #[test]
    fn a_metre_is_a_metre_long() {
        for latitude in SOUTH_NORTH {
            let place = Place::at([-90.0, latitude]);
            let end = |metres| Point::from(place.degrees(metres));
            for metres in [[100.0, 0.0], [0.0, 100.0], [-60.0, 80.0]] {
                let long = Geodesic.distance(end([0.0, 0.0]), end(metres));
                // 100 m north of where it is taken, the radius of a parallel is off by 2e-5.
                assert!((long - 100.0).abs() < 2e-3, "{metres:?} at {latitude}°: {long} m");
            }
        }
    }

    #[test]
    fn no_two_properties_are_near_each_other() {
        let places: Vec<[f64; 2]> =
            (0..2_000).map(|property| Place::of(1, property).middle).collect();
        let mut nearest = f64::INFINITY;
        for (index, one) in places.iter().enumerate() {
            for other in &places[..index] {
                // In degrees, as if a degree were 75 km each way, which is the least that it is.
                nearest = nearest.min(75.0 * (one[0] - other[0]).hypot(one[1] - other[1]));
            }
        }
        assert!(nearest > 20.0, "{nearest} km");
    }
}
