//! The way over the ground, from the map to where a tank runs dry.

#![allow(clippy::unwrap_used)] // A test may.

use std::fs;
use std::path::Path;

use geo::{BoundingRect, Contains, Coord, Distance, Euclidean, LineString, MultiPolygon, Point};
use proptest::prelude::*;
use serde_json::Value;
use turfplat::passes::{Kind, Why};
use turfplat::units::{Area, Length, UnitSystem};
use turfplat::{
    ApplicationPlan, CoordinateSystem, Job, JobError, MapSource, PlanOptions, Planned, PropertyMap,
    PropertyPlan, ZoneWalk, passes_geojson, plan, plan_json, read_map, spray_map,
};

const FOOT: f64 = 0.3048;

/// Lawns by name and corners, in feet.
fn lawns(all: &[(&str, &[(f64, f64)])]) -> PropertyMap {
    let features = all.iter().map(|(name, corners)| {
        let ring: Vec<[f64; 2]> =
            corners.iter().chain(corners.first()).map(|&(x, y)| [x, y]).collect();
        serde_json::json!({
            "type": "Feature",
            "properties": { "kind": "turf", "name": name, "species": "tall-fescue" },
            "geometry": { "type": "Polygon", "coordinates": [ring] },
        })
    });
    let features: Vec<Value> = features.collect();
    let text = serde_json::json!({ "type": "FeatureCollection", "features": features }).to_string();
    let source = MapSource::geojson("map.geojson", text.into_bytes(), CoordinateSystem::PLANE_FEET);
    read_map(&[source]).unwrap()
}

fn rectangle(west: f64, south: f64, wide: f64, tall: f64) -> [(f64, f64); 4] {
    [(west, south), (west + wide, south), (west + wide, south + tall), (west, south + tall)]
}

fn read(equipment: &str) -> Result<Job, JobError> {
    let text = format!(
        r#"
[site]
default_species = "tall-fescue"
[setbacks]
water = "10 ft"
[equipment.tool]
{equipment}
[[application]]
name = "June"
equipment = "tool"
[[application.product]]
product = "trinexapac-ethyl-1-ec"
label_checked = "2026-05-02"
rate = "0.3 fl oz/1000 sq ft"
"#
    );
    Job::read("job.toml", &text, &|_| Err(std::io::ErrorKind::NotFound.into()))
}

fn sprayer(tank: f64, more: &str) -> Job {
    let text = format!(
        "kind = \"backpack\"\ntank = \"{tank} gal\"\nspray_volume = \"1 gal/1000 sq ft\"\n{more}"
    );
    read(&text).unwrap()
}

fn planned<'j>(map: &PropertyMap, job: &'j Job, edge_first: bool) -> Planned<'j> {
    let planned = plan(map, job, &PlanOptions { edge_first, ..PlanOptions::default() }).unwrap();
    assert!(planned.refusals.is_empty(), "{:?}", planned.refusals);
    planned
}

fn near(what: &str, ours: f64, by_hand: f64, tolerance: f64) {
    assert!((ours - by_hand).abs() <= tolerance, "{what}: {ours} ≠ {by_hand}");
}

