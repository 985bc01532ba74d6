//! Records, sound and unsound.

use super::*;

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
