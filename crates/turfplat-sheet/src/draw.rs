//! The map itself, layer by layer: ground that is held back lies under what is treated
//! and what is built, edges over fills, words over all.

use geo::Coord;

use crate::canvas::{Canvas, GREY, INK, number};
use crate::dimension::{self, Held};
use crate::label;
use crate::legend;
use crate::map::SprayMap;
use crate::motif;
use crate::place::{Placed, Says, Scene};
use crate::scale::View;
use crate::shape::{Bounds, Shape, is_usable};
use crate::style::Styles;
use crate::symbol;
use crate::trail::Trodden;
use crate::underlay;

/// Corners nearer to their chord than this, in points, cannot be seen in print.
const INVISIBLE: f64 = 0.03;

/// Farther than this, in points, nothing reaches beyond the frame: shapes are cut before, lines and
/// pictures at the frame.
const BEYOND: f64 = 40.0;

/// The map's shapes on the page.
pub(crate) struct Plate {
    pub(crate) scene: Scene,
    pub(crate) drawn: Vec<Option<Shape>>,
    pub(crate) lot: Option<Shape>,
    pub(crate) trail: Trodden,
    pub(crate) neighbour_lots: Option<Shape>,
}

impl Plate {
    pub(crate) fn new(map: &SprayMap, view: View, frame: Bounds) -> Plate {
        // Cut a little beyond the frame, so that the cut edges themselves are not seen.
        let visible = frame.grown(12.0);
        let shape = |outline| {
            Shape::new(outline, |c| view.to_page(c), INVISIBLE).and_then(|shape| shape.cut(visible))
        };
        let zones = map.zones.iter().map(|zone| {
            if legend::is_skipped(zone) {
                shape(&zone.drawn).or_else(|| shape(&zone.treated))
            } else {
                shape(&zone.treated)
            }
        });
        let scene = Scene {
            frame,
            zones: zones.collect(),
            features: map.features.iter().map(|feature| shape(&feature.shape)).collect(),
            strips: map.strips.iter().map(|strip| shape(&strip.shape)).collect(),
            held: map.strips.iter().map(|strip| Held::new(strip, view)).collect(),
            marks: map
                .marks
                .iter()
                .map(|mark| {
                    let at = Coord { x: mark.x, y: mark.y };
                    // A mark that is nowhere is put where the frame cuts it off.
                    if is_usable(&at) { view.to_page(at) } else { Coord { x: -1e4, y: -1e4 } }
                })
                .collect(),
            flags: Vec::new(),
        };
        let drawn = map.zones.iter().map(|zone| shape(&zone.drawn)).collect();
        let trail = Trodden::new(map, view, frame, &scene.marks);
        let scene = Scene { flags: trail.taken().collect(), ..scene };
        let neighbour_lots = shape(&map.neighbour_lots);
        Plate { scene, drawn, lot: shape(&map.lot), trail, neighbour_lots }
    }

