//! A picture of the ground beneath the sheet: it lies where it belongs, and what cannot is refused
//! with the cure.

use super::*;

/// Degrees to a pixel of the picture that is drawn here.
const PIXEL: f64 = 2e-6;
/// Its pixels to each side.
const SIDE: u32 = 500;
/// Longitude and latitude of its upper left corner.
const CORNER: (f64, f64) = (-69.9523, 44.3189);
/// Columns and rows of its dark squares, 14 pixels to a side, by their middles.
const SQUARES: [(u32, u32); 4] = [(100, 120), (400, 90), (120, 410), (390, 380)];
const HALF: u32 = 7;

fn place(column: f64, row: f64) -> [f64; 2] {
    [CORNER.0 + column * PIXEL, CORNER.1 - row * PIXEL]
}

/// White ground with dark squares and a dark rim, so that dark and white are both common.
fn picture(folder: &Folder) -> String {
    let is_dark = |column: u32, row: u32| {
        !(40..460).contains(&column)
            || !(40..460).contains(&row)
            || SQUARES.iter().any(|&(x, y)| {
                (x - HALF..x + HALF).contains(&column) && (y - HALF..y + HALF).contains(&row)
            })
    };
    let dots: Vec<u8> = (0..SIDE)
        .flat_map(|row| (0..SIDE).map(move |column| if is_dark(column, row) { 20 } else { 230 }))
        .collect();
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, SIDE, SIDE);
    encoder.set_color(png::ColorType::Grayscale);
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(&dots).unwrap();
    writer.finish().unwrap();
    let [x, y] = place(0.5, 0.5);
    folder.file("ground.pgw", format!("{PIXEL}\n0\n0\n-{PIXEL}\n{x:.9}\n{y:.9}\n"));
    folder.file("ground.png", bytes)
}

fn square(kind: &str, name: &str, columns: (f64, f64), rows: (f64, f64)) -> String {
    let corners = [
        place(columns.0, rows.1),
        place(columns.1, rows.1),
        place(columns.1, rows.0),
        place(columns.0, rows.0),
        place(columns.0, rows.1),
    ];
    let ring: Vec<String> = corners.iter().map(|[x, y]| format!("[{x:.9},{y:.9}]")).collect();
    format!(
        r#"{{"type":"Feature","properties":{{"kind":"{kind}","name":"{name}","species":"tall-fescue"}},"geometry":{{"type":"Polygon","coordinates":[[{}]]}}}}"#,
        ring.join(",")
    )
}

/// A lawn over most of the picture, with a shed where each dark square is.
fn map(folder: &Folder) -> String {
    let mut features = vec![square("turf", "Lawn", (50.0, 450.0), (50.0, 450.0))];
    for (index, (x, y)) in SQUARES.into_iter().enumerate() {
        let (x, y, half) = (f64::from(x), f64::from(y), f64::from(HALF));
        features.push(square(
            "building",
            &format!("Shed {index}"),
            (x - half, x + half),
            (y - half, y + half),
        ));
    }
    let features: Vec<&str> = features.iter().map(String::as_str).collect();
    folder.file("map.geojson", collection(&features))
}

fn sheet(folder: &Folder, more: &[&str], target: &str) -> Output {
    let (map, job) = (folder.path("map.geojson"), folder.path("job.toml"));
    let target = folder.path(target);
    let args = [&["sheet", &map, "--job", &job, "-o", &target], more].concat();
    turfplat(&args)
}

/// The number of an attribute.
fn number(tag: &str, name: &str) -> f64 {
    let (_, rest) = tag.split_once(&format!(" {name}=\"")).unwrap();
    rest.split('"').next().unwrap().parse().unwrap()
}

/// The picture beneath a sheet, on the line that also cuts it at the frame.
fn image_of(svg: &str) -> &str {
    let at = svg.find("<image").unwrap();
    svg[at..].lines().next().unwrap()
}

