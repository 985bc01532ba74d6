//! Why a product file is read twice over: once as TOML, where a misspelt key is caught by
//! name and line, and once as a product, where every text (`1 lb/gal`, `0.3 fl oz/1000 sq
//! ft`) becomes a quantity or a message that says which key to change.

use std::str::FromStr;

use turfplat_units::{Length, Of, WrittenRate, significant};

use crate::buying::{ContainerText, containers};
use crate::date::is_date;
use crate::error::DoseError;
use crate::names::close;
use crate::product::{
    ActiveIngredient, Caution, Form, Formulation, Interval, LabelSetback, Limits, Product,
    ProductClass, RateLimit, Unfit,
};
use crate::product_said::{Said, label_facts};
use crate::product_toml::{
    AnalysisEntry, File, IngredientEntry, LimitEntry, LimitsEntry, Percent, Price, UnfitEntry,
};
use crate::provenance::{Basis, Provenance, Status};
use crate::published;
use crate::rules::SETBACK_KINDS;
use crate::strength::{Analysis, Content, Density, percent, share};
use crate::year::LabelYear;
use crate::zone::Condition;

/// Where a message points: a key of one product's file.
pub(crate) struct At<'a> {
    pub(crate) product: &'a str,
    /// Where the file's values come from that do not say it themselves.
    of_file: Provenance,
}

