//! Why a large property gets several sheets: at the scale at which it fits on one, a hundred
//! lawns are numbers on stamps. So the first sheet shows where everything is, and each other
//! a part of it, large enough to stand on, with a small diagram of where that part lies.

use geo::{Coord, MultiPolygon};

use crate::canvas::{Anchor, Canvas, INK, Type};
use crate::contents::{self, Explained, KEY_TYPE, Limits};
use crate::flow;
use crate::layout::{Asked, Column, FRAME, GAP, Layout, Outline, Panel, Settled};
use crate::map::SprayMap;
use crate::page::Page;
use crate::scale::{View, round_scale};
use crate::shape::{Bounds, Shape, is_usable};
use crate::style::Styles;

/// More sheets than this nobody carries.
const MOST: usize = 24;
/// By how much larger than the overview the other sheets are, as far as needed.
const FACTORS: [f64; 13] = [1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0];
/// Least share of a sheet that its neighbour shows as well.
const OVERLAP: f64 = 0.1;
/// Width of the texts beside the map, in points.
const COLUMN: f64 = 158.0;
/// Sizes of text, in points.
const SIZES: [f64; 5] = [8.5, 8.0, 7.5, 7.0, 6.5];

/// A sheet of a part of the property.
pub(crate) struct Detail {
    /// What it shows, in metres.
    pub(crate) ground: Bounds,
    pub(crate) layout: Layout,
}

/// Where all sheets lie, and which of them this is.
#[derive(Clone)]
pub(crate) struct Index {
    at: Bounds,
    /// The whole property, in metres.
    extent: Bounds,
    grounds: Vec<(usize, Bounds)>,
    this: usize,
}

/// The sheets of a property that `alone` shows too small; none where more would not help.
/// `keys` sheets come after them, with all numbers.
pub(crate) fn of(map: &SprayMap, page: Page, alone: &Layout, keys: usize) -> Vec<Detail> {
    let (Some(whole), Some(turf)) = (alone.view.one_to, turf(map)) else { return Vec::new() };
    let mut best = Vec::new();
    let mut last = whole;
    for factor in FACTORS {
        let one_to = round_scale(whole / factor, map.units);
        if one_to >= last {
            continue;
        }
        last = one_to;
        // Upright or lying as the first sheet, unless the other way needs fewer.
        let lying = alone.width > alone.height;
        let ways = [lying, !lying].map(|lying| {
            let sheets = Sheets { map, page, lying, one_to, keys };
            let grounds = sheets.grounds(turf);
            (sheets, grounds)
        });
        let least = ways.into_iter().min_by_key(|(_, grounds)| grounds.len());
        let Some((sheets, grounds)) = least.filter(|(_, grounds)| grounds.len() <= MOST) else {
            break;
        };
        let details = sheets.draw(&grounds);
        let is_clear = details.iter().all(|it| !it.layout.is_crowded && !it.layout.is_key_apart);
        best = details;
        if is_clear {
            break;
        }
    }
    if best.len() > 1 { best } else { Vec::new() }
}

/// The box of all turf, in metres.
fn turf(map: &SprayMap) -> Option<Bounds> {
    let shapes = map.zones.iter().flat_map(|zone| [&zone.treated, &zone.drawn]);
    let corners = shapes.flat_map(|shape| shape.iter().flat_map(|p| p.exterior().coords()));
    Bounds::of(corners.copied().filter(is_usable))
}

/// Sheets of one scale.
struct Sheets<'a> {
    map: &'a SprayMap,
    page: Page,
    lying: bool,
    one_to: f64,
    keys: usize,
}

