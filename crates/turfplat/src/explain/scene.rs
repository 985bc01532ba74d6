//! All that one explanation is told from, and where its way ends.

use turfplat_dose::{ChosenProduct, DoseError, Setback, WorkedStep, dose, plan_rate_unit};
use turfplat_measure::DrawnError;
use turfplat_units::{Amount, Area, Rate, UnitSystem, significant};

use super::{ExplainedPart, ExplainedStep, Explanation, Said, Stopped};
use crate::job::{Application, Job};
use crate::join::{Grass, grass, to_treat};
use crate::plan::{ApplicationPlan, TreatedZone};
use crate::plat::Loss;
use crate::print::Print;
use crate::site::{Laid, Site};

pub(super) struct Scene<'s> {
    pub(super) property: &'s str,
    pub(super) site: &'s Site,
    pub(super) job: &'s Job,
    pub(super) application: &'s Application,
    /// Of the product among those of the application.
    pub(super) place: usize,
    /// Of the zone among those of the site.
    pub(super) index: usize,
    pub(super) gross: Area,
    pub(super) treated: Area,
    pub(super) lost: &'s [Loss],
    pub(super) drawn_error: Option<DrawnError>,
    pub(super) setbacks: &'s [Option<Setback>],
    /// `None` where the property is refused.
    pub(super) planned: Option<&'s ApplicationPlan<'s>>,
    pub(super) units: UnitSystem,
}

/// The parts of an explanation, in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum At {
    Ground,
    Grass,
    Rate,
    Limits,
    Amount,
    Tank,
}

impl At {
    const ALL: [At; 6] = [At::Ground, At::Grass, At::Rate, At::Limits, At::Amount, At::Tank];
}

/// The zone meant by a name: as it is written, else but for capitals.
pub(super) fn zone_at(site: &Site, name: &str) -> Option<usize> {
    let by = |is: &dyn Fn(&str) -> bool| site.zones.iter().position(|it| is(&it.feature.name));
    by(&|it| it == name).or_else(|| by(&|it| it.to_lowercase() == name.to_lowercase()))
}

/// What losses leave of an area.
pub(super) fn left(gross: Area, lost: &[Loss]) -> Area {
    let lost: Area = lost.iter().map(|loss| loss.area).sum();
    Area::from_square_metres(gross.square_metres() - lost.square_metres()).unwrap_or(Area::ZERO)
}

