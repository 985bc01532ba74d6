//! Maps in and out.

use super::*;

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

/// A file of an archive is meant by its own name.
#[test]
#[cfg(feature = "proj")]
fn a_system_may_be_named_for_one_file_of_an_archive() {
    let archive = root().join("tests/maps/sp_2289_single_lot_poly.zip").display().to_string();
    let told = |system: &str| {
        let output = turfplat(&["measure", &archive, "--crs", system, "--format", "json"]);
        assert_eq!(status(&output), 0, "{system}: {}", text(&output.stderr));
        let answer = json(&output);
        let property = &answer["properties"][0];
        let codes = property["findings"].as_array().unwrap().iter();
        let is_other = codes.filter(|finding| finding["code"] == "other-system").count();
        (property["net_area_m2"].as_f64().unwrap(), is_other)
    };
    let of_file = |code: &str| told(&format!("sp_2289_single_lot_poly.shp={code}"));
    let (net, other) = of_file("EPSG:2289");
    assert_eq!((told("EPSG:2289"), other), ((net, 0), 0));
    // The zone to the north: the area is nearly the same, and the file says otherwise.
    let (elsewhere, other) = of_file("EPSG:2288");
    assert!((elsewhere / net - 1.0).abs() < 1e-3 && elsewhere != net && other == 1);
    let unknown = turfplat(&["measure", &archive, "--crs", "lots.shp=EPSG:2289"]);
    assert_eq!(status(&unknown), 2);
    assert!(text(&unknown.stderr).contains("no such map"), "{}", text(&unknown.stderr));
}

/// Nothing but our own words stands beside the answer.
#[test]
fn a_system_that_is_none_is_refused_in_one_line() {
    let folder = Folder::new("systems");
    let lawn = r#"{"type":"Feature","properties":{"kind":"turf"},"geometry":{"type":"Point","coordinates":[1,2]}}"#;
    let map = folder.file("lots.geojson", collection(&[lawn]));
    for system in ["2289", "EPSG:99999", "hello", "home:1", "PROJCS[\"a\"", "hello[\"a\"]"] {
        let output = turfplat(&["measure", &map, "--crs", system]);
        assert_eq!(status(&output), 2, "{system}");
        let said = text(&output.stderr);
        assert!(said.starts_with("error: ") && said.lines().count() == 1, "{system}: {said}");
    }
}

