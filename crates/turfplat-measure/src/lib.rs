//! Why areas and outlines are computed in two ways.
//!
//! Overlay libraries answer with an outline, and to do so they snap corners to a grid and
//! turn circles into polygons: a 100 ft strip round a well comes out too narrow, and its
//! area with it. A dose needs only the area. So [`accounts`] walks once over all edges,
//! segments and exact circular arcs, and adds up what belongs to the zone and to each
//! cause of loss, for several sets of setbacks at once: nothing is snapped, no circle is
//! approximated, no topology can fail.
//! [`net_outline`] gives the shape to draw, from `geo`, a few millimetres on the safe side.
//! Each is the other's check.

mod account;
mod chains;
mod crowd;
mod cut;
mod drawn_error;
mod edge;
mod ground;
mod growth;
mod kernel;
mod ledger;
mod levels;
mod overlay;
mod plane;
mod reach;
mod repair;
mod sets;
mod shape;
mod simple;
mod slabs;
mod sweep;
mod tangle;
mod trace;
mod union;

pub use account::{Account, account, accounts};
pub use drawn_error::{DrawnError, drawn_error};
pub use ground::{Ground, OUTLINE_TOLERANCE_METRES, grown_outline, net_outline};
pub use kernel::Growth;
pub use plane::{Ellipsoid, Plane};
pub use reach::{Lot, Reach, Taker};
pub use repair::Repair;
pub use sets::Sets;
pub use shape::{Drawn, Shape};
pub use tangle::Tangled;
