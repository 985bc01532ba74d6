//! Rows of text that run down columns, measured before they are drawn.

use std::ops::Range;

use crate::canvas::{Canvas, GREY, INK, Type};
use crate::legend::Key;
use crate::shape::Bounds;
use crate::text::wrap;

/// What stands at the left of a row.
#[derive(Clone, Debug)]
pub(crate) enum Sign {
    Nothing,
    /// A heading, with a rule above.
    Rule,
    /// The heavy bar of a caution.
    Bar,
    /// A box to tick when a load is out.
    Tick,
    /// A sample of the legend.
    Sample(Key),
    /// A number of the key.
    Number(String),
}

/// One line of a column.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub(crate) height: f64,
    /// Stays in one column with the next row.
    pub(crate) keep: bool,
    sign: Sign,
    indent: f64,
    text: String,
    bold: bool,
    size: f64,
}

impl Row {
    /// A gap may fall away at the head of a column.
    pub(crate) fn is_gap(&self) -> bool {
        self.text.is_empty()
    }
}

/// Writes rows for a column of one width and one size of text.
pub(crate) struct Writer {
    pub(crate) size: f64,
    pub(crate) width: f64,
    pub(crate) rows: Vec<Row>,
}

impl Writer {
    pub(crate) fn new(size: f64, width: f64) -> Writer {
        Writer { size, width, rows: Vec::new() }
    }

    fn line_height(&self) -> f64 {
        self.size * 1.3
    }

    pub(crate) fn gap(&mut self, share: f64) {
        self.rows.push(Row {
            height: self.size * share,
            keep: false,
            sign: Sign::Nothing,
            indent: 0.0,
            text: String::new(),
            bold: false,
            size: self.size,
        });
    }

    /// Holds the last row and the next in one column.
    pub(crate) fn bind(&mut self) {
        if let Some(row) = self.rows.last_mut() {
            row.keep = true;
        }
    }

    /// Holds the rows from `first` on in one column, if they are few.
    pub(crate) fn bind_if_short(&mut self, first: usize) {
        if let Some([all @ .., _]) = self.rows.get_mut(first..)
            && all.len() < 14
        {
            all.iter_mut().for_each(|row| row.keep = true);
        }
    }

    pub(crate) fn heading(&mut self, text: &str) {
        if !self.rows.is_empty() {
            self.gap(0.7);
        }
        self.rows.push(Row {
            height: self.size * 1.75,
            keep: true,
            sign: Sign::Rule,
            indent: 0.0,
            text: text.to_owned(),
            bold: true,
            size: self.size * 1.05,
        });
    }

    /// Text broken into rows; the sign stands before the first of them.
    pub(crate) fn item(&mut self, sign: Sign, text: &str, bold: bool) {
        let indent = match &sign {
            Sign::Nothing | Sign::Rule => 0.0,
            Sign::Bar => self.size * 0.8,
            Sign::Tick => self.size * 1.25,
            Sign::Sample(_) => self.size * 3.9,
            Sign::Number(number) => {
                crate::symbol::key_reach(self.size * 0.72, number) * 2.0 + self.size * 0.5
            }
        };
        let lines = wrap(text, self.size, bold, (self.width - indent).max(self.size));
        let count = lines.len();
        let is_bar = matches!(sign, Sign::Bar);
        for (index, line) in lines.into_iter().enumerate() {
            let first = index == 0;
            let tall = first && matches!(sign, Sign::Sample(_));
            self.rows.push(Row {
                height: if tall { self.size * 1.6 } else { self.line_height() },
                // A text stays together; only a long one may break, and never leaves one line alone.
                keep: index + 1 < count && (first || count <= 6 || index + 2 == count),
                sign: if first || is_bar { sign.clone() } else { Sign::Nothing },
                indent,
                text: line,
                bold,
                size: self.size,
            });
        }
        if let (true, Some(last)) = (count > 0, self.rows.last_mut()) {
            last.height += self.size * 0.22;
        }
    }
}

