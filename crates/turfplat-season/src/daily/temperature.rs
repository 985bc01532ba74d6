use std::fmt;

use turfplat_units::decimal;

/// A temperature of air or soil, stored in degrees Celsius.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Temperature(f64);

impl Temperature {
    /// Degrees Celsius to one of Fahrenheit: exact, since °C = (°F − 32) / 1.8 by definition.
    /// Source: NIST SP 811 (2008), B.8.
    const FAHRENHEIT_TO_ONE: f64 = 1.8;

    /// The coldest and the hottest air at the ground that was ever recorded, rounded outward.
    /// Source: WMO archive of weather and climate extremes, −89.2 °C (1983) and 56.7 °C (1913);
    /// from memory.
    const RECORDS: (f64, f64) = (-90.0, 60.0);

    /// Returns `None` if `degrees` is infinite or not a number.
    pub fn from_celsius(degrees: f64) -> Option<Temperature> {
        degrees.is_finite().then_some(Temperature(degrees))
    }

    /// As [`Temperature::from_celsius`], in degrees Fahrenheit.
    pub fn from_fahrenheit(degrees: f64) -> Option<Temperature> {
        Temperature::from_celsius((degrees - 32.0) / Temperature::FAHRENHEIT_TO_ONE)
    }

    /// Reads `50 F`, `50°F` or `10 C`; `None` of anything else, and without a unit.
    pub fn read(text: &str) -> Option<Temperature> {
        let text = text.trim();
        let unit = text.chars().next_back()?;
        let number = text[..text.len() - unit.len_utf8()].trim_end_matches(['°', ' ']).trim();
        let number: f64 = number.replace('−', "-").parse().ok()?;
        match unit.to_ascii_uppercase() {
            'F' => Temperature::from_fahrenheit(number),
            'C' => Temperature::from_celsius(number),
            _ => None,
        }
    }

    /// In degrees Celsius.
    pub fn celsius(self) -> f64 {
        self.0
    }

    /// In degrees Fahrenheit.
    pub fn fahrenheit(self) -> f64 {
        self.0 * Temperature::FAHRENHEIT_TO_ONE + 32.0
    }

    /// Halfway between two.
    pub(crate) fn mean(self, other: Temperature) -> Temperature {
        Temperature((self.0 + other.0) / 2.0)
    }

    /// False of what was never measured on earth: a value in another unit, or a code for missing.
    pub(crate) fn is_possible(self) -> bool {
        let (coldest, hottest) = Temperature::RECORDS;
        (coldest..=hottest).contains(&self.0)
    }
}

impl fmt::Display for Temperature {
    /// `50 °F (10 °C)`, to a tenth.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} °F ({} °C)", tenths(self.fahrenheit()), tenths(self.0))
    }
}

/// To a tenth, without a tenth that is none.
fn tenths(degrees: f64) -> String {
    let text = decimal(degrees.abs(), 1);
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if degrees < 0.0 && text != "0" { format!("-{text}") } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperatures_are_read_with_their_unit_alone() {
        #[rustfmt::skip]
        let table = [
            // what, in °C, and where it comes from
            ("32 F",   0.0,   "freezing (NIST SP 811, B.8)"),
            ("212°F",  100.0, "boiling (NIST SP 811, B.8)"),
            ("-40 °F", -40.0, "where both scales meet, by the same formula"),
            ("50 f",   10.0,  "(50 − 32) / 1.8"),
            ("10 C",   10.0,  "as written"),
            ("−5 C",   -5.0,  "with a minus sign of print"),
        ];
        for (text, celsius, source) in table {
            let read = Temperature::read(text).map(Temperature::celsius);
            assert!(
                read.is_some_and(|it| (it - celsius).abs() < 1e-12),
                "{text}: {read:?}, {source}"
            );
        }
        for bad in ["", "50", "F", "50 K", "warm", "5O F", "é"] {
            assert_eq!(Temperature::read(bad), None, "{bad}");
        }
    }

    #[test]
    fn a_temperature_is_printed_in_both_scales() {
        let print = |celsius| Temperature(celsius).to_string();
        assert_eq!(print(10.0), "50 °F (10 °C)");
        assert_eq!(print(-17.8), "0 °F (-17.8 °C)");
    }
}
