//! Limits, explanations and the words of the label, up to the answer.

use super::*;

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
    assert_eq!(keys("not_given"), ["reentry", "temperature", "wind"]);
    let table = plan("table");
    let place = |what: &str| table.find(what).unwrap_or_else(|| panic!("{what}\n{table}"));
    assert!(place("what to wear: waterproof gloves") < place("Cautions"));
    assert!(place("keep 50 ft from water where the wind blows towards it") < place("Cautions"));
    place("read the label: when people may go back; temperature limits; wind limits.");
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
    assert_eq!(status(&output), 1, "{}", text(&output.stderr));
    let told = text(&output.stderr);
    assert!(
        told.contains("property b: application \"June\" doses nothing on any zone (Lawn: "),
        "{told}"
    );
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

/// A US cup may be marked in milliliters, and its scale in grams: what has no mark cannot be poured.
#[test]
fn what_is_measured_out_is_told_in_the_unit_of_the_cup_and_the_scale() {
    let folder = Folder::new("doses-cup");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let iron = "[[application.product]]\nproduct = \"ferrous-sulfate-20-fe\"\nrate = \"2 oz wt/1000 sq ft\"\nlabel_checked = \"2026-05-02\"\n";
    let job = format!("{JOB}{iron}")
        .replace("tank = \"4 gal\"", "tank = \"6 gal\"\nsmallest_measure = [\"1 mL\", \"5 g\"]");
    let job = folder.file("job.toml", job);
    for units in ["us", "metric"] {
        let common = ["--plane", "ft", "--job", &job, "--units", units];
        for command in ["plan", "day"] {
            let run =
                |form: &str| turfplat(&[&[command, &map, "--format", form], &common[..]].concat());
            let document = json(&run("json"));
            let loads = match command {
                "plan" => &document["properties"][0]["applications"][0]["batches"][0]["loads"],
                _ => &document["loads"],
            };
            // Worked by hand: 5 × 0.5 fl oz are 73.93 mL, 5 × 2 oz wt are 283.5 g; at the marks below,
            // for neither label is known to allow more.
            for (place, value, unit) in [(0, 73.0, "mL"), (1, 280.0, "g")] {
                let measure = &loads[0]["products"][place]["measure"];
                assert_eq!(measure["unit"], unit, "{measure}");
                assert!((measure["value"].as_f64().unwrap() - value).abs() < 1e-9, "{measure}");
            }
            let table = text(&run("table").stdout);
            assert!(table.contains("73 mL") && table.contains("280 g"), "{table}");
        }
        let what = turfplat(&[&["explain", &map, "Lawn", "trinexapac"], &common[..]].concat());
        assert!(text(&what.stdout).contains("measure out 73 mL"), "{}", text(&what.stdout));
    }
}
