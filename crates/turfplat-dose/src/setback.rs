//! Why the largest distance governs and is named: a lawn beside a pond may be under a
//! label, a state, a customer's wish and the owner's own mark on the map at once. Whoever
//! stands on the lawn must see which of them made the strip as wide as it is.

use turfplat_units::{Length, UnitSystem};

use crate::equipment::Reduction;
use crate::error::DoseError;
use crate::names::{close, folded};
use crate::own_rules::RuleSet;
use crate::product::Product;
use crate::rules::{Activity, Binds, Rule};

/// Everything that bears on the setback from one feature in one application.
#[derive(Clone, Copy, Debug)]
pub struct Circumstances<'a> {
    /// The kind of the feature, such as `water`.
    pub kind: &'a str,
    /// The products of the tank mix.
    pub products: &'a [&'a Product],
    /// The rules of the table and the user's own.
    pub rules: &'a RuleSet,
    /// Ids or names of the places whose rules apply.
    pub jurisdictions: &'a [String],
    /// What the equipment declares.
    pub reduces: &'a [Reduction],
    /// Whether the work is for hire; where nobody says, the stricter of both is kept.
    pub hired: Option<bool>,
    /// The natural vegetated strip between the water and the turf.
    pub veg_strip: Option<Length>,
    /// The feature's own distance on the map.
    pub own: Option<Length>,
    /// The job's distance for this kind.
    pub job: Option<Length>,
    /// The command line's distance for this kind.
    pub command: Option<Length>,
}

/// The distance to keep, and who asks for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Setback {
    /// How far: the largest of all that speak.
    pub distance: Length,
    /// Who asks for it, in one line to print.
    pub rule: String,
    /// True where nothing was chosen and this tool's default stands in.
    pub is_default: bool,
    /// True where the feature's own distance is smaller than what governs.
    pub own_is_smaller: bool,
    /// Everything that spoke, the largest first.
    pub spoken: Vec<Spoken>,
}

/// One that asks for a distance.
#[derive(Clone, Debug, PartialEq)]
pub struct Spoken {
    /// The distance it asks for here, reductions and waivers counted.
    pub distance: Length,
    /// Who asks, with the distance and what made it smaller.
    pub name: String,
    /// Who asks, for a machine.
    pub by: SpokenBy,
}

/// Who asks for a distance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SpokenBy {
    /// The label in a product's file.
    Label,
    /// A rule of the table or of the user, defaults among them, by its id.
    Rule(String),
    /// The job.
    Job,
    /// The command line.
    Command,
    /// The feature on the map.
    Own,
}

/// The setback from one feature; `None` where nobody asks for one.
///
/// Rules for mixing never speak here, see [`mixing_distance`]. A default speaks only
/// where nothing else does; a rule that a vegetated strip waives has spoken, for nothing.
///
/// Where nobody says whether the work is for hire, both are asked and the larger distance is kept;
/// where that is the one for hire, its rule says so.
pub fn governing(of: &Circumstances<'_>) -> Option<Setback> {
    if of.hired.is_some() {
        return governing_known(of);
    }
    let asked = |hired| governing_known(&Circumstances { hired: Some(hired), ..*of });
    match (asked(false), asked(true)) {
        (Some(own), Some(hired)) if hired.distance > own.distance => Some(hired.kept_as_hired()),
        (None, hired) => hired.map(Setback::kept_as_hired),
        // What would bind for hire is heard all the same, so that it is not dropped unseen.
        (Some(own), Some(hired)) => Some(own.beside(hired.kept_as_hired())),
        (own, None) => own,
    }
}

impl Setback {
    /// With what only `other` heard behind what was heard here, whose first governs.
    fn beside(mut self, other: Setback) -> Setback {
        for one in other.spoken {
            if !self.spoken.iter().any(|known| known.by == one.by) {
                self.spoken.push(one);
            }
        }
        self.spoken.sort_by(|a, b| b.distance.metres().total_cmp(&a.distance.metres()));
        self
    }

    /// The rule that governs says why it does though nobody said that the work is for hire.
    fn kept_as_hired(mut self) -> Setback {
        self.rule.push_str(HIRED_NOT_SAID);
        if let Some(first) = self.spoken.first_mut() {
            first.name.push_str(HIRED_NOT_SAID);
        }
        self
    }
}

/// What a rule for hired work is told with where nobody says whether the work is hired.
const HIRED_NOT_SAID: &str = "; hired is not said, so it is kept as for hire: write hired = false \
                              in [site] if you treat your own lawn";

fn governing_known(of: &Circumstances<'_>) -> Option<Setback> {
    let mut spoken = labels(of);
    spoken.extend(
        applying(of)
            .filter(|rule| {
                rule.is_label()
                    || rule.is_anywhere()
                    || (!rule.is_default() && chosen(rule, of.jurisdictions))
            })
            .map(|rule| speak(rule, of)),
    );
    let given = [
        (of.job, "the job's own distance", SpokenBy::Job),
        (of.command, "the distance on the command line", SpokenBy::Command),
    ];
    for (distance, name, by) in given {
        spoken.extend(distance.map(|distance| plain(distance, name, by)));
    }
    let asked = spoken.iter().map(|one| one.distance).fold(Length::ZERO, Length::max);
    let own_is_smaller = of.own.is_some_and(|own| own < asked);
    spoken.extend(of.own.map(|own| plain(own, "the feature's own distance", SpokenBy::Own)));

    let is_default = spoken.is_empty();
    if is_default {
        spoken.extend(applying(of).filter(|rule| rule.is_default()).map(|rule| speak(rule, of)));
    }
    // A stable sort: of equals the first to speak is named, labels before laws.
    spoken.sort_by(|a, b| b.distance.metres().total_cmp(&a.distance.metres()));
    let first = spoken.first()?;
    Some(Setback {
        distance: first.distance,
        rule: first.name.clone(),
        is_default,
        own_is_smaller,
        spoken,
    })
}

