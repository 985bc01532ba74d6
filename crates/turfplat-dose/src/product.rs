use turfplat_units::{Length, WrittenRate};

use crate::buying::Container;
use crate::label::LabelFacts;
use crate::provenance::{Basis, Provenance};
use crate::published::PublishedRate;
use crate::species::Species;
use crate::strength::{Analysis, Content, Density};
use crate::year::LabelYear;
use crate::zone::Condition;

/// What comes in the container, by active ingredient and content or by analysis.
/// What a product file does not give is `None` or empty, never filled in.
#[derive(Clone, Debug, PartialEq)]
pub struct Product {
    /// Name in jobs, such as `urea-46-0-0`.
    pub id: String,
    /// Name in print.
    pub name: String,
    /// What it is for.
    pub class: Option<ProductClass>,
    /// How it is measured.
    pub form: Form,
    /// How it is made up, which decides when it goes into the tank.
    pub formulation: Option<Formulation>,
    /// What acts, and how much of it there is.
    pub active_ingredients: Vec<ActiveIngredient>,
    /// Weight in a volume of the product itself.
    pub density: Option<Density>,
    /// The nutrients of a fertilizer.
    pub analysis: Option<Analysis>,
    /// Rates in print, those of the file first; only those from a label may be dosed.
    pub rates: Vec<PublishedRate>,
    /// What the label caps.
    pub limits: Limits,
    /// What else the label says.
    pub label: LabelFacts,
    /// Distances that the label keeps.
    pub setbacks: Vec<LabelSetback>,
    /// States of turf that must not be treated.
    pub unfit: Vec<Unfit>,
    /// What to mind with this product.
    pub cautions: Vec<Caution>,
    /// What it is sold in.
    pub containers: Vec<Container>,
    /// The day on which the user took the label rates from the label.
    pub label_checked: Option<String>,
    /// Why a rate far from all that is usual is right all the same, in the user's words. It lifts
    /// the bounds of this tool and no maximum of the label.
    pub rate_is_right: Option<String>,
    /// Where the description comes from.
    pub provenance: Provenance,
}

impl Product {
    /// Rates in print for one grass, whatever they rest on.
    pub fn published_for<'a>(
        &'a self,
        species: &'a Species,
    ) -> impl Iterator<Item = &'a PublishedRate> {
        self.rates.iter().filter(|rate| rate.species.iter().any(|of| of.id == species.id))
    }

    /// True of a state other than good of which the product file has no `[[unfit]]` row: silence is
    /// no permission.
    pub fn says_nothing_of(&self, condition: Condition) -> bool {
        condition != Condition::Good && self.unfit.iter().all(|unfit| unfit.condition != condition)
    }

    /// The rates of this product's own label, where its file gives them.
    pub fn label_rates(&self) -> impl Iterator<Item = &PublishedRate> {
        self.rates.iter().filter(|rate| rate.basis == Basis::Label)
    }

    /// Whether rules on pesticides bind it, as they do where its class is not given; an adjuvant alone is none. A growth
    /// regulator is one in law:
    /// "pesticide" includes what is intended for use as a plant regulator.
    /// Source: 40 CFR 152.3.
    pub fn is_pesticide(&self) -> bool {
        !matches!(self.class, Some(ProductClass::Fertilizer | ProductClass::Adjuvant))
    }

    /// Whether rules on fertilizer bind it, as they do a weed killer on fertilizer and a product
    /// whose class is not given.
    pub fn is_fertilizer(&self) -> bool {
        let feeds = |a: Analysis| a.n > 0.0 || a.p2o5 > 0.0 || a.k2o > 0.0;
        matches!(self.class, None | Some(ProductClass::Fertilizer))
            || self.analysis.is_some_and(feeds)
    }

    /// Whether rules on phosphorus bind it. A fertilizer that does not say is taken to
    /// hold some, so that no setback is lost for want of an analysis.
    pub fn has_phosphorus(&self) -> bool {
        match self.analysis {
            Some(analysis) => analysis.p2o5 > 0.0,
            None => matches!(self.class, None | Some(ProductClass::Fertilizer)),
        }
    }
}

/// What acts in a product.
#[derive(Clone, Debug, PartialEq)]
pub struct ActiveIngredient {
    /// Its common name, such as `trinexapac-ethyl`.
    pub name: String,
    /// The content as the file writes it, such as `1 lb/gal`.
    pub content_text: Option<String>,
    /// The content; `None` where it is not given.
    pub content: Option<Content>,
    /// True where the content counts the acid equivalent, as `3.8 lb a.e./gal`, not the salt or
    /// ester that is in it.
    pub acid_equivalent: bool,
}

/// What a label or a law caps. What is not given is `None`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Limits {
    /// At most so much at once.
    pub max_per_application: Option<RateLimit>,
    /// At most so much active ingredient at once, one for each that the label caps.
    pub max_active_per_application: Vec<RateLimit>,
    /// At most so much nitrogen at once.
    pub max_nitrogen_per_application: Option<RateLimit>,
    /// At most so much in a year.
    pub max_per_year: Option<RateLimit>,
    /// At most so much active ingredient in a year, one for each that the label caps.
    pub max_active_per_year: Vec<RateLimit>,
    /// At most so much nitrogen in a year.
    pub max_nitrogen_per_year: Option<RateLimit>,
    /// What the label means by a year.
    pub year: LabelYear,
    /// At least so long between two treatments.
    pub min_interval: Option<Interval>,
}

