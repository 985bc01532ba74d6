use std::collections::HashMap;
use std::sync::Arc;

use geo_types::{Coord, LineString, Polygon};
use geojson::{GeometryValue, Position};

use crate::attributes::Attributes;
use crate::crs::{CoordinateSystem, ToFrame};
use crate::error::{MapError, Note, Problem, ReadError, Scope};
use crate::feature::{Condition, Feature, FeatureRef, Outline};
use crate::geojson_text::{Drawn, split};
use crate::kind::Kind;

/// One map file, already in memory.
#[derive(Clone, Debug)]
pub struct Source {
    /// Its name, for messages.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// In what its coordinates are.
    pub crs: CoordinateSystem,
}

/// Settled features of one map, and all that could not be settled.
#[derive(Clone, Debug, Default)]
pub struct PropertyMap {
    /// In file order.
    pub features: Vec<Feature>,
    /// What was settled and should be seen.
    pub notes: Vec<Note>,
    /// What could not; a property with a problem must not be used.
    pub problems: Vec<Problem>,
    /// True where coordinates are metres on a plane and not degrees.
    pub on_plane: bool,
}

/// Farther than this from the middle of its property, a vertex is a slip.
const FAR_KILOMETRES: f64 = 50.0;
/// One degree of a meridian, in km: near enough to tell a slip from a lawn.
const KILOMETRES_PER_DEGREE: f64 = 111.2;

/// Reads files into one map, in their order.
///
/// # Errors
///
/// [`ReadError`] for the first file that is no map at all. Problems of single features do not
/// stop the reading; they are listed in the map.
pub fn read(sources: &[Source]) -> Result<PropertyMap, ReadError> {
    let mut map = PropertyMap::default();
    for source in sources {
        let file: Arc<str> = Arc::from(source.name.as_str());
        let bytes = source.bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&source.bytes);
        let text = std::str::from_utf8(bytes).map_err(|error| ReadError::NotText {
            file: source.name.clone(),
            byte: error.valid_up_to(),
        })?;
        let text = split(&file, text)?;
        let to_frame = ToFrame::choose(&source.crs, text.crs.as_deref())
            .map_err(|(crs, reason)| ReadError::Crs { file: source.name.clone(), crs, reason })?;
        map.on_plane = !to_frame.is_degrees();
        for drawn in text.features {
            match drawn {
                Ok(drawn) => map.settle(drawn, &to_frame),
                Err(error) => map.problems.push(Problem { scope: Scope::Map, error }),
            }
        }
    }
    map.name_features();
    map.check_properties(sources.first().map_or("map", |source| source.name.as_str()));
    Ok(map)
}

impl PropertyMap {
    fn settle(&mut self, drawn: Drawn, to_frame: &ToFrame) {
        let Drawn { at, properties, geometry } = drawn;
        let attributes = Attributes::new(&at, &properties);
        let property = attributes.text("property");
        let mut errors = Vec::new();
        let mut outline = Outline::default();
        let mut remarks = Vec::new();
        match geometry {
            Ok(Some(geometry)) => {
                let mut reader = OutlineReader {
                    at: &at,
                    to_frame,
                    outline: &mut outline,
                    remarks: &mut remarks,
                };
                if let Err(error) = reader.take(geometry, 0) {
                    errors.push(error);
                }
            }
            Ok(None) => {}
            Err(error) => errors.push(error),
        }
        for (code, message) in remarks {
            self.notes.push(Note { code, property: property.clone(), at: at.clone(), message });
        }
        if outline.is_empty() && errors.is_empty() {
            let message = "has no geometry; left out".to_owned();
            self.notes.push(Note { code: "empty-geometry", property, at, message });
            return;
        }
        let feature = match settled(&at, &attributes, property.clone(), outline) {
            Ok(feature) => Some(feature),
            Err(found) => {
                errors.extend(found);
                None
            }
        };
        if errors.is_empty() {
            self.features.extend(feature);
        } else {
            let scope = property.map_or(Scope::Map, Scope::Property);
            self.problems
                .extend(errors.into_iter().map(|error| Problem { scope: scope.clone(), error }));
        }
    }

