//! One property laid flat, with all that reaches it: the last place where degrees are seen.

use geo::Coord;
use turfplat_map::{Feature, Kind, PropertyMap};
use turfplat_measure::{Drawn, Ellipsoid, Plane, Repair, Shape};

use crate::neighbourhood::{Neighbourhood, Reach};

/// One property laid flat: its zones, and everything of the map that reaches them.
pub(crate) struct Site<'a> {
    pub(crate) plane: Plane,
    /// Longitude and latitude of the plane's centre; `None` on a plane of the map's own.
    pub(crate) centre: Option<Coord<f64>>,
    /// Zones in file order.
    pub(crate) zones: Vec<Laid<'a>>,
    /// All else, in file order.
    pub(crate) features: Vec<Laid<'a>>,
    /// The lot, as far as it is drawn.
    pub(crate) lot: Option<Shape>,
    /// How many lots that are nobody's make it up.
    pub(crate) lots_of_nobody: usize,
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

impl Lawns<'_> {
    /// The box of the turf; of lawns on both sides of the antimeridian, counted on eastwards beyond it.
    pub(crate) fn turf(&self) -> Option<Reach> {
        let places = || self.zones.iter().flat_map(|zone| zone.outline.coordinates());
        let turf = around(places())?;
        if turf.max.x - turf.min.x <= 180.0 || self.on_plane {
            return Some(turf);
        }
        around(places().map(|place| Coord { x: place.x.rem_euclid(360.0), y: place.y }))
    }
}

fn around(places: impl Iterator<Item = Coord<f64>>) -> Option<Reach> {
    places.fold(None, |reach: Option<Reach>, place| {
        let Reach { min, max } = reach.unwrap_or(Reach { min: place, max: place });
        Some(Reach {
            min: Coord { x: min.x.min(place.x), y: min.y.min(place.y) },
            max: Coord { x: max.x.max(place.x), y: max.y.max(place.y) },
        })
    })
}

impl<'a> Site<'a> {
    /// Lays the lawns, whose box is `turf`, and all that reaches them on a plane of their own;
    /// `None` where no plane can be laid.
    pub(crate) fn lay(
        map: &'a PropertyMap,
        lawns: &Lawns<'a>,
        turf: &Reach,
        neighbourhood: &Neighbourhood<'a>,
    ) -> Option<Site<'a>> {
        let middle = (turf.min + turf.max) / 2.0;
        let (plane, centre) = if map.on_plane {
            (Plane::already_flat(middle), None)
        } else {
            let centre =
                Coord { x: if middle.x > 180.0 { middle.x - 360.0 } else { middle.x }, ..middle };
            (Plane::centred(centre.x, centre.y, Ellipsoid::WGS84)?, Some(centre))
        };
        let zones = lawns.zones.iter().map(|zone| Laid::on(&plane, zone)).collect();
        let reaching = neighbourhood.reaching(turf);
        let reaching = || reaching.iter().map(|&index| &map.features[index]);
        let features = reaching()
            .filter(|feature| feature.kind != Kind::Parcel)
            .map(|feature| Laid::on(&plane, feature))
            .collect();
        let own = neighbourhood.parcels(lawns.property);
        let of_nobody: Vec<&Feature> = reaching()
            .filter(|feature| {
                feature.kind == Kind::Parcel && feature.property.is_none() && own.is_empty()
            })
            .collect();
        let parcels: Vec<Shape> =
            own.iter().chain(&of_nobody).map(|parcel| Laid::on(&plane, parcel).shape).collect();
        Some(Site {
            lot: Shape::together(&parcels),
            lots_of_nobody: of_nobody.len(),
            plane,
            centre,
            zones,
            features,
        })
    }
}

impl<'a> Laid<'a> {
    pub(crate) fn on(plane: &Plane, feature: &'a Feature) -> Laid<'a> {
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
        let (shape, repairs) = Shape::lay(&drawn, plane);
        Laid { feature, shape, repairs }
    }
}
