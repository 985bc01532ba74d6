//! Why passes are drawn only where there is room for them: on a campus they would lie closer than the
//! hatch and hide the ground. Where a load runs out is marked on every map: that is where somebody
//! stands with an empty tank.

use std::fmt::Write;

use geo::{Coord, LineString, Simplify};

use crate::canvas::{Anchor, Canvas, INK, Type, number, push_point};
use crate::font;
use crate::map::SprayMap;
use crate::scale::View;
use crate::shape::{Bounds, is_usable};

/// How treated ground is walked, and where loads run out, in metres on the property's plane.
#[derive(Clone, Debug, Default)]
pub struct Trail {
    /// The middle lines of passes, zone by zone in walking order.
    pub ways: Vec<Vec<LineString<f64>>>,
    /// The width that one pass covers, in metres.
    pub swath: f64,
    /// Whether passes are drawn; those too close to each other at the map's scale are not.
    pub shows_passes: bool,
    /// Where loads run out.
    pub ends: Vec<LoadEnd>,
}

/// The place at which a load is used up.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadEnd {
    /// Which load, as it stands on the flag, such as `3`, or `2-3` of the second batch.
    pub load: String,
    /// Metres east.
    pub x: f64,
    /// Metres north.
    pub y: f64,
}

/// Passes closer than this, in points, are not drawn.
const CLOSEST: f64 = 6.0;
/// More flags than this on one map are a wood that hides the ground.
const MOST_FLAGS: usize = 60;
/// Size of the number on a flag, in points.
const SIZE: f64 = 8.0;
/// Height of a pole and of its cloth.
const POLE: f64 = 15.5;
const CLOTH: f64 = 9.4;
/// Radius of the dot in which a pole stands.
const FOOT: f64 = 2.0;
/// Length of a direction arrow's sides along the pass.
const ARROW: f64 = 3.2;
/// A pass shorter than this, in points, shows no direction.
const SHORTEST_WITH_ARROW: f64 = 9.0;

/// The trail on the page.
#[derive(Clone, Debug, Default)]
pub(crate) struct Trodden {
    ways: Vec<Way>,
    /// There are passes, too close to each other to be drawn.
    is_too_close: bool,
    flags: Vec<Flag>,
    /// Places that are too many to be marked.
    hidden: usize,
}

/// What shows of the walk over a zone.
#[derive(Clone, Debug)]
struct Way {
    /// Passes in walking order, cut off at the frame.
    pieces: Vec<Vec<Coord>>,
    /// Where the walk begins, if that is seen.
    start: Option<Coord>,
}

/// A flag with its foot where the load runs out.
#[derive(Clone, Debug)]
struct Flag {
    foot: Coord,
    /// To the east, or to the west; up, or down.
    side: f64,
    up: f64,
    pole: f64,
    /// Empty where there is no room for it.
    text: String,
}

impl Trodden {
    /// What of the map's trail shows in `frame`; `marks` stand in the way of flags.
    pub(crate) fn new(map: &SprayMap, view: View, frame: Bounds, marks: &[Coord]) -> Trodden {
        let trail = &map.trail;
        let mut trodden = Trodden::default();
        let is_asked = trail.shows_passes && trail.ways.iter().any(|way| !way.is_empty());
        trodden.is_too_close = is_asked && trail.swath * view.per_metre < CLOSEST;
        if is_asked && !trodden.is_too_close {
            let line = |line: &LineString<f64>| {
                let on_page = line.0.iter().filter(|at| is_usable(at)).map(|&at| view.to_page(at));
                on_page.collect::<LineString>().simplify(0.05).0
            };
            let way = |way: &Vec<LineString<f64>>| {
                let lines: Vec<Vec<Coord>> = way.iter().map(line).collect();
                let start = lines.iter().flatten().next().copied();
                let pieces: Vec<_> = lines.iter().flat_map(|line| frame.pieces_of(line)).collect();
                let start = start.filter(|&start| frame.contains(start));
                (!pieces.is_empty()).then_some(Way { pieces, start })
            };
            trodden.ways = trail.ways.iter().filter_map(way).collect();
        }
        let foot = |end: &LoadEnd| {
            let at = Coord { x: end.x, y: end.y };
            let foot = is_usable(&at).then(|| view.to_page(at));
            foot.filter(|&foot| frame.contains(foot))
        };
        let ends = trail.ends.iter().filter_map(|end| Some((foot(end)?, &end.load)));
        let ends: Vec<(Coord, &String)> = ends.collect();
        if ends.len() > MOST_FLAGS {
            trodden.hidden = ends.len();
        } else {
            let reach = 2.0 * crate::symbol::REACH;
            let mut taken: Vec<Bounds> =
                marks.iter().map(|&at| Bounds::around(at, reach, reach)).collect();
            let feet: Vec<Coord> = ends.iter().map(|(foot, _)| *foot).collect();
            for (foot, load) in ends {
                let flag = Flag::placed(foot, load, frame, &taken, &feet);
                taken.push(flag.bounds());
                trodden.flags.push(flag);
            }
        }
        trodden
    }

