//! Why the sun is computed and not read: a forecast's own "daytime" changes at six in the evening, and
//! inversions are told by hours before sunset and after sunrise of the very place and day.

use jiff::Timestamp;
use solar_positioning::{Horizon, Location, SolarEvents};

/// When the sun is down at a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Sun {
    nights: Vec<Night>,
}

/// From a sunset to the sunrise after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Night {
    /// Sunset; `None` where it was down already two days before what was asked.
    pub from: Option<Timestamp>,
    /// Sunrise; `None` where it stays down for two days after what was asked.
    pub to: Option<Timestamp>,
}

/// Why no sun could be computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SunError {
    /// No such place or time.
    #[error("the sun cannot be computed at latitude {latitude}, longitude {longitude}: {reason}")]
    NoSuchPlace {
        /// Degrees north.
        latitude: f64,
        /// Degrees east.
        longitude: f64,
        /// What the library says.
        reason: String,
    },
}

/// Looked at before and after, so that each night of what is asked has its ends.
const BESIDE_SECONDS: i64 = 2 * 86_400;

/// TT − UT1 in seconds, 69.2 in 2025 and changing by less than a second in years. Source: IERS
/// Bulletin A. A second of it moves no sunrise by a second.
const DELTA_T: f64 = 69.2;

/// The Julian date of the first second of 1970. Source: USNO Circular 179, sec. 2.
const JULIAN_1970: f64 = 2_440_587.5;
const SECONDS_A_DAY: f64 = 86_400.0;

impl Sun {
    /// The nights at a place from one moment to another.
    ///
    /// * In: degrees north and degrees east.
    /// * The sun is down while its upper rim is below a level horizon, with the usual bending of light:
    ///   its center 50 minutes of arc below. A hill or a row of trees makes the day shorter.
    /// * Accuracy: two minutes below the polar circles; near the horizon the air bends light more or
    ///   less than usual.
    /// * Source: Reda and Andreas (2004), "Solar position algorithm for solar radiation applications",
    ///   Solar Energy 76, 577–589.
    ///
    /// # Errors
    ///
    /// [`SunError`] for a latitude beyond ±90, a longitude beyond ±180, or a year beyond 6000.
    pub fn over(
        latitude: f64,
        longitude: f64,
        from: Timestamp,
        to: Timestamp,
    ) -> Result<Sun, SunError> {
        let (start, end) =
            (julian(from.as_second() - BESIDE_SECONDS), julian(to.as_second() + BESIDE_SECONDS));
        let place = Location { latitude, longitude };
        let events = SolarEvents::new()
            .for_interval_from_julian(start, end, place, DELTA_T, Horizon::SunriseSunset)
            .map_err(|error| SunError::NoSuchPlace {
                latitude,
                longitude,
                reason: error.to_string(),
            })?;
        let rises = events.rises.iter().map(|at| (*at, true));
        let mut turns: Vec<(f64, bool)> =
            rises.chain(events.sets.iter().map(|at| (*at, false))).collect();
        turns.sort_by(|a, b| a.0.total_cmp(&b.0));
        // The first turn says how it was before; without any it is up or down all the time.
        let down_at_start = turns.first().map_or(events.always_below(), |(_, rises)| *rises);
        let mut nights = Vec::new();
        let mut open = down_at_start.then_some(None);
        for (at, rises) in turns {
            let at = moment(at);
            if !rises {
                open = Some(at);
            } else if let Some(from) = open.take() {
                nights.push(Night { from, to: at });
            }
        }
        if let Some(from) = open {
            nights.push(Night { from, to: None });
        }
        Ok(Sun { nights })
    }

    /// In their order; the first and the last reach beyond what was asked.
    pub fn nights(&self) -> &[Night] {
        &self.nights
    }
}

impl Night {
    /// Whether any of it lies between the two moments, with so many seconds of the day before it and
    /// after it counted in.
    pub(crate) fn reaches(
        &self,
        (from, to): (Timestamp, Timestamp),
        seconds_before: i64,
        seconds_after: i64,
    ) -> bool {
        let begins = self.from.is_none_or(|at| at.as_second() - seconds_before < to.as_second());
        begins && self.to.is_none_or(|at| at.as_second() + seconds_after > from.as_second())
    }
}

