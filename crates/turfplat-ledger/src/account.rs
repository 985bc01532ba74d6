//! Why a record is reckoned load by load and zone by zone: a tank that was emptied over half of a zone put
//! twice as much there as the sum over the zone says, and limits count what lies on the ground.

use turfplat_units::{Amount, Area, Rate};

use crate::record::{Load, Record};

/// What lies on a zone after an application.
#[derive(Clone, Debug, PartialEq)]
pub struct OnZone {
    /// Name of the zone.
    pub zone: String,
    /// Id of the product.
    pub product: String,
    /// How much in all.
    pub amount: Amount,
    /// The ground that it went on.
    pub area: Area,
    /// The rate where it lies thickest: over the whole, or what one load put on its part.
    pub rate: Rate,
    /// True where amount or area is the plan's, since nobody told what it was.
    pub as_planned: bool,
}

/// What nobody told of a load, so that it cannot be counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Untold {
    /// Its place, from 1.
    pub load: usize,
    /// What is not told, such as `how much iron it held`.
    pub what: String,
}

/// What `record` put on each zone. What was not told is taken from the plan, and said.
///
/// # Errors
///
/// A load of which neither record nor plan says what was in it or where it went: nothing would be the
/// wrong guess.
pub fn on_zones(record: &Record) -> Result<Vec<OnZone>, Untold> {
    let mut all: Vec<OnZone> = Vec::new();
    for (place, load) in record.loads.iter().enumerate() {
        let untold = |what: String| Untold { load: place + 1, what };
        let mut grounds: Vec<(&str, Area, bool)> = Vec::new();
        for done in &load.done {
            let told = done.area.as_ref().or(done.planned.as_ref()).and_then(|it| it.area());
            let area =
                told.ok_or_else(|| untold(format!("how much of {} it covered", done.zone)))?;
            grounds.push((&done.zone, area, done.area.is_none()));
        }
        let whole: Area = grounds.iter().map(|(_, area, _)| *area).sum();
        for put in &load.products {
            let told = put.amount.as_ref().or(put.planned.as_ref()).and_then(|it| it.amount());
            let amount = told.ok_or_else(|| untold(format!("how much {} it held", put.product)))?;
            if amount == amount.times(0.0) {
                continue;
            }
            let rate = Rate::of(amount, whole);
            let rate = rate.ok_or_else(|| untold("on which ground it was put down".to_owned()))?;
            let grounds = grounds.iter().filter(|(_, area, _)| *area > Area::ZERO);
            for (zone, area, planned) in grounds {
                let part = OnZone {
                    zone: (*zone).to_owned(),
                    product: put.product.clone(),
                    amount: rate.on(*area),
                    area: *area,
                    rate,
                    as_planned: *planned || put.amount.is_none(),
                };
                let same = |it: &&mut OnZone| it.zone == part.zone && it.product == part.product;
                match all.iter_mut().find(same) {
                    None => all.push(part),
                    Some(there) => there.add(&part),
                }
            }
        }
    }
    Ok(all)
}

impl OnZone {
    fn add(&mut self, part: &OnZone) {
        // One product is a volume or a mass throughout; else the thicker stands.
        if let Some(amount) = self.amount.plus(part.amount) {
            self.amount = amount;
            self.area = self.area + part.area;
        }
        if part.rate.over(self.rate).is_some_and(|times| times > 1.0) {
            self.rate = part.rate;
        }
        self.as_planned |= part.as_planned;
    }
}

/// An amount on an area, as it was meant and as it was.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[allow(missing_docs)] // The field names say it.
pub struct Sum {
    pub amount: Option<Amount>,
    pub area: Option<Area>,
    pub planned_amount: Option<Amount>,
    pub planned_area: Option<Area>,
}

impl Sum {
    /// The actual rate; `None` where amount or area is not told.
    pub fn rate(&self) -> Option<Rate> {
        Rate::of(self.amount?, self.area?)
    }

    /// The rate of the plan.
    pub fn planned_rate(&self) -> Option<Rate> {
        Rate::of(self.planned_amount?, self.planned_area?)
    }