    pub(crate) fn shows_passes(&self) -> bool {
        !self.ways.is_empty()
    }

    /// Whether somebody asked for passes that cannot be told apart at this scale.
    pub(crate) fn has_passes_too_close(&self) -> bool {
        self.is_too_close
    }

    /// Draws no passes, for the legend was set for a scale at which none can be drawn.
    pub(crate) fn hide_passes(&mut self) {
        self.is_too_close |= !self.ways.is_empty();
        self.ways.clear();
    }

    /// Draws no flags: other sheets show them larger.
    pub(crate) fn hide_flags(&mut self) {
        self.hidden += self.flags.len();
        self.flags.clear();
    }

    /// How many places are left unmarked, being too many.
    pub(crate) fn hidden_flags(&self) -> usize {
        self.hidden
    }

    pub(crate) fn shows_flags(&self) -> bool {
        !self.flags.is_empty()
    }

    /// Where no label may stand.
    pub(crate) fn taken(&self) -> impl Iterator<Item = Bounds> + '_ {
        self.flags.iter().map(Flag::bounds)
    }

    /// Thin gray lines with an arrow each, and a ring where the walk over a zone begins.
    pub(crate) fn draw_passes(&self, canvas: &mut Canvas) {
        for Way { pieces, start } in &self.ways {
            passes(canvas, pieces, *start);
        }
    }

    pub(crate) fn draw_flags(&self, canvas: &mut Canvas) {
        self.flags.iter().for_each(|flag| flag.draw(canvas));
    }
}

