//! Whether rings cross or touch: exact for any input, and quick for what hands draw.
//!
//! A hand-drawn ring is a few runs up and down, and of two runs one walk up both tells that they
//! stay apart. Where that is not plain, because they come near or because there are too many runs,
//! every two sides that may meet are held to each other, with predicates that do not round.

use geo::{Coord, Intersects, Line, LineString};

/// What of the rings of a polygon meets other than end to end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Meetings {
    /// The outline meets itself.
    pub(crate) of_shell: bool,
    /// A hole meets the outline, another hole or itself.
    pub(crate) of_holes: bool,
}

impl Meetings {
    /// What meets in closed rings of three sides or more, also where a side runs back over the one
    /// before.
    pub(crate) fn of(rings: &[LineString<f64>]) -> Meetings {
        if are_plainly_apart(rings) { Meetings::default() } else { side_by_side(rings) }
    }

    pub(crate) fn is_none(self) -> bool {
        self == Meetings::default()
    }
}

/// More runs than this are not held to each other two by two.
const MANY_RUNS: usize = 24;

/// Corners of a ring in the order of their height.
struct Run<'a> {
    /// The ring without its last corner, which is the first again.
    corners: &'a [Coord<f64>],
    ring: usize,
    /// The lowest corner's place in the ring, and how many sides there are.
    bottom: usize,
    sides: usize,
    goes_up: bool,
    west: f64,
    east: f64,
}

impl Run<'_> {
    fn place(&self, corner: usize) -> usize {
        let count = self.corners.len();
        let place = if self.goes_up { self.bottom + corner } else { self.bottom + count - corner };
        if place >= count { place - count } else { place }
    }

    /// A corner, counted from the lowest.
    fn corner(&self, corner: usize) -> Coord<f64> {
        self.corners[self.place(corner)]
    }

    fn low(&self) -> f64 {
        self.corner(0).y
    }

    fn high(&self) -> f64 {
        self.corner(self.sides).y
    }
}

/// True if it is plain that rings neither cross nor touch. If not, they may be apart all the same.
fn are_plainly_apart(rings: &[LineString<f64>]) -> bool {
    let mut runs = Vec::new();
    let mut largest = 0.0_f64;
    for (ring, line) in rings.iter().enumerate() {
        let Some((_, corners)) = line.0.split_last() else { return false };
        if !add_runs(corners, ring, &mut runs) {
            return false;
        }
        largest = corners.iter().fold(largest, |most, c| most.max(c.x.abs()).max(c.y.abs()));
    }
    // A thousand times what rounding does to an x on a side.
    let margin = 1e-12 * largest;
    runs.iter().enumerate().all(|(place, run)| {
        runs[..place].iter().all(|other| {
            let beside = run.west - other.east > margin || other.west - run.east > margin;
            beside || stay_apart(run, other, margin)
        })
    })
}

/// Cuts a ring where it turns up or down; false if it has a level side or too many turns.
fn add_runs<'a>(corners: &'a [Coord<f64>], ring: usize, runs: &mut Vec<Run<'a>>) -> bool {
    let count = corners.len();
    let next = |place: usize| if place + 1 == count { 0 } else { place + 1 };
    let goes_up = |place: usize| corners[next(place)].y > corners[place].y;
    let Some(start) = (1..count).find(|&place| goes_up(place) != goes_up(place - 1)) else {
        return false;
    };
    let mut place = start;
    loop {
        let up = goes_up(place);
        let first = place;
        let (mut sides, mut west, mut east) = (0, corners[first].x, corners[first].x);
        loop {
            if corners[next(place)].y == corners[place].y {
                return false;
            }
            place = next(place);
            sides += 1;
            let x = corners[place].x;
            if x < west {
                west = x;
            }
            if x > east {
                east = x;
            }
            if place == start || goes_up(place) != up {
                break;
            }
        }
        if runs.len() == MANY_RUNS {
            return false;
        }
        let bottom = if up { first } else { place };
        runs.push(Run { corners, ring, bottom, sides, goes_up: up, west, east });
        if place == start {
            return true;
        }
    }
}

