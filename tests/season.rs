//! Seasons worked by hand, seasons held to plans, and laws of a season.

#![allow(clippy::unwrap_used)] // A test may.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use proptest::prelude::*;
use serde::Deserialize;
use turfplat::dose::Day;
use turfplat::timing::{DailyOptions, DailySeries, DailySources, Date, heat_models, read_daily};
use turfplat::units::AmountUnit;
use turfplat::{
    CoordinateSystem, Job, JobError, MapSource, PlanOptions, PropertyMap, PropertySeason,
    SeasonOptions, plan, read_map, season_each,
};

fn folder() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("seasons")
}

fn map() -> PropertyMap {
    let bytes = fs::read(folder().join("map.geojson")).unwrap();
    read_map(&[MapSource::geojson("map.geojson", bytes, CoordinateSystem::PLANE_FEET)]).unwrap()
}

/// A partner of a mix, whose label states no limit.
const OTHER: &str = r#"
id = "other"
name = "other"
class = "fertilizer"
form = "liquid"
formulation = "SL"
label_checked = "2012-03-01"
"#;

fn read(job: &str, product: &str) -> Result<Job, JobError> {
    let product = product.to_owned();
    Job::read("job.toml", job, &move |path| match path {
        "own.toml" => Ok(product.clone()),
        "other.toml" => Ok(OTHER.to_owned()),
        _ => Err(std::io::ErrorKind::NotFound.into()),
    })
}

fn season_of(
    map: &PropertyMap,
    job: &Job,
    weather: Option<&DailySeries>,
) -> Result<PropertySeason, String> {
    let options = SeasonOptions {
        temperatures: DailySources { measured: weather, ..DailySources::default() },
        models: heat_models(),
        ..SeasonOptions::default()
    };
    let mut found = None;
    let done: Result<(), JobError> = season_each(map, job, &options, |season| {
        found = Some(season);
        Ok(())
    });
    done.map_err(|error| error.to_string())?;
    found.unwrap().map_err(|refusal| refusal.reasons.join("; "))
}

/// A rate or an amount to a millionth, which is all that rounding may do.
fn about(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

fn per_thousand(rate: turfplat::units::Rate, unit: AmountUnit) -> f64 {
    let thousand = turfplat::units::Area::from_square_feet(1000.0).unwrap();
    about(rate.on(thousand).in_unit(unit).unwrap())
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    what: String,
    source: String,
    weather: Option<String>,
    /// Of rates and of the total, where it is not fl oz.
    unit: Option<String>,
    treat: Vec<(String, String, String)>,
    left_out: Vec<(String, String)>,
    total: f64,
    job: String,
    product: String,
}

impl Case {
    fn unit(&self) -> AmountUnit {
        match self.unit.as_deref() {
            None => AmountUnit::FluidOunce,
            Some("lb") => AmountUnit::Pound,
            Some(other) => panic!("no unit {other}"),
        }
    }

    fn weather(&self) -> Option<DailySeries> {
        let file = self.weather.as_ref()?;
        let text = fs::read(folder().join(file)).unwrap();
        Some(read_daily(file, text.as_slice(), &DailyOptions::default()).unwrap())
    }
}

fn cases() -> Vec<(String, Case)> {
    let mut files: Vec<_> = fs::read_dir(folder()).unwrap().map(|it| it.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|it| it == "toml"));
    files.sort();
    let one = |path: &std::path::PathBuf| {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let case = toml::from_str(&fs::read_to_string(path).unwrap());
        (name.clone(), case.unwrap_or_else(|error| panic!("{name}: {error}")))
    };
    files.iter().map(one).collect()
}

