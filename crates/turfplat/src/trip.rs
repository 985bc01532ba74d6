//! Why a trip is settled before it is dosed: what is given on one day leaves less of a year for
//! the next, so each must know what the others would put down on the same ground.

use turfplat_dose::{
    Batch, Day, Dose, Equipment, Load, LoadProduct, Occasion, Product, Put, RATE_TOLERANCE,
    Setback, ZoneToTreat, cautions, dose_on,
};
use turfplat_units::{Amount, Area, Rate, UnitSystem, decimal};

use crate::finding::Finding;
use crate::job::{Application, Job};
use crate::join::{Grass, to_treat};
use crate::plan::{ApplicationPlan, Near, SkippedZone, TreatedZone};
use crate::plat::{PlatZone, loss_findings, setback_findings};
use crate::print::Print;
use crate::site::Site;
use crate::wind::Drift;

/// One application on one property, before it is dosed.
pub(crate) struct Trip<'a> {
    application: &'a Application,
    pub(crate) day: Option<Day>,
    setbacks: Vec<Option<Setback>>,
    drifts: Vec<Option<Drift>>,
    accounts: Vec<PlatZone>,
    /// The places of its zones, in walking order.
    members: Vec<usize>,
    to_treat: Vec<ZoneToTreat>,
}

impl<'a> Trip<'a> {
    pub(crate) fn of(
        application: &'a Application,
        plan_day: Option<Day>,
        site: &Site,
        grasses: &[Grass],
        (setbacks, drifts): (Vec<Option<Setback>>, Vec<Option<Drift>>),
        accounts: &[PlatZone],
    ) -> Trip<'a> {
        let members = walking_order(application, site);
        let to_treat = members.iter().map(|&index| {
            to_treat(&site.zones[index].feature, &grasses[index], accounts[index].net)
        });
        Trip {
            application,
            day: application.day.or(plan_day),
            setbacks,
            drifts,
            accounts: accounts.to_vec(),
            to_treat: to_treat.collect(),
            members,
        }
    }

    fn put(&self, product: &'a Product, rate: Rate) -> Put<'a> {
        let what = format!("application {:?}", self.application.name);
        Put { day: self.day, product, rate, what }
    }

    /// What it would put down on a zone of the property by its rates.
    fn asked_on(&self, index: usize) -> impl Iterator<Item = Put<'a>> {
        let member = self.members.iter().position(|&member| member == index);
        let zone = member.and_then(|member| self.to_treat.get(member));
        let products = self.application.products.iter().filter(|it| it.label_checked.is_some());
        let puts = products.filter_map(move |chosen| {
            let rate = chosen.rate_on(&zone?.species)?;
            Some(self.put(&chosen.product, rate))
        });
        puts.collect::<Vec<_>>().into_iter()
    }

    /// What else its zones get, with what of `given` lies on them and what is to come `later`.
    pub(crate) fn occasion<'o>(
        &self,
        job: &'o Job,
        given: &[Vec<Put<'o>>],
        later: impl Iterator<Item = &'o Trip<'a>> + Clone,
    ) -> Occasion<'o>
    where
        'a: 'o,
    {
        let still_to_come = |index: usize| later.clone().flat_map(move |trip| trip.asked_on(index));
        Occasion {
            day: self.day,
            has_history: job.is_told_of_before(),
            places: &job.jurisdictions,
            earlier: self.members.iter().map(|&index| given[index].clone()).collect(),
            later: self.members.iter().map(|&index| still_to_come(index).collect()).collect(),
        }
    }

    /// The plan, what it puts down by zone, and what should be seen of it; `None` where the
    /// property has none of the zones that the application is for.
    pub(crate) fn plan(
        &self,
        site: &Site,
        grasses: &[Grass],
        occasion: &Occasion<'_>,
        near: &[Vec<Near>],
    ) -> Result<Option<TripPlan<'a>>, String> {
        let Trip { application, day, setbacks, drifts, accounts, members, to_treat } = self;
        let application: &'a Application = application;
        if members.is_empty() {
            return Ok(None);
        }
        let dosed = dose_on(occasion, to_treat, &application.products, &application.equipment)
            .map_err(|error| format!("application {:?}: {error}", application.name))?;
        let mut puts: Vec<(usize, Put<'a>)> = Vec::new();
        for zone in &dosed.zones {
            let rates = dosed.at_most_on(zone);
            for (chosen, rate) in application.products.iter().zip(rates) {
                puts.push((members[zone.index], self.put(&chosen.product, rate)));
            }
        }
        let Dose { zones, skipped, limits, totals, spray_volume, water, batches } = dosed;
        let as_dosed = zones.clone();
        let applied = |index: usize| {
            let mut applied = site.applied(&near[index], setbacks);
            applied.extend(site.kept_for_wind(index, drifts));
            applied
        };
        let zones: Vec<TreatedZone> = zones
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
                    setbacks: applied(index),
                    drawn_error: accounts[index].drawn_error,
                }
            })
            .collect();
        let skipped = skipped
            .into_iter()
            .map(|skipped| {
                let index = members[skipped.index];
                SkippedZone {
                    index,
                    zone: skipped.zone,
                    species: grasses[index].species.clone(),
                    reason: skipped.reason,
                    advice: skipped.advice,
                    refused: skipped.refused,
                    awaits_label: skipped.awaits_label,
                    left: accounts[index].net,
                    lost: accounts[index].lost.clone(),
                    setbacks: applied(index),
                }
            })
            .collect();
        let mut findings = setback_findings(site, setbacks);
        findings.extend(loss_findings(site, accounts));
        findings.extend(condition_findings(application, site, &zones, to_treat));
        findings.extend(measuring_findings(application, site, members, &batches));
        findings.extend(lifted_findings(application, site, &zones));
        findings.extend(unmarked_findings(application, site, &zones));
        findings.extend(drawing_findings(application, site, &zones));
        let without_setback = site
            .without_setback(setbacks)
            .iter()
            .map(|unkept| format!("{} {:?}", unkept.kind, unkept.feature))
            .collect();
        let plan = ApplicationPlan {
            name: &application.name,
            day: *day,
            products: application.products.iter().map(|chosen| &chosen.product).collect(),
            equipment: &application.equipment,
            zones,
            skipped,
            limits,
            totals,
            spray_volume,
            water,
            batches,
            walking: None,
            walks: Vec::new(),
            without_setback,
            setbacks: setbacks.clone(),
            drifts: drifts.clone(),
            wind: None,
            dosed: as_dosed,
            cautions: cautions(
                &application.products.iter().map(|chosen| &chosen.product).collect::<Vec<_>>(),
                occasion.places,
            ),
        };
        Ok(Some((plan, puts, findings)))
    }
}

