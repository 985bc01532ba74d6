//! KML (OGC KML 2.3, 12-007r2, and what came before it): what people draw over pictures of their
//! lawns. One feature is told for each Placemark, wherever it is filed.
//!
//! * Attributes stand in `ExtendedData`. A `name` there is the name; failing that, the Placemark's
//!   own `name`, which many programs fill in by themselves. Neither descriptions nor addresses are
//!   carried over: they hold the names of people.
//! * People file Placemarks in folders. So where a Placemark has no `kind`, the name of its nearest
//!   named Folder is the kind, if it is one or the plural of one (`Turf`, `beds`) and nothing more, and
//!   outside of named folders the name of the file: a Document's does not count, since programs name
//!   it after the file. Where another Placemark of the folder or the file has a `kind`, it must have
//!   its own.
//! * Elements are known by name, whatever their namespace: four versions of KML are about, and files
//!   that name none or the wrong one.
//! * Coordinates are longitude and latitude on WGS 84; altitudes are dropped.

use geo_types::Coord;
use serde_json::{Map, Value};

use crate::attribute_names::Known;
use crate::bytes::Bytes;
use crate::columns::{Columns, stem};
use crate::error::ReadError;
use crate::feature::Counted;
use crate::formats::carried::{Carried, add};
use crate::formats::shapes::{Shapes, number};
use crate::formats::told::{Called, Layer, Says, Told};
use crate::formats::xml::{LONGEST, Tag, Xml, not_read, shortened};
use crate::kind::Kind;

#[cfg(test)]
mod tests;

/// The Placemarks of a KML file; `columns` says which attributes are carried over beside those that
/// are read. Where the file links to others, a remark says that these were not read.
///
/// # Errors
///
/// [`ReadError::CutOff`] of a file that stops in the middle, [`ReadError::Format`] of one that is no
/// XML or no KML, with the line; [`ReadError::NotRead`] for what the system says.
pub(crate) fn layer(name: &str, bytes: &Bytes, columns: &Columns) -> Result<Layer, ReadError> {
    let mut xml = Xml::open(name, "KML", bytes)?;
    let root = xml.root()?;
    let mut told = Told::new(columns);
    // Every Placemark may have them.
    told.know(["name", FOLDER]);
    told.call_file(columns.kind_of_file(name));
    let columns = Carried::new(columns);
    let folder = Folder { called: told.of_file(), name: None };
    let mut placemarks =
        Placemarks { name, xml, columns, told, folder, has_any: false, has_links: false };
    match root.name() {
        "kml" | "Document" => placemarks.of_container(false)?,
        "Folder" => placemarks.of_container(true)?,
        "Placemark" => placemarks.placemark(&root)?,
        _ => return Err(placemarks.xml.of_another_format(&root)),
    }
    placemarks.finish()
}

/// Said of a file that shows nothing of its own.
pub(crate) const ONLY_LINKS: &str = "has no Placemark, only links to other files (NetworkLink)";

/// What to do about a path that is an outline.
const OF_A_PATH: &str = "its ends meet, but it is a path, which has no inside: if that is meant, draw it anew as a polygon, or make its LineString the LinearRing of a Polygon";
/// An attribute is no longer.
const LONGEST_VALUE: usize = 1 << 16;
/// Under this name a kinds file, or `--kind-from`, asks for the nearest named folder.
const FOLDER: &str = "folder";
/// What a Placemark says of itself, and often of its owner, beside its attributes.
const PERSONAL: [&str; 6] =
    ["description", "Snippet", "address", "phoneNumber", "AddressDetails", "author"];

/// The nearest named folder.
#[derive(Clone, Default)]
struct Folder {
    /// What Placemarks in it are called by.
    called: Option<Called>,
    name: Option<String>,
}

struct Placemarks<'a> {
    name: &'a str,
    xml: Xml<'a>,
    columns: Carried<'a>,
    told: Told<'a>,
    folder: Folder,
    has_any: bool,
    has_links: bool,
}