/// Worked by hand: 50 ft / 10 ft are 5 passes of 100 ft; between them 4 turns with 10 ft each; 540 ft
/// at 3 mph (4.4 ft/s) are 122.7 s, and 4 turns of 5 s are 20 s. At 1 gal/1000 sq ft a tank of 1.5 gal
/// covers 1,500 sq ft, which is a pass and a half.
#[test]
fn a_rectangle_is_walked_as_on_paper() {
    let map = lawns(&[("Lawn", &rectangle(0.0, 0.0, 100.0, 50.0))]);
    let job = sprayer(1.5, "swath = \"10 ft\"\nspeed = \"3 mph\"\nturning = \"5 s\"");
    let planned = planned(&map, &job, false);
    let plan = &planned.plans[0];
    let application = &plan.applications[0];
    let laid = &application.walks[0];
    let walked = laid.walked();
    assert_eq!((walked.passes, walked.turns), (5, 4));
    near("ft treating", walked.distance.feet(), 500.0, 1e-6);
    near("ft between", walked.idle.feet(), 40.0, 1e-6);
    near("s", walked.time.unwrap().seconds(), 540.0 / 4.4 + 20.0, 1e-6);
    near("twice", walked.overlap_share, 0.0, 1e-6);
    near("missed", walked.uncovered_share, 0.0, 1e-6);
    assert_eq!(application.walked(), Some(walked));
    let (over, mixed) = application.spray_over_passes().unwrap();
    near("gal", over.over(mixed).unwrap(), 1.0, 1e-6);
    // 1,500 sq ft a load: 1.5, 3, 4.5 and, what is left, 5 passes.
    let ends: Vec<(usize, usize, f64)> = (laid.load_ends.iter())
        .map(|mark| (mark.load, mark.end.pass + 1, mark.end.along.feet()))
        .collect();
    let by_hand = [(1, 2, 50.0), (2, 3, 100.0), (3, 5, 50.0), (4, 5, 100.0)];
    assert_eq!(ends.len(), by_hand.len(), "{ends:?}");
    for ((load, pass, along), (load_by_hand, pass_by_hand, along_by_hand)) in
        ends.into_iter().zip(by_hand)
    {
        assert_eq!(load, load_by_hand);
        let walked = (pass - 1) as f64 * 100.0 + along;
        near("ft", walked, (pass_by_hand - 1) as f64 * 100.0 + along_by_hand, 0.01);
    }
    let first = laid.load_ends[0].end.at;
    near(
        "ft from the nearer side",
        (first.x - laid.walk.passes[1].path[0].x).abs() / FOOT,
        50.0,
        0.01,
    );
}

/// Worked by hand: 5 passes of 100 ft and, across them, 10 of 50 ft, all at half the rate; a half of
/// what is in the hopper lies on the ground once the first five are walked.
#[test]
fn a_spreader_goes_twice_at_half_the_rate() {
    let map = lawns(&[("Lawn", &rectangle(0.0, 0.0, 100.0, 50.0))]);
    let text = "kind = \"spreader\"\ntank = \"5 lb\"\nswath = \"10 ft\"\nspeed = \"3 mph\"";
    let granules = Job::read(
        "job.toml",
        &format!(
            "[equipment.tool]\n{text}\n[[application]]\nname = \"May\"\nequipment = \"tool\"\n[[application.product]]\nproduct = \"urea-46-0-0\"\nlabel_checked = \"2026-05-02\"\nrate = \"1 lb/1000 sq ft\"\n"
        ),
        &|_| Err(std::io::ErrorKind::NotFound.into()),
    )
    .unwrap();
    // 5 lb on 5,000 sq ft: one hopper, or two of 2.5 lb.
    for (tank, ends) in [("5 lb", vec![1000.0]), ("2.5 lb", vec![500.0, 1000.0])] {
        let mut job = granules.clone();
        job.applications[0].equipment.tank =
            Some(tank.parse::<turfplat::units::WrittenAmount>().unwrap().amount().unwrap());
        let planned = planned(&map, &job, false);
        let application = &planned.plans[0].applications[0];
        let laid = &application.walks[0];
        assert!(laid.is_crossed());
        let walked = laid.walked();
        assert_eq!(walked.passes, 15);
        near("ft", walked.distance.feet(), 1000.0, 1e-6);
        assert_eq!(application.spray_over_passes(), None);
        let sheet = spray_map(&planned.plans[0], application, None, UnitSystem::Us);
        assert!(sheet.cautions.iter().any(|it| it.contains("half of the rate")));
        assert_eq!(sheet.trail.ends.len(), ends.len());
        let told: Vec<f64> = (laid.load_ends.iter())
            .map(|mark| {
                let before = laid.walk.passes[..mark.end.pass].iter();
                let before: f64 = before.map(|pass| length(&pass.path)).sum();
                (before + mark.end.along.metres()) / FOOT
            })
            .collect();
        assert_eq!(told.len(), ends.len());
        for (ours, by_hand) in told.into_iter().zip(ends) {
            near("ft walked", ours, by_hand, 0.01);
        }
    }
}

