//! A day of several properties: one tank in the order of the stops.

use super::*;

/// Two grasses, each at its own rate: two strengths of mix.
const TWO_RATES: &str = r#"
[equipment.truck]
kind = "hand-gun"
tank = "12 gal"
spray_volume = "1 gal/1000 sq ft"
[[application]]
name = "June"
equipment = "truck"
[[application.product]]
product = "trinexapac-ethyl-1-ec"
label_checked = "2026-05-02"
[application.product.rates]
"tall-fescue" = "0.5 fl oz/1000 sq ft"
"kentucky-bluegrass" = "0.25 fl oz/1000 sq ft"
"#;

/// Properties of 5,000 sq ft of tall fescue; of those named "mixed …" as much bluegrass before it.
fn town(ids: &[&str]) -> String {
    let mut lawns = Vec::new();
    for (place, id) in ids.iter().enumerate() {
        let lawn = lawn_of(id, 500.0 * place as f64);
        if id.starts_with("mixed") {
            let blue = lawn_of(id, 500.0 * place as f64 + 200.0);
            lawns.push(
                blue.replace("\"Lawn\"", "\"Blue\"").replace("tall-fescue", "kentucky-bluegrass"),
            );
        }
        lawns.push(lawn);
    }
    collection(&lawns.iter().map(String::as_str).collect::<Vec<_>>())
}

fn day(folder: &Folder, map: &str, job: &str, more: &[&str]) -> Output {
    let (map, job) = (folder.file("town.geojson", map), folder.file("job.toml", job));
    turfplat(&[&["day", &map, "--plane", "ft", "--job", &job], more].concat())
}

fn figure(value: &Value) -> f64 {
    value["value"].as_f64().unwrap()
}

#[test]
fn loads_run_from_stop_to_stop_in_the_order_of_the_day() {
    let folder = Folder::new("day-loads");
    let stops = folder.file("stops.txt", "# Monday\nc\n\n#7\n b \n");
    let output = day(
        &folder,
        &town(&["#7", "b", "c", "d"]),
        TWO_RATES,
        &["--stops", &stops, "--format", "json"],
    );
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let sheet = json(&output);
    let ids: Vec<&str> = sheet["stops"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| it["property"].as_str().unwrap())
        .collect();
    // What begins with a number sign may be the number of a house.
    assert_eq!(ids, ["c", "#7", "b"]);
    // Worked by hand: 3 × 5,000 sq ft at 1 gal/1000 sq ft are 15 gal: a tank of 12 and one of 3.
    let loads = sheet["loads"].as_array().unwrap();
    let fills: Vec<f64> = loads.iter().map(|load| figure(&load["fill_to"])).collect();
    assert!((fills[0] - 12.0).abs() < 1e-9 && (fills[1] - 3.0).abs() < 1e-9, "{fills:?}");
    // 12,000 sq ft: all of c and #7, 2,000 of b; then 3,000 of b. A square foot is 0.09290304 m².
    let covers: Vec<Vec<(u64, f64)>> = loads
        .iter()
        .map(|load| {
            let covers = load["covers"].as_array().unwrap().iter();
            covers
                .map(|it| {
                    let area = it["area_m2"].as_f64().unwrap() / 0.09290304;
                    (it["stop"].as_u64().unwrap(), (area * 1e6).round() / 1e6)
                })
                .collect()
        })
        .collect();
    assert_eq!(covers, [vec![(1, 5000.0), (2, 5000.0), (3, 2000.0)], vec![(3, 3000.0)]]);
    assert_eq!(sheet["stops"][2]["loads"], serde_json::json!([1, 2]));
    // 15 × 0.5 fl oz.
    assert!((figure(&sheet["carry"][0]["needed"]) - 7.5).abs() < 1e-9);
}

