//! `turfplat convert RATE --to UNIT`: a rate in another unit.

use anyhow::bail;
use turfplat::units::{Amount, AmountUnit, Of, RateUnit, WrittenRate};

use crate::{Output, Verdict};

/// Convert a rate to another unit
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat convert \"11 fl oz/A\" --to \"mL/100 m2\"")]
pub(crate) struct Args {
    /// Rate, such as "11 fl oz/A" or "1/4 fl oz per 1,000 ft²"
    #[arg(value_parser = |text: &str| text.parse::<WrittenRate>().map_err(|error| error.to_string()))]
    rate: WrittenRate,

    /// Unit to convert to, such as "mL/100 m2"
    #[arg(long, value_name = "UNIT", value_parser = |text: &str| text.parse::<RateUnit>().map_err(|error| error.to_string()))]
    to: RateUnit,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let rate = match args.rate.rate() {
        Ok(rate) => rate,
        Err(error) => {
            writeln!(output.remarks, "refused: {error}")?;
            return Ok(Verdict::Refused);
        }
    };
    if args.to.amount == AmountUnit::Ounce {
        writeln!(
            output.remarks,
            "refused: --to {}: write \"fl oz\" (volume) or \"oz wt\" (weight)",
            args.to
        )?;
        return Ok(Verdict::Refused);
    }
    if rate.in_unit(args.to).is_none() {
        let (is, other) = match args.rate.unit.amount.of(1.0) {
            Some(Amount::Volume(_)) => ("a volume", "mL/100 m2"),
            _ => ("a weight", "kg/ha"),
        };
        bail!(
            "{} is {is} per area and {} is not; give --to a unit of the same, such as {other}",
            args.rate.unit,
            args.to
        );
    }
    let of = match args.rate.of {
        Of::Product => "",
        Of::ActiveIngredient => " of a.i.",
        Of::AcidEquivalent => " of a.e.",
        Of::Nutrient(_) => " of the nutrient",
    };
    writeln!(output.out, "{}{of}", rate.print(args.to))?;
    Ok(Verdict::Done)
}
