//! Why hatching is cut to shape here and not left to an SVG pattern: measured, patterns
//! draw three times slower and show seams in some viewers; cut lines look alike everywhere.

use geo::Coord;

use crate::canvas::push_segment;
use crate::shape::{Bounds, Shape};

/// One set of parallel lines, in points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Lines {
    /// Degrees from the x axis, anticlockwise as seen on the page.
    pub(crate) angle: f64,
    pub(crate) gap: f64,
    pub(crate) shift: f64,
    /// Length of stroke and of pause; `None` for unbroken lines.
    pub(crate) dash: Option<(f64, f64)>,
    /// Drawn in the second colour of a mixed stand.
    pub(crate) second: bool,
}

const fn lines(angle: f64, gap: f64) -> Lines {
    Lines { angle, gap, shift: 0.0, dash: None, second: false }
}

const fn shifted(angle: f64, gap: f64, shift: f64) -> Lines {
    Lines { shift, ..lines(angle, gap) }
}

const fn dashed(angle: f64, gap: f64, stroke: f64, pause: f64) -> Lines {
    Lines { dash: Some((stroke, pause)), ..lines(angle, gap) }
}

const fn second(angle: f64, gap: f64, shift: f64, stroke: f64, pause: f64) -> Lines {
    Lines { shift, second: true, ..dashed(angle, gap, stroke, pause) }
}

/// Hatches of single species: told apart by direction, doubling, breaks and crossing.
#[rustfmt::skip]
pub(crate) const SINGLE: [&[Lines]; 16] = [
    &[lines(45.0, 5.0)],
    &[lines(135.0, 5.0)],
    &[dashed(0.0, 4.5, 0.01, 4.5)],
    &[lines(0.0, 5.0)],
    &[lines(90.0, 5.0)],
    &[lines(45.0, 7.0), lines(135.0, 7.0)],
    &[dashed(45.0, 4.5, 7.0, 4.0)],
    &[dashed(135.0, 4.5, 7.0, 4.0)],
    &[lines(0.0, 7.0), lines(90.0, 7.0)],
    &[lines(45.0, 9.0), shifted(45.0, 9.0, 2.2)],
    &[lines(135.0, 9.0), shifted(135.0, 9.0, 2.2)],
    &[dashed(0.0, 4.5, 7.0, 4.0)],
    &[dashed(90.0, 4.5, 7.0, 4.0)],
    &[lines(0.0, 9.0), shifted(0.0, 9.0, 2.2)],
    &[lines(90.0, 9.0), shifted(90.0, 9.0, 2.2)],
    &[lines(0.0, 9.0), lines(45.0, 9.0), lines(135.0, 9.0)],
];

/// Hatches of mixed stands: an unbroken line in the first colour, a broken one in the second.
#[rustfmt::skip]
pub(crate) const MIXED: [&[Lines]; 4] = [
    &[lines(65.0, 9.0), second(65.0, 9.0, 4.5, 5.0, 2.5)],
    &[lines(115.0, 9.0), second(115.0, 9.0, 4.5, 5.0, 2.5)],
    &[lines(25.0, 9.0), second(25.0, 9.0, 4.5, 5.0, 2.5)],
    &[lines(155.0, 9.0), second(155.0, 9.0, 4.5, 5.0, 2.5)],
];

impl Lines {
    /// Dots are strokes without length; they are drawn thicker.
    pub(crate) fn is_dots(&self) -> bool {
        self.dash.is_some_and(|(stroke, _)| stroke < 0.1)
    }

