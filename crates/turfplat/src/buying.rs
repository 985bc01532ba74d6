//! Why the shopping list is made after all applications are dosed: a container opened in May is used
//! up in June.

use std::collections::BTreeMap;

use serde_json::{Value, json};
use turfplat_dose::{Container, Money, Need, Product, Purchase};
use turfplat_units::{Amount, Area, AreaUnit, UnitSystem};

use crate::job::Job;
use crate::plan::{ApplicationPlan, PropertyPlan};
use crate::print::Print;

/// What to buy of each product, in the order in which the applications use them.
pub(crate) fn purchases(job: &Job, applications: &[ApplicationPlan<'_>]) -> Vec<Purchase> {
    let mut products: Vec<(&Product, Need)> = Vec::new();
    for application in applications {
        for (place, product) in application.products.iter().enumerate() {
            let Some(need) = Need::of_batches(&application.batches, place) else { continue };
            match products.iter_mut().find(|(known, _)| known.id == product.id) {
                Some((_, known)) => *known = known.plus(need).unwrap_or(*known),
                None => products.push((product, need)),
            }
        }
    }
    let purchase =
        |(product, need): (&Product, Need)| Purchase::of(product, sold_in(job, product), need);
    products.into_iter().map(purchase).collect()
}

/// What a product is sold in: as the job says, else its file.
pub(crate) fn sold_in<'a>(job: &'a Job, product: &'a Product) -> &'a [Container] {
    job.containers.get(&product.id).unwrap_or(&product.containers)
}

/// What several properties need together: forty lawns are bought for at once.
#[derive(Debug, Default)]
pub struct Shopping {
    needs: Vec<(String, Need)>,
}

impl Shopping {
    /// Adds what one property needs.
    pub fn add(&mut self, purchases: &[Purchase]) {
        for one in purchases {
            let need = Need { total: one.needed, dead: one.dead };
            match self.needs.iter_mut().find(|(product, _)| *product == one.product) {
                Some((_, known)) => *known = known.plus(need).unwrap_or(*known),
                None => self.needs.push((one.product.clone(), need)),
            }
        }
    }

    /// What to buy for all of them.
    pub fn list(&self, job: &Job) -> Vec<Purchase> {
        let all = || job.applications.iter().flat_map(|application| &application.products);
        let purchase = |(id, need): &(String, Need)| {
            let product = &all().find(|chosen| chosen.product.id == *id)?.product;
            Some(Purchase::of(product, sold_in(job, product), *need))
        };
        self.needs.iter().filter_map(purchase).collect()
    }
}

/// What a product costs on one zone of one application.
#[derive(Clone, Debug, PartialEq)]
pub struct ZoneCost<'a> {
    /// The application.
    pub application: &'a str,
    /// The zone.
    pub zone: &'a str,
    /// The product's id.
    pub product: &'a str,
    /// How much goes on it.
    pub amount: Amount,
    /// What that costs, at the price of what is bought.
    pub cost: Money,
    /// The ground.
    pub treated: Area,
}

impl ZoneCost<'_> {
    /// What so much ground costs at this rate.
    pub fn per(&self, unit: AreaUnit) -> Option<Money> {
        self.cost.part(unit.area().square_metres() / self.treated.square_metres())
    }
}

/// Areas that a cost is told per: a small one and a large one.
pub fn cost_areas(units: UnitSystem) -> [AreaUnit; 2] {
    match units {
        UnitSystem::Us => [AreaUnit::ThousandSquareFeet, AreaUnit::Acre],
        UnitSystem::Metric => [AreaUnit::HundredSquareMetres, AreaUnit::Hectare],
    }
}

impl PropertyPlan<'_> {
    /// What each product costs on each zone, where its price is given.
    pub fn costs(&self) -> Vec<ZoneCost<'_>> {
        let mut costs = Vec::new();
        for application in &self.applications {
            for zone in &application.zones {
                for dosed in &zone.products {
                    let purchase = self.purchases.iter().find(|one| one.product == dosed.product);
                    let Some(cost) = purchase.and_then(|one| one.cost_of(dosed.amount)) else {
                        continue;
                    };
                    costs.push(ZoneCost {
                        application: application.name,
                        zone: &zone.zone,
                        product: &dosed.product,
                        amount: dosed.amount,
                        cost,
                        treated: zone.treated,
                    });
                }
            }
        }
        costs
    }
}

/// The shopping list of one property.
pub(crate) fn buy_json(plan: &PropertyPlan<'_>, units: UnitSystem) -> Value {
    let mut zones: BTreeMap<&str, Vec<Value>> = BTreeMap::new();
    for cost in plan.costs() {
        let per = cost_areas(units).map(|unit| (unit, cost.per(unit)));
        let per: Vec<Value> = per
            .iter()
            .map(|(unit, money)| json!({ "per": unit.name(), "cost": money.as_ref().map(money_json) }))
            .collect();
        zones.entry(cost.product).or_default().push(json!({
            "application": cost.application,
            "zone": cost.zone,
            "cost": money_json(&cost.cost),
            "cost_per_area": per,
        }));
    }
    let purchases = plan.purchases.iter().map(|one| {
        let mut value = purchase_json(one, units);
        value["zones"] = zones.remove(one.product.as_str()).unwrap_or_default().into();
        value
    });
    purchases.collect()
}

/// One product of it.
pub fn purchase_json(purchase: &Purchase, units: UnitSystem) -> Value {
    let print = Print(units);
    let amount = |amount: Amount| {
        let unit = print.product_unit(amount);
        json!({ "value": amount.in_unit(unit), "unit": unit.name() })
    };
    let containers = purchase.containers.iter().map(|one| {
        json!({
            "size": { "value": one.container.size.in_unit(one.container.unit), "unit": one.container.unit.name() },
            "count": one.count,
            "price": one.container.price.as_ref().map(money_json),
        })
    });
    json!({
        "product": purchase.product,
        "needed": amount(purchase.needed),
        "dead_volume": amount(purchase.dead),
        "containers": containers.collect::<Vec<_>>(),
        "bought": purchase.bought.map(amount),
        "left_over": purchase.left_over.map(amount),
        "cost": purchase.cost.as_ref().map(money_json),
    })
}

/// Money as decimals in text: a number of JSON would be read as a binary fraction.
fn money_json(money: &Money) -> Value {
    json!({ "value": money.value().normalize().to_string(), "currency": money.currency() })
}
