//! Where a load runs out, so that a flag can be set there.

use geo::Coord;
use turfplat_units::{Area, Length};

use crate::error::PassesError;
use crate::plane::length;
use crate::tally::{Tally, covered_until};
use crate::walk::{Walk, metres};

/// The place at which a load has covered its ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadEnd {
    /// Which of the given loads, from 0.
    pub load: usize,
    /// In which of [`Walk::passes`], from 0.
    pub pass: usize,
    /// How far along that pass.
    pub along: Length,
    /// Where that is, in metres on the ground's plane.
    pub at: Coord<f64>,
    /// Ground that the load still is for when the walk ends: what no pass covers, and more if the
    /// loads are for more than this ground. Zero of a load that ends on the way.
    pub over: Area,
}

impl Walk {
    /// Where each load ends, each covering so much of this ground in walking order.
    ///
    /// * Exact to the ground covered, to 1e-9 of the swath along a straight pass; where a pass turns on
    ///   the spot, at the corner. With two directions each takes half of a load's strength.
    /// * A load that is not used up when the walk ends, ends where the walk does. None of no passes.
    ///
    /// # Errors
    ///
    /// [`PassesError::Tangled`], if the ground cannot be cut there.
    pub fn load_ends(&self, loads: &[Area]) -> Result<Vec<LoadEnd>, PassesError> {
        let mut ends = Vec::new();
        let (mut load, mut target) = (0, loads.first().map_or(0.0, |area| area.square_metres()));
        let mut walked = 0.0;
        for course in &self.courses {
            let mut tally = Tally::of(&course.ground, self.half);
            for index in course.passes.clone() {
                let pass = &self.passes[index];
                let path = course.turn.back().path(&pass.path);
                let after = walked + pass.covers.square_metres() * self.strength();
                let mut fresh = None;
                while load < loads.len() && target < after {
                    if fresh.is_none() {
                        fresh = Some(tally.fresh(&path)?.1);
                    }
                    let Some(fresh) = &fresh else { break };
                    let wanted = (target - walked) / self.strength();
                    let long = crate::plane::path_length(&path);
                    let (mut low, mut high) = (0.0, long);
                    while high - low > 1e-9 * self.half {
                        let middle = (low + high) / 2.0;
                        if middle <= low || middle >= high {
                            break;
                        }
                        if covered_until(fresh, &until(&path, middle), self.half)? < wanted {
                            low = middle;
                        } else {
                            high = middle;
                        }
                    }
                    let at = until(&pass.path, high).last().copied().unwrap_or(pass.path[0]);
                    ends.push(LoadEnd {
                        load,
                        pass: index,
                        along: metres(high),
                        at,
                        over: Area::ZERO,
                    });
                    load += 1;
                    target += loads.get(load).map_or(0.0, |area| area.square_metres());
                }
                tally.add(&path, false);
                walked = after;
            }
        }
        let Some(last) = self.passes.last() else { return Ok(ends) };
        while load < loads.len() {
            let along = metres(crate::plane::path_length(&last.path));
            let at = last.path.last().copied().unwrap_or_default();
            let over = Area::from_square_metres((target - walked).max(0.0)).unwrap_or_default();
            ends.push(LoadEnd { load, pass: self.passes.len() - 1, along, at, over });
            walked = walked.max(target);
            load += 1;
            target += loads.get(load).map_or(0.0, |area| area.square_metres());
        }
        Ok(ends)
    }
}

/// The path's first `along` metres.
fn until(path: &[Coord<f64>], along: f64) -> Vec<Coord<f64>> {
    let mut rest = along;
    let mut first: Vec<Coord<f64>> = path.first().copied().into_iter().collect();
    for pair in path.windows(2) {
        let long = length(pair[1] - pair[0]);
        if rest <= long {
            first.push(pair[0] + (pair[1] - pair[0]) * if long > 0.0 { rest / long } else { 0.0 });
            return first;
        }
        first.push(pair[1]);
        rest -= long;
    }
    first
}
