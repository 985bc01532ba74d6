//! Calibration: every published worked example, the traps of the trade, and its laws.

#![allow(clippy::unwrap_used)] // A test may.

use std::collections::BTreeMap;

use proptest::prelude::*;
use turfplat_dose::{
    CalibrateError, Catch, FlowOf, SpreaderSetting, WidthOf, Worked, boom_flow, boom_speed,
    boom_volume, boom_width, catch_course, catch_volume, check_spreader, extent, flow_at_pressure,
    half_rate, in_a_tank, pressure_for_flow, setting_for, speed_walked, spread_rate, tank_covers,
    time_for_speed, used_on_area,
};
use turfplat_units::{
    Amount, Area, Flow, Length, Mass, Pressure, Rate, RateUnit, Speed, Time, UnitSystem, Volume,
    WrittenAmount, WrittenRate,
};

const US: UnitSystem = UnitSystem::Us;

fn read<T: std::str::FromStr>(text: &str) -> T
where
    T::Err: std::fmt::Debug,
{
    text.parse().unwrap_or_else(|error| panic!("{text}: {error:?}"))
}

fn rate(text: &str) -> Rate {
    read::<WrittenRate>(text).rate().unwrap()
}

fn volume(text: &str) -> Volume {
    match read::<WrittenAmount>(text).amount().unwrap() {
        Amount::Volume(volume) => volume,
        Amount::Mass(_) => panic!("{text} is a weight"),
    }
}

fn mass(text: &str) -> Mass {
    match read::<WrittenAmount>(text).amount().unwrap() {
        Amount::Mass(mass) => mass,
        Amount::Volume(_) => panic!("{text} is a volume"),
    }
}

fn per(rate: Rate, unit: &str) -> f64 {
    rate.in_unit(read::<RateUnit>(unit)).unwrap()
}

/// What follows `word` in one of the row's inputs.
fn input(inputs: &str, word: &str) -> String {
    let mut pieces = inputs.split("; ");
    let piece = pieces.find_map(|piece| piece.strip_prefix(word));
    piece.unwrap_or_else(|| panic!("no {word:?} in {inputs:?}")).trim().to_owned()
}

/// One row of the table: what the source prints, half its last digit, what is exact, what is ours.
struct Checked {
    ours: f64,
    printed: f64,
    half_a_digit: f64,
    exact: f64,
}

fn caught(inputs: &str) -> Worked<Rate> {
    let time: Time = inputs.split("; ").find_map(|piece| piece.parse().ok()).unwrap();
    let catch = Catch {
        course: read(&input(inputs, "course ")),
        course_time: time,
        catch_time: time,
        caught: volume(&input(inputs, "caught ")),
    };
    catch_volume(&catch, US).unwrap()
}

/// The figure of the 1/128-acre rule, as its step tells it.
fn by_rule(worked: &Worked<Rate>) -> f64 {
    let step = worked.steps.last().unwrap();
    assert!(step.source.starts_with("1/128-acre rule"), "{step:?}");
    step.result.split(' ').next().unwrap().parse().unwrap()
}

