//! Why a lawn can be measured without a map.
//!
//! Many lawns were never drawn: somebody walked them with a tape and wrote down sides, offsets and
//! radii. The tempting way is a calculator of areas beside the rest; then beds would be taken out,
//! rates chosen and sheets drawn by other rules than on a map. So a tape sheet is told as a map like
//! any other, on a plane of its own in metres: each figure becomes an outline that holds the area of
//! the rule that its owner named, and everything after that is what happens to every map.
//!
//! # The sheet
//!
//! ```toml
//! unit = "ft"                     # of bare numbers: ft, in, yd, m or cm
//!
//! [[shape]]
//! kind = "turf"
//! name = "Front lawn"
//! species = "tall-fescue"
//! rectangle = { length = 60, width = "42 ft 6 in" }
//!
//! [[shape]]
//! kind = "bed"
//! within = "Front lawn"           # left as an area: taken out of that zone
//! circle = { radius = 6 }
//! ```
//!
//! A length is a number in the sheet's `unit`, or a text with its own: `"25 ft"`, `"7.5 m"`,
//! `12'6"` (in single quotes of TOML's long kind, or as `"12 ft 6 in"`). Beside what says where and
//! how large, a shape may have what any map feature has: `kind`, `name`, `species`, `condition`,
//! `property`, `priority`, `setback_ft` or `setback_m`, `veg_strip_ft` or `veg_strip_m`, `drawn_ft`
//! or `drawn_m`, `grade_pct`. What is not known is refused, with the nearest name that is.
//!
//! | figure | measures | area |
//! | --- | --- | --- |
//! | `rectangle` | `length`, `width` | length × width |
//! | `triangle` | `base`, `height`, or the sides `a`, `b`, `c` | ½ base × height; Heron |
//! | `trapezoid` | parallel sides `a`, `b`, and `height` | ½ (a + b) × height |
//! | `circle` | `radius` or `diameter` | π r² |
//! | `ellipse` | `length`, `width`: the whole axes, not half | π/4 length × width |
//! | `offsets` | `spacing` or the base line's `length`, `widths`, `rule` | by the rule, see below |
//! | `radii` | `lengths` at equal angles, `rule` | by the rule, see below |
//! | `traverse` | `courses`, each a bearing and a distance; `at_most` | of the adjusted courses |
//! | `line` | `length` or `points`, and `width` | length × width |
//! | `point` | `radius`, or none of a well and the like | π r² |
//! | `area` | one figure such as `"4,857.5 sq ft"` that somebody else measured | itself |
//!
//! A lawn of several simple figures is one shape with several of them, added up:
//! `rectangle = [{ length = 67, width = 130 }, { length = 20, width = 25 }]` and
//! `triangle = { base = 20, height = 20 }`.
//!
//! Published rules for one and the same row of offsets give different areas, so the rule is always
//! named. `"mean"`: base line × plain mean of all widths. `"trapezoid"`: spacing × (half the first and
//! the last width and all between). `"simpson"`: Simpson's one-third rule, which needs an even number
//! of intervals. The first and the last width stand at the ends of the base line; 0 is a width. Of
//! radii `"triangles"` adds up ½ r r′ sin θ between each two neighbors; `"mean-radius"` is the turf
//! handbooks' π × (mean radius)². The outline then is the measured one, stretched across the base line
//! or from the center until it holds exactly that area.
//!
//! A traverse is what deeds give: `courses = [["N 45°30'15\" E", 120.5], …]`; `N 45-30-15 E`,
//! `N 45 30 15 E` and azimuths (`225.5`, clockwise from north) are read too. Its last course ends where
//! its first began, but for what bearings and tape are off. That gap, the misclosure, is shared out in
//! proportion to the courses' lengths (compass rule, Bowditch 1808) and told; beyond 1 part in 300 of
//! the length all round, or what `at_most = "1:5000"` says, the traverse is refused.
//!
//! # Where a shape is
//!
//! `at = { east = 10, north = 0, turn = 0 }` places it by hand, counted from a corner of your own that
//! is the same for all of one `property`. The point that is put there is the first corner (of a
//! circle, an ellipse, radii or a point the center); at turn 0 the length, base or line runs east from it
//! and the width north, the first radius points north and bearings are as they are; `turn` turns the
//! whole clockwise, in degrees.
//!
//! Zones without `at` are laid side by side. What is to be taken out of one and has no place says
//! `within = "zone"`: then the zone becomes a rectangle of its own area, across which each such shape
//! lies as a strip of its own. The net area is right (as far as the shapes really lie inside, apart
//! from each other); perimeters and distances are not known from it, and a remark `left-as-area`
//! says so. What is kept away from (water, wells, drains, gardens, play areas, hives, whatever has
//! a setback of its own) must be placed, and then so must all else of its property: a distance that
//! nobody knows cannot be kept.
//!
//! The same as rows of a table, for simple figures, is read by [`layer_of_csv`]: columns `figure`,
//! `kind`, `name`, the measures by their names above, `unit`, `within`, `east`, `north`, `turn`, and
//! the other properties.

