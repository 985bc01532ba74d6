//! Why every rate becomes a rate of product before anything else: a tank is filled with
//! what comes in the container. Two pounds of active ingredient are half a pound too few
//! of an 80 % powder, and nothing later would notice.

use turfplat_units::{
    Amount, AmountUnit, AreaUnit, Mass, Of, Rate, RateUnit, UnitError, WrittenAmount, WrittenRate,
    significant,
};

use crate::bounds::THINNEST_CONTENT;
use crate::error::DoseError;
use crate::product::{Form, Product};
use crate::strength::Content;

impl Product {
    /// The rate of product meant by a rate of product, active ingredient or nutrient.
    ///
    /// * Out: volume per area of a liquid, weight per area of a dry product.
    /// * A bare `oz` is weight of a dry product and of a part of any, and refused of a liquid.
    ///
    /// # Errors
    ///
    /// A content, an analysis or a density that is needed and not given; `oz` of a liquid;
    /// zero; a rate above the product's cap or above five times the highest published rate.
    pub fn rate_of(&self, written: &WrittenRate) -> Result<Rate, DoseError> {
        let rate = self.rate_of_product(written)?;
        self.check_rate(rate, Some(written))?;
        Ok(rate)
    }

    /// The amount of product meant by an amount that somebody measured out: a volume of a liquid,
    /// a weight of a dry product.
    ///
    /// # Errors
    ///
    /// A volume of something dry; a weight of a liquid without a density; a bare `oz` of a liquid.
    pub fn amount_of(&self, written: &WrittenAmount) -> Result<Amount, DoseError> {
        let refuse = |reason: &str| DoseError::AmountOfOtherForm {
            product: self.id.clone(),
            amount: format!("{} {}", significant(written.value, 4), written.unit.name()),
            reason: reason.to_owned(),
        };
        let liquid = self.form == Form::Liquid;
        let mut written_ = *written;
        if written.unit == AmountUnit::Ounce && !liquid {
            written_.unit = AmountUnit::WeightOunce;
        }
        let amount = written_.amount().map_err(|_| {
            refuse("\"oz\" of a liquid may be a volume or a weight; write \"fl oz\" or \"oz wt\"")
        })?;
        match (amount, self.density) {
            (Amount::Volume(_), _) if liquid => Ok(amount),
            (Amount::Mass(_), _) if !liquid => Ok(amount),
            (Amount::Mass(mass), Some(density)) => density
                .volume_of(mass)
                .map(Amount::Volume)
                .ok_or_else(|| refuse("beyond all measure")),
            (Amount::Mass(_), None) => Err(refuse(
                "its density is not given; add density to the product file, or write the amount by volume",
            )),
            (Amount::Volume(_), _) => {
                Err(refuse("a dry product is weighed; write it in lb, oz wt, g or kg"))
            }
        }
    }

    /// As [`Product::rate_of`], without asking whether the rate can be meant: for what was put
    /// down already, and counts however much it was.
    ///
    /// # Errors
    ///
    /// As [`Product::rate_of`], but for a rate of nothing, above a cap or above all in print.
    pub fn rate_put_down(&self, written: &WrittenRate) -> Result<Rate, DoseError> {
        self.rate_of_product(written)
    }

    /// Why what was put down can hardly be meant, in words; it counts all the same. `None` where
    /// nothing stands against it.
    pub fn doubt_put_down(&self, rate: Rate) -> Option<String> {
        let Err(error) = self.check_rate(rate, None) else { return self.doubt_so_little(rate) };
        match error {
            DoseError::AboveMaximum { product, rate, limit, .. } => {
                Some(format!("{rate} of {product} is above the most allowed {limit}"))
            }
            DoseError::Implausible { product, rate, times, published, slip } => {
                let slip = slip.trim_end_matches(": ");
                let slip = if slip.is_empty() { String::new() } else { format!("; {slip}") };
                Some(format!("{rate} of {product} is {times} published, {published}{slip}"))
            }
            DoseError::BeyondBounds { product, rate, bound, .. } => {
                Some(format!("{rate} of {product} is {bound} (a bound of this tool)"))
            }
            _ => None,
        }
    }

    /// The rate of product that a rate in print, a limit or a job means.
    pub(crate) fn rate_of_product(&self, written: &WrittenRate) -> Result<Rate, DoseError> {
        let text = in_words(written);
        match written.of {
            Of::Product if self.form == Form::Liquid => {
                let rate = written.rate().map_err(|reason| self.ounces(written, reason))?;
                match on_a_square_metre(rate) {
                    Amount::Volume(_) => Ok(rate),
                    Amount::Mass(mass) => self.liquid_weighing(mass, &text, Some(written)),
                }
            }
            Of::Product => {
                let rate = written.rate_by_weight().map_err(|reason| self.unit(reason))?;
                match on_a_square_metre(rate) {
                    Amount::Mass(_) => Ok(rate),
                    Amount::Volume(_) => Err(DoseError::VolumeOfDry {
                        product: self.id.clone(),
                        rate: text,
                        form: self.form.word(),
                    }),
                }
            }
            Of::ActiveIngredient | Of::AcidEquivalent => {
                self.product_with_ingredient(written, &text)
            }
            Of::Nutrient(name) => {
                let part = self.weight_of_part(written, &text)?;
                let product = self.id.clone();
                let Some(analysis) = self.analysis else {
                    return Err(DoseError::NoAnalysis { product, rate: text });
                };
                match analysis.share_of(name) {
                    Some(share) if share > 0.0 => self.product_weighing(part, share, &text),
                    _ => Err(DoseError::NoSuchNutrient {
                        product,
                        rate: text,
                        nutrient: name,
                        grade: analysis.grade(),
                    }),
                }
            }
        }
    }