/// What we make of a row. Where the printed figure is not the exact one, the row says why.
fn worked(id: &str, inputs: &str) -> Vec<Checked> {
    let row = |ours, printed, half_a_digit, exact| Checked { ours, printed, half_a_digit, exact };
    match id {
        "S1" | "S3" => {
            let flow: Flow = read(&input(inputs, "flow "));
            let speed: Speed = read(&input(inputs, "speed "));
            let width: Length = read(&input(inputs, "width "));
            let found = boom_volume(flow, speed, width, US).unwrap().value;
            match id {
                // Printed to whole gallons.
                "S1" => vec![row(per(found, "gal/A"), 20.0, 0.5, 20.067_567_567_6)],
                _ => vec![row(per(found, "L/ha"), 200.0, 0.5, 200.0)],
            }
        }
        "S4" => {
            let found = caught(inputs);
            let gallon = volume("1 gal");
            let product = in_a_tank(gallon, rate("32 fl oz/A"), rate("40 gal/A"), US).unwrap();
            let ounces = product.value.over(Amount::Volume(volume("1 fl oz"))).unwrap();
            vec![
                // The rule takes 340 sq ft for 340.3125.
                row(per(found.value, "gal/A"), 40.0, 0.5, 40.036_764_705_9),
                row(by_rule(&found), 40.0, 0.0, 40.0),
                row(ounces, 0.8, 0.05, 0.8),
            ]
        }
        "S6" => {
            let side = |word| read::<Length>(&input(inputs, word));
            let course = Area::of_rectangle(side("swath "), side("course ")).unwrap();
            let found = used_on_area(volume("5.25 gal"), course, US).unwrap().value;
            vec![
                row(per(found, "gal/1000 sq ft"), 5.25, 5e-3, 5.25),
                row(per(found, "gal/A"), 228.7, 0.05, 228.69),
            ]
        }
        "S7" => {
            let found = caught(inputs);
            let tank = volume(&input(inputs, "tank "));
            // The source covers by the rule's 150 gal/A, not by the area's 149.15.
            let acres = tank_covers(tank, rate("150 gal/A"), US).unwrap().value.acres();
            vec![
                row(by_rule(&found), 150.0, 0.5, 150.0),
                row(per(found.value, "gal/A"), 149.15, 5e-3, 150.0 / 128.0 / 342.25 * 43_560.0),
                row(acres, 1.0 / 6.0, 1e-9, 0.166_666_666_7),
            ]
        }
        "S9" => {
            let band: Length = read(&input(inputs, "band "));
            let course = Area::of_rectangle(band, read("300 ft")).unwrap();
            let found = used_on_area(volume("26 fl oz"), course, US).unwrap().value;
            vec![row(per(found, "gal/A"), 29.5, 0.05, 29.493_75)]
        }
        "S11" | "C1" | "C2" | "C3" => {
            let spacing = read(&input(inputs, "nozzle spacing "));
            let (printed, exact) = match id {
                "S11" => (227.0, 226.875),
                "C1" => (408.0, 408.375),
                "C2" => (204.0, 204.1875),
                _ => (136.0, 136.125),
            };
            vec![row(catch_course(spacing, US).unwrap().value.feet(), printed, 0.5, exact)]
        }
        "P1" => {
            let (flow, at) = inputs.split_once("; ").unwrap().0.split_once(" at ").unwrap();
            let found =
                flow_at_pressure(read(flow), read(at), read(&input(inputs, "at ")), US).unwrap();
            vec![row(found.value.gallons_per_minute(), 0.40, 5e-3, 0.40)]
        }
        "G1" => {
            // 20 % N, so a pound of N is five pounds of product.
            let wanted = rate("1 lb/1000 sq ft").times(1.0 / 0.20);
            let check = check_spreader(wanted, wanted, US).unwrap().value;
            vec![
                row(per(wanted, "lb/1000 sq ft"), 5.0, 5e-3, 5.0),
                row(per(check.least, "lb/1000 sq ft"), 4.75, 5e-3, 4.75),
                row(per(check.most, "lb/1000 sq ft"), 5.25, 5e-3, 5.25),
            ]
        }
        "G3" => {
            let found = spread_rate(mass("0.5 lb"), read("50 sq ft"), US).unwrap().value;
            vec![row(per(found, "lb/1000 sq ft"), 10.0, 0.5, 10.0)]
        }
        other => panic!("row {other} of calibration-examples.csv has no test"),
    }
}

fn first_number(text: &str) -> f64 {
    let end = text.find(' ').unwrap_or(text.len());
    text[..end].parse().unwrap_or_else(|_| panic!("no number in front of {text:?}"))
}

