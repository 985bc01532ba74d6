//! What a house lot costs, stage by stage: one item is one property.

#![allow(missing_docs)] // A bench has no readers but its own.

mod lots;

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use geo::Coord;
use turfplat_measure::{
    Account, Ground, Plane, Sets, Shape, Taker, account, accounts, net_outline,
};

use lots::{CAUSES, Laid, Lot, lot};

const LOTS: u64 = 200;

fn main() {
    divan::main();
}

fn degrees() -> Vec<Lot> {
    (0..LOTS).map(|number| lot(number, false)).collect()
}

fn laid() -> Vec<Laid> {
    degrees().iter().map(|lot| lot.lay(None)).collect()
}

fn bench_lots<T>(bencher: Bencher<'_, '_>, lots: &[T], mut work: impl FnMut(&T)) {
    bencher.counter(ItemsCount::new(lots.len())).bench_local(|| lots.iter().for_each(&mut work));
}

/// Calls `with` for every zone with all that takes ground from it.
fn each_zone(laid: &Laid, mut with: impl FnMut(&Shape, &[Taker<'_>], usize)) {
    let (zones, others) = laid.reaches();
    let mut takers: Vec<Taker<'_>> = Vec::new();
    for (index, zone) in laid.zones.iter().enumerate() {
        takers.clear();
        let near = (0..index).filter(|&other| laid.zones[other].is_near(zone));
        takers.extend(near.enumerate().map(|(cause, other)| Taker {
            cause,
            sets: Sets::ALL,
            reach: &zones[other],
        }));
        let first = takers.len();
        takers.extend(others.iter().map(|(reach, cause)| Taker {
            cause: first + cause,
            sets: Sets::ALL,
            reach,
        }));
        with(zone, &takers, first + CAUSES);
    }
}

fn accounts_of(laid: &Laid) -> Vec<Account> {
    let mut all = Vec::new();
    each_zone(laid, |zone, takers, causes| {
        all.push(account(zone, takers, causes, None).expect("a lot is no tangle"))
    });
    all
}

/// Six setback sets in one go: every pond and well in half of them.
fn accounts_of_six(laid: &Laid) -> Vec<Account> {
    let mut all = Vec::new();
    each_zone(laid, |zone, takers, causes| {
        let some = |taker: &Taker<'_>| {
            if taker.cause.is_multiple_of(2) { Sets::first(3) } else { Sets::ALL }
        };
        let takers: Vec<Taker<'_>> =
            takers.iter().map(|taker| Taker { sets: some(taker), ..*taker }).collect();
        all.extend(accounts(zone, &takers, causes, 6, None).expect("a lot is no tangle"));
    });
    all
}

#[divan::bench]
fn sweep_six_sets(bencher: Bencher<'_, '_>) {
    bench_lots(bencher, &laid(), |laid| {
        black_box(accounts_of_six(laid));
    });
}

fn outlines_of(laid: &Laid) -> Vec<Ground> {
    let mut all = Vec::new();
    each_zone(laid, |zone, takers, _| all.push(net_outline(zone, takers, None)));
    all
}

#[divan::bench]
fn lay_and_repair(bencher: Bencher<'_, '_>) {
    bench_lots(bencher, &degrees(), |lot| {
        black_box(lot.lay(None));
    });
}

#[divan::bench]
fn repair_alone(bencher: Bencher<'_, '_>) {
    let flat = Plane::already_flat(Coord { x: 0.0, y: 0.0 });
    let lots: Vec<Lot> = (0..LOTS).map(|number| lot(number, true)).collect();
    bench_lots(bencher, &lots, |lot| {
        black_box(lot.lay(Some(&flat)));
    });
}

#[divan::bench]
fn sweep(bencher: Bencher<'_, '_>) {
    bench_lots(bencher, &laid(), |laid| {
        black_box(accounts_of(laid));
    });
}

#[divan::bench]
fn lay_repair_and_sweep(bencher: Bencher<'_, '_>) {
    let lots = degrees();
    bench_lots(bencher, &lots, |lot| {
        black_box(accounts_of(&lot.lay(None)));
    });
}

#[divan::bench(sample_count = 10)]
fn outline(bencher: Bencher<'_, '_>) {
    bench_lots(bencher, &laid(), |laid| {
        black_box(outlines_of(laid));
    });
}
