use std::collections::HashMap;
use std::sync::Arc;

use geo_types::Coord;

use crate::attributes::Attributes;
use crate::crs::{CoordinateSystem, ToFrame};
use crate::error::{MapError, Note, Problem, ReadError, Scope, Unused};
use crate::feature::{Condition, Feature, FeatureRef, Outline};
use crate::geojson_text::{Drawn, split};
use crate::kind::Kind;
use crate::outline::OutlineReader;
use crate::slips::{far_features, turf_like_degrees};

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
    /// Names of turf among the problems; a job may name it.
    pub refused_zones: Vec<String>,
}

/// Stands for a hazard whose place is not known yet.
const NO_PLACE: (Coord<f64>, Coord<f64>) = (
    Coord { x: f64::INFINITY, y: f64::INFINITY },
    Coord { x: f64::NEG_INFINITY, y: f64::NEG_INFINITY },
);

/// Reads files into one map, in their order.
///
/// # Errors
///
/// [`ReadError`] for the first file that is no map at all. Problems of single features do not
/// stop the reading; they are listed in the map.
pub fn read(sources: &[Source]) -> Result<PropertyMap, ReadError> {
    let mut map = PropertyMap::default();
    let mut frames = Vec::new();
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
        frames.push(map.on_plane);
        if frames.contains(&!map.on_plane) {
            return Err(ReadError::FramesDiffer { file: source.name.clone() });
        }
        for drawn in text.features {
            match drawn {
                Ok(drawn) => map.settle(drawn, &to_frame),
                Err(error) => map.problems.push(Problem { scope: Scope::Map, error, unused: None }),
            }
        }
        if to_frame.saw_degrees() {
            let crs = match (&source.crs, text.crs) {
                (CoordinateSystem::Code(code), _) => code.clone(),
                (_, named) => named.unwrap_or_default(),
            };
            let error = MapError::DegreesInGrid { file: source.name.clone(), crs };
            map.problems.push(Problem { scope: Scope::Map, error, unused: None });
        }
    }
    map.name_features();
    map.place_hazards();
    map.check_properties(sources.first().map_or("map", |source| source.name.as_str()));
    Ok(map)
}

