//! `turfplat quote MAP… --prices FILE`: what the work costs, one property or thousands in one run.

use std::collections::{HashMap, HashSet};
use std::path::{Path, PathBuf};

use anyhow::Context;
use turfplat::price::{Customers, PriceError};
use turfplat::sheet::SprayMap;
use turfplat::{
    Finding, Job, MeasureOptions, PlanOptions, Plat, PropertyMap, PropertyPlan, PropertyQuote,
    Quoting, Refusal, measure_each, plan_each, plat_map, quote_map,
};

use crate::answer::{Answer, Form, PROPERTIES, after_properties, indented};
use crate::files::{self, Beside};
use crate::input::{MapArgs, check_unchanged, date, read_job, refuse_job_on, tell_refusal};
use crate::job_args::{Format, GroundArgs};
use crate::own_files::{self, QUOTE, QUOTE_PAPER};
use crate::paper::{self, PageName, QuotePaper};
use crate::progress::Progress;
use crate::quote_records::{LINES, SUMMARY, records, refused_record, summary_record};
use crate::quote_table::as_table;
use crate::rows::csv_text;
use crate::{Output, Verdict, prices, reference, table};

/// Work out what a job costs its customers, line by line, for one property or for thousands
///
/// With a job, each application is priced by the service of the price list that is for it; zones that
/// wait only for a label-checked rate are priced by area, with a note. Without a job every service is
/// priced on all turf, as often as its visits say. With --out DIR: quote.json, of several properties
/// in one folder each, beside quotes.csv (one row a line, for accounting) and summary.csv (one row a
/// property, also those that could not be quoted, with the reason).
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat quote examples/demo/map.geojson --job examples/demo/job.toml \\\n    --prices examples/demo/prices.toml --customers examples/demo/customers.csv --date 2026-05-20"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    /// Job file: what is put down, and on which zones [default: the services of the price list]
    #[arg(long, value_name = "JOB")]
    job: Option<PathBuf>,

    /// Price list (TOML; `turfplat prices new` writes one to fill in)
    #[arg(long, value_name = "FILE")]
    prices: PathBuf,

    /// Whose the properties are: CSV or TOML with property, name, address, contact, and miles or km
    #[arg(long, value_name = "FILE")]
    customers: Option<PathBuf>,

    /// Day of the quote, as 2026-06-08 [default: today]
    #[arg(long, value_name = "DATE", value_parser = date)]
    date: Option<String>,

    /// Folder for quote.json of each property, quotes.csv and summary.csv
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,

    /// Also quote.pdf of each property, to print or send: lines, totals, terms, and a map
    #[arg(long, requires = "out")]
    pdf: bool,

    /// Paper of quote.pdf
    #[arg(long, value_enum, default_value_t)]
    page: PageName,

    /// Typst template of your own for quote.pdf; its data is json("data.json")
    #[arg(long, value_name = "FILE", requires = "pdf")]
    template: Option<PathBuf>,

    /// Your logo on quote.pdf: PNG, JPEG or SVG
    #[arg(long, value_name = "FILE", requires = "pdf")]
    logo: Option<PathBuf>,

    /// The one property to quote [default: all]
    #[arg(long, value_name = "ID")]
    property: Option<String>,

    #[command(flatten)]
    ground: GroundArgs,

    /// Form of the answer
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let paper =
        args.pdf.then(|| QuotePaper::of(args.page, args.template.as_deref(), args.logo.as_deref()));
    let paper = paper.transpose()?;
    let Some(list) = prices::read(&args.prices, output)? else { return Ok(Verdict::Refused) };
    let customers = match &args.customers {
        None => None,
        Some(path) => match read_customers(path)? {
            Ok(customers) => Some(customers),
            Err(error) => return refuse(&error, output),
        },
    };
    let day = match list.on(&args.date.clone().unwrap_or_else(reference::today)) {
        Ok(day) => day,
        Err(error) => return refuse(&error, output),
    };
    let job = match &args.job {
        None => None,
        Some(path) => match read_job(path, output)? {
            None => return Ok(Verdict::Refused),
            job => job,
        },
    };
    // A list serves many jobs, so only what looks like a slip is told here.
    let misses = job.as_ref().map(|job| prices::unmatched(&list, Some(job))).unwrap_or_default();
    for found in misses.iter().filter(|found| found.is_near_miss()) {
        writeln!(output.remarks, "note: {found}")?;
    }
    let map = args.map.read()?;
    if let Some(id) = &args.property {
        check_property(&map, id)?;
    }
    let customers = customers.as_ref();
    let quoting = Quoting { prices: &list, customers, day: &day, units: args.ground.units() };
    let run = Run { args, map: &map, job: job.as_ref(), quoting, paper };
    run.done(output)
}

