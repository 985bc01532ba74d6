//! The sheet as others see it: its text, its picture, and what it makes of nonsense.

mod invented;

use geo::{Coord, LineString, MultiPolygon, Polygon};
use resvg::usvg;
use turfplat_sheet::{Kind, Mark, MarkKind, Page, SprayMap, Strip, Zone, plate, png, svg};
use turfplat_units::UnitSystem;

const PAGES: [Page; 3] = [Page::Letter, Page::A4, Page::Screen];

fn parsed(svg: &str) -> usvg::Tree {
    usvg::Tree::from_str(svg, &usvg::Options::default()).expect("well-formed SVG")
}

/// All text of a sheet, entities resolved, in the order of the file.
fn words(svg: &str) -> String {
    let document = usvg::roxmltree::Document::parse(svg).expect("well-formed XML");
    let texts = document.descendants().filter(|node| node.has_tag_name("text"));
    texts.filter_map(|node| node.text()).collect::<Vec<_>>().join(" ")
}

#[test]
fn the_same_map_gives_the_same_bytes() {
    for page in PAGES {
        assert_eq!(svg(&invented::home(), page), svg(&invented::home(), page), "{page:?}");
    }
}

#[test]
fn everything_that_must_be_read_is_on_the_sheet() {
    let map = invented::home();
    for page in PAGES {
        let words = words(&svg(&map, page));
        let zones = map.zones.iter().map(|zone| zone.name.as_str());
        let wanted = zones.chain([
            "14 Alder Court",
            "1.11 fl oz",
            "10 ft from water",
            "15 ft from well",
            "storm drain",
            "tall fescue",
            "Before you start",
            "Batch 2: Back lawn",
            "spray: 8.8 gal",
            "not treated",
        ]);
        for text in wanted {
            // A name may be broken into two lines.
            let on_sheet = text.split(' ').all(|word| words.contains(word));
            assert!(on_sheet, "{page:?}: {text}");
        }
        for caution in map.cautions.iter().flat_map(|caution| caution.split(' ')) {
            assert!(words.contains(caution), "{page:?}: {caution}");
        }
    }
}

#[test]
fn cautions_stay_whole_however_many_there_are() {
    let mut map = invented::home();
    map.cautions =
        (0..60).map(|i| format!("Caution {i}: keep clear of the ditch by gate {i}.")).collect();
    map.notes = vec!["n".repeat(20_000); 300];
    for page in PAGES {
        let words = words(&svg(&map, page));
        for index in 0..60 {
            assert!(words.contains(&format!("Caution {index}:")), "{page:?}: {index}");
        }
    }
}

#[test]
fn the_scale_bar_is_as_long_as_the_stated_scale_says() {
    for (map, page) in [
        (invented::home(), Page::Letter),
        (invented::tiny(), Page::A4),
        (invented::campus(), Page::Letter),
        (SprayMap { units: UnitSystem::Metric, ..invented::home() }, Page::A4),
    ] {
        let text = svg(&map, page);
        let document = usvg::roxmltree::Document::parse(&text).unwrap();
        let value = |node: usvg::roxmltree::Node, name: &str| -> f64 {
            node.attribute(name).unwrap().parse().unwrap()
        };
        let one_to = value(document.root_element(), "data-scale");
        let bars: Vec<_> =
            document.descendants().filter(|node| node.has_attribute("data-scale-bar")).collect();
        assert_eq!(bars.len(), 2, "feet and metres");
        for bar in bars {
            let on_paper = value(bar, "width") / 72.0 * 0.0254;
            let on_ground = value(bar, "data-metres");
            // Widths are written to a hundredth of a point.
            let rounding = 0.005 / 72.0 * 0.0254 * one_to;
            assert!((on_paper * one_to - on_ground).abs() <= rounding, "1:{one_to}: {on_ground} m");
        }
    }
}

