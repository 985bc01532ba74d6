//! The command end to end: answers, files, exit statuses.

#![allow(clippy::unwrap_used)] // A test may.

mod aerial;
mod answers;
mod buying;
mod calibrate;
mod day;
mod doses;
mod jobs;
mod maps;
mod orders;
mod posting;
mod quote_papers;
mod quotes;
mod records;
mod reference;
mod seasons;
mod stale;
mod walked_orders;
mod walks;
mod windows;
mod winds;

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;

/// A folder that goes away with the test.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("turfplat-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&path);
        fs::create_dir_all(&path).unwrap();
        Folder(path)
    }

    fn file(&self, name: &str, text: impl AsRef<[u8]>) -> String {
        let path = self.0.join(name);
        fs::write(&path, text).unwrap();
        path.display().to_string()
    }

    fn path(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn demo(name: &str) -> String {
    root().join("examples/demo").join(name).display().to_string()
}

fn turfplat(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_turfplat")).args(args).output().unwrap()
}

fn status(output: &Output) -> i32 {
    let remarks = String::from_utf8_lossy(&output.stderr);
    assert!(!remarks.contains("panicked"), "{remarks}");
    output.status.code().unwrap()
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

const LAWN: &str = r#"{"type":"Feature","properties":{"kind":"turf","name":"Lawn","species":"tall-fescue"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[100,0],[100,50],[0,50],[0,0]]]}}"#;

fn lawn_of(property: &str, west: f64) -> String {
    let east = west + 100.0;
    format!(
        r#"{{"type":"Feature","properties":{{"kind":"turf","name":"Lawn","species":"tall-fescue","property":"{property}"}},"geometry":{{"type":"Polygon","coordinates":[[[{west},0],[{east},0],[{east},50],[{west},50],[{west},0]]]}}}}"#
    )
}

fn collection(features: &[&str]) -> String {
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","))
}

const JOB: &str = r#"
[equipment.knapsack]
kind = "backpack"
tank = "4 gal"
spray_volume = "1 gal/1000 sq ft"
[[application]]
name = "June"
equipment = "knapsack"
[[application.product]]
product = "trinexapac-ethyl-1-ec"
rate = "0.5 fl oz/1000 sq ft"
label_checked = "2026-05-02"
"#;
