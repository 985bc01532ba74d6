//! The document of `quote`: every figure exact, as text, and beside it as it is printed, so that whoever
//! lays it out rounds nothing and knows no currency.
//!
//! * The quote: `quote`, `property`, `date`, `valid_until`, `currency` (`code`, `decimals`),
//!   `business` (`name`, `address`, `contact`, `license`), `customer` (`name`, `address`, `contact`),
//!   `visits` (`visit`, `date`,
//!   `applications`, `lines`, `sums`), `season` (sums), `prepaid` (sums, `percent`, `discount`,
//!   `due`; or null), `not_treated` (`application`, `zone`, `reason`), `notes`, `terms`,
//!   `how_it_is_counted`, `cautions`.
//! * A line: `kind` (`area`, `application`, `product`, `labor`, `minimum`, `travel`), `text`,
//!   `note`, `service`, `application`, `zone`, `basis`, `basis_text`, `area_m2`, `area_text`,
//!   `quantity`, `unit`, `quantity_text`, `unit_price`, `amount`, `taxes`.
//! * Sums: `subtotal`, `taxes` (`name`, `rate`, `text`, `taxable`, `amount`), `rounding`, `total`; of a
//!   visit also `before`: names of taxes that are counted on the season alone and not in its total.
//! * Money is `{ "value": "60.00", "text": "$60.00" }`: exact, and as it is printed.

use serde_json::{Value, json};
use turfplat_price::{Decimal, Line, PriceList, QuotedVisit, Sums, TaxSum};
use turfplat_units::Area;

use crate::quote::{PropertyQuote, Quoting};

impl PropertyQuote<'_> {
    /// The document of one quote.
    pub fn to_json(&self) -> Value {
        let prices = self.quoting.prices;
        let business = &prices.business;
        let customer = self.customer.map(|customer| {
            json!({ "name": customer.name, "address": customer.address, "contact": customer.contact })
        });
        let not_treated = self.not_treated.iter().map(
            |one| json!({ "application": one.application, "zone": one.zone, "reason": one.reason }),
        );
        let visits = self.quote.visits.iter().enumerate();
        let visits = visits.map(|(place, one)| visit(place + 1, one, self));
        let prepaid = self.quote.prepaid.as_ref().map(|prepaid| {
            let mut value = sums(&prepaid.sums, prices);
            value["percent"] = format!("{} %", prepaid.percent).into();
            value["discount"] = money(prepaid.discount, prices);
            value["due"] = self.quoting.day.prepay_due.clone().into();
            value
        });
        json!({
            "quote": self.id,
            "property": self.property,
            "date": self.quoting.day.day,
            "valid_until": self.quoting.day.valid_until,
            "currency": { "code": prices.currency.code(), "decimals": prices.currency.decimals() },
            "business": {
                "name": business.name,
                "address": business.address,
                "contact": business.contact,
                "license": business.license,
            },
            "customer": customer,
            "visits": visits.collect::<Vec<_>>(),
            "season": sums(&self.quote.season, prices),
            "prepaid": prepaid,
            "not_treated": not_treated.collect::<Vec<_>>(),
            "notes": self.notes,
            "terms": prices.terms,
            "how_it_is_counted": prices.how_it_is_counted(),
            "cautions": self.cautions,
        })
    }
}

fn money(value: Decimal, prices: &PriceList) -> Value {
    json!({ "value": value.to_string(), "text": prices.currency.print(value) })
}

fn visit(number: usize, visit: &QuotedVisit, quote: &PropertyQuote<'_>) -> Value {
    let lines = visit.lines.iter().map(|one| line(one, quote));
    let mut value = json!({
        "visit": number,
        "date": visit.day,
        "applications": visit.applications,
        "lines": lines.collect::<Vec<_>>(),
    });
    value["sums"] = sums(&visit.sums, quote.quoting.prices);
    value["sums"]["before"] = quote.quote.taxes_to_come().into();
    value
}

fn line(line: &Line, quote: &PropertyQuote<'_>) -> Value {
    let Quoting { prices, units, .. } = quote.quoting;
    let unit_price = format!("{} / {}", prices.currency.print(line.unit_price), line.unit);
    json!({
        "kind": line.kind.word(),
        "text": line.text,
        "note": line.note,
        "service": line.service,
        "application": line.application,
        "zone": line.zone,
        "basis": line.basis.map(turfplat_price::Basis::word),
        "basis_text": line.basis.map(|basis| quote.basis_text(basis)),
        "area_m2": line.area.map(Area::square_metres),
        "area_text": line.area.map(|area| area.print(units)),
        "quantity": line.quantity.to_string(),
        "unit": line.unit,
        "quantity_text": format!("{} × {}", line.quantity, line.unit),
        "unit_price": { "value": line.unit_price.to_string(), "text": unit_price },
        "amount": money(line.amount, prices),
        "taxes": prices.taxes_on(line),
    })
}

fn sums(sums: &Sums, prices: &PriceList) -> Value {
    let tax = |tax: &TaxSum| {
        json!({
            "name": tax.name,
            "rate": format!("{} %", tax.percent),
            "text": format!("{} {} %", tax.name, tax.percent),
            "taxable": money(tax.taxable, prices),
            "amount": money(tax.amount, prices),
        })
    };
    json!({
        "subtotal": money(sums.subtotal, prices),
        "taxes": sums.taxes.iter().map(tax).collect::<Vec<_>>(),
        "rounding": money(sums.rounding, prices),
        "total": money(sums.total, prices),
    })
}
