use std::fmt;
use std::num::NonZeroU32;
use std::sync::Arc;

use geo_types::{Coord, LineString, Polygon};
use turfplat_units::Length;

use crate::kind::Kind;
use crate::property_map::together;

/// By what the features of a file are counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Counted {
    /// The elements of `features`, from 0 as JSON counts.
    #[default]
    Features,
    /// Records of a table, from 1.
    Records,
    /// Placemarks of a KML file, from 1.
    Placemarks,
    /// What else stands one after the other, from 1.
    Items,
    /// Not at all: the file as a whole is meant.
    Whole,
}

/// A feature, by its file, its place in it (in the `features` array from 0, as JSON counts) and its
/// `name` or, failing that, its `id`. Prints as `lots.geojson features[2] ("Back lawn")`, and
/// with `{:#}` with the line too: `lots.geojson features[2] ("Back lawn"), line 17`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FeatureRef {
    pub(crate) file: Arc<str>,
    /// The place of its file among the map's.
    pub(crate) file_number: u32,
    pub(crate) index: usize,
    pub(crate) counted: Counted,
    /// The line on which it starts, from 1, in a file that has lines.
    pub(crate) line: Option<NonZeroU32>,
    pub(crate) label: Option<Box<str>>,
}

impl FeatureRef {
    /// A file as a whole.
    pub(crate) fn of_file(file: &Arc<str>, file_number: u32) -> FeatureRef {
        let (file, counted) = (Arc::clone(file), Counted::Whole);
        FeatureRef { file, file_number, index: 0, counted, line: None, label: None }
    }

    /// True of a shape of a tape sheet, whose corners nobody drew.
    pub fn is_of_tape_sheet(&self) -> bool {
        self.counted == Counted::Items
    }

    /// The name of its file.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Its place in the map: features sort by it as they stand in the files.
    pub fn order(&self) -> (u32, usize) {
        (self.file_number, self.index)
    }
}

impl fmt::Display for FeatureRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.counted {
            Counted::Features => write!(f, "{} features[{}]", self.file, self.index),
            Counted::Records => write!(f, "{} record {}", self.file, self.index + 1),
            Counted::Placemarks => write!(f, "{} Placemark {}", self.file, self.index + 1),
            Counted::Items => write!(f, "{} item {}", self.file, self.index + 1),
            Counted::Whole => f.write_str(&self.file),
        }?;
        if let Some(label) = &self.label {
            write!(f, " ({label:?})")?;
        }
        match self.line {
            Some(line) if f.alternate() => write!(f, ", line {line}"),
            _ => Ok(()),
        }
    }
}

/// How well a turf stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[allow(missing_docs)] // The trade's words.
pub enum Condition {
    #[default]
    Good,
    Thin,
    Stressed,
    Dormant,
    New,
    Greening,
}

impl Condition {
    /// Every condition, in the order of the documentation.
    pub const ALL: [Condition; 6] = [
        Condition::Good,
        Condition::Thin,
        Condition::Stressed,
        Condition::Dormant,
        Condition::New,
        Condition::Greening,
    ];

    /// The word in a map file.
    pub fn name(self) -> &'static str {
        match self {
            Condition::Good => "good",
            Condition::Thin => "thin",
            Condition::Stressed => "stressed",
            Condition::Dormant => "dormant",
            Condition::New => "new",
            Condition::Greening => "greening",
        }
    }
}

/// What a feature was drawn as, collections taken apart. Coordinates are finite, in the
/// map's frame: longitude and latitude in degrees (WGS 84), or metres east and north where
/// the map is on a plane already. Rings are closed; otherwise they are as drawn: they may
/// cross themselves, run either way, or hold no area.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outline {
    /// Bare points.
    pub points: Vec<Coord<f64>>,
    /// Lines of one point or more.
    pub lines: Vec<LineString<f64>>,
    /// Polygons whose rings have one point or more.
    pub polygons: Vec<Polygon<f64>>,
}

impl Outline {
    /// The box round all coordinates: south-west and north-east.
    pub fn corners(&self) -> Option<(Coord<f64>, Coord<f64>)> {
        let rings = self.polygons.iter().flat_map(rings_of);
        let traces = self.lines.iter().chain(rings).map(|line| line.0.as_slice());
        let boxes = traces.chain([self.points.as_slice()]).filter_map(|places| {
            let first = *places.first()?;
            Some(
                places
                    .iter()
                    .fold((first, first), |around, place| together(around, (*place, *place))),
            )
        });
        boxes.reduce(together)
    }

    /// True if nothing was drawn.
    pub fn is_empty(&self) -> bool {
        self.points.is_empty() && self.lines.is_empty() && self.polygons.is_empty()
    }

    /// Every coordinate, ring by ring.
    pub fn coordinates(&self) -> impl Iterator<Item = Coord<f64>> {
        self.points.iter().copied().chain(self.traces().flat_map(|line| line.0.iter().copied()))
    }

    /// Every line and ring.
    pub(crate) fn traces(&self) -> impl Iterator<Item = &LineString<f64>> {
        self.lines.iter().chain(self.polygons.iter().flat_map(rings_of))
    }
}

fn rings_of(polygon: &Polygon<f64>) -> impl Iterator<Item = &LineString<f64>> {
    std::iter::once(polygon.exterior()).chain(polygon.interiors())
}

/// A feature with nothing left to guess.
#[derive(Clone, Debug)]
pub struct Feature {
    /// Where it stands in its file.
    pub at: FeatureRef,
    /// What it is.
    pub kind: Kind,
    /// Its name; where the file gave none, kind and number.
    pub name: String,
    /// True where the file gave the name.
    pub is_named: bool,
    /// The customer's property it was drawn for; `None` is the one property, or common ground.
    pub property: Option<String>,
    /// Its shape.
    pub outline: Outline,
    /// Species of turf, as written.
    pub species: Vec<String>,
    /// How turf stands; `None` where the file does not say, which is taken for good.
    pub condition: Option<Condition>,
    /// Which zone keeps an overlap: the higher.
    pub priority: f64,
    /// Full width of the strip that its lines stand for.
    pub width: Option<Length>,
    /// Radius of the disc that its points stand for; of a well, how far its position may be off.
    pub radius: Option<Length>,
    /// The distance that this feature asks for itself.
    pub setback: Option<Length>,
    /// Of water: width of the natural vegetated strip between it and the turf.
    pub veg_strip: Option<Length>,
    /// How far off all of it may be beside features of files of another datum.
    pub datum_error: Length,
    /// True where only its area is known: it lies somewhere in a zone, and no distance can be kept
    /// from it.
    pub left_as_area: bool,
    /// True of a line without a width or a point without a radius that nobody knows: it takes no
    /// ground.
    pub size_unknown: bool,
    /// How far its corners may be off: the standard deviation of each, east and north alike.
    pub drawn_error: Option<Length>,
    /// Of turf: its slope in per cent, 100 being 45°.
    pub grade: Option<f64>,
}

impl Feature {
    /// How far beyond what was drawn the feature may matter by what it says of itself: the strip
    /// or disc that it stands for, and the distances that it asks for.
    pub fn own_reach(&self) -> Length {
        let drawn = self.width.unwrap_or_default() + self.radius.unwrap_or_default();
        drawn + self.setback.unwrap_or_default().max(self.veg_strip.unwrap_or_default())
    }
}
