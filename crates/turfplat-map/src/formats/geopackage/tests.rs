#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use proptest::prelude::*;
use rusqlite::Connection;
use serde_json::json;
use tempfile::TempDir;

use super::*;
use crate::CoordinateSystem;
use crate::survey::{Source, read};

/// A file with one system in metres, and SQL run in it.
struct Made {
    folder: TempDir,
    connection: Connection,
}

impl Made {
    fn new(sql: &str) -> Made {
        let folder = tempfile::tempdir().unwrap();
        let connection = Connection::open(folder.path().join("lots.gpkg")).unwrap();
        let made = Made { folder, connection };
        made.run(
            "CREATE TABLE gpkg_spatial_ref_sys (srs_name, srs_id INTEGER PRIMARY KEY, organization, organization_coordsys_id, definition, description);
             CREATE TABLE gpkg_contents (table_name, data_type, srs_id);
             CREATE TABLE gpkg_geometry_columns (table_name, column_name, geometry_type_name, srs_id, z, m);
             INSERT INTO gpkg_spatial_ref_sys VALUES ('UTM 16N', 32616, 'EPSG', 32616, 'PROJCS[]', '');",
        );
        made.run(sql);
        made
    }

    fn run(&self, sql: &str) {
        self.connection.execute_batch(sql).unwrap();
    }

    /// Lists a table or view, its geometry in `geom`.
    fn list(&self, table: &str, srs: i64) {
        let list = "INSERT INTO gpkg_contents VALUES (?1, 'features', ?2)";
        self.connection.execute(list, (table, srs)).unwrap();
        let list = "INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', 'GEOMETRY', ?2, 0, 0)";
        self.connection.execute(list, (table, srs)).unwrap();
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("lots.gpkg")
    }

    fn read(&self) -> Result<Vec<Layer>, ReadError> {
        let bytes = Bytes::open(&self.path()).unwrap();
        layers("lots.gpkg", Some(&self.path()), &bytes, &Columns::default())
    }

    fn refusal(&self) -> String {
        let started = Instant::now();
        let error = self.read().unwrap_err().to_string();
        assert!(started.elapsed() < Duration::from_secs(30), "{error}");
        error
    }
}

/// A table `turf` with a point in each of so many rows.
fn turf(count: usize) -> Made {
    let made =
        Made::new("CREATE TABLE turf (fid INTEGER PRIMARY KEY, geom BLOB, Name TEXT, owner TEXT)");
    made.list("turf", 32616);
    let add = "INSERT INTO turf VALUES (?1, ?2, ?3, 'Smith')";
    for fid in 1..=count {
        made.connection.execute(add, (fid, blob(32616), format!("lawn {fid}"))).unwrap();
    }
    made
}

/// POINT (3 4) without a box.
fn blob(srs: i32) -> Vec<u8> {
    let mut blob = b"GP\0\x01".to_vec();
    blob.extend(srs.to_le_bytes());
    blob.extend([1, 1, 0, 0, 0]);
    blob.extend([3.0_f64, 4.0].iter().flat_map(|number| number.to_le_bytes()));
    blob
}

fn told(layer: &Layer) -> Value {
    let mut text = Vec::new();
    layer.bytes.read(0, layer.bytes.length(), &mut text).unwrap();
    serde_json::from_slice::<Value>(&text).unwrap()["features"].clone()
}

#[test]
fn a_table_is_a_layer_and_owners_stay() {
    let layers = turf(2).read().unwrap();
    let [layer] = layers.as_slice() else { panic!("{layers:?}") };
    assert_eq!(layer.name, "lots.gpkg (turf)");
    assert_eq!(layer.says, Says::System("EPSG:32616".into()));
    assert_eq!(layer.left_out, ["owner"]);
    let geometry = json!({"type": "Point", "coordinates": [3.0, 4.0]});
    let properties = json!({"name": "lawn 2", "@called": 0});
    assert_eq!(
        told(layer)[1],
        json!({"type": "Feature", "properties": properties, "geometry": geometry})
    );
}

#[test]
fn a_file_without_a_path_is_read_from_a_copy() {
    let made = turf(3);
    let bytes = Bytes::from(fs::read(made.path()).unwrap());
    let layers = layers("-", None, &bytes, &Columns::all()).unwrap();
    assert_eq!(told(&layers[0])[0]["properties"]["owner"], "Smith");
}

