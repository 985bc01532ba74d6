use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use proptest::prelude::*;
use turfplat_units::{Length, Speed, Time, UnitSystem};

use super::*;
use crate::hourly::{Celsius, Clock, Forecast, Hour, SpeedRange};
use crate::sun::Sun;

/// A place in the middle of the United States: Kansas City, degrees north and east.
const PLACE: (f64, f64) = (39.1, -94.6);

fn mph(value: f64) -> Speed {
    Speed::from_metres_per_second(value * Speed::METRES_PER_SECOND_PER_MPH).expect("a speed")
}

fn celsius(degrees: f64) -> Celsius {
    Celsius::new(degrees).expect("degrees")
}

fn h(hours: f64) -> Time {
    Time::from_seconds(hours * 3600.0).expect("hours")
}

/// Hours from six in the morning of 8 June 2026, each by `of`.
fn forecast(count: usize, of: impl Fn(usize) -> Hour) -> Forecast {
    Forecast {
        file: "forecast.csv".to_owned(),
        hours: (0..count).map(of).collect(),
        earlier: Vec::new(),
        issued: None,
        place: None,
        clock: Clock::OfFile,
        notes: Vec::new(),
    }
}

/// A mild, dry hour with a light wind.
fn mild(place: usize) -> Hour {
    let zone = TimeZone::get("America/Chicago").expect("a zone");
    let first: Timestamp = "2026-06-08T06:00-05:00".parse().expect("a time");
    let start = first + SignedDuration::from_hours(place as i64);
    let end = start + SignedDuration::from_hours(1);
    Hour {
        start: start.to_zoned_datetime(zone.clone()),
        end: end.to_zoned_datetime(zone),
        temperature: Some(celsius(22.0)),
        coolest: None,
        dew_point: Some(celsius(12.0)),
        humidity: Some(0.53),
        driest: None,
        wind: Some(SpeedRange { least: mph(5.0), most: mph(6.0) }),
        wind_from: Some("NW".to_owned()),
        gust: Some(mph(10.0)),
        is_gust_in_part: false,
        rain_chance: Some(0.04),
        rain: None,
    }
}

fn sun(forecast: &Forecast) -> Sun {
    let (first, last) = (&forecast.hours[0], &forecast.hours[forecast.hours.len() - 1]);
    Sun::over(PLACE.0, PLACE.1, first.start.timestamp(), last.end.timestamp()).expect("a place")
}

fn silent() -> ProductLimits {
    ProductLimits { product: "my-product".to_owned(), is_sprayed: true, ..ProductLimits::default() }
}

fn limits(product: ProductLimits, own: &OwnLimits) -> Limits {
    Limits::of(&Settings::of_this_tool().expect("the table"), &[product], own)
}

fn judged(forecast: &Forecast, limits: &Limits) -> Vec<JudgedHour> {
    judge(forecast, limits, Some(&sun(forecast)), UnitSystem::Us)
}

/// What `rule` says of the hour from noon to one, where all else is mild.
fn at_noon(rule: Rule, limits: &Limits, change: impl Fn(&mut Hour)) -> Judged {
    let forecast = forecast(60, |place| {
        let mut hour = mild(place);
        if place == 6 {
            change(&mut hour);
        }
        hour
    });
    let hour = judged(&forecast, limits).swap_remove(6);
    hour.rules.into_iter().find(|it| it.rule == rule).expect("every rule speaks")
}

