//! Every zone of every property measured: what is left, and to what the rest was lost.

use std::collections::BTreeMap;
use std::convert::Infallible;

use geo::Coord;
use rayon::prelude::*;
use turfplat_dose::Setback;
use turfplat_map::{FeatureRef, Kind, PropertyMap, PropertyRef, ReadError};
use turfplat_measure::{DrawnError, Ground, Plane};
use turfplat_units::{Area, Length};

use crate::cause::Cause;
use crate::finding::Finding;
use crate::job::Job;
use crate::neighbourhood::Neighbourhood;
use crate::refusal::{Refusal, Stops, refusals};
use crate::setbacks::{SetbackSource, worth_a_word};
use crate::site::{Laid, Lawns, Site};
use crate::sizes::UnitDoubts;
use crate::taking::Keeping;

/// What to measure with.
#[derive(Clone, Debug, Default)]
pub struct MeasureOptions<'a> {
    /// Distances by kind, compared with those on features.
    pub setbacks: BTreeMap<Kind, Length>,
    /// A job: its distances too, and the widest that any of its applications must keep.
    pub job: Option<&'a Job>,
    /// Turf beyond the lot line is lost, rather than a finding.
    pub within_parcel: bool,
    /// How far off the corners of features may be that do not say so themselves: the standard
    /// deviation of each, east and north alike.
    pub drawn_to: Option<Length>,
}

/// One property measured: zones, and where every square metre went.
pub struct Plat {
    /// The property's id, or the name of a map that is one property.
    pub property: String,
    /// Zones in file order.
    pub zones: Vec<PlatZone>,
    /// What should be seen.
    pub findings: Vec<Finding>,
    /// Hazards in reach from which no distance is kept.
    pub without_setback: Vec<Unkept>,
    pub(crate) site: Site,
    pub(crate) setbacks: Vec<Option<Setback>>,
    pub(crate) within_parcel: bool,
}

/// A hazard in reach from which no distance is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unkept {
    /// What it is.
    pub kind: Kind,
    /// Its name.
    pub feature: String,
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
    /// What is left as measured along the slope, where the map gives one. Rates are by the area on
    /// the level, as maps show it; this is for comparing with a tape or a wheel on the ground.
    pub surface: Option<Area>,
    /// How far off that is for the drawing; `None` where nothing is said of it.
    pub drawn_error: Option<DrawnError>,
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
pub struct Measured {
    /// Every property that may be used, in file order.
    pub plats: Vec<Plat>,
    /// Everything that was refused, with the reasons.
    pub refusals: Vec<Refusal>,
}

/// Measures every property of the map that may be used, in file order.
pub fn measure(map: &PropertyMap, options: &MeasureOptions<'_>) -> Measured {
    let (mut plats, mut refusals) = (Vec::new(), Vec::new());
    let Ok(()) = measure_each(
        map,
        options,
        |plat| plat,
        |done| {
            match done {
                Ok(plat) => plats.push(plat),
                Err(refusal) => refusals.push(refusal),
            }
            Ok::<(), Infallible>(())
        },
    );
    Measured { plats, refusals }
}

/// Measures property by property, in file order and in little memory: `look` makes of each plat
/// what is wanted of it, several at once, and `take` is handed one after the other. What of the
/// map is refused as a whole comes first.
///
/// # Errors
///
/// The first error of `take`, which ends the measuring.
pub fn measure_each<T: Send, E>(
    map: &PropertyMap,
    options: &MeasureOptions<'_>,
    look: impl Fn(Plat) -> T + Sync,
    take: impl FnMut(Result<T, Refusal>) -> Result<(), E>,
) -> Result<(), E> {
    let source = match options.job {
        Some(job) => {
            let applications: Vec<_> = job.applications.iter().collect();
            SetbackSource::of_applications(job, &applications, &options.setbacks)
        }
        None => SetbackSource::of_command(&options.setbacks),
    };
    let asked = Asked {
        name: options.job.and_then(|job| job.name.as_deref()),
        source: &source,
        drawn_to: options.drawn_to,
    };
    let work = |property: &str, site: Site| {
        if options.within_parcel && site.lot.is_none() {
            return Err(vec![no_lot(&site)]);
        }
        Ok(look(Plat::of(property.to_owned(), site, &source, options.within_parcel)?))
    };
    each_property(map, map.properties(), &asked, work, take)
}

