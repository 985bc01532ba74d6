//! Quotes from the map and the price list to the last cent in every file.

use super::*;

const PRICES: &str = r#"currency = "USD"
minimum_per_visit = "40.00"
[[service]]
name = "Feeding"
price = "10.00"
[[tax]]
name = "Tax"
rate = "8.25 %"
[prepay]
discount = "5 %"
due_days = 14
"#;

/// Lots of 100 ft × 50 ft on a plane in feet.
fn lots(ids: &[&str]) -> String {
    let lawns: Vec<String> =
        ids.iter().zip(0..).map(|(id, at)| lawn_of(id, 1000.0 * f64::from(at))).collect();
    collection(&lawns.iter().map(String::as_str).collect::<Vec<_>>())
}

struct Office {
    folder: Folder,
    map: String,
    job: String,
    prices: String,
}

impl Office {
    fn new(name: &str, ids: &[&str]) -> Office {
        let folder = Folder::new(name);
        let map = folder.file("lots.geojson", lots(ids));
        let job = folder.file("job.toml", JOB);
        let prices = folder.file("prices.toml", PRICES);
        Office { folder, map, job, prices }
    }

    fn quote(&self, more: &[&str]) -> Output {
        let fixed = ["quote", &self.map, "--plane", "ft", "--prices", &self.prices];
        turfplat(&[&fixed, ["--date", "2026-06-01"].as_slice(), more].concat())
    }
}

/// The rows of a table by their columns.
fn rows(csv: &str) -> Vec<std::collections::BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let header = reader.headers().unwrap().clone();
    let row = |record: csv::StringRecord| {
        header.iter().map(str::to_owned).zip(record.iter().map(str::to_owned)).collect()
    };
    reader.records().map(|record| row(record.unwrap())).collect()
}

fn read(folder: &Folder, name: &str) -> String {
    fs::read_to_string(folder.path(name)).unwrap()
}

/// Of 5,000 sq ft at 0.5 fl oz/1000 sq ft no cup with marks of 30 fl oz measures 2.5: a customer asks what
/// it costs, and pays for the ground and for what goes on it.
#[test]
fn a_lawn_too_small_for_the_cup_is_quoted_all_the_same() {
    let office = Office::new("quote-cup", &["lot-1"]);
    let job = JOB.replace("tank =", "smallest_measure = \"30 fl oz\"\ntank =");
    let job = office.folder.file("cup.toml", job);
    let plan = turfplat(&["plan", &office.map, "--plane", "ft", "--job", &job]);
    assert_eq!(status(&plan), 1, "{}", text(&plan.stdout));
    let done = office.quote(&["--job", &job]);
    assert_eq!(status(&done), 0, "{}", text(&done.stderr));
    let table = text(&done.stdout);
    assert!(table.contains("Visit: $50.00 + Tax 8.25 % $4.13 = $54.13"), "{table}");
}

#[test]
fn a_quote_comes_to_the_cent_in_every_form() {
    let office = Office::new("quote-cent", &["lot-1"]);
    let out = office.folder.path("out");
    let done = office.quote(&["--job", &office.job, "--out", &out]);
    assert_eq!(status(&done), 0, "{}", text(&done.stderr));
    // Worked by hand: 5.000 × 10.00 = 50.00; tax 4.125, halves up 4.13; 54.13. Ahead: 50.00 − 2.50 =
    // 47.50, tax 3.91875, so 3.92; 51.42.
    let table = text(&done.stdout);
    assert!(table.contains("Visit: $50.00 + Tax 8.25 % $4.13 = $54.13"), "{table}");
    assert!(table.contains("Paid ahead by 2026-06-15, 5 % off (-$2.50): $47.50"), "{table}");
    assert!(table.contains("The label is the law"), "{table}");
    let quote: Value = serde_json::from_str(&read(&office.folder, "out/quote.json")).unwrap();
    let number = quote["quote"].as_str().unwrap();
    assert!(number.starts_with("2026-06-01-lot-1-") && number.len() == 22, "{number}");
    assert_eq!(quote["valid_until"], "2026-07-01");
    let line = &quote["visits"][0]["lines"][0];
    assert_eq!(line["basis"], "treated");
    assert_eq!(line["quantity"], "5.000");
    assert_eq!(line["amount"], serde_json::json!({ "value": "50.00", "text": "$50.00" }));
    assert_eq!(quote["season"]["total"]["value"], "54.13");
    assert_eq!(quote["prepaid"]["total"]["value"], "51.42");
    let summary = rows(&read(&office.folder, "out/summary.csv"));
    assert_eq!(
        (summary[0]["total"].as_str(), summary[0]["prepaid_total"].as_str()),
        ("54.13", "51.42")
    );
    let lines = rows(&read(&office.folder, "out/quotes.csv"));
    assert_eq!(lines.len(), 2);
    assert_eq!((lines[1]["kind"].as_str(), lines[1]["amount"].as_str()), ("tax", "4.13"));
    let answer = office.quote(&["--job", &office.job, "--format", "csv"]);
    assert_eq!(text(&answer.stdout), read(&office.folder, "out/quotes.csv"));
    assert_eq!(
        (lines[1]["taxable"].as_str(), lines[1]["tax_rate_percent"].as_str()),
        ("50.00", "8.25")
    );
    let answer = json(&office.quote(&["--job", &office.job, "--format", "json"]));
    assert_eq!(answer["properties"][0], quote);
}

