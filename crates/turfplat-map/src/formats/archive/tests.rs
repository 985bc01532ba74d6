//! Archives as people make them, and as nobody should.

#![allow(clippy::unwrap_used)] // A test may.

use std::io::{Cursor, Write};

use proptest::prelude::*;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use super::*;
use crate::columns::Columns;
use crate::kind::Kind;

/// A point of no kind in particular.
fn shp() -> Vec<u8> {
    let mut file = 9994_i32.to_be_bytes().to_vec();
    file.extend([0; 20]);
    file.extend(64_i32.to_be_bytes());
    file.extend([1000_i32, 1].into_iter().flat_map(i32::to_le_bytes));
    file.extend([0; 64]);
    file.extend([1_i32, 10].into_iter().flat_map(i32::to_be_bytes));
    file.extend(1_i32.to_le_bytes());
    file.extend([-88.0_f64, 44.0].into_iter().flat_map(f64::to_le_bytes));
    file
}

fn dbf() -> Vec<u8> {
    let mut file = vec![3, 95, 7, 26, 1, 0, 0, 0, 65, 0, 5, 0];
    file.resize(32, 0);
    file.extend(b"KIND\0\0\0\0\0\0\0C\0\0\0\0\x04");
    file.resize(64, 0);
    file.extend(b"\r well\x1a");
    file
}

const COLLECTION: &[u8] = br#"{"type":"FeatureCollection","features":[]}"#;

