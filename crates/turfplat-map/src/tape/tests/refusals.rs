//! What cannot have been measured.

use super::*;

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
