//! Records: from a plan and what happened into a ledger, and from there into the next plan. Dates lie in
//! 2024, for nothing is recorded that is still to come by the machine's clock.

use super::*;

const OWN: &str = r#"
id = "sample-regulator"
name = "sample regulator"
class = "growth regulator"
form = "liquid"
formulation = "EC"
source = "invented for this test"
label_checked = "2024-05-02"
epa_registration = "12345-678"

[[active_ingredients]]
name = "trinexapac-ethyl"
content = "1 lb/gal"

[limits]
max_per_application = { limit = "0.8 fl oz/1000 sq ft", source = "invented for this test" }
max_per_year = { limit = "1.25 fl oz/1000 sq ft", source = "invented for this test" }
min_interval = { limit = "28 days", source = "invented for this test" }
"#;

const JOB: &str = r#"
[site]
name = "14 Alder Lane"
hired = true
jurisdiction = ["minnesota"]
[equipment.knapsack]
kind = "backpack"
tank = "4 gal"
spray_volume = "1 gal/1000 sq ft"
plan = "equal"
[[application]]
name = "June"
equipment = "knapsack"
[[application.product]]
product = "own.toml"
rate = "0.5 fl oz/1000 sq ft"
label_checked = "2024-05-02"
"#;

/// A lawn of 100 ft by 50 ft, its job and product, and the plan of a day; 5,000 sq ft take two loads.
struct Work {
    folder: Folder,
    map: String,
    job: String,
    ledger: String,
}

impl Work {
    fn new(name: &str) -> Work {
        let folder = Folder::new(name);
        folder.file("own.toml", OWN);
        let map = folder.file("map.geojson", collection(&[LAWN]));
        let job = folder.file("job.toml", JOB);
        let ledger = folder.path("records.sqlite");
        Work { folder, map, job, ledger }
    }

    fn plan(&self, date: &str, more: &[&str]) -> Output {
        let words = ["plan", &self.map, "--plane", "ft", "--job", &self.job, "--date", date];
        turfplat(&[&words[..], more].concat())
    }

    /// The file of a plan of 10 June 2024.
    fn planned(&self) -> String {
        let out = self.folder.path("plan");
        let planned = self.plan("2024-06-10", &["--out", &out]);
        assert_eq!(status(&planned), 0, "{}", text(&planned.stderr));
        self.folder.path("plan/plan.json")
    }

    fn record(&self, words: &[&str]) -> Output {
        turfplat(&[&["record"], words, &["--ledger", &self.ledger]].concat())
    }

    fn added(&self, more: &[&str]) -> String {
        let plan = self.planned();
        let output = self.record(&[&["add", &plan], more].concat());
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        text(&output.stdout)
    }

    fn records(&self, more: &[&str]) -> Vec<Value> {
        let found = self.record(&[&["find", "--format", "json"], more].concat());
        assert_eq!(status(&found), 0, "{}", text(&found.stderr));
        json(&found)["records"].as_array().unwrap().clone()
    }
}

/// All that Minnesota and the federal lists ask for beside what the plan tells.
const ALL: [&str; 24] = [
    "--as-planned",
    "--timezone",
    "America/Chicago",
    "--ended",
    "9:10 am",
    "--applicator",
    "B. Example",
    "--license",
    "X-0001",
    "--uncertified",
    "none",
    "--company",
    "Example Turf",
    "--company-address",
    "1 Sample Road",
    "--customer",
    "A. Sample",
    "--customer-address",
    "14 Alder Lane",
    "--location",
    "lawns of 14 Alder Lane",
    "--temperature",
    "68 F",
    "--wind-from=SW",
];

