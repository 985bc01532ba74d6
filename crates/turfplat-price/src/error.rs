//! What can be wrong with a price list or a customers file: each says the file, the line, the key and
//! the cure.

use std::fmt;

/// A key in a file, with its line from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // The field names say it.
pub struct Place {
    pub file: String,
    pub line: usize,
    pub key: String,
}

impl fmt::Display for Place {
    /// `prices.toml: line 12: service "Mowing", price`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: line {}: {}", self.file, self.line, self.key)
    }
}

/// Why a price list or a customers file cannot be used, and what to change in it.
#[derive(Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum PriceError {
    /// Not TOML, or keys that a price list does not have. The reason shows the line.
    #[error("{file}: not a price list: {reason}")]
    NotAList { file: String, reason: String },

    #[error("{file}: {key} is missing; add {write}")]
    Missing { file: String, key: String, write: &'static str },

    #[error("{at} is empty; write {write}, or take the line out")]
    Empty { at: Place, write: &'static str },

    #[error("{at}: {text:?} is no currency; write its code of ISO 4217, such as \"USD\"")]
    NotACurrency { at: Place, text: String },

    #[error("{at}: {text:?} is no price; write it in quotes with a point, such as \"12.50\"")]
    NotMoney { at: Place, text: String },

    #[error("{at}: {text:?} is less than nothing; a price is zero or more, such as \"12.50\"")]
    Negative { at: Place, text: String },

    /// A price that is multiplied may be finer than what can be paid, as one per mile is.
    #[error("{at}: {text:?} has too many decimals; write at most {most}, such as {such_as:?}")]
    TooManyDecimals { at: Place, text: String, most: u32, such_as: String },

    #[error(
        "{at}: nothing can be rounded to a multiple of zero; write a step such as \"0.05\", or take the line out"
    )]
    NoStep { at: Place },

    #[error("{at}: {text:?} off leaves nothing to pay; write less than 100 %")]
    NothingLeft { at: Place, text: String },

    #[error(
        "{at}: no line is named, so the tax would be on nothing; name some of {known}, or take {key} out for all lines",
        key = "on"
    )]
    OnNothing { at: Place, known: String },

    #[error("{at}: it has no price; add per_visit, per_mile or per_km, or take the table out")]
    NoTravelPrice { at: Place },

    #[error("{at}: {text:?} is in another currency than the list, {currency}; write all in one")]
    OtherCurrency { at: Place, text: String, currency: &'static str },

    #[error("{at}: {text:?} cannot be paid: {least}; write a multiple of it")]
    NotPayable { at: Place, text: String, least: String },

    #[error("{at}: {text:?} is no percentage from 0 to {most}; write it like \"8.25 %\"")]
    NotAPercentage { at: Place, text: String, most: u32 },

    /// `known` says what may have been meant, and all that there is.
    #[error("{at}: {text:?} is not known{known}")]
    UnknownWord { at: Place, text: String, known: String },

    #[error("{at}: {text:?}: {reason}; write it like \"5000 sq ft\"")]
    NotAnArea { at: Place, text: String, reason: String },

    #[error("{at}: {text:?} is finer than quantities are counted, {step}; write a multiple")]
    BorderTooFine { at: Place, text: String, step: String },

    #[error("{at}: {text:?} is not above the tier before it; put the tiers from small to large")]
    TierOrder { at: Place, text: String },

    #[error("{at}: a tier without up_to takes all that is left and must be the last; add up_to")]
    OpenTierFirst { at: Place },

    #[error("{at}: the last tier must have no up_to; add {{ price = \"…\" }} for all that is more")]
    NoOpenTier { at: Place },

    #[error("{at}: {text:?} is no day of the calendar; write it like \"2026-05-02\"")]
    NotADay { at: Place, text: String },

    #[error("{at}: {days} is out of range; write {least} to {most} days")]
    DaysOutOfRange { at: Place, days: i64, least: i64, most: i64 },

    #[error("{at}: {count} is out of range; write 1 to 100")]
    VisitsOutOfRange { at: Place, count: i64 },

    #[error("{at}: {one} and {other} are both given; keep one")]
    OneOfTwo { at: Place, one: &'static str, other: &'static str },

    #[error(
        "{at}: nothing of it has a price; add price, tiers, per_application, product or labor = true"
    )]
    NoPrice { at: Place },

    #[error("{at}: labor = true, and the list has no [labor]; add per_hour = \"…\" under [labor]")]
    NoLaborPrice { at: Place },

    #[error("{at}: another {what} has this name; give each its own")]
    SameName { at: Place, what: &'static str },

    #[error(
        "{at}: service {other:?} is for all other applications already; say in applications or products what this one is for"
    )]
    TwoDefaults { at: Place, other: String },

    #[error("{at}: service {other:?} is for {text:?} already; keep it in one of them")]
    SameApplication { at: Place, text: String, other: String },

    #[error("{file}: no [[service]]; a quote needs one with a name and a price")]
    NoService { file: String },

    #[error("{file}: prepay.due, {due}, is before the day of the quote, {day}; set a later day")]
    DueBefore { file: String, due: String, day: String },

    #[error(
        "{file}: prepay.due, {due}, is after {valid_until}, the last day on which the quote holds; set an earlier day, or valid_days = {valid_days}"
    )]
    DueAfter { file: String, due: String, valid_until: String, valid_days: i32 },

    #[error(
        "{at}: {days} days are more than the {valid_days} for which the quote holds; write at most {valid_days}, or valid_days = {days}"
    )]
    DueDaysAfter { at: Place, days: u32, valid_days: u32 },

    #[error("{text:?} is no day of the calendar; write it like 2026-05-02")]
    NotAQuoteDay { text: String },

    /// `meant` says what may have been meant, if anything is near.
    #[error("{at}: no product {text:?} is known{meant}")]
    UnknownProduct { at: Place, text: String, meant: String },

    #[error("{at}: the job puts down no {text:?}{meant}")]
    NotInTheJob { at: Place, text: String, meant: String },

    #[error("{at}: the job has no application {text:?}{meant}")]
    UnknownApplication { at: Place, text: String, meant: String },

    #[error("{file}: not a customers file: {reason}")]
    NotCustomers { file: String, reason: String },

    #[error("{file}: line {line}: {reason}")]
    CustomerRow { file: String, line: usize, reason: String },
}

