//! The passes of one piece of ground.

use geo::{Area, Coord, MultiPolygon, Polygon};

use crate::cells::walked;
use crate::cut::cut_to_box;
use crate::edges::Edges;
use crate::error::PassesError;
use crate::kept::Kept;
use crate::lap::Lap;
use crate::overlay::less;
use crate::plane::{Turn, length};
use crate::rows::{Rows, best_direction, sides, toil};
use crate::stroke::stroke;
use crate::trim::{SPARED, trim};
use crate::walk::Kind;

/// More passes than this nobody walks.
pub(crate) const MOST_PASSES: usize = 20_000;

/// A longer outline, in swaths, takes seconds for each direction that is tried.
const MOST_SWATHS_AROUND: f64 = 1e6;

/// Swaths that only just meet leave no seam.
const HAIR: f64 = 1e-6;

/// A pass before it has its place in the order; `row`: which, from where to where.
#[derive(Clone, Debug)]
pub(crate) struct Draft {
    pub(crate) path: Vec<Coord<f64>>,
    pub(crate) kind: Kind,
    pub(crate) row: Option<(usize, f64, f64)>,
}

impl Draft {
    pub(crate) fn ends(&self) -> [Coord<f64>; 2] {
        let nowhere = Coord { x: 0.0, y: 0.0 };
        [
            self.path.first().copied().unwrap_or(nowhere),
            self.path.last().copied().unwrap_or(nowhere),
        ]
    }
}

/// A piece with its passes in walking order, turned so that they run along x.
pub(crate) struct Layout {
    pub(crate) angle: f64,
    pub(crate) ground: MultiPolygon<f64>,
    pub(crate) drafts: Vec<Draft>,
    pub(crate) left: MultiPolygon<f64>,
}

/// Lays passes of `swath` metres over a piece, along `angle` or in the best direction.
pub(crate) fn laid(
    piece: &Polygon<f64>,
    swath: f64,
    edge_first: bool,
    angle: Option<f64>,
) -> Result<Layout, PassesError> {
    let half = swath / 2.0;
    let whole = MultiPolygon(vec![piece.clone()]);
    too_long(piece, swath)?;
    let best = angle.unwrap_or_else(|| best_direction(&whole, swath));
    too_many(&whole, best, swath)?;
    let edges = Edges::of(piece, swath);
    let early = early(&edges, &whole, best, half, edge_first);
    let rest = rest_of(&whole, &early, half)?;
    let significant = |rest: &MultiPolygon<f64>| {
        let broad =
            rest.iter().filter(|polygon| polygon.unsigned_area() > SPARED * piece.unsigned_area());
        MultiPolygon(broad.cloned().collect())
    };
    let rest = if early.is_empty() { rest } else { significant(&rest) };
    let angle = match angle {
        Some(angle) => angle,
        None if early.is_empty() || rest.0.is_empty() => best,
        None => best_direction(&rest, swath),
    };
    let turn = Turn::by(-angle);
    let (ground, rest) = (turn.polygons(&whole), turn.polygons(&rest));
    let Some(flat) = ground.0.first() else {
        return Ok(Layout { angle, ground, drafts: Vec::new(), left: rest });
    };
    let edges = Edges::of(flat, swath);
    let mut drafts: Vec<Draft> = early
        .iter()
        .map(|(path, kind)| Draft { path: turn.path(path), kind: *kind, row: None })
        .collect();
    let had_early = !drafts.is_empty();
    drafts = if edge_first { walked(drafts, None) } else { drafts };
    let mut others = across(&ground, &rest, &edges, half, had_early, edge_first);
    let paths = drafts.iter().chain(&others).map(|draft| draft.path.as_slice());
    let wide = half * (1.0 + HAIR);
    let strokes = MultiPolygon(paths.flat_map(|path| stroke(path, wide).0).collect());
    let left = less(&ground, &strokes)?;
    let trimmed = trim(&edges, left, SPARED * piece.unsigned_area(), half)?;
    others.extend(trimmed.paths.into_iter().map(|path| Draft {
        path,
        kind: Kind::Edge,
        row: None,
    }));
    if drafts.len() + others.len() > MOST_PASSES {
        return Err(refused(swath, drafts.len() + others.len()));
    }
    if !edge_first {
        others.append(&mut drafts);
    }
    let start = drafts.last().map(|draft| draft.ends()[1]);
    drafts.extend(walked(others, start));
    Ok(Layout { angle, ground, drafts, left: trimmed.left })
}

