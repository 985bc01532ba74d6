//! Pictures that are broken, lie about their size, or have no place: a clear word, no panic, and no
//! more memory than a sound one takes.

#![allow(clippy::unwrap_used)] // A test may.

use std::fs;
use std::path::{Path, PathBuf};

use proptest::prelude::*;
use turfplat_aerial::{Aerial, AerialError, LaidPicture, Wanted};

fn pictures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/pictures")
}

/// A folder that goes away with the test.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path =
            std::env::temp_dir().join(format!("turfplat-aerial-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&path);
        fs::create_dir_all(&path).unwrap();
        Folder(path)
    }

    fn file(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.0.join(name);
        fs::write(&path, bytes).unwrap();
        path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// Lays the whole picture, its own coordinates taken for the plane's.
fn laid(path: &Path) -> Result<LaidPicture, AerialError> {
    let aerial = Aerial::open(path)?;
    let corners = aerial.corners();
    let least = |pick: fn(&(f64, f64)) -> f64| corners.iter().map(pick).fold(f64::MAX, f64::min);
    let most = |pick: fn(&(f64, f64)) -> f64| corners.iter().map(pick).fold(f64::MIN, f64::max);
    let (west, east) = (least(|it| it.0), most(|it| it.0));
    let (south, north) = (least(|it| it.1), most(|it| it.1));
    let dot = ((east - west).max(north - south) / 100.0).max(1e-12);
    let wanted = Wanted { west, north, dot, width: 100, height: 100 };
    aerial.lay(&wanted, &|x, y| Some((x, y)))
}

const ALL: [&str; 9] = [
    "degrees.tif",
    "utm-tiles.tif",
    "utm-point-big.tif",
    "utm-bands-alpha.tif",
    "utm-gray16.tif",
    "utm-palette.tif",
    "state-plane-jpeg.tif",
    "turned.png",
    "turned.jpg",
];

fn with_world(folder: &Folder) {
    for name in ["turned.pgw", "turned.jgw"] {
        folder.file(name, fs::read(pictures().join(name)).unwrap());
    }
}

#[test]
fn whole_pictures_are_laid() {
    for name in ALL {
        let laid = laid(&pictures().join(name)).unwrap();
        assert!(laid.shows(50, 50), "{name}");
    }
}

#[test]
fn a_picture_that_ends_too_early_is_refused_in_words() {
    let folder = Folder::new("short");
    with_world(&folder);
    for name in ALL {
        let bytes = fs::read(pictures().join(name)).unwrap();
        let path = folder.0.join(name);
        let mut refused = 0;
        for tenth in 0..10 {
            fs::write(&path, &bytes[..bytes.len() * tenth / 10]).unwrap();
            match laid(&path) {
                Err(error) => {
                    refused += 1;
                    let text = error.to_string();
                    assert!(text.starts_with(&path.display().to_string()), "{text}");
                    assert!(text.contains(';') || text.contains("neither"), "{text}");
                }
                // What is missing may be a smaller copy that nobody asked for.
                Ok(laid) => assert!(laid.shows(50, 50), "{name} {tenth}"),
            }
        }
        assert!(refused >= 5, "{name}: {refused}");
    }
}

#[test]
fn a_picture_as_large_as_a_county_takes_no_memory() {
    let folder = Folder::new("large");
    with_world(&folder);
    // A header alone: 4 thousand million pixels to each side.
    let mut tiff = fs::read(pictures().join("degrees.tif")).unwrap();
    let entries = usize::from(u16::from_le_bytes([tiff[8], tiff[9]]));
    for entry in 0..entries {
        let at = 10 + 12 * entry;
        if matches!(u16::from_le_bytes([tiff[at], tiff[at + 1]]), 256 | 257) {
            tiff[at + 2..at + 4].copy_from_slice(&4_u16.to_le_bytes());
            tiff[at + 8..at + 12].copy_from_slice(&4_000_000_000_u32.to_le_bytes());
        }
    }
    assert!(laid(&folder.file("large.tif", tiff)).is_err());
    let mut png = fs::read(pictures().join("turned.png")).unwrap();
    png[16..24].copy_from_slice(&[0x7f, 0xff, 0xff, 0xff, 0x7f, 0xff, 0xff, 0xff]);
    assert!(laid(&folder.file("turned.png", png)).is_err());
    let mut jpeg = fs::read(pictures().join("turned.jpg")).unwrap();
    let at = jpeg.windows(2).position(|it| it == [0xff, 0xc0]).unwrap();
    jpeg[at + 5..at + 9].copy_from_slice(&[0xff; 4]);
    let refused = laid(&folder.file("turned.jpg", jpeg)).unwrap_err().to_string();
    assert!(
        refused.contains("65535 × 65535 pixels are too many for JPEG; save it as a tiled GeoTIFF"),
        "{refused}"
    );
}

#[test]
fn a_picture_without_a_place_is_refused_with_the_names_of_its_world_file() {
    let folder = Folder::new("place");
    let png = folder.file("lawn.png", fs::read(pictures().join("turned.png")).unwrap());
    let refused = |world: &str| {
        folder.file("lawn.pgw", world);
        Aerial::open(&png).unwrap_err().to_string()
    };
    let none = Aerial::open(&png).unwrap_err().to_string();
    assert!(none.ends_with("nothing says where the picture lies; put its world file beside it (lawn.pgw or lawn.pngw or lawn.wld), or save it as GeoTIFF"), "{none}");
    let letters = refused("0.5\n0\nzero\n-0.5\n424045\n4907692\n");
    assert!(letters.contains("lawn.pgw line 3: \"zero\" is no number"), "{letters}");
    let short = refused("0.5\n0\n0\n-0.5\n424045\n");
    assert!(short.contains("lawn.pgw line 6: \"\" is no number"), "{short}");
    let flat = refused("0\n0\n0\n-0.5\n424045\n4907692\n");
    assert!(flat.contains("its pixels have no size"), "{flat}");
    let endless = refused("inf\n0\n0\n-0.5\n424045\n4907692\n");
    assert!(endless.contains("line 1: \"inf\" is no number"), "{endless}");
    folder.file("lawn.pgw", "0,5\r\n0\r\n0\r\n-0,5\r\n424045,25\r\n4907692\r\n");
    assert_eq!(Aerial::open(&png).unwrap().corners()[0], (424_045.0, 4_907_692.25));
    let text = folder.file("lawn.txt", "no picture");
    let refused = Aerial::open(&text).unwrap_err().to_string();
    assert!(
        refused.ends_with("neither TIFF, PNG nor JPEG; save the picture as GeoTIFF"),
        "{refused}"
    );
}

#[test]
fn dots_that_are_none_are_refused() {
    let aerial = Aerial::open(&pictures().join("utm-tiles.tif")).unwrap();
    let wanted = Wanted { west: 0.0, north: 0.0, dot: 1.0, width: 10, height: 10 };
    let lay = |wanted: &Wanted| aerial.lay(wanted, &|x, y| Some((x, y)));
    assert!(lay(&Wanted { dot: 0.0, ..wanted }).is_err());
    assert!(lay(&Wanted { dot: f64::NAN, ..wanted }).is_err());
    assert!(lay(&Wanted { width: 100_000, height: 100_000, ..wanted }).is_err());
    assert!(lay(&Wanted { width: 0, ..wanted }).unwrap().rgba.is_empty());
    // Where nothing has a place, nothing is shown.
    let none = aerial.lay(&wanted, &|_, _| None).unwrap();
    assert!(none.rgba.iter().all(|value| *value == 0));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 400, ..ProptestConfig::default() })]

    /// Bytes may be anything: a picture or a word, never a panic.
    #[test]
    fn damaged_pictures_never_panic(which in 0..ALL.len(), places in prop::collection::vec((0.0..1.0_f64, any::<u8>(), any::<bool>()), 1..8)) {
        let folder = Folder::new("damaged");
        with_world(&folder);
        let mut bytes = fs::read(pictures().join(ALL[which])).unwrap();
        for (place, byte, near) in places {
            // Half of them near the front, where the words stand.
            let length = if near { bytes.len().min(400) } else { bytes.len() };
            let at = (place * length as f64) as usize;
            bytes[at] = byte;
        }
        let path = folder.file(ALL[which], bytes);
        if let Err(error) = laid(&path) {
            prop_assert!(!error.to_string().is_empty());
        }
    }
}
