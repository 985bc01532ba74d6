//! Why loads are shares of a batch: a batch is one strength of mix, so a load that is a
//! share of its volume holds the same share of every product and covers the same share
//! of its ground, and no load can be stronger than another. What stays in hose and sump is mixed
//! once, with the first load and at its strength, and stays out of what a tank covers: counted as
//! spray, it would leave the end of the lawn dry. A cup has marks, and an amount rounded to one is
//! another strength: so the loads are parted so that every fill is within the trade's ±5 % of
//! its rate where that can be had, and else until all fills are measured alike.

use turfplat_units::{Amount, AmountUnit, Area, Rate, significant};

use crate::batch::{Batch, Cover, DeadVolume, Fill, Load, LoadProduct};
use crate::chosen::ChosenProduct;
use crate::dose::DosedZone;
use crate::equipment::{Equipment, LoadPlan};
use crate::error::{BelowMeasure, DoseError};
use crate::mixing::rinsing_steps;

/// More fills than anybody makes; beyond it a unit is wrong.
const MOST_LOADS: f64 = 10_000.0;

/// Rounding of a ratio of volumes: this much above a whole number of tanks is that number.
const ROUNDING: f64 = 1e-9;

/// So many more loads are tried where a dead volume larger than a load leaves no equal fills.
const MORE_LOADS: usize = 8;

/// Strengths nearer to each other than this are one on a lawn: a fifth of the trade's ±5 % for a
/// rate (UMass Extension, Rotary spreader calibration procedures).
const SAME_STRENGTH: f64 = 0.01;

/// The trade's tolerance for a rate. Source: UMass Extension, Rotary spreader calibration procedures
/// (5 lb: accept 4.75 to 5.25).
pub const RATE_TOLERANCE: f64 = 0.05;

/// A batch that is not yet filled.
pub(crate) struct Mix<'a> {
    pub(crate) number: usize,
    /// The zones treated, and their products; all at one strength.
    pub(crate) zones: Vec<&'a DosedZone>,
}

