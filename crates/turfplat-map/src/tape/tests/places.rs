//! What is placed, what is loose, and what is left as an area.

use super::*;

#[test]
fn what_is_placed_stands_where_its_owner_put_it() {
    let text = r#"
        unit = "m"
        [[shape]]
        kind = "turf"
        at = { east = 10, north = -5, turn = 90 }
        rectangle = { length = 4, width = 2 }
        [[shape]]
        kind = "well"
        at = { east = -30, north = 2 }
        point = {}
        [[shape]]
        kind = "hardscape"
        at = { east = 0, north = 0, turn = -90 }
        line = { length = 12, width = 1.5 }
        [[shape]]
        kind = "water"
        at = { east = 50, north = 50 }
        line = { points = [[0, 0], [3, 4], [6, 4]] }
    "#;
    let told = features(&sheet(text));
    let ring = pairs(&told[0]["geometry"]["coordinates"][0]);
    assert_eq!(ring, [(10.0, -5.0), (10.0, -9.0), (12.0, -9.0), (12.0, -5.0), (10.0, -5.0)]);
    assert_eq!(told[1]["geometry"]["coordinates"], serde_json::json!([-30.0, 2.0]));
    assert!(told[1]["properties"].get("radius_m").is_none());
    assert_eq!(told[2]["geometry"]["coordinates"], serde_json::json!([[0.0, 0.0], [0.0, 12.0]]));
    assert_eq!(told[2]["properties"]["width_m"], 1.5);
    assert_eq!(
        told[3]["geometry"]["coordinates"],
        serde_json::json!([[50.0, 50.0], [53.0, 54.0], [56.0, 54.0]])
    );
    assert_eq!(map_of(sheet(text)).problems(), []);
}

#[test]
fn a_hazard_without_a_place_is_refused() {
    for kind in ["well", "water", "drain", "garden", "play", "apiary", "mix-site", "parcel"] {
        let text = format!(
            "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nname = \"Front\"\ncircle = {{ radius = 30 }}\n[[shape]]\nkind = \"{kind}\"\nwithin = \"Front\"\ncircle = {{ radius = 3 }}"
        );
        assert_eq!(
            only_problem(&text),
            format!(
                "lawn.toml item 2, line 6: geometry cannot be read: is a {kind} without a place, so no distance from it is known; give it at = {{ east = …, north = … }}, or leave it out of the sheet and keep clear of it yourself"
            )
        );
    }
}

#[test]
fn what_asks_for_a_setback_of_its_own_must_be_placed_too() {
    let text = |setback: &str| {
        format!(
            "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nname = \"Front\"\ncircle = {{ radius = 30 }}\n[[shape]]\nkind = \"bed\"\nwithin = \"Front\"\nsetback_ft = {setback}\ncircle = {{ radius = 3 }}"
        )
    };
    assert!(
        only_problem(&text("2"))
            .contains("is a bed without a place, so no distance from it is known")
    );
    assert_eq!(problems(&text("0")), Vec::<String>::new());
}

#[test]
fn beside_a_hazard_all_must_be_placed() {
    let text = r#"
        unit = "ft"
        [[shape]]
        kind = "turf"
        name = "Front"
        rectangle = { length = 60, width = 42 }
        [[shape]]
        kind = "bed"
        within = "Front"
        circle = { radius = 3 }
        [[shape]]
        kind = "well"
        at = { east = 0, north = 0 }
        point = {}
    "#;
    let problems = problems(text);
    assert_eq!(problems.len(), 2);
    assert_eq!(
        problems[0],
        r#"lawn.toml item 1 ("Front"), line 3: geometry cannot be read: is not placed, but item 3 (well) is: how far apart they are is not known; give it at = { east = …, north = … }, counted from the same corner"#
    );
    assert!(problems[1].contains("item 2, line 7"), "{}", problems[1]);
}

#[test]
fn a_pond_is_not_stretched() {
    let pond = |rule: &str| {
        format!(
            "unit = \"ft\"\n[[shape]]\nkind = \"water\"\nat = {{ east = 0, north = 0 }}\noffsets = {{ spacing = 5, widths = [1, 4, 3], rule = \"{rule}\" }}\n[[shape]]\nkind = \"turf\"\nat = {{ east = 0, north = 90 }}\ncircle = {{ radius = 3 }}"
        )
    };
    assert_eq!(problems(&pond("trapezoid")), Vec::<String>::new());
    assert!(only_problem(&pond("simpson")).contains(
        "is kept away from, so its edge must stand where it was measured; use rule = \"trapezoid\""
    ));
}

#[test]
fn a_placed_lawn_that_is_stretched_says_so() {
    let text = "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nat = { east = 0, north = 0 }\noffsets = { spacing = 5, widths = [0, 4, 0], rule = \"simpson\" }";
    let layer = sheet(text);
    assert_eq!(layer.remarks.len(), 1);
    assert_eq!(layer.remarks[0].1, "edge-stretched");
    assert!(
        layer.remarks[0].2.starts_with("its edge is stretched to 133.3 % of what was measured"),
        "{}",
        layer.remarks[0].2
    );
}

