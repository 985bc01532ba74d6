//! A tape sheet as rows: what people keep in a spreadsheet when a lawn is rectangles and circles.

use csv::{ReaderBuilder, StringRecord};

use super::Reason;
use super::entry::{Entry, PROPERTIES};
use super::fields::{meant, shortened};
use super::given::Given;
use super::measure::{FOR_ALL, Unit};

/// What else a row may say.
const OTHERS: [&str; 6] = ["figure", "unit", "within", "east", "north", "turn"];
/// What says where a shape is.
const PLACE: [&str; 3] = ["east", "north", "turn"];
/// Measures of simple figures.
const MEASURES: [&str; 11] =
    ["length", "width", "base", "height", "foot", "a", "b", "c", "radius", "diameter", "area"];
/// Figures that fit into a row.
const FIGURES: [&str; 8] =
    ["rectangle", "triangle", "trapezoid", "circle", "ellipse", "line", "point", "area"];

/// The shapes of a sheet in rows, one for each, and the columns that were left out.
pub(super) fn entries(text: &str) -> Result<(Vec<Entry>, Vec<String>), Reason> {
    let text = text.trim_start_matches('\u{feff}');
    let mut reader = ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let header = reader.headers().map_err(|error| not_read(&error))?.clone();
    let (columns, left_out) = columns(&header)?;
    let mut entries = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|error| not_read(&error))?;
        entries.push(entry(line_of(&record, text), &columns, &record));
    }
    if entries.is_empty() {
        return Err("has no rows under its columns; write one for each thing measured".to_owned());
    }
    Ok((entries, left_out))
}

/// The line on which a row starts; the reader counts from where the row before it ended.
fn line_of(record: &StringRecord, text: &str) -> usize {
    let Some(position) = record.position() else { return 1 };
    let after = text.as_bytes().get(position.byte() as usize..).unwrap_or_default();
    let empty = after.iter().take_while(|byte| matches!(byte, b'\r' | b'\n'));
    position.line() as usize + empty.filter(|byte| **byte == b'\n').count()
}

fn not_read(error: &csv::Error) -> Reason {
    let line = error.position().map_or(1, csv::Position::line);
    format!(
        "line {line}: not a row of a table: {}; export it again as CSV in UTF-8",
        shortened(&error.to_string())
    )
}

/// The name of each column that is read, and the names of those that are not.
fn columns(header: &StringRecord) -> Result<(Vec<Option<&'static str>>, Vec<String>), Reason> {
    let known: Vec<&'static str> = PROPERTIES.into_iter().chain(OTHERS).chain(MEASURES).collect();
    let (mut columns, mut left_out) = (Vec::new(), Vec::new());
    for name in header {
        let name = name.trim();
        let column = known.iter().copied().find(|known| known.eq_ignore_ascii_case(name));
        if let Some(column) = column
            && columns.contains(&Some(column))
        {
            return Err(format!("line 1: column {column:?} stands twice; keep one"));
        }
        if column.is_none() && !name.is_empty() {
            refuse_near(name, &known)?;
            left_out.push(shortened(name));
        }
        columns.push(column);
    }
    if !columns.contains(&Some("figure")) {
        return Err(r#"has no column "figure"; a tape sheet in rows has the columns figure, kind, name, unit and the measures, such as length and width"#.to_owned());
    }
    Ok((columns, left_out))
}

/// A column of nearly a name that is read, or of one with its unit, is a slip: passed over, it would
/// leave a measure or a setback out.
fn refuse_near(name: &str, known: &[&'static str]) -> Result<(), Reason> {
    let lower = name.to_lowercase();
    let base = ["_ft", "_m", "_in", "_yd", " ft", " m", " (ft)", " (m)"]
        .iter()
        .find_map(|unit| lower.strip_suffix(unit));
    if let Some(measure) = MEASURES.iter().chain(&PLACE).find(|measure| base == Some(**measure)) {
        return Err(format!(
            "line 1: column {:?}: name it {measure:?}, and give the unit in a column \"unit\" or with each number",
            shortened(name)
        ));
    }
    let long: Vec<&str> = known.iter().copied().filter(|known| known.len() > 3).collect();
    match meant(name, &long).filter(|_| name.chars().count() > 3) {
        Some(cure) => Err(format!("line 1: column {:?} is not read; {cure}", shortened(name))),
        None => Ok(()),
    }
}

fn entry(line: usize, columns: &[Option<&'static str>], record: &StringRecord) -> Entry {
    let cells =
        || columns.iter().zip(record).filter_map(|(name, cell)| Some(((*name)?, cell.trim())));
    let filled = || cells().filter(|(_, cell)| !cell.is_empty());
    let given = |(name, cell): (&str, &str)| (name.to_owned(), Given::Text(cell.to_owned()));
    let of = |names: &[&str]| -> Vec<(String, Given)> {
        filled().filter(|(name, _)| names.contains(name)).map(given).collect()
    };
    if record.iter().all(|cell| cell.trim().is_empty()) {
        return Entry::of(line, &[], None);
    }
    let mut row = of(&PROPERTIES);
    row.extend(of(&["within"]));
    let unit = filled().find(|(name, _)| *name == "unit").map(|(name, cell)| given((name, cell)).1);
    let unit = unit.map(|unit| Unit::named(&unit)).transpose();
    let place = of(&PLACE);
    if !place.is_empty() {
        row.push(("at".to_owned(), Given::Table(place)));
    }
    let figure = figure(filled().find(|(name, _)| *name == "figure"), of(&MEASURES));
    // In a row that is cut off, what says to keep a distance may be what is missing.
    match (unit, figure, record.len() == columns.len()) {
        (Ok(unit), Ok(figure), true) => {
            row.push(figure);
            let entry = Entry::of(line, &row, unit);
            // A table has no place for what holds for all of it.
            let in_rows = |reason: Reason| {
                reason.replace(FOR_ALL, r#"add a column "unit" with ft in each row"#)
            };
            Entry { measured: entry.measured.map_err(in_rows), ..entry }
        }
        (Err(reason), _, true) => Entry::of(line, &row, None).refused(format!("unit {reason}")),
        (_, Err(reason), true) => Entry::of(line, &row, None).refused(reason),
        (.., false) => Entry::of(line, &row, None).refused(format!(
            "has {} cells under {} columns; put text with commas in quotes, and a comma for each empty cell",
            record.len(),
            columns.len()
        )),
    }
}

/// A figure as a sheet in TOML has it.
fn figure(
    named: Option<(&'static str, &str)>,
    mut measures: Vec<(String, Given)>,
) -> Result<(String, Given), Reason> {
    let Some((_, name)) = named else {
        return Err(format!("has no figure; write one of {}", FIGURES.join(", ")));
    };
    let Some(figure) = FIGURES.into_iter().find(|known| known.eq_ignore_ascii_case(name)) else {
        let cure = meant(name, &FIGURES).unwrap_or_else(|| {
            format!(
                "rows take {}; offsets, radii and traverses go into a sheet in TOML",
                FIGURES.join(", ")
            )
        });
        return Err(format!("figure {:?} is not known here; {cure}", shortened(name)));
    };
    if figure != "area" {
        return Ok((figure.to_owned(), Given::Table(measures)));
    }
    match (measures.pop(), measures.is_empty()) {
        (Some((name, area)), true) if name == "area" => Ok((name, area)),
        _ => {
            Err("figure area takes the column area alone; give it, and no other measure".to_owned())
        }
    }
}