impl At<'_> {
    pub(crate) fn value(&self, key: String, text: &str, write: impl Into<String>) -> DoseError {
        DoseError::ProductValue {
            product: self.product.to_owned(),
            key,
            text: text.to_owned(),
            write: write.into(),
        }
    }

    pub(crate) fn one_of<T: FromStr>(
        &self,
        key: String,
        text: &str,
        known: &str,
    ) -> Result<T, DoseError> {
        text.parse().map_err(|_| self.value(key, text, format!("one of: {known}")))
    }

    pub(crate) fn rate(&self, key: String, text: &str) -> Result<WrittenRate, DoseError> {
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

    pub(crate) fn provenance(
        &self,
        place: &str,
        (source, status, read): (Option<String>, Option<String>, Option<String>),
    ) -> Result<Provenance, DoseError> {
        if source.is_none() && status.is_none() && read.is_none() {
            return Ok(self.of_file.clone());
        }
        let status = status
            .map(|text| self.one_of(format!("{place}status"), &text, Status::KNOWN))
            .transpose()?;
        Ok(Provenance { source, status, read })
    }

    fn limit(&self, key: &str, entry: LimitEntry) -> Result<RateLimit, DoseError> {
        Ok(RateLimit {
            rate: self.rate(format!("limits.{key}.limit"), &entry.limit)?,
            of: entry.of,
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

    /// Caps on active ingredients, each of one that the product has: named where it has several.
    fn active_caps(
        &self,
        key: &str,
        entries: Vec<LimitEntry>,
        ingredients: &[ActiveIngredient],
    ) -> Result<Vec<RateLimit>, DoseError> {
        let active = |of: &Of| matches!(of, Of::ActiveIngredient | Of::AcidEquivalent);
        let names: Vec<&str> = ingredients.iter().map(|one| one.name.as_str()).collect();
        let named = |limit: RateLimit| {
            match (&limit.of, names.as_slice()) {
            (Some(of), names) if !names.contains(&of.as_str()) => Err(self.value(
                format!("limits.{key}.of"),
                of,
                format!("an active ingredient of this product: {}", names.join(", ")),
            )),
            (None, [first, _, ..]) => Err(self.value(
                format!("limits.{key}"),
                &limit.text,
                format!(
                    "which active ingredient it caps, such as {{ limit = {:?}, of = {first:?} }} (there are {})",
                    limit.text,
                    names.join(", ")
                ),
            )),
            _ => Ok(limit),
        }
        };
        let caps = entries.into_iter().map(|entry| self.cap(key, Some(entry), active));
        caps.filter_map(Result::transpose).map(|cap| cap.and_then(named)).collect()
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

    pub(crate) fn length(&self, key: String, text: &str) -> Result<Length, DoseError> {
        let product = self.product.to_owned();
        text.parse().map_err(|reason| DoseError::ProductQuantity { product, key, reason })
    }

    pub(crate) fn optional<T>(
        &self,
        key: &str,
        text: Option<String>,
        read: impl Fn(&str) -> Option<T>,
        write: &str,
    ) -> Result<Option<T>, DoseError> {
        let Some(text) = text else { return Ok(None) };
        read(&text).map(Some).ok_or_else(|| self.value(key.to_owned(), &text, write))
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

/// `28 days` or `4 weeks`; a bare number does not say which.
/// Reads `28 days` or `4 weeks`; `None` of anything else, and of parts of a day.
pub fn whole_days(text: &str) -> Option<u32> {
    let units = [("days", 1), ("day", 1), ("weeks", 7), ("week", 7)];
    let (number, each) = units
        .into_iter()
        .find_map(|(unit, each)| Some((text.trim().strip_suffix(unit)?.trim_end(), each)))?;
    number.parse::<u32>().ok()?.checked_mul(each)
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
    let mut at = At { product: &file.id, of_file: Provenance::default() };
    at.of_file = at.provenance("", (file.source, file.status, file.read))?;
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
    let active_ingredients: Vec<ActiveIngredient> =
        (file.active_ingredients.into_iter().enumerate())
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
            wind: file.wind,
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
    let limits = limits(&at, file.limits, &active_ingredients)?;
    let product = Product {
        name: file.name,
        class,
        form,
        formulation,
        active_ingredients,
        density,
        analysis: file.analysis.map(|entry| analysis(&at, &entry)).transpose()?,
        rates,
        limits,
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
        rate_is_right: file.rate_is_right.filter(|reason| !reason.trim().is_empty()),
        provenance: at.of_file.clone(),
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

pub(crate) fn setback(
    at: &At<'_>,
    key: &str,
    kind: String,
    text: &str,
) -> Result<LabelSetback, DoseError> {
    if !SETBACK_KINDS.contains(&kind.as_str()) {
        let write = format!("one of: {}", SETBACK_KINDS.join(", "));
        return Err(at.value(key.into(), &kind, write));
    }
    let distance = at.length(format!("{key}.{kind}"), text)?;
    Ok(LabelSetback { kind, distance })
}

fn limits(
    at: &At<'_>,
    entry: LimitsEntry,
    ingredients: &[ActiveIngredient],
) -> Result<Limits, DoseError> {
    let any = |_: &Of| true;
    let nitrogen = |of: &Of| *of == Of::Nutrient("N");
    Ok(Limits {
        max_per_application: at.cap("max_per_application", entry.max_per_application, any)?,
        max_active_per_application: at.active_caps(
            "max_active_per_application",
            entry.max_active_per_application,
            ingredients,
        )?,
        max_nitrogen_per_application: at.cap(
            "max_nitrogen_per_application",
            entry.max_nitrogen_per_application,
            nitrogen,
        )?,
        max_per_year: at.cap("max_per_year", entry.max_per_year, any)?,
        max_active_per_year: at.active_caps(
            "max_active_per_year",
            entry.max_active_per_year,
            ingredients,
        )?,
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

fn unfit(at: &At<'_>, place: usize, entry: UnfitEntry) -> Result<Unfit, DoseError> {
    let key = |field: &str| format!("unfit[{place}].{field}");
    let condition = at.one_of(key("condition"), &entry.condition, Condition::KNOWN)?;
    let basis = at.one_of(key("basis"), &entry.basis, Basis::KNOWN)?;
    let provenance = at.provenance(&key(""), (entry.source, entry.status, entry.read))?;
    Ok(Unfit { condition, because: entry.because, basis, provenance })
}
