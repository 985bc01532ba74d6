//! Work orders, read back from the paper by poppler's commands.

use super::*;

#[cfg(not(feature = "pdf"))]
#[test]
fn without_the_engine_a_work_order_says_how_to_get_it() {
    let folder = Folder::new("orders-without");
    let file = folder.path("june.pdf");
    let output =
        turfplat(&["work-order", &demo("map.geojson"), "--job", &demo("job.toml"), "-o", &file]);
    assert_eq!(status(&output), 2);
    let said = text(&output.stderr);
    assert!(said.contains("cargo install --path crates/turfplat-cli --features pdf"), "{said}");
    assert!(!Path::new(&file).exists());
    let out = folder.path("plan");
    let plan = ["plan", &demo("map.geojson"), "--job", &demo("job.toml"), "--out", &out, "--pdf"];
    let output = turfplat(&plan);
    assert_eq!((status(&output), Path::new(&out).exists()), (2, false));
}

#[cfg(feature = "pdf")]
pub(crate) mod with_the_engine {
    use std::collections::BTreeSet;

    use super::*;

    pub(crate) fn poppler(command: &str, words: &[&str]) -> String {
        let output = Command::new(command).args(words).env("TZ", "UTC").output();
        let output = output.expect("poppler's commands; scripts/prepare --tests brings them");
        assert!(output.status.success(), "{command} {words:?}");
        text(&output.stdout)
    }

    /// The text of a PDF in reading order, blanks and line ends as one blank.
    pub(crate) fn read(pdf: &str) -> String {
        one_line(&poppler("pdftotext", &["-raw", pdf, "-"]))
    }

