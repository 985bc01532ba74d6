//! Why a rate shows its way to the container: a label says pounds of nitrogen or of active
//! ingredient, a tank takes what comes in the jug, and the figure between the two is where hand
//! calculations go wrong. The result is [`Product::rate_of`]'s own; these steps only show how
//! somebody gets there with a pencil.

use turfplat_units::{Amount, AmountUnit, AreaUnit, Of, Rate, RateUnit, UnitSystem, WrittenRate};

use crate::calibrate::{Step, Worked, put};
use crate::error::DoseError;
use crate::product::{Form, Product};
use crate::strength::{Content, Density};

const NIST: &str = "NIST Handbook 44, Appendix C";

impl Product {
    /// [`Product::rate_of`] with its steps: the unit of the plan, then what is in the product, then
    /// its weight. A rate that is written in the unit of the plan needs none.
    ///
    /// # Errors
    ///
    /// As [`Product::rate_of`].
    pub fn worked_rate(
        &self,
        written: &WrittenRate,
        units: UnitSystem,
    ) -> Result<Worked<Rate>, DoseError> {
        let value = self.rate_of(written)?;
        let mut way = Way { units, steps: Vec::new() };
        let (part, share, content) = match written.of {
            Of::Product => ("product", None, None),
            Of::ActiveIngredient | Of::AcidEquivalent => {
                let part = if written.of == Of::AcidEquivalent { "a.e." } else { "a.i." };
                match self.active_ingredients.first().and_then(|it| it.content.clone()) {
                    Some(Content::Share(share)) => (part, Some(share), None),
                    Some(Content::InVolume(density)) => (part, None, Some(density)),
                    None => (part, None, None),
                }
            }
            Of::Nutrient(name) => (name, self.analysis.and_then(|it| it.share_of(name)), None),
        };
        let mut unit = written.unit;
        if unit.amount == AmountUnit::Ounce {
            // A bare "oz" that was read is one of weight.
            unit.amount = AmountUnit::WeightOunce;
        }
        let Some(mut amount) = way.in_plan_unit(written.value, unit, part) else {
            return Ok(Worked { value, steps: way.steps, remarks: Vec::new() });
        };
        if let Some(share) = share {
            amount = way.whole(amount, share, part);
        }
        if let (Amount::Mass(_), Form::Liquid) = (amount, self.form) {
            let what = if content.is_some() { part } else { "product" };
            if let Some(density) = content.or(self.density) {
                way.by_volume(amount, density, what);
            }
        }
        Ok(Worked { value, steps: way.steps, remarks: Vec::new() })
    }
}

/// The unit that a plan tells rates in.
pub fn plan_rate_unit(amount: Amount, units: UnitSystem) -> RateUnit {
    let (area, liquid, dry) = match units {
        UnitSystem::Us => (AreaUnit::ThousandSquareFeet, AmountUnit::FluidOunce, AmountUnit::Pound),
        UnitSystem::Metric => {
            (AreaUnit::HundredSquareMetres, AmountUnit::Millilitre, AmountUnit::Kilogram)
        }
    };
    let amount = match amount {
        Amount::Volume(_) => liquid,
        Amount::Mass(_) => dry,
    };
    RateUnit { amount, area }
}

struct Way {
    units: UnitSystem,
    steps: Vec<Step>,
}

