//! Why the form's amounts are the plan's and yet no record of them: most loads go as planned, and a crew
//! writes only what differs; but a form that nobody looked over says `checked = false` and is refused.

use std::fmt::Write;

use jiff::tz::TimeZone;
use turfplat_ledger::{Field, FieldList, Record, missing};

/// What is asked, with an example beside it.
const ASKED: [(&str, &str); 17] = [
    ("started", "such as 07:40; a load may have its own"),
    ("ended", "when it was completed"),
    ("location", "an address, or how it is found"),
    ("applicator", "name of the certified applicator who applied or supervised"),
    ("license", "number of license or certificate"),
    ("uncertified", "who applied under supervision, or none"),
    ("company", ""),
    ("company_address", ""),
    ("customer", "name; kept only where a list asks for it"),
    ("customer_address", ""),
    ("purpose", "target pest or purpose"),
    ("temperature", "such as 72 F"),
    ("wind", "such as 5 mph"),
    ("wind_from", "such as SW"),
    ("incidents", "what went wrong, or none"),
    ("site", "what was treated"),
    ("method", ""),
];

/// A form to fill in for `record`, of which only the plan's side is known; times are of `zone`.
pub fn form(record: &Record, zone: &TimeZone) -> String {
    let mut text = format!(
        "# What happened: {} on {}. What stays \"\" is not told.\n\
         # Amounts and areas of loads are the plan's until you change them: what went out, and on how much\n\
         # ground (without what stayed in hose and sump). Look them over, then say so:\n\
         checked = false\n\n",
        comment(&record.application),
        comment(&record.property),
    );
    let mut line = |key: &str, value: String, remark: &str| {
        let remark = if remark.is_empty() { String::new() } else { format!("   # {remark}") };
        // Writing to a text fails never.
        let _ = writeln!(text, "{key} = {value}{remark}");
    };
    line("property", quoted(&record.property), "");
    line("application", quoted(&record.application), "");
    line("date", quoted(&record.date.to_string()), "day on which it was done");
    line(
        "timezone",
        quoted(zone.iana_name().unwrap_or("")),
        "of the times below, as America/Chicago",
    );
    let states: Vec<String> = record.places.iter().map(|place| quoted(place)).collect();
    let known: Vec<&str> = FieldList::all()
        .iter()
        .filter(|list| FieldList::place(&list.id).is_ok())
        .map(|list| list.id.as_str())
        .collect();
    line(
        "states",
        format!("[{}]", states.join(", ")),
        &format!("whose lists of fields are held to beside the federal ones: {}", known.join(", ")),
    );
    match record.hired {
        Some(hired) => line("hired", hired.to_string(), ""),
        None => line("#hired", "true".to_owned(), "work for hire? take the # away and say"),
    }
    let asked = missing(record);
    for (key, remark) in ASKED {
        let value = match key {
            "site" => record.site.as_deref(),
            "method" => record.method.as_deref(),
            _ => None,
        };
        let asks: Vec<&str> = (asked.iter())
            .filter(|it| it.field.key() == key && it.field != Field::Rate)
            .flat_map(|it| it.asked_by.iter().copied())
            .collect();
        let asks = if asks.is_empty() {
            String::new()
        } else {
            format!("asked for by {}", asks.join(", "))
        };
        let remark: Vec<&str> = [remark, &asks].into_iter().filter(|it| !it.is_empty()).collect();
        line(key, quoted(value.unwrap_or("")), &remark.join("; "));
    }
    line("note", quoted(""), "");
    for product in &record.products {
        let name = product.name.as_deref().unwrap_or("");
        let registration = product.registration.as_deref().unwrap_or("");
        let _ = write!(
            text,
            "\n[[product]]\nproduct = {}\nname = {}\nregistration = {}   # number of the label, or none\nlots = []   # lot numbers, as [\"A1\", \"B2\"]\n",
            quoted(&product.id),
            quoted(name),
            quoted(registration),
        );
    }
    for load in &record.loads {
        let _ = write!(text, "\n[[load]]\n");
        for (key, number) in [("batch", load.batch), ("load", load.load)] {
            if let Some(number) = number {
                let _ = writeln!(text, "{key} = {number}");
            }
        }
        let _ = write!(text, "started = \"\"\nended = \"\"\n");
        if let Some(spray) = &load.planned_spray_volume {
            let _ = writeln!(
                text,
                "spray_volume = {}   # water and products that went out; or water = \"…\" alone",
                quoted(&spray.written)
            );
        }
        let pairs = |pairs: Vec<(&String, String)>| {
            let pairs: Vec<String> =
                pairs.iter().map(|(name, value)| format!("{} = {value}", quoted(name))).collect();
            format!("{{ {} }}", pairs.join(", "))
        };
        let planned = |it: Option<&str>| quoted(it.unwrap_or(""));
        let amounts = load
            .products
            .iter()
            .map(|put| (&put.product, planned(put.planned.as_ref().map(|it| it.written.as_str()))));
        let areas = load
            .done
            .iter()
            .map(|done| (&done.zone, planned(done.planned.as_ref().map(|it| it.written.as_str()))));
        let _ = writeln!(text, "amounts = {}", pairs(amounts.collect()));
        let _ = writeln!(text, "areas = {}", pairs(areas.collect()));
    }
    text
}

