//! What a job says of its season, and who of those that say something is nearer: the application by
//! zone, by kind of grass, as a whole, then the job's season in the same order.

use std::collections::BTreeMap;

use turfplat_dose::{Season as GrassSeason, Species, whole_days};
use turfplat_season::{Date, DegreeDays, Start, Temperature};

use super::date;
use crate::job::{Application, Job, Reader};
use crate::job_error::JobError;
use crate::job_file::{self, GreenUpTable, SeasonPartTable, SeasonTable};

/// What is done where a year's limit leaves less than the rate.
pub(crate) const AT_LIMIT: &str = "lower, drop";

/// What a job says of a season.
#[derive(Clone, Debug, Default)]
pub(crate) struct SeasonTerms {
    whole: Part,
    warm: Option<Part>,
    cool: Option<Part>,
    pub(crate) zones: BTreeMap<String, Part>,
    drops_at_limit: Option<bool>,
    pub(crate) model: Option<String>,
}

/// What is said of some zones.
#[derive(Clone, Debug, Default)]
pub(crate) struct Part {
    start: Option<Start>,
    until: Option<Date>,
    interval_days: Option<u32>,
    most: Option<u32>,
    pauses: Option<Vec<(Date, Date)>>,
}

/// What holds for one zone in one application.
#[derive(Clone, Debug)]
pub(super) struct Settled {
    pub(super) start: Start,
    pub(super) until: Date,
    pub(super) interval_days: Option<u32>,
    pub(super) most: Option<u32>,
    pub(super) pauses: Vec<(Date, Date)>,
    pub(super) drops_at_limit: bool,
}

/// First and last day as the command line gives them.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Command {
    pub(super) from: Option<Date>,
    pub(super) until: Option<Date>,
}

/// What holds for a zone of this stand.
///
/// # Errors
///
/// Why there is no season for it, with the cure.
pub(super) fn settle(
    job: &Job,
    application: &Application,
    zone: &str,
    stand: &[&Species],
    command: Command,
) -> Result<Settled, String> {
    let of_command =
        Part { start: command.from.map(Start::On), until: command.until, ..Part::default() };
    let of_job = &job.season;
    let mut parts: Vec<&Part> = Vec::new();
    for terms in [&application.season, of_job] {
        parts.extend(terms.zones.get(zone));
        parts.extend(terms.by_grass(zone, stand)?);
        // The command line stands for what the job says of all.
        if std::ptr::eq(terms, of_job) {
            parts.push(&of_command);
        }
        parts.push(&terms.whole);
    }
    let start = parts.iter().find_map(|part| part.start);
    let until = parts.iter().find_map(|part| part.until);
    let drops = [&application.season, of_job].into_iter().find_map(|terms| terms.drops_at_limit);
    Ok(Settled {
        start: start.ok_or_else(|| {
            "no first day is given; add from = \"2026-04-15\" to [season] of the job, or give --from".to_owned()
        })?,
        until: until.ok_or_else(|| {
            "no last day is given; add until = \"2026-10-15\" to [season] of the job, or give --until".to_owned()
        })?,
        interval_days: parts.iter().find_map(|part| part.interval_days),
        most: parts.iter().find_map(|part| part.most),
        pauses: parts.iter().find_map(|part| part.pauses.clone()).unwrap_or_default(),
        drops_at_limit: drops.unwrap_or(false),
    })
}

impl SeasonTerms {
    /// What is said of grasses that grow as those of a stand; nothing of a stand of no grass.
    fn by_grass(&self, zone: &str, stand: &[&Species]) -> Result<Option<&Part>, String> {
        let has = |season| stand.iter().any(|species| species.season == season);
        match (has(GrassSeason::Warm), has(GrassSeason::Cool)) {
            (true, true) if self.warm.is_some() || self.cool.is_some() => {
                // Whoever says it by the zone's name has said which of the two is meant.
                match self.zones.get(zone) {
                    Some(_) => Ok(None),
                    None => Err(format!(
                        "grows grasses of warm and of cool season, whose seasons differ; say which days are meant in [season.zones.{zone:?}]"
                    )),
                }
            }
            (true, _) => Ok(self.warm.as_ref()),
            (_, true) => Ok(self.cool.as_ref()),
            (false, false) => Ok(None),
        }
    }
}

impl Job {
    /// True where the soil says when a season begins.
    pub fn asks_for_soil(&self) -> bool {
        let of_applications = self.applications.iter().map(|application| &application.season);
        let parts = of_applications.chain([&self.season]).flat_map(|terms| {
            let by_grass = [&terms.warm, &terms.cool].into_iter().flatten();
            by_grass.chain(terms.zones.values()).chain([&terms.whole])
        });
        parts.into_iter().any(|part| matches!(part.start, Some(Start::Soil { .. })))
    }
}

