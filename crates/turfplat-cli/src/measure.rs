//! `turfplat measure MAP…`: the net turf of every zone, and where the rest went.

use std::fmt::Write;
use std::path::PathBuf;

use anyhow::bail;
use turfplat::units::{Area, Length, UnitSystem, decimal};
use turfplat::{
    Cause, Finding, Kind, MapShape, MapTable, MeasureOptions, Plat, PlatZone, Refusal,
    export_layers, feature_text, measure_each, plat_json,
};

use crate::answer::{Answer, Form, PROPERTIES, after_properties, indented};
use crate::export::Export;
use crate::input::{MapArgs, check_unchanged, distance, read_job, setback, tell_refusal};
use crate::job_args::GroundArgs;
use crate::progress::Progress;
use crate::rows::text_cell;
use crate::{Output, Verdict, table};

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

    #[command(flatten)]
    ground: GroundArgs,

    /// How far off drawn corners may be where the map does not say so, such as 1ft (standard deviation)
    #[arg(long, value_name = "DIST", value_parser = distance)]
    drawn: Option<Length>,

    /// Form of the answer; geojson is the net shapes in WGS 84, of a map on a plane in its meters
    #[arg(long, value_enum, default_value_t)]
    format: Format,

    /// Also write what is left of the zones, the strips that are kept free and the findings as
    /// layers for other map programs: a .geojson, .gpkg, .shp or .kml file, in WGS 84
    #[arg(long, value_name = "FILE")]
    shapes: Option<PathBuf>,

    /// Write to a file instead of standard output
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
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

/// The text of a property, what is to be told of it, and its layers where they are asked for.
type Measured = (String, Vec<Finding>, Option<[MapTable; 3]>);

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
        within_parcel: args.ground.within_parcel,
        drawn_to: args.drawn,
        ..MeasureOptions::default()
    };
    for &(kind, distance) in &args.setbacks {
        let known = options.setbacks.entry(kind).or_default();
        *known = known.max(distance);
    }
    let units = args.ground.units();
    let several = map.properties().len() > 1;
    let mut export = args.shapes.as_deref().map(Export::to).transpose()?;
    if export.is_some() && map.is_on_plane() {
        bail!("--shapes needs a map whose place on the earth is known; this one is on a plane");
    }
    let exports = export.is_some();
    let targets = export.iter().flat_map(Export::targets).chain(args.output.clone());
    args.map.kept().check(targets)?;
    let look = |plat: Plat| -> anyhow::Result<Measured> {
        let text = match args.format {
            Format::Table => as_table(&plat, several, units),
            Format::Json => indented(&plat_json(&plat)),
            Format::Ndjson => format!("{}\n", plat_json(&plat)),
            Format::Csv => records(&plat)?,
            Format::Geojson => shapes(&plat),
        };
        let tell = matches!(args.format, Format::Table | Format::Csv);
        let layers = exports.then(|| {
            let mut layers = export_layers();
            plat.add_to_layers(&mut layers);
            layers
        });
        Ok((text, if tell { plat.findings } else { Vec::new() }, layers))
    };
    let csv_header = header()?;
    let form = match args.format {
        Format::Table | Format::Ndjson => Form::PLAIN,
        Format::Json => PROPERTIES,
        Format::Csv => Form { head: &csv_header, ..Form::PLAIN },
        Format::Geojson => Form {
            head: "{\"type\":\"FeatureCollection\",\"features\":[\n",
            between: ",\n",
            tail: "\n]}\n",
        },
    };
    let mut answer = Some(Answer::new(form, args.output.as_deref(), output.out));
    let mut findings = table::Findings::default();
    let mut refused: Vec<Refusal> = Vec::new();
    let mut progress = Progress::new("measuring", map.properties().len() as u64, false);
    let mut done = 0;
    measure_each(&map, &options, look, |result| -> anyhow::Result<()> {
        done += 1;
        progress.at(done);
        match result {
            Ok(piece) => {
                let (text, found, layers) = piece?;
                if let (Some(export), Some(layers)) = (&mut export, layers) {
                    export.add(layers)?;
                }
                findings.add(found);
                answer = answer.take().map(|answer| answer.add(&text)).transpose()?;
            }
            Err(refusal) => {
                tell_refusal(&refusal, output.remarks)?;
                refused.push(refusal);
            }
        }
        Ok(())
    })?;
    drop(progress);
    check_unchanged(&map)?;
    findings.tell(units, output.remarks)?;
    let more = if let Format::Json = args.format {
        after_properties(&refused, None)
    } else {
        String::new()
    };
    answer.map_or(Ok(()), |answer| answer.finish(&more))?;
    if let Some(export) = export {
        let written: Vec<String> =
            export.targets().iter().map(|target| target.display().to_string()).collect();
        export.finish()?;
        writeln!(output.remarks, "wrote {}", written.join(", "))?;
    }
    Ok(if refused.is_empty() { Verdict::Done } else { Verdict::Refused })
}

