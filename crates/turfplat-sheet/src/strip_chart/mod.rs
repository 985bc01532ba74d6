//! Why hours are drawn as a strip and not as a list: in a list of 156 hours nobody sees that rain on
//! Thursday closes Wednesday evening. Rows are rules and columns are hours, so the eye runs down a column
//! to see what stops it and along a row to see how long. Nothing is said by color: what is not fit is
//! hatched, what is not known is dotted, and what is fit is plain.

mod looks;
mod panel;

use std::fmt::Write;
use std::ops::Range;

use crate::canvas::{Canvas, GREY, Type, number};
use crate::font;
use crate::text::{escaped, plain, wrap};

/// Hours before rules.
#[derive(Clone, Debug, Default)]
pub struct StripChart {
    /// What it is about, in large letters.
    pub title: String,
    /// Lines below it.
    pub about: Vec<String>,
    /// The columns, from left to right.
    pub hours: Vec<StripHour>,
    /// The rows, from the top; the first is that of all rules together.
    pub rows: Vec<StripRow>,
    /// Hours in a row that are fit, the best first.
    pub windows: Vec<StripWindow>,
    /// Sentences below the chart.
    pub notes: Vec<String>,
}

/// A column.
#[derive(Clone, Debug, Default)]
pub struct StripHour {
    /// Its day, the same words for all hours of one day.
    pub day: String,
    /// Its hour, two digits; with the offset behind it where clocks are set back and it comes twice.
    pub clock: String,
    /// The sun is down in it, or in a part of it.
    pub is_dark: bool,
}

/// A row.
#[derive(Clone, Debug, Default)]
pub struct StripRow {
    /// What it is about.
    pub name: String,
    /// What is asked, in small letters.
    pub asked: String,
    /// One for each column.
    pub cells: Vec<StripCell>,
}

/// Where a row and a column meet.
#[derive(Clone, Debug, Default)]
pub struct StripCell {
    /// How it is drawn.
    pub look: StripLook,
    /// A figure, printed where there is room for it.
    pub figure: String,
}

/// How an hour stands to a rule.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum StripLook {
    /// Plain and light.
    Fit,
    /// Plain and light, with a dark corner.
    Advisory,
    /// Hatched.
    NotFit,
    /// Dotted.
    #[default]
    Unknown,
}

/// Hours in a row that are fit.
#[derive(Clone, Debug, Default)]
pub struct StripWindow {
    /// Its columns.
    pub hours: Range<usize>,
    /// The columns of its best part.
    pub best: Range<usize>,
    /// When it is and what is to be minded, on a line of its own.
    pub words: String,
}

const WIDTH: f64 = 800.0;
const MARGIN: f64 = 24.0;
const PANEL_GAP: f64 = 16.0;
const SMALL: f64 = 6.4;
const TEXT: f64 = 8.4;
const TITLE: f64 = 16.0;
/// The words of a window stand right of its number.
const NUMBER: f64 = 16.0;
/// So many windows are told in words; the rest are counted.
const WINDOWS_TOLD: usize = 8;
/// Light enough to be white on a poor copy, and told from the paper by its frame.
const FIT_FILL: &str = "#eef3f5";

/// Draws hours before rules, as SVG text.
///
/// * Out: the same bytes for the same chart; 1600 dots wide and as high as it needs, for
///   [`png`](crate::png()) with [`Page::Screen`](crate::Page::Screen).
/// * Two days stand side by side, further ones below them. Words that have no room are cut with an
///   ellipsis; notes never are.
pub fn strip_svg(chart: &StripChart) -> String {
    let mut canvas = Canvas::new();
    canvas.raw("<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n");
    let mut y = heading(&mut canvas, chart);
    for columns in panel::panels(&chart.hours) {
        y = panel::panel(&mut canvas, chart, columns, y) + PANEL_GAP;
    }
    y = looks::key(&mut canvas, y);
    y = told(&mut canvas, chart, y);
    for note in &chart.notes {
        y = lines(&mut canvas, note, (MARGIN, y), Type::new(TEXT - 0.6).ink(GREY));
    }
    canvas.raw("</svg>\n");
    let drawn = canvas.finish();
    let high = (y + MARGIN - TEXT).ceil();
    let mut head = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{}" height="{}" viewBox="0 0 {} {}" font-family="Inter, Helvetica, Arial, sans-serif">"#,
        number(WIDTH * 2.0),
        number(high * 2.0),
        number(WIDTH),
        number(high)
    );
    let _ = writeln!(head, "\n<title>{}</title>", escaped(&chart.title));
    [head, font::style_rule(&drawn), drawn].concat()
}

