//! What is known of a coordinate system beside its formulas: its name, its datum, where it is used
//! and how well PROJ brings it to WGS 84. And, where a file names none, which systems its numbers
//! would make sense in.

use geo_types::Coord;
#[cfg(feature = "proj")]
use serde_json::Value;

use crate::crs::place_in;
use crate::property_map::Corners;

/// A coordinate system, by a code such as `EPSG:2289` or by well-known text.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct System {
    /// What PROJ is asked for.
    pub(crate) definition: String,
    /// For messages: the code, or what the text calls it.
    pub(crate) name: String,
    /// The datum, as PROJ calls it.
    pub(crate) datum: String,
    /// True of longitude and latitude themselves.
    pub(crate) is_in_degrees: bool,
    /// Metres in one unit of its coordinates; `None` of degrees.
    pub(crate) metres_per_unit: Option<f64>,
    /// West, south, east and north of where it is used, in degrees.
    area: Option<[f64; 4]>,
}

/// How PROJ brought coordinates to WGS 84.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Operation {
    /// Such as `NAD83 to WGS 84 (1)`.
    pub(crate) name: String,
    /// How far off it may be, in metres; `None` where nobody knows: a grid is missing, or the datum
    /// is not known.
    pub(crate) accuracy: Option<f64>,
}

/// The datum of plain longitude and latitude.
pub(crate) const WGS_84: &str = "World Geodetic System 1984";

impl System {
    /// Reads what PROJ tells of a system in PROJJSON.
    #[cfg(feature = "proj")]
    pub(crate) fn of(definition: &str, told: &Value) -> System {
        let name =
            told["name"].as_str().filter(|name| !matches!(*name, "" | "unknown" | "unnamed"));
        let name = name.unwrap_or("a system without a name");
        let short = if is_well_known_text(definition) { name } else { definition };
        let datum = datum_of(told).unwrap_or("unknown").trim_end_matches(" ensemble");
        let side = |of: &str| told["bbox"][of].as_f64();
        let area = || {
            let (west, south) = (side("west_longitude")?, side("south_latitude")?);
            Some([west, south, side("east_longitude")?, side("north_latitude")?])
        };
        System {
            definition: definition.to_owned(),
            name: short.to_owned(),
            datum: datum.to_owned(),
            is_in_degrees: told["type"] == "GeographicCRS",
            metres_per_unit: metres_per_unit(told),
            area: area().or_else(|| area_by_name(name)),
        }
    }

    /// Why a system cannot be used for a map: it has no place on the earth, or is none of coordinates
    /// on it.
    #[cfg(feature = "proj")]
    pub(crate) fn is_no_map(told: &Value) -> Option<&'static str> {
        let parts = [&told["components"][0], &told["source_crs"]];
        let whole = parts.into_iter().find(|part| part.is_object());
        match whole.unwrap_or(told)["type"].as_str() {
            Some(
                "ProjectedCRS" | "GeographicCRS" | "DerivedProjectedCRS" | "DerivedGeographicCRS",
            ) => None,
            Some("EngineeringCRS" | "DerivedEngineeringCRS") => Some(
                "a local system without a place on the earth; say --plane m or --plane ft, or name the system that it is in with --crs EPSG:n",
            ),
            _ => Some(
                "no system of a map's two coordinates; name the one that it is in with --crs EPSG:n",
            ),
        }
    }

    /// True if a place in degrees lies more than a degree beyond where the system is used: there its
    /// numbers were meant otherwise.
    pub(crate) fn is_far_from(&self, place: Coord<f64>) -> bool {
        const MARGIN: f64 = 1.0;
        self.is_in_open_sea(place)
            || self.area.is_some_and(|[west, south, east, north]| {
                !(south - MARGIN..=north + MARGIN).contains(&place.y)
                    || !is_between(place.x, west - MARGIN, east + MARGIN)
            })
    }
}

impl System {
    /// True of numbers of web maps that are small enough for those of any zone: south of Ghana and Ivory
    /// Coast, where there is nothing but sea.
    pub(crate) fn is_in_open_sea(&self, place: Coord<f64>) -> bool {
        let is_of_the_world = self.area.is_none_or(|[west, _, east, _]| east - west >= 359.0);
        let is_in_metres = !self.is_in_degrees;
        is_in_metres
            && is_of_the_world
            && (-9.0..=5.3).contains(&place.x)
            && (-10.0..=4.2).contains(&place.y)
    }
}

