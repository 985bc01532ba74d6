//! How a sheet is parted: title strip, map, scale strip, panel. Several partings are
//! measured and the one that shows the property largest, with all texts readable, is taken.

use std::ops::Range;

use geo::{Coord, MultiPolygon};
use turfplat_units::UnitSystem;

use crate::contents::{self, Explained, KEY_TYPE, Limits};
use crate::details::Index;
use crate::draw::Plate;
use crate::flow::{self, Row};
use crate::grid::Grid;
use crate::map::SprayMap;
use crate::page::Page;
use crate::place::{Labels, Placer};
use crate::scale::View;
use crate::seen::Seen;
use crate::shape::{Bounds, is_usable};
use crate::style::Styles;
use crate::title::Title;

/// Space between the parts of a sheet, in points.
pub(crate) const GAP: f64 = 9.0;
/// Thickness of the frame around the map.
pub(crate) const FRAME: f64 = 3.0;

/// How much of the surroundings is shown, as a share of the property: much, if little would not
/// make the scale any larger.
const CLOSENESS: [f64; 2] = [0.12, 0.04];

/// A sheet, measured and ready to be drawn.
pub(crate) struct Layout {
    pub(crate) width: f64,
    pub(crate) height: f64,
    pub(crate) title: Title,
    pub(crate) title_at: Bounds,
    pub(crate) view: View,
    pub(crate) scale_at: Bounds,
    pub(crate) panel: Panel,
    pub(crate) styles: Styles,
    pub(crate) plate: Plate,
    pub(crate) labels: Labels,
    /// At this scale some zones have no label that can be read.
    pub(crate) is_crowded: bool,
    /// The numbers are explained elsewhere.
    pub(crate) is_key_apart: bool,
    /// Ground that other sheets show, by their numbers.
    pub(crate) others: Vec<(usize, Bounds)>,
    /// Where this sheet lies, if there are several.
    pub(crate) index: Option<Index>,
}

/// The texts beside and below the map.
pub(crate) struct Panel {
    pub(crate) rows: Vec<Row>,
    pub(crate) columns: Vec<Column>,
    pub(crate) column_width: f64,
}

/// Rows of one column and its upper left corner.
pub(crate) struct Column {
    pub(crate) rows: Range<usize>,
    pub(crate) x: f64,
    pub(crate) y: f64,
}

/// One way to part the sheet: in columns of one width, of which the last stand beside the
/// map at full height, and the others below it, if any do.
#[derive(Clone, Copy)]
struct Parting {
    lying: bool,
    columns: usize,
    beside: usize,
    /// Greatest height of the columns below, as a share of the sheet; 0 for none.
    below: f64,
}

const fn parting(lying: bool, columns: usize, beside: usize, below: f64) -> Parting {
    Parting { lying, columns, beside, below }
}

/// Partings to choose from; the later list gives the map less.
const PAPER: [&[Parting]; 2] = [
    &[
        parting(false, 3, 1, 0.0),
        parting(false, 3, 0, 0.44),
        parting(false, 3, 1, 0.40),
        parting(true, 3, 1, 0.0),
        parting(true, 4, 1, 0.0),
        parting(true, 4, 1, 0.34),
        parting(true, 4, 0, 0.40),
    ],
    &[
        parting(false, 3, 0, 0.56),
        parting(false, 3, 1, 0.50),
        parting(true, 4, 2, 0.0),
        parting(true, 4, 1, 0.48),
        parting(true, 4, 0, 0.52),
    ],
];
const SCREEN: [&[Parting]; 2] = [
    &[parting(false, 3, 1, 0.0), parting(false, 4, 2, 0.0), parting(false, 3, 1, 0.34)],
    &[parting(false, 4, 2, 0.34), parting(false, 4, 1, 0.5)],
];

/// Sizes of text, in points; below the last something gives way first.
const PAPER_SIZES: [f64; 5] = [8.5, 8.0, 7.5, 7.0, 6.5];
const SCREEN_SIZES: [f64; 5] = [10.5, 10.0, 9.5, 8.5, 7.5];

struct Parted {
    width: f64,
    height: f64,
    title: Title,
    title_at: Bounds,
    map_at: Bounds,
    scale_at: Bounds,
    panel: Panel,
    /// The numbers are explained elsewhere.
    is_key_apart: bool,
}

