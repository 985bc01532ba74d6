//! Why the ground is flattened before it is measured.
//!
//! One outline's area can be had straight from longitude and latitude (Karney 2013).
//! A lawn less its beds, held back from a pond, cannot: taking away and growing need
//! a plane. So every property gets its own, an equal-area one, because area is what
//! product is bought by. Distance pays: at c radians from the centre a length is off
//! by up to about e²c/4, for the sphere of equal area is not the ellipsoid, and c²/8
//! (Snyder 1987, ch. 24): 2 parts in 10⁷ at 1 km, 6 µm in 100 ft. Web Mercator is the
//! tempting shortcut; at 45° north it doubles every area.

use geo::Coord;

/// The figure of the Earth that longitude and latitude stand on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ellipsoid {
    semi_major_metres: f64,
    flattening: f64,
}

impl Ellipsoid {
    /// WGS 84, as RFC 7946 prescribes. Source: NGA.STND.0036 (2014), table 3.1.
    pub const WGS84: Ellipsoid =
        Ellipsoid { semi_major_metres: 6_378_137.0, flattening: 1.0 / 298.257_223_563 };
}

/// A plane of metres at one property: Lambert azimuthal equal-area, centred on it.
///
/// * Accuracy: areas exact to rounding; lengths to 3 parts in 10⁷ within 1 km.
/// * Edges are straight on the plane. RFC 7946 draws them straight in longitude and latitude;
///   for 0.1 to 50 ha the two differ by less than 1.2 parts in a million of area.
/// * Source: Snyder (1987), USGS PP 1395, ch. 24, ellipsoidal form (EPSG method 9820).
#[derive(Clone, Debug, PartialEq)]
pub struct Plane {
    projection: Option<Projection>,
}

#[derive(Clone, Debug, PartialEq)]
struct Projection {
    longitude: f64,
    e: f64,
    q_pole: f64,
    /// Radius of the sphere of equal area, in metres.
    radius: f64,
    sin_beta: f64,
    cos_beta: f64,
    beta: f64,
    /// Snyder's D, which keeps scale true at the centre.
    d: f64,
}

impl Plane {
    /// Beyond this latitude no plane is laid: nothing that is mown grows there, and the
    /// formulas lose digits at the pole itself.
    pub const LARGEST_LATITUDE: f64 = 85.0;

    /// A plane centred on a place in degrees; `None` beyond [`Plane::LARGEST_LATITUDE`] or for
    /// what is no place.
    pub fn centred(longitude: f64, latitude: f64, ellipsoid: Ellipsoid) -> Option<Plane> {
        if !longitude.is_finite() || latitude.is_nan() || latitude.abs() > Self::LARGEST_LATITUDE {
            return None;
        }
        let e2 = ellipsoid.flattening * (2.0 - ellipsoid.flattening);
        let e = e2.sqrt();
        let phi = latitude.to_radians();
        let q_pole = q(1.0, e);
        let radius = ellipsoid.semi_major_metres * (q_pole / 2.0).sqrt();
        let beta = (q(phi.sin(), e) / q_pole).asin();
        let m = phi.cos() / (1.0 - e2 * phi.sin().powi(2)).sqrt();
        let d = ellipsoid.semi_major_metres * m / (radius * beta.cos());
        let (sin_beta, cos_beta) = beta.sin_cos();
        Some(Plane {
            projection: Some(Projection {
                longitude,
                e,
                q_pole,
                radius,
                sin_beta,
                cos_beta,
                beta,
                d,
            }),
        })
    }

    /// The plane of a map whose coordinates are metres already: nothing is projected.
    pub fn already_flat() -> Plane {
        Plane { projection: None }
    }