#[test]
fn every_rule_says_its_verdict_with_its_numbers() {
    let by_label = ProductLimits {
        wind_at_most: Some(mph(10.0)),
        rain_free: Some(h(6.0)),
        temperature_at_most: Some(celsius(29.5)),
        ..silent()
    };
    let label = limits(by_label, &OwnLimits::default());
    let default = limits(silent(), &OwnLimits::default());
    let wind = |least: f64, most: f64| {
        move |hour: &mut Hour| hour.wind = Some(SpeedRange { least: mph(least), most: mph(most) })
    };
    type Change = Box<dyn Fn(&mut Hour)>;
    #[rustfmt::skip]
    let table: [(Rule, &Limits, Change, Verdict, &str); 18] = [
        (Rule::Wind, &label, Box::new(wind(9.0, 9.0)), Verdict::Fit, "wind 9 mph, at most 10 mph (label of my-product)"),
        (Rule::Wind, &default, Box::new(wind(9.0, 9.0)), Verdict::NotFit, "wind 9 mph, at most 8 mph (default)"),
        // A range is held to the ceiling by its upper end, to the floor by its lower.
        (Rule::Wind, &label, Box::new(wind(5.0, 11.0)), Verdict::NotFit, "wind 5 to 11 mph, at most 10 mph (label of my-product)"),
        (Rule::Wind, &label, Box::new(wind(2.0, 7.0)), Verdict::NotFit, "wind 2 to 7 mph, at least 3 mph (default)"),
        (Rule::Wind, &label, Box::new(wind(3.0, 10.0)), Verdict::Fit, "wind 3 to 10 mph"),
        (Rule::Wind, &label, Box::new(|hour: &mut Hour| hour.wind = None), Verdict::Unknown, "wind not given"),
        (Rule::Gusts, &default, Box::new(|hour: &mut Hour| hour.gust = Some(mph(18.0))), Verdict::NotFit, "gusts 18 mph, at most 15 mph (default)"),
        (Rule::Gusts, &default, Box::new(|hour: &mut Hour| hour.gust = None), Verdict::Unknown, "gusts not given, at most 15 mph (default): watch them"),
        (Rule::DryAhead, &label, Box::new(|hour: &mut Hour| hour.rain_chance = Some(0.4)), Verdict::NotFit, "40 % chance of rain at 12:00, at most 20 % (default); 6 h without rain (label of my-product)"),
        (Rule::DryAhead, &label, Box::new(|hour: &mut Hour| { hour.rain_chance = None; hour.rain = Length::from_metres(0.002) }), Verdict::NotFit, "0.079 in of rain at 12:00, 6 h without rain (label of my-product)"),
        (Rule::DryAhead, &label, Box::new(|hour: &mut Hour| hour.rain_chance = None), Verdict::Unknown, "rain at 12:00 not given; 6 h without rain (label of my-product)"),
        (Rule::Temperature, &label, Box::new(|hour: &mut Hour| hour.temperature = Celsius::read("86 F")), Verdict::NotFit, "86 °F, at most 85 °F (label of my-product)"),
        (Rule::Temperature, &default, Box::new(|hour: &mut Hour| hour.temperature = Celsius::read("86 F")), Verdict::Fit, "86 °F, at most 90 °F (default)"),
        (Rule::Temperature, &default, Box::new(|hour: &mut Hour| hour.temperature = Celsius::read("20 F")), Verdict::NotFit, "20 °F, at least 32 °F (default)"),
        (Rule::DeltaT, &default, Box::new(|hour: &mut Hour| { hour.temperature = Celsius::new(15.0); hour.humidity = Some(0.8) }), Verdict::Advisory, "delta-T 2.3 ± 0.5 °C, at the edge of 2 to 8 °C (default)"),
        (Rule::DeltaT, &default, Box::new(|hour: &mut Hour| { hour.temperature = Celsius::new(35.0); hour.humidity = Some(0.2) }), Verdict::Advisory, "delta-T 15.7 ± 0.5 °C, 2 to 8 °C (default): avoid, drops dry before they land"),
        // 32 °C and 45 % are a wet bulb of 23.07 °C by Stull's eq. 1, worked out apart from this code.
        (Rule::DeltaT, &default, Box::new(|hour: &mut Hour| { hour.temperature = Celsius::new(32.0); hour.humidity = Some(0.45) }), Verdict::Advisory, "delta-T 8.9 ± 0.5 °C, 2 to 8 °C (default): caution"),
        (Rule::DryLeaf, &default, Box::new(|hour: &mut Hour| hour.dew_point = Celsius::new(21.0)), Verdict::Advisory, "leaf likely wet, an estimate: dew point 1.0 °C below the air, dry above 2 °C (default)"),
    ];
    for (rule, limits, change, verdict, words) in table {
        let says = at_noon(rule, limits, change);
        assert_eq!(says.verdict, verdict, "{}", says.words);
        assert!(says.words.starts_with(words), "{} ≠ {words}", says.words);
    }
}

