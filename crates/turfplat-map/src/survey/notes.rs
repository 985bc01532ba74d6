//! What is noted of a file or of the map as a whole, and of no single feature.

use std::collections::BTreeSet;

use super::About;
use crate::columns::is_personal;
use crate::error::{Note, ReadError, Turned};
use crate::feature::FeatureRef;
use crate::property_map::{Corners, MapFile, PropertyMap, PropertyRef, together};
use crate::reading::Reading;
use crate::slips::{FAR_KILOMETRES, Lies, is_wide, kilometres_to, turned};

/// Common ground that lies far from all turf, as what a register lists of other counties does, and
/// a well whose longitude has lost its sign.
pub(super) fn common_far_from(
    turf: Corners,
    map: &PropertyMap,
    files: &[Lies],
) -> Result<Vec<Note>, ReadError> {
    let mut far: Vec<(f64, FeatureRef, Option<Turned>)> = Vec::new();
    for run in map.runs_of(PropertyRef::NOBODY) {
        let around = map.run(run)?.others.corners();
        if !around.is_some_and(|around| is_wide(together(around, turf))) {
            continue;
        }
        for feature in map.read_run(run)?.features {
            let Some(corners) = feature.outline.corners() else { continue };
            let kilometres = kilometres_to(turf, corners.0);
            if kilometres > FAR_KILOMETRES {
                let turned = turned(corners.0, |place| kilometres_to(turf, place));
                far.push((kilometres, feature.at, turned));
            }
        }
    }
    let Some((farthest, at, turned)) = far.iter().max_by(|a, b| a.0.total_cmp(&b.0)) else {
        return Ok(Vec::new());
    };
    let message = format!(
        "lies {farthest:.0} km from all turf{}; {}",
        if far.len() > 1 {
            format!(", and {} others far off too", far.len() - 1)
        } else {
            String::new()
        },
        match (turned, named_by_hand(files, map)) {
            (Some(turned), _) => turned.question().to_owned(),
            (None, Some(named)) => format!("is a sign or a digit wrong, or a system: {named}?"),
            (None, None) => "is a sign or a digit wrong?".to_owned(),
        }
    );
    Ok(vec![Note { code: "far-away", property: None, at: at.clone(), message }])
}

/// The files whose systems the user named, each with the system.
fn named_by_hand(files: &[Lies], map: &PropertyMap) -> Option<String> {
    let named = |(lies, file): (&Lies, &MapFile)| {
        lies.asked.as_ref().map(|crs| format!("--crs {crs} of {}", file.name))
    };
    let named: Vec<String> = files.iter().zip(&map.files).filter_map(named).collect();
    (!named.is_empty()).then(|| named.join(", "))
}

/// What should be seen of a file as a whole, and of how it was told.
pub(super) fn file_notes(about: &About, reading: &Reading) -> Vec<Note> {
    let of_whole = FeatureRef::of_file(&reading.file.name, reading.number as u32);
    let note =
        |code, at: &FeatureRef, message| Note { code, property: None, at: at.clone(), message };
    let mut notes = Vec::new();
    let (people, others): (Vec<&str>, Vec<&str>) =
        about.left_out.iter().map(String::as_str).partition(|name| is_personal(name));
    let people: BTreeSet<&str> =
        people.into_iter().chain(reading.personal.iter().map(AsRef::as_ref)).collect();
    if !people.is_empty() {
        let names = people.into_iter().collect::<Vec<_>>().join(", ");
        let message = format!("what holds people by its name was not carried over: {names}");
        notes.push(note("personal-columns", &of_whole, message));
    }
    if !others.is_empty() {
        let message = format!("not read: {}", others.join(", "));
        notes.push(note("columns-left-out", &of_whole, message));
    }
    if !about.skipped.is_empty() {
        let count: u64 = about.skipped.values().sum();
        let each: Vec<String> =
            about.skipped.iter().map(|(value, count)| format!("{value} ({count})")).collect();
        let message = format!("{count} passed over, as the kinds file says: {}", each.join(", "));
        notes.push(note("skipped", &of_whole, message));
    }
    for (index, code, message) in &about.remarks {
        let counted = reading.file.counted;
        let of_one = index.map(|index| FeatureRef { index, counted, ..of_whole.clone() });
        notes.push(note(code, of_one.as_ref().unwrap_or(&of_whole), message.clone()));
    }
    notes
}
