//! Temperatures by day, as commands are given them: what was measured, a forecast, normals, and the
//! models that are reckoned by them.

use std::fs::{self, File};
use std::io::{BufReader, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use turfplat::timing::{
    DailyError, DailyOptions, DailySeries, DailySources, Date, HeatModel, Origin, heat_models,
    read_daily, read_heat_models,
};

#[derive(Clone, clap::Args)]
pub(crate) struct TemperatureArgs {
    /// Temperatures that were measured, by day: GHCN-Daily (CSV of a station or a year, or .dly), or a
    /// table with the columns date, tmin_f, tmax_f (or _c) and perhaps soil_f
    #[arg(long, value_name = "FILE")]
    weather: Option<PathBuf>,

    /// Temperatures of the days to come, as a forecast of yours gives them; same forms
    #[arg(long, value_name = "FILE")]
    forecast: Option<PathBuf>,

    /// Temperatures that are usual by day of the year, of any year (days also as 05-02); same forms
    #[arg(long, value_name = "FILE")]
    normals: Option<PathBuf>,

    /// The station, where a file of measured temperatures holds several
    #[arg(long, value_name = "ID")]
    station: Option<String>,

    /// The soil temperature, where a file holds several: two digits of GHCN-Daily, such as 12
    /// (grass, 10 cm)
    #[arg(long, value_name = "CODE")]
    soil: Option<String>,

    /// A table (.csv) of models of your own, in the columns of the one that is built in
    /// (`degree-days --models` lists it)
    #[arg(long, value_name = "FILE")]
    own_models: Option<PathBuf>,
}

/// What was read of them.
pub(crate) struct Temperatures {
    measured: Option<DailySeries>,
    forecast: Option<DailySeries>,
    normals: Option<DailySeries>,
    /// One's own first.
    pub(crate) models: Vec<HeatModel>,
}

/// So many dropped values of a file are told in full.
const TOLD: usize = 5;

impl TemperatureArgs {
    /// Reads the files; `None` where one is refused, which has been said then.
    pub(crate) fn read(
        &self,
        soil_wanted: bool,
        remarks: &mut dyn Write,
    ) -> anyhow::Result<Option<Temperatures>> {
        let mut refused = false;
        let mut one = |path: Option<&Path>, station: Option<&str>, origin| -> anyhow::Result<_> {
            let Some(path) = path else { return Ok(None) };
            let name = path.display().to_string();
            let file = File::open(path).with_context(|| format!("cannot read {name}"))?;
            let soil = self.soil.as_deref();
            let options = DailyOptions { station, soil, soil_wanted };
            let read = read_daily(&name, BufReader::new(file), &options);
            match read.and_then(|series| series.check_as(origin).map(|()| series)) {
                Ok(series) => {
                    tell_dropped(&series, remarks)?;
                    Ok(Some(series))
                }
                Err(error) if error.is_unreadable() => Err(error.into()),
                Err(error) => {
                    refused = true;
                    writeln!(remarks, "refused: {}", with_option(&error))?;
                    Ok(None)
                }
            }
        };
        let measured = one(self.weather.as_deref(), self.station.as_deref(), Origin::Measured)?;
        let forecast = one(self.forecast.as_deref(), None, Origin::Forecast)?;
        let normals = one(self.normals.as_deref(), None, Origin::Normals)?;
        let models = self.models(remarks)?;
        Ok((!refused).then_some(Temperatures { measured, forecast, normals, models }))
    }

    /// The models of one's own, and those that are built in and bear no name of theirs.
    pub(crate) fn models(&self, remarks: &mut dyn Write) -> anyhow::Result<Vec<HeatModel>> {
        let mut models = match &self.own_models {
            None => Vec::new(),
            Some(path) => {
                let name = path.display().to_string();
                let text =
                    fs::read_to_string(path).with_context(|| format!("cannot read {name}"))?;
                read_heat_models(&name, &text)?
            }
        };
        let (replaced, kept): (Vec<&HeatModel>, Vec<&HeatModel>) = heat_models()
            .iter()
            .partition(|it| models.iter().any(|own| own.id.eq_ignore_ascii_case(&it.id)));
        for model in replaced {
            writeln!(
                remarks,
                "note model: {} of your own table replaces the built-in one of that id",
                model.id
            )?;
        }
        models.extend(kept.into_iter().cloned());
        Ok(models)
    }

    /// The files that are read.
    pub(crate) fn files(&self) -> impl Iterator<Item = &Path> {
        let files = [&self.weather, &self.forecast, &self.normals, &self.own_models];
        files.into_iter().filter_map(|file| file.as_deref())
    }
}

impl Temperatures {
    pub(crate) fn sources(&self) -> DailySources<'_> {
        DailySources {
            measured: self.measured.as_ref(),
            forecast: self.forecast.as_ref(),
            normals: self.normals.as_ref(),
        }
    }

    /// The model of that name.
    pub(crate) fn model(&self, id: &str) -> anyhow::Result<&HeatModel> {
        let model = HeatModel::find(id, &self.models).map_err(|reason| anyhow::anyhow!(reason))?;
        if model.base.is_none() {
            bail!(
                "the base temperature of model {id:?} was not found; give it in a table of your own (--own-models)"
            );
        }
        Ok(model)
    }
}

/// What to add to the command line where that is the cure.
fn with_option(error: &DailyError) -> String {
    match error {
        DailyError::SeveralStations { .. } => format!("{error} (--station ID)"),
        DailyError::SeveralSoils { .. } => format!("{error} (--soil CODE)"),
        other => other.to_string(),
    }
}

fn tell_dropped(series: &DailySeries, remarks: &mut dyn Write) -> anyhow::Result<()> {
    for dropped in series.dropped.iter().take(TOLD) {
        writeln!(remarks, "note dropped: {}: {dropped}", series.file)?;
    }
    if series.dropped.len() > TOLD {
        let more = series.dropped.len() - TOLD;
        writeln!(
            remarks,
            "note dropped: {}: {more} more; turfplat degree-days --format json lists all of them",
            series.file
        )?;
    }
    Ok(())
}

/// A day as 2026-05-02, for the command line.
pub(crate) fn day(text: &str) -> Result<Date, String> {
    let read = turfplat::dose::Day::read(text.trim()).and_then(|day| day.to_string().parse().ok());
    read.ok_or_else(|| format!("{text:?} is no day of the calendar; write it as 2026-05-02"))
}
