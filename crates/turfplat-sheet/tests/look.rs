//! Pictures to be looked at: a sheet is judged by eye, at full size and small.

#![allow(clippy::print_stdout)] // Said to whoever asked.

use std::{env, fs, path::PathBuf, time::Instant};

use turfplat_sheet::{Beside, Page, plate, png, sheets, strip_svg, svg};

mod invented;

#[test]
#[ignore = "writes pictures to look at into the folder named by SHEETS"]
fn draw_the_invented_properties() {
    let folder = PathBuf::from(env::var("SHEETS").expect("SHEETS names a folder"));
    fs::create_dir_all(&folder).unwrap();
    let maps = [
        ("home", invented::home()),
        ("tiny", invented::tiny()),
        ("forty", invented::forty()),
        ("campus", invented::campus()),
        ("ring", invented::ring_lawn()),
        ("kinds", invented::all_kinds()),
        ("lost", invented::zone_lost()),
        ("nothing", invented::nothing_to_treat()),
        ("neighbors", invented::beside_neighbours()),
    ];
    for (name, map) in &maps {
        for (page, suffix) in [(Page::Letter, "letter"), (Page::A4, "a4"), (Page::Screen, "screen")]
        {
            for sheet in sheets(map, page) {
                let name = format!("{name}-{suffix}-{}", sheet.number);
                let picture = png(&sheet.svg, page).unwrap();
                fs::write(folder.join(format!("{name}.png")), picture).unwrap();
                fs::write(folder.join(format!("{name}.svg")), sheet.svg).unwrap();
            }
        }
    }
}

#[test]
#[ignore = "writes pictures to look at into the folder named by SHEETS"]
fn draw_the_hours_to_spray() {
    let folder = PathBuf::from(env::var("SHEETS").expect("SHEETS names a folder"));
    fs::create_dir_all(&folder).unwrap();
    let picture = png(&strip_svg(&invented::hours()), Page::Screen).unwrap();
    fs::write(folder.join("hours-to-spray.png"), picture).unwrap();
}

#[test]
#[ignore = "writes pictures to look at into the folder named by SHEETS"]
fn draw_the_maps_alone() {
    let folder = PathBuf::from(env::var("SHEETS").expect("SHEETS names a folder"));
    fs::create_dir_all(&folder).unwrap();
    let maps = [
        ("home", invented::home()),
        ("tiny", invented::tiny()),
        ("forty", invented::forty()),
        ("campus", invented::campus()),
    ];
    for (name, map) in &maps {
        for (width, height) in [(540.0, 400.0), (340.0, 480.0)] {
            let plate = plate(map, (width, height), Beside::Lists);
            let picture = png(&plate.svg, Page::Letter).unwrap();
            fs::write(folder.join(format!("{name}-alone-{width}.png")), picture).unwrap();
        }
    }
}

/// Of the demo's size: to be run with `--release` on a machine that does nothing else.
#[test]
#[ignore = "prints how long a sheet takes"]
fn how_long_a_sheet_takes() {
    for (name, map) in [("home", invented::home()), ("campus", invented::campus())] {
        let mut took: Vec<_> = (0..9)
            .map(|_| {
                let start = Instant::now();
                let text = svg(&map, Page::Letter);
                let drawn = start.elapsed();
                png(&text, Page::Letter).unwrap();
                (start.elapsed(), drawn)
            })
            .collect();
        took.sort();
        let start = Instant::now();
        let count = sheets(&map, Page::Letter).len();
        let (all, drawn) = took[4];
        println!(
            "{name}: {all:?} a sheet at 300 dpi, {drawn:?} of it the SVG; SVG of all {count} sheets {:?}",
            start.elapsed()
        );
    }
}