#[test]
fn an_incomplete_record_is_a_draft_that_says_what_is_missing() {
    let work = Work::new("records-draft");
    let plan = work.planned();
    let output = work.record(&[&["add", &plan], &ALL[..]].concat());
    assert_eq!(status(&output), 0);
    assert!(text(&output.stdout).starts_with("record 1: 14 Alder Lane, June, 2024-06-10; draft;"));
    let said = text(&output.stderr);
    assert!(
        said.contains("wind speed: give wind in the form, or --wind (asked for by minnesota)"),
        "{said}"
    );
    // Five years are from memory, and it is said.
    assert!(said.contains("Minnesota: kept 5 years (from memory"), "{said}");
    assert!(!said.contains("registration number"), "the product file gives it: {said}");

    let done = work.record(&["complete", "1", "--wind", "5 mph", "--lot", "L-17"]);
    assert_eq!(status(&done), 0, "{}", text(&done.stderr));
    assert!(text(&done.stdout).contains("record 2:") && text(&done.stdout).contains("; complete;"));
    let kept = &work.records(&[])[0];
    assert_eq!((&kept["id"], &kept["follows"]), (&2.into(), &1.into()));
    assert_eq!(kept["record"]["products"][0]["registration"], "12345-678");
    assert_eq!(kept["record"]["products"][0]["lots"][0], "L-17");
    assert_eq!(kept["keep_until"], "2029-06-10");
    // 68 °F are 20 °C, 5 mph 2.2352 m/s (NIST SP 811, App. B.8).
    assert_eq!(kept["record"]["weather"]["temperature"]["celsius"], 20.0);
    assert_eq!(kept["record"]["weather"]["wind"]["meters_per_second"], 2.2352);
    let ended = kept["record"]["ended"].as_str().unwrap();
    assert_eq!(ended, "2024-06-10T09:10:00-05:00[America/Chicago]");
    // 5,000 sq ft at 0.5 fl oz each 1,000: 2.5 fl oz.
    let amount = kept["products"][0]["amount"]["value"].as_f64().unwrap();
    assert!((amount - 2.5).abs() < 1e-9, "{amount}");

    // One figure for all loads keeps what else was told of them.
    let other = Work::new("records-gathered");
    other.added(&[&ALL[..], &["--wind", "5 mph"]].concat());
    let more = ["correct", "1", "--why", "the jug was read wrong", "--amount", "2.7 fl oz"];
    let corrected = other.record(&more);
    assert!(text(&corrected.stdout).contains("; complete;"), "{}", text(&corrected.stderr));
    // 2.7 fl oz on 5,000 sq ft are 0.54 each 1,000, 8 % more than 0.5.
    assert!(text(&corrected.stderr).contains("8.0 % more"), "{}", text(&corrected.stderr));
    let kept = &other.records(&[])[0];
    let area = kept["products"][0]["area_m2"].as_f64().unwrap();
    assert!((area - 464.5152).abs() < 1e-6, "{area}");
    assert_eq!(
        kept["record"]["loads"][0]["done"][0]["area"]["written"],
        "2,500 sq ft + 2,500 sq ft"
    );

    let twice = work.record(&["complete", "2", "--wind", "6 mph"]);
    assert_eq!(status(&twice), 1);
    assert!(text(&twice.stderr).contains("record 2 is complete; use `turfplat record correct`"));
    let late = work.record(&["complete", "1", "--wind", "6 mph"]);
    assert!(text(&late.stderr).contains("record 1 was replaced by record 2"));
}

