use std::fmt::Write;

use geo::Coord;

use crate::canvas::{Anchor, Canvas, GREY, Type, number};
use crate::contents::Explained;
use crate::details::{self, Detail};
use crate::draw;
use crate::flow;
use crate::font;
use crate::grid::Grid;
use crate::key_sheet::KeySheets;
use crate::layout::{Asked, Layout, Numbers};
use crate::map::{SprayMap, Wind};
use crate::page::Page;
use crate::raster::KEY_SHEET;
use crate::scale::{self, View};
use crate::shape::Bounds;
use crate::symbol;
use crate::text::escaped;
use crate::tidy::tidy;
use crate::underlay::Shown;

/// One sheet of a spray map.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Its number, from 1. The first shows the whole property and says all that must be said.
    pub number: usize,
    /// The drawing, as [`svg`] makes it.
    pub svg: String,
    /// Where its picture lies on the property's plane; `None` of a sheet without a map, which
    /// explains numbers alone.
    pub placement: Option<Placement>,
}

/// Where a picture lies on the plane. North is up and dots are square, so three numbers say it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// Metres of ground under one dot of [`png`](crate::png()).
    pub metres_per_dot: f64,
    /// Metres east of the middle of the upper left dot.
    pub east: f64,
    /// Metres north of it.
    pub north: f64,
}

/// Draws a spray map on one sheet, as SVG text.
///
/// * In: shapes in metres on the property's plane; a shape that cannot be drawn is left out.
/// * Out: the same bytes for the same map. Paper is drawn in points at a round scale that
///   it states; the screen as large as it fits.
/// * Accuracy: corners within 0.03 pt (0.01 mm on paper) of where they belong.
pub fn svg(map: &SprayMap, page: Page) -> String {
    let map = &tidy(map);
    draw(map, page, &Layout::new(map, page, &Asked::all(page))).svg
}

