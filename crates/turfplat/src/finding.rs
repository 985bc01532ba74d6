use turfplat_map::{Feature, Note, PropertyMap, ReadError};
use turfplat_measure::Repair;

/// Something that could be done but should be seen.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// A short fixed word, such as `crossed-outline`; the documentation lists them.
    pub code: &'static str,
    /// The place in the map, such as `lots.geojson features[2] ("Back lawn")`.
    pub feature: String,
    /// What was found and what was done about it.
    pub message: String,
    /// The area that it is about, in square metres; 0 where it is about none.
    pub area_m2: f64,
}

impl Finding {
    pub(crate) fn of(
        feature: &Feature,
        code: &'static str,
        message: String,
        area_m2: f64,
    ) -> Finding {
        Finding { code, feature: feature.at.to_string(), message, area_m2 }
    }

    pub(crate) fn of_repair(feature: &Feature, repair: &Repair) -> Finding {
        Finding::of(feature, repair.code, repair.message.to_owned(), repair.area_m2)
    }
}

impl From<&Note> for Finding {
    fn from(note: &Note) -> Finding {
        Finding {
            code: note.code,
            feature: note.at.to_string(),
            message: note.message.clone(),
            area_m2: 0.0,
        }
    }
}

/// What reading found of every feature of the map, also of those that no lawn has to do with, with
/// the id of its property.
///
/// # Errors
///
/// [`ReadError`] where a file cannot be read again.
pub fn for_each_note(
    map: &PropertyMap,
    mut take: impl FnMut(Option<&str>, Finding),
) -> Result<(), ReadError> {
    map.notes().iter().for_each(|note| take(None, Finding::from(note)));
    for property in map.everybody() {
        for run in map.runs_of(property) {
            for note in &map.read_run(run)?.notes {
                take(map.id(property), Finding::from(note));
            }
        }
    }
    Ok(())
}
