//! The few marks that a sheet is made of, as SVG text with as few bytes as will do.

use std::fmt::Write;

use geo::Coord;

use crate::shape::{Bounds, Shape};
use crate::text::{escaped, whole};
use crate::underlay;

/// Ink of lines and text.
pub(crate) const INK: &str = "#1a1a1a";
/// Quieter ink, still dark enough for a poor copy.
pub(crate) const GREY: &str = "#5c5c5c";

/// The finest line, in points: half a dot of a printer, and still to be seen.
const HAIR: f64 = 0.12;

/// Ink of halos.
const HALO: &str = "#fff";

/// Where a text stands from its point.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
}

/// How a text is set.
#[derive(Clone, Copy)]
pub(crate) struct Type {
    pub(crate) size: f64,
    pub(crate) bold: bool,
    pub(crate) ink: &'static str,
    pub(crate) anchor: Anchor,
    pub(crate) halo: bool,
}

impl Type {
    pub(crate) fn new(size: f64) -> Type {
        Type { size, bold: false, ink: INK, anchor: Anchor::Start, halo: false }
    }
    pub(crate) fn bold(self, bold: bool) -> Type {
        Type { bold, ..self }
    }
    pub(crate) fn ink(self, ink: &'static str) -> Type {
        Type { ink, ..self }
    }
    pub(crate) fn anchor(self, anchor: Anchor) -> Type {
        Type { anchor, ..self }
    }
    pub(crate) fn halo(self) -> Type {
        Type { halo: true, ..self }
    }
}

/// SVG text in the making.
pub(crate) struct Canvas {
    out: String,
    /// Shapes lie over a picture: their fills are of this opacity, and their lines have a halo.
    pub(crate) over_picture: Option<&'static str>,
}

impl Canvas {
    pub(crate) fn new() -> Canvas {
        Canvas { out: String::with_capacity(128 * 1024), over_picture: None }
    }

    pub(crate) fn finish(self) -> String {
        self.out
    }

    /// Markup as it stands.
    pub(crate) fn raw(&mut self, markup: &str) {
        self.out.push_str(markup);
    }

    pub(crate) fn path(&mut self, d: &str, attributes: &str) {
        if !d.is_empty() {
            self.out.push_str("<path d=\"");
            self.out.push_str(d);
            self.out.push('"');
            if !attributes.contains("fill=") {
                self.out.push_str(" fill=\"none\"");
            }
            self.out.push(' ');
            self.out.push_str(attributes);
            self.out.push_str("/>\n");
        }
    }

    pub(crate) fn shape(&mut self, shape: &Shape, attributes: &str) {
        if let Some(opacity) = self.over_picture {
            let path = shape.path();
            for look in underlay::over(attributes, opacity) {
                self.path(&path, &look);
            }
        } else {
            self.path(&shape.path(), attributes);
        }
    }

    /// The edge of a shape. No piece has a line that is broader than itself: a sliver would become
    /// a blob.
    pub(crate) fn edge(&mut self, shape: &Shape, weight: f64, look: impl Fn(&str) -> String) {
        let (mut bold, mut thin) = (Vec::new(), Vec::new());
        for piece in shape.pieces() {
            let fit = piece.breadth().max(HAIR);
            if fit < weight { thin.push((piece, fit)) } else { bold.push(piece) }
        }
        if thin.is_empty() {
            self.shape(shape, &look(&number(weight)));
            return;
        }
        let rings = bold.into_iter().flat_map(|piece| piece.rings).collect();
        if let Some(rest) = Shape::from_rings(rings) {
            self.shape(&rest, &look(&number(weight)));
        }
        for (piece, fit) in thin {
            self.shape(&piece, &look(&number(fit)));
        }
    }

    pub(crate) fn rect(&mut self, b: Bounds, attributes: &str) {
        self.out.push_str("<rect");
        for (name, value) in
            [("x", b.x0), ("y", b.y0), ("width", b.width()), ("height", b.height())]
        {
            let _ = write!(self.out, " {name}=\"{}\"", number(value));
        }
        self.out.push(' ');
        self.out.push_str(attributes);
        self.out.push_str("/>\n");
    }

