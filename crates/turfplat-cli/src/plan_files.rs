//! Which files a plan is written as, and where: all of a property are drawn before any is written.

use std::collections::HashMap;
use std::path::Path;

use turfplat::sheet::{Page, png, sheets};
use turfplat::units::UnitSystem;
use turfplat::{
    ApplicationPlan, MapShape, PropertyMap, PropertyPlan, feature_collection, in_place,
    passes_geojson, plan_json, spray_map,
};

use crate::aerial::{OpenAerial, Pictured};
use crate::files;
use crate::kept_files::Kept;
use crate::own_files::{self, EarlierPlan, SUMMARY, suffixes};
use crate::paper::{self, OrderPaper, PageName};
use crate::plan_records::{COLUMNS, records, summary_records};
use crate::rows::csv_text;
use crate::sheet::beside_picture;

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
    pub(crate) names: HashMap<String, String>,
    /// Maps and pictures that are read.
    kept: Kept,
}

impl<'a> Folders<'a> {
    pub(crate) fn of(map: &PropertyMap, folder: &'a Path, kept: Kept) -> Folders<'a> {
        Folders { folder, names: own_files::folder_names(map), kept }
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
        let Some(name) = self.names.get(&plan.property) else {
            if !pictured.is_of_nothing() {
                self.write_anew(self.folder, written)?;
            }
            return Ok((String::new(), pictured));
        };
        self.write_anew(&self.folder.join(name), written)?;
        Ok((summary_records(plan, name, drawing.units)?, pictured))
    }

    pub(crate) fn finish(&self, summary: &str) -> anyhow::Result<()> {
        if self.names.is_empty() {
            return Ok(());
        }
        files::write(&self.folder.join(SUMMARY), summary.as_bytes())
    }

    /// Removes the earlier plan of a property that has none today; true if there was one.
    pub(crate) fn forget(&self, property: Option<&str>) -> anyhow::Result<bool> {
        let folder = match property.and_then(|id| self.names.get(id)) {
            Some(name) => self.folder.join(name),
            None if self.names.is_empty() => self.folder.to_owned(),
            None => return Ok(false),
        };
        EarlierPlan::of(&folder).forget(&folder, &[], &self.kept)
    }

    /// Writes the files of a plan, and then removes those of the plan before it that it has not.
    fn write_anew(&self, folder: &Path, written: Vec<NamedFile>) -> anyhow::Result<()> {
        self.kept.check(written.iter().map(|(name, _)| folder.join(name)))?;
        let earlier = EarlierPlan::of(folder);
        let names: Vec<String> = written.iter().map(|(name, _)| name.clone()).collect();
        files::write_together(folder, written)?;
        earlier.forget(folder, &names, &self.kept)?;
        Ok(())
    }
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
    let header = csv_text(|writer| writer.write_record(COLUMNS))?;
    written.push(("plan.csv".to_owned(), (header + &records(plan, units)?).into_bytes()));
    let suffixes = suffixes(plan.applications.iter().map(|application| application.name));
    for (application, suffix) in plan.applications.iter().zip(suffixes) {
        let mut map = spray_map(plan, application, date, units);
        map.trail.shows_passes = passes;
        crate::letters::note(&map);
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
            // A sheet that only explains numbers lies nowhere.
            let place = sheet.placement.map(|it| in_place(plan, it));
            let beside = place.into_iter().flat_map(beside_picture);
            written.extend(beside.map(|(ending, text)| (format!("{name}.{ending}"), text.into())));
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
    let Drawing { date, units, passes, aerial, .. } = *drawing;
    // What a picture does not show is told of the spray maps.
    let order = OrderPaper { date, units, page: PageName::Letter, passes, aerial };
    let suffixes = suffixes(plan.applications.iter().map(|application| application.name));
    let dosing = plan.applications.iter().zip(suffixes).filter(|(it, _)| !it.zones.is_empty());
    let order = |(application, suffix): (&ApplicationPlan<'_>, String)| {
        let (bytes, _) = paper::work_order(&order, plan, application)?;
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
            ("for_wind", application.wind.map(|wind| wind.in_words()).into()),
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