/// Says why nothing is quoted; an error where a file is no such file at all.
fn refuse(error: &PriceError, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    if error.is_unreadable() {
        anyhow::bail!("{error}");
    }
    writeln!(output.remarks, "refused: {error}")?;
    Ok(Verdict::Refused)
}

fn read_customers(path: &Path) -> anyhow::Result<Result<Customers, PriceError>> {
    let name = path.display().to_string();
    let bytes = std::fs::read(path).with_context(|| format!("cannot read {name}"))?;
    Ok(Customers::read(&name, &bytes))
}

fn check_property(map: &PropertyMap, id: &str) -> anyhow::Result<()> {
    let ids: Vec<&str> = map.properties().iter().filter_map(|it| map.id(*it)).collect();
    if ids.contains(&id) {
        return Ok(());
    }
    let refused = turfplat::refusals(map);
    if refused.iter().any(|refusal| refusal.property.as_deref() == Some(id)) {
        return Ok(());
    }
    let known = match ids.len() {
        0 => "the map is one property without an id; leave --property out".to_owned(),
        1..=12 => format!("there is: {}", ids.join(", ")),
        count => format!("there are {count}, such as {}", ids[..12].join(", ")),
    };
    let refused = refused.iter().filter_map(|refusal| refusal.property.as_deref());
    let meant = turfplat::units::nearest(id, ids.iter().copied().chain(refused));
    let meant = meant.map_or_else(String::new, |meant| format!("; did you mean {meant:?}?"));
    anyhow::bail!("--property {id}: no such property on the map{meant} ({known})")
}

struct Run<'a> {
    args: &'a Args,
    map: &'a PropertyMap,
    job: Option<&'a Job>,
    quoting: Quoting<'a>,
    /// How quotes are set as PDF, if they are.
    paper: Option<QuotePaper>,
}

/// What is left of a property's quote once it is printed.
struct Piece {
    text: String,
    lines: String,
    summary: String,
    property: String,
    has_customer: bool,
    /// What gets nothing for a limit.
    refusal: Option<Refusal>,
    /// What should be seen of the map; told beside a table alone.
    findings: Vec<Finding>,
}

/// A property that was quoted, or why it was not.
type Looked = Result<anyhow::Result<Piece>, Refusal>;