    pub(crate) fn line(&mut self, from: Coord, to: Coord, attributes: &str) {
        self.path(&segment(from, to), attributes);
    }

    pub(crate) fn circle(&mut self, centre: Coord, radius: f64, attributes: &str) {
        let (x, y, r) = (number(centre.x), number(centre.y), number(radius));
        let _ = writeln!(self.out, r#"<circle cx="{x}" cy="{y}" r="{r}" {attributes}/>"#);
    }

    /// Text on its base line, and its halo beneath it.
    pub(crate) fn text(&mut self, x: f64, y: f64, set: Type, text: &str) {
        if set.halo {
            self.halo(x, y, set, text);
        }
        self.set(x, y, Type { halo: false, ..set }, text);
    }

    /// The halo of a text alone: the text once more, white and heavy, for what reads no text. A
    /// single text with its stroke painted first would do, but not all viewers know that order.
    pub(crate) fn halo(&mut self, x: f64, y: f64, set: Type, text: &str) {
        self.set(x, y, Type { halo: true, ink: HALO, ..set }, text);
    }

    fn set(&mut self, x: f64, y: f64, set: Type, text: &str) {
        let text = whole(text);
        if text.is_empty() {
            return;
        }
        let (x, y, size) = (number(x), number(y), number(set.size));
        let _ = write!(self.out, r#"<text x="{x}" y="{y}" font-size="{size}""#);
        if set.bold {
            self.out.push_str(r#" font-weight="700""#);
        }
        if set.ink != INK {
            let _ = write!(self.out, r#" fill="{}""#, set.ink);
        }
        match set.anchor {
            Anchor::Start => {}
            Anchor::Middle => self.out.push_str(r#" text-anchor="middle""#),
        }
        if set.halo {
            let wide = number(set.size * 0.28);
            let _ = write!(
                self.out,
                r##" stroke="#fff" stroke-width="{wide}" stroke-linejoin="round" aria-hidden="true""##
            );
        }
        let _ = writeln!(self.out, ">{}</text>", escaped(&text));
    }
}

/// Two decimals at most: a hundredth of a point is a thirtieth of a printer's dot.
pub(crate) fn number(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let mut text = format!("{value:.2}");
    while text.ends_with('0') {
        text.pop();
    }
    if text.ends_with('.') {
        text.pop();
    }
    if text == "-0" { "0".to_owned() } else { text }
}

/// Path data of one straight line.
pub(crate) fn segment(from: Coord, to: Coord) -> String {
    let mut d = String::new();
    push_segment(&mut d, from, to);
    d
}

/// Adds one straight line to path data.
pub(crate) fn push_segment(d: &mut String, from: Coord, to: Coord) {
    push_point(d, 'M', from);
    push_point(d, 'L', to);
}

/// Adds one step to path data.
pub(crate) fn push_point(d: &mut String, step: char, at: Coord) {
    let _ = write!(d, "{step}{} {}", number(at.x), number(at.y));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_halo_lies_beneath_its_text_in_every_viewer() {
        let mut canvas = Canvas::new();
        canvas.text(1.0, 2.0, Type::new(8.0).halo().bold(true), "Lawn");
        let drawn = canvas.finish();
        let [beneath, above] = drawn.lines().collect::<Vec<_>>()[..] else {
            panic!("{drawn}");
        };
        assert!(beneath.contains(r##"stroke="#fff""##) && beneath.contains(r##"fill="#fff""##));
        assert!(beneath.contains("aria-hidden") && !above.contains("stroke"), "{drawn}");
        assert!(!drawn.contains("paint-order"));
    }

    #[test]
    fn numbers_have_two_decimals_at_most() {
        for (value, text) in [
            (1.0, "1"),
            (-0.001, "0"),
            (10.0, "10"),
            (1.256, "1.26"),
            (f64::NAN, "0"),
            (0.5, "0.5"),
        ] {
            assert_eq!(number(value), text);
        }
    }
}
