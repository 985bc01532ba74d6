//! Lists of what is known, and help.

use super::*;

#[test]
fn reference_data_is_listed_with_sources() {
    for (args, word) in [
        (&["species"][..], "Poa pratensis"),
        (&["products"], "Gardner"),
        (&["products", "urea-46-0-0"], "46-0-0"),
        (&["rules"], "me-pest-water"),
        (&["rules", "maryland"], "md-fert"),
        (&["convert", "11 fl oz/A", "--to", "mL/100 m2"], "8.04 mL/100 m2"),
        // Worked by hand: 0.45359237 kg ÷ 0.40468564224 ha; 48.824 kg/ha.
        (&["convert", "1 lb ai/A", "--to", "kg a.i./ha"], "1.12 kg/ha of a.i."),
        (&["convert", "1 lb N/M", "--to", "kg N/ha"], "48.8 kg/ha of N"),
        (&["convert", "0.75 lb a.e./A", "--to", "g a.e./ha"], "841 g/ha of a.e."),
        (&["convert", "48.824 kg P2O5/ha", "--to", "lb/M"], "1 lb/1000 sq ft of P2O5"),
        (&["convert", "40 GPA", "--to", "gal/1000 sq. feet"], "0.918 gal/1000 sq ft"),
        (&["convert", "3 US fl oz/500 sq ft", "--to", "fl oz/M"], "6 fl oz/1000 sq ft"),
    ] {
        let output = turfplat(args);
        assert_eq!(status(&output), 0, "{args:?}");
        let printed = text(&output.stdout);
        assert!(printed.contains(word), "{args:?}: {printed}");
    }
    for what in ["species", "products", "rules"] {
        let output = json(&turfplat(&[what, "--format", "json"]));
        let rows = output[what].as_array().unwrap();
        assert!(!rows.is_empty(), "{what}");
        for row in rows {
            let provenance = &row["provenance"];
            assert!(
                provenance["source"].is_string()
                    && provenance["status"].is_string()
                    && provenance["read"].is_string(),
                "{row}"
            );
        }
    }
}

/// Every command's help shows an example, and the examples of the demo work.
#[test]
fn help_shows_an_example_that_works() {
    let folder = Folder::new("help");
    let every: [&[&str]; 17] = [
        &["measure"],
        &["plan"],
        &["explain"],
        &["sheet"],
        &["season"],
        &["degree-days"],
        &["check"],
        &["species"],
        &["products"],
        &["product"],
        &["product", "schema"],
        &["job"],
        &["job", "check"],
        &["job", "schema"],
        &["rules"],
        &["convert"],
        &["calibrate"],
    ];
    for command in every {
        let help = text(&turfplat(&[command, &["--help"]].concat()).stdout);
        let command = command.join(" ");
        let example =
            help.split("Example:").nth(1).unwrap_or_else(|| panic!("{command}: no example")).trim();
        let words = example.replace('"', "\u{0}").replace("\\\n", " ");
        // Texts in quotes stay whole.
        let args: Vec<String> = words
            .split('\u{0}')
            .enumerate()
            .flat_map(|(place, piece)| {
                if place % 2 == 1 {
                    vec![piece.to_owned()]
                } else {
                    piece.split_whitespace().map(str::to_owned).collect()
                }
            })
            .skip(1)
            .map(|word| {
                if word.starts_with("examples/") {
                    root().join(&word).display().to_string()
                } else {
                    word
                }
            })
            .collect();
        let output = Command::new(env!("CARGO_BIN_EXE_turfplat"))
            .args(&args)
            .current_dir(&folder.0)
            .stdin(Stdio::null())
            .output()
            .unwrap();
        assert_eq!(status(&output), 0, "{args:?}: {}", text(&output.stderr));
    }
}
