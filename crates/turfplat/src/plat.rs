use std::collections::BTreeMap;

use geo::Coord;
use rayon::prelude::*;
use turfplat_dose::Setback;
use turfplat_map::{Feature, Kind, Note, PropertyMap};
use turfplat_measure::{Ground, Plane, Shape, Taker, account, net_outline};
use turfplat_units::{Area, Length};

use crate::finding::Finding;
use crate::job::Job;
use crate::neighbourhood::Neighbourhood;
use crate::refusal::{stops, stops_everything};
use crate::setbacks::{SetbackSource, kept_from};
use crate::site::{Laid, Lawns, Site, lawns};

/// What to measure with.
#[derive(Clone, Debug, Default)]
pub struct MeasureOptions<'a> {
    /// Distances by kind, compared with those on features.
    pub setbacks: BTreeMap<Kind, Length>,
    /// A job: its distances too, and the widest that any of its applications must keep.
    pub job: Option<&'a Job>,
    /// Turf beyond the lot line is lost, rather than a finding.
    pub within_parcel: bool,
}

/// One property measured: zones, and where every square metre went.
pub struct Plat<'a> {
    /// The property's id, or the name of a map that is one property.
    pub property: String,
    /// Zones in file order.
    pub zones: Vec<PlatZone>,
    /// What should be seen.
    pub findings: Vec<Finding>,
    /// Hazards in reach from which no distance is kept.
    pub without_setback: Vec<&'a Feature>,
    pub(crate) site: Site<'a>,
    pub(crate) setbacks: Vec<Option<Setback>>,
    pub(crate) within_parcel: bool,
}

/// One zone measured.
#[derive(Clone, Debug, PartialEq)]
pub struct PlatZone {
    /// Its name.
    pub name: String,
    /// Its species, as the map writes them.
    pub species: Vec<String>,
    /// As drawn.
    pub gross: Area,
    /// What is left.
    pub net: Area,
    /// What was lost, and to what, in the order in which it was taken; gross = net + all of it.
    pub lost: Vec<Loss>,
    /// Length of the outline of what is left.
    pub perimeter: Length,
}

/// Ground lost to one cause.
#[derive(Clone, Debug, PartialEq)]
pub struct Loss {
    /// `building`, `setback:water`, `zone:Back lawn`, `parcel`.
    pub to: String,
    /// How much, of what the causes before had left.
    pub area: Area,
}

/// The farthest that a rule in the tables reaches, in feet: a hazard nearer than this for which
/// nothing speaks is worth a word.
const WORTH_A_WORD_FEET: f64 = 200.0;

/// Measures every property of the map that may be used, in file order.
pub fn measure<'a>(map: &'a PropertyMap, options: &MeasureOptions<'_>) -> Vec<Plat<'a>> {
    if stops_everything(map) {
        return Vec::new();
    }
    let source = match options.job {
        Some(job) => SetbackSource::of_applications(
            job,
            &job.applications.iter().collect::<Vec<_>>(),
            &options.setbacks,
        ),
        None => SetbackSource::of_command(&options.setbacks),
    };
    let name = options.job.and_then(|job| job.name.as_deref());
    let neighbourhood = Neighbourhood::of(map, |feature| reach(&source, feature));
    let lawns = lawns(map);
    let measured =
        lawns.par_iter().filter(|lawns| !stops(map, lawns.property)).filter_map(|lawns| {
            let site = Site::lay(map, lawns, &neighbourhood)?;
            Some(Plat::of(map, lawns, site, name, &source, options.within_parcel))
        });
    measured.collect()
}

fn reach(source: &SetbackSource<'_>, feature: &Feature) -> Length {
    let nearby = if feature.kind.is_hazard() { Length::from_feet(WORTH_A_WORD_FEET) } else { None };
    match source.of(feature) {
        Some(setback) => setback.distance.max(feature.veg_strip.unwrap_or_default()),
        None => nearby.unwrap_or_default(),
    }
}

