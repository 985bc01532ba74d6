//! Why a zone becomes a rectangle when something of unknown place is taken out of it: only what
//! surely lies inside and beside the others takes exactly its own area. Strips across a rectangle
//! do, whatever was measured and in whatever order.

use geo_types::Coord;

use super::entry::{Measured, PLACE_IT};
use super::ground::{Outline, rectangle};
use super::layout::{Bound, Remark, Spot};
use super::sheet::Sheet;
use crate::attribute_names::Known;

/// More than this part of a zone is more than the zone; less is what rounding leaves.
const ALL_OF_IT: f64 = 1.0 + 1e-12;

/// Lays every zone from which shapes without a place are taken, and those shapes.
pub(super) fn take_out(sheet: &mut Sheet, spots: &mut [Option<Spot>], remarks: &mut Vec<Remark>) {
    for (zone, items) in std::mem::take(&mut sheet.inside) {
        let inside: Vec<(usize, f64)> =
            items.iter().filter_map(|item| Some((*item, sheet.shape(*item)?.area()))).collect();
        let Some(measured) = sheet.shape(zone).filter(|_| !inside.is_empty()) else { continue };
        let (whole, place) = (measured.area(), measured.place);
        let taken: f64 = inside.iter().map(|(_, area)| area).sum();
        if taken > whole * ALL_OF_IT {
            let reason = format!(
                "is smaller than what is taken out of it: {} together are {:.4} of its area; correct their measures",
                listed(&inside),
                taken / whole
            );
            sheet.refuse(zone, reason);
            continue;
        }
        let sides = sides(measured);
        let Some((length, width)) = sides.or_else(|| alike(measured, spots.get(zone)?.as_ref()?))
        else {
            let reason = format!(
                "lies somewhere in item {}, which is placed and no rectangle; {PLACE_IT}, or take at out of both",
                zone + 1
            );
            inside.iter().for_each(|(item, _)| sheet.refuse(*item, reason.clone()));
            continue;
        };
        let (outline, bound) = (Outline::rectangle(length, width), Bound::To(zone));
        let lay = |outline: Outline, bound| match place {
            Some(place) => Some(Spot::new(place.put(outline), Bound::Placed)),
            None => Some(Spot::new(outline, bound)),
        };
        set(spots, zone, lay(outline, Bound::Loose));
        let mut from = 0.0;
        for (item, area) in &inside {
            let to = (from + area / width).min(length);
            set(spots, *item, lay(Outline::Rings(vec![rectangle(from, to, width)]), bound));
            if let Some(entry) = sheet.entries.get_mut(*item) {
                entry.properties.insert(Known::LeftAsArea.name().to_owned(), true.into());
            }
            from = to;
        }
        let message = format!(
            "is laid as a rectangle of its area, strips of which stand for {}: its net area is right if what is taken out lies inside and apart, but its edge and distances in it are not known",
            listed(&inside)
        );
        remarks.push((zone, "left-as-area", message));
    }
}

fn set(spots: &mut [Option<Spot>], item: usize, spot: Option<Spot>) {
    if let Some(place) = spots.get_mut(item) {
        *place = spot;
    }
}

/// The sides of a zone that is a rectangle.
fn sides(zone: &Measured) -> Option<(f64, f64)> {
    match zone.figures.as_slice() {
        [figure] => figure.sides(),
        _ => None,
    }
}

/// The sides of a rectangle as large and about as long as a loose zone.
fn alike(zone: &Measured, spot: &Spot) -> Option<(f64, f64)> {
    let (low, high) = spot.outline.corners();
    let Coord { x: east, y: north } = high - low;
    let length = (zone.area() * east / north).sqrt();
    (zone.place.is_none() && length.is_normal()).then(|| (length, zone.area() / length))
}

/// `item 2`, `items 2 and 3`, `items 2, 3, 4 and 5 more`.
fn listed(items: &[(usize, f64)]) -> String {
    /// So many are named.
    const NAMED: usize = 4;
    let names: Vec<String> =
        items.iter().take(NAMED).map(|(item, _)| (item + 1).to_string()).collect();
    match (names.as_slice(), items.len() - names.len()) {
        ([only], 0) => format!("item {only}"),
        ([first @ .., last], 0) => format!("items {} and {last}", first.join(", ")),
        (names, more) => format!("items {} and {more} more", names.join(", ")),
    }
}
