use serde_json::json;

use super::*;

fn settled(columns: &Columns, row: Value) -> Option<Value> {
    let Value::Object(row) = row else { panic!("no row") };
    columns.settle(row, false).ok().map(Value::Object)
}

#[test]
fn a_kinds_file_says_what_words_mean() {
    let text = r#"
        name = "LABEL"
        radius_ft = 300
        [kind.LAYER]
        "Lawn area" = "turf"
        Pond = "water"
        Tree = "skip"
        [kind.CODE]
        7 = "bed"
        "*" = "keepout"
        [species.GRASS]
        TTTF = "tall-fescue"
    "#;
    let columns = Columns::read("kinds.toml", text).unwrap();
    let row = json!({"layer": " LAWN AREA", "Label": "Front", "grass": "tttf", "OWNER": "x", "width_ft": 3});
    let wanted = json!({"width_ft": 3, "name": "Front", "radius_ft": 300, "kind": "turf", "species": "tall-fescue"});
    assert_eq!(settled(&columns, row), Some(wanted));
    assert_eq!(settled(&columns, json!({"LAYER": "tree"})), None);
    // The first column that says something counts.
    let of = |row| settled(&columns, row).unwrap()["kind"].clone();
    assert_eq!(of(json!({"LAYER": "?", "CODE": 7.0})), "bed");
    assert_eq!(of(json!({"LAYER": "", "CODE": 8})), "keepout");
    assert!(columns.keeps("layer") && columns.keeps("width_ft") && !columns.keeps("OWNER"));
}

#[test]
fn a_file_is_called_by_a_kind_unless_a_kinds_file_speaks() {
    let plain = Columns::default();
    for name in ["a/wells.csv", "lots.zip (Wells.SHP)", "well.gpx"] {
        assert_eq!(plain.kind_of_file(name), Some(Kind::Well), "{name}");
    }
    assert_eq!(plain.kind_of_file("lots.shp"), None);
    let kinds = Columns::read("kinds.toml", "[kind.LAYER]\nLawn = \"turf\"").unwrap();
    assert_eq!(kinds.kind_of_file("turf.shp"), None);
}

#[test]
fn a_value_that_is_not_listed_says_what_to_write() {
    let text = r#"
        [kind.LAYER]
        Pond = "water"
        Trees = ""
        [kind."Land use"]
        7 = "bed"
    "#;
    let columns = Columns::read("kinds.toml", text).unwrap();
    let said = |row| settled(&columns, row).unwrap()["@unlisted"].clone();
    assert_eq!(
        said(json!({"layer": "LAWN AREA 2"})),
        r#"LAYER "LAWN AREA 2" has no kind in the kinds file; write "LAWN AREA 2" = "turf" (or another kind, or "skip") below [kind.LAYER]"#
    );
    assert_eq!(
        said(json!({"LAYER": "", "land use": 8.0})),
        r#"Land use "8" has no kind in the kinds file; write "8" = "turf" (or another kind, or "skip") below [kind."Land use"]"#
    );
    assert!(said(json!({"LAYER": "Trees"})).as_str().unwrap().contains(
        r#"is not filled in in the kinds file; let its line below [kind.LAYER] be "Trees" = "turf""#
    ));
    assert_eq!(
        said(json!({"LAYER": null})),
        r#"an empty LAYER has no kind in the kinds file; write "" = "turf" (or another kind, or "skip") below [kind.LAYER]"#
    );
    let nhd = Columns::built_in("nhd").unwrap();
    let said = settled(&nhd, json!({"FCODE": 39999})).unwrap()["@unlisted"].clone();
    assert!(said.as_str().unwrap().ends_with(
        r#"write a kinds file of your own with "39999" = "turf" (or another kind, or "skip") below [kind.FCODE], and give both: --kinds FILE --kinds nhd"#
    ));
    for row in [json!({"LAYER": "pond"}), json!({"LAYER": "?", "kind": "turf"})] {
        assert_eq!(settled(&columns, row.clone()).unwrap().get("@unlisted"), None, "{row}");
    }
}

