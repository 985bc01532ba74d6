//! The legend explains what is on this map and nothing else. Its samples are drawn by the
//! same code as the map, so they cannot drift apart.

use geo::Coord;
use turfplat_units::UnitSystem;

use crate::canvas::{Anchor, Canvas, INK, Type};
use crate::map::{Kind, MarkKind, SprayMap};
use crate::motif::{self, NEIGHBOURS};
use crate::seen::Seen;
use crate::shape::{Bounds, Shape};
use crate::style::{Style, Styles};
use crate::symbol;
use crate::text::shorten;
use crate::trail;
use crate::underlay;

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
    /// Ground and sign of one and the same thing.
    Marked(Kind, MarkKind),
    Lot,
    /// Ground of other properties.
    Neighbours,
    Drawn,
    Passes,
    LoadEnd,
    Aerial,
    /// From where the frame counts.
    Corner,
    /// Ground that another sheet shows.
    Sheet,
}

/// Whether a zone is left out, and so drawn blank.
pub(crate) fn is_skipped(zone: &crate::map::Zone) -> bool {
    zone.skipped.is_some() || zone.treated.0.is_empty()
}

/// The samples that this map needs, in reading order: what to spray, what not, where things are.
pub(crate) fn entries(map: &SprayMap, styles: &Styles, seen: &Seen) -> Vec<(Key, String)> {
    let stands: Vec<&[String]> = visible(&map.zones, &seen.zones)
        .filter(|zone| !is_skipped(zone))
        .map(|zone| zone.species.as_slice())
        .collect();
    let mut list: Vec<(Key, String)> = styles
        .of_stands(&stands)
        .map(|style| {
            (Key::Grass(Box::new(style.clone()), styles.need_letters()), style.name.clone())
        })
        .collect();
    if seen.skipped && map.zones.iter().any(is_skipped) {
        list.push((Key::Skipped, "not treated".to_owned()));
    }
    let mut distances: Vec<String> = Vec::new();
    for strip in visible(&map.strips, &seen.strips) {
        let text = format!("{} {}", shorten(&strip.distance, 60), strip.from());
        if !distances.contains(&text) {
            distances.push(text);
        }
    }
    if !distances.is_empty() {
        list.push((Key::Strip, format!("keep out: {}", distances.join(", "))));
    }
    let kinds = sorted(
        visible(&map.features, &seen.features)
            .filter(|feature| !feature.is_neighbours)
            .map(|feature| feature.kind),
    );
    let points = sorted(visible(&map.marks, &seen.marks).map(|mark| mark.kind));
    let marked = |kind: Kind| match kind {
        Kind::Drain => Some(MarkKind::Drain),
        Kind::Apiary => Some(MarkKind::Apiary),
        _ => None,
    };
    list.extend(kinds.iter().map(
        |&kind| match marked(kind).filter(|mark| points.contains(mark)) {
            Some(mark) => (Key::Marked(kind, mark), symbol::words(mark).to_owned()),
            None => (Key::Ground(kind), motif::words(kind).to_owned()),
        },
    ));
    list.extend(
        points
            .iter()
            .filter(|&&point| !kinds.iter().any(|&kind| marked(kind) == Some(point)))
            .map(|&point| (Key::Point(point), symbol::words(point).to_owned())),
    );
    let differs = |zone: &crate::map::Zone| !is_skipped(zone) && zone.drawn != zone.treated;
    if seen.drawn && map.zones.iter().any(differs) {
        list.push((Key::Drawn, "turf as drawn".to_owned()));
    }
    if seen.lot && !map.lot.0.is_empty() {
        list.push((Key::Lot, "lot line".to_owned()));
    }
    list.extend(of_neighbours(map, seen));
    list.extend(of_trail(map, seen));
    if let Some(underlay) = &map.underlay {
        list.push((Key::Aerial, underlay.words()));
    }
    list
}

/// The samples that a map needs whose features bear their names, and whose setbacks are listed beside
/// it: what the hatches, the ground that is kept free, passes and flags mean.
pub(crate) fn short_entries(map: &SprayMap, styles: &Styles, seen: &Seen) -> Vec<(Key, String)> {
    let mut list = entries(map, styles, seen);
    list.retain(|(key, _)| {
        use Key::{Grass, LoadEnd, Neighbours, Passes, Skipped, Strip};
        matches!(key, Grass(..) | Skipped | Strip | LoadEnd | Passes | Neighbours)
    });
    for (key, words) in &mut list {
        if matches!(key, Key::Strip) {
            *words = "keep out: setback".to_owned();
        }
    }
    list
}

/// Other properties, from where the frame counts, and ground that other sheets show.
fn of_neighbours(map: &SprayMap, seen: &Seen) -> Vec<(Key, String)> {
    let mut list = Vec::new();
    if seen.neighbours {
        list.push((Key::Neighbours, "other properties, in gray".to_owned()));
    }
    if seen.corner {
        let unit = match map.units {
            UnitSystem::Us => "feet",
            UnitSystem::Metric => "meters",
        };
        let words = format!("numbers of the frame: {unit} east and north of here");
        list.push((Key::Corner, words));
    }
    if seen.sheets {
        list.push((Key::Sheet, "on a larger scale: sheet of that number".to_owned()));
    }
    list
}

