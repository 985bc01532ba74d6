//! Map and job worked out: setbacks, doses and loads for each application of each property.

use std::collections::{BTreeMap, HashSet};

use geo::Coord;
use turfplat_dose::{
    Batch, Checked, Day, DosedProduct, DosedZone, Equipment, PostingRule, Product, Purchase, Put,
    Setback, Species, cautions, mixing_distance,
};
use turfplat_map::{Kind, PropertyMap, PropertyRef};
use turfplat_measure::{DrawnError, Ground, Plane};
use turfplat_units::{Amount, Area, Length, UnitSystem};

use crate::buying::purchases;
use crate::finding::Finding;
use crate::history::{LaidTreatment, laid};
use crate::job::{Application, Job};
use crate::job_error::JobError;
use crate::join::{Grass, grass};
use crate::made_from::MadeFrom;
use crate::plat::{Asked, Loss, PlatZone, each_property, loss_findings, lot_findings, no_lot};
use crate::refusal::{Refusal, refusals};
use crate::setbacks::{ByKind, SetbackSource, kept_from, position_error, told_within};
use crate::site::{Laid, MixSite, Site};
use crate::taking::Keeping;
use crate::trip::{Trip, no_mark};
use crate::walking::{LoadMark, Walking, ZoneWalk};
use crate::wind::{Drift, Wind, WindFrom, drifts, wind_findings, wrong_wind};

/// What to plan with, beside the job.
#[derive(Clone, Debug, Default)]
pub struct PlanOptions {
    /// Turf beyond the lot line is lost, rather than a finding.
    pub within_parcel: bool,
    /// The day of the plan, as 2026-06-08, if it is known: no label is checked after it, and
    /// applications without a day of their own are done on it.
    pub date: Option<String>,
    /// The id of the one property to plan; every property without it.
    pub property: Option<String>,
    /// How far off the corners of features may be that do not say so themselves: the standard
    /// deviation of each, east and north alike.
    pub drawn_to: Option<Length>,
    /// A pass along all edges first, where a swath is given, whatever the job says.
    pub edge_first: bool,
    /// The wind of the hour in which it is sprayed, for which the labels' drift buffers are kept too.
    pub wind: Option<Wind>,
    /// The files that it is made of, to stand in its documents.
    pub made_from: Vec<MadeFrom>,
}

/// What is to be done on one property.
pub struct PropertyPlan<'a> {
    /// The property's id, or the name of a map that is one property.
    pub property: String,
    /// Ids of the places whose rules apply.
    pub places: &'a [String],
    /// Applied for hire; `None` where the job does not say.
    pub hired: Option<bool>,
    /// The files that it is made of, as far as they were named.
    pub made_from: Vec<MadeFrom>,
    /// Zones with features taken out, before any setback.
    pub zones: Vec<PlatZone>,
    /// In the order of the job.
    pub applications: Vec<ApplicationPlan<'a>>,
    /// What to buy of each product, for all applications together.
    pub purchases: Vec<Purchase>,
    /// What should be seen.
    pub findings: Vec<Finding>,
    /// What to mind; these replace no label.
    pub cautions: Vec<String>,
    /// What has been put down already, as it lies on the ground.
    pub history: Vec<LaidTreatment<'a>>,
    /// What gets nothing for a limit that would be exceeded: application, zones, limit, what was
    /// asked, what is allowed, and the cure. The rest of the plan holds.
    pub refused: Vec<String>,
    pub(crate) site: Site,
    pub(crate) within_parcel: bool,
    /// The posting rule of the job's place, where one is known.
    pub(crate) posting: Option<&'static PostingRule>,
}

