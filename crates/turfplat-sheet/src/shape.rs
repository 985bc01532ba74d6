//! Shapes as they lie on the page. What cannot be drawn (a ring of two corners, a
//! coordinate that is not a number) is left out here, so that nothing later need ask.

use geo::{Coord, LineString, MultiPolygon, Simplify};

use crate::canvas::push_point;

/// Coordinates beyond this many metres are taken for errors: no property is a million kilometres away.
const FARTHEST: f64 = 1e9;

/// An upright box; y grows downwards on the page, upwards on the plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Bounds {
    pub(crate) x0: f64,
    pub(crate) y0: f64,
    pub(crate) x1: f64,
    pub(crate) y1: f64,
}

impl Bounds {
    pub(crate) fn new(x: f64, y: f64, width: f64, height: f64) -> Bounds {
        Bounds { x0: x, y0: y, x1: x + width, y1: y + height }
    }

    pub(crate) fn around(centre: Coord, width: f64, height: f64) -> Bounds {
        Bounds::new(centre.x - width / 2.0, centre.y - height / 2.0, width, height)
    }

    /// The smallest box around `points`, or `None` if there are none.
    pub(crate) fn of(points: impl IntoIterator<Item = Coord>) -> Option<Bounds> {
        points.into_iter().map(|p| Bounds::new(p.x, p.y, 0.0, 0.0)).reduce(Bounds::union)
    }

    pub(crate) fn width(self) -> f64 {
        self.x1 - self.x0
    }

    pub(crate) fn height(self) -> f64 {
        self.y1 - self.y0
    }

    pub(crate) fn centre(self) -> Coord {
        Coord { x: f64::midpoint(self.x0, self.x1), y: f64::midpoint(self.y0, self.y1) }
    }

    pub(crate) fn union(self, other: Bounds) -> Bounds {
        Bounds {
            x0: self.x0.min(other.x0),
            y0: self.y0.min(other.y0),
            x1: self.x1.max(other.x1),
            y1: self.y1.max(other.y1),
        }
    }

    /// What both cover; may be turned inside out where they are apart.
    pub(crate) fn common(self, other: Bounds) -> Bounds {
        Bounds {
            x0: self.x0.max(other.x0),
            y0: self.y0.max(other.y0),
            x1: self.x1.min(other.x1),
            y1: self.y1.min(other.y1),
        }
    }

    pub(crate) fn grown(self, by: f64) -> Bounds {
        Bounds { x0: self.x0 - by, y0: self.y0 - by, x1: self.x1 + by, y1: self.y1 + by }
    }

    pub(crate) fn overlaps(self, other: Bounds) -> bool {
        self.x0 < other.x1 && other.x0 < self.x1 && self.y0 < other.y1 && other.y0 < self.y1
    }

    pub(crate) fn holds(self, other: Bounds) -> bool {
        self.x0 <= other.x0 && self.y0 <= other.y0 && self.x1 >= other.x1 && self.y1 >= other.y1
    }

    pub(crate) fn contains(self, p: Coord) -> bool {
        p.x >= self.x0 && p.x <= self.x1 && p.y >= self.y0 && p.y <= self.y1
    }

    pub(crate) fn nearest(self, p: Coord) -> Coord {
        Coord { x: p.x.clamp(self.x0, self.x1), y: p.y.clamp(self.y0, self.y1) }
    }

    /// Whether any of the line lies within.
    pub(crate) fn is_crossed_by(self, a: Coord, b: Coord) -> bool {
        self.crossing(a, b).is_some()
    }

    /// The shares of the line at which it enters and leaves (Liang and Barsky 1984); `None` of one
    /// that stays outside.
    fn crossing(self, a: Coord, b: Coord) -> Option<(f64, f64)> {
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
        for (p, q) in
            [(-dx, a.x - self.x0), (dx, self.x1 - a.x), (-dy, a.y - self.y0), (dy, self.y1 - a.y)]
        {
            if p == 0.0 {
                if q <= 0.0 {
                    return None;
                }
            } else if p < 0.0 {
                enter = enter.max(q / p);
            } else {
                leave = leave.min(q / p);
            }
        }
        (enter < leave).then_some((enter, leave))
    }

    /// What of a line through `corners` lies within, piece by piece.
    pub(crate) fn pieces_of(self, corners: &[Coord]) -> Vec<Vec<Coord>> {
        let mut pieces: Vec<Vec<Coord>> = Vec::new();
        let mut goes_on = false;
        for (&a, &b) in corners.iter().zip(corners.iter().skip(1)) {
            let Some((enter, leave)) = self.crossing(a, b) else {
                goes_on = false;
                continue;
            };
            let end = if leave < 1.0 { a + (b - a) * leave } else { b };
            match pieces.last_mut().filter(|_| goes_on && enter <= 0.0) {
                Some(piece) => piece.push(end),
                None => {
                    let start = if enter > 0.0 { a + (b - a) * enter } else { a };
                    pieces.push(vec![start, end]);
                }
            }
            goes_on = leave >= 1.0;
        }
        pieces
    }
}

