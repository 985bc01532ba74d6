//! The command end to end: answers, files, exit statuses.

#![allow(clippy::unwrap_used)] // A test may.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;

/// A folder that goes away with the test.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("turfplat-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&path);
        fs::create_dir_all(&path).unwrap();
        Folder(path)
    }

    fn file(&self, name: &str, text: impl AsRef<[u8]>) -> String {
        let path = self.0.join(name);
        fs::write(&path, text).unwrap();
        path.display().to_string()
    }

    fn path(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn demo(name: &str) -> String {
    root().join("examples/demo").join(name).display().to_string()
}

fn turfplat(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_turfplat")).args(args).output().unwrap()
}

fn status(output: &Output) -> i32 {
    let remarks = String::from_utf8_lossy(&output.stderr);
    assert!(!remarks.contains("panicked"), "{remarks}");
    output.status.code().unwrap()
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

const LAWN: &str = r#"{"type":"Feature","properties":{"kind":"turf","name":"Lawn","species":"tall-fescue"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[100,0],[100,50],[0,50],[0,0]]]}}"#;

fn lawn_of(property: &str, west: f64) -> String {
    let east = west + 100.0;
    format!(
        r#"{{"type":"Feature","properties":{{"kind":"turf","name":"Lawn","species":"tall-fescue","property":"{property}"}},"geometry":{{"type":"Polygon","coordinates":[[[{west},0],[{east},0],[{east},50],[{west},50],[{west},0]]]}}}}"#
    )
}

fn collection(features: &[&str]) -> String {
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","))
}

const JOB: &str = r#"
[equipment.knapsack]
kind = "backpack"
tank = "4 gal"
spray_volume = "1 gal/1000 sq ft"
[[application]]
name = "June"
equipment = "knapsack"
[[application.product]]
product = "trinexapac-ethyl-1-ec"
rate = "0.5 fl oz/1000 sq ft"
label_checked = "2026-05-02"
"#;

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
    assert_eq!(names, ["plan.csv", "plan.json", "spray-map.png", "spray-map.svg", "zones.geojson"]);
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

