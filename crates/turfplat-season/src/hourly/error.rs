/// Why a file is no hourly forecast, and what to change.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum ForecastError {
    #[error(
        "{file}: larger than 20 MB, which no forecast of hours is; hand over the hourly file alone"
    )]
    TooLarge { file: String },

    #[error("{file}: line {line} is not UTF-8; save the file as UTF-8")]
    NotUtf8 { file: String, line: usize },

    /// Both count from 1, as editors do.
    #[error("{file}: line {line}, column {column}: not JSON: {reason}")]
    NotJson { file: String, line: usize, column: usize, reason: String },

    #[error(
        "{file}: no list \"periods\" under \"properties\"; hand over what gridpoints/…/forecast/hourly answers"
    )]
    NoPeriods { file: String },

    /// Layers of values instead of hours.
    #[error(
        "{file}: this is the raw grid, whose layers are no hours; hand over what gridpoints/…/forecast/hourly answers"
    )]
    RawGrid { file: String },

    /// Day and night instead of hours.
    #[error(
        "{file}: its periods are {hours} hours long; hand over what gridpoints/…/forecast/hourly answers"
    )]
    LongPeriods { file: String, hours: i64 },

    /// An hourly file of weather that never was.
    #[error(
        "{file}: this is a typical year, put together from many; it says nothing of the days to come: hand over a forecast"
    )]
    TypicalYear { file: String },

    /// `found` are the columns that are there, `meant` which of them may be meant.
    #[error("{file}: line 1: no column \"time\"{meant}; the columns that are read are {known}")]
    NoTime { file: String, meant: String, known: String },

    #[error("{file}: line 1: column {column:?}: {cure}")]
    Column { file: String, column: String, cure: String },

    #[error("{file}: the table cannot be read: {reason}")]
    NotATable { file: String, reason: String },

    /// Times as they stand nowhere on earth's clocks but at the zero meridian.
    #[error(
        "{file}: {at}: times are in UTC; say the property's time zone, such as America/New_York"
    )]
    InUtc { file: String, at: String },

    #[error(
        "{file}: {at}: {text:?} says no offset; say the property's time zone, such as America/New_York"
    )]
    NoOffset { file: String, at: String, text: String },

    #[error("no time zone {name:?}{}; write one of the IANA names, such as America/New_York",
        .meant.as_ref().map_or_else(String::new, |meant| format!("; {meant} may be meant")))]
    UnknownZone { name: String, meant: Option<String> },

    #[error("{file}: none of its hours can be read{}",
        .first.as_ref().map_or_else(String::new, |first| format!(": {first}")))]
    NoHour { file: String, first: Option<String> },

    #[error(
        "{file}: {first} to {last} is more than the {days} days that hourly forecasts reach; hand over the coming days alone"
    )]
    TooLong { file: String, first: String, last: String, days: i64 },
}
