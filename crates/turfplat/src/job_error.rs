//! What can be wrong with a job: each says the file, the key and the cure.

use std::io;

use turfplat_dose::DoseError;
use turfplat_season::SettingsError;
use turfplat_units::UnitError;

/// Why no application of a job is meant.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum ApplicationError {
    #[error("no application {name:?} in the job; there is: {known}")]
    NoSuch { name: String, known: String },

    /// None was named, and there is not just one.
    #[error("the job has several applications; choose one with --application: {known}")]
    Several { known: String },
}

/// Why a job cannot be done, and what to change in its file.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum JobError {
    /// Not TOML, or keys that a job does not have. The reason shows the line.
    #[error("{file}: not a job file: {reason}")]
    NotAJob { file: String, reason: String },

    #[error("{file}: no [[application]]; a plan needs one with its product, rate and equipment")]
    NoApplication { file: String },

    #[error("{file}: two applications are named {name:?}; give each its own name")]
    SameApplication { file: String, name: String },

    #[error(
        "{file}: application {application:?} has no [[application.product]]; say what goes on and at which rate"
    )]
    NoProduct { file: String, application: String },

    #[error(
        "{file}: application {application:?} uses equipment {name:?}, which has no [equipment.{name}] (there is: {known})"
    )]
    NoEquipment { file: String, application: String, name: String, known: String },

    #[error("{file}: {key}: {source}")]
    Unit { file: String, key: String, source: UnitError },

    #[error("{file}: {key}: {source}")]
    Dose { file: String, key: String, source: Box<DoseError> },

    #[error("{file}: {key}: {word:?} is not known; use one of: {known}")]
    UnknownWord { file: String, key: String, word: String, known: String },

    #[error("{file}: {key}: has both rate and rates; keep one")]
    RateAndRates { file: String, key: String },

    #[error("{file}: {key}: {first:?} and {second:?} are one grass; keep one rate for it")]
    OneGrassTwice { file: String, key: String, first: String, second: String },

    #[error(
        "{file}: application {application:?} has zones = []; name its zones, or leave the line out for every zone"
    )]
    NoZones { file: String, application: String },

    #[error(
        "{file}: {key}: a {kind} has no {means}; leave it out, so that no setback is reduced for it"
    )]
    MeansOfAnother { file: String, key: String, kind: &'static str, means: &'static str },

    #[error(
        "{file}: {key}: the label was checked on {label_checked}, after the date of the {whose}, {date}"
    )]
    LabelFromTheFuture {
        file: String,
        key: String,
        label_checked: String,
        whose: &'static str,
        date: String,
    },

    #[error("{file}: {key}: {text:?} is no day of the calendar; write it like \"2026-05-02\"")]
    NotADate { file: String, key: String, text: String },

    #[error(
        "{file}: {key}: the treatment was on {on}, after the day of the plan, {date}; correct the one or the other"
    )]
    HistoryFromTheFuture { file: String, key: String, on: String, date: String },

    #[error("{file}: {key}: the same is said twice; keep {keep}")]
    OneOfTwo { file: String, key: String, keep: &'static str },

    #[error(
        "{file}: {key}: how much went on is not given; add amount = \"12 fl oz\" or rate = \"0.5 fl oz/1000 sq ft\""
    )]
    NoAmountInHistory { file: String, key: String },

    #[error("{file}: {key}: {text:?} is nothing; take the entry out, or write what it was")]
    NothingInHistory { file: String, key: String, text: String },

    #[error("{file}: {key}: names no zone; name its zones, or leave the line out for every zone")]
    NoZonesInHistory { file: String, key: String },

    #[error(
        "{file}: {key}: of a map of several properties it does not say on which ground the amount went; add area, or give the rate"
    )]
    AmountOfSeveral { file: String, key: String },

    #[error(
        "{file}: {key}: what went on before counts ([[history]] or a ledger), and nothing says on which day this is done; give --date, or add date = \"2026-06-08\" to the application"
    )]
    NoDay { file: String, key: String },

    #[error(
        "{file}: {key}: is empty; say where on the label the rate stands, or take the line out"
    )]
    NoReason { file: String, key: String },

    #[error(
        "{file}: {key}: a swath of no width; give the width that one pass covers, such as \"5 ft\""
    )]
    NoSwath { file: String, key: String },

    #[error(
        "{file}: {key}: says how passes are walked, and their width is not given; add swath = \"5 ft\", or take the line out"
    )]
    WithoutSwath { file: String, key: String },

    #[error(
        "{file}: {key}: {text:?} is no whole number of days; write it like \"28 days\" or \"4 weeks\""
    )]
    NotDays { file: String, key: String, text: String },

    #[error("{file}: {key}: no treatment at all; take the line out, or write at least 1")]
    NoTreatment { file: String, key: String },

    #[error("{file}: {key}: {text:?} is no temperature; write it like \"50 F\" or \"10 C\"")]
    NotATemperature { file: String, key: String, text: String },

    #[error(
        "{file}: {key}: {text:?} is no sum of degree-days; write it with the degrees that it counts, like \"100 C\" or \"180 F\""
    )]
    NotDegreeDays { file: String, key: String, text: String },

    #[error(
        "{file}: {key}: give either soil and days, such as soil = \"50 F\", days = 5, or degree_days and base, such as degree_days = \"100 C\", base = \"0 C\": figures of your own"
    )]
    GreenUp { file: String, key: String },

    #[error("{file}: {key}: {reason}")]
    NoModel { file: String, key: String, reason: String },

    #[error("{file}: {key}: cannot read product file {path}: {reason}")]
    ProductFile { file: String, key: String, path: String, reason: io::Error },

    #[error("{file}: {key}: cannot read rules file {path}: {reason}")]
    RulesFile { file: String, key: String, path: String, reason: io::Error },

    #[error("{file}: {key}: {source}")]
    Weather { file: String, key: String, source: Box<SettingsError> },

    #[error(
        "{file}: {key} names zone {zone:?}, which is nowhere on the map (zones there: {known})"
    )]
    UnknownZone { file: String, key: String, zone: String, known: String },
}

