//! Hours to spray: verdicts, limits, windows and the chart, end to end.

use super::*;

/// 100 ft by 50 ft in degrees, near Kansas City.
const LOT: &str = r#"{"type":"Feature","properties":{"kind":"turf","name":"Lawn","species":"tall-fescue"},"geometry":{"type":"Polygon","coordinates":[[[-94.6,39.1],[-94.5996,39.1],[-94.5996,39.1002],[-94.6,39.1002],[-94.6,39.1]]]}}"#;

const PRODUCT: &str =
    "id = \"own\"\nname = \"own\"\nclass = \"growth regulator\"\nform = \"liquid\"\n";

/// A job with a product file of its own, and what stands behind it.
fn job_of(folder: &Folder, product: &str, more: &str) -> String {
    folder.file("own.toml", format!("{PRODUCT}{product}"));
    let job = JOB.replace("\"trinexapac-ethyl-1-ec\"", "\"own.toml\"");
    folder.file("job.toml", format!("{job}{more}"))
}

/// A table of mild hours from midnight; `of` changes the cells temperature, humidity, wind, gust and
/// chance of rain.
fn hours(day: &str, clocks: &[u8], of: impl Fn(u8) -> Option<&'static str>) -> String {
    let mut rows = "time,temperature_f,humidity_pct,wind_mph,gust_mph,rain_chance_pct\n".to_owned();
    for clock in clocks {
        let cells = of(*clock).unwrap_or("72,50,5,8,0");
        rows.push_str(&format!("{day} {clock:02}:00,{cells}\n"));
    }
    rows
}

fn whole_day() -> Vec<u8> {
    (0..24).collect()
}

fn windows(args: &[&str], map: &str, job: &str, forecast: &str) -> Output {
    // The tests' days are past or to come, whenever they run: nothing is left out by the clock.
    let from: &[&str] =
        if args.contains(&"--from") { &[] } else { &["--from", "2026-01-01T00:00Z"] };
    turfplat(&[&["windows", map, "--job", job, "--forecast", forecast], args, from].concat())
}

const ZONE: &[&str] = &["--tz", "America/Chicago"];
const IN_JSON: &[&str] = &["--tz", "America/Chicago", "--format", "json"];

/// What `rule` says of the hour at `place`.
fn said<'a>(found: &'a Value, place: usize, rule: &str) -> (&'a str, &'a str) {
    let rules = found["hours"][place]["rules"].as_array().unwrap();
    let rule = rules.iter().find(|it| it["rule"] == rule).unwrap();
    (rule["verdict"].as_str().unwrap(), rule["words"].as_str().unwrap())
}

