//! Laws of the trade over random jobs: however a job is written, it takes the same, and no label is
//! ever exceeded.

#![allow(clippy::unwrap_used)] // A test may.

use proptest::prelude::*;
use turfplat::units::{Amount, AmountUnit, WrittenRate};
use turfplat::{
    ApplicationPlan, CoordinateSystem, Job, MapSource, PlanOptions, PropertyMap, plan, read_map,
};

/// A liquid and a powder, each with the most that its label allows at once.
const LIQUID: &str = "id = \"liquid\"\nname = \"liquid\"\nclass = \"herbicide\"\nform = \"liquid\"\n\
                      formulation = \"SL\"\n[limits.max_per_application]\nlimit = \"2 fl oz/1000 sq ft\"\n";
const POWDER: &str = "id = \"powder\"\nname = \"powder\"\nclass = \"herbicide\"\nform = \"dry soluble\"\n\
                      formulation = \"WDG\"\n[limits.max_per_application]\nlimit = \"1 oz wt/1000 sq ft\"\n";

const NAMES: [&str; 3] = ["A", "B", "C"];
const SPECIES: [&str; 3] = ["tall-fescue", "kentucky-bluegrass", "zoysiagrass"];

/// Lawns side by side, in feet, 80 ft deep; `order` is that of the file.
fn map(widths: [f64; 3], deep: f64, order: &[usize]) -> PropertyMap {
    let place = |index: usize| 300.0 * index as f64;
    let features: Vec<String> = order
        .iter()
        .map(|&index| {
            let (west, east) = (place(index), place(index) + widths[index]);
            format!(
                r#"{{"type":"Feature","properties":{{"kind":"turf","name":"{}","species":"{}"}},"geometry":{{"type":"Polygon","coordinates":[[[{west},0],[{east},0],[{east},{deep}],[{west},{deep}],[{west},0]]]}}}}"#,
                NAMES[index], SPECIES[index]
            )
        })
        .collect();
    let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","));
    let source = MapSource::geojson("map.geojson", text.into_bytes(), CoordinateSystem::PLANE_FEET);
    read_map(&[source]).unwrap()
}

/// A job as somebody may write it.
#[derive(Clone, Debug)]
struct Written {
    /// Of the liquid on each grass, fl oz/1000 sq ft.
    liquid: [f64; 3],
    /// Of the powder on all, oz wt/1000 sq ft.
    powder: f64,
    tank: f64,
    mark: Option<f64>,
    dead: f64,
    equal: bool,
    order: Vec<usize>,
    powder_first: bool,
    unit: &'static str,
}

impl Written {
    fn rate(&self, ounces: f64) -> String {
        let rate: WrittenRate = format!("{ounces} fl oz/1000 sq ft").parse().unwrap();
        let value = rate.rate().unwrap().in_unit(self.unit.parse().unwrap()).unwrap();
        format!("{value} {}", self.unit)
    }

    fn job(&self) -> Job {
        let names: Vec<String> = self.order.iter().map(|i| format!("{:?}", NAMES[*i])).collect();
        let rates: Vec<String> = SPECIES
            .iter()
            .zip(self.liquid)
            .map(|(species, ounces)| format!("{species} = {:?}", self.rate(ounces)))
            .collect();
        let liquid = format!(
            "[[application.product]]\nproduct = \"liquid.toml\"\nlabel_checked = \"2026-05-02\"\n\
             rates = {{ {} }}\n",
            rates.join(", ")
        );
        let powder = format!(
            "[[application.product]]\nproduct = \"powder.toml\"\nlabel_checked = \"2026-05-02\"\n\
             rate = \"{} oz wt/1000 sq ft\"\n",
            self.powder
        );
        let products = if self.powder_first { powder + &liquid } else { liquid + &powder };
        let mark = self
            .mark
            .map_or_else(String::new, |mark| format!("smallest_measure = \"{mark} mL\"\n"));
        let plan = if self.equal { "equal" } else { "full" };
        let text = format!(
            "[equipment.knapsack]\nkind = \"backpack\"\ntank = \"{} gal\"\n\
             spray_volume = \"1 gal/1000 sq ft\"\ndead_volume = \"{} gal\"\nplan = \"{plan}\"\n{mark}\
             [[application]]\nname = \"June\"\nequipment = \"knapsack\"\nzones = [{}]\n{products}",
            self.tank,
            self.dead * self.tank,
            names.join(", ")
        );
        let load = |path: &str| match path {
            "liquid.toml" => Ok(LIQUID.to_owned()),
            "powder.toml" => Ok(POWDER.to_owned()),
            _ => Err(std::io::ErrorKind::NotFound.into()),
        };
        Job::read("job.toml", &text, &load).unwrap_or_else(|error| panic!("{error}\n{text}"))
    }
}

