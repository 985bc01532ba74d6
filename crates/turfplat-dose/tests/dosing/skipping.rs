//! Zones that get nothing, and what their reader is told.

use std::collections::BTreeMap;

use turfplat_dose::{ChosenProduct, Condition, RateChoice, Skipped, ZoneToTreat, dose};
use turfplat_units::Area;

use crate::world::{backpack, chosen, rate, regulator, square_feet, zone};

fn skipped(zone: ZoneToTreat, product: ChosenProduct) -> Skipped {
    let dose = dose(&[zone], &[product], &backpack("3 gal", "1 gal/M")).unwrap();
    assert!(dose.zones.is_empty() && dose.batches.is_empty());
    dose.skipped.into_iter().next().unwrap()
}

fn checked() -> ChosenProduct {
    chosen(regulator(), "0.25 fl oz/1000 sq ft")
}

fn for_fescue_only() -> ChosenProduct {
    let rates = BTreeMap::from([("tall-fescue".to_owned(), rate("0.5 fl oz/1000 sq ft"))]);
    ChosenProduct { rates: RateChoice::BySpecies(rates), ..checked() }
}

#[test]
fn a_rate_that_is_not_from_a_label_is_not_dosed() {
    let unchecked = ChosenProduct { label_checked: None, ..checked() };
    let skip = skipped(zone("front", "tall-fescue", square_feet(1_000.0)), unchecked);
    assert!(skip.awaits_label);
    assert_eq!(
        skip.reason,
        "trinexapac-ethyl 1 lb/gal EC: no label-checked rate; only a label doses"
    );
    assert_eq!(
        skip.advice,
        "published for tall fescue: 0.76 fl oz/1000 sq ft, lawn, 6 weeks (research: Gardner & \
         Wherley, HortTechnology 2005) [0.29 kg a.i./ha; one record prints 29]; take the rate \
         for this grass from your label and add label_checked with the date"
    );
}

#[test]
fn one_grass_without_a_rate_skips_the_mixed_stand() {
    let mixed = zone("front", "tall-fescue, kentucky-bluegrass", square_feet(1_000.0));
    let skip = skipped(mixed, for_fescue_only());
    assert!(!skip.awaits_label, "somebody decided that this grass gets none");
    assert_eq!(
        skip.reason,
        "trinexapac-ethyl 1 lb/gal EC: no label-checked rate for Kentucky bluegrass, so the \
         mixed stand gets none"
    );
    assert!(skip.advice.contains("Lickfeldt et al., Agron. J. 93:1164-1168, 2001"));
}

#[test]
fn a_gap_stays_a_gap() {
    let skip = skipped(zone("front", "centipedegrass", square_feet(1_000.0)), for_fescue_only());
    assert!(
        skip.advice
            .starts_with("published for centipedegrass: no rate found, lawn (gap: none found)"),
        "{}",
        skip.advice
    );
    let skip = skipped(zone("front", "kikuyugrass", square_feet(1_000.0)), for_fescue_only());
    assert!(skip.advice.starts_with("nothing published is known here for kikuyugrass"));
}

#[test]
fn unlisted_missing_unfit_and_nothing_left() {
    let lawn = || zone("front", "tall-fescue", square_feet(1_000.0));
    for (zone, reason, advice) in [
        (
            ZoneToTreat { unlisted_species: vec!["tall fesque".into()], ..lawn() },
            "species \"tall fesque\" is not listed; did you mean \"tall-fescue\"?",
            "parted by commas",
        ),
        (
            ZoneToTreat { species: Vec::new(), ..lawn() },
            "its species is not given",
            "which grass grows here",
        ),
        (
            ZoneToTreat { condition: Condition::Thin, ..lawn() },
            "turf is thin, which is unfit for trinexapac-ethyl 1 lb/gal EC",
            "thin turf must fill in first (practice: common practice, no source)",
        ),
        (
            ZoneToTreat { area: Area::ZERO, ..lawn() },
            "nothing left to treat",
            "setbacks take the whole zone",
        ),
    ] {
        let skip = skipped(zone, checked());
        assert_eq!(skip.reason, reason);
        assert!(skip.advice.contains(advice), "{}", skip.advice);
    }
}

#[test]
fn a_skipped_zone_does_not_stop_the_others() {
    let zones = [
        ZoneToTreat {
            condition: Condition::Dormant,
            ..zone("a", "tall-fescue", square_feet(900.0))
        },
        zone("b", "tall-fescue", square_feet(1_000.0)),
    ];
    let dose = dose(&zones, &[checked()], &backpack("3 gal", "1 gal/M")).unwrap();
    assert_eq!((dose.zones[0].index, dose.skipped[0].index), (1, 0));
    assert_eq!(dose.batches[0].zones, ["b"]);
}

#[test]
fn a_mixed_stand_takes_the_lowest_rate_of_its_grasses_in_either_order() {
    let rates = BTreeMap::from([
        ("tall-fescue".to_owned(), rate("0.5 fl oz/1000 sq ft")),
        ("kentucky-bluegrass".to_owned(), rate("0.3 fl oz/1000 sq ft")),
    ]);
    for names in ["tall-fescue, kentucky-bluegrass", "kentucky-bluegrass, tall-fescue"] {
        let product = ChosenProduct { rates: RateChoice::BySpecies(rates.clone()), ..checked() };
        let stand = zone("front", names, square_feet(1_000.0));
        let dose = dose(&[stand], &[product], &backpack("3 gal", "1 gal/M")).unwrap();
        let taken = crate::world::rate_of(dose.zones[0].products[0].rate, "1 fl oz/1000 sq ft");
        assert!((taken - 0.3).abs() < 1e-12, "{names}: {taken}");
    }
}

#[test]
fn one_unlisted_grass_skips_the_mixed_stand_and_close_names_are_offered() {
    let mixed = ZoneToTreat {
        unlisted_species: vec!["tal fescue".into()],
        ..zone("front", "kentucky-bluegrass", square_feet(1_000.0))
    };
    let skip = skipped(mixed, checked());
    assert_eq!(
        skip.reason,
        "species \"tal fescue\" is not listed; did you mean \"tall-fescue\" or \"fine-fescue\"?"
    );
    assert!(skip.advice.contains("parted by commas"), "{}", skip.advice);
}
