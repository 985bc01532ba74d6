//! Passes on the command line: two options, and what the plan's table says of them.

use anyhow::bail;
use comfy_table::Cell;
use turfplat::units::UnitSystem;
use turfplat::{ApplicationPlan, Job, OrderedPasses, ordered_walk};

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
    let Some(walk) = ordered_walk(application, units) else { return String::new() };
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
    walk.zones.iter().for_each(|zone| {
        rows.add_row(row(zone));
    });
    rows.add_row(row(&walk.total));
    let mut text = format!("{}\n{}\n", walk.manner, rows.trim_fmt());
    for line in &walk.remarks {
        text.push_str(&format!("  {line}\n"));
    }
    text
}

fn row(zone: &OrderedPasses) -> Vec<Cell> {
    vec![
        Cell::new(&zone.zone),
        table::number(&zone.passes),
        table::number(&zone.treating),
        table::number(&zone.between),
        table::number(&zone.turns),
        table::number(zone.time.as_deref().unwrap_or("–")),
        table::number(&zone.overlap),
        table::number(&zone.missed),
        Cell::new(zone.ends.join("\n")),
    ]
}
