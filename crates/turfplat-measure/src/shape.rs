//! What was drawn, laid on the plane and repaired.

use geo::{Coord, Geometry, Line, LineString, MapCoords, Point, Polygon};
use turfplat_units::Length;

use crate::growth::is_closed;
use crate::plane::Plane;
use crate::repair::{self, Repair};
use crate::tangle::{Tangled, hold_untangled};

/// A feature as it was drawn, coordinates in the frame of its map.
#[derive(Clone, Copy, Debug)]
pub struct Drawn<'a> {
    /// Points; each stands for a disc of `radius`.
    pub points: &'a [Coord<f64>],
    /// Lines; each stands for a strip of `width`, flat at the ends, round at the joins.
    pub lines: &'a [LineString<f64>],
    /// Polygons, rings as drawn.
    pub polygons: &'a [Polygon<f64>],
    /// Full width of the strip of a line; nothing for a bare line.
    pub width: Length,
    /// Radius of the disc of a point; nothing for a bare point.
    pub radius: Length,
    /// How well it was drawn: the standard deviation of its corners, east and north each.
    pub error: Length,
}

/// A feature laid on the plane of a property, in metres, repaired: what `geo` and the sweep may trust.
#[derive(Clone, Debug, Default)]
pub struct Shape {
    pub(crate) parts: Vec<Part>,
    /// The box round all parts; asked for every pair of shapes, so kept.
    around: Option<Bounds>,
    /// As of [`Drawn::error`].
    pub(crate) error: Length,
}

/// Far more than rounding of coordinates, in metres.
const APART: f64 = 1e-6;

/// One piece of a shape; the shape is their union.
#[derive(Clone, Debug)]
pub(crate) enum Part {
    /// Simple rings: the shell runs counter-clockwise, holes clockwise inside it.
    Polygon(Polygon<f64>),
    /// A spine of two distinct points or more, and half its width (0 of a bare line).
    Strip { spine: Vec<Coord<f64>>, half_width: f64 },
    /// A disc, or a bare point of radius 0.
    Disc { centre: Coord<f64>, radius: f64 },
}

impl Part {
    /// The strip along a line; a disc where the line is a point; `None` where there is no line.
    pub(crate) fn along(mut spine: Vec<Coord<f64>>, half_width: f64) -> Option<Part> {
        spine.dedup();
        match spine[..] {
            [] => None,
            [centre] => Some(Part::Disc { centre, radius: half_width }),
            _ => Some(Part::Strip { spine, half_width }),
        }
    }
}

/// A box on the plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Bounds {
    pub(crate) min: Coord<f64>,
    pub(crate) max: Coord<f64>,
}

impl Bounds {
    pub(crate) fn grown(&self, by: f64) -> Bounds {
        let by = Coord { x: by, y: by };
        Bounds { min: self.min - by, max: self.max + by }
    }

    /// The box round two places.
    pub(crate) fn round(a: Coord<f64>, b: Coord<f64>) -> Bounds {
        Bounds {
            min: Coord { x: a.x.min(b.x), y: a.y.min(b.y) },
            max: Coord { x: a.x.max(b.x), y: a.y.max(b.y) },
        }
    }

    /// The box round two boxes.
    pub(crate) fn with(self, other: Bounds) -> Bounds {
        Bounds {
            min: Bounds::round(self.min, other.min).min,
            max: Bounds::round(self.max, other.max).max,
        }
    }

    pub(crate) fn touches(&self, other: &Bounds) -> bool {
        self.min.x <= other.max.x
            && other.min.x <= self.max.x
            && self.min.y <= other.max.y
            && other.min.y <= self.max.y
    }
}