impl<'a> Plat<'a> {
    fn of(
        map: &'a PropertyMap,
        lawns: &Lawns<'a>,
        site: Site<'a>,
        name: Option<&str>,
        source: &SetbackSource<'_>,
        within_parcel: bool,
    ) -> Plat<'a> {
        let setbacks: Vec<Option<Setback>> =
            site.features.iter().map(|laid| source.of(laid.feature)).collect();
        let zones = site.account(&setbacks, lawns.property, within_parcel);
        let mut findings = site.findings(map, lawns.property);
        findings.extend(loss_findings(&site, &zones));
        findings.extend(setback_findings(&site, &setbacks));
        if !within_parcel {
            findings.extend(beyond_lot(&site, lawns.property));
        }
        let without_setback = site.without_setback(&setbacks);
        let property = property_name(lawns, name);
        Plat { property, zones, findings, without_setback, site, setbacks, within_parcel }
    }

    /// Turf as drawn, all zones.
    pub fn gross(&self) -> Area {
        self.zones.iter().map(|zone| zone.gross).sum()
    }

    /// Turf that is left, all zones.
    pub fn net(&self) -> Area {
        self.zones.iter().map(|zone| zone.net).sum()
    }

    /// Longitude and latitude of the centre of the plane; `None` of a map on a plane of its own.
    pub fn centre(&self) -> Option<Coord<f64>> {
        self.site.centre
    }

    /// The plane that the property was measured on.
    pub fn plane(&self) -> &Plane {
        &self.site.plane
    }

    /// The outline of what is left of the zone at `index`.
    pub fn outline(&self, index: usize) -> Ground {
        let property = self.site.zones[index].feature.property.as_deref();
        self.site.outline(index, &self.setbacks, property, self.within_parcel)
    }
}

pub(crate) fn property_name(lawns: &Lawns<'_>, name: Option<&str>) -> String {
    let file_stem = || {
        let place = lawns.zones.first().map(|zone| zone.at.to_string()).unwrap_or_default();
        let file = place.split(" features[").next().unwrap_or_default();
        let file = file.rsplit(['/', '\\']).next().unwrap_or_default();
        let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem).to_owned();
        if stem.is_empty() || stem == "-" { "property".to_owned() } else { stem }
    };
    lawns.property.or(name).map_or_else(file_stem, str::to_owned)
}

/// A taker with the name of its cause still to be numbered.
struct Cause<'s> {
    to: String,
    takers: Vec<(&'s Shape, Length)>,
}

impl<'a> Site<'a> {
    /// The causes that take ground from the zone at `index`, in the order in which they take.
    fn causes(&self, index: usize, setbacks: &[Option<Setback>]) -> Vec<Cause<'_>> {
        let mut causes = Vec::new();
        let rank = |place: usize| (-self.zones[place].feature.priority, place);
        let mut earlier: Vec<usize> =
            (0..self.zones.len()).filter(|&other| rank(other) < rank(index)).collect();
        earlier
            .sort_by(|&a, &b| rank(a).partial_cmp(&rank(b)).unwrap_or(std::cmp::Ordering::Equal));
        for other in earlier {
            let zone = &self.zones[other];
            if zone.shape.is_near(&self.zones[index].shape) {
                causes.push(Cause {
                    to: format!("zone:{}", zone.feature.name),
                    takers: vec![(&zone.shape, Length::ZERO)],
                });
            }
        }
        for kind in Kind::ALL.into_iter().filter(|kind| kind.takes_area()) {
            let of_kind = self.of_kind(kind).map(|(_, laid)| (&laid.shape, Length::ZERO));
            // The strip that is kept beside water is ground like a strip that was drawn.
            let beside_water = self
                .features
                .iter()
                .filter(|_| kind == Kind::VegStrip)
                .filter_map(|laid| Some((&laid.shape, laid.feature.veg_strip?)));
            causes.push(Cause {
                to: kind.name().to_owned(),
                takers: of_kind.chain(beside_water).collect(),
            });
        }
        for kind in Kind::ALL.into_iter().filter(|kind| kind.takes_area() || *kind == Kind::Well) {
            let grown = self.of_kind(kind).filter_map(|(place, laid)| {
                let setback = setbacks[place].as_ref()?;
                Some((&laid.shape, kept_from(laid.feature, setback.distance)))
            });
            causes.push(Cause { to: format!("setback:{kind}"), takers: grown.collect() });
        }
        causes.retain(|cause| !cause.takers.is_empty());
        causes
    }

    fn of_kind(&self, kind: Kind) -> impl Iterator<Item = (usize, &Laid<'a>)> {
        self.features.iter().enumerate().filter(move |(_, laid)| laid.feature.kind == kind)
    }

    /// Measures every zone.
    pub(crate) fn account(
        &self,
        setbacks: &[Option<Setback>],
        property: Option<&str>,
        within_parcel: bool,
    ) -> Vec<PlatZone> {
        let lot = if within_parcel { self.lot(property) } else { None };
        (0..self.zones.len())
            .map(|index| {
                let causes = self.causes(index, setbacks);
                let zone = &self.zones[index];
                let account = account(&zone.shape, &numbered(&causes), causes.len(), lot.as_ref());
                let lost = causes.iter().map(|cause| cause.to.clone()).zip(account.lost);
                let lost = lost.chain([("parcel".to_owned(), account.beyond_lot)]);
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
        property: Option<&str>,
        within_parcel: bool,
    ) -> Ground {
        let lot = if within_parcel { self.lot(property) } else { None };
        let causes = self.causes(index, setbacks);
        net_outline(&self.zones[index].shape, &numbered(&causes), lot.as_ref())
    }

    /// Hazards near a zone from which no distance is kept.
    pub(crate) fn without_setback(&self, setbacks: &[Option<Setback>]) -> Vec<&'a Feature> {
        let near = Length::from_feet(WORTH_A_WORD_FEET).unwrap_or_default().metres();
        let hazards = self
            .features
            .iter()
            .zip(setbacks)
            .filter(|(laid, setback)| laid.feature.kind.is_hazard() && setback.is_none());
        let near_turf = |laid: &Laid<'_>| {
            self.zones.iter().any(|zone| {
                zone.shape.distance_to(&laid.shape).is_some_and(|metres| metres <= near)
            })
        };
        hazards.filter(|(laid, _)| near_turf(laid)).map(|(laid, _)| laid.feature).collect()
    }

    /// What reading and repairing found, of this property and of what reaches it.
    pub(crate) fn findings(&self, map: &PropertyMap, property: Option<&str>) -> Vec<Finding> {
        let ours = |note: &&Note| match property {
            None => true,
            Some(_) if note.property.is_some() => note.property.as_deref() == property,
            // Of common ground: where it reaches this property.
            Some(_) => self.features.iter().any(|laid| laid.feature.at == note.at),
        };
        let notes = map.notes.iter().filter(ours);
        let laid = self.zones.iter().chain(&self.features);
        let repairs = laid.flat_map(|laid| {
            laid.repairs.iter().map(|repair| Finding::of_repair(laid.feature, repair))
        });
        notes.map(Finding::from).chain(repairs).collect()
    }
}

