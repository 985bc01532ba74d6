//! `turfplat record …`: what was done, kept in a ledger.

mod args;

use std::fs;
use std::path::Path;

use anyhow::{Context, bail};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};
use turfplat::ledger::{
    Customer, FieldList, Kept, Ledger, LedgerError, Query, Record, State, Step,
};
use turfplat::units::{UnitSystem, nearest};
use turfplat::{
    FinishedPlan, Happened, PlannedWork, RecordError, RecordSheet, beside_others, filled_in,
    record_form, record_json, record_sheet,
};

use crate::ledger::{open, open_whole};
use crate::paper;
use crate::record_told::Told;
use crate::{Output, Verdict, files, record_rows, record_table};

pub(crate) use args::Args;
use args::{
    AddArgs, BackupArgs, CheckArgs, CompleteArgs, CorrectArgs, ExportArgs, FieldsArgs, FindArgs,
    Format, LedgerFile, NewArgs, Of, ShowArgs, StateName, Wanted, What,
};

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let done = match &args.what {
        What::New(args) => new(args, output),
        What::Add(args) => add(args, output),
        What::Complete(args) => complete(args, output),
        What::Correct(args) => correct(args, output),
        What::Find(args) => find(args, output),
        What::Show(args) => show(args, output),
        What::Export(args) => export(args, output),
        What::Check(args) => check(args, output),
        What::Fields(args) => fields(args, output),
        What::Backup(args) => backup(args, output),
    };
    done.or_else(|error| {
        let of_record = error.downcast_ref::<RecordError>().map(|it| !it.is_unreadable());
        let of_ledger = error.downcast_ref::<LedgerError>().map(|it| !it.is_of_the_file());
        match of_record.or(of_ledger) {
            Some(true) => {
                writeln!(output.remarks, "refused: {error:#}")?;
                Ok(Verdict::Refused)
            }
            _ => Err(error),
        }
    })
}

impl Of {
    fn read(&self) -> anyhow::Result<FinishedPlan> {
        let name = self.plan.display().to_string();
        let text = fs::read_to_string(&self.plan).with_context(|| format!("cannot read {name}"))?;
        Ok(FinishedPlan::read(&name, &text)?)
    }

    fn work<'p>(&self, plan: &'p FinishedPlan) -> Result<PlannedWork<'p>, RecordError> {
        plan.work(self.property.as_deref(), self.application.as_deref())
    }
}

fn new(args: &NewArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    if let Some(file) = &args.output
        && fs::symlink_metadata(file).is_ok()
        && !files::is_device(file)
    {
        bail!("{} is there already; name a new file", file.display());
    }
    let plan = args.of.read()?;
    let work = args.of.work(&plan)?;
    let zone = match &args.timezone {
        Some(name) => TimeZone::get(name).with_context(|| format!("--timezone {name}"))?,
        None => TimeZone::system(),
    };
    let told = args.date.as_ref().map(|text| text.parse()).transpose()?;
    let date = told.or_else(|| work.day()).ok_or(RecordError::NoDate)?;
    let text = record_form(&work.untold(date), &zone);
    match &args.output {
        None => output.out.write_all(text.as_bytes())?,
        Some(file) => {
            files::write(file, text.as_bytes())?;
            writeln!(output.remarks, "wrote {}", file.display())?;
        }
    }
    Ok(Verdict::Done)
}

fn add(args: &AddArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let plan = args.of.read()?;
    let form = args.told.form()?;
    // A form says itself what it is of.
    let of_form = |text: fn(&Happened) -> &Option<String>| {
        form.as_ref().and_then(|form| text(form).clone()).filter(|it| !it.is_empty())
    };
    let property = args.of.property.clone().or_else(|| of_form(|it| &it.property));
    let application = args.of.application.clone().or_else(|| of_form(|it| &it.application));
    let work = plan.work(property.as_deref(), application.as_deref())?;
    let told = args.told.date.as_ref().map(|text| text.parse()).transpose()?;
    let of_form = form.as_ref().map(Happened::day).transpose()?.flatten();
    let date = told.or(of_form).or_else(|| work.day()).ok_or(RecordError::NoDate)?;
    let mut record = work.untold(date);
    lay_over(&mut record, form, &args.told)?;
    for place in work.places_without_list() {
        writeln!(
            output.remarks,
            "note: no list of record fields is known for {place}; ask there what a record needs"
        )?;
    }
    tell_of_same(&args.ledger, &record, output)?;
    append(&args.ledger, record, &Step::New, args.units.into(), output)
}

