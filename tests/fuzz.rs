//! Random damage to maps, for as long as `FUZZ_SECONDS` says (by default 2 for each test): nothing
//! panics, nothing is lost unseen, and every account closes.

#![allow(clippy::unwrap_used)] // A test may.

use std::env;
use std::fmt::Write;
use std::fs;
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
        let read = read(&bytes, CoordinateSystem::PLANE_METRES);
        // As a text: a number beyond all doubles is JSON too.
        let json = serde_json::from_slice::<IgnoredAny>(&bytes)
            .map(|_| serde_json::from_slice::<Value>(&bytes).unwrap_or_default());
        match (&json, &read) {
            (Err(error), Ok(map)) => {
                assert!(!map.problems().is_empty(), "{error}: {}", String::from_utf8_lossy(&bytes));
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
        let Ok(map) = read(text.as_bytes(), crs) else { return Ok(()) };
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
        Ok(())
    })
    .size_min(64)
    .size_max(4096)
    .budget_ms(milliseconds());
}

/// Files of every format, each with what belongs to it.
const CORPUS: [&[&str]; 13] = [
    &["prop_h_single_lot.kml"],
    &["prop_h_single_lot_utm16.gpkg"],
    &["single_lot/layers-3857.gpkg"],
    &["single_lot/lot.kmz"],
    &["single_lot/lines.geojsonl"],
    &["single_lot/sequence.geojsons"],
    &["single_lot/wkt.csv"],
    &["single_lot/wells.csv"],
    &["single_lot/wells.gpx"],
    &["single_lot/crs-member.geojson"],
    &["sp_2289_single_lot_poly.zip"],
    &[
        "sp_2289_single_lot_poly.shp",
        "sp_2289_single_lot_poly.dbf",
        "sp_2289_single_lot_poly.shx",
        "sp_2289_single_lot_poly.prj",
        "sp_2289_single_lot_poly.cpg",
    ],
    &["../../examples/tape-sheet.toml"],
];

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

/// A damaged file of any format is read or refused, in bounded time, and what is read closes.
#[test]
fn every_format_is_read_or_refused() {
    let maps = Path::new(env!("CARGO_MANIFEST_DIR")).join("maps");
    let folder = tempfile::tempdir().unwrap();
    arbtest(|random| {
        let files = *random.choose(&CORPUS)?;
        let hit = random.int_in_range(0..=files.len() - 1)?;
        for (place, file) in files.iter().enumerate() {
            let mut bytes = fs::read(maps.join(file)).unwrap();
            if place == hit {
                damage(random, &mut bytes)?;
            }
            let name = Path::new(file).file_name().unwrap();
            fs::write(folder.path().join(name), bytes).unwrap();
        }
        let first = folder.path().join(Path::new(files[0]).file_name().unwrap());
        let crs = CoordinateSystem::AsTheFileSays;
        let started = std::time::Instant::now();
        let columns = if random.arbitrary()? {
            Columns::default()
        } else {
            Columns::default().with_kind_from("kind")
        };
        let read = open_map(&first, &crs, &columns).and_then(|sources| read_map(&sources));
        if let Ok(map) = read {
            for plat in measure(&map, &MeasureOptions::default()).plats {
                for zone in &plat.zones {
                    let lost: f64 = zone.lost.iter().map(|loss| loss.area.square_metres()).sum();
                    let gross = zone.gross.square_metres();
                    let off = gross - zone.net.square_metres() - lost;
                    assert!(off.abs() <= 1e-6 * gross.max(1e-6), "{first:?}");
                }
            }
        }
        assert!(started.elapsed().as_secs() < 20, "{first:?}");
        Ok(())
    })
    .size_min(64)
    .size_max(4096)
    .budget_ms(milliseconds());
}
