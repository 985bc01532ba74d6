//! Maps as they come: in any order, damaged here and there, cut off, or not maps at all.

#![allow(clippy::unwrap_used)] // A test may.

use turfplat_map::{CoordinateSystem, Kind, MapError, PropertyMap, ReadError, Scope, Source, read};

fn source(text: impl Into<Vec<u8>>) -> Source {
    let bytes = text.into();
    Source::geojson("map.geojson", bytes, CoordinateSystem::AsTheFileSays)
}

fn map_of(text: impl Into<Vec<u8>>) -> Result<PropertyMap, ReadError> {
    read(&[source(text)])
}

fn zone(property: &str, name: &str) -> String {
    format!(
        r#"{{"type":"Feature","properties":{{"property":"{property}","kind":"turf","name":"{name}"}},"geometry":{{"type":"Polygon","coordinates":[[[-88.0,44.0],[-87.999,44.0],[-87.999,44.001],[-88.0,44.0]]]}}}}"#
    )
}

fn collection(features: &[String], between: &str) -> String {
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(between))
}

/// Names of all zones that can be read, property by property.
fn zones(map: &PropertyMap) -> Vec<String> {
    let of = |property| map.read_property(property).unwrap().features;
    let features = map.properties().iter().flat_map(|property| of(*property));
    features
        .filter(|it| it.kind == Kind::Turf)
        .map(|it| format!("{}: {}", it.at, it.name))
        .collect()
}

