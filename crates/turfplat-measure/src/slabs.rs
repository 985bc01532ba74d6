//! Why this sweep cannot fail.
//!
//! The plane is cut into level slabs at every end of a chain and wherever two chains may cross.
//! Inside a slab they do not change sides, so walking from west to east over the chains, ordered
//! at mid-height, and keeping one winding number for each group tells for every strip of ground
//! between two chains whose it is. Areas are integrals of x over y, exact for segments and arcs.
//!
//! Degenerate input is resolved by one rule, and no area depends on a tolerance: chains stand in
//! the order of their x at mid-height; of equal ones, the one that came first stays west. Ends at
//! a height are taken before starts, and a level side bounds no ground. Chains that coincide have
//! no ground between them, so their order cannot matter; slabs end where two come together or
//! part, to within a ten-millionth of a metre, because one slab too many changes nothing and one
//! too few would carry an order on to where it is wrong. A crossing that rounding puts a few units
//! in the last place off, or misses because two curves only graze, leaves them on the wrong sides
//! by no more than that rounding, and the ground between them is as small. Every strip belongs to
//! exactly one owner, so the account closes whatever happens.
//!
//! Sets of setbacks are surveyed side by side. Chains that count in no common set may pass each
//! other within a slab: no set sees both, so in none of them is their order asked for.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use crate::chains::{Chain, Chains, lower};
use crate::edge::CLOSE;
use crate::sets::Sets;
use crate::tangle::Tangled;

/// A level slab of the plane in which no chain starts, ends or changes sides.
pub(crate) struct Slab {
    pub(crate) low: f64,
    pub(crate) high: f64,
}

/// A chain that runs through a slab.
#[derive(Clone, Copy)]
pub(crate) struct Open {
    /// Where it stands at mid-height.
    pub(crate) x: f64,
    high: f64,
    pub(crate) chain: u32,
    /// The edge that it is at mid-height.
    edge: u32,
    pub(crate) group: u32,
    pub(crate) winding: i16,
    /// The sets in which it counts.
    pub(crate) sets: Sets,
    /// The sets in which another one east of it stands in the same place: there is no ground
    /// between them.
    pub(crate) joined: Sets,
}

/// Ground narrower than this at mid-height is a side met twice, in metres; it counts as area
/// (of next to nothing) but has no outline of its own. Where a curve touches something that is so
/// for some tenths of a millimetre to either side, and slabs tell how much of it: an outline is
/// right to a millimetre for each such touch.
const NO_WIDTH: f64 = 1e-9;

/// What wants to know about slabs, from south to north.
pub(crate) trait Surveyor {
    /// The sets in which the chains of a group count.
    fn sets(&self, _group: u32) -> Sets {
        Sets::ALL
    }

    /// All chains that run through a slab, from west to east.
    fn slab(&mut self, chains: &Chains, slab: &Slab, open: &[Open]);

    /// A chain ends at this height.
    fn ended(&mut self, chains: &Chains, chain: u32, height: f64);
}

/// The box to which a survey is held.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Frame {
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) west: f64,
    pub(crate) east: f64,
}

impl Frame {
    pub(crate) const EVERYWHERE: Frame = Frame {
        low: f64::NEG_INFINITY,
        high: f64::INFINITY,
        west: f64::NEG_INFINITY,
        east: f64::INFINITY,
    };

    /// The box round some chains.
    pub(crate) fn around(chains: &Chains) -> Option<Frame> {
        let chains = chains.chains();
        let first = chains.first()?;
        let (low, high, west, east) = (first.low, first.high, first.west, first.east);
        Some(chains.iter().fold(Frame { low, high, west, east }, |frame, chain| Frame {
            low: frame.low.min(chain.low),
            high: frame.high.max(chain.high),
            west: frame.west.min(chain.west),
            east: frame.east.max(chain.east),
        }))
    }
}

/// A height still to come, the lowest first.
#[derive(PartialEq)]
struct Height(f64);

impl Eq for Height {}

impl PartialOrd for Height {
    fn partial_cmp(&self, other: &Height) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Height {
    fn cmp(&self, other: &Height) -> Ordering {
        other.0.total_cmp(&self.0)
    }
}

/// How long a walk may take before it is given up: so many chains are passed in all slabs together,
/// and so many heights of crossings are known ahead.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Patience {
    passed: u64,
    ahead: usize,
}

impl Patience {
    const ENDLESS: Patience = Patience { passed: u64::MAX, ahead: usize::MAX };

    /// Enough for any ground that was drawn. There a chain passes a few dozen others in as many slabs
    /// as it has neighbors; where all cross all, it passes all of them as often as there are pairs.
    pub(crate) fn with_drawn_ground(chains: &Chains) -> Patience {
        const PASSED: u64 = 20_000_000;
        const PASSED_A_CHAIN: u64 = 10_000;
        let passed = PASSED + PASSED_A_CHAIN * chains.chains().len() as u64;
        Patience { passed, ahead: 4_000_000 }
    }
}

/// The walk over all slabs; kept from one zone to the next for its memory.
#[derive(Default)]
pub(crate) struct Slabs {
    /// The chains by their lower ends.
    starts: Vec<(f64, u32)>,
    crossings: BinaryHeap<Height>,
    open: Vec<Open>,
}

