//! Why a quote is made of a plan and not of a map alone: what a visit costs hangs on what is treated,
//! and that on the setbacks and grasses of the application. A business quotes before it has read the
//! label for every product, so a zone that waits for nothing else is priced by its area all the same.

use turfplat_dose::{Purchase, caution_for_the_crew, cautions};
use turfplat_price::{
    Basis, Container, Customer, Customers, PriceList, ProductUse, Property, Quote, QuoteDay,
    QuoteError, Visit, Work, ZoneWork,
};
use turfplat_units::{Area, UnitSystem};

use crate::cause::Cause;
use crate::job::Job;
use crate::plan::{ApplicationPlan, PropertyPlan};
use crate::plat::{Loss, Plat, PlatZone};
use crate::print::Print;
use crate::quote_number::number;

/// With what properties are quoted.
#[derive(Clone, Copy, Debug)]
pub struct Quoting<'a> {
    /// What work costs.
    pub prices: &'a PriceList,
    /// Whose the properties are, where a file says so.
    pub customers: Option<&'a Customers>,
    /// The days that stand on quotes.
    pub day: &'a QuoteDay,
    /// Units of printed areas.
    pub units: UnitSystem,
}

/// What one property costs, with all that stands on its quote.
#[derive(Clone, Debug)]
pub struct PropertyQuote<'a> {
    /// The day of the quote, the property, and a mark of all that the quote says, so that another offer
    /// on the same day has another: `2026-06-08-lot-7-4H7N2`.
    pub id: String,
    /// The property's id, or the name of a map that is one property.
    pub property: String,
    /// Whose it is, where that is known.
    pub customer: Option<&'a Customer>,
    /// The money.
    pub quote: Quote,
    /// What gets nothing and is not priced, with the reason.
    pub not_treated: Vec<NotTreated>,
    /// What the customer should know.
    pub notes: Vec<String>,
    /// What to mind; these replace no label.
    pub cautions: Vec<String>,
    /// With what it was quoted.
    pub quoting: Quoting<'a>,
    /// What `treated` turf is here, for customers.
    treated: &'static str,
}

/// A zone that an application is for and that is not priced.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)] // The field names say it.
pub struct NotTreated {
    pub application: String,
    pub zone: String,
    pub reason: String,
}

/// What a quote says beside its money.
struct Told {
    not_treated: Vec<NotTreated>,
    notes: Vec<String>,
    cautions: Vec<String>,
}

impl PropertyQuote<'_> {
    /// Which area a basis prices on this property, for customers.
    pub fn basis_text(&self, basis: Basis) -> &'static str {
        if basis == Basis::Treated { self.treated } else { basis.meaning() }
    }
}

