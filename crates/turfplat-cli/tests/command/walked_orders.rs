//! Work orders of what is walked, measured by tape or spread: read back from the paper.

#![cfg(feature = "pdf")]

use super::orders::with_the_engine::{packed, pages, poppler, read};
use super::*;

/// 100 ft by 50 ft, walked with 10 ft at 3 mph.
fn walked_job() -> String {
    JOB.replace("kind = \"backpack\"", "kind = \"backpack\"\nswath = \"10 ft\"\nspeed = \"3 mph\"")
}

fn order(map: &str, job: &str, paper: &str, more: &[&str]) -> String {
    let output = turfplat(&[&["work-order", map, "--job", job, "-o", paper], more].concat());
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    packed(&read(paper))
}

/// With the same options a plan and an order put the flags in the same places: they are one paper.
#[test]
fn an_order_is_walked_as_the_plan_is() {
    let folder = Folder::new("order-walk");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let job = folder.file("job.toml", walked_job());
    let (out, paper) = (folder.path("plan"), folder.path("order.pdf"));
    let options = ["--plane", "ft", "--edge-first", "--passes", "--drawn", "1ft"];
    let plan =
        turfplat(&[&["plan", &map, "--job", &job, "--out", &out, "--pdf"], &options[..]].concat());
    assert_eq!(status(&plan), 0, "{}", text(&plan.stderr));
    let told = order(&map, &job, &paper, &options);
    assert_eq!(fs::read(&paper).unwrap(), fs::read(format!("{out}/work-order.pdf")).unwrap());
    let table = text(&plan.stdout);
    let row = table.split_once("Passes 10 ft wide").unwrap().1;
    let row = row.lines().find(|line| line.trim_start().starts_with("Lawn")).unwrap();
    // Of the row all but the way between passes and what is missed, which a crew cannot use.
    let cells: Vec<&str> =
        row.split("   ").map(str::trim).filter(|cell| !cell.is_empty()).collect();
    for cell in [cells[1], cells[2], cells[5], cells[8]] {
        assert!(told.contains(&packed(cell)), "{cell} of {row}: {told}");
    }
    for words in [
        "Passes 10 ft wide, one along all edges first; they change no amount.",
        "Times are for walking alone",
        "% as drawn",
        "passes, from the ring on",
    ] {
        assert!(told.contains(&packed(words)), "{words}: {told}");
    }
    let plain = order(&map, &job, &paper, &["--plane", "ft"]);
    assert!(!plain.contains("alongalledges") && !plain.contains("asdrawn"), "{plain}");
    assert!(plain.contains("aloadrunsouthere") && !plain.contains("passes,fromthering"), "{plain}");
    let none = folder.file("none.toml", JOB);
    let refused =
        ["work-order", &map, "--plane", "ft", "--job", &none, "-o", &paper, "--edge-first"];
    let output = turfplat(&refused);
    assert_eq!(status(&output), 2);
    assert!(text(&output.stderr).contains("add swath = \"5 ft\""), "{}", text(&output.stderr));
}

/// Lawns that lie nowhere: that no distance is kept must not read as if none were asked for.
#[test]
fn an_order_of_a_tape_sheet_says_that_distances_are_to_be_checked() {
    let folder = Folder::new("order-tape");
    let lawn = "unit = \"ft\"\n[[shape]]\nkind = \"turf\"\nname = \"Lawn\"\nspecies = \"tall-fescue\"\nrectangle = { length = 60, width = 40 }\n";
    let sheet = folder.file("lawn.toml", lawn);
    let (job, paper) = (folder.file("job.toml", JOB), folder.path("order.pdf"));
    let told = order(&sheet, &job, &paper, &[]);
    assert!(told.contains("Nomapwasdrawn") && told.contains("Checkeachdistance"), "{told}");
    assert!(!told.contains("Nothingonthemapasksforadistance"), "{told}");
    let placed = folder.file("placed.toml", format!("{lawn}at = {{ east = 0, north = 0 }}\n"));
    let told = order(&placed, &job, &paper, &[]);
    assert!(!told.contains("Nomapwasdrawn"), "{told}");
    assert!(told.contains("Nothingonthemapasksforadistance"), "{told}");
}

#[test]
fn a_spreader_is_filled_and_nothing_is_mixed() {
    let folder = Folder::new("order-spreader");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let job = folder.file(
        "job.toml",
        "[equipment.rotary]\nkind = \"spreader\"\ntank = \"50 lb\"\n[[application]]\nname = \"June\"\nequipment = \"rotary\"\n[[application.product]]\nproduct = \"urea-46-0-0\"\nrate = \"1 lb/1000 sq ft\"\nlabel_checked = \"2026-05-02\"\n",
    );
    let told = order(&map, &job, &folder.path("order.pdf"), &["--plane", "ft"]);
    assert!(told.contains("Fillhopperat") && !told.contains("Mixat"), "{told}");
}

