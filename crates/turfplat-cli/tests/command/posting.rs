//! Signs are counted along what is treated, and people keep off for the longer of two times.

use super::*;

/// A turf of whole feet between two corners.
fn lawn(name: &str, [west, south, east, north]: [i32; 4]) -> String {
    format!(
        r#"{{"type":"Feature","properties":{{"kind":"turf","name":"{name}","species":"tall-fescue"}},"geometry":{{"type":"Polygon","coordinates":[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]}}}}"#
    )
}

fn bed([west, south, east, north]: [i32; 4]) -> String {
    lawn("Bed", [west, south, east, north]).replace("\"turf\"", "\"bed\"")
}

struct Office {
    folder: Folder,
    map: String,
    job: String,
}

impl Office {
    fn new(name: &str, features: &[String]) -> Office {
        let folder = Folder::new(name);
        let features: Vec<&str> = features.iter().map(String::as_str).collect();
        let map = folder.file("lot.geojson", collection(&features));
        let job = folder.file("job.toml", JOB);
        Office { folder, map, job }
    }

    fn posting(&self, more: &[&str]) -> Output {
        let fixed = ["posting", &self.map, "--plane", "ft", "--job", &self.job];
        turfplat(&[&fixed, more].concat())
    }

    fn one(&self, more: &[&str]) -> Value {
        let done = self.posting(&[&["--format", "json"], more].concat());
        assert_eq!(status(&done), 0, "{}", text(&done.stderr));
        json(&done)["properties"][0].clone()
    }
}

#[test]
fn signs_follow_from_the_outer_edge_of_each_piece() {
    // Worked by hand, at most 50 ft apart (ECL 33-1003): the lawns, and of each piece edge and signs.
    let front = lawn("Front", [0, 0, 100, 50]);
    let beside = lawn("Beside", [100, 0, 200, 50]);
    let apart = lawn("Apart", [0, 80, 30, 100]);
    #[rustfmt::skip]
    let table = [
        // 300 / 50 = 6, to the very foot
        (vec![front.clone()], vec![(300.0, 6)]),
        // 302 / 50 = 6.04
        (vec![lawn("Front", [0, 0, 101, 50])], vec![(302.0, 7)]),
        // a bed inside takes area and no edge
        (vec![front.clone(), bed([20, 10, 40, 30])], vec![(300.0, 6)]),
        // two that touch are one of 200 × 50: 500 / 50; apart they would be 6 + 6
        (vec![front.clone(), beside.clone()], vec![(500.0, 10)]),
        // a bed from edge to edge parts a lawn: 2 × (40 + 50) = 180 and 2 × (50 + 50) = 200
        (vec![front.clone(), bed([40, -5, 50, 55])], vec![(200.0, 4), (180.0, 4)]),
        // one that lies apart needs its own: 2 × (30 + 20) = 100
        (vec![front, beside, apart], vec![(500.0, 10), (100.0, 2)]),
        // a crumb that a drawing leaves has none
        (
            vec![
                lawn("Front", [0, 0, 100, 50]),
                lawn("Crumb", [0, 80, 30, 100]).replace("100", "80.9").replace("30", "0.9"),
            ],
            vec![(300.0, 6), (3.6, 0)],
        ),
        // however small
        (vec![lawn("Strip", [0, 0, 3, 2])], vec![(10.0, 1)]),
    ];
    for (features, expected) in table {
        let office = Office::new("posting-signs", &features);
        let posted = office.one(&["--state", "NY"]);
        let markers = &posted["markers"];
        let pieces = markers["pieces"].as_array().unwrap();
        assert_eq!(pieces.len(), expected.len(), "{features:?}: {markers}");
        for (piece, (feet, signs)) in pieces.iter().zip(&expected) {
            let perimeter = piece["perimeter_m"].as_f64().unwrap() / 0.3048;
            assert!((perimeter - feet).abs() < 0.02, "{features:?}: {perimeter}");
            assert_eq!(piece["markers"], *signs, "{features:?}");
        }
        let notes = posted["notes"].to_string();
        assert_eq!(
            notes.contains("1 piece is smaller than 10 sq ft"),
            expected[0].0 < 11.0,
            "{notes}"
        );
        assert_eq!(
            notes.contains("1 piece is smaller than 1 sq ft"),
            expected.iter().any(|(_, signs)| *signs == 0),
            "{notes}"
        );
        assert_eq!(markers["count"], expected.iter().map(|(_, signs)| signs).sum::<i32>());
    }
}