impl Sheets<'_> {
    fn outline(&self, number: usize, count: usize) -> (Outline, Bounds) {
        let outline = Outline::new(self.map, self.page, self.lying, (number, count));
        let x1 = outline.body.x1 - COLUMN - 2.0 * GAP;
        let map_at = Bounds { x1, y1: outline.body.y1 - outline.strip, ..outline.body };
        (outline, map_at)
    }

    /// What each sheet shows: rows from north to south, each from west to east. Where no turf
    /// is, there is no sheet.
    fn grounds(&self, turf: Bounds) -> Vec<Bounds> {
        let (_, map_at) = self.outline(2, 2);
        let inner = map_at.grown(-FRAME);
        let view = View::at(self.one_to, Coord::zero(), inner);
        let (wide, high) = (inner.width() / view.per_metre, inner.height() / view.per_metre);
        let count = |whole: f64, one: f64| {
            (((whole / one - 1.0) / (1.0 - OVERLAP)).ceil().max(0.0) as usize + 1).min(MOST + 1)
        };
        // A little air round the turf, so that no edge lies on a frame.
        let turf = turf.grown(12.0 / view.per_metre);
        let (columns, rows) = (count(turf.width(), wide), count(turf.height(), high));
        let zones: Vec<Shape> =
            self.map.zones.iter().filter_map(|zone| shape_of(&zone.drawn)).collect();
        let middle = turf.centre();
        // From edge to edge of the turf, so that no sheet is half empty.
        let step = |whole: f64, one: f64, count: usize| match count {
            0 | 1 => 0.0,
            _ => ((whole - one) / (count as f64 - 1.0)).min(one * (1.0 - OVERLAP)),
        };
        let (across, down) = (step(turf.width(), wide, columns), step(turf.height(), high, rows));
        let off = |index: usize, count: usize| index as f64 - (count as f64 - 1.0) / 2.0;
        (0..rows)
            .flat_map(|row| (0..columns).map(move |column| (row, column)))
            .map(|(row, column)| {
                let x = middle.x + off(column, columns) * across;
                let y = middle.y - off(row, rows) * down;
                Bounds::around(Coord { x, y }, wide, high)
            })
            .filter(|ground| zones.iter().any(|zone| zone.touches(*ground)))
            .collect()
    }

    fn draw(&self, grounds: &[Bounds]) -> Vec<Detail> {
        let homes = homes(self.map, grounds);
        let numbered: Vec<(usize, Bounds)> = (2..).zip(grounds.iter().copied()).collect();
        let draw = |(index, ground): (usize, &Bounds)| {
            let elsewhere: Vec<bool> = homes.iter().map(|home| *home != Some(index)).collect();
            Detail { ground: *ground, layout: self.lay(index + 2, *ground, &numbered, &elsewhere) }
        };
        grounds.iter().enumerate().map(draw).collect()
    }

    fn lay(
        &self,
        number: usize,
        ground: Bounds,
        grounds: &[(usize, Bounds)],
        elsewhere: &[bool],
    ) -> Layout {
        let (outline, map_at) = self.outline(number, grounds.len() + 1 + self.keys);
        let inner = map_at.grown(-FRAME);
        let view = View::at(self.one_to, ground.centre(), inner);
        let left = map_at.x1 + 2.0 * GAP;
        let extent = grounds.iter().map(|(_, ground)| *ground).reduce(Bounds::union);
        let extent = extent.unwrap_or(ground);
        let high = (COLUMN * extent.height() / extent.width()).clamp(30.0, COLUMN);
        let at = Bounds::new(left, outline.body.y0, COLUMN, high);
        let index = Index { at, extent, grounds: grounds.to_vec(), this: number };
        let y = at.y1 + GAP;
        let styles = Styles::of(self.map);
        let last = Explained::On(grounds.len() + 2);
        let asked = Asked { elsewhere, ..Asked::all(self.page) };
        let settled = Settled::new(self.map, &styles, &asked, |seen, keyed| {
            let try_all = |key: Explained, least: f64| {
                let sizes = move || SIZES.into_iter().filter(move |size| *size >= least);
                let tries = Limits::LADDER.into_iter();
                tries.flat_map(move |limits| sizes().map(move |size| (limits, size, key)))
            };
            let least = if keyed.is_empty() { 0.0 } else { KEY_TYPE };
            let mut tries = try_all(Explained::Here, least).chain(try_all(last, 0.0));
            let found = tries.find_map(|(limits, size, key)| {
                let (words, its) = ((size, COLUMN), (keyed, key));
                let rows = contents::part_rows((self.map, &styles), seen, its, words, limits);
                let columns = flow::columns(&rows, &[outline.body.y1 - y])?;
                let columns = columns.into_iter().map(|rows| Column { rows, x: left, y }).collect();
                let panel = Panel { rows, columns, column_width: COLUMN };
                Some((panel, !keyed.is_empty() && key != Explained::Here))
            });
            let empty = || Panel { rows: Vec::new(), columns: Vec::new(), column_width: COLUMN };
            (found.unwrap_or_else(|| (empty(), true)), view, inner)
        });
        let Settled { parted: (panel, is_key_apart), plate, labels, is_crowded, .. } = settled;
        let Outline { width, height, title, title_at, body, .. } = outline;
        Layout {
            width,
            height,
            title,
            title_at,
            view,
            scale_at: Bounds { y0: map_at.y1, x1: map_at.x1, ..body },
            panel,
            styles,
            plate,
            labels,
            is_crowded,
            is_key_apart,
            others: Vec::new(),
            index: Some(index),
        }
    }
}

