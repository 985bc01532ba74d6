//! Properties that do not exist, for tests and for looking at.
#![allow(dead_code, unreachable_pub, missing_docs)] // Each user takes what it needs.

use geo::{BooleanOps, Buffer, Coord, LineString, MultiLineString, MultiPolygon, Polygon};
use turfplat_sheet::{
    Batch, Feature, Kind, Mark, MarkKind, SprayMap, Strip, StripCell, StripChart, StripHour,
    StripLook, StripRow, StripWindow, Zone,
};
use turfplat_units::UnitSystem;

const FOOT: f64 = 0.3048;

pub fn ring(corners: &[(f64, f64)]) -> MultiPolygon<f64> {
    let line: LineString = corners.iter().copied().map(Coord::from).collect();
    MultiPolygon(vec![Polygon::new(line, vec![])])
}

pub fn rect(x: f64, y: f64, w: f64, h: f64) -> MultiPolygon<f64> {
    ring(&[(x, y), (x + w, y), (x + w, y + h), (x, y + h)])
}

/// A blob, an ellipse with a wave on it.
pub fn blob(x: f64, y: f64, rx: f64, ry: f64, wave: f64, corners: usize) -> MultiPolygon<f64> {
    let corners: Vec<(f64, f64)> = (0..corners)
        .map(|i| {
            let t = std::f64::consts::TAU * i as f64 / corners as f64;
            let r = 1.0 + wave * (3.0 * t).sin();
            (x + rx * r * t.cos(), y + ry * r * t.sin())
        })
        .collect();
    ring(&corners)
}

pub fn empty() -> SprayMap {
    SprayMap {
        trail: turfplat_sheet::Trail::default(),
        property: String::new(),
        application: "June".to_owned(),
        products: vec![],
        equipment: String::new(),
        date: None,
        units: UnitSystem::Us,
        zones: vec![],
        features: vec![],
        strips: vec![],
        marks: vec![],
        lot: MultiPolygon(vec![]),
        neighbour_lots: MultiPolygon(vec![]),
        batches: vec![],
        totals: vec![],
        notes: vec![],
        cautions: vec![],
        underlay: None,
    }
}

fn strings(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|&text| text.to_owned()).collect()
}

pub fn zone(
    name: &str,
    species: &[&str],
    drawn: MultiPolygon<f64>,
    off: &MultiPolygon<f64>,
    batch: usize,
) -> Zone {
    let treated = drawn.difference(off);
    let feet = geo::Area::unsigned_area(&treated) / FOOT / FOOT;
    Zone {
        name: name.to_owned(),
        species: strings(species),
        area: format!("{} sq ft", turfplat_units::decimal(feet, 0)),
        amounts: vec![format!("{:.2} fl oz", feet * 0.3 / 1000.0)],
        treated,
        drawn,
        batch: Some(batch),
        skipped: None,
    }
}

fn feature(kind: Kind, name: &str, shape: &MultiPolygon<f64>) -> Feature {
    Feature { kind, name: name.to_owned(), shape: shape.clone(), is_neighbours: false }
}

/// Ground held back by so many feet from `edge`.
pub fn held_back(to: &str, feet: f64, edge: MultiLineString, shape: MultiPolygon<f64>) -> Strip {
    let distance = format!("{} ft", turfplat_units::decimal(feet, 0));
    Strip { to: to.to_owned(), distance, metres: feet * FOOT, edge, shape, wind: None }
}

/// The rings of a shape.
pub fn rings(shape: &MultiPolygon<f64>) -> MultiLineString {
    MultiLineString(shape.iter().map(|polygon| polygon.exterior().clone()).collect())
}

/// A single point, from which a distance is kept.
pub fn spot(x: f64, y: f64) -> MultiLineString {
    MultiLineString(vec![LineString(vec![Coord { x, y }])])
}

pub fn mark(kind: MarkKind, name: &str, x: f64, y: f64) -> Mark {
    Mark { kind, name: name.to_owned(), x, y, is_neighbours: false }
}

