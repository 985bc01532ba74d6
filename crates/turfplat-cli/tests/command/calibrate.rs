//! `turfplat calibrate` end to end: answers, the job that it writes into, exit statuses.

use super::*;

fn calibrate(args: &[&str]) -> (i32, Output) {
    let output =
        Command::new(env!("CARGO_BIN_EXE_turfplat")).arg("calibrate").args(args).output().unwrap();
    (output.status.code().unwrap(), output)
}

const BOOM: [&str; 7] = ["boom", "--flow", "0.4 gal/min", "--speed", "3 mph", "--spacing", "20 in"];

#[test]
fn every_help_shows_an_example_that_works() {
    for what in ["boom", "catch", "area", "pressure", "spreader", "walk"] {
        let (status, output) = calibrate(&[what, "--help"]);
        assert_eq!(status, 0);
        let help = text(&output.stdout);
        let example = help.split("Example:").nth(1).unwrap().trim();
        let words = example.split('"').enumerate().flat_map(|(place, piece)| match place % 2 {
            1 => vec![piece],
            _ => piece.split_whitespace().collect(),
        });
        let args: Vec<&str> = words.skip(2).collect();
        assert_eq!(args[0], what);
        let (status, output) = calibrate(&args);
        assert_eq!(status, 0, "{args:?}: {}", text(&output.stderr));
        let json = [&args[..], &["--format", "json"]].concat();
        let document: Value = serde_json::from_slice(&calibrate(&json).1.stdout).unwrap();
        assert_eq!(document["calibrate"], what);
        assert!(document["answers"][0]["value"].is_number(), "{document}");
        for step in document["steps"].as_array().unwrap() {
            for key in ["formula", "numbers", "result", "source"] {
                assert!(!step[key].as_str().unwrap().is_empty(), "{step}");
            }
        }
    }
}

#[test]
fn a_boom_is_told_in_both_units_and_solved_for_what_is_left_out() {
    let (status, output) = calibrate(&BOOM);
    assert_eq!(status, 0);
    let told = text(&output.stdout);
    assert!(told.contains("39.6 gal/A") && told.contains("5940 × 0.4 ÷ (3 × 20)"), "{told}");
    let metric = text(&calibrate(&[&BOOM[..], &["--units", "metric"]].concat()).1.stdout);
    assert!(metric.contains("370.4 L/ha"), "{metric}");
    for (args, found) in [
        (["--volume", "39.6 gal/A", "--speed", "3 mph", "--spacing", "20 in"], "flow: 0.4 gal/min"),
        (["--volume", "39.6 gal/A", "--flow", "0.4 gpm", "--spacing", "20 in"], "speed: 3 mph"),
        (["--volume", "39.6 gal/A", "--flow", "0.4 gpm", "--speed", "3 mph"], "width: 20 in"),
    ] {
        let told = text(&calibrate(&[&["boom"][..], &args].concat()).1.stdout);
        assert!(told.starts_with(found), "{told}");
    }
}

#[test]
fn the_job_gets_the_spray_volume_and_keeps_its_notes() {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("job.toml");
    let before = "# mine\n[equipment.knapsack]\nkind = \"backpack\" # old\nspray_volume = \"1 gal/1000 sq ft\" # May\n";
    fs::write(&job, before).unwrap();
    let path = job.display().to_string();
    let into = |name| [&BOOM[..], &["--into", path.as_str(), "--equipment", name]].concat();

    let (status, output) = calibrate(&into("boom"));
    assert_eq!((status, output.stdout.len()), (1, 0));
    assert!(text(&output.stderr).contains("knapsack"));
    assert_eq!(fs::read_to_string(&job).unwrap(), before, "a refusal writes nothing");

    assert_eq!(calibrate(&into("knapsack")).0, 0);
    let after = fs::read_to_string(&job).unwrap();
    let expected = before.replace("\"1 gal/1000", "\"0.909091 gal/1000");
    assert_eq!(after, expected + "speed = \"3 mph\"\n");

    // A gallon on a square foot is a course mistyped.
    let area = ["area", "--used", "1 gal", "--course", "1 sq ft", "--into", path.as_str()];
    let (status, output) = calibrate(&[&area[..], &["--equipment", "knapsack"]].concat());
    assert_eq!((status, output.stdout.len()), (1, 0));
    assert!(text(&output.stderr).contains("more than 10 gal/1000 sq ft"));
    assert_eq!(fs::read_to_string(&job).unwrap(), after, "a refusal writes nothing");

    fs::write(&job, "equipment = ").unwrap();
    assert_eq!(calibrate(&into("knapsack")).0, 2, "a file that is no TOML");
    assert_eq!(calibrate(&[&BOOM[..], &["--into", "none.toml", "--equipment", "a"]].concat()).0, 2);
}