#[test]
fn another_offer_on_the_same_day_has_another_number() {
    let office = Office::new("quote-number", &["lot-1"]);
    let number = |more: &[&str]| {
        let answer = json(&office.quote(&[&["--format", "json"], more].concat()));
        answer["properties"][0]["quote"].as_str().unwrap().to_owned()
    };
    let first = number(&["--job", &office.job]);
    assert_eq!(first, number(&["--job", &office.job, "--threads", "3"]), "same offer");
    let without_a_job = number(&[]);
    fs::write(&office.prices, PRICES.replace("10.00", "10.01")).unwrap();
    let dearer = number(&["--job", &office.job]);
    fs::write(&office.prices, PRICES).unwrap();
    assert_eq!(first, number(&["--job", &office.job]), "same offer again");
    assert!(first != dearer && first != without_a_job, "{first} {dearer} {without_a_job}");
}

/// Rows of a quote by `quotes.csv`.
fn csv_rows(office: &Office, more: &[&str]) -> Vec<std::collections::BTreeMap<String, String>> {
    let done = office.quote(&[&["--format", "csv"], more].concat());
    assert_eq!(status(&done), 0, "{}", text(&done.stderr));
    rows(&text(&done.stdout))
}

#[test]
fn every_row_multiplies_and_all_add_up_to_the_total() {
    use turfplat::price::Decimal;
    let office = Office::new("quote-rows", &["lot-1"]);
    let list = "currency = \"USD\"\ntotal_to = \"0.05\"\n[[service]]\nname = \"Feeding\"\nvisits = 3\ntiers = [{ up_to = \"3000 sq ft\", price = \"10.33\" }, { price = \"7.77\" }]\n[[tax]]\nname = \"State\"\nrate = \"8.25 %\"\nper = \"quote\"\n[[tax]]\nname = \"City\"\nrate = \"1.1 %\"\nper = \"line\"\n";
    fs::write(&office.prices, list).unwrap();
    let all = csv_rows(&office, &[]);
    let number = |row: &std::collections::BTreeMap<String, String>, column: &str| -> Decimal {
        row[column].parse().unwrap_or_else(|error| panic!("{column} of {row:?}: {error}"))
    };
    for row in &all {
        let product = number(row, "quantity") * number(row, "unit_price");
        let off = (product - number(row, "amount")).abs();
        assert!(off <= Decimal::new(5, 3), "{row:?}");
    }
    assert_eq!(all[0]["note"], "the first 3,000 sq ft");
    assert_eq!(all[1]["note"], "beyond 3,000 sq ft");
    // Worked by hand: 3 × 10.33 = 30.99 and 2 × 7.77 = 15.54, three times: 139.59. City 0.34 + 0.17 a
    // visit, 1.53. State 8.25 % of 139.59 is 11.516, so 11.52. 152.64, to 0.05: 152.65.
    let sum: Decimal = all.iter().map(|row| number(row, "amount")).sum();
    assert_eq!(sum.to_string(), "152.65");
    let season = all.iter().find(|row| row["kind"] == "tax" && row["visit"].is_empty()).unwrap();
    assert_eq!((season["text"].as_str(), season["amount"].as_str()), ("State", "11.52"));
    assert_eq!(
        (season["note"].as_str(), season["taxable"].as_str()),
        ("on all visits together", "139.59")
    );
    // Table and JSON say of the visits what they stand before.
    let table = text(&office.quote(&[]).stdout);
    assert!(table.contains("Visit, before State: $46.53 + City 1.1 % $0.51 = $47.04"), "{table}");
    assert!(table.contains("= $152.65"), "{table}");
    let answer = json(&office.quote(&["--format", "json"]));
    let visit = &answer["properties"][0]["visits"][0];
    assert_eq!(visit["sums"]["before"], serde_json::json!(["State"]));
    assert_eq!(visit["lines"][1]["note"], "beyond 3,000 sq ft");
}