/// Passes in walking order, and a ring where they start.
fn passes(canvas: &mut Canvas, way: &[Vec<Coord>], start: Option<Coord>) {
    let (mut lines, mut arrows) = (String::new(), String::new());
    for pass in way {
        for (index, &corner) in pass.iter().enumerate() {
            push_point(&mut lines, if index == 0 { 'M' } else { 'L' }, corner);
        }
        if let Some((at, along)) = halfway(pass) {
            let across = Coord { x: -along.y, y: along.x };
            for (step, by) in [('M', across), ('L', Coord::zero()), ('L', across * -1.0)] {
                let back = if by == Coord::zero() { ARROW / 2.0 } else { -ARROW / 2.0 };
                push_point(&mut arrows, step, at + along * back + by * (ARROW * 0.6));
            }
        }
    }
    // The white beneath keeps a line apart from a hatch that runs as it does.
    canvas.path(&lines, r##"stroke="#fff" stroke-width="1.8" stroke-opacity=".75""##);
    canvas.path(&lines, r##"stroke="#777" stroke-width=".5""##);
    canvas.path(&arrows, r##"stroke="#555" stroke-width=".9" stroke-linejoin="round""##);
    if let Some(start) = start {
        canvas.circle(start, 1.6, r##"fill="#fff" stroke="#555" stroke-width=".9""##);
    }
}

/// The middle of a pass and the direction there; of a short one none.
fn halfway(pass: &[Coord]) -> Option<(Coord, Coord)> {
    let long = |pair: &[Coord]| (pair[1] - pair[0]).x.hypot((pair[1] - pair[0]).y);
    let whole: f64 = pass.windows(2).map(long).sum();
    if whole < SHORTEST_WITH_ARROW {
        return None;
    }
    let mut rest = whole / 2.0;
    for pair in pass.windows(2) {
        let length = long(pair);
        if rest <= length && length > 0.0 {
            let along = (pair[1] - pair[0]) / length;
            return Some((pair[0] + along * rest, along));
        }
        rest -= length;
    }
    None
}

impl Flag {
    /// Where it hides nothing, if it can be had; without cloth where it cannot.
    fn placed(foot: Coord, text: &str, frame: Bounds, taken: &[Bounds], feet: &[Coord]) -> Flag {
        let ways = [(1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)];
        let flag = |(side, up)| Flag { foot, side, up, pole: POLE, text: text.to_owned() };
        let is_free = |flag: &Flag| {
            let own = flag.bounds();
            // Where another load runs out must be seen, too.
            let hides = |other: &Coord| *other != foot && own.grown(FOOT).contains(*other);
            frame.contains(flag.far())
                && !feet.iter().any(hides)
                && !taken.iter().any(|other| other.overlaps(own))
        };
        let free = ways.into_iter().map(flag).find(is_free);
        free.unwrap_or(Flag { foot, side: 1.0, up: 1.0, pole: POLE, text: String::new() })
    }

    fn width(&self) -> f64 {
        font::width(&self.text, SIZE, true) + 5.5
    }

    /// The corner of the cloth that is farthest from the foot, with a little air.
    fn far(&self) -> Coord {
        Coord {
            x: self.foot.x + self.side * (self.width() + 1.0),
            y: self.foot.y - self.up * (self.pole + 1.0),
        }
    }

    fn bounds(&self) -> Bounds {
        if self.text.is_empty() {
            return Bounds::around(self.foot, 5.0, 5.0);
        }
        let far = self.far();
        let near = Coord { x: self.foot.x - self.side * 2.2, y: self.foot.y + self.up * 2.2 };
        Bounds {
            x0: far.x.min(near.x),
            y0: far.y.min(near.y),
            x1: far.x.max(near.x),
            y1: far.y.max(near.y),
        }
    }

    fn draw(&self, canvas: &mut Canvas) {
        let Coord { x, y } = self.foot;
        let white = r##"fill="#fff" stroke="#fff" stroke-width="2.6""##;
        let edge =
            format!(r##"fill="#fff" stroke="{INK}" stroke-width=".9" stroke-linejoin="round""##);
        if !self.text.is_empty() {
            let tip = y - self.up * self.pole;
            let (wide, cloth) = (self.width() * self.side, CLOTH * self.up);
            let mut d = String::new();
            // The cloth is notched, so that it is no label.
            let _ = write!(
                d,
                "M{} {}V{}h{}l{} {}l{} {}h{}",
                number(x),
                number(y),
                number(tip),
                number(wide),
                number(-2.0 * self.side),
                number(cloth / 2.0),
                number(2.0 * self.side),
                number(cloth / 2.0),
                number(-wide),
            );
            canvas.path(&d, white);
            canvas.path(&d, &edge);
            let middle = tip + cloth / 2.0;
            let set = Type::new(SIZE).bold(true).anchor(Anchor::Middle);
            let base = middle + SIZE * font::CAP_HEIGHT / 2.0;
            canvas.text(x + (wide - 1.4 * self.side) / 2.0, base, set, &self.text);
        }
        canvas.circle(
            self.foot,
            FOOT,
            &format!(r##"fill="{INK}" stroke="#fff" stroke-width=".6""##),
        );
    }
}

/// The legend's sample of passes.
pub(crate) fn sample_passes(canvas: &mut Canvas, b: Bounds) {
    let y = b.centre().y;
    let start = Coord { x: b.x0 + 1.6, y };
    passes(canvas, &[vec![start, Coord { x: b.x1, y }]], Some(start));
}

/// The legend's sample of a flag.
pub(crate) fn sample_flag(canvas: &mut Canvas, b: Bounds) {
    let foot = Coord { x: b.centre().x - 4.0, y: b.y1 - 1.0 };
    Flag { foot, side: 1.0, up: 1.0, pole: CLOTH + 2.5, text: "1".to_owned() }.draw(canvas);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::law::any_map;
    use crate::layout::{Asked, Layout};
    use crate::page::Page;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(150) })]

        /// A flag hides no label, no sign and no other flag, and stands where its load runs out.
        #[test]
        fn flags_and_labels_keep_apart(
            map in any_map(),
            ends in prop::collection::vec((-50.0..50.0_f64, -30.0..30.0_f64), 0..12),
        ) {
            let end = |(number, (x, y))| LoadEnd { load: format!("1-{number}"), x, y };
            let ends: Vec<LoadEnd> = ends.into_iter().enumerate().map(end).collect();
            let trail = Trail { ends: ends.clone(), ..Trail::default() };
            let page = Page::Letter;
            let sheet = Layout::new(&SprayMap { trail, ..map }, page, &Asked::all(page));
            let flags = &sheet.plate.trail.flags;
            for (index, flag) in flags.iter().enumerate() {
                for label in &sheet.labels.placed {
                    prop_assert!(!label.bounds.overlaps(flag.bounds()), "{flag:?} hides {label:?}");
                }
                let with_cloth = |other: &&Flag| !other.text.is_empty() && !flag.text.is_empty();
                for other in flags[index + 1..].iter().filter(with_cloth) {
                    prop_assert!(!flag.bounds().overlaps(other.bounds()), "{flag:?} {other:?}");
                }
                let is_its = |end: &LoadEnd| {
                    let at = sheet.view.to_page(Coord { x: end.x, y: end.y });
                    at == flag.foot && (flag.text.is_empty() || flag.text == end.load)
                };
                prop_assert!(ends.iter().any(is_its), "{flag:?} stands for no load");
            }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(100) })]

        /// Passes end at the frame, be it the whole map's or a part's.
        #[test]
        fn passes_stay_in_the_frame(
            corners in prop::collection::vec((-300.0..300.0_f64, -300.0..300.0_f64), 2..12),
            (wide, high) in (10.0..400.0_f64, 10.0..400.0_f64),
        ) {
            let way = vec![corners.into_iter().map(Coord::from).collect::<LineString>()];
            let trail =
                Trail { ways: vec![way], swath: 9.0, shows_passes: true, ends: Vec::new() };
            let frame = Bounds::new(20.0, 30.0, wide, high);
            let view = View::at(1_000.0, Coord::zero(), frame);
            let trodden = Trodden::new(&SprayMap { trail, ..blank() }, view, frame, &[]);
            let edge = frame.grown(1e-6);
            for way in &trodden.ways {
                prop_assert!(way.pieces.iter().flatten().chain(&way.start).all(|&at| edge.contains(at)));
            }
        }
    }

    #[test]
    fn passes_too_close_to_be_told_apart_are_not_drawn_and_the_legend_says_so() {
        let lawn = |side: f64| {
            let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side), (0.0, 0.0)];
            let ring: LineString = corners.into_iter().map(Coord::from).collect();
            let ground = geo::MultiPolygon(vec![geo::Polygon::new(ring, vec![])]);
            let pass = LineString(vec![Coord { x: 0.0, y: 1.0 }, Coord { x: side, y: 1.0 }]);
            let trail =
                Trail { ways: vec![vec![pass]], swath: 2.0, shows_passes: true, ends: Vec::new() };
            let zone = crate::map::Zone {
                name: "Lawn".into(),
                species: vec!["tall fescue".into()],
                treated: ground.clone(),
                drawn: ground,
                area: "1 sq ft".into(),
                amounts: vec!["1 fl oz".into()],
                batch: Some(1),
                skipped: None,
            };
            SprayMap { zones: vec![zone], trail, ..blank() }
        };
        let (near, far) =
            (crate::svg(&lawn(30.0), Page::Letter), crate::svg(&lawn(3000.0), Page::Letter));
        assert!(near.contains("passes, from the ring on"), "{near}");
        assert!(far.contains("too close together"));
        let mut silent = lawn(30.0);
        silent.trail.shows_passes = false;
        let without = crate::svg(&silent, Page::Letter);
        silent.trail = Trail::default();
        assert_eq!(without, crate::svg(&silent, Page::Letter));
    }

    fn blank() -> SprayMap {
        SprayMap {
            property: String::new(),
            application: "June".into(),
            products: Vec::new(),
            equipment: String::new(),
            date: None,
            units: turfplat_units::UnitSystem::Us,
            zones: Vec::new(),
            features: Vec::new(),
            strips: Vec::new(),
            marks: Vec::new(),
            trail: Trail::default(),
            lot: geo::MultiPolygon(Vec::new()),
            neighbour_lots: geo::MultiPolygon(Vec::new()),
            underlay: None,
            batches: Vec::new(),
            totals: Vec::new(),
            notes: Vec::new(),
            cautions: Vec::new(),
        }
    }

    #[test]
    fn flags_step_aside_and_give_up_their_cloth_before_they_hide_each_other() {
        let frame = Bounds::new(0.0, 0.0, 100.0, 100.0);
        let mut taken: Vec<Bounds> = Vec::new();
        let at = Coord { x: 50.0, y: 50.0 };
        let flags: Vec<Flag> = (0..6)
            .map(|_| {
                let flag = Flag::placed(at, "12", frame, &taken, &[at]);
                taken.push(flag.bounds());
                flag
            })
            .collect();
        assert!(!flags[0].text.is_empty());
        assert!(flags[5].text.is_empty());
        let edge = Flag::placed(Coord { x: 99.0, y: 1.0 }, "3", frame, &[], &[]);
        let beside = Flag::placed(at, "1", frame, &[], &[at, Coord { x: 58.0, y: 42.0 }]);
        assert!(beside.side < 0.0, "a cloth over the place of another load: {beside:?}");
        assert!(!edge.text.is_empty() && frame.contains(edge.far()));
    }

    #[test]
    fn an_arrow_stands_halfway_and_points_onwards() {
        let corner = |x: f64, y: f64| Coord { x, y };
        let pass = [corner(0.0, 0.0), corner(10.0, 0.0), corner(10.0, 30.0)];
        assert_eq!(halfway(&pass), Some((corner(10.0, 10.0), corner(0.0, 1.0))));
        assert_eq!(halfway(&pass[..1]), None);
    }
}