/// True if two runs are more than `margin` apart at every height that they share, but for a corner
/// in which they join.
fn stay_apart(a: &Run<'_>, b: &Run<'_>, margin: f64) -> bool {
    let (mut low, high) = (a.low().max(b.low()), a.high().min(b.high()));
    let same = |one: usize, other: usize| a.ring == b.ring && a.place(one) == b.place(other);
    let (joined_below, joined_above) = (same(0, 0), same(a.sides, b.sides));
    if low > high {
        return true;
    }
    let start = |run: &Run<'_>| {
        (0..run.sides).find(|&side| run.corner(side + 1).y > low).unwrap_or(run.sides - 1)
    };
    let (mut i, mut j) = (start(a), start(b));
    let x_on = |from: Coord<f64>, to: Coord<f64>, y: f64| {
        from.x + (y - from.y) / (to.y - from.y) * (to.x - from.x)
    };
    let (mut a_from, mut a_to) = (a.corner(i), a.corner(i + 1));
    let (mut b_from, mut b_to) = (b.corner(j), b.corner(j + 1));
    let mut side = 0.0;
    let mut is_first = true;
    loop {
        let may_join = (is_first && joined_below) || (low == high && joined_above);
        if !may_join {
            let apart = x_on(a_from, a_to, low) - x_on(b_from, b_to, low);
            // Also where it is no number.
            let is_clear = apart.abs() > margin && apart * side >= 0.0;
            if !is_clear {
                return false;
            }
            side = apart;
        }
        if low >= high {
            return true;
        }
        is_first = false;
        while a_to.y <= low && i + 1 < a.sides {
            i += 1;
            (a_from, a_to) = (a_to, a.corner(i + 1));
        }
        while b_to.y <= low && j + 1 < b.sides {
            j += 1;
            (b_from, b_to) = (b_to, b.corner(j + 1));
        }
        low = if a_to.y < b_to.y { a_to.y } else { b_to.y };
        low = if low < high { low } else { high };
    }
}

pub(crate) struct Side {
    line: Line<f64>,
    ring: usize,
    place: usize,
    of: usize,
    /// Its extent in the way in which all are swept.
    pub(crate) from: f64,
    pub(crate) to: f64,
}

impl Side {
    fn is_before(&self, other: &Side) -> bool {
        self.ring == other.ring && (self.place + 1) % self.of == other.place
    }

    /// True if an end of one is an end of the other.
    pub(crate) fn shares_a_corner_with(&self, other: &Side) -> bool {
        let is_end = |place: Coord<f64>| place == other.line.start || place == other.line.end;
        is_end(self.line.start) || is_end(self.line.end)
    }

    /// True if it meets the other, other than end to end with the one before or after it.
    pub(crate) fn meets(&self, other: &Side) -> bool {
        if self.is_before(other) {
            folds_back(self.line, other.line)
        } else if other.is_before(self) {
            folds_back(other.line, self.line)
        } else {
            !are_apart(self.line, other.line) && self.line.intersects(&other.line)
        }
    }
}

/// All sides by where they begin in a way in which few are open at a time.
pub(crate) fn swept(rings: &[LineString<f64>]) -> Vec<Side> {
    let sides = || rings.iter().flat_map(LineString::lines);
    // Swept in the way in which the fewest sides are open at a time: along a river, across the
    // teeth of a comb. As many are open as all their extents together are longer than the whole.
    let towards = |angle: f64| {
        let (sin, cos) = angle.sin_cos();
        move |place: Coord<f64>| cos * place.x + sin * place.y
    };
    let are_open = |angle: f64| {
        let at = towards(angle);
        let (mut low, mut high, mut extents) = (f64::INFINITY, f64::NEG_INFINITY, 0.0);
        for side in sides() {
            let (from, to) = (at(side.start), at(side.end));
            (low, high, extents) = (low.min(from), high.max(from), extents + (to - from).abs());
        }
        extents / (high - low)
    };
    // Across the way in which most sides run; there directions are doubled, so that there and back
    // are one.
    let doubled = sides().fold((0.0, 0.0), |(x, y), side| {
        let along = side.delta();
        (x + along.x * along.x - along.y * along.y, y + 2.0 * along.x * along.y)
    });
    let quarter = std::f64::consts::FRAC_PI_4;
    let ways = [0.0, quarter, 2.0 * quarter, 3.0 * quarter];
    let ways = ways.into_iter().chain([doubled.1.atan2(doubled.0) / 2.0 + 2.0 * quarter]);
    let way = ways.map(|angle| (are_open(angle), angle)).min_by(|a, b| a.0.total_cmp(&b.0));
    let across = towards(way.map_or(0.0, |(_, angle)| angle));
    let largest = sides().fold(0.0_f64, |most, side| most.max(across(side.start).abs()));
    let margin = 1e-12 * largest;
    let mut all = Vec::new();
    for (ring, line) in rings.iter().enumerate() {
        let of = line.0.len().saturating_sub(1);
        all.extend(line.lines().enumerate().map(|(place, line)| {
            let (a, b) = (across(line.start), across(line.end));
            Side { line, ring, place, of, from: a.min(b) - margin, to: a.max(b) + margin }
        }));
    }
    all.sort_by(|a, b| a.from.total_cmp(&b.from));
    all
}