#[test]
fn without_a_job_it_is_said_that_nothing_is_set_back() {
    let office = Office::new("quote-nothing-back", &["a"]);
    let said = |map: &str| {
        fs::write(&office.map, map).unwrap();
        let answer = json(&office.quote(&["--format", "json"]));
        let line = &answer["properties"][0]["visits"][0]["lines"][0];
        line["basis_text"].as_str().unwrap().to_owned()
    };
    assert_eq!(said(&lots(&["a"])), "all turf, less beds and buildings; nothing set back");
    assert_eq!(
        said(LOT),
        "turf less beds, buildings and the distances that the map itself asks for"
    );
}

#[test]
fn a_slip_in_a_name_is_answered_with_what_may_be_meant() {
    let office = Office::new("quote-slips", &["lot-10", "lot-11", "garden"]);
    let done = office.quote(&["--property", "gardn"]);
    assert_eq!(status(&done), 2);
    let said = text(&done.stderr);
    assert!(said.contains("no such property on the map; did you mean \"garden\"?"), "{said}");
    let service = "[[service]]\nname = \"Other\"\napplications = [\"Jume\"]\nproducts = [\"trinexapac-ethyl-1-ce\", \"oats\", \"paclobutrazol-2-sc\"]\nprice = \"1\"\n";
    fs::write(&office.prices, format!("{PRICES}{service}")).unwrap();
    let product =
        "no product \"trinexapac-ethyl-1-ce\" is known; did you mean \"trinexapac-ethyl-1-ec\"?";
    let june = "line 14: service \"Other\", applications: the job has no application \"Jume\"; did you mean \"June\"?";
    let done = office.quote(&["--job", &office.job]);
    assert_eq!(status(&done), 0);
    let said = text(&done.stderr);
    assert!(said.contains(product) && said.contains(june), "{said}");
    assert!(!said.contains("oats") && !said.contains("paclobutrazol"), "{said}");
    let checked = |more: &[&str]| turfplat(&[&["prices", "check", &office.prices], more].concat());
    let done = checked(&[]);
    let said = text(&done.stderr);
    assert_eq!(status(&done), 0, "{said}");
    assert!(
        said.contains(product) && said.contains("no product \"oats\" is known (one of"),
        "{said}"
    );
    assert!(!said.contains("Jume"), "{said}");
    let said = text(&checked(&["--job", &office.job]).stderr);
    assert!(said.contains(june), "{said}");
    assert!(said.contains("the job puts down no \"paclobutrazol-2-sc\""), "{said}");
    // A day that is over, and one after the quote, are seen before the first quote.
    for (due, why) in [
        ("2026-05-31", "prepay.due, 2026-05-31, is before the day of the quote, 2026-06-01"),
        (
            "2026-07-02",
            "is after 2026-07-01, the last day on which the quote holds; set an earlier day, or valid_days = 31",
        ),
    ] {
        let list = PRICES.replace("due_days = 14", &format!("due = \"{due}\""));
        fs::write(&office.prices, list).unwrap();
        let done = checked(&["--date", "2026-06-01"]);
        assert_eq!(status(&done), 1);
        assert!(text(&done.stderr).contains(why), "{}", text(&done.stderr));
        assert_eq!(status(&office.quote(&[])), 1, "{due}");
    }
}

