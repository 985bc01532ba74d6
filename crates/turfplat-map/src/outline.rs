//! Geometries read straight into outlines in the map's frame, coordinate by coordinate: the
//! numbers of a county's file are tens of millions, and no list of lists is made of them.

use std::borrow::Cow;
use std::fmt;

use geo_types::{Coord, LineString, Polygon};
use serde::de::{DeserializeSeed, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde_json::value::RawValue;

use crate::crs::ToFrame;
use crate::error::{MapError, Odd};
use crate::feature::{FeatureRef, Outline};
use crate::feature_text::Text;

/// Takes geometries apart into points, lines and polygons in the map's frame.
pub(crate) struct OutlineReader<'f> {
    pub(crate) to_frame: &'f ToFrame,
    pub(crate) outline: Outline,
    /// What was settled on the way: a code and what to say.
    pub(crate) remarks: Vec<(&'static str, &'static str)>,
    /// Whether all coordinates that came by look like degrees taken for a grid's.
    pub(crate) like_degrees: Option<bool>,
    /// Where the feature stands, once its name is known.
    pub(crate) at: Option<FeatureRef>,
    /// What is wrong with a coordinate, where more is known than its text says.
    pub(crate) slip: Option<MapError>,
    /// True where of each ring and line only the box is wanted, as its two corners.
    boxes_only: bool,
    /// Places of the ring or line at hand; kept, so that each needs but one allocation of its own.
    pub(crate) places: Vec<Coord<f64>>,
}

