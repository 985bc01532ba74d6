//! Why courses are adjusted and never just closed: a straight edge from the last corner to the
//! first would put the whole error of the survey into one side. The compass rule spreads it over
//! all, and how large it was says whether a bearing was misread.

use geo_types::Coord;
use turfplat_units::{Length, UnitSystem, decimal};

use super::Reason;
use super::bearing::{azimuth, sine_and_cosine};
use super::fields::{Fields, of, shortened};
use super::figure::{Figure, Use};
use super::given::Given;
use super::ground::{Outline, area};
use super::measure;

/// The coarsest closure that is taken unasked: common practice with tape and compass, no source.
/// Left in one side of a square lot it would be 1.3 % of the area, a quarter of the trade's ±5 %.
const AT_MOST: f64 = 300.0;

/// No deed has a tenth of this many courses; each is held against every other.
const MOST_COURSES: usize = 1_000;

/// Courses by bearing and distance, back to where they began.
pub(super) fn traverse(fields: &Fields<'_>, _: Use) -> Result<Figure, Reason> {
    fields.only(&["courses", "at_most"])?;
    let at_most = fields.get("at_most").map_or(Ok(AT_MOST), ratio)?;
    let given = fields.list("courses")?;
    if !(3..=MOST_COURSES).contains(&given.len()) {
        return Err(format!(
            "traverse has {} courses; give from 3 to {MOST_COURSES}, the last of them back to the start",
            given.len()
        ));
    }
    let courses: Vec<Course> = given
        .iter()
        .zip(1..)
        .map(|(given, number)| Course::of(fields, given, number))
        .collect::<Result<_, _>>()?;
    let around: f64 = courses.iter().map(|course| course.distance).sum();
    let gap = courses.iter().fold(Coord::from((0.0, 0.0)), |sum, course| sum + course.step());
    let closure = Closure { gap: gap.x.hypot(gap.y), around };
    if closure.gap * at_most > around {
        return Err(format!(
            "traverse does not close: its end lies {closure}, which is more than 1:{}; look for a bearing or distance misread or left out, or allow more with at_most = \"1:100\"",
            decimal(at_most, 0)
        ));
    }
    let ring = adjusted(&courses, gap, around);
    if let Some((one, other)) = crossing(&ring) {
        return Err(format!(
            "traverse crosses itself: courses {one} and {other} meet; correct their bearings or order"
        ));
    }
    let area = area(&ring).abs();
    // What runs out and back along one line closes too.
    if area <= 1e-6 * around * around {
        return Err(
            "traverse runs back along itself and encloses nothing; correct its bearings".into()
        );
    }
    let remarks = vec![("traverse-closure", closure.told())];
    Ok(Figure { remarks, ..Figure::measured(Outline::Rings(vec![ring]), area) })
}

struct Course {
    azimuth: f64,
    distance: f64,
}

impl Course {
    fn of(fields: &Fields<'_>, given: &Given, number: usize) -> Result<Course, Reason> {
        let at = |reason: Reason| format!("traverse course {number}: {reason}");
        let Given::List(pair) = given else {
            return Err(at(format!("is {}; give [bearing, distance]", given.shown())));
        };
        let [direction, distance] = pair.as_slice() else {
            return Err(at(format!("has {} parts; give [bearing, distance]", pair.len())));
        };
        let distance = measure::length(distance, fields.unit)
            .and_then(measure::not_zero)
            .map_err(|reason| at(of("distance", &reason)))?;
        Ok(Course { azimuth: azimuth(direction).map_err(at)?, distance })
    }

    /// Departure and latitude: how far it runs east and north.
    fn step(&self) -> Coord<f64> {
        let (sine, cosine) = sine_and_cosine(self.azimuth);
        Coord { x: self.distance * sine, y: self.distance * cosine }
    }
}

