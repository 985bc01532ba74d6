//! Why speed is measured and not felt: spray volume goes as one over it, so that a tired step
//! at the end of a day is a heavier dose.

use turfplat_units::{Length, Speed, Time, UnitSystem};

use super::{CalibrateError, Step, Worked, put, some};

const SOURCE: &str = "88 ft/min is 1 mph: 5,280 ft/mile ÷ 60 min/h, exact (NIST Handbook 44, Appendix C), so 60 ÷ 88 = 0.681818… mph to the ft/s";
const METRIC_SOURCE: &str = "3.6 km/h is 1 m/s, exact (SI)";

/// The speed of a course walked or driven in a time.
///
/// # Errors
///
/// A course or time of nothing.
pub fn speed_walked(
    course: Length,
    time: Time,
    units: UnitSystem,
) -> Result<Worked<Speed>, CalibrateError> {
    some("the course", course.metres())?;
    some("the time", time.seconds())?;
    let speed = Speed::of(course, time).ok_or(CalibrateError::TooLarge { what: "the speed" })?;
    let (formula, numbers, source) = match units {
        UnitSystem::Us => (
            "mph = ft × 60 ÷ (s × 88)",
            format!("{} × 60 ÷ ({} × 88)", put(course.feet()), put(time.seconds())),
            SOURCE,
        ),
        UnitSystem::Metric => (
            "km/h = m × 3.6 ÷ s",
            format!("{} × 3.6 ÷ {}", put(course.metres()), put(time.seconds())),
            METRIC_SOURCE,
        ),
    };
    Ok(Worked::new(
        speed,
        Step {
            formula: formula.into(),
            numbers,
            result: speed.print(units),
            source: source.into(),
        },
    ))
}

/// The time that a course takes at a wanted speed.
///
/// # Errors
///
/// A course or speed of nothing.
pub fn time_for_speed(
    course: Length,
    speed: Speed,
    units: UnitSystem,
) -> Result<Worked<Time>, CalibrateError> {
    some("the course", course.metres())?;
    some("the speed", speed.metres_per_second())?;
    let time = Time::from_seconds(course.metres() / speed.metres_per_second())
        .ok_or(CalibrateError::TooLarge { what: "the time" })?;
    let (formula, numbers, source) = match units {
        UnitSystem::Us => (
            "s = ft × 60 ÷ (mph × 88)",
            format!("{} × 60 ÷ ({} × 88)", put(course.feet()), put(speed.mph())),
            SOURCE,
        ),
        UnitSystem::Metric => (
            "s = m × 3.6 ÷ km/h",
            format!("{} × 3.6 ÷ {}", put(course.metres()), put(speed.kilometres_per_hour())),
            METRIC_SOURCE,
        ),
    };
    Ok(Worked::new(
        time,
        Step { formula: formula.into(), numbers, result: time.print(), source: source.into() },
    ))
}