#[test]
fn an_hour_is_fit_where_nothing_that_binds_says_no_or_does_not_know() {
    let limits =
        limits(ProductLimits { rain_free: Some(h(4.0)), ..silent() }, &OwnLimits::default());
    let hours = judged(&forecast(24, mild), &limits);
    // Sunrise 05:52, so leaves may be wet until 07:52; inversions until 07:52 and from 16:42.
    let noon = &hours[6];
    assert_eq!(noon.verdict, Verdict::Fit, "{:?}", noon.reasons().collect::<Vec<_>>());
    assert_eq!(noon.remarks().count(), 0);
    let evening = &hours[12];
    assert_eq!(evening.verdict, Verdict::Fit);
    let remarks: Vec<&str> = evening.remarks().map(|it| it.words.as_str()).collect();
    assert_eq!(remarks.len(), 1, "{remarks:?}");
    assert!(remarks[0].contains("inversions form, from 16:4"), "{remarks:?}");
    assert!(remarks[0].contains("(4 h before sunset)"), "{remarks:?}");
    let night = &hours[16];
    assert_eq!(night.verdict, Verdict::NotFit);
    assert!(night.reasons().any(|it| it.words.contains("dark in part or all")));
    // The forecast ends at six in the morning: what goes down after one has no four dry hours in it.
    let last = hours.last().expect("hours");
    let rain = last.rules.iter().find(|it| it.rule == Rule::DryAhead).expect("rain");
    assert_eq!(rain.verdict, Verdict::Unknown);
    assert!(rain.words.starts_with("the forecast ends"), "{}", rain.words);
}

#[test]
fn without_a_place_no_hour_is_fit() {
    let limits = limits(silent(), &OwnLimits::default());
    let hours = judge(&forecast(40, mild), &limits, None, UnitSystem::Us);
    assert!(hours.iter().all(|hour| hour.verdict != Verdict::Fit));
    assert!(hours[6].reasons().any(|it| it.words.contains("place is not known")));
}

#[test]
fn the_strictest_that_speaks_governs_and_a_label_outranks_the_default() {
    let label = |most: f64| ProductLimits { wind_at_most: Some(mph(most)), ..silent() };
    let own = |most: f64| OwnLimits { wind_at_most: Some(mph(most)), ..OwnLimits::default() };
    let none = OwnLimits::default();
    let settings = Settings::of_this_tool().expect("the table");
    let of = |products: &[ProductLimits], own: &OwnLimits| {
        let limit = Limits::of(&settings, products, own).wind_at_most;
        (limit.limit.mph().round(), limit.by.to_string())
    };
    assert_eq!(of(&[silent()], &none), (8.0, "default".to_owned()));
    assert_eq!(of(&[label(15.0)], &none), (15.0, "label of my-product".to_owned()));
    assert_eq!(of(&[label(5.0)], &none), (5.0, "label of my-product".to_owned()));
    assert_eq!(of(&[label(15.0)], &own(9.0)), (9.0, "job".to_owned()));
    assert_eq!(of(&[label(5.0)], &own(9.0)), (5.0, "label of my-product".to_owned()));
    // A partner that says nothing is held to the default still.
    assert_eq!(of(&[label(15.0), silent()], &none), (8.0, "default".to_owned()));
    // Where one label limits gusts, the default for its partner binds too, and is the stricter.
    let gusty = ProductLimits { gust_at_most: Some(mph(20.0)), ..silent() };
    let both = Limits::of(&settings, &[gusty, silent()], &none).gust_at_most;
    assert_eq!((both.limit.mph().round(), both.weight), (15.0, Weight::Binding));
    // Advice on rain for what is spread gives way to what a job asks.
    let granule = ProductLimits { is_sprayed: false, ..silent() };
    let asks = OwnLimits { rain_free: Some(h(6.0)), ..OwnLimits::default() };
    let rain = Limits::of(&settings, &[granule], &asks).rain_free;
    assert_eq!((rain.limit, rain.weight), (h(6.0), Weight::Binding));
    // What a label says binds, also of what the default only asks for where it is given.
    let gusts = ProductLimits { gust_at_most: Some(mph(15.0)), ..silent() };
    assert_eq!(Limits::of(&settings, &[gusts], &none).gust_at_most.weight, Weight::Binding);
}

