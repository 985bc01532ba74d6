//! What is wrong with a price list or a customers file is refused with its line and the cure.

#![allow(clippy::unwrap_used)] // A test may.

use turfplat_price::{Customers, PriceList, TEMPLATE};

const GOOD: &str = r#"currency = "USD"
[[service]]
name = "Feeding"
price = "12.00"
"#;

fn refused(text: &str) -> String {
    match PriceList::read("p.toml", text) {
        Ok(_) => panic!("was read: {text}"),
        Err(error) => error.to_string(),
    }
}

#[test]
fn a_list_that_is_begun_for_the_user_is_one() {
    let list = PriceList::read("p.toml", TEMPLATE).unwrap();
    assert_eq!(list.services.len(), 1);
    // Every key that is commented out can be put in: the template must not drift from the reader.
    let filled: String = TEMPLATE
        .lines()
        .filter(|line| !line.starts_with("price = "))
        .map(|line| {
            let key = line.strip_prefix('#').filter(|rest| !rest.starts_with(' '));
            format!("{}\n", key.unwrap_or(line))
        })
        .collect();
    let list =
        PriceList::read("p.toml", &filled).unwrap_or_else(|error| panic!("{error}\n{filled}"));
    assert_eq!(list.business.name.as_deref(), Some("Your business"));
    assert!(list.service_of("june", &[]).is_some() && list.service_of("May", &[]).is_none());
}

