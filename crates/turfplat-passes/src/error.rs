use std::fmt;

use turfplat_units::significant;

/// Why ground cannot be walked over, and what to change.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum PassesError {
    /// A corner is not a place. All count from 0; the outline is ring 0, holes follow.
    NotFinite { polygon: usize, ring: usize, corner: usize },

    /// A swath of no width never ends.
    NoSwath,

    /// The direction asked for is no angle.
    NoDirection,

    /// More passes than a person walks: nearly always a swath in a wrong unit.
    TooManyPasses { swath_metres: f64, passes: usize, most: usize },

    /// An outline that nobody follows with so narrow a swath: nearly always a wrong unit.
    OutlineTooLong { swath_metres: f64, outline_metres: f64 },

    /// The outline winds about itself so that it cannot be cut.
    Tangled,
}

impl fmt::Display for PassesError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotFinite { polygon, ring, corner } => write!(
                out,
                "polygon {polygon}, ring {ring}, corner {corner}: not a place in meters; \
                 draw it anew"
            ),
            Self::NoSwath => {
                write!(out, "a swath of no width; give the width that one pass covers")
            }
            Self::NoDirection => {
                write!(out, "a direction that is no angle; leave it out to have the best one taken")
            }
            Self::TooManyPasses { swath_metres, passes, most } => write!(
                out,
                "a swath of {} m would need {passes} passes or more, {most} at most \
                 are laid out; check the swath's unit, or walk the ground in parts",
                significant(*swath_metres, 3)
            ),
            Self::OutlineTooLong { swath_metres, outline_metres } => write!(
                out,
                "an outline of {outline_metres:.0} m is too long for a swath of {} m; \
                 check the swath's unit, or walk the ground in parts",
                significant(*swath_metres, 3)
            ),
            Self::Tangled => write!(
                out,
                "the outline crosses itself so closely that it cannot be cut; draw it anew"
            ),
        }
    }
}

impl std::error::Error for PassesError {}
