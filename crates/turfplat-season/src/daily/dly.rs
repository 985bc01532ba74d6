//! GHCN-Daily in its own layout: a line for each month of an element, 31 values of fixed width.
//!
//! Source: NOAA NCEI, readme of GHCN-Daily version 3, section III: station 1–11, year 12–15, month
//! 16–17, element 18–21, then 31 times a value of five digits and the flags M, Q and S.

use std::io::{BufRead, BufReader, Read};

use jiff::civil::Date;

use super::dropped::DropReason;
use super::error::DailyError;
use super::ghcn::{Stations, Tenths, element};
use super::read::DailyOptions;
use super::series::Reading;

const HEAD: usize = 21;
const VALUE: usize = 8;
const DAYS: usize = 31;

/// True of a line of this layout; blanks at its end may be cut.
pub(super) fn is_line(line: &str) -> bool {
    let digits = |range: std::ops::Range<usize>| {
        line.get(range).is_some_and(|part| part.bytes().all(|byte| byte.is_ascii_digit()))
    };
    line.is_ascii()
        && line.len() > HEAD + VALUE * (DAYS - 1)
        && line.len() <= HEAD + VALUE * DAYS
        && digits(11..17)
        && line[17..HEAD].bytes().all(|byte| byte.is_ascii_uppercase() || byte.is_ascii_digit())
}

/// All lines of a file.
pub(super) fn read(
    file: &str,
    text: impl Read,
    options: &DailyOptions<'_>,
    reading: &mut Reading,
) -> Result<Option<String>, DailyError> {
    let mut stations = Stations::new(options.station);
    let mut found = false;
    for (place, line) in BufReader::new(text).lines().enumerate() {
        let number = place as u64 + 1;
        let line =
            line.map_err(|source| DailyError::Unreadable { file: file.to_owned(), source })?;
        let line = line.trim_end();
        if line.is_empty() {
            continue;
        }
        if !is_line(line) {
            return Err(DailyError::UnknownLayout { file: file.to_owned(), line: number });
        }
        if !stations.counts(&line[..11]) {
            continue;
        }
        found = true;
        let name = &line[17..HEAD];
        let Some(what) = element(name) else { continue };
        for date in 1..=DAYS {
            let start = HEAD + VALUE * (date - 1);
            let text = line.get(start..start + 5).unwrap_or_else(|| &line[start.min(line.len())..]);
            let quality = line.get(start + 6..start + 7).unwrap_or("");
            let of_line = |range: std::ops::Range<usize>| line[range].parse::<i16>().unwrap_or(0);
            let month = i8::try_from(of_line(15..17)).unwrap_or(0);
            let day = i8::try_from(date).unwrap_or(0);
            let Ok(day) = Date::new(of_line(11..15), month, day) else {
                // The thirty-first of a shorter month holds nothing, by the format.
                if !matches!(text.trim(), "" | "-9999") {
                    reading.drop(number, None, name, text.trim(), DropReason::NoDay);
                }
                continue;
            };
            let tenths =
                Tenths { line: number, day, element: name, what: what.clone(), text, quality };
            if tenths.add(reading).is_err() {
                reading.drop(number, Some(day), name, text.trim(), DropReason::NoNumber);
            }
        }
    }
    stations.settled(file, found)
}