fn cautions() -> Vec<String> {
    strings(&[
        "The label is the law and outranks this plan. Follow its rates, intervals, protective clothing and weather limits.",
        "Do not spray towards water, wells, neighbors, bees at bloom or food plants. Where a line on the map is uncertain, treat less.",
        "Keep people and pets off until dry.",
    ])
}

/// About 30 m × 45 m: house, drive, beds, pond, stream, well.
pub fn home() -> SprayMap {
    let house =
        ring(&[(9.0, 17.0), (22.0, 17.0), (22.0, 20.0), (24.0, 20.0), (24.0, 28.5), (9.0, 28.5)]);
    let drive = ring(&[(18.5, 0.0), (23.0, 0.0), (23.0, 17.0), (18.5, 17.0)]);
    let walk =
        ring(&[(12.5, 9.0), (18.5, 9.0), (18.5, 10.3), (13.8, 10.3), (13.8, 17.0), (12.5, 17.0)]);
    let bed = blob(19.5, 36.0, 2.6, 1.7, 0.12, 40);
    let front_bed = rect(9.0, 15.6, 3.3, 1.4);
    let garden = rect(2.0, 39.5, 5.5, 4.0);
    let pond = blob(3.0, 30.5, 3.2, 2.1, 0.08, 60);
    let stream = ring(&[
        (-3.0, 46.6),
        (8.0, 45.9),
        (18.0, 47.3),
        (33.0, 46.2),
        (33.0, 47.4),
        (18.0, 48.4),
        (8.0, 47.0),
        (-3.0, 47.8),
    ]);
    let pond_strip = pond.buffer(10.0 * FOOT);
    let stream_strip = stream.buffer(10.0 * FOOT);
    let well_strip = blob(27.4, 15.5, 15.0 * FOOT, 15.0 * FOOT, 0.0, 160);
    let play = rect(24.6, 37.2, 4.0, 3.6);
    let hives = blob(27.6, 31.0, 0.9, 0.9, 0.0, 24);
    let off = [
        &house,
        &drive,
        &walk,
        &bed,
        &front_bed,
        &garden,
        &pond,
        &stream,
        &pond_strip,
        &stream_strip,
        &well_strip,
        &play,
        &hives,
    ]
    .into_iter()
    .fold(MultiPolygon(vec![]), |all, one| all.union(one));
    let front = ring(&[(0.0, 1.5), (18.5, 1.5), (18.5, 17.0), (0.0, 17.0)]);
    let side =
        ring(&[(23.0, 1.5), (30.0, 1.5), (30.0, 28.5), (24.0, 28.5), (24.0, 20.0), (23.0, 20.0)]);
    let west = rect(6.2, 17.0, 2.8, 11.5);
    let back = rect(0.0, 28.5, 30.0, 16.5);
    let verge = rect(0.0, -1.2, 18.5, 1.1);
    let mut nook = zone("Kitchen nook", &["tall-fescue"], rect(0.2, 17.5, 5.5, 5.5), &off, 1);
    nook.skipped = Some("dormant, treat when it is green again".to_owned());
    nook.treated = MultiPolygon(vec![]);
    SprayMap {
        property: "14 Alder Court".to_owned(),
        application: "June".to_owned(),
        products: strings(&["trinexapac-ethyl 1 lb/gal EC"]),
        equipment: "knapsack: backpack, 3 gal tank, 1.2 gal/1000 sq ft".to_owned(),
        zones: vec![
            zone("Front lawn", &["Kentucky bluegrass", "perennial ryegrass"], front, &off, 1),
            zone("Side strip", &["tall fescue"], side, &off, 1),
            zone("West passage", &["tall fescue"], west, &off, 1),
            zone("Back lawn", &["hybrid bermudagrass"], back, &off, 2),
            zone("Verge", &["tall fescue"], verge, &off, 1),
            nook,
        ],
        features: vec![
            feature(Kind::Building, "house", &house),
            feature(Kind::Hardscape, "drive", &drive),
            feature(Kind::Hardscape, "front walk", &walk),
            feature(Kind::Bed, "rose bed", &bed),
            feature(Kind::Bed, "front bed", &front_bed),
            feature(Kind::Garden, "vegetables", &garden),
            feature(Kind::Water, "pond", &pond),
            feature(Kind::Water, "Mill Brook", &stream),
            feature(Kind::Play, "swings", &play),
            feature(Kind::Apiary, "hives", &hives),
        ],
        strips: vec![
            held_back("water", 10.0, rings(&pond), pond_strip),
            held_back("water", 10.0, rings(&stream), stream_strip),
            held_back("well", 15.0, spot(27.4, 15.5), well_strip),
        ],
        marks: vec![
            mark(MarkKind::Well, "well", 27.4, 15.5),
            mark(MarkKind::Drain, "storm drain", 17.0, -0.5),
            mark(MarkKind::MixSite, "mix here", 20.7, 13.5),
            mark(MarkKind::Apiary, "bees", 27.6, 31.0),
        ],
        lot: rect(0.0, 0.0, 30.0, 45.0),
        batches: vec![
            Batch {
                number: 1,
                zones: strings(&["Front lawn", "Side strip", "West passage", "Verge"]),
                mix: strings(&["0.3 fl oz/1000 sq ft in 1.2 gal/1000 sq ft"]),
                loads: strings(&[
                    "load 1: 3 gal = 0.75 fl oz + 2.99 gal water, covers Front lawn 2,120 sq ft, Side strip 380 sq ft",
                    "load 2: 1.9 gal = 0.48 fl oz + 1.9 gal water, covers Side strip 1,020 sq ft, West passage 346 sq ft, Verge 219 sq ft",
                ]),
            },
            Batch {
                number: 2,
                zones: strings(&["Back lawn"]),
                mix: strings(&["0.14 fl oz/1000 sq ft in 1.2 gal/1000 sq ft"]),
                loads: strings(&[
                    "load 1: 3 gal = 0.35 fl oz + 3 gal water, covers Back lawn 2,500 sq ft",
                    "load 2: 0.9 gal = 0.1 fl oz + 0.9 gal water, covers Back lawn 734 sq ft",
                ]),
            },
        ],
        totals: strings(&["trinexapac-ethyl 1 lb/gal EC: 1.68 fl oz", "spray: 8.8 gal"]),
        notes: strings(&[
            "Back lawn: no setback was chosen for the play area; the tool's default of 10 ft was kept.",
            "Verge: lies beyond the lot line.",
        ]),
        cautions: cautions(),
        ..empty()
    }
}

