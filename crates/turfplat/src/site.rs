//! One property laid flat, with all that reaches it: the last place where degrees are seen.

use std::collections::HashSet;

use geo::Coord;
use turfplat_map::{Feature, Group, Kind, Note, PropertyMap, PropertyRef, ReadError};
use turfplat_measure::{Drawn, Ellipsoid, Plane, Repair, Shape, Tangled};
use turfplat_units::Length;

use crate::drawing::slips;
use crate::far_hazards::far_hazards;
use crate::finding::Finding;
use crate::neighbourhood::{Neighbourhood, Neighbours, Reach};
use crate::setbacks::beside_water;
use crate::sizes::UnitDoubts;

/// One property laid flat: its zones, and everything of the map that reaches them.
pub(crate) struct Site {
    pub(crate) plane: Plane,
    /// Longitude and latitude of the plane's centre; `None` on a plane of the map's own.
    pub(crate) centre: Option<Coord<f64>>,
    /// Zones in file order.
    pub(crate) zones: Vec<Laid>,
    /// All else, in file order.
    pub(crate) features: Vec<Laid>,
    /// The lot, as far as it is drawn.
    pub(crate) lot: Option<Shape>,
    /// Lots of other properties that touch the box of the turf.
    pub(crate) neighbour_lots: Vec<Feature>,
    /// How many lots that are nobody's make it up.
    pub(crate) lots_of_nobody: usize,
    /// Where its tanks are filled, wherever that is, each with all that may be too near to it.
    pub(crate) mix_sites: Vec<MixSite>,
    /// What reading found, of this property and of common ground that reaches it.
    pub(crate) notes: Vec<Note>,
    /// What looks like a slip of the pen.
    pub(crate) slips: Vec<Finding>,
}

/// Where tanks are filled, and the hazards of the map that may be near.
#[derive(Clone, Debug)]
pub(crate) struct MixSite {
    pub(crate) feature: Feature,
    pub(crate) hazards: Vec<Feature>,
}

/// A feature and its shape on the plane.
pub(crate) struct Laid {
    pub(crate) feature: Feature,
    pub(crate) shape: Shape,
    pub(crate) repairs: Vec<Repair>,
}

/// What was drawn for one property.
pub(crate) struct Lawns<'m> {
    pub(crate) property: PropertyRef,
    /// `None` of a map that is one property.
    pub(crate) id: Option<&'m str>,
    pub(crate) zones: Vec<Feature>,
    others: Vec<Feature>,
    notes: Vec<Note>,
    slips: Vec<Finding>,
    on_plane: bool,
}

impl<'m> Lawns<'m> {
    pub(crate) fn of(
        map: &'m PropertyMap,
        property: PropertyRef,
        drawn: Group,
        units: &UnitDoubts<'_>,
    ) -> Lawns<'m> {
        let (id, on_plane) = (map.id(property), map.is_on_plane());
        let mut slips = slips(&drawn.features.iter().collect::<Vec<_>>(), on_plane);
        slips.extend(units.findings(&drawn.features));
        let (zones, others) =
            drawn.features.into_iter().partition(|feature| feature.kind == Kind::Turf);
        // Of whole files: in every property's answer only where they change it.
        let of_files = map.notes_for_each().cloned();
        let notes = of_files.chain(drawn.notes).collect();
        Lawns { property, id, zones, others, notes, slips, on_plane }
    }

    /// Where its tanks are filled, with all hazards of the map that may be too near.
    pub(crate) fn mix_sites(
        &self,
        neighbourhood: &Neighbourhood<'_>,
    ) -> Result<Vec<MixSite>, ReadError> {
        let is_hazard = |feature: &Feature| feature.kind.is_hazard();
        let sites = self.others.iter().filter(|feature| feature.kind == Kind::MixSite);
        sites
            .filter_map(|site| Some((site, Reach::around(site)?)))
            .map(|(site, place)| {
                let place = place.grown(site.own_reach(), self.on_plane);
                let near = neighbourhood.reaching(&place, self.property)?.features;
                let hazards = self.others.iter().cloned().chain(near).filter(is_hazard).collect();
                Ok(MixSite { feature: site.clone(), hazards })
            })
            .collect()
    }

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

