//! Shapes written as a shapefile: what the oldest programs of a city hall still open. Source: ESRI
//! Shapefile Technical Description (July 1998), and the dBASE III table beside the shapes.

use geo_types::{Coord, Geometry, LineString, Polygon};
use serde_json::Value;

use super::{Column, Form, Holds, Table, WriteError};

/// The files of a shapefile, all named alike but for their endings.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ShapefileParts {
    /// The shapes.
    pub shp: Vec<u8>,
    /// Where each shape starts.
    pub shx: Vec<u8>,
    /// The attributes.
    pub dbf: Vec<u8>,
    /// The coordinate system.
    pub prj: Vec<u8>,
    /// The encoding of the attributes.
    pub cpg: Vec<u8>,
}

/// Longitude and latitude on WGS 84, in ESRI's dialect of well-known text.
const WGS_84: &str = r#"GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]"#;

/// A table as a shapefile. Shells run clockwise and holes the other way. Numbers come back to the
/// last digit; texts are cut at 254 bytes, between characters. An empty shape is a null shape.
///
/// # Errors
///
/// [`WriteError`] for a shape of another form than the table's, for a coordinate that is infinite
/// or not a number, and for more than the format has room for.
pub fn shapefile(table: &Table) -> Result<ShapefileParts, WriteError> {
    let kind = match table.form {
        Form::Points => POINT,
        Form::Polygons => POLYGON,
    };
    let (mut shapes, mut index) = (Vec::new(), Vec::new());
    let mut around = None;
    for (row, number) in table.rows.iter().zip(1..) {
        let shape = Drawn::of(&row.shape, table.form).ok_or(WriteError::Shape {
            table: table.name,
            row: number as usize,
            reason: "its shape is not of the layer's form, or a coordinate is not a number",
        })?;
        let content = shape.content();
        index.extend(words(HEADER_LENGTH + shapes.len())?.to_be_bytes());
        index.extend(words(content.len())?.to_be_bytes());
        shapes.extend(u32::try_from(number).map_err(|_| WriteError::TooLarge)?.to_be_bytes());
        shapes.extend(words(content.len())?.to_be_bytes());
        shapes.extend(content);
        around = shape.corners().fold(around, together);
    }
    let around = around.unwrap_or_default();
    Ok(ShapefileParts {
        shp: file(kind, around, shapes)?,
        shx: file(kind, around, index)?,
        dbf: dbf(table)?,
        prj: WGS_84.into(),
        cpg: "UTF-8".into(),
    })
}

const NULL: i32 = 0;
const POINT: i32 = 1;
const POLYGON: i32 = 5;
/// Of the main file and of the index.
const HEADER_LENGTH: usize = 100;

/// South-west and north-east.
type Corners = (Coord<f64>, Coord<f64>);

fn together(around: Option<Corners>, place: Coord<f64>) -> Option<Corners> {
    let (low, high) = around.unwrap_or((place, place));
    let low = Coord { x: low.x.min(place.x), y: low.y.min(place.y) };
    Some((low, Coord { x: high.x.max(place.x), y: high.y.max(place.y) }))
}

/// A length as the format counts it, in words of two bytes.
fn words(bytes: usize) -> Result<i32, WriteError> {
    i32::try_from(bytes / 2).map_err(|_| WriteError::TooLarge)
}

/// A main file or an index: its header, and what it holds.
fn file(kind: i32, around: Corners, content: Vec<u8>) -> Result<Vec<u8>, WriteError> {
    let mut file = Vec::with_capacity(HEADER_LENGTH + content.len());
    file.extend(9994_i32.to_be_bytes());
    file.extend([0; 20]);
    file.extend(words(HEADER_LENGTH + content.len())?.to_be_bytes());
    file.extend(1000_i32.to_le_bytes());
    file.extend(kind.to_le_bytes());
    file.extend(box_bytes(around));
    // No heights and no measures.
    file.extend([0; 32]);
    file.extend(content);
    Ok(file)
}

