//! Why there are bounds beside what is in print: for most grasses and products nothing is, and a
//! rate per acre on every 1,000 sq ft is then taken as it stands. The figures are choices of this
//! tool, set above what turf labels ask for and below what a slip of 43.56 times makes of an
//! ordinary rate; the tables and products shipped lie well inside (a test holds them to it).

use turfplat_units::{Amount, AmountUnit, AreaUnit, Of, Rate, RateUnit, WrittenRate, significant};

use crate::convert::{in_words, on_a_square_metre};
use crate::error::DoseError;
use crate::product::{Form, Product, ProductClass};
use crate::strength::{Content, Density};

const PER_THOUSAND: fn(AmountUnit) -> RateUnit =
    |amount| RateUnit { amount, area: AreaUnit::ThousandSquareFeet };
const POUNDS_AN_ACRE: RateUnit = RateUnit { amount: AmountUnit::Pound, area: AreaUnit::Acre };

/// Gallons on 1,000 sq ft between which a sprayer's volume lies. A choice of this tool: booms put
/// down 10 gal/A (0.23), hand-guns a few gallons, drenches some more.
const SPRAY_VOLUMES: std::ops::RangeInclusive<f64> = 0.1..=10.0;

/// Grams in a milliliter that no liquid product's active ingredient exceeds, 15 lb/gal. A choice of
/// this tool: the heaviest that are sold neat weigh 14 (from memory).
pub(crate) const DENSEST_CONTENT: f64 = 1.8;

/// Grams in a milliliter below which a content is doubted, 0.02 lb/gal, and no rate of active
/// ingredient is reckoned with it: a choice of this tool. What is so thin is no concentrate.
pub(crate) const THINNEST_CONTENT: f64 = 0.0024;

/// Grams in a milliliter of liquid products. Water is 1; concentrates lie near it, heavy ones below 2.
pub(crate) const DENSITIES: std::ops::RangeInclusive<f64> = 0.5..=2.5;

/// The most or the least that can be meant, with the words that say whose bound it is.
struct Bound {
    value: f64,
    unit: RateUnit,
    of: &'static str,
}

impl Product {
    /// Refuses contents and densities that no product can have: a rate of active ingredient would
    /// be turned into product by them. [`Product::rate_of`] asks this too.
    ///
    /// # Errors
    ///
    /// The key of the product file that must be changed.
    pub fn check_strength(&self) -> Result<(), DoseError> {
        let refuse = |key: &str, text: String, write: &str| {
            Err(DoseError::ProductValue {
                product: self.id.clone(),
                key: key.to_owned(),
                text,
                write: write.to_owned(),
            })
        };
        if self.density.is_some_and(|it| !DENSITIES.contains(&it.grams_per_millilitre())) {
            let text = self.density.as_ref().map(Density::to_string).unwrap_or_default();
            return refuse(
                "density",
                text,
                "what a volume of the product weighs (water is 8.35 lb/gal, 1 kg/L)",
            );
        }
        let most = self.density.map_or(DENSEST_CONTENT, Density::grams_per_millilitre);
        let mut shares = 0.0;
        for (place, one) in self.active_ingredients.iter().enumerate() {
            let dense = match &one.content {
                Some(Content::InVolume(content)) => content.grams_per_millilitre() > most,
                Some(Content::Share(share)) => {
                    shares += share;
                    shares > 1.0 + 1e-9
                }
                None => false,
            };
            if dense {
                let write = "what the label says: no liquid holds more active ingredient than it \
                             weighs, nor more than some 15 lb/gal, and no product more than 100 % together";
                let text = one.content_text.clone().unwrap_or_default();
                return refuse(&format!("active_ingredients[{place}].content"), text, write);
            }
        }
        Ok(())
    }

