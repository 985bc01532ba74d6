//! Why windows hang on a plan: which limits govern is said by the labels of the tank mix, when the sun
//! sets by the property's place, and how long a window must be by the way over its ground.

use std::fmt;

use jiff::{SignedDuration, ZonedDateTime};
use turfplat_dose::{Form, Product, ProductClass};
use turfplat_season::{
    Celsius, Forecast, HourWindow, Implausible, Judged, JudgedHour, Limit, Limits, ProductLimits,
    Rule, Sun, SunError, Verdict, Weight, judge, windows,
};
use turfplat_units::{Length, Speed, Time, UnitSystem, decimal, significant};

use crate::job::Job;
use crate::plan::{ApplicationPlan, PropertyPlan};

/// Beyond this a forecast is for other ground: a grid cell of the National Weather Service is 2.5 km
/// wide. A choice of this tool.
const BESIDE_METRES: f64 = 5_000.0;
/// Beyond this it is for another place altogether. A choice of this tool.
const ELSEWHERE_METRES: f64 = 50_000.0;

/// Clocks go by the sun within some three hours, and with daylight saving time four: what is farther
/// from it is another place's clock. A choice of this tool.
const CLOCK_HOURS: f64 = 4.0;

/// What the wind of a forecast is not.
const WIND_HEIGHT: &str = "Forecast wind is that of 10 m (33 ft) above open ground, and not that at the nozzle: measure it \
     where and when you spray.";

/// What stands above all verdicts.
const LABEL_OUTRANKS: &str = "A forecast is no measurement, and the label outranks every limit here: read it, and look at the \
     sky before you start and while you work.";

/// What no hour makes right.
const WHERE_NOT: &str = "Never spray toward water, wells, neighbors, people, bees at bloom or food plants. State and local \
     rules on wind, records and licenses apply.";

/// The hours of a forecast before one application on one property.
#[derive(Clone, Debug)]
pub struct SprayWindows<'a> {
    /// The property's id.
    pub property: &'a str,
    /// The application's name.
    pub application: &'a str,
    /// The tank mix.
    pub products: &'a [&'a Product],
    /// Longitude and latitude of the property's center, in degrees; `None` of a map on a plane of its
    /// own.
    pub place: Option<(f64, f64)>,
    /// The hours and what is given of them.
    pub forecast: &'a Forecast,
    /// What governs, and who asks for it.
    pub limits: Limits,
    /// Of each hour of the forecast what the rules say.
    pub hours: Vec<JudgedHour>,
    /// The windows, the best first.
    pub windows: Vec<HourWindow>,
    /// How long the work takes; `None` where neither anybody said so nor passes were laid at a speed.
    pub needs: Option<Needs>,
    /// What should be seen: of the forecast's file, and of its place and clock beside the property's.
    pub notes: Vec<String>,
    /// What the crew must mind.
    pub cautions: Vec<&'static str>,
    pub(crate) units: UnitSystem,
}

/// How long the work takes, and who says so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Needs {
    /// How long.
    pub time: Time,
    /// Worked out from the passes: walking and turns alone, without fills and ways between zones.
    pub is_walking: bool,
}

/// Why there are no windows.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum WindowsError {
    #[error(
        "{file}: the forecast is for {distance} away from the property; hand over that of its own place"
    )]
    OtherPlace { file: String, distance: String },

    /// The product's id, and which of its label's limits cannot be meant.
    #[error("product {product}: {source}")]
    Implausible { product: String, source: Implausible },

    #[error("application {application:?} treats nothing on the property{why}")]
    TreatsNothing { application: String, why: String },

    #[error(transparent)]
    Sun(#[from] SunError),
}

impl fmt::Display for Needs {
    /// `1.5 h`, or `1.5 h of walking and turns; fills and ways between zones come on top`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} h", decimal(self.time.seconds() / Time::SECONDS_PER_HOUR, 2))?;
        if self.is_walking {
            f.write_str(" of walking and turns; fills and ways between zones come on top")?;
        }
        Ok(())
    }
}

