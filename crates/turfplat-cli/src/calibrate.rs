//! `turfplat calibrate boom|catch|area|pressure|spreader|walk`: what this person with this
//! equipment really puts down, with every step to be gone over by hand.

use std::path::PathBuf;
use std::str::FromStr;

use anyhow::bail;
use clap::Subcommand;
use serde_json::{Value, json};
use turfplat::dose::{
    self, CalibrateError, Catch, FlowOf, SpreaderSetting, WidthOf, Worked, WorkedStep,
    spray_volume_units, spread_rate_unit,
};
use turfplat::units::{
    Amount, AmountUnit, Area, Flow, Length, Mass, Of, Pressure, Rate, RateUnit, Speed, Time,
    UnitSystem, Volume, WrittenAmount, WrittenRate, significant,
};

use crate::input::Units;
use crate::{Output, Verdict, job_edit};

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

#[derive(clap::Args)]
struct Form {
    /// Units of the answer
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

/// What is done with a spray volume.
#[derive(clap::Args)]
struct Then {
    /// What the tank holds, such as "25 gal": tells the ground that it covers
    #[arg(long, value_name = "VOLUME", value_parser = volume)]
    tank: Option<Volume>,

    /// Rate of product, such as "32 fl oz/A": tells how much goes into the tank
    #[arg(long, value_name = "RATE", value_parser = product_rate, requires = "tank")]
    product_rate: Option<Rate>,

    /// Job file to write the spray volume into
    #[arg(long, value_name = "JOB", requires = "equipment")]
    into: Option<PathBuf>,

    /// Equipment in that job whose spray volume it is
    #[arg(long, value_name = "NAME", requires = "into")]
    equipment: Option<String>,

    #[command(flatten)]
    form: Form,
}

/// Spray volume from flow, speed and width; or the one of these that is left out
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat calibrate boom --flow \"0.4 gal/min\" --speed \"3 mph\" --spacing \"20 in\""
)]
struct BoomArgs {
    /// Flow of one nozzle, such as "0.4 gal/min" or "64 fl oz in 30 s"
    #[arg(long, value_parser = read::<Flow>, conflicts_with = "total_flow")]
    flow: Option<Flow>,

    /// Flow of all nozzles together
    #[arg(long, value_name = "FLOW", value_parser = read::<Flow>)]
    total_flow: Option<Flow>,

    /// Speed over the ground, such as "3 mph" or "4.8 km/h"
    #[arg(long, value_parser = read::<Speed>)]
    speed: Option<Speed>,

    /// From one nozzle to the next, such as "20 in"
    #[arg(long, value_name = "WIDTH", value_parser = read::<Length>, conflicts_with = "boom_width")]
    spacing: Option<Length>,

    /// What the whole boom treats in one pass
    #[arg(long, value_name = "WIDTH", value_parser = read::<Length>)]
    boom_width: Option<Length>,

    /// Number of nozzles, where flow is of one and width of all, or the other way round
    #[arg(long, value_name = "NUMBER")]
    nozzles: Option<u32>,

    /// Wanted spray volume, such as "40 gal/A": then leave out flow, speed or width
    #[arg(long, value_name = "RATE", value_parser = product_rate)]
    volume: Option<Rate>,

    #[command(flatten)]
    then: Then,
}

/// Spray volume from what was caught while a course was walked (1/128-acre rule)
///
/// With --spacing alone: how long the course is.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat calibrate catch --course \"340 sq ft\" --time \"51 s\" --caught \"40 fl oz\""
)]
struct CatchArgs {
    /// Spacing of nozzles: tells the course of 1/128 acre, and is its width
    #[arg(long, value_name = "WIDTH", value_parser = read::<Length>, conflicts_with = "course")]
    spacing: Option<Length>,

    /// Ground that was treated, such as "340 sq ft" or "18.5 x 18.5 ft"
    #[arg(long, value_name = "AREA", value_parser = read::<Area>)]
    course: Option<Area>,

    /// How long the course took, such as "51 s"
    #[arg(long, value_parser = read::<Time>, requires = "caught")]
    time: Option<Time>,

    /// How long was caught, where that differs
    #[arg(long, value_name = "TIME", value_parser = read::<Time>, requires = "time")]
    caught_for: Option<Time>,

    /// How much was caught, such as "40 fl oz"
    #[arg(long, value_name = "VOLUME", value_parser = volume, requires = "time")]
    caught: Option<Volume>,

    #[command(flatten)]
    then: Then,
}