#[test]
fn calibration_agrees_with_every_published_example() {
    let mut reader = csv::Reader::from_path("tests/data/calibration-examples.csv").unwrap();
    let mut rows = 0;
    for record in reader.deserialize::<BTreeMap<String, String>>() {
        let record = record.unwrap();
        let (id, source) = (&record["id"], &record["source"]);
        let checked = worked(id, &record["inputs"]);
        // What is checked is what stands in the row, not what this file says of it.
        for (column, held) in [
            ("printed", checked.iter().map(|of| of.printed).collect::<Vec<_>>()),
            ("exact", checked.iter().map(|of| of.exact).collect()),
        ] {
            let first = first_number(&record[column]);
            assert!(held.contains(&first), "{id}: {column} {first} is not checked: {held:?}");
        }
        for Checked { ours, printed, half_a_digit, exact } in checked {
            assert!((ours - printed).abs() <= half_a_digit + 1e-9, "{id}: {ours}, {source}");
            assert!((ours - exact).abs() <= 1e-9 * exact, "{id}: {ours} ≠ {exact}, {source}");
        }
        rows += 1;
    }
    assert_eq!(rows, 13);
}

#[test]
fn a_result_shows_formula_numbers_and_source() {
    let found = boom_volume(read("0.4 gal/min"), read("3 mph"), read("20 in"), US).unwrap();
    let step = &found.steps[0];
    assert_eq!(step.numbers, "5940 × 0.4 ÷ (3 × 20)");
    assert_eq!(step.result, "39.6 gal/A = 0.909091 gal/1000 sq ft");
    assert!(step.source.contains("exact") && step.source.contains("136.36"));
    let metric = UnitSystem::Metric;
    let found = boom_volume(read("1.3 L/min"), read("7.8 km/h"), read("0.5 m"), metric).unwrap();
    assert_eq!(found.steps[0].numbers, "600 × 1.3 ÷ (7.8 × 0.5)");
    assert_eq!(found.steps[0].result, "200 L/ha = 2 L/100 m2");
}

/// The numbers put in, gone over with the printed formula, come to the result.
#[test]
fn the_constants_are_the_exact_ones() {
    let found = boom_volume(read("1 gal/min"), read("1 mph"), read("1 in"), US).unwrap().value;
    assert!((per(found, "gal/A") - 5940.0).abs() < 1e-8);
    assert!((per(found, "gal/1000 sq ft") - 5940.0 / 43.56).abs() < 1e-9);
    let found = boom_volume(read("1 L/min"), read("1 km/h"), read("1 m"), US).unwrap().value;
    assert!((per(found, "L/ha") - 600.0).abs() < 1e-9);
}

/// One nozzle's flow over the whole boom is off by the number of nozzles.
#[test]
fn flow_and_width_must_be_of_the_same() {
    let (flow, spacing, boom): (Flow, Length, Length) =
        (read("0.4 gal/min"), read("20 in"), read("200 in"));
    assert!(matches!(
        extent(FlowOf::Nozzle(flow), WidthOf::Boom(boom), None),
        Err(CalibrateError::FlowOfOther { .. })
    ));
    assert!(matches!(
        extent(FlowOf::All(flow), WidthOf::Spacing(spacing), None),
        Err(CalibrateError::FlowOfOther { .. })
    ));
    assert_eq!(
        extent(FlowOf::Nozzle(flow), WidthOf::Spacing(spacing), Some(10)),
        Err(CalibrateError::NozzlesNotNeeded)
    );
    let volume = |(flow, width)| boom_volume(flow, read("3 mph"), width, US).unwrap().value;
    let one = volume(extent(FlowOf::Nozzle(flow), WidthOf::Spacing(spacing), None).unwrap());
    let ten = volume(extent(FlowOf::Nozzle(flow), WidthOf::Boom(boom), Some(10)).unwrap());
    let all = read("4 gal/min");
    let whole = volume(extent(FlowOf::All(all), WidthOf::Spacing(spacing), Some(10)).unwrap());
    assert!((one.over(ten).unwrap() - 1.0).abs() < 1e-12);
    assert!((one.over(whole).unwrap() - 1.0).abs() < 1e-12);
}

