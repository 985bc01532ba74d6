//! The sheet as others see it: its text, its picture, and what it makes of nonsense.

#![allow(clippy::unwrap_used)] // A test may.

mod invented;
mod read;

use geo::{Coord, LineString, MultiPolygon, Polygon};
use read::{parsed, words};
use resvg::usvg;
use turfplat_sheet::{
    Beside, Kind, MarkKind, Page, SprayMap, Zone, outlined, plate, png, sheets, svg,
};
use turfplat_units::UnitSystem;

const PAGES: [Page; 3] = [Page::Letter, Page::A4, Page::Screen];

#[test]
fn the_same_map_gives_the_same_bytes() {
    for page in PAGES {
        assert_eq!(svg(&invented::home(), page), svg(&invented::home(), page), "{page:?}");
        assert!(!svg(&invented::home(), page).contains("paint-order"), "{page:?}");
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
            "1.10 fl oz",
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
            is_neighbours: index % 2 == 0,
        }];
        map.neighbour_lots = shape.clone();
        map.strips =
            vec![invented::held_back("water", 25.0, invented::rings(shape), shape.clone())];
        map.marks = vec![invented::mark(MarkKind::Well, "well", f64::NAN, 1e300)];
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

/// A walk cuts the front lawn in two; the far piece bears its name without amounts, which are for
/// both.
#[test]
fn each_piece_of_a_zone_says_whose_it_is() {
    let mut map = invented::home();
    map.batches.clear();
    for page in PAGES {
        let printed = words(&svg(&map, page));
        assert_eq!(printed.matches("Front").count(), 2, "{page:?}: {printed}");
        assert_eq!(printed.matches("Back").count(), 2, "the note and the lawn: {page:?}");
        assert_eq!(printed.matches("2,859 sq ft").count(), 1, "{page:?}: {printed}");
    }
}

/// A strip of 2 cm beside a lawn of 30 m: at a scale of hundreds it is narrower than the lawn's edge.
#[test]
fn no_line_is_broader_than_the_strip_that_it_goes_round() {
    let mut map = invented::empty();
    let mut ground = invented::rect(0.0, 0.0, 30.0, 20.0);
    ground.0.extend(invented::rect(32.0, 0.0, 0.02, 20.0).0);
    map.zones = vec![invented::zone("Lawn", &["fescue"], ground, &MultiPolygon(vec![]), 1)];
    for page in PAGES {
        let sheet = sheets(&map, page).remove(0);
        let dots = if page == Page::Screen { 2.0 } else { 300.0 / 72.0 };
        let width = 0.02 / (sheet.placement.unwrap().metres_per_dot * dots);
        let document = usvg::roxmltree::Document::parse(&sheet.svg).unwrap();
        let edges: Vec<(f64, f64)> = document
            .descendants()
            .filter(|node| node.attribute("stroke-linejoin") == Some("round"))
            .filter_map(|node| {
                let wide = node.attribute("stroke-width")?.parse().ok()?;
                let corners: Vec<f64> = node
                    .attribute("d")?
                    .split(['M', 'L', 'Z', ' '])
                    .filter_map(|number| number.parse().ok())
                    .collect();
                let (least, most) = (corners.iter().step_by(2))
                    .fold((f64::MAX, f64::MIN), |(a, b), &x| (a.min(x), b.max(x)));
                Some((most - least, wide))
            })
            .collect();
        let strip = edges.iter().find(|(across, _)| (across - width).abs() < 0.02);
        let (_, line) = strip.expect("the strip is drawn by itself");
        // A hundredth of a point is what numbers are written to; a hair is drawn in any case.
        assert!(*line <= width.max(0.12) + 0.011, "{page:?}: {line} round {width}");
        assert!(edges.iter().any(|(across, line)| *across > 100.0 && *line >= 0.5), "{page:?}");
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
        assert!(words(&text).contains("see the work order"), "{page:?}");
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
        is_neighbours: false,
    });
    map.marks[1].name = "inlet".to_owned();
    // Far beyond the frame, and so not on this map.
    let far = invented::rect(900.0, 900.0, 9.0, 9.0);
    map.features.push(turfplat_sheet::Feature {
        kind: Kind::VegStrip,
        name: String::new(),
        shape: far.clone(),
        is_neighbours: false,
    });
    map.strips.push(invented::held_back("marsh", 99.0, invented::rings(&far), far));
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