/// A town garden of a few steps, in metric units.
pub fn tiny() -> SprayMap {
    let terrace = rect(0.0, 0.0, 6.0, 2.2);
    let mut lawn = zone(
        "Lawn",
        &["fine fescue"],
        ring(&[(0.2, 2.4), (5.8, 2.4), (5.8, 8.0), (3.0, 9.5), (0.2, 8.0)]),
        &blob(4.2, 6.5, 0.9, 0.9, 0.1, 30),
        1,
    );
    lawn.area = "28.9 m²".to_owned();
    lawn.amounts = strings(&["2.8 mL", "45 g"]);
    SprayMap {
        property: "Terrace 7".to_owned(),
        application: "Autumn feed and growth regulator".to_owned(),
        products: strings(&["trinexapac-ethyl 120 g/L EC", "iron sulfate 20 % WDG"]),
        equipment: "hand can, 5 L".to_owned(),
        date: Some("2026-10-03".to_owned()),
        units: UnitSystem::Metric,
        zones: vec![lawn],
        features: vec![
            feature(Kind::Hardscape, "terrace", &terrace),
            feature(Kind::Bed, "bed", &blob(4.2, 6.5, 0.9, 0.9, 0.1, 30)),
        ],
        lot: rect(0.0, 0.0, 6.0, 10.0),
        batches: vec![Batch {
            number: 1,
            zones: strings(&["Lawn"]),
            mix: strings(&["0.1 mL/m² in 0.05 L/m²", "1.5 g/m²"]),
            loads: strings(&["load 1: 1.4 L = 2.8 mL + 45 g + 1.4 L water, covers Lawn 28.9 m²"]),
        }],
        totals: strings(&[
            "trinexapac-ethyl 120 g/L EC: 2.8 mL",
            "iron sulfate 20 % WDG: 45 g",
            "spray: 1.4 L",
        ]),
        cautions: cautions(),
        ..empty()
    }
}

