use jiff::{SignedDuration, Timestamp};
use turfplat_units::{Speed, Time, UnitSystem, decimal};

use super::beside;
use super::limits::{Limit, Limits, hours};
use super::settings::Weight;
use super::verdict::{Judged, JudgedHour, Rule, Verdict};
use crate::hourly::{Celsius, Forecast, Hour, wet_bulb};
use crate::sun::{Night, Sun};

/// Rounding of a unit there and back; a value written as a limit is inside.
const ROUNDING: f64 = 1e-9;

/// This far inside a limit of temperature is far; a choice of this tool.
const FAR_DEGREES: f64 = 10.0;

/// So many degrees Celsius above the band of delta-T call for caution, more are to be avoided. Source:
/// NDSU Crop & Pest Report, 23 May 2019: 2 to 8, 8 to 10 with caution, above 10 avoid.
const DELTA_T_CAUTION: f64 = 2.0;

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
        let hours = &forecast.hours;
        let hour = Judging { hours, earlier: &forecast.earlier, at, limits, sun, units };
        let length = hours[at].end.timestamp().duration_since(hours[at].start.timestamp());
        JudgedHour::of(
            length.as_secs_f64() / 3600.0,
            vec![
                hour.wind(),
                hour.gusts(),
                hour.inversion(),
                hour.dry_ahead(),
                hour.temperature(),
                hour.delta_t(),
                hour.dry_leaf(),
                hour.daylight(),
            ],
        )
    };
    (0..forecast.hours.len()).map(judge).collect()
}

/// One hour before the rules.
pub(super) struct Judging<'a> {
    pub(super) hours: &'a [Hour],
    /// Hours before these, which are over.
    pub(super) earlier: &'a [Hour],
    pub(super) at: usize,
    pub(super) limits: &'a Limits,
    pub(super) sun: Option<&'a Sun>,
    pub(super) units: UnitSystem,
}

/// What a rule says, before it is known how it weighs.
pub(super) struct Says {
    verdict: Verdict,
    words: String,
    margin: Option<f64>,
}

impl Says {
    pub(super) fn fit(words: String, margin: Option<f64>) -> Says {
        Says { verdict: Verdict::Fit, words, margin: margin.map(|it| it.clamp(0.0, 1.0)) }
    }

    pub(super) fn beyond(words: String) -> Says {
        Says { verdict: Verdict::NotFit, words, margin: None }
    }

    pub(super) fn mind(words: String) -> Says {
        Says { verdict: Verdict::Advisory, words, margin: None }
    }

    /// How far inside it is all the same.
    pub(super) fn inside(self, margin: Option<f64>) -> Says {
        Says { margin: margin.map(|it| it.clamp(0.0, 1.0)), ..self }
    }

    pub(super) fn unknown(words: impl Into<String>) -> Says {
        Says { verdict: Verdict::Unknown, words: words.into(), margin: None }
    }

    pub(super) fn weighing(self, rule: Rule, weight: Weight) -> Judged {
        let verdict = match (self.verdict, weight) {
            (Verdict::NotFit, Weight::Advisory) => Verdict::Advisory,
            (verdict, _) => verdict,
        };
        let binds = weight == Weight::Binding;
        Judged { rule, verdict, binds, words: self.words, margin: self.margin }
    }
}

/// `at most 8 mph (default)`.
pub(super) fn asked<T>(word: &str, limit: &Limit<T>, printed: &str) -> String {
    format!("{word} {printed} ({})", limit.by)
}

pub(super) fn is_above(value: f64, limit: f64) -> bool {
    value > limit + limit.abs() * ROUNDING
}