#[test]
fn records_are_in_the_order_of_their_ids() {
    let made = turf(0);
    for fid in [30, 10, 20] {
        made.connection.execute("INSERT INTO turf VALUES (?1, NULL, ?1, NULL)", [fid]).unwrap();
    }
    // An index from which all could be read in another order.
    made.run("CREATE INDEX i ON turf (Name DESC, geom)");
    let features = told(&made.read().unwrap()[0]);
    let names: Vec<&Value> = (0..3).map(|i| &features[i]["properties"]["name"]).collect();
    assert_eq!(names, ["10", "20", "30"]);
}

#[test]
fn tables_that_are_not_read_are_told() {
    let made = turf(1);
    let remarks = || -> Vec<String> {
        let remarks = made.read().unwrap()[0].remarks.clone();
        let of_files = remarks.into_iter().filter(|(_, code, _)| *code == "files-not-read");
        of_files.map(|(_, _, message)| message).collect()
    };
    assert_eq!(remarks(), [""; 0]);
    made.run(
        "CREATE TABLE layer_styles (id); INSERT INTO gpkg_contents (table_name, data_type) VALUES ('layer_styles', 'attributes')",
    );
    assert_eq!(remarks(), [""; 0]);
    made.run("CREATE TABLE well_log (kind); CREATE TABLE wells (geom);
        INSERT INTO gpkg_contents (table_name, data_type) VALUES ('well_log', 'attributes');
        INSERT INTO gpkg_geometry_columns (table_name, column_name, srs_id) VALUES ('wells', 'geom', 0)");
    assert_eq!(
        remarks(),
        [
            "not read: \"well_log\": plain tables or pictures and no layers; if one says where things lie, export it as a layer of points; and \"wells\": layers that the file does not list in gpkg_contents; export them again"
        ]
    );
}

#[test]
fn a_table_named_for_a_kind_gives_it_where_no_column_does() {
    for (table, kind) in [
        ("turf", Some(Kind::Turf)),
        ("Beds", Some(Kind::Bed)),
        ("apiaries", Some(Kind::Apiary)),
        ("veg_strips", Some(Kind::VegStrip)),
        ("Mix sites", Some(Kind::MixSite)),
        ("water", Some(Kind::Water)),
        ("property", None),
        ("s", None),
        ("", None),
    ] {
        assert_eq!(Kind::named(table), kind, "{table}");
    }
    let made = Made::new("CREATE TABLE wells (geom, KIND); INSERT INTO wells VALUES (NULL, NULL)");
    made.list("wells", 0);
    assert_eq!(told(&made.read().unwrap()[0])[0]["properties"], json!({"kind": null}));
}

#[test]
fn systems_are_what_the_file_says_of_them() {
    let made = Made::new(
        "INSERT INTO gpkg_spatial_ref_sys VALUES
         ('', 900001, 'ESRI', 102671, 'PROJCS[\"Illinois\"]', ''),
         ('', 900002, 'epsg', 3857, 'undefined', ''),
         ('', 900003, 'NONE', 7, 'undefined', ''),
         ('', 900004, 'IAU_2015', 30100, 'undefined', '')",
    );
    let file = Untrusted::open(Some(&made.path()), &Bytes::open(&made.path()).unwrap()).unwrap();
    let system = |text: &str| Says::System(text.into());
    for (srs, expected) in [
        (4326, system("EPSG:4326")),
        (32616, system("EPSG:32616")),
        (900_001, system("PROJCS[\"Illinois\"]")),
        (900_002, system("EPSG:3857")),
        (900_003, Says::Nothing),
        (900_004, Says::Nothing),
        (26_915, Says::Nothing),
        (-1, Says::Nothing),
        (0, Says::Nothing),
    ] {
        assert_eq!(says(&file, srs).unwrap(), expected, "{srs}");
    }
}

#[test]
fn names_are_names_whatever_is_in_them() {
    let table = "x\"; DROP TABLE gpkg_contents; --\n 'a' é";
    let made = Made::new(&format!(
        "CREATE TABLE {} (\"geom\" BLOB, \"kind\" TEXT, \"na\"\"me\" TEXT); INSERT INTO {0} VALUES (NULL, 'bed', '')",
        quoted(table)
    ));
    made.list(table, 4326);
    let layers = made.read().unwrap();
    assert_eq!(layers[0].name, "lots.gpkg (x\"; DROP TABLE gpkg_contents; --  'a' é)");
    assert_eq!(layers[0].left_out, ["na\"me"]);
    assert_eq!(told(&layers[0])[0]["properties"]["kind"], "bed");
}

#[test]
fn geometries_that_cannot_be_read_say_why() {
    let changed = |change: fn(&mut Vec<u8>)| {
        let mut blob = blob(32616);
        change(&mut blob);
        blob
    };
    let read = |bytes: &[u8]| geometry(ValueRef::Blob(bytes), 32616);
    assert!(read(&blob(32616)).unwrap().is_some() && read(&blob(0)).unwrap().is_some());
    for (blob, reason) in [
        (changed(|blob| blob[0] = b'X'), "does not start with GP"),
        (changed(|blob| blob[2] = 1), "version 1"),
        (changed(|blob| blob[3] = 0x21), "convert to plain polygons"),
        (changed(|blob| blob[3] = 0x0b), "box of kind 5"),
        (changed(|blob| blob[3] = 0x05), "ends too soon"),
        (changed(|blob| blob.truncate(5)), "ends too soon"),
        (changed(|blob| blob.truncate(2)), "ends too soon"),
        (changed(|blob| blob.truncate(12)), "ends too soon"),
        (changed(|blob| blob[9] = 8), "CircularString has curves"),
        (blob(4326), "in system 4326 and its table in 32616"),
    ] {
        let error = read(&blob).unwrap_err();
        assert!(error.contains(reason), "{error}");
    }
    assert_eq!(
        read(&changed(|blob| {
            blob[3] = 0x11;
            blob.truncate(8)
        })),
        Ok(None)
    );
    assert_eq!(geometry(ValueRef::Null, 0), Ok(None));
    let error = geometry(ValueRef::Text(b"POINT (1 2)"), 0).unwrap_err();
    assert_eq!(error, "it is text and no GeoPackage geometry; export it again");
}

#[test]
fn a_bad_row_is_named_by_its_number() {
    let made = turf(3);
    made.run("UPDATE turf SET geom = x'00' WHERE fid = 2");
    let sources: Vec<Source> = made
        .read()
        .unwrap()
        .into_iter()
        .map(|layer| Source::told(layer, CoordinateSystem::PLANE_METRES))
        .collect();
    let map = read(&sources).unwrap();
    let problems: Vec<String> =
        map.problems().iter().map(|problem| problem.error.to_string()).collect();
    assert!(
        problems.contains(&"lots.gpkg (turf) record 2 (\"lawn 2\"): geometry cannot be read: it is no GeoPackage geometry: it does not start with GP; export it again".to_owned()),
        "{problems:#?}"
    );
}

#[test]
fn values_that_are_no_text_are_told_so_that_they_are_refused() {
    assert_eq!(value(ValueRef::Text(b"M\xfcller")), json!([77, 252, 108, 108, 101, 114]));
    assert_eq!(value(ValueRef::Blob(&[1; 99])), json!(vec![1; 16]));
    assert_eq!(value(ValueRef::Real(f64::INFINITY)), json!("inf"));
    assert_eq!(value(ValueRef::Integer(i64::MIN)), json!(i64::MIN));
}

#[test]
fn what_is_no_geopackage_says_so() {
    let refusal = |bytes: &[u8]| {
        let error =
            layers("lots.gpkg", None, &bytes.to_vec().into(), &Columns::default()).unwrap_err();
        error.to_string()
    };
    assert_eq!(refusal(b""), "lots.gpkg: is empty; export it again");
    assert!(
        refusal(b"PK\x03\x04 and so on").contains("it starts with \"PK\\u{3}\\u{4} and so on\"")
    );
    assert!(refusal(b"SQLite format 3\0").contains("damaged or cut off"));
    let plain = tempfile::tempdir().unwrap();
    let path = plain.path().join("a.sqlite");
    Connection::open(&path).unwrap().execute_batch("CREATE TABLE lawns (geom)").unwrap();
    assert!(refusal(&fs::read(&path).unwrap()).contains("no table gpkg_contents"));
}

#[test]
fn what_a_file_lists_must_be_there() {
    let made = Made::new("");
    assert!(made.refusal().contains("holds no layer"));
    made.run("INSERT INTO gpkg_contents VALUES ('photo', 'tiles', 0)");
    assert!(made.refusal().contains("no layer of features"));
    let nowhere = Made::new("");
    nowhere.list("turf", 0);
    assert_eq!(
        nowhere.refusal(),
        "lots.gpkg: its table \"turf\" is not there, though it should be; export it again"
    );
    let bare = Made::new("CREATE TABLE turf (name)");
    bare.list("turf", 0);
    assert!(bare.refusal().contains("has no column \"geom\""));
    bare.run("DELETE FROM gpkg_geometry_columns");
    assert!(bare.refusal().contains("names no geometry of it"));
    let twice = turf(1);
    twice.list("TURF", 0);
    assert!(twice.refusal().contains("\"TURF\" twice"));
    let two = turf(1);
    two.run("INSERT INTO gpkg_geometry_columns VALUES ('turf', 'other', '', 0, 0, 0)");
    assert!(two.refusal().contains("two columns of geometry"));
}

#[test]
fn names_of_columns_that_are_no_text_are_refused() {
    let made = turf(1);
    made.run("ALTER TABLE turf ADD COLUMN zzzz");
    let mut bytes = fs::read(made.path()).unwrap();
    let at = bytes.windows(4).position(|four| four == b"zzzz").unwrap();
    bytes[at] = 0xff;
    let error = layers("lots.gpkg", None, &bytes.into(), &Columns::all()).unwrap_err().to_string();
    assert!(error.contains("its table \"turf\" has a column whose name is not UTF-8"), "{error}");
}

#[test]
fn old_and_plain_files_are_read() {
    for id in ["0x47503130", "0x47503131", "0"] {
        let made = turf(1);
        made.run(&format!("PRAGMA application_id = {id}"));
        assert_eq!(made.read().unwrap().len(), 1, "{id}");
    }
}

#[test]
fn views_are_refused_before_they_are_looked_at() {
    const ENDLESS: &str = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n)";
    let made = turf(1);
    made.run(&format!(
        "CREATE VIEW v0 AS {ENDLESS} SELECT i AS geom, zeroblob(60000) AS x FROM n ORDER BY 1"
    ));
    // Unfolded, this one would take all memory.
    for n in 0..60 {
        made.run(&format!(
            "CREATE VIEW v{} AS SELECT geom, x || x || x || x AS x FROM v{n}",
            n + 1
        ));
    }
    made.list("v60", 32616);
    assert_eq!(
        made.refusal(),
        "lots.gpkg: its table \"v60\" is a view; export it as a plain table, or take it out of the file"
    );
    let made = turf(1);
    made.run("ALTER TABLE gpkg_contents RENAME TO c; CREATE VIEW gpkg_contents AS SELECT * FROM c");
    assert!(made.refusal().contains("its table \"gpkg_contents\" is a view"));
}