/// Spray volume from what a measured area used up
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat calibrate area --used \"5.25 gal\" --course \"5 x 200 ft\" --tank \"50 gal\""
)]
struct AreaArgs {
    /// What was used, such as "5.25 gal"
    #[arg(long, value_name = "VOLUME", value_parser = volume)]
    used: Volume,

    /// On how much ground, such as "1000 sq ft" or "5 x 200 ft"
    #[arg(long, value_name = "AREA", value_parser = read::<Area>)]
    course: Area,

    #[command(flatten)]
    then: Then,
}

/// Flow at another pressure, or the pressure for another flow
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat calibrate pressure --flow \"0.2 gal/min\" --at \"10 psi\" --to \"40 psi\""
)]
struct PressureArgs {
    /// Flow now
    #[arg(long, value_parser = read::<Flow>)]
    flow: Flow,

    /// Pressure now, such as "30 psi" or "2 bar"
    #[arg(long, value_name = "PRESSURE", value_parser = read::<Pressure>)]
    at: Pressure,

    /// Pressure wanted: tells the flow
    #[arg(long, value_name = "PRESSURE", value_parser = read::<Pressure>, required_unless_present = "wanted_flow", conflicts_with = "wanted_flow")]
    to: Option<Pressure>,

    /// Flow wanted: tells the pressure
    #[arg(long, value_name = "FLOW", value_parser = read::<Flow>)]
    wanted_flow: Option<Flow>,

    #[command(flatten)]
    form: Form,
}

/// Rate of a spreader from a catch, how far it is off, and the setting for a wanted rate
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat calibrate spreader --caught \"0.5 lb\" --course \"10 x 5 ft\" --wanted \"9 lb/1000 sq ft\""
)]
struct SpreaderArgs {
    /// Weight caught, such as "0.5 lb"
    #[arg(long, value_name = "WEIGHT", value_parser = weight, requires = "course")]
    caught: Option<Mass>,

    /// Ground of the catch, length by effective width: "10 x 5 ft"
    #[arg(long, value_name = "AREA", value_parser = read::<Area>, requires = "caught")]
    course: Option<Area>,

    /// Rate wanted, of product, such as "5 lb/1000 sq ft"
    #[arg(long, value_name = "RATE", value_parser = spread_rate)]
    wanted: Option<Rate>,

    /// A setting and what it put down, "4=2.5 lb/1000 sq ft"; give it for each that was tried
    #[arg(long, value_name = "SETTING=RATE", value_parser = setting, requires = "wanted")]
    setting: Vec<SpreaderSetting>,

    /// In two passes at half the wanted rate each
    #[arg(long, requires = "wanted")]
    two_passes: bool,

    #[command(flatten)]
    form: Form,
}

/// Speed from a course and a time, or the time for a wanted speed
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat calibrate walk --course \"200 ft\" --time \"45 s\"")]
struct WalkArgs {
    /// Length of the course, such as "200 ft"
    #[arg(long, value_name = "LENGTH", value_parser = read::<Length>)]
    course: Length,

    /// How long it took: tells the speed
    #[arg(long, value_parser = read::<Time>, required_unless_present = "speed", conflicts_with = "speed")]
    time: Option<Time>,

    /// Speed wanted, such as "3 mph": tells the time
    #[arg(long, value_parser = read::<Speed>)]
    speed: Option<Speed>,

    #[command(flatten)]
    form: Form,
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
    let (name, form, then, found) = match &args.what {
        What::Boom(args) => ("boom", &args.then.form, Some(&args.then), boom(args, &mut report)),
        What::Catch(args) => {
            ("catch", &args.then.form, Some(&args.then), caught(args, &mut report))
        }
        What::Area(args) => ("area", &args.then.form, Some(&args.then), area(args, &mut report)),
        What::Pressure(args) => ("pressure", &args.form, None, pressure(args, &mut report)),
        What::Spreader(args) => ("spreader", &args.form, None, spreader(args, &mut report)),
        What::Walk(args) => ("walk", &args.form, None, walk(args, &mut report)),
    };
    let found = found.and_then(|spray| {
        then.map_or(Ok(()), |then| tank(then, spray, &mut report)).map(|()| spray)
    });
    let spray = match found {
        Ok(spray) => spray,
        Err(Stop::Unclear(what)) => bail!("{what}"),
        Err(Stop::Refused(error)) => {
            writeln!(output.remarks, "refused: {error}")?;
            return Ok(Verdict::Refused);
        }
    };
    // Before the answer, so that no answer stands above a refusal.
    if let Some(then) = then
        && write_into_job(then, spray, output)? == Verdict::Refused
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
            report.rate("spray volume", rate, &spray_volume_units(units));
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
    report.rate("spray volume", rate, &spray_volume_units(units));
    Ok(Some(rate))
}

