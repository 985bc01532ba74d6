//! What every command reads: maps, a job, units.

use std::collections::HashSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use turfplat::units::{Length, UnitSystem};
use turfplat::{
    Columns, CoordinateSystem, Job, JobError, Kind, MadeFrom, MapSource, PropertyMap, Refusal,
    open_map, open_stream, refusals,
};

use crate::Output;
use crate::kept_files::Kept;
use crate::progress::Progress;
use crate::reference::today;

/// Which maps, and in which coordinates.
#[derive(Clone, clap::Args)]
pub(crate) struct MapArgs {
    /// Property maps, read in this order as one map; - is standard input
    ///
    /// GeoJSON (RFC 7946; also one feature a line), shapefiles (also zipped), KML, KMZ, GPX,
    /// GeoPackage, tables (CSV) with well-known text or longitude and latitude, and tape sheets.
    #[arg(value_name = "MAP", required = true)]
    maps: Vec<PathBuf>,

    /// Coordinate system of the maps, such as EPSG:2289, or of one of them, such as
    /// wells.csv=EPSG:26915; may be given several times [default: what the file says]
    #[arg(long = "crs", value_name = "EPSG:n|FILE=EPSG:n", conflicts_with = "plane")]
    systems: Vec<String>,

    /// The column that says what a feature is, where it is not "kind"
    #[arg(long, value_name = "COLUMN")]
    kind_from: Option<String>,

    /// What the values of other people's columns mean: a kinds file (TOML; `check --draft-kinds`
    /// writes one to fill in), or one that is built in: openstreetmap, nhd; may be given several
    /// times: the first that says something counts, those that are built in last
    #[arg(long, value_name = "FILE|NAME")]
    kinds: Vec<PathBuf>,

    /// The coordinates are on a plane already, in meters or in feet; no coordinate system is involved
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
        let columns = self.columns()?;
        let sources = self.open(&columns)?;
        let length = sources.iter().map(|source| source.bytes.length()).sum();
        let mut progress = Progress::new("reading", length, true);
        Ok(turfplat::read_map_watched(&sources, &mut |done| progress.at(done))?)
    }
}

impl MapArgs {
    /// The maps' files, each with the columns that are asked for.
    pub(crate) fn open(&self, columns: &Columns) -> anyhow::Result<Vec<MapSource>> {
        let mut sources = Vec::new();
        let mut known = HashSet::new();
        for path in &self.maps {
            if !known.insert(fs::canonicalize(path).unwrap_or_else(|_| path.clone())) {
                bail!("{} is given twice", path.display());
            }
            let crs = self.system_of(path);
            sources.extend(if path.as_os_str() == "-" {
                open_stream("-", &mut io::stdin().lock(), &crs, columns)?
            } else {
                open_map(path, &crs, columns)?
            });
        }
        self.check_systems(&sources)?;
        columns.check_against(&sources)?;
        for source in &mut sources {
            let said = self.systems.iter().map(|said| self.file_and_system(said));
            let own = said.rev().find(|(file, _)| file.is_some_and(|it| is_layer(source, it)));
            if let Some((_, system)) = own {
                source.crs = CoordinateSystem::Code(system.to_owned());
            }
        }
        Ok(sources)
    }

    /// The maps' files, which nothing is written over.
    pub(crate) fn kept(&self) -> Kept {
        let mut kept = Kept::default();
        self.maps.iter().for_each(|map| kept.add_map(map));
        kept
    }

    /// The maps before the last two words, and these.
    pub(crate) fn without_last_two(&self) -> anyhow::Result<(MapArgs, [String; 2])> {
        let mut maps = self.clone();
        let mut last = || maps.maps.pop().map(|it| it.to_string_lossy().into_owned());
        match (last(), last()) {
            (Some(second), Some(first)) if !maps.maps.is_empty() => Ok((maps, [first, second])),
            _ => bail!("give a map, a zone and a product"),
        }
    }

    /// The maps with their checksums; of one on standard input nothing is known.
    pub(crate) fn made_from(&self) -> anyhow::Result<Vec<MadeFrom>> {
        let files = self.maps.iter().filter(|path| path.is_file());
        files.map(|path| checksum("map", path)).collect()
    }

    /// True if any map is given, where none need be.
    pub(crate) fn is_given(&self) -> bool {
        !self.maps.is_empty()
    }

    /// True if a map comes from standard input, which cannot be read again.
    pub(crate) fn is_stream(&self) -> bool {
        self.maps.iter().any(|path| path.as_os_str() == "-")
    }

    /// What of the maps' tables is read, and as what.
    pub(crate) fn columns(&self) -> anyhow::Result<Columns> {
        let (mut columns, mut built_in) = (Columns::default(), Columns::default());
        for path in &self.kinds {
            match path.to_str().and_then(Columns::built_in) {
                // A file of that name would be meant.
                Some(known) if !path.exists() => built_in = built_in.followed_by(known),
                _ => {
                    let text = fs::read_to_string(path).with_context(|| {
                        let known = Columns::BUILT_IN.join(", ");
                        format!("cannot read {} (built in are: {known})", path.display())
                    })?;
                    let name = path.display().to_string();
                    columns = columns.followed_by(Columns::read(&name, &text)?);
                }
            }
        }
        let columns = columns.followed_by(built_in);
        Ok(match &self.kind_from {
            Some(column) => columns.with_kind_from(column),
            None => columns,
        })
    }

