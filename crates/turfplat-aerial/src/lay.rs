//! Laying a picture onto a plane: every dot asks where it lies in the picture.
//!
//! Asking a projection for each of a million dots takes seconds. Over a property it bends by less
//! than a pixel, so it is asked on a coarse grid, and between its points a straight line is drawn;
//! in the middle of each mesh the line is held to the projection, and the grid made finer until it
//! fits.

use crate::aerial::{Aerial, Form};
use crate::error::AerialError;
use crate::window::{self, Raster, Reach, Window};
use crate::{tiff_file, whole_file};

/// What is wanted of the plane: dots of one size, from the upper left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Meters east of the left edge.
    pub west: f64,
    /// Meters north of the upper edge.
    pub north: f64,
    /// Meters across one dot, and down.
    pub dot: f64,
    /// Dots across.
    pub width: u32,
    /// Dots down.
    pub height: u32,
}

/// A picture on a plane.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidPicture {
    /// Dots across.
    pub width: u32,
    /// Dots down.
    pub height: u32,
    /// Red, green, blue and how much shows, 0 to 255, row by row from the upper left.
    pub rgba: Vec<u8>,
}

impl LaidPicture {
    /// True where at least half of a dot shows something.
    pub fn shows(&self, column: u32, row: u32) -> bool {
        let at = (row as usize * self.width as usize + column as usize) * 4 + 3;
        column < self.width && self.rgba.get(at).is_some_and(|&share| share > 127)
    }
}

/// Dots that one picture may have.
const MOST_DOTS: u64 = 25_000_000;
/// Dots between the points of the first, coarsest grid.
const MESH: u32 = 64;
/// How far off a place may be, in dots or pixels, whichever are larger.
const OFF: f64 = 0.1;
/// A dot is the mean of so many places across, and as many down, at most.
const MOST_PLACES: u32 = 4;

type Place<'p> = &'p dyn Fn(f64, f64) -> Option<(f64, f64)>;

pub(crate) fn lay(
    aerial: &Aerial,
    wanted: &Wanted,
    place: Place<'_>,
) -> Result<LaidPicture, AerialError> {
    let Wanted { width, height, dot, .. } = *wanted;
    let dots = u64::from(width) * u64::from(height);
    if dots > MOST_DOTS || !dot.is_finite() || dot <= 0.0 {
        return Err(AerialError::TooLarge {
            file: aerial.file(),
            width: width.into(),
            height: height.into(),
            form: "a map",
            cure: "draw it with larger dots",
        });
    }
    let blank = || LaidPicture { width, height, rgba: vec![0; dots as usize * 4] };
    let grid = Grid::of(aerial, wanted, place);
    let Some((box_, fineness)) = grid.seen(aerial.size) else { return Ok(blank()) };
    let levels = match aerial.form {
        Form::Tiff => tiff_file::levels(&aerial.path)?,
        Form::Png | Form::Jpeg => vec![tiff_file::Level { index: 0, size: aerial.size }],
    };
    // The smallest copy that is fine enough.
    let factor =
        |level: &tiff_file::Level| f64::from(aerial.size.0) / f64::from(level.size.0.max(1));
    let fits = |level: &&tiff_file::Level| factor(level) <= fineness * 1.01;
    let smaller = |a: &&tiff_file::Level, b: &&tiff_file::Level| a.size.0.cmp(&b.size.0);
    let Some(level) = levels.iter().filter(fits).min_by(smaller).or(levels.first()).copied() else {
        return Ok(blank());
    };
    let left = (fineness / factor(&level)).max(1.0);
    let shrink = (left.floor() as u32).clamp(1, 255);
    let reach = reach(box_, aerial.size, level, shrink);
    let pixels = reach.wide() as u64 * reach.high() as u64;
    if pixels > window::MOST {
        return Err(AerialError::TooLarge {
            file: aerial.file(),
            width: reach.wide() as u64,
            height: reach.high() as u64,
            form: "one map",
            cure: "take a picture whose pixels are nearly square in the map's system",
        });
    }
    let mut window = Window::new(reach);
    let bits = match aerial.form {
        Form::Tiff => tiff_file::read(&aerial.path, level, &mut window)?,
        Form::Png => whole_file::png(&aerial.path, aerial.size, &aerial.whole, &mut window)?,
        Form::Jpeg => whole_file::jpeg(&aerial.path, &aerial.whole, &mut window)?,
    };
    let raster = window.finish(bits);
    let places = ((left / f64::from(shrink) - 0.01).ceil() as u32).clamp(1, MOST_PLACES);
    let from = FromGrid {
        grid: &grid,
        raster: &raster,
        reach,
        full: aerial.size,
        level: level.size,
        places,
    };
    Ok(LaidPicture { width, height, rgba: from.draw(width, height) })
}

