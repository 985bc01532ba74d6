//! What one feature of an XML map is drawn as, put together part by part.

use geo_types::{Coord, Geometry, GeometryCollection, LineString, Point, Polygon};

use crate::formats::told::Drawing;

/// The parts of one feature's drawing.
#[derive(Default)]
pub(crate) struct Shapes {
    parts: Vec<Geometry<f64>>,
    corners: usize,
    /// True where one of its lines ends where it starts.
    pub(crate) has_closed_line: bool,
    /// Why it cannot be read, and the cure; the first that was found.
    slip: Option<String>,
}

/// No feature has more corners; a county's coast has a million.
const MOST_CORNERS: usize = 4_000_000;

impl Shapes {
    /// Counts a corner; false of one too many, for which the drawing is refused.
    pub(crate) fn has_room(&mut self) -> bool {
        self.corners += 1;
        if self.corners <= MOST_CORNERS {
            return true;
        }
        self.refuse(format!("it has more than {MOST_CORNERS} corners; draw it in parts"));
        false
    }

    /// Notes why the drawing cannot be read.
    pub(crate) fn refuse(&mut self, reason: String) {
        self.slip.get_or_insert(reason);
        self.parts.clear();
    }

    pub(crate) fn point(&mut self, place: Coord<f64>) {
        self.add(Point::from(place).into());
    }

    /// A line; of no places, nothing.
    pub(crate) fn line(&mut self, places: Vec<Coord<f64>>) {
        if !places.is_empty() {
            self.add(LineString(places).into());
        }
    }

    /// A polygon; of an empty shell, nothing.
    pub(crate) fn polygon(&mut self, shell: Vec<Coord<f64>>, holes: Vec<Vec<Coord<f64>>>) {
        if !shell.is_empty() {
            let holes = holes.into_iter().filter(|hole| !hole.is_empty()).map(LineString);
            self.add(Polygon::new(LineString(shell), holes.collect()).into());
        }
    }

    fn add(&mut self, part: Geometry<f64>) {
        // What is refused anyway is not held.
        if self.slip.is_none() {
            self.parts.push(part);
        }
    }

    /// Hands what was drawn to `tell`.
    pub(crate) fn drawing<T>(mut self, tell: impl FnOnce(Drawing<'_>) -> T) -> T {
        if let Some(reason) = self.slip {
            return tell(Drawing::Unreadable(reason));
        }
        match (self.parts.pop(), self.parts.is_empty()) {
            (None, _) => tell(Drawing::Nothing),
            (Some(only), true) => tell(Drawing::Shape(&only)),
            (Some(last), false) => {
                self.parts.push(last);
                tell(Drawing::Shape(&Geometry::GeometryCollection(GeometryCollection(self.parts))))
            }
        }
    }
}

/// A number as XML Schema writes one (Part 2, §3.2.5), and finite.
pub(crate) fn number(text: &str) -> Option<f64> {
    // `parse` knows "inf" and "NaN" too.
    let is_plain = text
        .bytes()
        .all(|byte| byte.is_ascii_digit() || matches!(byte, b'+' | b'-' | b'.' | b'e' | b'E'));
    text.parse().ok().filter(|number: &f64| is_plain && number.is_finite())
}
