//! Where every square metre of a zone went.

use std::cell::RefCell;

use turfplat_units::{Area, Length};

use crate::ledger::Shares;
use crate::reach::{Lot, Taker};
use crate::sets::Sets;
use crate::shape::Shape;
use crate::sweep::Sweep;
use crate::tangle::Tangled;

/// Where the ground of a zone went; gross = net + the sum of what was lost.
#[derive(Clone, Debug, PartialEq)]
pub struct Account {
    /// As drawn.
    pub gross: Area,
    /// What is left.
    pub net: Area,
    /// By cause, in the order of causes; 0 where a cause took nothing.
    pub lost: Vec<Area>,
    /// Lost beyond the lot line, where that was asked for.
    pub beyond_lot: Area,
    /// Length of the outline of what is left, holes included; to a millimetre for each place where
    /// a curve touches without crossing.
    pub perimeter: Length,
}

/// What is left of a zone that is covered, as a share of it: rounding and not lawn, for nobody can
/// dose it.
const RESIDUE: f64 = 1e-9;

/// A share of a zone too small to be anything but rounding, where things only touch.
const HAIR: f64 = 1e-12;

thread_local! {
    /// One sweep a thread, for its memory alone: nothing of one zone is seen by the next.
    static SWEEP: RefCell<Sweep> = RefCell::default();
}

/// Accounts for every square metre of a zone, once for each of `sets` setback sets, in one sweep.
///
/// * Set n loses to the takers of set n, and beyond the lot where the lot line counts in set n:
///   the same account, to rounding, as if the others were not there.
/// * Setbacks reach exactly as far as told, round corners included.
/// * `causes` is how many causes there are, of any number; those of `takers` are below it.
/// * What lies outside the lot is lost too, after all causes.
/// * Sets beyond [`Sets::MOST`] get no account.
/// * Accuracy: rounding of 64-bit arithmetic; no grid, no approximated arcs. What is left
///   below a billionth of the zone, or lost below a thousandth of that, is counted with the largest share.
///
/// # Errors
///
/// [`Tangled`] where what lies there crosses so often that measuring it would not end in time.
pub fn accounts(
    zone: &Shape,
    takers: &[Taker<'_>],
    causes: usize,
    sets: usize,
    lot: Option<Lot<'_>>,
) -> Result<Vec<Account>, Tangled> {
    let sets = sets.min(Sets::MOST);
    let sets_of = |taker: &Taker<'_>| if taker.cause < causes { taker.sets } else { Sets::NONE };
    SWEEP.with_borrow_mut(|sweep| {
        sweep.survey(zone, takers, sets_of, sets, lot)?;
        Ok((0..sets).map(|set| account_of(sweep.shares(set, causes))).collect())
    })
}

/// The account of one zone where all `takers` count, whatever their sets, and the lot line too.
///
/// # Errors
///
/// As [`accounts`].
pub fn account(
    zone: &Shape,
    takers: &[Taker<'_>],
    causes: usize,
    lot: Option<&Shape>,
) -> Result<Account, Tangled> {
    let lot = lot.map(|shape| Lot { shape, sets: Sets::ALL });
    let sets_of = |taker: &Taker<'_>| if taker.cause < causes { Sets::ALL } else { Sets::NONE };
    SWEEP.with_borrow_mut(|sweep| {
        sweep.survey(zone, takers, sets_of, 1, lot)?;
        Ok(account_of(sweep.shares(0, causes)))
    })
}

fn account_of(Shares { mut areas, perimeter }: Shares) -> Account {
    let gross: f64 = areas.iter().sum();
    let mut hairs = 0.0;
    let last = areas.len() - 1;
    for (place, share) in areas.iter_mut().enumerate() {
        // Rounding may leave a hair on either side of zero.
        if *share < gross * if place == last { RESIDUE } else { HAIR } {
            hairs += std::mem::take(share);
        }
    }
    if let Some(largest) = areas.iter_mut().max_by(|a, b| a.total_cmp(b)) {
        *largest += hairs;
    }
    let area =
        |square_metres: f64| Area::from_square_metres(square_metres.max(0.0)).unwrap_or_default();
    let net = areas.pop().map(area).unwrap_or_default();
    let beyond_lot = areas.pop().map(area).unwrap_or_default();
    let lost: Vec<Area> = areas.into_iter().map(area).collect();
    Account {
        gross: net + lost.iter().copied().sum() + beyond_lot,
        net,
        lost,
        beyond_lot,
        perimeter: Length::from_metres(perimeter).unwrap_or_default(),
    }
}
