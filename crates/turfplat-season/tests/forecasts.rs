//! Forecasts in their published forms, and everything that a file can get wrong.

use proptest::prelude::*;
use turfplat_season::{
    Forecast, ForecastError, Hour, Limits, OwnLimits, ProductLimits, Settings, SpeedRange, Sun,
    Verdict, judge, windows,
};
use turfplat_units::UnitSystem;

const US: &str = include_str!("forecasts/us.json");
const SI: &str = include_str!("forecasts/si-objects.json");

fn read(text: &str, zone: Option<&str>) -> Result<Forecast, ForecastError> {
    Forecast::read("forecast", text.as_bytes(), zone)
}

fn wind(hour: &Hour) -> Option<(f64, f64)> {
    let SpeedRange { least, most } = hour.wind?;
    Some((least.mph(), most.mph()))
}

fn near(ours: f64, expected: f64) -> bool {
    (ours - expected).abs() < 1e-9
}

#[test]
fn the_services_texts_are_read() {
    let forecast = read(US, None).expect("a forecast");
    assert_eq!(forecast.hours.len(), 5);
    assert_eq!(forecast.issued.map(|at| at.to_string()).as_deref(), Some("2026-06-08T10:12:00Z"));
    let (east, north) = forecast.place.expect("a grid cell");
    assert!(near(east, -94.595) && near(north, 39.1), "{east} {north}");
    let [plain, range, silent, empty, broken] = &forecast.hours[..] else { panic!("five hours") };
    assert_eq!(plain.start.to_string(), "2026-06-08T06:00:00-05:00[-05:00]");
    assert_eq!(wind(plain), Some((5.0, 5.0)));
    assert!(near(plain.temperature.expect("72 F").fahrenheit(), 72.0));
    assert!(near(plain.humidity.expect("56 %"), 0.56));
    assert_eq!(plain.gust, None, "an hour without windGust");
    let (least, most) = wind(range).expect("5 to 10 mph");
    assert!(near(least, 5.0) && near(most, 10.0), "{least} to {most}");
    assert_eq!(range.wind.expect("a wind").print(UnitSystem::Us), "5 to 10 mph");
    assert!(near(range.gust.expect("18 mph").mph(), 18.0));
    assert_eq!((silent.rain_chance, silent.gust), (None, None), "null is not nothing");
    assert_eq!(empty.wind, None);
    // 72 °F and 56 % are a dew point of 55.4 °F by Bolton's eq. 11: where none is given, it is worked out.
    let dew_point = empty.dew_point.expect("from the humidity").fahrenheit();
    assert!((dew_point - 55.4).abs() < 0.2, "{dew_point}");
    assert_eq!((broken.wind, broken.temperature), (None, None));
    assert_eq!(
        forecast.notes,
        [
            "periods[4].temperature: 720 is no temperature of air; correct it, or leave it empty; not used",
            "periods[4].windSpeed: \"a breeze\" is no speed of wind; correct it, or leave it empty; not used",
        ]
    );
}

#[test]
fn the_services_objects_and_metric_units_are_read() {
    let forecast = read(SI, None).expect("a forecast");
    let kilometres = |hour: &Hour| {
        let SpeedRange { least, most } = hour.wind.expect("a wind");
        (least.kilometres_per_hour(), most.kilometres_per_hour())
    };
    let [one, range, text, half] = &forecast.hours[..] else { panic!("four hours") };
    assert!(near(kilometres(one).0, 9.0) && near(kilometres(one).1, 9.0));
    assert!(near(one.gust.expect("18 km/h").kilometres_per_hour(), 18.0));
    assert!(near(one.temperature.expect("22 C").degrees(), 22.0));
    for hour in [range, text] {
        let (least, most) = kilometres(hour);
        assert!(near(least, 8.0) && near(most, 16.0), "{least} to {most}");
        assert_eq!(hour.gust, None);
    }
    assert!(near(text.temperature.expect("22 C").degrees(), 22.0));
    assert_eq!((half.wind, half.temperature), (None, None), "one end of a range is no wind");
    assert_eq!(forecast.notes.len(), 1, "{:?}", forecast.notes);
}

