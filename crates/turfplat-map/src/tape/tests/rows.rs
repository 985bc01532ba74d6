//! The same as rows of a table.

use super::*;

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
        (
            "rectangle,turf,,60,42,",
            r#"rectangle length is 60 without a unit; write "60 ft", or add a column "unit" with ft in each row"#,
        ),
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