/// Worked by hand: 2,000 and 3,000 sq ft, 2.4 gal in the tank: load 1 is for the first lawn and for
/// 400 sq ft of the second, which is 40 ft of its first pass of 60 ft; load 2 is for 2,400 more.
#[test]
fn a_load_that_goes_on_in_the_next_lawn_is_marked_there_alone() {
    let map =
        lawns(&[("A", &rectangle(0.0, 0.0, 50.0, 40.0)), ("B", &rectangle(0.0, 60.0, 60.0, 50.0))]);
    let job = sprayer(2.4, "swath = \"10 ft\"");
    let planned = planned(&map, &job, false);
    let plan = &planned.plans[0];
    let [a, b] = &plan.applications[0].walks[..] else { panic!() };
    assert_eq!((a.load_ends.len(), b.load_ends.len()), (0, 3));
    near("ft", b.load_ends[0].end.along.feet(), 40.0, 0.01);
    assert_eq!(b.load_ends[0].end.pass, 0);
    assert_eq!(a.time, None, "no speed, no time");
    let document = plan_json(std::slice::from_ref(plan), UnitSystem::Us);
    let passes = &document["properties"][0]["applications"][0]["passes"];
    assert_eq!(passes[1]["load_ends"][0]["load"], 1);
    assert_eq!(passes[0]["zone"], "A");
    assert_eq!(passes[0]["time_s"], Value::Null);
    near("m", passes[0]["swath_m"].as_f64().unwrap(), 10.0 * FOOT, 1e-12);
}

#[test]
fn without_a_swath_there_is_no_way_and_with_one_no_amount_changes() {
    let map = lawns(&[("Lawn", &rectangle(0.0, 0.0, 97.0, 53.0))]);
    let (plain, walked) = (sprayer(1.5, ""), sprayer(1.5, "swath = \"7 ft\""));
    let (plain, walked) = (planned(&map, &plain, true), planned(&map, &walked, true));
    assert!(plain.plans[0].applications[0].walks.is_empty());
    let text = |planned: &Planned<'_>| {
        let mut document = plan_json(&planned.plans, UnitSystem::Us);
        let passes = document["properties"][0]["applications"][0]["passes"].take();
        (document, passes)
    };
    let ((plain, none), (walked, some)) = (text(&plain), text(&walked));
    assert_eq!(plain, walked);
    assert_eq!((none.as_array().unwrap().len(), some.as_array().unwrap().len()), (0, 1));
    assert_eq!(some[0]["edge_first"], true, "the option outranks the job");
}

#[test]
fn what_cannot_be_walked_is_a_finding_and_the_rest_is_planned() {
    let map = lawns(&[
        ("Sliver", &rectangle(0.0, 0.0, 80.0, 0.4)),
        ("Lawn", &rectangle(0.0, 20.0, 80.0, 40.0)),
    ]);
    let job = sprayer(4.0, "swath = \"5 ft\"");
    let planned_ = planned(&map, &job, false);
    let plan = &planned_.plans[0];
    let found: Vec<_> = plan.findings.iter().filter(|it| it.code == "off-the-passes").collect();
    let [finding] = &found[..] else { panic!("{:?}", plan.findings) };
    assert!(finding.feature.contains("Sliver"), "{finding:?}");
    assert!(finding.message.contains("100.0 % of the zone lies on no pass of 5 ft"), "{finding:?}");
    near("m²", finding.area_m2, 32.0 * FOOT * FOOT, 1e-6);
    assert_eq!(plan.applications[0].zones.len(), 2, "it is dosed all the same");
    // A swath in a wrong unit.
    let job = sprayer(4.0, "swath = \"0.01 in\"");
    let planned_ = planned(&map, &job, false);
    let plan = &planned_.plans[0];
    let found: Vec<_> = plan.findings.iter().filter(|it| it.code == "no-passes").collect();
    let [finding] = &found[..] else { panic!("{:?}", plan.findings) };
    assert!(finding.message.contains("check the swath's unit"), "{finding:?}");
    let walked: Vec<&str> = plan.applications[0].walks.iter().map(|it| it.zone.as_str()).collect();
    assert_eq!(walked, ["Sliver"], "the lawn would need too many passes, the sliver does not");
}