/// What `rule` says of each hour, where `of` gives an hour its rain.
fn each(rule: Rule, limits: &Limits, of: impl Fn(usize, &mut Hour)) -> Vec<Judged> {
    let forecast = forecast(60, |place| {
        let mut hour = mild(place);
        of(place, &mut hour);
        hour
    });
    let rule_of = |hour: JudgedHour| hour.rules.into_iter().find(|it| it.rule == rule);
    judged(&forecast, limits).into_iter().map(|hour| rule_of(hour).expect("a rule")).collect()
}

#[test]
fn drops_and_chances_of_several_hours_add_up() {
    let limits =
        limits(ProductLimits { rain_free: Some(h(6.0)), ..silent() }, &OwnLimits::default());
    // Six hours of 0.002 in each are 0.01 in after five of them, and none passes the limit itself.
    let drizzle = each(Rule::DryAhead, &limits, |place, hour| {
        hour.rain_chance = None;
        let inches = if (8..13).contains(&place) { 0.002 } else { 0.0 };
        hour.rain = Length::from_metres(inches * 0.0254);
    });
    assert_eq!(drizzle[6].verdict, Verdict::NotFit, "{}", drizzle[6].words);
    assert!(
        drizzle[6].words.starts_with("0.01 in of rain from 14:00 until 19:00, 6 h without rain"),
        "{}",
        drizzle[6].words
    );
    // One of the five is over: 0.008 in are below it.
    assert_eq!(drizzle[9].verdict, Verdict::Fit, "{}", drizzle[9].words);
    // 1 − 0.85⁷ = 0.679: each hour is below 20 %, all of them are not.
    let chances = each(Rule::DryAhead, &limits, |_, hour| hour.rain_chance = Some(0.15));
    assert_eq!(chances[6].verdict, Verdict::Advisory);
    assert!(
        chances[6].words.starts_with(
            "at most 15 % chance of rain in an hour, which adds up to 68 % (above 20 %, default); 6 h"
        ),
        "{}",
        chances[6].words
    );
}

#[test]
fn a_leaf_is_wet_for_hours_after_rain() {
    let limits = limits(silent(), &OwnLimits { dry_leaf: true, ..OwnLimits::default() });
    let rain = each(Rule::DryLeaf, &limits, |place, hour| {
        hour.rain = (place == 4).then(|| Length::from_metres(0.005)).flatten();
    });
    // It rains from ten to eleven; three hours on is two.
    let verdicts: Vec<Verdict> = rain[3..9].iter().map(|it| it.verdict).collect();
    use Verdict::{Fit, NotFit};
    assert_eq!(verdicts, [Fit, NotFit, NotFit, NotFit, NotFit, Fit]);
    let words =
        "leaf likely wet, an estimate: 0.2 in of rain until 11:00, dry 3 h after it (default)";
    assert_eq!(rain[6].words, words);
    let likely = each(Rule::DryLeaf, &limits, |place, hour| {
        hour.rain_chance = Some(if place == 4 { 0.9 } else { 0.0 });
    });
    assert!(likely[5].words.contains("90 % chance of rain at 10:00"), "{}", likely[5].words);
    assert_eq!((likely[5].verdict, likely[8].verdict), (NotFit, Fit));
    // Of what nobody told it is not known whether it wet the leaf.
    let open = each(Rule::DryLeaf, &limits, |place, hour| {
        if place == 4 {
            hour.rain_chance = None;
        }
    });
    assert_eq!((open[5].verdict, open[8].verdict), (Verdict::Unknown, Fit), "{}", open[5].words);
    // Rain in hours that are over counts as well.
    let mut late = forecast(60, |place| {
        let rain = (place == 4).then(|| Length::from_metres(0.005)).flatten();
        Hour { rain, ..mild(place) }
    });
    late.earlier = late.hours.drain(..5).collect();
    let first = judged(&late, &limits).swap_remove(0);
    assert!(first.reasons().any(|it| it.words.starts_with("leaf likely wet")), "{first:?}");
}

