//! What is to be quoted, as the rooms above hand it in: areas, times and costs, and no shapes.

use std::fmt;

use turfplat_money::{Decimal, Money};
use turfplat_units::{Area, Time};

use crate::list::Service;

/// What is done on one property in a season.
#[derive(Clone, Debug, Default)]
pub struct Property<'a> {
    /// Its visits in order.
    pub visits: Vec<Visit<'a>>,
    /// The area of its lot, where it is drawn.
    pub lot: Option<Area>,
    /// How far one visit is driven, and in which unit: `mile` or `km`.
    pub distance: Option<(Decimal, &'static str)>,
    /// What is bought for all visits together.
    pub containers: Vec<Container>,
}

/// What is done on one day.
#[derive(Clone, Debug, Default)]
pub struct Visit<'a> {
    /// The day, as 2026-06-08, where it is known.
    pub day: Option<String>,
    /// What is done.
    pub works: Vec<Work<'a>>,
}

/// One application, on the zones that it is for.
#[derive(Clone, Debug, Default)]
pub struct Work<'a> {
    /// Its name.
    pub application: &'a str,
    /// Ids of what is put down.
    pub products: Vec<&'a str>,
    /// Which service it is, where no application says so.
    pub service: Option<&'a Service>,
    /// The zones that are treated, in walking order; those that get nothing are not among them.
    pub zones: Vec<ZoneWork<'a>>,
}

/// One zone of it.
#[derive(Clone, Debug)]
pub struct ZoneWork<'a> {
    /// Its name.
    pub zone: &'a str,
    /// What is left after setbacks.
    pub treated: Area,
    /// What is left before any setback.
    pub net: Area,
    /// As drawn.
    pub gross: Area,
    /// How long it takes, where that is known.
    pub time: Option<Time>,
    /// What goes on it of each product; `None` where no dose is known yet.
    pub products: Option<Vec<ProductUse>>,
    /// What the customer should know of this zone.
    pub note: Option<String>,
}

/// What goes on one zone of one product.
#[derive(Clone, Debug)]
pub struct ProductUse {
    /// Its id.
    pub product: String,
    /// Its name, for whoever reads the quote.
    pub name: String,
    /// How much, printed with its unit.
    pub amount: String,
    /// What that costs, where the product has a price.
    pub cost: Option<Money>,
}

/// Some containers of one size that are bought.
#[derive(Clone, Debug)]
pub struct Container {
    /// The product's id.
    pub product: String,
    /// Its name, for whoever reads the quote.
    pub name: String,
    /// Its size, printed with its unit.
    pub size: String,
    /// How many.
    pub count: u64,
    /// What one costs, where that is known.
    pub price: Option<Money>,
}

/// A service of a price list, and an application that it is for. Prints as `service "Feeding"
/// (prices.toml: line 12) for application "June"`.
#[derive(Clone, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // The field names say it.
pub struct ServiceUse {
    pub service: String,
    pub file: String,
    pub line: usize,
    pub application: String,
}

impl fmt::Display for ServiceUse {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ServiceUse { service, file, line, application } = self;
        write!(f, "service {service:?} ({file}: line {line}) for application {application:?}")
    }
}

/// Why a property cannot be quoted, and the cure.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum QuoteError {
    #[error(
        "application {application:?} has no service in {file}; add a [[service]] with applications = [{application:?}], or one without applications and products for all others"
    )]
    NoService { application: String, file: String },

    #[error(
        "application {application:?}, zone {zone:?}: service {service:?} prices labor, and how long the zone takes is not known; add swath and speed to the equipment (and label_checked to a product that waits for it), or take labor out of the service"
    )]
    NoTime { application: String, zone: String, service: String },

    #[error(
        "application {application:?}, zone {zone:?}: service {service:?} prices the product, and no dose is known; give a label-checked rate, or take product out of the service"
    )]
    NoDose { application: String, zone: String, service: String },

    #[error(
        "product {product:?}: service {service:?} prices it, and its containers have no price; add containers with a price to its product file, or [buy.{product}] to the job"
    )]
    NoProductPrice { product: String, service: String },

    #[error(
        "product {product:?} would be charged twice: {whole} charges the containers that are bought for the season, and {part} charges shares of them; write the same product = {{ by = … }} in both"
    )]
    ChargedTwice { product: String, whole: Box<ServiceUse>, part: Box<ServiceUse> },

    #[error(
        "product {product:?} is priced in {other}, and {file} in {currency}; write both in one currency"
    )]
    OtherCurrency { product: String, other: String, file: String, currency: &'static str },

    #[error(
        "service {service:?} prices the lot, and none is drawn; add a polygon of kind \"parcel\" to the map, or another basis to the service"
    )]
    NoLot { service: String },

    #[error(
        "travel is priced by the {unit}, and how far it is is not known; add {column} to its row in the customers file"
    )]
    NoDistance { unit: &'static str, column: &'static str },

    #[error("no zone gets anything, so there is nothing to quote{why}")]
    Nothing { why: String },

    #[error("the quote is beyond all measure; look for a price or an area with digits too many")]
    TooLarge,
}
