//! A picture of the ground under a spray map: the one place where a picture, a property's plane and
//! PROJ meet.

use std::path::Path;

use geo::{BoundingRect, Contains, Coord, Point};
use turfplat_aerial::{Aerial, AerialError, LaidPicture, Wanted};
use turfplat_map::{ToSystem, UnknownSystem};
use turfplat_sheet::{Beside, Page, SheetError, Shown, SprayMap, Underlay, shown, shown_on_plate};
use turfplat_units::Length;

use crate::plan::PropertyPlan;

/// In what the coordinates of a picture are given.
#[derive(Clone, Debug, PartialEq)]
enum PictureCoordinates {
    /// A system, and how many of its units one unit of the picture is.
    System { definition: String, metres_per_unit: Option<f64> },
    /// The map's own plane, so many meters to one unit.
    Plane { metres_per_unit: f64 },
}

/// A picture of the ground whose coordinates are known.
#[derive(Clone, Debug)]
pub struct AerialPicture {
    aerial: Aerial,
    coordinates: PictureCoordinates,
}

/// A spray map with a picture beneath.
#[derive(Clone, Debug)]
pub struct AerialUnder {
    /// To be set as [`SprayMap::underlay`].
    pub underlay: Underlay,
    /// How much of the turf as drawn the picture shows, 0 to 1.
    pub covered: f64,
}

/// Why a picture cannot lie beneath a spray map.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum AerialRefusal {
    /// The picture itself.
    #[error(transparent)]
    Picture(#[from] AerialError),

    /// A world file has no system, and none is guessed.
    #[error(
        "{file}: nothing says in which coordinate system it lies; name it with --aerial-crs EPSG:n, or put its .prj beside it; a picture on the plane of a map without one takes --aerial-crs plane-m or plane-ft"
    )]
    NoSystem { file: String },

    /// A system that PROJ does not know, or that is none.
    #[error("{file}: {reason}")]
    System { file: String, reason: String },

    /// The map has no system.
    #[error(
        "{file}: the map lies on a plane of its own, where no picture in {system} can be placed; say --aerial-crs plane-m or plane-ft of one whose world file counts as the map does, or give the map's system with --crs"
    )]
    MapOnPlane { file: String, system: String },

    /// The picture is said to lie on a plane, and the map does not.
    #[error(
        "{file}: the map is in degrees or in a coordinate system, so no plane is shared with the picture; name the picture's system with --aerial-crs EPSG:n"
    )]
    MapNotOnPlane { file: String },

    /// No turf is in the picture.
    #[error(
        "{file}: shows none of the turf: that lies at {place}, the picture from {from} to {to}{unit}; take a picture of this place, or name the picture's true system with --aerial-crs EPSG:n"
    )]
    ShowsNothing { file: String, place: String, from: String, to: String, unit: String },

    /// The map cannot take the picture.
    #[error(transparent)]
    Sheet(#[from] SheetError),
}

impl AerialPicture {
    /// Opens a picture: GeoTIFF, or TIFF, PNG or JPEG with a world file.
    ///
    /// * `system` is its coordinate system as the user says it, and then counts before the file's:
    ///   `EPSG:n`, well-known text, or `plane-m` or `plane-ft` of a map on a plane of its own.
    ///
    /// # Errors
    ///
    /// [`AerialRefusal`], for what is no picture, has no place, or is in no known system.
    pub fn open(path: &Path, system: Option<&str>) -> Result<AerialPicture, AerialRefusal> {
        let aerial = Aerial::open(path)?;
        let coordinates = match system.map(str::trim) {
            Some("plane-m") => PictureCoordinates::Plane { metres_per_unit: 1.0 },
            Some("plane-ft") => {
                PictureCoordinates::Plane { metres_per_unit: Length::METRES_PER_FOOT }
            }
            Some(said) => {
                PictureCoordinates::System { definition: said.to_owned(), metres_per_unit: None }
            }
            None => {
                let own = aerial.system();
                let own = own.ok_or_else(|| AerialRefusal::NoSystem { file: aerial.file() })?;
                PictureCoordinates::System {
                    definition: own.definition.clone(),
                    metres_per_unit: own.metres_per_unit,
                }
            }
        };
        if let PictureCoordinates::System { definition, .. } = &coordinates {
            ToSystem::of(definition).map_err(|error| unknown(&aerial, error))?;
        }
        Ok(AerialPicture { aerial, coordinates })
    }

    /// The path as it was given, for messages.
    pub fn file(&self) -> String {
        self.aerial.file()
    }

    /// Lays the picture beneath a property's spray map, as far as the page shows ground.
    ///
    /// # Errors
    ///
    /// [`AerialRefusal`], where the picture shows none of the turf, is broken, or lies on another
    /// plane than the map.
    pub fn beneath(
        &self,
        plan: &PropertyPlan<'_>,
        map: &SprayMap,
        page: Page,
    ) -> Result<AerialUnder, AerialRefusal> {
        self.under(plan, map, |map| shown(map, page))
    }

    /// As [`AerialPicture::beneath`], of a map for a page of another document, of so many points.
    ///
    /// # Errors
    ///
    /// As [`AerialPicture::beneath`].
    pub fn beneath_plate(
        &self,
        plan: &PropertyPlan<'_>,
        map: &SprayMap,
        (width, height): (f64, f64),
    ) -> Result<AerialUnder, AerialRefusal> {
        self.under(plan, map, |map| shown_on_plate(map, (width, height), Beside::Lists))
    }

