//! Whole files with latitude first. In North America such numbers are no place where lawns grow, and
//! are refused as they are read. Elsewhere they are a place: Berlin's lie off Yemen, and nothing of
//! a single number is wrong. What gives them away is seen of the file as a whole:
//!
//! - Another file of the map lies where this one would with its numbers swapped.
//! - Right angles. Houses, drives and lots have them, whichever way they are turned. A degree of
//!   longitude is shorter than one of latitude, so a swap skews all that is not turned north: at 52°
//!   north by up to 30°. Corners that are right angles only if latitude stands first say that it does.
//! - A `bbox` that agrees with the features once one of both is swapped.
//! - A swap mirrors, so rings that ran as RFC 7946 §3.1.6 has them run the other way. The GeoJSON
//!   of 2008 had no rule and shapefiles have the opposite one, so this is but a hint, and none where
//!   right angles say that the numbers are as they should be.
//!
//! What cannot be seen: a single file near both the equator and the meridian of Greenwich, where a
//! swap skews nothing, and one without a right angle that is not turned north. Those lie where they
//! say, as far as anybody can tell.

use geo_types::{Coord, LineString};
use serde_json::Value;

use crate::error::{MapError, Note, Problem, ReadError, Scope};
use crate::feature::{Feature, FeatureRef};
use crate::property_map::{Corners, MapFile, PropertyMap, RoundBox};
use crate::slips::{FAR_KILOMETRES, kilometres_apart};
use crate::system::in_words;

/// What speaks for swapped numbers in the files of a map.
#[derive(Default)]
pub(crate) struct Swapped {
    pub(crate) problems: Vec<Problem>,
    pub(crate) notes: Vec<Note>,
    /// Files of which it was said already.
    pub(crate) files: Vec<u32>,
}

/// With the numbers of each place the other way round.
pub(crate) fn swapped((min, max): Corners) -> Corners {
    (turned(min), turned(max))
}

fn turned(place: Coord<f64>) -> Coord<f64> {
    Coord { x: place.y, y: place.x }
}

impl Swapped {
    /// Looks at the files of a map in degrees, round whose features are `boxes`.
    pub(crate) fn of(map: &PropertyMap, boxes: &[RoundBox]) -> Result<Swapped, ReadError> {
        let mut found = Swapped::default();
        found.beside_each_other(map, boxes);
        for (number, (file, around)) in (0..).zip(map.files.iter().zip(boxes)) {
            let Some(corners) = around.corners() else { continue };
            let place = (corners.0 + corners.1) / 2.0;
            // Where nobody has a lawn the numbers were not swapped; nor are those of a grid.
            let may_be = lawns_grow_at(turned(place)) && file.frame.system().is_none();
            if may_be && !found.files.contains(&number) {
                let evidence = Evidence::of(map, number)?;
                found.by_evidence(file, number, place, &evidence);
            }
        }
        Ok(found)
    }

    fn beside_each_other(&mut self, map: &PropertyMap, boxes: &[RoundBox]) {
        let files: Vec<(u32, &MapFile, Corners)> = (0..)
            .zip(map.files.iter().zip(boxes))
            .filter_map(|(number, (file, around))| Some((number, file, around.corners()?)))
            .collect();
        for (place, (number, file, corners)) in files.iter().enumerate() {
            let other = files[..place].iter().find(|(.., other)| {
                kilometres_apart(*other, *corners) > FAR_KILOMETRES
                    && kilometres_apart(*other, swapped(*corners)) <= FAR_KILOMETRES
            });
            let Some((other_number, other, its)) = other else { continue };
            let middle = |(min, max): Corners| in_words((min + max) / 2.0);
            let error = MapError::FilesSwapped {
                file: file.name.to_string(),
                place: middle(*corners),
                other: other.name.to_string(),
                there: middle(*its),
            };
            self.problems.push(Problem { scope: Scope::Map, error, unused: None });
            self.files.extend([*number, *other_number]);
        }
    }

    fn by_evidence(&mut self, file: &MapFile, number: u32, place: Coord<f64>, evidence: &Evidence) {
        let (is, would_be) = (in_words(place), in_words(turned(place)));
        let note = |code, message| Note {
            code,
            property: None,
            at: FeatureRef::of_file(&file.name, number),
            message,
        };
        let Evidence { right, right_if_swapped, .. } = *evidence;
        if evidence.says_swapped() {
            if evidence.is_certain() {
                let error = MapError::LatitudeFirst {
                    file: file.name.to_string(),
                    place: is,
                    would_be,
                    corners: right_if_swapped,
                };
                self.problems.push(Problem { scope: Scope::Map, error, unused: None });
                return;
            }
            let message = format!(
                "lies at {is} by its numbers, and {right_if_swapped} of its corners are right angles only if latitude stands first, {right} as they are; if it belongs at {would_be}, put longitude first"
            );
            self.notes.push(note("latitude-first", message));
        } else if evidence.is_mirrored() && !file.is_told && right < ENOUGH_CORNERS {
            let message = format!(
                "lies at {is} by its numbers, and its rings run the other way than RFC 7946 §3.1.6 has them, as they do where latitude stands first; older files run either way, so this may be nothing, but if it belongs at {would_be}, put longitude first"
            );
            self.notes.push(note("latitude-first", message));
        }
    }
}

