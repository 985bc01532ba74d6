//! Why a walk is put in words here: the plan's table and the work order tell one way, and a crew that
//! has both must find the same passes, times and marks on them.

use serde::Serialize;
use turfplat_units::{Length, UnitSystem, decimal};

use crate::plan::ApplicationPlan;
use crate::print::Print;
use crate::walking::{LoadMark, Walked, Walking};

/// How the zones of an application are walked, as text with its units.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct OrderedWalk {
    /// `Passes 5 ft wide, one along all edges first; they change no amount`.
    pub manner: String,
    /// In walking order.
    pub zones: Vec<OrderedPasses>,
    /// All zones together, ways between them not counted.
    pub total: OrderedPasses,
    /// What is in the times, and what an overlap comes to.
    pub remarks: Vec<String>,
}

/// The passes over one zone.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct OrderedPasses {
    pub zone: String,
    pub passes: String,
    pub treating: String,
    pub between: String,
    pub turns: String,
    /// `None` where no speed is given.
    pub time: Option<String>,
    pub overlap: String,
    pub missed: String,
    /// Where loads run out, in walking order; of many the first.
    pub ends: Vec<String>,
}

/// How the zones are walked; `None` where the equipment gives no swath, and where no way can be laid.
pub fn ordered_walk(application: &ApplicationPlan<'_>, units: UnitSystem) -> Option<OrderedWalk> {
    let (walking, all) = (application.walking?, application.walked()?);
    let print = Print(units);
    let edge = if walking.edge_first { ", one along all edges first" } else { "" };
    let swath = walking.swath.print(units);
    let zones = application.walks.iter();
    Some(OrderedWalk {
        manner: format!("Passes {swath} wide{edge}; they change no amount"),
        zones: zones
            .map(|laid| OrderedPasses {
                ends: ends(application, &laid.load_ends, units),
                ..passes(&laid.zone, &laid.walked(), print)
            })
            .collect(),
        total: passes("total", &all, print),
        remarks: remarks(application, walking, &all, print),
    })
}

fn passes(name: &str, walked: &Walked, print: Print) -> OrderedPasses {
    OrderedPasses {
        zone: name.to_owned(),
        passes: walked.passes.to_string(),
        treating: whole(walked.distance, print.0),
        between: whole(walked.idle, print.0),
        turns: walked.turns.to_string(),
        time: walked.time.map(|time| print.time(time)),
        overlap: percent(walked.overlap_share),
        missed: percent(walked.uncovered_share),
        ends: Vec::new(),
    }
}

/// Whole feet or meters: nobody walks to the inch.
fn whole(length: Length, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => format!("{} ft", decimal(length.feet(), 0)),
        UnitSystem::Metric => format!("{} m", decimal(length.metres(), 0)),
    }
}

fn percent(share: f64) -> String {
    format!("{}\u{a0}%", decimal(100.0 * share, 1))
}

/// Where loads run out; of many the first.
fn ends(application: &ApplicationPlan<'_>, marks: &[LoadMark], units: UnitSystem) -> Vec<String> {
    const MANY: usize = 6;
    let one = |mark: &LoadMark| {
        let along = whole(mark.end.along, units);
        format!("load {}: pass {}, at {along}", application.flag(mark), mark.end.pass + 1)
    };
    let mut lines: Vec<String> = marks.iter().take(MANY).map(one).collect();
    if marks.len() > MANY {
        lines.push(format!("and {} more, as flags on the map", marks.len() - MANY));
    }
    lines
}

fn remarks(
    application: &ApplicationPlan<'_>,
    walking: Walking,
    all: &Walked,
    print: Print,
) -> Vec<String> {
    let mut lines = Vec::new();
    let crossed = application.crossed_caution();
    let again =
        if crossed.is_some() { "half of the rate more" } else { "the whole rate once more" };
    lines.extend(crossed.map(str::to_owned));
    lines.push(match (all.time, walking.turning) {
        (None, _) => {
            "No time: the equipment's speed is not given; turfplat calibrate finds it.".to_owned()
        }
        (Some(_), Some(turning)) => format!(
            "Times hold {} a turn; fills and ways between zones are not in them.",
            turning.print()
        ),
        (Some(_), None) => {
            "Times are for walking alone; turns, fills and ways between zones are not in them."
                .to_owned()
        }
    });
    if all.overlap_share >= 0.0005 {
        lines.push(format!(
            "Overlap is {} of the ground; what is passed again gets {again}: shut off over what is covered.",
            percent(all.overlap_share)
        ));
        let goes_out = match application.spray_over_passes() {
            Some((over, mixed)) => format!(
                "Left on all the way, {} would go out and {} are mixed",
                print.spray(over),
                print.spray(mixed)
            ),
            None => "Left open all the way, so much more would go out than is measured".to_owned(),
        };
        lines.push(format!("{goes_out}; loads then run out before their marks."));
    }
    lines
}