/// How far a mix-site must be from a feature of `kind`, and the rule that says so: the
/// largest of the places chosen and of the user's own. What is for hire binds unless somebody says
/// that the work is not.
pub fn mixing_distance<'a>(
    kind: &str,
    jurisdictions: &[String],
    hired: Option<bool>,
    rules: &'a RuleSet,
) -> Option<(Length, &'a Rule)> {
    rules
        .all()
        .filter(|rule| rule.activity == Activity::Mix && rule.kind == kind)
        .filter(|rule| rule.binds == Binds::Everyone || hired != Some(false))
        .filter(|rule| rule.is_anywhere() || chosen(rule, jurisdictions))
        .map(|rule| (rule.base, rule))
        .max_by(|(a, _), (b, _)| a.metres().total_cmp(&b.metres()))
}

/// The ids of the places meant by `texts`, which may be ids or names.
///
/// # Errors
///
/// [`DoseError::UnknownJurisdiction`] with all that are known.
pub fn check_jurisdictions(texts: &[String], rules: &RuleSet) -> Result<Vec<String>, DoseError> {
    let places = rules.places();
    texts
        .iter()
        .map(|text| {
            let wanted = folded(text);
            let place =
                places.iter().find(|(id, name)| folded(id) == wanted || folded(name) == wanted);
            place.map(|(id, _)| (*id).to_owned()).ok_or_else(|| {
                let known: Vec<&str> = places.iter().map(|(id, _)| *id).collect();
                DoseError::UnknownJurisdiction {
                    text: text.trim().to_owned(),
                    close: close(text, known.iter().copied()),
                    known: known.join(", "),
                }
            })
        })
        .collect()
}

fn labels(of: &Circumstances<'_>) -> Vec<Spoken> {
    of.products
        .iter()
        .flat_map(|product| product.setbacks.iter().map(move |label| (product, label)))
        .filter(|(_, label)| label.kind == of.kind)
        .map(|(product, label)| {
            plain(label.distance, &format!("the label of {}", product.name), SpokenBy::Label)
        })
        .collect()
}

/// Rules on applying these products, by this person, near a feature of this kind.
fn applying<'a>(of: &'a Circumstances<'_>) -> impl Iterator<Item = &'a Rule> {
    of.rules.all().filter(|rule| {
        rule.activity == Activity::Apply
            && rule.kind == of.kind
            && (rule.binds == Binds::Everyone || of.hired != Some(false))
            && of.products.iter().any(|product| rule.products.covers(product))
    })
}

fn chosen(rule: &Rule, jurisdictions: &[String]) -> bool {
    jurisdictions.iter().any(|text| {
        let text = folded(text);
        text == folded(&rule.jurisdiction) || text == folded(&rule.jurisdiction_name)
    })
}

fn speak(rule: &Rule, of: &Circumstances<'_>) -> Spoken {
    let name = if rule.is_default() {
        format!("default of this tool, none chosen ({})", rule.id)
    } else {
        rule.citation()
    };
    let by = SpokenBy::Rule(rule.id.clone());
    if let (Some(needed), Some(strip)) = (rule.waived_behind, of.veg_strip)
        && strip >= needed
    {
        let (strip, base) = (strip.print(UnitSystem::Us), rule.base.print(UnitSystem::Us));
        let name = format!("{name}: 0 ft, waived from {base} behind a vegetated strip of {strip}");
        return Spoken { distance: Length::ZERO, name, by };
    }
    let means = rule.reduced_by.iter().find(|means| of.reduces.contains(means));
    if let (Some(reduced), Some(means)) = (rule.reduced, means) {
        let (reduced_to, base) = (reduced.print(UnitSystem::Us), rule.base.print(UnitSystem::Us));
        let from = measured_from(rule);
        let name = format!("{name}: {reduced_to}, reduced from {base} by {means}{from}");
        return Spoken { distance: reduced, name, by };
    }
    let mut spoken = plain(rule.base, &name, by);
    spoken.name.push_str(&measured_from(rule));
    spoken
}

/// `, measured from: mean high water mark`: a blue edge on a map is not that.
fn measured_from(rule: &Rule) -> String {
    match rule.measured_from.as_str() {
        "" => String::new(),
        _ if rule.is_default() => String::new(),
        from => format!(", measured from: {from}"),
    }
}

fn plain(distance: Length, name: &str, by: SpokenBy) -> Spoken {
    let name = match distance > Length::ZERO {
        true => format!("{name}: {}", distance.print(UnitSystem::Us)),
        false => format!("set to 0 ft by {name}"),
    };
    Spoken { distance, name, by }
}