#[test]
fn a_column_that_is_not_there_is_a_slip_of_the_command() {
    let folder = Folder::new("columns");
    let feature = |said: &str| {
        format!(
            r#"{{"type":"Feature","properties":{{{said}}},"geometry":{{"type":"Polygon","coordinates":[[[-88.43,44.24],[-88.42,44.24],[-88.42,44.241],[-88.43,44.24]]]}}}}"#
        )
    };
    let (lawn, lake) = (feature(r#""FCODE":39999"#), feature(r#""FCODE":39004"#));
    let map = folder.file("map.geojson", collection(&[&lawn, &lake]));
    let said = turfplat(&["measure", &map, "--kind-from", "FCODES"]);
    assert_eq!(status(&said), 2);
    assert!(text(&said.stderr).contains(r#"no map has a column "FCODES"; is "FCODE" meant?"#));

    // What is built in comes last, whichever is named first.
    let own = folder.file("own.toml", "[kind.FCODE]\n39999 = \"turf\"\n");
    let alone = turfplat(&["measure", &map, "--kinds", "nhd"]);
    assert!(text(&alone.stderr).contains("give both: --kinds FILE --kinds nhd"));
    let both = turfplat(&["measure", &map, "--kinds", "nhd", "--kinds", &own, "--format", "json"]);
    assert_eq!(status(&both), 0, "{}", text(&both.stderr));
    assert_eq!(json(&both)["properties"][0]["zones"].as_array().unwrap().len(), 1);
}

#[test]
fn a_picture_lies_where_the_map_does_and_takes_no_file_of_a_map() {
    let folder = Folder::new("in-place");
    let (map, job) = (demo("map.geojson"), demo("job.toml"));
    let sheet =
        |more: &[&str]| turfplat(&[&["sheet", map.as_str(), "--job", job.as_str()], more].concat());
    let picture = folder.path("june.png");
    assert_eq!(status(&sheet(&["-o", &picture])), 0);
    let world = fs::read_to_string(folder.path("june.pgw")).unwrap();
    let numbers: Vec<f64> = world.lines().map(|line| line.parse().unwrap()).collect();
    // The demo is drawn at 1:600, with 300 dots to an inch of 0.0254 m.
    assert!((numbers[0] - 600.0 * 0.0254 / 300.0).abs() < 1e-9, "{world}");
    assert_eq!((numbers[3], numbers[1], numbers[2]), (-numbers[0], 0.0, 0.0), "{world}");
    let prj = fs::read_to_string(folder.path("june.prj")).unwrap();
    assert!(prj.starts_with("PROJCS[") && prj.contains("Lambert_Azimuthal_Equal_Area"), "{prj}");

    // The same name as a shapefile's: its .prj would be gone.
    fs::copy(&map, folder.path("lots.geojson")).unwrap();
    folder.file("lots.prj", "theirs");
    let lots = folder.path("lots.geojson");
    let output = turfplat(&["sheet", &lots, "--job", &job, "-o", &folder.path("lots.png")]);
    assert_eq!(status(&output), 2);
    let said = text(&output.stderr);
    assert!(
        said.contains("the .prj beside it belongs to") && said.contains("another name"),
        "{said}"
    );
    assert_eq!(fs::read_to_string(folder.path("lots.prj")).unwrap(), "theirs");

    // On a plane of its own nobody knows where that is.
    let own = folder.file("own.geojson", collection(&[LAWN]));
    let job_of_own = folder.file("job.toml", JOB);
    let out = folder.path("own-map.png");
    let output = turfplat(&["sheet", &own, "--plane", "ft", "--job", &job_of_own, "-o", &out]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("there is no .prj"), "{}", text(&output.stderr));
    assert!(Path::new(&folder.path("own-map.pgw")).exists());
    assert!(!Path::new(&folder.path("own-map.prj")).exists());

    let outlines = folder.path("june.svg");
    assert_eq!(status(&sheet(&["--outline-text", "-o", &outlines])), 0);
    assert!(!fs::read_to_string(&outlines).unwrap().contains("<text"));
    assert_eq!(status(&sheet(&["--outline-text", "-o", &picture])), 2);
}

/// Two lots side by side: on the sheet of one the other's lot, pond and house are gray, and its pond
/// is kept clear of all the same. A pond of nobody's is drawn as the property's own.
#[test]
fn what_is_the_neighbors_is_drawn_in_gray() {
    let folder = Folder::new("next-door");
    let box_of = |kind: &str, property: &str, west: f64, south: f64, east: f64, north: f64| {
        format!(
            r#"{{"type":"Feature","properties":{{"kind":"{kind}"{property},"name":"{kind} {west}"}},"geometry":{{"type":"Polygon","coordinates":[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]}}}}"#
        )
    };
    let b = r#","property":"B""#;
    let (lawn, other) = (lawn_of("A", 0.0), lawn_of("B", 100.0));
    let lot = box_of("parcel", b, 100.0, -10.0, 220.0, 70.0);
    let theirs = box_of("water", b, 102.0, 20.0, 112.0, 30.0);
    let nobodys = box_of("water", "", 102.0, 20.0, 112.0, 30.0);
    let job = folder.file("job.toml", JOB);
    let drawn = |name: &str, features: &[&str]| {
        let map = folder.file(&format!("{name}.geojson"), collection(features));
        let out = folder.path(&format!("{name}.svg"));
        let output = turfplat(&[
            "sheet",
            &map,
            "--plane",
            "ft",
            "--job",
            &job,
            "--property",
            "A",
            "-o",
            &out,
        ]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        fs::read_to_string(&out).unwrap()
    };
    let beside = drawn("theirs", &[&lawn, &other, &lot, &theirs]);
    assert!(beside.contains("other properties, in gray"));
    assert!(beside.contains("data-dimension"), "its distance is kept and dimensioned");
    let common = drawn("nobodys", &[&lawn, &other, &nobodys]);
    assert!(!common.contains("other properties, in gray"));
    assert!(common.contains("data-dimension"));
}
