//! The shopping list, rules of one's own and label ranges, from the job file to the answer.

use super::*;

/// Two lots of 100 ft × 50 ft on a plane in feet, of one species each; a pond 60 ft east of the
/// second, and a place to fill tanks 20 ft from a well.
const MAP: &str = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"kind":"turf","name":"Lawn","species":"tall-fescue","property":"a"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[100,0],[100,50],[0,50],[0,0]]]}},
{"type":"Feature","properties":{"kind":"turf","name":"Lawn","species":"zoysiagrass","property":"b"},"geometry":{"type":"Polygon","coordinates":[[[1000,0],[1100,0],[1100,50],[1000,50],[1000,0]]]}},
{"type":"Feature","properties":{"kind":"water","name":"Pond"},"geometry":{"type":"Polygon","coordinates":[[[1120,0],[1150,0],[1150,50],[1120,50],[1120,0]]]}},
{"type":"Feature","properties":{"kind":"well","name":"Well","property":"a"},"geometry":{"type":"Point","coordinates":[300,300]}},
{"type":"Feature","properties":{"kind":"mix-site","name":"Pad","property":"a"},"geometry":{"type":"Point","coordinates":[300,320]}}
]}"#;

const PRODUCT: &str = r#"
id = "mine"
name = "mine"
class = "herbicide"
form = "liquid"
formulation = "SL"
label_checked = "2026-05-02"
containers = [{ size = "1 pt", price = "$20" }, { size = "1 qt", price = "$30.25" }]
rates = [
  { species = "tall-fescue", rate = ["1 fl oz/1000 sq ft", "2 fl oz/1000 sq ft"], basis = "label" },
  { species = "zoysiagrass", rate = "1 fl oz/1000 sq ft", basis = "label" },
]
"#;

const JOB: &str = r#"
[equipment.knapsack]
kind = "backpack"
tank = "4 gal"
spray_volume = "1 gal/1000 sq ft"
dead_volume = "0.5 gal"
[[application]]
name = "May"
equipment = "knapsack"
[[application.product]]
product = "mine.toml"
label_checked = "2026-05-02"
[application.product.rates]
tall-fescue = "2 fl oz/1000 sq ft"
zoysiagrass = "1 fl oz/1000 sq ft"
[[application]]
name = "July"
equipment = "knapsack"
[[application.product]]
product = "mine.toml"
label_checked = "2026-05-02"
[application.product.rates]
tall-fescue = "1 fl oz/1000 sq ft"
zoysiagrass = "1 fl oz/1000 sq ft"
"#;

/// The map, a product file and a job in a folder.
struct Lots(Folder);

impl Lots {
    fn new(name: &str, job: &str) -> Lots {
        let folder = Folder::new(name);
        for (name, text) in [("map.geojson", MAP), ("mine.toml", PRODUCT), ("job.toml", job)] {
            folder.file(name, text);
        }
        Lots(folder)
    }

    fn plan(&self, more: &[&str]) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_turfplat"));
        command.current_dir(&self.0.0).args([
            "plan",
            "map.geojson",
            "--plane",
            "ft",
            "--job",
            "job.toml",
        ]);
        command.args(more).output().unwrap()
    }

    fn json(&self) -> Value {
        let output = self.plan(&["--format", "json"]);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        serde_json::from_slice(&output.stdout).unwrap()
    }
}

fn close(value: &Value, by_hand: f64) {
    let value = value.as_f64().unwrap();
    assert!((value - by_hand).abs() < 1e-6, "{value} ≠ {by_hand}");
}

#[test]
fn both_trips_and_the_hose_are_bought_together() {
    let plan = Lots::new("buy", JOB).json();
    let buy = &plan["properties"][0]["buy"][0];
    // Worked by hand: 5,000 sq ft take 10 and 5 fl oz; 0.5 gal in the hose hold 1 and 0.5 fl oz.
    close(&buy["needed"]["value"], 16.5);
    close(&buy["dead_volume"]["value"], 1.5);
    // 16.5 fl oz are a quart for 30.25 rather than two pints for 40; 15.5 fl oz are left over.
    assert_eq!(buy["containers"].as_array().unwrap().len(), 1);
    assert_eq!(buy["containers"][0]["count"], 1);
    assert_eq!(buy["containers"][0]["size"]["unit"], "qt");
    assert_eq!(buy["cost"]["value"], "30.25");
    assert_eq!(buy["cost"]["currency"], "$");
    close(&buy["left_over"]["value"], 15.5);
    // 10 of 32 fl oz of it in May: 30.25 × 10/32 = 9.453125; 1.890625 per 1,000 sq ft.
    let may = &buy["zones"][0];
    assert_eq!((&may["application"], &may["zone"]), (&"May".into(), &"Lawn".into()));
    let cost = |value: &Value| value["value"].as_str().unwrap().parse::<f64>().unwrap();
    assert!((cost(&may["cost"]) - 9.453_125).abs() < 1e-9);
    assert!((cost(&may["cost_per_area"][0]["cost"]) - 1.890_625).abs() < 1e-9);
    assert!((cost(&may["cost_per_area"][1]["cost"]) - 1.890_625 * 43.56).abs() < 1e-6);
    // Both properties: the second takes what the first does of zoysia's rate, less its strip.
    let all = &plan["buy"][0];
    let second = &plan["properties"][1]["buy"][0];
    close(&all["needed"]["value"], 16.5 + second["needed"]["value"].as_f64().unwrap());
}

