#![allow(clippy::unwrap_used)]

use proptest::prelude::*;

use super::*;
use crate::CoordinateSystem;
use crate::survey::{Source, read};

fn of(text: impl AsRef<[u8]>) -> Result<Layer, ReadError> {
    layer("lots.geojsonl", &text.as_ref().to_vec().into())
}

/// Names of the turf and what is wrong, as the reader of the collection finds them.
fn found(text: impl AsRef<[u8]>) -> (Vec<String>, Vec<String>) {
    let layer = of(text).unwrap();
    let map = read(&[Source::told(layer, CoordinateSystem::AsTheFileSays)]).unwrap();
    let problems = map.problems().iter().map(|problem| problem.error.to_string()).collect();
    let mut names = Vec::new();
    for property in map.properties().iter().copied() {
        names.extend(map.read_property(property).unwrap().features.into_iter().map(|f| f.name));
    }
    (names, problems)
}

fn lawn(name: &str) -> String {
    format!(
        r#"{{"type":"Feature","properties":{{"kind":"turf","name":"{name}"}},"geometry":{{"type":"Polygon","coordinates":[[[-93.001,44.9],[-93,44.9],[-93,44.901],[-93.001,44.9]]]}}}}"#
    )
}

#[test]
fn lines_and_sequences_are_read() {
    let (a, b) = (lawn("A"), lawn("B"));
    for text in [
        format!("{a}\n{b}\n"),
        format!("{a}\r\n\r\n\r\n{b}"),
        format!("\u{feff}{a}\n{b}\n"),
        format!("\u{1e}{a}\n\u{1e}{b}\n"),
        format!("\n\u{1e}\u{1e}{a}\n\u{1e}\n\u{1e}{b}"),
        format!("\u{1e}{}\n\u{1e}{b}\n", a.replace(',', ",\n")),
        format!("{{\"type\":\"FeatureCollection\",\"features\":[{a},{b}]}}\n"),
        format!("\u{1e}{{\"features\":[\n{a},\n{b}],\n\"type\":\"FeatureCollection\"}}\n"),
    ] {
        assert_eq!(found(&text), (vec!["A".into(), "B".into()], vec![]), "{text}");
    }
}

#[test]
fn a_text_that_is_cut_off_is_named_and_those_after_it_are_read() {
    let (a, b) = (lawn("A"), lawn("B"));
    for length in 1..a.len() {
        let cut = &a[..length];
        let (names, problems) = found(format!("{b}\n\n{cut}\n{}\n", lawn("C")));
        assert_eq!(names, ["B", "C"], "{cut}");
        let [problem] = problems.as_slice() else { panic!("{cut}: {problems:?}") };
        assert!(
            problem.starts_with("lots.geojsonl item 2") && problem.contains(": line 3, column "),
            "{problem}"
        );
        let (names, problems) = found(format!("\u{1e}{b}\n\u{1e}{cut}\u{1e}{}\n", lawn("C")));
        assert_eq!((names.len(), problems.len()), (2, 1), "{cut}");
    }
    let (names, problems) = found(format!("{b}\n{}", &a[..a.len() / 2]));
    assert_eq!((names.len(), problems.len()), (1, 1), "{problems:?}");
}

#[test]
fn the_mistake_stands_where_it_is_in_the_file() {
    let text =
        format!("{}\n{{\"type\":\"Feature\" \"properties\":{{}}}}\n{}\n", lawn("A"), lawn("B"));
    let (_, problems) = found(text);
    assert_eq!(
        problems,
        [
            "lots.geojsonl item 2: line 2, column 19: not JSON: expected `,` or `}`; correct it there"
        ]
    );
}