#[test]
fn keys_that_cannot_be_meant_are_refused_with_the_cure() {
    let tank = "kind = \"backpack\"\ntank = \"4 gal\"\nspray_volume = \"1 gal/1000 sq ft\"\n";
    for (line, place, cure) in [
        ("swath = \"0 ft\"", "equipment.tool.swath", "give the width that one pass covers"),
        ("swath = \"5\"", "equipment.tool.swath", "unit"),
        ("swath = \"five ft\"", "equipment.tool.swath", "number"),
        ("edge_first = true", "equipment.tool.edge_first", "add swath = \"5 ft\""),
        ("turning = \"4 s\"", "equipment.tool.turning", "add swath = \"5 ft\""),
        ("swath = \"5 ft\"\nturning = \"4\"", "equipment.tool.turning", "unit"),
    ] {
        let error = read(&format!("{tank}{line}")).map(|_| ()).unwrap_err();
        assert_eq!(error.key().as_deref(), Some(place), "{error}");
        assert!(error.to_string().contains(cure), "{line}: {error}");
    }
}

/// Lines as other programs read them (RFC 7946): each pass on its zone, in walking order.
#[test]
fn passes_are_lines_on_the_map() {
    let text = fs::read(maps().join("prop_h_single_lot.geojson")).unwrap();
    let source = MapSource::geojson("map.geojson", text, CoordinateSystem::AsTheFileSays);
    let map = read_map(&[source]).unwrap();
    let job = sprayer(2.0, "swath = \"5 ft\"");
    let planned = planned(&map, &job, true);
    let plan = &planned.plans[0];
    let application = &plan.applications[0];
    let collection: Value = serde_json::from_str(&passes_geojson(plan, application)).unwrap();
    let features = collection["features"].as_array().unwrap();
    let is_line = |feature: &&Value| feature["geometry"]["type"] == "LineString";
    let lines: Vec<&Value> = features.iter().filter(is_line).collect();
    let passes = application.walks.iter().flat_map(|laid| &laid.walk.passes);
    assert_eq!(lines.len(), passes.count());
    let loads: usize = application.batches.iter().map(|batch| batch.loads.len()).sum();
    assert_eq!(features.len() - lines.len(), loads, "each load runs out once");
    let centre = plan.centre().unwrap();
    let mut last = 0;
    let (mut told, mut lifted) = (0.0, 0.0);
    for line in lines {
        told += line["properties"]["length_m"].as_f64().unwrap();
        lifted += on_ellipsoid(line["geometry"]["coordinates"].as_array().unwrap());
        let number = line["properties"]["pass"].as_u64().unwrap();
        assert!(number == last + 1 || number == 1);
        last = number;
        for at in line["geometry"]["coordinates"].as_array().unwrap() {
            let [longitude, latitude] = [&at[0], &at[1]].map(|it| it.as_f64().unwrap());
            assert!((longitude - centre.x).abs() < 0.01 && (latitude - centre.y).abs() < 0.01);
        }
    }
    near("m on the ellipsoid", lifted, told, 1e-6 * told);
}