/// Where loads run out, and passes, or why they are not drawn though somebody asked for them.
fn of_trail(map: &SprayMap, seen: &Seen) -> Vec<(Key, String)> {
    let mut list = Vec::new();
    if seen.load_ends {
        let words = match map.batches.len() {
            0 | 1 => "a load runs out here",
            _ => "a load runs out here (batch-load)",
        };
        list.push((Key::LoadEnd, words.to_owned()));
    } else if seen.hidden_ends > 0 {
        let sheets: Vec<String> = seen.sheets_of_ends.iter().map(usize::to_string).collect();
        let words = match &sheets[..] {
            [] => format!("not drawn: {} places where loads run out", seen.hidden_ends),
            [one] => format!("where loads run out: on sheet {one}"),
            all => format!("where loads run out: on sheets {}", all.join(", ")),
        };
        list.push((Key::LoadEnd, words));
    }
    if seen.close_passes {
        let words = "passes: too close together to be drawn at this scale";
        list.push((Key::Passes, words.to_owned()));
    } else if seen.passes {
        list.push((Key::Passes, "passes, from the ring on".to_owned()));
    }
    list
}

/// The things of a list that show on the map.
fn visible<'a, T>(things: &'a [T], seen: &'a [bool]) -> impl Iterator<Item = &'a T> {
    things.iter().zip(seen).filter(|(_, seen)| **seen).map(|(thing, _)| thing)
}

fn sorted<T: Ord>(things: impl Iterator<Item = T>) -> Vec<T> {
    things.collect::<std::collections::BTreeSet<T>>().into_iter().collect()
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
                    let size = b.height() * 0.77;
                    let set = Type::new(size).bold(true).anchor(Anchor::Middle);
                    let wide = crate::font::width(&style.letter, size, true) + size * 0.5;
                    // At one end, so that the hatch is seen beside it.
                    let middle = Coord { x: b.x0 + wide / 2.0 + b.height() * 0.2, ..middle };
                    let tag = Bounds::around(middle, wide, size * 1.08);
                    canvas.rect(tag, &format!(r#"rx="1" fill="{INK}""#));
                    let base = middle.y + size * crate::font::CAP_HEIGHT / 2.0;
                    canvas.text(middle.x, base, set.ink("#fff"), &style.letter);
                }
            }
            Key::Skipped => {
                skipped(canvas, &shape);
                skipped_edge(canvas, &shape);
            }
            Key::Strip => {
                motif::strip(canvas, &shape, b, middle);
                motif::strip_edge(canvas, &shape);
            }
            Key::Ground(kind) => motif::feature(canvas, (*kind, false), &shape, b, middle),
            Key::Neighbours => neighbour_lots(canvas, &shape),
            Key::Marked(kind, mark) => {
                motif::feature(canvas, (*kind, false), &shape, b, middle);
                symbol::mark(canvas, *mark, middle, INK);
            }
            Key::Point(kind) => symbol::mark(canvas, *kind, middle, INK),
            Key::Lot => lot(canvas, |canvas, look| canvas.line(ends.0, ends.1, look)),
            Key::Passes => trail::sample_passes(canvas, b),
            Key::LoadEnd => trail::sample_flag(canvas, b),
            Key::Aerial => underlay::sample(canvas, b),
            Key::Corner => crate::grid::mark(canvas, middle),
            Key::Sheet => crate::details::outline(canvas, 2, b),
            Key::Drawn => canvas.line(ends.0, ends.1, &drawn_look("0.7")),
        }
    }
}

pub(crate) fn treated_edge(canvas: &mut Canvas, shape: &Shape, weight: f64) {
    canvas.edge(shape, weight, |wide| {
        format!(r#"stroke="{INK}" stroke-width="{wide}" stroke-linejoin="round""#)
    });
}

pub(crate) fn skipped(canvas: &mut Canvas, shape: &Shape) {
    canvas.shape(shape, r##"fill="#fff" fill-rule="evenodd""##);
}

/// The dashed outline, over what may lie on the blank.
pub(crate) fn skipped_edge(canvas: &mut Canvas, shape: &Shape) {
    canvas.edge(shape, 0.9, |wide| {
        format!(r##"stroke="#333" stroke-width="{wide}" stroke-dasharray="2.2 2""##)
    });
}

pub(crate) fn lot(canvas: &mut Canvas, draw: impl FnOnce(&mut Canvas, &str)) {
    draw(canvas, &format!(r#"stroke="{INK}" stroke-width="1" stroke-dasharray="{LOT_DASH}""#));
}

/// Lots of other properties: pale ground, and a quiet line of the lot's own kind.
pub(crate) fn neighbour_lots(canvas: &mut Canvas, shape: &Shape) {
    canvas.shape(
        shape,
        &format!(
            r##"fill="#f2f2f2" fill-rule="evenodd" stroke="{NEIGHBOURS}" stroke-width=".7" stroke-dasharray="{LOT_DASH}""##
        ),
    );
}

pub(crate) fn drawn_look(wide: &str) -> String {
    format!(r##"stroke="#6f6f6f" stroke-width="{wide}""##)
}
