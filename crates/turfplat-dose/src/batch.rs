use turfplat_units::{Amount, Area};

use crate::mixing::Step;
use crate::product::Product;

/// Zones that take one strength of mix, and the loads that treat them.
#[derive(Clone, Debug, PartialEq)]
pub struct Batch {
    /// From 1, in the order in which the zones stand.
    pub number: usize,
    /// The names of its zones, in walking order.
    pub zones: Vec<String>,
    /// The fills.
    pub loads: Vec<Load>,
    /// What stays in hose and sump, mixed once on top of the loads; `None` where nothing is said
    /// of it.
    pub dead_volume: Option<DeadVolume>,
    /// What to do with a rest and how to rinse; empty of a spreader.
    pub rinsing: Vec<Step>,
}

/// What stays in hose and sump and cannot be sprayed. It is no part of any total: those go on turf.
#[derive(Clone, Debug, PartialEq)]
pub struct DeadVolume {
    /// Water and products together.
    pub spray_volume: Amount,
    /// The water in it.
    pub water: Amount,
    /// Of each product, in the order of the application's products.
    pub products: Vec<Amount>,
}

/// One fill of the tank or hopper.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// From 1 in each batch.
    pub number: usize,
    /// Water and products together, as they are sprayed; `None` of a spreader.
    pub spray_volume: Option<Amount>,
    /// The water to add; `None` of a spreader.
    pub water: Option<Amount>,
    /// What goes in, in the order of the application's products.
    pub products: Vec<LoadProduct>,
    /// The first load with the dead volume, which are mixed and measured together; `None` where
    /// the load alone is mixed.
    pub first_fill: Option<Fill>,
    /// Which ground it covers, in walking order.
    pub covers: Vec<Cover>,
}

/// What is mixed at once.
#[derive(Clone, Debug, PartialEq)]
pub struct Fill {
    /// Water and products together.
    pub spray_volume: Amount,
    /// The water to add.
    pub water: Amount,
    /// What goes in, in the order of the application's products.
    pub products: Vec<LoadProduct>,
}

impl Load {
    /// What to fill up to: with the dead volume where it is mixed with this load.
    pub fn mixed_spray(&self) -> Option<Amount> {
        self.first_fill.as_ref().map(|fill| fill.spray_volume).or(self.spray_volume)
    }

    /// The water to add: with the dead volume where it is mixed with this load.
    pub fn mixed_water(&self) -> Option<Amount> {
        self.first_fill.as_ref().map(|fill| fill.water).or(self.water)
    }

    /// What to measure out: with the dead volume where it is mixed with this load.
    pub fn mixed_products(&self) -> &[LoadProduct] {
        self.first_fill.as_ref().map_or(&self.products, |fill| &fill.products)
    }

    pub(crate) fn measured_of<'a>(&self, products: &[&'a Product]) -> Vec<(&'a Product, Amount)> {
        let measured = self.mixed_products().iter().map(|product| product.measured);
        products.iter().copied().zip(measured).collect()
    }
}

/// One product in one load.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadProduct {
    /// The product's id.
    pub product: String,
    /// The amount without rounding.
    pub exact: Amount,
    /// The amount on the user's cup or scale: at the nearest mark, but never one that exceeds the
    /// label's maximum; where no maximum is known, rounded down.
    pub measured: Amount,
    /// What measuring does to the rate, as a ratio: −0.02 is 2 % too little.
    pub error: f64,
}

/// The part of a zone that one load covers.
#[derive(Clone, Debug, PartialEq)]
pub struct Cover {
    /// The zone's place in the list of zones, from 0.
    pub index: usize,
    /// The zone's name.
    pub zone: String,
    /// How much of it.
    pub area: Area,
    /// What of the zone is left for the next load.
    pub left: Area,
}