/// A plan, what it puts down by zone, and what should be seen of it.
pub(crate) type TripPlan<'a> = (ApplicationPlan<'a>, Vec<(usize, Put<'a>)>, Vec<Finding>);

/// The places of the zones that an application is for, in the order in which it names them, else
/// in that of the map. A zone named twice is walked once.
pub(crate) fn walking_order(application: &Application, site: &Site) -> Vec<usize> {
    let all = 0..site.zones.len();
    let Some(names) = &application.zones else { return all.collect() };
    let mut order: Vec<usize> = Vec::new();
    for name in names {
        let of_name = all.clone().filter(|&index| site.zones[index].feature.name == *name);
        for index in of_name {
            if !order.contains(&index) {
                order.push(index);
            }
        }
    }
    order
}

/// Zones in a state of which a product file does not say whether it may be treated.
fn condition_findings(
    application: &Application,
    site: &Site,
    zones: &[TreatedZone],
    to_treat: &[ZoneToTreat],
) -> Vec<Finding> {
    let mut findings = Vec::new();
    for zone in zones {
        let feature = &site.zones[zone.index].feature;
        let Some(of_zone) = to_treat.iter().find(|it| it.name == zone.zone) else { continue };
        let condition = of_zone.condition;
        let silent = application.products.iter().map(|chosen| &chosen.product);
        let silent: Vec<&str> = silent
            .filter(|product| product.says_nothing_of(condition))
            .map(|product| product.id.as_str())
            .collect();
        if !silent.is_empty() {
            let message = format!(
                "application {:?}: turf condition: not stated for {condition} turf in the product file of {}; it was dosed: read the label, and add [[unfit]] to the product file if it says no",
                application.name,
                silent.join(" and "),
            );
            let area = zone.treated.square_metres();
            findings.push(Finding::of(feature, "condition-not-stated", message, area));
        }
    }
    findings
}

/// Of loads the one that measuring puts farthest off its rate, if that is beyond the trade's tolerance.
pub(crate) fn beyond_tolerance(loads: &[Load]) -> Option<(&Load, &LoadProduct)> {
    let all = loads
        .iter()
        .flat_map(|load| load.mixed_products().iter().map(move |product| (load, product)));
    let worst = all.max_by(|(_, a), (_, b)| a.error.abs().total_cmp(&b.error.abs()));
    worst.filter(|(_, product)| product.error.abs() > RATE_TOLERANCE)
}

/// What is said of it.
pub(crate) fn measured_off(application: &str, place: &str, product: &LoadProduct) -> String {
    let finer = match product.exact {
        Amount::Volume(_) => "mL",
        Amount::Mass(_) => "g or oz wt",
    };
    format!(
        "application {application:?}, {place}: measuring puts {}{} off its rate, beyond the usual ±5 %; use a finer measure, in {finer}",
        product.product,
        Print(UnitSystem::Us).measuring_error(product.error),
    )
}

/// Loads that the user's measure puts beyond the trade's tolerance.
fn measuring_findings(
    application: &Application,
    site: &Site,
    members: &[usize],
    batches: &[Batch],
) -> Vec<Finding> {
    let mut findings = Vec::new();
    for batch in batches {
        let Some((load, product)) = beyond_tolerance(&batch.loads) else { continue };
        let Some(cover) = load.covers.first() else { continue };
        let place = format!("batch {}, load {}", batch.number, load.number);
        let message = measured_off(&application.name, &place, product);
        findings.push(Finding::of(
            &site.zones[members[cover.index]].feature,
            "measuring-error",
            message,
            0.0,
        ));
    }
    findings
}

/// Rates that are dosed on the user's word alone.
fn lifted_findings(application: &Application, site: &Site, zones: &[TreatedZone]) -> Vec<Finding> {
    let of_zone = |zone: &TreatedZone| {
        let both = zone.products.iter().zip(&application.products);
        let told = both.filter_map(|(dosed, chosen)| {
            let doubt = chosen.product.lifted_doubt(&zone.species, dosed.rate)?;
            let reason = chosen.product.rate_is_right.as_deref().unwrap_or_default();
            let message = format!(
                "application {:?}: {}: {doubt}; it is dosed all the same, for rate_is_right says: {reason:?}; hold it against the label before mixing",
                application.name, dosed.product,
            );
            let area = zone.treated.square_metres();
            Some(Finding::of(&site.zones[zone.index].feature, "rate-on-your-word", message, area))
        });
        told.collect::<Vec<_>>()
    };
    zones.iter().flat_map(of_zone).collect()
}

/// Products that no mark of the equipment measures, where others have one.
fn unmarked_findings(
    application: &Application,
    site: &Site,
    zones: &[TreatedZone],
) -> Vec<Finding> {
    let Some(zone) = zones.first() else { return Vec::new() };
    let unmarked = zone.products.iter().filter_map(|dosed| {
        let what = no_mark(&application.equipment, dosed.amount)?;
        let message = format!("application {:?}: {}: {what}", application.name, dosed.product);
        Some(Finding::of(&site.zones[zone.index].feature, "no-mark", message, 0.0))
    });
    unmarked.collect()
}

/// What is said where marks are given and none of them measures `amount`.
pub(crate) fn no_mark(equipment: &Equipment, amount: Amount) -> Option<&'static str> {
    equipment.lacks_mark_for(amount).then_some(match amount {
        Amount::Mass(_) => "no mark for weights given: weigh exactly",
        Amount::Volume(_) => "no mark for volumes given: measure exactly",
    })
}

/// Zones whose drawing may put the dose beyond the trade's tolerance.
fn drawing_findings(application: &Application, site: &Site, zones: &[TreatedZone]) -> Vec<Finding> {
    let beyond = zones.iter().filter_map(|zone| {
        let (ratio, error) = zone.dose_error().zip(zone.drawn_error)?;
        let percent = |area: Area| {
            decimal(100.0 * area.square_metres() / zone.treated.square_metres(), 1)
        };
        let print = Print(UnitSystem::Us);
        let amounts = zone.products.iter().map(|dosed| {
            format!("{} of {}", print.product(dosed.amount.times(ratio)), dosed.product)
        });
        let message = format!(
            "application {:?}: as it is drawn, the treated area may be off by {} % if every edge is off the same way, and by {} % if each corner is off on its own; that is {} too much or too little, beyond the usual ±5 %: measure the zone on the ground, or draw it on a sharper picture",
            application.name,
            percent(error.together),
            percent(error.independent),
            amounts.collect::<Vec<_>>().join(" and "),
        );
        let larger = ratio * zone.treated.square_metres();
        (ratio > RATE_TOLERANCE).then(|| {
            Finding::of(&site.zones[zone.index].feature, "drawing-error", message, larger)
        })
    });
    beyond.collect()
}