impl Shape {
    /// Lays a feature onto `plane` and repairs it; what was repaired is listed.
    ///
    /// * Rings: an outline covers what it winds round (non-zero rule), so a pen that crosses
    ///   itself loses nothing; holes are then taken out, whatever way they run.
    ///
    /// # Errors
    ///
    /// [`Tangled`] where it crosses itself more often than anything that was drawn.
    pub fn lay(drawn: &Drawn<'_>, plane: &Plane) -> Result<(Shape, Vec<Repair>), Tangled> {
        let mut repairs = Vec::new();
        let Drawn { points, lines, polygons, .. } = drawn;
        let mut parts = Vec::with_capacity(points.len() + lines.len() + polygons.len());
        let radius = drawn.radius.metres();
        parts.extend(
            drawn.points.iter().map(|&point| Part::Disc { centre: plane.lay(point), radius }),
        );
        let half_width = drawn.width.metres() / 2.0;
        let flat = |line: &LineString<f64>| LineString(plane.lay_all(&line.0));
        let lines: Vec<LineString<f64>> = lines.iter().map(flat).collect();
        hold_untangled(&lines)?;
        parts.extend(lines.into_iter().filter_map(|line| Part::along(line.0, half_width)));
        let mut outlines = Vec::with_capacity(polygons.len());
        for polygon in drawn.polygons {
            let holes = polygon.interiors().iter().map(flat).collect();
            let flat = Polygon::new(flat(polygon.exterior()), holes);
            outlines.extend(repair::clean(flat, &mut repairs)?);
        }
        repair::note_overlapping_parts(&outlines, &mut repairs)?;
        parts.extend(outlines);
        Ok((Shape { error: drawn.error, ..Shape::of(parts) }, repairs))
    }