impl<'a> Quoting<'a> {
    /// The quote of a plan. Labor is that of the passes over a zone, at the speed of the equipment.
    ///
    /// # Errors
    ///
    /// What is asked for and not known, with the cure.
    pub fn of_plan(
        self,
        plan: &PropertyPlan<'_>,
        job: &Job,
    ) -> Result<PropertyQuote<'a>, QuoteError> {
        let mut visits: Vec<Visit<'_>> = Vec::new();
        let mut not_treated = Vec::new();
        for application in &plan.applications {
            // An application without a day of its own is not done on the day of the quote.
            let of_job = job.applications.iter().find(|it| it.name == application.name);
            let day = of_job.and_then(|it| it.day).map(|day| day.to_string());
            let work = self.work(plan, application);
            match visits.iter_mut().find(|visit| day.is_some() && visit.day == day) {
                Some(visit) => visit.works.push(work),
                None => visits.push(Visit { day, works: vec![work] }),
            }
            let skipped = application.skipped.iter().filter(|zone| !zone.awaits_label);
            not_treated.extend(skipped.map(|zone| NotTreated {
                application: application.name.to_owned(),
                zone: zone.zone.clone(),
                reason: zone.reason.clone(),
            }));
        }
        if visits.iter().all(|visit| visit.day.is_some()) {
            visits.sort_by(|one, other| one.day.cmp(&other.day));
        }
        let notes = awaiting(plan).into_iter().collect();
        let containers = plan.purchases.iter().flat_map(|one| containers(plan, one)).collect();
        let property = Property { visits, containers, ..self.place(&plan.property, plan.lot()) };
        let cautions = plan.cautions.iter().map(|it| caution_for_the_crew(it)).collect();
        let treated = Basis::Treated.meaning();
        self.finished(&plan.property, &property, treated, Told { not_treated, notes, cautions })
    }

    /// The quote of a property without a job: every service of the list on all of its turf, as often
    /// as the list says. What is treated is what is left after the setbacks that features of the map
    /// ask for themselves.
    ///
    /// # Errors
    ///
    /// As [`Quoting::of_plan`].
    pub fn of_plat(self, plat: &Plat) -> Result<PropertyQuote<'a>, QuoteError> {
        let services = &self.prices.services;
        let most = services.iter().map(|service| service.visits).max().unwrap_or(0);
        let zones: Vec<ZoneWork<'_>> = plat.zones.iter().filter_map(of_plat).collect();
        let visit = |number: u32| {
            let now = services.iter().filter(|service| service.visits > number);
            let works = now.map(|service| Work {
                application: &service.name,
                products: Vec::new(),
                service: Some(service),
                zones: zones.clone(),
            });
            Visit { day: None, works: works.collect() }
        };
        let lost = plat.zones.iter().filter(|zone| zone.net <= Area::ZERO);
        let not_treated = lost.map(|zone| NotTreated {
            application: String::new(),
            zone: zone.name.clone(),
            reason: "nothing left to treat".to_owned(),
        });
        let not_treated = not_treated.collect();
        let visits = (0..most).map(visit).collect();
        let property = Property { visits, ..self.place(&plat.property, plat.lot()) };
        let note = "areas as measured, without the distances that a label or a rule of the place may ask for";
        // No label and no rule has spoken: only the map itself may have kept ground free.
        let mut lost = plat.zones.iter().flat_map(|zone| &zone.lost);
        let treated = if lost.any(is_setback) {
            "turf less beds, buildings and the distances that the map itself asks for"
        } else {
            "all turf, less beds and buildings; nothing set back"
        };
        let notes = vec![note.to_owned()];
        let told = Told { not_treated, notes, cautions: cautions(&[], &[]) };
        self.finished(&plat.property, &property, treated, told)
    }

    fn place<'p>(self, property: &str, lot: Option<Area>) -> Property<'p> {
        let customer = self.customers.and_then(|customers| customers.of(property));
        Property { lot, distance: customer.and_then(|it| it.distance), ..Property::default() }
    }

    fn finished(
        self,
        id: &str,
        property: &Property<'_>,
        treated: &'static str,
        told: Told,
    ) -> Result<PropertyQuote<'a>, QuoteError> {
        let Told { not_treated, notes, cautions } = told;
        let quote = self.prices.quote(property).map_err(|error| match error {
            QuoteError::Nothing { .. } => QuoteError::Nothing { why: why(&not_treated) },
            other => other,
        })?;
        let mut quote = PropertyQuote {
            id: String::new(),
            property: id.to_owned(),
            customer: self.customers.and_then(|customers| customers.of(id)),
            quote,
            not_treated,
            notes,
            cautions,
            quoting: self,
            treated,
        };
        quote.id = number(&self.day.day, id, &quote.to_json().to_string());
        Ok(quote)
    }

    fn work<'p>(
        self,
        plan: &'p PropertyPlan<'_>,
        application: &'p ApplicationPlan<'_>,
    ) -> Work<'p> {
        let zone = |index: usize, name: &'p str, treated: Area| {
            let of_map = plan.zones.get(index);
            ZoneWork {
                zone: name,
                treated,
                net: of_map.map_or(treated, |zone| zone.net),
                gross: of_map.map_or(treated, |zone| zone.gross),
                time: application.walks.iter().find(|it| it.index == index).and_then(|it| it.time),
                products: None,
                note: None,
            }
        };
        // In the order of the map, so that tiers are filled alike on every visit.
        let mut zones: Vec<(usize, ZoneWork<'p>)> = Vec::new();
        for treated in &application.zones {
            let uses = treated.products.iter().map(|dosed| {
                let purchase = plan.purchases.iter().find(|one| one.product == dosed.product);
                ProductUse {
                    product: dosed.product.clone(),
                    name: name_of(plan, &dosed.product),
                    amount: Print(self.units).product(dosed.amount),
                    cost: purchase.and_then(|one| one.cost_of(dosed.amount)),
                }
            });
            let work = zone(treated.index, &treated.zone, treated.treated);
            zones.push((treated.index, ZoneWork { products: Some(uses.collect()), ..work }));
        }
        let awaiting = application.skipped.iter().filter(|zone| zone.awaits_label);
        for skipped in awaiting {
            let note = "the rate is still to be read on the label".to_owned();
            let work = zone(skipped.index, &skipped.zone, skipped.left);
            zones.push((skipped.index, ZoneWork { note: Some(note), ..work }));
        }
        zones.sort_by_key(|(index, _)| *index);
        Work {
            application: application.name,
            products: application.products.iter().map(|product| product.id.as_str()).collect(),
            service: None,
            zones: zones.into_iter().map(|(_, zone)| zone).collect(),
        }
    }
}

