//! The law of labels, tried on properties nobody would draw by hand: every label stands on
//! its ground or is led to it, and no two touch.

use geo::{Buffer, Coord, LineString, MultiLineString, MultiPolygon, Polygon, Translate};
use proptest::prelude::*;
use turfplat_units::UnitSystem;

use crate::grid::Grid;
use crate::layout::{Asked, Layout};
use crate::map::{Feature, Kind, Mark, MarkKind, SprayMap, Strip, Zone};
use crate::page::Page;
use crate::place::{Placed, Says};
use crate::shape::Bounds;

/// Metres that are kept from every water: ten feet.
const KEPT: f64 = 3.048;

/// A star of a few corners around a point: sometimes a lawn, sometimes a sliver.
fn any_ground() -> impl Strategy<Value = MultiPolygon<f64>> {
    let corner = 0.15..1.0_f64;
    (
        -40.0..40.0_f64,
        -25.0..25.0_f64,
        0.3..16.0_f64,
        0.3..16.0_f64,
        prop::collection::vec(corner, 3..9),
    )
        .prop_map(|(x, y, wide, high, reach)| {
            let turn = std::f64::consts::TAU / reach.len() as f64;
            let corners: LineString = reach
                .iter()
                .enumerate()
                .map(|(index, r)| {
                    let (sin, cos) = (turn * index as f64).sin_cos();
                    Coord { x: x + wide * r * cos, y: y + high * r * sin }
                })
                .collect();
            MultiPolygon(vec![Polygon::new(corners, vec![])])
        })
}

fn any_zone() -> impl Strategy<Value = Zone> {
    let name = "[A-Za-z<&]{1,9}( [a-z]{1,8}){0,4}";
    // Now and then a second piece, well apart from the first.
    let second = prop::option::weighted(0.3, any_ground());
    ((any_ground(), second), name, 0..4_usize, prop::bool::weighted(0.15))
        .prop_map(|((mut ground, second), name, kind, skip)| {
            ground.0.extend(second.into_iter().flatten().map(|piece| piece.translate(0.0, 90.0)));
            (ground, name, kind, skip)
        })
        .prop_map(|(ground, name, kind, skip)| Zone {
            name,
            species: vec![
                ["tall fescue", "zoysiagrass", "bahiagrass", "fine fescue"][kind].to_owned(),
            ],
            treated: ground.clone(),
            drawn: ground,
            area: "1,234 sq ft".to_owned(),
            amounts: vec!["0.37 fl oz".to_owned(); 1 + kind % 2],
            batch: Some(kind + 1),
            skipped: skip.then(|| "dormant".to_owned()),
        })
}

pub(crate) fn any_map() -> impl Strategy<Value = SprayMap> {
    let zones = prop::collection::vec(any_zone(), 0..14);
    let strips = prop::collection::vec(any_ground(), 0..4);
    let features = prop::collection::vec(any_ground(), 0..4);
    let marks = prop::collection::vec((-50.0..50.0_f64, -30.0..30.0_f64), 0..5);
    (zones, strips, features, marks).prop_map(|(zones, strips, features, marks)| SprayMap {
        trail: crate::trail::Trail::default(),
        property: "Test".to_owned(),
        application: "June".to_owned(),
        products: vec![],
        equipment: String::new(),
        date: None,
        units: UnitSystem::Us,
        zones,
        features: features
            .into_iter()
            .map(|shape| Feature {
                kind: Kind::Bed,
                name: "bed".to_owned(),
                shape,
                is_neighbours: false,
            })
            .collect(),
        strips: strips
            .into_iter()
            .map(|edge| Strip {
                to: "water".to_owned(),
                distance: "10 ft".to_owned(),
                metres: KEPT,
                shape: edge.buffer(KEPT),
                edge: MultiLineString(edge.iter().map(|p| p.exterior().clone()).collect()),
                wind: None,
            })
            .collect(),
        marks: marks
            .into_iter()
            .map(|(x, y)| Mark {
                kind: MarkKind::Well,
                name: "well".to_owned(),
                x,
                y,
                is_neighbours: false,
            })
            .collect(),
        lot: MultiPolygon(vec![]),
        neighbour_lots: MultiPolygon(vec![]),
        batches: vec![],
        totals: vec![],
        notes: vec![],
        cautions: vec!["Keep off until dry.".to_owned()],
        underlay: None,
    })
}

