//! Why PROJ stands here and nowhere else: a file in another system is brought to longitude
//! and latitude at the door, so no later room can meet a grid's metres.

use std::borrow::Cow;
#[cfg(feature = "proj")]
use std::{cell::RefCell, rc::Rc, sync::Arc};

use geo_types::Coord;
#[cfg(feature = "proj")]
use serde_json::Value;
use turfplat_units::Length;

#[cfg(feature = "proj")]
use crate::codes::is_worth_asking;
use crate::system::{Operation, System, is_well_known_text, quoted_name};

/// In what the coordinates of a map are given.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum CoordinateSystem {
    /// What the file says; longitude and latitude on WGS 84 where it says nothing (RFC 7946 §4).
    #[default]
    AsTheFileSays,
    /// A system by its code, such as `EPSG:2289`, or by well-known text.
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
    /// Through PROJ.
    #[cfg(feature = "proj")]
    Projected(Arc<System>),
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
    pub(crate) system: Arc<System>,
    proj: Result<proj::Proj, String>,
}

#[cfg(feature = "proj")]
impl Grid {
    fn of(system: &Arc<System>) -> Grid {
        let proj = proj::Proj::new_known_crs(&system.definition, "EPSG:4326", None);
        let proj = proj.map_err(|error| error.to_string());
        Grid { system: Arc::clone(system), proj }
    }

    /// The grid on this thread: looking a system up takes milliseconds, and each property asks again.
    fn here(system: &Arc<System>) -> Rc<Grid> {
        thread_local!(static LAST: RefCell<Option<Rc<Grid>>> = const { RefCell::new(None) });
        LAST.with_borrow_mut(|last| match last {
            Some(grid) if Arc::ptr_eq(&grid.system, system) => Rc::clone(grid),
            _ => Rc::clone(last.insert(Rc::new(Grid::of(system)))),
        })
    }