    /// Gives every nameless feature its kind and its number among that kind.
    fn name_features(&mut self) {
        let mut counts: HashMap<(Option<String>, Kind), usize> = HashMap::new();
        for feature in &mut self.features {
            let count = counts.entry((feature.property.clone(), feature.kind)).or_default();
            *count += 1;
            if feature.name.is_empty() {
                feature.name = format!("{} {count}", feature.kind);
            }
        }
    }

    /// What can be said only of the whole: names, whose turf, how far apart.
    fn check_properties(&mut self, first_file: &str) {
        let several = self.features.iter().any(|feature| feature.property.is_some())
            || self.problems.iter().any(|problem| matches!(problem.scope, Scope::Property(_)));
        let mut first_of: HashMap<(&Option<String>, &str), &FeatureRef> = HashMap::new();
        let mut problems = Vec::new();
        for feature in self.features.iter().filter(|feature| feature.kind == Kind::Turf) {
            if several && feature.property.is_none() {
                let error = MapError::NoProperty { at: feature.at.clone() };
                problems.push(Problem { scope: Scope::Unclaimed, error });
                continue;
            }
            if let Some(first) = first_of.insert((&feature.property, &feature.name), &feature.at) {
                let (at, name, first) = (feature.at.clone(), feature.name.clone(), first.clone());
                let scope = feature.property.clone().map_or(Scope::Map, Scope::Property);
                problems.push(Problem { scope, error: MapError::SameName { at, name, first } });
            }
        }
        if first_of.is_empty() && problems.is_empty() && self.problems.is_empty() {
            problems.push(Problem {
                scope: Scope::Map,
                error: MapError::NoTurf { file: first_file.to_owned() },
            });
        }
        if !self.on_plane {
            problems.extend(far_features(&self.features, several));
        }
        self.problems.extend(problems);
        if several {
            self.features
                .retain(|feature| feature.kind != Kind::Turf || feature.property.is_some());
        }
    }
}

/// Features far from the middle of their property: a slip in one coordinate, or a swapped pair.
fn far_features(features: &[Feature], several: bool) -> Vec<Problem> {
    let mut members: Vec<(&Option<String>, Vec<&Feature>)> = Vec::new();
    let mut place_of: HashMap<&Option<String>, usize> = HashMap::new();
    for feature in features.iter().filter(|feature| !several || feature.property.is_some()) {
        let place = *place_of.entry(&feature.property).or_insert_with(|| {
            members.push((&feature.property, Vec::new()));
            members.len() - 1
        });
        members[place].1.push(feature);
    }
    let mut problems = Vec::new();
    for (property, features) in members {
        let places: Vec<Coord<f64>> =
            features.iter().filter_map(|feature| feature.outline.coordinates().next()).collect();
        let middle = middle_place(&places);
        for feature in features {
            let farthest = feature
                .outline
                .coordinates()
                .map(|place| (kilometres_between(middle, place), place))
                .max_by(|a, b| a.0.total_cmp(&b.0));
            let Some((kilometres, place)) =
                farthest.filter(|(kilometres, _)| *kilometres > FAR_KILOMETRES)
            else {
                continue;
            };
            let swapped =
                kilometres_between(middle, Coord { x: place.y, y: place.x }) <= FAR_KILOMETRES;
            let error = MapError::FarAway { at: feature.at.clone(), kilometres, swapped };
            problems.push(Problem {
                scope: property.clone().map_or(Scope::Map, Scope::Property),
                error,
            });
        }
    }
    problems
}