fn julian(second: i64) -> f64 {
    JULIAN_1970 + second as f64 / SECONDS_A_DAY
}

/// To the second: a Julian date of our time has 40 microseconds between two floating point numbers.
fn moment(julian: f64) -> Option<Timestamp> {
    Timestamp::from_second(((julian - JULIAN_1970) * SECONDS_A_DAY).round() as i64).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Timestamp {
        text.parse().expect(text)
    }

    #[test]
    fn sunrise_and_sunset_agree_with_published_tables_within_two_minutes() {
        const SPA: &str =
            "Reda and Andreas (2004), NREL/TP-560-34302: its program's printed example";
        const USNO: &str = "U.S. Naval Observatory, sunrise and sunset for one year, 2020, in UTC";
        const NOAA: &str =
            "NOAA's solar calculator's equations, as run once in Python's astral 3.2";
        #[rustfmt::skip]
        let table = [
            // place, degrees north and east, sunrise, sunset, and where it is published
            ("Golden",    39.742_476, -105.178_6,   "2003-10-17T13:12:43Z", "2003-10-18T00:20:19Z", SPA),
            ("Anchorage", 61.216_667, -149.866_667, "2020-03-05T16:46:00Z", "2020-03-05T03:35:00Z", USNO),
            ("Anchorage", 61.216_667, -149.866_667, "2020-06-15T12:21:00Z", "2020-06-15T07:40:00Z", USNO),
            ("Anchorage", 61.216_667, -149.866_667, "2020-09-25T15:53:00Z", "2020-09-25T03:51:00Z", USNO),
            ("Auckland",  -36.833_333, 174.8,       "2020-03-05T18:11:00Z", "2020-03-05T06:54:00Z", USNO),
            ("Brasilia",  -15.8,      -47.85,       "2020-03-05T09:13:00Z", "2020-03-05T21:33:00Z", USNO),
            ("Singapore", 1.283_333,  103.833_333,  "2020-04-05T23:03:00Z", "2020-04-05T11:11:00Z", USNO),
            ("New York",  40.712_8,   -74.006,      "2026-03-20T10:59:31Z", "2026-03-20T23:07:58Z", NOAA),
            ("New York",  40.712_8,   -74.006,      "2026-06-21T09:25:18Z", "2026-06-22T00:30:29Z", NOAA),
            ("New York",  40.712_8,   -74.006,      "2026-11-29T11:58:56Z", "2026-11-29T21:29:34Z", NOAA),
            ("Sydney",    -33.868_8,  151.209_3,    "2026-12-20T18:40:53Z", "2026-12-21T09:05:11Z", NOAA),
        ];
        for (place, north, east, rise, set, source) in table {
            let (rise, set) = (at(rise), at(set));
            let sun = Sun::over(north, east, rise.min(set), rise.max(set)).expect("a place");
            let rises: Vec<Timestamp> = sun.nights().iter().filter_map(|night| night.to).collect();
            let sets: Vec<Timestamp> = sun.nights().iter().filter_map(|night| night.from).collect();
            for (published, ours) in [(rise, rises), (set, sets)] {
                let apart =
                    ours.iter().map(|at| at.duration_since(published).as_secs().abs()).min();
                assert!(
                    apart.is_some_and(|it| it <= 120),
                    "{place}: {ours:?} ≠ {published}, {source}"
                );
            }
        }
    }

    #[test]
    fn beyond_the_polar_circle_a_night_has_no_end_or_there_is_none() {
        // Longyearbyen: night all day in January, day all night in June. Source: U.S. Naval
        // Observatory, table of sunrise and sunset for one year, 2020.
        let (north, east) = (78.216_667, 15.633_333);
        let january = at("2020-01-15T12:00Z");
        let sun = Sun::over(north, east, january, january).expect("a place");
        assert_eq!(sun.nights(), [Night { from: None, to: None }]);
        let june = at("2020-06-15T12:00Z");
        assert_eq!(Sun::over(north, east, june, june).expect("a place").nights(), []);
    }

    #[test]
    fn a_place_that_is_none_is_refused() {
        let now = at("2026-06-08T12:00Z");
        let error = Sun::over(91.0, 0.0, now, now).expect_err("beyond the pole");
        assert!(error.to_string().contains("latitude 91"), "{error}");
    }
}
