use std::fmt;

use geo_types::Coord;

use crate::feature::{Counted, FeatureRef};
use crate::kind::Kind;
use crate::property_map::Corners;

/// Why a file is not a map at all.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum ReadError {
    /// The file, or a part of it.
    #[error("{file}: cannot read it: {reason}")]
    NotRead { file: String, reason: String },

    /// The list of what stands where in a map, which lies in a temporary file where it is long.
    #[error(
        "the list of what stands where in the map cannot be kept in a temporary file: {reason}; make room in the folder for such files, or name another in TMPDIR"
    )]
    Index { reason: String },

    /// Read a second time, it is another.
    #[error("{file}: changed while it was read; run it again")]
    Changed { file: String },

    /// Bytes that are no text.
    #[error("{file}: byte {byte}: not UTF-8 text; save the map as GeoJSON in UTF-8")]
    NotText { file: String, byte: usize },

    /// The file stops being JSON here. Both count from 1, as editors do.
    #[error("{file}: line {line}, column {column}: not JSON: {reason}")]
    NotJson { file: String, line: usize, column: usize, reason: String },

    /// The file stops in the middle.
    #[error(
        "{file}: ends too soon at line {line}, column {column}; it seems cut off: copy or export it again"
    )]
    CutOff { file: String, line: usize, column: usize },

    /// JSON, but no map.
    #[error(
        r#"{file}: JSON, but not GeoJSON: {found}; expected a "FeatureCollection", a "Feature" or a geometry (RFC 7946)"#
    )]
    NotGeoJson { file: String, found: String },

    /// A file that is not what it seems to be.
    #[error("{file}: {reason}")]
    Format { file: String, reason: String },

    /// Files whose coordinates do not go together.
    #[error(
        "{file}: its coordinates are on a plane and those of the file before are not; measure them apart"
    )]
    FramesDiffer { file: String },

    /// Each would begin at the same place.
    #[error(
        "{file}: a second tape sheet, and where it lies beside the first nobody knows; write both on one sheet, or measure them apart"
    )]
    TwoSheets { file: String },

    /// Nothing says in what its numbers are.
    #[error("{file}: says no coordinate system; its numbers run from ({}, {}) to ({}, {}): {advice}", short(.corners.0.x), short(.corners.0.y), short(.corners.1.x), short(.corners.1.y))]
    NoCrs { file: String, corners: Corners, advice: String },

    /// PROJ does not know the system, or is not built in.
    #[error("{file}: coordinate system {crs}: {reason}")]
    Crs { file: String, crs: String, reason: String },
}

