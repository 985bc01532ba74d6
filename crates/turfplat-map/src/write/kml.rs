use std::io;

use geo_types::{Coord, Geometry, LineString, Polygon};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};
use serde_json::Value;

use crate::write::{Holds, Row, Table, WriteError};

/// Finished shapes as the text of a KML file (OGC KML 2.3, 12-007r2; nothing in it that 2.2 did not
/// have): a Folder for each table, a Schema for its columns, outlines without a filling, so
/// that the ground shows.
///
/// A column `name` is the name of each Placemark; failing that, a column `zone` or the first of text,
/// which then stands among the attributes too. Outer rings run counter-clockwise and inner ones clockwise;
/// coordinates are rounded to 1e-11 degrees (a micrometre). Characters that XML cannot hold
/// (XML 1.0, §2.2) are written as blanks.
///
/// # Errors
///
/// [`WriteError::Shape`] for a shape that is neither polygons nor a point, or is not finite.
pub fn kml(name: &str, tables: &[Table]) -> Result<Vec<u8>, WriteError> {
    let mut out = Kml(Writer::new_with_indent(Vec::new(), b' ', 1));
    out.0.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    out.start("kml", &[("xmlns", "http://www.opengis.net/kml/2.2")])?;
    out.start("Document", &[])?;
    out.leaf("name", &[], name)?;
    out.style()?;
    for (number, table) in tables.iter().enumerate() {
        out.schema(&schema_id(number), table)?;
    }
    for (number, table) in tables.iter().enumerate() {
        out.folder(&schema_id(number), table)?;
    }
    out.end("Document")?;
    out.end("kml")?;
    let mut text = out.0.into_inner();
    text.push(b'\n');
    Ok(text)
}

/// An id that is one whatever the table is called.
fn schema_id(number: usize) -> String {
    format!("columns{}", number + 1)
}

struct Kml(Writer<Vec<u8>>);

impl Kml {
    fn start(&mut self, name: &str, attributes: &[(&str, &str)]) -> io::Result<()> {
        let start = BytesStart::new(name).with_attributes(attributes.iter().copied());
        self.0.write_event(Event::Start(start))
    }

    fn end(&mut self, name: &str) -> io::Result<()> {
        self.0.write_event(Event::End(BytesEnd::new(name)))
    }

    fn leaf(&mut self, name: &str, attributes: &[(&str, &str)], text: &str) -> io::Result<()> {
        self.start(name, attributes)?;
        self.0.write_event(Event::Text(BytesText::new(&text.replace(is_no_xml, " "))))?;
        self.end(name)
    }

    fn style(&mut self) -> io::Result<()> {
        self.start("Style", &[("id", "outline")])?;
        self.start("LineStyle", &[])?;
        self.leaf("width", &[], "2")?;
        self.end("LineStyle")?;
        self.start("PolyStyle", &[])?;
        self.leaf("fill", &[], "0")?;
        self.end("PolyStyle")?;
        self.end("Style")
    }

    fn schema(&mut self, id: &str, table: &Table) -> io::Result<()> {
        self.start("Schema", &[("id", id), ("name", table.name)])?;
        for column in table.columns.iter().filter(|column| column.name != "name") {
            let sort = match column.holds {
                Holds::Text => "string",
                Holds::Number => "double",
            };
            let field = [("name", column.name), ("type", sort)];
            let field = BytesStart::new("SimpleField").with_attributes(field);
            self.0.write_event(Event::Empty(field))?;
        }
        self.end("Schema")
    }

    fn folder(&mut self, schema: &str, table: &Table) -> Result<(), WriteError> {
        self.start("Folder", &[])?;
        self.leaf("name", &[], table.name)?;
        for (number, row) in table.rows.iter().enumerate() {
            let places = Places::of(&row.shape).map_err(|reason| WriteError::Shape {
                table: table.name,
                row: number + 1,
                reason,
            })?;
            self.placemark(schema, table, row, &places)?;
        }
        Ok(self.end("Folder")?)
    }

    fn placemark(
        &mut self,
        schema: &str,
        table: &Table,
        row: &Row,
        places: &Places,
    ) -> io::Result<()> {
        self.start("Placemark", &[])?;
        if let Some(label) = label(table, row) {
            self.leaf("name", &[], &label)?;
        }
        self.leaf("styleUrl", &[], "#outline")?;
        self.start("ExtendedData", &[])?;
        self.start("SchemaData", &[("schemaUrl", &format!("#{schema}"))])?;
        for (column, value) in table.columns.iter().zip(&row.values) {
            if let Some(text) = text_of(value).filter(|_| column.name != "name") {
                self.leaf("SimpleData", &[("name", column.name)], &text)?;
            }
        }
        self.end("SchemaData")?;
        self.end("ExtendedData")?;
        self.geometry(places)?;
        self.end("Placemark")
    }

