//! Job files: the schema and the reader hold each other, and a job that was begun for the user is one.

#![allow(clippy::unwrap_used)] // A test may.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use jsonschema::Validator;
use proptest::prelude::*;
use serde_json::Value;
use turfplat::units::UnitSystem;
use turfplat::{
    CoordinateSystem, Job, JobDraft, JobError, MapSource, PlanOptions, PropertyMap, job_schema,
    plan, read_map,
};
use turfplat_tests::cases;

/// A product whose label gives rates by use and height of cut.
const BY_USE: &str = r#"
id = "by-use"
name = "by use"
form = "liquid"
label_checked = "2026-05-02"
[[rates]]
species = "tall-fescue"
use = "lawn"
mowing_height = ["1 in", "3 in"]
rate = "0.6 fl oz/1000 sq ft"
basis = "label"
[[rates]]
species = "tall-fescue"
use = "fairway"
rate = "0.3 fl oz/1000 sq ft"
basis = "label"
"#;

fn no_file(path: &str) -> io::Result<String> {
    match path {
        "weather.csv" => Ok("rule,limit,source\nwind-at-most,10 mph,the county\n".to_owned()),
        "town.csv" => Ok("id,kind,base_ft\nbrook,water,30\n".to_owned()),
        "by-use.toml" => Ok(BY_USE.to_owned()),
        _ => Err(io::ErrorKind::NotFound.into()),
    }
}

fn read(text: &str) -> Result<Job, JobError> {
    Job::read("job.toml", text, &no_file)
}

fn schema() -> Value {
    serde_json::from_str(&job_schema()).unwrap()
}

fn validator() -> Validator {
    jsonschema::draft202012::new(&schema()).unwrap()
}

/// As an editor hands TOML to a validator: dates are texts.
fn as_json(text: &str) -> Option<Value> {
    fn json(value: &toml::Value) -> Value {
        match value {
            toml::Value::Datetime(date) => date.to_string().into(),
            toml::Value::Table(table) => {
                table.iter().map(|(key, value)| (key.clone(), json(value))).collect()
            }
            toml::Value::Array(array) => array.iter().map(json).collect(),
            other => serde_json::to_value(other).unwrap(),
        }
    }
    Some(json(&toml::Value::Table(text.parse().ok()?)))
}

/// All jobs of worked cases and examples.
fn jobs() -> Vec<(PathBuf, String)> {
    let kinds = ["good", "nasty", "refused", "unreadable"];
    let cases = kinds.iter().flat_map(|kind| cases(kind).unwrap());
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let paths = cases
        .map(|case| case.folder.join("job.toml"))
        .chain(["job.toml", "season.toml"].map(|name| root.join("examples/demo").join(name)))
        .filter(|path| path.exists());
    paths.map(|path| (path.clone(), fs::read_to_string(path).unwrap())).collect()
}

#[test]
fn every_job_that_is_read_is_valid_and_none_that_is_no_job() {
    let validator = validator();
    let (mut valid, mut invalid) = (0, 0);
    for (path, text) in jobs() {
        let by_schema = as_json(&text).is_some_and(|job| validator.is_valid(&job));
        match read(&text) {
            Ok(_) => {
                valid += 1;
                let job = as_json(&text).unwrap();
                let errors: Vec<String> =
                    validator.iter_errors(&job).map(|error| error.to_string()).collect();
                assert!(errors.is_empty(), "{}: {errors:?}", path.display());
            }
            Err(JobError::NotAJob { .. } | JobError::NoApplication { .. }) => {
                invalid += 1;
                assert!(!by_schema, "{} is no job", path.display());
            }
            Err(_) => {}
        }
    }
    assert!(valid >= 14 && invalid >= 2, "only {valid} and {invalid} jobs were tried");
}

