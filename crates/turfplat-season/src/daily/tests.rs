use jiff::civil::{Date, date};

use super::*;
use crate::degree_days::Origin;

const SPRING: [(&str, &str); 4] = [
    ("plain", include_str!("../../tests/data/seattle-2012-spring.csv")),
    ("rows", include_str!("../../tests/data/seattle-2012-spring.rows.csv")),
    ("columns", include_str!("../../tests/data/seattle-2012-spring.columns.csv")),
    ("dly", include_str!("../../tests/data/seattle-2012-spring.dly")),
];

fn read(file: &str, text: &str) -> Result<DailySeries, DailyError> {
    read_daily(file, text.as_bytes(), &DailyOptions::default())
}

fn series(file: &str, text: &str) -> DailySeries {
    read(file, text).unwrap_or_else(|error| panic!("{file}: {error}"))
}

fn message(text: &str) -> String {
    read("t.csv", text).expect_err("it is refused").to_string()
}

fn mean(series: &DailySeries, day: Date) -> Option<f64> {
    series.on(day).mean().map(|mean| (mean.celsius() * 1000.0).round() / 1000.0)
}

#[test]
fn one_spring_is_the_same_in_all_layouts() {
    for (file, text) in SPRING {
        let read = series(file, text);
        assert_eq!(read.days_known(), 61, "{file}");
        assert_eq!(read.span(), Some((date(2012, 4, 1), date(2012, 5, 31))), "{file}");
        assert!(read.dropped.is_empty() && read.missing().is_empty(), "{file}: {read:?}");
        // Worked by hand: (21.1 + 7.2) / 2, and (26.7 + 12.8) / 2.
        assert_eq!(mean(&read, date(2012, 4, 8)), Some(14.15), "{file}");
        assert_eq!(mean(&read, date(2012, 5, 14)), Some(19.75), "{file}");
        let station = (file != "plain").then(|| "USW00024233".to_owned());
        assert_eq!(read.station, station, "{file}");
    }
}

#[test]
fn lines_for_values_may_have_a_header_or_none() {
    let (_, without) = SPRING[1];
    let header = "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n";
    let with = series("rows", &format!("{header}{without}"));
    let mut without = series("rows", without);
    assert_eq!(with.days_known(), 61);
    without.dropped.clear();
    assert_eq!(with, without);
}

#[test]
fn every_value_that_does_not_count_is_listed_with_its_reason() {
    let read = series("marked", include_str!("../../tests/data/marked.rows.csv"));
    let told: Vec<String> = read.dropped.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            r#"line 4, 2026-04-02, TMAX "356": its station marked it (quality flag X)"#,
            "line 7, 2026-04-03, the day's most: missing",
            r#"line 8, 2026-04-04, TMAX "61": the least of its day is above the most"#,
            r#"line 9, 2026-04-04, TMIN "72": the least of its day is above the most"#,
            r#"line 10, 2026-04-05, TMAX "1500": it was never so cold or hot on earth"#,
            r#"line 13, 2026-04-07, TMIN "70": its day stands there twice, and the two differ"#,
            r#"line 14, 2026-04-07, TMIN "80": its day stands there twice, and the two differ"#,
            r#"line 15, TMIN "20260431": what stands there as its day is none"#,
            r#"line 16, 2026-04-08, TMAX "n/a": no number"#,
        ]
    );
    // Only two days have a mean; the sixth stands nowhere, and nothing was made up for it.
    assert_eq!(read.days_known(), 2);
    let missing: Vec<i8> = read.missing().iter().map(|day| day.day()).collect();
    assert_eq!(missing, [2, 3, 4, 5, 6, 7, 8]);
    // Of soil the mean of its least and most: (9 + 11) / 2.
    assert_eq!(read.soil.as_deref(), Some("12"));
    assert_eq!(read.on(date(2026, 4, 9)).soil.map(Temperature::celsius), Some(10.0));
}

