//! Seasons and degree-days from the command line: tables, records, calendars, refusals.

use super::*;

const SEASON: &str = r#"
[equipment.knapsack]
kind = "backpack"
tank = "4 gal"
spray_volume = "1 gal/1000 sq ft"
[season]
from = "2026-05-04"
until = "2026-08-01"
interval = "28 days"
[[application]]
name = "Growth"
equipment = "knapsack"
[[application.product]]
product = "trinexapac-ethyl-1-ec"
rate = "0.5 fl oz/1000 sq ft"
label_checked = "2026-05-02"
[buy.trinexapac-ethyl-1-ec]
containers = [{ size = "8 fl oz", price = "$20.00" }]
"#;

/// Ten days of air and soil, each day known.
fn weather(folder: &Folder) -> String {
    let days = (1..=10).map(|day| format!("2026-05-{day:02},68,50,{}\n", 44 + day));
    folder.file("weather.csv", format!("date,tmax_f,tmin_f,soil_f\n{}", days.collect::<String>()))
}

fn season(folder: &Folder, job: &str, more: &[&str]) -> Output {
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let job = folder.file("job.toml", job);
    turfplat(&[&["season", &map, "--plane", "ft", "--job", &job], more].concat())
}

#[test]
fn a_season_is_told_with_days_amounts_and_what_to_buy() {
    let folder = Folder::new("season-table");
    let output = season(&folder, SEASON, &[]);
    assert_eq!(status(&output), 0);
    let told = text(&output.stdout);
    for day in ["2026-05-04", "2026-06-01", "2026-06-29", "2026-07-27"] {
        assert!(told.contains(day), "{told}");
    }
    // By hand: 4 × 0.5 × 5 = 10 fl oz, in two containers of 8; 4 × 5 gal less 10 fl oz of product.
    for part in [
        "10 fl oz",
        "2 × 8 fl oz at $20.00",
        "$40.00",
        "Water in all: 19.9 gal",
        "The label is the law",
    ] {
        assert!(told.contains(part), "no {part:?} in\n{told}");
    }
    let document = json(&season(&folder, SEASON, &["--format", "json"]));
    let of_lawn = &document["properties"][0];
    assert_eq!(of_lawn["rounds"].as_array().unwrap().len(), 4);
    let first = &of_lawn["rounds"][0];
    assert_eq!(first["date"], "2026-05-04");
    let amount = first["totals"][0]["amount"]["value"].as_f64().unwrap();
    assert!((amount - 2.5).abs() < 1e-9, "{amount}");
    assert_eq!(of_lawn["zones"][0]["interval_days"], 28);
    assert_eq!(of_lawn["buy"][0]["cost"]["value"], "40");
    let rows = text(&season(&folder, SEASON, &["--format", "csv"]).stdout);
    assert_eq!(rows.lines().count(), 5, "{rows}");
    assert!(rows.starts_with("property,status,date,application,zone,"));
}

#[test]
fn the_command_line_sets_the_days() {
    let folder = Folder::new("season-days");
    let without = SEASON.replace("from = \"2026-05-04\"\nuntil = \"2026-08-01\"\n", "");
    let asked = season(&folder, &without, &[]);
    assert_eq!(status(&asked), 1);
    assert!(text(&asked.stderr).contains("no first day is given; add from"), "{asked:?}");
    let set = season(
        &folder,
        &without,
        &["--from", "2026-05-04", "--until", "2026-06-01", "--format", "csv"],
    );
    assert_eq!(status(&set), 0);
    assert_eq!(text(&set.stdout).lines().count(), 3);
    for (from, until, code) in [("2026-13-01", "2026-06-01", 2), ("2026-06-02", "2026-06-01", 1)] {
        let output = season(&folder, SEASON, &["--from", from, "--until", until]);
        assert_eq!(status(&output), code, "{}", text(&output.stderr));
    }
}

