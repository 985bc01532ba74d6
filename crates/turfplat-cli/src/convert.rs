//! `turfplat convert RATE --to UNIT`: a rate in another unit.

use anyhow::bail;
use turfplat::units::{Amount, AmountUnit, Of, RateUnit, WrittenRate};

use crate::{Output, Verdict};

/// Convert a rate to another unit
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat convert \"11 fl oz/A\" --to \"mL/100 m2\"")]
pub(crate) struct Args {
    /// Rate, such as "11 fl oz/A", "1/4 fl oz per 1,000 ft²" or "0.75 lb a.e./A" (acid equivalent)
    #[arg(value_parser = |text: &str| text.parse::<WrittenRate>().map_err(|error| error.to_string()))]
    rate: WrittenRate,

    /// Unit to convert to, such as "mL/100 m2", "kg N/ha" or "g a.e./ha"
    #[arg(long, value_name = "UNIT", value_parser = unit)]
    to: To,
}

/// A unit, and what it counts where it says so.
#[derive(Clone, Debug)]
struct To {
    unit: RateUnit,
    of: Option<Of>,
}

fn unit(text: &str) -> Result<To, String> {
    let plain = match text.parse::<RateUnit>() {
        Ok(unit) => return Ok(To { unit, of: None }),
        Err(error) => error.to_string(),
    };
    match format!("1 {text}").parse::<WrittenRate>() {
        // Of another number of areas the value would not be 1.
        Ok(WrittenRate { value: 1.0, unit, of }) => Ok(To { unit, of: Some(of) }),
        _ => Err(plain),
    }
}

fn part(of: &Of) -> &'static str {
    match of {
        Of::Product => "product",
        Of::ActiveIngredient => "a.i.",
        Of::AcidEquivalent => "a.e.",
        Of::Nutrient(name) => name,
    }
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let rate = match args.rate.rate() {
        Ok(rate) => rate,
        Err(error) => {
            writeln!(output.remarks, "refused: {error}")?;
            return Ok(Verdict::Refused);
        }
    };
    if args.to.unit.amount == AmountUnit::Ounce {
        writeln!(
            output.remarks,
            "refused: --to {}: write \"fl oz\" (volume) or \"oz wt\" (weight)",
            args.to.unit
        )?;
        return Ok(Verdict::Refused);
    }
    if rate.in_unit(args.to.unit).is_none() {
        let (is, other) = match args.rate.unit.amount.of(1.0) {
            Some(Amount::Volume(_)) => ("a volume", "mL/100 m2"),
            _ => ("a weight", "kg/ha"),
        };
        bail!(
            "{} is {is} per area and {} is not; give --to a unit of the same, such as {other}",
            args.rate.unit,
            args.to.unit
        );
    }
    if let Some(to) = args.to.of.as_ref().filter(|to| **to != args.rate.of) {
        bail!(
            "the rate counts {} and --to counts {}; what is in a product is not known here: write both of the same",
            part(&args.rate.of),
            part(to)
        );
    }
    let of = match &args.rate.of {
        Of::Product => String::new(),
        of => format!(" of {}", part(of)),
    };
    writeln!(output.out, "{}{of}", rate.print(args.to.unit))?;
    Ok(Verdict::Done)
}
