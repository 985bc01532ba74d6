//! Rain before and after: what is put down must stay dry, and a leaf on which it rained is wet.

use jiff::{SignedDuration, ZonedDateTime};
use turfplat_units::{Length, Time, decimal};

use super::beside;
use super::judge::{Judging, Says, is_above};
use super::limits::{depth, hours};
use super::settings::Weight;
use super::verdict::{Judged, Rule};
use crate::hourly::Hour;

/// Adding up drops: rounding of the sum; a value written as a limit counts.
const ROUNDING: f64 = 1e-9;

impl Judging<'_> {
    pub(super) fn dry_ahead(&self) -> Judged {
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
        // Drops of several hours, and the share of all that stay dry.
        let (mut fallen, mut since, mut dry) = (0.0, None::<&Hour>, 1.0);
        for hour in ahead {
            if let Some(rain) = hour.rain.filter(|rain| rain.metres() > 0.0) {
                let first = *since.get_or_insert(hour);
                fallen += rain.metres();
                if fallen >= under.limit.metres() * (1.0 - ROUNDING) {
                    let sum = Length::from_metres(fallen).unwrap_or(rain);
                    let when = if first.start == hour.start {
                        self.when(&hour.start)
                    } else {
                        format!("from {} until {}", self.bare(&first.start), self.bare(&hour.end))
                    };
                    let words = format!("{} of rain {when}, {asked}", depth(sum, self.units));
                    return Says::beyond(words).weighing(Rule::DryAhead, time.weight);
                }
            }
            if let Some(share) = hour.rain_chance.filter(|it| is_above(*it, chance.limit)) {
                let words = format!(
                    "{} % chance of rain {}, at most {} % ({}); {asked}",
                    beside::percent(share, chance.limit),
                    self.when(&hour.start),
                    decimal(chance.limit * 100.0, 0),
                    chance.by
                );
                return Says::beyond(words).weighing(Rule::DryAhead, time.weight);
            }
            match (hour.rain_chance, hour.rain) {
                (None, None) => open = open.or(Some(hour)),
                (Some(share), _) => {
                    most = Some(most.unwrap_or_default().max(share));
                    dry *= 1.0 - share;
                }
                (None, Some(_)) => {}
            }
        }
        let end = self.hours.last().map(|hour| hour.end.clone());
        let ends_before = end.filter(|end| (end.timestamp().as_second() as f64) < until);
        let together = 1.0 - dry;
        let says = if let Some(hour) = open {
            Says::unknown(format!("rain {} not given; {asked}", self.when(&hour.start)))
        } else if let Some(end) = ends_before {
            Says::unknown(format!("the forecast ends {}; {asked}", self.when(&end)))
        } else if let Some(most) = most {
            let told = format!("at most {} % chance of rain", decimal(most * 100.0, 0));
            let limit = chance.limit;
            if is_above(together, limit) {
                // As if one hour said nothing of the next, which is the most that it can be.
                Says::mind(format!(
                    "{told} in an hour, which adds up to {} % (above {} %, {}); {asked}",
                    beside::percent(together, limit),
                    decimal(limit * 100.0, 0),
                    chance.by
                ))
                .inside((limit > 0.0).then_some((limit - most) / limit))
            } else {
                let told = format!("{told}; {asked}");
                Says::fit(told, (limit > 0.0).then_some((limit - most) / limit))
            }
        } else {
            let told = match Length::from_metres(fallen).filter(|it| it.metres() > 0.0) {
                Some(sum) => format!("{} of rain", depth(sum, self.units)),
                None => "no rain".to_owned(),
            };
            Says::fit(format!("{told}; {asked}"), None)
        };
        says.weighing(Rule::DryAhead, time.weight)
    }

    pub(super) fn dry_leaf(&self) -> Judged {
        let Some(leaf) = &self.limits.dry_leaf else {
            return Says::fit("not asked of what is spread".to_owned(), None)
                .weighing(Rule::DryLeaf, Weight::Advisory);
        };
        let spread = &leaf.spread;
        let hour = self.hour();
        let after_seconds = leaf.after_sunrise.seconds().round() as i64;
        let night = self.sun.map(|sun| {
            sun.nights().iter().any(|night| night.reaches(self.span(), 0, after_seconds))
        });
        // The coolest air over the highest dew point of the hour.
        let apart = hour.coolest.or(hour.temperature).zip(hour.dew_point);
        let apart = apart.map(|(t, dew)| (t.degrees() - dew.degrees()).max(0.0));
        let near = apart.map(|apart| !is_above(apart, spread.limit));
        let told = apart.map(|apart| format!("dew point {} °C below the air", decimal(apart, 1)));
        let says = match (self.rained(leaf.after_rain.limit), night, near, told) {
            (Some(rain), ..) => Says::beyond(format!(
                "leaf likely wet, an estimate: {rain}, dry {} after it ({})",
                hours(leaf.after_rain.limit),
                leaf.after_rain.by
            )),
            (_, _, Some(true), Some(told)) => Says::beyond(format!(
                "leaf likely wet, an estimate: {told}, dry above {} °C ({})",
                decimal(spread.limit, 0),
                spread.by
            )),
            (_, Some(true), ..) => Says::beyond(format!(
                "leaf likely wet, an estimate: dew from night until {} after sunrise",
                hours(leaf.after_sunrise)
            )),
            (_, Some(false), Some(false), Some(told)) => {
                match self.rain_open(leaf.after_rain.limit) {
                    Some(hour) => Says::unknown(format!(
                        "rain {} not given, after which a leaf stays wet",
                        self.when(&hour.start)
                    )),
                    None => Says::fit(format!("leaf likely dry, an estimate: {told}"), None),
                }
            }
            (_, None, ..) => {
                Says::unknown("the property's place is not known, so neither is its night")
            }
            _ => Says::unknown("temperature, or dew point and humidity, not given"),
        };
        says.weighing(Rule::DryLeaf, spread.weight)
    }

    /// The hours in which rain would still lie on the leaf, as far as they are told: this one, and those
    /// before it.
    fn wetting(&self, before: Time) -> Vec<&Hour> {
        let seconds = SignedDuration::from_secs(before.seconds().round() as i64);
        let start = self.hour().start.timestamp();
        let from = start.saturating_sub(seconds).unwrap_or(start);
        let hours = self.earlier.iter().chain(&self.hours[..=self.at]);
        hours.filter(|hour| hour.end.timestamp() > from).collect()
    }

    /// An hour of these of which no rain is known.
    fn rain_open(&self, before: Time) -> Option<&Hour> {
        let mut hours = self.wetting(before).into_iter();
        hours.find(|hour| hour.rain.is_none() && hour.rain_chance.is_none())
    }

    /// What of rain is told for these, in words.
    fn rained(&self, before: Time) -> Option<String> {
        let hours = self.wetting(before);
        let under = self.limits.rain_under.limit.metres() * (1.0 - ROUNDING);
        let fallen = hours.iter().filter_map(|hour| hour.rain).map(Length::metres).sum::<f64>();
        let last = hours.iter().rev().find(|hour| hour.rain.is_some_and(|it| it.metres() > 0.0));
        if let (true, Some(last)) = (fallen > 0.0 && fallen >= under, last) {
            let sum = depth(Length::from_metres(fallen)?, self.units);
            return Some(format!("{sum} of rain until {}", self.bare(&last.end)));
        }
        let chance = &self.limits.rain_chance_at_most;
        let likely = |hour: &&&Hour| hour.rain_chance.is_some_and(|it| is_above(it, chance.limit));
        let last = hours.iter().rev().find(likely)?;
        Some(format!(
            "{} % chance of rain {}",
            beside::percent(last.rain_chance?, chance.limit),
            self.when(&last.start)
        ))
    }

    /// `at 14:00`, or `on 2026-06-09 at 02:00` on another day.
    fn when(&self, at: &ZonedDateTime) -> String {
        if at.date() == self.hour().start.date() {
            format!("at {}", self.clock(at))
        } else {
            format!("on {} at {}", at.date(), self.clock(at))
        }
    }

    /// `14:00`, or `2026-06-09 02:00` on another day.
    fn bare(&self, at: &ZonedDateTime) -> String {
        if at.date() == self.hour().start.date() {
            self.clock(at)
        } else {
            format!("{} {}", at.date(), self.clock(at))
        }
    }

    /// `14:00`, or `01:00 (-05:00)` where clocks are set meanwhile.
    fn clock(&self, at: &ZonedDateTime) -> String {
        let is_set = at.offset() != self.hour().start.offset();
        at.strftime(if is_set { "%H:%M (%:z)" } else { "%H:%M" }).to_string()
    }
}
