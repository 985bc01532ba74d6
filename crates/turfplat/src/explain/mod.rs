//! Why a dose can be asked where it comes from: a figure that nobody can follow is taken on trust
//! or not at all, and neither is right for what goes on a lawn. Every step from the corners of the
//! map to the cup is told with its formula, its numbers and its source, to be gone over by hand.
//! The numbers are the plan's own: what is told here is read from the plan, never dosed anew. Where
//! a zone is skipped or a property refused, the steps end where it stops.

mod ground;
mod json;
mod limits;
mod rate;
mod scene;
mod tank;

use geo::Coord;
use turfplat_dose::{Checked, WorkedStep};
use turfplat_map::PropertyMap;
use turfplat_units::{Amount, Area, Rate, UnitSystem};

use crate::job::{Application, Job};
use crate::job_error::{ApplicationError, JobError};
use crate::plan::{PlanOptions, PropertyPlan, plan_each};
use crate::plat::{Asked, Plat, each_property};
use crate::refusal::Refusal;
use crate::setbacks::{ByKind, SetbackSource};
use scene::Scene;

/// Which dose to explain, by names as map and job give them; capitals do not matter.
#[derive(Clone, Copy, Debug)]
pub struct ExplainWhat<'w> {
    /// The zone.
    pub zone: &'w str,
    /// The product's id or name, or a part of one that no other product of the job has.
    pub product: &'w str,
    /// The application; `None` where only one treats the zone with the product.
    pub application: Option<&'w str>,
    /// The units of all steps.
    pub units: UnitSystem,
}

/// How one zone's dose of one product comes about.
#[derive(Clone, Debug, PartialEq)]
pub struct Explanation {
    /// The property's id or name.
    pub property: String,
    /// The application's name.
    pub application: String,
    /// The equipment and what it is, such as `knapsack (backpack)`.
    pub equipment: String,
    /// The zone's name.
    pub zone: String,
    /// The product's id.
    pub product: String,
    /// The product's name in print.
    pub product_name: String,
    /// The steps, in the order in which a person would do them.
    pub parts: Vec<ExplainedPart>,
    /// Where the way to a dose ends; `None` where it is dosed.
    pub stopped: Option<Stopped>,
    /// What is treated.
    pub treated: Area,
    /// The rate of product; `None` where there is none.
    pub rate: Option<Rate>,
    /// What the zone takes; `None` where nothing is dosed.
    pub amount: Option<Amount>,
    /// The spray on it; `None` of a spreader and where nothing is dosed.
    pub spray_volume: Option<Amount>,
    /// The rings of the outline in metres on the plane; outlines run counter-clockwise, holes
    /// clockwise. Empty of turf that was not drawn with corners.
    pub corners: Vec<Vec<Coord<f64>>>,
    /// The limits that bear on it, with their verdicts; none where the property is refused.
    pub limits: Vec<Checked>,
    /// The units of the steps.
    pub units: UnitSystem,
}

/// Steps that belong together.
#[derive(Clone, Debug, PartialEq)]
pub struct ExplainedPart {
    /// What they are about.
    pub title: &'static str,
    /// One after the other.
    pub steps: Vec<ExplainedStep>,
}

/// One step.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ExplainedStep {
    /// What is done.
    pub what: String,
    /// Its arithmetic; `None` where nothing is calculated.
    pub worked: Option<WorkedStep>,
    /// What is to be known of it.
    pub said: Vec<Said>,
}

/// A statement, and who makes it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// The statement.
    pub text: String,
    /// Who says so; `None` of what stands in map or job.
    pub source: Option<String>,
}

/// Where the way to a dose ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stopped {
    /// True where it is refused, the zone or all of the property, and not skipped.
    pub is_refusal: bool,
    /// Why.
    pub reasons: Vec<String>,
    /// What to do about it, where the reason does not say it itself.
    pub cure: Option<String>,
}

/// What came of asking.
#[derive(Clone, Debug, PartialEq)]
pub enum Explained {
    /// How the dose comes about, or where the way to it ends.
    Told(Box<Explanation>),
    /// The property cannot even be measured.
    Refused(Vec<Refusal>),
}

