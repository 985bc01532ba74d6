//! In which order passes are walked: there and back within a stretch of ground that lies behind one
//! front of passes, so that nobody crosses a hole at every pass, then on to the nearest next one.
//! The nearest is not the best: round a hole of 20 m in a lawn of 40 m one walks 74 m idle beside
//! 324 m treated, where row by row across the hole it would be 136 m (a test holds it below 102 m).

use geo::Coord;

use crate::layout::Draft;
use crate::plane::length;

/// The drafts in walking order, each turned the way it is walked.
pub(crate) fn walked(drafts: Vec<Draft>, start: Option<Coord<f64>>) -> Vec<Draft> {
    let mut cells: Vec<Vec<usize>> = cells(&drafts);
    let mut ends = Ends::of(&drafts, &cells);
    let mut drafts: Vec<Option<Draft>> = drafts.into_iter().map(Some).collect();
    let (mut at, mut order) = (start, Vec::new());
    while let Some((index, reverse)) = ends.take_nearest(at) {
        let mut cell = std::mem::take(&mut cells[index]);
        if reverse {
            cell.reverse();
        }
        for index in cell {
            let Some(mut draft) = drafts[index].take() else { continue };
            let [from, to] = draft.ends();
            if at.is_some_and(|at| length(to - at) < length(from - at) - 1e-6) {
                draft.path.reverse();
            }
            at = draft.path.last().copied();
            order.push(draft);
        }
    }
    order
}

/// Where cells may be entered, in a grid that is searched outwards from where one stands.
struct Ends {
    low: Coord<f64>,
    size: f64,
    columns: i64,
    rows: i64,
    /// Cell, whether from its last pass on, and where.
    held: Vec<Vec<(usize, bool, Coord<f64>)>>,
    taken: Vec<bool>,
    left: usize,
}

impl Ends {
    fn of(drafts: &[Draft], cells: &[Vec<usize>]) -> Ends {
        let mut all = Vec::new();
        for (index, cell) in cells.iter().enumerate() {
            for (reverse, draft) in [(false, cell.first()), (true, cell.last())] {
                all.extend(
                    draft
                        .into_iter()
                        .flat_map(|&draft| drafts[draft].ends())
                        .map(|end| (index, reverse, end)),
                );
            }
        }
        let fold = |start: f64, pick: fn(f64, f64) -> f64, of: fn(Coord<f64>) -> f64| {
            all.iter().map(|&(.., end)| of(end)).fold(start, pick)
        };
        let low = Coord {
            x: fold(f64::INFINITY, f64::min, |p| p.x),
            y: fold(f64::INFINITY, f64::min, |p| p.y),
        };
        let wide = (fold(f64::NEG_INFINITY, f64::max, |p| p.x) - low.x).max(0.0);
        let tall = (fold(f64::NEG_INFINITY, f64::max, |p| p.y) - low.y).max(0.0);
        // Some four ends a square; no more squares than that, however long and thin the ground.
        let most = all.len() as f64 / 4.0 + 1.0;
        let size = (wide * tall / most).sqrt().max(wide.max(tall) / most).max(1e-9);
        let (columns, rows) = ((wide / size) as i64 + 1, (tall / size) as i64 + 1);
        let mut ends = Ends {
            low,
            size,
            columns,
            rows,
            held: vec![Vec::new(); (columns * rows) as usize],
            taken: vec![false; cells.len()],
            left: cells.len(),
        };
        for end in all {
            let (column, row) = ends.square(end.2);
            ends.held[(row * columns + column) as usize].push(end);
        }
        ends
    }

    fn square(&self, at: Coord<f64>) -> (i64, i64) {
        let column = ((at.x - self.low.x) / self.size) as i64;
        let row = ((at.y - self.low.y) / self.size) as i64;
        (column.clamp(0, self.columns - 1), row.clamp(0, self.rows - 1))
    }