/// One application that is written twice would count twice.
fn tell_of_same(
    ledger: &LedgerFile,
    record: &Record,
    output: &mut Output<'_>,
) -> anyhow::Result<()> {
    if !ledger.path.exists() {
        return Ok(());
    }
    let of_day = Query {
        property: Some(record.property.clone()),
        from: Some(record.date),
        to: Some(record.date),
        ..Query::default()
    };
    let found = Ledger::open_or_begin(&ledger.path)?.find(&of_day)?;
    let is_same = |kept: &&Kept| {
        kept.record.application == record.application && kept.state != State::TakenBack
    };
    for kept in found.iter().filter(is_same) {
        writeln!(
            output.remarks,
            "note: record {} is of the same property, application and day; both count: if it was one, take one back (turfplat record correct {} --take-back --why …)",
            kept.id, kept.id
        )?;
    }
    Ok(())
}

/// Lays form and flags over a record, the flags last.
fn lay_over(record: &mut Record, form: Option<Happened>, told: &Told) -> anyhow::Result<()> {
    let now = ZonedDateTime::now();
    if let Some(form) = form {
        form.lay_over(record, &now)?;
    }
    told.flags(record)?.lay_over(record, &now)?;
    Ok(())
}

fn append(
    ledger: &LedgerFile,
    record: Record,
    step: &Step,
    units: UnitSystem,
    output: &mut Output<'_>,
) -> anyhow::Result<Verdict> {
    let customer = record.customer.clone();
    let mut ledger = match step {
        Step::New => Ledger::open_or_begin(&ledger.path)?,
        _ => Ledger::open(&ledger.path)?,
    };
    let kept = ledger.append(record, step, Timestamp::now())?;
    // It is on the disk: whoever does not see the answer must not add it again.
    tell_kept(&kept, customer.as_ref(), &ledger, units, output).with_context(|| {
        format!("record {} was saved; only the answer was lost: do not add it again", kept.id)
    })?;
    Ok(Verdict::Done)
}

/// What was recorded, and what is to be seen of it.
fn tell_kept(
    kept: &Kept,
    customer: Option<&Customer>,
    ledger: &Ledger,
    units: UnitSystem,
    output: &mut Output<'_>,
) -> anyhow::Result<()> {
    writeln!(
        output.out,
        "record {}: {}, {}, {}; {}; keep until {}; seal {}",
        kept.id,
        kept.record.property,
        kept.record.application,
        kept.record.date,
        kept.state.word(),
        kept.keep_until,
        kept.seal
    )?;
    if kept.record.customer.as_ref() != customer {
        let what = match &kept.record.customer {
            None => "the customer",
            Some(customer) if customer.name.is_none() => "the customer's name",
            Some(_) => "the customer's address",
        };
        writeln!(output.remarks, "note: no list asks for {what}; it was not kept")?;
    }
    let Some(sheet) = record_sheet(std::slice::from_ref(kept), units) else {
        return Ok(());
    };
    if kept.state != State::TakenBack {
        for remark in &sheet.remarks {
            writeln!(output.remarks, "note: {remark}")?;
        }
        let property = Some(kept.record.property.clone());
        let others = ledger.find(&Query { property, ..Query::default() })?;
        for remark in beside_others(kept, &others, units) {
            writeln!(output.remarks, "note: {remark}")?;
        }
    }
    if !sheet.missing.is_empty() {
        writeln!(output.remarks, "kept as a draft; missing:")?;
        for line in &sheet.missing {
            writeln!(output.remarks, "  {line}")?;
        }
        writeln!(
            output.remarks,
            "fill in with: turfplat record complete {} --ledger {} …",
            kept.id,
            ledger_name(ledger)
        )?;
    }
    for list in sheet.lists.iter().filter(|list| list.contains("from memory")) {
        writeln!(output.remarks, "note: {list}")?;
    }
    Ok(())
}

