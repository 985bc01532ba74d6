//! Maps that say what their features are in words of their own, or do not say it at all.

#![allow(clippy::unwrap_used)] // A test may.

use turfplat_map::{Columns, CoordinateSystem, Kind, PropertyMap, of_stream, read, values_of};

fn map_of(files: &[(&str, &str)], columns: &Columns) -> PropertyMap {
    let open = |(name, text): &(&str, &str)| {
        of_stream(name, &mut text.as_bytes(), &CoordinateSystem::AsTheFileSays, columns).unwrap()
    };
    let sources: Vec<_> = files.iter().flat_map(open).collect();
    read(&sources).unwrap()
}

/// What is noted of the files, as `code: message`, without what is beside the point.
fn notes(map: &PropertyMap) -> Vec<String> {
    let notes = map.notes().iter().filter(|note| note.code != "columns-left-out");
    notes.map(|note| format!("{} {}: {}", note.at, note.code, note.message)).collect()
}

fn refusals(map: &PropertyMap) -> Vec<String> {
    map.problems().iter().map(|problem| problem.error.to_string()).collect()
}

fn kinds(map: &PropertyMap) -> Vec<Kind> {
    let of = |property| map.read_property(property).unwrap().features;
    map.everybody().flat_map(of).map(|feature| feature.kind).collect()
}

/// A square of some 30 feet, the more to the east the higher its number.
fn square(number: u32) -> String {
    let west = -88.43 + f64::from(number) * 0.0002;
    let east = west + 0.0001;
    format!("[[{west},44.24],[{east},44.24],[{east},44.2401],[{west},44.2401],[{west},44.24]]")
}

fn geojson(properties: &[&str]) -> String {
    let feature = |(number, said): (u32, &&str)| {
        let square = square(number);
        format!(
            r#"{{"type":"Feature","properties":{{{said}}},"geometry":{{"type":"Polygon","coordinates":[{square}]}}}}"#
        )
    };
    let features: Vec<String> = (0..).zip(properties).map(feature).collect();
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(",\n"))
}

fn placemark(number: u32, data: &str) -> String {
    let corners = square(number).replace("],[", " ").replace(['[', ']'], "");
    format!(
        "<Placemark><name>P{number}</name><ExtendedData>{data}</ExtendedData><Polygon><outerBoundaryIs><LinearRing><coordinates>{corners}</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>"
    )
}

fn kml(inside: &str) -> String {
    format!("<kml><Document><name>map</name>{inside}</Document></kml>")
}