    /// By how much the actual rate is off the plan's: 0.05 is five percent too much.
    pub fn off(&self) -> Option<f64> {
        let times = self.rate()?.over(self.planned_rate()?)?;
        times.is_finite().then_some(times - 1.0)
    }
}

/// Of each product of `record`, over the loads that held it. A sum of which a part is not told is not told.
pub fn by_product(record: &Record) -> Vec<(String, Sum)> {
    let of_product = |id: &str| {
        let held = record.loads.iter().filter_map(|load| {
            let put = load.products.iter().find(|put| put.product == id)?;
            Some((put, load))
        });
        let loads = || held.clone().map(|(_, load)| load);
        Sum {
            amount: sum(held.clone().map(|(put, _)| put.amount.as_ref()?.amount())),
            planned_amount: sum(held.clone().map(|(put, _)| put.planned.as_ref()?.amount())),
            area: ground(loads()),
            planned_area: planned_ground(loads()),
        }
    };
    record.products.iter().map(|it| (it.id.clone(), of_product(&it.id))).collect()
}

/// Water and products that `record` put out, over its loads; of dry spreading nothing is told.
pub fn spray(record: &Record) -> Sum {
    let loads = || record.loads.iter();
    Sum {
        amount: sum(loads().map(Load::sprayed)),
        planned_amount: sum(loads().map(|load| load.planned_spray_volume.as_ref()?.amount())),
        area: ground(loads()),
        planned_area: planned_ground(loads()),
    }
}

impl Load {
    /// What it put out: as measured, else water and all that is liquid in it.
    pub fn sprayed(&self) -> Option<Amount> {
        if let Some(volume) = &self.spray_volume {
            return volume.amount();
        }
        let water = self.water.as_ref()?.amount()?;
        let mut whole = water;
        for put in &self.products {
            // What is weighed is dissolved: it adds no volume that anybody measures.
            whole = whole.plus(put.amount.as_ref()?.amount()?).unwrap_or(whole);
        }
        Some(whole)
    }
}

fn sum(amounts: impl Iterator<Item = Option<Amount>>) -> Option<Amount> {
    let amounts = amounts.collect::<Option<Vec<Amount>>>()?;
    let first = *amounts.first()?;
    amounts[1..].iter().try_fold(first, |sum, amount| sum.plus(*amount))
}

fn ground<'r>(loads: impl Iterator<Item = &'r Load>) -> Option<Area> {
    let areas = loads.flat_map(|load| &load.done).map(|done| done.area.as_ref()?.area());
    areas.collect::<Option<Vec<Area>>>().map(|areas| areas.into_iter().sum())
}

fn planned_ground<'r>(loads: impl Iterator<Item = &'r Load>) -> Option<Area> {
    let areas = loads.flat_map(|load| &load.done).map(|done| done.planned.as_ref()?.area());
    areas.collect::<Option<Vec<Area>>>().map(|areas| areas.into_iter().sum())
}

#[cfg(test)]
mod tests {
    use turfplat_units::{AmountUnit, AreaUnit, RateUnit};

    use super::*;
    use crate::quantity::{Ground, Quantity};
    use crate::record::tests::record;
    use crate::record::{Done, Put};

    const PER_1000: RateUnit =
        RateUnit { amount: AmountUnit::FluidOunce, area: AreaUnit::ThousandSquareFeet };

    fn fl_oz(value: f64) -> Option<Quantity> {
        let amount = AmountUnit::FluidOunce.of(value).expect("an amount");
        Some(Quantity::new(format!("{value} fl oz"), amount))
    }

    fn sq_ft(value: f64) -> Option<Ground> {
        let area = Area::from_square_feet(value).expect("an area");
        Some(Ground::new(format!("{value} sq ft"), area))
    }

    fn load(amount: Option<f64>, grounds: &[(&str, Option<f64>)]) -> Load {
        let done = |(zone, area): &(&str, Option<f64>)| Done {
            zone: (*zone).to_owned(),
            area: area.and_then(sq_ft),
            planned: sq_ft(1000.0),
        };
        let product = "trinexapac-ethyl-1-ec".to_owned();
        Load {
            products: vec![Put { product, amount: amount.and_then(fl_oz), planned: fl_oz(0.5) }],
            done: grounds.iter().map(done).collect(),
            water: fl_oz(128.0),
            ..Load::default()
        }
    }