impl<'s> Scene<'s> {
    pub(super) fn zone(&self) -> &'s Laid {
        &self.site.zones[self.index]
    }

    pub(super) fn chosen(&self) -> &'s ChosenProduct {
        &self.application.products[self.place]
    }

    pub(super) fn grass(&self) -> Grass {
        grass(&self.zone().feature, self.job, &mut Vec::new())
    }

    /// The zone in the plan, if it is treated.
    pub(super) fn dosed(&self) -> Option<&'s TreatedZone> {
        self.planned?.zones.iter().find(|zone| zone.index == self.index)
    }

    /// The rate of product on the stand, which is the plan's where there is one.
    pub(super) fn rate(&self) -> Option<Rate> {
        let planned = self.dosed().and_then(|zone| zone.products.get(self.place));
        planned.map(|dosed| dosed.rate).or_else(|| self.chosen().rate_on(&self.grass().species))
    }

    /// Where a skipped zone's way ends: what `skip` asks first comes first.
    pub(super) fn skipped(&self, reason: String, advice: String, refused: bool) -> (At, Stopped) {
        let stopped = Stopped { is_refusal: refused, reasons: vec![reason], cure: Some(advice) };
        if refused {
            return (At::Limits, stopped);
        }
        let (grass, condition) =
            (self.grass(), to_treat(&self.zone().feature, &self.grass(), self.treated).condition);
        let mut products = self.application.products.iter();
        let is_unfit = |chosen: &ChosenProduct| {
            chosen.product.unfit.iter().any(|unfit| unfit.condition == condition)
        };
        let has_none = |chosen: &ChosenProduct| {
            chosen.label_checked.is_none()
                || grass.species.iter().any(|species| chosen.rates.of(species).is_none())
        };
        let at = if self.treated <= Area::ZERO {
            At::Ground
        } else if !grass.unlisted.is_empty()
            || grass.species.is_empty()
            || products.clone().any(is_unfit)
        {
            At::Grass
        } else if products.any(has_none) {
            At::Rate
        } else {
            At::Limits
        };
        (at, stopped)
    }

    /// Where the way ends on a property that is refused: where this application fails, or at the tank
    /// where it is refused for something else.
    pub(super) fn refused(&self, areas: &[Area], reasons: Vec<String>) -> (At, Stopped) {
        let zones: Vec<_> = (self.site.zones.iter().zip(areas))
            .filter(|(laid, _)| {
                let zones = self.application.zones.as_ref();
                zones.is_none_or(|zones| zones.contains(&laid.feature.name))
            })
            .map(|(laid, area)| {
                to_treat(&laid.feature, &grass(&laid.feature, self.job, &mut Vec::new()), *area)
            })
            .collect();
        let stopped = |reasons| Stopped { is_refusal: true, reasons, cure: None };
        match dose(&zones, &self.application.products, &self.application.equipment) {
            Err(error) => (place_of(&error), stopped(vec![error.to_string()])),
            Ok(dosed) => {
                let name = &self.zone().feature.name;
                if let Some(skipped) = dosed.skipped.into_iter().find(|it| it.zone == *name) {
                    return self.skipped(skipped.reason, skipped.advice, skipped.refused);
                }
                (At::Amount, stopped(reasons))
            }
        }
    }

    pub(super) fn told(&self, stop: Option<(At, Stopped)>) -> Explanation {
        let (last, stopped) = match stop {
            None => (At::Tank, None),
            Some((at, stopped)) => (at, Some(stopped)),
        };
        let limits = self.limits();
        let told = |at: At| match at {
            At::Ground => ("Ground", self.ground()),
            At::Grass => ("Grass", self.grass_steps()),
            At::Rate => ("Rate", self.rate_steps()),
            At::Limits => ("Limits", self.limit_steps(&limits)),
            At::Amount => ("Amount", self.amount_steps()),
            At::Tank => ("Water and loads", self.tank_steps()),
        };
        let parts = At::ALL.into_iter().filter(|at| *at <= last).map(told);
        let parts = parts.map(|(title, steps)| ExplainedPart { title, steps });
        let parts: Vec<ExplainedPart> = parts.filter(|part| !part.steps.is_empty()).collect();
        let equipment = &self.application.equipment;
        let product = &self.chosen().product;
        let dosed = self.dosed();
        Explanation {
            property: self.property.to_owned(),
            application: self.application.name.clone(),
            equipment: format!("{} ({})", equipment.name, equipment.kind),
            zone: self.zone().feature.name.clone(),
            product: product.id.clone(),
            product_name: product.name.clone(),
            parts,
            treated: self.treated,
            rate: self.rate().filter(|_| last >= At::Limits),
            amount: dosed.and_then(|zone| Some(zone.products.get(self.place)?.amount)),
            spray_volume: dosed.and_then(|zone| zone.spray_volume),
            corners: self.zone().shape.rings().unwrap_or_default(),
            limits: if last >= At::Limits { limits } else { Vec::new() },
            stopped,
            units: self.units,
        }
    }

    pub(super) fn print(&self) -> Print {
        Print(self.units)
    }

    /// An area as a number in the units of the steps.
    pub(super) fn number_of(&self, area: Area) -> f64 {
        match self.units {
            UnitSystem::Us => area.square_feet(),
            UnitSystem::Metric => area.square_metres(),
        }
    }

    pub(super) fn area_unit(&self) -> &'static str {
        match self.units {
            UnitSystem::Us => "sq ft",
            UnitSystem::Metric => "m²",
        }
    }

    /// `3,812.4 sq ft`, to six digits.
    pub(super) fn area(&self, area: Area) -> String {
        format!("{} {}", put(self.number_of(area)), self.area_unit())
    }

    /// What a rate puts on an area, as a step: `unit = unit/1000 sq ft × sq ft ÷ 1,000`.
    pub(super) fn on_area(&self, rate: Rate, area: Area, source: &str) -> Option<WorkedStep> {
        let amount = rate.on(area);
        let (unit, per) = match amount {
            // Of sprays by the gallon, of products by the ounce: the caller says which.
            Amount::Volume(_) | Amount::Mass(_) => {
                (self.print().product_unit(amount), plan_rate_unit(amount, self.units).area)
            }
        };
        self.on_area_in(rate, area, unit, per, source)
    }

    pub(super) fn on_area_in(
        &self,
        rate: Rate,
        area: Area,
        unit: turfplat_units::AmountUnit,
        per: turfplat_units::AreaUnit,
        source: &str,
    ) -> Option<WorkedStep> {
        let each = match self.units {
            UnitSystem::Us => "1,000",
            UnitSystem::Metric => "100",
        };
        let in_unit = turfplat_units::RateUnit { amount: unit, area: per };
        let name = unit.name();
        Some(WorkedStep {
            formula: format!("{name} = {in_unit} × {} ÷ {each}", self.area_unit()).into(),
            numbers: format!(
                "{} × {} ÷ {each}",
                put(rate.in_unit(in_unit)?),
                put(self.number_of(area))
            ),
            result: format!("{} {name}", put(rate.on(area).in_unit(unit)?)),
            source: source.to_owned().into(),
        })
    }
}

/// A number with digits enough to go over it by hand.
pub(super) fn put(value: f64) -> String {
    significant(value, 6)
}

pub(super) fn step(what: impl Into<String>) -> ExplainedStep {
    ExplainedStep { what: what.into(), ..ExplainedStep::default() }
}

impl ExplainedStep {
    pub(super) fn worked(mut self, worked: impl Into<Option<WorkedStep>>) -> ExplainedStep {
        self.worked = worked.into();
        self
    }

    pub(super) fn said(mut self, text: impl Into<String>) -> ExplainedStep {
        self.said.push(Said { text: text.into(), source: None });
        self
    }

    pub(super) fn said_by(
        mut self,
        text: impl Into<String>,
        source: impl Into<String>,
    ) -> ExplainedStep {
        self.said.push(Said { text: text.into(), source: Some(source.into()) });
        self
    }
}

/// The part in which something that cannot be dosed shows itself.
fn place_of(error: &DoseError) -> At {
    use DoseError as E;
    match error {
        E::BelowMeasure(_)
        | E::TwoStrengths { .. }
        | E::TooManyLoads { .. }
        | E::NoRoomForWater { .. }
        | E::NoTank { .. }
        | E::EmptyTank { .. }
        | E::TankOfOtherKind { .. }
        | E::DeadVolume { .. }
        | E::NoSprayVolume { .. }
        | E::SpreaderWithSpray { .. }
        | E::NoMeasure { .. }
        | E::WrongEquipment { .. } => At::Amount,
        E::AboveMaximum { .. } | E::Implausible { .. } => At::Limits,
        _ => At::Rate,
    }
}
