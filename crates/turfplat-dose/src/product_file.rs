//! Why a product file is read twice over: once as TOML, where a misspelt key is caught by
//! name and line, and once as a product, where every text (`1 lb/gal`, `0.3 fl oz/1000 sq
//! ft`) becomes a quantity or a message that says which key to change.

use std::collections::BTreeMap;
use std::str::FromStr;

use turfplat_units::{Amount, Length, Of, UnitError, WrittenRate, significant};

use crate::buying::{ContainerText, containers};
use crate::date::is_date;
use crate::error::DoseError;
use crate::label::{
    Hours, LabelFacts, SignalWord, Sourced, SprayVolume, Temperature, is_epa_registration,
};
use crate::label_use::differ;
use crate::names::{close, folded};
use crate::product::{
    ActiveIngredient, Caution, Form, Formulation, Interval, LabelSetback, Limits, Product,
    ProductClass, RateLimit, Unfit,
};
use crate::product_toml::{
    AnalysisEntry, File, IngredientEntry, LimitEntry, LimitsEntry, OneOrMore, Percent, Price,
    RateEntry, SourceEntry, TemperatureEntry, UnfitEntry,
};
use crate::provenance::{Basis, Provenance, Status};
use crate::published::{self, PublishedRate};
use crate::rules::SETBACK_KINDS;
use crate::species::find_species;
use crate::strength::{Analysis, Content, Density, percent, share};
use crate::year::LabelYear;
use crate::zone::Condition;

/// Where a message points: a key of one product's file.
struct At<'a> {
    product: &'a str,
}

