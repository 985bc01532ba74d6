//! What belongs together, and what is no shapefile.

use super::*;

#[test]
fn files_that_are_no_shapefile_say_what_they_are() {
    let refused = |shp: Vec<u8>| refusal(parts(shp, None));
    assert!(refused(Vec::new()).contains("has 0 bytes"));
    assert_eq!(
        refused(b"PK\x03\x04".repeat(40)),
        "lots.shp: not a shapefile: its .shp starts with 0x504b0304 and not with the number 9994; export it again as a shapefile"
    );
    let whole = shp(&[point(1.0, 2.0), point(3.0, 4.0)]);
    assert!(refused(whole[..140].to_vec()).contains("is cut off: it has 140 bytes of the 156"));
    let mut unfinished = whole.clone();
    unfinished[24..28].fill(0);
    assert!(refused(unfinished).contains("not written to its end"));
    let mut beyond = whole.clone();
    beyond[104..108].copy_from_slice(&i32::MAX.to_be_bytes());
    assert!(
        refused(beyond).contains("record 1 of its .shp claims 4294967294 bytes where there are 48")
    );
}

#[test]
fn bytes_behind_the_end_are_not_read() {
    let mut bytes = shp(&[point(1.0, 2.0)]);
    bytes.extend([7; 300]);
    assert_eq!(features(&told(parts(bytes, None)).unwrap()).len(), 1);
}

#[test]
fn an_edited_file_is_read_by_its_index() {
    // The first shape was drawn anew and now stands last; its old place holds what was there.
    let (old, second, new) = (point(9.0, 9.0), point(3.0, 4.0), point(1.0, 2.0));
    let shapes = shp(&[old, second.clone(), new.clone()]);
    let mut parts = parts(shapes, None);
    parts.shx = Some(shx(&[(156, &new), (128, &second)]).into());
    let features = features(&told(parts).unwrap());
    let places: Vec<_> = features.iter().map(|it| it["geometry"]["coordinates"].clone()).collect();
    assert_eq!(places, [json!([1.0, 2.0]), json!([3.0, 4.0])]);
}

#[test]
fn an_index_of_another_file_is_refused() {
    let contents = [point(1.0, 2.0), point(3.0, 4.0)];
    let refused = |index: Vec<u8>| {
        let mut parts = parts(shp(&contents), None);
        parts.shx = Some(index.into());
        told(parts).map(|layer| features(&layer).len()).map_err(|error| error.to_string())
    };
    let long = polygon(&[square(0.0, 0.0, 1.0, true)]);
    let reason = refused(shx(&[(100, &long)])).unwrap_err();
    assert!(reason.contains("do not agree on record 1"), "{reason}");
    let reason = refused(shx(&[(100, &contents[0]), (9000, &contents[1])])).unwrap_err();
    assert!(reason.contains("record 2 starts by its .shx at byte 9000"), "{reason}");
    // The same bytes for record after record would take no end of time.
    let reason = refused(shx(&[(100, &contents[0]); 1000])).unwrap_err();
    assert!(reason.contains("record 3 of its .shp claims"), "{reason}");
    // Some count the eight bytes before the content.
    let and_header = [contents[0].as_slice(), &[0; 8]].concat();
    assert_eq!(refused(shx(&[(100, &and_header)])), Ok(1));
    // A place of 0 is a shape that is gone.
    assert_eq!(refused(shx(&[(0, &Vec::new()), (128, &contents[1])])), Ok(2));
}

#[test]
fn shapes_and_rows_must_be_as_many() {
    let table = |rows: &[&[u8]]| Some(dbf(0, &[("KIND", b'C', 4)], rows));
    let two = shp(&[point(1.0, 2.0), point(3.0, 4.0)]);
    for (rows, count) in [(&[b" turf".as_slice()][..], 1), (&[b" turf".as_slice(); 3][..], 3)] {
        let reason = refusal(parts(two.clone(), table(rows)));
        let expected = format!(
            "lots.shp: its .shp has 2 shapes and its .dbf {count} rows, so they do not belong together; export the shapefile again"
        );
        assert_eq!(reason, expected);
    }
}

#[test]
fn a_shapefile_without_table_has_features_without_attributes() {
    let layer = told(parts(shp(&[point(1.0, 2.0)]), None)).unwrap();
    assert_eq!(features(&layer)[0]["properties"], json!({}));
    let source = Source::told(
        Layer { says: Says::LongitudeLatitude, ..layer },
        CoordinateSystem::AsTheFileSays,
    );
    let map = read(&[source]).unwrap();
    let problem = map.problems()[0].error.to_string();
    assert_eq!(
        problem,
        r#"lots.shp record 1: add a "kind" property, such as "turf", "bed" or "water", or say where it stands with --kind-from or --kinds"#
    );
}

#[test]
fn the_coordinate_system_is_what_the_prj_says() {
    let says = |prj: Option<&[u8]>| {
        let mut parts = parts(shp(&[]), None);
        parts.prj = prj.map(<[u8]>::to_vec);
        told(parts).unwrap().says
    };
    assert_eq!(says(None), Says::Nothing);
    assert_eq!(says(Some(b" \r\n\0")), Says::Nothing);
    assert_eq!(says(Some(b"\xef\xbb\xbfGEOGCS[\"x\"]\n")), Says::System("GEOGCS[\"x\"]".into()));
}

#[test]
fn shapes_of_which_nothing_says_what_they_are_are_refused_once() {
    let parts = || Parts {
        shp: Bytes::from(shp(&[point(1.0, 2.0), point(3.0, 4.0)])),
        shx: None,
        dbf: None,
        prj: None,
        cpg: None,
    };
    let of = |name: &str, columns: &Columns| {
        super::super::layer_of_kinds(name, parts(), columns).map_err(|error| error.to_string())
    };
    let said = of("lots.shp", &Columns::default()).unwrap_err();
    assert!(said.starts_with("lots.shp: its .dbf is missing, which says what each"), "{said}");
    assert!(of("wells.shp", &Columns::default()).is_ok());
    assert!(of("lots.shp", &Columns::all()).is_ok());
    let any = Columns::read("kinds.toml", "[kind.\"*\"]\n\"*\" = \"water\"").unwrap();
    assert!(of("lots.shp", &any).is_ok());
}
