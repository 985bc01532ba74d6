//! Which setback sets something belongs to.

/// Some of up to 64 setback sets, numbered from 0: one for each way to keep a distance, such as
/// one for each product. What belongs to several of them is swept once.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Sets(u64);

impl Sets {
    /// So many sets there can be.
    pub const MOST: usize = 64;

    /// Every set: what takes ground whatever is applied, such as a house.
    pub const ALL: Sets = Sets(u64::MAX);

    /// No set.
    pub const NONE: Sets = Sets(0);

    /// The set of this number alone; none from [`Sets::MOST`] on.
    pub const fn only(set: usize) -> Sets {
        Sets(if set < Sets::MOST { 1 << set } else { 0 })
    }

    /// The sets from 0 up to and without `count`.
    pub const fn first(count: usize) -> Sets {
        Sets(if count < Sets::MOST { (1 << count) - 1 } else { u64::MAX })
    }

    /// These and the set of this number.
    #[must_use]
    pub const fn with(self, set: usize) -> Sets {
        self.union(Sets::only(set))
    }

    /// What is in either.
    #[must_use]
    pub const fn union(self, other: Sets) -> Sets {
        Sets(self.0 | other.0)
    }

    /// What is in both.
    #[must_use]
    pub const fn common(self, other: Sets) -> Sets {
        Sets(self.0 & other.0)
    }

    /// True if the set of this number is among them.
    pub const fn contains(self, set: usize) -> bool {
        self.common(Sets::only(set)).0 != 0
    }

    /// True of no set.
    pub const fn is_none(self) -> bool {
        self.0 == 0
    }

    /// What is in one and not in the other.
    #[must_use]
    pub(crate) const fn differing(self, other: Sets) -> Sets {
        Sets(self.0 ^ other.0)
    }

    /// What is in this one and not in the other.
    #[must_use]
    pub(crate) const fn without(self, other: Sets) -> Sets {
        Sets(self.0 & !other.0)
    }

    /// Parts these sets into those that are in the same of `some`, in the order of their first.
    pub(crate) fn part(self, some: impl Iterator<Item = Sets>, parts: &mut Vec<Sets>) {
        parts.clear();
        parts.extend((!self.is_none()).then_some(self));
        for sets in some {
            for place in 0..parts.len() {
                let whole = parts[place];
                let (inside, outside) = (whole.common(sets), whole.without(sets));
                if !inside.is_none() && !outside.is_none() {
                    parts[place] = inside;
                    parts.push(outside);
                }
            }
        }
        parts.sort_by_key(|part| part.0.trailing_zeros());
    }

    /// The numbers of the sets, in order.
    pub(crate) fn each(self) -> impl Iterator<Item = usize> {
        let mut left = self.0;
        std::iter::from_fn(move || {
            let set = (left != 0).then(|| left.trailing_zeros() as usize);
            left &= left.wrapping_sub(1);
            set
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets_are_what_was_put_in() {
        let some = Sets::only(0).with(3).with(63).with(64);
        assert_eq!(some.each().collect::<Vec<_>>(), [0, 3, 63]);
        assert!(some.contains(63) && !some.contains(64) && !some.contains(1));
        assert_eq!(Sets::first(3).each().collect::<Vec<_>>(), [0, 1, 2]);
        assert_eq!((Sets::first(64), Sets::first(0)), (Sets::ALL, Sets::NONE));
        assert_eq!(some.differing(Sets::only(3)), Sets::only(0).with(63));
        assert_eq!(Sets::only(2).with(3).without(some), Sets::only(2));
    }

    #[test]
    fn parts_hold_what_is_nowhere_told_apart() {
        let of = |sets: &[usize]| sets.iter().copied().fold(Sets::NONE, Sets::with);
        let mut parts = Vec::new();
        Sets::first(6)
            .part([of(&[0, 1, 2, 3, 4, 5]), of(&[1, 3]), of(&[3, 4])].into_iter(), &mut parts);
        assert_eq!(parts, [of(&[0, 2, 5]), of(&[1]), of(&[3]), of(&[4])]);
        Sets::NONE.part([of(&[1])].into_iter(), &mut parts);
        assert!(parts.is_empty());
    }
}
