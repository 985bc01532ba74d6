//! Why hours are drawn as a strip and not as a list: in a list of 156 hours nobody sees that rain on
//! Thursday closes Wednesday evening. Rows are rules and columns are hours, so the eye runs down a column
//! to see what stops it and along a row to see how long. Nothing is said by color: what is not fit is
//! hatched, what is not known is dotted, and what is fit is plain.

use std::fmt::Write;
use std::ops::Range;

use geo::Coord;

use crate::canvas::{Anchor, Canvas, GREY, INK, Type, number, push_point, push_segment};
use crate::font;
use crate::shape::Bounds;
use crate::text::{escaped, fit, plain, wrap};

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
    /// Its hour, two digits.
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
/// Names and limits stand left of the hours.
const NAMES: f64 = 150.0;
/// Two days, one of which may have 25 hours.
const MOST_COLUMNS: f64 = 49.0;
const DAYS_IN_A_PANEL: usize = 2;
const ROW: f64 = 18.0;
const DAY_LINE: f64 = 15.0;
const CLOCK_LINE: f64 = 12.0;
const WINDOW_LINE: f64 = 13.0;
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
    for columns in panels(&chart.hours) {
        y = panel(&mut canvas, chart, columns, y) + PANEL_GAP;
    }
    y = key(&mut canvas, y);
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