#[test]
fn a_value_beyond_its_limit_is_told_apart_from_it() {
    let limits = limits(silent(), &OwnLimits::default());
    type Change = fn(&mut Hour);
    #[rustfmt::skip]
    let table: [(Rule, Change, &str); 4] = [
        (Rule::DryAhead, |hour| hour.rain_chance = Some(0.204), "20.4 % chance of rain at 12:00, at most 20 %"),
        (Rule::Wind, |hour| hour.wind = Some(SpeedRange { least: mph(5.0), most: mph(8.001) }), "wind 5 to 8.001 mph, at most 8 mph"),
        (Rule::Gusts, |hour| hour.gust = Some(mph(15.004)), "gusts 15.004 mph, at most 15 mph"),
        (Rule::Temperature, |hour| hour.temperature = Celsius::from_fahrenheit(90.3), "90.3 °F, at most 90 °F"),
    ];
    for (rule, change, words) in table {
        let says = at_noon(rule, &limits, change);
        assert_eq!(says.verdict, Verdict::NotFit, "{}", says.words);
        assert!(says.words.starts_with(words), "{} ≠ {words}", says.words);
    }
}

#[test]
fn both_ends_of_several_rows_are_held_to_the_limits() {
    let limits = limits(silent(), &OwnLimits::default());
    let cold = at_noon(Rule::Temperature, &limits, |hour| hour.coolest = Celsius::read("30 F"));
    assert_eq!(cold.verdict, Verdict::NotFit, "{}", cold.words);
    let wet = at_noon(Rule::DryLeaf, &limits, |hour| hour.coolest = Celsius::new(13.0));
    assert_eq!(wet.verdict, Verdict::Advisory, "{}", wet.words);
    let gusts = at_noon(Rule::Gusts, &limits, |hour| hour.is_gust_in_part = true);
    assert_eq!(gusts.verdict, Verdict::Unknown, "{}", gusts.words);
    let strong = at_noon(Rule::Gusts, &limits, |hour| {
        hour.is_gust_in_part = true;
        hour.gust = Some(mph(18.0));
    });
    assert_eq!(strong.verdict, Verdict::NotFit, "{}", strong.words);
}

#[test]
fn limits_that_cannot_be_meant_are_told() {
    let label = |of: fn(&mut ProductLimits)| {
        let mut label = silent();
        of(&mut label);
        label.check()
    };
    type Change = fn(&mut ProductLimits);
    #[rustfmt::skip]
    let table: [(Change, &str); 6] = [
        (|it| it.wind_at_most = Some(mph(80.0)), "wind at_most: \"80 mph\" is a wind of more than 25 mph, which cannot be meant; correct the figure or its unit"),
        (|it| it.wind_at_least = Some(mph(30.0)), "wind at_least: \"30 mph\""),
        (|it| it.gust_at_most = Some(mph(41.0)), "gust_at_most: \"41 mph\" is a gust of more than 40 mph"),
        (|it| it.temperature_at_most = Celsius::read("85 C"), "temperature at_most: \"185 °F\" is not between -20 and 120 °F"),
        (|it| it.temperature_at_least = Celsius::read("-30 F"), "temperature at_least: \"-30 °F\""),
        (|it| it.rain_free = Some(h(2400.0)), "rain_free: \"2,400 h\" is longer than 336 h"),
    ];
    for (change, told) in table {
        let error = label(change).expect_err(told).to_string();
        assert!(error.starts_with(told), "{error} ≠ {told}");
    }
    // At the bounds is inside, in any unit.
    assert_eq!(label(|it| it.wind_at_most = Some(mph(25.0))), Ok(()));
    assert_eq!(label(|it| it.temperature_at_most = Celsius::read("120 F")), Ok(()));
    let row = "rule,limit,source\nwind-at-most,80 mph,x\n";
    let error = Settings::with_own(row).expect_err("80 mph").to_string();
    assert!(error.starts_with("wind-at-most: \"80 mph\" is a wind"), "{error}");
}

