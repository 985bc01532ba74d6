//! GPX 1.0 and 1.1 (topografix.com, 2002 and 2004): what a receiver carried round a lawn writes
//! down. One feature is told for each waypoint, route and track, in the order of the file.
//!
//! * GPX has no areas. So a way that comes back to where it started is an outline: see
//!   [`Walk::is_outline`]. Each segment of a track is looked at by itself; others are lines, and so is one
//!   with a width whose ends do not meet.
//! * `type` is the kind where it is one; `sym` is not read. Other attributes are elements of
//!   `extensions`, named as those of other formats, whatever their prefix; a `name` there outranks
//!   the waypoint's own. Comments and descriptions are not carried over.
//! * Coordinates are latitude and longitude on WGS 84; heights and times are dropped.

use geo_types::Coord;
use serde_json::{Map, Value};

use crate::attribute_names::Known;
use crate::bytes::Bytes;
use crate::columns::Columns;
use crate::error::ReadError;
use crate::feature::Counted;
use crate::formats::carried::{Carried, add};
use crate::formats::shapes::{Shapes, number};
use crate::formats::told::{Layer, Says, Told};
use crate::formats::xml::{Tag, Xml, not_read, shortened};
use crate::kind::Kind;
use walk::{Walk, cure_of_segments};

#[cfg(test)]
mod tests;
mod walk;

/// The waypoints, routes and tracks of a GPX file; `columns` says which attributes are carried over
/// beside those that are read.
///
/// # Errors
///
/// [`ReadError::CutOff`] of a file that stops in the middle, [`ReadError::Format`] of one that is no
/// XML or no GPX, with the line; [`ReadError::NotRead`] for what the system says.
pub(crate) fn layer(name: &str, bytes: &Bytes, columns: &Columns) -> Result<Layer, ReadError> {
    let mut xml = Xml::open(name, "GPX", bytes)?;
    let root = xml.root()?;
    if root.name() != "gpx" {
        return Err(xml.of_another_format(&root));
    }
    let mut told = Told::new(columns);
    told.know(["name"]);
    told.call_file(columns.kind_of_file(name));
    let mut ways =
        Ways { name, xml, columns: Carried::new(columns), told, count: 0, remarks: Vec::new() };
    while let Some(tag) = ways.xml.child()? {
        match tag.name() {
            "wpt" | "rte" | "trk" => ways.way(&tag)?,
            _ => ways.xml.skip()?,
        }
    }
    ways.finish()
}

/// What to do about a waypoint that covers nothing.
const OF_A_WAYPOINT: &str =
    "or record the way round it as a track, since a waypoint is but a point";
/// An attribute is no longer.
const LONGEST_VALUE: usize = 1 << 16;
/// What may name or describe people.
const PERSONAL: [&str; 4] = ["desc", "cmt", "author", "email"];

struct Ways<'a> {
    name: &'a str,
    xml: Xml<'a>,
    columns: Carried<'a>,
    told: Told<'a>,
    /// How many were read.
    count: usize,
    remarks: Vec<(Option<usize>, &'static str, String)>,
}

