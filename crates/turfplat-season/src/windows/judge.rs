use jiff::{SignedDuration, Timestamp, ZonedDateTime};
use turfplat_units::{Speed, Time, UnitSystem, decimal};

use super::limits::{Limit, Limits, depth, hours};
use super::settings::Weight;
use super::verdict::{Judged, JudgedHour, Rule, Verdict};
use crate::hourly::{Celsius, Forecast, Hour, wet_bulb};
use crate::sun::{Night, Sun};

/// Rounding of a unit there and back; a value written as a limit is inside.
const ROUNDING: f64 = 1e-9;

/// This far inside a limit of temperature is far; a choice of this tool.
const FAR_DEGREES: f64 = 10.0;

/// What every rule says of every hour of a forecast.
///
/// * `sun`: of the place and days of the forecast; without it nobody knows when it is day and when
///   inversions form, so no hour is fit.
/// * Words carry their numbers in `units`.
/// * A rule that lacks what it needs says "unknown", never "fit".
pub fn judge(
    forecast: &Forecast,
    limits: &Limits,
    sun: Option<&Sun>,
    units: UnitSystem,
) -> Vec<JudgedHour> {
    let judge = |at: usize| {
        let hour = Judging { hours: &forecast.hours, at, limits, sun, units };
        JudgedHour::of(vec![
            hour.wind(),
            hour.gusts(),
            hour.inversion(),
            hour.dry_ahead(),
            hour.temperature(),
            hour.delta_t(),
            hour.dry_leaf(),
            hour.daylight(),
        ])
    };
    (0..forecast.hours.len()).map(judge).collect()
}

/// One hour before the rules.
struct Judging<'a> {
    hours: &'a [Hour],
    at: usize,
    limits: &'a Limits,
    sun: Option<&'a Sun>,
    units: UnitSystem,
}

/// What a rule says, before it is known how it weighs.
struct Says {
    verdict: Verdict,
    words: String,
    margin: Option<f64>,
}

impl Says {
    fn fit(words: String, margin: Option<f64>) -> Says {
        Says { verdict: Verdict::Fit, words, margin: margin.map(|it| it.clamp(0.0, 1.0)) }
    }

    fn beyond(words: String) -> Says {
        Says { verdict: Verdict::NotFit, words, margin: None }
    }

    fn mind(words: String) -> Says {
        Says { verdict: Verdict::Advisory, words, margin: None }
    }

    fn unknown(words: impl Into<String>) -> Says {
        Says { verdict: Verdict::Unknown, words: words.into(), margin: None }
    }

    fn weighing(self, rule: Rule, weight: Weight) -> Judged {
        let verdict = match (self.verdict, weight) {
            (Verdict::NotFit, Weight::Advisory) => Verdict::Advisory,
            (verdict, _) => verdict,
        };
        let binds = weight == Weight::Binding;
        Judged { rule, verdict, binds, words: self.words, margin: self.margin }
    }
}

/// `at most 8 mph (default)`.
fn asked<T>(word: &str, limit: &Limit<T>, printed: &str) -> String {
    format!("{word} {printed} ({})", limit.by)
}

fn is_above(value: f64, limit: f64) -> bool {
    value > limit + limit.abs() * ROUNDING
}