#[test]
fn a_form_is_refused_until_it_is_looked_over() {
    let work = Work::new("records-form");
    let plan = work.planned();
    let new = turfplat(&["record", "new", &plan, "--timezone", "America/Chicago"]);
    assert_eq!(status(&new), 0);
    let form = text(&new.stdout);
    assert_eq!(form.matches("[[load]]").count(), 2, "{form}");
    assert!(form.contains("asked for by minnesota"), "{form}");
    let file = work.folder.file("happened.toml", &form);
    let add = |file: &str| work.record(&["add", &plan, "--happened", file]);
    let refused = add(&file);
    assert_eq!(status(&refused), 1);
    assert!(text(&refused.stderr).contains("write checked = true"));
    assert!(!Path::new(&work.ledger).exists(), "nothing is begun for what is refused");

    let form = form.replace("checked = false", "checked = true");
    // The second load went on thicker than planned, and on less ground.
    let second = form.rfind("[[load]]").unwrap();
    let (first, second) = form.split_at(second);
    let told = second
        .replace("\"1.25 fl oz\"", "\"1.6 fl oz\"")
        .replace("\"2,500 sq ft\"", "\"2,000 sq ft\"")
        .replace("started = \"\"", "started = \"8:40\"");
    assert_ne!(second, told);
    let file = work.folder.file("told.toml", format!("{first}{told}"));
    let output = add(&file);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let said = text(&output.stderr);
    // Worked by hand: 1.6 fl oz on 2,000 sq ft is 0.8 each 1,000, 60 % more than 0.5.
    assert!(said.contains("0.8 fl oz/1000 sq ft put down where it is thickest, 0.5 fl oz/1000 sq ft planned: 60.0 % more"), "{said}");
    let kept = &work.records(&[])[0];
    // 1.25 + 1.6 fl oz on 2,500 + 2,000 sq ft.
    let rate = kept["products"][0]["rate"]["value"].as_f64().unwrap();
    assert!((rate - 2.85 / 4.5).abs() < 1e-9, "{rate}");
    assert_eq!(kept["record"]["started"], "2024-06-10T08:40:00-05:00[America/Chicago]");

    // 1.7 fl oz there are 0.85 each 1,000, above the label's 0.8 at once.
    let told = told.replace("1.6 fl oz", "1.7 fl oz");
    let file = work.folder.file("more.toml", format!("{first}{told}"));
    let said = text(&add(&file).stderr);
    assert!(said.contains("above the most at once on Lawn: 0.85 fl oz/1000 sq ft"), "{said}");

    for (was, told, refusal) in [
        (
            "batch = 1\nload = 1",
            "batch = 1\nload = 7",
            "there is no batch 1 load 7; there is: batch 1 load 1",
        ),
        ("\"Lawn\"", "\"Lawm\"", "\"Lawm\" is no zone of the plan; did you mean \"Lawn\"?"),
        ("{ \"sample-regulator\"", "{ \"sample-regulater\"", "did you mean \"sample-regulator\"?"),
        ("1.25 fl oz", "1.25 oz", "oz"),
        ("1.25 fl oz", "1.25 oz wt", "is a weight where the plan has a volume"),
        ("1.25 fl oz", "1.25", "has no unit"),
        ("temperature = \"\"", "temperature = \"72\"", "write it with its unit, as 72 F or 22 C"),
        ("timezone = \"America/Chicago\"", "timezone = \"Chicago\"", "is no time zone"),
        ("date = \"2024-06-10\"", "date = \"2024-06-31\"", "is no day"),
        ("date = \"2024-06-10\"", "date = \"9024-06-10\"", "is still to come"),
        (
            "property = \"14 Alder Lane\"",
            "property = \"3 Birch Court\"",
            "no property \"3 Birch Court\" in the plan",
        ),
        ("states = [\"minnesota\"]", "states = [\"minesota\"]", "did you mean \"minnesota\"?"),
    ] {
        assert!(form.contains(was), "{was}");
        let file = work.folder.file("wrong.toml", form.replacen(was, told, 1));
        let output = add(&file);
        assert_eq!(status(&output), 1, "{told}");
        let said = text(&output.stderr);
        assert!(said.contains(refusal), "{told}: {said}");
    }
    for wrong in ["checked = ", "weather = \"fine\"", "[[load]]\nload = \"one\""] {
        let file = work.folder.file("wrong.toml", wrong);
        assert_eq!(status(&add(&file)), 2, "{wrong}");
    }
    assert_eq!(work.records(&[]).len(), 2);
}