    /// Path data of the lines where they lie on `shape` and in `frame`. Lines keep to one
    /// grid of the page, so that hatches of neighbours run on.
    pub(crate) fn path(&self, shape: &Shape, frame: Bounds) -> String {
        let mut d = String::new();
        let visible = shape.bounds.common(frame);
        if visible.width() <= 0.0 || visible.height() <= 0.0 {
            return d;
        }
        let (sin, cos) = self.angle.to_radians().sin_cos();
        // Along the line, then across it; y grows downwards on the page.
        let turn = |c: Coord| Coord { x: c.x * cos - c.y * sin, y: c.x * sin + c.y * cos };
        let back = |c: Coord| Coord { x: c.x * cos + c.y * sin, y: c.y * cos - c.x * sin };

        let seen = Shape::rectangle(visible).rings.concat().into_iter().map(turn);
        let Some(seen) = Bounds::of(seen) else { return d };
        let edges: Vec<(Coord, Coord)> = shape.edges().map(|(a, b)| (turn(a), turn(b))).collect();
        let first = ((seen.y0 - self.shift) / self.gap).ceil() as i64;
        let last = ((seen.y1 - self.shift) / self.gap).floor() as i64;
        let mut rows: Vec<Vec<f64>> =
            vec![Vec::new(); usize::try_from(last - first + 1).unwrap_or(0)];
        let across = |row: usize| (first + row as i64) as f64 * self.gap + self.shift;
        for (a, b) in edges {
            let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
            let from = ((low.y - across(0)) / self.gap).ceil().max(0.0) as usize;
            for (row, crossings) in rows.iter_mut().enumerate().skip(from) {
                let y = across(row);
                if y >= high.y {
                    break;
                }
                if y >= low.y {
                    crossings.push(low.x + (high.x - low.x) * (y - low.y) / (high.y - low.y));
                }
            }
        }
        for (row, mut crossings) in rows.into_iter().enumerate() {
            crossings.sort_by(f64::total_cmp);
            let y = across(row);
            for pair in crossings.chunks_exact(2) {
                let (start, end) = (pair[0].max(seen.x0), pair[1].min(seen.x1));
                if end > start {
                    self.strokes(start, end, first + row as i64, |from, to| {
                        push_segment(&mut d, back(Coord { x: from, y }), back(Coord { x: to, y }));
                    });
                }
            }
        }
        d
    }

    fn strokes(&self, start: f64, end: f64, row: i64, mut draw: impl FnMut(f64, f64)) {
        let Some((stroke, pause)) = self.dash else {
            draw(start, end);
            return;
        };
        let step = stroke + pause;
        // Every other row starts half a step later, as bricks do.
        let offset = if row % 2 == 0 { 0.0 } else { step / 2.0 };
        let mut at = ((start - offset) / step).floor() * step + offset;
        while at < end {
            let (from, to) = (at.max(start), (at + stroke).min(end));
            if to > from {
                draw(from, to);
            }
            at += step;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Length of all lines in path data of the form `Mx yLx y`.
    fn length(d: &str) -> f64 {
        d.split('M')
            .filter(|part| !part.is_empty())
            .map(|part| {
                let n: Vec<f64> = part.split(['L', ' ']).map(|n| n.parse().unwrap()).collect();
                (n[2] - n[0]).hypot(n[3] - n[1])
            })
            .sum()
    }

    #[test]
    fn lines_cover_the_shape_and_spare_its_hole() {
        let page = Bounds::new(0.0, 0.0, 600.0, 800.0);
        let outer = Shape::rectangle(Bounds::new(100.0, 100.0, 200.0, 100.0)).rings;
        let hole = Shape::rectangle(Bounds::new(150.0, 120.0, 50.0, 50.0)).rings;
        let lawn = Shape::from_rings([outer, hole].concat()).unwrap();
        for angle in [0.0, 30.0, 45.0, 90.0, 135.0] {
            let drawn = length(&lines(angle, 2.0).path(&lawn, page)) * 2.0;
            // Area is length of line × gap, give or take one line on each side.
            assert!((drawn - 17_500.0).abs() < 900.0, "{angle}: {drawn}");
        }
    }

    #[test]
    fn no_two_species_share_a_hatch() {
        let all: Vec<_> = SINGLE.iter().chain(&MIXED).collect();
        for (index, one) in all.iter().enumerate() {
            assert!(all[index + 1..].iter().all(|other| other != one), "hatch {index}");
        }
    }
}
