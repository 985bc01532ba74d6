//! Which files of a folder are ours, and which of them are of an earlier run: of two plans of one
//! property the wrong one would be carried. Nothing else is ever removed. What is forgotten is
//! forgotten after the new files are in their place, so that a failed run loses nothing.

use std::collections::{HashMap, HashSet};
use std::fs;
use std::io::{ErrorKind, Write};
use std::path::Path;

use anyhow::Context;
use serde_json::Value;
use turfplat::{PropertyMap, refusals};

use crate::files::safe_names;
use crate::input::is_of_several;
use crate::kept_files::Kept;

/// One row a line of all quotes.
pub(crate) const LINES: &str = "quotes.csv";
/// One row a property.
pub(crate) const SUMMARY: &str = "summary.csv";
/// The files of one quote.
pub(crate) const QUOTE: &str = "quote.json";
pub(crate) const QUOTE_PAPER: &str = "quote.pdf";
const PLAN: &str = "plan.json";

/// Folders of properties by id, refused ones too; empty where the map is one property.
pub(crate) fn folder_names(map: &PropertyMap) -> HashMap<String, String> {
    if !is_of_several(map) {
        return HashMap::new();
    }
    let ids = ids(map);
    // The names of the tables beside them are not to be had for a property.
    let taken = [LINES, SUMMARY];
    let all = taken.into_iter().chain(ids.iter().map(String::as_str));
    let names = safe_names(all).split_off(taken.len());
    ids.into_iter().zip(names).collect()
}

/// What work orders are called in a folder, by property and application.
pub(crate) struct OrderNames(HashMap<(String, String), String>);

impl OrderNames {
    pub(crate) fn of(map: &PropertyMap, applications: &[&str]) -> OrderNames {
        let ids = if is_of_several(map) { ids(map) } else { vec![String::new()] };
        let keys: Vec<(String, String)> = (ids.iter())
            .flat_map(|id| applications.iter().map(|name| (id.clone(), name.to_string())))
            .collect();
        let called = |(id, name): &(String, String)| {
            let id = if id.is_empty() { "work-order" } else { id };
            if applications.len() > 1 { format!("{id}-{name}") } else { id.to_owned() }
        };
        let called: Vec<String> = keys.iter().map(called).collect();
        let names = safe_names(called.iter().map(String::as_str));
        OrderNames(keys.into_iter().zip(names).collect())
    }

    /// `None` of a property that the map does not name.
    pub(crate) fn file(&self, property: &str, application: &str) -> Option<String> {
        let named = |id: &str| self.0.get(&(id.to_owned(), application.to_owned()));
        named(property).or_else(|| named("")).map(|name| format!("{name}.pdf"))
    }
}

/// The ids of a map's properties, those last of which nothing can be used.
fn ids(map: &PropertyMap) -> Vec<String> {
    let mut ids: Vec<String> =
        map.properties().iter().filter_map(|it| map.id(*it)).map(str::to_owned).collect();
    let mut known: HashSet<String> = ids.iter().cloned().collect();
    let refused = refusals(map).into_iter().filter_map(|refusal| refusal.property);
    ids.extend(refused.filter(|id| known.insert(id.clone())));
    ids
}

/// What comes after a file's stem for each application of a plan; nothing where there is one.
pub(crate) fn suffixes<'n>(applications: impl Iterator<Item = &'n str>) -> Vec<String> {
    let names = safe_names(applications);
    match names.len() {
        0 | 1 => names.iter().map(|_| String::new()).collect(),
        _ => names.iter().map(|name| format!("-{name}")).collect(),
    }
}

/// The earlier plan of a folder, as its plan.json tells it.
pub(crate) struct EarlierPlan {
    /// `None` where there is none.
    suffixes: Option<Vec<String>>,
}

impl EarlierPlan {
    /// To be called before a new plan is written there.
    pub(crate) fn of(folder: &Path) -> EarlierPlan {
        let read = || {
            let text = fs::read(folder.join(PLAN)).ok()?;
            let plan: Value = serde_json::from_slice(&text).ok()?;
            let applications = plan["properties"][0]["applications"].as_array()?;
            let names = applications.iter().map(|it| it["name"].as_str().unwrap_or_default());
            Some(suffixes(names))
        };
        EarlierPlan { suffixes: read() }
    }

    /// Removes its files, but for those that are written anew or read; true if there were any.
    pub(crate) fn forget(
        &self,
        folder: &Path,
        written: &[String],
        kept: &Kept,
    ) -> anyhow::Result<bool> {
        let Some(suffixes) = &self.suffixes else { return Ok(false) };
        let Ok(there) = fs::read_dir(folder) else { return Ok(false) };
        let mut names: Vec<String> =
            there.flatten().filter_map(|file| file.file_name().into_string().ok()).collect();
        names.retain(|name| {
            let is_kept = || kept.check([folder.join(name)]).is_err();
            is_of_plan(name, suffixes) && !written.contains(name) && !is_kept()
        });
        names.sort();
        forget(folder, names.iter().map(String::as_str))
    }
}