#[test]
fn every_limit_is_told_with_who_asks_for_it() {
    let label =
        ProductLimits { wind_at_most: Some(mph(10.0)), rain_free: Some(h(6.0)), ..silent() };
    let limits = limits(label, &OwnLimits { dry_leaf: true, ..OwnLimits::default() });
    #[rustfmt::skip]
    let table = [
        (Rule::Wind,        "3 mph (default) to 10 mph (label of my-product)"),
        (Rule::Gusts,       "at most 15 mph (default), where given"),
        (Rule::Inversion,   "4 h before sunset to 2 h after sunrise: at least 3 mph"),
        (Rule::DryAhead,    "6 h (label of my-product), chance at most 20 %"),
        (Rule::Temperature, "32 °F to 90 °F (default)"),
        (Rule::DeltaT,      "advisory: 2 to 8 °C"),
        (Rule::DryLeaf,     "an estimate (job)"),
        (Rule::Daylight,    "sunrise to sunset"),
    ];
    for (rule, told) in table {
        assert_eq!(limits.in_short(rule, UnitSystem::Us), told);
    }
    let asked = limits.asked(UnitSystem::Metric);
    let of = |rule: &str| {
        let one = asked.iter().find(|it| it.rule == rule).expect(rule);
        (one.limit.clone(), one.by.to_string(), one.weight)
    };
    assert_eq!(
        of("wind-at-most"),
        ("16.1 km/h".to_owned(), "label of my-product".to_owned(), Weight::Binding)
    );
    assert_eq!(of("rain-under"), ("0.25 mm".to_owned(), "default".to_owned(), Weight::Binding));
    assert_eq!(of("dew-spread"), ("2 °C".to_owned(), "job".to_owned(), Weight::Binding));
    assert!(asked.iter().all(|it| !matches!(&it.by, By::Default(source) if source.is_empty())));
}

#[test]
fn what_is_spread_is_asked_for_less() {
    let granule = ProductLimits { is_sprayed: false, ..silent() };
    let limits = limits(granule, &OwnLimits::default());
    let wet = at_noon(Rule::DryLeaf, &limits, |hour| hour.dew_point = hour.temperature);
    assert_eq!(wet.verdict, Verdict::Fit);
    assert_eq!(wet.words, "not asked of what is spread");
    // Rain on granules may be wanted: it is remarked on, where the label does not say how long.
    let rain = at_noon(Rule::DryAhead, &limits, |hour| hour.rain_chance = Some(0.5));
    assert_eq!(rain.verdict, Verdict::Advisory, "{}", rain.words);
    let label = ProductLimits { is_sprayed: false, rain_free: Some(h(2.0)), ..silent() };
    let label = self::limits(label, &OwnLimits::default());
    let rain = at_noon(Rule::DryAhead, &label, |hour| hour.rain_chance = Some(0.5));
    assert_eq!(rain.verdict, Verdict::NotFit, "{}", rain.words);
}

