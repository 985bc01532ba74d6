//! What a label says beside its rates: spray, weather, protection, and who says so.

use std::collections::BTreeMap;

use turfplat_units::{Amount, Of, Speed, WrittenRate};

use crate::error::DoseError;
use crate::label::{
    Hours, LabelFacts, SignalWord, Sourced, SprayVolume, Temperature, is_epa_registration,
};
use crate::names::close;
use crate::product_file::{At, setback};
use crate::product_toml::{OneOrMore, SourceEntry, TemperatureEntry, WindEntry};
use crate::provenance::Basis;

impl At<'_> {
    fn spray_volume(&self, volume: OneOrMore) -> Result<SprayVolume, DoseError> {
        let range = self.range("spray_volume", volume)?;
        let by_volume =
            |rate: &WrittenRate| matches!(rate.unit.amount.of(1.0), Some(Amount::Volume(_)));
        let most = range.highest;
        let ends_by_volume = by_volume(&range.lowest) && most.as_ref().is_none_or(by_volume);
        if range.lowest.of != Of::Product || !ends_by_volume {
            let write = "a volume on an area, such as \"1 gal/1000 sq ft\"";
            return Err(self.value("spray_volume".into(), &range.text, write));
        }
        Ok(SprayVolume { least: range.lowest, most, text: range.text })
    }

    fn sourced(&self, key: String, entry: SourceEntry) -> Result<(String, Sourced), DoseError> {
        if !SOURCED_KEYS.contains(&key.as_str()) {
            let write = match close(&key, SOURCED_KEYS).first() {
                Some(near) => format!("{near:?}"),
                None => format!("one of: {}", SOURCED_KEYS.join(", ")),
            };
            return Err(self.value("sources".into(), &key, write));
        }
        let place = format!("sources.{key}.");
        let basis = entry
            .basis
            .map(|text| self.one_of(format!("{place}basis"), &text, Basis::KNOWN))
            .transpose()?;
        let provenance = self.provenance(&place, (entry.source, entry.status, entry.read))?;
        Ok((key, Sourced { basis, provenance }))
    }
}

/// What the label says beside rates, as the file writes it.
pub(crate) struct Said {
    pub(crate) spray_volume: Option<OneOrMore>,
    pub(crate) rain_free: Option<String>,
    pub(crate) temperature: TemperatureEntry,
    pub(crate) wind: WindEntry,
    pub(crate) watering_in: Option<String>,
    pub(crate) drift_buffers: BTreeMap<String, String>,
    pub(crate) signal_word: Option<String>,
    pub(crate) ppe: Vec<String>,
    pub(crate) reentry: Option<String>,
    pub(crate) epa_registration: Option<String>,
    pub(crate) basis: Option<String>,
    pub(crate) sources: BTreeMap<String, SourceEntry>,
}

pub(crate) fn label_facts(at: &At<'_>, said: Said) -> Result<LabelFacts, DoseError> {
    let degrees = "degrees with their unit, such as \"85 F\" or \"30 C\"";
    let coolest =
        at.optional("temperature.at_least", said.temperature.at_least, Temperature::read, degrees)?;
    let hottest = at.optional(
        "temperature.at_most",
        said.temperature.at_most.clone(),
        Temperature::read,
        degrees,
    )?;
    if coolest.zip(hottest).is_some_and(|(least, most)| least >= most) {
        let text = said.temperature.at_most.unwrap_or_default();
        return Err(at.value(
            "temperature.at_most".into(),
            &text,
            "a higher temperature than at_least, or leave one of them out",
        ));
    }
    let speed = |key: &str, text: Option<String>| {
        let write = "a speed with its unit, such as \"10 mph\" or \"16 km/h\"";
        at.optional(key, text, |text| text.parse::<Speed>().ok(), write)
    };
    let wind_at_least = speed("wind.at_least", said.wind.at_least)?;
    let wind_at_most = speed("wind.at_most", said.wind.at_most.clone())?;
    if wind_at_least.zip(wind_at_most).is_some_and(|(least, most)| least >= most) {
        let text = said.wind.at_most.unwrap_or_default();
        let write = "a stronger wind than at_least, or leave one of them out";
        return Err(at.value("wind.at_most".into(), &text, write));
    }
    Ok(LabelFacts {
        spray_volume: said.spray_volume.map(|range| at.spray_volume(range)).transpose()?,
        rain_free: at.optional(
            "rain_free",
            said.rain_free,
            Hours::read,
            "hours, such as \"6 h\"",
        )?,
        coolest,
        hottest,
        wind_at_least,
        wind_at_most,
        gust_at_most: speed("wind.gust_at_most", said.wind.gust_at_most)?,
        watering_in: said.watering_in,
        drift_buffers: (said.drift_buffers.into_iter())
            .map(|(kind, text)| setback(at, "drift_buffers", kind, &text))
            .collect::<Result<_, _>>()?,
        signal_word: (said.signal_word.as_deref())
            .map(|text| at.one_of("signal_word".into(), text, SignalWord::KNOWN))
            .transpose()?,
        ppe: said.ppe,
        reentry: said.reentry,
        epa_registration: at.optional(
            "epa_registration",
            said.epa_registration,
            |text| is_epa_registration(text.trim()).then(|| text.trim().to_owned()),
            "the numbers behind \"EPA Reg. No.\", such as \"12345-678\"",
        )?,
        basis: said.basis.map(|text| at.one_of("basis".into(), &text, Basis::KNOWN)).transpose()?,
        sources: (said.sources.into_iter())
            .map(|(key, entry)| at.sourced(key, entry))
            .collect::<Result<_, _>>()?,
    })
}

/// The keys of a product file that may have a source of their own. Rates, limits, states of turf
/// and cautions say theirs where they stand.
const SOURCED_KEYS: [&str; 16] = [
    "class",
    "formulation",
    "active_ingredients",
    "density",
    "analysis",
    "spray_volume",
    "rain_free",
    "temperature",
    "wind",
    "watering_in",
    "setbacks",
    "drift_buffers",
    "signal_word",
    "ppe",
    "reentry",
    "epa_registration",
];