/// The corners, from the start on, each course corrected by its share of the gap by length
/// (compass rule: Bowditch 1808; Ghilani and Wolf, Elementary Surveying, on traverse adjustment).
fn adjusted(courses: &[Course], gap: Coord<f64>, around: f64) -> Vec<Coord<f64>> {
    let mut place = Coord::from((0.0, 0.0));
    let corner = |course: &Course| {
        let here = place;
        place = place + course.step() - gap * (course.distance / around);
        here
    };
    courses.iter().map(corner).collect()
}

/// The first two courses that are not neighbours and meet, from 1.
fn crossing(ring: &[Coord<f64>]) -> Option<(usize, usize)> {
    let count = ring.len();
    let side = |number: usize| Some((*ring.get(number)?, *ring.get((number + 1) % count)?));
    let pairs = (0..count).flat_map(|one| (one + 2..count).map(move |other| (one, other)));
    let apart = pairs.filter(|(one, other)| (other + 1) % count != *one);
    let mut meeting = apart.filter(|(one, other)| {
        side(*one).zip(side(*other)).is_some_and(|(one, other)| meet(one, other))
    });
    meeting.next().map(|(one, other)| (one + 1, other + 1))
}

type Side = (Coord<f64>, Coord<f64>);

/// True if two sides have a place in common.
fn meet((a, b): Side, (c, d): Side) -> bool {
    let turn = |a: Coord<f64>, b: Coord<f64>, c: Coord<f64>| {
        let (along, aside) = (b - a, c - a);
        along.x * aside.y - along.y * aside.x
    };
    let parted = |from, to, one, other| {
        let (one, other) = (turn(from, to, one), turn(from, to, other));
        one > 0.0 && other > 0.0 || one < 0.0 && other < 0.0
    };
    let beside = |low: f64, high: f64, from: f64, to: f64| {
        low.max(high) < from.min(to) || from.max(to) < low.min(high)
    };
    !(parted(a, b, c, d)
        || parted(c, d, a, b)
        || beside(a.x, b.x, c.x, d.x)
        || beside(a.y, b.y, c.y, d.y))
}

/// How well a traverse closes. Prints as `0.157 ft from its start after 2,388.31 ft, 1:15,200`.
struct Closure {
    gap: f64,
    around: f64,
}

impl Closure {
    /// Below this part of the length all round nothing is left but rounding.
    const NOTHING: f64 = 1e-9;

    fn told(&self) -> String {
        if self.gap <= Closure::NOTHING * self.around {
            return "traverse closes exactly".to_owned();
        }
        format!(
            "the end of its traverse lies {self}; that was shared out over its courses by the compass rule"
        )
    }
}

impl std::fmt::Display for Closure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let print = |metres| {
            let length = Length::from_metres(metres).unwrap_or_default();
            format!("{} ({})", length.print(UnitSystem::Us), length.print(UnitSystem::Metric))
        };
        let parts = self.around / self.gap;
        // Three digits, rounded down: the closure never looks better than it is.
        let place = 10_f64.powf((parts.log10().floor() - 2.0).max(0.0));
        let parts = decimal((parts / place).floor() * place, 0);
        write!(f, "{} from its start after {}, 1:{parts}", print(self.gap), print(self.around))
    }
}

/// `"1:5000"`, `"1/5,000"` or 5000.
fn ratio(given: &Given) -> Result<f64, Reason> {
    let parts = match given {
        Given::Number(number) => Some(*number),
        Given::Text(text) => {
            let text = shortened(text);
            let parts = text.trim().strip_prefix('1').map(str::trim_start);
            let parts = parts.and_then(|text| text.strip_prefix([':', '/']));
            parts.and_then(|text| text.trim().replace(',', "").parse().ok())
        }
        _ => None,
    };
    parts.filter(|parts: &f64| (20.0..=1e6).contains(parts)).ok_or_else(|| {
        format!("traverse at_most is {}; give the coarsest closure to take, such as \"1:300\", from 1:20 to 1:1,000,000", given.shown())
    })
}
