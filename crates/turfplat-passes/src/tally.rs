//! What each pass covers, and what of it no earlier pass has.

use geo::{Area, BoundingRect, Coord, MultiPolygon, Polygon, Rect};

use crate::cut::{cut_to_box, cut_to_stretch};
use crate::error::PassesError;
use crate::overlay::{common, less};
use crate::stroke::stroke;

/// The strokes of a piece in walking order, found by the bands of a swath's width that they touch.
pub(crate) struct Tally<'g> {
    ground: &'g MultiPolygon<f64>,
    half: f64,
    low: f64,
    bands: Vec<Vec<usize>>,
    /// What the strokes are put together from, the box of each, and whether it is that of a row.
    rings: Vec<(Polygon<f64>, Rect<f64>, bool)>,
}

/// In square metres.
pub(crate) struct Covered {
    pub(crate) all: f64,
    pub(crate) fresh: f64,
}

impl<'g> Tally<'g> {
    pub(crate) fn of(ground: &'g MultiPolygon<f64>, half: f64) -> Tally<'g> {
        let low = ground.bounding_rect().map_or(0.0, |rect| rect.min().y);
        Tally { ground, half, low, bands: Vec::new(), rings: Vec::new() }
    }

    fn bands(&self, rect: &Rect<f64>) -> std::ops::RangeInclusive<usize> {
        let band = |y: f64| ((y - self.low) / (2.0 * self.half)).max(0.0) as usize;
        band(rect.min().y)..=band(rect.max().y)
    }

    /// The ground that a path covers, as rings wound alike.
    fn under(&self, path: &[Coord<f64>]) -> Result<MultiPolygon<f64>, PassesError> {
        if let [from, to] = path {
            return Ok(cut_to_stretch(self.ground, *from, *to, self.half));
        }
        let stroke = stroke(path, self.half);
        let Some(rect) = stroke.bounding_rect() else { return Ok(stroke) };
        common(&cut_to_box(self.ground, rect.min(), rect.max()), &stroke)
    }

    /// What of the ground under a path no stroke before it has covered.
    pub(crate) fn fresh(
        &self,
        path: &[Coord<f64>],
    ) -> Result<(f64, MultiPolygon<f64>), PassesError> {
        let under = self.under(path)?;
        let all = under.iter().map(Area::unsigned_area).sum();
        let Some(rect) = under.bounding_rect() else { return Ok((0.0, under)) };
        let near = self.near(&rect);
        if near.is_empty() {
            return Ok((all, under));
        }
        let before = near.iter().map(|&index| self.rings[index].0.clone()).collect();
        // Long strokes cut to where they matter: an overlay looks at every side that it is given.
        let before = cut_to_box(&MultiPolygon(before), rect.min(), rect.max());
        Ok((all, less(&under, &before)?))
    }

    /// Walks a path and says what it covers.
    pub(crate) fn walk(
        &mut self,
        path: &[Coord<f64>],
        is_row: bool,
    ) -> Result<Covered, PassesError> {
        let covered = match self.beside_rows(path).filter(|_| is_row) {
            Some(covered) => covered,
            None => {
                let (all, fresh) = self.fresh(path)?;
                Covered { all, fresh: fresh.iter().map(Area::unsigned_area).sum() }
            }
        };
        self.add(path, is_row);
        Ok(covered)
    }

    /// The same for a row that lies beside rows only, without an overlay: those of the row before do
    /// not reach those of the row after, so each takes a box of its own.
    fn beside_rows(&self, path: &[Coord<f64>]) -> Option<Covered> {
        let [from, to] = path else { return None };
        let row = Rect::new(
            Coord { x: from.x, y: from.y - self.half },
            Coord { x: to.x, y: to.y + self.half },
        );
        let near = self.near(&row);
        if near.iter().any(|&index| !self.rings[index].2) {
            return None;
        }
        let area = |ground: &MultiPolygon<f64>| ground.iter().map(Area::unsigned_area).sum::<f64>();
        let under = cut_to_box(self.ground, row.min(), row.max());
        let all = area(&under);
        let shared: f64 = near
            .iter()
            .map(|&index| {
                let other = self.rings[index].1;
                let low =
                    Coord { x: row.min().x.max(other.min().x), y: row.min().y.max(other.min().y) };
                let high =
                    Coord { x: row.max().x.min(other.max().x), y: row.max().y.min(other.max().y) };
                area(&cut_to_box(&under, low, high))
            })
            .sum();
        Some(Covered { all, fresh: (all - shared).max(0.0) })
    }

    /// The rings that reach into the box, in walking order.
    fn near(&self, rect: &Rect<f64>) -> Vec<usize> {
        let hair = 1e-7 * self.half;
        let mut near: Vec<usize> = Vec::new();
        for band in self.bands(rect) {
            near.extend(self.bands.get(band).into_iter().flatten().filter(|&&index| {
                let other = self.rings[index].1;
                other.min().x < rect.max().x - hair
                    && other.max().x > rect.min().x + hair
                    && other.min().y < rect.max().y - hair
                    && other.max().y > rect.min().y + hair
            }));
        }
        near.sort_unstable();
        near.dedup();
        near
    }

    pub(crate) fn add(&mut self, path: &[Coord<f64>], is_row: bool) {
        for ring in stroke(path, self.half) {
            let Some(rect) = ring.bounding_rect() else { continue };
            for band in self.bands(&rect) {
                if self.bands.len() <= band {
                    self.bands.resize(band + 1, Vec::new());
                }
                self.bands[band].push(self.rings.len());
            }
            self.rings.push((ring, rect, is_row));
        }
    }
}

/// The part of `fresh` that the path covers up to `along` metres; both of one pass.
pub(crate) fn covered_until(
    fresh: &MultiPolygon<f64>,
    path: &[Coord<f64>],
    half: f64,
) -> Result<f64, PassesError> {
    Ok(match path {
        [from, to] => cut_to_stretch(fresh, *from, *to, half).iter().map(Area::unsigned_area).sum(),
        _ => common(fresh, &stroke(path, half))?.unsigned_area(),
    })
}