/// True where a lawn may be.
fn lawns_grow_at(place: Coord<f64>) -> bool {
    (-60.0..=75.0).contains(&place.y)
}

/// What speaks for one order of the numbers or the other.
#[derive(Debug, Default)]
struct Evidence {
    /// Corners that are right angles as they are and not if swapped; the other way round; and
    /// corners that are right angles either way.
    right: usize,
    right_if_swapped: usize,
    either_way: usize,
    /// How many features have one of the second sort.
    features: usize,
    /// Outlines, those that run clockwise, holes, and those that run counterclockwise.
    outlines: [usize; 2],
    holes: [usize; 2],
}

/// So many corners say something; and so many, of so many features, leave no doubt.
const ENOUGH_CORNERS: usize = 12;
const CERTAIN_CORNERS: usize = 40;
const CERTAIN_FEATURES: usize = 6;
/// So many features with such corners, and none that speaks against it.
const FEATURES_THAT_AGREE: usize = 3;
/// By chance a corner in forty is a right angle to within the tolerance.
const FOR_ONE_BY_CHANCE: usize = 8;
/// So many outlines and holes are many.
const MANY_OUTLINES: usize = 10;
const MANY_HOLES: usize = 3;
/// The sine of what a right angle may be off, 2°.
const TOLERANCE: f64 = 0.035;
/// Sides that are shorter say nothing, nor do longer ones, in meters.
const SIDES: std::ops::RangeInclusive<f64> = 2.0..=300.0;
const METRES_PER_DEGREE: f64 = 111_200.0;
/// So many stretches of a file are looked at, spread over all of it.
const MOST_RUNS: usize = 64;

impl Evidence {
    fn of(map: &PropertyMap, file: u32) -> Result<Evidence, ReadError> {
        let runs = map.runs_in(file);
        let mut evidence = Evidence::default();
        let every = runs.len() / MOST_RUNS + 1;
        for run in runs.step_by(every) {
            map.read_run(run)?.features.iter().for_each(|feature| evidence.add(feature));
        }
        Ok(evidence)
    }

    fn add(&mut self, feature: &Feature) {
        let before = self.right_if_swapped;
        for polygon in &feature.outline.polygons {
            self.add_ring(polygon.exterior());
            let is_clockwise = doubled_area(polygon.exterior()) < 0.0;
            self.outlines = [self.outlines[0] + 1, self.outlines[1] + usize::from(is_clockwise)];
            for hole in polygon.interiors() {
                let is_counterclockwise = doubled_area(hole) > 0.0;
                self.holes = [self.holes[0] + 1, self.holes[1] + usize::from(is_counterclockwise)];
            }
        }
        self.features += usize::from(self.right_if_swapped > before);
    }

    fn add_ring(&mut self, ring: &LineString<f64>) {
        let Some(&first) = ring.0.first() else { return };
        // A degree of longitude as a share of one of latitude, as the numbers are and swapped.
        let [as_it_is, if_swapped] = [first.y, first.x].map(|latitude| latitude.to_radians().cos());
        let corners = ring.0.len().saturating_sub(1);
        for at in 0..corners {
            let [before, here, after] =
                [at + corners - 1, at, at + 1].map(|it| ring.0[it % corners]);
            let (a, b) = (before - here, after - here);
            let is_right = |east: f64, north: f64| {
                let [a, b] = [a, b].map(|side| Coord { x: side.x * east, y: side.y * north });
                let [long, wide] = [a, b].map(|side| side.x.hypot(side.y));
                let sides = [long, wide].map(|side| side * METRES_PER_DEGREE);
                sides.iter().all(|side| SIDES.contains(side))
                    && (a.x * b.x + a.y * b.y).abs() < TOLERANCE * long * wide
            };
            // Of swapped numbers the first counts north and the second east; an angle is the same
            // in a mirror.
            match (is_right(as_it_is, 1.0), is_right(1.0, if_swapped)) {
                (true, false) => self.right += 1,
                (false, true) => self.right_if_swapped += 1,
                (true, true) => self.either_way += 1,
                (false, false) => {}
            }
        }
    }

    fn says_swapped(&self) -> bool {
        self.right_if_swapped >= ENOUGH_CORNERS
            && self.right_if_swapped >= FOR_ONE_BY_CHANCE * self.right
    }

