//! The quote that stands in `data/quote.json`, invented, set by our template and by others.

#![allow(clippy::unwrap_used)] // A test may.

use std::process::Command;

use serde_json::{Value, json};
use turfplat_pdf::{Pdf, PdfError, Template, render};

const LOGO: &[u8] = br##"<svg xmlns="http://www.w3.org/2000/svg" width="200" height="80"><rect width="200" height="80" rx="20" fill="#264"/></svg>"##;
const MAP: &[u8] = br##"<svg xmlns="http://www.w3.org/2000/svg" width="260pt" height="210pt" viewBox="0 0 260 210" font-family="Inter"><rect width="260" height="210" fill="#eee"/><text x="20" y="40" font-size="12">Front lawn</text></svg>"##;

fn data() -> Value {
    serde_json::from_str(include_str!("data/quote.json")).unwrap()
}

fn read(pdf: &Pdf) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("quote.pdf");
    std::fs::write(&file, &pdf.bytes).unwrap();
    let output = Command::new("pdftotext").args(["-raw"]).arg(&file).arg("-").output();
    let output = output.expect("poppler's commands; scripts/prepare --tests brings them");
    let text = String::from_utf8(output.stdout).unwrap().replace('\u{200b}', "");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every text under `text`, as it is to be printed.
fn texts(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::Object(members) => {
            for (key, member) in members {
                match member {
                    Value::String(text) if key == "text" || key == "quantity_text" => {
                        found.push(text.clone());
                    }
                    other => texts(other, found),
                }
            }
        }
        Value::Array(items) => items.iter().for_each(|item| texts(item, found)),
        _ => {}
    }
}

#[test]
fn every_line_and_sum_of_a_quote_is_on_the_paper() {
    let mut data = data();
    data["logo"] = json!({ "name": "logo.svg" });
    data["map"] = json!({ "name": "map.svg", "width": 260.0, "height": 210.0, "alt": "Map of 14 Alder Lane" });
    let files: [(&str, &[u8]); 2] = [("logo.svg", LOGO), ("map.svg", MAP)];
    let pdf = render(&Template::quote(), &data, &files).unwrap();
    assert!(pdf.accessible);
    let read = read(&pdf);
    let mut all = Vec::new();
    texts(&data["quote"]["visits"], &mut all);
    for of in ["season", "prepaid"] {
        for sum in ["subtotal", "total"] {
            all.push(data["quote"][of][sum]["text"].as_str().unwrap().to_owned());
        }
    }
    // Rounding of nothing is not said.
    all.retain(|text| text != "$0.00");
    assert!(all.len() > 20, "{all:?}");
    // Sentences begin large on paper, and a minus is one.
    let folded = |text: &str| text.to_lowercase().replace('−', "-");
    for text in &all {
        assert!(folded(&read).contains(&folded(text)), "{text}: {read}");
    }
    for text in [
        "A. *Sample* #eval(\"1\")",
        "Valid until 2026-07-08",
        "−$0.03",
        "season, paid ahead by 2026-06-22",
        "Meadow (June): its grass is not listed",
        "Prices hold while the turf is as drawn on the map.",
        "Front lawn",
    ] {
        assert!(read.contains(text), "{text}: {read}");
    }
    let bare = render(&Template::quote(), &self::data(), &[]).unwrap();
    // Without logo and map it takes no more paper.
    assert!(bare.pages <= pdf.pages, "{} and {}", bare.pages, pdf.pages);
    assert_eq!((bare.pages, pdf.pages), (1, 2));
}

#[test]
fn what_is_not_known_of_a_quote_is_left_out_or_left_blank() {
    let mut data = data();
    let quote = data["quote"].as_object_mut().unwrap();
    for key in ["customer", "prepaid", "valid_until"] {
        quote.insert(key.to_owned(), Value::Null);
    }
    for key in ["not_treated", "notes", "terms", "cautions"] {
        quote.insert(key.to_owned(), json!([]));
    }
    quote["business"] = json!({ "name": null, "address": [], "contact": [], "license": null });
    let read = read(&render(&Template::quote(), &data, &[]).unwrap());
    assert!(read.contains("name and address") && !read.contains("paid ahead"), "{read}");
    assert!(!read.contains("none") && !read.contains("Valid until"), "{read}");
}

#[test]
fn a_template_and_a_logo_of_ones_own_take_the_place_of_ours() {
    let own = Template::own(
        "offer.typ",
        "#let q = json(\"data.json\").quote\n#image(\"logo.svg\", width: 60pt)\nOffer to #q.customer.name: #q.season.total.text",
    );
    let pdf = render(&own, &data(), &[("logo.svg", LOGO)]).unwrap();
    assert_eq!(read(&pdf), "Offer to A. *Sample* #eval(\"1\"): $178.08");
    // It says nothing of its picture, so it is none for screen readers.
    assert!(!pdf.accessible);
    let wrong = Template::own("offer.typ", "\n#json(\"data.json\").quote.nothing");
    let error = render(&wrong, &data(), &[]).unwrap_err();
    assert!(matches!(error, PdfError::Template { line: 2, .. }), "{error}");
}

/// `cargo test -p turfplat-pdf --test quote -- --ignored --nocapture`
#[test]
#[ignore = "takes a minute; for looking at time and memory"]
#[allow(clippy::print_stdout)]
fn a_thousand_quotes_keep_within_their_memory() {
    let files: [(&str, &[u8]); 1] = [("map.svg", MAP)];
    let started = std::time::Instant::now();
    let half = |from: usize| {
        for at in from..from + 500 {
            let mut data = data();
            data["quote"]["quote"] = format!("2026-06-08-{at}").into();
            data["map"] =
                json!({ "name": "map.svg", "width": 260.0, "height": 210.0, "alt": "map" });
            assert!(render(&Template::quote(), &data, &files).unwrap().accessible);
        }
    };
    std::thread::scope(|threads| {
        threads.spawn(|| half(0));
        threads.spawn(|| half(500));
    });
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find(|line| line.starts_with("VmHWM")).unwrap_or_default();
    println!("1,000 quotes in {:?}, {peak}", started.elapsed());
    // Only Linux tells the most that was held.
    if cfg!(target_os = "linux") {
        let kb: u64 = peak.split_whitespace().nth(1).and_then(|kb| kb.parse().ok()).unwrap();
        assert!(kb < 256 * 1024, "{peak}");
    }
}