#[test]
fn exit_statuses_tell_a_refusal_from_a_slip() {
    for (args, status) in [
        (&["boom", "--flow", "0 gpm", "--speed", "3 mph", "--spacing", "20 in"][..], 1),
        (&["boom", "--total-flow", "4 gpm", "--speed", "3 mph", "--spacing", "20 in"], 1),
        (&["boom", "--flow", "0.4", "--speed", "3 mph", "--spacing", "20 in"], 2),
        (&["boom", "--flow", "0.4 gpm", "--speed", "3 mph"], 2),
        (&["catch", "--course", "340 sq ft", "--time", "51 s", "--caught", "40 oz"], 2),
        (&["spreader", "--wanted", "9 lb/M", "--setting", "4=2 lb/M", "--setting", "5=3 lb/M"], 1),
        (
            &["spreader", "--wanted", "2.5 lb/M", "--setting", "4=2 lb/M", "--setting", "5=3 lb/M"],
            0,
        ),
        (&["spreader", "--wanted", "5 lb/M", "--two-passes"], 0),
        (&["catch", "--spacing", "20 in"], 0),
        (&["catch", "--spacing", "20 in", "--tank", "3 gal"], 2),
        (&["pressure", "--flow", "0.2 gpm", "--at", "10 psi", "--wanted-flow", "0.4 gpm"], 0),
        (&["walk", "--course", "200 ft", "--speed", "3 mph"], 0),
        (&["walk", "--course", "200 ft"], 2),
    ] {
        let (found, output) = calibrate(args);
        assert_eq!(found, status, "{args:?}: {}", text(&output.stderr));
    }
}

#[test]
fn the_job_gets_speed_and_setting_and_the_plan_tells_them() {
    let folder = Folder::new("calibrated");
    let job = fs::read_to_string(demo("job.toml")).unwrap();
    let file = folder.file("job.toml", format!("{job}\n[equipment.rotary]\nkind = \"spreader\"\n"));
    let into = |args: &[&str], name: &str| {
        calibrate(&[args, &["--into", file.as_str(), "--equipment", name]].concat())
    };
    let walk = ["walk", "--course", "200 ft", "--time", "45 s"];
    let (status, output) = into(&walk, "knapsack");
    assert_eq!(status, 1, "its spray volume was found at another speed");
    assert!(text(&output.stderr).contains("calibrate it anew"), "{}", text(&output.stderr));
    let boom = ["boom", "--flow", "0.4 gal/min", "--speed", "3.03 mph", "--spacing", "20 in"];
    let (status, output) = into(&boom, "knapsack");
    assert_eq!(status, 0, "{}", text(&output.stderr));
    // 200 ÷ 45 × 3600 ÷ 5280 = 3.0303 mph: the same.
    assert_eq!(into(&walk, "knapsack").0, 0);
    assert!(text(&output.stderr).contains("speed = \"3.03 mph\""), "{}", text(&output.stderr));
    let tried = ["--setting", "3=2 lb/M", "--setting", "5=4 lb/M"];
    let wanted = [&["spreader", "--wanted", "3 lb/M"][..], &tried].concat();
    assert_eq!(into(&wanted, "rotary").0, 0);
    let (status, output) = into(&wanted, "knapsack");
    assert_eq!(status, 1);
    assert!(text(&output.stderr).contains("is no spreader"), "{}", text(&output.stderr));
    // A rate of a catch alone is no setting.
    let catch = ["spreader", "--caught", "0.5 lb", "--course", "10 x 5 ft"];
    assert_eq!(into(&catch, "rotary").0, 2);

    let written = fs::read_to_string(&file).unwrap();
    assert!(
        written.contains("setting = \"4 for 3 lb/1000 sq ft\"")
            && written.contains("speed = \"3.03 mph\"")
    );
    let plan = turfplat(&["plan", &demo("map.geojson"), "--job", &file]);
    assert!(text(&plan.stdout).contains("(backpack, at 3.03 mph)"), "{}", text(&plan.stdout));
}
