//! Quotes as rows for accounting. A customer may be called `-1`, so texts are told from figures here.

use turfplat::price::{Decimal, Line, TaxSum};
use turfplat::{PropertyQuote, Quoting, Refusal};

use crate::rows::{self, csv_text};

/// One row a line, and one for each tax and each rounding, so that the amounts of a quote add up to
/// its total; in every row quantity × unit price, rounded to the currency, is the amount. What a tax is on
/// and its rate stand in columns of their own.
pub(crate) const LINES: [&str; 24] = [
    "quote",
    "property",
    "customer",
    "date",
    "valid_until",
    "visit",
    "visit_date",
    "kind",
    "text",
    "note",
    "service",
    "application",
    "zone",
    "basis",
    "area_m2",
    "area_sq_ft",
    "quantity",
    "unit",
    "unit_price",
    "amount",
    "tax",
    "taxable",
    "tax_rate_percent",
    "currency",
];

/// One row a property.
pub(crate) const SUMMARY: [&str; 16] = [
    "property",
    "folder",
    "quote",
    "customer",
    "date",
    "valid_until",
    "visits",
    "subtotal",
    "tax",
    "rounding",
    "total",
    "prepaid_total",
    "prepay_due",
    "currency",
    "not_treated",
    "not_quoted",
];

/// Cells of a row between its visit and its currency.
const CELLS: usize = LINES.len() - 8;

/// A text of somebody else's as it may stand in a cell.
fn text(text: &str) -> String {
    rows::text_cell(text).into_owned()
}

/// What stands in each row of a quote: quote, property, customer and its days.
struct Head([String; 5]);

impl Head {
    fn of(quote: &PropertyQuote<'_>) -> Head {
        let customer = quote.customer.map(|customer| text(&customer.name));
        Head([
            text(&quote.id),
            text(&quote.property),
            customer.unwrap_or_default(),
            quote.quoting.day.day.clone(),
            quote.quoting.day.valid_until.clone(),
        ])
    }
}

/// The rows of one quote.
pub(crate) fn records(quote: &PropertyQuote<'_>) -> anyhow::Result<String> {
    let prices = quote.quoting.prices;
    let head = Head::of(quote);
    let currency = prices.currency.code();
    csv_text(|writer| {
        let mut row = |visit: &str, day: &str, rest: [String; CELLS]| -> anyhow::Result<()> {
            let visit = [visit.to_owned(), day.to_owned()];
            let all = head.0.iter().chain(&visit).chain(&rest);
            writer.write_record(all.map(String::as_str).chain([currency]))
        };
        for (place, visit) in quote.quote.visits.iter().enumerate() {
            let number = (place + 1).to_string();
            let day = visit.day.as_deref().unwrap_or_default();
            for line in &visit.lines {
                row(&number, day, of_line(line, &prices.taxes_on(line)))?;
            }
            for rest in of_sums(&visit.sums.taxes, visit.sums.rounding, "") {
                row(&number, day, rest)?;
            }
        }
        let (taxes, rounding) = quote.quote.on_the_season_alone();
        for rest in of_sums(&taxes, rounding, "on all visits together") {
            row("", "", rest)?;
        }
        Ok(())
    })
}

fn of_line(line: &Line, taxes: &[String]) -> [String; CELLS] {
    let area = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
    [
        line.kind.word().to_owned(),
        text(&line.text),
        text(line.note.as_deref().unwrap_or_default()),
        text(&line.service),
        text(&line.application),
        text(line.zone.as_deref().unwrap_or_default()),
        line.basis.map_or("", |basis| basis.word()).to_owned(),
        area(line.area.map(|area| area.square_metres())),
        area(line.area.map(|area| area.square_feet())),
        line.quantity.to_string(),
        text(&line.unit),
        line.unit_price.to_string(),
        line.amount.to_string(),
        text(&taxes.join("; ")),
        String::new(),
        String::new(),
    ]
}

/// `on` says what they are counted on, where that is no visit.
fn of_sums(taxes: &[TaxSum], rounding: Decimal, on: &str) -> Vec<[String; CELLS]> {
    // One of it at what it comes to: a rate times what is taxable may come to fractions of a cent.
    let row = |kind: &str, what: &str, amount: Decimal| {
        let mut cells = [const { String::new() }; CELLS];
        cells[0] = kind.to_owned();
        cells[1] = text(what);
        cells[2] = on.to_owned();
        (cells[9], cells[10]) = ("1".to_owned(), kind.to_owned());
        (cells[11], cells[12]) = (amount.to_string(), amount.to_string());
        cells
    };
    let taxes = taxes.iter().map(|tax| {
        let mut cells = row("tax", &tax.name, tax.amount);
        (cells[14], cells[15]) = (tax.taxable.to_string(), tax.percent.to_string());
        cells
    });
    let mut rows: Vec<[String; CELLS]> = taxes.collect();
    if !rounding.is_zero() {
        rows.push(row("rounding", "", rounding));
    }
    rows
}

/// The row of a property that was quoted.
pub(crate) fn summary_record(quote: &PropertyQuote<'_>, folder: &str) -> anyhow::Result<String> {
    let Head([id, property, customer, day, valid_until]) = Head::of(quote);
    let season = &quote.quote.season;
    let prepaid = quote.quote.prepaid.as_ref();
    let not_treated = quote.not_treated.iter().map(|one| match one.application.as_str() {
        "" => format!("{}: {}", one.zone, one.reason),
        application => format!("{application}, {}: {}", one.zone, one.reason),
    });
    let due = quote.quoting.day.prepay_due.clone().filter(|_| prepaid.is_some());
    csv_text(|writer| {
        writer.write_record([
            property,
            folder.to_owned(),
            id,
            customer,
            day,
            valid_until,
            quote.quote.visits.len().to_string(),
            season.subtotal.to_string(),
            season.tax().to_string(),
            season.rounding.to_string(),
            season.total.to_string(),
            prepaid.map_or_else(String::new, |it| it.sums.total.to_string()),
            due.unwrap_or_default(),
            quote.quoting.prices.currency.code().to_owned(),
            text(&not_treated.collect::<Vec<_>>().join("; ")),
            String::new(),
        ])
    })
}

/// The row of a property that could not be quoted.
pub(crate) fn refused_record(refusal: &Refusal, quoting: &Quoting<'_>) -> anyhow::Result<String> {
    let property = refusal.property.clone().unwrap_or_default();
    let customer = quoting.customers.and_then(|customers| customers.of(&property));
    let mut record = [const { String::new() }; SUMMARY.len()];
    record[0] = text(&property);
    record[3] = customer.map(|customer| text(&customer.name)).unwrap_or_default();
    record[4] = quoting.day.day.clone();
    record[15] = text(&refusal.reasons.join("; "));
    csv_text(|writer| writer.write_record(record))
}