/// What stays in hose and sump stands with the load that it is mixed with, on map and order.
#[test]
fn the_dead_volume_stands_in_the_loads_of_the_map() {
    let folder = Folder::new("order-dead");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let job = folder.file("job.toml", JOB.replace("tank =", "dead_volume = \"0.3 gal\"\ntank ="));
    let sheet = folder.path("map.svg");
    let output = turfplat(&["sheet", &map, "--plane", "ft", "--job", &job, "-o", &sheet]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let svg = fs::read_to_string(&sheet).unwrap();
    let svg = svg.split("</style>").last().unwrap();
    let words: String =
        svg.split('>').filter_map(|part| part.split_once('<')).map(|(words, _)| words).collect();
    let told = packed(&words);
    assert_eq!(told.matches("ofit0.3galforhoseandsump").count(), 1, "{told}");
}

/// Fills of many small lawns with long names: each stands whole on a page, below a header.
#[test]
fn a_load_of_an_order_is_never_parted_by_the_end_of_a_page() {
    let folder = Folder::new("order-loads");
    let lawn = |at: usize| {
        let west = at * 150;
        let ring = format!("[{west},0],[{0},0],[{0},50],[{west},50],[{west},0]", west + 100);
        LAWN.replace("\"Lawn\"", &format!("\"{at} Lawn behind the long wall of the old mill\""))
            .replace("[0,0],[100,0],[100,50],[0,50],[0,0]", &ring)
    };
    let lawns: Vec<String> = (1..=40).map(lawn).collect();
    let map = collection(&lawns.iter().map(String::as_str).collect::<Vec<_>>());
    let map = folder.file("map.geojson", map);
    let job = folder.file("job.toml", JOB.replace("4 gal", "7 gal"));
    let paper = folder.path("order.pdf");
    order(&map, &job, &paper, &["--plane", "ft"]);
    let page = |at: usize| {
        let at = at.to_string();
        packed(&poppler("pdftotext", &["-raw", "-f", &at, "-l", &at, &paper, "-"]))
    };
    let all: Vec<String> = (1..=pages(&paper)).map(page).collect();
    let plan = turfplat(&["plan", &map, "--plane", "ft", "--job", &job, "--format", "json"]);
    let plan = json(&plan);
    let loads = plan["properties"][0]["applications"][0]["batches"][0]["loads"].as_array().unwrap();
    // Worked by hand: 40 × 5 gal are 28 tanks of 7 and one of 4.
    assert_eq!(loads.len(), 29);
    let all: Vec<&String> = all.iter().filter(|page| page.contains("doneloadfillto")).collect();
    assert!(all.len() > 1, "{all:?}");
    for load in loads {
        let covers: Vec<String> = load["covers"]
            .as_array()
            .unwrap()
            .iter()
            .map(|cover| packed(&format!("{}:", cover["zone"].as_str().unwrap())))
            .collect();
        let whole = |page: &&String| covers.iter().all(|zone| page.contains(zone));
        assert!(all.iter().any(whole), "load {}: {covers:?}", load["load"]);
    }
}

/// The name of a batch stands above its loads on each page, and never alone at the end of one.
#[test]
fn a_batch_is_named_where_its_loads_are() {
    let folder = Folder::new("order-batches");
    let blue = LAWN
        .replace("\"Lawn\"", "\"Blue\"")
        .replace("tall-fescue", "kentucky-bluegrass")
        .replace("[0,0],[100,0],[100,50],[0,50],[0,0]", "[0,60],[100,60],[100,110],[0,110],[0,60]");
    let map = folder.file("map.geojson", collection(&[LAWN, &blue]));
    let rates = "[application.product.rates]\n\"tall-fescue\" = \"0.5 fl oz/1000 sq ft\"\n\"kentucky-bluegrass\" = \"0.25 fl oz/1000 sq ft\"\n";
    let job = JOB.replace("rate = \"0.5 fl oz/1000 sq ft\"\n", "") + rates;
    let paper = folder.path("order.pdf");
    let mut parted = 0;
    // Tanks of many sizes, so that the end of a page falls anywhere.
    for gallons in ["0.11", "0.12", "0.13", "0.14", "0.15", "0.16"] {
        let job = folder.file("job.toml", job.replace("4 gal", &format!("{gallons} gal")));
        order(&map, &job, &paper, &["--plane", "ft"]);
        for at in 1..=pages(&paper) {
            let at = at.to_string();
            let page = packed(&poppler("pdftotext", &["-raw", "-f", &at, "-l", &at, &paper, "-"]));
            let Some((_, loads)) = page.split_once("doneloadfillto") else { continue };
            assert!(loads.contains("Batch"), "{gallons}, page {at}: {page}");
            for batch in loads.split("Batch").skip(1) {
                // Whatever follows the name on this page begins with a load.
                assert!(
                    batch.contains("0.1") && batch.contains("floz"),
                    "{gallons}, page {at}: {batch}"
                );
            }
            parted += 1;
        }
    }
    assert!(parted > 12, "{parted}");
}

/// 5 × 0.5 fl oz are 73.9 mL (29.5735 mL a fluid ounce, NIST Handbook 44, Appendix C): whoever carries the
/// bottle reads both.
#[test]
fn what_is_needed_in_all_is_told_by_the_marks_too() {
    let folder = Folder::new("order-both");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let job = JOB.replace("tank = \"4 gal\"", "tank = \"6 gal\"\nsmallest_measure = \"1 mL\"");
    let job = folder.file("job.toml", job);
    let told = order(&map, &job, &folder.path("order.pdf"), &["--plane", "ft"]);
    assert!(told.contains("2.5floz(73.9mL)inall"), "{told}");
    let metric =
        order(&map, &job, &folder.path("order.pdf"), &["--plane", "ft", "--units", "metric"]);
    assert!(metric.contains("73.9mLinall"), "{metric}");
}

/// Lots of a street, each of a lawn too small for its name, on ground that is higher than wide.
fn street(lawns: usize) -> String {
    let lawn = |at: usize| {
        let (west, south) = ((at % 6) * 130, (at / 6) * 130);
        let (east, north) = (west + 20, south + 50);
        let ring = format!(
            "[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]"
        );
        let lawn = LAWN
            .replace("\"Lawn\"", &format!("\"Plot {at} behind the long wall\""))
            .replace("[0,0],[100,0],[100,50],[0,50],[0,0]", &ring);
        if at.is_multiple_of(2) { lawn } else { lawn.replace("tall-fescue", "kentucky-bluegrass") }
    };
    let lawns: Vec<String> = (0..lawns).map(lawn).collect();
    collection(&lawns.iter().map(String::as_str).collect::<Vec<_>>())
}

/// Two grasses at two rates, walked: two batches, each with loads of its own.
fn two_batches() -> String {
    let rates = "[application.product.rates]\n\"tall-fescue\" = \"0.5 fl oz/1000 sq ft\"\n\"kentucky-bluegrass\" = \"0.25 fl oz/1000 sq ft\"\n";
    walked_job().replace("rate = \"0.5 fl oz/1000 sq ft\"\n", "") + rates
}

/// A page that is empty below five lines looks like the last: where the map needs a page of its own, the
/// tables begin on the first. They name zones as the map does, and loads as its flags do.
#[test]
fn an_order_of_a_large_property_begins_on_its_first_page_and_speaks_as_its_map_does() {
    let folder = Folder::new("order-large");
    let map = folder.file("map.geojson", street(108));
    let job = folder.file("job.toml", two_batches().replace("4 gal", "11 gal"));
    let paper = folder.path("order.pdf");
    for page in ["letter", "a4"] {
        let told = order(&map, &job, &paper, &["--plane", "ft", "--page", page]);
        let first = packed(&poppler("pdftotext", &["-raw", "-l", "1", &paper, "-"]));
        assert!(first.contains("onmapzonegrass"), "{page}: {first}");
        assert!(first.contains("Plot0behindthelongwall"), "{page}: {first}");
        // Worked by hand: 54 lawns of 1,000 sq ft to a grass, and 11 gal for 11,000: the last load that
        // ends within a batch covers 44 lawns of each. The first load of the second grass ends with the
        // 11th of its lawns.
        for words in
            ["onmapzonepasses", "load1-1:pass", "load2-1:pass", "1Plot0behindthelongwall:1,000sqft"]
        {
            assert!(told.contains(words), "{words}: {told}");
        }
        assert!(!told.contains("load1:pass"), "{told}");
    }
}

/// Worked by hand: a quart of 0.5 fl oz and 2 oz wt to the gallon holds 0.125 fl oz, 3.70 mL, and 0.5 oz
/// wt, 14.2 g (29.5735 mL and 28.3495 g; NIST Handbook 44, Appendix C). No cup has a mark for the first.
#[test]
fn a_jar_is_filled_by_what_a_syringe_and_a_scale_have() {
    let folder = Folder::new("order-jar");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let iron = "[[application.product]]\nproduct = \"ferrous-sulfate-20-fe\"\nrate = \"2 oz wt/1000 sq ft\"\nlabel_checked = \"2026-05-02\"\n";
    let job = folder.file("job.toml", format!("{JOB}{iron}"));
    let told = order(&map, &job, &folder.path("order.pdf"), &["--plane", "ft"]);
    let (_, jar) = told.split_once("Jartest,for").unwrap();
    let table = text(&turfplat(&["plan", &map, "--plane", "ft", "--job", &job]).stdout);
    let (_, listed) = table.split_once("Jar test, for").unwrap();
    for words in [": 3.7 mL", ": 14 g"] {
        assert!(jar.contains(&packed(words)), "{words}: {jar}");
        assert!(listed.contains(words), "{words}: {listed}");
    }
}

/// Two lawns whose names come out as boxes are told apart by their numbers, on the map and in each table.
#[test]
fn a_name_that_no_font_has_bears_its_number() {
    let folder = Folder::new("order-boxes");
    let [one, other] = ["草坪", "后院"].map(|name| LAWN.replace("Lawn", name));
    let other = other
        .replace("[0,0],[100,0],[100,50],[0,50],[0,0]", "[0,60],[100,60],[100,80],[0,80],[0,60]");
    let readable = LAWN
        .replace("[0,0],[100,0],[100,50],[0,50],[0,0]", "[0,90],[100,90],[100,120],[0,120],[0,90]");
    let map = folder.file("map.geojson", collection(&[&one, &other, &readable]));
    let job = folder.file("job.toml", walked_job());
    let told = order(&map, &job, &folder.path("order.pdf"), &["--plane", "ft"]);
    // On the map, in the table of zones, and in what a load covers.
    for words in ["zone1(□□)", "zone2(□□)", "1□□tallfescue5,000sqft", "2□□:2,000sqft", "Lawn:"]
    {
        assert!(told.contains(words), "{words}: {told}");
    }
    assert!(!told.contains("zone3"), "{told}");
}

/// One batch: its loads are plain numbers, as its flags are.
#[test]
fn a_load_of_the_only_batch_is_named_by_its_number() {
    let folder = Folder::new("order-one-batch");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let job = folder.file("job.toml", walked_job());
    let told = order(&map, &job, &folder.path("order.pdf"), &["--plane", "ft"]);
    assert!(told.contains("load1:pass"), "{told}");
}

/// A label with a range, invented: half of its most may be put down on one grass, five sixths on the other.
const LABEL: &str = r#"
id = "invented-regulator"
name = "invented growth regulator"
class = "growth regulator"
form = "liquid"
formulation = "EC"
label_checked = "2026-05-02"
active_ingredients = [{ name = "trinexapac-ethyl", content = "1 lb/gal" }]
rates = [
    { species = "kentucky-bluegrass", rate = ["0.2 fl oz/1000 sq ft", "0.6 fl oz/1000 sq ft"], basis = "label", source = "invented" },
    { species = "tall-fescue", rate = ["0.3 fl oz/1000 sq ft", "0.75 fl oz/1000 sq ft"], basis = "label", source = "invented" },
]
"#;

/// Where what is done with the rinsings hangs on the batch, each step says for which it is, and the steps
/// are numbered through.
#[test]
fn a_step_of_rinsing_names_its_batch() {
    let folder = Folder::new("order-rinsing");
    let blue = LAWN
        .replace("\"Lawn\"", "\"Blue\"")
        .replace("tall-fescue", "kentucky-bluegrass")
        .replace("[0,0],[100,0],[100,50],[0,50],[0,0]", "[0,60],[100,60],[100,80],[0,80],[0,60]");
    let map = folder.file("map.geojson", collection(&[LAWN, &blue]));
    let _ = folder.file("label.toml", LABEL);
    let job = two_batches()
        .replace("tank =", "dead_volume = \"0.1 gal\"\ntank =")
        .replace("\"trinexapac-ethyl-1-ec\"", "\"label.toml\"");
    let job = folder.file("job.toml", job);
    let told = order(&map, &job, &folder.path("order.pdf"), &["--plane", "ft"]);
    let table = text(&turfplat(&["plan", &map, "--plane", "ft", "--job", &job]).stdout);
    let (_, steps) = table.split_once("Rest and rinsing\n").unwrap();
    for (number, batch) in [(3, 1), (4, 2)] {
        let step = format!("{number}. batch {batch}: before the next batch");
        assert!(steps.contains(&step), "{steps}");
        let on_paper = step.replacen(". b", ". B", 1);
        assert!(told.contains(&packed(&on_paper)), "{on_paper}: {told}");
    }
    assert_eq!(steps.matches("keep no mix in the sprayer").count(), 1, "{steps}");
}