#[test]
fn each_mistake_is_refused_with_its_line_and_the_cure() {
    // What is put in the place of what, and what is said of it.
    let service = |more: &str| GOOD.replace("price = \"12.00\"\n", more);
    let with = |more: &str| format!("{GOOD}{more}\n");
    #[rustfmt::skip]
    let table: Vec<(String, &str)> = vec![
        (GOOD.replace("currency = \"USD\"\n", ""), r#"p.toml: currency is missing; add currency = "USD""#),
        (GOOD.replace("USD", "Dollars"), r#"p.toml: line 1: currency: "Dollars" is no currency; write its code of ISO 4217, such as "USD""#),
        ("currency = \"USD\"\n".into(), "p.toml: no [[service]]; a quote needs one with a name and a price"),
        (GOOD.replace("12.00", "12,5"), r#"p.toml: line 4: service "Feeding", price: "12,5" is no price; write it in quotes with a point, such as "12.50""#),
        (GOOD.replace("12.00", "-12.00"), r#"p.toml: line 4: service "Feeding", price: "-12.00" is less than nothing; a price is zero or more, such as "12.50""#),
        (GOOD.replace("12.00", "12.0000"), r#"p.toml: line 4: service "Feeding", price: "12.0000" has too many decimals; write at most 3, such as "12.00""#),
        (GOOD.replace("12.00", "0.7255 USD"), r#"p.toml: line 4: service "Feeding", price: "0.7255 USD" has too many decimals; write at most 3, such as "0.725 USD""#),
        (format!("minimum_per_visit = \"$5.0000\"\n{GOOD}"), r#"p.toml: line 1: minimum_per_visit: "$5.0000" has too many decimals; write at most 2, such as "$5.00""#),
        (format!("minimum_per_visit = \"5.0000\"\n{}", GOOD.replace("USD", "JPY")), r#"p.toml: line 1: minimum_per_visit: "5.0000" has too many decimals; write at most 0, such as "5""#),
        (with("[prepay]\ndiscount = \"-5 %\""), r#"p.toml: line 6: prepay.discount: "-5 %" is no percentage from 0 to 100; write it like "8.25 %""#),
        (GOOD.replace("12.00", "1.2.34567"), r#"p.toml: line 4: service "Feeding", price: "1.2.34567" is no price; write it in quotes with a point, such as "12.50""#),
        (GOOD.replace("12.00", "12 EUR"), r#"p.toml: line 4: service "Feeding", price: "12 EUR" is in another currency than the list, USD; write all in one"#),
        (GOOD.replace("12.00", "€12"), r#"p.toml: line 4: service "Feeding", price: "€12" is in another currency than the list, USD; write all in one"#),
        (service(""), r#"p.toml: line 2: service "Feeding": nothing of it has a price; add price, tiers, per_application, product or labor = true"#),
        (service("labor = true\n"), r#"p.toml: line 4: service "Feeding", labor: labor = true, and the list has no [labor]; add per_hour = "…" under [labor]"#),
        (GOOD.replace("Feeding", " "), r#"p.toml: line 3: service.name is empty; write what is to be printed, or take the line out"#),
        (with("tiers = [{ price = \"1\" }]"), r#"p.toml: line 4: service "Feeding": price and tiers are both given; keep one"#),
        (with("basis = \"treatd\""), r#"p.toml: line 5: service "Feeding", basis: "treatd" is not known; did you mean "treated"?; use one of: treated, net, gross, lot"#),
        (with("visits = 0"), r#"p.toml: line 5: service "Feeding", visits: 0 is out of range; write 1 to 100"#),
        (service("tiers = [{ up_to = \"5000 sq ft\", price = \"1\" }]\n"), r#"p.toml: line 4: service "Feeding", tiers: the last tier must have no up_to; add { price = "…" } for all that is more"#),
        (service("tiers = []\n"), r#"p.toml: line 4: service "Feeding", tiers: the last tier must have no up_to; add { price = "…" } for all that is more"#),
        (service("tiers = [{ price = \"1\" }, { price = \"2\" }]\n"), r#"p.toml: line 4: service "Feeding", tiers, tier 1: a tier without up_to takes all that is left and must be the last; add up_to"#),
        (service("tiers = [{ up_to = \"5000 sq ft\", price = \"1\" }, { up_to = \"5000 sq ft\", price = \"1\" }, { price = \"2\" }]\n"), r#"p.toml: line 4: service "Feeding", tiers, tier 2: "5000 sq ft" is not above the tier before it; put the tiers from small to large"#),
        (service("tiers = [{ up_to = \"0.5 sq ft\", price = \"1\" }, { price = \"2\" }]\n"), r#"p.toml: line 4: service "Feeding", tiers, tier 1: "0.5 sq ft" is finer than quantities are counted, 0.001 × 1000 sq ft; write a multiple"#),
        (with("[[service]]\nname = \"FEEDING\"\nproducts = [\"x\"]\nprice = \"1\""), r#"p.toml: line 6: service.name: another service has this name; give each its own"#),
        (with("[[service]]\nname = \"Other\"\nprice = \"1\""), r#"p.toml: line 6: service "Other": service "Feeding" is for all other applications already; say in applications or products what this one is for"#),
        (with("applications = [\"May\"]\n[[service]]\nname = \"Other\"\napplications = [\"may\"]\nprice = \"1\""), r#"p.toml: line 8: service "Other", applications: service "Feeding" is for "may" already; keep it in one of them"#),
        (with("[[tax]]\nname = \"T\"\nrate = \"8.25\""), r#"p.toml: line 7: tax "T", rate: "8.25" is no percentage from 0 to 100; write it like "8.25 %""#),
        (with("[[tax]]\nname = \"T\"\nrate = \"101 %\""), r#"p.toml: line 7: tax "T", rate: "101 %" is no percentage from 0 to 100; write it like "8.25 %""#),
        (with("[[tax]]\nname = \"T\"\nrate = \"1 %\"\non = [\"labour\"]"), r#"p.toml: line 8: tax "T", on: "labour" is not known; did you mean "labor"?; use one of: area, application, product, labor, minimum, travel"#),
        (with("[[tax]]\nname = \"T\"\nrate = \"1 %\"\nper = \"season\""), r#"p.toml: line 8: tax "T", per: "season" is not known; use one of: visit, line, quote"#),
        (with("[prepay]\ndiscount = \"5 %\"\ndue = \"2026-02-30\""), r#"p.toml: line 7: prepay.due: "2026-02-30" is no day of the calendar; write it like "2026-05-02""#),
        (with("[prepay]\ndiscount = \"5 %\"\ndue = \"2026-02-03\"\ndue_days = 3"), r#"p.toml: line 7: prepay: due and due_days are both given; keep one"#),
        (with("[travel]\nper_mile = \"1\"\nper_km = \"1\""), r#"p.toml: line 7: travel: per_mile and per_km are both given; keep one"#),
        (with("products = []"), r#"p.toml: line 5: service "Feeding", products is empty; write the names that it is for, or take the line out"#),
        (with("[travel]"), "p.toml: line 5: travel: it has no price; add per_visit, per_mile or per_km, or take the table out"),
        (with("[[tax]]\nname = \"T\"\nrate = \"1 %\"\non = []"), r#"p.toml: line 8: tax "T", on: no line is named, so the tax would be on nothing; name some of area, application, product, labor, minimum, travel, or take on out for all lines"#),
        (with("[prepay]\ndiscount = \"100 %\""), r#"p.toml: line 6: prepay.discount: "100 %" off leaves nothing to pay; write less than 100 %"#),
        (with("[prepay]\ndiscount = \"250 %\""), r#"p.toml: line 6: prepay.discount: "250 %" off leaves nothing to pay; write less than 100 %"#),
        (with("[prepay]\ndiscount = \"5 %\"\ndue_days = 31"), r#"p.toml: line 7: prepay.due_days: 31 days are more than the 30 for which the quote holds; write at most 30, or valid_days = 31"#),
        (format!("total_to = \"0\"\n{GOOD}"), r#"p.toml: line 1: total_to: nothing can be rounded to a multiple of zero; write a step such as "0.05", or take the line out"#),
        (format!("valid_days = 0\n{GOOD}"), "p.toml: line 1: valid_days: 0 is out of range; write 1 to 3650 days"),
        (format!("per = \"acre\"\n{GOOD}"), r#"p.toml: line 1: per: "acre" is not known; use one of: 1000 sq ft, A, 100 m2, ha"#),
        (format!("minimum_per_visit = \"45.005\"\n{GOOD}"), r#"p.toml: line 1: minimum_per_visit: "45.005" cannot be paid: USD has no less than 0.01; write a multiple of it"#),
        (GOOD.replacen("[[service]]", "[travel]\nper_visit = \"4.005\"\n[[service]]", 1), r#"p.toml: line 3: travel.per_visit: "4.005" cannot be paid: USD has no less than 0.01; write a multiple of it"#),
        (format!("total_to = \"0.5\"\n{}", GOOD.replace("USD", "JPY")), r#"p.toml: line 1: total_to: "0.5" cannot be paid: JPY has no less than 1; write a multiple of it"#),
    ];
    for (text, message) in &table {
        assert_eq!(refused(text), *message, "{text}");
    }
}

#[test]
fn what_is_no_list_is_said_with_its_line() {
    for (text, parts) in [
        ("currency = USD", ["p.toml: not a price list: ", "line 1"].as_slice()),
        (&format!("{GOOD}prise = \"1\"\n"), &["line 5", "prise", "did you mean \"price\"?"]),
        (
            &GOOD.replace("\"12.00\"", "12.5"),
            &["line 4", "expected a price in quotes, such as \"12.50\""],
        ),
        (
            &format!("{GOOD}[[tax]]\nname = \"T\"\nrate = 8.25\n"),
            &["line 7", "in quotes, such as \"8.25 %\""],
        ),
        (&format!("{GOOD}price = \"3\"\n"), &["line 5", "duplicate key"]),
        (&GOOD.replace("\"Feeding\"", "5"), &["line 3", "write it in quotes: \"5\""]),
        (&GOOD.replace("\"USD\"", "5"), &["line 1", "write it in quotes: \"5\""]),
        (&format!("{GOOD}products = \"x\"\n"), &["line 5", "in brackets, such as [\"June\"]"]),
        (&format!("{GOOD}products = [5]\n"), &["line 5", "write it in quotes: \"5\""]),
        (&format!("terms = 5\n{GOOD}"), &["line 1", "in brackets: [\"one\", \"two\"]"]),
        (&format!("{GOOD}labor = \"yes\"\n"), &["line 5", "true or false, without quotes"]),
        (&format!("{GOOD}visits = \"4\"\n"), &["line 5", "a whole number without quotes"]),
        (&format!("valid_days = 1.5\n{GOOD}"), &["line 1", "a whole number without quotes"]),
        (&format!("travel = \"8.00\"\n{GOOD}"), &["line 1", "[travel]"]),
        (&format!("{GOOD}product = \"share\"\n"), &["line 5", "{ by = \"share\" }"]),
        (
            &GOOD.replace("price = \"12.00\"", "tiers = \"x\""),
            &["line 4", "write all tiers in brackets"],
        ),
        (&GOOD.replace("[[service]]", "[service]"), &["line 2", "[[service]]"]),
        (&GOOD.replace("name = \"Feeding\"\n", ""), &["line 2", "add name"]),
    ] {
        let error = PriceList::read("p.toml", text).unwrap_err();
        assert!(error.is_unreadable(), "{text}");
        let message = error.to_string();
        for part in parts {
            assert!(message.contains(part), "{message} lacks {part}");
        }
    }
}

#[test]
fn names_that_fit_nothing_are_found_with_what_may_be_meant() {
    let list = PriceList::read(
        "p.toml",
        &format!("{GOOD}applications = [\"june\", \"Jully\"]\nproducts = [\"PGR-1\", \"pgr-3\", \"oats\"]\n"),
    )
    .unwrap();
    let said = |known: &[&str], job: Option<(&[&str], &[&str])>| -> Vec<String> {
        list.unmatched(known, job).iter().map(ToString::to_string).collect()
    };
    let at = "p.toml: line 6: service \"Feeding\", products";
    assert_eq!(
        said(&["pgr-1", "oats"], None),
        [format!("{at}: no product \"pgr-3\" is known; did you mean \"pgr-1\"?")]
    );
    assert_eq!(
        said(&["pgr-1", "oats"], Some((&["June", "July"], &["pgr-1", "mine"]))),
        [
            "p.toml: line 5: service \"Feeding\", applications: the job has no application \"Jully\"; did you mean \"July\"?".to_owned(),
            format!("{at}: no product \"pgr-3\" is known; did you mean \"pgr-1\"?"),
            format!("{at}: the job puts down no \"oats\""),
        ]
    );
    let near = list.unmatched(&["oats"], Some((&["June"], &[])));
    assert_eq!(
        near.iter().map(|it| it.is_near_miss()).collect::<Vec<_>>(),
        [false, false, false, false]
    );
}

#[test]
fn days_are_counted_by_the_calendar() {
    let list = |more: &str| PriceList::read("p.toml", &format!("{more}{GOOD}")).unwrap();
    // Worked by hand: 2028 is a leap year, so 30 days after 30 January are 29 February.
    assert_eq!(list("").on("2028-01-30").unwrap().valid_until, "2028-02-29");
    assert_eq!(list("valid_days = 1\n").on("2026-12-31").unwrap().valid_until, "2027-01-01");
    assert_eq!(list("valid_days = 3650\n").on("9999-12-31").unwrap().valid_until, "9999-12-31");
    let due = |due: &str| {
        let text = format!("{GOOD}[prepay]\ndiscount = \"5 %\"\n{due}");
        PriceList::read("p.toml", &text)
            .unwrap()
            .on("2026-06-08")
            .map(|day| day.prepay_due.unwrap())
    };
    assert_eq!(due("due_days = 14").unwrap(), "2026-06-22");
    assert_eq!(due("due = 2026-06-08").unwrap(), "2026-06-08");
    assert_eq!(due("").unwrap(), "2026-07-08");
    assert_eq!(
        due("due = \"2026-06-07\"").unwrap_err().to_string(),
        "p.toml: prepay.due, 2026-06-07, is before the day of the quote, 2026-06-08; set a later day"
    );
    assert_eq!(
        due("due = \"2026-07-09\"").unwrap_err().to_string(),
        "p.toml: prepay.due, 2026-07-09, is after 2026-07-08, the last day on which the quote holds; set an earlier day, or valid_days = 31"
    );
    assert_eq!(due("due = 2026-07-08").unwrap(), "2026-07-08");
    assert!(list("").on("tomorrow").unwrap_err().to_string().contains("write it like 2026-05-02"));
}

#[test]
fn customers_are_read_from_tables_and_from_toml() {
    let table = "\u{feff}Property,Name,Address,contact,miles,remarks\nlot-1,\"Sedge, A.\",1 Elm; Sampleton,\"a@x.example\n555\",7.5,big dog\n\nlot-2,,,,,\n";
    let customers = Customers::read("c.csv", table.as_bytes()).unwrap();
    let one = customers.of("lot-1").unwrap();
    assert_eq!((one.name.as_str(), one.address.len(), one.contact.len()), ("Sedge, A.", 2, 2));
    assert_eq!(one.distance, Some(("7.5".parse().unwrap(), "mile")));
    assert_eq!(customers.of("lot-2").unwrap().distance, None);
    assert_eq!(customers.not_read, ["remarks"]);
    let toml = "[[customer]]\nproperty = \"lot-1\"\nname = \"Sedge, A.\"\naddress = [\"1 Elm\", \"Sampleton\"]\ncontact = [\"a@x.example\", \"555\"]\nmiles = \"7.5\"\n";
    let of_toml = Customers::read("C.TOML", toml.as_bytes()).unwrap();
    assert_eq!(of_toml.of("lot-1"), Some(one));
}

#[test]
fn a_customers_file_is_refused_with_its_line_and_the_cure() {
    for (file, text, message) in [
        (
            "c.csv",
            "id,name\n1,A\n",
            r#"c.csv: not a customers file: line 1: no column "property"; the columns are property, name, address, contact, miles, km"#,
        ),
        (
            "c.csv",
            "propperty,name\n1,A\n",
            r#"c.csv: not a customers file: line 1: no column "property"; "propperty" may be meant; the columns are property, name, address, contact, miles, km"#,
        ),
        (
            "c.csv",
            "property;name\n1;A\n",
            r#"c.csv: not a customers file: line 1: no column "property"; the columns seem to be parted by semicolons, and commas are read; the columns are property, name, address, contact, miles, km"#,
        ),
        (
            "c.csv",
            "property,adress\n1,A\n",
            r#"c.csv: line 1: column "adress" is not known; did you mean "address"?; rename it, also where another is meant"#,
        ),
        (
            "c.csv",
            "property,name,name\n1,A,B\n",
            r#"c.csv: line 1: column "name" stands here twice; keep one"#,
        ),
        (
            "c.csv",
            "property,name\n1,A\n1,B\n",
            r#"c.csv: line 3: property "1" stands here again; keep one row of it"#,
        ),
        (
            "c.csv",
            "property,name\n,A\n",
            "c.csv: line 2: property is empty; write the property's id on the map",
        ),
        (
            "c.csv",
            "property,name\n1,A,B\n",
            "c.csv: line 2: 3 cells under 2 columns; put a cell that has a comma in quotes",
        ),
        (
            "c.csv",
            "property,miles\n1,far\n",
            r#"c.csv: line 2: miles: "far" is no distance up to 10000; write what one visit is driven, such as 12.5"#,
        ),
        (
            "c.csv",
            "property,miles,km\n1,3,5\n",
            "c.csv: line 2: miles and km are both given; keep one",
        ),
        (
            "c.toml",
            "\n[[customer]]\nproperty = \"1\"\nkm = \"-1\"\n",
            r#"c.toml: line 2: km: "-1" is no distance up to 10000; write what one visit is driven, such as 12.5"#,
        ),
    ] {
        assert_eq!(
            Customers::read(file, text.as_bytes()).unwrap_err().to_string(),
            message,
            "{text}"
        );
    }
    let not_utf8 = Customers::read("c.csv", b"property\nM\xfcller\n").unwrap_err();
    assert_eq!(
        not_utf8.to_string(),
        "c.csv: not a customers file: line 2 is not UTF-8; save the file as UTF-8"
    );
}

#[test]
fn a_city_of_customers_is_read_in_moments() {
    let row = |at: usize| {
        format!("[[customer]]\nproperty = \"lot-{at}\"\nname = \"Sample {at}\"\nmiles = \"3\"\n")
    };
    let text: String = (0..40_000).map(row).collect();
    let started = std::time::Instant::now();
    let customers = Customers::read("c.toml", text.as_bytes()).unwrap();
    // Row by row it is seconds at most; with the lines counted from the top for each, minutes.
    assert!(started.elapsed().as_secs() < 20, "{:?}", started.elapsed());
    assert_eq!(customers.properties().count(), 40_000);
    let error = Customers::read("c.toml", (text + &row(7)).as_bytes()).unwrap_err();
    assert!(error.to_string().starts_with("c.toml: line 160001: "), "{error}");
}
