use geo::{MultiLineString, MultiPolygon};
use turfplat_units::UnitSystem;

use crate::trail::Trail;
use crate::underlay::Underlay;

/// Everything that stands on one spray map.
///
/// Shapes are in metres on the property's plane, x east and y north; texts are ready to print.
#[derive(Clone, Debug)]
pub struct SprayMap {
    /// The customer's property; may be empty.
    pub property: String,
    /// Name of the application, such as `June`.
    pub application: String,
    /// Products with strength and formulation, such as `trinexapac-ethyl 1 lb/gal EC`.
    pub products: Vec<String>,
    /// What it is put down with, such as `knapsack: backpack, 3 gal tank, 1.2 gal/1000 sq ft`.
    pub equipment: String,
    /// Printed as given; `None` prints a line to fill in by hand.
    pub date: Option<String>,
    /// Which units the scale bar shows first.
    pub units: UnitSystem,
    /// Zones of turf, treated and skipped.
    pub zones: Vec<Zone>,
    /// What is not turf.
    pub features: Vec<Feature>,
    /// Ground held back around features.
    pub strips: Vec<Strip>,
    /// Points with a symbol.
    pub marks: Vec<Mark>,
    /// How the ground is walked; empty where no swath is known.
    pub trail: Trail,
    /// The lot line; may be empty.
    pub lot: MultiPolygon<f64>,
    /// Lots of other properties near by; may be empty.
    pub neighbour_lots: MultiPolygon<f64>,
    /// Strengths of mix, each with its loads.
    pub batches: Vec<Batch>,
    /// Amounts for the whole application, such as `spray: 9.8 gal`.
    pub totals: Vec<String>,
    /// Remarks on how the map came about.
    pub notes: Vec<String>,
    /// Sentences of safety; every one is printed, whatever else has to give way.
    pub cautions: Vec<String>,
    /// A picture of the ground beneath all of it; a map is complete without one.
    pub underlay: Option<Underlay>,
}

impl SprayMap {
    /// Granules are not sprayed: their sheet must not speak of spray.
    pub(crate) fn is_dry(&self) -> bool {
        self.equipment.to_lowercase().contains("spreader")
            && !self.totals.iter().any(|total| total.starts_with("spray"))
    }

    /// The wind that strips are kept for, if any are.
    pub(crate) fn wind(&self) -> Option<&Wind> {
        self.strips.iter().find_map(|strip| strip.wind.as_ref())
    }

    pub(crate) fn title(&self) -> &'static str {
        if self.is_dry() { "Spreading map" } else { "Spray map" }
    }
}

/// One piece of turf treated alike.
#[derive(Clone, Debug)]
pub struct Zone {
    /// Its name, printed in bold.
    pub name: String,
    /// Species of grass; several for a mixed stand.
    pub species: Vec<String>,
    /// What is left to treat.
    pub treated: MultiPolygon<f64>,
    /// The outline as drawn, before anything was taken out.
    pub drawn: MultiPolygon<f64>,
    /// Treated area, such as `4,812 sq ft`.
    pub area: String,
    /// Amount of each product, in the order of [`SprayMap::products`].
    pub amounts: Vec<String>,
    /// Number of the batch that it is treated from.
    pub batch: Option<usize>,
    /// Why nothing is treated here, in words.
    pub skipped: Option<String>,
}

/// Ground that is not turf.
#[derive(Clone, Debug)]
pub struct Feature {
    /// What it is.
    pub kind: Kind,
    /// Its name; printed where it fits.
    pub name: String,
    /// Its outline.
    pub shape: MultiPolygon<f64>,
    /// It belongs to another property, and is drawn in grey.
    pub is_neighbours: bool,
}

/// What a feature is; each kind has its own pattern.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Kind {
    /// A house, garage or shed.
    Building,
    /// Drive, walk, patio: whatever is paved.
    Hardscape,
    /// Pond, stream, ditch.
    Water,
    /// Ornamental planting.
    Bed,
    /// Plants that are eaten.
    Garden,
    /// Ground that children play on.
    Play,
    /// Ground of bee hives.
    Apiary,
    /// Left out for another reason.
    KeepOut,
    /// A storm inlet.
    Drain,
    /// Natural vegetation kept along water.
    VegStrip,
}

/// Ground held back around a feature.
#[derive(Clone, Debug)]
pub struct Strip {
    /// What it is held back from, such as `water`.
    pub to: String,
    /// How far, such as `25 ft`.
    pub distance: String,
    /// The same in metres, measured from `edge`.
    pub metres: f64,
    /// From where it is measured: rings, lines, or single points of what it is held back from. A
    /// dimension line runs from there to the edge of the strip; none if this is empty.
    pub edge: MultiLineString<f64>,
    /// The strip; whether it includes the feature itself makes no difference to the map.
    pub shape: MultiPolygon<f64>,
    /// The wind that it is kept for; `None` where it is kept whatever the weather.
    pub wind: Option<Wind>,
}

impl Strip {
    /// `from water`, or `from water for wind SW`.
    pub(crate) fn from(&self) -> String {
        let to = crate::text::shorten(&self.to, 60);
        match &self.wind {
            Some(wind) => format!("from {to} {}", wind.words()),
            None => format!("from {to}"),
        }
    }
}

/// The wind of the hour of spraying.
#[derive(Clone, Debug, PartialEq)]
pub enum Wind {
    /// Too light to have a direction.
    Light,
    /// It blows from here.
    From {
        /// Point of the compass, such as `SW`.
        point: String,
        /// Degrees from north by east.
        degrees: f64,
    },
}

impl Wind {
    /// `for wind SW`.
    pub(crate) fn words(&self) -> String {
        match self {
            Wind::Light => "for light wind".to_owned(),
            Wind::From { point, .. } => format!("for wind {}", crate::text::shorten(point, 12)),
        }
    }
}

/// A point with a symbol and a name.
#[derive(Clone, Debug)]
pub struct Mark {
    /// What it is.
    pub kind: MarkKind,
    /// Its name, printed beside the symbol.
    pub name: String,
    /// Metres east.
    pub x: f64,
    /// Metres north.
    pub y: f64,
    /// It belongs to another property, and is drawn in grey.
    pub is_neighbours: bool,
}

/// What a mark stands for; each has its own symbol.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum MarkKind {
    /// A well.
    Well,
    /// A storm inlet.
    Drain,
    /// Bee hives.
    Apiary,
    /// Where tanks are filled.
    MixSite,
}

/// Zones that take one strength of mix.
#[derive(Clone, Debug)]
pub struct Batch {
    /// Its number, as zones refer to it.
    pub number: usize,
    /// Names of its zones.
    pub zones: Vec<String>,
    /// The strength, such as `0.3 fl oz/1000 sq ft in 1.2 gal/1000 sq ft`.
    pub mix: Vec<String>,
    /// One text a load, such as `load 1: 3 gal = 0.75 fl oz + 2.99 gal water`.
    pub loads: Vec<String>,
}