/// Draws a spray map on as many sheets as it needs.
///
/// One, unless it is paper and more than three zones would have no label that can be read, or
/// the key of numbers would not stand whole. Then the first is an overview, and others show the
/// ground at the smallest larger scale at which every zone has its label on one of them, but
/// never on more than 24. The last explain all numbers: a zone's number is its place in the list,
/// the same on every sheet. A screen has one sheet, which is larger where the zones need it.
///
/// In, out and accuracy are those of [`svg`]; there is always a first sheet.
pub fn sheets(map: &SprayMap, page: Page) -> Vec<Sheet> {
    let map = &tidy(map);
    let Parts { first, details, keys } = Parts::of(map, page);
    let count = 1 + details.len() + keys.as_ref().map_or(0, KeySheets::count);
    let all = std::iter::once(first).chain(details.into_iter().map(|detail| detail.layout));
    let mut sheets: Vec<Sheet> = (all.zip(1..))
        .map(|(layout, number)| Sheet { number, ..draw(map, page, &layout) })
        .collect();
    if let Some(keys) = &keys {
        let before = sheets.len();
        sheets.extend((0..keys.count()).map(|index| {
            let number = before + index + 1;
            let mut canvas = Canvas::new();
            let size = keys.draw(&mut canvas, (map, page), index, (number, count));
            let is_key = format!(r#" {KEY_SHEET}="{number} of {count}">"#);
            let head = head((map, page), size, None).replacen('>', &is_key, 1);
            let svg = whole(head, canvas);
            Sheet { number, svg, placement: None }
        }));
    }
    sheets
}

/// All sheets of a map, measured.
struct Parts {
    first: Layout,
    details: Vec<Detail>,
    keys: Option<KeySheets>,
}

impl Parts {
    fn of(map: &SprayMap, page: Page) -> Parts {
        let alone = Layout::new(map, page, &Asked::all(page));
        if !page.is_paper() {
            return Parts {
                first: large_enough(map, page, alone),
                details: Vec::new(),
                keys: None,
            };
        }
        let lying = alone.width > alone.height;
        let keys = |homes: &[Option<usize>]| KeySheets::new(map, page, lying, homes);
        let mut details = Vec::new();
        if alone.is_crowded {
            // Where a zone is seen best is not known yet; that there is such a place is.
            details =
                details::of(map, page, &alone, keys(&vec![Some(88); map.zones.len()]).count());
        }
        if details.is_empty() && !alone.is_key_apart {
            return Parts { first: alone, details, keys: None };
        }
        let grounds: Vec<Bounds> = details.iter().map(|detail| detail.ground).collect();
        let homes: Vec<Option<usize>> = (details::homes(map, &grounds).into_iter())
            .map(|home| home.map(|index| index + 2))
            .collect();
        let others: Vec<(usize, Bounds)> = (2..).zip(grounds).collect();
        let keys = keys(&homes);
        let asked = Asked {
            numbers: if others.is_empty() { Numbers::Led } else { Numbers::OnGround },
            explained: &[Explained::On(others.len() + 2)],
            others: &others,
            count: 1 + others.len() + keys.count(),
            ..Asked::all(page)
        };
        let first = Layout::new(map, page, &asked);
        Parts { first, details, keys: Some(keys) }
    }
}

/// By how much a picture for a screen is enlarged, as far as needed: type stays as it is, so that it
/// is read by moving about. More would fill the memory of a small machine.
const ENLARGED: [f64; 4] = [1.5, 2.0, 3.0, 4.0];

/// The smallest picture on which each zone has a label that can be read, and all are explained.
fn large_enough(map: &SprayMap, page: Page, alone: Layout) -> Layout {
    let is_clear = |layout: &Layout| !layout.is_crowded && !layout.is_key_apart;
    let mut best = alone;
    for enlarged in ENLARGED {
        if is_clear(&best) {
            break;
        }
        best = Layout::new(map, page, &Asked { enlarged, ..Asked::all(page) });
    }
    best
}

fn draw(map: &SprayMap, page: Page, layout: &Layout) -> Sheet {
    let mut canvas = Canvas::new();
    let Layout { view, plate, .. } = layout;
    let frame = plate.scene.frame;
    if let Some(underlay) = &map.underlay {
        underlay.draw(&mut canvas, *view, frame);
    }
    plate.draw(&mut canvas, (map, &layout.styles), &layout.labels.dimensions);
    for (number, ground) in &layout.others {
        details::outline(&mut canvas, *number, view.box_on_page(*ground).common(frame));
    }
    let grid = Grid::new(map, *view);
    // Beneath the labels: the corner that it counts from may lie under a dose.
    grid.numbers(&mut canvas, *view, frame);
    draw::labels(&mut canvas, &layout.labels.placed);
    grid.frame(&mut canvas, *view, frame);
    let strip = Strip { at: layout.scale_at, size: layout.scale_at.height() * 0.2, is_high: false };
    scale_strip(&mut canvas, (*view, map), strip, grid.step(), page.paper());
    layout.title.draw(&mut canvas, layout.title_at);
    if let Some(index) = &layout.index {
        index.draw(&mut canvas, map);
    }
    let panel = &layout.panel;
    for column in &panel.columns {
        let rows = &panel.rows[column.rows.clone()];
        flow::draw(&mut canvas, rows, column.x, column.y, panel.column_width);
    }
    let size = (layout.width, layout.height);
    let svg = whole(head((map, page), size, view.one_to), canvas);
    let dot = 1.0 / page.dots_per_unit();
    let corner = view.to_plane(Coord { x: dot / 2.0, y: dot / 2.0 });
    let placement =
        Placement { metres_per_dot: dot / view.per_metre, east: corner.x, north: corner.y };
    Sheet { number: 1, svg, placement: Some(placement) }
}

/// The drawing on white paper, with the font that it needs.
fn whole(head: String, canvas: Canvas) -> String {
    let drawn = canvas.finish();
    let paper = "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n";
    [&head, &font::style_rule(&drawn), paper, &drawn, "</svg>\n"].concat()
}

/// The ground that the frame of a map will show on a page, on the first sheet of several: what a
/// picture beneath it must cover.
///
/// The legend has a line for the picture, so ask with [`SprayMap::underlay`] set, if only to
/// [`crate::Underlay::blank`].
pub fn shown(map: &SprayMap, page: Page) -> Shown {
    let layout = Parts::of(&tidy(map), page).first;
    Shown::of(layout.plate.scene.frame, layout.view, page)
}

fn head((map, page): (&SprayMap, Page), (wide, high): (f64, f64), one_to: Option<f64>) -> String {
    // Six decimals, so that A4 comes out at its exact number of dots.
    let size = if page.is_paper() {
        format!(r#"width="{wide:.6}pt" height="{high:.6}pt""#)
    } else {
        let dots = page.dots_per_unit();
        format!(r#"width="{}" height="{}""#, number(wide * dots), number(high * dots))
    };
    let mut head = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {wide:.6} {high:.6}" font-family="Inter, Helvetica, Arial, sans-serif""#
    );
    if let Some(n) = one_to {
        let _ = write!(head, r#" data-scale="{n}""#);
    }
    let title = [map.application.as_str(), map.property.as_str()].join(" ");
    let _ = writeln!(head, ">\n<title>{} {}</title>", map.title(), escaped(title.trim()));
    head
}

/// Where the scale stands under a map.
#[derive(Clone, Copy)]
pub(crate) struct Strip {
    pub(crate) at: Bounds,
    /// Size of its type, in points.
    pub(crate) size: f64,
    /// The words stand under the bar rather than beside it.
    pub(crate) is_high: bool,
}

/// Scale bar, scale in words, and north, under the map. `paper` names the page, if the scale
/// holds on that page alone.
pub(crate) fn scale_strip(
    canvas: &mut Canvas,
    (view, map): (View, &SprayMap),
    Strip { at: b, size, is_high }: Strip,
    step: f64,
    paper: Option<&str>,
) {
    let units = map.units;
    let middle = if is_high { b.y0 + size * 2.1 } else { b.y0 + b.height() * 0.54 };
    let wide = scale::bar(canvas, b.x0 + size * 0.4, middle, size, view, units);
    let frame = format!("each step of the frame is {}", scale::step_words(step, units));
    let words = scale::words(view, units, paper);
    let (x, base, larger) = match is_high {
        true => (b.x0, middle + size * 2.75, 1.0),
        false => (b.x0 + wide + size * 3.0, middle - size * 0.25, 1.15),
    };
    let north = Coord { x: b.x1 - size * 1.6, y: b.y0 + b.height() * 0.54 };
    let free = match map.wind() {
        Some(wind) => self::wind(canvas, wind, Coord { x: north.x - size * 2.0, ..north }, size),
        None => b.x1,
    };
    match words {
        Some(words) => {
            let set = Type::new(size * larger).bold(true);
            let is_short = |text: &str| x + font::width(text, set.size, true) < free;
            // Beside a wind there may be no room to say in one line for which paper it holds.
            let lines = match words.split_once(PRINTED).filter(|_| free < b.x1) {
                Some((scale, rest)) if !is_short(&words) => {
                    vec![scale.to_owned(), format!("{}{rest}", PRINTED.trim_start())]
                }
                _ => vec![words],
            };
            let base = base - size * 1.1 * (lines.len() as f64 - 1.0);
            for (index, line) in lines.iter().enumerate() {
                canvas.text(x, base + size * 1.2 * index as f64, set, line);
            }
            canvas.text(
                x,
                base + size * (if is_high { 1.2 } else { 1.4 } + 1.2 * (lines.len() as f64 - 1.0)),
                Type::new(size).ink(GREY),
                &frame,
            );
        }
        None => canvas.text(x, middle + size * 0.4, Type::new(size).ink(GREY), &frame),
    }
    symbol::north(canvas, north, b.height().min(44.0) * 0.86);
}

/// Where a scale in words begins to say what it holds for.
const PRINTED: &str = " printed";

/// The wind that strips are kept for, right of which lies `end`. Returns where it begins.
fn wind(canvas: &mut Canvas, wind: &Wind, end: Coord, size: f64) -> f64 {
    let (words, arrow) = match wind {
        Wind::Light => ("light wind".to_owned(), None),
        Wind::From { point, degrees } => (format!("wind from {point}"), Some(*degrees)),
    };
    let wide = font::width(&words, size, true);
    let middle = end.x - wide / 2.0;
    let set = Type::new(size).bold(true).anchor(Anchor::Middle);
    canvas.text(middle, end.y + size * 2.1, set, &words);
    if let Some(degrees) = arrow.filter(|it| it.is_finite()) {
        symbol::wind(canvas, Coord { x: middle, y: end.y - size * 0.5 }, size * 2.6, degrees);
    }
    end.x - wide - size
}
