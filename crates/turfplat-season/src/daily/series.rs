use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan;
use jiff::civil::Date;

use super::dropped::{DropReason, Dropped};
use super::error::DailyError;
use super::read::DailyOptions;
use super::temperature::Temperature;
use crate::degree_days::Origin;

/// Temperatures by day as a file gives them.
#[derive(Clone, Debug, PartialEq)]
pub struct DailySeries {
    /// The file's name, for messages.
    pub file: String,
    /// The station's id, where the file says one.
    pub station: Option<String>,
    /// Which soil temperature is given, such as `soil_f`, or `12` (grass, 10 cm) of GHCN-Daily.
    pub soil: Option<String>,
    /// Values that do not count, in the order of the file.
    pub dropped: Vec<Dropped>,
    /// True where its days are those of any year.
    without_year: bool,
    /// The last day with a mean of the air.
    pub(crate) last_mean: Option<Date>,
    /// The last day with a soil temperature.
    pub(crate) last_soil: Option<Date>,
    days: BTreeMap<Date, DayTemperatures>,
    /// By month and day of the month, whatever the year; of several years the first.
    any_year: BTreeMap<(i8, i8), DayTemperatures>,
}

/// What is known of one day.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DayTemperatures {
    /// The least of the air.
    pub least: Option<Temperature>,
    /// The most of the air.
    pub most: Option<Temperature>,
    /// The mean of the soil.
    pub soil: Option<Temperature>,
}

impl DayTemperatures {
    /// Halfway between least and most, which models of degree-days count by; `None` where either is
    /// missing: one of the two says nothing of the other.
    pub fn mean(self) -> Option<Temperature> {
        Some(self.least?.mean(self.most?))
    }
}

impl DailySeries {
    /// What is known of a day.
    pub fn on(&self, day: Date) -> DayTemperatures {
        self.days.get(&day).copied().unwrap_or_default()
    }

    /// What is known of that day of any year: of a file of normals, whose year means nothing. Where
    /// it has no 29 February, the 28th stands for it.
    pub fn on_any_year(&self, day: Date) -> DayTemperatures {
        let of = |month, date| self.any_year.get(&(month, date)).copied();
        let known = of(day.month(), day.day());
        let known = known.or_else(|| of(2, 28).filter(|_| self.lacks(day)));
        known.unwrap_or_default()
    }

    /// True of a 29 February that it does not have, of any year.
    pub(crate) fn lacks(&self, day: Date) -> bool {
        (day.month(), day.day()) == (2, 29) && !self.any_year.contains_key(&(2, 29))
    }

    /// Refuses to be taken for what it is not: days without a year were never measured, and several
    /// years are no normals.
    ///
    /// # Errors
    ///
    /// [`DailyError::NoYear`] of what is measured or foretold, [`DailyError::SeveralYears`] of normals.
    pub fn check_as(&self, origin: Origin) -> Result<(), DailyError> {
        let file = || self.file.clone();
        let mut seen = BTreeSet::new();
        let twice = self.days.keys().find(|day| !seen.insert((day.month(), day.day())));
        match origin {
            Origin::Measured | Origin::Forecast if self.without_year => {
                Err(DailyError::NoYear { file: file() })
            }
            Origin::Normals => match twice {
                Some(day) => {
                    let day = day.strftime("%m-%d").to_string();
                    Err(DailyError::SeveralYears { file: file(), day })
                }
                None => Ok(()),
            },
            Origin::Measured | Origin::Forecast => Ok(()),
        }
    }

    /// The first and the last day of which anything is known; `None` of a series without one.
    pub fn span(&self) -> Option<(Date, Date)> {
        Some((*self.days.first_key_value()?.0, *self.days.last_key_value()?.0))
    }

    /// The days between the first and the last that have no mean of the air.
    pub fn missing(&self) -> Vec<Date> {
        let Some((first, last)) = self.span() else { return Vec::new() };
        days_between(first, last).filter(|day| self.on(*day).mean().is_none()).collect()
    }

    /// How many days have a mean of the air.
    pub fn days_known(&self) -> usize {
        self.days.values().filter(|day| day.mean().is_some()).count()
    }
}

/// Every day from one to another.
pub(crate) fn days_between(first: Date, last: Date) -> impl Iterator<Item = Date> {
    first.series(1.day()).take_while(move |day| *day <= last)
}

/// Which temperature a value is.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum What {
    Least,
    Most,
    /// Of the soil: its name, and whether it is the least, the most or (neither) the mean.
    Soil(String, SoilPart),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum SoilPart {
    Mean,
    Least,
    Most,
}

/// One value as it was read.
pub(super) struct Value {
    pub(super) line: u64,
    pub(super) day: Date,
    pub(super) what: What,
    /// By the file's word.
    pub(super) column: String,
    pub(super) text: String,
    pub(super) temperature: Temperature,
}

/// A value and where it stands, for what may have to be said of it later.
struct Kept {
    temperature: Temperature,
    line: u64,
    column: String,
    text: String,
}

/// A series while it is read.
#[derive(Default)]
pub(super) struct Reading {
    values: BTreeMap<(Date, What), Kept>,
    /// What stands twice and differs: known as such, and gone.
    twice: BTreeMap<(Date, What), ()>,
    pub(super) dropped: Vec<Dropped>,
    /// Lines before the header.
    pub(super) before: u64,
    /// True once a day had no year.
    pub(super) without_year: bool,
}

impl Reading {
    pub(super) fn drop(
        &mut self,
        line: u64,
        day: Option<Date>,
        what: &str,
        value: &str,
        reason: DropReason,
    ) {
        let (what, value) = (what.to_owned(), value.to_owned());
        self.dropped.push(Dropped { line, day, what, value, reason });
    }

