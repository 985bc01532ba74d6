//! What takes ground from which zone, and in which order: no square metre is taken twice.

use turfplat_dose::Setback;
use turfplat_map::{Feature, Kind};
use turfplat_measure::{
    Ground, Growth, Lot, Reach, Sets, Shape, Taker, Tangled, account, accounts, drawn_error,
    net_outline,
};
use turfplat_units::{Area, Length};

use crate::cause::Cause;
use crate::plat::{Loss, PlatZone};
use crate::setbacks::{beside_water, kept_from};
use crate::site::{Laid, Site};
use crate::wind::Drift;

/// One way to measure a site. Several are measured in one sweep of each zone.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Keeping<'k> {
    /// These distances are kept, one for each feature of the site; beyond the lot line turf is
    /// lost or not.
    Distances {
        setbacks: &'k [Option<Setback>],
        /// What is kept besides for the wind; empty where none is asked after.
        drifts: &'k [Option<Drift>],
        within_lot: bool,
    },
    /// Nothing takes ground but the lot line.
    Lot,
}

impl<'k> Keeping<'k> {
    fn setbacks(self) -> &'k [Option<Setback>] {
        match self {
            Keeping::Distances { setbacks, .. } => setbacks,
            Keeping::Lot => &[],
        }
    }

    fn drifts(self) -> &'k [Option<Drift>] {
        match self {
            Keeping::Distances { drifts, .. } => drifts,
            Keeping::Lot => &[],
        }
    }

    fn is_within_lot(self) -> bool {
        matches!(self, Keeping::Lot | Keeping::Distances { within_lot: true, .. })
    }
}

fn numbered<'k>(keepings: &'k [Keeping<'k>]) -> impl Iterator<Item = (usize, &'k Keeping<'k>)> {
    keepings.iter().enumerate()
}

/// An area on the level as it is along a slope in per cent: divided by the cosine of its angle.
pub(crate) fn on_slope(level: Area, grade: f64) -> Option<Area> {
    Area::from_square_metres(level.square_metres() * (grade / 100.0).hypot(1.0))
}

/// All ground that may be taken on a site, cause by cause in the order in which they take.
struct Reaches<'s> {
    /// Of each zone, in file order: an earlier one keeps an overlap.
    zones: Vec<Reach<'s>>,
    causes: Vec<(Cause, Vec<(Reach<'s>, Sets)>)>,
    /// The ways in which features and zones take what they cover.
    taken: Sets,
}

impl<'s> Reaches<'s> {
    /// What takes ground from the zone at `index`: causes, and takers that are numbered by them.
    fn takers(&self, site: &Site, index: usize) -> (Vec<Cause>, Vec<Taker<'_>>) {
        let rank = |place: usize| (-site.zones[place].feature.priority, place);
        let zone = &site.zones[index];
        let is_earlier = |other: &usize| {
            rank(*other) < rank(index) && site.zones[*other].shape.is_near(&zone.shape)
        };
        let mut earlier: Vec<usize> = (0..site.zones.len()).filter(is_earlier).collect();
        earlier
            .sort_by(|&a, &b| rank(a).partial_cmp(&rank(b)).unwrap_or(std::cmp::Ordering::Equal));
        let mut causes: Vec<Cause> = earlier
            .iter()
            .map(|&other| Cause::Zone(site.zones[other].feature.name.clone()))
            .collect();
        causes.reserve(self.causes.len());
        let of_causes: usize = self.causes.iter().map(|(_, reaches)| reaches.len()).sum();
        let mut takers: Vec<Taker<'_>> = Vec::with_capacity(earlier.len() + of_causes);
        let zones = earlier.iter().enumerate();
        takers.extend(zones.map(|(cause, &other)| Taker {
            cause,
            sets: self.taken,
            reach: &self.zones[other],
        }));
        for (to, reaches) in &self.causes {
            let cause = causes.len();
            takers.extend(reaches.iter().map(|(reach, sets)| Taker { cause, sets: *sets, reach }));
            causes.push(to.clone());
        }
        (causes, takers)
    }
}

/// Features of a kind from which the same ground is kept in the same ways.
struct Alike<'s> {
    /// A setback or a drift buffer, of a kind.
    cause: Cause,
    growth: Growth,
    sets: Sets,
    shapes: Vec<&'s Shape>,
}