/// Rings on the page, filled by the even-odd rule; each is closed without repeating its first corner.
#[derive(Clone, Debug)]
pub(crate) struct Shape {
    pub(crate) rings: Vec<Vec<Coord>>,
    pub(crate) bounds: Bounds,
}

impl Shape {
    /// `None` if nothing of it can be drawn. Corners closer to their chord than `tolerance` are dropped.
    pub(crate) fn new(
        outline: &MultiPolygon<f64>,
        to_page: impl Fn(Coord) -> Coord,
        tolerance: f64,
    ) -> Option<Shape> {
        let rings: Vec<Vec<Coord>> = outline
            .iter()
            .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
            .filter_map(|ring| {
                let on_page: LineString =
                    ring.coords().copied().filter(is_usable).map(&to_page).collect();
                let mut corners = on_page.simplify(tolerance).0;
                while corners.len() > 1 && corners.first() == corners.last() {
                    corners.pop();
                }
                (corners.len() > 2).then_some(corners)
            })
            .collect();
        Self::from_rings(rings)
    }

    pub(crate) fn from_rings(rings: Vec<Vec<Coord>>) -> Option<Shape> {
        let bounds = Bounds::of(rings.iter().flatten().copied())?;
        Some(Shape { rings, bounds })
    }

    /// What lies in the box (Sutherland and Hodgman 1974). Where a ring leaves and comes back,
    /// an edge runs along the side of the box; nothing is filled by it.
    pub(crate) fn cut(self, b: Bounds) -> Option<Shape> {
        if b.holds(self.bounds) {
            return Some(self);
        }
        // How far within each side a corner lies.
        let sides: [&dyn Fn(Coord) -> f64; 4] =
            [&|c| c.x - b.x0, &|c| b.x1 - c.x, &|c| c.y - b.y0, &|c| b.y1 - c.y];
        let rings = self.rings.into_iter().map(|ring| {
            sides.iter().fold(ring, |ring, within| {
                let mut kept = Vec::with_capacity(ring.len());
                for (&from, &to) in ring.iter().zip(ring.iter().cycle().skip(1)) {
                    let (a, z) = (within(from), within(to));
                    if a >= 0.0 {
                        kept.push(from);
                    }
                    if (a >= 0.0) != (z >= 0.0) {
                        kept.push(from + (to - from) * (a / (a - z)));
                    }
                }
                kept
            })
        });
        Self::from_rings(rings.filter(|ring| ring.len() > 2).collect())
    }

    /// Its separate pieces, each with its holes, in the order of their outer rings.
    pub(crate) fn pieces(&self) -> Vec<Shape> {
        if self.rings.len() < 2 {
            return vec![self.clone()];
        }
        let alone: Vec<Shape> =
            self.rings.iter().filter_map(|ring| Self::from_rings(vec![ring.clone()])).collect();
        // The rings round a ring, by a corner of it; an even number are round an outer one.
        let around = |index: usize| -> Vec<usize> {
            let Some(&corner) = alone[index].rings[0].first() else { return Vec::new() };
            let holds = |other: &usize| *other != index && alone[*other].contains(corner);
            (0..alone.len()).filter(holds).collect()
        };
        let around: Vec<Vec<usize>> = (0..alone.len()).map(around).collect();
        let is_outer = |index: &usize| around[*index].len().is_multiple_of(2);
        let piece = |outer: usize| {
            let is_its = |hole: &usize| {
                around[*hole].contains(&outer) && around[*hole].len() == around[outer].len() + 1
            };
            let holes = (0..alone.len()).filter(is_its);
            let rings = std::iter::once(outer).chain(holes);
            Self::from_rings(rings.map(|index| alone[index].rings[0].clone()).collect())
        };
        (0..alone.len()).filter(is_outer).filter_map(piece).collect()
    }

    /// Its area: the first ring's, less the others'.
    pub(crate) fn area(&self) -> f64 {
        let twice = |ring: &Vec<Coord>| -> f64 {
            let next = ring.iter().cycle().skip(1);
            ring.iter().zip(next).map(|(a, b)| a.x * b.y - b.x * a.y).sum::<f64>().abs()
        };
        let areas: Vec<f64> = self.rings.iter().map(twice).collect();
        areas
            .split_first()
            .map_or(0.0, |(outer, holes)| ((outer - holes.iter().sum::<f64>()) / 2.0).max(0.0))
    }

    /// How wide a piece is on the average: of a long strip its width, of a square half its side.
    pub(crate) fn breadth(&self) -> f64 {
        let around: f64 = self.edges().map(|(a, b)| (b.x - a.x).hypot(b.y - a.y)).sum();
        if around > 0.0 { 2.0 * self.area() / around } else { 0.0 }
    }

    pub(crate) fn rectangle(b: Bounds) -> Shape {
        let corners = [(b.x0, b.y0), (b.x1, b.y0), (b.x1, b.y1), (b.x0, b.y1)];
        Shape { rings: vec![corners.map(Coord::from).to_vec()], bounds: b }
    }

    pub(crate) fn edges(&self) -> impl Iterator<Item = (Coord, Coord)> {
        self.rings
            .iter()
            .flat_map(|ring| ring.iter().copied().zip(ring.iter().copied().cycle().skip(1)))
    }