fn zipped(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

fn no_kml(name: &str, _: &Bytes) -> Result<Layer, ReadError> {
    Err(bad(name, "is KML".into()))
}

fn told_in(name: &str, zip: Vec<u8>) -> Result<Vec<Layer>, ReadError> {
    layers(name, &zip.into(), &Columns::default(), &|name, bytes| Ok(geojson(name, bytes)))
}

/// The names of the layers of an archive.
fn names(files: &[(&str, &[u8])]) -> Result<Vec<String>, String> {
    let zip = zipped(files).into();
    let layers = layers("lots.zip", &zip, &Columns::all(), &|name, bytes| Ok(geojson(name, bytes)));
    let layers = layers.map_err(|error| error.to_string())?;
    Ok(layers.into_iter().map(|layer| layer.name).collect())
}

fn text(layer: &Layer) -> String {
    let mut text = String::new();
    layer.bytes.stream().read_to_string(&mut text).unwrap();
    text
}

#[test]
fn shapefiles_are_found_in_any_folder_with_their_parts_in_any_case() {
    let (shp, dbf) = (shp(), dbf());
    let files: [(&str, &[u8]); 8] = [
        ("maps/", b""),
        ("maps/Lots.SHP", &shp),
        ("maps/lots.dbf", &dbf),
        ("maps/LOTS.prj", b"GEOGCS[1]"),
        ("wells.shp", &shp),
        ("other/wells.dbf", b"not its own"),
        ("wells.shp.xml", b"<metadata/>"),
        ("readme.txt", b"Hello"),
    ];
    let layers = told_in("lots.zip", zipped(&files)).unwrap();
    let names: Vec<&str> = layers.iter().map(|layer| layer.name.as_str()).collect();
    assert_eq!(names, ["lots.zip (maps/Lots.SHP)", "lots.zip (wells.shp)"]);
    assert!(text(&layers[0]).contains(r#"{"kind":"well"}"#));
    assert_eq!(layers[0].says, Says::System("GEOGCS[1]".into()));
    assert!(text(&layers[1]).contains(r#""properties":{"@called":0}"#));
    assert_eq!(layers[1].called, [Some(Kind::Well)]);
}

/// Written by GDAL 3.12: polygons with heights, in UTM, letters of ISO 8859-1, names cut to ten.
#[test]
fn a_zipped_shapefile_of_another_program_is_read() {
    let zip = include_bytes!("../../../tests/data/lots-utm.zip").to_vec();
    let layers = told_in("lots-utm.zip", zip).unwrap();
    let [layer] = layers.as_slice() else { panic!("{} layers", layers.len()) };
    assert_eq!(layer.name, "lots-utm.zip (maps/lots.shp)");
    assert_eq!((layer.counted, layer.has_lines), (Counted::Records, false));
    assert_eq!(layer.left_out, ["OWNER"]);
    assert!(matches!(&layer.says, Says::System(it) if it.contains("NAD_1983_UTM_Zone_16N")));
    let json: serde_json::Value = serde_json::from_str(&text(layer)).unwrap();
    let features = json["features"].as_array().unwrap();
    let rings = |at: usize, polygon: usize| {
        features[at]["geometry"]["coordinates"][polygon].as_array().unwrap().len()
    };
    assert_eq!(features.len(), 4);
    assert_eq!((rings(0, 0), rings(1, 0), rings(1, 1)), (2, 2, 2));
    assert_eq!(features[0]["properties"]["name"], "Rasenfläche");
    assert_eq!(features[2]["properties"]["veg_strip_ft"], 30.5);
    assert!(features[3]["geometry"].is_null() && features[3]["properties"]["kind"].is_null());
}

#[test]
fn hidden_files_are_passed_over() {
    let shp = shp();
    let files: [(&str, &[u8]); 4] = [
        ("__MACOSX/._lots.shp", b"resource fork"),
        ("._lots.shp", b"resource fork"),
        (".cache/beds.shp", b"?"),
        ("lots.shp", &shp),
    ];
    assert_eq!(names(&files).unwrap(), ["lots.zip (lots.shp)"]);
}

#[test]
fn names_that_lead_out_are_only_names() {
    let shp = shp();
    let files: [(&str, &[u8]); 3] =
        [("../../x.shp", &shp), ("/etc/y.shp", &shp), ("C:\\maps\\z.shp", &shp)];
    assert_eq!(
        names(&files).unwrap(),
        ["lots.zip (../../x.shp)", "lots.zip (/etc/y.shp)", "lots.zip (C:/maps/z.shp)"]
    );
    assert!(!std::path::Path::new("../../x.shp").exists());
}

#[test]
fn geojson_is_handed_on_as_it_stands() {
    let files = [("a.geojson", COLLECTION), ("b.json", COLLECTION)];
    let layers = told_in("lots.zip", zipped(&files)).unwrap();
    assert_eq!(layers.len(), 2);
    assert_eq!((layers[1].name.as_str(), &layers[1].says), ("lots.zip (b.json)", &Says::GeoJson));
    assert_eq!(text(&layers[0]).as_bytes(), COLLECTION);
    // Beside other maps it describes them.
    let shp = shp();
    assert_eq!(names(&[("a.shp", &shp), ("meta.json", b"{}")]).unwrap(), ["lots.zip (a.shp)"]);
}

#[test]
fn of_a_kmz_its_main_file_is_read_and_of_a_zip_every_kml() {
    let files: [(&str, &[u8]); 3] = [("b.kml", b"b"), ("a.kml", b"a"), ("parts/c.kml", b"c")];
    let read = |name: &str, files: &[(&str, &[u8])]| -> Vec<String> {
        told_in(name, zipped(files)).unwrap().iter().map(text).collect()
    };
    assert_eq!(read("lots.kmz", &files), ["b"]);
    assert_eq!(read("lots.zip", &files), ["a", "b", "c"]);
    assert_eq!(read("lots.kmz", &[files[0], ("doc.kml", b"d")]), ["d"]);
    assert_eq!(read("lots.zip", &[files[0], ("Doc.kml", b"d")]), ["d"]);
    assert_eq!(read("lots.kmz", &files[2..]), ["c"]);
    let error = layers("x.kmz", &zipped(&files).into(), &Columns::default(), &no_kml).unwrap_err();
    assert_eq!(error.to_string(), "x.kmz (b.kml): is KML");
}

/// A pond in a file that is passed over would be sprayed.
#[test]
fn what_of_an_archive_is_not_read_is_told() {
    let said = |name: &str, files: &[(&str, &[u8])]| -> Vec<(Option<usize>, &str, String)> {
        let layers = told_in(name, zipped(files)).unwrap();
        let remarks = layers.into_iter().flat_map(|layer| layer.remarks);
        remarks.filter(|(_, code, _)| *code == "files-not-read").collect()
    };
    let wanted = |names: &str| {
        let cure = match names.contains("kml") {
            true => {
                "name each file that counts by itself, or zip all that count in one .zip without a doc.kml"
            }
            false => "name each file that counts by itself",
        };
        vec![(None, "files-not-read", format!("not read: {names}; {cure}"))]
    };
    let files: [(&str, &[u8]); 3] = [("b.kml", b"b"), ("a.kml", b"a"), ("parts/Ponds.kml", b"c")];
    assert_eq!(said("lots.kmz", &files), wanted("a.kml, parts/Ponds.kml"));
    assert_eq!(said("lots.zip", &[files[0], ("doc.kml", b"d")]), wanted("b.kml"));
    assert_eq!(said("lots.zip", &files), []);
    assert_eq!(said("lots.kmz", &files[..1]), []);
    // What is a map of another sort is told too.
    let shp = shp();
    let lots: [(&str, &[u8]); 3] = [("turf.shp", &shp), ("Wells.CSV", b"?"), ("read.me", b"?")];
    assert_eq!(said("lots.zip", &lots), wanted("Wells.CSV"));
    let many: Vec<String> = (0..30).map(|number| format!("{number:02}.gpx")).collect();
    let many: Vec<(&str, &[u8])> = many.iter().map(|name| (name.as_str(), &b"?"[..])).collect();
    let told = said("lots.zip", &[&lots[..1], &many].concat());
    assert!(
        told[0].2.starts_with("not read: 00.gpx, ") && told[0].2.contains("10 more"),
        "{told:?}"
    );
}

#[test]
fn an_archive_of_two_sorts_of_map_is_refused() {
    let shp = shp();
    assert_eq!(
        names(&[("lots.shp", &shp), ("beds.geojson", COLLECTION)]).unwrap_err(),
        "lots.zip: holds both lots.shp and beds.geojson; zip each sort of map by itself, so that none is left out"
    );
}

#[test]
fn an_archive_without_a_map_says_what_it_holds() {
    let inner = zipped(&[("lots.shp", &shp())]);
    assert_eq!(
        names(&[("inner.zip", &inner), ("a.dbf", b"?")]).unwrap_err(),
        "lots.zip: holds no map but a.dbf, inner.zip; expected a shapefile (.shp, .shx, .dbf, .prj), a .kml or a .geojson"
    );
    assert!(names(&[]).unwrap_err().contains("holds no map but nothing"));
}

#[test]
fn what_is_no_archive_is_refused() {
    let shp = shp();
    let whole = zipped(&[("lots.shp", &shp)]);
    for bytes in [Vec::new(), b"PK".to_vec(), shp.clone(), whole[..whole.len() - 5].to_vec()] {
        let error = told_in("lots.zip", bytes).unwrap_err().to_string();
        assert!(error.starts_with("lots.zip: not a whole zip archive ("), "{error}");
        assert!(error.ends_with("copy or download it again"), "{error}");
    }
}

#[test]
fn damage_inside_is_found_by_the_checksum() {
    let mut zip = zipped(&[("a.geojson", COLLECTION)]);
    let at = zip.windows(9).position(|it| it == b"a.geojson").unwrap() + 9;
    zip[at + 8] ^= 0x55;
    let error = told_in("lots.zip", zip).unwrap_err().to_string();
    assert!(error.contains("a.geojson in it cannot be unpacked ("), "{error}");
}

/// An archive whose only file is noted in its list with another value at a place of its entry.
fn noted(at: usize, value: u16) -> String {
    let mut zip = zipped(&[("lots.shp", &shp())]);
    let list = zip.windows(4).position(|it| it == b"PK\x01\x02").unwrap();
    zip[list + at..list + at + 2].copy_from_slice(&value.to_le_bytes());
    told_in("lots.zip", zip).unwrap_err().to_string()
}

#[test]
fn locked_files_and_unknown_methods_are_refused() {
    assert_eq!(
        noted(8, 1),
        "lots.zip: lots.shp in it is locked with a password; unpack it and zip it again without one"
    );
    let error = noted(10, 14);
    assert!(error.contains("packed by a method that is not read (Unsupported(14))"), "{error}");
}

#[test]
fn two_files_of_one_name_are_refused() {
    let shp = shp();
    // The writer refuses to make one, so a name is changed.
    let zip = zipped(&[("lots.shp", &shp), ("lotz.shp", &shp)]);
    let zip = String::from_utf8_lossy(&zip).contains("lotz.shp").then_some(zip).unwrap();
    let mut twice = zip;
    while let Some(at) = twice.windows(8).position(|it| it == b"lotz.shp") {
        twice[at + 3] = b's';
    }
    let error = told_in("lots.zip", twice).unwrap_err().to_string();
    assert!(error.contains("holds two files of one name"), "{error}");
    let error = names(&[("lots.shp", &shp), ("LOTS.shp", &shp)]).unwrap_err();
    assert!(error.contains("holds lots.shp twice"), "{error}");
}

#[test]
fn bombs_are_stopped_while_they_are_unpacked() {
    let zeros = vec![0; 3_000_000];
    let mut zip = zipped(&[("a.geojson", &zeros), ("b.geojson", &zeros)]);
    assert!(zip.len() < 10_000);
    let unpack = |zip: Vec<u8>, most: u64| {
        let bytes = zip.into();
        let mut archive = Archive::open("bomb.zip", &bytes, MOST_ENTRIES, most).unwrap();
        let names = archive.ending_in(&["geojson"]);
        let layers = archive.each(names, &|name, bytes| Ok(geojson(name, bytes)));
        layers.map(|layers| layers.len()).map_err(|error| error.to_string())
    };
    assert_eq!(unpack(zip.clone(), 6_000_000), Ok(2));
    let error = unpack(zip.clone(), 5_999_999).unwrap_err();
    assert!(error.contains("unpacks to more than") && error.contains("b.geojson"), "{error}");
    // One that claims to be small is not believed either.
    let list = zip.windows(4).position(|it| it == b"PK\x01\x02").unwrap();
    zip[list + 24..list + 28].copy_from_slice(&100_u32.to_le_bytes());
    assert!(unpack(zip, 6_000_000).is_err());
}

#[test]
fn one_thing_over_and_over_is_no_map_unless_it_is_a_table_of_blanks() {
    let blanks = |size: u64| [COLLECTION, &vec![b' '; size as usize - COLLECTION.len()]].concat();
    let error = names(&[("a.geojson", &blanks(UNASKED + 1))]).unwrap_err();
    assert!(error.contains("more than 100 times its own size, where a.geojson"), "{error}");
    assert_eq!(names(&[("a.geojson", &blanks(UNASKED))]).unwrap().len(), 1);
    // Corners at random come to four times.
    let mut state = 1_u64;
    let mut corner = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (state >> 33).to_string()
    };
    let numbers: String = (0..2_000_000).map(|_| corner() + ",").collect();
    let dense = format!(r#"{{"type":"FeatureCollection","features":[],"bbox":[{numbers}0]}}"#);
    assert!(dense.len() as u64 > UNASKED);
    assert_eq!(names(&[("a.geojson", dense.as_bytes())]).unwrap().len(), 1);
    let blank = [dbf(), vec![b' '; 20 << 20]].concat();
    assert_eq!(names(&[("lots.shp", &shp()), ("lots.dbf", &blank)]).unwrap().len(), 1);
}

#[test]
fn an_archive_of_too_many_files_is_not_listed() {
    let files: Vec<(String, &[u8])> = (0..20).map(|n| (format!("{n}.json"), COLLECTION)).collect();
    let files: Vec<(&str, &[u8])> = files.iter().map(|(name, it)| (name.as_str(), *it)).collect();
    let bytes = zipped(&files).into();
    assert!(Archive::open("lots.zip", &bytes, 20, MOST_BYTES).is_ok());
    let error = Archive::open("lots.zip", &bytes, 19, MOST_BYTES).err().unwrap().to_string();
    assert_eq!(error, "lots.zip: holds more than 19 files; zip the maps alone");
}

#[test]
fn a_list_longer_than_memory_is_given_up() {
    // 400,000 entries of 50 bytes.
    let mut zip = Vec::new();
    for number in 0..400_000_u32 {
        zip.extend(b"PK\x01\x02");
        zip.extend([0; 24]);
        zip.extend(4_u16.to_le_bytes());
        zip.extend([0; 16]);
        zip.extend(number.to_le_bytes());
    }
    let (length, start) = (zip.len() as u64, zip.len() as u64);
    zip.extend(b"PK\x06\x06");
    zip.extend(44_u64.to_le_bytes());
    zip.extend([45, 0, 45, 0]);
    zip.extend([0; 8]);
    zip.extend([400_000_u64, 400_000, length, 0].into_iter().flat_map(u64::to_le_bytes));
    zip.extend(b"PK\x06\x07\0\0\0\0");
    zip.extend(start.to_le_bytes());
    zip.extend(1_u32.to_le_bytes());
    zip.extend(b"PK\x05\x06\0\0\0\0");
    zip.extend([0xff; 12]);
    zip.extend([0; 2]);
    let error = told_in("lots.zip", zip).unwrap_err().to_string();
    assert_eq!(error, "lots.zip: holds more than 10000 files; zip the maps alone");
}

#[test]
fn a_prj_is_no_longer_than_a_line() {
    let long = vec![b' '; 2 << 20];
    let error = names(&[("lots.shp", &shp()), ("lots.prj", &long)]).unwrap_err();
    assert!(error.contains("lots.prj in it has more than 1048576 bytes"), "{error}");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 1000, ..ProptestConfig::default() })]

    /// Whatever happened to an archive, reading ends.
    #[test]
    fn damaged_archives_are_read_or_refused(
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..8),
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let (shp, dbf) = (shp(), dbf());
        let mut zip = zipped(&[("lots.shp", &shp), ("lots.dbf", &dbf), ("lots.prj", b"GEOGCS[1]")]);
        for (place, byte) in changes {
            let place = place.index(zip.len());
            zip[place] = byte;
        }
        if let Some(place) = cut {
            zip.truncate(place.index(zip.len()));
        }
        let layers = told_in("lots.zip", zip);
        prop_assert!(layers.is_err() || layers.is_ok_and(|layers| layers.len() == 1));
    }
}

/// As of a shapefile or a table, where nothing else says it.
#[test]
fn a_file_in_an_archive_is_called_by_its_kind() {
    let point: &[u8] = br#"{"type":"Point","coordinates":[-88,44]}"#;
    let feature = [&br#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":"#[..], point, b"}]}"].concat();
    let files: [(&str, &[u8]); 2] = [("gis/wells.geojson", &feature), ("pond.geojson", point)];
    let told = told_in("lots.zip", zipped(&files)).unwrap();
    assert!(text(&told[0]).contains(r#""@called":0"#), "{}", text(&told[0]));
    assert_eq!(told[0].called, [Some(Kind::Well)]);
    assert_eq!(text(&told[1]).as_bytes(), point);
    // A geometry alone is what the kinds file says of every feature.
    let kinds = Columns::read("kinds.toml", "[kind.\"*\"]\n\"*\" = \"water\"").unwrap();
    let zip = zipped(&files[1..]);
    let told = layers("lots.zip", &zip.into(), &kinds, &no_kml).unwrap();
    assert!(text(&told[0]).contains(r#""kind":"water""#), "{}", text(&told[0]));
}
