//! Shapefiles as programs write them, byte by byte, and as they are found: cut, damaged, or made
//! to claim what is not there.

#![allow(clippy::unwrap_used)] // A test may.

use proptest::prelude::*;
use serde_json::json;

use super::*;
use crate::columns::Columns;
use crate::crs::CoordinateSystem;
use crate::survey::{Source, read};

type Ring = Vec<(f64, f64)>;

/// A square whose south-west corner is at `x`, `y`.
fn square(x: f64, y: f64, side: f64, is_clockwise: bool) -> Ring {
    let mut ring = vec![(x, y), (x, y + side), (x + side, y + side), (x + side, y), (x, y)];
    if !is_clockwise {
        ring.reverse();
    }
    ring
}

fn doubles(numbers: &[f64]) -> Vec<u8> {
    numbers.iter().flat_map(|number| number.to_le_bytes()).collect()
}

fn integers(numbers: &[i32]) -> Vec<u8> {
    numbers.iter().flat_map(|number| number.to_le_bytes()).collect()
}

/// The content of a record of lines or rings.
fn parted(kind: i32, parts: &[Ring]) -> Vec<u8> {
    let corners: Vec<f64> = parts.iter().flatten().flat_map(|(x, y)| [*x, *y]).collect();
    let starts = parts.iter().scan(0, |start, part| {
        *start += part.len() as i32;
        Some(*start - part.len() as i32)
    });
    let mut content = integers(&[kind]);
    content.extend([0; 32]);
    content.extend(integers(&[parts.len() as i32, corners.len() as i32 / 2]));
    content.extend(integers(&starts.collect::<Vec<_>>()));
    content.extend(doubles(&corners));
    content
}

fn polygon(rings: &[Ring]) -> Vec<u8> {
    parted(5, rings)
}

fn point(x: f64, y: f64) -> Vec<u8> {
    [integers(&[1]), doubles(&[x, y])].concat()
}

/// A main file or an index around what it holds.
fn file(content: &[u8]) -> Vec<u8> {
    let mut file = 9994_i32.to_be_bytes().to_vec();
    file.extend([0; 20]);
    file.extend(((100 + content.len() as i32) / 2).to_be_bytes());
    file.extend(integers(&[1000, 5]));
    file.extend([0; 64]);
    file.extend(content);
    file
}

fn header(number: i32, content: &[u8]) -> Vec<u8> {
    [number, content.len() as i32 / 2].iter().flat_map(|it| it.to_be_bytes()).collect()
}

fn shp(records: &[Vec<u8>]) -> Vec<u8> {
    let records = records.iter().zip(1..);
    let records =
        records.map(|(content, number)| [header(number, content), content.clone()].concat());
    file(&records.collect::<Vec<_>>().concat())
}

/// An index that names these places, in bytes, and the records' lengths.
fn shx(records: &[(usize, &Vec<u8>)]) -> Vec<u8> {
    let entries = records.iter().flat_map(|(place, content)| header(*place as i32 / 2, content));
    file(&entries.collect::<Vec<_>>())
}

/// A table of columns `(name, type, length)` and rows, the first letter of which is its mark.
fn dbf(driver: u8, columns: &[(&str, u8, u8)], rows: &[&[u8]]) -> Vec<u8> {
    let row_length = 1 + columns.iter().map(|column| u16::from(column.2)).sum::<u16>();
    let mut dbf = vec![3, 95, 7, 26];
    dbf.extend((rows.len() as u32).to_le_bytes());
    dbf.extend((33 + 32 * columns.len() as u16).to_le_bytes());
    dbf.extend(row_length.to_le_bytes());
    dbf.resize(32, 0);
    dbf[29] = driver;
    for (name, letter, length) in columns {
        let mut field = [0; 32];
        field[..name.len()].copy_from_slice(name.as_bytes());
        (field[11], field[16]) = (*letter, *length);
        dbf.extend(field);
    }
    dbf.push(0x0d);
    for row in rows {
        let mut row = row.to_vec();
        row.resize(row_length.into(), b' ');
        dbf.extend(row);
    }
    dbf.push(0x1a);
    dbf
}

fn parts(shp: Vec<u8>, dbf: Option<Vec<u8>>) -> Parts {
    Parts { shp: shp.into(), shx: None, dbf: dbf.map(Bytes::from), prj: None, cpg: None }
}