impl Ways<'_> {
    /// Reads a waypoint, a route or a track.
    fn way(&mut self, tag: &Tag) -> Result<(), ReadError> {
        let mut shapes = Shapes::default();
        if tag.name() == "wpt"
            && let Some(place) = self.place(tag, &mut shapes)?
        {
            shapes.point(place);
        }
        let (mut label, mut sort) = (None, None);
        let mut segments = Vec::new();
        let mut route = Vec::new();
        let mut properties = Map::new();
        while let Some(child) = self.xml.child()? {
            match child.name() {
                "name" if child.is_kin_of(tag) => label = Some(self.xml.text(LONGEST_VALUE)?),
                "type" if child.is_kin_of(tag) => sort = Some(self.xml.text(LONGEST_VALUE)?),
                "extensions" => {
                    while let Some(extension) = self.xml.child()? {
                        match self.columns.carried(extension.name(), &properties) {
                            Some(name) => {
                                add(&mut properties, name, &self.xml.text(LONGEST_VALUE)?)
                            }
                            None => self.xml.skip()?,
                        }
                    }
                }
                "rtept" => self.point_of(&child, &mut route, &mut shapes)?,
                "trkseg" => segments.push(self.segment(&mut shapes)?),
                name if PERSONAL.contains(&name) => {
                    self.columns.leave_out(name);
                    self.xml.skip()?;
                }
                _ => self.xml.skip()?,
            }
        }
        if let Some(label) = label.filter(|_| !properties.contains_key("name")) {
            add(&mut properties, "name".into(), &label);
        }
        let kind = sort.and_then(|sort| sort.parse::<Kind>().ok());
        if let Some(kind) = kind.filter(|_| !properties.contains_key("kind")) {
            add(&mut properties, "kind".into(), kind.name());
        }
        match tag.name() {
            "wpt" => drop(properties.insert(Known::Cure.name().into(), OF_A_WAYPOINT.into())),
            "rte" => self.draw(vec![route], &mut properties, &mut shapes),
            _ => self.draw(segments, &mut properties, &mut shapes),
        }
        self.count += 1;
        let told = shapes.drawing(|drawing| self.told.feature(Some(tag.line), drawing, properties));
        told.map_err(|error| not_read(self.name, &error))
    }

    /// Draws each segment of a way, with what is to be said of those that were closed or left open.
    fn draw(
        &mut self,
        segments: Vec<Vec<Coord<f64>>>,
        properties: &mut Map<String, Value>,
        shapes: &mut Shapes,
    ) {
        let has_width = self.columns.gives_a_width(properties);
        if let Some(cure) = cure_of_segments(&segments).filter(|_| !has_width) {
            properties.insert(Known::Cure.name().into(), cure.into());
        }
        let count = segments.len();
        for (number, places) in (1..).zip(segments) {
            let walk = Walk::of(&places).filter(Walk::is_outline);
            let Some(walk) = walk.filter(|walk| !(has_width && walk.has_gap())) else {
                shapes.line(places);
                continue;
            };
            if walk.has_gap() {
                let part = match count {
                    1 => String::new(),
                    _ => format!("its segment {number} of {count} "),
                };
                self.remarks.push((Some(self.count), "track-closed", walk.closed(&part)));
            }
            shapes.polygon(places, Vec::new());
        }
    }

    fn segment(&mut self, shapes: &mut Shapes) -> Result<Vec<Coord<f64>>, ReadError> {
        let mut places = Vec::new();
        while let Some(child) = self.xml.child()? {
            match child.name() {
                "trkpt" => self.point_of(&child, &mut places, shapes)?,
                _ => self.xml.skip()?,
            }
        }
        Ok(places)
    }

    /// Reads a point of a way to its end.
    fn point_of(
        &mut self,
        tag: &Tag,
        places: &mut Vec<Coord<f64>>,
        shapes: &mut Shapes,
    ) -> Result<(), ReadError> {
        places.extend(self.place(tag, shapes)?);
        self.xml.skip()
    }

    /// The place that an element's `lon` and `lat` give.
    fn place(&self, tag: &Tag, shapes: &mut Shapes) -> Result<Option<Coord<f64>>, ReadError> {
        let mut degrees = [0.0; 2];
        for (name, degrees) in ["lon", "lat"].into_iter().zip(&mut degrees) {
            let text = self.xml.attribute(tag, name)?;
            match text.as_deref().map(str::trim).and_then(number) {
                Some(number) => *degrees = number,
                None => {
                    let found =
                        text.map_or("missing".into(), |text| format!("{:?}", shortened(&text)));
                    shapes.refuse(format!(
                        "{name} of the {} on line {} is {found}; give degrees as a number",
                        tag.name(),
                        tag.line
                    ));
                    return Ok(None);
                }
            }
        }
        let [x, y] = degrees;
        Ok(shapes.has_room().then_some(Coord { x, y }))
    }

    fn finish(mut self) -> Result<Layer, ReadError> {
        self.xml.finish()?;
        let layer = self.told.layer(self.name, Says::LongitudeLatitude, Counted::Items, true);
        let layer = layer.map_err(|error| not_read(self.name, &error))?;
        let remarks = layer.remarks.into_iter().chain(self.remarks).collect();
        Ok(Layer { left_out: self.columns.left_out(), remarks, ..layer })
    }
}
