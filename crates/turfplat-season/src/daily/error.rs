use std::io;

/// Why a file of temperatures cannot be used, and what to do.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum DailyError {
    #[error("{file}: cannot be read: {source}")]
    Unreadable { file: String, source: io::Error },

    #[error("{file}: is empty; give a file with a line for each day")]
    Empty { file: String },

    /// A typical year is made of months of several years; nothing happened on its days.
    #[error(
        "{file}: is a typical year (EPW), put together of months of several years: no season was like it, and no record or forecast is made of it; give the temperatures of a station by day"
    )]
    TypicalYear { file: String },

    #[error(
        "{file}: is JSON, and temperatures by day are wanted; write them as a table with the columns date, tmin_f and tmax_f (or tmin_c and tmax_c)"
    )]
    Json { file: String },

    #[error(
        "{file}: line {line}: not known as temperatures by day; give GHCN-Daily (CSV of a station or of a year, or .dly), or a table with the columns date, tmin_f and tmax_f (or tmin_c and tmax_c)"
    )]
    UnknownLayout { file: String, line: u64 },

    #[error("{file}: not a table: {reason}")]
    NotATable { file: String, reason: String },

    #[error("{file}: has no column {column:?} (there is: {known}){meant}")]
    NoColumn { file: String, column: &'static str, known: String, meant: String },

    #[error(
        "{file}: the column {column:?} does not say its unit; call it {with_f:?} or {with_c:?}"
    )]
    NoUnit { file: String, column: String, with_f: String, with_c: String },

    #[error("{file}: the columns {first:?} and {second:?} say the same; keep one of them")]
    TwoColumns { file: String, first: String, second: String },

    #[error(
        "{file}: line {line}: {text:?} is no day as 2026-05-02, and which number is the month is not guessed; write days so"
    )]
    DayOrMonth { file: String, line: u64, text: String },

    /// A file that was ordered by form comes in °F or °C, as was chosen there.
    #[error(
        "{file}: was ordered by form, and does not say in which unit; call its columns tmax_f and tmin_f, or tmax_c and tmin_c"
    )]
    OrderedByForm { file: String },

    #[error(
        "{file}: line {line}: {column} is {text:?}, and in this layout it is tenths of a degree Celsius, a whole number; if it is degrees, call the columns tmax_f and tmin_f, or tmax_c and tmin_c"
    )]
    NotTenths { file: String, line: u64, column: String, text: String },

    #[error("{file}: holds several stations ({known}); say which one is meant")]
    SeveralStations { file: String, known: String },

    #[error("{file}: holds nothing of station {station:?} (there is: {known})")]
    NoSuchStation { file: String, station: String, known: String },

    #[error(
        "{file}: holds several soil temperatures ({known}); say which one is meant (of GHCN-Daily: the first digit is the cover, 1 grass, 3 bare, 5 sod; the second the depth, 1 is 5 cm, 2 is 10 cm, 3 is 20 cm)"
    )]
    SeveralSoils { file: String, known: String },

    #[error("{file}: holds no soil temperature {soil:?} (there is: {known})")]
    NoSuchSoil { file: String, soil: String, known: String },

    #[error(
        "{file}: its days have no year, so that they are what is usual and were never measured or foretold; give the file as normals"
    )]
    NoYear { file: String },

    #[error(
        "{file}: has {day} of several years, and which is usual is not guessed; give normals with one value for each day of the year"
    )]
    SeveralYears { file: String, day: String },

    #[error("{file}: holds no temperature that counts{dropped}")]
    NoTemperature { file: String, dropped: String },
}

impl DailyError {
    /// True where the file is none of temperatures by day at all, rather than one that is refused.
    pub fn is_unreadable(&self) -> bool {
        matches!(
            self,
            Self::Unreadable { .. }
                | Self::Empty { .. }
                | Self::Json { .. }
                | Self::UnknownLayout { .. }
                | Self::NotATable { .. }
        )
    }
}
