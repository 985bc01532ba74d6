//! How an hour looks. Nothing is said by color: hatch, dots and a dark corner can be told apart on a poor
//! copy.

use geo::Coord;

use super::{FIT_FILL, MARGIN, StripLook, TEXT};
use crate::canvas::{Canvas, GREY, INK, Type, push_point, push_segment};
use crate::font;
use crate::shape::Bounds;

/// Inside the frame by a hair, so that neighbors stay apart.
fn inner(b: Bounds) -> Bounds {
    Bounds { x0: b.x0 + 0.4, y0: b.y0 + 0.4, x1: b.x1 - 0.4, y1: b.y1 - 0.4 }
}

pub(super) fn outline(d: &mut String, b: Bounds) {
    let b = inner(b);
    for (step, x, y) in [('M', b.x0, b.y0), ('L', b.x1, b.y0), ('L', b.x1, b.y1), ('L', b.x0, b.y1)]
    {
        push_point(d, step, Coord { x, y });
    }
    d.push('Z');
}

/// A dark triangle in the upper right corner.
pub(super) fn corner(d: &mut String, b: Bounds) {
    let b = inner(b);
    let side = 5.5;
    for (step, x, y) in [('M', b.x1 - side, b.y0), ('L', b.x1, b.y0), ('L', b.x1, b.y0 + side)] {
        push_point(d, step, Coord { x, y });
    }
    d.push('Z');
}

/// Lines that fall to the left and run on from cell to cell.
pub(super) fn stripes(d: &mut String, b: Bounds) {
    const STEP: f64 = 3.2;
    let b = inner(b);
    // A line is where x + y is the same.
    let mut sum = ((b.x0 + b.y0) / STEP).ceil() * STEP;
    while sum < b.x1 + b.y1 {
        let from = Coord { x: (sum - b.y0).min(b.x1), y: (sum - b.x1).max(b.y0) };
        let to = Coord { x: (sum - b.y1).max(b.x0), y: (sum - b.x0).min(b.y1) };
        push_segment(d, from, to);
        sum += STEP;
    }
}

pub(super) fn dotted(d: &mut String, b: Bounds) {
    let (columns, rows) = (3, 4);
    for column in 0..columns {
        for row in 0..rows {
            let share = |at: i32, of: i32| (f64::from(at) + 0.5) / f64::from(of);
            let at = Coord {
                x: b.x0 + b.width() * share(column, columns),
                y: b.y0 + b.height() * share(row, rows),
            };
            push_segment(d, at, at);
        }
    }
}

/// What the looks mean.
pub(super) fn key(canvas: &mut Canvas, y: f64) -> f64 {
    let mut x = MARGIN;
    let looks = [
        (StripLook::Fit, "fit"),
        (StripLook::Advisory, "fit, something to mind"),
        (StripLook::NotFit, "not fit"),
        (StripLook::Unknown, "not known"),
    ];
    for (look, words) in looks {
        let b = Bounds { x0: x, y0: y - 4.0, x1: x + 18.0, y1: y + 8.0 };
        let mut d = String::new();
        match look {
            StripLook::Fit | StripLook::Advisory => {
                outline(&mut d, b);
                canvas.path(&d, &format!(r#"fill="{FIT_FILL}""#));
                let mut d = String::new();
                corner(&mut d, b);
                if look == StripLook::Advisory {
                    canvas.path(&d, &format!(r#"fill="{INK}""#));
                }
            }
            StripLook::NotFit => {
                stripes(&mut d, b);
                canvas.path(&d, &format!(r#"stroke="{INK}" stroke-width="0.7""#));
            }
            StripLook::Unknown => {
                dotted(&mut d, b);
                let look = r#" stroke-width="1.1" stroke-linecap="round""#;
                canvas.path(&d, &format!(r#"stroke="{GREY}"{look}"#));
            }
        }
        canvas.rect(b, &format!(r#"fill="none" stroke="{INK}" stroke-width="0.5""#));
        canvas.text(b.x1 + 5.0, y + 5.0, Type::new(TEXT), words);
        x = b.x1 + 5.0 + font::width(words, TEXT, false) + 18.0;
    }
    let mut night = String::new();
    for line in 0..4 {
        let y = y - 3.0 + f64::from(line) * 3.0;
        push_segment(&mut night, Coord { x, y }, Coord { x: x + 18.0, y });
    }
    canvas.path(&night, &format!(r#"stroke="{GREY}" stroke-width="0.5""#));
    canvas.text(x + 23.0, y + 5.0, Type::new(TEXT), "dark");
    y + 24.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hatch_stays_in_its_cell() {
        let b = Bounds { x0: 10.0, y0: 20.0, x1: 22.0, y1: 38.0 };
        let mut d = String::new();
        stripes(&mut d, b);
        let numbers: Vec<f64> = d
            .split(|c: char| !(c.is_ascii_digit() || c == '.'))
            .filter_map(|text| text.parse().ok())
            .collect();
        assert!(numbers.len() > 20);
        for pair in numbers.chunks(2) {
            assert!(
                (10.0..=22.0).contains(&pair[0]) && (20.0..=38.0).contains(&pair[1]),
                "{pair:?}"
            );
        }
    }
}
