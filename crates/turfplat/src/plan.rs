use std::collections::BTreeMap;

use geo::Coord;
use rayon::prelude::*;
use turfplat_dose::{
    Batch, Dose, DosedProduct, Equipment, Product, Setback, Skipped, Species, cautions, dose,
    mixing_distance,
};
use turfplat_map::{Kind, PropertyMap};
use turfplat_measure::{Ground, Plane};
use turfplat_units::{Amount, Area, Length, UnitSystem};

use crate::finding::Finding;
use crate::job::{Application, Job, JobError};
use crate::join::{Grass, grass, to_treat};
use crate::neighbourhood::Neighbourhood;
use crate::plat::{Loss, PlatZone, beyond_lot, property_name, setback_findings};
use crate::refusal::{Refusal, stops, stops_everything};
use crate::setbacks::{ByKind, SetbackSource, kept_from};
use crate::site::{Lawns, Site, lawns};

/// What to plan with, beside the job.
#[derive(Clone, Debug, Default)]
pub struct PlanOptions {
    /// Turf beyond the lot line is lost, rather than a finding.
    pub within_parcel: bool,
}

/// What is to be done on one property.
pub struct PropertyPlan<'a> {
    /// The property's id, or the name of a map that is one property.
    pub property: String,
    /// Zones with features taken out, before any setback.
    pub zones: Vec<PlatZone>,
    /// In the order of the job.
    pub applications: Vec<ApplicationPlan<'a>>,
    /// What should be seen.
    pub findings: Vec<Finding>,
    /// What to mind; these replace no label.
    pub cautions: Vec<String>,
    pub(crate) site: Site<'a>,
    pub(crate) id: Option<&'a str>,
    pub(crate) within_parcel: bool,
}

/// One trip on one property.
pub struct ApplicationPlan<'a> {
    /// Its name in the job.
    pub name: &'a str,
    /// The tank mix.
    pub products: Vec<&'a Product>,
    /// With what.
    pub equipment: &'a Equipment,
    /// What is treated, in file order.
    pub zones: Vec<TreatedZone>,
    /// What is not, and why.
    pub skipped: Vec<Skipped>,
    /// Of each product in all, in the order of the products.
    pub totals: Vec<Amount>,
    /// Water and products in all; `None` of a spreader.
    pub spray_volume: Option<Amount>,
    /// Water in all; `None` of a spreader.
    pub water: Option<Amount>,
    /// One for each strength of mix.
    pub batches: Vec<Batch>,
    /// Hazards near a zone from which no distance is kept.
    pub without_setback: Vec<String>,
    pub(crate) setbacks: Vec<Option<Setback>>,
    /// Zones of this application, by their place in the property's zones, each with its grass.
    pub(crate) members: Vec<(usize, Vec<&'static Species>)>,
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
}

/// A distance that was kept, and who asked for it.
#[derive(Clone, Debug, PartialEq)]
pub struct AppliedSetback {
    /// The kind of the feature.
    pub to: Kind,
    /// The feature's name.
    pub feature: String,
    /// How far; what a well's position may be off comes on top.
    pub distance: Length,
    /// Who asked for the largest distance, which governs.
    pub rule: String,
    /// True where nobody chose one and the tool's default stood in.
    pub is_default: bool,
}

