//! Shapefiles as programs write them, byte by byte, and as they are found: cut, damaged, or made
//! to claim what is not there.

#![allow(clippy::unwrap_used)] // A test may.

mod damage;
mod files;
mod rings;
mod shapes;
mod tables;

use proptest::prelude::*;
use serde_json::json;

use super::*;
use crate::columns::Columns;
use crate::crs::CoordinateSystem;
use crate::survey::{Source, read};

type Ring = Vec<(f64, f64)>;

/// A square whose south-west corner is at `x`, `y`.
fn square(x: f64, y: f64, side: f64, is_clockwise: bool) -> Ring {
    let mut ring = vec![(x, y), (x, y + side), (x + side, y + side), (x + side, y), (x, y)];
    if !is_clockwise {
        ring.reverse();
    }
    ring
}

fn doubles(numbers: &[f64]) -> Vec<u8> {
    numbers.iter().flat_map(|number| number.to_le_bytes()).collect()
}

fn integers(numbers: &[i32]) -> Vec<u8> {
    numbers.iter().flat_map(|number| number.to_le_bytes()).collect()
}

/// The content of a record of lines or rings.
fn parted(kind: i32, parts: &[Ring]) -> Vec<u8> {
    let corners: Vec<f64> = parts.iter().flatten().flat_map(|(x, y)| [*x, *y]).collect();
    let starts = parts.iter().scan(0, |start, part| {
        *start += part.len() as i32;
        Some(*start - part.len() as i32)
    });
    let mut content = integers(&[kind]);
    content.extend([0; 32]);
    content.extend(integers(&[parts.len() as i32, corners.len() as i32 / 2]));
    content.extend(integers(&starts.collect::<Vec<_>>()));
    content.extend(doubles(&corners));
    content
}

fn polygon(rings: &[Ring]) -> Vec<u8> {
    parted(5, rings)
}

fn point(x: f64, y: f64) -> Vec<u8> {
    [integers(&[1]), doubles(&[x, y])].concat()
}

/// A main file or an index around what it holds.
fn file(content: &[u8]) -> Vec<u8> {
    let mut file = 9994_i32.to_be_bytes().to_vec();
    file.extend([0; 20]);
    file.extend(((100 + content.len() as i32) / 2).to_be_bytes());
    file.extend(integers(&[1000, 5]));
    file.extend([0; 64]);
    file.extend(content);
    file
}

fn header(number: i32, content: &[u8]) -> Vec<u8> {
    [number, content.len() as i32 / 2].iter().flat_map(|it| it.to_be_bytes()).collect()
}

fn shp(records: &[Vec<u8>]) -> Vec<u8> {
    let records = records.iter().zip(1..);
    let records =
        records.map(|(content, number)| [header(number, content), content.clone()].concat());
    file(&records.collect::<Vec<_>>().concat())
}

/// An index that names these places, in bytes, and the records' lengths.
fn shx(records: &[(usize, &Vec<u8>)]) -> Vec<u8> {
    let entries = records.iter().flat_map(|(place, content)| header(*place as i32 / 2, content));
    file(&entries.collect::<Vec<_>>())
}

/// A table of columns `(name, type, length)` and rows, the first letter of which is its mark.
fn dbf(driver: u8, columns: &[(&str, u8, u8)], rows: &[&[u8]]) -> Vec<u8> {
    let row_length = 1 + columns.iter().map(|column| u16::from(column.2)).sum::<u16>();
    let mut dbf = vec![3, 95, 7, 26];
    dbf.extend((rows.len() as u32).to_le_bytes());
    dbf.extend((33 + 32 * columns.len() as u16).to_le_bytes());
    dbf.extend(row_length.to_le_bytes());
    dbf.resize(32, 0);
    dbf[29] = driver;
    for (name, letter, length) in columns {
        let mut field = [0; 32];
        field[..name.len()].copy_from_slice(name.as_bytes());
        (field[11], field[16]) = (*letter, *length);
        dbf.extend(field);
    }
    dbf.push(0x0d);
    for row in rows {
        let mut row = row.to_vec();
        row.resize(row_length.into(), b' ');
        dbf.extend(row);
    }
    dbf.push(0x1a);
    dbf
}

fn parts(shp: Vec<u8>, dbf: Option<Vec<u8>>) -> Parts {
    Parts { shp: shp.into(), shx: None, dbf: dbf.map(Bytes::from), prj: None, cpg: None }
}

fn told(parts: Parts) -> Result<Layer, ReadError> {
    layer("lots.shp", parts, &Columns::default())
}

/// What a layer says, as JSON.
fn features(layer: &Layer) -> Vec<serde_json::Value> {
    let mut text = Vec::new();
    layer.bytes.read(0, layer.bytes.length(), &mut text).unwrap();
    let mut json: serde_json::Value = serde_json::from_slice(&text).unwrap();
    json["features"].as_array_mut().unwrap().drain(..).collect()
}

/// The geometry of a file of one record.
fn geometry(content: Vec<u8>) -> serde_json::Value {
    features(&told(parts(shp(&[content]), None)).unwrap())[0]["geometry"].clone()
}

/// How the only record of a file cannot be read.
fn unreadable(content: Vec<u8>) -> String {
    geometry(content)["unreadable"].as_str().unwrap().to_owned()
}

/// Each polygon of a record as the areas of its rings, the shell's first.
fn areas(rings: &[Ring]) -> Vec<Vec<f64>> {
    let geometry = geometry(polygon(rings));
    let area = |ring: &serde_json::Value| {
        let corner = |at: &serde_json::Value| (at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
        let ring: Vec<_> = ring.as_array().unwrap().iter().map(corner).collect();
        let doubled: f64 = ring.windows(2).map(|at| at[0].0 * at[1].1 - at[1].0 * at[0].1).sum();
        doubled.abs() / 2.0
    };
    let polygons = geometry["coordinates"].as_array().unwrap().iter();
    polygons.map(|rings| rings.as_array().unwrap().iter().map(area).collect()).collect()
}

fn refusal(parts: Parts) -> String {
    told(parts).unwrap_err().to_string()
}

/// The properties of the rows of a table.
fn rows(
    table: Vec<u8>,
    cpg: Option<&str>,
    columns: &Columns,
) -> (Vec<serde_json::Value>, Vec<String>) {
    let count = u32::from_le_bytes(table[4..8].try_into().unwrap());
    let shapes = vec![point(1.0, 2.0); count as usize];
    let mut parts = parts(shp(&shapes), Some(table));
    parts.cpg = cpg.map(|cpg| cpg.as_bytes().to_vec());
    let layer = layer("lots.shp", parts, columns).unwrap();
    let rows = features(&layer).into_iter().map(|mut it| it["properties"].take()).collect();
    (rows, layer.left_out)
}