    /// All of `shapes` as one, drawn as well as the worst of them; `None` of none.
    pub fn together<'a>(shapes: impl IntoIterator<Item = &'a Shape>) -> Option<Shape> {
        let mut parts: Vec<Part> = Vec::new();
        let mut error = Length::ZERO;
        for shape in shapes {
            parts.extend(shape.parts.iter().cloned());
            if shape.error > error {
                error = shape.error;
            }
        }
        (!parts.is_empty()).then(|| Shape { error, ..Shape::of(parts) })
    }

    /// True if there is nothing, not even a point.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// The bare points and centres of discs, in metres on the plane: where a symbol belongs.
    /// Of an outline, one place inside it.
    pub fn points(&self) -> Vec<Coord<f64>> {
        use geo::InteriorPoint;
        let place = |part: &Part| match part {
            Part::Disc { centre, .. } => Some(*centre),
            Part::Polygon(polygon) => polygon.interior_point().map(Coord::from),
            Part::Strip { spine, .. } => spine.get(spine.len() / 2).copied(),
        };
        self.parts.iter().filter_map(place).collect()
    }

    /// The rings of its polygons in metres on the plane, each closed: outlines run counter-clockwise,
    /// holes clockwise. `None` where a part of it is a strip or a disc, which has no corners.
    pub fn rings(&self) -> Option<Vec<Vec<Coord<f64>>>> {
        let mut rings = Vec::new();
        for part in &self.parts {
            let Part::Polygon(polygon) = part else { return None };
            rings.push(polygon.exterior().0.clone());
            rings.extend(polygon.interiors().iter().map(|hole| hole.0.clone()));
        }
        Some(rings)
    }

    /// True if the boxes of the two meet: if not, neither takes ground from the other.
    pub fn is_near(&self, other: &Shape) -> bool {
        self.bounds(0.0).zip(other.bounds(0.0)).is_some_and(|(ours, theirs)| ours.touches(&theirs))
    }

    fn of(parts: Vec<Part>) -> Shape {
        let around = bounds(&parts);
        Shape { parts, around, error: Length::ZERO }
    }

    /// The same drawing with other parts.
    pub(crate) fn with_parts(&self, parts: Vec<Part>) -> Shape {
        Shape { error: self.error, ..Shape::of(parts) }
    }

    /// The shape turned counter-clockwise about the origin, by radians.
    pub(crate) fn turned(&self, turn: f64) -> Shape {
        let (sin, cos) = turn.sin_cos();
        let turned = |place: Coord<f64>| Coord {
            x: place.x * cos - place.y * sin,
            y: place.x * sin + place.y * cos,
        };
        let parts = self.parts.iter().map(|part| match part {
            Part::Polygon(polygon) => Part::Polygon(polygon.map_coords(turned)),
            Part::Strip { spine, half_width } => {
                let spine = spine.iter().map(|&place| turned(place)).collect();
                Part::Strip { spine, half_width: *half_width }
            }
            Part::Disc { centre, radius } => {
                Part::Disc { centre: turned(*centre), radius: *radius }
            }
        });
        self.with_parts(parts.collect())
    }

    /// True if a straight line across the way from one to the other keeps the two farther apart than
    /// `by` metres. If not, they may be so all the same.
    pub(crate) fn is_apart_from(&self, other: &Shape, by: f64) -> bool {
        let (Some(ours), Some(theirs)) = (self.around, other.around) else { return true };
        let way = (theirs.min + theirs.max) / 2.0 - (ours.min + ours.max) / 2.0;
        let length = (way.x * way.x + way.y * way.y).sqrt();
        let way = way / length;
        // Where the boxes share their middle there is no way, and nothing compares as apart.
        length > 0.0 && self.farthest_along(way) + by + APART < -other.farthest_along(-way)
    }

    /// True if it has an area that lies within a distance in metres of a place, and not only just.
    pub(crate) fn is_within(&self, place: Coord<f64>, distance: f64) -> bool {
        let limit = distance * distance * (1.0 - 1e-12);
        let is_near = |corner: &Coord<f64>| {
            let way = *corner - place;
            way.x * way.x + way.y * way.y < limit
        };
        !self.parts.is_empty()
            && self.parts.iter().all(|part| match part {
                Part::Polygon(polygon) => polygon.exterior().0.iter().all(is_near),
                Part::Strip { .. } | Part::Disc { .. } => false,
            })
    }

    /// How far the shape reaches in a direction, from the origin, in metres.
    fn farthest_along(&self, way: Coord<f64>) -> f64 {
        let along = |place: &Coord<f64>| place.x * way.x + place.y * way.y;
        let farthest = |places: &[Coord<f64>]| {
            places.iter().map(along).fold(f64::NEG_INFINITY, |a, b| if b > a { b } else { a })
        };
        let of_part = |part: &Part| match part {
            Part::Polygon(polygon) => farthest(&polygon.exterior().0),
            Part::Strip { spine, half_width } => {
                farthest(spine) + half_width * std::f64::consts::SQRT_2
            }
            Part::Disc { centre, radius } => along(centre) + radius,
        };
        self.parts.iter().map(of_part).fold(f64::NEG_INFINITY, f64::max)
    }

    /// The box round the shape grown by `by` metres.
    pub(crate) fn bounds(&self, by: f64) -> Option<Bounds> {
        self.around.map(|around| around.grown(by))
    }

    /// True if a corner of another lies in one of its polygons, holes not counted: a quick look before
    /// a distance is worked out.
    pub fn holds_a_corner_of(&self, other: &Shape) -> bool {
        let is_in = |place: &Coord<f64>| {
            self.parts.iter().any(|part| match part {
                Part::Polygon(polygon) => is_inside(&polygon.exterior().0, *place),
                Part::Strip { .. } | Part::Disc { .. } => false,
            })
        };
        self.is_near(other)
            && other.parts.iter().any(|part| match part {
                Part::Polygon(polygon) => polygon.exterior().0.iter().any(is_in),
                Part::Strip { spine, .. } => spine.iter().any(is_in),
                Part::Disc { centre, .. } => is_in(centre),
            })
    }

    /// The distance in metres between the nearest points of two shapes where it is no larger than
    /// `limit`; `None` where it is, which for most needs but a look at their boxes.
    pub fn distance_within(&self, limit: Length, other: &Shape) -> Option<f64> {
        let (ours, theirs) = (self.bounds(limit.metres())?, other.bounds(0.0)?);
        let may_be_near = ours.touches(&theirs) && !self.is_apart_from(other, limit.metres());
        let near = may_be_near.then(|| self.distance_to(other))?;
        near.filter(|metres| *metres <= limit.metres())
    }

    /// The distance in metres between the nearest points of two shapes, 0 where they meet;
    /// `None` if either is empty.
    pub fn distance_to(&self, other: &Shape) -> Option<f64> {
        use geo::{Distance, Euclidean};
        let ours: Vec<_> = self.parts.iter().flat_map(solids).collect();
        let theirs: Vec<_> = other.parts.iter().flat_map(solids).collect();
        ours.iter()
            .flat_map(|(a, a_by)| {
                theirs
                    .iter()
                    .map(move |(b, b_by)| (Euclidean.distance(a, b) - a_by - b_by).max(0.0))
            })
            .min_by(f64::total_cmp)
    }
}