/// Removes files of ours from a folder; true if any was there.
pub(crate) fn forget<'n>(
    folder: &Path,
    names: impl IntoIterator<Item = &'n str>,
) -> anyhow::Result<bool> {
    let mut any = false;
    for name in names {
        let path = folder.join(name);
        match fs::remove_file(&path) {
            Ok(()) => any = true,
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            Err(error) => {
                return Err(error).with_context(|| {
                    format!("cannot remove {}, which an earlier run wrote", path.display())
                });
            }
        }
    }
    Ok(any)
}

/// Says which folders hold plans of properties that are not among `names`: whoever carries the folder out
/// would carry them too. They may be of another map, so they stay.
pub(crate) fn tell_of_others(
    folder: &Path,
    names: &HashMap<String, String>,
    remarks: &mut dyn Write,
) -> anyhow::Result<()> {
    const MOST: usize = 5;
    let Ok(there) = fs::read_dir(folder) else { return Ok(()) };
    let ours: HashSet<&str> = names.values().map(String::as_str).collect();
    let mut others: Vec<String> = (there.flatten())
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| !ours.contains(name.as_str()))
        .filter(|name| EarlierPlan::of(&folder.join(name)).suffixes.is_some())
        .collect();
    others.sort();
    let more = others.len().saturating_sub(MOST);
    let all = others[..others.len() - more].join(", ");
    match (others.len(), more) {
        (0, _) => return Ok(()),
        (_, 0) => writeln!(remarks, "remark: {all} in {}: {LEFT}", folder.display())?,
        _ => writeln!(remarks, "remark: {all} and {more} more in {}: {LEFT}", folder.display())?,
    }
    Ok(())
}

/// What is said of plans of an earlier run.
const LEFT: &str =
    "plans of an earlier run, of properties that are not on this map; left as they are";

/// Says of which refused properties earlier files are gone.
pub(crate) fn tell_forgotten(properties: &[String], remarks: &mut dyn Write) -> anyhow::Result<()> {
    const MOST: usize = 5;
    let names: Vec<&str> =
        properties.iter().map(String::as_str).filter(|id| !id.is_empty()).collect();
    let whose = match (properties.len(), names.len()) {
        (0, _) => return Ok(()),
        (_, 0) => String::new(),
        (_, count) if count > MOST => {
            format!(" of {} and {} more", names[..MOST].join(", "), count - MOST)
        }
        _ => format!(" of {}", names.join(", ")),
    };
    writeln!(
        remarks,
        "remark: nothing new is written{whose}; the files of an earlier run were removed"
    )?;
    Ok(())
}

/// True of a name that a plan of applications with these suffixes writes in its folder.
fn is_of_plan(name: &str, suffixes: &[String]) -> bool {
    let of_suffix = |suffix: &String| {
        let after = |stem: &str| name.strip_prefix(stem)?.strip_prefix(suffix.as_str());
        after("spray-map").is_some_and(is_of_sheet)
            || after("zones") == Some(".geojson")
            || after("passes") == Some(".geojson")
            || after("work-order") == Some(".pdf")
    };
    [PLAN, "plan.csv"].contains(&name) || suffixes.iter().any(of_suffix)
}

/// True of `.png`, `.sheet-2.png` and what lies beside it.
fn is_of_sheet(rest: &str) -> bool {
    let ending = match rest.strip_prefix(".sheet-").map(|rest| rest.split_once('.')) {
        None => rest.strip_prefix('.'),
        Some(Some((number, ending)))
            if !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()) =>
        {
            Some(ending)
        }
        Some(_) => None,
    };
    ending.is_some_and(|it| ["png", "svg", "pgw", "prj", "png.aux.xml"].contains(&it))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_of_a_plan_are_told_from_what_else_stands_in_a_folder() {
        let suffixes = suffixes(["June", "July"].into_iter());
        let ours = [
            "plan.json",
            "spray-map-June.png",
            "spray-map-June.sheet-12.png.aux.xml",
            "zones-July.geojson",
            "passes-June.geojson",
            "work-order-July.pdf",
        ];
        assert!(ours.into_iter().all(|name| is_of_plan(name, &suffixes)));
        let others = [
            "spray-map.png",
            "spray-map-June.sheet-.png",
            "spray-map-June.sheet-2.pdf",
            "spray-map-June-annotated.png",
            "zones-mine.geojson",
            "my-plan.json",
            "work-order-July.pdf.bak",
        ];
        assert!(!others.into_iter().any(|name| is_of_plan(name, &suffixes)));
        assert!(is_of_plan("spray-map.png", &[String::new()]));
    }
}