/// One trip on one property.
pub struct ApplicationPlan<'a> {
    /// Its name in the job.
    pub name: &'a str,
    /// The day on which it is done, if it is known.
    pub day: Option<Day>,
    /// The tank mix.
    pub products: Vec<&'a Product>,
    /// With what.
    pub equipment: &'a Equipment,
    /// What is treated, in walking order: that of the application's zones, else of the map.
    pub zones: Vec<TreatedZone>,
    /// What is not, and why.
    pub skipped: Vec<SkippedZone>,
    /// Every limit that was asked for, zone by zone.
    pub limits: Vec<Checked>,
    /// Of each product in all, in the order of the products.
    pub totals: Vec<Amount>,
    /// Water and products in all; `None` of a spreader.
    pub spray_volume: Option<Amount>,
    /// Water in all; `None` of a spreader.
    pub water: Option<Amount>,
    /// One for each strength of mix.
    pub batches: Vec<Batch>,
    /// How it is walked; `None` where the equipment gives no swath.
    pub walking: Option<Walking>,
    /// The way over each zone, in walking order: batch by batch. Empty where no swath is given; a
    /// zone over which no way can be laid is missing, and a finding says why.
    pub walks: Vec<ZoneWalk>,
    /// Hazards near a zone from which no distance is kept.
    pub without_setback: Vec<String>,
    /// What to mind of its own products; these replace no label.
    pub cautions: Vec<String>,
    pub(crate) setbacks: Vec<Option<Setback>>,
    pub(crate) drifts: Vec<Option<Drift>>,
    /// The wind of the hour that it is for; `None` where none was asked after.
    pub wind: Option<Wind>,
    /// The zones as they were dosed, from which a day's loads are filled.
    pub(crate) dosed: Vec<DosedZone>,
}

/// One zone in one application.
#[derive(Clone, Debug, PartialEq)]
pub struct TreatedZone {
    /// Its place in the property's zones.
    pub index: usize,
    /// Its name.
    pub zone: String,
    /// Its grasses.
    pub species: Vec<&'static Species>,
    /// What is treated: what is left after setbacks.
    pub treated: Area,
    /// Where the rest went.
    pub lost: Vec<Loss>,
    /// The batch that treats it, from 1.
    pub batch: usize,
    /// Water and products on it; `None` of a spreader.
    pub spray_volume: Option<Amount>,
    /// Of each product, in the order of the products.
    pub products: Vec<DosedProduct>,
    /// The distances kept from what is in reach of it.
    pub setbacks: Vec<AppliedSetback>,
    /// How far off the treated area is for the drawing; `None` where nothing is said of it.
    pub drawn_error: Option<DrawnError>,
}

impl ApplicationPlan<'_> {
    /// What a load is called where it ends, on the map and in tables: `2`, or `1-2` where there are
    /// several batches, each of which counts its own.
    pub(crate) fn flag(&self, mark: &LoadMark) -> String {
        match self.batches.len() {
            1 => mark.load.to_string(),
            _ => format!("{}-{}", mark.batch, mark.load),
        }
    }

    /// What is said of products that no mark of the equipment measures, each with its name.
    pub fn without_mark(&self) -> Vec<String> {
        let all = self.products.iter().zip(&self.totals);
        let unmarked = all.filter_map(|(product, total)| {
            no_mark(self.equipment, *total).map(|what| format!("{}: {what}", product.name))
        });
        unmarked.collect()
    }
}

impl TreatedZone {
    /// What the drawing may do to the dose: the larger of its two errors as a share of the treated
    /// area, by which the ground gets more or less than its rate.
    pub fn dose_error(&self) -> Option<f64> {
        let error = self.drawn_error?;
        let larger = error.independent.square_metres().max(error.together.square_metres());
        (self.treated > Area::ZERO).then(|| larger / self.treated.square_metres())
    }
}

/// One zone that an application was for and that gets nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct SkippedZone {
    /// Its place in the property's zones.
    pub index: usize,
    /// Its name.
    pub zone: String,
    /// Its grasses, as far as they are listed.
    pub species: Vec<&'static Species>,
    /// Why it gets nothing.
    pub reason: String,
    /// What to do about it, and what is published.
    pub advice: String,
    /// True where a limit would be exceeded.
    pub refused: bool,
    /// True where all that is missing is a rate that somebody read on the label.
    pub awaits_label: bool,
    /// What would be treated: what is left after setbacks.
    pub left: Area,
    /// Where its ground went.
    pub lost: Vec<Loss>,
    /// The distances kept from what is in reach of it.
    pub setbacks: Vec<AppliedSetback>,
}