#[test]
fn a_table_is_read_with_the_unit_of_each_column() {
    let text = "time,temperature_f,humidity_pct,wind_mph,gust_mph,rain_chance_pct,rain_in,wind_from,remark\n\
        2026-06-08T06:00-05:00,72,56,5 to 10,18,5,0,NW,\n\
        2026-06-08T07:00-05:00,,,,,,,,nothing\n\
        2026-06-08T09:00-05:00,73,-9999,6,,30,0.02,W,\n";
    let forecast = read(text, None).expect("a forecast");
    // Eight is skipped in the file, and nothing is known of it.
    assert_eq!(forecast.hours.len(), 4);
    assert_eq!(wind(&forecast.hours[0]), Some((5.0, 10.0)));
    for unknown in &forecast.hours[1..3] {
        assert_eq!((unknown.wind, unknown.rain_chance, unknown.temperature), (None, None, None));
    }
    let last = &forecast.hours[3];
    assert_eq!(last.start.time().to_string(), "09:00:00");
    assert!(near(last.rain.expect("0.02 in").metres(), 0.02 * 0.0254));
    assert_eq!(last.humidity, None);
    assert_eq!(
        forecast.notes,
        [
            "line 1: column \"remark\" is not read",
            "line 4, humidity_pct: \"-9999\" is no percentage from 0 to 100; correct it, or leave it empty; not used",
            "1 hour is missing after line 3; nothing is known of them",
        ]
    );
    for (columns, cells) in [
        ("temperature_c,wind_kmh", "22.222222222222221,8.04672"),
        ("temperature_c,wind_ms", "22.222222222222221,2.2352"),
        ("temperature_f,wind_kn", "72,4.344881209503239"),
    ] {
        let text = format!("time,{columns}\n2026-06-08 06:00,{cells}\n");
        let forecast = read(&text, Some("America/Chicago")).expect("a forecast");
        let hour = &forecast.hours[0];
        assert!((wind(hour).expect(columns).0 - 5.0).abs() < 1e-9, "{columns}");
        assert!(near(hour.temperature.expect(columns).fahrenheit(), 72.0), "{columns}");
    }
}

