//! Why outlines are repaired once, at the door.
//!
//! `geo` fills by even-odd and trusts ring directions: a pen that crossed itself would lose a
//! lobe of lawn, and a clockwise bed would cancel another. Here every polygon becomes simple
//! and rightly wound, or is taken apart until it is, and the change in area is told.

use geo::coordinate_position::{CoordPos, coord_pos_relative_to_ring};
use geo::{
    Area, BoundingRect, Coord, Euclidean, Intersects, Length, LineString, MultiPolygon, Polygon,
    Rect,
};

use crate::overlay::{even_odd_area, less, no_polygons, wound};
use crate::shape::Part;
use crate::simple::Meetings;
use crate::tangle::{Tangled, hold_untangled};

/// Something repaired in an outline.
#[derive(Clone, Debug, PartialEq)]
pub struct Repair {
    /// A short fixed word, such as `crossed-outline`.
    pub code: &'static str,
    /// What was found and what was done.
    pub message: &'static str,
    /// By how much the area differs from what even-odd filling would give, in square metres.
    pub area_m2: f64,
}

/// The polygon made simple: shells counter-clockwise, holes clockwise inside them, nothing
/// crossing. An outline that encloses nothing is kept as a bare line: a pond drawn with no
/// width takes no turf, but what must keep its distance from it still must.
///
/// # Errors
///
/// [`Tangled`] where it crosses itself too often to be taken apart.
pub(crate) fn clean(drawn: Polygon<f64>, repairs: &mut Vec<Repair>) -> Result<Vec<Part>, Tangled> {
    let (shell, holes) = drawn.into_inner();
    let mut rings = Vec::with_capacity(1 + holes.len());
    let mut repeated = false;
    let mut wrong_way = false;
    for (place, ring) in std::iter::once(shell).chain(holes).enumerate() {
        let mut points = ring.0;
        let count = points.len();
        points.dedup();
        repeated |= points.len() < count && points.len() > 1;
        // Winding is read from the sum over the ring; where it is 0 no direction is wrong.
        let doubled = doubled_area(&points);
        let should_be_positive = place == 0;
        if doubled != 0.0 && (doubled > 0.0) != should_be_positive {
            wrong_way = true;
            points.reverse();
        }
        rings.push(LineString(points));
    }
    if repeated {
        repairs.push(Repair {
            code: "repeated-points",
            message: "repeats a corner; one was kept",
            area_m2: 0.0,
        });
    }
    if wrong_way {
        repairs.push(Repair {
            code: "winding",
            message: "a ring runs the wrong way round (RFC 7946 §3.1.6); turned",
            area_m2: 0.0,
        });
    }
    if rings[0].0.len() < 4 {
        return Ok(without_area(rings.swap_remove(0), repairs));
    }
    rings.retain(|ring| ring.0.len() >= 4);
    let meetings = Meetings::of(&rings);
    if meetings.is_none() && holes_lie_inside(&rings) {
        let shell = rings.remove(0);
        return Ok(vec![Part::Polygon(Polygon::new(shell, rings))]);
    }
    hold_untangled(&rings)?;
    Ok(taken_apart(rings, meetings, repairs))
}

/// An outline without area as a bare line, or as a bare point.
fn without_area(outline: LineString<f64>, repairs: &mut Vec<Repair>) -> Vec<Part> {
    repairs.push(Repair {
        code: "no-area",
        message: "outline encloses nothing; it takes no area, and a setback is kept from its line",
        area_m2: 0.0,
    });
    Part::along(outline.0, 0.0).into_iter().collect()
}

/// Twice the area that the ring encloses, positive if it runs counter-clockwise.
fn doubled_area(points: &[Coord<f64>]) -> f64 {
    // Taken from the first corner, so that a far-off plane loses no digits.
    let Some(&origin) = points.first() else { return 0.0 };
    points.windows(2).map(|pair| cross(pair[0] - origin, pair[1] - origin)).sum()
}

fn cross(a: Coord<f64>, b: Coord<f64>) -> f64 {
    a.x * b.y - a.y * b.x
}

/// True if every hole starts inside the shell and in no other hole; enough where nothing crosses.
fn holes_lie_inside(rings: &[LineString<f64>]) -> bool {
    if rings.len() == 1 {
        return true;
    }
    let boxes: Vec<Option<Rect<f64>>> = rings.iter().map(BoundingRect::bounding_rect).collect();
    (1..rings.len()).all(|hole| {
        let start = rings[hole].0[0];
        (0..rings.len()).all(|other| {
            let is_inside = || {
                boxes[other].is_some_and(|around| around.intersects(&start))
                    && coord_pos_relative_to_ring(start, &rings[other]) != CoordPos::Outside
            };
            other == hole || (other == 0) == is_inside()
        })
    })
}