impl Mix<'_> {
    fn area(&self) -> Area {
        self.zones.iter().map(|zone| zone.area).sum()
    }

    fn names(&self) -> Vec<String> {
        self.zones.iter().map(|zone| zone.zone.clone()).collect()
    }

    /// How much of each product the batch takes.
    fn products(&self, count: usize) -> Vec<Amount> {
        let of = |place: usize| {
            let amounts =
                self.zones.iter().filter_map(|zone| Some(zone.products.get(place)?.amount));
            total(amounts)
        };
        (0..count).filter_map(of).collect()
    }

    /// The loads that treat this batch.
    pub(crate) fn filled(
        &self,
        products: &[ChosenProduct],
        equipment: &Equipment,
        spray_volume: Option<Rate>,
    ) -> Result<Batch, DoseError> {
        let amounts = self.products(products.len());
        let spray = spray_volume.map(|rate| rate.on(self.area()));
        let Some(whole) = spray.or_else(|| total(amounts.iter().copied())) else {
            return Ok(Batch {
                number: self.number,
                zones: self.names(),
                loads: Vec::new(),
                dead_volume: None,
                rinsing: Vec::new(),
            });
        };
        let water = spray.map(|spray| self.water(spray, &amounts)).transpose()?;
        let cup = Cup {
            equipment,
            headroom: products
                .iter()
                .enumerate()
                .map(|(place, one)| self.headroom(place, one))
                .collect(),
        };
        let shares = self.shares(whole, &amounts, products, equipment, &cup)?;
        let pour = |share: f64| -> Vec<LoadProduct> {
            let all = amounts.iter().zip(products).enumerate();
            all.map(|(place, (amount, chosen))| {
                cup.measured(place, &chosen.product.id, amount.times(share))
            })
            .collect()
        };
        let dead_share = equipment.dead_volume.and_then(|dead| dead.over(whole));
        let dead_volume =
            spray.zip(water).zip(dead_share).map(|((spray, water), share)| DeadVolume {
                spray_volume: spray.times(share),
                water: water.times(share),
                products: amounts.iter().map(|amount| amount.times(share)).collect(),
            });
        let mut covers = self.covers(&shares).into_iter();
        let loads = shares
            .iter()
            .enumerate()
            .map(|(place, &share)| Load {
                number: place + 1,
                spray_volume: spray.map(|spray| spray.times(share)),
                water: water.map(|water| water.times(share)),
                products: pour(share),
                first_fill: dead_share.filter(|_| place == 0).and_then(|dead| {
                    Some(Fill {
                        spray_volume: spray?.times(share + dead),
                        water: water?.times(share + dead),
                        products: pour(share + dead),
                    })
                }),
                covers: covers.next().unwrap_or_default(),
            })
            .collect();
        let rinsing = match spray {
            None => Vec::new(),
            Some(_) => rinsing_steps(dead_share, self.known_headroom(products.len())),
        };
        Ok(Batch { number: self.number, zones: self.names(), loads, dead_volume, rinsing })
    }

    /// How many times its rate the limits allow a product on every zone of the batch; `None` where
    /// nobody states one for some zone.
    fn most(&self, place: usize) -> Option<f64> {
        let each = self.zones.iter().map(|zone| zone.headroom.get(place).copied().flatten());
        each.collect::<Option<Vec<f64>>>()?.into_iter().reduce(f64::min)
    }

    /// How many times its rate a product may be measured out at.
    fn headroom(&self, place: usize, chosen: &ChosenProduct) -> f64 {
        // A place may cap nutrients, of which only the job knows: a feed's rate is its most.
        let most = self.most(place).filter(|_| !chosen.product.is_fertilizer());
        // A maximum that is a mark but for rounding is that mark.
        most.map_or(1.0, |times| times * (1.0 + ROUNDING))
    }

    /// How many times the rates the labels allow at once; `None` where one does not say.
    fn known_headroom(&self, products: usize) -> Option<f64> {
        let each = (0..products).map(|place| self.most(place));
        each.collect::<Option<Vec<f64>>>()?.into_iter().reduce(f64::min)
    }

    /// The water: what the liquid products leave of the spray volume. A dry product
    /// that dissolves is taken to add no volume.
    fn water(&self, spray: Amount, products: &[Amount]) -> Result<Amount, DoseError> {
        let Some(liquid) = total(products.iter().copied().filter(|one| spray.plus(*one).is_some()))
        else {
            return Ok(spray);
        };
        match liquid.over(spray) {
            Some(share) if share <= 1.0 => Ok(spray.times(1.0 - share)),
            _ => Err(DoseError::NoRoomForWater {
                batch: self.number,
                products: in_both(liquid),
                spray: in_both(spray),
            }),
        }
    }

    /// The share of the batch in each load: all alike where the job wants them so; else full tanks
    /// and a last one. But where a load would need less of a product than can be measured, or be
    /// measured to another strength than the rest: equal loads, as few as full ones; and where the
    /// dead volume tells the first fill from them, equal fills, of which the first covers less.
    /// Which of them it is, [`best`] says.
    fn shares(
        &self,
        whole: Amount,
        amounts: &[Amount],
        products: &[ChosenProduct],
        equipment: &Equipment,
        cup: &Cup<'_>,
    ) -> Result<Vec<f64>, DoseError> {
        let useful = equipment.useful_tank();
        let tanks_of = |whole: Amount| {
            let Some(tank) = useful else { return Ok(1) };
            let tanks = whole.over(tank).unwrap_or(f64::INFINITY);
            let count = (tanks * (1.0 - ROUNDING)).ceil().max(1.0);
            if count > MOST_LOADS {
                return Err(DoseError::TooManyLoads {
                    batch: self.number,
                    whole: in_both(whole),
                    tank: in_both(tank),
                    loads: significant(count, 3),
                });
            }
            // A whole number of at most 10,000.
            Ok(count as usize)
        };
        let count = tanks_of(whole)?;
        let dead = equipment.dead_volume.and_then(|dead| dead.over(whole)).unwrap_or(0.0);
        let too_little = |share: f64| {
            amounts.iter().map(|amount| amount.times(share)).position(|amount| below(amount, cup))
        };
        // What is mixed and measured at once, as shares of the batch.
        let fills = |shares: &[f64]| -> Vec<f64> {
            let first = shares.first().map(|share| share + dead);
            first.into_iter().chain(shares.iter().skip(1).copied()).collect()
        };
        let measured = |shares: Vec<f64>| {
            let fills = fills(&shares);
            let smallest = fills.iter().copied().fold(f64::INFINITY, f64::min);
            too_little(smallest).is_none().then(|| Split::of(shares, &fills, amounts, cup))
        };
        let full = useful.and_then(|tank| tank.over(whole)).map_or(1.0, |share| share.min(1.0));
        let last = (1.0 - full * (count - 1) as f64).max(0.0);
        let mut full_ones = vec![full; count - 1];
        full_ones.push(last);
        let equal = |count: usize| vec![1.0 / count as f64; count];
        let mut plans = vec![equal(count)];
        if equipment.load_plan == LoadPlan::Full {
            plans.insert(0, full_ones);
        }
        if dead > 0.0 && count > 1 {
            let count = tanks_of(whole.times(1.0 + dead))?;
            let fill = (1.0 + dead) / count as f64;
            let mut shares = vec![fill; count];
            shares[0] = fill - dead;
            // The first may not be all dead volume; then more equal loads may do.
            plans.extend((shares[0] > ROUNDING).then_some(shares));
            plans.extend((1..=MORE_LOADS).map(|more| equal(count + more)));
        }
        let split = best(plans.into_iter().filter_map(measured).collect());
        if let Some(split) = split {
            if split.is_within_the_trades() {
                return Ok(split.shares);
            }
            // A cup so coarse may fit a smaller fill: 1 oz of a load of 1.03, not of one of 1.55.
            let more = (1..=MORE_LOADS).map(|more| equal(count + more)).filter_map(measured);
            let fits = more.into_iter().find(|it| it.is_within_the_trades() && it.is_one_strength);
            return Ok(fits.unwrap_or(split).shares);
        }
        let share = 1.0 / count as f64;
        let id = |place: usize| products.get(place).map(|it| it.product.id.clone());
        let mark_of = |place: usize| {
            let mark = amounts.get(place).and_then(|all| equipment.mark_for(*all));
            mark.map(in_both).unwrap_or_default()
        };
        let Some(place) = too_little(share) else {
            let fills = fills(&equal(count));
            let is_off = |place: &usize| !cup.is_one_strength(*place, amounts[*place], &fills);
            let place = (0..amounts.len()).find(is_off).unwrap_or_default();
            let product = id(place).unwrap_or_default();
            return Err(DoseError::TwoStrengths {
                batch: self.number,
                product,
                mark: mark_of(place),
            });
        };
        Err(DoseError::BelowMeasure(Box::new(BelowMeasure {
            batch: self.number,
            zones: self.names().join(", "),
            load: 1,
            loads: count,
            amount: amounts.get(place).map(|all| in_both(all.times(share))).unwrap_or_default(),
            product: id(place).unwrap_or_default(),
            mark: mark_of(place),
            cure: if count > 1 {
                "use a finer measure (in mL or g), or fewer loads from a larger tank"
            } else {
                "use a finer measure (in mL or g), or treat it with more ground of the same rate"
            },
        })))
    }

    /// Which ground each load covers: the zones in walking order, cut where a load ends.
    fn covers(&self, shares: &[f64]) -> Vec<Vec<Cover>> {
        let whole = self.area().square_metres();
        // A cut this close to the edge of a zone is at its edge: no slivers from rounding.
        let close = whole * ROUNDING;
        let mut covers = vec![Vec::new(); shares.len()];
        let mut load = 0;
        let mut poured = 0.0;
        let mut load_end = shares.first().map_or(whole, |share| share * whole);
        for zone in &self.zones {
            let mut left = zone.area.square_metres();
            while left > 0.0 {
                let last_load = load + 1 >= shares.len();
                let room = load_end - poured;
                let part = if last_load || left <= room + close { left } else { room.max(0.0) };
                if let Some(area) = Area::from_square_metres(part)
                    && let Some(covered) = covers.get_mut(load)
                {
                    let left = Area::from_square_metres(left - part).unwrap_or(Area::ZERO);
                    covered.push(Cover { index: zone.index, zone: zone.zone.clone(), area, left });
                }
                left -= part;
                poured += part;
                if !last_load && load_end - poured <= close {
                    load += 1;
                    load_end += shares.get(load).map_or(0.0, |share| share * whole);
                }
            }
        }
        covers
    }
}