/// A text as TOML takes it for a value and for a key: on one line. JSON's escapes are TOML's, but that TOML
/// wants one for the delete sign too.
fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string().replace('\u{7f}', "\\u007F")
}

/// A name that stays on its line.
fn comment(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use turfplat_ledger::Quantity;

    use super::*;
    use crate::record::{FinishedPlan, Happened};

    /// A plan of two loads, of one zone and product that are called so.
    fn planned(property: &str, zone: &str, product: &str) -> Record {
        let covers = |area: f64| serde_json::json!([{ "zone": zone, "area_m2": area }]);
        let load = |number: u32, fl_oz: f64, area: f64| {
            serde_json::json!({
                "load": number,
                "spray_volume": { "value": 2.5, "unit": "gal" },
                "products": [{ "product": product, "measure": { "value": fl_oz, "unit": "fl oz" } }],
                "covers": covers(area),
            })
        };
        let document = serde_json::json!({ "properties": [{
            "property": property,
            "applications": [{
                "name": "June",
                "date": "2024-06-10",
                "products": [product],
                "equipment": "knapsack",
                "zones": [{
                    "zone": zone,
                    "treated_area_m2": 464.5152,
                    "products": [{
                        "product": product,
                        "rate": { "value": 0.5, "unit": "fl oz/1000 sq ft" },
                        "amount": { "value": 2.5, "unit": "fl oz" },
                    }],
                }],
                "batches": [{ "batch": 1, "loads": [load(1, 1.5, 278.709_12), load(2, 1.0, 185.806_08)] }],
            }],
        }] });
        let plan = FinishedPlan::read("plan.json", &document.to_string()).expect("a plan");
        let work = plan.work(None, None).expect("one");
        work.untold(work.day().expect("a day"))
    }

    proptest! {
        /// A form that was looked over and not changed tells the plan's amounts, whatever things are called.
        #[test]
        fn an_unchanged_form_tells_the_plan(
            property in "[^\\x00]{1,20}", zone in "[^\\x00]{1,20}", product in "\\PC{1,20}"
        ) {
            let mut record = planned(&property, &zone, &product);
            let text = form(&record, &TimeZone::UTC);
            let untouched = Happened::read("form.toml", &text).expect("a form");
            let now = "2024-06-11T08:00:00+00:00[UTC]".parse().expect("a time");
            prop_assert!(untouched.lay_over(&mut record.clone(), &now).is_err());
            let text = text.replacen("checked = false", "checked = true", 1);
            let told = Happened::read("form.toml", &text).expect("a form");
            let result = told.lay_over(&mut record, &now);
            // A name of blanks alone is nobody's; the plan refuses no such, and the form cannot tell it.
            let is_blank = [&property, &product, &zone].iter().any(|it| it.trim() != it.as_str());
            prop_assume!(!is_blank);
            prop_assert!(result.is_ok(), "{result:?}");
            let amount = record.loads[1].products[0].amount.as_ref().and_then(Quantity::amount);
            prop_assert_eq!(amount, record.loads[1].products[0].planned.as_ref().and_then(Quantity::amount));
            prop_assert!(record.loads.iter().all(|load| load.done[0].area.is_some()));
        }
    }
}