    fn under(
        &self,
        plan: &PropertyPlan<'_>,
        map: &SprayMap,
        shown: impl Fn(&SprayMap) -> Shown,
    ) -> Result<AerialUnder, AerialRefusal> {
        let name = self.aerial.name();
        let with_line = SprayMap { underlay: Some(Underlay::blank(&name)), ..map.clone() };
        let ground = shown(&with_line);
        let wanted = Wanted {
            west: ground.west,
            north: ground.north,
            dot: ground.dot,
            width: ground.width,
            height: ground.height,
        };
        let way = self.way(plan)?;
        let place = |x: f64, y: f64| {
            way.place(plan.plane().lift(Coord { x, y })).map(|place| (place.x, place.y))
        };
        let laid = self.aerial.lay(&wanted, &place)?;
        let covered = covered(map, &ground, &laid);
        if covered == 0.0 {
            return Err(self.shows_nothing(map, &place, &way));
        }
        Ok(AerialUnder { underlay: Underlay::pale(&name, &ground, &laid.rgba)?, covered })
    }

    fn way(&self, plan: &PropertyPlan<'_>) -> Result<Way, AerialRefusal> {
        let file = || self.aerial.file();
        match &self.coordinates {
            PictureCoordinates::Plane { .. } if !plan.is_on_plane() => {
                Err(AerialRefusal::MapNotOnPlane { file: file() })
            }
            PictureCoordinates::Plane { metres_per_unit } => Ok(Way::Plane(*metres_per_unit)),
            PictureCoordinates::System { definition, metres_per_unit } => {
                let to = ToSystem::of(definition).map_err(|error| unknown(&self.aerial, error))?;
                if plan.is_on_plane() {
                    let system = to.name().to_owned();
                    return Err(AerialRefusal::MapOnPlane { file: file(), system });
                }
                // A picture may count in another unit than its system does, and say so.
                let scale = match (to.metres_per_unit(), metres_per_unit) {
                    (Some(system), Some(own)) => system / own,
                    _ => 1.0,
                };
                Ok(Way::System(to, scale))
            }
        }
    }

    fn shows_nothing(
        &self,
        map: &SprayMap,
        place: &dyn Fn(f64, f64) -> Option<(f64, f64)>,
        way: &Way,
    ) -> AerialRefusal {
        let turf = map.zones.iter().find_map(|zone| zone.drawn.bounding_rect());
        let middle = turf.and_then(|turf| place(turf.center().x, turf.center().y));
        let is_fine = matches!(way, Way::System(to, _) if to.metres_per_unit().is_none());
        let digits = if is_fine { 4 } else { 0 };
        let told = |(x, y): (f64, f64)| format!("({x:.digits$}, {y:.digits$})");
        let corners = self.aerial.corners();
        let side = |pick: fn(f64, f64) -> f64, start: f64| {
            corners
                .iter()
                .fold((start, start), |(x, y), corner| (pick(x, corner.0), pick(y, corner.1)))
        };
        AerialRefusal::ShowsNothing {
            file: self.aerial.file(),
            place: middle.map_or_else(|| "a place that its system does not reach".into(), told),
            from: told(side(f64::min, f64::INFINITY)),
            to: told(side(f64::max, f64::NEG_INFINITY)),
            unit: match way {
                Way::System(to, _) => format!(" in {}", to.name()),
                Way::Plane(_) => String::new(),
            },
        }
    }
}

/// From what a plane lifts to, to the picture's coordinates.
enum Way {
    System(ToSystem, f64),
    Plane(f64),
}

impl Way {
    fn place(&self, lifted: Coord<f64>) -> Option<Coord<f64>> {
        match self {
            Way::System(to, scale) => to.place(lifted).map(|place| place * *scale),
            Way::Plane(metres) => Some(lifted / *metres),
        }
    }
}

/// Messages of a picture's system name the option of the picture.
fn unknown(aerial: &Aerial, error: UnknownSystem) -> AerialRefusal {
    let reason = error.to_string().replace("--crs", "--aerial-crs");
    AerialRefusal::System { file: aerial.file(), reason }
}

/// The share of the turf as drawn that a picture shows, by some ten thousand places.
fn covered(map: &SprayMap, ground: &Shown, laid: &LaidPicture) -> f64 {
    const PLACES: f64 = 10_000.0;
    let (mut shown, mut all) = (0_u32, 0_u32);
    let side = f64::from(laid.width) * f64::from(laid.height) / PLACES;
    let step = side.sqrt().floor().max(1.0) as u32;
    let boxes: Vec<_> = map
        .zones
        .iter()
        .filter_map(|zone| Some((zone.drawn.bounding_rect()?, &zone.drawn)))
        .collect();
    for row in (step / 2..laid.height).step_by(step as usize) {
        let y = ground.north - (f64::from(row) + 0.5) * ground.dot;
        for column in (step / 2..laid.width).step_by(step as usize) {
            let place = Point::new(ground.west + (f64::from(column) + 0.5) * ground.dot, y);
            let is_in = |(around, shape): &(geo::Rect, &geo::MultiPolygon)| {
                around.contains(&place) && shape.contains(&place)
            };
            if boxes.iter().any(is_in) {
                all += 1;
                shown += u32::from(laid.shows(column, row));
            }
        }
    }
    if all == 0 { 0.0 } else { f64::from(shown) / f64::from(all) }
}
