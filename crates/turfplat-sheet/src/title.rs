//! The title strip: one calm line of fields across the head of the sheet, each with its
//! name in small print above, as on a survey.

use crate::canvas::{Anchor, Canvas, GREY, INK, Type};
use crate::font;
use crate::map::SprayMap;
use crate::shape::Bounds;
use crate::text::{fit, wrap};

struct Field {
    name: String,
    lines: Vec<String>,
    size: f64,
    bold: bool,
    left: f64,
    width: f64,
    blank: bool,
}

/// The fields, measured for one width.
pub(crate) struct Title {
    pub(crate) height: f64,
    fields: Vec<Field>,
    scale: f64,
}

impl Title {
    /// `scale` is 1 on paper and more on a screen; `sheet` its number and how many there are.
    pub(crate) fn new(
        map: &SprayMap,
        width: f64,
        scale: f64,
        (number, count): (usize, usize),
    ) -> Title {
        let kind = match count {
            1 => map.title().to_owned(),
            _ => format!("{}, sheet {number} of {count}", map.title()),
        };
        let blank = map.date.is_none();
        // Name, text, share of the width, largest and smallest size, bold.
        let wanted = [
            (kind.as_str(), map.application.clone(), 0.20, 17.0, 9.0, true),
            ("Property", map.property.clone(), 0.22, 11.0, 7.5, true),
            ("Products", map.products.join("; "), 0.25, 8.5, 6.5, false),
            ("Equipment", map.equipment.clone(), 0.21, 8.5, 6.5, false),
            ("Date", map.date.clone().unwrap_or_default(), 0.12, 9.0, 7.0, false),
        ];
        let wanted: Vec<_> = wanted
            .into_iter()
            .filter(|(name, text, ..)| !text.is_empty() || *name == kind || *name == "Date")
            .collect();
        let shares: f64 = wanted.iter().map(|(_, _, share, ..)| share).sum();
        let mut left = 0.0;
        let mut fields = Vec::new();
        for (name, text, share, largest, smallest, bold) in wanted {
            let wide = width * share / shares;
            let room = wide - 10.0 * scale;
            let (size, lines) = set(&text, largest * scale, smallest * scale, bold, room);
            fields.push(Field {
                name: name.to_owned(),
                lines,
                size,
                bold,
                left,
                width: wide,
                blank: blank && name == "Date",
            });
            left += wide;
        }
        let tallest =
            fields.iter().map(|f| f.lines.len() as f64 * f.size * 1.18).fold(0.0, f64::max);
        Title { height: (13.0 * scale + tallest.max(17.0 * scale)).ceil(), fields, scale }
    }

    pub(crate) fn draw(&self, canvas: &mut Canvas, b: Bounds) {
        let scale = self.scale;
        // A heavy rule above, a light one below: the sheet's only ornament.
        canvas.rect(Bounds::new(b.x0, b.y0, b.width(), 2.4 * scale), &format!(r#"fill="{INK}""#));
        canvas.rect(Bounds::new(b.x0, b.y1 - 0.6, b.width(), 0.6), &format!(r#"fill="{INK}""#));
        for (index, field) in self.fields.iter().enumerate() {
            let pad = if index == 0 { 0.0 } else { 5.0 * scale };
            let x = b.x0 + field.left + pad;
            if index > 0 {
                let rule = Bounds::new(x - pad, b.y0 + 6.0 * scale, 0.4, self.height - 9.5 * scale);
                canvas.rect(rule, &format!(r#"fill="{GREY}""#));
            }
            let name = Type::new(6.2 * scale).ink(GREY);
            canvas.text(x, b.y0 + 10.0 * scale, name, &field.name);
            let mut base = b.y0 + 11.5 * scale + field.size;
            for line in &field.lines {
                let set = Type::new(field.size).bold(field.bold).anchor(Anchor::Start);
                canvas.text(x, base, set, line);
                base += field.size * 1.18;
            }
            if field.blank {
                let y = b.y1 - 6.0 * scale;
                let rule = Bounds::new(x, y, field.width - 6.0 * scale, 0.6);
                canvas.rect(rule, &format!(r#"fill="{INK}" data-blank="date""#));
            }
        }
    }
}

/// One line to three, at the largest size that takes the text; cut off only below the smallest.
fn set(text: &str, largest: f64, smallest: f64, bold: bool, room: f64) -> (f64, Vec<String>) {
    let mut size = largest;
    loop {
        let most = match size {
            size if size <= smallest => 3,
            size if largest > 10.0 && size > largest * 0.72 => 1,
            _ => 2,
        };
        let lines = wrap(text, size, bold, room);
        let whole_words = text.split(' ').all(|word| font::width(word, size, bold) <= room);
        if lines.len() <= most && whole_words {
            return (size, lines);
        }
        if size <= smallest {
            let mut kept: Vec<String> = lines.into_iter().take(3).collect();
            if wrap(text, size, bold, room).len() > 3
                && let Some(last) = kept.last_mut()
            {
                *last = fit(&format!("{last}  …"), size, bold, room);
            }
            return (size, kept);
        }
        size = (size - 0.5).max(smallest);
    }
}