#[test]
fn an_application_with_a_date_is_done_once() {
    let folder = Folder::new("season-dated");
    let dated = SEASON.replace("name = \"Growth\"", "name = \"Growth\"\ndate = 2026-06-10");
    let rows = text(&season(&folder, &dated, &["--format", "csv"]).stdout);
    assert!(rows.lines().count() == 2 && rows.contains(",2026-06-10,"), "{rows}");
    let both = dated.replace("2026-06-10", "2026-06-10\nseason = { most = 2 }");
    let refused = season(&folder, &both, &[]);
    assert_eq!(status(&refused), 1);
    assert!(text(&refused.stderr).contains("keep a date or a season"), "{refused:?}");
}

/// Lowered rates, two starts and a pause: what a plan of the dated job says is what the season said.
#[test]
fn a_season_as_a_job_is_planned_as_it_was_told() {
    let folder = Folder::new("season-job");
    folder.file("season-product.toml", fs::read(demo("season-product.toml")).unwrap());
    let job = folder.file("season.toml", fs::read(demo("season.toml")).unwrap());
    let (map, dated) = (demo("map.geojson"), folder.path("dated.toml"));
    let run = |more: &[&str]| turfplat(&[&["season", &map, "--job", &job], more].concat());
    assert_eq!(status(&run(&["--format", "job", "-o", &dated])), 0);
    let season = json(&run(&["--format", "json"]));
    let season = &season["properties"][0];
    let planned = turfplat(&["plan", &map, "--job", &dated, "--format", "json"]);
    assert_eq!(status(&planned), 0, "{}", text(&planned.stderr));
    let plan = json(&planned);
    let plan = &plan["properties"][0];
    let amount = |it: &Value| (it["amount"]["value"].as_f64().unwrap() * 1e6).round() as i64;
    // By day, zone and application: all zones of all rounds.
    let mut told: Vec<(String, String, i64)> = Vec::new();
    for round in season["rounds"].as_array().unwrap() {
        for zone in round["zones"].as_array().unwrap() {
            let day = round["date"].as_str().unwrap().to_owned();
            told.push((
                day,
                zone["zone"].as_str().unwrap().to_owned(),
                amount(&zone["products"][0]),
            ));
        }
    }
    let mut of_plan: Vec<(String, String, i64)> = Vec::new();
    for application in plan["applications"].as_array().unwrap() {
        for zone in application["zones"].as_array().unwrap() {
            let day = application["date"].as_str().unwrap().to_owned();
            of_plan.push((
                day,
                zone["zone"].as_str().unwrap().to_owned(),
                amount(&zone["products"][0]),
            ));
        }
    }
    told.sort();
    of_plan.sort();
    assert!(told.len() == 13, "{told:?}");
    assert_eq!(told, of_plan);
    // The job has the lowered rates without the digits that binary adds, and no more of them.
    let needed = |it: &Value| it["buy"][0]["needed"]["value"].as_f64().unwrap();
    let less = needed(season) - needed(plan);
    assert!((-1e-9..1e-6).contains(&less), "{less}");
    // What else stands in the job stays.
    let written = fs::read_to_string(&dated).unwrap();
    assert!(
        written.contains("jurisdiction = [\"maine\"]") && !written.contains("[season"),
        "{written}"
    );
}