/// Plans the job on every property of the map that may be used, in file order.
///
/// # Errors
///
/// [`JobError::UnknownZone`] for a job that names a zone found nowhere. A property for which an
/// application cannot be done is refused as a whole and listed among the refusals.
pub fn plan<'a>(
    map: &'a PropertyMap,
    job: &'a Job,
    options: &PlanOptions,
) -> Result<(Vec<PropertyPlan<'a>>, Vec<Refusal>), JobError> {
    if stops_everything(map) {
        return Ok((Vec::new(), Vec::new()));
    }
    job.check_zones(map)?;
    let nothing = ByKind::new();
    let all: Vec<&Application> = job.applications.iter().collect();
    let widest = SetbackSource::of_applications(job, &all, &nothing);
    // The mix-site is held against wells and water farther off than any setback reaches.
    let mixing = |kind: Kind| {
        mixing_distance(kind.name(), &job.jurisdictions)
            .map_or(Length::ZERO, |(distance, _)| distance)
    };
    let neighbourhood = Neighbourhood::of(map, |feature| {
        let setback = widest.of(feature).map_or(Length::ZERO, |setback| setback.distance);
        setback
            .max(feature.veg_strip.unwrap_or_default())
            .max(mixing(feature.kind))
            .max(nearby(feature.kind))
    });
    let lawns = lawns(map);
    let planned: Vec<Result<PropertyPlan<'a>, Refusal>> = lawns
        .par_iter()
        .filter(|lawns| !stops(map, lawns.property))
        .filter_map(|lawns| {
            Site::lay(map, lawns, &neighbourhood)
                .map(|site| PropertyPlan::of(map, job, lawns, site, options))
        })
        .collect();
    let mut plans = Vec::new();
    let mut refusals = Vec::new();
    for result in planned {
        match result {
            Ok(plan) => plans.push(plan),
            Err(refusal) => refusals.push(refusal),
        }
    }
    Ok((plans, refusals))
}

/// A mix-site on the edge of the property is looked at too.
fn nearby(kind: Kind) -> Length {
    let feet = if kind == Kind::MixSite { 200.0 } else { 0.0 };
    Length::from_feet(feet).unwrap_or_default()
}

impl<'a> PropertyPlan<'a> {
    fn of(
        map: &'a PropertyMap,
        job: &'a Job,
        lawns: &Lawns<'a>,
        site: Site<'a>,
        options: &PlanOptions,
    ) -> Result<PropertyPlan<'a>, Refusal> {
        let none = vec![None; site.features.len()];
        let zones = site.account(&none, lawns.property, false);
        let mut findings = site.findings(map, lawns.property);
        let grasses: Vec<Grass> =
            site.zones.iter().map(|laid| grass(laid.feature, job, &mut findings)).collect();
        findings.extend(crate::plat::loss_findings(&site, &zones));
        if !options.within_parcel {
            findings.extend(beyond_lot(&site, lawns.property));
        }
        findings.extend(mix_site_findings(&site, job));
        let property = property_name(lawns, job.name.as_deref());
        let mut applications = Vec::new();
        let mut reasons = Vec::new();
        for application in &job.applications {
            match ApplicationPlan::of(application, job, lawns, &site, &grasses, options) {
                Ok(Some(plan)) => {
                    for finding in setback_findings(&site, &plan.setbacks) {
                        if !findings.contains(&finding) {
                            findings.push(finding);
                        }
                    }
                    applications.push(plan);
                }
                Ok(None) => {}
                Err(error) => reasons.push(format!("application {:?}: {error}", application.name)),
            }
        }
        if !reasons.is_empty() {
            return Err(Refusal { property: Some(property), reasons });
        }
        let mut products: BTreeMap<&str, &Product> = BTreeMap::new();
        for product in applications.iter().flat_map(|application| &application.products) {
            products.insert(&product.id, product);
        }
        let cautions = cautions(&products.into_values().collect::<Vec<_>>());
        let (id, within_parcel) = (lawns.property, options.within_parcel);
        Ok(PropertyPlan {
            property,
            zones,
            applications,
            findings,
            cautions,
            site,
            id,
            within_parcel,
        })
    }

    /// Longitude and latitude of the centre of the plane; `None` of a map on a plane of its own.
    pub fn centre(&self) -> Option<Coord<f64>> {
        self.site.centre
    }

    /// The plane that the property was measured on.
    pub fn plane(&self) -> &Plane {
        &self.site.plane
    }

    /// The outline of what `application` treats of one of its zones: never more than is dosed.
    pub fn outline(&self, application: &ApplicationPlan<'_>, zone: &TreatedZone) -> Ground {
        self.site.outline(zone.index, &application.setbacks, self.id, self.within_parcel)
    }
}

