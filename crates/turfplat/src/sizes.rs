//! Why sizes are looked at where somebody said in what unit a plane is: of coordinates alone nobody
//! can tell feet from meters, and the areas are 10.76 times too large or too small. But a house is
//! no hall and a walk is no runway. This asks and never refuses: the hall may be one.

use geo::Coord;
use turfplat_map::{Feature, Kind};
use turfplat_units::Length;

use crate::finding::Finding;

/// What the largest building of a property covers where it is a house, in square meters: 650 to
/// 5,400 sq ft. Common practice, no source.
const HOUSE: [f64; 2] = [60.0, 500.0];
/// How wide the narrowest walk or drive of a property is, in meters: 2.6 to 26 ft. Common practice,
/// no source.
const PAVING: [f64; 2] = [0.8, 8.0];

/// What speaks for feet that were taken for meters, or the other way round. `meters_per_unit` is what
/// was said of the coordinates.
pub(crate) fn unit_slip(features: &[Feature], meters_per_unit: f64) -> Option<Finding> {
    let feet = Length::METRES_PER_FOOT;
    let said_meters = meters_per_unit == 1.0;
    let of_kind = |kind: Kind| features.iter().filter(move |feature| feature.kind == kind);
    let house = of_kind(Kind::Building)
        .filter_map(|it| Some((it, sizes(it)?.0)))
        .max_by(|a, b| a.1.total_cmp(&b.1));
    let paving = of_kind(Kind::Hardscape)
        .filter_map(|it| Some((it, sizes(it)?.1)))
        .min_by(|a, b| a.1.total_cmp(&b.1));
    // True of what is usual only in the other unit, false of what is so only as it is.
    let by = if said_meters { feet } else { 1.0 / feet };
    let speaks = |size: f64, [least, most]: [f64; 2], by: f64| {
        let is_usual = |size: f64| (least..=most).contains(&size);
        match (is_usual(size), is_usual(size * by)) {
            (true, false) => Some(false),
            (false, true) => Some(true),
            _ => None,
        }
    };
    let of_house = house.and_then(|(_, size)| speaks(size, HOUSE, by * by));
    let of_paving = paving.and_then(|(_, size)| speaks(size, PAVING, by));
    let is_slip = match (of_house, of_paving) {
        (Some(false), _) | (_, Some(false)) => false,
        // A shed alone is no house that shrank.
        (Some(true), other) => said_meters || other == Some(true),
        (None, _) => false,
    };
    let (first, _) = house.filter(|_| is_slip)?;
    let figures = |area_unit: &str, width_unit: &str, unit: f64| {
        let area = house.map(|(_, size)| format!("{:.0} {area_unit}", size / unit / unit));
        let width = paving.map(|(_, size)| format!("{:.1} {width_unit}", size / unit));
        (area.unwrap_or_default(), width)
    };
    let (now, then) = match said_meters {
        true => (figures("m²", "m", 1.0), figures("sq ft", "ft", 1.0)),
        false => (figures("sq ft", "ft", feet), figures("m²", "m", feet)),
    };
    let of_width = |width: &Option<String>, words: &str| {
        width.as_ref().map_or_else(String::new, |width| format!("{words}{width}"))
    };
    let (code, unit, option) = match said_meters {
        true => ("feet-as-meters", "feet", "--plane ft"),
        false => ("meters-as-feet", "meters", "--plane m"),
    };
    let message = format!(
        "the largest building covers {}{}; were the coordinates {unit}, {}{}: if they are, say {option}",
        now.0,
        of_width(&now.1, " and the narrowest paving is as wide as "),
        then.0,
        of_width(&then.1, " and "),
    );
    Some(Finding::of(first, code, message, 0.0))
}

/// The area of what a feature is drawn as, and its width on the whole, of one drawn as polygons on a
/// plane in meters.
fn sizes(feature: &Feature) -> Option<(f64, f64)> {
    let mut sum = [0.0; 2];
    for polygon in &feature.outline.polygons {
        let places = &polygon.exterior().0;
        let first = *places.first()?;
        let (mut doubled, mut around) = (0.0, 0.0);
        for side in places.windows(2) {
            let [a, b] = [side[0] - first, side[1] - first];
            let way: Coord<f64> = b - a;
            doubled += a.x * b.y - a.y * b.x;
            around += way.x.hypot(way.y);
        }
        sum = [sum[0] + doubled.abs() / 2.0, sum[1] + around];
    }
    let [area, around] = sum;
    // As wide as the rectangle of that area and outline, or as a square where there is none.
    let half = around / 2.0;
    let width = (half - (half * half - 4.0 * area).max(0.0).sqrt()) / 2.0;
    (area > 0.0).then(|| (area, width.min(area.sqrt())))
}