#[test]
fn a_bad_kinds_file_is_refused_with_a_place() {
    for (text, wanted) in [
        ("kind = ", "line 1: not TOML"),
        ("\n\n[kind.A]\nx = \"lawn\"", r#"A "x" is to be "lawn", which is no kind"#),
        ("colour = \"A\"", "\"colour\" is no property of a map"),
        ("kind = true", "kind must be a column's name"),
        ("[kind]\nA = \"turf\"", "kind must be a column's name"),
        ("[kind.A]\nPond = \"water\"\nPOND = \"skip\"", r#"A "POND" stands there twice"#),
    ] {
        let error = Columns::read("kinds.toml", text).unwrap_err().to_string();
        assert!(error.starts_with("kinds.toml: ") && error.contains(wanted), "{error}");
    }
}

#[test]
fn what_is_built_in_can_be_read() {
    for name in Columns::BUILT_IN {
        assert!(!Columns::built_in(name).unwrap().is_plain(), "{name}");
    }
    let osm = Columns::built_in("openstreetmap").unwrap();
    let turf = settled(&osm, json!({"kind": "turf"}));
    assert_eq!(turf, Some(json!({"kind": "turf", "size_unknown": 1})));
    let kind = |row| settled(&osm, row).map(|row| row["kind"].clone());
    assert_eq!(kind(json!({"building": "garage", "landuse": "grass"})), Some("building".into()));
    assert_eq!(kind(json!({"natural": "water", "water": "pond"})), Some("water".into()));
    assert_eq!(kind(json!({"landuse": "residential"})), None);
    let path = settled(&osm, json!({"highway": "footway", "width": "1.5 m"}));
    assert_eq!(path, Some(json!({"width_m": 1.5, "kind": "hardscape", "size_unknown": 1})));
    assert_eq!(kind(json!({"highway": "crossing"})), None);
    // Of several tags the kind counts that most is kept away from.
    for (row, wanted) in [
        (json!({"leisure": "playground", "surface": "tartan"}), Some("play")),
        (json!({"leisure": "playground", "sport": "basketball"}), Some("play")),
        (json!({"leisure": "playground", "building": "no"}), Some("play")),
        (json!({"leisure": "playground", "landuse": "grass"}), Some("play")),
        (json!({"leisure": "pitch", "surface": "artificial_turf"}), Some("hardscape")),
        (json!({"leisure": "pitch", "sport": "tennis"}), Some("keepout")),
        (json!({"leisure": "pitch", "surface": "grass"}), Some("turf")),
        (json!({"leisure": "park", "landuse": "allotments"}), Some("garden")),
        (json!({"leisure": "garden", "landuse": "orchard"}), Some("garden")),
        (json!({"leisure": "garden", "landuse": "grass"}), Some("bed")),
        (json!({"natural": "grassland", "landuse": "orchard"}), Some("garden")),
        (json!({"natural": "scrub", "landuse": "reservoir"}), Some("water")),
        (json!({"surface": "clay", "landuse": "basin"}), Some("water")),
        (json!({"landuse": "grass", "golf": "water_hazard"}), Some("water")),
        (json!({"leisure": "pitch", "golf": "bunker"}), Some("keepout")),
        (json!({"building": "no", "natural": "water"}), Some("water")),
        (json!({"landuse": "grass", "man_made": "water_well"}), Some("well")),
        (json!({"building": "yes", "man_made": "beehive"}), Some("apiary")),
        (json!({"natural": "wood", "man_made": "beehive"}), Some("apiary")),
        (json!({"highway": "crossing", "manhole": "drain"}), Some("drain")),
        (json!({"surface": "acrylic", "manhole": "drain"}), Some("drain")),
        (json!({"natural": "bay", "water": "pond"}), Some("water")),
        (json!({"natural": "strait"}), Some("water")),
        (json!({"natural": "hot_spring"}), Some("water")),
        (json!({"natural": "geyser"}), Some("water")),
        (json!({"natural": "sinkhole"}), Some("drain")),
        (json!({"wetland": "marsh"}), Some("water")),
        (json!({"landuse": "pond"}), Some("water")),
        (json!({"landuse": "aquaculture"}), Some("water")),
        (json!({"amenity": "fountain", "landuse": "grass"}), Some("water")),
        (json!({"amenity": "parking"}), Some("hardscape")),
        (json!({"emergency": "fire_water_pond"}), Some("water")),
        (json!({"inlet": "grate"}), Some("drain")),
        (json!({"building": "entrance"}), None),
        (json!({"leisure": "park"}), None),
    ] {
        assert_eq!(kind(row.clone()), wanted.map(Value::from), "{row}");
    }
    let nhd = Columns::built_in("nhd").unwrap();
    let named = settled(&nhd, json!({"FCODE": 39004, "GNIS_Name": "Mud Lake", "name": "x"}));
    assert_eq!(named, Some(json!({"kind": "water", "name": "Mud Lake"})));
    let nameless = settled(&nhd, json!({"FCODE": 39004, "gnis_name": null}));
    assert_eq!(nameless, Some(json!({"kind": "water"})));
    let kind = |row| settled(&nhd, row).map(|row| row["kind"].clone());
    // A line that stands for the middle of a lake is no bank.
    assert_eq!(kind(json!({"FCODE": 55800, "FTYPE": 558})), None);
    assert_eq!(kind(json!({"FCode": 46006, "FType": 460})), Some("water".into()));
    assert_eq!(kind(json!({"FCode": "46006"})), Some("water".into()));
}

#[test]
fn what_is_passed_over_is_named_by_its_value() {
    let osm = Columns::built_in("openstreetmap").unwrap();
    for (row, wanted) in [
        (json!({"highway": "crossing", "name": "x"}), "highway=crossing"),
        (json!({"natural": "mud", "name": "x"}), "natural=mud"),
        (json!({"landuse": "residential"}), "landuse=residential"),
        (json!({"operator": "x"}), "no column that is listed"),
    ] {
        let Value::Object(row) = row else { panic!("no row") };
        assert_eq!(osm.settle(row, false), Err(wanted.to_owned()));
    }
}

#[test]
fn a_draft_lists_what_there_is_and_nobody() {
    let mut values = Values::default();
    for number in 0..100 {
        let row = json!({"LAYER": if number % 3 == 0 { "Beds" } else { "LAWN" }, "OWNER1": "A", "PIN": number, "note": null});
        values.add(row.as_object().unwrap());
    }
    let draft = values.draft();
    assert!(
        draft.contains("[kind.\"LAYER\"]\n\"LAWN\" = \"\"  # 66\n\"Beds\" = \"bed\"  # 34\n"),
        "{draft}"
    );
    assert!(!draft.contains("OWNER") && !draft.contains("[kind.\"PIN\"]"), "{draft}");
    assert!(Columns::read("draft", &draft).is_ok(), "{draft}");
}