#[test]
fn what_was_recorded_limits_the_next_plan_as_a_history_does() {
    let work = Work::new("records-plan");
    work.added(&["--as-planned"]);
    // Within 28 days: refused, and the record is named.
    let soon = work.plan("2024-06-24", &["--ledger", &work.ledger]);
    assert_eq!(status(&soon), 1);
    let said = text(&soon.stdout);
    assert!(said.contains("14 days") && said.contains("record 1"), "{said}");
    // An explanation counts the same.
    let explained = turfplat(&[
        "explain",
        &work.map,
        "Lawn",
        "sample-regulator",
        "--plane",
        "ft",
        "--job",
        &work.job,
        "--date",
        "2024-06-24",
        "--ledger",
        &work.ledger,
    ]);
    let said = text(&explained.stdout) + &text(&explained.stderr);
    assert!(said.contains("record 1"), "{said}");
    // Later: as the same job with the same treatment in its history.
    let later = work.plan("2024-07-15", &["--ledger", &work.ledger, "--format", "json"]);
    assert_eq!(status(&later), 0, "{}", text(&later.stderr));
    let history = "\n[[history]]\ndate = \"2024-06-10\"\nproduct = \"own.toml\"\nrate = \"0.5 fl oz/1000 sq ft\"\n";
    let told = Work::new("records-told");
    fs::write(&told.job, format!("{JOB}{history}")).unwrap();
    let by_job = told.plan("2024-07-15", &["--format", "json"]);
    let limits = |output: &Output| {
        let limits = json(output)["properties"][0]["applications"][0]["limits"].clone();
        let rows = limits.as_array().unwrap().iter().map(|row| {
            let figure = |key: &str| row[key]["value"].as_f64().map(|it| (it * 1e9).round());
            (row["limit"].clone(), row["verdict"].clone(), figure("asked"), figure("allowed"))
        });
        rows.collect::<Vec<_>>()
    };
    assert_eq!(limits(&later), limits(&by_job));
    let of_year = limits(&later).into_iter().find(|row| row.0 == "max_per_year").unwrap();
    assert_eq!(of_year.1, "kept");
    assert_eq!(json(&later)["properties"][0]["history"][0]["record"], 1);
    // It is a draft, counts all the same, and that is a finding.
    let findings = json(&later)["properties"][0]["findings"].clone();
    assert!(findings.as_array().unwrap().iter().any(|it| it["code"] == "record-draft"));

    // Told by both it counts twice, and that is said.
    let both = told.plan("2024-07-15", &["--ledger", &work.ledger]);
    assert!(text(&both.stderr).contains("both count: if it is the same treatment"));

    // What really went on was more: with 0.8 on the ground 1.25 a year leave less than 0.5.
    let corrected =
        work.record(&["correct", "1", "--why", "the cup was read wrong", "--amount", "4 fl oz"]);
    assert_eq!(status(&corrected), 0, "{}", text(&corrected.stderr));
    let above = work.plan("2024-07-15", &["--ledger", &work.ledger]);
    assert_eq!(status(&above), 1);
    assert!(text(&above.stdout).contains("most in a year"), "{}", text(&above.stdout));
    // And what was never done counts for nothing.
    let back = work.record(&["correct", "2", "--why", "was another lawn", "--take-back"]);
    assert_eq!(status(&back), 0, "{}", text(&back.stderr));
    let freed = work.plan("2024-06-24", &["--ledger", &work.ledger]);
    assert_eq!(status(&freed), 0, "{}", text(&freed.stderr));
    assert!(text(&freed.stderr).contains("holds no record of \"14 Alder Lane\""));
}

#[test]
fn a_record_that_cannot_be_counted_stops_its_property_and_says_why() {
    let work = Work::new("records-unknown");
    work.added(&["--as-planned"]);
    let plan = work.folder.path("plan/plan.json");
    let early = work.plan("2024-06-01", &["--ledger", &work.ledger]);
    assert_eq!(status(&early), 1);
    assert!(text(&early.stderr).contains("record 1: of 2024-06-10, after the day of the plan"));
    // The zone has another name by now.
    fs::write(&work.map, collection(&[&LAWN.replace("\"Lawn\"", "\"Back lawn\"")])).unwrap();
    let renamed = work.plan("2024-08-01", &["--ledger", &work.ledger]);
    assert_eq!(status(&renamed), 1);
    assert!(text(&renamed.stderr).contains("is of zone \"Lawn\", which the map has not"));
    fs::write(&work.map, collection(&[LAWN])).unwrap();
    // The job knows the product no more, and the record does: its active ingredient counts for the other.
    fs::write(&work.job, JOB.replace("own.toml", "trinexapac-ethyl-1-ec")).unwrap();
    let other = work.plan("2024-08-01", &["--ledger", &work.ledger]);
    let said = text(&other.stderr);
    assert!(!said.contains("is no product of the job"), "{said}");
    // A plan of an earlier release told nothing of it: nobody knows then what it counts for.
    let planned = fs::read_to_string(&plan).unwrap().replace("\"counts\"", "\"nothing\"");
    let earlier = work.folder.file("earlier.json", planned);
    let ledger = work.folder.path("earlier.sqlite");
    let added = turfplat(&["record", "add", &earlier, "--as-planned", "--ledger", &ledger]);
    assert_eq!(status(&added), 0, "{}", text(&added.stderr));
    let unknown = work.plan("2024-08-01", &["--ledger", &ledger]);
    assert_eq!(status(&unknown), 1);
    let said = text(&unknown.stderr);
    assert!(said.contains("\"sample-regulator\" is no product of the job"), "{said}");
    // What is no ledger is no history.
    assert_eq!(status(&work.plan("2024-08-01", &["--ledger", &work.job])), 2);
    let nowhere = work.folder.path("nowhere.sqlite");
    assert_eq!(status(&work.plan("2024-08-01", &["--ledger", &nowhere])), 2);
    assert!(!Path::new(&nowhere).exists());
}

