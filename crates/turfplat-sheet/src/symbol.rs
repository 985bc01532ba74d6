//! Signs for points. Each has an outline of its own, so that size and colour do not matter.

use geo::Coord;

use crate::canvas::{Anchor, Canvas, INK, Type, number, push_point};
use crate::map::MarkKind;

/// Half the width of every symbol, in points.
pub(crate) const REACH: f64 = 5.0;

/// Words of the legend.
pub(crate) fn words(kind: MarkKind) -> &'static str {
    match kind {
        MarkKind::Well => "well",
        MarkKind::Drain => "storm drain",
        MarkKind::Apiary => "bee hives",
        MarkKind::MixSite => "mix and fill here",
    }
}

/// The sign of a mark, centred.
pub(crate) fn mark(canvas: &mut Canvas, kind: MarkKind, at: Coord, ink: &str) {
    let (x, y) = (number(at.x), number(at.y));
    let thin = format!(r##"fill="#fff" stroke="{ink}" stroke-width="1""##);
    let solid = format!(r#"fill="{ink}""#);
    match kind {
        // A shaft seen from above, with the water in it.
        MarkKind::Well => {
            canvas.circle(at, 4.4, &thin);
            canvas.circle(at, 1.9, &solid);
        }
        // A grate.
        MarkKind::Drain => {
            canvas.path(&format!("M{x} {y}m-4.2-4.2h8.4v8.4h-8.4z"), &thin);
            canvas.path(
                &format!("M{x} {y}m-2.1-2.6v5.2m2.1-5.2v5.2m2.1-5.2v5.2"),
                &format!(r#"stroke="{ink}" stroke-width="1""#),
            );
        }
        // A comb cell.
        MarkKind::Apiary => {
            canvas.path(&format!("M{x} {y}m-4.3-2.5l4.3-2.5 4.3 2.5v5l-4.3 2.5-4.3-2.5z"), &thin);
            canvas
                .path(&format!("M{x} {y}m-1.9-1.1l1.9-1.1 1.9 1.1v2.2l-1.9 1.1-1.9-1.1z"), &solid);
        }
        // A can with its handle.
        MarkKind::MixSite => {
            canvas.path(&format!("M{x} {y}m-4.4-1.8h8.8l-1.2 6.4h-6.4z"), &solid);
            canvas.path(
                &format!("M{x} {y}m-3.2-1.8a3.2 3 0 0 1 6.4 0"),
                &format!(r#"stroke="{ink}" stroke-width="1.1""#),
            );
        }
    }
}

/// A needle, one half dark; `height` from tip to foot, the letter above it included.
pub(crate) fn north(canvas: &mut Canvas, centre: Coord, height: f64) {
    let letter = height * 0.3;
    let (top, foot) = (centre.y - height / 2.0 + letter * 1.1, centre.y + height / 2.0);
    let (half, notch) = (height * 0.16, foot - height * 0.14);
    let half_needle = |side: f64| {
        format!(
            "M{} {}L{} {}L{} {}Z",
            number(centre.x),
            number(top),
            number(centre.x + side * half),
            number(foot),
            number(centre.x),
            number(notch),
        )
    };
    let edge = format!(r#"stroke="{INK}" stroke-width=".7" stroke-linejoin="round""#);
    canvas.path(&half_needle(-1.0), &format!(r#"fill="{INK}" {edge}"#));
    canvas.path(&half_needle(1.0), &format!(r##"fill="#fff" {edge}"##));
    let set = Type::new(letter).bold(true).anchor(Anchor::Middle);
    canvas.text(centre.x, top - letter * 0.22, set, "N");
}

/// An arrow with the wind, so long from tail to head; `degrees` are those from where it blows.
pub(crate) fn wind(canvas: &mut Canvas, centre: Coord, length: f64, degrees: f64) {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let along = Coord { x: -sin, y: cos };
    let across = Coord { x: -along.y, y: along.x };
    let (tail, head) = (centre - along * (length / 2.0), centre + along * (length / 2.0));
    let neck = head - along * (length * 0.42);
    canvas.line(tail, neck, &format!(r#"stroke="{INK}" stroke-width="1.6" data-wind="{degrees}""#));
    let wing = across * (length * 0.2);
    let mut d = String::new();
    for (step, at) in [('M', head), ('L', neck + wing), ('L', neck - wing)] {
        push_point(&mut d, step, at);
    }
    canvas.path(&format!("{d}Z"), &format!(r#"fill="{INK}""#));
}

/// A number in a ring.
pub(crate) fn key_number(canvas: &mut Canvas, centre: Coord, size: f64, text: &str) {
    let radius = key_reach(size, text);
    canvas.circle(centre, radius, &format!(r##"fill="#fff" stroke="{INK}" stroke-width=".7""##));
    let set = Type::new(size).bold(true).anchor(Anchor::Middle);
    canvas.text(centre.x, centre.y + size * crate::font::CAP_HEIGHT / 2.0, set, text);
}

/// Half the width of [`key_number`].
pub(crate) fn key_reach(size: f64, text: &str) -> f64 {
    let wide = crate::font::width(text, size, true);
    (wide / 2.0).hypot(size * 0.36) + size * 0.15
}