fn told(parts: Parts) -> Result<Layer, ReadError> {
    layer("lots.shp", parts, &Columns::default())
}

/// What a layer says, as JSON.
fn features(layer: &Layer) -> Vec<serde_json::Value> {
    let mut text = Vec::new();
    layer.bytes.read(0, layer.bytes.length(), &mut text).unwrap();
    let mut json: serde_json::Value = serde_json::from_slice(&text).unwrap();
    json["features"].as_array_mut().unwrap().drain(..).collect()
}

/// The geometry of a file of one record.
fn geometry(content: Vec<u8>) -> serde_json::Value {
    features(&told(parts(shp(&[content]), None)).unwrap())[0]["geometry"].clone()
}

/// How the only record of a file cannot be read.
fn unreadable(content: Vec<u8>) -> String {
    geometry(content)["unreadable"].as_str().unwrap().to_owned()
}

/// Each polygon of a record as the areas of its rings, the shell's first.
fn areas(rings: &[Ring]) -> Vec<Vec<f64>> {
    let geometry = geometry(polygon(rings));
    let area = |ring: &serde_json::Value| {
        let corner = |at: &serde_json::Value| (at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
        let ring: Vec<_> = ring.as_array().unwrap().iter().map(corner).collect();
        let doubled: f64 = ring.windows(2).map(|at| at[0].0 * at[1].1 - at[1].0 * at[0].1).sum();
        doubled.abs() / 2.0
    };
    let polygons = geometry["coordinates"].as_array().unwrap().iter();
    polygons.map(|rings| rings.as_array().unwrap().iter().map(area).collect()).collect()
}

fn refusal(parts: Parts) -> String {
    told(parts).unwrap_err().to_string()
}

/// The properties of the rows of a table.
fn rows(
    table: Vec<u8>,
    cpg: Option<&str>,
    columns: &Columns,
) -> (Vec<serde_json::Value>, Vec<String>) {
    let count = u32::from_le_bytes(table[4..8].try_into().unwrap());
    let shapes = vec![point(1.0, 2.0); count as usize];
    let mut parts = parts(shp(&shapes), Some(table));
    parts.cpg = cpg.map(|cpg| cpg.as_bytes().to_vec());
    let layer = layer("lots.shp", parts, columns).unwrap();
    let rows = features(&layer).into_iter().map(|mut it| it["properties"].take()).collect();
    (rows, layer.left_out)
}

// Rings.

#[test]
fn rings_by_the_book_are_shells_and_their_holes() {
    let rings = [square(0.0, 0.0, 10.0, true), square(2.0, 2.0, 3.0, false)];
    assert_eq!(areas(&rings), [[100.0, 9.0]]);
}

#[test]
fn rings_that_all_run_the_wrong_way_come_out_right() {
    let rings = [
        square(0.0, 0.0, 10.0, false),
        square(20.0, 0.0, 8.0, false),
        square(2.0, 2.0, 3.0, true),
        square(22.0, 2.0, 2.0, true),
    ];
    assert_eq!(areas(&rings), [[100.0, 9.0], [64.0, 4.0]]);
}

#[test]
fn holes_after_all_shells_go_to_their_own() {
    let rings = [
        square(0.0, 0.0, 10.0, true),
        square(20.0, 0.0, 8.0, true),
        square(22.0, 2.0, 2.0, false),
        square(2.0, 2.0, 3.0, false),
    ];
    assert_eq!(areas(&rings), [[100.0, 9.0], [64.0, 4.0]]);
}

#[test]
fn a_hole_may_stand_before_its_shell() {
    let rings = [square(2.0, 2.0, 3.0, false), square(0.0, 0.0, 10.0, true)];
    assert_eq!(areas(&rings), [[100.0, 9.0]]);
}

#[test]
fn an_island_in_a_hole_is_a_polygon_of_its_own() {
    let rings = [
        square(0.0, 0.0, 10.0, true),
        square(1.0, 1.0, 8.0, false),
        square(2.0, 2.0, 6.0, true),
        square(3.0, 3.0, 4.0, false),
    ];
    assert_eq!(areas(&rings), [[100.0, 64.0], [36.0, 16.0]]);
}

#[test]
fn parts_beside_each_other_are_shells_whichever_way_they_run() {
    // They touch along an edge, and the box of the first holds all of the last.
    let ell =
        vec![(0.0, 0.0), (0.0, 9.0), (3.0, 9.0), (3.0, 3.0), (9.0, 3.0), (9.0, 0.0), (0.0, 0.0)];
    let rings = [ell, square(9.0, 0.0, 3.0, false), square(4.0, 4.0, 2.0, false)];
    assert_eq!(areas(&rings), [[45.0], [9.0], [4.0]]);
}

#[test]
fn a_hole_that_touches_its_shell_is_a_hole() {
    // Along the whole western edge, at a corner, and at none but corners.
    let at_edge = square(0.0, 2.0, 3.0, false);
    let at_corner = vec![(10.0, 10.0), (8.0, 9.0), (9.0, 8.0), (10.0, 10.0)];
    let diamond = vec![(5.0, 0.0), (6.0, 1.0), (5.0, 2.0), (4.0, 1.0), (5.0, 0.0)];
    let shell = vec![(0.0, 0.0), (0.0, 10.0), (10.0, 10.0), (10.0, 0.0), (5.0, 0.0), (0.0, 0.0)];
    let rings = [shell, at_edge, at_corner, diamond];
    assert_eq!(areas(&rings), [[100.0, 9.0, 1.5, 2.0]]);
}

#[test]
fn a_ring_in_a_ring_of_the_same_direction_has_two_readings_and_is_refused() {
    for way in [true, false] {
        let rings = [square(0.0, 0.0, 10.0, way), square(2.0, 2.0, 3.0, way)];
        assert_eq!(
            unreadable(polygon(&rings)),
            "its ring 2 lies in its ring 1 and runs the same way round, so it may be a hole or a part of its own; turn it round if it is a hole, else take it out"
        );
    }
    // A hole in a hole as well.
    let rings =
        [square(0.0, 0.0, 10.0, true), square(1.0, 1.0, 8.0, false), square(2.0, 2.0, 2.0, false)];
    assert!(unreadable(polygon(&rings)).contains("ring 3 lies in its ring 2"));
}

#[test]
fn rings_of_a_plane_far_from_the_origin_keep_their_direction() {
    // US feet, state plane: 1 ft squares at 2.4 million feet.
    let (x, y) = (2_438_712.25, 559_112.75);
    let rings = [square(x, y, 1.0, true), square(x + 0.25, y + 0.25, 0.125, false)];
    let geometry = geometry(polygon(&rings));
    assert_eq!(geometry["coordinates"][0].as_array().unwrap().len(), 2);
}

#[test]
fn tens_of_thousands_of_rings_are_grouped_at_once() {
    let mut rings = vec![square(-1.0, -1.0, 2000.0, true)];
    for row in 0..200 {
        for column in 0..200 {
            rings.push(square(f64::from(row) * 4.0, f64::from(column) * 4.0, 1.0, false));
        }
    }
    assert_eq!(areas(&rings)[0].len(), 40_001);
}

#[test]
fn rings_in_rings_in_rings_end_in_bounded_time() {
    let nested = |count: u32| -> Vec<Ring> {
        let ring = |n: u32| {
            square(f64::from(n), f64::from(n), f64::from(2 * (count - n)), n.is_multiple_of(2))
        };
        (0..count).map(ring).collect()
    };
    // So many do no harm, more are refused.
    assert_eq!(areas(&nested(300)).len(), 150);
    assert!(unreadable(polygon(&nested(20_000))).contains("split it into several features"));
}

#[test]
fn rings_that_hold_no_area_do_no_harm() {
    let line = vec![(2.0, 2.0), (4.0, 4.0), (2.0, 2.0)];
    assert_eq!(areas(&[square(0.0, 0.0, 10.0, true), line.clone()]), [[100.0, 0.0]]);
    assert_eq!(areas(&[line]), [[0.0]]);
    let twice = [square(0.0, 0.0, 10.0, true), square(0.0, 0.0, 10.0, false)];
    assert_eq!(areas(&twice), [[100.0, 100.0]]);
}

// Shapes.

#[test]
fn points_lines_and_their_kin_are_read_without_heights_and_measures() {
    assert_eq!(geometry(point(1.5, 2.5)), json!({"type": "Point", "coordinates": [1.5, 2.5]}));
    let with_height = [integers(&[11]), doubles(&[1.5, 2.5, 300.0, -1e39])].concat();
    assert_eq!(geometry(with_height), json!({"type": "Point", "coordinates": [1.5, 2.5]}));
    let with_measure = [integers(&[21]), doubles(&[1.5, 2.5, f64::NAN])].concat();
    assert_eq!(geometry(with_measure), json!({"type": "Point", "coordinates": [1.5, 2.5]}));
    for kind in [8, 18, 28] {
        let mut content = integers(&[kind]);
        content.extend([0; 32]);
        content.extend(integers(&[2]));
        content.extend(doubles(&[1.0, 2.0, 3.0, 4.0]));
        // Heights and measures of some of them.
        content.extend(doubles(&[0.0, 9.0, 7.0, 8.0]));
        assert_eq!(
            geometry(content),
            json!({"type": "MultiPoint", "coordinates": [[1.0, 2.0], [3.0, 4.0]]})
        );
    }
    for kind in [3, 13, 23] {
        let mut content =
            parted(kind, &[vec![(0.0, 0.0), (1.0, 1.0)], vec![(5.0, 5.0), (6.0, 5.0)]]);
        content.extend(doubles(&[0.0, 9.0, 7.0, 8.0]));
        assert_eq!(
            geometry(content),
            json!({"type": "MultiLineString", "coordinates": [[[0.0, 0.0], [1.0, 1.0]], [[5.0, 5.0], [6.0, 5.0]]]})
        );
    }
    for kind in [5, 15, 25] {
        let geometry = geometry(parted(kind, &[square(0.0, 0.0, 1.0, true)]));
        assert_eq!(geometry["type"], "MultiPolygon");
    }
}

#[test]
fn shapes_of_nothing_are_told_as_nothing() {
    let no_parts = parted(5, &[]);
    for content in [integers(&[0]), Vec::new(), no_parts, parted(3, &[Vec::new()])] {
        assert!(geometry(content).is_null());
    }
}

#[test]
fn what_cannot_be_read_is_told_with_its_cure_and_the_rest_is_read() {
    let mut multipatch = parted(31, &[square(0.0, 0.0, 1.0, true)]);
    multipatch.extend([0; 96]);
    let cases = [
        (multipatch, "multipatch"),
        (integers(&[9]), "shape type 9 is not known"),
        (vec![1, 0], "too short"),
        (point(1.0, 2.0)[..18].to_vec(), "too short"),
        (point(f64::NAN, 2.0), "infinite or not a number"),
        (polygon(&[vec![(0.0, 0.0), (f64::INFINITY, 0.0), (1.0, 1.0)]]), "infinite"),
    ];
    let contents: Vec<Vec<u8>> = cases.iter().map(|(content, _)| content.clone()).collect();
    let last = [contents, vec![point(7.0, 8.0)]].concat();
    let features = features(&told(parts(shp(&last), None)).unwrap());
    assert_eq!(features.len(), cases.len() + 1);
    for ((_, expected), feature) in cases.iter().zip(&features) {
        let reason = feature["geometry"]["unreadable"].as_str().unwrap();
        assert!(reason.contains(expected), "{reason}");
        assert!(reason.contains("export it") || reason.contains("draw it"), "{reason}");
    }
    assert_eq!(features[cases.len()]["geometry"]["coordinates"], json!([7.0, 8.0]));
}

#[test]
fn counts_that_are_not_there_are_not_believed() {
    let damaged = |at: usize, value: i32| {
        let mut content = polygon(&[square(0.0, 0.0, 1.0, true), square(5.0, 5.0, 1.0, true)]);
        content[at..at + 4].copy_from_slice(&value.to_le_bytes());
        unreadable(content)
    };
    // The number of parts, of corners, and where the parts start.
    for value in [i32::MAX, 1 << 24, -1, i32::MIN] {
        for at in [36, 40, 44, 48] {
            assert!(damaged(at, value).contains("export it again"), "{at} {value}");
        }
    }
    assert!(damaged(44, 3).contains("list of parts"));
    let mut points = integers(&[8]);
    points.extend([0; 32]);
    points.extend(integers(&[i32::MAX]));
    assert!(unreadable(points).contains("no room"));
}

#[test]
fn a_record_beyond_all_measure_is_passed_over() {
    let long = vec![0; (32 << 20) + 4];
    let layer = told(parts(shp(&[long, point(7.0, 8.0)]), None)).unwrap();
    let features = features(&layer);
    let reason = features[0]["geometry"]["unreadable"].as_str().unwrap();
    assert!(reason.contains("33554436 bytes"), "{reason}");
    assert_eq!(features[1]["geometry"]["coordinates"], json!([7.0, 8.0]));
}

// Files.

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

// Tables.

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

// Damage.

/// A file with some of everything.
fn sound() -> (Vec<u8>, Vec<u8>, Vec<u8>) {
    let contents = [
        polygon(&[square(0.0, 0.0, 10.0, true), square(2.0, 2.0, 3.0, false)]),
        integers(&[0]),
        parted(13, &[vec![(0.0, 0.0), (1.0, 1.0)], vec![(5.0, 5.0), (6.0, 5.0)]]),
        point(5.0, 6.0),
    ];
    let mut at = 100;
    let places: Vec<_> = contents
        .iter()
        .map(|content| {
            let place = at;
            at += 8 + content.len();
            (place, content)
        })
        .collect();
    let columns = [("KIND", b'C', 5), ("WIDTH_FT", b'N', 6), ("NAME", b'C', 6)];
    let rows: [&[u8]; 4] = [b" turf   12.5Caf\xe9", b" water     1", b"*well", b" bed  ******"];
    (shp(&contents), shx(&places), dbf(0x57, &columns, &rows))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 2000, ..ProptestConfig::default() })]

    /// Whatever happened to its files, reading ends, and with as many features as there are rows.
    #[test]
    fn damaged_files_are_read_or_refused(
        changes in prop::collection::vec((0..3_usize, any::<prop::sample::Index>(), any::<u8>()), 0..6),
        cut in prop::option::of((0..3_usize, any::<prop::sample::Index>())),
        indexed in any::<bool>(),
    ) {
        let (shp, shx, dbf) = sound();
        let mut files = [shp, shx, dbf];
        for (file, place, byte) in changes {
            let place = place.index(files[file].len());
            files[file][place] = byte;
        }
        if let Some((file, place)) = cut {
            let place = place.index(files[file].len());
            files[file].truncate(place);
        }
        let [shp, shx, dbf] = files;
        let mut parts = parts(shp, Some(dbf));
        parts.shx = Some(Bytes::from(shx)).filter(|_| indexed);
        if let Ok(layer) = layer("lots.shp", parts, &Columns::all()) {
            prop_assert!(features(&layer).len() <= 4);
            let source = Source::told(Layer { says: Says::LongitudeLatitude, ..layer }, CoordinateSystem::AsTheFileSays);
            let map = read(&[source]);
            prop_assert!(map.is_ok(), "{:?}", map.err());
        }
    }

    /// Shells with holes come out the same in any order of rings and whichever way all of them run.
    #[test]
    fn order_and_direction_of_rings_change_nothing(
        lots in prop::collection::vec(prop::collection::vec(any::<bool>(), 0..4), 1..6),
        reversed in any::<bool>(),
        shift in any::<prop::sample::Index>(),
    ) {
        let mut rings = Vec::new();
        let mut expected = Vec::new();
        for (lot, beds) in lots.iter().enumerate() {
            let x = 20.0 * lot as f64;
            rings.push(square(x, 0.0, 10.0, !reversed));
            let mut areas = vec![100.0];
            for (bed, is_wide) in beds.iter().enumerate() {
                let side = if *is_wide { 2.0 } else { 1.0 };
                rings.push(square(x + 2.5 * bed as f64, 1.0, side, reversed));
                areas.push(side * side);
            }
            expected.push(areas);
        }
        let shift = shift.index(rings.len());
        rings.rotate_left(shift);
        let mut found = areas(&rings);
        let sort = |polygons: &mut Vec<Vec<f64>>| {
            polygons.iter_mut().for_each(|it| it[1..].sort_by(f64::total_cmp));
            polygons.sort_by(|a, b| a.partial_cmp(b).unwrap());
        };
        sort(&mut found);
        sort(&mut expected);
        prop_assert_eq!(found, expected);
    }
}
