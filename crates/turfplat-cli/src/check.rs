//! `turfplat check MAP…`: every finding and refusal, nothing else.

use std::collections::HashSet;
use std::path::PathBuf;

use serde_json::{Value, json};
use turfplat::units::{Area, UnitSystem};
use turfplat::{Finding, MeasureOptions, Measured, PlanOptions, Planned, Refusal, measure, plan};

use crate::input::{MapArgs, Units, read_job, refuse_job_on};
use crate::{Output, Verdict, table};

/// List every finding and every refusal of a map, and of a job on it
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat check examples/demo/map.geojson \\\n    --job examples/demo/job.toml"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    /// Job file to check with the map
    #[arg(long, value_name = "JOB")]
    job: Option<PathBuf>,

    /// Units of areas
    #[arg(long, value_enum, default_value_t)]
    units: Units,

    /// Form of the answer
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Clone, Copy, Default, clap::ValueEnum)]
enum Format {
    #[default]
    Table,
    Json,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let map = args.map.read()?;
    let (findings, refused) = match &args.job {
        None => {
            let Measured { plats, refusals } = measure(&map, &MeasureOptions::default());
            (together(plats.into_iter().map(|plat| (plat.property, plat.findings))), refusals)
        }
        Some(path) => {
            let Some(job) = read_job(path, output)? else { return Ok(Verdict::Refused) };
            match plan(&map, &job, &PlanOptions::default()) {
                Ok(Planned { plans, refusals }) => (
                    together(plans.into_iter().map(|plan| (plan.property, plan.findings))),
                    refusals,
                ),
                Err(error) => {
                    refuse_job_on(&map, error, output)?;
                    return Ok(Verdict::Refused);
                }
            }
        }
    };
    let units = args.units.into();
    let answer = match args.format {
        Format::Json => {
            let findings: Vec<Value> = findings
                .iter()
                .map(|(property, finding)| finding_json(property, finding))
                .collect();
            format!("{:#}\n", json!({ "findings": findings, "refused": refusals_json(&refused) }))
        }
        Format::Table => as_table(&findings, &refused, units),
    };
    output.out.write_all(answer.as_bytes())?;
    Ok(if refused.is_empty() { Verdict::Done } else { Verdict::Refused })
}

/// All findings, one that several properties share but once: a pond between two lots is one pond.
fn together(findings: impl Iterator<Item = (String, Vec<Finding>)>) -> Vec<(String, Finding)> {
    let mut known = HashSet::new();
    let each = findings.flat_map(|(property, findings)| {
        findings.into_iter().map(move |finding| (property.clone(), finding))
    });
    each.filter(|(_, finding)| {
        known.insert((finding.code, finding.feature.clone(), finding.message.clone()))
    })
    .collect()
}

fn as_table(findings: &[(String, Finding)], refused: &[Refusal], units: UnitSystem) -> String {
    if findings.is_empty() && refused.is_empty() {
        return "Nothing found: the map can be used as it is.\n".to_owned();
    }
    let mut rows =
        table::new(["code", "where", "what", &format!("area, {}", table::area_unit(units))]);
    for refusal in refused {
        for reason in &refusal.reasons {
            rows.add_row(["refused", refusal.property.as_deref().unwrap_or(""), reason, ""]);
        }
    }
    for (_, finding) in findings {
        let area = Area::from_square_metres(finding.area_m2).filter(|area| *area > Area::ZERO);
        let area = area.map_or_else(String::new, |area| table::area(area, units));
        let text = [finding.code, &finding.feature, &finding.message].map(comfy_table::Cell::new);
        rows.add_row(text.into_iter().chain([table::number(area)]).collect::<Vec<_>>());
    }
    format!("{}\n", rows.trim_fmt())
}

fn finding_json(property: &str, finding: &Finding) -> Value {
    json!({
        "property": property,
        "code": finding.code,
        "feature": finding.feature,
        "message": finding.message,
        "area_m2": finding.area_m2,
    })
}

pub(crate) fn refusals_json(refused: &[Refusal]) -> Value {
    refused
        .iter()
        .map(|refusal| json!({ "property": refusal.property, "reasons": refusal.reasons }))
        .collect()
}
