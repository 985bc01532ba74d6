//! Every worked case comes out as its `expect.txt` says.

#![allow(clippy::unwrap_used, clippy::print_stdout)] // A test may.

use turfplat_tests::cases;

fn run(kind: &str, at_least: usize) {
    let cases = cases(kind).unwrap();
    assert!(cases.len() >= at_least, "{kind}: only {} cases were found", cases.len());
    let failed: Vec<String> = cases.iter().filter_map(|case| case.run().err()).collect();
    assert!(
        failed.is_empty(),
        "{} of {} failed:\n{}",
        failed.len(),
        cases.len(),
        failed.join("\n")
    );
    println!("{kind}: {} cases", cases.len());
}

#[test]
fn good_maps_give_the_areas_worked_out_for_them() {
    run("good", 20);
}

#[test]
fn nasty_maps_are_repaired_and_what_was_repaired_is_told() {
    run("nasty", 14);
}

#[test]
fn what_cannot_be_done_is_refused_with_its_place_and_cure() {
    run("refused", 24);
}

#[test]
fn what_is_no_map_is_not_read_as_one() {
    run("unreadable", 6);
}
