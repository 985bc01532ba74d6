//! Why what drifts is kept apart from setbacks: a setback is the same whatever the weather, a drift
//! buffer lies where the wind of the hour carries spray. A plan with it is for that hour alone.

use std::fmt;
use std::str::FromStr;

use turfplat_dose::Product;
use turfplat_map::Feature;
use turfplat_measure::{Growth, Reach, Sets, Taker, account};
use turfplat_season::{By, Limit, Limits};
use turfplat_units::{Area, Length, Speed, UnitSystem};

use crate::finding::Finding;
use crate::job::{Application, Job};
use crate::plan::{AppliedSetback, KeptFor};
use crate::setbacks::{kept_from, position_error};
use crate::site::{Laid, Site};
use crate::windows::asks;

/// The wind of the hour in which it is sprayed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wind {
    /// From where it blows.
    pub from: WindFrom,
    /// How fast, as measured where it is sprayed.
    pub speed: Speed,
}

/// From where the wind blows, in degrees from north by east, as weather reports give it: 0 up to 360.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WindFrom(f64);

/// Below this a wind has no direction that holds for an hour, and may be an inversion's: what is kept from
/// is kept from all round. Source: pesticidestewardship.org, Evaluate the weather: below 3 mph variable
/// and a possible inversion; labels of the 2,4-D class ask the applicator to check for one.
const LIGHT: f64 = 3.0 * Speed::METRES_PER_SECOND_PER_MPH;

/// The points of the compass, each 22.5° on.
const POINTS: [&str; 16] = [
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW",
    "NNW",
];

impl WindFrom {
    /// The azimuth in degrees.
    pub fn degrees(self) -> f64 {
        self.0
    }

    /// The point of the compass that is nearest, such as `SW`.
    pub fn point(self) -> &'static str {
        // Between 0 and 16; the last rounds to north again.
        POINTS[(self.0 / 22.5).round() as usize % 16]
    }
}

impl fmt::Display for WindFrom {
    /// `SW (225°)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({}°)", self.point(), self.0)
    }
}

/// Why a text says no direction.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "{0:?} is no direction: write degrees from north by east, from 0 to 360, such as 225, or a point of the compass such as SW"
)]
pub struct NoDirection(String);

impl FromStr for WindFrom {
    type Err = NoDirection;

    /// Reads `225`, `225°`, `225 deg` and `SW`.
    fn from_str(text: &str) -> Result<WindFrom, NoDirection> {
        let upper = text.trim().to_uppercase();
        if let Some(place) = POINTS.iter().position(|point| *point == upper) {
            return Ok(WindFrom(place as f64 * 22.5));
        }
        let number = upper.trim_end_matches(['°', 'D', 'E', 'G', 'R', 'S', ' ']);
        let degrees = number.parse::<f64>().ok().filter(|it| (0.0..=360.0).contains(it));
        degrees.map(|it| WindFrom(it % 360.0)).ok_or_else(|| NoDirection(text.to_owned()))
    }
}

impl Wind {
    /// True of a wind too light to have a direction.
    pub fn is_light(&self) -> bool {
        self.speed.metres_per_second() < LIGHT
    }

    /// `wind from SW (225°) at 6 mph (9.66 km/h)`.
    pub fn in_words(&self) -> String {
        let [us, metric] = [UnitSystem::Us, UnitSystem::Metric].map(|it| self.speed.print(it));
        format!("wind from {} at {us} ({metric})", self.from)
    }
}

impl Wind {
    /// What whoever carries the plan must know of it: a buffer that nobody knows is none that was kept.
    pub(crate) fn caution<'p>(&self, products: impl IntoIterator<Item = &'p Product>) -> String {
        let silent = products.into_iter().filter(|it| it.label.drift_buffers.is_empty());
        let silent: Vec<&str> = silent.map(|product| product.name.as_str()).collect();
        let unknown = match silent.is_empty() {
            true => String::new(),
            false => format!(
                " No drift buffer is known for {}: for it nothing more is kept for the wind; read the label.",
                silent.join(" and ")
            ),
        };
        format!(
            "For {} alone: measure it on the ground before you start; when it turns or freshens, stop and work the plan out anew.{unknown}",
            self.in_words()
        )
    }
}