    /// How the last place was brought over.
    pub(crate) fn operation(&self) -> Option<Operation> {
        let used = self.proj.as_ref().ok()?.proj_info();
        let name = used.description.unwrap_or_default();
        // Of a chain of steps the one that changes the datum.
        let step = name.split(" + ").find(|step| step.contains(" to WGS 84"));
        let name = step.map_or_else(|| name.clone(), str::to_owned);
        // What PROJ calls so is a guess where it has no grid or does not know the datum.
        let is_guess = name.contains("Ballpark") || used.accuracy < 0.0;
        Some(Operation { name, accuracy: Some(used.accuracy).filter(|_| !is_guess) })
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
    if is_well_known_text(name) {
        return (!is_plain_degrees(name)).then(|| name.trim().to_owned());
    }
    let upper = name.trim().to_uppercase();
    if upper.contains("CRS84") || upper.is_empty() {
        return None;
    }
    let code = match upper.rsplit_once("EPSG") {
        // `urn:ogc:def:crs:EPSG::25833`, `EPSG:25833`, `http://www.opengis.net/def/crs/EPSG/0/25833`
        Some((_, rest)) => {
            format!("EPSG:{}", rest.rsplit([':', '/']).next().unwrap_or_default())
        }
        None if matches!(upper.as_str(), "WGS84" | "WGS 84") => return None,
        None => name.trim().to_owned(),
    };
    (code != "EPSG:4326").then_some(code)
}

/// True of well-known text for longitude and latitude on WGS 84, which needs no PROJ.
fn is_plain_degrees(text: &str) -> bool {
    let plain: String =
        text.chars().filter(|c| !c.is_whitespace()).map(|c| c.to_ascii_uppercase()).collect();
    let starts =
        ["GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\"", "GEOGCS[\"WGS84\",DATUM[\"WGS_1984\""];
    starts.iter().any(|start| plain.starts_with(start))
        && plain.contains("PRIMEM[\"GREENWICH\",0")
        && plain.contains("UNIT[\"DEGREE\",0.0174532925199433")
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
    fn by_proj(definition: String) -> Result<Frame, Unknown> {
        if let Err(reason) = is_worth_asking(&definition) {
            let crs = short_name(&definition).into_owned();
            return Err(Unknown { crs, reason });
        }
        let told =
            proj::Proj::new(&definition).map_err(|error| error.to_string()).and_then(|crs| {
                let told =
                    crs.to_projjson(Some(false), None, None).map_err(|error| error.to_string())?;
                serde_json::from_str(&told).map_err(|error| error.to_string())
            });
        if let Some(reason) = told.as_ref().ok().and_then(System::is_no_map) {
            let crs = short_name(&definition).into_owned();
            return Err(Unknown { crs, reason: reason.to_owned() });
        }
        let told: Result<System, String> = told.map(|told: Value| System::of(&definition, &told));
        let system = told.and_then(|system| {
            let system = Arc::new(system);
            Grid::here(&system).proj.as_ref().map(|_| ()).map_err(Clone::clone)?;
            Ok(system)
        });
        system.map(Frame::Projected).map_err(|error| {
            let crs = short_name(&definition).into_owned();
            let reason = match is_well_known_text(&definition) {
                true => format!("PROJ cannot read its text ({error}); name it with --crs EPSG:n"),
                false => {
                    "PROJ cannot read it; name the system by its number, such as --crs EPSG:2289"
                        .to_owned()
                }
            };
            Unknown { crs, reason }
        })
    }

    #[cfg(not(feature = "proj"))]
    fn by_proj(code: String) -> Result<Frame, Unknown> {
        let code = short_name(&code).into_owned();
        let cure = "this build reads longitude and latitude only; build with the feature `proj`, or export the map as EPSG:4326";
        Err(Unknown { crs: code, reason: cure.into() })
    }

    /// The frame on this thread.
    pub(crate) fn here(&self) -> ToFrame {
        match self {
            Frame::Degrees => ToFrame::Degrees,
            Frame::Scaled(metres) => ToFrame::Scaled(*metres),
            #[cfg(feature = "proj")]
            Frame::Projected(system) => ToFrame::Projected(Grid::here(system)),
        }
    }

    /// True if the frame is degrees.
    pub(crate) fn is_degrees(&self) -> bool {
        !matches!(self, Frame::Scaled(_))
    }

    /// Metres in one unit of a plane.
    pub(crate) fn scale(&self) -> Option<f64> {
        match self {
            Frame::Scaled(metres) => Some(*metres),
            _ => None,
        }
    }

    /// The system that coordinates come from through PROJ.
    pub(crate) fn system(&self) -> Option<&System> {
        match self {
            #[cfg(feature = "proj")]
            Frame::Projected(system) => Some(system),
            _ => None,
        }
    }
}

/// Where a place of a system lies, in degrees, if the system is known and has such a place.
pub(crate) fn place_in(code: &str, place: Coord<f64>) -> Option<Coord<f64>> {
    #[cfg(feature = "proj")]
    {
        // NAD 83 is as good here, and without a change of datum PROJ has nothing to search for.
        let (x, y) = proj::Proj::new_known_crs(code, "EPSG:4269", None)
            .ok()?
            .convert((place.x, place.y))
            .ok()?;
        Some(Coord { x, y }).filter(|place| place.x.is_finite() && place.y.is_finite())
    }
    #[cfg(not(feature = "proj"))]
    {
        let _ = (code, place);
        None
    }
}

/// Where a place that was brought to degrees by one frame lies by another, if it lies anywhere.
pub(crate) fn place_by(frame: &Frame, taken: &Frame, place: Coord<f64>) -> Option<Coord<f64>> {
    let numbers = match taken {
        Frame::Degrees => place,
        Frame::Scaled(_) => return None,
        #[cfg(feature = "proj")]
        Frame::Projected(system) => numbers_of(system, place)?,
    };
    match frame.here() {
        ToFrame::Degrees => Some(numbers),
        ToFrame::Scaled(_) => None,
        #[cfg(feature = "proj")]
        ToFrame::Projected(grid) => grid.bring(numbers).ok().map(|(place, _)| place),
    }
}

/// The numbers of a system for a place in degrees, if it has any.
#[cfg(feature = "proj")]
fn numbers_of(system: &System, place: Coord<f64>) -> Option<Coord<f64>> {
    let from_degrees = proj::Proj::new_known_crs("EPSG:4326", &system.definition, None).ok()?;
    let (x, y) = from_degrees.convert((place.x, place.y)).ok()?;
    Some(Coord { x, y }).filter(|numbers| numbers.x.is_finite() && numbers.y.is_finite())
}

/// Where a place of a system in degrees would lie if its two numbers stood the other way round.
#[cfg(feature = "proj")]
pub(crate) fn if_exchanged(frame: &Frame, place: Coord<f64>) -> Option<Coord<f64>> {
    let Frame::Projected(system) = frame else { return None };
    let numbers = numbers_of(system, place)?;
    let exchanged = Coord { x: numbers.y, y: numbers.x };
    Grid::here(system).bring(exchanged).ok().map(|(place, _)| place)
}

/// Where a place of a system in degrees would lie if its two numbers stood the other way round.
#[cfg(not(feature = "proj"))]
pub(crate) fn if_exchanged(_: &Frame, _: Coord<f64>) -> Option<Coord<f64>> {
    None
}

/// What a system is called in messages.
fn short_name(definition: &str) -> Cow<'_, str> {
    let name = quoted_name(definition).filter(|_| is_well_known_text(definition));
    name.unwrap_or(definition).chars().take(80).collect()
}

