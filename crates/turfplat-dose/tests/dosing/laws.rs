//! Laws of the trade, on any lawn.

use std::collections::BTreeMap;

use proptest::prelude::*;
use turfplat_dose::{
    ChosenProduct, Dose, Equipment, LoadPlan, Product, RateChoice, ZoneToTreat, all_species, dose,
    find_species,
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
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

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

    /// Equal loads differ by nothing and are as few as full ones; both sprinkle the same in all.
    #[test]
    fn equal_loads_are_alike_and_as_few(
        zones in any_zones(), product in any_product(), knapsack in any_equipment(), dead in 0.0..0.5,
    ) {
        let dead_volume = knapsack.tank.map(|tank| tank.times(dead));
        let full = Equipment { dead_volume, ..knapsack };
        let equal_ = Equipment { load_plan: LoadPlan::Equal, ..full.clone() };
        let full = dose(&zones, std::slice::from_ref(&product), &full).unwrap();
        let alike = dose(&zones, &[product], &equal_).unwrap();
        prop_assert_eq!(&full.totals, &alike.totals);
        for (full, alike) in full.batches.iter().zip(&alike.batches) {
            prop_assert_eq!(full.loads.len(), alike.loads.len());
            for load in &alike.loads {
                prop_assert_eq!(&load.products, &alike.loads[0].products);
                prop_assert_eq!(load.spray_volume, alike.loads[0].spray_volume);
            }
        }
    }

    /// What stays in hose and sump adds to no total, and no fill overflows for it.
    #[test]
    fn a_dead_volume_is_in_no_total(
        zones in any_zones(), product in any_product(), knapsack in any_equipment(), dead in 0.0..0.9,
    ) {
        let tank = value(knapsack.tank.unwrap());
        let dead_volume = knapsack.tank.map(|tank| tank.times(dead));
        let with = Equipment { dead_volume, ..knapsack.clone() };
        let without = dose(&zones, std::slice::from_ref(&product), &knapsack).unwrap();
        let with = dose(&zones, &[product], &with).unwrap();
        prop_assert_eq!(&with.totals, &without.totals);
        let poured: f64 = loads(&with).map(|load| value(load.products[0].exact)).sum();
        prop_assert!(equal(poured, value(with.totals[0])));
        for load in loads(&with) {
            prop_assert!(value(load.mixed_spray().unwrap()) <= tank * (1.0 + ROUNDING));
            let strength = |product: Amount, spray: Amount| value(product) / value(spray);
            prop_assert!(equal(
                strength(load.mixed_products()[0].exact, load.mixed_spray().unwrap()),
                strength(load.products[0].exact, load.spray_volume.unwrap()),
            ));
        }
    }

    /// Twice the ground, twice the product and the spray.
    #[test]
    fn amounts_are_linear_in_area(
        zones in any_zones(), product in any_product(), knapsack in any_equipment(), times in 0.5..4.0,
    ) {
        let larger: Vec<ZoneToTreat> = zones
            .iter()
            .map(|zone| ZoneToTreat {
                area: square_feet(zone.area.square_feet() * times),
                ..zone.clone()
            })
            .collect();
        let one = dose(&zones, std::slice::from_ref(&product), &knapsack).unwrap();
        let more = dose(&larger, &[product], &knapsack).unwrap();
        prop_assert!(equal(value(more.totals[0]), times * value(one.totals[0])));
        prop_assert!(equal(
            value(more.spray_volume.unwrap()),
            times * value(one.spray_volume.unwrap()),
        ));
    }

    /// In whatever order the products of a mix stand, each takes the same.
    #[test]
    fn the_order_of_products_changes_no_total(
        zones in any_zones(), product in any_product(), knapsack in any_equipment(),
    ) {
        let dry = chosen(plain("dry", "dry soluble"), "1 oz wt/M");
        let one = dose(&zones, &[product.clone(), dry.clone()], &knapsack).unwrap();
        let other = dose(&zones, &[dry, product], &knapsack).unwrap();
        prop_assert!(equal(value(one.totals[0]), value(other.totals[1])));
        prop_assert!(equal(value(one.totals[1]), value(other.totals[0])));
        prop_assert!(equal(value(one.water.unwrap()), value(other.water.unwrap())));
        prop_assert_eq!(one.batches.len(), other.batches.len());
    }

    /// Whatever mark is nearest, a load never holds more than the label allows on its ground.
    #[test]
    fn measured_never_exceeds_a_stated_maximum(
        zones in any_zones(),
        knapsack in any_equipment(),
        share in 0.2..1.0,
        mark in 0.5..20.0,
        dead in 0.0..0.5,
    ) {
        let product = Product::from_toml(
            "id = \"capped\"\nname = \"capped\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
             formulation = \"SL\"\n[limits.max_per_application]\nlimit = \"1 fl oz/1000 sq ft\"\n",
        )
        .unwrap();
        let label_checked = Some("2026-05-02".to_owned());
        let rates = RateChoice::One(fluid_ounces(share));
        let capped = ChosenProduct { product, rates, label_checked };
        let dead_volume = knapsack.tank.map(|tank| tank.times(dead));
        let knapsack = Equipment {
            smallest_measure: AmountUnit::Millilitre.of(mark),
            dead_volume,
            ..knapsack
        };
        // A strip too small for the mark is refused, which is another law.
        let Ok(dose) = dose(&zones, &[capped], &knapsack) else { return Ok(()) };
        let most = fluid_ounces(1.0).over(knapsack.spray_volume.unwrap()).unwrap();
        for load in loads(&dose) {
            for (products, spray) in [
                (&load.products[..], load.spray_volume.unwrap()),
                (load.mixed_products(), load.mixed_spray().unwrap()),
            ] {
                let strength = value(products[0].measured) / value(spray);
                prop_assert!(strength <= most * (1.0 + ROUNDING));
                let off = (value(products[0].measured) - value(products[0].exact)).abs();
                prop_assert!(off < mark * (1.0 + ROUNDING));
            }
        }
    }

    /// Whatever the cup and whatever stays in hose and sump, every fill of a batch is measured to
    /// within the trade's ±5 %, or all to one strength, to 1 part in 100; they cover all of the
    /// ground and fit the tank.
    #[test]
    fn a_batch_is_measured_within_the_trades_5_percent_or_to_one_strength(
        zones in any_zones(),
        knapsack in any_equipment(),
        ounces in 0.2..1.0,
        mark in 0.5..30.0,
        dead in prop_oneof![Just(0.0), 0.0..0.9],
        capped in any::<bool>(),
    ) {
        let limits = if capped { "[limits.max_per_application]\nlimit = \"1 fl oz/1000 sq ft\"\n" } else { "" };
        let product = Product::from_toml(&format!(
            "id = \"own\"\nname = \"own\"\nclass = \"herbicide\"\nform = \"liquid\"\n{limits}"
        ))
        .unwrap();
        let label_checked = Some("2026-05-02".to_owned());
        let rates = RateChoice::One(fluid_ounces(ounces));
        let product = ChosenProduct { product, rates, label_checked };
        let tank = value(knapsack.tank.unwrap());
        let dead_volume = knapsack.tank.map(|tank| tank.times(dead)).filter(|_| dead > 0.0);
        let smallest_measure = AmountUnit::Millilitre.of(mark);
        let knapsack = Equipment { smallest_measure, dead_volume, ..knapsack };
        let dose = match dose(&zones, &[product], &knapsack) {
            Ok(dose) => dose,
            // A cup too coarse for the lawn is told so.
            Err(error) => {
                prop_assert!(error.to_string().contains("use a finer measure"), "{}", error);
                return Ok(());
            }
        };
        for batch in &dose.batches {
            let strengths = batch.loads.iter().map(|load| {
                value(load.mixed_products()[0].measured) / value(load.mixed_products()[0].exact)
            });
            let (least, most) = strengths.fold((f64::INFINITY, 0.0_f64), |(a, b), one| (a.min(one), b.max(one)));
            let is_within = least >= 0.95 - ROUNDING && most <= 1.05 + ROUNDING;
            prop_assert!(is_within || most - least <= 0.01 + ROUNDING, "{} to {}", least, most);
            let covered: f64 =
                batch.loads.iter().flat_map(|load| &load.covers).map(|it| it.area.square_feet()).sum();
            let ground: f64 =
                dose.zones.iter().filter(|it| it.batch == batch.number).map(|it| it.area.square_feet()).sum();
            prop_assert!(equal(covered, ground));
            for load in &batch.loads {
                prop_assert!(value(load.spray_volume.unwrap()) > 0.0);
                prop_assert!(value(load.mixed_spray().unwrap()) <= tank * (1.0 + ROUNDING));
            }
        }
    }

    /// No load is farther off its rate than it would be were the better of full and of equal loads
    /// mixed: the better that is within ±5 %, or measured to one strength.
    #[test]
    fn loads_are_measured_no_worse_than_full_ones_or_equal_ones(
        square_feet_ in 500.0..20_000.0_f64,
        ounces in 0.2..1.0_f64,
        gallons in 1.0..5.0_f64,
        mark in 0.05..0.5_f64,
    ) {
        let knapsack = Equipment {
            smallest_measure: AmountUnit::FluidOunce.of(mark),
            ..backpack(&format!("{gallons} gal"), "1 gal/1000 sq ft")
        };
        let label_checked = Some("2026-05-02".to_owned());
        let rates = RateChoice::One(fluid_ounces(ounces));
        let product = ChosenProduct { product: plain("own", "liquid"), rates, label_checked };
        let lawn = [zone("lawn", "tall-fescue", square_feet(square_feet_))];
        // Worked out anew, in gallons: without a stated maximum every fill is measured down.
        let whole = square_feet_ / 1000.0;
        let count = (whole / gallons).ceil();
        let error = |fill: f64| {
            let marks = fill * ounces / mark;
            (marks.floor() / marks - 1.0, marks >= 1.0)
        };
        let candidate = |fills: [f64; 2]| {
            let [(one, can_one), (other, can_other)] = fills.map(error);
            let worst = one.min(other).abs();
            let is_taken = worst <= 0.05 || (one - other).abs() <= 0.01;
            (can_one && can_other && is_taken).then_some(worst)
        };
        let last = whole - gallons * (count - 1.0);
        let full = candidate([if count > 1.0 { gallons } else { last }, last]);
        let alike = candidate([whole / count; 2]);
        let better = full.into_iter().chain(alike).reduce(f64::min);
        let Ok(dose) = dose(&lawn, &[product], &knapsack) else {
            prop_assert!(better.is_none());
            return Ok(());
        };
        let ours = loads(&dose).map(|load| load.products[0].error.abs()).fold(0.0, f64::max);
        let better = better.unwrap();
        // Below 5 % the trade counts nothing, and below 1 % nobody sees a difference.
        prop_assert!(ours <= (better + 0.01).max(0.05) + ROUNDING, "{ours} and {better}");
        prop_assert!(better > 0.05 || ours <= 0.05 + ROUNDING, "{ours} and {better}");
        prop_assert!(loads(&dose).all(|load| load.products[0].error <= ROUNDING));
    }
}