#[test]
fn a_view_under_the_name_of_a_table_is_not_run() {
    let made = Made::new(
        "CREATE TABLE a (geom);
         CREATE VIEW turf AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i AS geom FROM n;
         PRAGMA writable_schema = ON;
         UPDATE sqlite_schema SET name = 'v' WHERE name = 'turf';
         UPDATE sqlite_schema SET name = 'turf' WHERE name = 'a'",
    );
    made.list("turf", 0);
    assert_eq!(made.refusal(), "lots.gpkg: is damaged or cut off; copy or export it again");
}

#[test]
fn columns_that_sql_computes_are_refused_where_they_are_read() {
    let made = Made::new(
        "CREATE TABLE turf (geom BLOB, kind TEXT AS (zeroblob(99999999)), other TEXT AS (kind || kind), name TEXT AS ('x') STORED)",
    );
    made.list("turf", 0);
    made.run("INSERT INTO turf VALUES (NULL)");
    assert_eq!(
        made.refusal(),
        "lots.gpkg: its table \"turf\" has a column \"kind\" that SQL in the file computes; export it as a plain table"
    );
    made.run("ALTER TABLE turf RENAME COLUMN kind TO sort");
    let layers = made.read().unwrap();
    assert_eq!(layers[0].left_out, ["sort", "other"]);
    assert_eq!(told(&layers[0])[0]["properties"], json!({"name": "x", "@called": 0}));
    let made = turf(1);
    made.run("DROP TABLE gpkg_contents; CREATE TABLE gpkg_contents (c, table_name TEXT AS (c || c), data_type TEXT)");
    assert!(made.refusal().contains("SQL in the file computes its table gpkg_contents"));
}