#[test]
fn a_tank_is_sprayed_out_before_another_strength_goes_in() {
    let folder = Folder::new("day-strengths");
    let output = day(&folder, &town(&["a", "mixed b", "c"]), TWO_RATES, &["--format", "json"]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let sheet = json(&output);
    // The fescue of the second stop goes on with what is in the tank, though its bluegrass stands
    // first on the map; the third stop is fescue again, after the bluegrass.
    let covered: Vec<(u64, Vec<(u64, &str)>)> = sheet["loads"]
        .as_array()
        .unwrap()
        .iter()
        .map(|load| {
            let covers = load["covers"].as_array().unwrap().iter();
            let zones =
                covers.map(|it| (it["stop"].as_u64().unwrap(), it["zone"].as_str().unwrap()));
            (load["batch"].as_u64().unwrap(), zones.collect())
        })
        .collect();
    assert_eq!(
        covered,
        [(1, vec![(1, "Lawn"), (2, "Lawn")]), (2, vec![(2, "Blue")]), (3, vec![(3, "Lawn")])]
    );
    let table = text(&day(&folder, &town(&["a", "mixed b", "c"]), TWO_RATES, &[]).stdout);
    assert!(table.contains("another strength"), "{table}");
    // Two lawns of one stop take two strengths: the sheet says which takes which.
    for line in [
        "Mixes 1, 3: 0.5 fl oz/1000 sq ft in 1 gal/1000 sq ft",
        "Mix 2: 0.25 fl oz/1000 sq ft in 1 gal/1000 sq ft",
        "stop 2, Lawn: 5,000 sq ft",
        "stop 2, Blue: 5,000 sq ft",
    ] {
        assert!(table.contains(line), "{line}: {table}");
    }
}

#[test]
fn a_stop_takes_what_its_plan_says() {
    let folder = Folder::new("day-plan");
    let map = town(&["a", "mixed b"]);
    let sheet = json(&day(&folder, &map, TWO_RATES, &["--format", "json"]));
    let (map, job) = (folder.path("town.geojson"), folder.path("job.toml"));
    let plan = json(&turfplat(&["plan", &map, "--plane", "ft", "--job", &job, "--format", "json"]));
    for (stop, property) in [(0, 0), (1, 1)] {
        let of_plan = &plan["properties"][property]["applications"][0];
        let of_day = &sheet["stops"][stop];
        assert_eq!(of_day["products"], of_plan["totals"]);
        assert_eq!(of_day["spray_volume"], of_plan["spray_volume"]);
    }
}

#[test]
fn a_stop_that_cannot_be_done_keeps_its_place_and_the_rest_go_on() {
    let folder = Folder::new("day-refused");
    // What cannot be told might be a pond: it lies beyond the reach of any.
    let broken = lawn_of("b", 5000.0).replace("\"turf\"", "\"tufr\"");
    let far = lawn_of("d", 1500.0).replace("tall-fescue", "unheard-of");
    let map = collection(&[&lawn_of("a", 0.0), &broken, &lawn_of("c", 1000.0), &far]);
    let stops = folder.file("stops.csv", "time,Property\n8:00,c\n9:00,b\n10:00,d\n11:00,a\n");
    let output = day(&folder, &map, JOB, &["--stops", &stops, "--format", "json"]);
    assert_eq!(status(&output), 1);
    let sheet = json(&output);
    let stops = sheet["stops"].as_array().unwrap();
    assert_eq!(stops.len(), 4);
    assert!(stops[1]["refused"][0].as_str().unwrap().contains("tufr"), "{}", stops[1]);
    assert_eq!(stops[1]["loads"], serde_json::json!([]));
    assert_eq!(stops[2]["skipped"][0]["zone"], "Lawn");
    let served = sheet["loads"][0]["covers"].as_array().unwrap();
    assert_eq!(served.first().unwrap()["stop"], 1);
    assert!(text(&output.stderr).contains("refused: stop 2, b:"), "{}", text(&output.stderr));
}

/// A slip in the list of the day must not keep the crew at home.
#[test]
fn a_stop_that_is_nowhere_on_the_map_keeps_its_place_and_the_day_goes_on() {
    let folder = Folder::new("day-slip");
    let stops = folder.file("stops.txt", "a\nhouse 22\nb\n");
    let map = town(&["a", "house 2", "b"]);
    let output = day(&folder, &map, JOB, &["--stops", &stops, "--format", "json"]);
    assert_eq!(status(&output), 1);
    let sheet = json(&output);
    let reason = "no property \"house 22\" has turf on the map; did you mean \"house 2\"?";
    assert_eq!(sheet["stops"][1]["property"], "house 22");
    assert_eq!(sheet["stops"][1]["refused"], serde_json::json!([reason]));
    assert_eq!(
        (&sheet["stops"][0]["refused"], &sheet["stops"][2]["property"]),
        (&serde_json::json!([]), &"b".into())
    );
    // Worked by hand: 2 × 5,000 sq ft at 0.5 fl oz/1000 sq ft.
    assert!((figure(&sheet["carry"][0]["needed"]) - 5.0).abs() < 1e-9);
    let said = text(&output.stderr);
    assert!(said.contains(&format!("refused: stop 2, house 22: {reason}")), "{said}");
}

/// The slip of July is no reason to leave June undone; what it keeps from being counted is told. June's own
/// slip would leave turf out unseen, and is refused.
#[test]
fn a_zone_that_another_application_misses_does_not_stop_the_day() {
    let folder = Folder::new("day-other");
    let july = "[[application]]\nname = \"July\"\nequipment = \"knapsack\"\nzones = [\"Lawn\", \"Bakc\"]\n[[application.product]]\nproduct = \"ferrous-sulfate-20-fe\"\nrate = \"2 oz wt/1000 sq ft\"\nlabel_checked = \"2026-05-02\"\n";
    let job = format!("{JOB}{july}");
    let output = day(&folder, &town(&["a"]), &job, &["--application", "June", "--format", "json"]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let said = text(&output.stderr);
    assert!(said.contains("note: application \"July\" names zone \"Bakc\""), "{said}");
    assert_eq!(json(&output)["uncounted"].as_array().unwrap().len(), 1);
    let output = day(&folder, &town(&["a"]), &job, &["--application", "July"]);
    assert_eq!(status(&output), 1);
    assert!(text(&output.stderr).contains("Bakc"), "{}", text(&output.stderr));
}

/// Beside good stops one on which nothing is put down is no success.
#[test]
fn a_stop_that_gets_nothing_is_told_and_is_no_success() {
    let folder = Folder::new("day-undosed");
    let far = lawn_of("d", 1500.0).replace("tall-fescue", "creeping-bentgrass");
    let map = collection(&[&lawn_of("a", 0.0), &far]);
    let output = day(&folder, &map, TWO_RATES, &[]);
    assert_eq!(status(&output), 1, "{}", text(&output.stderr));
    let said = text(&output.stderr);
    let words = "refused: stop 2, d: application \"June\" doses nothing on any zone (Lawn: ";
    assert!(said.contains(words), "{said}");
}

#[test]
fn lists_of_stops_that_cannot_be_meant_name_the_place_and_the_cure() {
    let folder = Folder::new("day-stops");
    let cases = [
        ("stops.txt", "a\nb\na\n", "stops 1 and 3 are both \"a\"; keep one"),
        ("stops.txt", "# nobody\n", "names no property; write one id a line"),
        ("stops.csv", "id,time\na,8\n", "has no column \"property\" (there is: id, time)"),
        ("stops.csv", "property,time\na,8\n,9\n", "line 3: names no property"),
    ];
    for (name, list, wanted) in cases {
        let stops = folder.file(name, list);
        let output = day(&folder, &town(&["a", "b"]), JOB, &["--stops", &stops]);
        assert_eq!(status(&output), 2, "{list}");
        assert!(text(&output.stderr).contains(wanted), "{}", text(&output.stderr));
    }
    let output = day(&folder, &town(&["a"]), JOB, &["--application", "July"]);
    assert_eq!(status(&output), 2);
    assert!(text(&output.stderr).contains("there is: June"), "{}", text(&output.stderr));
}

/// A lawn whose edges nobody has measured, near a well from which nobody has chosen a distance.
#[test]
fn what_a_plan_says_of_a_stop_is_said_of_the_day() {
    let folder = Folder::new("day-findings");
    let lawn = LAWN.replace("\"kind\":\"turf\"", "\"kind\":\"turf\",\"drawn_ft\":3");
    let well = r#"{"type":"Feature","properties":{"kind":"well","name":"Old well"},"geometry":{"type":"Point","coordinates":[120,25]}}"#;
    let map = collection(&[&lawn, well]);
    let output = day(&folder, &map, JOB, &[]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("note drawing-error"), "{}", text(&output.stderr));
    let table = text(&output.stdout);
    for words in ["(default of this tool)", "read the label:", "Keep people and pets off"] {
        assert!(table.contains(words), "{words}: {table}");
    }
    let sheet = json(&day(&folder, &map, JOB, &["--format", "json"]));
    assert_eq!(sheet["findings"][0]["stop"], 1);
    assert_eq!(sheet["label"][0]["product"], "trinexapac-ethyl-1-ec");
}

/// Of 1,000 sq ft at 0.5 fl oz/1000 sq ft no cup with marks of 1 fl oz measures half an ounce; of the
/// 6,000 sq ft that one tank treats it measures three, exactly.
#[test]
fn a_lawn_too_small_for_the_cup_is_done_from_the_load_that_it_shares() {
    let folder = Folder::new("day-shared");
    let small = lawn_of("small", 500.0).replace("600,", "520,");
    let map = collection(&[&lawn_of("large", 0.0), &small]);
    let job = TWO_RATES.replace("tank =", "smallest_measure = \"1 fl oz\"\ntank =");
    let output = day(&folder, &map, &job, &["--format", "json"]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let sheet = json(&output);
    assert_eq!(sheet["loads"].as_array().unwrap().len(), 1);
    let measured = &sheet["loads"][0]["products"][0];
    assert!((figure(&measured["measure"]) - 3.0).abs() < 1e-9, "{measured}");
    assert_eq!(measured["rate_error"], 0.0);
    assert!((figure(&sheet["stops"][1]["products"][0]["amount"]) - 0.5).abs() < 1e-9);
    assert_eq!(sheet["findings"], serde_json::json!([]));
    // Alone it cannot be done, by a plan or on a day of its own.
    let stops = folder.file("stops.txt", "small\n");
    let alone = day(&folder, &map, &job, &["--stops", &stops]);
    assert_eq!(status(&alone), 1);
    let said = text(&alone.stderr);
    assert!(
        said.contains("refused: stop 1, small: application \"June\": batch 1 (Lawn)"),
        "{said}"
    );
    assert!(said.contains("is below the smallest mark of 1 fl oz"), "{said}");
}

/// Marks of 1.5 fl oz: the bluegrass takes 1.25 fl oz of a strength of its own. Without it the fescue
/// of all stops is one batch of 15,000 sq ft, 7.5 fl oz: tanks of 12 and 3 gal with 4 marks and 1.
#[test]
fn a_strength_that_no_cup_measures_is_left_out_and_the_rest_of_the_day_goes_on() {
    let folder = Folder::new("day-unmeasured");
    let job = TWO_RATES.replace("tank =", "smallest_measure = \"1.5 fl oz\"\ntank =");
    let output = day(&folder, &town(&["a", "mixed b", "c"]), &job, &["--format", "json"]);
    assert_eq!(status(&output), 1, "{}", text(&output.stderr));
    let sheet = json(&output);
    let measured = |load: usize| figure(&sheet["loads"][load]["products"][0]["measure"]);
    assert!((measured(0) - 6.0).abs() < 1e-9 && (measured(1) - 1.5).abs() < 1e-9);
    assert_eq!(sheet["loads"].as_array().unwrap().len(), 2);
    let stop = &sheet["stops"][1];
    assert!((figure(&stop["products"][0]["amount"]) - 2.5).abs() < 1e-9, "{stop}");
    assert!((figure(&stop["spray_volume"]) - 5.0).abs() < 1e-9, "{stop}");
    assert!((stop["treated_area_m2"].as_f64().unwrap() / 0.09290304 - 5000.0).abs() < 1e-6);
    assert!(stop["refused"][0].as_str().unwrap().contains("(Blue)"), "{stop}");
    assert_eq!(stop["zones"].as_array().unwrap().len(), 1);
    assert_eq!(
        (&sheet["stops"][0]["refused"], &sheet["stops"][2]["refused"]),
        (&serde_json::json!([]), &serde_json::json!([]))
    );
}

/// Ferrous sulfate is weighed, and a cup does not weigh.
#[test]
fn what_has_no_mark_is_told_once_a_day() {
    let folder = Folder::new("day-unmarked");
    let job = TWO_RATES.replace("tank =", "smallest_measure = \"1 mL\"\ntank =")
        + "[[application.product]]\nproduct = \"ferrous-sulfate-20-fe\"\nrate = \"2 oz wt/1000 sq ft\"\nlabel_checked = \"2026-05-02\"\n";
    let output = day(&folder, &town(&["a", "b"]), &job, &[]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let (table, remarks) = (text(&output.stdout), text(&output.stderr));
    let words = "no mark for weights given: weigh exactly";
    assert_eq!(
        (table.matches(words).count(), remarks.matches(words).count()),
        (1, 1),
        "{table}{remarks}"
    );
}

/// A cup that puts the load of the day beyond ±5 % is told once, where the load begins; what each lawn
/// alone would have been measured to is nobody's load.
#[test]
fn measuring_is_told_of_the_loads_of_the_day() {
    let folder = Folder::new("day-measuring");
    let job = TWO_RATES.replace("tank =", "smallest_measure = \"2 fl oz\"\ntank =");
    let sheet = json(&day(&folder, &town(&["a", "b"]), &job, &["--format", "json"]));
    // Worked by hand: 5 fl oz at marks of 2: 4, 20 % too little.
    let findings = sheet["findings"].as_array().unwrap();
    assert_eq!(findings.len(), 1, "{findings:?}");
    let message = findings[0]["message"].as_str().unwrap();
    assert!(message.contains("load 1 of the day") && message.contains("20"), "{message}");
    assert_eq!(
        (&findings[0]["code"], &findings[0]["stop"]),
        (&"measuring-error".into(), &1.into())
    );
}

#[cfg(feature = "pdf")]
mod on_paper {
    use super::*;
    use crate::orders::with_the_engine::{packed, pages, poppler, read};

    const MIX: &str = r#"
[[application.product]]
product = "ferrous-sulfate-20-fe"
rate = "2 oz wt/1000 sq ft"
label_checked = "2026-05-02"
"#;

    /// What the terminal says of loads, stops, distances and what is not done stands on the paper, and
    /// so does what the label leaves open.
    #[test]
    fn the_paper_of_a_day_says_what_its_document_says() {
        let folder = Folder::new("day-paper");
        let well = r#"{"type":"Feature","properties":{"kind":"well","name":"Old well","property":"a"},"geometry":{"type":"Point","coordinates":[120,25]}}"#;
        let far = lawn_of("d", 1500.0).replace("tall-fescue", "unheard-of");
        let drawn =
            lawn_of("c", 1000.0).replace("\"kind\":\"turf\"", "\"kind\":\"turf\",\"drawn_ft\":3");
        let map =
            collection(&[&lawn_of("a", 0.0), &lawn_of("b *x* #y", 500.0), &drawn, &far, well]);
        let job = TWO_RATES.replace(
            "tank =",
            "smallest_measure = [\"5 mL\", \"5 g\"]\ndead_volume = \"0.5 gal\"\ntank =",
        ) + MIX;
        let paper = folder.path("day.pdf");
        let output = day(&folder, &map, &job, &["--date", "2026-06-08", "-o", &paper]);
        // At one stop nothing is put down.
        assert_eq!(status(&output), 1, "{}", text(&output.stderr));
        assert!(output.stdout.is_empty(), "{}", text(&output.stdout));
        let info = poppler("pdfinfo", &[&paper]);
        assert!(
            info.contains("Tagged:          yes")
                && info.contains("Title:           Day sheet: June"),
            "{info}"
        );
        let raw = String::from_utf8_lossy(&fs::read(&paper).unwrap()).into_owned();
        assert!(raw.contains("<pdfaid:part>2") && raw.contains("<pdfuaid:part>1"));
        let read = packed(&read(&paper));
        let table = text(&day(&folder, &map, &job, &["--date", "2026-06-08"]).stdout);
        let sheet = json(&day(&folder, &map, &job, &["--format", "json"]));
        let loads = sheet["loads"].as_array().unwrap();
        assert_eq!(loads.len(), 2);
        let mut told =
            vec!["2026-06-08".to_owned(), "b *x* #y".to_owned(), "put in, if other".to_owned()];
        for load in loads {
            for product in load["products"].as_array().unwrap() {
                let measure = &product["measure"];
                let number = format!("{:.0}", measure["value"].as_f64().unwrap());
                told.push(format!("{number} {}", measure["unit"].as_str().unwrap()));
            }
            for cover in load["covers"].as_array().unwrap() {
                let feet = cover["area_m2"].as_f64().unwrap() / 0.09290304;
                let feet = format!("{feet:.0}");
                let feet = match feet.len() {
                    4 => format!("{},{}", &feet[..1], &feet[1..]),
                    _ => feet,
                };
                told.push(format!("stop {}, Lawn: {feet} sq ft", cover["stop"]));
            }
        }
        for line in table
            .lines()
            .filter(|line| line.starts_with("Mix ") || line.contains("hose and sump and"))
        {
            told.push(line.to_owned());
        }
        told.extend(
            [
                "from well (default of this tool) \"Old well\"",
                "Not treated: Lawn:",
                "unheard-of",
                "as it is drawn, the treated area may be off",
                "when people may go back",
                "Keep people and pets off",
                "How to mix each load",
                "Rest and rinsing",
                "The first load of the mix is mixed with 0.5 gal more",
            ]
            .map(str::to_owned),
        );
        for words in &told {
            assert!(read.contains(&packed(words)), "{words}: {read}");
        }
        assert!(told.len() > 18, "{told:?}");
    }

    /// Of a long day each load stands whole on one page: its number, amount and stops.
    #[test]
    fn a_load_is_never_parted_by_the_end_of_a_page() {
        let folder = Folder::new("day-long");
        let ids: Vec<String> = (1..=120).map(|at| format!("house {at}")).collect();
        let map = town(&ids.iter().map(String::as_str).collect::<Vec<_>>());
        let paper = folder.path("day.pdf");
        let job = TWO_RATES.replace("12 gal", "48 gal");
        let output = day(&folder, &map, &job, &["-o", &paper]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        let count = pages(&paper);
        assert!(count > 2, "{count}");
        // Worked by hand: 600 gal are 12 tanks of 48 and one of 24; 48,000 sq ft are 9.6 lawns.
        let page = |at: usize| {
            let at = at.to_string();
            packed(&poppler("pdftotext", &["-raw", "-f", &at, "-l", &at, &paper, "-"]))
        };
        let all: Vec<String> = (1..=count).map(page).collect();
        let document = json(&day(&folder, &map, &job, &["--format", "json"]));
        let loads = document["loads"].as_array().unwrap();
        assert_eq!(loads.len(), 13);
        for load in loads {
            let stops = load["covers"].as_array().unwrap().iter();
            let lines: Vec<String> = stops.map(|it| format!("stop{},Lawn:", it["stop"])).collect();
            let whole = |page: &&String| lines.iter().all(|line| page.contains(line));
            assert!(all.iter().any(|page| whole(&page)), "load {}: {lines:?}", load["load"]);
        }
    }

    /// Names in a script that the font lacks come out as boxes: whoever prints hears of it.
    #[test]
    fn letters_that_a_day_sheet_lacks_are_told() {
        let folder = Folder::new("day-letters");
        let paper = folder.path("day.pdf");
        let map = collection(&[&lawn_of("a", 0.0).replace("\"Lawn\"", "\"草坪\"")]);
        let output = day(&folder, &map, JOB, &["-o", &paper]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        let said = text(&output.stderr);
        assert!(said.contains("\"草坪\": the fonts of sheets and papers have no 草, 坪"), "{said}");
    }

    #[test]
    fn a_day_on_which_nothing_is_treated_is_no_paper() {
        let folder = Folder::new("day-nothing");
        let paper = folder.path("day.pdf");
        let job = TWO_RATES.replace("label_checked = \"2026-05-02\"", "");
        let output = day(&folder, &town(&["a"]), &job, &["-o", &paper]);
        assert_eq!((status(&output), Path::new(&paper).exists()), (1, false));
        for (more, cure) in [
            (&["-o", "day.txt"][..], "end the file name with .pdf"),
            (&["-o", &paper, "--format", "csv"], "cannot be used with"),
        ] {
            let output = day(&folder, &town(&["a"]), JOB, more);
            assert_eq!(status(&output), 2, "{more:?}");
            assert!(text(&output.stderr).contains(cure), "{}", text(&output.stderr));
        }
    }
}