/// Why a feature cannot be used, and what to change in the file.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum MapError {
    /// Something in the `features` array that is not a feature.
    #[error(r#"{at:#}: not a GeoJSON feature: {reason}; give it "type": "Feature", "properties" and "geometry""#)]
    NotAFeature { at: FeatureRef, reason: String },

    /// A feature whose text stops being JSON. Both count from 1, as editors do, columns in bytes.
    #[error("{at}: line {line}, column {column}: not JSON: {reason}; correct it there")]
    NotJson { at: FeatureRef, line: usize, column: usize, reason: String },

    /// A feature whose bytes are no text.
    #[error("{at:#}: byte {byte} of the file: not UTF-8 text; save the map as GeoJSON in UTF-8")]
    NotText { at: FeatureRef, byte: u64 },

    /// Coordinates that are no numbers, an unknown geometry type and the like.
    #[error(
        "{at:#}: geometry cannot be read: {reason}{}", if at.counted == Counted::Features { "; coordinates are numbers, longitude first (RFC 7946 §3.1)" } else { "" }
    )]
    BadGeometry { at: FeatureRef, reason: String },

    /// Nothing says whether the shape is lawn or something to leave out.
    #[error(r#"{at:#}: add a "kind" property, such as "turf", "bed" or "water"{}"#, if *has_hint { ", or say where it stands with --kind-from or --kinds" } else { "" })]
    NoKind { at: FeatureRef, has_hint: bool },

    /// A value of a column that the kinds file has no kind for.
    #[error("{at:#}: {said}")]
    UnlistedKind { at: FeatureRef, said: String },

    /// Something to keep away from that lies nowhere. RFC 7946 §3.2 allows it ("unlocated"), but a well
    /// that nobody can place is still a well.
    #[error("{at:#}: {kind} without a place, so no distance can be kept from it; {}", if at.counted == Counted::Records { "fill in its coordinates, or delete the row" } else { "draw it, or delete it" })]
    NoPlace { at: FeatureRef, kind: Kind },

    /// A kind that is not in the list.
    #[error(r#"{at:#}: kind {kind:?} is not known; use one of: {}"#, Kind::ALL.map(Kind::name).join(", "))]
    UnknownKind { at: FeatureRef, kind: String },

    /// A condition that is not in the list.
    #[error(
        "{at:#}: condition {condition:?} is not known; use good, thin, stressed, dormant, new or greening"
    )]
    UnknownCondition { at: FeatureRef, condition: String },

    /// A property that should be a number, or a number that makes no sense.
    #[error("{at:#}: {property} is {value}; give {wanted}")]
    BadValue { at: FeatureRef, property: &'static str, value: String, wanted: &'static str },

    /// A property that is not read, though another of nearly that name is: passed over, it
    /// could leave out a setback or treat dormant turf.
    #[error("{at:#}: property {property:?} is not read; write {meant}")]
    Misnamed { at: FeatureRef, property: String, meant: &'static str },

    /// One property under two spellings, which say different things.
    #[error("{at:#}: has both {said}; keep one")]
    TwoSpellings { at: FeatureRef, said: String },

    /// So much is wrong that the rest is counted only. What is not known in detail cannot stop single
    /// lawns, so it stops all.
    #[error(
        "{file}: {more} problems more, which are not listed; with so many of them nothing of the map is used: is it the right file, and does the kind stand in another column (--kind-from)?"
    )]
    TooMany { file: String, more: u64 },

    /// Degrees that were given for a grid's coordinates.
    #[error(
        "{file}: all its coordinates look like degrees, not like {crs}, which {who} says: if they are longitude and latitude, say --crs EPSG:4326 instead"
    )]
    DegreesInGrid { file: String, crs: String, who: &'static str },

    /// Numbers of a projected system in a file that should be in degrees.
    #[error("{file}: has coordinates that are no degrees: {advice}")]
    LooksProjected { file: String, advice: String },

    /// A system in which the numbers make no sense.
    #[error(
        "{file}: by {crs} its middle lies at {place}, outside of where that is used; its numbers were meant otherwise: {advice}"
    )]
    OutsideSystem { file: String, crs: String, place: String, advice: String },

    /// Two files that lie together once the numbers of one are swapped.
    #[error(
        "{file}: lies at {place}, and {other} at {there}; with latitude and longitude of one of them swapped they lie together: put longitude first in the one that is wrong"
    )]
    FilesSwapped { file: String, place: String, other: String, there: String },

    /// Right angles that are none as the numbers stand.
    #[error(
        "{file}: lies at {place} by its numbers, and {corners} of its corners are right angles only if latitude stands first: put longitude first, and it lies at {would_be}"
    )]
    LatitudeFirst { file: String, place: String, would_be: String, corners: usize },

    /// A datum that PROJ cannot bring to WGS 84 well enough.
    #[error(
        "{file}: {crs} comes to WGS 84 {}: a setback would be off by as much; export the map in WGS 84 or NAD 83 with the grids of its country", accuracy.map_or("only by guess, for want of a grid or a known datum".to_owned(), |metres| format!("no better than to {metres} m"))
    )]
    PoorDatum { file: String, crs: String, accuracy: Option<f64> },

    /// Degrees that were called a plane.
    #[error(
        "{file}: all its turf lies within {metres:.3} m; these look like degrees: leave out --plane and --crs"
    )]
    TinyMap { file: String, metres: f64 },

    /// Feet and metres for one thing.
    #[error("{at:#}: has both {name}_ft and {name}_m; keep one")]
    BothUnits { at: FeatureRef, name: &'static str },

    /// A line covers nothing without a width.
    #[error(
        "{at:#}: a line of kind {kind} needs width_ft or width_m: the strip it stands for; {}", cure.as_deref().unwrap_or(DRAW)
    )]
    NoWidth { at: FeatureRef, kind: Kind, cure: Option<Box<str>> },

    /// A point covers nothing without a radius.
    #[error(
        "{at:#}: a point of kind {kind} needs radius_ft or radius_m: the disc it stands for; {}", cure.as_deref().unwrap_or(DRAW)
    )]
    NoRadius { at: FeatureRef, kind: Kind, cure: Option<Box<str>> },

    /// The pair is almost always the wrong way round. Source: RFC 7946 §3.1.1.
    #[error("{at:#}: latitude {} is beyond ±90; put longitude first", short(*.latitude))]
    LatitudeOutOfRange { at: FeatureRef, latitude: f64 },

    /// No lawn grows there, but a swapped pair from North America lands there.
    #[error(
        "{at:#}: ({}, {}) lies in or near Antarctica; longitude and latitude look swapped: put longitude first", short(*.longitude), short(*.latitude)
    )]
    Antarctic { at: FeatureRef, longitude: f64, latitude: f64 },

    /// Numbers of a plane in a file that should be in degrees.
    #[error("{at:#}: ({}, {}) {odd}", short(*.x), short(*.y))]
    NotDegrees { at: FeatureRef, x: f64, y: f64, odd: Odd },

    /// PROJ could not bring the point to longitude and latitude.
    #[error("{at:#}: ({}, {}) cannot be placed by {crs}: {reason}; check the coordinate system", short(*.x), short(*.y))]
    NotPlaced { at: FeatureRef, x: f64, y: f64, crs: String, reason: String },

    /// One property is never that large: a vertex or a pair is wrong.
    #[error("{at:#}: reaches {kilometres:.0} km from the rest of its property{}; correct it or take it out", why_far(.corner.as_deref(), *.turned))]
    FarAway {
        at: FeatureRef,
        kilometres: f64,
        turned: Option<Turned>,
        /// The one corner of it that is far, where all others are near.
        corner: Option<Box<FarCorner>>,
    },

    /// Files that lie apart as wholes, at least one of them in a system that the user named.
    #[error("{0}")]
    FilesApart(Box<FilesApart>),

    /// Two zones of one name cannot be told apart in a plan.
    #[error(
        "{at:#}: zone name {name:?} stands already at {first:#}; give every zone of a property its own name"
    )]
    SameName { at: FeatureRef, name: String, first: Box<FeatureRef> },

    /// Whose lawn is it?
    #[error(
        r#"{at:#}: turf without a "property", though other features have one; say whose it is"#
    )]
    NoProperty { at: FeatureRef },

    /// Nothing to measure.
    #[error(r#"{file}: no feature of kind "turf"; give the lawns "kind": "turf""#)]
    NoTurf { file: String },
}