    /// Takes a value in, unless it cannot be.
    pub(super) fn add(&mut self, value: Value) {
        let Value { line, day, what, column, text, temperature } = value;
        if !temperature.is_possible() {
            return self.drop(line, Some(day), &column, &text, DropReason::Impossible);
        }
        let key = (day, what);
        if self.twice.contains_key(&key) {
            return self.drop(line, Some(day), &column, &text, DropReason::Twice);
        }
        match self.values.get(&key) {
            Some(known) if known.temperature == temperature => {}
            Some(_) => {
                if let Some(known) = self.values.remove(&key) {
                    let Kept { line, column, text, .. } = known;
                    self.drop(line, Some(day), &column, &text, DropReason::Twice);
                }
                self.drop(line, Some(day), &column, &text, DropReason::Twice);
                self.twice.insert(key, ());
            }
            None => {
                self.values.insert(key, Kept { temperature, line, column, text });
            }
        }
    }

    /// The series: least and most held to each other, one soil temperature chosen.
    pub(super) fn finish(
        mut self,
        file: &str,
        station: Option<String>,
        options: &DailyOptions<'_>,
    ) -> Result<DailySeries, DailyError> {
        let soil = self.soil(file, options)?;
        self.hold_least_to_most();
        let mut days: BTreeMap<Date, DayTemperatures> = BTreeMap::new();
        let mut soils: BTreeMap<Date, [Option<Temperature>; 3]> = BTreeMap::new();
        for ((day, what), kept) in &self.values {
            let of_day = days.entry(*day).or_default();
            let known = Some(kept.temperature);
            match what {
                What::Least => of_day.least = known,
                What::Most => of_day.most = known,
                What::Soil(name, part) if Some(name) == soil.as_ref() => {
                    soils.entry(*day).or_default()[*part as usize] = known;
                }
                What::Soil(..) => {}
            }
        }
        for (day, [mean, least, most]) in soils {
            let mean = mean.or_else(|| Some(least?.mean(most?)));
            days.entry(day).or_default().soil = mean;
        }
        let empty = |day: &DayTemperatures| *day == DayTemperatures::default();
        days.retain(|_, day| !empty(day));
        self.note_halves(&days);
        self.dropped.sort_by_key(|it| it.line);
        let Reading { dropped, without_year, .. } = self;
        if days.is_empty() {
            let dropped = dropped.first().map_or_else(String::new, |first| {
                format!("; {} are dropped, the first: {first}", dropped.len())
            });
            return Err(DailyError::NoTemperature { file: file.to_owned(), dropped });
        }
        let mut any_year = BTreeMap::new();
        for (day, known) in &days {
            any_year.entry((day.month(), day.day())).or_insert(*known);
        }
        let last_with = |is_known: fn(&DayTemperatures) -> bool| {
            days.iter().rev().find(|(_, known)| is_known(known)).map(|(day, _)| *day)
        };
        Ok(DailySeries {
            file: file.to_owned(),
            station,
            soil,
            dropped,
            without_year,
            last_mean: last_with(|known| known.mean().is_some()),
            last_soil: last_with(|known| known.soil.is_some()),
            days,
            any_year,
        })
    }

    /// Which soil temperature is meant.
    fn soil(&self, file: &str, options: &DailyOptions<'_>) -> Result<Option<String>, DailyError> {
        let mut names: Vec<&str> = Vec::new();
        for (_, what) in self.values.keys() {
            if let What::Soil(name, _) = what
                && !names.contains(&name.as_str())
            {
                names.push(name);
            }
        }
        names.sort_unstable();
        let (file, known) = (file.to_owned(), names.join(", "));
        match (options.soil, names.as_slice()) {
            (Some(wanted), names) if names.contains(&wanted) => Ok(Some(wanted.to_owned())),
            (Some(wanted), _) => {
                Err(DailyError::NoSuchSoil { file, soil: wanted.to_owned(), known })
            }
            (None, []) => Ok(None),
            (None, [one]) => Ok(Some((*one).to_owned())),
            // Nobody asks for the soil: then which of them is no question.
            (None, _) if !options.soil_wanted => Ok(None),
            (None, _) => Err(DailyError::SeveralSoils { file, known }),
        }
    }

    /// Leaves out both temperatures of a day whose least is above its most.
    fn hold_least_to_most(&mut self) {
        let days: Vec<Date> = self.values.keys().map(|(day, _)| *day).collect();
        for day in days {
            let keys = [(day, What::Least), (day, What::Most)];
            let [Some(least), Some(most)] = keys.each_ref().map(|key| self.values.get(key)) else {
                continue;
            };
            if least.temperature <= most.temperature {
                continue;
            }
            for key in keys {
                if let Some(Kept { line, column, text, .. }) = self.values.remove(&key) {
                    self.drop(line, Some(day), &column, &text, DropReason::LeastAboveMost);
                }
            }
        }
    }

    /// Says of days with one of two temperatures which is missing, unless it was dropped by name.
    fn note_halves(&mut self, days: &BTreeMap<Date, DayTemperatures>) {
        let mut halves = Vec::new();
        for (day, known) in days {
            let (missing, other) = match (known.least, known.most) {
                (Some(_), None) => (What::Most, What::Least),
                (None, Some(_)) => (What::Least, What::Most),
                _ => continue,
            };
            let is_told = |it: &Dropped| it.day == Some(*day);
            if self.dropped.iter().any(is_told) {
                continue;
            }
            let word = if missing == What::Most { "the day's most" } else { "the day's least" };
            let line = self.values.get(&(*day, other)).map_or(0, |kept| kept.line);
            halves.push((line, *day, word));
        }
        for (line, day, word) in halves {
            self.drop(line, Some(day), word, "", DropReason::Missing);
        }
    }
}