/// Where a system is used whose text says its name and no area, as a `.prj` does: zones of the state
/// plane system by their number or name, zones of Universal Transverse Mercator.
#[cfg(feature = "proj")]
fn area_by_name(name: &str) -> Option<[f64; 4]> {
    let plain = name.replace(['_', '/', '('], " ");
    let words: Vec<&str> = plain.split_whitespace().collect();
    let after = |word: &str| {
        let place = words.iter().position(|it| it.eq_ignore_ascii_case(word))?;
        words.get(place + 1).copied()
    };
    if let Some(number) = after("zone").filter(|_| after("UTM").is_some()) {
        let zone: f64 = number.trim_end_matches(['N', 'S', 'n', 's']).parse().ok()?;
        let (south, north) = if number.ends_with(['S', 's']) { (-80.0, 0.0) } else { (0.0, 84.0) };
        let middle = 6.0 * zone - 183.0;
        return (1.0..=60.0).contains(&zone).then_some([middle - 3.0, south, middle + 3.0, north]);
    }
    let is_it = |zone: &Zone<'_>| match after("FIPS") {
        Some(number) => zone.fips == number,
        None => {
            let own = zone.name.split(" (").next().unwrap_or(zone.name);
            name.split_once(" / ").is_some_and(|(datum, rest)| {
                datum.starts_with("NAD83") && rest.split(" (").next() == Some(own)
            })
        }
    };
    zones().find(is_it).map(|zone| zone.area)
}

/// True if a longitude lies between two others, the second of which may be beyond the antimeridian.
fn is_between(x: f64, west: f64, east: f64) -> bool {
    let turn = |x: f64| (x - west).rem_euclid(360.0);
    east - west >= 360.0 || turn(x) <= turn(east)
}

/// The datum of a system, whatever it is made of.
#[cfg(feature = "proj")]
fn datum_of(told: &Value) -> Option<&str> {
    let own = ["datum", "datum_ensemble"].iter().find_map(|key| told[*key]["name"].as_str());
    let of_part = || {
        let parts = [&told["base_crs"], &told["source_crs"], &told["components"][0]];
        parts.into_iter().filter(|part| part.is_object()).find_map(datum_of)
    };
    own.or_else(of_part)
}

/// Metres in one unit of a system's first axis, whatever the system is made of.
#[cfg(feature = "proj")]
fn metres_per_unit(told: &Value) -> Option<f64> {
    let parts = [told, &told["source_crs"], &told["components"][0]];
    let mut units = parts.into_iter().map(|part| &part["coordinate_system"]["axis"][0]["unit"]);
    let unit = units.find(|unit| !unit.is_null())?;
    match unit.as_str() {
        Some(name) => (name == "metre").then_some(1.0),
        None => unit["conversion_factor"].as_f64().filter(|_| unit["type"] == "LinearUnit"),
    }
}

/// True of well-known text, ESRI's or OGC's.
pub(crate) fn is_well_known_text(definition: &str) -> bool {
    let word: String = definition
        .trim_start()
        .chars()
        .take_while(|c| c.is_ascii_alphanumeric() || *c == '_')
        .collect();
    let rest = definition.trim_start()[word.len()..].trim_start();
    rest.starts_with(['[', '(']) && word.len() >= 4
}

/// The first quoted text of well-known text: what it calls itself.
pub(crate) fn quoted_name(text: &str) -> Option<&str> {
    text.split('"').nth(1)
}

/// A zone of the State Plane Coordinate System of 1983.
struct Zone<'t> {
    epsg: &'t str,
    name: &'t str,
    unit: &'t str,
    area: [f64; 4],
    /// Its number in FIPS 70-1;
    #[cfg_attr(not(feature = "proj"), allow(dead_code))]
    fips: &'t str,
}

fn zones() -> impl Iterator<Item = Zone<'static>> {
    const TABLE: &str = include_str!("../../../data/state-plane-zones.csv");
    TABLE.lines().filter(|line| !line.starts_with('#')).skip(1).filter_map(|line| {
        let mut cells = line.split(',');
        let (epsg, name, unit) = (cells.next()?, cells.next()?, cells.next()?);
        let mut side = || cells.next()?.parse::<f64>().ok();
        let area = [side()?, side()?, side()?, side()?];
        Some(Zone { epsg, name, unit, area, fips: cells.next()? })
    })
}