impl Limits {
    /// All that caps one application: of product, of active ingredient, of nitrogen.
    pub fn per_application(&self) -> impl Iterator<Item = &RateLimit> {
        let others = [&self.max_per_application, &self.max_nitrogen_per_application];
        others.into_iter().flatten().chain(&self.max_active_per_application)
    }

    /// All that caps a year: of product, of active ingredient, of nitrogen.
    pub fn per_year(&self) -> impl Iterator<Item = &RateLimit> {
        let others = [&self.max_per_year, &self.max_nitrogen_per_year];
        others.into_iter().flatten().chain(&self.max_active_per_year)
    }
}

/// A rate that must not be exceeded.
#[derive(Clone, Debug, PartialEq)]
pub struct RateLimit {
    /// The limit.
    pub rate: WrittenRate,
    /// The active ingredient that it caps, where the product has several.
    pub of: Option<String>,
    /// As the file writes it.
    pub text: String,
    /// Who says so.
    pub provenance: Provenance,
}

/// A time that must pass.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Interval {
    /// Whole days.
    pub days: u32,
    /// Who says so.
    pub provenance: Provenance,
}

/// A distance that the label keeps from features of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelSetback {
    /// The kind of feature, such as `water`.
    pub kind: String,
    /// How far.
    pub distance: Length,
}

/// A state of turf that must not be treated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unfit {
    /// The state.
    pub condition: Condition,
    /// Why not.
    pub because: String,
    /// What that rests on.
    pub basis: Basis,
    /// Who says so.
    pub provenance: Provenance,
}

/// What to mind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caution {
    /// In plain words.
    pub text: String,
    /// Who says so.
    pub provenance: Provenance,
}

/// What a product is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // The trade's words say it.
pub enum ProductClass {
    GrowthRegulator,
    Herbicide,
    Insecticide,
    Fungicide,
    Fertilizer,
    Adjuvant,
}

/// How a product is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// By volume, into a tank.
    Liquid,
    /// By weight, into a tank.
    DrySoluble,
    /// By weight, into a spreader.
    Granule,
}

/// How a product is made up. The short names are those of labels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // The labels' short names say it.
pub enum Formulation {
    Ec,
    Me,
    Ew,
    Sc,
    Se,
    Cs,
    F,
    Od,
    S,
    Sl,
    LiquidFertilizer,
    Wdg,
    Wp,
    Sg,
    Sp,
    Wsp,
    Granule,
    WaterConditioner,
    DriftAgent,
    Coc,
    Mso,
    Nis,
    Defoamer,
}

/// The words of a product file for the variants of an enum.
macro_rules! words {
    ($type:ident, $known:literal, $($variant:ident => $word:literal),+ $(,)?) => {
        impl $type {
            /// The words that are read.
            pub const KNOWN: &'static str = $known;

            /// The word as product files write it.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
        }

        impl std::fmt::Display for $type {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }

        impl std::str::FromStr for $type {
            type Err = ();

            fn from_str(text: &str) -> Result<$type, ()> {
                [$(Self::$variant),+]
                    .into_iter()
                    .find(|one| one.word().eq_ignore_ascii_case(text.trim()))
                    .ok_or(())
            }
        }
    };
}

pub(crate) use words;

words!(ProductClass, "growth regulator, herbicide, insecticide, fungicide, fertilizer, adjuvant",
    GrowthRegulator => "growth regulator",
    Herbicide => "herbicide",
    Insecticide => "insecticide",
    Fungicide => "fungicide",
    Fertilizer => "fertilizer",
    Adjuvant => "adjuvant",
);

words!(Form, "liquid, dry soluble, granule",
    Liquid => "liquid",
    DrySoluble => "dry soluble",
    Granule => "granule",
);

words!(Formulation,
    "EC, ME, EW, SC, SE, CS, F, OD, S, SL, liquid fertilizer, WDG, WP, SG, SP, WSP, granule, water conditioner, drift agent, COC, MSO, NIS, defoamer",
    Ec => "EC",
    Me => "ME",
    Ew => "EW",
    Sc => "SC",
    Se => "SE",
    Cs => "CS",
    F => "F",
    Od => "OD",
    S => "S",
    Sl => "SL",
    LiquidFertilizer => "liquid fertilizer",
    Wdg => "WDG",
    Wp => "WP",
    Sg => "SG",
    Sp => "SP",
    Wsp => "WSP",
    Granule => "granule",
    WaterConditioner => "water conditioner",
    DriftAgent => "drift agent",
    Coc => "COC",
    Mso => "MSO",
    Nis => "NIS",
    Defoamer => "defoamer",
);

impl Formulation {
    /// The form that products of this formulation have.
    pub fn form(self) -> Form {
        match self {
            Self::Granule => Form::Granule,
            Self::Wdg | Self::Wp | Self::Sg | Self::Sp | Self::Wsp => Form::DrySoluble,
            _ => Form::Liquid,
        }
    }
}
