//! Laws of warmth that a superintendent would nod at.

use std::fmt::Write;

use jiff::ToSpan;
use jiff::civil::{Date, date};
use proptest::prelude::*;

use super::*;
use crate::daily::{DailyOptions, DailySeries, Temperature, read_daily};

const FIRST: Date = date(2026, 4, 1);

/// Most and least of each day, in tenths of a degree Celsius.
fn days() -> impl Strategy<Value = Vec<(i32, i32)>> {
    prop::collection::vec((-150_i32..400, 0_i32..200), 1..60)
        .prop_map(|days| days.into_iter().map(|(least, more)| (least + more, least)).collect())
}

fn day(place: usize) -> Date {
    FIRST.saturating_add(i64::try_from(place).unwrap_or(0).days())
}

/// The series as a file of one's own in °C or °F, or as GHCN-Daily; without the days of `missing`.
fn series(days: &[(i32, i32)], missing: &[usize], form: usize) -> Option<DailySeries> {
    let mut text = match form {
        0 => "date,tmax_c,tmin_c\n".to_owned(),
        1 => "date,tmax_f,tmin_f\n".to_owned(),
        _ => String::new(),
    };
    for (place, (most, least)) in days.iter().enumerate() {
        if missing.contains(&place) {
            continue;
        }
        let on = day(place);
        let celsius = |tenths: &i32| f64::from(*tenths) / 10.0;
        let fahrenheit = |tenths: &i32| celsius(tenths) * 1.8 + 32.0;
        let _ = match form {
            0 => writeln!(text, "{on},{},{}", celsius(most), celsius(least)),
            1 => writeln!(text, "{on},{},{}", fahrenheit(most), fahrenheit(least)),
            _ => {
                let on = on.strftime("%Y%m%d");
                writeln!(text, "X1,{on},TMAX,{most},,,W,\nX1,{on},TMIN,{least},,,W,")
            }
        };
    }
    read_daily("t.csv", text.as_bytes(), &DailyOptions::default()).ok()
}

fn count(series: &DailySeries, base: f64, wanted: f64, days: usize) -> HeatCount {
    let sources = DailySources { measured: Some(series), ..DailySources::default() };
    let base = Temperature::from_celsius(base).expect("a base");
    let wanted = DegreeDays::from_celsius_days(wanted).expect("a sum");
    count_heat(&sources, base, wanted, FIRST, day(days - 1))
}

proptest! {
    /// One spring is one sum, in whatever form it comes.
    #[test]
    fn the_form_of_a_file_changes_no_sum(days in days(), base in 0_i32..15) {
        let sums: Vec<f64> = (0..3)
            .map(|form| {
                let series = series(&days, &[], form).expect("a series");
                count(&series, f64::from(base), 1e6, days.len()).sum.celsius_days()
            })
            .collect();
        prop_assert!((sums[0] - sums[1]).abs() < 1e-6 && (sums[0] - sums[2]).abs() < 1e-6, "{sums:?}");
        // The formula, apart from the code under test.
        let by_hand: f64 = days
            .iter()
            .map(|(most, least)| (f64::from(most + least) / 20.0 - f64::from(base)).max(0.0))
            .sum();
        prop_assert!((sums[0] - by_hand).abs() < 1e-6);
    }

    /// A warmer base counts no more, and no day takes anything away.
    #[test]
    fn a_warmer_base_never_counts_more(days in days(), base in 0_i32..15, more in 0_i32..10) {
        let series = series(&days, &[], 0).expect("a series");
        let cool = count(&series, f64::from(base), 1e6, days.len());
        let warm = count(&series, f64::from(base + more), 1e6, days.len());
        prop_assert!(warm.sum <= cool.sum);
        prop_assert!(cool.days.windows(2).all(|pair| pair[0].sum <= pair[1].sum));
    }

    /// A day that nobody knows makes no sum larger and no date sooner, and no date after it is said to
    /// be known.
    #[test]
    fn a_gap_never_makes_anything_sooner(
        days in days(), gaps in prop::collection::vec(0_usize..60, 1..5), wanted in 1_i32..300,
    ) {
        let gaps: Vec<usize> = gaps.into_iter().filter(|place| *place < days.len()).collect();
        let Some(without) = series(&days, &gaps, 0) else { return Ok(()) };
        let whole = series(&days, &[], 0).expect("a series");
        let (whole, without) = (
            count(&whole, 0.0, f64::from(wanted), days.len()),
            count(&without, 0.0, f64::from(wanted), days.len()),
        );
        match (whole.reached, without.reached) {
            (Reached::On { day: sure, .. }, Reached::On { day: told, .. }) => {
                prop_assert_eq!(sure, told);
                prop_assert!(gaps.iter().all(|place| day(*place) > told));
            }
            (Reached::On { day: sure, .. }, Reached::Unknown { at_the_latest, .. }) => {
                prop_assert!(at_the_latest.is_none_or(|latest| latest >= sure));
            }
            (_, Reached::On { .. }) => prop_assert!(false, "reached with less"),
            _ => {}
        }
    }

    /// A file that was damaged anywhere makes no panic, and no warmth that was not measured.
    #[test]
    fn damage_makes_no_panic(
        which in 0_usize..4, place in 0_usize..6000, byte in any::<u8>(), cut in any::<bool>(),
    ) {
        let files = [
            include_str!("../../tests/data/seattle-2012-spring.csv"),
            include_str!("../../tests/data/seattle-2012-spring.rows.csv"),
            include_str!("../../tests/data/seattle-2012-spring.columns.csv"),
            include_str!("../../tests/data/seattle-2012-spring.dly"),
        ];
        let mut bytes = files[which].as_bytes().to_vec();
        let place = place % bytes.len();
        if cut { bytes.truncate(place) } else { bytes[place] = byte }
        if let Ok(series) = read_daily("t", bytes.as_slice(), &DailyOptions::default()) {
            // At most one value is another one; so at most two days more are known than there were.
            prop_assert!(series.days_known() <= 62);
        }
    }
}
