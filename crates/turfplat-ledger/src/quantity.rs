use std::fmt;

use serde::{Deserialize, Serialize};
use turfplat_units::{Amount, Area, Mass, Speed, Volume};

/// An amount as somebody wrote it, and what that is: the text is evidence, the value is for sums.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quantity {
    /// As it was written, such as `5 fl oz`.
    pub written: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    milliliters: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    grams: Option<f64>,
}

impl Quantity {
    /// `amount`, written as `written`.
    pub fn new(written: impl Into<String>, amount: Amount) -> Quantity {
        let (milliliters, grams) = match amount {
            Amount::Volume(volume) => (Some(volume.millilitres()), None),
            Amount::Mass(mass) => (None, Some(mass.grams())),
        };
        Quantity { written: written.into(), milliliters, grams }
    }

    /// The amount; `None` where a file holds neither of the two values, or one that is no amount.
    pub fn amount(&self) -> Option<Amount> {
        match (self.milliliters, self.grams) {
            (Some(value), None) => Volume::from_millilitres(value).map(Amount::Volume),
            (None, Some(value)) => Mass::from_grams(value).map(Amount::Mass),
            _ => None,
        }
    }

    /// The value in milliliters, of a liquid.
    pub(crate) fn milliliters(&self) -> Option<f64> {
        self.milliliters
    }

    /// The value in grams, of what is weighed.
    pub(crate) fn grams(&self) -> Option<f64> {
        self.grams
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written)
    }
}

/// An area as somebody wrote it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ground {
    /// As it was written, such as `4,800 sq ft`.
    pub written: String,
    square_meters: f64,
}

impl Ground {
    /// `area`, written as `written`.
    pub fn new(written: impl Into<String>, area: Area) -> Ground {
        Ground { written: written.into(), square_meters: area.square_metres() }
    }

    /// The area; `None` where a file holds a value that is none.
    pub fn area(&self) -> Option<Area> {
        Area::from_square_metres(self.square_meters)
    }
}

/// A wind speed as somebody wrote it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wind {
    /// As it was written, such as `5 mph`.
    pub written: String,
    meters_per_second: f64,
}

impl Wind {
    /// Reads `5 mph`.
    ///
    /// # Errors
    ///
    /// What [`Speed`] says of a text that is none.
    pub fn read(text: &str) -> Result<Wind, turfplat_units::UnitError> {
        let speed: Speed = text.parse()?;
        let meters_per_second = speed.metres_per_second();
        Ok(Wind { written: text.trim().to_owned(), meters_per_second })
    }

    /// The speed in meters a second.
    pub fn meters_per_second(&self) -> f64 {
        self.meters_per_second
    }
}

/// A temperature of the air as somebody wrote it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Temperature {
    /// As it was written, such as `72 F`.
    pub written: String,
    celsius: f64,
}

impl Temperature {
    /// Reads `72 F`, `72 °F`, `22.5 C`; `None` of a number without its unit and of air in which nobody
    /// works: below −40 °C or above 60 °C, which is most likely the other unit.
    pub fn read(text: &str) -> Option<Temperature> {
        let text = text.trim();
        let number = text.trim_end_matches(|c: char| !c.is_ascii_digit());
        let unit = text[number.len()..].trim().trim_start_matches('°').trim().to_lowercase();
        let number: f64 = number.trim().replace('−', "-").parse().ok()?;
        let celsius = match unit.as_str() {
            // Exact: NIST SP 811, App. B.8.
            "f" | "degf" | "deg f" | "fahrenheit" => (number - 32.0) / 1.8,
            "c" | "degc" | "deg c" | "celsius" => number,
            _ => return None,
        };
        let is_air = (-40.0..=60.0).contains(&celsius);
        is_air.then(|| Temperature { written: text.to_owned(), celsius })
    }

    /// The temperature in degrees Celsius.
    pub fn celsius(&self) -> f64 {
        self.celsius
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperatures_agree_with_the_definition() {
        // NIST SP 811, App. B.8: t/°C = (t/°F − 32)/1.8; 68 °F is 20 °C, −40 is −40.
        for (text, celsius) in [("68 F", 20.0), ("68°F", 20.0), ("-40 F", -40.0), ("22.5 °C", 22.5)]
        {
            let read = Temperature::read(text).expect(text);
            assert!((read.celsius() - celsius).abs() < 1e-12, "{text}");
            assert_eq!(read.written, text);
        }
        for text in ["72", "72 K", "", "F", "75 C", "hot", "200 F", "NaN F"] {
            assert_eq!(Temperature::read(text), None, "{text}");
        }
    }
}