#[test]
fn nothing_measured_is_refused_by_name() {
    let nothing = |result: Result<Worked<Rate>, CalibrateError>| {
        matches!(result, Err(CalibrateError::Nothing { .. }))
    };
    let (flow, speed, width) = (read("0.4 gpm"), read("3 mph"), read("20 in"));
    assert!(nothing(boom_volume(read("0 gpm"), speed, width, US)));
    assert!(nothing(boom_volume(flow, read("0 mph"), width, US)));
    assert!(nothing(boom_volume(flow, speed, read("0 in"), US)));
    assert!(nothing(used_on_area(volume("1 gal"), read("0 sq ft"), US)));
    assert!(nothing(used_on_area(volume("0 gal"), read("1 sq ft"), US)));
    assert!(nothing(spread_rate(mass("1 lb"), read("0 sq ft"), US)));
    assert!(matches!(
        boom_flow(rate("40 lb/A"), speed, width, US),
        Err(CalibrateError::NotAVolume { .. })
    ));
    assert!(catch_course(Length::ZERO, US).is_err());
    assert!(time_for_speed(read("100 ft"), Speed::default(), US).is_err());
    assert!(speed_walked(read("100 ft"), Time::default(), US).is_err());
    assert!(pressure_for_flow(flow, Pressure::default(), flow, US).is_err());
}

/// A cup that is full before the course is done is caught for a shorter time.
#[test]
fn a_shorter_catch_counts_for_the_whole_course() {
    let catch = |catch_time, caught| Catch {
        course: read("340 sq ft"),
        course_time: read("50 s"),
        catch_time: read(catch_time),
        caught: volume(caught),
    };
    let whole = catch_volume(&catch("50 s", "40 fl oz"), US).unwrap();
    let half = catch_volume(&catch("25 s", "20 fl oz"), US).unwrap();
    assert!((whole.value.over(half.value).unwrap() - 1.0).abs() < 1e-12);
    assert_eq!(whole.steps.len() + 1, half.steps.len());
    assert!(whole.remarks.is_empty(), "340 for 340.3125 is a tenth of a percent");
}

#[test]
fn reverse_formulas_and_pressures_show_their_numbers_in_both_systems() {
    const METRIC: UnitSystem = UnitSystem::Metric;
    let (missouri, press) = ("Missouri Extension G1270A", "farm-press formula sheet");
    let volume = |text| rate(text);
    let steps = [
        // 5940 × 0.4 ÷ (3 × 20) = 39.6 and 600 × 1.3 ÷ (7.8 × 0.5) = 200, turned round.
        (
            boom_flow(volume("39.6 gal/A"), read("3 mph"), read("20 in"), US).unwrap().steps,
            "39.6 × 3 × 20 ÷ 5940",
            missouri,
        ),
        (
            boom_flow(volume("200 L/ha"), read("7.8 km/h"), read("0.5 m"), METRIC).unwrap().steps,
            "200 × 7.8 × 0.5 ÷ 600",
            press,
        ),
        (
            boom_speed(volume("39.6 gal/A"), read("0.4 gpm"), read("20 in"), US).unwrap().steps,
            "5940 × 0.4 ÷ (39.6 × 20)",
            missouri,
        ),
        (
            boom_width(volume("200 L/ha"), read("1.3 L/min"), read("7.8 km/h"), METRIC)
                .unwrap()
                .steps,
            "600 × 1.3 ÷ (200 × 7.8)",
            press,
        ),
        (
            flow_at_pressure(read("0.2 gpm"), read("20 psi"), read("40 psi"), US).unwrap().steps,
            "0.2 × √(40 ÷ 20)",
            "",
        ),
        (
            pressure_for_flow(read("0.8 L/min"), read("2 bar"), read("1 L/min"), METRIC)
                .unwrap()
                .steps,
            "2 × (1 ÷ 0.8)²",
            "",
        ),
    ];
    for (steps, numbers, source) in steps {
        assert_eq!(steps[0].numbers, numbers);
        assert!(steps[0].source.starts_with(source), "{numbers}: {}", steps[0].source);
    }
}