fn box_bytes((low, high): Corners) -> impl Iterator<Item = u8> {
    [low.x, low.y, high.x, high.y].into_iter().flat_map(f64::to_le_bytes)
}

/// A shape as the format has it.
enum Drawn {
    Nothing,
    Point(Coord<f64>),
    /// Rings in the order of their polygons, each shell before its holes.
    Rings(Vec<Vec<Coord<f64>>>),
}

impl Drawn {
    /// `None` of a shape of another form, or with a coordinate that is no number.
    fn of(shape: &Geometry<f64>, form: Form) -> Option<Drawn> {
        let drawn = match (shape, form) {
            (Geometry::Point(point), Form::Points) => Drawn::Point(point.0),
            (Geometry::Polygon(polygon), Form::Polygons) => Drawn::Rings(rings(polygon).collect()),
            (Geometry::MultiPolygon(polygons), Form::Polygons) => {
                Drawn::Rings(polygons.iter().flat_map(rings).collect())
            }
            _ => return None,
        };
        if !drawn.corners().all(|corner| corner.x.is_finite() && corner.y.is_finite()) {
            return None;
        }
        match drawn {
            Drawn::Rings(rings) if rings.is_empty() => Some(Drawn::Nothing),
            drawn => Some(drawn),
        }
    }

    fn corners(&self) -> impl Iterator<Item = Coord<f64>> {
        let (point, rings) = match self {
            Drawn::Nothing => (None, None),
            Drawn::Point(point) => (Some(*point), None),
            Drawn::Rings(rings) => (None, Some(rings.iter().flatten().copied())),
        };
        point.into_iter().chain(rings.into_iter().flatten())
    }

    /// What follows the header of its record.
    fn content(&self) -> Vec<u8> {
        match self {
            Drawn::Nothing => NULL.to_le_bytes().to_vec(),
            Drawn::Point(_) => {
                let mut content = POINT.to_le_bytes().to_vec();
                self.add_corners(&mut content);
                content
            }
            Drawn::Rings(rings) => {
                let around = self.corners().fold(None, together).unwrap_or_default();
                let mut content = POLYGON.to_le_bytes().to_vec();
                content.extend(box_bytes(around));
                let corners: usize = rings.iter().map(Vec::len).sum();
                // Counts that do not fit belong to a record that does not either.
                content.extend((rings.len() as i32).to_le_bytes());
                content.extend((corners as i32).to_le_bytes());
                let starts = rings.iter().scan(0, |start, ring| {
                    let this = *start;
                    *start += ring.len() as i32;
                    Some(this)
                });
                content.extend(starts.flat_map(i32::to_le_bytes));
                self.add_corners(&mut content);
                content
            }
        }
    }

    fn add_corners(&self, content: &mut Vec<u8>) {
        content.extend(self.corners().flat_map(|at| [at.x, at.y]).flat_map(f64::to_le_bytes));
    }
}

/// The rings of a polygon as they are to run.
fn rings(polygon: &Polygon<f64>) -> impl Iterator<Item = Vec<Coord<f64>>> {
    let shell = std::iter::once((polygon.exterior(), true));
    let holes = polygon.interiors().iter().map(|hole| (hole, false));
    shell.chain(holes).filter(|(ring, _)| !ring.0.is_empty()).map(|(ring, is_shell)| {
        let mut corners = ring.0.clone();
        if is_clockwise(ring) != is_shell {
            corners.reverse();
        }
        corners
    })
}

fn is_clockwise(ring: &LineString<f64>) -> bool {
    // From the first corner: degrees far from the origin would drown a lawn in rounding.
    let first = ring.0.first().copied().unwrap_or_default();
    let turns = ring.lines().map(|line| {
        let (a, b) = (line.start - first, line.end - first);
        a.x * b.y - b.x * a.y
    });
    turns.sum::<f64>() < 0.0
}

