//! Quotes worked by hand, to the cent: each case is a file, with its arithmetic.

#![allow(clippy::unwrap_used)] // A test may.

use std::fs;
use std::path::{Path, PathBuf};

use serde::Deserialize;
use turfplat_money::{Decimal, Money};
use turfplat_price::{
    Container, Line, PriceList, ProductUse, Property, Quote, Visit, Work, ZoneWork,
};
use turfplat_units::{Area, Time};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    what: String,
    source: String,
    #[serde(default)]
    working: String,
    prices: String,
    lot_sq_ft: Option<f64>,
    distance: Option<Distance>,
    #[serde(default)]
    containers: Vec<Bought>,
    visit: Vec<OneVisit>,
    expect: Expect,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Distance {
    driven: String,
    unit: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Bought {
    product: String,
    size: String,
    count: u64,
    price: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OneVisit {
    day: Option<String>,
    work: Vec<OneWork>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OneWork {
    application: String,
    #[serde(default)]
    products: Vec<String>,
    zones: Vec<Zone>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Zone {
    zone: String,
    sq_ft: Option<f64>,
    m2: Option<f64>,
    gross_sq_ft: Option<f64>,
    minutes: Option<f64>,
    uses: Option<Vec<Use>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Use {
    product: String,
    amount: String,
    cost: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Expect {
    refused: Option<String>,
    #[serde(default)]
    lines: Vec<String>,
    subtotal: Option<String>,
    #[serde(default)]
    taxes: Vec<String>,
    rounding: Option<String>,
    total: Option<String>,
    discount: Option<String>,
    prepaid: Option<String>,
}

impl Zone {
    fn area(&self) -> Area {
        let of_feet = || Area::from_square_feet(self.sq_ft.unwrap()).unwrap();
        self.m2.map_or_else(of_feet, |m2| Area::from_square_metres(m2).unwrap())
    }

    fn work(&self) -> ZoneWork<'_> {
        let used = |one: &Use| ProductUse {
            product: one.product.clone(),
            name: one.product.to_uppercase(),
            amount: one.amount.clone(),
            cost: one.cost.as_deref().map(|cost| Money::read(cost).unwrap()),
        };
        ZoneWork {
            zone: &self.zone,
            treated: self.area(),
            net: self.area(),
            gross: self.gross_sq_ft.map_or(self.area(), |it| Area::from_square_feet(it).unwrap()),
            time: self.minutes.map(|minutes| Time::from_seconds(minutes * 60.0).unwrap()),
            products: self.uses.as_ref().map(|uses| uses.iter().map(used).collect()),
            note: None,
        }
    }
}

impl Case {
    fn property(&self) -> Property<'_> {
        let visits = self.visit.iter().map(|visit| Visit {
            day: visit.day.clone(),
            works: (visit.work.iter())
                .map(|work| Work {
                    application: &work.application,
                    products: work.products.iter().map(String::as_str).collect(),
                    service: None,
                    zones: work.zones.iter().map(Zone::work).collect(),
                })
                .collect(),
        });
        let unit = |unit: &str| if unit == "mile" { "mile" } else { "km" };
        Property {
            visits: visits.collect(),
            lot: self.lot_sq_ft.map(|it| Area::from_square_feet(it).unwrap()),
            distance: self.distance.as_ref().map(|it| (it.driven.parse().unwrap(), unit(&it.unit))),
            containers: (self.containers.iter())
                .map(|it| Container {
                    product: it.product.clone(),
                    name: it.product.to_uppercase(),
                    size: it.size.clone(),
                    count: it.count,
                    price: it.price.as_deref().map(|price| Money::read(price).unwrap()),
                })
                .collect(),
        }
    }
}

fn cases() -> Vec<(PathBuf, Case)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut paths: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    let case = |path: PathBuf| {
        let text = fs::read_to_string(&path).unwrap();
        let case =
            toml::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        (path, case)
    };
    paths.into_iter().map(case).collect()
}

fn as_row(line: &Line) -> String {
    let Line { text, quantity, unit_price, amount, .. } = line;
    format!("{text} | {quantity} | {unit_price} | {amount}")
}

fn all_lines(quote: &Quote) -> Vec<&Line> {
    quote.visits.iter().flat_map(|visit| &visit.lines).collect()
}

#[test]
fn tiers_are_named_by_what_they_price() {
    let note = |are: &str, square_feet: f64| {
        let list = format!(
            "currency = \"USD\"\n[[service]]\nname = \"Mowing\"\ntiers_are = \"{are}\"\ntiers = [{{ up_to = \"5000 sq ft\", price = \"3\" }}, {{ up_to = \"10000 sq ft\", price = \"2\" }}, {{ price = \"1\" }}]\n"
        );
        let area = Area::from_square_feet(square_feet).unwrap();
        let zone = ZoneWork {
            zone: "Lawn",
            treated: area,
            net: area,
            gross: area,
            time: None,
            products: None,
            note: Some("wet".to_owned()),
        };
        let work = Work { application: "June", zones: vec![zone], ..Work::default() };
        let visits = vec![Visit { day: None, works: vec![work] }];
        let list = PriceList::read("prices.toml", &list).unwrap();
        let quote = list.quote(&Property { visits, ..Property::default() }).unwrap();
        all_lines(&quote).last().unwrap().note.clone().unwrap()
    };
    for (are, square_feet, said) in [
        ("marginal", 4000.0, "the first 5,000 sq ft; wet"),
        ("marginal", 6000.0, "from 5,000 to 10,000 sq ft; wet"),
        ("marginal", 11_000.0, "beyond 10,000 sq ft; wet"),
        ("whole", 4000.0, "price for up to 5,000 sq ft in all; wet"),
        ("whole", 6000.0, "price for 5,000 to 10,000 sq ft in all; wet"),
        ("whole", 11_000.0, "price for more than 10,000 sq ft in all; wet"),
    ] {
        assert_eq!(note(are, square_feet), said, "{are} {square_feet}");
    }
}

#[test]
fn quotes_come_to_what_was_worked_by_hand() {
    let (mut quoted, mut refused) = (0, 0);
    for (path, case) in cases() {
        let name = format!("{} ({})", path.display(), case.what);
        assert!(!case.source.is_empty(), "{name} has no source");
        let list = PriceList::read("prices.toml", &case.prices)
            .unwrap_or_else(|error| panic!("{name}: {error}"));
        let done = list.quote(&case.property());
        if let Some(message) = &case.expect.refused {
            assert_eq!(done.unwrap_err().to_string(), *message, "{name}");
            refused += 1;
            continue;
        }
        assert!(!case.working.is_empty(), "{name} shows no working");
        let quote = done.unwrap_or_else(|error| panic!("{name}: {error}"));
        let rows: Vec<String> = all_lines(&quote).into_iter().map(as_row).collect();
        assert_eq!(rows, case.expect.lines, "{name}");
        let season = &quote.season;
        let taxes: Vec<String> =
            season.taxes.iter().map(|tax| format!("{} {}", tax.name, tax.amount)).collect();
        assert_eq!(taxes, case.expect.taxes, "{name}");
        let text = |money: Decimal| Some(money.to_string());
        assert_eq!(text(season.subtotal), case.expect.subtotal, "{name}: subtotal");
        assert_eq!(text(season.total), case.expect.total, "{name}: total");
        let rounding = case.expect.rounding.as_deref().unwrap_or("0");
        assert_eq!(season.rounding, rounding.parse::<Decimal>().unwrap(), "{name}: rounding");
        let prepaid = quote.prepaid.as_ref();
        assert_eq!(prepaid.map(|it| it.discount.to_string()), case.expect.discount, "{name}");
        assert_eq!(prepaid.map(|it| it.sums.total.to_string()), case.expect.prepaid, "{name}");
        quoted += 1;
    }
    assert!(quoted >= 14 && refused >= 8, "only {quoted} and {refused} cases were tried");
}
