//! Why the ground is flattened before it is measured.
//!
//! One outline's area can be had straight from longitude and latitude (Karney 2013).
//! A lawn less its beds, held back from a pond, cannot: taking away and growing need
//! a plane. So every property gets its own, an equal-area one, because area is what
//! product is bought by. Distance pays: at c radians from the centre a length is off
//! by up to about e²c/4, for the sphere of equal area is not the ellipsoid, and c²/8
//! (Snyder 1987, ch. 24): 3 parts in 10⁷ at 1 km, 8 µm in 100 ft. Web Mercator is the
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
    frame: Frame,
}

#[derive(Clone, Debug, PartialEq)]
enum Frame {
    Projected(Projection),
    /// Metres already; only the origin is moved, so that no digits are lost far from it.
    Flat {
        origin: Coord<f64>,
    },
}

#[derive(Clone, Debug, PartialEq)]
struct Projection {
    longitude: f64,
    latitude: f64,
    e: f64,
    q_pole: f64,
    /// Radius of the sphere of equal area, in metres.
    radius: f64,
    sin_phi: f64,
    sin_beta: f64,
    cos_beta: f64,
    /// Snyder's D, which keeps scale true at the centre.
    d: f64,
    /// q less that of the centre, over q of the pole, as a power series in the latitude's
    /// difference in radians; without a constant term.
    rise: Series,
    /// So far from the centre in degrees of latitude and of longitude series are enough.
    near: Coord<f64>,
}

/// Terms from the constant one to the fifth power.
type Series = [f64; 6];

/// Within this distance of the centre, in metres north and east, [`Projection::rise`] and the
/// first terms of sines stand for the formulas: what is left out is below 10⁻¹¹ m.
const NEAR_METRES: f64 = 1500.0;

impl Projection {
    /// Snyder's q (eq. 3-12) of the latitude `north` radians from the centre less that of the
    /// centre. Written as a difference throughout: the plain one loses nanometres.
    fn q_from_centre(&self, north: f64) -> f64 {
        let (e2, centre) = (self.e * self.e, self.latitude.to_radians());
        let (sin, sin_0) = ((centre + north).sin(), self.sin_phi);
        let rise = 2.0 * (centre + north / 2.0).cos() * (north / 2.0).sin();
        let product = sin * sin_0;
        let fraction =
            rise * (1.0 + e2 * product) / ((1.0 - e2 * sin * sin) * (1.0 - e2 * sin_0 * sin_0));
        (1.0 - e2) * (fraction + (self.e * rise / (1.0 - e2 * product)).atanh() / self.e)
    }

    /// Lays a place given by its rise of q over that of the pole, and the sine and the versine of
    /// its longitude from the centre.
    fn place(&self, rise: f64, sin_lambda: f64, versine: f64) -> Coord<f64> {
        // Sines and cosines of the authalic latitude by their differences from the centre's.
        let sin_beta = self.sin_beta + rise;
        let fall = rise * (2.0 * self.sin_beta + rise);
        let cos_beta = (self.cos_beta * self.cos_beta - fall).max(0.0).sqrt();
        let sin_north = rise * self.cos_beta + fall / (cos_beta + self.cos_beta) * self.sin_beta;
        let cos_c = self.sin_beta * sin_beta + self.cos_beta * cos_beta * (1.0 - versine);
        let b = self.radius * (2.0 / (1.0 + cos_c)).sqrt();
        let north = sin_north + self.sin_beta * cos_beta * versine;
        Coord { x: b * self.d * cos_beta * sin_lambda, y: b / self.d * north }
    }

    fn lay(&self, place: Coord<f64>) -> Coord<f64> {
        let (turn, north) = (place.x - self.longitude, place.y - self.latitude);
        if turn.abs() <= self.near.x && north.abs() <= self.near.y {
            self.lay_near(turn.to_radians(), north.to_radians())
        } else {
            self.lay_anywhere(turn, north)
        }
    }

    fn lay_near(&self, lambda: f64, north: f64) -> Coord<f64> {
        let [_, a, b, c, d, e] = self.rise;
        let rise = north * (a + north * (b + north * (c + north * (d + north * e))));
        let square = lambda * lambda;
        let sin_lambda = lambda * (1.0 - square / 6.0 * (1.0 - square / 20.0));
        let versine = square / 2.0 * (1.0 - square / 12.0 * (1.0 - square / 30.0));
        self.place(rise, sin_lambda, versine)
    }