fn area(args: &AreaArgs, report: &mut Report) -> Result<Option<Rate>, Stop> {
    let units = args.then.form.units.into();
    let rate = report.take(dose::used_on_area(args.used, args.course, units)?);
    report.rate("spray volume", rate, &spray_volume_units(units));
    Ok(Some(rate))
}

/// What a tank covers and takes, where that is asked.
fn tank(then: &Then, spray: Option<Rate>, report: &mut Report) -> Result<(), Stop> {
    let units = then.form.units.into();
    let Some(spray) = spray else {
        return match then.tank.is_some() || then.into.is_some() {
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

fn pressure(args: &PressureArgs, report: &mut Report) -> Result<Option<Rate>, Stop> {
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
    Ok(None)
}

fn spreader(args: &SpreaderArgs, report: &mut Report) -> Result<Option<Rate>, Stop> {
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
    }
    if report.answers.is_empty() {
        return Err(Stop::Unclear(
            "give --caught and --course, or --wanted with --setting or --two-passes",
        ));
    }
    Ok(None)
}

fn walk(args: &WalkArgs, report: &mut Report) -> Result<Option<Rate>, Stop> {
    let units = args.form.units.into();
    if let Some(time) = args.time {
        let speed = report.take(dose::speed_walked(args.course, time, units)?);
        report.speed(speed, units);
    }
    if let Some(speed) = args.speed {
        let time = report.take(dose::time_for_speed(args.course, speed, units)?);
        report.answer("time", time.seconds(), "s");
    }
    Ok(None)
}

fn write_into_job(
    then: &Then,
    spray: Option<Rate>,
    output: &mut Output<'_>,
) -> anyhow::Result<Verdict> {
    let (Some(job), Some(equipment), Some(spray)) = (&then.into, &then.equipment, spray) else {
        return Ok(Verdict::Done);
    };
    if let Some(doubt) = dose::doubt_spray_volume(spray) {
        let file = job.display();
        writeln!(output.remarks, "refused: not written into {file}: spray volume {doubt}")?;
        return Ok(Verdict::Refused);
    }
    let [unit, _] = spray_volume_units(then.form.units.into());
    let value = spray.in_unit(unit).unwrap_or_default();
    // Six digits: a thousandth of what any bucket can tell.
    let text = format!("{} {unit}", significant(value, 6));
    match job_edit::set_spray_volume(job, equipment, &text)? {
        Ok(()) => {
            let file = job.display();
            writeln!(output.remarks, "{file}: equipment {equipment:?}: spray_volume = {text:?}")?;
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

fn read<T: FromStr>(text: &str) -> Result<T, String>
where
    T::Err: std::fmt::Display,
{
    text.parse().map_err(|error: T::Err| error.to_string())
}

fn volume(text: &str) -> Result<Volume, String> {
    match read::<WrittenAmount>(text)?.amount().map_err(|error| error.to_string())? {
        Amount::Volume(volume) => Ok(volume),
        Amount::Mass(_) => {
            Err(format!("{text:?} is a weight; write a volume, such as \"40 fl oz\""))
        }
    }
}

/// What a spreader drops is weighed, so a bare `oz` can only be weight.
fn weight(text: &str) -> Result<Mass, String> {
    let mut written = read::<WrittenAmount>(text)?;
    if written.unit == AmountUnit::Ounce {
        written.unit = AmountUnit::WeightOunce;
    }
    match written.amount().map_err(|error| error.to_string())? {
        Amount::Mass(mass) => Ok(mass),
        Amount::Volume(_) => Err(format!("{text:?} is a volume; weigh it, such as \"0.5 lb\"")),
    }
}

fn written_rate(text: &str) -> Result<WrittenRate, String> {
    let written = read::<WrittenRate>(text)?;
    match written.of {
        Of::Product => Ok(written),
        _ => Err(format!("{text:?} counts a part of the product; write the rate of product")),
    }
}

fn product_rate(text: &str) -> Result<Rate, String> {
    written_rate(text)?.rate().map_err(|error| error.to_string())
}

fn spread_rate(text: &str) -> Result<Rate, String> {
    written_rate(text)?.rate_by_weight().map_err(|error| error.to_string())
}

fn setting(text: &str) -> Result<SpreaderSetting, String> {
    let such_as = || format!("{text:?}: write it like \"4=2.5 lb/1000 sq ft\"");
    let (setting, rate) = text.split_once('=').ok_or_else(such_as)?;
    let setting = setting.trim().parse().map_err(|_| such_as())?;
    Ok(SpreaderSetting { setting, rate: spread_rate(rate)? })
}
