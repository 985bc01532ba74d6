use std::fmt;

use jiff::civil::Date;

/// A value of a file that no sum counts.
#[derive(Clone, Debug, PartialEq)]
pub struct Dropped {
    /// Its line, from 1.
    pub line: u64,
    /// Its day; `None` where the file does not say one that exists.
    pub day: Option<Date>,
    /// What it is by the file's word, such as `TMAX` or `tmin_f`.
    pub what: String,
    /// As it stands in the file.
    pub value: String,
    /// Why it does not count.
    pub reason: DropReason,
}

/// Why a value does not count.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DropReason {
    /// The station's own checks marked it; by this letter.
    QualityFlag(String),
    /// Nothing stands there, and the day's other temperature is there.
    Missing,
    /// The day's least is above its most: one of the two is wrong, and both are left out.
    LeastAboveMost,
    /// It was never so cold or hot on earth.
    Impossible,
    /// What stands there is no number.
    NoNumber,
    /// The day stands there twice, with another value: neither is known to be right.
    Twice,
    /// What stands there as its day is none.
    NoDay,
}

impl fmt::Display for DropReason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::QualityFlag(flag) => write!(f, "its station marked it (quality flag {flag})"),
            Self::Missing => f.write_str("missing"),
            Self::LeastAboveMost => f.write_str("the least of its day is above the most"),
            Self::Impossible => f.write_str("it was never so cold or hot on earth"),
            Self::NoNumber => f.write_str("no number"),
            Self::Twice => f.write_str("its day stands there twice, and the two differ"),
            Self::NoDay => f.write_str("what stands there as its day is none"),
        }
    }
}

impl fmt::Display for Dropped {
    /// `line 12, 2026-04-03, TMAX "456": its station marked it (quality flag X)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, ", self.line)?;
        if let Some(day) = self.day {
            write!(f, "{day}, ")?;
        }
        f.write_str(&self.what)?;
        if !self.value.is_empty() {
            write!(f, " {:?}", self.value)?;
        }
        write!(f, ": {}", self.reason)
    }
}