#[test]
fn flags_of_a_column_beside_a_value_count_too() {
    let head = r#""STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES""#;
    let row = |day: &str, flags: &str| {
        format!(r#""XX1","{day}","1","2","3","A, B","  267",",{flags},W","  150",",,W,0700""#)
    };
    let text = format!("{head}\n{}\n{}\n", row("2026-04-01", ""), row("2026-04-02", "I"));
    let read = series("columns", &text);
    assert_eq!(mean(&read, date(2026, 4, 1)), Some(20.85));
    assert_eq!(read.dropped.len(), 1);
    assert_eq!(read.dropped[0].reason, DropReason::QualityFlag("I".to_owned()));
}

#[test]
fn of_several_stations_one_must_be_named() {
    let text = "A1,20260401,TMAX,100,,,W,\nA1,20260401,TMIN,50,,,W,\nB2,20260401,TMAX,300,,,W,\nB2,20260401,TMIN,100,,,W,\n";
    assert_eq!(message(text), "t.csv: holds several stations (A1, B2); say which one is meant");
    let of = |station| {
        let options = DailyOptions { station: Some(station), ..DailyOptions::default() };
        read_daily("t.csv", text.as_bytes(), &options)
    };
    assert_eq!(mean(&of("b2").expect("it is there"), date(2026, 4, 1)), Some(20.0));
    let refused = of("C3").expect_err("it is not there").to_string();
    assert_eq!(refused, r#"t.csv: holds nothing of station "C3" (there is: A1, B2)"#);
}

#[test]
fn a_table_of_ones_own_says_its_units() {
    let text = "Date;Tmax (°F);Tmin_C;soil_f\n2026-04-01;68,0;10,0;50\n\n20260402;;;59\n";
    let read = series("t.csv", text);
    // (20 + 10) / 2, each in its own unit.
    assert_eq!(mean(&read, date(2026, 4, 1)), Some(15.0));
    assert_eq!(read.on(date(2026, 4, 2)).soil.map(Temperature::celsius), Some(15.0));
    let soil = series("t.csv", "date,soil_c\n2026-04-01,9\n");
    assert_eq!((soil.days_known(), soil.span().is_some()), (0, true));
    let normals = series("t.csv", "date,tmax_c,tmin_c\n02-28,6,2\n03-01,8,2\n");
    let usual = |day| normals.on_any_year(day).mean().map(Temperature::celsius);
    assert_eq!(usual(date(2027, 3, 1)), Some(5.0));
    assert_eq!(usual(date(2028, 2, 29)), Some(4.0), "the 28th stands for a 29th that is not given");
    assert_eq!(usual(date(2028, 3, 2)), None);
}

#[test]
fn what_cannot_be_read_is_refused_with_the_cure() {
    #[rustfmt::skip]
    let table = [
        ("", "t.csv: is empty; give a file with a line for each day"),
        ("LOCATION,Somewhere,XX,USA,TMY3,000000,40.0,-90.0,-6.0,200.0\n",
         "t.csv: is a typical year (EPW), put together of months of several years: no season was like it, and no record or forecast is made of it; give the temperatures of a station by day"),
        ("{\"properties\": {}}", "t.csv: is JSON, and temperatures by day are wanted; write them as a table with the columns date, tmin_f and tmax_f (or tmin_c and tmax_c)"),
        ("hello\n", "t.csv: line 1: not known as temperatures by day; give GHCN-Daily (CSV of a station or of a year, or .dly), or a table with the columns date, tmin_f and tmax_f (or tmin_c and tmax_c)"),
        ("date,tmax,tmin\n2026-04-01,60,40\n", "t.csv: the column \"tmax\" does not say its unit; call it \"tmax_f\" or \"tmax_c\""),
        ("date,tmax_f\n2026-04-01,60\n", "t.csv: has no column \"tmin_f\" (there is: date, tmax_f)"),
        ("date,tmax_f,tmnin_f\n2026-04-01,60,40\n", "t.csv: has no column \"tmin_f\" (there is: date, tmax_f, tmnin_f); is it \"tmnin_f\"?"),
        ("date,tmax_f,tmax_c,tmin_f\n", "t.csv: the columns \"tmax_f\" and \"tmax_c\" say the same; keep one of them"),
        ("date,tmax_f,tmin_f\n4/1/2026,60,40\n", "t.csv: line 2: \"4/1/2026\" is no day as 2026-05-02, and which number is the month is not guessed; write days so"),
        ("\"STATION\",\"NAME\",\"DATE\",\"TMAX\",\"TMIN\"\n", "t.csv: was ordered by form, and does not say in which unit; call its columns tmax_f and tmin_f, or tmax_c and tmin_c"),
        ("A1,20260401,TMAX,26.7,,,W,\n", "t.csv: line 1: TMAX is \"26.7\", and in this layout it is tenths of a degree Celsius, a whole number; if it is degrees, call the columns tmax_f and tmin_f, or tmax_c and tmin_c"),
        ("date,tmax_f,tmin_f\n2026-04-01,600,40x\n", "t.csv: holds no temperature that counts; 2 are dropped, the first: line 2, 2026-04-01, tmax_f \"600\": it was never so cold or hot on earth"),
    ];
    for (text, told) in table {
        assert_eq!(message(text), told);
    }
    let text = "A1,20260401,SN12,100,,,W,\nA1,20260401,SX12,110,,,W,\nA1,20260401,SN32,100,,,W,\n";
    let options = DailyOptions { soil_wanted: true, ..DailyOptions::default() };
    let refused = read_daily("t.csv", text.as_bytes(), &options).expect_err("which soil?");
    assert!(
        refused
            .to_string()
            .starts_with("t.csv: holds several soil temperatures (12, 32); say which")
    );
}

#[test]
fn normals_and_measured_days_are_not_taken_for_each_other() {
    let normals = series("n.csv", "date,tmax_c,tmin_c\n02-28,6,2\n");
    assert!(normals.check_as(Origin::Normals).is_ok());
    for origin in [Origin::Measured, Origin::Forecast] {
        let told = normals.check_as(origin).expect_err("no year").to_string();
        assert!(told.starts_with("n.csv: its days have no year"), "{told}");
    }
    let years =
        series("y.csv", "date,tmax_c,tmin_c\n2025-05-01,6,2\n2025-05-02,6,2\n2026-05-02,8,2\n");
    assert!(years.check_as(Origin::Measured).is_ok());
    let told = years.check_as(Origin::Normals).expect_err("two years").to_string();
    assert!(told.starts_with("y.csv: has 05-02 of several years"), "{told}");
    let (_, one_spring) = SPRING[0];
    assert!(series("s.csv", one_spring).check_as(Origin::Normals).is_ok());
}

/// As NOAA's page of daily summaries exports them: a title, and units in words.
#[test]
fn a_title_may_stand_over_a_table_whose_units_are_words() {
    let text = "\"SOMEWHERE, WA US (XX1)\"\nDate,TAVG (Degrees Fahrenheit),TMAX (Degrees Fahrenheit),TMIN (Degrees Fahrenheit),PRCP (Inches)\n2026-04-01,,68,50,0.1\n2026-04-02,,x,50,\n";
    let read = series("t.csv", text);
    assert_eq!(mean(&read, date(2026, 4, 1)), Some(15.0));
    let told: Vec<String> = read.dropped.iter().map(ToString::to_string).collect();
    assert_eq!(told, [r#"line 4, 2026-04-02, TMAX (Degrees Fahrenheit) "x": no number"#]);
}

#[test]
fn bytes_of_any_kind_make_no_panic() {
    for text in [
        &b"\xff\xfe\x00date"[..],
        b"date,tmax_f,tmin_f\n\xff,\xff,\xff\n",
        b"USW00024233201204TMAX",
        b"\n\n\n",
        b",,,,\n",
        b"A1,20260401,TMAX,\xff\xfe,,,\n",
        b"date\n",
    ] {
        let read = read_daily("t.csv", text, &DailyOptions::default());
        assert!(read.is_err(), "{text:?}");
    }
}