/// Metres along a line of WGS 84, by the radii of curvature of meridian and prime vertical in the
/// middle of each side (Snyder 1987, USGS PP 1395, ch. 4).
fn on_ellipsoid(line: &[Value]) -> f64 {
    const A: f64 = 6_378_137.0;
    const F: f64 = 1.0 / 298.257_223_563;
    let e2 = F * (2.0 - F);
    let sides = line.windows(2).map(|pair| {
        let [from, to] = [&pair[0], &pair[1]]
            .map(|at| [&at[0], &at[1]].map(|it| it.as_f64().unwrap().to_radians()));
        let latitude = (from[1] + to[1]) / 2.0;
        let w = (1.0 - e2 * latitude.sin().powi(2)).sqrt();
        let (prime, meridian) = (A / w, A * (1.0 - e2) / w.powi(3));
        let east = (to[0] - from[0]) * prime * latitude.cos();
        east.hypot((to[1] - from[1]) * meridian)
    });
    sides.sum()
}

#[test]
fn the_check_of_the_laws_sees_what_breaks_them() {
    let map = lawns(&[("Lawn", &rectangle(0.0, 0.0, 100.0, 50.0))]);
    let job = sprayer(1.5, "swath = \"10 ft\"");
    let planned = planned(&map, &job, false);
    let plan = &planned.plans[0];
    let application = &plan.applications[0];
    let laid = &application.walks[0];
    assert_eq!(check(plan, application, laid), Ok(()));
    let broken = |change: &dyn Fn(&mut ZoneWalk)| {
        let mut other = laid.clone();
        change(&mut other);
        check(plan, application, &other).unwrap_err()
    };
    assert!(broken(&|it| it.walk.passes.truncate(4)).contains("under no pass"));
    let off = broken(&|it| it.walk.passes[0].path[0].x += 200.0 * FOOT);
    assert!(off.contains("off the ground"), "{off}");
    assert!(broken(&|it| it.load_ends.reverse()).contains("is not load 1"));
    assert!(broken(&|it| it.load_ends[1].end.pass = 0).contains("ends between"));
    assert!(broken(&|it| it.load_ends.truncate(3)).contains("has no mark"));
}

fn maps() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("maps")
}

fn length(path: &[Coord<f64>]) -> f64 {
    path.windows(2).map(|pair| (pair[1] - pair[0]).x.hypot((pair[1] - pair[0]).y)).sum()
}

/// What holds of every walk; what of the ground is looked at is found without the crate's polygons.
fn check(
    plan: &PropertyPlan<'_>,
    application: &ApplicationPlan<'_>,
    laid: &ZoneWalk,
) -> Result<(), String> {
    let zone = application.zones.iter().find(|zone| zone.index == laid.index).unwrap();
    let outline = plan.outline(application, zone);
    let ground = outline.polygons();
    let of = |why: Why| {
        laid.walk
            .left
            .iter()
            .filter(move |left| left.why == why && !left.second)
            .map(|left| left.area)
    };
    let whole = outline.square_metres();
    let narrow = of(Why::TooNarrow).sum::<Area>().square_metres();
    let remnants = of(Why::Remnant).sum::<Area>().square_metres();
    if remnants > 0.005 * whole {
        return Err(format!("{}: {remnants} of {whole} m² are missed", laid.zone));
    }
    let half = application.walking.unwrap().swath.metres() / 2.0;
    for pass in &laid.walk.passes {
        on_ground(ground, &LineString(pass.path.clone()))
            .map_err(|why| format!("{}: {why}", laid.zone))?;
    }
    let (mut on, mut missed) = (0.0, 0.0);
    for at in grid(ground, 2500) {
        on += 1.0;
        missed +=
            f64::from(!laid.walk.passes.iter().any(|pass| is_under(&pass.path, at, half + 1e-3)));
    }
    // Four standard errors of the grid's share, were it thrown at random.
    let share = missed / f64::max(on, 1.0);
    let told = narrow / whole + 0.005;
    if on > 200.0 && share > told + 4.0 * (told / on).sqrt() {
        return Err(format!(
            "{}: {share} of the ground is under no pass, {told} are told",
            laid.zone
        ));
    }
    ends(application, laid)
}

