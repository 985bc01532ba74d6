//! Every zone of every property measured: what is left, and to what the rest was lost.

use std::collections::BTreeMap;

use geo::Coord;
use rayon::prelude::*;
use turfplat_dose::Setback;
use turfplat_map::{Feature, Kind, PropertyMap};
use turfplat_measure::{Ground, Plane, account};
use turfplat_units::{Area, Length};

use crate::cause::Cause;
use crate::finding::Finding;
use crate::job::Job;
use crate::neighbourhood::Neighbourhood;
use crate::refusal::{Refusal, Stops, refusals};
use crate::setbacks::{SetbackSource, worth_a_word};
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
    /// To what.
    pub to: Cause,
    /// How much, of what the causes before had left.
    pub area: Area,
}

/// What came of measuring a map.
pub struct Measured<'a> {
    /// Every property that may be used, in file order.
    pub plats: Vec<Plat<'a>>,
    /// Everything that was refused, with the reasons.
    pub refusals: Vec<Refusal>,
}

/// Measures every property of the map that may be used, in file order.
pub fn measure<'a>(map: &'a PropertyMap, options: &MeasureOptions<'_>) -> Measured<'a> {
    let source = match options.job {
        Some(job) => {
            let applications: Vec<_> = job.applications.iter().collect();
            SetbackSource::of_applications(job, &applications, &options.setbacks)
        }
        None => SetbackSource::of_command(&options.setbacks),
    };
    let name = options.job.and_then(|job| job.name.as_deref());
    let (plats, refusals) = each_property(map, &source, |lawns, site, neighbourhood| {
        if options.within_parcel && site.lot.is_none() {
            return Err(vec![no_lot(&site)]);
        }
        Ok(Plat::of(lawns, site, name, &source, neighbourhood, options.within_parcel))
    });
    Measured { plats, refusals }
}

/// Why `--within-parcel` cannot be done.
pub(crate) fn no_lot(site: &Site<'_>) -> String {
    let place = site.zones.first().map(|zone| zone.feature.at.to_string()).unwrap_or_default();
    format!(
        r#"{place}: turf beyond the lot line was to be left out, but no lot line is drawn; add a polygon of kind "parcel""#
    )
}

/// Lays every property flat that may be used and does `work` on it, in file order; all else is refused.
pub(crate) fn each_property<'a, T: Send>(
    map: &'a PropertyMap,
    source: &SetbackSource<'_>,
    work: impl Fn(&Lawns<'a>, Site<'a>, &Neighbourhood<'a>) -> Result<T, Vec<String>> + Sync,
) -> (Vec<T>, Vec<Refusal>) {
    let mut refused = refusals(map);
    let stops = Stops::of(map);
    if stops.everything {
        return (Vec::new(), refused);
    }
    let neighbourhood = Neighbourhood::of(map, |feature| source.farthest(feature));
    let lawns = lawns(map);
    let results: Vec<Result<T, Refusal>> = lawns
        .par_iter()
        .filter(|lawns| !stops.stops(lawns))
        .filter_map(|lawns| Some((lawns, lawns.turf()?)))
        .map(|(lawns, turf)| {
            if let Some(refusal) = stops.by_a_neighbour(lawns, &turf) {
                return Err(refusal);
            }
            let refusal = |reasons| Refusal { property: lawns.property.map(str::to_owned), reasons };
            let Some(site) = Site::lay(map, lawns, &turf, &neighbourhood) else {
                let place = lawns.zones.first().map(|zone| zone.at.to_string()).unwrap_or_default();
                let farthest = Plane::LARGEST_LATITUDE;
                return Err(refusal(vec![format!("{place}: lies beyond {farthest}° of latitude, where no lawn grows; check its coordinates")]));
            };
            work(lawns, site, &neighbourhood).map_err(refusal)
        })
        .collect();
    let mut done = Vec::new();
    for result in results {
        match result {
            Ok(one) => done.push(one),
            Err(refusal) => refused.push(refusal),
        }
    }
    (done, refused)
}