#[test]
fn paper_has_its_dots_and_says_how_large_they_are() {
    let tall = invented::tiny();
    #[rustfmt::skip]
    let table = [
        // page, dots across and down, upright; 300 dots per inch are 11 811 per metre
        (Page::Letter, (2550, 3300), Some(11_811)),
        (Page::A4, (2480, 3508), Some(11_811)),
        (Page::Screen, (1600, 1200), None),
    ];
    for (page, (across, down), per_metre) in table {
        let picture = png(&svg(&tall, page), page).unwrap();
        let reader = png::Decoder::new(std::io::Cursor::new(&picture)).read_info().unwrap();
        let info = reader.info();
        let size = (info.width, info.height);
        assert!(size == (across, down) || size == (down, across), "{page:?}: {size:?}");
        let dots = info.pixel_dims.filter(|dims| dims.unit == png::Unit::Meter);
        assert_eq!(dots.map(|dims| (dims.xppu, dims.yppu)), per_metre.map(|n| (n, n)), "{page:?}");
        assert_eq!(info.color_type, png::ColorType::Rgb);
    }
}

#[test]
fn a_text_that_is_no_drawing_is_refused_with_advice() {
    let message = png("no drawing", Page::Letter).unwrap_err().to_string();
    assert!(message.contains("hand over the text that `svg` returned"), "{message}");
    let huge = r#"<svg xmlns="http://www.w3.org/2000/svg" width="99999" height="9"/>"#;
    let message = png(huge, Page::Screen).unwrap_err().to_string();
    assert!(message.contains("99999 × 9 dots"), "{message}");
}

#[test]
fn nasty_texts_are_printed_or_left_out_but_never_break_the_drawing() {
    let nasty = [
        r#"<script>&"'</text>"#,
        "]]>",
        "\u{0}\u{1}\u{8}\u{1f}\u{7f}",
        "\u{FFFE}\u{FFFF}",
        "",
        "   ",
        "\u{202e}right to left",
        "中文草坪 🌱 Газон",
        &"W".repeat(2_000),
        &"long name ".repeat(150),
        "a\nb\r\tc",
    ];
    for text in nasty {
        let mut map = invented::home();
        map.property = text.to_owned();
        map.application = text.to_owned();
        map.products = vec![text.to_owned(); 3];
        map.equipment = text.to_owned();
        map.date = Some(text.to_owned());
        for zone in &mut map.zones {
            zone.name = text.to_owned();
            zone.area = text.to_owned();
            zone.amounts = vec![text.to_owned(); 2];
            zone.species = vec![text.to_owned()];
        }
        map.zones[1].skipped = Some(text.to_owned());
        for feature in &mut map.features {
            feature.name = text.to_owned();
        }
        map.marks[0].name = text.to_owned();
        map.strips[0].to = text.to_owned();
        map.batches[0].loads = vec![text.to_owned(); 3];
        map.totals = vec![text.to_owned()];
        map.notes = vec![text.to_owned()];
        map.cautions = vec![text.to_owned()];
        for page in PAGES {
            parsed(&svg(&map, page));
        }
    }
}

#[test]
fn signs_of_markup_are_printed_as_they_are() {
    let name = r#"Tom & Ann's <"back"> lawn"#;
    let mut map = invented::home();
    map.property = name.to_owned();
    map.cautions = vec![name.to_owned()];
    for page in PAGES {
        let words = words(&svg(&map, page));
        assert!(words.matches(name).count() >= 1, "{page:?}: {words}");
    }
}

