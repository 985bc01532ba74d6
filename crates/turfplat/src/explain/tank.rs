//! From the rate to the amount on this zone, its water, and its share of every load.

use turfplat_dose::{Batch, Load, WorkedStep};
use turfplat_units::{Amount, AmountUnit, Area, AreaUnit, UnitSystem, decimal, significant};

use super::ExplainedStep;
use super::scene::{Scene, put, step};
use crate::plan::TreatedZone;

/// Of more loads the first and the last are told; between them all are alike.
const MOST_LOADS: usize = 6;

impl Scene<'_> {
    pub(super) fn amount_steps(&self) -> Vec<ExplainedStep> {
        let Some(rate) = self.rate() else { return Vec::new() };
        let worked = self.on_area(rate, self.treated, "what a rate means; the rate is the label's");
        vec![step("Product on this zone").worked(worked)]
    }

    pub(super) fn tank_steps(&self) -> Vec<ExplainedStep> {
        let (Some(plan), Some(zone)) = (self.planned, self.dosed()) else { return Vec::new() };
        let mut steps: Vec<ExplainedStep> = self.spray(zone).into_iter().collect();
        let Some(batch) = plan.batches.iter().find(|batch| batch.number == zone.batch) else {
            return steps;
        };
        steps.extend(self.batch(batch, &plan.zones));
        steps.extend(self.count(batch));
        steps.extend(self.loads(batch, zone));
        steps
    }

    fn area_per(&self) -> AreaUnit {
        match self.units {
            UnitSystem::Us => AreaUnit::ThousandSquareFeet,
            UnitSystem::Metric => AreaUnit::HundredSquareMetres,
        }
    }

    fn in_spray_unit(&self, amount: Amount) -> f64 {
        amount.in_unit(self.print().spray_unit()).unwrap_or_default()
    }

    fn spray(&self, zone: &TreatedZone) -> Option<ExplainedStep> {
        zone.spray_volume?;
        let rate = self.application.equipment.spray_volume?;
        let unit = self.print().spray_unit();
        let source = format!(
            "the spray volume of {} in the job, from calibration",
            self.application.equipment.name
        );
        let worked = self.on_area_in(rate, zone.treated, unit, self.area_per(), &source);
        Some(step("Spray on this zone (water and product)").worked(worked))
    }

    /// All zones of the batch together, and the water that goes with the products.
    fn batch(&self, batch: &Batch, zones: &[TreatedZone]) -> Vec<ExplainedStep> {
        let members: Vec<&TreatedZone> =
            zones.iter().filter(|zone| zone.batch == batch.number).collect();
        let mut steps = Vec::new();
        let strength =
            "zones whose rates are the same go into one batch: one strength of mix in every load";
        let mut whole = step(format!("Batch {}: {}", batch.number, batch.zones.join(", ")))
            .said_by(
                match members.len() {
                    1 => "this zone alone".to_owned(),
                    several => format!("{several} zones of one strength"),
                },
                strength,
            );
        let amounts: Vec<Amount> =
            members.iter().filter_map(|zone| Some(zone.products.get(self.place)?.amount)).collect();
        if let (Some(sum), true) = (total(&amounts), members.len() > 1) {
            let unit = self.print().product_unit(sum);
            let each: Vec<String> =
                amounts.iter().map(|it| put(it.in_unit(unit).unwrap_or_default())).collect();
            whole = whole.worked(WorkedStep {
                formula: format!("{0} in the batch = sum of {0} on its zones", unit.name()).into(),
                numbers: each.join(" + "),
                result: format!("{} {}", put(sum.in_unit(unit).unwrap_or_default()), unit.name()),
                source: strength.into(),
            });
        }
        steps.push(whole);
        steps.extend(self.water(batch, &members));
        steps
    }

    fn water(&self, batch: &Batch, members: &[&TreatedZone]) -> Option<ExplainedStep> {
        let spray =
            total(&batch.loads.iter().filter_map(|load| load.spray_volume).collect::<Vec<_>>())?;
        let water = total(&batch.loads.iter().filter_map(|load| load.water).collect::<Vec<_>>())?;
        let all = members.iter().flat_map(|zone| &zone.products).map(|it| it.amount);
        let liquid: Vec<Amount> = all.filter(|it| matches!(it, Amount::Volume(_))).collect();
        let spray_unit = self.print().spray_unit();
        let unit = spray_unit.name();
        let (small, many) = match self.units {
            UnitSystem::Us => (AmountUnit::FluidOunce, "128"),
            UnitSystem::Metric => (AmountUnit::Millilitre, "1,000"),
        };
        let exactly = match self.units {
            UnitSystem::Us => "128 fl oz a gallon, exact (NIST Handbook 44, Appendix C)",
            UnitSystem::Metric => "1,000 mL a liter, exact (SI)",
        };
        let Some(product) = total(&liquid) else {
            return Some(step("Water of the batch").said_by(
                format!("{} {unit}: all of the spray", put(self.in_spray_unit(water))),
                "a dry product that dissolves is taken to add no volume: choice of this tool",
            ));
        };
        let name = small.name();
        Some(step("Water of the batch").worked(WorkedStep {
            formula:
                format!("{unit} water = {unit} spray − {name} of liquid product ÷ {many}").into(),
            numbers: format!(
                "{} − {} ÷ {many}",
                put(self.in_spray_unit(spray)),
                put(product.in_unit(small).unwrap_or_default())
            ),
            result: format!("{} {unit}", put(self.in_spray_unit(water))),
            source: exactly.into(),
        }))
    }

    /// How many loads the batch makes.
    fn count(&self, batch: &Batch) -> Vec<ExplainedStep> {
        let equipment = &self.application.equipment;
        let loads = batch.loads.len();
        let (Some(tank), Some(useful)) = (equipment.tank, equipment.useful_tank()) else {
            return vec![
                step("Loads").said(
                    "no tank or hopper is given: told as one fill, refilled when it runs low",
                ),
            ];
        };
        let unit = match tank {
            Amount::Volume(_) => self.print().spray_unit(),
            Amount::Mass(_) => self.print().product_unit(tank),
        };
        let number = |amount: Amount| put(amount.in_unit(unit).unwrap_or_default());
        let mut steps = Vec::new();
        if let Some(dead) = equipment.dead_volume {
            steps.push(
                step("What a tank puts down").worked(WorkedStep {
                    formula: format!(
                        "{0} put down = {0} of the tank − {0} that stays in hose and sump",
                        unit.name()
                    )
                    .into(),
                    numbers: format!("{} − {}", number(tank), number(dead)),
                    result: format!("{} {}", number(useful), unit.name()),
                    source: "tank and dead_volume of the job".into(),
                }),
            );
        }
        let spray: Vec<Amount> = batch.loads.iter().filter_map(|load| load.spray_volume).collect();
        let whole = total(&spray).or_else(|| {
            total(
                &batch
                    .loads
                    .iter()
                    .flat_map(|load| &load.products)
                    .map(|it| it.exact)
                    .collect::<Vec<_>>(),
            )
        });
        let Some((whole, tanks)) = whole.and_then(|whole| Some((whole, whole.over(useful)?)))
        else {
            return steps;
        };
        steps.push(step("Tanks").worked(WorkedStep {
            formula:
                format!("tanks = {0} of the batch ÷ {0} that a tank puts down", unit.name()).into(),
            numbers: format!("{} ÷ {}", number(whole), number(useful)),
            result: format!("{} of a tank", put(tanks)),
            source: "tank of the job".into(),
        }));
        let all_alike = batch.loads.windows(2).all(|pair| {
            let of = |load: &Load| load.products.get(self.place).map(|it| it.exact);
            of(&pair[0])
                .zip(of(&pair[1]))
                .and_then(|(a, b)| a.over(b))
                .is_some_and(|it| (it - 1.0).abs() < 1e-9)
        });
        let how = match (loads, all_alike) {
            (1, _) => "one load",
            (_, true) => {
                "all alike: as the job asks, or since with a last one the cup would put a load beyond ±5 % of the rate"
            }
            (_, false) => "full ones, and a last one for what is left",
        };
        let needed = (tanks * (1.0 - 1e-9)).ceil().max(1.0);
        let more = (loads as f64 > needed).then(|| {
            format!("{loads} are mixed: of fewer the cup would put some beyond ±5 % of the rate")
        });
        let mut counted = step("Loads")
            .worked(WorkedStep {
                formula: "loads = tanks, rounded up".into(),
                numbers: format!("{} rounded up", put(tanks)),
                result: format!("{needed} {}", if needed == 1.0 { "load" } else { "loads" }),
                source: "a load is mixed for the ground that it covers, no more".into(),
            })
            .said(how);
        if let Some(more) = more {
            counted = counted.said(more);
        }
        steps.push(counted);
        steps
    }

    /// What each load puts on this zone, and what measuring does to it.
    fn loads(&self, batch: &Batch, zone: &TreatedZone) -> Vec<ExplainedStep> {
        let mut covering: Vec<(&Load, Area, Area)> = Vec::new();
        for load in &batch.loads {
            let here = load.covers.iter().filter(|cover| cover.zone == zone.zone);
            covering.extend(here.map(|cover| (load, cover.area, cover.left)));
        }
        let told: Vec<usize> = match covering.len() {
            few if few <= MOST_LOADS => (0..few).collect(),
            many => vec![0, 1, many - 1],
        };
        let mut steps = Vec::new();
        for &place in &told {
            let (load, area, left) = covering[place];
            steps.extend(self.load(batch, load, area, left));
            if place == 1 && told.len() < covering.len() {
                let (first, last) =
                    (covering[1].0.number + 1, covering[covering.len() - 2].0.number);
                steps.push(
                    step(format!("Loads {first} to {last}"))
                        .said("as the one before, on what is left of the zone"),
                );
            }
        }
        if told.len() == covering.len() && covering.len() > 1 {
            steps.extend(self.shares(zone, &covering));
        }
        steps
    }

    fn load(&self, batch: &Batch, load: &Load, area: Area, left: Area) -> Vec<ExplainedStep> {
        let Some(rate) = self.rate() else { return Vec::new() };
        let name = format!("Load {} of {}", load.number, batch.loads.len());
        let covers = match left > Area::ZERO {
            true => {
                format!("covers {} of this zone; {} are left", self.area(area), self.area(left))
            }
            false => format!("covers {} of this zone, to its end", self.area(area)),
        };
        let worked = self.on_area(
            rate,
            area,
            "this zone's share of the load: rate × the ground of it that the load covers",
        );
        let share = step(format!("{name}: on this zone")).worked(worked).said(covers);
        let Some(mixed) = load.mixed_products().get(self.place) else { return vec![share] };
        let equipment = &self.application.equipment;
        let own = equipment.unit_for(mixed.exact);
        let unit = own.unwrap_or_else(|| self.print().product_unit(mixed.exact));
        let number = |amount: Amount| put(amount.in_unit(unit).unwrap_or_default());
        let rounds = mixed.exact != mixed.measured;
        let mut measured = step(format!(
            "{name}: measure out {}",
            self.print().to_measure(mixed.measured, equipment)
        ));
        if load.first_fill.is_some() {
            measured = measured
                .said("with what stays in hose and sump, which is mixed once, with the first load");
        }
        if let Some(spray) = load.mixed_spray() {
            measured = measured.said(format!("fill up to {}", self.print().spray(spray)));
        }
        if rounds {
            let mark = equipment.mark_for(mixed.exact);
            let mark = mark.map_or_else(String::new, |mark| {
                format!("marks of {}: ", self.print().to_measure(mark, equipment))
            });
            measured = measured.worked(WorkedStep {
                formula: "percent off = 100 × (measured ÷ exact − 1)".into(),
                numbers: format!("100 × ({} ÷ {} − 1)", number(mixed.measured), number(mixed.exact)),
                result: format!("{} %", signed(100.0 * mixed.error)),
                source: "to the nearest mark that puts down no more than the label's most; down where no most is known".into(),
            }).said(format!("{mark}the rate on the ground is off by as much"));
        } else {
            measured = measured.said(format!("exactly {} {}", number(mixed.exact), unit.name()));
        }
        vec![share, measured]
    }

    /// What all loads put on the zone is what it takes.
    fn shares(
        &self,
        zone: &TreatedZone,
        covering: &[(&Load, Area, Area)],
    ) -> Option<ExplainedStep> {
        let dosed = zone.products.get(self.place)?;
        let unit = self.print().product_unit(dosed.amount);
        let each: Vec<String> = covering
            .iter()
            .map(|(_, area, _)| put(dosed.rate.on(*area).in_unit(unit).unwrap_or_default()))
            .collect();
        Some(step("All loads on this zone").worked(WorkedStep {
            formula: format!("{0} = sum of {0} of its loads", unit.name()).into(),
            numbers: each.join(" + "),
            result: format!("{} {}", put(dosed.amount.in_unit(unit)?), unit.name()),
            source: "the check: the same as the product on this zone".into(),
        }))
    }
}

fn total(amounts: &[Amount]) -> Option<Amount> {
    let mut all = amounts.iter().copied();
    let first = all.next()?;
    all.try_fold(first, Amount::plus)
}

fn signed(value: f64) -> String {
    match value < 0.0 {
        true => format!("−{}", significant(-value, 3)),
        false if value == 0.0 => decimal(0.0, 0),
        false => format!("+{}", significant(value, 3)),
    }
}