impl At<'_> {
    fn value(&self, key: String, text: &str, write: impl Into<String>) -> DoseError {
        DoseError::ProductValue {
            product: self.product.to_owned(),
            key,
            text: text.to_owned(),
            write: write.into(),
        }
    }

    fn one_of<T: FromStr>(&self, key: String, text: &str, known: &str) -> Result<T, DoseError> {
        text.parse().map_err(|_| self.value(key, text, format!("one of: {known}")))
    }

    fn rate(&self, key: String, text: &str) -> Result<WrittenRate, DoseError> {
        text.parse().map_err(|reason| DoseError::ProductQuantity {
            product: self.product.to_owned(),
            key,
            reason,
        })
    }

    fn share(&self, key: &str, entry: &Percent) -> Result<f64, DoseError> {
        // A bare 0.7 may be 0.7 % or, as a share of 1, 70 %.
        if let Percent::Number(number) = entry
            && (0.0..1.0).contains(number)
            && *number != 0.0
        {
            let (percent, hundred) = (number, significant(number * 100.0, 6));
            let write = format!("\"{percent} %\" or \"{hundred} %\", whichever the label means");
            return Err(self.value(key.into(), &number.to_string(), write));
        }
        let (read, text) = match entry {
            Percent::Number(number) => (percent(*number), number.to_string()),
            Percent::Text(text) => (share(text), text.clone()),
        };
        read.ok_or_else(|| self.value(key.into(), &text, r#"a percentage, such as "46 %""#))
    }

    fn provenance(
        &self,
        place: &str,
        (source, status, read): (Option<String>, Option<String>, Option<String>),
    ) -> Result<Provenance, DoseError> {
        let status = status
            .map(|text| self.one_of(format!("{place}status"), &text, Status::KNOWN))
            .transpose()?;
        Ok(Provenance { source, status, read })
    }

    fn limit(&self, key: &str, entry: LimitEntry) -> Result<RateLimit, DoseError> {
        Ok(RateLimit {
            rate: self.rate(format!("limits.{key}.limit"), &entry.limit)?,
            text: entry.limit,
            provenance: self
                .provenance(&format!("limits.{key}."), (entry.source, entry.status, entry.read))?,
        })
    }

    fn cap(
        &self,
        key: &str,
        entry: Option<LimitEntry>,
        counts: impl Fn(&Of) -> bool,
    ) -> Result<Option<RateLimit>, DoseError> {
        let Some(entry) = entry else { return Ok(None) };
        let limit = self.limit(key, entry)?;
        if !counts(&limit.rate.of) {
            let write = if key.contains("nitrogen") {
                "it of nitrogen, such as \"0.9 lb N/1000 sq ft\""
            } else {
                "it of active ingredient, such as \"0.5 lb a.i./A\""
            };
            return Err(self.value(format!("limits.{key}.limit"), &limit.text, write));
        }
        Ok(Some(limit))
    }

    fn form_fits(&self, form: Form, formulation: Formulation) -> Result<(), DoseError> {
        // Soluble granules of fertilizer are dissolved and sprayed too, so that pair may stand.
        // Water conditioners come dry and liquid.
        let dissolved = form == Form::DrySoluble
            && matches!(formulation, Formulation::Granule | Formulation::WaterConditioner);
        if formulation.form() == form || dissolved {
            return Ok(());
        }
        let write =
            format!("{:?}, or another formulation than {formulation}", formulation.form().word());
        Err(self.value("form".into(), form.word(), write))
    }

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

    fn interval(&self, entry: LimitEntry) -> Result<Interval, DoseError> {
        let days = whole_days(&entry.limit).ok_or_else(|| {
            self.value(
                "limits.min_interval.limit".into(),
                &entry.limit,
                r#"whole days, such as "28 days""#,
            )
        })?;
        let provenance =
            self.provenance("limits.min_interval.", (entry.source, entry.status, entry.read))?;
        Ok(Interval { days, provenance })
    }

    /// One rate, or the lowest and the highest.
    fn range(&self, key: &str, rates: OneOrMore) -> Result<RateRange, DoseError> {
        let texts = rates.all();
        let read = |text: &str| self.rate(key.to_owned(), text);
        match texts.as_slice() {
            [only] => {
                if let (Err(UnitError::Range(_)), Some(list)) =
                    (only.parse::<WrittenRate>(), as_list(only))
                {
                    return Err(self.value(key.to_owned(), only, format!("a range as {list}")));
                }
                Ok(RateRange { lowest: read(only)?, highest: None, text: only.clone() })
            }
            [low, high] => {
                let (lowest, highest) = (read(low)?, read(high)?);
                if !rises(&lowest, &highest) {
                    let text = format!("{low} to {high}");
                    let write = "the lowest rate, then the highest, both of one kind of unit";
                    return Err(self.value(key.to_owned(), &text, write));
                }
                let text = between(low, high);
                Ok(RateRange { lowest, highest: Some(highest), text })
            }
            several => {
                let write = "one figure, or the lowest and the highest";
                Err(self.value(key.to_owned(), &several.join(", "), write))
            }
        }
    }

    /// Refuses two label rates for one grass under two names: neither name says that they are one.
    fn one_name_a_grass(&self, rates: &[PublishedRate]) -> Result<(), DoseError> {
        for (place, later) in rates.iter().enumerate().filter(|(_, it)| it.basis == Basis::Label) {
            let same = |earlier: &&PublishedRate| {
                let shared = earlier.species.iter().any(|one| later.species.contains(one));
                earlier.basis == Basis::Label
                    && shared
                    && folded(&earlier.printed_species) != folded(&later.printed_species)
                    && earlier.species.len() == 1
                    && later.species.len() == 1
                    && !differ(earlier, later)
                    && earlier.text != later.text
            };
            if let Some(earlier) = rates[..place].iter().find(same) {
                let write = format!(
                    "one rate for it: it is {:?} of an earlier row, which says {}",
                    earlier.printed_species,
                    earlier.text.as_deref().unwrap_or_default()
                );
                let key = format!("rates[{place}].species");
                return Err(self.value(key, &later.printed_species, write));
            }
        }
        Ok(())
    }

    fn heights(&self, key: &str, heights: OneOrMore) -> Result<String, DoseError> {
        let texts = heights.all();
        let lengths: Vec<Length> =
            texts.iter().map(|text| self.length(key.to_owned(), text)).collect::<Result<_, _>>()?;
        match (texts.as_slice(), lengths.as_slice()) {
            ([only], _) => Ok(only.clone()),
            ([low, high], [least, most]) if least.metres() < most.metres() => {
                Ok(format!("{low} to {high}"))
            }
            _ => {
                let write = "one height, such as \"0.5 in\", or the lowest and the highest";
                Err(self.value(key.to_owned(), &texts.join(", "), write))
            }
        }
    }

    fn length(&self, key: String, text: &str) -> Result<Length, DoseError> {
        let product = self.product.to_owned();
        text.parse().map_err(|reason| DoseError::ProductQuantity { product, key, reason })
    }

    fn optional<T>(
        &self,
        key: &str,
        text: Option<String>,
        read: impl Fn(&str) -> Option<T>,
        write: &str,
    ) -> Result<Option<T>, DoseError> {
        let Some(text) = text else { return Ok(None) };
        read(&text).map(Some).ok_or_else(|| self.value(key.to_owned(), &text, write))
    }

    fn published(&self, place: usize, entry: RateEntry) -> Result<PublishedRate, DoseError> {
        let key = |field: &str| format!("rates[{place}].{field}");
        let names = entry.species.all();
        let species = names
            .iter()
            .map(|name| {
                find_species(name).map_err(|reason| DoseError::ProductSpecies {
                    product: self.product.to_owned(),
                    key: key("species"),
                    reason: Box::new(reason),
                })
            })
            .collect::<Result<_, _>>()?;
        let basis: Basis = self.one_of(key("basis"), &entry.basis, Basis::KNOWN)?;
        let range = entry.rate.map(|rate| self.range(&key("rate"), rate)).transpose()?;
        if range.is_none() != (basis == Basis::Gap) {
            let write = "a rate, and basis \"gap\" only where none was found";
            let text = range.map_or_else(String::new, |range| range.text);
            return Err(self.value(key("rate"), &text, write));
        }
        let mowing_height = entry
            .mowing_height
            .map(|heights| self.heights(&key("mowing_height"), heights))
            .transpose()?;
        Ok(PublishedRate {
            species,
            printed_species: names.join(", "),
            site: entry.r#use,
            text: range.as_ref().map(|range| range.text.clone()),
            highest: range.as_ref().and_then(|range| range.highest.clone()),
            rate: range.map(|range| range.lowest),
            mowing_height,
            interval: entry.interval,
            basis,
            provenance: self.provenance(&key(""), (entry.source, entry.status, entry.read))?,
            note: entry.note,
        })
    }
}

impl Product {
    /// Reads a product file: a table as in `data/products/`.
    ///
    /// # Errors
    ///
    /// The first thing that must be changed in the file, with its line or key.
    pub fn from_toml(text: &str) -> Result<Product, DoseError> {
        let file: File = toml::from_str(text).map_err(|error| {
            let before = error.span().and_then(|span| text.get(..span.start));
            DoseError::ProductToml {
                line: before.map_or(1, |before| before.matches('\n').count() + 1),
                reason: in_plain_words(error.message().trim()),
            }
        })?;
        let mut product = settled(file)?;
        product.rates.extend(published::published_for(&product));
        for (place, rate) in product.rates.iter().enumerate() {
            if let (Basis::Label, Some(written)) = (rate.basis, &rate.rate) {
                product.rate_of(written).map_err(|reason| DoseError::ProductRate {
                    product: product.id.clone(),
                    key: format!("rates[{place}].rate"),
                    reason: Box::new(reason),
                })?;
            }
        }
        Ok(product)
    }
}

/// Rates of the lowest and the highest.
struct RateRange {
    lowest: WrittenRate,
    highest: Option<WrittenRate>,
    text: String,
}

/// `28 days` or `4 weeks`; a bare number does not say which.
fn whole_days(text: &str) -> Option<u32> {
    let units = [("days", 1), ("day", 1), ("weeks", 7), ("week", 7)];
    let (number, each) = units
        .into_iter()
        .find_map(|(unit, each)| Some((text.trim().strip_suffix(unit)?.trim_end(), each)))?;
    number.parse::<u32>().ok()?.checked_mul(each)
}

/// `["0.3 fl oz/A", "0.5 fl oz/A"]` of `0.3-0.5 fl oz/A`, with the unit at both ends.
fn as_list(text: &str) -> Option<String> {
    let (low, high) = ["–", " to ", "-"].into_iter().find_map(|to| text.split_once(to))?;
    let (low, high) = (low.trim(), high.trim());
    let unit =
        high.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '/'));
    let low = match low.parse::<WrittenRate>() {
        Ok(_) => low.to_owned(),
        Err(_) => format!("{low} {}", unit.trim()),
    };
    let both = [low, high.to_owned()];
    let read = both.iter().all(|text| text.parse::<WrittenRate>().is_ok());
    read.then(|| format!("[{:?}, {:?}]", both[0], both[1]))
}

