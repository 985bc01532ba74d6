//! Why ground is counted once: loads whose areas come to more than a zone has that is treated went over some of it
//! again, so what they held lies on that ground together. Which part had it twice nobody knows; the mean
//! over the treated ground is the least that lies somewhere.

use turfplat_ledger::{OnZone, Record, Sum, Untold, by_product, on_zones, spray};
use turfplat_units::{Area, Rate};

/// Half of the last digit in which areas are printed and told again, in square metres.
const ROUNDED: f64 = 0.05;

/// A zone of which more was told than the plan treats.
pub(crate) struct Overlap {
    pub(crate) zone: String,
    pub(crate) told: Area,
    pub(crate) treated: Area,
}

/// What `record` put on each zone, over no more ground than the zone has that is treated.
///
/// # Errors
///
/// As [`on_zones`].
pub(crate) fn lies(record: &Record) -> Result<Vec<OnZone>, Untold> {
    let mut zones = on_zones(record)?;
    for lies in &mut zones {
        let loads = record.loads.iter().filter(|load| {
            let holds = load.products.iter().any(|put| put.product == lies.product);
            holds && load.done.iter().any(|done| done.zone == lies.zone)
        });
        let Some(treated) = above(record, &lies.zone, lies.area, loads.count()) else { continue };
        lies.area = treated;
        if let Some(mean) = Rate::of(lies.amount, treated)
            && mean.over(lies.rate).is_some_and(|times| times > 1.0)
        {
            lies.rate = mean;
        }
    }
    Ok(zones)
}

/// Of each product of `record`, as [`by_product`], over ground that is counted once.
pub fn record_sums(record: &Record) -> Vec<(String, Sum)> {
    let once = |(id, sum): (String, Sum)| {
        let less = beyond(record, Some(&id));
        let area = sum.area.map(|area| less_than(area, less));
        (id, Sum { area, ..sum })
    };
    by_product(record).into_iter().map(once).collect()
}

/// What was sprayed in all, as [`spray`], over ground that is counted once.
pub(crate) fn sprayed(record: &Record) -> Sum {
    let sum = spray(record);
    Sum { area: sum.area.map(|area| less_than(area, beyond(record, None))), ..sum }
}

/// The zones of which more was told than is treated.
pub(crate) fn overlaps(record: &Record) -> Vec<Overlap> {
    overlaps_of(record, None)
}

/// The ground of a zone that the plan of `record` treats.
pub(crate) fn treated(record: &Record, zone: &str) -> Option<Area> {
    of_plan(record, zone, "treated_area_m2")
}

/// The ground of a zone as it is drawn; records of earlier releases do not tell it.
pub(crate) fn drawn(record: &Record, zone: &str) -> Option<Area> {
    of_plan(record, zone, "drawn_area_m2")
}

fn of_plan(record: &Record, zone: &str, key: &str) -> Option<Area> {
    let zones = record.plan.as_ref()?["zones"].as_array()?;
    let area = zones.iter().find(|it| it["zone"] == zone)?[key].as_f64()?;
    Area::from_square_metres(area)
}

/// The treated ground of a zone, if `told` in `parts` is more.
fn above(record: &Record, zone: &str, told: Area, parts: usize) -> Option<Area> {
    let treated = treated(record, zone).filter(|it| *it > Area::ZERO)?;
    // As many as there are loads: a small number.
    let slack = ROUNDED * parts as f64;
    (told.square_metres() > treated.square_metres() + slack).then_some(treated)
}

fn overlaps_of(record: &Record, product: Option<&str>) -> Vec<Overlap> {
    let mut told: Vec<(&str, Area, usize)> = Vec::new();
    for load in &record.loads {
        if product.is_some_and(|id| load.products.iter().all(|put| put.product != id)) {
            continue;
        }
        for done in &load.done {
            let Some(area) = done.area.as_ref().and_then(|it| it.area()) else { continue };
            match told.iter_mut().find(|(zone, ..)| *zone == done.zone) {
                None => told.push((&done.zone, area, 1)),
                Some((_, sum, parts)) => (*sum, *parts) = (*sum + area, *parts + 1),
            }
        }
    }
    let one = |(zone, told, parts): (&str, Area, usize)| {
        let treated = above(record, zone, told, parts)?;
        Some(Overlap { zone: zone.to_owned(), told, treated })
    };
    told.into_iter().filter_map(one).collect()
}

/// How much ground of the loads with `product`, or of all, was gone over again, in square metres.
fn beyond(record: &Record, product: Option<&str>) -> f64 {
    let overlaps = overlaps_of(record, product);
    overlaps.iter().map(|it| it.told.square_metres() - it.treated.square_metres()).sum()
}

fn less_than(area: Area, less: f64) -> Area {
    Area::from_square_metres(area.square_metres() - less).unwrap_or(area)
}
