//! Laws of the trade, on any lawn.

use std::collections::BTreeMap;

use proptest::prelude::*;
use turfplat_dose::{
    ChosenProduct, Dose, Equipment, RateChoice, ZoneToTreat, all_species, dose, find_species,
};
use turfplat_units::{Amount, AmountUnit, Area, AreaUnit, Rate, RateUnit};

use crate::world::{backpack, chosen, plain, square_feet, zone};

/// Rounding of sums of a few hundred numbers.
const ROUNDING: f64 = 1e-9;

fn fluid_ounces(value: f64) -> Rate {
    let unit = RateUnit { amount: AmountUnit::FluidOunce, area: AreaUnit::ThousandSquareFeet };
    Rate::of(unit.amount.of(value).unwrap(), unit.area.area()).unwrap()
}

/// Lawns from a strip of a square foot to some acres, and some with nothing left.
fn any_zones() -> impl Strategy<Value = Vec<ZoneToTreat>> {
    let area = prop_oneof![
        1 => Just(0.0),
        2 => 1.0..100.0,
        6 => 100.0..20_000.0,
        1 => 20_000.0..200_000.0,
    ];
    let grass = 0..all_species().len();
    prop::collection::vec((area, grass), 1..12).prop_map(|zones| {
        let zone = |(place, (area, grass)): (usize, (f64, usize))| {
            zone(&format!("zone {place}"), &all_species()[grass].id, square_feet(area))
        };
        zones.into_iter().enumerate().map(zone).collect()
    })
}

/// A liquid with one of three rates for each grass, and sometimes none.
fn any_product() -> impl Strategy<Value = ChosenProduct> {
    let rate = prop_oneof![Just(None), Just(Some(0.25)), Just(Some(0.3)), Just(Some(0.75))];
    prop::collection::vec(rate, all_species().len()).prop_map(|rates| {
        let rates: BTreeMap<String, Rate> = all_species()
            .iter()
            .zip(rates)
            .filter_map(|(species, rate)| Some((species.id.clone(), fluid_ounces(rate?))))
            .collect();
        ChosenProduct {
            rates: RateChoice::BySpecies(rates),
            ..chosen(plain("liquid", "liquid"), "1 fl oz/M")
        }
    })
}

fn any_equipment() -> impl Strategy<Value = Equipment> {
    (prop_oneof![Just("3 gal"), Just("4 gal"), Just("15 L"), Just("50 gal")], 0.5..3.0).prop_map(
        |(tank, gallons)| Equipment {
            spray_volume: Some(fluid_ounces(128.0 * gallons)),
            ..backpack(tank, "1 gal/M")
        },
    )
}

fn value(amount: Amount) -> f64 {
    match amount {
        Amount::Volume(volume) => volume.millilitres(),
        Amount::Mass(mass) => mass.grams(),
    }
}

fn equal(ours: f64, theirs: f64) -> bool {
    (ours - theirs).abs() <= ROUNDING * theirs.abs()
}

fn loads(dose: &Dose) -> impl Iterator<Item = &turfplat_dose::Load> {
    dose.batches.iter().flat_map(|batch| &batch.loads)
}

