//! Plans for the wind of the hour: drift buffers by hand.

use std::f64::consts::PI;

use serde_json::Value;

use super::{Folder, collection, status, text, turfplat};

const PRODUCT: &str = "id = \"own\"\nname = \"own\"\nclass = \"herbicide\"\nform = \"liquid\"\n[drift_buffers]\nwater = \"10 m\"\n";
const JOB: &str = "[setbacks]\nwater = \"0 m\"\n[equipment.knapsack]\nkind = \"backpack\"\ntank = \"4 gal\"\nspray_volume = \"1 gal/1000 sq ft\"\n[[application]]\nname = \"June\"\nequipment = \"knapsack\"\n[[application.product]]\nproduct = \"own.toml\"\nrate = \"1 fl oz/1000 sq ft\"\nlabel_checked = \"2026-05-02\"\n";

/// A lawn of 100 m, and a pond of 20 m that touches the middle of its eastern side.
fn lawn_and_pond() -> String {
    let feature = |kind: &str, more: &str, [west, south, east, north]: [f64; 4]| {
        format!(
            r#"{{"type":"Feature","properties":{{"kind":"{kind}","name":"{kind}"{more}}},"geometry":{{"type":"Polygon","coordinates":[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]}}}}"#
        )
    };
    let lawn = feature("turf", r#","species":"tall-fescue""#, [0.0, 0.0, 100.0, 100.0]);
    let pond = feature("water", "", [100.0, 40.0, 120.0, 60.0]);
    collection(&[&lawn, &pond])
}

#[test]
fn drift_buffers_lie_where_the_wind_blows_towards_the_pond() {
    let folder = Folder::new("wind");
    folder.file("own.toml", PRODUCT);
    let map = folder.file("map.geojson", lawn_and_pond());
    let job = folder.file("job.toml", JOB);
    // On the lawn's side a strip of 10 m along 20 m of bank, and of the discs of 10 m round its two corners
    // what faces the wind: half of each in all; where it comes aslant, a quarter and an eighth, and beside
    // that a triangle of 10 m / √2 that is kept from the bank behind the corner.
    let strip = 200.0;
    let corner = |share: f64| share * PI * 100.0;
    #[rustfmt::skip]
    let table: [(&[&str], f64); 7] = [
        (&[],                                       0.0),
        (&["--wind-from", "W", "--wind", "6mph"],   strip + 2.0 * corner(0.25)),
        (&["--wind-from", "225", "--wind", "8 mph"], strip + corner(0.25) + corner(0.125) + 25.0),
        (&["--wind-from", "NW", "--wind", "3 mph"], strip + corner(0.25) + corner(0.125) + 25.0),
        // From the north the bank lies along the wind: the half-disc of its upper corner leans over it.
        (&["--wind-from", "N", "--wind", "10 km/h"], strip + corner(0.25)),
        (&["--wind-from", "90", "--wind", "6mph"],  0.0),
        (&["--wind-from", "90", "--wind", "2.9 mph"], strip + 2.0 * corner(0.25)),
    ];
    for (wind, expected) in table {
        let base = ["plan", &map, "--job", &job, "--plane", "m", "--format", "json"];
        let output = turfplat(&[&base, wind].concat());
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        let document: Value = serde_json::from_slice(&output.stdout).unwrap();
        let application = &document["properties"][0]["applications"][0];
        let zone = &application["zones"][0];
        let lost: f64 = (zone["lost"].as_array().unwrap().iter())
            .filter(|loss| loss["to"] == "drift:water")
            .map(|loss| loss["area_m2"].as_f64().unwrap())
            .sum();
        assert!((lost - expected).abs() < 1e-6, "{wind:?}: {lost} ≠ {expected}");
        let treated = zone["treated_area_m2"].as_f64().unwrap();
        assert!((treated + lost - 10_000.0).abs() < 1e-6, "{wind:?}: {treated}");
        let kept = zone["setbacks"].as_array().unwrap();
        let for_the_wind = kept.iter().filter(|it| it["kept"] == "for the wind").count();
        assert_eq!(for_the_wind, usize::from(expected > 0.0), "{wind:?}: {kept:?}");
        assert_eq!(application["wind"].is_null(), wind.is_empty());
        let caution = document["properties"][0]["cautions"][0].as_str().unwrap();
        assert_eq!(caution.starts_with("For wind from"), !wind.is_empty(), "{caution}");
        assert!(!caution.contains("No drift buffer is known"), "{caution}");
    }
}

#[test]
fn a_wind_is_told_where_it_changes_nothing_or_is_too_light() {
    let folder = Folder::new("light-wind");
    folder.file("own.toml", PRODUCT);
    let map = folder.file("map.geojson", lawn_and_pond());
    let job = folder.file("job.toml", JOB);
    let base = ["plan", &map, "--job", &job, "--plane", "m", "--wind-from", "W", "--wind"];
    let output = turfplat(&[&base[..], &["1 m/s"]].concat());
    assert!(text(&output.stderr).contains("below 3 mph"), "{}", text(&output.stderr));
    assert!(text(&output.stdout).contains("(all sides, for a light wind)"));
    let silent = PRODUCT.split("[drift").next().unwrap();
    folder.file("own.toml", silent);
    let output = turfplat(&[&base[..], &["6 mph"]].concat());
    assert!(text(&output.stderr).contains("no [drift_buffers] in the product file of own"));
    let told = text(&output.stdout);
    assert!(told.contains("No drift buffer is known for"), "{told}");
}

#[test]
fn winds_that_say_nothing_are_refused() {
    let folder = Folder::new("no-wind");
    folder.file("own.toml", PRODUCT);
    let map = folder.file("map.geojson", lawn_and_pond());
    let job = folder.file("job.toml", JOB);
    #[rustfmt::skip]
    let table: [(&[&str], &str); 5] = [
        (&["--wind", "6mph"],                    "--wind-from <DIR>"),
        (&["--wind-from", "SW"],                 "--wind <SPEED>"),
        (&["--wind-from", "400"],                "is no direction"),
        (&["--wind-from", "north"],              "a point of the compass such as SW"),
        (&["--wind-from", "N", "--wind", "6"],   "has no unit"),
    ];
    for (wind, told) in table {
        let base = ["plan", &map, "--job", &job, "--plane", "m"];
        let output = turfplat(&[&base, wind].concat());
        assert_eq!(status(&output), 2, "{wind:?}");
        assert!(text(&output.stderr).contains(told), "{wind:?}: {}", text(&output.stderr));
    }
}

#[test]
fn a_wind_that_the_label_forbids_is_refused_and_a_strong_one_is_told() {
    let folder = Folder::new("strong-wind");
    let map = folder.file("map.geojson", lawn_and_pond());
    let job = folder.file("job.toml", JOB);
    let plan = |wind: &str| {
        turfplat(&["plan", &map, "--job", &job, "--plane", "m", "--wind-from", "W", "--wind", wind])
    };
    folder.file("own.toml", PRODUCT);
    let told = text(&plan("9 mph").stderr);
    assert!(told.contains("strong-wind") && told.contains("8 mph (default)"), "{told}");
    assert!(!text(&plan("8 mph").stderr).contains("strong-wind"));
    folder
        .file("own.toml", format!("{PRODUCT}[wind]\nat_least = \"3 mph\"\nat_most = \"10 mph\"\n"));
    assert_eq!(status(&plan("10 mph")), 0);
    #[rustfmt::skip]
    let table = [
        ("10.1 mph", "label of own asks for at most 10 mph"),
        ("2 mph",    "label of own asks for at least 3 mph"),
    ];
    for (wind, told) in table {
        let output = plan(wind);
        assert_eq!(status(&output), 1, "{wind}");
        assert!(text(&output.stderr).contains(told), "{wind}: {}", text(&output.stderr));
    }
}
