//! GeoJSON whose properties are another program's: told again with what a kinds file says of them.

use std::collections::BTreeSet;
use std::io;
use std::sync::Arc;

use serde::Deserialize;
use serde_json::value::RawValue;
use serde_json::{Map, Value};

use crate::bytes::Bytes;
use crate::columns::{Columns, Values};
use crate::crs::CoordinateSystem;
use crate::error::ReadError;
use crate::feature::Counted;
use crate::formats::told::{Layer, Says, Told};
use crate::said::crs_name;
use crate::splitter::{Batch, Splitter};
use crate::survey::Source;

#[derive(Deserialize)]
struct Feature<'t> {
    #[serde(rename = "type")]
    form: String,
    #[serde(default)]
    properties: Option<Map<String, Value>>,
    #[serde(borrow)]
    geometry: Option<&'t RawValue>,
}

/// A feature alone is no longer: four million corners.
const LONGEST_FEATURE: u64 = 64 << 20;

/// A GeoJSON file with its properties under the names that are read here; `None` of a geometry alone,
/// which has none, and of what is no GeoJSON. `asked` is in what the user says it is.
pub(crate) fn layer(
    name: &str,
    bytes: &Bytes,
    columns: &Columns,
    asked: &CoordinateSystem,
) -> Result<Option<Layer>, ReadError> {
    let file: Arc<str> = Arc::from(name);
    let not_kept =
        |error: io::Error| ReadError::NotRead { file: name.to_owned(), reason: error.to_string() };
    let mut splitter = Splitter::new(&file, bytes);
    let mut told = Told::new(columns);
    if columns.with_a_word_for_nothing().next().is_some() {
        told.know(names_in(&file, bytes)?.iter().map(String::as_str));
    }
    told.call_file(columns.kind_of_file(name));
    let mut spare = Batch::default();
    while let Some(batch) = splitter.next_batch(spare)? {
        for piece in &batch.pieces {
            let text = &batch.bytes[piece.start..piece.end];
            match serde_json::from_slice::<Feature<'_>>(text) {
                Ok(Feature { form, properties, geometry }) if form == "Feature" => {
                    let geometry = geometry.map_or("null", RawValue::get).replace('\n', " ");
                    let row = properties.unwrap_or_default();
                    told.feature_of_text(Some(piece.line), &geometry, row)
                }
                // It will be refused for what it is, where it stands.
                _ => told.as_it_is(piece.line, text),
            }
            .map_err(not_kept)?;
        }
        spare = batch;
    }
    if splitter.top().features_is_array != Some(true) {
        if bytes.length() > LONGEST_FEATURE {
            return Ok(None);
        }
        let mut text = Vec::new();
        bytes.read(0, bytes.length(), &mut text).map_err(not_kept)?;
        let text = text.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&text);
        match serde_json::from_slice::<Feature<'_>>(text) {
            Ok(Feature { form, properties, geometry }) if form == "Feature" => {
                let geometry = geometry.map_or("null", RawValue::get).replace('\n', " ");
                told.feature_of_text(Some(1), &geometry, properties.unwrap_or_default())
                    .map_err(not_kept)?;
            }
            _ if is_geometry(text) && told.of_file().is_some() => {
                let geometry = String::from_utf8_lossy(text).replace('\n', " ");
                told.feature_of_text(Some(1), &geometry, Map::new()).map_err(not_kept)?;
            }
            _ if is_geometry(text) => match columns.settle(Map::new(), false) {
                // What a kinds file says of every feature it says of this one.
                Ok(said) if said.contains_key("kind") => {
                    let geometry = String::from_utf8_lossy(text).replace('\n', " ");
                    told.feature_of_text(Some(1), &geometry, Map::new()).map_err(not_kept)?;
                }
                _ => return Ok(None),
            },
            _ => return Ok(None),
        }
    }
    let named = crs_name(splitter.top(), &file, asked)?;
    let says = named.map_or(Says::LongitudeLatitude, Says::System);
    told.layer(name, says, Counted::Features, true).map(Some).map_err(not_kept)
}

/// The names of all properties: one that only some features have is missing in the others.
fn names_in(file: &Arc<str>, bytes: &Bytes) -> Result<BTreeSet<String>, ReadError> {
    let mut names = BTreeSet::new();
    let mut splitter = Splitter::new(file, bytes);
    let mut spare = Batch::default();
    while let Some(batch) = splitter.next_batch(spare)? {
        for piece in &batch.pieces {
            let text = &batch.bytes[piece.start..piece.end];
            if let Ok(Feature { properties: Some(row), .. }) = serde_json::from_slice(text) {
                names.extend(row.into_iter().map(|(name, _)| name));
            }
        }
        spare = batch;
    }
    Ok(names)
}

/// True of a geometry alone (RFC 7946 §3.1).
fn is_geometry(text: &[u8]) -> bool {
    #[derive(Deserialize)]
    struct Geometry<'t> {
        #[serde(rename = "type", borrow)]
        form: std::borrow::Cow<'t, str>,
    }
    const FORMS: [&str; 7] = [
        "Point",
        "MultiPoint",
        "LineString",
        "MultiLineString",
        "Polygon",
        "MultiPolygon",
        "GeometryCollection",
    ];
    serde_json::from_slice::<Geometry<'_>>(text).is_ok_and(|it| FORMS.contains(&it.form.as_ref()))
}

/// The values of all columns of some files, opened with [`Columns::all`].
///
/// # Errors
///
/// [`ReadError`] of a file that cannot be read.
pub fn values_of(sources: &[Source]) -> Result<Values, ReadError> {
    let mut values = Values::default();
    for source in sources {
        values.begin(&source.name);
        let file: Arc<str> = Arc::from(source.name.as_str());
        let mut splitter = Splitter::new(&file, &source.bytes);
        let mut spare = Batch::default();
        while let Some(batch) = splitter.next_batch(spare)? {
            for piece in &batch.pieces {
                let text = &batch.bytes[piece.start..piece.end];
                if let Ok(Feature { properties: Some(row), .. }) = serde_json::from_slice(text) {
                    values.add(&row);
                }
            }
            spare = batch;
        }
    }
    Ok(values)
}