/// The place that is nearest to all others together: one that a slip cannot drag along. Of many
/// places every so many-th is asked.
fn middle_place(places: &[Coord<f64>]) -> Coord<f64> {
    const ASKED: usize = 64;
    let some: Vec<Coord<f64>> = places.iter().copied().step_by(places.len() / ASKED + 1).collect();
    let far = |from: &Coord<f64>| some.iter().map(|to| kilometres_between(*from, *to)).sum::<f64>();
    some.iter().copied().min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or_default()
}

fn kilometres_between(a: Coord<f64>, b: Coord<f64>) -> f64 {
    // Across the antimeridian the short way round counts.
    let turn = (a.x - b.x).abs() % 360.0;
    let east = turn.min(360.0 - turn) * a.y.to_radians().cos();
    (a.y - b.y).hypot(east) * KILOMETRES_PER_DEGREE
}

/// The feature, or everything that is wrong with it.
fn settled(
    at: &FeatureRef,
    attributes: &Attributes<'_>,
    property: Option<String>,
    outline: Outline,
) -> Result<Feature, Vec<MapError>> {
    let mut errors = Vec::new();
    let kind = note(attributes.kind(), &mut errors);
    let mut length = |names| note(attributes.length(names), &mut errors).flatten();
    let width = length(["width", "width_ft", "width_m"]);
    let radius = length(["radius", "radius_ft", "radius_m"]);
    let setback = length(["setback", "setback_ft", "setback_m"]);
    let veg_strip = length(["veg_strip", "veg_strip_ft", "veg_strip_m"]);
    let drawn = length(["drawn", "drawn_ft", "drawn_m"]);
    let condition = note(attributes.condition(), &mut errors).unwrap_or(Condition::Good);
    let priority =
        note(attributes.number("priority", "a number"), &mut errors).flatten().unwrap_or(0.0);
    let grade = note(attributes.number("grade_pct", "the slope in percent, 0 to 200"), &mut errors)
        .flatten();
    if let Some(kind) = kind {
        if !outline.lines.is_empty() && width.is_none() && kind != Kind::Water {
            errors.push(MapError::NoWidth { at: at.clone(), kind });
        }
        let means_something =
            kind.is_hazard() || kind == Kind::MixSite || setback.is_some() && kind.takes_area();
        if !outline.points.is_empty() && radius.is_none() && !means_something {
            errors.push(MapError::NoRadius { at: at.clone(), kind });
        }
    }
    match kind {
        Some(kind) if errors.is_empty() => Ok(Feature {
            at: at.clone(),
            kind,
            name: attributes.text("name").unwrap_or_default(),
            property,
            outline,
            species: attributes.species(),
            condition,
            priority,
            grade: grade.map(|percent| percent / 100.0),
            width,
            radius,
            setback,
            veg_strip,
            drawn,
        }),
        _ => Err(errors),
    }
}

fn note<T>(result: Result<T, MapError>, errors: &mut Vec<MapError>) -> Option<T> {
    result.map_err(|error| errors.push(error)).ok()
}

/// Takes a geometry apart into points, lines and polygons in the map's frame.
struct OutlineReader<'a> {
    at: &'a FeatureRef,
    to_frame: &'a ToFrame,
    outline: &'a mut Outline,
    remarks: &'a mut Vec<(&'static str, String)>,
}

