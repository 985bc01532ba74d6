//! GeoPackage (OGC 12-128r18): a SQLite file whose table `gpkg_contents` lists its tables. Each
//! table of features is a layer of its own, `lots.gpkg (turf)`, since each may be in a system of its
//! own. Records are counted from 1 in the order of their feature ids.
//!
//! A view is refused: it is a program of whoever made the file, and mostly one that shows once more
//! what stands in a table, so that each lawn would be there twice.
//!
//! People keep one layer for each sort of thing. So a table that has no column `kind` and is named
//! for a kind, in the singular or the plural (`turf`, `beds`, `veg_strips`), holds features of that
//! kind.
//!
//! A layer is read whole or not at all: half a layer of wells looks like a layer of wells.

mod left_out;

use std::path::Path;

use geo_types::Geometry;
use rusqlite::types::ValueRef;
use rusqlite::{OptionalExtension, Row};
use serde_json::{Map, Value};

use super::carried::TableColumns;
use super::told::{Drawing, Layer, Says, Told};
use super::untrusted::{Stands, Untrusted, quoted};
use super::wkb;
use crate::bytes::Bytes;
use crate::columns::Columns;
use crate::error::ReadError;
use crate::feature::Counted;
use crate::kind::Kind;

/// No map has more layers, nor a layer a longer name.
const MOST_LAYERS: usize = 1_000;
const LONGEST_NAME: usize = 1_000;

/// Reads every table of features, in the order in which the file lists them. `path` is where the
/// bytes stand, if they are a file; `columns` says which columns to carry besides those that are read.
///
/// # Errors
///
/// [`ReadError::Format`] if the file is no GeoPackage, holds no features, or one of its tables
/// cannot be read to its end.
pub(crate) fn layers(
    name: &str,
    path: Option<&Path>,
    bytes: &Bytes,
    columns: &Columns,
) -> Result<Vec<Layer>, ReadError> {
    let read = || -> Result<Vec<Layer>, String> {
        let file = Untrusted::open(path, bytes)?;
        let tables = feature_tables(&file)?;
        let layers = tables.iter().map(|table| layer(&file, name, table, columns));
        let mut layers = layers.collect::<Result<Vec<Layer>, String>>()?;
        let left = left_out::remark(&file, &tables)?;
        if let (Some(first), Some(left)) = (layers.first_mut(), left) {
            first.remarks.push((None, "files-not-read", left));
        }
        Ok(layers)
    };
    read().map_err(|reason| ReadError::Format { file: name.to_owned(), reason })
}

/// The tables of features that `gpkg_contents` lists (§1.1.3, requirement 13).
fn feature_tables(file: &Untrusted) -> Result<Vec<String>, String> {
    if file.stands("gpkg_contents")? == Stands::Nothing {
        return Err("a SQLite file but no GeoPackage: it has no table gpkg_contents; export the layers as GeoPackage".into());
    }
    for table in ["gpkg_contents", "gpkg_geometry_columns", "gpkg_spatial_ref_sys"] {
        must_be_plain(file, table)?;
        if file.columns(table)?.iter().any(|column| column.is_computed) {
            return Err(format!("SQL in the file computes its table {table}; export it again"));
        }
    }
    let mut tables: Vec<String> = Vec::new();
    let mut others = 0;
    let gave_up = |error: rusqlite::Error| file.reason(&error);
    let sql = "SELECT table_name, data_type FROM gpkg_contents";
    let mut statement = file.connection.prepare(sql).map_err(gave_up)?;
    let mut rows = statement.query([]).map_err(gave_up)?;
    while let Some(row) = rows.next().map_err(gave_up)? {
        let table: String = row.get(0).map_err(gave_up)?;
        let data: String = row.get(1).map_err(gave_up)?;
        if !data.eq_ignore_ascii_case("features") {
            others += 1;
            continue;
        }
        if table.len() > LONGEST_NAME {
            return Err(format!("names its table {} too long; shorten it", shown(&table)));
        }
        if tables.iter().any(|known| known.eq_ignore_ascii_case(&table)) {
            return Err(format!("lists its table {} twice; export it again", shown(&table)));
        }
        if tables.len() == MOST_LAYERS {
            return Err(format!("lists more than {MOST_LAYERS} layers; export fewer"));
        }
        tables.push(table);
    }
    match (tables.is_empty(), others) {
        (false, _) => Ok(tables),
        (true, 0) => Err("holds no layer; export the layers again".into()),
        (true, _) => {
            Err("holds pictures or plain tables but no layer of features; export the layers that are drawn".into())
        }
    }
}

