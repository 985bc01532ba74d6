//! Why shapes without a place are laid apart and out of reach: where nothing is kept away from
//! (see [`super::sheet`]) any place will do for an area, as long as no zone covers another and no
//! distance that a job asks for reaches from one to the next.

use geo_types::Coord;
use serde_json::{Map, Value};

use super::Reason;
use super::areas::take_out;
use super::entry::{Entry, Measured};
use super::figure::{Edge, Figure};
use super::ground::{Corners, Outline, around};
use super::sheet::Sheet;
use crate::kind::Kind;

/// Between loose zones of a property that has anything but zones: twice the distance of any
/// published rule (200 ft from a lake), and more.
const APART: f64 = 150.0;
/// Between loose zones where nothing else is, and between parts of one: so that a picture shows them.
const BESIDE: f64 = 3.0;
/// Between properties, and between the origin, where another file on the same plane may have a pond,
/// and properties of which nothing is placed: a map feature asks for 10 km at most.
const FAR: f64 = 20_000.0;

/// A shape as it goes on to the map.
pub(super) struct Laid {
    pub(super) line: usize,
    pub(super) properties: Map<String, Value>,
    /// `None` of a blank row.
    pub(super) drawn: Result<Option<Outline>, Reason>,
}

/// The item (from 0), a code, and what to say.
pub(super) type Remark = (usize, &'static str, String);

/// Gives every shape a place.
pub(super) fn lay_out(entries: Vec<Entry>) -> (Vec<Laid>, Vec<Remark>) {
    let mut sheet = Sheet::of(entries);
    let mut remarks = Vec::new();
    let mut spots: Vec<Option<Spot>> =
        (0..sheet.entries.len()).map(|item| sheet.shape(item).map(Spot::of)).collect();
    take_out(&mut sheet, &mut spots, &mut remarks);
    let blocks: Vec<Block> =
        sheet.properties.iter().map(|items| Block::lay(&sheet, items, &mut spots)).collect();
    lay_apart(&blocks, &mut spots);
    remark(&sheet, &mut remarks);
    // In the order of the sheet, and of one shape as they were made.
    remarks.sort_by_key(|(item, ..)| *item);
    let shifts: Vec<Coord<f64>> =
        spots.iter().map(|spot| shift_of(spot.as_ref(), &spots)).collect();
    let laid = sheet.entries.into_iter().zip(spots).zip(shifts).map(|((entry, spot), by)| Laid {
        line: entry.line,
        properties: entry.properties,
        drawn: entry.measured.map(|_| spot.map(|spot| spot.outline.moved(|place| place + by))),
    });
    (laid.collect(), remarks)
}

/// Where a shape lies.
#[derive(Clone, Debug)]
pub(super) struct Spot {
    pub(super) outline: Outline,
    bound: Bound,
    /// How far it is moved from there.
    by: Coord<f64>,
}

/// What holds a shape where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Bound {
    /// Its owner.
    Placed,
    /// Nothing.
    Loose,
    /// The zone that it is taken out of.
    To(usize),
}

impl Spot {
    pub(super) fn new(outline: Outline, bound: Bound) -> Spot {
        Spot { outline, bound, by: Coord { x: 0.0, y: 0.0 } }
    }

    fn of(measured: &Measured) -> Spot {
        match (measured.place, measured.figures.as_slice()) {
            (Some(place), [figure]) => Spot::new(place.put(figure.outline.clone()), Bound::Placed),
            (_, figures) => Spot::new(side_by_side(figures), Bound::Loose),
        }
    }

    fn corners(&self) -> Corners {
        let (low, high) = self.outline.corners();
        (low + self.by, high + self.by)
    }
}

/// What lies in a zone goes with it.
fn shift_of(spot: Option<&Spot>, spots: &[Option<Spot>]) -> Coord<f64> {
    let spot = match spot.map(|spot| spot.bound) {
        Some(Bound::To(zone)) => spots.get(zone).and_then(Option::as_ref),
        _ => spot,
    };
    spot.map(|spot| spot.by).unwrap_or_default()
}

/// One figure as it is; several as parts of one shape that do not touch.
fn side_by_side(figures: &[Figure]) -> Outline {
    if let [Figure { outline: whole @ (Outline::Rings(_) | Outline::Disc { .. }), .. }] = figures {
        return whole.clone();
    }
    let (mut parts, mut east) = (Vec::new(), 0.0);
    for figure in figures {
        let part = Outline::Rings(figure.rings());
        let (low, high) = part.corners();
        let by = Coord { x: east - low.x, y: -low.y };
        parts.extend(part.moved(|place| place + by).into_rings());
        east += high.x - low.x + BESIDE;
    }
    Outline::Rings(parts)
}