    /// The coordinate system of one map, as the command line says.
    fn system_of(&self, path: &Path) -> CoordinateSystem {
        match self.plane {
            Some(PlaneUnit::M) => return CoordinateSystem::PLANE_METRES,
            Some(PlaneUnit::Ft) => return CoordinateSystem::PLANE_FEET,
            None => {}
        }
        let said = self.systems.iter().map(|said| self.file_and_system(said));
        let own = said.clone().rfind(|(file, _)| file.is_some_and(|file| is_file(path, file)));
        let (_, system) = match own.or_else(|| said.clone().rfind(|(file, _)| file.is_none())) {
            Some(found) => found,
            None => return CoordinateSystem::AsTheFileSays,
        };
        CoordinateSystem::Code(system.to_owned())
    }

    fn check_systems(&self, sources: &[MapSource]) -> anyhow::Result<()> {
        for file in self.systems.iter().filter_map(|said| self.file_and_system(said).0) {
            let is_known = self.maps.iter().any(|path| is_file(path, file))
                || sources.iter().any(|source| is_layer(source, file));
            if !is_known {
                let maps: Vec<&str> = sources.iter().map(|source| source.name.as_str()).collect();
                bail!("--crs {file}=…: no such map; the maps are: {}", maps.join(", "));
            }
        }
        Ok(())
    }
}

impl MapArgs {
    /// `wells.csv` and `EPSG:26915` of `wells.csv=EPSG:26915`.
    fn file_and_system<'s>(&self, said: &'s str) -> (Option<&'s str>, &'s str) {
        match said.rsplit_once('=') {
            // Well-known text and PROJ strings have such signs too.
            Some((file, system))
                if !said.contains(['[', '+']) || self.maps.iter().any(|map| is_file(map, file)) =>
            {
                (Some(file), system)
            }
            _ => (None, said),
        }
    }
}

/// True if a map is meant by a name: as it was given, or the file's alone.
fn is_file(path: &Path, name: &str) -> bool {
    let same = || Some(fs::canonicalize(path).ok()? == fs::canonicalize(name).ok()?);
    path == Path::new(name)
        || same().unwrap_or(false)
        || path.file_name().is_some_and(|file| file == name)
}

/// True if a layer of a map is meant by a name: `lots.zip (gis/poly.shp)`, `gis/poly.shp` or `poly.shp`.
fn is_layer(source: &MapSource, name: &str) -> bool {
    let Some((map, layer)) =
        source.name.strip_suffix(')').and_then(|source| source.split_once(" ("))
    else {
        return false;
    };
    let last = |path: &str| path.rsplit('/').next().is_some_and(|last| last == name);
    let whole = || {
        let (said, of_it) = name.strip_suffix(')')?.split_once(" (")?;
        Some(is_file(Path::new(map), said) && of_it == layer)
    };
    layer == name || last(layer) || whole().unwrap_or(false)
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
    const MOST_REASONS: usize = 30;
    for reason in refusal.reasons.iter().take(MOST_REASONS) {
        writeln!(remarks, "refused{whose}: {reason}")?;
    }
    if refusal.reasons.len() > MOST_REASONS {
        let more = refusal.reasons.len() - MOST_REASONS;
        writeln!(remarks, "refused{whose}: {more} more; see turfplat check")?;
    }
    Ok(())
}

/// Units of printed answers.
#[derive(Clone, Copy, Default, clap::ValueEnum)]
pub(crate) enum Units {
    /// Feet, square feet, fluid ounces, gallons
    #[default]
    Us,
    /// Meters, square meters, milliliters, liters
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

/// Today, where a job tells what went on before and nobody says which day it is: treatments are
/// counted up to a day.
pub(crate) fn today_if_counted(job: &Job) -> Option<String> {
    let undated = job.applications.iter().any(|application| application.day.is_none());
    (undated && job.is_told_of_before()).then(today)
}

/// Why a property gets no application that is asked for, with the names of those that it gets.
pub(crate) fn not_for_property(property: &str, wanted: &[&str], its: &[&str]) -> String {
    let whose = match property {
        "" => "this property".to_owned(),
        id => format!("property {id:?}"),
    };
    match (wanted, its) {
        (_, []) => format!(
            "no application of the job is for {whose}; name a zone of it in one, or leave its zones out"
        ),
        ([one], its) => {
            format!("application {one:?} is not for {whose}; there is: {}", its.join(", "))
        }
        (_, its) => format!("none of these is for {whose}; there is: {}", its.join(", ")),
    }
}

/// True if turf of more than one property is on the map, refused ones counted.
pub(crate) fn is_of_several(map: &PropertyMap) -> bool {
    let known: HashSet<Option<&str>> = map.properties().iter().map(|it| map.id(*it)).collect();
    let refused = refusals(map).into_iter().filter_map(|refusal| refusal.property);
    let others: HashSet<String> = refused.filter(|id| !known.contains(&Some(id))).collect();
    known.len() + others.len() > 1
}

/// A file that a plan is made of, with its checksum.
pub(crate) fn checksum(what: &'static str, path: &Path) -> anyhow::Result<MadeFrom> {
    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
    let made = fs::File::open(path).and_then(|file| MadeFrom::of(what, &name, file));
    made.with_context(|| format!("cannot read {}", path.display()))
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
