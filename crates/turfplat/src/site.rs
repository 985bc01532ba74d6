use geo::Coord;
use turfplat_map::{Feature, Kind, PropertyMap};
use turfplat_measure::{Drawn, Ellipsoid, Plane, Repair, Shape};

use crate::neighbourhood::{Box, Neighbourhood};

/// One property laid flat: its zones, and everything of the map that reaches them.
pub(crate) struct Site<'a> {
    pub(crate) plane: Plane,
    /// Longitude and latitude of the plane's centre; `None` on a plane of the map's own.
    pub(crate) centre: Option<Coord<f64>>,
    /// Zones in file order.
    pub(crate) zones: Vec<Laid<'a>>,
    /// All else, in file order.
    pub(crate) features: Vec<Laid<'a>>,
}

/// A feature and its shape on the plane.
pub(crate) struct Laid<'a> {
    pub(crate) feature: &'a Feature,
    pub(crate) shape: Shape,
    pub(crate) repairs: Vec<Repair>,
}

/// The turf of one property in a map.
pub(crate) struct Lawns<'a> {
    /// `None` of a map that is one property.
    pub(crate) property: Option<&'a str>,
    pub(crate) zones: Vec<&'a Feature>,
    on_plane: bool,
}

/// The properties of a map that have turf, in file order.
pub(crate) fn lawns(map: &PropertyMap) -> Vec<Lawns<'_>> {
    let mut lawns: Vec<Lawns<'_>> = Vec::new();
    let mut place_of = std::collections::HashMap::new();
    for feature in map.features.iter().filter(|feature| feature.kind == Kind::Turf) {
        let property = feature.property.as_deref();
        let place = *place_of.entry(property).or_insert_with(|| {
            lawns.push(Lawns { property, zones: Vec::new(), on_plane: map.on_plane });
            lawns.len() - 1
        });
        lawns[place].zones.push(feature);
    }
    lawns
}

impl<'a> Site<'a> {
    /// Lays the lawns and all that reaches them on a plane of their own; `None` where no plane
    /// can be laid.
    pub(crate) fn lay(
        map: &'a PropertyMap,
        lawns: &Lawns<'a>,
        neighbourhood: &Neighbourhood,
    ) -> Option<Site<'a>> {
        let turf = turf_box(lawns)?;
        let (plane, centre) = if map.on_plane {
            (Plane::already_flat(), None)
        } else {
            let middle = (turf.min + turf.max) / 2.0;
            let centre =
                Coord { x: if middle.x > 180.0 { middle.x - 360.0 } else { middle.x }, ..middle };
            (Plane::centred(centre.x, centre.y, Ellipsoid::WGS84)?, Some(centre))
        };
        let lay = |feature: &'a Feature| {
            let (shape, repairs) = laid(feature, &plane);
            Laid { feature, shape, repairs }
        };
        let zones = lawns.zones.iter().copied().map(lay).collect();
        let features = neighbourhood
            .reaching(&turf)
            .into_iter()
            .map(|index| &map.features[index])
            .filter(|feature| {
                feature.kind != Kind::Parcel
                    || feature.property.is_none()
                    || feature.property.as_deref() == lawns.property
            })
            .map(lay)
            .collect();
        Some(Site { plane, centre, zones, features })
    }

    /// The lot: the property's own parcels, or those that are nobody's.
    pub(crate) fn lot(&self, property: Option<&str>) -> Option<Shape> {
        let parcels = || self.features.iter().filter(|laid| laid.feature.kind == Kind::Parcel);
        let own = parcels().any(|laid| {
            laid.feature.property.is_some() && laid.feature.property.as_deref() == property
        });
        let shapes = parcels()
            .filter(|laid| !own || laid.feature.property.as_deref() == property)
            .map(|laid| &laid.shape);
        Shape::together(shapes)
    }
}

/// The box of the lawns; of lawns on both sides of the antimeridian, counted on eastwards beyond it.
fn turf_box(lawns: &Lawns<'_>) -> Option<Box> {
    let places = || lawns.zones.iter().flat_map(|zone| zone.outline.coordinates());
    let turf = Box::around(places())?;
    if turf.max.x - turf.min.x <= 180.0 || lawns.on_plane {
        return Some(turf);
    }
    Box::around(places().map(|place| Coord { x: place.x.rem_euclid(360.0), y: place.y }))
}

fn laid(feature: &Feature, plane: &Plane) -> (Shape, Vec<Repair>) {
    let outline = &feature.outline;
    // A well's radius says how far off its position may be; the well itself stays a point.
    let radius = if feature.kind == Kind::Well { None } else { feature.radius };
    let drawn = Drawn {
        points: &outline.points,
        lines: &outline.lines,
        polygons: &outline.polygons,
        width: feature.width.unwrap_or_default(),
        radius: radius.unwrap_or_default(),
    };
    Shape::lay(&drawn, plane)
}
