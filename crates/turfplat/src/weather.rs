//! What a job asks of the weather on its own account. It tightens and never loosens: a label's figure
//! stands in the product file, where it can be held to the label.

use turfplat_season::{Celsius, OwnLimits, Settings};
use turfplat_units::{Speed, Time};

use crate::job::Reader;
use crate::job_error::JobError;
use crate::job_file::WeatherTable;

impl Reader<'_> {
    /// This tool's limits, with those of a table of the job's own.
    pub(crate) fn weather_defaults(&self, path: Option<&str>) -> Result<Settings, JobError> {
        let key = "weather.defaults";
        let Some(path) = path else {
            let wrong = |source| JobError::Weather {
                file: self.file.into(),
                key: key.into(),
                source: Box::new(source),
            };
            return Settings::of_this_tool().map_err(wrong);
        };
        let text = (self.load)(path).map_err(|reason| JobError::RulesFile {
            file: self.file.into(),
            key: key.into(),
            path: path.into(),
            reason,
        })?;
        Settings::with_own(text.trim_start_matches('\u{feff}')).map_err(|source| {
            JobError::Weather {
                file: self.file.into(),
                key: format!("{key} ({path})"),
                source: Box::new(source),
            }
        })
    }

    pub(crate) fn weather(&self, table: WeatherTable) -> Result<OwnLimits, JobError> {
        let key = |part: &str| format!("weather.{part}");
        let speed = |part: &str, text: Option<String>| -> Result<Option<Speed>, JobError> {
            let read = text.as_deref().map(str::parse).transpose();
            read.map_err(|error| self.unit(key(part), error))
        };
        let degrees = |part: &str, text: Option<String>| -> Result<Option<Celsius>, JobError> {
            let Some(text) = text else { return Ok(None) };
            let read = Celsius::read(&text);
            let known = "degrees with their unit, such as \"85 F\" or \"30 C\"";
            read.map(Some).ok_or_else(|| self.unknown(key(part), &text, known))
        };
        let rain_free: Option<Time> = (table.rain_free.as_deref().map(str::parse).transpose())
            .map_err(|error| self.unit(key("rain_free"), error))?;
        let chance = table.rain_chance_at_most.map(|text| {
            let percent =
                text.trim().strip_suffix('%').and_then(|it| it.trim().parse::<f64>().ok());
            let percent = percent.filter(|percent| (0.0..=100.0).contains(percent));
            let known = "a percentage, such as \"20 %\"";
            percent
                .map(|percent| percent / 100.0)
                .ok_or_else(|| self.unknown(key("rain_chance_at_most"), &text, known))
        });
        let asked = OwnLimits {
            wind_at_least: speed("wind_at_least", table.wind_at_least)?,
            wind_at_most: speed("wind_at_most", table.wind_at_most)?,
            gust_at_most: speed("gust_at_most", table.gust_at_most)?,
            rain_free,
            rain_chance_at_most: chance.transpose()?,
            temperature_at_least: degrees("temperature_at_least", table.temperature_at_least)?,
            temperature_at_most: degrees("temperature_at_most", table.temperature_at_most)?,
            dry_leaf: table.dry_leaf.unwrap_or(false),
        };
        asked.check().map_err(|source| JobError::Weather {
            file: self.file.into(),
            key: "weather".into(),
            source: Box::new(source.into()),
        })?;
        Ok(asked)
    }
}