#[test]
fn seasons_come_out_as_worked_by_hand() {
    let map = map();
    let cases = cases();
    assert_eq!(cases.len(), 15, "cases were added or lost");
    for (name, case) in cases {
        assert!(!case.what.is_empty() && !case.source.is_empty(), "{name} says no source");
        let job = read(&case.job, &case.product).unwrap_or_else(|error| panic!("{name}: {error}"));
        let weather = case.weather();
        let unit = case.unit();
        let season = season_of(&map, &job, weather.as_ref()).unwrap();
        let mut treated: Vec<(String, String, f64)> = Vec::new();
        let mut total = 0.0;
        for round in &season.rounds {
            for zone in &round.zones {
                let rate = per_thousand(zone.rates[0], unit);
                treated.push((round.day.to_string(), zone.zone.clone(), rate));
                total += zone.amounts[0].in_unit(unit).unwrap();
            }
        }
        let by_hand: Vec<(String, String, f64)> = case
            .treat
            .iter()
            .map(|(day, zone, rate)| (day.clone(), zone.clone(), rate.parse().unwrap()))
            .collect();
        assert_eq!(treated, by_hand, "{name}: {:?}", season.not_planned);
        let left_out: Vec<(String, String)> = (season.courses.iter())
            .flat_map(|course| {
                course.dropped.iter().map(|it| (it.day.to_string(), course.zone.clone()))
            })
            .collect();
        assert_eq!(left_out, case.left_out, "{name}");
        assert_eq!(about(total), case.total, "{name}");
        let needed: f64 = season.purchases.iter().map(|it| it.needed.in_unit(unit).unwrap()).sum();
        assert_eq!(about(needed), case.total, "{name}: what is to be bought");
    }
}

#[test]
fn what_is_missing_is_asked_for_zone_by_zone() {
    let product = "id = \"own\"\nname = \"own\"\nclass = \"growth regulator\"\nform = \"liquid\"\nformulation = \"EC\"\nlabel_checked = \"2026-03-01\"\n";
    let of = |season: &str| {
        let job = format!(
            "[equipment.knapsack]\nkind = \"backpack\"\ntank = \"4 gal\"\nspray_volume = \"1 gal/1000 sq ft\"\n{season}\n\
             [[application]]\nname = \"Growth\"\nequipment = \"knapsack\"\nzones = [\"Cool\", \"Mixed\"]\n\
             [[application.product]]\nproduct = \"own.toml\"\nlabel_checked = \"2026-03-01\"\nrate = \"0.5 fl oz/1000 sq ft\"\n"
        );
        let season = read(&job, product)
            .map_err(|error| error.to_string())
            .and_then(|job| season_of(&map(), &job, None));
        match season {
            Err(reason) => reason,
            Ok(season) => {
                season.refusal().map_or(String::new(), |refusal| refusal.reasons.join("\n"))
            }
        }
    };
    let both = "[season]\nfrom = 2026-05-01\nuntil = 2026-09-01\n";
    #[rustfmt::skip]
    let table = [
        ("", "application \"Growth\", zone \"Cool\": no first day is given; add from"),
        ("[season]\nfrom = 2026-05-01\n", "no last day is given; add until"),
        (both, "no interval is given; take it from your label: interval = \"28 days\" in [season]"),
        ("[season]\nfrom = 2026-05-01\nuntil = 2026-04-01\ninterval = \"28 days\"", "its season ends on 2026-04-01, before it begins on 2026-05-01"),
        ("[season]\ngreen_up = { soil = \"50 F\", days = 5, since = 2026-01-01 }\nuntil = 2026-09-01\ninterval = \"28 days\"", "green-up is asked of temperatures, and none are given; give --weather FILE"),
        ("[season]\nuntil = 2026-09-01\ninterval = \"28 days\"\n[season.warm]\nfrom = 2026-06-01\n[season.cool]\nfrom = 2026-05-01", "zone \"Mixed\": grows grasses of warm and of cool season, whose seasons differ; say which days are meant in [season.zones.\"Mixed\"]"),
        ("[season]\nfrom = 2026-02-01\nuntil = 2026-09-01\ninterval = \"28 days\"", "the label was checked on 2026-03-01, after its first treatment, 2026-02-01; correct label_checked, or begin later"),
        ("[season]\nfrom = 2026-05-01\nuntil = 2026-09-01\ninterval = \"28 days\"\npauses = [[\"2026-07-02\", \"2026-07-01\"]]", "its season has a pause that ends on 2026-07-01, before it begins on 2026-07-02"),
        ("[season]\ninterval = \"a month\"", "job.toml: season.interval: \"a month\" is no whole number of days; write it like \"28 days\" or \"4 weeks\""),
        ("[season]\nmost = 0", "job.toml: season.most: no treatment at all; take the line out, or write at least 1"),
        ("[season]\nfrom = \"May\"", "job.toml: season.from: \"May\" is no day of the calendar"),
        ("[season]\nat_limit = \"hope\"", "job.toml: season.at_limit: \"hope\" is not known; use one of: lower, drop"),
        ("[season]\ngreen_up = { soil = \"50\", days = 5, since = 2026-01-01 }", "season.green_up.soil: \"50\" is no temperature; write it like \"50 F\""),
        ("[season]\ngreen_up = { soil = \"50 F\", since = 2026-01-01 }", "season.green_up: give either soil and days"),
        ("[season]\ngreen_up = { degree_days = \"100\", base = \"0 C\", since = 2026-01-01 }", "season.green_up.degree_days: \"100\" is no sum of degree-days"),
        ("[season]\nmodel = \"bentgras-green\"", "job.toml: season.model: no model \"bentgras-green\" (there is: bentgrass-green, ultradwarf-green, bentgrass-fairway); did you mean \"bentgrass-green\"?"),
        ("[season]\nmodel = \"bentgrass-fairway\"", "the base temperature of model \"bentgrass-fairway\" was not found"),
        ("[season.zones.Pond]\nfrom = 2026-05-01", "job.toml: season.zones names zone \"Pond\", which is nowhere on the map"),
    ];
    for (season, told) in table {
        let reasons = of(season);
        assert!(reasons.contains(told), "{season}\n{reasons}\nshould say {told}");
    }
    // One zone that cannot be planned does not stop the other.
    let job = "[season]\nuntil = 2026-09-01\ninterval = \"28 days\"\n[season.warm]\nfrom = 2026-06-01\n[season.cool]\nfrom = 2026-05-01";
    assert!(!of(job).contains("\"Cool\""));
}