    /// Refuses more product or active ingredient than any product of its class and form asks for,
    /// and less product.
    pub(crate) fn check_bounds(
        &self,
        rate: Rate,
        written: Option<&WrittenRate>,
    ) -> Result<(), DoseError> {
        let above = self.exceeded(rate).map(|most| ("above", most));
        let Some((side, bound)) =
            above.or_else(|| self.fallen_short_of(rate).map(|least| ("below", least)))
        else {
            return Ok(());
        };
        let unit = PER_THOUSAND(match on_a_square_metre(rate) {
            Amount::Volume(_) => AmountUnit::FluidOunce,
            Amount::Mass(_) => AmountUnit::Pound,
        });
        let shown = rate.print(unit);
        let text = match written.map(in_words) {
            Some(words) if words != shown => format!("{words} ({shown} of product)"),
            _ => shown,
        };
        let what = self.class.map_or("product of no stated class", ProductClass::word);
        Err(DoseError::BeyondBounds {
            product: self.id.clone(),
            rate: text,
            bound: format!(
                "{side} {} {}{} of any {} {what}",
                significant(bound.value, 3),
                bound.unit,
                bound.of,
                self.form
            ),
            slip: written.map_or_else(String::new, |written| self.areas_meant(written)),
        })
    }

    /// The bound that `rate` is above. All figures are choices of this tool; the comment says what
    /// they leave room for.
    fn exceeded(&self, rate: Rate) -> Option<Bound> {
        use ProductClass::{
            Adjuvant, Fertilizer, Fungicide, GrowthRegulator, Herbicide, Insecticide,
        };
        let feeds = self.feeds();
        let nitrogen = self.analysis.is_some_and(|analysis| analysis.n > 0.0);
        let of_product = |value, amount| Bound { value, unit: PER_THOUSAND(amount), of: "" };
        let product = match self.form {
            // A liquid feed of 5 % gives 1 lb of nitrogen with some two gallons.
            Form::Liquid if feeds => of_product(320.0, AmountUnit::FluidOunce),
            // Four gallons to the acre.
            Form::Liquid if matches!(self.class, Some(GrowthRegulator | Insecticide)) => {
                of_product(12.0, AmountUnit::FluidOunce)
            }
            // Chelated iron on weeds goes to 50 fl oz, fungicides to a dozen (from memory).
            Form::Liquid => of_product(64.0, AmountUnit::FluidOunce),
            // A soluble feed of 10 % gives 1 lb of nitrogen with ten pounds.
            Form::DrySoluble if feeds => of_product(20.0, AmountUnit::Pound),
            Form::DrySoluble => of_product(2.0, AmountUnit::Pound),
            // 50 lb of limestone are usual at once (common practice, no source), gypsum takes more.
            Form::Granule if feeds && !nitrogen => of_product(150.0, AmountUnit::Pound),
            // An organic feed of 2 % gives 1 lb of nitrogen with 50 lb.
            Form::Granule if feeds => of_product(100.0, AmountUnit::Pound),
            Form::Granule => of_product(50.0, AmountUnit::Pound),
        };
        let above = |rate: Rate, most: &Bound| {
            rate.in_unit(most.unit).is_some_and(|value| value > most.value * (1.0 + 1e-9))
        };
        if above(rate, &product) {
            return Some(product);
        }
        // Fungicides of the old kinds go to 17 lb/A, weed killers to 12 (from memory).
        let active = match self.class {
            Some(Fertilizer | Adjuvant) => return None,
            None if feeds => return None,
            Some(GrowthRegulator) => 5.0,
            Some(Fungicide) => 40.0,
            Some(Herbicide | Insecticide) | None => 15.0,
        };
        let active = Bound { value: active, unit: POUNDS_AN_ACRE, of: " of active ingredient" };
        self.rate_of_active(rate).is_some_and(|rate| above(rate, &active)).then_some(active)
    }

    /// The bound that `rate` is below: less is a rate on 1,000 sq ft that was written on an acre, or a
    /// measure too small. All figures are choices of this tool, from what the smallest label rates
    /// leave room for.
    fn fallen_short_of(&self, rate: Rate) -> Option<Bound> {
        let (value, amount) = match (self.form, self.feeds()) {
            // Three fluid ounces of a trace element on an acre (from memory).
            (Form::Liquid, true) => (0.05, AmountUnit::FluidOunce),
            // Two thirds of a fluid ounce of a weed killer on an acre (from memory), 0.015.
            (Form::Liquid, false) => (0.01, AmountUnit::FluidOunce),
            // Two ounces of a trace element on an acre (from memory), 0.003.
            (Form::DrySoluble, true) => (0.001, AmountUnit::Pound),
            // A quarter ounce of a weed killer on an acre (from memory), 0.00036.
            (Form::DrySoluble, false) => (0.0001, AmountUnit::Pound),
            // Baits for ants go on at a pound on an acre (from memory), 0.023.
            (Form::Granule, _) => (0.01, AmountUnit::Pound),
        };
        let least = Bound { value, unit: PER_THOUSAND(amount), of: "" };
        let on_thousand = rate.in_unit(least.unit)?;
        (on_thousand < least.value * (1.0 - 1e-9)).then_some(least)
    }

