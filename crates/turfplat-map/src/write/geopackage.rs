//! GeoPackage 1.3 (OGC 12-128r18), as little of it as a map needs: the tables that every file must
//! have, and one table of features for each layer. No index: a plan has hundreds of shapes and not
//! millions. The same tables give the same file, byte for byte, so nothing in it tells the time.

use std::path::Path;

use geo_types::{Coord, Geometry, LineString, Polygon};
use rusqlite::types::Value as Cell;
use rusqlite::{Connection, OpenFlags, params, params_from_iter};
use serde_json::Value;

use super::{Form, Holds, Table, WriteError};

/// Writes tables as the layers of a new GeoPackage in degrees of WGS 84. At `path` stands nothing
/// yet, or an empty file.
///
/// # Errors
///
/// [`WriteError`] for what cannot be written. What then stands at `path` is of no use.
pub fn geopackage(tables: &[Table], path: &Path) -> Result<(), WriteError> {
    // So that no name means anything to SQLite, such as `:memory:` or `file:`.
    let path = std::path::absolute(path)?;
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
        | OpenFlags::SQLITE_OPEN_CREATE
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut file = Connection::open_with_flags(path, flags)?;
    // 'GPKG' and the version (§1.1.1.1.1, requirement 2). No journal beside it: nobody reads the
    // file before it is whole.
    file.execute_batch(
        "PRAGMA journal_mode = MEMORY; PRAGMA page_size = 4096; PRAGMA encoding = 'UTF-8'; \
         PRAGMA application_id = 0x47504B47; PRAGMA user_version = 10300;",
    )?;
    let transaction = file.transaction()?;
    transaction.execute_batch(TABLES)?;
    add_systems(&transaction)?;
    for table in tables {
        add_table(&transaction, table)?;
    }
    transaction.commit()?;
    file.close().map_err(|(_, error)| error.into())
}

/// The tables that every file with features has (Annex C, tables C.1 to C.3).
const TABLES: &str = "
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL PRIMARY KEY,
  organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL,
  definition TEXT NOT NULL,
  description TEXT
);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY,
  data_type TEXT NOT NULL,
  identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE,
  min_y DOUBLE,
  max_x DOUBLE,
  max_y DOUBLE,
  srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id)
);
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL,
  column_name TEXT NOT NULL,
  geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL,
  m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id)
);
";

const WGS_84: i32 = 4326;

/// EPSG:4326 in OGC 01-009 well-known text, as the EPSG registry has it.
const WGS_84_TEXT: &str = r#"GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]"#;

/// The systems that every file must have (§1.1.2, requirement 11).
fn add_systems(file: &Connection) -> Result<(), WriteError> {
    let mut add =
        file.prepare("INSERT INTO gpkg_spatial_ref_sys VALUES (?1, ?2, ?3, ?2, ?4, ?5)")?;
    for (name, id, organization, definition, description) in [
        ("Undefined Cartesian SRS", -1, "NONE", "undefined", "undefined Cartesian coordinates"),
        ("Undefined geographic SRS", 0, "NONE", "undefined", "undefined geographic coordinates"),
        ("WGS 84", WGS_84, "EPSG", WGS_84_TEXT, "longitude and latitude in degrees on WGS 84"),
    ] {
        add.execute(params![name, id, organization, definition, description])?;
    }
    Ok(())
}

