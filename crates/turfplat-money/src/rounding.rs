//! Why halves are a choice: some tax tables round them up, some books to even, and a quote must say
//! which, or its last cent cannot be checked.

use rust_decimal::prelude::FromPrimitive;
use rust_decimal::{Decimal, RoundingStrategy};

/// What becomes of an amount half-way between two.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Halves {
    /// The one farther from nothing: 0.125 is 0.13, −0.125 is −0.13.
    #[default]
    Up,
    /// The even one: 0.125 is 0.12, 0.135 is 0.14.
    Even,
}

impl Halves {
    /// `value` to so many decimals.
    pub fn round(self, value: Decimal, decimals: u32) -> Decimal {
        let strategy = match self {
            Halves::Up => RoundingStrategy::MidpointAwayFromZero,
            Halves::Even => RoundingStrategy::MidpointNearestEven,
        };
        value.round_dp_with_strategy(decimals, strategy)
    }

    /// `value` to the nearest multiple of `step`; `None` beyond all measure and of no step.
    pub fn to_multiple(self, value: Decimal, step: Decimal) -> Option<Decimal> {
        let times = self.round(value.checked_div(step)?, 0);
        times.checked_mul(step)
    }

    /// `halves up` or `halves to even`, for people.
    pub fn words(self) -> &'static str {
        match self {
            Halves::Up => "halves up",
            Halves::Even => "halves to even",
        }
    }
}

/// A measured quantity as it stands on paper: to so many decimals, halves up. `None` of less than
/// nothing, of no number, and beyond all measure.
pub fn quantity(value: f64, decimals: u32) -> Option<Decimal> {
    let exact = Decimal::from_f64(value).filter(|it| value >= 0.0 && it.scale() <= 28)?;
    let mut rounded = Halves::Up.round(exact, decimals);
    rounded.rescale(decimals);
    Some(rounded)
}

/// `1,234.50`: as many decimals as `value` has, and commas between thousands.
pub fn grouped(value: Decimal) -> String {
    let plain = value.abs().to_string();
    let (whole, part) = plain.split_once('.').unwrap_or((&plain, ""));
    let mut figure = String::new();
    if value.is_sign_negative() && !value.is_zero() {
        figure.push('-');
    }
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place).is_multiple_of(3) {
            figure.push(',');
        }
        figure.push(digit);
    }
    if part.is_empty() { figure } else { format!("{figure}.{part}") }
}

/// Reads `8.25`; `None` of anything but digits with at most one point between them.
pub fn read_decimal(text: &str) -> Option<Decimal> {
    let (whole, part) = text.split_once('.').unwrap_or((text, "0"));
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    (digits(whole) && digits(part)).then(|| Decimal::from_str_exact(text).ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decimal(text: &str) -> Decimal {
        Decimal::from_str_exact(text).unwrap()
    }

    #[test]
    fn halves_go_where_it_is_said() {
        // Worked by hand. No source; what "half up" and "half even" mean is common practice.
        for (value, decimals, up, even) in [
            ("0.125", 2, "0.13", "0.12"),
            ("0.135", 2, "0.14", "0.14"),
            ("0.1249", 2, "0.12", "0.12"),
            ("-0.125", 2, "-0.13", "-0.12"),
            ("2.5", 0, "3", "2"),
            ("3.5", 0, "4", "4"),
        ] {
            assert_eq!(Halves::Up.round(decimal(value), decimals), decimal(up), "{value}");
            assert_eq!(Halves::Even.round(decimal(value), decimals), decimal(even), "{value}");
        }
    }

    #[test]
    fn totals_go_to_the_nearest_multiple() {
        for (value, step, to) in [
            ("12.32", "0.05", "12.30"),
            ("12.33", "0.05", "12.35"),
            ("12.325", "0.05", "12.35"),
            ("12.50", "1.00", "13.00"),
            ("12.49", "1", "12"),
        ] {
            let rounded = Halves::Up.to_multiple(decimal(value), decimal(step)).unwrap();
            assert_eq!(rounded, decimal(to), "{value} to {step}");
        }
        assert_eq!(Halves::Up.to_multiple(decimal("1"), decimal("0")), None);
    }

    #[test]
    fn quantities_are_rounded_once_and_must_be_numbers() {
        assert_eq!(quantity(4.8005, 3).unwrap().to_string(), "4.801");
        assert_eq!(quantity(5.000000000000001, 3).unwrap().to_string(), "5.000");
        assert_eq!(quantity(0.0, 3).unwrap().to_string(), "0.000");
        for value in [-1.0, f64::NAN, f64::INFINITY, 1e300] {
            assert_eq!(quantity(value, 3), None, "{value}");
        }
    }

    #[test]
    fn decimals_are_digits_and_a_point() {
        assert_eq!(read_decimal("8.25"), Some(decimal("8.25")));
        assert_eq!(read_decimal("8"), Some(decimal("8")));
        for text in ["", "8.", ".5", "8,25", "1e3", "-1", "+1", " 1", "٣", "1_000"] {
            assert_eq!(read_decimal(text), None, "{text}");
        }
    }
}