/// The non-zero reading of the shell, less the non-zero readings of the holes.
fn taken_apart(
    rings: Vec<LineString<f64>>,
    meetings: Meetings,
    repairs: &mut Vec<Repair>,
) -> Vec<Part> {
    let outline = rings.first().cloned();
    let even_odd = {
        let mut rings = rings.iter().cloned();
        let shell = rings.next().unwrap_or_else(|| LineString(vec![]));
        even_odd_area(&MultiPolygon(vec![Polygon::new(shell, rings.collect())]))
    };
    let alone = |ring| wound(&MultiPolygon(vec![Polygon::new(ring, vec![])]));
    let mut wound_rings = rings.into_iter().map(alone);
    let mut shell = wound_rings.next().unwrap_or_else(no_polygons);
    drop_threads(&mut shell);
    // Each hole is made simple and turned alike first, so that two that overlap do not cancel.
    let holes = MultiPolygon(wound_rings.flatten().collect());
    let holes = wound(&holes);
    let mut kept = less(&shell, &holes);
    drop_threads(&mut kept);
    let area_m2 = (kept.unsigned_area() - even_odd).abs();
    if meetings.of_shell {
        repairs.push(Repair {
            code: "crossed-outline",
            message: "outline crosses or touches itself; it covers all that it winds round",
            area_m2,
        });
    }
    let outside = holes.0.iter().filter(|hole| !shell.intersects(*hole));
    let outside_m2: f64 = outside.map(Area::unsigned_area).sum();
    if outside_m2 > 0.0 {
        repairs.push(Repair {
            code: "hole-outside",
            message: "a hole lies outside its outline; it takes nothing",
            area_m2: outside_m2,
        });
    }
    if meetings.of_holes {
        repairs.push(Repair {
            code: "hole-crossing",
            message: "holes cross the outline, each other or themselves; all they cover was taken out, once",
            area_m2: if meetings.of_shell { 0.0 } else { area_m2 },
        });
    }
    let Some(outline) = outline else { return Vec::new() };
    if shell.0.is_empty() {
        return without_area(outline, repairs);
    }
    if kept.0.is_empty() {
        repairs.push(Repair {
            code: "hole-takes-all",
            message: "its holes cover the whole outline; it takes no area, and a setback is kept from its line",
            area_m2: shell.unsigned_area(),
        });
        return Part::along(outline.0, 0.0).into_iter().collect();
    }
    let polygons = kept.0.into_iter().map(Part::Polygon);
    // A stream drawn with its pond, out and back over one line, encloses nothing there, but a
    // setback is kept from it all the same: the outline stays as a bare line.
    let bare = if meetings.of_shell { Part::along(outline.0, 0.0) } else { None };
    polygons.chain(bare).collect()
}

/// Drops what is thinner than any hand draws: where a hole follows its shell, or an outline runs
/// back over itself, the overlay's grid leaves threads; grown by a setback they would take real turf.
fn drop_threads(polygons: &mut MultiPolygon<f64>) {
    const THREAD_METRES: f64 = 1e-5;
    polygons.0.retain(|polygon| {
        polygon.unsigned_area() > THREAD_METRES * Euclidean.length(polygon.exterior()) / 2.0
    });
}

/// Parts of one feature that lie over each other count once; says how much that was.
///
/// # Errors
///
/// [`Tangled`] where they cross each other too often to be put together.
pub(crate) fn note_overlapping_parts(
    parts: &[Part],
    repairs: &mut Vec<Repair>,
) -> Result<(), Tangled> {
    let polygons: Vec<&Polygon<f64>> = parts
        .iter()
        .filter_map(|part| if let Part::Polygon(polygon) = part { Some(polygon) } else { None })
        .collect();
    if polygons.len() < 2 {
        return Ok(());
    }
    let boxes: Vec<_> = polygons.iter().filter_map(|polygon| polygon.bounding_rect()).collect();
    let near = (0..boxes.len()).any(|a| (0..a).any(|b| boxes[a].intersects(&boxes[b])));
    if !near {
        return Ok(());
    }
    let rings = |polygon: &&Polygon<f64>| {
        let shell = std::iter::once(polygon.exterior().clone());
        shell.chain(polygon.interiors().iter().cloned()).collect::<Vec<_>>()
    };
    hold_untangled(&polygons.iter().flat_map(rings).collect::<Vec<_>>())?;
    let apart: f64 = polygons.iter().map(|polygon| polygon.unsigned_area()).sum();
    let together = MultiPolygon(polygons.into_iter().cloned().collect());
    let together = wound(&together).unsigned_area();
    // What is below comes from the overlay's grid along shared edges.
    let area_m2 = apart - together;
    if area_m2 > 1e-6 * apart {
        repairs.push(Repair {
            code: "parts-overlap",
            message: "parts of the feature overlap; the overlap counts once",
            area_m2,
        });
    }
    Ok(())
}