/// A distance that was kept, and who asked for it.
#[derive(Clone, Debug, PartialEq)]
pub struct AppliedSetback {
    /// The kind of the feature.
    pub to: Kind,
    /// The feature's name.
    pub feature: String,
    /// How far.
    pub distance: Length,
    /// What its position may be off, kept on top of the distance.
    pub position: Length,
    /// For what it is kept.
    pub what: KeptFor,
    /// Who asked for the largest distance, which governs.
    pub rule: String,
    /// True where nobody chose one and the tool's default stood in.
    pub is_default: bool,
}

/// For what a distance is kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum KeptFor {
    /// Always, and in all directions.
    Always,
    /// For the wind of the hour: on the side from which it blows, or on all sides of a wind too light to
    /// have a direction.
    Wind(Option<WindFrom>),
}

/// What came of planning a job on a map.
pub struct Planned<'a> {
    /// Every property that could be planned, in file order.
    pub plans: Vec<PropertyPlan<'a>>,
    /// Everything that was refused, with the reasons; a property for which one application
    /// cannot be done is refused as a whole. Where a limit would be exceeded, only the zones that it
    /// is about get nothing: such a property is among the plans too.
    pub refusals: Vec<Refusal>,
}

/// Plans the job on every property of the map that may be used, in file order.
///
/// # Errors
///
/// [`JobError::UnknownZone`] for a job that names a zone found nowhere, and
/// [`JobError::LabelFromTheFuture`] for a label checked after the day of the plan.
pub fn plan<'a>(
    map: &PropertyMap,
    job: &'a Job,
    options: &PlanOptions,
) -> Result<Planned<'a>, JobError> {
    let (mut plans, mut refusals) = (Vec::new(), Vec::new());
    plan_each(
        map,
        job,
        options,
        |plan| plan,
        |done| {
            match done {
                Ok(plan) => {
                    refusals.extend(PropertyPlan::refusal(&plan));
                    plans.push(plan);
                }
                Err(refusal) => refusals.push(refusal),
            }
            Ok::<(), JobError>(())
        },
    )?;
    Ok(Planned { plans, refusals })
}

/// Plans property by property, in file order and in little memory: `look` makes of each plan what
/// is wanted of it, several at once, and `take` is handed one after the other. What of the map is
/// refused as a whole comes first.
///
/// # Errors
///
/// As [`plan`], and the first error of `take`, which ends the planning.
pub fn plan_each<'a, T: Send, E: From<JobError>>(
    map: &PropertyMap,
    job: &'a Job,
    options: &PlanOptions,
    look: impl Fn(PropertyPlan<'a>) -> T + Sync,
    take: impl FnMut(Result<T, Refusal>) -> Result<(), E>,
) -> Result<(), E> {
    let wanted: Vec<PropertyRef> = match &options.property {
        None => map.properties().to_vec(),
        Some(id) => map.properties().iter().copied().filter(|it| map.id(*it) == Some(id)).collect(),
    };
    plan_these(map, job, options, &wanted, look, take)
}

/// As [`plan_each`], of the properties in `wanted` and in its order.
pub(crate) fn plan_these<'a, T: Send, E: From<JobError>>(
    map: &PropertyMap,
    job: &'a Job,
    options: &PlanOptions,
    wanted: &[PropertyRef],
    look: impl Fn(PropertyPlan<'a>) -> T + Sync,
    take: impl FnMut(Result<T, Refusal>) -> Result<(), E>,
) -> Result<(), E> {
    job.check_map(map)?;
    job.check_date(options.date.as_deref())?;
    let several = is_of_several(map);
    job.check_history(options.date.as_deref().and_then(Day::read), several)?;
    let nothing = ByKind::new();
    let all: Vec<&Application> = job.applications.iter().collect();
    let widest =
        SetbackSource::of_applications(job, &all, &nothing).in_wind(options.wind.is_some());
    let work = |property: &str, site: Site| {
        if options.within_parcel && site.lot.is_none() {
            return Err(vec![no_lot(&site)]);
        }
        PropertyPlan::of(property.to_owned(), job, site, options, several).map(&look)
    };
    let asked = Asked { name: job.name.as_deref(), source: &widest, drawn_to: options.drawn_to };
    each_property(map, wanted, &asked, work, take)
}

/// True if turf of more than one property is on the map, refused ones counted.
pub(crate) fn is_of_several(map: &PropertyMap) -> bool {
    let mut ids: HashSet<Option<String>> =
        map.properties().iter().map(|it| map.id(*it).map(str::to_owned)).collect();
    let stopped = refusals(map).into_iter().map(|refusal| refusal.property);
    ids.extend(stopped.filter(Option::is_some));
    ids.len() > 1
}

