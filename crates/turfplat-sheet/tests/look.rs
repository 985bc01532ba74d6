//! Pictures to be looked at: a sheet is judged by eye, at full size and small.

use std::{env, fs, path::PathBuf};

use turfplat_sheet::{Page, plate, png, svg};

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
    ];
    for (name, map) in &maps {
        for (page, suffix) in [(Page::Letter, "letter"), (Page::A4, "a4"), (Page::Screen, "screen")]
        {
            let text = svg(map, page);
            let picture = png(&text, page).unwrap();
            fs::write(folder.join(format!("{name}-{suffix}.png")), picture).unwrap();
            fs::write(folder.join(format!("{name}-{suffix}.svg")), text).unwrap();
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