/// Judges every hour of a forecast for one application, and ranks the windows that are fit.
///
/// * `needs`: how long the work takes; without it the way over the passes, where a plan has one.
///
/// # Errors
///
/// [`WindowsError`]: a forecast of ground more than 50 km away, an application that treats nothing, and
/// a label's limit that cannot be meant.
pub fn spray_windows<'a>(
    plan: &'a PropertyPlan<'_>,
    application: &'a ApplicationPlan<'_>,
    job: &Job,
    forecast: &'a Forecast,
    needs: Option<Time>,
    units: UnitSystem,
) -> Result<SprayWindows<'a>, WindowsError> {
    if application.zones.is_empty() {
        let first = application.skipped.first();
        return Err(WindowsError::TreatsNothing {
            application: application.name.to_owned(),
            why: first.map_or_else(String::new, |it| format!(": {}: {}", it.zone, it.reason)),
        });
    }
    let asked: Vec<ProductLimits> =
        application.products.iter().map(|product| asks(product)).collect();
    for product in &asked {
        product.check().map_err(|source| {
            let product = product.product.clone();
            WindowsError::Implausible { product, source }
        })?;
    }
    let limits = Limits::of(&job.weather_defaults, &asked, &job.weather);
    let place = plan.centre().map(|centre| (centre.x, centre.y));
    let mut notes = forecast.notes.clone();
    if let Some(place) = place {
        notes.extend(place_note(forecast, place, units)?);
        notes.extend(clock_note(forecast, place.0));
    } else {
        notes.push(
            "the map is on a plane that lies nowhere known, so nobody can tell when its sun sets: no hour \
             is fit; hand over a map with longitude and latitude"
                .to_owned(),
        );
    }
    notes.extend(bands_without_room(&limits, units));
    notes.extend(rain_free_beyond(&limits, forecast));
    let sun = match (place, forecast.hours.first(), forecast.hours.last()) {
        (Some((east, north)), Some(first), Some(last)) => {
            Some(Sun::over(north, east, first.start.timestamp(), last.end.timestamp())?)
        }
        _ => None,
    };
    let walked = || {
        let time = application.walked()?.time?;
        Some(Needs { time, is_walking: true })
    };
    let needs = needs.map(|time| Needs { time, is_walking: false }).or_else(walked);
    let hours = judge(forecast, &limits, sun.as_ref(), units);
    Ok(SprayWindows {
        property: &plan.property,
        application: application.name,
        products: &application.products,
        place,
        forecast,
        windows: windows(&hours, needs.map(|needs| needs.time)),
        hours,
        limits,
        needs,
        notes,
        cautions: vec![LABEL_OUTRANKS, WIND_HEIGHT, WHERE_NOT],
        units,
    })
}

/// Limits of several that leave nothing between them: a slip, or products that never go together.
fn bands_without_room(limits: &Limits, units: UnitSystem) -> Vec<String> {
    let note = |what: &str, least: String, most: String| {
        format!("no {what} is fit: {least} and {most} leave none between them")
    };
    let mut notes = Vec::new();
    let (least, most) = (&limits.wind_at_least, &limits.wind_at_most);
    if least.limit > most.limit {
        let print = |word: &str, limit: &Limit<Speed>| {
            format!("{word} {} ({})", limit.limit.print(units), limit.by)
        };
        notes.push(note("wind", print("at least", least), print("at most", most)));
    }
    let gust = &limits.gust_at_most;
    if gust.weight != Weight::Advisory && least.limit > gust.limit {
        let print = |limit: &Limit<Speed>| format!("{} ({})", limit.limit.print(units), limit.by);
        notes.push(format!(
            "no wind is fit where gusts are given: wind at least {} and gusts at most {} leave none \
             between them",
            print(least),
            print(gust)
        ));
    }
    let (least, most) = (&limits.temperature_at_least, &limits.temperature_at_most);
    if least.limit > most.limit {
        let print = |word: &str, limit: &Limit<Celsius>| {
            format!("{word} {} ({})", limit.limit.print(units), limit.by)
        };
        notes.push(note("temperature", print("at least", least), print("at most", most)));
    }
    notes
}

