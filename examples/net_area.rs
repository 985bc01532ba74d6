//! The net turf of every zone of the demo property, with 25 ft kept from water and 50 ft from wells.

#![allow(clippy::print_stdout, clippy::print_stderr)] // A program to look at.

use std::error::Error;

use turfplat::units::{Length, UnitSystem};
use turfplat::{Bytes, CoordinateSystem, Kind, MapSource, MeasureOptions, measure, read_map};

fn main() -> Result<(), Box<dyn Error>> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/map.geojson");
    let source = MapSource::geojson(
        "map.geojson",
        Bytes::open(path.as_ref())?,
        CoordinateSystem::AsTheFileSays,
    );
    let map = read_map(&[source])?;
    let feet = |feet| Length::from_feet(feet).ok_or("a distance is never negative");
    let setbacks = [(Kind::Water, feet(25.0)?), (Kind::Well, feet(50.0)?)].into();
    let measured = measure(&map, &MeasureOptions { setbacks, ..MeasureOptions::default() });
    for refusal in measured.refusals {
        eprintln!("not used: {}", refusal.reasons.join("; "));
    }
    for zone in measured.plats.iter().flat_map(|plat| &plat.zones) {
        println!(
            "{:<12} {:>14} drawn {:>14} net",
            zone.name,
            zone.gross.print(UnitSystem::Us),
            zone.net.print(UnitSystem::Us)
        );
    }
    Ok(())
}
