//! What a season comes to: rounds, what they take, what was left out.

use turfplat_dose::{Checked, Purchase};
use turfplat_map::{PropertyMap, PropertyRef};
use turfplat_season::{DailySources, Date, HeatModel};
use turfplat_units::{Amount, Area, Length, Rate, UnitSystem};

use super::course::{Course, Reckoning};
use super::terms::Command;
use super::walk::walk;
use crate::finding::Finding;
use crate::job::{Application, Job};
use crate::job_error::JobError;
use crate::plan::is_of_several;
use crate::plat::{Asked, each_property, no_lot};
use crate::refusal::Refusal;
use crate::setbacks::{ByKind, SetbackSource};
use crate::site::Site;

/// What to reckon a season with, beside the job.
#[derive(Clone, Copy, Debug, Default)]
pub struct SeasonOptions<'s> {
    /// Turf beyond the lot line is lost.
    pub within_parcel: bool,
    /// The first day, instead of the one that the job gives all zones.
    pub from: Option<Date>,
    /// The last day, instead of the one that the job gives all zones.
    pub until: Option<Date>,
    /// How far off corners may be; it changes no area.
    pub drawn_to: Option<Length>,
    /// What is known of temperatures.
    pub temperatures: DailySources<'s>,
    /// A model of degree-days for all applications, instead of the job's.
    pub model: Option<&'s HeatModel>,
    /// The models that a job may name.
    pub models: &'s [HeatModel],
    /// In which units reasons are told.
    pub units: UnitSystem,
}

/// A season of one property.
#[derive(Clone, Debug)]
pub struct PropertySeason {
    /// The property's id, or the name of a map that is one property.
    pub property: String,
    /// By day, those of one day in the order of the job.
    pub rounds: Vec<Round>,
    /// Every zone of every application that takes part.
    pub courses: Vec<Course>,
    /// Zones that get nothing of an application, and why.
    pub not_planned: Vec<NotPlanned>,
    /// Of each zone and limit of a year the last that was counted.
    pub year_limits: Vec<Checked>,
    /// What to buy of each product for all of it.
    pub purchases: Vec<Purchase>,
    /// Water in all; `None` where nothing is sprayed.
    pub water: Option<Amount>,
    /// What should be seen.
    pub findings: Vec<Finding>,
    /// What to mind; these replace no label.
    pub cautions: Vec<String>,
}

/// One trip of a season.
#[derive(Clone, Debug)]
pub struct Round {
    /// The application.
    pub application: String,
    /// The day.
    pub day: Date,
    /// Ids of its products.
    pub products: Vec<String>,
    /// Their names.
    pub product_names: Vec<String>,
    /// With what.
    pub equipment: String,
    /// What is treated, in walking order; zones at a lowered rate last.
    pub zones: Vec<RoundZone>,
    /// Of each product in all, in the order of the products.
    pub totals: Vec<Amount>,
    /// Water in all; `None` of a spreader.
    pub water: Option<Amount>,
    /// How many fills.
    pub loads: usize,
}

/// One zone in one trip.
#[derive(Clone, Debug)]
pub struct RoundZone {
    /// Its name.
    pub zone: String,
    /// Which treatment of the zone in this application it is, from 1.
    pub number: usize,
    /// What is treated of it.
    pub area: Area,
    /// Of each product, in the order of the products.
    pub rates: Vec<Rate>,
    /// Of each product, in the order of the products.
    pub amounts: Vec<Amount>,
    /// Why on this day.
    pub because: String,
    /// Why at less than its rate.
    pub lowered: Option<String>,
    /// What a model says that does not hold here.
    pub estimate: Option<String>,
}

/// A zone that gets nothing of an application.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotPlanned {
    /// The application.
    pub application: String,
    /// The zone.
    pub zone: String,
    /// Why.
    pub reason: String,
    /// What to do about it; empty where the reason says it.
    pub advice: String,
    /// True where something has to be changed: a limit, an interval, a day that is not known.
    pub refused: bool,
}

impl PropertySeason {
    /// Why zones get nothing where something has to be changed; `None` where nothing has.
    pub fn refusal(&self) -> Option<Refusal> {
        let refused = self.not_planned.iter().filter(|it| it.refused);
        let reasons: Vec<String> = refused
            .map(|it| {
                let NotPlanned { application, zone, reason, .. } = it;
                format!("application {application:?}, zone {zone:?}: {reason}")
            })
            .collect();
        let property = Some(self.property.clone());
        (!reasons.is_empty()).then_some(Refusal { property, reasons })
    }
}

/// Reckons the season of every property of the map that may be used, in file order; `take` is handed
/// one after the other.
///
/// # Errors
///
/// [`JobError`] for a job that cannot be done on this map, or names a model that is not known; and the
/// first error of `take`, which ends it.
pub fn season_each<E: From<JobError>>(
    map: &PropertyMap,
    job: &Job,
    options: &SeasonOptions<'_>,
    take: impl FnMut(Result<PropertySeason, Refusal>) -> Result<(), E>,
) -> Result<(), E> {
    job.check_map(map)?;
    job.check_date(None)?;
    let several = is_of_several(map);
    // A season has a day for everything, so that only amounts on several lawns are in question.
    job.check_history(turfplat_dose::Day::read("9999-12-31"), several)?;
    check_models(job, options)?;
    let reckoning = Reckoning {
        command: Command { from: options.from, until: options.until },
        temperatures: options.temperatures,
        model: options.model,
        models: options.models,
        units: options.units,
    };
    let nothing = ByKind::new();
    let all: Vec<&Application> = job.applications.iter().collect();
    let widest = SetbackSource::of_applications(job, &all, &nothing);
    let wanted: Vec<PropertyRef> = map.properties().to_vec();
    let work = |property: &str, site: Site| {
        if options.within_parcel && site.lot.is_none() {
            return Err(vec![no_lot(&site)]);
        }
        walk(property, job, site, options.within_parcel, several, &reckoning)
    };
    let asked = Asked { name: job.name.as_deref(), source: &widest, drawn_to: options.drawn_to };
    each_property(map, &wanted, &asked, work, take)
}

/// Refuses a model that is not known, or whose base is not.
fn check_models(job: &Job, options: &SeasonOptions<'_>) -> Result<(), JobError> {
    let of_applications = job.applications.iter().map(|application| {
        (&application.season.model, format!("application {:?}, season.model", application.name))
    });
    for (id, key) in
        [(&job.season.model, "season.model".to_owned())].into_iter().chain(of_applications)
    {
        let Some(id) = id else { continue };
        let no_model =
            |reason| JobError::NoModel { file: job.file.clone(), key: key.clone(), reason };
        let model = HeatModel::find(id, options.models).map_err(no_model)?;
        if model.base.is_none() {
            return Err(no_model(format!(
                "the base temperature of model {id:?} was not found; give it in a table of models of your own"
            )));
        }
    }
    Ok(())
}
