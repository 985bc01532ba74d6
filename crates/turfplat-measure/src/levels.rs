//! Why level outline is measured apart: a level side bounds no height, so no edge stands for it.
//! Where one may lie, what is net below is held to what is net above; where they differ, there is
//! outline. Sides that are level but for rounding have no x that could be trusted, so theirs are
//! measured in the same way, from what is below them to what is above.

use crate::edge::LEVEL;
use crate::sets::Sets;
use crate::slabs::{Frame, Slab};

/// Where along a height ground begins or ends to be net, and in which sets; in any order.
pub(crate) type Row = Vec<(f64, Sets)>;

/// The heights at which outline may run level.
#[derive(Default)]
pub(crate) struct Levels {
    /// From and to, in order and apart.
    bands: Vec<(f64, f64)>,
    /// The first that does not end below what was surveyed.
    next: usize,
    /// What is net below the band to come, once its lower end is reached.
    pub(crate) below: Row,
    pub(crate) is_waiting: bool,
}

/// How a slab lies to the bands.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) struct Standing {
    /// Inside one: its edges say nothing about outline.
    pub(crate) is_inside: bool,
    /// One may begin at its top.
    pub(crate) is_below: bool,
}

impl Levels {
    pub(crate) fn clear(&mut self) {
        self.bands.clear();
    }

    pub(crate) fn add(&mut self, low: f64, high: f64, frame: &Frame) {
        if high >= frame.low && low <= frame.high {
            self.bands.push((low, high));
        }
    }

    /// Makes ready for a survey.
    pub(crate) fn put_in_order(&mut self) {
        self.next = 0;
        self.below.clear();
        self.is_waiting = !self.bands.is_empty();
        self.bands.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        self.bands.dedup_by(|later, earlier| {
            let joined = later.0 - earlier.1 <= LEVEL;
            if joined {
                earlier.1 = earlier.1.max(later.1);
            }
            joined
        });
    }

    pub(crate) fn standing(&mut self, slab: &Slab) -> Standing {
        while self.bands.get(self.next).is_some_and(|&(_, high)| high <= slab.low) {
            self.next += 1;
        }
        let Some(&(low, high)) = self.bands.get(self.next) else {
            return Standing { is_inside: false, is_below: false };
        };
        let is_inside = low <= slab.low && slab.high <= high;
        Standing { is_inside, is_below: !is_inside && low <= slab.high }
    }

    /// Calls `add` for every piece of level outline between what was kept and `above`, with its
    /// length and the sets of which it is outline: those that are net on one side only.
    pub(crate) fn compare(&mut self, above: &[(f64, Sets)], mut add: impl FnMut(f64, Sets)) {
        self.is_waiting = false;
        self.below.extend_from_slice(above);
        self.below.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut since, mut outline) = (f64::NEG_INFINITY, Sets::NONE);
        for (x, turned) in self.below.drain(..) {
            if !outline.is_none() && x > since {
                add(x - since, outline);
            }
            (since, outline) = (x, outline.differing(turned));
        }
    }
}
