//! What is set is read back by poppler's commands, which know nothing of the engine.

#![allow(clippy::unwrap_used)] // A test may.

use std::fs;
use std::process::Command;

use proptest::prelude::*;
use serde_json::{Value, json};
use turfplat_pdf::{Pdf, PdfError, Template, render};

/// Prints every name as a template of a user may.
const NAMES: &str = r#"
#let data = json("data.json")
#set document(title: "Names")
#set text(font: "Inter", lang: "en", features: (calt: 0), ligatures: false)
= Names
#for name in data.names { par(name) }
#for name in data.names { block(width: 60pt, name) }
"#;

fn set(template: &str, data: &Value) -> Result<Pdf, PdfError> {
    render(&Template::own("names.typ", template), data, &[])
}

/// Runs one of poppler's commands on a PDF; `-` among the words is the file.
fn poppler(command: &str, words: &[&str], pdf: &[u8]) -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("paper.pdf");
    fs::write(&file, pdf).unwrap();
    let words = words.iter().map(|word| if *word == "-" { file.to_str().unwrap() } else { word });
    let output = Command::new(command).args(words).current_dir(folder.path()).output();
    let output = output.expect("poppler's commands; scripts/prepare --tests brings them");
    assert!(output.status.success(), "{command}");
    match command {
        "pdftoppm" => fs::read(folder.path().join("page.pgm")).unwrap(),
        _ => output.stdout,
    }
}

fn text_of(pdf: &[u8]) -> String {
    String::from_utf8(poppler("pdftotext", &["-raw", "-", "/dev/stdout"], pdf)).unwrap()
}

/// Without blanks, which stand where lines are broken.
fn packed(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace() && *c != '\u{200b}').collect()
}

#[test]
fn whatever_a_name_holds_is_text() {
    let long = "x".repeat(2000);
    let names = [
        r##"#eval("1 + 1")"##,
        "*bold* _it_ `raw`",
        "$x^2$",
        "a ] b [ c",
        "@ref <label>",
        r"\u{1F33F} \\ \#",
        "= Heading",
        "// not /* a comment */",
        "-- --- ... ~ 'a' \"b\"",
        "https://example.org/#x",
        "#{ panic() }",
        "fi ffl -> => 4x4 (c) 1/2",
        &long,
    ];
    let pdf = set(NAMES, &json!({ "names": names })).unwrap();
    let read = packed(&text_of(&pdf.bytes));
    for name in names {
        let times = read.matches(&packed(name)).count();
        assert!(times >= 2, "{times} times {name}");
    }
    // A long word is broken and stays on the paper, which poppler cuts nothing off.
    let boxes = poppler("pdftotext", &["-bbox", "-", "/dev/stdout"], &pdf.bytes);
    for place in String::from_utf8(boxes).unwrap().split("xMax=\"").skip(1) {
        let right: f64 = place.split('"').next().unwrap().parse().unwrap();
        assert!(right <= 595.3, "{right}");
    }
}

#[test]
fn letters_that_no_font_has_are_seen_to_be_missing() {
    let data = json!({ "names": ["中文 lawn", "מדשאה 7", "🌿", "Газон", "Rasen für Ärzte"] });
    let pdf = set(NAMES, &data).unwrap();
    let read = text_of(&pdf.bytes);
    for seen in ["□□ lawn", "□□□□□ 7", "Газон", "Rasen für Ärzte"] {
        assert!(read.contains(seen), "{seen}: {read}");
    }
}

#[test]
fn the_same_data_make_the_same_bytes_and_bear_their_own_date() {
    let dated = json!({ "names": ["Back lawn"], "date": "2026-06-08" });
    let once = set(NAMES, &dated).unwrap();
    assert_eq!(once.bytes, set(NAMES, &dated).unwrap().bytes);
    assert!(once.accessible && once.pages == 1);
    let told = |pdf: &Pdf| text_of_info(&pdf.bytes);
    assert!(
        told(&once).contains("CreationDate:    Mon Jun  8 12:00:00 2026 UTC"),
        "{}",
        told(&once)
    );
    for undated in [json!({ "names": [] }), json!({ "names": [], "date": "soon" })] {
        let pdf = set(NAMES, &undated).unwrap();
        assert!(told(&pdf).contains("Sat Jan  1 00:00:00 2000"), "{}", told(&pdf));
    }
}