#[test]
fn a_product_is_not_charged_by_the_container_and_by_the_share() {
    let office = Office::new("quote-twice", &["a"]);
    let buy =
        "[buy.trinexapac-ethyl-1-ec]\ncontainers = [{ size = \"1 gal\", price = \"$128.00\" }]\n";
    let july = JOB[JOB.find("[[application]]").unwrap()..].replace("\"June\"", "\"July\"");
    let job = office.folder.file("both.toml", format!("{buy}{JOB}{july}"));
    let list = |second: &str| {
        let both = format!(
            "currency = \"USD\"\n[[service]]\nname = \"Early\"\napplications = [\"June\"]\nproduct = {{ by = \"container\" }}\n[[service]]\nname = \"Late\"\nproduct = {{ by = \"{second}\" }}\n"
        );
        fs::write(&office.prices, both).unwrap();
        office.quote(&["--job", &job])
    };
    let done = list("share");
    assert_eq!(status(&done), 1);
    let said = text(&done.stderr);
    assert!(said.contains("charged twice: service \"Early\""), "{said}");
    assert!(said.contains("line 6) for application \"July\" charges shares of them"), "{said}");
    // Worked by hand: both go on out of one gallon, which is charged once.
    let done = list("container");
    assert!(text(&done.stdout).contains("Season: $128.00"), "{}", text(&done.stdout));
}

#[test]
fn names_from_anywhere_are_safe_folders_and_no_formulas() {
    let ids = ["../x", "CON", "a/b", "=1+1", "summary.csv"];
    let office = Office::new("quote-names", &ids);
    let customers = "property,name,address\n../x,\"=HYPERLINK(\"\"http://x.example\"\")\",here\nCON,@SUM(A1),there\na/b,-1,\nnobody,+1,\n";
    let customers = office.folder.file("customers.csv", customers);
    let out = office.folder.path("out");
    let done = office.quote(&["--job", &office.job, "--customers", &customers, "--out", &out]);
    assert_eq!(status(&done), 0, "{}", text(&done.stderr));
    let remarks = text(&done.stderr);
    assert!(remarks.contains("no row for property: =1+1, summary.csv"), "{remarks}");
    assert!(remarks.contains("no such property on the map: nobody"), "{remarks}");
    assert!(remarks.contains("wrote 5 quotes to"), "{remarks}");
    let mut there: Vec<String> = (fs::read_dir(&out).unwrap())
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    there.sort();
    let folders = ["1-1", "CON-1", "a-b", "quotes.csv", "summary.csv", "summary.csv-2", "x"];
    assert_eq!(there, folders);
    let quote: Value = serde_json::from_str(&read(&office.folder, "out/x/quote.json")).unwrap();
    assert_eq!(quote["customer"]["name"], "=HYPERLINK(\"http://x.example\")");
    for file in ["out/quotes.csv", "out/summary.csv"] {
        let all = rows(&read(&office.folder, file));
        assert!(all.iter().any(|row| row["customer"] == "'@SUM(A1)"), "{file}");
        for (column, cell) in all.iter().flatten() {
            let is_ours = matches!(column.as_str(), "rounding" | "amount");
            assert!(is_ours || !cell.starts_with(['=', '+', '-', '@']), "{file}: {column}: {cell}");
        }
    }
}

#[test]
fn what_cannot_be_quoted_is_listed_and_the_rest_goes_on() {
    let office = Office::new("quote-refused", &["a", "b"]);
    let miles = format!("{PRICES}[travel]\nper_mile = \"1.00\"\n");
    let prices = office.folder.file("prices.toml", miles);
    let customers = office.folder.file("customers.csv", "property,miles\na,3\nb,\n");
    let out = office.folder.path("out");
    let done = office.quote(&["--job", &office.job, "--customers", &customers, "--out", &out]);
    assert_eq!((status(&done), prices), (1, office.prices.clone()));
    let why = "travel is priced by the mile, and how far it is is not known; add miles to its row in the customers file";
    assert!(text(&done.stderr).contains(&format!("refused property b: {why}")));
    let summary = rows(&read(&office.folder, "out/summary.csv"));
    // Worked by hand: 50.00 + 3.00, and 8.25 % of it 4.3725: 57.37.
    assert_eq!((summary[0]["property"].as_str(), summary[0]["total"].as_str()), ("a", "57.37"));
    assert_eq!((summary[1]["property"].as_str(), summary[1]["not_quoted"].as_str()), ("b", why));
    assert!(!Path::new(&office.folder.path("out/b")).exists());
    let one = office.quote(&["--job", &office.job, "--customers", &customers, "--property", "a"]);
    assert_eq!(status(&one), 0, "{}", text(&one.stderr));
    let none = office.quote(&["--job", &office.job, "--property", "c"]);
    assert_eq!(status(&none), 2);
    assert!(text(&none.stderr).contains("--property c: no such property on the map"));
    assert!(text(&none.stderr).contains("(there is: a, b)"), "{}", text(&none.stderr));
}