impl<'a> PropertyPlan<'a> {
    fn of(
        property: String,
        job: &'a Job,
        site: Site,
        options: &PlanOptions,
        several: bool,
    ) -> Result<PropertyPlan<'a>, Vec<String>> {
        // All applications are measured in one sweep, with the site as it is without any.
        let kept: Vec<Vec<Option<Setback>>> =
            job.applications.iter().map(|application| setbacks(application, job, &site)).collect();
        let drifts: Vec<Vec<Option<Drift>>> = (job.applications.iter())
            .map(|application| drifts(application, options.wind, &site))
            .collect();
        let within_lot = options.within_parcel;
        let keepings = (kept.iter().zip(&drifts)).map(|(setbacks, drifts)| Keeping::Distances {
            setbacks,
            drifts,
            within_lot,
        });
        let bare = Keeping::Distances { setbacks: &[], drifts: &[], within_lot: false };
        let keepings: Vec<Keeping<'_>> = [bare, Keeping::Lot].into_iter().chain(keepings).collect();
        let mut accounts = site.accounts(&keepings)?;
        for (zones, keeping) in accounts.iter_mut().zip(&keepings) {
            if let Keeping::Distances { .. } = keeping {
                site.note_drawn_errors(zones, *keeping);
            }
        }
        let mut accounts = accounts.into_iter();
        let zones = accounts.next().unwrap_or_default();
        let beyond_lot = accounts.next().unwrap_or_default();
        let mut findings = site.findings();
        let grasses: Vec<Grass> =
            site.zones.iter().map(|laid| grass(&laid.feature, job, &mut findings)).collect();
        findings.extend(loss_findings(&site, &zones));
        findings.extend(lot_findings(&site, &beyond_lot, options.within_parcel));
        findings.extend(mix_site_findings(&site, job)?);
        let near = site.near(&kept);
        let measured: Vec<Vec<PlatZone>> = accounts.collect();
        let plan_day = options.date.as_deref().and_then(Day::read);
        let (history, of_history) = laid(job, &property, plan_day, &measured, several)?;
        findings.extend(of_history);
        let trips: Vec<Trip<'_>> =
            (job.applications.iter().zip(kept.into_iter().zip(drifts)).zip(&measured))
                .map(|((application, kept), accounts)| {
                    Trip::of(application, plan_day, &site, &grasses, kept, accounts)
                })
                .collect();
        // What is given earlier leaves less of a year for what comes later.
        let mut order: Vec<usize> = (0..trips.len()).collect();
        order.sort_by_key(|&place| trips[place].day);
        let mut done: Vec<(usize, ApplicationPlan<'a>)> = Vec::new();
        let in_wind = |application: &Application| wrong_wind(application, job, options.wind?);
        let mut reasons: Vec<String> = job.applications.iter().filter_map(in_wind).collect();
        let mut refused = Vec::new();
        let mut given: Vec<Vec<Put<'_>>> = vec![Vec::new(); site.zones.len()];
        for treatment in &history {
            treatment.zones.iter().for_each(|&index| given[index].push(treatment.put()));
        }
        for (turn, &place) in order.iter().enumerate() {
            let trip = &trips[place];
            let later = order[turn + 1..].iter().map(|&place| &trips[place]);
            let occasion = trip.occasion(job, &given, later);
            match trip.plan(&site, &grasses, &occasion, &near) {
                Ok(Some((mut plan, puts, mut found))) => {
                    for (index, put) in puts {
                        given[index].push(put);
                    }
                    refused.extend(plan.refusals());
                    let walking = job.applications[place].walking;
                    if let Some(wind) = options.wind {
                        plan.wind = Some(wind);
                        plan.cautions.insert(0, wind.caution(plan.products.iter().copied()));
                        found.extend(wind_findings(&job.applications[place], job, wind, &site));
                    }
                    plan.walking = walking.map(|it| it.with_edge_first(options.edge_first));
                    found.extend(plan.lay_passes(&site, options.within_parcel));
                    for finding in found {
                        if !findings.contains(&finding) {
                            findings.push(finding);
                        }
                    }
                    done.push((place, plan));
                }
                Ok(None) => {}
                Err(reason) => reasons.push(reason),
            }
        }
        if !reasons.is_empty() {
            reasons.extend(refused);
            return Err(reasons);
        }
        done.sort_by_key(|(place, _)| *place);
        let applications: Vec<ApplicationPlan<'a>> =
            done.into_iter().map(|(_, plan)| plan).collect();
        let mut products: BTreeMap<&str, &Product> = BTreeMap::new();
        for product in applications.iter().flat_map(|application| &application.products) {
            products.insert(&product.id, product);
        }
        let products: Vec<&Product> = products.into_values().collect();
        let mut cautions = cautions(&products, &job.jurisdictions);
        cautions.splice(0..0, options.wind.map(|wind| wind.caution(products.iter().copied())));
        Ok(PropertyPlan {
            places: &job.jurisdictions,
            hired: job.hired,
            made_from: options.made_from.clone(),
            property,
            purchases: purchases(job, &applications),
            zones,
            applications,
            findings,
            cautions,
            history,
            refused,
            site,
            within_parcel: options.within_parcel,
            posting: job.posting_rule(),
        })
    }

