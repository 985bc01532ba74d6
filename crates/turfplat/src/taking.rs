//! What takes ground from which zone, and in which order: no square metre is taken twice.

use turfplat_dose::Setback;
use turfplat_map::Kind;
use turfplat_measure::{Ground, Reach, Shape, Taker, account, net_outline};
use turfplat_units::{Area, Length};

use crate::cause::Cause;
use crate::plat::{Loss, PlatZone};
use crate::setbacks::{beside_water, kept_from};
use crate::site::{Laid, Site};

/// All ground that may be taken on a site, cause by cause in the order in which they take.
struct Reaches<'s> {
    /// Of each zone, in file order: an earlier one keeps an overlap.
    zones: Vec<Reach<'s>>,
    causes: Vec<(Cause, Vec<Reach<'s>>)>,
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
        let mut takers: Vec<Taker<'_>> = earlier
            .iter()
            .enumerate()
            .map(|(cause, &other)| Taker { cause, reach: &self.zones[other] })
            .collect();
        for (to, reaches) in &self.causes {
            takers.extend(reaches.iter().map(|reach| Taker { cause: causes.len(), reach }));
            causes.push(to.clone());
        }
        (causes, takers)
    }
}

impl Site {
    fn reaches(&self, setbacks: &[Option<Setback>]) -> Reaches<'_> {
        let mut causes = Vec::new();
        for kind in Kind::ALL.into_iter().filter(|kind| kind.takes_area()) {
            let of_kind = self.of_kind(kind).map(|(_, laid)| Reach::of(&laid.shape, Length::ZERO));
            // The strip that is kept beside water is ground like a strip that was drawn.
            let strips = self.features.iter().filter(|_| kind == Kind::VegStrip);
            let strips = strips
                .filter_map(|laid| Some(Reach::of(&laid.shape, beside_water(&laid.feature)?)));
            causes.push((Cause::Feature(kind), of_kind.chain(strips).collect()));
        }
        for kind in Kind::ALL.into_iter().filter(|kind| kind.keeps_a_distance()) {
            let grown = self.of_kind(kind).filter_map(|(place, laid)| {
                let setback = setbacks[place].as_ref()?;
                Some(Reach::of(&laid.shape, kept_from(&laid.feature, setback.distance)))
            });
            causes.push((Cause::Setback(kind), grown.collect()));
        }
        causes.retain(|(_, reaches): &(Cause, Vec<Reach<'_>>)| !reaches.is_empty());
        Reaches {
            zones: self.zones.iter().map(|laid| Reach::of(&laid.shape, Length::ZERO)).collect(),
            causes,
        }
    }

    fn of_kind(&self, kind: Kind) -> impl Iterator<Item = (usize, &Laid)> {
        self.features.iter().enumerate().filter(move |(_, laid)| laid.feature.kind == kind)
    }

    /// Measures every zone.
    pub(crate) fn account(
        &self,
        setbacks: &[Option<Setback>],
        within_parcel: bool,
    ) -> Vec<PlatZone> {
        let reaches = self.reaches(setbacks);
        (0..self.zones.len())
            .map(|index| {
                let (causes, takers) = reaches.takers(self, index);
                let zone = &self.zones[index];
                let account =
                    account(&zone.shape, &takers, causes.len(), self.lot_if(within_parcel));
                let lost = causes
                    .into_iter()
                    .zip(account.lost)
                    .chain([(Cause::Parcel, account.beyond_lot)]);
                PlatZone {
                    name: zone.feature.name.clone(),
                    species: zone.feature.species.clone(),
                    gross: account.gross,
                    net: account.net,
                    lost: lost
                        .filter(|(_, area)| *area > Area::ZERO)
                        .map(|(to, area)| Loss { to, area })
                        .collect(),
                    perimeter: account.perimeter,
                }
            })
            .collect()
    }

    /// The outline of what is left of the zone at `index`.
    pub(crate) fn outline(
        &self,
        index: usize,
        setbacks: &[Option<Setback>],
        within_parcel: bool,
    ) -> Ground {
        let reaches = self.reaches(setbacks);
        let (_, takers) = reaches.takers(self, index);
        net_outline(&self.zones[index].shape, &takers, self.lot_if(within_parcel))
    }

    fn lot_if(&self, within_parcel: bool) -> Option<&Shape> {
        self.lot.as_ref().filter(|_| within_parcel)
    }
}
