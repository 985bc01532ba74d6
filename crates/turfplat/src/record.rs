//! Why a record is made of the finished plan and of what happened, and of neither alone: the plan says
//! what was meant and how it was reckoned, the crew what went out. What nobody told stays open; the plan's
//! amounts are beside it and never taken for it.

mod amounts;
mod counted;
mod earlier;
mod error;
mod fill;
mod form;
mod happened;
mod lies;
mod moment;
mod planned;
mod remarks;
mod sheet;

pub(crate) use counted::{counted, product_of_plan};
pub use earlier::beside_others;
pub use error::RecordError;
pub use fill::filled_in;
pub use form::form as record_form;
pub use happened::{Happened, HappenedLoad, HappenedProduct};
pub(crate) use lies::lies;
pub use lies::record_sums;
pub(crate) use planned::meant;
pub use planned::{FinishedPlan, PlannedWork};
pub use remarks::record_json;
pub use sheet::{RecordSheet, SheetLoad, SheetProduct, SheetZone, TrailLine, record_sheet};
