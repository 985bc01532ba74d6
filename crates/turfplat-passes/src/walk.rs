//! A whole walk over ground of several pieces.

use geo::orient::Direction;
use geo::{Area as _, Coord, LineString, MultiPolygon, Orient, Polygon};
use turfplat_units::{Area, Length, Speed, Time};

use crate::edges::Edges;
use crate::error::PassesError;
use crate::lap::NARROWEST;
use crate::layout::{Layout, laid};
use crate::overlay::wound;
use crate::plane::{Turn, left, length, path_length, unit};
use crate::rows::width_of;
use crate::tally::Tally;

/// How ground is walked.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Manner {
    /// The width that one pass covers.
    pub swath: Length,
    /// A lap along all edges first; the other passes begin and end in it.
    pub edge_first: bool,
    /// All of it twice, the second time at right angles to the first: each at half the rate.
    pub crossed: bool,
    /// In which direction the passes run, in radians counter-clockwise from the x axis (east);
    /// `None`: in the one that needs the fewest.
    pub direction: Option<f64>,
}

/// What a pass is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Along an edge: a lap, or a short pass where square ends would leave triangles.
    Edge,
    /// Along the middle of ground that is narrower than the swath.
    Middle,
    /// One of the parallel passes.
    Across,
    /// Any pass of the second direction.
    Second,
}

/// One pass, without stopping.
#[derive(Clone, Debug, PartialEq)]
pub struct Pass {
    /// Where the middle of the swath goes, in metres on the ground's plane; two corners at least.
    pub path: Vec<Coord<f64>>,
    /// What the pass is for.
    pub kind: Kind,
    /// Ground covered by it that no pass before it has (of its direction, if there are two).
    pub covers: Area,
    /// Which piece of the ground it lies on, from 0 in walking order.
    pub piece: usize,
}

/// A pass along an edge that covers less than this part of a square of half the swath is not walked.
const NEEDLESS: f64 = 1e-4;

/// Why ground is left.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// Narrower than a tenth of the swath.
    TooNarrow,
    /// Corners and wedges too small to walk for: see [`walk`].
    Remnant,
}

/// Ground that no pass covers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Left {
    /// How much of it there is on one piece for one reason.
    pub area: Area,
    /// Why it is left.
    pub why: Why,
    /// A corner of the largest part of it, in metres on the ground's plane.
    pub at: Coord<f64>,
    /// Left by the second direction, not by the first.
    pub second: bool,
}

/// The passes over some ground, in walking order.
#[derive(Clone, Debug, Default)]
pub struct Walk {
    /// In the order in which they are walked.
    pub passes: Vec<Pass>,
    /// What no pass covers.
    pub left: Vec<Left>,
    /// All the ground.
    pub ground: Area,
    pub(crate) courses: Vec<Course>,
    pub(crate) half: f64,
    directions: usize,
    overlap: f64,
}

/// The passes of one piece in one direction, as they lie in [`Walk::passes`].
#[derive(Clone, Debug)]
pub(crate) struct Course {
    pub(crate) turn: Turn,
    pub(crate) ground: MultiPolygon<f64>,
    pub(crate) passes: std::ops::Range<usize>,
}

/// Lays out how ground is walked.
///
/// * Ground: polygons in metres on a plane, as `turfplat_measure::net_outline` gives them; rings may
///   be wound either way, what overlaps counts once.
/// * The passes are spaced evenly over each piece, no wider than the swath, and clipped to the
///   ground. The direction is one of the outline's sides, of its convex hull's, or every 5° from the
///   longest: the one with the fewest passes, then with the least walking.
/// * Out: paths that stay in the ground to 1 mm. What is left is what is too narrow, and of each piece
///   about a thousandth, more only of many small wedges narrower than a twentieth of the swath.
/// * The same walk for the same ground, always.
///
/// # Errors
///
/// [`PassesError::NotFinite`], [`PassesError::NoSwath`], [`PassesError::NoDirection`] of what cannot
/// be meant; [`PassesError::TooManyPasses`] and [`PassesError::OutlineTooLong`] where the swath is far
/// too small for the ground; [`PassesError::Tangled`] of an outline that cannot be cut.
pub fn walk(ground: &MultiPolygon<f64>, manner: &Manner) -> Result<Walk, PassesError> {
    let swath = manner.swath.metres();
    if swath <= 0.0 {
        return Err(PassesError::NoSwath);
    }
    if manner.direction.is_some_and(|angle| !angle.is_finite()) {
        return Err(PassesError::NoDirection);
    }
    let pieces = pieces(ground)?;
    let mut walk = Walk {
        half: swath / 2.0,
        directions: if manner.crossed { 2 } else { 1 },
        ground: area(pieces.iter().map(Polygon::unsigned_area).sum()),
        ..Walk::default()
    };
    let mut plans: Vec<Vec<Layout>> = Vec::new();
    for piece in &pieces {
        if width_of(piece) < NARROWEST * swath {
            walk.leave_all(piece);
            continue;
        }
        let first = laid(piece, swath, manner.edge_first, manner.direction)?;
        let across = first.angle + std::f64::consts::FRAC_PI_2;
        let mut plan = vec![first];
        if manner.crossed {
            plan.push(laid(piece, swath, manner.edge_first, Some(across))?);
        }
        plans.push(plan);
    }
    let mut at: Option<Coord<f64>> = None;
    let mut number = 0;
    while let Some((index, reverse)) = nearest(&plans, at) {
        let mut plan = plans.remove(index);
        if reverse {
            plan[0].reverse();
        }
        for (second, mut layout) in plan.into_iter().enumerate() {
            if let (1, Some(at), Some([start, end])) = (second, at, layout.ends())
                && length(end - at) < length(start - at) - 1e-6
            {
                layout.reverse();
            }
            walk.add(layout, number, second == 1)?;
            at = walk.passes.last().and_then(|pass| pass.path.last().copied());
        }
        number += 1;
    }
    walk.adds_up().then_some(walk).ok_or(PassesError::Tangled)
}

