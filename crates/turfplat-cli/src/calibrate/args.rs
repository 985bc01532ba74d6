//! What each calibration asks for, as it stands on the command line.

use std::path::PathBuf;
use std::str::FromStr;

use turfplat::dose::SpreaderSetting;
use turfplat::units::{
    Amount, AmountUnit, Area, Flow, Length, Mass, Of, Pressure, Rate, Speed, Time, Volume,
    WrittenAmount, WrittenRate,
};

use crate::input::Units;

#[derive(clap::Args)]
pub(super) struct Form {
    /// Units of the answer
    #[arg(long, value_enum, default_value_t)]
    pub(super) units: Units,

    /// Form of the answer
    #[arg(long, value_enum, default_value_t)]
    pub(super) format: Format,
}

#[derive(Clone, Copy, Default, clap::ValueEnum)]
pub(super) enum Format {
    #[default]
    Table,
    Json,
}

/// Where what was found is written.
#[derive(clap::Args)]
pub(super) struct IntoJob {
    /// Job file to write what was found into
    #[arg(long, value_name = "JOB", requires = "equipment")]
    pub(super) into: Option<PathBuf>,

    /// Equipment in that job which it was found for
    #[arg(long, value_name = "NAME", requires = "into")]
    pub(super) equipment: Option<String>,
}

/// What is done with a spray volume.
#[derive(clap::Args)]
pub(super) struct Then {
    /// What the tank holds, such as "25 gal": tells the ground that it covers
    #[arg(long, value_name = "VOLUME", value_parser = volume)]
    pub(super) tank: Option<Volume>,

    /// Rate of product, such as "32 fl oz/A": tells how much goes into the tank
    #[arg(long, value_name = "RATE", value_parser = product_rate, requires = "tank")]
    pub(super) product_rate: Option<Rate>,

    #[command(flatten)]
    pub(super) job: IntoJob,

    #[command(flatten)]
    pub(super) form: Form,
}

/// Spray volume from flow, speed and width; or the one of these that is left out
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat calibrate boom --flow \"0.4 gal/min\" --speed \"3 mph\" --spacing \"20 in\""
)]
pub(super) struct BoomArgs {
    /// Flow of one nozzle, such as "0.4 gal/min" or "64 fl oz in 30 s"
    #[arg(long, value_parser = read::<Flow>, conflicts_with = "total_flow")]
    pub(super) flow: Option<Flow>,

    /// Flow of all nozzles together
    #[arg(long, value_name = "FLOW", value_parser = read::<Flow>)]
    pub(super) total_flow: Option<Flow>,

    /// Speed over the ground, such as "3 mph" or "4.8 km/h"
    #[arg(long, value_parser = read::<Speed>)]
    pub(super) speed: Option<Speed>,

    /// From one nozzle to the next, such as "20 in"
    #[arg(long, value_name = "WIDTH", value_parser = read::<Length>, conflicts_with = "boom_width")]
    pub(super) spacing: Option<Length>,

    /// What the whole boom treats in one pass
    #[arg(long, value_name = "WIDTH", value_parser = read::<Length>)]
    pub(super) boom_width: Option<Length>,

    /// Number of nozzles, where flow is of one and width of all, or the other way round
    #[arg(long, value_name = "NUMBER")]
    pub(super) nozzles: Option<u32>,

    /// Wanted spray volume, such as "40 gal/A": then leave out flow, speed or width
    #[arg(long, value_name = "RATE", value_parser = product_rate)]
    pub(super) volume: Option<Rate>,

    #[command(flatten)]
    pub(super) then: Then,
}

/// Spray volume from what was caught while a course was walked (1/128-acre rule)
///
/// With --spacing alone: how long the course is.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat calibrate catch --course \"340 sq ft\" --time \"51 s\" --caught \"40 fl oz\""
)]
pub(super) struct CatchArgs {
    /// Spacing of nozzles: tells the course of 1/128 acre, and is its width
    #[arg(long, value_name = "WIDTH", value_parser = read::<Length>, conflicts_with = "course")]
    pub(super) spacing: Option<Length>,

    /// Ground that was treated, such as "340 sq ft" or "18.5 x 18.5 ft"
    #[arg(long, value_name = "AREA", value_parser = read::<Area>)]
    pub(super) course: Option<Area>,

    /// How long the course took, such as "51 s"
    #[arg(long, value_parser = read::<Time>, requires = "caught")]
    pub(super) time: Option<Time>,

    /// How long was caught, where that differs
    #[arg(long, value_name = "TIME", value_parser = read::<Time>, requires = "time")]
    pub(super) caught_for: Option<Time>,

