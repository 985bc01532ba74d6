//! How fast a map is read: the first look over all of it, and each property again.

use std::fmt::Write;

use divan::Bencher;
use divan::counter::BytesCount;
use turfplat_map::{CoordinateSystem, PropertyMap, Source, read};

fn main() {
    divan::main();
}

/// Lots of 14 features of 27 corners each, as a county's file holds them.
fn text(properties: usize) -> String {
    let mut text = String::from("{\"type\":\"FeatureCollection\",\"features\":[\n");
    for property in 0..properties {
        let (longitude, latitude) = (-88.0 + property as f64 * 0.004, 44.0);
        for feature in 0..14 {
            let kind = ["turf", "bed", "building", "hardscape", "water"][feature % 5];
            let comma = if property + feature == 0 { "" } else { ",\n" };
            let _ = write!(
                text,
                r#"{comma}{{"type":"Feature","properties":{{"property":"P{property:06}","kind":"{kind}","name":"Z{feature}"}},"geometry":{{"type":"Polygon","coordinates":[["#
            );
            for corner in 0..=27 {
                let angle = f64::from(corner % 27) / 27.0 * std::f64::consts::TAU;
                let comma = if corner == 0 { "" } else { "," };
                let (x, y) = (longitude + 1e-4 * angle.cos(), latitude + 1e-4 * angle.sin());
                let _ = write!(text, "{comma}[{x:.8},{y:.8}]");
            }
            text.push_str("]]}}");
        }
    }
    text.push_str("\n]}\n");
    text
}

fn source(text: &str) -> Source {
    let bytes = text.as_bytes().to_vec();
    Source::geojson("county.geojson", bytes, CoordinateSystem::AsTheFileSays)
}

const PROPERTIES: usize = 500;

/// All features read, settled and indexed, on as many threads as there are.
#[divan::bench]
fn first_look(bencher: Bencher<'_, '_>) {
    let text = text(PROPERTIES);
    let source = source(&text);
    bencher
        .counter(BytesCount::new(text.len()))
        .bench(|| read(std::slice::from_ref(&source)).map(|map| map.feature_count()));
}

/// Every property read again, one after the other.
#[divan::bench]
fn property_by_property(bencher: Bencher<'_, '_>) {
    let text = text(PROPERTIES);
    let map: PropertyMap = read(&[source(&text)]).unwrap_or_default();
    bencher.counter(BytesCount::new(text.len())).bench(|| {
        let groups = map.properties().iter().filter_map(|it| map.read_property(*it).ok());
        groups.map(|group| group.features.len()).sum::<usize>()
    });
}
