//! Why money has a crate of its own: containers cost something where products are dosed, and
//! services cost something where they are quoted. Both rooms must count alike, and the room of
//! lengths and areas below them depends on nothing but `std`.

mod currency;
mod money;
mod rounding;

pub use currency::Currency;
pub use money::Money;
pub use rounding::{Halves, grouped, quantity, read_decimal};

pub use rust_decimal::Decimal;
