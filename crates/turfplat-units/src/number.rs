//! Why numbers are read and printed in one place: people write `1/4`, `1 1/2`, `½` and
//! `1,000`, and a comma read as a decimal point is a thousandfold overdose.

use std::fmt;

/// Why a quantity could not be read, and what to write instead.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum UnitError {
    /// The text does not start with a number.
    NoNumber(String),
    /// A comma stands where neither reading (thousands, decimal point) is certain: the text, and
    /// both readings in words.
    Comma(String, String),
    /// The number is negative, infinite or too large to be meant.
    OutOfRange(String),
    /// A number without its unit, and a unit that would do.
    NoUnit(String, &'static str),
    /// A unit that is not known here, and units that are.
    UnknownUnit(String, &'static str),
    /// `oz`, where both volume and weight make sense.
    WhichOunce(String),
    /// A capital `T` alone: short ton, metric ton or tablespoon.
    WhichTon(String),
    /// A small area whose comma or point may be a slip of grouping: the text, and both readings.
    Grouped(String, String),
    /// A rate without an area, such as `3 fl oz`.
    NoArea(String),
    /// A range, where one figure is needed.
    Range(String),
    /// An area that may be one of two, and how to write either.
    WhichArea(String, &'static str, &'static str),
    /// A fraction of nothing, such as `1/0`.
    OverZero(String),
    /// A rate by share of the spray, such as `0.25 %` or `1 qt/100 gal`.
    ShareOfSpray(String),
    /// What stands behind the unit is no part of a product, such as `lb P`.
    WhatPart(String),
}

impl fmt::Display for UnitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoNumber(text) => {
                write!(f, r#""{text}" does not start with a number; write it like "0.25" or "1/4""#)
            }
            Self::Comma(text, readings) => {
                write!(f, r#""{text}": the comma may {readings}; write the one that is meant"#)
            }
            Self::OutOfRange(text) => {
                write!(f, r#""{text}": use a number that is not negative and below 1e12"#)
            }
            Self::NoUnit(text, such_as) => {
                write!(f, r#""{text}" has no unit; add one, such as "{such_as}""#)
            }
            Self::UnknownUnit(unit, known) => {
                write!(f, r#""{unit}" is not a unit known here; use one of: {known}"#)
            }
            Self::WhichOunce(text) => write!(
                f,
                r#""{text}": "oz" may mean fluid ounces or ounces of weight; write "fl oz" (volume) or "oz wt" (weight) as the label means it"#
            ),
            Self::WhichTon(text) => write!(
                f,
                r#""{text}": "T" may mean short tons, metric tons or tablespoons; write "ton" (2,000 lb), "tonne" or "t" (1,000 kg) or "tbsp""#
            ),
            Self::Grouped(text, readings) => write!(
                f,
                r#""{text}" may be {readings}, as the comma or point is a decimal point or parts thousands; write the one that is meant, thousands like "1,000""#
            ),
            Self::NoArea(text) => {
                write!(f, r#""{text}" says no area; add one, such as "/1000 sq ft", "/A" or "/ha""#)
            }
            Self::Range(text) => write!(f, r#""{text}" is a range; choose one figure inside it"#),
            Self::OverZero(text) => {
                write!(
                    f,
                    r#""{text}": nothing can be divided by 0; write the fraction that is meant"#
                )
            }
            Self::ShareOfSpray(text) => write!(
                f,
                r#""{text}": a share of the spray is not read as a rate; write what it comes to on the ground, share × spray volume: 0.25 % of 1 gal/1000 sq ft is "0.32 fl oz/1000 sq ft""#
            ),
            Self::WhichArea(text, one, other) => {
                write!(
                    f,
                    r#""{text}": the area may be {one} or {other}; write the one that is meant"#
                )
            }
            Self::WhatPart(text) => write!(
                f,
                r#""{text}": after the unit of weight may stand a.i., a.e. (acid equivalent, as labels of some weed killers count), N, P2O5 or K2O (an analysis counts phosphate and potash, not P and K)"#
            ),
        }
    }
}

impl std::error::Error for UnitError {}

/// Splits the number off the front of `text`: the number, and what follows it, trimmed.
pub(crate) fn leading_number(text: &str) -> Result<(f64, &str), UnitError> {
    let text = text.trim();
    if text.starts_with(['-', '−']) {
        return Err(UnitError::OutOfRange(text.into()));
    }
    let (whole, rest) = plain_number(text)?;
    let part = fraction(rest).or_else(|| hyphened(text, rest));
    let (value, rest) = match (whole, part) {
        (Some(whole), Some((part, rest))) => (whole + part, rest),
        (None, Some((part, rest))) => (part, rest),
        (Some(whole), None) => match rest.strip_prefix('/').map(plain_number) {
            // `1/4 fl oz`: a slash straight after a whole number and before another.
            Some(Ok((Some(under), rest))) if under > 0.0 && is_fraction(text) => {
                (whole / under, rest)
            }
            _ => (whole, rest),
        },
        (None, None) => return Err(UnitError::NoNumber(text.into())),
    };
    let rest = rest.trim_start();
    if [text, rest].into_iter().any(is_over_zero) {
        return Err(UnitError::OverZero(text.into()));
    }
    let to = ["-", "–", "to "].into_iter().find_map(|word| rest.strip_prefix(word));
    if to.is_some_and(|to| to.trim_start().starts_with(|c: char| c.is_ascii_digit())) {
        return Err(UnitError::Range(text.into()));
    }
    if !value.is_finite() || value >= 1e12 {
        return Err(UnitError::OutOfRange(text.into()));
    }
    Ok((value, rest))
}

/// Refuses a number of square feet or meters that may be a slip of grouping: `1,00`, `10,00`, or
/// another country's `1.000`. Of a fraction of so small a unit nobody writes that many places.
pub(crate) fn sure_of_grouping(text: &str) -> Result<(), UnitError> {
    let text = text.trim();
    let is_part = |c: char| c.is_ascii_digit() || matches!(c, ',' | '.');
    let number = text.split(|c| !is_part(c)).next().unwrap_or_default();
    let number = number.trim_end_matches([',', '.']);
    let Some(at) = number.find([',', '.']) else { return Ok(()) };
    let (whole, behind) = (&number[..at], &number[at + 1..]);
    let places = if number[at..].starts_with(',') { 2 } else { 3 };
    let grouped = (1..=3).contains(&whole.len()) && whole.bytes().any(|b| b != b'0');
    if !grouped || behind.len() != places || behind.contains([',', '.']) {
        return Ok(());
    }
    Err(UnitError::Grouped(text.into(), format!("{whole}.{behind} or {whole}{behind}")))
}

/// True of `1/4 …` and false of `1/1000 sq ft`-like text, where the slash parts a rate.
fn is_fraction(text: &str) -> bool {
    let Some((over, under)) = text.split_once('/') else { return false };
    let digits = under.bytes().take_while(u8::is_ascii_digit).count();
    over.bytes().all(|b| b.is_ascii_digit()) && (1..=3).contains(&digits)
}

/// True of `1/0 …`.
fn is_over_zero(text: &str) -> bool {
    let under = text.split_once('/').filter(|_| is_fraction(text));
    under.and_then(|(_, under)| plain_number(under).ok()).is_some_and(|it| it.0 == Some(0.0))
}

/// `-1/2` straight after a whole number, as in `1-1/2`: half more. A range never falls, so it cannot
/// be `1 to 1/2`; `1-3/2` may be one and is left alone.
fn hyphened<'t>(text: &str, rest: &'t str) -> Option<(f64, &'t str)> {
    let whole = text.strip_suffix(rest)?;
    if !whole.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let behind = rest.strip_prefix('-').filter(|behind| is_fraction(behind))?;
    fraction(behind).filter(|(value, _)| *value < 1.0)
}

/// ` 1/2` or `½` after a whole number, or at the front.
fn fraction(text: &str) -> Option<(f64, &str)> {
    let text = text.trim_start();
    let single = [
        ('½', 0.5),
        ('¼', 0.25),
        ('¾', 0.75),
        ('⅛', 0.125),
        ('⅜', 0.375),
        ('⅝', 0.625),
        ('⅞', 0.875),
        ('⅓', 1.0 / 3.0),
        ('⅔', 2.0 / 3.0),
    ];
    if let Some(first) = text.chars().next()
        && let Some((_, value)) = single.iter().find(|(sign, _)| *sign == first)
    {
        return Some((*value, &text[first.len_utf8()..]));
    }
    if !is_fraction(text) {
        return None;
    }
    let (over, rest) = plain_number(text).ok()?;
    let (under, rest) = plain_number(rest.strip_prefix('/')?).ok()?;
    let (over, under) = (over?, under?);
    (under > 0.0).then_some((over / under, rest))
}

/// Digits, thousands commas, a decimal point, an exponent; `None` if `text` starts otherwise.
fn plain_number(text: &str) -> Result<(Option<f64>, &str), UnitError> {
    let mut end =
        text.bytes().take_while(|b| b.is_ascii_digit() || matches!(b, b',' | b'.')).count();
    while end > 0 && matches!(text.as_bytes()[end - 1], b',' | b'.') {
        end -= 1;
    }
    let blanks = parted_by_blanks(text);
    let (mantissa, after) = text.split_at(blanks.unwrap_or(end));
    if mantissa.is_empty() {
        return Ok((None, text));
    }
    let mut number = match blanks {
        Some(_) => mantissa.chars().filter(char::is_ascii_digit).collect(),
        None => without_commas(text, mantissa)?,
    };
    let mut rest = after;
    if let Some(exponent) = after.strip_prefix(['e', 'E']) {
        let sign = usize::from(exponent.starts_with(['+', '-']));
        let digits = exponent[sign..].bytes().take_while(u8::is_ascii_digit).count();
        if digits > 0 {
            number.push('e');
            number.push_str(&exponent[..sign + digits]);
            rest = &exponent[sign + digits..];
        }
    }
    let value = number.parse().map_err(|_| UnitError::NoNumber(text.into()))?;
    Ok((Some(value), rest))
}

/// Where `1 000` or `10 000 000` ends: groups of three parted by blanks, as the SI brochure writes
/// thousands (BIPM, 9th edition, 5.4.4). `None` of anything else, such as `1 125/1000`.
fn parted_by_blanks(text: &str) -> Option<usize> {
    const BLANKS: [char; 4] = [' ', '\u{a0}', '\u{2009}', '\u{202f}'];
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let first = digits(text);
    if !(1..=3).contains(&first) || text.starts_with('0') {
        return None;
    }
    let mut end = first;
    while let Some(group) = text[end..].strip_prefix(BLANKS)
        && digits(group) == 3
        && !group[3..].starts_with(['/', ',', '.'])
    {
        end = text.len() - group.len() + 3;
    }
    (end > first).then_some(end)
}

/// `mantissa` with a decimal point at most. Commas between groups of three part thousands, as this
/// tool prints them; one comma before one or two digits, or behind a lone 0, can only be a decimal
/// point (`0,8`, `7,5`); of anything else both readings are told.
fn without_commas(text: &str, mantissa: &str) -> Result<String, UnitError> {
    if !mantissa.contains(',') {
        return Ok(mantissa.to_owned());
    }
    let joined = mantissa.replace(',', "");
    let (whole, _) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    let mut groups = whole.split(',');
    let first = groups.next().unwrap_or_default();
    let grouped =
        (1..=3).contains(&first.len()) && first != "0" && groups.all(|group| group.len() == 3);
    if grouped && mantissa.rfind(',') < mantissa.find('.').or(Some(usize::MAX)) {
        return Ok(joined);
    }
    let (before, behind) = mantissa.rsplit_once(',').unwrap_or((mantissa, ""));
    let once = before.bytes().all(|b| b.is_ascii_digit());
    let digits = behind.bytes().all(|b| b.is_ascii_digit());
    if once && digits && (before == "0" || (!before.is_empty() && behind.len() <= 2)) {
        return Ok(format!("{before}.{behind}"));
    }
    // `1.234,5` is another country's 1,234.5.
    let as_point = format!("{}.{behind}", before.replace([',', '.'], ""));
    let readings = format!("stand for a decimal point ({as_point}) or part thousands ({joined})");
    Err(UnitError::Comma(text.trim().into(), readings))
}

/// `value` with `places` decimals and commas between thousands: `decimal(4800.04, 1)` is `4,800.0`.
pub fn decimal(value: f64, places: usize) -> String {
    let plain = format!("{:.places$}", value.abs());
    let (whole, part) =
        plain.split_once('.').map_or((plain.as_str(), None), |(whole, part)| (whole, Some(part)));
    let mut printed = String::new();
    if value < 0.0 && plain.bytes().any(|b| matches!(b, b'1'..=b'9')) {
        printed.push('-');
    }
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place).is_multiple_of(3) {
            printed.push(',');
        }
        printed.push(digit);
    }
    if let Some(part) = part {
        printed.push('.');
        printed.push_str(part);
    }
    printed
}

/// `value` with at least `digits` significant digits and no trailing zeros after the point:
/// `significant(0.30, 3)` is `0.3`, `significant(12345.6, 3)` is `12,346`.
pub fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return decimal(value, 0);
    }
    // The place of the first digit: small by construction, so the cast holds.
    let magnitude = value.abs().log10().floor() as i64;
    let places = (digits as i64 - 1 - magnitude).clamp(0, 12) as usize;
    let printed = decimal(value, places);
    if printed.contains('.') {
        printed.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        printed
    }
}

