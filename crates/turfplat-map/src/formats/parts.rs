//! What well-known binary and well-known text have in common: a geometry is put together from its
//! parts, and a part without a point is none, so that an empty hole or an empty polygon among
//! others refuses nothing.

use geo_types::{Coord, Geometry, GeometryCollection, LineString, Polygon};
use geo_types::{MultiLineString, MultiPoint, MultiPolygon};

/// The sorts of geometry that are read (OGC 06-103r4 §6.1, without curves and meshes).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sort {
    Point,
    Line,
    Polygon,
    Points,
    Lines,
    Polygons,
    Collection,
}

/// Collections stand in collections no deeper than this, which is the limit for GeoJSON too.
pub(super) const DEEPEST: usize = 32;

/// Says what is too deep.
pub(super) fn too_deep() -> String {
    format!("collections inside collections, more than {DEEPEST} deep; take them apart")
}

/// Says what to do with a sort of geometry that is not read.
pub(super) fn not_plain(sort: &str) -> String {
    format!("{sort} has curves or is a mesh; convert to plain polygons and export it again")
}

/// A coordinate that is a number.
pub(super) fn place(x: f64, y: f64) -> Result<Coord<f64>, String> {
    if x.is_finite() && y.is_finite() {
        return Ok(Coord { x, y });
    }
    Err("a coordinate is infinite or not a number; draw it again".into())
}

/// A line, if it has points.
pub(super) fn line(places: Vec<Coord<f64>>) -> Option<Geometry<f64>> {
    (!places.is_empty()).then(|| LineString(places).into())
}

/// A polygon from its rings, the shell first; none if all are empty.
pub(super) fn polygon(rings: Vec<Vec<Coord<f64>>>) -> Result<Option<Geometry<f64>>, String> {
    let mut rings = rings.into_iter().map(LineString);
    let shell = rings.next().unwrap_or_else(|| LineString(Vec::new()));
    let holes: Vec<LineString<f64>> = rings.filter(|ring| !ring.0.is_empty()).collect();
    match (shell.0.is_empty(), holes.is_empty()) {
        (true, true) => Ok(None),
        (true, false) => Err("a polygon has holes but no outer ring; draw it again".into()),
        (false, _) => Ok(Some(Polygon::new(shell, holes).into())),
    }
}

/// Parts that stand together, none of them empty; nothing if there are none.
pub(super) fn together(
    sort: Sort,
    parts: Vec<Geometry<f64>>,
) -> Result<Option<Geometry<f64>>, String> {
    if parts.is_empty() {
        return Ok(None);
    }
    let whole = match sort {
        Sort::Points => all(parts).map(|points| MultiPoint(points).into()),
        Sort::Lines => all(parts).map(|lines| MultiLineString(lines).into()),
        Sort::Polygons => all(parts).map(|polygons| MultiPolygon(polygons).into()),
        Sort::Collection => Some(Geometry::GeometryCollection(GeometryCollection(parts))),
        Sort::Point | Sort::Line | Sort::Polygon => None,
    };
    let mixed = || "its parts are not all of the sort that it says; export it again".to_owned();
    whole.map(Some).ok_or_else(mixed)
}

/// All parts, if they are of one sort.
fn all<T: TryFrom<Geometry<f64>>>(parts: Vec<Geometry<f64>>) -> Option<Vec<T>> {
    parts.into_iter().map(|part| T::try_from(part).ok()).collect()
}
