//! Laws of the limits from the job to the cup: whatever went on before, no year gets too much.

#![allow(clippy::unwrap_used)] // A test may.

use proptest::prelude::*;
use turfplat::dose::{Day, LimitVerdict};
use turfplat::units::{Amount, AmountUnit};
use turfplat::{
    ApplicationPlan, CoordinateSystem, Job, MapSource, PlanOptions, Planned, PropertyMap, plan,
    read_map,
};

/// What the label allows in a year, in fl oz/1000 sq ft.
const MOST: f64 = 2.0;

/// Rounding of sums of a few dozen numbers, there and back through units.
const ROUNDING: f64 = 1.0 + 1e-8;

fn map(widths: [f64; 2]) -> PropertyMap {
    let lawn = |name: &str, west: f64, east: f64| {
        format!(
            r#"{{"type":"Feature","properties":{{"kind":"turf","name":"{name}","species":"tall-fescue"}},"geometry":{{"type":"Polygon","coordinates":[[[{west},0],[{east},0],[{east},50],[{west},50],[{west},0]]]}}}}"#
        )
    };
    let features =
        [lawn("A", 0.0, widths[0]), lawn("B", widths[0] + 3.0, widths[0] + widths[1] + 3.0)];
    let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","));
    read_map(&[MapSource::geojson("map.geojson", text.into_bytes(), CoordinateSystem::PLANE_FEET)])
        .unwrap()
}

fn product(id: &str, limits: &str) -> String {
    format!(
        "id = \"{id}\"\nname = \"{id}\"\nclass = \"growth regulator\"\nform = \"liquid\"\nformulation = \"EC\"\n\
         [[active_ingredients]]\nname = \"x\"\ncontent = \"1 lb/gal\"\n[limits]\n{limits}\n"
    )
}

fn read(text: &str) -> Job {
    let own = product("own", &format!("max_per_year = {{ limit = \"{MOST} fl oz/1000 sq ft\" }}"));
    let other = product("other", "");
    Job::read("job.toml", text, &move |path| match path {
        "own.toml" => Ok(own.clone()),
        "other.toml" => Ok(other.clone()),
        _ => Err(std::io::ErrorKind::NotFound.into()),
    })
    .unwrap()
}

fn knapsack(mark: f64, dead: f64) -> String {
    format!(
        "[equipment.knapsack]\ndead_volume = \"{dead} gal\"\nkind = \"backpack\"\ntank = \"3 gal\"\nspray_volume = \"1 gal/1000 sq ft\"\nsmallest_measure = \"{mark} mL\"\n"
    )
}

/// A treatment of the past or of the plan: days from the start, fl oz/1000 sq ft, whether it is the
/// other product, and on which lawns.
#[derive(Clone, Debug)]
struct Treatment {
    days: u32,
    ounces: f64,
    other: bool,
    zones: &'static str,
}

impl Treatment {
    fn day(&self) -> Day {
        Day::read("2025-01-01").unwrap().plus_days(self.days)
    }

    fn product(&self) -> &'static str {
        if self.other { "other.toml" } else { "own.toml" }
    }

    fn history(&self, as_amount: bool) -> String {
        let Treatment { ounces, zones, .. } = self;
        let much = if as_amount {
            format!("amount = \"{} fl oz\"\narea = \"3500 sq ft\"", ounces * 3.5)
        } else {
            format!("rate = \"{ounces} fl oz/1000 sq ft\"")
        };
        format!(
            "[[history]]\ndate = \"{}\"\nproduct = \"{}\"\nzones = [{zones}]\n{much}\n",
            self.day(),
            self.product()
        )
    }

    fn application(&self, name: &str) -> String {
        format!(
            "[[application]]\nname = \"{name}\"\nequipment = \"knapsack\"\ndate = \"{}\"\nzones = [{}]\n[[application.product]]\nproduct = \"{}\"\nlabel_checked = \"2024-05-02\"\nrate = \"{} fl oz/1000 sq ft\"\n",
            self.day(),
            self.zones,
            self.product(),
            self.ounces,
        )
    }
}

fn treatments(days: std::ops::Range<u32>, most: usize) -> impl Strategy<Value = Vec<Treatment>> {
    let zones = prop_oneof![Just(r#""A""#), Just(r#""B""#), Just(r#""B", "A""#)];
    let one = (days, 0.1..0.9, any::<bool>(), zones)
        .prop_map(|(days, ounces, other, zones)| Treatment { days, ounces, other, zones });
    prop::collection::vec(one, 0..most)
}

fn planned<'a>(map: &PropertyMap, job: &'a Job) -> Planned<'a> {
    let date = Some("2026-12-31".to_owned());
    plan(map, job, &PlanOptions { date, ..PlanOptions::default() }).unwrap()
}

fn fluid_ounces(amount: Amount) -> f64 {
    amount.in_unit(AmountUnit::FluidOunce).unwrap()
}