impl Placemarks<'_> {
    /// Reads what is filed in a container, inside what `self.folder` says.
    fn of_container(&mut self, is_folder: bool) -> Result<(), ReadError> {
        let outer = self.folder.clone();
        if !is_folder {
            self.folder = Folder { called: self.told.of_file(), name: None };
        }
        while let Some(tag) = self.xml.child()? {
            match tag.name() {
                // By the schema features come after the name.
                "name" if is_folder => {
                    let name = self.xml.text(LONGEST_VALUE)?;
                    if !name.trim().is_empty() {
                        self.folder = self.folder_called(name.trim());
                    }
                }
                "Document" => self.of_container(false)?,
                "Folder" => self.of_container(true)?,
                "Placemark" => self.placemark(&tag)?,
                other => {
                    self.has_links |= other == "NetworkLink";
                    self.xml.skip()?;
                }
            }
        }
        self.folder = outer;
        Ok(())
    }

    fn folder_called(&mut self, name: &str) -> Folder {
        // Some programs put all into one folder that is named after the file; any other name says
        // something else than the file's.
        let of_file = self.told.of_file().filter(|_| name.eq_ignore_ascii_case(stem(self.name)));
        let kind = Kind::named(name).filter(|_| of_file.is_none());
        let naming = |kind| self.told.naming(kind, format!("the name of the folder {name:?}"));
        Folder { called: of_file.or_else(|| kind.map(naming)), name: Some(name.to_owned()) }
    }

    fn placemark(&mut self, tag: &Tag) -> Result<(), ReadError> {
        self.has_any = true;
        let mut label = None;
        let mut properties = Map::new();
        let mut shapes = Shapes::default();
        while let Some(child) = self.xml.child()? {
            match child.name() {
                "name" if child.is_kin_of(tag) => label = Some(self.xml.text(LONGEST_VALUE)?),
                "ExtendedData" => self.extended_data(&mut properties)?,
                name if PERSONAL.contains(&name) => {
                    self.columns.leave_out(name);
                    self.xml.skip()?;
                }
                _ => geometry(&mut self.xml, &child, &mut shapes)?,
            }
        }
        if let Some(label) = label.filter(|_| !properties.contains_key("name")) {
            add(&mut properties, "name".into(), &label);
        }
        if let Some(folder) = self.folder.name.as_ref().filter(|_| self.columns.asks_for(FOLDER))
            && !properties.keys().any(|name| name.eq_ignore_ascii_case(FOLDER))
        {
            add(&mut properties, FOLDER.into(), folder);
        }
        self.told.call(self.folder.called);
        if shapes.has_closed_line {
            properties.insert(Known::Cure.name().into(), OF_A_PATH.into());
        }
        let told = shapes.drawing(|drawing| self.told.feature(Some(tag.line), drawing, properties));
        told.map_err(|error| not_read(self.name, &error))
    }

    /// Reads `Data`, `SchemaData` and elements of other namespaces, named by themselves.
    fn extended_data(&mut self, properties: &mut Map<String, Value>) -> Result<(), ReadError> {
        while let Some(tag) = self.xml.child()? {
            match tag.name() {
                "Data" => self.data(&tag, properties)?,
                "SchemaData" => {
                    while let Some(datum) = self.xml.child()? {
                        let name = self.xml.attribute(&datum, "name")?.unwrap_or_default();
                        self.value(&name, properties)?;
                    }
                }
                name => self.value(name, properties)?,
            }
        }
        Ok(())
    }

    fn data(&mut self, tag: &Tag, properties: &mut Map<String, Value>) -> Result<(), ReadError> {
        let name = self.xml.attribute(tag, "name")?.unwrap_or_default();
        while let Some(child) = self.xml.child()? {
            match child.name() {
                "value" => self.value(&name, properties)?,
                _ => self.xml.skip()?,
            }
        }
        Ok(())
    }

    /// Reads the element at hand as what the Placemark says under a name.
    fn value(&mut self, name: &str, properties: &mut Map<String, Value>) -> Result<(), ReadError> {
        let Some(name) = self.columns.carried(name, properties) else { return self.xml.skip() };
        add(properties, name, &self.xml.text(LONGEST_VALUE)?);
        Ok(())
    }

    fn finish(mut self) -> Result<Layer, ReadError> {
        self.xml.finish()?;
        if self.has_links && !self.has_any {
            let reason = format!("{ONLY_LINKS}; open it, and save the places that it shows");
            return Err(ReadError::Format { file: self.name.to_owned(), reason });
        }
        let layer = self.told.layer(self.name, Says::LongitudeLatitude, Counted::Placemarks, true);
        let layer = layer.map_err(|error| not_read(self.name, &error))?;
        let linked = "a map that it links to (NetworkLink) was not read; open it, and save the places that it shows";
        let linked = self.has_links.then(|| (None, "files-not-read", linked.to_owned()));
        let remarks = layer.remarks.into_iter().chain(linked).collect();
        Ok(Layer { left_out: self.columns.left_out(), remarks, ..layer })
    }
}

/// Reads an element of a Placemark, if it is a geometry.
fn geometry(xml: &mut Xml<'_>, tag: &Tag, shapes: &mut Shapes) -> Result<(), ReadError> {
    match tag.name() {
        "Point" => {
            let places = coordinates(xml, shapes)?;
            if places.len() > 1 {
                shapes.refuse(
                    "a Point has more than one place; draw a line, or several points".into(),
                );
            }
            places.into_iter().for_each(|place| shapes.point(place));
        }
        "LineString" => {
            let places = coordinates(xml, shapes)?;
            shapes.has_closed_line |= places.len() > 3 && places.first() == places.last();
            shapes.line(places);
        }
        // Alone it is an outline that nobody filled.
        "LinearRing" => {
            let places = coordinates(xml, shapes)?;
            shapes.polygon(places, Vec::new());
        }
        "Polygon" => polygon(xml, shapes)?,
        // As deep as elements nest, and no deeper.
        "MultiGeometry" | "MultiTrack" => {
            while let Some(part) = xml.child()? {
                geometry(xml, &part, shapes)?;
            }
        }
        "Track" => track(xml, shapes)?,
        _ => xml.skip()?,
    }
    Ok(())
}