#[test]
fn properties_lie_apart_and_a_place_needs_a_property_then() {
    let text = r#"
        unit = "ft"
        [[shape]]
        kind = "turf"
        property = "12"
        at = { east = 0, north = 0 }
        rectangle = { length = 60, width = 42 }
        [[shape]]
        kind = "turf"
        property = "14"
        at = { east = 0, north = 0 }
        rectangle = { length = 60, width = 42 }
        [[shape]]
        kind = "well"
        at = { east = 0, north = 0 }
        point = {}
    "#;
    let layer = sheet(text);
    let told = features(&layer);
    let first = |told: &Value| pairs(&told["geometry"]["coordinates"][0])[0];
    let (a, b) = (first(&told[0]), first(&told[1]));
    assert!((a.0 - b.0).hypot(a.1 - b.1) > 20_000.0, "{a:?} {b:?}");
    let problems = problems(text);
    assert!(
        problems.iter().any(|it| it.contains(
            "has a place but no property, and at is counted from a corner of each property"
        )),
        "{problems:?}"
    );
}

#[test]
fn loose_zones_lie_apart() {
    let mut text = "unit = \"ft\"\n".to_owned();
    for number in 0..10 {
        text += &format!(
            "[[shape]]\nkind = \"turf\"\nname = \"Z{number}\"\ncircle = {{ radius = {} }}\n",
            10 + number
        );
    }
    let apart = |text: &str| {
        let told = features(&sheet(text));
        let discs: Vec<(f64, f64, f64)> = told
            .iter()
            .filter(|it| it["geometry"]["type"] == "Point")
            .map(|it| {
                let place = &it["geometry"]["coordinates"];
                (
                    place[0].as_f64().unwrap(),
                    place[1].as_f64().unwrap(),
                    it["properties"]["radius_m"].as_f64().unwrap(),
                )
            })
            .collect();
        let mut least = f64::INFINITY;
        for (number, a) in discs.iter().enumerate() {
            for b in &discs[..number] {
                least = least.min((a.0 - b.0).hypot(a.1 - b.1) - a.2 - b.2);
            }
        }
        least
    };
    assert!(apart(&text) > 2.9, "{}", apart(&text));
    text += "[[shape]]\nkind = \"bed\"\nwithin = \"Z9\"\ncircle = { radius = 1 }\n";
    // Nor is a distance kept from what is left as an area: whoever asks for one is refused.
    assert!(apart(&text) > 2.9, "{}", apart(&text));
}

#[test]
fn more_cannot_be_taken_out_than_is_there() {
    let text = |length: f64| {
        format!(
            "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nname = \"Front\"\nrectangle = {{ length = 60, width = 42 }}\n[[shape]]\nkind = \"bed\"\nwithin = \"Front\"\nrectangle = {{ length = {length}, width = 42 }}\n[[shape]]\nkind = \"bed\"\nwithin = \"Front\"\nrectangle = {{ length = 30, width = 42 }}"
        )
    };
    assert_eq!(problems(&text(30.0)), Vec::<String>::new());
    assert_eq!(
        only_problem(&text(33.0)),
        r#"lawn.toml item 1 ("Front"), line 2: geometry cannot be read: is smaller than what is taken out of it: items 2 and 3 together are 1.0500 of its area; correct their measures"#
    );
}

#[test]
fn what_is_taken_out_names_a_zone_of_its_property() {
    let text = |within: &str, property: &str| {
        format!(
            "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nname = \"Front lawn\"\nproperty = 12\nrectangle = {{ length = 60, width = 42 }}\n[[shape]]\nkind = \"turf\"\nname = \"Front lawn\"\nproperty = \"14\"\nrectangle = {{ length = 60, width = 42 }}\n[[shape]]\nkind = \"bed\"\nwithin = \"{within}\"\n{property}\ncircle = {{ radius = 3 }}"
        )
    };
    assert!(
        only_problem(&text("Front lawn", ""))
            .contains("within \"Front lawn\": several zones have that name")
    );
    assert!(
        only_problem(&text("Frnt lawn", "property = 12"))
            .contains("no zone of its property has that name; did you mean \"Front lawn\"?")
    );
    assert_eq!(problems(&text("Front lawn", "property = \"12\"")), Vec::<String>::new());
    let bare = "unit = \"ft\"\n[[shape]]\nkind = \"bed\"\ncircle = { radius = 3 }\n[[shape]]\nkind = \"turf\"\ncircle = { radius = 3 }";
    assert!(only_problem(bare).contains(
        "says of no zone that it is taken out of it; give within = \"zone\", or give it at"
    ));
    // It is of its zone's property, or it would count for none.
    let inherits = "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nname = \"A\"\nproperty = 12\ncircle = { radius = 9 }\n[[shape]]\nkind = \"bed\"\nwithin = \"A\"\ncircle = { radius = 3 }";
    assert_eq!(features(&sheet(inherits))[1]["properties"]["property"], 12);
}

#[test]
fn strips_lie_in_a_turned_lawn_and_a_placed_lawn_of_another_form_is_refused() {
    let text = |figure: &str| {
        format!(
            "unit = \"m\"\n[[shape]]\nkind = \"turf\"\nname = \"A\"\nat = {{ east = 3, north = 4, turn = 90 }}\n{figure}\n[[shape]]\nkind = \"bed\"\nwithin = \"A\"\ncircle = {{ radius = 2 }}"
        )
    };
    let told = features(&sheet(&text("rectangle = { length = 10, width = 6 }")));
    let strip = pairs(&told[1]["geometry"]["coordinates"][0]);
    assert!(
        strip.iter().all(|(x, y)| (3.0..=9.0).contains(x) && (-6.0..=4.0).contains(y)),
        "{strip:?}"
    );
    assert!((area(&told[1]) - PI * 4.0).abs() < 1e-12);
    assert!(
        only_problem(&text("circle = { radius = 10 }"))
            .contains("lies somewhere in item 1, which is placed and no rectangle")
    );
}