fn add_table(file: &Connection, table: &Table) -> Result<(), WriteError> {
    let form = match table.form {
        Form::Polygons => "MULTIPOLYGON",
        Form::Points => "POINT",
    };
    let boxes = table.rows.iter().filter_map(|row| corners(&row.shape));
    let around =
        boxes.reduce(|[a, b, c, d], [w, s, e, n]| [a.min(w), b.min(s), c.max(e), d.max(n)]);
    let [west, south, east, north] = match around {
        Some(around) => around.map(Some),
        None => [None; 4],
    };
    file.execute(
        "INSERT INTO gpkg_contents VALUES \
         (?1, 'features', ?1, '', '1970-01-01T00:00:00.000Z', ?2, ?3, ?4, ?5, ?6)",
        params![table.name, west, south, east, north, WGS_84],
    )?;
    let columns = table.columns.iter().map(|column| {
        let holds = match column.holds {
            Holds::Text => "TEXT",
            Holds::Number => "DOUBLE",
        };
        format!(", {} {holds}", quoted(column.name))
    });
    file.execute_batch(&format!(
        "CREATE TABLE {} (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom {form}{})",
        quoted(table.name),
        columns.collect::<String>()
    ))?;
    file.execute(
        "INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, ?3, 0, 0)",
        params![table.name, form, WGS_84],
    )?;
    let values = ", ?".repeat(table.columns.len());
    let mut add =
        file.prepare(&format!("INSERT INTO {} VALUES (NULL, ?{values})", quoted(table.name)))?;
    for (place, row) in table.rows.iter().enumerate() {
        let other = || WriteError::Shape {
            table: table.name,
            row: place + 1,
            reason: "it is of another form than its layer",
        };
        let shape = blob(&row.shape, table.form).ok_or_else(other)?;
        let values = table.columns.iter().zip(&row.values);
        let cells = values.map(|(column, value)| cell(value, column.holds));
        add.execute(params_from_iter(std::iter::once(Cell::Blob(shape)).chain(cells)))?;
    }
    Ok(())
}

fn cell(value: &Value, holds: Holds) -> Cell {
    match (value, holds) {
        (Value::Null, _) => Cell::Null,
        (value, Holds::Number) => value.as_f64().map_or(Cell::Null, Cell::Real),
        (Value::String(text), Holds::Text) => Cell::Text(text.clone()),
        (value, Holds::Text) => Cell::Text(value.to_string()),
    }
}

/// A shape as GeoPackage wants it (§2.1.3.1.1): a head, its box as west, east, south, north, and
/// well-known binary (OGC 06-103r4 §8.2), all little-endian; `None` of another form.
fn blob(shape: &Geometry<f64>, form: Form) -> Option<Vec<u8>> {
    const LITTLE_ENDIAN: u8 = 1;
    const BOX: u8 = 1 << 1;
    const EMPTY: u8 = 1 << 4;
    let around = corners(shape);
    let flags = LITTLE_ENDIAN | if around.is_some() { BOX } else { EMPTY };
    let mut bytes = vec![b'G', b'P', 0, flags];
    bytes.extend(WGS_84.to_le_bytes());
    if let Some([west, south, east, north]) = around {
        bytes.extend([west, east, south, north].iter().flat_map(|side| side.to_le_bytes()));
    }
    match (form, shape) {
        (Form::Points, Geometry::Point(point)) => {
            head(&mut bytes, 1);
            place(&mut bytes, point.0);
        }
        (Form::Polygons, Geometry::MultiPolygon(polygons)) => {
            head(&mut bytes, 6);
            count(&mut bytes, polygons.0.len());
            polygons.iter().for_each(|polygon| add_polygon(&mut bytes, polygon));
        }
        (Form::Polygons, Geometry::Polygon(polygon)) => {
            head(&mut bytes, 6);
            count(&mut bytes, 1);
            add_polygon(&mut bytes, polygon);
        }
        _ => return None,
    }
    Some(bytes)
}

fn add_polygon(bytes: &mut Vec<u8>, polygon: &Polygon<f64>) {
    head(bytes, 3);
    count(bytes, 1 + polygon.interiors().len());
    for ring in rings(polygon) {
        count(bytes, ring.0.len());
        ring.0.iter().for_each(|corner| place(bytes, *corner));
    }
}

fn rings(polygon: &Polygon<f64>) -> impl Iterator<Item = &LineString<f64>> {
    std::iter::once(polygon.exterior()).chain(polygon.interiors())
}

fn head(bytes: &mut Vec<u8>, code: u32) {
    bytes.push(1);
    bytes.extend(code.to_le_bytes());
}

/// Memory holds no more corners than that.
fn count(bytes: &mut Vec<u8>, count: usize) {
    bytes.extend((count as u32).to_le_bytes());
}

fn place(bytes: &mut Vec<u8>, place: Coord<f64>) {
    bytes.extend(place.x.to_le_bytes());
    bytes.extend(place.y.to_le_bytes());
}