    fn lay_anywhere(&self, turn: f64, north: f64) -> Coord<f64> {
        // Whole turns are dropped, so that a property on the antimeridian stays together.
        let mut turn = turn % 360.0;
        if turn.abs() > 180.0 {
            turn -= 360.0_f64.copysign(turn);
        }
        let lambda = turn.to_radians();
        let rise = self.q_from_centre(north.to_radians()) / self.q_pole;
        // 1 − cos λ is written as 2 sin²(λ/2): near the centre the plain form cancels.
        self.place(rise, lambda.sin(), 2.0 * (lambda / 2.0).sin().powi(2))
    }

    /// Latitude in radians at which [`Projection::q_from_centre`] is `q` (Snyder's eq. 3-16, Newton's method).
    fn latitude_at(&self, q: f64) -> f64 {
        let centre = self.latitude.to_radians();
        let e2 = self.e * self.e;
        let mut north = 0.0_f64;
        for _ in 0..12 {
            let (sin, cos) = (centre + north).sin_cos();
            let slope = 2.0 * (1.0 - e2) * cos / (1.0 - e2 * sin * sin).powi(2);
            let step = (q - self.q_from_centre(north)) / slope;
            if !step.is_finite() {
                break;
            }
            north += step;
            if step.abs() < 1e-17 {
                break;
            }
        }
        centre + north
    }
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
        let (sin_phi, cos_phi) = latitude.to_radians().sin_cos();
        let q_pole = q(1.0, e);
        let radius = ellipsoid.semi_major_metres * (q_pole / 2.0).sqrt();
        let sin_beta = q(sin_phi, e) / q_pole;
        let cos_beta = ((1.0 - sin_beta) * (1.0 + sin_beta)).sqrt();
        let m = cos_phi / (1.0 - e2 * sin_phi * sin_phi).sqrt();
        let d = ellipsoid.semi_major_metres * m / (radius * cos_beta);
        let metres_per_degree = ellipsoid.semi_major_metres.to_radians();
        let projection = Projection {
            longitude,
            latitude,
            e,
            q_pole,
            radius,
            sin_phi,
            sin_beta,
            cos_beta,
            d,
            rise: rise_of_q(sin_phi, cos_phi, e2).map(|term| term / q_pole),
            near: Coord {
                x: NEAR_METRES / (metres_per_degree * cos_phi),
                y: NEAR_METRES / metres_per_degree,
            },
        };
        Some(Plane { frame: Frame::Projected(projection) })
    }

    /// The plane of a map whose coordinates are metres already, with a new origin near the property.
    pub fn already_flat(origin: Coord<f64>) -> Plane {
        Plane { frame: Frame::Flat { origin } }
    }

    /// Lays a place in degrees (longitude, latitude) onto the plane: metres east and north.
    pub(crate) fn lay(&self, place: Coord<f64>) -> Coord<f64> {
        match &self.frame {
            Frame::Projected(projection) => projection.lay(place),
            Frame::Flat { origin } => place - *origin,
        }
    }

    /// Lays many places at once.
    pub(crate) fn lay_all(&self, places: &[Coord<f64>]) -> Vec<Coord<f64>> {
        match &self.frame {
            Frame::Projected(projection) => {
                places.iter().map(|&place| projection.lay(place)).collect()
            }
            Frame::Flat { origin } => places.iter().map(|&place| place - *origin).collect(),
        }
    }

    /// Lifts a place from the plane back to degrees (longitude, latitude).
    pub fn lift(&self, metres: Coord<f64>) -> Coord<f64> {
        let p = match &self.frame {
            Frame::Projected(projection) => projection,
            Frame::Flat { origin } => return metres + *origin,
        };
        let (x, y) = (metres.x / p.d, metres.y * p.d);
        let rho = x.hypot(y);
        if rho == 0.0 {
            return Coord { x: p.longitude, y: p.latitude };
        }
        let half = (rho / (2.0 * p.radius)).clamp(-1.0, 1.0);
        let (sin_c, cos_c) = (2.0 * half.asin()).sin_cos();
        let rise = y * sin_c * p.cos_beta / rho - 2.0 * half * half * p.sin_beta;
        let lambda = (x * sin_c).atan2(rho * p.cos_beta * cos_c - y * p.sin_beta * sin_c);
        let mut longitude = p.longitude + lambda.to_degrees();
        if longitude.abs() > 180.0 {
            longitude -= 360.0_f64.copysign(longitude);
        }
        Coord { x: longitude, y: p.latitude_at(rise * p.q_pole).to_degrees() }
    }
}