fn polygon(xml: &mut Xml<'_>, shapes: &mut Shapes) -> Result<(), ReadError> {
    let (mut shells, mut holes) = (Vec::new(), Vec::new());
    while let Some(boundary) = xml.child()? {
        match boundary.name() {
            "outerBoundaryIs" => rings(xml, shapes, &mut shells)?,
            "innerBoundaryIs" => rings(xml, shapes, &mut holes)?,
            _ => xml.skip()?,
        }
    }
    match (shells.pop(), shells.is_empty()) {
        (None, _) => shapes
            .refuse("a Polygon has no outerBoundaryIs with a LinearRing; draw its outline".into()),
        (Some(_), false) => {
            shapes
                .refuse("a Polygon has more than one outer boundary; draw several polygons".into());
        }
        (Some(shell), true) if shell.is_empty() && !holes.is_empty() => {
            shapes.refuse(
                "a Polygon has holes, but its outer boundary is empty; draw its outline".into(),
            );
        }
        (Some(shell), true) => shapes.polygon(shell, holes),
    }
    Ok(())
}

/// Reads the rings of a boundary: one, or of inner boundaries in older files several.
fn rings(
    xml: &mut Xml<'_>,
    shapes: &mut Shapes,
    rings: &mut Vec<Vec<Coord<f64>>>,
) -> Result<(), ReadError> {
    while let Some(ring) = xml.child()? {
        match ring.name() {
            "LinearRing" => {
                let places = coordinates(xml, shapes)?;
                // One empty ring says as much as many.
                if !places.is_empty() || rings.is_empty() {
                    rings.push(places);
                }
            }
            _ => xml.skip()?,
        }
    }
    Ok(())
}

/// Reads the coordinates of the geometry at hand.
fn coordinates(xml: &mut Xml<'_>, shapes: &mut Shapes) -> Result<Vec<Coord<f64>>, ReadError> {
    let mut places = None;
    while let Some(child) = xml.child()? {
        if child.name() != "coordinates" {
            xml.skip()?;
            continue;
        }
        if places.is_some() {
            shapes.refuse("it has coordinates twice; keep one".into());
        }
        let found = places_in(&xml.text(LONGEST)?, shapes);
        places = Some(found.unwrap_or_else(|reason| {
            shapes.refuse(reason);
            Vec::new()
        }));
    }
    Ok(places.unwrap_or_default())
}

/// The places of a text of `longitude,latitude[,altitude]` and white space (`coordinatesType`).
///
/// White space beside a comma is what people type and is passed over: then a comma always goes on
/// with a place and white space alone always ends it, so nothing can be taken for something else.
fn places_in(text: &str, shapes: &mut Shapes) -> Result<Vec<Coord<f64>>, String> {
    let mut places = Vec::new();
    let mut rest = text.trim();
    while !rest.is_empty() {
        let start = rest;
        let (mut count, mut place) = (0, [0.0; 2]);
        loop {
            let end = rest.find(|letter: char| letter == ',' || letter.is_whitespace());
            let (word, after) = rest.split_at(end.unwrap_or(rest.len()));
            // An altitude is dropped whatever it is: "NaN" is common.
            if let Some(coordinate) = place.get_mut(count) {
                *coordinate = number(word).ok_or_else(|| no_places(start))?;
            }
            count += 1;
            let after = after.trim_start();
            match after.strip_prefix(',') {
                Some(more) => rest = more.trim_start(),
                None => {
                    rest = after;
                    break;
                }
            }
        }
        if !matches!(count, 2 | 3) {
            return Err(no_places(start));
        }
        if !shapes.has_room() {
            break;
        }
        let [x, y] = place;
        places.push(Coord { x, y });
    }
    Ok(places)
}

fn no_places(start: &str) -> String {
    let start = shortened(start);
    format!(
        "{start:?} in its coordinates; write longitude,latitude for each corner, and a blank between corners"
    )
}

/// Reads a track as the line of its places (`gx:Track`; of KML itself since 2.3), which are separated by blanks.
fn track(xml: &mut Xml<'_>, shapes: &mut Shapes) -> Result<(), ReadError> {
    let mut places = Vec::new();
    while let Some(child) = xml.child()? {
        if child.name() != "coord" {
            xml.skip()?;
            continue;
        }
        let text = xml.text(LONGEST_VALUE)?;
        let mut words = text.split_whitespace();
        // A moment may be without a place.
        let Some(x) = words.next() else { continue };
        match (number(x), words.next().and_then(number)) {
            (Some(x), Some(y)) if shapes.has_room() => places.push(Coord { x, y }),
            (Some(_), Some(_)) => {}
            _ => shapes.refuse(format!(
                "{:?} in its track; write longitude, latitude and altitude",
                shortened(text.trim())
            )),
        }
    }
    shapes.line(places);
    Ok(())
}