/// The part of a level under a box of the full picture, with a pixel more on each side.
fn reach(
    [left, top, right, bottom]: [f64; 4],
    full: (u32, u32),
    level: tiff_file::Level,
    shrink: u32,
) -> Reach {
    let margin = f64::from(shrink) + 1.0;
    let side = |low: f64, high: f64, full: u32, level: u32| {
        let scale = f64::from(level) / f64::from(full.max(1));
        let first = (low * scale - margin).floor().clamp(0.0, f64::from(level - 1)) as u32;
        let end =
            (high * scale + margin).ceil().clamp(f64::from(first + 1), f64::from(level)) as u32;
        // Whole pixels of the window from the level's own edge on, so that it does not matter to a
        // pixel's mean what else is in reach.
        (first / shrink * shrink, end)
    };
    let (x0, x1) = side(left, right, full.0, level.size.0);
    let (y0, y1) = side(top, bottom, full.1, level.size.1);
    Reach { first: (x0, y0), end: (x1, y1), shrink }
}

/// Columns and rows of the full picture at the points of a grid over the wanted dots.
struct Grid {
    mesh: u32,
    across: usize,
    points: Vec<Option<(f64, f64)>>,
}

impl Grid {
    fn of(aerial: &Aerial, wanted: &Wanted, place: Place<'_>) -> Grid {
        let at = |u: f64, v: f64| {
            let (x, y) = place(wanted.west + u * wanted.dot, wanted.north - v * wanted.dot)?;
            let (column, row) = aerial.place.undo(x, y);
            (column.is_finite() && row.is_finite()).then_some((column, row))
        };
        let mut mesh = MESH;
        loop {
            let across = wanted.width.div_ceil(mesh) as usize + 1;
            let down = wanted.height.div_ceil(mesh) as usize + 1;
            let point = |index: usize| {
                let (column, row) = (index % across, index / across);
                at(column as f64 * f64::from(mesh), row as f64 * f64::from(mesh))
            };
            let grid = Grid { mesh, across, points: (0..across * down).map(point).collect() };
            if mesh == 1 || grid.fits(&at, down) {
                return grid;
            }
            mesh /= 2;
        }
    }

    /// Whether the middle of each mesh lies where the straight lines put it.
    fn fits(&self, at: &dyn Fn(f64, f64) -> Option<(f64, f64)>, down: usize) -> bool {
        let mesh = f64::from(self.mesh);
        (0..down - 1).flat_map(|row| (0..self.across - 1).map(move |column| (column, row))).all(
            |(column, row)| {
                let (u, v) = ((column as f64 + 0.5) * mesh, (row as f64 + 0.5) * mesh);
                match (self.at(u, v), at(u, v)) {
                    (Some(line), Some(exact)) => {
                        let finest = self.step(column, row).unwrap_or(1.0).max(1.0);
                        (line.0 - exact.0).hypot(line.1 - exact.1) <= OFF * finest
                    }
                    // Beyond where the system reaches: nothing is drawn there.
                    _ => true,
                }
            },
        )
    }

    fn corners(&self, column: usize, row: usize) -> Option<[(f64, f64); 4]> {
        let at = |column: usize, row: usize| *self.points.get(row * self.across + column)?;
        let at = |column, row| at(column, row);
        Some([
            at(column, row)?,
            at(column + 1, row)?,
            at(column, row + 1)?,
            at(column + 1, row + 1)?,
        ])
    }