#[test]
fn records_are_found_shown_exported_and_backed_up() {
    let work = Work::new("records-export");
    work.added(&[&ALL[..], &["--wind", "5 mph", "--note", "=1+1"]].concat());
    work.added(&["--date", "2024-05-06"]);
    // Written twice by a slip, it would count twice: that is said, and taken back.
    let plan = work.planned();
    let again = work.record(&["add", &plan, "--date", "2024-05-06"]);
    assert!(text(&again.stderr).contains("record 2 is of the same property, application and day"));
    let back = work.record(&["correct", "3", "--take-back", "--why", "written twice"]);
    assert_eq!(status(&back), 0, "{}", text(&back.stderr));
    let ids = |more: &[&str]| -> Vec<i64> {
        work.records(more).iter().map(|it| it["id"].as_i64().unwrap()).collect()
    };
    assert_eq!(ids(&[]), [2, 1], "what was taken back lies nowhere");
    let all = work.record(&["find"]);
    assert!(text(&all.stderr).contains("1 that was taken back is left out"));
    assert_eq!(ids(&["--only", "draft"]), [2]);
    assert_eq!(ids(&["--from", "2024-06-01"]), [1]);
    assert_eq!(ids(&["--to", "2024-06-01", "--product", "sample-regulator"]), [2]);
    assert_eq!(ids(&["--only", "taken-back"]), [4]);
    let none = work.record(&["find", "--property", "14 Alder Lan"]);
    assert!(text(&none.stderr).contains("did you mean \"14 Alder Lane\"?"));

    let shown = text(&work.record(&["show", "1"]).stdout);
    for said in [
        "B. Example",
        "2.5 fl oz",
        "0.5 fl oz/1000 sq ft",
        "as planned",
        "seal ",
        "map map.geojson, SHA-256 ",
    ] {
        assert!(shown.contains(said), "{said}: {shown}");
    }
    // The map's checksum, by another program.
    if let Ok(sum) = Command::new("sha256sum").arg(&work.map).output() {
        let sum = text(&sum.stdout);
        assert!(shown.contains(sum.split(' ').next().unwrap()), "{sum}: {shown}");
    }
    let unknown = work.record(&["show", "9"]);
    assert_eq!(status(&unknown), 1);
    assert!(text(&unknown.stderr).contains("no record 9"));

    let rows = work.folder.path("all.csv");
    let exported = work.record(&["export", "--units", "metric", "-o", &rows]);
    assert_eq!(status(&exported), 0, "{}", text(&exported.stderr));
    assert!(text(&exported.stderr).contains("every seal holds"));
    let rows = fs::read_to_string(&rows).unwrap();
    let cells = |line: usize| -> Vec<String> {
        rows.lines().nth(line).unwrap().split(',').map(str::to_owned).collect()
    };
    let column = |name: &str| cells(0).iter().position(|it| it == name).unwrap();
    assert_eq!(rows.lines().count(), 3);
    let cell = |name: &str| cells(2)[column(name)].clone();
    assert_eq!(cell("license"), "X-0001");
    // 2.5 fl oz of 29.5735295625 mL on 5,000 sq ft of 0.09290304 m2: 0.15916... mL/m2, 1.59 L/ha.
    let milliliters: f64 = cell("amount_si").parse().unwrap();
    assert!((milliliters - 73.933_823_906_25).abs() < 1e-9, "{milliliters}");
    assert_eq!((cell("amount"), cell("amount_unit")), ("73.9".to_owned(), "mL".to_owned()));
    let rate: f64 = cell("rate_si").parse().unwrap();
    assert!((rate - 73.933_823_906_25 / 464.5152).abs() < 1e-9, "{rate}");
    assert_eq!(cell("hired"), "yes");
    assert_eq!(cell("places"), "minnesota");
    assert_eq!(cell("ended"), "2024-06-10T09:10:00-05:00");
    assert!(!cell("rate").is_empty() && !cell("zones").is_empty() && !cell("loads").is_empty());
    // Nobody told the amount of the other: unknown, and not nothing.
    assert_eq!(cells(1)[column("amount")], "");

    let copy = work.folder.path("copy.sqlite");
    assert_eq!(status(&work.record(&["backup", &copy])), 0);
    assert_eq!(status(&work.record(&["backup", &copy])), 2, "writes over nothing");
    let checked = turfplat(&["record", "check", "--ledger", &copy]);
    assert_eq!(status(&checked), 0);
    assert!(text(&checked.stdout).contains("whole; 4 records, every seal holds"));
    // As any program sees it.
    if let Ok(said) = Command::new("sqlite3")
        .args([&copy, "PRAGMA integrity_check; SELECT count(*) FROM records"])
        .output()
    {
        assert_eq!(text(&said.stdout), "ok\n4\n");
    }
    let mut bytes = fs::read(&copy).unwrap();
    // Wherever it stands: a page may hold what was moved from it too.
    for at in 0..bytes.len() - 10 {
        if bytes[at..].starts_with(b"B. Example") {
            bytes[at] = b'C';
        }
    }
    fs::write(&copy, bytes).unwrap();
    let checked = turfplat(&["record", "check", "--ledger", &copy]);
    assert_eq!(status(&checked), 1);
    assert!(text(&checked.stdout).contains("record 1 is not what was sealed"));
    // Nor is it handed on, nor counted.
    let out = work.folder.path("bent.csv");
    for words in
        [&["record", "find"][..], &["record", "show", "1"], &["record", "export", "-o", &out]]
    {
        let bent = turfplat(&[words, &["--ledger", &copy]].concat());
        assert_eq!(status(&bent), 2);
        assert!(text(&bent.stderr).contains("record 1 is not what was sealed"));
    }
    assert_eq!(status(&work.plan("2024-09-10", &["--ledger", &copy])), 2);
}

