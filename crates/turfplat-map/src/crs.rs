//! Why PROJ stands here and nowhere else: a file in another system is brought to longitude
//! and latitude at the door, so no later room can meet a grid's metres.

#[cfg(feature = "proj")]
use std::{cell::RefCell, rc::Rc};

#[cfg(feature = "proj")]
use geo_types::Coord;
use turfplat_units::Length;

/// In what the coordinates of a map are given.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum CoordinateSystem {
    /// What the file says; longitude and latitude on WGS 84 where it says nothing (RFC 7946 §4).
    #[default]
    AsTheFileSays,
    /// A system by its code, such as `EPSG:2289`.
    Code(String),
    /// A plane already, so many metres to one unit; no CRS is involved.
    Plane {
        /// Metres in one unit of the coordinates: 1 for metres, 0.3048 for feet.
        metres_per_unit: f64,
    },
}

impl CoordinateSystem {
    /// A plane in metres.
    pub const PLANE_METRES: CoordinateSystem = CoordinateSystem::Plane { metres_per_unit: 1.0 };
    /// A plane in international feet.
    pub const PLANE_FEET: CoordinateSystem =
        CoordinateSystem::Plane { metres_per_unit: Length::METRES_PER_FOOT };
}

/// How a file's coordinates come to the map's frame, known once for all threads.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Frame {
    /// Degrees already.
    Degrees,
    /// Metres, after scaling.
    Scaled(f64),
    /// Through PROJ, from a system by its code.
    #[cfg(feature = "proj")]
    Projected(String),
}

/// Brings coordinates of a file to the map's frame, on one thread.
pub(crate) enum ToFrame {
    Degrees,
    Scaled(f64),
    #[cfg(feature = "proj")]
    Projected(Rc<Grid>),
}

/// A system that PROJ knows. PROJ's own objects belong to one thread.
#[cfg(feature = "proj")]
pub(crate) struct Grid {
    pub(crate) code: String,
    proj: Result<proj::Proj, String>,
}

#[cfg(feature = "proj")]
impl Grid {
    fn of(code: &str) -> Grid {
        let proj = proj::Proj::new_known_crs(code, "EPSG:4326", None);
        Grid { code: code.to_owned(), proj: proj.map_err(|error| error.to_string()) }
    }

    /// Longitude and latitude of a place, and whether it looks like degrees already; or PROJ's reason.
    pub(crate) fn bring(&self, place: Coord<f64>) -> Result<(Coord<f64>, bool), String> {
        let proj = self.proj.as_ref().map_err(Clone::clone)?;
        match proj.convert((place.x, place.y)) {
            Ok((x, y)) if x.is_finite() && y.is_finite() => {
                let like_degrees = place.x.abs() <= 180.0 && place.y.abs() <= 90.0;
                // In a system that is in degrees itself they stay nearly what they were.
                let moved = (x - place.x).abs().max((y - place.y).abs()) > 1.0;
                Ok((Coord { x, y }, like_degrees && moved))
            }
            Ok(_) => Err("it lies outside the system".into()),
            Err(error) => Err(error.to_string()),
        }
    }
}

/// `EPSG:25833` from the ways in which files name a system; `None` for longitude and latitude on WGS 84.
fn code_of(name: &str) -> Option<String> {
    let upper = name.trim().to_uppercase();
    if upper.contains("CRS84") || upper.is_empty() {
        return None;
    }
    let code = match upper.rsplit_once("EPSG") {
        // `urn:ogc:def:crs:EPSG::25833`, `EPSG:25833`, `http://www.opengis.net/def/crs/EPSG/0/25833`
        Some((_, rest)) => {
            format!("EPSG:{}", rest.rsplit([':', '/']).next().unwrap_or_default())
        }
        None => name.trim().to_owned(),
    };
    (code != "EPSG:4326").then_some(code)
}

/// A system that cannot be used, and why.
#[derive(Debug)]
pub(crate) struct Unknown {
    pub(crate) crs: String,
    pub(crate) reason: String,
}

