//! A quote as a table, for whoever looks it over before it goes out.

use turfplat::price::{Line, PriceList, QuotedVisit, Sums};
use turfplat::{PropertyQuote, Quoting};

use crate::table;

/// The whole quote.
pub(crate) fn as_table(quote: &PropertyQuote<'_>) -> String {
    let quoting = quote.quoting;
    let prices = quoting.prices;
    let mut text = format!(
        "Quote {} for {}, valid until {}\n",
        quote.id, quote.property, quoting.day.valid_until
    );
    if let Some(customer) = quote.customer {
        let all = [&customer.name].into_iter().chain(&customer.address).chain(&customer.contact);
        let all: Vec<&str> = all.map(String::as_str).filter(|it| !it.is_empty()).collect();
        text.push_str(&format!("{}\n", all.join(", ")));
    }
    let to_come = quote.quote.taxes_to_come();
    let before = match to_come.as_slice() {
        [] => String::new(),
        taxes => format!(", before {}", taxes.join(", ")),
    };
    for (place, visit) in quote.quote.visits.iter().enumerate() {
        text.push_str(&visit_table(place + 1, visit, &before, quote));
    }
    if quote.quote.visits.len() > 1 || !to_come.is_empty() {
        text.push_str(&sums("Season", &quote.quote.season, prices));
    }
    if let Some(prepaid) = &quote.quote.prepaid {
        let due = quoting.day.prepay_due.as_deref().unwrap_or_default();
        let off = prices.currency.print(-prepaid.discount);
        text.push_str(&sums(
            &format!("Paid ahead by {due}, {} % off ({off})", prepaid.percent),
            &prepaid.sums,
            prices,
        ));
    }
    if !quote.not_treated.is_empty() {
        text.push_str("\nNot treated and not priced:\n");
    }
    for one in &quote.not_treated {
        let application = match one.application.as_str() {
            "" => String::new(),
            name => format!("{name}, "),
        };
        text.push_str(&format!("  {application}{}: {}\n", one.zone, one.reason));
    }
    text.push_str(&listed("Notes", &quote.notes));
    text.push_str(&listed("Terms", &prices.terms));
    text.push_str(&listed("How it is counted", &prices.how_it_is_counted()));
    text.push_str(&listed("Cautions", &quote.cautions));
    text.push('\n');
    text
}

fn visit_table(
    number: usize,
    visit: &QuotedVisit,
    before: &str,
    quote: &PropertyQuote<'_>,
) -> String {
    let Quoting { prices, units, .. } = quote.quoting;
    let day = visit.day.as_ref().map_or_else(String::new, |day| format!(", {day}"));
    let mut table = table::new(["what", "area", "priced", "quantity", "unit price", "amount"]);
    for line in &visit.lines {
        let area = line.area.map_or_else(String::new, |area| area.print(units));
        table.add_row(vec![
            comfy_table::Cell::new(with_note(line)),
            table::number(area),
            comfy_table::Cell::new(line.basis.map_or("", |basis| basis.word())),
            table::number(line.quantity),
            table::number(format!("{} / {}", prices.currency.print(line.unit_price), line.unit)),
            table::number(prices.currency.print(line.amount)),
        ]);
    }
    let title = format!("\nVisit {number}{day}: {}\n", visit.applications.join(", "));
    title
        + &format!("{}\n", table.trim_fmt())
        + &sums(&format!("Visit{before}"), &visit.sums, prices)
}

fn with_note(line: &Line) -> String {
    match &line.note {
        None => line.text.clone(),
        Some(note) => format!("{} ({note})", line.text),
    }
}

/// `Visit: $62.38 + State tax 5.5 % $3.43 = $65.81`.
fn sums(what: &str, sums: &Sums, prices: &PriceList) -> String {
    let print = |value| prices.currency.print(value);
    let mut text = format!("{what}: {}", print(sums.subtotal));
    for tax in &sums.taxes {
        text.push_str(&format!(" + {} {} % {}", tax.name, tax.percent, print(tax.amount)));
    }
    if !sums.rounding.is_zero() {
        text.push_str(&format!(" + rounding {}", print(sums.rounding)));
    }
    if sums.total != sums.subtotal || !sums.taxes.is_empty() {
        text.push_str(&format!(" = {}", print(sums.total)));
    }
    text + "\n"
}

fn listed(title: &str, lines: &[String]) -> String {
    if lines.is_empty() {
        return String::new();
    }
    let lines: Vec<String> = lines.iter().map(|line| format!("  {line}\n")).collect();
    format!("\n{title}:\n{}", lines.concat())
}