fn refused(swath_metres: f64, passes: usize) -> PassesError {
    PassesError::TooManyPasses { swath_metres, passes, most: MOST_PASSES }
}

/// Refuses before anything is laid out that would take long: with so long an outline each direction does.
fn too_long(piece: &Polygon<f64>, swath: f64) -> Result<(), PassesError> {
    let around: f64 =
        sides(&MultiPolygon(vec![piece.clone()])).iter().map(|(a, b)| length(*b - *a)).sum();
    // No stretch in the ground is longer than half its outline, so at least so many passes.
    let passes = piece.unsigned_area() / (around / 2.0) / swath;
    if passes > MOST_PASSES as f64 {
        return Err(refused(swath, passes as usize));
    }
    if around / swath > MOST_SWATHS_AROUND {
        return Err(PassesError::OutlineTooLong { swath_metres: swath, outline_metres: around });
    }
    Ok(())
}

fn too_many(whole: &MultiPolygon<f64>, angle: f64, swath: f64) -> Result<(), PassesError> {
    let passes = toil(&sides(whole), angle, swath).passes;
    if passes > MOST_PASSES { Err(refused(swath, passes)) } else { Ok(()) }
}

/// What is walked before the rows: the lap, or the middle lines of narrow ground.
fn early(
    edges: &Edges,
    whole: &MultiPolygon<f64>,
    angle: f64,
    half: f64,
    edge_first: bool,
) -> Vec<(Vec<Coord<f64>>, Kind)> {
    let turn = Turn::by(-angle);
    let heights = sides(whole).into_iter().map(|side| turn.place(side.0).y);
    // A single straight pass covers all: nothing is gained by following the outline.
    if Rows::over(heights, 2.0 * half).is_none_or(|rows| rows.count == 1) {
        return Vec::new();
    }
    let lap = Lap::of(edges, half);
    let (marks, kind) =
        if edge_first { (lap.whole(), Kind::Edge) } else { (lap.narrow(), Kind::Middle) };
    let paths = lap.paths(edges, &marks, &mut Kept::new(half));
    paths.into_iter().map(|path| (path, kind)).collect()
}

fn rest_of(
    whole: &MultiPolygon<f64>,
    early: &[(Vec<Coord<f64>>, Kind)],
    half: f64,
) -> Result<MultiPolygon<f64>, PassesError> {
    if early.is_empty() {
        return Ok(whole.clone());
    }
    let wide = half * (1.0 + HAIR);
    let strokes = early.iter().flat_map(|(path, _)| stroke(path, wide).0).collect();
    less(whole, &MultiPolygon(strokes))
}

/// The rows over what is to be covered; with a lap they begin and end in it.
fn across(
    ground: &MultiPolygon<f64>,
    rest: &MultiPolygon<f64>,
    edges: &Edges,
    half: f64,
    had_early: bool,
    edge_first: bool,
) -> Vec<Draft> {
    let Some(rows) = Rows::over(sides(rest).into_iter().map(|side| side.0.y), 2.0 * half) else {
        return Vec::new();
    };
    let mut stretches = rows.stretches(ground);
    if had_early {
        if edge_first {
            stretches = rows.inside(&stretches, edges, half);
        }
        stretches = stretches
            .into_iter()
            .filter_map(|(row, from, to)| needed(rest, &rows, (row, from, to), half, edge_first))
            .collect();
    }
    let draft = |(row, from, to): (usize, f64, f64)| {
        let y = rows.middle(row);
        let path = vec![Coord { x: from, y }, Coord { x: to, y }];
        Draft { path, kind: Kind::Across, row: Some((row, from, to)) }
    };
    stretches.into_iter().map(draft).collect()
}

/// What of a stretch covers anything that is to be covered; whole where it begins and ends in a lap.
fn needed(
    rest: &MultiPolygon<f64>,
    rows: &Rows,
    (row, from, to): (usize, f64, f64),
    half: f64,
    edge_first: bool,
) -> Option<(usize, f64, f64)> {
    let y = rows.middle(row);
    let reach = rows.step / 2.0;
    let band = cut_to_box(rest, Coord { x: from, y: y - reach }, Coord { x: to, y: y + reach });
    let (mut low, mut high, mut area) = (to, from, 0.0);
    for polygon in &band {
        area += polygon.unsigned_area();
        for corner in &polygon.exterior().0 {
            (low, high) = (low.min(corner.x), high.max(corner.x));
        }
    }
    if area < 1e-3 * half * half || high - low < 1e-3 {
        return None;
    }
    Some(if edge_first { (row, from, to) } else { (row, low, high) })
}
