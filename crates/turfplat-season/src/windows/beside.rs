//! A value beyond its limit with as many digits as tell the two apart: "20 %, at most 20 %" explains no
//! verdict.

use turfplat_units::{Speed, UnitSystem, decimal, significant};

use crate::hourly::{Celsius, SpeedRange};

/// More digits than any forecast has.
const MOST_DIGITS: usize = 8;

/// The value as `print` writes it with the fewest digits, from `least`, that tell it from the limit.
fn told(least: usize, value: f64, limit: f64, print: impl Fn(f64, usize) -> String) -> String {
    let apart = (least..MOST_DIGITS)
        .find(|digits| value == limit || print(value, *digits) != print(limit, least));
    print(value, apart.unwrap_or(MOST_DIGITS))
}

/// A share from 0 to 1 in percent, without the sign.
pub(super) fn percent(share: f64, limit: f64) -> String {
    told(0, share * 100.0, limit * 100.0, decimal)
}

fn in_units(speed: Speed, units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Us => speed.mph(),
        UnitSystem::Metric => speed.kilometres_per_hour(),
    }
}

fn bare(speed: Speed, limit: Speed, units: UnitSystem) -> String {
    told(3, in_units(speed, units), in_units(limit, units), significant)
}

/// `9.02 mph` beside a limit of 9.
pub(super) fn speed(speed: Speed, limit: Speed, units: UnitSystem) -> String {
    let unit = match units {
        UnitSystem::Us => "mph",
        UnitSystem::Metric => "km/h",
    };
    format!("{} {unit}", bare(speed, limit, units))
}

/// `5 to 9.02 mph` beside a limit of 9.
pub(super) fn range(wind: SpeedRange, limit: Speed, units: UnitSystem) -> String {
    let most = speed(wind.most, limit, units);
    if wind.least == wind.most {
        return most;
    }
    format!("{} to {most}", bare(wind.least, limit, units))
}

/// `90.1 °F` beside a limit of 90.
pub(super) fn temperature(it: Celsius, limit: Celsius, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => {
            format!("{} °F", told(0, it.fahrenheit(), limit.fahrenheit(), decimal))
        }
        UnitSystem::Metric => format!("{} °C", told(1, it.degrees(), limit.degrees(), decimal)),
    }
}
