//! Numbers of zones that have no room for words: in a ring on the ground, in a ring that a
//! line leads to, or, where such lines would make a web, bare and small.

use crate::label::Wording;
use crate::place::{Placed, Placer, Says};
use crate::pole::Pole;
use crate::shape::{Bounds, Shape};
use crate::symbol;

impl Placer<'_> {
    /// Side of the box around a ringed number.
    fn side(size: f64, number: usize) -> f64 {
        2.0 * symbol::key_reach(size, &number.to_string()) + 0.7
    }

    /// A ringed number on the ground; whether there was room. A zone that is not on the page
    /// needs none.
    pub(crate) fn number_inside(&mut self, index: usize, number: usize) -> bool {
        let scene = self.scene;
        scene.zones[index].as_ref().is_none_or(|on| self.number_on(on, index, number))
    }

    /// A ringed number of a zone on a piece of its ground; whether there was room.
    pub(crate) fn number_on(&mut self, on: &Shape, index: usize, number: usize) -> bool {
        let small = self.sized(0.75, 0.0).0;
        let side = Self::side(small, number);
        let pole = self.ground(on, &[]).pole(side, side, 1.4).filter(|pole| pole.room >= 1.02);
        let Some(Pole { at, room }) = pole else { return false };
        let size = small * (room / 1.02).min(1.1);
        let side = Self::side(size, number);
        let bounds = Bounds::around(at, side, side);
        let says = Says::Number(number);
        self.put(Placed { bounds, size, says, turned: false, leader: None, zone: Some(index) });
        true
    }

    /// A ringed number at the end of a line; whether there was room.
    pub(crate) fn number_led(&mut self, index: usize, number: usize) -> bool {
        let scene = self.scene;
        scene.zones[index].as_ref().is_some_and(|on| self.number_led_from(on, index, number))
    }

    /// The same from a piece of its ground.
    pub(crate) fn number_led_from(&mut self, on: &Shape, index: usize, number: usize) -> bool {
        let size = self.sized(0.75, 0.0).0;
        let side = Self::side(size, number);
        let Some(anchor) = self.anchor(on) else { return false };
        let found = [true, false]
            .into_iter()
            .find_map(|clear| self.led(anchor, (side, side), Some(index), clear));
        if let Some((bounds, to)) = found {
            let (says, leader) = (Says::Number(number), Some((anchor, to)));
            self.put(Placed { bounds, size, says, turned: false, leader, zone: Some(index) });
        }
        found.is_some()
    }

    /// A number without ring, on its ground or at least across it; none where it would lie on
    /// another label.
    pub(crate) fn number_bare(&mut self, index: usize, number: usize) {
        let Some(on) = &self.scene.zones[index] else { return };
        let (small, large) = self.sized(0.7, 0.8);
        let wording = Wording::new(vec![(number.to_string(), true)]);
        let inside = self.inside(on, &[], std::slice::from_ref(&wording), (small, large));
        let placed = inside.or_else(|| {
            let (width, height) = wording.size(small);
            let bounds = Bounds::around(self.anchor(on)?, width, height);
            let free = self.scene.frame.holds(bounds)
                && !self.taken.iter().any(|taken| taken.overlaps(bounds))
                && !self.leaders.iter().any(|&(from, to)| bounds.is_crossed_by(from, to));
            let says = Says::Words(wording);
            let zone = Some(index);
            free.then_some(Placed { bounds, size: small, says, turned: false, leader: None, zone })
        });
        if let Some(placed) = placed {
            self.put(Placed { zone: Some(index), ..placed });
        }
    }
}