impl JobError {
    /// True where the file is no job at all, rather than a job that is refused.
    pub fn is_unreadable(&self) -> bool {
        matches!(self, JobError::NotAJob { .. })
    }

    /// The key that is meant, where it is one: `equipment.knapsack.tank`, or
    /// `application "June", product "urea-46-0-0", rate`.
    pub fn key(&self) -> Option<String> {
        match self {
            JobError::Unit { key, .. }
            | JobError::Dose { key, .. }
            | JobError::UnknownWord { key, .. }
            | JobError::RateAndRates { key, .. }
            | JobError::OneGrassTwice { key, .. }
            | JobError::MeansOfAnother { key, .. }
            | JobError::LabelFromTheFuture { key, .. }
            | JobError::NotADate { key, .. }
            | JobError::HistoryFromTheFuture { key, .. }
            | JobError::OneOfTwo { key, .. }
            | JobError::NoAmountInHistory { key, .. }
            | JobError::NothingInHistory { key, .. }
            | JobError::NoZonesInHistory { key, .. }
            | JobError::AmountOfSeveral { key, .. }
            | JobError::NoDay { key, .. }
            | JobError::NoReason { key, .. }
            | JobError::NoSwath { key, .. }
            | JobError::WithoutSwath { key, .. }
            | JobError::NotDays { key, .. }
            | JobError::NoTreatment { key, .. }
            | JobError::NotATemperature { key, .. }
            | JobError::NotDegreeDays { key, .. }
            | JobError::GreenUp { key, .. }
            | JobError::NoModel { key, .. }
            | JobError::RulesFile { key, .. }
            | JobError::Weather { key, .. }
            | JobError::ProductFile { key, .. } => Some(key.clone()),
            JobError::UnknownZone { key, zone, .. } if key == "site.species" => {
                Some(format!("{key}.{zone:?}"))
            }
            JobError::UnknownZone { key, .. } => Some(format!("{key}, zones")),
            JobError::NoEquipment { application, .. } => {
                Some(format!("application {application:?}, equipment"))
            }
            JobError::NoProduct { application, .. } => Some(format!("application {application:?}")),
            JobError::NoZones { application, .. } => {
                Some(format!("application {application:?}, zones"))
            }
            JobError::SameApplication { name, .. } => Some(format!("application {name:?}")),
            JobError::NotAJob { .. } | JobError::NoApplication { .. } => None,
        }
    }
}