/// Why there is nothing to explain.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum ExplainError {
    #[error(transparent)]
    Job(#[from] JobError),

    #[error("no product of the job is called {product:?}; there is: {known}")]
    NoProduct { product: String, known: String },

    #[error("{product:?} may be {known}; write the id")]
    WhichProduct { product: String, known: String },

    #[error(transparent)]
    Application(#[from] ApplicationError),

    #[error("no application puts {product} on zone {zone:?}; it is put on: {known}")]
    NotThere { product: String, zone: String, known: String },

    #[error(
        "several applications put {product} on zone {zone:?}; choose one with --application: {known}"
    )]
    WhichApplication { product: String, zone: String, known: String },

    #[error("zone {zone:?} is nowhere on the map (zones there: {known})")]
    NoZone { zone: String, known: String },

    #[error("no property {property:?} has turf on the map")]
    NoProperty { property: String },
}

/// Explains the dose of one product on one zone, as [`crate::plan()`] with the same options gives it. On
/// a map of several properties `options` names the one; else the first that has the zone is meant.
///
/// # Errors
///
/// [`ExplainError`]: a name that is not there or may mean several, and what `plan` refuses the job for.
pub fn explain(
    map: &PropertyMap,
    job: &Job,
    options: &PlanOptions,
    what: &ExplainWhat<'_>,
) -> Result<Explained, ExplainError> {
    let (application, place) = chosen(job, what)?;
    let mut told: Option<Explanation> = None;
    let mut refusals: Vec<Refusal> = Vec::new();
    let mut zones: Vec<String> = Vec::new();
    plan_each(
        map,
        job,
        options,
        |plan| (of_plan(&plan, job, application, place, what), names(&plan)),
        |done| {
            match done {
                Ok((explanation, names)) => {
                    told = told.take().or(explanation);
                    zones.extend(names);
                }
                Err(refusal) => refusals.push(refusal),
            }
            Ok::<(), JobError>(())
        },
    )?;
    if let Some(told) = told {
        return Ok(Explained::Told(Box::new(told)));
    }
    if refusals.is_empty() {
        if let (Some(property), []) = (&options.property, &zones[..]) {
            return Err(ExplainError::NoProperty { property: property.clone() });
        }
        return Err(ExplainError::NoZone { zone: what.zone.into(), known: zones.join(", ") });
    }
    Ok(match refused(map, job, options, application, place, what, &refusals) {
        Some(told) => Explained::Told(Box::new(told)),
        None => Explained::Refused(refusals),
    })
}

fn names(plan: &PropertyPlan<'_>) -> Vec<String> {
    plan.zones.iter().map(|zone| zone.name.clone()).collect()
}

/// The application and the place of the product in it.
fn chosen<'j>(
    job: &'j Job,
    what: &ExplainWhat<'_>,
) -> Result<(&'j Application, usize), ExplainError> {
    let named: Vec<&Application> = match what.application {
        None => job.applications.iter().collect(),
        named => vec![job.application(named)?],
    };
    let listed = |all: &mut dyn Iterator<Item = &str>| {
        let mut known: Vec<&str> = Vec::new();
        all.for_each(|name| known.extend((!known.contains(&name)).then_some(name)));
        known.join(", ")
    };
    let products = || named.iter().flat_map(|it| &it.products).map(|chosen| &chosen.product);
    let wanted = what.product.to_lowercase();
    let is = |text: &str| text.to_lowercase() == wanted;
    let has = |text: &str| text.to_lowercase().contains(&wanted);
    let exact = products().find(|it| is(&it.id) || is(&it.name)).map(|it| it.id.as_str());
    let mut partly: Vec<&str> =
        products().filter(|it| has(&it.id) || has(&it.name)).map(|it| it.id.as_str()).collect();
    partly.sort_unstable();
    partly.dedup();
    let id = match (exact, &partly[..]) {
        (Some(id), _) => id,
        (None, [id]) => *id,
        (None, []) => {
            let known = listed(&mut products().map(|it| it.id.as_str()));
            return Err(ExplainError::NoProduct { product: what.product.into(), known });
        }
        (None, several) => {
            let known = several.join(" or ");
            return Err(ExplainError::WhichProduct { product: what.product.into(), known });
        }
    };
    let place = |it: &Application| it.products.iter().position(|it| it.product.id == id);
    let with: Vec<(&Application, usize)> =
        named.iter().filter_map(|it| Some((*it, place(it)?))).collect();
    let on_zone = |it: &Application| {
        it.zones
            .as_ref()
            .is_none_or(|zones| zones.iter().any(|zone| zone.eq_ignore_ascii_case(what.zone)))
    };
    let there: Vec<_> = with.iter().filter(|(it, _)| on_zone(it)).collect();
    let (product, zone) = (id.to_owned(), what.zone.to_owned());
    match there[..] {
        [only] => Ok(*only),
        [] => {
            let known = listed(
                &mut with.iter().flat_map(|(it, _)| it.zones.iter().flatten()).map(String::as_str),
            );
            Err(ExplainError::NotThere { product, zone, known })
        }
        _ => {
            let known = listed(&mut there.iter().map(|(it, _)| it.name.as_str()));
            Err(ExplainError::WhichApplication { product, zone, known })
        }
    }
}

