//! Records as rows for an inspection or another program: one row for each product of a record.

use turfplat::ledger::{Kept, by_product, spray};
use turfplat::units::{AmountUnit, Area, UnitSystem};
use turfplat::{RecordSheet, record_sheet};

use crate::rows::{csv_text, text_cell};

const COLUMNS: [&str; 38] = [
    "record",
    "state",
    "follows",
    "why",
    "replaced_by",
    "written",
    "keep_until",
    "seal_sha256",
    "property",
    "application",
    "date",
    "started",
    "ended",
    "location",
    "site",
    "customer",
    "customer_address",
    "applicator",
    "license",
    "uncertified",
    "company",
    "company_address",
    "purpose",
    "method",
    "temperature",
    "wind",
    "wind_from",
    "incidents",
    "product",
    "product_name",
    "registration",
    "lots",
    "amount",
    "amount_unit",
    "area_m2",
    "area_sq_ft",
    "spray_volume_gal",
    "missing",
];

/// Rows of `records` under their header. What is not told is an empty cell.
pub(crate) fn rows(records: &[Kept], units: UnitSystem) -> anyhow::Result<String> {
    csv_text(|writer| {
        writer.write_record(COLUMNS)?;
        for kept in records {
            let sheet = record_sheet(std::slice::from_ref(kept), units);
            for row in of_record(kept, sheet.as_ref()) {
                writer.write_record(row)?;
            }
        }
        Ok(())
    })
}

fn of_record(kept: &Kept, sheet: Option<&RecordSheet>) -> Vec<Vec<String>> {
    let record = &kept.record;
    let own =
        |text: Option<&String>| text.map_or_else(String::new, |it| text_cell(it).into_owned());
    let number = |it: Option<i64>| it.map_or_else(String::new, |it| it.to_string());
    let figure = |it: Option<f64>| it.map_or_else(String::new, |it| it.to_string());
    let (applicator, weather) = (&record.applicator, &record.weather);
    let customer = record.customer.as_ref();
    let head = vec![
        kept.id.to_string(),
        kept.state.word().to_owned(),
        number(kept.follows),
        own(kept.why.as_ref()),
        number(kept.replaced_by),
        kept.written.to_string(),
        kept.keep_until.to_string(),
        kept.seal.clone(),
        own(Some(&record.property)),
        own(Some(&record.application)),
        record.date.to_string(),
        record.started.as_ref().map_or_else(String::new, ToString::to_string),
        record.ended.as_ref().map_or_else(String::new, ToString::to_string),
        own(record.location.as_ref()),
        own(record.site.as_ref()),
        own(customer.and_then(|it| it.name.as_ref())),
        own(customer.and_then(|it| it.address.as_ref())),
        own(applicator.name.as_ref()),
        own(applicator.license.as_ref()),
        own(applicator.uncertified.as_ref()),
        own(applicator.company.as_ref()),
        own(applicator.company_address.as_ref()),
        own(record.purpose.as_ref()),
        own(record.method.as_ref()),
        own(weather.temperature.as_ref().map(|it| &it.written)),
        own(weather.wind.as_ref().map(|it| &it.written)),
        own(weather.wind_from.as_ref()),
        own(record.incidents.as_ref()),
    ];
    let sprayed = spray(record).amount.and_then(|it| it.in_unit(AmountUnit::Gallon));
    let missing = sheet.map_or_else(String::new, |sheet| sheet.missing.join("; "));
    let rows = record.products.iter().zip(by_product(record)).map(|(product, (_, sum))| {
        // The base units: milliliters of a liquid, grams of what is weighed.
        let amount = sum.amount.map(|it| match it {
            turfplat::units::Amount::Volume(volume) => (volume.millilitres(), "mL"),
            turfplat::units::Amount::Mass(mass) => (mass.grams(), "g"),
        });
        let mut row = head.clone();
        row.extend([
            own(Some(&product.id)),
            own(product.name.as_ref()),
            own(product.registration.as_ref()),
            text_cell(&product.lots.join("; ")).into_owned(),
            figure(amount.map(|(value, _)| value)),
            amount.map_or("", |(_, unit)| unit).to_owned(),
            figure(sum.area.map(Area::square_metres)),
            figure(sum.area.map(Area::square_feet)),
            figure(sprayed),
            text_cell(&missing).into_owned(),
        ]);
        row
    });
    rows.collect()
}