/// A way to part a batch into loads, and what measuring does to it.
struct Split {
    shares: Vec<f64>,
    /// By how much the fill that is farthest from its rate is off.
    worst: f64,
    /// Whether all fills are measured to one strength.
    is_one_strength: bool,
}

impl Split {
    fn of(shares: Vec<f64>, fills: &[f64], amounts: &[Amount], cup: &Cup<'_>) -> Split {
        let spans = amounts.iter().enumerate().map(|(place, all)| cup.errors(place, *all, fills));
        let spans: Vec<(f64, f64)> = spans.collect();
        Split {
            shares,
            worst: spans.iter().flat_map(|(least, most)| [-least, *most]).fold(0.0, f64::max),
            is_one_strength: spans.iter().all(|(least, most)| most - least <= SAME_STRENGTH),
        }
    }

    fn is_within_the_trades(&self) -> bool {
        self.worst <= RATE_TOLERANCE + ROUNDING
    }
}

/// Of splits in the order in which they are liked, the one to mix: the first that keeps every fill
/// within the trade's ±5 %, of one strength where there is such a one; where none does, one
/// strength, and of those the first but for what nobody sees on a lawn.
fn best(mut splits: Vec<Split>) -> Option<Split> {
    let first = |is_it: &dyn Fn(&Split) -> bool| splits.iter().position(is_it);
    let alike = splits.iter().filter(|split| split.is_one_strength);
    let least = alike.map(|split| split.worst).fold(f64::INFINITY, f64::min);
    let place = first(&|split| split.is_within_the_trades() && split.is_one_strength)
        .or_else(|| first(&Split::is_within_the_trades))
        .or_else(|| {
            first(&|split| split.is_one_strength && split.worst <= least + SAME_STRENGTH)
        })?;
    Some(splits.swap_remove(place))
}