/// What one property has, laid out but for where the whole of it is.
struct Block {
    items: Vec<usize>,
    corners: Option<Corners>,
    has_places: bool,
}

impl Block {
    /// Lays the loose shapes of a property in rows east of what is placed.
    fn lay(sheet: &Sheet, items: &[usize], spots: &mut [Option<Spot>]) -> Block {
        let bound = |item: &usize| spots.get(*item)?.as_ref().map(|spot| spot.bound);
        let placed = items.iter().filter(|item| bound(item) == Some(Bound::Placed));
        let placed = placed.filter_map(|item| spots.get(*item)?.as_ref().map(Spot::corners));
        let placed = placed.reduce(around);
        let loose: Vec<usize> =
            items.iter().copied().filter(|item| bound(item) == Some(Bound::Loose)).collect();
        // Where nothing is placed no distance is kept either: see [`super::sheet`].
        let only_zones = items.iter().all(|item| sheet.is(*item, Kind::Turf));
        let gap = if only_zones || placed.is_none() { BESIDE } else { APART };
        let start =
            placed.map_or(Coord::default(), |(low, high)| Coord { x: high.x + gap, y: low.y });
        let in_rows = lay_in_rows(&loose, start, gap, spots);
        let corners = placed.into_iter().chain(in_rows).reduce(around);
        Block { items: items.to_vec(), corners, has_places: placed.is_some() }
    }
}

/// As many rows as each has shapes, from `start` east and north; the box round them.
fn lay_in_rows(
    items: &[usize],
    start: Coord<f64>,
    gap: f64,
    spots: &mut [Option<Spot>],
) -> Option<Corners> {
    let row = items.len().isqrt().max(1);
    let (mut next, mut top) = (start, start.y);
    let mut corners: Option<Corners> = None;
    for (number, item) in items.iter().enumerate() {
        if number > 0 && number % row == 0 {
            next = Coord { x: start.x, y: top + gap };
        }
        let Some(spot) = spots.get_mut(*item).and_then(Option::as_mut) else { continue };
        spot.by = next - spot.corners().0;
        let laid = spot.corners();
        next.x = laid.1.x + gap;
        top = top.max(laid.1.y);
        corners = Some(corners.map_or(laid, |corners| around(corners, laid)));
    }
    corners
}

/// Moves each property where nothing reaches it from another. A sheet of one property in which
/// something is placed stays where its owner put it, so that another file may go with it.
fn lay_apart(blocks: &[Block], spots: &mut [Option<Spot>]) {
    if let [Block { has_places: true, .. }] = blocks {
        return;
    }
    let sides = blocks.iter().filter_map(|block| block.corners).map(|(low, high)| high - low);
    let pitch = FAR + sides.fold(0.0, |most: f64, side| most.max(side.x).max(side.y));
    let row = blocks.len().isqrt().max(1);
    for (number, block) in blocks.iter().enumerate() {
        let Some((low, _)) = block.corners else { continue };
        let corner =
            Coord { x: pitch * (1 + number % row) as f64, y: pitch * (number / row) as f64 };
        for item in &block.items {
            if let Some(Some(spot)) = spots.get_mut(*item) {
                spot.by = spot.by + corner - low;
            }
        }
    }
}

/// What the figures have to say, and of each property that distances are not known.
fn remark(sheet: &Sheet, remarks: &mut Vec<Remark>) {
    for items in &sheet.properties {
        let mut loose = items.iter().filter(|item| {
            sheet.is(**item, Kind::Turf) && sheet.shape(**item).is_some_and(|it| it.place.is_none())
        });
        let Some(first) = loose.next() else { continue };
        let others = match loose.count() {
            0 => String::new(),
            1 => ", nor is 1 more zone".to_owned(),
            more => format!(", nor are {more} more zones"),
        };
        let message = format!(
            "is not placed{others}: how far it is from water, wells and neighbors is not known here, so no distance is kept; keep it on the ground"
        );
        remarks.push((*first, "not-placed", message));
    }
    for item in 0..sheet.entries.len() {
        let Some(measured) = sheet.shape(item) else { continue };
        for figure in &measured.figures {
            remarks.extend(
                figure.remarks.iter().map(|(code, message)| (item, *code, message.clone())),
            );
            if let (Edge::Stretched { by, cure }, Some(_)) = (&figure.edge, measured.place) {
                let message = format!(
                    "its edge is stretched to {:.1} % of what was measured, to hold the area of its rule; for distances {cure}",
                    by * 100.0
                );
                remarks.push((item, "edge-stretched", message));
            }
        }
    }
}
