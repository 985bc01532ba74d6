//! `county OUT`: a county of invented properties, on which speed and memory are measured.
//!
//! A few real maps cannot show how cost grows: that takes files of any size whose parts are known
//! one by one. The properties are like those of a suburb, but no two are near each other, so that
//! no hazard reaches across a property line and each property can be checked by itself.
//!
//! Same arguments, same bytes, on every machine: the draws come from [`chance`], sines from `libm`
//! in place of the machine's own, and all else is arithmetic that IEEE 754 rounds one way.

mod chance;
mod county;
mod damage;
mod geojson;
mod lot;
mod place;
mod ring;

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::PathBuf;

use anyhow::Context;
use clap::Parser;
use clap::builder::RangedU64ValueParser;

use county::County;

/// Draw a county of invented properties as one GeoJSON file.
#[derive(Parser)]
#[command(name = "county", version)]
struct Args {
    /// File to write (GeoJSON, RFC 7946)
    #[arg(value_name = "OUT")]
    out: PathBuf,

    /// How many properties
    #[arg(long, value_name = "N", default_value_t = 20_000)]
    properties: u64,

    /// Another seed is another county
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,

    /// How many times as many corners on every ring, 1 to 1000; from 16 on with --decimals 10
    #[arg(long, value_name = "FACTOR", default_value = "1", value_parser = RangedU64ValueParser::<usize>::new().range(1..=1000))]
    corners: usize,

    /// How many more ponds and wells within reach of every property
    #[arg(long, value_name = "N", default_value_t = 0)]
    hazards: usize,

    /// Scatter the features, so that no property's stand together
    #[arg(long)]
    scattered: bool,

    /// Share of the polygons that are damaged, 0 to 1
    #[arg(long, value_name = "SHARE", default_value = "0", value_parser = share)]
    broken: f64,

    /// Decimals of a degree, 5 to 12; 8 are a millimetre
    #[arg(long, value_name = "N", default_value = "8", value_parser = RangedU64ValueParser::<usize>::new().range(5..=12))]
    decimals: usize,
}

fn share(text: &str) -> Result<f64, String> {
    let share: f64 = text.parse().map_err(|_| format!("{text:?} is not a number"))?;
    if (0.0..=1.0).contains(&share) {
        Ok(share)
    } else {
        Err(format!("{text} is not between 0 and 1"))
    }
}

fn main() -> anyhow::Result<()> {
    let args = Args::parse();
    let county = County {
        properties: args.properties,
        seed: args.seed,
        corners: args.corners,
        hazards: args.hazards,
        scattered: args.scattered,
        broken: args.broken,
        decimals: args.decimals,
    };
    let file =
        File::create(&args.out).with_context(|| format!("cannot create {}", args.out.display()))?;
    let mut out = BufWriter::with_capacity(1 << 18, file);
    let tally = county
        .write(&mut out)
        .and_then(|tally| out.flush().map(|()| tally))
        .with_context(|| format!("cannot write {}", args.out.display()))?;
    writeln!(
        io::stdout(),
        "{} properties, {} features, {} corners",
        county.properties,
        tally.features,
        tally.corners
    )?;
    Ok(())
}
