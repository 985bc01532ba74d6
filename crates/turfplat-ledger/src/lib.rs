//! What was applied, kept for good.
//!
//! A record is evidence: it must survive a power cut the moment after it was acknowledged, and nobody may
//! change it unseen. So rows are only ever added, each in a transaction of its own that is on the disk
//! before it is acknowledged.

mod account;
mod error;
mod fields;
mod keeping;
mod ledger;
mod quantity;
mod record;
mod schema;
mod seal;

pub use account::{OnZone, Sum, Untold, by_product, on_zones, spray};
pub use error::LedgerError;
pub use fields::{Applies, Field, FieldList, Missing, keep_until, missing};
pub use keeping::Checked;
pub use ledger::{Kept, Ledger, Query, State, Step};
pub use quantity::{Ground, Quantity, Temperature, Wind};
pub use record::{Applicator, Customer, Done, Load, Product, Put, Record, Weather};
