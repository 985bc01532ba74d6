//! Why a day is filled anew: a truck's tank is not emptied at every gate. The zones of all stops are
//! treated from one tank in the order of the day, so the loads run from stop to stop, and what is
//! left over at the end is left over once. What each zone takes is the property's own plan and is
//! not touched here: limits, setbacks and skipped zones are settled there.

use std::collections::{BTreeSet, HashMap, HashSet};

use turfplat_dose::{Batch, DosedZone, Equipment, Need, Product, Purchase, caution_for_the_crew};
use turfplat_map::{PropertyMap, PropertyRef};
use turfplat_units::{Amount, Area, Length, Rate, nearest};

use crate::buying::sold_in;
use crate::finding::Finding;
use crate::job::{Application, Job};
use crate::job_error::{ApplicationError, JobError};
use crate::plan::{ApplicationPlan, AppliedSetback, PlanOptions, PropertyPlan, plan_these};
use crate::refusal::{Refusal, refusals};

/// One application on several properties, in the order of the day.
#[derive(Debug)]
pub struct DaySheet<'a> {
    /// The application's name in the job.
    pub application: &'a str,
    /// The tank mix.
    pub products: Vec<&'a Product>,
    /// With what.
    pub equipment: &'a Equipment,
    /// The properties, in the order of the day.
    pub stops: Vec<Stop>,
    /// What is treated, in the order in which it is: the covers of the loads tell their zone by its
    /// place here.
    pub zones: Vec<StopZone>,
    /// Zones that follow each other at one strength, and the loads that treat them.
    pub batches: Vec<Batch>,
    /// What is carried of each product: what all loads take, and the containers that hold it.
    pub carried: Vec<Purchase>,
    /// What to mind; these replace no label.
    pub cautions: Vec<String>,
    /// What should be seen of the stops, each with its stop's number.
    pub findings: Vec<(usize, Finding)>,
    /// What of the map is refused and belongs to no stop.
    pub refusals: Vec<Refusal>,
    /// What other applications of the job name and the map has not: limits of the year do not count it.
    pub uncounted: Vec<String>,
}

/// One property on the day.
#[derive(Debug)]
pub struct Stop {
    /// From 1.
    pub number: usize,
    /// The property's id, or the name of a map that is one property.
    pub property: String,
    /// What is treated in all.
    pub treated: Area,
    /// Of each product in all, in the order of the products; empty where nothing is treated.
    pub amounts: Vec<Amount>,
    /// Water and products in all; `None` of a spreader and where nothing is treated.
    pub spray_volume: Option<Amount>,
    /// The distances kept on it, each once.
    pub setbacks: Vec<AppliedSetback>,
    /// Hazards near a zone from which no distance is kept.
    pub without_setback: Vec<String>,
    /// Zones that get nothing, each with the reason.
    pub skipped: Vec<(String, String)>,
    /// Why it, or a part of it, is refused.
    pub refused: Vec<String>,
    /// True where the application is for it and puts nothing down, for reasons in `skipped`.
    pub undosed: bool,
}

/// One zone of a stop.
#[derive(Clone, Debug, PartialEq)]
pub struct StopZone {
    /// The stop's number.
    pub stop: usize,
    /// The zone's name on its property.
    pub zone: String,
    /// What is treated of it.
    pub treated: Area,
    /// The rate of each product, in the order of the products.
    pub rates: Vec<Rate>,
    /// What it takes of each product, in the order of the products.
    pub amounts: Vec<Amount>,
    /// The batch that treats it.
    pub batch: usize,
}

/// Why there is no sheet for a day.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum DayError {
    /// Boxed, for it is far larger than the rest.
    #[error(transparent)]
    Job(Box<JobError>),

    #[error(transparent)]
    Application(#[from] ApplicationError),

    #[error("stops {first} and {second} are both {property:?}; keep one")]
    Twice { first: usize, second: usize, property: String },
}

impl From<JobError> for DayError {
    fn from(error: JobError) -> DayError {
        DayError::Job(Box::new(error))
    }
}

/// What of one property's plan the day needs; its shapes are forgotten.
struct Planned {
    findings: Vec<Finding>,
    crossed: Option<&'static str>,
    cautions: Vec<String>,
    stop: Stop,
    zones: Vec<DosedZone>,
}