/// The simple polygons that the rings enclose.
fn pieces(ground: &MultiPolygon<f64>) -> Result<Vec<Polygon<f64>>, PassesError> {
    for (polygon, rings) in ground.iter().enumerate() {
        let lines = std::iter::once(rings.exterior()).chain(rings.interiors());
        for (ring, LineString(corners)) in lines.enumerate() {
            // Beyond this a square of it is no number any more.
            let is_place = |at: &Coord<f64>| at.x.abs() < 1e12 && at.y.abs() < 1e12;
            if let Some(corner) = corners.iter().position(|at| !is_place(at)) {
                return Err(PassesError::NotFinite { polygon, ring, corner });
            }
        }
    }
    let wound = wound(&ground.orient(Direction::Default))?;
    Ok(wound.0.into_iter().filter(|piece| piece.unsigned_area() > 1e-9).collect())
}

fn area(square_metres: f64) -> Area {
    Area::from_square_metres(square_metres.max(0.0)).unwrap_or_default()
}

/// The piece that begins or ends nearest to where one stands; and whether it is walked backwards.
fn nearest(plans: &[Vec<Layout>], at: Option<Coord<f64>>) -> Option<(usize, bool)> {
    let mut best: Option<(f64, usize, bool)> = None;
    for (index, plan) in plans.iter().enumerate() {
        let ends = plan.first().and_then(Layout::ends);
        for (end, reverse) in ends.into_iter().flatten().zip([false, true]) {
            let far = at.map_or(0.0, |at| length(end - at));
            if best.is_none_or(|(least, ..)| far < least - 1e-6) {
                best = Some((far, index, reverse));
            }
        }
    }
    // What has no passes still has ground that is left.
    best.map(|(_, index, reverse)| (index, reverse)).or((!plans.is_empty()).then_some((0, false)))
}

impl Layout {
    fn ends(&self) -> Option<[Coord<f64>; 2]> {
        let back = Turn::by(self.angle);
        let (first, last) = (self.drafts.first()?, self.drafts.last()?);
        Some([back.place(first.ends()[0]), back.place(last.ends()[1])])
    }

    fn reverse(&mut self) {
        self.drafts.reverse();
        self.drafts.iter_mut().for_each(|draft| draft.path.reverse());
    }
}

impl Walk {
    fn add(&mut self, layout: Layout, piece: usize, second: bool) -> Result<(), PassesError> {
        let back = Turn::by(layout.angle);
        let first = self.passes.len();
        let mut tally = Tally::of(&layout.ground, self.half);
        for draft in &layout.drafts {
            let covered = tally.walk(&draft.path, draft.row.is_some())?;
            // One that others have made needless.
            if draft.row.is_none() && covered.fresh < NEEDLESS * self.half * self.half {
                continue;
            }
            self.overlap += covered.all - covered.fresh;
            self.passes.push(Pass {
                path: back.path(&draft.path),
                kind: if second { Kind::Second } else { draft.kind },
                covers: area(covered.fresh),
                piece,
            });
        }
        self.leave(&layout, back, second);
        let passes = first..self.passes.len();
        self.courses.push(Course { turn: back, ground: layout.ground, passes });
        Ok(())
    }

