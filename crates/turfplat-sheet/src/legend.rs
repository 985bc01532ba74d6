//! The legend explains what is on this map and nothing else. Its samples are drawn by the
//! same code as the map, so they cannot drift apart.

use geo::Coord;

use crate::canvas::{Anchor, Canvas, INK, Type};
use crate::map::{Kind, MarkKind, SprayMap};
use crate::motif;
use crate::shape::{Bounds, Shape};
use crate::style::{Style, Styles};
use crate::symbol;

/// Stroke of the lot line: long, dot, dot.
pub(crate) const LOT_DASH: &str = "14 3 1.5 3 1.5 3";

/// What one sample shows.
#[derive(Clone, Debug)]
pub(crate) enum Key {
    Grass(Box<Style>, bool),
    Skipped,
    Strip,
    Ground(Kind),
    Point(MarkKind),
    Lot,
    Drawn,
}

/// Whether a zone is left out, and so drawn blank.
pub(crate) fn is_skipped(zone: &crate::map::Zone) -> bool {
    zone.skipped.is_some() || zone.treated.0.is_empty()
}

/// The samples that this map needs, in reading order: what to spray, what not, where things are.
pub(crate) fn entries(map: &SprayMap, styles: &Styles) -> Vec<(Key, String)> {
    let mut list: Vec<(Key, String)> = styles
        .iter()
        .map(|style| {
            (Key::Grass(Box::new(style.clone()), styles.need_letters()), style.name.clone())
        })
        .collect();
    if map.zones.iter().any(is_skipped) {
        list.push((Key::Skipped, "not treated".to_owned()));
    }
    if !map.strips.is_empty() {
        let mut distances: Vec<String> = Vec::new();
        for strip in &map.strips {
            let text = format!("{} from {}", strip.distance, strip.to);
            if !distances.contains(&text) {
                distances.push(text);
            }
        }
        list.push((Key::Strip, format!("do not spray: {}", distances.join(", "))));
    }
    let mut kinds: Vec<Kind> = map.features.iter().map(|feature| feature.kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    list.extend(kinds.into_iter().map(|kind| (Key::Ground(kind), motif::words(kind).to_owned())));
    let mut points: Vec<MarkKind> = map.marks.iter().map(|mark| mark.kind).collect();
    points.sort_unstable();
    points.dedup();
    list.extend(points.into_iter().map(|kind| (Key::Point(kind), symbol::words(kind).to_owned())));
    if map
        .zones
        .iter()
        .any(|zone| !is_skipped(zone) && zone.drawn != zone.treated && !zone.drawn.0.is_empty())
    {
        list.push((Key::Drawn, "turf as drawn".to_owned()));
    }
    if !map.lot.0.is_empty() {
        list.push((Key::Lot, "lot line".to_owned()));
    }
    list
}

impl Key {
    pub(crate) fn draw(&self, canvas: &mut Canvas, b: Bounds) {
        let shape = Shape::rectangle(b);
        let middle = b.centre();
        let ends = (Coord { x: b.x0, y: middle.y }, Coord { x: b.x1, y: middle.y });
        match self {
            Key::Grass(style, lettered) => {
                style.fill(canvas, &shape, b);
                treated_edge(canvas, &shape, 1.1);
                if *lettered {
                    let size = b.height() * 0.62;
                    let set = Type::new(size).bold(true).anchor(Anchor::Middle);
                    let wide = crate::font::width(&style.letter, size, true) + size * 0.5;
                    // At one end, so that the hatch is seen beside it.
                    let middle = Coord { x: b.x0 + wide / 2.0 + b.height() * 0.2, ..middle };
                    let tag = Bounds::around(middle, wide, size * 1.15);
                    canvas.rect(tag, &format!(r#"rx="1" fill="{INK}""#));
                    let base = middle.y + size * crate::font::CAP_HEIGHT / 2.0;
                    canvas.text(middle.x, base, set.ink("#fff"), &style.letter);
                }
            }
            Key::Skipped => skipped(canvas, &shape),
            Key::Strip => {
                motif::strip(canvas, &shape, b, middle);
                motif::strip_edge(canvas, &shape);
            }
            Key::Ground(kind) => motif::feature(canvas, *kind, &shape, b, middle),
            Key::Point(kind) => symbol::mark(canvas, *kind, middle),
            Key::Lot => lot(canvas, |canvas, look| canvas.line(ends.0, ends.1, look)),
            Key::Drawn => drawn(canvas, |canvas, look| canvas.line(ends.0, ends.1, look)),
        }
    }
}

pub(crate) fn treated_edge(canvas: &mut Canvas, shape: &Shape, weight: f64) {
    let wide = crate::canvas::number(weight);
    canvas
        .shape(shape, &format!(r#"stroke="{INK}" stroke-width="{wide}" stroke-linejoin="round""#));
}

pub(crate) fn skipped(canvas: &mut Canvas, shape: &Shape) {
    canvas.shape(
        shape,
        r##"fill="#fff" fill-rule="evenodd" stroke="#333" stroke-width=".9" stroke-dasharray="2.2 2""##,
    );
}

pub(crate) fn lot(canvas: &mut Canvas, draw: impl FnOnce(&mut Canvas, &str)) {
    draw(canvas, &format!(r#"stroke="{INK}" stroke-width="1" stroke-dasharray="{LOT_DASH}""#));
}

pub(crate) fn drawn(canvas: &mut Canvas, draw: impl FnOnce(&mut Canvas, &str)) {
    draw(canvas, r##"stroke="#8a8a8a" stroke-width=".6""##);
}