/// A season without lowered rates is a plan of as many dated applications.
#[test]
fn a_season_is_dosed_as_a_plan_of_its_days() {
    let map = map();
    let mut compared = 0;
    for (name, case) in cases() {
        let job = read(&case.job, &case.product).unwrap();
        let season = season_of(&map, &job, case.weather().as_ref()).unwrap();
        if season.rounds.iter().flat_map(|round| &round.zones).any(|zone| zone.lowered.is_some()) {
            continue;
        }
        compared += 1;
        // The same job, each round as an application with its date and zones.
        let (before, rest) = case.job.split_once("[season]").unwrap();
        let (_, application) = rest.split_once("[[application]]").unwrap();
        let (application, history) =
            application.split_once("[[history]]").unwrap_or((application, ""));
        let mut job = before.to_owned();
        for (place, round) in season.rounds.iter().enumerate() {
            let zones: Vec<String> =
                round.zones.iter().map(|it| format!("{:?}", it.zone)).collect();
            let dated = application.replacen(
                "\"Growth\"",
                &format!("\"{place}\"\ndate = {}\nzones = [{}]", round.day, zones.join(", ")),
                1,
            );
            let dated: String = dated
                .lines()
                .filter(|line| !line.starts_with("season"))
                .map(|it| format!("{it}\n"))
                .collect();
            job.push_str(&format!("[[application]]{dated}"));
        }
        if !history.is_empty() {
            job.push_str(&format!("[[history]]{history}"));
        }
        let job =
            read(&job, &case.product).unwrap_or_else(|error| panic!("{name}: {error}\n{job}"));
        let planned = plan(&map, &job, &PlanOptions::default()).unwrap();
        assert!(planned.refusals.is_empty(), "{name}: {:?}", planned.refusals);
        let applications = &planned.plans[0].applications;
        assert_eq!(applications.len(), season.rounds.len(), "{name}");
        for (round, of_plan) in season.rounds.iter().zip(applications) {
            assert_eq!(Day::read(&round.day.to_string()), of_plan.day);
            let amounts = |it: &[turfplat::units::Amount]| -> Vec<f64> {
                it.iter().map(|it| about(it.in_unit(case.unit()).unwrap())).collect()
            };
            assert_eq!(amounts(&round.totals), amounts(&of_plan.totals), "{name}");
            assert_eq!(round.water, of_plan.water, "{name}");
            assert_eq!(round.loads, of_plan.batches.iter().map(|it| it.loads.len()).sum::<usize>());
            let zones: Vec<&str> = round.zones.iter().map(|it| it.zone.as_str()).collect();
            let of_plan: Vec<&str> = of_plan.zones.iter().map(|it| it.zone.as_str()).collect();
            assert_eq!(zones, of_plan, "{name}");
        }
    }
    assert_eq!(compared, 11, "seasons were added or lost");
}