impl Run<'_> {
    fn done(&self, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
        let args = self.args;
        let header = csv_text(|writer| writer.write_record(LINES))?;
        let form = match args.format {
            Format::Table => Form::PLAIN,
            Format::Json => PROPERTIES,
            Format::Csv => Form { head: &header, ..Form::PLAIN },
        };
        let mut answer = Some(Answer::new(form, None, output.out));
        let mut folder = args.out.as_deref().map(Folder::of).transpose()?;
        let names = own_files::folder_names(self.map);
        let mut known = HashSet::new();
        let mut findings = table::Findings::default();
        let mut without_customer = Vec::new();
        let mut refused: Vec<Refusal> = Vec::new();
        let mut unquoted: Vec<Option<String>> = Vec::new();
        let mut progress = Progress::new("quoting", self.map.properties().len() as u64, false);
        let (mut done, mut quoted) = (0, 0);
        let take = |looked: Looked| -> anyhow::Result<()> {
            done += 1;
            progress.at(done);
            match looked {
                Ok(piece) => {
                    let piece = piece?;
                    quoted += 1;
                    if let Some(folder) = &mut folder {
                        folder.add(&piece.lines, &piece.summary)?;
                    }
                    if !piece.has_customer {
                        without_customer.push(piece.property.clone());
                    }
                    known.insert(piece.property);
                    findings.add(piece.findings);
                    if let Some(refusal) = piece.refusal {
                        tell_refusal(&refusal, output.remarks)?;
                        refused.push(refusal);
                    }
                    answer = answer.take().map(|answer| answer.add(&piece.text)).transpose()?;
                }
                Err(refusal) if !self.is_asked_for(&refusal) => {}
                Err(refusal) => {
                    tell_refusal(&refusal, output.remarks)?;
                    if let Some(folder) = &mut folder {
                        folder.add("", &refused_record(&refusal, &self.quoting)?)?;
                    }
                    known.extend(refusal.property.clone());
                    unquoted.push(refusal.property.clone());
                    refused.push(refusal);
                }
            }
            Ok(())
        };
        let result = self.each(&names, take);
        drop(progress);
        check_unchanged(self.map)?;
        if let Err(error) = result {
            drop(answer);
            refuse_job_on(self.map, error.downcast()?, output)?;
            return Ok(Verdict::Refused);
        }
        if let Some(folder) = folder {
            folder.finish()?;
            let place = args.out.as_deref().unwrap_or(Path::new(""));
            let what = if quoted == 1 { "1 quote".to_owned() } else { format!("{quoted} quotes") };
            writeln!(output.remarks, "wrote {what} to {}", place.display())?;
            own_files::tell_forgotten(&forget_quotes(place, &names, unquoted)?, output.remarks)?;
        }
        findings.tell(args.ground.units(), output.remarks)?;
        let more = match args.format {
            Format::Json => after_properties(&refused, None),
            Format::Table | Format::Csv => String::new(),
        };
        answer.map_or(Ok(()), |answer| answer.finish(&more))?;
        self.tell_customers(&without_customer, &known, output)?;
        let all = refused.is_empty() && quoted > 0;
        Ok(if all { Verdict::Done } else { Verdict::Refused })
    }

    /// Quotes property by property.
    fn each(
        &self,
        names: &HashMap<String, String>,
        mut take: impl FnMut(Looked) -> anyhow::Result<()>,
    ) -> anyhow::Result<()> {
        let flat = |done: Result<Looked, Refusal>| done.unwrap_or_else(Err);
        match self.job {
            Some(job) => {
                // What goes on the turf is paid for, whatever a cup measures.
                let job = &job.without_marks();
                let options = PlanOptions {
                    within_parcel: self.args.ground.within_parcel,
                    // Labels are often read after the quote: its day is asked for only where what went
                    // on before is counted up to it.
                    date: (!job.history.is_empty()).then(|| self.quoting.day.day.clone()),
                    property: self.args.property.clone(),
                    ..PlanOptions::default()
                };
                let look = |plan: PropertyPlan<'_>| -> Looked {
                    let quote = self.quoting.of_plan(&plan, job);
                    let quote = quote.map_err(|error| refusal(&plan.property, &error))?;
                    let refusal = plan.refusal();
                    let map = || quote_map(&plan, self.quoting.units);
                    let written = self.write(&quote, names, map);
                    Ok(written.and_then(|()| self.piece(&quote, refusal, plan.findings, names)))
                };
                plan_each(self.map, job, &options, look, |done| take(flat(done)))
            }
            None => {
                let options = MeasureOptions {
                    within_parcel: self.args.ground.within_parcel,
                    ..MeasureOptions::default()
                };
                let look = |plat: Plat| -> Option<Looked> {
                    let asked = self.args.property.as_deref();
                    if asked.is_some_and(|asked| asked != plat.property) {
                        return None;
                    }
                    let quote = self.quoting.of_plat(&plat);
                    let quote = quote.map_err(|error| refusal(&plat.property, &error));
                    Some(quote.map(|quote| {
                        self.write(&quote, names, || Some(plat_map(&plat, self.quoting.units)))?;
                        self.piece(&quote, None, plat.findings, names)
                    }))
                };
                measure_each(self.map, &options, look, |done| match done {
                    Ok(None) => Ok(()),
                    Ok(Some(looked)) => take(looked),
                    Err(refusal) => take(Err(refusal)),
                })
            }
        }
    }

    /// Writes the files of one quote, if files are asked for; `map` draws what is priced.
    fn write(
        &self,
        quote: &PropertyQuote<'_>,
        names: &HashMap<String, String>,
        map: impl FnOnce() -> Option<SprayMap>,
    ) -> anyhow::Result<()> {
        let Some(out) = &self.args.out else { return Ok(()) };
        let folder = names.get(&quote.property).map_or("", String::as_str);
        let text = format!("{:#}\n", quote.to_json()).into_bytes();
        let mut written = vec![(QUOTE.to_owned(), text)];
        if let Some(paper) = &self.paper {
            written.push((QUOTE_PAPER.to_owned(), paper::quote(paper, quote, map().as_ref())?));
        }
        let folder = out.join(folder);
        files::write_together(&folder, written)?;
        // Paper of an earlier price list would be sent for this one's.
        own_files::forget(&folder, self.paper.is_none().then_some(QUOTE_PAPER)).map(drop)
    }

    fn piece(
        &self,
        quote: &PropertyQuote<'_>,
        refusal: Option<Refusal>,
        findings: Vec<Finding>,
        names: &HashMap<String, String>,
    ) -> anyhow::Result<Piece> {
        let folder = names.get(&quote.property).map_or("", String::as_str);
        let lines = records(quote)?;
        Ok(Piece {
            text: match self.args.format {
                Format::Table => as_table(quote),
                Format::Json => indented(&quote.to_json()),
                Format::Csv => lines.clone(),
            },
            lines,
            summary: summary_record(quote, folder)?,
            property: quote.property.clone(),
            has_customer: quote.customer.is_some() || self.quoting.customers.is_none(),
            refusal,
            findings: match self.args.format {
                Format::Table => findings,
                Format::Json | Format::Csv => Vec::new(),
            },
        })
    }

    /// Of what is refused elsewhere on the map nobody asked.
    fn is_asked_for(&self, refusal: &Refusal) -> bool {
        let other = self.args.property.as_ref().zip(refusal.property.as_ref());
        other.is_none_or(|(asked, refused)| asked == refused)
    }

    fn tell_customers(
        &self,
        without: &[String],
        known: &HashSet<String>,
        output: &mut Output<'_>,
    ) -> anyhow::Result<()> {
        let Some(customers) = self.quoting.customers else { return Ok(()) };
        let file = self.args.customers.as_deref().unwrap_or(Path::new("")).display();
        let mut tell = |what: &str, names: &[&str]| -> anyhow::Result<()> {
            const MOST: usize = 5;
            let more = names.len().saturating_sub(MOST);
            let first = names.iter().take(MOST).copied().collect::<Vec<_>>().join(", ");
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            if !names.is_empty() {
                writeln!(output.remarks, "note: {file}: {what}: {first}{more}")?;
            }
            Ok(())
        };
        let without: Vec<&str> = without.iter().map(String::as_str).collect();
        tell("no row for property", &without)?;
        let strangers: Vec<&str> =
            customers.properties().filter(|id| !known.contains(*id)).collect();
        if self.args.property.is_none() {
            tell("no such property on the map", &strangers)?;
        }
        let not_read: Vec<&str> = customers.not_read.iter().map(String::as_str).collect();
        tell("columns that are not read", &not_read)
    }
}