#[test]
fn a_calendar_is_the_same_for_the_same_stamp_and_written_whole() {
    let folder = Folder::new("season-calendar");
    let to_screen =
        season(&folder, SEASON, &["--format", "ics", "--stamp", "2026-03-01T12:00:00Z"]);
    assert_eq!(status(&to_screen), 0);
    let ics = text(&to_screen.stdout);
    assert_eq!(ics.matches("BEGIN:VEVENT\r\n").count(), 4);
    assert!(
        ics.contains("DTSTART;VALUE=DATE:20260504\r\n")
            && ics.contains("DTSTAMP:20260301T120000Z\r\n")
    );
    assert!(ics.split("\r\n").all(|line| line.len() <= 75));
    let path = folder.path("season.ics");
    let written = season(
        &folder,
        SEASON,
        &["--format", "ics", "--stamp", "2026-03-01T12:00:00Z", "-o", &path],
    );
    assert_eq!((status(&written), text(&written.stdout).as_str()), (0, ""));
    assert_eq!(fs::read_to_string(&path).unwrap(), ics);
    // A later start moves days, and each event keeps its name.
    let uids = |ics: &str| -> Vec<String> {
        ics.lines().filter(|line| line.starts_with("UID:")).map(str::to_owned).collect()
    };
    let later = season(&folder, SEASON, &["--format", "ics", "--from", "2026-05-06"]);
    assert_eq!(uids(&text(&later.stdout)), uids(&ics));
    // Nothing that is read is written over.
    let job = folder.path("job.toml");
    let over = season(&folder, SEASON, &["--format", "ics", "-o", &job]);
    assert_eq!(status(&over), 2);
    assert_eq!(fs::read_to_string(&job).unwrap(), SEASON);
}