impl<'f> OutlineReader<'f> {
    pub(crate) fn new(to_frame: &'f ToFrame) -> OutlineReader<'f> {
        OutlineReader {
            to_frame,
            outline: Outline::default(),
            remarks: Vec::new(),
            like_degrees: None,
            at: None,
            slip: None,
            boxes_only: false,
            places: Vec::with_capacity(64),
        }
    }

    /// A reader of which nothing but boxes is wanted.
    pub(crate) fn of_boxes(to_frame: &'f ToFrame) -> OutlineReader<'f> {
        OutlineReader { boxes_only: true, ..OutlineReader::new(to_frame) }
    }

    /// Forgets what was read.
    pub(crate) fn start_anew(&mut self) {
        self.outline = Outline::default();
        self.remarks.clear();
        (self.like_degrees, self.at, self.slip) = (None, None, None);
    }

    fn remark(&mut self, code: &'static str, message: &'static str) {
        if !self.remarks.iter().any(|(known, _)| *known == code) || code == "ring-closed" {
            self.remarks.push((code, message));
        }
    }

    /// The coordinate in the map's frame, if it can be one.
    #[inline(always)]
    pub(crate) fn place(&mut self, x: f64, y: f64) -> Result<Coord<f64>, String> {
        // One test lets nearly all through, and no number that is none.
        let is_usual = x.abs() <= 180.0 && (-60.0..=90.0).contains(&y);
        if is_usual && matches!(self.to_frame, ToFrame::Degrees) {
            return Ok(Coord { x, y });
        }
        self.unusual_place(x, y)
    }

    #[inline(never)]
    fn unusual_place(&mut self, x: f64, y: f64) -> Result<Coord<f64>, String> {
        if !x.is_finite() || !y.is_finite() {
            return Err("a coordinate is infinite or not a number".into());
        }
        let place = match self.to_frame {
            ToFrame::Degrees => Coord { x, y },
            ToFrame::Scaled(metres) => Coord { x, y } * *metres,
            #[cfg(feature = "proj")]
            ToFrame::Projected(grid) => match grid.bring(Coord { x, y }) {
                Ok((place, like_degrees)) => {
                    self.like_degrees = Some(self.like_degrees.unwrap_or(true) && like_degrees);
                    place
                }
                Err(reason) => {
                    let crs = grid.system.name.clone();
                    return self.slip(|at| MapError::NotPlaced { at, x, y, crs, reason });
                }
            },
        };
        if self.to_frame.is_degrees() { self.plausible(place) } else { on_plane(place) }
    }

    fn plausible(&mut self, Coord { x, y }: Coord<f64>) -> Result<Coord<f64>, String> {
        if x.abs() > 180.0 + 1e-9 && (x.abs() > 360.0 || y.abs() > 90.0) || y.abs() > 180.0 {
            return self.slip(|at| MapError::NotDegrees { at, x, y, odd: Odd::LikeTheFile });
        }
        if y.abs() > 90.0 {
            return self.slip(|at| MapError::LatitudeOutOfRange { at, latitude: y });
        }
        if y < -60.0 {
            return self.slip(|at| MapError::Antarctic { at, longitude: x, latitude: y });
        }
        Ok(Coord { x, y })
    }

    /// Keeps what is wrong, to be said once it is known where.
    fn slip<T>(&mut self, error: impl FnOnce(FeatureRef) -> MapError) -> Result<T, String> {
        self.slip = self.at.clone().map(error);
        Err("a coordinate is out of place".into())
    }

    /// Ends a line at the places at hand.
    pub(crate) fn end_line(&mut self) {
        if !self.places.is_empty() {
            let line = self.kept();
            self.outline.lines.push(line);
        }
    }

    /// A ring of the places at hand, closed.
    pub(crate) fn end_ring(&mut self) -> LineString<f64> {
        if let (Some(&first), Some(&last)) = (self.places.first(), self.places.last())
            && first != last
        {
            self.places.push(first);
            let message = "ring did not end where it starts; closed by a straight edge";
            self.remark("ring-closed", message);
        }
        self.kept()
    }

    fn kept(&self) -> LineString<f64> {
        let Some((&first, others)) = self.places.split_first().filter(|_| self.boxes_only) else {
            return LineString(self.places.as_slice().to_vec());
        };
        let (low, high) = others.iter().fold((first, first), |(low, high), place| {
            let low = Coord { x: low.x.min(place.x), y: low.y.min(place.y) };
            (low, Coord { x: high.x.max(place.x), y: high.y.max(place.y) })
        });
        // Closed, as a ring must be.
        LineString(vec![low, high, low])
    }
}

fn on_plane(place: Coord<f64>) -> Result<Coord<f64>, String> {
    // Beyond this a double no longer tells a tenth of a millimetre apart.
    if place.x.abs() > 1e11 || place.y.abs() > 1e11 {
        return Err("a coordinate is beyond 1e11 m".into());
    }
    Ok(place)
}

/// Reads one geometry (RFC 7946 §3.1) into the reader's outline; false of `null`.
pub(crate) struct GeometrySeed<'r, 'f> {
    pub(crate) reader: &'r mut OutlineReader<'f>,
    /// How many collections it stands in.
    pub(crate) depth: usize,
}

impl<'de> DeserializeSeed<'de> for GeometrySeed<'_, '_> {
    type Value = bool;

    fn deserialize<D: Deserializer<'de>>(self, json: D) -> Result<bool, D::Error> {
        json.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for GeometrySeed<'_, '_> {
    type Value = bool;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a GeoJSON geometry, or null")
    }

    fn visit_unit<E>(self) -> Result<bool, E> {
        Ok(false)
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<bool, A::Error> {
        let mut form: Option<Form> = None;
        let mut later: Option<&'de RawValue> = None;
        let (mut has_coordinates, mut has_geometries) = (false, false);
        while let Some(Text(key)) = map.next_key()? {
            match (key.as_ref(), form) {
                // Of a file in another format that was told as GeoJSON.
                ("unreadable", _) => {
                    let Text(reason) = map.next_value()?;
                    return Err(Error::custom(reason));
                }
                ("type", Some(_)) => return Err(Error::custom(r#"it has "type" twice"#)),
                ("type", None) => {
                    let Text(name) = map.next_value()?;
                    form = Some(Form::of(&name).ok_or_else(|| unknown(&name))?);
                }
                ("coordinates", _) if has_coordinates => {
                    return Err(Error::custom(r#"it has "coordinates" twice"#));
                }
                ("coordinates", None) => {
                    (later, has_coordinates) = (Some(map.next_value()?), true);
                }
                ("coordinates", Some(Form::Collection)) => {
                    map.next_value::<IgnoredAny>()?;
                }
                ("coordinates", Some(Form::Nested(level))) => {
                    map.next_value_seed(Nest { reader: &mut *self.reader, level })?;
                    has_coordinates = true;
                }
                ("geometries", _) if has_geometries => {
                    return Err(Error::custom(r#"it has "geometries" twice"#));
                }
                ("geometries", None | Some(Form::Collection)) => {
                    map.next_value_seed(Members { reader: &mut *self.reader, depth: self.depth })?;
                    has_geometries = true;
                }
                _ => {
                    map.next_value::<IgnoredAny>()?;
                }
            }
        }
        match form {
            None => Err(Error::custom(r#"it has no "type""#)),
            Some(Form::Collection) if !has_geometries => {
                Err(Error::custom(r#"it has no "geometries""#))
            }
            Some(Form::Nested(_)) if !has_coordinates => {
                Err(Error::custom(r#"it has no "coordinates""#))
            }
            Some(Form::Nested(_)) if has_geometries => {
                Err(Error::custom(r#"it has "geometries", which only a collection can have"#))
            }
            Some(Form::Nested(level)) => {
                // The coordinates stood before the word that says how to take them.
                if let Some(later) = later {
                    let mut json = serde_json::Deserializer::from_str(later.get());
                    Nest { reader: self.reader, level }
                        .deserialize(&mut json)
                        .map_err(|error| Error::custom(crate::feature_text::plain(&error)))?;
                }
                Ok(true)
            }
            Some(Form::Collection) => Ok(true),
        }
    }
}

fn unknown<E: Error>(name: &str) -> E {
    let name: Cow<'_, str> = name.chars().take(40).collect();
    Error::custom(format_args!(
        "its type {name:?} is not one of Point, MultiPoint, LineString, MultiLineString, Polygon, MultiPolygon, GeometryCollection"
    ))
}

/// How a geometry's coordinates are to be taken.
#[derive(Clone, Copy)]
pub(crate) enum Form {
    Nested(Level),
    Collection,
}

#[derive(Clone, Copy)]
pub(crate) enum Level {
    Point,
    Points,
    Line,
    Lines,
    Polygon,
    Polygons,
}

impl Form {
    pub(crate) fn of(name: &str) -> Option<Form> {
        Some(match name {
            "Point" => Form::Nested(Level::Point),
            "MultiPoint" => Form::Nested(Level::Points),
            "LineString" => Form::Nested(Level::Line),
            "MultiLineString" => Form::Nested(Level::Lines),
            "Polygon" => Form::Nested(Level::Polygon),
            "MultiPolygon" => Form::Nested(Level::Polygons),
            "GeometryCollection" => Form::Collection,
            _ => return None,
        })
    }
}

/// The geometries of a collection.
struct Members<'r, 'f> {
    reader: &'r mut OutlineReader<'f>,
    depth: usize,
}

impl<'de> DeserializeSeed<'de> for Members<'_, '_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, json: D) -> Result<(), D::Error> {
        json.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Members<'_, '_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an array of geometries")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<(), A::Error> {
        if self.depth > 32 {
            return Err(Error::custom("collections inside collections, more than 32 deep"));
        }
        let depth = self.depth + 1;
        while seq.next_element_seed(GeometrySeed { reader: &mut *self.reader, depth })?.is_some() {}
        Ok(())
    }
}

/// Coordinates nested as deep as `level` says.
struct Nest<'r, 'f> {
    reader: &'r mut OutlineReader<'f>,
    level: Level,
}

impl<'de> DeserializeSeed<'de> for Nest<'_, '_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, json: D) -> Result<(), D::Error> {
        match self.level {
            Level::Point => {
                // An empty position is how some programs write an empty point.
                let position = Position { reader: &mut *self.reader }.deserialize(json)?;
                self.reader.outline.points.extend(position);
                Ok(())
            }
            _ => json.deserialize_seq(self),
        }
    }
}

impl<'de> Visitor<'de> for Nest<'_, '_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an array of coordinates")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<(), A::Error> {
        let Nest { reader, level } = self;
        let each = match level {
            Level::Points => Level::Point,
            Level::Lines => Level::Line,
            Level::Polygons => Level::Polygon,
            Level::Polygon => return polygon(reader, seq),
            Level::Point | Level::Line => {
                places(reader, seq)?;
                reader.end_line();
                return Ok(());
            }
        };
        while seq.next_element_seed(Nest { reader: &mut *reader, level: each })?.is_some() {}
        Ok(())
    }
}

fn polygon<'de, A: SeqAccess<'de>>(
    reader: &mut OutlineReader<'_>,
    mut rings: A,
) -> Result<(), A::Error> {
    let (mut shell, mut holes) = (None, Vec::new());
    while let Some(ring) = rings.next_element_seed(Ring { reader: &mut *reader })? {
        if ring.0.is_empty() {
            continue;
        }
        if shell.is_none() {
            shell = Some(ring);
        } else {
            holes.push(ring);
        }
    }
    if let Some(shell) = shell {
        reader.outline.polygons.push(Polygon::new(shell, holes));
    }
    Ok(())
}

struct Ring<'r, 'f> {
    reader: &'r mut OutlineReader<'f>,
}

impl<'de> DeserializeSeed<'de> for Ring<'_, '_> {
    type Value = LineString<f64>;

    fn deserialize<D: Deserializer<'de>>(self, json: D) -> Result<LineString<f64>, D::Error> {
        json.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Ring<'_, '_> {
    type Value = LineString<f64>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an array of positions")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, seq: A) -> Result<LineString<f64>, A::Error> {
        places(self.reader, seq)?;
        Ok(self.reader.end_ring())
    }
}

fn places<'de, A: SeqAccess<'de>>(
    reader: &mut OutlineReader<'_>,
    mut seq: A,
) -> Result<(), A::Error> {
    reader.places.clear();
    while let Some(place) = seq.next_element_seed(Position { reader: &mut *reader })? {
        reader.places.push(place.ok_or_else(too_short)?);
    }
    Ok(())
}

fn too_short<E: Error>() -> E {
    Error::custom("a position has fewer than two numbers")
}

/// One position (RFC 7946 §3.1.1); `None` of an empty one.
struct Position<'r, 'f> {
    reader: &'r mut OutlineReader<'f>,
}

impl<'de> DeserializeSeed<'de> for Position<'_, '_> {
    type Value = Option<Coord<f64>>;

    fn deserialize<D: Deserializer<'de>>(self, json: D) -> Result<Self::Value, D::Error> {
        json.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Position<'_, '_> {
    type Value = Option<Coord<f64>>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a position, longitude then latitude")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Self::Value, A::Error> {
        let Some(x) = seq.next_element::<f64>()? else { return Ok(None) };
        let Some(y) = seq.next_element::<f64>()? else { return Err(too_short()) };
        if seq.next_element::<f64>()?.is_some() {
            let message = "carries heights; areas and distances are taken on the level";
            self.reader.remark("height-ignored", message);
            while seq.next_element::<f64>()?.is_some() {}
        }
        self.reader.place(x, y).map(Some).map_err(Error::custom)
    }
}
