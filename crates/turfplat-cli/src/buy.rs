//! The shopping list of a plan, as a person reads it in the shop.

use comfy_table::Cell;
use turfplat::dose::{Bought, Money, Purchase};
use turfplat::units::{AreaUnit, UnitSystem, significant};
use turfplat::{Print, PropertyPlan, ZoneCost, cost_areas};

use crate::table;

/// What to buy for one property, and what it costs on each zone.
pub(crate) fn of_property(plan: &PropertyPlan<'_>, units: UnitSystem) -> String {
    let mut text = list("To buy, for all applications", &plan.purchases, units);
    let costs = plan.costs();
    if costs.is_empty() {
        return text;
    }
    let areas = cost_areas(units);
    let per = areas.map(|unit| match unit {
        AreaUnit::Acre => "per acre".to_owned(),
        unit => format!("per {}", unit.name()),
    });
    let [small, large] = &per;
    let mut rows = table::new(["cost on turf", "zone", "product", "cost", small, large]);
    for cost in &costs {
        let each = areas.map(|unit| cost.per(unit).map_or_else(String::new, |it| it.to_string()));
        let [small, large] = each;
        let ZoneCost { application, zone, product, cost, .. } = cost;
        rows.add_row(vec![
            Cell::new(application),
            Cell::new(zone),
            Cell::new(product),
            table::number(cost),
            table::number(small),
            table::number(large),
        ]);
    }
    text.push_str(&format!("{}\n", rows.trim_fmt()));
    text
}

/// A table of what to buy; nothing of nothing.
pub(crate) fn list(title: &str, purchases: &[Purchase], units: UnitSystem) -> String {
    if purchases.is_empty() {
        return String::new();
    }
    let print = Print(units);
    let mut rows = table::new(["product", "needed", "buy", "left over", "cost"]);
    let mut notes: Vec<String> = Vec::new();
    for one in purchases {
        let needed = print.product(one.needed);
        let needed = if one.dead == one.dead.times(0.0) {
            needed
        } else {
            format!("{needed}\n({} of it in hose and sump)", print.product(one.dead))
        };
        let buy: Vec<String> = one.containers.iter().map(container).collect();
        let not_given = || "not given".to_owned();
        if buy.is_empty() {
            notes.push(format!(
                "  {}: what it is sold in is not given; add containers with size and price to its product \
                 file, or [buy.{}] to the job.\n",
                one.product, one.product
            ));
        }
        rows.add_row(vec![
            Cell::new(&one.product),
            table::number(needed),
            Cell::new(if buy.is_empty() { not_given() } else { buy.join("\n") }),
            table::number(one.left_over.map_or_else(String::new, |left| print.product(left))),
            table::number(one.cost.as_ref().map_or_else(not_given, ToString::to_string)),
        ]);
    }
    let costs: Option<Vec<&Money>> = purchases.iter().map(|one| one.cost.as_ref()).collect();
    let sum = |costs: Vec<&Money>| {
        let (first, rest) = costs.split_first()?;
        rest.iter().try_fold((*first).clone(), |sum, one| sum.plus(one))
    };
    // A sum of two currencies, or without one of the prices, would be no bill.
    if let Some(sum) = costs.and_then(sum).filter(|_| purchases.len() > 1) {
        let empty = || Cell::new("");
        rows.add_row(vec![Cell::new("total"), empty(), empty(), empty(), table::number(sum)]);
    }
    format!("\n{title}\n{}\n{}", rows.trim_fmt(), notes.concat())
}

/// What to buy of a product for all applications of a property, in one cell; empty where it is not
/// known what the product is sold in.
pub(crate) fn in_a_cell(plan: &PropertyPlan<'_>, product: &str) -> String {
    let purchase = plan.purchases.iter().find(|one| one.product == product);
    let containers = purchase.into_iter().flat_map(|one| &one.containers);
    containers.map(counted).collect::<Vec<_>>().join(" + ")
}

/// `3 × 1 gal at 129.00`.
fn container(bought: &Bought) -> String {
    let price = bought.container.price.as_ref();
    let price = price.map_or_else(String::new, |price| format!(" at {price}"));
    format!("{}{price}", counted(bought))
}

/// `3 × 1 gal`.
fn counted(bought: &Bought) -> String {
    let Bought { container, count } = bought;
    let size = container.size.in_unit(container.unit).unwrap_or_default();
    format!("{count} × {} {}", significant(size, 4), container.unit.name())
}