    /// Whether what is covered and what is left come to the ground. On a scribble of holes that reach
    /// out of their shells, once in some thousand, the overlay hands back polygons that do not, and
    /// nobody may load a tank by them.
    fn adds_up(&self) -> bool {
        let covered = self.passes.iter().map(|pass| pass.covers);
        let all: Area = covered.chain(self.left.iter().map(|left| left.area)).sum();
        let ground = self.ground.square_metres() * self.directions as f64;
        (all.square_metres() - ground).abs() < 1e-3 + 1e-4 * ground
    }

    fn leave_all(&mut self, piece: &Polygon<f64>) {
        let at = piece.exterior().0.first().copied().unwrap_or_default();
        for second in [false, true].into_iter().take(self.directions) {
            let area = area(piece.unsigned_area());
            self.left.push(Left { area, why: Why::TooNarrow, at, second });
        }
    }

    fn leave(&mut self, layout: &Layout, back: Turn, second: bool) {
        let Some(ground) = layout.ground.0.first() else { return };
        let edges = Edges::of(ground, 2.0 * self.half);
        for why in [Why::TooNarrow, Why::Remnant] {
            let is_narrow = |polygon: &Polygon<f64>| is_narrow(polygon, &edges, self.half);
            let parts =
                layout.left.iter().filter(|part| is_narrow(part) == (why == Why::TooNarrow));
            let (mut sum, mut largest) = (0.0, None);
            for part in parts {
                let size = part.unsigned_area();
                sum += size;
                if largest.is_none_or(|(most, _)| size > most) {
                    largest = part.exterior().0.first().map(|&at| (size, at));
                }
            }
            // Less is what the overlay's grid leaves.
            if let Some((_, at)) = largest.filter(|_| sum > 1e-6 * ground.unsigned_area()) {
                self.left.push(Left { area: area(sum), why, at: back.place(at), second });
            }
        }
    }

    /// How far one walks while treating.
    pub fn treated(&self) -> Length {
        metres(self.passes.iter().map(|pass| path_length(&pass.path)).sum())
    }

    /// How far one walks from the end of each pass to the next, in straight lines, a hole between or not.
    pub fn idle(&self) -> Length {
        let ends = self
            .passes
            .windows(2)
            .filter_map(|pair| Some(length(*pair[1].path.first()? - *pair[0].path.last()?)));
        metres(ends.sum())
    }

    /// How often one turns from a pass to the next.
    pub fn turns(&self) -> usize {
        self.passes.len().saturating_sub(1)
    }

    /// How long it takes at a speed, with `turning` for each turn beside what is walked idle; `None` if one stands still.
    pub fn time(&self, speed: Speed, turning: Time) -> Option<Time> {
        let walked = self.treated().metres() + self.idle().metres();
        if walked == 0.0 {
            return Some(Time::default());
        }
        let walking = walked / speed.metres_per_second();
        Time::from_seconds(walking + turning.seconds() * self.turns() as f64)
    }

    /// Ground that passes of one direction cover once more, as a share of all ground to be covered.
    pub fn overlap_share(&self) -> f64 {
        self.share(self.overlap)
    }

    /// Ground that no pass covers, as a share of all ground to be covered.
    pub fn uncovered_share(&self) -> f64 {
        self.share(self.left.iter().map(|left| left.area.square_metres()).sum())
    }

    fn share(&self, square_metres: f64) -> f64 {
        let ground = self.ground.square_metres() * self.directions as f64;
        if ground > 0.0 { (square_metres / ground).max(0.0) } else { 0.0 }
    }

    /// What of a load a square metre of a pass takes: half, where all is walked in two directions.
    pub(crate) fn strength(&self) -> f64 {
        if self.directions == 2 { 0.5 } else { 1.0 }
    }
}

pub(crate) fn metres(value: f64) -> Length {
    Length::from_metres(value).unwrap_or_default()
}

/// Does what is left lie where the ground itself is too narrow?
fn is_narrow(part: &Polygon<f64>, edges: &Edges, half: f64) -> bool {
    let mut widest = None;
    for line in part.exterior().lines() {
        let middle = (line.start + line.end) / 2.0;
        let hair = Coord { x: 1e-5, y: 1e-5 };
        edges.near(middle - hair, middle + hair, |edge| {
            let on = crate::plane::distance_to(middle, edge.a, edge.b) < 1e-5;
            if let (true, Some(along)) = (on, unit(edge.b - edge.a)) {
                let radius = edges.inscribed(middle, left(along), half);
                widest = Some(widest.map_or(radius, |most: f64| most.max(radius)));
            }
        });
    }
    widest.is_some_and(|radius| radius < NARROWEST * half)
}