#[test]
fn a_rate_that_is_off_says_which_way_to_set_the_spreader() {
    for (caught, way) in [("3.2 lb/M", "set it down"), ("2.8 lb/M", "set it up")] {
        let found = check_spreader(rate(caught), rate("3 lb/M"), US).unwrap();
        assert!(found.remarks[0].contains(way), "{:?}", found.remarks);
    }
}

#[test]
fn a_table_of_settings_rises_or_falls_throughout() {
    let found = |table: &[(f64, &str)]| setting_for(&rows(table), rate("2.5 lb/M"), US);
    for (rates, turns, first) in [
        (["2 lb/M", "1 lb/M", "3 lb/M"], "falls", "0"),
        (["3 lb/M", "4 lb/M", "1 lb/M"], "rises", "0"),
        (["2 lb/M", "3 lb/M", "2 lb/M"], "rises", "0"), // Ends where it begins: either may be wrong.
        (["1 lb/M", "2 lb/M", "2 lb/M"], "stays", "1"),
    ] {
        let table: Vec<(f64, &str)> = [0.0, 1.0, 2.0].into_iter().zip(rates).collect();
        match found(&table).unwrap_err() {
            CalibrateError::NotMonotone { turns: ours, first: at, .. } => {
                assert_eq!((ours, at.as_str()), (turns, first), "{rates:?}");
            }
            other => panic!("{other}"),
        }
    }
    // A setting of 0 is one, and a table may fall.
    let falls = found(&[(0.0, "3 lb/M"), (1.0, "2 lb/M"), (2.0, "1 lb/M")]).unwrap().value;
    assert!((falls - 0.5).abs() < 1e-9);
}

#[test]
fn a_course_that_is_not_a_128th_acre_is_told() {
    let found = caught("course 18.5 x 18.5 ft; 75 s; caught 150 fl oz");
    assert!(found.remarks[0].contains("0.57 % above"), "{:?}", found.remarks);
}

#[test]
fn much_more_flow_asks_for_another_nozzle() {
    let (flow, at): (Flow, Pressure) = (read("0.2 gal/min"), read("10 psi"));
    let warned = flow_at_pressure(flow, at, read("40 psi"), US).unwrap();
    assert!(warned.remarks[0].contains("common practice, no source"));
    assert!(pressure_for_flow(flow, at, read("0.25 gpm"), US).unwrap().remarks.is_empty());
    assert!(!pressure_for_flow(flow, at, read("0.1 gpm"), US).unwrap().remarks.is_empty());
}

fn rows(rows: &[(f64, &str)]) -> Vec<SpreaderSetting> {
    rows.iter()
        .map(|(setting, text)| SpreaderSetting { setting: *setting, rate: rate(text) })
        .collect()
}

#[test]
fn settings_lie_between_the_users_own_catches() {
    // Given out of order, as noted in the field.
    let table =
        rows(&[(6.0, "6 lb/1000 sq ft"), (4.0, "2 lb/1000 sq ft"), (5.0, "3 lb/1000 sq ft")]);
    let setting = |text: &str| setting_for(&table, rate(text), US).map(|found| found.value);
    for (wanted, expected) in
        [("2.5 lb/M", 4.5), ("4 lb/M", 5.0 + 1.0 / 3.0), ("2 lb/M", 4.0), ("6 lb/M", 6.0)]
    {
        assert!((setting(wanted).unwrap() - expected).abs() < 1e-9, "{wanted}");
    }
    for wanted in ["1.9 lb/M", "6.1 lb/M"] {
        assert!(matches!(setting(wanted), Err(CalibrateError::OutsideTable { .. })), "{wanted}");
    }
    assert!(matches!(setting("1 gal/M"), Err(CalibrateError::NotAWeight { .. })));
}