/// One table told as a layer.
fn layer(file: &Untrusted, name: &str, table: &str, columns: &Columns) -> Result<Layer, String> {
    let within = |reason: String| format!("its table {} {reason}", shown(table));
    must_be_plain(file, table)?;
    let shape = shape_column(file, table).and_then(|shape| shape.ok_or_else(|| {
        "is listed as features, but gpkg_geometry_columns names no geometry of it; export it again".into()
    }));
    let shape = shape.map_err(within)?;
    let says = says(file, shape.srs)?;
    let all = file.columns(table).map_err(within)?;
    let names: Vec<&str> = all.iter().map(|column| column.name.as_str()).collect();
    let place = names.iter().position(|name| name.eq_ignore_ascii_case(&shape.column));
    let place = place.ok_or_else(|| {
        within(format!(
            "has no column {}, where its geometry should be; export it again",
            shown(&shape.column)
        ))
    })?;
    let carried = TableColumns::of(&names, &[place], columns).map_err(within)?;
    let mut read = carried.carried.iter().map(|(place, _)| *place).chain([place]);
    if let Some(computed) =
        read.find_map(|place| all.get(place).filter(|column| column.is_computed))
    {
        let name = shown(&computed.name);
        return Err(within(format!(
            "has a column {name} that SQL in the file computes; export it as a plain table"
        )));
    }
    let kind = Kind::named(table).filter(|_| !carried.has("kind"));
    let name = format!("{name} ({})", readable(table));
    let mut told = Told::new(columns);
    told.know(names.iter().copied());
    let called = kind.map(|kind| told.naming(kind, "the name of the layer".to_owned()));
    told.call(called);
    tell(file, table, &shape, &names, &carried, &mut told).map_err(within)?;
    let layer = told.layer(&name, says, Counted::Records, false);
    let layer = layer.map_err(|error| within(not_kept(&error)))?;
    // The number of a row is no column that anybody filled in.
    let left_out =
        carried.left_out.into_iter().filter(|name| !matches!(name.as_str(), "fid" | "ogc_fid"));
    Ok(Layer { left_out: left_out.collect(), ..layer })
}

fn not_kept(error: &std::io::Error) -> String {
    format!("cannot be kept while it is read: {error}")
}

/// Refuses what is there but is no table of the file's own.
fn must_be_plain(file: &Untrusted, table: &str) -> Result<(), String> {
    let what = match file.stands(table)? {
        Stands::Table => return Ok(()),
        Stands::Nothing => "is not there, though it should be; export it again",
        Stands::View => "is a view; export it as a plain table, or take it out of the file",
        Stands::VirtualTable => "is a virtual one; export it as a plain one",
    };
    Err(format!("its table {} {what}", shown(table)))
}

/// Where a table holds its geometries, and in which system (§2.1.5).
struct ShapeColumn {
    column: String,
    srs: i64,
}

fn shape_column(file: &Untrusted, table: &str) -> Result<Option<ShapeColumn>, String> {
    let look = || {
        let mut list = file.connection.prepare(
            "SELECT column_name, srs_id FROM gpkg_geometry_columns \
             WHERE table_name = ?1 COLLATE NOCASE LIMIT 2",
        )?;
        let read = |row: &Row<'_>| Ok(ShapeColumn { column: row.get(0)?, srs: row.get(1)? });
        list.query_map([table], read)?.collect::<rusqlite::Result<Vec<_>>>()
    };
    let mut found = look().map_err(|error| file.reason(&error))?;
    match found.len() {
        0 | 1 => Ok(found.pop()),
        _ => Err("has two columns of geometry, and a layer has one; export it again".into()),
    }
}

