//! Which files a plan is written as, and where: all of a property are drawn before any is written.

use std::collections::HashMap;
use std::fs;
use std::path::Path;

use anyhow::Context;
use turfplat::sheet::{Page, png, sheets};
use turfplat::units::UnitSystem;
use turfplat::{
    ApplicationPlan, MapShape, PropertyMap, PropertyPlan, feature_collection, in_place,
    passes_geojson, plan_json, spray_map,
};

use crate::aerial::{OpenAerial, Pictured};
use crate::input::is_of_several;
use crate::plan_records::{COLUMNS, records, summary_records};
use crate::rows::csv_text;
use crate::sheet::beside_picture;
use crate::{files, paper};

/// How files are drawn, beside the plan itself.
pub(crate) struct Drawing<'a> {
    pub(crate) date: Option<&'a str>,
    pub(crate) units: UnitSystem,
    pub(crate) passes: bool,
    /// To lie beneath the maps.
    pub(crate) aerial: Option<&'a OpenAerial>,
    /// With a work order of each application, as PDF.
    pub(crate) orders: bool,
}

/// Where plans are written: one folder a property where the map has several, refused ones counted.
pub(crate) struct Folders<'a> {
    pub(crate) folder: &'a Path,
    /// By id; empty where the map is one property.
    pub(crate) names: HashMap<&'a str, String>,
}

impl<'a> Folders<'a> {
    const SUMMARY: &'static str = "summary.csv";

    pub(crate) fn of(map: &'a PropertyMap, folder: &'a Path) -> Folders<'a> {
        let mut names = HashMap::new();
        if is_of_several(map) {
            let ids: Vec<&str> = map.properties().iter().filter_map(|it| map.id(*it)).collect();
            // The summary's own name is not to be had for a property.
            let all = std::iter::once(Self::SUMMARY).chain(ids.iter().copied());
            names = ids.iter().copied().zip(files::safe_names(all).split_off(1)).collect();
        }
        Folders { folder, names }
    }

    /// Writes the files of one property; its lines of the summary.
    pub(crate) fn write(
        &self,
        plan: &PropertyPlan<'_>,
        drawing: &Drawing<'_>,
    ) -> anyhow::Result<(String, Pictured)> {
        let (mut written, pictured) = files_of(plan, drawing)?;
        if drawing.orders {
            written.extend(orders_of(plan, drawing)?);
        }
        let Some(name) = self.names.get(plan.property.as_str()) else {
            if !pictured.is_of_nothing() {
                forget_sheets(self.folder, &written)?;
                files::write_together(self.folder, written)?;
            }
            return Ok((String::new(), pictured));
        };
        let folder = self.folder.join(name);
        forget_sheets(&folder, &written)?;
        files::write_together(&folder, written)?;
        Ok((summary_records(plan, name, drawing.units)?, pictured))
    }

    pub(crate) fn finish(&self, summary: &str) -> anyhow::Result<()> {
        if self.names.is_empty() {
            return Ok(());
        }
        files::write(&self.folder.join(Self::SUMMARY), summary.as_bytes())
    }
}

/// Removes the sheets of an earlier plan that this one has not: of two plans one would be carried.
fn forget_sheets(folder: &Path, written: &[NamedFile]) -> anyhow::Result<()> {
    let Ok(there) = fs::read_dir(folder) else { return Ok(()) };
    for file in there.flatten() {
        let name = file.file_name();
        let Some(name) = name.to_str().filter(|name| is_further_sheet(name)) else { continue };
        if written.iter().all(|(new, _)| new != name) {
            let path = file.path();
            fs::remove_file(&path).with_context(|| {
                format!("cannot remove {}, a sheet of an earlier plan", path.display())
            })?;
        }
    }
    Ok(())
}

/// True of `spray-map.sheet-2.png` and what lies beside it.
fn is_further_sheet(name: &str) -> bool {
    let numbered = name.strip_prefix("spray-map").and_then(|rest| rest.split_once(".sheet-"));
    let Some((number, ending)) = numbered.and_then(|(_, rest)| rest.split_once('.')) else {
        return false;
    };
    let is_number = !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit());
    is_number && ["png", "svg", "pgw", "prj", "png.aux.xml"].contains(&ending)
}

/// A file's name and what is in it.
type NamedFile = (String, Vec<u8>);