/// What is kept from one feature for the wind of the hour.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Drift {
    pub(crate) distance: Length,
    /// Whose label asks for it.
    pub(crate) rule: String,
    /// From where the wind blows; `None` where it is too light to say.
    pub(crate) from: Option<WindFrom>,
}

impl Drift {
    /// The ground that is kept from a feature: on the side from which the wind blows.
    pub(crate) fn kept_from(&self, feature: &Feature) -> Growth {
        let by = kept_from(feature, self.distance);
        self.from.map_or(by.into(), |from| Growth::towards(by, from.degrees()))
    }
}

/// The widest drift buffer that the labels of a mix ask for from a kind of feature, and whose it is.
pub(crate) fn widest<'p>(
    kind: &str,
    products: impl IntoIterator<Item = &'p Product>,
) -> Option<(Length, &'p str)> {
    let asked = products.into_iter().filter_map(|product| {
        let buffers = product.label.drift_buffers.iter().filter(|it| it.kind == kind);
        let widest = buffers.map(|it| it.distance).reduce(Length::max)?;
        Some((widest, product.name.as_str()))
    });
    asked.reduce(|widest, other| if other.0 > widest.0 { other } else { widest })
}

/// What an application keeps for the wind, one for each feature of the site.
pub(crate) fn drifts(
    application: &Application,
    wind: Option<Wind>,
    site: &Site,
) -> Vec<Option<Drift>> {
    let Some(wind) = wind else { return vec![None; site.features.len()] };
    let from = (!wind.is_light()).then_some(wind.from);
    let drift = |feature: &Feature| {
        let products = application.products.iter().map(|chosen| &chosen.product);
        let (distance, product) = widest(feature.kind.name(), products)?;
        let rule = format!("drift buffer of {product}");
        (distance > Length::ZERO).then_some(Drift { distance, rule, from })
    };
    site.features.iter().map(|laid| drift(&laid.feature)).collect()
}

/// Why nothing of an application may be sprayed in a wind: its labels or the job ask for another.
pub(crate) fn wrong_wind(application: &Application, job: &Job, wind: Wind) -> Option<String> {
    let (limit, word) = passed(application, job, wind)?;
    (!matches!(limit.by, By::Default(_) | By::OwnDefault(_))).then(|| {
        format!(
            "application {:?}: {}, and {} asks for {word} {}: wait for another hour",
            application.name,
            wind.in_words(),
            limit.by,
            limit.limit.print(UnitSystem::Us)
        )
    })
}

/// The limit of wind that is not kept, if any, with its word.
fn passed(
    application: &Application,
    job: &Job,
    wind: Wind,
) -> Option<(Limit<Speed>, &'static str)> {
    let asked: Vec<_> = application.products.iter().map(|chosen| asks(&chosen.product)).collect();
    let limits = Limits::of(&job.weather_defaults, &asked, &job.weather);
    // Rounding of a unit there and back: a wind that is written as the limit is inside.
    let beyond = |a: Speed, b: Speed| a.metres_per_second() > b.metres_per_second() * (1.0 + 1e-9);
    if beyond(wind.speed, limits.wind_at_most.limit) {
        Some((limits.wind_at_most, "at most"))
    } else if beyond(limits.wind_at_least.limit, wind.speed) {
        Some((limits.wind_at_least, "at least"))
    } else {
        None
    }
}

