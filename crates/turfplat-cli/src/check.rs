//! `turfplat check MAP…`: every finding and refusal, nothing else.

use std::path::PathBuf;

use serde_json::{Value, json};
use turfplat::units::{Area, UnitSystem};
use turfplat::{Finding, MeasureOptions, PlanOptions, Refusal, measure, plan, refusals};

use crate::input::{MapArgs, read_job, refuse_job};
use crate::{Output, Verdict, table};

/// List every finding and every refusal of a map, and of a job on it
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat check examples/demo/map.geojson --job examples/demo/job.toml"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    /// Job file to check with the map
    #[arg(long, value_name = "JOB")]
    job: Option<PathBuf>,

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
    let mut refused = refusals(&map);
    let findings: Vec<(String, Finding)> = match &args.job {
        None => of(measure(&map, &MeasureOptions::default())
            .into_iter()
            .map(|plat| (plat.property, plat.findings))),
        Some(path) => {
            let Some(job) = read_job(path, output)? else { return Ok(Verdict::Refused) };
            match plan(&map, &job, &PlanOptions::default()) {
                Ok((plans, of_plan)) => {
                    refused.extend(of_plan);
                    of(plans.into_iter().map(|plan| (plan.property, plan.findings)))
                }
                Err(error) => {
                    refuse_job(error, output)?;
                    return Ok(Verdict::Refused);
                }
            }
        }
    };
    let answer = match args.format {
        Format::Json => {
            let findings: Vec<Value> = findings
                .iter()
                .map(|(property, finding)| finding_json(property, finding))
                .collect();
            format!("{:#}\n", json!({ "findings": findings, "refused": refusals_json(&refused) }))
        }
        Format::Table => as_table(&findings, &refused),
    };
    output.out.write_all(answer.as_bytes())?;
    Ok(if refused.is_empty() { Verdict::Done } else { Verdict::Refused })
}

fn of(findings: impl Iterator<Item = (String, Vec<Finding>)>) -> Vec<(String, Finding)> {
    let mut all: Vec<(String, Finding)> = Vec::new();
    for (property, findings) in findings {
        for finding in findings {
            // A pond between two lots is one pond.
            if !all.iter().rev().take(1000).any(|(_, known)| *known == finding) {
                all.push((property.clone(), finding));
            }
        }
    }
    all
}

fn as_table(findings: &[(String, Finding)], refused: &[Refusal]) -> String {
    if findings.is_empty() && refused.is_empty() {
        return "Nothing found: the map can be used as it is.\n".to_owned();
    }
    let mut rows = table::new(["code", "where", "what", "area, sq ft"]);
    for refusal in refused {
        for reason in &refusal.reasons {
            rows.add_row(["refused", refusal.property.as_deref().unwrap_or(""), reason, ""]);
        }
    }
    for (_, finding) in findings {
        let area = Area::from_square_metres(finding.area_m2).filter(|area| *area > Area::ZERO);
        let area = area.map_or_else(String::new, |area| table::area(area, UnitSystem::Us));
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