impl PriceError {
    /// True where the file is no such file at all, rather than one that is refused.
    pub fn is_unreadable(&self) -> bool {
        matches!(self, PriceError::NotAList { .. } | PriceError::NotCustomers { .. })
    }

    /// True of a name that fits nothing and is near to one that would.
    pub fn is_near_miss(&self) -> bool {
        match self {
            PriceError::UnknownProduct { meant, .. }
            | PriceError::UnknownApplication { meant, .. } => !meant.is_empty(),
            _ => false,
        }
    }
}

/// `; did you mean "treated"?`, where one of `known` is near.
pub(crate) fn did_you_mean<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> String {
    let near = turfplat_units::nearest(word, known);
    near.map_or_else(String::new, |known| format!("; did you mean {known:?}?"))
}

/// As [`did_you_mean`], of a field that serde does not know: its message quotes it and what there is.
pub(crate) fn meant_field(message: &str) -> String {
    let mut quoted = message.split('`').skip(1).step_by(2);
    match (message.starts_with("unknown field"), quoted.next()) {
        (true, Some(unknown)) => did_you_mean(unknown, quoted),
        _ => String::new(),
    }
}

/// The cure of a value of another type than is asked for, by the message of serde and the line on
/// which it stands.
pub(crate) fn cure(message: &str, line: &str) -> String {
    let quoted = || message.split('`').nth(1).unwrap_or("…");
    let missing = message.strip_prefix("missing field `").and_then(|it| it.strip_suffix('`'));
    if let Some(key) = missing {
        return format!("; add {key} = \"…\"");
    }
    let of_tiers = line.trim_start().starts_with("tiers");
    match () {
        () if message.contains("map, expected a sequence") => {
            "; write its name in two pairs of brackets, such as [[service]]".to_owned()
        }
        () if message.contains("expected a string") => format!("; write it in quotes: \"{}\"", quoted()),
        () if message.contains("expected a sequence") && of_tiers => {
            "; write all tiers in brackets: [{ up_to = \"5000 sq ft\", price = \"12.00\" }, { price = \"9.50\" }]".to_owned()
        }
        () if message.contains("expected a sequence") => {
            "; write it as texts in brackets, such as [\"June\"]".to_owned()
        }
        () if message.contains("expected a text or an array") => {
            "; write it in quotes, several in brackets: [\"one\", \"two\"]".to_owned()
        }
        () if message.contains("expected a boolean") => "; write true or false, without quotes".to_owned(),
        () if message.contains("expected i64") => {
            "; write a whole number without quotes, such as 30".to_owned()
        }
        () => String::new(),
    }
}

/// The line, from 1, of a place in a text.
pub(crate) fn line_at(text: &str, at: usize) -> usize {
    text.get(..at).map_or(0, |before| before.matches('\n').count()) + 1
}