impl Site {
    /// Lays the lawns, whose box is `turf`, and all that reaches them on a plane of their own.
    /// `farthest` is how far a feature of a kind may matter beyond its width or radius; `drawn_to`
    /// how far off the corners of features may be that do not say so themselves.
    ///
    /// # Errors
    ///
    /// Every reason why that cannot be done: no plane can be laid, or features are drawn so that
    /// nobody can say what they cover.
    pub(crate) fn lay(
        lawns: Lawns<'_>,
        turf: &Reach,
        neighbours: Neighbours,
        mix_sites: Vec<MixSite>,
        farthest: impl Fn(Kind) -> Length,
        drawn_to: Option<Length>,
    ) -> Result<Site, Vec<String>> {
        let middle = (turf.min + turf.max) / 2.0;
        let (plane, centre) = if lawns.on_plane {
            (Plane::already_flat(middle), None)
        } else {
            let centre =
                Coord { x: if middle.x > 180.0 { middle.x - 360.0 } else { middle.x }, ..middle };
            let plane = Plane::centred(centre.x, centre.y, Ellipsoid::WGS84);
            (plane.ok_or_else(|| vec![too_far_north(&lawns)])?, Some(centre))
        };
        let matters = |feature: &Feature| {
            Reach::around(feature).is_some_and(|drawn| {
                let reach = drawn.grown(reach_of(feature, farthest(feature.kind)), lawns.on_plane);
                turf.turns(lawns.on_plane).any(|turf| turf.touches(&reach))
            })
        };
        let is_lot = |feature: &Feature| feature.kind == Kind::Parcel;
        // A property's own lot lines count however far they are from its turf.
        let (own_lots, others): (Vec<_>, Vec<_>) = lawns.others.into_iter().partition(is_lot);
        let mut slips = lawns.slips;
        let (others, out_of_reach): (Vec<_>, Vec<_>) = others.into_iter().partition(&matters);
        slips.extend(out_of_reach.iter().filter(|it| is_to_be_in_turf(it.kind)).map(outside_turf));
        slips.extend(far_hazards(&out_of_reach, turf, lawns.on_plane));
        let own: HashSet<(u32, usize)> = others.iter().map(|feature| feature.at.order()).collect();
        let neighbours_near = neighbours.features.into_iter().filter(&matters);
        let mut reaching: Vec<Feature> = others.into_iter().chain(neighbours_near).collect();
        reaching.sort_by_key(|feature| feature.at.order());
        let (lots, features): (Vec<_>, Vec<_>) = reaching.into_iter().partition(is_lot);
        let is_nobodys = |lot: &Feature| lot.property.is_none() && own_lots.is_empty();
        let (of_nobody, neighbour_lots): (Vec<Feature>, _) = lots.into_iter().partition(is_nobodys);
        let mut notes = lawns.notes;
        // Of common ground, what was found where it reaches this property.
        let common = neighbours.notes.into_iter().filter(|note| note.property.is_none());
        let reaches = |note: &Note| features.iter().chain(&of_nobody).any(|it| it.at == note.at);
        notes.extend(common.filter(reaches));
        let lots_of_nobody = of_nobody.len();
        let mut reasons = Vec::new();
        let mut lay = |mut feature: Feature| {
            feature.drawn_error = feature.drawn_error.or(drawn_to);
            Laid::on(&plane, feature).map_err(|mut reason| reasons.append(&mut reason)).ok()
        };
        let lots: Vec<Shape> =
            own_lots.into_iter().chain(of_nobody).filter_map(|lot| Some(lay(lot)?.shape)).collect();
        let zones: Vec<Laid> = lawns.zones.into_iter().filter_map(&mut lay).collect();
        let turf: Vec<&Shape> = zones.iter().map(|zone| &zone.shape).collect();
        let features = features.into_iter().filter_map(|feature| {
            let within = reach_of(&feature, farthest(feature.kind)) + in_the_picture();
            let laid = lay(feature)?;
            Some(Laid { shape: laid.shape.near(&turf, within), ..laid })
        });
        let features: Vec<Laid> = features.collect();
        if !reasons.is_empty() {
            return Err(reasons);
        }
        let are_outside = features.iter().filter(|laid| {
            is_to_be_in_turf(laid.feature.kind)
                && own.contains(&laid.feature.at.order())
                && !turf.iter().any(|zone| zone.holds_a_corner_of(&laid.shape))
                && !turf
                    .iter()
                    .any(|zone| zone.distance_within(beside_turf(), &laid.shape).is_some())
        });
        slips.extend(are_outside.map(|laid| outside_turf(&laid.feature)));
        let meets_turf = |laid: &&Laid| {
            turf.iter().any(|zone| zone.distance_within(Length::ZERO, &laid.shape).is_some())
        };
        let without_size = features.iter().filter(|laid| laid.feature.size_unknown);
        slips.extend(without_size.filter(meets_turf).map(|laid| no_size(&laid.feature)));
        Ok(Site {
            lot: Shape::together(&lots),
            neighbour_lots,
            lots_of_nobody,
            zones,
            features,
            plane,
            centre,
            mix_sites,
            notes,
            slips,
        })
    }
}

