//! Why hazards are indexed over the whole map: a neighbour's well sets back this lawn as
//! much as the owner's. Features that stand together in a file are in one R-tree with the box
//! that they reach, their setbacks included; a property asks what reaches its turf, and only
//! that is read.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use geo::Coord;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use turfplat_map::{
    Around, Corners, Feature, Group, Kind, Note, PropertyMap, PropertyRef, ReadError, RoundBox,
    RunRef,
};
use turfplat_units::Length;

use crate::drawing::scale_at;

/// A degree of latitude is nowhere shorter than this, in metres (Snyder 1987, table 8: 110 568 m at the equator).
const SHORTEST_DEGREE: f64 = 110_500.0;

/// A run of so many bytes is worth keeping for the next who asks, and so many of them are kept.
const LARGE: u64 = 1 << 16;
const LARGE_KEPT: usize = 4;

/// So many runs share a leaf of the tree.
const LEAF: usize = 16;

/// What of a map a property may have to do with, found without looking at all of it.
pub(crate) struct Neighbourhood<'m> {
    map: &'m PropertyMap,
    /// How far a feature of each kind may matter, beyond what it says of itself.
    farthest: [Length; Kind::ALL.len()],
    /// All runs but those of turf alone, those that lie together side by side.
    reaches: Vec<Reaching>,
    /// Boxes round what every [`LEAF`] of them reach, by number: a sixteenth of the memory of one for each.
    tree: RTree<GeomWithData<Rectangle<[f32; 2]>, u32>>,
    /// The large runs that were read last: a river passes a hundred lawns, one after the other.
    large: Mutex<VecDeque<(RunRef, Arc<Group>)>>,
}

/// A run of a leaf and, in 255ths of the leaf's box and rounded outwards, what it reaches: most that
/// do not reach a window are told by that, in a fifth of the memory of the box itself.
#[derive(Clone, Copy, Debug)]
struct Reaching {
    run: RunRef,
    low: [u8; 2],
    high: [u8; 2],
}

/// Features of the map that may reach a piece of ground, and what was settled of them.
#[derive(Default)]
pub(crate) struct Neighbours {
    pub(crate) features: Vec<Feature>,
    pub(crate) notes: Vec<Note>,
}

/// A box in the frame of the map.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Reach {
    pub(crate) min: Coord<f64>,
    pub(crate) max: Coord<f64>,
}

impl Reach {
    pub(crate) fn around(feature: &Feature) -> Option<Reach> {
        feature.outline.corners().map(Reach::from)
    }

    /// The box and, of degrees, the same a turn to the east and to the west: a lawn on the
    /// antimeridian may have neighbours that are drawn there.
    pub(crate) fn turns(self, on_plane: bool) -> impl Iterator<Item = Reach> {
        let turns = if on_plane { &[0.0][..] } else { &[0.0, 360.0, -360.0] };
        turns.iter().map(move |&x| {
            let turn = Coord { x, y: 0.0 };
            Reach { min: self.min + turn, max: self.max + turn }
        })
    }

    pub(crate) fn touches(&self, other: &Reach) -> bool {
        self.min.x <= other.max.x
            && other.min.x <= self.max.x
            && self.min.y <= other.max.y
            && other.min.y <= self.max.y
    }

    /// How far two boxes are apart, as well as that can be said without a plane.
    pub(crate) fn away_from(&self, other: &Reach, on_plane: bool) -> Length {
        let gap = |min: f64, max: f64, low: f64, high: f64| (low - max).max(min - high).max(0.0);
        let scale = scale_at((self.min + self.max) / 2.0, on_plane);
        let east = gap(self.min.x, self.max.x, other.min.x, other.max.x) * scale.x;
        let north = gap(self.min.y, self.max.y, other.min.y, other.max.y) * scale.y;
        Length::from_metres(east.hypot(north)).unwrap_or_default()
    }

    pub(crate) fn grown(self, by: Length, on_plane: bool) -> Reach {
        let (width, height) = (self.max.x - self.min.x, self.max.y - self.min.y);
        let (east, north) = if on_plane {
            (by.metres(), by.metres())
        } else {
            // A long side is straight on the plane and bulges beyond the box of its ends, by less
            // than L² tan φ / 8R, 2 m in 10 km at 45° and never 10 m.
            let bulge = 1e-7 * ((width + height) * 1.1 * SHORTEST_DEGREE).powi(2);
            let metres = by.metres() + bulge.min(1e4);
            let north = metres / SHORTEST_DEGREE;
            let farthest = (self.min.y.abs().max(self.max.y.abs()) + north).min(89.0);
            (north / farthest.to_radians().cos(), north)
        };
        Reach {
            min: Coord { x: self.min.x - east, y: self.min.y - north },
            max: Coord { x: self.max.x + east, y: self.max.y + north },
        }
    }
}

