use std::cmp::Ordering;
use std::ops::Range;

use turfplat_units::Time;

use super::verdict::{JudgedHour, Verdict};

/// What one remark on an hour weighs, as a share of the way from the limits' middle to a limit; a choice
/// of this tool: calm and far inside with one thing to mind is better than nothing to mind on the edge.
const REMARK: f64 = 0.25;

/// Hours in a row that are fit.
#[derive(Clone, Debug, PartialEq)]
pub struct HourWindow {
    /// Their places in the forecast.
    pub hours: Range<usize>,
    /// How long it is, in hours: the first of them may be over in part.
    pub length: f64,
    /// The part of it that is best for the time that is needed: the fittest, of these the earliest. All
    /// of it where that is more than there is, and one hour where nobody knows the time.
    pub best: Range<usize>,
    /// How fit the best part is: how far its hours are inside the nearest limit, from 0 to 1, less a
    /// quarter for each remark on an hour in the mean. Below 0 there is more to mind than to spare.
    pub fitness: f64,
    /// How many hours of the best part have something to be minded.
    pub minded: usize,
    /// How far the best part is inside the nearest limit, from 0 to 1; `None` where no limit says so.
    pub margin: Option<f64>,
    /// Whether it is as long as is needed; `None` where that is not known.
    pub is_long_enough: Option<bool>,
}

/// The windows of a forecast, the best first.
///
/// * `needs`: how long the work takes; the best part is of whole hours, so 1.5 h need two of them.
/// * Order: those that are long enough, then the fittest, then the longest, then the earliest. Where
///   nobody knows how long the work takes, the longest first. The same for the same hours, always.
pub fn windows(hours: &[JudgedHour], needs: Option<Time>) -> Vec<HourWindow> {
    // Rounding of a time there and back starts no further hour.
    let needed = needs.map(|time| time.seconds() / Time::SECONDS_PER_HOUR - 1e-9);
    let mut found = Vec::new();
    let mut start = None;
    for (place, hour) in hours.iter().enumerate() {
        let is_fit = hour.verdict == Verdict::Fit;
        match (is_fit, start) {
            (true, None) => start = Some(place),
            (false, Some(from)) => {
                found.push(HourWindow::of(hours, from..place, needed));
                start = None;
            }
            _ => {}
        }
    }
    if let Some(from) = start {
        found.push(HourWindow::of(hours, from..hours.len(), needed));
    }
    found.sort_by(|a, b| {
        let short = |window: &HourWindow| window.is_long_enough == Some(false);
        let longer = b.hours.len().cmp(&a.hours.len());
        (short(a).cmp(&short(b)))
            .then(if needed.is_none() { longer } else { Ordering::Equal })
            .then(b.fitness.total_cmp(&a.fitness))
            .then(longer)
            .then(a.hours.start.cmp(&b.hours.start))
    });
    found
}

impl HourWindow {
    fn of(hours: &[JudgedHour], window: Range<usize>, needed: Option<f64>) -> HourWindow {
        let lasts =
            |part: &Range<usize>| hours[part.clone()].iter().map(|hour| hour.length).sum::<f64>();
        let margin = |part: &Range<usize>| {
            let nearest = hours[part.clone()].iter().filter_map(|hour| Some(hour.nearest()?.1));
            nearest.reduce(f64::min)
        };
        let fitness = |part: &Range<usize>| {
            let remarks: usize =
                hours[part.clone()].iter().map(|hour| hour.remarks().count()).sum();
            // Where no limit says how far it is, none is near.
            margin(part).unwrap_or(1.0) - REMARK * remarks as f64 / part.len() as f64
        };
        // From each hour as many as the work needs; where nobody knows, that one.
        let parts = window.clone().filter_map(|from| {
            let mut ends = from + 1..=window.end;
            let end = ends.find(|end| needed.is_none_or(|needed| lasts(&(from..*end)) >= needed));
            end.map(|end| from..end)
        });
        let best =
            parts.min_by(|a, b| fitness(b).total_cmp(&fitness(a)).then(a.start.cmp(&b.start)));
        let best = best.unwrap_or_else(|| window.clone());
        let minded = hours[best.clone()].iter().filter(|hour| hour.remarks().next().is_some());
        HourWindow {
            minded: minded.count(),
            fitness: fitness(&best),
            margin: margin(&best),
            is_long_enough: needed.map(|needed| lasts(&window) >= needed),
            length: lasts(&window),
            hours: window,
            best,
        }
    }
}
