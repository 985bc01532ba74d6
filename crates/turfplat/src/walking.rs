//! Why passes are laid here and change no amount: loads come from exact areas, and how the ground is
//! walked only says where each of them ends. What passes overlap is told beside the amounts and is not
//! mixed: a label's rate counts ground once. The way lies on the drawn outline, which is at most 5 mm
//! short of what is dosed along setbacks, so a load that is for the last of a zone is for a
//! little more than passes cover there.

use turfplat_dose::{Batch, EquipmentKind};
use turfplat_passes::{Left, LoadEnd, Manner, PassesError, Walk, Why, walk};
use turfplat_units::{Amount, Area, Length, Time, UnitSystem, decimal};

use crate::finding::Finding;
use crate::job::Reader;
use crate::job_error::JobError;
use crate::job_file::EquipmentTable;
use crate::plan::{ApplicationPlan, TreatedZone};
use crate::site::Site;

/// More of a zone than this on no pass is a finding; common practice, no source.
const TO_BE_SEEN: f64 = 0.005;

/// How a piece of equipment is walked with, as the job says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Walking {
    /// The width that one pass covers.
    pub swath: Length,
    /// A pass along all edges first.
    pub edge_first: bool,
    /// How long a turn takes; `None` where the job does not say, and turns count no time.
    pub turning: Option<Time>,
}

/// The way over one zone.
#[derive(Clone, Debug)]
pub struct ZoneWalk {
    /// The zone's place in the property's zones.
    pub index: usize,
    /// Its name.
    pub zone: String,
    /// The batch that treats it, from 1.
    pub batch: usize,
    /// The passes in walking order, in metres on the property's plane.
    pub walk: Walk,
    /// How long it takes at the equipment's speed; `None` where no speed is given.
    pub time: Option<Time>,
    /// Where the loads that end in this zone run out, in walking order.
    pub load_ends: Vec<LoadMark>,
    crossed: bool,
}

/// Where a load runs out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadMark {
    /// The number of its batch.
    pub batch: usize,
    /// Its number in the batch.
    pub load: usize,
    /// In which pass and where; its `load` counts those that treat the zone, from 0.
    pub end: LoadEnd,
}

/// What walking comes to, of a zone or of several together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Walked {
    /// How many passes.
    pub passes: usize,
    /// Walked while treating.
    pub distance: Length,
    /// Walked from the end of a pass to the next; between zones nothing is counted.
    pub idle: Length,
    /// Turns from a pass to the next.
    pub turns: usize,
    /// At the equipment's speed, with turns as far as the job says how long one takes.
    pub time: Option<Time>,
    /// Ground passed twice in one direction, as a share of all ground to be passed.
    pub overlap_share: f64,
    /// Ground on no pass, as a share of all ground to be passed.
    pub uncovered_share: f64,
}

impl Walking {
    pub(crate) fn with_edge_first(self, edge_first: bool) -> Walking {
        Walking { edge_first: self.edge_first || edge_first, ..self }
    }
}

impl Reader<'_> {
    pub(crate) fn walking(
        &self,
        name: &str,
        table: &EquipmentTable,
    ) -> Result<Option<Walking>, JobError> {
        let key = |part: &str| format!("equipment.{name}.{part}");
        let Some(swath) = &table.swath else {
            let alone =
                [("edge_first", table.edge_first.is_some()), ("turning", table.turning.is_some())];
            let alone = alone.into_iter().find(|(_, is_given)| *is_given);
            return alone.map_or(Ok(None), |(part, _)| {
                Err(JobError::WithoutSwath { file: self.file.into(), key: key(part) })
            });
        };
        let swath: Length = swath.parse().map_err(|error| self.unit(key("swath"), error))?;
        if swath <= Length::ZERO {
            return Err(JobError::NoSwath { file: self.file.into(), key: key("swath") });
        }
        let turning = table.turning.as_deref().map(str::parse).transpose();
        Ok(Some(Walking {
            swath,
            edge_first: table.edge_first.unwrap_or(false),
            turning: turning.map_err(|error| self.unit(key("turning"), error))?,
        }))
    }
}

impl ZoneWalk {
    /// What it comes to.
    pub fn walked(&self) -> Walked {
        Walked {
            passes: self.walk.passes.len(),
            distance: self.walk.treated(),
            idle: self.walk.idle(),
            turns: self.walk.turns(),
            time: self.time,
            overlap_share: self.walk.overlap_share(),
            uncovered_share: self.walk.uncovered_share(),
        }
    }

    /// True where all of it is walked twice, the second time at right angles, each at half the rate.
    pub fn is_crossed(&self) -> bool {
        self.crossed
    }

    fn lay(
        application: &ApplicationPlan<'_>,
        walking: Walking,
        zone: &TreatedZone,
        ground: &turfplat_measure::Ground,
    ) -> Result<ZoneWalk, PassesError> {
        let crossed = application.equipment.kind == EquipmentKind::Spreader;
        let Walking { swath, edge_first, turning } = walking;
        let manner = Manner { swath, edge_first, crossed, direction: None };
        let walk = walk(ground.polygons(), &manner)?;
        let speed = application.equipment.speed;
        let loads = loads_on(&application.batches, zone);
        let areas: Vec<Area> = loads.iter().map(|load| load.area).collect();
        let ends = walk.load_ends(&areas)?.into_iter().filter_map(|end| {
            let load = loads.get(end.load).filter(|load| load.ends_here)?;
            Some(LoadMark { batch: zone.batch, load: load.number, end })
        });
        Ok(ZoneWalk {
            index: zone.index,
            zone: zone.zone.clone(),
            batch: zone.batch,
            time: speed.and_then(|speed| walk.time(speed, turning.unwrap_or_default())),
            load_ends: ends.collect(),
            crossed,
            walk,
        })
    }
}

