//! Chance that is the same for ever.
//!
//! A general crate of random numbers keeps its streams but may change how it makes a range of
//! them, and then every file changes. The generator that is wanted here has five lines.

use std::ops::RangeInclusive;

/// A seeded sequence of draws: SplitMix64.
/// Source: Steele, Lea and Flood (2014), "Fast splittable pseudorandom number generators", with the
/// constants of Vigna's splitmix64.c (2015).
pub(crate) struct Chance(u64);

impl Chance {
    /// The sequence of its own that belongs to these keys.
    pub(crate) fn keyed(keys: [u64; 3]) -> Chance {
        let mut state = 0;
        for key in keys {
            state = Chance(state ^ key).draw();
        }
        Chance(state)
    }

    fn draw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// From 0 to below 1, in steps of 2⁻⁵³.
    fn fraction(&mut self) -> f64 {
        (self.draw() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.fraction()
    }

    pub(crate) fn count(&mut self, range: RangeInclusive<usize>) -> usize {
        let choices = range.end() - range.start() + 1;
        // The bias of this, 2⁻⁵³ of a choice, is nobody's concern here.
        range.start() + (self.fraction() * choices as f64) as usize
    }

    pub(crate) fn happens(&mut self, probability: f64) -> bool {
        self.fraction() < probability
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: what splitmix64.c gives from the seed 1234567.
    #[test]
    fn draws_agree_with_the_published_code() {
        let mut chance = Chance(1_234_567);
        let draws: Vec<u64> = (0..3).map(|_| chance.draw()).collect();
        let published =
            [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423];
        assert_eq!(draws, published);
    }

    #[test]
    fn counts_take_every_value_of_their_range_and_no_other() {
        let mut chance = Chance::keyed([1, 2, 3]);
        let mut seen = [0; 6];
        for _ in 0..6_000 {
            seen[chance.count(3..=5)] += 1;
        }
        assert_eq!(seen[..3], [0; 3]);
        assert!(seen[3..].iter().all(|&times| (1_850..2_150).contains(&times)), "{seen:?}");
    }
}