#[test]
fn green_up_and_a_model_need_temperatures_and_say_so() {
    let folder = Folder::new("season-weather");
    let weather = weather(&folder);
    let green = SEASON.replace(
        "from = \"2026-05-04\"",
        "green_up = { soil = \"50 F\", days = 3, since = \"2026-05-01\" }",
    );
    assert_eq!(status(&season(&folder, &green, &[])), 1);
    // By hand: 50 °F is reached on the 6th, the third such day is the 8th.
    let output = season(&folder, &green, &["--weather", &weather, "--format", "csv"]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let rows = text(&output.stdout);
    assert!(rows.lines().nth(1).unwrap().contains(",2026-05-08,"), "{rows}");
    assert!(rows.contains("green-up by your figures (measured)"));
    // The model is for another grass: the interval holds, and what it says stands beside it.
    let by_model = season(&folder, SEASON, &["--weather", &weather, "--model", "bentgrass-green"]);
    assert_eq!(status(&by_model), 0);
    let told = text(&by_model.stdout);
    assert!(told.contains("2026-06-01"), "{told}");
    assert!(
        told.contains("model bentgrass-green: the day is not known, for the temperatures end on"),
        "{told}"
    );
    let unknown = season(&folder, SEASON, &["--weather", &weather, "--model", "lawn"]);
    assert_eq!(status(&unknown), 2);
}

#[test]
fn degree_days_are_counted_and_what_is_missing_is_told() {
    let folder = Folder::new("degree-days");
    let weather = weather(&folder);
    let count = |more: &[&str]| {
        turfplat(&[&["degree-days", "--weather", &weather, "--since", "2026-05-01"], more].concat())
    };
    // By hand: (68 + 50) / 2 = 59 °F is 15 °C; 15 a day from 2 May on, 60 on the 5th.
    let output = count(&["--base", "0C", "--threshold", "60", "--format", "json"]);
    assert_eq!(status(&output), 0);
    let document = json(&output);
    let since = &document["since"][0];
    assert_eq!((&since["status"], &since["reached"]), (&"reached".into(), &"2026-05-05".into()));
    // It goes on to the last day of the file: 9 days of 15.
    assert_eq!(since["days"].as_array().unwrap().len(), 9);
    assert_eq!(
        (&since["last"], &since["sum"]["celsius_days"]),
        (&"2026-05-10".into(), &135.0.into())
    );
    let rows = text(&count(&["--base", "0C", "--threshold", "60", "--format", "csv"]).stdout);
    assert!(rows.contains("2026-05-01,2026-05-05,reached,15,15,60,108,measured"), "{rows}");
    let back = count(&["--base", "0C", "--threshold", "60", "--until", "2026-04-30"]);
    assert_eq!(status(&back), 1);
    assert!(text(&back.stderr).contains("--until 2026-04-30 is not after --since"), "{back:?}");
    // The same in the other scale: 27 °F days a day above 32 °F, 108 in all.
    let other = json(&count(&["--base", "32F", "--threshold", "108", "--format", "json"]));
    assert_eq!(other["since"][0]["reached"], "2026-05-05");
    let table = text(&count(&["--model", "bentgrass-green", "--species", "tall fescue"]).stdout);
    assert!(table.contains("not for tall-fescue"), "{table}");
    assert!(table.contains("are not reached up to 2026-05-10; 65.0 °C days"), "{table}");
    // A day taken out is missing, and the day of the sum is unknown then.
    let gap: String = fs::read_to_string(&weather)
        .unwrap()
        .lines()
        .filter(|it| !it.starts_with("2026-05-03"))
        .map(|it| format!("{it}\n"))
        .collect();
    let gap = folder.file("gap.csv", gap);
    let output = turfplat(&[
        "degree-days",
        "--weather",
        &gap,
        "--since",
        "2026-05-01",
        "--base",
        "0C",
        "--threshold",
        "60",
    ]);
    let table = text(&output.stdout);
    assert!(
        table.contains("is unknown, for 2026-05-03 is missing; on 2026-05-06 at the latest"),
        "{table}"
    );
    assert!(table.contains("Missing: 2026-05-03"), "{table}");
    // Normals know the day, and do not stand for one that was not measured; they are no measured days.
    let normals = folder.file("normals.csv", "date,tmax_f,tmin_f\n05-03,68,50\n");
    let with = |weather: &str, more: &[&str]| {
        let args = ["degree-days", "--since", "2026-05-01", "--base", "0C", "--threshold", "60"];
        turfplat(&[&args[..], &["--weather", weather], more].concat())
    };
    let told = text(&with(&gap, &["--normals", &normals]).stdout);
    assert!(told.contains("is unknown, for 2026-05-03 is missing"), "{told}");
    assert!(told.contains("at least 120.0 °C days (216.0 °F days) up to 2026-05-10"), "{told}");
    let refused = with(&normals, &[]);
    assert_eq!(status(&refused), 1);
    assert!(text(&refused.stderr).contains("its days have no year"), "{refused:?}");
    let models = text(&turfplat(&["degree-days", "--models"]).stdout);
    assert!(models.contains("No model in print is for a home lawn"), "{models}");
}

#[test]
fn files_that_are_none_and_files_that_are_refused() {
    let folder = Folder::new("degree-days-refused");
    let run = |name: &str, text_of: &str, more: &[&str]| {
        let file = folder.file(name, text_of);
        let args = [
            "degree-days",
            "--weather",
            &file,
            "--since",
            "2026-05-01",
            "--base",
            "0C",
            "--threshold",
            "60",
        ];
        let output = turfplat(&[&args[..], more].concat());
        (status(&output), text(&output.stderr))
    };
    let (code, told) = run("a.epw", "LOCATION,Here,-,USA,TMY3,1,2,3,4,5\n", &[]);
    assert!(code == 1 && told.contains("typical year (EPW)"), "{told}");
    let (code, told) = run("b.csv", "A1,20260502,TMAX,100,,,W,\nB1,20260502,TMAX,100,,,W,\n", &[]);
    assert!(
        code == 1
            && told.contains("several stations (A1, B1); say which one is meant (--station ID)"),
        "{told}"
    );
    let (code, told) = run("c.csv", "hello\n", &[]);
    assert!(code == 2 && told.contains("not known as temperatures by day"), "{told}");
    let (code, told) =
        run("d.csv", "date,tmax_c,tmin_c\n2026-05-02,20,10\n2026-05-03,99,10\n", &[]);
    assert!(
        code == 0 && told.contains("note dropped:") && told.contains("never so cold or hot"),
        "{told}"
    );
    let (code, _) =
        run("e.csv", "date,tmax_c,tmin_c\n2026-05-02,20,10\n", &["--model", "bentgrass-green"]);
    assert_eq!(code, 2);
    assert_eq!(status(&turfplat(&["degree-days", "--since", "2026-05-01"])), 2);
}
