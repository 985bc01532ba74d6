//! Two days side by side: their hours as columns, the rules as rows.

use std::ops::Range;

use geo::Coord;

use super::looks::{corner, dotted, outline, stripes};
use super::{
    FIT_FILL, MARGIN, SMALL, StripCell, StripChart, StripHour, StripLook, StripRow, TEXT, WIDTH,
};
use crate::canvas::{Anchor, Canvas, GREY, INK, Type, push_segment};
use crate::font;
use crate::shape::Bounds;
use crate::text::fit;

/// Names and limits stand left of the hours.
const NAMES: f64 = 150.0;
/// Two days, one of which may have 25 hours.
const MOST_COLUMNS: f64 = 49.0;
const DAYS_IN_A_PANEL: usize = 2;
const ROW: f64 = 18.0;
const DAY_LINE: f64 = 15.0;
const CLOCK_LINE: f64 = 12.0;
const WINDOW_LINE: f64 = 13.0;

/// Columns of two days each.
pub(super) fn panels(hours: &[StripHour]) -> Vec<Range<usize>> {
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

pub(super) fn panel(canvas: &mut Canvas, chart: &StripChart, hours: Range<usize>, top: f64) -> f64 {
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
        // An hour that comes twice has its offset beside it, and only its column's room.
        let room = (columns.wide - 1.5) / font::width(&hour.clock, SMALL, false).max(1.0);
        let set = Type::new(SMALL * room.min(1.0)).anchor(Anchor::Middle).halo();
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

#[cfg(test)]
mod tests {
    use super::super::tests::chart;
    use super::*;

    #[test]
    fn days_stand_two_by_two_also_where_one_has_25_hours() {
        let of = |days: &[usize]| panels(&chart(days).hours);
        assert_eq!(of(&[18, 24]), vec![0..42]);
        assert_eq!(of(&[18, 25, 24]), [0..43, 43..67]);
        assert_eq!(of(&[24; 7]).len(), 4);
        assert_eq!(of(&[]), []);
        // The widest pair keeps within the paper.
        let x = MARGIN + NAMES;
        let columns = Columns { first: 0, x, wide: (WIDTH - MARGIN - x) / MOST_COLUMNS };
        assert!(columns.of(49) <= WIDTH - MARGIN + 1e-9);
    }
}