impl Frame {
    /// How to bring the coordinates of a file over, `named` being the file's own word.
    pub(crate) fn choose(asked: &CoordinateSystem, named: Option<&str>) -> Result<Frame, Unknown> {
        let code = match asked {
            CoordinateSystem::Plane { metres_per_unit } => {
                return Ok(Frame::Scaled(*metres_per_unit));
            }
            CoordinateSystem::Code(code) => code_of(code),
            CoordinateSystem::AsTheFileSays => named.and_then(code_of),
        };
        match code {
            None => Ok(Frame::Degrees),
            Some(code) => Self::by_proj(code),
        }
    }

    #[cfg(feature = "proj")]
    fn by_proj(code: String) -> Result<Frame, Unknown> {
        match Grid::of(&code).proj {
            Ok(_) => Ok(Frame::Projected(code)),
            Err(error) => {
                let reason = format!("PROJ does not know it ({error}); write it like EPSG:2289");
                Err(Unknown { crs: code, reason })
            }
        }
    }

    #[cfg(not(feature = "proj"))]
    fn by_proj(code: String) -> Result<Frame, Unknown> {
        let cure = "this build reads longitude and latitude only; build with the feature `proj`, or export the map as EPSG:4326";
        Err(Unknown { crs: code, reason: cure.into() })
    }

    /// The frame on this thread.
    pub(crate) fn here(&self) -> ToFrame {
        match self {
            Frame::Degrees => ToFrame::Degrees,
            Frame::Scaled(metres) => ToFrame::Scaled(*metres),
            #[cfg(feature = "proj")]
            Frame::Projected(code) => {
                // Looking a system up takes milliseconds, and each property asks again.
                thread_local!(static LAST: RefCell<Option<Rc<Grid>>> = const { RefCell::new(None) });
                ToFrame::Projected(LAST.with_borrow_mut(|last| match last {
                    Some(grid) if grid.code == *code => Rc::clone(grid),
                    _ => Rc::clone(last.insert(Rc::new(Grid::of(code)))),
                }))
            }
        }
    }

    /// True if the frame is degrees.
    pub(crate) fn is_degrees(&self) -> bool {
        !matches!(self, Frame::Scaled(_))
    }
}

impl ToFrame {
    /// True if the frame is degrees.
    pub(crate) fn is_degrees(&self) -> bool {
        !matches!(self, ToFrame::Scaled(_))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_system_is_known_by_all_its_names() {
        for (name, code) in [
            ("urn:ogc:def:crs:OGC:1.3:CRS84", None),
            ("EPSG:4326", None),
            ("urn:ogc:def:crs:EPSG::4326", None),
            ("urn:ogc:def:crs:EPSG::25833", Some("EPSG:25833")),
            ("http://www.opengis.net/def/crs/EPSG/0/2289", Some("EPSG:2289")),
            ("epsg:2289", Some("EPSG:2289")),
        ] {
            assert_eq!(code_of(name).as_deref(), code, "{name}");
        }
    }

    /// IOGP Guidance Note 7-2, Popular Visualisation Pseudo-Mercator, and Lambert Conic
    /// Conformal (2SP), NAD27 / Texas South Central in US survey feet.
    #[cfg(feature = "proj")]
    #[test]
    fn published_points_come_out_where_they_should() {
        let mercator = Grid::of("EPSG:3857");
        let place = mercator.bring(Coord { x: -11_169_055.58, y: 2_800_000.00 }).unwrap().0;
        assert!((place.x + (100.0 + 20.0 / 60.0)).abs() < 1e-7, "{place:?}");
        assert!((place.y - (24.0 + 22.0 / 60.0 + 54.433 / 3600.0)).abs() < 1e-7, "{place:?}");

        // 28°30'N 96°00'W on NAD27; the shift to WGS 84 is tens of metres and depends on grids,
        // so this holds the projection to the datum's usual shift and not the datum itself.
        let texas = Grid::of("EPSG:32040");
        let place = texas.bring(Coord { x: 2_963_503.91, y: 254_759.80 }).unwrap().0;
        assert!((place.x + 96.0).abs() < 5e-4 && (place.y - 28.5).abs() < 5e-4, "{place:?}");
    }
}
