//! One feature settled: nothing of it is left to guess, or it is refused with every reason.

use geo_types::Coord;

use crate::attribute_names::Known;
use crate::attributes::{Attributes, Misnamed};
use crate::error::{MapError, Note, Problem, Scope, Unused};
use crate::feature::{Counted, Feature, FeatureRef, Outline};
use crate::feature_text::Drawn;
use crate::kind::Kind;
use crate::outline::OutlineReader;
use crate::property_map::Corners;
use turfplat_units::Length;

/// What came of settling one feature.
#[derive(Debug, Default)]
pub(crate) struct Settled {
    /// The feature; where nothing was drawn or it was refused there is none.
    pub(crate) feature: Option<Feature>,
    pub(crate) notes: Vec<Note>,
    pub(crate) problems: Vec<Problem>,
    /// Its name, of turf that was refused.
    pub(crate) refused_zone: Option<String>,
    /// The property it was drawn for, as far as that can be read.
    pub(crate) property: Option<String>,
    /// Names of its properties that hold people, which were not carried over.
    pub(crate) personal: Vec<Box<str>>,
    /// Round what was drawn, of a feature that was refused.
    pub(crate) corners: Option<Corners>,
}

/// Stands for a hazard whose place is not known yet.
pub(crate) const NO_PLACE: Corners = (
    Coord { x: f64::INFINITY, y: f64::INFINITY },
    Coord { x: f64::NEG_INFINITY, y: f64::NEG_INFINITY },
);

impl Settled {
    /// What of a feature that cannot be read at all: it may count for any property.
    pub(crate) fn unreadable(error: MapError) -> Settled {
        let problem = Problem { scope: Scope::Map, error, unused: None };
        Settled { problems: vec![problem], ..Settled::default() }
    }

    /// Settles a feature whose geometry is in `reader`.
    pub(crate) fn of(
        at: FeatureRef,
        drawn: Drawn<'_>,
        reader: &mut OutlineReader<'_>,
        called: &[Option<Kind>],
    ) -> Settled {
        let mut settled = Settled::default();
        let attributes = Attributes::new(&at, &drawn.attributes);
        let Misnamed { mut errors, remarks: unread, personal } = attributes.misnamed();
        settled.personal = personal;
        settled.property = note(attributes.text(Known::Property), &mut errors).flatten();
        let outline = std::mem::take(&mut reader.outline);
        let has_place = match drawn.geometry {
            Ok(_) => true,
            Err(error) => {
                errors.push(error);
                false
            }
        };
        let remark = |code, message| Note {
            code,
            property: settled.property.clone(),
            at: at.clone(),
            message,
        };
        settled.notes.extend(unread.into_iter().map(|message| remark("not-read", message)));
        let settled_shapes = reader.remarks.drain(..);
        settled.notes.extend(settled_shapes.map(|(code, message)| remark(code, message.into())));
        let kind = attributes.kind(called);
        if outline.is_empty() && has_place {
            match &kind {
                Ok(kind) if kind.is_hazard() => {
                    errors.push(MapError::NoPlace { at: at.clone(), kind: *kind });
                }
                // It may be a well that was misspelt.
                Err(MapError::UnknownKind { .. } | MapError::UnlistedKind { .. }) => {}
                Ok(_) | Err(_) => {
                    settled
                        .notes
                        .push(remark("empty-geometry", "has no geometry; left out".into()));
                    return settled;
                }
            }
        }
        let kind = note(kind, &mut errors);
        if attributes.is_incomplete() {
            settled.notes.push(remark(
                "incomplete",
                "parts of it are missing, as its file says (@tainted); export it again with all that belongs to it".into(),
            ));
        }
        let is_unknown = note(attributes.is_of_unknown_size(), &mut errors).unwrap_or(false);
        // Grass of which nobody knows how much there is cannot be treated.
        let is_mark = is_unknown && outline.polygons.is_empty() && kind == Some(Kind::Turf);
        if is_mark && !attributes.has_size() {
            settled.notes.push(remark(
                "no-size",
                "turf drawn as a point or a line, of which nobody knows the size; left out: draw it as a polygon".into(),
            ));
            return settled;
        }
        let property = settled.property.clone();
        let known = Settling { at: &at, attributes: &attributes, kind, property, is_unknown };
        let feature = known.feature(outline, &mut errors);
        if errors.is_empty()
            && let Ok(feature) = feature
        {
            settled
                .notes
                .extend(well_note(&feature).map(|message| remark("well-position", message)));
            let idle = without_effect(&feature);
            settled.notes.extend(idle.map(|(code, message)| remark(code, message)));
            settled.feature = Some(feature);
            return settled;
        }
        if kind == Some(Kind::Turf) {
            settled.refused_zone = attributes.text(Known::Name).ok().flatten();
        }
        let drawn = feature.map_or_else(|outline| outline, |feature| feature.outline);
        settled.corners = drawn.corners().filter(|_| has_place);
        let corners = settled.corners.unwrap_or(NO_PLACE);
        let scope = settled.property.clone().map_or(Scope::Map, Scope::Property);
        let unused = Some(Unused { corners, kind }).filter(|_| kind != Some(Kind::Turf));
        let problem = |error| Problem { scope: scope.clone(), error, unused };
        settled.problems.extend(errors.into_iter().map(problem));
        settled
    }
}

