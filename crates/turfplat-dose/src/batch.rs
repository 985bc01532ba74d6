use turfplat_units::{Amount, Area};

/// Zones that take one strength of mix, and the loads that treat them.
#[derive(Clone, Debug, PartialEq)]
pub struct Batch {
    /// From 1, in the order in which the zones stand.
    pub number: usize,
    /// The names of its zones, in walking order.
    pub zones: Vec<String>,
    /// The fills.
    pub loads: Vec<Load>,
}

/// One fill of the tank or hopper.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// From 1 in each batch.
    pub number: usize,
    /// Water and products together; `None` of a spreader.
    pub spray_volume: Option<Amount>,
    /// The water to add; `None` of a spreader.
    pub water: Option<Amount>,
    /// What goes in, in the order of the application's products.
    pub products: Vec<LoadProduct>,
    /// Which ground it covers, in walking order.
    pub covers: Vec<Cover>,
}

/// One product in one load.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadProduct {
    /// The product's id.
    pub product: String,
    /// The amount without rounding.
    pub exact: Amount,
    /// The amount on the user's cup or scale: rounded down to a mark, since rounding up
    /// could exceed the label's rate.
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
}