/// A season of one lawn, in hundredths of fl oz/1000 sq ft and days.
#[derive(Clone, Debug)]
struct Asked {
    rate: u32,
    cap: u32,
    label_days: u32,
    job_days: Option<u32>,
    from: u32,
    length: u32,
    calendar: bool,
    drops: bool,
    mark: Option<u32>,
    before: Vec<(u32, u32)>,
}

fn asked() -> impl Strategy<Value = Asked> {
    let before = prop::collection::vec((0_u32..500, 10_u32..80), 0..3);
    let days = (5_u32..70, prop::option::of(5_u32..70), 0_u32..400, 0_u32..300);
    let amounts = (20_u32..80, 80_u32..300, prop::option::of(1_u32..4));
    (amounts, days, any::<bool>(), any::<bool>(), before).prop_map(
        |((rate, cap, mark), (label_days, job_days, from, length), calendar, drops, before)| {
            Asked { rate, cap, label_days, job_days, from, length, calendar, drops, mark, before }
        },
    )
}

fn day_of(days: u32) -> Date {
    let start: Date = "2026-01-01".parse().unwrap();
    (0..days).fold(start, |day, _| day.tomorrow().unwrap())
}

fn hundredths(value: u32) -> String {
    format!("{}.{:02} fl oz/1000 sq ft", value / 100, value % 100)
}

/// Day and rate of each.
type Treatments = Vec<(Date, f64)>;

/// Every treatment of the lawn, and those of the past.
fn treatments(map: &PropertyMap, asked: &Asked) -> (Treatments, Treatments) {
    let product = format!(
        "id = \"own\"\nname = \"own\"\nclass = \"growth regulator\"\nform = \"liquid\"\nformulation = \"EC\"\nlabel_checked = \"2025-03-01\"\n\
         active_ingredients = [{{ name = \"x\", content = \"1 lb/gal\" }}]\n\
         rates = [{{ species = \"tall-fescue\", rate = [\"0.10 fl oz/1000 sq ft\", \"0.80 fl oz/1000 sq ft\"], basis = \"label\" }}]\n\
         [limits]\nyear = \"{}\"\nmin_interval = {{ limit = \"{} days\", source = \"label\" }}\n\
         max_per_year = {{ limit = \"{}\", source = \"label\" }}\n",
        if asked.calendar { "calendar year" } else { "12 months" },
        asked.label_days,
        hundredths(asked.cap),
    );
    let interval =
        asked.job_days.map_or(String::new(), |days| format!("interval = \"{days} days\"\n"));
    let mark =
        asked.mark.map_or(String::new(), |mark| format!("smallest_measure = \"{mark} mL\"\n"));
    let mut job = format!(
        "[equipment.knapsack]\nkind = \"backpack\"\ntank = \"3 gal\"\nspray_volume = \"1 gal/1000 sq ft\"\n{mark}\
         [season]\nfrom = {}\nuntil = {}\nat_limit = \"{}\"\n{interval}\
         [[application]]\nname = \"Growth\"\nequipment = \"knapsack\"\nzones = [\"Cool\"]\n\
         [[application.product]]\nproduct = \"own.toml\"\nrates = {{ tall-fescue = \"{}\" }}\n",
        day_of(asked.from),
        day_of(asked.from + asked.length),
        if asked.drops { "drop" } else { "lower" },
        hundredths(asked.rate),
    );
    let mut before = Vec::new();
    for (days, rate) in &asked.before {
        job.push_str(&format!(
            "[[history]]\ndate = {}\nproduct = \"own\"\nrate = \"{}\"\nzone = \"Cool\"\n",
            day_of(*days),
            hundredths(*rate)
        ));
        before.push((day_of(*days), f64::from(*rate) / 100.0));
    }
    let season = season_of(map, &read(&job, &product).unwrap(), None).unwrap();
    let of_rounds = season.rounds.iter().map(|round| {
        assert_eq!(round.zones.len(), 1);
        (round.day, per_thousand(round.zones[0].rates[0], AmountUnit::FluidOunce))
    });
    (of_rounds.collect(), before)
}

fn days_apart(a: Date, b: Date) -> i64 {
    b.duration_since(a).as_hours() / 24
}

