use std::fmt::Write;

use geo::Coord;
use turfplat_units::UnitSystem;

use crate::canvas::{Canvas, GREY, Type, number};
use crate::draw;
use crate::flow;
use crate::font;
use crate::layout::Sheet;
use crate::map::SprayMap;
use crate::page::Page;
use crate::scale::{self, View};
use crate::shape::Bounds;
use crate::symbol;
use crate::text::escaped;
use crate::tidy::tidy;
use crate::underlay::Shown;

/// Draws a spray map as SVG text.
///
/// * In: shapes in metres on the property's plane; a shape that cannot be drawn is left out.
/// * Out: the same bytes for the same map. Paper is drawn in points at a round scale that
///   it states; the screen as large as it fits.
/// * Accuracy: corners within 0.03 pt (0.01 mm on paper) of where they belong.
pub fn svg(map: &SprayMap, page: Page) -> String {
    let map = &tidy(map);
    let sheet = Sheet::new(map, page);
    let mut canvas = Canvas::new();
    canvas.raw("<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n");
    if let Some(underlay) = &map.underlay {
        underlay.draw(&mut canvas, sheet.view);
    }
    sheet.plate.draw(&mut canvas, map, &sheet.styles);
    draw::labels(&mut canvas, &sheet.placed);
    let step = sheet.view.frame_step(map.units);
    draw::frame(&mut canvas, sheet.plate.scene.frame, step * sheet.view.per_metre);
    scale_strip(&mut canvas, (sheet.view, map.units), sheet.scale_at, step, page.paper());
    sheet.title.draw(&mut canvas, sheet.title_at);
    let panel = &sheet.panel;
    for column in &panel.columns {
        let rows = &panel.rows[column.rows.clone()];
        flow::draw(&mut canvas, rows, column.x, column.y, panel.column_width);
    }
    canvas.raw("</svg>\n");
    let drawn = canvas.finish();
    [head(map, &sheet, page), font::style_rule(&drawn), drawn].concat()
}

/// The ground that the frame of a map will show on a page: what a picture beneath it must cover.
///
/// The legend has a line for the picture, so ask with [`SprayMap::underlay`] set, if only to
/// [`Underlay::blank`].
pub fn shown(map: &SprayMap, page: Page) -> Shown {
    let sheet = Sheet::new(&tidy(map), page);
    Shown::of(sheet.plate.scene.frame, sheet.view, page)
}

fn head(map: &SprayMap, sheet: &Sheet, page: Page) -> String {
    let (wide, high) = (sheet.width, sheet.height);
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
    if let Some(n) = sheet.view.one_to {
        let _ = write!(head, r#" data-scale="{n}""#);
    }
    let title = [map.application.as_str(), map.property.as_str()].join(" ");
    let _ = writeln!(head, ">\n<title>{} {}</title>", map.title(), escaped(title.trim()));
    head
}

/// Scale bar, scale in words, and north, under the map. `paper` names the page, if the scale
/// holds on that page alone.
pub(crate) fn scale_strip(
    canvas: &mut Canvas,
    (view, units): (View, UnitSystem),
    b: Bounds,
    step: f64,
    paper: Option<&str>,
) {
    let size = b.height() * 0.2;
    let middle = b.y0 + b.height() * 0.54;
    let wide = scale::bar(canvas, b.x0 + size * 0.4, middle, size, view, units);
    let x = b.x0 + wide + size * 3.0;
    let frame = format!("each step of the frame is {}", scale::step_words(step, units));
    match scale::words(view, units, paper) {
        Some(words) => {
            canvas.text(x, middle - size * 0.25, Type::new(size * 1.15).bold(true), &words);
            canvas.text(x, middle + size * 1.15, Type::new(size).ink(GREY), &frame);
        }
        None => canvas.text(x, middle + size * 0.4, Type::new(size).ink(GREY), &frame),
    }
    let north = Coord { x: b.x1 - size * 1.6, y: b.y0 + b.height() * 0.54 };
    symbol::north(canvas, north, b.height() * 0.86);
}
