//! Short passes where square ends have left triangles along an edge.

use geo::{Area, ConvexHull, Coord, MultiPolygon, Polygon};

use crate::edges::Edges;
use crate::error::PassesError;
use crate::kept::Kept;
use crate::lap::Lap;
use crate::overlay::less;
use crate::plane::{Turn, length};
use crate::rows::{Rows, is_broad};
use crate::stroke::stroke;

/// This part of a piece may be left, its smallest remnants first: nobody walks for a hand's breadth.
pub(crate) const SPARED: f64 = 0.001;
/// Marks along the outline nearer to each other than this are one pass, in half swaths.
const GAP: f64 = 4.0;
/// Passes along the outline first, and only then straight across what is left.
const ROUNDS: usize = 8;

/// What short passes come to.
pub(crate) struct Trimmed {
    pub(crate) paths: Vec<Vec<Coord<f64>>>,
    pub(crate) left: MultiPolygon<f64>,
}

/// The passes that take up what is left of a piece, and what then still is.
pub(crate) fn trim(
    edges: &Edges,
    mut left: MultiPolygon<f64>,
    spared: f64,
    half: f64,
) -> Result<Trimmed, PassesError> {
    let (mut all, mut lap) = (Vec::new(), None);
    let mut along_edges = true;
    for _ in 0..ROUNDS {
        let mut sized: Vec<(f64, &Polygon<f64>)> =
            left.iter().map(|polygon| (polygon.unsigned_area(), polygon)).collect();
        sized.sort_by(|one, other| other.0.total_cmp(&one.0));
        let mut over = sized.iter().map(|(area, _)| area).sum::<f64>() - spared;
        if over <= 0.0 {
            break;
        }
        let mut wanted = Vec::new();
        for (area, polygon) in sized {
            if over <= 0.0 {
                break;
            }
            over -= area;
            wanted.push(polygon);
        }
        let mut paths = Vec::new();
        if along_edges {
            let lap = lap.get_or_insert_with(|| Lap::of(edges, half));
            let marks = marked(lap, edges, &wanted, half);
            paths = lap.paths(edges, &marks, &mut Kept::new(half));
            along_edges = !paths.is_empty();
        }
        if paths.is_empty() {
            paths = wanted
                .iter()
                .filter(|part| is_broad(part, 2.0 * half) || part.unsigned_area() > spared / 8.0)
                .flat_map(|part| across(edges, part, half))
                .collect();
        }
        if paths.is_empty() {
            break;
        }
        let strokes = MultiPolygon(paths.iter().flat_map(|path| stroke(path, half).0).collect());
        let before = left.unsigned_area();
        let after = less(&left, &strokes)?;
        // Where following the outline takes up next to nothing, what is left is elsewhere.
        if along_edges && after.unsigned_area() > 0.9 * before {
            along_edges = false;
            continue;
        }
        left = after;
        all.extend(paths);
    }
    Ok(Trimmed { paths: all, left })
}

/// The samples of the lap that what is left lies nearest to.
fn marked(lap: &Lap, edges: &Edges, wanted: &[&Polygon<f64>], half: f64) -> Vec<Vec<bool>> {
    let mut arcs: Vec<Vec<f64>> = vec![Vec::new(); lap.rings.len()];
    for polygon in wanted {
        for line in polygon.exterior().lines() {
            let steps =
                (length(line.end - line.start) / (half / 2.0)).ceil().clamp(1.0, 10_000.0) as usize;
            for step in 0..steps {
                let place = line.start + (line.end - line.start) * (step as f64 / steps as f64);
                if let Some((ring, arc)) = edges.nearest(place, 1.05 * half) {
                    arcs[ring].push(arc);
                }
            }
        }
    }
    let mut marks = Vec::new();
    for ((ring, long), mut arcs) in lap.rings.iter().zip(&lap.lengths).zip(arcs) {
        let mut marks_of = vec![false; ring.len()];
        arcs.sort_by(f64::total_cmp);
        // From mark to mark, round the ring.
        for (index, &from) in arcs.iter().enumerate() {
            let to = arcs.get(index + 1).copied().unwrap_or(arcs[0] + long);
            let to = if to - from <= GAP * half { to } else { from };
            let hair = 0.4 * half;
            for turn in [0.0, *long, -*long] {
                let (from, to) = (from - hair - turn, to + hair - turn);
                let begin = ring.partition_point(|sample| sample.arc < from);
                let end = ring.partition_point(|sample| sample.arc <= to);
                marks_of[begin..end.max(begin)].iter_mut().for_each(|mark| *mark = true);
            }
        }
        marks.push(marks_of);
    }
    marks
}

/// Straight passes along the longest side of what is left.
fn across(edges: &Edges, polygon: &Polygon<f64>, half: f64) -> Vec<Vec<Coord<f64>>> {
    let hull = polygon.convex_hull();
    let sides = hull.exterior().lines().map(|line| line.end - line.start);
    let Some(side) = sides.max_by(|one, other| length(*one).total_cmp(&length(*other))) else {
        return Vec::new();
    };
    let turn = Turn::by(-side.y.atan2(side.x));
    let flat = turn.polygons(&MultiPolygon(vec![polygon.clone()]));
    let corners = || flat.0[0].exterior().0.iter();
    let Some(rows) = Rows::over(corners().map(|corner| corner.y), 2.0 * half) else {
        return Vec::new();
    };
    let (low, high) = corners().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| {
        (low.min(at.x), high.max(at.x))
    });
    let mut paths = Vec::new();
    for (row, from, to) in rows.stretches(&flat) {
        let y = rows.middle(row);
        let place = |x: f64| turn.back().place(Coord { x, y });
        let ahead = turn.back().place(Coord { x: 1.0, y: 0.0 });
        // On to where what is left ends, as far as the ground allows.
        let middle = (from + to) / 2.0;
        let onward = edges.free_ahead(place(middle), ahead, high - middle) - 1e-6;
        let backward = edges.free_ahead(place(middle), -ahead, middle - low) - 1e-6;
        if onward + backward > 1e-3 {
            paths.push(vec![place(middle - backward), place(middle + onward)]);
        }
    }
    paths
}
