//! What looks like a slip of whoever drew the map and can still be measured: said, and nothing
//! changed. Seen before anything is laid flat, so on a map of degrees metres are taken by the
//! local scale, which is right to a hundredth.

use std::collections::HashMap;

use geo::Coord;
use turfplat_map::{Feature, Kind};

use crate::finding::Finding;
use crate::stray::stray_corner;

/// Metres in a degree of latitude, near enough to judge a drawing.
const METRES_PER_DEGREE: f64 = 111_200.0;

/// Sides longer than this are not a property's, in metres.
const LONG_SIDE: f64 = 1_000.0;
/// Corners closer than this on the whole are a machine's, not a hand's, in metres.
const CLOSE_CORNERS: f64 = 0.05;
/// An outline of fewer corners than this may be as small as it likes.
const MANY_CORNERS: usize = 24;

/// What looks like a slip in the features of one property.
pub(crate) fn slips(features: &[&Feature], on_plane: bool) -> Vec<Finding> {
    let look = |feature: &&Feature| {
        let first = feature.outline.coordinates().next()?;
        let scale = scale_at(first, on_plane);
        let stray = stray_corner(feature, scale, on_plane, features);
        let spacing = || spacing(feature, on_plane).filter(|_| !feature.at.is_of_tape_sheet());
        stray.or_else(spacing)
    };
    let mut findings: Vec<Finding> = features.iter().filter_map(look).collect();
    findings.extend(duplicates(features));
    findings
}

/// Metres east and north in one unit of the coordinates near a place.
fn scale_at(place: Coord<f64>, on_plane: bool) -> Coord<f64> {
    if on_plane {
        return Coord { x: 1.0, y: 1.0 };
    }
    let east = METRES_PER_DEGREE * place.y.to_radians().cos();
    Coord { x: east, y: METRES_PER_DEGREE }
}

/// Corners far closer, or far farther apart, than a person draws them.
fn spacing(feature: &Feature, on_plane: bool) -> Option<Finding> {
    let outline = &feature.outline;
    let rings =
        outline.polygons.iter().flat_map(|it| std::iter::once(it.exterior()).chain(it.interiors()));
    let (mut longest, mut closest): (f64, f64) = (0.0, f64::INFINITY);
    for line in outline.lines.iter().chain(rings) {
        let first = line.0.first()?;
        let scale = scale_at(*first, on_plane);
        let mut around = 0.0;
        for side in line.0.windows(2) {
            let mut way = side[1] - side[0];
            if !on_plane && way.x.abs() > 180.0 {
                // Across the antimeridian.
                way.x -= 360.0_f64.copysign(way.x);
            }
            let (east, north) = (way.x * scale.x, way.y * scale.y);
            let length = (east * east + north * north).sqrt();
            around += length;
            longest = longest.max(length);
        }
        if line.0.len() > MANY_CORNERS {
            closest = closest.min(around / (line.0.len() - 1) as f64);
        }
    }
    let message = if longest > LONG_SIDE && feature.kind != Kind::Water {
        format!("one side of it is {longest:.0} m long; is a corner in the wrong place?")
    } else if closest < CLOSE_CORNERS {
        format!(
            "its corners are {:.1} cm apart on the whole, closer than anybody draws; a trace by machine says no more than one of fewer corners",
            closest * 100.0
        )
    } else {
        return None;
    };
    Some(Finding::of(feature, "vertex-spacing", message, 0.0))
}

/// Features of one kind that were drawn twice.
fn duplicates(features: &[&Feature]) -> Vec<Finding> {
    let bits = |place: Coord<f64>| (place.x.to_bits(), place.y.to_bits());
    let mut known: HashMap<_, Vec<&Feature>> = HashMap::with_capacity(features.len());
    let mut findings = Vec::new();
    for &feature in features {
        let Some((low, high)) = feature.outline.corners() else { continue };
        let alike = known.entry((feature.kind, bits(low), bits(high))).or_default();
        if let Some(first) = alike.iter().find(|other| is_same(other, feature)) {
            let message = format!("was drawn already: {}; it counts once", first.at);
            findings.push(Finding::of(feature, "duplicate", message, 0.0));
        } else {
            alike.push(feature);
        }
    }
    findings
}

/// True of outlines of the same places, wherever they start and whichever way they run.
fn is_same(a: &Feature, b: &Feature) -> bool {
    let places = |feature: &Feature| {
        let mut places: Vec<(f64, f64)> =
            feature.outline.coordinates().map(|place| (place.x, place.y)).collect();
        places.sort_unstable_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
        places.dedup();
        places
    };
    let sizes = |feature: &Feature| {
        let outline = &feature.outline;
        [outline.points.len(), outline.lines.len(), outline.polygons.len()]
    };
    sizes(a) == sizes(b) && a.width == b.width && a.radius == b.radius && places(a) == places(b)
}