/// What one load does on a zone.
struct OnZone {
    number: usize,
    area: Area,
    ends_here: bool,
}

/// The loads of a zone in the order in which they treat it.
fn loads_on(batches: &[Batch], zone: &TreatedZone) -> Vec<OnZone> {
    let of_batch = batches.iter().filter(|batch| batch.number == zone.batch);
    let covers = of_batch.flat_map(|batch| &batch.loads).flat_map(|load| {
        let last = load.covers.len().saturating_sub(1);
        let covers = load.covers.iter().enumerate();
        covers.map(move |(place, cover)| (load.number, place == last, cover))
    });
    covers
        .filter(|(.., cover)| cover.zone == zone.zone)
        .map(|(number, ends_here, cover)| OnZone { number, area: cover.area, ends_here })
        .collect()
}

impl ApplicationPlan<'_> {
    /// Lays passes over every zone, batch by batch, where a swath is known; what should be seen of it.
    pub(crate) fn lay_passes(&mut self, site: &Site, within_lot: bool) -> Vec<Finding> {
        let Some(walking) = self.walking else { return Vec::new() };
        let (mut walks, mut findings) = (Vec::new(), Vec::new());
        let mut zones: Vec<&TreatedZone> = self.zones.iter().collect();
        zones.sort_by_key(|zone| zone.batch);
        for zone in zones {
            let ground = site.outline(zone.index, self.keeping(within_lot));
            let found = match ZoneWalk::lay(self, walking, zone, &ground) {
                Ok(laid) => {
                    let message = off_the_passes(&laid, walking.swath);
                    walks.push(laid);
                    message.map(|(message, area)| ("off-the-passes", message, area))
                }
                Err(error) => Some(("no-passes", format!("no passes: {error}"), zone.treated)),
            };
            if let Some((code, message, area)) = found {
                let message = format!("application {:?}: {message}", self.name);
                let feature = &site.zones[zone.index].feature;
                findings.push(Finding::of(feature, code, message, area.square_metres()));
            }
        }
        self.walks = walks;
        findings
    }

    /// What whoever walks in two directions must know, on every paper: the marks of the loads hang on
    /// it, and so does the rate.
    pub fn crossed_caution(&self) -> Option<&'static str> {
        self.walks.iter().any(ZoneWalk::is_crossed).then_some(
            "Go over each zone twice, the second time across the first, set for half of the rate; \
             loads are marked where they run out so.",
        )
    }

    /// What walking all its zones comes to, ways between zones not counted; `None` without passes.
    pub fn walked(&self) -> Option<Walked> {
        let mut all =
            self.walks.iter().map(|walk| (walk.walked(), walk.walk.ground.square_metres()));
        let (first, ground) = all.next()?;
        let sum = |one: Option<Time>, other: Option<Time>| {
            Time::from_seconds(one?.seconds() + other?.seconds())
        };
        let (sums, _) = all.fold((first, ground), |(sums, ground), (next, more)| {
            let whole = ground + more;
            let mean = |one: f64, other: f64| {
                if whole > 0.0 { (one * ground + other * more) / whole } else { 0.0 }
            };
            let sums = Walked {
                passes: sums.passes + next.passes,
                distance: sums.distance + next.distance,
                idle: sums.idle + next.idle,
                turns: sums.turns + next.turns,
                time: sum(sums.time, next.time),
                overlap_share: mean(sums.overlap_share, next.overlap_share),
                uncovered_share: mean(sums.uncovered_share, next.uncovered_share),
            };
            (sums, whole)
        });
        Some(sums)
    }

    /// What the passes take if all of them are sprayed over at the calibrated volume, and what is mixed
    /// for the same zones; `None` of a spreader and without passes.
    pub fn spray_over_passes(&self) -> Option<(Amount, Amount)> {
        let of_zones = self.walks.iter().filter_map(|laid| {
            let zone = self.zones.iter().find(|zone| zone.index == laid.index)?;
            let Walked { overlap_share, uncovered_share, .. } = laid.walked();
            let mixed = zone.spray_volume?;
            Some((mixed.times((1.0 + overlap_share - uncovered_share).max(0.0)), mixed))
        });
        of_zones.reduce(|(over, mixed), (more, next)| {
            (over.plus(more).unwrap_or(over), mixed.plus(next).unwrap_or(mixed))
        })
    }
}

/// What is said of ground on no pass, where it is more than a little, and how much it is.
fn off_the_passes(laid: &ZoneWalk, swath: Length) -> Option<(String, Area)> {
    if laid.walk.uncovered_share() <= TO_BE_SEEN {
        return None;
    }
    // Of what is walked twice, ground is counted once.
    let of = |why: Why| -> Area {
        let left = laid.walk.left.iter().filter(|left| left.why == why && !left.second);
        left.map(|left: &Left| left.area).sum()
    };
    let parts = [
        (of(Why::TooNarrow), "narrower than a tenth of the swath"),
        (of(Why::Remnant), "in corners and wedges"),
    ];
    let print = |area: Area| area.print(UnitSystem::Us);
    let told = parts.iter().filter(|(area, _)| *area > Area::ZERO);
    let told: Vec<String> = told.map(|(area, what)| format!("{} {what}", print(*area))).collect();
    let all: Area = parts.into_iter().map(|(area, _)| area).sum();
    let message = format!(
        "{} % of the zone lies on no pass of {}: {}; its amount is mixed all the same: treat it from \
         beside, or take it off the zone",
        decimal(100.0 * laid.walk.uncovered_share(), 1),
        swath.print(UnitSystem::Us),
        told.join(", "),
    );
    Some((message, all))
}
