use jiff::civil::{Date, date};

use super::*;
use crate::daily::{DailyOptions, DailySeries, Temperature, read_daily};

fn series(text: &str) -> DailySeries {
    read_daily("t.csv", text.as_bytes(), &DailyOptions::default()).expect("it is a series")
}

fn spring() -> DailySeries {
    series(include_str!("../../tests/data/seattle-2012-spring.dly"))
}

fn celsius(degrees: f64) -> Temperature {
    Temperature::from_celsius(degrees).expect("a temperature")
}

fn sum(degrees: f64) -> DegreeDays {
    DegreeDays::from_celsius_days(degrees).expect("a sum")
}

fn count(series: &DailySeries, base: f64, wanted: f64, first: Date, last: Date) -> HeatCount {
    let sources = DailySources { measured: Some(series), ..DailySources::default() };
    count_heat(&sources, celsius(base), sum(wanted), first, last)
}

#[test]
fn sums_agree_with_tables_in_print() {
    let fahrenheit = |base: f64, (most, least): (f64, f64)| -> f64 {
        let text = format!("date,tmax_f,tmin_f\n2026-05-01,{most},{least}\n");
        let base = Temperature::from_fahrenheit(base).expect("a base");
        let known = series(&text).on(date(2026, 5, 1));
        DegreeDays::of_day(known.mean().expect("a mean"), base).fahrenheit_days()
    };
    #[rustfmt::skip]
    let table = [
        // base °F, (most, least) °F, printed °F days, where
        (50.0, (70.0, 50.0), 10.0, "Iowa State University, Agronomy 541, lesson 2b: 70 and 50 °F give 10"),
        (65.0, (85.0, 65.0), 10.0, "Midwestern Regional Climate Center, growing degree days: a mean of 75 gives 10 above 65"),
        (40.0, (44.0, 34.0), 0.0, "Journey North, GDD chart: a mean of 39 gives none above 40"),
    ];
    for (base, day, printed, source) in table {
        let ours = fahrenheit(base, day);
        assert!((ours - printed).abs() < 1e-9, "{ours} ≠ {printed}: {source}");
    }
}

#[test]
fn a_published_series_adds_up_as_by_hand() {
    // seattle-weather.csv (vega-datasets, of NOAA's daily summaries), 1 to 10 May 2012, by hand:
    // 17.8/2 + 18.9/2 + 18.3/2 + 18.3/2 + 18.3/2 + 22.8/2 + 30.0/2 + 27.7/2 + 20.0/2 + 18.3/2
    // = 210.4/2 = 105.2; above 10 only 11.4, 15 and 13.85 (10.0 adds none): 1.4 + 5 + 3.85.
    let spring = spring();
    let (first, last) = (date(2012, 5, 1), date(2012, 5, 10));
    for (base, by_hand) in [(0.0, 105.2), (10.0, 10.25)] {
        let count = count(&spring, base, 1000.0, first, last);
        assert!((count.sum.celsius_days() - by_hand).abs() < 1e-9, "{base}: {}", count.sum);
        assert_eq!((count.days.len(), count.missing.len()), (10, 0));
        let left = 1000.0 - by_hand;
        assert!(
            matches!(count.reached, Reached::NotYet { left: it } if (it.celsius_days() - left).abs() < 1e-9)
        );
    }
}