/// Works out the day: one application of a job on properties of a map.
///
/// * `application`: its name, in any case; `None` of a job that has but one.
/// * `stops`: ids of properties in the order of the day; empty: every property, in that of the map.
/// * Within a stop the zones that go on with what is in the tank come first, then those of each other
///   strength together.
/// * A property that is refused, or that is nowhere on the map, keeps its place among the stops and says why; the rest are done.
///
/// # Errors
///
/// [`DayError`] for an application that there is not, for a stop that is named twice, and for a job that
/// cannot be done on the map as a whole. A zone that another application of the job names and the map has
/// not is no such thing: it is left out of what limits count, and `uncounted` says so.
pub fn day_sheet<'a>(
    map: &PropertyMap,
    job: &'a Job,
    options: &PlanOptions,
    application: Option<&str>,
    stops: &[String],
) -> Result<DaySheet<'a>, DayError> {
    let application = job.application(application)?;
    let Order { wanted: properties, unknown } = Order::of(map, stops)?;
    let mut planned: HashMap<String, Planned> = HashMap::new();
    let mut refused: HashMap<String, Vec<String>> = unknown;
    let mut in_order: Vec<String> = Vec::new();
    let mut refusals = Vec::new();
    let mut cautions: Vec<String> = Vec::new();
    // A stop alone may take less than any mark measures, and nobody measures it alone.
    let mut unmarked = job.without_marks();
    let uncounted = unmarked.keep_zones_of_others(map, &application.name);
    let look = |plan: PropertyPlan<'_>| Planned::of(&plan, application);
    plan_these(map, &unmarked, options, &properties, look, |done| -> Result<(), JobError> {
        match done {
            Ok(done) => {
                let said = done.crossed.map(str::to_owned);
                let said: Vec<String> =
                    said.into_iter().chain(done.cautions.iter().cloned()).collect();
                in_order.push(done.stop.property.clone());
                planned.insert(done.stop.property.clone(), done);
                for caution in said {
                    let caution = caution_for_the_crew(&caution);
                    if !cautions.contains(&caution) {
                        cautions.push(caution);
                    }
                }
            }
            Err(Refusal { property: Some(property), reasons }) => {
                in_order.push(property.clone());
                refused.entry(property).or_default().extend(reasons);
            }
            Err(refusal) => refusals.push(refusal),
        }
        Ok(())
    })?;
    let wanted = if stops.is_empty() { in_order } else { stops.to_vec() };
    let mut known = HashSet::new();
    let wanted: Vec<String> =
        wanted.into_iter().filter(|property| known.insert(property.clone())).collect();
    let mut sheet = DaySheet {
        application: &application.name,
        products: application.products.iter().map(|chosen| &chosen.product).collect(),
        equipment: &application.equipment,
        stops: Vec::new(),
        zones: Vec::new(),
        batches: Vec::new(),
        carried: Vec::new(),
        cautions,
        findings: Vec::new(),
        refusals,
        uncounted,
    };
    let mut dosed: Vec<DosedZone> = Vec::new();
    for (place, property) in wanted.into_iter().enumerate() {
        let mut done = planned.remove(&property).unwrap_or_else(|| Planned::nothing(property));
        done.stop.number = place + 1;
        done.stop.refused.extend(refused.remove(&done.stop.property).unwrap_or_default());
        for zone in in_turn(done.zones, dosed.last()) {
            sheet.zones.push(StopZone {
                stop: done.stop.number,
                zone: zone.zone.clone(),
                treated: zone.area,
                rates: zone.products.iter().map(|one| one.rate).collect(),
                amounts: zone.products.iter().map(|one| one.amount).collect(),
                batch: 0,
            });
            dosed.push(zone);
        }
        let number = done.stop.number;
        sheet.findings.extend(done.findings.into_iter().map(|finding| (number, finding)));
        sheet.stops.push(done.stop);
    }
    sheet.fill(dosed, application).map_err(|source| {
        let key = format!("application {:?}", application.name);
        JobError::Dose { file: job.file.clone(), key, source: Box::new(source) }
    })?;
    let carried = sheet.products.iter().enumerate().filter_map(|(place, product)| {
        let need = Need::of_batches(&sheet.batches, place)?;
        Some(Purchase::of(product, sold_in(job, product), need))
    });
    sheet.carried = carried.collect();
    Ok(sheet)
}

/// Which properties of the map are planned, in which order.
struct Order {
    wanted: Vec<PropertyRef>,
    /// Stops that are nowhere on the map, each with the reason.
    unknown: HashMap<String, Vec<String>>,
}

impl Order {
    fn of(map: &PropertyMap, stops: &[String]) -> Result<Order, DayError> {
        if stops.is_empty() {
            let unknown = HashMap::new();
            return Ok(Order { wanted: map.properties().to_vec(), unknown });
        }
        let places: HashMap<&str, PropertyRef> =
            map.properties().iter().filter_map(|it| Some((map.id(*it)?, *it))).collect();
        let refused: BTreeSet<String> =
            refusals(map).into_iter().filter_map(|refusal| refusal.property).collect();
        let mut seen: HashMap<&str, usize> = HashMap::new();
        let mut wanted = Vec::new();
        let mut unknown: HashMap<String, Vec<String>> = HashMap::new();
        for (number, stop) in (1..).zip(stops) {
            if let Some(first) = seen.insert(stop, number) {
                return Err(DayError::Twice { first, second: number, property: stop.clone() });
            }
            match places.get(stop.as_str()) {
                Some(property) => wanted.push(*property),
                // It has its place among the stops, and the reason.
                None if refused.contains(stop) => {}
                None => {
                    let meant = nearest(stop, places.keys().copied());
                    let hint =
                        meant.map_or_else(String::new, |id| format!("; did you mean {id:?}?"));
                    let reason = format!("no property {stop:?} has turf on the map{hint}");
                    unknown.insert(stop.clone(), vec![reason]);
                }
            }
        }
        Ok(Order { wanted, unknown })
    }
}

