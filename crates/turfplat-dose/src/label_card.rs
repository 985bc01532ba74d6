//! Why a plan repeats what the label says: rain, wind, clothes and re-entry bind on the day, and
//! whoever entered them in the product file rests on seeing them again. What the file leaves open
//! is named, for silence of a file is no permission.

use turfplat_units::UnitSystem;

use crate::label::Sourced;
use crate::product::{Form, Product};

/// What a product file says of the day on which its product is put down.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelCard {
    /// The product's id.
    pub product: String,
    /// The product's name in print.
    pub name: String,
    /// What is said, in the order of a day's work.
    pub said: Vec<LabelLine>,
    /// What is important and not said: by key of the product file, and in plain words.
    pub not_given: Vec<(&'static str, &'static str)>,
}

/// One thing that a label says.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelLine {
    /// Where it stands in the product file, such as `rain_free`.
    pub key: &'static str,
    /// What it is, in plain words.
    pub what: &'static str,
    /// What is said.
    pub text: String,
    /// Who says so.
    pub source: String,
}

impl LabelLine {
    /// `what to wear: gloves`.
    pub fn sentence(&self) -> String {
        format!("{}: {}", self.what, self.text)
    }
}

/// The keys that a plan repeats, in the order of a day's work.
const KEYS: [&str; 12] = [
    "signal_word",
    "epa_registration",
    "ppe",
    "temperature.at_least",
    "temperature.at_most",
    "wind.at_least",
    "wind.at_most",
    "wind.gust_at_most",
    "drift_buffers",
    "rain_free",
    "watering_in",
    "reentry",
];

impl Product {
    /// What its file says of the day on which it is put down, and what it leaves open.
    ///
    /// * Distances are printed in `units`.
    pub fn label_card(&self, units: UnitSystem) -> LabelCard {
        let facts = self.facts();
        let said = KEYS.iter().filter_map(|&key| {
            let fact = facts.iter().find(|fact| fact.key == key)?;
            let text = match key {
                "drift_buffers" => self.drift_in_words(units)?,
                _ => fact.given.clone()?,
            };
            Some(LabelLine { key: fact.key, what: fact.what, text, source: in_words(&fact.from) })
        });
        let temperature = self.label.coolest.or(self.label.hottest);
        let label = &self.label;
        let wind = label.wind_at_least.or(label.wind_at_most).or(label.gust_at_most);
        let sprayed = self.form != Form::Granule;
        // A fertilizer's bag owes nobody rain, weather and re-entry; what to wear it may say.
        let pesticide = self.is_pesticide();
        let not_given = [
            ("ppe", "what to wear", label.ppe.is_empty()),
            ("reentry", "when people may go back", pesticide && label.reentry.is_none()),
            ("rain_free", "time without rain", pesticide && label.rain_free.is_none()),
            ("temperature", "temperature limits", pesticide && temperature.is_none()),
            ("wind", "wind limits", pesticide && sprayed && wind.is_none()),
            (
                "drift_buffers",
                "drift buffers, downwind",
                pesticide && sprayed && label.drift_buffers.is_empty(),
            ),
        ];
        let not_given = not_given.into_iter().filter(|(_, _, open)| *open);
        LabelCard {
            product: self.id.clone(),
            name: self.name.clone(),
            said: said.collect(),
            not_given: not_given.map(|(key, what, _)| (key, what)).collect(),
        }
    }

    /// A drift buffer bends with the wind of the hour, which no map knows; without it, it is only said.
    fn drift_in_words(&self, units: UnitSystem) -> Option<String> {
        let each = self.label.drift_buffers.iter();
        let each = each.map(|one| format!("{} from {}", one.distance.print(units), one.kind));
        let each: Vec<String> = each.collect();
        (!each.is_empty()).then(|| {
            format!(
                "keep {} where the wind blows towards it; this is not a setback, and areas leave it \
                 out only where they name the wind of the hour",
                each.join(", ")
            )
        })
    }
}

/// `the label, page 3`; `label`; `source not given`.
fn in_words(from: &Sourced) -> String {
    match (from.basis, &from.provenance.source) {
        (Some(basis), None) => format!("{basis}, {}", from.provenance),
        _ => from.provenance.to_string(),
    }
}