/// Each load ends where the ground that it and those before it are for is covered.
fn ends(application: &ApplicationPlan<'_>, laid: &ZoneWalk) -> Result<(), String> {
    let batch = application.batches.iter().find(|batch| batch.number == laid.batch).unwrap();
    let strength = if laid.is_crossed() { 0.5 } else { 1.0 };
    let covered = |passes: usize| -> f64 {
        laid.walk.passes[..passes].iter().map(|pass| pass.covers.square_metres() * strength).sum()
    };
    let mut target = 0.0;
    let mut marks = laid.load_ends.iter();
    for load in &batch.loads {
        let Some(cover) = load.covers.iter().find(|cover| cover.zone == laid.zone) else {
            continue;
        };
        target += cover.area.square_metres();
        if load.covers.last() != Some(cover) || laid.walk.passes.is_empty() {
            continue;
        }
        let mark = marks.next().ok_or(format!("load {} has no mark", load.number))?;
        let (before, with) = (covered(mark.end.pass), covered(mark.end.pass + 1));
        let slack = 1e-6 * (1.0 + target);
        let over = mark.end.over.square_metres();
        if (mark.batch, mark.load) != (batch.number, load.number) {
            return Err(format!("{:?} is not load {}", mark, load.number));
        }
        // Of a load beyond what passes cover, all that is covered lies before its end.
        let late = over > 0.0 && mark.end.pass + 1 == laid.walk.passes.len();
        if !(before <= target + slack && (target <= with + slack || late)) {
            return Err(format!(
                "load {} ends between {before} and {with}, not {target}",
                load.number
            ));
        }
    }
    marks.next().map_or(Ok(()), |mark| Err(format!("{mark:?} is of no load")))
}

/// No part of the line farther than a millimetre off the ground.
fn on_ground(ground: &MultiPolygon<f64>, line: &LineString<f64>) -> Result<(), String> {
    for side in line.lines() {
        let long = (side.end - side.start).x.hypot((side.end - side.start).y);
        let steps = (long / 0.2).ceil().max(1.0) as usize;
        for step in 0..=steps {
            let at = side.start + (side.end - side.start) * (step as f64 / steps as f64);
            let at = Point(at);
            if !ground.contains(&at) {
                let off = Euclidean.distance(&at, ground);
                if off > 1e-3 {
                    return Err(format!("{at:?} is {off} m off the ground"));
                }
            }
        }
    }
    Ok(())
}

/// About so many places on the ground.
fn grid(ground: &MultiPolygon<f64>, count: usize) -> Vec<Coord<f64>> {
    let Some(bounds) = ground.bounding_rect() else { return Vec::new() };
    let step = (bounds.width() * bounds.height() / count as f64).sqrt();
    let across = |from: f64, size: f64| {
        (0..(size / step).ceil() as usize).map(move |index| from + (index as f64 + 0.37) * step)
    };
    let all = across(bounds.min().x, bounds.width())
        .flat_map(|x| across(bounds.min().y, bounds.height()).map(move |y| Coord { x, y }));
    all.filter(|&at| ground.contains(&Point(at))).collect()
}

/// Under the swath of a path: beside one of its sides, or at a corner between two.
fn is_under(path: &[Coord<f64>], at: Coord<f64>, half: f64) -> bool {
    let beside = path.windows(2).any(|pair| {
        let (side, to) = (pair[1] - pair[0], at - pair[0]);
        let long = side.x.hypot(side.y);
        let along = (side.x * to.x + side.y * to.y) / long.max(1e-12);
        let off = (side.x * to.y - side.y * to.x).abs() / long.max(1e-12);
        along >= -1e-3 && along <= long + 1e-3 && off <= half
    });
    let inner = path.get(1..path.len().saturating_sub(1)).unwrap_or_default();
    beside || inner.iter().any(|corner| (at - *corner).x.hypot((at - *corner).y) <= half)
}