#[test]
fn windows_are_ranked_by_how_fit_they_are_and_by_what_the_work_needs() {
    // Two hours before noon in the middle of the band of wind; five after it nearer to its upper end,
    // the last two with nothing known of gusts.
    let calm = Some(SpeedRange { least: mph(5.5), most: mph(5.5) });
    let forecast = forecast(60, |place| {
        let mut hour = mild(place);
        hour.wind = calm;
        hour.gust = Some(mph(6.0));
        match place {
            2 | 3 => {}
            5..=7 => hour.wind = Some(SpeedRange { least: mph(7.0), most: mph(7.0) }),
            8 | 9 => hour.gust = None,
            _ => hour.wind = Some(SpeedRange { least: mph(12.0), most: mph(14.0) }),
        }
        hour
    });
    let limits =
        limits(ProductLimits { rain_free: Some(h(4.0)), ..silent() }, &OwnLimits::default());
    let hours = judged(&forecast, &limits);
    let of = |needs: Option<Time>| -> Vec<_> {
        let windows = windows(&hours, needs);
        windows.into_iter().map(|it| (it.hours, it.best, it.is_long_enough)).collect()
    };
    // Where nobody knows how long it takes the longest is first, with its best hour.
    assert_eq!(of(None), [(5..10, 8..9, None), (2..4, 2..3, None)]);
    // One thing to mind in the middle of the band is better than none at its end.
    assert_eq!(of(Some(h(1.5))), [(2..4, 2..4, Some(true)), (5..10, 8..10, Some(true))]);
    // 2.1 h are three whole hours, which the first has not.
    assert_eq!(of(Some(h(2.1)))[0].0, 5..10);
    assert_eq!(of(Some(h(2.1)))[1], (2..4, 2..4, Some(false)));
    assert_eq!(of(Some(h(2.0)))[0].0, 2..4, "two hours are two hours");
    // Half of the band of 3 to 8 mph is 2.5, and 7 mph is 1 inside: 0.4; no remarks before the gusts.
    let all = windows(&hours[..8], None);
    assert!((all[0].fitness - 0.4).abs() < 1e-9 && all[0].minded == 0, "{all:?}");
    let minded = windows(&hours, Some(h(2.0))).swap_remove(1);
    let margin = minded.margin.expect("a limit");
    assert!((minded.fitness - (margin - 0.25)).abs() < 1e-9, "{minded:?}");
    assert_eq!(minded.minded, 2);
}

/// Any hour of a day, with anything missing.
fn any_hour() -> impl Strategy<Value = (Option<(f64, f64)>, [Option<f64>; 5])> {
    let wind = proptest::option::of((0.0..20.0_f64, 0.0..6.0_f64));
    let one = |range: std::ops::Range<f64>| proptest::option::weighted(0.9, range);
    let others = (one(0.0..30.0), one(-5.0..38.0), one(0.0..12.0), one(0.1..1.0), one(0.0..0.4));
    (wind, others).prop_map(|(wind, (gust, t, spread, humidity, chance))| {
        (wind, [gust, t, spread, humidity, chance])
    })
}

