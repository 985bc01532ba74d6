//! Records as rows for an inspection or another program: one row for each product of a record.

use turfplat::ledger::{Kept, State, spray};
use turfplat::units::{Amount, AmountUnit, Area, UnitSystem};
use turfplat::{Print, RecordSheet, SheetLoad, SheetZone, record_sheet, record_sums};

use crate::rows::{csv_text, text_cell};

const COLUMNS: [&str; 52] = [
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
    "hired",
    "places",
    "note",
    "product",
    "product_name",
    "registration",
    "lots",
    "amount",
    "amount_unit",
    "amount_si",
    "amount_si_unit",
    "area",
    "area_unit",
    "area_m2",
    "rate",
    "rate_unit",
    "rate_si",
    "rate_si_unit",
    "spray_volume",
    "spray_volume_unit",
    "spray_volume_l",
    "zones",
    "loads",
    "missing",
];

/// Rows of `records` under their header. What is not told is an empty cell.
pub(crate) fn rows(records: &[Kept], units: UnitSystem) -> anyhow::Result<String> {
    csv_text(|writer| {
        writer.write_record(COLUMNS)?;
        for kept in records {
            let sheet = record_sheet(std::slice::from_ref(kept), units);
            for row in of_record(kept, sheet.as_ref(), units) {
                writer.write_record(row)?;
            }
        }
        Ok(())
    })
}

/// A time as other programs read it (RFC 3339), without the name of its zone.
fn instant(at: Option<&jiff::ZonedDateTime>) -> String {
    at.map_or_else(String::new, |at| at.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string())
}

/// Figure and unit of a printed amount in two cells, the figure without its commas.
fn parted(printed: Option<String>) -> [String; 2] {
    let printed = printed.unwrap_or_default();
    let (figure, unit) = printed.split_once(' ').unwrap_or((&printed, ""));
    [figure.replace(',', ""), unit.to_owned()]
}

fn of_record(kept: &Kept, sheet: Option<&RecordSheet>, units: UnitSystem) -> Vec<Vec<String>> {
    let record = &kept.record;
    let print = Print(units);
    // What was never applied has no amounts that anybody could add up.
    let stands = kept.state != State::TakenBack;
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
        instant(record.started.as_ref()),
        instant(record.ended.as_ref()),
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
        record.hired.map_or("", |it| if it { "yes" } else { "no" }).to_owned(),
        text_cell(&record.places.join("; ")).into_owned(),
        own(record.note.as_ref()),
    ];
    let sprayed = spray(record).amount.filter(|_| stands);
    let loads = sheet.map_or_else(String::new, |sheet| {
        let one = |load: &SheetLoad| {
            let parts = [&load.load, &load.time, &load.spray].into_iter();
            let parts = parts.chain(&load.products).chain(&load.ground);
            parts.filter(|it| !it.is_empty()).map(String::as_str).collect::<Vec<_>>().join(", ")
        };
        sheet.loads.iter().map(one).collect::<Vec<_>>().join("; ")
    });
    let missing = sheet.map_or_else(String::new, |sheet| sheet.open.join("; "));
    let rows = record.products.iter().zip(record_sums(record)).map(|(product, (_, sum))| {
        // The base units: milliliters of a liquid, grams of what is weighed.
        let amount = sum.amount.filter(|_| stands);
        let in_si = amount.map(|it| match it {
            Amount::Volume(volume) => (volume.millilitres(), "mL", "mL/m2"),
            Amount::Mass(mass) => (mass.grams(), "g", "g/m2"),
        });
        let area = sum.area.filter(|_| stands);
        let rate = sum.rate().filter(|_| stands);
        let rate_in_si = in_si.zip(area).map(|((value, ..), area)| value / area.square_metres());
        let zones = sheet.map_or_else(String::new, |sheet| {
            let its = sheet.zones.iter().filter(|it| it.product == product.id);
            let one =
                |it: &SheetZone| format!("{}: {} on {}, {}", it.zone, it.amount, it.area, it.rate);
            its.map(one).collect::<Vec<_>>().join("; ")
        });
        let mut row = head.clone();
        row.extend([
            own(Some(&product.id)),
            own(product.name.as_ref()),
            own(product.registration.as_ref()),
            text_cell(&product.lots.join("; ")).into_owned(),
        ]);
        row.extend(parted(amount.map(|it| print.product(it))));
        row.push(figure(in_si.map(|(value, ..)| value)));
        row.push(in_si.map_or("", |(_, unit, _)| unit).to_owned());
        row.extend(parted(area.map(|it| it.print(units))));
        row.push(figure(area.map(Area::square_metres)));
        row.extend(parted(rate.map(|it| print.product_rate(it))));
        row.push(figure(rate_in_si));
        row.push(rate.and(in_si).map_or("", |(.., unit)| unit).to_owned());
        row.extend(parted(sprayed.map(|it| print.spray(it))));
        row.push(figure(sprayed.and_then(|it| it.in_unit(AmountUnit::Litre))));
        row.push(text_cell(&zones).into_owned());
        row.push(text_cell(&loads).into_owned());
        row.push(text_cell(&missing).into_owned());
        row
    });
    rows.collect()
}