    fn is_certain(&self) -> bool {
        let many = self.right_if_swapped >= CERTAIN_CORNERS && self.features >= CERTAIN_FEATURES;
        // Fewer will do where not one corner speaks for the numbers as they are.
        let all = self.right == 0 && self.either_way == 0 && self.features >= FEATURES_THAT_AGREE;
        many || all
    }

    fn is_mirrored(&self) -> bool {
        let nearly_all = |[all, some]: [usize; 2]| some * 10 >= all * 9;
        self.outlines[0] >= MANY_OUTLINES
            && self.holes[0] >= MANY_HOLES
            && nearly_all(self.outlines)
            && nearly_all(self.holes)
    }
}

/// Twice the area of a ring, above zero where it runs counterclockwise.
fn doubled_area(ring: &LineString<f64>) -> f64 {
    let Some(&first) = ring.0.first() else { return 0.0 };
    ring.0
        .windows(2)
        .map(|side| {
            let (a, b) = (side[0] - first, side[1] - first);
            a.x * b.y - a.y * b.x
        })
        .sum()
}

/// What a file's `bbox` (RFC 7946 §5) says against the features round which `around` is, if they
/// agree once one of both is swapped.
pub(crate) fn against_bbox(bbox: &Value, around: Corners) -> Option<String> {
    let numbers: Vec<f64> = bbox.as_array()?.iter().map(Value::as_f64).collect::<Option<_>>()?;
    let corner = |x: usize, y: usize| Some(Coord { x: *numbers.get(x)?, y: *numbers.get(y)? });
    let said = match numbers.len() {
        4 => (corner(0, 1)?, corner(2, 3)?),
        6 => (corner(0, 1)?, corner(3, 4)?),
        _ => return None,
    };
    let is_apart = kilometres_apart(said, around) > FAR_KILOMETRES;
    let agree = kilometres_apart(swapped(said), around) <= FAR_KILOMETRES;
    let middle = |(min, max): Corners| in_words((min + max) / 2.0);
    (is_apart && agree).then(|| {
        format!(
            "its bbox lies at {} and its features at {}; one of the two has latitude first: if it is the features, put longitude first",
            middle(said),
            middle(around)
        )
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use proptest::prelude::*;
    use serde_json::json;

    use super::*;

    /// A house of 12 m by 9 m at a place, turned by an angle from north.
    fn house(place: Coord<f64>, turn: f64) -> LineString<f64> {
        let east = METRES_PER_DEGREE * place.y.to_radians().cos();
        let corners = [(0.0, 0.0), (12.0, 0.0), (12.0, 9.0), (0.0, 9.0), (0.0, 0.0)];
        let at = |(x, y): (f64, f64)| Coord {
            x: place.x + (x * turn.cos() - y * turn.sin()) / east,
            y: place.y + (x * turn.sin() + y * turn.cos()) / METRES_PER_DEGREE,
        };
        corners.into_iter().map(at).collect()
    }

    fn evidence(houses: impl Iterator<Item = LineString<f64>>) -> Evidence {
        let mut evidence = Evidence::default();
        houses.for_each(|house| evidence.add_ring(&house));
        evidence
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..Default::default() })]

        /// Houses away from the equator that are turned from north tell which number stands first,
        /// and those of a file as it should be never say that it is swapped.
        #[test]
        fn right_angles_tell_which_number_stands_first(
            longitude in -59.0..74.0_f64,
            latitude in 35.0..74.0_f64,
            turns in proptest::collection::vec(0.2..1.3_f64, 4..20),
        ) {
            let place = Coord { x: longitude, y: latitude };
            let houses = || turns.iter().map(|turn| house(place, *turn));
            let right = evidence(houses());
            prop_assert!(!right.says_swapped() && right.right == 4 * turns.len(), "{right:?}");
            let swap = |house: LineString<f64>| house.0.into_iter().map(turned).collect();
            let swapped = evidence(houses().map(swap));
            prop_assert!(swapped.says_swapped(), "{swapped:?}");
        }
    }

    #[test]
    fn a_bbox_is_held_to_the_features() {
        let corner = |x, y| Coord { x, y };
        let yemen = (corner(52.4, 13.3), corner(52.6, 13.5));
        let bbox = json!([13.3, 52.4, 13.5, 52.6]);
        assert!(against_bbox(&bbox, yemen).unwrap().contains("put longitude first"));
        let with_heights = json!([13.3, 52.4, 0.0, 13.5, 52.6, 90.0]);
        assert!(against_bbox(&with_heights, yemen).is_some());
        let berlin = swapped(yemen);
        for nothing in [&bbox, &json!([0, 0, 1, 1]), &json!("x"), &json!([1, 2]), &json!(null)] {
            assert_eq!(against_bbox(nothing, berlin), None, "{nothing}");
        }
    }
}