    /// Draws all but the labels, in the order in which things cover each other. What lies beyond
    /// the frame is cut off.
    pub(crate) fn draw(
        &self,
        canvas: &mut Canvas,
        (map, styles): (&SprayMap, &Styles),
        dimensions: &[(Coord, Coord)],
    ) {
        let frame = self.scene.frame;
        if let Some(lots) = &self.neighbour_lots {
            legend::neighbour_lots(canvas, lots);
        }
        let zones = || map.zones.iter().zip(&self.scene.zones);
        for (_, shape) in zones().filter(|(zone, _)| legend::is_skipped(zone)) {
            if let Some(shape) = shape {
                legend::skipped(canvas, shape);
            }
        }
        for shape in self.scene.strips.iter().flatten() {
            motif::strip(canvas, shape, frame, Coord::zero());
        }
        for shape in self.scene.strips.iter().flatten() {
            motif::strip_edge(canvas, shape);
        }
        // A skipped zone may lie wholly under a strip: its outline still says where it is.
        for (_, shape) in zones().filter(|(zone, _)| legend::is_skipped(zone)) {
            if let Some(shape) = shape {
                legend::skipped_edge(canvas, shape);
            }
        }
        for (zone, shape) in zones().filter(|(zone, _)| !legend::is_skipped(zone)) {
            if let (Some(shape), Some(style)) = (shape, styles.get(&zone.species)) {
                style.fill(canvas, shape, frame);
            }
        }
        for ((zone, _), shape) in zones().zip(&self.drawn) {
            if let (false, Some(shape)) = (legend::is_skipped(zone), shape) {
                canvas.edge(shape, 0.7, legend::drawn_look);
            }
        }
        self.trail.draw_passes(canvas);
        canvas.over_picture = canvas.over_picture.map(|_| underlay::FEATURE);
        for (feature, shape) in map.features.iter().zip(&self.scene.features) {
            if let Some(shape) = shape {
                let kind = (feature.kind, feature.is_neighbours);
                motif::feature(canvas, kind, shape, frame, Coord::zero());
            }
        }
        let weight = self.edge_weight();
        for (_, shape) in zones().filter(|(zone, _)| !legend::is_skipped(zone)) {
            if let Some(shape) = shape {
                legend::treated_edge(canvas, shape, weight);
            }
        }
        if let Some(lot) = &self.lot {
            legend::lot(canvas, |canvas, look| canvas.shape(lot, look));
        }
        for &(from, to) in dimensions {
            dimension::draw(canvas, from, to);
        }
        for (mark, &at) in map.marks.iter().zip(&self.scene.marks) {
            if frame.contains(at) {
                let ink = if mark.is_neighbours { motif::NEIGHBOURS } else { INK };
                symbol::mark(canvas, mark.kind, at, ink);
            }
        }
        self.trail.draw_flags(canvas);
        canvas.over_picture = None;
        mat(canvas, frame);
    }

    /// Bold where zones are large, lighter where a bold line would fill them.
    fn edge_weight(&self) -> f64 {
        let mut sizes: Vec<f64> = self
            .scene
            .zones
            .iter()
            .flatten()
            .map(|shape| shape.bounds.width().min(shape.bounds.height()))
            .collect();
        sizes.sort_by(f64::total_cmp);
        sizes.get(sizes.len() / 2).map_or(1.3, |middle| (middle / 24.0).clamp(0.5, 1.4))
    }
}

/// Blank paper around the map, over all that reaches beyond its frame. A clip would do the
/// same and was measured: it takes half as long again to draw.
fn mat(canvas: &mut Canvas, frame: Bounds) {
    let rings = [frame.grown(BEYOND), frame].map(|b| Shape::rectangle(b).rings).concat();
    if let Some(mat) = Shape::from_rings(rings) {
        canvas.shape(&mat, r##"fill="#fff" fill-rule="evenodd""##);
    }
}

/// Labels over the map.
pub(crate) fn labels(canvas: &mut Canvas, placed: &[Placed]) {
    for (from, to) in placed.iter().filter_map(|label| label.leader) {
        label::leader(canvas, from, to);
    }
    for label in placed {
        match &label.says {
            Says::Words(wording) => {
                let b = label.bounds;
                // Hatch and signs shine through a little, so that the ground stays one piece.
                let (fill, rim) = match (label.leader, wording.ink) {
                    (Some(_), _) => ("1", format!(r#" stroke="{INK}" stroke-width=".5""#)),
                    // A zone's bare number may be as large as the zone.
                    (None, None) if label.zone.is_some() && wording.lines.len() == 1 => {
                        (".4", String::new())
                    }
                    (None, Some(GREY)) => (".6", String::new()),
                    (None, _) => (".82", String::new()),
                };
                canvas.rect(b, &format!(r##"rx="2" fill="#fff" fill-opacity="{fill}"{rim}"##));
                if label.turned {
                    let c = b.centre();
                    let (x, y) = (number(c.x), number(c.y));
                    canvas.raw(&format!("<g transform=\"rotate(-90 {x} {y})\">\n"));
                    wording.draw(canvas, Bounds::around(c, b.height(), b.width()), label.size);
                    canvas.raw("</g>\n");
                } else {
                    wording.draw(canvas, b, label.size);
                }
            }
            Says::Number(number) => {
                symbol::key_number(canvas, label.bounds.centre(), label.size, &number.to_string());
            }
        }
    }
}