/// Every zone of the maps in `tests/maps`, with and without a pass along the edges.
#[test]
fn laws_hold_on_the_shared_maps() {
    let mut walked = 0;
    for (file, swath) in [
        ("prop_a_neukolln.geojson", "2 m"),
        ("prop_c2_fox_crossing_lots.geojson", "6 ft"),
        ("prop_h_single_lot.geojson", "5 ft"),
    ] {
        let bytes = fs::read(maps().join(file)).unwrap();
        let source = MapSource::geojson(file, bytes, CoordinateSystem::AsTheFileSays);
        let map = read_map(&[source]).unwrap();
        let job = sprayer(4.0, &format!("swath = \"{swath}\"\nspeed = \"3 mph\""));
        for edge_first in [false, true] {
            let options = PlanOptions { edge_first, ..PlanOptions::default() };
            for plan in &plan(&map, &job, &options).unwrap().plans {
                let application = &plan.applications[0];
                assert!(plan.findings.iter().all(|it| it.code != "no-passes"), "{file}");
                for laid in &application.walks {
                    walked += 1;
                    check(plan, application, laid).unwrap_or_else(|why| panic!("{file}: {why}"));
                }
            }
        }
    }
    assert!(walked >= 60, "only {walked} zones were walked");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(48) })]

    /// All is covered or told, nobody leaves the lawn, and loads end where their ground does.
    #[test]
    fn laws_hold_on_any_lawns(
        wide in 8.0..150.0_f64, tall in 8.0..90.0_f64, lean in -30.0..30.0_f64, second in 15.0..120.0_f64,
        swath in 2.0..12.0_f64, tank in 1.0..6.0_f64, edge_first: bool, spreads: bool,
    ) {
        let corners = [(0.0, 0.0), (wide, 0.0), (wide + lean, tall), (lean, tall)];
        let notched = [
            (0.0, -200.0), (second, -200.0), (second, -170.0), (second * 0.6, -150.0), (second, -130.0), (0.0, -120.0),
        ];
        let map = lawns(&[("A", &corners), ("B", &notched)]);
        let job = if spreads {
            Job::read(
                "job.toml",
                &format!("[equipment.tool]\nkind = \"spreader\"\ntank = \"{tank} lb\"\nswath = \"{swath} ft\"\n[[application]]\nname = \"May\"\nequipment = \"tool\"\n[[application.product]]\nproduct = \"urea-46-0-0\"\nlabel_checked = \"2026-05-02\"\nrate = \"1 lb/1000 sq ft\"\n"),
                &|_| Err(std::io::ErrorKind::NotFound.into()),
            ).unwrap()
        } else {
            sprayer(tank, &format!("swath = \"{swath} ft\"\nspeed = \"3 mph\""))
        };
        let planned = planned(&map, &job, edge_first);
        let plan = &planned.plans[0];
        let application = &plan.applications[0];
        prop_assert_eq!(application.walks.len(), 2);
        let marks: usize = application.walks.iter().map(|laid| laid.load_ends.len()).sum();
        let loads: usize = application.batches.iter().map(|batch| batch.loads.len()).sum();
        prop_assert_eq!(marks, loads, "each load runs out once");
        for laid in &application.walks {
            prop_assert_eq!(check(plan, application, laid), Ok(()));
            let first = laid.walk.passes.first().map(|pass| pass.kind);
            // Along the edges of what is narrower than the swath nobody can walk inside of it.
            let across = tall.min(wide * tall / lean.hypot(tall));
            let is_narrow = laid.zone == "A" && across <= swath;
            prop_assert!(!edge_first || is_narrow || laid.walk.passes.len() == 1 || first == Some(Kind::Edge) || laid.is_crossed());
        }
        let sums = application.walked().unwrap();
        let alone: Vec<Length> = application.walks.iter().map(|laid| laid.walked().distance).collect();
        prop_assert!((sums.distance.metres() - alone.iter().map(|it| it.metres()).sum::<f64>()).abs() < 1e-6);
    }
}
