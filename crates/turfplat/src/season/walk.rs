//! Day by day through a season: what is due is tried, dosed as a plan doses it, and lies on the ground
//! for all that comes after.

use jiff::ToSpan;
use turfplat_dose::{
    Checked, ChosenProduct, Dose, Need, Occasion, Product, Purchase, Put, ZoneToTreat, cautions,
    dose_on,
};
use turfplat_season::Date;
use turfplat_units::Amount;

use super::attempt::{Attempt, attempt};
use super::course::{Course, Reckoning};
use super::lying::Lying;
use super::program::{NotPlanned, PropertySeason, Round, RoundZone};
use super::{date, day};
use crate::buying::sold_in;
use crate::finding::Finding;
use crate::history::{LaidTreatment, laid};
use crate::job::{Application, Job};
use crate::join::{Grass, grass, to_treat};
use crate::plan::setbacks;
use crate::plat::{PlatZone, loss_findings};
use crate::site::Site;
use crate::taking::Keeping;
use crate::trip::walking_order;

/// The season of one property.
pub(super) fn walk(
    property: &str,
    job: &Job,
    site: Site,
    within_lot: bool,
    several: bool,
    reckoning: &Reckoning<'_>,
) -> Result<PropertySeason, Vec<String>> {
    let kept: Vec<_> =
        job.applications.iter().map(|application| setbacks(application, job, &site)).collect();
    let keepings =
        kept.iter().map(|setbacks| Keeping::Distances { setbacks, drifts: &[], within_lot });
    let measured = site.accounts(&keepings.collect::<Vec<_>>())?;
    let mut findings = site.findings();
    let grasses: Vec<Grass> =
        site.zones.iter().map(|laid| grass(&laid.feature, job, &mut findings)).collect();
    let (history, of_history) = laid(job, property, None, &measured, several)?;
    findings.extend(of_history);
    for accounts in &measured {
        for finding in loss_findings(&site, accounts) {
            if !findings.contains(&finding) {
                findings.push(finding);
            }
        }
    }
    let mut ground = Ground::of(job, &site, &grasses, &measured, &history);
    ground.begin(&history, reckoning);
    while let Some((on, place)) = ground.first_due() {
        ground.go(on, place, reckoning);
    }
    Ok(ground.season(property, findings))
}

/// What a property's zones are, and what has been put on them.
struct Ground<'g> {
    job: &'g Job,
    site: &'g Site,
    grasses: &'g [Grass],
    /// By application, then by zone.
    to_treat: Vec<Vec<ZoneToTreat>>,
    given: Vec<Vec<Put<'g>>>,
    courses: Vec<Course>,
    not_planned: Vec<NotPlanned>,
    rounds: Vec<Round>,
    needs: Vec<(&'g Product, Need)>,
    water: Option<Amount>,
    year_limits: Vec<Checked>,
}

/// A group of zones that are dosed together.
struct Group {
    products: Vec<ChosenProduct>,
    /// The places of their courses.
    members: Vec<usize>,
    lowered: Option<String>,
}