/// From a plan; `None` where the property has no such zone.
fn of_plan(
    plan: &PropertyPlan<'_>,
    job: &Job,
    application: &Application,
    place: usize,
    what: &ExplainWhat<'_>,
) -> Option<Explanation> {
    let index = scene::zone_at(&plan.site, what.zone)?;
    let planned = plan.applications.iter().find(|it| it.name == application.name)?;
    let treated = planned.zones.iter().find(|zone| zone.index == index);
    let skipped = planned.skipped.iter().find(|zone| zone.index == index);
    let lost = treated.map(|it| &it.lost).or(skipped.map(|it| &it.lost))?;
    let scene = Scene {
        property: &plan.property,
        site: &plan.site,
        job,
        application,
        place,
        index,
        gross: plan.zones.get(index)?.gross,
        treated: treated
            .map_or_else(|| scene::left(plan.zones[index].gross, lost), |zone| zone.treated),
        lost,
        drawn_error: treated.and_then(|zone| zone.drawn_error),
        setbacks: &planned.setbacks,
        planned: Some(planned),
        units: what.units,
    };
    let stop = skipped.map(|skipped| {
        scene.skipped(skipped.reason.clone(), skipped.advice.clone(), skipped.refused)
    });
    Some(scene.told(stop))
}

/// Of a property that `plan` refuses: as far as it goes, measured alone. `None` where the map is
/// what is refused.
fn refused(
    map: &PropertyMap,
    job: &Job,
    options: &PlanOptions,
    application: &Application,
    place: usize,
    what: &ExplainWhat<'_>,
    refusals: &[Refusal],
) -> Option<Explanation> {
    let nothing = ByKind::new();
    let source = SetbackSource::of_applications(job, &[application], &nothing);
    let is_meant = |id: Option<&str>| options.property.as_deref().is_none_or(|it| id == Some(it));
    let wanted: Vec<_> =
        map.properties().iter().copied().filter(|it| is_meant(map.id(*it))).collect();
    let asked = Asked { name: job.name.as_deref(), source: &source, drawn_to: options.drawn_to };
    let mut told = None;
    let work = |property: &str, site: crate::site::Site| {
        let plat = Plat::of(property.to_owned(), site, &source, options.within_parcel)?;
        Ok(of_plat(&plat, job, application, place, what, refusals))
    };
    let Ok(()) = each_property(map, &wanted, &asked, work, |done| {
        if let Ok(explanation) = done {
            told = told.take().or(explanation);
        }
        Ok::<(), std::convert::Infallible>(())
    });
    told
}

fn of_plat(
    plat: &Plat,
    job: &Job,
    application: &Application,
    place: usize,
    what: &ExplainWhat<'_>,
    refusals: &[Refusal],
) -> Option<Explanation> {
    let index = scene::zone_at(&plat.site, what.zone)?;
    let zone = plat.zones.get(index)?;
    let scene = Scene {
        property: &plat.property,
        site: &plat.site,
        job,
        application,
        place,
        index,
        gross: zone.gross,
        treated: zone.net,
        lost: &zone.lost,
        drawn_error: zone.drawn_error,
        setbacks: &plat.setbacks,
        planned: None,
        units: what.units,
    };
    let areas: Vec<Area> = plat.zones.iter().map(|zone| zone.net).collect();
    let reasons = refusals.iter().flat_map(|refusal| refusal.reasons.iter().cloned()).collect();
    Some(scene.told(Some(scene.refused(&areas, reasons))))
}