/// As [`significant`], and never above `value`: what is measured out must not be rounded up to more
/// than is allowed. As many digits as say it exactly, up to six, else `digits`, rounded down.
pub fn at_most(value: f64, digits: usize) -> String {
    if value <= 0.0 || !value.is_finite() {
        return significant(value, digits);
    }
    let magnitude = value.log10().floor() as i64;
    let scale = |digits: usize| 10_f64.powi((digits as i64 - 1 - magnitude).clamp(0, 12) as i32);
    let exact = (digits..=6).find(|&digits| {
        let scaled = value * scale(digits);
        (scaled - scaled.round()).abs() <= scaled * 1e-9
    });
    match exact {
        Some(digits) => significant(value, digits),
        None => significant((value * scale(digits)).floor() / scale(digits), digits),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_measured_is_never_rounded_up() {
        for (value, printed) in [
            (115.5, "115.5"),
            (10.25, "10.25"),
            (10.45, "10.45"),
            (0.66576, "0.66576"),
            (2.0 / 3.0, "0.6666"),
            (115.934_567, "115.9"),
            (1_234.567_8, "1,234"),
            (0.1 + 0.2, "0.3"),
            (2.4, "2.4"),
            (3_000.0, "3,000"),
            (0.0, "0"),
        ] {
            assert_eq!(at_most(value, 4), printed);
        }
        for place in 1..5_000 {
            let value = f64::from(place) * 0.017_31;
            let printed: f64 = at_most(value, 4).replace(',', "").parse().unwrap();
            assert!(
                printed <= value * (1.0 + 1e-9) && printed > value * 0.999,
                "{value}: {printed}"
            );
        }
    }

    #[test]
    fn numbers_as_people_write_them() {
        for (text, value, rest) in [
            ("0.25 fl oz", 0.25, "fl oz"),
            ("1/4 fl oz", 0.25, "fl oz"),
            ("1 1/2 gal", 1.5, "gal"),
            ("½ pt", 0.5, "pt"),
            ("2½ pt", 2.5, "pt"),
            ("1,000 ft²", 1000.0, "ft²"),
            ("1,234,567.5 ft", 1_234_567.5, "ft"),
            ("25ft", 25.0, "ft"),
            ("3e2 m", 300.0, "m"),
            ("7/A", 7.0, "/A"),
            ("3.", 3.0, "."),
            ("1-1/2 pt", 1.5, "pt"),
            ("3/8 oz", 0.375, "oz"),
            ("1 000 sq ft", 1_000.0, "sq ft"),
            ("10 000 000 m2", 10_000_000.0, "m2"),
            // Groups of three alone part thousands, and no number begins with a group of nothing.
            ("1234 567 ft", 1_234.0, "567 ft"),
            ("0 500 ft", 0.0, "500 ft"),
            ("12 50 ft", 12.0, "50 ft"),
            // A comma that can only be a decimal point.
            ("0,8 L", 0.8, "L"),
            ("0,250 L", 0.25, "L"),
            ("7,5 m", 7.5, "m"),
            ("12,75 L", 12.75, "L"),
            // A comma that this tool prints.
            ("5,915 mL", 5915.0, "mL"),
        ] {
            let (read, left) = leading_number(text).unwrap_or_else(|e| panic!("{text}: {e}"));
            assert!((read - value).abs() < 1e-12, "{text}: {read}");
            assert_eq!(left, rest, "{text}");
        }
    }

    #[test]
    fn what_might_be_misread_is_refused() {
        for text in [
            "1,0000",
            "1,0000.5",
            "1.234,5 L",
            "1,5,5 L",
            "12,34,567 L",
            "-3 ft",
            "−3 ft",
            "ft",
            "",
            "1e400 ft",
            "0.25-0.5 fl oz",
            "0.25 – 0.5 fl oz",
            "0.25 to 0.5 fl oz",
            "1-3/2 pt",
            "1/4-1/2 pt",
            "1.5-1/2 pt",
        ] {
            assert!(leading_number(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_comma_that_may_be_either_is_told_with_both_readings() {
        for (text, as_point, as_thousands) in
            [("1,0000 ft", "1.0000", "10000"), ("1.234,5 L", "1234.5", "1.2345")]
        {
            assert_eq!(
                leading_number(text).unwrap_err().to_string(),
                format!(
                    "\"{text}\": the comma may stand for a decimal point ({as_point}) or part \
                     thousands ({as_thousands}); write the one that is meant"
                )
            );
        }
    }

    #[test]
    fn numbers_are_printed_with_commas_and_without_noise() {
        assert_eq!(decimal(4_800.04, 1), "4,800.0");
        assert_eq!(decimal(-0.01, 1), "0.0");
        assert_eq!(decimal(-1234.5, 1), "-1,234.5");
        assert_eq!(significant(0.300, 3), "0.3");
        assert_eq!(significant(12_345.6, 3), "12,346");
        assert_eq!(significant(0.000_123_45, 3), "0.000123");
        assert_eq!(significant(10.0, 3), "10");
    }
}
