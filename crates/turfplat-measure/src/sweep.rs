//! What is swept: the sides of a zone and of all that may take ground from it, cut to its box.

use geo::{Coord, Polygon};

use turfplat_units::Length;

use crate::chains::{Chains, turn_up};
use crate::edge::{Boundary, Edge, LEVEL};
use crate::growth::add_loops;
use crate::ledger::{Group, Ledger, Shares};
use crate::levels::Levels;
use crate::reach::{Lot, Taker};
use crate::sets::Sets;
use crate::shape::{Part, Shape};
use crate::slabs::{Frame, Patience, Slabs};
use crate::tangle::Tangled;

/// A sweep of one zone after the other.
#[derive(Default)]
pub(crate) struct Sweep {
    sides: Sides,
    /// Cause and sets of what may take ground, with its place among the takers.
    taking: Vec<(usize, Sets, usize)>,
    groups: Vec<Group>,
    /// Sets in which the same takes ground from the zone; each is surveyed as one set.
    alike: Vec<Sets>,
    slabs: Slabs,
    ledger: Ledger,
}

impl Sweep {
    /// Surveys a zone for the sets from 0 up to and without `sets`.
    ///
    /// # Errors
    ///
    /// [`Tangled`] where what lies there crosses more often than any drawn ground.
    pub(crate) fn survey(
        &mut self,
        zone: &Shape,
        takers: &[Taker<'_>],
        sets_of: impl Fn(&Taker<'_>) -> Sets,
        sets: usize,
        lot: Option<Lot<'_>>,
    ) -> Result<(), Tangled> {
        let Sweep { sides, taking, groups, alike, slabs, ledger } = self;
        let asked = Sets::first(sets);
        taking.clear();
        let each = takers.iter().enumerate();
        let each = each.map(|(place, it)| (it.cause, sets_of(it).common(asked), place));
        taking.extend(
            each.filter(|&(_, sets, place)| !sets.is_none() && takers[place].reach.is_near(zone)),
        );
        leave_out_latecomers(taking, |place| takers[place].reach.covers(zone));
        let lot_sets = lot.map_or(Sets::NONE, |lot| lot.sets.common(asked));
        asked.part(taking.iter().map(|&(_, sets, _)| sets).chain([lot_sets]), alike);
        let among_alike = |sets: Sets| {
            let places = alike.iter().enumerate();
            places
                .filter(|(_, some)| !some.common(sets).is_none())
                .map(|(place, _)| place)
                .fold(Sets::NONE, Sets::with)
        };
        taking.iter_mut().for_each(|(_, sets, _)| *sets = among_alike(*sets));
        let lot_sets = among_alike(lot_sets);
        taking.sort_unstable();
        groups.clear();
        for &(cause, sets, _) in taking.iter() {
            let group = Group { cause, sets };
            if groups.last() != Some(&group) {
                groups.push(group);
            }
        }
        // After all takers the lot line, and last the zone itself.
        let lot_group = groups.len() as u32;
        sides.clear();
        sides.add_shape(zone, lot_group + 1);
        if let Some(frame) = Frame::around(&sides.chains) {
            sides.frame = frame;
            let mut group = 0;
            for &(cause, sets, place) in taking.iter() {
                group += usize::from(groups[group] != Group { cause, sets });
                sides.add_taker(&takers[place], zone, group as u32);
            }
            if let Some(lot) = lot {
                sides.add_shape(lot.shape, lot_group);
            }
        }
        sides.levels.put_in_order();
        ledger.open(groups, lot_sets, alike.len(), &sides.chains, &sides.frame);
        let mut book = ledger.book(&mut sides.levels);
        let patience = Patience::with_drawn_ground(&sides.chains);
        slabs.each_within(patience, &sides.chains, &sides.frame, &mut book)?;
        ledger.close(&mut sides.levels);
        Ok(())
    }

    /// What one set came to in the last survey, for so many causes.
    pub(crate) fn shares(&self, set: usize, causes: usize) -> Shares {
        let place = self.alike.iter().position(|alike| alike.contains(set)).unwrap_or_default();
        self.ledger.shares(place, causes, &self.groups)
    }
}

/// Where one takes all of a zone, nothing is left for those whose turn is later, and others of the
/// same cause change nothing.
fn leave_out_latecomers(taking: &mut Vec<(usize, Sets, usize)>, covers: impl Fn(usize) -> bool) {
    taking.sort_by_cached_key(|&(cause, _, place)| (cause, !covers(place), place));
    let mut covered = Sets::NONE;
    for (_, sets, place) in taking.iter_mut() {
        *sets = sets.without(covered);
        if covers(*place) {
            covered = covered.union(*sets);
        }
    }
    taking.retain(|(_, sets, _)| !sets.is_none());
}

/// All edges of a survey.
pub(crate) struct Sides {
    pub(crate) frame: Frame,
    pub(crate) chains: Chains,
    levels: Levels,
    /// The last number given to a ring.
    rings: u32,
}

impl Default for Sides {
    fn default() -> Sides {
        Sides {
            frame: Frame::EVERYWHERE,
            chains: Chains::default(),
            levels: Levels::default(),
            rings: 0,
        }
    }
}

impl Sides {
    fn clear(&mut self) {
        self.frame = Frame::EVERYWHERE;
        self.chains.clear();
        self.levels.clear();
        self.rings = 0;
    }

    fn add_taker(&mut self, taker: &Taker<'_>, zone: &Shape, group: u32) {
        if taker.reach.covers(zone) {
            // Its west side alone, beside the frame: there is no way out of it in the zone.
            let Frame { low, high, west, east } = self.frame;
            let aside = west - (east - west);
            let side = Edge::line(Coord { x: aside, y: high }, Coord { x: aside, y: low });
            side.into_iter().for_each(|side| self.add_edge(side, group, 0));
            return;
        }
        if taker.reach.is_plain() {
            self.add_shape(taker.reach.shape, group);
        } else {
            self.add_boundary(taker.reach.boundary(), group);
        }
    }

    fn add_shape(&mut self, shape: &Shape, group: u32) {
        for part in &shape.parts {
            if let Part::Polygon(polygon) = part {
                self.add_polygon(polygon, group);
            }
        }
        if shape.parts.iter().any(|part| !matches!(part, Part::Polygon(_))) {
            let mut loops = Vec::new();
            let others = shape.parts.iter().filter(|part| !matches!(part, Part::Polygon(_)));
            others.for_each(|part| add_loops(part, Length::ZERO.into(), 0, &mut loops));
            let mut boundary = Boundary::default();
            loops.iter().for_each(|outline| boundary.add(outline));
            turn_up(&mut boundary.edges);
            self.add_boundary(&boundary, group);
        }
    }

    /// The rings of a repaired polygon do not cross, so its chains need not be held to each other.
    fn add_polygon(&mut self, polygon: &Polygon<f64>, group: u32) {
        self.rings += 1;
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            let corners = &ring.0;
            // From a corner at which the ring turns up or down, so that no chain is cut in two.
            let turns = |ends: &[Coord<f64>]| (ends[0].y < ends[1].y) != (ends[1].y < ends[2].y);
            let start = corners.windows(3).position(turns).map_or(0, |place| place + 1);
            self.add_runs(&corners[start..], group);
            self.add_runs(&corners[..=start], group);
        }
    }

    /// Adds the sides along a line, each run of them that goes up or down from its lower end.
    fn add_runs(&mut self, corners: &[Coord<f64>], group: u32) {
        let mut start = 0;
        while start + 1 < corners.len() {
            let goes_up = corners[start].y < corners[start + 1].y;
            let goes_on = |ends: &[Coord<f64>]| (ends[0].y < ends[1].y) == goes_up;
            let more = corners[start..].windows(2).take_while(|ends| goes_on(ends)).count();
            let run = &corners[start..=start + more];
            let mut goes_on = false;
            let mut add = |ends: &[Coord<f64>]| {
                goes_on = self.add_side(ends[0], ends[1], group, goes_on);
            };
            if goes_up {
                run.windows(2).for_each(&mut add);
            } else {
                run.windows(2).rev().for_each(&mut add);
            }
            start += more;
        }
    }

    /// Adds a side; if it `goes_on`, it starts where the one that was added last ends. True if the
    /// next of its run will go on from it.
    #[inline]
    fn add_side(&mut self, from: Coord<f64>, to: Coord<f64>, group: u32, goes_on: bool) -> bool {
        let Frame { low, high, west, east } = self.frame;
        if (from.y - to.y).abs() <= LEVEL {
            self.levels.add(from.y.min(to.y), from.y.max(to.y), &self.frame);
        }
        let is_beyond = (from.y >= high && to.y >= high)
            || (from.y <= low && to.y <= low)
            || (from.x > east && to.x > east);
        if is_beyond {
            return false;
        }
        let Some(edge) = Edge::line(from, to) else { return false };
        let ring = self.rings;
        let is_aside = edge.east < west;
        if is_aside {
            self.chains.push_upright(&edge, self.aside(), group, ring);
        } else if goes_on {
            self.chains.push_next(edge, group, ring);
        } else {
            self.chains.push(edge, group, ring);
        }
        !is_aside
    }

    /// Where edges west of the frame are put, all in one place: their order is nobody's business.
    fn aside(&self) -> f64 {
        self.frame.west - (self.frame.east - self.frame.west)
    }

    pub(crate) fn add_boundary(&mut self, boundary: &Boundary, group: u32) {
        for &edge in &boundary.edges {
            self.add_edge(edge, group, 0);
        }
        for &(low, high) in &boundary.levels {
            self.levels.add(low, high, &self.frame);
        }
    }

    /// Nothing beyond the frame matters, but edges to its west, which must still be wound.
    fn add_edge(&mut self, edge: Edge, group: u32, ring: u32) {
        let frame = &self.frame;
        if edge.high > frame.low && edge.low < frame.high && edge.west <= frame.east {
            if edge.east < frame.west {
                self.chains.push_upright(&edge, self.aside(), group, ring);
            } else {
                self.chains.push(edge, group, ring);
            }
        }
    }
}