#[test]
fn a_label_that_is_not_read_yet_does_not_stop_a_quote() {
    let office = Office::new("quote-label", &["a"]);
    let job = JOB.replace("label_checked = \"2026-05-02\"\n", "");
    let job = office.folder.file("unread.toml", job);
    let done = office.quote(&["--job", &job, "--format", "json"]);
    assert_eq!(status(&done), 0, "{}", text(&done.stderr));
    let quote = &json(&done)["properties"][0];
    assert_eq!(quote["visits"][0]["lines"][0]["note"], "the rate is still to be read on the label");
    assert_eq!(quote["season"]["subtotal"]["value"], "50.00");
    assert_eq!(quote["not_treated"], serde_json::json!([]));
    assert!(quote["notes"][0].as_str().unwrap().contains("priced by area"));
    // A label is read after the quote: nothing is wrong with that.
    let later = JOB.replace("2026-05-02", "2026-06-20");
    let later = office.folder.file("later.toml", later);
    assert_eq!(status(&office.quote(&["--job", &later])), 0);
    // What grows there is no question of the label.
    let map = lots(&["a"]).replace("tall-fescue", "moss");
    fs::write(&office.map, map).unwrap();
    let done = office.quote(&["--job", &job]);
    assert_eq!(status(&done), 1);
    let remarks = text(&done.stderr);
    let why = "refused property a: no zone gets anything, so there is nothing to quote: application \"June\", zone \"Lawn\": species \"moss\" is not listed";
    assert!(remarks.contains(why), "{remarks}");
}

#[test]
fn a_map_is_quoted_without_a_job() {
    let office = Office::new("quote-map", &["a"]);
    let prices = format!(
        "{}[[service]]\nname = \"Mowing\"\nproducts = [\"none\"]\nprice = \"2.00\"\nvisits = 2\n",
        PRICES.replace("[[service]]", "[[service]]\nvisits = 1")
    );
    fs::write(&office.prices, prices).unwrap();
    let done = office.quote(&["--format", "json"]);
    assert_eq!(status(&done), 0, "{}", text(&done.stderr));
    let quote = &json(&done)["properties"][0];
    // Worked by hand: 5.000 × 10.00 + 5.000 × 2.00 = 60.00; 10.00 alone is 30.00 below the minimum of 40.00.
    let visits = quote["visits"].as_array().unwrap();
    let subtotals: Vec<&Value> = visits.iter().map(|it| &it["sums"]["subtotal"]["value"]).collect();
    assert_eq!(subtotals, ["60.00", "40.00"]);
    assert_eq!(visits[1]["lines"][1]["text"], "to the minimum of $40.00 a visit");
    assert!(!quote["cautions"].as_array().unwrap().is_empty());
}

/// Two zones of 100 ft × 50 ft on a lot of 220 ft × 70 ft, a bed of 20 ft × 20 ft in the second and a
/// pond 10 ft east of it that asks for 20 ft.
const LOT: &str = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"kind":"parcel","name":"Lot","property":"a"},"geometry":{"type":"Polygon","coordinates":[[[-10,-10],[210,-10],[210,60],[-10,60],[-10,-10]]]}},
{"type":"Feature","properties":{"kind":"turf","name":"Lawn","species":"tall-fescue","property":"a"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[100,0],[100,50],[0,50],[0,0]]]}},
{"type":"Feature","properties":{"kind":"turf","name":"Back","species":"tall-fescue","property":"a"},"geometry":{"type":"Polygon","coordinates":[[[100,0],[200,0],[200,50],[100,50],[100,0]]]}},
{"type":"Feature","properties":{"kind":"bed","name":"Bed","property":"a"},"geometry":{"type":"Polygon","coordinates":[[[120,10],[140,10],[140,30],[120,30],[120,10]]]}},
{"type":"Feature","properties":{"kind":"water","name":"Pond","property":"a","setback_ft":20},"geometry":{"type":"Polygon","coordinates":[[[210,0],[220,0],[220,50],[210,50],[210,0]]]}}
]}"#;