#[test]
fn a_column_may_have_the_name_of_the_row_number() {
    let made = Made::new(
        "CREATE TABLE beds (fid INTEGER PRIMARY KEY, geom, rowid, oid, name);
         INSERT INTO beds VALUES (2, NULL, 1, 1, 'second'), (1, NULL, 2, 2, 'first');
         CREATE TABLE wells (a TEXT PRIMARY KEY, geom, rowid, oid, _rowid_, name) WITHOUT ROWID;
         INSERT INTO wells VALUES ('b', NULL, 1, 1, 1, 'second'), ('a', NULL, 2, 2, 2, 'first')",
    );
    made.list("beds", 0);
    made.list("wells", 0);
    for layer in made.read().unwrap() {
        assert_eq!(told(&layer)[0]["properties"]["name"], "first", "{}", layer.name);
    }
}

#[test]
fn rows_that_share_their_bytes_are_counted_each() {
    let long = "a".repeat(900_000);
    // Rows from before a column was added have its default without holding it.
    let made = turf(100);
    made.run(&format!("ALTER TABLE turf ADD COLUMN species TEXT DEFAULT '{long}'"));
    assert!(made.refusal().contains("gives more than it can hold"));
}

#[test]
fn virtual_tables_are_not_read() {
    let made = turf(1);
    made.run("CREATE VIRTUAL TABLE found USING fts5(geom)");
    made.list("found", 0);
    assert!(made.refusal().contains("\"found\" is a virtual one"));
    let made = turf(1);
    made.list("sqlite_schema", 0);
    assert!(made.refusal().contains("is not there"));
}