impl Layout {
    pub(crate) fn new(map: &SprayMap, page: Page, asked: &Asked<'_>) -> Layout {
        let styles = Styles::of(map);
        let extents = extents(map);
        let settled = Settled::new(map, &styles, asked, |seen, keyed| {
            let wish = Wish { map, page, styles: &styles, extents, seen, keyed, asked };
            let (parted, view) = wish.choose();
            let inner = parted.map_at.grown(-FRAME);
            (parted, view, inner)
        });
        let Settled { parted, view, plate, labels, is_crowded, .. } = settled;
        let Parted { width, height, title, title_at, scale_at, panel, is_key_apart, .. } = parted;
        Layout {
            width,
            height,
            title,
            title_at,
            view,
            scale_at,
            panel,
            styles,
            plate,
            labels,
            is_crowded,
            is_key_apart,
            others: asked.others.to_vec(),
            index: None,
        }
    }
}

/// What is asked of the labels of one sheet.
pub(crate) struct Asked<'a> {
    /// Sizes of text, smallest and largest, in points.
    pub(crate) sizes: (f64, f64),
    /// No type on the map is smaller than this, in points.
    pub(crate) least: f64,
    /// What becomes of zones without room for words.
    pub(crate) numbers: Numbers,
    /// A zone's name is label enough.
    pub(crate) names_do: bool,
    /// Where numbers may be explained, best first; the last is taken whatever the room.
    pub(crate) explained: &'a [Explained],
    /// Zones that have their label on another sheet: here one in words, if there is room. Empty
    /// for none.
    pub(crate) elsewhere: &'a [bool],
    /// Ground that other sheets show, in metres, to be drawn with its number.
    pub(crate) others: &'a [(usize, Bounds)],
    /// How many sheets there are.
    pub(crate) count: usize,
    /// By how much wider and higher than the page the sheet is: a picture for a screen may be.
    pub(crate) enlarged: f64,
}

/// What becomes of zones that have no room for words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Numbers {
    /// A number on its ground or at the end of a line.
    Led,
    /// A number on its ground, where there is room for one.
    OnGround,
}

impl Asked<'_> {
    /// Of a sheet that has to say everything.
    pub(crate) fn all(page: Page) -> Asked<'static> {
        let sizes = if page.is_paper() { (6.0, 9.0) } else { (7.5, 11.5) };
        Asked {
            sizes,
            least: 0.0,
            names_do: false,
            numbers: Numbers::Led,
            explained: &[Explained::Here, Explained::ByList],
            elsewhere: &[],
            others: &[],
            count: 1,
            enlarged: 1.0,
        }
    }
}

/// A map with its labels, and how the paper round it was parted.
pub(crate) struct Settled<P> {
    pub(crate) parted: P,
    pub(crate) view: View,
    pub(crate) plate: Plate,
    pub(crate) labels: Labels,
    /// Some zones have no label, or one too small to be read.
    pub(crate) is_crowded: bool,
    /// Zones that stand as a number, which is their place in the map's list, from 1.
    pub(crate) keyed: Vec<usize>,
}