#[test]
fn the_list_is_printed_with_costs_and_what_is_not_given_is_said() {
    let folder = Lots::new("buy-table", JOB);
    let output = folder.plan(&[]);
    let text = String::from_utf8(output.stdout).unwrap();
    for part in [
        "To buy, for all applications",
        "1 × 1 qt at $30.25",
        "1.5 fl oz of it in hose and sump",
        "15.5 fl oz",
        "per acre",
        "$1.89",
        "To buy for all 2 properties",
    ] {
        assert!(text.contains(part), "{part}:\n{text}");
    }
    let unsold = PRODUCT.lines().filter(|line| !line.starts_with("containers")).collect::<Vec<_>>();
    folder.0.file("mine.toml", unsold.join("\n"));
    let text = String::from_utf8(folder.plan(&["--units", "metric"]).stdout).unwrap();
    assert!(text.contains("not given") && text.contains("[buy.mine]"), "{text}");
    // The job's word outranks the file's.
    let job =
        format!("{JOB}\n[buy.mine]\ncontainers = [{{ size = \"1 gal\", price = \"99 EUR\" }}]\n");
    folder.0.file("job.toml", job);
    let text = String::from_utf8(folder.plan(&["--units", "metric"]).stdout).unwrap();
    assert!(text.contains("1 × 1 gal at 99.00 EUR") && text.contains("per ha"), "{text}");
}

/// A row of the plan's table, by column.
fn rows(text: &str) -> Vec<std::collections::BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader.deserialize().map(Result::unwrap).collect()
}

#[test]
fn the_plans_table_carries_costs_and_containers_behind_all_other_columns() {
    let folder = Lots::new("buy-csv", JOB);
    let text = String::from_utf8(folder.plan(&["--format", "csv"]).stdout).unwrap();
    let head = text.lines().next().unwrap();
    assert!(head.starts_with("property,application,zone,species,status,"), "{head}");
    assert!(head.ends_with(",reason,label,cost,currency,containers_to_buy,for_wind"), "{head}");
    let rows_ = rows(&text);
    let may = &rows_[0];
    assert_eq!((may["application"].as_str(), may["property"].as_str()), ("May", "a"));
    // Worked by hand above: 30.25 × 10/32, and a quart for both trips together.
    assert!((may["cost"].parse::<f64>().unwrap() - 9.453_125).abs() < 1e-9);
    assert_eq!((may["currency"].as_str(), may["containers_to_buy"].as_str()), ("$", "1 × 1 qt"));
    // All written files hold the same.
    let out = folder.plan(&["--out", "out"]);
    assert!(out.status.success());
    let written = fs::read_to_string(folder.0.path("out/a/plan.csv")).unwrap();
    assert_eq!(&rows(&written)[0], may);
    let unsold: Vec<_> = PRODUCT.lines().filter(|line| !line.starts_with("containers")).collect();
    folder.0.file("mine.toml", unsold.join("\n"));
    let text = String::from_utf8(folder.plan(&["--format", "csv"]).stdout).unwrap();
    for row in rows(&text) {
        assert!(["cost", "currency", "containers_to_buy"].iter().all(|key| row[*key].is_empty()));
    }
}

#[test]
fn a_rate_that_is_far_from_usual_is_dosed_on_a_reason_that_the_plan_shows() {
    let mild: Vec<_> = PRODUCT
        .lines()
        .filter(|line| !line.contains("species") && *line != "rates = [" && *line != "]")
        .collect();
    let at = |more: &str| {
        let job = JOB.replacen("tall-fescue = \"2 fl oz", "tall-fescue = \"80 fl oz", 1).replacen(
            "label_checked = \"2026-05-02\"\n",
            &format!("label_checked = \"2026-05-02\"\n{more}"),
            1,
        );
        let folder = Lots::new("right", &job);
        folder.0.file("mine.toml", mild.join("\n"));
        folder
    };
    let output = at("").plan(&[]);
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(told.contains("say where in rate_is_right"), "{told}");
    let output = at("rate_is_right = \" \"\n").plan(&[]);
    let told = String::from_utf8(output.stderr).unwrap();
    assert!(told.contains("rate_is_right: is empty; say where on the label"), "{told}");
    let plan = at("rate_is_right = \"page 3, on moss\"\n").json();
    let findings = plan["properties"][0]["findings"].as_array().unwrap();
    let lifted: Vec<_> = findings.iter().filter(|it| it["code"] == "rate-on-your-word").collect();
    assert_eq!(lifted.len(), 1, "of two applications one is far from usual: {findings:?}");
    let message = lifted[0]["message"].as_str().unwrap();
    for part in ["\"May\"", "80 fl oz/1000 sq ft", "64 fl oz/1000 sq ft", "\"page 3, on moss\""] {
        assert!(message.contains(part), "{part}: {message}");
    }
}