fn any_forecast() -> impl Strategy<Value = Forecast> {
    proptest::collection::vec(any_hour(), 30..60).prop_map(|values| {
        forecast(values.len(), |place| {
            let (wind, [gust, t, spread, humidity, chance]) = values[place];
            Hour {
                wind: wind
                    .map(|(least, more)| SpeedRange { least: mph(least), most: mph(least + more) }),
                gust: gust.map(mph),
                temperature: t.map(celsius),
                dew_point: t.zip(spread).map(|(t, spread)| celsius(t - spread)),
                humidity,
                rain_chance: chance,
                ..mild(place)
            }
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// An hour of which the wind, the temperature or the rain is not known is never fit.
    #[test]
    fn what_is_missing_is_never_fit(forecast in any_forecast()) {
        let limits = limits(ProductLimits { rain_free: Some(h(1.0)), ..silent() }, &OwnLimits::default());
        for (hour, judged) in forecast.hours.iter().zip(judged(&forecast, &limits)) {
            if hour.wind.is_none() || hour.temperature.is_none() || hour.rain_chance.is_none() {
                prop_assert_ne!(judged.verdict, Verdict::Fit);
            }
        }
    }

    /// Whoever asks for more never gets an hour that was not there before.
    #[test]
    fn tightening_a_limit_never_adds_fit_hours(
        forecast in any_forecast(),
        (floor, ceiling, gust) in (0.0..8.0_f64, 2.0..16.0_f64, 5.0..25.0_f64),
        (rain, chance, cold, hot) in (0.0..30.0_f64, 0.0..0.5_f64, -5.0..20.0_f64, 20.0..35.0_f64),
        (dry_leaf, is_sprayed, is_silent) in any::<(bool, bool, bool)>(),
    ) {
        let label = if is_silent {
            ProductLimits { is_sprayed, ..silent() }
        } else {
            let (wind, rain) = (Some(mph(15.0)), Some(h(1.0)));
            ProductLimits { wind_at_most: wind, rain_free: rain, is_sprayed, ..silent() }
        };
        let tight = OwnLimits {
            wind_at_least: Some(mph(floor)),
            wind_at_most: Some(mph(ceiling)),
            gust_at_most: Some(mph(gust)),
            rain_free: Some(h(rain)),
            rain_chance_at_most: Some(chance),
            temperature_at_least: Some(celsius(cold)),
            temperature_at_most: Some(celsius(hot)),
            dry_leaf,
        };
        let before = judged(&forecast, &limits(label.clone(), &OwnLimits::default()));
        let after = judged(&forecast, &limits(label, &tight));
        for (before, after) in before.iter().zip(&after) {
            prop_assert!(after.verdict != Verdict::Fit || before.verdict == Verdict::Fit);
        }
    }

    /// Still air is never fit from four hours before sunset to two hours after sunrise, whatever label
    /// and job say.
    #[test]
    fn still_air_in_inversion_hours_is_never_fit(forecast in any_forecast()) {
        let label = ProductLimits {
            wind_at_least: Some(mph(0.0)),
            wind_at_most: Some(mph(30.0)),
            gust_at_most: Some(mph(60.0)),
            rain_free: Some(h(0.0)),
            ..silent()
        };
        let nights = sun(&forecast);
        for (hour, judged) in forecast.hours.iter().zip(judged(&forecast, &limits(label, &OwnLimits::default()))) {
            let (start, end) = (hour.start.timestamp().as_second(), hour.end.timestamp().as_second());
            let in_span = nights.nights().iter().any(|night| {
                night.from.is_none_or(|set| set.as_second() - 4 * 3600 < end)
                    && night.to.is_none_or(|rise| rise.as_second() + 2 * 3600 > start)
            });
            let is_still = hour.wind.is_some_and(|wind| wind.least < mph(3.0));
            prop_assert!(!(in_span && is_still && judged.verdict == Verdict::Fit));
        }
    }

    /// Windows are the fit hours, each once, and long enough ones come first.
    #[test]
    fn windows_hold_every_fit_hour_once(forecast in any_forecast(), needs in proptest::option::of(0.1..6.0_f64)) {
        let label = ProductLimits { wind_at_most: Some(mph(15.0)), rain_free: Some(h(1.0)), ..silent() };
        let hours = judged(&forecast, &limits(label, &OwnLimits::default()));
        let found = windows(&hours, needs.map(h));
        let mut told: Vec<usize> = found.iter().flat_map(|it| it.hours.clone()).collect();
        told.sort_unstable();
        let fit: Vec<usize> = (0..hours.len()).filter(|place| hours[*place].verdict == Verdict::Fit).collect();
        prop_assert_eq!(told, fit);
        let short: Vec<bool> = found.iter().map(|it| it.is_long_enough == Some(false)).collect();
        prop_assert!(short.is_sorted());
        for window in &found {
            prop_assert!(window.hours.start <= window.best.start && window.best.end <= window.hours.end);
        }
    }
}
