//! Why loads are shares of a batch: a batch is one strength of mix, so a load that is a
//! share of its volume holds the same share of every product and covers the same share
//! of its ground, and no load can be stronger than another. What stays in hose and sump is mixed
//! once, with the first load and at its strength, and stays out of what a tank covers: counted as
//! spray, it would leave the end of the lawn dry.

use turfplat_units::{Amount, Area, Rate, significant};

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

/// Strengths nearer to each other than this are one on a lawn: a fifth of the trade's ±5 % for a
/// rate (UMass Extension, Rotary spreader calibration procedures).
const SAME_STRENGTH: f64 = 0.01;

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
            mark: equipment.smallest_measure,
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
            Some(_) => rinsing_steps(dead_share, self.known_headroom(products)),
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
        let most = self.most(place).filter(|_| !rate_is_most(chosen));
        // A maximum that is a mark but for rounding is that mark.
        most.map_or(1.0, |times| times * (1.0 + ROUNDING))
    }

    /// How many times the rates the labels allow at once; `None` where one does not say.
    fn known_headroom(&self, products: &[ChosenProduct]) -> Option<f64> {
        let each = products.iter().enumerate().map(|(place, chosen)| {
            let stated = self.most(place);
            if chosen.product.label_rates().next().is_some() {
                return Some(stated.unwrap_or(1.0).min(1.0));
            }
            stated
        });
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
                products: metric(liquid),
                spray: metric(spray),
            }),
        }
    }

    /// The share of the batch in each load: all alike where the job wants them so; else full tanks
    /// and a last one, but equal loads where the last one would need less of a product than can be
    /// measured, or be measured to another strength. Equal loads are as few as full ones.
    fn shares(
        &self,
        whole: Amount,
        amounts: &[Amount],
        products: &[ChosenProduct],
        equipment: &Equipment,
        cup: &Cup,
    ) -> Result<Vec<f64>, DoseError> {
        let useful = equipment.useful_tank();
        let count = match useful {
            None => 1,
            Some(tank) => {
                let tanks = whole.over(tank).unwrap_or(f64::INFINITY);
                let count = (tanks * (1.0 - ROUNDING)).ceil().max(1.0);
                if count > MOST_LOADS {
                    return Err(DoseError::TooManyLoads {
                        batch: self.number,
                        whole: metric(whole),
                        tank: metric(tank),
                        loads: significant(count, 3),
                    });
                }
                // A whole number of at most 10,000.
                count as usize
            }
        };
        let full = useful.and_then(|tank| tank.over(whole)).map_or(1.0, |share| share.min(1.0));
        let last = (1.0 - full * (count - 1) as f64).max(0.0);
        let too_little = |share: f64| {
            amounts.iter().position(|amount| below(amount.times(share), equipment.smallest_measure))
        };
        let equal = 1.0 / count as f64;
        // Rounded to the mark, a small last load may come out at another strength than the full
        // ones; equal loads are measured alike.
        let off = |share: f64| {
            let errors = amounts
                .iter()
                .enumerate()
                .map(|(place, amount)| cup.measured(place, "", amount.times(share)).error.abs());
            errors.fold(0.0, f64::max)
        };
        let one_strength = off(last) <= off(full) + SAME_STRENGTH || off(last) <= off(equal);
        let full_ones = equipment.load_plan == LoadPlan::Full;
        if full_ones && too_little(last).is_none() && one_strength {
            let mut shares = vec![full; count - 1];
            shares.push(last);
            return Ok(shares);
        }
        match too_little(equal) {
            None => Ok(vec![equal; count]),
            Some(place) => Err(DoseError::BelowMeasure(Box::new(BelowMeasure {
                batch: self.number,
                zones: self.names().join(", "),
                load: 1,
                loads: count,
                amount: amounts.get(place).map(|all| metric(all.times(equal))).unwrap_or_default(),
                product: products
                    .get(place)
                    .map(|chosen| chosen.product.id.clone())
                    .unwrap_or_default(),
                mark: equipment.smallest_measure.map(metric).unwrap_or_default(),
                cure: if count > 1 {
                    "use a finer measure (in mL or g), or fewer loads from a larger tank"
                } else {
                    "use a finer measure (in mL or g), or treat it with more ground of the same rate"
                },
            }))),
        }
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

/// The sum; `None` of nothing, and of volumes and masses together.
pub(crate) fn total(amounts: impl IntoIterator<Item = Amount>) -> Option<Amount> {
    let mut amounts = amounts.into_iter();
    let first = amounts.next()?;
    amounts.try_fold(first, Amount::plus)
}

/// True where the user's cup or scale has no mark so small. A scale does not measure volume.
fn below(exact: Amount, mark: Option<Amount>) -> bool {
    let marks = mark.and_then(|mark| exact.over(mark));
    marks.is_some_and(|marks| marks < 1.0 - ROUNDING)
}

/// Whether a rate is to be taken for the most: a label rate of the product file is the most for its
/// grass, and a place may cap nutrients, of which only the job knows.
fn rate_is_most(chosen: &ChosenProduct) -> bool {
    chosen.product.label_rates().next().is_some() || chosen.product.is_fertilizer()
}

/// What the user measures with, and how far above the exact amount a mark may lie.
struct Cup {
    mark: Option<Amount>,
    /// By product: how many times its rate the label allows.
    headroom: Vec<f64>,
}

impl Cup {
    /// At the nearest mark, but never at one that puts down more than the label's maximum.
    fn measured(&self, place: usize, product: &str, exact: Amount) -> LoadProduct {
        let headroom = self.headroom.get(place).copied().unwrap_or(1.0);
        let rounded = self.mark.and_then(|mark| {
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

/// In millilitres or grams, the measures that a cure speaks of.
fn metric(amount: Amount) -> String {
    match amount {
        Amount::Volume(volume) => format!("{} mL", significant(volume.millilitres(), 3)),
        Amount::Mass(mass) => format!("{} g", significant(mass.grams(), 3)),
    }
}