#[test]
fn features_are_found_wherever_they_stand_in_the_file() {
    let features = format!("[{},\n {}]", zone("A", "One"), zone("B", "Two"));
    for text in [
        format!(r#"{{"type":"FeatureCollection","features":{features}}}"#),
        format!(r#"{{"features":{features},"type":"FeatureCollection"}}"#),
        format!(
            r#"{{"bbox":[-88,44,-87,45],"name":"x[{{\"features\":[1]","type":"FeatureCollection","features":{features},"more":{{"features":[{{"type":"Feature"}}]}}}}"#
        ),
        format!(
            "\u{feff}\n {{ \"type\" : \"FeatureCollection\" ,\r\n \"features\" : {features} }} \n"
        ),
    ] {
        let map = map_of(text.clone()).unwrap();
        assert!(map.problems().is_empty(), "{text}\n{:?}", map.problems());
        assert_eq!(
            zones(&map),
            [r#"map.geojson features[0] ("One"): One"#, r#"map.geojson features[1] ("Two"): Two"#],
            "{text}"
        );
    }
}

#[test]
fn texts_may_hold_anything_that_json_allows() {
    let odd = zone("A", r#"}],[{\"type\":\"Feature\" \\"#);
    let map = map_of(collection(&[odd, zone("B", "Ö \\u00fc \\ud83d\\ude00")], ",")).unwrap();
    assert!(map.problems().is_empty(), "{:?}", map.problems());
    let names: Vec<String> = map
        .properties()
        .iter()
        .flat_map(|property| map.read_property(*property).unwrap().features)
        .map(|feature| feature.name)
        .collect();
    assert_eq!(names, [r#"}],[{"type":"Feature" \"#, "Ö ü 😀"]);
}

/// One feature in the middle is damaged in every way that hands and programs damage one.
#[test]
fn one_bad_feature_hides_no_other() {
    type Damage = fn(&str) -> String;
    let damages: [(&str, Damage); 11] = [
        ("a brace too few", |good| good.strip_suffix('}').unwrap().to_owned()),
        ("two braces too few", |good| good.strip_suffix("}}").unwrap().to_owned()),
        ("a bracket too few", |good| good.replace("]]]", "]]")),
        ("a bracket of the wrong kind", |good| good.replace("]]]", "]}]")),
        ("a quote too many", |good| good.replace("\"Bad\"", "\"5\" pot\"")),
        ("a quote too few", |good| good.replace("\"Bad\"", "\"Bad")),
        ("a line break in a text", |good| good.replace("Bad", "Ba\nd")),
        ("no number", |good| good.replace("44.001", "44.0.01")),
        ("not a number", |good| good.replace("44.001", "NaN")),
        ("nothing after a comma", |good| good.replace("44.001", "")),
        ("no comma", |good| good.replace("\"kind\"", "  \"kind\"").replace(",  ", "  ")),
    ];
    for between in [",", ",\n", "\n  ,\n  "] {
        for (what, damage) in &damages {
            let bad = damage(&zone("C", "Bad"));
            let features = [
                zone("A", "One"),
                zone("B", "Two"),
                bad.clone(),
                zone("D", "Four"),
                zone("E", "Five"),
            ];
            let map = map_of(collection(&features, between)).unwrap();
            let expected: Vec<String> = [(0, "One"), (1, "Two"), (3, "Four"), (4, "Five")]
                .map(|(place, name)| format!("map.geojson features[{place}] ({name:?}): {name}"))
                .into();
            assert_eq!(zones(&map), expected, "{what}, {between:?}: {:?}", map.problems());
            assert_eq!(map.problems().len(), 1, "{what}: {:?}", map.problems());
            let line = 1 + 2 * between.matches('\n').count();
            let MapError::NotJson { at, line: told, .. } = &map.problems()[0].error else {
                panic!("{what}: {:?}", map.problems());
            };
            assert_eq!(at.order(), (0, 2), "{what}");
            // Where the text stops being JSON, which may be where the next feature starts.
            let next = line + between.matches('\n').count().max(1);
            assert!((line..=next).contains(told), "{what}: line {told}, not {line}");
        }
    }
}

/// Two features with a stray quote each look like one that holds all between them.
#[test]
fn two_stray_quotes_swallow_nothing() {
    let bad = |property| zone(property, "5\" pot");
    let features = [zone("A", "One"), bad("B"), zone("C", "Three"), bad("D"), zone("E", "Five")];
    let map = map_of(collection(&features, ", ")).unwrap();
    assert_eq!(
        zones(&map),
        [
            r#"map.geojson features[0] ("One"): One"#,
            r#"map.geojson features[2] ("Three"): Three"#,
            r#"map.geojson features[4] ("Five"): Five"#
        ]
    );
    let places: Vec<usize> = map
        .problems()
        .iter()
        .map(|problem| match &problem.error {
            MapError::NotJson { at, .. } => at.order().1,
            other => panic!("{other}"),
        })
        .collect();
    assert_eq!(places, [1, 3]);
}

/// A number that cannot be read leaves it known whose the feature is; the others can be done.
#[test]
fn a_bad_geometry_stops_its_own_property_alone() {
    let bad = zone("B", "Two").replace("44.001", "44.0.01");
    let map = map_of(collection(&[zone("A", "One"), bad], ",\n")).unwrap();
    let [problem] = map.problems() else { panic!("{:?}", map.problems()) };
    assert_eq!(problem.scope, Scope::Property("B".into()));
    assert_eq!(
        problem.error.to_string(),
        r#"map.geojson features[1] ("Two"): line 2, column 162: not JSON: expected `,` or `]`; correct it there"#
    );
}

#[test]
fn a_file_that_is_cut_off_is_told_from_one_that_is_not_json() {
    let whole = collection(&[zone("A", "One"), zone("B", "Two")], ",\n");
    for length in 1..whole.len() {
        match map_of(&whole.as_bytes()[..length]) {
            Err(ReadError::CutOff { line, .. }) => assert!(line <= 2, "{length}"),
            other => panic!("{length}: {other:?}"),
        }
    }
    for (text, line, column) in [
        (format!("{whole}}}"), 2, whole.lines().last().unwrap().len() + 1),
        (whole.replace(",\n", "\n"), 2, 1),
        (whole.replace(",\n", ",\n,"), 2, 1),
    ] {
        match map_of(text.clone()) {
            Err(ReadError::NotJson { line: told, column: at, .. }) => {
                assert_eq!((told, at), (line, column), "{text}");
            }
            other => panic!("{text}: {other:?}"),
        }
    }
}

/// The system may be named after the features; GDAL before 2008 and scripts do so.
#[cfg(feature = "proj")]
#[test]
fn a_system_that_is_named_after_the_features_counts() {
    let features = zone("A", "One").replace(
        "[-88.0,44.0],[-87.999,44.0],[-87.999,44.001],[-88.0,44.0]",
        "[390000,5819000],[390100,5819000],[390100,5819100],[390000,5819000]",
    );
    let text = format!(
        r#"{{"type":"FeatureCollection","features":[{features}],"crs":{{"type":"name","properties":{{"name":"urn:ogc:def:crs:EPSG::25833"}}}}}}"#
    );
    let map = map_of(text).unwrap();
    assert!(map.problems().is_empty(), "{:?}", map.problems());
    let zone = &map.read_property(map.properties()[0]).unwrap().features[0];
    let (corner, _) = zone.outline.corners().unwrap();
    assert!((corner.x - 13.38).abs() < 0.05 && (corner.y - 52.51).abs() < 0.05, "{corner:?}");
}

/// A property's features need not stand together, in one file or in several.
#[test]
fn features_of_one_property_are_brought_together() {
    let nameless = |property| zone(property, "").replace(r#","name":"""#, "");
    let mut features = Vec::new();
    for _ in 0..40 {
        features.extend(["A", "B", "C"].map(nameless));
    }
    let (first, second) = features.split_at(50);
    let files = [source(collection(first, ",\n")), source(collection(second, ",\n"))];
    let map = read(&files).unwrap();
    assert!(map.problems().is_empty(), "{:?}", map.problems());
    assert_eq!(map.properties().len(), 3);
    for (id, property) in ["A", "B", "C"].iter().zip(map.properties()) {
        assert_eq!(map.id(*property), Some(*id));
        let names: Vec<String> =
            map.read_property(*property).unwrap().features.into_iter().map(|it| it.name).collect();
        let expected: Vec<String> = (1..=40).map(|number| format!("turf {number}")).collect();
        assert_eq!(names, expected);
        assert!(map.has_zone("turf 40") && !map.has_zone("turf 41"));
    }
}

/// A map that is no collection: one feature, or one bare geometry, which is taken for turf.
#[test]
fn one_feature_or_geometry_is_a_map_too() {
    let feature = zone("A", "One");
    let geometry = &feature[feature.find(r#"{"type":"Polygon""#).unwrap()..feature.len() - 1];
    for (text, name) in [(feature.as_str(), "One"), (geometry, "turf 1")] {
        let map = map_of(format!("\n {text}\n")).unwrap();
        assert!(map.problems().is_empty(), "{text}: {:?}", map.problems());
        let features = map.read_property(map.properties()[0]).unwrap().features;
        assert_eq!((features.len(), features[0].name.as_str()), (1, name));
        assert!(format!("{:#}", features[0].at).ends_with("line 2"), "{:#}", features[0].at);
    }
}

/// A stream longer than what is kept in memory is the same map.
#[test]
fn a_long_stream_is_read_like_a_file() {
    let features: Vec<String> =
        (0..45_000).map(|number| zone(&format!("P{number}"), "Lawn")).collect();
    let text = collection(&features, ",\n");
    assert!(text.len() > 8 << 20, "{}", text.len());
    let bytes = turfplat_map::Bytes::of_stream(&mut text.as_bytes()).unwrap();
    let source = Source::geojson("-", bytes, CoordinateSystem::AsTheFileSays);
    let map = read(&[source]).unwrap();
    assert!(map.problems().is_empty());
    assert_eq!(map.properties().len(), features.len());
    let last = map.properties()[44_999];
    assert_eq!(map.id(last), Some("P44999"));
    let at = &map.read_property(last).unwrap().features[0].at;
    assert_eq!(format!("{at:#}"), r#"- features[44999] ("Lawn"), line 45000"#);
}

/// The refusals of a map whose one feature beside a lawn has these properties and this geometry.
fn refusals_of(properties: &str, geometry: &str) -> Vec<String> {
    let feature =
        format!(r#"{{"type":"Feature","properties":{{{properties}}},"geometry":{geometry}}}"#);
    let map = map_of(collection(&[zone("A", "One"), feature], ",\n")).unwrap();
    map.problems().iter().map(|problem| problem.error.to_string()).collect()
}

/// A well that nobody can place is still a well.
#[test]
fn a_hazard_must_lie_somewhere() {
    for geometry in ["null", r#"{"type":"Point","coordinates":[]}"#] {
        for kind in Kind::ALL.into_iter().filter(|kind| kind.is_hazard()) {
            let said = refusals_of(&format!(r#""property":"A","kind":"{kind}""#), geometry);
            let wanted = format!(
                "map.geojson features[1], line 2: {kind} without a place, so no distance can be kept from it; draw it, or delete it"
            );
            assert_eq!(said, [wanted], "{geometry}");
        }
        for rest in [r#""kind":"turf""#, r#""kind":"bed""#, r#""kind":"mix-site""#, r#""a":1"#] {
            let said = refusals_of(&format!(r#""property":"A",{rest}"#), geometry);
            assert!(said.is_empty(), "{rest}: {said:?}");
        }
        // It may be a well that was misspelt.
        let said = refusals_of(r#""property":"A","kind":"wel""#, geometry);
        assert!(said.len() == 1 && said[0].contains(r#"kind "wel" is not known"#), "{said:?}");
    }
}

#[test]
fn a_size_that_cannot_be_read_is_not_missing_too() {
    let line = r#"{"type":"LineString","coordinates":[[-88,44],[-87.9999,44]]}"#;
    let point = r#"{"type":"Point","coordinates":[-88,44]}"#;
    for (size, kind, geometry) in [
        (r#""width_ft":-3"#, "hardscape", line),
        (r#""width_ft":"wide""#, "bed", line),
        (r#""width_ft":3,"width_m":1"#, "bed", line),
        (r#""radius_m":1e308"#, "bed", point),
    ] {
        let said = refusals_of(&format!(r#""property":"A","kind":"{kind}",{size}"#), geometry);
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(!said[0].contains("needs"), "{said:?}");
    }
}

/// 1e308 has 309 digits.
#[test]
fn no_number_of_a_file_fills_a_message() {
    for geometry in [
        r#"{"type":"Point","coordinates":[-88,1e308]}"#,
        r#"{"type":"Point","coordinates":[1e308,44]}"#,
        r#"{"type":"Point","coordinates":[-1e300,-89]}"#,
    ] {
        for said in refusals_of(r#""property":"A","kind":"well","radius_ft":1e308"#, geometry) {
            assert!(said.len() < 250, "{said}");
        }
    }
}

#[test]
fn a_longitude_that_has_lost_its_minus_is_asked_about() {
    let said = |x: f64, y: f64| {
        let point = format!(r#"{{"type":"Point","coordinates":[{x},{y}]}}"#);
        let said = refusals_of(r#""property":"A","kind":"well""#, &point);
        assert_eq!(said.len(), 1, "{said:?}");
        said.concat()
    };
    let lost = said(88.0, 44.0);
    assert!(lost.contains(" near (is the minus of its longitude missing?); correct it"), "{lost}");
    let elsewhere = said(93.0, 44.0);
    assert!(!elsewhere.contains("minus"), "{elsewhere}");
    // Common ground of a map of several.
    let well = r#"{"type":"Feature","properties":{"kind":"well"},"geometry":{"type":"Point","coordinates":[88,44]}}"#;
    let map =
        map_of(collection(&[zone("A", "One"), zone("B", "Two"), well.to_owned()], ",")).unwrap();
    let far: Vec<_> = map.notes().iter().filter(|note| note.code == "far-away").collect();
    assert_eq!(far.len(), 1);
    assert!(far[0].message.ends_with("(is the minus of its longitude missing?)"), "{:?}", far[0]);
}

#[test]
fn what_is_said_ten_thousand_times_is_counted() {
    let lawn = r#"{"type":"Feature","properties":{"kind":"turf"},"geometry":{"type":"Polygon","coordinates":[[[-88.0,44.0],[-87.999,44.0],[-87.999,44.001],[-88.0,44.0]]]}}"#;
    let empty = r#"{"type":"Feature","properties":{"kind":"bed"},"geometry":null}"#;
    let mut features = vec![empty.to_owned(); 12_345];
    features.push(lawn.to_owned());
    let map = map_of(collection(&features, ",\n")).unwrap();
    assert!(map.problems().is_empty());
    let drawn = map.read_property(map.properties()[0]).unwrap();
    assert_eq!((drawn.features.len(), drawn.notes.len()), (1, 10_001));
    let first = &drawn.notes[0];
    assert_eq!((first.code, first.at.to_string().as_str()), ("empty-geometry", "map.geojson"));
    assert!(first.message.starts_with("2345 features more"), "{}", first.message);
    assert_eq!(drawn.notes[10_000].at.to_string(), "map.geojson features[9999]");
}

#[test]
fn of_problems_without_number_the_map_is_refused() {
    let mut features = vec![zone("A", "One")];
    let nothing = r#"{"type":"Feature","properties":{"property":"B"},"geometry":{"type":"Point","coordinates":[-88,44]}}"#;
    features.extend(vec![nothing.to_owned(); 100_003]);
    let map = map_of(collection(&features, ",\n")).unwrap();
    assert_eq!(map.problems().len(), 100_001);
    let stops = map.problems().iter().filter(|problem| problem.scope == Scope::Map);
    let stops: Vec<String> = stops.map(|problem| problem.error.to_string()).collect();
    assert_eq!(stops.len(), 1);
    assert_eq!(map.problems()[0].scope, Scope::Map);
    assert!(stops[0].starts_with("map.geojson: 3 problems more"), "{}", stops[0]);
}