#[test]
fn each_basis_prices_its_own_area_and_a_product_what_the_plan_puts_down() {
    let office = Office::new("quote-bases", &["a"]);
    fs::write(&office.map, LOT).unwrap();
    let buy =
        "[buy.trinexapac-ethyl-1-ec]\ncontainers = [{ size = \"1 gal\", price = \"$128.00\" }]\n";
    let job = office.folder.file("buying.toml", format!("{buy}{JOB}"));
    // Worked by hand: Lawn 5,000 sq ft; Back 5,000, less the bed 4,600, less 10 ft × 50 ft 4,100; the lot
    // 220 × 70. A gallon of $128.00 is $1.00 a fl oz: 2.5 fl oz and 25 % are 3.125, 2.05 fl oz 2.5625.
    for (basis, areas) in [
        ("treated", vec!["5.000", "4.100"]),
        ("net", vec!["5.000", "4.600"]),
        ("gross", vec!["5.000", "5.000"]),
        ("lot", vec!["15.400"]),
    ] {
        let service =
            format!("basis = \"{basis}\"\nprice = \"10.00\"\nproduct = {{ margin = \"25 %\" }}");
        fs::write(&office.prices, PRICES.replace("price = \"10.00\"", &service)).unwrap();
        let quote = json(&office.quote(&["--job", &job, "--format", "json"]));
        let lines = quote["properties"][0]["visits"][0]["lines"].as_array().unwrap().clone();
        let of_kind = |kind: &str, key: &str| -> Vec<Value> {
            lines.iter().filter(|line| line["kind"] == kind).map(|line| line[key].clone()).collect()
        };
        assert_eq!(of_kind("area", "quantity"), areas, "{basis}");
        assert!(of_kind("area", "basis").iter().all(|it| it == basis), "{basis}");
        let charged: Vec<Value> =
            of_kind("product", "amount").iter().map(|it| it["value"].clone()).collect();
        assert_eq!(charged, ["3.13", "2.56"], "{basis}");
        assert_eq!(of_kind("product", "text")[0], "trinexapac-ethyl 1 lb/gal EC, Lawn: 2.5 fl oz");
    }
}

#[test]
fn applications_of_one_day_are_one_visit_and_the_earlier_day_comes_first() {
    let office = Office::new("quote-days", &["a"]);
    let (equipment, application) = JOB.split_at(JOB.find("[[application]]").unwrap());
    let on = |name: &str, day: &str, product: &str| {
        let named = format!("name = \"{name}\"\ndate = \"{day}\"");
        let rate = if product == "trinexapac-ethyl-1-ec" { "0.5" } else { "0.2" };
        application
            .replace("name = \"June\"", &named)
            .replace("trinexapac-ethyl-1-ec", product)
            .replace("0.5 fl oz", &format!("{rate} fl oz"))
    };
    let later = on("Late", "2026-08-10", "trinexapac-ethyl-1-ec");
    let first = on("Early", "2026-06-08", "trinexapac-ethyl-1-ec");
    let second = on("Early too", "2026-06-08", "paclobutrazol-2-sc");
    let second = second.replace("label_checked = \"2026-05-02\"\n", "");
    let job = office.folder.file("days.toml", format!("{equipment}{later}{first}{second}"));
    let prices = format!("{PRICES}[travel]\nper_visit = \"6.00\"\n");
    fs::write(&office.prices, prices).unwrap();
    let done = office.quote(&["--job", &job, "--format", "json"]);
    assert_eq!(status(&done), 0, "{}", text(&done.stderr));
    let quote = json(&done);
    let visits = quote["properties"][0]["visits"].as_array().unwrap();
    let days: Vec<&Value> = visits.iter().map(|visit| &visit["date"]).collect();
    assert_eq!(days, ["2026-06-08", "2026-08-10"]);
    assert_eq!(visits[0]["applications"], serde_json::json!(["Early", "Early too"]));
    // Worked by hand: two works of 50.00 and one way there; then one of each.
    assert_eq!(visits[0]["sums"]["subtotal"]["value"], "106.00");
    assert_eq!(visits[1]["sums"]["subtotal"]["value"], "56.00");
}

