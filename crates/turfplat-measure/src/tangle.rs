//! Why not every scribble is repaired: what crosses itself is taken apart at each crossing, and of
//! crossings there may be the square of the corners. Five thousand corners at random cross three
//! million times, which takes minutes and a gigabyte, and nobody has drawn them round anything. A
//! pen that slips crosses its line a few times; one that goes the whole way twice meets it at every
//! side. So crossings are counted before anything is taken apart, up to a few for each side.

use geo::LineString;

use crate::simple::{Side, swept};

/// What crosses itself so often that no hand can have drawn it round anything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tangled {
    /// So often at least.
    pub crossings: usize,
}

/// Fewer sides than this cannot cross more often than is allowed.
const FEW: usize = 64;
/// So often sides may cross, whatever their number, and so often more for each of them.
const ALLOWED: usize = 2_000;
const ALLOWED_A_SIDE: usize = 4;

/// Holds that the sides of rings and lines, all together, do not cross too often. What meets in a
/// corner of both need not be cut, so lots side by side cross nowhere.
///
/// # Errors
///
/// [`Tangled`] as soon as they do.
pub(crate) fn hold_untangled(lines: &[LineString<f64>]) -> Result<(), Tangled> {
    let sides: usize = lines.iter().map(|line| line.0.len().saturating_sub(1)).sum();
    if sides < FEW {
        return Ok(());
    }
    let most = ALLOWED + ALLOWED_A_SIDE * sides;
    let mut crossings = 0;
    let all = swept(lines);
    let mut open: Vec<&Side> = Vec::new();
    for side in &all {
        open.retain(|other| other.to >= side.from);
        let crosses = |other: &&&Side| side.meets(other) && !side.shares_a_corner_with(other);
        crossings += open.iter().filter(crosses).count();
        if crossings > most {
            return Err(Tangled { crossings });
        }
        open.push(side);
    }
    Ok(())
}
