//! Why paper is set by an engine of its own crate.
//!
//! Tables that break over pages, repeat their header and say "page 2 of 3" are the work of a
//! typesetter; drawing them by hand yields neither tags for screen readers nor templates that
//! a user can change. The engine costs more to build than all the rest, so only the command
//! depends on this crate, and only where it is asked for. What is drawn here hangs on the
//! arguments alone: no file, no network, no clock, no font of the machine.

mod error;
mod fonts;
mod printable;
mod render;
mod template;
mod world;

pub use error::PdfError;
pub use render::{Pdf, render};
pub use template::Template;
