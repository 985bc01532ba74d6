//! Pictures that GDAL wrote, in many systems and kinds of file, land where their ground is.
//!
//! The ground is a formula of longitude and latitude (`scripts/aerial-fixtures`, which drew the
//! pictures with the commands of GDAL 3.6.2, each pixel asked for its own place). So what is laid
//! onto a property's plane can be held to the formula, dot by dot, and its five markers to their
//! places.
#![cfg(feature = "proj")]
#![allow(clippy::unwrap_used)] // A test may.

use std::path::{Path, PathBuf};

use geo::Coord;
use turfplat_aerial::{Aerial, LaidPicture, Wanted};
use turfplat_measure::{Ellipsoid, Plane};

const LON: f64 = -69.9518;
const LAT: f64 = 44.3184;
const KX: f64 = 79_780.0;
const KY: f64 = 111_112.0;
const MARKERS: [(f64, f64); 5] =
    [(0.0, 0.0), (-20.0, 18.0), (22.0, 15.0), (-17.0, -21.0), (19.0, -24.0)];

/// Red, green and blue of the ground: `ground` of the script.
fn ground(place: Coord<f64>) -> [f64; 3] {
    let (x, y) = ((place.x - LON) * KX, (place.y - LAT) * KY);
    let spot = |(a, b): (f64, f64)| 180.0 * (-((x - a).powi(2) + (y - b).powi(2)) / 4.5).exp();
    [40.0 + MARKERS.into_iter().map(spot).sum::<f64>(), 128.0 + 2.4 * x, 128.0 + 2.4 * y]
}

fn picture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../crates/turfplat-aerial/tests/pictures")
        .join(name)
}

fn plane() -> Plane {
    Plane::centred(LON, LAT, Ellipsoid::WGS84).unwrap()
}

/// The middle of the picture's ground, `half` metres to each side.
fn wanted(half: f64, dot: f64) -> Wanted {
    let side = (2.0 * half / dot).round() as u32;
    Wanted { west: -half, north: half, dot, width: side, height: side }
}

fn laid(name: &str, system: &str, wanted: &Wanted) -> LaidPicture {
    let way = proj::Proj::new_known_crs("EPSG:4326", system, None).unwrap();
    let plane = plane();
    let place = |x: f64, y: f64| {
        let place = plane.lift(Coord { x, y });
        way.convert((place.x, place.y)).ok()
    };
    Aerial::open(&picture(name)).unwrap().lay(wanted, &place).unwrap()
}

/// The ground at the middle of each dot, with the place on the plane.
fn dots(wanted: &Wanted) -> impl Iterator<Item = (Coord<f64>, [f64; 3])> + '_ {
    let plane = plane();
    (0..wanted.height).flat_map(|row| (0..wanted.width).map(move |column| (column, row))).map(
        move |(column, row)| {
            let at = Coord {
                x: wanted.west + (f64::from(column) + 0.5) * wanted.dot,
                y: wanted.north - (f64::from(row) + 0.5) * wanted.dot,
            };
            (at, ground(plane.lift(at)))
        },
    )
}

/// How far off the middle of a marker is: that of the picture's red to that of the formula's.
fn marker_off(
    wanted: &Wanted,
    laid: &LaidPicture,
    (x, y): (f64, f64),
    red: impl Fn(f64) -> f64,
) -> f64 {
    let (mut ours, mut true_) = ([0.0; 3], [0.0; 3]);
    for ((at, shades), dot) in dots(wanted).zip(laid.rgba.chunks_exact(4)) {
        if (at.x - x).hypot(at.y - y) < 5.0 {
            for (sum, red) in [(&mut ours, red(f64::from(dot[0]))), (&mut true_, shades[0])] {
                let weight = (red - 60.0).max(0.0);
                *sum = [sum[0] + weight, sum[1] + weight * at.x, sum[2] + weight * at.y];
            }
        }
    }
    (ours[1] / ours[0] - true_[1] / true_[0]).hypot(ours[2] / ours[0] - true_[2] / true_[0])
}

#[test]
fn pictures_lie_where_their_ground_is() {
    #[rustfmt::skip]
    let table = [
        // picture, its system, metres to each side that it covers, mean difference of a shade
        ("degrees.tif",         "EPSG:4326",  30.0, 1.0),
        ("utm-tiles.tif",       "EPSG:26919", 30.0, 1.0),
        ("utm-point-big.tif",   "EPSG:26919", 30.0, 1.0),
        ("state-plane-jpeg.tif","EPSG:26848", 30.0, 2.5),
        ("turned-matrix.tif",   "EPSG:26919", 28.0, 1.0),
        ("turned.png",          "EPSG:26919", 28.0, 1.0),
        ("turned.jpg",          "EPSG:26919", 28.0, 2.5),
    ];
    for (name, system, half, difference) in table {
        let wanted = wanted(half, 0.25);
        let laid = laid(name, system, &wanted);
        let (mut sum, mut count) = ([0.0; 3], 0.0);
        for ((_, shades), dot) in dots(&wanted).zip(laid.rgba.chunks_exact(4)) {
            assert_eq!(dot[3], 255, "{name}");
            for (sum, (shade, ours)) in sum.iter_mut().zip(shades.into_iter().zip(dot)) {
                *sum += (shade - f64::from(*ours)).abs();
            }
            count += 1.0;
        }
        for sum in sum {
            assert!(sum / count < difference, "{name}: {}", sum / count);
        }
        for marker in MARKERS {
            let off = marker_off(&wanted, &laid, marker, |red| red);
            assert!(off < 0.05, "{name}: marker {marker:?} is {off} m off");
        }
    }
}

