//! `turfplat measure MAP…`: the net turf of every zone, and where the rest went.

use std::path::PathBuf;

use turfplat::units::{Area, Length, UnitSystem, decimal};
use turfplat::{
    Cause, Kind, MapShape, MeasureOptions, Measured, Plat, Refusal, feature_collection, measure,
    measure_json, plat_json,
};

use crate::input::{MapArgs, Units, read_job, setback, tell_refusals};
use crate::{Output, Verdict, files, table};

/// Measure the net turf of every zone, and where the rest went
///
/// Without a job and without --setback, only distances on the features themselves are kept.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat measure examples/demo/map.geojson \\\n    --setback water=25ft --setback well=50ft"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    /// Job file: the widest setbacks that any of its applications must keep
    #[arg(long, value_name = "JOB")]
    job: Option<PathBuf>,

    /// Distance to keep from a kind of feature, such as water=25ft; may be given several times
    #[arg(long = "setback", value_name = "KIND=DIST", value_parser = setback)]
    setbacks: Vec<(Kind, Length)>,

    /// Leave out turf beyond the lot line
    #[arg(long)]
    within_parcel: bool,

    /// Units of the table
    #[arg(long, value_enum, default_value_t)]
    units: Units,

    /// Form of the answer; geojson is the net shapes in WGS 84
    #[arg(long, value_enum, default_value_t)]
    format: Format,

    /// Write to a file instead of standard output
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

#[derive(Clone, Copy, Default, clap::ValueEnum)]
enum Format {
    #[default]
    Table,
    Json,
    Ndjson,
    Csv,
    Geojson,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let map = args.map.read()?;
    let job = match &args.job {
        Some(path) => match read_job(path, output)? {
            Some(job) => Some(job),
            None => return Ok(Verdict::Refused),
        },
        None => None,
    };
    let mut options = MeasureOptions {
        job: job.as_ref(),
        within_parcel: args.within_parcel,
        ..MeasureOptions::default()
    };
    for &(kind, distance) in &args.setbacks {
        let known = options.setbacks.entry(kind).or_default();
        *known = known.max(distance);
    }
    let Measured { plats, refusals: refused } = measure(&map, &options);
    let units = args.units.into();
    let any_refused = tell_refusals(&refused, output)?;
    if matches!(args.format, Format::Table | Format::Csv) {
        table::tell_findings(plats.iter().flat_map(|plat| &plat.findings), units, output)?;
    }
    let answer = match args.format {
        Format::Table => as_table(&plats, units),
        Format::Json => json(&plats, &refused),
        Format::Ndjson => plats.iter().map(|plat| format!("{}\n", plat_json(plat))).collect(),
        Format::Csv => csv(&plats)?,
        Format::Geojson => geojson(&plats),
    };
    if !plats.is_empty() {
        match &args.output {
            Some(path) => files::write(path, answer.as_bytes())?,
            None => output.out.write_all(answer.as_bytes())?,
        }
    }
    Ok(if any_refused { Verdict::Refused } else { Verdict::Done })
}