/// The longest text of a column.
const LONGEST_TEXT: usize = 254;
/// Digits of a double that come back as they were, with sign, point and exponent.
const NUMBER_LENGTH: usize = 24;

/// The attributes as a dBASE III table.
fn dbf(table: &Table) -> Result<Vec<u8>, WriteError> {
    let texts: Vec<Vec<String>> =
        table.rows.iter().map(|row| texts(&table.columns, &row.values)).collect();
    let lengths: Vec<usize> = table
        .columns
        .iter()
        .enumerate()
        .map(|(place, column)| match column.holds {
            Holds::Number => NUMBER_LENGTH,
            Holds::Text => {
                let lengths = texts.iter().filter_map(|row| row.get(place)).map(String::len);
                lengths.max().unwrap_or_default().max(1)
            }
        })
        .collect();
    let header_length = 32 * (1 + table.columns.len()) + 1;
    let row_length = 1 + lengths.iter().sum::<usize>();
    let short = |length| u16::try_from(length).map_err(|_| WriteError::TooLarge);
    // The version, and for the day of writing always the same: one map makes one file.
    let mut dbf = vec![0x03, 95, 7, 26];
    dbf.extend(u32::try_from(texts.len()).map_err(|_| WriteError::TooLarge)?.to_le_bytes());
    dbf.extend(short(header_length)?.to_le_bytes());
    dbf.extend(short(row_length)?.to_le_bytes());
    dbf.extend([0; 20]);
    for (column, length) in table.columns.iter().zip(&lengths) {
        dbf.extend(field(column, *length));
    }
    dbf.push(0x0d);
    for row in &texts {
        dbf.push(b' ');
        for ((text, length), column) in row.iter().zip(&lengths).zip(&table.columns) {
            let blanks = std::iter::repeat_n(b' ', length.saturating_sub(text.len()));
            match column.holds {
                Holds::Text => dbf.extend(text.bytes().chain(blanks)),
                Holds::Number => dbf.extend(blanks.chain(text.bytes())),
            }
        }
    }
    dbf.push(0x1a);
    Ok(dbf)
}

/// How the header of a table describes a column.
fn field(column: &Column, length: usize) -> [u8; 32] {
    let mut field = [0; 32];
    let name = field.iter_mut().zip(column.name.bytes().take(10));
    name.for_each(|(byte, letter)| *byte = letter);
    let (letter, decimals) = match column.holds {
        Holds::Text => (b'C', 0),
        Holds::Number => (b'N', 15),
    };
    (field[11], field[16], field[17]) = (letter, length as u8, decimals);
    field
}

/// A row as it is written, blank where there is nothing.
fn texts(columns: &[Column], values: &[Value]) -> Vec<String> {
    let values = values.iter().chain(std::iter::repeat(&Value::Null));
    columns
        .iter()
        .zip(values)
        .map(|(column, value)| match (column.holds, value) {
            (_, Value::Null) => String::new(),
            (Holds::Text, Value::String(text)) => cut(text),
            (Holds::Text, other) => cut(&other.to_string()),
            (Holds::Number, Value::Number(number)) => digits(number),
            (Holds::Number, _) => String::new(),
        })
        .collect()
}

/// A text that fits, on one line.
fn cut(text: &str) -> String {
    let end = text.floor_char_boundary(LONGEST_TEXT);
    text.get(..end).unwrap_or_default().replace(char::is_control, " ")
}

/// A number in no more digits than fit, which are enough to give it back.
fn digits(number: &serde_json::Number) -> String {
    let Some(value) = number.as_f64() else { return String::new() };
    let whole = number.as_i64().map(|whole| whole.to_string());
    let plain = whole.unwrap_or_else(|| value.to_string());
    if plain.len() <= NUMBER_LENGTH { plain } else { format!("{value:e}") }
}

#[cfg(test)]
mod tests;