/// A campus sprayed with swaths of every width: on each sheet the legend says of passes what is drawn
/// there, and none is drawn beyond the frame.
#[test]
fn the_legend_says_of_passes_what_the_sheet_shows() {
    let mut map = invented::campus();
    let middle = |zone: &Zone| -> Option<Vec<LineString>> {
        let corners: Vec<Coord> = zone.treated.0.first()?.exterior().coords().copied().collect();
        Some(corners.windows(2).map(|pair| LineString(pair.to_vec())).collect())
    };
    map.trail.ways = map.zones.iter().filter_map(middle).collect();
    map.trail.shows_passes = true;
    let mut told = [0, 0];
    for swath in [2.0, 8.0] {
        map.trail.swath = swath;
        for sheet in sheets(&map, Page::Letter) {
            let words = words(&sheet.svg);
            let sample = usize::from(words.contains("passes, from the ring on"));
            let close = words.contains("passes: too close together");
            // A pass is a thin gray line, and the legend's sample is another.
            let drawn = sheet.svg.matches(r##"stroke="#777" stroke-width=".5""##).count();
            let samples = sample + usize::from(close);
            assert_eq!(drawn > samples, sample == 1, "{swath} m, sheet {}", sheet.number);
            told = [told[0] + sample, told[1] + usize::from(close)];
        }
    }
    assert!(told.iter().all(|count| *count > 0), "{told:?}");
}

/// Ground of a pond 20 m wide that is kept 15 m upwind, in a wind from the south-west.
#[test]
fn a_strip_for_the_wind_says_so_whole_and_the_scale_has_its_arrow() {
    let mut map = invented::empty();
    let lawn = invented::rect(-60.0, -60.0, 120.0, 120.0);
    let pond = invented::rect(-10.0, -10.0, 20.0, 20.0);
    map.zones = vec![invented::zone(
        "Lawn",
        &["fescue"],
        lawn,
        &invented::rect(-25.0, -25.0, 35.0, 35.0),
        1,
    )];
    map.features = vec![turfplat_sheet::Feature {
        kind: Kind::Water,
        name: "Pond".to_owned(),
        shape: pond.clone(),
        is_neighbours: false,
    }];
    let kept = invented::rect(-25.0, -25.0, 35.0, 35.0);
    let feet = 15.0 / 0.3048;
    let mut strip = invented::held_back("water", feet, invented::rings(&pond), kept);
    let wind = turfplat_sheet::Wind::From { point: "SW".to_owned(), degrees: 225.0 };
    strip.wind = Some(wind);
    let near = invented::held_back(
        "water",
        10.0,
        invented::rings(&pond),
        invented::rect(-13.0, -13.0, 26.0, 26.0),
    );
    map.strips = vec![near, strip];
    for page in PAGES {
        let drawn = svg(&map, page);
        let words = words(&drawn);
        for wanted in ["49 ft from water", "for wind SW", "wind from SW"] {
            assert!(words.contains(wanted), "{page:?} {wanted}: {words}");
        }
        // On the map and in the legend, both whole.
        assert!(words.matches("49 ft").count() >= 2, "{page:?}: {words}");
        assert!(
            drawn.contains(r#"data-wind="225""#) && drawn.contains("data-dimension"),
            "{page:?}"
        );
        map.strips[1].wind = None;
        assert!(!svg(&map, page).contains("data-wind"));
        map.strips[1].wind = Some(turfplat_sheet::Wind::Light);
        assert!(self::words(&svg(&map, page)).contains("for light wind"));
        map.strips[1].wind =
            Some(turfplat_sheet::Wind::From { point: "SW".to_owned(), degrees: 225.0 });
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
            let drawn = plate(&map, (width, height), Beside::Nothing);
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
        parsed(&plate(&invented::empty(), (width, height), Beside::Nothing).svg);
        parsed(&plate(&invented::campus(), (width, height), Beside::Nothing).svg);
    }
}

/// Colours of a picture of a sheet, red, green and blue, row by row, and its width.
fn dots(picture: &[u8]) -> (Vec<[u8; 3]>, usize) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(picture)).read_info().unwrap();
    let mut bytes = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut bytes).unwrap();
    let rows = bytes[..info.buffer_size()].chunks_exact(3).map(|dot| [dot[0], dot[1], dot[2]]);
    (rows.collect(), info.width as usize)
}

