//! Laws that whoever pays the bill would nod at.

#![allow(clippy::unwrap_used)] // A test may.

use proptest::prelude::*;
use turfplat_price::{Decimal, PriceList, Property, Quote, Visit, Work, ZoneWork};
use turfplat_units::Area;

fn decimal(text: &str) -> Decimal {
    text.parse().unwrap()
}

fn zone(name: &'static str, square_feet: f64) -> ZoneWork<'static> {
    let area = Area::from_square_feet(square_feet).unwrap();
    ZoneWork {
        zone: name,
        treated: area,
        net: area,
        gross: area,
        time: None,
        products: None,
        note: None,
    }
}

const NAMES: [&str; 4] = ["A", "B", "C", "D"];

fn work(areas: &[f64]) -> Work<'static> {
    let zones = NAMES.iter().zip(areas).map(|(name, area)| zone(name, *area)).collect();
    Work { application: "June", zones, ..Work::default() }
}

fn quote(list: &PriceList, visits: &[Vec<f64>]) -> Quote {
    let visits = visits.iter().map(|areas| Visit { day: None, works: vec![work(areas)] });
    list.quote(&Property { visits: visits.collect(), ..Property::default() }).unwrap()
}

prop_compose! {
    fn price()(cents in 0_u32..10_000) -> String {
        format!("{}.{:02}", cents / 100, cents % 100)
    }
}

prop_compose! {
    /// A list with everything that is added to lines.
    fn any_list()(
        one in price(), two in price(), three in price(), flat in price(), minimum in price(), travel in price(),
        border in 1_u32..20_000, more in 1_u32..20_000,
        rate in 0_u32..2_500, other_rate in 0_u32..2_500, off in 0_u32..10_000,
        per in prop::sample::select(vec!["line", "visit", "quote"]),
        halves in prop::sample::select(vec!["up", "even"]),
        to in prop::sample::select(vec!["0.01", "0.05", "0.25", "1.00"]),
        are in prop::sample::select(vec!["marginal", "whole"]),
    ) -> String {
        let hundredths = |it: u32| format!("{}.{:02} %", it / 100, it % 100);
        format!(r#"
currency = "USD"
halves = "{halves}"
total_to = "{to}"
minimum_per_visit = "{minimum}"
[[service]]
name = "Feeding"
tiers_are = "{are}"
tiers = [{{ up_to = "{border} sq ft", price = "{one}" }}, {{ up_to = "{} sq ft", price = "{two}" }}, {{ price = "{three}" }}]
per_application = "{flat}"
[travel]
per_visit = "{travel}"
[[tax]]
name = "State"
rate = "{}"
per = "{per}"
[[tax]]
name = "Town"
rate = "{}"
on = ["travel", "area"]
[prepay]
discount = "{}"
"#, border + more, hundredths(rate), hundredths(other_rate), hundredths(off))
    }
}

fn areas() -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(0.0_f64..40_000.0, 1..4)
}

fn sum<'a>(all: impl IntoIterator<Item = &'a Decimal>) -> Decimal {
    all.into_iter().sum()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// What is printed adds up: lines to subtotals, visits to the season, the season less the discount
    /// to what is paid ahead.
    #[test]
    fn what_is_printed_adds_up(list in any_list(), visits in prop::collection::vec(areas(), 1..4)) {
        let list = PriceList::read("prices.toml", &list).unwrap();
        let quote = quote(&list, &visits);
        for visit in &quote.visits {
            let lines: Vec<Decimal> = visit.lines.iter().map(|line| line.amount).collect();
            prop_assert_eq!(sum(&lines), visit.sums.subtotal);
            for line in &visit.lines {
                let exact = line.quantity * line.unit_price;
                prop_assert!((exact - line.amount).abs() <= decimal("0.005"), "{:?}", line);
                prop_assert_eq!(line.amount.scale(), 2);
            }
            let sums = &visit.sums;
            prop_assert_eq!(sums.subtotal + sums.tax() + sums.rounding, sums.total);
        }
        let season = &quote.season;
        prop_assert_eq!(quote.visits.iter().map(|it| it.sums.subtotal).sum::<Decimal>(), season.subtotal);
        prop_assert_eq!(season.subtotal + season.tax() + season.rounding, season.total);
        let (taxes, rounding) = quote.on_the_season_alone();
        let alone = taxes.iter().map(|tax| tax.amount).sum::<Decimal>() + rounding;
        prop_assert_eq!(quote.visits.iter().map(|it| it.sums.total).sum::<Decimal>() + alone, season.total);
        let ahead = quote.prepaid.unwrap();
        prop_assert_eq!(season.subtotal - ahead.discount, ahead.sums.subtotal);
        prop_assert_eq!(ahead.sums.subtotal + ahead.sums.tax() + ahead.sums.rounding, ahead.sums.total);
        prop_assert!(ahead.sums.subtotal <= season.subtotal);
    }

    /// A larger lawn never costs less where each tier prices its own part.
    #[test]
    fn more_area_never_costs_less_under_marginal_tiers(
        list in any_list(),
        area in 0.0_f64..40_000.0,
        more in 0.0_f64..5_000.0,
    ) {
        let list = PriceList::read("prices.toml", &list.replace("whole", "marginal")).unwrap();
        let cost = |area: f64| quote(&list, &[vec![area]]).season.subtotal;
        prop_assert!(cost(area) <= cost(area + more));
    }

    /// Where one price holds for all, how a lawn is parted moves its price by no more than half a cent a part.
    #[test]
    fn parting_a_lawn_is_no_way_to_save(cents in 0_u32..5_000, parts in prop::collection::vec(0_u32..20_000, 1..4)) {
        let list = format!("currency = \"USD\"\n[[service]]\nname = \"Feeding\"\nprice = \"{}.{:02}\"\n", cents / 100, cents % 100);
        let list = PriceList::read("prices.toml", &list).unwrap();
        let parted: Vec<f64> = parts.iter().map(|feet| f64::from(*feet)).collect();
        let whole = vec![f64::from(parts.iter().sum::<u32>())];
        let difference = quote(&list, &[parted]).season.total - quote(&list, &[whole]).season.total;
        let most = decimal("0.005") * Decimal::from(parts.len() + 1);
        prop_assert!(difference.abs() <= most, "{}", difference);
    }

    /// Whatever stands in a file, it is read or refused, and never more.
    #[test]
    fn no_text_stops_the_reader(
        list in any_list(),
        at in 0_usize..900,
        put in "[\\x00-\\x7f€０]{0,4}",
    ) {
        let at = (0..=at.min(list.len())).rev().find(|at| list.is_char_boundary(*at)).unwrap();
        let damaged = format!("{}{put}{}", &list[..at], &list[(at + put.len()).min(list.len())..]);
        if let Ok(list) = PriceList::read("prices.toml", &damaged) {
            let property = Property {
                visits: vec![Visit { day: None, works: vec![work(&[1000.0, 9e18])] }],
                ..Property::default()
            };
            let _ = list.quote(&property);
            let _ = list.on("2026-06-08");
        }
        let _ = turfplat_price::Customers::read("customers.csv", damaged.as_bytes());
        let _ = turfplat_price::Customers::read("customers.toml", damaged.as_bytes());
    }
}
