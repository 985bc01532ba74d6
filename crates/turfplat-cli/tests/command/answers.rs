//! What the command answers, writes and exits with.

use super::*;

#[test]
fn the_demo_is_planned_and_drawn() {
    let folder = Folder::new("demo");
    let out = folder.path("plan");
    let output = turfplat(&[
        "plan",
        &demo("map.geojson"),
        "--job",
        &demo("job.toml"),
        "--out",
        &out,
        "--date",
        "2026-06-08",
        "--format",
        "json",
    ]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let plan = json(&output);
    let application = &plan["properties"][0]["applications"][0];
    assert_eq!(application["batches"].as_array().unwrap().len(), 2, "two rates, two strengths");
    let areas: f64 = application["zones"]
        .as_array()
        .unwrap()
        .iter()
        .map(|zone| zone["treated_area_m2"].as_f64().unwrap())
        .sum();
    let covered: f64 = application["batches"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|batch| batch["loads"].as_array().unwrap())
        .flat_map(|load| load["covers"].as_array().unwrap())
        .map(|cover| cover["area_m2"].as_f64().unwrap())
        .sum();
    assert!((areas - covered).abs() < 1e-9 * areas);
    assert!(
        application["zones"]
            .as_array()
            .unwrap()
            .iter()
            .all(|zone| zone["products"][0]["rate_basis"] == "label")
    );
    let written: Value =
        serde_json::from_str(&fs::read_to_string(format!("{out}/plan.json")).unwrap()).unwrap();
    assert_eq!(written, plan);
    let mut names: Vec<String> = fs::read_dir(&out)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            "plan.csv",
            "plan.json",
            "spray-map.pgw",
            "spray-map.png",
            "spray-map.png.aux.xml",
            "spray-map.prj",
            "spray-map.svg",
            "zones.geojson"
        ]
    );
    let png = fs::read(format!("{out}/spray-map.png")).unwrap();
    assert!(png.starts_with(b"\x89PNG\r\n\x1a\n"));
    // IHDR holds width and height: Letter at 300 dots an inch.
    let side = |at: usize| u32::from_be_bytes([png[at], png[at + 1], png[at + 2], png[at + 3]]);
    assert_eq!((side(16).min(side(20)), side(16).max(side(20))), (2550, 3300));
    let svg = fs::read_to_string(format!("{out}/spray-map.svg")).unwrap();
    for word in ["Front lawn", "2026-06-08", "The label is the law"] {
        assert!(svg.contains(word), "{word}");
    }
}