fn touches(label: &Placed, to: Coord) -> bool {
    label.bounds.grown(0.01).contains(to)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(500) })]

    #[test]
    fn a_label_stands_on_its_ground_or_is_led_to_it_and_touches_no_other(map in any_map()) {
        let sheet = Layout::new(&map, Page::Letter, &Asked::all(Page::Letter));
        let frame = sheet.plate.scene.frame;
        for (index, label) in sheet.labels.placed.iter().enumerate() {
            prop_assert!(frame.holds(label.bounds), "beyond the frame: {label:?}");
            for other in &sheet.labels.placed[index + 1..] {
                prop_assert!(!label.bounds.overlaps(other.bounds), "{label:?} lies on {other:?}");
            }
            let Some(zone) = label.zone else { continue };
            if let Says::Number(number) = label.says {
                prop_assert_eq!(number, zone + 1, "a number that is not the zone's own");
            }
            let Some(ground) = &sheet.plate.scene.zones[zone] else {
                return Err(TestCaseError::fail(format!("a label without ground: {label:?}")));
            };
            match label.leader {
                None => prop_assert!(ground.covers(label.bounds), "off its ground: {label:?}"),
                Some((from, to)) => {
                    prop_assert!(ground.contains(from), "led from elsewhere: {label:?}");
                    prop_assert!(touches(label, to), "the line ends short: {label:?}");
                }
            }
        }
        // Numbers of the frame and dimension lines are not covered; a dimension's own words stand
        // across its middle.
        let numbers = Grid::new(&map, sheet.view).reserved(sheet.view, frame);
        for label in &sheet.labels.placed {
            let covered = numbers.iter().find(|number| number.overlaps(label.bounds));
            prop_assert!(covered.is_none(), "{label:?} lies on a number of the frame");
        }
        for &(from, to) in &sheet.labels.dimensions {
            let middle = (from + to) / 2.0;
            for label in &sheet.labels.placed {
                let own = touches(label, middle) && label.zone.is_none();
                let crossed = label.bounds.is_crossed_by(from, to);
                prop_assert!(own || !crossed, "{label:?} lies on a dimension line");
            }
            let length = (to.x - from.x).hypot(to.y - from.y) / sheet.view.per_metre;
            prop_assert!((length - KEPT).abs() < 1e-6, "{length} m");
        }
        // Words or a number: each zone that is on the map has one of them.
        for (zone, ground) in sheet.plate.scene.zones.iter().enumerate() {
            let seen = ground.as_ref().is_some_and(|ground| {
                let b = ground.bounds;
                frame.holds(b) && b.width() > 3.0 && b.height() > 3.0
            });
            let labels = sheet.labels.placed.iter().filter(|label| label.zone == Some(zone)).count();
            let pieces = ground.as_ref().map_or(0, |ground| ground.pieces().len());
            prop_assert!(labels <= pieces, "{labels} labels on {pieces} pieces");
            if seen && map.zones.len() < 8 {
                prop_assert!(labels >= 1, "zone {zone} has no label");
            }
        }
    }
}

#[test]
fn letters_do_not_stick_out_of_their_box() {
    // The box is measured from advances; what is drawn may be narrower by kerning, never wider.
    let lines = vec![("Wavy AVATAR Tó 4,812 sq ft".to_owned(), true)];
    let wording = crate::label::Wording::new(lines.clone());
    let (width, height) = wording.size(20.0);
    let mut canvas = crate::canvas::Canvas::new();
    wording.draw(&mut canvas, Bounds::new(0.0, 0.0, width, height), 20.0);
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="900" height="90" font-family="Inter">{}</svg>"#,
        canvas.finish().replace("stroke=", "data-stroke=")
    );
    let options = resvg::usvg::Options { fontdb: crate::font::database(), ..Default::default() };
    let tree = resvg::usvg::Tree::from_str(&svg, &options).unwrap();
    let drawn = tree.root().abs_bounding_box();
    assert!(
        f64::from(drawn.left()) >= 0.0 && f64::from(drawn.right()) <= width,
        "{drawn:?} in {width}"
    );
    assert!(f64::from(drawn.right() - drawn.left()) > width * 0.9, "{drawn:?} in {width}");
}
