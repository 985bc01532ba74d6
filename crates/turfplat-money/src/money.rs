//! Why money is decimal: 0.1 has no binary fraction, and a hundred bags at 39.95 must come to
//! 3,995.00. What is bought is a whole number of containers times a price; only the share of a
//! container that goes on a zone is a ratio of amounts, and that is turned into a decimal before it
//! meets the price.

use std::fmt;

use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;

/// An amount of money in the currency that somebody wrote, if any; never negative.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Money {
    value: Decimal,
    currency: Currency,
}

/// How the currency was written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
enum Currency {
    #[default]
    NotGiven,
    /// `$` before the figure.
    Sign(char),
    /// `USD` behind it.
    Code(String),
}

impl Money {
    /// Reads `39.95`, `$1,299.00` or `39.95 USD`; `None` of anything else, of less than nothing and
    /// of parts of a thousandth.
    pub fn read(text: &str) -> Option<Money> {
        let text = text.trim();
        let sign = text.chars().next().filter(|first| matches!(first, '$' | '€' | '£' | '¥'));
        let rest = sign.map_or(text, |sign| text[sign.len_utf8()..].trim_start());
        let end = rest.find(|c: char| c.is_ascii_alphabetic()).unwrap_or(rest.len());
        let (figure, code) = rest.split_at(end);
        let currency = match (sign, code) {
            (Some(sign), "") => Currency::Sign(sign),
            (None, "") => Currency::NotGiven,
            (None, code) if code.len() == 3 && code.bytes().all(|b| b.is_ascii_uppercase()) => {
                Currency::Code(code.to_owned())
            }
            _ => return None,
        };
        let value = Decimal::from_str_exact(&without_commas(figure.trim())?).ok()?;
        let readable = !value.is_sign_negative() && value.scale() <= 3;
        // A million millions for a container is no price.
        (readable && value < Decimal::from(1_000_000_000_000_u64))
            .then_some(Money { value, currency })
    }

    /// The figure.
    pub fn value(&self) -> Decimal {
        self.value
    }

    /// `$`, `USD`, or nothing where none was written.
    pub fn currency(&self) -> String {
        match &self.currency {
            Currency::NotGiven => String::new(),
            Currency::Sign(sign) => sign.to_string(),
            Currency::Code(code) => code.clone(),
        }
    }

    /// So many times this; `None` beyond all measure.
    pub fn times(&self, count: u64) -> Option<Money> {
        let value = self.value.checked_mul(Decimal::from(count))?;
        Some(Money { value, currency: self.currency.clone() })
    }

    /// The part of this that `ratio`, a ratio of amounts, is; `None` of less than nothing and
    /// beyond all measure.
    pub fn part(&self, ratio: f64) -> Option<Money> {
        let ratio = Decimal::from_f64(ratio).filter(|ratio| !ratio.is_sign_negative())?;
        let value = self.value.checked_mul(ratio)?;
        Some(Money { value, currency: self.currency.clone() })
    }

    /// The sum; `None` of two currencies and beyond all measure.
    pub fn plus(&self, other: &Money) -> Option<Money> {
        let value = self.value.checked_add(other.value).filter(|_| self.same_currency(other))?;
        Some(Money { value, currency: self.currency.clone() })
    }

    /// Whether both were written in one currency, or both in none.
    pub fn same_currency(&self, other: &Money) -> bool {
        self.currency == other.currency
    }
}

/// `1,299.00` without its commas, which may part thousands only.
fn without_commas(figure: &str) -> Option<String> {
    let (whole, part) = figure.split_once('.').unwrap_or((figure, "0"));
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let mut groups = whole.split(',');
    let first = groups.next().unwrap_or_default();
    let rest: Vec<&str> = groups.collect();
    let grouped = rest.is_empty()
        || (first.len() <= 3 && rest.iter().all(|group| group.len() == 3 && digits(group)));
    (digits(first) && digits(part) && grouped).then(|| format!("{first}{}.{part}", rest.concat()))
}

impl fmt::Display for Money {
    /// `$1,299.00`: rounded to hundredths, halves up.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rounded = self
            .value
            .round_dp_with_strategy(2, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
        let plain = format!("{rounded:.2}");
        let (whole, part) = plain.split_once('.').unwrap_or((&plain, "00"));
        let mut grouped = String::new();
        for (place, digit) in whole.chars().enumerate() {
            if place > 0 && (whole.len() - place).is_multiple_of(3) {
                grouped.push(',');
            }
            grouped.push(digit);
        }
        match &self.currency {
            Currency::NotGiven => write!(f, "{grouped}.{part}"),
            Currency::Sign(sign) => write!(f, "{sign}{grouped}.{part}"),
            Currency::Code(code) => write!(f, "{grouped}.{part} {code}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prices_as_people_write_them() {
        for (text, printed) in [
            ("39.95", "39.95"),
            ("$39.95", "$39.95"),
            ("$ 1,299", "$1,299.00"),
            ("129.5 USD", "129.50 USD"),
            ("1234567.891", "1,234,567.89"),
            ("0", "0.00"),
        ] {
            let read = Money::read(text).unwrap_or_else(|| panic!("{text}"));
            assert_eq!(read.to_string(), printed, "{text}");
        }
        for text in [
            "", "free", "-3", "39,95", "1,29.95", "3.", ".5", "$3 USD", "3 usd", "1e3", "0.0001",
            "NaN",
        ] {
            assert_eq!(Money::read(text), None, "{text}");
        }
    }

    #[test]
    fn a_hundred_bags_cost_a_hundred_times_one() {
        let bag = Money::read("$39.95").unwrap();
        assert_eq!(bag.times(100).unwrap().to_string(), "$3,995.00");
        // Worked by hand: three times a third is the whole to the last cent.
        let third = bag.part(1.0 / 3.0).unwrap();
        let sum = third.plus(&third).unwrap().plus(&third).unwrap();
        assert_eq!(sum.to_string(), "$39.95");
        assert_eq!(bag.plus(&Money::read("1 USD").unwrap()), None);
        assert_eq!(bag.part(-1.0), None);
        assert_eq!(bag.part(f64::NAN), None);
    }

    #[test]
    fn a_currency_is_as_it_was_written_and_a_million_millions_are_none() {
        for (text, currency) in [("39.95", ""), ("$39.95", "$"), ("39.95 USD", "USD")] {
            assert_eq!(Money::read(text).unwrap().currency(), currency);
        }
        assert!(Money::read("999,999,999,999.99").is_some());
        assert!(Money::read("1,000,000,000,000").is_none());
    }
}