#[test]
fn a_rule_without_a_distance_gives_no_number() {
    let office = Office::new("posting-none", &[lawn("Front", [0, 0, 100, 50])]);
    let posted = office.one(&["--state", "Georgia"]);
    assert_eq!(posted["markers"]["count"], Value::Null);
    assert_eq!(posted["markers"]["pieces"][0]["markers"], Value::Null);
    let how = posted["markers"]["how"].as_str().unwrap();
    assert!(how.contains("so no number follows") && how.contains("(primary entries)"), "{how}");
    let table = text(&office.posting(&["--state", "Georgia"]).stdout);
    assert!(table.contains("How many: no number"), "{table}");
    assert!(table.contains("Ga. 40-21-9") && table.contains("bottom 8-12 in"), "{table}");
}

/// A product of the user's own whose label says when people may go back.
const MINE: &str = r#"id = "mine"
name = "Mine"
class = "herbicide"
form = "liquid"
formulation = "SL"
epa_registration = "12345-678"
reentry = "REENTRY"
label_checked = "2026-05-02"
rates = [{ species = "tall-fescue", rate = "0.5 fl oz/1000 sq ft", basis = "label" }]
"#;

#[test]
fn the_longer_of_two_times_is_on_the_notice_with_its_day_and_hour() {
    let office = Office::new("posting-times", &[lawn("Front", [0, 0, 100, 50])]);
    fs::write(&office.job, JOB.replace("trinexapac-ethyl-1-ec", "mine.toml")).unwrap();
    let at = ["--date", "2026-06-08", "--time", "10:30"];
    let kept = |reentry: &str, state: &str, at: &[&str]| {
        office.folder.file("mine.toml", MINE.replace("REENTRY", reentry));
        let posted = office.one(&[&["--state", state], at].concat());
        let line = |what: &str| {
            let all = posted["notice"].as_array().unwrap();
            all.iter().find(|line| line["what"] == what).unwrap()["text"].clone()
        };
        assert_eq!(line("treated with"), "Mine (EPA Reg. No. 12345-678)");
        assert_eq!(line("treated by"), Value::Null);
        assert_eq!(line("keep off"), posted["keep_off"]["text"]);
        (line("keep off"), posted["keep_off"]["until"].clone())
    };
    // Worked by hand: 24 h of New York from 10:30 on 8 June; then 36 h.
    let (words, until) = kept("12 h", "NY", &at);
    assert_eq!((words, until), ("until 2026-06-09 10:30".into(), "2026-06-09T10:30".into()));
    let (words, until) = kept("36 h", "NY", &at);
    assert_eq!((words, until), ("until 2026-06-09 22:30".into(), "2026-06-09T22:30".into()));
    let (words, until) = kept("36 h", "NY", &[]);
    assert_eq!((words, until), ("36 h from the end of the treatment".into(), Value::Null));
    let (words, _) = kept("12 h", "IN", &at[..2]);
    let both = "until 2026-06-09, and 12 h from the end of the treatment, whichever is last";
    assert_eq!(words, both);
    let (words, _) = kept("4 h", "MI", &at);
    assert_eq!(words, "until 2026-06-08 14:30, and until dry, whichever is last");
}

