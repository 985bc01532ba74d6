//! `turfplat calibrate boom|catch|area|pressure|spreader|walk`: what this person with this
//! equipment really puts down, with every step to be gone over by hand.

mod args;

use anyhow::bail;
use clap::Subcommand;
use serde_json::{Value, json};
use turfplat::dose::{
    self, CalibrateError, Catch, FlowOf, WidthOf, Worked, WorkedStep, spray_volume_units,
    spread_rate_unit,
};
use turfplat::units::{
    Amount, AmountUnit, Area, Flow, Rate, RateUnit, Speed, UnitSystem, significant,
};

use args::{
    AreaArgs, BoomArgs, CatchArgs, Form, Format, IntoJob, PressureArgs, SpreaderArgs, Then,
    WalkArgs,
};

use crate::job_edit::{self, Written};
use crate::{Output, Verdict};

/// Find what a sprayer or spreader really puts down, step by step
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat calibrate boom --flow \"0.4 gal/min\" --speed \"3 mph\" --spacing \"20 in\""
)]
pub(crate) struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Subcommand)]
enum What {
    Boom(BoomArgs),
    Catch(CatchArgs),
    Area(AreaArgs),
    Pressure(PressureArgs),
    Spreader(SpreaderArgs),
    Walk(WalkArgs),
}

/// A quantity that was found, in one of its units.
struct Answer {
    what: &'static str,
    value: f64,
    unit: String,
}

/// What was found so far, and how.
#[derive(Default)]
struct Report {
    answers: Vec<Answer>,
    steps: Vec<WorkedStep>,
    remarks: Vec<String>,
    /// What a job file can hold of it.
    found: Vec<Found>,
}

/// What was found and goes into a job.
enum Found {
    SprayVolume(Rate),
    Speed(Speed),
    /// On the dial, and what it is for in words.
    Setting(f64, String),
}

impl Report {
    /// Takes over steps and remarks, and gives the value.
    fn take<T>(&mut self, worked: Worked<T>) -> T {
        self.steps.extend(worked.steps);
        self.remarks.extend(worked.remarks);
        worked.value
    }

    fn answer(&mut self, what: &'static str, value: f64, unit: impl Into<String>) {
        self.answers.push(Answer { what, value, unit: unit.into() });
    }

    fn rate(&mut self, what: &'static str, rate: Rate, units: &[RateUnit]) {
        for unit in units {
            if let Some(value) = rate.in_unit(*unit) {
                self.answer(what, value, unit.to_string());
            }
        }
    }

    /// A spray volume that was found, and what stands against it.
    fn spray_volume(&mut self, rate: Rate, units: UnitSystem) {
        self.rate("spray volume", rate, &spray_volume_units(units));
        self.remarks.extend(dose::doubt_spray_volume(rate));
        self.found.push(Found::SprayVolume(rate));
    }

    fn flow(&mut self, flow: Flow, units: UnitSystem) {
        match units {
            UnitSystem::Us => self.answer("flow", flow.gallons_per_minute(), "gal/min"),
            UnitSystem::Metric => self.answer("flow", flow.litres_per_minute(), "L/min"),
        }
    }

    fn speed(&mut self, speed: Speed, units: UnitSystem) {
        match units {
            UnitSystem::Us => self.answer("speed", speed.mph(), "mph"),
            UnitSystem::Metric => self.answer("speed", speed.kilometres_per_hour(), "km/h"),
        }
    }
}