impl<'a> Plat<'a> {
    fn of(
        lawns: &Lawns<'a>,
        site: Site<'a>,
        name: Option<&str>,
        source: &SetbackSource<'_>,
        neighbourhood: &Neighbourhood<'a>,
        within_parcel: bool,
    ) -> Plat<'a> {
        let setbacks: Vec<Option<Setback>> =
            site.features.iter().map(|laid| source.of(laid.feature)).collect();
        let zones = site.account(&setbacks, within_parcel);
        let mut findings = site.findings(neighbourhood, lawns.property);
        findings.extend(loss_findings(&site, &zones));
        findings.extend(setback_findings(&site, &setbacks));
        findings.extend(lot_findings(&site, within_parcel));
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
        self.site.outline(index, &self.setbacks, self.within_parcel)
    }
}

pub(crate) fn property_name(lawns: &Lawns<'_>, name: Option<&str>) -> String {
    let file_stem = || {
        let file = lawns.zones.first().map_or("", |zone| zone.at.file());
        let file = file.rsplit(['/', '\\']).next().unwrap_or_default();
        let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
        if matches!(stem, "" | "-") { "property".to_owned() } else { stem.to_owned() }
    };
    lawns.property.or(name).map_or_else(file_stem, str::to_owned)
}

impl<'a> Site<'a> {
    /// Hazards near a zone from which no distance is kept.
    pub(crate) fn without_setback(&self, setbacks: &[Option<Setback>]) -> Vec<&'a Feature> {
        let near = worth_a_word().metres();
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
    pub(crate) fn findings(
        &self,
        neighbourhood: &Neighbourhood<'a>,
        property: Option<&'a str>,
    ) -> Vec<Finding> {
        let mut findings: Vec<Finding> =
            neighbourhood.notes(property).iter().map(|note| Finding::from(*note)).collect();
        if property.is_some() {
            // Of common ground, what was found where it reaches this property.
            let common = neighbourhood.notes(None).iter();
            let ours =
                common.filter(|note| self.features.iter().any(|laid| laid.feature.at == note.at));
            findings.extend(ours.map(|note| Finding::from(*note)));
        }
        let laid = self.zones.iter().chain(&self.features);
        findings.extend(laid.flat_map(|laid| {
            laid.repairs.iter().map(|repair| Finding::of_repair(laid.feature, repair))
        }));
        findings
    }
}

pub(crate) fn loss_findings(site: &Site<'_>, zones: &[PlatZone]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (zone, laid) in zones.iter().zip(&site.zones) {
        for loss in &zone.lost {
            // Neighbours drawn to one line share rounding, not ground.
            if let Cause::Zone(other) = &loss.to
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
            let to = largest.map_or_else(String::new, |loss| loss.to.to_string());
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

pub(crate) fn lot_findings(site: &Site<'_>, within_parcel: bool) -> Vec<Finding> {
    let Some(lot) = &site.lot else { return Vec::new() };
    let beyond = site.zones.iter().filter_map(|laid| {
        let beyond = account(&laid.shape, &[], 0, Some(lot)).beyond_lot.square_metres();
        let message =
            "turf reaches beyond the lot line; it is counted (leave it out with --within-parcel)"
                .to_owned();
        // A hand does not follow a lot line to the decimetre.
        (beyond > 0.1 && !within_parcel)
            .then(|| Finding::of(laid.feature, "beyond-lot", message, beyond))
    });
    let several = site.zones.iter().take(usize::from(site.lots_of_nobody > 1)).map(|laid| {
        let message = format!(
            "{} lots without a property reach this turf; together they were taken for its lot",
            site.lots_of_nobody
        );
        Finding::of(laid.feature, "several-lots", message, 0.0)
    });
    beyond.chain(several).collect()
}