#[test]
fn the_state_is_the_jobs_or_is_asked_for_and_never_guessed() {
    let office = Office::new("posting-state", &[lawn("Front", [0, 0, 100, 50])]);
    let done = office.posting(&[]);
    assert_eq!(status(&done), 2);
    let said = text(&done.stderr);
    assert!(said.contains("says no place; add --state, one of NY, IN, IL, WI, MI, GA"), "{said}");
    let of = |place: &str| {
        fs::write(&office.job, format!("[site]\njurisdiction = {place}\nhired = true\n{JOB}"))
            .unwrap();
        office.posting(&["--format", "json"])
    };
    assert_eq!(json(&of("\"New York\""))["properties"][0]["state"], "NY");
    let done = of("\"Maine\"");
    assert_eq!(status(&done), 1);
    let said = text(&done.stderr);
    assert!(said.contains("no rule on posting is known here for \"maine\""), "{said}");
    assert!(said.contains("known are: NY (New York), IN (Indiana)"), "{said}");
    let done = of("[\"New York\", \"Michigan\"]");
    assert_eq!(status(&done), 2);
    assert!(text(&done.stderr).contains("choose one with --state"), "{}", text(&done.stderr));
    for (more, code, why) in [
        (vec!["--state", "Indianna"], 1, "did you mean \"Indiana\"?"),
        (vec!["--state", "NY", "--time", "10:30"], 2, "--time is of a day; add --date"),
        (vec!["--state", "NY", "--time", "9:30"], 2, "write it as 10:30"),
        (vec!["--state", "NY", "--property", "b"], 2, "no property \"b\" has turf on the map"),
        (vec!["--state", "NY", "--application", "Juni"], 2, "June"),
    ] {
        let done = office.posting(&more);
        assert_eq!(status(&done), code, "{more:?}: {}", text(&done.stderr));
        assert!(text(&done.stderr).contains(why), "{more:?}: {}", text(&done.stderr));
    }
}

#[test]
fn what_is_not_treated_is_not_posted_and_the_rest_is() {
    let moss = lawn("Moss", [0, 200, 100, 250]).replace("tall-fescue", "moss");
    let of = |feature: &str, property: &str| {
        feature.replace("\"kind\"", &format!("\"property\":\"{property}\",\"kind\""))
    };
    let front = lawn("Front", [0, 0, 100, 50]);
    let office = Office::new("posting-rest", &[of(&moss, "a"), of(&front, "b")]);
    let done = office.posting(&["--state", "NY", "--format", "json"]);
    assert_eq!(status(&done), 1);
    let said = text(&done.stderr);
    assert!(said.contains("refused property a: application \"June\" treats nothing, so there is nothing to post (Moss: "), "{said}");
    let answer = json(&done);
    assert_eq!(answer["properties"].as_array().unwrap().len(), 1);
    assert_eq!(answer["properties"][0]["property"], "b");
    assert_eq!(answer["refused"].as_array().unwrap().len(), 1);
    let done = office.posting(&["--state", "NY", "--customer", "A. Sedge"]);
    assert_eq!(status(&done), 2);
    let own = office.posting(&["--state", "NY", "--customer", "A. Sedge", "--property", "b"]);
    assert_eq!(status(&own), 0, "{}", text(&own.stderr));
    assert!(text(&own.stdout).contains("for: A. Sedge"), "{}", text(&own.stdout));
    assert!(text(&own.stdout).contains("treated by: ____"), "{}", text(&own.stdout));
}

#[cfg(feature = "pdf")]
#[test]
fn a_work_order_says_how_many_signs_to_carry() {
    let office = Office::new("posting-order", &[lawn("Front", [0, 0, 100, 50])]);
    fs::write(&office.job, format!("[site]\njurisdiction = \"New York\"\nhired = true\n{JOB}"))
        .unwrap();
    let out = office.folder.path("june.pdf");
    let done = turfplat(&[
        "work-order",
        &office.map,
        "--plane",
        "ft",
        "--job",
        &office.job,
        "--date",
        "2026-06-08",
        "-o",
        &out,
    ]);
    assert_eq!(status(&done), 0, "{}", text(&done.stderr));
    let read = Command::new("pdftotext").args(["-raw", &out, "-"]).output().unwrap();
    let read = text(&read.stdout).replace('\u{200b}', "");
    let read = read.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        read.contains("Posting, New York: 6 signs; keep off 24 h (ECL 33-1003; 6 NYCRR 325.40)"),
        "{read}"
    );
}