#[test]
fn a_customer_is_kept_only_where_a_list_asks() {
    let work = Work::new("records-customer");
    let plan = work.planned();
    let own = ["add", &plan, "--hired", "no", "--state", "florida", "--customer", "A. Sample"];
    let said = text(&work.record(&own).stderr);
    assert!(said.contains("no list asks for the customer; it was not kept"), "{said}");
    work.added(&["--hired", "yes", "--state", "florida", "--customer", "A. Sample"]);
    let kept = work.records(&[]);
    assert_eq!(kept[0]["record"]["customer"], Value::Null);
    assert_eq!(kept[1]["record"]["customer"]["name"], "A. Sample");
}

#[test]
fn what_is_no_plan_is_refused() {
    let work = Work::new("records-no-plan");
    for (name, content) in [("a.json", "{}"), ("b.json", "[1]"), ("c.json", "")] {
        let file = work.folder.file(name, content);
        let output = work.record(&["add", &file]);
        assert_eq!(status(&output), 2);
        assert!(text(&output.stderr).contains("not a plan"), "{}", text(&output.stderr));
    }
    let plan = work.planned();
    let output = work.record(&["add", &plan, "--application", "Jun"]);
    assert_eq!(status(&output), 1);
    assert!(text(&output.stderr).contains("did you mean \"June\"?"));
    assert!(!Path::new(&work.ledger).exists());
}

