//! stub
mod archive;
mod carried;
mod decoded;
pub(crate) mod geojson;
mod gpx;
pub(crate) mod kml;
pub(crate) mod shapefile;
mod shapes;
pub(crate) mod told;
mod xml;
use crate::bytes::Bytes;
use crate::columns::Columns;
use crate::crs::CoordinateSystem;
use crate::error::ReadError;
use crate::survey::Source;
use std::io::Read;
use std::path::Path;
/// o
pub fn open(
    path: &Path,
    crs: &CoordinateSystem,
    columns: &Columns,
) -> Result<Vec<Source>, ReadError> {
    let name = path.display().to_string();
    let bytes = Bytes::open(path)
        .map_err(|e| ReadError::NotRead { file: name.clone(), reason: e.to_string() })?;
    layers(&name, bytes, crs, columns)
}
fn layers(
    name: &str,
    bytes: Bytes,
    crs: &CoordinateSystem,
    columns: &Columns,
) -> Result<Vec<Source>, ReadError> {
    if columns.is_plain() {
        return Ok(vec![Source::geojson(name, bytes, crs.clone())]);
    }
    Ok(match geojson::layer(name, &bytes, columns)? {
        Some(layer) => vec![Source::told(layer, crs.clone())],
        None => vec![Source::geojson(name, bytes, crs.clone())],
    })
}
/// s
pub fn of_stream(
    name: &str,
    stream: &mut impl Read,
    crs: &CoordinateSystem,
    columns: &Columns,
) -> Result<Vec<Source>, ReadError> {
    let bytes = Bytes::of_stream(stream)
        .map_err(|e| ReadError::NotRead { file: name.to_owned(), reason: e.to_string() })?;
    layers(name, bytes, crs, columns)
}