#[test]
fn the_name_of_a_file_is_its_kind_and_is_told() {
    let all = geojson(&[r#""name":"Front""#, r#""name":"Back""#]);
    let placemarks = kml(&format!("{}{}", placemark(0, ""), placemark(1, "")));
    let lines = all.replace(r#"{"type":"FeatureCollection","features":["#, "");
    let lines = lines.replace(",\n", "\n").replace("}]}", "}");
    let files = [("turf.geojson", &all), ("Turf.kml", &placemarks), ("turf.geojsonl", &lines)];
    for (name, text) in files {
        let map = map_of(&[(name, text)], &Columns::default());
        assert_eq!(kinds(&map), [Kind::Turf, Kind::Turf], "{name}");
        let wanted = format!(
            "{name} kind-from-name: no feature says what it is, so its 2 features were all taken for turf, by the name of the file; if one is something else, give each its own kind"
        );
        assert_eq!(notes(&map), [wanted]);
    }
}

#[test]
fn a_name_speaks_for_nothing_beside_features_that_say_what_they_are() {
    let mixed = geojson(&[r#""kind":"turf""#, r#""name":"Septic tank""#, r#""KIND":"well""#]);
    let map = map_of(&[("turf.geojson", &mixed)], &Columns::default());
    assert_eq!(notes(&map), [""; 0]);
    assert_eq!(refusals(&map).len(), 1);
    assert!(
        refusals(&map)[0].starts_with(r#"turf.geojson features[1] ("Septic tank"), line 2: add a"#),
        "{:?}",
        refusals(&map)
    );
    // Whoever writes the mark that is kept with such features has said nothing by it.
    let forged = geojson(&[r#""kind":"turf""#, r#""@called":0"#]);
    for name in ["turf.geojson", "lots.geojson"] {
        assert_eq!(refusals(&map_of(&[(name, &forged)], &Columns::default())).len(), 1, "{name}");
    }
}

#[test]
fn a_folder_speaks_for_what_is_in_it_alone() {
    let kind = "<Data name='kind'><value>water</value></Data>";
    let folder = |name: &str, inside: &str| format!("<Folder><name>{name}</name>{inside}</Folder>");
    let map = |text: String| map_of(&[("turf.kml", &kml(&text))], &Columns::default());

    let all = map(folder("Beds", &placemark(0, "")) + &folder("Lawn", &placemark(1, kind)));
    assert_eq!(kinds(&all), [Kind::Bed, Kind::Water]);
    assert!(notes(&all)[0].contains("kind-from-name: no feature says what it is, so the one"));
    assert!(notes(&all)[0].contains(r#"taken for bed, by the name of the folder "Beds";"#));

    let mixed = map(folder("Turf lawn", &placemark(0, "")));
    assert_eq!(refusals(&mixed).len(), 1, "another folder than the file's name");
    let mixed = map(folder("Beds", &(placemark(0, "") + &placemark(1, kind))));
    assert_eq!(refusals(&mixed).len(), 1, "a pond says what it is");
    let mixed = map(folder("Beds", &placemark(0, "")) + &placemark(1, ""));
    assert_eq!(refusals(&mixed).len(), 1, "the file has folders for kinds");
    let same = map(folder("turf", &placemark(0, "")) + &placemark(1, ""));
    assert_eq!(kinds(&same), [Kind::Turf, Kind::Turf]);
}

#[test]
fn a_folder_can_be_asked_for_what_is_in_it() {
    let folder = |name: &str, inside: &str| format!("<Folder><name>{name}</name>{inside}</Folder>");
    let text = kml(&(folder("Lawns", &placemark(0, "")) + &folder("Hives", &placemark(1, ""))));
    let kinds_file = "[kind.folder]\nLawns = \"turf\"\nHives = \"apiary\"";
    let columns = Columns::read("kinds.toml", kinds_file).unwrap();
    assert_eq!(kinds(&map_of(&[("map.kml", &text)], &columns)), [Kind::Turf, Kind::Apiary]);
}

/// A way through places in meters east and north of a corner at 44.24° N.
fn track(kind: &str, extensions: &str, segments: &[&[(f64, f64)]]) -> String {
    let point = |(east, north): &(f64, f64)| {
        let (lat, lon) = (44.24 + north / 111_200.0, -88.43 + east / 79_665.0);
        format!("<trkpt lat='{lat}' lon='{lon}'/>")
    };
    let segment = |places: &&[(f64, f64)]| {
        format!("<trkseg>{}</trkseg>", places.iter().map(point).collect::<String>())
    };
    let segments: String = segments.iter().map(segment).collect();
    format!(
        "<trk><name>T</name><type>{kind}</type>{segments}<extensions>{extensions}</extensions></trk>"
    )
}

const LOT: [(f64, f64); 5] = [(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0), (0.0, 0.0)];

fn walked(tracks: &[String]) -> PropertyMap {
    let text = format!("<gpx>{}{}</gpx>", track("turf", "", &[&LOT]), tracks.concat());
    map_of(&[("walk.gpx", &text)], &Columns::default())
}

#[test]
fn a_way_that_was_closed_over_a_gap_is_told_with_gap_and_area() {
    let path: [(f64, f64); 4] = [(5.0, 0.0), (5.0, 15.0), (12.0, 15.0), (12.0, 0.0)];
    let map = walked(&[track("hardscape", "", &[&path])]);
    assert_eq!(
        notes(&map),
        [
            "walk.gpx item 2 track-closed: ends 23 ft from where it starts, and was closed to an outline of 1,130 sq ft; if it is a path or a creek, say how wide with width_ft in its extensions, and it stays a line"
        ]
    );
    let map = walked(&[track("hardscape", "<width_ft>4</width_ft>", &[&path])]);
    assert!(notes(&map).is_empty() && refusals(&map).is_empty(), "{:?}", refusals(&map));
    let drawn = map.read_property(map.properties()[0]).unwrap().features;
    assert!(drawn[1].outline.polygons.is_empty() && drawn[1].outline.lines.len() == 1);
    // A kinds file may say how wide things are.
    let columns = Columns::read("kinds.toml", "width_ft = \"broad\"").unwrap();
    let text = format!("<gpx>{}</gpx>", track("hardscape", "<broad>4</broad>", &[&path]));
    let map = map_of(&[("walk.gpx", &text)], &columns);
    assert!(!notes(&map).iter().any(|note| note.contains("track-closed")), "{:?}", notes(&map));
    assert_eq!(notes(&walked(&[])), [""; 0], "one that ends where it starts");
}

#[test]
fn a_way_that_is_left_open_says_what_to_do_about_it() {
    let open: [(f64, f64); 5] = [(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0), (0.0, 11.0)];
    let there_and_back: [(f64, f64); 3] = [(0.0, 0.0), (40.0, 0.0), (0.0, 0.0)];
    let halves: [&[(f64, f64)]; 2] = [&LOT[..3], &LOT[2..]];
    for (segments, wanted) in [
        (
            &[&open[..]][..],
            "it ends 37 ft from where it starts, and 32 ft at most are closed; walk on to the start",
        ),
        (&[&there_and_back[..]], "it comes back to its start but leaves no ground inside"),
        (&[&LOT[..], &open[..]], "its segment 2 of 2 ends 37 ft from where it starts"),
        (&halves, "its 2 segments come back to the start together; join them to one segment"),
    ] {
        let said = refusals(&walked(&[track("bed", "", segments)]));
        assert!(said.len() == 1 && said[0].contains(wanted), "{said:?}");
        assert!(!said[0].contains("polygon"), "{said:?}");
    }
    let waypoint = "<wpt lat='44.24' lon='-88.43'><type>bed</type></wpt>".to_owned();
    assert!(refusals(&walked(&[waypoint]))[0].ends_with("a waypoint is but a point"));
    let path = "<Placemark><ExtendedData><kind>turf</kind></ExtendedData><LineString><coordinates>1,1 2,1 2,2 1,1</coordinates></LineString></Placemark>";
    let said = refusals(&map_of(&[("map.kml", &kml(path))], &Columns::default()));
    assert!(said[0].contains("its ends meet, but it is a path"), "{said:?}");
}

#[test]
fn a_file_that_holds_nothing_is_told() {
    let lawn = geojson(&[r#""kind":"turf""#]);
    for (name, text) in [
        ("pond.geojson", r#"{"type":"FeatureCollection","features":[]}"#),
        ("well_log.csv", "kind,name,lat,lon\n"),
        ("ponds.kml", "<kml><Document/></kml>"),
        ("walk.gpx", "<gpx/>"),
    ] {
        let map = map_of(&[("lot.geojson", &lawn), (name, text)], &Columns::default());
        let wanted = "holds no feature: is that right, or were its rows lost?";
        assert_eq!(notes(&map), [format!("{name} no-feature: {wanted}")]);
    }
    assert_eq!(notes(&map_of(&[("lot.geojson", &lawn)], &Columns::default())), [""; 0]);
}

#[test]
fn a_map_that_another_links_to_is_told_as_not_read() {
    let kind = "<Data name='kind'><value>turf</value></Data>";
    let text = kml(&format!("{}<NetworkLink><name>wells</name></NetworkLink>", placemark(0, kind)));
    let notes = notes(&map_of(&[("map.kml", &text)], &Columns::default()));
    assert!(notes.len() == 1 && notes[0].contains("files-not-read: a map that it links to"));
}

#[test]
fn an_empty_kind_is_none() {
    let said = refusals(&map_of(
        &[("lot.geojson", &geojson(&[r#""kind":"turf""#, r#""kind":" ""#]))],
        &Columns::default(),
    ));
    assert!(said.len() == 1 && said[0].contains(r#"add a "kind" property"#), "{said:?}");
}

fn draft_of(files: &[(&str, &str)]) -> String {
    let crs = CoordinateSystem::AsTheFileSays;
    let open = |(name, text): &(&str, &str)| {
        of_stream(name, &mut text.as_bytes(), &crs, &Columns::all()).unwrap()
    };
    let sources: Vec<_> = files.iter().flat_map(open).collect();
    values_of(&sources).unwrap().draft()
}

#[test]
fn a_draft_offers_the_columns_of_every_file() {
    let hydro = |feature: &str| {
        format!(
            r#""A1":"x","COUNTY":"C","STATUS":"y","SOURCE":"z","EDITOR":"kd","ACC":"B","FEATTYPE":"{feature}","AREA":3.5"#
        )
    };
    let (pond, creek) = (hydro("Pond"), hydro("Creek"));
    let hydro = geojson(&[&pond, &creek, &pond]);
    let lots =
        geojson(&[r#""FIRST_TYPE":"Grass""#, r#""FIRST_TYPE":"Roof""#, r#""FIRST_NAME":"Jo""#]);
    let draft = draft_of(&[("hydro.geojson", &hydro), ("lots.geojson", &lots)]);
    let tables: Vec<&str> = draft.lines().filter(|line| line.starts_with('[')).collect();
    assert_eq!(tables[0], r#"[kind."FEATTYPE"]"#, "{draft}");
    assert!(tables.contains(&r#"[kind."FIRST_TYPE"]"#), "{draft}");
    assert!(draft.contains("# of lots.geojson\n"), "{draft}");
    assert!(draft.contains("# Other columns of hydro.geojson: AREA\n"), "{draft}");
    assert!(!draft.contains("Jo") && !draft.contains("kd"), "{draft}");
    assert!(Columns::read("draft", &draft).is_ok());
}

#[test]
fn a_draft_offers_names_and_folders_where_there_is_nothing_else() {
    let named = draft_of(&[("map.kml", &kml(&(placemark(0, "") + &placemark(1, ""))))]);
    assert!(named.contains("[kind.\"name\"]\n\"P0\" = \"\"  # 1\n"), "{named}");
    let folder = |name: &str, inside: &str| format!("<Folder><name>{name}</name>{inside}</Folder>");
    let text = kml(&(folder("Lawns", &placemark(0, "")) + &folder("Wells", &placemark(1, ""))));
    let filed = draft_of(&[("map.kml", &text)]);
    assert!(
        filed.contains("[kind.\"folder\"]\n\"Lawns\" = \"\"  # 1\n\"Wells\" = \"well\"  # 1\n"),
        "{filed}"
    );
    assert!(!filed.contains("[kind.\"name\"]"), "{filed}");
    let gpx = format!("<gpx>{}</gpx>", track("hike", "", &[&LOT]));
    assert!(draft_of(&[("walk.gpx", &gpx)]).contains("[kind.\"name\"]\n\"T\" = "));
}

#[test]
fn what_says_nothing_can_have_a_meaning() {
    let text = geojson(&[r#""LAYER":"Lawn""#, r#""LAYER":null"#, r#""X":1"#, r#""LAYER":" ""#]);
    let of = |kinds_file: &str| {
        let columns = Columns::read("kinds.toml", kinds_file).unwrap();
        kinds(&map_of(&[("lots.geojson", &text)], &columns))
    };
    assert_eq!(of("[kind.LAYER]\nLawn = \"turf\"\n\"\" = \"skip\""), [Kind::Turf]);
    let beds = [Kind::Turf, Kind::Bed, Kind::Bed, Kind::Bed];
    assert_eq!(of("[kind.LAYER]\nLawn = \"turf\"\n\"\" = \"bed\""), beds);
    // Another column that says something is asked first.
    let both = "[kind.LAYER]\nLawn = \"turf\"\n\"\" = \"bed\"\n[kind.X]\n1 = \"water\"";
    assert_eq!(of(both), [Kind::Turf, Kind::Bed, Kind::Water, Kind::Bed]);
    // A file without the column does not lack anything in it.
    let columns = Columns::read("kinds.toml", "[kind.LAYER]\n\"\" = \"turf\"").unwrap();
    let wells = geojson(&[r#""name":"Well""#]);
    assert_eq!(refusals(&map_of(&[("register.geojson", &wells)], &columns)).len(), 1);
    let table = "name,LAYER,lat,lon\nA,,44.24,-88.43\nB,Lawn,44.25,-88.43\n";
    let kinds_file = "[kind.LAYER]\n\"\" = \"well\"\nLawn=\"skip\"";
    let columns = Columns::read("kinds.toml", kinds_file).unwrap();
    assert_eq!(kinds(&map_of(&[("register.csv", table)], &columns)), [Kind::Well]);
}

#[test]
fn a_column_that_no_map_has_is_refused() {
    let lots = geojson(&[r#""SURFACE":"grass","OWNER":"Jo""#]);
    let point = r#"{"type":"Point","coordinates":[-88.43,44.24]}"#;
    let check = |text: &str, columns: Columns| {
        let crs = CoordinateSystem::AsTheFileSays;
        let sources = of_stream("m.geojson", &mut text.as_bytes(), &crs, &columns).unwrap();
        columns.check_against(&sources).map_err(|error| error.to_string())
    };
    let from = |column: &str| Columns::default().with_kind_from(column);
    let kinds =
        |column: &str| Columns::read("k", &format!("[kind.{column}]\ngrass=\"turf\"")).unwrap();
    let refused = |said: &str| Err(format!("no map has a column {said}"));
    assert_eq!(check(&lots, from("surface")), Ok(()));
    assert_eq!(check(&lots, from("SURFACES")), refused(r#""SURFACES"; is "SURFACE" meant?"#));
    let others = r#""LAYER"; use one of those that are there: SURFACE"#;
    assert_eq!(check(&lots, from("LAYER")), refused(others));
    let bare = r#""LAYER"; its features have no columns but those that are read anyway"#;
    assert_eq!(check(point, from("LAYER")), refused(bare));
    assert_eq!(check(&lots, kinds("SURFACS")), refused(r#""SURFACS"; is "SURFACE" meant?"#));
    // One file of kinds is for many maps.
    let own = geojson(&[r#""SURFACE":"grass","Kind":"turf""#]);
    assert_eq!(check(&own, kinds("LAYER")), Ok(()));
    assert_eq!(
        check(&lots, kinds("LAYER")),
        Err("no map has any of the columns by which the kinds file says kinds (LAYER); those that are there: SURFACE".to_owned())
    );
    assert_eq!(check(&lots, kinds("SURFACE").followed_by(kinds("SURFACES"))), Ok(()));
    assert_eq!(check(&lots, Columns::built_in("openstreetmap").unwrap()), Ok(()));
}

#[test]
fn a_kinds_file_is_followed_by_another() {
    let own = Columns::read("k", "[kind.FCODE]\n39999 = \"bed\"").unwrap();
    let both = own.followed_by(Columns::built_in("nhd").unwrap());
    let text = geojson(&[r#""FCODE":39999"#, r#""FCODE":39004"#]);
    assert_eq!(kinds(&map_of(&[("m.geojson", &text)], &both)), [Kind::Bed, Kind::Water]);
}

fn refused_file(name: &str, text: &str) -> String {
    let crs = CoordinateSystem::AsTheFileSays;
    of_stream(name, &mut text.as_bytes(), &crs, &Columns::default()).unwrap_err().to_string()
}

#[test]
fn the_first_feature_without_a_kind_says_all_that_can_be_done() {
    let text = geojson(&[r#""name":"A""#, r#""name":"B""#]);
    let said =
        refusals(&map_of(&[("a.geojson", &text), ("b.geojson", &text)], &Columns::default()));
    let hint = "or say where it stands with --kind-from or --kinds";
    let hinted: Vec<bool> = said.iter().map(|refusal| refusal.ends_with(hint)).collect();
    assert_eq!(hinted, [true, false, true, false]);
}

#[test]
fn a_tape_sheet_in_rows_without_figures_is_told_what_it_lacks() {
    let said =
        refused_file("t.csv", "kind,name,shape,length,width\nturf,Front,rectangle,60 ft,40 ft\n");
    assert!(said.contains("of a tape sheet, add a column figure"), "{said}");
    assert!(!refused_file("t.csv", "kind,name,width\nturf,Front,3\n").contains("tape"));
}

#[test]
fn commas_between_thousands_are_named() {
    let text = "kind,name,longitude,latitude\nwell,W,\"385,720.2\",\"4,899,718\"\n";
    let said = refusals(&map_of(&[("utm.csv", text)], &Columns::default()));
    assert!(said[0].contains("without commas between its thousands"), "{said:?}");
}