/// A house of 30 m by 20 m is drawn with as many dots as its size, the stated scale and 300 dots an
/// inch give, and lies where the placement says; so does the scale bar.
#[test]
fn scale_bar_and_scale_hold_in_the_dots_of_the_picture() {
    let (wide, high) = (30.0, 20.0);
    let house = invented::rect(5.0, 8.0, wide, high);
    for (units, page) in [(UnitSystem::Us, Page::Letter), (UnitSystem::Metric, Page::A4)] {
        let mut map = SprayMap { units, ..invented::empty() };
        map.lot = invented::rect(-1.0, -1.0, 42.0, 30.0);
        let turf = invented::rect(0.0, 0.0, 40.0, 7.0);
        map.zones = vec![invented::zone("Lawn", &["fescue"], turf, &MultiPolygon(vec![]), 1)];
        map.features = vec![turfplat_sheet::Feature {
            kind: Kind::Building,
            name: String::new(),
            shape: house.clone(),
            is_neighbours: false,
        }];
        let sheet = sheets(&map, page).remove(0);
        let document = usvg::roxmltree::Document::parse(&sheet.svg).unwrap();
        let one_to: f64 = document.root_element().attribute("data-scale").unwrap().parse().unwrap();
        let (picture, width) = dots(&png(&sheet.svg, page).unwrap());
        let dots_of = |metres: f64| metres / one_to / 0.0254 * 300.0;
        let place = sheet.placement.unwrap();
        assert!((dots_of(1.0) * place.metres_per_dot - 1.0).abs() < 1e-9);
        // The house's grey stands half a point within its edge, whose line is a point wide.
        let line = 300.0 / 72.0;
        let at = |east: f64, north: f64| {
            let across = (east - place.east) / place.metres_per_dot;
            let down = (place.north - north) / place.metres_per_dot;
            (across, down)
        };
        let grey = |(across, down): (f64, f64)| {
            picture[down.round() as usize * width + across.round() as usize] == [0xc9, 0xc9, 0xc9]
        };
        let middle = at(5.0 + wide / 2.0, 8.0 + high / 2.0);
        let run = |step: (f64, f64)| {
            (0..).find(|n| {
                !grey((middle.0 + step.0 * f64::from(*n), middle.1 + step.1 * f64::from(*n)))
            })
        };
        let reach = |step| f64::from(run(step).unwrap());
        for (measured, drawn) in [
            (reach((1.0, 0.0)) + reach((-1.0, 0.0)), dots_of(wide) - line),
            (reach((0.0, 1.0)) + reach((0.0, -1.0)), dots_of(high) - line),
            (reach((1.0, 0.0)), dots_of(wide / 2.0) - line / 2.0),
            (reach((0.0, -1.0)), dots_of(high / 2.0) - line / 2.0),
        ] {
            // Both ends of a run are rounded to whole dots.
            assert!((measured - drawn).abs() <= 1.6, "1:{one_to}: {measured} dots, not {drawn}");
        }
        for bar in document.descendants().filter(|node| node.has_attribute("data-scale-bar")) {
            let value = |name: &str| bar.attribute(name).unwrap().parse::<f64>().unwrap();
            let row = ((value("y") + value("height") / 2.0) * line) as usize;
            let from = ((value("x") - 3.0) * line) as usize;
            let to = ((value("x") + value("width") + 3.0) * line) as usize;
            let dark: Vec<usize> =
                (from..to).filter(|x| picture[row * width + x][0] < 128).collect();
            let (first, last) = (dark[0], dark[dark.len() - 1]);
            // Its line is 0.6 points wide, half of it without on each side.
            let drawn = dots_of(value("data-metres")) + 0.6 * line;
            let measured = (last - first + 1) as f64;
            assert!((measured - drawn).abs() <= 1.6, "1:{one_to}: bar {measured}, not {drawn}");
        }
    }
}

#[test]
fn a_dimension_line_is_as_long_as_the_distance_that_is_kept() {
    let mut lines = 0;
    let maps = [invented::home(), invented::beside_neighbours(), invented::zone_lost()];
    for (map, page) in maps.iter().flat_map(|map| PAGES.map(|page| (map, page))) {
        let sheet = sheets(map, page).remove(0);
        let document = usvg::roxmltree::Document::parse(&sheet.svg).unwrap();
        // Page units for a metre.
        let dots = if page == Page::Screen { 2.0 } else { 300.0 / 72.0 };
        let per_metre = 1.0 / (sheet.placement.unwrap().metres_per_dot * dots);
        for node in document.descendants() {
            if node.attribute("data-dimension").is_none() {
                continue;
            }
            let first = node.attribute("d").unwrap().split('M').nth(1).unwrap();
            let n: Vec<f64> =
                first.split(['L', ' ']).map(|number| number.parse().unwrap()).collect();
            let length = (n[2] - n[0]).hypot(n[3] - n[1]) / per_metre;
            // Ends are written to a hundredth of a point.
            let rounding = 0.015 / per_metre;
            assert!(
                map.strips.iter().any(|strip| (strip.metres - length).abs() <= rounding),
                "{page:?}: {length} m"
            );
            lines += 1;
        }
    }
    assert!(lines >= 18, "{lines}");
}

#[test]
fn outlines_stand_for_text_and_look_the_same() {
    let text = svg(&invented::home(), Page::Letter);
    let outlines = outlined(&text).unwrap();
    assert!(!outlines.contains("<text") && !outlines.contains("font-face"));
    let size = |svg: &str| (parsed(svg).size().width(), parsed(svg).size().height());
    assert_eq!(size(&text), size(&outlines));
    let bare: String = text.lines().filter(|line| !line.starts_with("<text")).collect();
    let [with, outlines, without] =
        [&text, &outlines, &bare].map(|svg| dots(&png(svg, Page::Letter).unwrap()).0);
    let apart = |other: &[[u8; 3]]| {
        with.iter().zip(other).filter(|(a, b)| a[0].abs_diff(b[0]) > 40).count()
    };
    // Rims of letters are rounded otherwise; nothing else is.
    let (drawn, missing) = (apart(&outlines), apart(&without));
    assert!(drawn * 10 < missing, "{drawn} dots differ, {missing} without text");
    assert!(outlined("no drawing").is_err());
}

#[test]
fn what_belongs_to_neighbors_is_gray_and_said_once() {
    let map = invented::beside_neighbours();
    for page in PAGES {
        let text = svg(&map, page);
        let words = words(&text);
        assert_eq!(words.matches("other properties, in gray").count(), 1, "{page:?}");
        assert!(text.contains("#8a8a8a") && !svg(&invented::home(), page).contains("#8a8a8a"));
    }
}