/// What a system's number means (§1.1.2, requirements 10 and 11). Coordinates are always easting or
/// longitude first, whatever the system says (§2.1.3.1.1, note on axis order).
fn says(file: &Untrusted, srs: i64) -> Result<Says, String> {
    match srs {
        4326 => return Ok(Says::System("EPSG:4326".into())),
        // Undefined, Cartesian and geographic.
        -1 | 0 => return Ok(Says::Nothing),
        _ => {}
    }
    let look = || {
        let read = |row: &Row<'_>| {
            Ok((row.get::<_, String>(0)?, row.get::<_, i64>(1)?, row.get::<_, String>(2)?))
        };
        let sql = "SELECT organization, organization_coordsys_id, definition \
                   FROM gpkg_spatial_ref_sys WHERE srs_id = ?1 LIMIT 1";
        file.connection.query_row(sql, [srs], read).optional()
    };
    let Some((organization, number, definition)) = look().map_err(|error| file.reason(&error))?
    else {
        return Ok(Says::Nothing);
    };
    let (organization, definition) = (organization.trim(), definition.trim());
    let is_defined = !definition.is_empty() && !definition.eq_ignore_ascii_case("undefined");
    let is_named = number > 0 && !organization.eq_ignore_ascii_case("NONE");
    Ok(if organization.eq_ignore_ascii_case("EPSG") && number > 0 {
        Says::System(format!("EPSG:{number}"))
    } else if is_defined {
        Says::System(definition.to_owned())
    } else if is_named && organization.chars().all(|c| c.is_ascii_alphanumeric()) {
        Says::System(format!("{organization}:{number}"))
    } else {
        Says::Nothing
    })
}

/// Tells every row of a table, one at a time.
fn tell(
    file: &Untrusted,
    table: &str,
    shape: &ShapeColumn,
    names: &[&str],
    columns: &TableColumns,
    told: &mut Told<'_>,
) -> Result<(), String> {
    let wanted = columns.carried.iter().filter_map(|(place, _)| names.get(*place));
    let wanted: String = wanted.map(|name| format!(", {}", quoted(name))).collect();
    let sql = format!("SELECT {}{wanted} FROM {}", quoted(&shape.column), quoted(table));
    let gave_up = |error: rusqlite::Error| file.reason(&error);
    // The number of a row has three names (<https://www.sqlite.org/lang_createtable.html#rowid>),
    // and a column may take one away. By another column the rows would first be collected.
    let is_free = |id: &&str| !names.iter().any(|name| name.eq_ignore_ascii_case(id));
    let id = ["rowid", "oid", "_rowid_"].into_iter().find(is_free);
    let in_order = id.and_then(|id| file.connection.prepare(&format!("{sql} ORDER BY {id}")).ok());
    // A table may have none; then its rows stand by its key.
    let mut statement = match in_order {
        Some(statement) => statement,
        None => file.connection.prepare(&sql).map_err(gave_up)?,
    };
    let mut rows = statement.query([]).map_err(gave_up)?;
    while let Some(row) = rows.next().map_err(gave_up)? {
        file.count_row(size(row, 1 + columns.carried.len()))?;
        let geometry = geometry(row.get_ref(0).map_err(gave_up)?, shape.srs);
        let mut properties = Map::new();
        for (place, (_, name)) in columns.carried.iter().enumerate() {
            let value = value(row.get_ref(1 + place).map_err(gave_up)?);
            properties.insert(name.clone(), value);
        }
        let drawing = match &geometry {
            Ok(Some(geometry)) => Drawing::Shape(geometry),
            Ok(None) => Drawing::Nothing,
            Err(reason) => Drawing::Unreadable(reason.clone()),
        };
        told.feature(None, drawing, properties).map_err(|error| not_kept(&error))?;
    }
    Ok(())
}