fn ledger_name(ledger: &Ledger) -> String {
    ledger.path().display().to_string()
}

fn complete(args: &CompleteArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let before = open(&args.ledger.path)?.record(args.id)?;
    // Whether it may be completed at all outranks what is told.
    if let Some(by) = before.replaced_by {
        return Err(LedgerError::Replaced { id: args.id, by }.into());
    }
    match before.state {
        State::Draft => {}
        State::Complete => return Err(LedgerError::NotADraft(args.id).into()),
        State::TakenBack => return Err(LedgerError::TakenBack(args.id).into()),
    }
    let mut record = before.record.clone();
    lay_over(&mut record, args.told.form()?, &args.told)?;
    let record = filled_in(args.id, &before.record, record)?;
    append(&args.ledger, record, &Step::Completes(args.id), args.units.into(), output)
}

fn correct(args: &CorrectArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let before = open(&args.ledger.path)?.record(args.id)?.record;
    let mut record = before.clone();
    lay_over(&mut record, args.told.form()?, &args.told)?;
    let why = args.why.clone();
    let step = match args.take_back {
        true if record != before => {
            bail!("--take-back says that nothing was applied; leave out what else is told")
        }
        true => Step::TakesBack(args.id, why),
        false if record == before => {
            bail!("nothing is told that differs from record {}; say what was wrong", args.id)
        }
        false => Step::Corrects(args.id, why),
    };
    append(&args.ledger, record, &step, args.units.into(), output)
}

impl Wanted {
    /// What is found, with a remark where nothing is and a name may be a slip.
    fn find(&self, ledger: &Ledger, output: &mut Output<'_>) -> anyhow::Result<Vec<Kept>> {
        let state = self.only.map(|state| match state {
            StateName::Draft => State::Draft,
            StateName::Complete => State::Complete,
            StateName::TakenBack => State::TakenBack,
        });
        let query = Query {
            property: self.property.clone(),
            product: self.product.clone(),
            from: self.from,
            to: self.to,
            state,
            all: self.all,
        };
        let mut found = ledger.find(&query)?;
        if self.only.is_none() && !self.all {
            let before = found.len();
            found.retain(|kept| kept.state != State::TakenBack);
            match before - found.len() {
                0 => {}
                1 => writeln!(
                    output.remarks,
                    "note: 1 that was taken back is left out; --all or --only taken-back shows it"
                )?,
                left_out => writeln!(
                    output.remarks,
                    "note: {left_out} that were taken back are left out; --all or --only taken-back shows them"
                )?,
            }
        }
        if found.is_empty() {
            let (properties, products) = ledger.known_ids()?;
            let unknown =
                [(&self.property, properties, "property"), (&self.product, products, "product")];
            for (name, known, what) in unknown {
                let Some(name) = name.as_ref().filter(|name| !known.contains(name)) else {
                    continue;
                };
                let hint = match nearest(name, known.iter().map(String::as_str)) {
                    Some(near) => format!("did you mean {near:?}?"),
                    None => format!("there is: {}", known.join(", ")),
                };
                writeln!(output.remarks, "no record is of {what} {name:?}; {hint}")?;
            }
        }
        Ok(found)
    }
}

fn json_text(records: &[Kept], units: UnitSystem) -> String {
    let records: Vec<_> = records.iter().map(|kept| record_json(kept, units)).collect();
    format!("{:#}\n", serde_json::json!({ "records": records }))
}

fn find(args: &FindArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let ledger = open_whole(&args.ledger.path)?;
    let found = args.wanted.find(&ledger, output)?;
    let units = args.units.into();
    let text = match args.format {
        Format::Table => record_table::list(&found, units),
        Format::Json => json_text(&found, units),
        Format::Csv => record_rows::rows(&found, units)?,
    };
    output.out.write_all(text.as_bytes())?;
    Ok(Verdict::Done)
}

