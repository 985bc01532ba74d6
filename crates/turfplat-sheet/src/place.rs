//! Where labels stand. A label stands on its ground, or a line leads to it; no two touch.
//! What fits nowhere becomes a number, explained beside the map.

use geo::Coord;

use crate::dimension::Held;
use crate::label::{self, Wording};
use crate::layout::{Asked, Numbers};
use crate::map::SprayMap;
use crate::pole::{Ground, Pole};
use crate::shape::{Bounds, Shape};
use crate::style::Styles;
use crate::symbol;

/// More zones than this without room for a label, and lines would tangle: numbers serve better.
const MOST_LED: usize = 10;

/// More numbers than this without room on their ground, and their lines would make a web:
/// they are set small on their ground, or stand in the key alone.
const MOST_LED_NUMBERS: usize = 40;

/// More zones than this without a label that can be read, and the map is too small.
const MOST_UNREAD: usize = 3;

/// A name in one line is taken before one in two down to this share of the size.
const ONE_LINE: f64 = 0.85;

/// A label where it will be drawn.
#[derive(Clone, Debug)]
pub(crate) struct Placed {
    pub(crate) bounds: Bounds,
    pub(crate) size: f64,
    pub(crate) says: Says,
    /// Set from bottom to top, in a strip too narrow for level text.
    pub(crate) turned: bool,
    /// From the ground to the label, where the label stands elsewhere.
    pub(crate) leader: Option<(Coord, Coord)>,
    /// Its zone, if it belongs to one.
    pub(crate) zone: Option<usize>,
}

/// What a label shows.
#[derive(Clone, Debug)]
pub(crate) enum Says {
    Words(Wording),
    Number(usize),
}

/// The map's shapes on the page, as the labels see them.
pub(crate) struct Scene {
    pub(crate) frame: Bounds,
    /// Treated ground, or drawn ground of a zone that is skipped; `None` where there is none.
    pub(crate) zones: Vec<Option<Shape>>,
    pub(crate) features: Vec<Option<Shape>>,
    pub(crate) strips: Vec<Option<Shape>>,
    /// From where each strip is measured.
    pub(crate) held: Vec<Held>,
    pub(crate) marks: Vec<Coord>,
    /// Flags where loads run out: no label stands on one.
    pub(crate) flags: Vec<Bounds>,
}

/// All labels of the map.
pub(crate) struct Placer<'a> {
    pub(crate) scene: &'a Scene,
    /// Sizes of text, smallest and largest, in points.
    pub(crate) sizes: (f64, f64),
    /// Nothing is set smaller than this.
    least: f64,
    pub(crate) taken: Vec<Bounds>,
    pub(crate) leaders: Vec<(Coord, Coord)>,
    pub(crate) placed: Vec<Placed>,
    pub(crate) dimensions: Vec<(Coord, Coord)>,
}

/// Labels and dimension lines of a map.
pub(crate) struct Labels {
    pub(crate) placed: Vec<Placed>,
    /// From the edge of a feature to the edge of what is held back round it.
    pub(crate) dimensions: Vec<(Coord, Coord)>,
}

impl<'a> Placer<'a> {
    /// Places every label, clear of what is `reserved`. `keyed` are the zones that stand as
    /// numbers from the start; zones that turn out to need one are added to it. A number is the zone's
    /// place in the map's list, so that it is the same on every sheet and paper. Whether some zone
    /// has no label that can be read stands beside the labels.
    pub(crate) fn run(
        (map, styles): (&SprayMap, &Styles),
        scene: &'a Scene,
        asked: &Asked<'_>,
        reserved: Vec<Bounds>,
        keyed: &mut Vec<usize>,
    ) -> (Labels, bool) {
        let reach = 2.0 * (symbol::REACH + 1.0);
        let marks = scene.marks.iter().map(|&at| Bounds::around(at, reach, reach));
        let taken = reserved.into_iter().chain(marks).chain(scene.flags.iter().copied()).collect();
        let mut placer = Placer {
            scene,
            sizes: asked.sizes,
            least: asked.least,
            taken,
            leaders: Vec::new(),
            placed: Vec::new(),
            dimensions: Vec::new(),
        };

        let mut homeless = Vec::new();
        for index in by_size(&scene.zones) {
            let Some(zone) = map.zones.get(index) else { continue };
            let wordings = label::wordings(zone, map, styles, asked.names_do);
            if keyed.contains(&index) || !placer.zone_inside(index, &wordings) {
                homeless.push((index, wordings));
            }
        }
        let is_elsewhere = |index: usize| asked.elsewhere.get(index).is_some_and(|there| *there);
        homeless.retain(|(index, _)| !is_elsewhere(*index));
        placer.strips(map);
        placer.marks(map);

        let may_lead = asked.numbers == Numbers::Led;
        let few = may_lead && homeless.len() <= MOST_LED;
        let mut numbers = Vec::new();
        for (index, wordings) in homeless {
            let led = few && !keyed.contains(&index) && placer.zone_led(index, &wordings);
            if !led {
                numbers.push(index);
            }
        }
        numbers.sort_unstable();
        let mut homeless = Vec::new();
        for index in numbers {
            if !keyed.contains(&index) {
                keyed.push(index);
            }
            if !placer.number_inside(index, index + 1) {
                homeless.push((index, index + 1));
            }
        }
        let few = may_lead && homeless.len() <= MOST_LED_NUMBERS;
        let mut unread = 0;
        for (index, number) in homeless {
            if few {
                unread += usize::from(!placer.number_led(index, number));
            } else {
                placer.number_bare(index, number);
                unread += 1;
            }
        }
        placer.pieces(map, asked);
        placer.features(map);
        (Labels { placed: placer.placed, dimensions: placer.dimensions }, unread > MOST_UNREAD)
    }

