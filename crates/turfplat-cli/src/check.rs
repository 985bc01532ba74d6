//! `turfplat check MAP…`: every finding and refusal, nothing else.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};

use anyhow::Context;
use serde_json::{Value, json};
use turfplat::units::{Area, UnitSystem};
use turfplat::{
    Columns, Finding, MapError, MapProblem as Problem, MeasureOptions, PlanOptions, PropertyMap,
    PropertyPlan, Refusal, for_each_note, measure_each, plan_each, values_of,
};

use crate::input::{MapArgs, Units, check_unchanged, read_job, refuse_job_on, today_if_counted};
use crate::table::Known;
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

    /// Write a kinds file to fill in, with the values of the map's columns, and do nothing else
    #[arg(long, value_name = "FILE")]
    draft_kinds: Option<PathBuf>,

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
    if let Some(path) = &args.draft_kinds {
        return draft_kinds(args, path, output);
    }
    let map = args.map.read()?;
    if lacks_kinds(&map) && !args.map.is_stream() {
        list_values(args, output)?;
    }
    let mut findings = Together::default();
    let mut refused: Vec<Refusal> = Vec::new();
    type Seen = (String, Vec<Finding>, Option<Refusal>);
    let take = |done: Result<Seen, Refusal>| -> anyhow::Result<()> {
        match done {
            Ok((property, found, of_it)) => {
                findings.add(&property, found);
                refused.extend(of_it);
            }
            Err(refusal) => refused.push(refusal),
        }
        Ok(())
    };
    match &args.job {
        None => {
            let options = MeasureOptions::default();
            measure_each(&map, &options, |plat| (plat.property, plat.findings, None), take)?;
        }
        Some(path) => {
            let Some(job) = read_job(path, output)? else { return Ok(Verdict::Refused) };
            let look = |plan: PropertyPlan<'_>| {
                let refusal = plan.refusal();
                (plan.property, plan.findings, refusal)
            };
            let options = PlanOptions { date: today_if_counted(&job), ..PlanOptions::default() };
            let planned = plan_each(&map, &job, &options, look, take);
            if let Err(error) = planned {
                refuse_job_on(&map, error.downcast()?, output)?;
                return Ok(Verdict::Refused);
            }
        }
    };
    // What no lawn has to do with, such as a lot line without geometry, is found nowhere else.
    for_each_note(&map, |property, finding| {
        findings.add(property.unwrap_or_default(), [finding]);
    })?;
    check_unchanged(&map)?;
    let findings = findings.finish();
    let units = args.units.into();
    let answer = match args.format {
        Format::Json => {
            let findings: Vec<Value> = findings
                .iter()
                .map(|(property, finding)| finding_json(property, finding))
                .collect();
            let places: Vec<String> = map.places().collect();
            let refused = refusals_json(&refused);
            let answer = json!({ "findings": findings, "refused": refused, "places": places });
            format!("{answer:#}\n")
        }
        Format::Table => {
            let places = map.places().take(MOST_PLACES).map(|place| format!("{place}.\n"));
            as_table(&findings, &refused, units) + &places.collect::<String>()
        }
    };
    output.out.write_all(answer.as_bytes())?;
    Ok(if refused.is_empty() { Verdict::Done } else { Verdict::Refused })
}

/// A map of more files than this is no drawer's.
const MOST_PLACES: usize = 12;

/// Writes what the values of the map's columns may mean.
fn draft_kinds(args: &Args, path: &Path, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let values = values_of(&args.map.open(&Columns::all())?)?;
    if path.as_os_str() == "-" {
        output.out.write_all(values.draft().as_bytes())?;
        return Ok(Verdict::Done);
    }
    let mut file = File::create_new(path).with_context(|| {
        format!("cannot write {} (a file that is there is not overwritten)", path.display())
    })?;
    file.write_all(values.draft().as_bytes())?;
    let name = path.display();
    writeln!(output.out, "{name} written: fill in the kinds, then give it with --kinds {name}")?;
    Ok(Verdict::Done)
}

/// True of a map without turf, be it that its features say no kinds or others.
fn lacks_kinds(map: &PropertyMap) -> bool {
    let lacks = |problem: &Problem| {
        matches!(
            problem.error,
            MapError::NoKind { .. }
                | MapError::UnknownKind { .. }
                | MapError::UnlistedKind { .. }
                | MapError::NoTurf { .. }
        )
    };
    map.properties().is_empty() && map.problems().iter().any(lacks)
}