impl Way {
    fn area_name(&self) -> &'static str {
        plan_rate_unit(Amount::Mass(Default::default()), self.units).area.name()
    }

    fn step(&mut self, formula: String, numbers: String, result: String, source: String) {
        self.steps.push(Step { formula: formula.into(), numbers, result, source: source.into() });
    }

    /// A written rate in the plan's unit; the amount on one unit of area. `None` of what is no rate.
    fn in_plan_unit(&mut self, value: f64, from: RateUnit, part: &str) -> Option<Amount> {
        let rate = WrittenRate { value, unit: from, of: Of::Product }.rate().ok()?;
        let on_area = |area: AreaUnit| rate.on(area.area());
        let to = plan_rate_unit(on_area(from.area), self.units);
        if from != to {
            let (times, over, mut sources) = factors(from, to)?;
            let of = if part == "product" { String::new() } else { format!(" {part}") };
            let name = |unit: RateUnit| format!("{}{of}/{}", unit.amount.name(), unit.area.name());
            let listed = |sign: &str, all: &[f64]| -> String {
                all.iter().map(|it| format!(" {sign} {}", exact(*it))).collect()
            };
            let way = format!("{}{}", listed("×", &times), listed("÷", &over));
            sources.dedup();
            self.step(
                format!("{} = {}{way}", name(to), name(from)),
                format!("{}{way}", put(value)),
                format!("{} {}", put(rate.in_unit(to)?), name(to)),
                sources.join("; "),
            );
        }
        Some(on_area(to.area))
    }

    /// So much product that `share` of it weighs `part`.
    fn whole(&mut self, amount: Amount, share: f64, part: &str) -> Amount {
        let unit = plan_rate_unit(amount, self.units).amount;
        let (name, area) = (unit.name(), self.area_name());
        let whole = amount.times(1.0 / share);
        let told = |amount: Amount| put(amount.in_unit(unit).unwrap_or(0.0));
        let source = match part {
            "a.i." => "the content of active ingredient in the product file",
            _ => "the guaranteed analysis: percent of the product's weight",
        };
        self.step(
            format!("{name} product/{area} = {name} {part}/{area} ÷ share of {part}"),
            format!("{} ÷ {}", told(amount), exact(share)),
            format!("{} {name}/{area}", told(whole)),
            source.to_owned(),
        );
        whole
    }

    /// A weight as the volume of a liquid that holds or weighs it.
    fn by_volume(&mut self, weight: Amount, density: Density, what: &str) {
        let (Amount::Mass(mass), area) = (weight, self.area_name()) else { return };
        let Some(volume) = density.volume_of(mass) else { return };
        let volume = Amount::Volume(volume);
        let grams_per_millilitre = density.grams_per_millilitre();
        let told = |amount: Amount, unit| put(amount.in_unit(unit).unwrap_or(0.0));
        let from = if what == "a.i." {
            "the content of active ingredient in the product file"
        } else {
            "the density in the product file"
        };
        let (formula, numbers, result, exactly) = match self.units {
            UnitSystem::Us => {
                let gram = AmountUnit::Gram.of(grams_per_millilitre);
                let pounds = gram.and_then(|it| it.in_unit(AmountUnit::Pound)).unwrap_or(0.0);
                let per_gallon = pounds * turfplat_units::Volume::MILLILITRES_PER_GALLON;
                (
                    format!("fl oz/{area} = lb {what}/{area} ÷ lb {what}/gal × 128"),
                    format!("{} ÷ {} × 128", told(weight, AmountUnit::Pound), put(per_gallon)),
                    format!("{} fl oz/{area}", told(volume, AmountUnit::FluidOunce)),
                    format!("128 fl oz a gallon, exact ({NIST})"),
                )
            }
            UnitSystem::Metric => (
                format!("mL/{area} = kg {what}/{area} ÷ kg {what}/L × 1,000"),
                format!(
                    "{} ÷ {} × 1,000",
                    told(weight, AmountUnit::Kilogram),
                    put(grams_per_millilitre)
                ),
                format!("{} mL/{area}", told(volume, AmountUnit::Millilitre)),
                "1,000 mL a liter, exact (SI)".to_owned(),
            ),
        };
        self.step(formula, numbers, result, format!("{from}; {exactly}"));
    }
}

/// A constant to the last digit that it has.
pub(crate) fn exact(value: f64) -> String {
    turfplat_units::significant(value, 12)
}

/// Multipliers and divisors from one unit of rate to another, none of them 1, each exact, and
/// where they stand. `None` of a volume and a weight.
fn factors(from: RateUnit, to: RateUnit) -> Option<(Vec<f64>, Vec<f64>, Vec<String>)> {
    let mut sources = Vec::new();
    let (mut times, mut over) = (Vec::new(), Vec::new());
    if from.amount != to.amount {
        let (small, names) = common(from.amount, to.amount);
        let of = |unit: AmountUnit| unit.of(1.0)?.in_unit(small);
        times.push(of(from.amount)?);
        over.push(of(to.amount)?);
        sources.push(names);
    }
    if from.area != to.area {
        let us = |area: AreaUnit| {
            matches!(area, AreaUnit::ThousandSquareFeet | AreaUnit::SquareFoot | AreaUnit::Acre)
        };
        let both_us = us(from.area) && us(to.area);
        let size = |unit: AreaUnit| match both_us {
            true => unit.area().square_feet(),
            false => unit.area().square_metres(),
        };
        times.push(size(to.area));
        over.push(size(from.area));
        sources.push(match both_us {
            true => format!("43,560 sq ft an acre, exact ({NIST})"),
            false if us(from.area) || us(to.area) => {
                format!("1 ft is 0.3048 m and 1 acre 43,560 sq ft, exact ({NIST})")
            }
            false => "10,000 m² a hectare, exact (SI)".to_owned(),
        });
    }
    let is_some = |factor: &f64| (*factor - 1.0).abs() > 1e-12;
    times.retain(is_some);
    over.retain(is_some);
    Some((times, over, sources))
}

/// A unit in which both are told exactly, and where it stands.
fn common(a: AmountUnit, b: AmountUnit) -> (AmountUnit, String) {
    use AmountUnit::{
        Cup, FluidOunce, Gallon, Gram, Millilitre, Pint, Pound, Quart, Tablespoon, WeightOunce,
    };
    let us_volume = |unit| matches!(unit, FluidOunce | Tablespoon | Cup | Pint | Quart | Gallon);
    let us_weight = |unit| matches!(unit, WeightOunce | Pound);
    let is_volume = a.of(1.0).is_some_and(|amount| matches!(amount, Amount::Volume(_)));
    if us_volume(a) && us_volume(b) {
        return (FluidOunce, format!("128 fl oz a gallon, exact ({NIST})"));
    }
    if us_weight(a) && us_weight(b) {
        return (WeightOunce, format!("16 oz a pound, exact ({NIST})"));
    }
    match is_volume {
        true => (
            Millilitre,
            format!("1 gal is 3,785.411784 mL, 1 fl oz 29.5735295625 mL, exact ({NIST})"),
        ),
        false => (Gram, format!("1 lb is 453.59237 g, exact ({NIST})")),
    }
}