/// One of every key.
const FULL: &str = r#"
[site]
name = "Home"
default_species = ["tall-fescue", "kentucky-bluegrass"]
jurisdiction = "maine"
hired = true
rules = "town.csv"
[site.species]
"Front lawn" = "tall-fescue"
[setbacks]
water = "30 ft"
[equipment.knapsack]
kind = "backpack"
tank = "4 gal"
spray_volume = "1 gal/1000 sq ft"
smallest_measure = ["0.25 fl oz", "0.1 oz wt"]
dead_volume = "0.1 gal"
plan = "equal"
reduces = ["targeted liquid"]
speed = "3 mph"
setting = "4.5"
swath = "5 ft"
edge_first = true
turning = "4 s"
[[application]]
name = "June"
equipment = "knapsack"
date = 2026-06-08
zones = ["Front lawn"]
dead_volume = "0.2 gal"
plan = "full"
[[application.product]]
product = "trinexapac-ethyl-1-ec"
label_checked = 2026-05-02
rate = "0.3 fl oz/1000 sq ft"
[[application.product]]
product = "by-use.toml"
use = "lawn"
mowing_height = "2 in"
[[application.product]]
product = "urea-46-0-0"
[application.product.rates]
tall-fescue = "1 lb N/1000 sq ft"
[[rule]]
id = "town-pond"
jurisdiction = "maine"
kind = "water"
activity = "apply"
products = "fertilizer"
base = "25 ft"
reduced = "10 ft"
reduced_by = ["drop spreader"]
waived_behind = "10 ft"
binds = "everyone"
measured_from = "top of bank"
conditions = "ponds of the town"
source = "a rule of our own"
read = "2026-05"
[buy.urea-46-0-0]
containers = [{ size = "50 lb", price = "39.95" }]
[[history]]
date = 2026-04-20
product = "urea-46-0-0"
rate = "0.5 lb N/1000 sq ft"
zones = ["Front lawn"]
note = "in spring"
[[history]]
date = "2026-03-20"
product = "urea-46-0-0"
amount = "3 lb"
area = "4800 sq ft"
zone = "Front lawn"
[weather]
wind_at_least = "3 mph"
wind_at_most = "8 mph"
gust_at_most = "12 mph"
rain_free = "6 h"
rain_chance_at_most = "10 %"
temperature_at_least = "50 F"
temperature_at_most = "85 F"
dry_leaf = true
defaults = "weather.csv"
[season]
from = 2026-04-15
until = "2026-10-15"
interval = "28 days"
most = 6
pauses = [["2026-07-01", 2026-08-20]]
at_limit = "drop"
model = "bentgrass-green"
[season.warm]
green_up = { soil = "60 F", days = 5, since = "2026-03-01" }
until = 2026-09-15
interval = "4 weeks"
most = 4
pauses = []
[season.cool]
green_up = { degree_days = "100 C", base = "0 C", since = 2026-01-01 }
[season.zones."Front lawn"]
from = 2026-05-01
[[application]]
name = "Growth"
equipment = "knapsack"
[application.season]
interval = "5 weeks"
[[application.product]]
product = "trinexapac-ethyl-1-ec"
rate = "0.3 fl oz/1000 sq ft"
"#;

/// Every table of a job with keys of its own: a line of [`FULL`] in it, and its name in the schema.
const TABLES: [(&str, Option<&str>); 13] = [
    ("", None),
    ("[site]", Some("SiteTable")),
    ("[equipment.knapsack]", Some("EquipmentTable")),
    ("[[application]]", Some("ApplicationTable")),
    ("product = \"urea-46-0-0\"", Some("ProductTable")),
    ("id = \"town-pond\"", Some("RuleTable")),
    ("[buy.urea-46-0-0]", Some("BuyTable")),
    ("note = \"in spring\"", Some("HistoryTable")),
    ("{ size = \"50 lb\"", Some("ContainerTable")),
    ("[weather]", Some("WeatherTable")),
    ("[season]", Some("SeasonTable")),
    ("[season.warm]", Some("SeasonPartTable")),
    ("{ soil = \"60 F\"", Some("GreenUpTable")),
];

#[test]
fn the_full_job_is_one_for_both() {
    read(FULL).unwrap();
    assert!(validator().is_valid(&as_json(FULL).unwrap()));
}

/// The reader is asked for its keys by a key that it does not know.
#[test]
fn the_keys_of_the_reader_are_the_keys_of_the_schema() {
    let schema = schema();
    let mut told = BTreeSet::new();
    for (line, name) in TABLES {
        let broken = match line {
            "" => format!("unheard_of = 1\n{FULL}"),
            line if line.starts_with('{') => {
                FULL.replacen(line, &format!("{line}, unheard_of = 1"), 1)
            }
            line => FULL.replacen(line, &format!("{line}\nunheard_of = 1"), 1),
        };
        let Err(JobError::NotAJob { reason, .. }) = read(&broken) else { panic!("{line} took it") };
        let (_, expected) = reason.split_once("expected").unwrap();
        let keys: BTreeSet<&str> = expected.split('`').skip(1).step_by(2).collect();
        let table = name.map_or(&schema, |name| &schema["$defs"][name]);
        told.extend(name);
        assert_eq!(table["additionalProperties"], false, "{line}");
        let properties = table["properties"].as_object().unwrap();
        assert_eq!(keys, properties.keys().map(String::as_str).collect(), "{line}");
        for (key, property) in properties {
            let says = |it: &Value| it["description"].as_str().is_some_and(|text| text.len() > 8);
            let described = says(property);
            // The others say it with their tables.
            assert!(
                described || key == "label_checked" || key == "date",
                "{line} {key} is not explained"
            );
        }
    }
    let defined = schema["$defs"].as_object().unwrap();
    let tables = defined.iter().filter(|(_, it)| it.get("properties").is_some());
    let all: BTreeSet<&str> = tables.map(|(name, _)| name.as_str()).collect();
    assert_eq!(all, told, "a table of the schema is not held to the reader here");
}