#[test]
fn the_demo_tells_its_hours_as_table_json_rows_and_chart() {
    let folder = Folder::new("windows-demo");
    let (map, job, forecast) = (demo("map.geojson"), demo("job.toml"), demo("forecast.json"));
    let chart = folder.path("june.svg");
    let output = windows(&["--needs", "1.5h", "-o", &chart], &map, &job, &forecast);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let table = text(&output.stdout);
    for words in [
        "Mon 2026-06-08 05:00 to Sun 2026-06-14 17:00",
        "windows are as long as the work needs, 1.50 h",
        "wind 2 mph, at least 3 mph (default)",
        "NDSU AE1705",
        "Forecast wind is that of 10 m (33 ft)",
        "the label outranks every limit",
    ] {
        assert!(table.contains(words), "{words}: {table}");
    }
    let drawn = fs::read_to_string(&chart).unwrap();
    for words in
        ["Hours to spray: June", "14 Alder Lane", "Wed 2026-06-10", "10 m (33 ft)", "not known"]
    {
        assert!(drawn.contains(words), "{words}");
    }
    let found = json(&windows(&["--needs", "1.5h", "--format", "json"], &map, &job, &forecast));
    assert_eq!(found["forecast"]["issued"], "2026-06-08T08:12:00Z");
    assert_eq!(found["needs_h"], 1.5);
    assert_eq!(found["hours"].as_array().unwrap().len(), 156);
    assert_eq!(found["hours"][0]["start"], "2026-06-08T05:00-04:00");
    let first = &found["windows"][0];
    assert_eq!(first["long_enough"], true);
    // Rain on Wednesday closes Tuesday: 24 h without rain are asked for where no label says less.
    let tuesday_noon = said(&found, 31, "no rain ahead");
    assert_eq!(tuesday_noon.0, "not fit");
    assert!(tuesday_noon.1.contains("chance of rain on 2026-06-10"), "{}", tuesday_noon.1);
    let rows = text(&windows(&["--format", "csv"], &map, &job, &forecast).stdout);
    assert_eq!(rows.lines().count(), 157);
    assert!(
        rows.starts_with("start,end,wind_least_mph,wind_most_mph,wind_from,gust_mph"),
        "{rows}"
    );
    assert!(rows.lines().nth(1).unwrap().contains("not fit: wind 2 mph, at least 3 mph"), "{rows}");
    // What a program hands on is read as well, and rows come in the units that are asked for.
    let mut piped = Command::new(env!("CARGO_BIN_EXE_turfplat"))
        .args(["windows", &map, "--job", &job, "--forecast", "-", "--format", "csv"])
        .args(["--units", "metric", "--from", "2026-01-01T00:00Z"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    piped.stdin.take().unwrap().write_all(&fs::read(&forecast).unwrap()).unwrap();
    let piped = piped.wait_with_output().unwrap();
    assert_eq!(status(&piped), 0, "{}", text(&piped.stderr));
    let metric = text(&piped.stdout);
    assert!(
        metric
            .starts_with("start,end,wind_least_kmh,wind_most_kmh,wind_from,gust_kmh,temperature_c")
    );
    assert!(metric.contains("not fit: wind 3.22 km/h, at least 4.83 km/h (default)"), "{metric}");
    let picture = folder.path("june.png");
    assert_eq!(status(&windows(&["-o", &picture], &map, &job, &forecast)), 0);
    assert!(fs::read(&picture).unwrap().starts_with(b"\x89PNG"));
}

#[test]
fn a_label_outranks_the_default_and_the_job_tightens() {
    let folder = Folder::new("windows-limits");
    let map = folder.file("map.geojson", collection(&[LOT]));
    let forecast = folder.file(
        "hours.csv",
        hours("2026-06-08", &whole_day(), |clock| match clock {
            11 => Some("72,50,9,,0"),
            12 => Some("86,50,5,8,0"),
            _ => None,
        }),
    );
    let of = |product: &str, more: &str| {
        let output = windows(IN_JSON, &map, &job_of(&folder, product, more), &forecast);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        json(&output)
    };
    let silent = of("", "");
    assert_eq!(said(&silent, 11, "wind"), ("not fit", "wind 9 mph, at most 8 mph (default)"));
    assert_eq!(said(&silent, 11, "gusts").0, "unknown");
    assert_eq!(said(&silent, 12, "temperature").0, "fit");
    assert_eq!(said(&silent, 10, "no rain ahead").0, "unknown", "24 h are beyond the forecast");
    let label = "rain_free = \"4 h\"\n[wind]\nat_most = \"10 mph\"\ngust_at_most = \"15 mph\"\n[temperature]\nat_most = \"85 F\"\n";
    let by_label = of(label, "");
    assert_eq!(said(&by_label, 10, "no rain ahead").0, "fit");
    assert_eq!(said(&by_label, 11, "wind"), ("fit", "wind 9 mph, at most 10 mph (label of own)"));
    // What a label limits and nobody gives is unknown, and so is the hour.
    assert_eq!(by_label["hours"][11]["verdict"], "unknown");
    assert_eq!(by_label["hours"][10]["verdict"], "fit");
    assert_eq!(
        said(&by_label, 12, "temperature"),
        ("not fit", "86 °F, at most 85 °F (label of own)")
    );
    let tight = of(label, "[weather]\nwind_at_most = \"4 mph\"\nrain_free = \"1 h\"\n");
    assert_eq!(said(&tight, 10, "wind"), ("not fit", "wind 5 mph, at most 4 mph (job)"));
    assert!(said(&tight, 10, "no rain ahead").1.contains("4 h without rain (label of own)"));
    // Defaults of one's own stand instead of this tool's, with their source; labels outrank them, too.
    folder.file("county.csv", "rule,limit,source\nwind-at-most,12 mph,our county\n");
    let own = of("", "[weather]\ndefaults = \"county.csv\"\n");
    assert_eq!(said(&own, 11, "wind"), ("fit", "wind 9 mph, at most 12 mph (own default)"));
    let source = own["limits"].as_array().unwrap().iter().find(|it| it["by"] == "own default");
    assert_eq!(source.unwrap()["source"], "our county");
    let outranked = of(label, "[weather]\ndefaults = \"county.csv\"\n");
    assert!(said(&outranked, 11, "wind").1.contains("at most 10 mph (label of own)"));
    // Limits that leave nothing between them are told.
    let narrow = of("", "[weather]\nwind_at_least = \"9 mph\"\n");
    let notes = narrow["notes"].as_array().unwrap();
    let note =
        "no wind is fit: at least 9 mph (job) and at most 8 mph (default) leave none between them";
    assert!(notes.iter().any(|it| it == note), "{notes:?}");
    let limits = tight["limits"].as_array().unwrap();
    let by = |rule: &str| &limits.iter().find(|it| it["rule"] == rule).unwrap()["by"];
    assert_eq!(by("wind-at-most"), "job");
    assert_eq!(by("rain-free"), "label of own");
    assert!(limits.iter().all(|it| it["by"] != "default" || it["source"].is_string()));
}

#[test]
fn a_day_of_25_hours_is_told_by_the_clock() {
    let folder = Folder::new("windows-clock");
    let map = folder.file("map.geojson", collection(&[LOT]));
    let job = job_of(&folder, "rain_free = \"1 h\"\n", "");
    let clocks: Vec<u8> = [0, 1, 1].into_iter().chain(2..24).collect();
    let forecast = folder.file("hours.csv", hours("2026-11-01", &clocks, |_| None));
    let found = json(&windows(IN_JSON, &map, &job, &forecast));
    let starts: Vec<&str> =
        found["hours"].as_array().unwrap().iter().map(|it| it["start"].as_str().unwrap()).collect();
    assert_eq!(starts.len(), 25);
    assert_eq!(starts[1..3], ["2026-11-01T01:00-05:00", "2026-11-01T01:00-06:00"]);
    // The sun of that day: up at 06:49, down at 17:16 by the new clock. Source: NOAA's equations.
    assert_eq!(said(&found, 7, "daylight").0, "not fit");
    assert!(
        said(&found, 7, "daylight").1.contains("sunrise 06:"),
        "{:?}",
        said(&found, 7, "daylight")
    );
    assert_eq!(said(&found, 8, "daylight").0, "fit");
    let chart = folder.path("fall.svg");
    let output = windows(&[ZONE, &["-o", &chart]].concat(), &map, &job, &forecast);
    assert_eq!(status(&output), 0);
    let drawn = fs::read_to_string(chart).unwrap();
    for clock in [">01-5</text>", ">01-6</text>"] {
        let told = |it: &&str| it.ends_with(clock) && !it.contains("aria-hidden");
        assert_eq!(drawn.lines().filter(told).count(), 1, "{clock}");
    }
    assert!(drawn.contains("its hours from UTC stand behind it: 01-5, 01-6"));
    // The same file without the zone says no offset.
    let without = windows(&[], &map, &job, &forecast);
    assert_eq!(status(&without), 2);
    assert!(text(&without.stderr).contains("says no offset; say the property's time zone"));
}

#[test]
fn the_time_that_is_needed_comes_from_the_passes_or_from_whoever_says_so() {
    let folder = Folder::new("windows-needs");
    let map = folder.file("map.geojson", collection(&[LOT]));
    let forecast = folder.file("hours.csv", hours("2026-06-08", &whole_day(), |_| None));
    let job = job_of(&folder, "rain_free = \"1 h\"\n", "");
    let open = json(&windows(IN_JSON, &map, &job, &forecast));
    assert_eq!(
        (&open["needs_h"], &open["windows"][0]["long_enough"]),
        (&Value::Null, &Value::Null)
    );
    let text_of = fs::read_to_string(&job).unwrap();
    let kind = "kind = \"backpack\"";
    let walked = folder.file(
        "walked.toml",
        text_of.replace(kind, &format!("{kind}\nswath = \"5 ft\"\nspeed = \"3 mph\"")),
    );
    let found = json(&windows(IN_JSON, &map, &walked, &forecast));
    assert_eq!(found["needs_from"], "walking");
    // About 114 ft by 73 ft in passes of 5 ft: some 15 of them, 1,700 ft at 264 ft a minute.
    let needs = found["needs_h"].as_f64().unwrap();
    assert!((5.0 / 60.0..9.0 / 60.0).contains(&needs), "{needs}");
    assert_eq!(found["windows"][0]["long_enough"], true);
    let long = json(&windows(&[IN_JSON, &["--needs", "20 h"]].concat(), &map, &walked, &forecast));
    assert_eq!((&long["needs_h"], &long["needs_from"]), (&20.0.into(), &"asked".into()));
    assert_eq!(long["windows"][0]["long_enough"], false);
    let table =
        text(&windows(&[ZONE, &["--needs", "20 h"]].concat(), &map, &walked, &forecast).stdout);
    assert!(table.contains("no window is as long as the work needs, 20.00 h"), "{table}");
}

#[test]
fn what_cannot_be_told_is_refused_and_nothing_is_written() {
    let folder = Folder::new("windows-refused");
    let map = folder.file("map.geojson", collection(&[LOT]));
    let job = job_of(&folder, "", "");
    let mild = folder.file("hours.csv", hours("2026-06-08", &whole_day(), |_| None));
    let elsewhere = demo("forecast.json");
    let chart = folder.path("chart.svg");
    let grid = folder.file("grid.json", "{\"properties\":{\"temperature\":{\"values\":[]}}}");
    let weather = folder.file("weather.toml", format!("{JOB}[weather]\nwind_at_most = \"8\"\n"));
    let chance =
        folder.file("chance.toml", format!("{JOB}[weather]\nrain_chance_at_most = \"0.2\"\n"));
    folder.file("loose.csv", "rule,limit,source\ninversion-wind-under,1 mph,nobody\n");
    let loose = folder.file("loose.toml", format!("{JOB}[weather]\ndefaults = \"loose.csv\"\n"));
    let misspelt =
        folder.file("misspelt.toml", format!("{JOB}[weather]\nwind_at_mots = \"8 mph\"\n"));
    let storm = folder.file("storm.toml", format!("{JOB}[weather]\nwind_at_most = \"80 mph\"\n"));
    folder.file("hot-product.toml", format!("{PRODUCT}[temperature]\nat_most = \"85 C\"\n"));
    let hot = JOB.replace("\"trinexapac-ethyl-1-ec\"", "\"hot-product.toml\"");
    let hot = folder.file("hot.toml", hot);
    let unrated = JOB.split_once("rate = \"0.5").unwrap().0;
    let nothing = folder.file("nothing.toml", unrated);
    let none = folder.path("none.json");
    let chart_on_map = map.clone();
    /// Map, job, forecast, more, exit status, what is said.
    type Case<'c> = (&'c str, &'c str, &'c str, &'c [&'c str], i32, &'c str);
    #[rustfmt::skip]
    let table: [Case<'_>; 14] = [
        (&map, &job, &elsewhere, &[], 1, "miles away from the property; hand over that of its own place"),
        (&map, &job, &grid, &[], 2, "this is the raw grid"),
        (&map, &job, &none, &[], 2, "cannot read"),
        (&map, &weather, &mild, ZONE, 1, "weather.wind_at_most: \"8\" has no unit"),
        (&map, &chance, &mild, ZONE, 1, "weather.rain_chance_at_most: \"0.2\""),
        (&map, &loose, &mild, ZONE, 1, "weather.defaults (loose.csv): limits of spray weather: inversion-wind-under: \"1 mph\" is less than 3 mph"),
        (&map, &misspelt, &mild, ZONE, 2, "wind_at_mots"),
        (&map, &storm, &mild, ZONE, 1, "weather: wind_at_most: \"80 mph\" is a wind of more than 25 mph, which cannot be meant"),
        (&map, &hot, &mild, ZONE, 1, "product own: temperature at_most: \"185 °F\" is not between -20 and 120 °F"),
        (&map, &nothing, &mild, ZONE, 1, "application \"June\" treats nothing on the property: Lawn: trinexapac-ethyl"),
        (&map, &job, &mild, &["--tz", "America/Chicgao"], 2, "no time zone \"America/Chicgao\"; America/Chicago may be meant"),
        (&map, &job, &mild, &["--needs", "1.5"], 2, "has no unit"),
        (&map, &job, &mild, &["--tz", "America/Chicago", "--application", "July"], 2, "July"),
        (&map, &job, &mild, &["--tz", "America/Chicago", "-o", &chart_on_map], 2, "end the file name with .png or .svg"),
    ];
    for (map, job, forecast, more, expected, told) in table {
        let draws = more.contains(&"-o");
        let drawn: &[&str] = if draws { &[] } else { &["-o", &chart] };
        let output = windows(&[more, drawn].concat(), map, job, forecast);
        let remarks = text(&output.stderr);
        assert_eq!(status(&output), expected, "{told}: {remarks}");
        assert!(remarks.contains(told), "{told}: {remarks}");
        assert!(!Path::new(&chart).exists(), "{told}");
    }
    // A map that lies nowhere: nobody knows its sun, and no hour is fit.
    let plane = folder.file("plane.geojson", collection(&[LAWN]));
    let output = windows(&[IN_JSON, &["--plane", "ft"]].concat(), &plane, &job, &mild);
    assert_eq!(status(&output), 0);
    let found = json(&output);
    assert_eq!(found["windows"].as_array().unwrap().len(), 0);
    assert!(said(&found, 12, "daylight").1.contains("place is not known"));
    // A clock of another part of the world.
    let tokyo = "time,wind_mph\n2026-06-08T06:00+09:00,5\n";
    let output = windows(&[], &map, &job, &folder.file("tokyo.csv", tokyo));
    assert!(
        text(&output.stderr)
            .contains("clock is +09 of UTC, which no place at longitude -94.6 keeps")
    );
    // Hours that are over are left out where somebody says when.
    let late = ["--from", "2026-06-08T20:30-05:00"];
    let found = json(&windows(&[IN_JSON, &late].concat(), &map, &job, &mild));
    assert_eq!(found["hours"][0]["start"], "2026-06-08T20:30-05:00");
    assert_eq!(found["hours"].as_array().unwrap().len(), 4);
    let never = ["--from", "2026-06-09T00:00-05:00"];
    let output = windows(&[IN_JSON, &never].concat(), &map, &job, &mild);
    assert_eq!(status(&output), 2);
    assert!(text(&output.stderr).contains("no hour is after 2026-06-09T05:00:00Z"));
    // A value that cannot be used is told, and its hour is not fit.
    let odd = hours("2026-06-08", &whole_day(), |clock| (clock == 12).then_some("72,50,-9999,8,0"));
    let output = windows(IN_JSON, &map, &job, &folder.file("odd.csv", odd));
    assert!(
        text(&output.stderr).contains("note: line 14, wind_mph: \"-9999\" is no speed of wind")
    );
    assert_eq!(json(&output)["hours"][12]["verdict"], "unknown");
}

#[test]
fn half_hours_count_by_their_worst_and_hours_without_gusts_are_counted() {
    let folder = Folder::new("windows-half-hours");
    let map = folder.file("map.geojson", collection(&[LOT]));
    let job = job_of(&folder, "rain_free = \"1 h\"\n", "");
    let mut rows = "time,temperature_f,humidity_pct,wind_mph,gust_mph,rain_chance_pct\n".to_owned();
    for place in 0..48 {
        // A squall at half past eleven, between two calm halves; gusts are left out after two.
        let cells = match place {
            23 => "72,50,20,30,80",
            28.. => "72,50,5,,0",
            _ => "72,50,5,8,0",
        };
        rows += &format!("2026-06-08 {:02}:{:02},{cells}\n", place / 2, place % 2 * 30);
    }
    let output = windows(IN_JSON, &map, &job, &folder.file("halves.csv", rows));
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    assert_eq!(text(&output.stderr).matches("note: rows stand 30 min apart").count(), 1);
    let found = json(&output);
    assert_eq!(found["hours"].as_array().unwrap().len(), 24);
    assert_eq!(found["hours"][11]["verdict"], "not fit");
    assert_eq!(said(&found, 11, "wind"), ("not fit", "wind 5 to 20 mph, at most 8 mph (default)"));
    assert_eq!(found["hours"][12]["verdict"], "fit");
    let of = |wanted: &dyn Fn(&Value, usize) -> bool| {
        (0..24)
            .filter(|place| found["hours"][*place]["verdict"] == "fit" && wanted(&found, *place))
            .count()
    };
    let (fit, open) =
        (of(&|_, _| true), of(&|found, place| said(found, place, "gusts").0 == "unknown"));
    assert!(0 < open && open < fit, "{open} of {fit}");
    let table = text(&windows(ZONE, &map, &job, &folder.path("halves.csv")).stdout);
    let told = format!("{fit} of 24 hours are fit (of which {open} without known gusts)");
    assert!(table.contains(&told), "{told}: {table}");
}

#[test]
fn limits_under_which_no_hour_is_fit_are_told() {
    let folder = Folder::new("windows-never");
    let map = folder.file("map.geojson", collection(&[LOT]));
    let forecast = folder.file("hours.csv", hours("2026-06-08", &whole_day(), |_| None));
    #[rustfmt::skip]
    let table = [
        ("rain_free = \"48 h\"\n", "no hour of this forecast is fit: 48 h without rain (label of own)"),
        ("[wind]\nat_least = \"9 mph\"\n", "no wind is fit: at least 9 mph (label of own) and at most 8 mph (default)"),
        ("[temperature]\nat_least = \"95 F\"\n", "no temperature is fit: at least 95 °F (label of own) and at most 90 °F (default)"),
        ("[wind]\nat_least = \"7 mph\"\ngust_at_most = \"6 mph\"\n", "no wind is fit where gusts are given: wind at least 7 mph (label of own) and gusts at most 6 mph"),
    ];
    for (product, told) in table {
        let output = windows(IN_JSON, &map, &job_of(&folder, product, ""), &forecast);
        let remarks = text(&output.stderr);
        assert!(remarks.contains(told), "{told}: {remarks}");
        assert_eq!(json(&output)["windows"].as_array().unwrap().len(), 0, "{told}");
    }
}
