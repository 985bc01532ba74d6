//! Laws of the trade from the map to the tank.

#![allow(clippy::unwrap_used)] // A test may.

use proptest::prelude::*;
use turfplat::units::{Amount, AmountUnit};
use turfplat::{
    ApplicationPlan, CoordinateSystem, Job, MapSource, PlanOptions, PropertyMap, plan, read_map,
};

/// Three lawns side by side, in feet, with a pond at the third.
fn map(widths: [f64; 3], pond: f64) -> PropertyMap {
    let mut features = Vec::new();
    let mut west = 0.0;
    for (name, species, width) in [
        ("A", "tall-fescue", widths[0]),
        ("B", "kentucky-bluegrass", widths[1]),
        ("C", "tall-fescue, kentucky-bluegrass", widths[2]),
    ] {
        let east = west + width;
        features.push(format!(
            r#"{{"type":"Feature","properties":{{"kind":"turf","name":"{name}","species":"{species}"}},"geometry":{{"type":"Polygon","coordinates":[[[{west},0],[{east},0],[{east},80],[{west},80],[{west},0]]]}}}}"#
        ));
        west = east + 3.0;
    }
    features.push(format!(
        r#"{{"type":"Feature","properties":{{"kind":"water","radius_ft":5}},"geometry":{{"type":"Point","coordinates":[{},40]}}}}"#,
        west + pond
    ));
    let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","));
    read_map(&[MapSource::geojson("map.geojson", text.into_bytes(), CoordinateSystem::PLANE_FEET)])
        .unwrap()
}

fn job(fescue: f64, bluegrass: f64, tank: f64, setback: f64) -> Job {
    let text = format!(
        r#"
[setbacks]
water = "{setback} ft"
[equipment.knapsack]
kind = "backpack"
tank = "{tank} gal"
spray_volume = "1 gal/1000 sq ft"
[[application]]
name = "June"
equipment = "knapsack"
[[application.product]]
product = "trinexapac-ethyl-1-ec"
label_checked = "2026-05-02"
[application.product.rates]
tall-fescue = "{fescue} fl oz/1000 sq ft"
kentucky-bluegrass = "{bluegrass} fl oz/1000 sq ft"
"#
    );
    Job::read("job.toml", &text, &|_| Err(std::io::ErrorKind::NotFound.into())).unwrap()
}

fn planned<T>(map: &PropertyMap, job: &Job, look: impl Fn(&ApplicationPlan<'_>) -> T) -> T {
    let planned = plan(map, job, &PlanOptions::default()).unwrap();
    assert!(planned.refusals.is_empty(), "{:?}", planned.refusals);
    look(&planned.plans[0].applications[0])
}

fn fluid_ounces(amount: Amount) -> f64 {
    amount.in_unit(AmountUnit::FluidOunce).unwrap()
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

proptest! {
    /// Twice the rate, twice the product; the water stays what the sprayer puts out.
    #[test]
    fn twice_the_rate_is_twice_the_product(widths in prop::array::uniform3(20.0..200.0_f64), a in 0.1..0.4_f64, b in 0.1..0.4_f64) {
        let map = map(widths, 20.0);
        let (once, spray) = planned(&map, &job(a, b, 3.0, 25.0), |plan| (fluid_ounces(plan.totals[0]), plan.spray_volume));
        let (twice, same_spray) = planned(&map, &job(2.0 * a, 2.0 * b, 3.0, 25.0), |plan| (fluid_ounces(plan.totals[0]), plan.spray_volume));
        prop_assert!(close(twice, 2.0 * once), "{} ≠ 2 × {}", twice, once);
        prop_assert!(close(spray.unwrap().over(same_spray.unwrap()).unwrap(), 1.0));
    }

    /// What goes into all loads is what was planned, and they cover what is treated.
    #[test]
    fn loads_add_up(widths in prop::array::uniform3(20.0..200.0_f64), a in 0.1..0.7_f64, b in 0.1..0.7_f64, tank in 1.0..30.0_f64) {
        let map = map(widths, 20.0);
        planned(&map, &job(a, b, tank, 25.0), |plan| {
            let loads = || plan.batches.iter().flat_map(|batch| &batch.loads);
            let product: f64 = loads().map(|load| fluid_ounces(load.products[0].exact)).sum();
            assert!(close(product, fluid_ounces(plan.totals[0])));
            for zone in &plan.zones {
                let covered: f64 = loads().flat_map(|load| &load.covers).filter(|cover| cover.zone == zone.zone).map(|cover| cover.area.square_metres()).sum();
                assert!(close(covered, zone.treated.square_metres()), "{}: {covered}", zone.zone);
            }
            for load in loads() {
                assert!(fluid_ounces(load.products[0].measured) <= fluid_ounces(load.products[0].exact) + 1e-12);
                assert!(load.spray_volume.unwrap().in_unit(AmountUnit::Gallon).unwrap() <= tank * (1.0 + 1e-9));
            }
        });
    }

    /// A tank holds one strength: no load covers ground that asks for two.
    #[test]
    fn no_load_covers_two_strengths(widths in prop::array::uniform3(20.0..200.0_f64), a in 0.1..0.7_f64, b in 0.1..0.7_f64, tank in 1.0..30.0_f64) {
        let map = map(widths, 20.0);
        planned(&map, &job(a, b, tank, 25.0), |plan| {
            let rate_of = |name: &str| {
                let zone = plan.zones.iter().find(|zone| zone.zone == name).unwrap();
                fluid_ounces(zone.products[0].amount) / zone.treated.square_metres()
            };
            for load in plan.batches.iter().flat_map(|batch| &batch.loads) {
                let covered: f64 = load.covers.iter().map(|cover| cover.area.square_metres()).sum();
                let strength = fluid_ounces(load.products[0].exact) / covered;
                for cover in &load.covers {
                    assert!(close(strength, rate_of(&cover.zone)), "load {} on {}", load.number, cover.zone);
                }
            }
        });
        // A mixed stand takes the lower of its grasses' rates, and so shares a tank with it.
        let batches = planned(&map, &job(a, b, tank, 25.0), |plan| plan.batches.len());
        prop_assert_eq!(batches, if close(a, b) { 1 } else { 2 });
    }

    /// A wider setback never takes more product.
    #[test]
    fn a_wider_setback_never_takes_more(widths in prop::array::uniform3(20.0..200.0_f64), pond in 0.0..40.0_f64, near in 25.0..60.0_f64, farther in 0.0..60.0_f64) {
        let map = map(widths, pond);
        let total = |setback| planned(&map, &job(0.6, 0.4, 3.0, setback), |plan| fluid_ounces(plan.totals[0]));
        prop_assert!(total(near + farther) <= total(near) * (1.0 + 1e-12));
    }
}
