//! The table beside the shapes: names, numbers, letters.

use super::*;

#[test]
fn deleted_rows_are_no_features_and_the_numbers_stay() {
    let rows: [&[u8]; 4] = [b" turf", b"*turf", b" moat", b"*well"];
    let table = dbf(0, &[("KIND", b'C', 4)], &rows);
    let lawn = polygon(&[square(-88.0, 44.0, 0.001, true)]);
    // What is deleted is not even looked at.
    let shapes = shp(&[lawn.clone(), lawn.clone(), lawn, integers(&[9])]);
    let layer = told(parts(shapes, Some(table))).unwrap();
    assert_eq!(features(&layer).len(), 4);
    let source = Source::told(
        Layer { says: Says::LongitudeLatitude, ..layer },
        CoordinateSystem::AsTheFileSays,
    );
    let map = read(&[source]).unwrap();
    let problems: Vec<String> = map.problems().iter().map(|it| it.error.to_string()).collect();
    assert_eq!(problems.len(), 1, "{problems:?}");
    assert!(problems[0].starts_with("lots.shp record 3: kind \"moat\""), "{problems:?}");
    let group = map.read_property(map.properties()[0]).unwrap();
    let names: Vec<_> = group.features.iter().map(|it| it.name.as_str()).collect();
    assert_eq!(names, ["turf 1"]);
    assert!(group.notes.is_empty(), "{:?}", group.notes);
}

#[test]
fn what_stands_for_deleted_is_no_feature_of_a_geojson_file() {
    let text = br#"{"type":"FeatureCollection","features":[{}]}"#.to_vec();
    let map = read(&[Source::geojson("a.geojson", text, CoordinateSystem::AsTheFileSays)]).unwrap();
    assert!(map.problems()[0].error.to_string().contains("not a GeoJSON feature"));
}