    /// What of the property gets nothing for a limit; `None` where all limits are kept.
    pub fn refusal(&self) -> Option<Refusal> {
        let property = Some(self.property.clone());
        (!self.refused.is_empty()).then(|| Refusal { property, reasons: self.refused.clone() })
    }

    /// True where anything is put down on the property.
    pub fn doses_anything(&self) -> bool {
        self.applications.iter().any(|application| !application.zones.is_empty())
    }

    /// Longitude and latitude of the centre of the plane; `None` of a map on a plane of its own.
    pub fn centre(&self) -> Option<Coord<f64>> {
        self.site.centre
    }

    /// The plane that the property was measured on.
    pub fn plane(&self) -> &Plane {
        &self.site.plane
    }

    /// The area of its lot; `None` where no lot line is drawn.
    pub fn lot(&self) -> Option<Area> {
        self.site.lot_area()
    }

    /// True where the plane is the map's own, and no degrees are known.
    pub(crate) fn is_on_plane(&self) -> bool {
        self.site.centre.is_none()
    }

    /// The outline of what `application` treats of one of its zones: never more than is dosed.
    pub fn outline(&self, application: &ApplicationPlan<'_>, zone: &TreatedZone) -> Ground {
        self.site.outline(zone.index, application.keeping(self.within_parcel))
    }
}

/// The distances that an application keeps, one for each feature of the site.
pub(crate) fn setbacks(application: &Application, job: &Job, site: &Site) -> Vec<Option<Setback>> {
    let nothing = ByKind::new();
    let source = SetbackSource::of_applications(job, &[application], &nothing);
    site.features.iter().map(|laid| source.of(&laid.feature)).collect()
}

impl ApplicationPlan<'_> {
    /// Why zones get nothing for a limit or a rate that cannot be meant, zones with one reason together.
    pub(crate) fn refusals(&self) -> Vec<String> {
        let mut by_reason: Vec<(&str, Vec<String>)> = Vec::new();
        let of_limits = self.limits.iter().filter_map(|it| Some((it.zone.as_str(), it.refusal()?)));
        let of_limits: Vec<(&str, &str)> = of_limits.collect();
        // Rates that cannot be meant on a grass are no limit of anybody.
        let of_rates = self.skipped.iter().filter(|skipped| skipped.refused);
        let of_rates = of_rates
            .filter(|skipped| of_limits.iter().all(|(zone, _)| *zone != skipped.zone))
            .map(|skipped| (skipped.zone.as_str(), skipped.reason.as_str()));
        for (zone, reason) in of_limits.iter().copied().chain(of_rates) {
            let zone = format!("{zone:?}");
            match by_reason.iter_mut().find(|(known, _)| *known == reason) {
                Some((_, zones)) => zones.push(zone),
                None => by_reason.push((reason, vec![zone])),
            }
        }
        let one = |(reason, zones): (&str, Vec<String>)| {
            let word = if zones.len() == 1 { "zone" } else { "zones" };
            format!("application {:?}, {word} {}: {reason}", self.name, zones.join(", "))
        };
        by_reason.into_iter().map(one).collect()
    }

    /// What it keeps from.
    pub(crate) fn keeping(&self, within_lot: bool) -> Keeping<'_> {
        Keeping::Distances { setbacks: &self.setbacks, drifts: &self.drifts, within_lot }
    }

    /// The distances kept for the zone at `index` of the property, treated or skipped.
    pub(crate) fn kept_of(&self, index: usize) -> &[AppliedSetback] {
        let treated = self.zones.iter().find(|zone| zone.index == index);
        let skipped = || self.skipped.iter().find(|zone| zone.index == index);
        treated
            .map(|zone| &zone.setbacks)
            .or_else(|| Some(&skipped()?.setbacks))
            .map_or(&[], |it| it)
    }

    /// The distances kept for a zone of this application, treated or skipped, by zone name.
    pub fn kept(&self) -> impl Iterator<Item = (&str, &[AppliedSetback])> {
        let treated = self.zones.iter().map(|zone| (zone.zone.as_str(), zone.setbacks.as_slice()));
        treated
            .chain(self.skipped.iter().map(|zone| (zone.zone.as_str(), zone.setbacks.as_slice())))
    }
}