    fn one_line(text: &str) -> String {
        text.replace('\u{200b}', "").split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Without any blanks: columns are narrow, and lines are broken anywhere.
    pub(crate) fn packed(text: &str) -> String {
        text.chars().filter(|c| !c.is_whitespace() && *c != '\u{200b}').collect()
    }

    pub(crate) fn pages(pdf: &str) -> usize {
        let info = poppler("pdfinfo", &[pdf]);
        let line = info.lines().find(|line| line.starts_with("Pages:")).unwrap();
        line.split_whitespace().last().unwrap().parse().unwrap()
    }

    /// Every amount, rate, area and distance with its unit in a text.
    fn figures(text: &str) -> BTreeSet<String> {
        const UNITS: [&str; 13] = [
            "fl oz/1000 sq ft",
            "gal/1000 sq ft",
            "oz wt/1000 sq ft",
            "lb/1000 sq ft",
            "fl oz",
            "gal",
            "oz wt",
            "lb",
            "sq ft",
            "ft",
            "mL",
            "L",
            "m²",
        ];
        let words: Vec<&str> = text.split_whitespace().collect();
        let mut found = BTreeSet::new();
        for (at, word) in words.iter().enumerate() {
            let number = word.trim_start_matches('(');
            if !number.starts_with(|c: char| c.is_ascii_digit())
                || number.contains(|c: char| !(c.is_ascii_digit() || c == ',' || c == '.'))
            {
                continue;
            }
            let rest = words[at + 1..words.len().min(at + 4)].join(" ");
            let unit = UNITS.iter().find(|unit| {
                let after = rest.strip_prefix(**unit);
                after.is_some_and(|it| !it.starts_with(|c: char| c.is_alphanumeric() || c == '/'))
            });
            found.extend(unit.map(|unit| format!("{number} {unit}")));
        }
        found
    }

    const MIX: &str = r#"
[site]
jurisdiction = ["maine"]
hired = true
[equipment.boom]
kind = "boom"
tank = "20 gal"
spray_volume = "2 gal/1000 sq ft"
smallest_measure = ["0.05 fl oz", "0.1 oz wt"]
dead_volume = "0.5 gal"
[[application]]
name = "Mix"
equipment = "boom"
[[application.product]]
product = "trinexapac-ethyl-1-ec"
rate = "0.3 fl oz/1000 sq ft"
label_checked = "2026-05-02"
[[application.product]]
product = "ferrous-sulfate-20-fe"
rate = "2 oz wt/1000 sq ft"
label_checked = "2026-05-02"
"#;

    #[test]
    fn the_paper_says_the_numbers_of_plan_and_spray_map() {
        let folder = Folder::new("orders-numbers");
        let mix = folder.file("mix.toml", MIX);
        for (job, units) in
            [(demo("job.toml"), "us"), (demo("job.toml"), "metric"), (mix.clone(), "us")]
        {
            let (out, map) = (folder.path("plan"), demo("map.geojson"));
            let common = ["--job", &job, "--date", "2026-06-08", "--units", units];
            let plan = turfplat(&[&["plan", &map, "--out", &out, "--pdf"], &common[..]].concat());
            assert_eq!(status(&plan), 0, "{}", text(&plan.stderr));
            let paper = folder.path("order.pdf");
            let order = turfplat(&[&["work-order", &map, "-o", &paper], &common[..]].concat());
            assert_eq!(status(&order), 0, "{}", text(&order.stderr));
            let beside = format!("{out}/work-order.pdf");
            assert_eq!(fs::read(&paper).unwrap(), fs::read(beside).unwrap(), "the same paper");
            let read = packed(&read(&paper));
            let table = text(&plan.stdout);
            // The shopping list and its costs are no crew's.
            let (mut told, list) = table.split_once("\nTo buy").unwrap();
            told = told.split_once("Batch 1").unwrap().1;
            let cautions = list.split_once("Cautions").unwrap().1;
            let sheet = fs::read_to_string(format!("{out}/spray-map.svg")).unwrap();
            let sheet = sheet.split("</style>").last().unwrap().replace(['<', '>'], " ");
            let mut told = figures(told);
            told.extend(figures(cautions));
            // The scale of a whole sheet is not that of the map here; its distances stand in the plan.
            let mut sheet = figures(&sheet);
            sheet.retain(|figure| !figure.ends_with(" ft") || figure.ends_with("sq ft"));
            let mut count = 0;
            for figure in told.iter().chain(&sheet) {
                assert!(read.contains(&packed(figure)), "{figure} of {job}, {units}: {read}");
                count += 1;
            }
            assert!(count > 40, "{count}");
            for zone in ["Front lawn", "Side strip", "Back lawn"] {
                assert!(read.contains(&packed(zone)), "{zone}");
            }
        }
    }

    #[test]
    fn a_house_stands_on_one_page_and_carries_all_that_a_record_asks_for() {
        let folder = Folder::new("orders-house");
        for (page, size) in
            [("letter", "612 x 792 pts (letter)"), ("a4", "595.276 x 841.89 pts (A4)")]
        {
            let paper = folder.path(&format!("{page}.pdf"));
            let order = [
                "work-order",
                &demo("map.geojson"),
                "--job",
                &demo("job.toml"),
                "--page",
                page,
                "-o",
                &paper,
            ];
            let output = turfplat(&order);
            assert_eq!(status(&output), 0, "{}", text(&output.stderr));
            assert_eq!(pages(&paper), 1, "{page}");
            // In thirds of a point: no type is smaller than 8, on the map neither, and the map explains its hatches.
            let sizes = poppler("pdftohtml", &["-xml", "-stdout", "-i", "-zoom", "3", &paper]);
            let sizes: Vec<u32> = (sizes.split("<fontspec").skip(1))
                .filter_map(|it| it.split_once("size=\"")?.1.split('"').next()?.parse().ok())
                .collect();
            assert!(!sizes.is_empty() && sizes.iter().all(|size| *size >= 24), "{page}: {sizes:?}");
            assert!(packed(&read(&paper)).contains(&packed("keep out: setback")), "{page}");
            let info = poppler("pdfinfo", &[&paper]);
            assert!(info.contains(size), "{info}");
            assert!(info.contains("Tagged:          yes"), "{info}");
            let raw = String::from_utf8_lossy(&fs::read(&paper).unwrap()).into_owned();
            assert!(raw.contains("<pdfaid:part>2") && raw.contains("<pdfuaid:part>1"));
            let read = packed(&read(&paper));
            // What records of application ask for: 7 CFR 110.3 and 40 CFR 171.201 (from memory, check
            // them), and what states add.
            for blank in [
                "product",
                "EPA Reg. No.",
                "lot number",
                "put down in all",
                "applicator",
                "license or certificate no.",
                "not licensed",
                "date",
                "start",
                "end",
                "temperature",
                "wind, start",
                "wind blows from",
                "customer",
                "address",
                "pest or purpose",
                "signature",
            ] {
                assert!(read.contains(&packed(blank)), "{blank}");
            }
            for told in [
                "read what is blank on the label",
                "The label is the law",
                "default of this tool",
                "1of1",
            ] {
                assert!(read.contains(&packed(told)), "{told}");
            }
        }
    }

    /// On paper 1:n, a foot is 864/n points (12 in of 72 pt each): so far apart are the middles of the
    /// figures under the scale bar, which the paper itself names with its n.
    #[test]
    fn the_map_on_paper_is_true_to_its_scale() {
        let folder = Folder::new("orders-scale");
        let paper = folder.path("order.pdf");
        let order = ["work-order", &demo("map.geojson"), "--job", &demo("job.toml"), "-o", &paper];
        assert_eq!(status(&turfplat(&order)), 0);
        let read = read(&paper);
        let scale = read.split("1:").nth(1).unwrap();
        let scale: f64 = scale.split_whitespace().next().unwrap().replace(',', "").parse().unwrap();
        let boxes = poppler("pdftotext", &["-bbox", &paper, "-"]);
        let words: Vec<(f64, f64, String)> = boxes.lines().filter_map(word).collect();
        let zero = words.iter().find(|(.., word)| word == "0").unwrap();
        // The last figure has its unit with it and stands off its tick; the one in between does not.
        let row = words.iter().filter(|(x, y, word)| {
            (y - zero.1).abs() < 0.5 && *x > zero.0 && word.parse::<f64>().is_ok()
        });
        let next = row.reduce(|near, other| if other.0 < near.0 { other } else { near }).unwrap();
        let (apart, feet) = (next.0 - zero.0, next.2.parse::<f64>().unwrap());
        // The middle of a figure is known to its side bearings, some tenths of a point.
        assert!(
            feet > 0.0 && (apart - feet * 864.0 / scale).abs() < 0.4,
            "{feet} ft: {apart}, {scale}"
        );
    }

    /// `<word xMin="1" yMin="2" xMax="3" yMax="4">0</word>`: middle and text.
    fn word(line: &str) -> Option<(f64, f64, String)> {
        let (head, rest) = line.trim().strip_prefix("<word ")?.split_once('>')?;
        let sides: Vec<f64> =
            head.split('"').skip(1).step_by(2).map(|side| side.parse().unwrap()).collect();
        let text = rest.strip_suffix("</word>")?.to_owned();
        Some(((sides[0] + sides[2]) / 2.0, (sides[1] + sides[3]) / 2.0, text))
    }

    #[test]
    fn names_of_strangers_are_text_wherever_they_stand() {
        let folder = Folder::new("orders-names");
        let long = "Lawn".repeat(500);
        let names =
            [r##"#eval("1")"##, "*bold* $x$ ] @ref <label>", r"\u{1F33F}", &long, "芝生 מדשאה"];
        for name in names {
            let quoted = serde_json::to_string(name).unwrap();
            let lawn = LAWN.replace("\"Lawn\"", &quoted);
            let map = folder.file("map.geojson", collection(&[&lawn]));
            let job = JOB.replace("\"June\"", &quoted);
            let job = folder.file("job.toml", format!("[site]\nname = {quoted}\n{job}"));
            let paper = folder.path("order.pdf");
            let output =
                turfplat(&["work-order", &map, "--plane", "ft", "--job", &job, "-o", &paper]);
            assert_eq!(status(&output), 0, "{}", text(&output.stderr));
            let read = packed(&read(&paper));
            let shown = name.replace(|c: char| !c.is_ascii(), "□");
            // As the property's, the application's and the zone's.
            let times = read.matches(&packed(&shown)).count();
            // What is two thousand letters long reaches over pages, whose feet stand in between.
            let least = if name.len() > 1000 { 1 } else { 3 };
            assert!(times >= least, "{times} times {shown}: {read}");
        }
    }

    #[test]
    fn many_properties_are_a_file_each_and_one_must_be_chosen_for_one() {
        let folder = Folder::new("orders-many");
        let lawns = [lawn_of("A/1", 0.0), lawn_of("a-1", 200.0), lawn_of("C", 400.0)];
        let lawns: Vec<&str> = lawns.iter().map(String::as_str).collect();
        let map = folder.file("map.geojson", collection(&lawns));
        let two = format!(
            "{JOB}\n{}",
            JOB.split_once("[[application]]").unwrap().1.replace("June", "July")
        );
        let two = two.replace("\n\nname = \"July\"", "\n[[application]]\nname = \"July\"");
        let job = folder.file("job.toml", two);
        let (file, out) = (folder.path("x.pdf"), folder.path("out"));
        let order = |more: &[&str]| {
            turfplat(&[&["work-order", &map, "--plane", "ft", "--job", &job], more].concat())
        };
        for (more, cure) in [
            (&["-o", &file, "--application", "June"][..], "--property ID"),
            (&["-o", &file, "--property", "C"], "--application: June, July"),
            (&["-o", &file, "--property", "C", "--application", "May"], "no application \"May\""),
            (&["-o", &file, "--property", "X", "--application", "June"], "no property \"X\""),
            (&["-o", &folder.path("x.png"), "--property", "C"], "end the file name with .pdf"),
            (&[], "--output"),
        ] {
            let output = order(more);
            assert_eq!(status(&output), 2, "{cure}");
            assert!(text(&output.stderr).contains(cure), "{cure}: {}", text(&output.stderr));
        }
        let output = order(&["--out", &out]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        let mut files: Vec<String> = fs::read_dir(&out)
            .unwrap()
            .map(|file| file.unwrap().file_name().into_string().unwrap())
            .collect();
        files.sort();
        let expected = [
            "A-1-July.pdf",
            "A-1-June.pdf",
            "C-July.pdf",
            "C-June.pdf",
            "a-1-July-2.pdf",
            "a-1-June-2.pdf",
        ];
        assert_eq!(files, expected);
        let chosen = order(&["-o", &file, "--property", "C", "--application", "july"]);
        assert_eq!(status(&chosen), 0, "{}", text(&chosen.stderr));
        assert_eq!(fs::read(&file).unwrap(), fs::read(format!("{out}/C-July.pdf")).unwrap());
    }

    #[test]
    fn an_application_for_other_zones_is_told_with_those_that_there_are() {
        let folder = Folder::new("orders-not-for-it");
        let back = lawn_of("B", 400.0).replace("\"Lawn\"", "\"Back\"");
        let map = folder.file("map.geojson", collection(&[&lawn_of("A", 0.0), &back]));
        let second = JOB.split_once("[[application]]").unwrap().1.replace("June", "July");
        let of = |zone: &str, text: &str| {
            text.replace(
                "equipment = \"knapsack\"",
                &format!("equipment = \"knapsack\"\nzones = [\"{zone}\"]"),
            )
        };
        let two = format!("{}\n[[application]]{}", of("Lawn", JOB), of("Back", &second));
        let job = folder.file("job.toml", two);
        let file = |command: &str| folder.path(if command == "sheet" { "x.png" } else { "x.pdf" });
        for command in ["sheet", "work-order"] {
            let order = |property: &str, application: &str| {
                let file = file(command);
                let fixed = [command, &map, "--plane", "ft", "--job", &job, "-o", &file];
                turfplat(
                    &[&fixed[..], &["--property", property, "--application", application]].concat(),
                )
            };
            let output = order("A", "july");
            let remarks = text(&output.stderr);
            assert_eq!(status(&output), 2, "{command}: {remarks}");
            let wanted = "application \"July\" is not for property \"A\"; there is: June";
            assert!(remarks.contains(wanted), "{command}: {remarks}");
            let output = order("A", "May");
            assert_eq!(status(&output), 2);
            let wanted = "no application \"May\" in the job; there is: June, July";
            assert!(text(&output.stderr).contains(wanted), "{}", text(&output.stderr));
            assert!(!Path::new(&file(command)).exists());
            assert_eq!(status(&order("A", "JUNE")), 0);
            assert_eq!(status(&order("B", "July")), 0);
        }
    }

    #[test]
    fn a_campus_flows_over_pages_with_its_headers() {
        let folder = Folder::new("orders-campus");
        let zone = |at: usize| {
            let (west, south) = (at % 8 * 120, at / 8 * 80);
            let (east, north) = (west + 100, south + 50);
            LAWN.replace("\"Lawn\"", &format!("\"Lawn {at} beside the old library and its yards\"")).replace(
                "[0,0],[100,0],[100,50],[0,50],[0,0]",
                &format!("[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]"),
            )
        };
        let zones: Vec<String> = (0..60).map(zone).collect();
        let zones: Vec<&str> = zones.iter().map(String::as_str).collect();
        let map = folder.file("map.geojson", collection(&zones));
        let job = folder.file("job.toml", JOB);
        let paper = folder.path("order.pdf");
        let output = turfplat(&["work-order", &map, "--plane", "ft", "--job", &job, "-o", &paper]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        let count = pages(&paper);
        assert!(count > 2, "{count}");
        let read = packed(&read(&paper));
        for at in 0..60 {
            assert!(read.contains(&format!("Lawn{at}")), "{at}");
        }
        for page in 1..=count {
            assert!(read.contains(&format!("page{page}of{count}")), "{page}");
        }
        // Sixty names do not fit on the map: each number there is explained, once in the table of zones.
        assert!(read.contains("onmapzonegrass"), "{read}");
        for at in 0..60 {
            let row = format!("{}Lawn{at}besidetheoldlibraryanditsyardstallfescue", at + 1);
            assert!(read.contains(&row), "{row}: {read}");
        }
        assert!(!read.contains("toosmallherefortheirnumbers"), "{read}");
        let heads = read.matches("zonegrasstreated").count() + read.matches("doneload").count();
        assert!(heads >= 4, "{heads}");
    }

    /// Lawns of 6 to 50 feet over 1,200 by 700: on one page the small ones are specks.
    #[test]
    fn a_map_that_is_too_small_for_its_numbers_says_where_they_are() {
        let folder = Folder::new("orders-specks");
        let zone = |at: usize| {
            let (west, south, side) = (at % 20 * 60, at / 20 * 70, 6 + at * 7 % 11 * 4);
            let (east, north) = (west + side, south + side);
            LAWN.replace("\"Lawn\"", &format!("\"Lawn {at}\"")).replace(
                "[0,0],[100,0],[100,50],[0,50],[0,0]",
                &format!("[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]"),
            )
        };
        let zones: Vec<String> = (0..200).map(zone).collect();
        let zones: Vec<&str> = zones.iter().map(String::as_str).collect();
        let map = folder.file("map.geojson", collection(&zones));
        let job = folder.file("job.toml", JOB);
        let paper = folder.path("order.pdf");
        let output = turfplat(&["work-order", &map, "--plane", "ft", "--job", &job, "-o", &paper]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        let read = packed(&read(&paper));
        assert!(read.contains("toosmallherefortheirnumbers"), "{read}");
        assert!(read.contains("200Lawn199"), "{read}");
    }

    #[test]
    fn an_order_to_do_nothing_is_refused() {
        let folder = Folder::new("orders-nothing");
        let map = folder.file("map.geojson", collection(&[LAWN]));
        let job = folder.file("job.toml", JOB.replace("label_checked = \"2026-05-02\"", ""));
        let paper = folder.path("order.pdf");
        let output = turfplat(&["work-order", &map, "--plane", "ft", "--job", &job, "-o", &paper]);
        assert_eq!(status(&output), 1);
        assert!(
            text(&output.stderr).contains("doses nothing on any zone"),
            "{}",
            text(&output.stderr)
        );
        assert!(!Path::new(&paper).exists());
    }
}