#[test]
fn what_the_reader_refuses_for_its_form_the_schema_refuses_too() {
    let validator = validator();
    #[rustfmt::skip]
    let slips = [
        ("kind = \"backpack\"\n", ""),
        ("kind = \"backpack\"", "kind = \"tractor\""),
        ("tank = \"4 gal\"", "tank = 4"),
        ("tank", "tnak"),
        ("plan = \"equal\"", "plan = \"halves\""),
        ("plan = \"full\"", "plan = \"halves\""),
        ("swath = \"5 ft\"", "swath = 5"),
        ("edge_first = true", "edge_first = \"yes\""),
        ("turning = \"4 s\"", "turning = 4"),
        ("[\"targeted liquid\"]", "[\"prayer\"]"),
        ("[\"targeted liquid\"]", "\"prayer\""),
        ("water = ", "lake = "),
        ("water = \"30 ft\"", "water = 30"),
        ("hired = true", "hired = \"yes\""),
        ("jurisdiction = \"maine\"", "jurisdiction = 23"),
        ("name = \"June\"\n", ""),
        ("equipment = \"knapsack\"\n", ""),
        ("zones = [\"Front lawn\"]", "zones = []"),
        ("zones = [\"Front lawn\"]", "zones = [1]"),
        ("product = \"urea-46-0-0\"\n", ""),
        ("kind = \"water\"", "kind = \"lake\""),
        ("activity = \"apply\"", "activity = \"look\""),
        ("binds = \"everyone\"", "binds = \"nobody\""),
        ("base = \"25 ft\"\n", ""),
        ("size = \"50 lb\", ", ""),
        ("price = \"39.95\"", "price = 39.95"),
        ("date = 2026-04-20\n", ""),
        ("rate = \"0.3 fl oz/1000 sq ft\"", "rate = 0.3"),
        ("rate = \"0.3 fl oz/1000 sq ft\"", "rate = \"0.3 fl oz/1000 sq ft\"\nrates = {}"),
        ("label_checked = 2026-05-02", "label_checked = 2026"),
        ("[setbacks]", "[setback]"),
        ("from = 2026-04-15", "from = \"in spring\""),
        ("from = 2026-04-15", "from = 2026-04-15\ngreen_up = { soil = \"50 F\", days = 5, since = 2026-01-01 }"),
        ("most = 6", "most = 0"),
        ("pauses = [[\"2026-07-01\", 2026-08-20]]", "pauses = [2026-07-01]"),
        ("at_limit = \"drop\"", "at_limit = \"ignore\""),
        ("until = 2026-09-15", "untill = 2026-09-15"),
        ("days = 5, ", "days = 0, "),
        (", since = \"2026-03-01\"", ""),
        ("days = 5, ", ""),
        ("days = 5, ", "days = 5, base = \"0 C\", "),
        ("date = 2026-06-08", "date = 2026-06-08\nseason = { most = 2 }"),
        ("[equipment.knapsack]", "[equipment]"),
    ];
    for (from, to) in slips {
        let broken = FULL.replacen(from, to, 1);
        assert_ne!(broken, FULL, "{from:?} is nowhere");
        assert!(read(&broken).is_err(), "the reader takes {to:?} for {from:?}");
        let job = as_json(&broken).unwrap();
        assert!(!validator.is_valid(&job), "the schema takes {to:?} for {from:?}");
    }
    let (before, _) = FULL.split_once("[[application]]").unwrap();
    let (without_product, _) = FULL.split_once("[[application.product]]").unwrap();
    for broken in [before, without_product, ""] {
        assert!(read(broken).is_err() && !validator.is_valid(&as_json(broken).unwrap()));
    }
}

fn map_of(path: &Path) -> PropertyMap {
    let bytes = fs::read(path).unwrap();
    let name = path.file_name().unwrap().to_string_lossy();
    read_map(&[MapSource::geojson(&*name, bytes, CoordinateSystem::AsTheFileSays)]).unwrap()
}

