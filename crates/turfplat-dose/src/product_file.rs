//! Why a product file is read twice over: once as TOML, where a misspelt key is caught by
//! name and line, and once as a product, where every text (`1 lb/gal`, `0.3 fl oz/1000 sq
//! ft`) becomes a quantity or a message that says which key to change.

use std::str::FromStr;

use turfplat_units::{Length, WrittenRate};

use crate::date::is_date;
use crate::error::DoseError;
use crate::product::{
    ActiveIngredient, Caution, Form, Formulation, Interval, LabelSetback, Limits, Product,
    ProductClass, RateLimit, Unfit,
};
use crate::product_toml::{
    AnalysisEntry, File, IngredientEntry, LimitEntry, OneOrMore, Percent, RateEntry, UnfitEntry,
};
use crate::provenance::{Basis, Provenance, Status};
use crate::published::{self, PublishedRate};
use crate::rules::SETBACK_KINDS;
use crate::species::find_species;
use crate::strength::{Analysis, Content, Density, percent, share};
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

    fn interval(&self, entry: LimitEntry) -> Result<Interval, DoseError> {
        let number = entry.limit.trim();
        let number = number.strip_suffix("days").or(number.strip_suffix("day")).unwrap_or(number);
        let days = number.trim().parse().map_err(|_| {
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

    fn published(&self, place: usize, entry: RateEntry) -> Result<PublishedRate, DoseError> {
        let key = |field: &str| format!("rates[{place}].{field}");
        let names = match entry.species {
            OneOrMore::One(name) => vec![name],
            OneOrMore::More(names) => names,
        };
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
        let rate = entry.rate.as_deref().map(|text| self.rate(key("rate"), text)).transpose()?;
        if rate.is_none() != (basis == Basis::Gap) {
            let write = "a rate, and basis \"gap\" only where none was found";
            return Err(self.value(key("rate"), entry.rate.as_deref().unwrap_or(""), write));
        }
        Ok(PublishedRate {
            species,
            printed_species: names.join(", "),
            site: entry.r#use,
            rate,
            text: entry.rate,
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
                reason: error.message().trim().replace('\n', " "),
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

fn settled(file: File) -> Result<Product, DoseError> {
    let at = At { product: &file.id };
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if file.id.is_empty() || !file.id.chars().all(plain) {
        let write = "small letters, digits and hyphens, such as \"urea-46-0-0\"";
        return Err(at.value("id".into(), &file.id, write));
    }
    let class: ProductClass = at.one_of("class".into(), &file.class, ProductClass::KNOWN)?;
    let form: Form = at.one_of("form".into(), &file.form, Form::KNOWN)?;
    let formulation: Formulation =
        at.one_of("formulation".into(), &file.formulation, Formulation::KNOWN)?;
    // Soluble granules of fertilizer are dissolved and sprayed too, so that pair may stand.
    let dissolved = form == Form::DrySoluble && formulation == Formulation::Granule;
    if formulation.form() != form && !dissolved {
        let write =
            format!("{:?}, or another formulation than {formulation}", formulation.form().word());
        return Err(at.value("form".into(), &file.form, write));
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
    if let Some(text) = &file.label_checked
        && !is_date(text)
    {
        return Err(at.value("label_checked".into(), text, "a date, such as \"2026-05-02\""));
    }
    if file.label_checked.is_none() && rates.iter().any(|rate| rate.basis == Basis::Label) {
        return Err(DoseError::LabelRateWithoutDate { product: file.id });
    }
    let limits = Limits {
        max_per_application: file
            .limits
            .max_per_application
            .map(|entry| at.limit("max_per_application", entry))
            .transpose()?,
        max_per_year: file
            .limits
            .max_per_year
            .map(|entry| at.limit("max_per_year", entry))
            .transpose()?,
        min_interval: file.limits.min_interval.map(|entry| at.interval(entry)).transpose()?,
    };
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
        setbacks: (file.setbacks.into_iter())
            .map(|(kind, text)| setback(&at, kind, &text))
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
        label_checked: file.label_checked,
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
        Some(text) => Some(Content::read(text).ok_or_else(|| {
            let key = format!("active_ingredients[{place}].content");
            at.value(key, text, "a content, such as \"1 lb/gal\" or \"46 %\"")
        })?),
    };
    Ok(ActiveIngredient { name: entry.name, content_text: entry.content, content })
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

fn setback(at: &At<'_>, kind: String, text: &str) -> Result<LabelSetback, DoseError> {
    if !SETBACK_KINDS.contains(&kind.as_str()) {
        let write = format!("one of: {}", SETBACK_KINDS.join(", "));
        return Err(at.value("setbacks".into(), &kind, write));
    }
    let distance: Length = text.parse().map_err(|reason| DoseError::ProductQuantity {
        product: at.product.to_owned(),
        key: format!("setbacks.{kind}"),
        reason,
    })?;
    Ok(LabelSetback { kind, distance })
}

fn unfit(at: &At<'_>, place: usize, entry: UnfitEntry) -> Result<Unfit, DoseError> {
    let key = |field: &str| format!("unfit[{place}].{field}");
    let condition = at.one_of(key("condition"), &entry.condition, Condition::KNOWN)?;
    let basis = at.one_of(key("basis"), &entry.basis, Basis::KNOWN)?;
    let provenance = at.provenance(&key(""), (entry.source, entry.status, entry.read))?;
    Ok(Unfit { condition, because: entry.because, basis, provenance })
}
