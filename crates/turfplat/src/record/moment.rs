use jiff::ZonedDateTime;
use jiff::civil::{Date, Time};
use jiff::fmt::temporal::Pieces;
use jiff::tz::TimeZone;

/// Reads a time of the work: `07:40` of `date` in `zone`, `7:40 am`, `2026-06-08 07:40`, also with an offset
/// or a zone of its own: `2026-06-08T07:40-05:00`.
///
/// # Errors
///
/// What to write instead: an hour without a zone or a day, or one that the clocks skipped or had twice.
pub(crate) fn moment(
    text: &str,
    date: Option<Date>,
    zone: Option<&TimeZone>,
) -> Result<ZonedDateTime, String> {
    let text = text.trim();
    let unread =
        || format!("{text:?} is no time of day; write it as 07:40 or 2026-06-08T07:40-05:00");
    if let Some(time) = time_of_day(text) {
        let date = date.ok_or("give the date too")?;
        return on(date, time, zone, text);
    }
    let pieces = Pieces::parse(text).map_err(|_| unread())?;
    let time = pieces.time().ok_or_else(unread)?;
    // `Z` says an instant, and nothing of the clock on the wall.
    let is_zulu = text.ends_with(['Z', 'z']);
    let own = match (pieces.to_time_zone(), pieces.to_numeric_offset()) {
        (Ok(Some(own)), _) => Some(own),
        (Err(error), _) => return Err(error.to_string()),
        (Ok(None), Some(offset)) if !is_zulu => Some(TimeZone::fixed(offset)),
        (Ok(None), _) => None,
    };
    if is_zulu {
        let instant: jiff::Timestamp = text.parse().map_err(|_| unread())?;
        let zone = zone.ok_or_else(|| no_zone(text))?;
        return Ok(instant.to_zoned_datetime(zone.clone()));
    }
    on(pieces.date(), time, own.as_ref().or(zone), text)
}

fn no_zone(text: &str) -> String {
    format!(
        "{text:?} says no time zone; add timezone, such as America/Chicago, or write the offset: 2026-06-08T07:40-05:00"
    )
}

fn on(
    date: Date,
    time: Time,
    zone: Option<&TimeZone>,
    text: &str,
) -> Result<ZonedDateTime, String> {
    let zone = zone.ok_or_else(|| no_zone(text))?;
    zone.to_ambiguous_zoned_datetime(date.to_datetime(time)).unambiguous().map_err(|_| {
        format!("the clocks skipped {time} on {date} or had it twice; write it with its offset, such as {date}T{time}-05:00")
    })
}

/// `07:40`, `7:40`, `7:40 am`, `12:05 PM`, `19:40:30`.
fn time_of_day(text: &str) -> Option<Time> {
    let lower = text.to_lowercase();
    let (clock, half) = match (lower.strip_suffix("am"), lower.strip_suffix("pm")) {
        (Some(clock), _) => (clock, Some(0)),
        (_, Some(clock)) => (clock, Some(12)),
        _ => (lower.as_str(), None),
    };
    let parts: Vec<&str> = clock.trim().split(':').collect();
    let number = |part: &&str| {
        let digits =
            !part.is_empty() && part.len() <= 2 && part.bytes().all(|b| b.is_ascii_digit());
        digits.then(|| part.parse::<i8>().ok()).flatten()
    };
    let numbers = parts.iter().map(number).collect::<Option<Vec<i8>>>()?;
    let (hour, minute, second) = match numbers[..] {
        [hour, minute] => (hour, minute, 0),
        [hour, minute, second] => (hour, minute, second),
        _ => return None,
    };
    let hour = match half {
        None => hour,
        Some(half) if (1..=12).contains(&hour) => hour % 12 + half,
        Some(_) => return None,
    };
    Time::new(hour, minute, second, 0).ok()
}

/// The zone of that name.
///
/// # Errors
///
/// What to write instead.
pub(crate) fn zone(name: &str) -> Result<TimeZone, String> {
    TimeZone::get(name.trim()).map_err(|_| {
        format!("{name:?} is no time zone; write it as in the IANA table, such as America/Chicago")
    })
}

/// True of a text that tells its day beside the hour.
pub(crate) fn is_of_day(text: &str) -> bool {
    time_of_day(text.trim()).is_none()
}

/// True of a day that has not begun in `zone`, or of which no place has seen the morning where none is told.
pub(crate) fn is_after_today(date: Date, zone: Option<&TimeZone>, now: &ZonedDateTime) -> bool {
    let today = match zone {
        Some(zone) => now.with_time_zone(zone.clone()).date(),
        // Somewhere it is tomorrow already: 14 hours ahead of Greenwich at most (IANA, Pacific/Kiritimati).
        None => now.with_time_zone(TimeZone::fixed(jiff::tz::offset(14))).date(),
    };
    date > today
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<String, String> {
        let date = Some("2026-06-08".parse().expect("a day"));
        let chicago = zone("America/Chicago").expect("a zone");
        moment(text, date, Some(&chicago)).map(|at| at.timestamp().to_string())
    }

    #[test]
    fn times_as_people_write_them_are_one_instant() {
        // Central daylight time is five hours behind: 07:40 there is 12:40 in Greenwich.
        for text in [
            "07:40",
            "7:40",
            "7:40 am",
            "7:40AM",
            "07:40:00",
            "2026-06-08 07:40",
            "2026-06-08T07:40-05:00",
            "2026-06-08T08:40-04:00",
            "2026-06-08T08:40[America/New_York]",
            "2026-06-08T12:40Z",
        ] {
            assert_eq!(read(text), Ok("2026-06-08T12:40:00Z".to_owned()), "{text}");
        }
        assert_eq!(read("12:05 am"), Ok("2026-06-08T05:05:00Z".to_owned()));
        assert_eq!(read("12:05 pm"), Ok("2026-06-08T17:05:00Z".to_owned()));
        for text in ["", "7", "25:00", "13:00 pm", "noon", "2026-06-08", "7:4x", "07:40 CDT"] {
            assert!(read(text).is_err(), "{text}");
        }
    }

    #[test]
    fn an_hour_that_was_not_or_was_twice_is_asked_for() {
        // 2026-03-08 at 02:30 was skipped in Chicago, 2026-11-01 at 01:30 was twice (Energy Policy Act of
        // 2005, §110: second Sunday of March, first of November).
        for (day, time) in [("2026-03-08", "02:30"), ("2026-11-01", "01:30")] {
            let chicago = zone("America/Chicago").expect("a zone");
            let date = Some(day.parse().expect("a day"));
            let error = moment(time, date, Some(&chicago)).expect_err(day);
            assert!(error.contains("offset"), "{error}");
        }
        let date = Some("2026-06-08".parse().expect("a day"));
        assert!(moment("07:40", date, None).expect_err("no zone").contains("timezone"));
        assert!(zone("Chicago").is_err());
    }
}
