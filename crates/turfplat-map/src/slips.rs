//! Slips that no single feature shows: a pair the wrong way round, a wrong digit, degrees
//! called a plane. Seen only beside the rest of the property.

use geo_types::Coord;

use crate::error::{FarCorner, FilesApart, MapError, Problem, Scope, Turned, Unused};
use crate::feature::{Feature, Outline};
use crate::kind::Kind;
use crate::property_map::{Corners, together};
use crate::system::in_words;

/// Farther than this from the middle of its property, a vertex is a slip: no lawn is a tenth as
/// large, and a wrong digit in the degrees is 100 km.
pub(crate) const FAR_KILOMETRES: f64 = 50.0;
/// One degree of a meridian, in km: near enough to tell a slip from a lawn.
const KILOMETRES_PER_DEGREE: f64 = 111.2;

/// True of a box that is larger than any property: something in it may be far from the rest.
pub(crate) fn is_wide((min, max): Corners) -> bool {
    let corner = |x, y| Coord { x, y };
    // Degrees of longitude are shortest at the side that is nearer the pole, and widest at the other.
    [min.y, max.y, min.y.max(0.0).min(max.y)]
        .into_iter()
        .any(|y| kilometres_between(corner(min.x, y), corner(max.x, y)) > FAR_KILOMETRES / 2.0)
        || kilometres_between(corner(min.x, min.y), corner(min.x, max.y)) > FAR_KILOMETRES / 2.0
        || max.x - min.x > 180.0
}

/// Features of one property far from its middle: a slip in one coordinate, or a swapped pair.
pub(crate) fn far_features(property: Option<&str>, features: &[Feature]) -> Vec<Problem> {
    let places: Vec<Coord<f64>> =
        features.iter().filter_map(|feature| feature.outline.coordinates().next()).collect();
    let middle = middle_place(&places);
    let mut problems = Vec::new();
    for feature in features {
        let farthest = feature
            .outline
            .coordinates()
            .map(|place| (kilometres_between(middle, place), place))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let Some((kilometres, place)) =
            farthest.filter(|(kilometres, _)| *kilometres > FAR_KILOMETRES)
        else {
            continue;
        };
        let turned = turned(place, |place| kilometres_between(middle, place));
        let is_far = |place: &Coord<f64>| kilometres_between(middle, *place) > FAR_KILOMETRES;
        let corner = lone_corner(&feature.outline, is_far).map(Box::new);
        let error = MapError::FarAway { at: feature.at.clone(), kilometres, turned, corner };
        problems.push(Problem {
            scope: property.map_or(Scope::Map, |id| Scope::Property(id.to_owned())),
            error,
            unused: feature
                .outline
                .corners()
                .filter(|_| feature.kind != Kind::Turf)
                .map(|corners| Unused { corners, kind: Some(feature.kind) }),
        });
    }
    problems
}

/// The one place of an outline that is far, where others of it are near.
fn lone_corner(outline: &Outline, is_far: impl Fn(&Coord<f64>) -> bool) -> Option<FarCorner> {
    let mut far = outline.coordinates().filter(&is_far);
    let place = far.next()?;
    if far.any(|other| other != place) || outline.coordinates().all(|place| is_far(&place)) {
        return None;
    }
    let is_it = |other: &Coord<f64>| *other == place;
    let number = outline.traces().find_map(|trace| trace.0.iter().position(is_it))? + 1;
    Some(FarCorner { number, place })
}

/// How a place would have to be turned to lie near, by how far from the rest a place is.
pub(crate) fn turned(place: Coord<f64>, far: impl Fn(Coord<f64>) -> f64) -> Option<Turned> {
    let mirror = if place.x > 0.0 { Turned::West } else { Turned::East };
    let ways = [
        (Turned::Swapped, Coord { x: place.y, y: place.x }),
        (mirror, Coord { x: -place.x, ..place }),
    ];
    ways.into_iter().find(|(_, place)| far(*place) <= FAR_KILOMETRES).map(|(turned, _)| turned)
}

/// A file of a map: where it lies, and in which system the user said it is.
pub(crate) struct Lies {
    pub(crate) around: Option<Corners>,
    pub(crate) asked: Option<String>,
}