    fn geometry(&mut self, places: &Places) -> io::Result<()> {
        match places {
            Places::Point(place) => {
                self.start("Point", &[])?;
                self.leaf("coordinates", &[], place)?;
                self.end("Point")
            }
            Places::Polygons(polygons) => match polygons.as_slice() {
                [only] => self.polygon(only),
                several => {
                    self.start("MultiGeometry", &[])?;
                    for polygon in several {
                        self.polygon(polygon)?;
                    }
                    self.end("MultiGeometry")
                }
            },
        }
    }

    fn polygon(&mut self, rings: &[String]) -> io::Result<()> {
        self.start("Polygon", &[])?;
        for (number, ring) in rings.iter().enumerate() {
            let boundary = if number == 0 { "outerBoundaryIs" } else { "innerBoundaryIs" };
            self.start(boundary, &[])?;
            self.start("LinearRing", &[])?;
            self.leaf("coordinates", &[], ring)?;
            self.end("LinearRing")?;
            self.end(boundary)?;
        }
        self.end("Polygon")
    }
}

/// The coordinates of a shape as text.
enum Places {
    Point(String),
    /// Of each polygon its rings, the outer one first.
    Polygons(Vec<Vec<String>>),
}

impl Places {
    fn of(shape: &Geometry<f64>) -> Result<Places, &'static str> {
        match shape {
            Geometry::Point(point) => Ok(Places::Point(place(point.0)?)),
            Geometry::Polygon(polygon) => Ok(Places::Polygons(vec![rings(polygon)?])),
            Geometry::MultiPolygon(polygons) => {
                Ok(Places::Polygons(polygons.0.iter().map(rings).collect::<Result<_, _>>()?))
            }
            _ => Err("it is neither polygons nor a point"),
        }
    }
}

fn rings(polygon: &Polygon<f64>) -> Result<Vec<String>, &'static str> {
    let shell = std::iter::once((polygon.exterior(), true));
    let holes = polygon.interiors().iter().map(|hole| (hole, false));
    shell.chain(holes).map(|(ring, is_shell)| wound(ring, is_shell)).collect()
}

/// A ring counter-clockwise or clockwise, as text.
fn wound(ring: &LineString<f64>, counter_clockwise: bool) -> Result<String, &'static str> {
    let mut places = ring.0.iter().map(|corner| place(*corner)).collect::<Result<Vec<_>, _>>()?;
    if (twice_area(ring) > 0.0) != counter_clockwise {
        places.reverse();
    }
    Ok(places.join(" "))
}

/// Twice the area of a ring, positive where it runs counter-clockwise; measured from its first
/// corner, or the areas of small rings far from zero would be noise.
fn twice_area(ring: &LineString<f64>) -> f64 {
    let Some(first) = ring.0.first() else { return 0.0 };
    let corner = |place: &Coord<f64>| Coord { x: place.x - first.x, y: place.y - first.y };
    let sides = ring.0.iter().zip(ring.0.iter().skip(1));
    sides.map(|(from, to)| (corner(from), corner(to))).map(|(a, b)| a.x * b.y - b.x * a.y).sum()
}

fn place(place: Coord<f64>) -> Result<String, &'static str> {
    if !place.x.is_finite() || !place.y.is_finite() {
        return Err("a coordinate is infinite or not a number");
    }
    Ok(format!("{},{}", degrees(place.x), degrees(place.y)))
}

/// Degrees to 1e-11, without the zeros that say nothing.
fn degrees(degrees: f64) -> String {
    let text = format!("{degrees:.11}");
    match text.trim_end_matches('0').trim_end_matches('.') {
        "-0" => "0".to_owned(),
        short => short.to_owned(),
    }
}

/// What a Placemark is called.
fn label(table: &Table, row: &Row) -> Option<String> {
    let columns = || table.columns.iter().zip(&row.values);
    let named = |name| columns().find(|(column, _)| column.name == name);
    let first = || columns().find(|(column, _)| column.holds == Holds::Text);
    let (_, value) = named("name").or_else(|| named("zone")).or_else(first)?;
    text_of(value)
}

fn text_of(value: &Value) -> Option<String> {
    match value {
        Value::Null => None,
        Value::String(text) => Some(text.clone()),
        other => Some(other.to_string()),
    }
}

/// True of a character that XML 1.0 cannot hold, not even by its number (§2.2).
fn is_no_xml(letter: char) -> bool {
    letter.is_ascii_control() && !matches!(letter, '\t' | '\n' | '\r')
        || matches!(letter, '\u{FFFE}' | '\u{FFFF}')
}

#[cfg(test)]
mod tests;