#[cfg(feature = "pdf")]
#[test]
fn a_record_on_paper_says_all_of_it() {
    let work = Work::new("records-paper");
    work.added(&[&ALL[..], &["--wind", "5 mph"]].concat());
    work.added(&["--date", "2024-05-06", "--note", "#strong[x] *y* $z$"]);
    let file = work.folder.path("2024.pdf");
    let output = work.record(&["export", "-o", &file]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let read = Command::new("pdftotext").args(["-layout", &file, "-"]).output();
    let read = read.expect("poppler's commands; scripts/prepare --tests brings them");
    let said = text(&read.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    for part in [
        "Record 1",
        "Record 2",
        "Draft: this is asked for and not told",
        "keep until 2029-06-10",
        "B. Example",
        "12345-678",
        "2024-06-10 09:10 CDT",
        "2.5 fl oz",
        // No text of a record is markup.
        "#strong[x] *y* $z$",
        "page 2 of 2",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    assert!(!said.contains("--license"), "an inspector types nothing: {said}");
    let seal =
        work.records(&["--from", "2024-06-01"])[0]["seal_sha256"].as_str().unwrap().to_owned();
    assert!(said.replace([' ', '\u{200b}'], "").contains(&seal), "{seal}: {said}");
    let again = work.folder.path("again.pdf");
    work.record(&["export", "-o", &again]);
    assert!(fs::read(&file).unwrap() == fs::read(&again).unwrap(), "the same bytes");
}

#[cfg(not(feature = "pdf"))]
#[test]
fn without_the_engine_records_go_to_tables() {
    let work = Work::new("records-no-paper");
    work.added(&["--as-planned"]);
    let file = work.folder.path("2024.pdf");
    let output = work.record(&["export", "-o", &file]);
    assert_eq!((status(&output), Path::new(&file).exists()), (2, false));
    assert!(text(&output.stderr).contains("--features pdf"));
}

/// A form of the plan's two loads, looked over, with `from` written as `to`.
fn form_with(work: &Work, changes: &[(&str, &str)]) -> String {
    let plan = work.planned();
    let form = turfplat(&["record", "new", &plan, "--timezone", "America/Chicago"]);
    let mut form = text(&form.stdout).replacen("checked = false", "checked = true", 1);
    for (from, to) in changes {
        assert!(form.contains(from), "{from} is not in {form}");
        form = form.replace(from, to);
    }
    work.folder.file("form.toml", form)
}

fn refused_for(work: &Work, words: &[&str], problem: &str) {
    let output = work.record(words);
    let said = text(&output.stderr);
    assert_eq!(status(&output), 1, "{words:?}: {said}");
    assert!(said.contains(problem), "{words:?}: {problem:?} is not in {said}");
}

#[test]
fn ground_gone_over_again_is_said_and_counted_once() {
    // Worked by hand: two loads of 1.25 fl oz, each told on all 5,000 sq ft: 2.5 fl oz on them, 0.5 each
    // 1,000, and not 0.25.
    let work = Work::new("record-overlap");
    let form = form_with(&work, &[("2,500 sq ft", "5,000 sq ft")]);
    let plan = work.folder.path("plan/plan.json");
    let output = work.record(&["add", &plan, "--happened", &form]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let said = text(&output.stderr);
    assert!(said.contains("10,000 sq ft told in all, and 5,000 sq ft of it"), "{said}");
    let shown = text(&work.record(&["show", "1"]).stdout);
    assert!(shown.contains(" 5,000 sq ft   2.5 fl oz   0.5 fl oz/1000 sq ft"), "{shown}");
    // 0.5 more would be below the year's 1.25, a third not: counted on the ground that there is.
    let next = work.plan("2024-09-10", &["--ledger", &work.ledger, "--format", "json"]);
    assert_eq!(status(&next), 0, "{}", text(&next.stderr));
    let limits = json(&next)["properties"][0]["applications"][0]["limits"].clone();
    let year = limits.as_array().unwrap().iter().find(|it| it["limit"] == "max_per_year").unwrap();
    assert!((year["asked"]["value"].as_f64().unwrap() - 1.0).abs() < 1e-6, "{year}");
    let plan = work.folder.path("plan/plan.json");
    refused_for(
        &work,
        &["add", &plan, "--as-planned", "--area", "50000 sq ft"],
        "more than the zone has",
    );
}

#[test]
fn what_cannot_have_been_is_refused_with_its_place() {
    let work = Work::new("record-cannot");
    let form = form_with(&work, &[("load = 2\n", "load = 1\n")]);
    let plan = work.folder.path("plan/plan.json");
    refused_for(
        &work,
        &["add", &plan, "--happened", &form],
        "batch 1 load 1: is told twice, at line",
    );
    refused_for(&work, &["add", &plan, "--amount", "1 fl oz", "--amount", "2 fl oz"], "told twice");
    let planned = ["add", plan.as_str(), "--as-planned", "--timezone", "America/Chicago"];
    for (more, problem) in [
        (&["--area", "0 sq ft"][..], "no ground is told"),
        (&["--wind", "500 mph"], "hurricane"),
        (&["--wind-from", "yonder"], "is no direction"),
        (&["--started", "09:00", "--ended", "08:00"], "before started"),
    ] {
        refused_for(&work, &[&planned[..], more].concat(), problem);
    }
    let form = form_with(&work, &[("started = \"\"", "started = \"07:00\"")]);
    let words = ["add", &plan, "--happened", &form, "--started", "08:00"];
    refused_for(&work, &words, "before the job's started");
    let volume = "spray_volume = \"2.5 gal\"";
    let form = form_with(&work, &[(volume, "spray_volume = \"9 gal\"\nwater = \"2.5 gal\"")]);
    refused_for(&work, &["add", &plan, "--happened", &form], "leave one out");
    assert!(!std::path::Path::new(&work.ledger).exists(), "nothing was recorded");
    let night = [&planned[..], &["--started", "23:30", "--ended", "00:40"]].concat();
    let output = work.record(&night);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let ended = work.records(&[])[0]["record"]["ended"].as_str().unwrap().to_owned();
    assert!(ended.starts_with("2024-06-11T00:40"), "{ended}");
}

#[test]
fn a_draft_is_completed_by_blanks_alone() {
    let work = Work::new("record-blanks");
    work.added(&["--as-planned", "--wind", "5 mph", "--lot", "=1+1", "--state", "MN"]);
    refused_for(&work, &["complete", "1"], "nothing is told that record 1 leaves open");
    refused_for(&work, &["complete", "1", "--wind", "5 mph"], "nothing is told");
    let words = ["complete", "1", "--wind", "9 mph", "--license", "X-1"];
    refused_for(&work, &words, "correct 1 --why");
    refused_for(&work, &["complete", "1", "--amount", "2 fl oz"], "correct 1 --why");
    let words = ["complete", "1", "--lot", "L2", "--license", "X-1"];
    let output = work.record(&words);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let record = &work.records(&[])[0]["record"];
    assert_eq!(record["products"][0]["lots"], serde_json::json!(["=1+1", "L2"]));
    assert_eq!(record["weather"]["wind"]["written"], "5 mph");
    assert_eq!(record["places"], serde_json::json!(["minnesota"]));
    let words = ["complete", "1", "--license", "X-2"];
    refused_for(&work, &words, "replaced by record 2");
}

#[test]
fn work_too_soon_and_too_much_of_a_year_is_said_and_kept() {
    // The label asks for 28 days and gives 1.25 fl oz/1000 sq ft a year: 0.5 twice is 1 of it, thrice 1.5.
    let work = Work::new("record-soon");
    work.added(&["--as-planned", "--date", "2024-05-01"]);
    let plan = work.folder.path("plan/plan.json");
    let add = |date: &str| {
        let output = work.record(&["add", &plan, "--as-planned", "--date", date]);
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        text(&output.stderr)
    };
    let soon = add("2024-05-15");
    assert!(
        soon.contains("14 days from record 1 (2024-05-01), and its label asks for 28"),
        "{soon}"
    );
    assert!(!soon.contains("most in a year"), "{soon}");
    let much = add("2024-07-01");
    assert!(!much.contains("days from record"), "{much}");
    assert!(much.contains("with records 1, 2") && much.contains("1.5 fl oz/1000 sq ft"), "{much}");
    let next_year = add("2025-07-20");
    assert!(!next_year.contains("its label"), "{next_year}");
}

#[test]
fn warmth_is_counted_since_the_days_of_the_records() {
    let work = Work::new("records-warmth");
    work.added(&["--as-planned"]);
    let weather = work.folder.file(
        "days.csv",
        "date,tmin_f,tmax_f\n2024-06-09,50,68\n2024-06-10,50,68\n2024-06-11,50,68\n2024-06-12,60,78\n2024-06-13,50,58\n",
    );
    let count = |more: &[&str]| {
        let words = ["degree-days", "--weather", &weather, "--base", "50F", "--threshold", "100F"];
        turfplat(&[&words[..], &["--ledger", &work.ledger], more].concat())
    };
    // Worked by hand: (50 + 68) / 2 − 50 = 9, 69 − 50 = 19 and 54 − 50 = 4 °F days after 10 June.
    let counted = count(&["--format", "json"]);
    assert_eq!(status(&counted), 0, "{}", text(&counted.stderr));
    let document = json(&counted);
    let told = document.to_string();
    assert!(told.contains("\"since\":\"2024-06-10\""), "{told}");
    assert!(text(&count(&[]).stdout).contains("32.0 °F days"), "{}", text(&count(&[]).stdout));
    // What was taken back lies nowhere, and a product that was not put down was not.
    assert_eq!(status(&count(&["--product", "salt"])), 2);
    let taken = work.record(&["correct", "1", "--take-back", "--why", "rained out"]);
    assert_eq!(status(&taken), 0, "{}", text(&taken.stderr));
    let none = count(&[]);
    assert_eq!(status(&none), 2);
    assert!(text(&none.stderr).contains("no record"), "{}", text(&none.stderr));
}