/// What people draw in a lawn or at its edge; a house or a drive may stand anywhere.
fn is_to_be_in_turf(kind: Kind) -> bool {
    matches!(kind, Kind::Bed | Kind::Garden | Kind::Play | Kind::Apiary | Kind::KeepOut)
}

/// What is nearer to turf than this was drawn beside it.
fn beside_turf() -> Length {
    Length::from_metres(1.0).unwrap_or_default()
}

fn outside_turf(feature: &Feature) -> Finding {
    let message = "lies outside of all turf and takes nothing from it".to_owned();
    Finding::of(feature, "outside-turf", message, 0.0)
}

/// Of what meets turf and takes nothing of it, because nobody knows how large it is.
fn no_size(feature: &Feature) -> Finding {
    let message = match feature.outline.lines.is_empty() {
        true => {
            "a point in turf without a radius: nothing was taken out for it; give radius_ft or radius_m, or draw it as a polygon"
        }
        false => {
            "a line through turf or along it without a width: nothing was taken out for it; give width_ft or width_m, or draw it as a polygon"
        }
    };
    Finding::of(feature, "no-size", message.to_owned(), 0.0)
}

/// So far round the turf a spray map may show what is there.
fn in_the_picture() -> Length {
    Length::from_feet(300.0).unwrap_or_default()
}

/// How far beyond what was drawn a feature matters, if `farthest` is what others ask of its kind.
fn reach_of(feature: &Feature, farthest: Length) -> Length {
    let drawn = feature.width.unwrap_or_default() + feature.radius.unwrap_or_default();
    let drawn = drawn + feature.datum_error;
    let asked = feature.setback.unwrap_or_default().max(beside_water(feature).unwrap_or_default());
    drawn + asked.max(farthest)
}

/// Why lawns are refused for which no plane can be laid.
fn too_far_north(lawns: &Lawns<'_>) -> String {
    let place = lawns.zones.first().map(|zone| format!("{:#}", zone.at)).unwrap_or_default();
    let limit = Plane::LARGEST_LATITUDE;
    format!("{place}: lies beyond {limit}° of latitude, where no lawn grows; check its coordinates")
}

/// Why a feature is refused of which nobody can say what it covers.
fn tangled_feature(feature: &Feature, Tangled { crossings }: Tangled) -> String {
    let (drawn, cure) = match feature.outline.polygons.is_empty() {
        true => ("line", "once along its course"),
        false => ("outline", "once round its edge"),
    };
    format!(
        "{:#}: its {drawn} crosses itself {crossings} times or more, as no edge on the ground does; draw it again, {cure}",
        feature.at
    )
}

impl Laid {
    /// # Errors
    ///
    /// Why it cannot be laid.
    pub(crate) fn on(plane: &Plane, feature: Feature) -> Result<Laid, Vec<String>> {
        let outline = &feature.outline;
        // A well's radius says how far off its position may be; the well itself stays a point.
        let radius = if feature.kind == Kind::Well { None } else { feature.radius };
        let drawn = Drawn {
            points: &outline.points,
            lines: &outline.lines,
            polygons: &outline.polygons,
            width: feature.width.unwrap_or_default(),
            radius: radius.unwrap_or_default(),
            error: feature.drawn_error.unwrap_or_default(),
        };
        match Shape::lay(&drawn, plane) {
            Ok((shape, repairs)) => Ok(Laid { feature, shape, repairs }),
            Err(tangled) => Err(vec![tangled_feature(&feature, tangled)]),
        }
    }
}
