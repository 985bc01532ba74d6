//! A large property on several sheets: every zone, number and place where a load runs out is on one.

#![allow(clippy::unwrap_used)] // A test may.

mod invented;
mod read;

use read::{parsed, words};
use resvg::usvg;
use turfplat_sheet::{Page, SprayMap, sheets};

const PAGES: [Page; 3] = [Page::Letter, Page::A4, Page::Screen];

#[test]
fn a_large_property_has_every_zone_named_on_one_of_its_sheets() {
    let map = invented::campus();
    for page in [Page::Letter, Page::A4] {
        let all = sheets(&map, page);
        assert!((3..=27).contains(&all.len()), "{}", all.len());
        let first = words(&all[0].svg);
        assert!(first.contains("Keep people and pets off until dry"), "{first}");
        let (mut parts, mut key) = (String::new(), String::new());
        for (sheet, number) in all.iter().zip(1..) {
            let words = words(&sheet.svg);
            assert_eq!(sheet.number, number);
            assert!(words.contains(&format!("sheet {number} of {}", all.len())), "{words}");
            let Some(placement) = sheet.placement else {
                key = key + " " + &words;
                continue;
            };
            assert!(key.is_empty(), "the key comes last");
            if number > 1 {
                assert!(words.contains("Read the cautions on sheet 1"), "{words}");
                let overview = all[0].placement.unwrap().metres_per_dot;
                assert!(placement.metres_per_dot < overview * 0.8);
                parts = parts + " " + &words + " ";
            }
        }
        let unnamed: Vec<&str> = map
            .zones
            .iter()
            .map(|zone| zone.name.as_str())
            .filter(|name| ![" ", ":"].iter().any(|end| parts.contains(&format!(" {name}{end}"))))
            .collect();
        let numbered = |name: &&str| words_of_number(&parts, &map, name);
        let unlabeled: Vec<&&str> = unnamed.iter().filter(|name| !numbered(name)).collect();
        assert!(unlabeled.len() <= 3, "{page:?}: {unlabeled:?}");
        for (zone, number) in map.zones.iter().zip(1..) {
            let row = format!("{number} {}", zone.name);
            assert!(key.contains(&row), "{page:?}: no {row:?} in the key");
        }
    }
    for map in [invented::home(), invented::tiny(), invented::empty()] {
        assert!(PAGES.iter().all(|page| sheets(&map, *page).len() == 1));
    }
}

/// Whether the zone of that name stands in `printed` by its number.
fn words_of_number(printed: &str, map: &SprayMap, name: &str) -> bool {
    let number = map.zones.iter().position(|zone| zone.name == name).unwrap() + 1;
    printed.contains(&format!(" {number} "))
}

/// Zones of one number on all sheets, and no key that breaks off.
#[test]
fn a_key_is_whole_or_on_a_sheet_of_its_own_in_type_that_can_be_read() {
    let mut maps = vec![invented::forty(), invented::campus()];
    let mut long = invented::forty();
    for zone in &mut long.zones {
        zone.name = format!("{} beyond the old orchard wall and the long hedge", zone.name);
    }
    maps.push(long);
    for (map, page) in
        maps.iter().flat_map(|map| [Page::Letter, Page::Screen].map(|page| (map, page)))
    {
        for sheet in sheets(map, page) {
            let document = usvg::roxmltree::Document::parse(&sheet.svg).unwrap();
            let texts: Vec<_> =
                document.descendants().filter(|node| node.has_tag_name("text")).collect();
            let printed = words(&sheet.svg);
            assert!(!printed.contains("more zones"), "{page:?}, sheet {}", sheet.number);
            // In the key a number in a ring is followed by the name and what the zone gets.
            for pair in texts.windows(2) {
                let number = pair[0].text().and_then(|text| text.parse::<usize>().ok());
                let Some(zone) = number.and_then(|n| map.zones.get(n.checked_sub(1)?)) else {
                    continue;
                };
                let after = pair[1].text().unwrap();
                let begins = zone.name.split(' ').take(2).collect::<Vec<_>>().join(" ");
                if after.contains(':') && after.starts_with(&begins) {
                    let size: f64 = pair[1].attribute("font-size").unwrap().parse().unwrap();
                    assert!(size >= 8.0, "{page:?}, sheet {}: {after} in {size} pt", sheet.number);
                }
            }
        }
    }
}

#[test]
fn a_screen_is_not_leafed_through_but_grows_until_its_zones_can_be_told() {
    let all = sheets(&invented::campus(), Page::Screen);
    assert_eq!(all.len(), 1);
    let size = parsed(&all[0].svg).size();
    assert!(size.width() > 2_000.0 && size.width() <= 6_400.0, "{size:?}");
    let printed = words(&all[0].svg);
    for (zone, number) in invented::campus().zones.iter().zip(1..) {
        let by_number = format!(" {number} {}", zone.name);
        assert!(printed.contains(&zone.name) || printed.contains(&by_number), "{}", zone.name);
    }
    let house = parsed(&sheets(&invented::home(), Page::Screen)[0].svg).size();
    assert_eq!((house.width(), house.height()), (1_600.0, 1_200.0));
}

/// A map of more places where loads run out than one sheet can bear.
#[test]
fn each_place_where_a_load_runs_out_is_marked_on_some_sheet_and_the_overview_says_on_which() {
    let mut map = invented::campus();
    map.trail.ends = (0..90)
        .map(|index| turfplat_sheet::LoadEnd {
            load: format!("L{}", index + 1),
            x: f64::from(index % 10) * 70.0 + 9.0,
            y: f64::from(index / 10) * 62.0 + 9.0,
        })
        .collect();
    let all = sheets(&map, Page::Letter);
    let printed: Vec<String> = all.iter().map(|sheet| words(&sheet.svg)).collect();
    assert!(printed[0].contains("where loads run out: on sheets 2, 3"), "{}", printed[0]);
    let flagged = (1..=90).filter(|n| {
        let flag = format!(" L{n} ");
        printed.iter().any(|words| words.contains(&flag))
    });
    // A flag between others has no room for its cloth.
    assert!(flagged.count() >= 85);
    // Of few the overview has none either: numbers and boxes of sheets would lie on them.
    map.trail.ends.truncate(12);
    let overview = words(&sheets(&map, Page::Letter)[0].svg);
    assert!(overview.contains("where loads run out: on sheet"), "{overview}");
    assert!((1..=12).all(|n| !overview.contains(&format!(" L{n} "))), "{overview}");
}