/// Which rows stand in which column, or `None` if the columns are too short for all.
pub(crate) fn columns(rows: &[Row], heights: &[f64]) -> Option<Vec<Range<usize>>> {
    let mut columns: Vec<Range<usize>> = Vec::new();
    let mut used = f64::INFINITY;
    let mut at = 0;
    while at < rows.len() {
        let mut end = at;
        while end + 1 < rows.len() && rows[end].keep {
            end += 1;
        }
        let needed: f64 = rows[at..=end].iter().map(|row| row.height).sum();
        while columns.is_empty() || used + needed > heights[columns.len() - 1] {
            if columns.len() == heights.len() {
                return None;
            }
            columns.push(at..at);
            used = 0.0;
        }
        if let Some(column) = columns.last_mut() {
            // A gap at the head of a column would only lower it.
            if used == 0.0 && rows[at].is_gap() {
                *column = at + 1..at + 1;
            } else {
                used += needed;
                column.end = end + 1;
            }
        }
        at = end + 1;
    }
    Some(columns)
}

/// Where parts begin that could stand apart from what is before them.
pub(crate) fn headings(rows: &[Row]) -> impl Iterator<Item = usize> {
    (1..rows.len()).filter(|&at| matches!(rows[at].sign, Sign::Rule))
}

/// The least height at which all rows stand in `count` columns, up to `most`. The columns
/// in `fixed` come after these and are as high as they are.
pub(crate) fn least_height(rows: &[Row], count: usize, most: f64, fixed: &[f64]) -> Option<f64> {
    let fits = |height: f64| {
        let heights: Vec<f64> =
            std::iter::repeat_n(height, count).chain(fixed.iter().copied()).collect();
        columns(rows, &heights).is_some()
    };
    if !fits(most) {
        return None;
    }
    let (mut low, mut high) = (0.0, most);
    while high - low > 0.5 {
        let middle = f64::midpoint(low, high);
        if fits(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}

/// Draws one column with its upper left corner at `x`, `y`.
pub(crate) fn draw(canvas: &mut Canvas, rows: &[Row], x: f64, y: f64, width: f64) {
    let mut top = y;
    for row in rows {
        let mut base = top + row.size * 1.02;
        match &row.sign {
            Sign::Nothing => {}
            Sign::Rule => {
                let rule = Bounds::new(x, top, width, 0.7);
                canvas.rect(rule, &format!(r#"fill="{INK}""#));
                base = top + row.size * 1.3;
            }
            Sign::Bar => {
                let bar = Bounds::new(x, top, row.size * 0.32, row.size * 1.3);
                canvas.rect(bar, &format!(r#"fill="{INK}""#));
            }
            Sign::Tick => {
                let side = row.size * 0.8;
                let tick = Bounds::new(x + 0.4, base - side * 0.95, side, side);
                canvas.rect(tick, &format!(r##"fill="#fff" stroke="{GREY}" stroke-width=".7""##));
            }
            Sign::Sample(key) => {
                let sample =
                    Bounds::new(x + 0.5, top + row.size * 0.08, row.size * 3.2, row.size * 1.3);
                key.draw(canvas, sample);
                base = top + row.size * 1.1;
            }
            Sign::Number(number) => {
                let size = row.size * 0.72;
                let reach = crate::symbol::key_reach(size, number);
                let at = geo::Coord { x: x + reach + 0.5, y: base - row.size * 0.36 };
                crate::symbol::key_number(canvas, at, size, number);
            }
        }
        canvas.text(x + row.indent, base, Type::new(row.size).bold(row.bold), &row.text);
        top += row.height;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_stands_in_one_column_and_headings_never_alone_at_the_foot() {
        let mut writer = Writer::new(8.0, 120.0);
        for part in 0..6 {
            writer.heading(&format!("Part {part}"));
            for _ in 0..part {
                writer.item(Sign::Tick, "load 1: 3 gal = 0.75 fl oz + 2.99 gal water", false);
            }
            writer.item(Sign::Nothing, "a last line", false);
        }
        let rows = writer.rows;
        let height = least_height(&rows, 3, 500.0, &[]).unwrap();
        let columns = columns(&rows, &[height; 3]).unwrap();
        let mut next = 0;
        for column in columns {
            assert!(rows[next..column.start].iter().all(|row| row.text.is_empty()));
            assert!(rows[column.clone()].iter().map(|row| row.height).sum::<f64>() <= height);
            assert!(!rows[column.end - 1].keep);
            next = column.end;
        }
        assert_eq!(next, rows.len());
        assert!(least_height(&rows, 1, 50.0, &[]).is_none());
    }
}
