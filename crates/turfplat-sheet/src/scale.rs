//! From metres on the plane to points on the page, at a scale that can be said in words.

use geo::Coord;
use turfplat_units::{Length, UnitSystem};

use crate::canvas::{Anchor, Canvas, INK, Type, push_segment};
use crate::shape::Bounds;

/// Points in a metre: 72 to the inch of 0.0254 m, both exact.
pub(crate) const POINTS_PER_METRE: f64 = 72.0 / 0.0254;

/// Scales of metric drawings, times powers of ten.
const METRIC: [f64; 10] = [1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5];

/// Feet of ground on an inch of paper, times powers of ten: what an engineer's rule reads.
const FEET_ON_AN_INCH: [f64; 10] = [1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0];

/// Lengths for bars and frames, times powers of ten.
const STEPS: [f64; 3] = [1.0, 2.0, 5.0];

/// Where the plane lies on the page.
#[derive(Clone, Copy, Debug)]
pub(crate) struct View {
    /// Points for one metre.
    pub(crate) per_metre: f64,
    /// The n of 1:n; a screen has none.
    pub(crate) one_to: Option<f64>,
    centre: Coord,
    middle: Coord,
}

impl View {
    /// The largest round scale at which `extent` (metres) fits into `room` (points).
    pub(crate) fn new(extent: Bounds, room: Bounds, true_scale: bool, units: UnitSystem) -> View {
        // A single point still gets a metre of ground around it.
        let (wide, high) = (extent.width().max(1.0), extent.height().max(1.0));
        let fitting = (room.width().max(1.0) / wide).min(room.height().max(1.0) / high);
        let one_to = true_scale.then(|| round_scale(POINTS_PER_METRE / fitting, units));
        let per_metre = one_to.map_or(fitting, |n| POINTS_PER_METRE / n);
        View { per_metre, one_to, centre: extent.centre(), middle: room.centre() }
    }

    /// At 1:`one_to`, with `centre` (metres) in the middle of `room` (points).
    pub(crate) fn at(one_to: f64, centre: Coord, room: Bounds) -> View {
        let per_metre = POINTS_PER_METRE / one_to;
        View { per_metre, one_to: Some(one_to), centre, middle: room.centre() }
    }

    /// The plane's coordinates of a point of the page.
    pub(crate) fn to_plane(self, p: Coord) -> Coord {
        Coord {
            x: self.centre.x + (p.x - self.middle.x) / self.per_metre,
            y: self.centre.y - (p.y - self.middle.y) / self.per_metre,
        }
    }

    /// A box of the plane, on the page.
    pub(crate) fn box_on_page(self, b: Bounds) -> Bounds {
        let (low, high) = (Coord { x: b.x0, y: b.y0 }, Coord { x: b.x1, y: b.y1 });
        let (foot, head) = (self.to_page(low), self.to_page(high));
        Bounds { x0: foot.x, y0: head.y, x1: head.x, y1: foot.y }
    }

    pub(crate) fn to_page(self, c: Coord) -> Coord {
        Coord {
            x: self.middle.x + (c.x - self.centre.x) * self.per_metre,
            y: self.middle.y - (c.y - self.centre.y) * self.per_metre,
        }
    }

    /// The step of the frame, in metres.
    pub(crate) fn frame_step(self, units: UnitSystem) -> f64 {
        let unit = metres_in(units);
        step_below(44.0 / (self.per_metre * unit)) * unit
    }
}

pub(crate) fn metres_in(units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Us => Length::METRES_PER_FOOT,
        UnitSystem::Metric => 1.0,
    }
}

pub(crate) fn unit_sign(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Us => "ft",
        UnitSystem::Metric => "m",
    }
}

/// The next round n from `n` on.
pub(crate) fn round_scale(n: f64, units: UnitSystem) -> f64 {
    let round = match units {
        UnitSystem::Metric => round_up(n, &METRIC),
        UnitSystem::Us => 12.0 * round_up(n / 12.0, &FEET_ON_AN_INCH),
    };
    // Beyond 1:20, where no property is drawn, such numbers have halves.
    round.ceil()
}

fn round_up(n: f64, steps: &[f64]) -> f64 {
    let power = 10_f64.powf(n.max(1e-3).log10().floor());
    steps.iter().map(|r| r * power).find(|&r| r >= n * (1.0 - 1e-9)).unwrap_or(10.0 * power)
}

fn step_below(length: f64) -> f64 {
    let power = 10_f64.powf(length.max(1e-6).log10().floor());
    STEPS.iter().rev().map(|s| s * power).find(|&s| s <= length).unwrap_or(power)
}

/// `5`, `0.5`, `2,500`.
fn plain_number(value: f64) -> String {
    turfplat_units::significant(value, 3)
}

