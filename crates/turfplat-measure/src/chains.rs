//! Why edges come in chains: along a boundary one edge mostly goes on where another ends. Of two
//! chains it can be told in one walk up both where they change sides, and between such heights
//! their order stays as it is: a corner on the way is no event.

use crate::edge::{CLOSE, Edge, LEVEL};

/// Edges, in chains that run from south to north without a gap.
#[derive(Debug, Default)]
pub(crate) struct Chains {
    edges: Vec<Edge>,
    chains: Vec<Chain>,
}

/// Edges of one side of one thing, each on top of the one before.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Chain {
    /// Its lowest edge and its highest.
    bottom: u32,
    top: u32,
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) west: f64,
    pub(crate) east: f64,
    /// What crossing it eastwards adds to the winding number of its group.
    pub(crate) winding: i16,
    pub(crate) group: u32,
    /// Chains that share a number above 0 are known not to cross each other.
    pub(crate) ring: u32,
    /// True if all its edges are straight.
    is_straight: bool,
}

impl Chains {
    pub(crate) fn clear(&mut self) {
        self.edges.clear();
        self.chains.clear();
    }

    /// Adds an edge of `ring` as a bound of `group`: to the chain of the one before it if it goes
    /// on there.
    pub(crate) fn push(&mut self, edge: Edge, group: u32, ring: u32) {
        let goes_on =
            self.edges.last().zip(self.chains.last()).is_some_and(|(before, chain)| {
                chain.is_of(&edge, group, ring) && meets(before, &edge)
            });
        if goes_on { self.extend(edge) } else { self.start(edge, group, ring) }
    }

    /// Adds an edge that is known to start where the one before it ends, and to be like it.
    #[inline]
    pub(crate) fn push_next(&mut self, edge: Edge, group: u32, ring: u32) {
        let goes_on = self.edges.last().zip(self.chains.last()).is_some_and(|(before, chain)| {
            chain.high == edge.low && is_upright_enough(before) && is_upright_enough(&edge)
        });
        if goes_on { self.extend(edge) } else { self.start(edge, group, ring) }
    }

    #[inline]
    fn extend(&mut self, edge: Edge) {
        if let Some(chain) = self.chains.last_mut() {
            chain.top = self.edges.len() as u32;
            chain.high = edge.high;
            chain.is_straight &= edge.is_straight();
            if edge.west < chain.west {
                chain.west = edge.west;
            }
            if edge.east > chain.east {
                chain.east = edge.east;
            }
        }
        self.edges.push(edge);
    }

    fn start(&mut self, edge: Edge, group: u32, ring: u32) {
        let place = self.edges.len() as u32;
        let Edge { low, high, west, east, winding, .. } = edge;
        self.chains.push(Chain {
            bottom: place,
            top: place,
            low,
            high,
            west,
            east,
            winding,
            group,
            ring,
            is_straight: edge.is_straight(),
        });
        self.edges.push(edge);
    }

    /// Adds an upright edge at `x` that winds like `edge`; one on top of another makes one.
    pub(crate) fn push_upright(&mut self, edge: &Edge, x: f64, group: u32, ring: u32) {
        if let Some((before, chain)) = self.edges.last_mut().zip(self.chains.last_mut())
            && (before.west, before.east, before.high) == (x, x, edge.low)
            && chain.is_of(edge, group, ring)
        {
            *before = before.upright(x, before.low, edge.high);
            chain.high = edge.high;
        } else {
            self.start(edge.upright(x, edge.low, edge.high), group, ring);
        }
    }

    pub(crate) fn chains(&self) -> &[Chain] {
        &self.chains
    }

    #[inline]
    pub(crate) fn at(&self, chain: u32) -> &Chain {
        &self.chains[chain as usize]
    }

    /// The place of a chain's lowest edge.
    pub(crate) fn lowest(&self, chain: u32) -> u32 {
        self.at(chain).bottom
    }

    /// Of a chain the edge that runs up from `height`, from the place of one below it or itself;
    /// the highest if there is none.
    #[inline]
    pub(crate) fn climb(&self, chain: &Chain, from: &mut u32, height: f64) -> &Edge {
        loop {
            let edge = &self.edges[*from as usize];
            if edge.high > height || *from >= chain.top {
                return edge;
            }
            *from += 1;
        }
    }