    fn product_with_ingredient(
        &self,
        written: &WrittenRate,
        text: &str,
    ) -> Result<Rate, DoseError> {
        self.check_strength()?;
        let part = self.weight_of_part(written, text)?;
        let (product, rate) = (self.id.clone(), text.to_owned());
        let only = match self.active_ingredients.as_slice() {
            [only] => only,
            [] => return Err(DoseError::NoContent { product, rate }),
            several => {
                let names: Vec<&str> = several.iter().map(|one| one.name.as_str()).collect();
                let names = names.join(", ");
                return Err(DoseError::WhichIngredient { product, rate, names });
            }
        };
        let as_acid = written.of == Of::AcidEquivalent;
        if only.content.is_some() && only.acid_equivalent != as_acid {
            let content = only.content_text.clone().unwrap_or_default();
            return Err(DoseError::OtherBasis { product, rate, content, as_acid });
        }
        // What is so thin by design, such as a hormone, has its rate in product on the label.
        if let Some(Content::InVolume(density)) = &only.content
            && density.grams_per_millilitre() < THINNEST_CONTENT
        {
            return Err(DoseError::ProductValue {
                product,
                key: "active_ingredients[0].content".into(),
                text: only.content_text.clone().unwrap_or_default(),
                write: "what the label says (less than 0.02 lb/gal is no concentrate), or the rate of product"
                    .into(),
            });
        }
        match (&only.content, self.form) {
            (None, _) => Err(DoseError::NoContent { product, rate }),
            (Some(Content::InVolume(density)), Form::Liquid) => density
                .volume_of(part)
                .and_then(|volume| per_square_metre(Amount::Volume(volume)))
                .ok_or(DoseError::RateUnit { product, reason: UnitError::OutOfRange(rate) }),
            (Some(Content::Share(share)), _) => self.product_weighing(part, *share, text),
            (Some(Content::InVolume(_)), form) => Err(DoseError::ContentOfOtherForm {
                product,
                rate,
                content: only.content_text.clone().unwrap_or_default(),
                form: form.word(),
            }),
        }
    }

    /// The weight of a part on one square metre.
    fn weight_of_part(&self, written: &WrittenRate, text: &str) -> Result<Mass, DoseError> {
        let rate = written.rate_by_weight().map_err(|reason| self.unit(reason))?;
        match on_a_square_metre(rate) {
            Amount::Mass(mass) => Ok(mass),
            Amount::Volume(_) => {
                Err(DoseError::PartByVolume { product: self.id.clone(), rate: text.to_owned() })
            }
        }
    }

    /// So much product that `share` of it weighs `part`.
    fn product_weighing(&self, part: Mass, share: f64, text: &str) -> Result<Rate, DoseError> {
        let reason = || self.unit(UnitError::OutOfRange(text.to_owned()));
        let weight = Mass::from_grams(part.grams() / share).ok_or_else(reason)?;
        if self.form == Form::Liquid {
            return self.liquid_weighing(weight, text, None);
        }
        per_square_metre(Amount::Mass(weight)).ok_or_else(reason)
    }

    /// So much of a liquid; a weight of product may be one of its active ingredient, mistold.
    fn liquid_weighing(
        &self,
        weight: Mass,
        text: &str,
        written: Option<&WrittenRate>,
    ) -> Result<Rate, DoseError> {
        let Some(density) = self.density else {
            let slip = written.map_or_else(String::new, |written| self.part_meant(written));
            let (product, rate) = (self.id.clone(), text.to_owned());
            return Err(DoseError::NoDensity { product, rate, slip });
        };
        density
            .volume_of(weight)
            .and_then(|volume| per_square_metre(Amount::Volume(volume)))
            .ok_or_else(|| self.unit(UnitError::OutOfRange(text.to_owned())))
    }

    fn unit(&self, reason: UnitError) -> DoseError {
        DoseError::RateUnit { product: self.id.clone(), reason }
    }

    fn ounces(&self, written: &WrittenRate, reason: UnitError) -> DoseError {
        if written.unit.amount != AmountUnit::Ounce {
            return self.unit(reason);
        }
        let read_as = |amount| {
            let unit = RateUnit { amount, area: written.unit.area };
            in_words(&WrittenRate { value: written.value, unit, of: Of::Product })
        };
        DoseError::WhichOunce {
            product: self.id.clone(),
            rate: in_words(written),
            by_volume: read_as(AmountUnit::FluidOunce),
            by_weight: read_as(AmountUnit::WeightOunce),
        }
    }
}

/// `1 lb N/1000 sq ft`.
pub(crate) fn in_words(written: &WrittenRate) -> String {
    let of = match written.of {
        Of::Product => String::new(),
        Of::ActiveIngredient => " a.i.".to_owned(),
        Of::AcidEquivalent => " a.e.".to_owned(),
        Of::Nutrient(name) => format!(" {name}"),
    };
    let (amount, area) = (written.unit.amount.name(), written.unit.area.name());
    format!("{} {amount}{of}/{area}", significant(written.value, 4))
}

/// The unit that a rate is shown in where nobody wrote one.
pub(crate) fn usual_unit(rate: Rate) -> RateUnit {
    let amount = match on_a_square_metre(rate) {
        Amount::Volume(_) => AmountUnit::FluidOunce,
        Amount::Mass(_) => AmountUnit::Pound,
    };
    RateUnit { amount, area: AreaUnit::ThousandSquareFeet }
}

pub(crate) fn on_a_square_metre(rate: Rate) -> Amount {
    rate.on(AreaUnit::SquareMetre.area())
}

fn per_square_metre(amount: Amount) -> Option<Rate> {
    Rate::of(amount, AreaUnit::SquareMetre.area())
}