/// Snyder's q of the sine of a latitude (eq. 3-12).
fn q(sin: f64, e: f64) -> f64 {
    (1.0 - e * e) * (sin / (1.0 - (e * sin).powi(2)) + (e * sin).atanh() / e)
}

/// The rise of q from a latitude as a power series in its difference: the integral of
/// dq/dφ = 2 (1 − e²) cos φ / (1 − e² sin² φ)² (Snyder's eq. 3-12).
fn rise_of_q(sin: f64, cos: f64, e2: f64) -> Series {
    // Taylor's series of sine and cosine about the latitude.
    let sines = [sin, cos, -sin / 2.0, -cos / 6.0, sin / 24.0, cos / 120.0];
    let cosines = [cos, -sin, -cos / 2.0, sin / 6.0, cos / 24.0, -sin / 120.0];
    let mut below = times(&sines, &sines).map(|term| -e2 * term);
    below[0] += 1.0;
    let slope = over(&cosines.map(|term| 2.0 * (1.0 - e2) * term), &times(&below, &below));
    let mut rise = [0.0; 6];
    for power in 1..rise.len() {
        rise[power] = slope[power - 1] / power as f64;
    }
    rise
}

fn times(a: &Series, b: &Series) -> Series {
    std::array::from_fn(|power| (0..=power).map(|i| a[i] * b[power - i]).sum())
}

/// `a / b`, term by term from the lowest.
fn over(a: &Series, b: &Series) -> Series {
    let mut quotient = [0.0; 6];
    for power in 0..quotient.len() {
        let known: f64 = (0..power).map(|i| quotient[i] * b[power - i]).sum();
        quotient[power] = (a[power] - known) / b[0];
    }
    quotient
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
                // A double holds a longitude to 1.6e-9 m.
                assert!((laid.x - east).hypot(laid.y - north) < 4e-9, "{latitude}: {laid:?}");
            }
        }
    }

    /// Snyder's formulas in forty-digit arithmetic (mpmath 1.3).
    #[test]
    fn places_are_laid_where_exact_arithmetic_lays_them() {
        #[rustfmt::skip]
        let table = [
            // centre, place, metres east and north
            ((12.0, -57.3514), (11.99581019, -57.352809338), (-252.209_517_266_577_5, -156.960_316_687_777_6)),
            ((151.2, -33.85), (151.194869235, -33.848792524), (-474.842_835_132_102_6, 133.921_051_531_582_8)),
            ((-78.5, 0.0), (-78.501611733, 0.000287056), (-179.417_296_847_602_2, 31.741_009_323_352_64)),
            ((-88.4315, 44.2416), (-88.431410771, 44.238063991), (7.128_039_745_986_933, -392.910_458_111_462)),
            ((25.25, 64.8137), (25.249203748, 64.809999965), (-37.830_209_447_441_35, -412.515_829_552_507_4)),
            ((15.6, 78.2), (15.595088556, 78.196558843), (-112.198_612_520_126_5, -384.189_340_799_270_1)),
        ];
        for ((longitude, latitude), (x, y), (east, north)) in table {
            let laid = plane(longitude, latitude).lay(Coord { x, y });
            // Degrees below 180 are held to 2.8e-14, 3 nm of ground.
            assert!((laid.x - east).hypot(laid.y - north) < 4e-9, "{latitude}: {laid:?}");
        }
    }

    /// Up to where they are left for the formulas, series give what those give.
    #[test]
    fn series_lay_where_the_formulas_lay() {
        for tenth in -850..=850 {
            let latitude = f64::from(tenth) / 10.0;
            let plane = plane(-88.43, latitude);
            let Frame::Projected(projection) = &plane.frame else { panic!("no plane") };
            for (east, north) in (-4..=4).flat_map(|i| (-4..=4).map(move |j| (i, j))) {
                let part = |i: i32, near: f64| f64::from(i) / 4.0 * near;
                let (turn, north) = (part(east, projection.near.x), part(north, projection.near.y));
                let series = projection.lay_near(turn.to_radians(), north.to_radians());
                let formula = projection.lay_anywhere(turn, north);
                let off = (series.x - formula.x).hypot(series.y - formula.y);
                assert!(off < 1e-9, "{latitude}° {turn} {north}: {off}");
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
