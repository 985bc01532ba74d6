//! What paths along the outline cover already, so that nobody walks there and back along a middle line.

use std::collections::HashMap;

use geo::Coord;

use crate::plane::distance_to;

/// Along its own ring a path covers what follows; only what is farther off along it, in half swaths, counts.
const OWN: f64 = 4.0;

#[derive(Clone, Copy)]
struct Stretch {
    a: Coord<f64>,
    b: Coord<f64>,
    ring: usize,
    arc: f64,
}

/// Stretches no longer than a swath, by the cell of that size that they begin in.
pub(crate) struct Kept {
    half: f64,
    cells: HashMap<(i64, i64), Vec<Stretch>>,
}

impl Kept {
    pub(crate) fn new(half: f64) -> Kept {
        Kept { half, cells: HashMap::new() }
    }

    fn cell(&self, place: Coord<f64>) -> (i64, i64) {
        let size = 2.0 * self.half;
        ((place.x / size).floor() as i64, (place.y / size).floor() as i64)
    }

    pub(crate) fn add(&mut self, a: Coord<f64>, b: Coord<f64>, ring: usize, arc: f64) {
        let cell = self.cell(a);
        self.cells.entry(cell).or_default().push(Stretch { a, b, ring, arc });
    }

    /// Is the outline's point `q` within half a swath of a path that came by here before?
    pub(crate) fn covers(&self, q: Coord<f64>, ring: usize, arc: f64, long: f64) -> bool {
        let (column, row) = self.cell(q);
        let mut cells = (-1..=1).flat_map(|x| (-1..=1).map(move |y| (column + x, row + y)));
        cells.any(|cell| {
            self.cells.get(&cell).is_some_and(|stretches| {
                stretches.iter().any(|stretch| {
                    let apart = (stretch.arc - arc).abs();
                    let own = stretch.ring == ring && apart.min(long - apart) < OWN * self.half;
                    !own && distance_to(q, stretch.a, stretch.b) <= self.half * (1.0 + 1e-6)
                })
            })
        })
    }
}