/// What coordinates of which nothing is known look like, and what to say for them on the command line.
pub(crate) fn advice_on((min, max): Corners) -> String {
    let middle = (min + max) / 2.0;
    if min.x >= -180.0 && max.x <= 180.0 && min.y >= -90.0 && max.y <= 90.0 {
        return "they look like degrees of longitude and latitude: --crs EPSG:4326 (WGS 84), or \
                EPSG:4269 (NAD 83); if they are meters or feet from a corner of the lot, --plane m \
                or --plane ft"
            .to_owned();
    }
    let fits: Vec<String> = fitting_zones(middle).map(|(_, told)| told).collect();
    let mut advice = String::from("they look like meters or feet of a projected system");
    if !fits.is_empty() {
        advice.push_str(
            "; these zones of the state plane system would put them inside themselves, one of them \
             near you:",
        );
        for fit in &fits {
            advice.push_str("\n  ");
            advice.push_str(fit);
        }
    }
    // Where many zones would do, feet of one of them are likelier.
    if fits.len() < 4
        && !fits_utm(middle)
        && fits_utm_of_america(Coord { x: middle.y, y: middle.x })
    {
        advice.push_str(&format!(
            "; with easting and northing exchanged, {:.0} east and {:.0} north, they would be meters of a zone \
             of UTM: if so, put easting first or give the columns each other's names",
            middle.y, middle.x
        ));
    }
    if fits_utm(middle) {
        advice.push_str("; as meters of a zone of UTM on NAD 83 they lie at:");
        for zone in 10..=19 {
            let code = format!("EPSG:{}", 26_900 + zone);
            if let Some(place) = place_in(&code, middle) {
                let there = in_words(place);
                advice.push_str(&format!("\n  {code} UTM zone {zone} north: {there}"));
            }
        }
    }
    let on_web_maps = place_in("EPSG:3857", middle).filter(|place| place.y.abs() < 80.0);
    if let (true, Some(place)) =
        ((fits.is_empty() && middle.x < 0.0) || middle.x.abs() > 6_000_000.0, on_web_maps)
    {
        let there = in_words(place);
        advice.push_str(&format!("; by EPSG:3857, the meters of web maps, they lie at {there}"));
    }
    advice.push_str(
        "\nwhoever made the file knows; if its numbers count from a corner of the lot, --plane m or \
         --plane ft",
    );
    advice
}

/// The zones of the state plane system that would put a place inside themselves, each with its unit
/// and in words.
fn fitting_zones(middle: Coord<f64>) -> impl Iterator<Item = (&'static str, String)> {
    zones().filter_map(move |zone| {
        let place = place_in(&format!("EPSG:{}", zone.epsg), middle)?;
        let [west, south, east, north] = zone.area;
        let is_there = (south..=north).contains(&place.y) && is_between(place.x, west, east);
        let name = zone.name.split(" (").next().unwrap_or(zone.name);
        let told = || format!("EPSG:{} {name} ({}): {}", zone.epsg, zone.unit, in_words(place));
        is_there.then(|| (zone.unit, told()))
    })
}

/// Universal Transverse Mercator: 160 to 840 km of easting in every zone, northings in meters.
fn fits_utm(place: Coord<f64>) -> bool {
    (160_000.0..840_000.0).contains(&place.x) && (0.0..9_400_000.0).contains(&place.y)
}

/// As [`fits_utm`], where northings are those of 24° to 72° north.
fn fits_utm_of_america(place: Coord<f64>) -> bool {
    fits_utm(place) && (2_700_000.0..8_000_000.0).contains(&place.y)
}