#[test]
fn shapes_that_cannot_be_drawn_are_left_out() {
    let line = |corners: &[(f64, f64)]| -> MultiPolygon<f64> {
        let ring: LineString = corners.iter().copied().map(Coord::from).collect();
        MultiPolygon(vec![Polygon::new(ring, vec![])])
    };
    let shapes = [
        MultiPolygon(vec![]),
        line(&[]),
        line(&[(1.0, 1.0)]),
        line(&[(1.0, 1.0), (1.0, 1.0), (1.0, 1.0)]),
        line(&[(0.0, 0.0), (5.0, 0.0)]),
        line(&[(0.0, 0.0), (5.0, 0.0), (9.0, 0.0)]),
        line(&[(f64::NAN, 0.0), (5.0, f64::INFINITY), (9.0, 3.0), (0.0, 1.0)]),
        line(&[(0.0, 0.0), (1e300, 0.0), (1e300, 1e300)]),
        line(&[(0.0, 0.0), (9e8, 0.0), (9e8, 9e8)]),
        line(&[(0.0, 0.0), (1e-9, 0.0), (0.0, 1e-9)]),
        line(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)]),
        line(&[(0.0, 0.0), (10_000.0, 0.0), (10_000.0, 0.001), (0.0, 0.001)]),
    ];
    for (index, shape) in shapes.iter().enumerate() {
        let mut map = invented::empty();
        map.zones = vec![Zone {
            name: "Odd".to_owned(),
            species: vec![],
            treated: shape.clone(),
            drawn: shape.clone(),
            area: String::new(),
            amounts: vec![],
            batch: None,
            skipped: None,
        }];
        map.features = vec![turfplat_sheet::Feature {
            kind: Kind::Water,
            name: "pond".to_owned(),
            shape: shape.clone(),
        }];
        map.strips = vec![Strip {
            to: "water".to_owned(),
            distance: "25 ft".to_owned(),
            shape: shape.clone(),
        }];
        map.marks =
            vec![Mark { kind: MarkKind::Well, name: "well".to_owned(), x: f64::NAN, y: 1e300 }];
        map.lot = shape.clone();
        for page in PAGES {
            let text = svg(&map, page);
            assert!(!text.contains("NaN") && !text.contains("inf"), "shape {index}");
            parsed(&text);
        }
    }
    for page in PAGES {
        parsed(&svg(&invented::empty(), page));
    }
}

#[test]
fn hundreds_of_zones_and_loads_stay_on_the_page() {
    let mut map = invented::campus();
    for batch in &mut map.batches {
        batch.loads =
            (0..400).map(|i| format!("load {i}: 3 gal = 0.75 fl oz + 2.99 gal water")).collect();
    }
    for page in PAGES {
        let text = svg(&map, page);
        let tree = parsed(&text);
        let (width, height) = (tree.size().width(), tree.size().height());
        let document = usvg::roxmltree::Document::parse(&text).unwrap();
        let view: Vec<f64> = document
            .root_element()
            .attribute("viewBox")
            .unwrap()
            .split(' ')
            .map(|n| n.parse().unwrap())
            .collect();
        for node in document.descendants().filter(|node| node.has_tag_name("text")) {
            let at = |name: &str| node.attribute(name).unwrap().parse::<f64>().unwrap();
            assert!(at("y") < view[3] && at("x") < view[2], "{page:?} {width}×{height}: {node:?}");
        }
        assert!(words(&text).contains("see the full plan"), "{page:?}");
    }
}

#[test]
fn the_legend_lists_each_thing_once_and_only_what_shows() {
    let mut map = invented::home();
    let drain = invented::blob(17.0, -0.5, 0.4, 0.4, 0.0, 30);
    map.features.push(turfplat_sheet::Feature {
        kind: Kind::Drain,
        name: String::new(),
        shape: drain,
    });
    map.marks[1].name = "inlet".to_owned();
    // Far beyond the frame, and so not on this map.
    let far = invented::rect(900.0, 900.0, 9.0, 9.0);
    map.features.push(turfplat_sheet::Feature {
        kind: Kind::VegStrip,
        name: String::new(),
        shape: far.clone(),
    });
    map.strips.push(Strip { to: "marsh".to_owned(), distance: "99 ft".to_owned(), shape: far });
    for zone in &mut map.zones {
        zone.drawn = zone.treated.clone();
    }
    for page in PAGES {
        let words = words(&svg(&map, page));
        assert_eq!(words.matches("storm drain").count(), 1, "{page:?}: {words}");
        for absent in ["natural vegetation", "99 ft", "turf as drawn", "apiary"] {
            assert!(!words.contains(absent), "{page:?}: {absent}");
        }
    }
    assert!(words(&svg(&invented::home(), Page::Letter)).contains("turf as drawn"));
}