/// True of two rates of one kind of which the second is the higher.
fn rises(low: &WrittenRate, high: &WrittenRate) -> bool {
    // "oz" is weight in both or in neither, so for the comparison it may be taken as weight.
    let rates = low.rate_by_weight().ok().zip(high.rate_by_weight().ok());
    low.of == high.of
        && rates.and_then(|(low, high)| high.over(low)).is_some_and(|times| times > 1.0)
}

/// `0.2 to 0.4 fl oz/1000 sq ft`, the unit once where it is the same.
fn between(low: &str, high: &str) -> String {
    let (low, high) = (low.trim(), high.trim());
    match (low.split_once(' '), high.split_once(' ')) {
        (Some((number, unit)), Some((_, other))) if unit == other => format!("{number} to {high}"),
        _ => format!("{low} to {high}"),
    }
}

/// What serde says of a key that it does not know, with the nearest that it knows.
fn in_plain_words(message: &str) -> String {
    let plain = message.replace('\n', " ");
    let mut quoted = plain.split('`').skip(1).step_by(2);
    let (true, Some(unknown)) = (plain.starts_with("unknown field"), quoted.next()) else {
        return plain;
    };
    let known: Vec<&str> = quoted.collect();
    match close(unknown, known.iter().copied()).first() {
        Some(near) => format!("unknown key {unknown:?}; did you mean {near:?}?"),
        None => format!("unknown key {unknown:?}; known here are: {}", known.join(", ")),
    }
}

