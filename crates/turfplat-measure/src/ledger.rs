//! Whose every strip of ground is: a cause's, beyond the lot, what is left, or nobody's; for each
//! set of setbacks its own column.
//!
//! A chain carries the owners at its sides and is booked only when they change: the integral of
//! its x over the heights in between is given to the owner west of it and taken from the owner
//! east of it. So an arc is integrated once, not in every slab, and however many causes and sets
//! there are, the geometry is done once.

use crate::chains::Chains;
use crate::levels::{Levels, Row};
use crate::sets::Sets;
use crate::slabs::{Frame, Open, Slab, Surveyor};

/// Takers of one cause that count in the same sets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Group {
    pub(crate) cause: usize,
    pub(crate) sets: Sets,
}

/// What one set comes to, in metres and square metres.
pub(crate) struct Shares {
    /// In the order of taking: by cause, beyond the lot, and last what is left.
    pub(crate) areas: Vec<f64>,
    pub(crate) perimeter: f64,
}

/// A chain's entry: since when its sides belong to whom they do.
#[derive(Clone, Copy)]
struct Entry {
    since: f64,
    /// The edge that the chain was then, or one below it.
    edge: u32,
    /// The sets of which it is outline.
    outline: Sets,
    /// False while both sides belong to the same, in every set.
    counts: bool,
}

/// Owners are numbered in the order of taking: groups, beyond the lot, net, nobody.
type Owner = u32;

#[derive(Default)]
pub(crate) struct Ledger {
    sets: usize,
    /// The number of the owner `beyond the lot`.
    lot: Owner,
    /// By group, then the lot, then the zone: the sets in which it counts.
    group_sets: Vec<Sets>,
    /// By set, in words of 64 groups: the groups that take in it.
    members: Vec<u64>,
    words: usize,
    /// x is taken from here, so that far from the origin no digits are lost.
    middle: f64,

    entries: Vec<Entry>,
    /// By chain and set: the owners west and east.
    sides: Vec<(Owner, Owner)>,

    // Where the walk through a slab stands.
    windings: Vec<i32>,
    /// The groups that take here, in words of 64; the lot's bit is set where its ground is not.
    active: Vec<u64>,
    /// By set: who owns here what is of the zone.
    takers: Vec<Owner>,
    /// By set: who owns here, and who did west of the edge.
    owners: Vec<Owner>,
    owners_west: Vec<Owner>,
    row: Vec<(u32, Sets)>,

    /// By set and owner, in square metres.
    areas: Vec<f64>,
    /// By set, in metres.
    perimeters: Vec<f64>,
}

impl Ledger {
    /// Makes ready for a survey.
    pub(crate) fn open(
        &mut self,
        groups: &[Group],
        lot_sets: Sets,
        sets: usize,
        chains: &Chains,
        frame: &Frame,
    ) {
        self.sets = sets;
        self.lot = groups.len() as Owner;
        self.middle = (frame.west + frame.east) / 2.0;
        self.group_sets.clear();
        self.group_sets.extend(groups.iter().map(|group| group.sets).chain([lot_sets]));
        self.words = self.group_sets.len().div_ceil(64);
        refill(&mut self.members, sets * self.words, 0);
        for (group, of) in self.group_sets.iter().enumerate() {
            of.each()
                .for_each(|set| self.members[set * self.words + group / 64] |= 1 << (group % 64));
        }
        self.group_sets.push(Sets::first(sets));
        self.entries.clear();
        self.entries.extend((0..chains.chains().len() as u32).map(|chain| Entry {
            since: f64::NEG_INFINITY,
            edge: chains.lowest(chain),
            outline: Sets::NONE,
            counts: false,
        }));
        let nobody = self.nobody();
        refill(&mut self.sides, self.entries.len() * sets, (nobody, nobody));
        refill(&mut self.windings, groups.len() + 2, 0);
        refill(&mut self.active, self.words, 0);
        refill(&mut self.takers, sets, nobody);
        refill(&mut self.owners, sets, nobody);
        refill(&mut self.owners_west, sets, nobody);
        let columns = self.columns();
        refill(&mut self.areas, sets * columns, 0.0);
        refill(&mut self.perimeters, sets, 0.0);
    }

    pub(crate) fn book<'a>(&'a mut self, levels: &'a mut Levels) -> Book<'a> {
        Book { ledger: self, levels }
    }

    /// What stands above the last slab: nothing.
    pub(crate) fn close(&mut self, levels: &mut Levels) {
        if levels.is_waiting {
            self.add_level_outline(levels, &Row::new());
        }
    }

    pub(crate) fn shares(&self, set: usize, causes: usize, groups: &[Group]) -> Shares {
        let column = &self.areas[set * self.columns()..];
        let mut areas = vec![0.0; causes + 2];
        for (group, area) in groups.iter().zip(column) {
            areas[group.cause] += area;
        }
        areas[causes] = column[self.lot as usize];
        areas[causes + 1] = column[self.net() as usize];
        Shares { areas, perimeter: self.perimeters[set] }
    }

    fn net(&self) -> Owner {
        self.lot + 1
    }

    fn nobody(&self) -> Owner {
        self.lot + 2
    }

    fn columns(&self) -> usize {
        self.lot as usize + 3
    }

    /// The first group that takes in a set, or net.
    fn first_taker(&self, set: usize) -> Owner {
        let members = &self.members[set * self.words..][..self.words];
        let mut words = self.active.iter().zip(members).zip(0_u32..);
        let found = words.find_map(|((active, member), word)| {
            let both = active & member;
            (both != 0).then(|| word * 64 + both.trailing_zeros())
        });
        found.unwrap_or(self.net())
    }

