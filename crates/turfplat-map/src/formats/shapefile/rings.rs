//! Which ring of a record is a lawn's edge and which a bed's in it. By the book shells run
//! clockwise and holes the other way (ESRI Shapefile Technical Description, 1998, p. 8); many
//! writers turn all rings round, or list all shells before all holes. Going by direction alone
//! makes beds of lawns, going by order alone gives a hole to another's shell. So a ring's place
//! decides, and its direction only compared with the ring that it lies in.

use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use geo_types::{Coord, LineString, MultiPolygon, Polygon};

/// Groups rings, none of which is empty, into polygons in the order of their shells.
///
/// # Errors
///
/// What of them has two readings, and what to change.
pub(super) fn polygons(rings: Vec<Vec<Coord<f64>>>) -> Result<MultiPolygon<f64>, String> {
    let roles = if rings.len() < 2 { vec![Role::Shell; rings.len()] } else { roles(&rings)? };
    let mut shells: BTreeMap<usize, Polygon<f64>> = BTreeMap::new();
    let mut holes = Vec::new();
    for (number, (ring, role)) in rings.into_iter().zip(roles).enumerate() {
        match role {
            Role::Shell => {
                shells.insert(number, Polygon::new(LineString(ring), Vec::new()));
            }
            Role::HoleOf(shell) => holes.push((shell, LineString(ring))),
        }
    }
    for (shell, hole) in holes {
        if let Some(shell) = shells.get_mut(&shell) {
            shell.interiors_push(hole);
        }
    }
    Ok(shells.into_values().collect())
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Role {
    Shell,
    /// Of the ring with this number.
    HoleOf(usize),
}

/// What each ring is.
fn roles(corners: &[Vec<Coord<f64>>]) -> Result<Vec<Role>, String> {
    let rings: Vec<Ring<'_>> = corners.iter().map(|corners| Ring::of(corners)).collect();
    let mut by_area: Vec<usize> = (0..rings.len()).collect();
    by_area.sort_by(|a, b| rings[*b].area.abs().total_cmp(&rings[*a].area.abs()));
    let parents = parents(&rings, &by_area)?;
    let mut roles = vec![Role::Shell; rings.len()];
    // What a ring lies in is larger, so its role is known.
    for &ring in &by_area {
        let Some(parent) = parents[ring] else { continue };
        let turns = rings[ring].area * rings[parent].area;
        roles[ring] = match roles[parent] {
            _ if turns > 0.0 => return Err(two_readings(ring, parent)),
            Role::Shell => Role::HoleOf(parent),
            Role::HoleOf(_) => Role::Shell,
        };
    }
    Ok(roles)
}

fn two_readings(ring: usize, parent: usize) -> String {
    let (ring, parent) = (ring + 1, parent + 1);
    format!(
        "its ring {ring} lies in its ring {parent} and runs the same way round, so it may be a hole or a part of its own; turn it round if it is a hole, else take it out"
    )
}

/// For each ring the smallest one that it lies in.
fn parents(rings: &[Ring<'_>], by_area: &[usize]) -> Result<Vec<Option<usize>>, String> {
    let mut rank = vec![0; rings.len()];
    by_area.iter().enumerate().for_each(|(place, ring)| rank[*ring] = place);
    // From west to east: what a ring may lie in starts no later and has not ended.
    let mut from_west = by_area.to_vec();
    from_west.sort_by(|a, b| rings[*a].low.x.total_cmp(&rings[*b].low.x));
    let mut effort = Effort::for_corners(rings.iter().map(|ring| ring.corners.len()).sum());
    let mut bands: Vec<Option<Bands>> = rings.iter().map(|_| None).collect();
    let mut parents = vec![None; rings.len()];
    let mut begun: Vec<usize> = Vec::new();
    for &ring in &from_west {
        effort.spend(begun.len())?;
        begun.retain(|other| rings[*other].high.x >= rings[ring].low.x);
        let larger = begun.iter().copied().filter(|other| rank[*other] < rank[ring]);
        let mut larger: Vec<usize> =
            larger.filter(|other| rings[*other].boxes_in(&rings[ring])).collect();
        larger.sort_by_key(|other| std::cmp::Reverse(rank[*other]));
        for other in larger {
            let bands = bands[other].get_or_insert_with(|| Bands::of(&rings[other]));
            if lies_in(&rings[ring], &rings[other], bands, &mut effort)? {
                parents[ring] = Some(other);
                break;
            }
        }
        begun.push(ring);
    }
    Ok(parents)
}

/// What may still be spent on one record: a file made to waste time has rings in rings in rings.
struct Effort(usize);

impl Effort {
    fn for_corners(corners: usize) -> Effort {
        Effort(1_000_000 + 256 * corners)
    }

    fn spend(&mut self, steps: usize) -> Result<(), String> {
        self.0 = self.0.checked_sub(steps).ok_or(
            "its rings are too many, too deep in each other, to tell holes from shells; split it into several features",
        )?;
        Ok(())
    }
}

struct Ring<'r> {
    corners: &'r [Coord<f64>],
    /// Twice its area, negative where it runs clockwise.
    area: f64,
    low: Coord<f64>,
    high: Coord<f64>,
}

impl<'r> Ring<'r> {
    fn of(corners: &'r [Coord<f64>]) -> Ring<'r> {
        let first = corners.first().copied().unwrap_or_default();
        let (mut low, mut high) = (first, first);
        for corner in corners {
            low = Coord { x: low.x.min(corner.x), y: low.y.min(corner.y) };
            high = Coord { x: high.x.max(corner.x), y: high.y.max(corner.y) };
        }
        let mut ring = Ring { corners, area: 0.0, low, high };
        // From the first corner: far from the origin the areas of a lawn drown in rounding.
        let areas = ring.edges().map(|(_, [a, b])| {
            (a.x - first.x) * (b.y - first.y) - (b.x - first.x) * (a.y - first.y)
        });
        ring.area = areas.sum();
        ring
    }

    /// Every edge by the number of its first corner, also the one that closes the ring.
    fn edges(&self) -> impl Iterator<Item = (usize, [Coord<f64>; 2])> {
        let next = self.corners.iter().cycle().skip(1);
        self.corners.iter().zip(next).map(|(a, b)| [*a, *b]).enumerate()
    }

    fn edge(&self, number: usize) -> Option<[Coord<f64>; 2]> {
        let first = self.corners.get(number)?;
        let second = self.corners.get(number + 1).or(self.corners.first())?;
        Some([*first, *second])
    }

    /// True where the other's box lies in its own.
    fn boxes_in(&self, other: &Ring<'_>) -> bool {
        self.low.x <= other.low.x
            && self.low.y <= other.low.y
            && self.high.x >= other.high.x
            && self.high.y >= other.high.y
    }
}

/// True if `ring` lies in `other`: more of it inside than outside, of what is not on the edge.
/// Rings may touch, and a corner on an edge is on either side of it by rounding; so some are asked.
fn lies_in(
    ring: &Ring<'_>,
    other: &Ring<'_>,
    bands: &Bands,
    effort: &mut Effort,
) -> Result<bool, String> {
    const ASKED: usize = 9;
    let step = ring.corners.len().div_ceil(ASKED).max(1);
    let edges = (0..ring.corners.len()).step_by(step).filter_map(|number| ring.edge(number));
    let middle =
        |[a, b]: [Coord<f64>; 2]| Coord { x: a.x + (b.x - a.x) / 2.0, y: a.y + (b.y - a.y) / 2.0 };
    for place in [|[a, _]: [Coord<f64>; 2]| a, middle] {
        let mut balance = 0;
        for edge in edges.clone() {
            balance += bands.side(other, place(edge), effort)?;
        }
        match balance.cmp(&0) {
            Ordering::Greater => return Ok(true),
            Ordering::Less => return Ok(false),
            Ordering::Equal => {}
        }
    }
    // It runs along the other's edge all the way.
    Ok(true)
}

/// The edges of a ring by the bands of y that they cross, so that a point is compared with few.
struct Bands {
    low: f64,
    per_unit: f64,
    /// Where in `edges` each band starts, and where the last ends.
    starts: Vec<usize>,
    edges: Vec<u32>,
}

impl Bands {
    fn of(ring: &Ring<'_>) -> Bands {
        let height = ring.high.y - ring.low.y;
        let climbed: f64 = ring.edges().map(|(_, [a, b])| (b.y - a.y).abs()).sum();
        // So many that edges stand in three bands on average. Not a number in a flat ring: one.
        let wanted = 3.0 * ring.corners.len() as f64 * height / climbed;
        let count = (wanted as usize).clamp(1, ring.corners.len().max(1));
        let mut bands = Bands {
            low: ring.low.y,
            per_unit: count as f64 / height,
            starts: vec![0; count + 1],
            edges: Vec::new(),
        };
        for (_, [a, b]) in ring.edges() {
            bands.crossed(a, b).for_each(|band| bands.starts[band + 1] += 1);
        }
        let mut total = 0;
        bands.starts.iter_mut().for_each(|start| {
            total += *start;
            *start = total;
        });
        bands.edges = vec![0; total];
        let mut filled = bands.starts.clone();
        for (number, [a, b]) in ring.edges() {
            for band in bands.crossed(a, b) {
                bands.edges[filled[band]] = number as u32;
                filled[band] += 1;
            }
        }
        bands
    }

    fn band(&self, y: f64) -> usize {
        // What is not a number becomes 0.
        (((y - self.low) * self.per_unit) as usize).min(self.starts.len() - 2)
    }

    fn crossed(&self, a: Coord<f64>, b: Coord<f64>) -> RangeInclusive<usize> {
        self.band(a.y.min(b.y))..=self.band(a.y.max(b.y))
    }

    /// 1 inside the ring, -1 outside, 0 on its edge.
    fn side(&self, ring: &Ring<'_>, place: Coord<f64>, effort: &mut Effort) -> Result<i32, String> {
        let band = self.band(place.y);
        let edges = &self.edges[self.starts[band]..self.starts[band + 1]];
        effort.spend(edges.len())?;
        let mut side = -1;
        for [a, b] in edges.iter().filter_map(|edge| ring.edge(*edge as usize)) {
            let turn = (b.x - a.x) * (place.y - a.y) - (b.y - a.y) * (place.x - a.x);
            if turn == 0.0 && is_between(place, a, b) {
                return Ok(0);
            }
            let is_crossed = (a.y > place.y) != (b.y > place.y);
            if is_crossed && (turn > 0.0) == (b.y > a.y) {
                side = -side;
            }
        }
        Ok(side)
    }
}

fn is_between(place: Coord<f64>, a: Coord<f64>, b: Coord<f64>) -> bool {
    (a.x.min(b.x)..=a.x.max(b.x)).contains(&place.x)
        && (a.y.min(b.y)..=a.y.max(b.y)).contains(&place.y)
}