impl<P> Settled<P> {
    /// Asks `choose` for a parting, a view and the frame, given what the legend lists and which
    /// zones stand as a number, until the map shows just that.
    pub(crate) fn new(
        map: &SprayMap,
        styles: &Styles,
        asked: &Asked<'_>,
        choose: impl Fn(&Seen, &[usize]) -> (P, View, Bounds),
    ) -> Settled<P> {
        let mut keyed = Vec::new();
        let mut seen: Option<Seen> = None;
        let everything = Seen::all(map);
        loop {
            let before = keyed.len();
            let (parted, view, inner) = choose(seen.as_ref().unwrap_or(&everything), &keyed);
            let mut plate = Plate::new(map, view, inner);
            // On an overview flags lie under the boxes of other sheets and on the numbers of zones.
            if !asked.others.is_empty() {
                plate.trail.hide_flags();
                plate.scene.flags.clear();
            }
            // Once too small a scale was tried, the legend says so, and a later one is not as large.
            if seen.as_ref().is_some_and(|seen| seen.close_passes) {
                plate.trail.hide_passes();
            }
            // The legend lists only what shows, but that is known only now. Once it is, it may
            // only grow, so this ends.
            let mut now = Seen::on(map, &plate);
            now.sheets = !asked.others.is_empty();
            let shows_end = |ground: &Bounds| {
                let mut ends = map.trail.ends.iter().map(|end| Coord { x: end.x, y: end.y });
                ends.any(|end| ground.contains(end))
            };
            let showing = asked.others.iter().filter(|(_, ground)| shows_end(ground));
            now.sheets_of_ends = showing.map(|(number, _)| *number).collect();
            now.corner = plate.scene.frame.contains(Grid::new(map, view).zero(view));
            let listed = match &mut seen {
                Some(seen) => !seen.grow(&now),
                None => {
                    let listed = now == everything;
                    // All samples made the first map small: passes may yet have room.
                    let passes = now.passes || now.close_passes;
                    seen = Some(Seen { passes, close_passes: false, ..now });
                    listed
                }
            };
            if !listed {
                continue;
            }
            let reserved = asked.others.iter().map(|(number, ground)| {
                crate::details::tag(*number, view.box_on_page(*ground), plate.scene.frame)
            });
            let grid = Grid::new(map, view).no_smaller(asked.least);
            let grid = grid.reserved(view, plate.scene.frame);
            let reserved = reserved.chain(grid).collect();
            let (labels, is_crowded) =
                Placer::run((map, styles), &plate.scene, asked, reserved, &mut keyed);
            // Zones that had to become numbers need rows in the panel, which may shrink the
            // map; each round only adds to them, so this ends.
            if keyed.len() == before {
                return Settled { parted, view, plate, labels, is_crowded, keyed };
            }
            keyed.sort_unstable();
        }
    }
}

/// What a sheet is parted for.
struct Wish<'a> {
    map: &'a SprayMap,
    page: Page,
    styles: &'a Styles,
    extents: [Bounds; 2],
    /// What the legend lists.
    seen: &'a Seen,
    /// Zones that stand as a number.
    keyed: &'a [usize],
    asked: &'a Asked<'a>,
}

