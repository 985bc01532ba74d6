//! Laws of areas, and damaged sheets.

use super::*;

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
        const WHOLE: &str = include_str!("../../../../../examples/tape-sheet.toml");
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
    let layer = sheet(include_str!("../../../../../examples/tape-sheet.toml"));
    assert!(layer.remarks.iter().any(|(_, code, _)| *code == "left-as-area"));
    assert_eq!(map_of(layer).problems(), []);
}