fn settled(file: File) -> Result<Product, DoseError> {
    let at = At { product: &file.id };
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if file.id.is_empty() || !file.id.chars().all(plain) {
        let write = "small letters, digits and hyphens, such as \"urea-46-0-0\"";
        return Err(at.value("id".into(), &file.id, write));
    }
    let class: Option<ProductClass> = (file.class.as_deref())
        .map(|text| at.one_of("class".into(), text, ProductClass::KNOWN))
        .transpose()?;
    let form: Form = at.one_of("form".into(), &file.form, Form::KNOWN)?;
    let formulation: Option<Formulation> = (file.formulation.as_deref())
        .map(|text| at.one_of("formulation".into(), text, Formulation::KNOWN))
        .transpose()?;
    if let Some(formulation) = formulation {
        at.form_fits(form, formulation)?;
    }
    let active_ingredients = (file.active_ingredients.into_iter().enumerate())
        .map(|(place, entry)| ingredient(&at, place, entry))
        .collect::<Result<_, _>>()?;
    let density = file
        .density
        .map(|text| {
            Density::read(&text).ok_or_else(|| {
                at.value("density".into(), &text, "a weight in a volume, such as \"9.1 lb/gal\"")
            })
        })
        .transpose()?;
    let rates = (file.rates.into_iter().enumerate())
        .map(|(place, entry)| at.published(place, entry))
        .collect::<Result<Vec<_>, _>>()?;
    at.one_name_a_grass(&rates)?;
    if let Some(text) = &file.label_checked
        && !is_date(text)
    {
        return Err(at.value("label_checked".into(), text, "a date, such as \"2026-05-02\""));
    }
    if file.label_checked.is_none() && rates.iter().any(|rate| rate.basis == Basis::Label) {
        return Err(DoseError::LabelRateWithoutDate { product: file.id });
    }
    let label = label_facts(
        &at,
        Said {
            spray_volume: file.spray_volume,
            rain_free: file.rain_free,
            temperature: file.temperature,
            watering_in: file.watering_in,
            drift_buffers: file.drift_buffers,
            signal_word: file.signal_word,
            ppe: file.ppe,
            reentry: file.reentry,
            epa_registration: file.epa_registration,
            basis: file.basis,
            sources: file.sources,
        },
    )?;
    let product = Product {
        name: file.name,
        class,
        form,
        formulation,
        active_ingredients,
        density,
        analysis: file.analysis.map(|entry| analysis(&at, &entry)).transpose()?,
        rates,
        limits: limits(&at, file.limits)?,
        label,
        setbacks: (file.setbacks.into_iter())
            .map(|(kind, text)| setback(&at, "setbacks", kind, &text))
            .collect::<Result<_, _>>()?,
        unfit: (file.unfit.into_iter().enumerate())
            .map(|(place, entry)| unfit(&at, place, entry))
            .collect::<Result<_, _>>()?,
        cautions: (file.cautions.into_iter().enumerate())
            .map(|(place, entry)| {
                let from = (entry.source, entry.status, entry.read);
                let provenance = at.provenance(&format!("cautions[{place}]."), from)?;
                Ok(Caution { text: entry.text, provenance })
            })
            .collect::<Result<_, DoseError>>()?,
        containers: containers(
            &file.id,
            form,
            file.containers.into_iter().map(|entry| ContainerText {
                size: entry.size,
                price: entry.price.map(Price::into_text),
            }),
        )?,
        label_checked: file.label_checked,
        // Of a rate, and so the job's to say.
        rate_is_right: None,
        provenance: at.provenance("", (file.source, file.status, file.read))?,
        id: file.id,
    };
    Ok(product)
}

fn ingredient(
    at: &At<'_>,
    place: usize,
    entry: IngredientEntry,
) -> Result<ActiveIngredient, DoseError> {
    let content = match &entry.content {
        None => None,
        Some(text) => Some(Content::read(&without_basis(text).0).ok_or_else(|| {
            let key = format!("active_ingredients[{place}].content");
            at.value(key, text, "a content, such as \"1 lb/gal\", \"3.8 lb a.e./gal\" or \"46 %\"")
        })?),
    };
    let acid_equivalent = entry.content.as_deref().is_some_and(|text| without_basis(text).1);
    Ok(ActiveIngredient { name: entry.name, content_text: entry.content, content, acid_equivalent })
}