impl Reader<'_> {
    /// What stands at `key` of a job.
    pub(crate) fn season(
        &self,
        key: &str,
        table: Option<SeasonTable>,
    ) -> Result<SeasonTerms, JobError> {
        let Some(table) = table else { return Ok(SeasonTerms::default()) };
        let SeasonTable {
            from,
            green_up,
            until,
            interval,
            most,
            pauses,
            at_limit,
            model,
            warm,
            cool,
            zones,
        } = table;
        let whole = SeasonPartTable { from, green_up, until, interval, most, pauses };
        let part =
            |name: &str, table: SeasonPartTable| self.season_part(&format!("{key}.{name}"), table);
        let drops_at_limit = match at_limit.as_deref().map(str::trim) {
            None => None,
            Some(word) if word.eq_ignore_ascii_case("lower") => Some(false),
            Some(word) if word.eq_ignore_ascii_case("drop") => Some(true),
            Some(word) => return Err(self.unknown(format!("{key}.at_limit"), word, AT_LIMIT)),
        };
        Ok(SeasonTerms {
            whole: self.season_part(key, whole)?,
            warm: warm.map(|table| part("warm", table)).transpose()?,
            cool: cool.map(|table| part("cool", table)).transpose()?,
            zones: zones
                .into_iter()
                .map(|(zone, table)| {
                    let read = part(&format!("zones.{zone:?}"), table)?;
                    Ok((zone, read))
                })
                .collect::<Result<_, JobError>>()?,
            drops_at_limit,
            model: model.map(|id| id.trim().to_owned()),
        })
    }

    fn season_part(&self, key: &str, table: SeasonPartTable) -> Result<Part, JobError> {
        let file = || self.file.to_owned();
        let key = |part: &str| format!("{key}.{part}");
        let SeasonPartTable { from, green_up, until, interval, most, pauses } = table;
        let start = match (from, green_up) {
            (Some(_), Some(_)) => {
                let keep = "from or green_up";
                return Err(JobError::OneOfTwo { file: file(), key: key("from"), keep });
            }
            (Some(from), None) => Some(Start::On(self.season_day(key("from"), from)?)),
            (None, Some(table)) => Some(self.green_up(&key("green_up"), table)?),
            (None, None) => None,
        };
        let interval_days = interval.map(|text| {
            let days = whole_days(&text).filter(|days| *days > 0);
            days.ok_or_else(|| JobError::NotDays { file: file(), key: key("interval"), text })
        });
        if most == Some(0) {
            return Err(JobError::NoTreatment { file: file(), key: key("most") });
        }
        let pauses = pauses.map(|pauses| {
            let one = |[first, last]: [job_file::Date; 2]| {
                let day = |date| self.season_day(key("pauses"), date);
                Ok((day(first)?, day(last)?))
            };
            pauses.into_iter().map(one).collect::<Result<Vec<_>, JobError>>()
        });
        Ok(Part {
            start,
            until: until.map(|day| self.season_day(key("until"), day)).transpose()?,
            interval_days: interval_days.transpose()?,
            most,
            pauses: pauses.transpose()?,
        })
    }

    fn season_day(&self, key: String, day: job_file::Date) -> Result<Date, JobError> {
        let text = day.into_text();
        let read = turfplat_dose::Day::read(text.trim()).and_then(date);
        read.ok_or_else(|| JobError::NotADate { file: self.file.into(), key, text })
    }

    fn green_up(&self, key: &str, table: GreenUpTable) -> Result<Start, JobError> {
        let file = || self.file.to_owned();
        let of = |part: &str| format!("{key}.{part}");
        let temperature = |part: &str, text: String| {
            let read = Temperature::read(&text);
            read.ok_or_else(|| JobError::NotATemperature { file: file(), key: of(part), text })
        };
        let GreenUpTable { soil, days, degree_days, base, since } = table;
        let since = self.season_day(of("since"), since)?;
        match (soil, days, degree_days, base) {
            (Some(soil), Some(days), None, None) if days > 0 => {
                Ok(Start::Soil { at_least: temperature("soil", soil)?, days, since })
            }
            (None, None, Some(text), Some(base)) => {
                let sum = DegreeDays::read(&text).filter(|sum| *sum > DegreeDays::ZERO);
                let sum = sum.ok_or_else(|| JobError::NotDegreeDays {
                    file: file(),
                    key: of("degree_days"),
                    text,
                })?;
                Ok(Start::DegreeDays { sum, base: temperature("base", base)?, since })
            }
            _ => Err(JobError::GreenUp { file: file(), key: key.to_owned() }),
        }
    }
}
