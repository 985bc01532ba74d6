//! Patterns of ground that is not turf: quiet, sparse and each of its own kind of sign,
//! so that none is taken for a hatch of grass.

use std::fmt::Write;

use geo::Coord;

use crate::canvas::{Canvas, number};
use crate::map::Kind;
use crate::shape::{Bounds, Shape};

/// Ink of ground that is held back.
pub(crate) const STRIP_INK: &str = "#8f1d2c";

/// Ink of what belongs to other properties.
pub(crate) const NEIGHBOURS: &str = "#8a8a8a";

/// More signs than this on one shape are thinned out.
const MOST_SIGNS: f64 = 3_000.0;

/// How ground of one kind is drawn.
struct Look {
    fill: &'static str,
    edge: &'static str,
    edge_width: f64,
    ink: &'static str,
    weight: f64,
    gap: f64,
    /// Path data around the origin.
    sign: &'static str,
    /// Half the size of the sign.
    reach: f64,
}

impl Look {
    fn of(kind: Kind) -> Look {
        let look = |fill, edge, ink, gap, sign, reach| Look {
            fill,
            edge,
            edge_width: 0.6,
            ink,
            weight: 0.5,
            gap,
            sign,
            reach,
        };
        match kind {
            Kind::Building => {
                Look { edge_width: 1.0, ..look("#c9c9c9", "#333333", "#8a8a8a", 0.0, "", 0.0) }
            }
            Kind::Hardscape => look("#ebe9e5", "#8c8880", "#9c978d", 9.0, "m-.4 0h.8", 0.6),
            Kind::Water => look(
                "#d9ebf5",
                "#1f5f8b",
                "#4a86ad",
                13.0,
                "m-4 0q1-1.6 2-1.6t2 1.6 2 1.6 2-1.6",
                4.2,
            ),
            Kind::Bed => {
                look("#f4ece1", "#7d6648", "#a58a66", 8.0, "m-1.6-1.4l1.6 2.8 1.6-2.8", 1.8)
            }
            Kind::Garden => look(
                "#f1efe0",
                "#6b6a2f",
                "#8b8a45",
                8.0,
                "m0 2.2v-4m-1.8 1.6l1.8 1.6 1.8-1.6",
                2.2,
            ),
            Kind::Play => look("#f3eef6", "#6d5a7d", "#8f7ca0", 10.0, "m-2 1.5h4l-2-3.4z", 2.2),
            Kind::Apiary => look(
                "#fbf4dc",
                "#7a6311",
                "#a0851f",
                9.0,
                "m-2 -1.15v2.3l2 1.15 2-1.15v-2.3l-2-1.15z",
                2.4,
            ),
            Kind::KeepOut => look("#ffffff", "#333333", "#777777", 9.0, "m-2 0h4m-2-2v4", 2.2),
            Kind::Drain => look("#dddddd", "#222222", "#222222", 3.5, "m-1 0h2", 1.1),
            Kind::VegStrip => look(
                "#eef3e6",
                "#56703c",
                "#6f8a55",
                9.0,
                "m-2.2 1.2l.8-2.4m1.4 2.4v-3.4m2.2 3.4l-.8-2.4",
                2.4,
            ),
        }
    }
}

/// Words of the legend.
pub(crate) fn words(kind: Kind) -> &'static str {
    match kind {
        Kind::Building => "building",
        Kind::Hardscape => "paving",
        Kind::Water => "water",
        Kind::Bed => "bed",
        Kind::Garden => "edible garden",
        Kind::Play => "play area",
        Kind::Apiary => "apiary",
        Kind::KeepOut => "keep out",
        Kind::Drain => "storm drain",
        Kind::VegStrip => "natural vegetation",
    }
}

/// A feature: fill, signs, edge; in grey if it is a neighbour's. `origin` is where the grid of signs begins.
pub(crate) fn feature(
    canvas: &mut Canvas,
    (kind, is_neighbours): (Kind, bool),
    shape: &Shape,
    frame: Bounds,
    origin: Coord,
) {
    let mut look = Look::of(kind);
    if is_neighbours {
        (look.fill, look.edge, look.ink) = ("#ebebeb", NEIGHBOURS, "#a8a8a8");
    }
    canvas.shape(shape, &format!(r#"fill="{}" fill-rule="evenodd""#, look.fill));
    let signs = scatter(shape, frame, origin, (look.gap, look.sign, look.reach));
    canvas
        .path(&signs, &format!(r#"stroke="{}" stroke-width="{}""#, look.ink, number(look.weight)));
    let edge = |wide: &str| format!(r#"stroke="{}" stroke-width="{wide}""#, look.edge);
    canvas.edge(shape, look.edge_width, edge);
}

/// Ground held back: crosses say "not here", a dashed edge says how far.
pub(crate) fn strip(canvas: &mut Canvas, shape: &Shape, frame: Bounds, origin: Coord) {
    canvas.shape(shape, r##"fill="#fdf3f2" fill-rule="evenodd""##);
    let crosses = scatter(shape, frame, origin, (8.0, "m-1.2-1.2l2.4 2.4m0-2.4l-2.4 2.4", 1.3));
    canvas.path(&crosses, &format!(r#"stroke="{STRIP_INK}" stroke-width=".55""#));
}

/// The dashed edge of a strip, drawn last so that no neighbour hides it.
pub(crate) fn strip_edge(canvas: &mut Canvas, shape: &Shape) {
    canvas.shape(
        shape,
        &format!(r#"stroke="{STRIP_INK}" stroke-width="1" stroke-dasharray="4 2.4""#),
    );
}

/// Signs on a staggered grid through `origin`, where they fit wholly: their gap, their path
/// and half their size.
fn scatter(
    shape: &Shape,
    frame: Bounds,
    origin: Coord,
    (gap, sign, reach): (f64, &str, f64),
) -> String {
    let mut d = String::new();
    let seen = shape.bounds.common(frame);
    if sign.is_empty() || seen.width() <= 0.0 || seen.height() <= 0.0 {
        return d;
    }
    let gap = gap.max((seen.width() * seen.height() / MOST_SIGNS).sqrt());
    let rise = gap * 0.8;
    let rows =
        ((seen.y0 - origin.y) / rise).ceil() as i64..=((seen.y1 - origin.y) / rise).floor() as i64;
    for row in rows {
        let y = origin.y + row as f64 * rise;
        let start = origin.x + if row % 2 == 0 { 0.0 } else { gap / 2.0 };
        let columns =
            ((seen.x0 - start) / gap).ceil() as i64..=((seen.x1 - start) / gap).floor() as i64;
        for column in columns {
            let at = Coord { x: start + column as f64 * gap, y };
            if shape.covers(Bounds::around(at, 2.0 * reach, 2.0 * reach)) {
                let _ = write!(d, "M{} {}{sign}", number(at.x), number(at.y));
            }
        }
    }
    d
}