    fn near(ours: Option<f64>, worked: f64) {
        let ours = ours.expect("a figure");
        assert!((ours - worked).abs() < 1e-9, "{ours} is not {worked}");
    }

    #[test]
    fn what_lies_on_a_zone_is_reckoned_by_load() {
        // Worked by hand. Load 1: 2 fl oz on 3,000 sq ft of A and 1,000 of B, 0.5 each 1,000. Load 2: 1 fl oz
        // on 1,000 sq ft of B, 1.0 each 1,000. B: 0.5 + 1 fl oz on 2,000 sq ft, thickest 1.0.
        let mut record = record();
        record.loads = vec![
            load(Some(2.0), &[("A", Some(3000.0)), ("B", Some(1000.0))]),
            load(Some(1.0), &[("B", Some(1000.0))]),
        ];
        let zones = on_zones(&record).expect("told");
        let told: Vec<&str> = zones.iter().map(|it| it.zone.as_str()).collect();
        assert_eq!(told, ["A", "B"]);
        near(zones[0].rate.in_unit(PER_1000), 0.5);
        near(zones[1].rate.in_unit(PER_1000), 1.0);
        near(zones[1].amount.in_unit(AmountUnit::FluidOunce), 1.5);
        near(Some(zones[1].area.square_feet()), 2000.0);
        assert!(zones.iter().all(|it| !it.as_planned));
        // In all 3 fl oz on 5,000 sq ft; of the plan 1 fl oz on 3,000 sq ft.
        let (_, sum) = &by_product(&record)[0];
        near(sum.rate().and_then(|it| it.in_unit(PER_1000)), 0.6);
        near(sum.planned_rate().and_then(|it| it.in_unit(PER_1000)), 1.0 / 3.0);
        near(sum.off(), 0.8);
        // Spray: two gallons of water and 3 fl oz on 5,000 sq ft.
        near(spray(&record).rate().and_then(|it| it.in_unit(PER_1000)), 259.0 / 5.0);
    }

    #[test]
    fn what_is_not_told_is_the_plans_and_never_nothing() {
        let mut record = record();
        record.loads = vec![load(None, &[("A", None)])];
        let zones = on_zones(&record).expect("the plan tells");
        near(zones[0].rate.in_unit(PER_1000), 0.5);
        assert!(zones[0].as_planned);
        let (_, sum) = &by_product(&record)[0];
        assert_eq!((sum.amount, sum.area, sum.off()), (None, None, None));
        record.loads[0].products[0].planned = None;
        let untold = on_zones(&record).expect_err("nobody tells");
        assert_eq!(untold.what, "how much trinexapac-ethyl-1-ec it held");
        record.loads = vec![load(Some(1.0), &[])];
        let untold = on_zones(&record).expect_err("nowhere");
        assert_eq!(untold.what, "on which ground it was put down");
    }

    proptest::proptest! {
        /// What went into the loads lies on the zones, no more and no less, and nowhere thinner than the mean.
        #[test]
        fn all_that_went_in_lies_somewhere(
            loads in proptest::collection::vec(
                (0.01..50.0_f64, proptest::collection::vec((0..3_usize, 1.0..20_000.0_f64), 1..4)),
                1..6,
            )
        ) {
            let names = ["A", "B", "C"];
            let mut record = record();
            record.loads = loads
                .iter()
                .map(|(amount, grounds)| {
                    let grounds: Vec<_> =
                        grounds.iter().map(|(zone, area)| (names[*zone], Some(*area))).collect();
                    load(Some(*amount), &grounds)
                })
                .collect();
            let zones = on_zones(&record).expect("all is told");
            let lies: f64 = zones.iter().filter_map(|it| it.amount.in_unit(AmountUnit::FluidOunce)).sum();
            let went: f64 = loads.iter().map(|(amount, _)| amount).sum();
            proptest::prop_assert!((lies - went).abs() <= 1e-9 * went, "{lies} of {went}");
            for it in &zones {
                let mean = Rate::of(it.amount, it.area).expect("ground");
                let times = it.rate.over(mean).expect("one kind");
                proptest::prop_assert!(times >= 1.0 - 1e-12, "{times}");
            }
        }
    }
}
