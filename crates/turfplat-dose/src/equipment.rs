use std::fmt;
use std::str::FromStr;

use turfplat_units::{Amount, AmountUnit, Rate, Speed};

/// What the product is put down with.
#[derive(Clone, Debug, PartialEq)]
pub struct Equipment {
    /// Its name in the job.
    pub name: String,
    /// What it is.
    pub kind: EquipmentKind,
    /// What a tank holds; of a spreader, the mass that its hopper holds.
    pub tank: Option<Amount>,
    /// Spray per area, water and products together; of a spreader none.
    pub spray_volume: Option<Rate>,
    /// The smallest mark of the user's cup, or of the scale where that is all there is.
    pub smallest_measure: Option<Amount>,
    /// The smallest mark of the scale, beside that of a cup.
    pub smallest_weight: Option<Amount>,
    /// The units that these marks are written in, which is what stands on the cup and the scale.
    pub marked_in: Vec<AmountUnit>,
    /// What stays in hose and sump and cannot be sprayed.
    pub dead_volume: Option<Amount>,
    /// How the spray is parted into loads.
    pub load_plan: LoadPlan,
    /// What setback rules may count.
    pub reduces: Vec<Reduction>,
    /// The speed over the ground at which it was calibrated.
    pub speed: Option<Speed>,
    /// How its dial is set, such as `4.5 for 3 lb/1000 sq ft`: told to whoever works with it.
    pub setting: Option<String>,
}

impl Equipment {
    /// The smallest mark by which an amount can be measured: a cup does not weigh, and a scale
    /// measures no volume.
    pub fn mark_for(&self, amount: Amount) -> Option<Amount> {
        let marks = [self.smallest_measure, self.smallest_weight].into_iter().flatten();
        let mut fit = marks.filter(|mark| mark.plus(amount).is_some());
        fit.next()
    }

    /// The unit on the cup or scale by which an amount is measured; `None` where no mark is given
    /// for it.
    pub fn unit_for(&self, amount: Amount) -> Option<AmountUnit> {
        self.marked_in.iter().copied().find(|unit| amount.in_unit(*unit).is_some())
    }

    /// True where a mark is given, and none by which this amount can be measured.
    pub fn lacks_mark_for(&self, amount: Amount) -> bool {
        let has_some = self.smallest_measure.or(self.smallest_weight).is_some();
        has_some && self.mark_for(amount).is_none()
    }

    /// What of a tank or hopper is put down: all but the dead volume.
    pub fn useful_tank(&self) -> Option<Amount> {
        let dead = |tank| self.dead_volume.and_then(|dead| dead.over(tank)).unwrap_or(0.0);
        self.tank.map(|tank| tank.times(1.0 - dead(tank)))
    }
}

/// How the spray is parted into loads.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LoadPlan {
    /// Full loads, and a last one mixed for what is left.
    #[default]
    Full,
    /// The fewest loads, all alike. Where the cup would measure the first, mixed with the dead
    /// volume, to another strength, all are mixed alike and the first covers less.
    Equal,
}

impl LoadPlan {
    /// The words that are read.
    pub const KNOWN: &'static str = "full, equal";

    /// The word as jobs write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Full => "full",
            Self::Equal => "equal",
        }
    }
}

impl FromStr for LoadPlan {
    type Err = ();

    /// The error says nothing more: the caller knows the place and [`LoadPlan::KNOWN`].
    fn from_str(text: &str) -> Result<LoadPlan, ()> {
        [Self::Full, Self::Equal]
            .into_iter()
            .find(|plan| plan.word().eq_ignore_ascii_case(text.trim()))
            .ok_or(())
    }
}

/// What the equipment is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // The trade's words say it.
pub enum EquipmentKind {
    Backpack,
    HandGun,
    Boom,
    Spreader,
}

impl EquipmentKind {
    /// The words that are read.
    pub const KNOWN: &'static str = "backpack, hand-gun, boom, spreader";

    /// The word as jobs write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Backpack => "backpack",
            Self::HandGun => "hand-gun",
            Self::Boom => "boom",
            Self::Spreader => "spreader",
        }
    }
}

impl fmt::Display for EquipmentKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl FromStr for EquipmentKind {
    type Err = ();

    /// The error says nothing more: the caller knows the place and [`EquipmentKind::KNOWN`].
    fn from_str(text: &str) -> Result<EquipmentKind, ()> {
        use EquipmentKind::{Backpack, Boom, HandGun, Spreader};
        [Backpack, HandGun, Boom, Spreader]
            .into_iter()
            .find(|kind| kind.word().eq_ignore_ascii_case(text.trim()))
            .ok_or(())
    }
}

/// A means by which some rules allow a smaller setback.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // The rules' words say it.
pub enum Reduction {
    DropSpreader,
    RotaryWithDeflector,
    Deflector,
    Guard,
    TargetedLiquid,
}

impl Reduction {
    /// The words that are read.
    pub const KNOWN: &'static str =
        "drop spreader, rotary with deflector, deflector, guard, targeted liquid";

    /// The words as rules and jobs write them.
    pub fn words(self) -> &'static str {
        match self {
            Self::DropSpreader => "drop spreader",
            Self::RotaryWithDeflector => "rotary with deflector",
            Self::Deflector => "deflector",
            Self::Guard => "guard",
            Self::TargetedLiquid => "targeted liquid",
        }
    }
}

impl fmt::Display for Reduction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

impl FromStr for Reduction {
    type Err = ();

    /// The error says nothing more: the caller knows the place and [`Reduction::KNOWN`].
    fn from_str(text: &str) -> Result<Reduction, ()> {
        use Reduction::{Deflector, DropSpreader, Guard, RotaryWithDeflector, TargetedLiquid};
        [DropSpreader, RotaryWithDeflector, Deflector, Guard, TargetedLiquid]
            .into_iter()
            .find(|means| means.words().eq_ignore_ascii_case(text.trim()))
            .ok_or(())
    }
}