impl<'a> ApplicationPlan<'a> {
    /// `None` where the property has none of the zones that the application is for.
    fn of(
        application: &'a Application,
        job: &'a Job,
        lawns: &Lawns<'_>,
        site: &Site<'_>,
        grasses: &[Grass],
        options: &PlanOptions,
    ) -> Result<Option<ApplicationPlan<'a>>, turfplat_dose::DoseError> {
        let nothing = ByKind::new();
        let source = SetbackSource::of_applications(job, &[application], &nothing);
        let setbacks: Vec<Option<Setback>> =
            site.features.iter().map(|laid| source.of(laid.feature)).collect();
        let accounts = site.account(&setbacks, lawns.property, options.within_parcel);
        let is_member = |zone: &str| {
            application.zones.as_ref().is_none_or(|zones| zones.iter().any(|name| name == zone))
        };
        let members: Vec<usize> = (0..site.zones.len())
            .filter(|&index| is_member(&site.zones[index].feature.name))
            .collect();
        if members.is_empty() {
            return Ok(None);
        }
        let to_treat: Vec<_> = members
            .iter()
            .map(|&index| to_treat(site.zones[index].feature, &grasses[index], accounts[index].net))
            .collect();
        let chosen: Vec<_> =
            application.products.iter().map(|product| product.chosen.clone()).collect();
        let Dose { zones, skipped, totals, spray_volume, water, batches } =
            dose(&to_treat, &chosen, &application.equipment)?;
        let zones = zones
            .into_iter()
            .map(|dosed| {
                let index = members[dosed.index];
                TreatedZone {
                    index,
                    zone: dosed.zone,
                    species: grasses[index].species.clone(),
                    treated: accounts[index].net,
                    lost: accounts[index].lost.clone(),
                    batch: dosed.batch,
                    spray_volume: dosed.spray_volume,
                    products: dosed.products,
                    setbacks: site.applied(index, &setbacks),
                }
            })
            .collect();
        let without_setback = site
            .without_setback(&setbacks)
            .iter()
            .map(|feature| format!("{} {:?}", feature.kind, feature.name))
            .collect();
        Ok(Some(ApplicationPlan {
            name: &application.name,
            products: application.products.iter().map(|product| &product.chosen.product).collect(),
            equipment: &application.equipment,
            zones,
            skipped,
            totals,
            spray_volume,
            water,
            batches,
            without_setback,
            setbacks,
            members: members
                .into_iter()
                .map(|index| (index, grasses[index].species.clone()))
                .collect(),
        }))
    }
}

impl Site<'_> {
    /// The distances kept from what is within its own distance of the zone at `index`.
    fn applied(&self, index: usize, setbacks: &[Option<Setback>]) -> Vec<AppliedSetback> {
        let zone = &self.zones[index].shape;
        let in_reach = self.features.iter().zip(setbacks).filter_map(|(laid, setback)| {
            let setback = setback.as_ref()?;
            let reach = kept_from(laid.feature, setback.distance).metres();
            let near = zone.distance_to(&laid.shape).is_some_and(|metres| metres < reach);
            near.then(|| AppliedSetback {
                to: laid.feature.kind,
                feature: laid.feature.name.clone(),
                distance: setback.distance,
                rule: setback.rule.clone(),
                is_default: setback.is_default,
            })
        });
        in_reach.collect()
    }
}

/// A mix-site nearer to a well or to water than the law of the place allows.
fn mix_site_findings(site: &Site<'_>, job: &Job) -> Vec<Finding> {
    let mut findings = Vec::new();
    for mix_site in site.features.iter().filter(|laid| laid.feature.kind == Kind::MixSite) {
        for hazard in site.features.iter().filter(|laid| laid.feature.kind.is_hazard()) {
            let Some((distance, rule)) =
                mixing_distance(hazard.feature.kind.name(), &job.jurisdictions)
            else {
                continue;
            };
            let needed = kept_from(hazard.feature, distance).metres();
            let Some(apart) =
                mix_site.shape.distance_to(&hazard.shape).filter(|apart| *apart < needed)
            else {
                continue;
            };
            let apart = Length::from_metres(apart).unwrap_or_default();
            let message = format!(
                "tanks are filled {} from {} {:?}; {} asks for {}: move it",
                apart.print(UnitSystem::Us),
                hazard.feature.kind,
                hazard.feature.name,
                rule.citation(),
                distance.print(UnitSystem::Us),
            );
            findings.push(Finding::of(mix_site.feature, "mix-site-near", message, 0.0));
        }
    }
    findings
}