#[test]
fn dark_ground_lies_under_the_sheds_that_stand_on_it() {
    let folder = Folder::new("aerial-place");
    let (_, picture) = (map(&folder), picture(&folder));
    folder.file("job.toml", JOB);
    let drawn = sheet(&folder, &["--aerial", &picture, "--aerial-crs", "EPSG:4326"], "a.svg");
    assert_eq!(status(&drawn), 0, "{}", text(&drawn.stderr));
    let svg = fs::read_to_string(folder.path("a.svg")).unwrap();
    assert!(svg.contains("aerial picture: ground.png"), "the legend names it");
    let image = image_of(&svg);
    let [x0, y0, wide, high] = ["x", "y", "width", "height"].map(|name| number(image, name));
    let packed = image.split_once("base64,").unwrap().1.split('"').next().unwrap();
    let bytes = base64::Engine::decode(&base64::engine::general_purpose::STANDARD, packed).unwrap();
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
    let mut grays = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut grays).unwrap();
    let dot = wide / f64::from(info.width);
    assert!((dot - high / f64::from(info.height)).abs() < 1e-3, "dots are square");
    // Sheds, as they are drawn: the outline of each.
    let sheds: Vec<[f64; 4]> = svg
        .lines()
        .filter(|line| line.contains(r##"fill="#c9c9c9""##) && line.starts_with("<path"))
        .map(|line| {
            let d = line.split_once("d=\"").unwrap().1.split('"').next().unwrap();
            let numbers: Vec<f64> = d
                .split(|c: char| !c.is_ascii_digit() && c != '.' && c != '-')
                .filter_map(|it| it.parse().ok())
                .collect();
            let side = |first: usize, pick: fn(f64, f64) -> f64, start: f64| {
                numbers.iter().skip(first).step_by(2).fold(start, |a, &b| pick(a, b))
            };
            [
                side(0, f64::min, f64::MAX),
                side(1, f64::min, f64::MAX),
                side(0, f64::max, f64::MIN),
                side(1, f64::max, f64::MIN),
            ]
        })
        // Of the legend's sample nothing is beneath.
        .filter(|b| b[0] > x0 && b[2] < x0 + wide && b[1] > y0 && b[3] < y0 + high)
        .collect();
    assert_eq!(sheds.len(), 4);
    for [left, top, right, bottom] in sheds {
        let reach = (right - left) * 0.7;
        let (middle_x, middle_y) = ((left + right) / 2.0, (top + bottom) / 2.0);
        let (mut sum, mut x, mut y) = (0.0, 0.0, 0.0);
        for (index, gray) in grays.iter().enumerate() {
            let column = (index % info.width as usize) as f64 + 0.5;
            let row = (index / info.width as usize) as f64 + 0.5;
            let (at_x, at_y) = (x0 + column * dot, y0 + row * dot);
            if (at_x - middle_x).abs() < reach && (at_y - middle_y).abs() < reach {
                let dark = 255.0 - f64::from(*gray);
                (sum, x, y) = (sum + dark, x + dark * at_x, y + dark * at_y);
            }
        }
        // The sides of a square in degrees are dark over the shed and no further.
        let (off_x, off_y) = (x / sum - middle_x, y / sum - middle_y);
        assert!(off_x.hypot(off_y) < 0.5 * dot, "{off_x} {off_y} pt, a dot is {dot} pt");
        let area = sum / 117.0 * dot * dot;
        let drawn = (right - left) * (bottom - top);
        assert!((area / drawn - 1.0).abs() < 0.06, "{area} of {drawn}");
    }
}

#[test]
fn a_picture_that_cannot_lie_there_is_refused_with_the_cure() {
    let folder = Folder::new("aerial-refused");
    let (map, picture) = (map(&folder), picture(&folder));
    let job = folder.file("job.toml", JOB);
    let told = |more: &[&str], code: i32| {
        let drawn = sheet(&folder, more, "a.png");
        let remarks = text(&drawn.stderr);
        assert_eq!(status(&drawn), code, "{remarks}");
        assert!(!Path::new(&folder.path("a.png")).exists());
        remarks
    };
    let none = told(&["--aerial", &picture], 2);
    assert!(
        none.contains(
            "nothing says in which coordinate system it lies; name it with --aerial-crs EPSG:n"
        ),
        "{none}"
    );
    let unknown = told(&["--aerial", &picture, "--aerial-crs", "EPSG:999999"], 2);
    assert!(unknown.contains("ground.png: coordinate system EPSG:999999: "), "{unknown}");
    assert!(unknown.contains("--aerial-crs EPSG:"), "{unknown}");
    let elsewhere = told(&["--aerial", &picture, "--aerial-crs", "EPSG:26919"], 1);
    assert!(
        elsewhere.contains("refused: ")
            && elsewhere.contains("shows none of the turf: that lies at (424"),
        "{elsewhere}"
    );
    let plane = told(&["--aerial", &picture, "--aerial-crs", "plane-m"], 2);
    assert!(plane.contains("no plane is shared with the picture"), "{plane}");
    let missing = told(&["--aerial", &folder.path("none.tif")], 2);
    assert!(missing.contains("none.tif"), "{missing}");
    let alone = turfplat(&[
        "sheet",
        &map,
        "--job",
        &job,
        "--aerial-crs",
        "EPSG:1",
        "-o",
        &folder.path("a.png"),
    ]);
    assert_eq!(status(&alone), 2);
    let without =
        turfplat(&["plan", &map, "--job", &job, "--aerial", &picture, "--aerial-crs", "EPSG:4326"]);
    assert_eq!(status(&without), 2);
    assert!(text(&without.stderr).contains("--out DIR"));
    let plan = folder.path("plan");
    let refused = turfplat(&[
        "plan",
        &map,
        "--job",
        &job,
        "--out",
        &plan,
        "--aerial",
        &picture,
        "--aerial-crs",
        "EPSG:26919",
    ]);
    assert_eq!(status(&refused), 1, "{}", text(&refused.stderr));
    assert!(!Path::new(&plan).exists());
}

#[test]
fn no_sheet_is_written_over_a_picture_of_the_ground_or_what_says_where_it_lies() {
    let folder = Folder::new("aerial-kept");
    let (_, picture) = (map(&folder), picture(&folder));
    folder.file("job.toml", JOB);
    folder.file("ground.prj", "theirs");
    let linked = folder.path("linked.png");
    #[cfg(unix)]
    std::os::unix::fs::symlink(&picture, &linked).unwrap();
    // A picture that is not PNG, whose world file has another ending.
    let pictures = root().join("crates/turfplat-aerial/tests/pictures");
    let tiff = folder.file("tiles.tif", fs::read(pictures.join("utm-tiles.tif")).unwrap());
    let all = || {
        let mut all: Vec<(String, Vec<u8>)> = (fs::read_dir(&folder.0).unwrap())
            .map(|file| file.unwrap().path())
            .map(|path| (path.display().to_string(), fs::read(&path).unwrap()))
            .collect();
        all.sort();
        all
    };
    let before = all();
    let cases = [
        (&picture, "ground.png", "ground.png is an aerial picture that is read; write to another"),
        (&picture, "linked.png", "ground.png is an aerial picture that is read; write to another"),
        (&picture, "ground.PNG", "the .pgw beside it belongs to"),
        // Its .prj would be taken for the picture's the next time.
        (&tiff, "tiles.png", "the .prj beside it belongs to"),
    ];
    for (aerial, target, wanted) in cases {
        let drawn = sheet(&folder, &["--aerial", aerial, "--aerial-crs", "EPSG:4326"], target);
        let remarks = text(&drawn.stderr);
        assert_eq!(status(&drawn), 2, "{target}: {remarks}");
        assert!(remarks.contains(wanted), "{target}: {remarks}");
        assert!(all() == before, "{target}: something was written");
    }
    let drawn = sheet(&folder, &["--aerial", &picture, "--aerial-crs", "EPSG:4326"], "ground.svg");
    assert_eq!(status(&drawn), 0, "an SVG has nothing beside it: {}", text(&drawn.stderr));
}

#[test]
fn a_picture_of_a_part_is_drawn_and_the_share_is_told() {
    let folder = Folder::new("aerial-part");
    let (map, picture) = (map(&folder), picture(&folder));
    let job = folder.file("job.toml", JOB);
    // Moved east by half the lawn: its western half is left without.
    let [x, y] = place(250.5, 0.5);
    folder.file("ground.pgw", format!("{PIXEL}\n0\n0\n-{PIXEL}\n{x:.9}\n{y:.9}\n"));
    let plan = folder.path("plan");
    let drawn = turfplat(&[
        "plan",
        &map,
        "--job",
        &job,
        "--out",
        &plan,
        "--aerial",
        &picture,
        "--aerial-crs",
        "EPSG:4326",
    ]);
    let remarks = text(&drawn.stderr);
    assert_eq!(status(&drawn), 0, "{remarks}");
    assert!(
        remarks.contains("ground.png: shows 49 % of the turf")
            || remarks.contains("ground.png: shows 50 % of the turf"),
        "{remarks}"
    );
    let svg = fs::read_to_string(Path::new(&plan).join("spray-map.svg")).unwrap();
    assert!(svg.contains("<image"));
    assert!(fs::metadata(Path::new(&plan).join("spray-map.png")).unwrap().len() > 10_000);
}

#[test]
fn a_map_on_a_plane_takes_a_picture_that_counts_as_it_does() {
    let folder = Folder::new("aerial-plane");
    let lawn = LAWN.to_owned();
    folder.file("map.geojson", collection(&[&lawn]));
    folder.file("job.toml", JOB);
    let picture = picture(&folder);
    // A foot of the map is a foot of the picture.
    folder.file("ground.pgw", "0.25\n0\n0\n-0.25\n-9.875\n79.875\n");
    for (unit, said, code) in
        [("ft", "plane-ft", 0), ("m", "plane-m", 0), ("m", "EPSG:4326", 2), ("m", "plane-ft", 0)]
    {
        let drawn =
            sheet(&folder, &["--plane", unit, "--aerial", &picture, "--aerial-crs", said], "a.svg");
        let remarks = text(&drawn.stderr);
        assert_eq!(status(&drawn), code, "{unit} {said}: {remarks}");
        // A picture in feet of 30 m of a lawn of 100 m shows no more than that.
        assert_eq!(
            remarks.contains("% of the turf"),
            (unit, said) == ("m", "plane-ft"),
            "{remarks}"
        );
    }
}

/// Bytes of a picture with one stretch of them put in another's place wherever it stands.
fn replaced(bytes: &mut [u8], old: &[u8], new: &[u8]) -> usize {
    let places: Vec<usize> =
        (0..=bytes.len() - old.len()).filter(|&at| bytes[at..].starts_with(old)).collect();
    for &at in &places {
        bytes[at..at + new.len()].copy_from_slice(new);
    }
    places.len()
}

/// GeoTIFF may name a system in meters and count in feet (OGC 19-008r4, ProjLinearUnitsGeoKey).
#[test]
fn a_picture_that_counts_in_feet_of_a_system_in_meters_lies_in_the_same_place() {
    let folder = Folder::new("aerial-feet");
    let lawn = square("turf", "Lawn", (100.0, 400.0), (100.0, 400.0));
    folder.file("map.geojson", collection(&[&lawn]));
    folder.file("job.toml", JOB);
    let pictures = root().join("crates/turfplat-aerial/tests/pictures");
    let mut bytes = fs::read(pictures.join("utm-tiles.tif")).unwrap();
    let metres = folder.file("metres.tif", &bytes);
    let words = |unit: u16| [3076_u16, 0, 1, unit].map(u16::to_le_bytes).concat();
    assert_eq!(replaced(&mut bytes, &words(9001), &words(9003)), 1);
    // Size of a pixel, then the place of the upper left corner, as gdalinfo tells them.
    for number in [0.5_f64, 424_059.315_614_626, 4_907_718.185_196_981] {
        let feet = number * 3937.0 / 1200.0;
        let found = replaced(&mut bytes, &number.to_le_bytes(), &feet.to_le_bytes());
        assert!(found > 0, "{number}");
    }
    let feet = folder.file("feet.tif", bytes);
    let drawn = |picture: &str| {
        let drawn = sheet(&folder, &["--aerial", picture], "a.svg");
        assert_eq!(status(&drawn), 0, "{}", text(&drawn.stderr));
        let svg = fs::read_to_string(folder.path("a.svg")).unwrap();
        let image = image_of(&svg);
        let packed = image.split_once("base64,").unwrap().1.split('"').next().unwrap();
        let bytes = base64::Engine::decode(&base64::engine::general_purpose::STANDARD, packed);
        let bytes = std::io::Cursor::new(bytes.unwrap());
        let mut reader = png::Decoder::new(bytes).read_info().unwrap();
        let mut grays = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut grays).unwrap();
        grays
    };
    let (metres, feet) = (drawn(&metres), drawn(&feet));
    let off: u64 = metres.iter().zip(&feet).map(|(a, b)| u64::from(a.abs_diff(*b))).sum();
    assert!(metres.len() == feet.len() && off * 10 < metres.len() as u64, "{off}");
}