const SPECIES: [&str; 16] = [
    "tall fescue",
    "Kentucky bluegrass",
    "perennial ryegrass",
    "hybrid bermudagrass",
    "zoysiagrass",
    "St. Augustinegrass",
    "centipedegrass",
    "bahiagrass",
    "creeping bentgrass",
    "annual bluegrass",
    "fine fescue",
    "seashore paspalum",
    "buffalograss",
    "carpetgrass",
    "kikuyugrass",
    "common bermudagrass",
];

/// Forty zones of sixteen species on two hectares, three batches of many loads.
pub fn forty() -> SprayMap {
    let mut map = SprayMap { property: "Larch Hill trial ground".to_owned(), ..home() };
    map.zones.clear();
    map.features.clear();
    map.strips.clear();
    map.marks.clear();
    let path = rect(70.0, -2.0, 3.0, 120.0);
    for index in 0..40 {
        let (row, column) = (index / 8, index % 8);
        let (x, y) = (f64::from(column) * 18.0, f64::from(row) * 23.0);
        let shape = if index % 5 == 3 {
            blob(x + 8.0, y + 10.0, 8.0, 9.0, 0.15, 50)
        } else {
            rect(x, y, 16.0, if index % 3 == 0 { 21.0 } else { 6.0 })
        };
        let species = SPECIES[index as usize % 16];
        map.zones.push(zone(
            &format!("Plot {} {}", index + 1, ["north", "by the gate", "C"][index as usize % 3]),
            &[species],
            shape,
            &path,
            index as usize % 3 + 1,
        ));
    }
    map.features.push(feature(Kind::Hardscape, "path", &path));
    map.lot = rect(-3.0, -3.0, 150.0, 121.0);
    map.batches = (1..=3)
        .map(|number| Batch {
            number,
            zones: (0..40).filter(|i| i % 3 + 1 == number).map(|i| format!("Plot {}", i + 1)).collect(),
            mix: strings(&["0.3 fl oz/1000 sq ft in 1.2 gal/1000 sq ft"]),
            loads: (1..=14).map(|load| format!("load {load}: 25 gal = 6.25 fl oz + 24.9 gal water, covers Plot {} 20,833 sq ft", load * 2)).collect(),
        })
        .collect();
    map
}

/// Forty hectares, two hundred zones of all sizes around a lake.
pub fn campus() -> SprayMap {
    let lake = blob(350.0, 300.0, 110.0, 60.0, 0.1, 200);
    let strip = lake.buffer(50.0 * FOOT);
    let mut map = SprayMap {
        property: "Northfield campus".to_owned(),
        application: "Spring, all grounds".to_owned(),
        ..home()
    };
    map.zones.clear();
    map.features.clear();
    map.strips.clear();
    map.marks.clear();
    let mut halls = MultiPolygon(vec![]);
    for index in 0..24 {
        let (x, y) = (f64::from(index % 6) * 118.0 + 20.0, f64::from(index / 6) * 155.0 + 15.0);
        let hall = ring(&[
            (x, y),
            (x + 45.0, y),
            (x + 45.0, y + 18.0),
            (x + 20.0, y + 18.0),
            (x + 20.0, y + 40.0),
            (x, y + 40.0),
        ]);
        map.features.push(feature(Kind::Building, &format!("Hall {}", index + 1), &hall));
        halls = halls.union(&hall);
    }
    let off = halls.union(&strip);
    for index in 0..200_u32 {
        let (row, column) = (index / 20, index % 20);
        let (x, y) = (f64::from(column) * 35.0, f64::from(row) * 62.0);
        let size = 1.0 - f64::from(index * 7 % 11) / 13.0;
        let shape = rect(x, y, 32.0 * size, 57.0 * size);
        map.zones.push(zone(
            &format!("Lawn {}", index + 1),
            &[SPECIES[(index / 50) as usize]],
            shape,
            &off,
            1,
        ));
    }
    map.features.push(feature(Kind::Water, "Long Lake", &lake));
    map.strips.push(held_back("water", 50.0, rings(&lake), strip));
    map.marks.push(mark(MarkKind::MixSite, "yard", 10.0, 590.0));
    map.lot = rect(-5.0, -5.0, 710.0, 630.0);
    map
}

