//! What looks like a slip of whoever drew the map and can still be measured: said, and nothing
//! changed. Seen before anything is laid flat, so on a map of degrees metres are taken by the
//! local scale, which is right to a hundredth.

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
    let mut findings = Vec::new();
    let mut boxes = Vec::with_capacity(features.len());
    for feature in features {
        let (slip, around) = look(feature, on_plane, features);
        findings.extend(slip);
        boxes.push(around);
    }
    findings.extend(duplicates(features, &boxes));
    findings
}

/// What looks like a slip in one feature, and the box round all of it. Every corner of a county
/// passes here, so of each ring and line no more than its box is looked at where that is enough.
fn look(
    feature: &Feature,
    on_plane: bool,
    features: &[&Feature],
) -> (Option<Finding>, Option<Extent>) {
    let outline = &feature.outline;
    let rings =
        outline.polygons.iter().flat_map(|it| std::iter::once(it.exterior()).chain(it.interiors()));
    let lines = outline.lines.iter().map(|line| (&line.0, false));
    let traces = rings.map(|ring| (&ring.0, true)).chain(lines);
    let mut around = Extent::of(&outline.points);
    let mut stray = None;
    let mut spacing = Spacing { longest: 0.0, closest: f64::INFINITY };
    for (places, is_ring) in traces {
        let Some(extent) = Extent::of(places) else { continue };
        around = Some(around.map_or(extent, |it| it.with(extent)));
        let trace = Trace { places, is_ring, extent, scale: scale_at(extent.low, on_plane) };
        stray = stray.or_else(|| stray_corner(feature, &trace, on_plane, features));
        spacing.add(&trace, on_plane);
    }
    let spacing = || spacing.finding(feature).filter(|_| !feature.at.is_of_tape_sheet());
    (stray.or_else(spacing), around)
}

/// A ring or a line of a feature.
pub(crate) struct Trace<'f> {
    pub(crate) places: &'f [Coord<f64>],
    pub(crate) is_ring: bool,
    /// Round all of it.
    pub(crate) extent: Extent,
    /// Meters east and north in one unit of its coordinates.
    pub(crate) scale: Coord<f64>,
}

/// The box round some places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Extent {
    pub(crate) low: Coord<f64>,
    pub(crate) high: Coord<f64>,
}

impl Extent {
    pub(crate) fn of<'c>(places: impl IntoIterator<Item = &'c Coord<f64>>) -> Option<Extent> {
        let mut places = places.into_iter();
        let first = *places.next()?;
        let mut extent = Extent { low: first, high: first };
        for place in places {
            extent = extent.with(Extent { low: *place, high: *place });
        }
        Some(extent)
    }

    fn with(self, other: Extent) -> Extent {
        let low = Coord { x: self.low.x.min(other.low.x), y: self.low.y.min(other.low.y) };
        let high = Coord { x: self.high.x.max(other.high.x), y: self.high.y.max(other.high.y) };
        Extent { low, high }
    }

    /// How far it is across, in meters.
    pub(crate) fn across(self, scale: Coord<f64>) -> f64 {
        length(self.low, self.high, scale)
    }
}

/// How far apart two places are, in meters.
pub(crate) fn length(a: Coord<f64>, b: Coord<f64>, scale: Coord<f64>) -> f64 {
    let way = a - b;
    (way.x * scale.x).hypot(way.y * scale.y)
}

/// Metres east and north in one unit of the coordinates near a place.
pub(crate) fn scale_at(place: Coord<f64>, on_plane: bool) -> Coord<f64> {
    if on_plane {
        return Coord { x: 1.0, y: 1.0 };
    }
    let east = METRES_PER_DEGREE * place.y.to_radians().cos();
    Coord { x: east, y: METRES_PER_DEGREE }
}

/// How far corners are apart: far closer, or far farther, than a person draws them.
struct Spacing {
    /// The longest side, if it is worth a word, in meters.
    longest: f64,
    /// The shortest side of rings and lines of many corners, on the whole.
    closest: f64,
}