impl Judging<'_> {
    fn hour(&self) -> &Hour {
        &self.hours[self.at]
    }

    fn span(&self) -> (Timestamp, Timestamp) {
        (self.hour().start.timestamp(), self.hour().end.timestamp())
    }

    fn most(&self, limit: &Limit<Speed>) -> String {
        asked("at most", limit, &limit.limit.print(self.units))
    }

    fn wind(&self) -> Judged {
        let (least, most) = (&self.limits.wind_at_least, &self.limits.wind_at_most);
        let says = match self.hour().wind {
            None => Says::unknown("wind not given"),
            Some(wind) => {
                let told = format!("wind {}", wind.print(self.units));
                let (floor, ceiling) =
                    (least.limit.metres_per_second(), most.limit.metres_per_second());
                let (low, high) = (wind.least.metres_per_second(), wind.most.metres_per_second());
                if is_above(high, ceiling) {
                    Says::beyond(format!("{told}, {}", self.most(most)))
                } else if is_above(floor, low) {
                    let asked = asked("at least", least, &least.limit.print(self.units));
                    Says::beyond(format!("{told}, {asked}: light air turns and may lie still"))
                } else {
                    // Half of the band from its nearer end is as far inside as can be.
                    let half = (ceiling - floor) / 2.0;
                    let inside = (ceiling - high).min(low - floor);
                    let margin = if half > 0.0 { inside / half } else { 0.0 };
                    let nearer = if ceiling - high <= low - floor {
                        self.most(most)
                    } else {
                        asked("at least", least, &least.limit.print(self.units))
                    };
                    Says::fit(format!("{told}, {nearer}"), Some(margin))
                }
            }
        };
        let binds = least.weight == Weight::Binding || most.weight == Weight::Binding;
        says.weighing(Rule::Wind, if binds { Weight::Binding } else { most.weight })
    }

    fn gusts(&self) -> Judged {
        let limit = &self.limits.gust_at_most;
        let says = match self.hour().gust {
            None => Says::unknown(format!("gusts not given, {}: watch them", self.most(limit))),
            Some(gust) => {
                let told = format!("gusts {}, {}", gust.print(self.units), self.most(limit));
                let (gust, most) = (gust.metres_per_second(), limit.limit.metres_per_second());
                if is_above(gust, most) {
                    Says::beyond(told)
                } else {
                    Says::fit(told, (most > 0.0).then_some((most - gust) / most))
                }
            }
        };
        says.weighing(Rule::Gusts, limit.weight)
    }

    fn inversion(&self) -> Judged {
        let limits = self.limits;
        let under = &limits.inversion_wind_under;
        let seconds = |time: &Limit<Time>| time.limit.seconds().round() as i64;
        let (before, after) =
            (seconds(&limits.inversion_before_sunset), seconds(&limits.inversion_after_sunrise));
        let Some(sun) = self.sun else {
            return Says::unknown(
                "the property's place is not known, so neither is when inversions form",
            )
            .weighing(Rule::Inversion, under.weight);
        };
        let night = sun.nights().iter().find(|night| night.reaches(self.span(), before, after));
        let Some(night) = night else {
            return Says::fit("outside the hours in which inversions form".to_owned(), None)
                .weighing(Rule::Inversion, under.weight);
        };
        let when = format!(
            "in the hours in which inversions form, {}",
            self.told_between(
                night,
                (before, after),
                (&limits.inversion_before_sunset.limit, &limits.inversion_after_sunrise.limit)
            )
        );
        let least = format!("at least {}", under.limit.print(self.units));
        let says = match self.hour().wind {
            None => Says::unknown(format!("{when}; wind not given")),
            Some(wind)
                if is_above(under.limit.metres_per_second(), wind.least.metres_per_second()) =>
            {
                Says::beyond(format!("wind {} {when}: {least}", wind.print(self.units)))
            }
            Some(wind) => Says::mind(format!(
                "wind {} {when}: look for mist, hanging smoke and still air",
                wind.print(self.units)
            )),
        };
        says.weighing(Rule::Inversion, under.weight)
    }

    /// `from 16:32 (4 h before sunset) to 07:25 (2 h after sunrise)`.
    fn told_between(
        &self,
        night: &Night,
        (before, after): (i64, i64),
        (before_told, after_told): (&Time, &Time),
    ) -> String {
        let local = |at: Option<Timestamp>, seconds: i64| {
            let at = at?.saturating_add(SignedDuration::from_secs(seconds)).ok()?;
            Some(
                at.to_zoned_datetime(self.hour().start.time_zone().clone())
                    .strftime("%H:%M")
                    .to_string(),
            )
        };
        let from = local(night.from, -before)
            .map(|at| format!("from {at} ({} before sunset)", hours(*before_told)));
        let to = local(night.to, after)
            .map(|at| format!("to {at} ({} after sunrise)", hours(*after_told)));
        match (from, to) {
            (Some(from), Some(to)) => format!("{from} {to}"),
            (Some(one), None) | (None, Some(one)) => one,
            (None, None) => "as the sun does not rise".to_owned(),
        }
    }

    fn dry_ahead(&self) -> Judged {
        let limits = self.limits;
        let (time, chance, under) =
            (&limits.rain_free, &limits.rain_chance_at_most, &limits.rain_under);
        let asked = format!("{} without rain ({})", hours(time.limit), time.by);
        // Whatever is put down in the hour's last minute must stay dry as long.
        let until = self.hour().end.timestamp().as_second() as f64 + time.limit.seconds();
        let ahead = self.hours[self.at..]
            .iter()
            .take_while(|hour| (hour.start.timestamp().as_second() as f64) < until);
        let (mut most, mut open) = (None::<f64>, None::<&Hour>);
        for hour in ahead.clone() {
            if let Some(rain) = hour.rain.filter(|rain| *rain >= under.limit) {
                let depth = depth(rain, self.units);
                let words = format!("{depth} of rain {}, {asked}", self.when(&hour.start));
                return Says::beyond(words).weighing(Rule::DryAhead, time.weight);
            }
            if let Some(share) = hour.rain_chance.filter(|it| is_above(*it, chance.limit)) {
                let words = format!(
                    "{} % chance of rain {}, at most {} % ({}); {asked}",
                    decimal(share * 100.0, 0),
                    self.when(&hour.start),
                    decimal(chance.limit * 100.0, 0),
                    chance.by
                );
                return Says::beyond(words).weighing(Rule::DryAhead, time.weight);
            }
            match (hour.rain_chance, hour.rain) {
                (None, None) => open = open.or(Some(hour)),
                (Some(share), _) => most = Some(most.unwrap_or_default().max(share)),
                (None, Some(_)) => {}
            }
        }
        let end = self.hours.last().map(|hour| hour.end.clone());
        let ends_before = end.filter(|end| (end.timestamp().as_second() as f64) < until);
        let says = if let Some(hour) = open {
            Says::unknown(format!("rain {} not given; {asked}", self.when(&hour.start)))
        } else if let Some(end) = ends_before {
            Says::unknown(format!("the forecast ends {}; {asked}", self.when(&end)))
        } else if let Some(most) = most {
            let told = format!("at most {} % chance of rain; {asked}", decimal(most * 100.0, 0));
            let limit = chance.limit;
            Says::fit(told, (limit > 0.0).then_some((limit - most) / limit))
        } else {
            Says::fit(format!("no rain; {asked}"), None)
        };
        says.weighing(Rule::DryAhead, time.weight)
    }

    /// `at 14:00`, or `on 2026-06-09 at 02:00` on another day.
    fn when(&self, at: &ZonedDateTime) -> String {
        let time = at.strftime("%H:%M");
        if at.date() == self.hour().start.date() {
            format!("at {time}")
        } else {
            format!("on {} at {time}", at.date())
        }
    }

    fn temperature(&self) -> Judged {
        let (least, most) = (&self.limits.temperature_at_least, &self.limits.temperature_at_most);
        let print = |limit: &Limit<Celsius>| limit.limit.print(self.units);
        let says = match self.hour().temperature {
            None => Says::unknown("temperature not given"),
            Some(degrees) => {
                let told = degrees.print(self.units);
                let value = degrees.degrees();
                let above = |limit: &Limit<Celsius>| is_above(value, limit.limit.degrees());
                let below = |limit: &Limit<Celsius>| is_above(limit.limit.degrees(), value);
                let warm = self.limits.temperature_warm.as_ref().filter(|limit| above(limit));
                let cool = self.limits.temperature_cool.as_ref().filter(|limit| below(limit));
                if above(most) {
                    Says::beyond(format!("{told}, {}", asked("at most", most, &print(most))))
                } else if below(least) {
                    Says::beyond(format!("{told}, {}", asked("at least", least, &print(least))))
                } else if let Some(warm) = warm {
                    let above = asked("above", warm, &print(warm));
                    Says::mind(format!("{told}, {above}: at risk of injury"))
                } else if let Some(cool) = cool {
                    Says::mind(format!(
                        "{told}, {}: acts slowly",
                        asked("below", cool, &print(cool))
                    ))
                } else {
                    let (up, down) = (most.limit.degrees() - value, value - least.limit.degrees());
                    let nearer = if up <= down {
                        asked("at most", most, &print(most))
                    } else {
                        asked("at least", least, &print(least))
                    };
                    Says::fit(format!("{told}, {nearer}"), Some(up.min(down) / FAR_DEGREES))
                }
            }
        };
        let binds = least.weight == Weight::Binding || most.weight == Weight::Binding;
        says.weighing(Rule::Temperature, if binds { Weight::Binding } else { most.weight })
    }

    /// Difference of dry and wet bulb, always with how far it may be off: no hard edge.
    fn delta_t(&self) -> Judged {
        let Some((least, most, uncertain)) = &self.limits.delta_t else {
            return Says::fit("not asked of what is spread".to_owned(), None)
                .weighing(Rule::DeltaT, Weight::Advisory);
        };
        let hour = self.hour();
        let given = hour.temperature.zip(hour.humidity);
        let says = match given
            .map(|(t, share)| wet_bulb(t, share).map(|wet| t.degrees() - wet.degrees()))
        {
            None => Says::unknown("temperature or humidity not given"),
            Some(None) => Says::unknown("too cold, hot or dry for the formula of the wet bulb"),
            Some(Some(delta_t)) => {
                let told =
                    format!("delta-T {} ± {} °C", decimal(delta_t, 1), decimal(*uncertain, 1));
                let (low, high) = (least.limit, most.limit);
                let band = format!("{} to {} °C ({})", decimal(low, 0), decimal(high, 0), least.by);
                if delta_t < low - uncertain {
                    Says::beyond(format!(
                        "{told}, {band}: drops last long and drift; air may lie still"
                    ))
                } else if delta_t > high + uncertain {
                    Says::beyond(format!("{told}, {band}: drops dry before they land"))
                } else if delta_t < low + uncertain || delta_t > high - uncertain {
                    Says::mind(format!("{told}, at the edge of {band}"))
                } else {
                    Says::fit(format!("{told}, {band}"), None)
                }
            }
        };
        says.weighing(Rule::DeltaT, least.weight)
    }

    fn dry_leaf(&self) -> Judged {
        let Some((spread, after)) = &self.limits.dry_leaf else {
            return Says::fit("not asked of what is spread".to_owned(), None)
                .weighing(Rule::DryLeaf, Weight::Advisory);
        };
        let hour = self.hour();
        let after_seconds = after.seconds().round() as i64;
        let night = self.sun.map(|sun| {
            sun.nights().iter().any(|night| night.reaches(self.span(), 0, after_seconds))
        });
        let apart = hour.temperature.zip(hour.dew_point);
        let apart = apart.map(|(t, dew)| (t.degrees() - dew.degrees()).max(0.0));
        let near = apart.map(|apart| !is_above(apart, spread.limit));
        let told = apart.map(|apart| format!("dew point {} °C below the air", decimal(apart, 1)));
        let says = match (night, near, told) {
            (_, Some(true), Some(told)) => Says::beyond(format!(
                "leaf likely wet, an estimate: {told}, dry above {} °C ({})",
                decimal(spread.limit, 0),
                spread.by
            )),
            (Some(true), ..) => Says::beyond(format!(
                "leaf likely wet, an estimate: dew from night until {} after sunrise",
                hours(*after)
            )),
            (Some(false), Some(false), Some(told)) => {
                Says::fit(format!("leaf likely dry, an estimate: {told}"), None)
            }
            (None, ..) => {
                Says::unknown("the property's place is not known, so neither is its night")
            }
            _ => Says::unknown("temperature, or dew point and humidity, not given"),
        };
        says.weighing(Rule::DryLeaf, spread.weight)
    }

    fn daylight(&self) -> Judged {
        let limit = &self.limits.daylight;
        let Some(sun) = self.sun else {
            return Says::unknown("the property's place is not known, so neither is its day")
                .weighing(Rule::Daylight, limit.weight);
        };
        let night = sun.nights().iter().find(|night| night.reaches(self.span(), 0, 0));
        let says = match night {
            None => Says::fit("by day".to_owned(), None),
            Some(night) => {
                let zone = self.hour().start.time_zone();
                let told = |at: Option<Timestamp>, word: &str| {
                    let at = at?.to_zoned_datetime(zone.clone());
                    Some(format!("{word} {}", at.strftime("%H:%M")))
                };
                let ends = [told(night.from, "sunset"), told(night.to, "sunrise")];
                let ends: Vec<String> = ends.into_iter().flatten().collect();
                let ends = if ends.is_empty() { "no sunrise".to_owned() } else { ends.join(", ") };
                Says::beyond(format!("dark in part or all of the hour: {ends}"))
            }
        };
        says.weighing(Rule::Daylight, limit.weight)
    }
}
