use std::fmt;

use turfplat_units::{UnitSystem, decimal};

/// A temperature of the air or of its dew point, stored in degrees Celsius; never infinite.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Celsius(f64);

impl Celsius {
    /// `None` if `degrees` is infinite or not a number.
    pub fn new(degrees: f64) -> Option<Celsius> {
        degrees.is_finite().then_some(Celsius(degrees))
    }

    /// Exact by definition of the Fahrenheit scale. Source: NIST SP 811 (2008), Appendix B.8.
    pub fn from_fahrenheit(degrees: f64) -> Option<Celsius> {
        Celsius::new((degrees - 32.0) / 1.8)
    }

    /// In degrees Celsius.
    pub fn degrees(self) -> f64 {
        self.0
    }

    /// In degrees Fahrenheit.
    pub fn fahrenheit(self) -> f64 {
        self.0 * 1.8 + 32.0
    }

    /// Reads `85 F`, `85 °F` or `30 C`; `None` without a unit.
    pub fn read(text: &str) -> Option<Celsius> {
        let text = text.trim();
        let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-')))?;
        let (number, unit) = text.split_at(end);
        let number: f64 = number.parse().ok()?;
        match unit.trim_start_matches([' ', '°']).trim_end() {
            "F" | "f" => Celsius::from_fahrenheit(number),
            "C" | "c" => Celsius::new(number),
            _ => None,
        }
    }

    /// `72 °F` or `22.2 °C`.
    pub fn print(self, units: UnitSystem) -> String {
        match units {
            UnitSystem::Us => format!("{} °F", decimal(self.fahrenheit(), 0)),
            UnitSystem::Metric => format!("{self}"),
        }
    }
}

impl fmt::Display for Celsius {
    /// `22.2 °C`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} °C", decimal(self.0, 1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_agree_with_published_points() {
        #[rustfmt::skip]
        let table = [
            // text, degrees Celsius, and where it is published
            ("32 F",   0.0,     "ice point, NIST SP 811 B.8: t/°C = (t/°F − 32)/1.8"),
            ("212 °F", 100.0,   "steam point, the same"),
            ("90 F",   32.2222, "worked by hand: 58/1.8"),
            ("-40 C",  -40.0,   "the two scales meet: (−40 − 32)/1.8"),
        ];
        for (text, published, source) in table {
            let ours = Celsius::read(text).expect(text).degrees();
            assert!((ours - published).abs() < 1e-4, "{text}: {ours} ≠ {published}, {source}");
        }
        for unclear in ["90", "hot", "", "90 K", "F"] {
            assert_eq!(Celsius::read(unclear), None, "{unclear}");
        }
        assert_eq!(Celsius::new(f64::NAN), None);
        assert_eq!(Celsius::read("30 C").expect("degrees").print(UnitSystem::Us), "86 °F");
    }
}