impl Wish<'_> {
    fn view(&self, room: Bounds) -> View {
        best_view(self.extents, room, self.page.is_paper(), self.map.units)
    }

    fn choose(&self) -> (Parted, View) {
        let ([easy, dense], sizes) =
            if self.page.is_paper() { (PAPER, PAPER_SIZES) } else { (SCREEN, SCREEN_SIZES) };
        let smallest = sizes[sizes.len() - 1];
        let try_all = |partings: &[&[Parting]], sizes: &[f64], limits: Limits, key: Explained| {
            let mut best: Option<(f64, Parted, View)> = None;
            let is_read =
                |size: &&f64| key != Explained::Here || self.keyed.is_empty() || **size >= KEY_TYPE;
            for &size in sizes.iter().filter(is_read) {
                for way in partings.iter().copied().flatten().flat_map(|it| self.widened(*it)) {
                    let Some(parted) = self.part(way, size, limits, key) else { continue };
                    let view = self.view(parted.map_at.grown(-FRAME - 6.0));
                    // Larger text is worth as much as a larger map.
                    let worth = view.per_metre * size;
                    if best.as_ref().is_none_or(|(old, ..)| worth > old * 1.01) {
                        best = Some((worth, parted, view));
                    }
                }
            }
            best.map(|(_, parted, view)| (parted, view))
        };
        let [all, cut @ ..] = Limits::LADDER;
        let bare = cut[cut.len() - 1];
        let whole = self.asked.explained.iter().find_map(|&key| {
            try_all(&[easy], &sizes[..4], all, key)
                .or_else(|| try_all(&[easy, dense], &sizes, all, key))
        });
        // What gives way next is not the key: either it stands whole, or it stands elsewhere.
        let last = self.last();
        whole
            .or_else(|| {
                cut.iter().find_map(|&limits| {
                    try_all(&[easy], &sizes[3..], limits, last)
                        .or_else(|| try_all(&[dense], &sizes[3..], limits, last))
                })
            })
            // Only endless cautions come this far: they are set smaller until they stand.
            .or_else(|| {
                (0..30).find_map(|step| {
                    try_all(&[easy, dense], &[smallest * 0.8_f64.powi(step)], bare, last)
                })
            })
            .unwrap_or_else(|| self.empty())
    }

    fn last(&self) -> Explained {
        self.asked.explained.last().copied().unwrap_or(Explained::ByList)
    }

    /// On a wider sheet columns of the same breadth: as many more, or as many as there were.
    fn widened(&self, way: Parting) -> impl Iterator<Item = Parting> {
        let more = |count: usize| (count as f64 * self.asked.enlarged).round() as usize;
        let columns = more(way.columns);
        (way.beside..=more(way.beside)).map(move |beside| Parting { columns, beside, ..way })
    }

    fn outline(&self, lying: bool) -> Outline {
        let sheet = (1, self.asked.count);
        Outline::enlarged(self.map, self.page, lying, sheet, self.asked.enlarged)
    }

    /// The way out when not even the smallest letters fit: the map alone.
    fn empty(&self) -> (Parted, View) {
        let frame = self.outline(self.page == Page::Screen);
        let map_at = Bounds { y1: frame.body.y1 - frame.strip, ..frame.body };
        let view = self.view(map_at.grown(-FRAME - 6.0));
        let scale_at = Bounds { y0: map_at.y1, ..frame.body };
        let panel = Panel { rows: Vec::new(), columns: Vec::new(), column_width: 0.0 };
        let Outline { width, height, title, title_at, .. } = frame;
        let is_key_apart = !self.keyed.is_empty();
        (Parted { width, height, title, title_at, map_at, scale_at, panel, is_key_apart }, view)
    }

    fn part(&self, way: Parting, size: f64, limits: Limits, key: Explained) -> Option<Parted> {
        let Outline { width, height, title, title_at, body, strip } = self.outline(way.lying);
        let between = 2.0 * GAP;
        let step = (body.width() + between) / way.columns as f64;
        let column_width = step - between;
        let rows = contents::rows(
            (self.map, self.styles),
            self.seen,
            (self.keyed, key),
            (size, column_width),
            limits,
        );

        let low = if way.below > 0.0 { way.columns - way.beside } else { 0 };
        let (high, columns) =
            fill(&rows, low, height * way.below, &vec![body.height(); way.beside])?;
        let heights =
            std::iter::repeat_n(high, low).chain(std::iter::repeat_n(body.height(), way.beside));
        let first = way.columns - low - way.beside;
        let columns = columns
            .into_iter()
            .zip(heights)
            .enumerate()
            .map(|(index, (rows, height))| Column {
                rows,
                x: body.x0 + (first + index) as f64 * step,
                y: body.y1 - height,
            })
            .collect();

        let under = if low > 0 { high + GAP * 0.6 } else { 0.0 };
        let upper = Bounds { x1: body.x1 - way.beside as f64 * step, y1: body.y1 - under, ..body };
        let map_at = Bounds { y1: upper.y1 - strip, ..upper };
        let scale_at = Bounds { y0: map_at.y1, ..upper };
        let panel = Panel { rows, columns, column_width };
        let is_key_apart = !self.keyed.is_empty() && key != Explained::Here;
        Some(Parted { width, height, title, title_at, map_at, scale_at, panel, is_key_apart })
    }
}

/// The sheet with its title, before the body is parted.
pub(crate) struct Outline {
    pub(crate) width: f64,
    pub(crate) height: f64,
    pub(crate) title: Title,
    pub(crate) title_at: Bounds,
    pub(crate) body: Bounds,
    /// Height of the strip with the scale.
    pub(crate) strip: f64,
}

impl Outline {
    /// `sheet` is its number and how many there are.
    pub(crate) fn new(map: &SprayMap, page: Page, lying: bool, sheet: (usize, usize)) -> Outline {
        Self::enlarged(map, page, lying, sheet, 1.0)
    }