    /// West of all edges: outside everything, the lot too.
    fn start_walk(&mut self) {
        let (lot, nobody) = (self.lot, self.nobody());
        self.windings.fill(0);
        self.active.fill(0);
        self.active[lot as usize / 64] |= 1 << (lot % 64);
        let beyond = self.group_sets[lot as usize];
        for set in 0..self.sets {
            self.takers[set] = if beyond.contains(set) { lot } else { lot + 1 };
        }
        self.owners.fill(nobody);
        self.owners_west.fill(nobody);
    }

    /// A group's ground, or what is beyond the lot, begins or ends here.
    fn turn_group(&mut self, group: Owner) {
        let word = group as usize / 64;
        self.active[word] ^= 1 << (group % 64);
        let takes = self.active[word] >> (group % 64) & 1 == 1;
        for set in self.group_sets[group as usize].each() {
            if takes {
                self.takers[set] = self.takers[set].min(group);
            } else if self.takers[set] == group {
                self.takers[set] = self.first_taker(set);
            }
        }
    }

    fn add_level_outline(&mut self, levels: &mut Levels, above: &Row) {
        let perimeters = &mut self.perimeters;
        levels.compare(above, |length, sets| sets.each().for_each(|set| perimeters[set] += length));
    }

    /// Books what a chain bounded up to a height.
    fn settle(&mut self, chains: &Chains, chain: u32, height: f64) {
        let entry = &mut self.entries[chain as usize];
        let since = std::mem::replace(&mut entry.since, height);
        if !entry.counts {
            return;
        }
        let (mut integral, mut length) = (0.0, 0.0);
        chains.each_between(chain, &mut entry.edge, since, height, |edge, low, high| {
            let (more, longer) = edge.integral_and_length(low, high, self.middle);
            integral += more;
            length += longer;
        });
        let outline = entry.outline;
        let columns = self.columns();
        for set in self.group_sets[chains.at(chain).group as usize].each() {
            let (west, east) = self.sides[chain as usize * self.sets + set];
            if west != east {
                let column = &mut self.areas[set * columns..][..columns];
                column[west as usize] += integral;
                column[east as usize] -= integral;
            }
        }
        outline.each().for_each(|set| self.perimeters[set] += length);
    }
}

fn refill<T: Copy>(list: &mut Vec<T>, count: usize, with: T) {
    list.clear();
    list.resize(count, with);
}

/// The ledger while it is written.
pub(crate) struct Book<'a> {
    ledger: &'a mut Ledger,
    levels: &'a mut Levels,
}

impl Surveyor for Book<'_> {
    fn sets(&self, group: u32) -> Sets {
        self.ledger.group_sets[group as usize]
    }

    fn slab(&mut self, chains: &Chains, slab: &Slab, open: &[Open]) {
        let standing = self.levels.standing(slab);
        let wants_row = standing.is_below || (self.levels.is_waiting && !standing.is_inside);
        let it = &mut *self.ledger;
        let (zone, net_owner, nobody) = (it.lot + 1, it.net(), it.nobody());
        it.start_walk();
        it.row.clear();
        let mut in_zone = false;
        // The sets in which the ground is net, here and west of the chains that stand at this x.
        let (mut net, mut net_west) = (Sets::NONE, Sets::NONE);
        for at in open {
            let winding = &mut it.windings[at.group as usize];
            let was_in = *winding > 0;
            *winding += i32::from(at.winding);
            let mut turns = was_in != (*winding > 0);
            if turns && at.group == zone {
                in_zone = !in_zone;
            } else if turns {
                it.turn_group(at.group);
                turns = in_zone;
            }
            // Only in its own sets does a chain bound anything.
            if turns {
                for set in at.sets.each() {
                    it.owners[set] = if in_zone { it.takers[set] } else { nobody };
                    if net.contains(set) != (it.owners[set] == net_owner) {
                        net = net.differing(Sets::only(set));
                    }
                }
            }
            let mut outline = net_west.differing(net).without(at.joined);
            net_west = net_west.differing(outline);
            if wants_row && !outline.is_none() {
                it.row.push((at.chain, outline));
            }
            if standing.is_inside {
                outline = Sets::NONE;
            }
            let chain = at.chain as usize;
            // Inside or outside of everything, as before: most chains in most slabs.
            if !turns && outline.is_none() && !it.entries[chain].counts {
                continue;
            }
            let sides = &it.sides[chain * it.sets..][..it.sets];
            let is_same = it.entries[chain].outline == outline
                && at.sets.each().all(|set| (it.owners_west[set], it.owners[set]) == sides[set]);
            if !is_same {
                it.settle(chains, at.chain, slab.low);
                let mut counts = !outline.is_none();
                for set in at.sets.each() {
                    let side = (it.owners_west[set], it.owners[set]);
                    it.sides[chain * it.sets + set] = side;
                    counts |= side.0 != side.1;
                }
                let entry = &mut it.entries[chain];
                (entry.outline, entry.counts) = (outline, counts);
            }
            at.sets.each().for_each(|set| it.owners_west[set] = it.owners[set]);
        }
        if wants_row {
            let at = |height: f64, row: &[(u32, Sets)]| -> Row {
                row.iter().map(|&(chain, turned)| (chains.x_at(chain, height), turned)).collect()
            };
            if self.levels.is_waiting && !standing.is_inside {
                let above = at(slab.low, &it.row);
                it.add_level_outline(self.levels, &above);
            }
            if standing.is_below {
                self.levels.below = at(slab.high, &it.row);
                self.levels.is_waiting = true;
            }
        }
    }

    fn ended(&mut self, chains: &Chains, chain: u32, height: f64) {
        self.ledger.settle(chains, chain, height);
    }
}
