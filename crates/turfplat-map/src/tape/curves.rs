//! Why a rule is always named: for ten offsets in print the plain mean gives 2,381 sq ft and the
//! trapezoid rule 2,517, and both are called the offset method. An outline is made for the rule's
//! area by stretching what was measured: tape readings keep their proportions, and the area that is
//! dosed is the one that the owner worked out by hand.

use std::f64::consts::PI;

use geo_types::Coord;

use super::Reason;
use super::bearing::sine_and_cosine;
use super::fields::Fields;
use super::figure::{Edge, Figure, Use};
use super::ground::{Outline, area};

#[derive(Clone, Copy, PartialEq)]
enum OffsetRule {
    /// Base line × mean of all widths. Source: How to measure an area (turf handout), example of
    /// ten offsets from a base line of 128 ft.
    Mean,
    /// Straight edges from offset to offset.
    Trapezoid,
    /// Parabolas through three offsets each: d/3 (first + last + 4 Σ odd + 2 Σ even).
    Simpson,
}

/// Widths across a base line, the first and the last at its ends.
pub(super) fn offsets(fields: &Fields<'_>, _: Use) -> Result<Figure, Reason> {
    const RULES: [(&str, OffsetRule); 3] = [
        ("mean", OffsetRule::Mean),
        ("trapezoid", OffsetRule::Trapezoid),
        ("simpson", OffsetRule::Simpson),
    ];
    fields.only(&["spacing", "length", "widths", "rule"])?;
    let rule = fields.rule(&RULES)?;
    let widths = fields.lengths("widths")?;
    let intervals = widths.len().saturating_sub(1);
    if intervals < 1 || widths.iter().all(|width| *width == 0.0) {
        return Err("offsets widths enclose nothing; give two or more, from one end of the base line to the other".into());
    }
    let spacing = match (fields.length("spacing")?, fields.length("length")?) {
        (Some(spacing), None) => spacing,
        (None, Some(length)) => length / intervals as f64,
        (Some(_), Some(_)) => return Err("offsets has a spacing and a length; keep one".into()),
        (None, None) => return Err(fields.missing("spacing, or length of the base line")),
    };
    if rule == OffsetRule::Simpson && !intervals.is_multiple_of(2) {
        return Err(format!(
            "offsets has {intervals} intervals, and Simpson's one-third rule needs an even number; measure one width more, or use rule = \"trapezoid\""
        ));
    }
    let area = by_rule(rule, spacing, &widths);
    let straight = by_rule(OffsetRule::Trapezoid, spacing, &widths);
    let stretch = area / straight;
    let base = [Coord { x: spacing * intervals as f64, y: 0.0 }, Coord { x: 0.0, y: 0.0 }];
    let edge = widths
        .iter()
        .enumerate()
        .map(|(place, width)| Coord { x: spacing * place as f64, y: width * stretch });
    let mut ring: Vec<Coord<f64>> = edge.chain(base).collect();
    ring.reverse();
    // A width of 0 at an end stands on the base line's own end.
    ring.dedup();
    if ring.first() == ring.last() {
        ring.pop();
    }
    let edge =
        stretched(stretch, r#"use rule = "trapezoid", whose edge runs where it was measured"#);
    Ok(Figure { edge, ..Figure::measured(Outline::Rings(vec![ring]), area) })
}

fn by_rule(rule: OffsetRule, spacing: f64, widths: &[f64]) -> f64 {
    let intervals = widths.len().saturating_sub(1) as f64;
    let ends = widths.first().unwrap_or(&0.0) + widths.last().unwrap_or(&0.0);
    let sum: f64 = widths.iter().sum();
    match rule {
        OffsetRule::Mean => spacing * intervals * (sum / widths.len().max(1) as f64),
        OffsetRule::Trapezoid => spacing * (sum - ends / 2.0),
        OffsetRule::Simpson => {
            let odd: f64 = widths.iter().skip(1).step_by(2).sum();
            // All that is neither odd nor an end stands twice.
            spacing / 3.0 * (2.0 * sum - ends + 2.0 * odd)
        }
    }
}

#[derive(Clone, Copy)]
enum RadiusRule {
    /// Triangles between neighbouring radii.
    Triangles,
    /// A circle of the mean radius. Source: West Australian TAFE toolbox, Calculating area: radii
    /// every ten degrees from near the middle of a green, their mean into π r².
    MeanRadius,
}

/// Radii at equal angles, the first to the north, clockwise.
pub(super) fn radii(fields: &Fields<'_>, _: Use) -> Result<Figure, Reason> {
    const RULES: [(&str, RadiusRule); 2] =
        [("triangles", RadiusRule::Triangles), ("mean-radius", RadiusRule::MeanRadius)];
    fields.only(&["lengths", "rule"])?;
    let rule = fields.rule(&RULES)?;
    let radii = fields.lengths("lengths")?;
    if radii.len() < 3 || radii.contains(&0.0) {
        return Err("radii lengths must be three or more, and none of them 0: stand well inside the shape and measure all round it".into());
    }
    let step = 360.0 / radii.len() as f64;
    let end = |(place, radius): (usize, &f64)| {
        let (sine, cosine) = sine_and_cosine(-step * place as f64);
        Coord { x: -radius * sine, y: radius * cosine }
    };
    let mut ring: Vec<Coord<f64>> = radii.iter().enumerate().map(end).collect();
    ring.reverse();
    let triangles = area(&ring);
    let area = match rule {
        RadiusRule::Triangles => triangles,
        RadiusRule::MeanRadius => {
            let mean = radii.iter().sum::<f64>() / radii.len() as f64;
            PI * mean * mean
        }
    };
    let stretch = (area / triangles).sqrt();
    ring.iter_mut().for_each(|place| *place = *place * stretch);
    let edge =
        stretched(stretch, r#"use rule = "triangles", whose edge runs where it was measured"#);
    Ok(Figure { edge, ..Figure::measured(Outline::Rings(vec![ring]), area) })
}

fn stretched(by: f64, cure: &'static str) -> Edge {
    /// Less than rounding makes of it.
    const NOTHING: f64 = 1e-12;
    if (by - 1.0).abs() <= NOTHING { Edge::Measured } else { Edge::Stretched { by, cure } }
}