    /// Parts of the smallest and of the largest size, as far as type may be so small.
    pub(crate) fn sized(&self, small: f64, large: f64) -> (f64, f64) {
        let small = (self.sizes.0 * small).max(self.least);
        (small, (self.sizes.1 * large).max(small))
    }

    pub(crate) fn ground<'s>(&'s self, on: &'s Shape, off: &'s [&'s Shape]) -> Ground<'s> {
        Ground { on, off, taken: &self.taken, frame: self.scene.frame.grown(-1.5) }
    }

    /// The best wording on the ground: level if possible, else turned.
    pub(crate) fn inside(
        &self,
        on: &Shape,
        off: &[&Shape],
        wordings: &[Wording],
        sizes: (f64, f64),
    ) -> Option<Placed> {
        self.set(on, off, wordings, sizes, false)
            .or_else(|| self.set(on, off, wordings, sizes, true))
    }

    /// The largest size, in quarters of a point, at which one of the wordings stands on the ground.
    fn set(
        &self,
        on: &Shape,
        off: &[&Shape],
        wordings: &[Wording],
        (small, large): (f64, f64),
        turned: bool,
    ) -> Option<Placed> {
        let lay =
            |(width, height): (f64, f64)| if turned { (height, width) } else { (width, height) };
        let mut best: Option<Placed> = None;
        for wording in wordings.iter().filter(|wording| !wording.lines.is_empty()) {
            let (width, height) = lay(wording.size(small));
            let enough = large / small * 1.2;
            let Some(Pole { at, room }) = self.ground(on, off).pole(width, height, enough) else {
                continue;
            };
            // A fiftieth is left, so that no letter touches the edge.
            let size = ((small * room / 1.02 * 4.0).floor() / 4.0).min(large);
            let better = |old: &Placed| match &old.says {
                Says::Words(words) if words.broken && !wording.broken => size > old.size * ONE_LINE,
                Says::Words(words) if wording.broken && !words.broken => size * ONE_LINE > old.size,
                _ => size > old.size + 0.9,
            };
            if size >= small && best.as_ref().is_none_or(better) {
                let (width, height) = lay(wording.size(size));
                let bounds = Bounds::around(at, width, height);
                let says = Says::Words(wording.clone());
                best = Some(Placed { bounds, size, says, turned, leader: None, zone: None });
                if size >= small * 1.15 {
                    break;
                }
            }
        }
        best
    }

    fn zone_inside(&mut self, index: usize, wordings: &[Wording]) -> bool {
        let Some(on) = &self.scene.zones[index] else { return true };
        let off: Vec<&Shape> = self.scene.features.iter().flatten().collect();
        let Some(placed) = self.inside(on, &off, wordings, self.sizes) else { return false };
        self.put(Placed { zone: Some(index), ..placed });
        true
    }

    pub(crate) fn put(&mut self, placed: Placed) {
        self.taken.push(placed.bounds);
        self.leaders.extend(placed.leader);
        self.placed.push(placed);
    }

    /// A point well within the ground, clear of what is already there.
    pub(crate) fn anchor(&self, on: &Shape) -> Option<Coord> {
        let pole = self.ground(on, &[]).pole(4.0, 4.0, 4.0).or_else(|| {
            Ground { on, off: &[], taken: &[], frame: self.scene.frame }.pole(1.0, 1.0, 4.0)
        })?;
        on.contains(pole.at).then_some(pole.at)
    }

    fn zone_led(&mut self, index: usize, wordings: &[Wording]) -> bool {
        let on = self.scene.zones[index].as_ref();
        let Some(anchor) = on.and_then(|on| self.anchor(on)) else { return false };
        let size = self.sizes.0 * 1.1;
        for wording in wordings.iter().filter(|wording| !wording.lines.is_empty()) {
            if let Some((bounds, to)) = self.led(anchor, wording.size(size), Some(index), true) {
                let leader = Some((anchor, to));
                self.put(Placed {
                    bounds,
                    size,
                    says: Says::Words(wording.clone()),
                    turned: false,
                    leader,
                    zone: Some(index),
                });
                return true;
            }
        }
        false
    }

    fn strips(&mut self, map: &SprayMap) {
        let off: Vec<&Shape> =
            self.scene.features.iter().chain(&self.scene.zones).flatten().collect();
        let mut order = by_size(&self.scene.strips);
        let is_windy = map.strips.iter().any(|strip| strip.wind.is_some());
        if is_windy {
            // Strips for the weather and for the wind lie upon each other: the wider governs.
            let wide = |index: &usize| map.strips.get(*index).map_or(0.0, |strip| strip.metres);
            order.sort_by(|a, b| wide(b).total_cmp(&wide(a)));
        }
        for index in order {
            let (Some(on), Some(strip)) = (&self.scene.strips[index], map.strips.get(index)) else {
                continue;
            };
            let wordings = label::strip_wordings(strip);
            let small = self.sizes.0;
            if self.dimensioned(index, on, &off, &wordings) {
                continue;
            }
            if let Some(placed) = self.inside(on, &off, &wordings, self.sized(0.85, 0.85)) {
                self.put(placed);
                self.dimension(index, on, &off);
                continue;
            }
            // Led from where the strip can be seen; hidden strips are explained by the legend.
            let seen = self.ground(on, &off).pole(2.0, 2.0, 2.0).filter(|pole| pole.room > 0.6);
            let Some(Pole { at, .. }) = seen else { continue };
            let size = small;
            let ways = [true, false].into_iter().take(if is_windy { 2 } else { 1 });
            let wordings = wordings.iter().take(if is_windy { 2 } else { 1 });
            let mut tries = ways.flat_map(|clear| wordings.clone().map(move |it| (clear, it)));
            let found = tries.find_map(|(clear, wording)| {
                Some((wording, self.led(at, wording.size(size), None, clear)?))
            });
            if let Some((wording, (bounds, to))) = found {
                let says = Says::Words(wording.clone());
                self.put(Placed {
                    bounds,
                    size,
                    says,
                    turned: false,
                    leader: Some((at, to)),
                    zone: None,
                });
            }
            self.dimension(index, on, &off);
        }
    }

    /// Names of marks: beside the symbol if there is room, else on a line.
    fn marks(&mut self, map: &SprayMap) {
        let size = self.sizes.0 * 1.1;
        for (mark, &at) in map.marks.iter().zip(&self.scene.marks) {
            let wording = Wording::new(vec![(crate::text::shorten(&mark.name, 32), false)]);
            if wording.lines.is_empty() || !self.scene.frame.contains(at) {
                continue;
            }
            let (width, height) = wording.size(size);
            let beside = self.beside(at, (width, height));
            let placed = match beside {
                Some(bounds) => Some((bounds, None)),
                None => self
                    .led(at, (width, height), None, false)
                    .map(|(bounds, to)| (bounds, Some((at, to)))),
            };
            if let Some((bounds, leader)) = placed {
                self.put(Placed {
                    bounds,
                    size,
                    says: Says::Words(wording),
                    turned: false,
                    leader,
                    zone: None,
                });
            }
        }
    }

    /// Names of features, quietly, where they fit.
    fn features(&mut self, map: &SprayMap) {
        let sizes = self.sized(0.9, 0.8);
        for index in by_size(&self.scene.features) {
            let (Some(on), Some(feature)) = (&self.scene.features[index], map.features.get(index))
            else {
                continue;
            };
            let wordings = label::quiet_wordings(&feature.name);
            if wordings.iter().any(|wording| wording.lines.is_empty()) {
                continue;
            }
            let off: Vec<&Shape> = self
                .scene
                .features
                .iter()
                .enumerate()
                .filter(|(other, _)| *other > index)
                .filter_map(|(_, shape)| shape.as_ref())
                .collect();
            if let Some(placed) = self.inside(on, &off, &wordings, sizes) {
                self.put(placed);
            }
        }
    }
}

/// Smallest first: the large can step aside, the small cannot.
pub(crate) fn by_size(shapes: &[Option<Shape>]) -> Vec<usize> {
    let mut order: Vec<usize> =
        (0..shapes.len()).filter(|&index| shapes[index].is_some()).collect();
    let area = |index: usize| {
        shapes[index].as_ref().map_or(0.0, |shape| shape.bounds.width() * shape.bounds.height())
    };
    order.sort_by(|&a, &b| area(a).total_cmp(&area(b)));
    order
}