impl Slabs {
    /// Shows `surveyor` every slab of `frame`, however long that takes.
    pub(crate) fn each(&mut self, chains: &Chains, frame: &Frame, surveyor: &mut impl Surveyor) {
        let walked = self.each_within(Patience::ENDLESS, chains, frame, surveyor);
        debug_assert!(walked.is_ok(), "endless patience is never lost");
    }

    /// Shows `surveyor` every slab of `frame`.
    ///
    /// # Errors
    ///
    /// [`Tangled`] where that takes more than `patience`; then the survey is not whole.
    pub(crate) fn each_within(
        &mut self,
        patience: Patience,
        chains: &Chains,
        frame: &Frame,
        surveyor: &mut impl Surveyor,
    ) -> Result<(), Tangled> {
        let Slabs { starts, crossings, open } = self;
        starts.clear();
        crossings.clear();
        open.clear();
        starts.extend(chains.chains().iter().zip(0..).map(|(chain, place)| (chain.low, place)));
        starts.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut starts = starts.iter().copied().peekable();
        let Some(&(first, _)) = starts.peek() else { return Ok(()) };
        let mut low = first.max(frame.low);
        let (mut passed, mut heights) = (0, 0);
        loop {
            let mut next = frame.high;
            let mut some_end = false;
            for at in open.iter() {
                if at.high > low {
                    next = lower(next, at.high);
                } else {
                    surveyor.ended(chains, at.chain, low);
                    some_end = true;
                }
            }
            if some_end {
                open.retain(|at| at.high > low);
            }
            while let Some((_, place)) = starts.next_if(|&(start, _)| start <= low) {
                let &Chain { high, group, winding, .. } = chains.at(place);
                if high > low {
                    next = lower(next, high);
                    let sets = surveyor.sets(group);
                    find_crossings((place, sets), low, chains, open, frame, crossings);
                    let edge = chains.lowest(place);
                    open.push(Open {
                        x: 0.0,
                        high,
                        chain: place,
                        edge,
                        group,
                        winding,
                        sets,
                        joined: Sets::NONE,
                    });
                }
            }
            while crossings.peek().is_some_and(|crossing| crossing.0 <= low) {
                crossings.pop();
                heights += 1;
            }
            passed += open.len() as u64;
            if passed > patience.passed || crossings.len() > patience.ahead {
                return Err(Tangled { crossings: heights + crossings.len() });
            }
            next = starts.peek().map_or(next, |&(start, _)| lower(next, start));
            next = crossings.peek().map_or(next, |crossing| lower(next, crossing.0));
            // Nothing stands above: all that is open ends here.
            if low >= next || (open.is_empty() && starts.peek().is_none()) {
                break;
            }
            put_in_order(open, chains, low + (next - low) / 2.0);
            surveyor.slab(chains, &Slab { low, high: next }, open);
            low = next;
        }
        open.drain(..).for_each(|at| surveyor.ended(chains, at.chain, low));
        Ok(())
    }
}

/// Notes where a chain that starts may cross those that are open. Crossings west of the frame are
/// left out: there only the winding counts, and no crossing changes that.
fn find_crossings(
    (place, sets): (u32, Sets),
    low: f64,
    chains: &Chains,
    open: &[Open],
    frame: &Frame,
    crossings: &mut BinaryHeap<Height>,
) {
    let chain = chains.at(place);
    if chain.east < frame.west {
        return;
    }
    for at in open.iter().filter(|at| !at.sets.common(sets).is_none()) {
        let other = chains.at(at.chain);
        let apart = (chain.ring == other.ring && chain.ring != 0)
            || other.west > chain.east + CLOSE
            || chain.west > other.east + CLOSE
            || other.east < frame.west;
        if !apart {
            let high = lower(lower(chain.high, other.high), frame.high);
            let (ours, theirs) = ((place, chains.lowest(place)), (at.chain, at.edge));
            chains.crossings(ours, theirs, low, high, |height| crossings.push(Height(height)));
        }
    }
}

/// Puts the chains in the order of their x at height `y`, those of equal x as they stood.
fn put_in_order(open: &mut [Open], chains: &Chains, y: f64) {
    let mut west = f64::NEG_INFINITY;
    let mut is_in_order = true;
    for at in open.iter_mut() {
        at.x = chains.climb(chains.at(at.chain), &mut at.edge, y).x_at(y);
        is_in_order &= at.x >= west;
        west = at.x;
    }
    if !is_in_order {
        sort(open);
    }
    let (mut x, mut sets) = (f64::INFINITY, Sets::NONE);
    for at in open.iter_mut().rev() {
        at.joined = if x - at.x <= NO_WIDTH { sets } else { Sets::NONE };
        (x, sets) = (at.x, at.sets.union(at.joined));
    }
}

/// Nearly in order from the slab below, so moved up one by one; not so where many start at once.
fn sort(open: &mut [Open]) {
    let mut patience = 8 * open.len() + 64;
    for place in 1..open.len() {
        let at = open[place];
        let mut to = place;
        while to > 0 && open[to - 1].x > at.x && patience > 0 {
            open[to] = open[to - 1];
            to -= 1;
            patience -= 1;
        }
        open[to] = at;
    }
    if patience == 0 {
        open.sort_by(|a, b| a.x.total_cmp(&b.x));
    }
}