/// Holds to each other all sides whose extents meet.
fn side_by_side(rings: &[LineString<f64>]) -> Meetings {
    let all = swept(rings);
    let mut found = Meetings { of_shell: false, of_holes: rings.len() == 1 };
    let mut open: Vec<&Side> = Vec::new();
    'sides: for side in &all {
        open.retain(|other| other.to >= side.from);
        for other in &open {
            let known = if side.ring + other.ring == 0 { found.of_shell } else { found.of_holes };
            if !known && side.meets(other) {
                if side.ring + other.ring == 0 {
                    found.of_shell = true;
                } else {
                    found.of_holes = true;
                }
                if found.of_shell && found.of_holes {
                    break 'sides;
                }
            }
        }
        open.push(side);
    }
    Meetings { of_holes: found.of_holes && rings.len() > 1, ..found }
}

/// True if it is plain that two segments have no place in common: by their boxes, or because one
/// lies on one side of the other, farther than rounding reaches.
fn are_apart(a: Line<f64>, b: Line<f64>) -> bool {
    let beside = |a: f64, b: f64, c: f64, d: f64| a.max(b) < c.min(d) || c.max(d) < a.min(b);
    beside(a.start.x, a.end.x, b.start.x, b.end.x)
        || beside(a.start.y, a.end.y, b.start.y, b.end.y)
        || is_on_one_side(a, b)
        || is_on_one_side(b, a)
}

fn is_on_one_side(of: Line<f64>, line: Line<f64>) -> bool {
    let (first, second) = (side_of(of, line.start), side_of(of, line.end));
    first * second > 0.0
}

/// 1 or −1 if a place is certainly to the left or right of a line, 0 if that is not certain.
/// Source: Shewchuk (1997), Discrete Comput. Geom. 18:305-363, error bound A of ORIENT2D.
fn side_of(line: Line<f64>, place: Coord<f64>) -> f64 {
    const BOUND: f64 = (3.0 + 8.0 * f64::EPSILON) * f64::EPSILON / 2.0;
    let left = (line.start.x - place.x) * (line.end.y - place.y);
    let right = (line.start.y - place.y) * (line.end.x - place.x);
    let turn = left - right;
    if turn.abs() > BOUND * (left.abs() + right.abs()) { turn.signum() } else { 0.0 }
}

/// True if `next` runs back over `before`: a spike.
fn folds_back(before: Line<f64>, next: Line<f64>) -> bool {
    let (u, v) = (before.delta(), next.delta());
    u.x * v.x + u.y * v.y < 0.0 && (before.intersects(&next.end) || next.intersects(&before.start))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn ring() -> impl Strategy<Value = LineString<f64>> {
        let corner = prop_oneof![
            (-30.0..30.0_f64, -30.0..30.0_f64),
            (-4..4_i32, -4..4_i32).prop_map(|(x, y)| (f64::from(x) * 5.0, f64::from(y) * 5.0)),
        ];
        let any = prop::collection::vec(corner, 3..12);
        let round = (prop::collection::vec(0.5..1.5_f64, 3..30), -20.0..20.0_f64, 2.0..20.0_f64);
        let round = round.prop_map(|(radii, x, size)| {
            let turn = |i: usize| (i as f64 / radii.len() as f64 * std::f64::consts::TAU).sin_cos();
            let corner = |(i, r): (usize, &f64)| (x + size * r * turn(i).1, size * r * turn(i).0);
            radii.iter().enumerate().map(corner).collect::<Vec<_>>()
        });
        prop_oneof![any, round].prop_map(|mut corners| {
            corners.dedup();
            let mut ring = LineString::from(corners);
            ring.close();
            ring.0.dedup();
            ring
        })
    }

    /// Every two sides, with nothing left out and nothing estimated.
    fn slowly(rings: &[LineString<f64>]) -> Meetings {
        let mut found = Meetings::default();
        let sides: Vec<Side> = rings
            .iter()
            .enumerate()
            .flat_map(|(ring, line)| {
                line.lines()
                    .enumerate()
                    .map(move |(place, side)| (ring, place, side, line.0.len() - 1))
            })
            .map(|(ring, place, line, of)| Side { line, ring, place, of, from: 0.0, to: 0.0 })
            .collect();
        for (place, a) in sides.iter().enumerate() {
            for b in &sides[..place] {
                let meets = if a.is_before(b) {
                    folds_back(a.line, b.line)
                } else if b.is_before(a) {
                    folds_back(b.line, a.line)
                } else {
                    a.line.intersects(&b.line)
                };
                found.of_shell |= meets && a.ring + b.ring == 0;
                found.of_holes |= meets && a.ring + b.ring > 0;
            }
        }
        found
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, cases: 2000, ..ProptestConfig::default() })]

        /// However it is found out, what meets is the same.
        #[test]
        fn quick_and_slow_agree(rings in prop::collection::vec(ring(), 1..4)) {
            let rings: Vec<_> = rings.into_iter().filter(|ring| ring.0.len() >= 4).collect();
            if !rings.is_empty() {
                let exact = slowly(&rings);
                prop_assert_eq!(Meetings::of(&rings), exact);
                prop_assert_eq!(side_by_side(&rings), exact);
            }
        }
    }
}