#[test]
fn a_day_of_25_hours_and_one_of_23_are_told_by_the_clock() {
    // Clocks in New York: set back on 2026-11-01 at 02:00, forward on 2026-03-08 at 02:00. Source:
    // 15 U.S.C. 260a.
    let rows = |day: &str, hours: &[u8]| {
        let rows: Vec<String> = hours.iter().map(|hour| format!("{day} {hour:02}:00,5")).collect();
        format!("time,wind_mph\n{}\n", rows.join("\n"))
    };
    let zone = Some("America/New_York");
    let long: Vec<u8> = [0, 1, 1].into_iter().chain(2..24).collect();
    let back = read(&rows("2026-11-01", &long), zone).expect("25 hours");
    assert_eq!(back.hours.len(), 25);
    assert!(back.notes.is_empty(), "{:?}", back.notes);
    let told: Vec<String> =
        back.hours[..4].iter().map(|it| it.start.strftime("%H:%M %:z").to_string()).collect();
    assert_eq!(told, ["00:00 -04:00", "01:00 -04:00", "01:00 -05:00", "02:00 -05:00"]);
    assert_eq!(
        back.hours[1].end.strftime("%H:%M").to_string(),
        "01:00",
        "an hour later by the sun"
    );

    let short: Vec<u8> = [0, 1].into_iter().chain(3..24).collect();
    let forth = read(&rows("2026-03-08", &short), zone).expect("23 hours");
    assert_eq!(forth.hours.len(), 23);
    assert!(forth.notes.is_empty(), "{:?}", forth.notes);
    assert_eq!(forth.hours[1].end.strftime("%H:%M %:z").to_string(), "03:00 -04:00");

    // An hour that does not come, and one that may be either of two.
    let gap = read(&rows("2026-03-08", &[0, 1, 2, 3]), zone).expect("the rest");
    assert_eq!(gap.notes.len(), 1, "{:?}", gap.notes);
    assert!(gap.notes[0].starts_with("line 4, time: clocks are set forward over 2026-03-08 02:00"));
    let once = read(&rows("2026-11-01", &[0, 1, 2]), zone).expect("the rest");
    assert!(once.notes[0].contains("comes twice that day"), "{:?}", once.notes);
    assert_eq!(once.hours.len(), 4, "both hours are there, and nothing is known of them");
    assert!(once.hours[1..3].iter().all(|hour| hour.wind.is_none()));

    // The service writes the offset of each hour, which changes where clocks are set back.
    let periods: Vec<String> =
        [("00:00", "-04:00"), ("01:00", "-04:00"), ("01:00", "-05:00"), ("02:00", "-05:00")]
            .windows(2)
            .map(|pair| {
                let stamp =
                    |(clock, offset): (&str, &str)| format!("2026-11-01T{clock}:00{offset}");
                format!(
                    r#"{{"startTime": "{}", "endTime": "{}", "windSpeed": "5 mph"}}"#,
                    stamp(pair[0]),
                    stamp(pair[1])
                )
            })
            .collect();
    let text = format!(r#"{{"properties": {{"periods": [{}]}}}}"#, periods.join(","));
    let service = read(&text, None).expect("three hours");
    assert!(service.notes.is_empty(), "{:?}", service.notes);
    let told: Vec<String> =
        service.hours.iter().map(|it| it.start.strftime("%H:%M %:z").to_string()).collect();
    assert_eq!(told, ["00:00 -04:00", "01:00 -04:00", "01:00 -05:00"]);
    assert_eq!(service.hours[1].end.strftime("%H:%M %:z").to_string(), "01:00 -05:00");
    // In a zone hours are told by its clock, and --tz only changes how they are told.
    let moved = read(US, Some("America/Denver")).expect("a forecast");
    assert_eq!(moved.hours[0].start.strftime("%H:%M").to_string(), "05:00");
}

#[test]
fn what_is_no_hourly_forecast_is_refused_with_the_cure() {
    let half_days =
        US.replace("T07:00:00-05:00\",\n    \"isDaytime", "T18:00:00-05:00\",\n    \"isDaytime");
    let utc = US.replace("-05:00", "Z");
    let long = "time,wind_mph\n2026-06-08T06:00-05:00,5\n2026-07-08T06:00-05:00,5\n";
    #[rustfmt::skip]
    let table: [(&str, Option<&str>, &str); 17] = [
        ("{", None, "forecast: line 1, column 1: not JSON: EOF while parsing an object"),
        ("{\"properties\": {}}", None, "forecast: no list \"periods\" under \"properties\"; hand over"),
        ("{\"properties\": {\"temperature\": {\"values\": []}}}", None, "forecast: this is the raw grid"),
        ("{\"properties\": {\"periods\": []}}", None, "forecast: none of its hours can be read"),
        ("{\"properties\": {\"periods\": [{\"startTime\": 5}]}}", None, "forecast: none of its hours can be read: periods[0].startTime is missing; the hour is left out"),
        (&half_days, None, "forecast: its periods are 12 hours long"),
        (&utc, None, "forecast: periods[0]: times are in UTC; say the property's time zone"),
        ("LOCATION,Nowhere,-,USA,TMY3,000000\n", None, "forecast: this is a typical year"),
        ("when,wind_mph\n", None, "forecast: line 1: no column \"time\"; the columns"),
        ("time;wind_mph\n", None, "forecast: line 1: no column \"time\"; the columns seem to be parted by semicolons"),
        ("time,wind\n", None, "forecast: line 1: column \"wind\": its unit is not said; name it wind_mph or wind_kmh or wind_ms or wind_kn"),
        ("time,wind_mhp\n", None, "forecast: line 1: column \"wind_mhp\": not known; \"wind_mph\" may be meant"),
        ("time,wind_mph,wind_kmh\n", None, "forecast: line 1: column \"wind_kmh\": \"wind_mph\" is there too; keep one"),
        ("time,wind_mph\n2026-06-08 06:00,5\n", None, "forecast: line 2: \"2026-06-08 06:00\" says no offset; say the property's time zone"),
        ("time,wind_mph\n2026-06-08 06:00,5\n", Some("America/New_Yrok"), "no time zone \"America/New_Yrok\"; America/New_York may be meant"),
        (long, None, "forecast: 2026-06-08 to 2026-07-08 is more than the 16 days"),
        ("", None, "forecast: line 1: no column \"time\""),
    ];
    for (text, zone, told) in table {
        let error = read(text, zone).expect_err(told).to_string();
        assert!(error.starts_with(told), "{error} ≠ {told}");
    }
    let error = Forecast::read("forecast", b"time\n\xff", None).expect_err("bytes").to_string();
    assert_eq!(error, "forecast: line 2 is not UTF-8; save the file as UTF-8");
}

#[test]
fn a_value_that_cannot_be_meant_is_not_given_and_told() {
    let text = "time,humidity_pct,rain_chance_pct,wind_mph,temperature_f,gust_mph\n\
        2026-06-08T06:00-05:00,0.56,0.3,-5,999,much\n\
        2026-06-08T06:30-05:00,56,5,5,72,\n\
        2026-06-08T07:00-05:00,56,5,5,72,\n\
        2026-06-08T07:00-05:00,56,5,9,72,\n\
        yesterday,56,5,5,72,\n\
        2026-06-08T09:00-05:00,56,5,5,72,,,\n";
    let forecast = read(text, None).expect("two hours");
    assert_eq!(forecast.hours.len(), 2);
    let first = &forecast.hours[0];
    assert_eq!((first.humidity, first.rain_chance, first.wind), (None, None, None));
    assert_eq!((first.temperature, first.gust), (None, None));
    assert_eq!(forecast.hours[1].wind, None, "of two rows for one hour neither is believed");
    let told = forecast.notes.join("\n");
    for part in [
        "line 2, humidity_pct: \"0.56\" is less than 1 %, and may be a share of one",
        "line 2, rain_chance_pct: \"0.3\" is less than 1 %",
        "line 2, wind_mph: \"-5\" is no speed of wind",
        "line 2, temperature_f: \"999\" is no temperature",
        "line 2, gust_mph: \"much\" is no speed",
        "rows stand 30 min apart: of those in an hour the strongest wind and gust",
        "line 5: the hour of line 4 stands here again; neither is used",
        "line 6, time: \"yesterday\" is no time",
        "line 7: 8 cells under 6 columns",
    ] {
        assert!(told.contains(part), "{part} in\n{told}");
    }
}

/// Rows each half an hour: of two in an hour the worse counts, whichever stands first.
#[test]
fn of_several_rows_in_an_hour_the_worst_counts() {
    let header =
        "time,temperature_f,humidity_pct,wind_mph,gust_mph,rain_chance_pct,rain_in,wind_from";
    let text = format!(
        "{header}\n\
        2026-06-08T06:00-05:00,70,60,5,8,0,0,NW\n\
        2026-06-08T06:30-05:00,74,50,9 to 20,30,80,0.3,W\n\
        2026-06-08T07:00-05:00,72,50,5,8,5,0,NW\n\
        2026-06-08T07:30-05:00,,50,,,,,NW\n\
        2026-06-08T08:00-05:00,72,50,5,8,5,0,NW\n\
        2026-06-08T08:30-05:00,72,50,5,,5,0,NW\n\
        2026-06-08T09:00-05:00,72,50,5,8,5,0,NW\n\
        2026-06-08T10:00-05:00,72,50,5,8,5,0,NW\n\
        2026-06-08T10:30-05:00,72,50,5,8,5,0,NW\n"
    );
    let forecast = read(&text, None).expect("a forecast");
    let [worst, open, gusts, in_part, both] = &forecast.hours[..] else {
        panic!("five hours: {:?}", forecast.hours)
    };
    let (least, most) = wind(worst).expect("winds");
    assert!(near(least, 5.0) && near(most, 20.0), "{least} to {most}");
    assert!(near(worst.gust.expect("30 mph").mph(), 30.0));
    assert_eq!(worst.rain_chance, Some(0.8));
    assert!(near(worst.rain.expect("0.3 in").metres(), 0.3 * 0.0254));
    assert!(near(worst.temperature.expect("74 F").fahrenheit(), 74.0));
    assert!(near(worst.coolest.expect("70 F").fahrenheit(), 70.0));
    assert_eq!((worst.humidity, worst.driest), (Some(0.6), Some(0.5)));
    assert_eq!(worst.wind_from, None, "NW and W");
    // What one of the two does not give is not given, and the strongest gust counts.
    assert_eq!((open.wind, open.temperature, open.rain_chance), (None, None, None));
    assert!(gusts.is_gust_in_part && near(gusts.gust.expect("8 mph").mph(), 8.0));
    assert_eq!((in_part.wind, in_part.rain_chance), (None, None), "from half past nobody knows");
    assert!(both.wind.is_some() && both.temperature.is_some());
    assert_eq!(
        forecast.notes,
        [
            "rows stand 30 min apart: of those in an hour the strongest wind and gust, the highest \
             chance of rain, all rain together and both ends of the temperature count",
            "1 hour has rows for a part only, first at line 8; nothing is taken for known of them",
        ]
    );
    // Hours that begin at another minute than the clock's are hours all the same.
    let shifted = "time,wind_mph\n2026-06-08T06:53-05:00,5\n2026-06-08T07:53-05:00,6\n";
    let shifted = read(shifted, None).expect("two hours");
    assert_eq!((shifted.hours.len(), shifted.notes.len()), (2, 0));
    // Each quarter of an hour, and one row lost.
    let rows = (0..8).filter(|place| *place != 5).map(|place| {
        format!("2026-06-08T{:02}:{:02}-05:00,{}\n", 6 + place / 4, place % 4 * 15, place + 1)
    });
    let quarters = format!("time,wind_mph\n{}", rows.collect::<String>());
    let quarters = read(&quarters, None).expect("two hours");
    let (least, most) = wind(&quarters.hours[0]).expect("four rows");
    assert!(near(least, 1.0) && near(most, 4.0), "{least} to {most}");
    assert_eq!(quarters.hours[1].wind, None);
}

#[test]
fn figures_that_contradict_each_other_are_told_and_the_worse_counts() {
    let text = "time,temperature_c,dew_point_c,humidity_pct,wind_mph,gust_mph\n\
        2026-06-08T06:00-05:00,25,10,95,9,4\n\
        2026-06-08T07:00-05:00,25,10,39,9,12\n\
        2026-06-08T08:00-05:00,15,20,50,9,12\n\
        2026-06-08T09:00-05:00,25,10,95,9,4\n";
    let forecast = read(text, None).expect("four hours");
    let [wet, agrees, above, _] = &forecast.hours[..] else { panic!("four hours") };
    // 95 % at 25 °C is a dew point of 24.1 °C by Bolton's eq. 11, and 10 °C would be 39 %.
    assert!((wet.dew_point.expect("wet").degrees() - 24.1).abs() < 0.1, "{:?}", wet.dew_point);
    assert_eq!(wet.humidity, Some(0.95));
    assert!((wet.driest.expect("dry") - 0.39).abs() < 0.01, "{:?}", wet.driest);
    assert!(near(wet.gust.expect("the wind").mph(), 9.0));
    assert!(near(agrees.dew_point.expect("10 °C").degrees(), 10.0));
    assert_eq!(agrees.humidity, Some(0.39));
    assert_eq!(above.humidity, Some(1.0));
    let told = forecast.notes.join("\n");
    for part in [
        "line 2: dew point 10.0 °C and humidity 95 % contradict each other, for at that dew point it would be 39 %; the wetter counts (1 more like it)",
        "line 2: gusts are below the wind; the wind counts for both (1 more like it)",
        "line 4: dew point 20.0 °C is above the air, 15.0 °C; it is taken for full of water",
    ] {
        assert!(told.contains(part), "{part} in\n{told}");
    }
    assert_eq!(forecast.notes.len(), 3, "{told}");
}

#[test]
fn a_cell_may_write_the_unit_of_its_column_and_no_other() {
    let text = "time,temperature_f,humidity_pct,wind_mph,gust_mph,rain_chance_pct,rain_in,wind_from\n\
        2026-06-08T06:00-05:00,72 °F,56%,5 mph,12 mph,20 %,0.02 in,315\n\
        2026-06-08T07:00-05:00,72F,56,5 to 10 mph,,20,0.02,nw\n\
        2026-06-08T08:00-05:00,22 C,56,calm,calm,20,0.5 mm,400\n\
        2026-06-08T09:00-05:00,72,56,5 km/h,12,20,0,NNNE\n\
        2026-06-08T10:00-05:00,72,56,8 km/h,12,20,0,N\n";
    let forecast = read(text, None).expect("hours");
    let [one, range, calm, other, _] = &forecast.hours[..] else { panic!("five hours") };
    assert_eq!(wind(one), Some((5.0, 5.0)));
    assert!(near(one.temperature.expect("72 F").fahrenheit(), 72.0));
    assert_eq!((one.humidity, one.rain_chance), (Some(0.56), Some(0.2)));
    assert!(near(one.rain.expect("0.02 in").metres(), 0.02 * 0.0254));
    assert_eq!(one.wind_from.as_deref(), Some("315°"));
    let (least, most) = wind(range).expect("5 to 10 mph");
    assert!(near(least, 5.0) && near(most, 10.0));
    assert_eq!(wind(calm), Some((0.0, 0.0)));
    assert_eq!((calm.temperature, calm.rain, &calm.wind_from), (None, None, &None));
    assert_eq!((other.wind, &other.wind_from), (None, &None));
    let told = forecast.notes.join("\n");
    for part in [
        "wind_mph: 2 cells cannot be read, first line 5: \"5 km/h\" is no speed of wind",
        "wind_from: 2 cells cannot be read, first line 4: \"400\" is no direction of the wind; write it like NW or 315",
        "line 4, temperature_f: \"22 C\" is no number",
        "line 4, rain_in: \"0.5 mm\" is no number",
    ] {
        assert!(told.contains(part), "{part} in\n{told}");
    }
    assert_eq!(forecast.notes.len(), 4, "{told}");
}

#[test]
fn what_is_over_is_kept_aside_and_the_rest_begins_at_that_minute() {
    let text = "time,wind_mph,rain_in\n2026-06-08T06:00-05:00,5,0.2\n2026-06-08T07:00-05:00,6,0\n";
    let from = "2026-06-08T07:19:30-05:00".parse().expect("a time");
    let rest = read(text, None).expect("two hours").since(from).expect("an hour is left");
    assert_eq!((rest.earlier.len(), rest.hours.len()), (1, 1));
    assert_eq!(rest.hours[0].start.strftime("%H:%M").to_string(), "07:20");
    let over = "2026-06-08T08:00-05:00".parse().expect("a time");
    assert!(read(text, None).expect("two hours").since(over).is_none());
}

const TABLE: &str = "time,temperature_f,humidity_pct,wind_mph,gust_mph,rain_chance_pct\n\
    2026-11-01 00:00,52,70,5 to 8,12,5\n2026-11-01 01:00,51,72,4,,5\n2026-11-01 01:00,51,72,4,9,5\n\
    2026-11-01 02:00,50,75,3,7,10\n2026-11-01T08:00-06:00,55,60,6,9,0\n";

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Whatever a file holds it is refused or read, and what is read is a clock without holes, of which
    /// no hour is fit that lacks its wind.
    #[test]
    fn a_damaged_file_is_refused_or_its_hours_follow_each_other(
        which in 0..3_usize,
        damages in proptest::collection::vec((any::<prop::sample::Index>(), 0..4_u8, any::<u8>()), 0..6),
        zone in prop::option::of(prop::sample::select(vec!["America/Chicago", "Asia/Kolkata", "UTC"])),
    ) {
        let mut bytes = [US, SI, TABLE][which].as_bytes().to_vec();
        for (at, how, byte) in damages {
            let at = at.index(bytes.len().max(1));
            match how {
                0 => bytes.truncate(at),
                1 => bytes.insert(at.min(bytes.len()), byte),
                2 if at < bytes.len() => bytes[at] = b"0123456789-.:,\"{}[]nZT \n"[usize::from(byte) % 24],
                _ if at < bytes.len() => { bytes.remove(at); }
                _ => {}
            }
        }
        let Ok(forecast) = Forecast::read("forecast", &bytes, zone) else { return Ok(()) };
        prop_assert!(!forecast.hours.is_empty() && forecast.hours.len() <= 16 * 24);
        for pair in forecast.hours.windows(2) {
            prop_assert_eq!(pair[0].end.timestamp(), pair[1].start.timestamp());
        }
        let (first, last) = (&forecast.hours[0], &forecast.hours[forecast.hours.len() - 1]);
        let sun = Sun::over(39.1, -94.6, first.start.timestamp(), last.end.timestamp()).ok();
        let settings = Settings::of_this_tool().expect("the table");
        let product = ProductLimits { is_sprayed: true, ..ProductLimits::default() };
        let limits = Limits::of(&settings, &[product], &OwnLimits::default());
        let judged = judge(&forecast, &limits, sun.as_ref(), UnitSystem::Us);
        prop_assert_eq!(judged.len(), forecast.hours.len());
        for (hour, judged) in forecast.hours.iter().zip(&judged) {
            prop_assert!(hour.wind.is_some() || judged.verdict != Verdict::Fit);
        }
        windows(&judged, None);
    }
}
