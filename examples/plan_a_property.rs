//! The whole job on the demo property: doses, tank fills, and the spray map beside them.

#![allow(clippy::print_stdout, clippy::print_stderr)] // A program to look at.

use std::error::Error;
use std::fs;
use std::path::Path;

use turfplat::sheet::{Page, png, svg};
use turfplat::units::UnitSystem;
use turfplat::{
    Bytes, CoordinateSystem, Job, MapSource, PlanOptions, Print, plan, read_map, spray_map,
};

fn main() -> Result<(), Box<dyn Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    let bytes = Bytes::open(&folder.join("map.geojson"))?;
    let map =
        read_map(&[MapSource::geojson("map.geojson", bytes, CoordinateSystem::AsTheFileSays)])?;
    let job = Job::read("job.toml", &fs::read_to_string(folder.join("job.toml"))?, &|product| {
        fs::read_to_string(folder.join(product))
    })?;

    let planned = plan(&map, &job, &PlanOptions::default())?;
    for refusal in planned.refusals {
        eprintln!("not planned: {}", refusal.reasons.join("; "));
    }
    let print = Print(UnitSystem::Us);
    for property in &planned.plans {
        for application in &property.applications {
            for zone in &application.zones {
                let amounts: Vec<String> =
                    zone.products.iter().map(|dosed| print.product(dosed.amount)).collect();
                println!(
                    "{:<12} {:>14}  {}",
                    zone.zone,
                    zone.treated.print(UnitSystem::Us),
                    amounts.join(", ")
                );
            }
            for load in application.batches.iter().flat_map(|batch| &batch.loads) {
                let covers: Vec<&str> =
                    load.covers.iter().map(|cover| cover.zone.as_str()).collect();
                println!(
                    "load {}: {} for {}",
                    load.number,
                    load.spray_volume.map_or_else(String::new, |volume| print.spray(volume)),
                    covers.join(", ")
                );
            }
            let drawing = svg(
                &spray_map(property, application, Some("2026-06-08"), UnitSystem::Us),
                Page::Screen,
            );
            let picture = std::env::temp_dir().join(format!("spray-map-{}.png", application.name));
            fs::write(&picture, png(&drawing, Page::Screen)?)?;
            println!("drawn: {}", picture.display());
        }
    }
    Ok(())
}