/// A content without the words for what it counts, and whether that is the acid equivalent.
fn without_basis(text: &str) -> (String, bool) {
    let text = text.to_lowercase();
    for (word, is_acid) in [(" a.e.", true), (" ae", true), (" a.i.", false), (" ai", false)] {
        if let Some((before, after)) = text.split_once(word) {
            return (format!("{before}{after}"), is_acid);
        }
    }
    (text, false)
}

fn analysis(at: &At<'_>, entry: &AnalysisEntry) -> Result<Analysis, DoseError> {
    let analysis = Analysis {
        n: at.share("analysis.n", &entry.n)?,
        p2o5: at.share("analysis.p2o5", &entry.p2o5)?,
        k2o: at.share("analysis.k2o", &entry.k2o)?,
        soluble_n_share: entry
            .soluble_n_share
            .as_ref()
            .map(|share| at.share("analysis.soluble_n_share", share))
            .transpose()?,
    };
    if analysis.n + analysis.p2o5 + analysis.k2o > 1.0 {
        let write = "nutrients that come to at most 100 % together";
        return Err(at.value("analysis".into(), &analysis.grade(), write));
    }
    Ok(analysis)
}

fn setback(at: &At<'_>, key: &str, kind: String, text: &str) -> Result<LabelSetback, DoseError> {
    if !SETBACK_KINDS.contains(&kind.as_str()) {
        let write = format!("one of: {}", SETBACK_KINDS.join(", "));
        return Err(at.value(key.into(), &kind, write));
    }
    let distance = at.length(format!("{key}.{kind}"), text)?;
    Ok(LabelSetback { kind, distance })
}

fn limits(at: &At<'_>, entry: LimitsEntry) -> Result<Limits, DoseError> {
    let any = |_: &Of| true;
    let active = |of: &Of| matches!(of, Of::ActiveIngredient | Of::AcidEquivalent);
    let nitrogen = |of: &Of| *of == Of::Nutrient("N");
    Ok(Limits {
        max_per_application: at.cap("max_per_application", entry.max_per_application, any)?,
        max_active_per_application: at.cap(
            "max_active_per_application",
            entry.max_active_per_application,
            active,
        )?,
        max_nitrogen_per_application: at.cap(
            "max_nitrogen_per_application",
            entry.max_nitrogen_per_application,
            nitrogen,
        )?,
        max_per_year: at.cap("max_per_year", entry.max_per_year, any)?,
        max_active_per_year: at.cap("max_active_per_year", entry.max_active_per_year, active)?,
        max_nitrogen_per_year: at.cap(
            "max_nitrogen_per_year",
            entry.max_nitrogen_per_year,
            nitrogen,
        )?,
        year: (entry.year.as_deref())
            .map(|text| at.one_of("limits.year".into(), text, LabelYear::KNOWN))
            .transpose()?
            .unwrap_or_default(),
        min_interval: entry.min_interval.map(|entry| at.interval(entry)).transpose()?,
    })
}

/// What the label says beside rates, as the file writes it.
struct Said {
    spray_volume: Option<OneOrMore>,
    rain_free: Option<String>,
    temperature: TemperatureEntry,
    watering_in: Option<String>,
    drift_buffers: BTreeMap<String, String>,
    signal_word: Option<String>,
    ppe: Vec<String>,
    reentry: Option<String>,
    epa_registration: Option<String>,
    basis: Option<String>,
    sources: BTreeMap<String, SourceEntry>,
}

fn label_facts(at: &At<'_>, said: Said) -> Result<LabelFacts, DoseError> {
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
const SOURCED_KEYS: [&str; 15] = [
    "class",
    "formulation",
    "active_ingredients",
    "density",
    "analysis",
    "spray_volume",
    "rain_free",
    "temperature",
    "watering_in",
    "setbacks",
    "drift_buffers",
    "signal_word",
    "ppe",
    "reentry",
    "epa_registration",
];

fn unfit(at: &At<'_>, place: usize, entry: UnfitEntry) -> Result<Unfit, DoseError> {
    let key = |field: &str| format!("unfit[{place}].{field}");
    let condition = at.one_of(key("condition"), &entry.condition, Condition::KNOWN)?;
    let basis = at.one_of(key("basis"), &entry.basis, Basis::KNOWN)?;
    let provenance = at.provenance(&key(""), (entry.source, entry.status, entry.read))?;
    Ok(Unfit { condition, because: entry.because, basis, provenance })
}
