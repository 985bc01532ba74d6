//! Why a currency is more than its code: a price of 100.50 yen cannot be paid, and one of 1.5 dinars
//! has a third decimal. How many decimals an amount has is the currency's, not the writer's.

use std::fmt;

use rust_decimal::Decimal;

use crate::{Halves, grouped};

/// A currency of ISO 4217 in which amounts can be paid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Currency {
    listed: iso_currency::Currency,
    decimals: u32,
}

impl Currency {
    /// Reads a code such as `USD`; `None` of what is not listed, and of what has no smallest unit
    /// (gold, special drawing rights).
    ///
    /// * Source: ISO 4217, list one, as the crate `iso_currency` carries it.
    pub fn read(code: &str) -> Option<Currency> {
        let listed = iso_currency::Currency::from_code(code)?;
        Some(Currency { listed, decimals: listed.exponent()?.into() })
    }

    /// `USD`.
    pub fn code(self) -> &'static str {
        self.listed.code()
    }

    /// How many decimals an amount has: 2 of the dollar, none of the yen, 3 of the Bahraini dinar.
    pub fn decimals(self) -> u32 {
        self.decimals
    }

    /// The smallest amount: `0.01` of the dollar, `1` of the yen.
    pub fn smallest(self) -> Decimal {
        Decimal::new(1, self.decimals)
    }

    /// `value` in whole smallest units.
    pub fn round(self, value: Decimal, halves: Halves) -> Decimal {
        let mut rounded = halves.round(value, self.decimals);
        // 12.5 is paid as 12.50.
        rounded.rescale(self.decimals);
        rounded
    }

    /// True of a sign that is written for this currency and, among those that are read, means it:
    /// `$` of any dollar, `€`, `£`, and `¥` of the yen and the yuan.
    pub fn has_sign(self, sign: &str) -> bool {
        match sign {
            "$" => self.listed.name().ends_with("dollar") || self.listed.name().ends_with("Dollar"),
            "€" => self.code() == "EUR",
            "£" => self.code() == "GBP",
            "¥" => matches!(self.code(), "JPY" | "CNY"),
            _ => false,
        }
    }

    /// `$1,234.50`, `-$5.00`, `¥1,235`, `1,234.50 CAD`: with its decimals, and with more where `value` has
    /// more. A sign stands for one currency alone; of all others the code does.
    pub fn print(self, value: Decimal) -> String {
        let decimals = self.decimals.max(value.normalize().scale());
        let mut padded = value;
        padded.rescale(decimals);
        let figure = grouped(padded.abs());
        let minus = if padded.is_sign_negative() && !padded.is_zero() { "-" } else { "" };
        match self.code() {
            "USD" => format!("{minus}${figure}"),
            "EUR" => format!("{minus}€{figure}"),
            "GBP" => format!("{minus}£{figure}"),
            "JPY" => format!("{minus}¥{figure}"),
            code => format!("{minus}{figure} {code}"),
        }
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn smallest_units_are_those_of_the_standard() {
        // ISO 4217, list one, column "minor unit"; from memory.
        #[rustfmt::skip]
        let table = [
            ("USD", 2), ("EUR", 2), ("GBP", 2), ("CAD", 2), ("AUD", 2), ("CHF", 2), ("MXN", 2), ("INR", 2),
            ("JPY", 0), ("KRW", 0), ("CLP", 0), ("ISK", 0), ("VND", 0), ("XOF", 0), ("XAF", 0), ("PYG", 0),
            ("UGX", 0), ("RWF", 0),
            ("BHD", 3), ("KWD", 3), ("OMR", 3), ("JOD", 3), ("TND", 3), ("IQD", 3), ("LYD", 3),
            ("CLF", 4),
        ];
        for (code, decimals) in table {
            let currency = Currency::read(code).unwrap_or_else(|| panic!("{code}"));
            assert_eq!((currency.code(), currency.decimals()), (code, decimals));
        }
        for code in ["XAU", "XDR", "usd", "US", "", "DOLLAR", "XYZ"] {
            assert_eq!(Currency::read(code), None, "{code}");
        }
    }

    #[test]
    fn amounts_are_printed_with_the_decimals_of_their_currency() {
        let print = |code: &str, value: &str| {
            Currency::read(code).unwrap().print(value.parse::<Decimal>().unwrap())
        };
        for (code, value, printed) in [
            ("USD", "1234.5", "$1,234.50"),
            ("USD", "-5", "-$5.00"),
            ("USD", "0.0125", "$0.0125"),
            ("USD", "-0.00", "$0.00"),
            ("JPY", "1234567", "¥1,234,567"),
            ("CAD", "1234.5", "1,234.50 CAD"),
            ("KWD", "1.5", "1.500 KWD"),
        ] {
            assert_eq!(print(code, value), printed, "{value} {code}");
        }
    }

    #[test]
    fn a_sign_belongs_to_its_currencies() {
        for (code, sign, belongs) in [
            ("USD", "$", true),
            ("CAD", "$", true),
            ("AUD", "$", true),
            ("EUR", "$", false),
            ("EUR", "€", true),
            ("JPY", "¥", true),
            ("CNY", "¥", true),
            ("GBP", "£", true),
            ("EGP", "£", false),
        ] {
            assert_eq!(Currency::read(code).unwrap().has_sign(sign), belongs, "{sign} {code}");
        }
    }
}