/// West, south, east and north of what is drawn; of polygons the outer rings.
fn corners(shape: &Geometry<f64>) -> Option<[f64; 4]> {
    let polygons = match shape {
        Geometry::Point(point) => return Some([point.x(), point.y(), point.x(), point.y()]),
        Geometry::MultiPolygon(polygons) => polygons.0.as_slice(),
        Geometry::Polygon(polygon) => std::slice::from_ref(polygon),
        _ => return None,
    };
    let corners = polygons.iter().flat_map(|polygon| &polygon.exterior().0);
    corners.fold(None, |around, corner| {
        let [west, south, east, north] = around.unwrap_or([corner.x, corner.y, corner.x, corner.y]);
        let (low, high) =
            ((west.min(corner.x), south.min(corner.y)), (east.max(corner.x), north.max(corner.y)));
        Some([low.0, low.1, high.0, high.1])
    })
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use std::fs;

    use geo_types::{Point, polygon};
    use serde_json::json;

    use super::*;
    use crate::formats::geopackage::layers;
    use crate::write::{Column, Row};

    fn zones() -> Table {
        let lawn = polygon! {
            exterior: [(x: -93.3, y: 44.9), (x: -93.2, y: 44.9), (x: -93.2, y: 45.0), (x: -93.3, y: 44.9)],
            interiors: [[(x: -93.22, y: 44.93), (x: -93.21, y: 44.93), (x: -93.21, y: 44.94), (x: -93.22, y: 44.93)]],
        };
        let columns = vec![
            Column { name: "name", holds: Holds::Text },
            Column { name: "area_sqft", holds: Holds::Number },
        ];
        let rows = vec![
            Row {
                shape: lawn.clone().into(),
                values: vec![json!("Back \"lawn\""), json!(0.1 + 0.2)],
            },
            Row {
                shape: geo_types::MultiPolygon(vec![lawn.clone(), lawn]).into(),
                values: vec![json!("Östlich"), json!(null)],
            },
            Row {
                shape: geo_types::MultiPolygon(vec![]).into(),
                values: vec![json!(7), json!(12)],
            },
        ];
        Table { name: "zones", form: Form::Polygons, columns, rows }
    }

    fn tables() -> [Table; 3] {
        let well = Row { shape: Point::new(-93.25, 44.95).into(), values: vec![] };
        let wells = Table { name: "wells", form: Form::Points, columns: vec![], rows: vec![well] };
        let none = Table { name: "inlets", form: Form::Points, columns: vec![], rows: vec![] };
        [zones(), wells, none]
    }

    #[test]
    fn what_is_written_is_read_again() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plan #1?.gpkg");
        geopackage(&tables(), &path).unwrap();
        let bytes = fs::read(&path).unwrap();
        assert_eq!(&bytes[68..72], b"GPKG");
        let layers =
            layers("plan.gpkg", Some(&path), &bytes.into(), &crate::columns::Columns::all())
                .unwrap();
        let names: Vec<&str> = layers.iter().map(|layer| layer.name.as_str()).collect();
        assert_eq!(names, ["plan.gpkg (zones)", "plan.gpkg (wells)", "plan.gpkg (inlets)"]);
        let mut text = Vec::new();
        layers[0].bytes.read(0, layers[0].bytes.length(), &mut text).unwrap();
        let told: Value = serde_json::from_slice(&text).unwrap();
        assert_eq!(
            told["features"][0]["properties"],
            json!({"fid": 1, "name": "Back \"lawn\"", "area_sqft": 0.1 + 0.2})
        );
        assert_eq!(told["features"][0]["geometry"]["coordinates"][0][1][1], json!([-93.21, 44.94]));
        assert_eq!(told["features"][1]["properties"]["name"], "Östlich");
        assert_eq!(told["features"][2]["geometry"], Value::Null);
        assert_eq!(told["features"][2]["properties"]["name"], "7");
    }

    #[test]
    fn the_same_tables_give_the_same_file() {
        let folder = tempfile::tempdir().unwrap();
        let files = ["a.gpkg", "b.gpkg"].map(|name| folder.path().join(name));
        files.iter().for_each(|path| geopackage(&tables(), path).unwrap());
        assert_eq!(fs::read(&files[0]).unwrap(), fs::read(&files[1]).unwrap());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
    }

    #[test]
    fn a_point_among_polygons_is_not_written() {
        let folder = tempfile::tempdir().unwrap();
        let mut table = zones();
        table.rows[1].shape = Point::new(1.0, 2.0).into();
        let error = geopackage(&[table], &folder.path().join("a.gpkg")).unwrap_err();
        assert_eq!(
            error.to_string(),
            "zones row 2: cannot be written: it is of another form than its layer"
        );
    }
}