/// The sheet on which most of a zone is seen, for each zone.
pub(crate) fn homes(map: &SprayMap, grounds: &[Bounds]) -> Vec<Option<usize>> {
    let home = |shape: &Shape| {
        let seen = |ground: &Bounds| {
            let b = shape.bounds.common(*ground);
            b.width().max(0.0) * b.height().max(0.0)
        };
        let shares = grounds.iter().map(seen).enumerate();
        // The first of several that show as much.
        shares.reduce(|best, one| if one.1 > best.1 * 1.000_001 { one } else { best })
    };
    let ground =
        |zone: &crate::map::Zone| shape_of(&zone.treated).or_else(|| shape_of(&zone.drawn));
    map.zones.iter().map(|zone| Some(home(&ground(zone)?)?.0)).collect()
}

fn shape_of(outline: &MultiPolygon<f64>) -> Option<Shape> {
    Shape::new(outline, |c| c, 0.01)
}

impl Index {
    /// The property in grey, every sheet as a box with its number, this one heavy.
    pub(crate) fn draw(&self, canvas: &mut Canvas, map: &SprayMap) {
        let b = self.at;
        let per_metre = (b.width() / self.extent.width()).min(b.height() / self.extent.height());
        let middle = self.extent.centre();
        let to_page = |c: Coord| Coord {
            x: b.centre().x + (c.x - middle.x) * per_metre,
            y: b.centre().y - (c.y - middle.y) * per_metre,
        };
        for zone in &map.zones {
            if let Some(shape) = Shape::new(&zone.drawn, to_page, 0.2).and_then(|s| s.cut(b)) {
                canvas.shape(&shape, r##"fill="#d4d4d4" fill-rule="evenodd""##);
            }
        }
        let of = |ground: &Bounds| {
            let low = to_page(Coord { x: ground.x0, y: ground.y0 });
            let high = to_page(Coord { x: ground.x1, y: ground.y1 });
            Bounds { x0: low.x, y0: high.y, x1: high.x, y1: low.y }
        };
        let this = |number: &usize| *number == self.this;
        for (number, ground) in &self.grounds {
            let weight = if this(number) { "1.6" } else { ".4" };
            let look = format!(r#"fill="none" stroke="{INK}" stroke-width="{weight}""#);
            canvas.rect(of(ground), &look);
        }
        for (number, ground) in &self.grounds {
            let at = of(ground);
            let size = (at.height() * 0.4).clamp(4.0, 9.0);
            let centre = at.centre();
            let set = Type::new(size).bold(this(number)).anchor(Anchor::Middle).halo();
            let base = centre.y + size * crate::font::CAP_HEIGHT / 2.0;
            canvas.text(centre.x, base, set, &number.to_string());
        }
    }
}

/// Where the number of another sheet stands in the box of its ground.
pub(crate) fn tag(number: usize, ground: Bounds, frame: Bounds) -> Bounds {
    let b = ground.common(frame);
    let wide = crate::font::width(&number.to_string(), 8.0, true) + 5.0;
    Bounds::new(b.x0, b.y0, wide, 10.5)
}

/// The box of another sheet's ground, on the page, with its number.
pub(crate) fn outline(canvas: &mut Canvas, number: usize, b: Bounds) {
    canvas.rect(b, r##"fill="none" stroke="#fff" stroke-width="2.2""##);
    let look = format!(r#"fill="none" stroke="{INK}" stroke-width=".9" stroke-dasharray="1 2.2""#);
    canvas.rect(b, &look);
    let tag = tag(number, b, b);
    canvas.rect(tag, &format!(r##"fill="#fff" stroke="{INK}" stroke-width=".9""##));
    let set = Type::new(8.0).bold(true).anchor(Anchor::Middle);
    canvas.text(tag.centre().x, tag.y1 - 2.3, set, &number.to_string());
}