fn json(plats: &[Plat<'_>], refused: &[Refusal]) -> String {
    let mut document = measure_json(plats);
    if !refused.is_empty() {
        document["refused"] = crate::check::refusals_json(refused);
    }
    format!("{document:#}\n")
}

fn as_table(plats: &[Plat<'_>], units: UnitSystem) -> String {
    let unit = table::area_unit(units);
    let several = plats.len() > 1;
    let header = [
        "zone",
        "species",
        &format!("drawn, {unit}"),
        &format!("taken out, {unit}"),
        &format!("net, {unit}"),
    ]
    .map(str::to_owned);
    let header: Vec<&str> = header.iter().map(String::as_str).collect();
    let mut text = String::new();
    for plat in plats {
        let mut table = table::new(header.clone());
        for zone in &plat.zones {
            let lost: Vec<String> = zone
                .lost
                .iter()
                .map(|loss| format!("{} {}", in_words(&loss.to), table::area(loss.area, units)))
                .collect();
            table.add_row(vec![
                comfy_table::Cell::new(&zone.name),
                comfy_table::Cell::new(zone.species.join(", ")),
                table::number(table::area(zone.gross, units)),
                table::number(lost.join("\n")),
                table::number(table::area(zone.net, units)),
            ]);
        }
        let (gross, net) = (plat.gross(), plat.net());
        table.add_row(vec![
            comfy_table::Cell::new("all zones"),
            comfy_table::Cell::new(""),
            table::number(table::area(gross, units)),
            table::number(""),
            table::number(format!("{}\n{}", table::area(net, units), large(net, units))),
        ]);
        text.push_str(&format!("{}\n{}\n", plat.property, table.trim_fmt()));
        if !plat.without_setback.is_empty() {
            let names: Vec<String> = plat
                .without_setback
                .iter()
                .map(|feature| format!("{} {:?}", feature.kind, feature.name))
                .collect();
            text.push_str(&format!(
                "No setback is kept from: {} (choose one with --setback KIND=DIST).\n",
                names.join(", ")
            ));
        }
        if several {
            text.push('\n');
        }
    }
    text
}

fn large(area: Area, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => format!("{} acres", decimal(area.acres(), 3)),
        UnitSystem::Metric => format!("{} ha", decimal(area.square_metres() / 10_000.0, 4)),
    }
}

/// A cause as a person says it.
fn in_words(cause: &Cause) -> String {
    match cause {
        Cause::Setback(kind) => format!("setback from {kind}"),
        Cause::Zone(name) => format!("zone {name}"),
        Cause::Parcel => "beyond the lot".to_owned(),
        Cause::Feature(kind) => kind.to_string(),
    }
}

fn csv(plats: &[Plat<'_>]) -> anyhow::Result<String> {
    let mut causes: Vec<Cause> =
        Kind::ALL.into_iter().filter(|kind| kind.takes_area()).map(Cause::Feature).collect();
    causes.extend(Kind::ALL.into_iter().filter(|kind| kind.keeps_a_distance()).map(Cause::Setback));
    causes.push(Cause::Parcel);
    let mut writer = csv::Writer::from_writer(Vec::new());
    let fixed = [
        "property",
        "zone",
        "species",
        "gross_area_m2",
        "net_area_m2",
        "gross_sq_ft",
        "net_sq_ft",
        "perimeter_m",
        "lost:zones_m2",
    ];
    let header = fixed
        .iter()
        .map(|name| (*name).to_owned())
        .chain(causes.iter().map(|cause| format!("lost:{cause}_m2")));
    writer.write_record(header)?;
    for plat in plats {
        for zone in &plat.zones {
            let lost = |wanted: &dyn Fn(&Cause) -> bool| -> String {
                let area: Area =
                    zone.lost.iter().filter(|loss| wanted(&loss.to)).map(|loss| loss.area).sum();
                area.square_metres().to_string()
            };
            let mut record = vec![
                plat.property.clone(),
                zone.name.clone(),
                zone.species.join(", "),
                zone.gross.square_metres().to_string(),
                zone.net.square_metres().to_string(),
                zone.gross.square_feet().to_string(),
                zone.net.square_feet().to_string(),
                zone.perimeter.metres().to_string(),
                lost(&|to| matches!(to, Cause::Zone(_))),
            ];
            record.extend(causes.iter().map(|cause| lost(&|to| to == cause)));
            writer.write_record(record)?;
        }
    }
    Ok(String::from_utf8(writer.into_inner().map_err(|error| error.into_error())?)?)
}

fn geojson(plats: &[Plat<'_>]) -> String {
    let shapes = plats.iter().flat_map(|plat| {
        plat.zones.iter().enumerate().map(|(index, zone)| {
            let properties = [
                ("kind", "turf".into()),
                ("property", plat.property.clone().into()),
                ("name", zone.name.clone().into()),
                ("species", zone.species.join(", ").into()),
                ("gross_area_m2", zone.gross.square_metres().into()),
                ("net_area_m2", zone.net.square_metres().into()),
            ];
            MapShape {
                polygons: plat.outline(index).lifted(plat.plane()),
                properties: properties
                    .map(|(name, value): (&str, serde_json::Value)| (name.to_owned(), value))
                    .into_iter()
                    .collect(),
            }
        })
    });
    feature_collection(shapes.collect())
}
