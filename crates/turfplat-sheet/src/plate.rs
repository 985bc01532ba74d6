//! Why a map can be had without its sheet: a work order or a report has a title, tables and
//! cautions of its own, and needs of the sheet the ground alone, still at a true scale.

use std::fmt::Write;
use std::ops::Range;

use geo::Coord;

use crate::canvas::Canvas;
use crate::contents::{self, Explained, Limits};
use crate::draw;
use crate::flow::{self, Row};
use crate::grid::Grid;
use crate::layout::{Asked, FRAME, Settled, best_view, extents};
use crate::map::SprayMap;
use crate::page::Page;
use crate::scale::View;
use crate::seen::Seen;
use crate::shape::Bounds;
use crate::sheet::{Strip, scale_strip};
use crate::style::Styles;
use crate::text::escaped;
use crate::tidy::tidy;
use crate::underlay::Shown;

/// Sizes of the legend's text, in points, largest first.
const SIZES: [f64; 2] = [8.5, LEAST];
/// Smaller type than this is not read at six in the morning.
const LEAST: f64 = 8.0;
/// Sizes of labels on the map.
const LABELS: (f64, f64) = (8.5, 9.5);
/// Width of a column of the legend that can be read, in points.
const COLUMN: f64 = 128.0;
/// Space between columns, and between the map and what is beside it.
const GAP: f64 = 12.0;
/// Height of the strip with the scale, beside which its words stand; and where they stand below.
const STRIP: f64 = 38.0;
const HIGH_STRIP: f64 = 52.0;
/// A map narrower than this has no room for the words beside the bar.
const NARROW: f64 = 400.0;
/// More of the box than this share is not given to the legend.
const MOST_BELOW: f64 = 0.42;
/// No box is taken to be smaller or larger than this, in points.
const SIDES: (f64, f64) = (144.0, 14_400.0);

/// A map without title and texts, for a page of another document.
#[derive(Clone, Debug)]
pub struct Plate {
    /// The drawing, in points, of the very width and height asked for. Its text is set in the
    /// font family `Inter`, which is not embedded.
    pub svg: String,
    /// The n of its scale 1:n, which holds where the drawing is printed at its own size.
    pub scale: u32,
    /// Which of the map's zones stand on it as a number, which is their place in the map's list,
    /// from 1; empty where each has its name.
    pub numbered: Vec<usize>,
    /// Some zones have neither name nor a number that can be read: it needs a larger box.
    pub is_crowded: bool,
}

/// Where things stand in the box.
struct Parted {
    scale_at: Bounds,
    legend: Legend,
}

/// Rows that are set in columns.
struct Legend {
    rows: Vec<Row>,
    columns: Vec<Range<usize>>,
    /// Upper left corner of the first column.
    at: Coord,
    column_width: f64,
}

/// What stands on the page beside the map.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beside {
    /// Nothing that explains it: its legend says all, and its key as much as there is room for.
    Nothing,
    /// Zones by their numbers, and distances that are kept: a short legend will do, and no key.
    Lists,
}

/// Draws the map of one application alone: frame, scale bar, 1:n, north, and a legend of what
/// is on it.
///
/// * In: width and height of the box in points; less than 144 or more than 14,400 are taken
///   for these, and what is no number for 144.
/// * Out: the same bytes for the same map and box.
/// * Accuracy: that of [`crate::svg`].
pub fn plate(map: &SprayMap, (width, height): (f64, f64), page: Beside) -> Plate {
    let map = &tidy(map);
    let (width, height) = (side(width), side(height));
    let styles = Styles::of(map);
    let body = body(width, height);
    let settled = settled(map, &styles, (body, page));
    let Settled { parted, view, plate, labels, keyed, is_crowded } = settled;
    let mut canvas = Canvas::new();
    if let Some(underlay) = &map.underlay {
        underlay.draw(&mut canvas, view, plate.scene.frame);
    }
    plate.draw(&mut canvas, (map, &styles), &labels.dimensions);
    let grid = Grid::new(map, view).no_smaller(LEAST);
    grid.numbers(&mut canvas, view, plate.scene.frame);
    draw::labels(&mut canvas, &labels.placed);
    grid.frame(&mut canvas, view, plate.scene.frame);
    let is_high = parted.scale_at.width() < NARROW;
    let strip = Strip { at: parted.scale_at, size: LEAST, is_high };
    scale_strip(&mut canvas, (view, map), strip, grid.step(), None);
    let Legend { rows, columns, at, column_width } = &parted.legend;
    for (index, column) in columns.iter().enumerate() {
        let x = at.x + index as f64 * (column_width + GAP);
        flow::draw(&mut canvas, &rows[column.clone()], x, at.y, *column_width);
    }
    canvas.raw("</svg>\n");
    let scale = view.one_to.unwrap_or(1.0);
    let mut svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{width:.6}pt" height="{height:.6}pt" viewBox="0 0 {width:.6} {height:.6}" font-family="Inter" data-scale="{scale}">"#
    );
    let name = [map.application.as_str(), map.property.as_str()].join(" ");
    let _ = writeln!(svg, "\n<title>{} {}</title>", map.title(), escaped(name.trim()));
    svg.push_str(&canvas.finish());
    Plate { svg, scale: scale as u32, numbered: keyed, is_crowded }
}

