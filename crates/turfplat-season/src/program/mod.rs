//! When a season's treatments fall: the first day, the next one, and a calendar of them. A label's
//! interval is the least between two treatments; a model of degree-days may put the next one off, and
//! never brings it forward.

mod calendar;
mod schedule;
mod start;

pub use calendar::{CalendarEvent, calendar};
pub use schedule::{Next, NextBecause, Window, WindowError, next_day};
pub use start::{Start, StartFound, StartUnknown};

#[cfg(test)]
mod laws;
#[cfg(test)]
mod tests;
