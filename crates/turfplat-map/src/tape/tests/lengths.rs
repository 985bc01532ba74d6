//! Lengths as people write them.

use super::*;

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
        (r#""101 km""#, r#": "km" is not a unit known here; use one of: ft, in, yd, m, cm, mm"#),
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
