//! A sheet as our own PNG and on a page of PDF that poppler rasters: two rasterers that know nothing of
//! each other must show one picture, hatches, letters and all.

#![allow(clippy::unwrap_used)] // A test may.

#[path = "../../turfplat-sheet/tests/invented/mod.rs"]
mod invented;

use std::fs;
use std::io::Cursor;
use std::process::Command;

use serde_json::json;
use turfplat_pdf::{Template, render};
use turfplat_sheet::{Page, SprayMap, png, svg};

/// US Letter (ANSI Y14.1, size A) at this many dots an inch.
const DOTS: &str = "100";
const PAGE: (usize, usize) = (850, 1100);

/// Gray dots, row by row.
struct Gray {
    width: usize,
    dots: Vec<f64>,
}

impl Gray {
    /// Squares of so many dots made one.
    fn coarser(&self, by: usize) -> Gray {
        let (width, height) = (self.width / by, self.dots.len() / self.width / by);
        let square = |at: usize| {
            let (x, y) = (at % width * by, at / width * by);
            let rows = (y..y + by).map(|row| &self.dots[row * self.width + x..][..by]);
            rows.flatten().sum::<f64>() / (by * by) as f64
        };
        Gray { width, dots: (0..width * height).map(square).collect() }
    }
}

/// As our own rasterer draws it, made smaller.
fn ours(map: &SprayMap) -> Gray {
    let bytes = png(&svg(map, Page::Letter), Page::Letter).unwrap();
    let mut reader = png::Decoder::new(Cursor::new(bytes)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    assert_eq!((info.width as usize, info.height as usize), (3 * PAGE.0, 3 * PAGE.1));
    let samples = info.color_type.samples();
    // Gray as poppler reckons it, from red, green and blue (ITU-R BT.601).
    let gray = |dot: &[u8]| match *dot {
        [r, g, b, ..] => 0.299 * f64::from(r) + 0.587 * f64::from(g) + 0.114 * f64::from(b),
        _ => panic!("a picture in colors"),
    };
    let dots = pixels[..info.buffer_size()].chunks(samples).map(gray).collect();
    Gray { width: info.width as usize, dots }.coarser(3)
}

/// As poppler shows the page on which the same drawing stands.
fn on_paper(map: &SprayMap) -> Gray {
    let template = Template::own(
        "own.typ",
        "#set document(title: \"x\")\n#set page(width: 612pt, height: 792pt, margin: 0pt)\n#image(\"map.svg\", width: 612pt, height: 792pt, alt: \"x\")",
    );
    let drawing = svg(map, Page::Letter);
    let paper = render(&template, &json!({}), &[("map.svg", drawing.as_bytes())]).unwrap();
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("paper.pdf"), paper.bytes).unwrap();
    let words = ["-r", DOTS, "-gray", "-singlefile", "paper.pdf", "page"];
    let ran = Command::new("pdftoppm").args(words).current_dir(folder.path()).status();
    assert!(ran.expect("poppler's commands; scripts/prepare --tests brings them").success());
    let pgm = fs::read(folder.path().join("page.pgm")).unwrap();
    // Of a PGM picture (binary, 8 bits) all but the head is dots.
    let (width, height) = PAGE;
    assert!(pgm.starts_with(format!("P5\n{width} {height}\n255\n").as_bytes()), "another size");
    let dots = pgm[pgm.len() - width * height..].iter().map(|dot| f64::from(*dot)).collect();
    Gray { width, dots }
}

/// By how much the gray of dots differs on the whole, of 255, and the share of dots that are another gray
/// altogether once both are blurred over a few dots, so that an edge may lie half a dot aside.
fn apart(a: &Gray, b: &Gray) -> (f64, f64) {
    let differences = |a: &Gray, b: &Gray| -> Vec<f64> {
        a.dots.iter().zip(&b.dots).map(|(a, b)| (a - b).abs()).collect()
    };
    let all = differences(a, b);
    let coarse = differences(&a.coarser(5), &b.coarser(5));
    let other = coarse.iter().filter(|it| **it > 24.0).count();
    (all.iter().sum::<f64>() / all.len() as f64, other as f64 / coarse.len() as f64)
}

#[test]
fn poppler_shows_the_page_as_our_picture_does() {
    let maps = [("home", invented::home()), ("all kinds", invented::all_kinds())];
    for (name, map) in &maps {
        let (ours, paper) = (ours(map), on_paper(map));
        let (mean, other) = apart(&ours, &paper);
        // Letters lie up to half a dot aside: 5 of 255 and 1 % were measured, 32 and 40 % of two sheets.
        assert!(mean < 10.0 && other < 0.02, "{name}: {mean:.2} of 255, {other:.4} of the dots");
    }
    // The measure sees a sheet that is another.
    let (mean, other) = apart(&ours(&maps[0].1), &on_paper(&maps[1].1));
    assert!(mean > 20.0 && other > 0.2, "{mean:.2}, {other:.4}");
}
