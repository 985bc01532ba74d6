//! Slips that no single feature shows: a pair the wrong way round, a wrong digit, degrees
//! called a plane. Seen only beside the rest of the property.

use std::collections::HashMap;

use geo_types::Coord;

use crate::error::{MapError, Problem, Scope, Unused};
use crate::feature::{Feature, Outline};
use crate::kind::Kind;

/// Farther than this from the middle of its property, a vertex is a slip: no lawn is a tenth as
/// large, and a wrong digit in the degrees is 100 km.
const FAR_KILOMETRES: f64 = 50.0;
/// One degree of a meridian, in km: near enough to tell a slip from a lawn.
const KILOMETRES_PER_DEGREE: f64 = 111.2;

/// Features far from the middle of their property: a slip in one coordinate, or a swapped pair.
pub(crate) fn far_features(features: &[Feature], several: bool) -> Vec<Problem> {
    let mut members: Vec<(&Option<String>, Vec<&Feature>)> = Vec::new();
    let mut place_of: HashMap<&Option<String>, usize> = HashMap::new();
    for feature in features.iter().filter(|feature| !several || feature.property.is_some()) {
        let place = *place_of.entry(&feature.property).or_insert_with(|| {
            members.push((&feature.property, Vec::new()));
            members.len() - 1
        });
        members[place].1.push(feature);
    }
    let mut problems = Vec::new();
    for (property, features) in members {
        let places: Vec<Coord<f64>> =
            features.iter().filter_map(|feature| feature.outline.coordinates().next()).collect();
        let middle = middle_place(&places);
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
                scope: property.clone().map_or(Scope::Map, Scope::Property),
                error,
                unused: feature
                    .outline
                    .corners()
                    .filter(|_| feature.kind != Kind::Turf)
                    .map(|corners| Unused { corners, kind: Some(feature.kind) }),
            });
        }
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

fn kilometres_between(a: Coord<f64>, b: Coord<f64>) -> f64 {
    // Across the antimeridian the short way round counts.
    let turn = (a.x - b.x).abs() % 360.0;
    let east = turn.min(360.0 - turn) * a.y.to_radians().cos();
    (a.y - b.y).hypot(east) * KILOMETRES_PER_DEGREE
}

/// The largest side of all turf, in metres, where it is that of degrees called a plane.
pub(crate) fn turf_like_degrees(features: &[Feature]) -> Option<f64> {
    let turf = features
        .iter()
        .filter(|feature| feature.kind == Kind::Turf)
        .flat_map(|zone| zone.outline.coordinates());
    let all = Outline { points: turf.collect(), ..Outline::default() };
    let (min, max) = all.corners()?;
    let side = (max.x - min.x).max(max.y - min.y);
    let like_degrees =
        max.x.abs().max(min.x.abs()) <= 180.0 && max.y.abs().max(min.y.abs()) <= 90.0;
    // No lawn is a foot across; a lawn in degrees is a thousandth.
    (like_degrees && side > 0.0 && side < 0.3).then_some(side)
}