fn as_table(plat: &Plat, several: bool, units: UnitSystem) -> String {
    let unit = table::area_unit(units);
    let header = [
        "zone",
        "species",
        &format!("drawn, {unit}"),
        &format!("taken out, {unit}"),
        &format!("net, {unit}"),
    ];
    let mut table = table::new(header);
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
            table::number(net_cell(zone, units)),
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
    let mut text = format!("{}\n{}\n", plat.property, table.trim_fmt());
    if !plat.without_setback.is_empty() {
        let names: Vec<String> = plat
            .without_setback
            .iter()
            .map(|unkept| format!("{} {:?}", unkept.kind, unkept.feature))
            .collect();
        text.push_str(&format!(
            "No setback is kept from: {} (choose one with --setback KIND=DIST).\n",
            names.join(", ")
        ));
    }
    if several {
        text.push('\n');
    }
    text
}

/// The net area, and below it what is known of it besides.
fn net_cell(zone: &PlatZone, units: UnitSystem) -> String {
    let mut lines = vec![table::area(zone.net, units)];
    if let Some(error) = zone.drawn_error {
        lines.push(format!("± {} each corner alone", table::area(error.independent, units)));
        lines.push(format!("± {} all edges alike", table::area(error.together, units)));
    }
    if let Some(surface) = zone.surface {
        lines.push(format!("{} on the slope", table::area(surface, units)));
    }
    lines.join("\n")
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
        Cause::Drift(kind) => format!("drift buffer to {kind}"),
        Cause::Zone(name) => format!("zone {name}"),
        Cause::Parcel => "beyond the lot".to_owned(),
        Cause::Feature(kind) => kind.to_string(),
    }
}

/// The causes of loss that have a column, after the zones'.
fn causes() -> impl Iterator<Item = Cause> {
    let features = Kind::ALL.into_iter().filter(|kind| kind.takes_area()).map(Cause::Feature);
    let setbacks = Kind::ALL.into_iter().filter(|kind| kind.keeps_a_distance()).map(Cause::Setback);
    features.chain(setbacks).chain([Cause::Parcel])
}

fn header() -> anyhow::Result<String> {
    let fixed = [
        "property",
        "zone",
        "species",
        "gross_area_m2",
        "net_area_m2",
        "gross_sq_ft",
        "net_sq_ft",
        "perimeter_m",
        "net_area_sd_m2",
        "net_area_shift_m2",
        "net_surface_area_m2",
        "lost:zones_m2",
    ];
    let lost = causes().map(|cause| format!("lost:{cause}_m2"));
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(fixed.into_iter().map(str::to_owned).chain(lost))?;
    text_of(writer)
}

fn records(plat: &Plat) -> anyhow::Result<String> {
    // A property's rows are short; a county has many.
    let rows = Vec::with_capacity(1 << 10);
    let mut writer = csv::WriterBuilder::new().buffer_capacity(1 << 10).from_writer(rows);
    let mut text = String::new();
    for zone in &plat.zones {
        let lost = |wanted: &dyn Fn(&Cause) -> bool| -> f64 {
            let losses = zone.lost.iter().filter(|loss| wanted(&loss.to));
            losses.map(|loss| loss.area).sum::<Area>().square_metres()
        };
        writer.write_field(text_cell(&plat.property).as_ref())?;
        writer.write_field(text_cell(&zone.name).as_ref())?;
        writer.write_field(zone.species.join(", "))?;
        let mut number = |value: f64| write_number(&mut writer, value, &mut text);
        number(zone.gross.square_metres())?;
        number(zone.net.square_metres())?;
        number(zone.gross.square_feet())?;
        number(zone.net.square_feet())?;
        number(zone.perimeter.metres())?;
        let error = zone.drawn_error;
        let known =
            [error.map(|error| error.independent), error.map(|error| error.together), zone.surface];
        for area in known {
            let text = area.map_or_else(String::new, |area| area.square_metres().to_string());
            writer.write_field(text)?;
        }
        let mut number = |value: f64| write_number(&mut writer, value, &mut text);
        number(lost(&|to| matches!(to, Cause::Zone(_))))?;
        causes().try_for_each(|cause| number(lost(&|to| *to == cause)))?;
        writer.write_record(None::<&[u8]>)?;
    }
    text_of(writer)
}

/// Writes a number by way of `text`.
fn write_number(
    writer: &mut csv::Writer<Vec<u8>>,
    value: f64,
    text: &mut String,
) -> anyhow::Result<()> {
    // Most causes take nothing.
    if value == 0.0 {
        return Ok(writer.write_field("0")?);
    }
    text.clear();
    write!(text, "{value}")?;
    Ok(writer.write_field(text)?)
}

fn text_of(writer: csv::Writer<Vec<u8>>) -> anyhow::Result<String> {
    Ok(String::from_utf8(writer.into_inner().map_err(|error| error.into_error())?)?)
}

/// The net shapes of a property as GeoJSON features.
fn shapes(plat: &Plat) -> String {
    let shapes = plat.zones.iter().enumerate().map(|(index, zone)| {
        let properties = [
            ("kind", "turf".into()),
            ("property", plat.property.clone().into()),
            ("name", zone.name.clone().into()),
            ("species", zone.species.join(", ").into()),
            ("gross_area_m2", zone.gross.square_metres().into()),
            ("net_area_m2", zone.net.square_metres().into()),
        ];
        feature_text(MapShape {
            polygons: plat.outline(index).lifted(plat.plane()),
            properties: properties
                .map(|(name, value): (&str, serde_json::Value)| (name.to_owned(), value))
                .into_iter()
                .collect(),
        })
    });
    shapes.collect::<Vec<_>>().join(",\n")
}
