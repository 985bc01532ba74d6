//! Why several rows in an hour become one: a station writes each quarter or half an hour, and an hour
//! is as fit as its worst part. Whatever a rule looks at is there as the end that the rule minds.

use jiff::{SignedDuration, Timestamp};
use turfplat_units::Length;

use super::cells::Read;
use super::{Hour, SpeedRange};

const HOUR: SignedDuration = SignedDuration::from_hours(1);

/// How far apart rows stand: the gap that comes most often, of these the shortest; at most an hour.
pub(super) fn step(sorted: &[Read]) -> SignedDuration {
    let gaps = sorted.windows(2).map(|pair| pair[1].start.duration_since(pair[0].start));
    let mut gaps: Vec<SignedDuration> = gaps.filter(|gap| *gap > SignedDuration::ZERO).collect();
    gaps.sort();
    let most = gaps.chunk_by(|a, b| a == b).rev().max_by_key(|alike| alike.len());
    most.and_then(|alike| alike.first()).copied().unwrap_or(HOUR).min(HOUR)
}

/// Whether rows that stand for `step` each leave no part of the hour from `start` open. A row may come
/// late by half a step, as stations write them.
pub(super) fn cover(rows: &[&Read], start: Timestamp, step: SignedDuration) -> bool {
    let late = step.as_secs() / 2;
    let mut known_until = start.as_second();
    for row in rows {
        if row.start.as_second() > known_until + late {
            return false;
        }
        known_until = known_until.max(row.start.as_second() + step.as_secs());
    }
    known_until + late >= start.as_second() + HOUR.as_secs()
}

/// The worst of the parts of an hour; what one of them does not give is not given, but for gusts, whose
/// strongest counts.
pub(super) fn worst(parts: &[Hour]) -> Option<Hour> {
    let (first, last) = (parts.first()?, parts.last()?);
    fn all<T>(parts: &[Hour], of: impl Fn(&Hour) -> Option<T>) -> Option<Vec<T>> {
        parts.iter().map(of).collect()
    }
    fn greater<T: PartialOrd>(a: T, b: T) -> T {
        if b > a { b } else { a }
    }
    fn less<T: PartialOrd>(a: T, b: T) -> T {
        if b < a { b } else { a }
    }
    fn most<T: PartialOrd>(values: Option<Vec<T>>) -> Option<T> {
        values?.into_iter().reduce(greater)
    }
    fn least<T: PartialOrd>(values: Option<Vec<T>>) -> Option<T> {
        values?.into_iter().reduce(less)
    }
    let wind = all(parts, |it| it.wind).and_then(|winds| {
        winds.into_iter().reduce(|a, b| SpeedRange {
            least: less(a.least, b.least),
            most: greater(a.most, b.most),
        })
    });
    let gusts = parts.iter().filter_map(|it| it.gust);
    let is_rain_known = parts.iter().all(|it| it.rain_chance.is_some() || it.rain.is_some());
    let chances = parts.iter().filter(|_| is_rain_known).filter_map(|it| it.rain_chance);
    let depths = parts.iter().filter(|_| is_rain_known).filter_map(|it| it.rain);
    let from = first.wind_from.clone();
    Some(Hour {
        start: first.start.clone(),
        end: last.end.clone(),
        temperature: most(all(parts, |it| it.temperature)),
        coolest: least(all(parts, |it| it.coolest)),
        dew_point: most(all(parts, |it| it.dew_point)),
        humidity: most(all(parts, |it| it.humidity)),
        driest: least(all(parts, |it| it.driest)),
        wind,
        wind_from: from.filter(|from| parts.iter().all(|it| it.wind_from.as_ref() == Some(from))),
        gust: gusts.reduce(greater),
        is_gust_in_part: parts.iter().any(|it| it.gust.is_some())
            && parts.iter().any(|it| it.gust.is_none()),
        rain_chance: chances.reduce(f64::max),
        rain: depths.map(Length::metres).reduce(|a, b| a + b).and_then(Length::from_metres),
    })
}