/// The files of one property by name, all drawn before any is written.
fn files_of(
    plan: &PropertyPlan<'_>,
    drawing: &Drawing<'_>,
) -> anyhow::Result<(Vec<NamedFile>, Pictured)> {
    let Drawing { date, units, passes, aerial, .. } = *drawing;
    let mut pictured = Pictured::default();
    let mut written: Vec<NamedFile> = Vec::new();
    let document = plan_json(std::slice::from_ref(plan), units);
    written.push(("plan.json".to_owned(), format!("{document:#}\n").into_bytes()));
    let header = csv_text(|writer| Ok(writer.write_record(COLUMNS)?))?;
    written.push(("plan.csv".to_owned(), (header + &records(plan, units)?).into_bytes()));
    let names = files::safe_names(plan.applications.iter().map(|application| application.name));
    for (application, name) in plan.applications.iter().zip(names) {
        let suffix = if plan.applications.len() > 1 { format!("-{name}") } else { String::new() };
        let mut map = spray_map(plan, application, date, units);
        map.trail.shows_passes = passes;
        if let Some(aerial) = aerial {
            pictured.hold(plan, aerial.beneath(plan, &mut map, Page::Letter)?);
        }
        for sheet in sheets(&map, Page::Letter) {
            let name = match sheet.number {
                1 => format!("spray-map{suffix}"),
                number => format!("spray-map{suffix}.sheet-{number}"),
            };
            written.push((format!("{name}.png"), png(&sheet.svg, Page::Letter)?));
            written.push((format!("{name}.svg"), sheet.svg.into_bytes()));
            let beside = beside_picture(in_place(plan, sheet.placement));
            written.extend(
                beside.into_iter().map(|(ending, text)| (format!("{name}.{ending}"), text.into())),
            );
        }
        let zones = zones_geojson(plan, application);
        written.push((format!("zones{suffix}.geojson"), zones.into_bytes()));
        if !application.walks.is_empty() {
            let passes = passes_geojson(plan, application);
            written.push((format!("passes{suffix}.geojson"), passes.into_bytes()));
        }
    }
    Ok((written, pictured))
}

/// The work orders of one property by name, of what is put down.
fn orders_of(plan: &PropertyPlan<'_>, drawing: &Drawing<'_>) -> anyhow::Result<Vec<NamedFile>> {
    let Drawing { date, units, .. } = *drawing;
    let names = files::safe_names(plan.applications.iter().map(|application| application.name));
    let dosing = plan.applications.iter().zip(names).filter(|(it, _)| !it.zones.is_empty());
    let order = |(application, name): (&ApplicationPlan<'_>, String)| {
        let suffix = if plan.applications.len() > 1 { format!("-{name}") } else { String::new() };
        let bytes = paper::work_order(plan, application, date, units, paper::PageName::Letter)?;
        Ok((format!("work-order{suffix}.pdf"), bytes))
    };
    dosing.map(order).collect()
}

fn zones_geojson(plan: &PropertyPlan<'_>, application: &ApplicationPlan<'_>) -> String {
    let shapes = application.zones.iter().map(|zone| {
        let species: Vec<&str> = zone.species.iter().map(|species| species.id.as_str()).collect();
        let properties = [
            ("kind", "turf".into()),
            ("property", plan.property.clone().into()),
            ("application", application.name.into()),
            ("name", zone.zone.clone().into()),
            ("species", species.join(", ").into()),
            ("treated_area_m2", zone.treated.square_metres().into()),
            ("batch", zone.batch.into()),
        ];
        MapShape {
            polygons: plan.outline(application, zone).lifted(plan.plane()),
            properties: properties
                .map(|(name, value): (&str, serde_json::Value)| (name.to_owned(), value))
                .into_iter()
                .collect(),
        }
    });
    feature_collection(shapes.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn further_sheets_are_told_from_what_else_stands_in_a_folder() {
        let ours = ["spray-map.sheet-2.png", "spray-map-June.sheet-12.png.aux.xml"];
        assert!(ours.into_iter().all(is_further_sheet));
        let others =
            ["spray-map.png", "spray-map.sheet-.png", "spray-map.sheet-2.pdf", "my.sheet-2.png"];
        assert!(!others.into_iter().any(is_further_sheet));
    }
}