/// Why `--within-parcel` cannot be done.
pub(crate) fn no_lot(site: &Site) -> String {
    let place = site.zones.first().map(|zone| zone.feature.at.to_string()).unwrap_or_default();
    format!(
        r#"{place}: turf beyond the lot line was to be left out, but no lot line is drawn; add a polygon of kind "parcel""#
    )
}

/// So many properties are at work before the first of them is handed on.
const AT_ONCE: usize = 512;

/// What matters to how properties are laid.
pub(crate) struct Asked<'a> {
    /// The name of a map that is one property.
    pub(crate) name: Option<&'a str>,
    /// Who may ask for distances.
    pub(crate) source: &'a SetbackSource<'a>,
    pub(crate) drawn_to: Option<Length>,
}

/// Lays every one of `properties` flat that may be used and does `work` on it, several at once;
/// hands what came of it to `take` in order, after what of the map is refused as a whole.
pub(crate) fn each_property<T: Send, E>(
    map: &PropertyMap,
    properties: &[PropertyRef],
    asked: &Asked<'_>,
    work: impl Fn(&str, Site) -> Result<T, Vec<String>> + Sync,
    mut take: impl FnMut(Result<T, Refusal>) -> Result<(), E>,
) -> Result<(), E> {
    for refusal in refusals(map) {
        take(Err(refusal))?;
    }
    let stops = Stops::of(map);
    if stops.everything {
        return Ok(());
    }
    let farthest = Kind::ALL.map(|kind| asked.source.farthest(kind));
    let farthest = |kind: Kind| farthest[kind as usize];
    let neighbourhood = match Neighbourhood::of(map, farthest) {
        Ok(neighbourhood) => neighbourhood,
        Err(error) => {
            return take(Err(Refusal { property: None, reasons: vec![error.to_string()] }));
        }
    };
    let units = UnitDoubts::of(map);
    let one = |&property: &PropertyRef| -> Result<Option<T>, Vec<String>> {
        let unread = |error: ReadError| vec![error.to_string()];
        let drawn = map.read_property(property).map_err(unread)?;
        if !drawn.problems.is_empty() {
            return Err(drawn.problems.iter().map(|problem| problem.error.to_string()).collect());
        }
        let lawns = Lawns::of(map, property, drawn, &units);
        let Some(turf) = lawns.turf() else { return Ok(None) };
        if let Some(reasons) = stops.by_a_neighbour(&turf) {
            return Err(reasons);
        }
        let first = lawns.zones.first().map(|zone| zone.at.clone());
        let id = property_name(lawns.id, asked.name, first.as_ref());
        let neighbours = neighbourhood.reaching(&turf, property).map_err(unread)?;
        let mix_sites = lawns.mix_sites(&neighbourhood).map_err(unread)?;
        let drawn_to = asked.drawn_to;
        let site = Site::lay(lawns, &turf, neighbours, mix_sites, farthest, drawn_to)?;
        let unplaced = site.kept_from_nowhere(farthest);
        if !unplaced.is_empty() {
            return Err(unplaced);
        }
        work(&id, site).map(Some)
    };
    let is_usable = |property: &PropertyRef| !stops.stops(map.id(*property));
    // While some are at work, those before them are handed on.
    let mut before: (Vec<PropertyRef>, _) = Default::default();
    for some in properties.chunks(AT_ONCE) {
        let some: Vec<PropertyRef> = some.iter().copied().filter(is_usable).collect();
        let mut done = Vec::new();
        let (others, of_others) = std::mem::take(&mut before);
        rayon::in_place_scope(|scope| {
            scope.spawn(|_| done = some.par_iter().map(one).collect());
            hand_on(map, &others, of_others, &mut take)
        })?;
        if let Some(file) = map.changed_file() {
            let error = ReadError::Changed { file: file.to_owned() };
            return take(Err(Refusal { property: None, reasons: vec![error.to_string()] }));
        }
        before = (some, done);
    }
    hand_on(map, &before.0, before.1, &mut take)
}

