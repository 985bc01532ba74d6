//! Why hazards are indexed over the whole map: a neighbour's well sets back this lawn as
//! much as the owner's. Every feature stands in one R-tree with the box that it reaches,
//! its setback included, and a property asks what reaches its turf.

use std::collections::HashMap;

use geo::Coord;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use turfplat_map::{Feature, Kind, Note, PropertyMap};
use turfplat_units::Length;

/// A degree of latitude is nowhere shorter than this, in metres (Snyder 1987, table 8: 110 568 m at the equator).
const SHORTEST_DEGREE: f64 = 110_500.0;

/// What of a map a property may have to do with, found without looking at all of it.
pub(crate) struct Neighbourhood<'a> {
    tree: RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>,
    on_plane: bool,
    parcels: HashMap<Option<&'a str>, Vec<&'a Feature>>,
    mix_sites: HashMap<Option<&'a str>, Vec<&'a Feature>>,
    notes: HashMap<Option<&'a str>, Vec<&'a Note>>,
}

/// A box in the frame of the map.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Reach {
    pub(crate) min: Coord<f64>,
    pub(crate) max: Coord<f64>,
}

impl Reach {
    pub(crate) fn around(feature: &Feature) -> Option<Reach> {
        feature.outline.corners().map(|(min, max)| Reach { min, max })
    }

    pub(crate) fn touches(&self, other: &Reach) -> bool {
        self.min.x <= other.max.x
            && other.min.x <= self.max.x
            && self.min.y <= other.max.y
            && other.min.y <= self.max.y
    }

    pub(crate) fn grown(self, by: Length, on_plane: bool) -> Reach {
        let (width, height) = (self.max.x - self.min.x, self.max.y - self.min.y);
        let (east, north) = if on_plane {
            (by.metres(), by.metres())
        } else {
            // A long side is straight on the plane and bulges beyond the box of its ends, by less
            // than L² tan φ / 8R, 2 m in 10 km at 45° and never 10 m.
            let bulge = 1e-7 * ((width + height) * 1.1 * SHORTEST_DEGREE).powi(2);
            let metres = by.metres() + bulge.min(1e4);
            let north = metres / SHORTEST_DEGREE;
            let farthest = (self.min.y.abs().max(self.max.y.abs()) + north).min(89.0);
            (north / farthest.to_radians().cos(), north)
        };
        Reach {
            min: Coord { x: self.min.x - east, y: self.min.y - north },
            max: Coord { x: self.max.x + east, y: self.max.y + north },
        }
    }
}

impl<'a> Neighbourhood<'a> {
    /// Indexes all features but turf, each reaching as far as `reach` says beyond what was drawn.
    pub(crate) fn of(
        map: &'a PropertyMap,
        reach: impl Fn(&Feature) -> Length,
    ) -> Neighbourhood<'a> {
        let boxes = map
            .features
            .iter()
            .enumerate()
            .filter(|(_, feature)| feature.kind != Kind::Turf)
            .filter_map(|(index, feature)| {
                let own = feature.width.unwrap_or_default() + feature.radius.unwrap_or_default();
                let Reach { min, max } =
                    Reach::around(feature)?.grown(own + reach(feature), map.on_plane);
                Some(GeomWithData::new(
                    Rectangle::from_corners([min.x, min.y], [max.x, max.y]),
                    index,
                ))
            });
        let of_kind = |kind: Kind| {
            by_property(
                map.features.iter().filter(move |feature| feature.kind == kind),
                |feature| &feature.property,
            )
        };
        Neighbourhood {
            tree: RTree::bulk_load(boxes.collect()),
            on_plane: map.on_plane,
            parcels: of_kind(Kind::Parcel),
            mix_sites: of_kind(Kind::MixSite),
            notes: by_property(map.notes.iter(), |note| &note.property),
        }
    }

    /// The indices of the features that reach `ground`, in file order.
    pub(crate) fn reaching(&self, ground: &Reach) -> Vec<usize> {
        // A lawn on the antimeridian may have neighbours that are drawn a turn away.
        let turns: &[f64] = if self.on_plane { &[0.0] } else { &[0.0, 360.0, -360.0] };
        let mut found: Vec<usize> = turns
            .iter()
            .flat_map(|turn| {
                let window = AABB::from_corners(
                    [ground.min.x + turn, ground.min.y],
                    [ground.max.x + turn, ground.max.y],
                );
                self.tree.locate_in_envelope_intersecting(window).map(|found| found.data)
            })
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// The lot lines of a property; `None` of a property asks for those that are nobody's.
    pub(crate) fn parcels(&self, property: Option<&'a str>) -> &[&'a Feature] {
        self.parcels.get(&property).map_or(&[], Vec::as_slice)
    }

    /// Where a property's tanks are filled.
    pub(crate) fn mix_sites(&self, property: Option<&'a str>) -> &[&'a Feature] {
        self.mix_sites.get(&property).map_or(&[], Vec::as_slice)
    }

    /// What reading found of a property's features.
    pub(crate) fn notes(&self, property: Option<&'a str>) -> &[&'a Note] {
        self.notes.get(&property).map_or(&[], Vec::as_slice)
    }
}

fn by_property<'a, T>(
    all: impl Iterator<Item = &'a T>,
    property: impl Fn(&'a T) -> &'a Option<String>,
) -> HashMap<Option<&'a str>, Vec<&'a T>> {
    let mut sorted: HashMap<Option<&'a str>, Vec<&'a T>> = HashMap::new();
    for one in all {
        sorted.entry(property(one).as_deref()).or_default().push(one);
    }
    sorted
}
