//! What every command reads: maps, a job, units.

use std::collections::HashSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use turfplat::units::{Length, UnitSystem};
use turfplat::{
    Bytes, CoordinateSystem, Job, JobError, Kind, MapSource, PropertyMap, Refusal, refusals,
};

use crate::Output;
use crate::progress::Progress;

/// Which maps, and in which coordinates.
#[derive(clap::Args)]
pub(crate) struct MapArgs {
    /// Property maps (GeoJSON, RFC 7946), read in this order as one map; - is standard input
    #[arg(value_name = "MAP", required = true)]
    maps: Vec<PathBuf>,

    /// Coordinate system of the maps, such as EPSG:2289 [default: what the file says, else longitude and latitude]
    #[arg(long, value_name = "EPSG:n", conflicts_with = "plane")]
    crs: Option<String>,

    /// The coordinates are on a plane already, in metres or in feet; no coordinate system is involved
    #[arg(long, value_name = "UNIT")]
    plane: Option<PlaneUnit>,

    /// How many threads work, 1 to 256 [default: one per core]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: Option<u16>,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum PlaneUnit {
    M,
    Ft,
}

impl MapArgs {
    pub(crate) fn read(&self) -> anyhow::Result<PropertyMap> {
        if let Some(threads) = self.threads {
            // Set once, before any work; a second setting would be a slip of ours.
            rayon::ThreadPoolBuilder::new()
                .num_threads(threads.into())
                .build_global()
                .context("cannot set the number of threads")?;
        }
        let crs = match (self.plane, &self.crs) {
            (Some(PlaneUnit::M), _) => CoordinateSystem::PLANE_METRES,
            (Some(PlaneUnit::Ft), _) => CoordinateSystem::PLANE_FEET,
            (None, Some(code)) => CoordinateSystem::Code(code.clone()),
            (None, None) => CoordinateSystem::AsTheFileSays,
        };
        let mut sources = Vec::new();
        let mut known = HashSet::new();
        for path in &self.maps {
            if !known.insert(fs::canonicalize(path).unwrap_or_else(|_| path.clone())) {
                bail!("{} is given twice", path.display());
            }
            let (name, bytes) = if path.as_os_str() == "-" {
                let bytes = Bytes::of_stream(&mut io::stdin().lock());
                ("-".to_owned(), bytes.context("cannot read standard input")?)
            } else {
                let bytes = Bytes::open(path);
                let bytes = bytes.with_context(|| format!("cannot read {}", path.display()))?;
                (path.display().to_string(), bytes)
            };
            sources.push(MapSource::geojson(name, bytes, crs.clone()));
        }
        let length = sources.iter().map(|source| source.bytes.length()).sum();
        let mut progress = Progress::new("reading", length, true);
        Ok(turfplat::read_map_watched(&sources, &mut |done| progress.at(done))?)
    }
}

/// Reads a job; `None` where it is refused, which has been said then.
pub(crate) fn read_job(path: &Path, output: &mut Output<'_>) -> anyhow::Result<Option<Job>> {
    let text =
        fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()))?;
    let folder = path.parent().unwrap_or(Path::new("")).to_owned();
    let load = move |product: &str| fs::read_to_string(folder.join(product));
    match Job::read(&path.display().to_string(), &text, &load) {
        Ok(job) => Ok(Some(job)),
        Err(error) => refuse_job(error, output).map(|()| None),
    }
}

/// Says why a job is refused on a map, after what of the map is.
pub(crate) fn refuse_job_on(
    map: &PropertyMap,
    error: JobError,
    output: &mut Output<'_>,
) -> anyhow::Result<()> {
    for refusal in refusals(map) {
        tell_refusal(&refusal, output.remarks)?;
    }
    refuse_job(error, output)
}

/// Says why a job is refused; an error where it is no job at all.
fn refuse_job(error: JobError, output: &mut Output<'_>) -> anyhow::Result<()> {
    if error.is_unreadable() {
        return Err(error.into());
    }
    writeln!(output.remarks, "refused: {error}")?;
    Ok(())
}

/// Says what was refused and why.
pub(crate) fn tell_refusal(refusal: &Refusal, remarks: &mut dyn io::Write) -> anyhow::Result<()> {
    let whose = refusal
        .property
        .as_ref()
        .map_or_else(String::new, |property| format!(" property {property}"));
    for reason in &refusal.reasons {
        writeln!(remarks, "refused{whose}: {reason}")?;
    }
    Ok(())
}

/// Units of printed answers.
#[derive(Clone, Copy, Default, clap::ValueEnum)]
pub(crate) enum Units {
    /// Feet, square feet, fluid ounces, gallons
    #[default]
    Us,
    /// Metres, square metres, millilitres, litres
    Metric,
}

impl From<Units> for UnitSystem {
    fn from(units: Units) -> UnitSystem {
        match units {
            Units::Us => UnitSystem::Us,
            Units::Metric => UnitSystem::Metric,
        }
    }
}

/// `water=25ft`, for the command line.
pub(crate) fn setback(text: &str) -> Result<(Kind, Length), String> {
    let Some((kind, distance)) = text.split_once('=') else {
        return Err("write it as KIND=DISTANCE, such as water=25ft".into());
    };
    let keeps = |kind: &Kind| kind.keeps_a_distance();
    let kind = kind.parse().ok().filter(keeps).ok_or_else(|| {
        let known =
            Kind::ALL.into_iter().filter(keeps).map(Kind::name).collect::<Vec<_>>().join(", ");
        format!("{kind:?} is no kind to keep a distance from; use one of: {known}")
    })?;
    Ok((kind, distance.parse().map_err(|error: turfplat::units::UnitError| error.to_string())?))
}

/// A date as 2026-05-02.
pub(crate) fn date(text: &str) -> Result<String, String> {
    text.parse::<jiff::civil::Date>()
        .map(|date| date.to_string())
        .map_err(|error| format!("{error}; write it as 2026-05-02"))
}

/// True if turf of more than one property is on the map, refused ones counted.
pub(crate) fn is_of_several(map: &PropertyMap) -> bool {
    let known: HashSet<Option<&str>> = map.properties().iter().map(|it| map.id(*it)).collect();
    let refused = refusals(map).into_iter().filter_map(|refusal| refusal.property);
    let others: HashSet<String> = refused.filter(|id| !known.contains(&Some(id))).collect();
    known.len() + others.len() > 1
}

/// How far a drawn edge may be off, such as `1ft`.
pub(crate) fn distance(text: &str) -> Result<Length, String> {
    text.parse().map_err(|error: turfplat::units::UnitError| error.to_string())
}

/// Nothing that was made of a file which has been written to since holds.
pub(crate) fn check_unchanged(map: &PropertyMap) -> anyhow::Result<()> {
    match map.changed_file() {
        Some(file) => bail!("{file} changed while it was read; run it again"),
        None => Ok(()),
    }
}
