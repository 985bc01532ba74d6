//! A season as rows for other programs: one for each product on each zone and day, and one for all that
//! is not done.

use turfplat::dose::Money;
use turfplat::units::UnitSystem;
use turfplat::{Print, PropertySeason};

use crate::rows::csv_text;

pub(crate) const COLUMNS: [&str; 17] = [
    "property",
    "status",
    "date",
    "application",
    "zone",
    "number",
    "area_m2",
    "area_sq_ft",
    "product",
    "rate",
    "rate_unit",
    "amount",
    "amount_unit",
    "cost",
    "currency",
    "because",
    "remark",
];

pub(crate) fn records(season: &PropertySeason, units: UnitSystem) -> anyhow::Result<String> {
    let print = Print(units);
    let number = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
    let property = season.property.as_str();
    csv_text(|rows| {
        for round in &season.rounds {
            let date = round.day.to_string();
            for zone in &round.zones {
                let remark = [&zone.lowered, &zone.estimate].into_iter().flatten();
                let remark = remark.map(String::as_str).collect::<Vec<_>>().join("; ");
                let status = if zone.lowered.is_some() { "lowered" } else { "treat" };
                for (place, product) in round.products.iter().enumerate() {
                    let (Some(rate), Some(amount)) =
                        (zone.rates.get(place), zone.amounts.get(place))
                    else {
                        continue;
                    };
                    let unit = print.product_unit(*amount);
                    let rate_unit = print.rate_unit(unit);
                    let purchase = season.purchases.iter().find(|it| it.product == *product);
                    let cost = purchase.and_then(|it| it.cost_of(*amount));
                    let value = |cost: &Money| cost.value().normalize().to_string();
                    rows.write_record([
                        property,
                        status,
                        &date,
                        &round.application,
                        &zone.zone,
                        &zone.number.to_string(),
                        &zone.area.square_metres().to_string(),
                        &zone.area.square_feet().to_string(),
                        product,
                        &number(rate.in_unit(rate_unit)),
                        &rate_unit.to_string(),
                        &number(amount.in_unit(unit)),
                        unit.name(),
                        &cost.as_ref().map_or_else(String::new, value),
                        &cost.as_ref().map_or_else(String::new, Money::currency),
                        &zone.because,
                        &remark,
                    ])?;
                }
            }
        }
        let mut undone = |status: &str, date: &str, application: &str, zone: &str, why: &str| {
            let row = [
                property,
                status,
                date,
                application,
                zone,
                "",
                "",
                "",
                "",
                "",
                "",
                "",
                "",
                "",
                "",
                "",
                why,
            ];
            rows.write_record(row)
        };
        for course in &season.courses {
            for dropped in &course.dropped {
                let date = dropped.day.to_string();
                undone("left out", &date, &course.application, &course.zone, &dropped.reason)?;
            }
        }
        for it in &season.not_planned {
            let status = if it.refused { "refused" } else { "not treated" };
            undone(status, "", &it.application, &it.zone, &it.reason)?;
        }
        Ok(())
    })
}
