//! Random damage to maps, for as long as `FUZZ_SECONDS` says (by default 2 for each test): nothing
//! panics, nothing is lost unseen, and every account closes. Each reader has a test and seeds of its
//! own. A map that fails is kept in the folder that `FUZZ_FOUND` names, if it names one.

#![allow(clippy::unwrap_used)] // A test may.

use std::env;
use std::fmt::Write;
use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::Path;

use arbitrary::{Result, Unstructured};
use arbtest::arbtest;
use serde::de::IgnoredAny;
use serde_json::Value;
use turfplat::units::Length;
use turfplat::{
    Columns, CoordinateSystem, Kind, MapSource, MeasureOptions, PropertyMap, ReadError, measure,
    open_map, read_map,
};

fn milliseconds() -> u64 {
    let seconds = env::var("FUZZ_SECONDS").ok().and_then(|seconds| seconds.parse().ok());
    seconds.unwrap_or(2_u64) * 1000
}

fn read(text: &[u8], crs: CoordinateSystem) -> std::result::Result<PropertyMap, ReadError> {
    read_map(&[MapSource::geojson("map.geojson", text.to_vec(), crs)])
}

/// A number as files write them, most of them near each other.
fn coordinate(random: &mut Unstructured<'_>, text: &mut String) -> Result<()> {
    match random.int_in_range(0..=30_u8)? {
        0 => text.push_str(random.choose(&[
            "0", "-0", "1e400", "-1e-300", "180", "90", "1e2", "null", "\"7\"", "5E-1",
        ])?),
        1..=3 => write!(text, "{}", f64::from_bits(random.arbitrary()?)).unwrap_or_default(),
        _ => {
            let (whole, part) =
                (random.int_in_range(-9..=9_i8)?, random.int_in_range(0..=9999_u16)?);
            write!(text, "{whole}.{part:04}").unwrap_or_default();
        }
    }
    Ok(())
}

fn position(random: &mut Unstructured<'_>, text: &mut String) -> Result<()> {
    text.push('[');
    coordinate(random, text)?;
    text.push(',');
    coordinate(random, text)?;
    if random.ratio(1, 40)? {
        text.push_str(",2.5");
    }
    text.push(']');
    Ok(())
}

/// Coordinates nested `depth` deep, closed at times.
fn nested(random: &mut Unstructured<'_>, depth: u8, text: &mut String) -> Result<()> {
    if depth == 0 {
        return position(random, text);
    }
    let (start, most) = (text.len(), if depth == 1 { 9 } else { 3 });
    text.push('[');
    for place in 0..random.int_in_range(0..=most)? {
        if place > 0 {
            text.push(',');
        }
        nested(random, depth - 1, text)?;
    }
    if depth == 1 && random.ratio(3, 4)? {
        let first =
            text[start + 1..].find(']').map(|end| text[start + 1..=start + 1 + end].to_owned());
        if let Some(first) = first {
            text.push(',');
            text.push_str(&first);
        }
    }
    text.push(']');
    Ok(())
}

