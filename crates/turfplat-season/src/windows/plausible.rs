//! Limits that cannot be meant: 80 for 8 mph, Celsius for Fahrenheit. A slip in a product file would let
//! a storm pass for fit, so it is refused as an implausible rate is. The bounds are choices of this
//! tool, well beyond what labels say.

use turfplat_units::{Speed, Time, UnitSystem};

use super::limits::{OwnLimits, ProductLimits};
use crate::hourly::Celsius;

const MOST_WIND_MPH: f64 = 25.0;
const MOST_GUST_MPH: f64 = 40.0;
const COOLEST_F: f64 = -20.0;
const HOTTEST_F: f64 = 120.0;
/// Two weeks: hourly forecasts hardly reach farther.
const LONGEST_H: f64 = 336.0;

/// A limit that cannot be meant, with the cure.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{limit}: {given:?} is {why}, which cannot be meant; correct the figure or its unit")]
#[non_exhaustive]
#[allow(missing_docs)] // Their names say it.
pub struct Implausible {
    pub limit: String,
    pub given: String,
    pub why: String,
}

fn within(
    limit: &str,
    given: &str,
    is: bool,
    why: impl FnOnce() -> String,
) -> Result<(), Implausible> {
    if is {
        return Ok(());
    }
    Err(Implausible { limit: limit.to_owned(), given: given.to_owned(), why: why() })
}

pub(super) fn wind(limit: &str, given: &str, speed: Speed) -> Result<(), Implausible> {
    within(limit, given, speed.mph() <= MOST_WIND_MPH + 1e-9, || {
        format!("a wind of more than {MOST_WIND_MPH} mph")
    })
}

pub(super) fn gust(limit: &str, given: &str, speed: Speed) -> Result<(), Implausible> {
    within(limit, given, speed.mph() <= MOST_GUST_MPH + 1e-9, || {
        format!("a gust of more than {MOST_GUST_MPH} mph")
    })
}

pub(super) fn temperature(limit: &str, given: &str, it: Celsius) -> Result<(), Implausible> {
    let bounds = COOLEST_F - 1e-9..=HOTTEST_F + 1e-9;
    within(limit, given, bounds.contains(&it.fahrenheit()), || {
        format!("not between {COOLEST_F} and {HOTTEST_F} °F")
    })
}

pub(super) fn rain_free(limit: &str, given: &str, time: Time) -> Result<(), Implausible> {
    let hours = time.seconds() / Time::SECONDS_PER_HOUR;
    within(limit, given, hours <= LONGEST_H, || format!("longer than {LONGEST_H} h"))
}

/// What may be asked of the weather, by its names in a job.
struct Asked {
    wind: [(&'static str, Option<Speed>); 2],
    gust: Option<Speed>,
    rain_free: Option<Time>,
    temperature: [(&'static str, Option<Celsius>); 2],
}

impl Asked {
    fn check(self) -> Result<(), Implausible> {
        let units = UnitSystem::Us;
        for (name, limit) in self.wind {
            limit.map_or(Ok(()), |it| wind(name, &it.print(units), it))?;
        }
        self.gust.map_or(Ok(()), |it| gust("gust_at_most", &it.print(units), it))?;
        for (name, limit) in self.temperature {
            limit.map_or(Ok(()), |it| temperature(name, &it.print(units), it))?;
        }
        self.rain_free.map_or(Ok(()), |it| rain_free("rain_free", &super::limits::hours(it), it))
    }
}

impl ProductLimits {
    /// Holds them to what can be meant.
    ///
    /// # Errors
    ///
    /// [`Implausible`] for the first that cannot.
    pub fn check(&self) -> Result<(), Implausible> {
        Asked {
            wind: [("wind at_least", self.wind_at_least), ("wind at_most", self.wind_at_most)],
            gust: self.gust_at_most,
            rain_free: self.rain_free,
            temperature: [
                ("temperature at_least", self.temperature_at_least),
                ("temperature at_most", self.temperature_at_most),
            ],
        }
        .check()
    }
}

impl OwnLimits {
    /// Holds them to what can be meant.
    ///
    /// # Errors
    ///
    /// [`Implausible`] for the first that cannot.
    pub fn check(&self) -> Result<(), Implausible> {
        Asked {
            wind: [("wind_at_least", self.wind_at_least), ("wind_at_most", self.wind_at_most)],
            gust: self.gust_at_most,
            rain_free: self.rain_free,
            temperature: [
                ("temperature_at_least", self.temperature_at_least),
                ("temperature_at_most", self.temperature_at_most),
            ],
        }
        .check()
    }
}