/// The same map in metric units.
pub fn metric(map: SprayMap) -> SprayMap {
    SprayMap { units: UnitSystem::Metric, ..map }
}

/// A lawn all round a house: its label may not stand in the hole.
pub fn ring_lawn() -> SprayMap {
    let house = rect(10.0, 9.0, 22.0, 16.0);
    let lawn =
        zone("Lawn all round", &["tall fescue"], blob(21.0, 17.0, 20.0, 15.0, 0.0, 90), &house, 1);
    SprayMap {
        property: "3 Round Hill".to_owned(),
        zones: vec![lawn],
        features: vec![feature(Kind::Building, "house", &house)],
        strips: vec![],
        marks: vec![],
        lot: rect(0.0, 0.0, 42.0, 34.0),
        ..home()
    }
}

/// Every kind of feature and of mark once, with a lawn before them.
pub fn all_kinds() -> SprayMap {
    let kinds = [
        (Kind::Building, "building"),
        (Kind::Hardscape, "paving"),
        (Kind::Water, "water"),
        (Kind::Bed, "bed"),
        (Kind::Garden, "garden"),
        (Kind::Play, "play"),
        (Kind::Apiary, "apiary"),
        (Kind::KeepOut, "keep out"),
        (Kind::Drain, "drain"),
        (Kind::VegStrip, "natural strip"),
    ];
    let place = |index: usize| {
        (f64::from((index % 5) as u32) * 9.0, 14.0 + f64::from((index / 5) as u32) * 9.0)
    };
    let features = kinds.iter().enumerate().map(|(index, (kind, name))| {
        let (x, y) = place(index);
        feature(*kind, name, &rect(x, y, 7.0, 6.0))
    });
    let marks = [
        mark(MarkKind::Well, "well", 4.0, 8.0),
        mark(MarkKind::Drain, "inlet", 14.0, 8.0),
        mark(MarkKind::Apiary, "hives", 24.0, 8.0),
        mark(MarkKind::MixSite, "fill here", 34.0, 8.0),
    ];
    let nothing = MultiPolygon(vec![]);
    let lawn = zone("Lawn", &["zoysiagrass"], rect(0.0, 0.0, 43.0, 12.0), &nothing, 1);
    SprayMap {
        property: "Pattern yard".to_owned(),
        zones: vec![lawn],
        features: features.collect(),
        strips: vec![],
        marks: marks.to_vec(),
        lot: rect(-1.0, -1.0, 45.0, 31.0),
        ..home()
    }
}

/// A lawn of which a pond's setback takes everything.
pub fn zone_lost() -> SprayMap {
    let pond = blob(6.0, 8.0, 3.0, 3.0, 0.1, 60);
    let strip = pond.buffer(25.0 * FOOT);
    let mut lost = zone("By the pond", &["tall fescue"], rect(1.0, 12.0, 9.0, 3.0), &strip, 1);
    lost.skipped = Some("nothing is left of it: 25 ft from water".to_owned());
    lost.treated = MultiPolygon(vec![]);
    let far = zone("Far lawn", &["tall fescue"], rect(16.0, 0.0, 14.0, 20.0), &strip, 1);
    SprayMap {
        property: "9 Pond Lane".to_owned(),
        zones: vec![lost, far],
        features: vec![feature(Kind::Water, "pond", &pond)],
        strips: vec![held_back("water", 25.0, rings(&pond), strip)],
        marks: vec![],
        lot: rect(0.0, 0.0, 31.0, 21.0),
        ..home()
    }
}