    /// Of a sheet so many times as wide and high as the page.
    fn enlarged(
        map: &SprayMap,
        page: Page,
        lying: bool,
        sheet: (usize, usize),
        by: f64,
    ) -> Outline {
        let (short, long) = page.size();
        let (short, long) = (short * by, long * by);
        let (width, height) = if lying && page.is_paper() { (long, short) } else { (short, long) };
        // Most printers cannot print the outer quarter inch.
        let margin = if page.is_paper() { 24.0 } else { 14.0 };
        let big = if page.is_paper() { 1.0 } else { 1.2 };
        let title = Title::new(map, width - 2.0 * margin, big, sheet);
        let title_at = Bounds::new(margin, margin, width - 2.0 * margin, title.height);
        let body =
            Bounds { x0: margin, y0: title_at.y1 + GAP, x1: width - margin, y1: height - margin };
        Outline { width, height, title, title_at, body, strip: 34.0 * big }
    }
}

/// Rows in `low` columns below the map and in those beside it, and the height of the former.
/// A part that has begun below is not carried on beside the map if that can be helped: the
/// eye would not find it there.
fn fill(rows: &[Row], low: usize, most: f64, beside: &[f64]) -> Option<(f64, Vec<Range<usize>>)> {
    // Most tries of a crowded sheet end here, before anything is parted.
    let needed: f64 = rows.iter().filter(|row| !row.is_gap()).map(|row| row.height).sum();
    if needed > low as f64 * most + beside.iter().sum::<f64>() {
        return None;
    }
    let parted = (low > 0 && !beside.is_empty()).then(|| {
        flow::headings(rows)
            .filter_map(|at| {
                let others = flow::columns(&rows[at..], beside)?;
                let high = flow::least_height(&rows[..at], low, most, &[])?;
                let mut columns = flow::columns(&rows[..at], &vec![high; low])?;
                columns.resize(low, 0..0);
                columns.extend(others.into_iter().map(|rows| rows.start + at..rows.end + at));
                Some((high, columns))
            })
            .min_by(|(one, _), (other, _)| one.total_cmp(other))
    });
    parted.flatten().or_else(|| {
        let high = flow::least_height(rows, low, most, beside)?;
        let heights: Vec<f64> =
            std::iter::repeat_n(high, low).chain(beside.iter().copied()).collect();
        Some((high, flow::columns(rows, &heights)?))
    })
}

/// Much of the surroundings, and little.
pub(crate) fn extents(map: &SprayMap) -> [Bounds; 2] {
    CLOSENESS.map(|reach| extent(map, reach))
}

/// The wider view of the surroundings, unless the closer one has a larger scale.
pub(crate) fn best_view(
    extents: [Bounds; 2],
    room: Bounds,
    true_scale: bool,
    units: UnitSystem,
) -> View {
    let [wide, close] = extents.map(|extent| View::new(extent, room, true_scale, units));
    if close.per_metre > wide.per_metre * 1.001 { close } else { wide }
}

/// What the map shows, in metres: all turf and the whole lot, marks within an eighth around them,
/// and of other surroundings as much as `reach`, a share of the former.
fn extent(map: &SprayMap, reach: f64) -> Bounds {
    let corners = |shape: &MultiPolygon<f64>| -> Vec<Coord> {
        shape.iter().flat_map(|p| p.exterior().coords()).copied().filter(is_usable).collect()
    };
    let turf = map.zones.iter().flat_map(|zone| [&zone.treated, &zone.drawn]).chain([&map.lot]);
    let core = Bounds::of(turf.flat_map(corners));
    let around = map.features.iter().map(|f| &f.shape).chain(map.strips.iter().map(|s| &s.shape));
    let marks = map.marks.iter().map(|mark| Coord { x: mark.x, y: mark.y }).filter(is_usable);
    let around = Bounds::of(around.flat_map(corners));
    let Some(core) = core else {
        let all = around.into_iter().chain(Bounds::of(marks)).reduce(Bounds::union);
        return all.unwrap_or(Bounds::new(0.0, 0.0, 1.0, 1.0));
    };
    let side = core.width().max(core.height()).max(1.0);
    let near = core.grown(side * CLOSENESS[0]);
    let all = around.map_or(core, |around| core.union(around.common(core.grown(side * reach))));
    marks
        .filter(|&mark| near.contains(mark))
        // With room for the symbol and for some of the name.
        .map(|mark| Bounds::around(mark, side * 0.04, side * 0.04))
        .fold(all, Bounds::union)
}