/// Half a pixel is 0.25 m: a picture whose point is taken for its corner would fail here.
#[test]
fn systems_are_read_as_the_pictures_say_them() {
    for (name, code) in [
        ("degrees.tif", "EPSG:4326"),
        ("utm-tiles.tif", "EPSG:26919"),
        ("utm-point-big.tif", "EPSG:26919"),
        ("state-plane-jpeg.tif", "EPSG:26848"),
        ("turned-matrix.tif", "EPSG:26919"),
    ] {
        let aerial = Aerial::open(&picture(name)).unwrap();
        assert_eq!(aerial.system().map(|it| it.definition.as_str()), Some(code), "{name}");
        assert_eq!(aerial.size(), (160, 160));
    }
    let told = Aerial::open(&picture("turned.png")).unwrap();
    assert!(told.system().unwrap().definition.starts_with("PROJCS[\"NAD_1983_UTM_Zone_19N\""));
}

#[test]
fn bands_alpha_nothing_and_palettes_are_understood() {
    let wanted = wanted(30.0, 0.25);
    // The western quarter, 20 m of 80 m, is clear.
    let bands = laid("utm-bands-alpha.tif", "EPSG:26919", &wanted);
    for ((at, shades), dot) in dots(&wanted).zip(bands.rgba.chunks_exact(4)) {
        if at.x < -21.5 {
            assert_eq!(dot, [0; 4], "{at:?}");
        } else if at.x > -19.0 {
            let off = (0..3).map(|i| (shades[i] - f64::from(dot[i])).abs()).fold(0.0, f64::max);
            assert!(dot[3] == 255 && off < 6.0, "{at:?}: {dot:?} {shades:?}");
        }
    }
    // The eastern quarter holds the value for nothing; the others are stretched.
    let gray = laid("utm-gray16.tif", "EPSG:26919", &wanted);
    for ((at, _), dot) in dots(&wanted).zip(gray.rgba.chunks_exact(4)) {
        if at.x > 21.0 {
            assert_eq!(dot, [0; 4], "{at:?}");
        } else if at.x < 18.5 {
            assert!(dot[3] == 255 && dot[0] == dot[1] && dot[1] == dot[2], "{at:?}: {dot:?}");
        }
    }
    for marker in [MARKERS[0], MARKERS[1], MARKERS[3]] {
        // 1 in 100 of the values is beyond what the stretch keeps: the middles of markers.
        let off = marker_off(&wanted, &gray, marker, |red| 60.0 + red / 2.0);
        assert!(off < 0.05, "marker {marker:?} is {off} m off");
    }
    let palette = laid("utm-palette.tif", "EPSG:26919", &wanted);
    for ((at, shades), dot) in dots(&wanted).zip(palette.rgba.chunks_exact(4)) {
        // Sixty-four shades of the red, and green its reverse.
        let off = (shades[0] - f64::from(dot[0])).abs();
        assert!(off < 8.0 && dot[2] == 7, "{at:?}: {dot:?} {shades:?}");
        assert!((f64::from(dot[0]) + f64::from(dot[1]) - 257.0).abs() < 2.5, "{dot:?}");
    }
}

/// A larger dot is the mean of what is in it, and a smaller copy of the picture does as well.
#[test]
fn pictures_are_laid_as_gdalwarp_lays_them() {
    for (name, dot, most_mean, most) in
        [("plane-bilinear.png", 0.25, 0.6, 4.0), ("plane-average.png", 1.6, 1.0, 14.0)]
    {
        let wanted = wanted(32.0, dot);
        let ours = laid("utm-tiles.tif", "EPSG:26919", &wanted);
        let file = std::io::BufReader::new(std::fs::File::open(picture(name)).unwrap());
        let mut reader = png::Decoder::new(file).read_info().unwrap();
        let mut theirs = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut theirs).unwrap();
        assert_eq!(theirs.len(), (wanted.width * wanted.height * 3) as usize);
        let (mut sum, mut largest) = (0.0_f64, 0.0_f64);
        for (ours, theirs) in ours.rgba.chunks_exact(4).zip(theirs.chunks_exact(3)) {
            for (ours, theirs) in ours.iter().zip(theirs) {
                let off = f64::from(ours.abs_diff(*theirs));
                sum += off;
                largest = largest.max(off);
            }
        }
        let mean = sum / theirs.len() as f64;
        assert!(mean < most_mean && largest < most, "{name}: mean {mean}, largest {largest}");
    }
}

/// Meters to each side of a hundred miles: nothing of it is in the picture, and nothing is drawn.
#[test]
fn ground_that_is_elsewhere_is_clear() {
    let wanted = Wanted { west: 150_000.0, ..wanted(30.0, 0.25) };
    let laid = laid("utm-tiles.tif", "EPSG:26919", &wanted);
    assert!(laid.rgba.iter().all(|value| *value == 0));
}