impl OutlineReader<'_> {
    fn take(&mut self, geometry: GeometryValue, depth: usize) -> Result<(), MapError> {
        match geometry {
            GeometryValue::Point { coordinates } => self.point(&coordinates)?,
            GeometryValue::MultiPoint { coordinates } => {
                coordinates.iter().try_for_each(|position| self.point(position))?;
            }
            GeometryValue::LineString { coordinates } => self.line(&coordinates)?,
            GeometryValue::MultiLineString { coordinates } => {
                coordinates.iter().try_for_each(|line| self.line(line))?;
            }
            GeometryValue::Polygon { coordinates } => self.polygon(&coordinates)?,
            GeometryValue::MultiPolygon { coordinates } => {
                coordinates.iter().try_for_each(|rings| self.polygon(rings))?;
            }
            GeometryValue::GeometryCollection { geometries } => {
                if depth > 32 {
                    return Err(self.bad("collections inside collections, more than 32 deep"));
                }
                geometries
                    .into_iter()
                    .try_for_each(|geometry| self.take(geometry.value, depth + 1))?;
            }
        }
        Ok(())
    }

    fn bad(&self, reason: &str) -> MapError {
        MapError::BadGeometry { at: self.at.clone(), reason: reason.into() }
    }

    fn point(&mut self, position: &Position) -> Result<(), MapError> {
        // An empty position is how some programs write an empty point.
        if !position.is_empty() {
            let place = self.coordinate(position)?;
            self.outline.points.push(place);
        }
        Ok(())
    }

    fn line(&mut self, positions: &[Position]) -> Result<(), MapError> {
        let places = self.coordinates(positions)?;
        if !places.is_empty() {
            self.outline.lines.push(LineString(places));
        }
        Ok(())
    }

    fn polygon(&mut self, rings: &[Vec<Position>]) -> Result<(), MapError> {
        let mut closed = Vec::with_capacity(rings.len());
        for ring in rings {
            let mut places = self.coordinates(ring)?;
            if let (Some(&first), Some(&last)) = (places.first(), places.last())
                && first != last
            {
                places.push(first);
                self.remarks.push((
                    "ring-closed",
                    "ring did not end where it starts; closed by a straight edge".into(),
                ));
            }
            closed.push(LineString(places));
        }
        let mut rings = closed.into_iter().filter(|ring| !ring.0.is_empty());
        if let Some(shell) = rings.next() {
            self.outline.polygons.push(Polygon::new(shell, rings.collect()));
        }
        Ok(())
    }

    fn coordinates(&mut self, positions: &[Position]) -> Result<Vec<Coord<f64>>, MapError> {
        positions.iter().map(|position| self.coordinate(position)).collect()
    }

    fn coordinate(&mut self, position: &Position) -> Result<Coord<f64>, MapError> {
        let &[x, y, ref rest @ ..] = position.as_slice() else {
            return Err(self.bad("a position has fewer than two numbers"));
        };
        if !rest.is_empty() && !self.remarks.iter().any(|(code, _)| *code == "height-ignored") {
            self.remarks.push((
                "height-ignored",
                "carries heights; areas and distances are taken on the level".into(),
            ));
        }
        if !x.is_finite() || !y.is_finite() {
            return Err(self.bad("a coordinate is infinite or not a number"));
        }
        let place = self.to_frame.bring(Coord { x, y }).map_err(|(crs, reason)| {
            MapError::NotPlaced { at: self.at.clone(), x, y, crs, reason }
        })?;
        if self.to_frame.is_degrees() { self.plausible(place) } else { self.on_plane(place) }
    }

    fn plausible(&self, Coord { x, y }: Coord<f64>) -> Result<Coord<f64>, MapError> {
        let at = || self.at.clone();
        if x.abs() > 180.0 + 1e-9 && (x.abs() > 360.0 || y.abs() > 90.0) {
            return Err(MapError::NotDegrees { at: at(), x, y });
        }
        if y.abs() > 180.0 {
            return Err(MapError::NotDegrees { at: at(), x, y });
        }
        if y.abs() > 90.0 {
            return Err(MapError::LatitudeOutOfRange { at: at(), latitude: y });
        }
        if y < -60.0 {
            return Err(MapError::Antarctic { at: at(), longitude: x, latitude: y });
        }
        Ok(Coord { x, y })
    }

    fn on_plane(&self, place: Coord<f64>) -> Result<Coord<f64>, MapError> {
        // Beyond this a double no longer tells a tenth of a millimetre apart.
        if place.x.abs() > 1e11 || place.y.abs() > 1e11 {
            return Err(self.bad("a coordinate is beyond 1e11 m"));
        }
        Ok(place)
    }
}