/// Bytes of the values of a row.
fn size(row: &Row<'_>, columns: usize) -> usize {
    let sizes = (0..columns).map(|place| match row.get_ref(place) {
        Ok(ValueRef::Text(bytes) | ValueRef::Blob(bytes)) => bytes.len(),
        _ => 8,
    });
    sizes.sum()
}

/// A geometry as GeoPackage writes it: a head, a box and well-known binary (§2.1.3.1.1).
fn geometry(value: ValueRef<'_>, srs: i64) -> Result<Option<Geometry<f64>>, String> {
    let bytes = match value {
        ValueRef::Null => return Ok(None),
        ValueRef::Blob(bytes) => bytes,
        other => {
            let what = format!("{:?}", other.data_type()).to_lowercase();
            return Err(format!("it is {what} and no GeoPackage geometry; export it again"));
        }
    };
    let cut_off = || "it ends too soon; export it again".to_owned();
    let Some((b"GP", head)) = bytes.split_first_chunk() else {
        return Err(
            "it is no GeoPackage geometry: it does not start with GP; export it again".into()
        );
    };
    let ([version, flags], rest) = head.split_first_chunk().ok_or_else(cut_off)?;
    if *version != 0 {
        return Err(format!("its version {version} is not known; export it as GeoPackage 1.3"));
    }
    const LITTLE_ENDIAN: u8 = 1;
    const EMPTY: u8 = 1 << 4;
    const EXTENDED: u8 = 1 << 5;
    if flags & EXTENDED != 0 {
        return Err(
            "it is of a type of its program's own; convert to plain polygons and export it again"
                .into(),
        );
    }
    let (srs_bytes, rest) = rest.split_first_chunk::<4>().ok_or_else(cut_off)?;
    let own_srs = match flags & LITTLE_ENDIAN {
        0 => i32::from_be_bytes(*srs_bytes),
        _ => i32::from_le_bytes(*srs_bytes),
    };
    // 0 and -1 say that they do not know, as some writers leave it.
    if !matches!(own_srs, 0 | -1) && i64::from(own_srs) != srs {
        return Err(format!(
            "it is in system {own_srs} and its table in {srs}; bring it to one system and export it again"
        ));
    }
    let envelope = match (flags >> 1) & 0b111 {
        0 => 0,
        1 => 32,
        2 | 3 => 48,
        4 => 64,
        other => return Err(format!("its box of kind {other} is not known; export it again")),
    };
    let rest = rest.get(envelope..).ok_or_else(cut_off)?;
    if rest.is_empty() && flags & EMPTY != 0 {
        return Ok(None);
    }
    wkb::geometry(rest).map(|read| read.geometry)
}

/// A value as JSON. What cannot be one is told so that it is refused if anyone asks for it.
fn value(value: ValueRef<'_>) -> Value {
    let start = |bytes: &[u8]| bytes.iter().take(16).copied().collect::<Vec<u8>>().into();
    match value {
        ValueRef::Null => Value::Null,
        ValueRef::Integer(number) => number.into(),
        ValueRef::Real(number) if number.is_finite() => number.into(),
        ValueRef::Real(number) => number.to_string().into(),
        // A name with a letter replaced would be another's.
        ValueRef::Text(text) => std::str::from_utf8(text).map_or_else(|_| start(text), Value::from),
        ValueRef::Blob(bytes) => start(bytes),
    }
}

/// A name of the file's maker as it can stand in a message.
fn shown(name: &str) -> String {
    format!("{:?}", readable(name))
}

fn readable(name: &str) -> String {
    let name = name.replace(char::is_control, " ");
    match name.char_indices().nth(60) {
        Some((end, _)) => format!("{}…", &name[..end]),
        None => name,
    }
}

#[cfg(test)]
mod tests;
