//! Why a way is looked at before it is drawn: GPX has no areas, so whoever walks round a bed writes
//! down a line, and nothing tells it from a path but that it comes back to where it began.

use geo_types::Coord;
use turfplat_units::{Area, Length};

/// A way as it was walked, on a plane at its first place: near enough to tell a walk round something
/// from a walk past it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Walk {
    /// From its last place to its first, in metres.
    gap: f64,
    walked: f64,
    /// What lies within once it is closed, in square metres.
    area: f64,
}

/// A receiver is seldom off by more (from memory), so a way ends where it started if it ends this near,
/// in m. This and the next two are choices of this tool.
const NEAR: f64 = 10.0;
/// But what is missing is at most this part of the way: three sides of a small bed are a line.
const MISSING: f64 = 0.2;
/// And what lies within is on average so wide, in m: a walk there and back along one path is a line.
const WIDE: f64 = 0.5;
/// Nobody sees a gap that is smaller, in m: one foot.
const SEEN: f64 = 0.3048;
/// Metres in one degree of a meridian: near enough to tell a walk round from a walk past.
const METRES_PER_DEGREE: f64 = 111_200.0;

impl Walk {
    /// `None` of no places.
    pub(super) fn of(places: &[Coord<f64>]) -> Option<Walk> {
        let (first, last) = (places.first()?, places.last()?);
        let eastward = first.y.to_radians().cos();
        // Measured from the first place: areas of small shapes far from zero would be noise.
        let metres = |place: &Coord<f64>| {
            Coord { x: (place.x - first.x) * eastward, y: place.y - first.y } * METRES_PER_DEGREE
        };
        let (mut walked, mut twice_area) = (0.0, 0.0);
        for (from, to) in places.iter().zip(places.iter().skip(1)) {
            let (from, to) = (metres(from), metres(to));
            walked += (to.x - from.x).hypot(to.y - from.y);
            twice_area += from.x * to.y - to.x * from.y;
        }
        let last = metres(last);
        Some(Walk { gap: last.x.hypot(last.y), walked, area: twice_area.abs() / 2.0 })
    }

    /// True of a way round something: its ends meet or lie within 10 m and within a fifth of the way
    /// walked, and there is ground inside.
    pub(super) fn is_outline(&self) -> bool {
        let Walk { gap, walked, area } = *self;
        // Twice the area of a long strip by its length round about is its width.
        walked > 0.0
            && gap <= NEAR
            && gap <= MISSING * walked
            && 2.0 * area >= WIDE * (walked + gap)
    }

    /// True where its ends do not meet.
    pub(super) fn has_gap(&self) -> bool {
        self.gap > SEEN
    }

    /// What to say of a way, or a `part` of one, that was closed over its gap.
    pub(super) fn closed(&self, part: &str) -> String {
        format!(
            "{part}ends {} from where it starts, and was closed to an outline of {}; if it is a path or a creek, say how wide with width_ft in its extensions, and it stays a line",
            in_feet(self.gap),
            in_square_feet(self.area),
        )
    }

    /// Why a way that lies there as a line was not taken for one round something, and what to change.
    pub(super) fn cure(&self, part: &str) -> String {
        let Walk { gap, walked, .. } = *self;
        if gap <= NEAR && gap <= MISSING * walked {
            return format!(
                "or, as a way round something: {part}comes back to its start but leaves no ground inside; walk along the edge"
            );
        }
        // One that is too long by an inch must not read as if it were not.
        let longer = |metres: f64| in_feet(metres + Length::METRES_PER_FOOT / 2.0);
        let why = match gap > NEAR {
            true => {
                format!("ends {} from where it starts, and 32 ft at most are closed", longer(gap))
            }
            false => format!(
                "ends {} from where it starts, more than a fifth of the {} that it goes",
                longer(gap),
                in_feet(walked)
            ),
        };
        format!(
            "or, as a way round something: {part}{why}; walk on to the start, or write its first point once more as its last and leave out what leads there"
        )
    }
}

/// What several segments could be together: each is looked at by itself.
pub(super) fn cure_of_segments(segments: &[Vec<Coord<f64>>]) -> Option<String> {
    let open = |(number, places): (usize, &Vec<Coord<f64>>)| {
        let walk = Walk::of(places).filter(|walk| !walk.is_outline())?;
        Some((number, walk))
    };
    let mut all_open = (1..).zip(segments).filter_map(open);
    let (number, walk) = all_open.next()?;
    let count = segments.len();
    if count == 1 {
        return Some(walk.cure("it "));
    }
    let together = Walk::of(&segments.concat()).is_some_and(|walk| walk.is_outline());
    let all_are_open = all_open.count() + 1 == count;
    Some(match together && all_are_open {
        true => format!(
            "or, as a way round something: its {count} segments come back to the start together; join them to one segment"
        ),
        false => {
            let cure = walk.cure(&format!("its segment {number} of {count} "));
            format!("{cure}; or take that segment out")
        }
    })
}

fn in_feet(metres: f64) -> String {
    let feet = Length::from_metres(metres).unwrap_or_default().feet();
    if feet < 10_000.0 { format!("{feet:.0} ft") } else { format!("{:.0} mi", feet / 5280.0) }
}

fn in_square_feet(square_metres: f64) -> String {
    let feet = Area::from_square_metres(square_metres).unwrap_or_default().square_feet();
    let digits = format!("{feet:.0}");
    let mut grouped = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place) % 3 == 0 {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    format!("{grouped} sq ft")
}