#[test]
fn a_sheet_without_treatment_or_without_spray_says_so() {
    let mut map = invented::home();
    map.equipment = "drop: spreader, 50 lb hopper".to_owned();
    map.totals = vec!["iron sulfate: 45 lb".to_owned()];
    for page in PAGES {
        let words = words(&svg(&map, page));
        assert!(words.contains("Spreading map") && !words.contains("do not spray"), "{page:?}");
        assert!(words.contains("iron sulfate") && !words.contains("nothing to treat"), "{page:?}");
    }
    for zone in &mut map.zones {
        zone.treated = MultiPolygon(vec![]);
        zone.amounts.clear();
        zone.skipped = Some("dormant".to_owned());
    }
    for page in PAGES {
        assert!(words(&svg(&map, page)).contains("nothing to treat"), "{page:?}");
    }
}

#[test]
fn names_of_other_scripts_are_never_blank() {
    let mut map = invented::home();
    map.property = "Дом 7, Αθήνα".to_owned();
    map.batches[0].loads =
        vec!["load 1; covers \u{202b}מדשאה\u{202c}: 4,000 sq ft, 中文: 12 sq ft".to_owned()];
    let text = svg(&map, Page::Letter);
    let printed = words(&text);
    for wanted in ["Дом 7, Αθήνα", "□□□□□: 4,000 sq ft", "□□: 12 sq ft"] {
        let on_sheet = wanted.split(' ').all(|word| printed.contains(word));
        assert!(on_sheet, "{wanted}: {printed}");
    }
    // The second font file is carried only where it is needed.
    assert!(text.contains("unicode-range"));
    assert!(!svg(&invented::home(), Page::Letter).contains("unicode-range"));
}

#[test]
fn a_map_alone_fills_its_box_at_the_scale_it_states() {
    let boxes = [(540.0, 400.0), (340.0, 500.0), (1_000.0, 300.0), (200.0, 200.0)];
    let mut campus_key = 0;
    for map in [invented::home(), invented::tiny(), invented::forty(), invented::campus()] {
        for (width, height) in boxes {
            let drawn = plate(&map, width, height);
            let tree = parsed(&drawn.svg);
            // The tree's own unit is 1/96 in, ours 1/72.
            let size = (f64::from(tree.size().width()), f64::from(tree.size().height()));
            assert!((size.0 * 0.75 - width).abs() < 0.01, "{size:?}");
            assert!((size.1 * 0.75 - height).abs() < 0.01, "{size:?}");
            let document = usvg::roxmltree::Document::parse(&drawn.svg).unwrap();
            for bar in document.descendants().filter(|node| node.has_attribute("data-scale-bar")) {
                let value = |name: &str| bar.attribute(name).unwrap().parse::<f64>().unwrap();
                let on_ground = value("width") / 72.0 * 0.0254 * f64::from(drawn.scale);
                // Widths are written to a hundredth of a point.
                let rounding = 0.005 / 72.0 * 0.0254 * f64::from(drawn.scale);
                assert!((on_ground - value("data-metres")).abs() <= rounding);
            }
            let words = words(&drawn.svg);
            let stated = turfplat_units::significant(f64::from(drawn.scale), 3);
            assert!(words.contains(&format!("1:{stated}")), "{words}");
            assert!(words.contains('N') && !words.contains("Keep people"), "{words}");
            assert!(!drawn.svg.contains("font-face"));
            for node in document.descendants().filter(|node| node.has_tag_name("text")) {
                let at = |name: &str| node.attribute(name).unwrap().parse::<f64>().unwrap();
                assert!((0.0..width).contains(&at("x")) && (0.0..=height).contains(&at("y")));
            }
            // The smallest box has no room for a key.
            let explained = words.contains("Zones by number") || (width, height) == (200.0, 200.0);
            assert!(explained || drawn.numbered.is_empty(), "{width} × {height}: {words}");
            campus_key += drawn.numbered.len();
        }
    }
    assert!(campus_key > 0, "numbers on the map are explained");
    // A box that is none still gives a drawing.
    for (width, height) in [(f64::NAN, 0.0), (-1.0, f64::INFINITY)] {
        parsed(&plate(&invented::empty(), width, height).svg);
        parsed(&plate(&invented::campus(), width, height).svg);
    }
}
