//! Quotes on paper: what poppler reads there is what stands in `quote.json`.

use super::*;

/// The demo's prices, without those that ask how far it is.
fn quote(folder: &Folder, map: &str, out: &str, more: &[&str]) -> Output {
    let list = fs::read_to_string(demo("prices.toml")).unwrap();
    let near: Vec<&str> = list.lines().filter(|line| !line.starts_with("per_mile")).collect();
    let list = folder.file("prices.toml", near.join("\n"));
    let fixed = ["quote", map, "--prices", &list, "--date", "2026-05-20", "--out", out, "--pdf"];
    turfplat(&[&fixed, more].concat())
}

#[cfg(not(feature = "pdf"))]
#[test]
fn without_the_engine_a_quote_on_paper_says_how_to_get_it() {
    let folder = Folder::new("quote-without");
    let out = folder.path("out");
    let output = quote(&folder, &demo("map.geojson"), &out, &[]);
    assert_eq!((status(&output), Path::new(&out).exists()), (2, false));
    assert!(text(&output.stderr).contains("--features pdf"), "{}", text(&output.stderr));
}

#[cfg(feature = "pdf")]
mod with_the_engine {
    use super::*;

    fn read(folder: &Folder, pdf: &str) -> String {
        let output = Command::new("pdftotext").args(["-raw", &folder.path(pdf), "-"]).output();
        let output = output.expect("poppler's commands; scripts/prepare --tests brings them");
        let words = text(&output.stdout).replace('\u{200b}', "");
        words.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Every text of money under a value.
    fn money(value: &Value, found: &mut Vec<String>) {
        match value {
            Value::Object(members) => {
                if let (Some(Value::String(text)), true) =
                    (members.get("text"), members.contains_key("value"))
                {
                    found.push(text.clone());
                }
                // What a tax is counted on is no sum of the quote.
                let sums = members.iter().filter(|(key, _)| *key != "taxable");
                sums.for_each(|(_, member)| money(member, found));
            }
            Value::Array(items) => items.iter().for_each(|item| money(item, found)),
            _ => {}
        }
    }

    #[test]
    fn every_sum_of_a_quote_and_its_map_are_on_the_paper() {
        let folder = Folder::new("quote-paper");
        for (more, name) in [(["--job", &demo("job.toml")].as_slice(), "job"), (&[], "list")] {
            let out = folder.path(name);
            let output = quote(&folder, &demo("map.geojson"), &out, more);
            assert_eq!(status(&output), 0, "{}", text(&output.stderr));
            let json = fs::read_to_string(folder.path(&format!("{name}/quote.json"))).unwrap();
            let json: Value = serde_json::from_str(&json).unwrap();
            let read = read(&folder, &format!("{name}/quote.pdf"));
            let mut sums = Vec::new();
            money(&json["visits"], &mut sums);
            money(&json["prepaid"]["total"], &mut sums);
            sums.retain(|sum| sum != "$0.00");
            assert!(sums.len() > 10, "{sums:?}");
            for sum in sums {
                assert!(read.contains(&sum), "{sum}: {read}");
            }
            // Of the map its zones with the ground that is priced, and no amount of a product.
            for word in ["Front lawn", "Back lawn", "House well", "printed at 100 %"] {
                assert!(read.contains(word), "{word}: {read}");
            }
            assert!(!read.contains("fl oz"), "{read}");
        }
    }

    /// The number bears the id: one of 71 letters is broken, and stands within the paper.
    #[test]
    fn a_long_number_leaves_the_head_of_a_quote_as_it_is() {
        let folder = Folder::new("quote-long");
        let id = format!("lot-{}", "abcdefghijklmnop-".repeat(4));
        let id = id[..71].trim_end_matches('-').to_owned();
        let map = folder.file("map.geojson", collection(&[&lawn_of(&id, 0.0)]));
        let out = folder.path("out");
        let output = quote(&folder, &map, &out, &["--plane", "ft"]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        let mut places = fs::read_dir(&out).unwrap().map(|it| it.unwrap().path());
        let place = places.find(|it| it.is_dir()).unwrap_or_else(|| Path::new(&out).into());
        let pdf = place.join("quote.pdf").display().to_string();
        let boxes =
            Command::new("pdftotext").args(["-l", "1", "-bbox", &pdf, "-"]).output().unwrap();
        let boxes = text(&boxes.stdout);
        let at = |words: &str, key: &str| -> f64 {
            let line = boxes.lines().find(|line| line.contains(words)).unwrap();
            let value = line.split_once(&format!("{key}=\"")).unwrap().1;
            value[..value.find('"').unwrap()].parse().unwrap()
        };
        // Letter: 612 points wide, with margins of 30. What the quote is for has its half of it.
        assert!(at(">Number<", "xMin") > 290.0, "{boxes}");
        let xs = boxes.lines().filter_map(|line| line.split_once("xMax=\"")).map(|it| it.1);
        for x in xs {
            let x: f64 = x[..x.find('"').unwrap()].parse().unwrap();
            // A break that is not seen hangs over the margin.
            assert!(x <= 586.0, "{x}: {boxes}");
        }
    }

    #[test]
    fn one_visit_before_a_tax_of_the_season_comes_to_the_whole() {
        let folder = Folder::new("quote-paper-season");
        let map = folder.file("map.geojson", collection(&[LAWN]));
        let job = folder.file("job.toml", JOB);
        let list = "currency = \"USD\"\n[[service]]\nname = \"Feeding\"\nprice = \"10.00\"\n[[tax]]\nname = \"Tax\"\nrate = \"8.25 %\"\nper = \"quote\"\n";
        let list = folder.file("list.toml", list);
        let out = folder.path("out");
        let fixed = ["quote", &map, "--plane", "ft", "--prices", &list, "--job", &job, "--pdf"];
        let output = turfplat(&[&fixed, ["--out", &out].as_slice()].concat());
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        // Worked by hand: 5.000 × 10.00 = 50.00; 8.25 % of it 4.125, halves up 4.13.
        let read = read(&folder, "out/quote.pdf");
        for words in [
            "this visit, before Tax $50.00",
            "T: Tax 8.25 % of $50.00 $4.13",
            "T $50.00",
            "in all $54.13",
        ] {
            assert!(read.contains(words), "{words}: {read}");
        }
    }

    #[test]
    fn the_map_shows_what_any_application_prices() {
        let folder = Folder::new("quote-zones");
        let second = LAWN
            .replace("Lawn", "Back")
            .replace("0,0],[100,0],[100,50],[0,50],[0,0", "0,60],[90,60],[90,90],[0,90],[0,60");
        let map = folder.file("map.geojson", collection(&[LAWN, &second]));
        let june = JOB.replace("name = \"June\"", "name = \"June\"\nzones = [\"Lawn\"]");
        let july = JOB[JOB.find("[[application]]").unwrap()..]
            .replace("name = \"June\"", "name = \"July\"\nzones = [\"Back\"]");
        let job = folder.file("job.toml", june + &july);
        let out = folder.path("out");
        let output = quote(&folder, &map, &out, &["--plane", "ft", "--job", &job]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        let read = read(&folder, "out/quote.pdf");
        for word in ["5,000 sq ft", "2,700 sq ft"] {
            assert!(read.contains(word), "{word}: {read}");
        }
        assert!(!read.contains("not priced") && !read.contains("not treated"), "{read}");
    }

    #[test]
    fn a_house_has_its_own_letterhead() {
        let folder = Folder::new("quote-own");
        let logo = folder.file(
            "logo.svg",
            r##"<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><rect width="40" height="20" fill="#264"/></svg>"##,
        );
        let own = folder.file(
            "own.typ",
            "#let data = json(\"data.json\")\nOffer #data.quote.property\n#image(data.logo.name)\n#image(data.map.name, width: data.map.width * 1pt, height: data.map.height * 1pt, alt: data.map.alt)\n",
        );
        let out = folder.path("out");
        let output =
            quote(&folder, &demo("map.geojson"), &out, &["--template", &own, "--logo", &logo]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        let set = read(&folder, "out/quote.pdf");
        assert!(set.starts_with("Offer ") && set.contains("Front lawn"), "{set}");
        let output = quote(&folder, &demo("map.geojson"), &out, &["--logo", &logo, "--page", "a4"]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        // What cannot be set stops the run with its place.
        let broken = folder.file("broken.typ", "\n#let data = json(\"data.json\"\n");
        let cases = [
            (vec!["--template", &broken], "broken.typ"),
            (vec!["--template", "/no/such.typ"], "/no/such.typ"),
            (vec!["--logo", &own], "its name ends with .png, .jpg or .svg"),
        ];
        for (more, wanted) in cases {
            let output = quote(&folder, &demo("map.geojson"), &folder.path("none"), &more);
            assert_eq!(status(&output), 2, "{more:?}");
            let said = text(&output.stderr);
            assert!(said.contains(wanted), "{said}");
        }
        // A million dots of noise: no packing makes them less, and every quote would have them.
        let mut state = 1_u32;
        let noise = std::iter::repeat_with(|| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            state.to_be_bytes()[0]
        });
        let noise: Vec<u8> = noise.take(3 * 1000 * 1000).collect();
        let huge = folder.path("huge.png");
        let mut encoder = png::Encoder::new(fs::File::create(&huge).unwrap(), 1000, 1000);
        encoder.set_color(png::ColorType::Rgb);
        encoder.write_header().unwrap().write_image_data(&noise).unwrap();
        let none = folder.path("no-logo");
        let output = quote(&folder, &demo("map.geojson"), &none, &["--logo", &huge]);
        assert_eq!((status(&output), Path::new(&none).exists()), (2, false));
        let said = text(&output.stderr);
        assert!(said.contains("huge.png: each quote would be 3.0 MB larger"), "{said}");
        assert!(
            said.contains("at most 0.5 MB are taken; save it smaller: 460 × 220 pixels"),
            "{said}"
        );
        let text_for_png = folder.file("logo.png", "no picture");
        let output =
            quote(&folder, &demo("map.geojson"), &folder.path("none"), &["--logo", &text_for_png]);
        assert_eq!(status(&output), 2);
        assert!(text(&output.stderr).contains("logo.png"), "{}", text(&output.stderr));
    }

    #[test]
    fn papers_of_a_street_are_the_same_for_every_thread_count() {
        let folder = Folder::new("quote-street");
        let lots = ["../x", "CON", "a/b", "lot 4"];
        let lawns: Vec<String> =
            lots.iter().zip(0..).map(|(id, at)| lawn_of(id, 1000.0 * f64::from(at))).collect();
        let lawns: Vec<&str> = lawns.iter().map(String::as_str).collect();
        let map = folder.file("street.geojson", collection(&lawns));
        let files = ["one", "two"].map(|name| {
            let threads = if name == "one" { "1" } else { "2" };
            let out = folder.path(name);
            let output = quote(&folder, &map, &out, &["--plane", "ft", "--threads", threads]);
            assert_eq!(status(&output), 0, "{}", text(&output.stderr));
            ["x", "CON-1", "a-b", "lot-4"]
                .map(|of| fs::read(folder.path(&format!("{name}/{of}/quote.pdf"))).unwrap())
        });
        assert_eq!(files[0], files[1]);
    }
}