impl PropertyMap {
    fn settle(&mut self, drawn: Drawn, to_frame: &ToFrame) {
        let Drawn { at, properties, geometry } = drawn;
        let attributes = Attributes::new(&at, &properties);
        let (mut errors, unread) = attributes.misnamed();
        let property = note(attributes.text("property"), &mut errors).flatten();
        let mut outline = Outline::default();
        let mut remarks: Vec<(&'static str, String)> =
            unread.into_iter().map(|message| ("not-read", message)).collect();
        let before = errors.len();
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
        let has_place = errors.len() == before;
        for (code, message) in remarks {
            self.notes.push(Note { code, property: property.clone(), at: at.clone(), message });
        }
        if outline.is_empty() && has_place {
            let message = "has no geometry; left out".to_owned();
            self.notes.push(Note { code: "empty-geometry", property, at, message });
            return;
        }
        let corners = outline.corners().filter(|_| has_place);
        let kind = attributes.kind().ok();
        let feature = settled(&at, &attributes, property.clone(), outline, &mut errors);
        if let Some(feature) = feature.filter(|_| errors.is_empty()) {
            for (code, message) in without_effect(&feature) {
                self.notes.push(Note { code, property: property.clone(), at: at.clone(), message });
            }
            self.features.push(feature);
            return;
        }
        if kind == Some(Kind::Turf) {
            self.refused_zones.push(attributes.text("name").ok().flatten().unwrap_or_default());
        }
        let scope = property.map_or(Scope::Map, Scope::Property);
        let unused = Unused { corners: corners.unwrap_or(NO_PLACE), kind };
        let unused = Some(unused).filter(|_| kind != Some(Kind::Turf));
        self.problems.extend(errors.into_iter().map(|error| Problem {
            scope: scope.clone(),
            error,
            unused,
        }));
    }

    /// A hazard whose place cannot be read lies somewhere near what else its property has.
    fn place_hazards(&mut self) {
        let mut boxes: HashMap<&str, (Coord<f64>, Coord<f64>)> = HashMap::new();
        for feature in &self.features {
            let (Some(property), Some((min, max))) =
                (feature.property.as_deref(), feature.outline.corners())
            else {
                continue;
            };
            let (low, high) = boxes.entry(property).or_insert((min, max));
            *low = Coord { x: low.x.min(min.x), y: low.y.min(min.y) };
            *high = Coord { x: high.x.max(max.x), y: high.y.max(max.y) };
        }
        for problem in &mut self.problems {
            let Some(unused) = problem.unused.filter(|unused| unused.corners == NO_PLACE) else {
                continue;
            };
            let corners = match &problem.scope {
                Scope::Property(property) => boxes.get(property.as_str()).copied(),
                Scope::Map | Scope::Unclaimed => None,
            };
            problem.unused = corners.map(|corners| Unused { corners, ..unused });
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
                problems.push(Problem { scope: Scope::Unclaimed, error, unused: None });
                continue;
            }
            if let Some(first) = first_of.insert((&feature.property, &feature.name), &feature.at) {
                let (at, name, first) = (feature.at.clone(), feature.name.clone(), first.clone());
                let scope = feature.property.clone().map_or(Scope::Map, Scope::Property);
                problems.push(Problem {
                    scope,
                    error: MapError::SameName { at, name, first },
                    unused: None,
                });
            }
        }
        if first_of.is_empty() && problems.is_empty() && self.problems.is_empty() {
            problems.push(Problem {
                scope: Scope::Map,
                error: MapError::NoTurf { file: first_file.to_owned() },
                unused: None,
            });
        }
        if self.on_plane
            && let Some(metres) = turf_like_degrees(&self.features)
        {
            let error = MapError::TinyMap { file: first_file.to_owned(), metres };
            problems.push(Problem { scope: Scope::Map, error, unused: None });
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

/// Sizes that say nothing of what was drawn.
fn without_effect(feature: &Feature) -> Vec<(&'static str, String)> {
    let idle = [
        (feature.width.is_some() && feature.outline.lines.is_empty(), "width", "a line"),
        (feature.radius.is_some() && feature.outline.points.is_empty(), "radius", "a point"),
        (
            feature.setback.is_some() && !feature.kind.keeps_a_distance(),
            "setback",
            "what a distance is kept from",
        ),
        (feature.veg_strip.is_some() && feature.kind != Kind::Water, "veg_strip", "water"),
    ];
    idle.into_iter()
        .filter(|(is_idle, ..)| *is_idle)
        .map(|(_, name, of)| {
            ("no-effect", format!("has a {name}, which only {of} can have; it was not used"))
        })
        .collect()
}

/// The feature; what is wrong with it goes to `errors`.
fn settled(
    at: &FeatureRef,
    attributes: &Attributes<'_>,
    property: Option<String>,
    outline: Outline,
    errors: &mut Vec<MapError>,
) -> Option<Feature> {
    let kind = note(attributes.kind(), errors);
    let mut length = |names| note(attributes.length(names), errors).flatten();
    let width = length(["width", "width_ft", "width_m"]);
    let radius = length(["radius", "radius_ft", "radius_m"]);
    let setback = length(["setback", "setback_ft", "setback_m"]);
    let veg_strip = length(["veg_strip", "veg_strip_ft", "veg_strip_m"]);
    let condition = note(attributes.condition(), errors).unwrap_or(Condition::Good);
    let species = note(attributes.species(), errors).unwrap_or_default();
    let name = note(attributes.text("name"), errors).flatten();
    let priority = note(attributes.number("priority", "a number"), errors).flatten().unwrap_or(0.0);
    let kind = kind?;
    if !outline.lines.is_empty() && width.is_none() && kind != Kind::Water {
        errors.push(MapError::NoWidth { at: at.clone(), kind });
    }
    let means_something =
        kind.is_hazard() || kind == Kind::MixSite || setback.is_some() && kind.takes_area();
    if !outline.points.is_empty() && radius.is_none() && !means_something {
        errors.push(MapError::NoRadius { at: at.clone(), kind });
    }
    let is_named = name.is_some();
    let name = name.unwrap_or_default();
    Some(Feature {
        at: at.clone(),
        kind,
        name,
        is_named,
        property,
        outline,
        species,
        condition,
        priority,
        width,
        radius,
        setback,
        veg_strip,
    })
}

fn note<T>(result: Result<T, MapError>, errors: &mut Vec<MapError>) -> Option<T> {
    result.map_err(|error| errors.push(error)).ok()
}