/// A time without rain that is longer than the whole forecast.
fn rain_free_beyond(limits: &Limits, forecast: &Forecast) -> Option<String> {
    let asked = &limits.rain_free;
    let (first, last) = (forecast.hours.first()?, forecast.hours.last()?);
    let told = last.end.timestamp().duration_since(first.end.timestamp()).as_secs_f64();
    (asked.weight == Weight::Binding && asked.limit.seconds() > told).then(|| {
        format!(
            "no hour of this forecast is fit: {} h without rain ({}) after an hour's end reach beyond \
             its end; hand over one that is longer",
            significant(asked.limit.seconds() / Time::SECONDS_PER_HOUR, 3),
            asked.by
        )
    })
}

/// What a product's file says of the weather.
pub(crate) fn asks(product: &Product) -> ProductLimits {
    let label = &product.label;
    let celsius = |limit: Option<turfplat_dose::Temperature>| Celsius::new(limit?.celsius());
    ProductLimits {
        product: product.id.clone(),
        is_sprayed: product.form != Form::Granule,
        is_herbicide: product.class == Some(ProductClass::Herbicide),
        wind_at_least: label.wind_at_least,
        wind_at_most: label.wind_at_most,
        gust_at_most: label.gust_at_most,
        rain_free: label
            .rain_free
            .and_then(|time| Time::from_seconds(time.hours() * Time::SECONDS_PER_HOUR)),
        temperature_at_least: celsius(label.coolest),
        temperature_at_most: celsius(label.hottest),
    }
}

/// How far the forecast's ground is from the property's, where that should be seen.
fn place_note(
    forecast: &Forecast,
    place: (f64, f64),
    units: UnitSystem,
) -> Result<Option<String>, WindowsError> {
    let Some(apart) = forecast.place.map(|other| metres_apart(place, other)) else {
        return Ok(None);
    };
    let distance = match units {
        UnitSystem::Us => {
            format!("{} miles", decimal(apart / (5280.0 * Length::METRES_PER_FOOT), 0))
        }
        UnitSystem::Metric => format!("{} km", decimal(apart / 1000.0, 0)),
    };
    if apart > ELSEWHERE_METRES {
        return Err(WindowsError::OtherPlace { file: forecast.file.clone(), distance });
    }
    Ok((apart > BESIDE_METRES)
        .then(|| format!("the forecast is for ground {distance} away from the property")))
}

/// On a ball, to half a percent: enough to tell one place from another. Source: the haversine formula,
/// Sinnott (1984), Sky and Telescope 68, and the mean radius of IUGG (1980).
fn metres_apart(one: (f64, f64), other: (f64, f64)) -> f64 {
    const MEAN_RADIUS: f64 = 6_371_008.8;
    let half = |a: f64, b: f64| ((b - a).to_radians() / 2.0).sin().powi(2);
    let across = one.1.to_radians().cos() * other.1.to_radians().cos();
    let chord = half(one.1, other.1) + across * half(one.0, other.0);
    2.0 * MEAN_RADIUS * chord.sqrt().min(1.0).asin()
}

/// A clock that cannot be the property's.
fn clock_note(forecast: &Forecast, longitude: f64) -> Option<String> {
    let offset = forecast.hours.first()?.start.offset();
    let by_sun = longitude / 15.0;
    let clock = SignedDuration::from_secs(offset.seconds().into()).as_secs_f64() / 3600.0;
    let apart = (clock - by_sun).rem_euclid(24.0);
    (apart.min(24.0 - apart) > CLOCK_HOURS).then(|| {
        format!(
            "the forecast's clock is {offset} of UTC, which no place at longitude {} keeps; is it for \
             this property?",
            decimal(longitude, 1)
        )
    })
}