/// What to say of the place of a well: a register's point may be the middle of a section.
fn well_note(feature: &Feature) -> Option<String> {
    if feature.kind != Kind::Well {
        return None;
    }
    match feature.radius {
        Some(radius) => Some(format!(
            "its place may be off by {:.0} ft, which is added to every distance that is kept from it",
            radius.feet()
        )),
        None if feature.at.counted == Counted::Records => Some(
            "a register's point is rarely surveyed: find the well on the ground, or say how far off it may be with radius_ft"
                .to_owned(),
        ),
        None => None,
    }
}

/// Sizes that say nothing of what was drawn.
fn without_effect(feature: &Feature) -> impl Iterator<Item = (&'static str, String)> {
    let idle = [
        (feature.width.is_some() && feature.outline.lines.is_empty(), "width", "a line"),
        (feature.radius.is_some() && feature.outline.points.is_empty(), "radius", "a point"),
        (
            feature.setback.is_some() && !feature.kind.keeps_a_distance(),
            "setback",
            "what a distance is kept from",
        ),
        (feature.veg_strip.is_some() && feature.kind != Kind::Water, "veg_strip", "water"),
        (feature.grade.is_some() && feature.kind != Kind::Turf, "grade_pct", "turf"),
    ];
    idle.into_iter().filter(|(is_idle, ..)| *is_idle).map(|(_, name, of)| {
        ("no-effect", format!("has a {name}, which only {of} can have; it was not used"))
    })
}

/// What is known of a feature before its sizes are looked at.
struct Settling<'a> {
    at: &'a FeatureRef,
    attributes: &'a Attributes<'a>,
    kind: Option<Kind>,
    property: Option<String>,
    /// True where the file says that nobody knows its width or radius.
    is_unknown: bool,
}

impl Settling<'_> {
    /// The feature, or its outline where its kind is not known; what is wrong with it goes to `errors`.
    fn feature(self, outline: Outline, errors: &mut Vec<MapError>) -> Result<Feature, Outline> {
        let Settling { at, attributes, kind, property, is_unknown } = self;
        let mut length = |name, units| note(attributes.length(name, units), errors);
        let width = length("width", [Known::WidthFt, Known::WidthM]);
        let radius = length("radius", [Known::RadiusFt, Known::RadiusM]);
        // One that is there and cannot be read is not missing too.
        let (is_width_read, is_radius_read) = (width.is_some(), radius.is_some());
        let (width, radius) = (width.flatten(), radius.flatten());
        let mut length = |name, units| length(name, units).flatten();
        let setback = length("setback", [Known::SetbackFt, Known::SetbackM]);
        let veg_strip = length("veg_strip", [Known::VegStripFt, Known::VegStripM]);
        let drawn_error = length("drawn", [Known::DrawnFt, Known::DrawnM]);
        let grade = note(attributes.grade(), errors).flatten();
        let condition = note(attributes.condition(), errors).flatten();
        let species = note(attributes.species(), errors).unwrap_or_default();
        let name = note(attributes.text(Known::Name), errors).flatten();
        let priority =
            note(attributes.number(Known::Priority, "a number"), errors).flatten().unwrap_or(0.0);
        let Some(kind) = kind else { return Err(outline) };
        // Water's line means something as it is.
        let may_lack_size = kind.takes_area() && kind != Kind::Water;
        let size_unknown = may_lack_size
            && is_unknown
            && (width.is_none() && !outline.lines.is_empty()
                || radius.is_none() && !outline.points.is_empty());
        let lacks_width = width.is_none() && is_width_read && !outline.lines.is_empty();
        if lacks_width && kind != Kind::Water && !size_unknown {
            errors.push(MapError::NoWidth { at: at.clone(), kind, cure: attributes.cure() });
        }
        let means_something =
            kind.is_hazard() || kind == Kind::MixSite || setback.is_some() && kind.takes_area();
        let lacks_radius = radius.is_none() && is_radius_read && !outline.points.is_empty();
        if lacks_radius && !means_something && !size_unknown {
            errors.push(MapError::NoRadius { at: at.clone(), kind, cure: attributes.cure() });
        }
        let is_named = name.is_some();
        let name = name.unwrap_or_default();
        Ok(Feature {
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
            datum_error: Length::ZERO,
            left_as_area: attributes.is_left_as_area(),
            size_unknown,
            drawn_error,
            grade,
        })
    }
}

fn note<T>(result: Result<T, MapError>, errors: &mut Vec<MapError>) -> Option<T> {
    result.map_err(|error| errors.push(error)).ok()
}
