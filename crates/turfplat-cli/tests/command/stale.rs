//! What an earlier run wrote does not stand beside what a later one writes, and nobody else's files
//! are touched.

use super::*;

/// Every file below a folder by its path there.
fn files(folder: &Folder, name: &str) -> Vec<String> {
    fn walk(at: &Path, root: &Path, found: &mut Vec<String>) {
        for entry in fs::read_dir(at).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, root, found);
            } else {
                found.push(path.strip_prefix(root).unwrap().display().to_string());
            }
        }
    }
    let root = folder.0.join(name);
    let mut found = Vec::new();
    if root.exists() {
        walk(&root, &root, &mut found);
    }
    found.sort();
    found
}

fn two_lots(folder: &Folder) -> String {
    folder.file("map.geojson", collection(&[&lawn_of("A", 0.0), &lawn_of("B", 5000.0)]))
}

/// The second lot is of a kind that nobody knows.
fn break_the_second(folder: &Folder) -> String {
    let broken = lawn_of("B", 5000.0).replace("\"turf\"", "\"tufr\"");
    folder.file("map.geojson", collection(&[&lawn_of("A", 0.0), &broken]))
}

const PLAN_OF_ONE: [&str; 7] = [
    "plan.csv",
    "plan.json",
    "spray-map.pgw",
    "spray-map.png",
    "spray-map.svg",
    "zones.geojson",
    "notes.txt",
];

fn in_folder(folder: &str, names: &[&str]) -> Vec<String> {
    let mut names: Vec<String> = names.iter().map(|name| format!("{folder}/{name}")).collect();
    names.sort();
    names
}

#[test]
fn a_plan_leaves_nothing_of_the_plan_before_it() {
    let folder = Folder::new("stale-plan");
    let map = two_lots(&folder);
    let second = JOB.split_once("[[application]]").unwrap().1.replace("June", "July");
    let two = folder.file("two.toml", format!("{JOB}\n[[application]]{second}"));
    let one = folder.file("one.toml", JOB);
    let out = folder.path("out");
    let plan = |job: &str, more: &[&str]| {
        let fixed = ["plan", &map, "--plane", "ft", "--job", job, "--out", &out];
        turfplat(&[&fixed[..], more].concat())
    };
    let pdf: &[&str] = if cfg!(feature = "pdf") { &["--pdf"] } else { &[] };
    assert_eq!(status(&plan(&two, pdf)), 0);
    let papers = files(&folder, "out").iter().filter(|it| it.ends_with(".pdf")).count();
    assert_eq!(papers, if cfg!(feature = "pdf") { 4 } else { 0 });
    for lot in ["A", "B"] {
        folder.file(&format!("out/{lot}/notes.txt"), "theirs");
        folder.file(&format!("out/{lot}/spray-map-marked.png"), "theirs");
    }
    let with_two = files(&folder, "out");

    // A plan that cannot be written loses nothing.
    fs::remove_file(folder.path("out/A/plan.csv")).unwrap();
    fs::create_dir(folder.path("out/A/plan.csv")).unwrap();
    assert_eq!(status(&plan(&one, &[])), 2);
    fs::remove_dir(folder.path("out/A/plan.csv")).unwrap();
    folder.file("out/A/plan.csv", "");
    let missing = |it: &&String| it.starts_with("A/") && !files(&folder, "out").contains(it);
    assert_eq!(with_two.iter().find(missing), None);

    assert_eq!(status(&plan(&one, &[])), 0);
    let names = [&PLAN_OF_ONE[..], &["spray-map-marked.png"]].concat();
    let both =
        [in_folder("A", &names), in_folder("B", &names), vec!["summary.csv".into()]].concat();
    assert_eq!(files(&folder, "out"), both);

    break_the_second(&folder);
    let output = plan(&one, &[]);
    assert_eq!(status(&output), 1);
    let remarks = text(&output.stderr);
    assert!(
        remarks.contains("nothing new is written of B; the files of an earlier run"),
        "{remarks}"
    );
    let theirs = in_folder("B", &["notes.txt", "spray-map-marked.png"]);
    let left = [in_folder("A", &names), theirs, vec!["summary.csv".into()]].concat();
    assert_eq!(files(&folder, "out"), left);
    let again = text(&plan(&one, &[]).stderr);
    assert!(!again.contains("earlier run"), "{again}");
}

