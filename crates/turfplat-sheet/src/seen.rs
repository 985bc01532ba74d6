//! Why the legend asks what can be seen: a sample of something that lies beyond the frame,
//! or wholly under something else, sends the reader looking for it.

use geo::Coord;

use crate::draw::Plate;
use crate::legend::is_skipped;
use crate::map::SprayMap;
use crate::shape::{Bounds, Shape};

/// A line needs to show for this many samples, some 8 points of length, to be called visible.
const ENOUGH: usize = 4;
/// Points between samples of a line.
const STEP: f64 = 2.0;
/// Lines closer than this, in points, hide each other.
const HIDING: f64 = 0.9;

/// What of a map shows in its frame; the lists run as the map's own.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Seen {
    pub(crate) skipped: bool,
    pub(crate) drawn: bool,
    pub(crate) lot: bool,
    /// Anything of other properties.
    pub(crate) neighbours: bool,
    /// The corner from which the frame counts.
    pub(crate) corner: bool,
    /// Ground of other sheets.
    pub(crate) sheets: bool,
    pub(crate) zones: Vec<bool>,
    pub(crate) strips: Vec<bool>,
    pub(crate) features: Vec<bool>,
    pub(crate) marks: Vec<bool>,
    pub(crate) passes: bool,
    /// Passes were asked for, and lie too close together.
    pub(crate) close_passes: bool,
    pub(crate) load_ends: bool,
    /// So many places where loads run out are left unmarked, and shown on these sheets.
    pub(crate) hidden_ends: usize,
    pub(crate) sheets_of_ends: Vec<usize>,
}

impl Seen {
    /// Everything, as long as no frame is known.
    pub(crate) fn all(map: &SprayMap) -> Seen {
        Seen {
            skipped: true,
            drawn: true,
            lot: true,
            neighbours: true,
            corner: true,
            sheets: false,
            zones: vec![true; map.zones.len()],
            strips: vec![true; map.strips.len()],
            features: vec![true; map.features.len()],
            marks: vec![true; map.marks.len()],
            passes: map.trail.shows_passes && !map.trail.ways.is_empty(),
            close_passes: false,
            load_ends: !map.trail.ends.is_empty(),
            hidden_ends: 0,
            sheets_of_ends: Vec::new(),
        }
    }

    pub(crate) fn on(map: &SprayMap, plate: &Plate) -> Seen {
        let scene = &plate.scene;
        let frame = scene.frame;
        let treated: Vec<&Shape> = map
            .zones
            .iter()
            .zip(&scene.zones)
            .filter(|(zone, _)| !is_skipped(zone))
            .filter_map(|(_, shape)| shape.as_ref())
            .collect();
        let features: Vec<&Shape> = scene.features.iter().flatten().collect();
        let under_features = |p: Coord| features.iter().any(|shape| shape.contains(p));
        let shows = |shape: &Option<Shape>, hidden: &dyn Fn(Coord) -> bool| {
            shape
                .as_ref()
                .is_some_and(|shape| samples(shape, frame).any(|p| frame.contains(p) && !hidden(p)))
        };
        let skipped = map
            .zones
            .iter()
            .zip(&scene.zones)
            .any(|(zone, shape)| is_skipped(zone) && shows(shape, &under_features));
        let under_turf =
            |p: Coord| under_features(p) || treated.iter().any(|shape| shape.contains(p));
        let features_seen: Vec<bool> =
            scene.features.iter().map(|shape| shows(shape, &|_| false)).collect();
        let marks: Vec<bool> = scene.marks.iter().map(|&at| frame.contains(at)).collect();
        let mut neighbours = map
            .features
            .iter()
            .map(|it| it.is_neighbours)
            .zip(&features_seen)
            .chain(map.marks.iter().map(|it| it.is_neighbours).zip(&marks));
        Seen {
            skipped,
            neighbours: shows(&plate.neighbour_lots, &|_| false)
                || neighbours.any(|(is_theirs, seen)| is_theirs && *seen),
            zones: scene.zones.iter().map(|shape| shows(shape, &|_| false)).collect(),
            drawn: drawn_shows(map, plate, &treated, &features),
            lot: shows(&plate.lot, &|_| false),
            corner: false,
            sheets: false,
            strips: scene.strips.iter().map(|strip| shows(strip, &under_turf)).collect(),
            features: features_seen,
            marks,
            passes: plate.trail.shows_passes(),
            close_passes: plate.trail.has_passes_too_close(),
            load_ends: plate.trail.shows_flags(),
            hidden_ends: plate.trail.hidden_flags(),
            sheets_of_ends: Vec::new(),
        }
    }

