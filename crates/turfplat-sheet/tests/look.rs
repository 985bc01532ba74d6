//! Pictures to be looked at: a sheet is judged by eye, at full size and small.

use std::{env, fs, path::PathBuf};

use turfplat_sheet::{Page, plate, png, sheets};

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
            let plate = plate(map, width, height);
            let picture = png(&plate.svg, Page::Letter).unwrap();
            fs::write(folder.join(format!("{name}-alone-{width}.png")), picture).unwrap();
        }
    }
}