impl Spacing {
    fn add(&mut self, trace: &Trace<'_>, on_plane: bool) {
        let Trace { places, is_ring, extent, scale } = trace;
        let sides = places.len().saturating_sub(1);
        let across = extent.across(*scale);
        // No side is longer than the box is across; a line is as long on the whole, a ring twice.
        let least = if *is_ring { 2.0 * across } else { across };
        let is_wide = across > LONG_SIDE;
        let is_close = sides >= MANY_CORNERS && least < CLOSE_CORNERS * sides as f64;
        if !is_wide && !is_close {
            return;
        }
        let (mut around, mut longest) = (0.0, 0.0_f64);
        for side in places.windows(2) {
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
        if longest > LONG_SIDE && leads_astray(trace) {
            self.longest = self.longest.max(longest);
        }
        if sides >= MANY_CORNERS {
            self.closest = self.closest.min(around / sides as f64);
        }
    }

    fn finding(&self, feature: &Feature) -> Option<Finding> {
        let Spacing { longest, closest } = *self;
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
}

/// True where the longest side stands out from the rest. A levee, an airfield or a pivot's quarter is
/// long too; one corner in the wrong place has two sides that lead there and back, so that their other
/// ends are near each other and nothing else is half as long, or, at an end of a line, one.
fn leads_astray(trace: &Trace<'_>) -> bool {
    let Trace { places, is_ring, scale, .. } = trace;
    let sides: Vec<f64> = places.windows(2).map(|side| length(side[0], side[1], *scale)).collect();
    let longest = (0..sides.len()).max_by(|a, b| sides[*a].total_cmp(&sides[*b]));
    let Some(longest) = longest else { return false };
    let rest = |others: [usize; 2]| -> f64 {
        let rest = sides.iter().enumerate().filter(|(side, _)| !others.contains(side));
        rest.fold(0.0, |rest, (_, side)| side.max(rest))
    };
    let half = sides[longest] / 2.0;
    let (last, is_first, is_last) = (sides.len() - 1, longest == 0, longest == sides.len() - 1);
    let before = if is_first { is_ring.then_some(last) } else { Some(longest - 1) };
    let after = if is_last { is_ring.then_some(0) } else { Some(longest + 1) };
    // The other ends of the longest side and of the one before or after it.
    let there_and_back = [
        before.map(|side| (side, places[side], places[longest + 1])),
        after.map(|side| (side, places[longest], places[side + 1])),
    ];
    let is_spike = |(side, a, b): (usize, Coord<f64>, Coord<f64>)| {
        sides[side] > half && length(a, b, *scale) < half && rest([longest, side]) < half
    };
    let is_end = !is_ring && (is_first || is_last) && last > 0;
    there_and_back.into_iter().flatten().any(is_spike)
        || is_end && 4.0 * rest([longest, longest]) < sides[longest]
}

/// Features of one kind that were drawn twice; `boxes` are round each of them.
fn duplicates(features: &[&Feature], boxes: &[Option<Extent>]) -> Vec<Finding> {
    let bits = |place: Coord<f64>| (place.x.to_bits(), place.y.to_bits());
    let key = |(place, (feature, around)): (usize, (&&Feature, &Option<Extent>))| {
        around.map(|Extent { low, high }| (feature.kind, bits(low), bits(high), place))
    };
    let mut keys: Vec<_> = features.iter().zip(boxes).enumerate().filter_map(key).collect();
    keys.sort_unstable();
    let mut findings = Vec::new();
    for alike in keys.chunk_by(|a, b| (a.0, a.1, a.2) == (b.0, b.1, b.2)) {
        let mut known: Vec<&Feature> = Vec::new();
        for &(.., place) in alike.iter().filter(|_| alike.len() > 1) {
            let feature = features[place];
            match known.iter().find(|other| is_same(other, feature)) {
                Some(first) => {
                    let message = format!("was drawn already: {}; it counts once", first.at);
                    findings.push((place, Finding::of(feature, "duplicate", message, 0.0)));
                }
                None => known.push(feature),
            }
        }
    }
    findings.sort_by_key(|(place, _)| *place);
    findings.into_iter().map(|(_, finding)| finding).collect()
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