impl<'g> Ground<'g> {
    fn of(
        job: &'g Job,
        site: &'g Site,
        grasses: &'g [Grass],
        measured: &[Vec<PlatZone>],
        history: &'g [LaidTreatment<'g>],
    ) -> Ground<'g> {
        let of_zones = |accounts: &Vec<PlatZone>| {
            let zones = site.zones.iter().zip(grasses).zip(accounts);
            zones.map(|((laid, grass), it)| to_treat(&laid.feature, grass, it.net)).collect()
        };
        let mut given: Vec<Vec<Put<'g>>> = vec![Vec::new(); site.zones.len()];
        for treatment in history {
            treatment.zones.iter().for_each(|&index| given[index].push(treatment.put()));
        }
        Ground {
            job,
            site,
            grasses,
            to_treat: measured.iter().map(of_zones).collect(),
            given,
            courses: Vec::new(),
            not_planned: Vec::new(),
            rounds: Vec::new(),
            needs: Vec::new(),
            water: None,
            year_limits: Vec::new(),
        }
    }

    /// Sets the first day of every zone of every application.
    fn begin(&mut self, history: &[LaidTreatment<'_>], reckoning: &Reckoning<'_>) {
        for (place, application) in self.job.applications.iter().enumerate() {
            for index in walking_order(application, self.site) {
                let zone = self.site.zones[index].feature.name.as_str();
                let lying = Lying::on(index, self.job, self.site, history);
                let stand = &self.grasses[index].species;
                let of_application = (place, application);
                let course =
                    Course::of(self.job, of_application, (index, zone), stand, &lying, reckoning);
                match course {
                    Ok(course) => self.courses.push(course),
                    Err(reason) => self.not_planned.push(NotPlanned {
                        application: application.name.clone(),
                        zone: zone.to_owned(),
                        reason,
                        advice: String::new(),
                        refused: true,
                    }),
                }
            }
        }
    }

    /// The first day on which anything is due, and of which application.
    fn first_due(&self) -> Option<(Date, usize)> {
        let due = self.courses.iter().filter_map(|it| Some((it.next.as_ref()?.day, it.place)));
        due.min()
    }

    /// Does what is due of one application on one day.
    fn go(&mut self, on: Date, place: usize, reckoning: &Reckoning<'_>) {
        let application = &self.job.applications[place];
        let is_due = |course: &Course| {
            course.place == place && course.next.as_ref().is_some_and(|due| due.day == on)
        };
        let members: Vec<usize> =
            (0..self.courses.len()).filter(|&member| is_due(&self.courses[member])).collect();
        let mut groups = vec![Group {
            products: application.products.clone(),
            members: Vec::new(),
            lowered: None,
        }];
        for member in members {
            let course = &self.courses[member];
            let occasion = self.occasion(on, &[member], false);
            let zone = &self.to_treat[place][course.index];
            let tried = attempt(
                &occasion,
                zone,
                &application.products,
                &application.equipment,
                course.drops_at_limit,
                reckoning.units,
            );
            match tried {
                Attempt::AtItsRate => groups[0].members.push(member),
                Attempt::Lowered(products, told) => {
                    groups.push(Group { products, members: vec![member], lowered: Some(told) });
                }
                Attempt::Later(days, reason) if application.day.is_none() => {
                    self.courses[member].put_off(days, reason);
                }
                Attempt::Later(days, _) => {
                    let reason = format!(
                        "its date is {days} days too soon after another treatment: give it a later one, or none"
                    );
                    self.never(member, reason, String::new(), true);
                }
                Attempt::Dropped(reason) => self.leave_out(member, on, reason),
                Attempt::Never { reason, advice, refused } => {
                    self.never(member, reason, advice, refused);
                }
            }
        }
        let mut round: Option<Round> = None;
        for group in groups.into_iter().filter(|group| !group.members.is_empty()) {
            self.treat(on, application, group, &mut round, reckoning);
        }
        self.rounds.extend(round);
    }

    /// Leaves a treatment out; the next is tried where what lies there stops counting, too.
    fn leave_out(&mut self, member: usize, on: Date, reason: String) {
        let course = &mut self.courses[member];
        let lying = self.given[course.index].iter().filter_map(|put| date(put.day?));
        // A year begins anew, or twelve months are over; after 29 February a day later.
        let over = lying.map(|day| day.saturating_add(1.year()));
        let over = over.flat_map(|day| [day, day.saturating_add(1.day())]);
        let new_year = Date::new(on.year().saturating_add(1), 1, 1).ok();
        let freed = over.chain(new_year).filter(|day| *day > on).min();
        course.drop_round(reason, freed);
    }

    fn never(&mut self, member: usize, reason: String, advice: String, refused: bool) {
        let course = &mut self.courses[member];
        course.end();
        let (application, zone) = (course.application.clone(), course.zone.clone());
        self.not_planned.push(NotPlanned { application, zone, reason, advice, refused });
    }

    /// What lies on the zones of some courses on a day, and perhaps what is still to come.
    fn occasion(&self, on: Date, members: &[usize], with_later: bool) -> Occasion<'g> {
        let indices = members.iter().map(|&member| self.courses[member].index);
        let later = |(index, &member): (usize, &usize)| {
            let all = self.courses.iter().enumerate().filter(|(_, course)| course.index == index);
            all.flat_map(|(place, course)| self.to_come(course, place == member)).collect()
        };
        Occasion {
            day: day(on),
            has_history: self.job.is_told_of_before(),
            places: &self.job.jurisdictions,
            earlier: indices.clone().map(|index| self.given[index].clone()).collect(),
            later: if with_later {
                indices.zip(members).map(later).collect()
            } else {
                vec![Vec::new(); members.len()]
            },
        }
    }

    /// What a course would still put down by its interval alone.
    fn to_come(&self, course: &Course, is_at_hand: bool) -> Vec<Put<'g>> {
        let application = &self.job.applications[course.place];
        let stand = &self.grasses[course.index].species;
        let mut puts = Vec::new();
        for on in course.to_come(is_at_hand) {
            for chosen in application.products.iter().filter(|it| it.label_checked.is_some()) {
                let Some(rate) = chosen.rate_on(stand) else { continue };
                let what = format!("application {:?}", application.name);
                puts.push(Put { day: Some(on), product: &chosen.product, rate, what });
            }
        }
        puts
    }

    /// Doses a group, and notes what lies on the ground by it.
    fn treat(
        &mut self,
        on: Date,
        application: &'g Application,
        group: Group,
        round: &mut Option<Round>,
        reckoning: &Reckoning<'_>,
    ) {
        let Group { products, members, lowered } = group;
        let place = self.courses[members[0]].place;
        let occasion = self.occasion(on, &members, true);
        let zones: Vec<ZoneToTreat> = members
            .iter()
            .map(|&member| self.to_treat[place][self.courses[member].index].clone())
            .collect();
        let dose = match dose_on(&occasion, &zones, &products, &application.equipment) {
            Ok(dose) => dose,
            Err(error) => {
                for member in members {
                    match &lowered {
                        Some(told) => {
                            self.leave_out(member, on, format!("{told}; {error}"));
                        }
                        None => self.never(member, error.to_string(), String::new(), true),
                    }
                }
                return;
            }
        };
        for skipped in &dose.skipped {
            // Each was tried alone; what is refused together with others has no room for a mark.
            self.leave_out(members[skipped.index], on, skipped.reason.clone());
        }
        if dose.zones.is_empty() {
            return;
        }
        self.note_limits(&dose);
        self.note_needs(application, &dose);
        let round = round.get_or_insert_with(|| Round {
            application: application.name.clone(),
            day: on,
            products: application.products.iter().map(|it| it.product.id.clone()).collect(),
            product_names: application.products.iter().map(|it| it.product.name.clone()).collect(),
            equipment: application.equipment.name.clone(),
            zones: Vec::new(),
            totals: Vec::new(),
            water: None,
            loads: 0,
        });
        round.totals = added(&round.totals, &dose.totals);
        round.water = plus(round.water, dose.water);
        self.water = plus(self.water, dose.water);
        round.loads += dose.batches.iter().map(|batch| batch.loads.len()).sum::<usize>();
        for zone in &dose.zones {
            let member = members[zone.index];
            let course = &mut self.courses[member];
            let due = course.next.as_ref();
            round.zones.push(RoundZone {
                zone: zone.zone.clone(),
                number: course.treatments + 1,
                area: zone.area,
                rates: zone.products.iter().map(|it| it.rate).collect(),
                amounts: zone.products.iter().map(|it| it.amount).collect(),
                because: due.map(|due| due.because.clone()).unwrap_or_default(),
                lowered: lowered.clone(),
                estimate: due.and_then(|due| due.estimate.clone()),
            });
            let rates = dose.at_most_on(zone);
            for (chosen, rate) in application.products.iter().zip(rates) {
                let what = format!("application {:?} on {on}", application.name);
                let put = Put { day: day(on), product: &chosen.product, rate, what };
                self.given[course.index].push(put);
            }
            let stand = &self.grasses[course.index].species;
            course.treated(self.job, application, stand, reckoning);
        }
    }

    /// The last word on each limit of a year.
    fn note_limits(&mut self, dose: &Dose) {
        let of_year = |it: &&Checked| it.limit.ends_with("_per_year") && it.asked.is_some();
        for checked in dose.limits.iter().filter(of_year) {
            let same = |it: &&mut Checked| {
                (&it.zone, &it.product, it.limit, &it.of)
                    == (&checked.zone, &checked.product, checked.limit, &checked.of)
            };
            match self.year_limits.iter_mut().find(same) {
                Some(known) => known.clone_from(checked),
                None => self.year_limits.push(checked.clone()),
            }
        }
    }

    fn note_needs(&mut self, application: &'g Application, dose: &Dose) {
        for (place, chosen) in application.products.iter().enumerate() {
            let Some(need) = Need::of_batches(&dose.batches, place) else { continue };
            let product = &chosen.product;
            match self.needs.iter_mut().find(|(known, _)| known.id == product.id) {
                Some((_, known)) => *known = known.plus(need).unwrap_or(*known),
                None => self.needs.push((product, need)),
            }
        }
    }

    fn season(self, property: &str, findings: Vec<Finding>) -> PropertySeason {
        let products: Vec<&Product> = self.needs.iter().map(|(product, _)| *product).collect();
        let purchase = |(product, need): &(&Product, Need)| {
            Purchase::of(product, sold_in(self.job, product), *need)
        };
        PropertySeason {
            property: property.to_owned(),
            cautions: cautions(&products, &self.job.jurisdictions),
            purchases: self.needs.iter().map(purchase).collect(),
            rounds: self.rounds,
            courses: self.courses,
            not_planned: self.not_planned,
            year_limits: self.year_limits,
            water: self.water,
            findings,
        }
    }
}

fn plus(a: Option<Amount>, b: Option<Amount>) -> Option<Amount> {
    match (a, b) {
        (Some(a), Some(b)) => a.plus(b),
        (a, b) => a.or(b),
    }
}

/// Sums in the order of the products.
fn added(sums: &[Amount], more: &[Amount]) -> Vec<Amount> {
    if sums.is_empty() {
        return more.to_vec();
    }
    sums.iter().zip(more).map(|(sum, one)| sum.plus(*one).unwrap_or(*sum)).collect()
}
