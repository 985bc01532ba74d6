//! Why setbacks are chosen apart from the map: a distance belongs to an application, its
//! products, its equipment and the law of the place. The same pond keeps 25 ft from a growth
//! regulator and 20 from a fertilizer.

use std::collections::BTreeMap;

use turfplat_dose::{Circumstances, Product, Reduction, Setback, governing};
use turfplat_map::{Feature, Kind};
use turfplat_units::Length;

use crate::job::{Application, Job};
use crate::wind::widest;

/// Distances given by kind, such as `water = "30 ft"`.
pub(crate) type ByKind = BTreeMap<Kind, Length>;

/// Everything that may ask for a distance.
pub(crate) struct SetbackSource<'a> {
    job: Option<&'a Job>,
    /// The mixes of the applications that count; empty where no product is known.
    mixes: Vec<Mix<'a>>,
    command: &'a ByKind,
    /// Drift buffers matter too.
    wind: bool,
}

struct Mix<'a> {
    products: Vec<&'a Product>,
    reduces: &'a [Reduction],
}

impl<'a> SetbackSource<'a> {
    /// Without a job: the command line and the features themselves.
    pub(crate) fn of_command(command: &'a ByKind) -> SetbackSource<'a> {
        SetbackSource { job: None, mixes: Vec::new(), command, wind: false }
    }

    /// For one application, or for the widest of several.
    pub(crate) fn of_applications(
        job: &'a Job,
        applications: &[&'a Application],
        command: &'a ByKind,
    ) -> SetbackSource<'a> {
        let mixes = applications
            .iter()
            .map(|application| Mix {
                products: application.products.iter().map(|chosen| &chosen.product).collect(),
                reduces: &application.equipment.reduces,
            })
            .collect();
        SetbackSource { job: Some(job), mixes, command, wind: false }
    }

    /// With what labels ask for in the wind of the hour, if that is known.
    pub(crate) fn in_wind(self, wind: bool) -> SetbackSource<'a> {
        SetbackSource { wind, ..self }
    }

    /// How far beyond what it says of itself a feature of this kind may matter: the distance that
    /// anybody asks for, and of a hazard of which nobody speaks the one at which that is worth a word.
    pub(crate) fn farthest(&self, kind: Kind) -> Length {
        let setback = self.asked(kind, None, None).map_or(Length::ZERO, |setback| setback.distance);
        let products = self.mixes.iter().flat_map(|mix| mix.products.iter().copied());
        let drift = self.wind.then(|| widest(kind.name(), products)).flatten();
        let drift = drift.map_or(Length::ZERO, |(distance, _)| distance);
        let setback = setback.max(drift);
        setback.max(if kind.is_hazard() { worth_a_word() } else { Length::ZERO })
    }

    /// The distance to keep from `feature`, and who asks for it; `None` where nobody does.
    pub(crate) fn of(&self, feature: &Feature) -> Option<Setback> {
        self.asked(feature.kind, feature.setback, beside_water(feature))
    }

    fn asked(&self, kind: Kind, own: Option<Length>, veg_strip: Option<Length>) -> Option<Setback> {
        if !kind.keeps_a_distance() {
            return None;
        }
        let command = self.command.get(&kind).copied();
        let Some(job) = self.job else {
            let given = [
                (command, "the distance on the command line"),
                (own, "the feature's own distance"),
            ];
            return largest(given, own);
        };
        let job_distance = job.setbacks.get(&kind).copied();
        let of_mix = |mix: &Mix<'_>| {
            governing(&Circumstances {
                kind: kind.name(),
                products: &mix.products,
                rules: &job.rules,
                jurisdictions: &job.jurisdictions,
                reduces: mix.reduces,
                hired: job.hired,
                veg_strip,
                own,
                job: job_distance,
                command,
            })
        };
        self.mixes
            .iter()
            .filter_map(of_mix)
            .reduce(|widest, other| if other.distance > widest.distance { other } else { widest })
    }
}

fn largest<const N: usize>(
    given: [(Option<Length>, &str); N],
    own: Option<Length>,
) -> Option<Setback> {
    let spoken = given.into_iter().filter_map(|(distance, name)| Some((distance?, name)));
    let (distance, name) =
        spoken.reduce(|widest, other| if other.0 > widest.0 { other } else { widest })?;
    Some(Setback {
        distance,
        rule: name.to_owned(),
        is_default: false,
        own_is_smaller: own.is_some_and(|own| own < distance),
        spoken: Vec::new(),
    })
}

/// How far from the feature's shape the ground is kept.
pub(crate) fn kept_from(feature: &Feature, distance: Length) -> Length {
    distance + position_error(feature)
}

/// How far off a feature's position may be: by what is said of wells, and by a datum that is not
/// that of the other files.
pub(crate) fn position_error(feature: &Feature) -> Length {
    let of_well = feature.radius.filter(|_| feature.kind == Kind::Well);
    of_well.unwrap_or_default() + feature.datum_error
}

/// The width of the vegetated strip that is kept beside water.
pub(crate) fn beside_water(feature: &Feature) -> Option<Length> {
    feature.veg_strip.filter(|_| feature.kind == Kind::Water)
}

/// The farthest that a rule in the tables reaches, 200 ft from a lake: a hazard nearer than this
/// of which nothing speaks is worth a word.
pub(crate) fn worth_a_word() -> Length {
    Length::from_feet(200.0).unwrap_or_default()
}

/// How near a feature must be for its setback to be told. One that was waived or set to nothing
/// reaches nowhere, and whoever stands beside the pond must see why none is kept.
pub(crate) fn told_within(setback: &Setback) -> Length {
    if setback.distance > Length::ZERO { setback.distance } else { worth_a_word() }
}
