//! Slips that no single feature shows: a pair the wrong way round, a wrong digit, degrees
//! called a plane. Seen only beside the rest of the property.

use geo_types::Coord;

use crate::error::{MapError, Problem, Scope, Unused};
use crate::feature::Feature;
use crate::kind::Kind;
use crate::property_map::Corners;

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
        let swapped =
            kilometres_between(middle, Coord { x: place.y, y: place.x }) <= FAR_KILOMETRES;
        let error = MapError::FarAway { at: feature.at.clone(), kilometres, swapped };
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