fn any_job() -> impl Strategy<Value = Written> {
    let units = prop_oneof![
        Just("fl oz/1000 sq ft"),
        Just("fl oz/A"),
        Just("mL/100 m2"),
        Just("L/ha"),
        Just("pt/A")
    ];
    let mark = prop_oneof![Just(None), (0.5..15.0_f64).prop_map(Some)];
    let order = Just(vec![0_usize, 1, 2]).prop_shuffle();
    let rates = prop_oneof![
        prop::array::uniform3(0.2..1.99_f64),
        (0.2..1.99_f64).prop_map(|one| [one; 3]),
    ];
    (rates, 0.1..0.99_f64, 1.0..30.0_f64, mark, 0.0..0.5_f64, any::<(bool, bool)>(), order, units)
        .prop_map(|(liquid, powder, tank, mark, dead, (equal, powder_first), order, unit)| {
            Written { liquid, powder, tank, mark, dead, equal, order, powder_first, unit }
        })
}

fn value(amount: Amount) -> f64 {
    match amount {
        Amount::Volume(volume) => volume.millilitres(),
        Amount::Mass(mass) => mass.grams(),
    }
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

/// What `look` sees of the plan; `None` where the cup is too coarse for a strip or
/// for what stays in hose and sump, which is refused.
fn planned<T>(map: &PropertyMap, job: &Job, look: impl Fn(&ApplicationPlan<'_>) -> T) -> Option<T> {
    let planned = plan(map, job, &PlanOptions::default()).unwrap();
    if let Some(refusal) = planned.refusals.first() {
        let is_of_the_cup = ["below the smallest mark", "stronger in one load than in another"]
            .iter()
            .any(|it| refusal.reasons[0].contains(it));
        assert!(is_of_the_cup, "{refusal:?}");
        return None;
    }
    Some(look(&planned.plans[0].applications[0]))
}

/// Liquid and powder in all, and the spray.
fn totals(plan: &ApplicationPlan<'_>) -> [f64; 3] {
    let of = |id: &str| {
        let place = plan.products.iter().position(|product| product.id == id).unwrap();
        value(plan.totals[place])
    };
    [of("liquid"), of("powder"), value(plan.spray_volume.unwrap())]
}

fn alike(a: [f64; 3], b: [f64; 3]) -> bool {
    a.iter().zip(b).all(|(a, b)| close(*a, b))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 128, ..ProptestConfig::default() })]

    /// However zones are ordered on the map and in the job, products in the mix and whatever units
    /// rates are written in, the job takes the same.
    #[test]
    fn no_order_and_no_unit_changes_a_total(
        one in any_job(), other in any_job(), widths in prop::array::uniform3(5.0..200.0_f64),
    ) {
        let one = Written { mark: None, ..one };
        let other = Written { liquid: one.liquid, powder: one.powder, mark: None, ..other };
        let of = |job: &Written| planned(&map(widths, 80.0, &job.order), &job.job(), totals).unwrap();
        let (one, other) = (of(&one), of(&other));
        prop_assert!(alike(one, other), "{one:?} ≠ {other:?}");
    }

    /// Twice the rate, twice the product; twice the lawn, twice of all.
    #[test]
    fn amounts_are_linear_in_rate_and_in_area(
        job in any_job(), widths in prop::array::uniform3(5.0..200.0_f64), times in 0.3..1.0_f64, deeper in 0.5..4.0_f64,
    ) {
        let job = Written { mark: None, ..job };
        let of = |job: &Written, deep: f64| {
            planned(&map(widths, deep, &job.order), &job.job(), totals).unwrap()
        };
        let [liquid, powder, spray] = of(&job, 80.0);
        let less = Written { liquid: job.liquid.map(|rate| rate * times), powder: job.powder * times, ..job.clone() };
        prop_assert!(alike(of(&less, 80.0), [liquid * times, powder * times, spray]));
        let deep = [liquid * deeper, powder * deeper, spray * deeper];
        prop_assert!(alike(of(&job, 80.0 * deeper), deep));
    }

    /// Loads add up to the totals and cover what is treated, and no load, measured with whatever cup,
    /// puts down more than the label allows on its ground.
    #[test]
    fn loads_add_up_and_no_label_is_exceeded(
        job in any_job(), widths in prop::array::uniform3(5.0..200.0_f64),
    ) {
        let most = |id: &str| {
            let text = if id == "liquid" { "2 fl oz/1000 sq ft" } else { "1 oz wt/1000 sq ft" };
            let rate = text.parse::<WrittenRate>().unwrap().rate().unwrap();
            let spray = "1 gal/1000 sq ft".parse::<WrittenRate>().unwrap().rate().unwrap();
            let ground = AmountUnit::Gallon.of(1.0).unwrap().over(spray.on(turfplat::units::Area::from_square_metres(1.0).unwrap())).unwrap();
            // The most in a gallon of spray.
            value(rate.on(turfplat::units::Area::from_square_metres(ground).unwrap()))
        };
        planned(&map(widths, 80.0, &job.order), &job.job(), |plan| {
            let loads = || plan.batches.iter().flat_map(|batch| &batch.loads);
            for (place, product) in plan.products.iter().enumerate() {
                let poured: f64 = loads().map(|load| value(load.products[place].exact)).sum();
                assert!(close(poured, value(plan.totals[place])), "{}", product.id);
                for load in loads() {
                    for (amounts, spray) in [
                        (&load.products[..], load.spray_volume),
                        (load.mixed_products(), load.mixed_spray()),
                    ] {
                        let gallons = spray.unwrap().in_unit(AmountUnit::Gallon).unwrap();
                        let measured = value(amounts[place].measured).max(value(amounts[place].exact));
                        let allowed = most(&product.id) * gallons;
                        assert!(measured <= allowed * (1.0 + 1e-9), "{measured} of {}", product.id);
                        assert!(gallons <= job.tank * (1.0 + 1e-9));
                    }
                }
            }
            for zone in &plan.zones {
                let covers = loads().flat_map(|load| &load.covers).filter(|cover| cover.zone == zone.zone);
                let covered: f64 = covers.map(|cover| cover.area.square_metres()).sum();
                assert!(close(covered, zone.treated.square_metres()), "{}: {covered}", zone.zone);
            }
        });
    }

    /// What is bought holds what is measured out of every product, and the zones' costs with those of
    /// hose and rest are the bill.
    #[test]
    fn enough_is_bought_for_every_load(
        job in any_job(), widths in prop::array::uniform3(5.0..200.0_f64),
    ) {
        let map = map(widths, 80.0, &job.order);
        let mut job = job.job();
        let text = |size: &str, price: &str| turfplat::dose::ContainerText { size: size.into(), price: Some(price.into()) };
        let sold = turfplat::dose::containers("liquid", turfplat::dose::Form::Liquid, [text("8 fl oz", "11.50"), text("1 gal", "120")]).unwrap();
        job.containers.insert("liquid".into(), sold);
        let planned = plan(&map, &job, &PlanOptions::default()).unwrap();
        let Some(plan) = planned.plans.first() else { return Ok(()) };
        let application = &plan.applications[0];
        let place = application.products.iter().position(|product| product.id == "liquid").unwrap();
        let bought = plan.purchases.iter().find(|one| one.product == "liquid").unwrap();
        let loads = application.batches.iter().flat_map(|batch| &batch.loads);
        let (mut exact, mut measured) = (0.0, 0.0);
        for load in loads {
            exact += value(load.mixed_products()[place].exact);
            measured += value(load.mixed_products()[place].measured);
        }
        prop_assert!(value(bought.bought.unwrap()) >= exact.max(measured) * (1.0 - 1e-8));
        prop_assert!(close(value(bought.needed), exact.max(measured)));
        let cost = |amount| bought.cost_of(amount).unwrap();
        let zones = plan.costs().into_iter().filter(|one| one.product == "liquid").map(|one| one.cost);
        let on_turf = zones.reduce(|sum, one| sum.plus(&one).unwrap()).unwrap();
        let rest = bought.needed.plus(bought.left_over.unwrap()).unwrap();
        // Without what is measured beyond the exact amount, which has no zone.
        let beyond = cost(bought.needed.times((value(bought.needed) - exact).max(0.0) / value(bought.needed)));
        let all = on_turf.plus(&cost(bought.dead)).unwrap().plus(&cost(bought.left_over.unwrap())).unwrap().plus(&beyond).unwrap();
        prop_assert!(close(value(rest), value(bought.bought.unwrap())));
        let bill = bought.cost.clone().unwrap();
        prop_assert_eq!(all.to_string(), bill.to_string());
    }
}
