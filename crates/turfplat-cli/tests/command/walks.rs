//! Passes: their options, files and place in the plan.

use super::*;

/// 100 ft by 50 ft, walked with 10 ft at 3 mph.
fn walked_job() -> String {
    JOB.replace("kind = \"backpack\"", "kind = \"backpack\"\nswath = \"10 ft\"\nspeed = \"3 mph\"")
}

#[test]
fn passes_stand_in_the_table_in_files_and_on_the_map() {
    let folder = Folder::new("walks");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let job = folder.file("job.toml", walked_job());
    let out = folder.path("plan");
    let args = ["plan", &map, "--plane", "ft", "--job", &job, "--out", &out, "--passes"];
    let output = turfplat(&args);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let table = text(&output.stdout);
    for word in ["Passes 10 ft wide", "load ends", "turns, fills and ways between zones"] {
        assert!(table.contains(word), "{word}: {table}");
    }
    let svg = fs::read_to_string(format!("{out}/spray-map.svg")).unwrap();
    assert!(svg.contains("a load runs out here") && svg.contains("passes, from the ring on"));
    let lines = fs::read_to_string(format!("{out}/passes.geojson")).unwrap();
    let lines: Value = serde_json::from_str(&lines).unwrap();
    assert_eq!(lines["features"][0]["geometry"]["type"], "LineString");
    // The option comes to the same as the key.
    let json_of = |job: &str, option: &[&str]| {
        let args = [&["plan", &map, "--plane", "ft", "--job", job, "--format", "json"], option];
        json(&turfplat(&args.concat()))
    };
    let with_key =
        folder.file("edge.toml", walked_job().replace("swath =", "edge_first = true\nswath ="));
    let by_option = json_of(&job, &["--edge-first"]);
    assert_eq!(by_option, json_of(&with_key, &[]));
    assert_ne!(by_option, json_of(&job, &[]));
    let application = &by_option["properties"][0]["applications"][0];
    assert_eq!(application["passes"][0]["edge_first"], true);
}

#[test]
fn a_sheet_shows_where_loads_run_out_and_passes_if_asked() {
    let folder = Folder::new("trails");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let job = folder.file("job.toml", walked_job());
    let sheet = folder.path("map.svg");
    let drawn = |job: &str, option: &[&str]| {
        let args = [&["sheet", &map, "--plane", "ft", "--job", job, "-o", &sheet], option].concat();
        let output = turfplat(&args);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        fs::read_to_string(&sheet).unwrap()
    };
    let plain = folder.file("plain.toml", JOB);
    let (none, flags, both) =
        (drawn(&plain, &[]), drawn(&job, &[]), drawn(&job, &["--passes", "--edge-first"]));
    let has = |svg: &str| (svg.contains("a load runs out here"), svg.contains("passes, from"));
    assert_eq!(
        [has(&none), has(&flags), has(&both)],
        [(false, false), (true, false), (true, true)]
    );
}

/// A bed that is known as an area alone makes the lawn shorter: the load ends where the way does.
#[test]
fn a_load_lasts_to_the_end_of_a_lawn_whose_bed_has_no_place() {
    let folder = Folder::new("no-place");
    let sheet = folder.file(
        "lawn.toml",
        "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nname = \"Lawn\"\nspecies = \"tall-fescue\"\nrectangle = { length = 60, width = 40 }\n[[shape]]\nkind = \"bed\"\nwithin = \"Lawn\"\ncircle = { radius = 6 }\n",
    );
    let job = folder.file("job.toml", walked_job());
    let output = turfplat(&["plan", &sheet, "--job", &job, "--format", "json"]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let plan = json(&output);
    let passes = &plan["properties"][0]["applications"][0]["passes"][0];
    // Worked by hand: four passes of 60 ft, less the share of the bed, π 6² of 60 × 40.
    let [end] = &passes["load_ends"].as_array().unwrap()[..] else { panic!("{passes}") };
    assert_eq!((&passes["passes"], &end["pass"]), (&4.into(), &4.into()));
    let along = end["along_m"].as_f64().unwrap();
    let by_hand = 60.0 * (1.0 - std::f64::consts::PI * 36.0 / 2400.0) * 0.3048;
    assert!((along - by_hand).abs() < 0.01, "{along}");
}

#[test]
fn options_that_could_show_nothing_are_refused() {
    let folder = Folder::new("no-swath");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let (plain, job) = (folder.file("plain.toml", JOB), folder.file("job.toml", walked_job()));
    let sheet = folder.path("map.svg");
    #[rustfmt::skip]
    let table: [(&[&str], &str); 4] = [
        (&["plan", &map, "--plane", "ft", "--job", &plain, "--edge-first"], "add swath = \"5 ft\""),
        (&["sheet", &map, "--plane", "ft", "--job", &plain, "-o", &sheet, "--passes"], "add swath = \"5 ft\""),
        (&["plan", &map, "--plane", "ft", "--job", &job, "--passes"], "add --out DIR"),
        (&["plan", &map, "--plane", "ft", "--job", &job, "--edge-last"], "--edge-first"),
    ];
    for (args, cure) in table {
        let output = turfplat(args);
        assert_eq!(status(&output), 2, "{args:?}");
        assert!(text(&output.stderr).contains(cure), "{args:?}: {}", text(&output.stderr));
    }
}
