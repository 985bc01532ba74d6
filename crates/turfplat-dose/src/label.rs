//! Why what a label says beside rates and caps is kept with its own sources: a plan shows when
//! rain may fall and what to wear, and somebody must be able to ask who said so. What the
//! label does not say stays `None`; silence of a file is no permission.

use std::collections::BTreeMap;
use std::fmt;

use turfplat_units::{Rate, Speed, WrittenRate, significant};

use crate::product::{LabelSetback, Product, words};
use crate::provenance::{Basis, Provenance};

/// What a label says beside rates, caps and setbacks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LabelFacts {
    /// How much water carries it.
    pub spray_volume: Option<SprayVolume>,
    /// How long it must stay dry.
    pub rain_free: Option<Hours>,
    /// Not when it is cooler.
    pub coolest: Option<Temperature>,
    /// Not when it is hotter.
    pub hottest: Option<Temperature>,
    /// Not in less wind.
    pub wind_at_least: Option<Speed>,
    /// Not in more wind.
    pub wind_at_most: Option<Speed>,
    /// Not in stronger gusts.
    pub gust_at_most: Option<Speed>,
    /// Whether and how it is watered in, in the label's words.
    pub watering_in: Option<String>,
    /// Distances kept downwind only; never setbacks, which are kept in all directions.
    pub drift_buffers: Vec<LabelSetback>,
    /// How the label calls to attention.
    pub signal_word: Option<SignalWord>,
    /// What to wear.
    pub ppe: Vec<String>,
    /// When people may go back, in the label's words.
    pub reentry: Option<String>,
    /// EPA registration number, as `12345-678`.
    pub epa_registration: Option<String>,
    /// What the values of the file rest on as a whole.
    pub basis: Option<Basis>,
    /// Who says single values, by key of the file.
    pub sources: BTreeMap<String, Sourced>,
}

/// Who says a value, and what it rests on.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sourced {
    /// What it rests on; `None` where it is not given.
    pub basis: Option<Basis>,
    /// Who says so.
    pub provenance: Provenance,
}

impl Product {
    /// Who says the value of a key of the product file, and what it rests on: its own source
    /// or that of the whole file.
    pub fn source_of(&self, key: &str) -> Sourced {
        let whole = || Sourced { basis: self.label.basis, provenance: self.provenance.clone() };
        self.label.sources.get(key).cloned().unwrap_or_else(whole)
    }
}

/// The spray volume that a label asks for: the least, or from the least to the most.
#[derive(Clone, Debug, PartialEq)]
pub struct SprayVolume {
    /// At least.
    pub least: WrittenRate,
    /// At most; `None` where the label gives one figure, which is the least.
    pub most: Option<WrittenRate>,
    /// As the file writes it.
    pub text: String,
}

impl SprayVolume {
    /// True of a volume that the label asks for; of one figure, which is the least, up to twice it.
    pub(crate) fn admits(&self, volume: Rate) -> bool {
        let times = |end: &WrittenRate| volume.over(end.rate().ok()?);
        let most = self.most.as_ref().map_or_else(|| times(&self.least).map(|it| it / 2.0), times);
        times(&self.least).is_some_and(|it| it > 1.0 - 1e-9)
            && most.is_some_and(|it| it < 1.0 + 1e-9)
    }
}

/// A time of some hours.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Hours(f64);

impl Hours {
    /// Reads `6 h`, `6 hours`, `30 min` or `2 days`; `None` without a unit.
    pub fn read(text: &str) -> Option<Hours> {
        let (number, unit) = number_and_unit(text)?;
        let hours = match unit.as_str() {
            "h" | "hr" | "hrs" | "hour" | "hours" => 1.0,
            "min" | "minute" | "minutes" => 1.0 / 60.0,
            "d" | "day" | "days" => 24.0,
            _ => return None,
        };
        (number >= 0.0).then_some(Hours(number * hours))
    }

    /// How many they are.
    pub fn hours(self) -> f64 {
        self.0
    }
}

impl fmt::Display for Hours {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} h", significant(self.0, 3))
    }
}

/// A temperature of the air, stored in degrees Celsius.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Temperature(f64);

impl Temperature {
    /// Reads `85 F`, `85 °F` or `30 C`; `None` without a unit.
    pub fn read(text: &str) -> Option<Temperature> {
        let (number, unit) = number_and_unit(text)?;
        match unit.trim_start_matches(['°', ' ']) {
            // Exact by definition of the Fahrenheit scale (NIST SP 811, B.8).
            "f" => Some(Temperature((number - 32.0) / 1.8)),
            "c" => Some(Temperature(number)),
            _ => None,
        }
    }

    /// In degrees Celsius.
    pub fn celsius(self) -> f64 {
        self.0
    }

    /// In degrees Fahrenheit.
    pub fn fahrenheit(self) -> f64 {
        self.0 * 1.8 + 32.0
    }
}

impl fmt::Display for Temperature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let whole = |degrees: f64| format!("{:.0}", degrees);
        write!(f, "{} °F ({} °C)", whole(self.fahrenheit()), whole(self.0))
    }
}

fn number_and_unit(text: &str) -> Option<(f64, String)> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))?;
    let (number, unit) = text.split_at(end);
    let number: f64 = number.parse().ok()?;
    number.is_finite().then(|| (number, unit.trim().to_lowercase()))
}

/// How a label calls to attention. Source: 40 CFR 156.64.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // The label's words say it.
pub enum SignalWord {
    Danger,
    Warning,
    Caution,
    /// The label needs none.
    NoneRequired,
}

words!(SignalWord, "danger, warning, caution, none required",
    Danger => "danger",
    Warning => "warning",
    Caution => "caution",
    NoneRequired => "none required",
);

/// Whether a text is an EPA registration number: company and product, perhaps a distributor.
/// Source: 40 CFR 156.10(e).
pub(crate) fn is_epa_registration(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    (2..=3).contains(&parts.len())
        && parts.iter().all(|part| {
            (1..=7).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit())
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_and_temperatures_carry_a_unit() {
        assert_eq!(Hours::read("6 h").map(Hours::hours), Some(6.0));
        assert_eq!(Hours::read("30 min").map(Hours::hours), Some(0.5));
        assert_eq!(Hours::read("2 days").map(Hours::hours), Some(48.0));
        for unclear in ["6", "-1 h", "six h", "", "h", "6 m"] {
            assert_eq!(Hours::read(unclear), None, "{unclear}");
        }
        // 90 °F = (90 − 32) / 1.8 = 32.22 °C, worked by hand.
        assert!((Temperature::read("90 °F").unwrap().celsius() - 32.222).abs() < 1e-3);
        assert_eq!(Temperature::read("30 C").map(Temperature::celsius), Some(30.0));
        assert_eq!(Temperature::read("90"), None, "90 of what?");
        assert_eq!(Temperature::read("90 F").unwrap().to_string(), "90 °F (32 °C)");
    }

    #[test]
    fn a_registration_number_is_two_or_three_numbers() {
        for good in ["100-1", "12345-678", "12345-678-91011"] {
            assert!(is_epa_registration(good), "{good}");
        }
        for bad in ["12345", "EPA 1-2", "1-2-3-4", "12-", "a-1"] {
            assert!(!is_epa_registration(bad), "{bad}");
        }
    }
}