    /// Adds what `other` shows; whether that was anything new.
    pub(crate) fn grow(&mut self, other: &Seen) -> bool {
        let before = self.clone();
        self.skipped |= other.skipped;
        self.drawn |= other.drawn;
        self.lot |= other.lot;
        self.passes |= other.passes;
        self.close_passes |= other.close_passes;
        self.load_ends |= other.load_ends;
        self.neighbours |= other.neighbours;
        self.corner |= other.corner;
        self.sheets |= other.sheets;
        self.hidden_ends = self.hidden_ends.max(other.hidden_ends);
        if self.sheets_of_ends.len() < other.sheets_of_ends.len() {
            self.sheets_of_ends.clone_from(&other.sheets_of_ends);
        }
        for (mine, its) in [
            (&mut self.zones, &other.zones),
            (&mut self.strips, &other.strips),
            (&mut self.features, &other.features),
            (&mut self.marks, &other.marks),
        ] {
            mine.iter_mut().zip(its).for_each(|(mine, its)| *mine |= its);
        }
        *self != before
    }
}

/// Whether an outline as drawn shows anywhere: off the edge of what is treated, and under
/// no feature, nor along the edge of one or the lot line.
fn drawn_shows(map: &SprayMap, plate: &Plate, treated: &[&Shape], features: &[&Shape]) -> bool {
    let frame = plate.scene.frame;
    let zones = map.zones.iter().zip(&plate.scene.zones).zip(&plate.drawn);
    let mut shown = 0;
    for ((zone, ground), drawn) in zones {
        let (false, Some(drawn)) = (is_skipped(zone), drawn) else { continue };
        for p in drawn.edges().flat_map(|(a, b)| along(a, b)) {
            // Its own edge hides nearly all of it, so that one is asked first.
            let hidden = !frame.contains(p)
                || ground.as_ref().is_some_and(|ground| ground.is_near(p, HIDING))
                || plate.lot.as_ref().is_some_and(|lot| lot.is_near(p, HIDING))
                || features.iter().any(|shape| shape.contains(p) || shape.is_near(p, HIDING))
                || treated.iter().any(|shape| shape.is_near(p, HIDING));
            shown += usize::from(!hidden);
            if shown == ENOUGH {
                return true;
            }
        }
    }
    false
}

/// Points on the edge of a shape and, so that one larger than the frame is not missed, within.
fn samples(shape: &Shape, frame: Bounds) -> impl Iterator<Item = Coord> {
    const GRID: u32 = 12;
    let b = shape.bounds.common(frame);
    let share = |index: u32| (f64::from(index) + 0.5) / f64::from(GRID);
    let grid = (0..GRID * GRID).map(move |index| Coord {
        x: b.x0 + b.width() * share(index % GRID),
        y: b.y0 + b.height() * share(index / GRID),
    });
    let within = grid.filter(|&p| shape.contains(p));
    shape.edges().flat_map(|(a, b)| along(a, b)).chain(within)
}

/// Points along a line, its end left out.
fn along(a: Coord, b: Coord) -> impl Iterator<Item = Coord> {
    let count = ((b.x - a.x).hypot(b.y - a.y) / STEP).ceil().clamp(1.0, 2_000.0);
    (0..count as u32).map(move |index| a + (b - a) * (f64::from(index) / count))
}