    pub(crate) fn contains(&self, p: Coord) -> bool {
        self.bounds.contains(p)
            && self
                .edges()
                .filter(|(a, b)| {
                    (a.y > p.y) != (b.y > p.y)
                        && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x
                })
                .count()
                % 2
                == 1
    }

    /// Whether an edge passes within `reach` of the point.
    pub(crate) fn is_near(&self, p: Coord, reach: f64) -> bool {
        let near = |(a, b): (Coord, Coord)| {
            let (d, to) = (b - a, p - a);
            let along = (d.x * to.x + d.y * to.y) / (d.x * d.x + d.y * d.y).max(1e-12);
            let off = to - d * along.clamp(0.0, 1.0);
            off.x.hypot(off.y) < reach
        };
        self.bounds.grown(reach).contains(p) && self.edges().any(near)
    }

    /// Whether any of the shape lies in the box.
    pub(crate) fn touches(&self, b: Bounds) -> bool {
        self.bounds.overlaps(b)
            && (self.edges().any(|(p, q)| b.is_crossed_by(p, q)) || self.contains(b.centre()))
    }

    /// Whether the whole box lies on the shape.
    pub(crate) fn covers(&self, b: Bounds) -> bool {
        self.contains(b.centre()) && !self.edges().any(|(p, q)| b.is_crossed_by(p, q))
    }

    pub(crate) fn path(&self) -> String {
        let mut d = String::new();
        for ring in &self.rings {
            for (index, &corner) in ring.iter().enumerate() {
                push_point(&mut d, if index == 0 { 'M' } else { 'L' }, corner);
            }
            d.push('Z');
        }
        d
    }
}

/// Whether a coordinate can be drawn at all.
pub(crate) fn is_usable(c: &Coord) -> bool {
    c.x.abs() < FARTHEST && c.y.abs() < FARTHEST
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_beyond_the_box_is_cut_off() {
        let page = Bounds::new(0.0, 0.0, 100.0, 100.0);
        let square = |x, y, side| Shape::rectangle(Bounds::new(x, y, side, side));
        let corner = square(-50.0, -50.0, 100.0).cut(page).unwrap();
        assert_eq!(corner.bounds, Bounds::new(0.0, 0.0, 50.0, 50.0));
        assert_eq!(square(-1e9, -1e9, 2e9).cut(page).unwrap().bounds, page);
        assert_eq!(square(10.0, 10.0, 5.0).cut(page).unwrap().rings, square(10.0, 10.0, 5.0).rings);
        assert!(square(200.0, 0.0, 50.0).cut(page).is_none());
    }

    #[test]
    fn pieces_keep_their_holes_and_islands_are_pieces() {
        let square = |x, y, side| Shape::rectangle(Bounds::new(x, y, side, side)).rings;
        let rings = [
            square(0.0, 0.0, 9.0),
            square(2.0, 2.0, 5.0),
            square(4.0, 4.0, 1.0),
            square(20.0, 0.0, 2.0),
        ];
        let pieces = Shape::from_rings(rings.concat()).unwrap().pieces();
        let areas: Vec<f64> = pieces.iter().map(Shape::area).collect();
        assert_eq!(areas, [81.0 - 25.0, 1.0, 4.0]);
        // A strip of 100 by 0.2, worked by hand: 2 × 20 / 200.4.
        let strip = Shape::rectangle(Bounds::new(0.0, 0.0, 100.0, 0.2));
        assert!((strip.breadth() - 0.2).abs() < 0.001);
    }

    #[test]
    fn a_line_is_cut_where_it_leaves_the_box_and_goes_on_where_it_comes_back() {
        let b = Bounds::new(0.0, 0.0, 10.0, 10.0);
        let line = |corners: &[(f64, f64)]| -> Vec<Coord> {
            corners.iter().copied().map(Coord::from).collect()
        };
        let way = line(&[(5.0, 5.0), (5.0, 8.0), (15.0, 8.0), (15.0, 2.0), (-5.0, 2.0)]);
        let within =
            [line(&[(5.0, 5.0), (5.0, 8.0), (10.0, 8.0)]), line(&[(10.0, 2.0), (0.0, 2.0)])];
        assert_eq!(b.pieces_of(&way), within);
        assert_eq!(b.pieces_of(&way[..2]), [way[..2].to_vec()]);
        assert!(b.pieces_of(&line(&[(11.0, 0.0), (11.0, 9.0)])).is_empty());
    }

    #[test]
    fn a_line_that_only_passes_by_does_not_cross() {
        let b = Bounds::new(0.0, 0.0, 10.0, 10.0);
        let cross =
            |x0, y0, x1, y1| b.is_crossed_by(Coord { x: x0, y: y0 }, Coord { x: x1, y: y1 });
        assert!(cross(-5.0, 5.0, 15.0, 5.0));
        assert!(cross(4.0, 4.0, 5.0, 5.0));
        assert!(!cross(-5.0, 8.0, 8.0, 25.0));
        assert!(!cross(0.0, -5.0, 0.0, 15.0), "along an edge");
    }
}