/// What can be done about a line or a point in most formats.
const DRAW: &str = "or draw it as a polygon";

/// Why numbers that should be degrees are none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Odd {
    /// As far as can be seen its whole file is so.
    LikeTheFile,
    /// All else of the file, or of the feature, is in degrees: this pair alone is wrong.
    Alone,
    /// Nines stand for what nobody knows.
    Unknown,
    /// Degrees, minutes and seconds written without anything between them; what they come to.
    RunTogether {
        /// In degrees.
        longitude: f64,
        /// In degrees.
        latitude: f64,
    },
}

impl fmt::Display for Odd {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Odd::LikeTheFile => f.write_str(
                "are not degrees but look like meters or feet of a projected system; name it with --crs EPSG:n, or say --plane m or --plane ft",
            ),
            Odd::Alone => f.write_str(
                "are not degrees, and the rest of the file is: correct this pair (is there a digit too many, or the point in the wrong place?)",
            ),
            Odd::Unknown => f.write_str(
                "are not degrees but stand for a place that nobody knows: fill in its coordinates, or delete it",
            ),
            Odd::RunTogether { longitude, latitude } => write!(
                f,
                "are not degrees but look like degrees, minutes and seconds run together: if they are, write ({longitude:.7}, {latitude:.7})"
            ),
        }
    }
}

/// The one corner of a feature that lies far from its property.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FarCorner {
    /// Its number in its ring or line, from 1, as the file counts.
    pub number: usize,
    /// Where it lies, in degrees.
    pub place: Coord<f64>,
}

fn why_far(corner: Option<&FarCorner>, turned: Option<Turned>) -> String {
    let corner = corner.map(|FarCorner { number, place }| {
        let is_wrong = if turned.is_none() { ", of which a digit may be wrong" } else { "" };
        format!(
            " with corner {number} alone (longitude {:.6}, latitude {:.6}){is_wrong}",
            place.x, place.y
        )
    });
    let turned = turned.map(|turned| format!("; {}", turned.question()));
    [corner, turned].into_iter().flatten().collect()
}

/// A file that lies far from another by the system that the user named for it.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)] // The field names say it.
pub struct FilesApart {
    pub file: String,
    pub crs: String,
    pub place: String,
    pub kilometres: f64,
    pub other: String,
    pub other_crs: Option<String>,
    pub there: String,
}