fn show(args: &ShowArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let trail = open_whole(&args.ledger.path)?.trail(args.id)?;
    if let Some(sheet) = record_sheet(&trail, args.units.into()) {
        record_table::show(&sheet, output.out)?;
    }
    Ok(Verdict::Done)
}

fn export(args: &ExportArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let file = &args.output;
    let ending = file.extension().and_then(|it| it.to_str()).map(str::to_lowercase);
    if ending.as_deref() == Some("pdf") {
        paper::check_built_in()?;
    }
    if is_same(file, &args.ledger.path) {
        bail!("{} is the ledger itself; name another file", file.display());
    }
    let ledger = open_whole(&args.ledger.path)?;
    let found = args.wanted.find(&ledger, output)?;
    let units = args.units.into();
    let bytes = match ending.as_deref() {
        Some("csv") => record_rows::rows(&found, units)?.into_bytes(),
        Some("json") => json_text(&found, units).into_bytes(),
        Some("pdf") => {
            let sheets = found.iter().map(|kept| {
                let trail = ledger.trail(kept.id)?;
                Ok(record_sheet(&trail, units))
            });
            let sheets: Vec<Option<RecordSheet>> = sheets.collect::<Result<_, LedgerError>>()?;
            let sheets: Vec<RecordSheet> = sheets.into_iter().flatten().collect();
            if sheets.is_empty() {
                bail!("nothing was found; a PDF of no record is none");
            }
            paper::records(&sheets, args.page)?
        }
        _ => bail!("{}: end the file name with .csv, .json or .pdf", file.display()),
    };
    files::write(file, &bytes)?;
    let plural = if found.len() == 1 { "" } else { "s" };
    writeln!(
        output.remarks,
        "wrote {} record{plural} to {}; every seal holds",
        found.len(),
        file.display()
    )?;
    Ok(Verdict::Done)
}

fn is_same(a: &Path, b: &Path) -> bool {
    fs::canonicalize(a).ok().zip(fs::canonicalize(b).ok()).is_some_and(|(a, b)| a == b)
}

fn check(args: &CheckArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let checked = open(&args.ledger.path)?.check()?;
    let name = args.ledger.path.display();
    if let Some((version, since, by)) = checked.versions.last() {
        writeln!(output.remarks, "form {version}, since {since}, by {by}")?;
    }
    if checked.problems.is_empty() {
        writeln!(output.out, "{name}: whole; {} records, every seal holds", checked.records)?;
        return Ok(Verdict::Done);
    }
    for problem in &checked.problems {
        writeln!(output.out, "{name}: {problem}")?;
    }
    writeln!(
        output.remarks,
        "refused: not as it was written; go back to a backup, and keep this file"
    )?;
    Ok(Verdict::Refused)
}

fn backup(args: &BackupArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let records = open(&args.ledger.path)?.back_up(&args.to)?;
    writeln!(output.remarks, "wrote {records} records to {}, checked", args.to.display())?;
    Ok(Verdict::Done)
}

fn fields(args: &FieldsArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let place = args.place.as_deref().map(FieldList::place).transpose()?;
    let lists = FieldList::all().iter().filter(|list| place.is_none_or(|id| id == list.id));
    for list in lists {
        let years = match list.years_status.as_str() {
            "M" => format!("{} years (from memory: ask there)", list.years_kept),
            _ => format!("{} years", list.years_kept),
        };
        writeln!(output.out, "{}: {}; kept {years}", list.id, list.name)?;
        for field in &list.fields {
            writeln!(output.out, "  {:<18} {}", field.key(), field.words())?;
        }
        let conditions = list.conditions.as_deref().filter(|it| !it.is_empty());
        let conditions = conditions.map_or_else(String::new, |it| format!("{it}; "));
        writeln!(
            output.out,
            "  {conditions}{}, read {} ({})\n",
            list.source, list.read, list.status
        )?;
    }
    writeln!(
        output.out,
        "The federal lists hold beside each. Of a place that is not here ask there; laws change, and the law outranks this table."
    )?;
    Ok(Verdict::Done)
}
