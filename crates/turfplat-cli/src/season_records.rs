//! A season as rows for other programs: one for each product on each zone and day, and one for all that
//! is not done.

use turfplat::dose::Money;
use turfplat::units::UnitSystem;
use turfplat::{Course, Print, PropertySeason};

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

/// More days than so many that were left out for one reason are told by the first and the last.
pub(crate) const MANY: usize = 3;

/// A share of a container's price is told to a hundredth of a cent: a row's cost is no sum to be paid.
const COST_DECIMALS: u32 = 4;

/// Days that a zone was left out on, by reason, in the order of the first.
pub(crate) fn left_out(course: &Course) -> Vec<(&str, Vec<String>)> {
    let mut all: Vec<(&str, Vec<String>)> = Vec::new();
    for dropped in &course.dropped {
        let day = dropped.day.to_string();
        match all.iter_mut().find(|(reason, _)| *reason == dropped.reason) {
            Some((_, days)) => days.push(day),
            None => all.push((&dropped.reason, vec![day])),
        }
    }
    all
}

/// A number without what binary adds to its decimals, `0.4` for 0.40000000000000013: ten digits, and
/// never rounded up, so that no limit is exceeded by it.
pub(crate) fn meant(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return value;
    }
    // What a limit leaves is a hair less than its decimals say.
    const HAIR: f64 = 1.0 + 2e-12;
    let scale = 10_f64.powi(9 - value.log10().floor() as i32);
    let meant = (value * scale * HAIR).floor() / scale;
    if meant.is_finite() { meant } else { value }
}

pub(crate) fn records(season: &PropertySeason, units: UnitSystem) -> anyhow::Result<String> {
    let print = Print(units);
    let number = |value: Option<f64>| value.map_or_else(String::new, |it| meant(it).to_string());
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
                    let value =
                        |cost: &Money| cost.value().round_dp(COST_DECIMALS).normalize().to_string();
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
            for (reason, days) in left_out(course) {
                let (first, last) = (&days[0], &days[days.len() - 1]);
                if days.len() > MANY {
                    let why = format!("{reason} ({} times, the last on {last})", days.len());
                    undone("left out", first, &course.application, &course.zone, &why)?;
                    continue;
                }
                for day in &days {
                    undone("left out", day, &course.application, &course.zone, reason)?;
                }
            }
        }
        for it in &season.not_planned {
            let status = if it.refused { "refused" } else { "not treated" };
            undone(status, "", &it.application, &it.zone, &it.reason)?;
        }
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::meant;

    #[test]
    fn numbers_are_told_as_they_are_meant_and_never_above() {
        // 1.6 − 0.6 − 0.6 as binary has it, the same less a hair, and thirds.
        for (value, told) in [
            (1.6 - 0.6 - 0.6, 0.4),
            (0.4 * (1.0 - 1e-12), 0.4),
            (1.0 / 3.0, 0.3333333333),
            (2000.0 / 3.0, 666.6666666),
            (0.25, 0.25),
            (1.0, 1.0),
            (0.0, 0.0),
        ] {
            assert_eq!(meant(value), told, "{value}");
        }
    }
}