#[test]
fn columns_are_known_in_capitals_and_cut_to_ten_letters() {
    let columns = [
        ("KIND", b'C', 5),
        ("veg_strip_", b'N', 4),
        ("SETBACK_FT", b'N', 4),
        ("Width_M", b'F', 4),
        ("OWNER", b'C', 5),
        ("LANDUSE", b'C', 5),
    ];
    let table = dbf(0, &columns, &[b" water  30  25 1.5SmithPond "]);
    let columns = Columns::read("kinds.toml", r#"name = "landuse""#).unwrap();
    let (rows, left_out) = rows(table, None, &columns);
    assert_eq!(
        rows,
        [
            json!({"kind": "water", "veg_strip_ft": 30, "setback_ft": 25, "width_m": 1.5, "name": "Pond"})
        ]
    );
    // Nobody's name travels.
    assert_eq!(left_out, ["OWNER"]);
}

#[test]
fn columns_that_nearly_have_a_name_travel_to_be_refused() {
    let table =
        dbf(0, &[("SETBACK", b'N', 2), ("KIND", b'C', 4), ("kind", b'C', 4)], &[b" 30turfpond"]);
    let (rows, _) = rows(table, None, &Columns::default());
    // The second column of one name does not push out the first, whatever its case.
    assert_eq!(rows, [json!({"SETBACK": 30, "kind": "turf", "kind_": "pond"})]);
}

#[test]
fn numbers_are_numbers_and_blanks_and_asterisks_nothing() {
    let cases = [
        ("         5", json!(5)),
        ("  12.50000", json!(12.5)),
        (" 17.000000", json!(17)),
        ("  1.5e+002", json!(150)),
        ("0.00000125", json!(0.000_001_25)),
        ("-3.5      ", json!(-3.5)),
        ("          ", json!(null)),
        ("**********", json!(null)),
        ("\0\0\0\0\0\0\0\0\0\0", json!(null)),
        // Shown in the message that refuses them.
        ("       nan", json!("nan")),
        ("    1e9999", json!("1e9999")),
        ("      12,5", json!("12,5")),
        ("    30  ft", json!("30  ft")),
    ];
    for (text, expected) in cases {
        let row = format!(" {text}");
        let (rows, _) =
            rows(dbf(0, &[("WIDTH_FT", b'N', 10)], &[row.as_bytes()]), None, &Columns::default());
        assert_eq!(rows[0]["width_ft"], expected, "{text:?}");
    }
}

#[test]
fn an_id_of_more_digits_than_a_double_holds_keeps_them_all() {
    let id = b" 12345678901234567891";
    let (rows, _) = rows(dbf(0, &[("PROPERTY", b'N', 20)], &[id]), None, &Columns::default());
    assert_eq!(rows[0]["property"], "12345678901234567891");
}

#[test]
fn dates_truths_and_the_numbers_of_later_tables_are_read() {
    let columns = [
        ("D", b'D', 8),
        ("E", b'D', 8),
        ("T", b'L', 1),
        ("U", b'L', 1),
        ("V", b'L', 1),
        ("I", b'I', 4),
        ("Y", b'Y', 8),
        ("B", b'B', 8),
    ];
    let mut row = b" 20260502        tF?".to_vec();
    row.extend((-7_i32).to_le_bytes());
    row.extend(12_345_i64.to_le_bytes());
    row.extend(0.1_f64.to_le_bytes());
    let mut table = dbf(0, &columns, &[&row]);
    table[0] = 0x30;
    let (rows, left_out) = rows(table, None, &Columns::all());
    let expected = json!({"D": "2026-05-02", "E": null, "T": true, "U": false, "V": null, "I": -7, "Y": 1.2345, "B": 0.1});
    assert_eq!((rows, left_out), (vec![expected], vec![]));
}

#[test]
fn texts_in_another_file_are_left_out_unless_they_matter() {
    let (rows, left_out) = rows(dbf(0, &[("NOTES", b'M', 10)], &[b" "]), None, &Columns::all());
    assert_eq!((rows, left_out), (vec![json!({})], vec!["NOTES".to_owned()]));
    let table = dbf(0, &[("CONDITION", b'M', 10)], &[b" "]);
    let reason = refusal(parts(shp(&[point(1.0, 2.0)]), Some(table)));
    assert!(reason.contains("column CONDITION of its .dbf is of type 'M'"), "{reason}");
}

#[test]
fn names_come_out_in_the_letters_they_were_written_in() {
    #[rustfmt::skip]
    let table: [(&[u8], u8, Option<&str>, &str); 17] = [
        // bytes, driver byte, .cpg, text
        (b"Caf\xc3\xa9",     0x00, Some("UTF-8"),      "Café"),
        (b"Caf\xc3\xa9",     0x00, Some("65001\r\n"),  "Café"),
        (b"Caf\xe9",         0x00, Some("1252"),       "Café"),
        (b"Caf\xe9",         0x00, Some("ANSI 1252"),  "Café"),
        (b"Caf\xe9",         0x00, Some("ISO-8859-1"), "Café"),
        (b"Caf\xe9",         0x00, Some("88591"),      "Café"),
        (b"\xa4",            0x00, Some("ISO 8859-15"),"€"),
        (b"Caf\xe9",         0x00, None,               "Café"),
        (b"Caf\xe9",         0x57, None,               "Café"),
        (b"Caf\x82",         0x01, None,               "Café"),
        (b"Caf\x82",         0x02, Some("nonsense"),   "Café"),
        (b"\xc2\xe5\xf0\xe0",0xc9, None,               "Вера"),
        (b"\x93\x8c",        0x13, None,               "東"),
        // It says nothing, or the wrong thing, and is UTF-8 all the same.
        (b"Caf\xc3\xa9",     0x00, None,               "Café"),
        (b"Caf\xc3\xa9",     0x57, Some("1252"),       "Café"),
        // It says UTF-8 and is not.
        (b"Caf\xe9 1",       0x00, Some("UTF-8"),      "Café 1"),
        // Two letters of GBK that are UTF-8 as well.
        (b"\xc1\xaa\xcd\xa8",0x4d, None,               "联通"),
    ];
    for (bytes, driver, cpg, expected) in table {
        let row = [b" ", bytes].concat();
        let (rows, _) = rows(dbf(driver, &[("NAME", b'C', 12)], &[&row]), cpg, &Columns::default());
        assert_eq!(rows[0]["name"], expected, "{bytes:x?} {driver:#x} {cpg:?}");
    }
}

#[test]
fn a_letter_cut_by_the_end_of_its_field_is_dropped() {
    let (rows, _) =
        rows(dbf(0, &[("NAME", b'C', 4)], &[b" Caf\xc3"]), Some("UTF-8"), &Columns::default());
    assert_eq!(rows[0]["name"], "Caf");
    assert_eq!(
        Encoding::of(None, 0).text("Café Caf\u{e9}".as_bytes().split_last().unwrap().1, true),
        "Café Caf"
    );
    // In the old letters it is one, also at the end.
    assert_eq!(Encoding::of(None, 0).text(b"Caf\xe9", true), "Café");
}

#[test]
fn long_texts_take_their_length_from_two_bytes() {
    let mut table = dbf(0, &[("NAME", b'C', 44), ("KIND", b'C', 4)], &[]);
    table[4..8].copy_from_slice(&1_u32.to_le_bytes());
    table[10..12].copy_from_slice(&305_u16.to_le_bytes());
    table[32 + 17] = 1;
    table.pop();
    table.extend([b" ".as_slice(), &[b'n'; 300], b"turf"].concat());
    let (rows, _) = rows(table, None, &Columns::default());
    assert_eq!(rows, [json!({"name": "n".repeat(300), "kind": "turf"})]);
}

#[test]
fn tables_that_claim_the_absurd_are_refused() {
    let shapes = shp(&[point(1.0, 2.0)]);
    let whole = dbf(0, &[("KIND", b'C', 4)], &[b" turf"]);
    let refused = |change: &dyn Fn(&mut Vec<u8>)| {
        let mut table = whole.clone();
        change(&mut table);
        refusal(parts(shapes.clone(), Some(table)))
    };
    assert!(refused(&|it| it.truncate(20)).contains("fewer than the header"));
    assert!(
        refused(&|it| it[4..8].fill(0xff))
            .contains("claims 4294967295 rows and there is room for 1")
    );
    assert!(refused(&|it| it[8..10].fill(0xff)).contains("claims a header of 65535 bytes"));
    assert!(refused(&|it| it[10..12].fill(0)).contains("and rows of 0"));
    assert!(refused(&|it| it[10] = 3).contains("take more than the 3 bytes"));
    assert!(refused(&|it| it[0] = 0x50).contains("it starts with 0x50"));
    assert!(refused(&|it| it[48] = 200).contains("take more than the 5 bytes"));
    assert!(refused(&|it| it.truncate(it.len() - 3)).contains("is cut off"));
}
