//! Why the way over the ground is computed and not left to the person who walks it.
//!
//! A dose is right only where every square metre is passed once. Where the last swath overlaps
//! alone, that strip gets double; where a swath ends square at a slanted edge, a triangle gets
//! nothing; and a tank that runs dry in the middle of a lawn needs a flag there. So the passes are
//! laid out: parallel ones, evenly spaced so that what they overlap is shared by all alike (common
//! practice, no source: a rate that is some hundredths high everywhere is a smaller error than a
//! strip of twice the rate), short ones along edges where square ends would leave triangles, and one
//! along the middle where the ground is narrower than the swath.
//!
//! A swath's own ends are taken as square, its turns as round. No path leaves the ground; a swath
//! may, where an edge runs aslant.

mod cells;
mod cut;
mod edges;
mod error;
mod kept;
mod lap;
mod layout;
mod loads;
mod overlay;
mod plane;
mod rows;
mod stroke;
mod tally;
mod trim;
mod walk;

pub use error::PassesError;
pub use loads::LoadEnd;
pub use walk::{Kind, Left, Manner, Pass, Walk, Why, walk};