/// Columns of two days each.
fn panels(hours: &[StripHour]) -> Vec<Range<usize>> {
    let mut panels: Vec<(usize, Range<usize>)> = Vec::new();
    for (place, hour) in hours.iter().enumerate() {
        let is_new_day = place == 0 || hours[place - 1].day != hour.day;
        match panels.last_mut() {
            Some((days, columns)) if !is_new_day || *days < DAYS_IN_A_PANEL => {
                *days += usize::from(is_new_day);
                columns.end = place + 1;
            }
            _ => panels.push((1, place..place + 1)),
        }
    }
    panels.into_iter().map(|(_, columns)| columns).collect()
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

/// Where a column begins, and how wide it is.
struct Columns {
    first: usize,
    x: f64,
    wide: f64,
}

impl Columns {
    fn of(&self, place: usize) -> f64 {
        self.x + (place - self.first) as f64 * self.wide
    }

    fn cell(&self, place: usize, y: f64) -> Bounds {
        let x0 = self.of(place);
        Bounds { x0, y0: y, x1: x0 + self.wide, y1: y + ROW }
    }
}

fn panel(canvas: &mut Canvas, chart: &StripChart, hours: Range<usize>, top: f64) -> f64 {
    let x = MARGIN + NAMES;
    let columns = Columns { first: hours.start, x, wide: (WIDTH - MARGIN - x) / MOST_COLUMNS };
    let rows = top + DAY_LINE + CLOCK_LINE + WINDOW_LINE;
    let bottom = rows + ROW * chart.rows.len() as f64;
    axis(canvas, chart, hours.clone(), &columns, top);
    windows(canvas, chart, hours.clone(), &columns, rows - WINDOW_LINE);
    for (row, y) in chart.rows.iter().zip((0..).map(|row| rows + ROW * f64::from(row))) {
        names(canvas, row, y);
        let cells = |look: StripLook| {
            hours
                .clone()
                .filter(move |&place| row.cells.get(place).is_some_and(|it| it.look == look))
        };
        let (mut plain, mut hatch, mut dots, mut corners) =
            (String::new(), String::new(), String::new(), String::new());
        for place in cells(StripLook::Fit).chain(cells(StripLook::Advisory)) {
            outline(&mut plain, columns.cell(place, y));
        }
        for place in cells(StripLook::Advisory) {
            corner(&mut corners, columns.cell(place, y));
        }
        for place in cells(StripLook::NotFit) {
            stripes(&mut hatch, columns.cell(place, y));
        }
        for place in cells(StripLook::Unknown) {
            dotted(&mut dots, columns.cell(place, y));
        }
        canvas.path(&plain, &format!(r#"fill="{FIT_FILL}""#));
        canvas.path(&hatch, &format!(r#"stroke="{INK}" stroke-width="0.7""#));
        canvas
            .path(&dots, &format!(r#"stroke="{GREY}" stroke-width="1.1" stroke-linecap="round""#));
        canvas.path(&corners, &format!(r#"fill="{INK}""#));
        for place in hours.clone() {
            figure(canvas, row.cells.get(place), columns.cell(place, y));
        }
    }
    grid(canvas, chart, hours, &columns, (rows, bottom));
    bottom
}

/// Days, hours, and the night as horizontal lines.
fn axis(canvas: &mut Canvas, chart: &StripChart, hours: Range<usize>, columns: &Columns, top: f64) {
    let clocks = top + DAY_LINE;
    let mut night = String::new();
    for place in hours.clone().filter(|&place| chart.hours[place].is_dark) {
        let (x0, x1) = (columns.of(place), columns.of(place + 1));
        for line in 0..4 {
            let y = clocks + 1.5 + f64::from(line) * 3.0;
            push_segment(&mut night, Coord { x: x0, y }, Coord { x: x1, y });
        }
    }
    canvas.path(&night, &format!(r#"stroke="{GREY}" stroke-width="0.5""#));
    for place in hours.clone() {
        let hour = &chart.hours[place];
        let middle = columns.of(place) + columns.wide / 2.0;
        let set = Type::new(SMALL).anchor(Anchor::Middle).halo();
        canvas.text(middle, clocks + CLOCK_LINE - 3.6, set, &hour.clock);
        let is_new_day = place == hours.start || chart.hours[place - 1].day != hour.day;
        if is_new_day {
            let same = hours.clone().skip_while(|&it| it < place);
            let length = same.take_while(|&it| chart.hours[it].day == hour.day).count();
            let room = columns.wide * length as f64 - 4.0;
            let day = fit(&hour.day, TEXT, true, room.max(columns.wide * 6.0));
            canvas.text(
                columns.of(place) + 2.0,
                top + DAY_LINE - 4.5,
                Type::new(TEXT).bold(true),
                &day,
            );
        }
    }
    canvas.text(
        MARGIN,
        clocks + CLOCK_LINE - 3.6,
        Type::new(SMALL).ink(GREY),
        "local time, hour beginning",
    );
}

/// Windows as bars, with their number; the best part is filled.
fn windows(
    canvas: &mut Canvas,
    chart: &StripChart,
    hours: Range<usize>,
    columns: &Columns,
    y: f64,
) {
    canvas.text(
        MARGIN,
        y + WINDOW_LINE - 4.0,
        Type::new(SMALL).ink(GREY),
        "windows, the best first",
    );
    for (window, rank) in chart.windows.iter().zip(1..) {
        let within = |part: &Range<usize>| part.start.max(hours.start)..part.end.min(hours.end);
        let (all, best) = (within(&window.hours), within(&window.best));
        if all.is_empty() {
            continue;
        }
        let bar = |part: &Range<usize>| Bounds {
            x0: columns.of(part.start) + 0.6,
            y0: y + 2.0,
            x1: columns.of(part.end) - 0.6,
            y1: y + WINDOW_LINE - 1.5,
        };
        canvas.rect(bar(&all), &format!(r##"fill="#fff" stroke="{INK}" stroke-width="0.9""##));
        if !best.is_empty() {
            canvas.rect(bar(&best), &format!(r#"fill="{INK}""#));
        }
        let number = rank.to_string();
        let (at, ink) = if best.is_empty() { (&all, INK) } else { (&best, "#ffffff") };
        let middle = (columns.of(at.start) + columns.of(at.end)) / 2.0;
        let set = Type::new(TEXT - 0.4).bold(true).ink(ink).anchor(Anchor::Middle);
        canvas.text(middle, y + WINDOW_LINE - 4.0, set, &number);
    }
}

fn names(canvas: &mut Canvas, row: &StripRow, y: f64) {
    let room = NAMES - 6.0;
    let name = fit(&row.name, TEXT, true, room);
    if row.asked.is_empty() {
        canvas.text(MARGIN, y + ROW * 0.64, Type::new(TEXT).bold(true), &name);
        return;
    }
    canvas.text(MARGIN, y + ROW * 0.45, Type::new(TEXT).bold(true), &name);
    let asked = fit(&row.asked, SMALL - 0.6, false, room);
    canvas.text(MARGIN, y + ROW * 0.85, Type::new(SMALL - 0.6).ink(GREY), &asked);
}

/// Inside the frame by a hair, so that neighbors stay apart.
fn inner(b: Bounds) -> Bounds {
    Bounds { x0: b.x0 + 0.4, y0: b.y0 + 0.4, x1: b.x1 - 0.4, y1: b.y1 - 0.4 }
}

fn outline(d: &mut String, b: Bounds) {
    let b = inner(b);
    for (step, x, y) in [('M', b.x0, b.y0), ('L', b.x1, b.y0), ('L', b.x1, b.y1), ('L', b.x0, b.y1)]
    {
        push_point(d, step, Coord { x, y });
    }
    d.push('Z');
}

/// A dark triangle in the upper right corner.
fn corner(d: &mut String, b: Bounds) {
    let b = inner(b);
    let side = 5.5;
    for (step, x, y) in [('M', b.x1 - side, b.y0), ('L', b.x1, b.y0), ('L', b.x1, b.y0 + side)] {
        push_point(d, step, Coord { x, y });
    }
    d.push('Z');
}

/// Lines that fall to the left and run on from cell to cell.
fn stripes(d: &mut String, b: Bounds) {
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

fn dotted(d: &mut String, b: Bounds) {
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

fn figure(canvas: &mut Canvas, cell: Option<&StripCell>, b: Bounds) {
    let Some(cell) = cell.filter(|cell| !cell.figure.is_empty()) else { return };
    if font::width(&cell.figure, SMALL, false) > b.width() {
        return;
    }
    let middle = (b.x0 + b.x1) / 2.0;
    if matches!(cell.look, StripLook::NotFit | StripLook::Unknown) {
        let half = font::width(&cell.figure, SMALL, false) / 2.0 + 0.8;
        let under =
            Bounds { x0: middle - half, y0: b.y0 + 5.6, x1: middle + half, y1: b.y0 + 13.4 };
        canvas.rect(under, r##"fill="#fff""##);
    }
    let set = Type::new(SMALL).anchor(Anchor::Middle);
    canvas.text(middle, b.y0 + ROW * 0.66, set, &cell.figure);
}

/// Thin lines between hours and rows, thick ones between days and round all of it.
fn grid(
    canvas: &mut Canvas,
    chart: &StripChart,
    hours: Range<usize>,
    columns: &Columns,
    (top, bottom): (f64, f64),
) {
    let (left, right) = (columns.of(hours.start), columns.of(hours.end));
    let (mut thin, mut thick) = (String::new(), String::new());
    let down = |d: &mut String, x: f64, from: f64| {
        push_segment(d, Coord { x, y: from }, Coord { x, y: bottom });
    };
    for place in hours.start + 1..hours.end {
        if chart.hours[place].day == chart.hours[place - 1].day {
            down(&mut thin, columns.of(place), top);
        } else {
            down(&mut thick, columns.of(place), top - DAY_LINE - CLOCK_LINE - WINDOW_LINE + 3.0);
        }
    }
    for row in 0..=chart.rows.len() {
        let y = top + ROW * row as f64;
        // The row of all rules together stands apart from those of each.
        let d = if row < 2 || row == chart.rows.len() { &mut thick } else { &mut thin };
        push_segment(d, Coord { x: left, y }, Coord { x: right, y });
    }
    down(&mut thick, left, top);
    down(&mut thick, right, top);
    canvas.path(&thin, &format!(r#"stroke="{GREY}" stroke-width="0.25""#));
    canvas.path(&thick, &format!(r#"stroke="{INK}" stroke-width="0.9""#));
}

/// What the looks mean.
fn key(canvas: &mut Canvas, y: f64) -> f64 {
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

    fn chart(days: &[usize]) -> StripChart {
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
    fn days_stand_two_by_two_also_where_one_has_25_hours() {
        let of = |days: &[usize]| panels(&chart(days).hours);
        assert_eq!(of(&[18, 24]), [0..42]);
        assert_eq!(of(&[18, 25, 24]), [0..43, 43..67]);
        assert_eq!(of(&[24; 7]).len(), 4);
        assert_eq!(of(&[]), []);
        // The widest pair keeps within the paper.
        let x = MARGIN + NAMES;
        let columns = Columns { first: 0, x, wide: (WIDTH - MARGIN - x) / MOST_COLUMNS };
        assert!(columns.of(49) <= WIDTH - MARGIN + 1e-9);
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