#[test]
fn tables_that_cannot_be_right_are_refused() {
    let of = |table: &[(f64, &str)]| setting_for(&rows(table), rate("2.5 lb/M"), US).unwrap_err();
    assert!(matches!(of(&[]), CalibrateError::TooFewSettings { .. }));
    assert!(matches!(of(&[(4.0, "2 lb/M")]), CalibrateError::TooFewSettings { .. }));
    assert!(matches!(of(&[(4.0, "2 lb/M"), (4.0, "3 lb/M")]), CalibrateError::SettingTwice { .. }));
    assert!(matches!(of(&[(-1.0, "2 lb/M"), (4.0, "3 lb/M")]), CalibrateError::NotASetting { .. }));
    let falls = of(&[(4.0, "2 lb/M"), (5.0, "3 lb/M"), (6.0, "2.5 lb/M"), (7.0, "4 lb/M")]);
    assert_eq!(
        falls.to_string(),
        "the rate falls from setting 5 to 6, against the rest of the table; catch these two again"
    );
    assert!(matches!(
        of(&[(4.0, "2 lb/M"), (5.0, "2 lb/M"), (6.0, "3 lb/M")]),
        CalibrateError::NotMonotone { turns: "stays", .. }
    ));
}

#[test]
fn a_spreader_is_accepted_within_five_percent() {
    let off = |text| check_spreader(rate(text), rate("5 lb/M"), US).unwrap();
    for (caught, accepted) in
        [("4.75 lb/M", true), ("5.25 lb/M", true), ("4.74 lb/M", false), ("5.26 lb/M", false)]
    {
        assert_eq!(off(caught).value.accepted, accepted, "{caught}");
        assert_eq!(off(caught).remarks.is_empty(), accepted, "{caught}");
    }
    assert!((off("5.5 lb/M").value.percent_off - 10.0).abs() < 1e-9);
    let half = half_rate(rate("5 lb/M"), US).unwrap().value;
    assert!((per(half, "lb/1000 sq ft") - 2.5).abs() < 1e-12);
}

#[test]
fn walking_speed_by_course_and_time() {
    let speed = speed_walked(read("88 ft"), read("20 s"), US).unwrap();
    assert!((speed.value.mph() - 3.0).abs() < 1e-12, "88 ft/min is 1 mph");
    assert_eq!(speed.steps[0].result, "3 mph");
    let time = time_for_speed(read("200 ft"), read("3 mph"), US).unwrap();
    assert!((time.value.seconds() - 45.454_545_454_5).abs() < 1e-9);
}

fn near(ours: f64, theirs: f64) -> Result<(), TestCaseError> {
    prop_assert!((ours - theirs).abs() <= 1e-12 * theirs.abs(), "{} ≠ {}", ours, theirs);
    Ok(())
}

