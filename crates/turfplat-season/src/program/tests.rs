use jiff::civil::{Date, date};

use super::*;
use crate::daily::{DailyOptions, DailySeries, Temperature, read_daily};
use crate::degree_days::{DailySources, DegreeDays, Origin};

fn window(first: Date, last: Date) -> Window {
    Window::new(first, last, &[]).expect("a season")
}

#[test]
fn the_next_treatment_waits_for_the_later_of_interval_and_model() {
    let season = window(date(2026, 4, 15), date(2026, 10, 15));
    let last = date(2026, 5, 1);
    let next = |days, model| next_day(&season, last, days, model).map(|it| (it.day, it.because));
    // 30 days of May after the 1st are the 31st; 28 days later is the 29th.
    assert_eq!(next(28, None), Some((date(2026, 5, 29), NextBecause::Interval)));
    assert_eq!(next(28, Some(date(2026, 5, 20))), Some((date(2026, 5, 29), NextBecause::Interval)));
    assert_eq!(next(28, Some(date(2026, 6, 3))), Some((date(2026, 6, 3), NextBecause::Model)));
    assert_eq!(next(0, None), Some((date(2026, 5, 2), NextBecause::Interval)));
    assert_eq!(next(200, None), None);
    assert_eq!(next(28, Some(date(2026, 10, 16))), None);
}

#[test]
fn nothing_falls_into_a_pause() {
    let pauses = [(date(2026, 7, 1), date(2026, 8, 20)), (date(2026, 8, 21), date(2026, 8, 25))];
    let season = Window::new(date(2026, 4, 15), date(2026, 10, 15), &pauses).expect("a season");
    let next = next_day(&season, date(2026, 6, 10), 28, None);
    assert_eq!(next, Some(Next { day: date(2026, 8, 26), because: NextBecause::Pause }));
    for (first, last, pauses, told) in [
        (
            date(2026, 5, 1),
            date(2026, 4, 1),
            vec![],
            "ends on 2026-04-01, before it begins on 2026-05-01; correct the one or the other",
        ),
        (
            date(2026, 5, 1),
            date(2036, 4, 1),
            vec![],
            "runs from 2026-05-01 to 2036-04-01, longer than 3 years; plan a season at a time",
        ),
        (
            date(2026, 5, 1),
            date(2026, 9, 1),
            vec![(date(2026, 7, 2), date(2026, 7, 1))],
            "has a pause that ends on 2026-07-01, before it begins on 2026-07-02; correct the one or the other",
        ),
    ] {
        let refused = Window::new(first, last, &pauses).expect_err("no season");
        assert_eq!(refused.to_string(), told);
    }
}

fn series(text: &str) -> DailySeries {
    read_daily("t.csv", text.as_bytes(), &DailyOptions::default()).expect("it is a series")
}

#[test]
fn green_up_by_the_soil_is_the_end_of_a_run() {
    let soils = ["48", "51", "52", "49", "50", "51", "53", "40"];
    let rows =
        soils.iter().enumerate().map(|(place, soil)| format!("2026-03-{:02},{soil}\n", place + 1));
    let series = series(&format!("date,soil_f\n{}", rows.collect::<String>()));
    let sources = DailySources { measured: Some(&series), ..DailySources::default() };
    let at_least = Temperature::read("50 F").expect("a temperature");
    let of = |days, since| Start::Soil { at_least, days, since }.day(&sources, date(2026, 10, 1));
    // By hand: 51 and 52, broken by 49; then 50, 51 and 53 on the 5th to the 7th.
    let found = of(3, date(2026, 3, 1)).expect("it greens up");
    assert_eq!((found.day, found.by, found.note), (date(2026, 3, 7), Some(Origin::Measured), None));
    assert_eq!(of(2, date(2026, 3, 1)).map(|it| it.day), Ok(date(2026, 3, 3)));
    assert_eq!(of(4, date(2026, 3, 1)), Err(StartUnknown::NotReached(date(2026, 3, 8))));
    // What is missing before is told, and nothing is taken for it.
    let found = of(3, date(2026, 2, 20)).expect("it greens up");
    assert!(found.note.is_some_and(|note| note.contains("missing from 2026-02-20")));
    // A gap among the measured days stays one, whatever is usual: 51 and 52, then nobody knows.
    let gap = self::series("date,soil_f\n2026-03-02,51\n2026-03-03,52\n2026-03-05,49\n");
    let usual = self::series("date,soil_f\n03-04,60\n");
    let sources =
        DailySources { measured: Some(&gap), normals: Some(&usual), ..DailySources::default() };
    let start = Start::Soil { at_least, days: 3, since: date(2026, 3, 2) };
    let unknown = start.day(&sources, date(2026, 3, 10));
    assert_eq!(unknown, Err(StartUnknown::Missing(date(2026, 3, 4))));
    let sources = DailySources { measured: Some(&series), ..DailySources::default() };
    let late = Start::Soil { at_least, days: 3, since: date(2026, 4, 1) };
    let (end, since) = (date(2026, 3, 8), date(2026, 4, 1));
    assert_eq!(late.day(&sources, date(2026, 10, 1)), Err(StartUnknown::EndBefore { end, since }));
    let none = Start::Soil { at_least, days: 3, since: date(2026, 3, 1) };
    let air = self::series("date,tmax_c,tmin_c\n2026-03-01,10,0\n");
    let sources = DailySources { measured: Some(&air), ..DailySources::default() };
    assert_eq!(none.day(&sources, date(2026, 10, 1)), Err(StartUnknown::NoSoil));
    assert_eq!(
        none.day(&DailySources::default(), date(2026, 10, 1)),
        Err(StartUnknown::NoTemperatures)
    );
}

#[test]
fn green_up_by_degree_days_is_the_day_of_the_sum() {
    let spring = series(include_str!("../../tests/data/seattle-2012-spring.rows.csv"));
    let sources = DailySources { measured: Some(&spring), ..DailySources::default() };
    let base = Temperature::read("0 C").expect("a base");
    let start = |sum, since| {
        let sum = DegreeDays::read(sum).expect("a sum");
        Start::DegreeDays { sum, base, since }.day(&sources, date(2012, 10, 1)).map(|it| it.day)
    };
    // As summed by hand from 1 May: 105.2 on the 10th.
    assert_eq!(start("105 C", date(2012, 5, 1)), Ok(date(2012, 5, 10)));
    assert_eq!(start("1000 C", date(2012, 5, 1)), Err(StartUnknown::NotReached(date(2012, 5, 31))));
    assert_eq!(start("50 C", date(2012, 3, 31)), Err(StartUnknown::Missing(date(2012, 3, 31))));
}