#[test]
fn lines_after_a_broken_text_of_several_lines_stay_the_same() {
    let other = r#"{"type":"Feature","properties":{"kind":"tree"},"geometry":null}"#;
    let ok = lawn("A");
    let bad = "{\"type\":\n\"Feature\",\n\"properties\":{\"name\": oops\n\n}}";
    let lake = other.replace("null", r#"{"type":"Point","coordinates":[-93,44.9]}"#);
    let (_, problems) = found(format!("\u{1e}{ok}\n\u{1e}{bad}\n\u{1e}{lake}\n"));
    assert!(problems[0].starts_with("lots.geojsonl item 2: line 4, column "), "{problems:#?}");
    let at = read(&[Source::told(
        of(format!("\u{1e}{ok}\n\u{1e}{bad}\n\u{1e}{lake}\n")).unwrap(),
        CoordinateSystem::AsTheFileSays,
    )])
    .unwrap();
    assert!(
        at.problems()
            .iter()
            .any(|p| format!("{:#}", p.error.place().unwrap()) == "lots.geojsonl item 3, line 7")
    );
}

#[test]
fn what_is_json_but_no_feature_is_named() {
    for odd in [
        "7",
        "[1,2]",
        "\"lawn\"",
        "null",
        "{}",
        r#"{"type":"Lawn"}"#,
        r#"{"type":7}"#,
        r#"{"type":"Feature","type":"Feature"}"#,
    ] {
        let (names, problems) = found(format!("{}\n{odd}\n{}\n", lawn("A"), lawn("B")));
        assert_eq!(names, ["A", "B"], "{odd}");
        assert!(!problems.is_empty() || odd.contains("Feature"), "{odd}");
    }
}

#[test]
fn garbage_is_named_and_passed() {
    for odd in [
        "hello",
        "}",
        "]}",
        "{} {}",
        "{\"a\":1}}",
        "\"",
        "{\"a\":\"\\",
        "{\"a\":\"\\u12",
        "{\"a\":[{\"b\":\"c\\\"",
        "\u{0}",
    ] {
        let (names, problems) = found(format!("{}\n{odd}\n{}\n", lawn("A"), lawn("B")));
        assert_eq!(names, ["A", "B"], "{odd:?}");
        assert_eq!(problems.len(), 1, "{odd:?} {problems:?}");
    }
    let latin = lawn("A").replace('A', "\u{fffd}").into_bytes();
    let latin: Vec<u8> = latin
        .iter()
        .copied()
        .filter(|b| !matches!(b, 0xef | 0xbf))
        .map(|b| if b == 0xbd { 0xfc } else { b })
        .collect();
    let (names, problems) =
        found([lawn("B").as_bytes(), b"\n", &latin, b"\n", lawn("C").as_bytes()].concat());
    assert_eq!((names.len(), problems.len()), (2, 1), "{problems:?}");
}

#[test]
fn bare_geometries_become_features() {
    let point = r#"{"type":"Point","coordinates":[-93,44.9]}"#;
    let (names, problems) = found(format!("{}\n{point}\n", lawn("A")));
    assert_eq!(names, ["A"]);
    assert!(problems[0].contains("add a \"kind\""), "{problems:?}");
}

#[test]
fn a_collection_with_a_system_of_its_own_is_refused() {
    let text =
        format!("{}\n{{\"type\":\"FeatureCollection\",\"crs\":{{}},\"features\":[]}}\n", lawn("A"));
    assert_eq!(
        of(text).unwrap_err().to_string(),
        "lots.geojsonl: line 2: a FeatureCollection with a \"crs\" of its own; save it as a GeoJSON file"
    );
}

#[test]
fn a_text_without_an_end_is_given_up() {
    let text = format!("{}\n{{\"a\":\"{}", lawn("A"), "a".repeat(LONGEST));
    assert!(of(text).unwrap_err().to_string().contains("line 2: a text of more than 64 MB"));
}

#[test]
fn a_form_feed_between_texts_is_a_blank() {
    let layer = of(format!("{}\n\u{c}\n\u{c}{}\u{c}\n", lawn("A"), lawn("B"))).unwrap();
    let map = read(&[Source::told(layer, CoordinateSystem::AsTheFileSays)]).unwrap();
    assert_eq!(map.feature_count(), 2);
}

#[test]
fn sequences_are_known_by_their_start() {
    let (a, b) = (lawn("A"), lawn("B"));
    for (text, expected) in [
        (format!("{a}\n{b}"), true),
        (format!("\u{feff}{a}\r\n\n{{"), true),
        (format!("\u{1e}{a}"), true),
        (format!("{a}\n"), false),
        (a.clone(), false),
        (format!("{{\"type\":\"FeatureCollection\",\"features\":[\n{a},\n{b}]}}"), false),
        (format!("[{a}\n{{"), false),
        ("{}\n{}\n".to_owned(), false),
        (String::new(), false),
    ] {
        assert_eq!(is_sequence(text.as_bytes()), expected, "{text}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// However one text is damaged, the one before and the one after it are read.
    #[test]
    fn a_damaged_text_takes_no_other_along(changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6), is_separated in any::<bool>()) {
        let mut middle = lawn("B").into_bytes();
        for (at, byte) in changes {
            let at = at.index(middle.len());
            middle[at] = if matches!(byte, b'\n' | SEPARATOR) { b'x' } else { byte };
        }
        let before: &[u8] = if is_separated { b"\x1e" } else { b"" };
        let text = [before, lawn("A").as_bytes(), b"\n", before, &middle, b"\n", before, lawn("C").as_bytes(), b"\n"].concat();
        let layer = of(text).unwrap();
        let mut told = Vec::new();
        layer.bytes.read(0, layer.bytes.length(), &mut told).unwrap();
        let map = read(&[Source::told(layer, CoordinateSystem::AsTheFileSays)]).unwrap();
        prop_assert!(map.feature_count() >= 2);
        let told = String::from_utf8_lossy(&told);
        prop_assert!(told.contains("\"A\"") && told.contains("\"C\""));
    }
}
