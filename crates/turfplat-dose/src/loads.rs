//! Why loads are shares of a batch: a batch is one strength of mix, so a load that is a
//! share of its volume holds the same share of every product and covers the same share
//! of its ground, and no load can be stronger than another.

use turfplat_units::{Amount, Area, Rate, significant};

use crate::batch::{Batch, Cover, Load, LoadProduct};
use crate::chosen::ChosenProduct;
use crate::dose::DosedZone;
use crate::equipment::Equipment;
use crate::error::{BelowMeasure, DoseError};

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
            return Ok(Batch { number: self.number, zones: self.names(), loads: Vec::new() });
        };
        let water = spray.map(|spray| self.water(spray, &amounts)).transpose()?;
        let shares = self.shares(whole, &amounts, products, equipment)?;
        let mut covers = self.covers(&shares).into_iter();
        let loads = shares
            .iter()
            .enumerate()
            .map(|(place, &share)| Load {
                number: place + 1,
                spray_volume: spray.map(|spray| spray.times(share)),
                water: water.map(|water| water.times(share)),
                products: amounts
                    .iter()
                    .zip(products)
                    .map(|(amount, chosen)| {
                        let exact = amount.times(share);
                        measured(&chosen.product.id, exact, equipment.smallest_measure)
                    })
                    .collect(),
                covers: covers.next().unwrap_or_default(),
            })
            .collect();
        Ok(Batch { number: self.number, zones: self.names(), loads })
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

    /// The share of the batch in each load: full tanks and a last one; equal loads where
    /// the last one would need less of a product than can be measured, or be measured to
    /// another strength.
    fn shares(
        &self,
        whole: Amount,
        amounts: &[Amount],
        products: &[ChosenProduct],
        equipment: &Equipment,
    ) -> Result<Vec<f64>, DoseError> {
        let count = match equipment.tank {
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
        let full =
            equipment.tank.and_then(|tank| tank.over(whole)).map_or(1.0, |share| share.min(1.0));
        let last = (1.0 - full * (count - 1) as f64).max(0.0);
        let too_little = |share: f64| {
            amounts.iter().position(|amount| below(amount.times(share), equipment.smallest_measure))
        };
        let equal = 1.0 / count as f64;
        // Rounded to the mark, a small last load may come out at another strength than the full
        // ones; equal loads are measured alike.
        let off = |share: f64| {
            let errors = amounts.iter().map(|amount| {
                measured("", amount.times(share), equipment.smallest_measure).error.abs()
            });
            errors.fold(0.0, f64::max)
        };
        let one_strength = off(last) <= off(full) + SAME_STRENGTH || off(last) <= off(equal);
        if too_little(last).is_none() && one_strength {
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
                amount: metric(amounts[place].times(equal)),
                product: products[place].product.id.clone(),
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
                if let Some(area) = Area::from_square_metres(part).filter(|area| *area > Area::ZERO)
                    && let Some(covered) = covers.get_mut(load)
                {
                    covered.push(Cover { index: zone.index, zone: zone.zone.clone(), area });
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

fn measured(product: &str, exact: Amount, mark: Option<Amount>) -> LoadProduct {
    let rounded = mark.and_then(|mark| {
        let marks = exact.over(mark)?;
        let down = mark.times((marks + ROUNDING).floor());
        // An amount on a mark, but for rounding, is that amount.
        let share = down.over(exact)?;
        Some(if share >= 1.0 { (exact, 0.0) } else { (down, share - 1.0) })
    });
    let (measured, error) = rounded.unwrap_or((exact, 0.0));
    LoadProduct { product: product.to_owned(), exact, measured, error }
}

/// In millilitres or grams, the measures that a cure speaks of.
fn metric(amount: Amount) -> String {
    match amount {
        Amount::Volume(volume) => format!("{} mL", significant(volume.millilitres(), 3)),
        Amount::Mass(mass) => format!("{} g", significant(mass.grams(), 3)),
    }
}