#[test]
fn triggers_do_nothing_and_nothing_is_written() {
    let made = turf(1);
    made.run("CREATE TRIGGER t AFTER INSERT ON turf BEGIN DELETE FROM turf; END");
    let before = fs::read(made.path()).unwrap();
    made.read().unwrap();
    assert_eq!(fs::read(made.path()).unwrap(), before);
    assert_eq!(fs::read_dir(made.folder.path()).unwrap().count(), 1);
}

#[test]
fn what_another_program_has_not_put_into_the_file_yet_is_read_all_the_same() {
    let made = turf(1);
    made.run("PRAGMA journal_mode = WAL; INSERT INTO turf VALUES (2, NULL, 'new', NULL)");
    let second = || told(&made.read().unwrap()[0])[1]["properties"]["name"].clone();
    assert_eq!(second(), "new");
    made.run("PRAGMA wal_checkpoint(TRUNCATE)");
    assert_eq!(second(), "new");
}

#[test]
fn half_a_change_is_refused() {
    let made = turf(1);
    fs::write(made.folder.path().join("lots.gpkg-journal"), "half").unwrap();
    assert!(made.refusal().contains("half of a change is in it"));
}

#[test]
fn paths_mean_nothing_to_sqlite() {
    for name in ["a?mode=rw&b.gpkg", "100%25 #1.gpkg", "file:x", ":memory:", "Ö \\ x.gpkg"] {
        let made = turf(1);
        let path = made.folder.path().join(name);
        fs::copy(made.path(), &path).unwrap();
        let bytes = Bytes::open(&path).unwrap();
        assert_eq!(
            layers(name, Some(&path), &bytes, &Columns::default()).unwrap().len(),
            1,
            "{name}"
        );
    }
}

#[test]
fn many_rows_are_not_too_many() {
    let made = Made::new(
        "CREATE TABLE beds (fid INTEGER PRIMARY KEY, geom BLOB);
         WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 100000) INSERT INTO beds SELECT i, NULL FROM n",
    );
    made.list("beds", 0);
    let layers = made.read().unwrap();
    let mut text = Vec::new();
    layers[0].bytes.read(0, layers[0].bytes.length(), &mut text).unwrap();
    assert_eq!(memchr::memmem::find_iter(&text, "\"Feature\"").count(), 100_000);
}

fn fixture() -> Vec<u8> {
    fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/prop_h_single_lot_utm16.gpkg"))
        .unwrap()
}

#[test]
fn a_file_of_gdals_is_read_whole() {
    let layers = layers("lot.gpkg", None, &fixture().into(), &Columns::default()).unwrap();
    let [layer] = layers.as_slice() else { panic!("{layers:?}") };
    assert_eq!(layer.says, Says::System("EPSG:32616".into()));
    let features = told(layer);
    assert_eq!(features.as_array().unwrap().len(), 9);
    assert!(features[0]["geometry"]["coordinates"].is_array());
}

#[test]
fn a_file_cut_anywhere_is_refused() {
    let whole = fixture();
    for length in (0..whole.len()).step_by(997) {
        let cut = whole[..length].to_vec();
        layers("lot.gpkg", None, &cut.into(), &Columns::default()).unwrap_err();
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 200, ..ProptestConfig::default() })]

    /// Damaged anywhere it is read or refused, and soon.
    #[test]
    fn damage_is_no_disaster(changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..40), is_early in any::<bool>()) {
        let mut bytes = if is_early { fs::read(turf(40).path()).unwrap() } else { fixture() };
        let length = if is_early { bytes.len() } else { bytes.len() / 2 };
        for (at, byte) in changes {
            let at = at.index(length);
            bytes[at] = byte;
        }
        let started = Instant::now();
        let _ = layers("lot.gpkg", None, &bytes.into(), &Columns::all());
        prop_assert!(started.elapsed() < Duration::from_secs(20));
    }
}