/// Why nothing is told: a refusal, or a command line that does not say enough.
enum Stop {
    Refused(CalibrateError),
    Unclear(&'static str),
}

impl From<CalibrateError> for Stop {
    fn from(error: CalibrateError) -> Stop {
        Stop::Refused(error)
    }
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let mut report = Report::default();
    let sprayed = |then: &Then, spray: Result<Option<Rate>, Stop>, report: &mut Report| {
        spray.and_then(|spray| tank(then, spray, report))
    };
    let (name, form, job, found): (_, &Form, Option<&IntoJob>, Result<(), Stop>) = match &args.what
    {
        What::Boom(args) => {
            let spray = boom(args, &mut report);
            let done = sprayed(&args.then, spray, &mut report);
            ("boom", &args.then.form, Some(&args.then.job), done)
        }
        What::Catch(args) => {
            let spray = caught(args, &mut report);
            let done = sprayed(&args.then, spray, &mut report);
            ("catch", &args.then.form, Some(&args.then.job), done)
        }
        What::Area(args) => {
            let spray = area(args, &mut report);
            let done = sprayed(&args.then, spray, &mut report);
            ("area", &args.then.form, Some(&args.then.job), done)
        }
        What::Pressure(args) => ("pressure", &args.form, None, pressure(args, &mut report)),
        What::Spreader(args) => {
            ("spreader", &args.form, Some(&args.job), spreader(args, &mut report))
        }
        What::Walk(args) => ("walk", &args.form, Some(&args.job), walk(args, &mut report)),
    };
    match found {
        Ok(()) => {}
        Err(Stop::Unclear(what)) => bail!("{what}"),
        Err(Stop::Refused(error)) => {
            writeln!(output.remarks, "refused: {error}")?;
            return Ok(Verdict::Refused);
        }
    }
    // Before the answer, so that no answer stands above a refusal.
    if let Some(job) = job
        && write_into_job(job, form.units.into(), &report.found, output)? == Verdict::Refused
    {
        return Ok(Verdict::Refused);
    }
    tell(name, &report, form.format, output)?;
    Ok(Verdict::Done)
}

/// The spray volume; `None` where it was given and something else was found.
fn boom(args: &BoomArgs, report: &mut Report) -> Result<Option<Rate>, Stop> {
    let units = args.then.form.units.into();
    let flow = args.flow.map(FlowOf::Nozzle).or(args.total_flow.map(FlowOf::All));
    let width = args.spacing.map(WidthOf::Spacing).or(args.boom_width.map(WidthOf::Boom));
    if args.nozzles.is_some() && (flow.is_none() || width.is_none()) {
        return Err(Stop::Unclear("--nozzles needs a flow and a width; leave it out"));
    }
    match (args.volume, flow, args.speed, width) {
        (None, Some(flow), Some(speed), Some(width)) => {
            let (flow, width) = dose::extent(flow, width, args.nozzles)?;
            let rate = report.take(dose::boom_volume(flow, speed, width, units)?);
            report.spray_volume(rate, units);
            report.found.push(Found::Speed(speed));
            Ok(Some(rate))
        }
        (Some(volume), None, Some(speed), Some(width)) => {
            let (WidthOf::Spacing(width) | WidthOf::Boom(width)) = width;
            let flow = report.take(dose::boom_flow(volume, speed, width, units)?);
            report.flow(flow, units);
            Ok(None)
        }
        (Some(volume), Some(flow), None, Some(width)) => {
            let (flow, width) = dose::extent(flow, width, args.nozzles)?;
            let speed = report.take(dose::boom_speed(volume, flow, width, units)?);
            report.speed(speed, units);
            Ok(None)
        }
        (Some(volume), Some(flow), Some(speed), None) => {
            let (FlowOf::Nozzle(flow) | FlowOf::All(flow)) = flow;
            let width = report.take(dose::boom_width(volume, flow, speed, units)?);
            match units {
                UnitSystem::Us => report.answer("width", width.inches(), "in"),
                UnitSystem::Metric => report.answer("width", width.metres(), "m"),
            }
            Ok(None)
        }
        _ => Err(Stop::Unclear(
            "give three of these four: --volume; --flow or --total-flow; --speed; --spacing or --boom-width",
        )),
    }
}

fn caught(args: &CatchArgs, report: &mut Report) -> Result<Option<Rate>, Stop> {
    let units = args.then.form.units.into();
    let mut course = args.course;
    if let Some(spacing) = args.spacing {
        let length = report.take(dose::catch_course(spacing, units)?);
        match units {
            UnitSystem::Us => report.answer("course", length.feet(), "ft"),
            UnitSystem::Metric => report.answer("course", length.metres(), "m"),
        }
        course = Area::of_rectangle(length, spacing);
    }
    let (Some(caught), Some(time)) = (args.caught, args.time) else {
        return match args.spacing {
            Some(_) => Ok(None),
            None => Err(Stop::Unclear("give --time and --caught, or --spacing for the course")),
        };
    };
    let Some(course) = course else {
        return Err(Stop::Unclear(
            "give --course, or the --spacing of which 1/128 acre was walked",
        ));
    };
    let catch_time = args.caught_for.unwrap_or(time);
    let catch = Catch { course, course_time: time, catch_time, caught };
    let rate = report.take(dose::catch_volume(&catch, units)?);
    report.spray_volume(rate, units);
    Ok(Some(rate))
}

fn area(args: &AreaArgs, report: &mut Report) -> Result<Option<Rate>, Stop> {
    let units = args.then.form.units.into();
    let rate = report.take(dose::used_on_area(args.used, args.course, units)?);
    report.spray_volume(rate, units);
    Ok(Some(rate))
}

/// What a tank covers and takes, where that is asked.
fn tank(then: &Then, spray: Option<Rate>, report: &mut Report) -> Result<(), Stop> {
    let units = then.form.units.into();
    let Some(spray) = spray else {
        return match then.tank.is_some() || then.job.into.is_some() {
            true => Err(Stop::Unclear(
                "--tank and --into need a spray volume to be found: leave --volume out, or give --time and --caught",
            )),
            false => Ok(()),
        };
    };
    let Some(tank) = then.tank else { return Ok(()) };
    let covers = dose::tank_covers(tank, spray, units)?;
    match units {
        UnitSystem::Us => report.answer("a tank covers", covers.value.square_feet(), "sq ft"),
        UnitSystem::Metric => report.answer("a tank covers", covers.value.square_metres(), "m2"),
    }
    let Some(product) = then.product_rate else {
        report.take(covers);
        return Ok(());
    };
    let amount = report.take(dose::in_a_tank(tank, product, spray, units)?);
    let unit = match (amount, units) {
        (Amount::Volume(_), UnitSystem::Us) => AmountUnit::FluidOunce,
        (Amount::Volume(_), UnitSystem::Metric) => AmountUnit::Millilitre,
        (Amount::Mass(_), UnitSystem::Us) => AmountUnit::WeightOunce,
        (Amount::Mass(_), UnitSystem::Metric) => AmountUnit::Gram,
    };
    if let Some(value) = amount.in_unit(unit) {
        report.answer("product in a tank", value, unit.name());
    }
    Ok(())
}

fn pressure(args: &PressureArgs, report: &mut Report) -> Result<(), Stop> {
    let units = args.form.units.into();
    if let Some(to) = args.to {
        let flow = report.take(dose::flow_at_pressure(args.flow, args.at, to, units)?);
        report.flow(flow, units);
    }
    if let Some(wanted) = args.wanted_flow {
        let found = report.take(dose::pressure_for_flow(args.flow, args.at, wanted, units)?);
        match units {
            UnitSystem::Us => report.answer("pressure", found.psi(), "psi"),
            UnitSystem::Metric => report.answer("pressure", found.bar(), "bar"),
        }
    }
    Ok(())
}

fn spreader(args: &SpreaderArgs, report: &mut Report) -> Result<(), Stop> {
    let units = args.form.units.into();
    let unit = [spread_rate_unit(units)];
    let mut wanted = args.wanted;
    if let (Some(whole), true) = (wanted, args.two_passes) {
        let half = report.take(dose::half_rate(whole, units)?);
        report.rate("rate of each pass", half, &unit);
        wanted = Some(half);
    }
    if let (Some(weight), Some(course)) = (args.caught, args.course) {
        let rate = report.take(dose::spread_rate(weight, course, units)?);
        report.rate("rate", rate, &unit);
        if let Some(wanted) = wanted {
            let check = report.take(dose::check_spreader(rate, wanted, units)?);
            report.answer("off the wanted rate", check.percent_off, "%");
        }
    }
    if let (Some(wanted), false) = (wanted, args.setting.is_empty()) {
        let setting = report.take(dose::setting_for(&args.setting, wanted, units)?);
        report.answer("setting", setting, "");
        let of_each = wanted.print(unit[0]);
        let what = match args.two_passes {
            true => format!("{of_each} a pass, in two passes at right angles"),
            false => of_each,
        };
        report.found.push(Found::Setting(setting, what));
    }
    if args.job.into.is_some() && report.found.is_empty() {
        return Err(Stop::Unclear(
            "--into needs a setting to be found: give --wanted and --setting for each that was tried",
        ));
    }
    if report.answers.is_empty() {
        return Err(Stop::Unclear(
            "give --caught and --course, or --wanted with --setting or --two-passes",
        ));
    }
    Ok(())
}

fn walk(args: &WalkArgs, report: &mut Report) -> Result<(), Stop> {
    let units = args.form.units.into();
    if let Some(time) = args.time {
        let speed = report.take(dose::speed_walked(args.course, time, units)?);
        report.speed(speed, units);
        report.found.push(Found::Speed(speed));
    }
    if let Some(speed) = args.speed {
        let time = report.take(dose::time_for_speed(args.course, speed, units)?);
        report.answer("time", time.seconds(), "s");
        report.found.push(Found::Speed(speed));
    }
    Ok(())
}

fn write_into_job(
    job: &IntoJob,
    units: UnitSystem,
    found: &[Found],
    output: &mut Output<'_>,
) -> anyhow::Result<Verdict> {
    let (Some(job), Some(equipment)) = (&job.into, &job.equipment) else {
        return Ok(Verdict::Done);
    };
    let file = job.display();
    let mut written = Vec::new();
    for one in found {
        // Six digits: a thousandth of what any bucket can tell.
        let digits = |value: f64| significant(value, 6);
        written.push(match one {
            Found::SprayVolume(spray) => {
                if let Some(doubt) = dose::doubt_spray_volume(*spray) {
                    writeln!(
                        output.remarks,
                        "refused: not written into {file}: spray volume {doubt}"
                    )?;
                    return Ok(Verdict::Refused);
                }
                let [unit, _] = spray_volume_units(units);
                let value = spray.in_unit(unit).unwrap_or_default();
                Written { key: "spray_volume", value: format!("{} {unit}", digits(value)) }
            }
            Found::Speed(speed) => Written { key: "speed", value: speed.print(units) },
            Found::Setting(setting, what) => {
                Written { key: "setting", value: format!("{} for {what}", digits(*setting)) }
            }
        });
    }
    match job_edit::write(job, equipment, &written)? {
        Ok(taken_out) => {
            for Written { key, value } in &written {
                writeln!(output.remarks, "{file}: equipment {equipment:?}: {key} = {value:?}")?;
            }
            for key in taken_out {
                writeln!(
                    output.remarks,
                    "{file}: equipment {equipment:?}: {key} taken out: it belongs to the old spray volume; time a course and add it with calibrate walk"
                )?;
            }
            Ok(Verdict::Done)
        }
        Err(reason) => {
            writeln!(output.remarks, "refused: {reason}")?;
            Ok(Verdict::Refused)
        }
    }
}

fn tell(
    name: &str,
    report: &Report,
    format: Format,
    output: &mut Output<'_>,
) -> anyhow::Result<()> {
    if matches!(format, Format::Json) {
        writeln!(output.out, "{:#}", report_json(name, report))?;
        return Ok(());
    }
    for Answer { what, value, unit } in &report.answers {
        let line = format!("{what}: {} {unit}", significant(*value, 4));
        writeln!(output.out, "{}", line.trim_end())?;
    }
    for (place, step) in report.steps.iter().enumerate() {
        let WorkedStep { formula, numbers, result, source } = step;
        writeln!(output.out, "\n{}. {formula}\n   = {numbers}\n   = {result}", place + 1)?;
        writeln!(output.out, "   {source}")?;
    }
    for remark in &report.remarks {
        writeln!(output.remarks, "note: {remark}")?;
    }
    Ok(())
}

fn report_json(name: &str, report: &Report) -> Value {
    let answers = report
        .answers
        .iter()
        .map(|Answer { what, value, unit }| json!({ "what": what, "value": value, "unit": unit }));
    let steps = report.steps.iter().map(|step| {
        json!({ "formula": step.formula, "numbers": step.numbers, "result": step.result, "source": step.source })
    });
    json!({
        "calibrate": name,
        "answers": answers.collect::<Vec<_>>(),
        "steps": steps.collect::<Vec<_>>(),
        "remarks": report.remarks,
    })
}