/// Of one property's features that are `far`, those of files that lie apart as wholes are one
/// problem: which of two files is right their features do not say, but a system that was named by
/// hand is wrong more often than what a file says itself.
pub(crate) fn files_apart(far: Vec<Problem>, features: &[Feature], files: &[Lies]) -> Vec<Problem> {
    let of = |problem: &Problem| problem.error.place().map(|at| at.order());
    let is_far = |feature: &&Feature| far.iter().any(|it| of(it) == Some(feature.at.order()));
    let (there, here): (Vec<&Feature>, Vec<&Feature>) = features.iter().partition(is_far);
    let number = |feature: &Feature| feature.at.file_number;
    if there.iter().any(|a| here.iter().any(|b| number(a) == number(b))) {
        return far;
    }
    let lies = |feature: &Feature| {
        let file = files.get(number(feature) as usize)?;
        Some((feature.at.file.to_string(), file.asked.clone(), file.around?))
    };
    let of_asked = |features: &[&Feature]| {
        let asked =
            features.iter().find(|it| lies(it).is_some_and(|(_, asked, _)| asked.is_some()));
        lies(asked.or(features.first())?)
    };
    let (Some(a), Some(b)) = (of_asked(&here), of_asked(&there)) else { return far };
    // The one that was asked for first.
    let ((file, asked, around), (other, other_crs, other_around)) =
        if a.1.is_some() { (a, b) } else { (b, a) };
    let Some(crs) = asked else { return far };
    let [place, there] = [around, other_around].map(|(min, max)| in_words((min + max) / 2.0));
    let kilometres = kilometres_apart(around, other_around);
    let apart = FilesApart { file, crs, place, kilometres, other, other_crs, there };
    let error = MapError::FilesApart(Box::new(apart));
    let scope = far.first().map_or(Scope::Map, |first| first.scope.clone());
    let hazards = far.iter().filter_map(|it| it.unused).map(|unused| unused.corners);
    let unused = hazards.reduce(together).map(|corners| Unused { corners, kind: None });
    vec![Problem { scope, error, unused }]
}

/// The place that is nearest to all others together: one that a slip cannot drag along. Of many
/// places every so many-th is asked.
fn middle_place(places: &[Coord<f64>]) -> Coord<f64> {
    const ASKED: usize = 64;
    let some: Vec<Coord<f64>> = places.iter().copied().step_by(places.len() / ASKED + 1).collect();
    let far = |from: &Coord<f64>| some.iter().map(|to| kilometres_between(*from, *to)).sum::<f64>();
    some.iter().copied().min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or_default()
}

/// From a box to a place.
pub(crate) fn kilometres_to((min, max): Corners, place: Coord<f64>) -> f64 {
    let near = |at: f64, low: f64, high: f64| at.clamp(low, high.max(low));
    let nearest = Coord { x: near(place.x, min.x, max.x), y: near(place.y, min.y, max.y) };
    kilometres_between(nearest, place)
}

/// Between the nearest places of two boxes, 0 where they meet.
pub(crate) fn kilometres_apart((min, max): Corners, (low, high): Corners) -> f64 {
    let gap = |a_low: f64, a_high: f64, b_low: f64, b_high: f64| {
        if b_low > a_high {
            (a_high, b_low)
        } else if b_high < a_low {
            (a_low, b_high)
        } else {
            (a_low, a_low)
        }
    };
    let (a_x, b_x) = gap(min.x, max.x, low.x, high.x);
    let (a_y, b_y) = gap(min.y, max.y, low.y, high.y);
    kilometres_between(Coord { x: a_x, y: a_y }, Coord { x: b_x, y: b_y })
}

fn kilometres_between(a: Coord<f64>, b: Coord<f64>) -> f64 {
    // Across the antimeridian the short way round counts.
    let turn = (a.x - b.x).abs() % 360.0;
    let east = turn.min(360.0 - turn) * a.y.to_radians().cos();
    (a.y - b.y).hypot(east) * KILOMETRES_PER_DEGREE
}

/// The larger side of the box round all turf, in metres, where it is that of degrees called a plane.
pub(crate) fn turf_like_degrees((min, max): Corners) -> Option<f64> {
    let side = (max.x - min.x).max(max.y - min.y);
    let like_degrees =
        max.x.abs().max(min.x.abs()) <= 180.0 && max.y.abs().max(min.y.abs()) <= 90.0;
    // No lawn is a foot across; a lawn in degrees is a thousandth.
    (like_degrees && side > 0.0 && side < 0.3).then_some(side)
}