/// The ground that the frame of a [`plate`] will show: what a picture beneath it must cover.
///
/// As of [`crate::shown`], ask with [`SprayMap::underlay`] set.
pub fn shown_on_plate(map: &SprayMap, (width, height): (f64, f64), page: Beside) -> Shown {
    let map = &tidy(map);
    let body = body(side(width), side(height));
    let settled = settled(map, &Styles::of(map), (body, page));
    Shown::of(settled.plate.scene.frame, settled.view, Page::Letter)
}

fn side(side: f64) -> f64 {
    if side.is_finite() { side.clamp(SIDES.0, SIDES.1) } else { SIDES.0 }
}

/// The frame's line is half as wide again as the box would else hold.
fn body(width: f64, height: f64) -> Bounds {
    Bounds::new(0.0, 0.0, width, height).grown(-0.5)
}

fn settled(map: &SprayMap, styles: &Styles, (body, page): (Bounds, Beside)) -> Settled<Parted> {
    let extents = extents(map);
    let names_do = page == Beside::Lists;
    let asked = Asked { sizes: LABELS, least: LEAST, names_do, ..Asked::all(Page::Letter) };
    Settled::new(map, styles, &asked, |seen, keyed| {
        choose((body, page), (map, styles), (seen, keyed), extents)
    })
}

/// Legend below or beside, whichever shows the property larger. Of a key that is too long for
/// half the box, none is there: whoever sets the page lists the zones by their numbers.
fn choose(
    (body, page): (Bounds, Beside),
    (map, styles): (&SprayMap, &Styles),
    (seen, keyed): (&Seen, &[usize]),
    extents: [Bounds; 2],
) -> (Parted, View, Bounds) {
    let with_map = |map_at: Bounds, legend: Legend| {
        let strip = if map_at.width() < NARROW { HIGH_STRIP } else { STRIP };
        let scale_at = Bounds { y0: map_at.y1 - strip, ..map_at };
        let inner = Bounds { y1: scale_at.y0, ..map_at }.grown(-FRAME);
        let view = best_view(extents, inner.grown(-6.0), true, map.units);
        (Parted { scale_at, legend }, view, inner)
    };
    let lists = page == Beside::Lists;
    let ways = [Explained::Here, Explained::ByList].into_iter().skip(usize::from(lists));
    let tries = ways.flat_map(|key| Limits::LADDER.map(|limits| (key, limits)));
    for (key, limits) in tries {
        let mut best: Option<(f64, (Parted, View, Bounds))> = None;
        for size in SIZES {
            let rows = |width| {
                let keyed = (keyed, key);
                contents::legend_rows((map, styles), seen, keyed, (size, width), limits, lists)
            };
            for (map_at, legend) in [beside(body, rows), below(body, rows)].into_iter().flatten() {
                let found = with_map(map_at, legend);
                // Larger text is worth as much as a larger map.
                let worth = found.1.per_metre * size;
                if best.as_ref().is_none_or(|(old, _)| worth > old * 1.01) {
                    best = Some((worth, found));
                }
            }
        }
        if let Some((_, best)) = best {
            return best;
        }
    }
    with_map(body, Legend { rows: vec![], columns: vec![], at: Coord::zero(), column_width: 0.0 })
}

/// One column to the right of the map.
fn beside(body: Bounds, rows: impl Fn(f64) -> Vec<Row>) -> Option<(Bounds, Legend)> {
    let map_at = Bounds { x1: body.x1 - COLUMN - GAP, ..body };
    if map_at.width() < 1.5 * COLUMN {
        return None;
    }
    let rows = rows(COLUMN);
    let columns = flow::columns(&rows, &[body.height()])?;
    let at = Coord { x: map_at.x1 + GAP, y: body.y0 };
    Some((map_at, Legend { rows, columns, at, column_width: COLUMN }))
}

/// As many columns under the map as its width holds, as low as they can be.
fn below(body: Bounds, rows: impl Fn(f64) -> Vec<Row>) -> Option<(Bounds, Legend)> {
    let count = ((body.width() + GAP) / (COLUMN + GAP)).floor().clamp(1.0, 8.0);
    let column_width = (body.width() + GAP) / count - GAP;
    let rows = rows(column_width);
    let count = count as usize;
    let high = flow::least_height(&rows, count, body.height() * MOST_BELOW, &[])?;
    let columns = flow::columns(&rows, &vec![high; count])?;
    let at = Coord { x: body.x0, y: body.y1 - high };
    Some((Bounds { y1: at.y - GAP * 0.5, ..body }, Legend { rows, columns, at, column_width }))
}