#[test]
fn exit_status_says_how_it_went() {
    let folder = Folder::new("status");
    let good = folder.file("good.geojson", collection(&[LAWN]));
    let no_kind = folder.file(
        "no-kind.geojson",
        collection(&[LAWN, &LAWN.replace(r#""kind":"turf","#, "").replace("Lawn", "What")]),
    );
    let broken = folder.file("broken.geojson", "{");
    let job = folder.file("job.toml", JOB);
    let ounces = folder.file("ounces.toml", JOB.replace("fl oz", "oz"));
    let typo = folder.file("typo.toml", JOB.replace("tank", "tnak"));
    let nowhere = folder
        .file("nowhere.toml", format!("{JOB}\n[site.species]\nElsewhere = \"tall-fescue\"\n"));
    let unread = JOB.replace("label_checked = \"2026-05-02\"\n", "");
    let unread = folder.file("unread.toml", unread);
    let missing = folder.path("missing.geojson");
    #[rustfmt::skip]
    let table: [(&[&str], i32); 15] = [
        (&["measure", &good, "--plane", "ft"], 0),
        (&["plan", &good, "--plane", "ft", "--job", &job], 0),
        (&["check", &good, "--plane", "ft"], 0),
        (&["measure", &no_kind, "--plane", "ft"], 1),
        (&["check", &no_kind, "--plane", "ft"], 1),
        (&["plan", &good, "--plane", "ft", "--job", &ounces], 1),
        (&["plan", &good, "--plane", "ft", "--job", &nowhere], 1),
        (&["plan", &good, "--plane", "ft", "--job", &unread], 1),
        (&["plan", &good, "--plane", "ft", "--job", &typo], 2),
        (&["measure", &broken], 2),
        (&["measure", &missing], 2),
        (&["measure"], 2),
        (&["measure", &good, "--setback", "water=25"], 2),
        (&["plan", &good], 2),
        (&["sheet", &good, "--plane", "ft", "--job", &job, "-o", "map.jpg"], 2),
    ];
    for (args, expected) in table {
        let output = turfplat(args);
        assert_eq!(status(&output), expected, "{args:?}: {}", text(&output.stderr));
        if args.contains(&typo.as_str()) {
            let told = text(&output.stderr);
            assert!(told.contains("did you mean \"tank\"?"), "{told}");
        }
        if expected != 0 {
            assert!(
                !output.stderr.is_empty() || !output.stdout.is_empty(),
                "{args:?} says nothing"
            );
        }
    }
}

#[test]
fn a_refused_property_writes_nothing_and_the_others_are_done() {
    let folder = Folder::new("refused");
    let bad = lawn_of("B", 3000.0).replace(r#""kind":"turf""#, r#""kind":"lake""#);
    let map = folder.file(
        "map.geojson",
        collection(&[&lawn_of("A", 0.0), &lawn_of("B", 3150.0), &bad, &lawn_of("a", 600.0)]),
    );
    let job = folder.file("job.toml", JOB);
    let out = folder.path("plan");
    let output = turfplat(&["plan", &map, "--plane", "ft", "--job", &job, "--out", &out]);
    assert_eq!(status(&output), 1);
    assert!(text(&output.stderr).contains("refused property B"), "{}", text(&output.stderr));
    let mut names: Vec<String> = fs::read_dir(&out)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    // Two properties that differ in case alone do not share a folder.
    assert_eq!(names, ["A", "a-2", "summary.csv"]);
}

#[test]
fn several_applications_have_files_of_their_own() {
    let folder = Folder::new("applications");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let second = JOB.split("[[application]]").nth(1).unwrap().replace("June", "July/August");
    let job = folder.file("job.toml", format!("{JOB}\n[[application]]\n{second}"));
    let out = folder.path("plan");
    let output = turfplat(&["plan", &map, "--plane", "ft", "--job", &job, "--out", &out]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    for name in [
        "spray-map-June.png",
        "spray-map-July-August.svg",
        "zones-June.geojson",
        "zones-July-August.geojson",
    ] {
        assert!(Path::new(&out).join(name).exists(), "{name}");
    }
    let two =
        turfplat(&["sheet", &map, "--plane", "ft", "--job", &job, "-o", &folder.path("map.svg")]);
    assert_eq!(status(&two), 2, "which of the two?");
    let one = turfplat(&[
        "sheet",
        &map,
        "--plane",
        "ft",
        "--job",
        &job,
        "--application",
        "june",
        "-o",
        &folder.path("map.svg"),
    ]);
    assert_eq!(status(&one), 0, "{}", text(&one.stderr));
}

#[test]
fn a_map_may_come_through_a_pipe_and_the_reader_may_leave() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_turfplat"))
        .args(["measure", "-", "--plane", "ft", "--format", "json"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(collection(&[LAWN]).as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert_eq!(json(&output)["properties"][0]["property"], "property");

    let many: Vec<String> =
        (0..3000).map(|i| lawn_of(&format!("P{i}"), 200.0 * f64::from(i))).collect();
    let folder = Folder::new("pipe");
    let map = folder
        .file("map.geojson", collection(&many.iter().map(String::as_str).collect::<Vec<_>>()));
    let mut child = Command::new(env!("CARGO_BIN_EXE_turfplat"))
        .args(["measure", &map, "--plane", "ft"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
}

#[test]
fn every_form_of_the_answer_says_the_same() {
    let args = ["measure", &demo("map.geojson"), "--setback", "water=25ft"];
    let with = |format: &str| {
        let output = turfplat(&[&args[..], &["--format", format]].concat());
        assert_eq!(status(&output), 0);
        text(&output.stdout)
    };
    let document: Value = serde_json::from_str(&with("json")).unwrap();
    let property = &document["properties"][0];
    assert_eq!(serde_json::from_str::<Value>(&with("ndjson")).unwrap(), *property);
    let zones = property["zones"].as_array().unwrap();
    for zone in zones {
        let lost: f64 = zone["lost"]
            .as_array()
            .unwrap()
            .iter()
            .map(|loss| loss["area_m2"].as_f64().unwrap())
            .sum();
        let (gross, net) =
            (zone["gross_area_m2"].as_f64().unwrap(), zone["net_area_m2"].as_f64().unwrap());
        assert!((gross - net - lost).abs() < 1e-6 * gross);
    }
    let csv = with("csv");
    assert_eq!(csv.lines().count(), zones.len() + 1);
    let net = csv.lines().nth(1).unwrap().split(',').nth(4).unwrap().parse::<f64>().unwrap();
    assert!((net - zones[0]["net_area_m2"].as_f64().unwrap()).abs() < 1e-9);
    let shapes: Value = serde_json::from_str(&with("geojson")).unwrap();
    assert_eq!(shapes["features"].as_array().unwrap().len(), zones.len());
    assert!(with("table").contains("well \"House well\""));
}

/// Many properties, some of them refused: each form of answer is whole, and one thread or two say the same.
#[test]
fn answers_are_whole_whatever_is_refused_in_the_middle() {
    let folder = Folder::new("many");
    let lawn = |property: usize, corner: &str| {
        let west = property * 30;
        let east = west + 20;
        format!(
            r#"{{"type":"Feature","properties":{{"property":"P{property}","kind":"turf","name":"Lawn"}},"geometry":{{"type":"Polygon","coordinates":[[[{west},0],[{east},0],[{east},{corner}],[{west},0]]]}}}}"#
        )
    };
    let features: Vec<String> =
        (0..2000).map(|it| lawn(it, if it % 500 == 250 { "1.0.0" } else { "20" })).collect();
    let text =
        format!("{{\"type\":\"FeatureCollection\",\"features\":[\n{}\n]}}\n", features.join(",\n"));
    let map = folder.file("map.geojson", text);
    for format in ["csv", "json", "ndjson", "geojson", "table"] {
        let answers: Vec<Output> = ["1", "2"]
            .map(|threads| {
                turfplat(&[
                    "measure",
                    &map,
                    "--plane",
                    "m",
                    "--threads",
                    threads,
                    "--format",
                    format,
                ])
            })
            .into();
        assert_eq!(status(&answers[0]), 1, "{format}");
        assert_eq!(answers[0].stdout, answers[1].stdout, "{format}");
        let remarks = String::from_utf8_lossy(&answers[0].stderr);
        assert_eq!(remarks.matches("refused").count(), 4, "{remarks}");
        assert!(remarks.contains("features[250] (\"Lawn\"): line 252, column"), "{remarks}");
        let answer = String::from_utf8_lossy(&answers[0].stdout);
        match format {
            "csv" => assert_eq!(answer.lines().count(), 1 + 1996),
            "ndjson" => {
                assert_eq!(answer.lines().count(), 1996);
                answer.lines().for_each(|line| drop(serde_json::from_str::<Value>(line).unwrap()));
            }
            "json" => {
                let answer: Value = serde_json::from_str(&answer).unwrap();
                assert_eq!(answer["properties"].as_array().unwrap().len(), 1996);
                assert_eq!(answer["refused"].as_array().unwrap().len(), 4);
            }
            "geojson" => {
                let answer: Value = serde_json::from_str(&answer).unwrap();
                assert_eq!(answer["features"].as_array().unwrap().len(), 1996);
            }
            _ => assert_eq!(answer.matches("all zones").count(), 1996),
        }
    }
}

#[test]
fn no_name_from_a_map_is_a_formula_in_any_table() {
    let folder = Folder::new("answers-formulas");
    let other = lawn_of("+2", 400.0).replace("tall-fescue", "unheard-of");
    let named = lawn_of("=1+1", 0.0).replace("\"Lawn\"", "\"@SUM(A1)\"");
    let map = folder.file("map.geojson", collection(&[&named, &other]));
    let job = folder.file("job.toml", JOB.replace("\"June\"", "\"-1+June\""));
    let out = folder.path("out");
    let common = [map.as_str(), "--plane", "ft"];
    let csv = |command: &str, more: &[&str]| {
        let output = turfplat(&[&[command], &common[..], more, &["--format", "csv"]].concat());
        status(&output);
        text(&output.stdout)
    };
    let job = ["--job", job.as_str()];
    let mut tables = vec![
        ("plan", csv("plan", &[&job[..], &["--out", &out]].concat())),
        ("day", csv("day", &job)),
        ("measure", csv("measure", &[])),
    ];
    for file in ["summary.csv", "1-1/plan.csv"] {
        tables.push((file, fs::read_to_string(folder.0.join("out").join(file)).unwrap()));
    }
    for (table, text) in tables {
        assert!(text.contains("'=1+1"), "{table}: {text}");
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        for row in reader.records().map(|row| row.unwrap()) {
            for cell in row.iter().filter(|cell| cell.parse::<f64>().is_err()) {
                assert!(!cell.starts_with(['=', '+', '-', '@']), "{table}: {cell}");
            }
        }
    }
}

#[test]
fn letters_that_no_font_of_ours_has_are_told_once_a_run() {
    let folder = Folder::new("letters");
    let lawn = LAWN.replace("\"Lawn\"", "\"草坪 2\"");
    let map = folder.file("map.geojson", collection(&[&lawn]));
    let job = folder.file("job.toml", JOB);
    let (june, out) = (folder.path("june.svg"), folder.path("out"));
    for args in [["sheet", "-o", &june], ["plan", "--out", &out]] {
        let [command, option, place] = args;
        let output = turfplat(&[command, &map, "--plane", "ft", "--job", &job, option, place]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        let said = text(&output.stderr);
        assert_eq!(said.matches("草, 坪").count(), 1, "{command}: {said}");
        assert!(said.contains("\"草坪 2\"") && said.contains("in Latin letters"), "{said}");
    }
    // What other programs read keeps the name.
    let plan = fs::read_to_string(folder.path("out/plan.json")).unwrap();
    assert!(plan.contains("草坪 2"), "{plan}");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let output = turfplat(&["sheet", &map, "--plane", "ft", "--job", &job, "-o", &june]);
    assert!(!text(&output.stderr).contains('□'), "{}", text(&output.stderr));
}

/// One property whose grass has no rate, beside a good one: no success, and the summary says why.
#[test]
fn an_application_that_doses_nothing_on_one_property_is_no_success() {
    let folder = Folder::new("answers-undosed");
    let far = lawn_of("B", 1500.0).replace("tall-fescue", "creeping-bentgrass");
    let map = folder.file("map.geojson", collection(&[&lawn_of("A", 0.0), &far]));
    let rates = "[application.product.rates]\n\"tall-fescue\" = \"0.5 fl oz/1000 sq ft\"\n";
    let job = folder.file("job.toml", JOB.replace("rate = \"0.5 fl oz/1000 sq ft\"\n", "") + rates);
    let out = folder.path("out");
    let output = turfplat(&["plan", &map, "--plane", "ft", "--job", &job, "--out", &out]);
    assert_eq!(status(&output), 1, "{}", text(&output.stderr));
    let said = text(&output.stderr);
    assert!(said.contains("application \"June\" doses nothing on any zone (Lawn: "), "{said}");
    let summary = fs::read_to_string(format!("{out}/summary.csv")).unwrap();
    let refused: Vec<(String, bool)> = csv::Reader::from_reader(summary.as_bytes())
        .records()
        .map(|row| row.unwrap())
        .map(|row| (row[0].to_owned(), row[9].starts_with("Lawn: ")))
        .collect();
    assert_eq!(refused, [("A".to_owned(), false), ("B".to_owned(), true)]);
}
