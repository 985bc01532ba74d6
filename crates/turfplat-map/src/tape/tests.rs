#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use std::f64::consts::PI;
use std::time::Instant;

use proptest::prelude::*;
use serde_json::Value;

use super::fields::of;
use super::{layer, layer_of_csv};
use crate::crs::CoordinateSystem;
use crate::error::ReadError;
use crate::formats::told::Layer;
use crate::property_map::PropertyMap;
use crate::survey::{Source, read};

const SQUARE_FOOT: f64 = 0.092_903_04;

/// The features that a layer tells.
fn features(layer: &Layer) -> Vec<Value> {
    let mut bytes = Vec::new();
    layer.bytes.read(0, layer.bytes.length(), &mut bytes).unwrap();
    let told: Value = serde_json::from_slice(&bytes).unwrap();
    told["features"].as_array().unwrap().clone()
}

fn sheet(text: &str) -> Layer {
    layer("lawn.toml", text).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

fn map_of(layer: Layer) -> PropertyMap {
    read(&[Source::told(layer, CoordinateSystem::PLANE_METRES)]).unwrap()
}

/// What is wrong with a sheet, as the map says it.
fn problems(text: &str) -> Vec<String> {
    map_of(sheet(text)).problems().iter().map(|problem| problem.error.to_string()).collect()
}

fn only_problem(text: &str) -> String {
    let problems = problems(text);
    assert_eq!(problems.len(), 1, "{problems:#?}\n{text}");
    problems.into_iter().next().unwrap()
}

fn pairs(ring: &Value) -> Vec<(f64, f64)> {
    let pair = |pair: &Value| (pair[0].as_f64().unwrap(), pair[1].as_f64().unwrap());
    ring.as_array().unwrap().iter().map(pair).collect()
}

/// Square metres of a told feature, summed here anew and from its own corner.
fn area(feature: &Value) -> f64 {
    let shoelace = |ring: &Value| {
        let ring = pairs(ring);
        let (x, y) = ring[0];
        let cross = |pair: &[(f64, f64)]| {
            (pair[0].0 - x) * (pair[1].1 - y) - (pair[1].0 - x) * (pair[0].1 - y)
        };
        ring.windows(2).map(cross).sum::<f64>().abs() / 2.0
    };
    let (geometry, properties) = (&feature["geometry"], &feature["properties"]);
    let coordinates = &geometry["coordinates"];
    match geometry["type"].as_str() {
        Some("Polygon") => shoelace(&coordinates[0]),
        Some("MultiPolygon") => {
            coordinates.as_array().unwrap().iter().map(|polygon| shoelace(&polygon[0])).sum()
        }
        Some("Point") => PI * properties["radius_m"].as_f64().unwrap_or(0.0).powi(2),
        Some("LineString") => {
            let path = pairs(coordinates);
            let length = |pair: &[(f64, f64)]| (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1);
            path.windows(2).map(length).sum::<f64>() * properties["width_m"].as_f64().unwrap()
        }
        other => panic!("{other:?} {feature}"),
    }
}

fn area_of(figure: &str) -> f64 {
    area(&features(&sheet(&format!("unit = \"ft\"\n[[shape]]\nkind = \"turf\"\n{figure}")))[0])
}

fn square_feet(figure: &str) -> f64 {
    area_of(figure) / SQUARE_FOOT
}

/// Nothing but rounding is left: figures are exact, curves are drawn to hold their area.
fn assert_close(ours: f64, published: f64, what: &str) {
    assert!((ours - published).abs() <= 1e-9 * published, "{what}: {ours} ≠ {published}");
}

// ---- published figures ----

#[test]
fn areas_agree_with_published_examples() {
    #[rustfmt::skip]
    let table = [
        // figure, exact (sq ft), and where the measures are published
        ("rectangle = { length = 60, width = 25 }", 1500.0, "A1: Gerken, Oklahoma State-OKC, 2013 (prints 1500)"),
        ("triangle = { base = 30, height = 26 }", 390.0, "A2: Gerken, Oklahoma State-OKC, 2013 (prints 390)"),
        ("circle = { diameter = 80 }", 5_026.548_245_743_7, "A3: Gerken, Oklahoma State-OKC, 2013 (prints 5024 with 3.14)"),
        ("ellipse = { length = 15, width = 5 }", 58.904_862_254_8, "A5: How to measure an area, handout (prints 58.9)"),
        (r#"offsets = { length = 128, widths = [10, 14, 18, 35, 13, 30, 23, 20, 15, 8], rule = "mean" }"#, 2380.8, "A6: How to measure an area, handout (prints 2380.8)"),
        (r#"line = { length = "1,760 yd", width = 60 }"#, 7.272_727_272_7 * 43_560.0, "A8: Iowa State, Buffer FAQ 20 (prints 7.3 A)"),
        (r#"rectangle = { length = "1,760 yd", width = 100 }"#, 12.121_212_121_2 * 43_560.0, "A9: Iowa State, Buffer FAQ 20 (prints 12.1 A)"),
        ("triangle = { a = 13, b = 14, c = 15 }", 84.0, "Heron of Alexandria, Metrica I.8"),
    ];
    for (figure, exact, source) in table {
        // To the digits to which the table gives it.
        let ours = square_feet(figure);
        assert!(
            (ours - exact).abs() <= 1e-11 * exact + 5e-10 * exact,
            "{figure}: {ours} ≠ {exact}, {source}"
        );
    }
}

/// A4: West Australian TAFE toolbox, Calculating area: a green whose radii, measured every ten
/// degrees, are 15 m in the mean; printed 706.5 m² (3.14), exact 706.8583470577 m².
#[test]
fn the_mean_radius_of_a_green_gives_the_handbooks_area() {
    let circle = area_of(r#"circle = { radius = "15 m" }"#);
    let lengths: Vec<String> = (0..36).map(|n| (10 + n % 3 * 5).to_string()).collect();
    let lengths = lengths.join(", ");
    let radii = format!(
        "unit = \"m\"\n[[shape]]\nkind = \"turf\"\nradii = {{ lengths = [{lengths}], rule = \"mean-radius\" }}"
    );
    let radii = area(&features(&sheet(&radii))[0]);
    assert!((circle - 706.858_347_057_7).abs() < 1e-9, "{circle}");
    assert!((radii - 706.858_347_057_7).abs() < 1e-9, "{radii}");
    // The handbook takes 3.14 for π.
    assert!((314.0 / 100.0 / PI * radii - 706.5).abs() < 1e-9);
}

/// A7: Univ. of Maryland Extension, Bay-Wise calculation example: 67 × 130 + 20 × 20 / 2 + 20 × 25 ft,
/// less 4857.5 sq ft; printed 9410, net 4552.5.
#[test]
fn a_net_lawn_of_several_figures_agrees_with_the_published_one() {
    let text = r#"
        unit = "ft"
        [[shape]]
        kind = "turf"
        name = "Lawn"
        rectangle = [{ length = 67, width = 130 }, { length = 20, width = 25 }]
        triangle = { base = 20, height = 20 }
        [[shape]]
        kind = "building"
        within = "Lawn"
        area = "4,857.5 sq ft"
    "#;
    let layer = sheet(text);
    let areas: Vec<f64> = features(&layer).iter().map(|it| area(it) / SQUARE_FOOT).collect();
    assert_close(areas[0], 9410.0, "gross");
    assert_close(areas[0] - areas[1], 4552.5, "net");
    assert_eq!(
        layer.remarks.iter().map(|(item, code, _)| (*item, *code)).collect::<Vec<_>>(),
        [(0, "left-as-area"), (0, "not-placed")]
    );
    assert_eq!(
        layer.remarks[0].2,
        "is laid as a rectangle of its area, strips of which stand for item 2: its net area is right if what is taken out lies inside and apart, but its edge and distances in it are not known"
    );
}

/// Area by offsets from a straight line, illustrative problems 1 and 2 (surveying handout): offsets
/// 3.5 m apart; printed 211.4 m² by the trapezoid rule and 211.17 m² by Simpson's.
#[test]
fn offsets_agree_with_the_published_example_rule_by_rule() {
    let by = |rule: &str| {
        area_of(&format!(
            r#"offsets = {{ spacing = "3.5 m", rule = "{rule}", widths = ["0.8 m", "3.6 m", "4.7 m", "5.3 m", "3.9 m", "2.7 m", "4.6 m", "5.5 m", "4.9 m", "7.6 m", "8.8 m", "5.4 m", "6.0 m"] }}"#
        ))
    };
    assert_close(by("trapezoid"), 211.4, "trapezoid rule");
    assert!((by("simpson") - 211.17).abs() < 0.005, "{}", by("simpson"));
    // Worked by hand: 3.5 / 3 × (6.8 + 2 × 26.9 + 4 × 30.1), and 42 × 63.8 / 13.
    assert_close(by("simpson"), 3.5 / 3.0 * 181.0, "Simpson");
    assert_close(by("mean"), 42.0 * 63.8 / 13.0, "plain mean");
}

/// Simpson's rule is exact for a parabola: 2/3 of 6 ft × 9 ft, worked by hand.
#[test]
fn simpsons_rule_is_exact_for_a_parabola() {
    let widths: Vec<String> = (0..=6).map(|x| (x * (6 - x)).to_string()).collect();
    let figure = format!(
        r#"offsets = {{ spacing = 1, widths = [{}], rule = "simpson" }}"#,
        widths.join(",")
    );
    assert_close(square_feet(&figure), 36.0, "parabola");
}

/// Worked by hand: four radii of 1, 2, 3 and 4 at right angles, ½ (2 + 6 + 12 + 4).
#[test]
fn radii_by_triangles() {
    assert_close(
        square_feet(r#"radii = { lengths = [1, 2, 3, 4], rule = "triangles" }"#),
        12.0,
        "radii",
    );
}

/// Sample traverse computations (published sheet): six courses, compass rule; printed relative error
/// of closure 1/200, area 1,715,250.0494.
const COARSE: &str = r#"courses = [
    ["N 5°30' E", 495.85], ["N 46°02' E", 850.62], ["S 67°38' E", 855.45],
    ["S 12°25' E", 1020.87], ["S 83°44' W", 1117.26], ["N 55°09' W", 660.08]]"#;

#[test]
fn an_adjusted_traverse_has_the_published_area() {
    let text = format!(
        "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\ntraverse = {{ at_most = \"1:200\", {COARSE} }}"
    );
    let layer = sheet(&text);
    let ours = area(&features(&layer)[0]) / SQUARE_FOOT;
    assert!((ours - 1_715_250.049_4).abs() < 0.5, "{ours}");
    let (item, code, message) = &layer.remarks[0];
    assert_eq!((*item, *code), (0, "not-placed"), "{message}");
    let (item, code, message) = &layer.remarks[1];
    assert_eq!((*item, *code), (0, "traverse-closure"));
    assert_eq!(
        message,
        "the end of its traverse lies 24.7 ft (7.52 m) from its start after 5,000 ft (1,524 m), 1:202; that was shared out over its courses by the compass rule"
    );
    let unasked = text.replace("at_most = \"1:200\", ", "");
    assert_eq!(
        only_problem(&unasked),
        "lawn.toml item 1, line 2: geometry cannot be read: traverse does not close: its end lies 24.7 ft (7.52 m) from its start after 5,000 ft (1,524 m), 1:202, which is more than 1:300; look for a bearing or distance misread or left out, or allow more with at_most = \"1:100\""
    );
}

/// Mahun, Open Access Surveying Library, Traverse Adjustment, problem 1: adjusted latitudes and
/// departures of four courses, printed to 0.001 ft.
#[test]
fn courses_are_adjusted_as_published() {
    let text = r#"
        unit = "ft"
        [[shape]]
        kind = "turf"
        at = { east = 0, north = 0 }
        traverse = { courses = [
            ["S36°00'00\"E", 379.25], ["S75°23'18\"W", 408.90], ["N14°43'29\"W", 298.65], ["N63°59'20\"E", 276.55]] }
    "#;
    let told = &features(&sheet(text))[0];
    // The courses run clockwise, the ring as RFC 7946 asks.
    let mut ring = pairs(&told["geometry"]["coordinates"][0]);
    ring.reverse();
    let steps: Vec<(f64, f64)> = ring
        .windows(2)
        .map(|pair| ((pair[1].0 - pair[0].0) / 0.3048, (pair[1].1 - pair[0].1) / 0.3048))
        .collect();
    let published =
        [(222.954, -306.862), (-395.637, -103.197), (-75.881, 288.809), (248.564, 121.250)];
    for ((east, north), (departure, latitude)) in steps.iter().zip(published) {
        assert!(
            (east - departure).abs() < 1.5e-3 && (north - latitude).abs() < 1.5e-3,
            "{steps:?}"
        );
    }
}

// ---- curves ----

#[test]
fn an_ellipse_holds_its_area_and_a_pond_contains_its_ellipse() {
    let ours = area_of(r#"ellipse = { length = "40 m", width = "12 m" }"#);
    assert!((ours - PI * 120.0).abs() < 1e-9 * ours, "{ours}");
    let text = r#"
        [[shape]]
        kind = "water"
        at = { east = "0 m", north = "0 m" }
        ellipse = { length = "40 m", width = "12 m" }
    "#;
    let ring = pairs(&features(&sheet(text))[0]["geometry"]["coordinates"][0]);
    for pair in ring.windows(2) {
        let middle = ((pair[0].0 + pair[1].0) / 2.0, (pair[0].1 + pair[1].1) / 2.0);
        let out = (middle.0 / 20.0).hypot(middle.1 / 6.0);
        assert!((1.0 - 1e-12..1.0 + 1e-5).contains(&out), "{out}");
    }
}

// ---- lengths ----

#[test]
fn lengths_as_people_write_them() {
    for (length, metres) in [
        ("60", 60.0 * 0.3048),
        (r#""60""#, 60.0 * 0.3048),
        (r#""7.5 m""#, 7.5),
        (r#""25 ft""#, 7.62),
        (r#""12 ft 6 in""#, 3.81),
        (r#"'''12'6"'''"#, 3.81),
        (r#"'''12' - 6 1/2"'''"#, 3.8227),
        (r#""12’ 6”""#, 3.81),
        (r#""12′6½″""#, 3.8227),
        (r#""12 feet, 6 inches""#, 3.81),
        (r#""18 in""#, 0.4572),
        (r#""5 yd""#, 4.572),
        (r#""1,000 ft""#, 304.8),
        (r#""1/2 ft""#, 0.1524),
    ] {
        let ours = area_of(&format!("rectangle = {{ length = {length}, width = \"1 m\" }}"));
        assert!((ours - metres).abs() < 1e-12 * metres.max(1.0), "{length}: {ours}");
    }
}

#[test]
fn lengths_that_cannot_be_meant_are_refused() {
    for (length, reason) in [
        ("-3", "is -3; give a length from 0 to 100 km"),
        ("0", "is 0; give a length from 0 to 100 km, and not 0"),
        ("nan", "is NaN; give a length from 0 to 100 km"),
        ("inf", "is inf; give a length from 0 to 100 km"),
        ("400000", "is 400000; give a length from 0 to 100 km"),
        ("99999999999999999999", "is inf; give a length from 0 to 100 km"),
        (r#""101 km""#, r#": "km" is not a unit known here; use one of: ft, in, yd, m, cm"#),
        (
            r#""12,5 m""#,
            r#": "12,5 m": a comma may only part thousands ("1,000"); write decimals with a point ("0.25")"#,
        ),
        (
            r#""12 ft 14 in""#,
            r#"has "14 in" after its feet; write less than 12 in there, such as "12 ft 6 in""#,
        ),
        (
            r#""12 ft 6 ft""#,
            r#"has "6 ft" after its feet; write less than 12 in there, such as "12 ft 6 in""#,
        ),
        ("true", r#"is true; give a length such as "25 ft""#),
        (r#""""#, r#": "" does not start with a number; write it like "0.25" or "1/4""#),
        (r#""10 – 12 ft""#, r#": "10 – 12 ft" is a range; choose one figure inside it"#),
    ] {
        let text = format!(
            "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nrectangle = {{ length = {length}, width = 3 }}"
        );
        let problem = only_problem(&text);
        let expected = format!(
            "lawn.toml item 1, line 2: geometry cannot be read: {}",
            of("rectangle length", reason)
        );
        assert_eq!(problem, expected);
    }
}

#[test]
fn a_bare_number_needs_the_sheets_unit() {
    let text = "[[shape]]\nkind = \"turf\"\nname = \"Front\"\nrectangle = { length = 60, width = \"9 m\" }";
    assert_eq!(
        only_problem(text),
        r#"lawn.toml item 1 ("Front"), line 1: geometry cannot be read: rectangle length is 60 without a unit; write "60 ft", or unit = "ft" for all numbers"#
    );
}

// ---- what is refused ----

fn reason(shape: &str) -> String {
    let text = format!("unit = \"ft\"\n[[shape]]\nkind = \"turf\"\n{shape}");
    let problem = only_problem(&text);
    problem
        .strip_prefix("lawn.toml item 1, line 2: geometry cannot be read: ")
        .unwrap_or(&problem)
        .to_owned()
}

#[test]
fn figures_that_cannot_be_are_refused() {
    for (shape, expected) in [
        ("triangle = { a = 3, b = 4, c = 8 }", "triangle a, b and c close no triangle"),
        ("triangle = { a = 3, b = 4, c = 7 }", "triangle a, b and c close no triangle"),
        ("triangle = { a = 3, b = 4 }", "triangle has no c; give it"),
        ("triangle = { base = 3, a = 4 }", "triangle has a base or height and sides too"),
        ("rectangle = { length = 60 }", "rectangle has no width; give it"),
        (
            "rectangle = { lenght = 60, width = 42 }",
            r#"rectangle has "lenght", which it does not take; did you mean "length"?"#,
        ),
        (
            "rectangle = { length = 60, width = 42, colour = 3 }",
            r#"rectangle has "colour", which it does not take; it takes length, width"#,
        ),
        ("rectangle = 60", "rectangle is 60; give its measures in braces"),
        ("circle = { radius = 3, diameter = 6 }", "circle has a radius and a diameter; keep one"),
        ("circle = {}", "circle has no radius or diameter; give it"),
        (r#"circle = { radius = "10,000 m" }"#, "circle has a radius of 10 km or more"),
        (
            "rectangel = { length = 60, width = 42 }",
            r#""rectangel" is not known here; did you mean "rectangle"?"#,
        ),
        ("", "has no figure; give one of rectangle, triangle,"),
        ("rectangle = []", "has no figure; give one of rectangle, triangle,"),
        ("setback = 25", r#""setback" is not known here; did you mean "setback_m"?"#),
        (
            r#"offsets = { spacing = 5, widths = [1, 2, 3] }"#,
            r#"offsets names no rule; published ones differ: give one of "mean", "trapezoid", "simpson""#,
        ),
        (
            r#"offsets = { spacing = 5, widths = [1, 2, 3], rule = "average" }"#,
            r#"offsets rule is "average", which is not known"#,
        ),
        (
            r#"offsets = { spacing = 5, widths = [1, 2, 3, 4], rule = "simpson" }"#,
            "offsets has 3 intervals, and Simpson's one-third rule needs an even number",
        ),
        (
            r#"offsets = { spacing = 5, widths = [0, 0], rule = "mean" }"#,
            "offsets widths enclose nothing",
        ),
        (
            r#"offsets = { spacing = 5, widths = [4], rule = "mean" }"#,
            "offsets widths enclose nothing",
        ),
        (
            r#"offsets = { spacing = 5, widths = [4, -1], rule = "mean" }"#,
            "offsets widths number 2 is -1",
        ),
        (
            r#"offsets = { spacing = 5, length = 10, widths = [4, 1], rule = "mean" }"#,
            "offsets has a spacing and a length",
        ),
        (
            r#"radii = { lengths = [3, 4], rule = "triangles" }"#,
            "radii lengths must be three or more",
        ),
        (
            r#"radii = { lengths = [3, 0, 4], rule = "triangles" }"#,
            "radii lengths must be three or more",
        ),
        (r#"radii = { lengths = [3, 4, 5] }"#, "radii names no rule"),
        (r#"traverse = { courses = [["N", 10], ["E", 10]] }"#, "traverse has 2 courses"),
        (
            r#"traverse = { courses = [["N", 10], ["S", 5], ["S", 5]] }"#,
            "traverse runs back along itself",
        ),
        (
            r#"traverse = { courses = [["N", 10], ["E", 10], ["S", 10], ["W", 5]] }"#,
            "traverse does not close",
        ),
        (
            r#"traverse = { courses = [["N", 10], ["E", 10], ["S", 10], ["up", 10]] }"#,
            r#"traverse course 4: "up" is no direction"#,
        ),
        (
            r#"traverse = { courses = [["N", 10], ["E", 10], ["S", 0], ["W", 10]] }"#,
            "traverse course 3: distance is 0",
        ),
        (
            r#"traverse = { courses = [["N", 10], ["E"], ["S", 1], ["W", 10]] }"#,
            "traverse course 2: has 1 parts; give [bearing, distance]",
        ),
        // A bow tie: 2 and 4 cross.
        (
            r#"traverse = { courses = [["N", 10], ["S 45 E", 14.142135623730951], ["N", 10], ["S 45 W", 14.142135623730951]] }"#,
            "traverse crosses itself: courses 2 and 4 meet",
        ),
        (
            r#"traverse = { courses = [["N", 10], ["E", 10], ["S", 10], ["W", 10]], at_most = "1:5" }"#,
            "traverse at_most is \"1:5\"",
        ),
        ("area = \"12 rods\"", r#"area is "12 rods"; give an area such as"#),
        ("area = -4", "area is -4; give an area such as"),
        ("line = { length = 5 }", "line has no width, and a turf has one"),
        (
            r#"line = { points = [[0, 0], [5]], width = 1 }"#,
            "line point 2 has 1 numbers; give [east, north]",
        ),
        (r#"line = { points = [[0, 0], [5, 5]], width = 1 }"#, ""),
        ("point = {}", "is a bare point, and a turf is more"),
        ("at = 5\ncircle = { radius = 3 }", "at is 5; give it at ="),
        ("at = { east = 5 }\ncircle = { radius = 3 }", "at has no north; give it"),
        (
            "at = { east = 5, north = 0, turn = 400 }\ncircle = { radius = 3 }",
            "at turn is 400; give degrees clockwise",
        ),
        (
            "at = { east = 5, north = 0 }\nwithin = \"x\"\ncircle = { radius = 3 }",
            "has a place and a zone that it lies within",
        ),
        (
            "at = { east = 5, north = 0 }\ntriangle = { base = 3, height = 3 }",
            "is placed, but where its edge runs was not measured; give foot =",
        ),
        (
            "at = { east = 5, north = 0 }\ntrapezoid = { a = 3, b = 4, height = 3 }",
            "is placed, but where its edge runs was not measured; give foot =",
        ),
        (
            "at = { east = 5, north = 0 }\narea = 30",
            "is placed, but where its edge runs was not measured; give the figure that it has",
        ),
        (
            "at = { east = 5, north = 0 }\ncircle = [{ radius = 3 }, { radius = 4 }]",
            "has several figures and one place",
        ),
        ("within = \"Back\"\ncircle = { radius = 3 }", "is turf within a zone"),
    ] {
        if expected.is_empty() {
            assert_eq!(
                problems(&format!("unit = \"ft\"\n[[shape]]\nkind = \"turf\"\n{shape}")),
                Vec::<String>::new(),
                "{shape}"
            );
            continue;
        }
        let reason = reason(shape);
        assert!(reason.starts_with(expected), "{shape}\n{reason}");
    }
}

#[test]
fn a_text_that_is_no_sheet_is_refused_whole() {
    for (text, expected) in [
        ("unit = \"ft\"\n[[shape]\n", "lawn.toml: line 2: not TOML: "),
        ("unit = \"ft\"\nunit = \"m\"\n", "lawn.toml: line 2: not TOML: duplicate key"),
        (
            "units = \"ft\"\n[[shape]]\n",
            r#"lawn.toml: line 1: "units" is not known here; did you mean "unit"?"#,
        ),
        (
            "\n\nunit = \"rod\"\n[[shape]]\n",
            r#"lawn.toml: line 3: unit is "rod", which is not known; use "ft", "in", "yd", "m" or "cm""#,
        ),
        ("unit = \"ft\"\n", "lawn.toml: has no [[shape]]; a tape sheet has unit ="),
        ("", "lawn.toml: has no [[shape]]"),
        ("shape = [3]", "lawn.toml: line 1: a shape is a table: start it with [[shape]]"),
        ("[site]\n", r#"lawn.toml: line 1: "site" is not known here; a tape sheet has"#),
    ] {
        let error = layer("lawn.toml", text).unwrap_err();
        assert!(matches!(error, ReadError::Format { .. }));
        assert!(error.to_string().starts_with(expected), "{error}");
    }
}

#[test]
fn every_entry_is_told_on_its_line_and_every_slip_is_reported() {
    let text = "# measured in June\nunit = \"ft\"\n\n[[shape]]\nkind = \"turf\"\nname = \"A\"\nrectangle = { length = 0, width = 2 }\n\n[[shape]]\nkind = \"turf\"\nname = \"B\"\ncircle = { radius = 5 }\n[[shape]]\nkind = \"lawn\"\nname = \"C\"\ncircle = { radius = 5 }\n[[shape]]\nkind = \"turf\"\nname = \"D\"\ncondition = \"lush\"\ncircle = { radius = 5 }\n";
    let problems = problems(text);
    assert_eq!(problems.len(), 4, "{problems:#?}");
    assert!(problems[0].starts_with(
        r#"lawn.toml item 1 ("A"), line 4: geometry cannot be read: rectangle length is 0"#
    ));
    assert!(problems[1].starts_with(
        r#"lawn.toml item 3 ("C"), line 13: geometry cannot be read: has no place and no kind"#
    ));
    assert!(
        problems[2].starts_with(r#"lawn.toml item 3 ("C"), line 13: kind "lawn" is not known"#)
    );
    assert!(
        problems[3]
            .starts_with(r#"lawn.toml item 4 ("D"), line 17: condition "lush" is not known"#)
    );
}

// ---- places ----

#[test]
fn what_is_placed_stands_where_its_owner_put_it() {
    let text = r#"
        unit = "m"
        [[shape]]
        kind = "turf"
        at = { east = 10, north = -5, turn = 90 }
        rectangle = { length = 4, width = 2 }
        [[shape]]
        kind = "well"
        at = { east = -30, north = 2 }
        point = {}
        [[shape]]
        kind = "hardscape"
        at = { east = 0, north = 0, turn = -90 }
        line = { length = 12, width = 1.5 }
        [[shape]]
        kind = "water"
        at = { east = 50, north = 50 }
        line = { points = [[0, 0], [3, 4], [6, 4]] }
    "#;
    let told = features(&sheet(text));
    let ring = pairs(&told[0]["geometry"]["coordinates"][0]);
    assert_eq!(ring, [(10.0, -5.0), (10.0, -9.0), (12.0, -9.0), (12.0, -5.0), (10.0, -5.0)]);
    assert_eq!(told[1]["geometry"]["coordinates"], serde_json::json!([-30.0, 2.0]));
    assert!(told[1]["properties"].get("radius_m").is_none());
    assert_eq!(told[2]["geometry"]["coordinates"], serde_json::json!([[0.0, 0.0], [0.0, 12.0]]));
    assert_eq!(told[2]["properties"]["width_m"], 1.5);
    assert_eq!(
        told[3]["geometry"]["coordinates"],
        serde_json::json!([[50.0, 50.0], [53.0, 54.0], [56.0, 54.0]])
    );
    assert_eq!(map_of(sheet(text)).problems(), []);
}

#[test]
fn a_hazard_without_a_place_is_refused() {
    for kind in ["well", "water", "drain", "garden", "play", "apiary", "mix-site", "parcel"] {
        let text = format!(
            "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nname = \"Front\"\ncircle = {{ radius = 30 }}\n[[shape]]\nkind = \"{kind}\"\nwithin = \"Front\"\ncircle = {{ radius = 3 }}"
        );
        assert_eq!(
            only_problem(&text),
            format!(
                "lawn.toml item 2, line 6: geometry cannot be read: is a {kind} without a place, so no distance from it is known; give it at = {{ east = …, north = … }}, or leave it out of the sheet and keep clear of it yourself"
            )
        );
    }
}

#[test]
fn what_asks_for_a_setback_of_its_own_must_be_placed_too() {
    let text = |setback: &str| {
        format!(
            "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nname = \"Front\"\ncircle = {{ radius = 30 }}\n[[shape]]\nkind = \"bed\"\nwithin = \"Front\"\nsetback_ft = {setback}\ncircle = {{ radius = 3 }}"
        )
    };
    assert!(
        only_problem(&text("2"))
            .contains("is a bed without a place, so no distance from it is known")
    );
    assert_eq!(problems(&text("0")), Vec::<String>::new());
}

#[test]
fn beside_a_hazard_all_must_be_placed() {
    let text = r#"
        unit = "ft"
        [[shape]]
        kind = "turf"
        name = "Front"
        rectangle = { length = 60, width = 42 }
        [[shape]]
        kind = "bed"
        within = "Front"
        circle = { radius = 3 }
        [[shape]]
        kind = "well"
        at = { east = 0, north = 0 }
        point = {}
    "#;
    let problems = problems(text);
    assert_eq!(problems.len(), 2);
    assert_eq!(
        problems[0],
        r#"lawn.toml item 1 ("Front"), line 3: geometry cannot be read: is not placed, but item 3 (well) is: how far apart they are is not known; give it at = { east = …, north = … }, counted from the same corner"#
    );
    assert!(problems[1].contains("item 2, line 7"), "{}", problems[1]);
}

#[test]
fn a_pond_is_not_stretched() {
    let pond = |rule: &str| {
        format!(
            "unit = \"ft\"\n[[shape]]\nkind = \"water\"\nat = {{ east = 0, north = 0 }}\noffsets = {{ spacing = 5, widths = [1, 4, 3], rule = \"{rule}\" }}\n[[shape]]\nkind = \"turf\"\nat = {{ east = 0, north = 90 }}\ncircle = {{ radius = 3 }}"
        )
    };
    assert_eq!(problems(&pond("trapezoid")), Vec::<String>::new());
    assert!(only_problem(&pond("simpson")).contains(
        "is kept away from, so its edge must stand where it was measured; use rule = \"trapezoid\""
    ));
}

#[test]
fn a_placed_lawn_that_is_stretched_says_so() {
    let text = "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nat = { east = 0, north = 0 }\noffsets = { spacing = 5, widths = [0, 4, 0], rule = \"simpson\" }";
    let layer = sheet(text);
    assert_eq!(layer.remarks.len(), 1);
    assert_eq!(layer.remarks[0].1, "edge-stretched");
    assert!(
        layer.remarks[0].2.starts_with("its edge is stretched to 133.3 % of what was measured"),
        "{}",
        layer.remarks[0].2
    );
}

#[test]
fn properties_lie_apart_and_a_place_needs_a_property_then() {
    let text = r#"
        unit = "ft"
        [[shape]]
        kind = "turf"
        property = "12"
        at = { east = 0, north = 0 }
        rectangle = { length = 60, width = 42 }
        [[shape]]
        kind = "turf"
        property = "14"
        at = { east = 0, north = 0 }
        rectangle = { length = 60, width = 42 }
        [[shape]]
        kind = "well"
        at = { east = 0, north = 0 }
        point = {}
    "#;
    let layer = sheet(text);
    let told = features(&layer);
    let first = |told: &Value| pairs(&told["geometry"]["coordinates"][0])[0];
    let (a, b) = (first(&told[0]), first(&told[1]));
    assert!((a.0 - b.0).hypot(a.1 - b.1) > 20_000.0, "{a:?} {b:?}");
    let problems = problems(text);
    assert!(
        problems.iter().any(|it| it.contains(
            "has a place but no property, and at is counted from a corner of each property"
        )),
        "{problems:?}"
    );
}

#[test]
fn loose_zones_lie_apart() {
    let mut text = "unit = \"ft\"\n".to_owned();
    for number in 0..10 {
        text += &format!(
            "[[shape]]\nkind = \"turf\"\nname = \"Z{number}\"\ncircle = {{ radius = {} }}\n",
            10 + number
        );
    }
    let apart = |text: &str| {
        let told = features(&sheet(text));
        let discs: Vec<(f64, f64, f64)> = told
            .iter()
            .filter(|it| it["geometry"]["type"] == "Point")
            .map(|it| {
                let place = &it["geometry"]["coordinates"];
                (
                    place[0].as_f64().unwrap(),
                    place[1].as_f64().unwrap(),
                    it["properties"]["radius_m"].as_f64().unwrap(),
                )
            })
            .collect();
        let mut least = f64::INFINITY;
        for (number, a) in discs.iter().enumerate() {
            for b in &discs[..number] {
                least = least.min((a.0 - b.0).hypot(a.1 - b.1) - a.2 - b.2);
            }
        }
        least
    };
    assert!(apart(&text) > 2.9, "{}", apart(&text));
    text += "[[shape]]\nkind = \"bed\"\nwithin = \"Z9\"\ncircle = { radius = 1 }\n";
    // Nor is a distance kept from what is left as an area: whoever asks for one is refused.
    assert!(apart(&text) > 2.9, "{}", apart(&text));
}

#[test]
fn more_cannot_be_taken_out_than_is_there() {
    let text = |length: f64| {
        format!(
            "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nname = \"Front\"\nrectangle = {{ length = 60, width = 42 }}\n[[shape]]\nkind = \"bed\"\nwithin = \"Front\"\nrectangle = {{ length = {length}, width = 42 }}\n[[shape]]\nkind = \"bed\"\nwithin = \"Front\"\nrectangle = {{ length = 30, width = 42 }}"
        )
    };
    assert_eq!(problems(&text(30.0)), Vec::<String>::new());
    assert_eq!(
        only_problem(&text(33.0)),
        r#"lawn.toml item 1 ("Front"), line 2: geometry cannot be read: is smaller than what is taken out of it: items 2 and 3 together are 1.0500 of its area; correct their measures"#
    );
}

#[test]
fn what_is_taken_out_names_a_zone_of_its_property() {
    let text = |within: &str, property: &str| {
        format!(
            "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nname = \"Front lawn\"\nproperty = 12\nrectangle = {{ length = 60, width = 42 }}\n[[shape]]\nkind = \"turf\"\nname = \"Front lawn\"\nproperty = \"14\"\nrectangle = {{ length = 60, width = 42 }}\n[[shape]]\nkind = \"bed\"\nwithin = \"{within}\"\n{property}\ncircle = {{ radius = 3 }}"
        )
    };
    assert!(
        only_problem(&text("Front lawn", ""))
            .contains("within \"Front lawn\": several zones have that name")
    );
    assert!(
        only_problem(&text("Frnt lawn", "property = 12"))
            .contains("no zone of its property has that name; did you mean \"Front lawn\"?")
    );
    assert_eq!(problems(&text("Front lawn", "property = \"12\"")), Vec::<String>::new());
    let bare = "unit = \"ft\"\n[[shape]]\nkind = \"bed\"\ncircle = { radius = 3 }\n[[shape]]\nkind = \"turf\"\ncircle = { radius = 3 }";
    assert!(only_problem(bare).contains(
        "says of no zone that it is taken out of it; give within = \"zone\", or give it at"
    ));
    // It is of its zone's property, or it would count for none.
    let inherits = "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nname = \"A\"\nproperty = 12\ncircle = { radius = 9 }\n[[shape]]\nkind = \"bed\"\nwithin = \"A\"\ncircle = { radius = 3 }";
    assert_eq!(features(&sheet(inherits))[1]["properties"]["property"], 12);
}

#[test]
fn strips_lie_in_a_turned_lawn_and_a_placed_lawn_of_another_form_is_refused() {
    let text = |figure: &str| {
        format!(
            "unit = \"m\"\n[[shape]]\nkind = \"turf\"\nname = \"A\"\nat = {{ east = 3, north = 4, turn = 90 }}\n{figure}\n[[shape]]\nkind = \"bed\"\nwithin = \"A\"\ncircle = {{ radius = 2 }}"
        )
    };
    let told = features(&sheet(&text("rectangle = { length = 10, width = 6 }")));
    let strip = pairs(&told[1]["geometry"]["coordinates"][0]);
    assert!(
        strip.iter().all(|(x, y)| (3.0..=9.0).contains(x) && (-6.0..=4.0).contains(y)),
        "{strip:?}"
    );
    assert!((area(&told[1]) - PI * 4.0).abs() < 1e-12);
    assert!(
        only_problem(&text("circle = { radius = 10 }"))
            .contains("lies somewhere in item 1, which is placed and no rectangle")
    );
}

// ---- rows ----

#[test]
fn rows_are_read_as_tables_are() {
    let text = "\u{feff}figure,kind,name,species,unit,length,width,Radius,within,east,north,turn,area,Owner\r\n\
        rectangle,turf,Front,tall-fescue,ft,60,42,,,,,,,Smith\r\n\
        \r\n\
        circle,bed,,,,,,6 ft,Front,,,,,Smith\r\n\
        ,,,,,,,,,,,,,\r\n\
        rectangle,turf,\"Back, east\",tall-fescue,,12'6\",7.5 m,,,,,,,\r\n\
        area,building,,,ft,,,,Front,,,,100,\r\n";
    let layer = layer_of_csv("lawn.csv", text).unwrap();
    assert_eq!(layer.left_out, ["Owner"]);
    let told = features(&layer);
    assert_eq!(told.len(), 5);
    assert_close(area(&told[0]), 2520.0 * SQUARE_FOOT, "Front");
    assert_close(area(&told[1]), PI * 36.0 * SQUARE_FOOT, "bed");
    assert_eq!(told[2]["geometry"], Value::Null);
    assert_close(area(&told[3]), 3.81 * 7.5, "Back");
    assert_close(area(&told[4]), 100.0 * SQUARE_FOOT, "building");
    assert!(!told.iter().any(|it| it.to_string().contains("Smith")));
    assert_eq!(map_of(layer).problems(), []);
}

#[test]
fn slips_in_rows_are_refused_with_their_line() {
    let rows = |text: &str| {
        let layer = layer_of_csv("lawn.csv", text).unwrap();
        let problems =
            map_of(layer).problems().iter().map(|it| it.error.to_string()).collect::<Vec<_>>();
        assert_eq!(problems.len(), 1, "{problems:?}");
        problems.into_iter().next().unwrap()
    };
    let head = "figure,kind,unit,length,width,radius\n";
    for (row, expected) in [
        ("rectangle,turf,ft,60,,", "rectangle has no width; give it"),
        ("rectangle,turf,ft,60,42,3", "rectangle has \"radius\", which it does not take"),
        ("rectangle,turf,,60,42,", "rectangle length is 60 without a unit"),
        ("rectangle,turf,rods,60,42,", "unit is \"rods\", which is not known"),
        (
            "rectangel,turf,ft,60,42,",
            "figure \"rectangel\" is not known here; did you mean \"rectangle\"?",
        ),
        ("traverse,turf,ft,60,42,", "figure \"traverse\" is not known here; rows take rectangle"),
        (",turf,ft,60,42,", "has no figure; write one of rectangle"),
        ("rectangle,turf,ft,60,42,,9", "has 7 cells under 6 columns"),
        (
            "rectangle,turf,ft,-60,42,",
            "rectangle length: \"-60\": use a number that is not negative",
        ),
        ("rectangle,turf,ft,60,42", "has 5 cells under 6 columns"),
        ("area,turf,ft,60,,", "figure area takes the column area alone"),
    ] {
        let problem = rows(&format!("{head}rectangle,turf,ft,1,1,\n\n{row}\n"));
        let expected = format!("lawn.csv item 2, line 4: geometry cannot be read: {expected}");
        assert!(problem.starts_with(&expected), "{problem}\n{expected}");
    }
}

#[test]
fn columns_that_are_nearly_right_are_refused() {
    for (header, expected) in [
        ("figure,kind,lenght", r#"line 1: column "lenght" is not read; did you mean "length"?"#),
        ("figure,kind,length_ft", r#"line 1: column "length_ft": name it "length""#),
        ("figure,kind,Width (ft)", r#"line 1: column "Width (ft)": name it "width""#),
        ("figure,kind,setback", r#"line 1: column "setback" is not read; did you mean"#),
        ("figure,kind,Kind", r#"line 1: column "kind" stands twice; keep one"#),
        ("kind,length", r#"has no column "figure""#),
        ("figure,kind", "has no rows under its columns"),
        ("", r#"has no column "figure""#),
    ] {
        let error = layer_of_csv("lawn.csv", header).unwrap_err().to_string();
        assert!(error.starts_with(&format!("lawn.csv: {expected}")), "{error}");
    }
}

// ---- laws ----

/// A figure, and its area in m² worked out apart from the code.
fn any_figure() -> impl Strategy<Value = (String, f64)> {
    let side = 0.1..300.0_f64;
    prop_oneof![
        (side.clone(), side.clone())
            .prop_map(|(a, b)| (format!("rectangle = {{ length = {a}, width = {b} }}"), a * b)),
        (side.clone(), side.clone()).prop_map(|(a, b)| (
            format!("triangle = {{ base = {a}, height = {b}, foot = {b} }}"),
            a * b / 2.0
        )),
        (side.clone(), side.clone(), side.clone()).prop_map(|(a, b, h)| (
            format!("trapezoid = {{ a = {a}, b = {b}, height = {h}, foot = -{h} }}"),
            (a + b) * h / 2.0
        )),
        side.clone().prop_map(|r| (format!("circle = {{ radius = {r} }}"), PI * r * r)),
        (side.clone(), side.clone()).prop_map(|(a, b)| (
            format!("ellipse = {{ length = {a}, width = {b} }}"),
            PI * a * b / 4.0
        )),
        (side.clone(), prop::collection::vec(0.1..50.0_f64, 2..20)).prop_map(|(s, w)| {
            let mean = w.iter().sum::<f64>() / w.len() as f64;
            (
                format!("offsets = {{ spacing = {s}, widths = {w:?}, rule = \"mean\" }}"),
                mean * s * (w.len() - 1) as f64,
            )
        }),
        prop::collection::vec(1.0..50.0_f64, 3..40).prop_map(|r| {
            let mean = r.iter().sum::<f64>() / r.len() as f64;
            (format!("radii = {{ lengths = {r:?}, rule = \"mean-radius\" }}"), PI * mean * mean)
        }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Wherever a lawn lies and however it is turned, it needs the same product.
    #[test]
    fn a_lawn_keeps_its_area_wherever_it_lies((figure, area_m2) in any_figure(), east in -1e3..1e3_f64, north in -1e3..1e3_f64, turn in -360.0..360.0_f64) {
        let loose = format!("unit = \"m\"\n[[shape]]\nkind = \"turf\"\n{figure}");
        let placed = format!("{loose}\nat = {{ east = {east}, north = {north}, turn = {turn} }}");
        for text in [loose, placed] {
            let ours = area(&features(&sheet(&text))[0]);
            prop_assert!((ours - area_m2).abs() <= 1e-9 * area_m2 + 1e-9, "{text}\n{ours} ≠ {area_m2}");
        }
    }

    /// Beds take what they measure, in whatever order they were written down, and lie in the lawn.
    #[test]
    fn beds_take_their_own_area_in_any_order(
        (lawn, lawn_m2) in any_figure(),
        parts in prop::collection::vec(0.01..1.0_f64, 1..8),
        share in 0.05..1.0_f64,
        turned in 0..8_usize,
    ) {
        let sum: f64 = parts.iter().sum();
        let mut beds: Vec<f64> = parts.iter().map(|part| part / sum * share * lawn_m2).collect();
        let mut nets = Vec::new();
        for _ in 0..2 {
            let mut text = format!("unit = \"m\"\n[[shape]]\nkind = \"turf\"\nname = \"A\"\n{lawn}\n");
            for bed in &beds {
                text += &format!("[[shape]]\nkind = \"bed\"\nwithin = \"A\"\narea = \"{bed} m2\"\n");
            }
            let told = features(&sheet(&text));
            let areas: Vec<f64> = told.iter().map(area).collect();
            nets.push(areas[0] - areas[1..].iter().sum::<f64>());
            let zone = pairs(&told[0]["geometry"]["coordinates"][0]);
            let (low, high) = (zone[0], zone[2]);
            let mut from = low.0;
            for bed in &told[1..] {
                let strip = pairs(&bed["geometry"]["coordinates"][0]);
                prop_assert!(strip[0].0 >= from - 1e-9 && strip[2].0 <= high.0 + 1e-9);
                prop_assert!(strip[0].1 == low.1 && strip[2].1 == high.1);
                from = strip[2].0;
            }
            let turned = turned % beds.len();
            beds.rotate_left(turned);
            beds.reverse();
        }
        let expected = lawn_m2 * (1.0 - share);
        for net in nets {
            prop_assert!((net - expected).abs() <= 1e-9 * lawn_m2 + 1e-9, "{net} ≠ {expected}");
        }
    }

    /// Whatever happens to a file, it is read or refused.
    #[test]
    fn a_damaged_sheet_is_read_or_refused(cut in 0..2000_usize, place in 0..2000_usize, put in any::<char>()) {
        const WHOLE: &str = include_str!("../../../../examples/tape-sheet.toml");
        const ROWS: &str = "figure,kind,name,unit,length,width,radius,within,east,north,turn\nrectangle,turf,A,ft,60,42,,,0,0,10\ncircle,bed,,ft,,,6,A,,,\n\"x\ny\",z\n";
        for whole in [WHOLE, ROWS] {
            let mut letters: Vec<char> = whole.chars().collect();
            let count = letters.len();
            letters[place % count] = put;
            letters.truncate(if cut % 3 == 0 { count } else { cut % count + 1 });
            let text: String = letters.into_iter().collect();
            for layer in [layer("a", &text), layer_of_csv("a", &text)].into_iter().flatten() {
                // What is told is always JSON, and read again without a panic.
                map_of(layer);
            }
        }
    }
}

#[test]
fn ten_thousand_entries_and_long_texts_take_no_time() {
    let start = Instant::now();
    let mut text = "unit = \"ft\"\n".to_owned();
    for number in 0..10_000 {
        text += &format!(
            "[[shape]]\nkind = \"turf\"\nname = \"Z{number}\"\nproperty = {}\nrectangle = {{ length = 60, width = 42 }}\n[[shape]]\nkind = \"bed\"\nproperty = {}\nwithin = \"Z{number}\"\ncircle = {{ radius = 6 }}\n",
            number % 1_000,
            number % 1_000
        );
    }
    let layer = sheet(&text);
    assert_eq!(map_of(layer).problems(), []);
    // Wrong in every entry.
    map_of(sheet(&text.replace("within = \"Z", "within = \"Y")));
    let deep = format!("shape = {}{}", "[".repeat(100_000), "]".repeat(100_000));
    assert!(layer_of_toml_is_refused(&deep));
    let long = format!("unit = \"{}\"", "x".repeat(1_000_000));
    assert!(layer_of_toml_is_refused(&long));
    let many = vec!["[\"N 1 E\", 1]"; 100_000].join(",");
    let many =
        format!("unit = \"ft\"\n[[shape]]\nkind = \"turf\"\ntraverse = {{ courses = [{many}] }}");
    assert!(only_problem(&many).contains("traverse has 100000 courses"));
    assert!(start.elapsed().as_secs() < 60, "{:?}", start.elapsed());
}

fn layer_of_toml_is_refused(text: &str) -> bool {
    layer("a", text).is_err_and(|error| error.to_string().len() < 300)
}

#[test]
fn the_example_is_read_without_a_problem() {
    let layer = sheet(include_str!("../../../../examples/tape-sheet.toml"));
    assert!(layer.remarks.iter().any(|(_, code, _)| *code == "left-as-area"));
    assert_eq!(map_of(layer).problems(), []);
}