impl Planned {
    fn of(plan: &PropertyPlan<'_>, application: &Application) -> Planned {
        let of_plan = plan.applications.iter().find(|one| one.name == application.name);
        let mut planned = Planned::nothing(plan.property.clone());
        planned.findings = plan.findings.clone();
        let stop = &mut planned.stop;
        let Some(done) = of_plan else {
            let reason = "has none of the zones that the application is for".to_owned();
            stop.skipped.push(("all turf".to_owned(), reason));
            return planned;
        };
        // What stops another application of the job is no matter of this day.
        stop.refused = done.refusals();
        planned.crossed = done.crossed_caution();
        planned.cautions = done.cautions.clone();
        stop.treated = done.zones.iter().map(|zone| zone.treated).sum();
        if !done.zones.is_empty() {
            stop.amounts = done.totals.clone();
            stop.spray_volume = done.spray_volume;
        }
        stop.setbacks = each_once(done);
        stop.without_setback = done.without_setback.clone();
        let skipped = done.skipped.iter().filter(|zone| !zone.refused);
        stop.skipped = skipped.map(|zone| (zone.zone.clone(), zone.reason.clone())).collect();
        stop.undosed = done.zones.is_empty() && stop.refused.is_empty();
        planned.zones = done.dosed.clone();
        planned
    }

    fn nothing(property: String) -> Planned {
        let stop = Stop {
            number: 0,
            property,
            treated: Area::ZERO,
            amounts: Vec::new(),
            spray_volume: None,
            setbacks: Vec::new(),
            without_setback: Vec::new(),
            skipped: Vec::new(),
            refused: Vec::new(),
            undosed: false,
        };
        Planned {
            findings: Vec::new(),
            crossed: None,
            cautions: Vec::new(),
            stop,
            zones: Vec::new(),
        }
    }
}

/// The distances kept by an application: those of zones that are treated, each feature once.
fn each_once(plan: &ApplicationPlan<'_>) -> Vec<AppliedSetback> {
    let mut kept: Vec<AppliedSetback> = Vec::new();
    let all = plan.zones.iter().flat_map(|zone| &zone.setbacks);
    for setback in all.filter(|setback| setback.distance > Length::ZERO) {
        if !kept.contains(setback) {
            kept.push(setback.clone());
        }
    }
    kept
}

/// Zones of a stop in the order in which one tank treats them.
fn in_turn(zones: Vec<DosedZone>, in_tank: Option<&DosedZone>) -> Vec<DosedZone> {
    let mut strengths: Vec<Vec<DosedZone>> = Vec::new();
    for zone in zones {
        let known = strengths
            .iter_mut()
            .find(|group| group.first().is_some_and(|first| first.is_of_one_strength_with(&zone)));
        match known {
            Some(group) => group.push(zone),
            None => strengths.push(vec![zone]),
        }
    }
    let goes_on = |group: &Vec<DosedZone>| {
        let same =
            in_tank.zip(group.first()).map(|(tank, zone)| tank.is_of_one_strength_with(zone));
        same != Some(true)
    };
    // Stable: `false` comes first.
    strengths.sort_by_key(goes_on);
    strengths.into_iter().flatten().collect()
}

impl DaySheet<'_> {
    /// What is treated in all.
    pub fn treated(&self) -> Area {
        self.zones.iter().map(|zone| zone.treated).sum()
    }

    /// True where every stop can be done as a whole.
    pub fn is_whole(&self) -> bool {
        self.refusals.is_empty()
            && self.stops.iter().all(|stop| stop.refused.is_empty() && !stop.undosed)
    }

    /// The loads of the day in their order, numbered from 1, each with its batch.
    pub fn loads(&self) -> impl Iterator<Item = (usize, &Batch, &turfplat_dose::Load)> {
        let loads =
            self.batches.iter().flat_map(|batch| batch.loads.iter().map(move |load| (batch, load)));
        (1..).zip(loads).map(|(number, (batch, load))| (number, batch, load))
    }

    /// The loads that a stop is treated from, by their numbers on the day.
    pub fn loads_of(&self, stop: &Stop) -> Vec<usize> {
        let serves = |load: &turfplat_dose::Load| {
            load.covers.iter().any(|cover| {
                self.zones.get(cover.index).is_some_and(|zone| zone.stop == stop.number)
            })
        };
        self.loads().filter(|(_, _, load)| serves(load)).map(|(number, ..)| number).collect()
    }

    /// What each load covers, in the order of the day: the zone, and how much of its ground.
    pub fn served<'l>(
        &'l self,
        load: &'l turfplat_dose::Load,
    ) -> impl Iterator<Item = (&'l StopZone, Area)> {
        let covers = load.covers.iter();
        covers.filter_map(|cover| Some((self.zones.get(cover.index)?, cover.area)))
    }
}