/// A crew finds the edge of a lawn by the tree that stands there, on the order as on the sheet.
#[cfg(feature = "pdf")]
#[test]
fn an_order_has_the_picture_beneath_its_map() {
    use super::orders::with_the_engine::{packed, poppler, read};
    let folder = Folder::new("aerial-order");
    let (map, picture) = (map(&folder), picture(&folder));
    let job = folder.file("job.toml", JOB);
    let paper = folder.path("order.pdf");
    let order = |more: &[&str]| {
        let output = turfplat(&[&["work-order", &map, "--job", &job, "-o", &paper], more].concat());
        (status(&output), text(&output.stderr))
    };
    let images = || poppler("pdfimages", &["-list", &paper]).lines().count() - 2;
    let (code, said) = order(&["--aerial", &picture, "--aerial-crs", "EPSG:4326"]);
    assert_eq!(code, 0, "{said}");
    assert_eq!(images(), 1);
    assert!(
        packed(&read(&paper))
            .contains("Beneaththemap:aerialpicture:ground.png,asofitsfile;notasurvey.")
    );
    assert_eq!(order(&[]).0, 0);
    assert_eq!(images(), 0);
    // A picture of another place is refused, and what stood there stays.
    let before = fs::read(&paper).unwrap();
    folder.file("ground.pgw", format!("{PIXEL}\n0\n0\n-{PIXEL}\n-60\n40\n"));
    let (code, said) = order(&["--aerial", &picture, "--aerial-crs", "EPSG:4326"]);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("shows none of the turf"), "{said}");
    assert_eq!(fs::read(&paper).unwrap(), before);
    let over = turfplat(&[
        "work-order",
        &map,
        "--job",
        &job,
        "-o",
        &folder.path("x.pdf"),
        "--aerial-crs",
        "EPSG:4326",
    ]);
    assert_eq!(status(&over), 2);
}