impl Judging<'_> {
    pub(super) fn hour(&self) -> &Hour {
        &self.hours[self.at]
    }

    pub(super) fn span(&self) -> (Timestamp, Timestamp) {
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
                    let told = beside::range(wind, most.limit, self.units);
                    Says::beyond(format!("wind {told}, {}", self.most(most)))
                } else if is_above(floor, low) {
                    let asked = asked("at least", least, &least.limit.print(self.units));
                    let told = beside::range(wind, least.limit, self.units);
                    Says::beyond(format!("wind {told}, {asked}: light air turns and may lie still"))
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
                let told = beside::speed(gust, limit.limit, self.units);
                let told = format!("gusts {told}, {}", self.most(limit));
                let (gust, most) = (gust.metres_per_second(), limit.limit.metres_per_second());
                if is_above(gust, most) {
                    Says::beyond(told)
                } else if self.hour().is_gust_in_part {
                    Says::unknown(format!(
                        "gusts given for a part of the hour only; {told}: watch them"
                    ))
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
                let told = beside::range(wind, under.limit, self.units);
                Says::beyond(format!("wind {told} {when}: {least}"))
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

    fn temperature(&self) -> Judged {
        let (least, most) = (&self.limits.temperature_at_least, &self.limits.temperature_at_most);
        let print = |limit: &Limit<Celsius>| limit.limit.print(self.units);
        let says = match self.hour().temperature {
            None => Says::unknown("temperature not given"),
            Some(warmest) => {
                // Of several rows in the hour both ends count.
                let coolest = self.hour().coolest.unwrap_or(warmest);
                let both = warmest.print(self.units);
                let told = if coolest == warmest {
                    both
                } else {
                    format!("{} to {both}", coolest.print(self.units))
                };
                let above =
                    |limit: &Limit<Celsius>| is_above(warmest.degrees(), limit.limit.degrees());
                let below =
                    |limit: &Limit<Celsius>| is_above(limit.limit.degrees(), coolest.degrees());
                let beside = |it: Celsius, limit: &Limit<Celsius>| {
                    beside::temperature(it, limit.limit, self.units)
                };
                let warm = self.limits.temperature_warm.as_ref().filter(|limit| above(limit));
                let cool = self.limits.temperature_cool.as_ref().filter(|limit| below(limit));
                if above(most) {
                    let told = beside(warmest, most);
                    Says::beyond(format!("{told}, {}", asked("at most", most, &print(most))))
                } else if below(least) {
                    let told = beside(coolest, least);
                    Says::beyond(format!("{told}, {}", asked("at least", least, &print(least))))
                } else if let Some(warm) = warm {
                    let (told, above) = (beside(warmest, warm), asked("above", warm, &print(warm)));
                    Says::mind(format!("{told}, {above}: at risk of injury"))
                } else if let Some(cool) = cool {
                    let told = beside(coolest, cool);
                    Says::mind(format!(
                        "{told}, {}: acts slowly",
                        asked("below", cool, &print(cool))
                    ))
                } else {
                    let up = most.limit.degrees() - warmest.degrees();
                    let down = coolest.degrees() - least.limit.degrees();
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
        let differs = |t: Option<Celsius>, share: Option<f64>| {
            let (t, share) = t.zip(share)?;
            Some(wet_bulb(t, share).map(|wet| t.degrees() - wet.degrees()))
        };
        // Of several rows in the hour the coolest and fullest, and the warmest and driest.
        let ends = (
            differs(hour.coolest.or(hour.temperature), hour.humidity),
            differs(hour.temperature, hour.driest.or(hour.humidity)),
        );
        let says = match ends {
            (None, _) | (_, None) => Says::unknown("temperature or humidity not given"),
            (Some(None), _) | (_, Some(None)) => {
                Says::unknown("too cold, hot or dry for the formula of the wet bulb")
            }
            (Some(Some(from)), Some(Some(to))) => {
                let figure = |it: f64| decimal(it, 1);
                let both = if figure(from) == figure(to) {
                    figure(to)
                } else {
                    format!("{} to {}", figure(from), figure(to))
                };
                let told = format!("delta-T {both} ± {} °C", decimal(*uncertain, 1));
                let (low, high) = (least.limit, most.limit);
                let band = format!("{} to {} °C ({})", decimal(low, 0), decimal(high, 0), least.by);
                if from < low - uncertain {
                    Says::beyond(format!(
                        "{told}, {band}: drops last long and drift; air may lie still"
                    ))
                } else if to > high + DELTA_T_CAUTION + uncertain {
                    Says::beyond(format!("{told}, {band}: avoid, drops dry before they land"))
                } else if to > high + uncertain {
                    Says::beyond(format!("{told}, {band}: caution, drops dry fast"))
                } else if from < low + uncertain || to > high - uncertain {
                    Says::mind(format!("{told}, at the edge of {band}"))
                } else {
                    Says::fit(format!("{told}, {band}"), None)
                }
            }
        };
        says.weighing(Rule::DeltaT, least.weight)
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