fn single_lot() -> PropertyMap {
    map_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("maps/prop_h_single_lot.geojson"))
}

/// Fills in the blanks of a draft as a person would, by key; `None` where a blank is not known here.
fn filled(draft: &str, all: bool) -> String {
    let answers = BTreeMap::from([
        ("name", "\"Home\""),
        ("jurisdiction", "\"maine\""),
        ("default_species", "\"tall-fescue\""),
        ("tank", "\"4 gal\""),
        ("spray_volume", "\"1 gal/1000 sq ft\""),
        ("smallest_measure", "\"1 mL\""),
        ("dead_volume", "\"0.1 gal\""),
        ("label_checked", "\"2026-05-02\""),
        ("rate", "\"0.3 fl oz/1000 sq ft\""),
        ("reduces", "[]"),
        ("swath", "\"5 ft\""),
    ]);
    let line = |line: &str| {
        let blank = line.strip_prefix('#').filter(|rest| !rest.starts_with(' '));
        let Some(blank) =
            blank.filter(|_| all || line.contains("# fill in") || line.contains("; fill in"))
        else {
            return line.to_owned();
        };
        let (key, value) = match blank.rsplit_once(" = \"\"") {
            Some((key, _)) => (key, "\"\""),
            None => blank.split_once(" = ").unwrap(),
        };
        let answer = match answers.get(key) {
            Some(answer) => answer,
            // What is given already, such as the zones.
            None if !value.starts_with("\"\"") => value,
            // The rates and the zones by grass, the distances by kind.
            None if key.starts_with('"') => "\"tall-fescue\"",
            None if turfplat::dose::find_species(key).is_ok() => "\"0.3 fl oz/1000 sq ft\"",
            None => "\"25 ft\"",
        };
        format!("{key} = {answer}")
    };
    draft.lines().map(|it| line(it) + "\n").collect()
}

#[test]
fn a_job_begun_for_a_map_is_read_and_says_what_is_left() {
    for path in [
        "maps/prop_h_single_lot.geojson",
        "maps/single_lot/without-well.geojson",
        "maps/single_lot/crs-member.geojson",
        "../examples/demo/map.geojson",
    ] {
        let map = map_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join(path));
        let draft = JobDraft::of_map(&map, UnitSystem::Us);
        let text = draft.to_toml();
        let job = read(&text).unwrap();
        assert!(validator().is_valid(&as_json(&text).unwrap()));
        // As it is: nothing is treated, and the first thing that is missing is named.
        let planned = plan(&map, &job, &PlanOptions::default()).unwrap();
        let reasons: Vec<String> =
            planned.refusals.iter().flat_map(|refusal| refusal.reasons.clone()).collect();
        assert!(planned.plans.is_empty(), "{path}");
        assert!(
            reasons.iter().any(|it| it.contains("its tank is not given")),
            "{path}: {reasons:?}"
        );
        let left = draft.left().join("; ");
        for key in ["equipment.tank", "equipment.spray_volume", "product.rate", "label_checked"] {
            assert!(left.contains(key), "{path}: {left}");
        }
        // What is marked filled in: every zone gets its dose.
        for all in [false, true] {
            let text = filled(&text, all);
            let job = read(&text).unwrap_or_else(|error| panic!("{path}: {error}\n{text}"));
            let planned = plan(&map, &job, &PlanOptions::default()).unwrap();
            assert!(planned.refusals.is_empty(), "{path}: {:?}\n{text}", planned.refusals);
            let application = &planned.plans[0].applications[0];
            assert!(application.skipped.is_empty(), "{path}: {:?}", application.skipped);
            assert!(!application.zones.is_empty() && !application.batches.is_empty());
        }
    }
}

#[test]
fn a_job_begun_without_a_map_can_be_filled_in_too() {
    let draft = JobDraft::blank();
    read(&draft.to_toml()).unwrap();
    let job = read(&filled(&draft.to_toml(), true)).unwrap();
    assert!(draft.left()[0].contains("site.default_species"));
    assert_eq!(job.default_species[0].id, "tall-fescue");
    // "Front lawn" of the example is on this map; all else of the job fits any.
    let planned = plan(&single_lot(), &job, &PlanOptions::default()).unwrap();
    assert_eq!(planned.plans[0].applications[0].zones.len(), 2);
}

