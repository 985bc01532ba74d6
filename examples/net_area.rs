//! The net turf of every zone of the demo property, with 25 ft kept from water and 50 ft from wells.

use std::error::Error;
use std::fs;

use turfplat::units::{Length, UnitSystem};
use turfplat::{CoordinateSystem, Kind, MapSource, MeasureOptions, measure, read_map, refusals};

fn main() -> Result<(), Box<dyn Error>> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/map.geojson");
    let source = MapSource {
        name: "map.geojson".into(),
        bytes: fs::read(path)?,
        crs: CoordinateSystem::AsTheFileSays,
    };
    let map = read_map(&[source])?;
    for refusal in refusals(&map) {
        eprintln!("not used: {}", refusal.reasons.join("; "));
    }
    let feet = |feet| Length::from_feet(feet).ok_or("a distance is never negative");
    let setbacks = [(Kind::Water, feet(25.0)?), (Kind::Well, feet(50.0)?)].into();
    for plat in measure(&map, &MeasureOptions { setbacks, ..MeasureOptions::default() }) {
        for zone in &plat.zones {
            println!(
                "{:<12} {:>14} drawn {:>14} net",
                zone.name,
                zone.gross.print(UnitSystem::Us),
                zone.net.print(UnitSystem::Us)
            );
        }
    }
    Ok(())
}