/// Removes the earlier quotes of properties that have none today; those that had one.
fn forget_quotes(
    out: &Path,
    names: &HashMap<String, String>,
    unquoted: Vec<Option<String>>,
) -> anyhow::Result<Vec<String>> {
    let mut forgotten = Vec::new();
    for property in unquoted {
        let property = property.unwrap_or_default();
        let folder = match names.get(&property) {
            Some(name) => out.join(name),
            None if names.is_empty() => out.to_owned(),
            None => continue,
        };
        if own_files::forget(&folder, [QUOTE, QUOTE_PAPER])? {
            forgotten.push(property);
        }
    }
    Ok(forgotten)
}

fn refusal(property: &str, error: &dyn std::fmt::Display) -> Refusal {
    Refusal { property: Some(property.to_owned()), reasons: vec![error.to_string()] }
}

/// The tables of all properties, written as they come; put in their place once they are whole.
struct Folder {
    lines: Beside,
    summary: Beside,
}

impl Folder {
    fn of(folder: &Path) -> anyhow::Result<Folder> {
        std::fs::create_dir_all(folder)
            .with_context(|| format!("cannot make {}", folder.display()))?;
        let begun = |name: &str, columns: &[&str]| -> anyhow::Result<Beside> {
            let mut beside = Beside::open(&folder.join(name))?;
            let header = csv_text(|writer| writer.write_record(columns))?;
            beside.write_all(header.as_bytes())?;
            Ok(beside)
        };
        let (lines, summary) =
            (begun(own_files::LINES, &LINES)?, begun(own_files::SUMMARY, &SUMMARY)?);
        Ok(Folder { lines, summary })
    }

    fn add(&mut self, lines: &str, summary: &str) -> anyhow::Result<()> {
        self.lines.write_all(lines.as_bytes())?;
        self.summary.write_all(summary.as_bytes())
    }

    fn finish(self) -> anyhow::Result<()> {
        self.lines.put_in_place()?;
        self.summary.put_in_place()
    }
}