    fn feeds(&self) -> bool {
        self.class == Some(ProductClass::Fertilizer)
            || (self.class.is_none() && self.analysis.is_some())
    }

    /// Of all active ingredients together, as far as their contents are given.
    fn rate_of_active(&self, rate: Rate) -> Option<Rate> {
        let contents = self.active_ingredients.iter().filter_map(|one| one.content.as_ref());
        let grams: f64 = contents
            .map(|content| match (content, on_a_square_metre(rate)) {
                (Content::InVolume(density), Amount::Volume(volume)) => {
                    volume.millilitres() * density.grams_per_millilitre()
                }
                (Content::Share(share), Amount::Mass(mass)) => mass.grams() * share,
                (Content::Share(share), Amount::Volume(volume)) => self
                    .density
                    .map_or(0.0, |it| it.grams_per_millilitre() * volume.millilitres() * share),
                (Content::InVolume(_), Amount::Mass(_)) => 0.0,
            })
            .sum();
        Rate::of(AmountUnit::Gram.of(grams)?, AreaUnit::SquareMetre.area())
    }

    /// `perhaps 2.3 lb/A was meant: `, as far as the same figure on another area could be.
    fn areas_meant(&self, written: &WrittenRate) -> String {
        let metric = |unit: AreaUnit| {
            matches!(
                unit,
                AreaUnit::SquareMetre | AreaUnit::HundredSquareMetres | AreaUnit::Hectare
            )
        };
        let us = [AreaUnit::Acre, AreaUnit::ThousandSquareFeet];
        let areas = us.into_iter().chain([AreaUnit::HundredSquareMetres, AreaUnit::Hectare]);
        let could_be = |reading: &WrittenRate| {
            let Ok(rate) = self.rate_of_product(reading) else { return false };
            // A five-hundredth of the bound is less than any label asks for.
            self.exceeded(rate).is_none()
                && self.fallen_short_of(rate).is_none()
                && self.exceeded(rate.times(500.0)).is_some()
        };
        let readings: Vec<String> = areas
            .filter(|area| *area != written.unit.area)
            .filter(|area| metric(*area) == metric(written.unit.area) || *area == AreaUnit::Acre)
            .map(|area| WrittenRate {
                value: written.value,
                unit: RateUnit { amount: written.unit.amount, area },
                of: written.of.clone(),
            })
            .filter(could_be)
            .map(|reading| in_words(&reading))
            .take(2)
            .collect();
        match readings.as_slice() {
            [] => String::new(),
            some => format!("perhaps {} was meant: ", some.join(" or ")),
        }
    }
}

/// What is wrong with a spray volume below 0.1 or above 10 gal/1000 sq ft (a choice of this tool), and
/// what was likely meant; `None` of one that can be.
pub fn doubt_spray_volume(rate: Rate) -> Option<String> {
    let unit = PER_THOUSAND(AmountUnit::Gallon);
    let on_thousand = rate.in_unit(unit)?;
    if SPRAY_VOLUMES.contains(&on_thousand) {
        return None;
    }
    let an_acre = RateUnit { area: AreaUnit::Acre, ..unit };
    let (bound, meant) = match on_thousand > *SPRAY_VOLUMES.end() {
        true => ("more than 10", (on_thousand, an_acre)),
        false => ("less than 0.1", (rate.in_unit(an_acre)?, unit)),
    };
    let reading = WrittenRate { value: meant.0, unit: meant.1, of: Of::Product };
    let could_be = reading.rate().ok().and_then(|rate| rate.in_unit(unit));
    let perhaps = match could_be.is_some_and(|gallons| SPRAY_VOLUMES.contains(&gallons)) {
        true => format!("perhaps {} {} was meant: ", significant(meant.0, 3), meant.1),
        false => String::new(),
    };
    Some(format!(
        "{}, {bound} gal/1000 sq ft, which no sprayer is set to on turf; {perhaps}write what calibration gave, with its unit",
        rate.print(unit)
    ))
}