#[test]
fn the_day_on_which_a_sum_is_reached() {
    let spring = spring();
    let first = date(2012, 5, 1);
    // By hand, on from 105.2 on the 10th: 11.35 → 116.55, 15.55 → 132.1, 17.5 → 149.6,
    // 19.75 → 169.35, 16.9 → 186.25, 14.4 → 200.65 on the 16th.
    let reached = |wanted| count(&spring, 0.0, wanted, first, date(2012, 5, 31)).reached;
    let on = |day| Reached::On { day: date(2012, 5, day), by: Origin::Measured };
    assert_eq!(reached(200.0), on(16));
    // Reached exactly counts as reached, whatever binary makes of tenths.
    assert_eq!(reached(105.2), on(10));
    assert_eq!(reached(200.65), on(16));
    assert_eq!(reached(200.7), on(17));
    // 200 °C days from 0 °C are 360 °F days from 32 °F (Kreuser, interview of 2013).
    let sources = DailySources { measured: Some(&spring), ..DailySources::default() };
    let base = Temperature::from_fahrenheit(32.0).expect("a base");
    let wanted = DegreeDays::read("360 F").expect("a sum");
    let count = count_heat(&sources, base, wanted, first, date(2012, 5, 31));
    assert_eq!(count.reached, on(16));
}

#[test]
fn a_day_that_is_missing_is_never_made_up() {
    let text = include_str!("../../tests/data/seattle-2012-spring.csv");
    let without: String = text
        .lines()
        .filter(|line| !line.starts_with("2012-05-07"))
        .map(|it| format!("{it}\n"))
        .collect();
    let gap = series(&without);
    let (first, missing) = (date(2012, 5, 1), date(2012, 5, 7));
    let counted = count(&gap, 0.0, 100.0, first, date(2012, 5, 31));
    // Without the 15 of the 7th: 105.2 − 15 = 90.2 on the 10th, 101.55 on the 11th.
    assert_eq!(counted.missing, [missing]);
    assert_eq!(
        counted.reached,
        Reached::Unknown { missing, at_the_latest: Some(date(2012, 5, 11)) }
    );
    let on_the_11th = counted.days.iter().find(|day| day.day == date(2012, 5, 11));
    assert!(on_the_11th.is_some_and(|day| (day.sum.celsius_days() - 101.55).abs() < 1e-9));
    // Normals and a forecast know the day, and what they say of it is not what happened.
    let other = series("date,tmax_c,tmin_c\n2012-05-07,20,10\n");
    for sources in [
        DailySources { measured: Some(&gap), normals: Some(&other), ..Default::default() },
        DailySources { measured: Some(&gap), forecast: Some(&other), ..Default::default() },
    ] {
        let beside = count_heat(&sources, celsius(0.0), sum(100.0), first, date(2012, 5, 31));
        assert_eq!(beside.missing, [missing]);
        assert_eq!((beside.reached, beside.sum), (counted.reached, counted.sum));
    }
    // After the last day that was measured they go on: 1 June adds 15.
    let june = series("date,tmax_c,tmin_c\n2012-06-01,20,10\n");
    let sources =
        DailySources { measured: Some(&gap), forecast: Some(&june), ..Default::default() };
    let on = count_heat(&sources, celsius(0.0), sum(100.0), first, date(2012, 6, 1));
    assert!((on.sum.celsius_days() - counted.sum.celsius_days() - 15.0).abs() < 1e-9);
    // Before a gap all is known.
    let before = count(&gap, 0.0, 30.0, first, date(2012, 5, 31));
    assert_eq!(before.reached, Reached::On { day: date(2012, 5, 4), by: Origin::Measured });
}

#[test]
fn a_count_goes_on_beyond_its_sum() {
    let spring = spring();
    let (first, last) = (date(2012, 5, 1), date(2012, 5, 16));
    // By hand, as above: 105.2 on the 10th, and 200.65 on the 16th.
    let counted = count(&spring, 0.0, 105.0, first, last);
    assert_eq!(counted.reached.day(), Some(date(2012, 5, 10)));
    assert_eq!((counted.last, counted.days.len()), (last, 16));
    assert!((counted.sum.celsius_days() - 200.65).abs() < 1e-9, "{}", counted.sum);
}

