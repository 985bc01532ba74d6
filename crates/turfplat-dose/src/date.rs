/// True of a day of the calendar written `2026-05-02`.
pub(crate) fn is_date(text: &str) -> bool {
    let bytes = text.as_bytes();
    let shaped = bytes.len() == 10
        && bytes.iter().enumerate().all(|(at, byte)| match at {
            4 | 7 => *byte == b'-',
            _ => byte.is_ascii_digit(),
        });
    if !shaped {
        return false;
    }
    let number = |part: &str| part.parse::<u32>().unwrap_or(0);
    let (year, month, day) = (number(&text[..4]), number(&text[5..7]), number(&text[8..]));
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        1..=12 => 31,
        _ => 0,
    };
    year > 0 && (1..=days).contains(&day)
}

#[cfg(test)]
mod tests {
    use super::is_date;

    #[test]
    fn a_date_is_a_day_of_the_calendar() {
        for good in ["2026-05-02", "2024-02-29"] {
            assert!(is_date(good), "{good}");
        }
        for bad in ["2026-02-29", "2026-13-01", "2026-5-2", "yes", "", "2026-05-00", "02.05.2026"] {
            assert!(!is_date(bad), "{bad}");
        }
    }
}