/// The sum; `None` of nothing, and of volumes and masses together.
pub(crate) fn total(amounts: impl IntoIterator<Item = Amount>) -> Option<Amount> {
    let mut amounts = amounts.into_iter();
    let first = amounts.next()?;
    amounts.try_fold(first, Amount::plus)
}

/// True where the user's cup or scale has no mark so small.
fn below(exact: Amount, cup: &Cup<'_>) -> bool {
    let marks = cup.equipment.mark_for(exact).and_then(|mark| exact.over(mark));
    marks.is_some_and(|marks| marks < 1.0 - ROUNDING)
}

/// What the user measures with, and how far above the exact amount a mark may lie.
struct Cup<'e> {
    equipment: &'e Equipment,
    /// By product: how many times its rate the label allows.
    headroom: Vec<f64>,
}

impl Cup<'_> {
    /// The least and the most by which measuring puts fills, as shares of an amount, off their rate.
    fn errors(&self, place: usize, amount: Amount, fills: &[f64]) -> (f64, f64) {
        let errors = fills.iter().map(|&fill| self.measured(place, "", amount.times(fill)).error);
        errors.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), one| (a.min(one), b.max(one)))
    }

    /// Whether fills are measured to one strength.
    fn is_one_strength(&self, place: usize, amount: Amount, fills: &[f64]) -> bool {
        let (least, most) = self.errors(place, amount, fills);
        most - least <= SAME_STRENGTH
    }

    /// At the nearest mark, but never at one that puts down more than the label's maximum.
    fn measured(&self, place: usize, product: &str, exact: Amount) -> LoadProduct {
        let headroom = self.headroom.get(place).copied().unwrap_or(1.0);
        let rounded = self.equipment.mark_for(exact).and_then(|mark| {
            let marks = exact.over(mark)?;
            let (near, down) = (marks.round(), marks.floor());
            if (near - marks).abs() <= ROUNDING {
                // An amount on a mark, but for rounding, is that amount.
                return Some((exact, 0.0));
            }
            let marked = mark.times(if near <= marks * headroom { near } else { down });
            Some((marked, marked.over(exact)? - 1.0))
        });
        let (measured, error) = rounded.unwrap_or((exact, 0.0));
        LoadProduct { product: product.to_owned(), exact, measured, error }
    }
}

/// `0.25 fl oz (7.39 mL)`: as labels and tanks are written, and the finer measure that a cure
/// speaks of. Large amounts in gallons and pounds.
fn in_both(amount: Amount) -> String {
    use AmountUnit::{FluidOunce, Gallon, Gram, Kilogram, Litre, Millilitre, Pound, WeightOunce};
    let is_large = |unit| amount.in_unit(unit).is_some_and(|value| value >= 1.0);
    let (us, metric) = match amount {
        Amount::Volume(_) if is_large(Gallon) => (Gallon, Litre),
        Amount::Volume(_) => (FluidOunce, Millilitre),
        Amount::Mass(_) if is_large(Pound) => (Pound, Kilogram),
        Amount::Mass(_) => (WeightOunce, Gram),
    };
    format!("{} ({})", amount.print(us), amount.print(metric))
}