#[test]
fn the_29_of_february_of_normals_without_one_is_told() {
    let normals = series("date,tmax_c,tmin_c\n02-28,20,0\n03-01,20,0\n");
    let sources = DailySources { normals: Some(&normals), ..Default::default() };
    let of = |year| {
        let (first, last) = (date(year, 2, 28), date(year, 3, 1));
        count_heat(&sources, celsius(0.0), sum(1000.0), first, last)
    };
    assert_eq!(of(2028).leap_days, [date(2028, 2, 29)]);
    assert!((of(2028).sum.celsius_days() - 30.0).abs() < 1e-9);
    assert!(of(2027).leap_days.is_empty());
}

#[test]
fn measured_goes_before_forecast_and_that_before_normals() {
    let of = |most: i32| {
        let days = (1..=3).map(|day| format!("2026-05-0{day},{most},0\n"));
        series(&format!("date,tmax_c,tmin_c\n{}", days.collect::<String>()))
    };
    let measured = series("date,tmax_c,tmin_c\n2026-05-01,20,0\n");
    let (forecast, normals) =
        (series("date,tmax_c,tmin_c\n2026-05-01,30,0\n2026-05-02,30,0\n"), of(10));
    let sources = DailySources {
        measured: Some(&measured),
        forecast: Some(&forecast),
        normals: Some(&normals),
    };
    let count = count_heat(&sources, celsius(0.0), sum(1000.0), date(2026, 5, 1), date(2026, 5, 3));
    let days: Vec<(f64, Origin)> =
        count.days.iter().map(|day| (day.adds.celsius_days(), day.origin)).collect();
    assert_eq!(days, [(10.0, Origin::Measured), (15.0, Origin::Forecast), (5.0, Origin::Normals)]);
}

#[test]
fn no_model_in_print_is_for_a_lawn_and_no_row_is_lost() {
    let table = include_str!("../../../../data/degree-day-models.csv");
    assert_eq!(heat_models().len(), table.trim_end().lines().count() - 1);
    for model in heat_models() {
        assert!(!model.source.is_empty() && !model.read.is_empty(), "{}", model.id);
        assert_ne!(model.site, "lawn", "{}", model.id);
        for lawn in ["tall-fescue", "kentucky-bluegrass", "zoysiagrass", "st-augustinegrass"] {
            assert!(!model.is_for(&[lawn]), "{}", model.id);
        }
    }
    let green = HeatModel::find("bentgrass-green", heat_models()).expect("it is known");
    assert!(green.is_for(&["creeping-bentgrass"]));
    assert!(!green.is_for(&["creeping-bentgrass", "tall-fescue"]) && !green.is_for(&[]));
    let gap = HeatModel::find("bentgrass-fairway", heat_models()).expect("it is listed");
    assert_eq!(gap.base, None, "what was not found is not made up");
    let asked = HeatModel::find("bentgras-green", heat_models()).expect_err("a slip");
    assert!(asked.ends_with(r#"did you mean "bentgrass-green"?"#), "{asked}");
}

#[test]
fn models_of_ones_own_are_read_and_doubted() {
    let head = "id,species,active_ingredient,base_c,threshold_c_days,source\n";
    let read = |row: &str| read_heat_models("my.csv", &format!("{head}{row}"));
    let mine = read("mine,tall-fescue,trinexapac-ethyl,5,300,my own plots 2025\n");
    assert_eq!(mine.expect("a model")[0].species, ["tall-fescue"]);
    for (row, told) in [
        (
            "a,tall-fescue,x,5,0,me\n",
            r#"my.csv: line 2: threshold_c_days is "0"; write degrees Celsius times days, such as 200"#,
        ),
        (
            "a,tall-fescue,x,500,10,me\n",
            r#"my.csv: line 2: base_c is "500"; write degrees Celsius, such as 10"#,
        ),
        (
            "a,tall-fescue,x,5,10,\n",
            r#"my.csv: line 2: source is ""; a model without it can be used by nobody"#,
        ),
        (
            "a,b,x,5,10,me\na,b,x,5,10,me\n",
            r#"my.csv: line 3: model "a" stands there twice; keep one of them"#,
        ),
    ] {
        assert_eq!(read(row).expect_err("it is refused").to_string(), told);
    }
}