/// Every year that a label may mean that holds a treatment of the season, with all that lies in it.
fn years(season: &[(Date, f64)], before: &[(Date, f64)], calendar: bool) -> Vec<f64> {
    let all: Vec<(Date, f64)> = season.iter().chain(before).copied().collect();
    let starts = all.iter().map(|(day, _)| *day);
    let sum = |start: Date| {
        let inside = |day: Date| match calendar {
            true => day.year() == start.year(),
            false => start <= day && Day::read(&day.to_string()) < a_year_on(start),
        };
        let ours = season.iter().any(|(day, _)| inside(*day));
        let sum = all.iter().filter(|(day, _)| inside(*day)).map(|(_, rate)| rate).sum::<f64>();
        if ours { sum } else { 0.0 }
    };
    starts.map(sum).collect()
}

/// The same day of the next year, reckoned apart from the code under test: by its digits.
fn a_year_on(day: Date) -> Option<Day> {
    let text = format!("{}-{:02}-{:02}", day.year() + 1, day.month(), day.day());
    Day::read(&text).or_else(|| Day::read(&format!("{}-03-01", day.year() + 1)))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// No treatment is nearer to another than the label asks, none lies outside of the season, and no
    /// year gets more than its limit, whatever went on before.
    #[test]
    fn no_year_gets_too_much_and_none_is_too_soon(asked in asked()) {
        let (season, before) = treatments(&map(), &asked);
        let least = i64::from(asked.label_days.max(asked.job_days.unwrap_or(0)));
        for pair in season.windows(2) {
            prop_assert!(days_apart(pair[0].0, pair[1].0) >= least, "{season:?}");
        }
        for (day, rate) in &season {
            prop_assert!((day_of(asked.from)..=day_of(asked.from + asked.length)).contains(day));
            prop_assert!(*rate <= f64::from(asked.rate) / 100.0 + 1e-6);
            prop_assert!(*rate >= 0.1 - 1e-6, "below the label's least: {rate}");
            for (other, _) in &before {
                prop_assert!(days_apart(*day, *other).abs() >= i64::from(asked.label_days));
            }
        }
        for sum in years(&season, &before, asked.calendar) {
            prop_assert!(sum <= f64::from(asked.cap) / 100.0 + 1e-5, "{sum} in {season:?} {before:?}");
        }
    }

    /// Who begins later, with nothing before, never treats more often; and who lowers a rate at a limit
    /// treats no less often than who drops.
    #[test]
    fn later_is_never_more(asked in asked(), later in 0_u32..120) {
        let asked = Asked { before: Vec::new(), calendar: false, ..asked };
        let map = map();
        let (season, _) = treatments(&map, &asked);
        let moved = later.min(asked.length);
        let later =
            Asked { from: asked.from + moved, length: asked.length - moved, ..asked.clone() };
        prop_assert!(treatments(&map, &later).0.len() <= season.len());
        let dropping = treatments(&map, &Asked { drops: true, ..asked.clone() }).0;
        let lowering = treatments(&map, &Asked { drops: false, ..asked }).0;
        prop_assert!(dropping.len() <= lowering.len());
    }
}

/// Of a mix only what a limit counts is lowered.
#[test]
fn a_limit_lowers_its_own_product_alone() {
    let (_, case) =
        cases().into_iter().find(|(name, _)| name.starts_with("the-last-rate")).unwrap();
    let job = format!(
        "{}\n[[application.product]]\nproduct = \"other.toml\"\nlabel_checked = \"2012-03-01\"\nrate = \"3 fl oz/1000 sq ft\"\n",
        case.job
    );
    let season = season_of(&map(), &read(&job, &case.product).unwrap(), None).unwrap();
    let of_cool =
        season.rounds.iter().flat_map(|round| &round.zones).filter(|it| it.zone == "Cool");
    let rates: Vec<Vec<f64>> = of_cool
        .map(|zone| {
            zone.rates.iter().map(|rate| per_thousand(*rate, AmountUnit::FluidOunce)).collect()
        })
        .collect();
    // As worked by hand in the case: 0.6, 0.6 and 0.4; the partner goes on as it is.
    assert_eq!(rates, [[0.6, 3.0], [0.6, 3.0], [0.4, 3.0]]);
}

