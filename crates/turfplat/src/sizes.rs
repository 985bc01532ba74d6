//! Why sizes are looked at where somebody said in what unit a map counts, be it of a plane or by a
//! system: of coordinates alone nobody can tell feet from meters, and the areas are 10.76 times too
//! large or too small. Many a system is used in half the world, so where its numbers land says
//! nothing either. But a house is no hall and a walk is no runway. This asks and never refuses: the
//! hall may be one. On a map of many properties it asks only where most of them ask: among houses a
//! school is a school.

use geo::Coord;
use turfplat_map::{Counting, Feature, Kind, PropertyMap};
use turfplat_units::Length;

use crate::drawing::scale_at;
use crate::finding::Finding;

/// What the largest building of a property covers where it is a house, in square meters: 650 to
/// 5,400 sq ft. Common practice, no source.
const HOUSE: [f64; 2] = [60.0, 500.0];
/// How wide the narrowest walk or drive of a property is, in meters: 2.6 to 26 ft. Common practice,
/// no source.
const PAVING: [f64; 2] = [0.8, 8.0];
/// So many other buildings of the size of a house are a settlement, and the large one is its hall.
const SETTLEMENT: usize = 3;
/// All turf of a property is seldom less, in square meters: 2,700 sq ft. Common practice, no source.
const LITTLE_TURF: f64 = 250.0;
/// So many properties of a map are asked what they speak for.
const ASKED: usize = 64;

/// Which ways of counting the properties of a map speak against on the whole.
pub(crate) struct UnitDoubts<'m> {
    map: &'m PropertyMap,
    /// By how many more properties speak against one than for it; empty of a map of one property,
    /// which speaks for itself.
    votes: Vec<(Counting<'m>, i32)>,
}

impl<'m> UnitDoubts<'m> {
    pub(crate) fn of(map: &'m PropertyMap) -> UnitDoubts<'m> {
        let mut doubts = UnitDoubts { map, votes: Vec::new() };
        let properties = map.properties();
        if properties.len() < 2 || !map.counts_in_lengths() {
            return doubts;
        }
        for property in properties.iter().step_by(properties.len() / ASKED + 1) {
            // What cannot be read is told when the property is at work.
            let Ok(drawn) = map.read_property(*property) else { continue };
            for evidence in doubts.evidence(&drawn.features) {
                let vote = evidence.is_slip().map_or(0, |is_slip| if is_slip { 1 } else { -1 });
                let is_it =
                    |(counting, _): &&mut (Counting<'m>, i32)| *counting == evidence.counting;
                match doubts.votes.iter_mut().find(is_it) {
                    Some((_, votes)) => *votes += vote,
                    None => doubts.votes.push((evidence.counting, vote)),
                }
            }
        }
        doubts
    }

    /// What speaks for feet that were taken for meters, or the other way round, in the features of
    /// one property.
    pub(crate) fn findings(&self, features: &[Feature]) -> Vec<Finding> {
        if !self.map.counts_in_lengths() {
            return Vec::new();
        }
        let most_agree = |counting: &Counting<'_>| {
            let votes = self.votes.iter().find(|(known, _)| known == counting);
            self.votes.is_empty() || votes.is_some_and(|(_, votes)| *votes > 0)
        };
        let evidence = self.evidence(features).into_iter();
        let slips = evidence.filter(|it| it.is_slip() == Some(true) && most_agree(&it.counting));
        slips.filter_map(|evidence| evidence.finding()).collect()
    }

    /// What the features speak for, those apart that are counted otherwise.
    fn evidence<'f>(&self, features: &'f [Feature]) -> Vec<Evidence<'f, 'm>> {
        let on_plane = self.map.is_on_plane();
        let mut all: Vec<Evidence<'f, 'm>> = Vec::new();
        for feature in features {
            let is_sized = matches!(feature.kind, Kind::Turf | Kind::Building | Kind::Hardscape);
            let Some(counting) = self.map.counting(feature).filter(|_| is_sized) else { continue };
            let Some(sizes) = sizes(feature, on_plane) else { continue };
            let place = all.iter().position(|it| it.counting == counting).unwrap_or_else(|| {
                all.push(Evidence::on(counting));
                all.len() - 1
            });
            all[place].add(feature, sizes);
        }
        all
    }
}

/// What of a property speaks for one unit or the other. Sizes are in meters, as things were read.
struct Evidence<'f, 'm> {
    counting: Counting<'m>,
    buildings: Vec<(&'f Feature, f64)>,
    narrowest_paving: Option<f64>,
    turf: f64,
}

impl<'f, 'm> Evidence<'f, 'm> {
    fn on(counting: Counting<'m>) -> Evidence<'f, 'm> {
        Evidence { counting, buildings: Vec::new(), narrowest_paving: None, turf: 0.0 }
    }

