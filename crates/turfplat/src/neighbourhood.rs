//! Why hazards are indexed over the whole map: a neighbour's well sets back this lawn as
//! much as the owner's. Every feature stands in one R-tree with the box that it reaches,
//! its setback included, and a property asks what reaches its turf.

use geo::Coord;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use turfplat_map::{Feature, Kind, PropertyMap};
use turfplat_units::Length;

/// A degree of latitude is nowhere shorter than this, in metres (Snyder 1987, table 8: 110 568 m at the equator).
const SHORTEST_DEGREE: f64 = 110_500.0;

/// The features of a map by where they reach.
pub(crate) struct Neighbourhood {
    tree: RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>,
    on_plane: bool,
}

/// A box in the frame of the map.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Box {
    pub(crate) min: Coord<f64>,
    pub(crate) max: Coord<f64>,
}

impl Box {
    pub(crate) fn around(places: impl Iterator<Item = Coord<f64>>) -> Option<Box> {
        places.fold(None, |all: Option<Box>, place| {
            let all = all.unwrap_or(Box { min: place, max: place });
            Some(Box {
                min: Coord { x: all.min.x.min(place.x), y: all.min.y.min(place.y) },
                max: Coord { x: all.max.x.max(place.x), y: all.max.y.max(place.y) },
            })
        })
    }

    fn grown(self, by: Length, on_plane: bool) -> Box {
        let metres = by.metres();
        let (east, north) = if on_plane {
            (metres, metres)
        } else {
            let north = metres / SHORTEST_DEGREE;
            let farthest = (self.min.y.abs().max(self.max.y.abs()) + north).min(89.0);
            (north / farthest.to_radians().cos(), north)
        };
        Box {
            min: Coord { x: self.min.x - east, y: self.min.y - north },
            max: Coord { x: self.max.x + east, y: self.max.y + north },
        }
    }
}

impl Neighbourhood {
    /// Indexes all features but turf, each reaching as far as `reach` says beyond what was drawn.
    pub(crate) fn of(map: &PropertyMap, reach: impl Fn(&Feature) -> Length) -> Neighbourhood {
        let boxes = map
            .features
            .iter()
            .enumerate()
            .filter(|(_, feature)| feature.kind != Kind::Turf)
            .filter_map(|(index, feature)| {
                let own = feature.width.unwrap_or_default() + feature.radius.unwrap_or_default();
                let Box { min, max } = Box::around(feature.outline.coordinates())?
                    .grown(own + reach(feature), map.on_plane);
                Some(GeomWithData::new(
                    Rectangle::from_corners([min.x, min.y], [max.x, max.y]),
                    index,
                ))
            });
        Neighbourhood { tree: RTree::bulk_load(boxes.collect()), on_plane: map.on_plane }
    }

    /// The indices of the features that reach `turf`, in file order.
    pub(crate) fn reaching(&self, turf: &Box) -> Vec<usize> {
        // A lawn on the antimeridian may have neighbours that are drawn a turn away.
        let turns: &[f64] = if self.on_plane { &[0.0] } else { &[0.0, 360.0, -360.0] };
        let mut found: Vec<usize> = turns
            .iter()
            .flat_map(|turn| {
                let window = AABB::from_corners(
                    [turf.min.x + turn, turf.min.y],
                    [turf.max.x + turn, turf.max.y],
                );
                self.tree.locate_in_envelope_intersecting(window).map(|found| found.data)
            })
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    }
}