/// Why a zone is refused that no sweep would come to the end of.
fn tangled_zone(zone: &Feature, Tangled { crossings }: Tangled) -> String {
    format!(
        "{:#}: its outline, what lies in it and the distances kept there cross each other {crossings} times or more; look for features drawn over each other again and again, and draw them once",
        zone.at
    )
}

impl Site {
    /// The area of the lot; `None` where none is drawn, and of lines that no sweep comes to the end of.
    pub(crate) fn lot_area(&self) -> Option<Area> {
        let account = account(self.lot.as_ref()?, &[], 0, None).ok()?;
        Some(account.gross).filter(|area| *area > Area::ZERO)
    }

    /// What may take ground in any of `keepings`, of which there are no more than [`Sets::MOST`].
    /// `crowds` are shapes to be taken as one, one for each of `alike`.
    fn reaches<'s>(
        &'s self,
        keepings: &[Keeping<'_>],
        alike: &[Alike<'s>],
        crowds: &'s [Option<Shape>],
    ) -> Reaches<'s> {
        let taken = numbered(keepings)
            .filter(|(_, keeping)| matches!(keeping, Keeping::Distances { .. }))
            .fold(Sets::NONE, |sets, (set, _)| sets.with(set));
        let mut causes = Vec::new();
        for kind in Kind::ALL.into_iter().filter(|kind| kind.takes_area()) {
            let of_kind = self.of_kind(kind).map(|(_, laid)| Reach::of(&laid.shape, Length::ZERO));
            // The strip that is kept beside water is ground like a strip that was drawn.
            let strips = self.features.iter().filter(|_| kind == Kind::VegStrip);
            let strips = strips
                .filter_map(|laid| Some(Reach::of(&laid.shape, beside_water(&laid.feature)?)));
            let reaches = of_kind.chain(strips).map(|reach| (reach, taken));
            causes.push((Cause::Feature(kind), reaches.collect()));
        }
        let kinds = || Kind::ALL.into_iter().filter(|kind| kind.keeps_a_distance());
        for cause in kinds().map(Cause::Setback).chain(kinds().map(Cause::Drift)) {
            let mut grown: Vec<(Reach<'_>, Sets)> = Vec::new();
            for (alike, crowd) in alike.iter().zip(crowds).filter(|(alike, _)| alike.cause == cause)
            {
                let reach = |shape| (Reach::of(shape, alike.growth), alike.sets);
                match crowd {
                    Some(crowd) => grown.push(reach(crowd)),
                    None => grown.extend(alike.shapes.iter().map(|&shape| reach(shape))),
                }
            }
            causes.push((cause, grown));
        }
        causes.retain(|(_, reaches)| !reaches.is_empty());
        let zones = self.zones.iter().map(|laid| Reach::of(&laid.shape, Length::ZERO)).collect();
        Reaches { zones, causes, taken }
    }

    /// The features from which a distance is kept, each distance of each once, whoever keeps it.
    fn alike(&self, keepings: &[Keeping<'_>]) -> Vec<Alike<'_>> {
        let mut alike: Vec<Alike<'_>> = Vec::new();
        let mut kept: Vec<(Cause, Growth, Sets)> = Vec::new();
        for (place, laid) in self.features.iter().enumerate() {
            kept.clear();
            let kind = laid.feature.kind;
            for (set, keeping) in numbered(keepings) {
                let setback = keeping.setbacks().get(place).and_then(Option::as_ref);
                let setback = setback.map(|it| kept_from(&laid.feature, it.distance).into());
                let drift = keeping.drifts().get(place).and_then(Option::as_ref);
                let drift = drift.map(|it| it.kept_from(&laid.feature));
                let both = [(Cause::Setback(kind), setback), (Cause::Drift(kind), drift)];
                for (cause, growth) in both {
                    let Some(growth) = growth else { continue };
                    let is_known =
                        |it: &&mut (Cause, Growth, Sets)| it.0 == cause && it.1 == growth;
                    match kept.iter_mut().find(is_known) {
                        Some((_, _, sets)) => *sets = sets.with(set),
                        None => kept.push((cause, growth, Sets::only(set))),
                    }
                }
            }
            for (cause, growth, sets) in kept.drain(..) {
                let is_like = |it: &&mut Alike<'_>| {
                    (it.growth, it.sets) == (growth, sets) && it.cause == cause
                };
                match alike.iter_mut().find(is_like) {
                    Some(like) => like.shapes.push(&laid.shape),
                    None => alike.push(Alike { cause, growth, sets, shapes: vec![&laid.shape] }),
                }
            }
        }
        alike
    }

    fn of_kind(&self, kind: Kind) -> impl Iterator<Item = (usize, &Laid)> {
        self.features.iter().enumerate().filter(move |(_, laid)| laid.feature.kind == kind)
    }

    /// Measures every zone in each of several ways, in one sweep for up to 64 of them.
    ///
    /// # Errors
    ///
    /// Why a zone cannot be measured, with its place and the cure.
    pub(crate) fn accounts(
        &self,
        keepings: &[Keeping<'_>],
    ) -> Result<Vec<Vec<PlatZone>>, Vec<String>> {
        let mut all = Vec::with_capacity(keepings.len());
        for some in keepings.chunks(Sets::MOST) {
            all.extend(self.accounts_of_some(some).map_err(|reason| vec![reason])?);
        }
        Ok(all)
    }

    fn accounts_of_some(&self, keepings: &[Keeping<'_>]) -> Result<Vec<Vec<PlatZone>>, String> {
        let alike = self.alike(keepings);
        let crowds: Vec<Option<Shape>> =
            alike.iter().map(|alike| Shape::crowd(&alike.shapes, alike.growth.by())).collect();
        let reaches = self.reaches(keepings, &alike, &crowds);
        let within_lot = keepings.iter().enumerate().filter(|(_, keeping)| keeping.is_within_lot());
        let within_lot = within_lot.fold(Sets::NONE, |sets, (set, _)| sets.with(set));
        let lot = self.lot.as_ref().map(|shape| Lot { shape, sets: within_lot });
        let mut measured = vec![Vec::with_capacity(self.zones.len()); keepings.len()];
        for (index, zone) in self.zones.iter().enumerate() {
            let (causes, takers) = reaches.takers(self, index);
            let each = accounts(&zone.shape, &takers, causes.len(), keepings.len(), lot)
                .map_err(|tangled| tangled_zone(&zone.feature, tangled))?;
            for (zones, account) in measured.iter_mut().zip(each) {
                let lost = causes.iter().zip(account.lost);
                let lost = lost.chain([(&Cause::Parcel, account.beyond_lot)]);
                zones.push(PlatZone {
                    name: zone.feature.name.clone(),
                    species: zone.feature.species.clone(),
                    gross: account.gross,
                    net: account.net,
                    lost: lost
                        .filter(|(_, area)| *area > Area::ZERO)
                        .map(|(to, area)| Loss { to: to.clone(), area })
                        .collect(),
                    perimeter: account.perimeter,
                    surface: zone.feature.grade.and_then(|grade| on_slope(account.net, grade)),
                    drawn_error: None,
                });
            }
        }
        Ok(measured)
    }

    /// Notes on `zones`, measured with `keeping`, how far off they are for the drawing.
    pub(crate) fn note_drawn_errors(&self, zones: &mut [PlatZone], keeping: Keeping<'_>) {
        let says = |laid: &Laid| laid.feature.drawn_error.is_some();
        if !self.zones.iter().chain(&self.features).any(says) {
            return;
        }
        // Each shape for itself: the corners of a pond move it and its strip alike.
        let alike = self.alike(&[keeping]);
        let no_crowds: Vec<Option<Shape>> = alike.iter().map(|_| None).collect();
        let reaches = self.reaches(&[keeping], &alike, &no_crowds);
        let lot = self.lot_if(keeping.is_within_lot());
        for (index, zone) in zones.iter_mut().enumerate() {
            let (_, takers) = reaches.takers(self, index);
            zone.drawn_error = Some(drawn_error(&self.zones[index].shape, &takers, lot));
        }
    }

    /// The outline of what is left of the zone at `index`.
    pub(crate) fn outline(&self, index: usize, keeping: Keeping<'_>) -> Ground {
        let within_lot = keeping.is_within_lot();
        let keeping = [keeping];
        let alike = self.alike(&keeping);
        let crowds: Vec<Option<Shape>> =
            alike.iter().map(|alike| Shape::crowd(&alike.shapes, alike.growth.by())).collect();
        let reaches = self.reaches(&keeping, &alike, &crowds);
        let (_, takers) = reaches.takers(self, index);
        net_outline(&self.zones[index].shape, &takers, self.lot_if(within_lot))
    }

    fn lot_if(&self, within_lot: bool) -> Option<&Shape> {
        self.lot.as_ref().filter(|_| within_lot)
    }
}