/// How long a step of the frame is, in words.
pub(crate) fn step_words(step: f64, units: UnitSystem) -> String {
    format!("{} {}", plain_number(step / metres_in(units)), unit_sign(units))
}

/// `1:200`, with inches to feet where that comes out round.
/// `paper` names the page that it holds for.
pub(crate) fn words(view: View, units: UnitSystem, paper: Option<&str>) -> Option<String> {
    let n = view.one_to?;
    let paper = paper.map_or_else(String::new, |paper| format!(" on {paper}"));
    let feet = n / 12.0;
    let inches = if units == UnitSystem::Us && (feet - feet.round()).abs() < 1e-6 {
        format!(" (1 in = {} ft)", plain_number(feet))
    } else {
        String::new()
    };
    let grouped = turfplat_units::significant(n, 3);
    Some(format!("1:{grouped}{inches} printed{paper} at 100 %"))
}

/// Two bars on one line: above in the units of the map, below in the others. Returns its width.
pub(crate) fn bar(
    canvas: &mut Canvas,
    left: f64,
    middle: f64,
    size: f64,
    view: View,
    units: UnitSystem,
) -> f64 {
    let other = if units == UnitSystem::Us { UnitSystem::Metric } else { UnitSystem::Us };
    let longest = 30.0 * size / 1.6;
    let first = half_bar(canvas, left, middle, size, view, units, longest, true);
    let second = half_bar(canvas, left, middle, size, view, other, first * 1.12, false);
    first.max(second) + 3.0 * size
}

#[expect(clippy::too_many_arguments, reason = "two halves of one bar differ in three of them")]
fn half_bar(
    canvas: &mut Canvas,
    left: f64,
    middle: f64,
    size: f64,
    view: View,
    units: UnitSystem,
    longest: f64,
    above: bool,
) -> f64 {
    let per_unit = view.per_metre * metres_in(units);
    let length = step_below(longest / per_unit);
    let wide = length * per_unit;
    let high = size * 0.42;
    let top = if above { middle - high } else { middle };
    let name = if above { "above" } else { "below" };
    // Fifths for 5, halves for 2, quarters for 1, so that each part is round.
    let leading = (length / 10_f64.powf(length.log10().floor())).round();
    let parts = if leading >= 5.0 { 5 } else { 4 };
    let part = wide / f64::from(parts);
    canvas.rect(
        Bounds::new(left, top, wide, high),
        &format!(
            r##"fill="#fff" stroke="{INK}" stroke-width=".6" data-scale-bar="{name}" data-metres="{}""##,
            length * metres_in(units)
        ),
    );
    for index in (0..parts).filter(|index| (index % 2 == 0) == above) {
        let x = left + f64::from(index) * part;
        canvas.rect(Bounds::new(x, top, part, high), &format!(r#"fill="{INK}""#));
    }
    let mut ticks = String::new();
    let base = if above { middle - high - size * 0.3 } else { middle + high + size };
    let set = Type::new(size).anchor(Anchor::Middle);
    for (share, text) in [
        (0.0, "0".to_owned()),
        (if parts == 5 { 0.4 } else { 0.5 }, String::new()),
        (1.0, format!("{} {}", plain_number(length), unit_sign(units))),
    ] {
        let x = left + share * wide;
        let text = if text.is_empty() { plain_number(share * length) } else { text };
        let shift = if share == 1.0 {
            crate::font::width(&text, size, false) / 2.0 - size * 0.3
        } else {
            0.0
        };
        canvas.text(x + shift, base, set, &text);
        let end = if above { top - size * 0.2 } else { top + high + size * 0.2 };
        push_segment(&mut ticks, Coord { x, y: middle }, Coord { x, y: end });
    }
    canvas.path(&ticks, &format!(r#"stroke="{INK}" stroke-width=".6""#));
    wide
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_round_and_never_too_large() {
        #[rustfmt::skip]
        let table = [
            // what is needed, metric, US (12 times round feet on an inch)
            (99.0, 100.0, 120.0), (100.0, 100.0, 120.0), (101.0, 125.0, 120.0), (121.0, 125.0, 144.0),
            (260.0, 300.0, 300.0), (301.0, 400.0, 360.0), (751.0, 1_000.0, 960.0), (6_100.0, 7_500.0, 7_200.0),
        ];
        for (needed, metric, us) in table {
            for (round, units) in [(metric, UnitSystem::Metric), (us, UnitSystem::Us)] {
                assert!((round_scale(needed, units) - round).abs() < 1e-6, "{needed} {units:?}");
            }
        }
    }

    #[test]
    fn steps_are_round_and_never_too_long() {
        for (room, step) in [(1.0, 1.0), (4.9, 2.0), (55.0, 50.0), (0.07, 0.05)] {
            assert!((step_below(room) - step).abs() < 1e-9, "{room}");
        }
    }
}