impl ToFrame {
    /// How PROJ brought the last place over, if it did.
    pub(crate) fn operation(&self) -> Option<Operation> {
        match self {
            #[cfg(feature = "proj")]
            ToFrame::Projected(grid) => grid.operation(),
            _ => None,
        }
    }

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

    /// Every zone of the State Plane Coordinate System of 1983 by the text that ESRI software writes
    /// into a `.prj` file and by its EPSG code, against pyproj.
    #[cfg(feature = "proj")]
    #[test]
    fn state_plane_zones_are_known_by_code_and_by_text() {
        use rayon::prelude::*;

        const TABLE: &str = include_str!("../tests/data/state-plane-esri.csv");
        // On NAD 83 as on WGS 84, but where PROJ knows a shift of the datum of some decimeters: in
        // the Aleutians and on Hawaii (EPSG transformations 1691, 1696 and the like).
        const SHIFTED: [&str; 7] = ["3759", "26940", "26961", "26962", "26963", "26964", "26965"];
        let mut rows = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(TABLE.as_bytes());
        let rows: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
        assert_eq!(rows.len(), 231);
        rows.par_iter().for_each(|row| {
            let [x, y, longitude, latitude] = [1, 2, 3, 4].map(|place| row[place].parse().unwrap());
            let tolerance = if SHIFTED.contains(&&row[0]) { 1e-5 } else { 1e-9 };
            for named in [&format!("EPSG:{}", &row[0]), &row[5]] {
                let frame = Frame::choose(&CoordinateSystem::AsTheFileSays, Some(named)).unwrap();
                let ToFrame::Projected(grid) = frame.here() else { panic!("{named}") };
                let (place, _): (Coord<f64>, bool) = grid.bring(Coord { x, y }).unwrap();
                let off = (place.x - longitude).abs().max((place.y - latitude).abs());
                assert!(off < tolerance, "{named}: {place:?}");
                assert_eq!(frame.system().unwrap().datum, "North American Datum 1983");
            }
        });
    }