/// What is exported is what is dosed, on the safe side by millimetres of edge.
#[test]
fn exported_zones_measure_what_was_dosed() {
    let folder = Folder::new("zones");
    let out = folder.path("plan");
    let planned = turfplat(&[
        "plan",
        &demo("map.geojson"),
        "--job",
        &demo("job.toml"),
        "--out",
        &out,
        "--format",
        "json",
    ]);
    assert_eq!(status(&planned), 0);
    let again = turfplat(&["measure", &format!("{out}/zones.geojson"), "--format", "json"]);
    assert_eq!(status(&again), 0, "{}", text(&again.stderr));
    let (planned, again) = (json(&planned), json(&again));
    for zone in planned["properties"][0]["applications"][0]["zones"].as_array().unwrap() {
        let drawn = again["properties"][0]["zones"]
            .as_array()
            .unwrap()
            .iter()
            .find(|drawn| drawn["name"] == zone["zone"])
            .unwrap();
        let (dosed, drawn, edge) = (
            zone["treated_area_m2"].as_f64().unwrap(),
            drawn["net_area_m2"].as_f64().unwrap(),
            drawn["perimeter_m"].as_f64().unwrap(),
        );
        assert!(
            drawn <= dosed + 1e-5 * edge && drawn >= dosed - 0.0051 * edge,
            "{}: {drawn} against {dosed}",
            zone["zone"]
        );
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

#[test]
fn reference_data_is_listed_with_sources() {
    for (args, word) in [
        (&["species"][..], "Poa pratensis"),
        (&["products"], "Gardner"),
        (&["products", "urea-46-0-0"], "46-0-0"),
        (&["rules"], "me-pest-water"),
        (&["rules", "maryland"], "md-fert"),
        (&["convert", "11 fl oz/A", "--to", "mL/100 m2"], "8.04 mL/100 m2"),
        // Worked by hand: 0.45359237 kg ÷ 0.40468564224 ha; 48.824 kg/ha.
        (&["convert", "1 lb ai/A", "--to", "kg a.i./ha"], "1.12 kg/ha of a.i."),
        (&["convert", "1 lb N/M", "--to", "kg N/ha"], "48.8 kg/ha of N"),
        (&["convert", "0.75 lb a.e./A", "--to", "g a.e./ha"], "841 g/ha of a.e."),
        (&["convert", "48.824 kg P2O5/ha", "--to", "lb/M"], "1 lb/1000 sq ft of P2O5"),
        (&["convert", "40 GPA", "--to", "gal/1000 sq. feet"], "0.918 gal/1000 sq ft"),
        (&["convert", "3 US fl oz/500 sq ft", "--to", "fl oz/M"], "6 fl oz/1000 sq ft"),
    ] {
        let output = turfplat(args);
        assert_eq!(status(&output), 0, "{args:?}");
        let printed = text(&output.stdout);
        assert!(printed.contains(word), "{args:?}: {printed}");
    }
    for what in ["species", "products", "rules"] {
        let output = json(&turfplat(&[what, "--format", "json"]));
        let rows = output[what].as_array().unwrap();
        assert!(!rows.is_empty(), "{what}");
        for row in rows {
            let provenance = &row["provenance"];
            assert!(
                provenance["source"].is_string()
                    && provenance["status"].is_string()
                    && provenance["read"].is_string(),
                "{row}"
            );
        }
    }
}

/// Every command's help shows an example, and the examples of the demo work.
#[test]
fn help_shows_an_example_that_works() {
    let folder = Folder::new("help");
    let every: [&[&str]; 15] = [
        &["measure"],
        &["plan"],
        &["explain"],
        &["sheet"],
        &["check"],
        &["species"],
        &["products"],
        &["product"],
        &["product", "schema"],
        &["job"],
        &["job", "check"],
        &["job", "schema"],
        &["rules"],
        &["convert"],
        &["calibrate"],
    ];
    for command in every {
        let help = text(&turfplat(&[command, &["--help"]].concat()).stdout);
        let command = command.join(" ");
        let example =
            help.split("Example:").nth(1).unwrap_or_else(|| panic!("{command}: no example")).trim();
        let words = example.replace('"', "\u{0}").replace("\\\n", " ");
        // Texts in quotes stay whole.
        let args: Vec<String> = words
            .split('\u{0}')
            .enumerate()
            .flat_map(|(place, piece)| {
                if place % 2 == 1 {
                    vec![piece.to_owned()]
                } else {
                    piece.split_whitespace().map(str::to_owned).collect()
                }
            })
            .skip(1)
            .map(|word| {
                if word.starts_with("examples/") {
                    root().join(&word).display().to_string()
                } else {
                    word
                }
            })
            .collect();
        let output = Command::new(env!("CARGO_BIN_EXE_turfplat"))
            .args(&args)
            .current_dir(&folder.0)
            .stdin(Stdio::null())
            .output()
            .unwrap();
        assert_eq!(status(&output), 0, "{args:?}: {}", text(&output.stderr));
    }
}

#[test]
fn other_coordinates_come_out_the_same() {
    let folder = Folder::new("crs");
    // The lawn on a Wisconsin plane (EPSG:2289, US survey feet), named on the command line and in the file.
    let corners = [
        [2_000_000.0, 400_000.0],
        [2_000_100.0, 400_000.0],
        [2_000_100.0, 400_050.0],
        [2_000_000.0, 400_050.0],
        [2_000_000.0, 400_000.0],
    ];
    let lawn = format!(
        r#"{{"type":"Feature","properties":{{"kind":"turf","name":"Lawn"}},"geometry":{{"type":"Polygon","coordinates":[{}]}}}}"#,
        serde_json::json!(corners)
    );
    let plain = folder.file("plain.geojson", collection(&[&lawn]));
    let named = folder.file(
        "named.geojson",
        format!(r#"{{"type":"FeatureCollection","crs":{{"type":"name","properties":{{"name":"urn:ogc:def:crs:EPSG::2289"}}}},"features":[{lawn}]}}"#),
    );
    let unnamed = turfplat(&["measure", &plain]);
    assert_eq!(status(&unnamed), 1);
    assert!(text(&unnamed.stderr).contains("--crs EPSG:n"));
    let area = |args: &[&str]| {
        let output = turfplat(args);
        if cfg!(feature = "proj") {
            assert_eq!(status(&output), 0, "{}", text(&output.stderr));
            json(&output)["properties"][0]["net_area_m2"].as_f64().unwrap()
        } else {
            assert_eq!(status(&output), 2, "a build without PROJ says so");
            5000.0 * 0.09290304
        }
    };
    if cfg!(feature = "proj") {
        let degrees = turfplat(&["measure", &demo("map.geojson"), "--crs", "EPSG:2289"]);
        assert_eq!(status(&degrees), 1);
        assert!(text(&degrees.stderr).contains("look like degrees, not like EPSG:2289"));
        // A system that is in degrees itself is none of that.
        assert_eq!(status(&turfplat(&["measure", &demo("map.geojson"), "--crs", "EPSG:4269"])), 0);
    }
    for args in [
        &["measure", &plain, "--crs", "EPSG:2289", "--format", "json"][..],
        &["measure", &named, "--format", "json"],
    ] {
        // The grid is within 2 parts in 10⁴ of the ground here.
        let ours = area(args);
        assert!((ours / (5000.0 * 0.092_903_04) - 1.0).abs() < 2e-4, "{args:?}: {ours}");
    }
}

#[test]
fn a_drawing_error_is_told_and_reaches_the_dose() {
    let answer = json(&turfplat(&["measure", &demo("map.geojson"), "--format", "json"]));
    assert!(answer["properties"][0]["zones"][0]["net_area_sd_m2"].is_null());

    let map = demo("map.geojson");
    let answer = json(&turfplat(&["measure", &map, "--drawn", "1ft", "--format", "json"]));
    let zone = &answer["properties"][0]["zones"][0];
    let number = |key: &str| zone[key].as_f64().unwrap();
    assert!(number("net_area_sd_m2") > 0.0);
    // All edges alike: a foot along the whole outline.
    let along = 0.3048 * number("perimeter_m");
    assert!((number("net_area_shift_m2") - along).abs() < 1e-6 * along, "{zone}");

    let job = demo("job.toml");
    let output = turfplat(&["plan", &map, "--job", &job, "--drawn", "1ft", "--format", "json"]);
    let plan = json(&output);
    let treated = &plan["properties"][0]["applications"][0]["zones"][0];
    let error = treated["dose_error"].as_f64().unwrap();
    let shift = treated["treated_area_shift_m2"].as_f64().unwrap();
    let area = treated["treated_area_m2"].as_f64().unwrap();
    assert!(error > 0.05 && (error - shift / area).abs() < 1e-12, "{treated}");
    let findings = plan["properties"][0]["findings"].as_array().unwrap();
    let told = findings.iter().find(|finding| finding["code"] == "drawing-error").unwrap();
    assert!(told["message"].as_str().unwrap().contains("beyond the usual ±5 %"), "{told}");
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
fn a_job_says_how_loads_are_parted_and_in_which_order_zones_are_walked() {
    let folder = Folder::new("loads");
    let job = fs::read_to_string(demo("job.toml")).unwrap();
    let with = |equipment: &str, application: &str| {
        let text = job
            .replace("tank = \"4 gal\"", &format!("tank = \"4 gal\"\n{equipment}"))
            .replace("name = \"June\"", &format!("name = \"June\"\n{application}"));
        let file = folder.file("job.toml", text);
        turfplat(&["plan", &demo("map.geojson"), "--job", &file, "--format", "json"])
    };
    let output = with(
        "dead_volume = \"1 gal\"\nplan = \"full\"",
        "dead_volume = \"0.3 gal\"\nplan = \"equal\"\nzones = [\"Side strip\", \"Front lawn\"]",
    );
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let document = json(&output);
    let batch = &document["properties"][0]["applications"][0]["batches"][0];
    assert_eq!(batch["zones"], serde_json::json!(["Side strip", "Front lawn"]));
    let loads = batch["loads"].as_array().unwrap();
    assert_eq!(loads[0]["covers"][0]["zone"], "Side strip");
    // With its dead volume the first of equal loads would come to another mark of the cup, 2 % off
    // the rest: so they are mixed alike.
    let fill = |load: &Value| {
        let fill = if load["first_fill"].is_object() { &load["first_fill"] } else { load };
        let gallons = fill["spray_volume"]["value"].as_f64().unwrap();
        (gallons, fill["products"][0]["measure"]["value"].as_f64().unwrap())
    };
    let (gallons, measure) = fill(&loads[0]);
    for load in loads {
        assert!((fill(load).0 - gallons).abs() < 1e-9 && (fill(load).1 - measure).abs() < 1e-9);
    }
    // The application's own dead volume, not its equipment's.
    assert!((batch["dead_volume"]["spray_volume"]["value"].as_f64().unwrap() - 0.3).abs() < 1e-9);
    assert!(loads[0]["first_fill"].is_object() && loads[1]["first_fill"].is_null());
    for list in [&batch["mixing"], &batch["jar_test"]["steps"], &batch["rinsing"]] {
        let steps = list.as_array().unwrap();
        assert!(!steps.is_empty());
        assert!(steps.iter().all(|step| step["source"].as_str().is_some_and(|it| !it.is_empty())));
    }
    let refused = with("plan = \"halves\"", "");
    assert_eq!(status(&refused), 1);
    assert!(
        text(&refused.stderr)
            .contains("equipment.knapsack.plan: \"halves\" is not known; use one of: full, equal"),
        "{}",
        text(&refused.stderr)
    );
}

const OWN: &str = r#"
id = "own"
name = "own regulator"
class = "growth regulator"
form = "liquid"
formulation = "EC"
[[active_ingredients]]
name = "trinexapac-ethyl"
content = "1 lb/gal"
[limits]
max_per_year = { limit = "1 fl oz/1000 sq ft", source = "the label" }
"#;

#[test]
fn a_limit_stops_the_zone_that_it_is_about_and_the_rest_is_planned() {
    let folder = Folder::new("limits");
    let second = LAWN
        .replace("Lawn", "Back")
        .replace("0,0],[100,0],[100,50],[0,50],[0,0", "0,60],[90,60],[90,90],[0,90],[0,60");
    let map = folder.file("map.geojson", collection(&[LAWN, &second]));
    folder.file("own.toml", OWN);
    let job = |zones: &str| {
        let job = JOB.replace("trinexapac-ethyl-1-ec", "own.toml");
        format!(
            "{job}\n[[history]]\ndate = \"2026-04-01\"\nproduct = \"own.toml\"\nrate = \"0.6 fl oz/1000 sq ft\"\nzones = [{zones}]\n"
        )
    };
    let some = folder.file("some.toml", job("\"Back\""));
    let plan = |job: &str, more: &[&str]| {
        turfplat(
            &[&["plan", &map, "--plane", "ft", "--job", job, "--date", "2026-06-08"], more]
                .concat(),
        )
    };
    let out = folder.path("some");
    let output = plan(&some, &["--format", "json", "--out", &out]);
    assert_eq!(status(&output), 1, "{}", text(&output.stderr));
    let said = text(&output.stderr);
    for word in [
        "application \"June\", zone \"Back\"",
        "1.1 fl oz/1000 sq ft",
        "most allowed in a year, 1 fl oz/1000 sq ft (the label)",
    ] {
        assert!(said.contains(word), "{word}: {said}");
    }
    let answer = json(&output);
    let property = &answer["properties"][0];
    assert_eq!(property["history"][0]["date"], "2026-04-01");
    assert_eq!(property["refused"].as_array().unwrap().len(), 1);
    assert_eq!(answer["refused"][0]["reasons"], property["refused"]);
    let june = &property["applications"][0];
    assert_eq!(june["date"], "2026-06-08");
    assert_eq!(june["zones"].as_array().unwrap().len(), 1);
    assert_eq!(june["skipped"][0]["refused"], true);
    let limits = june["limits"].as_array().unwrap();
    let of = |zone: &str, limit: &str| {
        limits.iter().find(|it| it["zone"] == zone && it["limit"] == limit).unwrap()
    };
    assert_eq!(of("Back", "max_per_year")["verdict"], "exceeded");
    assert!((of("Back", "max_per_year")["asked"]["value"].as_f64().unwrap() - 1.1).abs() < 1e-9);
    assert_eq!(of("Back", "max_per_year")["allowed"]["unit"], "fl oz/1000 sq ft");
    assert_eq!(of("Lawn", "max_per_year")["verdict"], "kept");
    assert_eq!(of("Lawn", "max_per_application")["verdict"], "not stated");
    assert_eq!(of("Lawn", "max_per_application")["allowed"], Value::Null);
    assert!(Path::new(&out).join("plan.json").exists());

    // At a terminal both are read: the reason stands in the plan, and is not told twice.
    let shown = plan(&some, &[]);
    let table = text(&shown.stdout);
    let beside = text(&shown.stderr);
    assert!(
        beside.contains(
            "refused property map: application \"June\", zone \"Back\": no dose; why, the plan says\n"
        ),
        "{beside}"
    );
    assert!(!beside.contains("most allowed in a year"), "{beside}");
    assert_eq!(table.matches("is more than the most allowed in a year").count(), 1, "{table}");
    for line in [
        "Put down before",
        "Refused, no dose: Back: own: 1.1",
        "  exceeded     most in a year: 1.1 of 1",
        "  kept         most in a year: 0.5 of 1",
        "  most at once",
    ] {
        assert!(table.contains(line), "{line}: {table}");
    }
    let records = text(&plan(&some, &["--format", "csv"]).stdout);
    assert!(records.contains("map,June,Back,,refused"), "{records}");

    // Where nothing is dosed, nothing is written, and no map of nothing is drawn.
    let all = folder.file("all.toml", job("\"Back\", \"Lawn\""));
    let out = folder.path("all");
    let output = plan(&all, &["--out", &out]);
    assert_eq!(status(&output), 1);
    assert!(!Path::new(&out).exists(), "{}", text(&output.stderr));
    let picture = folder.path("map.svg");
    let sheet = turfplat(&[
        "sheet",
        &map,
        "--plane",
        "ft",
        "--job",
        &all,
        "--date",
        "2026-06-08",
        "-o",
        &picture,
    ]);
    assert_eq!(status(&sheet), 1, "{}", text(&sheet.stderr));
    assert!(!Path::new(&picture).exists());
    let check = turfplat(&[
        "check",
        &map,
        "--plane",
        "ft",
        "--job",
        &folder.file("soon.toml", job("\"Back\"").replace("2026-04-01", "2020-01-01")),
    ]);
    assert_eq!(status(&check), 0, "long ago: {}{}", text(&check.stdout), text(&check.stderr));
}

#[test]
fn a_job_is_begun_once_and_never_over_another() {
    let folder = Folder::new("job-new");
    let file = folder.path("june.toml");
    let new = |args: &[&str]| {
        let all = [&["job", "new"], args].concat();
        Command::new(env!("CARGO_BIN_EXE_turfplat"))
            .args(all)
            .stdin(Stdio::null())
            .output()
            .unwrap()
    };
    let map = demo("map.geojson");
    let output = new(&["--map", &map, "--out", &file]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    assert!(output.stdout.is_empty());
    let remarks = text(&output.stderr);
    assert!(remarks.contains("left to fill in") && remarks.contains("equipment.tank"), "{remarks}");
    let written = fs::read_to_string(&file).unwrap();
    assert_eq!(text(&new(&["--map", &map]).stdout), written);

    fs::write(&file, "mine").unwrap();
    let again = new(&["--map", &map, "--out", &file]);
    assert_eq!(status(&again), 2);
    assert!(text(&again.stderr).contains("is there already"));
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");

    // As it was written it is read, and what is missing is said.
    let job = folder.file("job.toml", written);
    let planned = turfplat(&["plan", &map, "--job", &job]);
    assert_eq!(status(&planned), 1);
    assert!(text(&planned.stderr).contains("its tank is not given"), "{}", text(&planned.stderr));
    assert_eq!(status(&turfplat(&["job", "check", &job, &map])), 0);
}

#[test]
fn a_job_is_checked_with_the_line_of_what_is_wrong() {
    let folder = Folder::new("job-check");
    let check = |name: &str, text: String| turfplat(&["job", "check", &folder.file(name, text)]);
    let good = check("good.toml", JOB.to_owned());
    assert_eq!(status(&good), 0, "{}", text(&good.stderr));
    assert!(text(&good.stdout).contains("June"), "{}", text(&good.stdout));
    #[rustfmt::skip]
    let slips = [
        ("4 gal", "4", 1, "line 4: "),
        ("backpack", "rucksack", 1, "line 3: "),
        ("0.5 fl oz/1000", "50 fl oz/1000", 1, "line 11: "),
        ("\"trinexapac-ethyl-1-ec\"", "\"trinexapack\"", 1, "line 10: "),
        ("equipment = \"knapsack\"", "equipment = \"tractor\"", 1, "line 8: "),
        ("tank", "tnak", 2, "line 4, column 1"),
    ];
    for (from, to, expected, told) in slips {
        let output = check("bad.toml", JOB.replacen(from, to, 1));
        assert_eq!(status(&output), expected, "{to}");
        assert!(text(&output.stderr).contains(told), "{to}: {}", text(&output.stderr));
    }
    let elsewhere = format!("{JOB}[site.species]\nElsewhere = \"tall-fescue\"\n");
    let job = folder.file("elsewhere.toml", elsewhere);
    let output = turfplat(&["job", "check", &job, &demo("map.geojson")]);
    assert_eq!(status(&output), 1);
    assert!(text(&output.stderr).contains("line 14: "), "{}", text(&output.stderr));
}

/// The text tells what the plan doses, and the document the same in full precision.
#[test]
fn a_dose_is_explained_as_it_is_planned() {
    let (map, job) = (demo("map.geojson"), demo("job.toml"));
    let plan = json(&turfplat(&["plan", &map, "--job", &job, "--format", "json"]));
    let zones = plan["properties"][0]["applications"][0]["zones"].as_array().unwrap().clone();
    for zone in zones {
        let name = zone["zone"].as_str().unwrap();
        let args = ["explain", &map, "--job", &job, name, "trinexapac"];
        let output = turfplat(&[&args[..], &["--json"]].concat());
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        let told = json(&output);
        assert_eq!(told["amount"], zone["products"][0]["amount"]);
        assert_eq!(told["rate"], zone["products"][0]["rate"]);
        assert_eq!(told["spray_volume"], zone["spray_volume"]);
        assert_eq!(told["treated_area_m2"], zone["treated_area_m2"]);
        let printed = text(&turfplat(&args).stdout);
        assert!(printed.starts_with(&format!("{name}: ")), "{printed}");
        for word in ["GROUND", "Lambert azimuthal", "0.09290304", "SOURCES", "  1. ", "NIST"] {
            assert!(printed.contains(word), "{word}: {printed}");
        }
        assert!(printed.lines().all(|line| line.chars().count() <= 100), "{printed}");
    }
    #[rustfmt::skip]
    let table: [(&[&str], &str); 4] = [
        (&["Nowhere", "trinexapac"], "is nowhere on the map"),
        (&["Front lawn", "salt"], "there is: trinexapac-ethyl-1-ec"),
        (&["Front lawn", "trinexapac", "--application", "May"], "there is: June"),
        (&["Front lawn"], "give a map, a zone and a product"),
    ];
    for (args, told) in table {
        let output = turfplat(&[&["explain", &map, "--job", &job], args].concat());
        assert_eq!(status(&output), 2, "{args:?}");
        assert!(text(&output.stderr).contains(told), "{args:?}: {}", text(&output.stderr));
    }
}

#[test]
fn the_words_of_the_label_reach_every_form_of_the_plan() {
    let folder = Folder::new("label");
    folder.file(
        "own.toml",
        "id = \"own\"\nname = \"own\"\nclass = \"herbicide\"\nform = \"liquid\"\nrain_free = \"6 h\"\nppe = [\"waterproof gloves\"]\n[drift_buffers]\nwater = \"50 ft\"\n",
    );
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let job = folder.file("job.toml", JOB.replace("trinexapac-ethyl-1-ec", "own.toml"));
    let out = folder.path("plan");
    let plan = |format: &str| {
        let output = turfplat(&[
            "plan", &map, "--job", &job, "--plane", "ft", "--out", &out, "--format", format,
        ]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        text(&output.stdout)
    };
    let document: Value = serde_json::from_str(&plan("json")).unwrap();
    let label = &document["properties"][0]["applications"][0]["label"][0];
    assert_eq!(label["product"], "own");
    let keys = |of: &str| -> Vec<String> {
        let all = label[of].as_array().unwrap().iter();
        all.map(|it| it["key"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(keys("said"), ["ppe", "drift_buffers", "rain_free"]);
    assert_eq!(keys("not_given"), ["reentry", "temperature"]);
    let table = plan("table");
    let place = |what: &str| table.find(what).unwrap_or_else(|| panic!("{what}\n{table}"));
    assert!(place("what to wear: waterproof gloves") < place("Cautions"));
    assert!(place("keep 50 ft from water where the wind blows towards it") < place("Cautions"));
    place("read the label: when people may go back; temperature limits.");
    let csv = plan("csv");
    assert!(csv.lines().next().unwrap().contains(",reason,label,"), "{csv}");
    assert!(csv.contains("time without rain: 6 h"), "{csv}");
    let svg = fs::read_to_string(folder.0.join("plan/spray-map.svg")).unwrap();
    for words in ["waterproof", "6 h", "50 ft"] {
        assert!(svg.contains(words), "{words}");
    }
    // That nobody is named for a caution is for whoever checks the plan, not for the crew.
    assert!(svg.contains("eye protection") && !svg.contains("no source"));
    let cautions = plan("table").split("Cautions\n").last().unwrap().to_owned();
    assert!(cautions.contains("eye protection.") && !cautions.contains("no source"), "{cautions}");
    assert!(plan("json").contains("eye protection (common practice, no source)."));
}

#[test]
fn an_application_that_doses_nothing_is_said_and_others_beside_it_are_done() {
    let folder = Folder::new("nothing");
    let zoysia = lawn_of("b", 200.0).replace("tall-fescue", "tal fescue");
    let map = folder.file("map.geojson", collection(&[&lawn_of("a", 0.0), &zoysia]));
    let job = folder.file("job.toml", JOB);
    let output = turfplat(&["plan", &map, "--plane", "ft", "--job", &job]);
    assert_eq!(status(&output), 0, "a skipped zone beside dosed ones: {}", text(&output.stderr));
    let told = text(&output.stdout);
    assert!(told.contains("is not listed; did you mean \"tall-fescue\""), "{told}");
    let unread = JOB.replace("label_checked = \"2026-05-02\"\n", "");
    let job = folder.file("unread.toml", unread);
    let output = turfplat(&["plan", &map, "--plane", "ft", "--job", &job]);
    assert_eq!(status(&output), 1);
    let told = text(&output.stderr);
    assert!(
        told.contains("application \"June\" doses nothing on any zone; why, the plan says\n"),
        "{told}"
    );
    assert!(
        text(&output.stdout)
            .contains("Not treated: Lawn: trinexapac-ethyl 1 lb/gal EC: no label-checked rate")
    );
    let output = turfplat(&["plan", &map, "--plane", "ft", "--job", &job, "--format", "csv"]);
    let told = text(&output.stderr);
    assert!(
        told.contains("application \"June\" doses nothing on any zone (Lawn: trinexapac-ethyl 1 lb/gal EC: no label-checked rate"),
        "{told}"
    );
}
