//! The plan as rows for other programs: one table of doses, one line a property.

use turfplat::dose::Money;
use turfplat::units::{Area, UnitSystem};
use turfplat::{ApplicationPlan, Print, PropertyPlan, Refusal, TreatedZone, ZoneCost};

use crate::rows::{Rows, csv_text};
use crate::{buy, label};

pub(crate) const COLUMNS: [&str; 21] = [
    "property",
    "application",
    "zone",
    "species",
    "status",
    "treated_area_m2",
    "treated_sq_ft",
    "batch",
    "product",
    "rate",
    "rate_unit",
    "amount",
    "amount_unit",
    "spray_volume",
    "spray_unit",
    "reason",
    "label",
    "cost",
    "currency",
    "containers_to_buy",
    "for_wind",
];

/// One line a zone and product, and one a zone that is skipped.
pub(crate) fn records(plan: &PropertyPlan<'_>, units: UnitSystem) -> anyhow::Result<String> {
    let costs = plan.costs();
    csv_text(|writer| {
        for application in &plan.applications {
            for zone in &application.zones {
                zone_records(plan, application, zone, &costs, Print(units), writer)?;
            }
            for skipped in &application.skipped {
                let mut record = [""; COLUMNS.len()];
                let status = if skipped.refused { "refused" } else { "skipped" };
                (record[0], record[1], record[2], record[4], record[15]) =
                    (&plan.property, application.name, &skipped.zone, status, &skipped.reason);
                writer.write_record(record)?;
            }
        }
        Ok(())
    })
}

fn zone_records(
    plan: &PropertyPlan<'_>,
    application: &ApplicationPlan<'_>,
    zone: &TreatedZone,
    costs: &[ZoneCost<'_>],
    print: Print,
    writer: &mut Rows,
) -> anyhow::Result<()> {
    let species: Vec<&str> = zone.species.iter().map(|species| species.id.as_str()).collect();
    for (dosed, product) in zone.products.iter().zip(&application.products) {
        let unit = print.product_unit(dosed.amount);
        let rate_unit = print.rate_unit(unit);
        let number = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
        let spray = zone.spray_volume.and_then(|volume| volume.in_unit(print.spray_unit()));
        let spray_unit = spray.map_or("", |_| print.spray_unit().name());
        let is_meant = |cost: &&ZoneCost<'_>| {
            (cost.application, cost.zone, cost.product)
                == (application.name, &zone.zone, &dosed.product)
        };
        let cost = costs.iter().find(is_meant).map(|one| &one.cost);
        writer.write_record([
            plan.property.as_str(),
            application.name,
            &zone.zone,
            &species.join(", "),
            "treated",
            &zone.treated.square_metres().to_string(),
            &zone.treated.square_feet().to_string(),
            &zone.batch.to_string(),
            &dosed.product,
            &number(dosed.rate.in_unit(rate_unit)),
            &rate_unit.to_string(),
            &number(dosed.amount.in_unit(unit)),
            unit.name(),
            &number(spray),
            spray_unit,
            "",
            &label::in_a_cell(product, print.0),
            // Not rounded: a sum over lots is.
            &cost.map_or_else(String::new, |cost| cost.value().normalize().to_string()),
            &cost.map(Money::currency).unwrap_or_default(),
            &buy::in_a_cell(plan, &dosed.product),
            &application.wind.map_or_else(String::new, |wind| wind.in_words()),
        ])?;
    }
    Ok(())
}

pub(crate) const SUMMARY_COLUMNS: [&str; 10] = [
    "property",
    "folder",
    "application",
    "treated_area_m2",
    "treated_sq_ft",
    "zones_treated",
    "zones_skipped",
    "products",
    "loads",
    "refused",
];

/// Why an application puts nothing down on a property: the first reason. `None` where it doses something,
/// and where a limit stops it, which is told as a refusal.
pub(crate) fn why_undosed(application: &ApplicationPlan<'_>) -> Option<String> {
    let first = application.skipped.first();
    let first = first.filter(|it| application.zones.is_empty() && !it.refused)?;
    Some(format!("{}: {}", first.zone, first.reason))
}

/// One line an application.
pub(crate) fn summary_records(
    plan: &PropertyPlan<'_>,
    folder: &str,
    units: UnitSystem,
) -> anyhow::Result<String> {
    let print = Print(units);
    csv_text(|writer| {
        for application in &plan.applications {
            let treated: Area = application.zones.iter().map(|zone| zone.treated).sum();
            let products = application
                .products
                .iter()
                .zip(&application.totals)
                .map(|(product, total)| format!("{} {}", print.product(*total), product.id));
            let loads: usize = application.batches.iter().map(|batch| batch.loads.len()).sum();
            writer.write_record([
                plan.property.as_str(),
                folder,
                application.name,
                &treated.square_metres().to_string(),
                &treated.square_feet().to_string(),
                &application.zones.len().to_string(),
                &application.skipped.len().to_string(),
                &products.collect::<Vec<_>>().join("; "),
                &loads.to_string(),
                &why_undosed(application).unwrap_or_default(),
            ])?;
        }
        Ok(())
    })
}

pub(crate) fn refused_records(refused: &[Refusal]) -> anyhow::Result<String> {
    csv_text(|writer| {
        for refusal in refused {
            let mut record = [const { String::new() }; SUMMARY_COLUMNS.len()];
            record[0] = refusal.property.clone().unwrap_or_default();
            record[9] = refusal.reasons.join("; ");
            writer.write_record(record)?;
        }
        Ok(())
    })
}
