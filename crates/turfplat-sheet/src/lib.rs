//! Why a spray map is a sheet of paper first.
//!
//! It is read at six in the morning, in gloves, often printed in black and white. So
//! nothing is said by colour alone, a label stands on its ground or is led to it, the
//! paper has a true scale, and no caution is ever dropped to make room. One SVG text is
//! the screen map, the print and the picture. Drawing straight to pixels was measured
//! too: not faster, and it yields neither a vector map nor a text that a test can compare.

mod canvas;
mod contents;
mod details;
mod dimension;
mod draw;
mod flow;
mod font;
mod grid;
mod hatch;
mod key;
mod key_sheet;
mod label;
#[cfg(test)]
mod law;
mod layout;
mod lead;
mod legend;
mod map;
mod motif;
mod page;
mod pieces;
mod place;
mod plate;
mod pole;
mod raster;
mod scale;
mod seen;
mod shape;
mod sheet;
mod strip_chart;
mod style;
mod symbol;
mod text;
mod tidy;
mod title;
mod trail;
mod underlay;

pub use map::{Batch, Feature, Kind, Mark, MarkKind, SprayMap, Strip, Wind, Zone};
pub use page::Page;
pub use plate::{Beside, Plate, plate, shown_on_plate};
pub use raster::{SheetError, outlined, png};
pub use sheet::{Placement, Sheet, sheets, shown, svg};
pub use strip_chart::{
    StripCell, StripChart, StripHour, StripLook, StripRow, StripWindow, strip_svg,
};
pub use text::lacking;
pub use tidy::texts;
pub use trail::{LoadEnd, Trail};
pub use underlay::{Shown, Underlay};
