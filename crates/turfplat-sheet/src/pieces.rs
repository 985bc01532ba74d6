//! Why a zone of several pieces bears its name on each: whoever stands on the far side of a drive would
//! take that piece for another zone, or for none.

use crate::label;
use crate::layout::{Asked, Numbers};
use crate::map::SprayMap;
use crate::place::{Placed, Placer, Says, by_size};
use crate::shape::Shape;

/// A piece smaller than this, in square points, or narrower than this, in points, is not worth a label.
const SMALLEST: f64 = 110.0;
const NARROWEST: f64 = 2.8;

/// More repeats than this on lines are a web.
const MOST_LED: usize = 8;

impl Placer<'_> {
    /// Says once more, on each further piece of a zone that has a label, whose it is: by its number
    /// where that is its label, else by its name in small type.
    pub(crate) fn pieces(&mut self, map: &SprayMap, asked: &Asked<'_>) {
        let mut led = 0;
        for index in by_size(&self.scene.zones) {
            let own = self.placed.iter().find(|label| label.zone == Some(index));
            let (Some(own), Some(on), Some(zone)) =
                (own.cloned(), &self.scene.zones[index], map.zones.get(index))
            else {
                continue;
            };
            let spot = own.leader.map_or(own.bounds.centre(), |(from, _)| from);
            let is_worth = |piece: &Shape| {
                piece.area() >= SMALLEST && piece.breadth() >= NARROWEST && !piece.contains(spot)
            };
            let is_elsewhere = asked.elsewhere.get(index).is_some_and(|there| *there);
            for piece in on.pieces().iter().filter(|piece| is_worth(piece)) {
                let may_lead = asked.numbers == Numbers::Led && !is_elsewhere && led < MOST_LED;
                led += usize::from(self.repeat(index, piece, (&own, &zone.name), may_lead));
            }
        }
    }

    /// Whether it stands at the end of a line.
    fn repeat(
        &mut self,
        index: usize,
        piece: &Shape,
        (own, name): (&Placed, &str),
        may_lead: bool,
    ) -> bool {
        let number = index + 1;
        let is_number = match &own.says {
            Says::Number(_) => true,
            Says::Words(words) => words.lines.len() == 1 && words.lines[0].0 == number.to_string(),
        };
        if is_number {
            let done = self.number_on(piece, index, number);
            return !done && may_lead && self.number_led_from(piece, index, number);
        }
        let off: Vec<&Shape> = self.scene.features.iter().flatten().collect();
        let sizes = self.sized(1.0, 0.9);
        let wordings = label::repeat_wordings(name);
        if let Some(placed) = self.inside(piece, &off, &wordings, sizes) {
            self.put(Placed { zone: Some(index), ..placed });
            return false;
        }
        let Some(from) = self.anchor(piece).filter(|_| may_lead) else { return false };
        for wording in wordings {
            if let Some((bounds, to)) = self.led(from, wording.size(sizes.0), Some(index), true) {
                self.put(Placed {
                    bounds,
                    size: sizes.0,
                    says: Says::Words(wording),
                    turned: false,
                    leader: Some((from, to)),
                    zone: Some(index),
                });
                return true;
            }
        }
        false
    }
}