#[test]
fn the_areas_and_grasses_of_the_zones_stand_in_the_job() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demo/map.geojson");
    let map = map_of(&demo);
    let text = JobDraft::of_map(&map, UnitSystem::Us).to_toml();
    let measured = turfplat::measure(&map, &turfplat::MeasureOptions::default());
    for zone in &measured.plats[0].zones {
        let line = text.lines().find(|line| line.starts_with(&format!("#\"{}\" = ", zone.name)));
        let line = line.unwrap_or_else(|| panic!("{} is not listed:\n{text}", zone.name));
        assert!(line.contains(&zone.net.print(UnitSystem::Us)), "{line}");
        assert!(line.contains(&zone.species.join(", ")), "{line}");
    }
}

#[test]
fn answers_go_where_they_belong_and_a_wrong_one_changes_nothing() {
    let map = single_lot();
    let mut draft = JobDraft::of_map(&map, UnitSystem::Us);
    let mut asked = 0;
    while let Some(question) = draft.next_question() {
        asked += 1;
        assert!(asked < 40, "asked without end: {question:?}");
        // None of these can be read as an answer to anything that is not a name.
        let wrong = draft.answer(&question, "7 bananas of it", &no_file);
        if !question.text.starts_with("Name of") {
            let error = wrong.unwrap_err().to_string();
            assert!(error.contains("bananas"), "{}: {error}", question.text);
            assert_eq!(draft.next_question(), Some(question.clone()), "{error}");
            let example = question.example.clone();
            draft.answer(&question, &example, &no_file).unwrap();
        }
    }
    assert_eq!(draft.left(), Vec::<String>::new());
    let text = draft.to_toml();
    let job = read(&text).unwrap();
    assert!(job.hired == Some(true) && job.jurisdictions == ["maine"]);
    let planned = plan(&map, &job, &PlanOptions::default()).unwrap();
    assert!(planned.refusals.is_empty(), "{:?}", planned.refusals);
    assert_eq!(planned.plans[0].applications[0].zones.len(), 2, "{text}");
    // Left blank all the way, it is the draft that nobody was asked about.
    let blank = JobDraft::of_map(&map, UnitSystem::Us);
    let mut empty = blank.clone();
    while let Some(question) = empty.next_question() {
        empty.answer(&question, " \n", &no_file).unwrap();
    }
    assert_eq!(empty.to_toml(), blank.to_toml());
}

#[test]
fn a_spreader_is_asked_for_no_spray_volume() {
    let mut draft = JobDraft::blank();
    let mut texts = Vec::new();
    while let Some(question) = draft.next_question() {
        let answer = if question.text.contains("spreader") { "spreader" } else { "" };
        draft.answer(&question, answer, &no_file).unwrap();
        texts.push(question.text);
    }
    assert!(texts.iter().any(|text| text.contains("hopper")), "{texts:?}");
    assert!(!texts.iter().any(|text| text.contains("calibration")), "{texts:?}");
    assert!(!draft.left().iter().any(|key| key.contains("spray_volume") || key.contains("tank")));
    assert!(read(&draft.to_toml()).is_ok());
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever a zone is called, the job that lists it is one, and names it as the map does.
    #[test]
    fn any_name_of_a_zone_can_be_written(names in prop::collection::btree_set("[ -~é\\t\\n\\r\\u{7f}\\u{85}\"'\\\\#=\\[\\]…🌱]{1,12}", 1..4)) {
        // Names that differ in blanks around them alone are one name, and a map with it twice is refused.
        let trimmed: BTreeSet<&str> = names.iter().map(|name| name.trim()).collect();
        prop_assume!(trimmed.len() == names.len());
        let features: Vec<Value> = names.iter().enumerate().map(|(place, name)| {
            let west = 200.0 * place as f64;
            let east = west + 100.0;
            serde_json::json!({
                "type": "Feature",
                "properties": { "kind": "turf", "name": name },
                "geometry": { "type": "Polygon", "coordinates": [[[west, 0.0], [east, 0.0], [east, 50.0], [west, 50.0], [west, 0.0]]] },
            })
        }).collect();
        let map = serde_json::json!({ "type": "FeatureCollection", "features": features });
        let source = MapSource::geojson("map.geojson", map.to_string().into_bytes(), CoordinateSystem::PLANE_FEET);
        let map = read_map(&[source]).unwrap();
        let draft = JobDraft::of_map(&map, UnitSystem::Us).to_toml();
        let job = read(&filled(&draft, true)).unwrap();
        // Plan refuses a zone that is nowhere on the map.
        let planned = plan(&map, &job, &PlanOptions::default()).unwrap();
        prop_assert_eq!(planned.plans[0].applications[0].zones.len(), planned.plans[0].zones.len(), "{}", draft);
    }
}