/// Says what stands in the columns of a map without turf.
fn list_values(args: &Args, output: &mut Output<'_>) -> anyhow::Result<()> {
    const MOST: usize = 12;
    let values = values_of(&args.map.open(&Columns::all())?)?;
    let likely = values.likely();
    if likely.is_empty() {
        return Ok(());
    }
    writeln!(output.remarks, "no feature says that it is turf; the columns hold:")?;
    for (column, values) in likely.into_iter().take(MOST) {
        let some: Vec<String> =
            values.iter().take(MOST).map(|(value, count)| format!("{value} ({count})")).collect();
        let more = if values.len() > MOST { ", …" } else { "" };
        writeln!(output.remarks, "  {column}: {}{more}", some.join(", "))?;
    }
    writeln!(
        output.remarks,
        "name the column with --kind-from COLUMN, or say what its values mean: --draft-kinds kinds.toml"
    )?;
    Ok(())
}

/// All findings, each with a property, one that several share but once.
#[derive(Default)]
struct Together {
    all: Vec<(String, Finding)>,
    counts: BTreeMap<&'static str, usize>,
    known: Known,
}

impl Together {
    /// Nobody reads more of one code, and a county in which all is wrong would fill the memory.
    const MOST: usize = 20_000;

    fn add(&mut self, property: &str, findings: impl IntoIterator<Item = Finding>) {
        for finding in findings {
            let count = self.counts.entry(finding.code).or_default();
            if *count <= Together::MOST && self.known.is_news(&finding) {
                *count += 1;
                if *count <= Together::MOST {
                    self.all.push((property.to_owned(), finding));
                }
            }
        }
    }

    /// All that were kept, after a word on what was not.
    fn finish(self) -> Vec<(String, Finding)> {
        let too_many = self.counts.iter().filter(|(_, count)| **count > Together::MOST);
        let word = |(code, _): (&&'static str, _)| {
            let (feature, area_m2) = ("the map".to_owned(), 0.0);
            let message = format!(
                "more than {} of these, of which so many are listed; correct them first, or measure property by property, where all are listed",
                Together::MOST
            );
            (String::new(), Finding { code, feature, message, area_m2 })
        };
        too_many.map(word).chain(self.all).collect()
    }
}

fn as_table(findings: &[(String, Finding)], refused: &[Refusal], units: UnitSystem) -> String {
    if findings.is_empty() && refused.is_empty() {
        return "Nothing found. What no rule can see, look at on the sheet: is it all there, and where it should be?\n".to_owned();
    }
    let mut rows =
        table::new(["code", "where", "what", &format!("area, {}", table::area_unit(units))]);
    const MOST_ROWS: usize = 2000;
    let each = |refusal: &'_ Refusal| -> Vec<[String; 4]> {
        let property = refusal.property.clone().unwrap_or_default();
        let row = |reason: &String| {
            ["refused".to_owned(), property.clone(), reason.clone(), String::new()]
        };
        refusal.reasons.iter().take(MOST_ROWS).map(row).collect()
    };
    let reasons: usize = refused.iter().map(|refusal| refusal.reasons.len()).sum();
    refused.iter().flat_map(each).take(MOST_ROWS).for_each(|row| {
        rows.add_row(row);
    });
    for (_, finding) in findings.iter().take(MOST_ROWS) {
        let area = Area::from_square_metres(finding.area_m2).filter(|area| *area > Area::ZERO);
        let area = area.map_or_else(String::new, |area| table::area(area, units));
        let text = [finding.code, &finding.feature, &finding.message].map(comfy_table::Cell::new);
        rows.add_row(text.into_iter().chain([table::number(area)]).collect::<Vec<_>>());
    }
    let mut text = format!("{}\n", rows.trim_fmt());
    if reasons > MOST_ROWS {
        let more = reasons - MOST_ROWS;
        text.push_str(&format!(
            "… and {more} more reasons to refuse; --format json lists them all.\n"
        ));
    }
    if findings.len() > MOST_ROWS {
        let more = findings.len() - MOST_ROWS;
        text.push_str(&format!("… and {more} more findings; --format json lists them all.\n"));
    }
    text
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_one_code_only_so_many_are_listed_and_that_is_said_first() {
        let mut together = Together::default();
        let finding = |number: usize, code| Finding {
            code,
            feature: number.to_string(),
            message: String::new(),
            area_m2: 0.0,
        };
        together.add("A", (0..Together::MOST + 5).map(|number| finding(number, "winding")));
        together.add("B", [finding(0, "sliver"), finding(0, "sliver")]);
        let all = together.finish();
        assert_eq!(all.len(), 1 + Together::MOST + 1);
        assert!(all[0].1.message.starts_with("more than 20000 of these"));
        assert_eq!(
            all.last().map(|(property, it)| (property.as_str(), it.code)),
            Some(("B", "sliver"))
        );
    }
}