proptest! {
    /// What is poured into the loads is what the job takes in all.
    #[test]
    fn loads_add_up_to_the_totals(
        zones in any_zones(), product in any_product(), knapsack in any_equipment(),
    ) {
        let dose = dose(&zones, &[product], &knapsack).unwrap();
        let poured: f64 = loads(&dose).map(|load| value(load.products[0].exact)).sum();
        prop_assert!(equal(poured, value(dose.totals[0])));
        let zoned: f64 = dose.zones.iter().map(|zone| value(zone.products[0].amount)).sum();
        prop_assert!(equal(zoned, value(dose.totals[0])));
        let spray: f64 = dose.zones.iter().filter_map(|zone| zone.spray_volume).map(value).sum();
        prop_assert!(equal(spray, value(dose.spray_volume.unwrap())));
        // Water and product together fill every load.
        for load in loads(&dose) {
            let filled = value(load.water.unwrap()) + value(load.products[0].exact);
            prop_assert!(equal(filled, value(load.spray_volume.unwrap())));
        }
    }

    /// Twice the rate, twice the product, and no more spray.
    #[test]
    fn twice_the_rate_is_twice_the_product(
        zones in any_zones(), product in any_product(), knapsack in any_equipment(),
    ) {
        let RateChoice::BySpecies(rates) = &product.rates else { panic!("by species") };
        let rates = rates.iter().map(|(id, rate)| (id.clone(), rate.times(2.0))).collect();
        let double = ChosenProduct { rates: RateChoice::BySpecies(rates), ..product.clone() };
        let once = dose(&zones, &[product], &knapsack).unwrap();
        let twice = dose(&zones, &[double], &knapsack).unwrap();
        prop_assert!(equal(value(twice.totals[0]), 2.0 * value(once.totals[0])));
        prop_assert_eq!(twice.spray_volume, once.spray_volume);
    }

    /// In whatever order the lawns stand, they take the same.
    #[test]
    fn the_order_of_zones_changes_no_total(
        (zones, shuffled) in any_zones().prop_flat_map(|zones| {
            (Just(zones.clone()), Just(zones).prop_shuffle())
        }),
        product in any_product(),
        knapsack in any_equipment(),
    ) {
        let products = [product];
        let one = dose(&zones, &products, &knapsack).unwrap();
        let other = dose(&shuffled, &products, &knapsack).unwrap();
        prop_assert!(equal(value(one.totals[0]), value(other.totals[0])));
        prop_assert!(equal(value(one.water.unwrap()), value(other.water.unwrap())));
        prop_assert_eq!(one.batches.len(), other.batches.len());
        prop_assert_eq!(one.skipped.len(), other.skipped.len());
    }

    /// A tankful is right for every lawn that it is sprayed on.
    #[test]
    fn no_load_covers_two_strengths(
        zones in any_zones(), product in any_product(), knapsack in any_equipment(),
    ) {
        let products = [product];
        let dose = dose(&zones, &products, &knapsack).unwrap();
        for load in loads(&dose) {
            let strength = value(load.products[0].exact) / value(load.spray_volume.unwrap());
            for cover in &load.covers {
                let grass = zones[cover.index].species[0];
                let rate = products[0].rates.of(find_species(&grass.id).unwrap()).unwrap();
                let wanted = rate.over(knapsack.spray_volume.unwrap()).unwrap();
                prop_assert!(equal(strength, wanted), "{strength} on {}: {wanted}", cover.zone);
            }
        }
    }

    /// No tank is overfilled, and what it holds covers the ground that it should.
    #[test]
    fn covers_add_up(
        zones in any_zones(), product in any_product(), knapsack in any_equipment(),
    ) {
        let dose = dose(&zones, &[product], &knapsack).unwrap();
        let tank = value(knapsack.tank.unwrap());
        for load in loads(&dose) {
            let spray = load.spray_volume.unwrap();
            prop_assert!(value(spray) <= tank * (1.0 + ROUNDING));
            let ground: Area = load.covers.iter().map(|cover| cover.area).sum();
            let sprayed = knapsack.spray_volume.unwrap().on(ground);
            // A cut at the edge of a zone may move by a billionth of the batch.
            let batch = value(dose.spray_volume.unwrap());
            prop_assert!((value(sprayed) - value(spray)).abs() <= 4.0 * ROUNDING * batch);
        }
        for zone in &dose.zones {
            let covered: f64 = loads(&dose)
                .flat_map(|load| &load.covers)
                .filter(|cover| cover.index == zone.index)
                .map(|cover| cover.area.square_metres())
                .sum();
            prop_assert!(equal(covered, zone.area.square_metres()));
        }
    }

    /// Measuring never puts down more than the label's rate, and at most a mark less.
    #[test]
    fn measured_never_exceeds_exact(
        zones in any_zones(),
        product in any_product(),
        knapsack in any_equipment(),
        mark in prop_oneof![Just(0.5), Just(1.0), Just(7.39)],
    ) {
        let mark = AmountUnit::Millilitre.of(mark).unwrap();
        let knapsack = Equipment { smallest_measure: Some(mark), ..knapsack };
        // A strip too small for the mark is refused, which is another law.
        let Ok(dose) = dose(&zones, &[product], &knapsack) else { return Ok(()) };
        for load in loads(&dose) {
            let product = &load.products[0];
            prop_assert!(value(product.measured) <= value(product.exact));
            prop_assert!(value(product.measured) > value(product.exact) - value(mark));
            prop_assert!(value(product.measured) > 0.0);
            let error = value(product.measured) / value(product.exact) - 1.0;
            prop_assert!((error - product.error).abs() <= ROUNDING);
        }
    }
}
