//! Jobs: begun, checked, and how they part loads.

use super::*;

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
    let checked = turfplat(&["job", "check", &job, &map]);
    assert_eq!(status(&checked), 1);
    assert!(text(&checked.stderr).contains("its tank is not given"), "{}", text(&checked.stderr));
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

#[test]
fn a_check_finds_what_a_plan_would_be_refused_for() {
    let folder = Folder::new("job-check-plan");
    let job = fs::read_to_string(demo("job.toml")).unwrap();
    let check = |job: &str, map: &[&str]| {
        let file = folder.file("job.toml", job);
        let output = turfplat(&[&["job", "check", file.as_str()], map].concat());
        (status(&output), text(&output.stderr))
    };
    let map = demo("map.geojson");
    assert_eq!(check(&job, &[]).0, 0);
    assert_eq!(check(&job, &[map.as_str()]).0, 0);
    let without = |start: &str| -> String {
        job.lines()
            .filter(|line| !line.starts_with(start))
            .map(|line| format!("{line}\n"))
            .collect()
    };
    let (code, told) = check(&without("tank"), &[]);
    assert!(code == 1 && told.contains("application \"June\"") && told.contains("tank"), "{told}");
    let (code, told) = check(&without("spray_volume"), &[]);
    assert!(code == 1 && told.contains("spray_volume"), "{told}");
    // Only the map tells that the cup is too coarse for so little ground.
    let coarse = job.replace("smallest_measure = \"", "smallest_measure = \"9");
    assert_ne!(coarse, job);
    assert_eq!(check(&coarse, &[]).0, 0);
    let (code, told) = check(&coarse, &[map.as_str()]);
    assert!(code == 1 && told.contains("refused"), "{told}");
    let early = job.replace("name = \"June\"", "name = \"June\"\ndate = \"2020-01-01\"");
    let (code, told) = check(&early, &[]);
    assert!(code == 1 && told.contains("after the date of the application, 2020-01-01"), "{told}");
}
