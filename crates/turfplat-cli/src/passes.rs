//! Passes on the command line: two options, and what the plan's table says of them.

use anyhow::bail;
use comfy_table::Cell;
use turfplat::units::{Length, UnitSystem, decimal};
use turfplat::{ApplicationPlan, Job, LoadMark, Print, Walked, Walking};

use crate::table;

/// How ground is walked, where the job gives a swath.
#[derive(clap::Args)]
pub(crate) struct PassArgs {
    /// A pass along all edges first (setbacks, hardscape, lot line); needs swath in the job
    #[arg(long)]
    pub(crate) edge_first: bool,

    /// Draw passes on the spray map, where they are far enough apart; needs swath in the job
    #[arg(long)]
    pub(crate) passes: bool,
}

impl PassArgs {
    /// Refuses what could show nothing.
    pub(crate) fn check(&self, job: &Job) -> anyhow::Result<()> {
        let options = [(self.edge_first, "--edge-first"), (self.passes, "--passes")];
        let given = options.into_iter().find(|(is_given, _)| *is_given);
        let no_swath = job.applications.iter().all(|application| application.walking.is_none());
        match given.filter(|_| no_swath) {
            None => Ok(()),
            Some((_, option)) => bail!(
                "{option}: no equipment of {} gives the width of a pass; add swath = \"5 ft\" to it",
                job.file
            ),
        }
    }
}

/// Passes zone by zone, and what they mean for the tank; nothing where no swath is given.
pub(crate) fn told(application: &ApplicationPlan<'_>, units: UnitSystem) -> String {
    let (Some(walking), Some(all)) = (application.walking, application.walked()) else {
        return String::new();
    };
    let print = Print(units);
    let edge = if walking.edge_first { ", one along all edges first" } else { "" };
    let mut text =
        format!("Passes {} wide{edge}; they change no amount\n", walking.swath.print(units));
    let header = [
        "zone",
        "passes",
        "treating",
        "between",
        "turns",
        "time",
        "overlap",
        "missed",
        "load ends",
    ];
    let mut rows = table::new(header);
    for laid in &application.walks {
        let mut row = row(&laid.zone, &laid.walked(), print);
        row.push(Cell::new(ends(&laid.load_ends, units)));
        rows.add_row(row);
    }
    rows.add_row(row("total", &all, print));
    text.push_str(&format!("{}\n", rows.trim_fmt()));
    for line in remarks(application, walking, &all, print) {
        text.push_str(&format!("  {line}\n"));
    }
    text
}

fn row(name: &str, walked: &Walked, print: Print) -> Vec<Cell> {
    let feet = |length: Length| table::number(whole(length, print.0));
    vec![
        Cell::new(name),
        table::number(walked.passes),
        feet(walked.distance),
        feet(walked.idle),
        table::number(walked.turns),
        table::number(walked.time.map_or_else(|| "–".to_owned(), |time| print.time(time))),
        table::number(percent(walked.overlap_share)),
        table::number(percent(walked.uncovered_share)),
    ]
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
fn ends(marks: &[LoadMark], units: UnitSystem) -> String {
    const MANY: usize = 6;
    let one = |mark: &LoadMark| {
        let along = whole(mark.end.along, units);
        format!("load {}: pass {}, at {along}", mark.load, mark.end.pass + 1)
    };
    let mut lines: Vec<String> = marks.iter().take(MANY).map(one).collect();
    if marks.len() > MANY {
        lines.push(format!("and {} more: see passes.geojson", marks.len() - MANY));
    }
    lines.join("\n")
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