/// The most that any load puts on a zone, in fl oz/1000 sq ft, as it is measured out.
fn measured_on(application: &ApplicationPlan<'_>, zone: &str) -> Option<f64> {
    let loads = application.batches.iter().flat_map(|batch| &batch.loads);
    let strengths =
        loads.filter(|load| load.covers.iter().any(|cover| cover.zone == zone)).map(|load| {
            let covered: f64 = load.covers.iter().map(|cover| cover.area.square_feet()).sum();
            let exact = fluid_ounces(load.products[0].exact);
            let poured = [&load.products[0], &load.mixed_products()[0]];
            let times = poured.map(|one| fluid_ounces(one.measured) / fluid_ounces(one.exact));
            // Never less than planned: what is rounded down may be put on with a rest.
            times[0].max(times[1]).max(1.0) * exact / covered * 1000.0
        });
    strengths.reduce(f64::max)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 128, ..ProptestConfig::default() })]

    /// No twelve months of any lawn get more than the label allows through what is planned,
    /// measured amounts and the other product of the same active ingredient included; and nothing
    /// is refused that would have fitted.
    #[test]
    fn no_year_of_any_lawn_gets_too_much(
        widths in prop::array::uniform2(36.0..150.0_f64),
        mut history in treatments(0..700, 6),
        trips in treatments(700..1000, 4),
        mark in 0.2..4.0_f64,
        dead in 0.0..0.5_f64,
        // How much of the year the first trip leaves, where it nearly fills it: there a mark
        // above the exact amount would be too much.
        left in prop::option::weighted(0.7, 0.0..0.03_f64),
    ) {
        let mut text = knapsack(mark, dead);
        if let Some(left) = left {
            history.iter_mut().for_each(|treatment| treatment.days %= 340);
            history.push(Treatment { days: 600, ounces: MOST - 0.4 - left, other: false, zones: r#""A", "B""# });
        }
        let first = Treatment { days: 710, ounces: 0.4, other: false, zones: r#""A", "B""# };
        let trips: Vec<Treatment> = [vec![first], trips].concat();
        for (place, trip) in trips.iter().enumerate() {
            text.push_str(&trip.application(&format!("trip {place}")));
        }
        history.iter().for_each(|treatment| text.push_str(&treatment.history(false)));
        let job = read(&text);
        let map = map(widths);
        let planned = planned(&map, &job);
        let Some(plan) = planned.plans.first() else { return Ok(()) };
        for zone in ["A", "B"] {
            let on_it = |zones: &str| zones.contains(&format!("\"{zone}\""));
            let before = history.iter().filter(|treatment| on_it(treatment.zones));
            let before = before.map(|treatment| (treatment.day(), treatment.ounces));
            let given: Vec<(Day, f64, bool)> = (plan.applications.iter())
                .filter_map(|one| {
                    let other = one.products[0].id == "other";
                    Some((one.day.unwrap(), measured_on(one, zone)?, other))
                })
                .collect();
            let all: Vec<(Day, f64)> =
                before.chain(given.iter().map(|(day, ounces, _)| (*day, *ounces))).collect();
            // 2025 to 2027 have no 29 February: twelve months are 365 days.
            let in_window = |start: Day, day: Day| (0..365).contains(&day.days_since(start));
            let sum = |start: Day| -> f64 {
                all.iter().filter(|(day, _)| in_window(start, *day)).map(|(_, ounces)| ounces).sum()
            };
            let own_lies_there = history.iter().any(|one| on_it(one.zones) && !one.other);
            for (start, _) in &all {
                let holds = given.iter().any(|(day, _, other)| in_window(*start, *day) && (!other || own_lies_there));
                prop_assert!(!holds || sum(*start) <= MOST * ROUNDING, "{zone}: {} from {start}", sum(*start));
            }
            for application in &plan.applications {
                let day = application.day.unwrap();
                let Some(skipped) = application.skipped.iter().find(|skipped| skipped.zone == zone) else { continue };
                prop_assert!(skipped.refused, "{}", skipped.reason);
                let asked = trips.iter().find(|trip| trip.day() == day && on_it(trip.zones)).unwrap();
                let starts = all.iter().map(|(start, _)| *start).chain([day]);
                let fullest = starts.filter(|start| in_window(*start, day)).map(sum).fold(0.0, f64::max);
                // Of two trips on one day either may have been the one.
                let same_day = trips.iter().filter(|trip| trip.day() == day).count() > 1;
                prop_assert!(same_day || fullest + asked.ounces > MOST / ROUNDING, "{zone} on {day}: {fullest}");
            }
        }
    }

    /// An amount on an area is a rate; the order of the history changes nothing; and a trip in two
    /// parts on one day asks the year for the same.
    #[test]
    fn a_year_is_one_sum(
        (history, shuffled) in treatments(0..700, 6).prop_flat_map(|history| (Just(history.clone()), Just(history).prop_shuffle())),
        ounces in 0.1..0.9_f64,
    ) {
        let map = map([60.0, 80.0]);
        let asked = |history: &[Treatment], as_amount: bool, parts: u32| {
            let mut text = knapsack(0.2, 0.0);
            let trip = Treatment { days: 700, ounces: ounces / f64::from(parts), other: false, zones: r#""A", "B""# };
            for part in 1..=parts {
                text.push_str(&trip.application(&format!("part {part}")));
            }
            history.iter().for_each(|treatment| text.push_str(&treatment.history(as_amount)));
            let job = read(&text.replace("smallest_measure = \"0.2 mL\"\n", ""));
            let planned = planned(&map, &job);
            let limits = &planned.plans[0].applications.last().unwrap().limits;
            let years = limits.iter().filter(|checked| checked.limit == "max_per_year");
            years.map(|checked| (checked.asked.clone().unwrap().value, checked.verdict)).collect::<Vec<_>>()
        };
        let one = asked(&history, false, 1);
        prop_assert_eq!(one.len(), 2);
        let others = [asked(&shuffled, false, 1), asked(&history, true, 1)];
        let fits = one.iter().all(|(_, verdict)| *verdict == LimitVerdict::Kept);
        // Where the first part is refused the second asks for its own alone.
        let parts = fits.then(|| asked(&history, false, 2));
        for other in others.iter().chain(&parts) {
            for ((a, verdict), (b, other)) in one.iter().zip(other) {
                prop_assert!((a - b).abs() <= 1e-9, "{a} and {b}");
                prop_assert!(verdict == other || (a - MOST).abs() < 1e-6);
            }
        }
    }
}
