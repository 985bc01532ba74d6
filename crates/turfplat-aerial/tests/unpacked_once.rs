//! A PNG or JPEG is unpacked once, whoever lays it how often: its file may be gone by then.

#![allow(clippy::unwrap_used)] // A test may.

use std::fs;
use std::path::{Path, PathBuf};

use turfplat_aerial::{Aerial, AerialError, LaidPicture, Wanted};

/// A picture and its world file in a folder of their own.
fn copied(name: &str, picture: &str, world: &str) -> (PathBuf, PathBuf) {
    let folder = std::env::temp_dir().join(format!("turfplat-once-{name}-{}", std::process::id()));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    for file in [picture, world] {
        let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/pictures").join(file);
        fs::copy(from, folder.join(file)).unwrap();
    }
    (folder.join(picture), folder)
}

/// Lays a square of `dots` about the middle of the picture, its own coordinates taken for the plane's.
fn laid(aerial: &Aerial, dots: u32) -> Result<LaidPicture, AerialError> {
    let corners = aerial.corners();
    let mean = |pick: fn(&(f64, f64)) -> f64| corners.iter().map(pick).sum::<f64>() / 4.0;
    let (x, y) = (mean(|it| it.0), mean(|it| it.1));
    let side = (corners[0].0 - corners[1].0).hypot(corners[0].1 - corners[1].1);
    let dot = side / 200.0;
    let half = f64::from(dots) * dot / 2.0;
    let wanted = Wanted { west: x - half, north: y + half, dot, width: dots, height: dots };
    aerial.lay(&wanted, &|x, y| Some((x, y)))
}

#[test]
fn properties_and_threads_share_what_was_unpacked() {
    for (picture, world) in [("turned.png", "turned.pgw"), ("turned.jpg", "turned.jgw")] {
        let (path, folder) = copied(picture, picture, world);
        let aerial = Aerial::open(&path).unwrap();
        let small = laid(&aerial, 40).unwrap();
        assert!(small.shows(20, 20), "{picture}");
        // Another part of the picture than the first is laid of the same copy.
        let large = laid(&Aerial::open(&path).unwrap(), 160).unwrap();
        fs::remove_dir_all(&folder).unwrap();
        let clone = aerial.clone();
        std::thread::scope(|threads| {
            for (aerial, dots, expected) in
                [(&aerial, 40, &small), (&aerial, 160, &large), (&clone, 160, &large)]
            {
                threads.spawn(move || assert_eq!(laid(aerial, dots).unwrap(), *expected));
            }
        });
    }
}

#[test]
fn a_refusal_is_not_kept() {
    let (path, folder) = copied("refusal", "turned.jpg", "turned.jgw");
    let sound = fs::read(&path).unwrap();
    let aerial = Aerial::open(&path).unwrap();
    fs::write(&path, &sound[..sound.len() / 2]).unwrap();
    assert!(matches!(laid(&aerial, 40), Err(AerialError::Broken { .. })));
    fs::write(&path, &sound).unwrap();
    assert!(laid(&aerial, 40).is_ok());
    fs::remove_dir_all(&folder).unwrap();
}