/// What to say, with its code, of a file that was said to lie on a plane in meters and whose numbers
/// are those of web maps, or of a zone of the state plane system in feet and of none in meters.
pub(crate) fn looks_misread((min, max): Corners) -> Option<(&'static str, String)> {
    /// Nobody measures so far from a corner of the lot, in meters.
    const FROM_A_CORNER: f64 = 100_000.0;
    let middle = (min + max) / 2.0;
    // Meters of the Swiss grid, EPSG:2056, look like feet of many a zone.
    let is_swiss = (2_480_000.0..2_840_000.0).contains(&middle.x)
        && (1_070_000.0..1_300_000.0).contains(&middle.y);
    // No grid of a country or state counts so far east or west but that of web maps.
    const ON_WEB_MAPS: f64 = 6_000_000.0;
    let on_web_maps = place_in("EPSG:3857", middle).filter(|place| place.y.abs() < 80.0);
    if let (true, Some(place)) = (middle.x.abs() > ON_WEB_MAPS, on_web_maps) {
        let message = format!(
            "its numbers, as ({:.0}, {:.0}), are those of web maps, by which they lie at {}; there a meter is longer than one, so areas come out too large: say --crs EPSG:3857 instead",
            middle.x,
            middle.y,
            in_words(place)
        );
        return Some(("web-map-meters", message));
    }
    if middle.x.abs().max(middle.y.abs()) < FROM_A_CORNER || fits_utm(middle) || is_swiss {
        return None;
    }
    let fits: Vec<(&str, String)> = fitting_zones(middle).collect();
    if fits.is_empty() || fits.iter().any(|(unit, _)| *unit == "m") {
        return None;
    }
    let name = |told: &str| told.split(" (").next().unwrap_or(told).to_owned();
    let zones: Vec<String> = fits.iter().map(|(_, told)| name(told)).collect();
    let message = format!(
        "its numbers, as ({:.0}, {:.0}), are those of feet of a state plane zone ({}) and of no such zone in meters; if they are feet, say --plane ft, or name the zone with --crs EPSG:n",
        middle.x,
        middle.y,
        zones.join(", ")
    );
    Some(("feet-as-meters", message))
}

/// A place as `43.07° N 89.40° W`.
pub(crate) fn in_words(place: Coord<f64>) -> String {
    let side = |value: f64, sides: [char; 2]| {
        format!("{:.2}° {}", value.abs(), sides[usize::from(value < 0.0)])
    };
    format!("{} {}", side(place.y, ['N', 'S']), side(place.x, ['E', 'W']))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn longitudes_may_lie_across_the_antimeridian() {
        assert!(is_between(-88.0, -90.0, -86.0) && !is_between(-91.0, -90.0, -86.0));
        assert!(is_between(179.5, 170.0, -170.0) && is_between(-175.0, 170.0, -170.0));
        assert!(!is_between(0.0, 170.0, -170.0) && is_between(12.0, -180.0, 180.0));
    }

    #[test]
    fn well_known_text_is_told_from_codes() {
        for text in ["PROJCS[\"a\"]", " GEOGCS [\"b\"", "PROJCRS(\"c\")", "COMPD_CS[\"d\""] {
            assert!(is_well_known_text(text), "{text}");
        }
        assert!(
            !is_well_known_text("EPSG:2289") && !is_well_known_text("urn:ogc:def:crs:EPSG::4326")
        );
    }

    #[cfg(feature = "proj")]
    #[test]
    fn a_prj_is_known_by_its_name() {
        let wisconsin = Some([-91.43, 42.48, -86.95, 44.33]);
        for name in [
            "NAD_1983_StatePlane_Wisconsin_South_FIPS_4803_Feet",
            "NAD_1983_HARN_StatePlane_Wisconsin_South_FIPS_4803",
            "NAD83(2011) / Wisconsin South (ftUS)",
            "NAD83 / Wisconsin South",
        ] {
            assert_eq!(area_by_name(name), wisconsin, "{name}");
        }
        let zone = Some([-90.0, 0.0, -84.0, 84.0]);
        assert_eq!(area_by_name("NAD_1983_UTM_Zone_16N"), zone);
        assert_eq!(area_by_name("WGS 84 / UTM zone 16N"), zone);
        assert_eq!(area_by_name("WGS_1984_Web_Mercator_Auxiliary_Sphere"), None);
    }

    #[test]
    fn easting_and_northing_the_wrong_way_round_are_seen() {
        let place = |x: f64, y: f64| (Coord { x, y }, Coord { x: x + 1.0, y: y + 1.0 });
        let exchanged = advice_on(place(4_899_718.8, 385_720.2));
        assert!(exchanged.contains("exchanged, 385721 east and 4899719 north"), "{exchanged}");
        for (x, y) in [(385_720.2, 4_899_718.8), (2_379_540.0, 820_882.0), (500_000.0, 200_000.0)] {
            assert!(!advice_on(place(x, y)).contains("exchanged"), "{x} {y}");
        }
    }

    #[test]
    fn every_zone_of_the_table_is_read() {
        assert_eq!(zones().count(), 231);
    }
}