/// Hands on what came of some properties, in their order.
fn hand_on<T, E>(
    map: &PropertyMap,
    properties: &[PropertyRef],
    done: Vec<Result<Option<T>, Vec<String>>>,
    take: &mut impl FnMut(Result<T, Refusal>) -> Result<(), E>,
) -> Result<(), E> {
    for (property, done) in properties.iter().zip(done) {
        let id = || map.id(*property).map(str::to_owned);
        match done {
            Ok(None) => {}
            Ok(Some(done)) => take(Ok(done))?,
            Err(reasons) => take(Err(Refusal { property: id(), reasons }))?,
        }
    }
    Ok(())
}

impl Plat {
    /// # Errors
    ///
    /// Why the property cannot be measured.
    pub(crate) fn of(
        property: String,
        site: Site,
        source: &SetbackSource<'_>,
        within_parcel: bool,
    ) -> Result<Plat, Vec<String>> {
        let setbacks: Vec<Option<Setback>> =
            site.features.iter().map(|laid| source.of(&laid.feature)).collect();
        let asked =
            Keeping::Distances { setbacks: &setbacks, drifts: &[], within_lot: within_parcel };
        let mut accounts = site.accounts(&[asked, Keeping::Lot])?.into_iter();
        let mut zones = accounts.next().unwrap_or_default();
        let beyond_lot = accounts.next().unwrap_or_default();
        site.note_drawn_errors(&mut zones, asked);
        let mut findings = site.findings();
        findings.extend(loss_findings(&site, &zones));
        findings.extend(setback_findings(&site, &setbacks));
        findings.extend(lot_findings(&site, &beyond_lot, within_parcel));
        let without_setback = site.without_setback(&setbacks);
        Ok(Plat { property, zones, findings, without_setback, site, setbacks, within_parcel })
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

    /// The area of its lot; `None` where no lot line is drawn.
    pub fn lot(&self) -> Option<Area> {
        self.site.lot_area()
    }

    /// The outline of what is left of the zone at `index`.
    pub fn outline(&self, index: usize) -> Ground {
        let (setbacks, within_lot) = (&self.setbacks[..], self.within_parcel);
        self.site.outline(index, Keeping::Distances { setbacks, drifts: &[], within_lot })
    }
}

/// The property's id; of a map that is one property, the job's name for it or the file's.
pub(crate) fn property_name(
    id: Option<&str>,
    name: Option<&str>,
    first: Option<&FeatureRef>,
) -> String {
    let file_stem = || {
        let file = first.map_or("", FeatureRef::file);
        // Of a member of an archive, as in `lots.kmz (doc.kml)`, the archive's name.
        let file = file.split_once(" (").map_or(file, |(archive, _)| archive);
        let file = file.rsplit(['/', '\\']).next().unwrap_or_default();
        let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
        if matches!(stem, "" | "-") { "property".to_owned() } else { stem.to_owned() }
    };
    id.or(name).map_or_else(file_stem, str::to_owned)
}

impl Site {
    /// Hazards near a zone from which no distance is kept.
    pub(crate) fn without_setback(&self, setbacks: &[Option<Setback>]) -> Vec<Unkept> {
        let near = worth_a_word();
        let hazards = self
            .features
            .iter()
            .zip(setbacks)
            .filter(|(laid, setback)| laid.feature.kind.is_hazard() && setback.is_none());
        let near_turf = |laid: &Laid| {
            self.zones.iter().any(|zone| zone.shape.distance_within(near, &laid.shape).is_some())
        };
        hazards
            .filter(|(laid, _)| near_turf(laid))
            .map(|(laid, _)| Unkept { kind: laid.feature.kind, feature: laid.feature.name.clone() })
            .collect()
    }

    /// Features of which only the area is known and from which a distance is to be kept all the same.
    fn kept_from_nowhere(&self, farthest: impl Fn(Kind) -> Length) -> Vec<String> {
        let features = self.features.iter().map(|laid| &laid.feature);
        let unplaced = features.filter(|it| it.left_as_area && farthest(it.kind) > Length::ZERO);
        unplaced
            .map(|feature| {
                format!(
                    "{:#}: a distance is to be kept from {}, and where this one lies is not known; place it and its zone with at = {{ east = …, north = … }}",
                    feature.at, feature.kind
                )
            })
            .collect()
    }

