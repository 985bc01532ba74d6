//! A dozen sheets as they were when somebody last looked at them. A change that was meant is
//! accepted with `ACCEPT_GOLDENS=1 cargo test -p turfplat-sheet --test goldens`; look at the
//! pictures (`look.rs`) before that.

use std::path::{Path, PathBuf};
use std::{env, fs};

use turfplat_sheet::{Beside, Page, SprayMap, plate, sheets, strip_svg, svg};

mod invented;

/// Path data longer than this, mostly hatches, stand in a golden by their beginning, their length
/// and their checksum: the files stay small enough to be read.
const LONGEST: usize = 160;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/goldens")
}

/// FNV-1a, 64 bits. Source: Fowler, Noll and Vo, RFC 9923, section 2.
fn checksum(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |sum, byte| {
        (sum ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// The sheet without its fonts, with long path data in short.
fn golden(svg: &str) -> String {
    let mut out = String::new();
    for line in svg.lines().filter(|line| !line.starts_with("<style>")) {
        match line.split_once(" d=\"").and_then(|(head, rest)| {
            let (data, tail) = rest.split_once('"')?;
            (data.len() > LONGEST).then_some((head, data, tail))
        }) {
            Some((head, data, tail)) => {
                let (begin, length, sum) = (&data[..60], data.len(), checksum(data));
                out.push_str(&format!("{head} d=\"{begin}… {length} {sum:016x}\"{tail}\n"));
            }
            None => {
                out.push_str(line);
                out.push('\n');
            }
        }
    }
    out
}

fn all() -> Vec<(&'static str, String)> {
    let letter = |map: &SprayMap| svg(map, Page::Letter);
    let campus = sheets(&invented::campus(), Page::Letter);
    let (overview, part) = (campus[0].svg.clone(), campus[1].svg.clone());
    let key = campus[campus.len() - 1].svg.clone();
    vec![
        ("tiny-lot", svg(&invented::tiny(), Page::A4)),
        ("home", letter(&invented::home())),
        ("home-in-meters", svg(&invented::metric(invented::home()), Page::A4)),
        ("home-on-a-screen", svg(&invented::home(), Page::Screen)),
        ("home-alone", plate(&invented::home(), (540.0, 400.0), Beside::Nothing).svg),
        ("forty-zones", letter(&invented::forty())),
        ("campus-overview", overview),
        ("campus-part", part),
        ("campus-key", key),
        ("ring-lawn", letter(&invented::ring_lawn())),
        ("all-kinds", letter(&invented::all_kinds())),
        ("zone-lost", letter(&invented::zone_lost())),
        ("nothing-to-treat", letter(&invented::nothing_to_treat())),
        ("beside-neighbors", letter(&invented::beside_neighbours())),
        ("nothing-at-all", letter(&invented::empty())),
        ("hours-to-spray", strip_svg(&invented::hours())),
    ]
}

#[test]
fn sheets_are_as_they_were_last_looked_at() {
    let accept = env::var_os("ACCEPT_GOLDENS").is_some();
    let mut changed = Vec::new();
    for (name, svg) in all() {
        let now = golden(&svg);
        let path = folder().join(format!("{name}.svg.txt"));
        if accept {
            fs::create_dir_all(folder()).unwrap();
            fs::write(&path, &now).unwrap();
            continue;
        }
        let then = fs::read_to_string(&path).unwrap_or_default();
        let apart = then.lines().zip(now.lines()).enumerate().find(|(_, (then, now))| then != now);
        if let Some((line, (then, now))) = apart {
            changed.push(format!("{name}, line {}:\n- {then}\n+ {now}", line + 1));
        } else if then.lines().count() != now.lines().count() {
            changed.push(format!("{name}: lines were added or taken off at the end"));
        }
    }
    assert!(
        changed.is_empty(),
        "{}\nlook at the pictures, then accept with ACCEPT_GOLDENS=1",
        changed.join("\n")
    );
}

#[test]
fn a_golden_tells_two_hatches_apart() {
    let line = |end: &str| format!("<path d=\"{}{end}\" fill=\"none\"/>\n", "M0 0L1 1".repeat(40));
    assert!(golden(&line("M2 2")).len() < LONGEST);
    assert_ne!(golden(&line("M2 2")), golden(&line("M2 3")));
}