impl fmt::Display for FilesApart {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let FilesApart { file, crs, place, kilometres, other, other_crs, there } = self;
        write!(
            f,
            "{file}: by --crs {crs} it lies at {place}, {kilometres:.0} km from {other}, which lies at {there}"
        )?;
        match other_crs {
            Some(other_crs) => write!(
                f,
                " by --crs {other_crs}; one of the two systems is wrong: name the right one with --crs FILE=EPSG:n"
            ),
            None => write!(f, "; name the system that it is in with --crs {file}=EPSG:n"),
        }
    }
}

impl MapError {
    /// Of a feature without a kind. In GeoJSON the first of a file will say what else can be done.
    pub(crate) fn no_kind(at: FeatureRef) -> MapError {
        let has_hint = at.counted != Counted::Features;
        MapError::NoKind { at, has_hint }
    }

    /// The feature that it is about; `None` where it is about the file.
    pub fn place(&self) -> Option<&FeatureRef> {
        match self {
            MapError::NotAFeature { at, .. }
            | MapError::NotJson { at, .. }
            | MapError::NotText { at, .. }
            | MapError::BadGeometry { at, .. }
            | MapError::NoKind { at, .. }
            | MapError::UnlistedKind { at, .. }
            | MapError::NoPlace { at, .. }
            | MapError::UnknownKind { at, .. }
            | MapError::UnknownCondition { at, .. }
            | MapError::BadValue { at, .. }
            | MapError::Misnamed { at, .. }
            | MapError::TwoSpellings { at, .. }
            | MapError::BothUnits { at, .. }
            | MapError::NoWidth { at, .. }
            | MapError::NoRadius { at, .. }
            | MapError::LatitudeOutOfRange { at, .. }
            | MapError::Antarctic { at, .. }
            | MapError::NotDegrees { at, .. }
            | MapError::NotPlaced { at, .. }
            | MapError::FarAway { at, .. }
            | MapError::SameName { at, .. }
            | MapError::NoProperty { at, .. } => Some(at),
            MapError::DegreesInGrid { .. }
            | MapError::LooksProjected { .. }
            | MapError::OutsideSystem { .. }
            | MapError::FilesSwapped { .. }
            | MapError::FilesApart(_)
            | MapError::LatitudeFirst { .. }
            | MapError::PoorDatum { .. }
            | MapError::TooMany { .. }
            | MapError::TinyMap { .. }
            | MapError::NoTurf { .. } => None,
        }
    }
}

/// How the numbers of a place that is far from the rest can be turned to lie near it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turned {
    /// Latitude and longitude change places.
    Swapped,
    /// A longitude is taken for west.
    West,
    /// A longitude is taken for east.
    East,
}

impl Turned {
    /// What to ask whoever drew it.
    pub(crate) fn question(self) -> &'static str {
        match self {
            Turned::Swapped => {
                "with latitude and longitude swapped it would be near: put longitude first"
            }
            Turned::West => {
                "with the other sign it would be near (is the minus of its longitude missing?)"
            }
            Turned::East => {
                "with the other sign it would be near (has its longitude a minus too many?)"
            }
        }
    }
}

/// What a problem stops.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Scope {
    /// Every property of the map: the feature may count for any of them.
    Map,
    /// One property; the others can be done.
    Property(String),
    /// A piece of turf that belongs to nobody; the others can be done.
    Unclaimed,
}

/// A refusal and what it stops.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// What it stops.
    pub scope: Scope,
    /// What is wrong.
    pub error: MapError,
    /// What is not used and may matter to lawns in reach, which must not be used either;
    /// `None` of turf and of files.
    pub unused: Option<Unused>,
}

/// Something that is on the ground and not in the map's features.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unused {
    /// The box of it, south-west and north-east, or of all else of its property where its own
    /// place cannot be read.
    pub corners: (Coord<f64>, Coord<f64>),
    /// What it is, if that can be read.
    pub kind: Option<Kind>,
}

/// Something settled that should be seen.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// A short fixed word, such as `ring-closed`.
    pub code: &'static str,
    /// The property it belongs to, if it is known.
    pub property: Option<String>,
    /// Where.
    pub at: FeatureRef,
    /// What was found and what was done.
    pub message: String,
}

/// A coordinate short enough to read: 1e308 has 309 digits.
fn short(coordinate: f64) -> String {
    if coordinate.abs() < 1e12 { coordinate.to_string() } else { format!("{coordinate:e}") }
}
