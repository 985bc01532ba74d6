//! Why a picture of the ground is laid onto the map's plane before it is drawn.
//!
//! An orthophoto has its own grid: another projection, another unit, another north. Stretched
//! to the corners of a map it is off by feet in the middle. So every dot of the result asks
//! where it lies in the picture, and is made of what stands there. Only what is in reach is
//! unpacked, at the smallest size that is fine enough: a county's mosaic never stands in memory. PNG
//! and JPEG cannot be read from their middle: up to 80 million pixels they are unpacked once, for all maps.
//!
//! Which system a picture's coordinates belong to is handed on, never guessed; how they come
//! from the plane is the caller's, so nothing here knows a projection.

mod aerial;
mod affine;
mod error;
mod geo_keys;
mod lay;
mod palette;
mod shades;
mod sidecar;
mod tiff_file;
mod whole_file;
mod window;

pub use aerial::{Aerial, PictureSystem};
pub use error::AerialError;
pub use lay::{LaidPicture, Wanted};