    /// How much was caught, such as "40 fl oz"
    #[arg(long, value_name = "VOLUME", value_parser = volume, requires = "time")]
    pub(super) caught: Option<Volume>,

    #[command(flatten)]
    pub(super) then: Then,
}

/// Spray volume from what a measured area used up
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat calibrate area --used \"5.25 gal\" --course \"5 x 200 ft\" --tank \"50 gal\""
)]
pub(super) struct AreaArgs {
    /// What was used, such as "5.25 gal"
    #[arg(long, value_name = "VOLUME", value_parser = volume)]
    pub(super) used: Volume,

    /// On how much ground, such as "1000 sq ft" or "5 x 200 ft"
    #[arg(long, value_name = "AREA", value_parser = read::<Area>)]
    pub(super) course: Area,

    #[command(flatten)]
    pub(super) then: Then,
}

/// Flow at another pressure, or the pressure for another flow
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat calibrate pressure --flow \"0.2 gal/min\" --at \"10 psi\" --to \"40 psi\""
)]
pub(super) struct PressureArgs {
    /// Flow now
    #[arg(long, value_parser = read::<Flow>)]
    pub(super) flow: Flow,

    /// Pressure now, such as "30 psi" or "2 bar"
    #[arg(long, value_name = "PRESSURE", value_parser = read::<Pressure>)]
    pub(super) at: Pressure,

    /// Pressure wanted: tells the flow
    #[arg(long, value_name = "PRESSURE", value_parser = read::<Pressure>, required_unless_present = "wanted_flow", conflicts_with = "wanted_flow")]
    pub(super) to: Option<Pressure>,

    /// Flow wanted: tells the pressure
    #[arg(long, value_name = "FLOW", value_parser = read::<Flow>)]
    pub(super) wanted_flow: Option<Flow>,

    #[command(flatten)]
    pub(super) form: Form,
}

/// Rate of a spreader from a catch, how far it is off, and the setting for a wanted rate
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat calibrate spreader --caught \"0.5 lb\" --course \"10 x 5 ft\" --wanted \"9 lb/1000 sq ft\""
)]
pub(super) struct SpreaderArgs {
    /// Weight caught, such as "0.5 lb"
    #[arg(long, value_name = "WEIGHT", value_parser = weight, requires = "course")]
    pub(super) caught: Option<Mass>,

    /// Ground of the catch, length by effective width: "10 x 5 ft"
    #[arg(long, value_name = "AREA", value_parser = read::<Area>, requires = "caught")]
    pub(super) course: Option<Area>,

    /// Rate wanted, of product, such as "5 lb/1000 sq ft"
    #[arg(long, value_name = "RATE", value_parser = spread_rate)]
    pub(super) wanted: Option<Rate>,

    /// A setting and what it put down, "4=2.5 lb/1000 sq ft"; give it for each that was tried
    #[arg(long, value_name = "SETTING=RATE", value_parser = setting, requires = "wanted")]
    pub(super) setting: Vec<SpreaderSetting>,

    /// In two passes at half the wanted rate each
    #[arg(long, requires = "wanted")]
    pub(super) two_passes: bool,

    #[command(flatten)]
    pub(super) job: IntoJob,

    #[command(flatten)]
    pub(super) form: Form,
}

/// Speed from a course and a time, or the time for a wanted speed
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat calibrate walk --course \"200 ft\" --time \"45 s\"")]
pub(super) struct WalkArgs {
    /// Length of the course, such as "200 ft"
    #[arg(long, value_name = "LENGTH", value_parser = read::<Length>)]
    pub(super) course: Length,

    /// How long it took: tells the speed
    #[arg(long, value_parser = read::<Time>, required_unless_present = "speed", conflicts_with = "speed")]
    pub(super) time: Option<Time>,

    /// Speed wanted, such as "3 mph": tells the time
    #[arg(long, value_parser = read::<Speed>)]
    pub(super) speed: Option<Speed>,

    #[command(flatten)]
    pub(super) job: IntoJob,

    #[command(flatten)]
    pub(super) form: Form,
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
    let such_as = || {
        format!(
            "{text:?}: write it like \"4=2.5 lb/1000 sq ft\"; of a dial with letters write their places in the alphabet, D½ as 4.5"
        )
    };
    let (setting, rate) = text.split_once('=').ok_or_else(such_as)?;
    let setting = setting.trim().parse().map_err(|_| such_as())?;
    Ok(SpreaderSetting { setting, rate: spread_rate(rate)? })
}
