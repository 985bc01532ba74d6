//! Why a quote is counted the way it is read: quantity × price stands on each line and is rounded
//! there, once; all sums are sums of what is printed. So whoever holds the paper comes to the same
//! cent. What is measured (areas, hours) is turned into a decimal of stated precision before it meets
//! a price.

mod charged_once;
mod customers;
mod error;
mod list;
mod list_file;
mod list_money;
mod list_reader;
mod list_words;
mod quote;
mod tax;
mod tiers;
mod work;

pub use customers::{Customer, Customers};
pub use error::{Place, PriceError};
pub use list::{Basis, Business, PriceList, QuoteDay, Service};
pub use quote::{Line, LineKind, Prepaid, Quote, QuotedVisit, Sums};
pub use tax::TaxSum;
pub use work::{Container, ProductUse, Property, QuoteError, ServiceUse, Visit, Work, ZoneWork};

pub use turfplat_money::Decimal;

/// A price list to fill in, with a word on every key. Its figures are invented.
pub const TEMPLATE: &str = include_str!("../../../data/prices-template.toml");