#[test]
fn a_property_that_cannot_be_quoted_keeps_no_quote_of_yesterday() {
    let folder = Folder::new("stale-quote");
    let map = two_lots(&folder);
    let prices = "currency = \"USD\"\n[[service]]\nname = \"Feeding\"\nprice = \"10.00\"\n";
    let prices = folder.file("prices.toml", prices);
    let out = folder.path("out");
    let quote = |more: &[&str]| {
        let fixed = ["quote", &map, "--plane", "ft", "--prices", &prices, "--out", &out];
        turfplat(&[&fixed[..], &["--date", "2026-06-01"], more].concat())
    };
    let pdf: &[&str] = if cfg!(feature = "pdf") { &["--pdf"] } else { &[] };
    assert_eq!(status(&quote(pdf)), 0);
    assert_eq!(Path::new(&folder.path("out/A/quote.pdf")).exists(), cfg!(feature = "pdf"));
    folder.file("out/B/notes.txt", "theirs");
    let output = quote(&[]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let tables = ["quotes.csv", "summary.csv"];
    let all = |more: &[&str]| -> Vec<String> {
        more.iter().chain(&tables).map(|name| name.to_string()).collect()
    };
    assert_eq!(files(&folder, "out"), all(&["A/quote.json", "B/notes.txt", "B/quote.json"]));
    break_the_second(&folder);
    // Who asks for one does not ask about the other.
    assert_eq!(status(&quote(&["--property", "A"])), 0);
    assert_eq!(files(&folder, "out"), all(&["A/quote.json", "B/notes.txt", "B/quote.json"]));
    let output = quote(&[]);
    assert_eq!(status(&output), 1);
    assert!(text(&output.stderr).contains("is written of B"), "{}", text(&output.stderr));
    assert_eq!(files(&folder, "out"), all(&["A/quote.json", "B/notes.txt"]));
}

#[cfg(feature = "pdf")]
#[test]
fn a_property_that_is_refused_keeps_no_work_order_of_yesterday() {
    let folder = Folder::new("stale-orders");
    let map = two_lots(&folder);
    let job = folder.file("job.toml", JOB);
    let out = folder.path("out");
    let order = || turfplat(&["work-order", &map, "--plane", "ft", "--job", &job, "--out", &out]);
    assert_eq!(status(&order()), 0);
    folder.file("out/B-signed.pdf", "theirs");
    assert_eq!(files(&folder, "out"), ["A.pdf", "B-signed.pdf", "B.pdf"]);
    break_the_second(&folder);
    let output = order();
    assert_eq!(status(&output), 1);
    assert!(text(&output.stderr).contains("is written of B"), "{}", text(&output.stderr));
    assert_eq!(files(&folder, "out"), ["A.pdf", "B-signed.pdf"]);
}

#[test]
fn a_sheet_leaves_no_further_sheet_of_an_earlier_one() {
    let folder = Folder::new("stale-sheets");
    let zone = |at: usize| {
        let (west, south) = (at % 20 * 60, at / 20 * 40);
        let (east, north) = (west + 50, south + 25);
        let corners = format!(
            "[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]"
        );
        let named = LAWN.replace("\"Lawn\"", &format!("\"Lawn {at} beside the old library\""));
        named.replace("[0,0],[100,0],[100,50],[0,50],[0,0]", &corners)
    };
    let zones: Vec<String> = (0..300).map(zone).collect();
    let campus: Vec<&str> = zones.iter().map(String::as_str).collect();
    let campus = folder.file("campus.geojson", collection(&campus));
    let lawn = folder.file("lawn.geojson", collection(&[LAWN]));
    let job = folder.file("job.toml", JOB);
    for ending in ["png", "svg"] {
        let sheet = |map: &str, name: &str| {
            let file = folder.path(&format!("out/{name}.{ending}"));
            let output = turfplat(&["sheet", map, "--plane", "ft", "--job", &job, "-o", &file]);
            assert_eq!(status(&output), 0, "{}", text(&output.stderr));
            text(&output.stderr)
        };
        fs::create_dir_all(folder.path("out")).unwrap();
        sheet(&campus, "june");
        let further = |it: &String| it.starts_with("june-") && it.ends_with(ending);
        let count = files(&folder, "out").into_iter().filter(further).count();
        assert!(count > 0, "{ending}: the campus needs several sheets");
        let remarks = sheet(&lawn, "june");
        assert!(
            remarks.contains(&format!("june-2.{ending}, a sheet of an earlier run")),
            "{remarks}"
        );
        let beside: &[&str] =
            if ending == "png" { &["june.pgw", "june.png"] } else { &["june.svg"] };
        assert_eq!(files(&folder, "out"), beside, "{ending}");
        // A sheet of its own that is only called so.
        sheet(&lawn, "june-2");
        let before = files(&folder, "out");
        sheet(&lawn, "june");
        assert_eq!(files(&folder, "out"), before, "{ending}");
        fs::remove_dir_all(folder.path("out")).unwrap();
    }
}

#[test]
fn a_folder_says_which_plans_are_of_another_map_and_leaves_them() {
    let folder = Folder::new("stale-others");
    let job = folder.file("job.toml", JOB);
    let out = folder.path("out");
    let map = two_lots(&folder);
    let plan = |map: &str| turfplat(&["plan", map, "--job", &job, "--plane", "ft", "--out", &out]);
    assert!(!text(&plan(&map).stderr).contains("an earlier run"));
    let lots = collection(&[&lawn_of("B", 5000.0), &lawn_of("C", 9000.0)]);
    let told = text(&plan(&folder.file("other.geojson", lots)).stderr);
    assert!(told.contains("remark: A in") && told.contains("not on this map"), "{told}");
    assert!(files(&folder, "out").contains(&"A/plan.json".to_owned()));
}

#[test]
fn a_plan_writes_over_no_map_and_no_picture_that_it_reads() {
    let folder = Folder::new("stale-own-map");
    let job = folder.file("job.toml", JOB);
    fs::create_dir_all(folder.0.join("out")).unwrap();
    let map = folder.file("out/zones.geojson", collection(&[LAWN]));
    let output =
        turfplat(&["plan", &map, "--job", &job, "--plane", "ft", "--out", &folder.path("out")]);
    assert_eq!(status(&output), 2);
    assert!(text(&output.stderr).contains("is a map that is read"), "{}", text(&output.stderr));
    assert_eq!(fs::read_to_string(&map).unwrap(), collection(&[LAWN]));
    assert_eq!(files(&folder, "out"), ["zones.geojson"]);
}

#[test]
fn a_sheet_that_is_not_drawn_says_that_the_one_there_is_old() {
    let folder = Folder::new("stale-sheet");
    let map = folder.file("map.geojson", collection(&[LAWN]));
    let job = folder.file("job.toml", JOB);
    let picture = folder.path("june.svg");
    let sheet =
        |map: &str| turfplat(&["sheet", map, "--job", &job, "--plane", "ft", "-o", &picture]);
    assert!(!text(&sheet(&map).stderr).contains("not of this run"));
    let broken =
        folder.file("broken.geojson", collection(&[&LAWN.replace("\"turf\"", "\"tufr\"")]));
    let refused = sheet(&broken);
    assert_eq!(status(&refused), 1);
    assert!(
        text(&refused.stderr).contains("june.svg is not of this run"),
        "{}",
        text(&refused.stderr)
    );
}