fn geometry(random: &mut Unstructured<'_>, depth: u8, text: &mut String) -> Result<()> {
    const FORMS: [(&str, u8); 6] = [
        ("Polygon", 2),
        ("Point", 0),
        ("LineString", 1),
        ("MultiPoint", 1),
        ("MultiLineString", 2),
        ("MultiPolygon", 3),
    ];
    if random.ratio(1, 30)? {
        text.push_str("null");
        return Ok(());
    }
    if depth < 3 && random.ratio(1, 12)? {
        text.push_str(r#"{"type":"GeometryCollection","geometries":["#);
        geometry(random, depth + 1, text)?;
        text.push_str("]}");
        return Ok(());
    }
    let (form, levels) = if random.ratio(1, 2)? { FORMS[0] } else { *random.choose(&FORMS)? };
    let mut coordinates = String::new();
    nested(random, levels, &mut coordinates)?;
    // The word that says how to take them may come later.
    if random.ratio(1, 6)? {
        write!(text, r#"{{"coordinates": {coordinates}, "type":"{form}"}}"#).unwrap_or_default();
    } else {
        write!(text, r#"{{"type":"{form}","coordinates":{coordinates}}}"#).unwrap_or_default();
    }
    Ok(())
}

fn feature(random: &mut Unstructured<'_>, text: &mut String) -> Result<()> {
    const EXTRAS: [&str; 16] = [
        r#""width_ft":4"#,
        r#""radius_m":1.5"#,
        r#""setback_ft":10"#,
        r#""setback_m":"3""#,
        r#""name":"a \"b\" }{][ \u00e9""#,
        r#""name":"Lawn""#,
        r#""priority":2"#,
        r#""veg_strip_ft":3"#,
        r#""drawn_ft":1"#,
        r#""grade_pct":12"#,
        r#""species":["tall-fescue"]"#,
        r#""condition":"thin""#,
        r#""owner":{"a":[1,{"b":null}]}"#,
        r#""setback":1"#,
        r#""kind":7"#,
        r#""width_ft":-1"#,
    ];
    let kind = if random.ratio(1, 2)? { "turf" } else { random.choose(&Kind::ALL)?.name() };
    write!(text, r#"{{"type":"Feature","properties":{{"kind":"{kind}""#).unwrap_or_default();
    if random.ratio(5, 6)? {
        write!(text, r#","property":"P{}""#, random.int_in_range(0..=4_u8)?).unwrap_or_default();
    }
    for _ in 0..random.int_in_range(0..=2_u8)? {
        write!(text, ",{}", random.choose(&EXTRAS)?).unwrap_or_default();
    }
    text.push_str(r#"},"geometry":"#);
    geometry(random, 0, text)?;
    text.push('}');
    Ok(())
}

fn map_text(random: &mut Unstructured<'_>) -> Result<String> {
    let mut text = String::from(r#"{"type":"FeatureCollection","features":["#);
    let between = *random.choose(&[",", ",\n", " ,\r\n "])?;
    for place in 0..random.int_in_range(0..=12_u8)? {
        if place > 0 {
            text.push_str(between);
        }
        feature(random, &mut text)?;
    }
    text.push_str("]}");
    Ok(text)
}

/// The text with a few bytes lost, added, doubled or changed.
fn damaged(random: &mut Unstructured<'_>, text: &str) -> Result<Vec<u8>> {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..random.int_in_range(1..=3_u8)? {
        let at = random.int_in_range(0..=bytes.len() - 1)?;
        let end = bytes.len().min(at + random.int_in_range(0..=30_usize)?);
        match random.int_in_range(0..=5_u8)? {
            0 => drop(bytes.drain(at..end)),
            1 => bytes.insert(at, *random.choose(b"{}[]\",:\\\n 0e-.\xff")?),
            2 => bytes[at] = *random.choose(b"{}[]\",:\\\n 0e-.\xff")?,
            3 => drop(bytes.remove(at)),
            4 => {
                let again = bytes[at..end].to_vec();
                bytes.splice(at..at, again);
            }
            _ => bytes.truncate(at.max(1)),
        }
        if bytes.is_empty() {
            bytes.push(b' ');
        }
    }
    Ok(bytes)
}

/// Features that can be read, and those that have a problem.
fn counts(map: &PropertyMap) -> (usize, usize) {
    (map.feature_count(), map.problems().len())
}

fn is_wide(value: &Value) -> bool {
    match value {
        Value::Number(number) => number.as_f64().is_none_or(|number| number.abs() > 2_500.0),
        Value::Array(values) => values.iter().any(is_wide),
        Value::Object(members) => members.values().any(is_wide),
        _ => false,
    }
}

/// What serde_json takes for JSON is split as serde_json splits it; of what it does not something is told.
#[test]
fn nothing_of_a_damaged_file_is_lost_unseen() {
    arbtest(|random| {
        let whole = map_text(random)?;
        let bytes = if random.ratio(1, 4)? { whole.into_bytes() } else { damaged(random, &whole)? };
        let files = [("map.geojson".to_owned(), bytes.clone())];
        keeping("splitter", &files, || {
            let read = read(&bytes, CoordinateSystem::PLANE_METRES);
            // As a text: a number beyond all doubles is JSON too.
            let json = serde_json::from_slice::<IgnoredAny>(&bytes)
                .map(|_| serde_json::from_slice::<Value>(&bytes).unwrap_or_default());
            match (&json, &read) {
                (Err(error), Ok(map)) => {
                    assert!(
                        !map.problems().is_empty(),
                        "{error}: {}",
                        String::from_utf8_lossy(&bytes)
                    );
                }
                (Ok(json), Ok(map)) => {
                    if json["type"] == "FeatureCollection" {
                        let features = json["features"].as_array().map_or(0, Vec::len);
                        let (good, _) = counts(map);
                        let bad: std::collections::BTreeSet<_> = map
                            .problems()
                            .iter()
                            .filter_map(|problem| Some(problem.error.place()?.order()))
                            .collect();
                        assert!(
                            good <= features && good + bad.len() >= features,
                            "{good} {bad:?} {features}: {}",
                            String::from_utf8_lossy(&bytes)
                        );
                    }
                }
                (_, Err(error)) => assert!(error.to_string().starts_with("map.geojson"), "{error}"),
            }
        });
        Ok(())
    })
    .size_min(64)
    .size_max(4096)
    .budget_ms(milliseconds());
}

/// Whatever was drawn, every account closes, and the outline from the overlay is as large as the
/// sweep says: no larger, and smaller by no more than the chords of its arcs.
#[test]
fn whatever_is_drawn_every_account_closes() {
    let feet = |feet| Length::from_feet(feet).unwrap();
    let options = MeasureOptions {
        setbacks: [(Kind::Water, feet(25.0)), (Kind::Well, feet(10.0)), (Kind::Bed, feet(1.0))]
            .into(),
        ..MeasureOptions::default()
    };
    arbtest(|random| {
        let text = map_text(random)?;
        let crs = if random.arbitrary()? {
            CoordinateSystem::PLANE_METRES
        } else {
            CoordinateSystem::AsTheFileSays
        };
        let files = [("map.geojson".to_owned(), text.clone().into_bytes())];
        keeping("sweep", &files, || {
            let Ok(map) = read(text.as_bytes(), crs) else { return };
            // The overlay's grid is fine enough for what is below 5 km across.
            let is_wide = serde_json::from_str(&text).map_or(true, |value| is_wide(&value));
            let measured = measure(&map, &options);
            for refusal in &measured.refusals {
                assert!(
                    refusal.reasons.iter().all(|reason| !reason.contains("changed while")),
                    "{text}"
                );
            }
            for plat in &measured.plats {
                for (index, zone) in plat.zones.iter().enumerate() {
                    let gross = zone.gross.square_metres();
                    let lost: f64 = zone.lost.iter().map(|loss| loss.area.square_metres()).sum();
                    let net = zone.net.square_metres();
                    assert!(gross.is_finite() && net >= 0.0, "{text}");
                    assert!(
                        (gross - net - lost).abs() <= 1e-6 * gross.max(1e-6),
                        "{gross} {net} {lost}: {text}"
                    );
                    if is_wide {
                        continue;
                    }
                    // The overlay's grid along all edges; outlines of setbacks go up to 5 mm farther, along
                    // all that is left and on both sides of what is too thin for it.
                    let outline = plat.outline(index).square_metres();
                    let grid = 1e-6 * gross + 1e-3;
                    let arcs = 0.02 * zone.perimeter.metres();
                    assert!(outline <= net + grid, "{outline} {net}: {text}");
                    assert!(outline >= net - grid - arcs, "{outline} {net}: {text}");
                }
            }
        });
        Ok(())
    })
    .size_min(64)
    .size_max(4096)
    .budget_ms(milliseconds());
}

/// A map as it is before damage: its first file, and what belongs to it.
type Seed = Vec<(String, Vec<u8>)>;

/// Files of this package, by their paths in it.
fn files(paths: &[&str]) -> Seed {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let read = |path: &&str| {
        let name = Path::new(path).file_name().unwrap().to_str().unwrap();
        (name.to_owned(), fs::read(root.join(path)).unwrap())
    };
    paths.iter().map(read).collect()
}

fn text(name: &str, text: &str) -> Seed {
    vec![(name.to_owned(), text.as_bytes().to_vec())]
}

/// Cuts a file off, or changes some of its bytes.
fn damage(random: &mut Unstructured<'_>, bytes: &mut Vec<u8>) -> Result<()> {
    if bytes.is_empty() {
        return Ok(());
    }
    if random.ratio(1, 5)? {
        bytes.truncate(random.int_in_range(0..=bytes.len())?);
        return Ok(());
    }
    for _ in 0..random.int_in_range(1..=6_u8)? {
        let at = random.int_in_range(0..=bytes.len() - 1)?;
        match random.int_in_range(0..=5_u8)? {
            0 => bytes[at] = random.arbitrary()?,
            1 => bytes[at] ^= 1 << random.int_in_range(0..=7_u8)?,
            2 => bytes[at] = *random.choose(&[0, 0xff, 0x7f, b'<', b'"', b',', b'9', b'\n'])?,
            3 => drop(bytes.drain(at..bytes.len().min(at + random.int_in_range(1..=40)?))),
            4 => {
                let some = bytes[at..bytes.len().min(at + 30)].to_vec();
                let to = random.int_in_range(0..=bytes.len() - 1)?;
                drop(bytes.splice(to..to, some));
            }
            // Numbers of four bytes, as lengths and counts are.
            _ => {
                let number: u32 = *random.choose(&[0, 1, u32::MAX, 1 << 31, 1 << 16, 7])?;
                for (byte, place) in number.to_le_bytes().into_iter().zip(at..bytes.len()) {
                    bytes[place] = byte;
                }
            }
        }
        if bytes.is_empty() {
            break;
        }
    }
    Ok(())
}

/// Runs a check of some files. If it panics they are kept in the folder that `FUZZ_FOUND` names.
fn keeping(reader: &str, files: &[(String, Vec<u8>)], check: impl FnOnce()) {
    let Err(panic) = catch_unwind(AssertUnwindSafe(check)) else { return };
    if let Some(folder) = env::var_os("FUZZ_FOUND") {
        let mut hasher = DefaultHasher::new();
        files.hash(&mut hasher);
        let folder = Path::new(&folder).join(format!("{reader}-{:016x}", hasher.finish()));
        fs::create_dir_all(&folder).unwrap();
        for (name, bytes) in files {
            fs::write(folder.join(name), bytes).unwrap();
        }
    }
    resume_unwind(panic)
}

/// Damaged, a map is read or refused, in bounded time, and what is read closes.
fn read_or_refused(reader: &str, seeds: &[Seed]) {
    arbtest(|random| {
        let mut files = random.choose(seeds)?.clone();
        let hit = random.int_in_range(0..=files.len() - 1)?;
        damage(random, &mut files[hit].1)?;
        let columns = match random.int_in_range(0..=2_u8)? {
            0 => Columns::default(),
            1 => Columns::default().with_kind_from("kind"),
            _ => Columns::read("kinds.toml", "radius_m = 1\nwidth_m = 1\n[kind.'*']\n'*' = 'turf'")
                .unwrap(),
        };
        keeping(reader, &files, || {
            let folder = tempfile::tempdir().unwrap();
            for (name, bytes) in &files {
                fs::write(folder.path().join(name), bytes).unwrap();
            }
            let first = folder.path().join(&files[0].0);
            let started = std::time::Instant::now();
            let read = open_map(&first, &CoordinateSystem::AsTheFileSays, &columns)
                .and_then(|sources| read_map(&sources));
            match read {
                Ok(map) => closes(&map),
                Err(error) => {
                    let told = error.to_string();
                    assert!(told.starts_with(first.to_str().unwrap()), "{told}");
                }
            }
            assert!(started.elapsed().as_secs() < 20, "{first:?}");
        });
        Ok(())
    })
    .size_min(64)
    .size_max(4096)
    .budget_ms(milliseconds());
}

/// Holds every zone to its own account.
fn closes(map: &PropertyMap) {
    for plat in measure(map, &MeasureOptions::default()).plats {
        for zone in &plat.zones {
            let lost: f64 = zone.lost.iter().map(|loss| loss.area.square_metres()).sum();
            let gross = zone.gross.square_metres();
            let off = gross - zone.net.square_metres() - lost;
            assert!(off.abs() <= 1e-6 * gross.max(1e-6), "{}: {gross} {lost}", zone.name);
        }
    }
}

#[test]
fn geojson_and_sequences() {
    let one = |path| files(&[path]);
    read_or_refused(
        "geojson",
        &[
            one("maps/prop_h_single_lot.geojson"),
            one("maps/single_lot/crs-member.geojson"),
            one("maps/single_lot/lines.geojsonl"),
            one("maps/single_lot/sequence.geojsons"),
            one("fixtures/geojson/good-feature-with-id.geojson"),
            one("fixtures/geojson/good-featurecollection-extensions.geojson"),
            one("fixtures/geojson/good-geometrycollection.geojson"),
        ],
    );
}

#[test]
fn shapefiles() {
    let lot = |ending| format!("maps/sp_2289_single_lot_poly.{ending}");
    let parts = ["shp", "dbf", "shx", "prj", "cpg"].map(lot);
    let points = ["shp", "dbf", "shx", "prj"]
        .map(|ending| format!("maps/sp_2289_single_lot_point.{ending}"));
    let of = |parts: &[String]| files(&parts.iter().map(String::as_str).collect::<Vec<_>>());
    read_or_refused("shapefile", &[of(&parts), of(&points)]);
}

#[test]
fn archives() {
    let one = |path| files(&[path]);
    read_or_refused(
        "archive",
        &[
            one("maps/single_lot/lot.kmz"),
            one("maps/sp_2289_single_lot_poly.zip"),
            one("maps/sp_2289_single_lot_line.zip"),
            one("fixtures/kml/polygon.kmz"),
        ],
    );
}

#[test]
fn kml() {
    read_or_refused(
        "kml",
        &[
            files(&["maps/prop_h_single_lot.kml"]),
            files(&["fixtures/kml/style-merging.kml"]),
            text(
                "track.kml",
                "<kml xmlns='http://www.opengis.net/kml/2.2' xmlns:gx='http://www.google.com/kml/ext/2.2'><Placemark><ExtendedData><Data name='kind'><value>water</value></Data></ExtendedData><MultiGeometry><gx:Track><gx:coord>1 2 3</gx:coord><gx:coord>1.001 2 3</gx:coord></gx:Track><Point><coordinates>1,2</coordinates></Point></MultiGeometry></Placemark></kml>",
            ),
        ],
    );
}

#[test]
fn gpx() {
    read_or_refused(
        "gpx",
        &[
            files(&["maps/single_lot/wells.gpx"]),
            files(&["fixtures/gpx/viking_with_route_extensions.gpx"]),
            files(&["fixtures/gpx/with_accuracy.gpx"]),
            text(
                "walk.gpx",
                "<gpx version='1.1'><trk><name>Lawn</name><type>turf</type><trkseg><trkpt lat='44.24' lon='-88.43'/><trkpt lat='44.24' lon='-88.429'/><trkpt lat='44.2408' lon='-88.429'/><trkpt lat='44.24' lon='-88.43'/></trkseg></trk></gpx>",
            ),
        ],
    );
}

#[cfg(feature = "proj")]
#[test]
fn geopackages() {
    let one = |path| files(&[path]);
    read_or_refused(
        "geopackage",
        &[
            one("maps/prop_h_single_lot_utm16.gpkg"),
            one("maps/single_lot/layers-3857.gpkg"),
            one("fixtures/pyogrio/line_zm.gpkg"),
            one("fixtures/pyogrio/multisurface.gpkg"),
        ],
    );
}

#[test]
fn tables() {
    read_or_refused(
        "table",
        &[
            files(&["maps/single_lot/wells.csv"]),
            text(
                "rows.csv",
                "kind;name;easting;northing\nturf;\"a;\"\"b\";480000,5;4898000\nwell;w;480001;4898001\n",
            ),
        ],
    );
}

/// Well-known text and binary, as tables carry them.
#[test]
fn well_known_text_and_binary() {
    read_or_refused(
        "well-known",
        &[
            files(&["maps/single_lot/wkt.csv"]),
            text(
                "forms.csv",
                "kind,wkt\nturf,\"SRID=4326;MULTIPOLYGON(((-88.43 44.24,-88.429 44.24,-88.429 44.241,-88.43 44.24),(-88.4293 44.2402,-88.4292 44.2402,-88.4292 44.2403,-88.4293 44.2402)))\"\nwater,\"LINESTRING Z (-88.43 44.24 1,-88.42 44.24 2)\"\nwell,POINT EMPTY\nbed,\"GEOMETRYCOLLECTION(POINT(-88.43 44.24),POLYGON((-88.43 44.24,-88.429 44.24,-88.429 44.241,-88.43 44.24)))\"\n",
            ),
            text(
                "binary.csv",
                concat!(
                    "kind,geom\nturf,01030000000100000004000000ec51b81e851b56c01f85eb51b81e4640fa7e6abc741b56c01f85eb51b81e4640fa7e6abc741b56c0022b8716d91e4640ec51b81e851b56c01f85eb51b81e4640\n",
                    "bed,0103000020e61000000100000004000000ec51b81e851b56c01f85eb51b81e4640fa7e6abc741b56c01f85eb51b81e4640fa7e6abc741b56c0022b8716d91e4640ec51b81e851b56c01f85eb51b81e4640\n",
                ),
            ),
        ],
    );
}

#[test]
fn tape_sheets() {
    read_or_refused(
        "tape",
        &[
            files(&["../examples/tape-sheet.toml"]),
            text(
                "rows.csv",
                "figure,kind,name,length,width,radius\nrectangle,turf,Front,60,42 ft 6 in,\ncircle,turf,Round,,,6\n",
            ),
        ],
    );
}