/// What is said where zones are priced that wait for a label.
fn awaiting(plan: &PropertyPlan<'_>) -> Option<String> {
    let skipped = plan.applications.iter().flat_map(|application| &application.skipped);
    skipped.into_iter().any(|zone| zone.awaits_label).then(|| {
        "zones whose rate is still to be read on the label are priced by area; what the label asks for, such as a distance from water, may change that".to_owned()
    })
}

/// Why nothing is left to quote, by the first zone of which it is known.
fn why(not_treated: &[NotTreated]) -> String {
    not_treated.first().map_or_else(String::new, |first| {
        let application = match first.application.as_str() {
            "" => String::new(),
            name => format!("application {name:?}, "),
        };
        let more = match not_treated.len() {
            1 => String::new(),
            count => format!(" (and {} more)", count - 1),
        };
        format!(": {application}zone {:?}: {}{more}", first.zone, first.reason)
    })
}

/// A measured zone to be worked on; `None` where nothing is left of it.
fn of_plat(zone: &PlatZone) -> Option<ZoneWork<'_>> {
    (zone.net > Area::ZERO).then(|| ZoneWork {
        zone: &zone.name,
        treated: zone.net,
        net: before_setbacks(zone),
        gross: zone.gross,
        time: None,
        products: None,
        note: None,
    })
}

fn is_setback(loss: &Loss) -> bool {
    matches!(loss.to, Cause::Setback(_)) && loss.area > Area::ZERO
}

/// What is left of a zone before any setback.
fn before_setbacks(zone: &PlatZone) -> Area {
    let of_setbacks = zone.lost.iter().filter(|loss| is_setback(loss));
    let lost: Area = of_setbacks.map(|loss| loss.area).sum();
    zone.net + lost
}

fn containers(plan: &PropertyPlan<'_>, purchase: &Purchase) -> Vec<Container> {
    let one = |bought: &turfplat_dose::Bought| Container {
        product: purchase.product.clone(),
        name: name_of(plan, &purchase.product),
        size: bought.container.size.print(bought.container.unit),
        count: bought.count,
        price: bought.container.price.clone(),
    };
    purchase.containers.iter().map(one).collect()
}

/// A product's name by its id.
fn name_of(plan: &PropertyPlan<'_>, id: &str) -> String {
    let mut products = plan.applications.iter().flat_map(|application| &application.products);
    products.find(|product| product.id == id).map_or(id, |product| &product.name).to_owned()
}
