//! The way over the ground for other programs: a part of the plan's document, and lines for maps.
//!
//! Of each application `passes`, one for each zone: `zone`, `batch`, `swath_m`, `edge_first`, `directions`,
//! `passes`, `distance_m`, `idle_m`, `turns`, `time_s`, `overlap_share`, `uncovered_share`, `left`
//! (`area_m2`, `why`, `direction`, `at`) and `load_ends` (`batch`, `load`, `pass` from 1 in the zone,
//! `along_m`, `at`, `over_m2`).

use geo::Coord;
use serde_json::{Value, json};
use turfplat_measure::Plane;
use turfplat_passes::{Kind, Left, Why};
use turfplat_units::{Area, Length, Time};

use crate::plan::{ApplicationPlan, PropertyPlan};
use crate::walking::{LoadMark, ZoneWalk};

/// As an application of the plan has it; places as in the map, in degrees or metres of its plane.
pub(crate) fn passes(plan: &ApplicationPlan<'_>, plane: &Plane) -> Vec<Value> {
    let one = |laid: &ZoneWalk| {
        let walked = laid.walked();
        let left = laid.walk.left.iter().map(|left: &Left| {
            json!({
                "area_m2": left.area.square_metres(),
                "why": match left.why { Why::TooNarrow => "too narrow", Why::Remnant => "remnant" },
                "direction": if left.second { 2 } else { 1 },
                "at": place(plane, left.at),
            })
        });
        let ends = laid.load_ends.iter().map(|mark: &LoadMark| {
            json!({
                "batch": mark.batch,
                "load": mark.load,
                "pass": mark.end.pass + 1,
                "along_m": mark.end.along.metres(),
                "at": place(plane, mark.end.at),
                "over_m2": mark.end.over.square_metres(),
            })
        });
        json!({
            "zone": laid.zone,
            "batch": laid.batch,
            "swath_m": plan.walking.map(|it| it.swath.metres()),
            "edge_first": plan.walking.is_some_and(|it| it.edge_first),
            "directions": if laid.is_crossed() { 2 } else { 1 },
            "passes": walked.passes,
            "distance_m": walked.distance.metres(),
            "idle_m": walked.idle.metres(),
            "turns": walked.turns,
            "time_s": walked.time.map(Time::seconds),
            "overlap_share": walked.overlap_share,
            "uncovered_share": walked.uncovered_share,
            "left": left.collect::<Vec<_>>(),
            "load_ends": ends.collect::<Vec<_>>(),
        })
    };
    plan.walks.iter().map(one).collect()
}

/// The passes of an application in walking order as lines, and where its loads run out as points: the
/// text of a GeoJSON FeatureCollection (RFC 7946), in WGS 84; of a map on a plane in its metres.
pub fn passes_geojson(plan: &PropertyPlan<'_>, application: &ApplicationPlan<'_>) -> String {
    let plane = plan.plane();
    let feature = |layer: &str, laid: &ZoneWalk, geometry: Value, own: Value| {
        let mut properties = json!({
            "layer": layer,
            "property": plan.property,
            "application": application.name,
            "zone": laid.zone,
            "batch": laid.batch,
        });
        if let (Value::Object(all), Value::Object(own)) = (&mut properties, own) {
            all.extend(own);
        }
        json!({ "type": "Feature", "properties": properties, "geometry": geometry }).to_string()
    };
    let mut features = Vec::new();
    for laid in &application.walks {
        for (number, pass) in laid.walk.passes.iter().enumerate() {
            let line: Vec<Value> = pass.path.iter().map(|&at| place(plane, at)).collect();
            let along = match pass.kind {
                Kind::Edge => "edge",
                Kind::Middle => "middle",
                Kind::Across => "across",
                Kind::Second => "second direction",
            };
            let own = json!({
                "pass": number + 1,
                "along": along,
                "length_m": path_length(&pass.path).metres(),
                "covers_m2": Area::square_metres(pass.covers),
            });
            let geometry = json!({ "type": "LineString", "coordinates": line });
            features.push(feature("passes", laid, geometry, own));
        }
        for mark in &laid.load_ends {
            let own = json!({
                "load": mark.load,
                "pass": mark.end.pass + 1,
                "along_m": mark.end.along.metres(),
            });
            let geometry = json!({ "type": "Point", "coordinates": place(plane, mark.end.at) });
            features.push(feature("load ends", laid, geometry, own));
        }
    }
    format!("{{\"type\":\"FeatureCollection\",\"features\":[\n{}\n]}}\n", features.join(",\n"))
}

fn path_length(path: &[Coord<f64>]) -> Length {
    let steps = path.windows(2).map(|pair| (pair[1] - pair[0]).x.hypot((pair[1] - pair[0]).y));
    Length::from_metres(steps.sum()).unwrap_or_default()
}

/// Rounded to 1e-11 degrees (a micrometre), as other shapes are written.
fn place(plane: &Plane, at: Coord<f64>) -> Value {
    const FINEST: f64 = 1e11;
    let at = plane.lift(at);
    json!([(at.x * FINEST).round() / FINEST, (at.y * FINEST).round() / FINEST])
}