fn text_of_info(pdf: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("paper.pdf");
    fs::write(&file, pdf).unwrap();
    let output = Command::new("pdfinfo").arg(&file).env("TZ", "UTC").output().unwrap();
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn it_is_an_archives_pdf_with_tags_a_title_a_language_and_its_fonts() {
    let pdf = set(NAMES, &json!({ "names": ["Back lawn"] })).unwrap();
    let info = text_of_info(&pdf.bytes);
    for told in ["Title:           Names", "Tagged:          yes", "PDF version:     1.7"] {
        assert!(info.contains(told), "{told}: {info}");
    }
    let raw = String::from_utf8_lossy(&pdf.bytes).into_owned();
    // ISO 19005-2, 6.6.4, and ISO 14289-1, 5: how a file says which standard it keeps.
    for told in ["<pdfaid:part>2", "<pdfaid:conformance>B", "<pdfuaid:part>1", "/Lang(en"] {
        assert!(raw.contains(told), "{told}");
    }
    let fonts = String::from_utf8(poppler("pdffonts", &["-"], &pdf.bytes)).unwrap();
    let rows: Vec<&str> = fonts.lines().skip(2).collect();
    assert!(!rows.is_empty(), "{fonts}");
    for row in rows {
        // The columns emb, sub and uni: embedded, cut down, and readable as text.
        assert!(row.contains("Inter") && row.contains("yes yes yes"), "{row}");
    }
}

#[test]
fn what_is_wrong_with_a_template_is_said_by_its_line() {
    let place = |template: &str| match set(template, &json!({})) {
        Err(PdfError::Template { file, line, reason, .. }) => (file, line, reason),
        other => panic!("{other:?}"),
    };
    let (file, line, reason) = place("ok\n\n#let x = (1,\n");
    assert_eq!((file.as_str(), line), ("names.typ", 3), "{reason}");
    let (_, line, reason) = place("one\n#json(\"data.json\").missing");
    assert!(line == 2 && reason.contains("missing"), "{reason}");
    let (_, line, reason) = place("\n\n\n#unknown()");
    assert!(line == 4 && reason.contains("unknown variable: unknown"), "{reason}");
    let error = set("a\n#panic(\"x\")", &json!({})).unwrap_err().to_string();
    assert!(error.starts_with("names.typ, line 2, column 2: "), "{error}");
}

#[test]
fn a_template_reaches_nothing_but_what_it_is_handed() {
    let folder = tempfile::tempdir().unwrap();
    let secret = folder.path().join("secret.txt");
    fs::write(&secret, "secret").unwrap();
    let path = secret.display().to_string();
    for reach in [
        format!("#read({path:?})"),
        "#read(\"../Cargo.toml\")".into(),
        "#read(\"Cargo.toml\")".into(),
        "#image(\"logo.png\")".into(),
        "#include \"other.typ\"".into(),
        "#import \"@preview/example:0.1.0\": *".into(),
        "#datetime.today().display()".into(),
        "#plugin(\"x.wasm\")".into(),
    ] {
        assert!(matches!(set(&reach, &json!({})), Err(PdfError::Template { .. })), "{reach}");
    }
    // What it is handed it may read.
    let files: [(&str, &[u8]); 1] = [("terms.txt", b"Net 30")];
    let template = Template::own("own.typ", "#read(\"terms.txt\") #json(\"data.json\").a");
    let pdf = render(&template, &json!({ "a": "seven" }), &files).unwrap();
    assert!(text_of(&pdf.bytes).contains("Net 30 seven"));
    let bad: [(&str, &[u8]); 1] = [("..\\x", b"")];
    let error = render(&template, &json!({}), &bad).unwrap_err();
    assert!(error.to_string().contains("cannot be the name of a file"), "{error}");
}

#[test]
fn a_broken_picture_is_refused_and_not_left_out() {
    let template = Template::own("own.typ", "#image(\"logo.png\", alt: \"logo\")");
    for bytes in [&b"no picture"[..], b"", b"\x89PNG\r\n\x1a\n"] {
        let error = render(&template, &json!({}), &[("logo.png", bytes)]).unwrap_err();
        assert!(error.to_string().contains("own.typ"), "{error}");
    }
}

/// A drawing that is printed at its own size is measured on the printed page: 200 by 120 points at
/// 144 dots an inch are 400 by 240 dots (1 pt = 1/72 in, PostScript's and PDF's).
#[test]
fn a_drawing_keeps_its_size_to_a_dot() {
    let svg = br##"<svg xmlns="http://www.w3.org/2000/svg" width="200pt" height="120pt" viewBox="0 0 200 120"><rect width="200" height="120" fill="#000"/></svg>"##;
    let template = Template::own(
        "own.typ",
        "#set document(title: \"x\")\n#image(\"map.svg\", width: 200pt, height: 120pt, alt: \"x\")",
    );
    let pdf = render(&template, &json!({}), &[("map.svg", svg)]).unwrap();
    let page = poppler("pdftoppm", &["-r", "144", "-gray", "-singlefile", "-", "page"], &pdf.bytes);
    let (width, dots) = dots(&page);
    let dark: Vec<usize> = (0..dots.len()).filter(|&at| dots[at] < 128).collect();
    let columns = || dark.iter().map(|at| at % width);
    let rows = || dark.iter().map(|at| at / width);
    let across = columns().max().unwrap() - columns().min().unwrap() + 1;
    let down = rows().max().unwrap() - rows().min().unwrap() + 1;
    assert!(across.abs_diff(400) <= 1 && down.abs_diff(240) <= 1, "{across} × {down}");
}

/// Width and gray values of a PGM picture (binary, 8 bits).
fn dots(pgm: &[u8]) -> (usize, &[u8]) {
    let mut at = 0;
    let mut words = Vec::new();
    while words.len() < 4 {
        let end = at + pgm[at..].iter().position(u8::is_ascii_whitespace).unwrap();
        words.push(std::str::from_utf8(&pgm[at..end]).unwrap());
        at = end + 1;
    }
    assert_eq!((words[0], words[3]), ("P5", "255"));
    (words[1].parse().unwrap(), &pgm[at..])
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..Default::default() })]

    /// No text of any letters stops a paper, and what the fonts have of it is on it.
    #[test]
    fn any_text_can_be_set(name in "[ -~]{1,60}|\\PC{1,40}") {
        let pdf = set(NAMES, &json!({ "names": [name.clone()] })).unwrap();
        if name.is_ascii() {
            let read = packed(&text_of(&pdf.bytes));
            prop_assert!(read.contains(&packed(&name)), "{name}: {read}");
        }
    }
}

/// Whoever sets papers from the threads of a pool, as many at once as it has, keeps its stack: the
/// engine waits for parts of its own work, and must not begin with the next paper meanwhile.
#[test]
fn many_papers_are_set_from_few_threads() {
    use rayon::prelude::*;
    let pool = rayon::ThreadPoolBuilder::new().num_threads(2).stack_size(1 << 20).build().unwrap();
    let names: Vec<String> = (0..300).map(|number| format!("lot {number}")).collect();
    let set: Vec<bool> = pool.install(|| {
        let one = |name: &String| set(NAMES, &json!({ "names": [name, name, name] })).is_ok();
        names.par_iter().map(one).collect()
    });
    assert!(set.iter().all(|done| *done));
}