/// A feature near a zone: its place among the features, and how far away it is in metres.
pub(crate) type Near = (usize, f64);

impl Site {
    /// Of each zone what is so near that any of the applications keeps its distance from it.
    fn near(&self, kept: &[Vec<Option<Setback>>]) -> Vec<Vec<Near>> {
        let farthest = self.features.iter().enumerate().map(|(place, laid)| {
            let distances = kept.iter().filter_map(|setbacks| setbacks[place].as_ref());
            let farthest = distances.map(told_within).reduce(Length::max)?;
            Some(kept_from(&laid.feature, farthest))
        });
        let farthest: Vec<Option<Length>> = farthest.collect();
        let of_zone = |zone: &Laid| {
            let features = self.features.iter().zip(&farthest).enumerate();
            let near = features.filter_map(|(place, (laid, farthest))| {
                Some((place, zone.shape.distance_within((*farthest)?, &laid.shape)?))
            });
            near.collect()
        };
        self.zones.iter().map(of_zone).collect()
    }

    /// The distances kept from what is within its own distance of a zone, and those that were
    /// waived or set to nothing of what is near it.
    pub(crate) fn applied(
        &self,
        near: &[Near],
        setbacks: &[Option<Setback>],
    ) -> Vec<AppliedSetback> {
        let in_reach = near.iter().filter_map(|&(place, metres)| {
            let (laid, setback) = (&self.features[place], setbacks[place].as_ref()?);
            (metres < kept_from(&laid.feature, told_within(setback)).metres()).then(|| {
                AppliedSetback {
                    to: laid.feature.kind,
                    feature: laid.feature.name.clone(),
                    distance: setback.distance,
                    position: position_error(&laid.feature),
                    what: KeptFor::Always,
                    rule: setback.rule.clone(),
                    is_default: setback.is_default,
                }
            })
        });
        in_reach.collect()
    }
}

/// Mix-sites of the property nearer to a well or to water than the law of the place allows.
fn mix_site_findings(site: &Site, job: &Job) -> Result<Vec<Finding>, Vec<String>> {
    let mut findings = Vec::new();
    for MixSite { feature: mix_site, hazards } in &site.mix_sites {
        let laid = Laid::on(&site.plane, mix_site.clone())?;
        for hazard in hazards {
            let rule =
                mixing_distance(hazard.kind.name(), &job.jurisdictions, job.hired, &job.rules);
            let Some((distance, rule)) = rule else { continue };
            let apart = laid.shape.distance_to(&Laid::on(&site.plane, hazard.clone())?.shape);
            let Some(apart) = apart.filter(|apart| *apart < kept_from(hazard, distance).metres())
            else {
                continue;
            };
            let message = format!(
                "tanks are filled {} from {} {:?}; {} asks for {}: move it",
                Length::from_metres(apart).unwrap_or_default().print(UnitSystem::Us),
                hazard.kind,
                hazard.name,
                rule.citation(),
                distance.print(UnitSystem::Us),
            );
            findings.push(Finding::of(mix_site, "mix-site-near", message, 0.0));
        }
    }
    Ok(findings)
}