fn numbered<'s>(causes: &[Cause<'s>]) -> Vec<Taker<'s>> {
    let numbered = causes.iter().enumerate();
    numbered
        .flat_map(|(cause, Cause { takers, .. })| {
            takers.iter().map(move |&(shape, grown)| Taker { cause, shape, grown })
        })
        .collect()
}

pub(crate) fn loss_findings(site: &Site<'_>, zones: &[PlatZone]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (zone, laid) in zones.iter().zip(&site.zones) {
        for loss in &zone.lost {
            // Neighbours drawn to one line share rounding, not ground.
            if let Some(other) = loss.to.strip_prefix("zone:")
                && loss.area.square_metres() > 0.01
            {
                let message = format!("overlaps zone {other:?}, which keeps the ground");
                findings.push(Finding::of(
                    laid.feature,
                    "zone-overlap",
                    message,
                    loss.area.square_metres(),
                ));
            }
        }
        if zone.net == Area::ZERO && zone.gross > Area::ZERO {
            let largest = zone
                .lost
                .iter()
                .max_by(|a, b| a.area.square_metres().total_cmp(&b.area.square_metres()));
            let to = largest.map_or("", |loss| loss.to.as_str());
            let message = format!("nothing is left of the zone; most of it went to {to}");
            findings.push(Finding::of(
                laid.feature,
                "zone-lost",
                message,
                zone.gross.square_metres(),
            ));
        }
    }
    findings
}

pub(crate) fn setback_findings(site: &Site<'_>, setbacks: &[Option<Setback>]) -> Vec<Finding> {
    let smaller = site.features.iter().zip(setbacks).filter_map(|(laid, setback)| {
        let setback = setback.as_ref().filter(|setback| setback.own_is_smaller)?;
        let message = format!("asks for less than {}; the larger distance was kept", setback.rule);
        Some(Finding::of(laid.feature, "own-setback-smaller", message, 0.0))
    });
    smaller.collect()
}

pub(crate) fn beyond_lot(site: &Site<'_>, property: Option<&str>) -> Vec<Finding> {
    let Some(lot) = site.lot(property) else { return Vec::new() };
    let beyond = site.zones.iter().filter_map(|laid| {
        let beyond = account(&laid.shape, &[], 0, Some(&lot)).beyond_lot.square_metres();
        let message =
            "turf reaches beyond the lot line; it is counted (leave it out with --within-parcel)"
                .to_owned();
        // A hand does not follow a lot line to the decimetre.
        (beyond > 0.1).then(|| Finding::of(laid.feature, "beyond-lot", message, beyond))
    });
    beyond.collect()
}