prop_compose! {
    fn any_boom()(flow in 0.01..50.0, speed in 0.5..15.0, width in 5.0..700.0)
        -> (Flow, Speed, Length) {
        (
            read(&format!("{flow} gal/min")),
            read(&format!("{speed} mph")),
            read(&format!("{width} in")),
        )
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Solved for any of them, what was put in comes back.
    #[test]
    fn solving_back_gives_what_was_put_in((flow, speed, width) in any_boom()) {
        let volume = boom_volume(flow, speed, width, US).unwrap().value;
        near(boom_flow(volume, speed, width, US).unwrap().value.millilitres_per_minute(), flow.millilitres_per_minute())?;
        near(boom_speed(volume, flow, width, US).unwrap().value.mph(), speed.mph())?;
        near(boom_width(volume, flow, speed, US).unwrap().value.feet(), width.feet())?;
    }

    /// Twice the flow, twice the volume; twice the speed or width, half of it.
    #[test]
    fn volume_goes_with_flow_and_against_speed_and_width((flow, speed, width) in any_boom(), by in 0.1..10.0) {
        let volume = boom_volume(flow, speed, width, US).unwrap().value;
        let times = |found: Rate| found.over(volume).unwrap();
        let more = Flow::from_millilitres_per_minute(flow.millilitres_per_minute() * by).unwrap();
        let faster = Speed::from_metres_per_second(speed.metres_per_second() * by).unwrap();
        let wider = Length::from_metres(width.metres() * by).unwrap();
        near(times(boom_volume(more, speed, width, US).unwrap().value), by)?;
        near(times(boom_volume(flow, faster, width, US).unwrap().value), 1.0 / by)?;
        near(times(boom_volume(flow, speed, wider, US).unwrap().value), 1.0 / by)?;
    }

    /// The units that it is told in change nothing; the two printed formulas agree.
    #[test]
    fn metric_is_us((flow, speed, width) in any_boom()) {
        let us = boom_volume(flow, speed, width, US).unwrap().value;
        let metric = boom_volume(flow, speed, width, UnitSystem::Metric).unwrap().value;
        prop_assert_eq!(us, metric);
        near(per(us, "gal/A"), 5940.0 * flow.gallons_per_minute() / (speed.mph() * width.inches()))?;
        near(per(us, "L/ha"), 600.0 * flow.litres_per_minute() / (speed.kilometres_per_hour() * width.metres()))?;
    }

    /// A catch and the flow, speed and width behind it tell the same volume.
    #[test]
    fn a_catch_agrees_with_the_formula((flow, speed, width) in any_boom(), feet in 20.0..500.0) {
        let course: Length = read(&format!("{feet} ft"));
        let time = time_for_speed(course, speed, US).unwrap().value;
        let caught = flow.millilitres_per_minute() * time.seconds() / 60.0;
        let catch = Catch {
            course: Area::of_rectangle(course, width).unwrap(),
            course_time: time,
            catch_time: time,
            caught: Volume::from_millilitres(caught).unwrap(),
        };
        let by_formula = boom_volume(flow, speed, width, US).unwrap().value;
        near(catch_volume(&catch, US).unwrap().value.over(by_formula).unwrap(), 1.0)?;
        near(speed_walked(course, time, US).unwrap().value.mph(), speed.mph())?;
    }

    /// On a course of the rule's own length the rule is exact.
    #[test]
    fn the_rule_is_exact_on_its_own_course(inches in 5.0..60.0, ounces in 5.0..200.0) {
        let spacing: Length = read(&format!("{inches} in"));
        let course = catch_course(spacing, US).unwrap().value;
        let catch = Catch {
            course: Area::of_rectangle(course, spacing).unwrap(),
            course_time: read("40 s"),
            catch_time: read("40 s"),
            caught: volume(&format!("{ounces} fl oz")),
        };
        let found = catch_volume(&catch, US).unwrap();
        near(per(found.value, "gal/A"), ounces)?;
        prop_assert!(found.remarks.is_empty());
    }

    /// Four times the pressure, twice the flow, and back again.
    #[test]
    fn flow_goes_with_the_root_of_pressure(gpm in 0.05..5.0, psi in 5.0..100.0, to in 5.0..100.0) {
        let (flow, at, to): (Flow, Pressure, Pressure) =
            (read(&format!("{gpm} gpm")), read(&format!("{psi} psi")), read(&format!("{to} psi")));
        let found = flow_at_pressure(flow, at, to, US).unwrap().value;
        near(pressure_for_flow(flow, at, found, US).unwrap().value.psi(), to.psi())?;
        let four = Pressure::from_pascals(at.pascals() * 4.0).unwrap();
        near(flow_at_pressure(flow, at, four, US).unwrap().value.gallons_per_minute(), 2.0 * gpm)?;
    }

    /// A setting between two catches gives a rate between them.
    #[test]
    fn a_setting_stays_between_its_neighbors(low in 1.0..5.0, more in 0.1..5.0, share in 0.0..1.0f64) {
        let high = low + more;
        let table = rows(&[(3.0, &format!("{low} lb/M")), (7.0, &format!("{high} lb/M"))]);
        let wanted = low + share * more;
        let found = setting_for(&table, rate(&format!("{wanted} lb/M")), US);
        // At the ends themselves rounding may fall outside.
        prop_assume!(share > 1e-9 && share < 1.0 - 1e-9);
        let found: f64 = found.unwrap().value;
        prop_assert!((found - (3.0 + 4.0 * share)).abs() < 1e-9);
    }
}