    /// Lays a place in degrees (longitude, latitude) onto the plane: metres east and north.
    pub(crate) fn lay(&self, place: Coord<f64>) -> Coord<f64> {
        let Some(p) = &self.projection else { return place };
        // Whole turns are dropped, so that a property on the antimeridian stays together.
        let mut turn = (place.x - p.longitude) % 360.0;
        if turn.abs() > 180.0 {
            turn -= 360.0_f64.copysign(turn);
        }
        let lambda = turn.to_radians();
        let beta = (q(place.y.to_radians().sin(), p.e) / p.q_pole).clamp(-1.0, 1.0).asin();
        let (sin_beta, cos_beta) = beta.sin_cos();
        // 1 − cos λ is written as 2 sin²(λ/2): near the centre the plain form cancels.
        let versine = 2.0 * (lambda / 2.0).sin().powi(2);
        let cos_c = (beta - p.beta).cos() - p.cos_beta * cos_beta * versine;
        let b = p.radius * (2.0 / (1.0 + cos_c)).sqrt();
        let north = (beta - p.beta).sin() + p.sin_beta * cos_beta * versine;
        debug_assert!((-1.0..=1.0).contains(&sin_beta));
        Coord { x: b * p.d * cos_beta * lambda.sin(), y: b / p.d * north }
    }

    /// Lifts a place from the plane back to degrees (longitude, latitude).
    pub fn lift(&self, metres: Coord<f64>) -> Coord<f64> {
        let Some(p) = &self.projection else { return metres };
        let (x, y) = (metres.x / p.d, metres.y * p.d);
        let rho = x.hypot(y);
        if rho == 0.0 {
            return Coord { x: p.longitude, y: self.latitude(p.q_pole * p.sin_beta) };
        }
        let c = 2.0 * (rho / (2.0 * p.radius)).clamp(-1.0, 1.0).asin();
        let (sin_c, cos_c) = c.sin_cos();
        let q = p.q_pole * (cos_c * p.sin_beta + y * sin_c * p.cos_beta / rho);
        let lambda = (x * sin_c).atan2(rho * p.cos_beta * cos_c - y * p.sin_beta * sin_c);
        let mut longitude = p.longitude + lambda.to_degrees();
        if longitude.abs() > 180.0 {
            longitude -= 360.0_f64.copysign(longitude);
        }
        Coord { x: longitude, y: self.latitude(q) }
    }

    /// Latitude in degrees of Snyder's q (eq. 3-16), by Newton's method.
    fn latitude(&self, q: f64) -> f64 {
        let Some(p) = &self.projection else { return q };
        let mut phi = (q / p.q_pole).clamp(-1.0, 1.0).asin();
        for _ in 0..8 {
            let (sin, cos) = phi.sin_cos();
            let squeeze = 1.0 - (p.e * sin).powi(2);
            let step =
                squeeze.powi(2) / (2.0 * cos) * ((q - self::q(sin, p.e)) / (1.0 - p.e * p.e));
            if !step.is_finite() {
                break;
            }
            phi += step;
            if step.abs() < 1e-16 {
                break;
            }
        }
        phi.to_degrees()
    }
}

/// Snyder's q of the sine of a latitude (eq. 3-12).
fn q(sin: f64, e: f64) -> f64 {
    (1.0 - e * e) * (sin / (1.0 - (e * sin).powi(2)) + (e * sin).atanh() / e)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plane(longitude: f64, latitude: f64) -> Plane {
        Plane::centred(longitude, latitude, Ellipsoid::WGS84).unwrap()
    }

    #[test]
    fn there_and_back_is_where_it_was() {
        for latitude in [-60.0, -33.3, 0.0, 0.001, 30.0, 44.24, 60.0, 80.0] {
            let plane = plane(-88.43, latitude);
            for (east, north) in [(0.0, 0.0), (1.0, 2.0), (-250.0, 30.0), (3_000.0, -4_000.0)] {
                let laid = plane.lay(plane.lift(Coord { x: east, y: north }));
                // A double holds a latitude to 1e-9 m, and the arc sine near 80° costs a digit.
                assert!((laid.x - east).hypot(laid.y - north) < 1e-8, "{latitude}: {laid:?}");
            }
        }
    }

    #[test]
    fn the_antimeridian_is_no_seam() {
        let plane = plane(179.999, -17.0);
        let west = plane.lay(Coord { x: 179.9995, y: -17.0 });
        let east = plane.lay(Coord { x: -179.9995, y: -17.0 });
        assert!(east.x > west.x && east.x - west.x < 200.0, "{west:?} {east:?}");
        assert!((plane.lift(east).x + 179.9995).abs() < 1e-12);
    }

    #[test]
    fn no_plane_is_laid_at_the_poles() {
        assert_eq!(Plane::centred(0.0, 89.0, Ellipsoid::WGS84), None);
        assert_eq!(Plane::centred(0.0, f64::NAN, Ellipsoid::WGS84), None);
    }
}