/// Every zone left out.
pub fn nothing_to_treat() -> SprayMap {
    let mut map = home();
    for zone in &mut map.zones {
        zone.treated = MultiPolygon(vec![]);
        zone.amounts.clear();
        zone.skipped = Some("dormant".to_owned());
    }
    map.batches.clear();
    map.totals.clear();
    map
}

/// A lot with others on both sides, and the neighbor's pond and well in reach.
pub fn beside_neighbours() -> SprayMap {
    let pond = blob(38.0, 34.0, 4.0, 3.0, 0.1, 60);
    let strip = pond.buffer(25.0 * FOOT);
    let well = blob(-4.0, 30.0, 9.0, 9.0, 0.0, 90);
    let theirs = |kind, name: &str, shape: &MultiPolygon<f64>| Feature {
        is_neighbours: true,
        ..feature(kind, name, shape)
    };
    let mut map = home();
    let off = strip.union(&well);
    for zone in &mut map.zones {
        zone.treated = zone.treated.difference(&off);
    }
    map.features.push(theirs(Kind::Water, "pond next door", &pond));
    map.features.push(theirs(Kind::Building, "", &rect(34.0, 10.0, 12.0, 14.0)));
    map.strips.push(held_back("water", 25.0, rings(&pond), strip));
    map.strips.push(held_back("well", 30.0, spot(-4.0, 30.0), well));
    map.marks
        .push(Mark { is_neighbours: true, ..mark(MarkKind::Well, "well next door", -4.0, 30.0) });
    map.neighbour_lots = MultiPolygon(
        [rect(30.0, 0.0, 26.0, 45.0), rect(-24.0, 0.0, 24.0, 45.0)].into_iter().flatten().collect(),
    );
    map
}

/// Hours of three days, one of which has 25, with texts longer than there is room for.
pub fn hours() -> StripChart {
    let days = [("Sat 2026-10-31", 6..24), ("Sun 2026-11-01", 0..25), ("Mon 2026-11-02", 0..20)];
    let hours = days.into_iter().flat_map(|(day, hours)| {
        hours.map(move |hour: u32| {
            // The hour from one to two comes twice where a day has 25.
            let clock = if day.starts_with("Sun") && hour > 1 { hour - 1 } else { hour };
            StripHour {
                day: day.into(),
                clock: format!("{clock:02}"),
                is_dark: !(7..17).contains(&clock),
            }
        })
    });
    let hours: Vec<StripHour> = hours.collect();
    let looks = [StripLook::Fit, StripLook::NotFit, StripLook::Advisory, StripLook::Unknown];
    let row = |name: &str, step: usize| StripRow {
        name: name.into(),
        asked: "3 mph (default) to 10 mph (label of a-product-with-a-very-long-name-indeed)".into(),
        cells: (0..hours.len())
            .map(|place| StripCell {
                look: looks[place / step % 4],
                figure: if step == 3 { format!("{}", place * place) } else { String::new() },
            })
            .collect(),
    };
    StripChart {
        title: format!("Hours to spray: {}, 14 Alder <Lane>", "a very long mix, ".repeat(12)),
        about: vec!["The label outranks this chart.".into()],
        rows: vec![row("all rules", 5), row("wind, mph", 3), row("daylight", 7)],
        windows: (0..10)
            .map(|at| StripWindow {
                hours: at * 6..at * 6 + 4,
                best: at * 6 + 1..at * 6 + 2,
                words: "Sat 2026-10-31 09:00 to 11:00; ".repeat(if at == 1 { 9 } else { 1 }),
            })
            .collect(),
        notes: vec!["Forecast wind is that of 10 m (33 ft) above open ground.".into()],
        hours,
    }
}
