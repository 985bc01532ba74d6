use std::fmt;

/// What an hour is asked about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // Their names say it.
pub enum Rule {
    Wind,
    Gusts,
    Inversion,
    DryAhead,
    Temperature,
    DeltaT,
    DryLeaf,
    Daylight,
}

impl Rule {
    /// All of them, in the order in which they are told.
    pub const ALL: [Rule; 8] = [
        Rule::Wind,
        Rule::Gusts,
        Rule::Inversion,
        Rule::DryAhead,
        Rule::Temperature,
        Rule::DeltaT,
        Rule::DryLeaf,
        Rule::Daylight,
    ];
}

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Rule::Wind => "wind",
            Rule::Gusts => "gusts",
            Rule::Inversion => "inversion",
            Rule::DryAhead => "no rain ahead",
            Rule::Temperature => "temperature",
            Rule::DeltaT => "delta-T",
            Rule::DryLeaf => "dry leaf",
            Rule::Daylight => "daylight",
        })
    }
}

/// How an hour stands to a rule, or to all of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Within the limit.
    Fit,
    /// Within what binds, with something to mind.
    Advisory,
    /// Beyond a limit that binds.
    NotFit,
    /// What the rule needs is not given.
    Unknown,
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Verdict::Fit => "fit",
            Verdict::Advisory => "advisory",
            Verdict::NotFit => "not fit",
            Verdict::Unknown => "unknown",
        })
    }
}

/// What a rule says of an hour.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// Which rule.
    pub rule: Rule,
    /// What it says.
    pub verdict: Verdict,
    /// Whether an hour of which it knows nothing is unknown, too.
    pub binds: bool,
    /// Why, with its numbers: `wind 9 mph, at most 8 mph (default)`.
    pub words: String,
    /// How far inside the limit, from 0 at the limit to 1 far from it; `None` where that says nothing.
    pub margin: Option<f64>,
}

/// An hour with what every rule says of it.
#[derive(Clone, Debug, PartialEq)]
pub struct JudgedHour {
    /// By all rules together: fit, not fit or unknown.
    pub verdict: Verdict,
    /// How long it is, in hours: less than one where a part of it is over.
    pub length: f64,
    /// In the order of [`Rule::ALL`].
    pub rules: Vec<Judged>,
}

impl JudgedHour {
    pub(super) fn of(length: f64, rules: Vec<Judged>) -> JudgedHour {
        let any = |of: &dyn Fn(&Judged) -> bool| rules.iter().any(of);
        let verdict = if any(&|it| it.verdict == Verdict::NotFit) {
            Verdict::NotFit
        } else if any(&|it| it.verdict == Verdict::Unknown && it.binds) {
            Verdict::Unknown
        } else {
            Verdict::Fit
        };
        JudgedHour { verdict, length, rules }
    }

    /// What is to be minded in it: advice that is not met, and what is not known and binds nobody.
    pub fn remarks(&self) -> impl Iterator<Item = &Judged> {
        let minded = |it: &&Judged| {
            it.verdict == Verdict::Advisory || (it.verdict == Verdict::Unknown && !it.binds)
        };
        self.rules.iter().filter(minded)
    }

    /// What says that it is not fit, or what binds and is not known.
    pub fn reasons(&self) -> impl Iterator<Item = &Judged> {
        let stops = |it: &&Judged| {
            it.verdict == Verdict::NotFit || (it.verdict == Verdict::Unknown && it.binds)
        };
        self.rules.iter().filter(stops)
    }

    /// The rule whose limit is nearest, and how near: from 0 at the limit to 1.
    pub fn nearest(&self) -> Option<(&Judged, f64)> {
        let margins = self.rules.iter().filter_map(|it| Some((it, it.margin?)));
        margins.min_by(|a, b| a.1.total_cmp(&b.1))
    }
}
