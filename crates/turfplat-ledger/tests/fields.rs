//! The lists of fields beside a table of what federal and six states' rules ask for, field by field: a slip
//! in a row of the data is easily made and never seen.

use turfplat_ledger::{Field, FieldList};

/// In the order of the columns below.
const LISTS: [&str; 8] = [
    "federal",
    "federal-hired",
    "minnesota",
    "new-york",
    "california",
    "north-carolina",
    "georgia",
    "florida",
];

/// Merged from 7 CFR 110, 40 CFR 171 and the record rules of the states; of Minnesota also Minn. Stat.
/// 18B.37, subd. 2 (version of 2015), which asks for the time of completion and for the company. `x` asks.
const MERGED: [(&str, [&str; 8]); 20] = [
    ("name", ["x", "x", "x", "x", "x", "x", "x", "x"]),
    ("registration", ["x", "x", "x", "x", "x", "x", "", ""]),
    ("amount", ["x", "x", "", "x", "x", "", "x", "x"]),
    ("amount and area", ["", "", "x", "x", "", "x", "x", ""]),
    ("site", ["x", "x", "", "", "x", "x", "", "x"]),
    ("area", ["x", "x", "x", "", "x", "x", "x", ""]),
    ("location", ["x", "x", "x", "x", "x", "x", "x", "x"]),
    ("date", ["x", "x", "x", "x", "x", "x", "x", "x"]),
    ("started", ["", "x", "", "", "x", "x", "", ""]),
    ("ended", ["", "", "x", "", "", "", "", ""]),
    ("customer", ["", "x", "x", "", "x", "x", "x", ""]),
    ("customer_address", ["", "x", "x", "", "", "x", "", ""]),
    ("applicator", ["x", "x", "x", "", "", "x", "", ""]),
    ("license", ["x", "x", "x", "", "", "x", "", ""]),
    ("uncertified", ["", "x", "", "", "", "", "", ""]),
    ("company", ["", "", "x", "", "", "", "", ""]),
    ("purpose", ["", "", "", "x", "", "", "x", ""]),
    ("method", ["", "", "", "x", "", "", "x", ""]),
    ("wind", ["", "", "x", "", "", "", "", ""]),
    ("incidents", ["", "", "", "", "", "", "x", ""]),
];

/// Years that a record is kept, and whether the figure is from memory.
const KEPT: [(i16, bool); 8] =
    [(2, false), (2, false), (5, true), (3, false), (2, true), (3, false), (2, false), (2, false)];

#[test]
fn each_list_asks_for_what_its_law_asks_for() {
    let ids: Vec<&str> = FieldList::all().iter().map(|list| list.id.as_str()).collect();
    assert_eq!(ids, LISTS);
    for (place, list) in FieldList::all().iter().enumerate() {
        for (key, asks) in MERGED {
            let ours = list.fields.iter().any(|field| field.key() == key);
            assert_eq!(ours, asks[place] == "x", "{}: {key}", list.id);
        }
        // Nothing beside it, but for what goes with a row: the company's address, the weather's other two.
        let beside = [Field::CompanyAddress, Field::Temperature, Field::WindFrom];
        let others = list.fields.iter().filter(|field| !beside.contains(field));
        let known = |field: &&Field| MERGED.iter().any(|(key, _)| *key == field.key());
        assert!(others.clone().all(|field| known(&field)), "{}", list.id);
        let (years, from_memory) = KEPT[place];
        assert_eq!(
            (list.years_kept, list.years_status == "M"),
            (years, from_memory),
            "{}",
            list.id
        );
    }
}