/// True of a place round which a ring runs, but for places on the ring itself, of which either is said.
fn is_inside(ring: &[Coord<f64>], place: Coord<f64>) -> bool {
    let crosses = |side: &[Coord<f64>]| {
        let (a, b) = (side[0], side[1]);
        (a.y > place.y) != (b.y > place.y)
            && place.x < a.x + (place.y - a.y) / (b.y - a.y) * (b.x - a.x)
    };
    ring.windows(2).filter(|side| crosses(side)).count() % 2 == 1
}

fn bounds(parts: &[Part]) -> Option<Bounds> {
    let mut bounds: Option<Bounds> = None;
    let mut include = |place: Coord<f64>, by: f64| {
        let around = bounds.get_or_insert(Bounds { min: place, max: place });
        around.min = Coord { x: around.min.x.min(place.x - by), y: around.min.y.min(place.y - by) };
        around.max = Coord { x: around.max.x.max(place.x + by), y: around.max.y.max(place.y + by) };
    };
    for part in parts {
        match part {
            Part::Polygon(polygon) => {
                polygon.exterior().0.iter().for_each(|&place| include(place, 0.0))
            }
            // A flat end reaches no farther than a round one would, times √2 at its corners.
            Part::Strip { spine, half_width } => {
                spine
                    .iter()
                    .for_each(|&place| include(place, half_width * std::f64::consts::SQRT_2));
            }
            Part::Disc { centre, radius } => include(*centre, *radius),
        }
    }
    bounds
}

/// What a part consists of, as shapes that `geo` knows the distance of, each with a margin all round.
fn solids(part: &Part) -> Vec<(Geometry<f64>, f64)> {
    match part {
        Part::Polygon(polygon) => vec![(Geometry::Polygon(polygon.clone()), 0.0)],
        Part::Disc { centre, radius } => vec![(Geometry::Point(Point(*centre)), *radius)],
        Part::Strip { spine, half_width } => {
            // The first corner of a closed line is a join like the others.
            let joins = if is_closed(spine) { &spine[1..] } else { &spine[1..spine.len() - 1] };
            let rounds = joins.iter().map(|&join| (Geometry::Point(Point(join)), *half_width));
            let pieces = spine.windows(2).map(|ends| {
                let (start, end) = (ends[0], ends[1]);
                let along = end - start;
                let across =
                    Coord { x: along.y, y: -along.x } * (half_width / along.x.hypot(along.y));
                let corners = vec![start + across, end + across, end - across, start - across];
                match half_width {
                    0.0 => (Geometry::Line(Line::new(start, end)), 0.0),
                    _ => (Geometry::Polygon(Polygon::new(LineString(corners), vec![])), 0.0),
                }
            });
            pieces.chain(rounds).collect()
        }
    }
}