    /// Pixels of the full picture from one dot to the next, across or down, whichever are fewer.
    fn step(&self, column: usize, row: usize) -> Option<f64> {
        let [a, b, c, _] = self.corners(column, row)?;
        let far = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1);
        Some(far(a, b).min(far(a, c)) / f64::from(self.mesh))
    }

    /// Column and row of the full picture for a place in dots.
    fn at(&self, u: f64, v: f64) -> Option<(f64, f64)> {
        let mesh = f64::from(self.mesh);
        // Places in dots are never below zero.
        let (column, row) = ((u / mesh) as usize, (v / mesh) as usize);
        let [a, b, c, d] = self.corners(column, row)?;
        let (x, y) = (u / mesh - column as f64, v / mesh - row as f64);
        let between = |a: f64, b: f64, c: f64, d: f64| {
            (a * (1.0 - x) + b * x) * (1.0 - y) + (c * (1.0 - x) + d * x) * y
        };
        Some((between(a.0, b.0, c.0, d.0), between(a.1, b.1, c.1, d.1)))
    }

    /// The part of the picture under all dots, and pixels from dot to dot; `None` where they do not meet.
    fn seen(&self, (wide, high): (u32, u32)) -> Option<([f64; 4], f64)> {
        let (wide, high) = (f64::from(wide), f64::from(high));
        let rows = self.points.len() / self.across.max(1);
        let mut seen: Option<[f64; 4]> = None;
        let mut steps = Vec::new();
        for (column, row) in (0..rows.saturating_sub(1))
            .flat_map(|row| (0..self.across - 1).map(move |column| (column, row)))
        {
            let Some(corners) = self.corners(column, row) else { continue };
            let mut mesh = [f64::MAX, f64::MAX, f64::MIN, f64::MIN];
            for (x, y) in corners {
                mesh = [mesh[0].min(x), mesh[1].min(y), mesh[2].max(x), mesh[3].max(y)];
            }
            if mesh[0] > wide || mesh[1] > high || mesh[2] < 0.0 || mesh[3] < 0.0 {
                continue;
            }
            steps.extend(self.step(column, row));
            let known = seen.unwrap_or(mesh);
            seen = Some([
                known[0].min(mesh[0]),
                known[1].min(mesh[1]),
                known[2].max(mesh[2]),
                known[3].max(mesh[3]),
            ]);
        }
        let [left, top, right, bottom] = seen?;
        steps.sort_by(f64::total_cmp);
        let step = steps.get(steps.len() / 2).copied().unwrap_or(1.0);
        Some(([left.max(0.0), top.max(0.0), right.min(wide), bottom.min(high)], step.max(1e-9)))
    }
}

struct FromGrid<'a> {
    grid: &'a Grid,
    raster: &'a Raster,
    reach: Reach,
    full: (u32, u32),
    level: (u32, u32),
    places: u32,
}

impl FromGrid<'_> {
    /// All dots, in bands at the same time; their number does not depend on the machine.
    fn draw(&self, width: u32, height: u32) -> Vec<u8> {
        const BANDS: u32 = 4;
        let stride = width as usize * 4;
        let mut rgba = vec![0; stride * height as usize];
        let band = height.div_ceil(BANDS).max(1);
        if stride == 0 {
            return rgba;
        }
        std::thread::scope(|scope| {
            for (index, rows) in (0..).zip(rgba.chunks_mut(stride * band as usize)) {
                scope.spawn(move || {
                    for (row, dots) in (index * band..).zip(rows.chunks_mut(stride)) {
                        for (column, dot) in (0..width).zip(dots.chunks_exact_mut(4)) {
                            dot.copy_from_slice(&self.dot(column, row));
                        }
                    }
                });
            }
        });
        rgba
    }

    fn dot(&self, column: u32, row: u32) -> [u8; 4] {
        let places = self.places;
        let mut sum = [0.0_f32; 4];
        for i in 0..places {
            for j in 0..places {
                let share = |at: u32, step: u32| {
                    f64::from(at) + (f64::from(step) + 0.5) / f64::from(places)
                };
                let Some(pixel) = self.pixel(share(column, i), share(row, j)) else { continue };
                for (sum, value) in sum.iter_mut().zip(pixel) {
                    *sum += value;
                }
            }
        }
        let shown = sum[3];
        if shown <= 0.0 {
            return [0; 4];
        }
        // The cast holds to 0 and 255.
        let byte = |value: f32| (value + 0.5) as u8;
        let share = shown / (places * places) as f32;
        [byte(sum[0] / shown), byte(sum[1] / shown), byte(sum[2] / shown), byte(share * 255.0)]
    }

    /// The picture at a place in dots.
    fn pixel(&self, u: f64, v: f64) -> Option<[f32; 4]> {
        let (column, row) = self.grid.at(u, v)?;
        let (wide, high) = (f64::from(self.full.0), f64::from(self.full.1));
        if !(0.0..=wide).contains(&column) || !(0.0..=high).contains(&row) {
            return None;
        }
        let shrink = f64::from(self.reach.shrink);
        let x = column * f64::from(self.level.0) / wide - f64::from(self.reach.first.0);
        let y = row * f64::from(self.level.1) / high - f64::from(self.reach.first.1);
        Some(self.raster.between(x / shrink - 0.5, y / shrink - 0.5))
    }
}