/// What should be seen of a wind: that it is too light or strong to trust, or that no label says what it
/// asks for.
pub(crate) fn wind_findings(
    application: &Application,
    job: &Job,
    wind: Wind,
    site: &Site,
) -> Vec<Finding> {
    let Some(zone) = site.zones.first() else { return Vec::new() };
    let finding = |code, message| Finding::of(&zone.feature, code, message, 0.0);
    let mut findings = Vec::new();
    let none_given = |product: &Product| product.label.drift_buffers.is_empty();
    let silent = application.products.iter().map(|chosen| &chosen.product);
    let silent: Vec<&str> =
        silent.filter(|it| none_given(it)).map(|product| product.id.as_str()).collect();
    if !silent.is_empty() {
        findings.push(finding(
            "no-drift-buffer",
            format!(
                "application {:?}: no [drift_buffers] in the product file of {}: for it nothing more is kept whatever the wind; read the label, and fill them in if it asks for one",
                application.name,
                silent.join(" and "),
            ),
        ));
    }
    if let Some((limit, "at most")) = passed(application, job, wind) {
        findings.push(finding(
            "strong-wind",
            format!(
                "application {:?}: {} is more than is usual, {} ({}): read what the label allows, and write it into the product file as [wind] at_most",
                application.name,
                wind.in_words(),
                limit.limit.print(UnitSystem::Us),
                limit.by
            ),
        ));
    }
    if wind.is_light() && silent.len() < application.products.len() {
        findings.push(finding(
            "light-wind",
            format!(
                "application {:?}: below 3 mph wind has no direction that holds, and the air may lie in an inversion: drift buffers are kept on all sides, and many labels ask to wait",
                application.name,
            ),
        ));
    }
    findings
}

impl Site {
    /// What is kept for the wind that takes ground from a zone, each feature looked at alone.
    pub(crate) fn kept_for_wind(
        &self,
        index: usize,
        drifts: &[Option<Drift>],
    ) -> Vec<AppliedSetback> {
        let zone = &self.zones[index].shape;
        let takes = |laid: &Laid, drift: &Drift| {
            let by = kept_from(&laid.feature, drift.distance);
            zone.distance_within(by, &laid.shape)?;
            let reach = Reach::of(&laid.shape, drift.kept_from(&laid.feature));
            let taker = Taker { cause: 0, sets: Sets::ALL, reach: &reach };
            // What no sweep comes to the end of has been refused before.
            let account = account(zone, &[taker], 1, None).ok()?;
            (account.lost[0] > Area::ZERO).then_some(())
        };
        let kept = self.features.iter().zip(drifts).filter_map(|(laid, drift)| {
            let drift = drift.as_ref()?;
            takes(laid, drift)?;
            Some(AppliedSetback {
                to: laid.feature.kind,
                feature: laid.feature.name.clone(),
                distance: drift.distance,
                position: position_error(&laid.feature),
                what: KeptFor::Wind(drift.from),
                rule: drift.rule.clone(),
                is_default: false,
            })
        });
        kept.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_are_read_as_weather_reports_write_them() {
        let from = |text: &str| text.parse::<WindFrom>().map(|it| it.to_string());
        // The 16 points of the compass stand 22.5° apart (a full turn in 16; WMO-No. 306, code table 0877, from memory, rounds them to tens).
        assert_eq!(from("225"), Ok("SW (225°)".to_owned()));
        assert_eq!(from("sw"), Ok("SW (225°)".to_owned()));
        assert_eq!(from(" 350° "), Ok("N (350°)".to_owned()));
        assert_eq!(from("360"), Ok("N (0°)".to_owned()));
        assert_eq!(from("22.5 deg"), Ok("NNE (22.5°)".to_owned()));
        for text in ["", "361", "-5", "south-west", "nan", "SWW"] {
            assert!(from(text).is_err(), "{text}");
        }
    }

    #[test]
    fn below_three_miles_an_hour_is_light() {
        let wind =
            |speed: &str| Wind { from: WindFrom(0.0), speed: speed.parse().expect("a speed") };
        assert!(wind("2.9 mph").is_light() && !wind("3 mph").is_light());
    }
}