fn heading(canvas: &mut Canvas, chart: &StripChart) -> f64 {
    let title = Type::new(TITLE).bold(true);
    let mut y = lines(canvas, &plain(&chart.title), (MARGIN, MARGIN + 12.0), title) - 5.0;
    for line in &chart.about {
        y = lines(canvas, line, (MARGIN, y), Type::new(TEXT));
    }
    y + 4.0
}

/// A text on as many lines as it needs, from a point on; where the next one goes.
fn lines(canvas: &mut Canvas, text: &str, (x, mut y): (f64, f64), set: Type) -> f64 {
    for line in wrap(text, set.size, set.bold, WIDTH - MARGIN - x) {
        canvas.text(x, y, set, &line);
        y += set.size * 1.35;
    }
    y + set.size * 0.2
}

fn told(canvas: &mut Canvas, chart: &StripChart, mut y: f64) -> f64 {
    for (window, rank) in chart.windows.iter().zip(1..).take(WINDOWS_TOLD) {
        canvas.text(MARGIN, y, Type::new(TEXT).bold(true), &format!("{rank}"));
        y = lines(canvas, &window.words, (MARGIN + NUMBER, y), Type::new(TEXT));
    }
    if chart.windows.is_empty() {
        let words = "No window: no hour is fit.";
        y = lines(canvas, words, (MARGIN, y), Type::new(TEXT).bold(true));
    }
    let more = chart.windows.len().saturating_sub(WINDOWS_TOLD);
    if more > 0 {
        y = lines(canvas, &format!("and {more} more"), (MARGIN, y), Type::new(TEXT));
    }
    y + 4.0
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(super) fn chart(days: &[usize]) -> StripChart {
        let hours = days.iter().enumerate().flat_map(|(day, hours)| {
            (0..*hours).map(move |hour| StripHour {
                day: format!("day {day}"),
                clock: format!("{hour:02}"),
                is_dark: hour < 6,
            })
        });
        let hours: Vec<StripHour> = hours.collect();
        let looks = [StripLook::Fit, StripLook::Advisory, StripLook::NotFit, StripLook::Unknown];
        let cells = (0..hours.len())
            .map(|place| StripCell { look: looks[place % 4], figure: place.to_string() });
        let row =
            StripRow { name: "wind".into(), asked: "3 to 8 mph".into(), cells: cells.collect() };
        StripChart {
            title: "Spray <windows>".into(),
            windows: vec![StripWindow { hours: 2..9, best: 3..5, words: "early".into() }],
            rows: vec![row; 9],
            notes: vec!["measure the wind".into()],
            hours,
            ..StripChart::default()
        }
    }

    #[test]
    fn a_chart_is_a_drawing_with_all_its_words() {
        let svg = strip_svg(&chart(&[18, 25, 24]));
        for word in
            ["Spray &lt;windows&gt;", "day 0", "day 2", "measure the wind", "early", "not known"]
        {
            assert!(svg.contains(word), "{word}");
        }
        assert_eq!(svg, strip_svg(&chart(&[18, 25, 24])), "the same bytes every time");
        let picture = crate::png(&svg, crate::Page::Screen).expect("a picture");
        assert!(picture.starts_with(b"\x89PNG"));
        assert!(strip_svg(&StripChart::default()).ends_with("</svg>\n"));
    }
}