    /// The examples of IOGP Guidance Note 7-2, as `SamplePoints` of the conformance tests of OGC's GeoAPI
    /// 3.1 quotes them (`geoapi-conformance`, package `org.opengis.test.referencing`), of the systems
    /// that PROJ's tables have under these codes, both ways: each by its own datum, so that nothing but
    /// the projection and its unit is held. They are printed to a centimeter and a thousandth of a second,
    /// which is 3 cm.
    #[cfg(feature = "proj")]
    #[test]
    fn published_points_come_out_where_they_should() {
        let degrees = |whole: f64, minutes: f64, seconds: f64| {
            whole.signum() * (whole.abs() + minutes / 60.0 + seconds / 3600.0)
        };
        #[rustfmt::skip]
        let table = [
            // method, system and the degrees of its datum, easting and northing, longitude and latitude
            ("Popular Visualisation Pseudo-Mercator", "EPSG:3857", "EPSG:4326", (-11_169_055.58, 2_800_000.00), (degrees(-100.0, 20.0, 0.0), degrees(24.0, 22.0, 54.433))),
            ("Mercator (variant A)", "EPSG:3002", "EPSG:4257", (5_009_726.58, 569_150.82), (120.0, -3.0)),
            ("Lambert Azimuthal Equal Area", "EPSG:3035", "EPSG:4258", (3_962_799.45, 2_999_718.85), (5.0, 50.0)),
            ("Lambert Conic Conformal (2SP), US survey feet", "EPSG:32040", "EPSG:4267", (2_963_503.91, 254_759.80), (-96.0, 28.5)),
            ("Lambert Conic Conformal (1SP)", "EPSG:24200", "EPSG:4242", (255_966.58, 142_493.51), (degrees(-76.0, 56.0, 37.26), degrees(17.0, 55.0, 55.80))),
            ("Lambert Conic Conformal (Michigan), US survey feet", "EPSG:6201", "EPSG:4268", (2_308_335.75, 160_210.48), (degrees(-83.0, 10.0, 0.0), degrees(43.0, 45.0, 0.0))),
            ("Transverse Mercator", "EPSG:27700", "EPSG:4277", (577_274.98, 69_740.49), (0.5, 50.5)),
            ("Oblique Stereographic", "EPSG:28992", "EPSG:4289", (196_105.283, 557_057.739), (6.0, 53.0)),
            ("Polar Stereographic (variant A)", "EPSG:5041", "EPSG:4326", (3_320_416.75, 632_668.43), (44.0, 73.0)),
        ];
        for (method, system, datum, grid, place) in table {
            let to_degrees = proj::Proj::new_known_crs(system, datum, None).unwrap();
            let (x, y) = to_degrees.convert(grid).unwrap();
            let off = (x - place.0).abs().max((y - place.1).abs());
            assert!(off < 3e-7, "{method}, {system}: ({x}, {y}) is not {place:?}");
            let to_grid = proj::Proj::new_known_crs(datum, system, None).unwrap();
            let (x, y): (f64, f64) = to_grid.convert(place).unwrap();
            let off = (x - grid.0).abs().max((y - grid.1).abs());
            assert!(off < 0.03, "{method}, {system}: ({x}, {y}) is not {grid:?}");
        }
        // As a map is read, to degrees of WGS 84: the same where the datum is its own, or nearly.
        let grid = |code: &str| {
            let Ok(Frame::Projected(system)) = Frame::by_proj(code.to_owned()) else {
                panic!("{code}")
            };
            Grid::of(&system)
        };
        for (_, system, datum, (x, y), place) in table {
            if matches!(datum, "EPSG:4326" | "EPSG:4258") {
                let found = grid(system).bring(Coord { x, y }).unwrap().0;
                let off = (found.x - place.0).abs().max((found.y - place.1).abs());
                assert!(off < 3e-7, "{system}: {found:?}");
            }
        }
        // From NAD 27 the shift is tens of metres and depends on grids: no more than a sign is held.
        let texas = grid("EPSG:32040");
        let place = texas.bring(Coord { x: 2_963_503.91, y: 254_759.80 }).unwrap().0;
        assert!((place.x + 96.0).abs() < 5e-4 && (place.y - 28.5).abs() < 5e-4, "{place:?}");
    }
}