/// Days of the cool zone's treatments, and those that were left out with their reasons, of a product
/// whose label asks for 14 days, under these applications.
fn around(
    season: &str,
    applications: &[&str],
) -> (Vec<String>, Vec<(String, String)>, Vec<String>) {
    let product = "id = \"own\"\nname = \"own\"\nclass = \"growth regulator\"\nform = \"liquid\"\nformulation = \"EC\"\nlabel_checked = \"2026-03-01\"\n\
         [limits]\nmin_interval = { limit = \"14 days\", source = \"label\" }\n";
    let mut job = format!(
        "[equipment.knapsack]\nkind = \"backpack\"\ntank = \"4 gal\"\nspray_volume = \"1 gal/1000 sq ft\"\n[season]\n{season}\n"
    );
    for application in applications {
        job.push_str(&format!(
            "[[application]]\nequipment = \"knapsack\"\nzones = [\"Cool\"]\n{application}\n\
             [[application.product]]\nproduct = \"own.toml\"\nlabel_checked = \"2026-03-01\"\nrate = \"0.5 fl oz/1000 sq ft\"\n"
        ));
    }
    let season = season_of(&map(), &read(&job, product).unwrap(), None).unwrap();
    assert_eq!(season.refusal(), None);
    let left_out = season.courses.iter().flat_map(|course| &course.dropped);
    (
        season.rounds.iter().map(|round| format!("{} {}", round.day, round.application)).collect(),
        left_out.map(|it| (it.day.to_string(), it.reason.clone())).collect(),
        season.courses.iter().flat_map(|course| course.notes.clone()).collect(),
    )
}

/// By hand: 1 June is 9 days before 10 June, so 28 days after that, 8 July, and again 5 August.
#[test]
fn a_day_of_the_jobs_own_is_planned_around_in_both_directions() {
    let season = "from = 2026-05-04\nuntil = 2026-08-15\ninterval = \"28 days\"";
    let (days, left_out, _) =
        around(season, &["name = \"Growth\"", "name = \"Mine\"\ndate = 2026-06-10"]);
    let by_hand =
        ["2026-05-04 Growth", "2026-06-10 Mine", "2026-07-08 Growth", "2026-08-05 Growth"];
    assert_eq!(days, by_hand);
    assert_eq!(left_out.len(), 1);
    let (day, reason) = &left_out[0];
    assert_eq!(day, "2026-06-01");
    assert!(reason.starts_with("less than 28 days from application \"Mine\""), "{reason}");
}

/// By hand: 11 May is 7 days after 4 May, and the label asks for 14: 18 May.
#[test]
fn a_day_within_another_applications_interval_is_listed() {
    let season = "from = 2026-05-04\nuntil = 2026-06-30";
    let (days, left_out, _) = around(
        season,
        &[
            "name = \"First\"\nseason = { most = 1 }",
            "name = \"Second\"\nseason = { from = 2026-05-11, most = 1 }",
        ],
    );
    assert_eq!(days, ["2026-05-04 First", "2026-05-18 Second"]);
    assert_eq!(left_out.len(), 1);
    let (day, reason) = &left_out[0];
    assert_eq!(day, "2026-05-11");
    assert!(reason.contains("7 days apart; its label asks for 14 days"), "{reason}");
}

/// A season without a treatment says what leaves no day for one.
#[test]
fn a_season_without_a_day_says_why() {
    let season =
        "from = 2026-05-04\nuntil = 2026-06-30\npauses = [[\"2026-05-01\", \"2026-07-31\"]]";
    let (days, _, notes) = around(season, &["name = \"Growth\""]);
    assert!(days.is_empty(), "{days:?}");
    let told = "no treatment: pauses cover all of its season, 2026-05-04 to 2026-06-30";
    assert!(notes.iter().any(|note| note == told), "{notes:?}");
}

/// Zones that share an application are each counted for themselves.
#[test]
fn a_limit_that_is_used_up_on_one_zone_stops_no_other() {
    let (name, case) =
        cases().into_iter().find(|(name, _)| name.starts_with("two-seasons")).unwrap();
    let product = format!(
        "{}max_per_year = {{ limit = \"1 fl oz/1000 sq ft\", source = \"label\" }}\n",
        case.product
    );
    let season = season_of(&map(), &read(&case.job, &product).unwrap(), None).unwrap();
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for zone in season.rounds.iter().flat_map(|round| &round.zones) {
        *counts.entry(&zone.zone).or_default() += 1;
    }
    // By hand: of 1.0 the cool zone's third 0.5 has no room; 3 × 0.25 have.
    assert_eq!(counts, BTreeMap::from([("Cool", 2), ("Mixed", 1), ("Warm", 3)]), "{name}");
}