    /// What reading and repairing found, of this property and of what reaches it.
    pub(crate) fn findings(&self) -> Vec<Finding> {
        let mut findings: Vec<Finding> = self.notes.iter().map(Finding::from).collect();
        findings.extend(self.slips.iter().cloned());
        let laid = self.zones.iter().chain(&self.features);
        findings.extend(laid.flat_map(|laid| {
            laid.repairs.iter().map(|repair| Finding::of_repair(&laid.feature, repair))
        }));
        findings
    }
}

pub(crate) fn loss_findings(site: &Site, zones: &[PlatZone]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (zone, laid) in zones.iter().zip(&site.zones) {
        for loss in &zone.lost {
            // Neighbours drawn to one line share rounding, not ground.
            if let Cause::Zone(other) = &loss.to
                && loss.area.square_metres() > 0.01
            {
                let message = format!("overlaps zone {other:?}, which keeps the ground");
                findings.push(Finding::of(
                    &laid.feature,
                    "zone-overlap",
                    message,
                    loss.area.square_metres(),
                ));
            }
        }
        findings.extend(sliver(zone, laid));
        if zone.net == Area::ZERO && zone.gross > Area::ZERO {
            let largest = zone
                .lost
                .iter()
                .max_by(|a, b| a.area.square_metres().total_cmp(&b.area.square_metres()));
            let to = largest.map_or_else(String::new, |loss| loss.to.to_string());
            let message = format!("nothing is left of the zone; most of it went to {to}");
            findings.push(Finding::of(
                &laid.feature,
                "zone-lost",
                message,
                zone.gross.square_metres(),
            ));
        }
    }
    findings
}

/// What is left of a zone is too narrow to be treated: narrower on the whole than a foot.
fn sliver(zone: &PlatZone, laid: &Laid) -> Option<Finding> {
    const NARROWEST_FEET: f64 = 1.0;
    // A strip is as wide as its area by half of its outline.
    let width = 2.0 * zone.net.square_feet() / zone.perimeter.feet();
    let is_narrow = zone.net > Area::ZERO && width < NARROWEST_FEET;
    let message = format!("what is left is {width:.1} ft wide on the whole, too narrow to treat");
    is_narrow.then(|| Finding::of(&laid.feature, "sliver", message, zone.net.square_metres()))
}

pub(crate) fn setback_findings(site: &Site, setbacks: &[Option<Setback>]) -> Vec<Finding> {
    let smaller = site.features.iter().zip(setbacks).filter_map(|(laid, setback)| {
        let setback = setback.as_ref().filter(|setback| setback.own_is_smaller)?;
        let message = format!("asks for less than {}; the larger distance was kept", setback.rule);
        Some(Finding::of(&laid.feature, "own-setback-smaller", message, 0.0))
    });
    smaller.collect()
}

/// Turf beyond the lot line, by accounts in which nothing else takes ground.
pub(crate) fn lot_findings(
    site: &Site,
    accounts: &[PlatZone],
    within_parcel: bool,
) -> Vec<Finding> {
    if site.lot.is_none() {
        return Vec::new();
    }
    let beyond = site.zones.iter().zip(accounts).filter_map(|(laid, account)| {
        let beyond = account.lost.iter().map(|loss| loss.area).sum::<Area>().square_metres();
        let message =
            "turf reaches beyond the lot line; it is counted (leave it out with --within-parcel)"
                .to_owned();
        // A hand does not follow a lot line to the decimetre.
        (beyond > 0.1 && !within_parcel)
            .then(|| Finding::of(&laid.feature, "beyond-lot", message, beyond))
    });
    let several = site.zones.iter().take(usize::from(site.lots_of_nobody > 1)).map(|laid| {
        let message = format!(
            "{} lots without a property reach this turf; together they were taken for its lot",
            site.lots_of_nobody
        );
        Finding::of(&laid.feature, "several-lots", message, 0.0)
    });
    beyond.chain(several).collect()
}