fn refused(name: &str, from: &str, to: &str) -> String {
    let job = JOB.replacen(from, to, 1);
    assert_ne!(job, JOB);
    let output = Lots::new(name, &job).plan(&[]);
    assert_eq!(output.status.code(), Some(1));
    String::from_utf8(output.stderr).unwrap()
}

#[test]
fn ranges_and_containers_that_cannot_be_are_refused_with_the_key() {
    let told = refused("range", "tall-fescue = \"2 fl oz", "tall-fescue = \"3 fl oz");
    assert!(told.contains("rates.\"tall-fescue\""), "{told}");
    assert!(told.contains("above the label's 1 to 2 fl oz/1000 sq ft"), "{told}");
    let told = refused("choose", "tall-fescue = \"2 fl oz/1000 sq ft\"\n", "");
    assert!(told.contains("no figure is chosen") && told.contains("rates.tall-fescue"), "{told}");
    let more = |text: &str| format!("{text}\n[equipment.knapsack]");
    let told = refused("buy-what", "[equipment.knapsack]", &more("[buy.yours]\ncontainers = []"));
    assert!(told.contains("buy.\"yours\"") && told.contains("mine"), "{told}");
    let price = "[buy.mine]\ncontainers = [{ size = \"1 gal\", price = \"dear\" }]";
    let told = refused("price", "[equipment.knapsack]", &more(price));
    assert!(told.contains("containers[0].price") && told.contains("\"39.95\""), "{told}");
}

#[test]
fn two_products_come_to_one_bill() {
    let powder = "id = \"powder\"\nname = \"powder\"\nclass = \"herbicide\"\nform = \"dry soluble\"\n\
                  containers = [{ size = \"8 oz\", price = \"$9.99\" }]\n";
    let more = "[[application.product]]\nproduct = \"powder.toml\"\nrate = \"1 oz/1000 sq ft\"\n\
                label_checked = \"2026-05-02\"\n";
    let folder = Lots::new("bill", &format!("{JOB}{more}"));
    folder.0.file("powder.toml", powder);
    let text = String::from_utf8(folder.plan(&[]).stdout).unwrap();
    // Worked by hand for the first lot: 5,000 sq ft and half a gallon take 5.5 oz wt, one bag of 8;
    // 30.25 + 9.99 = 40.24.
    let total =
        text.lines().find(|line| line.trim_start().starts_with("total ") && line.contains("$"));
    assert!(total.unwrap().trim_end().ends_with("$40.24"), "{text}");
}

#[test]
fn rules_of_ones_own_keep_their_distance_and_look_at_the_mix_site() {
    let rules = "[site]\nrules = \"town.csv\"\n[[rule]]\nid = \"town-pond\"\nkind = \"water\"\n\
                 base = \"40 ft\"\nsource = \"Town code 12-4\"\n";
    let folder = Lots::new("rules", &format!("{rules}{JOB}"));
    let table = "id,kind,activity,base_ft,source\ntown-well,well,mix,60,Town code 12-5\n";
    folder.0.file("town.csv", table);
    let plan = folder.json();
    let setbacks = &plan["properties"][1]["applications"][0]["zones"][0]["setbacks"];
    close(&setbacks[0]["distance_m"], 40.0 * 0.3048);
    assert!(setbacks[0]["rule"].as_str().unwrap().contains("Town code 12-4 (town-pond)"));
    let findings = plan["properties"][0]["findings"].as_array().unwrap();
    let near = findings.iter().find(|finding| finding["code"] == "mix-site-near").unwrap();
    let message = near["message"].as_str().unwrap();
    assert!(message.contains("filled 20 ft from well \"Well\""), "{message}");
    assert!(message.contains("(town-well) asks for 60 ft"), "{message}");
    folder.0.file("town.csv", "id,kind,base\ntown-well,well,60\n");
    let output = folder.plan(&[]);
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(told.contains("site.rules (town.csv): line 1: no column \"base_ft\""), "{told}");
    let rules = Command::new(env!("CARGO_BIN_EXE_turfplat"))
        .current_dir(&folder.0.0)
        .args(["rules", "maine"])
        .output()
        .unwrap();
    assert!(String::from_utf8(rules.stdout).unwrap().contains("mean high"));
}