    fn add(&mut self, feature: &'f Feature, (area, width): (f64, f64)) {
        match feature.kind {
            Kind::Building => self.buildings.push((feature, area)),
            Kind::Hardscape => {
                let narrowest = self.narrowest_paving.map_or(width, |known| known.min(width));
                self.narrowest_paving = Some(narrowest);
            }
            _ => self.turf += area,
        }
    }

    fn largest(&self) -> Option<(&'f Feature, f64)> {
        self.buildings.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// True where it counts in meters, false where in feet; `None` of chains and links.
    fn is_in_meters(&self) -> Option<bool> {
        let unit = self.counting.metres_per_unit;
        let is_feet = (unit / Length::METRES_PER_FOOT - 1.0).abs() < 1e-5;
        (unit == 1.0 || is_feet).then_some(!is_feet)
    }

    /// True where the other unit is likely meant, false where it is not; `None` where nothing says.
    fn is_slip(&self) -> Option<bool> {
        let in_meters = self.is_in_meters()?;
        let by = if in_meters { Length::METRES_PER_FOOT } else { 1.0 / Length::METRES_PER_FOOT };
        // True of what is usual only in the other unit, false of what is so only as it is.
        let speaks = |size: f64, [least, most]: [f64; 2], by: f64| {
            let is_usual = |size: f64| (least..=most).contains(&size);
            match (is_usual(size), is_usual(size * by)) {
                (true, false) => Some(false),
                (false, true) => Some(true),
                _ => None,
            }
        };
        let of_house = self.largest().and_then(|(_, size)| speaks(size, HOUSE, by * by));
        let of_paving = self.narrowest_paving.and_then(|size| speaks(size, PAVING, by));
        if of_house == Some(false) || of_paving == Some(false) {
            return Some(false);
        }
        let is_house = |(_, size): &&(&Feature, f64)| (HOUSE[0]..=HOUSE[1]).contains(size);
        let is_alone = self.buildings.iter().filter(is_house).count() < SETTLEMENT;
        // A shed alone is no house that shrank, unless all else shrank with it.
        let has_shrunk = of_paving == Some(true) || self.turf > 0.0 && self.turf < LITTLE_TURF;
        of_house.map(|_| if in_meters { is_alone } else { has_shrunk })
    }

    fn finding(&self) -> Option<Finding> {
        let in_meters = self.is_in_meters()?;
        let (first, size) = self.largest()?;
        let feet = Length::METRES_PER_FOOT;
        let figures = |area_unit: &str, width_unit: &str, unit: f64| {
            let width =
                self.narrowest_paving.map(|width| format!("{:.1} {width_unit}", width / unit));
            (format!("{:.0} {area_unit}", size / unit / unit), width)
        };
        let (now, then) = match in_meters {
            true => (figures("m²", "m", 1.0), figures("sq ft", "ft", 1.0)),
            false => (figures("sq ft", "ft", feet), figures("m²", "m", feet)),
        };
        let of_width = |width: &Option<String>, words: &str| {
            width.as_ref().map_or_else(String::new, |width| format!("{words}{width}"))
        };
        let (code, unit, option) = match in_meters {
            true => ("feet-as-meters", "feet", "--plane ft"),
            false => ("meters-as-feet", "meters", "--plane m"),
        };
        let (by, cure) = match self.counting.system {
            Some(system) => (
                format!("by {system} "),
                format!("name the system in {unit} that they are in with --crs EPSG:n"),
            ),
            None => (String::new(), format!("say {option}")),
        };
        let message = format!(
            "{by}the largest building covers {}{}; were the coordinates {unit}, {}{}: if they are, {cure}",
            now.0,
            of_width(&now.1, " and the narrowest paving is as wide as "),
            then.0,
            of_width(&then.1, " and "),
        );
        Some(Finding::of(first, code, message, 0.0))
    }
}

/// The area of what a feature is drawn as, and its width on the whole, of one drawn as polygons on a
/// plane in meters or in degrees.
fn sizes(feature: &Feature, on_plane: bool) -> Option<(f64, f64)> {
    let mut sum = [0.0; 2];
    for polygon in &feature.outline.polygons {
        let places = &polygon.exterior().0;
        let first = *places.first()?;
        let scale = scale_at(first, on_plane);
        let (mut doubled, mut around) = (0.0, 0.0);
        for side in places.windows(2) {
            let [a, b] = [side[0] - first, side[1] - first]
                .map(|it| Coord { x: it.x * scale.x, y: it.y * scale.y });
            let way: Coord<f64> = b - a;
            doubled += a.x * b.y - a.y * b.x;
            around += way.x.hypot(way.y);
        }
        sum = [sum[0] + doubled.abs() / 2.0, sum[1] + around];
    }
    let [area, around] = sum;
    // As wide as the rectangle of that area and outline, or as a square where there is none.
    let half = around / 2.0;
    let width = (half - (half * half - 4.0 * area).max(0.0).sqrt()) / 2.0;
    (area > 0.0).then(|| (area, width.min(area.sqrt())))
}