    /// Of a chain the place of the edge that runs up from `height`; the highest if there is none.
    #[inline]
    fn find(&self, chain: &Chain, height: f64) -> u32 {
        if height <= chain.low {
            return chain.bottom;
        }
        let edges = &self.edges[chain.bottom as usize..chain.top as usize];
        chain.bottom + edges.partition_point(|edge| edge.high <= height) as u32
    }

    /// The x of a chain at a height between its ends.
    pub(crate) fn x_at(&self, chain: u32, height: f64) -> f64 {
        self.edges[self.find(self.at(chain), height) as usize].x_at(height)
    }

    /// Calls `with` for every edge of a chain between two heights, with what of it lies there.
    /// `from` is the place of an edge at or below the lower one and is moved to the upper one.
    pub(crate) fn each_between(
        &self,
        chain: u32,
        from: &mut u32,
        low: f64,
        high: f64,
        mut with: impl FnMut(&Edge, f64, f64),
    ) {
        let chain = self.at(chain);
        let mut at = low;
        while at < high {
            let edge = self.climb(chain, from, at);
            let top = lower(edge.high, high);
            if top <= at {
                return;
            }
            with(edge, at, top);
            at = top;
        }
    }

    /// Calls `add` with heights between `low` and `high` at which two chains may change sides, or
    /// come together or part. Each comes with the place of an edge that is there or below. One too
    /// many does no harm.
    ///
    /// Where two run together, which is west is for rounding to say; a slab that went on to where
    /// they are apart would take its word for that too.
    pub(crate) fn crossings(
        &self,
        (a, mut i): (u32, u32),
        (b, mut j): (u32, u32),
        start: f64,
        high: f64,
        mut add: impl FnMut(f64),
    ) {
        let mut add = |height: f64| {
            if height > start && height < high {
                add(height);
            }
        };
        let (a, b) = (self.at(a), self.at(b));
        let are_straight = a.is_straight && b.is_straight;
        let mut low = start;
        let mut one = self.climb(a, &mut i, low);
        let mut other = self.climb(b, &mut j, low);
        // Where both are at the lower end of each piece, and how far the first is east of the second.
        let mut at_low = (one.x_at(low), other.x_at(low));
        while low < high {
            let top = lower(lower(one.high, other.high), high);
            if top <= low {
                return;
            }
            let at_top = (one.x_at(top), other.x_at(top));
            let (below, above) = (at_low.0 - at_low.1, at_top.0 - at_top.1);
            // On the same side at both ends, a piece that is no farther west anywhere than the
            // other is east does not come close to it.
            let may_meet = || {
                let (west, east) = one.extent((low, at_low.0), (top, at_top.0));
                let (other_west, other_east) = other.extent((low, at_low.1), (top, at_top.1));
                west <= other_east + CLOSE && other_west <= east + CLOSE
            };
            if below * above < 0.0 || (!are_straight && may_meet()) {
                one.crossings(other, (low, below), (top, above), &mut add);
            }
            let (was_close, is_close) = (below.abs() <= CLOSE, above.abs() <= CLOSE);
            // An arc may leave its chord and come back to it.
            let bulges = was_close && is_close && !are_straight && {
                let middle = low + (top - low) / 2.0;
                (one.x_at(middle) - other.x_at(middle)).abs() > CLOSE
            };
            if bulges || (was_close && !is_close) {
                add(low);
            }
            if bulges || (is_close && !was_close) {
                add(top);
            }
            (low, at_low) = (top, at_top);
            one = self.climb(a, &mut i, low);
            other = self.climb(b, &mut j, low);
        }
    }
}

impl Chain {
    fn is_of(&self, edge: &Edge, group: u32, ring: u32) -> bool {
        self.high == edge.low
            && self.winding == edge.winding
            && self.group == group
            && self.ring == ring
    }
}

/// The lower of two heights. Neither is NaN, which [`f64::min`] takes its time to look for.
#[inline]
pub(crate) fn lower(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

/// True if one edge goes on where the other ends: no level stretch lies between or in them.
fn meets(below: &Edge, above: &Edge) -> bool {
    is_upright_enough(below)
        && is_upright_enough(above)
        && (below.x_at(below.high) - above.x_at(above.low)).abs() <= LEVEL
}

#[inline]
fn is_upright_enough(edge: &Edge) -> bool {
    edge.high - edge.low > LEVEL
}

/// Turns runs of edges that go down so that the lowest comes first.
pub(crate) fn turn_up(edges: &mut [Edge]) {
    edges.chunk_by_mut(|before, next| before.low == next.high).for_each(<[Edge]>::reverse);
}
