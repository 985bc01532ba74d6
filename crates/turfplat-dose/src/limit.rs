use std::fmt;

use turfplat_units::{Of, Rate, WrittenRate, significant};

use crate::date::Day;
use crate::product::Product;

/// What went or is to go on a zone at another time.
#[derive(Clone, Debug)]
pub struct Put<'a> {
    /// When; `None` where the day is not known, which lies in every year.
    pub day: Option<Day>,
    /// What.
    pub product: &'a Product,
    /// How much on the ground, of product.
    pub rate: Rate,
    /// Where it is written, such as `[[history]] 2` or `application "June"`.
    pub what: String,
}

/// When and where an application takes place, and what else the zones get. The default knows of
/// nothing else.
#[derive(Clone, Debug, Default)]
pub struct Occasion<'a> {
    /// The day; `None` where it is not known.
    pub day: Option<Day>,
    /// Whether anybody told what went on before; else there may have been something.
    pub has_history: bool,
    /// Ids of the places whose rules apply.
    pub places: &'a [String],
    /// By zone: what has gone on already, and what of the same plan is given before.
    pub earlier: Vec<Vec<Put<'a>>>,
    /// By zone: what of the same plan is still to be given. It is counted where a mark above the
    /// exact amount would use up what it needs.
    pub later: Vec<Vec<Put<'a>>>,
}

/// A limit as it was held to on one zone.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    /// The zone's name.
    pub zone: String,
    /// Id of the product whose label speaks or that the place's rule is about; several with ` + `.
    pub product: String,
    /// The limit by its key in the product file, such as `max_per_year`, or in the tables.
    pub limit: &'static str,
    /// The limit in words, such as `most in a year`.
    pub name: String,
    /// What it counts: `product`, an active ingredient, `N`, `soluble N`, `days`, `spray`.
    pub of: String,
    /// What the plan asks for, other treatments counted where the limit counts them.
    pub asked: Option<Figure>,
    /// What is allowed at most, or, of an interval, a share of slow release or the least spray volume, at least.
    pub allowed: Option<Figure>,
    /// Who says so.
    pub source: String,
    /// Whose limit it is.
    pub by: LimitBy,
    /// What came of it.
    pub verdict: LimitVerdict,
    /// Over which time it was counted, or why it was not.
    pub remark: Option<String>,
    pub(crate) refusal: Option<String>,
}

impl Checked {
    /// Why the zone gets nothing, with the cure; `None` where this limit stops nothing.
    pub fn refusal(&self) -> Option<&str> {
        self.refusal.as_deref()
    }

    /// What is asked for with as many digits as tell it from what is allowed, and what is allowed:
    /// `0.9004 of 0.9 lb N/1000 sq ft`; of an interval `21 days, at least 28 days`. `None` where
    /// neither is known.
    pub fn figures(&self) -> Option<String> {
        let allowed = self.allowed.as_ref()?;
        let Some(asked) = &self.asked else { return Some(allowed.to_string()) };
        if self.limit == "min_interval" {
            return Some(format!("{} {}, at least {allowed}", asked.value, asked.unit));
        }
        let digits = telling_digits(asked.value, allowed.value);
        let told = |value| significant(value, digits.max(4));
        Some(format!("{} of {} {}", told(asked.value), told(allowed.value), allowed.unit))
    }
}

/// Whose limit it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitBy {
    /// The label's.
    Label,
    /// The law's of a place.
    Place,
    /// What is advised for a grass; it binds nobody.
    Species,
}

impl LimitBy {
    /// The word in lists.
    pub fn word(self) -> &'static str {
        match self {
            Self::Label => "label",
            Self::Place => "place",
            Self::Species => "species",
        }
    }
}

/// What came of a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitVerdict {
    /// It is kept.
    Kept,
    /// It is exceeded, and the zone gets nothing.
    Exceeded,
    /// It binds nobody and is exceeded.
    AboveAdvice,
    /// Nobody states one here; it is not allowed for that.
    NotStated,
    /// It could not be checked; the remark says why.
    NotChecked,
}

impl LimitVerdict {
    /// The word in lists.
    pub fn word(self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::Exceeded => "exceeded",
            Self::AboveAdvice => "above advice",
            Self::NotStated => "not stated",
            Self::NotChecked => "not checked",
        }
    }
}

/// A number with its unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// The number.
    pub value: f64,
    /// Its unit, such as `lb N/1000 sq ft`, `days` or `%`.
    pub unit: String,
}

impl Figure {
    pub(crate) fn of(value: f64, unit: &str) -> Figure {
        Figure { value, unit: unit.to_owned() }
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", significant(self.value, 3), self.unit)
    }
}

/// How many digits tell two numbers apart, at least three.
pub(crate) fn telling_digits(a: f64, b: f64) -> usize {
    let apart = |digits: &usize| significant(a, *digits) != significant(b, *digits);
    (3..=12).find(apart).unwrap_or(3)
}

/// The unit of a rate with what it counts: `lb N/1000 sq ft`.
pub(crate) fn unit_in_words(written: &WrittenRate) -> String {
    let of = match written.of {
        Of::Product => String::new(),
        Of::ActiveIngredient => " a.i.".to_owned(),
        Of::AcidEquivalent => " a.e.".to_owned(),
        Of::Nutrient(name) => format!(" {name}"),
    };
    format!("{}{of}/{}", written.unit.amount.name(), written.unit.area.name())
}