impl From<Corners> for Reach {
    fn from((min, max): Corners) -> Reach {
        Reach { min, max }
    }
}

impl<'m> Neighbourhood<'m> {
    /// Indexes all features but turf. `farthest` is how far a feature of a kind may matter, beyond
    /// what it says of itself.
    ///
    /// # Errors
    ///
    /// [`ReadError`] where the map's own list cannot be read.
    pub(crate) fn of(
        map: &'m PropertyMap,
        farthest: impl Fn(Kind) -> Length,
    ) -> Result<Neighbourhood<'m>, ReadError> {
        let farthest = Kind::ALL.map(farthest);
        let mut reaches = side_by_side(map)?;
        let mut leaves = Vec::with_capacity(reaches.len().div_ceil(LEAF));
        for (some, number) in reaches.chunks_mut(LEAF).zip(0_u32..) {
            let mut boxes = Vec::with_capacity(LEAF);
            for it in some.iter() {
                let around = map.around_of(it.run)?;
                boxes.extend(around.map(|around| reach_of(&around, &farthest, map.is_on_plane())));
            }
            let Some(leaf) = boxes.iter().copied().reduce(round_both) else { continue };
            for (it, reach) in some.iter_mut().zip(&boxes) {
                (it.low, it.high) = within(&leaf, reach);
            }
            leaves.push(GeomWithData::new(Rectangle::from_corners(leaf.low, leaf.high), number));
        }
        let tree = RTree::bulk_load(leaves);
        Ok(Neighbourhood { map, farthest, reaches, tree, large: Mutex::default() })
    }

    /// Features near `ground` that were not drawn for `property`: all that reach it, and a few more.
    pub(crate) fn reaching(
        &self,
        ground: &Reach,
        property: PropertyRef,
    ) -> Result<Neighbours, ReadError> {
        let mut runs = Vec::new();
        for reach in ground.turns(self.map.is_on_plane()) {
            let window = RoundBox::from((reach.min, reach.max));
            for run in self.may_touch(window) {
                let Some(around) = self.map.around_of(run)? else { continue };
                let reaches = || reach_of(&around, &self.farthest, self.map.is_on_plane());
                if around.property != property && reaches().touches(&window) {
                    runs.push(run);
                }
            }
        }
        runs.sort_unstable();
        runs.dedup();
        let mut neighbours = Neighbours::default();
        for run in runs {
            let group = self.read(run)?;
            let others = group.features.iter().filter(|feature| feature.kind != Kind::Turf);
            neighbours.features.extend(others.cloned());
            neighbours.notes.extend(group.notes.iter().cloned());
        }
        Ok(neighbours)
    }

    /// The runs that reach a window, and some more.
    fn may_touch(&self, window: RoundBox) -> impl Iterator<Item = RunRef> {
        let leaves = AABB::from_corners(window.low, window.high);
        let leaves = self.tree.locate_in_envelope_intersecting(leaves);
        leaves.flat_map(move |leaf| {
            let some = self.reaches.chunks(LEAF).nth(leaf.data as usize).unwrap_or_default();
            let around = leaf.geom();
            let (low, high) =
                within(&RoundBox { low: around.lower(), high: around.upper() }, &window);
            let touches = move |it: &&Reaching| {
                (0..2).all(|axis| it.low[axis] <= high[axis] && low[axis] <= it.high[axis])
            };
            some.iter().filter(touches).map(|it| it.run)
        })
    }

    fn read(&self, run: RunRef) -> Result<Arc<Group>, ReadError> {
        if self.map.run_length(run)? < LARGE {
            return self.map.read_run(run).map(Arc::new);
        }
        // Whoever panicked with the lock left whole entries behind.
        let mut large = self.large.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, group)) = large.iter().find(|(known, _)| *known == run) {
            return Ok(Arc::clone(group));
        }
        let group = Arc::new(self.map.read_run(run)?);
        if large.len() == LARGE_KEPT {
            large.pop_front();
        }
        large.push_back((run, Arc::clone(&group)));
        Ok(group)
    }
}