mod areas;
mod bearing;
mod curves;
mod entry;
mod fields;
mod figure;
mod given;
mod ground;
mod layout;
mod measure;
mod plain;
mod rows;
mod sheet;
mod traverse;

#[cfg(test)]
mod tests;

use std::io;

use serde_json::{Map, Value};

use crate::columns::Columns;
use crate::error::ReadError;
use crate::feature::Counted;
use crate::formats::told::{Drawing, Layer, Says, Told};
use entry::Entry;
use layout::{Laid, lay_out};

/// Why an entry cannot be used, and what to change: the middle of a sentence.
type Reason = String;

/// The layer of a tape sheet in TOML.
///
/// * One feature for each `[[shape]]`, in its order, on its line; one that cannot be used says why.
/// * Out: metres east and north on a plane of the sheet's own.
///
/// # Errors
///
/// [`ReadError::Format`] for a text that is no TOML or no tape sheet, [`ReadError::NotRead`] where no
/// temporary file can be written.
pub(crate) fn layer(name: &str, text: &str) -> Result<Layer, ReadError> {
    let entries = given::entries(text).map_err(|reason| not_a_sheet(name, reason))?;
    told(name, entries, Vec::new())
}

/// The layer of a tape sheet in rows, the first of which names the columns.
///
/// # Errors
///
/// As [`layer`].
pub(crate) fn layer_of_csv(name: &str, text: &str) -> Result<Layer, ReadError> {
    let (entries, left_out) = rows::entries(text).map_err(|reason| not_a_sheet(name, reason))?;
    told(name, entries, left_out)
}

fn not_a_sheet(file: &str, reason: Reason) -> ReadError {
    ReadError::Format { file: file.to_owned(), reason }
}

fn told(name: &str, entries: Vec<Entry>, left_out: Vec<String>) -> Result<Layer, ReadError> {
    let (laid, remarks) = lay_out(entries);
    let not_kept =
        |error: io::Error| ReadError::NotRead { file: name.to_owned(), reason: error.to_string() };
    let layer = tell(name, laid).map_err(not_kept)?;
    let remarks = remarks.into_iter().map(|(item, code, message)| (Some(item), code, message));
    Ok(Layer { left_out, remarks: remarks.collect(), ..layer })
}

fn tell(name: &str, laid: Vec<Laid>) -> io::Result<Layer> {
    let columns = Columns::default();
    let mut told = Told::new(&columns);
    for Laid { line, mut properties, drawn } in laid {
        match drawn {
            Ok(None) => told.feature(Some(line), Drawing::Nothing, properties)?,
            Err(reason) => told.feature(Some(line), Drawing::Unreadable(reason), properties)?,
            Ok(Some(outline)) => {
                let (geometry, sizes) = outline.told();
                properties.extend(named(sizes));
                told.feature(Some(line), Drawing::Shape(&geometry), properties)?;
            }
        }
    }
    told.layer(name, Says::PlaneMetres, Counted::Items, true)
}

fn named(size: Option<(&'static str, f64)>) -> Map<String, Value> {
    size.into_iter().map(|(name, metres)| (name.to_owned(), metres.into())).collect()
}