    /// The cell whose end is nearest to where one stands, else the first; of equals the first.
    fn take_nearest(&mut self, at: Option<Coord<f64>>) -> Option<(usize, bool)> {
        if self.left == 0 {
            return None;
        }
        let mut best = (f64::INFINITY, 0, false);
        if let Some(at) = at {
            let (column, row) = self.square(at);
            for ring in 0..=self.columns.max(self.rows) {
                for y in (row - ring).max(0)..=(row + ring).min(self.rows - 1) {
                    // Of a row within the ring only both its ends are new.
                    let step = if (y - row).abs() == ring { 1 } else { (2 * ring).max(1) };
                    let mut x = column - ring;
                    while x <= column + ring {
                        if (0..self.columns).contains(&x) {
                            self.look((y * self.columns + x) as usize, at, &mut best);
                        }
                        x += step;
                    }
                }
                // What lies farther out is farther off; standing beside the grid, by a square more.
                let outside = length(at - self.nearest_inside(at));
                if best.0 + outside <= (ring as f64 - 1.0) * self.size {
                    break;
                }
            }
        } else {
            best.1 = self.taken.iter().position(|taken| !taken)?;
        }
        self.taken[best.1] = true;
        self.left -= 1;
        Some((best.1, best.2))
    }

    fn nearest_inside(&self, at: Coord<f64>) -> Coord<f64> {
        Coord {
            x: at.x.clamp(self.low.x, self.low.x + self.columns as f64 * self.size),
            y: at.y.clamp(self.low.y, self.low.y + self.rows as f64 * self.size),
        }
    }

    fn look(&mut self, square: usize, at: Coord<f64>, best: &mut (f64, usize, bool)) {
        let taken = &self.taken;
        self.held[square].retain(|end| !taken[end.0]);
        for &(index, reverse, end) in &self.held[square] {
            let far = length(end - at);
            // Equal but for rounding: the first stays.
            let is_equal = (far - best.0).abs() <= 1e-6;
            if (far < best.0 && !is_equal) || (is_equal && (index, reverse) < (best.1, best.2)) {
                *best = (far, index, reverse);
            }
        }
    }
}

/// Runs of passes each of which lies beside just one before and one after it; in the order of rows.
fn cells(drafts: &[Draft]) -> Vec<Vec<usize>> {
    let mut cells: Vec<Vec<usize>> = Vec::new();
    // What of the row before and what of this one lies side by side.
    let mut cell_of = vec![usize::MAX; drafts.len()];
    let rows: Vec<usize> = (0..drafts.len()).filter(|&index| drafts[index].row.is_some()).collect();
    let row = |index: usize| drafts[index].row.map(|(row, ..)| row);
    let mut before: &[usize] = &[];
    for now in rows.chunk_by(|&one, &next| row(one) == row(next)) {
        let is_next =
            before.first().and_then(|&index| row(index)).map(|row| row + 1) == row(now[0]);
        let beside = if is_next { before } else { &[] };
        for &index in now {
            let alone = only(drafts, index, beside)
                .filter(|&other| only(drafts, other, now) == Some(index));
            match alone {
                Some(other) => {
                    cell_of[index] = cell_of[other];
                    cells[cell_of[other]].push(index);
                }
                None => {
                    cell_of[index] = cells.len();
                    cells.push(vec![index]);
                }
            }
        }
        before = now;
    }
    cells.extend(
        (0..drafts.len()).filter(|&index| drafts[index].row.is_none()).map(|index| vec![index]),
    );
    cells
}

/// The only one of `others`, which are in order, that lies beside `index`.
fn only(drafts: &[Draft], index: usize, others: &[usize]) -> Option<usize> {
    let (_, from, to) = drafts[index].row?;
    let begin = others.partition_point(|&other| drafts[other].row.is_some_and(|row| row.2 <= from));
    let mut beside = others[begin..]
        .iter()
        .take_while(|&&other| drafts[other].row.is_some_and(|row| row.1 < to));
    let first = beside.next().copied();
    first.filter(|_| beside.next().is_none())
}