/// What a run reaches.
fn reach_of(around: &Around, farthest: &[Length; Kind::ALL.len()], on_plane: bool) -> RoundBox {
    let of_kinds = around.kinds().map(|kind| farthest[kind as usize]);
    let by = around.own_reach + of_kinds.fold(Length::ZERO, Length::max);
    let reach = Reach::from(around.corners).grown(by, on_plane);
    RoundBox::from((reach.min, reach.max))
}

fn round_both(a: RoundBox, b: RoundBox) -> RoundBox {
    let both =
        |a: [f32; 2], b: [f32; 2], far: fn(f32, f32) -> f32| [far(a[0], b[0]), far(a[1], b[1])];
    RoundBox { low: both(a.low, b.low, f32::min), high: both(a.high, b.high, f32::max) }
}

/// A box in 255ths of another, rounded outwards. Both roundings, and all before them, keep the order
/// of places: of two boxes that share one, what comes of them does too.
fn within(whole: &RoundBox, part: &RoundBox) -> ([u8; 2], [u8; 2]) {
    let share = |place: [f32; 2], axis: usize| {
        let [low, high, place] = [whole.low, whole.high, place].map(|it| f64::from(it[axis]));
        (place - low) / (high - low) * 255.0
    };
    // A box without width, or one without end, says nothing: all of it may be meant.
    let down = |share: f64| if share.is_nan() { 0 } else { share.floor() as u8 };
    let up = |share: f64| if share.is_nan() { u8::MAX } else { share.ceil() as u8 };
    ([0, 1].map(|axis| down(share(part.low, axis))), [0, 1].map(|axis| up(share(part.high, axis))))
}

/// All runs of a map but those of turf alone, in tiles each of which will fill a leaf: columns of
/// west to east, in each from south to north (Leutenegger, Lopez and Edgington 1997,
/// sort-tile-recursive).
fn side_by_side(map: &PropertyMap) -> Result<Vec<Reaching>, ReadError> {
    let mut whole: Option<RoundBox> = None;
    let mut count = 0;
    for around in map.around() {
        let corners = RoundBox::from(around?.corners);
        whole = Some(whole.map_or(corners, |whole| round_both(whole, corners)));
        count += 1;
    }
    let mut reaches = Vec::with_capacity(count);
    let Some(whole) = whole else { return Ok(reaches) };
    for around in map.around() {
        let Around { run, corners: (min, max), .. } = around?;
        // Its middle in 65 535ths of the whole, while they are sorted.
        let middle = (min + max) / 2.0;
        let share = |place: f64, low: f32, high: f32| {
            let share = (place - f64::from(low)) / (f64::from(high) - f64::from(low));
            ((share * 65_535.0) as u16).to_be_bytes()
        };
        let low = share(middle.x, whole.low[0], whole.high[0]);
        let high = share(middle.y, whole.low[1], whole.high[1]);
        reaches.push(Reaching { run, low, high });
    }
    let tiles = reaches.len().div_ceil(LEAF);
    let column = LEAF * tiles.isqrt().max(1);
    reaches.sort_unstable_by_key(|it| (it.low, it.run));
    reaches.chunks_mut(column).for_each(|tiles| tiles.sort_unstable_by_key(|it| (it.high, it.run)));
    Ok(reaches)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// A county has a million runs: what each takes in memory here, its share of the tree among it.
    #[test]
    fn a_run_takes_few_bytes() {
        assert_eq!(size_of::<Reaching>(), 8);
        assert_eq!(size_of::<GeomWithData<Rectangle<[f32; 2]>, u32>>(), 20);
    }

    /// Degrees, metres, and what only a slip makes of them.
    fn place() -> impl Strategy<Value = f32> {
        prop_oneof![
            8 => -88.5..-88.4_f32,
            2 => (0..8_i32).prop_map(|it| it as f32),
            1 => any::<f32>().prop_filter("a place", |it| !it.is_nan()),
        ]
    }

    fn any_box() -> impl Strategy<Value = RoundBox> {
        (place(), place(), place(), place()).prop_map(|(a, b, c, d)| RoundBox {
            low: [a.min(b), c.min(d)],
            high: [a.max(b), c.max(d)],
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..Default::default() })]

        /// What reaches a window is never passed over for the shortness of its box.
        #[test]
        fn boxes_that_touch_touch_when_they_are_rounded(
            leaf in any_box(), run in any_box(), window in any_box(),
        ) {
            let ((low, high), (from, to)) = (within(&leaf, &run), within(&leaf, &window));
            let touch = (0..2).all(|axis| low[axis] <= to[axis] && from[axis] <= high[axis]);
            prop_assert!(touch || !run.touches(&window));
        }
    }
}