#[test]
fn a_zone_that_a_limit_keeps_bare_is_not_priced_and_said() {
    let office = Office::new("quote-limit", &["a"]);
    fs::write(&office.map, LOT).unwrap();
    let product = r#"id = "mine"
name = "mine"
class = "herbicide"
form = "liquid"
formulation = "SL"
label_checked = "2026-05-02"
rates = [{ species = "tall-fescue", rate = "0.5 fl oz/1000 sq ft", basis = "label" }]
[limits]
max_per_year = { limit = "1.2 fl oz/1000 sq ft", source = "the label" }
"#;
    office.folder.file("mine.toml", product);
    let history = r#"
[[history]]
date = "2026-05-30"
product = "mine.toml"
rate = "1 fl oz/1000 sq ft"
zone = "Lawn"
"#;
    let job = JOB.replace("trinexapac-ethyl-1-ec", "mine.toml") + history;
    let job = office.folder.file("limited.toml", job);
    let done = office.quote(&["--job", &job, "--format", "json"]);
    assert_eq!(status(&done), 1, "a limit was asked to be exceeded");
    let remarks = text(&done.stderr);
    assert!(
        remarks.contains("refused property a: application \"June\", zone \"Lawn\""),
        "{remarks}"
    );
    let quote = &json(&done)["properties"][0];
    assert_eq!(quote["not_treated"][0]["zone"], "Lawn");
    assert_eq!(quote["visits"][0]["lines"][0]["zone"], "Back");
    // Worked by hand: 4.100 × 10.00.
    assert_eq!(quote["visits"][0]["sums"]["subtotal"]["value"], "41.00");
}

#[test]
fn quotes_are_the_same_for_any_number_of_threads() {
    let ids: Vec<String> = (0..40).map(|number| format!("lot-{number}")).collect();
    let office = Office::new("quote-threads", &ids.iter().map(String::as_str).collect::<Vec<_>>());
    let with = |threads: &str, format: &str| {
        let done = office.quote(&["--job", &office.job, "--threads", threads, "--format", format]);
        assert_eq!(status(&done), 0);
        done.stdout
    };
    for format in ["json", "csv", "table"] {
        assert_eq!(with("1", format), with("4", format), "{format}");
    }
}

#[test]
fn a_price_list_is_begun_checked_and_refused() {
    let folder = Folder::new("prices");
    let file = folder.path("mine.toml");
    assert_eq!(status(&turfplat(&["prices", "new", &file])), 0);
    assert_eq!(status(&turfplat(&["prices", "new", &file])), 2, "it is there already");
    let checked = turfplat(&["prices", "check", &file, "--job", &demo("job.toml")]);
    assert_eq!(status(&checked), 0);
    let said = text(&checked.stdout);
    assert!(said.contains("Turf treatment (all other applications)"), "{said}");
    assert!(said.contains("application \"June\" of the job: service \"Turf treatment\""), "{said}");
    let wrong = folder.file("wrong.toml", PRICES.replace("10.00", "ten"));
    let refused = turfplat(&["prices", "check", &wrong]);
    assert_eq!(status(&refused), 1);
    assert!(
        text(&refused.stderr).contains("wrong.toml: line 5: service \"Feeding\", price: \"ten\"")
    );
    let other = folder.file("other.toml", "[[services]]\n");
    let refused = turfplat(&["prices", "check", &other]);
    assert_eq!(status(&refused), 2);
    assert!(text(&refused.stderr).contains("did you mean \"service\"?"));
}

#[test]
fn the_demo_is_quoted() {
    let done = turfplat(&[
        "quote",
        &demo("map.geojson"),
        "--job",
        &demo("job.toml"),
        "--prices",
        &demo("prices.toml"),
        "--customers",
        &demo("customers.csv"),
        "--date",
        "2026-05-20",
    ]);
    assert_eq!(status(&done), 0, "{}", text(&done.stderr));
    // Worked by hand from the areas of the plan: 5.000 × 9.50 + 4.262 × 7.25 + 0.806 × 7.25 + 7.844 × 7.25,
    // each rounded, is 141.11; 12.00, 6.00 and 7.5 × 0.80 on top; 5.5 % of 153.11 is 8.42.
    assert!(text(&done.stdout).contains("Visit: $165.11 + Sales tax 5.5 % $8.42 = $173.53"));
}