/// A window in words.
#[derive(Clone, Debug)]
pub struct ToldWindow<'a> {
    /// The window.
    pub window: &'a HourWindow,
    /// When it begins, by the local clock.
    pub start: &'a ZonedDateTime,
    /// When it ends.
    pub end: &'a ZonedDateTime,
    /// When its best part begins and ends.
    pub best: (&'a ZonedDateTime, &'a ZonedDateTime),
    /// Of its best part the rule whose limit is nearest.
    pub nearest: Option<&'a str>,
    /// What is to be minded in its best part, rule by rule.
    pub remarks: Vec<String>,
}

impl SprayWindows<'_> {
    /// The windows in words, the best first.
    pub fn told(&self) -> Vec<ToldWindow<'_>> {
        self.windows.iter().filter_map(|window| self.told_of(window)).collect()
    }

    fn told_of<'a>(&'a self, window: &'a HourWindow) -> Option<ToldWindow<'a>> {
        let ends = |hours: &std::ops::Range<usize>| {
            let (first, last) = (self.forecast.hours.get(hours.start)?, hours.end.checked_sub(1)?);
            Some((&first.start, &self.forecast.hours.get(last)?.end))
        };
        let (start, end) = ends(&window.hours)?;
        let best = &self.hours[window.best.clone()];
        let nearest = best.iter().filter_map(JudgedHour::nearest);
        let nearest = nearest.min_by(|a, b| a.1.total_cmp(&b.1));
        let of_rule = |rule: Rule| {
            let said = || best.iter().flat_map(JudgedHour::remarks).filter(|it| it.rule == rule);
            let first = said().next()?;
            Some(match (said().count(), best.len()) {
                (count, all) if count == all => first.words.clone(),
                (count, all) => format!("{count} of {all} h: {}", first.words),
            })
        };
        Some(ToldWindow {
            window,
            start,
            end,
            best: ends(&window.best)?,
            nearest: nearest.map(|(judged, _)| judged.words.as_str()),
            remarks: Rule::ALL.into_iter().filter_map(of_rule).collect(),
        })
    }

    /// What is to be said of all windows together: how many are long enough, or why there is none.
    pub fn summary(&self) -> String {
        let fit = self.hours.iter().filter(|hour| hour.verdict == Verdict::Fit).count();
        let all = self.hours.len();
        let unknown = self.hours.iter().filter(|hour| hour.verdict == Verdict::Unknown).count();
        let without_gusts = |hour: &&JudgedHour| {
            let unknown = |it: &Judged| it.rule == Rule::Gusts && it.verdict == Verdict::Unknown;
            hour.verdict == Verdict::Fit && hour.rules.iter().any(unknown)
        };
        // Fit as far as is known: what a limit is held to only where it is given may be beyond it.
        let open = match self.hours.iter().filter(without_gusts).count() {
            0 => String::new(),
            open => format!(" (of which {open} without known gusts)"),
        };
        let hours = format!("{fit} of {all} hours are fit{open}, {unknown} unknown");
        let long = self.windows.iter().filter(|it| it.is_long_enough == Some(true)).count();
        match self.needs {
            _ if fit == 0 => hours,
            None => {
                format!("{hours}; how long the work takes is not known, so the longest come first")
            }
            Some(needs) if long == 0 => {
                format!("{hours}; no window is as long as the work needs, {needs}")
            }
            Some(needs) => {
                let word = if long == 1 { "window is" } else { "windows are" };
                format!("{hours}; {long} {word} as long as the work needs, {needs}")
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_as_far_apart_as_published() {
        // New York (JFK) to London Heathrow: 5,540 km, the airports' great circle in print; a ball is
        // within half a percent.
        let apart = metres_apart((-73.7789, 40.6397), (-0.4614, 51.4775));
        assert!((apart - 5_540_000.0).abs() < 5_540_000.0 * 0.005, "{apart}");
        assert_eq!(metres_apart((10.0, 50.0), (10.0, 50.0)), 0.0);
    }
}
