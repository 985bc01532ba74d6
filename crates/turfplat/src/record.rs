//! Why a record is made of the finished plan and of what happened, and of neither alone: the plan says
//! what was meant and how it was reckoned, the crew what went out. What nobody told stays open; the plan's
//! amounts are beside it and never taken for it.

mod amounts;
mod error;
mod form;
mod happened;
mod moment;
mod planned;
mod remarks;
mod sheet;

pub use error::RecordError;
pub use form::form as record_form;
pub use happened::{Happened, HappenedLoad, HappenedProduct};
pub(crate) use planned::meant;
pub use planned::{FinishedPlan, PlannedWork};
pub use remarks::record_json;
pub use sheet::{RecordSheet, SheetLoad, SheetProduct, SheetZone, TrailLine, record_sheet};
